package drawing

import (
	"fmt"
	"math"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/svg"
)

// ForecastOf says which figure a forecast is drawn of.
type ForecastOf byte

// The figures that a forecast is drawn of.
const (
	ForecastDiversity ForecastOf = iota
	ForecastInbreeding
	ForecastSize
	ForecastDifference // of gene diversity, between two courses
)

// ForecastBand is a figure at the end of a year: its median over runs, and the
// ranges of 80 and 95 of 100 of them.
type ForecastBand struct{ Median, Low80, High80, Low95, High95 float64 }

// ForecastPanel is the course of a figure under one policy, year by year from the
// start.
type ForecastPanel struct {
	Name  string
	Years []ForecastBand // the first is the start
}

// ForecastPlot is what forecasts are drawn from.
type ForecastPlot struct {
	Of     ForecastOf
	First  int     // calendar year of the start
	Goal   float64 // of gene diversity; 0 for none
	Panels []ForecastPanel
}

// forecastWords are the titles of the y axis, and the captions.
var forecastWords = map[ForecastOf][2]string{
	ForecastDiversity:  {"Gene diversity, 1 = all that the founders' base had", "Gene diversity under each way to choose pairs"},
	ForecastInbreeding: {"Mean inbreeding coefficient F of the living", "Mean inbreeding under each way to choose pairs"},
	ForecastSize:       {"Living birds", "Number of birds under each way to choose pairs"},
	ForecastDifference: {"Difference in gene diversity", "What the changes bring to gene diversity"},
}

func (f ForecastOf) write(v float64) string {
	switch f {
	case ForecastSize:
		return document.FormatNumber(v, 0)
	case ForecastInbreeding:
		return document.FormatKinship(v)
	case ForecastDifference:
		return document.FormatChange(v, 5)
	}
	return document.FormatDiversity(v)
}

// ForecastFigure draws a figure under each policy in a panel of its own, all on
// one scale: the median as a line, the range of 80% of the runs dark and that of 95%
// pale around it, and the goal as a dotted line.
func ForecastFigure(p ForecastPlot) *document.Figure {
	words := forecastWords[p.Of]
	key, how := "Line: median of the runs. Inner band: 80% of the runs; outer: 95%.", ", year by year, all on one scale."
	switch {
	case p.Of == ForecastDifference:
		key, how = "Line: mean over the runs. Band: its 95% interval.", ", year by year."
	case p.goalInSight():
		key += " Dotted: the goal."
	case p.hasGoal():
		key += fmt.Sprintf(" The goal of %s lies below the drawing.", document.FormatDiversity(p.Goal))
	}
	return &document.Figure{SVG: p.draw(), Alt: p.words(), Caption: words[1] + how, Key: key}
}

func (p *ForecastPlot) hasGoal() bool { return p.Of == ForecastDiversity && p.Goal > 0 }

// ends returns the least and the most of all ranges.
func (p *ForecastPlot) ends() (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, panel := range p.Panels {
		for _, b := range panel.Years {
			low, high = min(low, b.Low95), max(high, b.High95)
		}
	}
	return low, high
}

// goalInSight reports whether the goal is drawn: one so far below all that the
// policies could not be told apart any more is not.
func (p *ForecastPlot) goalInSight() bool {
	low, high := p.ends()
	return p.hasGoal() && p.Goal > low-1.5*(high-low)
}

// scale returns the axes that all panels share.
func (p *ForecastPlot) scale() (x, y axis) {
	last := p.First + len(p.Panels[0].Years) - 1
	low, high := p.ends()
	if p.goalInSight() {
		low, high = min(low, p.Goal), max(high, p.Goal)
	}
	least := 0.002
	switch p.Of {
	case ForecastSize:
		low, least = 0, 1
	case ForecastInbreeding:
		low = 0
	case ForecastDifference:
		low, high, least = min(low, 0), max(high, 0), 0.00001
	}
	step := niceStep((high-low)/4, least)
	x = axis{min: float64(p.First), max: float64(last), ticks: yearTicks(p.First, last, 6)}
	y = axis{min: math.Floor(low/step) * step, max: math.Ceil(high/step+1e-9) * step, padding: 2}
	if p.Of == ForecastDiversity || p.Of == ForecastInbreeding {
		y.min, y.max = max(0, y.min), min(1, y.max)
	}
	if y.max <= y.min {
		y.max = y.min + step
	}
	y.ticks = numberTicks(y.min, y.max, 6, least)
	return x, y
}

// Measures of the panels in pixels.
const (
	panelsAcross = 2
	panelHeight  = 150.0
	panelName    = 20.0
	panelFoot    = 34.0
	panelApart   = 22.0
)

func (p *ForecastPlot) draw() string {
	x, y := p.scale()
	across := min(panelsAcross, len(p.Panels))
	down := (len(p.Panels) + across - 1) / across
	sheet := svg.New(chartWidth, above-8+float64(down)*(panelName+panelHeight+panelFoot))
	sheet.TextAt(note.In(svg.Ink), svg.Point{X: 4, Y: 12}, forecastWords[p.Of][0])
	widest := 0.0
	for _, t := range y.ticks {
		widest = max(widest, quiet.Width(t.label))
	}
	left := 4 + widest + gap
	width := (chartWidth - 12 - left - panelApart*float64(across-1)) / float64(across)
	for k := range p.Panels {
		x0 := left + float64(k%across)*(width+panelApart)
		y0 := above - 8 + float64(k/across)*(panelName+panelHeight+panelFoot) + panelName
		c := &chart{Sheet: sheet, frame: frame{x: x, y: y}, plot: svg.Box{X0: x0, Y0: y0, X1: x0 + width, Y1: y0 + panelHeight}}
		if k%across > 0 { // the labels stand beside the first
			c.frame.y.ticks = nil
			for _, t := range y.ticks {
				c.Line(ruleLine, svg.Point{X: c.plot.X0, Y: c.y(t.at)}, svg.Point{X: c.plot.X1, Y: c.y(t.at)})
			}
		}
		c.axes()
		p.panel(c, &p.Panels[k])
	}
	return sheet.String()
}

// panel draws the course under one policy.
func (p *ForecastPlot) panel(c *chart, panel *ForecastPanel) {
	values := func(of func(ForecastBand) float64) []value {
		var out []value
		for k, b := range panel.Years {
			out = append(out, value{float64(p.First + k), of(b)})
		}
		return out
	}
	name := note.Strong()
	c.TextAt(name, svg.Point{X: c.plot.X0, Y: c.plot.Y0 - panelName/2}, name.Truncate(panel.Name, c.plot.X1-c.plot.X0))
	c.band(svg.Pale, values(func(b ForecastBand) float64 { return b.Low95 }), values(func(b ForecastBand) float64 { return b.High95 }))
	c.band(svg.Light, values(func(b ForecastBand) float64 { return b.Low80 }), values(func(b ForecastBand) float64 { return b.High80 }))
	if p.Of == ForecastDifference {
		c.Line(svg.Stroke{Colour: svg.Quiet, Width: 1}, c.at(c.frame.x.min, 0), c.at(c.frame.x.max, 0))
	}
	c.curve(svg.Stroke{Colour: svg.Ink, Width: 1.8}, values(func(b ForecastBand) float64 { return b.Median }))
	if p.goalInSight() {
		c.Line(svg.Stroke{Colour: svg.Accent, Width: 1.5, Pattern: svg.Dotted}, c.at(c.frame.x.min, p.Goal), c.at(c.frame.x.max, p.Goal))
	}
	last := panel.Years[len(panel.Years)-1]
	y := c.y(last.High95) - 9
	if y < c.plot.Y0+8 {
		y = c.y(last.Low95) + 10
	}
	c.TextAt(note.Strong().To(svg.End), svg.Point{X: c.plot.X1 - 2, Y: y}, p.Of.write(last.Median))
}

// within says what the inner range holds.
func (p *ForecastPlot) within() string {
	if p.Of == ForecastDifference {
		return "95% interval"
	}
	return "80% of runs"
}

// words tells every panel in a line.
func (p *ForecastPlot) words() string {
	var b strings.Builder
	last := p.First + len(p.Panels[0].Years) - 1
	fmt.Fprintf(&b, "%s, from %d to %d\n", forecastWords[p.Of][0], p.First, last)
	if p.hasGoal() {
		fmt.Fprintf(&b, "The goal is %s\n", document.FormatDiversity(p.Goal))
	}
	for _, panel := range p.Panels {
		years := panel.Years
		end := years[len(years)-1]
		fmt.Fprintf(&b, "%s: %s today, %s in %d, %s in %d (%s: %s to %s)", panel.Name, p.Of.write(years[0].Median),
			p.Of.write(years[len(years)/2].Median), p.First+len(years)/2, p.Of.write(end.Median), last, p.within(), p.Of.write(end.Low80), p.Of.write(end.High80))
		if p.hasGoal() {
			for k, y := range years {
				if y.Median < p.Goal {
					fmt.Fprintf(&b, "; the median is below the goal from %d on", p.First+k)
					break
				}
			}
		}
		b.WriteString("\n")
	}
	return b.String()
}
