package web

import (
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
)

// TestWhereAFaultIsMended: the form of the bird whose cell is wrong, where no other
// bird can be meant.
func TestWhereAFaultIsMended(t *testing.T) {
	for _, x := range []struct{ column, bird, want string }{
		{"hatch_date", "A1", "/record/correction?bird=A1"},
		{"sex", "A1", "/record/sex?bird=A1"},
		{"dam", "A 1", "/record/parent?bird=A+1"},
		{"id", "A1", ""},
		{"hatch_date", "", ""},
	} {
		assert.Equal(t, x.want, (&visit{}).mend(studbook.Finding{Column: x.column, Bird: x.bird}), "%s of %q", x.column, x.bird)
	}
}

// TestAPairIsWrittenDown: what is wrong is told on every page, and of two birds that
// seem to be a pair the form of their bond has both.
func TestAPairIsWrittenDown(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "studbook.csv"), []byte("id,sex,sire,dam,hatch_date\nA1,M,,,2015\nA2,F,,,2015\nA3,F,A1,A2,2022\n"), 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "programme.toml"), []byte("current_to = \"2026-05-01\"\n"), 0o600))
	c := serve(t, Config{Studbook: filepath.Join(dir, "studbook.csv")})
	assert.Contains(t, c.page("/"), `<span class="amount">2 warnings</span>`, "as /data has them")
	assert.Contains(t, c.page("/data"), `href="/record/bond?female=A2&amp;male=A1"`)
}

// TestOneCountOfWhatIsWrong: the menu counts what the page about the files has, with what
// only the pedigree shows.
func TestOneCountOfWhatIsWrong(t *testing.T) {
	c := serve(t, Config{})
	page := c.page("/data")
	said := regexp.MustCompile(`sound, with ([0-9]+ warnings?)`).FindStringSubmatch(page)
	require.NotNil(t, said)
	assert.Contains(t, page, `<span class="amount">`+said[1]+`</span>`)
	assert.Contains(t, c.page("/birds"), `<span class="amount">`+said[1]+`</span>`)
}

// TestTheWrongCellIsShown: not the same letters within another.
func TestTheWrongCellIsShown(t *testing.T) {
	lines := []string{"female,male,since", "A13,B3,3.4.2019", "A1 ,B1,x\r", "ABC,,"}
	for _, x := range []struct {
		line          int
		wrong, before string
	}{
		{1, "male", "female,"}, {1, "since", "female,male,"}, {2, "3.4.2019", "A13,B3,"}, {2, "3", "A13,B3,"}, {3, "x", "A1 ,B1,"}, {4, "B", "A"},
	} {
		got := lineAt(lines, x.line, x.wrong)
		assert.Equal(t, []string{x.before, x.wrong}, []string{got.Before, got.Wrong}, "%s in line %d", x.wrong, x.line)
	}
	assert.Equal(t, &sourceLine{Number: 4, Before: "ABC,,"}, lineAt(lines, 4, "nothing"))
	assert.Nil(t, lineAt(lines, 5, "x"))
}

// TestAFaultIsMendedFromThePage: the page leads to the form, which writes though the
// files have the error, and tells when they have changed.
func TestAFaultIsMendedFromThePage(t *testing.T) {
	file := filepath.Join(t.TempDir(), "studbook.csv")
	require.NoError(t, os.WriteFile(file, []byte("id,name,sex,sire,dam,hatch_date\nA1,Ash,F,,,3.4.2019\n"), 0o666))
	c := serve(t, Config{Studbook: file})
	page := c.page("/data")
	assert.Contains(t, page, `href="/record/correction?bird=A1"`)
	before := c.page("/state")
	assert.Contains(t, page, `data-state="`+before+`"`)
	status, shown, _ := c.tell("/record/correction", "bird", "A1", "hatch_date", "2019-04-03")
	require.Equal(t, http.StatusOK, status)
	_, done, _ := c.tell("/record/correction", "bird", "A1", "hatch_date", "2019-04-03", "seal", sealField.FindStringSubmatch(shown)[1])
	assert.Contains(t, done, "Written down")
	assert.NotEqual(t, before, c.page("/state"))
	assert.Contains(t, c.page("/data"), "The files are sound")
	assert.NotContains(t, serve(t, Config{Studbook: file, ReadOnly: true}).page("/data"), "Put it right here")
}
