package exchange

import (
	"archive/zip"
	"bytes"
	"cmp"
	"errors"
	"io"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"pairwright/pedigree/studbook"
)

// Workbooks are read here and not with the library that writes them: that
// takes 24 s for the values and the looks of 100,000 rows of ten cells, and
// does not fill merged cells.

// mostUnzipped bounds what the parts of a workbook may grow to.
const mostUnzipped = 1 << 27

// parts are the files inside a zipped file.
type parts struct {
	files map[string]*zip.File
	names []string
	left  int64
}

func openParts(raw []byte) (*parts, error) {
	z, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	if err != nil {
		return nil, err
	}
	p := &parts{files: make(map[string]*zip.File), left: mostUnzipped}
	for _, f := range z.File {
		name := strings.TrimPrefix(strings.ReplaceAll(f.Name, `\`, "/"), "/")
		if p.files[name] == nil {
			p.files[name] = f
			p.names = append(p.names, name)
		}
	}
	return p, nil
}

// read unpacks a part, nil if there is none of this name.
func (p *parts) read(name string) ([]byte, error) {
	f := p.files[name]
	if f == nil {
		return nil, nil
	}
	if f.UncompressedSize64 > uint64(p.left) {
		return nil, errTooBig // by its own word, so nothing is unpacked
	}
	r, err := f.Open()
	if err != nil {
		return nil, err
	}
	defer r.Close()
	var b bytes.Buffer
	if size := int64(f.UncompressedSize64); size > 0 && size < p.left && size < 1<<26+256*int64(f.CompressedSize64) { // where a few bytes claim much, it is not believed
		b.Grow(int(size) + bytes.MinRead)
	}
	n, err := io.Copy(&b, io.LimitReader(r, p.left+1))
	if p.left -= n; p.left < 0 {
		return nil, errTooBig
	}
	if err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

var errNoSheets = errors.New("it has no sheets")

// readXLSX reads the sheets of a workbook of Office Open XML (ISO/IEC 29500),
// in their order.
func readXLSX(p *parts) ([]sheet, error) {
	book := "xl/workbook.xml"
	if rels, err := p.read("_rels/.rels"); err != nil {
		return nil, err
	} else if rels != nil {
		for m := (markup{data: rels}); m.next(); {
			if m.name != "Relationship" || !m.open {
				continue
			}
			kind, _ := m.attr("Type")
			if target, ok := m.attr("Target"); ok && strings.HasSuffix(kind, "/officeDocument") {
				book = strings.TrimPrefix(path.Clean(target), "/")
			}
		}
	}
	raw, err := p.read(book)
	if err != nil {
		return nil, err
	}
	if raw == nil {
		return nil, errNoSheets
	}
	dir := path.Dir(book)
	targets := make(map[string]string)
	rels, err := p.read(path.Join(dir, "_rels", path.Base(book)+".rels"))
	if err != nil {
		return nil, err
	}
	var shared, styled string
	for m := (markup{data: rels}); m.next(); {
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
		targets[id] = target
		switch {
		case strings.HasSuffix(kind, "/sharedStrings"):
			shared = target
		case strings.HasSuffix(kind, "/styles"):
			styled = target
		}
	}
	x := &xlsx{}
	if raw, err := p.read(shared); err != nil {
		return nil, err
	} else if raw != nil {
		x.readStrings(raw)
	}
	if raw, err := p.read(styled); err != nil {
		return nil, err
	} else if raw != nil {
		x.readLooks(raw)
	}
	type entry struct {
		name, part string
		hidden     bool
	}
	var entries []entry
	for m := (markup{data: raw}); m.next(); {
		switch {
		case m.name == "workbookPr" && m.open:
			if v, _ := m.attr("date1904"); v == "1" || v == "true" {
				x.from1904 = true
			}
		case m.name == "sheet" && m.open:
			name, _ := m.attr("name")
			id, _ := m.attr("id")
			state, _ := m.attr("state")
			entries = append(entries, entry{name, targets[id], state != "" && state != "visible"})
		}
	}
	var sheets []sheet
	for _, e := range entries {
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

// xlsx is what the sheets of a workbook share.
type xlsx struct {
	strings  []string
	crossed  map[int]bool // the numbers of those whose letters are all struck through
	looks    []look       // by style
	from1904 bool
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
		case m.name == "rPh" && !(m.open && m.close):
			if m.open {
				aid++
			} else {
				aid--
			}
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

// readLooks reads the number format of each style of cells.
func (x *xlsx) readLooks(raw []byte) {
	formats := make(map[int]string)
	inCells := false
	var struck, coloured []bool // by font and by fill
	for m := (markup{data: raw}); m.next(); {
		switch {
		case m.name == "font" && m.open:
			struck = append(struck, false)
		case m.name == "strike" && m.open && len(struck) > 0:
			v, given := m.attr("val")
			struck[len(struck)-1] = !given || v == "1" || v == "true"
		case m.name == "fill" && m.open:
			coloured = append(coloured, false)
		case m.name == "fgColor" && m.open && len(coloured) > 0:
			rgb, given := m.attr("rgb")
			coloured[len(coloured)-1] = given && !strings.HasSuffix(rgb, "FFFFFF") || m.count("theme", 0) > 0
		case m.name == "dxfs" && m.open && !m.close:
			return // looks of conditions; those of cells stand before
		case m.name == "numFmt" && m.open:
			code, _ := m.attr("formatCode")
			formats[m.count("numFmtId", -1)] = code
		case m.name == "cellXfs":
			inCells = m.open && !m.close
		case m.name == "xf" && m.open && inCells:
			id := m.count("numFmtId", 0)
			var l look
			if code, ok := formats[id]; ok {
				l = lookOf(code)
			} else {
				// The built-in formats of dates: ECMA-376 part 1, 18.8.30.
				l.dated = id >= 14 && id <= 22 || id >= 27 && id <= 36 || id >= 50 && id <= 58
			}
			if font := m.count("fontId", 0); font >= 0 && font < len(struck) {
				l.struck = struck[font]
			}
			if fill := m.count("fillId", 0); fill >= 0 && fill < len(coloured) {
				l.coloured = coloured[fill]
			}
			x.looks = append(x.looks, l)
		}
	}
}

// look is how a number format shows numbers, as far as that can be part of an
// id: as dates, or as digits filled with zeros between fixed characters.
type look struct {
	dated    bool
	struck   bool
	coloured bool
	digits   string // the part of the format for positive numbers, "" if it is shown plainly
}

func lookOf(code string) look {
	var l look
	positive, _, _ := strings.Cut(code, ";")
	var plain strings.Builder // '0' and '#', and after a backslash what is fixed
	usable, zeros := true, 0
	for i := 0; i < len(positive); i++ {
		switch c := positive[i]; c {
		case '"':
			end := strings.IndexByte(positive[i+1:], '"')
			if end < 0 {
				end = len(positive) - i - 1
			}
			for _, b := range []byte(positive[i+1 : i+1+end]) {
				plain.WriteByte('\\')
				plain.WriteByte(b)
			}
			i += end + 1
		case '[':
			end := strings.IndexByte(positive[i:], ']')
			if end < 0 {
				usable = false
				end = 0
			}
			i += end
		case '\\':
			if i++; i < len(positive) {
				plain.WriteByte('\\')
				plain.WriteByte(positive[i])
			}
		case '_', '*':
			i++ // a space as wide as the next character, and a filler
		case '0', '#':
			plain.WriteByte(c)
			if c == '0' {
				zeros++
			}
		case 'y', 'Y', 'd', 'D':
			l.dated = true
		case '-', ' ', '/', '(', ')', ':', '+':
			plain.WriteByte('\\')
			plain.WriteByte(c)
		default:
			usable = false
		}
	}
	if s := plain.String(); usable && !l.dated && (zeros > 1 || zeros == 1 && len(s) > 1) {
		l.digits = s
	}
	return l
}

// show fills a whole number into a format of zeros.
func (l look) show(x float64) string {
	if l.digits == "" || x < 0 || x != math.Trunc(x) || x >= 1e15 {
		return numberText(x)
	}
	digits := strconv.FormatFloat(x, 'f', 0, 64)
	var out []byte
	for i := len(l.digits) - 1; i >= 0; i-- {
		switch c := l.digits[i]; {
		case i > 0 && l.digits[i-1] == '\\':
			out = append(out, c)
			i--
		case len(digits) > 0:
			out = append(out, digits[len(digits)-1])
			digits = digits[:len(digits)-1]
			if !strings.ContainsAny(l.digits[:i], "0#") || placesLeft(l.digits[:i]) == 0 {
				for k := len(digits) - 1; k >= 0; k-- {
					out = append(out, digits[k])
				}
				digits = ""
			}
		case c == '0':
			out = append(out, '0')
		}
	}
	for i, j := 0, len(out)-1; i < j; i, j = i+1, j-1 {
		out[i], out[j] = out[j], out[i]
	}
	return string(out)
}

// placesLeft counts the places for digits in the beginning of a format.
func placesLeft(s string) int {
	n := 0
	for i := 0; i < len(s); i++ {
		switch s[i] {
		case '\\':
			i++
		case '0', '#':
			n++
		}
	}
	return n
}

// sheet reads one sheet, a long one in halves.
func (x *xlsx) sheet(name string, raw []byte) (sheet, error) {
	upper, lower := halves(raw)
	b := &builder{sheet: sheet{name: name}}
	rest := &builder{}
	var merged, more []span
	var err, restErr error
	var both sync.WaitGroup
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
	var r *row
	line, column := 0, -1
	kind, style := "", 0
	var value []byte
	var inline strings.Builder
	inValue, inText, aid := false, false, 0
	formula, stored := false, false // of the cell
	var runs struckRuns
	for m := (markup{data: raw}); m.next(); {
		runs.element(&m)
		if m.isText {
			switch {
			case inValue:
				value = append(value, m.raw...)
			case inText && aid == 0:
				inline.WriteString(m.text())
			}
			continue
		}
		switch m.name {
		case "row":
			if m.open {
				if line = m.count("r", line+1); line < 1 || line > 1<<20 {
					return nil, errTooBig
				}
				r, column = b.row(line), -1
			}
		case "c":
			if m.open {
				if r == nil {
					r = b.row(1)
				}
				column++
				kind, style = "", 0
				for list := m.attrs; ; {
					name, is, ok := nextAttr(&list)
					if !ok {
						break
					}
					switch string(name) {
					case "r":
						if at, ok := cellColumn(is); ok {
							column = at
						}
					case "t":
						kind = cellKind(is)
					case "s":
						style = whole(string(is), 0)
					}
				}
				value = value[:0]
				inline.Reset()
				formula, stored = false, false
				runs = struckRuns{}
			}
			if m.close && r != nil {
				if formula && len(value) == 0 && !(stored && kind == "str") {
					b.unstored = append(b.unstored, place{line, column})
				}
				if err := b.put(r, column, x.cell(kind, style, value, inline.String())); err != nil {
					return nil, err
				}
				if style > 0 && style < len(x.looks) && r.used() == 1 {
					r.struck = r.struck || x.looks[style].struck
					r.coloured = r.coloured || x.looks[style].coloured
				}
				if (runs.all() || x.crossed != nil && kind == "s" && x.crossed[whole(string(value), -1)]) && r.used() == 1 {
					r.struck = true
				}
			}
		case "v":
			inValue = m.open && !m.close
			stored = stored || m.open
		case "f":
			formula = formula || m.open
		case "t":
			inText = m.open && !m.close
		case "rPh":
			if m.open && !m.close {
				aid++
			} else if !m.open {
				aid--
			}
		case "mergeCell":
			if ref, ok := m.attr("ref"); ok && m.open {
				if s, ok := rangeName(ref); ok {
					merged = append(merged, s)
				}
			}
		}
	}
	return merged, nil
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

func dayCell(d studbook.Day) cell { return cell{text: d.String(), num: float64(d), kind: day} }

// countedDay turns a spreadsheet's count of days into a day. Day 60 of the
// count from 1900 is a 29 February 1900 that never was, so from then on day n
// is n days after 1899-12-30; in the count from 1904 day 0 is 1904-01-01.
func countedDay(n float64, from1904 bool) (studbook.Day, bool) {
	if n < 0 || n >= 2_958_466 {
		return 0, false
	}
	whole := studbook.Day(n)
	switch {
	case from1904:
		return studbook.DayOf(1904, time.January, 1) + whole, true
	case whole == 0:
		return 0, false // a time of day
	case whole < 60:
		return studbook.DayOf(1899, time.December, 31) + whole, true
	}
	return studbook.DayOf(1899, time.December, 30) + whole, true
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

// readODS reads the sheets of an OpenDocument spreadsheet (ISO/IEC 26300).
func readODS(p *parts) ([]sheet, error) {
	if raw, err := p.read("META-INF/manifest.xml"); err == nil && bytes.Contains(raw, []byte("encryption-data")) {
		return nil, errLocked
	}
	raw, err := p.read("content.xml")
	if err != nil {
		return nil, err
	}
	o := &odsReader{struck: make(map[string]bool)}
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
			if m.open && !m.close {
				aside++
			} else if !m.open {
				aside--
			}
		}
		if aside > 0 {
			continue
		}
		if err := o.element(&m); err != nil {
			return nil, err
		}
	}
	if len(o.sheets) == 0 {
		return nil, errNoSheets
	}
	return o.sheets, nil
}

// odsReader is a spreadsheet on its way from its elements to sheets.
type odsReader struct {
	sheets []sheet

	b       *builder // of the sheet that is being read; nil outside
	depth   int      // of tables in tables
	merged  []span
	r       *row // nil outside
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
				o.merged = append(o.merged, span{o.column, o.line, o.column + min(o.c.across, mostColumns) - 1, o.line + min(o.c.down, 1<<20) - 1})
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
			o.b, o.merged, o.r, o.line, o.repeats = &builder{sheet: sheet{name: name}}, nil, nil, 0, 1
		}
	case !m.open && o.depth > 0:
		if o.depth--; o.depth == 0 && o.b != nil {
			s, err := o.b.finish(o.merged)
			if err != nil {
				return err
			}
			o.sheets, o.b = append(o.sheets, s), nil
		}
	}
	return nil
}

// endRow keeps a row that has cells as often as it stands there.
func (o *odsReader) endRow() error {
	b := o.b
	if len(o.r.cells) == 0 {
		b.rows = b.rows[:len(b.rows)-1]
	} else {
		first := *o.r
		for k := 1; k < o.repeats; k++ {
			if err := b.add(1, len(first.cells)); err != nil {
				return err
			}
			b.rows = append(b.rows, row{line: o.line + k, cells: slices.Clone(first.cells), struck: first.struck})
		}
	}
	o.line += o.repeats - 1
	if o.line > 1<<24 {
		return errTooBig
	}
	o.r = nil
	return nil
}

// endCell puts the cell into its row, as often as it stands there.
func (o *odsReader) endCell(covered bool) error {
	c := &o.c
	if shown := textCell(string(o.text)); shown.kind != blank {
		if c.kind == blank {
			c.kind = words
		}
		if c.kind != day {
			c.text = shown.text
		}
	} else if c.kind == number {
		c.text = numberText(c.num)
	} else if c.kind == blank && c.computed {
		o.b.unstored = append(o.b.unstored, place{o.line, o.column})
	}
	if covered {
		c.cell = cell{} // what a merged range hides
	}
	if c.kind != blank {
		o.r.struck = o.r.struck || len(c.style) > 0 && o.struck[string(c.style)] && o.r.used() == 0
		for k := 0; k < c.repeat && o.column+k < mostColumns; k++ {
			if err := o.b.put(o.r, o.column+k, c.cell); err != nil {
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
	cell
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
			c.cell = cell{num: n, kind: number}
		}
	case "date":
		if d, ok := isoDay(string(date[:min(len(date), 10)])); ok {
			c.cell = dayCell(d)
		}
	case "boolean":
		c.cell = cell{text: "FALSE", kind: words}
		if string(truth) == "true" {
			c.text = "TRUE"
		}
	case "string":
		if text != nil {
			c.cell = textCell(unescape(text))
		}
	}
	return c
}

// isoDay reads a day as workbooks store it, 2019-05-12.
func isoDay(s string) (studbook.Day, bool) {
	d, err := studbook.ParseDate(s)
	if err != nil || !d.Exact() || len(s) != 10 {
		return 0, false
	}
	return d.First, true
}

var errLocked = errors.New("it is locked with a password")
