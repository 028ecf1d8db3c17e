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
	GoalLost   int // the year in which the projection falls below the goal; 0 for none
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

func yearPoints(in []YearValue) []vg.Point {
	var out []vg.Point
	for _, v := range in {
		out = append(out, at(float64(v.Year), v.Value))
	}
	return out
}

func (h *DiversityHistory) draw() string {
	c := newChart("year", "Gene diversity, 1 = all that the founders' base had", 340)
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
	c.X.Min, c.X.Max = float64(first), float64(last)
	if first == last {
		c.X.Min, c.X.Max = float64(first-1), float64(first+1)
	}
	step := niceStep((high-low)/5, 0.01)
	c.Y.Min = max(0, math.Floor(low/step-0.2)*step)
	c.Y.Max = min(1, math.Ceil(high/step+0.2)*step)
	c.X.Tick.Marker = yearTicks(int(c.X.Min), int(c.X.Max), 9)
	c.Y.Tick.Marker = numberTicks(c.Y.Min, c.Y.Max, 8, 0.01)
	c.right = 128
	c.rules()

	if h.Goal > 0 {
		c.paint(func(d draw.Canvas, _, y func(float64) vg.Length) {
			d.StrokeLine2(stroke(accentShade, 1.5, dotted), d.Min.X, y(h.Goal), d.Max.X, y(h.Goal))
		})
	}
	c.curve(yearPoints(h.WithoutFounders), stroke(midShade, 1.5, solid))
	c.curve(yearPoints(h.Years), stroke(inkShade, 2, solid))
	now := h.Years[len(h.Years)-1]
	c.curve(yearPoints(append([]YearValue{now}, h.Projection...)), stroke(inkShade, 1.5, dashed))
	c.paint(func(d draw.Canvas, x, y func(float64) vg.Length) {
		if len(h.Years) == 1 {
			drawSpot(d, vg.Point{X: x(float64(now.Year)), Y: y(now.Value)}, inkShade)
		}
		if len(h.WithoutFounders) == 1 {
			v := h.WithoutFounders[0]
			drawSpot(d, vg.Point{X: x(float64(v.Year)), Y: y(v.Value)}, midShade)
		}
		if v, ok := h.farthest(); ok {
			d.FillText(lettering(noteFont, quietShade, draw.XLeft), vg.Point{X: x(float64(v.Year)) + 8, Y: y(v.Value)}, "without living founders")
		}
		if h.GoalLost != 0 && h.Goal > 0 {
			p := vg.Point{X: x(float64(h.GoalLost)), Y: y(h.Goal)}
			d.StrokeLine2(stroke(accentShade, 1, solid), p.X, d.Min.Y, p.X, p.Y)
			drawSpot(d, p, accentShade)
			s := bold(lettering(noteFont, accentShade, draw.XRight))
			label := fmt.Sprintf("goal lost %d", h.GoalLost)
			xAt := p.X - 6
			if float64(xAt)-textWidth(label, noteFont, true) < float64(d.Min.X) {
				s.XAlign, xAt = draw.XLeft, p.X+6
			}
			d.FillText(s, vg.Point{X: xAt, Y: d.Min.Y + 10}, label)
		}
	})

	// The lines are named at their ends.
	type end struct {
		name  string
		value float64
		style draw.TextStyle
	}
	plain := lettering(noteFont, inkShade, draw.XLeft)
	ends := []end{{"now " + document.FormatDiversity(now.Value), now.Value, bold(plain)}}
	if n := len(h.Projection); n > 0 {
		ends[0] = end{"at the present rate", h.Projection[n-1].Value, plain}
	}
	if h.Goal > 0 {
		ends = append(ends, end{"goal " + document.FormatDiversity(h.Goal), h.Goal, bold(lettering(noteFont, accentShade, draw.XLeft))})
	}
	c.after = append(c.after, func(d draw.Canvas, x, y func(float64) vg.Length) {
		var want, places []float64
		var order []int
		for i := range ends {
			order = append(order, i)
		}
		slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(ends[i].value, ends[j].value) })
		for _, i := range order {
			want = append(want, float64(y(ends[i].value)))
		}
		places = within(separate(want, nil, func(int) float64 { return 14 }), float64(y(c.Y.Min)), float64(y(c.Y.Max)), 14)
		for k, i := range order {
			d.FillText(ends[i].style, vg.Point{X: x(c.X.Max) + 6, Y: vg.Length(places[k])}, ends[i].name)
		}
		if len(h.Projection) > 0 { // the present value stands at its place
			p := vg.Point{X: x(float64(now.Year)), Y: y(now.Value)}
			drawSpot(d, p, inkShade)
			d.FillText(bold(lettering(noteFont, inkShade, draw.XCenter)), vg.Point{X: p.X, Y: p.Y + 13}, document.FormatDiversity(now.Value))
		}
	})
	return c.svg()
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
