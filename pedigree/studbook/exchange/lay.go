package exchange

import (
	"context"
	"crypto/sha256"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/journal"
)

// ImportOver is Import of a file that is to be laid over the folder opt.Over, which a
// mapping has made: it says how the file is read as far as opt.Mapping does not. A file
// that has not the columns and sheets of that mapping is another's, laid out otherwise,
// and is read by itself; see Report.Anew.
func ImportOver(ctx context.Context, fsys fs.FS, name string, opt Options, made Mapping) (*Result, error) {
	said := opt.Mapping
	opt.Mapping = said.Over(made)
	res, err := Import(ctx, fsys, name, opt)
	if err != nil || !slices.ContainsFunc(res.Report.Stops, func(d Decision) bool { return d.Code == "no_such_column" || d.Code == "no_such_sheet" }) {
		return res, err
	}
	opt.Mapping = said.Over(made.WithoutLayout())
	if res, err = Import(ctx, fsys, name, opt); err == nil {
		res.Report.Anew = true
	}
	return res, err
}

// LayOptions say how to lay an import over a folder. The zero LayOptions are usable.
type LayOptions struct {
	Keep  string       // whose cells settle a conflict, "theirs" or "ours"; "" for nobody's
	Today studbook.Day // see studbook.Options
	// Agree is asked, while nobody else writes there, whether it is to be written; nil to
	// look at it only.
	Agree   func(*Merged) bool
	Journal journal.Options
}

// Lay lays a newer import over a colony folder that an import made, as Merge says. The
// number is that of the change, 0 if nothing was written; what is still open is never
// written.
func Lay(ctx context.Context, dir string, newer *Result, opt LayOptions) (m *Merged, change int, err error) {
	merge := func(fsys fs.FS) (err error) {
		m, err = Merge(ctx, fsys, newer, opt.Keep, opt.Today)
		return err
	}
	if opt.Agree == nil {
		err = journal.Whole(os.DirFS(dir), merge)
		return m, 0, err
	}
	what := journal.Event{Kind: journal.Import, Values: map[string]string{"file": newer.Report.Source}}
	change, err = journal.Open(filepath.Join(dir, "studbook.csv"), opt.Journal).Replace(ctx, what, func(fsys fs.FS) (map[string][]byte, error) {
		if err := merge(fsys); err != nil || m.Open() || !opt.Agree(m) {
			return nil, err
		}
		files := make(map[string][]byte)
		for _, x := range m.Files {
			files[x.Name] = x.Content
		}
		return files, nil
	})
	return m, change, err
}

// Asks reports whether somebody has to say which side is kept.
func (m *Merged) Asks() bool { return len(m.Conflicts)+len(m.renamed) > 0 }

// Sum is a number of what a newer export changes, whichever side is kept, so that
// nothing is taken that was not seen.
func (m *Merged) Sum() string {
	h := sha256.New()
	fmt.Fprintf(h, "%q\n%q\n%q\n", m.New, m.Gone, m.Changes)
	for _, c := range m.Conflicts {
		c.Settled = ""
		fmt.Fprintf(h, "%q\n", c)
	}
	return fmt.Sprintf("%x", h.Sum(nil))
}
