package drawing

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/golden"
	"pairwright/cmd/pairwright/internal/svg"
	"pairwright/pedigree/studbook"
)

// picture is a figure with what it was made of.
type picture struct {
	name string
	make func() (*document.Figure, string)
}

const hostileName = `<script>alert("x")</script> & 'Ünïcødé' 鳥鳥鳥 style="font-family:Liberation Sans;font-variant:normal;font-weight:normal;font-style:normal`

func names(i int) (id, name string) {
	id = fmt.Sprintf("B%03d", i)
	switch i % 5 {
	case 0:
		return id, ""
	case 1:
		return id, hostileName
	case 2:
		return id, strings.Repeat("Very long name ", 12)
	}
	return id, "Bird " + strconv.Itoa(i)
}

func someKinship(all, home int, mk func(i int) float64) KinshipSpread {
	in := KinshipSpread{}
	for i := range all {
		in.All = append(in.All, mk(i))
		in.Mean += mk(i) / float64(all)
		if i < home {
			id, name := names(i)
			in.Home = append(in.Home, KinBird{id, name, []studbook.Sex{studbook.Female, studbook.Male, studbook.Unsexed}[i%3], mk(i)})
		}
	}
	return in
}

func someFounders(n int, rng *rand.Rand) Founders {
	in := Founders{Of: "The programme"}
	for i := range n {
		id, name := names(i)
		f := FounderShare{ID: id, Name: name, Contribution: rng.Float64() / float64(n), Retention: rng.Float64(), Living: i%4 == 0, Endangered: i%3 == 0}
		if i%7 == 6 {
			f.Contribution, f.Retention = 0, 0
		}
		in.Founders = append(in.Founders, f)
	}
	return in
}

// someCurve is a curve of n birds of which one dies every third of a year and
// every third is lost from sight; its interval is invented.
func someCurve(name string, n int) SurvivalCurve {
	c := SurvivalCurve{Name: name, Median: math.NaN(), Birds: float64(n)}
	s := 1.0
	for i := range n {
		age := float64(i+1) / 3
		c.Last = age
		if i%3 == 2 {
			c.Censored = append(c.Censored, age)
			continue
		}
		c.Deaths++
		s *= 1 - 1/float64(n-i)
		st := SurvivalStep{age, s, math.NaN(), math.NaN()}
		if s > 0 {
			st.Low, st.High = s*0.8, s+(1-s)*0.2
		}
		c.Steps = append(c.Steps, st)
		if s <= 0.5 && math.IsNaN(c.Median) {
			c.Median = age
		}
	}
	for a := 0; a <= int(c.Last); a++ {
		c.AtRisk = append(c.AtRisk, float64(n-3*a))
	}
	return c
}

func history(first, last int, value func(year int) float64) []YearValue {
	var out []YearValue
	for y := first; y <= last; y++ {
		out = append(out, YearValue{y, value(y)})
	}
	return out
}

func chartPictures() []picture {
	falling := func(y int) float64 { return 0.98 - 0.002*float64(y-1990) }
	flat := func(int) float64 { return 0.5 }
	ages := func(a Ages) func() (*document.Figure, string) {
		a.Of, a.AsOf = "The colony at "+hostileName, "1 May 2026"
		return func() (*document.Figure, string) { return AgePyramidFigure(a) }
	}
	diversity := func(h DiversityHistory) func() (*document.Figure, string) {
		h.Of = "The programme"
		return func() (*document.Figure, string) { return DiversityFigure(h) }
	}
	spread := func(in KinshipSpread) func() (*document.Figure, string) {
		return func() (*document.Figure, string) { return MeanKinshipFigure(in) }
	}
	founders := func(n int) func() (*document.Figure, string) {
		return func() (*document.Figure, string) { return FoundersFigure(someFounders(n, rand.New(rand.NewPCG(1, 2)))) }
	}
	survival := func(c ...SurvivalCurve) func() (*document.Figure, string) {
		return func() (*document.Figure, string) { return SurvivalFigure("The programme", c) }
	}
	forecast := func(of ForecastOf, panels, years int, goal, loss float64) func() (*document.Figure, string) {
		in := ForecastPlot{Of: of, First: 2026, Goal: goal}
		for k := range panels {
			panel := ForecastPanel{Name: []string{"The season's decision", hostileName}[k%2]}
			for y := range years + 1 {
				at := 0.97 - loss*float64(k*y)
				panel.Years = append(panel.Years, ForecastBand{at, at - loss, at + loss, at - 2*loss, at + 2*loss})
			}
			in.Panels = append(in.Panels, panel)
		}
		return func() (*document.Figure, string) { return ForecastFigure(in), "" }
	}
	rising := func(i int) float64 { return 0.01 + 0.0001*float64(i) }
	return []picture{
		{"forecast", forecast(ForecastDiversity, 6, 100, 0.9, 0.0004)},
		{"forecast-goal-far", forecast(ForecastDiversity, 2, 10, 0.5, 0.0001)},
		{"forecast-one", forecast(ForecastInbreeding, 1, 1, 0.9, 0.01)},
		{"forecast-difference", forecast(ForecastDifference, 1, 40, 0, 0.02)},
		{"forecast-flat", forecast(ForecastSize, 3, 1000, 0, 0)},
		{"ages", ages(Ages{Females: []int{3, 1, 0, 2}, Males: []int{2, 2, 1}, Unsexed: []int{4}, AgeUnknown: 2})},
		{"ages-one-bird", ages(Ages{Males: []int{0, 0, 0, 1}})},
		{"ages-one-sex", ages(Ages{Females: []int{5, 3, 1}})},
		{"ages-unsexed", ages(Ages{Unsexed: []int{1200, 300}})},
		{"ages-old", ages(Ages{Females: []int{1, 99: 1}, Males: []int{40: 2000}})},
		{"diversity", diversity(DiversityHistory{Years: history(1990, 2020, falling), WithoutFounders: history(1995, 2020, func(y int) float64 { return falling(y) - 1/float64(y-1980) }),
			Projection: history(2021, 2040, falling), Goal: 0.9, GoalLost: 2030})},
		{"diversity-one-year", diversity(DiversityHistory{Years: history(2020, 2020, falling)})},
		{"diversity-flat", diversity(DiversityHistory{Years: history(1900, 2020, flat), Goal: 0.5, GoalLost: 1900})},
		{"diversity-none", diversity(DiversityHistory{Years: history(2000, 2010, func(int) float64 { return 0 }), Goal: 0.9})},
		{"founders", founders(40)},
		{"founders-one", founders(1)},
		{"founders-many", founders(300)},
		{"spread", spread(someKinship(400, 35, rising))},
		{"spread-no-home", spread(someKinship(400, 0, rising))},
		{"spread-one", spread(someKinship(1, 1, func(int) float64 { return 0.5 }))},
		{"spread-equal", spread(someKinship(30, 30, func(int) float64 { return 0.0625 }))},
		{"spread-all-home", spread(someKinship(3000, 3000, func(i int) float64 { return 0.02 + 0.01*math.Sin(float64(i)) }))},
		{"survival", survival(someCurve("females", 40), someCurve("males", 60), someCurve(hostileName, 5))},
		{"survival-one", survival(someCurve("every bird", 1))},
		{"survival-none-died", survival(SurvivalCurve{Name: "every bird", Last: 0.4, Median: math.NaN(), AtRisk: []float64{7}, Birds: 7, Censored: []float64{0.4}})},
		{"survival-many", survival(someCurve("every bird", 3000))},
	}
}

// lettered is a text of a drawing with the place it takes.
type lettered struct {
	text string
	box  svg.Box
	turn bool
}

// texts returns the texts of a drawing where they stand. The width of a text
// is an estimate on the wide side.
func texts(t *testing.T, source string) (out []lettered, width, height float64) {
	t.Helper()
	type matrix [6]float64
	mul := func(m, n matrix) matrix {
		return matrix{m[0]*n[0] + m[2]*n[1], m[1]*n[0] + m[3]*n[1], m[0]*n[2] + m[2]*n[3], m[1]*n[2] + m[3]*n[3], m[0]*n[4] + m[2]*n[5] + m[4], m[1]*n[4] + m[3]*n[5] + m[5]}
	}
	transform := func(s string) matrix {
		m := matrix{1, 0, 0, 1, 0, 0}
		for s != "" {
			name, rest, ok := strings.Cut(s, "(")
			if !ok {
				break
			}
			arguments, more, _ := strings.Cut(rest, ")")
			var v []float64
			for _, f := range strings.FieldsFunc(arguments, func(r rune) bool { return r == ',' || r == ' ' }) {
				x, err := strconv.ParseFloat(f, 64)
				require.NoError(t, err)
				v = append(v, x)
			}
			switch strings.TrimSpace(name) {
			case "scale":
				m = mul(m, matrix{v[0], 0, 0, v[1], 0, 0})
			case "translate":
				m = mul(m, matrix{1, 0, 0, 1, v[0], v[1]})
			case "rotate":
				sin, cos := math.Sincos(v[0] * math.Pi / 180)
				if len(v) == 3 {
					m = mul(m, matrix{1, 0, 0, 1, v[1], v[2]})
				}
				m = mul(m, matrix{cos, sin, -sin, cos, 0, 0})
				if len(v) == 3 {
					m = mul(m, matrix{1, 0, 0, 1, -v[1], -v[2]})
				}
			default:
				t.Fatalf("transform %q", name)
			}
			s = more
		}
		return m
	}
	var stack []matrix
	var open *xml.StartElement
	title := 0
	d := xml.NewDecoder(strings.NewReader(source))
	for {
		token, err := d.Token()
		if err == io.EOF {
			return out, width, height
		}
		require.NoError(t, err)
		get := func(e xml.StartElement, key string) string {
			for _, a := range e.Attr {
				if a.Name.Local == key {
					return a.Value
				}
			}
			return ""
		}
		switch e := token.(type) {
		case xml.StartElement:
			m := matrix{1, 0, 0, 1, 0, 0}
			if len(stack) > 0 {
				m = stack[len(stack)-1]
			}
			stack = append(stack, mul(m, transform(get(e, "transform"))))
			switch e.Name.Local {
			case "svg":
				f := strings.Fields(get(e, "viewBox"))
				require.Len(t, f, 4)
				width, _ = strconv.ParseFloat(f[2], 64)
				height, _ = strconv.ParseFloat(f[3], 64)
			case "text":
				c := e.Copy()
				open = &c
			case "title":
				title++
			}
		case xml.EndElement:
			switch e.Name.Local {
			case "text":
				open = nil
			case "title":
				title--
			}
			stack = stack[:len(stack)-1]
		case xml.CharData:
			if open == nil || title > 0 {
				continue
			}
			x, _ := strconv.ParseFloat(get(*open, "x"), 64)
			y, _ := strconv.ParseFloat(get(*open, "y"), 64)
			size := get(*open, "font-size")
			em, err := strconv.ParseFloat(size, 64)
			require.NoError(t, err)
			// The widths of the font that charts are measured in are smaller
			// than those of textWidth by a sixth or more.
			w := svg.TextWidth(string(e), em, false) * 0.85
			switch get(*open, "text-anchor") {
			case "middle":
				x -= w / 2
			case "end":
				x -= w
			}
			m := stack[len(stack)-1]
			b := svg.Box{X0: math.Inf(1), Y0: math.Inf(1), X1: math.Inf(-1), Y1: math.Inf(-1)}
			for _, p := range [][2]float64{{x, y - 0.75*em}, {x + w, y - 0.75*em}, {x, y + 0.2*em}, {x + w, y + 0.2*em}} {
				px, py := m[0]*p[0]+m[2]*p[1]+m[4], m[1]*p[0]+m[3]*p[1]+m[5]
				b = svg.Box{X0: min(b.X0, px), Y0: min(b.Y0, py), X1: max(b.X1, px), Y1: max(b.Y1, py)}
			}
			out = append(out, lettered{string(e), b, math.Abs(m[1]) > 0.01})
		}
	}
}

func TestPicturesAreSound(t *testing.T) {
	for _, p := range chartPictures() {
		t.Run(p.name, func(t *testing.T) {
			f, why := p.make()
			require.NotNil(t, f, why)
			again, _ := p.make()
			assert.Equal(t, f, again, "not the same bytes twice")
			assert.Empty(t, why)
			assert.NotEmpty(t, f.Alt)
			assert.NotEmpty(t, f.Caption)
			assert.NotContains(t, f.SVG, "NaN")
			assert.NotContains(t, f.SVG, "Inf")
			assert.NotContains(t, f.Alt, "NaN")

			lettered, width, height := texts(t, f.SVG)
			paper := svg.Box{X0: -0.5, Y0: -0.5, X1: width + 0.5, Y1: height + 0.5}
			for _, l := range lettered {
				assert.True(t, l.box.Inside(paper), "%q reaches out of the drawing: %v of %v", l.text, l.box, paper)
			}

			var b bytes.Buffer
			require.NoError(t, document.WriteHTML(&b, &document.Document{Title: "x", Sections: []document.Section{{Title: "y", Blocks: []document.Block{f}}}}))
			assert.NotContains(t, b.String(), "<script")
		})
	}
}

func TestNoPictureSaysWhy(t *testing.T) {
	for name, f := range map[string]func() (*document.Figure, string){
		"ages, no birds":      func() (*document.Figure, string) { return AgePyramidFigure(Ages{Of: "The programme"}) },
		"ages, none known":    func() (*document.Figure, string) { return AgePyramidFigure(Ages{AgeUnknown: 3}) },
		"diversity, no years": func() (*document.Figure, string) { return DiversityFigure(DiversityHistory{Goal: 0.9}) },
		"diversity, none seen": func() (*document.Figure, string) {
			return DiversityFigure(DiversityHistory{Years: []YearValue{{2020, math.NaN()}}})
		},
		"founders": func() (*document.Figure, string) { return FoundersFigure(Founders{}) },
		"kinship":  func() (*document.Figure, string) { return MeanKinshipFigure(KinshipSpread{All: []float64{math.NaN()}}) },
		"survival": func() (*document.Figure, string) {
			return SurvivalFigure("The programme", []SurvivalCurve{{Name: "females"}})
		},
	} {
		t.Run(name, func(t *testing.T) {
			figure, why := f()
			assert.Nil(t, figure)
			assert.True(t, strings.HasPrefix(why, "There is no "), why)
			assert.True(t, strings.HasSuffix(why, "."), why)
		})
	}
}

func figureOf(t *testing.T, name string) *document.Figure {
	t.Helper()
	for _, p := range chartPictures() {
		if p.name == name {
			f, why := p.make()
			require.NotNil(t, f, why)
			return f
		}
	}
	t.Fatalf("no picture %q", name)
	return nil
}

func TestMarksAreTheData(t *testing.T) {
	// A bar is a rectangle, a founder's mark one shape in one of two colours;
	// the rest of a chart is lines and texts.
	count := func(name, shape, fill string) int {
		return len(regexp.MustCompile(`<`+shape+`[^>]*fill="`+fill+`"`).FindAllString(figureOf(t, name).SVG, -1))
	}
	assert.Equal(t, 3, count("ages", "rect", svg.Light), "classes with females")
	assert.Equal(t, 3, count("ages", "rect", svg.Quiet), "classes with males")
	assert.Equal(t, 1, count("ages", `rect x`, svg.Paper), "classes with birds of unknown sex")

	assert.Equal(t, 12, count("spread", "circle", svg.Paper), "females at home, 35 by three")
	assert.Equal(t, 12, count("spread", "rect x", svg.Paper), "males at home")
	assert.Equal(t, 11, count("spread", "path", svg.Paper), "birds of unknown sex at home")

	in := someFounders(40, rand.New(rand.NewPCG(1, 2)))
	dots, rings, triangles, crosses := 0, 0, 0, 0
	for _, f := range in.Founders {
		switch {
		case f.Retention == 0:
			crosses++
		case f.Endangered:
			triangles++
		case f.Living:
			rings++
		default:
			dots++
		}
	}
	assert.Equal(t, dots, count("founders", "circle", svg.Quiet))
	assert.Equal(t, rings, count("founders", "circle", svg.None))
	assert.Equal(t, triangles, count("founders", "path", svg.Accent))
	assert.Equal(t, 40, dots+rings+triangles+crosses)
}

func TestPyramidWords(t *testing.T) {
	assert.Equal(t, `All ages: 6 females, 5 males and 4 of unknown sex
Age 0: 3 females, 2 males and 4 of unknown sex
Age 1: 1 female, 2 males and none of unknown sex
Age 2: no females, 1 male and none of unknown sex
Age 3: 2 females, no males and none of unknown sex
`, figureOf(t, "ages").Alt)
}

// By hand.
func TestWithin(t *testing.T) {
	assert.InDeltaSlice(t, []float64{0, 10}, within([]float64{-7, 3}, 0, 100, 10), 1e-12)
	assert.InDeltaSlice(t, []float64{90, 100}, within([]float64{97, 107}, 0, 100, 10), 1e-12)
}

func TestNiceTicks(t *testing.T) {
	var got []string
	for _, tick := range numberTicks(0, 1, 6, 0) {
		got = append(got, tick.label)
	}
	assert.Equal(t, []string{"0.0", "0.2", "0.4", "0.6", "0.8", "1.0"}, got)
	assert.Len(t, yearTicks(1990, 2026, 9), 8)
	assert.InDelta(t, 0.5, niceStep(0.3, 0), 1e-12)
	assert.InDelta(t, 10, niceStep(5.1, 0), 1e-12)
	assert.Equal(t, 1.0, niceStep(0, 0))
}

func TestChartGolden(t *testing.T) {
	for _, name := range []string{"ages-one-bird", "diversity-one-year"} {
		golden.File(t, name+".svg", func(w io.Writer) error {
			_, err := io.WriteString(w, figureOf(t, name).SVG+"\n")
			return err
		})
	}
}

// The words of a forecast tell every panel, and when its median is below the goal.
func TestForecastWords(t *testing.T) {
	f := figureOf(t, "forecast")
	assert.Equal(t, 8, strings.Count(f.Alt, "\n"))
	assert.Contains(t, f.Alt, "The goal is 0.9000")
	// 0.97 - 0.0004·2·y is below 0.9 from year 88 on.
	assert.Contains(t, f.Alt, "the median is below the goal from 2114 on")
	assert.Contains(t, f.Key, "Dotted: the goal.")
	assert.Contains(t, figureOf(t, "forecast-goal-far").Key, "The goal of 0.5000 lies below the drawing.")
	assert.NotContains(t, figureOf(t, "forecast-flat").Alt, "goal")
}
