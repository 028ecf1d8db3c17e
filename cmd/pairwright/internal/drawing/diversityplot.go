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
)

// YearValue is a figure of a year.
type YearValue struct {
	Year  int
	Value float64 // NaN where there is none
}

// DiversityHistory is the gene diversity of a population over the years.
type DiversityHistory struct {
	Of              string      // the population as a sentence begins with it: "The programme"
	Years           []YearValue // ascending
	WithoutFounders []YearValue // the same without living founders; nil to leave it out
	Goal            float64     // 0 for none
	// Projection is how it goes on at the present rate, from the last year on.
	Projection []YearValue
	GoalLost   int  // the year in which the projection falls below the goal; 0 for none
	Low        bool // drawn low, to stand on a page with other things
}

// DiversityFigure draws gene diversity over the years with the goal, and
// dashed how it would go on and when it would cross the goal. Without a year
// with a figure there is no drawing but a sentence that says why.
func DiversityFigure(h DiversityHistory) (f *document.Figure, why string) {
	h.Years, h.WithoutFounders, h.Projection = knownYears(h.Years), knownYears(h.WithoutFounders), knownYears(h.Projection)
	if len(h.Years) == 0 {
		return nil, "There is no history of gene diversity: no year has a figure."
	}
	return &document.Figure{SVG: h.draw(), Alt: h.words(), Caption: document.Clean(h.Of) + ": gene diversity, year by year."}, ""
}

func knownYears(in []YearValue) []YearValue {
	var out []YearValue
	for _, v := range in {
		if !math.IsNaN(v.Value) {
			out = append(out, v)
		}
	}
	return out
}

func yearValues(in []YearValue) []value {
	var out []value
	for _, v := range in {
		out = append(out, value{float64(v.Year), v.Value})
	}
	return out
}

func (h *DiversityHistory) draw() string {
	all := append(append(h.Years[:len(h.Years):len(h.Years)], h.WithoutFounders...), h.Projection...)
	first, last := all[0].Year, all[0].Year
	low, high := all[0].Value, all[0].Value
	for _, v := range all {
		first, last = min(first, v.Year), max(last, v.Year)
		low, high = min(low, v.Value), max(high, v.Value)
	}
	if h.Goal > 0 {
		low, high = min(low, h.Goal), max(high, h.Goal)
	}
	if h.GoalLost != 0 {
		first, last = min(first, h.GoalLost), max(last, h.GoalLost)
	}
	if first == last {
		first, last = first-1, last+1
	}
	step := niceStep((high-low)/5, 0.01)
	x := axis{min: float64(first), max: float64(last), ticks: yearTicks(first, last, 9)}
	y := axis{min: max(0, math.Floor(low/step-0.2)*step), max: min(1, math.Ceil(high/step+0.2)*step), padding: 4}
	y.ticks = numberTicks(y.min, y.max, 8, 0.01)
	height := 340.0
	if h.Low {
		height, y.ticks = 215, numberTicks(y.min, y.max, 4, 0.01)
	}
	c := frame{xTitle: "year", yTitle: "Gene diversity, 1 = all that the founders' base had", x: x, y: y, height: height, right: 128}.draw()

	if h.Goal > 0 {
		c.Line(svg.Stroke{Colour: svg.Accent, Width: 1.5, Pattern: svg.Dotted}, svg.Point{X: c.plot.X0, Y: c.y(h.Goal)}, svg.Point{X: c.plot.X1, Y: c.y(h.Goal)})
	}
	now := h.Years[len(h.Years)-1]
	c.curve(svg.Stroke{Colour: svg.Mid, Width: 1.5}, yearValues(h.WithoutFounders))
	c.curve(svg.Stroke{Colour: svg.Ink, Width: 2}, yearValues(h.Years))
	c.curve(svg.Stroke{Colour: svg.Ink, Width: 1.5, Pattern: svg.Dashed}, yearValues(append([]YearValue{now}, h.Projection...)))
	if len(h.Years) == 1 {
		c.spot(svg.Ink, c.at(float64(now.Year), now.Value))
	}
	if len(h.WithoutFounders) == 1 {
		v := h.WithoutFounders[0]
		c.spot(svg.Mid, c.at(float64(v.Year), v.Value))
	}
	if v, ok := h.farthest(); ok {
		c.TextAt(quiet, svg.Point{X: c.x(float64(v.Year)) + 8, Y: c.y(v.Value)}, "without living founders")
	}
	if h.GoalLost != 0 && h.Goal > 0 {
		p := c.at(float64(h.GoalLost), h.Goal)
		c.Line(svg.Stroke{Colour: svg.Accent, Width: 1}, svg.Point{X: p.X, Y: c.plot.Y1}, p)
		c.spot(svg.Accent, p)
		l := note.In(svg.Accent).Strong().To(svg.End)
		label, x := fmt.Sprintf("goal lost %d", h.GoalLost), p.X-6
		if x-l.Width(label) < c.plot.X0 {
			l, x = l.To(svg.Start), p.X+6
		}
		c.TextAt(l, svg.Point{X: x, Y: c.plot.Y1 - 10}, label)
	}
	h.nameLines(c, now)
	if len(h.Projection) > 0 { // the present value stands at its place
		p := c.at(float64(now.Year), now.Value)
		c.spot(svg.Ink, p)
		c.TextAt(note.Strong().To(svg.Middle), svg.Point{X: p.X, Y: p.Y - 13}, document.FormatDiversity(now.Value))
	}
	return c.String()
}

// nameLines names the lines at their ends.
func (h *DiversityHistory) nameLines(c *chart, now YearValue) {
	const row = 14
	type end struct {
		name  string
		y     float64
		style svg.Lettering
	}
	ends := []end{{"now " + document.FormatDiversity(now.Value), c.y(now.Value), note.Strong()}}
	if n := len(h.Projection); n > 0 {
		ends[0] = end{"at the present rate", c.y(h.Projection[n-1].Value), note}
	}
	if h.Goal > 0 {
		ends = append(ends, end{"goal " + document.FormatDiversity(h.Goal), c.y(h.Goal), note.In(svg.Accent).Strong()})
	}
	slices.SortStableFunc(ends, func(a, b end) int { return cmp.Compare(a.y, b.y) })
	var want []float64
	for _, e := range ends {
		want = append(want, e.y)
	}
	places := within(layout.Separate(want, nil, func(int) float64 { return row }), c.plot.Y0, c.plot.Y1, row)
	for k, e := range ends {
		c.TextAt(e.style, svg.Point{X: c.plot.X1 + 6, Y: places[k]}, e.name)
	}
}

// farthest returns the figure without founders that is farthest below the one
// with them, where there is room for the name of the line.
func (h *DiversityHistory) farthest() (v YearValue, ok bool) {
	all := make(map[int]float64)
	for _, a := range h.Years {
		all[a.Year] = a.Value
	}
	most := math.Inf(-1)
	for _, w := range h.WithoutFounders {
		if a, known := all[w.Year]; known && a-w.Value > most {
			v, ok, most = w, true, a-w.Value
		}
	}
	return v, ok
}

func (h *DiversityHistory) words() string {
	var b strings.Builder
	first, now := h.Years[0], h.Years[len(h.Years)-1]
	fmt.Fprintf(&b, "Gene diversity in %d: %s\n", first.Year, document.FormatDiversity(first.Value))
	least, most := first, first
	for _, v := range h.Years {
		if v.Value < least.Value {
			least = v
		}
		if v.Value > most.Value {
			most = v
		}
	}
	if now.Year != first.Year {
		fmt.Fprintf(&b, "In %d: %s\n", now.Year, document.FormatDiversity(now.Value))
		fmt.Fprintf(&b, "Highest in %d: %s; lowest in %d: %s\n", most.Year, document.FormatDiversity(most.Value), least.Year, document.FormatDiversity(least.Value))
	}
	if n := len(h.WithoutFounders); n > 0 {
		v := h.WithoutFounders[n-1]
		fmt.Fprintf(&b, "Without living founders in %d: %s\n", v.Year, document.FormatDiversity(v.Value))
	}
	if h.Goal > 0 {
		side := "above"
		switch {
		case now.Value < h.Goal:
			side = "below"
		case now.Value == h.Goal:
			side = "at"
		}
		fmt.Fprintf(&b, "The goal is %s; the last figure is %s it\n", document.FormatDiversity(h.Goal), side)
	}
	if n := len(h.Projection); n > 0 {
		v := h.Projection[n-1]
		fmt.Fprintf(&b, "At the present rate in %d: %s\n", v.Year, document.FormatDiversity(v.Value))
	}
	if h.GoalLost != 0 {
		fmt.Fprintf(&b, "At the present rate the goal is lost in %d\n", h.GoalLost)
	}
	return b.String()
}
