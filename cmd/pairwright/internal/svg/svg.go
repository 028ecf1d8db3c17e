// Package svg draws: lines, shapes and texts on a sheet, written as SVG in
// which text stays text, that scales, and that needs nothing from outside.
// Coordinates are pixels from the upper left corner, y downwards.
package svg

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"

	"pairwright/cmd/pairwright/internal/document"
)

// The colours of drawings: dark on white, told apart without colour. Greys and
// the one accent only help, and the accent prints as dark.
const (
	Ink    = "#1d1f21"
	Quiet  = "#54585d"
	Mid    = "#8c9096"
	Light  = "#b9bcc1"
	Pale   = "#e1e3e7"
	Accent = "#6a2c5b"
	Paper  = "#fff"
	None   = "none"
)

// Patterns of lines, as lengths of dashes and gaps.
const (
	Solid  = ""
	Dashed = "6 4"
	Dotted = "1.5 3"
	Short  = "3 2.5"
)

// fonts are narrow; TextWidth takes a wide one.
const fonts = "Liberation Sans, Arial, Helvetica, sans-serif"

// Point is a place on the sheet.
type Point struct{ X, Y float64 }

// Box is a rectangle, X0 <= X1 and Y0 <= Y1.
type Box struct{ X0, Y0, X1, Y1 float64 }

// Around returns the square around a point, r to each side.
func Around(p Point, r float64) Box { return Box{p.X - r, p.Y - r, p.X + r, p.Y + r} }

// Meets reports whether two boxes share more than an edge.
func (b Box) Meets(o Box) bool {
	return b.X0 < o.X1 && o.X0 < b.X1 && b.Y0 < o.Y1 && o.Y0 < b.Y1
}

// Inside reports whether the box leaves the other nowhere.
func (b Box) Inside(o Box) bool {
	return b.X0 >= o.X0 && b.X1 <= o.X1 && b.Y0 >= o.Y0 && b.Y1 <= o.Y1
}

// Nearest returns the point of the box that is nearest to a point.
func (b Box) Nearest(p Point) Point {
	return Point{min(max(p.X, b.X0), b.X1), min(max(p.Y, b.Y0), b.Y1)}
}

// Stroke is how a line is drawn; without a colour it is not.
type Stroke struct {
	Colour  string
	Width   float64
	Pattern string
}

// Lettering is how a text is drawn.
type Lettering struct {
	Size   float64
	Colour string
	Bold   bool
	Anchor Anchor
}

// In returns the lettering with another colour.
func (l Lettering) In(colour string) Lettering { l.Colour = colour; return l }

// To returns the lettering with another anchor.
func (l Lettering) To(a Anchor) Lettering { l.Anchor = a; return l }

// Strong returns the lettering in bold.
func (l Lettering) Strong() Lettering { l.Bold = true; return l }

// Width returns the width of a text in the lettering, as TextWidth.
func (l Lettering) Width(s string) float64 { return TextWidth(s, l.Size, l.Bold) }

// Anchor is the part of a text that stands at its point.
type Anchor string

// The anchors of a text.
const (
	Start  Anchor = ""
	Middle Anchor = "middle"
	End    Anchor = "end"
)

// Sheet is what is drawn on.
type Sheet struct {
	Width, Height float64
	b             strings.Builder
}

// New returns a white sheet.
func New(width, height float64) *Sheet { return &Sheet{Width: width, Height: height} }

// String returns the drawing as one <svg> element.
func (s *Sheet) String() string {
	return fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" width="%s" height="%s" viewBox="0 0 %[1]s %[2]s" preserveAspectRatio="xMinYMin" font-family="%s">`, px(s.Width), px(s.Height), fonts) +
		"\n<rect width=\"100%\" height=\"100%\" fill=\"" + Paper + "\"/>\n" + s.b.String() + "</svg>"
}

// Line draws a line through points.
func (s *Sheet) Line(k Stroke, points ...Point) { s.path(None, k, points, "") }

// Polygon fills and outlines the shape between points.
func (s *Sheet) Polygon(fill string, k Stroke, points ...Point) { s.path(fill, k, points, "Z") }

func (s *Sheet) path(fill string, k Stroke, points []Point, end string) {
	s.b.WriteString(`<path d="`)
	for i, p := range points {
		command := "L"
		if i == 0 {
			command = "M"
		}
		s.b.WriteString(command + px(p.X) + " " + px(p.Y))
	}
	s.b.WriteString(end + `"` + looks(fill, k) + "/>\n")
}

// Lines draws lines from point to point, two by two, as one shape.
func (s *Sheet) Lines(k Stroke, ends ...Point) {
	s.b.WriteString(`<path d="`)
	for i := 0; i+1 < len(ends); i += 2 {
		fmt.Fprintf(&s.b, "M%s %sL%s %s", px(ends[i].X), px(ends[i].Y), px(ends[i+1].X), px(ends[i+1].Y))
	}
	s.b.WriteString(`"` + looks(None, k) + "/>\n")
}

// Rect fills and outlines a box.
func (s *Sheet) Rect(fill string, k Stroke, b Box) {
	fmt.Fprintf(&s.b, `<rect x="%s" y="%s" width="%s" height="%s"%s/>`+"\n", px(b.X0), px(b.Y0), px(b.X1-b.X0), px(b.Y1-b.Y0), looks(fill, k))
}

// Circle fills and outlines a circle.
func (s *Sheet) Circle(fill string, k Stroke, p Point, r float64) {
	fmt.Fprintf(&s.b, `<circle cx="%s" cy="%s" r="%s"%s/>`+"\n", px(p.X), px(p.Y), px(r), looks(fill, k))
}

// Text writes one line of text; p is on its base line.
func (s *Sheet) Text(l Lettering, p Point, text string) { s.Label(l, p, text, "") }

// TextAt writes one line of text whose capitals have their middle at p.
func (s *Sheet) TextAt(l Lettering, p Point, text string) {
	s.Text(l, Point{p.X, p.Y + l.Size*capitals}, text)
}

// capitals is half the height of capitals, in the size of their font.
const capitals = 0.36

// Label writes a text that may be cut, with the full one for those who ask:
// "" for none.
func (s *Sheet) Label(l Lettering, p Point, text, full string) {
	fmt.Fprintf(&s.b, `<text x="%s" y="%s"%s>`, px(p.X), px(p.Y), l.looks())
	if full != "" && full != text {
		s.title(full)
	}
	s.b.WriteString(document.EscapeXML(document.Clean(text)) + "</text>\n")
}

// Upright writes a text that runs upwards from p on its base line.
func (s *Sheet) Upright(l Lettering, p Point, text string) {
	fmt.Fprintf(&s.b, `<text transform="translate(%s %s) rotate(-90)" x="0" y="0"%s>%s</text>`+"\n", px(p.X), px(p.Y), l.looks(), document.EscapeXML(document.Clean(text)))
}

// Group says what is drawn within it.
func (s *Sheet) Group(title string, draw func()) {
	s.b.WriteString("<g>")
	s.title(title)
	s.b.WriteByte('\n')
	draw()
	s.b.WriteString("</g>\n")
}

// Link leads from what is drawn within it to an anchor of the document; ""
// for none.
func (s *Sheet) Link(anchor string, draw func()) {
	if anchor == "" {
		draw()
		return
	}
	fmt.Fprintf(&s.b, "<a href=\"#%s\">\n", document.AnchorID(anchor))
	draw()
	s.b.WriteString("</a>\n")
}

func (s *Sheet) title(text string) {
	s.b.WriteString("<title>" + document.EscapeXML(document.Clean(text)) + "</title>")
}

func looks(fill string, k Stroke) string {
	out := ` fill="` + fill + `"`
	if k.Colour != "" {
		out += ` stroke="` + k.Colour + `" stroke-width="` + px(k.Width) + `"`
		if k.Pattern != Solid {
			out += ` stroke-dasharray="` + k.Pattern + `"`
		}
	}
	return out
}

func (l Lettering) looks() string {
	out := ` font-size="` + px(l.Size) + `" fill="` + l.Colour + `"`
	if l.Bold {
		out += ` font-weight="600"`
	}
	if l.Anchor != Start {
		out += ` text-anchor="` + string(l.Anchor) + `"`
	}
	return out
}

// px writes a coordinate with one decimal at most.
func px(x float64) string { return strconv.FormatFloat(math.Round(x*10)/10, 'f', -1, 64) }

// Truncate cuts a text to a width, with … at its end where it was cut.
func (l Lettering) Truncate(text string, most float64) string {
	return document.Truncate(document.Clean(text), most, l.Width)
}

// TextWidth estimates how wide a text is in a sans-serif font of a size. It
// takes the widths of a wide font, DejaVu Sans, so that it is rarely short.
func TextWidth(s string, size float64, bold bool) float64 {
	em := 0.0
	for _, r := range s {
		switch {
		case r >= 0x300 && unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf): // over the letter before, or not seen
		case strings.ContainsRune(" .,:;'|!ijlI", r):
			em += 0.36
		case strings.ContainsRune("frt()[]-/\"", r):
			em += 0.45
		case strings.ContainsRune("mwMW@%…–", r):
			em += 1
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			em += 0.64
		case r < 0x250:
			em += 0.8
		default:
			em += max(0.8, 1.05*float64(document.DisplayWidth(string(r))))
		}
	}
	if bold {
		em *= 1.12
	}
	return em * size
}
