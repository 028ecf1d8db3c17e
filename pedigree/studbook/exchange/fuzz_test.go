package exchange

import (
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
)

// Any bytes give a report that adds up, or findings.
func FuzzImport(f *testing.F) {
	rows := [][]any{{"Ring", "Name", "Sex", "Sire", "Dam", "Hatched", "Died", "Left", "Reason"}, {"A1", "Ash", "m", nil, nil, "ca. 2001"}, {"A2", "Birch", "w", nil, "wild", "1.2.03"}, {"A3", nil, "0.0.1", "Ash", "A2 (0,7) / A1", "BET 2004 AND 2005", "?", "3/4/2010", "sold"}}
	f.Add(inText(f, ",", nil, rows))
	f.Add(inText(f, ";", nil, rows))
	f.Add(inWorkbook(f, false, page{name: "Dead", rows: rows, merged: []string{"A1:B1", "A3:A4"}}))
	f.Add(inODS(f, page{name: "Birds", rows: rows}))
	f.Add([]byte("1 1 0 0 1 -9\n1 2 0 0 2 -9\n1 3 1 2 0 -9\n"))
	f.Add([]byte("0 HEAD\n1 GEDC\n2 VERS 5.5.1\n0 @I1@ INDI\n1 FAMC @F1@\n2 PEDI birth\n1 DEAT Y\n0 @F1@ FAM\n1 HUSB @I1@\n1 MARR\n"))
	f.Add([]byte("Date;Bird;Event;With\n1.2.2003;A;hatched;B x C\n;B;paired;C\n;B;laid;\n"))
	f.Add([]byte("Nest\tFemale\tMale\tFrom\tTo\n5\tA\tB\t2001\t\n"))
	f.Add(inWorkbook(f, false, page{name: "Gelege", rows: [][]any{{"Datum", "Paar", "Eier"}, {"1.2.2003", "Ash x A2", 2}, {"2.2.2004", "A3/A1", "x"}, {nil, "A1 & A1", 1}}}, page{name: "Birds", rows: rows}))
	f.Fuzz(importsOrSays)
}

// importsOrSays imports bytes: there must be a report that adds up, or findings.
func importsOrSays(t *testing.T, raw []byte) {
	for _, m := range []Mapping{{}, {Dates: "dmy"}} {
		res, err := Import(t.Context(), fstest.MapFS{"f": {Data: raw}}, "f", Options{Mapping: m, Today: asOf, FileDay: asOf})
		var faults *studbook.Faults
		if errors.As(err, &faults) {
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		addsUp(t, res)
		if (res.Files == nil) != res.Report.Stopped() {
			t.Fatal("written and stopped at once")
		}
		if _, err := ReadMapping([]byte(res.Report.Mapping)); res.Files != nil && err != nil {
			t.Fatal(err, res.Report.Mapping)
		}
	}
}

// TestAnyWorkbook imports what was worth keeping of what the fuzz tests of sheets tried inside
// workbooks.
func TestAnyWorkbook(t *testing.T) {
	tried := 0
	for name, parts := range map[string][]string{"FuzzWorkbook": {"xl/sheet1.xml", "xl/words.xml", "xl/styles.xml"}, "FuzzSpreadsheet": {"content.xml"}} {
		inputs, err := filepath.Glob("../sheets/testdata/fuzz/" + name + "/*")
		require.NoError(t, err)
		for _, input := range inputs {
			kept, err := os.ReadFile(input)
			require.NoError(t, err)
			files := [][2]string{
				{"xl/workbook.xml", `<workbook><sheets><sheet name="Birds" r:id="a"/></sheets></workbook>`},
				{"xl/_rels/workbook.xml.rels", `<Relationships><Relationship Id="a" Type="x/worksheet" Target="sheet1.xml"/><Relationship Id="b" Type="x/sharedStrings" Target="words.xml"/><Relationship Id="c" Type="x/styles" Target="styles.xml"/></Relationships>`},
			}
			for k, line := range strings.Split(strings.TrimSpace(string(kept)), "\n")[1:] {
				text, err := strconv.Unquote(strings.TrimSuffix(strings.TrimPrefix(line, "[]byte("), ")"))
				require.NoError(t, err)
				files = append(files, [2]string{parts[k], text})
			}
			importsOrSays(t, zipped(t, files...))
			tried++
		}
	}
	assert.Greater(t, tried, 50)
}

// Any bytes are a mapping or say what is wrong with them, and one that is read
// comes back as it is written.
func FuzzMapping(f *testing.F) {
	f.Add([]byte("[columns]\nid = \"Ring\"\n[columns.\"A b\"]\nsire = \"x\"\n[import]\ndates = \"dmy\"\nunknown = [\"LOT *\"]\n[import.words.sex]\n\"1\" = \"M\"\n"))
	f.Add([]byte("[columns]\nid = 'C:\\archive\\view\\x7'\nsire = \"bell \\u0007, tab \\t, \\u000B, \\u007F\"\n"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		m, err := ReadMapping(raw)
		if err != nil {
			return
		}
		again, err := ReadMapping([]byte(m.Text()))
		if err != nil {
			t.Fatal(err, m.Text())
		}
		delete(m.SheetColumns, "") // no sheet is without a name
		assert.Equal(t, m.Decided(), again.Decided())
	})
}

// TestAnyText puts pieces of tables together at random: whatever comes out, the
// sums are right and nothing panics.
func TestAnyText(t *testing.T) {
	pieces := []string{"id", "Ring", "sex", "sire", "dam", "Parents", "hatched", "died", "left", "reason", "status", "nest", "group", "Date", "Event", "With", "name", "Female", "Male", "From", "To", "Season", "Males", "Females", "other ids", "precision", "arrived", "origin", "notes", "location",
		"A1", "A2", "a-1", "B (A1)", "A1 x A2", "A1 / A2", "A1 (0,7) / A2 (0,3)", "A1=0.7; A2=0.4", "Nest 5", "?", "wild", "unknown", "LOT 7", "m", "w", "1.0", "0.1", "1", "2", "H", "dead", "alive", "sold", "moved to Q", "-", "†", "%", "~", "#", "\"", "\"x",
		"2001", "3/4/2001", "13/4/2001", "4/13/2001", "1.2.03", "ca. 2001", "BET 2001 AND 2002", "before 2001", "after 2001", "2001?", "39945", "12 May 2001", "May", "spring", "0", "00", "007", "12.0", "-1", "99999", "hatched", "paired", "laid", "hatched from A1 x A2", "Total", "Bestand 1.2.3", "\u00a0", "é", "\x00", "0 HEAD", "0 @I1@ INDI", "1 FAMC @F1@",
		"Zz", "left_at", "NULL", "Vater: A1", "Mutter A2", "A1 - Ash", "sold to Q", "D", "died 2009", "Ash †", "Standort", "n/k"}
	r := rand.New(rand.NewPCG(3, 4))
	for range 1500 {
		var b strings.Builder
		delimiter := []string{";", ",", "\t"}[r.IntN(3)]
		for range 1 + r.IntN(8) {
			for j := range 1 + r.IntN(9) {
				if j > 0 {
					b.WriteString(delimiter)
				}
				if r.IntN(4) > 0 {
					b.WriteString(pieces[r.IntN(len(pieces))])
				}
			}
			b.WriteByte('\n')
		}
		text := b.String()
		if r.IntN(2) == 0 {
			text = "id" + delimiter + "sex" + delimiter + "sire" + delimiter + "dam" + delimiter + "hatched" + delimiter + "died" + delimiter + pieces[r.IntN(30)] + delimiter + pieces[r.IntN(30)] + "\n" + text
		}
		res, err := Import(t.Context(), memory{{"t.csv", []byte(text)}}, "t.csv", Options{Mapping: Mapping{Dates: "dmy"}, Today: asOf, FileDay: asOf})
		var faults *studbook.Faults
		if errors.As(err, &faults) {
			continue
		}
		if err != nil {
			t.Fatal(err, text)
		}
		if addsUp(t, res); t.Failed() {
			t.Fatalf("%q", text)
		}
	}
}

// A sheet laid over any folder is taken whole: laid over what comes of it, it changes
// nothing more, and no row of the folder is lost.
func FuzzMerge(f *testing.F) {
	const sheet = "id;name;sex;sire;dam;hatched;died\nA;Ash;m;;;2001-01-01;\nB;;w;;;2001-01-01;2009-01-01\nC;;m;A;Elm;2004-03-03;\n"
	f.Add("id,name,sex,sire,dam,hatch_date\nA,Ash,M,,,2001-01-01\nB,Elm,F,,,2001-01-01\n", sheet)
	f.Add("\uFEFF# ours\r\nID;Sex;Hatch_date;cage\r\nA;M;2001-01-01;\"7; left\"\r\n\r\n# B is gone\r\nD;F;;8\r\n# end", sheet)
	f.Add("id\tname\nA\t\"As\nh\"\nA\tB\n\t\n", sheet)
	f.Fuzz(func(t *testing.T, ours, theirs string) {
		folder := fstest.MapFS{"studbook.csv": {Data: []byte(ours)}}
		opt := Options{Today: asOf, FileDay: asOf, Over: folder}
		res, err := Import(t.Context(), fstest.MapFS{"f.csv": {Data: []byte(theirs)}}, "f.csv", opt)
		if err != nil || res.Colony == nil {
			return
		}
		m, err := Merge(t.Context(), folder, res, "theirs", asOf)
		if err != nil || m.Open() {
			return
		}
		before, err := parseRows([]byte(ours), nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range m.Files {
			folder[x.Name] = &fstest.MapFile{Data: x.Content}
		}
		after, err := parseRows(folder["studbook.csv"].Data, nil)
		if err != nil {
			t.Fatal(err)
		}
		if len(after.rows) != len(before.rows)+len(m.New) {
			t.Fatalf("%d rows and %d new ones became %d:\n%s", len(before.rows), len(m.New), len(after.rows), folder["studbook.csv"].Data)
		}
		again, err := Merge(t.Context(), folder, res, "theirs", asOf)
		if err != nil {
			t.Fatal(err)
		}
		if again.size() > 0 || len(again.Files) > 0 {
			t.Fatalf("it changes more when it is laid over what came of it: %+v\n%s", again, folder["studbook.csv"].Data)
		}
	})
}
