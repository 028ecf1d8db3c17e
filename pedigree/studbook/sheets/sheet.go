package sheets

import (
	"math"
	"slices"
	"strconv"
	"strings"
)

// Kind is what a cell holds.
type Kind byte

// Kinds of cells.
const (
	Blank  Kind = iota
	Words       // text, or whatever a table of text has
	Number      // stored as a number, without the look of a date
	Day         // stored as a date
)

// Cell is one cell of a sheet: what it shows, and what is stored behind it.
type Cell struct {
	// Text is what is shown, without what shows nothing at its ends; of a number without a
	// look of its own its shortest form, and of a day the day as 2006-01-02.
	Text string
	Num  float64 // the number; of a day its count, by which 0001-01-01 is 1 (see Epoch)
	Kind Kind
}

// TextCell is a cell with a text, blank if the text shows nothing.
func TextCell(s string) Cell {
	if n := len(s); n > 0 && s[0] > ' ' && s[0] < 0x80 && s[n-1] > ' ' && s[n-1] < 0x80 {
		return Cell{Text: s, Kind: Words}
	}
	s = strings.TrimFunc(s, func(r rune) bool { return r == '\u00a0' || r == '\ufeff' || r == '\u200b' || r <= ' ' })
	if s == "" {
		return Cell{}
	}
	return Cell{Text: s, Kind: Words}
}

// DayCell is a cell with a day, given by its count.
func DayCell(day int) Cell { return Cell{Text: dayText(day), Num: float64(day), Kind: Day} }

// numberText is a number as a cell without a look of its own shows it.
func numberText(x float64) string {
	if x == math.Trunc(x) && math.Abs(x) < 1e15 {
		return strconv.FormatFloat(x, 'f', 0, 64)
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// Plain reports whether a cell shows no more and no less than is stored in it.
func (c Cell) Plain() bool { return c.Text == c.Stored() }

// Stored returns what is stored in a cell, whatever its look shows of it: of a number its
// shortest form.
func (c Cell) Stored() string {
	if c.Kind == Number {
		return numberText(c.Num)
	}
	return c.Text
}

// Row is a row of a sheet that holds something.
type Row struct {
	Line  int // from 1
	Cells []Cell
	// Merged tells that every value of the row is one cell drawn over several columns; it is
	// not known before Fill.
	Merged   bool
	Struck   bool // its first value is struck through
	Coloured bool // its first value stands on a colour
}

// At returns a cell by its column from 0, a blank one where the row has none.
func (r Row) At(j int) Cell {
	if j < 0 || j >= len(r.Cells) {
		return Cell{}
	}
	return r.Cells[j]
}

// Set puts a cell into a row, whose cells no other row has afterwards.
func (r *Row) Set(j int, c Cell) {
	r.Cells = append(slices.Grow(slices.Clone(r.Cells), max(0, j+1-len(r.Cells))), make([]Cell, max(0, j+1-len(r.Cells)))...)
	r.Cells[j] = c
}

// Used returns how many cells of a row hold something.
func (r Row) Used() int {
	n := 0
	for _, c := range r.Cells {
		if c.Kind != Blank {
			n++
		}
	}
	return n
}

// Single reports whether Used is 1, and looks no further than it must.
func (r Row) Single() bool {
	n := 0
	for _, c := range r.Cells {
		if c.Kind != Blank {
			if n++; n > 1 {
				return false
			}
		}
	}
	return n == 1
}

// Sheet is a table as its owner sees it.
type Sheet struct {
	Name string
	Rows []Row  // in the order of lines; blank ones only where the file stores them
	Wide []Span // the ranges of cells that are drawn as one; see Fill
	// Unstored are the cells that have a formula and no value: programs that do not compute
	// leave it out.
	Unstored []Place
	Hidden   bool // its owner sees it only on demand
}

// Place is a cell.
type Place struct {
	Line   int // from 1
	Column int // from 0
}

// Span is a range of cells, lines from 1 and columns from 0, with both ends.
type Span struct{ Left, Top, Right, Bottom int }

// String returns the range as spreadsheets write it, D4:D5.
func (s Span) String() string {
	return cellNameOf(s.Left, s.Top) + ":" + cellNameOf(s.Right, s.Bottom)
}

// Covers reports whether a range of several columns that is drawn as one covers a cell.
func (s *Sheet) Covers(line, column int) bool {
	for _, m := range s.Wide {
		if m.Right > m.Left && m.Top <= line && line <= m.Bottom && m.Left <= column && column <= m.Right {
			return true
		}
	}
	return false
}

// Fill puts the value of the first cell of each range that is drawn as one into all of its
// cells that stand in a row of the sheet, which else are as they are stored: mostly blank.
// Ranges without a value are left out of Wide, and others end there where the longest row does.
// Its error is that of a sheet with more cells than the bounds have.
func (s *Sheet) Fill(most Bounds) error {
	b := builder{Sheet: *s, most: most}
	width := 0
	for _, r := range s.Rows {
		width = max(width, len(r.Cells))
		b.cells += len(r.Cells)
		if len(r.Cells) > 0 {
			b.filled++
		}
	}
	wide := b.Wide
	b.Wide = nil
	for _, m := range wide {
		m.Right = min(m.Right, max(width-1, m.Left))
		i, there := s.find(m.Top)
		if !there || m.Left < 0 || m.Left >= most.Columns || m.Right < m.Left || m.Bottom < m.Top {
			continue
		}
		first := b.Rows[i].At(m.Left)
		if first.Kind == Blank {
			continue
		}
		b.Wide = append(b.Wide, m)
		for ; i < len(b.Rows) && b.Rows[i].Line <= m.Bottom; i++ {
			for j := m.Left; j <= m.Right; j++ {
				if err := b.put(&b.Rows[i], j, first); err != nil {
					return err
				}
			}
			if m.Right > m.Left && allEqual(b.Rows[i].Cells) {
				b.Rows[i].Merged = true
			}
		}
	}
	*s = b.Sheet
	return nil
}

// find returns the first row of a line.
func (s *Sheet) find(line int) (i int, there bool) {
	return slices.BinarySearchFunc(s.Rows, line, func(r Row, l int) int { return r.Line - l })
}

// allEqual reports whether all cells that hold something hold the same.
func allEqual(cells []Cell) bool {
	first := ""
	for _, c := range cells {
		switch {
		case c.Kind == Blank:
		case first == "":
			first = c.Text
		case c.Text != first:
			return false
		}
	}
	return first != ""
}
