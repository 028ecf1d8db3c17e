package disk

import (
	"errors"
	"fmt"
	"io/fs"
	"iter"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// Free reports whether a folder is new or empty.
func Free(dir string) error {
	if info, err := os.Stat(dir); err == nil && !info.IsDir() {
		return fmt.Errorf("%s is a file: name a new folder", dir)
	}
	list, err := os.ReadDir(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return err
	case slices.ContainsFunc(list, func(e fs.DirEntry) bool { return !leftBehind(e) }):
		return notEmpty(dir)
	}
	return nil
}

func notEmpty(dir string) error { return fmt.Errorf("%s is not empty: name a new folder", dir) }

// Fill writes files into a folder that is new or empty, all of them or none. Their
// names may lead into folders beneath it, with strokes between. In a folder that is
// there they appear one by one, in their order, once all of them are on the disk. An
// error of the system is an *fs.PathError of the folder.
func Fill(dir string, files iter.Seq2[string, []byte]) error {
	if err := Free(dir); err != nil {
		return err
	}
	return named(dir, fill(dir, files))
}

func fill(dir string, files iter.Seq2[string, []byte]) error {
	dir, err := Target(dir)
	if err != nil {
		return err
	}
	if dir, err = filepath.Abs(dir); err != nil {
		return err
	}
	_, err = os.Stat(dir)
	fresh := errors.Is(err, fs.ErrNotExist)
	beside := dir
	if fresh {
		beside = filepath.Dir(dir)
	}
	if err := os.MkdirAll(beside, 0o777); err != nil {
		return err
	}
	d := Disk{}
	if err := d.Sweep(beside); err != nil {
		return err
	}
	temporary, err := newBeside(filepath.Join(beside, filepath.Base(dir)), func(name string) (*os.File, error) {
		if err := os.Mkdir(name, 0o777); err != nil {
			return nil, err
		}
		f, err := os.Open(name)
		if errors.Is(err, fs.ErrNotExist) {
			err = errSwept
		}
		return f, err
	})
	if err != nil {
		return err
	}
	names, err := d.fillFolder(temporary.Name(), files)
	switch {
	case err != nil:
	case fresh:
		if err = moveOpen(temporary, dir); err == nil {
			return d.settle(beside)
		}
	default:
		err = moveUp(temporary.Name(), dir, names)
	}
	return errors.Join(err, removeOpen(temporary), d.settle(beside))
}

// fillFolder writes files into a new folder and returns the names of what then
// stands in it, in their order.
func (d Disk) fillFolder(dir string, files iter.Seq2[string, []byte]) (names []string, err error) {
	folders := []string{dir}
	for file, content := range files {
		name := filepath.Join(dir, filepath.FromSlash(file))
		if in := filepath.Dir(name); !slices.Contains(folders, in) {
			if err := os.MkdirAll(in, 0o777); err != nil {
				return nil, err
			}
			folders = append(folders, in)
		}
		f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
		if err != nil {
			return nil, err
		}
		if err := errors.Join(d.fill(f, content, 0), f.Close()); err != nil {
			return nil, err
		}
		if first, _, _ := strings.Cut(file, "/"); !slices.Contains(names, first) {
			names = append(names, first)
		}
	}
	for _, folder := range folders {
		if err := d.settle(folder); err != nil {
			return nil, err
		}
	}
	return names, nil
}

// moveUp moves what a folder holds into the one that it stands in, which has
// nothing else, all or nothing.
func moveUp(from, into string, names []string) error {
	if list, err := os.ReadDir(into); err != nil || len(list) != 1 {
		return errors.Join(err, notEmpty(into))
	}
	for k, name := range names {
		if err := os.Rename(filepath.Join(from, name), filepath.Join(into, name)); err != nil {
			for _, moved := range names[:k] {
				err = errors.Join(err, os.RemoveAll(filepath.Join(into, moved)))
			}
			return err
		}
	}
	return nil
}
