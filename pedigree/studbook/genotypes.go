package studbook

import (
	"cmp"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/gocarina/gocsv"
)

// Marker is a place in the genome at which birds were typed, an autosomal one.
type Marker struct {
	Name string
	// Alleles are the forms that were found, numbers in their order before texts.
	Alleles []string
}

// Genotype is one row of genotypes.csv: what was found of a bird at each marker.
type Genotype struct {
	ID string
	// Found are the two alleles, by marker of Colony.Markers: numbers in
	// Marker.Alleles, the lower first, NotTyped where nothing is known.
	Found [][2]int16
	Line  int
}

// NotTyped stands for the alleles of a bird at a marker at which it was not typed.
const NotTyped = -1

// Typed returns at how many markers the bird was typed.
func (g *Genotype) Typed() int {
	n := 0
	for _, f := range g.Found {
		if f[0] != NotTyped {
			n++
		}
	}
	return n
}

// WriteGenotypes writes genotypes.csv, one column a marker.
func (c *Colony) WriteGenotypes(w io.Writer) error {
	out := gocsv.DefaultCSVWriter(w)
	for _, row := range c.GenotypeRows() {
		for j := range row {
			row[j] = Guarded(row[j])
		}
		if err := out.Write(row); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// GenotypeRows returns the genotypes as rows below a heading, one column a marker:
// A12, 152/156. Read again they give the same.
func (c *Colony) GenotypeRows() [][]string {
	head := []string{"id"}
	for _, m := range c.Markers {
		head = append(head, m.Name)
	}
	rows := [][]string{head}
	for _, g := range c.Genotypes {
		row := []string{g.ID}
		for k, f := range g.Found {
			cell := ""
			if f[0] != NotTyped {
				of := c.Markers[k].Alleles
				cell = of[f[0]] + "/" + of[f[1]]
			}
			row = append(row, cell)
		}
		rows = append(rows, row)
	}
	return rows
}

// readGenotypes reads the markers of birds. A laboratory's table often has the bands of
// birds, samples of nobody in the studbook, cells that failed and columns of its own: what
// cannot be read is told and left out, for it takes nothing but knowledge away.
func (r *reader) readGenotypes() error {
	lines, named := make(map[string]int), 0
	t, found, err := load(r, genotypesTable, func(s spot, g *Genotype) bool {
		if !s.needed("id") || !r.birds {
			return false
		}
		i, ok := r.index.find(g.ID)
		if !ok {
			if i, ok = r.names()[strings.ToLower(g.ID)]; ok && i >= 0 {
				g.ID = r.colony.Birds[i].ID
				named++
			}
		}
		if !ok || i < 0 || !r.colony.Birds[i].Recorded {
			r.warn(s.at("id"), codeSampleOfNobody, "no bird of the studbook has this id, so its row is left out", r.alike(g.ID, "correct the id, or add the bird to the studbook"))
			return false
		}
		if first, twice := lines[g.ID]; twice {
			r.fault(s.at("id"), codeDuplicateID, fmt.Sprintf("the bird stands in line %d already", first), "keep the row of the sample that you trust, and delete the other")
			return false
		}
		lines[g.ID] = s.line
		return true
	})
	if t == nil || err != nil {
		return err
	}
	if named > 0 {
		r.note("%s: %s by band or name", t.file, Counted(named, "bird is found", "birds are found"))
	}
	r.readMarkers(t, found)
	return nil
}

// readMarkers reads the columns beside the id, in each of which, or in each two of
// which, is a marker.
func (r *reader) readMarkers(t *table, found []Genotype) {
	rows := make([][]string, len(found))
	for k := range found {
		i, _ := t.find(found[k].Line)
		rows[k] = t.row(i)
	}
	cell := func(i, j int) string {
		if j < len(rows[i]) {
			return rows[i][j]
		}
		return ""
	}
	columns := t.laboratory(len(rows), cell)
	var aside []string
	markers := make(map[string][][2]string) // what was found of each bird
	half := gathered{code: codeHalfGenotype, help: "write the allele twice if the bird has it twice; leave a marker on a sex chromosome out",
		all: "%s cells have one allele of two; they count as not typed"}
	bad := gathered{code: codeBadGenotype, help: "write both alleles, as 152/156 or A/G; leave the cell blank where nothing was found",
		all: "%s cells are no genotypes; they count as not typed"}
	for k := 0; k < len(columns); k++ {
		c, width := columns[k], 1
		if k+1 < len(columns) && c.pairsWith(columns[k+1]) {
			width = 2
		}
		m := &markerColumn{laboratoryColumn: c, width: width}
		if width == 2 {
			if k++; columns[k].name != "" && columns[k].name != c.name {
				m.name = stem(c.name)
			}
		}
		if !m.told() || m.name == "" || NormalHeader(m.name) == "id" {
			aside = append(aside, strconv.Quote(Shorten(c.name)))
			continue
		}
		if markers[m.name] != nil {
			r.fault(place{file: t.file, line: t.headerLine, value: c.name}, codeRepeatedColumn, fmt.Sprintf("two markers are named %q", Shorten(m.name)), "rename or delete one of them; the two columns of one marker stand side by side")
			continue
		}
		alleles := make([][2]string, len(found))
		for i := range found {
			at := place{t.file, found[i].Line, c.name, cell(i, c.at)}
			if width == 2 {
				at.value = strings.TrimSuffix(at.value+"/"+cell(i, c.at+1), "/")
			}
			a, state := m.read(at.value)
			switch state {
			case halfTyped:
				half.add(at, "one allele of two is missing; the bird counts as not typed at this marker")
			case unreadable:
				bad.add(at, "this is no genotype; the bird counts as not typed at this marker")
			case typed:
				alleles[i] = a
			}
		}
		if slices.ContainsFunc(alleles, func(a [2]string) bool { return a[0] != "" }) {
			markers[m.name] = alleles
		}
	}
	for _, name := range slices.Sorted(maps.Keys(markers)) { // the order of columns never changes a number
		r.addMarker(name, found, markers[name])
	}
	r.tell(half)
	r.tell(bad)
	if len(aside) > 0 {
		r.note("%s: columns without genotypes kept aside: %s", t.file, SomeOf(aside, 20))
	}
	r.colony.Genotypes = slices.DeleteFunc(found, func(g Genotype) bool { return g.Typed() == 0 })
}

// addMarker adds a marker, with the alleles of each of the birds, "" of those that are
// not typed.
func (r *reader) addMarker(name string, found []Genotype, alleles [][2]string) {
	m := Marker{Name: name}
	for _, a := range alleles {
		for _, x := range a {
			if at, there := slices.BinarySearchFunc(m.Alleles, x, byAllele); x != "" && !there {
				m.Alleles = slices.Insert(m.Alleles, at, x)
			}
		}
	}
	r.colony.Markers = append(r.colony.Markers, m)
	for i, a := range alleles {
		f := [2]int16{NotTyped, NotTyped}
		if a[0] != "" {
			for k, x := range a {
				at, _ := slices.BinarySearchFunc(m.Alleles, x, byAllele)
				f[k] = int16(at)
			}
			slices.Sort(f[:])
		}
		found[i].Found = append(found[i].Found, f)
	}
}

// byAllele has lengths and the like in the order of numbers, before all else.
func byAllele(a, b string) int {
	x, errA := strconv.Atoi(a)
	y, errB := strconv.Atoi(b)
	switch {
	case errA == nil && errB == nil:
		return cmp.Compare(x, y)
	case errA == nil:
		return -1
	case errB == nil:
		return 1
	}
	return cmp.Compare(a, b)
}

// laboratoryColumn is a column beside the id.
type laboratoryColumn struct {
	at    int // in the table
	name  string
	cells []string // of the birds, without those that are missing
	looks looks
}

// looks are how the cells of a column look, taken together: 11 is two alleles where all
// cells are 11, 12 or 22, and one where another is 9.
type looks byte

const (
	other   looks = iota // none of the following, as 152/156, or a date
	lengths              // single alleles, with 0 for one that is missing
	bases                // two letters that stand for bases: AG
	codes                // 11, 12 and 22, or lengths of three digits without a sign between them
	copies               // how many of an allele: 0, 1, 2
)

// laboratory returns the columns beside the id that have anything in them, by the cells
// of the rows of birds.
func (t *table) laboratory(rows int, cell func(i, j int) string) []laboratoryColumn {
	var columns []laboratoryColumn
	for j := range t.header {
		if t.ours[j] != "" {
			continue
		}
		c := laboratoryColumn{at: j, name: t.header[j]}
		for i := range rows {
			if x := cell(i, j); !missing(x) {
				c.cells = append(c.cells, x)
			}
		}
		if c.name != "" || len(c.cells) > 0 {
			c.looks = look(c.cells)
			columns = append(columns, c)
		}
	}
	return columns
}

// missing reports whether a cell is one of the signs for what was not found.
func missing(cell string) bool {
	switch strings.ToUpper(cell) {
	case "", "?", "??", "-", "--", ".", "NA", "N/A", "NN", "-9", "-1", "X", "FAIL", "FAILED":
		return true
	}
	return false
}

// look tells how cells look by those that could be alleles, if these are most of them.
func look(cells []string) looks {
	could := slices.DeleteFunc(slices.Clone(cells), func(cell string) bool { _, ok := allele(cell); return !ok })
	all := func(is func(cell string) bool) bool {
		return !slices.ContainsFunc(could, func(cell string) bool { return !is(cell) })
	}
	switch {
	case len(could) == 0 || 2*len(could) < len(cells):
		return other
	case all(of(1, "012")):
		return copies
	case all(of(2, "ACGT")), all(of(2, "AB")):
		return bases
	case all(pairOfCodes), all(pairOfLengths):
		return codes
	}
	return lengths
}

func pairOfCodes(cell string) bool { return of(2, "12")(cell) || cell == "00" }

func pairOfLengths(cell string) bool { return of(6, "0123456789")(cell) }

// of tells whether a cell is so many of these signs.
func of(n int, signs string) func(cell string) bool {
	return func(cell string) bool { return len(cell) == n && strings.Trim(strings.ToUpper(cell), signs) == "" }
}

// pairsWith reports whether the next column has the second allele of the same marker. Where
// the cells of either could be whole genotypes, their names have to be plain: M1 and M2
// may be two markers.
func (c laboratoryColumn) pairsWith(next laboratoryColumn) bool {
	single := func(l looks) bool { return l == lengths || l == codes || l == copies }
	if c.at+1 != next.at || !single(c.looks) || len(next.cells) > 0 && !single(next.looks) {
		return false
	}
	if next.name == "" || next.name == c.name {
		return true
	}
	a := stem(c.name)
	if a == "" || a == c.name || a != stem(next.name) {
		return false
	}
	last := c.name[len(c.name)-1]
	plain := last < '0' || last > '9' || strings.ContainsAny(c.name[len(a):], "_.- ")
	return plain || c.looks == lengths || next.looks == lengths
}

// stem is the name of a marker of which the two columns are told apart by 1 and 2 or a
// and b at the end of their names.
func stem(name string) string {
	if name == "" {
		return ""
	}
	switch name[len(name)-1] {
	case '1', '2', 'a', 'b', 'A', 'B':
		return strings.TrimRight(name[:len(name)-1], "_.- ")
	}
	return name
}

// markerColumn is a marker in one column, or in two.
type markerColumn struct {
	laboratoryColumn
	width int
}

// told reports whether most cells are genotypes.
func (m *markerColumn) told() bool {
	n := 0
	for _, cell := range m.cells {
		if _, s := m.read(cell); s == typed || s == halfTyped && strings.ContainsAny(cell, "/|:") {
			n++
		}
	}
	return m.width == 2 || n > 0 && 2*n >= len(m.cells)
}

// state is what a cell says of a bird at a marker.
type state byte

const (
	untyped state = iota
	typed
	halfTyped
	unreadable
)

// read returns the two alleles that a cell has, or two cells with a / between them.
func (m *markerColumn) read(cell string) (alleles [2]string, s state) {
	if missing(cell) {
		return alleles, untyped
	}
	parts := strings.FieldsFunc(cell, func(c rune) bool { return strings.ContainsRune("/|:;, ", c) })
	if m.width == 1 {
		switch pair := len(cell) / 2; {
		case m.looks == copies && of(1, "012")(cell):
			return map[string][2]string{"0": {"1", "1"}, "1": {"1", "2"}, "2": {"2", "2"}}[cell], typed
		case of(2, "ACGT")(cell), m.looks == bases && of(2, "AB")(cell), m.looks == codes && (pairOfCodes(cell) || pairOfLengths(cell)):
			parts = []string{cell[:pair], cell[pair:]}
		}
	}
	found := 0
	for k, part := range parts {
		x, ok := allele(part)
		switch {
		case k > 1 || !ok && !missing(part):
			return [2]string{}, unreadable
		case ok && x != "0" && !missing(part):
			alleles[k] = x
			found++
		}
	}
	switch found {
	case 2:
		if numbered(alleles[0]) != numbered(alleles[1]) { // as in the label of a sample
			return [2]string{}, unreadable
		}
		return alleles, typed
	case 1:
		return [2]string{}, halfTyped
	}
	return [2]string{}, untyped
}

// allele returns an allele as it is compared: numbers without zeros before and behind
// them, letters as capitals. A word is none.
func allele(cell string) (string, bool) {
	cell = strings.ToUpper(strings.TrimSpace(cell))
	for k := range len(cell) {
		if !letterOrDigit(cell[k]) && cell[k] != '.' && cell[k] != '*' {
			return "", false
		}
	}
	if x, err := strconv.ParseFloat(cell, 64); err == nil && x >= 0 && x < 10_000 {
		return strconv.FormatFloat(x, 'f', -1, 64), true
	}
	return cell, cell != "" && (len(cell) <= 2 || len(cell) <= 6 && strings.ContainsAny(cell, "0123456789"))
}

func numbered(allele string) bool { return allele != "" && allele[0] >= '0' && allele[0] <= '9' }
