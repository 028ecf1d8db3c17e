package drawing

import (
	"fmt"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/svg"
	"pairwright/pedigree/layout"
	"pairwright/pedigree/studbook"
)

// PedigreeBird is a bird of a colony's pedigree, or one that may link birds of
// the colony.
type PedigreeBird struct {
	ID, Name   string
	Sex        studbook.Sex
	Dead       bool
	Home       bool    // living in the colony; of paths between two birds, one of the two
	Shaded     bool    // a common ancestor of two birds
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

// MostDrawn is how many living birds the pedigree of a colony may have.
const MostDrawn = layout.Most

const (
	kinFont      = 11.0
	kinLabelMost = 90.0
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
	k := newKindred(in.Birds, in.Pairs)
	k.bold, k.elsewhere = "living here", ", elsewhere"
	sheets := k.Sheets()
	caption := document.Clean(in.Of) + ": pedigree of " + document.FormatThings(living, "living bird", "living birds")
	if others := len(k.Shown()) - living; others > 0 {
		caption += " with " + document.FormatThings(others, "other that links them", "others that link them")
	}
	for n, p := range sheets {
		f := &document.Figure{SVG: k.draw(p), Alt: k.words(p), Caption: caption, Key: k.key(p)}
		if len(sheets) > 1 {
			f.Caption += fmt.Sprintf(" (part %d of %d)", n+1, len(sheets))
		}
		f.Caption += "."
		figures = append(figures, f)
	}
	return figures, ""
}

// kindred is the birds of a drawing, by id, with their layout.
type kindred struct {
	*layout.Kindred
	birds     []PedigreeBird
	bold      string // what those are that are drawn bold
	elsewhere string // what is said of the others that live
}

func newKindred(in []PedigreeBird, bonded []PedigreePair) *kindred {
	k := &kindred{birds: slices.Clone(in)}
	slices.SortStableFunc(k.birds, func(a, b PedigreeBird) int { return strings.Compare(a.ID, b.ID) })
	k.birds = slices.CompactFunc(k.birds, func(a, b PedigreeBird) bool { return a.ID == b.ID })
	birds := make([]layout.Bird, len(k.birds))
	for i, b := range k.birds {
		birds[i] = layout.Bird{ID: b.ID, Sex: b.Sex, Home: b.Home, Inbred: b.Inbreeding > 0, Sire: b.Sire, Dam: b.Dam}
	}
	pairs := make([]layout.Pair, len(bonded))
	for i, p := range bonded {
		pairs[i] = layout.Pair(p)
	}
	k.Kindred = layout.New(birds, pairs, layout.Lettering{Heading: kinLabel.Width(noCloseKin), Label: func(bird, marks int) (float64, int) {
		c := k.caption(bird, marks)
		return c.width, len(c.lines)
	}})
	return k
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
func (k *kindred) caption(bird, letters int) caption {
	b := &k.birds[bird]
	style := b.label()
	room := 0.0
	if letters > 0 {
		widest := strings.Repeat("m", len(letter(letters-1)))
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

func (k *kindred) draw(p *layout.Sheet) string {
	s := svg.New(p.Width, p.Height)
	for _, y := range p.Headings {
		s.Text(kinLabel, svg.Point{X: layout.Margin, Y: y + kinFont}, noCloseKin)
	}
	for _, f := range p.Families {
		for _, l := range f.Lines() {
			s.Line(svg.Stroke{Colour: svg.Ink, Width: 1.2}, svg.Point{X: f.X + l.X0, Y: f.Y + l.Y0}, svg.Point{X: f.X + l.X1, Y: f.Y + l.Y1})
		}
		for _, n := range f.Nodes {
			bird := &k.birds[n.Bird]
			s.Link(bird.Link, func() { s.Group(bird.who(), func() { k.drawBird(s, n, svg.Point{X: f.X + n.X, Y: f.Y + n.Y}) }) })
		}
	}
	return s.String()
}

func (k *kindred) drawBird(s *svg.Sheet, n *layout.Node, p svg.Point) {
	bird := &k.birds[n.Bird]
	outline := svg.Stroke{Colour: svg.Ink, Width: 1.2}
	if bird.Home {
		outline.Width = 2.4
	}
	fill := svg.Paper
	if bird.Shaded {
		fill = svg.Light
	}
	symbol(s, bird.Sex, fill, outline, p, layout.Radius)
	if bird.Dead {
		strike(s, svg.Stroke{Colour: svg.Ink, Width: 1.2}, p, layout.Radius)
	}
	y := p.Y + layout.Radius + 4 + kinFont*0.8
	for i, l := range k.caption(n.Bird, k.Several(n.Bird)).lines {
		if mark, ok := k.Mark(n.Bird); ok && i == 0 {
			l = letter(mark) + markSpace + l
		}
		s.Text(bird.label().To(svg.Middle), svg.Point{X: p.X, Y: y}, l)
		y += layout.LineHeight
	}
}

// words names the couples of a part with their chicks, and who stands alone.
func (k *kindred) words(p *layout.Sheet) string {
	var b strings.Builder
	say := func(i int) string {
		s := k.birds[i].who()
		if k.birds[i].Dead {
			s += ", dead"
		} else if !k.birds[i].Home {
			s += k.elsewhere
		}
		return s
	}
	for _, f := range p.Families {
		if !f.Kin() {
			var alone []string
			for _, n := range f.Nodes {
				alone = append(alone, say(n.Bird))
			}
			pair := ""
			if len(alone) > 1 {
				pair = ", a pair"
			}
			fmt.Fprintf(&b, "%s %s%s\n", noCloseKin, strings.Join(alone, " and "), pair)
			continue
		}
		for _, u := range f.Unions {
			c := u.Couple
			var parents, chicks []string
			for _, i := range [2]int{c.Sire, c.Dam} {
				if i >= 0 {
					parents = append(parents, say(i))
				}
			}
			for _, i := range c.Chicks {
				chicks = append(chicks, say(i))
			}
			b.WriteString(strings.Join(parents, " and "))
			if c.Kin {
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
func (k *kindred) key(p *layout.Sheet) string {
	var dead, away, diamond, shaded, kin, marked bool
	for _, f := range p.Families {
		for _, n := range f.Nodes {
			b := &k.birds[n.Bird]
			dead = dead || b.Dead
			away = away || !b.Home
			shaded = shaded || b.Shaded
			diamond = diamond || b.Sex != studbook.Male && b.Sex != studbook.Female
			marked = marked || k.Several(n.Bird) > 0
		}
		for _, u := range f.Unions {
			kin = kin || u.Couple.Kin
		}
	}
	key := "Square: male; circle: female"
	for _, s := range []struct {
		shown bool
		text  string
	}{
		{diamond, "; diamond: sex unknown"},
		{away, "; bold: " + k.bold},
		{shaded, "; shaded: common ancestor"},
		{dead, "; struck through: dead"},
		{kin, "; double line: the two are kin"},
		{true, "."},
		{marked, " The same letter marks the same bird."},
		{k.Reach() > 0, " Close kin are " + closeKin[k.Reach()] + ", half ones too; ancestors who make no two birds here close kin are left out."},
	} {
		if s.shown {
			key += s.text
		}
	}
	return key
}
