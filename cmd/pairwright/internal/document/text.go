package document

import (
	"bufio"
	"io"
	"strings"
)

// Widths in columns of a terminal.
const (
	defaultWidth = 100
	leastWidth   = 40
	columnGap    = "  "
	// leastWide is how far a column of sentences may be narrowed before it goes
	// below the rows.
	leastWide = 24
)

// WriteText writes a document as plain text of lines at most width wide; 0
// stands for 100, and 40 is the least. Only figures are never broken.
func WriteText(w io.Writer, d *Document, width int) error {
	if width <= 0 {
		width = defaultWidth
	}
	t := &textWriter{w: bufio.NewWriter(w), width: max(width, leastWidth)}
	t.heading(d.Title, "═")
	if d.Lead != "" {
		t.block(Paragraph(d.Lead))
	}
	front, rest := d.parts()
	t.sections(front)
	if len(d.Facts) > 0 {
		t.block(d.Facts)
	}
	if len(d.About) > 0 {
		t.block(Paragraph(d.About.line()))
	}
	t.sections(rest)
	if len(d.Notes) > 0 {
		t.heading("Notes", "─")
		t.block(List(d.Notes))
	}
	if d.Footer != "" {
		t.block(Paragraph(d.Footer))
	}
	return t.w.Flush()
}

func (t *textWriter) sections(sections []Section) {
	for _, s := range sections {
		t.heading(s.Title, "─")
		for _, b := range s.Blocks {
			t.block(b)
		}
	}
}

// textWriter writes blocks with an empty line between them. Errors of the
// writer below are kept by w until it is flushed.
type textWriter struct {
	w     *bufio.Writer
	width int
	begun bool
}

func (t *textWriter) line(s string) {
	s = strings.ReplaceAll(s, "\u00a0", " ") // it has kept words together
	t.w.WriteString(strings.TrimRight(s, " "))
	t.w.WriteByte('\n')
}

// gap separates a block from what is above it.
func (t *textWriter) gap() {
	if t.begun {
		t.w.WriteByte('\n')
	}
	t.begun = true
}

// hang writes a text whose first line begins with first and the others with
// as much space.
func (t *textWriter) hang(first, s string) {
	indent := strings.Repeat(" ", DisplayWidth(first))
	for i, l := range wrap(Clean(s), t.width-len(indent)) {
		if i == 0 {
			t.line(first + l)
		} else {
			t.line(indent + l)
		}
	}
}

// heading writes a title with a rule below it; a section without a title has
// none.
func (t *textWriter) heading(title, rule string) {
	title = Clean(title)
	if title == "" {
		return
	}
	t.gap()
	longest := 0
	for _, l := range wrap(title, t.width) {
		t.line(l)
		longest = max(longest, DisplayWidth(l))
	}
	t.line(strings.Repeat(rule, longest))
}

func (t *textWriter) block(b Block) {
	t.gap()
	switch b := b.(type) {
	case Paragraph:
		t.hang("", string(b))
	case List:
		for _, item := range b {
			t.hang("• ", item)
		}
	case Facts:
		t.facts(b)
	case *Table:
		t.table(b)
	case *Figure:
		if b.Caption != "" {
			t.hang("", "Figure: "+b.Caption)
		}
		for _, l := range lines(b.Alt) {
			t.hang(columnGap, l)
		}
	}
}

func (t *textWriter) facts(facts Facts) {
	names := 0
	for _, f := range facts {
		names = max(names, DisplayWidth(Clean(f.Name)))
	}
	names = min(names, t.width/3)
	for _, f := range facts {
		name := wrap(Clean(f.Name), names)
		for _, l := range name[:len(name)-1] {
			t.line(l)
		}
		t.hang(pad(name[len(name)-1], names, false)+columnGap, f.Value)
	}
}

func (t *textWriter) table(table *Table) {
	if table.Caption != "" {
		t.hang("", table.Caption)
		t.line("")
	}
	line, below := newGrid(table).split(t.width)
	for _, l := range line.lines(below, t.width) {
		t.line(l)
	}
	if len(table.Rows) == 0 {
		t.line("(none)")
	}
	if table.More != "" {
		t.line("")
		t.hang("", table.More)
	}
}

// grid is a table, or some of its columns, with cleaned texts.
type grid struct {
	columns []gridColumn
	rows    int
}

type gridColumn struct {
	Column
	cells   []string
	longest int // width of the widest cell
	word    int // width of the widest word of a cell
	width   int // as laid out
}

func newGrid(table *Table) grid {
	g := grid{rows: len(table.Rows)}
	keys := table.keys()
	for j, c := range table.Columns {
		c.Name, c.Unit, c.Key = Clean(c.Name), Clean(c.Unit), keys[j]
		col := gridColumn{Column: c}
		for _, r := range table.Rows {
			s := Clean(r.cell(j).Text)
			col.cells = append(col.cells, s)
			col.longest = max(col.longest, DisplayWidth(s))
			col.word = max(col.word, longestWord(s))
		}
		g.columns = append(g.columns, col)
	}
	return g
}

// natural returns the width of a column in which nothing is broken.
func (c *gridColumn) natural() int {
	return max(c.longest, DisplayWidth(c.Name), DisplayWidth(c.Unit))
}

// least returns the width below which a column cannot go: no word is broken,
// and no figure.
func (c *gridColumn) least(width int) int {
	least := max(1, min(max(longestWord(c.Name), longestWord(c.Unit), c.word), width))
	switch {
	case c.Right:
		return max(least, c.longest)
	case c.Wide:
		return max(least, min(leastWide, c.natural(), width))
	}
	return least
}

// split parts the columns into those that stand beside each other in the line
// of a row, and those for which there is no room: they stand below it, so that
// a row is never torn. Keys and what decides have their place first, then the
// columns from left to right; sentences are the first to go.
func (g grid) split(width int) (line grid, below []gridColumn) {
	line.rows = g.rows
	in := make([]bool, len(g.columns))
	used := -len(columnGap)
	add := func(j int) bool {
		need := len(columnGap) + g.columns[j].least(width)
		if in[j] = used < 0 || used+need <= width; in[j] {
			used += need
		}
		return in[j]
	}
	for j, c := range g.columns {
		if c.Key || c.Decides {
			add(j)
		}
	}
	for j, c := range g.columns {
		if !c.Key && !c.Decides && !add(j) && !c.Wide {
			break
		}
	}
	for j, c := range g.columns {
		if in[j] {
			line.columns = append(line.columns, c)
		} else {
			below = append(below, c)
		}
	}
	line.fit(width)
	return line, below
}

// indent is how far in stands what is below the line of a row.
const indent = "    "

// under returns the lines below the line of a row: its other figures and words
// with the names of their columns, and each sentence in a line of its own.
func under(below []gridColumn, row, width int) []string {
	var out []string
	var short []string
	done := func() {
		if len(short) > 0 {
			out = append(out, wrap(strings.Join(short, "; "), width-len(indent))...)
		}
		short = nil
	}
	for _, c := range below {
		text := c.cells[row]
		if text == "" {
			continue
		}
		if c.Unit != "" && text != Unknown {
			text += "\u00a0" + c.Unit // they stay together
		}
		if c.Name != "" {
			text = c.Name + ": " + text
		}
		switch {
		case c.Right && DisplayWidth(c.cells[row]) > width-len(indent): // figures stay whole
			done()
			out = append(out, text)
		case c.Wide:
			done()
			out = append(out, wrap(text, width-len(indent))...)
		default:
			short = append(short, text)
		}
	}
	done()
	for k := range out {
		out[k] = indent + out[k]
	}
	return out
}

// fit sets the widths of the columns. From their least they grow first until
// ids and names stand on one line, then until sentences do, then until
// headings do.
func (g *grid) fit(width int) {
	slack := width - len(columnGap)*(len(g.columns)-1)
	for j := range g.columns {
		c := &g.columns[j]
		c.width = c.least(width)
		slack -= c.width
	}
	grow := func(target func(c *gridColumn) int) {
		for grown := true; grown && slack > 0; {
			grown = false
			for j := range g.columns {
				if c := &g.columns[j]; slack > 0 && c.width < target(c) {
					c.width++
					slack--
					grown = true
				}
			}
		}
	}
	grow(func(c *gridColumn) int {
		if c.Wide {
			return 0
		}
		return c.longest
	})
	grow(func(c *gridColumn) int { return c.longest })
	grow((*gridColumn).natural)
}

// lines returns the lines of the table: heading, units, a rule, rows, each with
// what stands below it.
func (g *grid) lines(below []gridColumn, width int) []string {
	var out []string
	names, units, rules := make([][]string, len(g.columns)), make([][]string, len(g.columns)), make([][]string, len(g.columns))
	tallest, anyUnit := 0, false
	for j, c := range g.columns {
		names[j] = wrap(c.Name, c.width)
		units[j] = wrap(c.Unit, c.width)
		rules[j] = []string{strings.Repeat("─", c.width)}
		tallest = max(tallest, len(names[j]))
		anyUnit = anyUnit || c.Unit != ""
	}
	for j := range names { // short headings stand low, near their figures
		names[j] = append(make([]string, tallest-len(names[j])), names[j]...)
	}
	out = g.row(out, names)
	if anyUnit {
		out = g.row(out, units)
	}
	out = g.row(out, rules)
	cells := make([][]string, len(g.columns))
	for i := range g.rows {
		for j, c := range g.columns {
			if c.Right {
				cells[j] = []string{c.cells[i]}
			} else {
				cells[j] = wrap(c.cells[i], c.width)
			}
		}
		out = append(g.row(out, cells), under(below, i, width)...)
	}
	return out
}

// row appends the lines of one row, of which every column gives some.
func (g *grid) row(out []string, cells [][]string) []string {
	tallest := 0
	for _, c := range cells {
		tallest = max(tallest, len(c))
	}
	for k := range tallest {
		var b strings.Builder
		for j, c := range g.columns {
			if j > 0 {
				b.WriteString(columnGap)
			}
			s := ""
			if k < len(cells[j]) {
				s = cells[j][k]
			}
			b.WriteString(pad(s, c.width, c.Right))
		}
		out = append(out, b.String())
	}
	return out
}

// pad fills a text with spaces up to a width, before it if right is set.
func pad(s string, width int, right bool) string {
	space := strings.Repeat(" ", max(0, width-DisplayWidth(s)))
	if right {
		return space + s
	}
	return s + space
}
