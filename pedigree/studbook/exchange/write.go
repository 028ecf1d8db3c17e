package exchange

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"

	"pairwright/pedigree/studbook/disk"
)

// Base is the folder inside a colony folder that keeps the files as an import
// wrote them, to tell later what was changed here and what in a newer export.
const Base = "imported"

// WithBase returns the files of an import with those that Base keeps.
func WithBase(files []File) []File {
	all := slices.Clone(files)
	for _, f := range files {
		if path.Ext(f.Name) == ".csv" {
			all = append(all, File{path.Join(Base, f.Name), f.Content})
		}
	}
	return all
}

// Create writes files into a folder that is new or empty, all of them or none.
// Their names may lead into folders beneath it, with strokes between. Without
// studbook.csv a folder is none of a colony: it comes last.
func Create(dir string, files []File) error {
	err := disk.Fill(dir, func(yield func(string, []byte) bool) {
		for _, last := range []bool{false, true} {
			for _, f := range files {
				if (f.Name == "studbook.csv") == last && !yield(f.Name, f.Content) {
					return
				}
			}
		}
	})
	if of := (*fs.PathError)(nil); errors.As(err, &of) {
		return fmt.Errorf("%s was not written: %w", dir, of.Err)
	}
	return err
}
