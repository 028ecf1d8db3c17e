package sheets

import (
	"bytes"
	"cmp"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/sourcegraph/conc"
)

// openXLSX finds the sheets of a workbook of Office Open XML (ISO/IEC 29500), and reads what
// they share.
func openXLSX(p *parts, most Bounds) (*Book, error) {
	book := "xl/workbook.xml"
	outer, err := relationsOf(p, "")
	if err != nil {
		return nil, err
	}
	for _, r := range outer {
		if r.is("officeDocument") {
			book = r.target
		}
	}
	raw, err := p.read(book)
	if err != nil {
		return nil, err
	}
	if raw == nil {
		return nil, ErrNoSheets
	}
	relations, err := relationsOf(p, book)
	if err != nil {
		return nil, err
	}
	x, err := sharedIn(p, relations)
	if err != nil {
		return nil, err
	}
	x.most = most
	entries := slices.DeleteFunc(x.entries(raw, relations), func(e sheetEntry) bool { return !strings.Contains(e.part, "sheet") }) // charts, and what is nowhere
	if len(entries) == 0 {
		return nil, ErrNoSheets
	}
	b := &Book{Format: "xlsx", From1904: x.from1904}
	for _, e := range entries {
		b.Names = append(b.Names, e.name)
	}
	b.read = func(k int) (Sheet, error) {
		raw, err := p.read(entries[k].part)
		switch {
		case err != nil:
			return Sheet{}, err
		case raw == nil:
			return Sheet{}, errMissing
		}
		s, err := x.sheet(entries[k].name, raw)
		s.Hidden = entries[k].hidden
		return s, err
	}
	return b, nil
}

// relation leads from one part of a workbook to another.
type relation struct{ id, kind, target string }

// is reports whether a relation is of a kind; the rest of its name differs by the edition
// of the standard.
func (r relation) is(kind string) bool { return strings.HasSuffix(r.kind, "/"+kind) }

// relationsOf returns the relations of a part, those of the whole workbook for "".
func relationsOf(p *parts, part string) ([]relation, error) {
	dir, name := path.Split(part)
	raw, err := p.read(path.Join(dir, "_rels", name+".rels"))
	if err != nil {
		return nil, err
	}
	var out []relation
	for m := (markup{data: raw}); m.next(); {
		if m.name != "Relationship" || !m.open {
			continue
		}
		id, _ := m.attr("Id")
		kind, _ := m.attr("Type")
		target, _ := m.attr("Target")
		if strings.HasPrefix(target, "/") {
			target = path.Clean(target[1:])
		} else {
			target = path.Join(dir, target)
		}
		out = append(out, relation{id, kind, target})
	}
	return out, nil
}

// xlsx is what the sheets of a workbook share.
type xlsx struct {
	strings  []string
	crossed  map[int]bool // the numbers of those whose letters are all struck through
	looks    []look       // by style
	from1904 bool
	most     Bounds
}

// sharedIn reads the strings and the looks of a workbook.
func sharedIn(p *parts, relations []relation) (*xlsx, error) {
	shared, styled := "xl/sharedStrings.xml", "xl/styles.xml" // where they stand that no relation leads to
	for _, r := range relations {
		switch {
		case r.is("sharedStrings"):
			shared = r.target
		case r.is("styles"):
			styled = r.target
		}
	}
	x := &xlsx{}
	raw, err := p.read(shared)
	if err != nil {
		return nil, err
	}
	if err := x.readStrings(raw); err != nil {
		return nil, err
	}
	if raw, err = p.read(styled); err != nil {
		return nil, err
	}
	x.readLooks(raw)
	return x, nil
}

// sheetEntry is a sheet as the workbook lists it.
type sheetEntry struct {
	name, part string
	hidden     bool
}

// entries reads which sheets a workbook has, and from when it counts its days.
func (x *xlsx) entries(book []byte, relations []relation) []sheetEntry {
	targets := make(map[string]string)
	for _, r := range relations {
		targets[r.id] = r.target
	}
	var out []sheetEntry
	for m := (markup{data: book}); m.next(); {
		switch {
		case m.name == "workbookPr" && m.open:
			v, _ := m.attr("date1904")
			x.from1904 = x.from1904 || v == "1" || v == "true"
		case m.name == "sheet" && m.open:
			name, _ := m.attr("name")
			id, _ := m.attr("id")
			state, _ := m.attr("state")
			out = append(out, sheetEntry{name, targets[id], state != "" && state != "visible"})
		}
	}
	return out
}

// readStrings reads the shared strings; the reading aids of Japanese text
// (rPh) are no part of them.
func (x *xlsx) readStrings(raw []byte) error {
	var b strings.Builder
	var runs struckRuns
	aid, depth, in := 0, 0, false
	for m := (markup{data: raw}); m.next(); {
		runs.element(&m)
		switch {
		case m.isText:
			if in && aid == 0 {
				b.WriteString(m.text())
			}
		case m.name == "si":
			if m.close {
				if runs.all() {
					if x.crossed == nil {
						x.crossed = make(map[int]bool)
					}
					x.crossed[len(x.strings)] = true
				}
				x.strings = append(x.strings, letters(b.String()))
			}
			b.Reset()
			runs = struckRuns{}
		case m.name == "sst":
			depth += m.deeper()
		case m.name == "rPh":
			aid += m.deeper()
		case m.name == "t":
			in = m.open && !m.close
		}
	}
	if depth != 0 {
		return errBreaksOff
	}
	return nil
}

// letters resolves the letters that XML cannot hold, written _x000D_ (ISO/IEC 29500-1,
// 22.9.2.19), and puts U+FFFD where there is none by UTF-8.
func letters(s string) string {
	if !utf8.ValidString(s) {
		s = strings.ToValidUTF8(s, "\uFFFD")
	}
	at := strings.Index(s, "_x")
	if at < 0 {
		return s
	}
	var out []byte
	for ; at >= 0; at = strings.Index(s, "_x") {
		out, s = append(out, s[:at]...), s[at:]
		if n, err := strconv.ParseUint(s[2:min(len(s), 6)], 16, 16); err == nil && len(s) > 6 && s[6] == '_' {
			out, s = utf8.AppendRune(out, rune(n)), s[7:]
		} else {
			out, s = append(out, s[:2]...), s[2:]
		}
	}
	return string(append(out, s...))
}

// struckRuns tells whether all runs of letters of a cell are struck through: its style says
// nothing where somebody crossed out its letters and not the cell.
type struckRuns struct {
	runs, struck int
	in           bool // one that is struck through was begun
}

func (s *struckRuns) element(m *markup) {
	switch {
	case m.isText || !m.open:
	case m.name == "r":
		s.runs++
		s.in = false
	case m.name == "strike" && !s.in && s.runs > 0:
		if v, given := m.attr("val"); !given || v == "1" || v == "true" {
			s.struck++
			s.in = true
		}
	}
}

func (s *struckRuns) all() bool { return s.runs > 0 && s.runs == s.struck }

// sheet reads one sheet, a long one in halves.
func (x *xlsx) sheet(name string, raw []byte) (Sheet, error) {
	upper, lower := halves(raw)
	b := &builder{Sheet: Sheet{Name: name}, most: x.most}
	rest := &builder{most: x.most}
	var above, below xlsxReader
	var err, restErr error
	var both conc.WaitGroup
	if lower != nil {
		both.Go(func() { below, restErr = x.rows(rest, lower) })
	}
	above, err = x.rows(b, upper)
	both.Wait()
	if err = cmp.Or(err, restErr); err != nil {
		return Sheet{}, err
	}
	if above.depth+below.depth != 0 {
		return Sheet{}, errBreaksOff
	}
	if err := b.add(rest.filled, rest.cells); err != nil {
		return Sheet{}, err
	}
	b.Rows, b.Unstored = append(b.Rows, rest.Rows...), append(b.Unstored, rest.Unstored...)
	return b.finish(append(above.merged, below.merged...)), nil
}

// halves cuts a long sheet before a row in its middle that gives its own number, so
// that what stands below can be read without what stands above; lower is nil where that
// cannot be.
func halves(raw []byte) (upper, lower []byte) {
	const long = 1 << 20                                      // bytes
	if len(raw) < long || bytes.Contains(raw, []byte("<!")) { // of which a row may be a part
		return raw, nil
	}
	middle := len(raw) / 2
	at := bytes.Index(raw[middle:], []byte(`<row r="`))
	if at < 0 {
		return raw, nil
	}
	return raw[:middle+at], raw[middle+at:]
}

// rows reads the rows of a sheet or of a part of it.
func (x *xlsx) rows(b *builder, raw []byte) (xlsxReader, error) {
	r := xlsxReader{xlsx: x, b: b, column: -1}
	for m := (markup{data: raw}); m.next(); {
		r.runs.element(&m)
		if m.isText {
			r.text(&m)
		} else if err := r.element(&m); err != nil {
			return r, err
		}
	}
	return r, nil
}

// xlsxReader is a sheet, or a part of one, on its way from its elements to rows.
type xlsxReader struct {
	*xlsx
	b      *builder
	merged []Span
	depth  int // in the element of all rows, at the end of the whole 0

	r            *Row // nil above the first
	line, column int

	// of the cell
	kind            string
	style           int
	value           []byte
	inline          []byte
	formula, stored bool
	runs            struckRuns

	inValue, inText bool
	aid             int // how deep in a reading aid
}

func (r *xlsxReader) text(m *markup) {
	switch {
	case r.inValue:
		r.value = append(r.value, m.raw...)
	case r.inText && r.aid == 0:
		r.inline = m.appendText(r.inline)
	}
}

// element takes an element that begins, ends or does both.
func (r *xlsxReader) element(m *markup) error {
	switch m.name {
	case "sheetData":
		r.depth += m.deeper()
	case "row":
		if m.open {
			if r.line = m.count("r", r.line+1); r.line < 1 || r.line > 1<<20 {
				return ErrTooLarge
			}
			r.r, r.column = r.b.row(r.line), -1
		}
	case "c":
		if m.open {
			r.beginCell(m.attrs)
		}
		if m.close && r.r != nil {
			return r.endCell()
		}
	case "v":
		r.inValue = m.open && !m.close
		r.stored = r.stored || m.open
	case "f":
		r.formula = r.formula || m.open
	case "t":
		r.inText = m.open && !m.close
	case "rPh":
		r.aid += m.deeper()
	case "mergeCell":
		if ref, ok := m.attr("ref"); ok && m.open {
			if s, ok := rangeName(ref); ok {
				r.merged = append(r.merged, s)
			}
		}
	}
	return nil
}

func (r *xlsxReader) beginCell(attrs []byte) {
	if r.r == nil {
		r.r = r.b.row(1)
	}
	r.column++
	r.kind, r.style = "", 0
	for {
		name, is, ok := nextAttr(&attrs)
		if !ok {
			break
		}
		switch string(name) {
		case "r":
			if at, ok := cellColumn(is); ok {
				r.column = at
			}
		case "t":
			r.kind = cellKind(is)
		case "s":
			r.style = whole(string(is), 0)
		}
	}
	r.value = r.value[:0]
	r.inline = r.inline[:0]
	r.formula, r.stored, r.runs = false, false, struckRuns{}
}

// endCell puts the cell into its row. The first cell that has anything says how the row looks.
func (r *xlsxReader) endCell() error {
	if r.formula && len(r.value) == 0 && !(r.stored && r.kind == "str") {
		r.b.Unstored = append(r.b.Unstored, Place{r.line, r.column})
	}
	if err := r.b.put(r.r, r.column, r.cell(r.kind, r.style, r.value, r.inline)); err != nil {
		return err
	}
	if !r.r.Single() {
		return nil
	}
	if r.style > 0 && r.style < len(r.looks) {
		r.r.Struck = r.r.Struck || r.looks[r.style].struck
		r.r.Coloured = r.r.Coloured || r.looks[r.style].coloured
	}
	if r.runs.all() || r.crossed != nil && r.kind == "s" && r.crossed[whole(string(r.value), -1)] {
		r.r.Struck = true
	}
	return nil
}

func (x *xlsx) cell(kind string, style int, value []byte, inline []byte) Cell {
	switch kind {
	case "s":
		k, err := strconv.Atoi(string(bytes.TrimSpace(value)))
		if err != nil || k < 0 || k >= len(x.strings) {
			return Cell{}
		}
		return TextCell(x.strings[k])
	case "inlineStr":
		return TextCell(letters(string(inline)))
	case "str", "e":
		return TextCell(letters(unescape(value)))
	case "b":
		if strings.TrimSpace(string(value)) == "1" {
			return TextCell("TRUE")
		}
		return TextCell("FALSE")
	case "d":
		s := unescape(value)
		if d, ok := isoDay(s); ok {
			return DayCell(d)
		}
		return TextCell(s)
	}
	s := strings.TrimSpace(string(value))
	if s == "" {
		return Cell{}
	}
	n, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(n) || math.IsInf(n, 0) {
		return TextCell(unescape(value))
	}
	var l look
	if style >= 0 && style < len(x.looks) {
		l = x.looks[style]
	}
	if l.dated {
		if d, ok := CountedDay(n, x.from1904); ok {
			return DayCell(d)
		}
	}
	return Cell{Text: l.show(n), Num: n, Kind: Number}
}

// cellKind spares the commonest kinds of cells an allocation.
func cellKind(of []byte) string {
	switch string(of) {
	case "s":
		return "s"
	case "n":
		return "n"
	case "str":
		return "str"
	case "inlineStr":
		return "inlineStr"
	}
	return string(of)
}

// cellColumn reads the column of a cell's name, as C of C5.
func cellColumn(name []byte) (column int, ok bool) {
	i, line := 0, 0
	for ; i < len(name) && i < 4 && latin(name[i]); i++ {
		column = column*26 + int(name[i]&^0x20-'A') + 1
	}
	letters := i
	for ; i < len(name) && name[i] >= '0' && name[i] <= '9' && line <= 1<<20; i++ {
		line = line*10 + int(name[i]-'0')
	}
	return column - 1, letters > 0 && line > 0 && i == len(name)
}

// cellName reads the column and line of a cell's name, as C5.
func cellName(s string) (column, line int, ok bool) {
	column, ok = cellColumn([]byte(s))
	line, err := strconv.Atoi(strings.TrimLeftFunc(s, func(c rune) bool { return c > '9' }))
	return column, line, ok && err == nil
}

// rangeName reads the name of a range, as A1:C1.
func rangeName(s string) (Span, bool) {
	from, to, ok := strings.Cut(strings.ReplaceAll(s, "$", ""), ":")
	if !ok {
		return Span{}, false
	}
	left, top, ok1 := cellName(from)
	right, bottom, ok2 := cellName(to)
	return Span{left, top, right, bottom}, ok1 && ok2
}

// cellNameOf is the name of a cell, as C5.
func cellNameOf(column, line int) string {
	letters := ""
	for n := column + 1; n > 0; n = (n - 1) / 26 {
		letters = string(rune('A'+(n-1)%26)) + letters
	}
	return letters + strconv.Itoa(line)
}

func latin(c byte) bool { return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' }
