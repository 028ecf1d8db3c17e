package studbook

import (
	"cmp"
	"encoding/csv"
	"errors"
	"runtime"
	"slices"
	"strings"
	"sync"

	"github.com/sourcegraph/conc"

	"pairwright/pedigree/studbook/sheets"
)

// grid is a file or sheet cut into cells, before anyone asks what they mean.
type grid struct {
	file       string // as findings name it
	header     []string
	headerLine int
	rows       []row          // without blank and comment rows
	text       string         // of a CSV file, where most rows stand
	delimiter  string         // between their cells
	kept       [][]string     // the cells of the other rows
	ragged     bool           // blank cells at the end of a row are not stored
	cells      int            // in all rows
	endless    []int          // lines that are longer than any row, and are left out
	full       bool           // there were more rows or cells than are read
	block      []string       // where the cells of rows with quotation marks are kept
	skipped    []breach       // rows that begin with # and look like no remark, with their first cells
	unstored   []sheets.Place // cells of a sheet whose formulas have no stored value
	merged     []sheets.Span  // cells of a sheet that are one
}

// row is where the cells of a row are. A million rows have ten million cells, so these
// are not kept but cut where they stand whenever they are asked for.
type row struct {
	line     int32 // from 1
	width    int32 // number of cells
	from, to int32 // in the text; from is ^k of the row that is kept[k]
}

// cells cuts a row into trimmed cells, which stand in scratch until the next is cut, or
// in the grid; they are not to be changed.
func (g *grid) cellsOf(i int, scratch *[]string) []string {
	r := g.rows[i]
	if r.from < 0 {
		return g.kept[^r.from]
	}
	return cutCells(g.text[r.from:r.to], g.delimiter, scratch)
}

// cutCells cuts a line without quotation marks into trimmed cells, which stand in scratch.
func cutCells(line, delimiter string, scratch *[]string) []string {
	cells, from, between := (*scratch)[:0], 0, delimiter[0]
	for at := range len(line) { // most cells are short
		if line[at] == between {
			cells = append(cells, trimmed(line[from:at]))
			from = at + 1
		}
	}
	cells = append(cells, trimmed(line[from:]))
	*scratch = cells
	return cells
}

// row returns the cells of a row.
func (g *grid) row(i int) []string {
	var own []string
	return g.cellsOf(i, &own)
}

// all returns the cells of all rows.
func (g *grid) all() [][]string {
	rows := make([][]string, len(g.rows))
	for i := range rows {
		rows[i] = g.row(i)
	}
	return rows
}

// set changes a cell of a row.
func (g *grid) set(i, j int, cell string) {
	if g.rows[i].from >= 0 {
		g.kept = append(g.kept, g.row(i))
		g.rows[i].from = ^int32(len(g.kept) - 1)
	}
	g.kept[^g.rows[i].from][j] = cell
}

// table is a grid whose columns are known.
type table struct {
	*grid
	ours []string       // our name of each column of the grid, "" if kept aside
	at   map[string]int // our name of each column that is there -> its index

	dated       []int // the columns of dates
	lookAtDates sync.Once
	foreign     *foreignDates // see foreignDates
}

// cell returns a cell of a row, "" where the row ends before it.
func (t *table) cell(row, j int) string {
	r := t.rows[row]
	switch {
	case j >= int(r.width):
		return ""
	case r.from < 0:
		return t.kept[^r.from][j]
	}
	text := t.text[r.from:r.to]
	for range j {
		text = text[strings.Index(text, t.delimiter)+1:]
	}
	text, _, _ = strings.Cut(text, t.delimiter)
	return trimmed(text)
}

// find returns the row of a line.
func (g *grid) find(line int) (i int, there bool) {
	return slices.BinarySearchFunc(g.rows, int32(line), func(r row, line int32) int { return cmp.Compare(r.line, line) })
}

// has reports whether the table has a column of ours.
func (t *table) has(name string) bool {
	_, ok := t.at[name]
	return ok
}

// aside returns the columns of a studbook that are none of ours.
func (t *table) aside() []Aside {
	var list []Aside
	for j, ours := range t.ours {
		if ours != "" || t.header[j] == "" {
			continue
		}
		a := Aside{t.header[j], make(map[string]string)}
		var scratch []string
		for i := range t.rows {
			if cells := t.cellsOf(i, &scratch); j < len(cells) && cells[j] != "" {
				a.Cells[cells[t.at["id"]]] = cells[j]
			}
		}
		list = append(list, a)
	}
	return list
}

// NormalHeader is a header name without regard to case, spaces and hyphens, as columns
// are known by it.
func NormalHeader(s string) string {
	s = strings.ReplaceAll(strings.ToLower(s), "-", " ")
	return strings.Join(strings.FieldsFunc(s, func(r rune) bool { return r == '_' || r == ' ' || r == '\u00a0' || r == '\t' || r == '\n' || r == '\r' }), "_")
}

// breach is a line that cannot be taken as a row: one of a CSV file whose quotation
// marks do not pair up, or one that begins with #.
type breach struct {
	line int
	text string
}

// parseCSV cuts a CSV text into a grid. A line with broken quotation marks is
// reported and left out, and reading goes on with the line after it.
func parseCSV(file, text string) (g *grid, delimiter rune, broken []breach) {
	text = withLines(text)
	g = &grid{file: file}
	delimiter, at := delimiterOf(text)
	line := 1 // where the text still to be read begins
	if at > 0 {
		line = 2
	}
	g.text, g.delimiter = text, string(delimiter)
	for at < len(text) && !g.full {
		// Lines without marks are cut where they stand.
		mark := strings.IndexByte(text[at:], '"')
		if mark < 0 {
			g.cut(at, len(text), line)
			break
		}
		if n := strings.LastIndexByte(text[at:at+mark], '\n') + 1; n > 0 {
			g.cut(at, at+n, line)
			at, line = at+n, line+strings.Count(text[at:at+n], "\n")
			continue
		}
		from, first := at, line
		rows, last := window(text[at:])
		if len(rows) > mostWindow {
			g.endless = append(g.endless, line)
			at, line = at+len(rows), line+1
			continue
		}
		r := csv.NewReader(strings.NewReader(rows))
		r.Comma, r.Comment, r.FieldsPerRecord, r.ReuseRecord = delimiter, '#', -1, true
		r.TrimLeadingSpace = delimiter != '\t' // a blank cell between tabs is no leading space
		for {
			cells, err := r.Read()
			var fault *csv.ParseError
			if errors.As(err, &fault) {
				bad := first - 1 + fault.StartLine
				for line < bad { // to the beginning of the broken line
					at += strings.IndexByte(text[at:], '\n') + 1
					line++
				}
				if !last && at > from && r.InputOffset() == int64(len(rows)) && errors.Is(err, csv.ErrQuote) {
					break // it may go on beyond the window
				}
				this, _, _ := strings.Cut(text[at:], "\n")
				broken = append(broken, breach{bad, strings.TrimSpace(this)})
				if g.header == nil {
					return g, delimiter, broken // what follows has no names
				}
				if fault.Line == fault.StartLine {
					continue
				}
				// An opening mark without its end swallowed lines: read
				// them again, from the one after.
				at, line = min(at+len(this)+1, len(text)), line+1
				break
			}
			if err == nil {
				row, _ := r.FieldPos(0)
				g.keep(g.copied(cells), first-1+row)
			}
			read := int(r.InputOffset())
			if next := rows[read:]; err != nil || g.full || len(next) > seldom && strings.IndexByte(next[:seldom], '"') < 0 {
				at, line = from+read, first+strings.Count(rows[:read], "\n")
				break
			}
		}
	}
	return g, delimiter, broken
}

// Variables for the sake of tests.
var (
	worthParting = 1 << 20 // bytes of a text that it pays to cut apart from others
	seldom       = 4096    // how far the next mark is where it pays to cut lines without a reader
	mostWindow   = 4 << 20 // bytes that are read at once
)

// window returns the lines that begin a text, as many as are read at once, and
// whether they are all: a row that takes more has a mark that is never closed.
func window(text string) (lines string, all bool) {
	if len(text) <= mostWindow {
		return text, true
	}
	n := strings.LastIndexByte(text[:mostWindow], '\n') + 1
	if n == 0 {
		if n = strings.IndexByte(text, '\n') + 1; n == 0 {
			n = len(text)
		}
	}
	return text[:n], n == len(text)
}

// copied returns a copy of a list of cells that stands in a block with others.
func (g *grid) copied(cells []string) []string {
	if cap(g.block)-len(g.block) < len(cells) {
		g.block = make([]string, 0, max(8192, len(cells)))
	}
	n := len(g.block)
	g.block = append(g.block, cells...)
	return g.block[n:len(g.block):len(g.block)]
}

// cut takes in the rows of a part of the text that has no quotation marks, the first of
// them in a line of that number, on all cores where there are many.
func (g *grid) cut(from, to, line int) {
	for g.header == nil && from < to {
		next := to
		if n := strings.IndexByte(g.text[from:to], '\n'); n >= 0 {
			next = from + n + 1
		}
		g.cutLines(from, next, line)
		from, line = next, line+1
	}
	text := g.text[from:to]
	lines := strings.Count(text, "\n") + 1
	parts := min(runtime.GOMAXPROCS(0), len(text)/worthParting)
	if parts < 2 || len(g.rows)+lines > mostRows || g.cells+len(text) > mostCells && g.cells+lines+strings.Count(text, g.delimiter) > mostCells {
		g.cutLines(from, to, line)
		return
	}
	g.rows = slices.Grow(g.rows, lines)
	cut := make([]*grid, parts)
	var wg conc.WaitGroup
	for k := range cut {
		start, end := from, to
		if k < parts-1 {
			end = from + strings.LastIndexByte(g.text[from:from+(to-from)/(parts-k)], '\n') + 1
		}
		at := line
		from, line = end, line+strings.Count(g.text[start:end], "\n")
		if cut[k] = (&grid{file: g.file, header: g.header, text: g.text, delimiter: g.delimiter}); k == 0 {
			cut[k] = g
		}
		wg.Go(func() { cut[k].cutLines(start, end, at) })
	}
	wg.Wait()
	for _, c := range cut[1:] {
		g.rows = append(g.rows, c.rows...)
		g.endless, g.skipped = append(g.endless, c.endless...), append(g.skipped, c.skipped...)
		g.cells += c.cells
	}
}

// cutLines takes in such rows as encoding/csv reads them.
func (g *grid) cutLines(from, to, line int) {
	var scratch []string
	g.rows = slices.Grow(g.rows, min(strings.Count(g.text[from:to], "\n")+1, mostRows))
	for ; from < to && !g.full; line++ {
		end, next := to, to
		if n := strings.IndexByte(g.text[from:to], '\n'); n >= 0 {
			end, next = from+n, from+n+1
		}
		text := strings.TrimSuffix(g.text[from:end], "\r")
		at := row{int32(line), int32(1 + strings.Count(text, g.delimiter)), int32(from), int32(from + len(text))}
		from = next
		switch {
		case text == "" || text[0] == '#':
		case at.width > mostColumns:
			g.endless = append(g.endless, line)
		case g.header != nil && letterOrDigit(text[0]):
			g.take(at) // neither blank nor a remark
		case g.sort(cutCells(text, g.delimiter, &scratch), line):
			g.take(at)
		}
	}
}

// trimmed is a cell of a CSV file as it is meant.
func trimmed(cell string) string {
	if n := len(cell); n == 0 || cell[0] > '\'' && cell[0] < 0x80 && cell[n-1] > ' ' && cell[n-1] < 0x80 {
		return cell // as most are
	}
	return Unguarded(strings.TrimSpace(cell))
}

func letterOrDigit(c byte) bool {
	return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9'
}

// keep takes in a row that stands nowhere as its cells are.
func (g *grid) keep(cells []string, line int) {
	for j := range cells {
		cells[j] = strings.TrimSpace(cells[j])
		if !g.ragged { // in a sheet of a workbook a ' is a '
			cells[j] = Unguarded(cells[j])
		}
	}
	if g.sort(cells, line) {
		g.kept = append(g.kept, cells)
		g.take(row{line: int32(line), width: int32(len(cells)), from: ^int32(len(g.kept) - 1)})
	}
}

// sort reports whether cells are a row, and takes the first that are no comment as the
// header.
func (g *grid) sort(cells []string, line int) bool {
	switch {
	case !slices.ContainsFunc(cells, func(cell string) bool { return cell != "" }):
		return false
	case strings.HasPrefix(cells[0], "#"):
		if g.header != nil && noRemark(cells[0]) && len(cells) > 1 && (g.ragged || len(cells) >= len(g.header)-1) {
			g.skipped = append(g.skipped, breach{line, cells[0]})
		}
		return false
	case g.header == nil:
		for len(cells) > 0 && cells[len(cells)-1] == "" {
			cells = cells[:len(cells)-1] // columns a spreadsheet added
		}
		g.header, g.headerLine = slices.Clone(cells), line
		return false
	}
	return true
}

// take adds a row, if it is not one too many.
func (g *grid) take(r row) {
	if g.cells += int(r.width); len(g.rows) == mostRows || g.cells > mostCells {
		g.full = true
		return
	}
	g.rows = append(g.rows, r)
}

// noRemark reports whether the first cell of a row that begins with # looks like
// a value: what is a remark has a space there, or another #.
func noRemark(cell string) bool {
	return len(cell) > 1 && cell[1] != ' ' && cell[1] != '#' && cell[1] != '\t'
}

// skippedLines returns the lines of a CSV text that the reader passes over as
// remarks, though they have as many cells as the header and no space after #.
func skippedLines(text string, delimiter rune, g *grid) (skipped []breach) {
	if len(g.header) < 2 || !strings.Contains(text, "\n#") {
		return nil
	}
	n := 0
	for line := range strings.Lines(text) {
		n++
		if n > g.headerLine && strings.HasPrefix(line, "#") && noRemark(line) && strings.Count(line, string(delimiter)) >= len(g.header)-2 {
			cell, _, _ := strings.Cut(line, string(delimiter))
			skipped = append(skipped, breach{n, strings.TrimSpace(cell)})
		}
	}
	return skipped
}

// TableText returns a CSV file of a colony folder as Read takes it: its text, in lines
// that end in a line feed, the delimiter of its cells, and where the table begins in the
// text, below a line that names the delimiter.
func TableText(raw []byte) (text string, delimiter rune, begins int) {
	text, _ = decodeText(raw)
	text = withLines(text)
	delimiter, begins = delimiterOf(text)
	return text, delimiter, begins
}

// withLines ends the lines of a text that old Macintosh programs wrote in line feeds.
func withLines(text string) string {
	if strings.Contains(text, "\n") {
		return text
	}
	return strings.ReplaceAll(text, "\r", "\n")
}

// delimiterOf returns the delimiter of a table and where the table begins.
func delimiterOf(text string) (delimiter rune, begins int) {
	first, rest, _ := strings.Cut(text, "\n")
	if len(first) < 5 || !strings.EqualFold(first[:4], "sep=") {
		return detectDelimiter(text), 0
	}
	// Some spreadsheets write the delimiter on a line of its own.
	delimiter = ','
	if c := rune(first[4]); c == ',' || c == ';' || c == '\t' {
		delimiter = c
	}
	return delimiter, len(text) - len(rest)
}

// detectDelimiter returns the one of comma, semicolon and tab that stands
// most often in the header line outside of quotation marks, a comma if none
// does.
func detectDelimiter(text string) rune {
	var header string
	for header = range strings.Lines(text) {
		if t := strings.TrimSpace(header); t != "" && t[0] != '#' {
			break
		}
	}
	var count [128]int
	quoted := false
	for _, c := range header {
		switch {
		case c == '"':
			quoted = !quoted
		case !quoted && c < 128:
			count[c]++
		}
	}
	best := ','
	for _, c := range ";\t" {
		if count[c] > count[best] {
			best = c
		}
	}
	return best
}
