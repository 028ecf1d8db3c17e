package web

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"pairwright/cmd/pairwright/internal/question"
	"pairwright/examples"
)

// source is where a colony is read from.
type source struct {
	dir    fs.FS
	name   string // of the studbook in it
	folder string // path of the folder, to be shown; "" for the example
}

// example is the colony that is in the program.
func example() source { return source{dir: examples.HarrowFell(), name: "studbook.csv"} }

// onDisk is the colony whose studbook is a file.
func onDisk(studbook string) source {
	folder, name := filepath.Split(filepath.Clean(studbook))
	if folder == "" {
		folder = "."
	}
	if whole, err := filepath.Abs(folder); err == nil {
		folder = whole
	}
	return source{dir: os.DirFS(folder), name: name, folder: folder}
}

// Example reports whether the colony is the one in the program.
func (s source) Example() bool { return s.folder == "" }

// colony is one state of the files, with what was computed of it.
type colony struct {
	*question.Folder
	source
	state string // of the files when they were read
}

// reader reads the files when they have changed.
type reader struct {
	lock    sync.Mutex
	from    source
	columns map[string]string
	home    string // the user's own institution, where the files do not say
	colony  *colony
	looked  time.Time
}

// lookAgain is how long the files are taken to be as they were seen.
const lookAgain = 250 * time.Millisecond

// open turns to another colony.
func (r *reader) open(from source, columns map[string]string) {
	r.lock.Lock()
	defer r.lock.Unlock()
	r.from, r.columns, r.home, r.colony = from, columns, "", nil
}

// choose says which institution is the user's own.
func (r *reader) choose(home string) {
	r.lock.Lock()
	defer r.lock.Unlock()
	r.home, r.colony = home, nil
}

// changed says that the files may have been written, so that the next page looks.
func (r *reader) changed() {
	r.lock.Lock()
	defer r.lock.Unlock()
	r.looked = time.Time{}
}

// now returns the colony as its files are now.
func (r *reader) now(ctx context.Context) (*colony, error) {
	r.lock.Lock()
	defer r.lock.Unlock()
	if r.colony != nil && time.Since(r.looked) < lookAgain {
		return r.colony, nil
	}
	state, err := r.from.state()
	if err != nil {
		return nil, err
	}
	if r.colony == nil || r.colony.state != state {
		folder, err := question.ReadFrom(ctx, r.from.dir, r.from.name, r.columns)
		if err != nil {
			return nil, err
		}
		if c := folder.Colony; c != nil && c.Settings.Home == "" {
			c.Settings.Home = r.home
		}
		r.colony = &colony{folder, r.from, state}
	}
	r.looked = time.Now()
	return r.colony, nil
}

// fresh is for how long after a change of a file another change might leave its
// time as it is: file systems keep two seconds at worst.
const fresh = 2 * time.Second

// state returns what differs where the files, or the day, do.
func (s source) state() (string, error) {
	now := time.Now()
	var b strings.Builder
	b.WriteString(now.Format(time.DateOnly))
	if s.Example() {
		return b.String(), nil
	}
	entries, err := fs.ReadDir(s.dir, ".")
	if err != nil {
		return "", fmt.Errorf("the folder %s cannot be read: %w", s.folder, err)
	}
	for _, e := range entries {
		if !slices.Contains([]string{".csv", ".toml", ".xlsx"}, strings.ToLower(filepath.Ext(e.Name()))) {
			continue
		}
		info, err := fs.Stat(s.dir, e.Name())
		if err != nil {
			continue // it went away meanwhile
		}
		fmt.Fprintf(&b, "\n%s %d %d", e.Name(), info.Size(), info.ModTime().UnixNano())
		if age := now.Sub(info.ModTime()); age >= 0 && age < fresh {
			b.WriteString(" just now")
		}
	}
	return b.String(), nil
}
