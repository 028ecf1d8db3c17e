package document

import (
	"bytes"
	"encoding/base64"
	"html/template"
	"io"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"pairwright/cmd/pairwright/internal/golden"
)

func TestHTMLGolden(t *testing.T) {
	golden.File(t, "sample.html", func(w io.Writer) error { return WriteHTML(w, sample()) })
}

func parsed(t *testing.T, d *Document) *html.Node {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, WriteHTML(&b, d))
	root, err := html.Parse(&b)
	require.NoError(t, err)
	return root
}

func attr(n *html.Node, key string) (string, bool) {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val, true
		}
	}
	return "", false
}

// elements returns the elements with a name, in order.
func elements(root *html.Node, name string) []*html.Node {
	var out []*html.Node
	for n := range root.Descendants() {
		if n.Type == html.ElementNode && n.Data == name {
			out = append(out, n)
		}
	}
	return out
}

func content(n *html.Node) string {
	var b strings.Builder
	for c := range n.Descendants() {
		if c.Type == html.TextNode {
			b.WriteString(c.Data)
		}
	}
	return b.String()
}

func TestHTMLIsSound(t *testing.T) {
	portable := sample()
	portable.Portable = true
	for name, d := range map[string]*Document{"sample": sample(), "portable": portable, "hostile": hostileDocument(), "empty": {}} {
		t.Run(name, func(t *testing.T) {
			root := parsed(t, d)
			ids := make(map[string]bool)
			level := 0
			for n := range root.Descendants() {
				if n.Type != html.ElementNode {
					continue
				}
				for _, a := range n.Attr {
					assert.False(t, strings.HasPrefix(a.Key, "on"), "<%s %s>", n.Data, a.Key)
					assert.NotContains(t, []string{"srcset", "action", "data", "poster"}, a.Key, "<%s>", n.Data)
					if a.Key == "src" {
						assert.True(t, n.Data == "img" && strings.HasPrefix(a.Val, "data:image/svg+xml;base64,"), "<%s src=%q>", n.Data, a.Val)
					}
				}
				if id, ok := attr(n, "id"); ok {
					assert.NotEmpty(t, id)
					assert.NotContains(t, id, " ")
					assert.False(t, ids[id], "id %q twice", id)
					ids[id] = true
				}
				switch n.Data {
				case "script", "link", "iframe", "object", "embed", "base", "form":
					t.Errorf("there is a <%s>", n.Data)
				case "th":
					scope, _ := attr(n, "scope")
					assert.Contains(t, []string{"row", "col"}, scope)
				case "h1", "h2", "h3", "h4", "h5", "h6":
					next, _ := strconv.Atoi(n.Data[1:])
					assert.LessOrEqual(t, next, level+1, "heading %q skips a level", content(n))
					level = next
				case "svg":
					role, _ := attr(n, "role")
					assert.Equal(t, "img", role)
					assert.Equal(t, "title", n.FirstChild.Data)
					assert.NotEmpty(t, content(n.FirstChild))
					assert.NotEmpty(t, content(n.FirstChild.NextSibling))
				}
			}
			for n := range root.Descendants() {
				for _, a := range n.Attr {
					switch a.Key {
					case "href":
						assert.True(t, strings.HasPrefix(a.Val, "#"), "link to %q", a.Val)
						assert.True(t, ids[strings.TrimPrefix(a.Val, "#")], "link to %q leads nowhere", a.Val)
					case "aria-labelledby", "aria-describedby":
						assert.True(t, ids[a.Val], "%s=%q names nothing", a.Key, a.Val)
					}
				}
			}
			for _, one := range []string{"h1", "header", "main", "title"} {
				found := elements(root, one)
				if one == "title" { // those of drawings have namespace svg
					found = found[:1]
				}
				assert.Len(t, found, 1, one)
			}
			lang, _ := attr(elements(root, "html")[0], "lang")
			assert.Equal(t, "en", lang)
			for _, table := range elements(root, "table") {
				if class, _ := attr(table, "class"); class == "facts" {
					continue // its headings are names
				}
				columns := len(elements(elements(table, "thead")[0], "th"))
				for _, row := range elements(elements(table, "tbody")[0], "tr") {
					cells := append(elements(row, "td"), elements(row, "th")...)
					if _, spans := attr(cells[0], "colspan"); !spans {
						assert.Len(t, cells, columns)
					}
				}
			}
		})
	}
}

// TestHTMLPortable: a document to send on has its drawing as a picture of the
// same bytes, with a size that office programs need and its words beside it.
func TestHTMLPortable(t *testing.T) {
	d := sample()
	drawn, err := (&pageBuilder{anchors: map[string]bool{}, labels: map[string]int{}}).figure(sampleFigure(), "Ancestry")
	require.NoError(t, err)
	d.Portable = true
	root := parsed(t, d)
	assert.Empty(t, elements(root, "svg"))
	pictures := elements(root, "img")
	require.Len(t, pictures, 1)
	source, _ := attr(pictures[0], "src")
	svg, err := base64.StdEncoding.DecodeString(strings.TrimPrefix(source, "data:image/svg+xml;base64,"))
	require.NoError(t, err)
	assert.Equal(t, string(drawn.SVG), string(svg))
	alt, _ := attr(pictures[0], "alt")
	for _, line := range lines(sampleFigure().Alt) {
		assert.Contains(t, alt, line)
	}
	for _, side := range []string{"width", "height"} {
		size, _ := attr(pictures[0], side)
		pixels, err := strconv.Atoi(size)
		require.NoError(t, err)
		assert.True(t, pixels > 0 && pixels <= 2*officeWidth, "%s %d", side, pixels)
	}
	d.Sections = []Section{{Title: "Drawing", Blocks: []Block{&Figure{SVG: `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1"></svg>`}}}}
	assert.ErrorContains(t, WriteHTML(io.Discard, d), "a picture needs a width and a height")
}

// TestHTMLShowsHostileTexts looks for the texts as a reader would see them.
func TestHTMLShowsHostileTexts(t *testing.T) {
	root := parsed(t, hostileDocument())
	var items []string
	for _, li := range elements(elements(root, "section")[len(golden.Hostile)+1], "li") {
		items = append(items, content(li))
	}
	require.Len(t, items, len(golden.Hostile))
	for i, item := range items {
		assert.Equal(t, Clean(golden.Hostile[i]), item)
	}
	for i, row := range elements(elements(root, "tbody")[0], "tr")[:len(golden.Hostile)] {
		assert.Equal(t, Clean(golden.Hostile[i]), content(elements(row, "th")[0]))
	}
}

func TestHTMLContents(t *testing.T) {
	root := parsed(t, sample())
	var names []string
	for _, a := range elements(elements(root, "nav")[0], "a") {
		names = append(names, content(a))
	}
	assert.Equal(t, []string{"Ranked mates", "Ruled out", "Ancestry", "What to do", "Nobody waits", "Notes"}, names)

	short := sample()
	short.Sections = short.Sections[:3]
	assert.Empty(t, elements(parsed(t, short), "nav"), "three sections need none")
}

// TestHTMLLinks has a link to a row that is there and one to a row that is not.
func TestHTMLLinks(t *testing.T) {
	table := &Table{Columns: []Column{{Name: "Id"}}, Rows: []Row{
		{Anchor: "bird 1", Cells: []Cell{{Text: "1", Link: "bird 1"}}},
		{Anchor: "bird 1", Cells: []Cell{{Text: "1 again", Link: "bird 2"}}},
		{Anchor: "_notes", Cells: []Cell{{Text: "notes", Link: "_notes"}}},
	}}
	figure := &Figure{SVG: `<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg"><a href="#bird_201"><text>1</text></a><a href="#bird_202"><text>2</text></a></svg>`, Alt: "two birds"}
	root := parsed(t, &Document{Notes: []string{"n"}, Sections: []Section{{Blocks: []Block{table, figure}}}})
	var links []string
	for _, a := range elements(root, "a") {
		href, _ := attr(a, "href")
		links = append(links, content(a)+" "+href)
	}
	assert.Equal(t, []string{"1 #bird_201", "notes #_5fnotes", "1 #bird_201"}, links)
	assert.Equal(t, "Figuretwo birds12", content(elements(root, "svg")[0]), "the text of the other link stays")
}

func TestHTMLRefusesFigures(t *testing.T) {
	for name, svg := range map[string]string{
		"nothing":         "",
		"not SVG":         "<p>drawing</p>",
		"no end":          "<svg><g></g>",
		"wrong nesting":   "<svg><g></svg></g>",
		"script":          "<svg><script>alert(1)</script></svg>",
		"handler":         `<svg onload="alert(1)"></svg>`,
		"page within":     "<svg><foreignObject/></svg>",
		"picture outside": `<svg><image href="http://example.org/x.png"/></svg>`,
		"link outside":    `<svg><a href="http://example.org/">x</a></svg>`,
		"link that runs":  `<svg xmlns:xlink="http://www.w3.org/1999/xlink"><a xlink:href="javascript:alert(1)">x</a></svg>`,
	} {
		var b bytes.Buffer
		err := WriteHTML(&b, &Document{Sections: []Section{{Title: "Drawing", Blocks: []Block{&Figure{SVG: svg}}}}})
		assert.ErrorContains(t, err, `document: figure "Drawing"`, name)
		assert.Zero(t, b.Len(), "%s: nothing is written", name)
	}
	assert.ErrorIs(t, WriteHTML(failing{}, sample()), errFull)
}

func TestAnchorID(t *testing.T) {
	seen := make(map[string]string)
	for _, anchor := range append([]string{"bird A1", "bird_A1", "bird_20A1", "A-1", "A/1", "A.1", "á"}, golden.Hostile...) {
		id := AnchorID(anchor)
		assert.Regexp(t, `^([A-Za-z0-9.-]|_[0-9a-f]{2})*$`, id)
		other, twice := seen[id]
		assert.False(t, twice, "%q and %q both give %q", anchor, other, id)
		seen[id] = anchor
	}
}

// The title at the foot of printed pages is a string of CSS, which html/template
// replaces by a word of its own where it holds a colon.
func TestTitleAtTheFoot(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, WriteHTML(&b, &Document{Title: `Request: A "1" </style>`}))
	assert.Contains(t, b.String(), `content: "Request\3a  A \22 1\22  \3c \2f style\3e " }`)
	assert.NotContains(t, b.String(), "ZgotmplZ")
}

// TestDaysStayWhole: no browser breaks a day, a date or a band, and no tag is
// taken for one.
func TestDaysStayWhole(t *testing.T) {
	for text, want := range map[string]string{
		"by 2 January 2027 at home": `by <span class="whole">2 January 2027</span> at home`,
		"since 2023-05-01":          `since <span class="whole">2023-05-01</span>`,
		"band HAF-057, tested":      `band <span class="whole">HAF-057,</span> tested`,
		"great-aunt":                "great-aunt",
		`<a href="/b-1">C1</a>`:     `<a href="/b-1">C1</a>`,
	} {
		assert.Equal(t, want, string(unbroken(template.HTML(text))))
	}
}

// TestWholeSections: a long section that is to stay on one sheet is not broken in print,
// others are.
func TestWholeSections(t *testing.T) {
	rows := slices.Repeat([]Row{{Cells: []Cell{{Text: "C0734"}}}}, 30)
	d := &Document{Title: "Board"}
	for _, whole := range []bool{true, false} {
		d.Sections = append(d.Sections, Section{Title: "Birds", Whole: whole, Blocks: []Block{&Table{Columns: []Column{{Name: "Bird"}}, Rows: rows}}})
	}
	p, err := newPage(d, nil)
	require.NoError(t, err)
	assert.Equal(t, "short", p.Sections[0].Class())
	assert.Empty(t, p.Sections[1].Class())
}

// TestLongNamesBreak: a word or a name that would take the room of all other columns is
// broken, others and figures are not.
func TestLongNamesBreak(t *testing.T) {
	for text, want := range map[string]string{
		"C0734": "", "Wilhelmina Aurelia of the North Wall": "", strings.Repeat("x", 120): "broken",
		"Wilhelmina Aurelia Konstantina of Hohenkranich and of the North Wall": "broken",
	} {
		assert.Equal(t, want, class(Column{}, Cell{Text: text}), text)
	}
	assert.Equal(t, "words", class(Column{Wide: true}, Cell{Text: strings.Repeat("long sentence ", 9)}))
	assert.Equal(t, "figure", class(Column{Right: true}, Cell{Text: strings.Repeat("9", 99)}))
}
