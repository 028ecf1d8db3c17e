package exchange

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/sourcegraph/conc"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

// Options say how to import. The zero Options are usable.
type Options struct {
	Mapping Mapping
	Today   studbook.Day // decides years of two digits and what lies in the future; 0 leaves both open
	Home    string       // code of the user's own institution, for the settings of the folder; "" leaves it open
	FileDay studbook.Day // when the file was last changed; the last day it can know of
	Over    fs.FS        // the colony folder that it is laid over, whose birds may be parents without a row in the file; nil for a new folder
}

// File is a file of a colony folder to be written.
type File struct {
	Name    string
	Content []byte
}

// Names returns the names of files, sorted.
func Names(files []File) []string {
	names := make([]string, len(files))
	for i, f := range files {
		names[i] = f.Name
	}
	slices.Sort(names)
	return names
}

// Result is an import: its account and, unless it stopped, the folder.
type Result struct {
	Report Report
	Files  []File           // by name; none if the import stopped
	Colony *studbook.Colony // the folder as it reads; nil if the import stopped
	Told   map[string]bool  // the columns of studbook.csv that something in the file is about, if only a heading
}

// The file of a colony folder that keeps the mapping which made it.
const MappingFile = "import.toml"

// Import reads a foreign file into the text of a colony folder. It writes
// nothing. A file that is no table at all is a *studbook.Faults error of one
// finding; any other error is of the file system or the context.
func Import(ctx context.Context, fsys fs.FS, name string, opt Options) (*Result, error) {
	im := &importer{opt: &opt, stopped: make(map[string]*saying), stops: make(map[string]int), met: make(map[*string]bool), goneTold: make(map[string]bool)}
	var err error
	im.src, err = open(fsys, name, &opt)
	var no *refusal
	if errors.As(err, &no) {
		return nil, &studbook.Faults{Findings: []studbook.Finding{{Severity: studbook.Error, File: name, Code: "not_a_table", Message: no.message, Help: no.help}}}
	}
	if err != nil {
		return nil, err
	}
	im.from1904 = im.src.from1904
	if im.over, err = birdsIn(ctx, opt.Over); err != nil {
		return nil, err
	}
	im.report = Report{Source: im.src.name, Format: im.src.format, Encoding: im.src.encoding, Beside: im.src.from, Settings: im.src.settings != nil}
	if im.src.encoding != "" && im.src.encoding != "UTF-8" || im.src.format == "csv" {
		im.report.Accented = accented(im.src.sheets)
	}
	for _, d := range im.src.likely {
		im.likely(d)
	}
	for _, step := range []func(){
		im.layOut, im.chooseIDs, im.checkErrors, im.unfold, im.sortRows, im.decideOrder, im.swapped, im.yearlyIDs, im.yearlyLists, im.shortIDs, im.agree, im.needParents, im.padIDs,
		im.collect, im.nests, im.chicksOfNests, im.groups, im.events, im.alikeIDs, im.index, im.cutPairs, im.sexes, im.pairs, im.descent, im.fates, im.struck, im.blanks, im.unlisted, im.overlooked,
	} {
		if err := ctx.Err(); err != nil {
			return nil, fmt.Errorf("importing %s: %w", name, err)
		}
		step()
	}
	return im.finish(ctx)
}

// importer is one run of Import.
type importer struct {
	opt    *Options
	src    *source
	report Report
	tables []*table
	order  dateOrder
	// from1904 tells that what the file has of days that are numbers counts from 1904.
	from1904 bool
	read     sync.Mutex           // dates and places: the account is made beside the writing
	dates    map[string]dateRead  // the dates that were read; see parseDate
	places   map[string]placeRead // the cells with places that were read
	bred     slab[bird]
	stays    slab[stay]
	sexed    slab[written]
	staying  []stay // of the bird whose fate is decided

	birds    []*bird
	byID     map[string]int32 // id -> bird
	plain    map[string]int32 // what PlainID has of an id -> bird, where ids alike are one bird
	looks    map[string]bool  // what PlainID has of all ids; see looksLikeID
	enclosed string           // the place whose enclosures the file has for places
	lastList int              // the last year of lists that have a row for a bird in each
	padded   int              // the length that ids stored as numbers are filled to, 0 for none
	carried  []string         // the headings that are carried over

	finder
	over     *folderBirds // the birds of the folder; nil where there is none
	held     []holding
	heldBy   map[string]*timeline // when each was held, by nest: numbers of held
	flocks   []flock
	flocksBy map[string]*timeline // when each was together, by name: numbers of flocks
	pairings []pairing
	leftOut  map[int][]int   // numbers of the mapping's LeaveOut, by line; made when needed
	setApart map[int][]int   // the same of Apart
	goneTold map[string]bool // the cells of deaths that say that a bird moved or left
	unnamed  bool            // no sheet has a column of ids: what else a header of birds has, makes it one
	bonds    []studbook.Bond
	moves    []studbook.Move
	clutches []studbook.Clutch
	lastDay  studbook.Day // the last day that the file knows of
	said     map[string]*saying
	stopped  map[string]*saying // of words that stop
	met      map[*string]bool   // words and rows of the mapping that the file has
	stops    map[string]int     // how many there are of each code, told or not
}

// saying is where a decision stands in the report, and how often it was taken.
type saying struct{ index, times int }

// likely notes what was taken without being certain; the same of another line
// is counted once.
func (im *importer) likely(d Decision) { im.likelySaid(d, func() string { return d.Text }) }

// likelySaid is likely with a text that is put together only once, as where thousands of
// birds have one parent's name.
func (im *importer) likelySaid(d Decision, text func() string) {
	k := d.Code + "\x00" + d.Column + "\x00" + d.Value + "\x00" + d.Taken
	if im.said == nil {
		im.said = make(map[string]*saying)
	}
	if at, there := im.said[k]; there {
		at.times++
		im.report.Decisions[at.index].of = append(im.report.Decisions[at.index].of, d.of...)
		return
	}
	im.said[k] = &saying{len(im.report.Decisions), 1}
	d.Text = text()
	im.report.Decisions = append(im.report.Decisions, d)
}

// unsay takes decisions back, from the n-th on.
func (im *importer) unsay(n int) {
	maps.DeleteFunc(im.said, func(_ string, at *saying) bool { return at.index >= n })
	im.report.Decisions = im.report.Decisions[:n]
}

// stop notes what must be decided before anything is written.
func (im *importer) stop(d Decision) {
	word := ""
	if d.Choice != nil && d.Choice.Subject == OfWord { // one word settles all of them
		word = d.Choice.Of + "\x00" + d.Choice.Word
		if at, there := im.stopped[word]; there {
			at.times++
			return
		}
	}
	if im.enough(d.Code) {
		return
	}
	im.stops[d.Code]++
	if word != "" {
		im.stopped[word] = &saying{len(im.report.Stops), 1}
	}
	im.report.Stops = append(im.report.Stops, d)
}

// mostStops is how many stops of one code are told; a variable for the sake of tests.
var mostStops = 1000

// enough reports whether so many stops of a code are told already that one more is
// counted and not told.
func (im *importer) enough(code string) bool {
	if im.stops[code] < mostStops {
		return false
	}
	im.stops[code]++
	return true
}

func (im *importer) leave(t *table, r sheets.Row, reason string) {
	im.report.LeftOut = append(im.report.LeftOut, LeftOut{t.Name, r.Line, reason})
}

// layOut finds the header of every sheet.
func (im *importer) layOut() {
	mapping := &im.opt.Mapping
	im.stacked()
	for _, s := range mapping.Sheets {
		if !slices.ContainsFunc(im.src.sheets, func(x sheet) bool { return x.called(s) }) {
			im.stop(Decision{Code: "no_such_sheet", Value: s, Text: fmt.Sprintf("the file has no sheet %q; it has %s", s, studbook.QuoteAll(sheetNames(im.src.sheets)))})
		}
	}
	before := im.report
	im.layOutSheets()
	if !slices.ContainsFunc(im.tables, func(t *table) bool { return t.kind == birdRows || t.kind == eventRows }) {
		im.unsay(len(before.Decisions))
		im.report, im.tables, im.unnamed = before, nil, true
		im.layOutSheets()
	}
	for _, ours := range slices.Sorted(maps.Keys(mapping.Columns)) {
		im.checkMapped(ours, mapping.Columns[ours], "")
	}
	for _, s := range slices.Sorted(maps.Keys(mapping.SheetColumns)) {
		for _, ours := range slices.Sorted(maps.Keys(mapping.SheetColumns[s])) {
			im.checkMapped(ours, mapping.SheetColumns[s][ours], s)
		}
	}
}

// layOutSheets finds the header of each sheet and leaves out those that have none. Sheets in
// which one column may name both birds of a pair come last: the others say what is a bird.
func (im *importer) layOutSheets() {
	read := make([]SheetRead, len(im.src.sheets))
	tables := make([]*table, len(im.src.sheets))
	lay := func(i int) {
		if tables[i], read[i] = im.layOutSheet(&im.src.sheets[i]); tables[i] != nil {
			im.tables = append(im.tables, tables[i])
		}
	}
	var last []int
	for i := range im.src.sheets {
		s := &im.src.sheets[i]
		im.sideBySide(s)
		if im.mayNamePairs(s) {
			last = append(last, i)
			continue
		}
		lay(i)
	}
	for _, i := range last {
		lay(i)
	}
	im.report.Sheets = append(im.report.Sheets, read...)
	im.tables = slices.DeleteFunc(tables, func(t *table) bool { return t == nil })
}

// layOutSheet finds the header of a sheet; the table is nil if it is left out.
func (im *importer) layOutSheet(s *sheet) (*table, SheetRead) {
	mapping := &im.opt.Mapping
	before := len(im.report.LeftOut)
	stops, likely := len(im.report.Stops), len(im.report.Decisions)
	t := im.layout(s)
	why := ""
	switch {
	case len(s.Rows) == 0:
		why = "it is empty"
	case t.kind == otherRows:
		why = "no row of it names the columns of birds, nests, groups or events"
	case (t.kind == birdRows || t.kind == eventRows) && len(mapping.Sheets) > 0 && !slices.ContainsFunc(mapping.Sheets, s.called):
		why = "you named other sheets"
	}
	if why != "" {
		im.report.LeftOut = im.report.LeftOut[:before]
		im.report.Stops = im.report.Stops[:stops]
		im.unsay(likely)
		return nil, SheetRead{Name: s.Name, As: SheetLeftOut, Rows: len(s.Rows), Why: why, Optional: t.kind != otherRows}
	}
	im.checkStored(t)
	return t, SheetRead{Name: s.Name, As: tableKindNames[t.kind], Rows: len(t.body), Optional: t.kind == birdRows || t.kind == eventRows}
}

// need stops where no column of the birds is one of ours, nor any that serves in its
// place.
func (im *importer) need(c column, also ...column) {
	for _, t := range im.tables {
		if t.kind == eventRows || t.kind == birdRows && (t.has(c) || slices.ContainsFunc(also, t.has)) {
			return
		}
	}
	if slices.Contains(im.opt.Mapping.Without, c.String()) {
		return
	}
	if slices.ContainsFunc(im.report.Stops, func(d Decision) bool { return d.Column == c.String() }) {
		return
	}
	d := Decision{Code: "column_missing", Column: c.String(), Choice: im.anyColumn(c), Text: fmt.Sprintf("no column of the file is known to be %s", c)}
	if !slices.ContainsFunc(im.report.Stops, func(other Decision) bool { return other.Code == d.Code }) { // else it stands above
		d.Text += "; " + im.unknownHeadings()
	}
	im.stop(d)
}

// unknownHeadings says which headings of the birds are known to be nothing of ours, with some
// of the cells beneath each.
func (im *importer) unknownHeadings() string {
	t := im.likeliest()
	if t == nil {
		return im.headings()
	}
	const most = 12 // columns
	var has []string
	for j, h := range t.head {
		if h == "" || t.kind != otherRows && t.ours[j] != unclaimed {
			continue
		}
		if len(has) == most {
			has = append(has, "…")
			break
		}
		said := strconv.Quote(shorten(h))
		if cells := t.cellsUnder(j); len(cells) > 0 {
			for k := range cells {
				cells[k] = shorten(cells[k])
			}
			said += " (" + strings.Join(cells, ", ") + ")"
		}
		has = append(has, said)
	}
	where := fmt.Sprintf("line %d", t.headLine)
	if im.src.format != "csv" {
		where = fmt.Sprintf("sheet %q, %s,", t.Name, where)
	}
	switch {
	case has == nil:
		return "every heading in " + where + " is known to be something else"
	case t.kind == otherRows:
		return where + " has " + strings.Join(has, ", ")
	}
	return "not known in " + where + " are " + strings.Join(has, ", ")
}

// checkStored stops where cells that count have a formula and no value: as blanks a
// bird would lose its parents, or live for ever. In other columns it is said.
func (im *importer) checkStored(t *table) {
	lines := make([][]int, len(t.head))
	for _, at := range t.Unstored {
		if at.Line > t.headLine && at.Column < len(t.head) && t.head[at.Column] != "" {
			lines[at.Column] = append(lines[at.Column], at.Line)
		}
	}
	for j, at := range lines {
		if len(at) == 0 {
			continue
		}
		d := Decision{Code: "value_not_stored", Sheet: t.Name, Line: at[0], Column: t.head[j],
			Text: fmt.Sprintf("%s of column %q with a formula and without its value, from line %d on, would be read as blank; open the workbook in a spreadsheet program and save it again", studbook.Counted(len(at), "cell", "cells"), t.head[j], at[0])}
		if t.ours[j] == unclaimed && t.kind != ownRows {
			d.Taken = "blank"
			im.likely(d)
			continue
		}
		im.stop(d)
	}
}

// checkErrors stops where a cell that counts shows an error of the spreadsheet. #N/A
// alone, which a table that is looked up has for what it does not find, may stand for
// nothing known, and that is said.
func (im *importer) checkErrors() {
	for _, t := range im.tables {
		im.checkErrorsOf(t)
	}
}

func (im *importer) checkErrorsOf(t *table) {
	for j, ours := range t.ours {
		if ours == unclaimed {
			continue
		}
		nothing := map[bool][]sheets.Row{}
		for _, r := range t.body {
			if text := r.At(j).Text; strings.HasPrefix(text, "#") && studbook.SheetError(text) && !im.saidOut(t, r.Line) {
				none := text == "#N/A" || text == "#NV"
				nothing[none] = append(nothing[none], r)
			}
		}
		for _, none := range []bool{false, true} {
			rows := nothing[none]
			if len(rows) == 0 {
				continue
			}
			d := Decision{Code: "spreadsheet_error", Sheet: t.Name, Line: rows[0].Line, Column: t.head[j], Value: rows[0].At(j).Text}
			said := fmt.Sprintf("%s of column %q with %s", studbook.Counted(len(rows), "cell", "cells"), t.head[j], d.Value)
			if none && ours != colID {
				d.Taken, d.Text = "blank", said+": nothing was found there, and nothing is taken as known"
				im.likely(d)
				continue
			}
			d.Text = said + ", an error of the spreadsheet in place of a value; mend its formula or type the value"
			im.stop(d)
		}
	}
}

// headings says what columns the file has.
func (im *importer) headings() string {
	const most = 3 // sheets
	var has []string
	for _, t := range im.tables {
		if t.kind != ownRows && len(has) < most {
			has = append(has, fmt.Sprintf("sheet %q has %s", t.Name, studbook.QuoteAll(slices.DeleteFunc(slices.Clone(t.head), func(h string) bool { return h == "" }))))
		}
	}
	if has != nil {
		return strings.Join(has, ", ")
	}
	for _, s := range im.src.sheets {
		for _, r := range s.Rows[:min(len(s.Rows), searched)] {
			if r.Used() > 1 {
				var heads []string
				for _, c := range r.Cells {
					if c.Kind != sheets.Blank {
						heads = append(heads, c.Text)
					}
				}
				return fmt.Sprintf("the first row of several cells has %s", studbook.QuoteAll(heads))
			}
		}
	}
	return "no row has several cells"
}

// checkMapped stops if no sheet has the column that one of ours is mapped to.
func (im *importer) checkMapped(ours, theirs, only string) {
	for _, t := range im.tables {
		if only != "" && t.Name != only {
			continue
		}
		for j, h := range t.head {
			if h != "" && key(h) == key(theirs) && t.ours[j].String() == ours {
				return
			}
		}
	}
	im.stop(Decision{Code: "no_such_column", Sheet: only, Column: ours, Value: theirs, Text: fmt.Sprintf("%s is mapped to %q, which no sheet has; %s", ours, theirs, im.headings())})
}

func sheetNames(sheets []sheet) []string {
	var names []string
	for _, s := range sheets {
		names = append(names, s.Name)
	}
	return names
}

// shorten bounds what a message repeats of a file, on one line.
func shorten(s string) string { return studbook.Shorten(oneLine(s)) }

// finish writes the folder, reads it again and adds up.
func (im *importer) finish(ctx context.Context) (*Result, error) {
	im.holdNests()
	im.bondMates()
	stopped := len(im.report.Stops) > 0
	var beside conc.WaitGroup
	beside.Go(im.account) // the writing reads the birds alone
	var files []File
	var colony *studbook.Colony
	var err error
	write := func() {
		if files, err = im.folder(); err == nil {
			colony, err = studbook.Read(ctx, im.over.with(files), "studbook.csv", studbook.Options{Today: im.opt.Today})
		}
	}
	if !stopped {
		write()
	}
	beside.Wait()
	if err == nil && colony != nil && len(colony.Unbonded) > 0 && im.over == nil {
		if im.bondParents(colony) {
			write()
		}
	}
	if home := im.opt.Home; home != "" && !slices.Contains(im.report.Places(), home) {
		im.stop(Decision{Code: "home_of_nobody", Column: "location", Value: home, Text: fmt.Sprintf("no living bird of the file is at %q; birds live at %s", home, studbook.QuoteAll(im.report.Places()))})
	}
	im.report.Home = im.home()
	res := &Result{Told: im.told()}
	var faults *studbook.Faults
	switch {
	case errors.As(err, &faults) && len(im.report.Stops) == 0:
		im.report.Findings = faults.Findings
	case err != nil && faults == nil:
		return nil, err
	case len(im.report.Stops) == 0:
		if im.over == nil { // else Merge says what check finds then
			im.report.Findings = colony.Warnings
		}
		res.Files, res.Colony = files, colony
		im.report.Bonds, im.report.Moves, im.report.Clutches = len(colony.Bonds), len(colony.Moves), len(colony.Clutches)
	}
	im.report.Idle = im.idle()
	im.report.Mapping = im.used().toml(sheetNames(im.src.sheets), im.mappedStops())
	if res.Files != nil {
		res.Files = append(res.Files, File{MappingFile, []byte("# What import made of " + im.src.name + ", for the next export of the same kind.\n\n" + im.report.Mapping)})
		slices.SortFunc(res.Files, func(a, b File) int { return cmp.Compare(a.Name, b.Name) })
	}
	res.Report = im.report
	return res, nil
}

// told are the columns of studbook.csv that the file has columns or sheets for.
func (im *importer) told() map[string]bool {
	told := make(map[string]bool)
	for _, t := range im.tables {
		if t.kind != birdRows && t.kind != eventRows {
			continue
		}
		for c := colID; c <= colNotes; c++ {
			told[c.String()] = told[c.String()] || t.has(c)
		}
		if t.has(colParents) {
			told[colSire.String()], told[colDam.String()] = true, true
		}
		if t.saysFates() || t.fate != noFate || t.kind == eventRows {
			told[colDeath.String()] = true
		}
	}
	return told
}

// idle returns what the mapping decides of words for parents and of rows that the file
// has not.
func (im *importer) idle() (out []Choice) {
	m := &im.opt.Mapping
	for _, list := range []struct {
		of []string
		as func(s string) Choice
	}{
		{m.Unknown, func(s string) Choice { return Choice{Subject: OfParent, Word: s, Taken: UnknownParent} }},
		{m.Wild, func(s string) Choice { return Choice{Subject: OfParent, Word: s, Taken: WildParent} }},
		{m.LeaveOut, func(s string) Choice { return Choice{Subject: OfRow, Taken: s} }},
		{m.Apart, func(s string) Choice { return Choice{Subject: OfRow, Taken: apartAnswer + s} }},
	} {
		for k, s := range list.of {
			if !im.met[&list.of[k]] {
				out = append(out, list.as(s))
			}
		}
	}
	return out
}

// oneTable reports whether the file is one table of text, whose name the next
// export may not have: its mapping names no sheet.
func (im *importer) oneTable() bool { return im.src.format == "csv" && len(im.tables) == 1 }

// mappedStops are the stops as the mapping names them.
func (im *importer) mappedStops() []Decision {
	stops := slices.Clone(im.report.Stops)
	for k := range stops {
		if c := stops[k].Choice; c != nil && im.oneTable() {
			anywhere := *c
			anywhere.Sheet = ""
			stops[k].Choice = &anywhere
		}
	}
	return stops
}

// used is the mapping that gives the same result again: the columns as they
// were named, the order of dates, and what the user said.
func (im *importer) used() Mapping {
	m := im.opt.Mapping
	m.SheetColumns = make(map[string]map[string]string)
	m.Columns = make(map[string]string)
	for _, t := range im.tables {
		of := make(map[string]string)
		for j, c := range t.ours {
			if c != unclaimed && t.fixed == nil && t.head[j] != "" && t.col[c] == j {
				of[c.String()] = t.head[j]
			}
		}
		if len(of) > 0 {
			m.SheetColumns[t.Name] = of
		}
	}
	if im.oneTable() {
		m.Columns, m.SheetColumns = m.SheetColumns[im.tables[0].Name], nil
	}
	if im.order.matters() {
		m.Dates = im.order.order
	}
	if im.src.encoding != "" && im.src.encoding != "UTF-8" && !strings.HasPrefix(im.src.encoding, "UTF-16") && im.src.encoding != ansel {
		m.Encoding = im.src.encoding
	}
	return m
}

// memory is a folder that is not written yet.
type memory []File

// Open is part of fs.FS; ReadFile is what is used.
func (m memory) Open(name string) (fs.File, error) {
	return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
}

// ReadFile returns the content of a file.
func (m memory) ReadFile(name string) ([]byte, error) {
	for _, f := range m {
		if f.Name == name {
			return f.Content, nil
		}
	}
	return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
}

// csvText writes rows as CSV.
func csvText(rows [][]string) []byte {
	var b []byte
	for _, r := range rows {
		b = appendRow(b, r)
	}
	return b
}

// appendRow writes a row as a line of CSV.
func appendRow(b []byte, r []string) []byte { return appendCells(b, ',', r) }

// appendCells writes a row as a line of a table with a delimiter.
func appendCells(b []byte, delimiter byte, r []string) []byte {
	for j, s := range r {
		if j > 0 {
			b = append(b, delimiter)
		}
		if s = studbook.Guarded(s); quoted(s, delimiter) || j == 0 && (s == "" && len(r) == 1 || strings.HasPrefix(s, "#")) {
			b = append(b, '"')
			b = append(b, strings.ReplaceAll(s, `"`, `""`)...)
			b = append(b, '"')
		} else {
			b = append(b, s...)
		}
	}
	return append(b, '\n')
}

// quoted reports whether a cell needs marks of quotation.
func quoted(s string, delimiter byte) bool {
	for i := range len(s) {
		switch s[i] {
		case delimiter, '"', '\n', '\r':
			return true
		}
	}
	return s != "" && (s[0] == ' ' || s[len(s)-1] == ' ')
}
