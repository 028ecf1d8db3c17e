package sheets

import (
	"slices"
)

// MostLetters is how many bytes a cell may have: no spreadsheet holds more.
const MostLetters = 1 << 17

// Bounds are what a workbook may grow to in memory, whatever its file says.
type Bounds struct {
	Unzipped int64 // bytes of the parts of the file that are read
	Rows     int   // of a sheet, that hold something
	Columns  int   // of a sheet; what stands to the right of them is left out
	Cells    int   // of a sheet, with the blank ones before others of their row
}

// builder collects the cells of a sheet.
type builder struct {
	Sheet
	most   Bounds
	cells  int
	filled int // rows with cells
}

// add counts rows with cells.
func (b *builder) add(rows, cells int) error {
	b.filled, b.cells = b.filled+rows, b.cells+cells
	switch {
	case b.cells > b.most.Cells:
		return ErrTooManyCells
	case b.filled > b.most.Rows:
		return ErrTooManyRows
	}
	return nil
}

// row begins a row. One of a line that there was before is a row of its own, and takes nothing
// from the other.
func (b *builder) row(line int) *Row {
	b.Rows = append(b.Rows, Row{Line: line})
	return &b.Rows[len(b.Rows)-1]
}

// put sets a cell of a row, column from 0.
func (b *builder) put(r *Row, column int, c Cell) error {
	if column < 0 || column >= b.most.Columns || c.Kind == Blank {
		return nil
	}
	if len(c.Text) > MostLetters {
		return ErrTooLarge
	}
	if grow := column + 1 - len(r.Cells); grow > 0 {
		rows := 0
		if len(r.Cells) == 0 {
			rows = 1
		}
		if err := b.add(rows, grow); err != nil {
			return err
		}
		if cap(r.Cells) <= column {
			width := column + 1
			if n := len(b.Rows); n > 1 {
				width = max(width, len(b.Rows[n-2].Cells))
			}
			wider := make([]Cell, len(r.Cells), width)
			copy(wider, r.Cells)
			r.Cells = wider
		}
		r.Cells = r.Cells[:column+1]
	}
	r.Cells[column] = c
	return nil
}

// finish puts the rows in order.
func (b *builder) finish(wide []Span) Sheet {
	slices.SortStableFunc(b.Rows, func(x, y Row) int { return x.Line - y.Line })
	b.Wide = wide
	return b.Sheet
}
