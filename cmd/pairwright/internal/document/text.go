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
	// leastWide is how far a column of sentences may be narrowed before the
	// table is parted.
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
	if len(d.Facts) > 0 {
		t.block(d.Facts)
	}
	for _, s := range d.pages() {
		t.heading(s.Title, "─")
		for _, b := range s.Blocks {
			t.block(b)
		}
	}
	if len(d.Notes) > 0 {
		t.heading("Notes", "─")
		t.block(List(d.Notes))
	}
	if d.Footer != "" {
		t.block(Paragraph(d.Footer))
	}
	return t.w.Flush()
}

// textWriter writes blocks with an empty line between them. Errors of the
// writer below are kept by w until it is flushed.
type textWriter struct {
	w     *bufio.Writer
	width int
	begun bool
}

func (t *textWriter) line(s string) {
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
	for i, g := range newGrid(table).part(t.width) {
		if i > 0 {
			t.line("")
		}
		for _, l := range g.lines() {
			t.line(l)
		}
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

// least returns the width below which a column cannot go. Figures are never
// broken; words only where they are longer than half of a line.
func (c *gridColumn) least(width int) int {
	half := width/2 - len(columnGap)
	least := min(max(longestWord(c.Name), longestWord(c.Unit)), half)
	switch {
	case c.Right:
		return max(1, least, c.longest)
	case c.Wide:
		least = max(least, min(leastWide, c.natural(), half))
	}
	return max(1, least, min(c.word, half))
}

// part lays the table out: as one where its columns fit the width, else in
// several below each other in which the key columns are said again.
func (g grid) part(width int) []grid {
	var parts []grid
	for next := 0; next < len(g.columns); {
		p := grid{rows: g.rows}
		used, others := -len(columnGap), false
		add := func(c gridColumn) {
			p.columns = append(p.columns, c)
			used += len(columnGap) + c.least(width)
		}
		if next > 0 {
			for _, c := range g.columns[:next] {
				if c.Key {
					add(c)
				}
			}
		}
		for ; next < len(g.columns); next++ {
			c := g.columns[next]
			if others && used+len(columnGap)+c.least(width) > width {
				break
			}
			add(c)
			others = others || !c.Key
		}
		p.fit(width)
		parts = append(parts, p)
	}
	return parts
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

// lines returns the lines of the table: heading, units, a rule, rows.
func (g *grid) lines() []string {
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
		out = g.row(out, cells)
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
