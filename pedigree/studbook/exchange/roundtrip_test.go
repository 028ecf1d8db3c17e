package exchange

import (
	"bytes"
	"os"
	"strings"
	"testing"
	"testing/fstest"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"pairwright/pedigree/studbook"
)

// roundTrip is a colony with everything that the formats could lose.
func roundTrip(t *testing.T) *studbook.Colony {
	t.Helper()
	c, err := studbook.Read(t.Context(), fstest.MapFS{
		"studbook.csv": {Data: []byte(`id,name,band,sex,sire,dam,hatch_date,death_date,location,origin,notes
A1,Ash,GB 7-1,M,,,1999~,2010-03,HAF,wild,
A2,Birch,,F,,wild,2000-05,,HAF,captive,"two lines
of notes, with a comma"
A3,,,M,A1,A2,2003-04-05,[2011..2012-05-03],HAF,captive,
A4,Elm,12,F,A1=0.7; A3=0.3,A2,201X,unknown,QUM,captive,
A5,Fir,,U,A3,Z9,2012?,,,,
A6,Oak,,M,wild,A4,2013-01-02,,HAF,captive,@home
`)},
		"moves.csv": {Data: []byte("id,date,from,to,reason\nA6,2015-02-03,HAF,,sold\nA4,2014,HAF,QUM,\n")},
		"bonds.csv": {Data: []byte("female,male,since,until,nest,ended_by\nA2,A1,2001-03-01,2008,3,death\nA4,A6,,,,\nA2,A1,2009,2010,,\n")},
		// Places of which half is known, and on the equator.
		"institutions.csv": {Data: []byte("code,name,latitude,longitude\nHAF,Harrow Fell,0,\nQUM,Quarry Mill,,-3.5\nSUD,Southdown,0,0\n")},
	}, "studbook.csv", studbook.Options{Today: asOf})
	require.NoError(t, err)
	return c
}

// back exports a colony, imports it again and returns what came back.
func back(t *testing.T, c *studbook.Colony, kind, file string, ids ...string) (*studbook.Colony, *Exported) {
	t.Helper()
	out, err := Export(t.Context(), c, kind, ids, asOf)
	require.NoError(t, err)
	fsys := fstest.MapFS{}
	for _, f := range out.Files {
		fsys[f.Name] = &fstest.MapFile{Data: f.Content}
	}
	res, err := Import(t.Context(), fsys, file, Options{Today: asOf, FileDay: asOf})
	require.NoError(t, err)
	require.Empty(t, res.Report.Stops)
	require.NotNil(t, res.Colony, "%v", res.Report.Findings)
	addsUp(t, res)
	return res.Colony, out
}

// without forgets where rows stood and what files were called.
func without(c *studbook.Colony) studbook.Colony {
	x := *c
	x.Source, x.Files, x.Warnings, x.Notes = "", nil, nil, nil
	x.FilesDay = 0
	x.Birds = append([]studbook.Bird{}, c.Birds...)
	for i := range x.Birds {
		x.Birds[i].Line = 0
	}
	x.Moves = append([]studbook.Move{}, c.Moves...)
	for i := range x.Moves {
		x.Moves[i].Line = 0
	}
	x.Bonds = append([]studbook.Bond{}, c.Bonds...)
	for i := range x.Bonds {
		x.Bonds[i].Line = 0
	}
	x.Institutions = append([]studbook.Institution{}, c.Institutions...)
	for i := range x.Institutions {
		x.Institutions[i].Line = 0
	}
	x.Clutches, x.Holds, x.FounderKinship, x.Settings = nil, nil, nil, studbook.Settings{}
	return x
}

// What the folder and the workbook say comes back without a change.
func TestFolderAndWorkbookComeBack(t *testing.T) {
	c := roundTrip(t)
	for kind, file := range map[string]string{"studbook": "studbook.csv", "xlsx": "colony.xlsx"} {
		got, out := back(t, c, kind, file)
		want := without(c)
		for i := range want.Birds { // a line's end in a note comes back as a blank
			want.Birds[i].Notes = strings.Join(strings.Fields(want.Birds[i].Notes), " ")
		}
		assert.Equal(t, want, without(got), kind)
		if kind == "studbook" {
			assert.Empty(t, out.Lost)
		} else {
			assert.Equal(t, []string{"the settings of programme.toml are not written: a workbook has no sheet for them"}, out.Lost)
		}
	}
}

// TestAWorkbookCanBeReadAndPrinted: no cell is cut off, the heading stays in sight, and a sheet
// is as wide as the paper.
func TestAWorkbookCanBeReadAndPrinted(t *testing.T) {
	c := roundTrip(t)
	_, out := back(t, c, "xlsx", "colony.xlsx")
	f, err := excelize.OpenReader(bytes.NewReader(out.Files[0].Content))
	require.NoError(t, err)
	defer f.Close()
	rows, err := f.GetRows("studbook")
	require.NoError(t, err)
	for j := range rows[0] {
		name, err := excelize.ColumnNumberToName(j + 1)
		require.NoError(t, err)
		width, err := f.GetColWidth("studbook", name)
		require.NoError(t, err)
		for _, r := range rows {
			if j < len(r) {
				assert.LessOrEqual(t, float64(min(utf8.RuneCountInString(r[j]), mostWidth)), width, r[j])
			}
		}
	}
	panes, err := f.GetPanes("studbook")
	require.NoError(t, err)
	assert.True(t, panes.Freeze)
	props, err := f.GetSheetProps("studbook")
	require.NoError(t, err)
	assert.True(t, *props.FitToPage)
}

// GEDCOM holds birds, parents, dates, deaths, departures and bonds.
func TestGEDCOMComesBack(t *testing.T) {
	c := roundTrip(t)
	got, out := back(t, c, "gedcom", "pedigree.ged")
	require.Len(t, got.Birds, len(c.Birds))
	for i, b := range c.Birds {
		g := got.Birds[i]
		if b.Death.Text == "unknown" {
			assert.True(t, g.Death.Known() || g.Death.Text == "unknown", "dead on an unknown day")
			g.Death = b.Death
		}
		g.Line, b.Line = 0, 0
		b.Notes = strings.Join(strings.Fields(b.Notes), " ")
		assert.Equal(t, b, g)
	}
	require.Len(t, got.Moves, 1, "the departure; the other move is lost")
	assert.Equal(t, "", got.Moves[0].To)
	assert.Equal(t, "2015-02-03", got.Moves[0].Date.Text)
	require.Len(t, got.Bonds, 3)
	assert.Equal(t, "2008 2009 2010", got.Bonds[0].Until.Text+" "+got.Bonds[1].Since.Text+" "+got.Bonds[1].Until.Text)
	assert.Contains(t, strings.Join(out.Lost, "; "), "1 nest or reason of a bond")
	assert.Contains(t, strings.Join(out.Lost, "; "), "1 move not written")
}

// Chicks of one sire and of dams that nobody knows are no full siblings; a bird that left and
// died elsewhere has left; and moves may stand in any order.
func TestGEDCOMTellsApart(t *testing.T) {
	c, err := studbook.Read(t.Context(), fstest.MapFS{
		"studbook.csv": {Data: []byte("id,sex,sire,dam,hatch_date,death_date,location\nA,M,,,2001,,HAF\nB,F,A,,2003,2009,HAF\nC,M,A,,2004,,HAF\n")},
		"moves.csv":    {Data: []byte("id,date,from,to,reason\nB,2007,HAF,,sold\nC,2008,,HAF,came back\nC,2006,HAF,,sold\n")},
	}, "studbook.csv", studbook.Options{Today: asOf})
	require.NoError(t, err)
	got, out := back(t, c, "gedcom", "pedigree.ged")
	require.Len(t, got.Moves, 1)
	assert.Equal(t, "B 2007", got.Moves[0].ID+" "+got.Moves[0].Date.Text)
	assert.Equal(t, 2, strings.Count(string(out.Files[0].Content), " FAM\n"))
}

// PLINK holds who descends from whom.
func TestFAMComesBack(t *testing.T) {
	c := roundTrip(t)
	got, out := back(t, c, "fam", "pedigree.fam")
	require.Len(t, got.Birds, len(c.Birds))
	for i, b := range c.Birds {
		g := got.Birds[i]
		assert.Equal(t, b.ID, g.ID)
		if b.Recorded {
			assert.Equal(t, b.Sex, g.Sex)
		}
		for k, side := range []studbook.Parentage{b.Sire, b.Dam} {
			id, _ := side.Known()
			gotID, _ := []studbook.Parentage{g.Sire, g.Dam}[k].Known()
			assert.Equal(t, id, gotID, b.ID)
		}
	}
	assert.Contains(t, out.Lost, "1 uncertain parent written as unknown: the format has no possible parents")
}

// The example colony has uncertain parents, moves and bonds in numbers.
func TestExampleComesBack(t *testing.T) {
	c, err := studbook.Read(t.Context(), os.DirFS("../../../examples/harrow-fell"), "studbook.csv", studbook.Options{Today: asOf})
	require.NoError(t, err)
	for kind, file := range map[string]string{"studbook": "studbook.csv", "xlsx": "colony.xlsx", "gedcom": "pedigree.ged"} {
		got, _ := back(t, c, kind, file)
		require.Len(t, got.Birds, len(c.Birds))
		for i, b := range c.Birds {
			g := got.Birds[i]
			g.Line, b.Line = 0, 0
			require.Equal(t, b, g, kind)
		}
	}
}

// The folder itself, with its remarks, comes in whole.
func TestFolderWithRemarks(t *testing.T) {
	folder := os.DirFS("../../../examples/harrow-fell")
	want, err := studbook.Read(t.Context(), folder, "studbook.csv", studbook.Options{})
	require.NoError(t, err)
	res, err := Import(t.Context(), folder, "studbook.csv", Options{Today: asOf + 700, FileDay: asOf + 700})
	require.NoError(t, err)
	require.NotNil(t, res.Colony, "%v %v", res.Report.Stops, res.Report.Findings)
	assert.Len(t, res.Colony.Birds, len(want.Birds))
	assert.Len(t, res.Colony.Moves, len(want.Moves))
	assert.Len(t, res.Colony.Bonds, len(want.Bonds))
	assert.Len(t, res.Colony.Clutches, len(want.Clutches))
	assert.Len(t, res.Colony.Institutions, len(want.Institutions))
}

// Columns that are the keepers' own come back with the rest.
func TestColumnsOfOnesOwnComeBack(t *testing.T) {
	c, err := studbook.Read(t.Context(), fstest.MapFS{"studbook.csv": {Data: []byte("id,sex,sire,dam,Weight g,Pen\nA,M,,,710,\nB,F,,,,P 2\n")}}, "studbook.csv", studbook.Options{Today: asOf})
	require.NoError(t, err)
	for kind, file := range map[string]string{"studbook": "studbook.csv", "xlsx": "colony.xlsx"} {
		got, out := back(t, c, kind, file)
		assert.Equal(t, c.Aside, got.Aside, kind)
		if kind == "studbook" {
			described, err := memory(out.Files).ReadFile("datapackage.json")
			require.NoError(t, err)
			assert.Contains(t, string(described), `"name": "Weight g"`)
		}
	}
}

// Chosen birds come with their ancestors and with nobody else.
func TestAncestorsAlone(t *testing.T) {
	got, _ := back(t, roundTrip(t), "studbook", "studbook.csv", "A3")
	var names []string
	for _, b := range got.Birds {
		names = append(names, b.ID)
	}
	assert.Equal(t, []string{"A1", "A2", "A3"}, names)
	assert.Len(t, got.Bonds, 2)
	assert.Empty(t, got.Moves)
	_, err := Export(t.Context(), roundTrip(t), "fam", []string{"nobody"}, asOf)
	assert.ErrorContains(t, err, `no bird of the studbook is called "nobody"`)
	_, err = Export(t.Context(), roundTrip(t), "pdf", nil, asOf)
	assert.ErrorContains(t, err, "use studbook, xlsx, fam")
}

// Worked by hand: A3 is a chick of two unrelated birds, so its kinship with
// each is a quarter and with itself a half; by the design of Matrix Market the
// lower triangle is listed, from 1.
func TestKinshipMatrix(t *testing.T) {
	out, err := Export(t.Context(), roundTrip(t), "kinship", []string{"A3"}, asOf)
	require.NoError(t, err)
	require.Len(t, out.Files, 2)
	assert.Equal(t, "id,A1,A2,A3\nA1,0.5,0,0.25\nA2,0,0.5,0.25\nA3,0.25,0.25,0.5\n", string(out.Files[0].Content))
	assert.Equal(t, `%%MatrixMarket matrix coordinate real symmetric
% kinship on 2024-12-31; the birds in order:
% A1
% A2
% A3
3 3 5
1 1 0.5
2 2 0.5
3 1 0.25
3 2 0.25
3 3 0.5
`, string(out.Files[1].Content))
}

func TestGraph(t *testing.T) {
	out, err := Export(t.Context(), roundTrip(t), "dot", []string{"A4"}, asOf)
	require.NoError(t, err)
	got := string(out.Files[0].Content)
	assert.Contains(t, got, `"A1" [label="A1 Ash", shape=box, color=gray50, fontcolor=gray30];`)
	assert.Contains(t, got, `"A1" -> "A4" [style=dashed, label="0.7"];`)
	assert.Contains(t, got, `"A2" -> "A4";`)
	assert.NotContains(t, got, "A5")
}

// TestIDsThatPLINKCannotHold: no two birds become one.
func TestIDsThatPLINKCannotHold(t *testing.T) {
	c, err := studbook.Read(t.Context(), fstest.MapFS{
		"studbook.csv": {Data: []byte("id,sex,sire,dam,hatch_date\nA 1,M,,,2001\nA_1,F,,,2001\n\"A,1\",F,,,2002\n0,M,,,2003\nB,F,0,A_1,2004\n")},
	}, "studbook.csv", studbook.Options{Today: asOf})
	require.NoError(t, err)
	out, err := Export(t.Context(), c, "fam", nil, asOf)
	require.NoError(t, err)
	assert.Equal(t, "0\tA_1_2\t0\t0\t1\t-9\n0\tA_1\t0\t0\t2\t-9\n0\tA_1_3\t0\t0\t2\t-9\n0\tbird_0\t0\t0\t1\t-9\n0\tB\tbird_0\tA_1\t2\t-9\n", string(out.Files[0].Content))
}
