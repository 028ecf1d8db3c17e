package drawing

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/svg"
	"pairwright/pedigree/layout"
	"pairwright/pedigree/studbook"
)

// KinBird is a bird with its mean kinship.
type KinBird struct {
	ID, Name    string
	Sex         studbook.Sex
	MeanKinship float64
}

// KinshipSpread is the mean kinship of the birds of a programme and, among
// them, of those at home.
type KinshipSpread struct {
	All  []float64 // of every living bird of the programme; NaN is left out
	Home []KinBird // those to be marked and named
	Mean float64   // of the programme
}

const (
	spreadMostNames = 60
	spreadNameEdge  = 30 // of more, so many are named at either end
	spreadClasses   = 24
	spreadName      = 158.0 // room for a name in pixels
)

// MeanKinshipFigure draws how many birds of the programme have which mean
// kinship, the lowest at the top as in the lists, and marks and names the birds
// at home; of more than 60 it names the
// 30 lowest and the 30 highest. Without birds there is no figure but a
// sentence that says so.
func MeanKinshipFigure(in KinshipSpread) (f *document.Figure, why string) {
	g := &spreadPlot{mean: in.Mean}
	for _, mk := range in.All {
		if !math.IsNaN(mk) {
			g.all = append(g.all, mk)
		}
	}
	for _, b := range in.Home {
		if !math.IsNaN(b.MeanKinship) {
			g.home = append(g.home, b)
		}
	}
	if len(g.all) == 0 {
		return nil, "There is no picture of mean kinship: no living birds."
	}
	slices.Sort(g.all)
	slices.SortFunc(g.home, func(a, b KinBird) int {
		return cmp.Or(cmp.Compare(a.MeanKinship, b.MeanKinship), strings.Compare(a.ID, b.ID))
	})
	caption := "Mean kinship in the programme: " + document.FormatThings(len(g.all), "bird", "birds")
	key := ""
	if n := len(g.home); n > 0 {
		caption += ", " + document.FormatCount(n) + " of them at home"
		key = "Square: male; circle: female; diamond: sex unknown. The higher up, the fewer relatives the bird has."
		if n > spreadMostNames {
			key += fmt.Sprintf(" Of the birds at home the %d lowest and the %d highest are named.", spreadNameEdge, spreadNameEdge)
		}
	}
	return &document.Figure{SVG: g.draw(), Alt: g.words(), Caption: caption + ".", Key: key}, ""
}

type spreadPlot struct {
	all  []float64 // ascending
	home []KinBird // ascending
	mean float64
}

// classes returns the counts of birds in classes of a width from a first edge.
func (g *spreadPlot) classes() (first, width float64, counts []int) {
	low, high := g.all[0], g.all[len(g.all)-1]
	width = niceStep((high-low)/spreadClasses, 0.0005)
	first = math.Floor(low/width+1e-9) * width
	counts = make([]int, int((high-first)/width+1e-9)+1)
	for _, mk := range g.all {
		counts[min(int((mk-first)/width+1e-9), len(counts)-1)]++
	}
	return first, width, counts
}

func (g *spreadPlot) named() []int {
	var out []int
	for i := range g.home {
		if len(g.home) <= spreadMostNames || i < spreadNameEdge || i >= len(g.home)-spreadNameEdge {
			out = append(out, i)
		}
	}
	return out
}

func (g *spreadPlot) draw() string {
	const nameRow = 13.0
	named := g.named()
	first, width, counts := g.classes()
	y := axis{min: first, max: first + float64(len(counts))*width, padding: 4, down: true}
	if len(counts) < 4 {
		y.min, y.max = max(0, first-2*width), first+float64(len(counts)+2)*width
	}
	y.ticks = niceTicks(y.min, y.max, 10, width, document.FormatMeanKinship)
	most := float64(slices.Max(counts))
	right := 20.0
	if len(g.home) > 0 {
		right = 290
	}
	c := frame{xTitle: "birds of the programme", yTitle: "Mean kinship", x: axis{max: most, ticks: numberTicks(0, most, 6, 1)}, y: y,
		height: max(300, float64(len(named))*nameRow+90), right: right}.draw()
	for i, n := range counts {
		if n > 0 {
			from := first + float64(i)*width
			c.Rect(svg.Light, noLine, svg.Box{X0: c.x(0), Y0: c.y(from) + 0.5, X1: c.x(float64(n)), Y1: c.y(from+width) - 0.5})
		}
	}
	mean, hasMean := c.y(g.mean), g.mean >= y.min && g.mean <= y.max
	meanLine := svg.Stroke{Colour: svg.Ink, Width: 1.4, Pattern: svg.Dashed}
	if hasMean {
		c.Line(meanLine, svg.Point{X: c.plot.X0, Y: mean}, svg.Point{X: c.plot.X1, Y: mean})
		// The name of the line stands on it, at the end of the plot.
		c.TextAt(note.Strong().To(svg.End), svg.Point{X: c.plot.X1 - 2, Y: mean - 8}, "mean "+document.FormatMeanKinship(g.mean))
	}
	if len(g.home) == 0 {
		return c.String()
	}
	line := c.plot.X1 + 26
	c.TextAt(note.Strong(), svg.Point{X: line - 4, Y: 12}, "Birds at home")
	c.Line(axisLine, svg.Point{X: line, Y: c.y(y.min)}, svg.Point{X: line, Y: c.y(y.max)})
	if hasMean {
		c.Line(meanLine, svg.Point{X: c.plot.X1, Y: mean}, svg.Point{X: line + 8, Y: mean})
	}
	var want []float64
	for _, i := range named {
		want = append(want, c.y(g.home[i].MeanKinship))
	}
	places := within(layout.Separate(want, nil, func(int) float64 { return nameRow }), c.plot.Y0, c.Height-12, nameRow)
	for k, i := range named {
		b := g.home[i]
		from, to := svg.Point{X: line + 6, Y: c.y(b.MeanKinship)}, svg.Point{X: line + 46, Y: places[k]}
		c.Line(svg.Stroke{Colour: svg.Mid, Width: 0.6}, from, svg.Point{X: line + 12, Y: from.Y}, svg.Point{X: to.X - 6, Y: to.Y}, to)
		c.TextAt(note, svg.Point{X: to.X + 4, Y: to.Y}, note.Truncate(b.label(), spreadName))
		c.TextAt(quiet.To(svg.End), svg.Point{X: c.Width - 12, Y: to.Y}, document.FormatMeanKinship(b.MeanKinship))
	}
	for _, b := range g.home {
		symbol(c.Sheet, b.Sex, svg.Paper, svg.Stroke{Colour: svg.Ink, Width: 1.2}, svg.Point{X: line, Y: c.y(b.MeanKinship)}, 4)
	}
	return c.String()
}

// label names the bird with its id where both fit.
func (b KinBird) label() string {
	name, id := document.Clean(b.Name), document.Clean(b.ID)
	if name == "" {
		return id
	}
	if both := name + " · " + id; note.Width(both) <= spreadName {
		return both
	}
	return name
}

func (g *spreadPlot) words() string {
	var b strings.Builder
	n := len(g.all)
	fmt.Fprintf(&b, "Mean kinship of %s: from %s to %s, half of them up to %s, mean %s\n", document.FormatThings(n, "bird", "birds"),
		document.FormatMeanKinship(g.all[0]), document.FormatMeanKinship(g.all[n-1]), document.FormatMeanKinship(g.all[(n-1)/2]), document.FormatMeanKinship(g.mean))
	if len(g.home) > 0 {
		below := 0
		for _, h := range g.home {
			if h.MeanKinship < g.mean {
				below++
			}
		}
		fmt.Fprintf(&b, "Of %s at home %s below the mean\n", document.FormatThings(len(g.home), "bird", "birds"), map[bool]string{true: "1 is", false: document.FormatCount(below) + " are"}[below == 1])
	}
	for _, i := range g.named() {
		h := g.home[i]
		fmt.Fprintf(&b, "%s, %s: %s\n", h.label(), h.Sex.Word(), document.FormatMeanKinship(h.MeanKinship))
	}
	return b.String()
}
