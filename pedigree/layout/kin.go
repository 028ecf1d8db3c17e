package layout

import (
	"cmp"
	"slices"

	"pairwright/pedigree/studbook"
)

// Bird is a bird of a colony, or one that may link birds of the colony.
type Bird struct {
	ID        string
	Sex       studbook.Sex
	Home      bool   // living in the colony
	Inbred    bool   // its parents are kin
	Sire, Dam string // ids; "" for a parent that is not known for certain
}

// Pair is a bonded pair of the colony by its ids.
type Pair struct {
	A, B string
	Kin  bool // the two are kin
}

// Lettering says how much room the texts take.
type Lettering struct {
	// Label returns the width of the label of a bird, by its place among those
	// given, and its lines. marks is how many birds have a mark before theirs,
	// because they stand in several places, if this is one of them; else 0.
	Label   func(bird, marks int) (width float64, lines int)
	Heading float64 // width of the words above the birds without close kin
}

// Measures, in pixels. A sheet is as wide and high as A4 shows legibly.
const (
	Radius      = 9.0  // of a symbol
	Gap         = 10.0 // between the labels of neighbours
	LineHeight  = 12.5 // of a label
	Margin      = 14.0
	sheetWidth  = 900.0 // without the margins
	sheetHeight = 950.0
	trackSpace  = 7.0
	familyGap   = 22.0
)

// Most is how many living birds can be followed in a drawing, or birds in all
// where kin farther off are drawn than need be.
const Most = 150

// mostSeveral is how many birds may stand in two places, likewise.
const mostSeveral = 9

// The farthest kin that are drawn, in steps up to a common ancestor and down
// again: birds with a common parent, at two steps, are always drawn as kin.
const (
	LeastReach = 2
	MostReach  = 4
)

// Kindred is the birds of a drawing with who is whose parent.
type Kindred struct {
	birds   []Bird // by id
	index   map[string]int
	sire    []int // place in birds, -1 where it is not known
	dam     []int
	shown   []int // the birds that are drawn, ascending
	pairs   []Pair
	couples []Couple
	reach   int // the most steps of a line that makes two birds kin
	text    Lettering

	several map[int]bool // the birds that stand in several places
	marks   map[int]int  // their numbers
}

// Couple is a pair with chicks or a bond, or the one known parent of chicks.
type Couple struct {
	Sire, Dam int // -1 for a parent that is not drawn
	Chicks    []int
	Kin       bool
}

// New gathers who is whose parent and mate. birds stand by their ids, each once.
func New(birds []Bird, pairs []Pair, text Lettering) *Kindred {
	k := &Kindred{birds: birds, index: make(map[string]int), pairs: pairs, text: text}
	for i, b := range birds {
		k.index[b.ID] = i
	}
	at := func(id string) int {
		if i, ok := k.index[id]; ok && id != "" {
			return i
		}
		return -1
	}
	for i, b := range k.birds {
		s, d := at(b.Sire), at(b.Dam)
		if s == i {
			s = -1
		}
		if d == i || d == s {
			d = -1
		}
		k.sire, k.dam = append(k.sire, s), append(k.dam, d)
	}
	return k
}

// Shown returns the birds that are drawn, ascending.
func (k *Kindred) Shown() []int { return k.shown }

// Reach returns how many steps apart kin are drawn.
func (k *Kindred) Reach() int { return k.reach }

// Mark returns the number, from 0, of a bird that stands in several places; ok is
// false for any other.
func (k *Kindred) Mark(bird int) (number int, ok bool) {
	number, ok = k.marks[bird]
	return number, ok
}

// Several returns how many birds stand in several places if this is one of them,
// else 0.
func (k *Kindred) Several(bird int) int {
	if k.several[bird] {
		return len(k.several)
	}
	return 0
}

// choose sets what is drawn: the birds at home, and every bird on a line of
// descent that makes two of them kin within so many steps, up from one to a
// common ancestor and down to the other (the paths of Wright 1922, Am Nat
// 56:330). Brothers and sisters are linked by their parents alone, not by what
// makes these kin. Of a bird drawn with one parent the other is drawn too.
func (k *Kindred) choose(reach int) {
	in := make([]bool, len(k.birds))
	climbs := make([][][]int, len(k.birds)) // by the bird they end in
	for i, b := range k.birds {
		if b.Home {
			in[i] = true
			k.climb([]int{i}, reach, climbs)
		}
	}
	for _, up := range climbs {
		for i, p := range up {
			for _, q := range up[:i] {
				steps := len(p) + len(q) - 2
				if steps <= reach && meetOnlyAtTheEnd(p, q) && (steps == 2 || !k.siblings(p[0], q[0])) {
					for _, bird := range slices.Concat(p, q) {
						in[bird] = true
					}
				}
			}
		}
	}
	for more := true; more; {
		more = false
		for i := range k.birds {
			s, d := k.sire[i], k.dam[i]
			if in[i] && s >= 0 && d >= 0 && in[s] != in[d] {
				in[s], in[d], more = true, true, true
			}
		}
	}
	k.reach = reach
	k.take(in)
}

// take sets what is drawn.
func (k *Kindred) take(in []bool) {
	k.shown, k.couples = nil, k.couplesAmong(in)
	for i := range k.birds {
		if in[i] {
			k.shown = append(k.shown, i)
		}
	}
}

// siblings reports whether two birds have the same two known parents.
func (k *Kindred) siblings(a, b int) bool {
	return k.sire[a] >= 0 && k.dam[a] >= 0 && k.sire[a] == k.sire[b] && k.dam[a] == k.dam[b]
}

// climb notes every way up from the end of a path, of so many steps at most.
func (k *Kindred) climb(path []int, steps int, climbs [][][]int) {
	top := path[len(path)-1]
	climbs[top] = append(climbs[top], path)
	if steps == 0 {
		return
	}
	for _, p := range [2]int{k.sire[top], k.dam[top]} {
		if p >= 0 {
			k.climb(append(slices.Clip(path), p), steps-1, climbs)
		}
	}
}

// meetOnlyAtTheEnd reports whether two paths share the bird they end in alone.
func meetOnlyAtTheEnd(p, q []int) bool {
	for _, bird := range p[:len(p)-1] {
		if slices.Contains(q, bird) {
			return false
		}
	}
	return !slices.Contains(q[:len(q)-1], p[len(p)-1])
}

func (k *Kindred) couplesAmong(in []bool) []Couple {
	at := make(map[[2]int]int)
	var out []Couple
	get := func(s, d int) *Couple {
		key := [2]int{s, d}
		if _, ok := at[key]; !ok {
			at[key] = len(out)
			out = append(out, Couple{Sire: s, Dam: d})
		}
		return &out[at[key]]
	}
	for i := range k.birds {
		s, d := k.sire[i], k.dam[i]
		if s >= 0 && !in[s] {
			s = -1
		}
		if d >= 0 && !in[d] {
			d = -1
		}
		if !in[i] || s < 0 && d < 0 {
			continue
		}
		c := get(s, d)
		c.Chicks = append(c.Chicks, i)
		c.Kin = c.Kin || k.birds[i].Inbred && s >= 0 && d >= 0
	}
	for _, p := range k.pairs {
		a, okA := k.index[p.A]
		b, okB := k.index[p.B]
		if !okA || !okB || a == b || !in[a] || !in[b] {
			continue
		}
		if _, known := at[[2]int{b, a}]; known || k.birds[a].Sex == studbook.Female && k.birds[b].Sex != studbook.Female {
			a, b = b, a
		}
		c := get(a, b)
		c.Kin = c.Kin || p.Kin
	}
	slices.SortFunc(out, func(a, b Couple) int {
		return cmp.Or(cmp.Compare(a.Sire, b.Sire), cmp.Compare(a.Dam, b.Dam))
	})
	return out
}
