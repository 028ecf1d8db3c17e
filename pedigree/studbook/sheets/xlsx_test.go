package sheets

import (
	"archive/zip"
	"bytes"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
)

// ample is more than the workbooks of these tests grow to.
var ample = Bounds{Unzipped: 1 << 27, Rows: 1 << 20, Columns: 16_384, Cells: 1 << 23}

// read reads all sheets of a workbook.
func read(t testing.TB, raw []byte) []Sheet {
	t.Helper()
	b, err := Open(raw, ample)
	require.NoError(t, err)
	all, err := b.Sheets()
	require.NoError(t, err)
	for k, s := range all {
		assert.Equal(t, b.Names[k], s.Name)
	}
	return all
}

func texts(cells []Cell) []string {
	out := make([]string, len(cells))
	for j, c := range cells {
		out[j] = c.Text
	}
	return out
}

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
		[2]string{"_rels/.rels", `<Relationships><Relationship Id="r1" Type="http://x/officeDocument" Target="book/workbook.xml"/></Relationships>`},
		[2]string{"book/workbook.xml", `<?xml version="1.0"?><!-- a remark with <c> --><x:workbook xmlns:x="m"><x:workbookPr/><x:sheets><x:sheet name="B &amp; C" r:id="a"/><x:sheet name="chart" r:id="z"/></x:sheets></x:workbook>`},
		[2]string{"book/_rels/workbook.xml.rels", `<Relationships><Relationship Id="a" Type="y/worksheet" Target="sheets/sheet1.xml"/><Relationship Id="s" Type="y/sharedStrings" Target="/book/s.xml"/><Relationship Id="t" Type="y/styles" Target="t.xml"/></Relationships>`},
		[2]string{"book/s.xml", `<sst><si><r><t>As</t></r><r><t xml:space="preserve">h</t></r><rPh><t>no</t></rPh></si><si><t>1&lt;2 &#233;</t></si></sst>`},
		[2]string{"book/t.xml", `<styleSheet><numFmts><numFmt numFmtId="164" formatCode="&quot;R-&quot;0000"/><numFmt numFmtId="165" formatCode="[$-407]d\.\ mmm\ yyyy;@"/><numFmt numFmtId="166" formatCode="00-000"/></numFmts><cellStyleXfs><xf numFmtId="14"/></cellStyleXfs><cellXfs><xf numFmtId="0"/><xf numFmtId="164"/><xf numFmtId="165"/><xf numFmtId="166"/><xf numFmtId="14"/></cellXfs></styleSheet>`},
		[2]string{"book/sheets/sheet1.xml", `<worksheet><sheetData><row r="2"><c r="B2" t="s"><v>0</v></c><c t="s"><v>1</v></c><c t="inlineStr"><is><t>in </t><t>place</t></is></c><c t="str"><f>A1&amp;B1</f><v>of &amp; formula</v></c></row>
<row r="4"><c r="A4" s="1"><v>42</v></c><c s="2"><v>43597.75</v></c><c s="3"><v>12345</v></c><c s="4"><v>60</v></c><c s="4"><v>59</v></c><c t="b"><v>1</v></c><c t="d"><v>2019-05-12T00:00:00</v></c><c><v>1.5E1</v></c><c t="e"><v>#N/A</v></c><c s="1"><v>123456</v></c><c/></row></sheetData><mergeCells><mergeCell ref="A4:A6"/></mergeCells></worksheet>`})
	all := read(t, raw)
	require.Len(t, all, 1)
	s := all[0]
	assert.Equal(t, "B & C", s.Name)
	require.Len(t, s.Rows, 2)
	assert.Equal(t, []string{"", "Ash", "1<2 é", "in place", "of & formula"}, texts(s.Rows[0].Cells))
	assert.Equal(t, 2, s.Rows[0].Line)
	// Day 60 of the count from 1900 is a 29 February that never was.
	assert.Equal(t, []string{"R-0042", "2019-05-12", "12-345", "1900-02-28", "1900-02-28", "TRUE", "2019-05-12", "15", "#N/A", "R-123456"}, texts(s.Rows[1].Cells))
}

// What stands in the cells of an OpenDocument spreadsheet besides plain text, and one that is
// locked: by the standard, ISO/IEC 26300.
func TestCellsOfSpreadsheets(t *testing.T) {
	all := read(t, zipped(t, [2]string{"content.xml", `<o:spreadsheet><table:table table:name="T"><table:table-row>
<table:table-cell o:value-type="boolean" o:boolean-value="true"/><table:table-cell o:value-type="boolean" o:boolean-value="false"/><table:table-cell o:value-type="boolean" o:boolean-value="true"><text:p>WAHR</text:p></table:table-cell>
<table:table-cell><text:p>a<text:tab/>b<text:line-break/>c</text:p></table:table-cell><table:table-cell><text:p><![CDATA[1 < 2 &amp; 3]]></text:p></table:table-cell>
<table:table-cell><text:p>&#x41;&#66;&gt;&quot;&apos;&unknown;</text:p></table:table-cell><table:table-cell o:value-type="string" o:string-value="A&amp;B"/>
<table:table-cell o:value-type="date" o:date-value="2019-05-12T10:00:00"><text:p>12. Mai</text:p></table:table-cell>
</table:table-row></table:table></o:spreadsheet>`}))
	require.Len(t, all, 1)
	assert.Equal(t, []string{"TRUE", "FALSE", "WAHR", "a b c", "1 < 2 &amp; 3", `AB>"'`, "A&B", "2019-05-12"}, texts(all[0].Rows[0].Cells))

	_, err := Open(zipped(t, [2]string{"META-INF/manifest.xml", "<manifest><encryption-data/></manifest>"}, [2]string{"content.xml", "??"}), ample)
	assert.ErrorIs(t, err, ErrLocked)
	_, err = Open(zipped(t, [2]string{"content.xml", "<o:text/>"}), ample)
	assert.ErrorIs(t, err, ErrNoSheets)
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
			x := &xlsx{most: ample}
			require.NoError(t, x.readStrings([]byte("<sst><si>"+letters+"</si></sst>")))
			s, err := x.sheet("Birds", []byte(`<sheetData><row r="1">`+cell+`<c r="B1" t="inlineStr"><is>`+run("<strike/>", "x")+`</is></c></row></sheetData>`))
			require.NoError(t, err)
			assert.Equal(t, "A1", s.Rows[0].Cells[0].Text)
			assert.Equal(t, struck, s.Rows[0].Struck, letters+" "+cell)
		}
	}
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
	p, err := openParts(out.Bytes(), ample.Unzipped)
	require.NoError(t, err)
	raw, err := p.read("xl/worksheets/sheet1.xml")
	require.NoError(t, err)
	upper, lower := halves(raw)
	require.NotEmpty(t, lower)
	assert.InDelta(t, 1, float64(len(lower))/float64(len(upper)), 0.01)

	x := xlsx{most: ample}
	got, err := x.sheet("Sheet1", raw)
	require.NoError(t, err)
	whole := &builder{Sheet: Sheet{Name: "Sheet1"}, most: ample}
	r, err := x.rows(whole, raw)
	require.NoError(t, err)
	want := whole.finish(r.merged)
	assert.Len(t, got.Rows, 16_000)
	assert.Len(t, got.Wide, 2)
	assert.Len(t, got.Unstored, 16_000)
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

// A row stands on a colour where its cells are filled with one that is not white.
func TestColouredRows(t *testing.T) {
	x := &xlsx{}
	x.readLooks([]byte(`<styleSheet><fills><fill><patternFill patternType="none"/></fill><fill><patternFill patternType="solid"><fgColor rgb="FFFFFFFF"/></patternFill></fill><fill><patternFill patternType="solid"><fgColor rgb="FFBFBFBF"/></patternFill></fill></fills>` +
		`<cellXfs><xf fillId="0"/><xf fillId="1"/><xf fillId="2"/></cellXfs></styleSheet>`))
	assert.Equal(t, []look{{}, {}, {coloured: true}}, x.looks)
	b := &builder{most: ample}
	_, err := x.rows(b, []byte(`<worksheet><sheetData><row r="1"><c r="A1" s="2"><v>1</v></c><c r="B1"><v>2</v></c></row><row r="2"><c r="A2"><v>1</v></c><c r="B2" s="2"><v>2</v></c></row></sheetData></worksheet>`))
	assert.NoError(t, err)
	assert.Equal(t, []bool{true, false}, []bool{b.Rows[0].Coloured, b.Rows[1].Coloured})
}

// Cells that are drawn as one have the value of the first of them where it is asked for.
func TestFill(t *testing.T) {
	raw := zipped(t, [2]string{"mimetype", "application/vnd.oasis.opendocument.spreadsheet"}, [2]string{"content.xml", `<o:spreadsheet><table:table table:name="T">
<table:table-row><table:table-cell table:number-columns-spanned="2" table:number-rows-spanned="2"><text:p>a</text:p><text:p>b</text:p></table:table-cell><table:covered-table-cell><text:p>hidden</text:p></table:covered-table-cell><table:table-cell table:number-columns-repeated="2"><text:p>x<text:s text:c="2"/>y</text:p></table:table-cell></table:table-row>
<table:table-row table:number-rows-repeated="2"><table:covered-table-cell table:number-columns-repeated="2"/><table:table-cell office:value-type="float" office:value="7"/></table:table-row>
</table:table></o:spreadsheet>`})
	all := read(t, raw)
	assert.Equal(t, []Span{{0, 1, 1, 2}}, all[0].Wide)
	assert.Equal(t, []string{"a\nb", "", "x  y", "x  y"}, texts(all[0].Rows[0].Cells), "as it is stored")
	require.NoError(t, all[0].Fill(ample))
	require.Len(t, all[0].Rows, 3)
	assert.Equal(t, []string{"a\nb", "a\nb", "x  y", "x  y"}, texts(all[0].Rows[0].Cells))
	assert.Equal(t, []string{"a\nb", "a\nb", "7"}, texts(all[0].Rows[1].Cells))
	assert.Equal(t, []string{"", "", "7"}, texts(all[0].Rows[2].Cells))
}

// TestUnstored: by the standard's own writing of cells; programs differ in it.
func TestUnstored(t *testing.T) {
	for cells, want := range map[string][]Place{
		`<row r="4"><c r="D4"><f>A2</f></c><c r="E4"><f>A2</f><v>7</v></c></row>`:                      {{4, 3}},
		`<row r="4"><c r="D4"><f>A2</f><v></v></c><c r="E4"><f>A2</f><v/></c></row>`:                   {{4, 3}, {4, 4}},
		`<row r="4"><c r="D4" t="str"><f>A2</f><v></v></c><c r="E4" t="str"><f>A2</f></c></row>`:       {{4, 4}},
		`<row><c><v>1</v></c><c/></row><row><c><v>f></v></c><c s="1"><f t="shared" si="0"/></c></row>`: {{2, 1}},
		`<x:row r="2"><x:c r="AB2"><x:f>A2</x:f></x:c></x:row>`:                                        {{2, 27}},
		`<row r="4"><c r="D4"><v>1</v></c><c r="E4" t="inlineStr"><is><t>f></t></is></c></row>`:        nil,
	} {
		s, err := (&xlsx{most: ample}).sheet("S", []byte("<sheetData>"+cells+"</sheetData>"))
		require.NoError(t, err)
		assert.Equal(t, want, s.Unstored, cells)
	}
}

// TestBreaksOff: what is missing of a workbook that breaks off would be lost without a word.
func TestBreaksOff(t *testing.T) {
	const sheet = `<worksheet><sheetData><row r="1"><c r="A1" t="s"><v>0</v></c></row></sheetData></worksheet>`
	x := xlsx{most: ample}
	for n := range sheet {
		_, err := x.sheet("S", []byte(sheet[:n]))
		assert.Equal(t, n > len("<worksheet><sheetData>")-1 && n < len(sheet)-len("</worksheet>"), err != nil, sheet[:n])
	}
	assert.Error(t, x.readStrings([]byte("<sst><si><t>a</t></si><si>")))
	_, err := Open(zipped(t, [2]string{"content.xml", "<table name='T'><table-row><table-cell><p>a</p></table-cell></table-row></table><table><table-row>"}), ample)
	assert.Equal(t, errBreaksOff, err)
}

// TestRowsOutOfOrder: rows stand in the order of their lines, and two of one line are two.
func TestRowsOutOfOrder(t *testing.T) {
	row := func(line int, text string) string {
		return fmt.Sprintf(`<row r="%d"><c t="str"><v>%s</v></c></row>`, line, text)
	}
	s, err := (&xlsx{most: ample}).sheet("S", []byte("<sheetData>"+row(3, "c")+row(2, "a")+row(2, "b")+row(1, "\xe9")+"</sheetData>"))
	require.NoError(t, err)
	var got []string
	for _, r := range s.Rows {
		got = append(got, fmt.Sprint(r.Line, texts(r.Cells)))
	}
	assert.Equal(t, []string{"1 [\uFFFD]", "2 [a]", "2 [b]", "3 [c]"}, got)

	_, err = Open(zipped(t, [2]string{"xl/workbook.xml", `<sheets><sheet name="S" id="a"/></sheets>`}), ample)
	assert.Equal(t, ErrNoSheets, err, "nobody says where the sheet is")
	b, err := Open(zipped(t, [2]string{"xl/workbook.xml", `<sheets><sheet name="S" id="a"/></sheets>`}, [2]string{"xl/_rels/workbook.xml.rels", `<Relationship Id="a" Target="sheet.xml"/>`}), ample)
	require.NoError(t, err)
	_, err = b.Sheets()
	assert.Equal(t, errMissing, err)
}

// What a part says that it unpacks to is believed where it is too much, and nothing is unpacked;
// a part that is read again does not count again.
func TestPartsWithinBounds(t *testing.T) {
	raw := zipped(t, [2]string{"a", "12345678"}, [2]string{"b", "1"})
	p, err := openParts(raw, 7)
	require.NoError(t, err)
	_, err = p.read("a")
	assert.ErrorIs(t, err, ErrTooLarge)
	p, err = openParts(raw, 8)
	require.NoError(t, err)
	for range 2 {
		got, err := p.read("a")
		require.NoError(t, err)
		assert.Equal(t, "12345678", string(got))
	}
	_, err = p.read("b")
	assert.ErrorIs(t, err, ErrTooLarge)
}

// TestLetters: the standard's examples of letters that XML cannot hold.
func TestLetters(t *testing.T) {
	for written, want := range map[string]string{
		"a_x000D_b": "a\rb", "_x005F_x0041_": "_x0041_", "_x0041": "_x0041", "_xZZZZ_": "_xZZZZ_", "_x": "_x", "x_x00e9__x00E9_": "xéé", "B_x1": "B_x1",
	} {
		assert.Equal(t, want, letters(written), written)
	}
}

// TestShowsDate: 9 is 0%, 14 a date, 20 and 46 times of day, 49 text (ECMA-376 part 1, 18.8.30).
func TestShowsDate(t *testing.T) {
	for id, want := range map[int]bool{0: false, 2: false, 9: false, 14: true, 17: true, 22: true, 46: false, 49: false} {
		assert.Equal(t, want, ShowsDate(id, ""), id)
	}
	for code, want := range map[string]bool{
		"yyyy-mm-dd": true, "D/M": true, `[$-807]tt\.mm\.yy`: true, "0.00": false, `0 "days"`: false, `0.0\d`: false, "[Red]0": false, "h:mm": false,
	} {
		assert.Equal(t, want, ShowsDate(164, code), code)
	}
}

// TestCountedDay: 43597 is 2019-05-12 in any spreadsheet, and 42135 where days are counted from 1904.
func TestCountedDay(t *testing.T) {
	for _, x := range []struct {
		n        float64
		from1904 bool
		want     string // "" for no day
	}{
		{43597, false, "2019-05-12"}, {43597.99, false, "2019-05-12"}, {42135, true, "2019-05-12"}, {0, true, "1904-01-01"}, {0.5, false, ""}, {1, false, "1900-01-01"},
		{59, false, "1900-02-28"}, {61, false, "1900-03-01"}, {-1, false, ""}, {2958465, false, "9999-12-31"}, {2958466, false, ""}, {math.NaN(), false, ""},
	} {
		d, ok := CountedDay(x.n, x.from1904)
		assert.Equal(t, x.want != "", ok, "%g", x.n)
		if ok {
			assert.Equal(t, x.want, DayCell(d).Text)
		}
	}
	d, ok := isoDay("2019-05-12T10:00:00")
	assert.True(t, ok)
	assert.Equal(t, Cell{Text: "2019-05-12", Num: float64(Epoch(false) + 43597), Kind: Day}, DayCell(d))
	for _, s := range []string{"", "2019-5-12", "2019-02-30", "0000-01-01", "12.05.2019"} {
		_, ok := isoDay(s)
		assert.False(t, ok, s)
	}
}

// What is shown and what is stored of a number.
func TestStored(t *testing.T) {
	x := xlsx{looks: []look{{}, lookOf("0000"), lookOf("yyyy"), lookOf("0.00")}}
	for _, c := range []struct {
		style         int
		value         string
		shown, stored string
	}{{0, "42", "42", "42"}, {1, "42", "0042", "42"}, {2, "43597", "2019-05-12", "2019-05-12"}, {3, "0.69999999999999996", "0.7", "0.7"}, {0, "1.5E1", "15", "15"}, {0, "985112001234567", "985112001234567", "985112001234567"}, {0, " ", "", ""}} {
		got := x.cell("", c.style, []byte(c.value), nil)
		assert.Equal(t, c.shown, got.Text, c.value)
		assert.Equal(t, c.stored, got.Stored(), c.value)
		assert.Equal(t, c.shown == c.stored, got.Plain())
	}
	assert.Equal(t, "AB12:AZ14", Span{27, 12, 51, 14}.String())
}
