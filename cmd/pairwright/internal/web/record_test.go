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

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/journal"
)

// pairFolder writes a pair with a clutch to a folder.
func pairFolder(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	laid := time.Now().AddDate(0, 0, -30).Format(time.DateOnly)
	for name, text := range map[string]string{
		"studbook.csv": "id,name,sex,sire,dam,hatch_date\nA01,Ash,M,,,2018-05-01\nA02,Bryony <b>,F,,,2018-05-02\n",
		"clutches.csv": "female,male,laid,eggs,fertile,hatched\nA02,A01," + laid + ",2,,\n",
	} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
	}
	return dir
}

// tell presses the button of a form, with the token of a page.
func (c *client) tell(path string, values ...string) (int, string, string) {
	c.t.Helper()
	form := url.Values{"token": {tokenField.FindStringSubmatch(c.page("/record/hatch"))[1]}}
	for k := 0; k < len(values); k += 2 {
		form.Set(values[k], values[k+1])
	}
	r, err := c.PostForm(c.at+path, form)
	require.NoError(c.t, err)
	defer r.Body.Close()
	text, err := io.ReadAll(r.Body)
	require.NoError(c.t, err)
	return r.StatusCode, string(text), r.Request.URL.String()
}

var (
	sealField = regexp.MustCompile(`name="seal" value="([^"]+)"`)
	pageField = regexp.MustCompile(`name="page" value="([^"]+)"`)
)

// TestWritingDown goes from the form to the file and back.
func TestWritingDown(t *testing.T) {
	dir := pairFolder(t)
	c := serve(t, Config{Studbook: filepath.Join(dir, "studbook.csv")})
	content := func(name string) string {
		raw, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(t, err)
		return string(raw)
	}
	before := content("studbook.csv") + content("clutches.csv")
	list := c.page("/record")
	for _, k := range journal.Kinds {
		assert.Contains(t, list, `href="/record/`+k.Name+`"`)
		text := c.page("/record/" + k.Name)
		usual, _, _ := strings.Cut(text, "<details>")
		assert.LessOrEqual(t, strings.Count(usual, `<label for="tell-`), 3, "%s asks for more than the usual case needs", k.Name)
	}
	assert.Contains(t, c.page("/bird?bird=A02"), `href="/record/hatch?dam=A02"`)
	assert.NotContains(t, c.page("/bird?bird=A01"), "/record/hatch", "he lays no eggs")
	assert.Contains(t, c.page("/bird?bird=A01"), `href="/record/death?bird=A01"`)
	form := c.page("/record/hatch?dam=A02")
	assert.Contains(t, form, `name="dam" type="text" value="A02" list="birds" required`)
	assert.Contains(t, form, `value="`+time.Now().Format(time.DateOnly)+`"`)
	assert.Contains(t, form, `<option value="A02">Bryony &lt;b&gt; female</option>`)
	assert.Contains(t, c.page("/record/hatch?typed=yes&date=2026-05"), `name="date" type="text" value="2026-05"`)

	status, shown, _ := c.tell("/record/hatch", "dam", "A02", "date", "yesterday")
	require.Equal(t, http.StatusOK, status)
	assert.Contains(t, shown, "A03")
	assert.Equal(t, before, content("studbook.csv")+content("clutches.csv"), "what is shown is not written")
	seal := sealField.FindStringSubmatch(shown)[1]
	_, done, at := c.tell("/record/hatch", "dam", "A02", "date", "yesterday", "seal", seal)
	assert.Contains(t, at, "/record?done=1")
	assert.Contains(t, done, "Written down: a chick hatched (A02), as change 1")
	assert.Contains(t, content("studbook.csv"), "\nA03,,U,A01,A02,")
	assert.Contains(t, content("clutches.csv"), ",2,,1\n")
	assert.Contains(t, c.page("/bird?bird=A03"), "A03", "the pages have it at once")

	// The button pressed twice writes once.
	status, again, _ := c.tell("/record/hatch", "dam", "A02", "date", "yesterday", "seal", seal)
	assert.Equal(t, http.StatusOK, status)
	assert.Contains(t, again, "A file was changed in the meantime")
	assert.NotContains(t, content("studbook.csv"), "A04")

	// So does the same page sent again after going back, and says what it wrote; another
	// page writes anew.
	page := pageField.FindStringSubmatch(again)[1]
	seal = sealField.FindStringSubmatch(again)[1]
	for range 2 {
		_, done, at = c.tell("/record/hatch", "dam", "A02", "date", "yesterday", "seal", seal, "page", page)
		assert.Contains(t, at, "/record?done=2")
		assert.Contains(t, done, "Written down: a chick hatched (A02), as change 2")
		assert.Contains(t, done, `<a href="/undo">Take it back</a>`)
	}
	assert.Equal(t, 1, strings.Count(content("studbook.csv"), "\nA04,"))
	assert.NotContains(t, content("studbook.csv"), "A05")
	_, _, _ = c.tell("/undo", "seal", sealField.FindStringSubmatch(c.page("/undo"))[1])
	_, done, _ = c.tell("/record/hatch", "dam", "A02", "date", "yesterday", "seal", seal, "page", page)
	assert.Contains(t, done, "It has been taken back since")
	assert.NotContains(t, done, `<a href="/undo">Take it back</a>`, "which would be another change")
	assert.NotContains(t, content("studbook.csv"), "A04")

	undo := c.page("/undo")
	assert.Contains(t, undo, "Take back change 1: a chick hatched (A02)")
	_, done, _ = c.tell("/undo", "seal", sealField.FindStringSubmatch(undo)[1])
	assert.Contains(t, done, "Taken back: change 1")
	assert.Equal(t, before, content("studbook.csv")+content("clutches.csv"))
	status, none := c.get("/undo")
	assert.Equal(t, http.StatusUnprocessableEntity, status)
	assert.Contains(t, none, "nothing was written down that could be taken back")
}

// TestGoingBackToAForm: what a form led to is shown again as it was, a form of a server that
// was started anew since keeps what was typed, and what is wrong has the focus.
func TestGoingBackToAForm(t *testing.T) {
	c := serve(t, Config{Studbook: filepath.Join(pairFolder(t), "studbook.csv")})
	r, err := c.PostForm(c.at+"/record/death", url.Values{"token": {"of another server"}, "bird": {"A01"}, "date": {"2026-05"}, "note": {"found \"so\" & buried"}})
	require.NoError(t, err)
	defer r.Body.Close()
	text, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	assert.Equal(t, http.StatusForbidden, r.StatusCode)
	assert.Equal(t, "private, no-cache", r.Header.Get("Cache-Control"))
	to := html.UnescapeString(regexp.MustCompile(`href="(/record/death[^"]*)"`).FindStringSubmatch(string(text))[1])
	form := c.page(to)
	for _, typed := range []string{`value="A01"`, `value="2026-05"`, `value="found &#34;so&#34; &amp; buried"`} {
		assert.Contains(t, form, typed)
	}
	assert.NotContains(t, form, "autofocus")
	_, wrong, _ := c.tell("/record/death", "bird", "A99")
	assert.Contains(t, wrong, `role="alert" tabindex="-1" autofocus`)
	assert.Contains(t, wrong, `href="#tell-bird"`)
}

// TestTheFirstPageAsksWhichColony: where no home is set every page of a colony asks for it,
// and goes on where it was.
func TestTheFirstPageAsksWhichColony(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "studbook.csv"), []byte("id,sex,sire,dam,hatch_date,location\nA1,F,wild,wild,2019,HERE\nA2,M,wild,wild,2019,HERE\nA3,M,wild,wild,2019,THERE\n"), 0o644))
	c := serve(t, Config{Studbook: filepath.Join(dir, "studbook.csv")})
	for _, path := range []string{"/", "/season", "/plan", "/mates", "/transfers", "/review?runs=0"} {
		_, text := c.get(path)
		assert.Contains(t, text, "<h1>Which colony is yours?</h1>", path)
		assert.Contains(t, text, `<button name="home" value="THERE">`, path)
	}
	_, text, at := c.tell("/home", "home", "HERE", "again", "/season")
	assert.Contains(t, at, "/season")
	assert.Contains(t, text, "<h1>The season ")
	assert.Contains(t, c.page("/"), "<h1>Board of HERE</h1>")
}

// TestAFolderThatCannotBeWrittenTo says so of what was not written.
func TestAFolderThatCannotBeWrittenTo(t *testing.T) {
	dir := pairFolder(t)
	for in, named := range map[string]string{"ours.csv": "plans/ours.csv: ", "theirs.csv.before": "plans/theirs.csv.before: "} {
		require.NoError(t, os.MkdirAll(filepath.Join(dir, "plans", in), 0o755), "where a file is to be written")
		require.NoError(t, os.WriteFile(filepath.Join(dir, "plans", "theirs.csv"), nil, 0o644))
		c := serve(t, Config{Studbook: filepath.Join(dir, "studbook.csv")})
		name, _, _ := strings.Cut(in, ".")
		_, text, _ := c.tell("/season/keep", "season", "/season?", "name", name)
		assert.Contains(t, text, "<h1>Nothing was written</h1>")
		assert.Contains(t, text, "The folder cannot be written to: "+named)
	}
}

// TestPaperSaysOfWhomAndWhenItIs: a sheet that was printed from a page names the place and the
// day, and what can only be clicked is not on it.
func TestPaperSaysOfWhomAndWhenItIs(t *testing.T) {
	c := serve(t, Config{})
	assert.Contains(t, c.page("/?as-of=2026-05-05"), `<p class="printed">Harrow Fell Bird Park, as on 5 May 2026, the invented example colony</p>`)
	assert.NotContains(t, c.page("/help"), `class="printed"`)
	_, forms, _ := strings.Cut(c.page("/requests"), `<div class="ask">`)
	assert.Contains(t, forms, "the whole case")
}

// TestTheBoardOfAnEarlierDaySaysSo: the board is of the last day of which anything is written
// down and says where today's is, on which things are written down as on its own; eggs that
// were replaced ask for nothing more.
func TestTheBoardOfAnEarlierDaySaysSo(t *testing.T) {
	dir, ago := t.TempDir(), func(days int) string { return time.Now().AddDate(0, 0, -days).Format(time.DateOnly) }
	for name, text := range map[string]string{
		"studbook.csv":   "id,name,sex,sire,dam,hatch_date\nA01,Ash,M,,,2018-05-01\nA02,Bryony,F,,,2018-05-02\n",
		"bonds.csv":      "female,male,since\nA02,A01,2020-01-01\n",
		"clutches.csv":   "female,male,laid,eggs,fertile,hatched\nA02,A01," + ago(20) + ",2,0,\n",
		"programme.toml": "current_to = \"" + ago(5) + "\"\n",
	} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
	}
	c := serve(t, Config{Studbook: filepath.Join(dir, "studbook.csv")})
	const behind, write = "the last day of which anything is written", "Write down that they were replaced"
	board := c.page("/")
	assert.Contains(t, board, behind)
	assert.Contains(t, board, `href="/?as-of=`+ago(0)+`"`)
	assert.Contains(t, board, write)
	assert.Contains(t, board, "What is due is counted from today")
	assert.Contains(t, board, `id="overdue"`, "eggs that candling had due ten days ago")
	assert.Contains(t, board, "This week, until "+document.FormatDay(studbook.DayOf(time.Now().Date())+6))
	today := c.page("/?as-of=" + ago(0))
	assert.NotContains(t, today, behind)
	assert.Contains(t, today, write)
	assert.Contains(t, today, "by what is written down so far")
	assert.NotContains(t, c.page("/?as-of="+ago(6)), write, "of a day that is over nothing is written down")
	_, preview, _ := c.tell("/record/replacement", "female", "A02")
	seal := sealField.FindStringSubmatch(preview)
	require.NotNil(t, seal, preview)
	status, _, _ := c.tell("/record/replacement", "female", "A02", "seal", seal[1])
	assert.Equal(t, http.StatusOK, status)
	raw, err := os.ReadFile(filepath.Join(dir, "clutches.csv"))
	require.NoError(t, err)
	assert.Contains(t, string(raw), ",2,0,replaced\n")
	board = c.page("/")
	assert.NotContains(t, board, write)
	assert.Contains(t, board, "Dummies or nothing, in place of the infertile eggs")
}

// TestARecordIsPutRight: the form has what is on record, what is not touched is
// not written, and what is emptied is.
func TestARecordIsPutRight(t *testing.T) {
	dir := pairFolder(t)
	c := serve(t, Config{Studbook: filepath.Join(dir, "studbook.csv")})
	assert.Contains(t, c.page("/bird?bird=A02"), `href="/record/correction?bird=A02"`)
	form := c.page("/record/correction?bird=A02")
	assert.Contains(t, form, `<input type="hidden" name="was-name" value="Bryony &lt;b&gt;">`)
	assert.Contains(t, form, `name="hatch_date" type="date" value="2018-05-02"`)
	was := []string{"was-name", "Bryony <b>", "was-hatch_date", "2018-05-02", "bird", "A02"}
	for _, x := range []struct{ name, hatch, row string }{
		{"Briony", "2018-05-02", "A02,Briony,F,,,2018-05-02"},
		{"Bryony <b>", "2018-05", "A02,Bryony <b>,F,,,2018-05\n"},
		{"", "2018-05-02", "A02,,F,,,2018-05-02"},
	} {
		told := append(was, "name", x.name, "hatch_date", x.hatch)
		_, shown, _ := c.tell("/record/correction", told...)
		seal := sealField.FindStringSubmatch(shown)
		require.NotNil(t, seal, shown)
		values := []string{"seal", seal[1]}
		for _, m := range regexp.MustCompile(`<input type="hidden" name="(name|bird|hatch_date)" value="([^"]*)">`).FindAllStringSubmatch(shown, -1) {
			values = append(values, m[1], html.UnescapeString(m[2]))
		}
		_, done, _ := c.tell("/record/correction", values...)
		assert.Contains(t, done, "Written down: a bird&#39;s name, notes or another plain fact was put right (A02)")
		raw, err := os.ReadFile(filepath.Join(dir, "studbook.csv"))
		require.NoError(t, err)
		assert.Contains(t, string(raw), x.row)
		c.tell("/undo", "seal", sealField.FindStringSubmatch(c.page("/undo"))[1])
	}
	status, text, _ := c.tell("/record/correction", append(was, "name", "Bryony <b>", "hatch_date", "2018-05-02")...)
	assert.Equal(t, http.StatusUnprocessableEntity, status)
	assert.Contains(t, text, "Nothing is told that was put right")
	// A form that did not show what is on record empties nothing.
	_, shown, _ := c.tell("/record/correction", "bird", "A02", "name", "", "hatch_date", "2018-05-03")
	assert.NotContains(t, shown, `name="name"`)
}

// TestWhatIsWrongIsToldAtItsField: and what was told is still there.
func TestWhatIsWrongIsToldAtItsField(t *testing.T) {
	c := serve(t, Config{Studbook: filepath.Join(pairFolder(t), "studbook.csv")})
	status, text, _ := c.tell("/record/hatch", "dam", "A<9", "date", "2018-13", "name", "Pip")
	text = html.UnescapeString(text)
	assert.Equal(t, http.StatusUnprocessableEntity, status)
	assert.Contains(t, text, `href="#tell-date"`)
	assert.Contains(t, text, `value="2018-13"`)
	assert.Contains(t, text, `value="Pip"`)
	assert.Contains(t, text, "<details open>")
	assert.Contains(t, text, `aria-describedby="tell-date-wrong tell-date-help"`)

	status, text, _ = c.tell("/record/parent", "bird", "A01", "sire", "A01")
	assert.Equal(t, http.StatusUnprocessableEntity, status)
	assert.Contains(t, text, "would be its own ancestor")
	status, _, _ = c.tell("/record/party")
	assert.Equal(t, http.StatusNotFound, status)
}

// TestNobodyWritesWhoMayNot: not to the example, not where the pages write
// nothing, not without the token of a form.
func TestNobodyWritesWhoMayNot(t *testing.T) {
	dir := pairFolder(t)
	for name, config := range map[string]Config{"the example": {}, "--read-only": {Studbook: filepath.Join(dir, "studbook.csv"), ReadOnly: true}} {
		c := serve(t, config)
		for _, path := range []string{"/record/hatch", "/undo"} {
			status, text, _ := c.tell(path, "dam", "A02", "seal", "00000000000000000000000000000000")
			assert.Equal(t, http.StatusForbidden, status, "%s %s", name, path)
			assert.Contains(t, text, "Nothing can be written")
		}
		assert.Contains(t, c.page("/record/hatch"), "<button class=\"main\" disabled>")
	}
	c := serve(t, Config{Studbook: filepath.Join(dir, "studbook.csv")})
	r, err := c.PostForm(c.at+"/record/hatch", url.Values{"dam": {"A02"}})
	require.NoError(t, err)
	require.NoError(t, r.Body.Close())
	assert.Equal(t, http.StatusForbidden, r.StatusCode)
	_, err = os.Stat(filepath.Join(dir, journal.Earlier))
	assert.ErrorIs(t, err, os.ErrNotExist)
}

// TestTwoTabs: both have looked, one writes; the other is shown what is so now.
func TestTwoTabs(t *testing.T) {
	dir := pairFolder(t)
	c := serve(t, Config{Studbook: filepath.Join(dir, "studbook.csv")})
	_, one, _ := c.tell("/record/hatch", "dam", "A02", "date", "yesterday")
	_, other, _ := c.tell("/record/hatch", "dam", "A02", "date", "yesterday", "sex", "F")
	_, _, at := c.tell("/record/hatch", "dam", "A02", "date", "yesterday", "seal", sealField.FindStringSubmatch(one)[1])
	assert.Contains(t, at, "done=1")
	_, text, _ := c.tell("/record/hatch", "dam", "A02", "date", "yesterday", "sex", "F", "seal", sealField.FindStringSubmatch(other)[1])
	assert.Contains(t, text, "A file was changed in the meantime")
	_, _, at = c.tell("/record/hatch", "dam", "A02", "date", "yesterday", "sex", "F", "seal", sealField.FindStringSubmatch(text)[1])
	assert.Contains(t, at, "done=2")
	raw, err := os.ReadFile(filepath.Join(dir, "studbook.csv"))
	require.NoError(t, err)
	assert.Contains(t, string(raw), "\nA03,,U,A01,A02,")
	assert.Contains(t, string(raw), "\nA04,,F,A01,A02,")
}

// TestKinAreToldOf: a bond of close kin is told of before it is written.
func TestKinAreToldOf(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "studbook.csv"), []byte("id,sex,sire,dam,hatch_date\nA01,M,,,2018-05-01\nA02,F,,,2018-05-02\nA03,F,A01,A02,2020-05-02\nA04,M,,,2020-05-03\n"), 0o644))
	c := serve(t, Config{Studbook: filepath.Join(dir, "studbook.csv")})
	for male, told := range map[string]bool{"A01": true, "A04": false} {
		status, shown, _ := c.tell("/record/bond", "female", "A03", "male", male)
		require.Equal(t, http.StatusOK, status)
		assert.Equal(t, told, strings.Contains(shown, "it is paired with "), male)
		assert.Regexp(t, sealField, shown, "it can be written nonetheless")
	}
}
