package document

import (
	"slices"
	"strings"
)

// Document is an answer before it is laid out.
type Document struct {
	Title string
	// Lead is the answer in a sentence or two.
	Lead string
	// Facts say what the answer is about.
	Facts Facts
	// About says what the figures refer to: the studbook, the day, the
	// population. It stands in a line.
	About    Facts
	Sections []Section
	// Notes are assumptions, defaults used, definitions and cautions.
	Notes []string
	// Footer stands at the foot: who decides, how to make the document again.
	Footer string
	// Brief documents are set tight and without contents: a page to send.
	Brief bool
	// Portable documents are sent on and opened in office programs, which
	// show pictures but no drawing within a page: there each figure is a
	// picture, without links and with its text alternative. Pages for the
	// screen draw in the page, where text can be found and links followed.
	Portable bool
}

// Section is a titled part of a document.
type Section struct {
	Title  string
	Anchor string // for links within the page; "" for none
	Apart  bool   // begins a new sheet in print
	Whole  bool   // is on one sheet in print, where it fits on one
	// Front sections come first and are what a person decides by and signs: they
	// stand before the facts and the contents, and are one sheet in print.
	Front bool
	// Data are long tables to go on with in a spreadsheet: workbooks alone
	// have them.
	Data   bool
	Blocks []Block
}

// pages returns the sections of a document that a person reads.
func (d *Document) pages() []Section {
	return slices.DeleteFunc(slices.Clone(d.Sections), func(s Section) bool { return s.Data })
}

// parts returns the sections that stand before the facts of a document, and
// those behind them.
func (d *Document) parts() (front, rest []Section) {
	for _, s := range d.pages() {
		if s.Front {
			front = append(front, s)
		} else {
			rest = append(rest, s)
		}
	}
	return front, rest
}

// Block is one of Paragraph, List, Facts, *Table and *Figure.
type Block interface{ block() }

// Paragraph is a paragraph of running text.
type Paragraph string

// List is a bulleted list.
type List []string

// Facts is a list of names with their values.
type Facts []Fact

// AsOf is the name of the fact that stands at the foot of every printed page,
// beside the title: the day that the document speaks of.
const AsOf = "As of"

// Fact is a named value.
type Fact struct{ Name, Value string }

// line writes facts beside each other.
func (f Facts) line() string {
	var parts []string
	for _, x := range f {
		parts = append(parts, Clean(x.Name)+" "+Clean(x.Value))
	}
	return strings.Join(parts, " · ")
}

// asOf returns the day that the document speaks of, "" if it does not say.
func (d *Document) asOf() string {
	for _, f := range slices.Concat(d.Facts, d.About) {
		if f.Name == AsOf {
			return f.Value
		}
	}
	return ""
}

// Table has a heading row and a cell for every column in every row.
type Table struct {
	Caption string
	Columns []Column
	Rows    []Row
	// More says what a shortened table leaves out and how to see it.
	More string
	// Sign tables are filled in by hand: their rows have room to write in print.
	Sign bool
}

// Column is the heading of a column.
type Column struct {
	Name  string
	Unit  string // "", or what stands below the name: "years", "km"
	Right bool   // figures: aligned to the right
	// Wide columns hold sentences and may be broken into lines.
	Wide bool
	// Whole columns stay on one line on paper and on wide screens, where a cell is no longer
	// than a name may be.
	Whole bool
	// Key columns name the row; where none is set the first column does.
	Key bool
	// Decides is set of the column that the reader decides by, or that the rows
	// are ranked by: where there is little room it stands with the keys.
	Decides bool
}

// Row is one row of a table.
type Row struct {
	Anchor string // for links to the row; "" for none
	Cells  []Cell
}

// Cell is one cell of a table.
type Cell struct {
	Text string
	// Value is the value itself where Text is rounded or formatted: a
	// float64, int or a date; nil where the text is all.
	Value any
	Link  string // anchor in the same document; "" for none
}

// Figure is a drawing with what it shows in words.
type Figure struct {
	SVG string // a whole <svg> element
	// Alt says what the drawing shows, for those who cannot see it; it may
	// have several lines.
	Alt     string
	Caption string
	Key     string // explains the symbols, where the drawing is shown
}

func (Paragraph) block() {}
func (List) block()      {}
func (Facts) block()     {}
func (*Table) block()    {}
func (*Figure) block()   {}

// keys reports which columns name the row.
func (t *Table) keys() []bool {
	keys := make([]bool, len(t.Columns))
	any := false
	for j, c := range t.Columns {
		keys[j] = c.Key
		any = any || c.Key
	}
	if !any && len(keys) > 0 {
		keys[0] = true
	}
	return keys
}
