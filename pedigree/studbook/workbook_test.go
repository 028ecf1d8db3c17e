package studbook

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
)

// sheet is a sheet of a workbook to write: its cells, and the number formats
// of some of them.
type sheet struct {
	name    string
	rows    [][]any
	formats map[string]string
}

func writeWorkbook(t testing.TB, sheets ...sheet) []byte {
	f := excelize.NewFile()
	defer f.Close()
	for _, s := range sheets {
		_, err := f.NewSheet(s.name)
		require.NoError(t, err)
		for i, row := range s.rows {
			cell, err := excelize.CoordinatesToCellName(1, i+1)
			require.NoError(t, err)
			require.NoError(t, f.SetSheetRow(s.name, cell, &row))
		}
		for cell, format := range s.formats {
			style, err := f.NewStyle(&excelize.Style{CustomNumFmt: &format})
			require.NoError(t, err)
			require.NoError(t, f.SetCellStyle(s.name, cell, cell, style))
		}
	}
	require.NoError(t, f.DeleteSheet("Sheet1"))
	var b bytes.Buffer
	require.NoError(t, f.Write(&b))
	return b.Bytes()
}

var workbookRows = [][]any{
	{"ID", "Name", "Sex", "Sire", "Dam", "Hatch date", "Death date", "Location"},
	{"A", "Ash", "M", nil, nil, time.Date(2010, 5, 1, 0, 0, 0, 0, time.UTC), nil, "HOME"},
	{},
	{12, nil, "F", "wild", nil, 2011, "[2019..2020]", "HOME"},
	{"# a remark"},
	{"C", nil, "F", "A=0.7; B=0.3", 12, 42000, "2020-03", "HOME"},
}

func TestReadWorkbook(t *testing.T) {
	raw := writeWorkbook(t,
		sheet{"Studbook", workbookRows, map[string]string{"F6": `[$-409]d\-mmm\-yyyy "hatched"`}},
		sheet{"moves", [][]any{{"id", "date", "from", "to"}, {"C", "2018", "HOME", "AWAY"}}, nil},
		sheet{"scratch", [][]any{{"anything"}}, nil},
	)
	fsys := fstest.MapFS{
		"colony.xlsx":    {Data: raw},
		"programme.toml": {Data: []byte("home = \"HOME\"")},
		"bonds.csv":      {Data: []byte("female,male,since\n12,A,2012\n")},
	}
	c, err := Read(t.Context(), fsys, "colony.xlsx", Options{})
	require.NoError(t, err)
	assert.Equal(t, "colony.xlsx", c.Source)
	assert.Equal(t, []string{"colony.xlsx[Studbook]", "colony.xlsx[moves]", "bonds.csv", "programme.toml"}, c.Files)
	for name, there := range map[string]bool{"studbook.csv": true, "moves.csv": true, "bonds.csv": true, "clutches.csv": false} {
		assert.Equal(t, there, c.HasFile(name), name)
	}
	require.Len(t, c.Birds, 4)
	a, b, chick := c.Birds[0], c.Birds[1], c.Birds[2]
	assert.Equal(t, "2010-05-01", a.Hatch.Text, "a cell with a date")
	assert.Equal(t, "12", b.ID, "a cell with a number")
	assert.Equal(t, mustDate(t, "2011"), b.Hatch, "a number that is a year")
	assert.Equal(t, mustDate(t, "[2019..2020]"), b.Death, "a cell with a text")
	assert.Equal(t, 4, b.Line, "blank rows count")
	assert.Equal(t, 6, chick.Line)
	// 42000 is 2014-12-27 in any spreadsheet.
	assert.Equal(t, "2014-12-27", chick.Hatch.Text, "a number in a date format of its own")
	assert.Len(t, c.Moves, 1)
	assert.Equal(t, "AWAY", c.At(today).Bird("C").Location)
}

func TestWorkbookOfOneSheet(t *testing.T) {
	raw := writeWorkbook(t, sheet{"Blad1", workbookRows, nil})
	_, err := Read(t.Context(), fstest.MapFS{"b.xlsx": {Data: raw}}, "b.xlsx", Options{})
	assert.EqualError(t, err, `b.xlsx[Blad1]:6: error: hatch_date "42000": the date cannot be read (this is a spreadsheet's count of days; write 2014-12-27 if it was saved from a date)`)
}

func TestWorkbookCountingFrom1904(t *testing.T) {
	f := excelize.NewFile()
	defer f.Close()
	yes := true
	require.NoError(t, f.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &yes}))
	require.NoError(t, f.SetSheetRow("Sheet1", "A1", &[]any{"id", "sex", "sire", "dam", "hatch_date"}))
	require.NoError(t, f.SetSheetRow("Sheet1", "A2", &[]any{"A", "M", nil, nil, 1}))
	style, err := f.NewStyle(&excelize.Style{NumFmt: 14})
	require.NoError(t, err)
	require.NoError(t, f.SetCellStyle("Sheet1", "E2", "E2", style))
	var b bytes.Buffer
	require.NoError(t, f.Write(&b))
	c, err := Read(t.Context(), fstest.MapFS{"b.xlsx": {Data: b.Bytes()}}, "b.xlsx", Options{})
	require.NoError(t, err)
	assert.Equal(t, "1904-01-02", c.Birds[0].Hatch.Text)
}

func TestBadWorkbook(t *testing.T) {
	code := func(raw []byte) string {
		_, err := Read(t.Context(), fstest.MapFS{"b.xlsx": {Data: raw}}, "b.xlsx", Options{})
		var faults *Faults
		require.ErrorAs(t, err, &faults)
		return faults.Findings[0].Code
	}
	assert.Equal(t, codeBadWorkbook, code([]byte("id,sex,sire,dam,hatch_date\n")), "a CSV file by another name")
	assert.Equal(t, codeBadWorkbook, code(nil))
	assert.Equal(t, codeNoSheet, code(writeWorkbook(t, sheet{"birds", nil, nil}, sheet{"moves", nil, nil})))
	assert.Equal(t, codeEmptyFile, code(writeWorkbook(t, sheet{"birds", nil, nil})))

	raw := writeWorkbook(t, sheet{"studbook", workbookRows, nil})
	for n := 0; n < len(raw); n += 97 {
		assert.Equal(t, codeBadWorkbook, code(raw[:n]), "the first %d bytes", n)
	}
}

// TestSheetsThatAreNotRead: a sheet under another name is easily taken for one
// that counts.
func TestSheetsThatAreNotRead(t *testing.T) {
	raw := writeWorkbook(t,
		sheet{"Studbook", workbookRows[:5], nil},
		sheet{"Bonds 2026", [][]any{{"female", "male", "since"}}, nil},
		sheet{"holds", [][]any{{"id", "since", "until", "reason"}}, nil},
		sheet{"holds before 2020", [][]any{{"id"}}, nil},
		sheet{"Pivot", [][]any{{"anything"}}, nil},
	)
	c, err := Read(t.Context(), fstest.MapFS{
		"colony.xlsx": {Data: raw},
		"holds.csv":   {Data: []byte("id,since,until,reason\n")},
		"moves.txt":   {Data: []byte("id,date,from,to\n")},
	}, "colony.xlsx", Options{})
	require.NoError(t, err)
	var told []string
	for _, f := range c.Warnings {
		if f.Code == codeUnreadFile {
			told = append(told, f.File+": "+f.Message)
		}
	}
	assert.ElementsMatch(t, []string{
		"colony.xlsx[Bonds 2026]: the sheet is not read: its name is not bonds",
		"holds.csv: the file is not read, because the workbook has a sheet for it",
		"moves.txt: the file is not read: its name is not moves.csv",
	}, told)
	assert.Contains(t, c.Notes, `colony.xlsx: sheets that are not read: "holds before 2020", "Pivot"`)
	assert.Equal(t, []Unread{{"colony.xlsx[Bonds 2026]", "bonds.csv"}, {"moves.txt", "moves.csv"}}, c.Unread)
}

// TestCellsThatShowMore: what a sheet shows and its cells do not store is never read
// as blank without a word.
func TestCellsThatShowMore(t *testing.T) {
	head := []any{"id", "name", "sex", "sire", "dam", "hatch_date", "death_date"}
	rows := [][]any{head, {"A", "", "M", "wild", "wild", "2015"}, {"B", "", "F", "wild", "wild", "2015"}, {"C", "Cob", "F", "A", "B", "2018"}, {"D", "", "F", "A", "B", "2018"}}
	for name, tt := range map[string]struct {
		change func(f *excelize.File) error
		want   string
	}{
		"a sire by a formula": {func(f *excelize.File) error {
			return errors.Join(f.SetCellValue("Sheet1", "D4", nil), f.SetCellFormula("Sheet1", "D4", "A2"))
		}, "error b.xlsx[Sheet1]:4 sire value_not_stored"},
		"a death by a formula": {func(f *excelize.File) error { return f.SetCellFormula("Sheet1", "G5", "F5") }, "error b.xlsx[Sheet1]:5 death_date value_not_stored"},
		"a name by a formula": {func(f *excelize.File) error {
			return errors.Join(f.SetCellValue("Sheet1", "B4", nil), f.SetCellFormula("Sheet1", "B4", "A2"))
		}, "warning b.xlsx[Sheet1]:4 name value_not_stored"},
		"a row of formulas":        {func(f *excelize.File) error { return f.SetCellFormula("Sheet1", "A6", "A5") }, "error b.xlsx[Sheet1]:6 id value_not_stored"},
		"a sire for two":           {func(f *excelize.File) error { return f.MergeCell("Sheet1", "D4", "D5") }, "error b.xlsx[Sheet1]:4 sire merged_cells"},
		"both parents in one":      {func(f *excelize.File) error { return f.MergeCell("Sheet1", "D4", "E4") }, "error b.xlsx[Sheet1]:4 dam merged_cells"},
		"a name for two":           {func(f *excelize.File) error { return f.MergeCell("Sheet1", "B4", "B5") }, "warning b.xlsx[Sheet1]:4 - merged_cells"},
		"nothing for two":          {func(f *excelize.File) error { return f.MergeCell("Sheet1", "G4", "G5") }, ""},
		"an error for an id":       {func(f *excelize.File) error { return f.SetCellStr("Sheet1", "A5", "#N/A") }, "error b.xlsx[Sheet1]:5 - spreadsheet_error"},
		"an id that begins with #": {func(f *excelize.File) error { return f.SetCellStr("Sheet1", "A5", "#5") }, "warning b.xlsx[Sheet1]:5 - skipped_row"},
		"a count below":            {func(f *excelize.File) error { return f.SetCellInt("Sheet1", "A6", 4) }, "warning b.xlsx[Sheet1]:6 id bare_row"},
		"a total below":            {func(f *excelize.File) error { return f.SetCellStr("Sheet1", "A6", "Total: 4 birds") }, "warning b.xlsx[Sheet1]:6 id totals_row"},
	} {
		t.Run(name, func(t *testing.T) {
			f := excelize.NewFile()
			defer f.Close()
			for i, row := range rows {
				require.NoError(t, f.SetSheetRow("Sheet1", fmt.Sprintf("A%d", i+1), &row))
			}
			require.NoError(t, tt.change(f))
			var b bytes.Buffer
			require.NoError(t, f.Write(&b))
			c, err := Read(t.Context(), fstest.MapFS{"b.xlsx": {Data: b.Bytes()}}, "b.xlsx", Options{})
			var got []string
			for _, x := range findingsOf(t, c, err) {
				got = append(got, brief(x))
			}
			if tt.want == "" {
				assert.Empty(t, got)
				return
			}
			assert.Contains(t, got, tt.want)
		})
	}
}

// TestLargeWorkbook: one that would take a gigabyte gets a finding with the cure at once, and
// one that can be read and not written says so when it is to be changed.
func TestLargeWorkbook(t *testing.T) {
	const rows = `<worksheet><sheetData><row r="1"><c t="inlineStr"><is><t>id</t></is></c><c t="inlineStr"><is><t>sex</t></is></c><c t="inlineStr"><is><t>sire</t></is></c><c t="inlineStr"><is><t>dam</t></is></c></row><row r="2"><c t="inlineStr"><is><t>A</t></is></c><c t="inlineStr"><is><t>M</t></is></c></row></sheetData>`
	grown := func(to int) fstest.MapFS {
		return bookOf(t, rows+strings.Repeat(" ", to-len(rows))+"</worksheet>", "", "")
	}
	_, err := Read(t.Context(), grown(int(mostOfBook.Unzipped)), "colony.xlsx", Options{})
	assert.EqualError(t, err, "colony.xlsx: error: the workbook cannot be opened: it is larger than a workbook can be that is worked with as it stands (save its sheets as CSV files)")

	files := grown(mostRewritten)
	c, err := Read(t.Context(), files, "colony.xlsx", Options{})
	require.NoError(t, err)
	assert.Len(t, c.Birds, 1)
	_, err = NewRewriter(t.Context(), files, "colony.xlsx", Options{})
	assert.EqualError(t, err, "colony.xlsx cannot be written: it grows to more than 12 MB when it is unzipped, and a workbook of more is read only (import colony.xlsx, which makes a colony folder of it, or save its sheets as CSV files)")
}

// TestCellsAsStored: what a workbook stores counts, whatever its looks show of it.
func TestCellsAsStored(t *testing.T) {
	const styles = `<styleSheet><numFmts><numFmt numFmtId="170" formatCode="0000"/><numFmt numFmtId="171" formatCode="0.0"/></numFmts><cellXfs><xf numFmtId="0"/><xf numFmtId="14"/><xf numFmtId="170"/><xf numFmtId="171"/></cellXfs></styleSheet>`
	for name, x := range map[string]struct{ cell, want string }{
		"a number with zeros before it":             {`<c s="2"><v>42</v></c>`, "42"},
		"a number cut short":                        {`<c s="3"><v>0.25</v></c>`, "0.25"},
		"a number as programs store it":             {`<c><v>0.69999999999999996</v></c>`, "0.7"},
		"a number with an exponent":                 {`<c><v>1.5E1</v></c>`, "15"},
		"a truth":                                   {`<c t="b"><v>1</v></c>`, "TRUE"},
		"a day":                                     {`<c s="1"><v>43597</v></c>`, "2019-05-12"},
		"a day with a time of day":                  {`<c s="1"><v>43597.75</v></c>`, "2019-05-12"},
		"a day in letters":                          {`<c t="d"><v>2019-05-12T10:00:00</v></c>`, "2019-05-12"},
		"a time of day":                             {`<c s="1"><v>0.5</v></c>`, "0.5"},
		"a year typed as text, in a column of days": {`<c s="1" t="inlineStr"><is><t>2011</t></is></c>`, "2011"},
		"letters that XML cannot hold":              {`<c t="inlineStr"><is><t>a_x000D_</t></is></c>`, "a"},
	} {
		w, err := openWorkbook("b.xlsx", bookOf(t, `<worksheet><sheetData><row><c t="str"><v>id</v></c></row><row>`+x.cell+`</row></sheetData></worksheet>`, "", styles)["colony.xlsx"].Data)
		require.NoError(t, err, name)
		g, err := w.grid(0)
		require.NoError(t, err, name)
		assert.Equal(t, [][]string{{x.want}}, g.all(), name)
	}
}

// FuzzBook changes what is inside a workbook that is a colony, which changes to the
// packed bytes would never reach: the same each time, findings or a colony in which
// every bird has the parents that its row names.
func FuzzBook(f *testing.F) {
	const sheet = `<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="inlineStr"><is><t>sex</t></is></c><c r="C1" t="str"><v>sire</v></c><c r="D1" t="str"><v>dam</v></c><c r="E1" t="str"><v>hatch_date</v></c></row>` +
		`<row r="2"><c r="A2" t="s"><v>1</v></c><c r="B2" t="str"><v>M</v></c><c r="E2" s="1"><v>40000</v></c></row><row r="4"><c r="A4"><v>7</v></c><c r="B4" t="str"><f>LEFT("F")</f><v>F</v></c><c r="C4" t="s"><v>1</v></c><c r="E4" s="2"><v>42000.5</v></c></row></sheetData></worksheet>`
	const words = `<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" count="2" uniqueCount="2"><si><t>id</t></si><si><r><t>A</t></r><r><t>1</t></r></si></sst>`
	const styles = `<styleSheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><numFmts count="1"><numFmt numFmtId="170" formatCode="dd.mm.yyyy"/></numFmts><cellXfs count="3"><xf numFmtId="0"/><xf numFmtId="14"/><xf numFmtId="170"/></cellXfs></styleSheet>`
	f.Add([]byte(sheet), []byte(words), []byte(styles))
	f.Add([]byte(strings.Replace(sheet, "</sheetData>", `</sheetData><mergeCells count="1"><mergeCell ref="A2:A3"/></mergeCells>`, 1)), []byte(words), []byte(styles))
	c, err := Read(f.Context(), bookOf(f, sheet, words, styles), "colony.xlsx", Options{Today: today})
	require.NoError(f, err, "what cannot be read proves nothing")
	require.Len(f, c.Birds, 2)
	f.Fuzz(func(t *testing.T, sheet, words, styles []byte) {
		files := bookOf(t, string(sheet), string(words), string(styles))
		c, err := Read(t.Context(), files, "colony.xlsx", Options{Today: today})
		again, err2 := Read(t.Context(), files, "colony.xlsx", Options{Today: today})
		assert.Equal(t, findingsOf(t, c, err), findingsOf(t, again, err2), "the same bytes, the same findings")
		if err != nil {
			return
		}
		assert.Equal(t, withoutLines(c), withoutLines(again))
		var rows bytes.Buffer
		require.NoError(t, Write(&rows, c.Birds))
		back, err := Read(t.Context(), folder("studbook.csv", rows.String()), "studbook.csv", Options{Today: today})
		require.NoError(t, err, "what was written is read again")
		assert.Equal(t, unlined(c.Birds), unlined(back.Birds))
	})
}

// bookOf is a folder with a workbook of one sheet, given the XML of its parts.
func bookOf(t testing.TB, sheet, words, styles string) fstest.MapFS {
	const relations, office = "http://schemas.openxmlformats.org/package/2006/relationships", "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, part := range [][2]string{
		{"[Content_Types].xml", `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="xml" ContentType="application/xml"/></Types>`},
		{"_rels/.rels", `<Relationships xmlns="` + relations + `"><Relationship Id="rId1" Type="` + office + `/officeDocument" Target="xl/workbook.xml"/></Relationships>`},
		{"xl/workbook.xml", `<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="` + office + `"><sheets><sheet name="studbook" sheetId="1" r:id="rId1"/></sheets></workbook>`},
		{"xl/_rels/workbook.xml.rels", `<Relationships xmlns="` + relations + `"><Relationship Id="rId1" Type="` + office + `/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`},
		{"xl/worksheets/sheet1.xml", sheet}, {"xl/sharedStrings.xml", words}, {"xl/styles.xml", styles},
	} {
		w, err := z.Create(part[0])
		require.NoError(t, err)
		_, err = io.WriteString(w, part[1])
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return fstest.MapFS{"colony.xlsx": {Data: b.Bytes()}}
}
