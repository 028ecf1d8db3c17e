package studbook

import (
	"bytes"
	"strings"
	"testing"
	"testing/fstest"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
	"golang.org/x/text/encoding/charmap"
)

// rewriter opens a folder with one studbook.
func rewriter(t testing.TB, name string, raw []byte) *Rewriter {
	t.Helper()
	w, err := NewRewriter(t.Context(), fstest.MapFS{name: {Data: raw}}, name, Options{})
	require.NoError(t, err)
	return w
}

// wide writes a text in UTF-16 with a byte order mark.
func wide(text string, big bool) []byte {
	var b bytes.Buffer
	for _, u := range utf16.Encode([]rune("\uFEFF" + text)) {
		if big {
			b.Write([]byte{byte(u >> 8), byte(u)})
		} else {
			b.Write([]byte{byte(u), byte(u >> 8)})
		}
	}
	return b.Bytes()
}

func latin(t testing.TB, text string) []byte {
	raw, err := charmap.Windows1252.NewEncoder().Bytes([]byte(text))
	require.NoError(t, err)
	return raw
}

// TestRewriteKeepsTheRest changes one cell and adds one row in files as
// spreadsheets and people write them; all else stays, byte for byte.
func TestRewriteKeepsTheRest(t *testing.T) {
	for _, x := range []struct{ name, before, after string }{
		{"plain", "id,sex,sire,dam,name\nA,F,,,x\nB,M,,,\n", "id,sex,sire,dam,name\nA,F,,,Käthe\nB,M,,,\nC,U,,,\n"},
		{"remarks, blank lines, a column of its own", "# mine\n\nid,sex,sire,dam,name,Käfig\n# a remark\n A , F,,, x ,\"7\"\n\n,,,,,\nB,M,,,,8\n# the end\n",
			"# mine\n\nid,sex,sire,dam,name,Käfig\n# a remark\n A , F,,, Käthe,\"7\"\n\n,,,,,\nB,M,,,,8\n# the end\nC,U,,,,\n"},
		{"semicolons, no end of the last line", "id;sex;sire;dam;name\r\nA;F;;;x\r\nB;M;\"A=0,5; C=0,5\";;", "id;sex;sire;dam;name\r\nA;F;;;Käthe\r\nB;M;\"A=0,5; C=0,5\";;\r\nC;U;;;"},
		{"tabs, a title above as a remark", "#t\nname\tid\tsex\tsire\tdam\n\tA\tF\t\t\nx y\tB\tM\t\t\n", "#t\nname\tid\tsex\tsire\tdam\nKäthe\tA\tF\t\t\nx y\tB\tM\t\t\n\tC\tU\t\t\n"},
		{"all in quotation marks", "\"id\",\"sex\",\"sire\",\"dam\",\"name\"\n\"A\",\"F\",\"\",\"\",\"x \"\"y\"\"\"\n", "\"id\",\"sex\",\"sire\",\"dam\",\"name\"\n\"A\",\"F\",\"\",\"\",\"Käthe\"\n\"C\",\"U\",\"\",\"\",\"\"\n"},
		{"a cell of two lines, a short row", "id,sex,sire,dam,notes,name\nA,F,,,\"one\ntwo\"\nB,M,,,,y\n", "id,sex,sire,dam,notes,name\nA,F,,,\"one\ntwo\",Käthe\nB,M,,,,y\nC,U,,,,\n"},
		{"the delimiter in a line of its own", "sep=;\r\nid;sex;sire;dam;name\r\nA;F;;;\r\n", "sep=;\r\nid;sex;sire;dam;name\r\nA;F;;;Käthe\r\nC;U;;;\r\n"},
		{"names in capitals", "ID,Sex,Sire,Dam,NAME\nA,F,,,\n", "ID,Sex,Sire,Dam,NAME\nA,F,,,Käthe\nC,U,,,\n"},
	} {
		for code, bytesOf := range map[string]func(string) []byte{
			"UTF-8":                   func(s string) []byte { return []byte(s) },
			"UTF-8 with a mark":       func(s string) []byte { return []byte("\uFEFF" + s) },
			"UTF-16 little endian":    func(s string) []byte { return wide(s, false) },
			"UTF-16 big endian":       func(s string) []byte { return wide(s, true) },
			"UTF-16 without a mark":   func(s string) []byte { return wide(s, false)[2:] },
			"Windows-1252":            func(s string) []byte { return latin(t, s+strings.Repeat("# für Élise\n", 1)) },
			"old Macintosh line ends": func(s string) []byte { return []byte(strings.NewReplacer("\r\n", "\r", "\n", "\r").Replace(s)) },
		} {
			before, after := bytesOf(x.before), bytesOf(x.after)
			if code == "Windows-1252" { // it needs a letter of its own before the change, and that is a remark above
				before, after = latin(t, "# für Élise\n"+x.before), latin(t, "# für Élise\n"+x.after)
				if strings.HasPrefix(x.before, "sep=") {
					continue
				}
			}
			w := rewriter(t, "studbook.csv", before)
			s, err := w.Sheet("studbook.csv")
			require.NoError(t, err)
			require.NoError(t, s.Set(0, "name", " Käthe "))
			require.NoError(t, s.Append(map[string]string{"id": "C", "sex": "U", "origin": ""}))
			assert.Equal(t, "Käthe", s.Cell(0, "name"))
			assert.Equal(t, "C", s.Cell(s.Len()-1, "id"))
			files, edits, err := w.Rewrite()
			require.NoError(t, err, "%s in %s", x.name, code)
			require.Len(t, files, 1)
			assert.Equal(t, before, files[0].Before)
			assert.Equal(t, string(after), string(files[0].After), "%s in %s", x.name, code)
			assert.Len(t, edits, 2)
			assert.Equal(t, []CellEdit{{"name", s.t.cell(0, s.t.at["name"]), "Käthe"}}, edits[0].Cells)

			// And back by the rows.
			back := rewriter(t, "studbook.csv", files[0].After)
			for _, e := range edits {
				done, err := back.PutBack(e)
				require.NoError(t, err)
				assert.True(t, done)
			}
			files, _, err = back.Rewrite()
			require.NoError(t, err, "%s in %s", x.name, code)
			assert.Equal(t, string(before), string(files[0].After), "%s in %s", x.name, code)
		}
	}
}

func TestRewriteRefuses(t *testing.T) {
	var stuck *RewriteError
	set := func(raw []byte, column, value string) error {
		w := rewriter(t, "studbook.csv", raw)
		s, err := w.Sheet("studbook.csv")
		if err != nil {
			return err
		}
		if err := s.Set(0, column, value); err != nil {
			return err
		}
		_, _, err = w.Rewrite()
		return err
	}
	require.ErrorAs(t, set([]byte("id,sex,sire,dam\nA,F,,\n"), "name", "Käthe"), &stuck, "no such column")
	assert.Contains(t, stuck.Error(), "no column name")
	require.ErrorAs(t, set(latin(t, "id,sex,sire,dam,name\nA,F,,,Jürgen\n"), "name", "Łódź"), &stuck, "Windows-1252 has no Ł")
	assert.Contains(t, stuck.Help, "UTF-8")
	require.ErrorAs(t, set([]byte("id,sex,sire,dam,name\nA,F,,,x\nB,M,,,\"y\n"), "name", "z"), &stuck, "a quotation mark without its end")
	require.ErrorAs(t, set([]byte("some title\nA,F,,\n"), "sex", "M"), &stuck, "no heading")
	require.NoError(t, set([]byte("id,sex,sire,dam\nA,F,,\n"), "sex", "M"))
}

// TestRewriteNewFile: it is written as the studbook is.
func TestRewriteNewFile(t *testing.T) {
	for _, x := range []struct{ book, want string }{
		{"id,sex,sire,dam\nA,F,,\n", "id,since,until,reason,blocks,note\nA,2026,,\"lame, left\",,\n"},
		{"\uFEFFid;sex;sire;dam\r\nA;F;;\r\n", "\uFEFFid;since;until;reason;blocks;note\r\nA;2026;;lame, left;;\r\n"},
		{string(wide("id\tsex\tsire\tdam\nA\tF\t\t\n", true)), string(wide("id\tsince\tuntil\treason\tblocks\tnote\nA\t2026\t\tlame, left\t\t\n", true))},
	} {
		w := rewriter(t, "studbook.csv", []byte(x.book))
		s, err := w.Sheet("holds.csv")
		require.NoError(t, err)
		require.NoError(t, s.Append(map[string]string{"id": "A", "since": "2026", "reason": "lame, left"}))
		files, edits, err := w.Rewrite()
		require.NoError(t, err)
		assert.Equal(t, []Rewritten{{"holds.csv", nil, []byte(x.want)}}, files)
		assert.Equal(t, 2, edits[0].Line)
	}
}

func TestSetSetting(t *testing.T) {
	for _, x := range []struct{ before, after string }{
		{"current_to = \"2026-01-01\" # day\nhome = \"H\"\n", "current_to = \"2026-02-03\" # day\nhome = \"H\"\n"},
		{"home = 'H'\r\n  current_to='2026'\r\n", "home = 'H'\r\n  current_to='2026-02-03'\r\n"},
		{"current_to = 2026-01-01", "current_to = 2026-02-03"},
		{"home = \"H\"\n", ""},
	} {
		w, err := NewRewriter(t.Context(), folder("studbook.csv", "id,sex,sire,dam\n", "programme.toml", x.before), "studbook.csv", Options{})
		require.NoError(t, err)
		done, err := w.SetSetting("current_to", "2026-02-03")
		require.NoError(t, err)
		assert.Equal(t, x.after != "", done)
		files, _, err := w.Rewrite()
		require.NoError(t, err)
		if done {
			assert.Equal(t, x.after, string(files[0].After))
		}
	}
}

// TestRewriteWorkbook: other sheets, cells, styles, formulas and widths stay;
// dates are dates and counts numbers, as a person would have typed them.
func TestRewriteWorkbook(t *testing.T) {
	f := excelize.NewFile()
	defer f.Close()
	require.NoError(t, f.SetSheetName("Sheet1", "Studbook"))
	date, err := f.NewStyle(&excelize.Style{NumFmt: 14, Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"#FFEE00"}}})
	require.NoError(t, err)
	for line, row := range [][]any{
		{"id", "sex", "sire", "dam", "hatch_date", "death_date", "mine"}, {"A1", "F", nil, nil, 43000, nil, 1.5}, {"A2", "M", nil, nil, "2017", nil, nil},
	} {
		require.NoError(t, f.SetSheetRow("Studbook", "A"+string(rune('1'+line)), &row))
	}
	require.NoError(t, f.SetCellStyle("Studbook", "E2", "F3", date))
	require.NoError(t, f.SetCellFormula("Studbook", "G3", "G2*2"))
	require.NoError(t, f.SetColWidth("Studbook", "A", "B", 31))
	_, err = f.NewSheet("clutches")
	require.NoError(t, err)
	require.NoError(t, f.SetSheetRow("clutches", "A1", &[]any{"female", "male", "laid", "eggs"}))
	_, err = f.NewSheet("Other things")
	require.NoError(t, err)
	require.NoError(t, f.SetCellValue("Other things", "C7", "keep me"))
	require.NoError(t, f.AddComment("Other things", excelize.Comment{Cell: "C7", Text: "and me"}))
	var raw bytes.Buffer
	require.NoError(t, f.Write(&raw))

	w := rewriter(t, "b.xlsx", raw.Bytes())
	defer w.Close()
	birds, err := w.Sheet("studbook.csv")
	require.NoError(t, err)
	require.NoError(t, birds.Set(0, "death_date", "2026-03-04"))
	require.NoError(t, birds.Append(map[string]string{"id": "A3", "sex": "U", "dam": "A1", "hatch_date": "2026-03-01"}))
	clutches, err := w.Sheet("clutches.csv")
	require.NoError(t, err)
	require.NoError(t, clutches.Append(map[string]string{"female": "A1", "male": "A2", "laid": "2026-02-01", "eggs": "2"}))
	holds, err := w.Sheet("holds.csv")
	require.NoError(t, err)
	require.NoError(t, holds.Append(map[string]string{"id": "A2", "since": "2026", "reason": "lame"}))
	log, err := w.Sheet("changes.csv")
	require.NoError(t, err)
	require.NoError(t, log.Append(map[string]string{"change": "1"}))
	files, edits, err := w.Rewrite()
	require.NoError(t, err)
	require.Len(t, files, 2)
	assert.Equal(t, "changes.csv", files[0].Name, "what was written is told beside the workbook")
	assert.Equal(t, "b.xlsx", files[1].Name)
	assert.Equal(t, Edit{File: "b.xlsx[Studbook]", Line: 2, Before: "A1,F,,,2017-09-22,,1.5", After: "A1,F,,,2017-09-22,2026-03-04,1.5", Cells: []CellEdit{{"death_date", "", "2026-03-04"}}}, edits[0])

	g, err := excelize.OpenReader(bytes.NewReader(files[1].After))
	require.NoError(t, err)
	defer g.Close()
	cell := func(sheet, name string) string {
		v, err := g.GetCellValue(sheet, name, excelize.Options{RawCellValue: true})
		require.NoError(t, err)
		return v
	}
	assert.Equal(t, "46085", cell("Studbook", "F2"), "2026-03-04 as a spreadsheet counts days")
	assert.Equal(t, "46082", cell("Studbook", "E4"))
	assert.Equal(t, "keep me", cell("Other things", "C7"))
	comments, err := g.GetComments("Other things")
	require.NoError(t, err)
	require.Len(t, comments, 1)
	formula, err := g.GetCellFormula("Studbook", "G3")
	require.NoError(t, err)
	assert.Equal(t, "G2*2", formula)
	width, err := g.GetColWidth("Studbook", "B")
	require.NoError(t, err)
	assert.InDelta(t, 31, width, 1e-9)
	style, err := g.GetCellStyle("Studbook", "E2")
	require.NoError(t, err)
	for _, at := range []string{"F2", "E4"} {
		same, err := g.GetCellStyle("Studbook", at)
		require.NoError(t, err)
		assert.Equal(t, style, same, at)
	}
	c, err := Read(t.Context(), fstest.MapFS{"b.xlsx": {Data: files[1].After}}, "b.xlsx", Options{})
	require.NoError(t, err)
	assert.Equal(t, "2026-03-01", c.Birds[2].Hatch.Text)
	assert.Equal(t, 2, c.Clutches[0].Eggs)
	assert.Equal(t, "lame", c.Holds[0].Reason)

	// By its rows it comes back.
	back := rewriter(t, "b.xlsx", files[1].After)
	defer back.Close()
	for _, e := range edits {
		if e.File != "changes.csv" {
			done, err := back.PutBack(e)
			require.NoError(t, err)
			assert.True(t, done, e)
		}
	}
	files, _, err = back.Rewrite()
	require.NoError(t, err)
	c, err = Read(t.Context(), fstest.MapFS{"b.xlsx": {Data: files[0].After}}, "b.xlsx", Options{})
	require.NoError(t, err)
	assert.Len(t, c.Birds, 2)
	assert.False(t, c.Birds[0].Death.Known())

	stuck := rewriter(t, "b.xlsx", raw.Bytes())
	defer stuck.Close()
	birds, err = stuck.Sheet("studbook.csv")
	require.NoError(t, err)
	birds.t.at["notes"] = 6 // the column with the formula
	require.NoError(t, birds.Set(1, "notes", "3"))
	_, _, err = stuck.Rewrite()
	assert.ErrorContains(t, err, "a formula stands in G3")
}

// FuzzRewrite: whatever the bytes of a file are, where a cell of it can be
// changed all other lines stay as they are, and a reader finds the change.
func FuzzRewrite(f *testing.F) {
	for _, text := range []string{
		"id,sex,sire,dam,name\nA,F,,,x\nB,M,,,\n", "#\n\nid;sex;sire;dam;name\r\n\"A\"; F ;;;\"x\r\ny\"\r\nB;M;;", "id\tsex\tsire\tdam\tname\rA\tF\t\t\t\r",
		"sep=;\nid;sex;sire;dam;name\nÄ;F;;;\n", "id,sex,sire,dam,name\nA,F,\n\xff\xfe,M,,,\n",
	} {
		f.Add([]byte(text), uint8(0), "Käthe", false)
		f.Add(wide(text, true), uint8(1), "a \"b\", c", true)
		f.Add(append([]byte("\xef\xbb\xbf"), text...), uint8(2), "x\ny", false)
		f.Add([]byte(text+"# \xe9\xe8\n"), uint8(3), "#", true)
	}
	f.Fuzz(func(t *testing.T, raw []byte, n uint8, value string, first bool) {
		w, err := NewRewriter(t.Context(), fstest.MapFS{"studbook.csv": {Data: raw}}, "studbook.csv", Options{})
		if err != nil {
			t.Skip()
		}
		s, err := w.Sheet("studbook.csv")
		if err != nil || s.Len() == 0 || s.text.fresh {
			t.Skip()
		}
		row, column := int(n)%s.Len(), "name"
		if first {
			column = "id"
		}
		was := s.rowText(row)
		if s.Set(row, column, value) != nil || !s.touched() {
			t.Skip()
		}
		files, edits, err := w.Rewrite()
		if err != nil {
			t.Skip()
		}
		require.Len(t, edits, 1)
		line := int(s.t.rows[row].line) - 1
		before, after := bytesLines(raw), bytesLines(files[0].After)
		end := line + strings.Count(was, "\n") + 1
		require.LessOrEqual(t, end, len(before))
		require.GreaterOrEqual(t, len(after), len(before)-end)
		assert.Equal(t, before[:line], after[:line])
		assert.Equal(t, before[end:], after[len(after)-(len(before)-end):])

		again, err := NewRewriter(t.Context(), fstest.MapFS{"studbook.csv": {Data: files[0].After}}, "studbook.csv", Options{})
		require.NoError(t, err)
		next, err := again.Sheet("studbook.csv")
		require.NoError(t, err)
		require.Equal(t, s.Len(), next.Len())
		assert.Equal(t, s.Cell(row, column), next.Cell(row, column))
	})
}

// bytesLines cuts a file into lines, in whatever script it is, by its bytes.
func bytesLines(raw []byte) [][]byte {
	s := scriptOf(raw)
	unit := func(c byte) []byte {
		switch {
		case s.wide && s.big:
			return []byte{0, c}
		case s.wide:
			return []byte{c, 0}
		}
		return []byte{c}
	}
	cut := func(end []byte) (lines [][]byte) {
		from := s.mark
		for at := s.mark; at+len(end) <= len(raw); at += len(end) {
			if bytes.Equal(raw[at:at+len(end)], end) {
				lines = append(lines, raw[from:at+len(end)])
				from = at + len(end)
			}
		}
		return append(lines, raw[from:])
	}
	if lines := cut(unit('\n')); len(lines) > 1 {
		return lines
	}
	return cut(unit('\r'))
}

// TestFormulasAreGuardedWhereWritten: what a spreadsheet would run gets a sign before it that
// reading takes away (OWASP, CSV injection); what stood there is left as it was.
func TestFormulasAreGuardedWhereWritten(t *testing.T) {
	files := folder("studbook.csv", "id,name,sex,sire,dam,hatch_date,notes\nA,Ash,M,,,2010,=old\nB,Bee,F,,,2010,\n")
	w, err := NewRewriter(t.Context(), files, "studbook.csv", Options{})
	require.NoError(t, err)
	s, err := w.Sheet("studbook.csv")
	require.NoError(t, err)
	require.NoError(t, s.Set(0, "name", "=evil()"))
	require.NoError(t, s.Append(map[string]string{"id": "C", "name": "@x", "sex": "U", "notes": "-5"}))
	changed, _, err := w.Rewrite()
	require.NoError(t, err)
	require.Len(t, changed, 1)
	assert.Equal(t, "id,name,sex,sire,dam,hatch_date,notes\nA,'=evil(),M,,,2010,=old\nB,Bee,F,,,2010,\nC,'@x,U,,,,-5\n", string(changed[0].After))
	c, err := Read(t.Context(), folder("studbook.csv", string(changed[0].After)), "studbook.csv", Options{})
	require.NoError(t, err)
	assert.Equal(t, "=evil() @x", c.Birds[0].Name+" "+c.Birds[2].Name)
}
