package journal

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/disk"
)

// Entry is a change that was made: the account of it that is kept.
type Entry struct {
	Number int             `json:"number"`
	When   time.Time       `json:"when"`
	Event  Event           `json:"event"`
	Undoes int             `json:"undoes,omitempty"` // number of the change that it took back
	Edits  []studbook.Edit `json:"edits"`
	Files  []EntryFile     `json:"files"`
	Undone bool            `json:"-"` // a later change took it back
}

// EntryFile is a file that a change replaced, with the SHA-256 of its bytes
// before and after; "" where there was no file.
type EntryFile struct {
	Name   string `json:"name"`
	Before string `json:"before"`
	After  string `json:"after"`
}

// What stands beside the files of a folder that was written to.
const (
	Earlier  = "earlier" // the folder of all of it
	lockFile = "lock"
	pending  = "pending.json" // a change that was begun
	changes  = "changes.csv"
	kept     = 20 // changes whose files are kept as they were
)

var (
	// ErrChanged says that a file is no longer as it was when the change
	// was shown.
	ErrChanged = errors.New("the files changed in the meantime; look at the record again")
	// ErrBusy says that another program was writing all the time.
	ErrBusy = disk.ErrBusy
)

// Commit writes an event down, all of its files or none. With the Seal of a
// Proposal it writes just what that showed, and returns ErrChanged where it no
// longer can; without one ("") it writes what it would show now. A Proposal
// that is refused is returned and not written. It waits for another program
// that writes, and returns ErrBusy if that takes too long.
func (f *Folder) Commit(ctx context.Context, e Event, seal string) (*Proposal, error) {
	unlock, err := f.begin(ctx)
	if err != nil {
		return nil, err
	}
	defer unlock()
	p, files, err := f.draft(ctx, os.DirFS(f.dir), e)
	if err != nil || p.Refused() {
		return p, err
	}
	if seal != "" && seal != p.Seal {
		return p, ErrChanged
	}
	if p.Number, err = f.put(ctx, p, files); err != nil {
		p.Number = 0
	}
	return p, err
}

// begin takes the lock of the folder and settles what a killed program left.
func (f *Folder) begin(ctx context.Context) (unlock func() error, err error) {
	if _, err := os.Stat(filepath.Join(f.dir, f.name)); err != nil {
		return nil, &studbook.NoFileError{Name: f.name, Err: err}
	}
	if err := os.Mkdir(f.path(Earlier), 0o777); err != nil && !errors.Is(err, fs.ErrExist) {
		return nil, err
	}
	unlock, err = disk.Lock(ctx, f.path(Earlier, lockFile), f.opt.Wait)
	if err != nil {
		return nil, err
	}
	if err := f.settle(); err != nil {
		return nil, errors.Join(err, unlock())
	}
	return unlock, nil
}

func (f *Folder) path(parts ...string) string {
	return filepath.Join(f.dir, filepath.FromSlash(strings.Join(parts, "/")))
}

// put writes a change: first the account of it and what it replaces, then the
// files, then that it is done.
func (f *Folder) put(ctx context.Context, p *Proposal, files []studbook.Rewritten) (int, error) {
	number, err := f.nextNumber(ctx)
	if err != nil {
		return 0, err
	}
	entry := &Entry{Number: number, When: f.opt.Now().Truncate(time.Second), Event: p.Event, Edits: p.Edits}
	if p.Undoes != nil {
		entry.Undoes = p.Undoes.Number
	}
	if files, err = f.tell(ctx, entry, p, files); err != nil {
		return 0, err
	}
	for _, x := range files {
		entry.Files = append(entry.Files, EntryFile{x.Name, hashOf(x.Before), hashOf(x.After)})
		if x.Before == nil {
			continue
		}
		if err := f.opt.Disk.Write(f.keptAs(number, x.Name), x.Before); err != nil {
			return 0, err
		}
	}
	account, err := json.MarshalIndent(entry, "", "  ")
	if err != nil {
		return 0, err
	}
	if err := f.opt.Disk.Write(f.path(Earlier, pending), append(account, '\n')); err != nil {
		return 0, err
	}
	for _, x := range files {
		if err := f.replace(x); err != nil {
			return 0, errors.Join(err, f.settle())
		}
	}
	// Every reader sees the change now. Where that cannot be said, the next who writes says it.
	_ = f.opt.Disk.Rename(f.path(Earlier, pending), f.accountOf(number))
	f.forget(number - kept)
	return number, nil
}

// replace writes a file, if it is still as it was when it was read.
func (f *Folder) replace(x studbook.Rewritten) error {
	name := f.path(x.Name)
	now, err := readIfThere(os.DirFS(f.dir), x.Name)
	switch {
	case err != nil:
		return err
	case !bytes.Equal(now, x.Before) || (now == nil) != (x.Before == nil):
		return ErrChanged
	case x.After == nil:
		return f.opt.Disk.Remove(name)
	}
	return f.opt.Disk.Write(name, x.After)
}

// keptAs is where a file is kept as it was before a change.
func (f *Folder) keptAs(number int, name string) string {
	return f.path(Earlier, fmt.Sprintf("%04d-%s", number, strings.ReplaceAll(name, "/", "-")))
}

func (f *Folder) accountOf(number int) string {
	return f.path(Earlier, fmt.Sprintf("%04d.json", number))
}

// settle ends what a killed program began: a change of which every file is
// written is done, of any other what is written is taken back.
func (f *Folder) settle() error {
	entry, old, err := unfinished(os.DirFS(f.dir))
	if err == nil {
		err = f.sweep(entry)
	}
	switch {
	case entry == nil || err != nil:
		return err
	case old == nil:
		return f.opt.Disk.Rename(f.path(Earlier, pending), f.accountOf(entry.Number))
	}
	for _, x := range entry.Files {
		now, err := readIfThere(os.DirFS(f.dir), x.Name)
		switch {
		case err != nil:
			return err
		case hashOf(now) != x.After: // not written, or edited since
			continue
		case old[x.Name] == nil:
			err = f.opt.Disk.Remove(f.path(x.Name))
		default:
			err = f.opt.Disk.Write(f.path(x.Name), old[x.Name])
		}
		if err != nil {
			return err
		}
	}
	return f.opt.Disk.Remove(f.path(Earlier, pending))
}

// unfinished returns the change that was begun and not declared done, nil if
// there is none, and its files as they were before, or as they were edited
// since; nil where all of them are written.
func unfinished(fsys fs.FS) (*Entry, map[string][]byte, error) {
	raw, err := readIfThere(fsys, Earlier+"/"+pending)
	if raw == nil || err != nil {
		return nil, nil, err
	}
	var entry Entry
	if err := json.Unmarshal(raw, &entry); err != nil {
		return nil, nil, fmt.Errorf("%s/%s cannot be read: %w", Earlier, pending, err)
	}
	old := make(map[string][]byte)
	written := 0
	for _, x := range entry.Files {
		now, err := readIfThere(fsys, x.Name)
		if err == nil && hashOf(now) == x.After {
			written++
			now, err = readKept(fsys, &entry, x)
		}
		if err != nil {
			return nil, nil, err
		}
		old[x.Name] = now
	}
	if written == len(entry.Files) {
		return &entry, nil, nil
	}
	return &entry, old, nil
}

// readKept returns a file as it was before a change, nil if there was none.
func readKept(fsys fs.FS, e *Entry, x EntryFile) ([]byte, error) {
	if x.Before == "" {
		return nil, nil
	}
	raw, err := fs.ReadFile(fsys, fmt.Sprintf("%s/%04d-%s", Earlier, e.Number, strings.ReplaceAll(x.Name, "/", "-")))
	if err == nil && hashOf(raw) != x.Before {
		err = fmt.Errorf("%s as it was before change %d is no longer kept as it was", x.Name, e.Number)
	}
	return raw, err
}

// readIfThere returns the content of a file, nil if there is none.
func readIfThere(fsys fs.FS, name string) ([]byte, error) {
	raw, err := fs.ReadFile(fsys, name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, nil
	case err == nil && raw == nil:
		raw = []byte{}
	}
	return raw, err
}

// sweep removes what killed programs began to write in the folder, and where an
// unfinished change, if there is one, writes.
func (f *Folder) sweep(entry *Entry) error {
	dirs := []string{".", Earlier}
	if entry != nil {
		for _, x := range entry.Files {
			if dir := path.Dir(x.Name); !slices.Contains(dirs, dir) {
				dirs = append(dirs, dir)
			}
		}
	}
	for _, dir := range dirs {
		if err := f.opt.Disk.Sweep(f.path(dir)); err != nil {
			return err
		}
	}
	return nil
}

// accounts returns the numbers of the changes that are kept, ascending.
func accounts(fsys fs.FS) ([]int, error) {
	list, err := fs.ReadDir(fsys, Earlier)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	var numbers []int
	for _, x := range list {
		name, ok := strings.CutSuffix(x.Name(), ".json")
		if n, err := strconv.Atoi(name); ok && err == nil {
			numbers = append(numbers, n)
		}
	}
	slices.Sort(numbers)
	return numbers, err
}

// nextNumber returns the number of a new change, above all that the folder
// knows of.
func (f *Folder) nextNumber(ctx context.Context) (int, error) {
	fsys := os.DirFS(f.dir)
	numbers, err := accounts(fsys)
	if err != nil {
		return 0, err
	}
	most := 0
	if len(numbers) > 0 {
		most = numbers[len(numbers)-1]
	}
	w, err := studbook.NewRewriter(ctx, fsys, f.name, f.readOptions())
	if err != nil {
		return 0, err
	}
	defer w.Close()
	s, err := w.Sheet(changes)
	if err != nil {
		return 0, err
	}
	for i := range s.Len() {
		if n, err := strconv.Atoi(s.Cell(i, "change")); err == nil {
			most = max(most, n)
		}
	}
	return most + 1, nil
}

// tell adds to the files of a change what changes.csv tells of it.
func (f *Folder) tell(ctx context.Context, e *Entry, p *Proposal, files []studbook.Rewritten) ([]studbook.Rewritten, error) {
	w, err := studbook.NewRewriter(ctx, overlay{os.DirFS(f.dir), contents(files)}, f.name, f.readOptions())
	if err != nil {
		return nil, err
	}
	defer w.Close()
	s, err := w.Sheet(changes)
	if err != nil {
		return nil, err
	}
	what := p.Event.said()
	if p.Undoes != nil {
		what = fmt.Sprintf("%s of %d, %s", Undo, p.Undoes.Number, p.Undoes.Event.said())
	}
	for _, x := range e.Edits {
		if err := s.Append(map[string]string{
			"change": strconv.Itoa(e.Number), "when": e.When.Format("2006-01-02 15:04:05 -0700"), "what": what,
			"file": x.File, "before": x.Before, "after": x.After,
		}); err != nil {
			return nil, err
		}
	}
	told, _, err := w.Rewrite()
	if err != nil {
		return nil, err
	}
	for _, t := range told {
		if i := slices.IndexFunc(files, func(x studbook.Rewritten) bool { return x.Name == t.Name }); i >= 0 {
			files[i].After = t.After // a workbook has all of it
			continue
		}
		files = append(files, t)
	}
	return files, nil
}

// forget removes what is kept of changes up to a number. What cannot be removed
// now is removed next time.
func (f *Folder) forget(upTo int) {
	list, err := os.ReadDir(f.path(Earlier))
	if err != nil {
		return
	}
	for _, x := range list {
		if m := keptName.FindStringSubmatch(x.Name()); m != nil {
			if n, err := strconv.Atoi(m[1]); err == nil && n <= upTo {
				_ = f.opt.Disk.Remove(f.path(Earlier, x.Name()))
			}
		}
	}
}

// keptName is the name of something that is kept of a change.
var keptName = regexp.MustCompile(`^(\d{4,})[-.]`)
