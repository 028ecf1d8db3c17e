package exchange

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/charmap"

	"pairwright/pedigree/studbook"
)

const firstExport = "id;name;sex;sire;dam;hatched;died;left;reason;location\nA;Ash;M;;;2001-01-01;;2010-01-01;moved to Q;H\nB;Elm;F;;;2001-01-01;dead;;;H\nC;;M;A;B;2005-01-01;;;;H\n"

// folderOf imports a first export and returns the folder.
func folderOf(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "colony")
	require.NoError(t, Create(dir, withBase(imported(t, "t.csv", []byte(firstExport), Mapping{}).Files)))
	require.True(t, FromImport(dir))
	return dir
}

// merged lays a newer export over a folder.
func merged(t *testing.T, dir, text, keep string) *Merged {
	t.Helper()
	res, err := Import(t.Context(), memory{{"t.csv", []byte(text)}}, "t.csv", Options{Today: asOf + 40, FileDay: asOf + 40, Over: os.DirFS(dir)})
	require.NoError(t, err)
	require.Empty(t, res.Report.Stops)
	m, err := Merge(t.Context(), os.DirFS(dir), res, keep, asOf+40)
	require.NoError(t, err)
	return m
}

// write does what a merge says.
func write(t *testing.T, dir string, m *Merged) {
	t.Helper()
	for _, x := range m.Files {
		require.NoError(t, os.WriteFile(filepath.Join(dir, filepath.FromSlash(x.Name)), x.Content, 0o666))
	}
}

func edit(t *testing.T, dir, name, text string) {
	t.Helper()
	require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666))
}

// The same export on a later day changes nothing, though the day of a death is
// unknown up to the day of the file.
func TestSameExportAgain(t *testing.T) {
	m := merged(t, folderOf(t), firstExport, "")
	assert.Empty(t, m.New)
	assert.Empty(t, m.Gone)
	assert.Empty(t, m.Changes)
	assert.Empty(t, m.Conflicts)
}

// Cells, moves and birds that the newer export has otherwise.
func TestNewerExport(t *testing.T) {
	dir := folderOf(t)
	m := merged(t, dir, "id;name;sex;sire;dam;hatched;died;left;reason;location\nA;Ash;M;;;2001-01-01;;2011-01-01;moved to Q;H\nB;Elm;F;;;2001-01-01;2012-02-02;;;H\nE;;F;A;B;2006-01-01;;;;H\n", "")
	assert.Equal(t, []NewBird{{"E", "", "F", "A", "B", "2006-01-01", "H"}}, m.New)
	assert.Equal(t, []string{"C"}, m.Gone)
	assert.Contains(t, m.Changes, Change{"studbook.csv", "B", "death_date", "[2004-09-03..2024-12-31]", "2012-02-02"}, "120 days before its chick")
	write(t, dir, m)
	c, err := studbook.Read(t.Context(), os.DirFS(dir), "studbook.csv", studbook.Options{})
	require.NoError(t, err)
	assert.Len(t, c.Birds, 4, "C is kept")
	require.Len(t, c.Moves, 1)
	assert.Equal(t, "2011-01-01", c.Moves[0].Date.Text, "the move of another day took the place of the old one")
}

// The sheet of one place, whose parents live elsewhere, changes its own birds alone, and
// the next export of all is compared with all that is known.
func TestSheetOfOnePlace(t *testing.T) {
	const head = "id;name;sex;sire;dam;hatched;died;left;reason;location\n"
	dir := folderOf(t)
	part := head + "C;Cob;M;A;Elm;2005-01-01;;;;H\nD;;F;a;B;2004-12-30;;;;H\nE;;F;A=0.7; B=0.3;B;2004-12-30;;;;H\n"
	m := merged(t, dir, strings.Replace(part, "A=0.7; B=0.3", "\"A=0.7; X=0.3\"", 1), "")
	assert.Contains(t, m.Findings[0].Message, "has no row of its own")
	m = merged(t, dir, strings.Replace(part, "A=0.7; B=0.3", "\"A=0.7\"", 1), "")
	assert.True(t, m.Part)
	assert.Equal(t, []NewBird{{"D", "", "F", "A", "B", "2004-12-30", "H"}, {"E", "", "F", "A=0.7", "B", "2004-12-30", "H"}}, m.New)
	assert.Equal(t, []string{"A", "B"}, m.Gone)
	assert.Equal(t, []Change{{"studbook.csv", "C", "name", "", "Cob"}}, m.Changes, "no move of A's is lost, and a dam by her name is the bird of the folder")
	assert.Empty(t, m.Conflicts)
	assert.Equal(t, []string{"moves.csv"}, m.Silent)
	assert.NotContains(t, Names(m.Files), MappingFile)
	write(t, dir, m)
	c, err := studbook.Read(t.Context(), os.DirFS(dir), "studbook.csv", studbook.Options{})
	require.NoError(t, err)
	assert.Len(t, c.Moves, 1)
	assert.Equal(t, []studbook.Candidate{{ID: "A", Weight: 0.7}}, c.Birds[4].Sire.Candidates)

	m = merged(t, dir, "id;died\nA;\nC;2011-11-11\n", "")
	assert.Equal(t, []Change{{"studbook.csv", "C", "death_date", "", "2011-11-11"}}, m.Changes, "a sheet of deaths alone says nothing of parents and sexes")
	assert.Empty(t, m.Conflicts)

	m = merged(t, dir, firstExport+"D;;F;A;B;2004-12-30;;;;H\nE;;F;A=0.7;B;2004-12-30;;;;H\n", "")
	assert.Empty(t, m.New)
	assert.Empty(t, m.Gone)
	assert.Equal(t, []Change{{"studbook.csv", "C", "name", "Cob", ""}}, m.Changes)
	assert.Empty(t, m.Conflicts)
}

// A folder that no import made takes a sheet as well: what it has blank is filled, what
// differs is settled by a word, and all else stays byte for byte.
func TestSheetOverAnyFolder(t *testing.T) {
	dir := t.TempDir()
	rows := "\uFEFF# ours\r\nID;Name;Sex;Sire;Dam;Hatch_date;Death_date;cage\r\nA;Ash;M;;;2001-01-01;;\"7; left\"\r\n\r\n# a pair\r\nB;Elm;F;;;2001-01-01;;8\r\n# the end\r\n"
	edit(t, dir, "studbook.csv", rows)
	edit(t, dir, "programme.toml", "current_to = \"2004-01-01\" # ours\n")
	require.True(t, IsColony(dir))
	require.False(t, FromImport(dir))
	const sheet = "id;name;sex;sire;dam;hatched;died\nB;Esche;F;;;2001-01-01;2004-12-31\nC;;M;A;B;2004-03-03;\n"
	m := merged(t, dir, sheet, "")
	assert.True(t, m.Open())
	assert.True(t, m.First)
	assert.Equal(t, []string{"A"}, m.Gone)
	assert.Equal(t, []Change{{"studbook.csv", "B", "death_date", "", "2004-12-31"}}, m.Changes)
	assert.Equal(t, []Conflict{{"studbook.csv", "B", "name", "", "Elm", "Esche", ""}}, m.Conflicts)

	write(t, dir, merged(t, dir, sheet, "ours"))
	now, err := os.ReadFile(filepath.Join(dir, "studbook.csv"))
	require.NoError(t, err)
	assert.Equal(t, strings.Replace(rows, "2001-01-01;;8\r\n", "2001-01-01;2004-12-31;8\r\nC;;M;A;B;2004-03-03;;\r\n", 1), string(now))
	settings, err := os.ReadFile(filepath.Join(dir, "programme.toml"))
	require.NoError(t, err)
	assert.Equal(t, "current_to = \"2004-12-31\" # ours\n", string(settings), "else the answers would be without the death")
	assert.NoDirExists(t, filepath.Join(dir, Base))
	again := merged(t, dir, sheet, "ours")
	assert.Empty(t, again.Changes)
	assert.Empty(t, again.Files, "nothing is new")
}

// The files of a folder are read as answers read them: in their encoding, with their
// delimiter, headings and names of columns, and below a line that names the delimiter.
func TestFolderIsReadAsAnswersReadIt(t *testing.T) {
	const whole = "id,name,sex,sire,dam,hatch_date,location\nA,Zoé,M,,,2001-01-01,H\nB,Škoda,F,,,2002-02-02,H\n"
	const sheet = whole + "C,,F,A,B,2005-01-01,H\n"
	western, err := charmap.Windows1252.NewEncoder().String(whole)
	require.NoError(t, err)
	put := func(text, was, is string) string { return strings.ReplaceAll(text, was, is) }
	for name, x := range map[string]struct{ studbook, settings, after string }{
		"Windows-1252":        {western, "", "\uFEFF" + sheet},
		"a heading apart":     {put(whole, "hatch_date", "Hatch date"), "", put(sheet, "hatch_date", "Hatch date")},
		"a heading of theirs": {put(whole, "hatch_date", "Schlupf"), "[columns]\nhatch_date = \"Schlupf\"\n", put(sheet, "hatch_date", "Schlupf")},
		"its delimiter named": {"sep=;\n" + put(whole, ",", ";"), "", "sep=;\n" + put(sheet, ",", ";")},
		"many bars":           {put(whole, "Zoé", "|||||||||"), "", put(sheet, "Zoé", "|||||||||")},
		"lines of Macintosh":  {put(whole, "\n", "\r"), "", sheet},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			edit(t, dir, "studbook.csv", x.studbook)
			edit(t, dir, "programme.toml", x.settings)
			m := merged(t, dir, sheet, "ours")
			assert.Empty(t, m.Findings)
			assert.Len(t, m.New, 1)
			require.Len(t, m.Files, 1)
			assert.Equal(t, x.after, string(m.Files[0].Content))
		})
	}
}

// TestBlankAgain: of a bird that the export lists, a death that it has no more is taken back,
// be it the only one that it had; other columns that are blank all down say nothing, and that
// is told.
func TestBlankAgain(t *testing.T) {
	const head = "id;name;sex;sire;dam;hatched;died;location\n"
	dir := filepath.Join(t.TempDir(), "colony")
	first := head + "A;Ash;M;;;2001-01-01;2010-02-03;H\nB;;F;;;2001-01-01;;H\n"
	require.NoError(t, Create(dir, withBase(imported(t, "t.csv", []byte(first), Mapping{}).Files)))
	death := Change{"studbook.csv", "A", "death_date", "2010-02-03", ""}

	m := merged(t, dir, head+"A;;M;;;2001-01-01;;H\nB;;F;;;2001-01-01;;H\n", "")
	assert.Equal(t, []Change{death}, m.Changes)
	assert.Equal(t, []Change{{"studbook.csv", "A", "name", "Ash", ""}}, m.Kept)

	m = merged(t, dir, "id;name;sex;hatched;status\nA;Ash;M;2001-01-01;alive\n", "")
	assert.Equal(t, []Change{death}, m.Changes, "a status tells of deaths too")
	m = merged(t, dir, "id;name;sex;hatched\nA;Ash;M;2001-01-01\n", "")
	assert.Empty(t, m.Changes, "a file that has no place for deaths tells none")
	assert.Empty(t, m.Kept)

	edit(t, dir, "studbook.csv", "id,name,sex,hatch_date,death_date\nA,Ash,M,2001-01-01,2010-02\n")
	m = merged(t, dir, head+"A;;M;;;2001-01-01;;H\n", "")
	assert.Equal(t, []Conflict{{"studbook.csv", "A", "death_date", "2010-02-03", "2010-02", "", ""}}, m.Conflicts)
}

// What was recorded here stays, and what changed on both sides is settled by a
// word alone.
func TestConflicts(t *testing.T) {
	dir := folderOf(t)
	head := "id,name,band,sex,sire,dam,hatch_date,death_date,location,notes,our own\n"
	edit(t, dir, "studbook.csv", "# our remark\n"+head+"A,Asch,,M,,,2001-01-01,,Q,,x\nC,,,M,A,,2005-01-01,,H,,\nZ,,,F,,,2009-01-01,,H,,\n")
	newer := "id;name;sex;sire;dam;hatched;died;left;reason;location\nA;Esche;M;;;2001-01-01;;2010-01-01;moved to Q;H\nB;Elm;F;;;2001-01-01;dead;;;H\nC;;M;A;B;2005-01-02;;;;H\n"
	m := merged(t, dir, newer, "")
	assert.True(t, m.Open())
	require.Len(t, m.Conflicts, 2)
	assert.Equal(t, Conflict{"studbook.csv", "A", "name", "Ash", "Asch", "Esche", ""}, m.Conflicts[0])
	assert.Equal(t, "B", m.Conflicts[1].Row, "deleted here, and still in the export")
	assert.Equal(t, []Change{{"studbook.csv", "C", "hatch_date", "2005-01-01", "2005-01-02"}}, m.Changes)

	for keep, want := range map[string]string{
		"ours":   "# our remark\n" + head + "A,Asch,,M,,,2001-01-01,,Q,,x\nC,,,M,A,,2005-01-02,,H,,\nZ,,,F,,,2009-01-01,,H,,\n",
		"theirs": "# our remark\n" + head + "A,Esche,,M,,,2001-01-01,,Q,,x\nC,,,M,A,,2005-01-02,,H,,\nZ,,,F,,,2009-01-01,,H,,\nB,Elm,,F,,,2001-01-01,[2004-09-04..2025-02-09],H,,\n",
	} {
		m := merged(t, dir, newer, keep)
		assert.False(t, m.Open(), "%v", m.Findings)
		for _, f := range m.Files {
			if f.Name == "studbook.csv" {
				assert.Equal(t, want, string(f.Content), keep)
			}
		}
	}
}

// Rows that were changed on one side and deleted on the other, moves here, are
// settled by a word alone.
func TestConflictsOfRows(t *testing.T) {
	const moved = "id,date,from,to,reason\nA,2010-01-01,H,Q,moved to Q\n"
	// B leaves in each, so that the export has moves.
	left := strings.Replace(firstExport, "dead;;", ";2015-01-01;moved to Q", 1)
	gone := strings.Replace(left, "2010-01-01;moved to Q", ";", 1)
	other := strings.Replace(left, "2010-01-01;moved to Q", "2010-01-01;moved to R", 1)
	for _, tt := range []struct {
		name, here, newer string
		want              []Conflict
		theirs            int // moves of A that are left where theirs are kept
	}{
		{"changed here, gone there", strings.Replace(moved, "Q,moved", "S,moved", 1), gone, []Conflict{{"moves.csv", "A 2010-01-01", "", "A,2010-01-01,H,Q,moved to Q", "A,2010-01-01,H,S,moved to Q", "deleted", ""}}, 0},
		{"deleted here, changed there", "id,date,from,to,reason\n", other, []Conflict{{"moves.csv", "A 2010-01-01", "", "A,2010-01-01,H,Q,moved to Q", "deleted", "A,2010-01-01,H,R,moved to R", ""}}, 1},
		{"deleted here, as it was there", "id,date,from,to,reason\n", firstExport, nil, 0},
		{"a column of our own, gone there", "id,date,from,to,reason,van\nA,2010-01-01,H,Q,moved to Q,\n", gone, nil, 0},
	} {
		t.Run(tt.name, func(t *testing.T) {
			dir := folderOf(t)
			base, err := os.ReadFile(filepath.Join(dir, Base, "moves.csv"))
			require.NoError(t, err)
			require.Equal(t, moved, string(base))
			edit(t, dir, "moves.csv", tt.here)
			var rows []Conflict
			for _, c := range merged(t, dir, tt.newer, "").Conflicts {
				if c.File == "moves.csv" {
					rows = append(rows, c)
				}
			}
			assert.Equal(t, tt.want, rows)
			for _, f := range merged(t, dir, tt.newer, "theirs").Files {
				if f.Name == "moves.csv" {
					assert.Equal(t, tt.theirs, strings.Count(string(f.Content), "\nA,"), string(f.Content))
				}
			}
		})
	}
}

// A bird that the newer export has under another id is there twice if nobody asks.
func TestChangedIDs(t *testing.T) {
	const head = "id;name;band;sex;sire;dam;hatched;location\n"
	first := head + "A1;;;M;;;2001-01-01;H\nB;;7-12;F;;;2001-01-01;H\nC;Cob;;M;A1;B;2005-01-01;H\nD;;;M;A1;B;2005-01-01;H\nE;;;M;A1;B;2005-01-01;H\n"
	for _, tt := range []struct{ was, now, want string }{
		{"A1;", "a01;", `"a01" is new in the export and "A1" is gone from it, with an id that differs in case, zeros or look-alike signs alone`},
		{"B;", "B-2;", `"B-2" is new in the export and "B" is gone from it, with the same band`},
		{"C;", "X;", `"X" is new in the export and "C" is gone from it, with the same name, sex, parents and hatch date`},
		{"D;;;M;A1;B;2005-01-01", "Y;;;M;A1;B;2007-01-01", ""},
	} {
		dir := filepath.Join(t.TempDir(), "colony")
		require.NoError(t, Create(dir, withBase(imported(t, "t.csv", []byte(first), Mapping{}).Files)))
		newer := strings.ReplaceAll(first, tt.was, tt.now)
		var told []string
		for _, f := range merged(t, dir, newer, "").Findings {
			if f.Code == "id_changed" {
				told = append(told, f.Message)
			}
		}
		if tt.want == "" {
			assert.Empty(t, told)
			continue
		}
		require.Len(t, told, 1, tt.now)
		assert.Contains(t, told[0], tt.want)
		assert.True(t, merged(t, dir, newer, "").Open())
		assert.False(t, merged(t, dir, newer, "ours").Open(), "they are two, somebody said")
	}
}
