package web

import (
	"archive/zip"
	"bytes"
	"html"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestLetters: from the colony's plan to that of the programme and to its letters, each
// as a page and as a file, with the rules that the plan was asked with.
func TestLetters(t *testing.T) {
	c := serve(t, Config{})
	require.Contains(t, c.page("/plan"), `href="/plan?scope=programme"`)
	plan := c.page("/plan?scope=programme&moves=1")
	link := regexp.MustCompile(`href="(/letters[^"]+)"`).FindStringSubmatch(plan)
	require.NotNil(t, link)
	all := html.UnescapeString(link[1])
	list := c.page(all)
	letters := regexp.MustCompile(`<li><a href="(/letters[^"]+)">([^<]+)</a>`).FindAllStringSubmatch(list, -1)
	assert.Len(t, letters, 9, "one for each institution")
	for _, l := range letters {
		if l[2] != "Harrow Fell Bird Park" {
			continue
		}
		to, err := url.Parse(html.UnescapeString(l[1]))
		require.NoError(t, err)
		assert.Equal(t, "1", to.Query().Get("moves"))
		letter := c.page(to.String())
		assert.Contains(t, letter, "what is asked of Harrow Fell Bird Park (HAF)")
		assert.Contains(t, letter, "birds@harrowfell.example")
		assert.NotContains(t, c.page("/letters?to=HAF&moves=0"), "Ragwort", "nobody moves")
		status, text := c.get(to.String() + "&format=text")
		assert.Equal(t, http.StatusOK, status)
		assert.Contains(t, text, "is asked of Harrow Fell Bird Park (HAF)\n═══")
	}
	status, raw := c.get(all + "&format=html")
	require.Equal(t, http.StatusOK, status)
	archive, err := zip.NewReader(strings.NewReader(raw), int64(len(raw)))
	require.NoError(t, err)
	var names bytes.Buffer
	for _, f := range archive.File {
		names.WriteString(f.Name + " ")
	}
	assert.Contains(t, names.String(), "HAF.html ")
	assert.Len(t, archive.File, 9)
	for path, want := range map[string]int{"/letters?to=NOWHERE": http.StatusNotFound, "/letters?format=xlsx": http.StatusBadRequest, "/letters?keep=x": http.StatusBadRequest} {
		status, _ := c.get(path)
		assert.Equal(t, want, status, path)
	}
}

// TestNoLetters says so where the plan asks nothing of anybody, and offers no files.
func TestNoLetters(t *testing.T) {
	studbook := filepath.Join(t.TempDir(), "studbook.csv")
	require.NoError(t, os.WriteFile(studbook, []byte("id,sex,sire,dam,hatch_date,location\n"), 0o644))
	text := serve(t, Config{Studbook: studbook}).page("/letters")
	assert.Contains(t, text, "There are no letters")
	assert.NotContains(t, text, "Save this")
}
