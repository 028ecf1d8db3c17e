package disk

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"unicode/utf8"
)

// temporary is the name of what waits to take the place of something else. Who
// writes it holds a lock on it as long as he lives: without one it is nobody's.
var temporary = regexp.MustCompile(`^\..*\.pairwright-\d+$`)

// longestBase is how many bytes of a name go into that of what is to take its
// place: systems take 255 in all.
const longestBase = 200

// errSwept is that another program removed a new folder before it could be locked.
var errSwept = errors.New("taken for one that was left behind")

// newBeside makes a file or a folder beside the place that it is to take, and
// locks it. Unlike os.CreateTemp it leaves its permissions to the user's umask.
func newBeside(at string, create func(name string) (*os.File, error)) (*os.File, error) {
	dir, base := filepath.Split(at)
	for len(base) > longestBase {
		_, size := utf8.DecodeLastRuneInString(base)
		base = base[:len(base)-size]
	}
	for n := 0; ; n++ {
		f, err := create(fmt.Sprintf("%s.%s.pairwright-%d", dir, base, n))
		switch {
		case errors.Is(err, fs.ErrExist), errors.Is(err, errSwept):
			continue
		case err != nil:
			return nil, err
		case lockOpen(f) && isStill(f):
			return f, nil
		}
		_ = f.Close() // another program took it for one that was left behind
	}
}

// isStill reports whether an open file is the one that still has its name.
func isStill(f *os.File) bool {
	info, err := f.Stat()
	if err != nil {
		return false
	}
	now, err := os.Lstat(f.Name())
	return err == nil && os.SameFile(info, now)
}

// Sweep removes from a folder what programs that were killed had begun to write
// there. What it may not remove stays.
func (d Disk) Sweep(dir string) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil // who writes there will be told
	}
	for _, e := range entries {
		if !leftBehind(e) {
			continue
		}
		name := filepath.Join(dir, e.Name())
		if err := d.before("remove", name); err != nil {
			return err
		}
		removeUnlocked(name)
	}
	return nil
}

// leftBehind reports whether an entry of a folder may be what a killed program
// left.
func leftBehind(e fs.DirEntry) bool {
	return temporary.MatchString(e.Name()) && (e.Type().IsRegular() || e.IsDir())
}
