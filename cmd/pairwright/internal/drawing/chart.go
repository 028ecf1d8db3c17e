package drawing

import (
	"fmt"
	"math"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/svg"
)

// The look of charts. Everything is told apart by shape, pattern, place or
// label; greys and the one accent only help.
var (
	axisLine = svg.Stroke{Colour: svg.Quiet, Width: 1}
	ruleLine = svg.Stroke{Colour: svg.Pale, Width: 1}
	noLine   svg.Stroke

	title = svg.Lettering{Size: 12, Colour: svg.Ink}
	note  = svg.Lettering{Size: noteFont, Colour: svg.Ink}
	quiet = svg.Lettering{Size: noteFont, Colour: svg.Quiet}
)

// Measures of charts in pixels.
const (
	chartWidth = 640.0
	noteFont   = 11.0
	nameMost   = 150.0 // longer names are cut
)

// axis is a range of values with its marks.
type axis struct {
	min, max float64
	padding  float64 // room between the ends of the range and the frame
	down     bool    // a y axis that runs downwards: the lowest value at the top
	ticks    []tick
}

// tick is a mark of an axis.
type tick struct {
	at    float64
	label string
}

// frame is a chart before it is drawn: its axes and the room around the plot.
type frame struct {
	xTitle, yTitle    string // the latter stands above the axis, to be read without turning the head
	x, y              axis
	height            float64
	left, right, foot float64
}

// chart is a sheet with axes: the plot is where the data are.
type chart struct {
	*svg.Sheet
	frame
	plot svg.Box
}

// Room around a plot in pixels.
const (
	above               = 30.0 // the title of the y axis
	mark, labels, under = 4.0, 15.0, 16.0
	gap                 = 6.0 // between the labels of the y axis and the plot
)

// draw draws the axes.
func (f frame) draw() *chart {
	c := &chart{Sheet: svg.New(chartWidth, f.height), frame: f}
	widest := 0.0
	for _, t := range f.y.ticks {
		widest = max(widest, quiet.Width(t.label))
	}
	c.plot = svg.Box{X0: 4 + f.left + widest + gap, Y0: above, X1: chartWidth - f.right, Y1: f.height - f.foot - mark - labels - under - 4}
	c.TextAt(note.In(svg.Ink), svg.Point{X: 4, Y: 12}, f.yTitle)
	c.axes()
	c.TextAt(note.To(svg.Middle), svg.Point{X: (c.plot.X0 + c.plot.X1) / 2, Y: c.plot.Y1 + mark + labels + under/2 + 2}, f.xTitle)
	return c
}

// axes draws both axes with their marks around the plot.
func (c *chart) axes() {
	f := c.frame
	for _, t := range f.y.ticks {
		c.Line(ruleLine, svg.Point{X: c.plot.X0, Y: c.y(t.at)}, svg.Point{X: c.plot.X1, Y: c.y(t.at)})
		c.TextAt(quiet.To(svg.End), svg.Point{X: c.plot.X0 - gap, Y: c.y(t.at)}, t.label)
	}
	c.Line(axisLine, svg.Point{X: c.plot.X0, Y: c.plot.Y1}, svg.Point{X: c.plot.X1, Y: c.plot.Y1})
	for _, t := range f.x.ticks {
		c.Line(axisLine, svg.Point{X: c.x(t.at), Y: c.plot.Y1}, svg.Point{X: c.x(t.at), Y: c.plot.Y1 + mark})
		c.TextAt(quiet.To(svg.Middle), svg.Point{X: c.x(t.at), Y: c.plot.Y1 + mark + labels/2 + 2}, t.label)
	}
}

// x returns where a value of the x axis stands.
func (c *chart) x(v float64) float64 {
	a, low, high := c.frame.x, c.plot.X0, c.plot.X1
	return low + a.padding + (v-a.min)/(a.max-a.min)*(high-low-2*a.padding)
}

// y returns where a value of the y axis stands.
func (c *chart) y(v float64) float64 {
	a := c.frame.y
	share := (v - a.min) / (a.max - a.min)
	if !a.down {
		share = 1 - share
	}
	return c.plot.Y0 + a.padding + share*(c.plot.Y1-c.plot.Y0-2*a.padding)
}

func (c *chart) at(x, y float64) svg.Point { return svg.Point{X: c.x(x), Y: c.y(y)} }

// value is a point in the units of the axes.
type value struct{ x, y float64 }

// curve draws a line through values; it is broken where one is not known.
func (c *chart) curve(k svg.Stroke, values []value) {
	var run []svg.Point
	for _, v := range append(values[:len(values):len(values)], value{y: math.NaN()}) {
		if math.IsNaN(v.y) {
			if len(run) > 1 {
				c.Line(k, run...)
			}
			run = nil
			continue
		}
		run = append(run, c.at(v.x, v.y))
	}
}

// band fills the space between two lines over the same places; it is broken
// where one of them is not known.
func (c *chart) band(fill string, low, high []value) {
	var there, back []svg.Point
	done := func() {
		if len(there) > 1 {
			for i := range back {
				there = append(there, back[len(back)-1-i])
			}
			c.Polygon(fill, noLine, there...)
		}
		there, back = nil, nil
	}
	for i := range low {
		if math.IsNaN(low[i].y) || math.IsNaN(high[i].y) {
			done()
			continue
		}
		there, back = append(there, c.at(low[i].x, low[i].y)), append(back, c.at(high[i].x, high[i].y))
	}
	done()
}

// spot marks a point.
func (c *chart) spot(colour string, p svg.Point) { c.Circle(colour, noLine, p, 3.2) }

// steps turns values to the corners of a line that keeps its value until the
// next one, and the last one until the end.
func steps(values []value, end float64) []value {
	var out []value
	for i, v := range values {
		until := end
		if i+1 < len(values) {
			until = values[i+1].x
		}
		out = append(out, v, value{until, v.y})
	}
	return out
}

// niceTicks returns at most n ticks from low to high, at multiples of 1, 2 or 5
// times a power of ten, no closer than least.
func niceTicks(low, high float64, n int, least float64, label func(float64) string) []tick {
	step := niceStep((high-low)/float64(n-1), least)
	var out []tick
	first, last := math.Ceil(low/step-1e-9), math.Floor(high/step+1e-9)
	for k := first; k <= last; k++ {
		v := k * step
		out = append(out, tick{v, label(v)})
	}
	return out
}

// niceStep returns the least of 1, 2 or 5 times a power of ten that is no less
// than either number.
func niceStep(atLeast, orLeast float64) float64 {
	want := max(atLeast, orLeast)
	if !(want > 0) {
		return 1
	}
	power := math.Pow(10, math.Floor(math.Log10(want)))
	for _, k := range []float64{1, 2, 5} {
		if s := k * power; s >= want*(1-1e-9) {
			return s
		}
	}
	return 10 * power
}

// decimals returns how many decimals numbers a step apart need.
func decimals(step float64) int {
	d := 0
	for ; d < 6 && math.Abs(step-math.Round(step)) > 1e-6*step; d++ {
		step *= 10
	}
	return d
}

// numberTicks is niceTicks with plain numbers of as many decimals as needed.
func numberTicks(low, high float64, n int, least float64) []tick {
	d := decimals(niceStep((high-low)/float64(n-1), least))
	return niceTicks(low, high, n, least, func(v float64) string { return document.FormatNumber(v, d) })
}

// yearTicks marks years, written without commas.
func yearTicks(first, last, n int) []tick {
	return niceTicks(float64(first), float64(last), n, 1, func(v float64) string { return fmt.Sprintf("%d", int(math.Round(v))) })
}

// within moves places that are apart so that all lie from low to high, if they
// can.
func within(places []float64, low, high float64, gap float64) []float64 {
	for i := len(places) - 1; i >= 0; i-- {
		places[i] = min(places[i], high)
		high = places[i] - gap
	}
	for i := range places {
		places[i] = max(places[i], low)
		low = places[i] + gap
	}
	return places
}
