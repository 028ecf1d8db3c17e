package exchange

import (
	"archive/zip"
	"bytes"
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// Kinds are the formats that a colony can be exported in, in the order of
// documents.
var Kinds = []string{"studbook", "xlsx", "fam", "gedcom", "dot", "kinship"}

// Exported is a colony in an open format: its files, and what the format cannot
// hold.
type Exported struct {
	Files []File
	Lost  []string // sentences without full stop
}

// Export writes a colony in one of Kinds. With ids only these birds and their
// ancestors are written, and of the other files the rows about them. The matrix
// of kinships is that of the living on a day, or of those birds.
//
//	studbook  the colony's files as CSV, with a datapackage.json (Frictionless
//	          Data, Table Schema)
//	xlsx      the same as the sheets of a workbook
//	fam       PLINK's six columns
//	gedcom    FamilySearch GEDCOM 7
//	dot       Graphviz
//	kinship   the matrix as CSV and in the Matrix Market exchange format
//
// The error names an id that is no bird's.
func Export(ctx context.Context, c *studbook.Colony, kind string, ids []string, day studbook.Day) (*Exported, error) {
	x := &exporter{c: c, birds: recorded(c.Birds), all: make(map[string]*studbook.Bird)}
	for i := range c.Birds {
		x.all[c.Birds[i].ID] = &c.Birds[i]
	}
	if len(ids) > 0 {
		if err := x.only(ids); err != nil {
			return nil, err
		}
	}
	x.chosen = len(ids) > 0
	var err error
	switch kind {
	case "studbook":
		err = x.studbook()
	case "xlsx":
		err = x.workbook()
	case "fam":
		x.fam()
	case "gedcom":
		x.gedcom()
	case "dot":
		x.dot()
	case "kinship":
		err = x.kinship(ctx, day)
	default:
		err = fmt.Errorf("there is no format %q to export; use %s", kind, strings.Join(Kinds, ", "))
	}
	return &x.out, err
}

type exporter struct {
	c      *studbook.Colony
	birds  []studbook.Bird // those with rows
	all    map[string]*studbook.Bird
	chosen bool
	out    Exported
}

func recorded(birds []studbook.Bird) []studbook.Bird {
	return slices.DeleteFunc(slices.Clone(birds), func(b studbook.Bird) bool { return !b.Recorded })
}

// only keeps the birds named and their ancestors.
func (x *exporter) only(ids []string) error {
	keep := make(map[string]bool)
	up := slices.Clone(ids)
	for _, id := range ids {
		if x.all[id] == nil {
			return fmt.Errorf("no bird of the studbook is called %q", id)
		}
	}
	for len(up) > 0 {
		id := up[len(up)-1]
		up = up[:len(up)-1]
		b := x.all[id]
		if b == nil || keep[id] {
			continue
		}
		keep[id] = true
		for _, p := range []studbook.Parentage{b.Sire, b.Dam} {
			for _, c := range p.Candidates {
				up = append(up, c.ID)
			}
		}
	}
	x.birds = slices.DeleteFunc(x.birds, func(b studbook.Bird) bool { return !keep[b.ID] })
	for id := range x.all {
		if !keep[id] {
			delete(x.all, id)
		}
	}
	c := *x.c
	c.Moves = kept(c.Moves, func(m studbook.Move) bool { return keep[m.ID] })
	c.Bonds = kept(c.Bonds, func(b studbook.Bond) bool { return keep[b.Female] && keep[b.Male] })
	c.Clutches = kept(c.Clutches, func(l studbook.Clutch) bool { return keep[l.Female] && keep[l.Male] })
	c.Holds = kept(c.Holds, func(h studbook.Hold) bool { return keep[h.ID] })
	c.FounderKinship = kept(c.FounderKinship, func(k studbook.FounderKinship) bool { return keep[k.ID1] && keep[k.ID2] })
	c.Genotypes = kept(c.Genotypes, func(g studbook.Genotype) bool { return keep[g.ID] })
	c.Changes = nil // they tell of the whole folder
	c.Requests = kept(c.Requests, func(q studbook.Request) bool { return keep[q.Bird] && (q.Partner == "" || keep[q.Partner]) })
	c.Rulings = kept(c.Rulings, func(u studbook.Ruling) bool {
		return !slices.ContainsFunc(u.Birds, func(id string) bool { return !keep[id] })
	})
	x.c = &c
	return nil
}

func kept[T any](list []T, keep func(T) bool) []T {
	return slices.DeleteFunc(slices.Clone(list), func(x T) bool { return !keep(x) })
}

func (x *exporter) lost(n int, one, many, why string) {
	if n > 0 {
		x.out.Lost = append(x.out.Lost, studbook.Counted(n, one, many)+" "+why)
	}
}

// lostKinship tells that a format has no room for what is known of founders.
func (x *exporter) lostKinship() {
	x.lost(len(x.c.FounderKinship), "known kinship of founders", "known kinships of founders", "not written: without it F comes out lower")
}

// tables are the files of the folder that have rows, as cells with their
// headings.
func (x *exporter) tables() ([]File, [][][]string, error) {
	var without []string
	if !x.c.HasLocation {
		without = append(without, "location")
	}
	if !x.c.HasOrigin {
		without = append(without, "origin")
	}
	var files []File
	var rows [][][]string
	add := func(name string, n int, head []string, cells func(i int) []string, write func(*bytes.Buffer) error) error {
		if n == 0 && name != "studbook.csv" {
			return nil
		}
		var b bytes.Buffer
		if err := write(&b); err != nil {
			return fmt.Errorf("writing %s: %w", name, err)
		}
		files = append(files, File{name, b.Bytes()})
		table := [][]string{head}
		for i := range n {
			table = append(table, cells(i))
		}
		rows = append(rows, table)
		return nil
	}
	c := x.c
	err := cmp.Or(
		addTable(add, "studbook.csv", x.birds, without),
		addTable(add, "moves.csv", c.Moves, nil), addTable(add, "bonds.csv", c.Bonds, nil), addTable(add, "clutches.csv", c.Clutches, nil),
		addTable(add, "holds.csv", c.Holds, nil), addTable(add, "institutions.csv", c.Institutions, nil), addTable(add, "founder_kinship.csv", c.FounderKinship, nil),
		addTable(add, "requests.csv", c.Requests, nil), addTable(add, "decisions.csv", c.Rulings, nil),
		addGenotypes(add, c), addTable(add, "changes.csv", c.Changes, nil))
	if err != nil || len(c.Aside) == 0 {
		return files, rows, err
	}
	birds := rows[0]
	for _, a := range c.Aside {
		birds[0] = append(birds[0], a.Name)
		for i := range x.birds {
			birds[i+1] = append(birds[i+1], a.Cells[x.birds[i].ID])
		}
	}
	files[0].Content = csvText(birds)
	return files, rows, nil
}

func addTable[T studbook.Record](add func(string, int, []string, func(int) []string, func(*bytes.Buffer) error) error, name string, records []T, without []string) error {
	head := studbook.Header[T]()
	pick := func(cells []string) []string {
		var out []string
		for j, c := range cells {
			if !slices.Contains(without, head[j]) {
				out = append(out, c)
			}
		}
		return out
	}
	return add(name, len(records), pick(head), func(i int) []string { return pick(studbook.Cells(records[i])) },
		func(b *bytes.Buffer) error { return studbook.Write(b, records, without...) })
}

// addGenotypes adds the table of markers, whose columns are the colony's own.
func addGenotypes(add func(string, int, []string, func(int) []string, func(*bytes.Buffer) error) error, c *studbook.Colony) error {
	rows := c.GenotypeRows()
	return add("genotypes.csv", len(c.Genotypes), rows[0], func(i int) []string { return rows[i+1] },
		func(b *bytes.Buffer) error { return c.WriteGenotypes(b) })
}

// studbook writes the files of the folder and their data package.
func (x *exporter) studbook() error {
	files, _, err := x.tables()
	if err != nil {
		return err
	}
	described, err := dataPackage(x.c, Names(files)...)
	x.out.Files = append(files, described)
	return err
}

// Widths of the columns of a sheet, in characters.
const (
	leastWidth  = 10
	mostWidth   = 60
	besideWidth = 2 // beside the longest cell
)

// headingStyle is that of the first row of a sheet.
func headingStyle(f *excelize.File) (int, error) {
	family, err := f.GetDefaultFont()
	if err != nil {
		return 0, err
	}
	return f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true, Family: family}, Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"EDEDED"}}})
}

// writeSheet adds a sheet with a heading that stays in sight and columns as wide as what
// is in them.
func writeSheet(f *excelize.File, sheet string, rows [][]string, heading int) error {
	if _, err := f.NewSheet(sheet); err != nil {
		return err
	}
	if err := studbook.PrintWide(f, sheet); err != nil {
		return err
	}
	w, err := f.NewStreamWriter(sheet)
	if err != nil {
		return err
	}
	for j := range rows[0] {
		width := leastWidth
		for _, cells := range rows {
			width = max(width, min(utf8.RuneCountInString(cells[j])+besideWidth, mostWidth))
		}
		if err := w.SetColWidth(j+1, j+1, float64(width)); err != nil {
			return err
		}
	}
	if err := w.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	for i, cells := range rows {
		row := make([]any, len(cells))
		for j, c := range cells {
			switch {
			case i == 0:
				row[j] = excelize.Cell{StyleID: heading, Value: c}
			case c != "":
				row[j] = c
			}
		}
		at, err := excelize.CoordinatesToCellName(1, i+1)
		if err != nil {
			return err
		}
		if err := w.SetRow(at, row); err != nil {
			return err
		}
	}
	return w.Flush()
}

// workbook writes the files of the folder as the sheets of a workbook. Every
// cell is text, so that no program takes an id for a number or a date.
func (x *exporter) workbook() error {
	files, tables, err := x.tables()
	if err != nil {
		return err
	}
	f := excelize.NewFile()
	defer f.Close()
	heading, err := headingStyle(f)
	if err != nil {
		return err
	}
	for k, file := range files {
		if err := writeSheet(f, sheetOf(file.Name), tables[k], heading); err != nil {
			return err
		}
	}
	if err := f.DeleteSheet("Sheet1"); err != nil {
		return err
	}
	if err := studbook.SignWorkbook(f, ""); err != nil {
		return err
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		return err
	}
	content, err := partsInOrder(b.Bytes())
	if err != nil {
		return err
	}
	x.out.Files = []File{{WorkbookFile, content}}
	x.out.Lost = append(x.out.Lost, "the settings of programme.toml are not written: a workbook has no sheet for them")
	return nil
}

// partsInOrder puts the parts of a zipped file into the order of their names. The library
// writes those of sheets in any, and the same colony is to give the same bytes.
func partsInOrder(raw []byte) ([]byte, error) {
	z, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	if err != nil {
		return nil, err
	}
	slices.SortFunc(z.File, func(a, b *zip.File) int { return strings.Compare(a.Name, b.Name) })
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, part := range z.File {
		if err := w.Copy(part); err != nil {
			return nil, err
		}
	}
	err = w.Close()
	return out.Bytes(), err
}

// fam writes PLINK's six columns: family 0, which is none, id, sire, dam, sex,
// no trait.
func (x *exporter) fam() {
	var b strings.Builder
	uncertain, wild := 0, 0
	otherwise := x.famIDs()
	id := func(s string) string { return cmp.Or(otherwise[s], s) }
	parent := func(p studbook.Parentage) string {
		known, ok := p.Known()
		switch {
		case ok:
			return id(known)
		case p.Wild:
			wild++
		case p.Uncertain():
			uncertain++
		}
		return "0"
	}
	dead, dates := 0, 0
	for _, bird := range x.birds {
		sex := map[studbook.Sex]string{studbook.Male: "1", studbook.Female: "2"}[bird.Sex]
		if sex == "" {
			sex = "0"
		}
		fmt.Fprintf(&b, "0\t%s\t%s\t%s\t%s\t-9\n", id(bird.ID), parent(bird.Sire), parent(bird.Dam), sex)
		if bird.Death.Text != "" {
			dead++
		}
		if bird.Hatch.Text != "" {
			dates++
		}
	}
	x.out.Files = []File{{"pedigree.fam", []byte(b.String())}}
	x.lost(uncertain, "uncertain parent", "uncertain parents", "written as unknown: the format has no possible parents")
	x.lost(wild, "wild parent", "wild parents", "written as unknown: the format has no word for wild")
	x.lost(dead, "death", "deaths", "not written: in this format everybody lives")
	x.lost(dates, "hatch date", "hatch dates", "not written")
	x.lost(len(otherwise), "id", "ids", "with blanks or signs of tables written with _ instead")
	x.lostKinship()
	x.out.Lost = append(x.out.Lost, "names, bands, places, moves, bonds, clutches and notes are not written")
}

// famIDs are ids that PLINK's columns cannot hold, and how they are written there, each
// otherwise than every other bird.
func (x *exporter) famIDs() map[string]string {
	const signs = " \t,;|\"" // the last by which import would take the file for a table
	otherwise := make(map[string]string)
	taken := make(map[string]bool)
	for _, id := range slices.Sorted(maps.Keys(x.all)) {
		if id != "0" && !strings.ContainsAny(id, signs) {
			taken[id] = true
		}
	}
	for _, id := range slices.Sorted(maps.Keys(x.all)) {
		if taken[id] {
			continue
		}
		plain := strings.Join(strings.FieldsFunc(id, func(c rune) bool { return strings.ContainsRune(signs, c) }), "_")
		if plain == "0" || plain == "" {
			plain = "bird_" + plain
		}
		is := plain
		for n := 2; taken[is]; n++ {
			is = plain + "_" + strconv.Itoa(n)
		}
		otherwise[id], taken[is] = is, true
	}
	return otherwise
}

// kinship writes the matrix of kinships, (1+F)/2 on the diagonal, as CSV with
// ids at both sides and in the coordinate format of Matrix Market (Boisvert,
// Pozo & Remington 1996), whose remarks give the ids in order.
func (x *exporter) kinship(ctx context.Context, day studbook.Day) error {
	s := x.c.At(day)
	p, err := pedigree.New(ctx, s.Birds, s.FounderKinship())
	if err != nil {
		return err
	}
	var ids []string
	if x.chosen {
		for _, b := range x.birds {
			ids = append(ids, b.ID)
		}
	} else {
		for _, i := range s.Living {
			ids = append(ids, s.Birds[i].ID)
		}
	}
	var nodes []int
	ids = slices.DeleteFunc(ids, func(id string) bool { _, ok := p.Index(id); return !ok })
	slices.Sort(ids)
	for _, id := range ids {
		n, _ := p.Index(id)
		nodes = append(nodes, n)
	}
	var table, market, body strings.Builder
	rows := [][]string{append([]string{"id"}, ids...)}
	entries := 0
	if len(nodes) > 0 {
		m, err := p.KinshipMatrix(ctx, nodes)
		if err != nil {
			return err
		}
		for i := range nodes {
			row := []string{ids[i]}
			for j := range nodes {
				f := strconv.FormatFloat(m.At(i, j), 'f', -1, 64)
				row = append(row, f)
				if j <= i && m.At(i, j) != 0 {
					fmt.Fprintf(&body, "%d %d %s\n", i+1, j+1, f)
					entries++
				}
			}
			rows = append(rows, row)
		}
	}
	table.Write(csvText(rows))
	fmt.Fprintf(&market, "%%%%MatrixMarket matrix coordinate real symmetric\n%% kinship on %s; the birds in order:\n", day)
	for _, id := range ids {
		fmt.Fprintf(&market, "%% %s\n", id)
	}
	fmt.Fprintf(&market, "%d %d %d\n%s", len(ids), len(ids), entries, body.String())
	x.out.Files = []File{{"kinship.csv", []byte(table.String())}, {"kinship.mtx", []byte(market.String())}}
	return nil
}

// dot writes the pedigree as a directed graph for Graphviz: a box for a male,
// an ellipse for a female, a diamond where the sex is not known; from parent to
// chick a line, dashed where the parent is one of several.
func (x *exporter) dot() {
	var b strings.Builder
	b.WriteString("digraph pedigree {\n  rankdir=TB;\n  node [fontname=\"sans-serif\"];\n")
	quote := func(s string) string {
		return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", " ").Replace(s) + `"`
	}
	node := func(bird *studbook.Bird) {
		shape := map[studbook.Sex]string{studbook.Male: "box", studbook.Female: "ellipse"}[bird.Sex]
		if shape == "" {
			shape = "diamond"
		}
		label := bird.ID
		if bird.Name != "" {
			label += " " + bird.Name
		}
		style := ""
		switch {
		case !bird.Recorded:
			style = ", style=dotted"
		case bird.Death.Text != "":
			style = ", color=gray50, fontcolor=gray30"
		}
		// In a label, unlike in the name of a node, &amp; stands for &.
		fmt.Fprintf(&b, "  %s [label=%s, shape=%s%s];\n", quote(bird.ID), quote(strings.ReplaceAll(label, "&", "&amp;")), shape, style)
	}
	for i := range x.birds {
		node(&x.birds[i])
	}
	for _, id := range slices.Sorted(maps.Keys(x.all)) {
		if !x.all[id].Recorded {
			node(x.all[id])
		}
	}
	for _, bird := range x.birds {
		for _, p := range []studbook.Parentage{bird.Sire, bird.Dam} {
			for _, c := range p.Candidates {
				style := ""
				if c.Weight < 1 {
					style = fmt.Sprintf(" [style=dashed, label=\"%s\"]", strconv.FormatFloat(c.Weight, 'g', 3, 64))
				}
				fmt.Fprintf(&b, "  %s -> %s%s;\n", quote(c.ID), quote(bird.ID), style)
			}
		}
	}
	b.WriteString("}\n")
	x.out.Files = []File{{"pedigree.dot", []byte(b.String())}}
	x.out.Lost = append(x.out.Lost, "a drawing: dates, places, moves, bonds, clutches and notes are not written, and it cannot be imported again")
}
