package question

import (
	"cmp"
	"context"
	"errors"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/exchange"
	"pairwright/pedigree/studbook/journal"
)

// Folder is a colony folder that was read. What is computed of it is kept for
// the questions that follow, as the pages of a server ask many of one folder.
type Folder struct {
	Name   string           // of the studbook's file
	Colony *studbook.Colony // nil if there are Faults
	Faults *studbook.Faults // what keeps the files from being used; nil if nothing does
	// Files are the files that were read, to tell them from those that an
	// answer may be written to.
	Files []fs.FileInfo
	today studbook.Day
	dir   fs.FS

	// readFor is the question that the folder was read for, nil of none: of what is
	// computed for it, in narrow, only as much is there as it asks about.
	readFor         *Asked
	seasons, narrow *shelf[studbook.Day, *season]
	answers         *shelf[string, *Answer]
	ids             func() ids
}

// Read reads the colony folder that the question is about. Faults of the files
// are no error: check answers with them, all other questions fail of them.
func (a *Asked) Read(ctx context.Context) (*Folder, error) {
	dir, name := filepath.Split(filepath.Clean(a.Studbook))
	if dir == "" {
		dir = "."
	}
	f, err := ReadFrom(ctx, os.DirFS(dir), name, a.Columns)
	if err == nil {
		f.readFor, f.narrow = a, newSeasons()
		a.nameByID(f)
	}
	if more, ok := a.ask.(alsoReads); ok && err == nil && f.Faults == nil {
		err = more.alsoRead(ctx, f)
	}
	return f, err
}

// nameByID puts the id for a bird that is named by its name or its band, where no other
// bird has it and no id looks like it. What names none stays as it is.
func (a *Asked) nameByID(f *Folder) {
	if f.Faults != nil {
		return
	}
	for k, who := range a.Birds {
		if slices.ContainsFunc(f.Colony.Birds, func(bird studbook.Bird) bool { return bird.ID == who }) {
			continue
		}
		called, plain := "", studbook.PlainID(who)
		for b := range f.Colony.Birds {
			bird := &f.Colony.Birds[b]
			switch is := func(name string) bool { return name != "" && strings.EqualFold(name, who) }; {
			case studbook.PlainID(bird.ID) == plain, called != "" && (is(bird.Name) || is(bird.Band)):
				called = who
			case is(bird.Name), is(bird.Band):
				called = bird.ID
			}
		}
		a.Birds[k] = cmp.Or(called, who)
	}
}

// ReadFrom reads the colony folder in a file system whose studbook has the
// name; columns is what its files call our columns. Faults of the files are no
// error.
func ReadFrom(ctx context.Context, dir fs.FS, name string, columns map[string]string) (*Folder, error) {
	f := &Folder{Name: name, dir: dir, today: studbook.Today(), seasons: newSeasons(), answers: newShelf[string, *Answer](answersKept)}
	err := journal.Whole(dir, func(fsys fs.FS) (err error) {
		f.Files = nil
		f.Colony, err = studbook.Read(ctx, watched{fsys, &f.Files}, name, studbook.Options{Columns: columns, Today: f.today})
		return err
	})
	f.ids = sync.OnceValue(f.allIDs)
	if errors.As(err, &f.Faults) {
		return f, nil
	}
	return f, Advised(err)
}

// SettingsFile returns the settings as they stand beside the studbook, to go with an
// export of it; none where there are none, or where they map columns, to which the export
// gives our names.
func (f *Folder) SettingsFile() ([]exchange.File, error) {
	const name = "programme.toml"
	if !slices.Contains(f.Colony.Files, name) || len(f.Colony.Settings.Columns) > 0 {
		return nil, nil
	}
	raw, err := fs.ReadFile(f.dir, path.Join(path.Dir(f.Name), name))
	if err != nil {
		return nil, err
	}
	return []exchange.File{{Name: name, Content: raw}}, nil
}

// alsoReads is a question that reads a file besides the colony folder.
type alsoReads interface {
	alsoRead(ctx context.Context, f *Folder) error
}

// watched is a file system that notes the files that were opened.
type watched struct {
	fs.FS
	files *[]fs.FileInfo
}

// Open opens a file and notes it.
func (w watched) Open(name string) (fs.File, error) {
	file, err := w.FS.Open(name)
	if err != nil {
		return nil, err
	}
	info, err := file.Stat()
	if err != nil {
		return nil, errors.Join(err, file.Close())
	}
	*w.files = append(*w.files, info)
	return file, nil
}

// Stat describes a file without opening it: a pipe that nobody writes to would
// never open.
func (w watched) Stat(name string) (fs.FileInfo, error) { return fs.Stat(w.FS, name) }

// Day returns the day to answer for.
func (f *Folder) Day(a *Asked) studbook.Day {
	return cmp.Or(a.AsOf, dayOf(f.Colony, f.today))
}

// dayOf returns the day that the files of a colony are of.
func dayOf(c *studbook.Colony, today studbook.Day) studbook.Day {
	return cmp.Or(c.Settings.CurrentTo, today)
}

// warnings are the findings that are no errors, those of the day asked about at
// the end.
func (f *Folder) warnings(a *Asked) []studbook.Finding { return f.Colony.WarningsOn(f.Day(a)) }

// Told returns what the reader of an answer must know of the files: notes of
// how they were read, and findings that are no errors.
func (f *Folder) Told(a *Asked) (notes, findings []string) {
	if f.Colony == nil {
		return nil, nil
	}
	for _, w := range f.warnings(a) {
		findings = append(findings, w.String())
	}
	return f.Colony.Notes, findings
}

// Has reports whether the files have a bird with the id.
func (f *Folder) Has(id string) bool {
	if f.Colony == nil {
		return false
	}
	_, has := f.ids().names[id]
	return has
}

// NameOf returns the name of the bird with an id, "" where it has none or there is no
// such bird.
func (f *Folder) NameOf(id string) string {
	if f.Colony == nil {
		return ""
	}
	return f.ids().names[id]
}

// LongestPhrase is the length in bytes of the longest id that is more than a word, as one
// with a space in it; 0 where there is none.
func (f *Folder) LongestPhrase() int {
	if f.Colony == nil {
		return 0
	}
	return f.ids().longest
}

// ids are the birds of a folder by their ids.
type ids struct {
	names   map[string]string
	longest int // as LongestPhrase returns it
}

func (f *Folder) allIDs() ids {
	out := ids{names: make(map[string]string, len(f.Colony.Birds))}
	for k := range f.Colony.Birds {
		b := &f.Colony.Birds[k]
		out.names[b.ID] = b.Name
		if !document.IsWord(b.ID) {
			out.longest = max(out.longest, len(b.ID))
		}
	}
	return out
}
