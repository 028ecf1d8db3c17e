package studbook

import (
	"encoding/csv"
	"errors"
	"runtime"
	"slices"
	"strings"
	"sync"
)

// grid is a file or sheet cut into cells, before anyone asks what they mean.
type grid struct {
	file       string // as findings name it
	header     []string
	headerLine int
	rows       [][]string // trimmed; without blank and comment rows
	lines      []int      // of each row, from 1
	ragged     bool       // blank cells at the end of a row are not stored
	cells      int        // in all rows
	endless    []int      // lines that are longer than any row, and are left out
	full       bool       // there were more rows or cells than are read
	block      []string   // where the cells of rows with quotation marks are kept
	skipped    []breach   // rows that begin with # and look like no remark, with their first cells
	unstored   []hole     // cells of a sheet whose formulas have no stored value
	merged     []area     // cells of a sheet that are one
}

// hole is a cell of a sheet that shows more than it stores.
type hole struct{ line, column int } // the column from 0

// area is a range of cells of a sheet that shows the value of its first cell, ends
// included.
type area struct {
	name        string // as D4:D5
	first, last hole
}

// table is a grid whose columns are known.
type table struct {
	*grid
	ours []string       // our name of each column of the grid, "" if kept aside
	at   map[string]int // our name of each column that is there -> its index
}

// cell returns a cell of a row, "" where the row ends before it.
func (t *table) cell(row, j int) string {
	if j < len(t.rows[row]) {
		return t.rows[row][j]
	}
	return ""
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
		for i := range t.rows {
			if cell := t.cell(i, j); cell != "" {
				a.Cells[t.cell(i, t.at["id"])] = cell
			}
		}
		list = append(list, a)
	}
	return list
}

// normalHeader is a header name without regard to case, spaces and hyphens.
func normalHeader(s string) string {
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
	if !strings.Contains(text, "\n") {
		text = strings.ReplaceAll(text, "\r", "\n") // as old Macintosh programs end lines
	}
	g = &grid{file: file}
	at, line := 0, 1 // where the text still to be read begins
	delimiter = ','
	if first, rest, _ := strings.Cut(text, "\n"); len(first) >= 5 && strings.EqualFold(first[:4], "sep=") {
		// Some spreadsheets write the delimiter on a line of its own.
		if c := rune(first[4]); c == ',' || c == ';' || c == '\t' {
			delimiter = c
		}
		at, line = len(text)-len(rest), 2
	} else {
		delimiter = detectDelimiter(text)
	}
	for at < len(text) && !g.full {
		// Lines without marks are cut where they stand.
		mark := strings.IndexByte(text[at:], '"')
		if mark < 0 {
			g.cut(text[at:], line, delimiter)
			break
		}
		if n := strings.LastIndexByte(text[at:at+mark], '\n') + 1; n > 0 {
			g.cut(text[at:at+n], line, delimiter)
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
				g.add(g.keep(cells), first-1+row)
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

// keep returns a copy of a list of cells that stands in a block with others.
func (g *grid) keep(cells []string) []string {
	if cap(g.block)-len(g.block) < len(cells) {
		g.block = make([]string, 0, max(8192, len(cells)))
	}
	n := len(g.block)
	g.block = append(g.block, cells...)
	return g.block[n:len(g.block):len(g.block)]
}

// cut takes in the rows of a CSV text without quotation marks, the first of them
// in a line of that number, on all cores where there are many.
func (g *grid) cut(text string, line int, delimiter rune) {
	for g.header == nil && text != "" {
		n := strings.IndexByte(text, '\n') + 1
		if n == 0 {
			n = len(text)
		}
		g.cutLines(text[:n], line, delimiter)
		text, line = text[n:], line+1
	}
	parts := min(runtime.GOMAXPROCS(0), len(text)/worthParting)
	if parts < 2 || len(g.rows)+strings.Count(text, "\n") >= mostRows || g.cells+len(text) > mostCells && g.cells+strings.Count(text, "\n")+strings.Count(text, string(delimiter)) >= mostCells {
		g.cutLines(text, line, delimiter)
		return
	}
	lines := strings.Count(text, "\n") + 1
	g.rows, g.lines = slices.Grow(g.rows, lines), slices.Grow(g.lines, lines)
	cut := make([]*grid, parts)
	var wg sync.WaitGroup
	for k := range cut {
		part := text
		if k < parts-1 {
			part = text[:strings.LastIndexByte(text[:len(text)/(parts-k)], '\n')+1]
		}
		at := line
		text, line = text[len(part):], line+strings.Count(part, "\n")
		if cut[k] = (&grid{file: g.file, header: g.header}); k == 0 {
			cut[k] = g
		}
		wg.Go(func() { cut[k].cutLines(part, at, delimiter) })
	}
	wg.Wait()
	for _, c := range cut[1:] {
		g.rows, g.lines = append(g.rows, c.rows...), append(g.lines, c.lines...)
		g.endless, g.skipped = append(g.endless, c.endless...), append(g.skipped, c.skipped...)
		g.cells += c.cells
	}
}

// cutLines takes in such rows as encoding/csv reads them, with cells that are parts of
// the text and no copies.
func (g *grid) cutLines(text string, line int, delimiter rune) {
	mark := string(delimiter)
	lines := min(strings.Count(text, "\n")+1, mostRows)
	all := make([]string, 0, lines+min(strings.Count(text, mark), mostCells))
	g.rows, g.lines = slices.Grow(g.rows, lines), slices.Grow(g.lines, lines)
	for more := true; more && !g.full; line++ {
		var row string
		row, text, more = strings.Cut(text, "\n")
		row = strings.TrimSuffix(row, "\r")
		if row == "" || row[0] == '#' {
			continue
		}
		start, next := len(all), true
		for next && len(all)-start < mostColumns {
			var cell string
			cell, row, next = strings.Cut(row, mark)
			all = append(all, cell)
		}
		if next {
			g.endless = append(g.endless, line)
			all = all[:start]
			continue
		}
		g.add(all[start:len(all):len(all)], line)
	}
}

// add takes in a row of cells: the first that is no comment as the header.
func (g *grid) add(cells []string, line int) {
	blank := true
	for j := range cells {
		cells[j] = strings.TrimSpace(cells[j])
		if !g.ragged { // in a sheet of a workbook a ' is a '
			cells[j] = Unguarded(cells[j])
		}
		blank = blank && cells[j] == ""
	}
	if blank {
		return
	}
	if strings.HasPrefix(cells[0], "#") {
		if g.header != nil && noRemark(cells[0]) && len(cells) > 1 && (g.ragged || len(cells) >= len(g.header)-1) {
			g.skipped = append(g.skipped, breach{line, cells[0]})
		}
		return
	}
	if g.header == nil {
		for len(cells) > 0 && cells[len(cells)-1] == "" {
			cells = cells[:len(cells)-1] // columns a spreadsheet added
		}
		g.header, g.headerLine = cells, line
		return
	}
	if g.cells += len(cells); len(g.rows) == mostRows || g.cells > mostCells {
		g.full = true
		return
	}
	g.rows = append(g.rows, cells)
	g.lines = append(g.lines, line)
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
