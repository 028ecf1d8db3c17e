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
)

// outputs are where one run of a command writes to. No file that the run has
// read or written is written over.
type outputs struct {
	read   []fs.FileInfo
	stdout io.Writer
}

// check says whether files can be written, before anything is computed: a
// blank name is the screen.
func (o *outputs) check(names ...string) error {
	var paths []string
	var there []fs.FileInfo
	for _, name := range names {
		if name == "" {
			continue
		}
		if err := o.free(name); err != nil {
			return err
		}
		at, err := target(name)
		if err != nil {
			return err
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
			return question.Usagef("%s would be written twice: give --out and --attach a file each", name)
		}
		paths = append(paths, at)
	}
	return nil
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

// write writes to a file, or to the screen if its name is blank.
func (o *outputs) write(name string, content []byte) error {
	if name == "" {
		_, err := o.stdout.Write(content)
		return err
	}
	if err := o.free(name); err != nil {
		return err
	}
	if err := writeFile(name, content); err != nil {
		return fmt.Errorf("%s was not written: %w", name, err)
	}
	if info, err := os.Stat(name); err == nil && info.Mode().IsRegular() {
		o.read = append(o.read, info)
	}
	return nil
}

// writeFile writes the whole file or leaves what was there. Through a link the
// file that it leads to is written; what is no regular file, as a device or a
// pipe, is written to and not replaced. A file keeps its permissions; a new
// one has those that the user's files get.
func writeFile(name string, content []byte) error {
	mode := fs.FileMode(0)
	if info, err := os.Stat(name); err == nil {
		// Whoever may not write a file may not replace it.
		f, err := os.OpenFile(name, os.O_WRONLY, 0)
		if err != nil {
			return err
		}
		if !info.Mode().IsRegular() {
			_, err := f.Write(content)
			return errors.Join(err, f.Close())
		}
		if err := f.Close(); err != nil {
			return err
		}
		mode = info.Mode().Perm()
	}
	at, err := target(name)
	if err != nil {
		return err
	}
	f, err := newBeside(at)
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	_, err = f.Write(content)
	if mode != 0 && err == nil {
		err = f.Chmod(mode)
	}
	if e := f.Sync(); err == nil {
		err = e
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		return err
	}
	return os.Rename(f.Name(), at)
}

// newBeside creates a file beside another, to take its place when it is whole.
// Unlike os.CreateTemp it leaves its permissions to the user's umask.
func newBeside(name string) (*os.File, error) {
	dir, base := filepath.Split(name)
	for n := 0; ; n++ {
		f, err := os.OpenFile(fmt.Sprintf("%s.%s.part%d", dir, base, n), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
		if !errors.Is(err, fs.ErrExist) {
			return f, err
		}
	}
}

// target follows links to the file that a name leads to, which need not be
// there yet.
func target(name string) (string, error) {
	const most = 40 // links, as systems allow
	for range most {
		to, err := os.Readlink(name)
		if err != nil {
			return name, nil // no link
		}
		if !filepath.IsAbs(to) {
			to = filepath.Join(filepath.Dir(name), to)
		}
		name = to
	}
	return "", fmt.Errorf("%s is a link that leads in circles", name)
}
