package exchange

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
)

const firstExport = "id;name;sex;sire;dam;hatched;died;left;reason;location\nA;Ash;M;;;2001-01-01;;2010-01-01;moved to Q;H\nB;Elm;F;;;2001-01-01;dead;;;H\nC;;M;A;B;2005-01-01;;;;H\n"

// folderOf imports a first export and returns the folder.
func folderOf(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "colony")
	require.NoError(t, Create(dir, WithBase(imported(t, "t.csv", []byte(firstExport), Mapping{}).Files)))
	require.True(t, FromImport(dir))
	return dir
}

// merged lays a newer export over a folder.
func merged(t *testing.T, dir, text, keep string) *Merged {
	t.Helper()
	res, err := Import(t.Context(), memory{{"t.csv", []byte(text)}}, "t.csv", Options{Today: asOf + 40, FileDay: asOf + 40})
	require.NoError(t, err)
	require.Empty(t, res.Report.Stops)
	m, err := Merge(t.Context(), os.DirFS(dir), res, keep, asOf+40)
	require.NoError(t, err)
	return m
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
	assert.Equal(t, []string{"E"}, m.New)
	assert.Equal(t, []string{"C"}, m.Gone)
	assert.Contains(t, m.Changes, Change{"studbook.csv", "B", "death_date", "[2004-09-03..2024-12-31]", "2012-02-02"}, "120 days before its chick")
	for _, x := range m.Files {
		require.NoError(t, os.WriteFile(filepath.Join(dir, filepath.FromSlash(x.Name)), x.Content, 0o666))
	}
	c, err := studbook.Read(t.Context(), os.DirFS(dir), "studbook.csv", studbook.Options{})
	require.NoError(t, err)
	assert.Len(t, c.Birds, 4, "C is kept")
	require.Len(t, c.Moves, 1)
	assert.Equal(t, "2011-01-01", c.Moves[0].Date.Text, "the move of another day took the place of the old one")
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
