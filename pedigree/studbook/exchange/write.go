package exchange

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
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
// Their names may lead into folders beneath it, with strokes between.
func Create(dir string, files []File) error {
	if err := Free(dir); err != nil {
		return err
	}
	dir, err := filepath.Abs(dir)
	if err != nil {
		return err
	}
	_, err = os.Stat(dir)
	fresh, beside := errors.Is(err, fs.ErrNotExist), dir
	if fresh {
		beside = filepath.Dir(dir)
	}
	if err := os.MkdirAll(beside, 0o777); err != nil {
		return err
	}
	temporary, err := os.MkdirTemp(beside, ".pairwright-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(temporary)
	if err := os.Chmod(temporary, 0o755); err != nil {
		return err
	}
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
		return os.Rename(temporary, dir)
	}
	return moveUp(temporary, dir)
}

// moveUp moves what a folder holds into the one that it stands in, all or
// nothing.
func moveUp(from, into string) (err error) {
	entries, err := os.ReadDir(from)
	if err != nil {
		return err
	}
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
