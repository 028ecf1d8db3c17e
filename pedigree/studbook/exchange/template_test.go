package exchange

import (
	"bytes"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"pairwright/pedigree/studbook"
)

// A new folder has a workbook whose sheets are the files, with a note on every
// heading and a list wherever a column has words or names rows of another file;
// filled in by hand it reads as the files would.
func TestTemplate(t *testing.T) {
	files, err := Template()
	require.NoError(t, err)
	assert.Contains(t, Names(files), "programme.toml")
	content, err := memory(files).ReadFile(WorkbookFile)
	require.NoError(t, err)
	f, err := excelize.OpenReader(bytes.NewReader(content))
	require.NoError(t, err)
	defer f.Close()
	signed(t, f)
	var sheets []string
	for _, file := range studbook.Files() {
		sheet := sheetOf(file.Name)
		sheets = append(sheets, sheet)
		notes, err := f.GetComments(sheet)
		require.NoError(t, err)
		assert.Len(t, notes, len(file.Columns), sheet)
		lists, err := f.GetDataValidations(sheet)
		require.NoError(t, err)
		want := 0
		for _, c := range file.Columns {
			if len(c.Words) > 0 || c.Of != "" {
				want++
			}
		}
		assert.Len(t, lists, want, sheet)
	}
	assert.Equal(t, sheets, f.GetSheetList())

	for cell, value := range map[string]any{"A2": "0731", "D2": "M", "A3": "0732", "D3": "F", "A4": "0733", "D4": "U", "E4": "0731", "F4": "0732", "G4": "2019"} {
		require.NoError(t, f.SetCellValue("studbook", cell, value))
	}
	for cell, value := range map[string]any{"A2": "0732", "B2": "0731", "C2": "2018-03"} {
		require.NoError(t, f.SetCellValue("bonds", cell, value))
	}
	var filled bytes.Buffer
	require.NoError(t, f.Write(&filled))
	c, err := studbook.Read(t.Context(), fstest.MapFS{WorkbookFile: {Data: filled.Bytes()}}, WorkbookFile, studbook.Options{Today: asOf})
	require.NoError(t, err)
	require.Len(t, c.Birds, 3)
	sire, _ := c.Birds[2].Sire.Known()
	assert.Equal(t, "0731 2019", sire+" "+c.Birds[2].Hatch.Text)
	assert.Equal(t, "2018-03", c.Bonds[0].Since.Text)
}

// signed checks that a workbook names the program as its author.
func signed(t *testing.T, f *excelize.File) {
	t.Helper()
	by, err := f.GetDocProps()
	require.NoError(t, err)
	with, err := f.GetAppProps()
	require.NoError(t, err)
	assert.Equal(t, []string{"Pairwright", "Pairwright", "Pairwright"}, []string{by.Creator, by.LastModifiedBy, with.Application})
}
