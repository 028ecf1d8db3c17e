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

// SurvivalStep is the survival from an age on.
type SurvivalStep struct {
	Age       float64 // years
	Survival  float64 // 0..1
	Low, High float64 // 95% interval; NaN where there is none
}

// SurvivalCurve is the estimated survival of a group of birds.
type SurvivalCurve struct {
	Name     string         // "females"
	Steps    []SurvivalStep // at ages at which birds died, ascending; before the first survival is 1
	Censored []float64      // ages at which birds left the watch alive
	Last     float64        // highest age watched, years
	Median   float64        // age by which half have died; NaN where the curve does not fall so far
	AtRisk   []float64      // birds watched at ages 0, 1, 2 years and so on
	Birds    float64        // lives watched
	Deaths   float64
}

// SurvivalFigure draws survival by age with its interval, the birds that left
// the watch alive as ticks, and below the number of birds at risk; up to three
// groups, told apart by the pattern of their lines. Groups without lives are
// left out; where none is left there is no figure but a sentence that says so.
func SurvivalFigure(of string, curves []SurvivalCurve) (f *document.Figure, why string) {
	var drawn []SurvivalCurve
	for _, c := range curves {
		if c.Last > 0 && len(c.AtRisk) > 0 {
			drawn = append(drawn, c)
		}
	}
	if len(drawn) == 0 {
		return nil, "There is no survival curve: no bird was watched for long enough."
	}
	drawn = drawn[:min(len(drawn), 3)]
	g := survivalPlot(drawn)
	key := "Shaded: 95% interval."
	if len(drawn) > 1 {
		key = "Shaded, or between thin lines: 95% interval."
	}
	return &document.Figure{SVG: g.draw(), Alt: g.words(), Caption: document.Clean(of) + ": share of birds still alive by age (Kaplan and Meier 1958).", Key: key + " Small upright ticks: birds that were alive when last seen."}, ""
}

type survivalPlot []SurvivalCurve

func (s SurvivalCurve) values(of func(SurvivalStep) float64) []value {
	out := []value{{0, 1}}
	for _, step := range s.Steps {
		out = append(out, value{step.Age, of(step)})
	}
	return steps(out, s.Last)
}

// at returns the survival at an age.
func (s SurvivalCurve) at(age float64) float64 {
	v := 1.0
	for _, step := range s.Steps {
		if step.Age > age {
			break
		}
		v = step.Survival
	}
	return v
}

func (g survivalPlot) draw() string {
	const riskRow = 16.0
	oldest := 0.0
	for _, s := range g {
		oldest = max(oldest, s.Last)
	}
	step := niceStep(oldest/10, 1)
	x := axis{max: max(math.Ceil(oldest/step-1e-9)*step, 1)}
	x.ticks = numberTicks(0, x.max, int(x.max/step+0.5)+1, step)
	y := axis{max: 1, padding: 4, ticks: niceTicks(0, 1, 6, 0.2, func(v float64) string { return document.FormatNumber(100*v, 0) })}
	foot := float64(len(g)+1)*riskRow + 10
	c := frame{xTitle: "age, years", yTitle: "Still alive, percent", x: x, y: y, height: 280 + float64(len(g)+1)*riskRow, foot: foot, right: 136, left: 70}.draw()

	patterns := []string{svg.Solid, svg.Dashed, svg.Dotted}
	low := func(s SurvivalStep) float64 { return s.Low }
	high := func(s SurvivalStep) float64 { return s.High }
	for i, s := range g {
		if i == 0 {
			c.band(svg.Pale, s.values(low), s.values(high))
			continue
		}
		thin := svg.Stroke{Colour: svg.Quiet, Width: 0.6, Pattern: patterns[i]}
		c.curve(thin, s.values(low))
		c.curve(thin, s.values(high))
	}
	for i, s := range g {
		c.curve(svg.Stroke{Colour: svg.Ink, Width: 1.8, Pattern: patterns[i]}, s.values(func(s SurvivalStep) float64 { return s.Survival }))
		var ticks []svg.Point
		last := -1.0
		for _, age := range s.Censored {
			p := c.at(age, s.at(age))
			if math.Round(10*p.X) == math.Round(10*last) {
				continue // one tick for birds at the same place
			}
			last = p.X
			ticks = append(ticks, svg.Point{X: p.X, Y: p.Y - 3.5}, svg.Point{X: p.X, Y: p.Y + 3.5})
		}
		if len(ticks) > 0 {
			c.Lines(svg.Stroke{Colour: svg.Ink, Width: 0.8}, ticks...)
		}
		if !math.IsNaN(s.Median) {
			c.Line(svg.Stroke{Colour: svg.Quiet, Width: 0.8, Pattern: svg.Dotted}, c.at(0, 0.5), c.at(s.Median, 0.5), c.at(s.Median, 0))
		}
	}
	g.nameCurves(c, patterns)

	top := c.Height - foot
	c.TextAt(quiet, svg.Point{X: 4, Y: top}, "birds watched at this age")
	for i, s := range g {
		row := top + float64(i+1)*riskRow
		c.TextAt(note, svg.Point{X: 4, Y: row}, note.Truncate(s.Name, 84))
		for _, t := range x.ticks {
			n := 0.0
			if k := int(math.Round(t.at)); k < len(s.AtRisk) {
				n = s.AtRisk[k]
			}
			c.TextAt(note.To(svg.Middle), svg.Point{X: c.x(t.at), Y: row}, document.FormatNumber(n, 0))
		}
	}
	return c.String()
}

// nameCurves names the curves and their medians at their ends.
func (g survivalPlot) nameCurves(c *chart, patterns []string) {
	const labelRow = 30
	order := make([]int, len(g))
	for i := range order {
		order[i] = i
	}
	end := func(i int) float64 { return c.y(g[i].at(g[i].Last)) }
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(end(i), end(j)) })
	var want []float64
	for _, i := range order {
		want = append(want, end(i))
	}
	places := within(layout.Separate(want, nil, func(int) float64 { return labelRow }), c.y(1)+8, c.y(0)-20, labelRow)
	right := c.plot.X1 + 12
	for k, i := range order {
		s, y := g[i], places[k]
		c.Line(svg.Stroke{Colour: svg.Mid, Width: 0.6}, svg.Point{X: c.x(s.Last) + 2, Y: want[k]}, svg.Point{X: right - 3, Y: y})
		c.Line(svg.Stroke{Colour: svg.Ink, Width: 1.8, Pattern: patterns[i]}, svg.Point{X: right, Y: y}, svg.Point{X: right + 22, Y: y})
		c.TextAt(note.Strong(), svg.Point{X: right + 27, Y: y}, note.Truncate(s.Name, 84))
		median := "no median yet"
		if !math.IsNaN(s.Median) {
			median = "median " + document.FormatNumber(s.Median, 1) + " years"
		}
		c.TextAt(note, svg.Point{X: right, Y: y + 13}, median)
	}
}

func (g survivalPlot) words() string {
	var b strings.Builder
	for _, s := range g {
		fmt.Fprintf(&b, "%s: %s birds watched, %s died; ", document.Clean(s.Name), document.FormatNumber(s.Birds, 0), document.FormatNumber(s.Deaths, 0))
		if math.IsNaN(s.Median) {
			b.WriteString("fewer than half have died by the highest age watched")
		} else {
			b.WriteString("half have died by " + document.FormatNumber(s.Median, 1) + " years")
		}
		fmt.Fprintf(&b, ", watched up to %s years\n", document.FormatNumber(s.Last, 1))
		step := niceStep(s.Last/5, 1)
		for age := step; age <= s.Last; age += step {
			fmt.Fprintf(&b, "Alive at %s years: %s", document.FormatNumber(age, 0), document.FormatPercent(s.at(age)))
			for _, st := range slices.Backward(s.Steps) {
				if st.Age <= age {
					if !math.IsNaN(st.Low) {
						fmt.Fprintf(&b, " (%s to %s)", document.FormatPercent(st.Low), document.FormatPercent(st.High))
					}
					break
				}
			}
			b.WriteByte('\n')
		}
	}
	return b.String()
}
