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
)

// MeanKinshipFigure draws how many birds of the programme have which mean
// kinship, and marks and names the birds at home; of more than 60 it names the
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
		key = "Square: male; circle: female; diamond: sex unknown. The lower, the rarer the bird's genes."
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
	c := newChart("birds of the programme", "Mean kinship", max(300, float64(len(named))*nameRow+90))
	first, width, counts := g.classes()
	c.Y.Min, c.Y.Max = first, first+float64(len(counts))*width
	if len(counts) < 4 {
		c.Y.Min, c.Y.Max = max(0, first-2*width), first+float64(len(counts)+2)*width
	}
	most := slices.Max(counts)
	c.X.Min, c.X.Max = 0, float64(most)
	c.X.Tick.Marker = numberTicks(0, float64(most), 6, 1)
	c.Y.Tick.Marker = niceTicks(c.Y.Min, c.Y.Max, 10, width, func(v float64) string { return document.FormatMeanKinship(v) })
	c.right = 20
	if len(g.home) > 0 {
		c.right = 290
	}
	c.rules()
	c.paint(func(d draw.Canvas, x, y func(float64) vg.Length) {
		for i, n := range counts {
			if n == 0 {
				continue
			}
			from := first + float64(i)*width
			b := box{float64(x(0)), float64(y(from)) + 0.5, float64(x(float64(n))), float64(y(from+width)) - 0.5}
			fillBox(d, b, lightShade)
		}
		if !math.IsNaN(g.mean) && g.mean >= c.Y.Min && g.mean <= c.Y.Max {
			d.StrokeLine2(stroke(inkShade, 1.4, dashed), d.Min.X, y(g.mean), d.Max.X, y(g.mean))
			// The name of the line stands on it, at the end of the plot.
			d.FillText(bold(lettering(noteFont, inkShade, draw.XRight)), vg.Point{X: d.Max.X - 2, Y: y(g.mean) + 8}, "mean "+document.FormatMeanKinship(g.mean))
		}
	})
	c.after = append(c.after, func(d draw.Canvas, x, y func(float64) vg.Length) {
		if len(g.home) == 0 {
			return
		}
		line := x(c.X.Max) + 26
		title := bold(lettering(noteFont, inkShade, draw.XLeft))
		d.FillText(title, vg.Point{X: line - 4, Y: d.Max.Y - 10}, "Birds at home")
		d.StrokeLine2(stroke(quietShade, 1, solid), line, y(c.Y.Min), line, y(c.Y.Max))
		if g.mean >= c.Y.Min && g.mean <= c.Y.Max {
			d.StrokeLine2(stroke(inkShade, 1.4, dashed), x(c.X.Max), y(g.mean), line+8, y(g.mean))
		}
		var want []float64
		for _, i := range named {
			want = append(want, float64(y(g.home[i].MeanKinship)))
		}
		places := within(separate(want, nil, func(int) float64 { return nameRow }), 12, float64(d.Max.Y)-32, nameRow)
		for k, i := range named {
			b := g.home[i]
			from := vg.Point{X: line + 6, Y: y(b.MeanKinship)}
			to := vg.Point{X: line + 46, Y: vg.Length(places[k])}
			d.StrokeLines(stroke(midShade, 0.6, solid), []vg.Point{from, {X: line + 12, Y: from.Y}, {X: to.X - 6, Y: to.Y}, to})
			d.FillText(lettering(noteFont, inkShade, draw.XLeft), vg.Point{X: to.X + 4, Y: to.Y}, short(b.label(), 158, noteFont))
			d.FillText(lettering(noteFont, quietShade, draw.XRight), vg.Point{X: d.Max.X - 12, Y: to.Y}, document.FormatMeanKinship(b.MeanKinship))
		}
		for _, b := range g.home {
			drawSex(d, rune(b.Sex), vg.Point{X: line, Y: y(b.MeanKinship)}, 4, paperShade)
		}
	})
	return c.svg()
}

// label names the bird with its id where both fit.
func (b KinBird) label() string {
	name, id := document.Clean(b.Name), document.Clean(b.ID)
	if name == "" {
		return id
	}
	if both := name + " · " + id; textWidth(both, noteFont, false) <= 158 {
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
