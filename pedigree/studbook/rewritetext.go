package studbook

import (
	"cmp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// rewrittenText is a file of text that is changed in places.
type rewrittenText struct {
	name      string
	raw       []byte // nil if there is no file yet
	script    script
	text      string
	delimiter rune
	end       string // of the lines of text
	macintosh bool   // they end in the bytes by a carriage return alone
	quoted    bool   // all cells stand in quotation marks
	fresh     bool   // nothing is in it yet
	mark      []byte // the byte order mark of a fresh file
	lines     []int  // where each line begins
	splices   []splice
}

// span is a part of a text, splice one to be replaced.
type (
	span   struct{ from, to int }
	splice struct {
		from, to int
		with     string
	}
)

func newRewrittenText(name string, raw []byte) *rewrittenText {
	t := &rewrittenText{name: name, raw: raw, script: scriptOf(raw), end: "\n"}
	t.text = t.script.decode(raw)
	switch i := strings.LastIndexByte(t.text, '\n'); { // the new row comes last
	case i > 0 && t.text[i-1] == '\r':
		t.end = "\r\n"
	case i < 0 && strings.Contains(t.text, "\r"):
		t.macintosh = true
		t.text = strings.ReplaceAll(t.text, "\r", "\n")
	}
	for at := 0; at < len(t.text); {
		t.lines = append(t.lines, at)
		next := strings.IndexByte(t.text[at:], '\n')
		if next < 0 {
			break
		}
		at += next + 1
	}
	g, delimiter, _ := parseCSV(name, t.text)
	t.delimiter = delimiter
	if g.headerLine > 0 {
		cells, _ := t.cells(g.headerLine)
		t.quoted = !slices.ContainsFunc(cells, func(c span) bool { return !strings.HasPrefix(t.text[c.from:c.to], `"`) })
	}
	return t
}

// like gives a fresh file the script, delimiter and line ends of another.
func (t *rewrittenText) like(other *rewrittenText) {
	t.script, t.delimiter, t.end, t.quoted = other.script, other.delimiter, other.end, other.quoted
	t.macintosh = other.macintosh
	t.mark = other.raw[:other.script.mark]
	t.script.mark = 0
}

// line returns where a line stands, counted from 1, without its end.
func (t *rewrittenText) line(n int) (from, to int) {
	from, to = t.lines[n-1], len(t.text)
	if n < len(t.lines) {
		to = t.lines[n]
	}
	to = from + len(strings.TrimSuffix(t.text[from:to], "\n"))
	return from, from + len(strings.TrimSuffix(t.text[from:to], "\r"))
}

// cells returns where the cells of the row stand that begins in a line, and
// where the row ends. It follows encoding/csv, of rows that it has read.
func (t *rewrittenText) cells(line int) (cells []span, end int) {
	at := t.lines[line-1]
	for {
		c := span{from: at}
		at = t.skipSpace(at)
		if at < len(t.text) && t.text[at] == '"' {
			at = t.closingMark(at)
		}
		for at < len(t.text) && t.text[at] != '\n' && rune(t.text[at]) != t.delimiter {
			at++
		}
		c.to = at
		more := at < len(t.text) && t.text[at] != '\n'
		if !more {
			c.to = c.from + len(strings.TrimSuffix(t.text[c.from:c.to], "\r"))
		}
		cells = append(cells, c)
		if !more {
			return cells, c.to
		}
		at++
	}
}

// skipSpace passes what a reader takes for leading space.
func (t *rewrittenText) skipSpace(at int) int {
	for t.delimiter != '\t' && at < len(t.text) {
		c, n := utf8.DecodeRuneInString(t.text[at:])
		if c == '\n' || !unicode.IsSpace(c) {
			break
		}
		at += n
	}
	return at
}

// closingMark returns the place after the quotation mark that closes the one at
// a place.
func (t *rewrittenText) closingMark(at int) int {
	for at++; at < len(t.text); at++ {
		if t.text[at] != '"' {
			continue
		}
		if at+1 == len(t.text) || t.text[at+1] != '"' {
			return at + 1
		}
		at++
	}
	return at
}

// written is a cell as it is written.
func (t *rewrittenText) written(value string, first, quoted bool) string {
	value = Guarded(value)
	if quoted || strings.ContainsRune(value, t.delimiter) || strings.ContainsAny(value, "\"\r\n") || first && strings.HasPrefix(value, "#") {
		return `"` + strings.ReplaceAll(value, `"`, `""`) + `"`
	}
	return value
}

// row writes cells as a row.
func (t *rewrittenText) row(cells []string) string {
	parts := make([]string, len(cells))
	for j, c := range cells {
		parts[j] = t.written(c, j == 0, t.quoted)
	}
	return strings.Join(parts, string(t.delimiter))
}

// changedRow returns a row with some of its cells changed and the others as
// they are written.
func (t *rewrittenText) changedRow(line int, edits map[int]string) string {
	spans, end := t.cells(line)
	var b strings.Builder
	at := spans[0].from
	for j, c := range spans {
		value, ok := edits[j]
		if !ok {
			continue
		}
		from := t.skipSpace(c.from)
		from = min(from, c.to)
		b.WriteString(t.text[at:from])
		b.WriteString(t.written(value, j == 0, strings.HasPrefix(t.text[from:c.to], `"`)))
		at = c.to
	}
	b.WriteString(t.text[at:end])
	for j := len(spans); j <= last(edits); j++ { // the row ended before
		b.WriteRune(t.delimiter)
		b.WriteString(t.written(edits[j], false, t.quoted))
	}
	return b.String()
}

// last returns the greatest key, -1 without any.
func last(edits map[int]string) int {
	most := -1
	for j := range edits {
		most = max(most, j)
	}
	return most
}

// rewriteText returns a file of text with its rows changed.
func (s *Sheet) rewriteText() (before, after []byte, edits []Edit, err error) {
	t := s.text
	want, err := s.wantedRows(t.parseRow)
	if err != nil {
		return nil, nil, nil, err
	}
	for i, row := range s.t.all() {
		edit := Edit{File: s.label, Line: int(s.t.rows[i].line), Before: s.rowText(i), Cells: s.difference(row, want[i])}
		spans, end := t.cells(edit.Line)
		from := spans[0].from
		switch {
		case s.gone[i]:
			edit.Line = 0
			from, end = t.wholeLine(from, end)
		case s.whole[i] != "":
			edit.After = s.whole[i]
		case len(s.changed[i]) > 0:
			values := make(map[int]string)
			for _, c := range s.changed[i] {
				values[s.t.at[c.Column]] = c.After
			}
			edit.After = t.changedRow(edit.Line, values)
		default:
			continue
		}
		t.splices = append(t.splices, splice{from, end, edit.After})
		edits = append(edits, edit)
	}
	edits = append(edits, s.appendText()...)
	if after, err = t.spliced(); err != nil {
		return nil, nil, nil, err
	}
	want = slices.DeleteFunc(append(want, s.added...), func(r []string) bool { return r == nil })
	if !sameRows(s.t.header, want, s.label, after) {
		return nil, nil, nil, s.notKept()
	}
	return t.raw, after, edits, nil
}

// appendText adds the new rows to the end of the text, below the heading if
// there is no file yet.
func (s *Sheet) appendText() (edits []Edit) {
	t := s.text
	line := len(t.lines)
	var tail strings.Builder
	if t.fresh {
		tail.WriteString(t.row(s.t.header) + t.end)
		line = 1
	}
	open := t.text != "" && !strings.HasSuffix(t.text, "\n") // the last line has no end
	for _, cells := range s.added {
		row := t.row(cells)
		if open {
			tail.WriteString(t.end + row)
		} else {
			tail.WriteString(row + t.end)
		}
		edits = append(edits, Edit{File: s.label, Line: line + 1, After: row, Cells: s.difference(nil, cells)})
		line += 1 + strings.Count(row, "\n")
	}
	t.splices = append(t.splices, splice{len(t.text), len(t.text), tail.String()})
	return edits
}

// parseRow reads a row by itself.
func (t *rewrittenText) parseRow(row string) ([]string, bool) {
	g, _, broken := parseCSV("", t.header()+row)
	if len(broken) > 0 || len(g.rows) != 1 {
		return nil, false
	}
	return g.row(0), true
}

// header returns a heading that fits the delimiter, to read a row by.
func (t *rewrittenText) header() string {
	return "a" + strings.Repeat(string(t.delimiter)+"b", 9) + "\n"
}

// wholeLine widens a row that is to go by its line end: the one after it, or
// the one before it where it is the last.
func (t *rewrittenText) wholeLine(from, end int) (int, int) {
	rest := t.text[end:]
	switch trimmed := strings.TrimPrefix(rest, "\r"); {
	case strings.HasPrefix(trimmed, "\n"):
		return from, end + len(rest) - len(trimmed) + 1
	case from > 0:
		from -= len("\n")
		if from > 0 && t.text[from-1] == '\r' {
			from--
		}
	}
	return from, end
}

// difference lists the cells in which two rows of the file differ.
func (s *Sheet) difference(before, after []string) []CellEdit {
	var cells []CellEdit
	for j, ours := range s.t.ours {
		cell := func(row []string) string {
			if j < len(row) {
				return row[j]
			}
			return ""
		}
		if was, is := cell(before), cell(after); was != is {
			cells = append(cells, CellEdit{cmp.Or(ours, s.t.header[j]), was, is})
		}
	}
	return cells
}

// sameRows reports whether a reader of the file finds just these rows.
func sameRows(header []string, want [][]string, name string, raw []byte) bool {
	text, _ := decodeText(raw)
	g, _, broken := parseCSV(name, text)
	return len(broken) == 0 && slices.Equal(g.header, header) && slices.EqualFunc(g.all(), want, func(a, b []string) bool {
		return slices.Equal(trimmedRow(a), trimmedRow(b))
	})
}

// trimmedRow is a row without blank cells at its end, as a short row is read.
func trimmedRow(row []string) []string {
	for len(row) > 0 && row[len(row)-1] == "" {
		row = row[:len(row)-1]
	}
	return row
}

// spliced returns the bytes of the file with what was replaced; all others are
// those of before.
func (t *rewrittenText) spliced() ([]byte, error) {
	slices.SortStableFunc(t.splices, func(a, b splice) int { return cmp.Compare(a.from, b.from) })
	out := slices.Clone(t.mark)
	at, text := t.script.mark, 0 // in the bytes and in the text
	if t.raw == nil {
		at = 0
	}
	kept := at
	advance := func(to int) {
		for text < to && at < len(t.raw) {
			b, c := t.script.first(t.raw[at:])
			at, text = at+b, text+c
		}
	}
	out = append(out, t.raw[:at]...)
	for _, p := range t.splices {
		advance(p.from)
		out = append(out, t.raw[kept:at]...)
		with, err := t.script.encode(t.withEnds(p.with))
		if err != nil {
			return nil, &RewriteError{t.name, err.Error(), "save the file as CSV UTF-8 first"}
		}
		out = append(out, with...)
		advance(p.to)
		kept = at
	}
	return append(out, t.raw[kept:]...), nil
}

// withEnds gives new text the line ends of old Macintosh programs where the
// file has them.
func (t *rewrittenText) withEnds(s string) string {
	if t.macintosh {
		return strings.ReplaceAll(s, "\n", "\r")
	}
	return s
}
