// Package disk writes files so that whatever happens in between, each is whole:
// the old one or the new one. It knows nothing of what stands in them.
package disk

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Disk writes to the file system. The zero Disk is usable.
type Disk struct {
	// Before is called before each step that touches the file system, with
	// the step and the file; an error of it ends everything there and then,
	// as if the program had been killed. Tests set it.
	Before func(step, name string) error
}

func (d Disk) before(step, name string) error {
	if d.Before == nil {
		return nil
	}
	return d.Before(step, name)
}

// Write writes the whole file or leaves what was there; see Prepare. An error is an
// *fs.PathError of that name.
func (d Disk) Write(name string, content []byte) error {
	p, err := d.Prepare(name, content)
	if err != nil {
		return err
	}
	return p.Put()
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

// named is an error as one of the file of that name.
func named(name string, err error) error {
	if err == nil {
		return nil
	}
	return &fs.PathError{Op: "write", Path: name, Err: Cause(err)}
}

// Prepared is a file that is whole on the disk and waits beside the place that
// it is to take.
type Prepared struct {
	disk    Disk
	name    string
	at      string
	file    *os.File // locked; nil where the place is a device or a pipe
	content []byte   // for that
}

// Prepare writes a file for Put to give it its place. Through a link the place is
// that of the file it leads to; what is no regular file, as a device or a pipe, is
// written to by Put and not replaced. A file keeps its permissions; a new one has
// those that the user's files get. What killed programs left in the folder goes.
func (d Disk) Prepare(name string, content []byte) (*Prepared, error) {
	p, err := d.prepare(name, content)
	return p, named(name, err)
}

func (d Disk) prepare(name string, content []byte) (*Prepared, error) {
	mode := fs.FileMode(0)
	if info, err := os.Stat(name); err == nil {
		if !info.Mode().IsRegular() {
			return &Prepared{disk: d, name: name, at: name, content: content}, nil
		}
		// Whoever may not write a file may not replace it.
		f, err := os.OpenFile(name, os.O_WRONLY, 0)
		if err != nil {
			return nil, err
		}
		if err := f.Close(); err != nil {
			return nil, err
		}
		mode = info.Mode().Perm()
	}
	at, err := Target(name)
	if err != nil {
		return nil, err
	}
	if err := d.Sweep(filepath.Dir(at)); err != nil {
		return nil, err
	}
	if err := d.before("create", at); err != nil {
		return nil, err
	}
	f, err := newBeside(at, func(temporary string) (*os.File, error) {
		return os.OpenFile(temporary, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	})
	if err != nil {
		return nil, err
	}
	p := &Prepared{disk: d, name: name, at: at, file: f}
	if err := d.fill(f, content, mode); err != nil {
		return nil, p.drop(err)
	}
	return p, nil
}

// Flows reports whether the place is a device or a pipe, which Put may find full.
func (p *Prepared) Flows() bool { return p.file == nil }

// Put gives the file its place. An error is an *fs.PathError of its name.
func (p *Prepared) Put() error { return named(p.name, p.put()) }

func (p *Prepared) put() error {
	if p.file == nil {
		f, err := os.OpenFile(p.at, os.O_WRONLY, 0)
		if err != nil {
			return err
		}
		_, err = f.Write(p.content)
		return errors.Join(err, f.Close())
	}
	if err := p.disk.before("rename", p.at); err != nil {
		return errors.Join(err, p.file.Close())
	}
	if err := moveOpen(p.file, p.at); err != nil {
		return p.drop(err)
	}
	return p.disk.settle(filepath.Dir(p.at))
}

// Drop removes the file: it is not to have its place.
func (p *Prepared) Drop() error {
	if p.file == nil {
		return nil
	}
	return p.drop(nil)
}

// drop removes the file and returns the error that it is dropped for.
func (p *Prepared) drop(err error) error {
	defer p.file.Close() // a second time where it was moved; and no error of it matters any more
	if e := p.disk.before("remove", p.file.Name()); e != nil {
		return err
	}
	return errors.Join(err, removeOpen(p.file))
}

// fill writes a new file to its end and waits until it is on the disk.
func (d Disk) fill(f *os.File, content []byte, mode fs.FileMode) error {
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
