// Package disk writes files so that whatever happens in between, each is whole:
// the old one or the new one. It knows nothing of what stands in them.
package disk

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"
)

// Disk writes to the file system. The zero Disk is usable.
type Disk struct {
	// Before is called before each step that touches the file system, with
	// the step and the file; an error of it ends everything there and then,
	// as if the program had been killed. Tests set it.
	Before func(step, name string) error
}

// Write writes the whole file or leaves what was there; see Disk.Write.
func Write(name string, content []byte) error { return Disk{}.Write(name, content) }

// Create writes a file that must not be there yet, the whole of it or nothing.
func Create(name string, content []byte) error {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return err
	}
	d := Disk{}
	if err := d.fill(f, content, 0); err != nil {
		return d.tidy(name, err)
	}
	return nil
}

func (d Disk) before(step, name string) error {
	if d.Before == nil {
		return nil
	}
	return d.Before(step, name)
}

// Write writes the whole file or leaves what was there. Through a link the
// file that it leads to is written; what is no regular file, as a device or a
// pipe, is written to and not replaced. A file keeps its permissions; a new
// one has those that the user's files get. An error is an *fs.PathError of that name.
func (d Disk) Write(name string, content []byte) error {
	err := d.write(name, content)
	if err == nil {
		return nil
	}
	return &fs.PathError{Op: "write", Path: name, Err: Cause(err)}
}

// Cause is what the system says in an error, without the names of files, which may
// be ones that only the program knows.
func Cause(err error) error {
	var link *os.LinkError
	var path *fs.PathError
	switch {
	case errors.As(err, &link):
		return link.Err
	case errors.As(err, &path):
		return path.Err
	}
	return err
}

func (d Disk) write(name string, content []byte) error {
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
	at, err := Target(name)
	if err != nil {
		return err
	}
	if err := d.before("create", at); err != nil {
		return err
	}
	f, err := newBeside(at)
	if err != nil {
		return err
	}
	if err := d.fill(f, content, mode); err != nil {
		return d.tidy(f.Name(), err)
	}
	if err := d.before("rename", at); err != nil {
		return err
	}
	if err := os.Rename(f.Name(), at); err != nil {
		return d.tidy(f.Name(), err)
	}
	return d.settle(filepath.Dir(at))
}

// fill writes a new file to its end and waits until it is on the disk.
func (d Disk) fill(f *os.File, content []byte, mode fs.FileMode) (err error) {
	defer func() {
		if e := f.Close(); err == nil {
			err = e
		}
	}()
	if err := d.before("write", f.Name()); err != nil {
		return err
	}
	if _, err := f.Write(content); err != nil {
		return err
	}
	if mode != 0 {
		if err := f.Chmod(mode); err != nil {
			return err
		}
	}
	if err := d.before("sync", f.Name()); err != nil {
		return err
	}
	return f.Sync()
}

// tidy removes a file that was begun and returns the error that ended it.
func (d Disk) tidy(name string, err error) error {
	if e := d.before("remove", name); e != nil {
		return err
	}
	return errors.Join(err, os.Remove(name))
}

// settle waits until the names in a folder are on the disk. Systems that
// cannot do that to a folder do it by themselves.
func (d Disk) settle(dir string) error {
	if err := d.before("settle", dir); err != nil {
		return err
	}
	if f, err := os.Open(dir); err == nil {
		_ = f.Sync()
		return f.Close()
	}
	return nil
}

// Rename gives a file another name, in place of what had it.
func (d Disk) Rename(from, to string) error {
	if err := d.before("rename", to); err != nil {
		return err
	}
	if err := os.Rename(from, to); err != nil {
		return err
	}
	return d.settle(filepath.Dir(to))
}

// Remove removes a file, if it is there.
func (d Disk) Remove(name string) error {
	if err := d.before("remove", name); err != nil {
		return err
	}
	if err := os.Remove(name); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// abandoned is how long what is to take the place of a file may stand there: of a
// program that goes on it is gone in a moment.
const abandoned = time.Minute

// Beside calls create with a name beside a file or folder for what is to take its
// place when it is whole, and with the next while the error is fs.ErrExist. What
// killed programs left there is removed.
func Beside(name string, create func(part string) error) error {
	dir, base := filepath.Split(name)
	part := func(n int) string { return fmt.Sprintf("%s.%s.part%d", dir, base, n) }
	const most = 10 // programs killed within a minute
	for n := range most {
		if info, err := os.Lstat(part(n)); err == nil && time.Since(info.ModTime()) > abandoned {
			_ = os.RemoveAll(part(n))
		}
	}
	for n := 0; ; n++ {
		if err := create(part(n)); !errors.Is(err, fs.ErrExist) {
			return err
		}
	}
}

// newBeside creates a file beside another, to take its place. Unlike
// os.CreateTemp it leaves its permissions to the user's umask.
func newBeside(name string) (f *os.File, err error) {
	err = Beside(name, func(part string) error {
		f, err = os.OpenFile(part, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
		return err
	})
	return f, err
}

// Target follows links to the file that a name leads to, which need not be
// there yet.
func Target(name string) (string, error) {
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
