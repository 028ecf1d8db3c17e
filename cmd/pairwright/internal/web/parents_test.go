package web

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/examples"
)

// TestKinshipsAreWrittenDown: the page of the founders, to which that of all birds typed
// leads, leads to the form with what was found of two filled in. A and B have one allele in
// common at each of 24 markers, as parent and chick have.
func TestKinshipsAreWrittenDown(t *testing.T) {
	birds, genotypes := "id,sex,sire,dam,hatch_date,location,origin\n", "id"
	alike := func(what string) string { return strings.Repeat(","+what, 24) + "\n" }
	for k := range 24 {
		genotypes += fmt.Sprintf(",M%02d", k)
	}
	genotypes += "\n"
	for k, id := range []string{"A", "B", "C", "D", "E", "F"} {
		birds += id + ",U,wild,wild,2015,H,wild\n"
		genotypes += id + alike([]string{"1/2", "1/3", "4/5", "6/7", "8/9", "10/11"}[k])
	}
	dir := t.TempDir()
	for name, text := range map[string]string{"studbook.csv": birds, "genotypes.csv": genotypes} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
	}
	c := serve(t, Config{Studbook: filepath.Join(dir, "studbook.csv")})
	assert.Contains(t, c.page("/parents"), `href="/parents?founder-kin=true"`)
	const form = "/record/kinship?bird=A&amp;kinship=0.25&amp;other=B"
	assert.Contains(t, c.page("/parents?founder-kin=true"), `href="`+form+`">Write down the kinship of A and B`)
	assert.Contains(t, c.page("/record/kinship?bird=A&kinship=0.25&other=B"), `value="0.25"`)
}

// TestParentsAreWrittenDown: the page of a bird that was typed leads to who its parents are
// by DNA, that to the form with them filled in, and once they are written down to nothing.
func TestParentsAreWrittenDown(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, examples.HarrowFell()))
	c := serve(t, Config{Studbook: filepath.Join(dir, "studbook.csv")})
	assert.Contains(t, c.page("/bird/C0390"), `href="/parents?bird=C0390"`)
	assert.NotContains(t, c.page("/bird/C0734"), "/parents", "it was not typed")
	const form = "/record/parent?bird=C0390&amp;sire=C0193"
	assert.Contains(t, c.page("/parents?bird=C0390"), `href="`+form+`"`)
	assert.Contains(t, c.page("/record/parent?bird=C0390&sire=C0193"), `value="C0193"`)
	assert.NotContains(t, c.page("/parents?bird=C0390&as-of=2020-01-01"), form, "nothing is written down in the past")

	book := filepath.Join(dir, "studbook.csv")
	raw, err := os.ReadFile(book)
	require.NoError(t, err)
	require.Contains(t, string(raw), "C0193=0.7; C0272=0.3")
	written := strings.Replace(string(raw), "C0193=0.7; C0272=0.3", "C0193", 1)
	require.NoError(t, os.WriteFile(book, []byte(written), 0o644))
	require.Eventually(t, func() bool {
		return strings.Contains(c.page("/parents?bird=C0390"), "The sire is") && !strings.Contains(c.page("/parents?bird=C0390"), form)
	},
		time.Minute, 100*time.Millisecond)
}
