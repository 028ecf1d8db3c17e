package drawing

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"pairwright/cmd/pairwright/internal/document"
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
	s := fmt.Sprintf("%s, %s alive, %s lost", document.FormatThings(len(g.founders), "founder", "founders"), document.FormatCount(g.living), document.FormatCount(g.lost))
	if g.atRisk > 0 {
		s += fmt.Sprintf(", %s about to be lost", document.FormatCount(g.atRisk))
		if more := g.atRisk - len(g.named); more > 0 {
			s += fmt.Sprintf(" (%s of them named)", document.FormatCount(len(g.named)))
		}
	}
	return s + "."
}

func (g *founderPlot) draw() string {
	c := newChart("contribution: share of the living birds' genes, percent", "Retention: share of the founder's genes that is left, percent", 400)
	most := 0.0
	for _, f := range g.founders {
		most = max(most, f.Contribution)
	}
	most = max(most, 0.01)
	step := niceStep(100*most/6, 0.1)
	c.X.Min, c.X.Max = 0, math.Ceil(100*most/step)*step
	c.Y.Min, c.Y.Max = 0, 100
	c.X.Padding, c.Y.Padding = 8, 8
	c.X.Tick.Marker = numberTicks(0, c.X.Max, 7, 0.1)
	c.Y.Tick.Marker = numberTicks(0, 100, 6, 1)
	c.right = 40
	c.rules()
	place := func(f FounderShare, x, y func(float64) vg.Length) vg.Point {
		return vg.Point{X: x(100 * f.Contribution), Y: y(100 * f.Retention)}
	}
	c.paint(func(d draw.Canvas, x, y func(float64) vg.Length) {
		var taken []box
		for _, f := range g.founders {
			p := place(f, x, y)
			taken = append(taken, around(p, 5))
		}
		if g.genomes > 0 {
			// r/Σr meets the top at 1/Σr, or the right side before it.
			top := min(100/g.genomes, c.X.Max)
			from, to := vg.Point{X: x(0), Y: y(0)}, vg.Point{X: x(top), Y: y(top * g.genomes)}
			d.StrokeLine2(stroke(quietShade, 1.2, dashed), from.X, from.Y, to.X, to.Y)
			for i := range 40 { // keep names off the line
				t := vg.Length(i) / 40
				taken = append(taken, around(vg.Point{X: from.X + t*(to.X-from.X), Y: from.Y + t*(to.Y-from.Y)}, 2))
			}
		}
		frame := box{float64(d.Min.X), float64(d.Min.Y), float64(d.Max.X) + 30, float64(d.Max.Y) + 4}
		label := func(s string, p vg.Point, style draw.TextStyle) {
			if b, ok := freePlace(s, p, frame, taken); ok {
				middle := vg.Point{X: vg.Length(b.x0), Y: vg.Length((b.y0 + b.y1) / 2)}
				if near := nearest(b, p); math.Hypot(float64(near.X-p.X), float64(near.Y-p.Y)) > 12 {
					d.StrokeLine2(stroke(midShade, 0.6, solid), p.X, p.Y, near.X, near.Y)
				}
				d.FillText(style, middle, s)
				taken = append(taken, b)
			}
		}
		for _, f := range slices.Backward(g.named) {
			label(short(f.who(), nameMost, noteFont), place(f, x, y), lettering(noteFont, inkShade, draw.XLeft))
		}
		if g.genomes > 0 {
			t := min(0.6*100/g.genomes, c.X.Max*0.6)
			label("shares that would keep most", vg.Point{X: x(t), Y: y(t * g.genomes)}, lettering(noteFont, quietShade, draw.XLeft))
		}
		for _, f := range g.founders {
			drawFounder(d, f, place(f, x, y))
		}
	})
	return c.svg()
}

func drawFounder(d draw.Canvas, f FounderShare, p vg.Point) {
	style := draw.GlyphStyle{Color: quietShade, Radius: 3.4, Shape: draw.CircleGlyph{}}
	switch {
	case f.Retention == 0:
		style.Shape = draw.CrossGlyph{}
	case f.Endangered:
		style.Shape, style.Color, style.Radius = draw.PyramidGlyph{}, accentShade, 4.6
	case f.Living:
		style.Shape, style.Color, style.Radius = draw.RingGlyph{}, inkShade, 3.8
	}
	d.DrawGlyphNoClip(style, p)
}

func around(p vg.Point, r float64) box {
	return box{float64(p.X) - r, float64(p.Y) - r, float64(p.X) + r, float64(p.Y) + r}
}

// nearest returns the point of a box that is nearest to a point.
func nearest(b box, p vg.Point) vg.Point {
	return at(min(max(float64(p.X), b.x0), b.x1), min(max(float64(p.Y), b.y0), b.y1))
}

// freePlace looks for a place for a name near a point, within a frame and off
// all that is taken: beside it, above, below, then farther away.
func freePlace(s string, p vg.Point, frame box, taken []box) (b box, ok bool) {
	w, h := textWidth(s, noteFont, false), noteFont+2
	x, y := float64(p.X), float64(p.Y)
	for away := 7.0; away < 130; away += 6 {
		for _, d := range [][2]float64{{1, 0}, {-1, 0}, {0, 1}, {0, -1}, {1, 1}, {1, -1}, {-1, 1}, {-1, -1}} {
			left := x - w/2
			switch d[0] {
			case 1:
				left = x + away
			case -1:
				left = x - away - w
			}
			b := box{left, y + d[1]*(away+h/2-2) - h/2, left + w, y + d[1]*(away+h/2-2) + h/2}
			if b.inside(frame) && !slices.ContainsFunc(taken, b.meets) {
				return b, true
			}
		}
	}
	return box{}, false
}

func (g *founderPlot) words() string {
	var b strings.Builder
	b.WriteString(g.counts() + "\n")
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
