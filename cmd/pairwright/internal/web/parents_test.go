package web

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/examples"
)

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
