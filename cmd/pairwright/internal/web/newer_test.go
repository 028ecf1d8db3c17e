package web

import (
	"html"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestANewerExportIsLaidOverTheOpenColony: it is shown cell by cell first, taken as
// one change, and what both sides changed is settled by a person alone.
func TestANewerExportIsLaidOverTheOpenColony(t *testing.T) {
	imports := t.TempDir()
	c := serve(t, Config{Imports: imports})
	assert.NotContains(t, c.page("/open"), "a newer export", "the example was not imported")
	c.send("/import", "birds.csv", strangers)
	status, text := c.send("/import", "", "", "do", "write")
	require.Equal(t, http.StatusOK, status, text)
	assert.Contains(t, c.page("/open"), "a newer export of the open one")
	studbook := filepath.Join(imports, "birds", "studbook.csv")
	book := func() string {
		raw, err := os.ReadFile(studbook)
		require.NoError(t, err)
		return string(raw)
	}
	before := book()
	seen := func(page string) string {
		m := regexp.MustCompile(`name="seen" value="(\w+)"`).FindStringSubmatch(page)
		require.NotNil(t, m, page)
		return m[1]
	}

	mapping := func(page string) string {
		return html.UnescapeString(regexp.MustCompile(`(?s)<textarea name="mapping" hidden>(.*?)</textarea>`).FindStringSubmatch(page)[1])
	}

	// The same again changes nothing.
	_, page := c.send("/import", "again.csv", strangers, "into", "open")
	assert.Contains(t, page, "The open colony has all that is in it already")
	assert.NotContains(t, page, `value="write"`)

	// One is new, one has another date, one is gone.
	newer := strings.Replace(strings.Replace(strangers, "R1;m;;;03.05.2015\n", "", 1), "17.06.2016", "18.06.2016", 1) + "R4;m;;R2;01.06.2021\n"
	_, page = c.send("/import", "newer.csv", newer, "into", "open")
	for _, want := range []string{"What it changes in", "New birds", "2016-06-18", "Gone from the export", "Nothing has been written yet"} {
		assert.Contains(t, page, want)
	}
	assert.Equal(t, before, book())
	_, unseen := c.send("/import", "", "", "into", "open", "mapping", mapping(page), "do", "write", "seen", "1")
	assert.Contains(t, unseen, "Something has changed since this was shown")
	assert.Equal(t, before, book())
	status, page = c.send("/import", "", "", "into", "open", "mapping", mapping(page), "do", "write", "seen", seen(page))
	require.Equal(t, http.StatusOK, status)
	assert.Contains(t, page, "newer.csv", "what was written is told")
	for _, line := range []string{"R1,,,M", "R2,,,F,,,2016-06-18", "R4,,,M,,R2,2021-06-01"} {
		assert.Contains(t, book(), line)
	}

	// Another's sheet is read by itself, and stays so.
	_, page = c.send("/import", "sheet.csv", "Bird;Sex;Mother;Born\nR5;w;R2;2022-01-01\n", "into", "open")
	assert.Contains(t, page, "R5")
	assert.Contains(t, page, "Nothing has been written yet")
	_, page = c.send("/import", "", "", "into", "open", "mapping", mapping(page))
	assert.Contains(t, page, `value="write"`)

	// What changed on both sides waits for a person.
	local := strings.Replace(book(), "2021-06-01", "2021-06-03", 1)
	require.NoError(t, os.WriteFile(studbook, []byte(local), 0o600))
	newer = strings.Replace(newer, "01.06.2021", "02.06.2021", 1)
	_, page = c.send("/import", "newest.csv", newer, "into", "open")
	assert.Contains(t, page, "Which side is kept where both have changed?")
	assert.Contains(t, page, "2021-06-03")
	_, open := c.send("/import", "", "", "into", "open", "mapping", mapping(page), "do", "write", "seen", seen(page))
	assert.Contains(t, open, "Which side is kept", "nobody has said it")
	assert.Equal(t, local, book())
	c.send("/import", "", "", "into", "open", "mapping", mapping(page), "do", "write", "seen", seen(page), "keep", "theirs")
	assert.Contains(t, book(), "R4,,,M,,R2,2021-06-02")

	// Only where something may be written.
	status, _ = serve(t, Config{Imports: imports}).send("/import", "newer.csv", newer, "into", "open")
	assert.Equal(t, http.StatusUnprocessableEntity, status, "the example is open")
}

// TestASheetIsLaidOverAnyColony: the sheet of one institution, over a folder that no
// import made.
func TestASheetIsLaidOverAnyColony(t *testing.T) {
	imports := t.TempDir()
	c := serve(t, Config{Imports: imports})
	c.tell("/open", "folder", "copy")
	book := func() string {
		files, err := filepath.Glob(filepath.Join(imports, "*", "studbook.csv"))
		require.NoError(t, err)
		require.Len(t, files, 1)
		raw, err := os.ReadFile(files[0])
		require.NoError(t, err)
		return string(raw)
	}
	before := book()
	assert.Contains(t, c.page("/open"), "the sheet of one of its institutions")
	_, page := c.send("/import", "sheet.csv", "Ring;Name;Sex;Father;Mother;Hatched;Died\nC0398;Peb;m;;;2011-05-21;\nX1;Newling;;Thyme;C0642;2026-09-28;\n", "into", "open")
	for _, want := range []string{"New birds", "X1", "Not in the file", "Which side is kept where the two differ?"} {
		assert.Contains(t, page, want)
	}
	assert.NotContains(t, page, "no bond of theirs", "the folder has them")
	assert.Equal(t, before, book())
	seen := regexp.MustCompile(`name="seen" value="(\w+)"`).FindStringSubmatch(page)
	require.NotNil(t, seen, page)
	mapping := html.UnescapeString(regexp.MustCompile(`(?s)<textarea name="mapping" hidden>(.*?)</textarea>`).FindStringSubmatch(page)[1])
	status, page := c.send("/import", "", "", "into", "open", "mapping", mapping, "do", "write", "seen", seen[1], "keep", "ours")
	require.Equal(t, http.StatusOK, status)
	require.Contains(t, page, "sheet.csv")
	assert.Equal(t, before+"X1,Newling,,U,C0311,C0642,2026-09-28,,,,\n", book(), "and not a byte more")
}
