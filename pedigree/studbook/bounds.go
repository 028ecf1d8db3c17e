package studbook

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"strings"
	"time"
	"unicode/utf8"
)

// Bounds of what is read. They lie far above what any colony needs, and keep a
// file that is none of one from taking all memory or all day.
const (
	mostBytes    = 256 << 20 // of a file
	mostCells    = 32 << 20  // of a file
	mostCell     = 32_767    // characters of a cell: what spreadsheets hold
	mostColumns  = 16_384    // of a row: what spreadsheets hold
	mostHeader   = 200       // characters of the name of a column
	mostAlike    = 1000      // findings of one code in one file
	mostSettings = 1 << 20   // bytes of programme.toml
	mostNested   = 50        // tables of programme.toml in one another
)

// MostCandidates is how many birds may stand as possible ones for one parent.
const MostCandidates = 200

// mostRows is how many rows of a file are read; a variable for the sake of tests.
var mostRows = 2_000_000

// A FileError says why a file is not read that is there.
type FileError struct {
	Name string
	What string // "is a folder", ...
	Help string // what to do
	Err  error  // of the file system; nil where it is no fault of that
}

// Error says what is wrong with which file, and what to do.
func (e *FileError) Error() string { return fmt.Sprintf("%s %s; %s", e.Name, e.What, e.Help) }

// Unwrap returns the error of the file system.
func (e *FileError) Unwrap() error { return e.Err }

// ReadFile reads a regular file up to the size that is read of any: a pipe may
// never end, and nothing is known of its size. A file that is written to meanwhile,
// of which half would be read, is read again, and refused if that goes on. The error
// is a *FileError or, where there is no such file, fs.ErrNotExist.
func ReadFile(fsys fs.FS, name string) ([]byte, error) {
	base := path.Base(name)
	folder := &FileError{Name: base, What: "is a folder", Help: "name the file in it"}
	if base == ".." {
		return nil, folder
	}
	read := fs.ReadFile // of what is not there, and of a folder in memory
	if info, err := fs.Stat(fsys, name); err == nil {
		read = readSettled
		switch {
		case info.IsDir():
			return nil, folder
		case !info.Mode().IsRegular():
			return nil, &FileError{Name: base, What: "is a pipe or a device", Help: "write what comes from it to a file, and name that"}
		case info.Size() > mostBytes:
			return nil, &FileError{Name: base, What: fmt.Sprintf("has more than %d MB", mostBytes>>20), Help: "it is hardly a file of one programme; take the rows that matter to a file of their own"}
		}
	}
	raw, err := read(fsys, name)
	var of *fs.PathError
	if errors.As(err, &of) && !errors.Is(err, fs.ErrNotExist) {
		return nil, &FileError{base, "cannot be read: " + of.Err.Error(), "check its name and who may read it", err}
	}
	return raw, err
}

// readSettled reads a file that nobody writes to meanwhile.
func readSettled(fsys fs.FS, name string) ([]byte, error) {
	const trials = 3
	for range trials {
		raw, whole, err := readOnce(fsys, name)
		if whole || err != nil {
			return raw, err
		}
		time.Sleep(pause)
	}
	return nil, &FileError{Name: path.Base(name), What: "was changed while it was read", Help: "wait until it is saved, and ask again"}
}

// pause is how long one who saves a file is waited for.
const pause = 100 * time.Millisecond

// readOnce reads a file and tells whether it stayed as it was.
func readOnce(fsys fs.FS, name string) (raw []byte, whole bool, err error) {
	f, err := fsys.Open(name)
	if err != nil {
		return nil, false, err
	}
	defer f.Close()
	before, err := f.Stat()
	if err != nil {
		return nil, false, err
	}
	raw = make([]byte, before.Size()+1) // one more, to see the end
	n, err := io.ReadFull(f, raw)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return nil, false, err
	}
	after, err := f.Stat()
	if err != nil {
		return nil, false, err
	}
	whole = int64(n) == before.Size() && after.Size() == before.Size() && after.ModTime().Equal(before.ModTime())
	return raw[:n], whole, nil
}

// checkLength cuts cells that are longer than any that is meant, and reports
// them: as an error, because nobody knows what was lost.
func (r *reader) checkLength(g *grid) {
	for j, h := range g.header {
		if utf8.RuneCountInString(h) > mostHeader {
			r.fault(place{file: g.file, line: g.headerLine, value: h}, codeLongCell, fmt.Sprintf("the name of a column has more than %d characters", mostHeader), "make sure that the first row has the names of the columns, with commas, semicolons or tabs between them")
			g.header[j] = Shorten(h)
		}
	}
	for i, row := range g.rows {
		if row.from >= 0 && row.to-row.from <= mostCell {
			continue
		}
		for j, cell := range g.row(i) {
			if len(cell) > mostCell && utf8.RuneCountInString(cell) > mostCell {
				r.fault(place{file: g.file, line: int(row.line), value: cell}, codeLongCell, fmt.Sprintf("cell %d has more than %s characters", j+1, Number(mostCell)), "shorten it; a mark \" that is never closed makes one cell of many rows")
				g.set(i, j, Shorten(cell))
			}
		}
	}
	for _, line := range g.endless {
		r.fault(place{file: g.file, line: line}, codeLongRow, fmt.Sprintf("the line has more than %s cells, or %d MB", Number(mostColumns), mostWindow>>20), "it is no row of a table; delete it, or save the file again")
	}
	if g.full {
		r.fault(place{file: g.file}, codeTooManyRows, fmt.Sprintf("the file has more than %s rows, or %s cells", Number(mostRows), Number(mostCells)), "it is hardly a file of one programme; take the rows that matter to a file of their own")
	}
}

// nestedTooDeep looks for settings that nest deeper than any that are meant, which
// would take the TOML library hours, and returns their line, 0 if there is none.
func nestedTooDeep(content string) (line int) {
	n, open := 0, 0
	for text := range strings.Lines(content) {
		n++
		name, _, _ := strings.Cut(text, "=")
		if strings.Count(name, ".") > mostNested {
			return n
		}
		for _, c := range text {
			switch c {
			case '{', '[':
				if open++; open > mostNested {
					return n
				}
			case '}', ']':
				open--
			}
		}
	}
	return 0
}

// findingKind is what findings have in common that are counted together.
type findingKind struct {
	file, code string
	severity   Severity
}

// bounded returns the findings, which are in order, with those that are too many of
// one kind counted in the place of the first that is left out.
func (r *reader) bounded() []Finding {
	told := make(map[findingKind]int)
	kept := r.findings[:0:0]
	for _, f := range r.findings {
		k := findingKind{f.File, f.Code, f.Severity}
		told[k]++
		switch left := r.found[k] - mostAlike; {
		case told[k] <= mostAlike || left == 1:
			kept = append(kept, f)
		case told[k] == mostAlike+1:
			f.Message = fmt.Sprintf("and so on from here, %s times in all: ", Number(r.found[k])) + f.Message
			kept = append(kept, f)
		}
	}
	return kept
}
