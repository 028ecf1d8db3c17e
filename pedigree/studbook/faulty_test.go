package studbook

import (
	"cmp"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const faultyRoot = "../../testdata/faulty"

// today is the day the faulty folders are read on.
var today = DayOf(2026, 1, 1)

// findingsOf reads a studbook and returns its findings, whether or not they
// stop the computation.
func findingsOf(t testing.TB, c *Colony, err error) []Finding {
	var faults *Faults
	switch {
	case errors.As(err, &faults):
		return faults.Findings
	default:
		require.NoError(t, err)
		return c.Warnings
	}
}

// brief writes a finding as findings.txt of the faulty folders does.
func brief(f Finding) string {
	return fmt.Sprintf("%s %s:%d %s %s", f.Severity, f.File, f.Line, cmp.Or(f.Column, "-"), f.Code)
}

func TestFaultyFolders(t *testing.T) {
	folders, err := filepath.Glob(faultyRoot + "/*/findings.txt")
	require.NoError(t, err)
	require.NotEmpty(t, folders)
	for _, list := range folders {
		dir := filepath.Dir(list)
		t.Run(filepath.Base(dir), func(t *testing.T) {
			text, err := os.ReadFile(list)
			require.NoError(t, err)
			want := strings.Split(strings.TrimSpace(string(text)), "\n")

			c, err := Read(t.Context(), os.DirFS(dir), "studbook.csv", Options{Today: today})
			findings := findingsOf(t, c, err)
			var got []string
			for _, f := range findings {
				got = append(got, brief(f))
				assert.NotEmpty(t, f.Message, brief(f))
				assert.NotEmpty(t, f.Help, brief(f))
				assert.NotContains(t, f.Message+f.Help, "\n", brief(f))
			}
			assert.ElementsMatch(t, want, got)
			stops := strings.Contains(string(text), "error ")
			assert.Equal(t, stops, err != nil, "an error stops, a warning does not")
		})
	}
}

// TestEveryCode makes sure that each code of codes.go is one that a faulty
// folder, or the test of workbooks, expects.
func TestEveryCode(t *testing.T) {
	expected := map[string]bool{
		codeLongCell: true, codeTooManyRows: true, // TestBounds
		codeDayBeyondRecords: true,                        // TestDayAskedAbout
		codeFormula:          true,                        // TestFormulasComeBack
		codeNoSheet:          true, codeBadWorkbook: true, // TestBadWorkbook
		codeBadFixed:  true,                   // TestFaultySeason
		CodeDateOrder: true,                   // TestDatesInOtherOrder
		codeUnstored:  true, codeMerged: true, // TestCellsThatShowMore
	}
	lists, err := filepath.Glob(faultyRoot + "/*/findings.txt")
	require.NoError(t, err)
	for _, list := range lists {
		text, err := os.ReadFile(list)
		require.NoError(t, err)
		for line := range strings.Lines(string(text)) {
			words := strings.Fields(line)
			expected[words[len(words)-1]] = true
		}
	}
	file, err := parser.ParseFile(token.NewFileSet(), "codes.go", nil, 0)
	require.NoError(t, err)
	codes := map[string]bool{}
	ast.Inspect(file, func(n ast.Node) bool {
		if lit, ok := n.(*ast.BasicLit); ok {
			code, err := strconv.Unquote(lit.Value)
			require.NoError(t, err)
			assert.False(t, codes[code], "%s stands twice", code)
			codes[code] = true
			assert.True(t, expected[code], "no test expects %s", code)
		}
		return true
	})
	for code := range expected {
		assert.True(t, codes[code], "%s is no code", code)
	}
}

func TestFindingsAreInOrder(t *testing.T) {
	_, err := Read(t.Context(), os.DirFS(faultyRoot+"/folder"), "studbook.csv", Options{Today: today})
	var faults *Faults
	require.ErrorAs(t, err, &faults)
	files := []string{"studbook.csv", "moves.csv", "bonds.csv", "clutches.csv", "holds.csv", "institutions.csv", "founder_kinship.csv", "requests.csv", "decisions.csv", "programme.toml"}
	assert.True(t, slices.IsSortedFunc(faults.Findings, func(a, b Finding) int {
		return cmp.Or(cmp.Compare(slices.Index(files, a.File), slices.Index(files, b.File)), cmp.Compare(a.Line, b.Line))
	}))
}

// A blank death_date is that of a living bird, so no help may lead there for one that
// has died on a day that cannot be read.
func TestUnreadableDatesSayWhatBlankMeans(t *testing.T) {
	for column, want := range map[string]string{
		"hatch_date": ", or leave it blank if nothing is",
		"death_date": "; write unknown if it died on a day that nobody knows, and leave it blank only if it lives",
	} {
		for _, cell := range []string{"yes", "0000"} {
			c, err := Read(t.Context(), folder("studbook.csv", "id,sex,sire,dam,"+column+"\nA,F,wild,wild,"+cell+"\n"), "studbook.csv", Options{Today: today})
			found := findingsOf(t, c, err)
			require.Len(t, found, 1)
			assert.True(t, strings.HasSuffix(found[0].Help, want), found[0].Help)
		}
	}
}

// Messages are read by keepers; these are the ones that must say what to do.
func TestMessages(t *testing.T) {
	read := func(t *testing.T, rows string, opt Options) string {
		c, err := Read(t.Context(), folder("studbook.csv", "id,sex,sire,dam,hatch_date\n"+rows), "studbook.csv", opt)
		var all strings.Builder
		for _, f := range findingsOf(t, c, err) {
			fmt.Fprintln(&all, f)
		}
		return all.String()
	}
	tests := []struct{ name, rows, want string }{
		{"duplicate names both lines", "A,M,,,\nB,F,,,\nA,M,,,\n",
			`studbook.csv:4: error: id "A": the id stands in line 2 already (give each bird an id of its own, or delete the row that is there twice)`},
		{"loop names its birds", "A,M,B,,\nB,M,C,,\nC,M,A,,\n",
			`studbook.csv:2: error: sire "B": "A" would be its own ancestor: "A" is a chick of "B", that of "C", that of "A" (correct a parent of one of these birds)`},
		{"wrong sex counts the chicks", "A,F,,,\nB,M,A,,\nC,M,A,,\n",
			`studbook.csv:3: error: sire "A": the sire of 2 chicks is a female (line 2) (correct its sex, or name the right sire)`},
		{"date in both readings", "A,F,,,3/4/2019\n",
			`studbook.csv:2: error: hatch_date "3/4/2019": the date cannot be read (write 2019-04-03 for 3 April or 2019-03-04 for 4 March)`},
		{"id that differs in case", "A1,F,,,\nB,M,,a-01,\nC,M,,a1,\n",
			`studbook.csv:4: error: dam "a1": no bird has this id (of the parent of 1 chick), but "A1" differs from it in case or leading zeros alone (write "A1", or give it a row of its own and a name that is told apart)`},
		{"id that differs in a hyphen", "A1,F,,,\nB,M,,A-1,\n",
			`studbook.csv:3: warning: dam "A-1": this parent (of 1 chick) has no row of its own; it is kept as a founder without a record (perhaps "A1" is meant; add a row for it, or correct the id; if it is no bird, write wild or unknown)`},
		{"id that differs in a space", "A1,F,,,\nA 1,M,,,\n",
			`studbook.csv:3: warning: id "A 1": the id differs from "A1" (line 2) in spaces or signs between letters and digits alone (make sure that they are two birds; if they are, tell their ids apart more clearly)`},
		{"l for 1", "A1,F,,,\nAl,M,,,\n",
			`studbook.csv:3: warning: id "Al": the id differs from "A1" (line 2) in case, leading zeros, signs between letters and digits, or O for 0 and I or l for 1 alone (make sure that they are two birds; if they are, tell their ids apart more clearly)`},
		{"two spaces for one", "A 1,F,,,\nB,M,,A  1,\n",
			`studbook.csv:3: warning: dam "A  1": this parent (of 1 chick) has no row of its own; it is kept as a founder without a record (perhaps "A 1" is meant, with one space where there are more; add a row for it, or correct the id; if it is no bird, write wild or unknown)`},
		{"parents without rows are counted first", "A,F,,,\nB,M,P,A,\nC,M,Q,A,\n",
			`studbook.csv: warning: 2 of 3 named parents have no row: F and kinship are too low (add a row for each; where what is named is no bird, write wild or unknown)`},
		{"words for a wild bird", "A,F,wild-caught,Wildfang 2,\n",
			`studbook.csv:2: warning: dam "Wildfang 2": this parent (of 1 chick) has no row of its own; it is kept as a founder without a record (this seems to be no bird; write wild, or add a row for it)`},
		{"a count of birds for a parent", "A,F,1.0,,\n",
			`studbook.csv:2: warning: sire "1.0": this parent (of 1 chick) has no row of its own; it is kept as a founder without a record (this seems to be a count of males, females and unsexed; write unknown, or add a row for it)`},
		{"no bird in both columns", "A,F,pair 3,pair 3,\n",
			`studbook.csv:2: error: dam "pair 3": the bird is a dam here and a sire in line 2 (name the right parent in one of the two rows; if it is no bird, write wild or unknown)`},
		{"the header may be longer than the rows", "A,F\nB,F\nC,F\nD,F\n",
			`studbook.csv:1: error: 4 of 4 rows have fewer cells than the 5 of the header; what is missing reaches to the column dam (lines 2, 3, 4, 5) (delete the names in the header that have no column, or complete the row; leave a cell blank between its delimiters if nothing is known)`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Contains(t, strings.Split(read(t, tt.rows, Options{}), "\n"), tt.want)
		})
	}
}

// A house name or a band is told from a bird that is missing.
func TestParentByNameOrBand(t *testing.T) {
	c, err := Read(t.Context(), folder("studbook.csv", "id,name,band,sex,sire,dam,hatch_date\nA1,Moss,7-12,F,,,\nA2,Fern,,M,,,\nA3,Fern,,M,,,\nB,,,F,7-12,moss,\nC,,,F,Fern,,\n"), "studbook.csv", Options{})
	var help []string
	for _, f := range findingsOf(t, c, err) {
		help = append(help, f.Help)
	}
	assert.Contains(t, help, `"A1" has it for its name or band; write "A1" if that is the parent`)
	assert.Contains(t, help, "add a row for it, or correct the id; if it is no bird, write wild or unknown", "two birds are called Fern")
}

// The header is looked for under a title, also where its delimiter is not that
// of the title.
func TestHeaderUnderATitle(t *testing.T) {
	for _, text := range []string{"Our birds\n\nas of May,\nid,sex,sire,dam\nA,F,,\n", "Our birds, all of them\n\n\nid;sex;sire;dam\nA;F;;\n", "Our birds\n\nMay\nNo\tsex\tsire\tdam\nA\tF\t\t\n"} {
		_, err := Read(t.Context(), folder("studbook.csv", text), "studbook.csv", Options{Columns: map[string]string{"band": "No"}})
		assert.ErrorContains(t, err, "this is no row of column names; the header seems to be in line 4 (delete the lines above it, or put a # before each)", text)
	}
	_, err := Read(t.Context(), folder("studbook.csv", "nr,sex\nid,M\nsire,F\n"), "studbook.csv", Options{})
	assert.ErrorContains(t, err, "the column is missing", "a cell that happens to be a name is no header")
}

func TestLongLoopIsCappedAtTen(t *testing.T) {
	var b strings.Builder
	b.WriteString("id,sex,sire,dam,hatch_date\n")
	for i := range 100 {
		fmt.Fprintf(&b, "B%02d,M,B%02d,,\n", i, (i+1)%100)
	}
	_, err := Read(t.Context(), folder("studbook.csv", b.String()), "studbook.csv", Options{})
	var faults *Faults
	require.ErrorAs(t, err, &faults)
	require.Len(t, faults.Findings, 1)
	assert.Contains(t, faults.Findings[0].Message, `that of "B10" and so on through 90 more birds`)
	assert.NotContains(t, faults.Findings[0].Message, `"B11"`)
}

// A pedigree of one line of descent is as deep as it is long; neither the
// search for loops nor time travel may recurse.
func TestDeepPedigree(t *testing.T) {
	const n = 30_000
	var b strings.Builder
	b.WriteString("id,sex,sire,dam,hatch_date\n")
	for i := range n {
		fmt.Fprintf(&b, "B%d,M,B%d,,\n", i, i+1)
	}
	c, err := Read(t.Context(), folder("studbook.csv", b.String()), "studbook.csv", Options{})
	require.NoError(t, err)
	assert.Len(t, c.At(today).Birds, n+1)
}

func TestThousandFaultsAtOnce(t *testing.T) {
	var b strings.Builder
	b.WriteString("id,sex,sire,dam,hatch_date,death_date\n")
	for i := range 1000 {
		switch i % 4 {
		case 0:
			fmt.Fprintf(&b, "B%d,M,,,in %d,\n", i, i)
		case 1:
			fmt.Fprintf(&b, "B%d,cock,,,2001,\n", i)
		case 2:
			fmt.Fprintf(&b, "B%d,M,A=0.7; B=0.7,,2001,\n", i)
		case 3:
			fmt.Fprintf(&b, "B%d,M,,,2001,\"1\"2\n", i)
		}
	}
	_, err := Read(t.Context(), folder("studbook.csv", b.String()), "studbook.csv", Options{})
	var faults *Faults
	require.ErrorAs(t, err, &faults)
	require.Len(t, faults.Findings, 1000)
	want := []string{codeUnreadableDate, codeBadSex, codeBadParent, codeBrokenQuotes}
	for i, f := range faults.Findings {
		assert.Equal(t, want[i%4], f.Code)
		assert.Equal(t, i+2, f.Line)
	}
	assert.ErrorContains(t, err, "1,000 errors in the files, the first: studbook.csv:2: error: hatch_date")
}

func TestLocationThatNoMoveExplains(t *testing.T) {
	c, err := Read(t.Context(), folder(
		"studbook.csv", "id,sex,sire,dam,hatch_date,location\nA,M,,,2000,FAR\nB,M,,,2000,HOME\nC,M,,,2000,AWAY\n",
		"moves.csv", "id,date,from,to\nA,2005,HOME,AWAY\nB,2005,HOME,AWAY\nC,2005,HOME,AWAY\n",
	), "studbook.csv", Options{})
	require.NoError(t, err)
	require.Len(t, c.Warnings, 2)
	assert.Equal(t, "warning studbook.csv:2 location location_disagrees", brief(c.Warnings[0]))
	assert.Equal(t, "warning studbook.csv:3 location location_disagrees", brief(c.Warnings[1]))
}

// Which chick of one day is the last of its parents is the same in whatever order the rows are.
func TestParentsWithoutBondInAnyOrder(t *testing.T) {
	chicks := []string{"A,F,S=0.5;T=0.5,D,2020-05-01\n", "B,F,S,D,2020-05-01\n"}
	for _, rows := range []string{chicks[0] + chicks[1], chicks[1] + chicks[0]} {
		c, err := Read(t.Context(), folder("studbook.csv", "id,sex,sire,dam,hatch_date\nS,M,,,2010\nT,M,,,2010\nD,F,,,2010\n"+rows), "studbook.csv", Options{Today: today})
		var codes []string
		for _, f := range findingsOf(t, c, err) {
			codes = append(codes, f.Code)
		}
		assert.Contains(t, codes, CodeParentsUnbonded, rows)
	}
}

// Who seems to be a pair is told of the day asked about as if the files ended there: a
// chick that has not hatched, a bond that has not begun, a death that has not come do
// not count.
func TestParentsWithoutBondOnADay(t *testing.T) {
	files := func(settings string) fs.FS {
		return folder("studbook.csv", "id,sex,sire,dam,hatch_date,death_date\nS,M,,,2010,2020-03-01\nD,F,,,2010,\nT,M,,,2010,\nE,F,,,2010,\nA,F,S,D,2014-05-01,\nB,F,T,E,2016-05-01,\n",
			"bonds.csv", "female,male,since\nE,T,2018-01-01\n", "programme.toml", settings)
	}
	c, err := Read(t.Context(), files(""), "studbook.csv", Options{Today: today})
	require.NoError(t, err)
	unbonded := func(found []Finding) (rows []string) {
		for _, f := range found {
			if f.Code == CodeParentsUnbonded {
				rows = append(rows, fmt.Sprintf("%s %d %s", f.Bird, f.Line, f.Message))
			}
		}
		return rows
	}
	for day, want := range map[string]int{"2013-06-01": 0, "2015-06-01": 1, "2017-06-01": 2, "2019-06-01": 1, "2021-06-01": 0} {
		d, err := ParseDate(day)
		require.NoError(t, err)
		then, err := Read(t.Context(), files("current_to = \""+day+"\"\n"), "studbook.csv", Options{Today: today})
		require.NoError(t, err)
		of := unbonded(c.WarningsOn(d.First))
		assert.Len(t, of, want, day)
		assert.Equal(t, unbonded(then.Warnings), of, day)
		assert.Equal(t, then.Unbonded, c.UnbondedOn(d.First), day)
	}
}

func TestBreedingAgeFromSettings(t *testing.T) {
	files := folder("studbook.csv", "id,sex,sire,dam,hatch_date\nA,M,,,2000-06-01\nB,F,,,2000-06-01\nC,M,A,B,2003-06-01\n",
		"programme.toml", "[breeding_age]\nfemale = [4, 20]\nmale = [3]\n")
	c, err := Read(t.Context(), files, "studbook.csv", Options{})
	require.NoError(t, err)
	require.Len(t, c.Warnings, 1, "a third birthday is three years, though it falls short of three mean years")
	assert.Equal(t, "warning studbook.csv:4 dam parent_too_young", brief(c.Warnings[0]))
}

// A date known in part is given the benefit of the doubt.
func TestVagueDatesOfParents(t *testing.T) {
	tests := []struct {
		name, parent, chick, code string
	}{
		{"the same year", "2010", "2010", codeParentTooYoung},
		{"a later month of the year the chick hatched", "2010-06", "2010", codeParentTooYoung},
		{"a later year", "2011", "2010", codeParentAfterChick},
		{"decades that overlap", "201X", "2012", ""},
		{"a decade later", "202X", "201X", codeParentAfterChick},
		{"unknown", "", "2010", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			for _, cell := range []string{"A", "A=0.5; B=0.5"} {
				c, err := Read(t.Context(), folder("studbook.csv", "id,sex,sire,dam,hatch_date\n"+
					"A,M,,,"+tt.parent+"\nB,M,,,\nC,M,"+cell+",,"+tt.chick+"\n"), "studbook.csv", Options{})
				var codes []string
				for _, f := range findingsOf(t, c, err) {
					codes = append(codes, f.Code)
				}
				var want []string
				if tt.code != "" {
					want = []string{tt.code}
				}
				assert.Equal(t, want, codes, cell)
			}
		})
	}
}

// TestEggsOutliveTheirParents: a chick of an egg that lay there when its dam or sire died is
// no fault; one that hatched after more than an incubation is.
func TestEggsOutliveTheirParents(t *testing.T) {
	for died, faults := range map[string]int{"2012-06-10": 0, "2012-06-06": 0, "2012-06-05": 2} {
		c, err := Read(t.Context(), folder("studbook.csv", "id,sex,sire,dam,hatch_date,death_date\nA,M,,,2005,"+died+"\nB,F,,,2005,"+died+
			"\nC,M,A,B,2012-07-01,\n", "programme.toml", "[incubation]\ndays = 25\n"), "studbook.csv", Options{})
		n := 0
		for _, f := range findingsOf(t, c, err) {
			if f.Code == codeParentDiedBefore {
				n++
			}
		}
		assert.Equal(t, faults, n, died)
	}
}

// TestDayAskedAbout: who would be too old, and how far behind the records are,
// is said for the day that is asked about.
func TestDayAskedAbout(t *testing.T) {
	files := folder("studbook.csv", "id,sex,sire,dam,hatch_date,origin\nA,M,,,2010-05-01,captive\nB,F,,,2020-05-01,captive\n",
		"programme.toml", "current_to = \"2020-12-31\"\noldest_age = 20\n")
	codes := func(day Day) []string {
		c, err := Read(t.Context(), files, "studbook.csv", Options{Today: today})
		require.NoError(t, err)
		all := []string{}
		for _, f := range c.WarningsOn(cmp.Or(day, c.FilesDay)) {
			all = append(all, fmt.Sprintf("%s %d %s", f.File, f.Line, f.Code))
		}
		return all
	}
	assert.Empty(t, codes(0))
	assert.Empty(t, codes(DayOf(2022, 4, 30)), "the next seasons may be asked about")
	assert.Empty(t, codes(DayOf(2011, 4, 30)), "and the past")
	assert.Equal(t, []string{"studbook.csv 0 day_beyond_records"}, codes(DayOf(2026, 1, 1)))
	assert.Equal(t, []string{"studbook.csv 0 day_beyond_records", "studbook.csv 2 older_than_record"}, codes(DayOf(2031, 1, 1)))

	files["programme.toml"].Data = []byte("current_to = \"2060-12-31\"\n")
	assert.Equal(t, []string{"programme.toml 1 future_date", "programme.toml 1 day_beyond_records"}, codes(0))
	files["programme.toml"].Data = []byte("current_to = \"2015-12-31\"\n")
	assert.Equal(t, []string{"programme.toml 1 after_current_to", "programme.toml 1 day_beyond_records"}, codes(0))
}

// A finding says in whose row it is, whatever stands around it in the file: quotation
// marks, remarks, other separators. A row that another bird's id stands in too, and other
// files, name nobody.
func TestFindingsNameTheirBird(t *testing.T) {
	c, err := Read(t.Context(), folder(
		"studbook.csv", "# ours\nid;name;sex;sire;dam;hatch_date\nA1;Ash;F;;;3.4.2019\nA2;\"Fern; old\";M;;;x\n\nA3;;M;;;x\nA3;;M;;;2019\nA4;;M;A1;;2020\n",
		"holds.csv", "id,since,reason\nA1,x,moult\n"), "studbook.csv", Options{})
	got := map[string]string{}
	for _, f := range findingsOf(t, c, err) {
		got[fmt.Sprintf("%s:%d %s", f.File, f.Line, f.Column)] = f.Bird
	}
	assert.Equal(t, map[string]string{
		"studbook.csv:3 hatch_date": "A1", "studbook.csv:4 hatch_date": "A2", "studbook.csv:6 hatch_date": "", "studbook.csv:7 id": "",
		"studbook.csv:8 sire": "A4", "holds.csv:2 since": "",
	}, got)
}

// Dates of a file that are all in one other order make one finding, with the order that the
// file proves; where it shows several, and where they are few, each is told.
func TestDatesInOtherOrder(t *testing.T) {
	rows := func(dates ...string) string {
		text := "id,sex,sire,dam,hatch_date\n"
		for k, d := range dates {
			text += fmt.Sprintf("B%d,F,wild,wild,%s\n", k, d)
		}
		return text
	}
	for _, x := range []struct {
		name  string
		dates []string
		found int
		says  string
		help  string
	}{
		{"the day first", []string{"01.02.2019", "20.1.2018", "2017", "2016~", "03.04.2019", "5.5.2020"}, 1, `4 dates of this file are written as day.month.year; another is "20.1.2018" in line 3`, "import studbook.csv into a new folder: every file is written anew there, with the order that the dates of the folder show, as 2019-02-01"},
		{"the month first, years of two digits", []string{"1/20/98", "2/3/04", "3/4/05", "4/5/96"}, 1, `4 dates of this file are written as month/day/year`, "as 1998-01-20"},
		{"the year first, with strokes", []string{"2019/05/12", "2019/05/13", "2019/05/14", "2019/05/15"}, 1, `written as year/month/day`, "as 2019-05-12"},
		{"proved further on", []string{"01.02.2019", "02.03.2018", "03.04.2019", "25.05.2020"}, 1, `, and "25.05.2020" can be read so alone`, "2019-02-01"},
		{"nothing shows it", []string{"01.02.2019", "02.03.2018", "03.04.2019", "05.05.2020"}, 1, "none shows whether the day or the month comes first", "with the order that you say"},
		{"several orders", []string{"20.02.2019", "02/25/2018", "03.04.2019", "05.05.2020"}, 4, "the date cannot be read", "write 2019-02-20"},
		{"few", []string{"20.02.2019", "21.02.2019", "22.02.2019"}, 3, "the date cannot be read", "write 2019-02-20"},
	} {
		t.Run(x.name, func(t *testing.T) {
			c, err := Read(t.Context(), folder("studbook.csv", rows(x.dates...)), "studbook.csv", Options{Today: today})
			found := findingsOf(t, c, err)
			require.Len(t, found, x.found)
			assert.Contains(t, found[0].Message, x.says)
			assert.Contains(t, found[0].Help, x.help)
		})
	}
}

// Nothing follows from a date that cannot be read: it is there, and may be any day that its
// cell can mean. What the files show together is not asked again of each.
func TestNothingFollowsFromDatesNotRead(t *testing.T) {
	c, err := Read(t.Context(), folder(
		"studbook.csv", "id;sex;sire;dam;hatch_date;death_date\nA;M;wild;wild;1975;20.01.2004\nB;F;wild;wild;01.05.1990;03.04.2004\nC;M;A;B;11.06.2001;\nD;F;A;B;2002-06-12;\n",
		"bonds.csv", "female;male;since;until\nB;A;02.03.1995;01.02.2003\nD;C;03.03.2006;\nB;C;04.05.2003;01.01.2004\n",
		"moves.csv", "id,date,from,to\nC,01/02/2005,,X\nC,02/02/2006,X,Y\nD,01/02/2005,,X\nD,02/02/2006,X,Y\n",
		"holds.csv", "id,since,until,reason\nC,2025-01-02,20.10.2026,vet\nD,2025-01-02,soon,vet\n",
	), "studbook.csv", Options{Today: today})
	var got []string
	for _, f := range findingsOf(t, c, err) {
		got = append(got, brief(f))
	}
	assert.Equal(t, []string{
		"error studbook.csv:2 death_date dates_in_other_order",
		"error moves.csv:2 date dates_in_other_order",
		"error bonds.csv:2 since dates_in_other_order",
		"error holds.csv:2 until dates_in_other_order",
		"error holds.csv:3 until unreadable_date",
	}, got)
}
