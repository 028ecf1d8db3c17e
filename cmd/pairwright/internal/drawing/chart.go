package drawing

import (
	"bytes"
	"fmt"
	"image/color"
	"math"
	"strings"

	xfont "golang.org/x/image/font"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"

	"pairwright/cmd/pairwright/internal/document"
)

// The look of charts. Everything is told apart by shape, pattern, place or
// label; greys and the one accent only help, and the accent prints as dark.
var (
	inkShade    = color.RGBA{R: 0x1d, G: 0x1f, B: 0x21, A: 255}
	quietShade  = color.RGBA{R: 0x54, G: 0x58, B: 0x5d, A: 255}
	midShade    = color.RGBA{R: 0x8c, G: 0x90, B: 0x96, A: 255}
	lightShade  = color.RGBA{R: 0xb9, G: 0xbc, B: 0xc1, A: 255}
	paleShade   = color.RGBA{R: 0xe1, G: 0xe3, B: 0xe7, A: 255}
	accentShade = color.RGBA{R: 0x6a, G: 0x2c, B: 0x5b, A: 255}
	paperShade  = color.RGBA{R: 255, G: 255, B: 255, A: 255}

	solid  []vg.Length
	dashed = []vg.Length{6, 4}
	dotted = []vg.Length{1.5, 3}
)

// Measures of charts in pixels, which are the units of their canvas.
const (
	chartWidth = 640.0
	chartFont  = 12.0
	noteFont   = 11.0
	nameMost   = 150.0 // longer names are cut
	// chartFonts have the same widths as the font that gonum/plot measures.
	chartFonts = "Liberation Sans, Arial, Helvetica, sans-serif"
)

// stroke is the style of a line.
func stroke(c color.Color, width vg.Length, dashes []vg.Length) draw.LineStyle {
	return draw.LineStyle{Color: c, Width: width, Dashes: dashes}
}

// lettering is the style of a text that stands at a point: to the right of it,
// centred or to the left; by its middle.
func lettering(size float64, c color.Color, x draw.XAlignment) draw.TextStyle {
	return draw.TextStyle{
		Color: c, XAlign: x, YAlign: draw.YCenter, Handler: plot.DefaultTextHandler,
		Font: font.From(font.Font{Typeface: "Liberation", Variant: "Sans"}, vg.Length(size)),
	}
}

func bold(s draw.TextStyle) draw.TextStyle {
	s.Font.Weight = xfont.WeightBold
	return s
}

// short cuts a name that is too wide for a chart.
func short(s string, most, size float64) string {
	return document.Truncate(document.Clean(s), most, func(s string) float64 { return textWidth(s, size, false) })
}

// drawSVG returns what is drawn on a canvas of a size as an <svg> element that
// scales and whose text stays text.
func drawSVG(width, height float64, paint func(draw.Canvas)) string {
	canvas := vgsvg.New(vg.Length(width), vg.Length(height))
	paint(draw.New(canvas))
	var b bytes.Buffer
	canvas.WriteTo(&b) // a bytes.Buffer takes everything
	svg := b.String()
	_, body, _ := strings.Cut(svg[strings.Index(svg, "<svg"):], ">")
	body = strings.ReplaceAll(body, `style="font-family:Liberation Sans;font-variant:normal;font-weight:normal;font-style:normal`, `style="font-weight:normal`)
	body = strings.ReplaceAll(body, `style="font-family:Liberation Sans;font-variant:normal;font-weight:bold;font-style:normal`, `style="font-weight:bold`)
	body = strings.ReplaceAll(body, "\n\tstyle=", " style=")
	return svgStart(width, height, chartFonts) + `<rect width="100%" height="100%" fill="#fff"/>` + strings.TrimRight(body, "\n")
}

func svgStart(width, height float64, fonts string) string {
	return fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" width="%s" height="%s" viewBox="0 0 %[1]s %[2]s" font-family="%s">`, px(width), px(height), fonts)
}

// chart is a plot with room for labels around it.
type chart struct {
	*plot.Plot
	yTitle                    string // stands above the axis, to be read without turning the head
	width, height             float64
	above, right, foot, inset float64 // room above the plot, beside it, below it and left of it
	after                     []func(c draw.Canvas, x, y func(float64) vg.Length)
}

// newChart returns an empty chart. The axes need their ranges and ticks.
func newChart(xTitle, yTitle string, height float64) *chart {
	p := plot.New()
	p.BackgroundColor = nil
	c := &chart{Plot: p, yTitle: yTitle, width: chartWidth, height: height, above: 26, right: 20, foot: 2, inset: 4}
	p.X.Label.Text = xTitle
	p.X.Label.TextStyle = lettering(chartFont, inkShade, draw.XCenter)
	p.X.Label.TextStyle.YAlign = draw.YBottom
	p.X.Label.Padding = 4
	p.X.LineStyle = stroke(quietShade, 1, solid)
	p.X.Tick.LineStyle = stroke(quietShade, 1, solid)
	p.X.Tick.Label = lettering(noteFont, quietShade, draw.XCenter)
	p.X.Tick.Label.YAlign = draw.YTop
	p.X.Tick.Length = 4
	p.X.Padding, p.Y.Padding = 0, 4
	p.Y.LineStyle.Width = 0
	p.Y.Tick.LineStyle.Width = 0
	p.Y.Tick.Length = 0
	p.Y.Tick.Label = lettering(noteFont, quietShade, draw.XRight)
	return c
}

// paint adds a mark to a chart, drawn in the units of the axes.
func (c *chart) paint(f func(c draw.Canvas, x, y func(float64) vg.Length)) {
	c.Add(painter(f))
}

// painter is a plotter that is a function.
type painter func(c draw.Canvas, x, y func(float64) vg.Length)

func (f painter) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	f(c, x, y)
}

// rules draws the thin lines across the plot at the ticks of the y axis.
func (c *chart) rules() {
	c.paint(func(d draw.Canvas, _, y func(float64) vg.Length) {
		for _, t := range c.Y.Tick.Marker.Ticks(c.Y.Min, c.Y.Max) {
			d.StrokeLine2(stroke(paleShade, 1, solid), d.Min.X, y(t.Value), d.Max.X, y(t.Value))
		}
	})
}

func (c *chart) svg() string {
	return drawSVG(c.width, c.height, func(d draw.Canvas) {
		title := lettering(chartFont, inkShade, draw.XLeft)
		d.FillText(title, vg.Point{X: d.Min.X + vg.Length(c.inset), Y: d.Max.Y - 10}, c.yTitle)
		inner := draw.Crop(d, vg.Length(c.inset), -vg.Length(c.right), vg.Length(c.foot), -vg.Length(c.above))
		c.Draw(inner)
		data := c.DataCanvas(inner)
		x, y := c.Transforms(&data)
		for _, f := range c.after {
			f(d, x, y)
		}
	})
}

// curve draws a line through points; it is broken where a point is not known.
func (c *chart) curve(points []vg.Point, style draw.LineStyle) {
	c.paint(func(d draw.Canvas, x, y func(float64) vg.Length) {
		var run []vg.Point
		for _, p := range append(points[:len(points):len(points)], vg.Point{Y: vg.Length(math.NaN())}) {
			if math.IsNaN(float64(p.Y)) {
				if len(run) > 1 {
					d.StrokeLines(style, run)
				}
				run = nil
				continue
			}
			run = append(run, vg.Point{X: x(float64(p.X)), Y: y(float64(p.Y))})
		}
	})
}

// band fills the space between two lines over the same places; it is broken
// where one of them is not known.
func (c *chart) band(low, high []vg.Point, shade color.Color) {
	c.paint(func(d draw.Canvas, x, y func(float64) vg.Length) {
		var there, back []vg.Point
		fill := func() {
			if len(there) > 1 {
				for i := range back {
					there = append(there, back[len(back)-1-i])
				}
				d.FillPolygon(shade, there)
			}
			there, back = nil, nil
		}
		for i := range low {
			if math.IsNaN(float64(low[i].Y)) || math.IsNaN(float64(high[i].Y)) {
				fill()
				continue
			}
			there = append(there, vg.Point{X: x(float64(low[i].X)), Y: y(float64(low[i].Y))})
			back = append(back, vg.Point{X: x(float64(high[i].X)), Y: y(float64(high[i].Y))})
		}
		fill()
	})
}

// steps turns points to the corners of a line that keeps its value until the
// next point, and the last one until the end.
func steps(points []vg.Point, end vg.Length) []vg.Point {
	var out []vg.Point
	for i, p := range points {
		until := end
		if i+1 < len(points) {
			until = points[i+1].X
		}
		out = append(out, p, vg.Point{X: until, Y: p.Y})
	}
	return out
}

// at is a point of a chart in the units of its axes.
func at(x, y float64) vg.Point { return vg.Point{X: vg.Length(x), Y: vg.Length(y)} }

// ticks are the places of an axis that are marked.
type ticks []plot.Tick

func (t ticks) Ticks(_, _ float64) []plot.Tick { return t }

// niceTicks returns at most n ticks from low to high, at multiples of 1, 2 or 5
// times a power of ten, no closer than least.
func niceTicks(low, high float64, n int, least float64, label func(float64) string) ticks {
	step := niceStep((high-low)/float64(n-1), least)
	var out ticks
	first, last := math.Ceil(low/step-1e-9), math.Floor(high/step+1e-9)
	for k := first; k <= last; k++ {
		v := k * step
		out = append(out, plot.Tick{Value: v, Label: label(v)})
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
func numberTicks(low, high float64, n int, least float64) ticks {
	d := decimals(niceStep((high-low)/float64(n-1), least))
	return niceTicks(low, high, n, least, func(v float64) string { return document.FormatNumber(v, d) })
}

// yearTicks marks years, written without commas.
func yearTicks(first, last, n int) ticks {
	return niceTicks(float64(first), float64(last), n, 1, func(v float64) string { return fmt.Sprintf("%d", int(math.Round(v))) })
}

// separate moves places apart as little as possible, by the sum of weighted
// squares, so that each follows the one before it by at least its gap. The
// order stays. Without weights all count the same.
func separate(want, weight []float64, gap func(i int) float64) []float64 {
	// Subtracting the gaps leaves a regression under the condition that the
	// places do not descend, which pooling neighbours solves (Ayer et al. 1955).
	type pool struct {
		sum, weight float64
		n           int
	}
	var pools []pool
	offset := make([]float64, len(want))
	for i, w := range want {
		if i > 0 {
			offset[i] = offset[i-1] + gap(i)
		}
		wt := 1.0
		if weight != nil {
			wt = weight[i]
		}
		p := pool{(w - offset[i]) * wt, wt, 1}
		for len(pools) > 0 && pools[len(pools)-1].sum*p.weight > p.sum*pools[len(pools)-1].weight {
			last := pools[len(pools)-1]
			p = pool{p.sum + last.sum, p.weight + last.weight, p.n + last.n}
			pools = pools[:len(pools)-1]
		}
		pools = append(pools, p)
	}
	out := make([]float64, 0, len(want))
	for _, p := range pools {
		for range p.n {
			i := len(out)
			out = append(out, p.sum/p.weight+offset[i])
		}
	}
	return out
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

// box is a rectangle on a canvas.
type box struct{ x0, y0, x1, y1 float64 }

func (b box) meets(o box) bool {
	return b.x0 < o.x1 && o.x0 < b.x1 && b.y0 < o.y1 && o.y0 < b.y1
}

func (b box) inside(o box) bool {
	return b.x0 >= o.x0 && b.x1 <= o.x1 && b.y0 >= o.y0 && b.y1 <= o.y1
}

// drawSex draws the mark of a bird in charts: square, circle or diamond, as in
// drawings of ancestry.
func drawSex(c draw.Canvas, sex rune, p vg.Point, r vg.Length, fill color.Color) {
	var path vg.Path
	switch sex {
	case 'M':
		path.Move(vg.Point{X: p.X - r, Y: p.Y - r})
		path.Line(vg.Point{X: p.X + r, Y: p.Y - r})
		path.Line(vg.Point{X: p.X + r, Y: p.Y + r})
		path.Line(vg.Point{X: p.X - r, Y: p.Y + r})
	case 'F':
		path.Move(vg.Point{X: p.X + r, Y: p.Y})
		path.Arc(p, r, 0, 2*math.Pi)
	default:
		d := r * 1.3
		path.Move(vg.Point{X: p.X, Y: p.Y - d})
		path.Line(vg.Point{X: p.X + d, Y: p.Y})
		path.Line(vg.Point{X: p.X, Y: p.Y + d})
		path.Line(vg.Point{X: p.X - d, Y: p.Y})
	}
	path.Close()
	c.SetColor(fill)
	c.Fill(path)
	c.SetLineStyle(stroke(inkShade, 1.2, solid))
	c.Stroke(path)
}

func (b box) corners() []vg.Point {
	return []vg.Point{at(b.x0, b.y0), at(b.x1, b.y0), at(b.x1, b.y1), at(b.x0, b.y1)}
}

func fillBox(c draw.Canvas, b box, shade color.Color) {
	c.FillPolygon(shade, b.corners())
}

func outlineBox(c draw.Canvas, b box, s draw.LineStyle) {
	corners := b.corners()
	c.StrokeLines(s, append(corners, corners[0]))
}

func drawSpot(c draw.Canvas, p vg.Point, shade color.Color) {
	c.DrawGlyphNoClip(draw.GlyphStyle{Color: shade, Radius: 3.2, Shape: draw.CircleGlyph{}}, p)
}
