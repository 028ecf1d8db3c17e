package svg

import (
	"encoding/xml"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/golden"
)

// element is an element of an XML document.
type element struct {
	XMLName  xml.Name
	Attr     []xml.Attr `xml:",any,attr"`
	Text     string     `xml:",chardata"`
	Children []element  `xml:",any"`
}

func (e element) get(key string) string {
	for _, a := range e.Attr {
		if a.Name.Local == key {
			return a.Value
		}
	}
	return ""
}

// Whatever a text holds, it stays one text of one element.
func TestTextsStayTexts(t *testing.T) {
	for _, h := range golden.Hostile {
		s := New(100, 50.04)
		l := Lettering{Size: 12, Colour: Ink}
		s.Link(h, func() { s.Group(h, func() { s.Label(l, Point{1, 2}, h, h+"…") }) })
		s.Upright(l.Strong().To(End), Point{3, 4}, h)
		var root element
		require.NoError(t, xml.Unmarshal([]byte(s.String()), &root))
		assert.Equal(t, "50", root.get("height"))
		in := root.Children[1] // after the paper
		if h != "" {
			assert.Equal(t, "#"+document.AnchorID(h), in.get("href"))
			in = in.Children[0]
		}
		assert.Equal(t, document.Clean(h), in.Children[0].Text, "title of the group")
		text := in.Children[1]
		assert.Equal(t, "text", text.XMLName.Local)
		assert.Equal(t, document.Clean(h), text.Text)
		assert.Equal(t, document.Clean(h+"…"), text.Children[0].Text, "the whole text for those who ask")
		upright := root.Children[2]
		assert.Equal(t, document.Clean(h), upright.Text)
		assert.Equal(t, "end", upright.get("text-anchor"))
	}
}

func TestShapes(t *testing.T) {
	s := New(10, 10)
	s.Line(Stroke{Colour: Quiet, Width: 1.25, Pattern: Dashed}, Point{0, 0.04}, Point{1, 1}, Point{2.06, 0})
	s.Polygon(Pale, Stroke{}, Point{0, 0}, Point{1, 0}, Point{0, 1})
	s.Rect(None, Stroke{Colour: Ink, Width: 1}, Box{1, 2, 4, 6})
	s.Lines(Stroke{Colour: Ink, Width: 1}, Point{0, 0}, Point{1, 0}, Point{0, 1}, Point{1, 1})
	var root element
	require.NoError(t, xml.Unmarshal([]byte(s.String()), &root))
	line, shape, box, lines := root.Children[1], root.Children[2], root.Children[3], root.Children[4]
	assert.Equal(t, "M0 0L1 1L2.1 0", line.get("d"))
	assert.Equal(t, "none #54585d 1.3 6 4", line.get("fill")+" "+line.get("stroke")+" "+line.get("stroke-width")+" "+line.get("stroke-dasharray"))
	assert.Equal(t, "M0 0L1 0L0 1Z", shape.get("d"))
	assert.Empty(t, shape.get("stroke"), "no line without a colour")
	assert.Equal(t, "1 2 3 4", box.get("x")+" "+box.get("y")+" "+box.get("width")+" "+box.get("height"))
	assert.Equal(t, "M0 0L1 0M0 1L1 1", lines.get("d"))
}

func TestBoxes(t *testing.T) {
	b := Box{0, 0, 2, 2}
	assert.True(t, b.Meets(Box{1, 1, 3, 3}))
	assert.False(t, b.Meets(Box{2, 0, 4, 2}), "a shared edge")
	assert.True(t, Around(Point{1, 1}, 1).Inside(b))
	assert.False(t, Around(Point{1, 1}, 1.1).Inside(b))
	assert.Equal(t, Point{2, 1}, b.Nearest(Point{9, 1}))
}

// TestWidthOfMarks: what stands over a letter, or is not seen, takes no room.
func TestWidthOfMarks(t *testing.T) {
	assert.Equal(t, TextWidth("Amelie", 10, false), TextWidth("Ame\u0301lie", 10, false))
	assert.Equal(t, TextWidth("ab", 10, false), TextWidth("a\u200bb", 10, false))
	assert.Greater(t, TextWidth("Amélie", 10, false), TextWidth("Amlie", 10, false))
}
