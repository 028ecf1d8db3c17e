package exchange

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"pairwright/pedigree/studbook/disk"
)

// Base is the folder inside a colony folder that keeps the files as an import
// wrote them, to tell later what was changed here and what in a newer export.
const Base = "imported"

// Create writes a new colony folder, the whole of it or nothing. The folder
// must not exist or be empty.
func Create(dir string, files []File) (err error) {
	if err := Free(dir); err != nil {
		return err
	}
	dir = filepath.Clean(dir)
	if err := os.MkdirAll(filepath.Dir(dir), 0o777); err != nil {
		return err
	}
	temporary, err := os.MkdirTemp(filepath.Dir(dir), ".pairwright-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(temporary)
	if err := os.Chmod(temporary, 0o755); err != nil {
		return err
	}
	if err := os.Mkdir(filepath.Join(temporary, Base), 0o777); err != nil {
		return err
	}
	for _, f := range files {
		if err := disk.Create(filepath.Join(temporary, f.Name), f.Content); err != nil {
			return err
		}
		if filepath.Ext(f.Name) == ".csv" {
			if err := disk.Create(filepath.Join(temporary, Base, f.Name), f.Content); err != nil {
				return err
			}
		}
	}
	if err := os.Remove(dir); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return os.Rename(temporary, dir)
}

// Free reports whether a folder is new or empty.
func Free(dir string) error {
	list, err := os.ReadDir(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("%s is no folder that can be used: %w", dir, err)
	case len(list) > 0:
		return fmt.Errorf("%s is not empty: name a new folder", dir)
	}
	return nil
}
