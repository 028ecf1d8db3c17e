package sheets

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
)

// readsOrSays reads a workbook within narrow bounds: there must be an error, or sheets within
// them, the same each time.
func readsOrSays(t *testing.T, raw []byte) {
	most := Bounds{Unzipped: 1 << 20, Rows: 200, Columns: 50, Cells: 2000}
	var before []Sheet
	for again := range 2 {
		b, err := Open(raw, most)
		if err != nil {
			continue
		}
		all, err := b.Sheets()
		if err != nil {
			continue
		}
		for k := range all {
			held(t, &all[k], most)
			stored := all[k]
			stored.Rows = slices.Clone(stored.Rows)
			if all[k].Fill(most) == nil {
				held(t, &all[k], most)
				assert.Len(t, all[k].Rows, len(stored.Rows))
			}
		}
		if again == 1 {
			assert.Equal(t, before, all)
		}
		before = all
	}
}

// held checks that a sheet is within bounds and in order.
func held(t *testing.T, s *Sheet, most Bounds) {
	filled, cells, line := 0, 0, 0
	for _, r := range s.Rows {
		assert.GreaterOrEqual(t, r.Line, max(line, 1))
		line, cells = r.Line, cells+len(r.Cells)
		assert.LessOrEqual(t, len(r.Cells), most.Columns)
		if len(r.Cells) > 0 {
			filled++
			assert.NotZero(t, r.Cells[len(r.Cells)-1].Kind, "no row ends in blanks")
		}
		for _, c := range r.Cells {
			assert.Equal(t, c.Kind == Blank, c == Cell{})
			assert.False(t, c.Kind == Words && c.Text == "")
			if c.Kind == Day {
				assert.Equal(t, c, DayCell(int(c.Num)))
			}
		}
	}
	assert.LessOrEqual(t, filled, most.Rows)
	assert.LessOrEqual(t, cells, most.Cells)
}

// FuzzWorkbook changes what is inside a workbook, which changes to the packed
// bytes would never reach.
func FuzzWorkbook(f *testing.F) {
	f.Add([]byte(`<worksheet><sheetData><row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="inlineStr"><is><t>sire</t></is></c><c r="C1" t="str"><v>dam</v></c><c r="D1" t="str"><v>hatched</v></c></row><row r="3"><c r="A3" s="1"><v>7</v></c><c r="D3" s="2"><v>36526.5</v></c></row></sheetData><mergeCells><mergeCell ref="A3:C3"/></mergeCells></worksheet>`),
		[]byte(`<sst><si><t>id</t></si><si><r><t>a</t></r><rPh><t>b</t></rPh></si></sst>`),
		[]byte(`<styleSheet><numFmts><numFmt numFmtId="170" formatCode="&quot;R-&quot;000"/></numFmts><cellXfs><xf numFmtId="0"/><xf numFmtId="170"/><xf numFmtId="14"/></cellXfs></styleSheet>`))
	f.Fuzz(func(t *testing.T, sheet, words, styles []byte) {
		readsOrSays(t, zipped(t,
			[2]string{"xl/workbook.xml", `<workbook><sheets><sheet name="Birds" r:id="a"/></sheets></workbook>`},
			[2]string{"xl/_rels/workbook.xml.rels", `<Relationships><Relationship Id="a" Type="x/worksheet" Target="sheet1.xml"/><Relationship Id="b" Type="x/sharedStrings" Target="words.xml"/><Relationship Id="c" Type="x/styles" Target="styles.xml"/></Relationships>`},
			[2]string{"xl/sheet1.xml", string(sheet)}, [2]string{"xl/words.xml", string(words)}, [2]string{"xl/styles.xml", string(styles)}))
	})
}

// FuzzSpreadsheet does the same for OpenDocument.
func FuzzSpreadsheet(f *testing.F) {
	f.Add([]byte(`<office:spreadsheet><table:table table:name="Birds"><table:table-row><table:table-cell><text:p>id</text:p></table:table-cell><table:table-cell table:number-columns-repeated="2"><text:p>sire</text:p></table:table-cell><table:table-cell office:value-type="date" office:date-value="2001-02-03"><text:p>x</text:p></table:table-cell></table:table-row><table:table-row table:number-rows-repeated="3"><table:table-cell table:number-columns-spanned="2" office:value-type="float" office:value="7"/><table:covered-table-cell/></table:table-row></table:table></office:spreadsheet>`))
	f.Fuzz(func(t *testing.T, content []byte) {
		readsOrSays(t, zipped(t, [2]string{"mimetype", "application/vnd.oasis.opendocument.spreadsheet"}, [2]string{"content.xml", string(content)}))
	})
}
