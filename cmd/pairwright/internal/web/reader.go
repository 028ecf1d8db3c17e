package web

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"pairwright/cmd/pairwright/internal/question"
	"pairwright/examples"
	"pairwright/pedigree/studbook"
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
	state string // the day, and what was in the files
}

// reader reads the files when they have changed.
type reader struct {
	lock    sync.Mutex
	from    source
	columns map[string]string
	home    string // the user's own institution, where the files do not say
	colony  *colony
	seen    string // what the folder said of the files when they were last looked into
	looked  time.Time
	news    func(*colony) // is told of what was read anew; nil for nobody
	last    atomic.Pointer[sight]
}

// sight is a colony with what the folder said of its files when they were last looked
// into. It can be had while others are being read.
type sight struct {
	*colony
	saw string
}

// lookAgain is how long the files are taken to be as they were seen.
const lookAgain = 250 * time.Millisecond

// open turns to another colony.
func (r *reader) open(from source, columns map[string]string) {
	r.lock.Lock()
	defer r.lock.Unlock()
	r.from, r.columns, r.home, r.colony = from, columns, "", nil
	r.last.Store(nil)
}

// choose says which institution is the user's own.
func (r *reader) choose(home string) {
	r.lock.Lock()
	defer r.lock.Unlock()
	r.home, r.colony = home, nil
	r.last.Store(nil)
}

// changed says that the files may have been written, so that the next page looks.
func (r *reader) changed() {
	r.lock.Lock()
	defer r.lock.Unlock()
	r.looked = time.Time{}
}

// tell has whatever is read from now on told.
func (r *reader) tell(news func(*colony)) {
	r.lock.Lock()
	defer r.lock.Unlock()
	r.news = news
}

// now returns the colony as its files are now.
func (r *reader) now(ctx context.Context) (c *colony, err error) {
	defer rescue(&err)
	r.lock.Lock()
	defer r.lock.Unlock()
	if r.colony != nil && time.Since(r.looked) < lookAgain {
		return r.colony, nil
	}
	seen, err := r.from.seen()
	if err != nil {
		return nil, err
	}
	if r.colony != nil && r.seen == seen {
		r.looked = time.Now()
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
		if r.news != nil {
			r.news(r.colony)
		}
	}
	r.seen, r.looked = seen, time.Now()
	r.last.Store(&sight{r.colony, seen})
	return r.colony, nil
}

// peek returns the colony that was read last, without waiting for one that is being read;
// nil where the files have changed since.
func (r *reader) peek() *colony {
	last := r.last.Load()
	if last == nil {
		return nil
	}
	if seen, err := last.seen(); err != nil {
		return nil
	} else if seen == last.saw {
		return last.colony
	}
	if state, err := last.source.state(); err != nil || state != last.colony.state {
		return nil
	}
	return last.colony
}

// still reports whether a colony is what the files say now, as far as that is known
// without reading them.
func (r *reader) still(c *colony) bool { return c != nil && r.peek() == c }

// fresh is for how long after a change of a file another change might leave its
// time as it is: file systems keep two seconds at worst.
const fresh = 2 * time.Second

// seen returns what the folder says of the files and the day. It differs where
// they do, and may where they do not.
func (s source) seen() (string, error) {
	now := time.Now()
	var b strings.Builder
	b.WriteString(now.Format(time.DateOnly))
	err := s.each(func(name string, info fs.FileInfo) error {
		fmt.Fprintf(&b, "\n%s %d %d", name, info.Size(), info.ModTime().UnixNano())
		if age := now.Sub(info.ModTime()); age >= 0 && age < fresh {
			b.WriteString(" just now")
		}
		return nil
	})
	return b.String(), err
}

// state returns what differs where the day does, or what is in the files.
func (s source) state() (string, error) {
	h := sha256.New()
	err := s.each(func(name string, _ fs.FileInfo) error {
		f, err := s.dir.Open(name)
		if err != nil {
			return nil // it went away meanwhile
		}
		defer f.Close() // it was read alone
		n, err := io.Copy(h, f)
		fmt.Fprintf(h, "\n%s %d\n", name, n)
		return err
	})
	return fmt.Sprintf("%s %x", time.Now().Format(time.DateOnly), h.Sum(nil)), err
}

// each calls do for each file that may be one of the colony's, and each season that
// is kept; the example has none that change.
func (s source) each(do func(name string, info fs.FileInfo) error) error {
	if s.Example() {
		return nil
	}
	for _, folder := range []string{".", studbook.SeasonsFolder} {
		entries, err := fs.ReadDir(s.dir, folder)
		if folder != "." && errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return fmt.Errorf("the folder %s cannot be read: %w", s.folder, err)
		}
		for _, e := range entries {
			if !slices.Contains([]string{".csv", ".toml", ".xlsx"}, strings.ToLower(filepath.Ext(e.Name()))) {
				continue
			}
			name := path.Join(folder, e.Name())
			info, err := fs.Stat(s.dir, name)
			if err != nil || !info.Mode().IsRegular() {
				continue // it went away meanwhile
			}
			if err := do(name, info); err != nil {
				return fmt.Errorf("%s cannot be read: %w", name, err)
			}
		}
	}
	return nil
}
