package studbook

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/sourcegraph/conc"

	"pairwright/pedigree/studbook/sheets"
)

// Options say how to read a colony folder. The zero Options are usable.
type Options struct {
	// Columns maps our column names to those of the files, as "sire" to
	// "Father". It is added to the [columns] of programme.toml and wins
	// over them.
	Columns map[string]string

	// Today tells dates in the future from others; 0 leaves them unchecked.
	Today Day
}

// Read reads the studbook with a file name in fsys, a CSV file or an .xlsx
// workbook, and what stands beside it of the other files of a colony folder.
//
// A *Faults error holds every finding of every file if at least one of them
// is an Error; findings that are all Warnings are in Colony.Warnings. Any
// other error is of the file system or the context.
func Read(ctx context.Context, fsys fs.FS, name string, opt Options) (*Colony, error) {
	r := newReader(ctx, fsys, name, opt)
	if err := r.read(); err != nil {
		return nil, err
	}
	r.nameBirds()
	findings := r.sorted()
	if Errors(findings) > 0 {
		return nil, &Faults{Findings: findings}
	}
	r.colony.Warnings = findings
	return r.colony, nil
}

func newReader(ctx context.Context, fsys fs.FS, name string, opt Options) *reader {
	return &reader{
		ctx: ctx, fsys: fsys, opt: opt, name: path.Clean(name),
		labels: make(map[string]string), index: newRegister(0), places: make(map[string]place), used: make(map[string]bool), codes: make(map[string]string),
		colony: &Colony{Source: path.Base(name)}, kin: &lineage{start: []int32{0}},
	}
}

// reader is one run of Read.
type reader struct {
	ctx  context.Context
	fsys fs.FS
	opt  Options
	name string
	book *workbook // nil unless the studbook is a workbook

	columns  map[string]string // our column name -> the file's
	labels   map[string]string // file of the folder -> its name in findings
	colony   *Colony
	findings []Finding
	found    map[findingKind]int // how many there are, kept or not

	settingLines map[string]int // key of programme.toml -> line

	folded    map[string]string // id without case and punctuation -> id; see alike
	plain     *alikes           // the birds by what PlainID has of their ids; see checkAlikeIDs
	called    map[string]int    // name or band -> the bird; see names
	index     *register         // of colony.Birds; rows of the studbook first
	places    map[string]place  // institution code -> where it is first used
	inhabited map[string]bool   // codes of places of the rows that were looked at
	codes     map[string]string // code of an institution as PlainID has it -> as it is first written
	used      map[string]bool   // our columns whose mapping a file has
	birds     bool              // the studbook's rows were read
	sexed     bool              // the studbook has a sex column
	lines     []int             // of the birds that were read, ascending
	numbers   []numbers         // of these birds, while the studbook is read
	twice     map[string]bool   // ids that stand in several rows of the studbook
	rowsOf    string            // the file that has these rows

	kin        *lineage // of the colony's birds, once they were checked
	elderFirst []int32  // the birds that are not their own ancestors, parents before chicks

	sheetErrors [][2]int // row and column of cells of the table at hand that show an error and are read as blank

	marked bool // parents are written as marks for one that is not known; see dropMarkers

	shown shownOrder // of dates that are not in ours

	short []string // birds whose weights leave room for an unknown parent

	parents []Candidate // where those that are known for certain are kept
}

// place is where a finding is.
type place struct {
	file   string
	line   int
	column string
	value  string
}

func (r *reader) fault(at place, code, message, help string) {
	r.find(Error, at, code, message, help)
}

func (r *reader) warn(at place, code, message, help string) {
	r.find(Warning, at, code, message, help)
}

func (r *reader) find(s Severity, at place, code, message, help string) {
	if !r.count(findingKind{at.file, code, s}) {
		return // told with the last of those that are kept
	}
	r.findings = append(r.findings, Finding{
		Severity: s, File: at.file, Line: at.line, Column: at.column, Value: Shorten(at.value),
		Code: code, Message: message, Help: help,
	})
}

// count counts a finding and reports whether it is kept.
func (r *reader) count(k findingKind) bool {
	if r.found == nil {
		r.found = make(map[findingKind]int)
	}
	r.found[k]++
	return r.found[k] <= mostAlike+1
}

func (r *reader) note(format string, args ...any) {
	r.colony.Notes = append(r.colony.Notes, fmt.Sprintf(format, args...))
}

// read reads all files and checks them.
func (r *reader) read() error {
	raw, err := r.open()
	if err != nil {
		return err
	}
	if err := r.readSettings(); err != nil {
		return err
	}
	r.colony.FilesDay = cmp.Or(r.colony.Settings.CurrentTo, r.opt.Today)
	if what, help := foreign(r.name, raw); what != "" {
		r.fault(place{file: r.colony.Source}, codeBadWorkbook, what, help)
		return nil
	}
	if workbookName(r.name) {
		r.book, err = openWorkbook(r.colony.Source, raw)
		switch {
		case errors.Is(err, sheets.ErrTooLarge):
			r.tooLarge()
			return nil
		case errors.Is(err, errNoXLSX):
			r.fault(place{file: r.colony.Source}, codeBadWorkbook, "this is an OpenDocument spreadsheet, whatever its name says", importIt(r.colony.Source))
			return nil
		case err != nil:
			r.fault(place{file: r.colony.Source}, codeBadWorkbook, "the workbook cannot be opened: it is damaged or cut off, or has a password", "save it again as .xlsx without a password, or save its sheets as CSV files")
			return nil
		}
	}
	if err := r.readStudbook(raw); err != nil {
		return err
	}
	for _, step := range []func() error{
		r.readMoves, r.readBonds, r.readClutches, r.readHolds, r.readRequests, r.readRulings, r.readInstitutions, r.readFounderKinship,
		r.readGenotypes, r.readChanges,
	} {
		if err := r.ctx.Err(); err != nil {
			return fmt.Errorf("reading %s: %w", r.name, err)
		}
		if err := step(); err != nil {
			return err
		}
	}
	r.settleDeaths()
	r.checkLives()
	r.checkUnread()
	for _, ours := range slices.Sorted(maps.Keys(r.columns)) {
		if !r.used[ours] {
			r.warn(place{file: r.labels[studbookFile], column: ours, value: r.columns[ours]}, codeUnknownMapping, "no file has the column that this one is mapped to", "correct the mapping, or remove it")
		}
	}
	if r.labels[programmeFile] != "" {
		r.colony.Files = append(r.colony.Files, programmeFile)
	}
	return nil
}

// A NoFileError says that there is no studbook where one was looked for.
type NoFileError struct {
	Name string // of the file
	Err  error  // of the file system
}

// Error says which file is missing.
func (e *NoFileError) Error() string { return "there is no file " + e.Name }

// Unwrap returns the error of the file system.
func (e *NoFileError) Unwrap() error { return e.Err }

// open reads the bytes of the studbook, whatever kind of file it is.
func (r *reader) open() ([]byte, error) {
	raw, err := ReadFile(r.fsys, r.name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, &NoFileError{r.name, err}
	}
	return raw, err
}

// beside returns a file that stands beside the studbook, nil if none does.
func (r *reader) beside(name string) ([]byte, error) {
	raw, err := ReadFile(r.fsys, path.Join(path.Dir(r.name), name))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, nil
	case err != nil:
		return nil, err
	case raw == nil:
		raw = []byte{}
	}
	return raw, nil
}

// text cuts the bytes of a CSV file into a grid and says how it was read.
func (r *reader) text(file string, raw []byte) *grid {
	text, encoding := decodeText(raw)
	if encoding != "" {
		r.note("%s is read as %s", file, encoding)
	}
	g, delimiter, broken := parseCSV(file, text)
	switch delimiter {
	case ';':
		r.note("%s has semicolons between its columns", file)
	case '\t':
		r.note("%s has tabs between its columns", file)
	}
	for _, b := range broken {
		r.fault(place{file, b.line, "", b.text}, codeBrokenQuotes,
			"the quotation marks of this line do not pair up, so its cells cannot be told apart",
			`put the whole cell in quotation marks and double every mark inside it, as "called ""Pip"""`)
	}
	g.skipped = append(g.skipped, skippedLines(text, delimiter, g)...)
	return g
}

// load reads a file of the folder into records and drops those that check
// refuses; the table is nil if there is no such file or it cannot be used.
func load[T any](r *reader, f *file[T], check func(s spot, record *T) bool) (*table, []T, error) {
	t, err := r.table(f.describe(), f.base, nil)
	if t == nil || err != nil {
		return nil, nil, err
	}
	records, err := readRows(r, f, t, func(spot, *T) bool { return true }, check)
	return t, records, err
}

// table finds a file of the folder and its columns, nil if there is no such
// file or it cannot be used. raw is the file's content if it is at hand.
func (r *reader) table(f File, base string, raw []byte) (*table, error) {
	g, err := r.grid(base, raw)
	if g == nil || err != nil {
		return nil, err
	}
	r.checkLength(g)
	r.labels[base] = g.file
	r.colony.Files = append(r.colony.Files, g.file)
	if g.full {
		return nil, nil // whatever it is, it is no file of a colony
	}
	t := r.match(g, f)
	skipped := gathered{code: codeSkippedRow, help: "if it is a row, write its first cell without #; if it is a remark, put a space after #",
		all: "%s rows begin with # and are skipped as remarks"}
	for _, row := range g.skipped {
		at := place{file: g.file, line: row.line, value: row.text}
		if SheetError(row.text) {
			r.fault(at, codeSheetError, "the spreadsheet shows an error at the beginning of this row, so nobody knows what the row is about", "mend its formula or type the value, and save the file again")
			continue
		}
		skipped.add(at, "the row begins with # and is skipped as a remark")
	}
	r.tell(skipped)
	if t != nil {
		for _, c := range f.Columns {
			if j, there := t.at[c.Name]; there && c.Form == FormDate {
				t.dated = append(t.dated, j)
			}
		}
		r.checkWidths(t, f.Columns)
		r.checkSheetCells(t, f.Columns)
	}
	return t, nil
}

// inParts has rows dealt with on all cores where there are many, each part by a
// reader of its own, whose findings come in the order of the rows.
func (r *reader) inParts(rows int, do func(part *reader, from, to int)) error {
	const few = 4096 // and so often it is asked whether to go on
	parts := make([]func(part *reader), max(1, min(runtime.GOMAXPROCS(0), rows/few)))
	for k := range parts {
		parts[k] = func(part *reader) {
			for from, to := rows*k/len(parts), rows*(k+1)/len(parts); from < to && r.ctx.Err() == nil; from += few {
				do(part, from, min(from+few, to))
			}
		}
	}
	r.together(parts...)
	return r.ctx.Err()
}

// together has things looked at on all cores, each by a reader of its own, whose
// findings come in the order of the things.
func (r *reader) together(do ...func(part *reader)) {
	parts := make([]reader, len(do))
	var wg conc.WaitGroup
	for k := range do {
		parts[k] = *r
		parts[k].findings, parts[k].found, parts[k].sheetErrors, parts[k].short, parts[k].parents = nil, nil, nil, nil, nil
		parts[k].inhabited = make(map[string]bool)
	}
	for k := range do {
		wg.Go(func() { do[k](&parts[k]) })
	}
	wg.Wait()
	for k := range parts {
		part := &parts[k]
		r.marked = r.marked || part.marked
		r.short, r.sheetErrors = append(r.short, part.short...), append(r.sheetErrors, part.sheetErrors...)
		for _, f := range part.findings {
			if r.count(findingKind{f.File, f.Code, f.Severity}) {
				r.findings = append(r.findings, f)
			}
		}
		for k, n := range part.found {
			r.found[k] += max(0, n-mostAlike-1) // those that the part did not keep
		}
	}
}

// readRows turns the rows of a table into records, cell by cell, without a copy
// of any cell, and looks for what is wrong with characters whatever they mean. Those
// that look or check refuse are left out: look is asked on all cores, and hangs on no
// other row, check in the order of the rows.
func readRows[T any](r *reader, f *file[T], t *table, look, check func(s spot, record *T) bool) ([]T, error) {
	where := make([]int, len(f.columns)) // of each column in the table, -1 if it is not there
	forms := make([]Form, len(t.ours))
	for k, c := range f.columns {
		where[k] = -1
		if j, ok := t.at[c.Name]; ok {
			where[k], forms[j] = j, c.Form
		}
	}
	records, refused := large[T](len(t.rows)), make([]bool, len(t.rows))
	err := r.inParts(len(records), func(part *reader, from, to int) {
		var scratch []string
		for i := from; i < to; i++ {
			cells := t.cellsOf(i, &scratch)
			for j := range min(len(cells), len(t.ours)) {
				if t.ours[j] != "" && !soundCell(cells[j]) && !part.checkCell(t, i, j, forms[j], cells[j]) {
					cells[j] = ""
				}
			}
			s, record := spot{part, t, i, int(t.rows[i].line), cells}, &records[i]
			for k := range f.columns {
				cell := ""
				if j := where[k]; j >= 0 && j < len(cells) {
					cell = cells[j]
				}
				f.columns[k].read(s, cell, record)
			}
			*f.line(record) = s.line
			refused[i] = !look(s, record)
		}
	})
	if t.foreign != nil {
		if x, together := r.shown.of(t.foreign); together {
			r.shown = x
		}
	}
	for _, at := range r.sheetErrors {
		t.set(at[0], at[1], "")
	}
	r.sheetErrors = nil
	kept := 0
	for i := range records {
		if i%4096 == 0 && r.ctx.Err() != nil {
			break
		}
		if kept < i {
			records[kept] = records[i]
		}
		if !refused[i] && check(spot{r, t, i, int(t.rows[i].line), nil}, &records[kept]) {
			kept++
		}
	}
	if err = cmp.Or(err, r.ctx.Err()); err != nil {
		return nil, fmt.Errorf("reading %s: %w", t.file, err)
	}
	return records[:kept], nil
}

// grid finds a file of the folder, as a sheet of the workbook or as a CSV
// file, nil if there is none.
func (r *reader) grid(file string, raw []byte) (*grid, error) {
	if r.book != nil {
		k, ok := r.book.sheetOf(file)
		if file == studbookFile && !ok {
			r.fault(place{file: r.book.name}, codeNoSheet, "the workbook has no sheet named studbook; it has "+r.book.sheetNames(), "name the sheet with the birds studbook, or "+importIt(r.book.name))
			return nil, nil
		}
		if ok {
			return r.sheet(k), nil
		}
	}
	name := file + ".csv"
	if file == studbookFile {
		name = r.colony.Source
	} else {
		var err error
		if raw, err = r.beside(name); raw == nil || err != nil {
			return nil, err
		}
	}
	if what, help := foreign(name, raw); what != "" {
		r.fault(place{file: name}, codeBadWorkbook, what, help)
		return nil, nil
	}
	return r.text(name, raw), nil
}

// sheet cuts a sheet of the workbook into cells, nil where that cannot be.
func (r *reader) sheet(k int) *grid {
	g, err := r.book.grid(k)
	if err == nil {
		return g
	}
	what, help := Shorten(err.Error()), "save the workbook again as .xlsx, or save its sheets as CSV files"
	switch {
	case errors.Is(err, sheets.ErrTooLarge):
		r.tooLarge()
		return nil
	case errors.Is(err, sheets.ErrTooManyCells):
		what = "its cells lie so far to the right that it has too many with the blank ones before them"
		help = "delete the columns to the right of the table, or " + importIt(r.book.name)
	}
	r.fault(place{file: g.file}, codeBadWorkbook, "the sheet cannot be read: "+what, help)
	return nil
}

// tooLarge reports a workbook of which more would have to be unpacked than is.
func (r *reader) tooLarge() {
	r.fault(place{file: r.colony.Source}, codeBadWorkbook, "the workbook cannot be opened: it is larger than a workbook can be that is worked with as it stands", "save its sheets as CSV files")
}

// match finds our columns in the header of a grid. It returns nil if there is
// no header or the first required column is missing.
func (r *reader) match(g *grid, f File) *table {
	columns := f.Columns
	if len(g.header) == 0 {
		if !slices.ContainsFunc(r.findings, func(f Finding) bool { return f.File == g.file && f.Severity == Error }) {
			r.fault(place{file: g.file}, codeEmptyFile, "the file has no header row", "name the columns in the first row: "+columnNames(columns))
		}
		return nil
	}
	t := &table{grid: g, ours: make([]string, len(g.header)), at: make(map[string]int)}
	take := func(j int, ours string) {
		if first, twice := t.at[ours]; twice {
			r.repeated(g, ours, g.header[first], g.header[j])
			return
		}
		t.ours[j], t.at[ours] = ours, j
	}
	mapped := r.mappedIn(g, columns)
	for j, h := range g.header {
		if ours, ok := mapped[NormalHeader(h)]; ok {
			take(j, ours)
		}
	}
	byMapping := maps.Clone(t.at)
	var aside []string
	meant := make(map[string]string) // our column -> header that seems to mean it
	for j, h := range g.header {
		name := NormalHeader(h)
		if _, ok := mapped[name]; ok || h == "" {
			continue
		}
		_, elsewhere := byMapping[name]
		if !elsewhere && slices.ContainsFunc(columns, func(c Column) bool { return c.Name == name }) {
			take(j, name)
			continue
		}
		aside = append(aside, strconv.Quote(Shorten(h)))
		if ours := meantBy(h, columns); meant[ours] == "" {
			meant[ours] = h
		}
	}
	if len(aside) > 0 && f.Further == "" {
		r.note("%s: columns kept aside: %s", g.file, SomeOf(aside, 20))
	}
	if line := r.headerBelow(g, len(t.at), columns); line > 0 {
		r.fault(place{file: g.file, line: g.headerLine, value: g.header[0]}, codeHeaderBelow,
			fmt.Sprintf("this is no row of column names; the header seems to be in line %d", line), "delete the lines above it, or put a # before each")
		return nil
	}
	if !r.checkColumns(t, columns, meant) {
		return nil
	}
	return t
}

// mappedIn returns the columns that have a name of the file's own which stands in the
// header of a grid, by that name as NormalHeader has it.
func (r *reader) mappedIn(g *grid, columns []Column) map[string]string {
	mapped := make(map[string]string)
	for _, ours := range slices.Sorted(maps.Keys(r.columns)) {
		theirs := NormalHeader(r.columns[ours])
		known := slices.ContainsFunc(columns, func(c Column) bool { return c.Name == ours })
		if known && slices.ContainsFunc(g.header, func(h string) bool { return NormalHeader(h) == theirs }) {
			mapped[theirs] = ours
			r.used[ours] = true
		}
	}
	return mapped
}

// checkColumns reports the columns that a table lacks, with the headers that seem to
// mean them, and whether it can be used without.
func (r *reader) checkColumns(t *table, columns []Column, meant map[string]string) (usable bool) {
	var needed []string
	missing := 0
	for _, c := range columns {
		if c.Needed {
			needed = append(needed, c.Name)
			if !t.has(c.Name) {
				missing++
			}
		}
	}
	if missing > 1 && missing == len(needed) {
		help := "name the columns in the first row, with commas, semicolons or tabs between them"
		if t.file == r.colony.Source {
			help += "; or " + importIt(t.file)
		}
		r.fault(place{file: t.file, line: t.headerLine}, codeMissingColumn,
			fmt.Sprintf("the columns %s are missing; the file has %s", SomeOf(needed, len(needed)), QuoteAll(t.header)),
			help)
		return false
	}
	usable = true
	for i, c := range columns {
		if t.has(c.Name) {
			continue
		}
		at := place{file: t.file, line: t.headerLine, column: c.Name}
		if c.Needed {
			r.fault(at, codeMissingColumn, "the column is missing; the file has "+QuoteAll(t.header),
				fmt.Sprintf("name the column %s, or write its name as %s = \"NAME\" under [columns] in programme.toml", c.Name, c.Name))
			usable = usable && i > 0
		} else if theirs := meant[c.Name]; theirs != "" {
			at.value = theirs
			r.warn(at, codeColumnMeant, fmt.Sprintf("there is no column of this name, and %q is not read", Shorten(theirs)),
				fmt.Sprintf("name it %s if that is meant, or write %s = %q under [columns] in programme.toml; else give it another name", c.Name, c.Name, Shorten(theirs)))
		}
	}
	return usable
}

// meantBy returns the column of ours that a heading seems to mean which is none of
// ours, "" if it seems to mean none: one that differs in its spaces alone, or one of
// those without which a bird or a pair counts otherwise.
func meantBy(heading string, columns []Column) string {
	runOn := func(name string) string { return strings.ReplaceAll(name, "_", "") }
	h := runOn(NormalHeader(heading))
	for _, c := range columns {
		if runOn(c.Name) == h {
			return c.Name
		}
	}
	return meantWords[h]
}

var meantWords = map[string]string{
	"died": "death_date", "death": "death_date", "deathday": "death_date", "dateofdeath": "death_date", "dod": "death_date", "dead": "death_date",
	"born": "hatch_date", "birth": "hatch_date", "birthdate": "hatch_date", "dateofbirth": "hatch_date", "dob": "hatch_date",
	"hatched": "hatch_date", "hatch": "hatch_date", "hatchday": "hatch_date", "dateofhatch": "hatch_date",
	"place": "location", "institution": "location", "site": "location", "colony": "location",
	"end": "until", "ended": "until", "ends": "until", "enddate": "until",
}

// headerBelow returns the line of the row that has the most names of columns
// where the header has fewer of them than needed: as under a title. It is 0 if
// no row has two and more than the header.
func (r *reader) headerBelow(g *grid, found int, columns []Column) (line int) {
	best := max(found, 1)
	// The delimiter was told from the first line, which was no header.
	const delimiters = ";,\t"
	for i := range min(len(g.rows), 40) {
		row := g.row(i)
		if len(row) <= best && !slices.ContainsFunc(row, func(cell string) bool { return strings.ContainsAny(cell, delimiters) }) {
			continue // too few cells to be better
		}
		n := 0
		for _, cell := range row {
			for name := range strings.FieldsFuncSeq(cell, func(c rune) bool { return strings.ContainsRune(delimiters, c) }) {
				name = NormalHeader(name)
				if slices.ContainsFunc(columns, func(c Column) bool { return c.Name == name || name != "" && name == NormalHeader(r.columns[c.Name]) }) {
					n++
				}
			}
		}
		if n > best {
			best, line = n, int(g.rows[i].line)
		}
	}
	return line
}

func (r *reader) repeated(g *grid, ours, first, second string) {
	r.fault(place{file: g.file, line: g.headerLine, column: ours, value: second}, codeRepeatedColumn,
		fmt.Sprintf("two columns are named %s: %q and %q", ours, Shorten(first), Shorten(second)),
		"rename or delete one of them")
}

func columnNames(columns []Column) string {
	names := make([]string, len(columns))
	for i, c := range columns {
		names[i] = c.Name
	}
	return strings.Join(names, ", ")
}

// checkWidths looks for rows that are shorter or longer than the header.
func (r *reader) checkWidths(t *table, columns []Column) {
	lastRequired := -1
	for j, ours := range t.ours {
		if slices.ContainsFunc(columns, func(c Column) bool { return c.Name == ours && c.Needed }) {
			lastRequired = j
		}
	}
	var short, lacking []int // rows that end early, and those that end before a column that is needed
	for i, row := range t.rows {
		switch width := int(row.width); {
		case width == len(t.header), t.ragged && width < len(t.header):
		case width <= lastRequired:
			lacking = append(lacking, i)
		case width < len(t.header):
			short = append(short, i)
		default:
			beyond := t.row(i)[len(t.header):]
			if k := slices.IndexFunc(beyond, func(cell string) bool { return cell != "" }); k >= 0 {
				r.fault(place{file: t.file, line: int(row.line), value: beyond[k]}, codeLongRow, fmt.Sprintf("the row has %s cells and the header %s", Number(width), Number(len(t.header))),
					"put a cell that contains the delimiter in quotation marks")
			}
		}
	}
	if lastRequired >= 0 {
		r.shortRows(t, lacking, Error, "; what is missing reaches to the column "+t.ours[lastRequired], "complete the row; leave a cell blank between its delimiters if nothing is known")
	}
	r.shortRows(t, short, Warning, "; the others are read as blank", "complete the row")
}

// shortRows reports rows that end before the header does: each alone where
// they are few, all in one finding where it is the header that is too long.
func (r *reader) shortRows(t *table, rows []int, s Severity, what, help string) {
	const few = 3
	if len(rows) <= few {
		for _, i := range rows {
			r.find(s, place{file: t.file, line: int(t.rows[i].line)}, codeShortRow, fmt.Sprintf("the row has %s cells of %s%s", Number(int(t.rows[i].width)), Number(len(t.header)), what), help)
		}
		return
	}
	lines := make([]string, len(rows))
	for k, i := range rows {
		lines[k] = fmt.Sprint(t.rows[i].line)
	}
	r.find(s, place{file: t.file, line: t.headerLine}, codeShortRow,
		fmt.Sprintf("%s of %s rows have fewer cells than the %s of the header%s (lines %s)", Number(len(rows)), Number(len(t.rows)), Number(len(t.header)), what, SomeOf(lines, 5)),
		"delete the names in the header that have no column, or "+help)
}

// soundCell reports whether a cell can be told at a glance to have nothing that
// checkCell finds.
func soundCell(cell string) bool {
	if cell == "" {
		return true
	}
	switch cell[0] {
	case '#', '=', '+', '-', '@':
		return false
	}
	for k := range len(cell) {
		if c := cell[k]; c < ' ' || c >= 0x7f {
			return false
		}
	}
	return true
}

// checkCell reports what is wrong with a cell, and whether it is read as it stands.
func (r *reader) checkCell(t *table, i, j int, form Form, cell string) bool {
	at := place{t.file, int(t.rows[i].line), t.ours[j], cell}
	damaged, unseen := false, rune(0)
	for _, c := range cell {
		switch {
		case c >= ' ' && c < 0x7f:
		case c == '\n' || c == '\r' || c == '\t':
			if form != FormText {
				r.fault(at, codeControlCharacter, "the cell contains a line break or a tab", "write the cell on one line")
				return true
			}
		case unicode.IsControl(c):
			r.fault(at, codeControlCharacter,
				fmt.Sprintf("the cell contains a control character (%U)", c), "type the cell again, or save the file anew as CSV UTF-8")
			return true
		case c == unicode.ReplacementChar:
			damaged = true
		case invisible(c):
			unseen = c
		}
	}
	switch {
	case damaged:
		r.warn(at, codeDamagedCharacter, "the cell contains a character that could not be read", "type the cell again and save the file as CSV UTF-8")
	case unseen != 0 && form != FormText:
		r.warn(at, codeInvisibleSign, fmt.Sprintf("the cell contains a sign that cannot be seen (%U), so it is not the same as without it", unseen), "type the cell again")
	case SheetError(cell) && (form == FormText || form == FormParent || form == FormID):
		// Whatever it should have been, it is not the name of anything.
		severity, read := Warning, "so the cell is read as blank"
		if form == FormID {
			severity, read = Error, "so nobody knows which bird or place is meant"
		}
		r.find(severity, at, codeSheetError, "the spreadsheet shows an error here in place of a value, "+read, "mend its formula or type the value, and save the file again")
		r.sheetErrors = append(r.sheetErrors, [2]int{i, j})
		return false
	case formula(cell) && (form == FormText || form == FormID):
		r.warn(at, codeFormula, "a spreadsheet takes this for a formula and may run it", "write it without the sign at its beginning; where Pairwright writes it as CSV, a ' stands before it")
	}
	return true
}

// sorted returns the findings in the order of files, lines and columns.
func (r *reader) sorted() []Finding {
	rank := make(map[string]int)
	for i, f := range append(Files(), File{Name: programmeFile}) {
		rank[r.labels[strings.TrimSuffix(f.Name, ".csv")]] = i
	}
	order := make(map[string]int)
	for i, c := range allColumns() {
		order[c.Name] = cmp.Or(order[c.Name], i+1) // after the findings of whole rows
	}
	slices.SortStableFunc(r.findings, func(a, b Finding) int {
		return cmp.Or(
			cmp.Compare(rank[a.File], rank[b.File]),
			cmp.Compare(a.Line, b.Line),
			cmp.Compare(order[a.Column], order[b.Column]),
			cmp.Compare(a.Code, b.Code),
			cmp.Compare(a.Value, b.Value),
		)
	})
	return r.bounded()
}
