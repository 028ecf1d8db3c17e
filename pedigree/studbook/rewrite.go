package studbook

import (
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"regexp"
	"slices"
	"strings"
)

// A Rewriter changes rows of the files of a colony folder, in memory. All that
// is not changed stays as it is: of texts every byte, of a workbook the other
// sheets, cells and styles.
type Rewriter struct {
	r        *reader
	book     *rewrittenBook // nil unless the studbook is a workbook
	sheets   map[string]*Sheet
	settings *rewrittenText // programme.toml; nil where nothing in it changes
	edits    []Edit         // of programme.toml
}

// Edit is a row that is changed: as it was, and as it is to be.
type Edit struct {
	File          string // "moves.csv", or "colony.xlsx[moves]"
	Line          int    // from 1, as the row is to be; 0 where it is taken out
	Before, After string // the row as its file has it; "" for a row that is not there
	Cells         []CellEdit
}

// CellEdit is a cell that is changed.
type CellEdit struct{ Column, Before, After string }

// Rewritten is a file of the folder that is changed.
type Rewritten struct {
	Name          string // of the file in the folder
	Before, After []byte // Before is nil if there was none
}

// A RewriteError says why a file cannot be changed so that all else in it stays
// as it is.
type RewriteError struct {
	File   string
	Reason string // a plain sentence without full stop
	Help   string
}

// Error returns the file, the reason and what to do.
func (e *RewriteError) Error() string {
	return fmt.Sprintf("%s cannot be written: %s (%s)", e.File, e.Reason, e.Help)
}

// NewRewriter begins to change the folder of a studbook. Its error is of the
// file system, or a *RewriteError.
func NewRewriter(ctx context.Context, fsys fs.FS, name string, opt Options) (*Rewriter, error) {
	r := newReader(ctx, fsys, name, opt)
	raw, err := r.open()
	if err != nil {
		return nil, err
	}
	if err := r.readSettings(); err != nil {
		return nil, err
	}
	w := &Rewriter{r: r, sheets: make(map[string]*Sheet)}
	if workbookName(r.name) {
		if w.book, err = openToRewrite(r.colony.Source, raw); err != nil {
			return nil, err
		}
		r.book = w.book.workbook
	}
	return w, nil
}

// Close gives back what a workbook takes.
func (w *Rewriter) Close() error {
	if w.book == nil {
		return nil
	}
	return w.book.file.Close()
}

// Settings returns what programme.toml sets, and the defaults for the rest.
func (w *Rewriter) Settings() *Settings { return &w.r.colony.Settings }

// Sheet is a file of the folder as rows that can be changed. One that is not
// there yet is made with the first row. The zero Sheet has no rows and columns.
type Sheet struct {
	label   string // as findings name it
	base    string
	t       *table
	file    File
	there   bool
	text    *rewrittenText // nil if it is a sheet of a workbook
	changed map[int][]CellEdit
	whole   map[int]string // rows replaced as a whole
	gone    map[int]bool
	added   [][]string // cells in the order of the header
}

// Sheet returns a file of the folder by its name, "moves.csv". Its error is of
// the file system, or a *RewriteError.
func (w *Rewriter) Sheet(name string) (*Sheet, error) {
	base := strings.TrimSuffix(name, ".csv")
	if s := w.sheets[base]; s != nil {
		return s, nil
	}
	i := slices.IndexFunc(Files(), func(f File) bool { return f.Name == name })
	if i < 0 {
		panic("studbook: no file " + name)
	}
	s := &Sheet{base: base, file: Files()[i], changed: make(map[int][]CellEdit), whole: make(map[int]string), gone: make(map[int]bool)}
	g, err := w.open(s)
	if err != nil {
		return nil, err
	}
	if s.there = g != nil; !s.there {
		names := make([]string, len(s.file.Columns))
		for k, c := range s.file.Columns {
			names[k] = c.Name
		}
		g = &grid{file: s.label, header: names}
	}
	if s.t = w.r.match(g, s.file); s.t == nil {
		return nil, &RewriteError{s.label, "its columns cannot be told", "run pairwright check and mend what it finds in this file first"}
	}
	w.sheets[base] = s
	return s, nil
}

// open finds the rows of a file, nil if there is none, and says what it is
// called.
func (w *Rewriter) open(s *Sheet) (*grid, error) {
	r := w.r
	if r.book != nil {
		if k, ok := r.book.sheetOf(s.base); ok {
			s.label = r.book.label(r.book.Names[k])
			g, err := r.book.grid(k)
			if err != nil {
				return nil, &RewriteError{s.label, "the sheet cannot be read: " + Shorten(err.Error()), "save the workbook again as .xlsx"}
			}
			return g, nil
		}
	}
	s.label = s.base + ".csv"
	if s.base == studbookFile && r.book == nil {
		s.label = r.colony.Source
	}
	raw, err := r.beside(s.label)
	if err != nil {
		return nil, err
	}
	if raw == nil && r.book != nil && s.base != changesFile {
		s.label = r.book.label(s.base)
		return nil, nil
	}
	if len(raw) > 0 {
		s.text = newRewrittenText(s.label, raw)
		g, _, _ := parseCSV(s.label, s.text.text)
		return g, nil
	}
	s.text = &rewrittenText{name: s.label, raw: raw, delimiter: ',', end: "\n", fresh: true}
	if s.base != studbookFile && r.book == nil { // as the studbook is written
		if like, err := r.open(); err == nil {
			s.text.like(newRewrittenText(r.colony.Source, like))
		}
	}
	return nil, nil
}

// Len returns how many rows the file has, new ones too.
func (s *Sheet) Len() int {
	if s.t == nil {
		return 0
	}
	return len(s.t.rows) + len(s.added)
}

// Has reports whether the file has a column of ours.
func (s *Sheet) Has(column string) bool { return s.t != nil && s.t.has(column) }

// Cell returns a cell of a row, counted from 0, as it is to be.
func (s *Sheet) Cell(row int, column string) string {
	j, ok := s.t.at[column]
	switch {
	case !ok:
		return ""
	case row >= len(s.t.rows):
		return s.added[row-len(s.t.rows)][j]
	}
	for _, e := range s.changed[row] {
		if e.Column == column {
			return e.After
		}
	}
	return s.t.cell(row, j)
}

// Set changes a cell of a row that the file has. The error says that the file
// has no such column.
func (s *Sheet) Set(row int, column, value string) error {
	j, ok := s.t.at[column]
	if !ok {
		return s.lacks(column)
	}
	value = plainCell(value)
	for k := range s.changed[row] {
		if e := &s.changed[row][k]; e.Column == column {
			e.After = value
			return nil
		}
	}
	if before := s.t.cell(row, j); before != value {
		s.changed[row] = append(s.changed[row], CellEdit{column, before, value})
	}
	return nil
}

// Append adds a row at the end. The error says that the file lacks a column
// for one of the cells.
func (s *Sheet) Append(cells map[string]string) error {
	if s.t == nil {
		s.t = &table{grid: &grid{}}
	}
	row := make([]string, len(s.t.header))
	for _, column := range slices.Sorted(maps.Keys(cells)) {
		value := plainCell(cells[column])
		j, ok := s.t.at[column]
		switch {
		case ok:
			row[j] = value
		case value != "":
			return s.lacks(column)
		}
	}
	s.added = append(s.added, row)
	return nil
}

// plainCell is a cell as a reader finds it again.
func plainCell(s string) string {
	return strings.TrimSpace(strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(s))
}

func (s *Sheet) lacks(column string) error {
	return &RewriteError{s.label, "it has no column " + column, "add the column, or leave out what stands in it"}
}

// find returns the rows of the file that are written just so.
func (s *Sheet) find(row string) []int {
	var found []int
	for i := range s.t.rows {
		if !s.gone[i] && s.rowText(i) == row {
			found = append(found, i)
		}
	}
	return found
}

// rowText is a row of the file as it is.
func (s *Sheet) rowText(i int) string {
	if s.text == nil {
		return s.csvRow(s.t.row(i))
	}
	cells, end := s.text.cells(int(s.t.rows[i].line))
	return s.text.text[cells[0].from:end]
}

// csvRow writes the cells of a sheet of a workbook as a row of CSV, as long as
// the heading.
func (s *Sheet) csvRow(cells []string) string {
	cells = slices.Clone(trimmedRow(cells))
	for len(cells) < len(s.t.header) {
		cells = append(cells, "")
	}
	var b strings.Builder
	out := csv.NewWriter(&b)
	_ = out.Write(cells) // a strings.Builder takes everything
	out.Flush()
	return strings.TrimSuffix(b.String(), "\n")
}

// touched reports whether anything in the file changes.
func (s *Sheet) touched() bool {
	return len(s.changed)+len(s.whole)+len(s.gone)+len(s.added) > 0
}

// Rewrite returns the files that change and the rows that do, in the order of
// documents. Its error is a *RewriteError.
func (w *Rewriter) Rewrite() (files []Rewritten, edits []Edit, err error) {
	var inBook []*Sheet
	for _, f := range Files() {
		s := w.sheets[strings.TrimSuffix(f.Name, ".csv")]
		if s == nil || !s.touched() {
			continue
		}
		if s.text == nil {
			inBook = append(inBook, s)
			rows, err := w.book.rewrite(s)
			if err != nil {
				return nil, nil, err
			}
			edits = append(edits, rows...)
			continue
		}
		before, after, rows, err := s.rewriteText()
		if err != nil {
			return nil, nil, err
		}
		files, edits = append(files, Rewritten{path.Join(path.Dir(w.r.name), s.label), before, after}), append(edits, rows...)
	}
	if inBook != nil {
		after, err := w.book.rewritten(inBook)
		if err != nil {
			return nil, nil, err
		}
		files = append(files, Rewritten{w.r.name, w.book.raw, after})
	}
	if w.settings != nil {
		after, err := w.settings.spliced()
		if err != nil {
			return nil, nil, err
		}
		files = append(files, Rewritten{path.Join(path.Dir(w.r.name), programmeFile), w.settings.raw, after})
		edits = append(edits, w.edits...)
	}
	return files, edits, nil
}

// settingValue is a setting in a line of its own, with its value.
var settingValue = regexp.MustCompile(`^(\s*[\w.]+\s*=\s*)("[^"]*"|'[^']*'|[0-9-]+)`)

// SetSetting changes the value of a key that programme.toml sets, which is a
// text or a date, and reports whether it could.
func (w *Rewriter) SetSetting(key, value string) (bool, error) {
	raw, err := w.r.beside(programmeFile)
	line := w.r.settingLines[key]
	if raw == nil || line == 0 || err != nil {
		return false, err
	}
	t := newRewrittenText(programmeFile, raw)
	from, to := t.line(line)
	before := t.text[from:to]
	m := settingValue.FindStringSubmatchIndex(before)
	if m == nil {
		return false, nil
	}
	if quote := before[m[4]]; quote == '"' || quote == '\'' {
		value = string(quote) + value + string(quote)
	}
	after := before[:m[4]] + value + before[m[5]:]
	w.putLine(t, line, after, CellEdit{key, strings.Trim(before[m[4]:m[5]], `"'`), strings.Trim(value, `"'`)})
	return true, nil
}

// putLine changes a line of programme.toml.
func (w *Rewriter) putLine(t *rewrittenText, line int, after string, cells ...CellEdit) {
	from, to := t.line(line)
	t.splices = append(t.splices, splice{from, to, after})
	w.settings = t
	w.edits = append(w.edits, Edit{File: programmeFile, Line: line, Before: t.text[from:to], After: after, Cells: cells})
}

// FileOf returns the name of the file in the folder that an Edit's File is, or
// is a sheet of.
func (w *Rewriter) FileOf(label string) string {
	if w.r.book != nil && strings.HasPrefix(label, w.r.book.name+"[") {
		return w.r.name
	}
	return path.Join(path.Dir(w.r.name), label)
}

// PutBack takes an edit back, and reports whether its row stands in the file
// just as the edit left it. Its error is of the file system, or a *RewriteError.
func (w *Rewriter) PutBack(e Edit) (bool, error) {
	if e.File == programmeFile {
		return w.putLineBack(e)
	}
	for _, f := range Files() {
		s, err := w.Sheet(f.Name)
		var stuck *RewriteError
		switch {
		case errors.As(err, &stuck) && stuck.File != e.File:
			continue
		case err != nil:
			return false, err
		case s.label != e.File:
			continue
		}
		rows := s.find(e.After)
		if len(rows) == 0 {
			return false, nil
		}
		row := rows[len(rows)-1] // new rows come last
		if e.Before == "" {
			s.gone[row] = true
		} else {
			s.whole[row] = e.Before
		}
		return true, nil
	}
	return false, nil
}

// putLineBack puts a line of programme.toml back that an Edit changed.
func (w *Rewriter) putLineBack(e Edit) (bool, error) {
	raw, err := w.r.beside(programmeFile)
	if raw == nil || err != nil {
		return false, err
	}
	t := newRewrittenText(programmeFile, raw)
	for line := 1; line <= len(t.lines); line++ {
		if from, to := t.line(line); t.text[from:to] == e.After {
			w.putLine(t, line, e.Before)
			return true, nil
		}
	}
	return false, nil
}

// wantedRows are the rows that a reader is to find in the place of those of
// now, nil for one that is taken out.
func (s *Sheet) wantedRows(parse func(row string) ([]string, bool)) ([][]string, error) {
	want := make([][]string, len(s.t.rows))
	for i, row := range s.t.all() {
		if s.gone[i] {
			continue
		}
		if with, whole := s.whole[i]; whole {
			var ok bool
			if row, ok = parse(with); !ok {
				return nil, s.notKept()
			}
		}
		want[i] = slices.Clone(row)
		for _, c := range s.changed[i] {
			for len(want[i]) <= s.t.at[c.Column] {
				want[i] = append(want[i], "")
			}
			want[i][s.t.at[c.Column]] = c.After
		}
	}
	return want, nil
}

// notKept is that rows of the file cannot be changed alone.
func (s *Sheet) notKept() error {
	return &RewriteError{s.label, "one row of it cannot be changed alone, because of broken quotation marks or a sign that means something else", "run pairwright check and mend what it finds in this file first"}
}
