package studbook

import (
	"io"
	"slices"

	"github.com/gocarina/gocsv"
)

// Record is a row of one of the files of a colony folder, but for genotypes.csv, whose
// columns are not the same in every folder; see Colony.GenotypeRows.
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
	kept := slices.DeleteFunc(slices.Clone(records), func(record T) bool {
		b, is := any(record).(Bird)
		return is && !b.Recorded
	})
	return writeRows(w, tableOf[T](), kept, without...)
}

// writeRows writes records under the heading of a file, but for the columns without.
func writeRows[T any](w io.Writer, f *file[T], records []T, without ...string) error {
	columns := slices.DeleteFunc(slices.Clone(f.columns), func(c column[T]) bool { return slices.Contains(without, c.Name) })
	out := gocsv.DefaultCSVWriter(w)
	cells := make([]string, len(columns))
	for i, c := range columns {
		cells[i] = c.Name
	}
	if err := out.Write(cells); err != nil {
		return err
	}
	for k := range records {
		for i, c := range columns {
			cells[i] = Guarded(c.write(&records[k]))
		}
		if err := out.Write(cells); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}
