package document

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"
)

// withBlanks has a blank in each place that can have one.
func withBlanks() *Document {
	return &Document{
		Title: "Request", Facts: Facts{{Name: "Asked of", Value: "Elm House, contact: ________"}, {Name: "Why", Value: "a_b and ____"}},
		Sections: []Section{{Title: "Timing", Blocks: []Block{
			List{"Never in the moult. Agreed date: ________", "________ + ________ free"}, Paragraph("By: ________"), Facts{{Name: "Crate", Value: "________________"}},
			&Table{Sign: true, Columns: []Column{{Name: "Who", Key: true}, {Name: "Conditions"}}, Rows: []Row{{Cells: []Cell{{Text: "Sender"}, {Text: "________"}}}}},
		}}},
	}
}

// TestBlanksAreFilledIn: each blank is one field with words of its own, and what
// is typed into it stands in its place in every format; the document itself stays.
func TestBlanksAreFilledIn(t *testing.T) {
	d := withBlanks()
	var what []string
	for k, b := range d.Blanks() {
		assert.Equal(t, k, b.Number)
		what = append(what, b.What)
	}
	assert.Equal(t, []string{"Asked of: Elm House, contact", "Timing: Agreed date", "Timing", "Timing", "Timing: By", "Crate", "Conditions: Sender"}, what)

	const typed = `<b>Ann</b> "Ash" & co`
	filled := d.FillIn(func(b Blank) string {
		if b.Number == 2 {
			return ""
		}
		return typed
	})
	var text, page bytes.Buffer
	require.NoError(t, WriteText(&text, filled, 0))
	assert.Equal(t, 6, strings.Count(text.String(), typed))
	assert.Contains(t, text.String(), "________ + "+typed, "what was not filled in stays")
	require.NoError(t, WriteHTML(&page, filled))
	root, err := html.Parse(&page)
	require.NoError(t, err)
	assert.Equal(t, 6, strings.Count(content(root), typed))
	text.Reset()
	require.NoError(t, WriteText(&text, d, 0))
	assert.NotContains(t, text.String(), "Ann")

	page.Reset()
	require.NoError(t, Site{Fields: true}.WriteFragment(&page, d))
	root, err = html.Parse(&page)
	require.NoError(t, err)
	fields := elements(root, "input")
	require.Len(t, fields, 7)
	for k, f := range fields {
		label, _ := attr(f, "aria-label")
		assert.Equal(t, what[k], label)
		form, _ := attr(f, "form")
		assert.Equal(t, FillForm, form)
	}
	page.Reset()
	require.NoError(t, Site{}.WriteFragment(&page, d))
	assert.NotContains(t, page.String(), "<input")
}
