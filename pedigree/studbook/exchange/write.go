package exchange

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

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
// Their names may lead into folders beneath it, with strokes between.
func Create(dir string, files []File) error {
	if err := Free(dir); err != nil {
		return err
	}
	if err := create(dir, files); err != nil {
		return fmt.Errorf("%s was not written: %w", dir, disk.Cause(err))
	}
	return nil
}

func create(dir string, files []File) error {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return err
	}
	_, err = os.Stat(dir)
	fresh, place := errors.Is(err, fs.ErrNotExist), filepath.Join(dir, whole)
	if fresh {
		place = dir
	}
	if err := os.MkdirAll(filepath.Dir(place), 0o777); err != nil {
		return err
	}
	var temporary string
	if err := disk.Beside(place, func(part string) error {
		temporary = part
		return os.Mkdir(part, 0o777)
	}); err != nil {
		return err
	}
	defer os.RemoveAll(temporary)
	for _, f := range files {
		name := filepath.Join(temporary, filepath.FromSlash(f.Name))
		if err := os.MkdirAll(filepath.Dir(name), 0o777); err != nil {
			return err
		}
		if err := disk.Create(name, f.Content); err != nil {
			return err
		}
	}
	if fresh {
		return disk.Disk{}.Rename(temporary, dir)
	}
	return moveUp(temporary, dir)
}

// whole is what the files of a folder that is there stand beside, until all are made.
const whole = "files"

// moveUp moves what a folder holds into the one that it stands in, all or
// nothing, and last the studbook, without which there is no colony.
func moveUp(from, into string) (err error) {
	entries, err := os.ReadDir(from)
	if err != nil {
		return err
	}
	last := func(e fs.DirEntry) int {
		if e.Name() == "studbook.csv" {
			return 1
		}
		return 0
	}
	slices.SortStableFunc(entries, func(a, b fs.DirEntry) int { return last(a) - last(b) })
	for k, e := range entries {
		if err := os.Rename(filepath.Join(from, e.Name()), filepath.Join(into, e.Name())); err != nil {
			for _, moved := range entries[:k] {
				err = errors.Join(err, os.RemoveAll(filepath.Join(into, moved.Name())))
			}
			return err
		}
	}
	return nil
}

// Free reports whether a folder is new or empty.
func Free(dir string) error {
	list, err := os.ReadDir(dir)
	list = slices.DeleteFunc(list, func(e fs.DirEntry) bool { return strings.HasPrefix(e.Name(), "."+whole+".part") }) // of a killed program
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("%s cannot be used as a folder: %w", dir, err)
	case len(list) > 0:
		return fmt.Errorf("%s is not empty: name a new folder", dir)
	}
	return nil
}
