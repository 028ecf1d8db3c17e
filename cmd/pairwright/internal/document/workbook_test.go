package document

import (
	"bytes"
	"math"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"pairwright/cmd/pairwright/internal/golden"
	"pairwright/pedigree/studbook"
)

func workbookOf(t *testing.T, d *Document) (*excelize.File, []byte) {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, WriteWorkbook(&b, d))
	f, err := excelize.OpenReader(bytes.NewReader(b.Bytes()))
	require.NoError(t, err)
	t.Cleanup(func() { f.Close() })
	return f, b.Bytes()
}

func TestWorkbook(t *testing.T) {
	d := sample()
	day := studbook.DayOf(2019, 5, 12)
	year := studbook.Date{First: studbook.DayOf(2019, 1, 1), Last: studbook.DayOf(2019, 12, 31)}
	d.Sections = append(d.Sections, Section{Title: "Types", Blocks: []Block{&Table{
		Columns: []Column{{Name: "Day"}, {Name: "Date"}, {Name: "Share", Right: true}, {Name: "Gone", Right: true}},
		Rows: []Row{
			{Cells: []Cell{{Text: FormatDay(day), Value: day}, {Text: "2019", Value: year}, {Text: "97.3%", Value: 0.9732}, {Text: Unknown, Value: math.NaN()}}},
			{Cells: []Cell{{Text: Unknown, Value: studbook.Day(0)}, {Text: Unknown}, {Text: Unknown}, {Text: "=1+1"}}},
		},
	}}})
	f, first := workbookOf(t, d)
	_, second := workbookOf(t, d)
	assert.True(t, bytes.Equal(first, second), "the same document gives the same bytes")
	assert.Equal(t, []string{"About", "Mates for Tamsin, best first", "Ruled out", "Nobody waits", "Types"}, f.GetSheetList())
	by, err := f.GetDocProps()
	require.NoError(t, err)
	with, err := f.GetAppProps()
	require.NoError(t, err)
	assert.Equal(t, []string{"Pairwright", "Pairwright", "Pairwright", d.Title}, []string{by.Creator, by.LastModifiedBy, with.Application, by.Title})

	cell := func(sheet, at string, raw bool) string {
		s, err := f.GetCellValue(sheet, at, excelize.Options{RawCellValue: raw})
		require.NoError(t, err)
		return s
	}
	const mates = "Mates for Tamsin, best first"
	for _, tt := range []struct{ sheet, at, raw, shown string }{
		{"About", "B1", "Mates for Tamsin (C0888)", "Mates for Tamsin (C0888)"},
		{"About", "B9", "12 more birds are not shown; --top 15 shows them.", "12 more birds are not shown; --top 15 shows them."},
		{mates, "A1", "Rank", "Rank"},
		{mates, "I1", "Distance (km)", "Distance (km)"},
		{mates, "A2", "1", "1"},
		{mates, "C3", "Dunnock the Elder of Northgate", "Dunnock the Elder of Northgate"},
		{mates, "G3", "0.03125", "0.0313"},
		{mates, "G2", "0", "0"},
		{mates, "G4", "0.00003", "0.0000"},
		{mates, "H2", "0.001234", "+0.00123"},
		{mates, "H4", "-0.000071", "−0.00007"},
		{mates, "I4", "1204", "1,204"},
		{"Types", "A2", "43597", "2019-05-12"}, // days since 1899-12-30
		{"Types", "B2", "2019", "2019"},
		{"Types", "C2", "0.9732", "97.3%"},
		{"Types", "D2", "", ""},
		{"Types", "A3", "", ""},
		{"Types", "D3", "=1+1", "=1+1"},
	} {
		assert.Equal(t, tt.raw, strings.Replace(cell(tt.sheet, tt.at, true), "3e-05", "0.00003", 1), "%s %s", tt.sheet, tt.at)
		assert.Equal(t, tt.shown, cell(tt.sheet, tt.at, false), "%s %s as shown", tt.sheet, tt.at)
	}
	height, err := f.GetRowHeight("About", 2)
	require.NoError(t, err)
	assert.GreaterOrEqual(t, height, 2.0*sheetLine, "the answer has room for its lines")
	formula, err := f.GetCellFormula("Types", "D3")
	require.NoError(t, err)
	assert.Empty(t, formula, "a text is no formula")
	for _, sheet := range f.GetSheetList()[1:] {
		panes, err := f.GetPanes(sheet)
		require.NoError(t, err)
		assert.True(t, panes.Freeze && panes.YSplit == 1, "%s: the heading is frozen", sheet)
		layout, err := f.GetPageLayout(sheet)
		require.NoError(t, err)
		assert.Equal(t, "landscape", *layout.Orientation, "%s in print", sheet)
		assert.Equal(t, 1, *layout.FitToWidth, "%s in print", sheet)
	}
}

// A figure in millionths is one in the sheet too: what its heading says.
func TestWorkbookKeepsUnits(t *testing.T) {
	f, _ := workbookOf(t, &Document{Sections: []Section{{Title: "Gains", Blocks: []Block{&Table{
		Columns: []Column{{Name: "Gain", Unit: "millionths", Right: true}}, Rows: []Row{{Cells: []Cell{{Text: "+21.7", Value: 21.7}}}}}}}}})
	for at, want := range map[string]string{"A1": "Gain (millionths)", "A2": "+21.7"} {
		got, err := f.GetCellValue("Gains", at)
		require.NoError(t, err)
		assert.Equal(t, want, got)
	}
}

func TestWorkbookHostile(t *testing.T) {
	f, _ := workbookOf(t, hostileDocument())
	rows, err := f.GetRows(f.GetSheetList()[1])
	require.NoError(t, err)
	for i, h := range golden.Hostile {
		want := Clean(h)
		if want == "" {
			continue
		}
		assert.Equal(t, want, rows[i+1][0])
	}
	assert.ErrorIs(t, WriteWorkbook(failing{}, sample()), errFull)
}

func TestSheetNames(t *testing.T) {
	b := workbook{names: make(map[string]bool)}
	for _, tt := range []struct{ caption, want string }{
		{"Mates", "Mates"},
		{"MATES", "MATES 2"},
		{"Mates", "Mates 3"},
		{"a/b:c?", "a b c"},
		{"'quoted'", "quoted"},
		{"", "Table"},
		{"???", "Table 2"},
		{"History", "Table History"},
		{"Every bird of the programme, living or dead", "Every bird of the programme"},
		{"Every bird of the programme, living", "Every bird of the programme 2"},
		{strings.Repeat("柳", 40), strings.Repeat("柳", 31)},
		{strings.Repeat("👩", 20), strings.Repeat("👩", 15)},
	} {
		got := b.name(tt.caption)
		assert.Equal(t, tt.want, got)
		assert.LessOrEqual(t, len(utf16.Encode([]rune(got))), 31)
	}
}
