package studbook

import (
	"io"
	"slices"

	"github.com/gocarina/gocsv"
)

// Record is a row of one of the files of a colony folder.
type Record interface {
	Bird | Move | Bond | Clutch | Hold | Institution | FounderKinship | Request | Ruling | Change
}

// tableOf returns the file that holds records of a type.
func tableOf[T Record]() *file[T] {
	for _, t := range tables {
		if f, ok := t.(*file[T]); ok {
			return f
		}
	}
	panic("studbook: a record without a file")
}

// Header returns the names of the columns of a record's file, in the order in
// which Cells has them.
func Header[T Record]() []string {
	f := tableOf[T]()
	names := make([]string, len(f.columns))
	for i, c := range f.columns {
		names[i] = c.Name
	}
	return names
}

// Cells returns a record as the cells of its row. Read again they give the
// record, but for its line.
func Cells[T Record](record T) []string {
	f := tableOf[T]()
	cells := make([]string, len(f.columns))
	for i, c := range f.columns {
		cells[i] = c.write(&record)
	}
	return cells
}

// Write writes records as the CSV file that they belong to, with a heading, but
// for the columns without. Parents without a row, which are no rows, are left
// out.
func Write[T Record](w io.Writer, records []T, without ...string) error {
	header := Header[T]()
	keep := func(cells []string) []string {
		var kept []string
		for i, cell := range cells {
			if !slices.Contains(without, header[i]) {
				kept = append(kept, Guarded(cell))
			}
		}
		return kept
	}
	out := gocsv.DefaultCSVWriter(w)
	if err := out.Write(keep(header)); err != nil {
		return err
	}
	for _, record := range records {
		if b, ok := any(record).(Bird); ok && !b.Recorded {
			continue
		}
		if err := out.Write(keep(Cells(record))); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}
