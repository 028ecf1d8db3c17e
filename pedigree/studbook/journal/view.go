package journal

import (
	"bytes"
	"fmt"
	"io/fs"
	"path"
	"time"

	"pairwright/pedigree/studbook"
)

// View returns a colony folder as one who only reads it should see it: within a
// change, also one that a kill ended, as it was before the change. It writes
// nothing.
func View(fsys fs.FS) fs.FS {
	_, old, err := unfinished(fsys)
	if err != nil {
		return fsys
	}
	return overlay{fsys, old}
}

// Whole runs a reading of the folder, again if a change was made meanwhile, so
// that what is read is of one state. Where changes follow one another without a
// pause it takes what it gets in the end.
func Whole(dir fs.FS, read func(fsys fs.FS) error) error {
	const trials = 50
	for n := 0; ; n++ {
		before := stamp(dir)
		err := read(View(dir))
		if stamp(dir) == before || n == trials {
			return err
		}
		time.Sleep(time.Millisecond)
	}
}

// stamp tells one state of the journal from the next.
func stamp(fsys fs.FS) string {
	raw, _ := readIfThere(fsys, Earlier+"/"+pending)
	numbers, _ := accounts(fsys)
	return fmt.Sprint(hashOf(raw), numbers)
}

// contents are files by name as they are to be.
func contents(files []studbook.Rewritten) map[string][]byte {
	m := make(map[string][]byte)
	for _, f := range files {
		m[f.Name] = f.After
	}
	return m
}

// overlay is a file system with some files in place of its own; one that is nil
// is not there.
type overlay struct {
	fs.FS
	files map[string][]byte
}

// Open opens a file of the overlay or, where it has none, of what is below.
func (o overlay) Open(name string) (fs.File, error) {
	content, ok := o.files[name]
	switch {
	case !ok:
		return o.FS.Open(name)
	case content == nil:
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return &openFile{*bytes.NewReader(content), name}, nil
}

// Stat describes a file without opening it: a pipe that nobody writes to would
// never open.
func (o overlay) Stat(name string) (fs.FileInfo, error) {
	if _, ok := o.files[name]; !ok {
		return fs.Stat(o.FS, name)
	}
	f, err := o.Open(name)
	if err != nil {
		return nil, err
	}
	return f.Stat()
}

// openFile is an open file of an overlay.
type openFile struct {
	bytes.Reader
	name string
}

func (f *openFile) Stat() (fs.FileInfo, error) { return f, nil }
func (f *openFile) Close() error               { return nil }
func (f *openFile) Name() string               { return path.Base(f.name) }
func (f *openFile) Mode() fs.FileMode          { return 0o444 }
func (f *openFile) ModTime() time.Time         { return time.Time{} }
func (f *openFile) IsDir() bool                { return false }
func (f *openFile) Sys() any                   { return nil }
