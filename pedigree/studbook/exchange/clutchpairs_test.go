package exchange

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A cell is cut in two birds by what stands between them, and never at a blank alone or
// inside what is a bird as it stands.
func TestTwoOfCell(t *testing.T) {
	birds := []string{"Max", "Frieda", "A12", "B3", "Max Frieda", "Max und Moritz", "12/03", "14/05", "Xaver", "Max (A12)", "Frieda (B3)"}
	isBird := func(s string) bool { return slices.Contains(birds, s) }
	for cell, want := range map[string][2]string{
		"Max x Frieda": {"Max", "Frieda"}, "Max X Frieda": {"Max", "Frieda"}, "Max × Frieda": {"Max", "Frieda"}, "Frieda×Max": {"Frieda", "Max"},
		"Max & Frieda": {"Max", "Frieda"}, "Max + Frieda": {"Max", "Frieda"}, "Max/Frieda": {"Max", "Frieda"}, "Max - Frieda": {"Max", "Frieda"}, "Max, Frieda": {"Max", "Frieda"},
		"A12/B3": {"A12", "B3"}, "A12 + B3": {"A12", "B3"}, "B3+A12": {"B3", "A12"}, "A12xB3": {"A12", "B3"}, "12/03 x 14/05": {"12/03", "14/05"}, "Xaver x Frieda": {"Xaver", "Frieda"},
		"Max und Frieda": {"Max", "Frieda"}, "Max and Frieda": {"Max", "Frieda"}, "Max et Frieda": {"Max", "Frieda"}, "Max y Frieda": {"Max", "Frieda"}, "Max e Frieda": {"Max", "Frieda"}, "Max en Frieda": {"Max", "Frieda"},
		"Max (A12) x Frieda (B3)": {"Max (A12)", "Frieda (B3)"}, "♂ Max × ♀ Frieda": {"Max", "Frieda"}, "♀ Frieda × ♂ Max": {"Max", "Frieda"}, "Paar 4: Max x Frieda": {"Max", "Frieda"}, "Max x Frieda (Box 4)": {"Max", "Frieda"},
		"Max Frieda": {}, "Max und Moritz": {}, "12/03": {}, "Max": {}, "Max x Berta": {}, "Max x Frieda x B3": {}, "Paar 4": {}, "": {},
	} {
		first, second, ok := twoOfCell(cell, isBird)
		if !ok {
			first, second = "", ""
		}
		assert.Equal(t, want, [2]string{first, second}, cell)
	}
}

// flockOf is a sheet of birds of which two bear one name, one has no sex, and one a name of two
// words.
var flockOf = page{name: "Vögel", rows: [][]any{
	{"ID", "Name", "Ring", "Geschlecht", "Vater", "Mutter", "Schlupfdatum"},
	{"A12", "Max", "R-7001", "m", nil, nil, "13.05.2018"}, {"B3", "Frieda", "R-7002", "w", nil, nil, "14.05.2018"},
	{"A14", "Otto", "R-7003", "m", nil, nil, "15.05.2018"}, {"B5", "Ida Rot", "R-7004", "w", nil, nil, "16.05.2018"},
	{"C1", "Paul", nil, nil, "A12", "B3", "17.05.2022"}, {"C2", "Emil", nil, "m", "A12", "B3", "18.05.2022"},
}}

func clutchesOf(res *Result) (out []string) {
	for _, c := range res.Colony.Clutches {
		out = append(out, fmt.Sprint(c.Female, " ", c.Male, " ", c.Laid.Text, " ", strconv.Itoa(c.Eggs)+strconv.Itoa(c.Fertile)+strconv.Itoa(c.Hatched)))
	}
	return out
}

// A book of clutches may have one column for both birds of the pair; whose cell names no
// pair, its row is listed.
func TestClutchesOfPairsInOneColumn(t *testing.T) {
	book := page{name: "Gelege", rows: [][]any{
		{"Datum", "Paar", "Eier", "befruchtet", "geschlüpft", "Bemerkung"},
		{"13.04.2021", "Max x Frieda", 2, 2, 1, nil}, {"11.04.2022", "Frieda × Max", 2, 0, 0, nil}, {"04.05.2023", "A12/B3", 2, 0, 0, nil}, {"03.04.2024", "R-7001 + R-7002", 3, 0, 0, "klar"},
		{"12.04.2021", "Ida Rot und Otto", 2, 2, 2, nil}, {"05.05.2024", "Max & Berta", 2, 1, 1, nil}, {"06.05.2024", "Max Frieda", 2, 1, 1, nil}, {"07.05.2024", "Max & Berta", 2, 1, 1, nil},
		{"08.05.2024", "Frieda x Paul", 2, 1, 1, nil}, {"09.05.2024", "Max x Emil", 1, 1, 1, nil}, {"10.05.2024", nil, 1, 1, 1, nil},
	}}
	for _, pages := range [][]page{{book, flockOf}, {flockOf, book}} {
		content := inWorkbook(t, false, pages...)
		res := imported(t, "b.xlsx", content, Mapping{})
		assert.Equal(t, []string{"B3 A12 2021-04-13 221", "B3 A12 2022-04-11 200", "B3 A12 2023-05-04 200", "B3 A12 2024-04-03 300", "B5 A14 2021-04-12 222"}, clutchesOf(res))
		assert.Equal(t, []string{"B3 A12 2021>", "B5 A14 2021>"}, bondsOf(res), "one bond with its clutches, and no parting without another mate")
		var listed []string
		for _, d := range res.Report.Decisions {
			if d.Code == "clutch_of_no_pair" {
				listed = append(listed, d.Text)
				assert.Equal(t, "Gelege", d.Sheet)
			}
		}
		assert.ElementsMatch(t, []string{
			`lines 7, 9: "Max & Berta" does not name two birds of the file for certain; the rows are left out`,
			`line 8: "Max Frieda" does not name two birds of the file for certain; the row is left out`,
			`line 10: which of "Frieda x Paul" is the female is not known, for C1 has no sex; the row is left out`,
			`line 11: both birds of "Max x Emil" are of one sex; the row is left out`,
			`line 12: no pair is named; the row is left out`,
		}, listed)
		columns := make(map[string]ColumnRead)
		for _, c := range res.Report.Columns {
			if c.Sheet == "Gelege" {
				columns[c.Theirs] = c
				assert.True(t, slices.ContainsFunc(c.Choice.May, func(o Option) bool { return o.Answer == c.Ours }) || c.Ours == "", c.Theirs)
			}
		}
		assert.Equal(t, "pair", columns["Paar"].Ours)
		assert.Equal(t, []string{"B3 × A12", "B3 × A12", "B3 × A12"}, columns["Paar"].Taken, "the female first")
		assert.Equal(t, "laid", columns["Datum"].Ours)
		assert.Equal(t, []string{pages[0].name, pages[1].name}, []string{res.Report.Sheets[0].Name, res.Report.Sheets[1].Name})
		k := slices.IndexFunc(res.Report.Sheets, func(s SheetRead) bool { return s.Name == "Gelege" })
		assert.Equal(t, SheetRead{Name: "Gelege", As: "nests", Rows: 11, Took: 5}, res.Report.Sheets[k])

		assert.Contains(t, res.Report.Mapping, `pair = "Paar"`)
		m, err := ReadMapping([]byte(res.Report.Mapping))
		require.NoError(t, err)
		assert.Equal(t, clutchesOf(res), clutchesOf(imported(t, "b.xlsx", content, m)), "the mapping that was used reads the next export")
	}
}

// The order of dates in such a sheet is that of the file, proved by whichever sheet proves it,
// and a column that no list has is one of pairs on the user's word.
func TestClutchesOfPairsDatesAndColumn(t *testing.T) {
	book := page{name: "Clutches", rows: [][]any{{"Date", "Who with whom", "Eggs"}, {"03.04.2024", "Max x Frieda", 2}}}
	res := imported(t, "b.xlsx", inWorkbook(t, false, flockOf, book), Mapping{})
	assert.Equal(t, SheetLeftOut, res.Report.Sheets[1].As)
	res = imported(t, "b.xlsx", inWorkbook(t, false, flockOf, book), Mapping{Columns: map[string]string{"pair": "Who with whom"}})
	assert.Equal(t, []string{"B3 A12 2024-04-03 2-1-1"}, clutchesOf(res))
	assert.Equal(t, "dmy", res.Report.DateOrder)
}

// The headings of the languages, and sheets that are something else.
func TestHeadingsOfClutchesOfPairs(t *testing.T) {
	for _, head := range []string{
		"Date|Pair|Eggs|Fertile|Hatched", "Laid|Breeding pair|Eggs|Fertile|Hatched", "Date laid|Parents|Eggs|Fertile|Hatched",
		"Datum|Paar|Eier|befruchtet|geschlüpft", "gelegt|Eltern|Eier|befruchtet|geschlüpft", "Legebeginn|Zuchtpaar|Anzahl Eier|befruchtete Eier|geschlüpft",
		"Date|Couple|Œufs|Fécondés|Éclos", "Ponte|Parents|Œufs|Fécondés|Éclos", "Fecha|Pareja|Huevos|Fértiles|Nacidos", "Fecha de puesta|Padres|Huevos|Fértiles|Nacidos",
		"Data|Casal|Ovos|Férteis|Nascidos", "Postura|Pais|Ovos|Férteis|Nascidos", "Data|Coppia|Uova|Feconde|Nati", "Deposizione|Genitori|Uova|Feconde|Nati",
		"Datum|Koppel|Eieren|Bevrucht|Uitgekomen", "Gelegd|Paar|Eieren|Bevrucht|Uitgekomen", "Legdatum|Ouders|Eieren|Bevrucht|Uitgekomen",
		"Nr|Datum|Paar|Eier|befruchtet|geschlüpft", "Gelege|Datum|Paar|Eier|befruchtet|geschlüpft", "Datum|Paar|Gelege|befruchtet|geschlüpft",
	} {
		row := []any{"13.04.2024", "Frieda x Max", 3, 2, 1}
		heads := cellsOf(head)
		if len(heads) > len(row) {
			row = append([]any{7}, row...)
		}
		res := imported(t, "b.xlsx", inWorkbook(t, false, page{name: "Book", rows: [][]any{heads, row}}, flockOf), Mapping{})
		assert.Equal(t, []string{"B3 A12 2024-04-13 321"}, clutchesOf(res), head)
		assert.Len(t, res.Colony.Birds, len(flockOf.rows)-1, head)
	}
	for _, rows := range [][][]any{
		{cellsOf("Datum|Paar|Eier"), {"13.04.2024", "Paar 4", 2}, {"13.04.2024", "Max Frieda", 2}}, // pairs by number or by what nobody is called
		{cellsOf("Datum|Paar|Futter"), {"13.04.2024", "Max x Frieda", 2}},                          // no clutch
	} {
		res := imported(t, "b.xlsx", inWorkbook(t, false, page{name: "Book", rows: rows}, flockOf), Mapping{})
		assert.Empty(t, res.Colony.Clutches)
		assert.Equal(t, SheetLeftOut, res.Report.Sheets[0].As)
	}
}

func cellsOf(head string) (cells []any) {
	for h := range strings.SplitSeq(head, "|") {
		cells = append(cells, h)
	}
	return cells
}

// The young that such a row names are the pair's.
func TestChicksOfPairsInOneColumn(t *testing.T) {
	book := page{name: "Gelege", rows: [][]any{cellsOf("gelegt|Paar|Eier|Ringe Junge"), {"13.04.2021", "Otto x Ida Rot", 2, "C3"}}}
	flock := page{name: flockOf.name, rows: append(slices.Clone(flockOf.rows), []any{"C3", "Uwe", nil, "m", nil, nil, "15.05.2021"})}
	chick := writtenFile(t, imported(t, "b.xlsx", inWorkbook(t, false, flock, book), Mapping{}), "studbook.csv")["C3"]
	assert.Equal(t, [2]string{"A14", "B5"}, [2]string{chick["sire"], chick["dam"]})
}
