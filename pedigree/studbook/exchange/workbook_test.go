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
	"github.com/xuri/excelize/v2"

	"pairwright/pedigree/studbook"
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

// A workbook as a program other than ours may write it: names with prefixes,
// strings in place, formulas with their last value, reading aids, references to
// characters, cells without names, and formats with characters of their own.
func TestUnusualWorkbook(t *testing.T) {
	raw := zipped(t,
		[2]string{"_rels/.rels", `<Relationships><Relationship Id="r1" Type="http://x/officeDocument" Target="book/main.xml"/></Relationships>`},
		[2]string{"book/main.xml", `<?xml version="1.0"?><!-- a remark with <c> --><x:workbook xmlns:x="m"><x:workbookPr/><x:sheets><x:sheet name="B &amp; C" r:id="a"/><x:sheet name="chart" r:id="z"/></x:sheets></x:workbook>`},
		[2]string{"book/_rels/main.xml.rels", `<Relationships><Relationship Id="a" Type="y/worksheet" Target="sheets/sheet1.xml"/><Relationship Id="s" Type="y/sharedStrings" Target="/book/s.xml"/><Relationship Id="t" Type="y/styles" Target="t.xml"/></Relationships>`},
		[2]string{"book/s.xml", `<sst><si><r><t>As</t></r><r><t xml:space="preserve">h</t></r><rPh><t>no</t></rPh></si><si><t>1&lt;2 &#233;</t></si></sst>`},
		[2]string{"book/t.xml", `<styleSheet><numFmts><numFmt numFmtId="164" formatCode="&quot;R-&quot;0000"/><numFmt numFmtId="165" formatCode="[$-407]d\.\ mmm\ yyyy;@"/><numFmt numFmtId="166" formatCode="00-000"/></numFmts><cellStyleXfs><xf numFmtId="14"/></cellStyleXfs><cellXfs><xf numFmtId="0"/><xf numFmtId="164"/><xf numFmtId="165"/><xf numFmtId="166"/><xf numFmtId="14"/></cellXfs></styleSheet>`},
		[2]string{"book/sheets/sheet1.xml", `<worksheet><sheetData><row r="2"><c r="B2" t="s"><v>0</v></c><c t="s"><v>1</v></c><c t="inlineStr"><is><t>in </t><t>place</t></is></c><c t="str"><f>A1&amp;B1</f><v>of &amp; formula</v></c></row>
<row r="4"><c r="A4" s="1"><v>42</v></c><c s="2"><v>43597.75</v></c><c s="3"><v>12345</v></c><c s="4"><v>60</v></c><c s="4"><v>59</v></c><c t="b"><v>1</v></c><c t="d"><v>2019-05-12T00:00:00</v></c><c><v>1.5E1</v></c><c t="e"><v>#N/A</v></c><c s="1"><v>123456</v></c><c/></row></sheetData><mergeCells><mergeCell ref="A4:A6"/></mergeCells></worksheet>`})
	p, err := openParts(raw)
	require.NoError(t, err)
	sheets, err := readXLSX(p)
	require.NoError(t, err)
	require.Len(t, sheets, 1)
	s := sheets[0]
	assert.Equal(t, "B & C", s.name)
	require.Len(t, s.rows, 2)
	assert.Equal(t, []string{"", "Ash", "1<2 é", "in place", "of & formula"}, texts(s.rows[0].cells))
	assert.Equal(t, 2, s.rows[0].line)
	// Day 60 of the count from 1900 is a 29 February that never was.
	assert.Equal(t, []string{"R-0042", "2019-05-12", "12-345", "1900-02-28", "1900-02-28", "TRUE", "2019-05-12", "15", "#N/A", "R-123456"}, texts(s.rows[1].cells))
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

	raw = zipped(t, [2]string{"mimetype", "application/vnd.oasis.opendocument.spreadsheet"}, [2]string{"content.xml", `<o:spreadsheet><table:table table:name="T">
<table:table-row><table:table-cell table:number-columns-spanned="2" table:number-rows-spanned="2"><text:p>a</text:p><text:p>b</text:p></table:table-cell><table:covered-table-cell><text:p>hidden</text:p></table:covered-table-cell><table:table-cell table:number-columns-repeated="2"><text:p>x<text:s text:c="2"/>y</text:p></table:table-cell></table:table-row>
<table:table-row table:number-rows-repeated="2"><table:covered-table-cell table:number-columns-repeated="2"/><table:table-cell office:value-type="float" office:value="7"/></table:table-row>
</table:table></o:spreadsheet>`})
	p, err := openParts(raw)
	require.NoError(t, err)
	sheets, err := readODS(p)
	require.NoError(t, err)
	require.Len(t, sheets[0].rows, 3)
	assert.Equal(t, []string{"a\nb", "a\nb", "x  y", "x  y"}, texts(sheets[0].rows[0].cells))
	assert.Equal(t, []string{"a\nb", "a\nb", "7"}, texts(sheets[0].rows[1].cells))
	assert.Equal(t, []string{"", "", "7"}, texts(sheets[0].rows[2].cells))
}

// What stands in the cells of an OpenDocument spreadsheet besides plain text, and one that is
// locked: by the standard, ISO/IEC 26300.
func TestCellsOfSpreadsheets(t *testing.T) {
	ods := func(files ...[2]string) ([]sheet, error) {
		p, err := openParts(zipped(t, files...))
		require.NoError(t, err)
		return readODS(p)
	}
	sheets, err := ods([2]string{"content.xml", `<o:spreadsheet><table:table table:name="T"><table:table-row>
<table:table-cell o:value-type="boolean" o:boolean-value="true"/><table:table-cell o:value-type="boolean" o:boolean-value="false"/><table:table-cell o:value-type="boolean" o:boolean-value="true"><text:p>WAHR</text:p></table:table-cell>
<table:table-cell><text:p>a<text:tab/>b<text:line-break/>c</text:p></table:table-cell><table:table-cell><text:p><![CDATA[1 < 2 &amp; 3]]></text:p></table:table-cell>
<table:table-cell><text:p>&#x41;&#66;&gt;&quot;&apos;&unknown;</text:p></table:table-cell><table:table-cell o:value-type="string" o:string-value="A&amp;B"/>
<table:table-cell o:value-type="date" o:date-value="2019-05-12T10:00:00"><text:p>12. Mai</text:p></table:table-cell>
</table:table-row></table:table></o:spreadsheet>`})
	require.NoError(t, err)
	require.Len(t, sheets, 1)
	assert.Equal(t, []string{"TRUE", "FALSE", "WAHR", "a b c", "1 < 2 &amp; 3", `AB>"'`, "A&B", "2019-05-12"}, texts(sheets[0].rows[0].cells))

	_, err = ods([2]string{"META-INF/manifest.xml", "<manifest><encryption-data/></manifest>"}, [2]string{"content.xml", "??"})
	assert.ErrorIs(t, err, errLocked)
	_, err = ods([2]string{"content.xml", "<o:text/>"})
	assert.ErrorIs(t, err, errNoSheets)
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
	assert.ErrorContains(t, s.openZip(raw), "too big")
	p, err := openParts(zipped(t, [2]string{"a", "12345678"}))
	require.NoError(t, err)
	p.left = 7
	_, err = p.read("a")
	assert.ErrorIs(t, err, errTooBig)
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
		for _, r := range s.rows {
			got = append(got, texts(r.cells))
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

// TestLettersStruckThrough: where all letters of an id are struck through, the cell is, be they
// shared or its own.
func TestLettersStruckThrough(t *testing.T) {
	run := func(strike, text string) string { return "<r><rPr>" + strike + "</rPr><t>" + text + "</t></r>" }
	for letters, struck := range map[string]bool{
		run("<strike/>", "A") + run(`<strike val="1"/>`, "1"): true,
		run("<strike/>", "A") + run("", "1"):                  false,
		run(`<strike val="0"/>`, "A1"):                        false,
		"<t>A1</t>":                                           false,
	} {
		for _, cell := range []string{`<c r="A1" t="s"><v>0</v></c>`, `<c r="A1" t="inlineStr"><is>` + letters + `</is></c>`} {
			x := &xlsx{}
			x.readStrings([]byte("<sst><si>" + letters + "</si></sst>"))
			s, err := x.sheet("Birds", []byte(`<sheetData><row r="1">`+cell+`<c r="B1" t="inlineStr"><is>`+run("<strike/>", "x")+`</is></c></row></sheetData>`))
			require.NoError(t, err)
			assert.Equal(t, "A1", s.rows[0].cells[0].text)
			assert.Equal(t, struck, s.rows[0].struck, letters+" "+cell)
		}
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
	_, err := Import(t.Context(), memory{{"b.csv", []byte("Ring,Sex,Sire,Dam\nA,m,,\n" + strings.Repeat("x", mostLetters+1))}}, "b.csv", Options{Today: asOf, FileDay: asOf})
	assert.ErrorContains(t, err, "line 3 has a cell of 131,073 letters")
	raw := zipped(t, [2]string{"mimetype", "application/vnd.oasis.opendocument.spreadsheet"}, [2]string{"content.xml", `<table:table table:name="Birds"><table:table-row><table:table-cell office:value-type="string"><text:p>` + strings.Repeat("x", mostLetters+1) + `</text:p></table:table-cell></table:table-row></table:table>`})
	_, err = Import(t.Context(), memory{{"b.ods", raw}}, "b.ods", Options{Today: asOf, FileDay: asOf})
	assert.ErrorContains(t, err, "the workbook is too big")
}

// A long sheet that is read in halves is the one that is read in one go.
func TestHalvesOfSheet(t *testing.T) {
	book := excelize.NewFile()
	defer book.Close()
	w, err := book.NewStreamWriter("Sheet1")
	require.NoError(t, err)
	struck, err := book.NewStyle(&excelize.Style{Font: &excelize.Font{Strike: true}})
	require.NoError(t, err)
	for i := range 20_000 {
		row := []any{fmt.Sprintf("B%05d", i), "a < b & c", i, nil, excelize.Cell{Formula: "A1"}}
		if i%1000 == 7 {
			row[0] = excelize.Cell{Value: "gone", StyleID: struck}
		}
		if i%5 != 3 { // lines that are not there
			require.NoError(t, w.SetRow(fmt.Sprintf("A%d", i+1), row))
		}
	}
	require.NoError(t, w.MergeCell("A12", "B14"))
	require.NoError(t, w.MergeCell("B18001", "C18002"))
	require.NoError(t, w.Flush())
	var out bytes.Buffer
	require.NoError(t, book.Write(&out))
	p, err := openParts(out.Bytes())
	require.NoError(t, err)
	raw, err := p.read("xl/worksheets/sheet1.xml")
	require.NoError(t, err)
	upper, lower := halves(raw)
	require.NotEmpty(t, lower)
	assert.InDelta(t, 1, float64(len(lower))/float64(len(upper)), 0.01)

	var x xlsx
	got, err := x.sheet("Sheet1", raw)
	require.NoError(t, err)
	whole := &builder{sheet: sheet{name: "Sheet1"}}
	merged, err := x.rows(whole, raw)
	require.NoError(t, err)
	want, err := whole.finish(merged)
	require.NoError(t, err)
	assert.Len(t, got.rows, 16_000)
	assert.Len(t, got.wide, 2)
	assert.Len(t, got.unstored, 16_000)
	assert.Equal(t, want, got)

	for name, raw := range map[string][]byte{
		"short":                 raw[:1000],
		"text that may be tags": bytes.Replace(raw, []byte("<row"), []byte("<!-- <row --><row"), 1),
		"rows without numbers":  bytes.ReplaceAll(raw, []byte("<row r="), []byte("<row s=")),
	} {
		_, lower := halves(raw)
		assert.Nil(t, lower, name)
	}
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

// A row stands on a colour where its cells are filled with one that is not white.
func TestColouredRows(t *testing.T) {
	x := &xlsx{}
	x.readLooks([]byte(`<styleSheet><fills><fill><patternFill patternType="none"/></fill><fill><patternFill patternType="solid"><fgColor rgb="FFFFFFFF"/></patternFill></fill><fill><patternFill patternType="solid"><fgColor rgb="FFBFBFBF"/></patternFill></fill></fills>` +
		`<cellXfs><xf fillId="0"/><xf fillId="1"/><xf fillId="2"/></cellXfs></styleSheet>`))
	assert.Equal(t, []look{{}, {}, {coloured: true}}, x.looks)
	b := &builder{}
	_, err := x.rows(b, []byte(`<worksheet><sheetData><row r="1"><c r="A1" s="2"><v>1</v></c><c r="B1"><v>2</v></c></row><row r="2"><c r="A2"><v>1</v></c><c r="B2" s="2"><v>2</v></c></row></sheetData></worksheet>`))
	assert.NoError(t, err)
	assert.Equal(t, []bool{true, false}, []bool{b.rows[0].coloured, b.rows[1].coloured})
}
