package exchange

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

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

// Merged is a newer export laid over a colony folder.
type Merged struct {
	New, Gone []string // birds that the newer export has, and has no more
	Changes   []Change
	Conflicts []Conflict
	Files     []File // the files of the folder that change, and the new base
	Findings  []studbook.Finding

	renamed []studbook.Finding // see findRenamed
}

// Open reports whether something must be decided before it can be applied.
func (m *Merged) Open() bool {
	return slices.ContainsFunc(m.Conflicts, func(c Conflict) bool { return c.Settled == "" }) || studbook.Errors(m.Findings) > 0
}

// FromImport reports whether a folder was written by import.
func FromImport(dir string) bool {
	_, err1 := os.Stat(filepath.Join(dir, MappingFile))
	_, err2 := os.Stat(filepath.Join(dir, Base, "studbook.csv"))
	return err1 == nil && err2 == nil
}

// keyColumns tell the rows of each file apart.
var keyColumns = map[string][]string{
	"studbook.csv": {"id"}, "moves.csv": {"id", "date"}, "bonds.csv": {"female", "male", "since"}, "clutches.csv": {"female", "male", "laid"},
}

// Merge lays a newer import over a colony folder that an import made: what
// changed in the export since then is taken, what changed here stays, and a cell
// that changed in both is a conflict, settled by keep ("theirs" or "ours") or by
// nobody. A bird gone from the export is never deleted. Nothing is written.
func Merge(ctx context.Context, folder fs.FS, newer *Result, keep string, today studbook.Day) (*Merged, error) {
	m := &Merged{}
	theirs := make(map[string][]byte)
	for _, f := range newer.Files {
		theirs[f.Name] = f.Content
	}
	whole := memory{}
	for _, name := range sortedKeys(keyColumns) {
		base, err := tableIn(folder, Base+"/"+name)
		if err != nil {
			return nil, err
		}
		ours, err := tableIn(folder, name)
		if err != nil {
			return nil, err
		}
		next, err := parseRows(theirs[name])
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		merged := m.mergeTable(name, base, ours, next, keep)
		content := merged.bytes()
		if len(merged.rows) > 0 || len(ours.rows) > 0 {
			whole = append(whole, File{name, content})
			if !bytes.Equal(content, ours.raw) {
				m.Files = append(m.Files, File{name, content})
			}
		}
		if raw, there := theirs[name]; there {
			m.Files = append(m.Files, File{Base + "/" + name, raw})
		}
	}
	for _, f := range studbook.Files() {
		if keyColumns[f.Name] != nil {
			continue
		}
		if raw, err := fs.ReadFile(folder, f.Name); err == nil {
			whole = append(whole, File{f.Name, raw})
		}
	}
	if raw, err := fs.ReadFile(folder, "programme.toml"); err == nil {
		whole = append(whole, File{"programme.toml", raw})
	}
	m.Files = append(m.Files, File{MappingFile, theirs[MappingFile]})
	c, err := studbook.Read(ctx, whole, "studbook.csv", studbook.Options{Today: today})
	var faults *studbook.Faults
	switch {
	case errors.As(err, &faults):
		m.Findings = faults.Findings
	case err != nil:
		return nil, err
	default:
		m.Findings = c.Warnings
	}
	m.Findings = slices.Concat(m.renamed, m.Findings)
	return m, nil
}

// keyed is a file as rows of text by their key.
type keyed struct {
	raw    []byte
	head   []string
	rows   [][]string
	before []string // remarks above the heading
}

func tableIn(folder fs.FS, name string) (keyed, error) {
	raw, err := fs.ReadFile(folder, name)
	if errors.Is(err, fs.ErrNotExist) {
		return keyed{}, nil
	}
	if err != nil {
		return keyed{}, err
	}
	k, err := parseRows(raw)
	if err != nil {
		return k, fmt.Errorf("%s: %w", name, err)
	}
	return k, nil
}

// parseRows cuts a CSV file of a colony folder into rows.
func parseRows(raw []byte) (keyed, error) {
	k := keyed{raw: raw}
	if len(raw) == 0 {
		return k, nil
	}
	text, _, err := decode(raw, "")
	if err != nil {
		return k, err
	}
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.Comment, r.FieldsPerRecord, r.LazyQuotes = rune(findDelimiter(text)), '#', -1, true
	rows, err := r.ReadAll()
	if err != nil {
		return k, err
	}
	for line := range strings.Lines(text) {
		if !strings.HasPrefix(line, "#") {
			break
		}
		k.before = append(k.before, line)
	}
	if len(rows) > 0 {
		k.head, k.rows = rows[0], rows[1:]
	}
	return k, nil
}

func (k keyed) bytes() []byte {
	var b bytes.Buffer
	for _, line := range k.before {
		b.WriteString(line)
	}
	b.Write(csvText(append([][]string{k.head}, k.rows...)))
	return b.Bytes()
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
	var order []string
	for _, r := range k.rows {
		parts := make([]string, len(columns))
		for i, c := range columns {
			parts[i] = k.cell(r, c)
		}
		id := strings.Join(parts, " ")
		for n := 2; rows[id] != nil; n++ {
			id = strings.Join(parts, " ") + " (" + strconv.Itoa(n) + ")"
		}
		rows[id] = r
		order = append(order, id)
	}
	return rows, order
}

// mergeTable merges one file.
func (m *Merged) mergeTable(name string, base, ours, theirs keyed, keep string) keyed {
	out := keyed{before: ours.before, head: slices.Clone(ours.head)}
	for _, h := range theirs.head {
		if !slices.Contains(out.head, h) {
			out.head = append(out.head, h)
		}
	}
	columns := keyColumns[name]
	baseRows, baseOrder := base.index(columns)
	ourRows, ourOrder := ours.index(columns)
	theirRows, theirOrder := theirs.index(columns)
	birds := name == "studbook.csv"
	for _, id := range ourOrder {
		o := ourRows[id]
		b, inBase := baseRows[id]
		n, inTheirs := theirRows[id]
		if inBase && !inTheirs && !birds { // the export has it no more, or otherwise
			if base.same(b, ours, o) {
				m.Changes = append(m.Changes, Change{name, id, "", strings.Join(o, ","), ""})
				continue
			}
			m.Conflicts = append(m.Conflicts, Conflict{name, id, "", strings.Join(b, ","), strings.Join(o, ","), "deleted", keep})
			if keep == "theirs" {
				continue
			}
		}
		row := make([]string, len(out.head))
		for j, h := range out.head {
			was, here := base.cell(b, h), ours.cell(o, h)
			row[j] = here
			if !inTheirs || !slices.Contains(theirs.head, h) {
				continue
			}
			now := theirs.cell(n, h)
			switch {
			case now == was || now == here || sameUnknownDay(h, was, now):
			case here == was:
				m.Changes = append(m.Changes, Change{name, id, h, was, now})
				row[j] = now
			default:
				m.Conflicts = append(m.Conflicts, Conflict{name, id, h, was, here, now, keep})
				if keep == "theirs" {
					row[j] = now
				}
			}
		}
		out.rows = append(out.rows, row)
	}
	for _, id := range theirOrder {
		if ourRows[id] != nil {
			continue
		}
		if was := baseRows[id]; was != nil { // deleted here
			if !birds && base.same(was, theirs, theirRows[id]) {
				continue
			}
			c := Conflict{name, id, "", "a row", "deleted", "a row", keep}
			if !birds {
				c.Was, c.Theirs = strings.Join(was, ","), strings.Join(theirRows[id], ",")
			}
			m.Conflicts = append(m.Conflicts, c)
			if keep != "theirs" {
				continue
			}
		}
		row := make([]string, len(out.head))
		for j, h := range out.head {
			row[j] = theirs.cell(theirRows[id], h)
		}
		out.rows = append(out.rows, row)
		if birds {
			m.New = append(m.New, id)
		} else {
			m.Changes = append(m.Changes, Change{name, id, "", "", strings.Join(row, ",")})
		}
	}
	if birds {
		for _, id := range baseOrder {
			if theirRows[id] == nil && ourRows[id] != nil {
				m.Gone = append(m.Gone, id)
			}
		}
		slices.Sort(m.Gone)
		m.findRenamed(base, theirs, keep)
	}
	return out
}

// findRenamed reports birds that are new in the export while one like them is gone
// from it: under another id a bird would be there twice, and one of the two live for
// ever. It stops until it is said whether there are two, or an edit made them one.
func (m *Merged) findRenamed(base, theirs keyed, keep string) {
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
	if keep != "" {
		severity = studbook.Warning
	}
	for _, id := range m.New {
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
