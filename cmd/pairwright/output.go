package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"pairwright/cmd/pairwright/internal/question"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/disk"
)

// outputs are where one run of a command writes to. No file that the run has
// read or written is written over, and none is made that the next run would read.
type outputs struct {
	read   []fs.FileInfo
	folder string // that was read
	stdout io.Writer
}

// check says whether files can be written, before anything is computed: a
// blank name is the screen, which may be a file too that somebody adds to.
func (o *outputs) check(names ...string) error {
	var paths []string
	var there []fs.FileInfo
	if w, ok := o.stdout.(*writer); ok {
		if f, ok := w.to.(interface{ Stat() (fs.FileInfo, error) }); ok {
			info, err := f.Stat()
			for _, r := range o.read {
				if err == nil && os.SameFile(info, r) {
					return question.Usagef("the answer would go to the end of %s, which was read for it: name another file", r.Name())
				}
			}
		}
	}
	for _, name := range names {
		if name == "" {
			continue
		}
		if err := o.free(name); err != nil {
			return err
		}
		at, err := disk.Target(name)
		if err != nil {
			return err
		}
		if !isFolder(filepath.Dir(at)) && !seasonsFolder(filepath.Dir(at)) {
			return fmt.Errorf("%s was not written: there is no folder %s; make it first, or name another", name, filepath.Dir(at))
		}
		if studbook.OfFolder(filepath.Base(at)) && sameFolder(at, o.folder) {
			return question.Usagef("%s is a name that the colony's folder is read by, and this is an answer: name another file", name)
		}
		if at, err = filepath.Abs(at); err != nil {
			return err
		}
		if dir, err := filepath.EvalSymlinks(filepath.Dir(at)); err == nil {
			at = filepath.Join(dir, filepath.Base(at))
		}
		twice := slices.Contains(paths, at)
		if info, err := os.Stat(name); err == nil {
			twice = twice || slices.ContainsFunc(there, func(other fs.FileInfo) bool { return os.SameFile(info, other) })
			there = append(there, info)
		}
		if twice {
			return question.Usagef("%s would be written twice: name a file for each", name)
		}
		paths = append(paths, at)
	}
	return nil
}

// sameFolder reports whether a file stands in a folder.
func sameFolder(file, dir string) bool {
	in, err1 := os.Stat(filepath.Dir(file))
	folder, err2 := os.Stat(dir)
	return err1 == nil && err2 == nil && os.SameFile(in, folder)
}

func isFolder(name string) bool {
	info, err := os.Stat(name)
	return err == nil && info.IsDir()
}

// seasonsFolder reports whether a folder that is not there is the one that keeps
// the seasons of a colony, which is made when it is first needed.
func seasonsFolder(name string) bool {
	return filepath.Base(name) == studbook.SeasonsFolder && isFolder(filepath.Dir(name))
}

// free says whether a file was not read or written in this run, whatever it
// is called there: another name, a link to it.
func (o *outputs) free(name string) error {
	info, err := os.Stat(name)
	if err != nil {
		return nil // there is none, or writing it will say why not
	}
	if info.IsDir() {
		return question.Usagef("%s is a folder: name a file", name)
	}
	for _, r := range o.read {
		if os.SameFile(info, r) {
			return question.Usagef("%s was read for this answer and would be lost: name another file", name)
		}
	}
	return nil
}

// output is what one file is to hold.
type output struct {
	name    string // "" for the screen
	content []byte
}

// write writes all of it or, where one cannot be written, none: whatever can fail
// comes before the first file has its place.
func (o *outputs) write(all ...output) (err error) {
	type waiting struct {
		*disk.Prepared
		name string
	}
	var files []waiting
	defer func() {
		for _, f := range files {
			err = errors.Join(err, f.Drop())
		}
	}()
	for _, w := range all {
		if w.name == "" {
			continue
		}
		if err := o.free(w.name); err != nil {
			return err
		}
		if dir := filepath.Dir(w.name); !isFolder(dir) && seasonsFolder(dir) {
			if err := os.Mkdir(dir, 0o777); err != nil {
				return unwrittenFile(w.name, err)
			}
		}
		p, err := disk.Disk{}.Prepare(w.name, w.content)
		if err != nil {
			return unwrittenFile(w.name, err)
		}
		files = append(files, waiting{p, w.name})
	}
	for _, w := range all {
		if w.name == "" {
			if _, err := o.stdout.Write(w.content); err != nil {
				return err
			}
		}
	}
	slices.SortStableFunc(files, func(a, b waiting) int { // devices and pipes first, which may be full
		switch {
		case a.Flows() == b.Flows():
			return 0
		case a.Flows():
			return -1
		}
		return 1
	})
	for len(files) > 0 {
		if err := files[0].Put(); err != nil {
			return unwrittenFile(files[0].name, err)
		}
		files = files[1:]
	}
	return nil
}

// unwrittenFile says which file was not written, and why.
func unwrittenFile(name string, err error) error {
	return fmt.Errorf("%s was not written: %w", name, disk.Cause(err))
}
