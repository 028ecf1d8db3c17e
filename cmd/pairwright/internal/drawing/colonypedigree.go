package drawing

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/svg"
	"pairwright/pedigree/studbook"
)

// PedigreeBird is a bird of a colony's pedigree, or one that may link birds of
// the colony.
type PedigreeBird struct {
	ID, Name   string
	Sex        studbook.Sex
	Dead       bool
	Home       bool    // living in the colony
	Inbreeding float64 // F; above 0 the parents are kin
	Link       string  // anchor in the document; "" for none
	Sire, Dam  string  // ids; "" for a parent that is not known for certain
}

// PedigreePair is a bonded pair of the colony by its ids.
type PedigreePair struct {
	A, B string
	Kin  bool // the two are kin
}

// ColonyPedigree is what the pedigree of a colony is drawn from. Birds may hold
// the whole studbook: only what links birds of the colony is drawn.
type ColonyPedigree struct {
	Of    string // the colony as a sentence begins with it: "The colony at Harrow Fell"
	Birds []PedigreeBird
	Pairs []PedigreePair
}

// Limits of a pedigree. A part of the drawing is as wide and high as a sheet of
// A4 shows legibly.
const (
	MostDrawn      = 150 // living birds, or birds in all where kin farther off are drawn than need be
	mostLetters    = 9   // birds that stand in two places, likewise
	partWidth      = 900.0
	partHeight     = 950.0
	sheetWidth     = partWidth + 2*drawingSpace
	kinFont        = 11.0
	kinLine        = 12.5
	kinLabelMost   = 90.0
	kinRadius      = 9.0
	kinSlotSpace   = 10.0 // between the labels of neighbours
	kinTrackSpace  = 7.0
	kinFamilySpace = 22.0
)

// The farthest kin that are drawn, in steps up to a common ancestor and down
// again: birds with a common parent, at two steps, are always drawn as kin.
const (
	leastReach = 2
	mostReach  = 4
)

// closeKin names, by reach, the kin that are drawn.
var closeKin = map[int]string{
	2: "parents and grandparents, brothers and sisters",
	3: "parents to great-grandparents, brothers and sisters, uncles and aunts",
	4: "forebears to the fourth generation, brothers and sisters, uncles and aunts, great-uncles and great-aunts, and first cousins",
}

var kinLabel = svg.Lettering{Size: kinFont, Colour: svg.Ink}

// noCloseKin stands above the birds that no line joins to another's.
const noCloseKin = "No close kin here:"

// ColonyPedigreeFigures draws how the living birds of a colony are related: a
// generation in a row, in the symbols of Bennett et al. 2008 (J Genet Couns
// 17:424–433), bonded mates beside each other, with those ancestors alone, dead
// or living elsewhere, who make two of them close kin. Kin as far as first
// cousins are drawn, or only nearer ones where those would not fit one sheet of
// paper or take many letters: a family wider than the sheet is parted where one
// of its birds joins two families, and then a letter marks that bird in both
// places. Families stand side by side, in the end the birds without close kin
// in the colony, and what does not fit one figure goes into the next. Without a
// bird there is no figure but a sentence that says so; nor is there one of more
// than 150 living birds, which nobody could follow.
func ColonyPedigreeFigures(in ColonyPedigree) (figures []*document.Figure, why string) {
	living := 0
	for _, b := range in.Birds {
		if b.Home {
			living++
		}
	}
	if living > MostDrawn {
		return nil, fmt.Sprintf("There is no pedigree of the colony: %s birds are too many to follow in one; at most %d are drawn.", document.FormatCount(living), MostDrawn)
	}
	if living == 0 {
		return nil, "There is no pedigree of the colony: no living birds."
	}
	k := newKindred(in)
	parts := k.parts()
	caption := document.Clean(in.Of) + ": pedigree of " + document.FormatThings(living, "living bird", "living birds")
	if others := len(k.shown) - living; others > 0 {
		caption += " with " + document.FormatThings(others, "other that links them", "others that link them")
	}
	for n, p := range parts {
		f := &document.Figure{SVG: k.draw(p), Alt: p.words(k), Caption: caption, Key: p.key(k)}
		if len(parts) > 1 {
			f.Caption += fmt.Sprintf(" (part %d of %d)", n+1, len(parts))
		}
		f.Caption += "."
		figures = append(figures, f)
	}
	return figures, ""
}

// kindred is the birds of a drawing with who is whose parent.
type kindred struct {
	birds   []PedigreeBird // by id
	index   map[string]int
	sire    []int // place in birds, -1 where it is not known
	dam     []int
	shown   []int // the birds that are drawn, ascending
	pairs   []PedigreePair
	couples []couple
	reach   int // the most steps of a line that makes two birds kin

	several  map[int]bool   // the birds that stand in several places
	marks    map[int]string // their letters
	captions map[int]caption
}

// couple is a pair with chicks or a bond, or the one known parent of chicks.
type couple struct {
	sire, dam int // -1 for a parent that is not drawn
	chicks    []int
	kin       bool
}

func newKindred(in ColonyPedigree) *kindred {
	k := &kindred{birds: slices.Clone(in.Birds), index: make(map[string]int), pairs: in.Pairs}
	slices.SortStableFunc(k.birds, func(a, b PedigreeBird) int { return strings.Compare(a.ID, b.ID) })
	k.birds = slices.CompactFunc(k.birds, func(a, b PedigreeBird) bool { return a.ID == b.ID })
	for i, b := range k.birds {
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

// parts draws kinship as far as one sheet shows it clearly.
func (k *kindred) parts() []*part {
	for reach := mostReach; reach > leastReach; reach-- {
		k.choose(reach)
		if len(k.shown) > MostDrawn {
			continue
		}
		if families, ok := k.families(mostLetters); ok {
			if parts := pack(families); len(parts) == 1 && parts[0].width <= sheetWidth && len(k.marks) <= mostLetters {
				return parts
			}
		}
	}
	k.choose(leastReach)
	families, _ := k.families(math.MaxInt)
	return pack(families)
}

// choose sets what is drawn: the birds at home, and every bird on a line of
// descent that makes two of them kin within so many steps, up from one to a
// common ancestor and down to the other (the paths of Wright 1922, Am Nat
// 56:330). Brothers and sisters are linked by their parents alone, not by what
// makes these kin. Of a bird drawn with one parent the other is drawn too.
func (k *kindred) choose(reach int) {
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
	k.reach, k.shown, k.couples = reach, nil, k.couplesAmong(in)
	for i := range k.birds {
		if in[i] {
			k.shown = append(k.shown, i)
		}
	}
}

// siblings reports whether two birds have the same two known parents.
func (k *kindred) siblings(a, b int) bool {
	return k.sire[a] >= 0 && k.dam[a] >= 0 && k.sire[a] == k.sire[b] && k.dam[a] == k.dam[b]
}

// climb notes every way up from the end of a path, of so many steps at most.
func (k *kindred) climb(path []int, steps int, climbs [][][]int) {
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

func (k *kindred) couplesAmong(in []bool) []couple {
	at := make(map[[2]int]int)
	var out []couple
	get := func(s, d int) *couple {
		key := [2]int{s, d}
		if _, ok := at[key]; !ok {
			at[key] = len(out)
			out = append(out, couple{sire: s, dam: d})
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
		c.chicks = append(c.chicks, i)
		c.kin = c.kin || k.birds[i].Inbreeding > 0 && s >= 0 && d >= 0
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
		c.kin = c.kin || p.Kin
	}
	slices.SortFunc(out, func(a, b couple) int {
		return cmp.Or(cmp.Compare(a.sire, b.sire), cmp.Compare(a.dam, b.dam))
	})
	return out
}

// part is a figure: families with their places on it.
type part struct {
	families      []*family
	headings      []float64 // heights at which birds without close kin begin
	width, height float64
}

// pack sets families side by side in rows, those without kin last and below a
// heading, and rows into parts.
func pack(families []*family) []*part {
	const headingHeight = 26
	parts := []*part{{}}
	x, y, row := 0.0, 0.0, 0.0
	heading := false
	for _, f := range families {
		p := parts[len(parts)-1]
		first := !f.kin() && !heading
		if x > 0 && (first || x+f.width > partWidth) {
			x, y, row = 0, y+row+kinFamilySpace, 0
		}
		if y > 0 && y+f.height > partHeight && x == 0 {
			p, y = &part{}, 0
			parts = append(parts, p)
			first = !f.kin()
		}
		if first {
			heading = true
			p.headings = append(p.headings, y+drawingSpace)
			y += headingHeight
			p.width = max(p.width, kinLabel.Width(noCloseKin)+2*drawingSpace)
		}
		f.x, f.y = x+drawingSpace, y+drawingSpace
		x += f.width + kinFamilySpace
		row = max(row, f.height)
		p.families = append(p.families, f)
		p.width = max(p.width, f.x+f.width+drawingSpace)
		p.height = max(p.height, f.y+f.height+drawingSpace)
	}
	return parts
}

func (b *PedigreeBird) who() string {
	if name := document.Clean(b.Name); name != "" {
		return name + " (" + document.Clean(b.ID) + ")"
	}
	return document.Clean(b.ID)
}

// markSpace stands between a bird's letter and its name.
const markSpace = " · "

// caption is the text below a symbol.
type caption struct {
	lines []string
	width float64 // of the widest
}

// label is the lettering of a bird: bold for those of the colony.
func (b *PedigreeBird) label() svg.Lettering {
	if b.Home {
		return kinLabel.Strong()
	}
	return kinLabel.In(svg.Quiet)
}

// caption returns the name and the id of a bird as far as they fit, with room
// for a letter before them.
func (k *kindred) caption(bird int) caption {
	b := &k.birds[bird]
	style := b.label()
	room := 0.0
	if k.several[bird] {
		widest := strings.Repeat("m", len(letter(len(k.several)-1)))
		room = style.Width(widest + markSpace)
	}
	all := []string{document.Clean(b.ID)}
	if name := document.Clean(b.Name); name != "" {
		all = []string{name, document.Clean(b.ID)}
	}
	var c caption
	for _, l := range all {
		l = style.Truncate(l, kinLabelMost-room)
		c.lines = append(c.lines, l)
		c.width = max(c.width, room+style.Width(l))
		room = 0
	}
	return c
}

// write makes the captions of the birds that are drawn.
func (k *kindred) write() {
	k.captions = make(map[int]caption)
	for _, i := range k.shown {
		k.captions[i] = k.caption(i)
	}
}

func (k *kindred) draw(p *part) string {
	s := svg.New(p.width, p.height)
	for _, y := range p.headings {
		s.Text(kinLabel, svg.Point{X: drawingSpace, Y: y + kinFont}, noCloseKin)
	}
	for _, f := range p.families {
		for _, l := range f.lines() {
			s.Line(svg.Stroke{Colour: svg.Ink, Width: 1.2}, svg.Point{X: f.x + l.X0, Y: f.y + l.Y0}, svg.Point{X: f.x + l.X1, Y: f.y + l.Y1})
		}
		for _, n := range f.nodes {
			bird := &k.birds[n.bird]
			s.Link(bird.Link, func() { s.Group(bird.who(), func() { k.drawBird(s, n, svg.Point{X: f.x + n.x, Y: f.y + n.y}) }) })
		}
	}
	return s.String()
}

func (k *kindred) drawBird(s *svg.Sheet, n *kinNode, p svg.Point) {
	bird := &k.birds[n.bird]
	outline := svg.Stroke{Colour: svg.Ink, Width: 1.2}
	if bird.Home {
		outline.Width = 2.4
	}
	symbol(s, bird.Sex, outline, p, kinRadius)
	if bird.Dead {
		strike(s, svg.Stroke{Colour: svg.Ink, Width: 1.2}, p, kinRadius)
	}
	y := p.Y + kinRadius + 4 + kinFont*0.8
	for i, l := range k.captions[n.bird].lines {
		if m := k.marks[n.bird]; m != "" && i == 0 {
			l = m + markSpace + l
		}
		s.Text(bird.label().To(svg.Middle), svg.Point{X: p.X, Y: y}, l)
		y += kinLine
	}
}

// words names the couples of a part with their chicks, and who stands alone.
func (p *part) words(k *kindred) string {
	var b strings.Builder
	say := func(i int) string {
		s := k.birds[i].who()
		if k.birds[i].Dead {
			s += ", dead"
		} else if !k.birds[i].Home {
			s += ", elsewhere"
		}
		return s
	}
	for _, f := range p.families {
		if !f.kin() {
			var alone []string
			for _, n := range f.nodes {
				alone = append(alone, say(n.bird))
			}
			pair := ""
			if len(alone) > 1 {
				pair = ", a pair"
			}
			fmt.Fprintf(&b, "%s %s%s\n", noCloseKin, strings.Join(alone, " and "), pair)
			continue
		}
		for _, u := range f.unions {
			c := u.couple
			var parents, chicks []string
			for _, i := range [2]int{c.sire, c.dam} {
				if i >= 0 {
					parents = append(parents, say(i))
				}
			}
			for _, i := range c.chicks {
				chicks = append(chicks, say(i))
			}
			b.WriteString(strings.Join(parents, " and "))
			if c.kin {
				b.WriteString(", who are kin")
			}
			if len(chicks) == 0 {
				b.WriteString(": a pair without chicks here\n")
				continue
			}
			b.WriteString(": parents of " + strings.Join(chicks, "; ") + "\n")
		}
	}
	return b.String()
}

// key explains the symbols that a part has.
func (p *part) key(k *kindred) string {
	var dead, away, diamond, kin, marked bool
	for _, f := range p.families {
		for _, n := range f.nodes {
			b := &k.birds[n.bird]
			dead = dead || b.Dead
			away = away || !b.Home
			diamond = diamond || b.Sex != studbook.Male && b.Sex != studbook.Female
			marked = marked || k.marks[n.bird] != ""
		}
		for _, u := range f.unions {
			kin = kin || u.couple.kin
		}
	}
	key := "Square: male; circle: female"
	for _, s := range []struct {
		shown bool
		text  string
	}{
		{diamond, "; diamond: sex unknown"},
		{away, "; bold: living here"},
		{dead, "; struck through: dead"},
		{kin, "; double line: the two are kin"},
		{true, "."},
		{marked, " The same letter marks the same bird."},
		{true, " Close kin are " + closeKin[k.reach] + ", half ones too; ancestors who make no two birds here close kin are left out."},
	} {
		if s.shown {
			key += s.text
		}
	}
	return key
}
