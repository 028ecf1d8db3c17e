package exchange

import (
	"bytes"
	"cmp"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode/utf8"

	"pairwright/pedigree/studbook"
)

// Change is a cell that a newer export has otherwise than the last one.
type Change struct {
	File, Row, Column string
	Was, Now          string
}

// Conflict is a cell that was changed both here and in the newer export.
type Conflict struct {
	File, Row, Column string
	Was, Ours, Theirs string
	Settled           string // "theirs" or "ours" where it was said, "" where it must be
}

// NewBird is a bird that the folder has not yet, its cells as they are written.
type NewBird struct{ ID, Name, Sex, Sire, Dam, Hatched, Location string }

// Merged is a newer export laid over a colony folder.
type Merged struct {
	New       []NewBird
	Gone      []string // birds that the newer export has no more
	Changes   []Change
	Conflicts []Conflict
	Kept      []Change // cells of birds of which it has nothing, under headings that are blank all down: they stay as they were
	Silent    []string // files of which it has nothing at all: their rows stay
	First     bool     // no import made the folder, so that nothing tells who changed a cell
	Part      bool     // it has fewer of the folder's birds than it lacks: a sheet of one place, not a newer export of all
	Anew      bool     // it was read by itself; see Report.Anew
	Files     []File   // the files of the folder that change, and the new base
	Findings  []studbook.Finding

	renamed []studbook.Finding // see findRenamed
	has     map[string]bool    // the birds of the export
	latest  studbook.Day       // of what is taken from it
}

// Empty reports whether nothing is changed.
func (m *Merged) Empty() bool { return m.size() == 0 }

// size is how much it has found.
func (m *Merged) size() int { return len(m.New) + len(m.Changes) + len(m.Conflicts) }

// tells reports whether the export has the birds that a row of a file is about: of
// others it says nothing.
func (m *Merged) tells(name string, k keyed, row []string) bool {
	return !slices.ContainsFunc(birdColumns(name), func(column string) bool { return !m.has[k.cell(row, column)] })
}

// Open reports whether something must be decided before it can be applied.
func (m *Merged) Open() bool {
	return slices.ContainsFunc(m.Conflicts, func(c Conflict) bool { return c.Settled == "" }) || studbook.Errors(m.Findings) > 0
}

// IsColony reports whether a folder has a studbook that a file can be laid over.
func IsColony(dir string) bool {
	info, err := os.Stat(filepath.Join(dir, "studbook.csv"))
	return err == nil && info.Mode().IsRegular()
}

// FromImport reports whether a folder was written by import.
func FromImport(dir string) bool {
	_, err1 := os.Stat(filepath.Join(dir, MappingFile))
	_, err2 := os.Stat(filepath.Join(dir, Base, "studbook.csv"))
	return err1 == nil && err2 == nil
}

// keyColumns tell the rows of each file apart, the birds of the row first.
var keyColumns = map[string][]string{
	"studbook.csv": {"id"}, "moves.csv": {"id", "date"}, "bonds.csv": {"female", "male", "since"}, "clutches.csv": {"female", "male", "laid"},
	"genotypes.csv": {"id"},
}

// birdColumns are those of keyColumns that name birds.
func birdColumns(name string) []string {
	if columns := keyColumns[name]; len(columns) > 1 {
		return columns[:len(columns)-1]
	}
	return keyColumns[name]
}

// Merge lays a newer import over a colony folder. Where an import made the folder, what
// changed in the export since then is taken, what changed here stays, and a cell
// that changed in both is a conflict, settled by keep ("theirs" or "ours") or by
// nobody; in another folder every cell that both have and that differs is a conflict. A bird gone from the export is never deleted. A row about a bird that
// the export has not stays as it is, for it may be the sheet of one place among many,
// and so do the rows of a file and the cells of a column of which it has none; but a bird
// whose death it had, and that it lists without one, lives again. Nothing is written.
func Merge(ctx context.Context, folder fs.FS, newer *Result, keep string, today studbook.Day) (*Merged, error) {
	m := &merging{Merged: &Merged{Anew: newer.Report.Anew}, folder: folder, export: make(map[string][]byte), told: newer.Told, keep: keep}
	for _, f := range newer.Files {
		m.export[f.Name] = f.Content
	}
	birds, err := parseRows(m.export["studbook.csv"], nil)
	if err != nil {
		return nil, fmt.Errorf("studbook.csv: %w", err)
	}
	m.has = birds.ids()
	if m.columns, err = columnsIn(ctx, folder); err != nil {
		return nil, err
	}
	if _, err := fs.Stat(folder, Base+"/studbook.csv"); err != nil {
		m.First = true
	}
	for _, name := range slices.Sorted(maps.Keys(keyColumns)) {
		if err := m.lay(name); err != nil {
			return nil, err
		}
	}
	for _, f := range studbook.Files() {
		if keyColumns[f.Name] == nil {
			m.stays(f.Name)
		}
	}
	m.stays("programme.toml")
	if !m.Part && !m.First { // else it says how that sheet is read, and not the next export of all
		m.Files = append(m.Files, File{MappingFile, m.export[MappingFile]})
	}
	if err := m.bringUpToDate(ctx, today); err != nil {
		return nil, err
	}
	if err := m.check(ctx, today); err != nil {
		return nil, err
	}
	return m.Merged, nil
}

// merging is a merge on its way.
type merging struct {
	*Merged
	folder  fs.FS
	export  map[string][]byte // the files of the export, by name
	told    map[string]bool   // the columns that the export has a column for, even if that is blank from top to bottom
	keep    string
	columns map[string]string // our columns by what the folder calls them
	whole   memory            // the folder as it is to be
}

// lay lays one file of the export over the folder's.
func (m *merging) lay(name string) error {
	base, err := tableIn(m.folder, Base+"/"+name, nil)
	if err != nil {
		return err
	}
	ours, err := tableIn(m.folder, name, m.columns)
	if err != nil {
		return err
	}
	next, err := parseRows(m.export[name], nil)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	before := m.size()
	merged := m.mergeTable(name, base, ours, next)
	content := ours.raw
	if m.size() > before {
		content = merged.bytes()
	}
	if len(merged.rows) > 0 || len(ours.rows) > 0 {
		m.whole = append(m.whole, File{name, content})
		if !bytes.Equal(content, ours.raw) {
			m.Files = append(m.Files, File{name, content})
		}
	}
	switch {
	case m.First:
	case next.head != nil:
		if known := m.newBase(name, base, next); !bytes.Equal(known, base.raw) {
			m.Files = append(m.Files, File{Base + "/" + name, known})
		}
	case len(base.rows) > 0:
		m.Silent = append(m.Silent, name)
	}
	return nil
}

// stays keeps a file of the folder, if it has that, as it is.
func (m *merging) stays(name string) {
	if raw, err := fs.ReadFile(m.folder, name); err == nil {
		m.whole = append(m.whole, File{name, raw})
	}
}

// check finds what is wrong with the folder as it is to be.
func (m *merging) check(ctx context.Context, today studbook.Day) error {
	c, err := studbook.Read(ctx, m.whole, "studbook.csv", studbook.Options{Today: today})
	found := m.renamed
	var faults *studbook.Faults
	switch {
	case errors.As(err, &faults):
		found = append(found, faults.Findings...)
	case err != nil:
		return err
	default:
		found = append(found, c.Warnings...)
	}
	m.Findings = found
	return nil
}

// keyed is a file as rows of text by their key.
type keyed struct {
	raw     []byte
	comma   byte
	head    []string // in small letters, as our columns are named
	titles  []string // as the file has them
	rows    [][]string
	remarks []string // what stands above the heading, above each row and below the last
}

func tableIn(folder fs.FS, name string, ours map[string]string) (keyed, error) {
	raw, err := fs.ReadFile(folder, name)
	if errors.Is(err, fs.ErrNotExist) {
		return keyed{}, nil
	}
	if err != nil {
		return keyed{}, err
	}
	k, err := parseRows(raw, ours)
	if err != nil {
		return k, fmt.Errorf("%s: %w", name, err)
	}
	for _, column := range keyColumns[name] {
		if len(k.rows) > 0 && !slices.Contains(k.head, column) {
			return k, fmt.Errorf("%s has no column %s of this name, so its rows cannot be told apart: name it so", name, column)
		}
	}
	return k, nil
}

// columnsIn returns our columns by the headings that a folder's programme.toml says are
// theirs.
func columnsIn(ctx context.Context, folder fs.FS) (map[string]string, error) {
	w, err := studbook.NewRewriter(ctx, folder, "studbook.csv", studbook.Options{})
	if err != nil {
		return nil, err
	}
	defer w.Close()
	ours := make(map[string]string)
	for name, theirs := range w.Settings().Columns {
		ours[studbook.NormalHeader(theirs)] = name
	}
	return ours, nil
}

// parseRows cuts a CSV file of a colony folder into rows; ours are our columns by what the
// folder calls them.
func parseRows(raw []byte, ours map[string]string) (keyed, error) {
	k := keyed{raw: raw, comma: ','}
	if len(raw) == 0 {
		return k, nil
	}
	text, comma, begins := studbook.TableText(raw)
	above, text := text[:begins], text[begins:]
	k.comma = byte(comma)
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.Comment, r.FieldsPerRecord, r.LazyQuotes = comma, '#', -1, true
	for from := int64(0); ; from = r.InputOffset() {
		row, err := r.Read()
		if err != nil && !errors.Is(err, io.EOF) {
			return k, err
		}
		k.remarks = append(k.remarks, above+remarksOf(text[from:r.InputOffset()]))
		above = ""
		for j := range row {
			row[j] = studbook.Unguarded(strings.TrimSpace(row[j]))
		}
		switch {
		case err != nil:
			return k, nil
		case k.titles == nil:
			k.titles = row
			for _, title := range row {
				name := studbook.NormalHeader(title)
				k.head = append(k.head, cmp.Or(ours[name], name))
			}
		default:
			k.rows = append(k.rows, row)
		}
	}
}

// remarksOf returns the blank lines and the remarks that a text begins with.
func remarksOf(text string) string {
	n := 0
	for line := range strings.Lines(text) {
		if rest := strings.TrimRight(line, "\r\n"); rest != "" && rest[0] != '#' {
			break
		}
		n += len(line)
	}
	return text[:n]
}

// bytes returns the file with its rows as they are now: a remark stays above its row, and
// ends of lines and the mark of UTF-8 as they were in raw. What was in another encoding
// gets the mark, without which a spreadsheet would not read it as what it is now.
func (k keyed) bytes() []byte {
	var b []byte
	remark := func(row int) {
		if row < len(k.remarks) {
			b = append(b, k.remarks[row]...)
		}
	}
	remark(0)
	b = appendCells(b, k.comma, k.titles)
	for i, row := range k.rows {
		remark(i + 1)
		b = appendCells(b, k.comma, row)
	}
	remark(len(k.rows) + 1)
	b = bytes.ReplaceAll(b, []byte("\r\n"), []byte("\n"))
	if text, _, _ := studbook.TableText(k.raw); strings.Contains(text, "\r\n") {
		b = bytes.ReplaceAll(b, []byte("\n"), []byte("\r\n"))
	}
	if mark := []byte("\uFEFF"); bytes.HasPrefix(k.raw, mark) || !utf8.Valid(k.raw) {
		b = append(mark, b...)
	}
	return b
}

// keyedRow is a row of a file.
type keyedRow struct {
	of  keyed
	row []string
}

// and returns the file with the columns of another that have anything in them, and with
// rows of other files behind its own.
func (k keyed) and(other keyed, more []keyedRow) keyed {
	k.head, k.titles, k.rows, k.comma = slices.Clone(k.head), slices.Clone(k.titles), slices.Clone(k.rows), cmp.Or(k.comma, ',')
	said := other.said()
	for j, h := range other.head {
		if said[h] && !slices.Contains(k.head, h) {
			k.head, k.titles = append(k.head, h), append(k.titles, other.titles[j])
		}
	}
	for i, row := range k.rows {
		if missing := len(k.head) - len(row); missing > 0 {
			k.rows[i] = append(slices.Clone(row), make([]string, missing)...)
		}
	}
	for _, x := range more {
		row := make([]string, len(k.head))
		for j, h := range k.head {
			row[j] = x.of.cell(x.row, h)
		}
		k.rows = append(k.rows, row)
	}
	return k
}

// ids returns the birds that a studbook has rows of.
func (k keyed) ids() map[string]bool {
	ids := make(map[string]bool, len(k.rows))
	for _, row := range k.rows {
		ids[k.cell(row, "id")] = true
	}
	return ids
}

// said returns the columns in which any row has something: of others the file says
// nothing, whatever the folder has there.
func (k keyed) said() map[string]bool {
	said := make(map[string]bool)
	for j, h := range k.head {
		said[h] = slices.ContainsFunc(k.rows, func(row []string) bool {
			return j < len(row) && row[j] != "" && (h != "sex" || row[j] != studbook.Unsexed.String())
		})
	}
	return said
}

// cell returns a cell of a row by its heading.
func (k keyed) cell(row []string, head string) string {
	if j := slices.Index(k.head, head); j >= 0 && j < len(row) {
		return row[j]
	}
	return ""
}

// same reports whether a row of another file has the same cells, where its own has
// them.
func (k keyed) same(row []string, other keyed, there []string) bool {
	return !slices.ContainsFunc(k.head, func(h string) bool { return k.cell(row, h) != other.cell(there, h) })
}

// index returns the rows by their key; of rows with one key all but the first
// have a number.
func (k keyed) index(columns []string) (map[string][]string, []string) {
	rows := make(map[string][]string)
	again := make(map[string]int)
	var order []string
	for _, r := range k.rows {
		parts := make([]string, len(columns))
		for i, c := range columns {
			parts[i] = k.cell(r, c)
		}
		first := strings.Join(parts, " ")
		id := first
		for rows[id] != nil {
			again[first]++
			id = first + " (" + strconv.Itoa(again[first]+1) + ")"
		}
		rows[id] = r
		order = append(order, id)
	}
	return rows, order
}

// overlay is one file of an export being laid over the folder's.
type overlay struct {
	*merging
	name               string
	base, ours, theirs keyed
	// rows by their key
	was, here, there map[string][]string
	said             map[string]bool // the columns of which the export says anything
	out              keyed
}

func (m *merging) mergeTable(name string, base, ours, theirs keyed) keyed {
	o := &overlay{merging: m, name: name, base: base, ours: ours, theirs: theirs, said: theirs.said()}
	if o.birds() && m.told[colDeath.String()] {
		o.said[colDeath.String()] = true // of whom it tells no death, it tells that none is known
	}
	o.out = keyed{raw: ours.raw, head: ours.head, titles: ours.titles, comma: ours.comma}.and(theirs, nil)
	columns := keyColumns[name]
	var baseOrder, ourOrder, theirOrder []string
	o.was, baseOrder = base.index(columns)
	o.here, ourOrder = ours.index(columns)
	o.there, theirOrder = theirs.index(columns)
	o.layRows(ourOrder)
	for _, id := range theirOrder {
		if o.here[id] == nil {
			o.addRow(id)
		}
	}
	if o.birds() {
		known := base
		if m.First {
			known, baseOrder = ours, ourOrder
		}
		m.Gone = slices.Sorted(func(yield func(string) bool) {
			for _, id := range baseOrder {
				if o.there[id] == nil && o.here[id] != nil && !yield(id) {
					return
				}
			}
		})
		m.Part = 2*len(m.Gone) > len(known.rows)
		m.findRenamed(known, theirs)
	}
	return o.out
}

func (o *overlay) birds() bool { return o.name == "studbook.csv" }

// layRows keeps the rows of the folder, with what the export has otherwise, and each remark
// above its row.
func (o *overlay) layRows(order []string) {
	remarks := "" // above the next row
	above := func(row int) string {
		if row < len(o.ours.remarks) {
			return o.ours.remarks[row]
		}
		return ""
	}
	if o.ours.remarks != nil {
		o.out.remarks = append(o.out.remarks, above(0))
	}
	for i, id := range order {
		remarks += above(i + 1)
		if o.goes(id) {
			continue
		}
		o.out.rows, o.out.remarks, remarks = append(o.out.rows, o.rowOf(id)), append(o.out.remarks, remarks), ""
	}
	o.out.remarks = append(o.out.remarks, remarks+above(len(order)+1))
}

// goes reports whether a row that is no bird's leaves the folder, because the export has it
// no more, or otherwise.
func (o *overlay) goes(id string) bool {
	was, inBase := o.was[id]
	if _, stays := o.there[id]; stays || !inBase || o.birds() || o.theirs.head == nil || !o.tells(o.name, o.ours, o.here[id]) {
		return false
	}
	if o.base.same(was, o.ours, o.here[id]) {
		o.Changes = append(o.Changes, Change{o.name, id, "", strings.Join(o.here[id], ","), ""})
		return true
	}
	o.Conflicts = append(o.Conflicts, Conflict{o.name, id, "", strings.Join(was, ","), strings.Join(o.here[id], ","), "deleted", o.keep})
	return o.keep == "theirs"
}

// rowOf returns a row of the folder with what the export has otherwise.
func (o *overlay) rowOf(id string) []string {
	theirs, known := o.there[id]
	row := make([]string, len(o.out.head))
	for j, h := range o.out.head {
		was, here, now := o.base.cell(o.was[id], h), o.ours.cell(o.here[id], h), o.theirs.cell(theirs, h)
		row[j] = here
		switch {
		case !known || now == was || now == here || sameUnknownDay(h, was, now):
			continue
		case !o.said[h]:
			if o.told[h] && o.birds() && was == here && h != colSex.String() {
				o.Kept = append(o.Kept, Change{o.name, id, h, was, now})
			}
			continue
		case here == was:
			o.Changes = append(o.Changes, Change{o.name, id, h, was, now})
		default:
			o.Conflicts = append(o.Conflicts, Conflict{o.name, id, h, was, here, now, o.keep})
			if o.keep != "theirs" {
				continue
			}
		}
		row[j] = now
		o.see(h, now)
	}
	return row
}

// addRow takes a row that the folder has not, unless it was deleted here.
func (o *overlay) addRow(id string) {
	theirs := o.there[id]
	if was := o.was[id]; was != nil { // deleted here
		if !o.birds() && o.base.same(was, o.theirs, theirs) {
			return
		}
		c := Conflict{o.name, id, "", "a row", "deleted", "a row", o.keep}
		if !o.birds() {
			c.Was, c.Theirs = strings.Join(was, ","), strings.Join(theirs, ",")
		}
		o.Conflicts = append(o.Conflicts, c)
		if o.keep != "theirs" {
			return
		}
	}
	row := make([]string, len(o.out.head))
	for j, h := range o.out.head {
		row[j] = o.theirs.cell(theirs, h)
		o.see(h, row[j])
	}
	// What stands below the last row stays there.
	if n := len(o.out.remarks); n > 0 {
		o.out.remarks = slices.Insert(o.out.remarks, n-1, "")
	}
	o.out.rows = append(o.out.rows, row)
	if !o.birds() {
		o.Changes = append(o.Changes, Change{o.name, id, "", "", strings.Join(row, ",")})
		return
	}
	cell := func(column string) string { return o.theirs.cell(theirs, column) }
	o.New = append(o.New, NewBird{id, cell("name"), cell("sex"), cell("sire"), cell("dam"), cell("hatch_date"), cell("location")})
}

// dateColumns are the columns of a colony's files that have dates.
var dateColumns = sync.OnceValue(func() map[string]bool {
	dates := make(map[string]bool)
	for _, f := range studbook.Files() {
		for _, c := range f.Columns {
			if c.Form == studbook.FormDate {
				dates[c.Name] = true
			}
		}
	}
	return dates
})

// see remembers the day of a cell that is taken.
func (m *Merged) see(column, text string) {
	if dateColumns()[column] {
		if d, err := studbook.ParseDate(text); err == nil && d.Known() {
			m.latest = max(m.latest, d.First)
		}
	}
}

// bringUpToDate has current_to in programme.toml go along with what is taken, as it does
// with what is recorded: answers for an earlier day would leave it out.
func (m *merging) bringUpToDate(ctx context.Context, today studbook.Day) error {
	w, err := studbook.NewRewriter(ctx, m.whole, "studbook.csv", studbook.Options{Today: today})
	if err != nil {
		return err
	}
	defer w.Close()
	now := w.Settings().CurrentTo
	if to := min(m.latest, cmp.Or(today, m.latest)); now == 0 || to <= now {
		return nil
	} else if _, err := w.SetSetting("current_to", to.String()); err != nil {
		return err
	}
	files, _, err := w.Rewrite()
	for _, f := range files {
		k := slices.IndexFunc(m.whole, func(x File) bool { return x.Name == f.Name })
		m.whole[k].Content = f.After
		m.Files = append(m.Files, m.whole[k])
	}
	return err
}

// newBase returns what the next export of a file is compared with: what this one has,
// and what the last ones had of birds that this one says nothing of.
func (m *Merged) newBase(name string, base, theirs keyed) []byte {
	baseRows, baseOrder := base.index(keyColumns[name])
	theirRows, theirOrder := theirs.index(keyColumns[name])
	var rows []keyedRow
	for _, id := range baseOrder {
		if row := theirRows[id]; row != nil {
			rows = append(rows, keyedRow{theirs, row})
		} else if row = baseRows[id]; !m.tells(name, base, row) {
			rows = append(rows, keyedRow{base, row})
		}
	}
	for _, id := range theirOrder {
		if baseRows[id] == nil {
			rows = append(rows, keyedRow{theirs, theirRows[id]})
		}
	}
	return keyed{head: theirs.head, titles: theirs.titles}.and(base, rows).bytes()
}

// findRenamed reports birds that are new in the export while one like them is gone
// from it: under another id a bird would be there twice, and one of the two live for
// ever. It stops until it is said whether there are two, or an edit made them one.
func (m *merging) findRenamed(base, theirs keyed) {
	if len(m.New) == 0 || len(m.Gone) == 0 {
		return
	}
	signs := func(k keyed, row []string) [3]string {
		whole := []string{}
		for _, column := range []string{"name", "sex", "sire", "dam", "hatch_date"} {
			whole = append(whole, k.cell(row, column))
		}
		said := [3]string{studbook.PlainID(k.cell(row, "id")), studbook.PlainID(k.cell(row, "band")), strings.Join(whole, "\x00")}
		if whole[4] == "" || whole[0]+whole[2]+whole[3] == "" {
			said[2] = "" // too little to know a bird by
		}
		return said
	}
	kinds := [3]string{"an id that differs in case, zeros or look-alike signs alone", "the same band", "the same name, sex, parents and hatch date"}
	was, _ := base.index(keyColumns["studbook.csv"])
	now, _ := theirs.index(keyColumns["studbook.csv"])
	gone := [3]map[string][]string{{}, {}, {}}
	for _, id := range m.Gone {
		for k, sign := range signs(base, was[id]) {
			gone[k][sign] = append(gone[k][sign], id)
		}
	}
	severity := studbook.Error
	if m.keep != "" {
		severity = studbook.Warning
	}
	for _, b := range m.New {
		id := b.ID
		for k, sign := range signs(theirs, now[id]) {
			if like := gone[k][sign]; sign != "" && len(like) == 1 {
				m.renamed = append(m.renamed, studbook.Finding{
					Severity: severity, File: "studbook.csv", Column: "id", Value: id, Code: "id_changed",
					Message: fmt.Sprintf("%q is new in the export and %q is gone from it, with %s: they may be one bird", id, like[0], kinds[k]),
					Help:    fmt.Sprintf("if they are, write %s for %s in every file of the folder and import again; if they are two birds, say whose cells to keep, ours or theirs", id, like[0]),
				})
				break
			}
		}
	}
}

// sameUnknownDay reports whether two deaths on an unknown day differ in the day
// of the file alone.
func sameUnknownDay(head, a, b string) bool {
	if head != "death_date" {
		return false
	}
	from, _, ok1 := strings.Cut(a, "..")
	to, _, ok2 := strings.Cut(b, "..")
	return ok1 && ok2 && from == to
}
