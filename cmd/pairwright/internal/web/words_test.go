package web

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pairwright/cmd/pairwright/internal/document"
)

// TestPagesSpeakOfPages: nobody who reads a page types a command.
func TestPagesSpeakOfPages(t *testing.T) {
	table := func(more string) *document.Table { return &document.Table{More: more} }
	d := &document.Document{
		Notes: []string{"To see more: pairwright check", "as --need says; the check command lists them all"},
		Sections: []document.Section{{Blocks: []document.Block{
			document.Paragraph("The transfer command writes the request."), document.Paragraph("Run forward (the command forecast makes more)."),
			document.Paragraph("parents ID has all; parents --founder-kin says who is kin."), document.Paragraph("It stands there; parents ID says how sure that is."), document.List{"The sire is found: write down C0193 (record parent)."},
			table("10 of 31 possible mates shown; more with --top"), table("3 of 31 possible mates shown; all reasons with mates C0734"), table("the mates command has all"),
		}}},
	}
	forPage(d)
	assert.Equal(t, []string{"as need says; the page Data lists them all"}, d.Notes)
	b := d.Sections[0].Blocks
	assert.Equal(t, document.Paragraph("The page Transfers writes the request."), b[0])
	assert.Equal(t, document.Paragraph("Run forward (the page Forecast makes more)."), b[1])
	assert.Equal(t, document.Paragraph("The page Parents by DNA has all; the page Kin among the founders, by DNA, says who is kin."), b[2])
	assert.Equal(t, document.Paragraph("It stands there; the page Parents by DNA says how sure that is."), b[3])
	assert.Equal(t, document.List{"The sire is found: write down C0193."}, b[4])
	b = b[3:]
	assert.Equal(t, "10 of 31 possible mates shown; more under “Ask otherwise”", b[2].(*document.Table).More)
	assert.Equal(t, "3 of 31 possible mates shown; all reasons on the page of C0734", b[3].(*document.Table).More)
	assert.Equal(t, "the page Mates has all", b[4].(*document.Table).More)
}
