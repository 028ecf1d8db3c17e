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

// AccountFile is the file of a colony folder that tells what became of the file it
// was made of.
const AccountFile = "import-report.txt"

// Create makes the colony folder of an import that did not stop, with an account of
// it and what a merge will need; see Create. It returns the names of the files that
// are the user's.
func (r *Result) Create(dir string, account []byte) (names []string, err error) {
	files := append(slices.Clone(r.Files), File{AccountFile, account})
	for _, f := range files {
		names = append(names, f.Name)
	}
	return names, Create(dir, withBase(files))
}

// withBase returns the files of an import with those that Base keeps.
func withBase(files []File) []File {
	all := slices.Clone(files)
	for _, f := range files {
		if path.Ext(f.Name) == ".csv" {
			all = append(all, File{path.Join(Base, f.Name), f.Content})
		}
	}
	return all
}

// FilesOf returns the files of a folder, without the folders in it.
func FilesOf(dir fs.FS) ([]File, error) {
	entries, err := fs.ReadDir(dir, ".")
	if err != nil {
		return nil, err
	}
	var files []File
	for _, e := range entries {
		if e.IsDir() {
			continue
		}
		content, err := fs.ReadFile(dir, e.Name())
		if err != nil {
			return nil, err
		}
		files = append(files, File{Name: e.Name(), Content: content})
	}
	return files, nil
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
