package web

import (
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
)

// TestWhereAFaultIsMended: the form of the bird whose cell is wrong, where no other
// bird can be meant.
func TestWhereAFaultIsMended(t *testing.T) {
	const file = "# ours\nid;name;sex;hatch_date\nA1;Ash;F;3.4.2019\nA2;\"Fern; old\";M;x\nA3;;M;x\nA3;;M;2019\n"
	lines := strings.Split(file, "\n")
	for _, x := range []struct {
		line         int
		column, want string
	}{
		{3, "hatch_date", "/record/correction?bird=A1"},
		{3, "sex", "/record/sex?bird=A1"},
		{3, "dam", "/record/parent?bird=A1"},
		{3, "id", ""},
		{4, "hatch_date", "/record/correction?bird=A2"},
		{5, "hatch_date", ""}, // there are two of this id
	} {
		assert.Equal(t, x.want, mend(lines, studbook.Finding{File: "studbook.csv", Line: x.line, Column: x.column}), "%d %s", x.line, x.column)
	}
	assert.Empty(t, mend(lines, studbook.Finding{File: "moves.csv", Line: 3, Column: "name"}))
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
