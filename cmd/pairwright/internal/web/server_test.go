package web

import (
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/cmd/pairwright/internal/golden"
	"pairwright/pedigree/studbook/studbooktest"
)

// client is a browser that keeps cookies, at a server of its own.
type client struct {
	t *testing.T
	*http.Client
	at string
}

// serve starts a server for a test.
func serve(t *testing.T, c Config) *client {
	t.Helper()
	s, err := New(c)
	require.NoError(t, err)
	t.Cleanup(s.jobs.end)
	h := httptest.NewServer(s)
	t.Cleanup(h.Close)
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	return &client{t, &http.Client{Jar: jar}, h.URL}
}

// get returns the status and the text of a page.
func (c *client) get(path string) (int, string) {
	c.t.Helper()
	r, err := c.Get(c.at + path)
	require.NoError(c.t, err)
	defer r.Body.Close()
	text, err := io.ReadAll(r.Body)
	require.NoError(c.t, err)
	return r.StatusCode, string(text)
}

// page returns the text of a page that must be there.
func (c *client) page(path string) string {
	c.t.Helper()
	status, text := c.get(path)
	require.Equal(c.t, http.StatusOK, status, "%s: %s", path, text)
	return text
}

// paths are pages of the example, each with what must stand on it.
var paths = map[string]string{
	"/birds":                    "C0734",
	"/birds?find=Moss":          "Closest living kin",
	"/birds?find=a":             "birds with",
	"/bird/C0734":               "Closest living kin",
	"/bird?bird=C0734":          "Closest living kin",
	"/kin?a=C0419&b=C0841":      "0.0156",
	"/kin":                      "Bird",
	"/parents":                  "C0016",
	"/parents?bird=C0390":       "C0193",
	"/parents?founder-kin=true": "What these markers can show",
	"/mates":                    "Moss",
	"/mates?bird=C0734":         "Ragwort",
	"/plan":                     "Season",
	"/transfers":                "Request for C0902",
	"/transfer":                 "Id of the bird",
	"/transfer?bird=C0734":      "Quillmoor",
	"/requests":                 "Requests received",
	"/forecast":                 "Catastrophes",
	"/open":                     "Import what you have",
	"/help":                     "Malécot 1948",
	"/kin?a=C0734&b=C0398":      "What that does to the others",
	"/data":                     "studbook.csv, line 83",
	"/mates?as-of=2020-12-31":   "as it was on 2020-12-31",
}

func TestPagesOfTheExample(t *testing.T) {
	c := serve(t, Config{Imports: t.TempDir()})
	// What is said of the command line in documents has a page in its place; see words.go. Two
	// pages are about the program itself.
	typed := regexp.MustCompile(`--[a-z]|\bpairwright [a-z]|[a-z] ID\b|\(record `)
	unseen := regexp.MustCompile(`(?s)<(script|style|svg)\b.*?</(script|style|svg)>|<!--.*?-->|<[^>]*>`)
	var all sync.WaitGroup
	for path, text := range paths {
		all.Go(func() {
			page := c.page(path)
			assert.True(t, strings.Contains(page, text), "%s lacks %q", path, text)
			if said := unseen.ReplaceAllString(page, " "); path != "/help" && path != "/open" && typed.MatchString(said) {
				at := typed.FindStringIndex(said)
				assert.Fail(t, path+" speaks of the command line", "%s", said[max(0, at[0]-60):min(len(said), at[1]+60)])
			}
		})
	}
	all.Wait()
}

// TestLongAnswersShowUp follows the page of a long answer until it is there.
func TestLongAnswersShowUp(t *testing.T) {
	c := serve(t, Config{})
	for range 200 {
		text := c.page("/review?runs=2")
		if !strings.Contains(text, `http-equiv="refresh"`) {
			assert.Contains(t, text, "Review of Harrow Fell Bird Park")
			return
		}
		assert.Contains(t, text, "Stop")
		time.Sleep(50 * time.Millisecond)
	}
	t.Fatal("the review is still being computed")
}

// TestAForecastIsStopped looks at how far a forecast is, and stops it: it then
// answers with the runs that it has.
func TestAForecastIsStopped(t *testing.T) {
	c := serve(t, Config{})
	const path = "/forecast?runs=10000&years=500&policy=bonds"
	text := c.page(path)
	for range 200 {
		if regexp.MustCompile(`([2-9]|[1-9][0-9]+) of 10,000 runs`).MatchString(text) {
			break
		}
		time.Sleep(50 * time.Millisecond)
		text = c.page(path)
	}
	assert.Contains(t, text, " of 10,000 runs")
	r, err := c.PostForm(c.at+regexp.MustCompile(`/stop/[A-Z0-9]+`).FindString(text), url.Values{"token": {tokenField.FindStringSubmatch(text)[1]}, "again": {path}})
	require.NoError(t, err)
	require.NoError(t, r.Body.Close())
	assert.Equal(t, "/forecast", r.Request.URL.Path)
	for range 200 {
		if text = c.page(path); !strings.Contains(text, "http-equiv") {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	assert.Contains(t, text, "Gene diversity")
	assert.NotContains(t, text, "<progress")
}

func TestAnswersAsFiles(t *testing.T) {
	studbooktest.WithoutRace(t)
	c := serve(t, Config{})
	for path, begins := range map[string]string{
		"/download/kin?a=C0419&b=C0841&format=json": "{",
		"/download/birds?format=csv":                "id,",
		"/download/review?format=xlsx&runs=2":       "PK",
		"/download/mates?bird=C0734&format=html":    "<!DOCTYPE html>",
	} {
		r, err := c.Get(c.at + path)
		require.NoError(t, err)
		text, err := io.ReadAll(r.Body)
		require.NoError(t, err)
		require.NoError(t, r.Body.Close())
		assert.Equal(t, http.StatusOK, r.StatusCode, path)
		assert.True(t, strings.HasPrefix(strings.TrimPrefix(string(text), "\uFEFF"), begins), "%s: %.40s", path, text)
		assert.Contains(t, r.Header.Get("Content-Disposition"), "attachment", path)
	}
}

// TestWhatIsAskedWrongly checks that each fault has a page that says so.
func TestWhatIsAskedWrongly(t *testing.T) {
	c := serve(t, Config{})
	for path, status := range map[string]int{
		"/bird/nobody":               http.StatusNotFound,
		"/nowhere":                   http.StatusNotFound,
		"/download/nothing":          http.StatusNotFound,
		"/mates?within=space":        http.StatusBadRequest,
		"/mates?studbook=/etc/hosts": http.StatusBadRequest,
		"/kin?a=C0419":               http.StatusBadRequest,
		"/mates?as-of=yesterday":     http.StatusBadRequest,
		"/static/0/site.css":         http.StatusNotFound,
	} {
		got, text := c.get(path)
		assert.Equal(t, status, got, "%s: %s", path, text)
	}
}

// TestOnlyItsOwnPagesAreServed sends what a browser sends when another site
// tries to use the server, and what one sends that does not know the token.
func TestOnlyItsOwnPagesAreServed(t *testing.T) {
	open, err := New(Config{Quit: func() { t.Error("stopped from elsewhere") }})
	require.NoError(t, err)
	closed, err := New(Config{Token: "ABCDEFGHIJKLMNOPQRSTUVWXYZ", Hosts: []string{"colony.local"}})
	require.NoError(t, err)
	for name, x := range map[string]struct {
		server           *Server
		method, to, host string
		header, headerIs string
		status           int
	}{
		"rebinding":              {open, "GET", "/help", "evil.example:8734", "", "", http.StatusMisdirectedRequest},
		"rebinding by a number":  {open, "GET", "/help", "10.0.0.7:8734", "", "", http.StatusMisdirectedRequest},
		"by name":                {open, "GET", "/birds", "localhost:8734", "", "", http.StatusOK},
		"by IPv6":                {open, "GET", "/birds", "[::1]:8734", "", "", http.StatusOK},
		"a picture elsewhere":    {open, "GET", "/review", "127.0.0.1:8734", "Sec-Fetch-Site", "cross-site", http.StatusForbidden},
		"a form elsewhere":       {open, "POST", "/quit", "127.0.0.1:8734", "Sec-Fetch-Site", "cross-site", http.StatusForbidden},
		"a form of an old kind":  {open, "POST", "/quit", "127.0.0.1:8734", "Origin", "http://evil.example", http.StatusForbidden},
		"a form without a token": {open, "POST", "/quit", "127.0.0.1:8734", "", "", http.StatusForbidden},
		"a stranger":             {closed, "GET", "/birds", "colony.local:8734", "", "", http.StatusForbidden},
		"a wrong token":          {closed, "GET", "/birds?token=ABC", "colony.local:8734", "", "", http.StatusForbidden},
		"the token":              {closed, "GET", "/birds?token=ABCDEFGHIJKLMNOPQRSTUVWXYZ", "colony.local:8734", "", "", http.StatusSeeOther},
		"another name":           {closed, "GET", "/birds", "evil.example", "", "", http.StatusMisdirectedRequest},
	} {
		t.Run(name, func(t *testing.T) {
			r := httptest.NewRequest(x.method, x.to, nil)
			r.Host = x.host
			if x.header != "" {
				r.Header.Set(x.header, x.headerIs)
			}
			w := httptest.NewRecorder()
			x.server.ServeHTTP(w, r)
			assert.Equal(t, x.status, w.Code, w.Body.String())
		})
	}
}

// TestTheTokenOpensOnce goes in by the token and then by the cookie alone.
func TestTheTokenOpensOnce(t *testing.T) {
	c := serve(t, Config{Token: "ABCDEFGHIJKLMNOPQRSTUVWXYZ"})
	status, _ := c.get("/birds")
	assert.Equal(t, http.StatusForbidden, status)
	r, err := c.Get(c.at + "/birds?find=HAF&token=ABCDEFGHIJKLMNOPQRSTUVWXYZ")
	require.NoError(t, err)
	require.NoError(t, r.Body.Close())
	assert.Equal(t, "find=HAF", r.Request.URL.RawQuery, "the token stays in the address")
	c.page("/birds")
}

var tokenField = regexp.MustCompile(`name="token" value="([^"]+)"`)

// TestAFormHasItsToken presses the button that stops the program, first with
// the token of another browser.
func TestAFormHasItsToken(t *testing.T) {
	stopped := 0
	c := serve(t, Config{Quit: func() { stopped++ }})
	token := tokenField.FindStringSubmatch(c.page("/birds"))[1]
	press := func(browser *http.Client) int {
		r, err := browser.PostForm(c.at+"/quit", url.Values{"token": {token}})
		require.NoError(t, err)
		require.NoError(t, r.Body.Close())
		return r.StatusCode
	}
	assert.Equal(t, http.StatusForbidden, press(&http.Client{}))
	assert.Zero(t, stopped)
	assert.Equal(t, http.StatusOK, press(c.Client))
	assert.Equal(t, 1, stopped)
}

// TestFormsThatAreNone sends what no page of the server sends: it is told in plain
// words, and nothing is written.
func TestFormsThatAreNone(t *testing.T) {
	dir := pairFolder(t)
	c := serve(t, Config{Studbook: filepath.Join(dir, "studbook.csv")})
	token := tokenField.FindStringSubmatch(c.page("/record/death"))[1]
	plain := "application/x-www-form-urlencoded"
	for name, tt := range map[string]struct {
		kind, body string
		status     int
		says       string
	}{
		"no multipart":              {"multipart/form-data; boundary=x", "abc", http.StatusBadRequest, "What was sent is no whole form"},
		"no boundary":               {"multipart/form-data", "abc", http.StatusBadRequest, "What was sent is no whole form"},
		"a broken escape":           {plain, "token=" + token + "&bird=%zz", http.StatusBadRequest, "What was sent is no whole form"},
		"too much":                  {plain, "token=" + token + "&bird=" + strings.Repeat("x", largestForm), http.StatusUnprocessableEntity, "larger than the 256 kB"},
		"the same bird and another": {plain, "token=" + token + "&bird=A01&bird=A02&date=2026-01-01", http.StatusBadRequest, "Bird is told twice"},
	} {
		r, err := c.Post(c.at+"/record/death", tt.kind, strings.NewReader(tt.body))
		require.NoError(t, err, name)
		text, err := io.ReadAll(r.Body)
		require.NoError(t, err, name)
		require.NoError(t, r.Body.Close(), name)
		assert.Equal(t, tt.status, r.StatusCode, name)
		assert.Contains(t, string(text), tt.says, name)
	}
	assert.NoFileExists(t, filepath.Join(dir, "changes.csv"))

	status, text := c.get("/bird?bird=" + strings.Repeat("a", 10_000) + "%ff%00")
	assert.Equal(t, http.StatusNotFound, status)
	assert.Less(t, len(text), 5_000, "what was asked for is not said at length")
}

// TestFilesAreReadAgain changes a studbook under the server: it shows the new
// birds, then what is wrong with them, then the birds again.
func TestFilesAreReadAgain(t *testing.T) {
	studbook := filepath.Join(t.TempDir(), "studbook.csv")
	write := func(text string) {
		require.NoError(t, os.WriteFile(studbook, []byte("id,sex,sire,dam,hatch_date\n"+text), 0o666))
		time.Sleep(2 * lookAgain)
	}
	write("A1,F,,,2020\nB1,M,,,2020\n")
	c := serve(t, Config{Studbook: studbook})
	assert.Contains(t, c.page("/birds"), "A1")
	write("A1,F,,,2020\nB1,M,,,2020\nC1,F,B1,A1,2023\n")
	assert.Contains(t, c.page("/birds"), "C1")
	write("A1,F,,,2020\nA1,M,,,2020\n")
	status, text := c.get("/birds")
	assert.Equal(t, http.StatusUnprocessableEntity, status)
	assert.Contains(t, text, "The files have errors")
	assert.Contains(t, c.page("/data"), "studbook.csv, line 3: error")
	write("A1,F,,,2020\nB1,M,,,2020\n")
	assert.NotContains(t, c.page("/birds"), "C1")
	require.NoError(t, os.Remove(studbook))
	time.Sleep(2 * lookAgain)
	status, text = c.get("/birds")
	assert.Equal(t, http.StatusNotFound, status)
	assert.Contains(t, text, "There is no studbook")
}

// TestAServerIsKnownByWhatItShows asks a server whether it shows what another
// would.
func TestAServerIsKnownByWhatItShows(t *testing.T) {
	mine := Config{Studbook: filepath.Join(t.TempDir(), "studbook.csv")}
	c := serve(t, mine)
	assert.True(t, mine.Runs(t.Context(), c.at))
	assert.False(t, Config{}.Runs(t.Context(), c.at), "it shows no example")
	assert.False(t, mine.Runs(t.Context(), "http://127.0.0.1:1"), "nobody is there")
}

// TestHostileTextsAreShownAsTheyAre puts markup into every text of a studbook.
func TestHostileTextsAreShownAsTheyAre(t *testing.T) {
	var rows strings.Builder
	for k, text := range golden.Hostile {
		rows.WriteString(strings.Join([]string{"B" + string(rune('A'+k)), `"` + strings.ReplaceAll(text, `"`, `""`) + `"`, "F", "", "", "2020"}, ",") + "\n")
	}
	studbook := filepath.Join(t.TempDir(), "studbook.csv")
	require.NoError(t, os.WriteFile(studbook, []byte("id,name,sex,sire,dam,hatch_date\n"+rows.String()), 0o666))
	c := serve(t, Config{Studbook: studbook})
	for _, path := range []string{"/birds", "/bird/BA", "/mates?bird=BA", "/birds?find=" + url.QueryEscape(`"><script>alert(1)</script>`), "/bird/" + url.PathEscape(`<script>alert(1)</script>`)} {
		_, text := c.get(path)
		assert.NotContains(t, strings.ToLower(text), "<script>", path)
		assert.NotContains(t, text, `"><script`, path)
		assert.NotContains(t, text, "onerror=\"", path)
	}
}

// TestFilesOfTheSite: what pages refer to is there, as what it is, and browsers may keep it.
func TestFilesOfTheSite(t *testing.T) {
	c := serve(t, Config{})
	page := c.page("/help")
	for _, a := range assets() {
		r, err := c.Get(c.at + a.path)
		require.NoError(t, err)
		sent, err := io.ReadAll(r.Body)
		require.NoError(t, err)
		require.NoError(t, r.Body.Close())
		assert.Equal(t, http.StatusOK, r.StatusCode)
		assert.Equal(t, a.mime, r.Header.Get("Content-Type"))
		assert.Contains(t, r.Header.Get("Cache-Control"), "immutable")
		assert.Equal(t, a.content, sent)
		assert.Contains(t, page, a.path)
	}
	status, _ := c.get("/static/00000000/site.css")
	assert.Equal(t, http.StatusNotFound, status)
}
