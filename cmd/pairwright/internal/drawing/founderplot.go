package drawing

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/svg"
)

// FounderShare is what a founder has given and what is left of it.
type FounderShare struct {
	ID, Name     string
	Contribution float64 // share of the genes of the living, 0..1
	Retention    float64 // share of the founder's genes that still have a copy, 0..1
	Living       bool
	// Endangered founders have genes that few birds hold: they are named.
	Endangered bool
}

// Founders are the founders of a population.
type Founders struct {
	Of       string // the population as a sentence begins with it: "The programme"
	Founders []FounderShare
}

// namedFounders is how many founders a chart names at most.
const namedFounders = 14

// FoundersFigure draws a mark for every founder by its contribution and its
// retention. A line shows the contributions that would be best: in proportion
// to retention, p = r/Σr (Lacy 1989). Founders to the right of it are
// over-represented. Those about to be lost are named. Without founders there
// is no figure but a sentence that says so.
func FoundersFigure(in Founders) (f *document.Figure, why string) {
	if len(in.Founders) == 0 {
		return nil, "There is no picture of founders: no founders are known."
	}
	g := newFounderPlot(in.Founders)
	return &document.Figure{SVG: g.draw(), Alt: g.words(), Caption: document.Clean(in.Of) + ": what each founder has given to the living, and how much of its genes is left. " + g.counts(),
		Key: "Ring: living founder; dot: dead; triangle: about to be lost; cross: lost."}, ""
}

type founderPlot struct {
	founders             []FounderShare // by retention, contribution and id
	named                []FounderShare
	genomes              float64 // Σ retention
	living, atRisk, lost int
}

func newFounderPlot(in []FounderShare) *founderPlot {
	g := &founderPlot{founders: slices.Clone(in)}
	slices.SortFunc(g.founders, func(a, b FounderShare) int {
		return cmp.Or(cmp.Compare(a.Retention, b.Retention), cmp.Compare(a.Contribution, b.Contribution), strings.Compare(a.ID, b.ID))
	})
	for _, f := range g.founders {
		g.genomes += f.Retention
		switch {
		case f.Retention == 0:
			g.lost++
		case f.Endangered:
			g.atRisk++
			if len(g.named) < namedFounders {
				g.named = append(g.named, f)
			}
		}
		if f.Living {
			g.living++
		}
	}
	return g
}

func (f FounderShare) who() string {
	if name := document.Clean(f.Name); name != "" {
		return name
	}
	return document.Clean(f.ID)
}

func (g *founderPlot) counts() string {
	s := fmt.Sprintf("%s, %s alive", document.FormatThings(len(g.founders), "founder", "founders"), document.FormatCount(g.living))
	if g.lost > 0 { // a figure may be of those alone that have left something
		s += fmt.Sprintf(", %s lost", document.FormatCount(g.lost))
	}
	if g.atRisk > 0 {
		s += fmt.Sprintf(", %s about to be lost", document.FormatCount(g.atRisk))
		if more := g.atRisk - len(g.named); more > 0 {
			s += fmt.Sprintf(" (%s of them named)", document.FormatCount(len(g.named)))
		}
	}
	return s + "."
}

func (g *founderPlot) draw() string {
	most := 0.01
	for _, f := range g.founders {
		most = max(most, f.Contribution)
	}
	step := niceStep(100*most/6, 0.1)
	x := axis{max: math.Ceil(100*most/step) * step, padding: 8}
	x.ticks = numberTicks(0, x.max, 7, 0.1)
	c := frame{xTitle: "contribution: share of the living birds' genes, percent", yTitle: "Retention: share of the founder's genes that is left, percent",
		x: x, y: axis{max: 100, padding: 8, ticks: numberTicks(0, 100, 6, 1)}, height: 320, right: 40}.draw()
	place := func(f FounderShare) svg.Point { return c.at(100*f.Contribution, 100*f.Retention) }
	var taken []svg.Box
	for _, f := range g.founders {
		taken = append(taken, svg.Around(place(f), 5))
	}
	if g.genomes > 0 {
		// r/Σr meets the top at 1/Σr, or the right side before it.
		top := min(100/g.genomes, x.max)
		from, to := c.at(0, 0), c.at(top, top*g.genomes)
		c.Line(svg.Stroke{Colour: svg.Quiet, Width: 1.2, Pattern: svg.Dashed}, from, to)
		for i := range 40 { // keep names off the line
			t := float64(i) / 40
			taken = append(taken, svg.Around(svg.Point{X: from.X + t*(to.X-from.X), Y: from.Y + t*(to.Y-from.Y)}, 2))
		}
	}
	room := svg.Box{X0: c.plot.X0, Y0: c.plot.Y0 - 4, X1: c.plot.X1 + 30, Y1: c.plot.Y1}
	label := func(s string, p svg.Point, style svg.Lettering) {
		if b, ok := freePlace(s, p, room, taken); ok {
			if near := b.Nearest(p); math.Hypot(near.X-p.X, near.Y-p.Y) > 12 {
				c.Line(svg.Stroke{Colour: svg.Mid, Width: 0.6}, p, near)
			}
			c.TextAt(style, svg.Point{X: b.X0, Y: (b.Y0 + b.Y1) / 2}, s)
			taken = append(taken, b)
		}
	}
	for _, f := range slices.Backward(g.named) {
		label(note.Truncate(f.who(), nameMost), place(f), note)
	}
	if g.genomes > 0 {
		t := min(0.6*100/g.genomes, x.max*0.6)
		label("shares that would keep most", c.at(t, t*g.genomes), quiet)
	}
	for _, f := range g.founders {
		c.founder(f, place(f))
	}
	return c.String()
}

// founder draws the mark of a founder.
func (c *chart) founder(f FounderShare, p svg.Point) {
	switch {
	case f.Retention == 0:
		const r = 2.6
		c.Lines(svg.Stroke{Colour: svg.Quiet, Width: 1}, svg.Point{X: p.X - r, Y: p.Y - r}, svg.Point{X: p.X + r, Y: p.Y + r}, svg.Point{X: p.X - r, Y: p.Y + r}, svg.Point{X: p.X + r, Y: p.Y - r})
	case f.Endangered:
		const r = 4.6
		c.Polygon(svg.Accent, noLine, svg.Point{X: p.X, Y: p.Y - r}, svg.Point{X: p.X + r*0.87, Y: p.Y + r/2}, svg.Point{X: p.X - r*0.87, Y: p.Y + r/2})
	case f.Living:
		c.Circle(svg.None, svg.Stroke{Colour: svg.Ink, Width: 1}, p, 3.8)
	default:
		c.Circle(svg.Quiet, noLine, p, 3.4)
	}
}

// freePlace looks for a place for a name near a point, within the room there is and off
// all that is taken: beside it, above, below, then farther away.
func freePlace(s string, p svg.Point, room svg.Box, taken []svg.Box) (b svg.Box, ok bool) {
	w, h := note.Width(s), noteFont+2
	for away := 7.0; away < 130; away += 6 {
		for _, d := range [][2]float64{{1, 0}, {-1, 0}, {0, -1}, {0, 1}, {1, -1}, {1, 1}, {-1, -1}, {-1, 1}} {
			left := p.X - w/2
			switch d[0] {
			case 1:
				left = p.X + away
			case -1:
				left = p.X - away - w
			}
			y := p.Y + d[1]*(away+h/2-2)
			b := svg.Box{X0: left, Y0: y - h/2, X1: left + w, Y1: y + h/2}
			if b.Inside(room) && !slices.ContainsFunc(taken, b.Meets) {
				return b, true
			}
		}
	}
	return svg.Box{}, false
}

func (g *founderPlot) words() string {
	var b strings.Builder
	fmt.Fprintf(&b, "Founder genomes surviving: %s\n", document.FormatNumber(g.genomes, 1))
	largest := slices.Clone(g.founders)
	slices.SortStableFunc(largest, func(a, b FounderShare) int {
		return cmp.Or(cmp.Compare(b.Contribution, a.Contribution), strings.Compare(a.ID, b.ID))
	})
	say := func(f FounderShare) string {
		return fmt.Sprintf("%s gives %s, %s left", f.who(), document.FormatPercent(f.Contribution), document.FormatPercent(f.Retention))
	}
	for _, f := range largest[:min(3, len(largest))] {
		b.WriteString("Among the largest: " + say(f) + "\n")
	}
	for _, f := range g.named {
		b.WriteString("About to be lost: " + say(f) + "\n")
	}
	return b.String()
}
