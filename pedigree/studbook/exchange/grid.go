package exchange

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"pairwright/pedigree/studbook"
)

// kind is what a cell holds.
type kind byte

const (
	blank  kind = iota
	words       // text, or whatever a table of text has
	number      // stored as a number, without the look of a date
	day         // stored as a date
)

// cell is one cell of a sheet: what it shows, and what is stored behind it.
type cell struct {
	text string  // as shown, trimmed; of a number without a look of its own, its shortest form
	num  float64 // the number, or the studbook.Day
	kind kind
}

// day returns the date of a cell stored as one.
func (c cell) day() studbook.Day { return studbook.Day(c.num) }

func textCell(s string) cell {
	if n := len(s); n > 0 && s[0] > ' ' && s[0] < 0x80 && s[n-1] > ' ' && s[n-1] < 0x80 {
		return cell{text: s, kind: words}
	}
	s = strings.TrimFunc(s, func(r rune) bool { return r == '\u00a0' || r == '\ufeff' || r == '\u200b' || r <= ' ' })
	if s == "" {
		return cell{}
	}
	return cell{text: s, kind: words}
}

// numberText is a number as a cell without a format of its own shows it.
func numberText(x float64) string {
	if x == math.Trunc(x) && math.Abs(x) < 1e15 {
		return strconv.FormatFloat(x, 'f', 0, 64)
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// row is a row of a sheet that holds something.
type row struct {
	line  int // from 1
	cells []cell
	// merged tells that every value of the row is one cell drawn over several
	// columns.
	merged   bool
	struck   bool // its first value is struck through
	coloured bool // its first value stands on a colour
}

func (r row) at(j int) cell {
	if j < 0 || j >= len(r.cells) {
		return cell{}
	}
	return r.cells[j]
}

// used returns how many cells of a row hold something.
func (r row) used() int {
	n := 0
	for _, c := range r.cells {
		if c.kind != blank {
			n++
		}
	}
	return n
}

// single reports whether used is 1, and looks no further than it must.
func (r row) single() bool {
	n := 0
	for _, c := range r.cells {
		if c.kind != blank {
			if n++; n > 1 {
				return false
			}
		}
	}
	return n == 1
}

// sheet is a table as its owner sees it.
type sheet struct {
	name string
	of   string // the sheet of the file that it is a part of; see stacked
	rows []row  // in the order of lines; blank ones only where the file stores them
	wide []span
	// unstored are the cells of a workbook that have a formula and no value: programs
	// that do not compute leave it out.
	unstored []place
	from1904 bool // its workbook counts days from 1904
	hidden   bool // its owner sees it only on demand
	// fixed names the columns of a format that has its own: no header is
	// looked for, and nothing has to agree with anything.
	fixed []string
}

// called reports whether a name is the one of the sheet, or of that which it is a part of.
func (s *sheet) called(name string) bool {
	return strings.EqualFold(s.name, name) || strings.EqualFold(s.of, name)
}

// place is a cell by its line from 1 and its column from 0.
type place struct{ line, column int }

// span is a merged range, columns and lines with both ends.
type span struct{ left, top, right, bottom int }

// mostRows is how many rows of a sheet, or birds of a family tree, are imported: an
// import takes some 4 kB for each, and a gigabyte in all. A variable for the sake of
// tests.
var mostRows = 200_000

// mostColumns and mostCells bound a sheet in memory, whatever its file says.
const (
	mostColumns = 1000
	mostCells   = 6_000_000
	mostLetters = 1 << 17 // of a cell, in bytes: no spreadsheet holds more
)

var (
	errTooBig  = errors.New("it grows to more than can be read")
	errTooLong = errors.New("it has more rows than can be imported")
)

// tooLong refuses a file of too many rows.
func tooLong() *refusal {
	return &refusal{fmt.Sprintf("the file has more than %s birds or rows", studbook.Number(mostRows)),
		"take those that matter to a file of their own; or write them as studbook.csv with our names of columns, which is read as it stands"}
}

// builder collects the cells of a sheet.
type builder struct {
	sheet
	cells  int
	filled int // rows with cells
}

// add counts rows with cells.
func (b *builder) add(rows, cells int) error {
	b.filled, b.cells = b.filled+rows, b.cells+cells
	switch {
	case b.cells > mostCells:
		return errTooBig
	case b.filled > mostRows:
		return errTooLong
	}
	return nil
}

// row begins the row with a line number, or goes on with it.
func (b *builder) row(line int) *row {
	if n := len(b.rows); n == 0 || b.rows[n-1].line != line {
		b.rows = append(b.rows, row{line: line})
	}
	return &b.rows[len(b.rows)-1]
}

// put sets a cell of a row, column from 0.
func (b *builder) put(r *row, column int, c cell) error {
	if column < 0 || column >= mostColumns || c.kind == blank {
		return nil
	}
	if len(c.text) > mostLetters {
		return errTooBig
	}
	if grow := column + 1 - len(r.cells); grow > 0 {
		rows := 0
		if len(r.cells) == 0 {
			rows = 1
		}
		if err := b.add(rows, grow); err != nil {
			return err
		}
		if cap(r.cells) <= column {
			width := column + 1
			if n := len(b.rows); n > 1 {
				width = max(width, len(b.rows[n-2].cells))
			}
			wider := make([]cell, len(r.cells), width)
			copy(wider, r.cells)
			r.cells = wider
		}
		r.cells = r.cells[:column+1]
	}
	r.cells[column] = c
	return nil
}

// finish puts the rows in order and fills merged ranges with the value of
// their first cell.
func (b *builder) finish(merged []span) (sheet, error) {
	slices.SortStableFunc(b.rows, func(x, y row) int { return x.line - y.line })
	width := 0
	for _, r := range b.rows {
		width = max(width, len(r.cells))
	}
	find := func(line int) int {
		i, _ := slices.BinarySearchFunc(b.rows, line, func(r row, l int) int { return r.line - l })
		return i
	}
	for _, m := range merged {
		m.right = min(m.right, max(width-1, m.left))
		i := find(m.top)
		if i == len(b.rows) || b.rows[i].line != m.top || m.left < 0 || m.left >= mostColumns || m.right < m.left || m.bottom < m.top {
			continue
		}
		first := b.rows[i].at(m.left)
		if first.kind == blank {
			continue
		}
		b.wide = append(b.wide, m)
		for ; i < len(b.rows) && b.rows[i].line <= m.bottom; i++ {
			for j := m.left; j <= m.right; j++ {
				if err := b.put(&b.rows[i], j, first); err != nil {
					return sheet{}, err
				}
			}
			if m.right > m.left && allEqual(b.rows[i].cells) {
				b.rows[i].merged = true
			}
		}
	}
	return b.sheet, nil
}

// allEqual reports whether all cells that hold something hold the same.
func allEqual(cells []cell) bool {
	first := ""
	for _, c := range cells {
		switch {
		case c.kind == blank:
		case first == "":
			first = c.text
		case c.text != first:
			return false
		}
	}
	return first != ""
}

// covers reports whether a merged range of several columns covers a cell.
func (s *sheet) covers(line, column int) bool {
	for _, m := range s.wide {
		if m.right > m.left && m.top <= line && line <= m.bottom && m.left <= column && column <= m.right {
			return true
		}
	}
	return false
}
