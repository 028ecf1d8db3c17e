package journal

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"pairwright/pedigree/studbook"
)

// newID returns the id of a new bird: the one told, or the next in the
// studbook's own scheme.
func (d *draft) newID(field string, day studbook.Date) string {
	if id := d.value(field); id != "" {
		return id
	}
	id := nextID(d.birds, day.Mid())
	if id == "" {
		d.refuse(field, "", codeNotTold, "the ids of the studbook follow no scheme that could be continued", "give the bird an id")
	}
	return id
}

// numbered is an id that ends in a number.
var numbered = regexp.MustCompile(`^(.*?)(\d+)$`)

// scheme is how ids are made: what stands before the number, with the year of
// hatch in its place where they have it, and the digits of the number.
type scheme struct {
	before string
	digits int // 0 where numbers are written without leading zeros
}

// The year of hatch in a scheme.
const (
	fourDigits = "\x00"
	twoDigits  = "\x01"
)

// schemeOf returns the scheme of an id. Ids of one length have leading zeros, or could
// have.
func schemeOf(id string, hatch studbook.Day) (s scheme, ok bool) {
	m := numbered.FindStringSubmatch(id)
	if m == nil || len(m[2]) > 9 {
		return s, false
	}
	s.before = m[1]
	if hatch != 0 {
		year := strconv.Itoa(hatch.Time().Year())
		switch {
		case strings.Contains(s.before, year):
			s.before = strings.Replace(s.before, year, fourDigits, 1)
		case hasYear(s.before, year[2:]):
			s.before = strings.Replace(s.before, year[2:], twoDigits, 1)
		}
	}
	if s.digits = len(m[2]); s.digits == 1 {
		s.digits = 0
	}
	return s, true
}

// hasYear reports whether two digits stand in a text as a number of their own.
func hasYear(s, year string) bool {
	digit := func(c byte) bool { return c >= '0' && c <= '9' }
	i := strings.Index(s, year)
	return i >= 0 && (i == 0 || !digit(s[i-1])) && i+2 < len(s) && !digit(s[i+2])
}

// nextID returns the id that follows on those of the birds entered last, "" if
// those follow no scheme.
func nextID(birds *studbook.Sheet, day studbook.Day) string {
	const lookBack = 30
	n := birds.Len()
	hatchOf := func(i int) studbook.Day {
		d, err := studbook.ParseDate(birds.Cell(i, "hatch_date"))
		if err != nil {
			return 0
		}
		return d.Mid()
	}
	plain := func(s scheme) scheme { return scheme{before: s.before} }
	late := make(map[scheme]int) // how many of them
	var best scheme
	found := false
	for i := n - 1; i >= max(0, n-lookBack); i-- {
		s, ok := schemeOf(birds.Cell(i, "id"), hatchOf(i))
		if !ok {
			continue
		}
		k := plain(s)
		late[k]++
		if !found || late[k] > late[best] {
			best, found = k, true
		}
	}
	if !found {
		return ""
	}
	before := strings.NewReplacer(fourDigits, day.Time().Format("2006"), twoDigits, day.Time().Format("06")).Replace(best.before)
	most, digits := 0, 0
	taken := make(map[string]bool, n)
	for i := range n {
		id := birds.Cell(i, "id")
		taken[id] = true
		rest, ok := strings.CutPrefix(id, before)
		if m := numbered.FindStringSubmatch(rest); ok && m != nil && m[1] == "" && len(m[2]) <= 9 {
			number, _ := strconv.Atoi(m[2])
			most, digits = max(most, number), max(digits, len(m[2]))
		}
	}
	if digits == 0 { // the first of its year
		for i := n - 1; i >= max(0, n-lookBack); i-- {
			if s, ok := schemeOf(birds.Cell(i, "id"), hatchOf(i)); ok && plain(s) == best {
				digits = max(digits, s.digits)
			}
		}
	}
	for {
		most++
		id := before + fmt.Sprintf("%0*d", digits, most)
		if !taken[id] {
			return id
		}
	}
}
