package exchange

import (
	"archive/zip"
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

// zipped is a zip archive of these files.
func zipped(t testing.TB, files ...[2]string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, f := range files {
		w, err := z.Create(f[0])
		require.NoError(t, err)
		_, err = w.Write([]byte(f[1]))
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return b.Bytes()
}

// Merged cells have the value of their first cell, across and down.
func TestMergedCells(t *testing.T) {
	rows := [][]any{{"Ring", "Sex", "Sire", "Dam", "Hatched"}, {"A", "m"}, {"B", "f"}, {"C", "m", "A", "B", "2005"}, {"D", "f"}, {"E", "f"}}
	raw := inWorkbook(t, false, page{name: "Birds", rows: rows, merged: []string{"C4:C6", "D4:D6", "E4:E5"}})
	birds := writtenFile(t, imported(t, "b.xlsx", raw, Mapping{}), "studbook.csv")
	for _, id := range []string{"C", "D", "E"} {
		assert.Equal(t, "A B", birds[id]["sire"]+" "+birds[id]["dam"], id)
	}
	assert.Equal(t, "2005", birds["D"]["hatch_date"])
	assert.Equal(t, "", birds["E"]["hatch_date"])
}

// What grows without end when it is unpacked is refused, and nothing else is.
func TestWorkbooksThatGrow(t *testing.T) {
	var wide bytes.Buffer
	wide.WriteString(`<worksheet><sheetData>`)
	for range 20000 {
		wide.WriteString(`<row><c r="ALL1"><v>1</v></c></row>`)
	}
	wide.WriteString(`</sheetData></worksheet>`)
	raw := zipped(t, [2]string{"xl/workbook.xml", `<workbook><sheets><sheet name="S" r:id="a"/></sheets></workbook>`},
		[2]string{"xl/_rels/workbook.xml.rels", `<Relationships><Relationship Id="a" Target="worksheets/sheet1.xml"/></Relationships>`}, [2]string{"xl/worksheets/sheet1.xml", wide.String()})
	s := &source{}
	assert.ErrorContains(t, s.openBook(raw), "too big")
}

// Quotation marks without a partner are letters like any other.
func TestTablesOfText(t *testing.T) {
	for text, want := range map[string][][]string{
		"a,b\n1,\"x \"\"y\"\"\nz\"\n3,4": {{"a", "b"}, {"1", "x \"y\"\nz"}, {"3", "4"}},
		"a,b\n1,\"x\n3,4\n":              {{"a", "b"}, {"1", "\"x"}, {"3", "4"}},
		"a,b\n1,\"x\" y\n3,4\n":          {{"a", "b"}, {"1", "\"x\" y"}, {"3", "4"}},
		"sep=;\na;b\n":                   {{"a", "b"}},
		"a;b\r1;2\r":                     {{"a", "b"}, {"1", "2"}},
		"a|b\n1|2\n":                     {{"a", "b"}, {"1", "2"}},
		"title, with comma\na;b;c\n1;2;3\n4;5,5;6\n": {{"title, with comma"}, {"a", "b", "c"}, {"1", "2", "3"}, {"4", "5,5", "6"}},
	} {
		s, err := readTable("t", text, findDelimiter(text))
		require.NoError(t, err)
		var got [][]string
		for _, r := range s.Rows {
			got = append(got, texts(r.Cells))
		}
		assert.Equal(t, want, got, text)
	}
}

// TestFormulasWithoutValues: a formula that no program has computed is no blank.
func TestFormulasWithoutValues(t *testing.T) {
	text := func(s string) string { return `<c t="inlineStr"><is><t>` + s + `</t></is></c>` }
	ods := func(s string) string {
		return `<table:table-cell office:value-type="string" calcext:value-type="string"><text:p>` + s + `</text:p></table:table-cell>`
	}
	head, odsHead := "", ""
	for _, h := range []string{"Ring", "Sex", "Sire", "Dam", "Hatched", "Died", "Weight"} {
		head, odsHead = head+text(h), odsHead+ods(h)
	}
	for name, tt := range map[string]struct{ died, weight, stop, said string }{
		"a death":                   {`<c><f>E2</f></c>`, "", "Died", ""},
		"a death, its value blank":  {`<c><f>E2</f><v/></c>`, "", "Died", ""},
		"a blank that was computed": {`<c t="str"><f>E2</f><v></v></c>`, "", "", ""},
		"a day that was computed":   {`<c t="str"><f>E2</f><v>2019-03-01</v></c>`, "", "", ""},
		"a column of their own":     {`<c/>`, `<c><f>E2</f></c>`, "", "Weight"},
	} {
		t.Run(name, func(t *testing.T) {
			raw := zipped(t,
				[2]string{"xl/workbook.xml", `<workbook><sheets><sheet name="Birds" r:id="a"/></sheets></workbook>`},
				[2]string{"xl/_rels/workbook.xml.rels", `<Relationships><Relationship Id="a" Type="y/worksheet" Target="sheets/sheet1.xml"/></Relationships>`},
				[2]string{"xl/sheets/sheet1.xml", `<worksheet><sheetData><row>` + head + `</row><row>` + text("A1") + text("m") + `<c/><c/>` + text("2015-01-01") + tt.died + tt.weight + `</row><row>` + text("A2") + text("f") + `<c/><c/>` + text("2015-01-01") + `</row></sheetData></worksheet>`})
			res, err := Import(t.Context(), memory{{"b.xlsx", raw}}, "b.xlsx", Options{Today: asOf, FileDay: asOf})
			require.NoError(t, err)
			columns := func(list []Decision) (at string) {
				for _, d := range list {
					if d.Code == "value_not_stored" {
						at += d.Column
					}
				}
				return at
			}
			assert.Equal(t, tt.stop, columns(res.Report.Stops))
			assert.Equal(t, tt.said, columns(res.Report.Decisions))
		})
	}
	for cell, stop := range map[string]bool{
		`<table:table-cell table:formula="of:=[.E2]"/>`:                                                   true,
		`<table:table-cell table:formula="of:=[.E2]" office:value-type="string" office:string-value=""/>`: false,
		`<table:table-cell/>`: false,
	} {
		raw := zipped(t, [2]string{"mimetype", "application/vnd.oasis.opendocument.spreadsheet"}, [2]string{"content.xml", `<table:table table:name="Birds"><table:table-row>` + odsHead + `</table:table-row><table:table-row>` +
			ods("A1") + ods("m") + `<table:table-cell table:number-columns-repeated="2"/>` + ods("2015-01-01") + cell + `</table:table-row></table:table>`})
		res, err := Import(t.Context(), memory{{"b.ods", raw}}, "b.ods", Options{Today: asOf, FileDay: asOf})
		require.NoError(t, err)
		assert.Equal(t, stop, len(res.Report.Stops) == 1 && res.Report.Stops[0].Code == "value_not_stored", "%s: %v", cell, res.Report.Stops)
	}
}

// TestErrorsOfSpreadsheets: a value that a spreadsheet could not compute is no word
// for nothing, but for what a table looked up in vain.
func TestErrorsOfSpreadsheets(t *testing.T) {
	const head = "Ring;Sex;Sire;Dam;Hatched;Died\nA1;m;;;2015-01-01;\nA2;f;;;2015-01-01;\n"
	for row, want := range map[string]string{
		"B1;m;#REF!;A2;2018-01-01;":     "stop Sire",
		"B1;m;A1;A2;2018-01-01;#VALUE!": "stop Died",
		"#N/A;m;A1;A2;2018-01-01;":      "stop Ring",
		"B1;m;#N/A;A2;2018-01-01;":      "said Sire",
		"B1;m;A1;A2;2018-01-01;#N/A":    "said Died",
		"B1;m;A1;A2;2018-01-01;n/a":     "",
	} {
		res, err := Import(t.Context(), memory{{"b.csv", []byte(head + row + "\n")}}, "b.csv", Options{Today: asOf, FileDay: asOf})
		require.NoError(t, err)
		got := ""
		for what, list := range map[string][]Decision{"stop": res.Report.Stops, "said": res.Report.Decisions} {
			for _, d := range list {
				if d.Code == "spreadsheet_error" {
					got += what + " " + d.Column
				}
			}
		}
		assert.Equal(t, want, got, row)
	}
}

// TestLongCells: a cell that no spreadsheet holds is a finding at once, not minutes
// later.
func TestLongCells(t *testing.T) {
	_, err := Import(t.Context(), memory{{"b.csv", []byte("Ring,Sex,Sire,Dam\nA,m,,\n" + strings.Repeat("x", sheets.MostLetters+1))}}, "b.csv", Options{Today: asOf, FileDay: asOf})
	assert.ErrorContains(t, err, "line 3 has a cell of 131,073 letters")
	raw := zipped(t, [2]string{"mimetype", "application/vnd.oasis.opendocument.spreadsheet"}, [2]string{"content.xml", `<table:table table:name="Birds"><table:table-row><table:table-cell office:value-type="string"><text:p>` + strings.Repeat("x", sheets.MostLetters+1) + `</text:p></table:table-cell></table:table-row></table:table>`})
	_, err = Import(t.Context(), memory{{"b.ods", raw}}, "b.ods", Options{Today: asOf, FileDay: asOf})
	assert.ErrorContains(t, err, "the workbook is too big")
}

// TestTooManyRows: a file of more birds than an import holds is refused with the cure,
// whatever its format, and one of just so many is read.
func TestTooManyRows(t *testing.T) {
	defer func(most int) { mostRows = most }(mostRows)
	mostRows = 4 // with the headings
	rows := [][]any{{"id", "sex", "sire", "dam", "hatched"}, {"A", "M", nil, nil, "2001-02-03"}, {"B", "F", nil, nil, "2001-02-03"}, {"C", "F", "A", "B", "2004-02-03"}}
	tree := "0 HEAD\n1 GEDC\n2 VERS 5.5.1\n1 CHAR UTF-8\n"
	for k := range 4 {
		tree += fmt.Sprintf("0 @I%d@ INDI\n1 SEX F\n", k)
	}
	const more = "0 @I4@ INDI\n1 SEX F\n"
	longer := append(slices.Clone(rows), []any{"D", "F", "A", "B", "2004-02-03"})
	for name, of := range map[string][2][]byte{
		"t.csv":  {inText(t, ",", nil, rows), inText(t, ",", nil, longer)},
		"t.xlsx": {inStream(t, rows), inStream(t, longer)},
		"t.ods":  {inODS(t, page{name: "Birds", rows: rows}), inODS(t, page{name: "Birds", rows: longer})},
		"t.ged":  {[]byte(tree + "0 TRLR\n"), []byte(tree + more + "0 TRLR\n")},
	} {
		for k, raw := range of {
			res, err := Import(t.Context(), fstest.MapFS{name: {Data: raw}}, name, Options{Today: asOf})
			if k == 0 {
				require.NoError(t, err, name)
				assert.NotZero(t, res.Report.RowsRead, name)
				continue
			}
			assert.ErrorContains(t, err, "more than 4 birds or rows", name)
			var faults *studbook.Faults
			require.ErrorAs(t, err, &faults, name)
			assert.Contains(t, faults.Findings[0].Help, "studbook.csv", name)
		}
	}
}
