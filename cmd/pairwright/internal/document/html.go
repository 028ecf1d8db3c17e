package document

import (
	"bytes"
	"cmp"
	"embed"
	"encoding/base64"
	"encoding/xml"
	"errors"
	"fmt"
	"html/template"
	"io"
	"math"
	"regexp"
	"slices"
	"strings"
	"sync"
	"unicode"
)

//go:embed templates
var templateFiles embed.FS

var templates = sync.OnceValue(func() *template.Template {
	return template.Must(template.ParseFS(templateFiles, "templates/*.html"))
})

// stylesheet returns the style sheet of documents in HTML.
func stylesheet() string {
	css, err := templateFiles.ReadFile("templates/document.css")
	if err != nil {
		panic("document: the style sheet is not embedded")
	}
	return string(css)
}

// WriteHTML writes a document as one self-contained page without scripts that
// reads on small screens and prints well. It is an error if a figure is not
// one well-formed SVG element that leads nowhere outside.
func WriteHTML(w io.Writer, d *Document) error {
	p, err := newPage(d, nil)
	if err != nil {
		return err
	}
	p.Style = template.CSS(stylesheet())
	var b bytes.Buffer // whole or not at all
	if err := templates().ExecuteTemplate(&b, "page", p); err != nil {
		return fmt.Errorf("document: %w", err)
	}
	_, err = b.WriteTo(w)
	return err
}

// page is a document as the templates take it.
type page struct {
	Title    string
	Lead     template.HTML
	Running  template.CSS // a string of CSS that stands at the foot of every printed page
	Facts    []pageFact
	About    string // what the figures refer to, in a line
	Contents []pageSection
	Front    []pageSection // before the facts and the contents
	Sections []pageSection
	Notes    []template.HTML
	Footer   string
	Brief    bool
	Portable bool
	Style    template.CSS
}

type pageSection struct {
	ID, Title string
	Short     bool // stays on one page in print
	Broad     bool // is printed on sheets turned by a quarter
	Apart     bool // begins a new sheet in print
	Blocks    []pageBlock
}

// Class returns the classes of the section.
func (s pageSection) Class() string {
	return classes{{"short", s.Short}, {"broad", s.Broad}, {"apart", s.Apart}}.String()
}

// classes says which classes an element has.
type classes []struct {
	name string
	has  bool
}

// String returns the names of those that it has.
func (c classes) String() string {
	var names []string
	for _, x := range c {
		if x.has {
			names = append(names, x.name)
		}
	}
	return strings.Join(names, " ")
}

// pageFact is a named value.
type pageFact struct {
	Name  string
	Value template.HTML
}

// pageBlock has one of its fields.
type pageBlock struct {
	Paragraph template.HTML
	List      []template.HTML
	Facts     []pageFact
	Table     *pageTable
	Figure    *pageFigure
}

type pageTable struct {
	Label, Caption string
	More           template.HTML
	Columns        []Column
	Rows           []pageRow
	Class          string
}

type pageRow struct {
	ID    string
	Cells []pageCell
}

type pageCell struct {
	Text  template.HTML
	ID    string // of the link; "" for none
	Label string // the heading of its column, for where the table is set as cards
	Key   bool
	Class string
}

// Body writes the rows, one by one: a template takes several times as long for
// each of some ten thousand cells.
func (t *pageTable) Body() template.HTML {
	var b strings.Builder
	attribute := func(name, value string) {
		if value != "" {
			b.WriteString(" " + name + `="` + escape(value) + `"`)
		}
	}
	for _, r := range t.Rows {
		b.WriteString("\n<tr")
		attribute("id", r.ID)
		b.WriteString(">")
		for _, c := range r.Cells {
			element := "td"
			b.WriteString("\n<")
			if c.Key {
				element = "th"
				b.WriteString(`th scope="row"`)
			} else {
				b.WriteString("td")
			}
			attribute("class", c.Class)
			attribute("data-label", c.Label)
			b.WriteString(">")
			text := string(c.Text)
			if c.ID != "" {
				text = `<a href="#` + escape(c.ID) + `">` + text + "</a>"
			}
			b.WriteString(text)
			b.WriteString("</" + element + ">")
		}
		b.WriteString("\n</tr>")
	}
	return template.HTML(b.String())
}

// pageFigure is a drawing in the page or a picture.
type pageFigure struct {
	Label, Caption, Key string
	Large               bool // needs a sheet in print
	Tall                bool // needs more height in print than others
	SVG                 template.HTML
	Picture             *pagePicture
}

type pagePicture struct {
	Source        template.URL
	Width, Height int // pixels
	Alt           string
}

// pageBuilder turns a document to a page. Anchors that are used twice stay at
// the first place, and links to nowhere are not made.
type pageBuilder struct {
	anchors  map[string]bool // whether it has been placed, for each of the document
	labels   map[string]int  // how many tables and drawings have a label
	figures  int
	portable bool
	site     *Site // nil where there is none
}

func newPage(d *Document, site *Site) (*page, error) {
	b := &pageBuilder{anchors: make(map[string]bool), labels: make(map[string]int), portable: d.Portable, site: site}
	b.collect(d)
	p := &page{Title: Clean(d.Title), Lead: b.text(d.Lead), Facts: b.facts(d.Facts), About: d.About.line(), Notes: b.texts(d.Notes), Footer: Clean(d.Footer), Brief: d.Brief, Portable: d.Portable}
	if p.Title == "" {
		p.Title = "Untitled"
	}
	running := p.Title
	if day := Clean(d.asOf()); day != "" {
		running += " · as of " + day
	}
	p.Running = cssString(running)
	front, rest := d.parts()
	for i, s := range slices.Concat(front, rest) {
		ps := pageSection{ID: b.place(s.Anchor), Title: Clean(s.Title), Apart: s.Apart}
		if ps.ID == "" {
			ps.ID = fmt.Sprintf("_s%d", i+1)
		}
		size := 0
		for _, block := range s.Blocks {
			pb, err := b.block(block, ps.Title)
			if err != nil {
				return nil, err
			}
			ps.Blocks = append(ps.Blocks, pb)
			size += pb.size()
			if t, ok := block.(*Table); ok && t.need() > broadTable {
				ps.Broad = true
			}
		}
		ps.Short = (s.Whole || size <= shortSection) && !ps.Broad
		if s.Front {
			ps.Broad = false
			p.Front = append(p.Front, ps)
			continue
		}
		p.Sections = append(p.Sections, ps)
		if ps.Title != "" {
			p.Contents = append(p.Contents, ps)
		}
	}
	if len(p.Contents) <= 3 || d.Brief {
		p.Contents = nil
	} else if len(p.Notes) > 0 {
		p.Contents = append(p.Contents, pageSection{ID: "_notes", Title: "Notes"})
	}
	return p, nil
}

// cssString writes a text as a string of CSS: every character that is no letter,
// digit or space is escaped, as no text may end the string or its element.
func cssString(s string) template.CSS {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		if r == ' ' || unicode.IsLetter(r) || unicode.IsDigit(r) {
			b.WriteRune(r)
		} else {
			fmt.Fprintf(&b, "\\%x ", r) // the space ends the escape
		}
	}
	b.WriteByte('"')
	return template.CSS(b.String())
}

// shortSection is the most lines, roughly, of a section that is not to be
// broken over two pages.
const shortSection = 16

// size is roughly how many lines a block takes.
func (b *pageBlock) size() int {
	switch {
	case b.Table != nil:
		return 3 + len(b.Table.Rows)
	case b.Figure != nil:
		return shortSection // is kept whole by itself
	}
	return 1 + len(b.Paragraph)/100 + len(b.List) + len(b.Facts)
}

// collect notes the anchors of a document.
func (b *pageBuilder) collect(d *Document) {
	for _, s := range d.pages() {
		b.anchors[AnchorID(s.Anchor)] = false
		for _, block := range s.Blocks {
			if t, ok := block.(*Table); ok {
				for _, r := range t.Rows {
					b.anchors[AnchorID(r.Anchor)] = false
				}
			}
		}
	}
	delete(b.anchors, "")
}

// place returns the id for an anchor, "" where there is none or it has been
// placed before.
func (b *pageBuilder) place(anchor string) string {
	id := AnchorID(anchor)
	if id == "" || b.anchors[id] {
		return ""
	}
	b.anchors[id] = true
	return id
}

// link returns the id that a link leads to, "" if it leads nowhere.
func (b *pageBuilder) link(anchor string) string {
	if id := AnchorID(anchor); b.leads(id) {
		return id
	}
	return ""
}

func (b *pageBuilder) leads(id string) bool {
	_, ok := b.anchors[id]
	return ok
}

func (b *pageBuilder) block(block Block, section string) (pageBlock, error) {
	switch v := block.(type) {
	case Paragraph:
		return pageBlock{Paragraph: b.text(string(v))}, nil
	case List:
		return pageBlock{List: b.texts(v)}, nil
	case Facts:
		return pageBlock{Facts: b.facts(v)}, nil
	case *Table:
		return pageBlock{Table: b.table(v, section)}, nil
	case *Figure:
		f, err := b.figure(v, section)
		return pageBlock{Figure: f}, err
	}
	panic(fmt.Sprintf("document: no such block: %T", block))
}

// How many columns of a terminal a table can need before its rows become cards on a
// screen as narrow as a phone's, before it is printed small, before it is printed very
// small, and before it is printed on a sheet turned by a quarter.
const (
	slimTable  = 42 // with two more for the room beside each column
	denseTable = 84
	tightTable = 112
	broadTable = 160
)

// shortHeading is up to how many bytes a heading is not broken into lines.
const shortHeading = len("Chick's F")

// fewRows is up to how many rows a table is kept on one page in print.
const fewRows = 12

// longTable is from how many rows on a table is set tight in print.
const longTable = 20

// need returns how many columns of a terminal a table needs at least.
func (t *Table) need() int {
	n := 0
	for _, c := range newGrid(t).columns {
		n += c.least(defaultWidth) + len(columnGap)
	}
	return n
}

func (b *pageBuilder) table(t *Table, section string) *pageTable {
	out := &pageTable{Caption: Clean(t.Caption), More: b.text(t.More)}
	out.Label = b.label(cmp.Or(out.Caption, section, "Table"))
	keys := t.keys()
	for _, c := range t.Columns {
		c.Name, c.Unit = Clean(c.Name), Clean(c.Unit)
		if len(c.Name) <= shortHeading {
			c.Name = strings.ReplaceAll(c.Name, " ", "\u00a0")
		}
		out.Columns = append(out.Columns, c)
	}
	for _, r := range t.Rows {
		row := pageRow{ID: b.place(r.Anchor)}
		for j, c := range t.Columns {
			cell := r.cell(j)
			shown := pageCell{Text: unbroken(b.cell(cell, keys[j])), ID: b.link(cell.Link), Label: label(c), Key: keys[j], Class: class(c, cell)}
			if strings.Contains(string(shown.Text), "<") { // one piece, where the table is set as cards
				shown.Text = "<span>" + shown.Text + "</span>"
			}
			row.Cells = append(row.Cells, shown)
		}
		out.Rows = append(out.Rows, row)
	}
	need := t.need()
	out.Class = classes{
		{"slim", need+2*len(t.Columns) <= slimTable},               // stays a table on the screen of a phone
		{"dense", need > denseTable}, {"tight", need > tightTable}, // needs a small font in print
		{"few", len(t.Rows) <= fewRows}, {"long", len(t.Rows) >= longTable}, // stays on one page, is set close
		{"sign", t.Sign}, // has room to write
	}.String()
	return out
}

// breakable finds tags, days, and words with a hyphen beside a digit.
var breakable = regexp.MustCompile(`<[^>]*>|[0-9]{1,2} [A-Z][a-z]+ [0-9]{4}|[^\s<>]*[0-9]-[^\s<>]+|[^\s<>]+-[0-9][^\s<>]*`)

// unbroken keeps browsers from breaking days at their spaces, and dates and bands
// at their hyphens.
func unbroken(escaped template.HTML) template.HTML {
	return template.HTML(breakable.ReplaceAllStringFunc(string(escaped), func(s string) string {
		if s[0] == '<' || len(s) > wholeName {
			return s
		}
		return `<span class="whole">` + s + "</span>"
	}))
}

// label makes a label of a table or a drawing one that no other has.
func (b *pageBuilder) label(text string) string {
	b.labels[text]++
	if n := b.labels[text]; n > 1 {
		return fmt.Sprintf("%s (%d)", text, n)
	}
	return text
}

// label returns the heading of a column in one line.
func label(c Column) string {
	if unit := Clean(c.Unit); unit != "" {
		return Clean(c.Name) + ", " + unit
	}
	return Clean(c.Name)
}

// How long, in columns of a terminal, a word and the name of a row may be that are not
// broken: a longer one would take the room of all other columns.
const (
	wholeWord = 24
	wholeName = 40
)

// class returns how a cell of a column is set.
func class(c Column, cell Cell) string {
	text := Clean(cell.Text)
	broken := !c.Right && (longestWord(text) > wholeWord || !c.Wide && DisplayWidth(text) > wholeName)
	whole := c.Whole && !broken && DisplayWidth(text) <= wholeName
	return classes{{"figure", c.Right}, {"words", c.Wide}, {"decides", c.Decides}, {"broken", broken}, {"whole", whole}}.String()
}

func (b *pageBuilder) figure(f *Figure, section string) (*pageFigure, error) {
	b.figures++
	id := fmt.Sprintf("_f%d", b.figures)
	out := &pageFigure{Caption: Clean(f.Caption), Key: Clean(f.Key)}
	out.Label = b.label(cmp.Or(out.Caption, section, "Figure"))
	alt := strings.Join(lines(f.Alt), "; ")
	svg, err := b.inline(f.SVG, id, out.Label, alt)
	if err != nil {
		return nil, fmt.Errorf("document: figure %q: %w", out.Label, err)
	}
	width, height := svgSize(svg)
	out.Large, out.Tall = width > largeFigure, height > tallFigure
	if !b.portable {
		out.SVG = template.HTML(svg)
		return out, nil
	}
	if width == 0 || height == 0 {
		return nil, fmt.Errorf("document: figure %q: a picture needs a width and a height", out.Label)
	}
	scale := min(1, officeWidth/width)
	out.Picture = &pagePicture{
		Source: template.URL("data:image/svg+xml;base64," + base64.StdEncoding.EncodeToString([]byte(svg))),
		Width:  int(math.Round(width * scale)), Height: int(math.Round(height * scale)),
		Alt: strings.TrimSuffix(out.Label, ".") + ": " + alt,
	}
	return out, nil
}

// Widths of drawings in pixels.
const (
	largeFigure = 700 // wider ones have a sheet of their own in print
	tallFigure  = 480 // the height from which on a drawing is a tall one
	officeWidth = 640 // what fits the page of an office program
)

// svgSize returns the width and height that an <svg> element gives itself, 0
// where it gives none in pixels.
func svgSize(svg string) (width, height float64) {
	var root struct {
		Width  float64 `xml:"width,attr"`
		Height float64 `xml:"height,attr"`
	}
	if err := xml.Unmarshal([]byte(svg), &root); err != nil {
		return 0, 0
	}
	return root.Width, root.Height
}

// inline prepares an <svg> element for a page: it has a title and a
// description, no link that leads nowhere, and nothing that runs or that is
// fetched.
func (b *pageBuilder) inline(svg, id, title, desc string) (string, error) {
	start := strings.Index(svg, "<svg") // after an XML declaration
	if start < 0 {
		return "", errors.New("it is no <svg> element")
	}
	svg = svg[start:]
	d := xml.NewDecoder(strings.NewReader(svg))
	var out strings.Builder
	var kept []bool // for each open element, whether its tags are kept
	root := true
	for {
		from := d.InputOffset()
		token, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			return "", err
		}
		raw := svg[from:d.InputOffset()]
		switch token := token.(type) {
		case xml.StartElement:
			keep, err := b.allowed(token)
			if err != nil {
				return "", err
			}
			if to := b.beyond(token); !keep && to != "" {
				keep, raw = true, `<a href="`+EscapeXML(to)+`">`
			}
			kept = append(kept, keep)
			if !keep {
				continue
			}
			out.WriteString(raw)
			if root {
				root = false
				s := out.String()
				out.Reset()
				role := "img"
				if b.site != nil {
					role = "group" // a picture hides the links in it
				}
				fmt.Fprintf(&out, `<svg role="%s" aria-labelledby="%s-title" aria-describedby="%[2]s-desc"%s`, role, id, s[len("<svg"):])
				fmt.Fprintf(&out, `<title id="%s-title">%s</title><desc id="%[1]s-desc">%[3]s</desc>`, id, EscapeXML(title), EscapeXML(desc))
			}
		case xml.EndElement:
			keep := kept[len(kept)-1]
			kept = kept[:len(kept)-1]
			if keep {
				out.WriteString(raw)
			}
			if len(kept) == 0 {
				return out.String(), nil
			}
		case xml.CharData:
			out.WriteString(raw)
		}
	}
	return "", errors.New("the <svg> element has no end")
}

// beyond returns the address on the site of what a link of a drawing is about,
// "" if it is no link or the site has no page for it.
func (b *pageBuilder) beyond(e xml.StartElement) string {
	if e.Name.Local != "a" || b.site == nil || b.site.Address == nil {
		return ""
	}
	for _, a := range e.Attr {
		if id, ok := strings.CutPrefix(a.Value, "#"+AnchorID(BirdAnchor(""))); ok && a.Name.Local == "href" {
			return b.site.Address(anchored(id))
		}
	}
	return ""
}

// allowed checks an element of a drawing and reports whether it is kept; a
// link to nowhere is not, though what is in it is.
func (b *pageBuilder) allowed(e xml.StartElement) (keep bool, err error) {
	switch strings.ToLower(e.Name.Local) {
	case "script", "foreignobject", "iframe", "image", "style":
		return false, fmt.Errorf("a drawing cannot have <%s>", e.Name.Local)
	}
	keep = true
	for _, a := range e.Attr {
		name := strings.ToLower(a.Name.Local)
		switch {
		case strings.HasPrefix(name, "on"):
			return false, fmt.Errorf("a drawing cannot have %s", a.Name.Local)
		case name == "href" && !strings.HasPrefix(a.Value, "#"):
			return false, fmt.Errorf("a drawing cannot lead to %q", a.Value)
		case name == "href" && e.Name.Local == "a":
			keep = b.leads(a.Value[1:])
		}
	}
	return keep, nil
}

func (b *pageBuilder) texts(in []string) []template.HTML {
	var out []template.HTML
	for _, s := range in {
		out = append(out, b.text(s))
	}
	return out
}

func (b *pageBuilder) facts(in Facts) []pageFact {
	var out []pageFact
	for _, f := range in {
		out = append(out, pageFact{Clean(f.Name), b.text(f.Value)})
	}
	return out
}
