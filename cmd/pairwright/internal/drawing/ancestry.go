package drawing

import (
	"fmt"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/svg"
	"pairwright/pedigree/studbook"
)

// Ancestor is a bird of a drawing of ancestry, with its parents. A parent of
// nil is not drawn.
type Ancestor struct {
	ID, Name   string
	Sex        studbook.Sex
	Dead       bool
	Inbreeding float64 // F; drawn where above 0, with a double line between the parents
	Link       string  // anchor in the document; "" for none
	Standing   Standing
	Candidates []ParentCandidate // of an uncertain parent
	Sire, Dam  *Ancestor
}

// ParentCandidate is a bird that may be a parent, with the chance that it is.
type ParentCandidate struct {
	ID     string
	Chance float64 // 0..1
}

// String returns the id and the chance in percent.
func (c ParentCandidate) String() string {
	return document.Clean(c.ID) + " " + document.FormatChance(c.Chance)
}

// Standing says what is known of who an ancestor was.
type Standing byte

// The values of Standing. Of all but Identified only Sex matters, and of
// Uncertain the candidates.
const (
	Identified Standing = iota
	Uncertain           // one of several candidates
	Unidentified
	WildParent // a bird in the wild
)

// Generations is how many generations of ancestors AncestryFigure draws.
const Generations = 4

// Measures of the drawing in pixels.
const (
	symbolSize   = 18.0
	symbolGap    = 6.0   // between a symbol and its text
	labelMost    = 140.0 // longer texts are cut
	columnSpace  = 26.0  // between a text and the next symbol
	lineHeight   = 15.0
	rowSpace     = 8.0 // between the texts of two birds
	drawingSpace = 14.0
)

var (
	nameLabel  = svg.Lettering{Size: 13, Colour: svg.Ink, Bold: true}
	plainLabel = svg.Lettering{Size: 12, Colour: svg.Quiet}
	kinStroke  = svg.Stroke{Colour: svg.Ink, Width: 1.5}
)

// candidatesMost is the most lines that candidates take.
const candidatesMost = 4

// AncestryFigure draws a bird and four generations of its ancestors, the bird
// on the left, sires above dams, in the symbols of Bennett et al. 2008
// (J Genet Couns 17:424–433) turned by a quarter: squares are males, circles
// females, diamonds birds of unknown sex, a stroke marks the dead, an arrow
// the bird in question and a double line parents that are kin. Symbols of
// parents that are not identified are dashed. Where a bird stands in several
// places they have a letter, and its ancestors are drawn at the first alone.
func AncestryFigure(bird *Ancestor) *document.Figure {
	t := newAncestry(bird)
	who := t.nodes[0].who()
	return &document.Figure{SVG: t.draw(), Alt: t.words(), Caption: "Ancestors of " + who, Key: t.key()}
}

// ancestry is the tree of a drawing, its nodes in order of generation and,
// within one, from top to bottom.
type ancestry struct {
	nodes  []*ancestryNode
	column [Generations + 1]struct{ x, label float64 } // left edge, width of the widest text
	width  float64
	height float64
}

type ancestryNode struct {
	*Ancestor
	generation int
	path       string // "Sire's dam", "" for the bird itself
	mark       string // letter of a bird that stands in several places
	again      bool   // the bird stood in a place before
	texts      []label
	sire, dam  *ancestryNode
	y          float64 // middle
	extent     float64 // height of the node with all of its ancestors
}

// label is a line of text beside a symbol.
type label struct {
	text, full string // full is the text before it was cut
	style      svg.Lettering
}

// width returns the width of the text.
func (l label) width() float64 { return l.style.Width(l.text) }

func newAncestry(bird *Ancestor) *ancestry {
	t := &ancestry{nodes: []*ancestryNode{{Ancestor: bird}}}
	places := make(map[string][]*ancestryNode)
	for i := 0; i < len(t.nodes); i++ {
		n := t.nodes[i]
		if n.Standing == Identified {
			places[n.ID] = append(places[n.ID], n)
			n.again = len(places[n.ID]) > 1
		}
		if n.generation == Generations || n.again || n.Standing != Identified {
			continue
		}
		parent := func(a *Ancestor, side string) *ancestryNode {
			if a == nil {
				return nil
			}
			path := side
			if n.path != "" {
				path = n.path + "'s " + strings.ToLower(side)
			}
			p := &ancestryNode{Ancestor: a, generation: n.generation + 1, path: path}
			t.nodes = append(t.nodes, p)
			return p
		}
		n.sire, n.dam = parent(n.Sire, "Sire"), parent(n.Dam, "Dam")
	}
	marks := 0
	for _, n := range t.nodes {
		if same := places[n.ID]; n.Standing == Identified && len(same) > 1 && !n.again {
			for _, m := range same {
				m.mark = letter(marks)
			}
			marks++
		}
	}
	t.layout()
	return t
}

// letter returns a, b, ..., z, aa, ab and so on.
func letter(i int) string {
	s := string(rune('a' + i%26))
	if i >= 26 {
		return letter(i/26-1) + s
	}
	return s
}

// who names a bird.
func (n *ancestryNode) who() string {
	switch name := document.Clean(n.Name); {
	case n.Standing == Uncertain:
		return "uncertain"
	case n.Standing == Unidentified:
		return "unknown"
	case n.Standing == WildParent:
		return "a bird in the wild"
	case name != "":
		return name + " (" + document.Clean(n.ID) + ")"
	}
	return document.Clean(n.ID)
}

// candidates lists who may be the parent.
func (n *ancestryNode) candidates() string {
	var out []string
	for _, c := range n.Candidates {
		out = append(out, c.String())
	}
	return document.FormatList(out, 0)
}

func (n *ancestryNode) label() {
	add := func(s string, style svg.Lettering) {
		n.texts = append(n.texts, label{style.Truncate(s, labelMost), s, style})
	}
	if n.Standing != Identified {
		add(n.who(), plainLabel)
		for i, c := range n.Candidates {
			if n.Standing != Uncertain {
				break
			}
			if left := len(n.Candidates) - i; i == candidatesMost-1 && left > 1 {
				add(fmt.Sprintf("and %d more", left), plainLabel)
				break
			}
			add(c.String(), plainLabel)
		}
		return
	}
	// The letter stands first, so that it is never cut.
	first, mark := document.Clean(n.Name), ""
	if n.mark != "" {
		mark = n.mark + " · "
	}
	if first == "" {
		add(mark+document.Clean(n.ID), nameLabel)
	} else {
		add(mark+first, nameLabel)
		add(document.Clean(n.ID), plainLabel)
	}
	if n.Inbreeding > 0 {
		f := "F " + document.FormatKinship(n.Inbreeding)
		last := &n.texts[len(n.texts)-1]
		if joined := last.full + " · " + f; len(n.texts) > 1 && plainLabel.Width(joined) <= labelMost {
			last.text, last.full = joined, joined
		} else {
			add(f, plainLabel)
		}
	}
}

func (t *ancestry) layout() {
	for _, n := range t.nodes {
		n.label()
		c := &t.column[n.generation]
		for _, l := range n.texts {
			c.label = max(c.label, l.width())
		}
	}
	x := 2 * drawingSpace // room for the arrow
	for g := range t.column {
		t.column[g].x = x
		if t.column[g].label > 0 {
			t.width = x + symbolSize + symbolGap + t.column[g].label + drawingSpace
		}
		x += symbolSize + symbolGap + t.column[g].label + columnSpace
	}
	t.nodes[0].measure()
	t.nodes[0].place(drawingSpace)
	t.height = t.nodes[0].extent + 2*drawingSpace
}

// parents returns the parents that are drawn, sire first.
func (n *ancestryNode) parents() []*ancestryNode {
	var out []*ancestryNode
	for _, p := range [2]*ancestryNode{n.sire, n.dam} {
		if p != nil {
			out = append(out, p)
		}
	}
	return out
}

// measure sets the extent of a node and of all behind it.
func (n *ancestryNode) measure() {
	sum := 0.0
	for _, p := range n.parents() {
		p.measure()
		sum += p.extent
	}
	n.extent = max(sum, symbolSize+rowSpace, float64(len(n.texts))*lineHeight+rowSpace)
}

// place sets the middles of a node and of all behind it, which together begin
// at top. A node stands midway between its parents.
func (n *ancestryNode) place(top float64) {
	parents := n.parents()
	if len(parents) == 0 {
		n.y = top + n.extent/2
		return
	}
	sum := 0.0
	for _, p := range parents {
		sum += p.extent
	}
	top += (n.extent - sum) / 2
	for _, p := range parents {
		p.place(top)
		top += p.extent
	}
	n.y = (parents[0].y + parents[len(parents)-1].y) / 2
}

func (t *ancestry) draw() string {
	s := svg.New(t.width, t.height)
	for _, n := range t.nodes {
		t.drawLines(s, n)
	}
	for _, n := range t.nodes {
		link := ""
		if n.Standing == Identified {
			link = n.Link
		}
		full := n.who()
		if n.Standing == Uncertain && len(n.Candidates) > 0 {
			full = "uncertain: " + n.candidates()
		}
		s.Link(link, func() { s.Group(full, func() { t.drawNode(s, n) }) })
	}
	return s.String()
}

// drawLines draws the line of descent from a bird to the line that joins its
// parents.
func (t *ancestry) drawLines(s *svg.Sheet, n *ancestryNode) {
	parents := n.parents()
	if len(parents) == 0 {
		return
	}
	line := func(x1, y1, x2, y2 float64) {
		s.Line(kinStroke, svg.Point{X: x1, Y: y1}, svg.Point{X: x2, Y: y2})
	}
	label := 0.0
	for _, l := range n.texts {
		label = max(label, l.width())
	}
	from := t.column[n.generation].x + symbolSize + symbolGap + label + symbolGap
	x := t.column[n.generation+1].x
	if len(parents) == 1 {
		line(from, n.y, x, n.y)
		return
	}
	x += symbolSize / 2
	top, bottom := parents[0].y+symbolSize/2, parents[1].y-symbolSize/2
	if n.Inbreeding > 0 {
		line(x-2, top, x-2, bottom)
		line(x+2, top, x+2, bottom)
		x -= 2
	} else {
		line(x, top, x, bottom)
	}
	line(from, n.y, x, n.y)
}

func (t *ancestry) drawNode(s *svg.Sheet, n *ancestryNode) {
	const half = symbolSize / 2
	x := t.column[n.generation].x
	centre := svg.Point{X: x + half, Y: n.y}
	outline := kinStroke
	if n.Standing != Identified {
		outline.Pattern = svg.Short
	}
	symbol(s, n.Sex, svg.Paper, outline, centre, half)
	if n.Standing == Unidentified || n.Standing == Uncertain {
		s.Text(plainLabel.In(svg.Ink).To(svg.Middle), svg.Point{X: centre.X, Y: centre.Y + 4}, "?")
	}
	if n.Dead && n.Standing == Identified {
		strike(s, kinStroke, centre, half)
	}
	if n.generation == 0 { // the arrow points at the bird in question
		tip := svg.Point{X: x - 4, Y: n.y + half}
		s.Line(kinStroke, svg.Point{X: tip.X - 12, Y: tip.Y + 8}, tip)
		s.Line(kinStroke, svg.Point{X: tip.X - 5, Y: tip.Y}, tip, svg.Point{X: tip.X - 2, Y: tip.Y + 5})
	}
	y := n.y - float64(len(n.texts))*lineHeight/2 + lineHeight*0.75
	for _, l := range n.texts {
		s.Label(l.style, svg.Point{X: x + symbolSize + symbolGap, Y: y}, l.text, l.full)
		y += lineHeight
	}
}

// words lists the ancestors, a line each.
func (t *ancestry) words() string {
	var b strings.Builder
	first := make(map[string]string)
	for _, n := range t.nodes {
		if n.path != "" {
			b.WriteString(n.path + ": ")
		}
		b.WriteString(n.who())
		if n.Standing == Uncertain && len(n.Candidates) > 0 {
			b.WriteString(", one of " + n.candidates())
		}
		if n.Standing == Identified {
			b.WriteString(", " + n.Sex.Word())
			if n.Dead {
				b.WriteString(", dead")
			}
			if n.Inbreeding > 0 {
				b.WriteString(", F " + document.FormatKinship(n.Inbreeding))
			}
			switch {
			case n.again && first[n.ID] == "":
				b.WriteString(", the bird itself")
			case n.again:
				b.WriteString(", also " + strings.ToLower(first[n.ID][:1]) + first[n.ID][1:])
			default:
				first[n.ID] = n.path
			}
		}
		b.WriteByte('\n')
	}
	return b.String()
}

// key explains the symbols that the drawing has.
func (t *ancestry) key() string {
	var dead, dashed, kin, marked, diamond bool
	for _, n := range t.nodes {
		identified := n.Standing == Identified
		dead = dead || n.Dead && identified
		dashed = dashed || !identified
		kin = kin || n.Inbreeding > 0 && n.sire != nil && n.dam != nil
		marked = marked || n.mark != ""
		diamond = diamond || n.Sex != studbook.Male && n.Sex != studbook.Female
	}
	key := "Square: male; circle: female"
	for _, part := range []struct {
		shown bool
		text  string
	}{
		{diamond, "; diamond: sex unknown"},
		{dead, "; struck through: dead"},
		{dashed, "; dashed: not identified"},
		{kin, "; double line: the parents are kin"},
		{true, "."},
		{marked, " The same letter marks the same bird; its ancestors are drawn once."},
	} {
		if part.shown {
			key += part.text
		}
	}
	return key
}
