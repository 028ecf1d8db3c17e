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

func (s SurvivalCurve) points(value func(SurvivalStep) float64) []vg.Point {
	out := []vg.Point{at(0, 1)}
	for _, step := range s.Steps {
		out = append(out, at(step.Age, value(step)))
	}
	return steps(out, vg.Length(s.Last))
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
	c := newChart("age, years", "Still alive, percent", 330+float64(len(g)+1)*riskRow)
	oldest := 0.0
	for _, s := range g {
		oldest = max(oldest, s.Last)
	}
	step := niceStep(oldest/10, 1)
	c.X.Min, c.X.Max = 0, max(math.Ceil(oldest/step-1e-9)*step, 1)
	c.Y.Min, c.Y.Max = 0, 1
	c.X.Tick.Marker = numberTicks(0, c.X.Max, int(c.X.Max/step+0.5)+1, step)
	c.Y.Tick.Marker = niceTicks(0, 1, 6, 0.2, func(v float64) string { return document.FormatNumber(100*v, 0) })
	c.foot = float64(len(g)+1)*riskRow + 10
	c.right = 136
	c.inset = 74
	c.rules()

	patterns := [][]vg.Length{solid, dashed, dotted}
	low := func(s SurvivalStep) float64 { return s.Low }
	high := func(s SurvivalStep) float64 { return s.High }
	for i, s := range g {
		if i == 0 {
			c.band(s.points(low), s.points(high), paleShade)
			continue
		}
		thin := stroke(quietShade, 0.6, patterns[i])
		c.curve(s.points(low), thin)
		c.curve(s.points(high), thin)
	}
	for i, s := range g {
		c.curve(s.points(func(s SurvivalStep) float64 { return s.Survival }), stroke(inkShade, 1.8, patterns[i]))
		c.paint(func(d draw.Canvas, x, y func(float64) vg.Length) {
			last := vg.Length(-1)
			for _, age := range s.Censored {
				p := vg.Point{X: x(age), Y: y(s.at(age))}
				if math.Round(10*float64(p.X)) == math.Round(10*float64(last)) {
					continue // one tick for birds at the same place
				}
				last = p.X
				d.StrokeLine2(stroke(inkShade, 0.8, solid), p.X, p.Y-3.5, p.X, p.Y+3.5)
			}
			if !math.IsNaN(s.Median) {
				m := stroke(quietShade, 0.8, dotted)
				d.StrokeLine2(m, x(0), y(0.5), x(s.Median), y(0.5))
				d.StrokeLine2(m, x(s.Median), y(0.5), x(s.Median), y(0))
			}
		})
	}
	c.after = append(c.after, func(d draw.Canvas, x, y func(float64) vg.Length) {
		order := make([]int, len(g))
		for i := range order {
			order[i] = i
		}
		slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(g[i].at(g[i].Last), g[j].at(g[j].Last)) })
		var want []float64
		for _, i := range order {
			want = append(want, float64(y(g[i].at(g[i].Last))))
		}
		const labelRow = 30
		places := within(separate(want, nil, func(int) float64 { return labelRow }), float64(y(0))+6, float64(y(1))-8, labelRow)
		right := x(c.X.Max) + 12
		for k, i := range order {
			s, p := g[i], vg.Length(places[k])
			d.StrokeLine2(stroke(midShade, 0.6, solid), x(s.Last)+2, vg.Length(want[k]), right-3, p)
			d.StrokeLine2(stroke(inkShade, 1.8, patterns[i]), right, p, right+22, p)
			d.FillText(bold(lettering(noteFont, inkShade, draw.XLeft)), vg.Point{X: right + 27, Y: p}, short(s.Name, 84, noteFont))
			if !math.IsNaN(s.Median) {
				d.FillText(lettering(noteFont, inkShade, draw.XLeft), vg.Point{X: right, Y: p - 13}, "median "+document.FormatNumber(s.Median, 1)+" years")
			} else {
				d.FillText(lettering(noteFont, inkShade, draw.XLeft), vg.Point{X: right, Y: p - 13}, "no median yet")
			}
		}
		head := float64(len(g))*riskRow + 10
		d.FillText(lettering(noteFont, quietShade, draw.XLeft), vg.Point{X: 4, Y: vg.Length(head)}, "birds watched at this age")
		for i, s := range g {
			row := vg.Length(head - float64(i+1)*riskRow)
			d.FillText(lettering(noteFont, inkShade, draw.XLeft), vg.Point{X: 4, Y: row}, short(s.Name, 84, noteFont))
			for _, t := range c.X.Tick.Marker.Ticks(0, c.X.Max) {
				n := 0.0
				if k := int(math.Round(t.Value)); k < len(s.AtRisk) {
					n = s.AtRisk[k]
				}
				d.FillText(lettering(noteFont, inkShade, draw.XCenter), vg.Point{X: x(t.Value), Y: row}, document.FormatNumber(n, 0))
			}
		}
	})
	return c.svg()
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
