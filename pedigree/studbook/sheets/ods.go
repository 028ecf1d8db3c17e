package sheets

import (
	"bytes"
	"math"
	"slices"
	"strconv"
)

// openODS reads the sheets of an OpenDocument spreadsheet (ISO/IEC 26300), which stand in one
// part.
func openODS(p *parts, most Bounds) (*Book, error) {
	if raw, err := p.read("META-INF/manifest.xml"); err == nil && bytes.Contains(raw, []byte("encryption-data")) {
		return nil, ErrLocked
	}
	raw, err := p.read("content.xml")
	if err != nil {
		return nil, err
	}
	o := &odsReader{most: most, struck: make(map[string]bool)}
	aside := 0 // how deep in what is no part of a cell
	for m := (markup{data: raw}); m.next(); {
		if m.isText {
			if o.inText && aside == 0 && o.b != nil {
				o.text = m.appendText(o.text)
			}
			continue
		}
		switch m.name {
		case "annotation", "shapes", "tracked-changes":
			aside += m.deeper()
		}
		if aside > 0 {
			continue
		}
		if err := o.element(&m); err != nil {
			return nil, err
		}
	}
	switch {
	case o.depth != 0:
		return nil, errBreaksOff
	case len(o.sheets) == 0:
		return nil, ErrNoSheets
	}
	b := &Book{Format: "ods", read: func(k int) (Sheet, error) { return o.sheets[k], nil }}
	for _, s := range o.sheets {
		b.Names = append(b.Names, s.Name)
	}
	return b, nil
}

// odsReader is a spreadsheet on its way from its elements to sheets.
type odsReader struct {
	most   Bounds
	sheets []Sheet

	b       *builder // of the sheet that is being read; nil outside
	depth   int      // of tables in tables
	merged  []Span
	r       *Row // nil outside
	line    int
	repeats int // how often the row stands there
	column  int

	c          odsCell
	text       []byte // shown in the cell
	paragraphs int
	inText     bool

	style  string          // the one that is being read
	struck map[string]bool // the styles of cells that are struck through
}

// element takes an element that begins, ends or does both.
func (o *odsReader) element(m *markup) error {
	switch m.name {
	case "style":
		if m.open {
			o.style, _ = m.attr("name")
		}
	case "text-properties":
		if line, ok := m.attr("text-line-through-style"); ok && m.open && line != "none" && o.depth == 0 {
			o.struck[o.style] = true
		}
	case "table":
		return o.table(m)
	case "table-row":
		if o.b == nil || o.depth != 1 {
			break
		}
		if m.open {
			o.line++
			o.repeats = max(1, m.count("number-rows-repeated", 1))
			o.r, o.column = o.b.row(o.line), 0
		}
		if m.close && o.r != nil {
			return o.endRow()
		}
	case "table-cell", "covered-table-cell":
		if o.r == nil || o.depth != 1 {
			break
		}
		if m.open {
			o.c = readODSCell(m.attrs)
			if o.c.across > 1 || o.c.down > 1 {
				o.merged = append(o.merged, Span{o.column, o.line, o.column + min(o.c.across, o.most.Columns) - 1, o.line + min(o.c.down, 1<<20) - 1})
			}
			o.text, o.paragraphs = o.text[:0], 0
		}
		if m.close {
			return o.endCell(m.name == "covered-table-cell")
		}
	default:
		o.shown(m)
	}
	return nil
}

// table begins or ends a sheet, or a table in one, which is left out.
func (o *odsReader) table(m *markup) error {
	switch {
	case m.open && !m.close:
		if o.depth++; o.depth == 1 {
			name, _ := m.attr("name")
			o.b, o.merged, o.r, o.line, o.repeats = &builder{Sheet: Sheet{Name: name}, most: o.most}, nil, nil, 0, 1
		}
	case !m.open && o.depth > 0:
		if o.depth--; o.depth == 0 && o.b != nil {
			o.sheets, o.b = append(o.sheets, o.b.finish(o.merged)), nil
		}
	}
	return nil
}

// endRow keeps a row that has cells as often as it stands there.
func (o *odsReader) endRow() error {
	b := o.b
	if len(o.r.Cells) == 0 {
		b.Rows = b.Rows[:len(b.Rows)-1]
	} else {
		first := *o.r
		for k := 1; k < o.repeats; k++ {
			if err := b.add(1, len(first.Cells)); err != nil {
				return err
			}
			b.Rows = append(b.Rows, Row{Line: o.line + k, Cells: slices.Clone(first.Cells), Struck: first.Struck})
		}
	}
	o.line += o.repeats - 1
	if o.line > 1<<24 {
		return ErrTooLarge
	}
	o.r = nil
	return nil
}

// endCell puts the cell into its row, as often as it stands there.
func (o *odsReader) endCell(covered bool) error {
	c := &o.c
	if shown := TextCell(string(o.text)); shown.Kind != Blank {
		if c.Kind == Blank {
			c.Kind = Words
		}
		if c.Kind != Day {
			c.Text = shown.Text
		}
	} else if c.Kind == Number {
		c.Text = numberText(c.Num)
	} else if c.Kind == Blank && c.computed {
		o.b.Unstored = append(o.b.Unstored, Place{o.line, o.column})
	}
	if covered {
		c.Cell = Cell{} // what a merged range hides
	}
	if c.Kind != Blank {
		o.r.Struck = o.r.Struck || len(c.style) > 0 && o.struck[string(c.style)] && o.r.Used() == 0
		for k := 0; k < c.repeat && o.column+k < o.most.Columns; k++ {
			if err := o.b.put(o.r, o.column+k, c.Cell); err != nil {
				return err
			}
		}
	}
	o.column = min(o.column+c.repeat, 1<<20)
	return nil
}

// shown takes what stands in a cell besides its letters.
func (o *odsReader) shown(m *markup) {
	switch m.name {
	case "p":
		o.inText = m.open && !m.close
		if m.open {
			if o.paragraphs++; o.paragraphs > 1 {
				o.text = append(o.text, '\n')
			}
		}
	case "s":
		if m.open {
			for range min(max(1, m.count("c", 1)), 100) {
				o.text = append(o.text, ' ')
			}
		}
	case "tab", "line-break":
		if m.open {
			o.text = append(o.text, ' ')
		}
	}
}

// odsCell is a cell of an OpenDocument spreadsheet as its attributes have it.
type odsCell struct {
	Cell
	repeat, across, down int
	computed             bool // it has a formula, and nothing says that it came to a blank
	style                []byte
}

// readODSCell reads the attributes of a cell.
func readODSCell(attrs []byte) odsCell {
	c := odsCell{repeat: 1, across: 1, down: 1}
	count := func(value []byte) int {
		n, err := strconv.Atoi(string(value))
		if err != nil {
			return 1
		}
		return max(1, n)
	}
	var kind, amount, date, truth, text []byte
	for {
		name, value, ok := nextAttr(&attrs)
		if !ok {
			break
		}
		switch string(name) {
		case "value-type":
			if kind == nil { // another of the same name is of an older program
				kind = value
			}
		case "style-name":
			c.style = value
		case "value":
			amount = value
		case "date-value":
			date = value
		case "boolean-value":
			truth = value
		case "string-value":
			text = value
		case "formula":
			c.computed = true
		case "number-columns-repeated":
			c.repeat = count(value)
		case "number-columns-spanned":
			c.across = count(value)
		case "number-rows-spanned":
			c.down = count(value)
		}
	}
	c.computed = c.computed && kind == nil
	switch string(kind) {
	case "float", "currency", "percentage":
		if n, err := strconv.ParseFloat(string(amount), 64); err == nil && !math.IsNaN(n) && !math.IsInf(n, 0) {
			c.Cell = Cell{Num: n, Kind: Number}
		}
	case "date":
		if d, ok := isoDay(string(date)); ok {
			c.Cell = DayCell(d)
		}
	case "boolean":
		c.Cell = Cell{Text: "FALSE", Kind: Words}
		if string(truth) == "true" {
			c.Text = "TRUE"
		}
	case "string":
		if text != nil {
			c.Cell = TextCell(unescape(text))
		}
	}
	return c
}
