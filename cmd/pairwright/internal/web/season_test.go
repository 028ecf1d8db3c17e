package web

import (
	"html"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/examples"
)

// ownColony writes the example to a folder and serves it from there.
func ownColony(t *testing.T) (c *client, folder string) {
	t.Helper()
	folder = t.TempDir()
	require.NoError(t, os.CopyFS(folder, examples.HarrowFell()))
	return serve(t, Config{Studbook: filepath.Join(folder, "studbook.csv")}), folder
}

// TestBoard: what is to be done, nests and birds, on the day of the files and on one of
// the season; cards are found by a word of theirs.
func TestBoard(t *testing.T) {
	c := serve(t, Config{})
	text := c.page("/")
	assert.Contains(t, text, "Board of Harrow Fell Bird Park")
	assert.Contains(t, text, "Nothing falls due.")
	assert.Equal(t, 13+12, strings.Count(text, `<li class="card`))
	assert.Contains(t, text, `href="/mates?bird=C0734"`)
	text = c.page("/?as-of=2026-05-05")
	assert.Contains(t, text, "Candle the eggs of")
	assert.Contains(t, text, "as it was on 2026-05-05")
	assert.Equal(t, 3, strings.Count(c.page("/?find=mOss"), `<li class="card`), "Moss, Pebble, who would have had her, and the pair whose male would get her")
	status, _ := c.get("/?colony=NOWHERE")
	assert.Equal(t, http.StatusNotFound, status)
}

// season follows a change of a season and returns the address that it leads to.
func (c *client) season(path string) (address, text string) {
	c.t.Helper()
	r, err := c.Get(c.at + path)
	require.NoError(c.t, err)
	defer r.Body.Close()
	page, err := io.ReadAll(r.Body)
	require.NoError(c.t, err)
	require.Equal(c.t, http.StatusOK, r.StatusCode, "%s: %s", path, page)
	return r.Request.URL.RequestURI(), string(page)
}

// keep keeps a season under a name, as the form of its page does.
func (c *client) keep(text, name string) (status int, page string) {
	c.t.Helper()
	form := url.Values{"name": {name}}
	for _, field := range []string{"token", "season"} {
		m := regexp.MustCompile(`name="` + field + `" value="([^"]*)"`).FindStringSubmatch(text)
		require.NotNil(c.t, m, field)
		form.Set(field, html.UnescapeString(m[1]))
	}
	r, err := c.PostForm(c.at+"/season/keep", form)
	require.NoError(c.t, err)
	defer r.Body.Close()
	b, err := io.ReadAll(r.Body)
	require.NoError(c.t, err)
	return r.StatusCode, string(b)
}

// TestOwnSeason makes a season, keeps it, changes it, compares the two, and goes back to
// the best under what is fixed.
func TestOwnSeason(t *testing.T) {
	c, folder := ownColony(t)
	_, text := c.season("/season")
	assert.Contains(t, text, "2 planned pairs and 4 reserves should bring 4.1 on average")
	assert.Contains(t, text, "From the start these pairs keep their eggs: ")
	assert.Contains(t, text, ">planned: up to 2 chicks<")
	assert.Contains(t, text, ">reserve 4: up to 2 chicks<")
	assert.NotContains(t, text, "Side by side", "there is nothing to compare yet")
	assert.NotContains(t, text, "What stands against it")
	_, text = c.season("/season?own=1&do=decision%7C")
	assert.NotContains(t, text, "Side by side", "it is the decision again")

	status, text := c.keep(text, "as decided")
	require.Equal(t, http.StatusOK, status, text)
	kept, err := os.ReadFile(filepath.Join(folder, "plans", "as decided.csv"))
	require.NoError(t, err)
	assert.Contains(t, string(kept), "hatch,C0565; C0573,,2,no,")

	address, text := c.season("/season?own=1&pair=C0741%3BC0154&chicks=2&pair=C0565%3BC0573&chicks=0&fix=C0565%3BC0573&female=C0398&male=C0782&do=bond%7C")
	assert.NotContains(t, address, "do=", "the address is that of the season, not of the change")
	assert.Contains(t, address, "row=bond%7CC0782%3BC0398", "the female first")
	assert.Contains(t, text, "short of the best")
	_, text = c.season(address + "&beside=as+decided")
	assert.Contains(t, text, `<th scope="col">as decided</th>`)
	assert.Contains(t, text, `data-label="as decided">4.1</td>`)

	address, text = c.season(address + "&do=part%7CC0741%3BC0154")
	assert.Contains(t, text, "Keep them together")
	_, text = c.season(address + "&do=keep%7CC0741%3BC0154")
	assert.NotContains(t, text, "Keep them together")
	_, text = c.season(address + "&bird=C0398&to=BRI&do=move%7C")
	assert.Contains(t, text, "Let it stay")
	assert.Contains(t, text, "What stands against it", "he is to live with her, and to move")
	stays, _ := c.season(address + "&do=stay%7CC0398")
	assert.NotContains(t, stays, "move%7C")
	alone, _ := c.season(address + "&do=unpair%7CC0782%3BC0398")
	assert.Contains(t, address, "row=bond%7CC0782%3BC0398")
	assert.NotContains(t, alone, "row=bond%7CC0782%3BC0398")

	address, _ = c.season(address + "&do=best%7C")
	assert.Contains(t, address, "fix=C0565%3BC0573", "what is fixed stays")
	assert.NotContains(t, address, "part%7C", "what is not is decided")
	assert.Contains(t, address, "row=bond%7CC0782%3BC0772")

	// The same name again keeps what was there.
	_, text = c.season("/season?own=1")
	status, _ = c.keep(text, "as decided")
	assert.Equal(t, http.StatusOK, status)
	before, err := os.ReadFile(filepath.Join(folder, "plans", "as decided.csv.before"))
	require.NoError(t, err)
	assert.Equal(t, kept, before)
	_, text = c.season("/season?kept=as+decided")
	assert.Contains(t, text, "Yours: 0.0 chicks")
}

// TestWhoseSeason: the season of any institution, or of the whole programme, is
// what plan says of it, and stays so through a change and its keeping.
func TestWhoseSeason(t *testing.T) {
	c, folder := ownColony(t)
	for of, plan := range map[string]string{"BRI": "/plan?colony=BRI", "programme": "/plan?scope=programme"} {
		_, text := c.season("/season?of=" + of)
		assert.Contains(t, text, `<option value="`+of+`" selected>`)
		assert.Contains(t, text, `href="`+plan+`"`)
		said := regexp.MustCompile(`should bring ([0-9.]+) on average`).FindStringSubmatch(text)
		require.NotNil(t, said, text)
		assert.Contains(t, c.page(plan), "should bring "+said[1]+" on average", of)
		address, changed := c.season("/season?of=" + of + "&own=1&do=decision%7C")
		assert.Contains(t, address, "of="+of)
		assert.Contains(t, changed, said[0])
		status, text := c.keep(changed, "for "+of)
		require.Equal(t, http.StatusOK, status, text)
		assert.Contains(t, text, `<option value="`+of+`" selected>`)
		assert.FileExists(t, filepath.Join(folder, "plans", "for "+of+".csv"))
		assert.Contains(t, text, "Yours: "+said[1]+" chicks")
	}
	status, _ := c.get("/season?of=NOWHERE")
	assert.Equal(t, http.StatusNotFound, status)
}

// TestForecastOfAKeptSeason compares a kept season with the programme as it is.
func TestForecastOfAKeptSeason(t *testing.T) {
	c, folder := ownColony(t)
	assert.NotContains(t, c.page("/forecast"), `name="season"`, "none is kept")
	_, text := c.season("/season?own=1&row=part%7CC0741%3BC0154%7C%7C")
	status, text := c.keep(text, "apart")
	require.Equal(t, http.StatusOK, status, text)
	assert.Contains(t, text, `href="/forecast?season=apart&amp;years=30"`)
	assert.Regexp(t, `(?s)<select id="set-season" name="season">\s*<option value="">none</option><option value="apart">apart</option>`, c.page("/forecast"))
	ask := "/forecast?season=apart&years=3&runs=3"
	page := c.answered(ask)
	assert.Contains(t, page, "C0741")
	assert.Contains(t, page, "as it is")
	assert.NotContains(t, page, "format=csv", "what if has no rows")
	// One that was changed meanwhile is run anew.
	require.NoError(t, os.WriteFile(filepath.Join(folder, "plans", "apart.csv"), []byte("what,birds,to\npart,C0565; C0573,\n"), 0o666))
	for range 200 {
		if page = c.page(ask); strings.Contains(page, "C0565") {
			break
		}
		time.Sleep(100 * time.Millisecond)
	}
	assert.Contains(t, page, "C0565")
	status, text = c.get("/forecast?season=none")
	assert.Equal(t, http.StatusBadRequest, status)
	assert.Contains(t, text, "no season of that name is kept")
	status, _ = c.get("/forecast?season=..%2Fstudbook")
	assert.Equal(t, http.StatusBadRequest, status)
}

// TestSeasonsAskedWrongly: nothing leaves the folder, and each fault is said.
func TestSeasonsAskedWrongly(t *testing.T) {
	c, folder := ownColony(t)
	for path, want := range map[string]int{
		"/season?own=1&pair=A%3BB":                               http.StatusBadRequest,
		"/season?own=1&pair=C0565%3BC0573&chicks=many":           http.StatusBadRequest,
		"/season?own=1&row=hop%7CC0565%7C%7C":                    http.StatusBadRequest,
		"/season?own=1&row=move%7CC0565%3BC0573%7CBRI%7C":        http.StatusBadRequest,
		"/season?own=1&female=C0565&do=bond%7C":                  http.StatusBadRequest,
		"/season?own=1&female=C0565&male=nobody&do=bond%7C":      http.StatusNotFound,
		"/season?own=1&bird=C0565&do=move%7C":                    http.StatusBadRequest,
		"/season?own=1&wings=2":                                  http.StatusBadRequest,
		"/season?kept=..%2Fstudbook":                             http.StatusBadRequest,
		"/season?kept=none":                                      http.StatusNotFound,
		"/season?own=1&beside=..%2F..%2Fetc%2Fpasswd":            http.StatusBadRequest,
		"/season?own=1&row=bond%7CC9998%3BC9999%7C%7C":           http.StatusOK, // told among what stands against it
		"/season?own=1&pair=C0565%3BC0573&chicks=&as-of=2026-05": http.StatusOK,
	} {
		status, text := c.get(path)
		assert.Equal(t, want, status, "%s: %s", path, text)
	}
	_, text := c.season("/season")
	for _, name := range []string{"../studbook", "a/b", `a\b`, ".", "", strings.Repeat("a", 61), "a\x00"} {
		status, _ := c.keep(text, name)
		assert.Equal(t, http.StatusBadRequest, status, "%q", name)
	}
	_, err := os.Stat(filepath.Join(folder, "plans"))
	assert.ErrorIs(t, err, os.ErrNotExist)

	// Where nothing may be written the season is sent.
	example := serve(t, Config{})
	_, text = example.season("/season")
	status, file := example.keep(text, "mine")
	assert.Equal(t, http.StatusOK, status)
	assert.True(t, strings.HasPrefix(file, "what,birds,to,chicks,fixed,reason\n"), "%.80s", file)
}
