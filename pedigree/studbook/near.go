package studbook

import (
	"cmp"
	"slices"
	"strings"
	"unicode/utf8"
)

// Meant is a bird or an institution that somebody may have meant who wrote something else.
type Meant struct {
	ID  string // its id or code
	For string // what of it is like what was written, and is no id: a name or a band
}

// String returns the id with what is like what was written, "C0734 (Moss)".
func (m Meant) String() string {
	if m.For == "" {
		return m.ID
	}
	return m.ID + " (" + m.For + ")"
}

// mostMeant is how many are named of which none is certain.
const mostMeant = 3

// meantList gathers the nearest of what was written.
type meantList struct {
	written string
	plain   string
	found   []meantAt
}

type meantAt struct {
	Meant
	far    int  // see distance
	second bool // named after others that are as near
}

func newMeantList(written string) *meantList {
	return &meantList{written: strings.ToLower(strings.TrimSpace(written)), plain: PlainID(written)}
}

// look compares an id, and the names it goes by, with what was written.
func (l *meantList) look(id string, second bool, names ...string) {
	best := meantAt{Meant{ID: id}, l.far(id), second}
	if PlainID(id) == l.plain {
		best.far = 0
	}
	for _, name := range names {
		if far := l.far(name); far < best.far {
			best.For, best.far = name, far
		}
	}
	if best.far <= furthest(l.written)+1 {
		l.found = append(l.found, best)
	}
}

// furthest is by how many signs a word may differ of which it is said that it may have been
// meant (common practice, no source).
func furthest(written string) int {
	switch n := utf8.RuneCountInString(written); {
	case n <= 4:
		return 1
	case n <= 8:
		return 2
	}
	return 3
}

// far is how far a name is from what was written: the signs by which they differ; what only
// begins with what was written is further than all that is meant otherwise.
func (l *meantList) far(name string) int {
	const beginning = 3 // signs of which a beginning tells something
	most := furthest(l.written)
	if name == "" {
		return most + 2
	}
	name = strings.ToLower(name)
	if d := distance(l.written, name, most); d <= most {
		return d
	}
	if utf8.RuneCountInString(l.written) >= beginning && strings.HasPrefix(name, l.written) {
		return most + 1
	}
	return most + 2
}

// nearest returns those that are meant but for how they are written, else the nearest few.
func (l *meantList) nearest() []Meant {
	slices.SortStableFunc(l.found, func(a, b meantAt) int {
		if a.second != b.second && a.far == b.far {
			if a.second {
				return 1
			}
			return -1
		}
		return cmp.Or(cmp.Compare(a.far, b.far), strings.Compare(a.ID, b.ID))
	})
	var out []Meant
	for _, m := range l.found {
		if m.far > 0 && len(out) > 0 && l.found[0].far == 0 || m.far > 0 && len(out) == mostMeant {
			break
		}
		out = append(out, m.Meant)
	}
	return out
}

// distance counts the signs that have to be put in, taken out, changed, or changed with the
// next to make one word of the other (optimal string alignment, after Damerau 1964; from
// memory). It is more than most where it would be.
func distance(a, b string, most int) int {
	x, y := []rune(a), []rune(b)
	if d := len(x) - len(y); d > most || -d > most {
		return most + 1
	}
	before, last, row := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range last {
		last[j] = j
	}
	for i := range x {
		row[0] = i + 1
		least := row[0]
		for j := range y {
			change := 1
			if x[i] == y[j] {
				change = 0
			}
			row[j+1] = min(last[j]+change, last[j+1]+1, row[j]+1)
			if i > 0 && j > 0 && x[i] == y[j-1] && x[i-1] == y[j] {
				row[j+1] = min(row[j+1], before[j-1]+1)
			}
			least = min(least, row[j+1])
		}
		if least > most {
			return most + 1
		}
		before, last, row = last, row, before
	}
	return min(last[len(y)], most+1)
}

// NearBirds returns the birds that somebody may have meant who wrote something that is the
// id of none: by id, name or band, the nearest first; alive tells who is named before others
// that are as near, nil where that is not known. If some differ in how they are written alone
// it is these, else at most three.
func NearBirds(birds []Bird, written string, alive func(i int) bool) []Meant {
	l := newMeantList(written)
	for i := range birds {
		if b := &birds[i]; b.Recorded {
			l.look(b.ID, alive != nil && !alive(i), b.Name, b.Band)
		}
	}
	return l.nearest()
}

// NearPlaces returns the institutions that somebody may have meant who wrote a code that is
// none's: by the codes in use and the names of those that are on file; see NearBirds.
func NearPlaces(institutions []Institution, used []string, written string) []Meant {
	l := newMeantList(written)
	listed := make(map[string]bool)
	for _, in := range institutions {
		listed[in.Code] = true
		l.look(in.Code, false, in.Name)
	}
	for _, code := range used {
		if code != "" && !listed[code] {
			l.look(code, false)
		}
	}
	return l.nearest()
}

// OrOf writes what may have been meant with "or" between, "" of none.
func OrOf(meant []Meant) string {
	words := make([]string, len(meant))
	for k, m := range meant {
		words[k] = m.String()
	}
	return strings.Join(words, " or ")
}
