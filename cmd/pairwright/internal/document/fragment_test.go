package document

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"pairwright/cmd/pairwright/internal/golden"
)

// birdsOnSite is a site with pages for some birds.
var birdsOnSite = Site{
	Address: func(id string) string {
		if slices.Contains([]string{"A12", "7", "B/1", "HAF 3", "HAF 31", "*9", "Old Tom", "8"}, id) {
			return "/bird?bird=" + id
		}
		return ""
	},
	Called:  func(id string) string { return map[string]string{"7": "Moss"}[id] },
	Longest: len("Old Tom"), Before: []string{"mate of"},
}

// TestMarked tells ids from what looks like them: longer ones, parts of words, numbers.
func TestMarked(t *testing.T) {
	for text, want := range map[string][]string{
		"A12's mate is B/1; A123 and 7 others are not.": {"A12", "B/1"},
		"HAF 31, HAF 3 and HAF 312, HAF":                {"HAF 31", "HAF 3"},
		"gets 7 (Moss), not 7 (Mos)":                    {"7"},
		"the mate of 8, one of 8":                       {"8"},
		"*9 and 9, 1*9":                                 {"*9"},
		"Old Tom, Old Tomas, the old tom":               {"Old Tom"},
		"A12\u0308 is another, xA12 too":                {},
		"":                                              {},
	} {
		root, err := html.Parse(strings.NewReader(string(birdsOnSite.Marked(text))))
		require.NoError(t, err)
		got := []string{}
		for _, a := range elements(root, "a") {
			got = append(got, content(a))
		}
		assert.Equal(t, want, got, text)
		assert.Equal(t, Clean(text), content(root), "no text is lost")
	}
}

// TestFragmentLeadsToBirds follows words to the pages of a site: in sentences,
// in cells, in drawings, and never where a number or a part of a word looks like
// an id.
func TestFragmentLeadsToBirds(t *testing.T) {
	d := &Document{Title: "Not shown", Lead: "A12's mate is B/1; A123 and 7 others are not.", Sections: []Section{{Title: "Birds", Blocks: []Block{
		&Table{Columns: []Column{{Name: "Bird", Key: true}, {Name: "Chicks", Right: true}, {Name: "Mate"}}, Rows: []Row{
			{Cells: []Cell{{Text: "7"}, {Text: "7", Value: 7}, {Text: "A12"}}},
			{Cells: []Cell{{Text: "8 and 7"}, {}, {Text: "7 and 8"}}}, // a pair where birds are named, else two numbers
		}},
		&Figure{SVG: `<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"><a href="#` + AnchorID(BirdAnchor("B/1")) + `"><text>one</text></a><a href="#bird-none"><text>two</text></a></svg>`, Alt: "two birds"},
		&Table{Sign: true, Columns: []Column{{Name: "Who"}, {Name: "Date"}}, Rows: []Row{{Cells: []Cell{{Text: "Keeper"}, {Text: "________"}}}}},
	}}}}
	var b bytes.Buffer
	withForm := birdsOnSite
	withForm.Fields = true
	require.NoError(t, withForm.WriteFragment(&b, d))
	root, err := html.Parse(strings.NewReader(b.String()))
	require.NoError(t, err)
	var links []string
	for _, a := range elements(root, "a") {
		to, _ := attr(a, "href")
		links = append(links, content(a)+" "+to)
	}
	assert.Equal(t, []string{"A12 /bird?bird=A12", "B/1 /bird?bird=B/1", "7 /bird?bird=7", "A12 /bird?bird=A12", "8 /bird?bird=8", "7 /bird?bird=7", "one /bird?bird=B/1"}, links)
	fields := elements(root, "input")
	require.Len(t, fields, 1)
	label, _ := attr(fields[0], "aria-label")
	assert.Equal(t, "Date: Keeper", label)
	for _, landmark := range []string{"main", "header", "footer", "style", "script", "h1"} {
		assert.Empty(t, elements(root, landmark), "<%s> is the site's own", landmark)
	}
}

// TestFragmentShowsHostileTexts puts markup where texts belong.
func TestFragmentShowsHostileTexts(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, birdsOnSite.WriteFragment(&b, hostileDocument()))
	root, err := html.Parse(strings.NewReader(b.String()))
	require.NoError(t, err)
	assert.Empty(t, elements(root, "script"))
	assert.Empty(t, elements(root, "img"))
	var items []string
	for _, li := range elements(root, "li") {
		items = append(items, content(li))
	}
	for _, text := range golden.Hostile {
		assert.Contains(t, items, Clean(text))
	}
}

func TestAnchoredIsTheWayBackFromAnchorID(t *testing.T) {
	for _, text := range append([]string{"A12", "A_12", "_", "a b/ü"}, golden.Hostile...) {
		assert.Equal(t, text, anchored(AnchorID(text)))
	}
}
