package exchange

import (
	"bytes"
	"cmp"
	"math"
	"path"
	"strconv"
	"strings"

	"github.com/sourcegraph/conc"
)

// readXLSX reads the sheets of a workbook of Office Open XML (ISO/IEC 29500),
// in their order.
func readXLSX(p *parts) ([]sheet, error) {
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
		return nil, errNoSheets
	}
	relations, err := relationsOf(p, book)
	if err != nil {
		return nil, err
	}
	x, err := sharedIn(p, relations)
	if err != nil {
		return nil, err
	}
	var sheets []sheet
	for _, e := range x.entries(raw, relations) {
		raw, err := p.read(e.part)
		if err != nil {
			return nil, err
		}
		if raw == nil || !strings.Contains(e.part, "sheet") {
			continue // a chart, or a part that is missing
		}
		s, err := x.sheet(e.name, raw)
		if err != nil {
			return nil, err
		}
		s.from1904, s.hidden = x.from1904, e.hidden
		sheets = append(sheets, s)
	}
	if len(sheets) == 0 {
		return nil, errNoSheets
	}
	return sheets, nil
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
}

// sharedIn reads the strings and the looks of a workbook.
func sharedIn(p *parts, relations []relation) (*xlsx, error) {
	var shared, styled string
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
	x.readStrings(raw)
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
func (x *xlsx) readStrings(raw []byte) {
	var b strings.Builder
	var runs struckRuns
	aid, in := 0, false
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
				x.strings = append(x.strings, b.String())
			}
			b.Reset()
			runs = struckRuns{}
		case m.name == "rPh":
			aid += m.deeper()
		case m.name == "t":
			in = m.open && !m.close
		}
	}
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
func (x *xlsx) sheet(name string, raw []byte) (sheet, error) {
	upper, lower := halves(raw)
	b := &builder{sheet: sheet{name: name}}
	rest := &builder{}
	var merged, more []span
	var err, restErr error
	var both conc.WaitGroup
	if lower != nil {
		both.Go(func() { more, restErr = x.rows(rest, lower) })
	}
	merged, err = x.rows(b, upper)
	both.Wait()
	if err = cmp.Or(err, restErr); err != nil {
		return sheet{}, err
	}
	if err := b.add(rest.filled, rest.cells); err != nil {
		return sheet{}, err
	}
	b.rows, b.unstored = append(b.rows, rest.rows...), append(b.unstored, rest.unstored...)
	return b.finish(append(merged, more...))
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

// rows reads the rows of a sheet or of a part of it, and the ranges that are merged.
func (x *xlsx) rows(b *builder, raw []byte) (merged []span, err error) {
	r := xlsxReader{xlsx: x, b: b, column: -1}
	for m := (markup{data: raw}); m.next(); {
		r.runs.element(&m)
		if m.isText {
			r.text(&m)
		} else if err := r.element(&m); err != nil {
			return nil, err
		}
	}
	return r.merged, nil
}

// xlsxReader is a sheet, or a part of one, on its way from its elements to rows.
type xlsxReader struct {
	*xlsx
	b      *builder
	merged []span

	r            *row // nil above the first
	line, column int

	// of the cell
	kind            string
	style           int
	value           []byte
	inline          strings.Builder
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
		r.inline.WriteString(m.text())
	}
}

// element takes an element that begins, ends or does both.
func (r *xlsxReader) element(m *markup) error {
	switch m.name {
	case "row":
		if m.open {
			if r.line = m.count("r", r.line+1); r.line < 1 || r.line > 1<<20 {
				return errTooBig
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
	r.inline.Reset()
	r.formula, r.stored, r.runs = false, false, struckRuns{}
}

// endCell puts the cell into its row. The first cell that has anything says how the row looks.
func (r *xlsxReader) endCell() error {
	if r.formula && len(r.value) == 0 && !(r.stored && r.kind == "str") {
		r.b.unstored = append(r.b.unstored, place{r.line, r.column})
	}
	if err := r.b.put(r.r, r.column, r.cell(r.kind, r.style, r.value, r.inline.String())); err != nil {
		return err
	}
	if !r.r.single() {
		return nil
	}
	if r.style > 0 && r.style < len(r.looks) {
		r.r.struck = r.r.struck || r.looks[r.style].struck
		r.r.coloured = r.r.coloured || r.looks[r.style].coloured
	}
	if r.runs.all() || r.crossed != nil && r.kind == "s" && r.crossed[whole(string(r.value), -1)] {
		r.r.struck = true
	}
	return nil
}

func (x *xlsx) cell(kind string, style int, value []byte, inline string) cell {
	switch kind {
	case "s":
		k, err := strconv.Atoi(string(bytes.TrimSpace(value)))
		if err != nil || k < 0 || k >= len(x.strings) {
			return cell{}
		}
		return textCell(x.strings[k])
	case "inlineStr":
		return textCell(inline)
	case "str", "e":
		return textCell(unescape(value))
	case "b":
		if strings.TrimSpace(string(value)) == "1" {
			return textCell("TRUE")
		}
		return textCell("FALSE")
	case "d":
		s := unescape(value)
		if d, ok := isoDay(s[:min(len(s), 10)]); ok {
			return dayCell(d)
		}
		return textCell(s)
	}
	s := strings.TrimSpace(string(value))
	if s == "" {
		return cell{}
	}
	n, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(n) || math.IsInf(n, 0) {
		return textCell(unescape(value))
	}
	var l look
	if style >= 0 && style < len(x.looks) {
		l = x.looks[style]
	}
	if l.dated {
		if d, ok := countedDay(n, x.from1904); ok {
			return dayCell(d)
		}
	}
	return cell{text: l.show(n), num: n, kind: number}
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
	for ; i < len(name) && i < 4 && isLetter(name[i]); i++ {
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
func rangeName(s string) (span, bool) {
	from, to, ok := strings.Cut(strings.ReplaceAll(s, "$", ""), ":")
	if !ok {
		return span{}, false
	}
	left, top, ok1 := cellName(from)
	right, bottom, ok2 := cellName(to)
	return span{left, top, right, bottom}, ok1 && ok2
}
