package web

import (
	"archive/zip"
	"bytes"
	"fmt"
	"html"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook/exchange"
)

// send sends a form, with a file if it has a name, as the browser does.
func (c *client) send(path, fileName, content string, fields ...string) (int, string) {
	c.t.Helper()
	var b bytes.Buffer
	form := multipart.NewWriter(&b)
	token := tokenField.FindStringSubmatch(c.page("/open"))[1]
	fields = append(fields, "token", token)
	for k := 0; k < len(fields); k += 2 {
		require.NoError(c.t, form.WriteField(fields[k], fields[k+1]))
	}
	if fileName != "" {
		w, err := form.CreateFormFile("file", fileName)
		require.NoError(c.t, err)
		_, err = io.WriteString(w, content)
		require.NoError(c.t, err)
	}
	require.NoError(c.t, form.Close())
	r, err := c.Post(c.at+path, form.FormDataContentType(), &b)
	require.NoError(c.t, err)
	defer r.Body.Close()
	text, err := io.ReadAll(r.Body)
	require.NoError(c.t, err)
	return r.StatusCode, string(text)
}

const strangers = "Ring;Geschlecht;Vater;Mutter;Geschlüpft\nR1;m;;;03.05.2015\nR2;w;;;17.06.2016\nR3;w;R1;R2;21.05.2020\n"

// TestImportLooksBeforeItWrites takes a stranger's file in, twice: the second
// folder has another name. Whatever the browser calls the file, nothing is
// written outside the folder for imports.
func TestImportLooksBeforeItWrites(t *testing.T) {
	imports := filepath.Join(t.TempDir(), "colonies")
	c := serve(t, Config{Imports: imports})
	for _, folder := range []string{"birds", "birds-2"} {
		status, text := c.send("/import", `..\..\/etc/birds.csv`, strangers)
		require.Equal(t, http.StatusOK, status, text)
		assert.Contains(t, text, "Nothing has been written yet")
		assert.NoFileExists(t, filepath.Join(imports, folder, "studbook.csv"))
		status, text = c.send("/import", "", "", "do", "write")
		require.Equal(t, http.StatusOK, status, text)
		assert.FileExists(t, filepath.Join(imports, folder, "studbook.csv"))
		assert.FileExists(t, filepath.Join(imports, folder, "import-report.txt"))
		assert.FileExists(t, filepath.Join(imports, folder, "imported", "studbook.csv"), "what a newer export is compared with")
		assert.Contains(t, c.page("/birds"), "R3", "the new colony is shown")
	}
	status, text := c.send("/import", "", "")
	assert.Equal(t, http.StatusUnprocessableEntity, status)
	assert.Contains(t, text, "Choose a file")
	status, text = c.send("/import", "big.csv", strings.Repeat("x", largestImport+1))
	assert.Equal(t, http.StatusUnprocessableEntity, status)
	assert.Contains(t, text, "larger than")
}

const doubtful = "Ring;Hausname;Geschlecht;Vater;Father;Mutter;Geschlüpft;Status\n" +
	"R1;Anton;m;;;;03.05.2015;L\nR2;Berta;w;;;;04.06.2016;L\nR3;Clara;w;R1;R1;R2;05.05.2018;T\nR4;Dora;x;R1;R9;R2;05.05.2018;L\nR5;Emil;m;LOT 7;LOT 7;R4;02.03.2020;L\n"

// choices are the names of the controls of an import's page, by the question
// that each answers.
func choices(page string) map[string]string {
	out := map[string]string{}
	for _, m := range regexp.MustCompile(`(?s)<(?:legend|label for="choice[^>]*)>([^<]+)</(?:legend|label)>.*?name="(choice[^"]+)"`).FindAllStringSubmatch(page, -1) {
		out[html.UnescapeString(m[1])] = html.UnescapeString(m[2])
	}
	return out
}

// TestImportIsDecidedFieldByField: what stops an import is asked first, what was
// likely can be changed and taken back, and what was not seen is not written.
func TestImportIsDecidedFieldByField(t *testing.T) {
	imports := t.TempDir()
	c := serve(t, Config{Imports: imports})
	said := regexp.MustCompile(`(?s)<textarea name="mapping" hidden>(.*?)</textarea>`)
	mapping := func(page string) string { return html.UnescapeString(said.FindStringSubmatch(page)[1]) }
	status, page := c.send("/import", "doubt.csv", doubtful)
	require.Equal(t, http.StatusOK, status, page)
	assert.Contains(t, page, "4 things have to be decided first")
	assert.Contains(t, page, "03.05.2015 = 2015-03-05")
	assert.Contains(t, page, "R1 · R9 · LOT 7", "the file's own cells stand beside a column")
	assert.NotContains(t, page, `name="do" value="write"`)
	asked := choices(page)
	first := []string{
		asked["Which column has the sire (father)?"], "=Vater",
		asked["In which order are day, month and year written?"], "=dmy",
		asked[`What became of a bird where it says "L"?`], "=alive",
	}
	_, page = c.send("/import", "", "", append(first, "mapping", mapping(page))...)
	assert.Contains(t, page, "One thing has to be decided first", "the others stand")
	_, page = c.send("/import", "", "", choices(page)[`What became of a bird where it says "T"?`], "=died", "mapping", mapping(page))
	assert.Contains(t, page, "5 birds can be read")
	assert.Contains(t, page, "Do the figures look right?")
	lot := choices(page)[`Who is "LOT 7", a parent that has no row?`]
	require.NotEmpty(t, lot)

	_, unseen := c.send("/import", "", "", lot, "=unknown", "mapping", mapping(page), "do", "write")
	assert.Contains(t, unseen, "Something was decided anew, so nothing was written")
	_, same := c.send("/import", "", "", lot, "=bird", "mapping", mapping(page))
	assert.Equal(t, mapping(page), mapping(same), "an answer that stands decides nothing")
	assert.NotContains(t, choices(unseen), `Who is "LOT 7", a parent that has no row?`)
	taken := regexp.MustCompile(`name="again" value="(\d+)"> Take back</label> Who is &#34;LOT 7&#34;`).FindStringSubmatch(unseen)
	require.NotNil(t, taken)
	_, back := c.send("/import", "", "", "again", taken[1], "mapping", mapping(unseen))
	assert.Equal(t, mapping(page), mapping(back))

	_, toml := c.send("/import", "", "", "mapping", mapping(unseen), "do", "mapping")
	_, err := exchange.ReadMapping([]byte(toml))
	require.NoError(t, err, toml)
	assert.Contains(t, toml, `unknown = ["LOT 7"]`)
	status, _ = c.send("/import", "", "", "mapping", mapping(unseen), "do", "write")
	assert.Equal(t, http.StatusOK, status)
	raw, err := os.ReadFile(filepath.Join(imports, "doubt", "studbook.csv"))
	require.NoError(t, err)
	for _, line := range []string{"R3,Clara,,F,R1,R2,2018-05-05,[2018-05-05..", "R4,Dora,,F,R1,R2,2018-05-05,", "R5,Emil,,M,,R4,2020-03-02,"} {
		assert.Contains(t, strings.ReplaceAll(string(raw), "\r", ""), "\n"+line)
	}
	kept, err := os.ReadFile(filepath.Join(imports, "doubt", exchange.MappingFile))
	require.NoError(t, err)
	assert.Contains(t, string(kept), toml)

	for _, wrong := range [][2]string{{"choice?subject=word&of=sex&word=m", "=X"}, {"choice?subject=dates", "=yyy"}, {"choice?subject=column&of=feathers&sheet=doubt", "=Ring"}, {"choice?subject=what", "=x"}} {
		status, _ = c.send("/import", "doubt.csv", doubtful, wrong[0], wrong[1])
		assert.Equal(t, http.StatusUnprocessableEntity, status, wrong[0])
	}
}

// TestWhichInstitutionIsOnesOwn is asked where birds live at several: before an
// import is written, and of a folder that does not say.
func TestWhichInstitutionIsOnesOwn(t *testing.T) {
	const two = "Ring;Geschlecht;Vater;Mutter;Geschlüpft;Standort\nR1;m;;;03.05.2015;Elm House\nR2;w;;;17.06.2016;Elm House\nR3;w;R1;R2;21.05.2020;Oak \"Park\"\n"
	imports := t.TempDir()
	c := serve(t, Config{Imports: imports})
	_, page := c.send("/import", "birds.csv", two)
	assert.Contains(t, page, "Which institution is your own?")
	_, page = c.send("/import", "", "", "do", "write")
	assert.Contains(t, page, "Which institution is your own?", "without an answer nothing is written")
	assert.NoFileExists(t, filepath.Join(imports, "birds", "studbook.csv"))
	status, page := c.send("/import", "", "", "do", "write", "home", `Oak "Park"`)
	require.Equal(t, http.StatusOK, status, page)
	raw, err := os.ReadFile(filepath.Join(imports, "birds", "programme.toml"))
	require.NoError(t, err)
	assert.Contains(t, string(raw), "\nhome = \"Oak \\\"Park\\\"\"\n")
	assert.Contains(t, c.page("/mates"), "R3")
	assert.NotContains(t, c.page("/mates"), "<h2>R1", "it lives elsewhere")

	folder := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(folder, "studbook.csv"), []byte("id,sex,sire,dam,location\nZ1,F,,,ELM\nZ2,M,,,OAK\n"), 0o666))
	for name, config := range map[string]Config{"may write": {}, "read only": {ReadOnly: true}} {
		config.Studbook = filepath.Join(folder, "studbook.csv")
		c := serve(t, config)
		status, page := c.get("/mates")
		assert.Equal(t, http.StatusUnprocessableEntity, status, name)
		assert.Contains(t, page, `<button name="home" value="OAK">`, name)
		form := url.Values{"token": {tokenField.FindStringSubmatch(page)[1]}, "home": {"OAK"}, "again": {"/mates"}}
		r, err := c.PostForm(c.at+"/home", form)
		require.NoError(t, err)
		require.NoError(t, r.Body.Close())
		assert.Equal(t, "/mates", r.Request.URL.Path)
		assert.Contains(t, c.page("/mates"), "Z2")
		for _, elsewhere := range []string{"https://elsewhere.example/", "//elsewhere.example", "javascript:x", "mates"} {
			assert.Equal(t, "/", local(elsewhere))
		}
	}
}

// TestFoldersAreOpenedByKey opens a folder that the server found itself, and
// nothing that a browser names.
func TestFoldersAreOpenedByKey(t *testing.T) {
	imports := t.TempDir()
	require.NoError(t, os.Mkdir(filepath.Join(imports, "mine"), 0o777))
	require.NoError(t, os.WriteFile(filepath.Join(imports, "mine", "studbook.csv"), []byte("id,sex,sire,dam\nZ1,F,,\n"), 0o666))
	c := serve(t, Config{Imports: imports})
	for _, path := range []string{"/etc", filepath.Join(imports, "mine"), "../mine", ""} {
		status, _ := c.send("/open", "", "", "folder", path)
		assert.Equal(t, http.StatusUnprocessableEntity, status, path)
	}
	key := regexp.MustCompile(`name="folder" value="([^"]+)">\s*<code>[^<]*mine`).FindStringSubmatch(c.page("/open"))
	require.NotNil(t, key)
	status, _ := c.send("/open", "", "", "folder", key[1])
	assert.Equal(t, http.StatusOK, status)
	assert.Contains(t, c.page("/birds"), "Z1")
	status, _ = c.send("/open", "", "", "folder", "example")
	assert.Equal(t, http.StatusOK, status)
	assert.Contains(t, c.page("/birds"), "C0734")
}

// TestTheWayBackToOnesOwn: whoever looks at the example comes back to the files that the
// program was started with, wherever they are and whatever they are called.
func TestTheWayBackToOnesOwn(t *testing.T) {
	studbook := filepath.Join(t.TempDir(), "birds.csv")
	require.NoError(t, os.WriteFile(studbook, []byte("id,sex,Father,dam\nY1,M,,\nZ1,F,Y1,\n"), 0o666))
	c := serve(t, Config{Studbook: studbook, Columns: map[string]string{"sire": "Father"}, Imports: t.TempDir()})
	assert.Contains(t, c.page("/open"), "birds.csv</code> <span class=\"quiet\">(this is open)")
	status, _ := c.send("/open", "", "", "folder", "example")
	require.Equal(t, http.StatusOK, status)
	assert.Contains(t, c.page("/birds"), "C0734")
	key := regexp.MustCompile(`name="folder" value="([^"]+)">\s*<code>[^<]*birds.csv`).FindStringSubmatch(c.page("/open"))
	require.NotNil(t, key)
	status, _ = c.send("/open", "", "", "folder", key[1])
	require.Equal(t, http.StatusOK, status)
	assert.Contains(t, c.page("/bird/Z1"), `href="/bird?bird=Y1"`, "with its columns as they are called")
}

// TestNobodyOpensFromAfar turns to no other files where others can reach the
// server, or where nothing may be written.
func TestNobodyOpensFromAfar(t *testing.T) {
	for name, config := range map[string]Config{"read only": {ReadOnly: true, Imports: t.TempDir()}} {
		c := serve(t, config)
		page := c.page("/open")
		assert.Contains(t, page, "on the machine that Pairwright runs on", name)
		assert.NotContains(t, page, `name="folder"`, name)
	}
}

// TestTheColonyIsTakenOut exports every format.
func TestTheColonyIsTakenOut(t *testing.T) {
	c := serve(t, Config{})
	for _, x := range exports {
		r, err := c.Get(c.at + "/export/" + x.Path)
		require.NoError(t, err)
		content, err := io.ReadAll(r.Body)
		require.NoError(t, err)
		require.NoError(t, r.Body.Close())
		require.Equal(t, http.StatusOK, r.StatusCode, x.Path)
		assert.NotEmpty(t, content, x.Path)
		if strings.Contains(r.Header.Get("Content-Disposition"), ".zip") {
			z, err := zip.NewReader(bytes.NewReader(content), int64(len(content)))
			require.NoError(t, err)
			assert.Greater(t, len(z.File), 1, x.Path)
			settings := slices.ContainsFunc(z.File, func(f *zip.File) bool { return f.Name == "programme.toml" })
			assert.Equal(t, x.Path == "studbook", settings, "%s: with its settings it answers as it did", x.Path)
		}
	}
}

// TestACopyOfTheExample: whoever looks around can make a colony to write to, of the
// example or with nothing in it yet, and each has a folder of its own.
func TestACopyOfTheExample(t *testing.T) {
	imports := filepath.Join(t.TempDir(), "colonies")
	c := serve(t, Config{Imports: imports})
	assert.Contains(t, c.page("/record"), "a copy of the example")
	for _, folder := range []string{"Example", "Example-2"} {
		status, page := c.send("/open", "", "", "folder", "copy")
		require.Equal(t, http.StatusOK, status, page)
		assert.Contains(t, page, "Board of Harrow Fell")
		assert.FileExists(t, filepath.Join(imports, folder, "clutches.csv"))
		assert.NotContains(t, c.page("/record"), "cannot be written to")
	}
	status, page := c.send("/open", "", "", "folder", "new")
	require.Equal(t, http.StatusOK, status, page)
	assert.FileExists(t, filepath.Join(imports, "Colony", "programme.toml"))
	status, page = c.get("/")
	assert.Equal(t, http.StatusUnprocessableEntity, status)
	assert.Contains(t, page, `href="/record/arrival"`, "the way to the first bird")
	_, shown, _ := c.tell("/record/arrival", "id", "A1", "to", "OURS", "sex", "F", "date", "2026-01-02")
	require.Contains(t, shown, `name="seal"`)
	_, done, _ := c.tell("/record/arrival", "id", "A1", "to", "OURS", "sex", "F", "date", "2026-01-02", "seal", sealField.FindStringSubmatch(shown)[1])
	assert.Contains(t, done, "Written down")
	assert.Contains(t, c.page("/"), "1 bird")
	status, _ = serve(t, Config{}).send("/open", "", "", "folder", "copy")
	assert.Equal(t, http.StatusForbidden, status, "there is no place for it")
}

// TestAFileThatCannotBeImported says what it is and what to do, and not that the colony's
// files have errors.
func TestAFileThatCannotBeImported(t *testing.T) {
	c := serve(t, Config{Imports: t.TempDir()})
	for content, want := range map[string]string{
		"%PDF-1.7\n": "Birds.xlsx: this is a PDF, which has no cells. Ask for the file that it was printed from",
		"":           "Birds.xlsx: the file is empty. Save it again",
	} {
		_, text := c.send("/import", "birds.xlsx", content)
		assert.Contains(t, text, "<h1>This file cannot be imported</h1>")
		assert.Contains(t, strings.ToLower(text), strings.ToLower(want))
		assert.Contains(t, text, `<a href="/open">Choose another file</a>`)
		assert.NotContains(t, text, "See the errors")
	}
}

// TestALongListOfBirds has its first rows, and finds the others.
func TestALongListOfBirds(t *testing.T) {
	dir := t.TempDir()
	var text strings.Builder
	text.WriteString("id,sex,sire,dam,hatch_date,death_date\n")
	for i := range mostBirds + 2 {
		fmt.Fprintf(&text, "B%d,F,wild,wild,2001,2002\n", 10_000+i)
	}
	text.WriteString("L1,F,wild,wild,2020,\nL2,M,wild,wild,2020,\n")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "studbook.csv"), []byte(text.String()), 0o644))
	c := serve(t, Config{Studbook: filepath.Join(dir, "studbook.csv")})
	all := c.page("/birds?all=true")
	assert.Equal(t, mostBirds, strings.Count(all, "<tr><th")+strings.Count(all, "<tr id="))
	assert.Contains(t, all, "The first 5,000 of 5,004 are shown.")
	assert.NotContains(t, c.page("/birds"), "are shown")
	assert.Contains(t, c.page("/birds?all=true&find=B1500"), `>B15001</a>`)
}

// TestFolderSavedAbroad: whoever saved a file of the colony with dates in another order makes
// a new folder of all files where the fault is told.
func TestFolderSavedAbroad(t *testing.T) {
	dir, imports := filepath.Join(t.TempDir(), "ours"), t.TempDir()
	require.NoError(t, os.Mkdir(dir, 0o755))
	for name, text := range map[string]string{
		"studbook.csv":   "id;sex;sire;dam;hatch_date\nA;F;wild;wild;01.05.2015\nB;M;wild;wild;17.06.2016\nC;F;B;A;02.05.2020\nD;F;B;A;03.05.2020\n",
		"bonds.csv":      "female;male;since;until\nA;B;01.03.2019;\n",
		"programme.toml": "species = \"an ibis\"\n",
		"private.txt":    "nothing of a colony\n",
	} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
	}
	c := serve(t, Config{Studbook: filepath.Join(dir, "studbook.csv"), Imports: imports})
	assert.Contains(t, c.page("/data"), "Read the whole folder into a new one")
	status, text := c.send("/import", "", "", "from", "open")
	require.Equal(t, http.StatusOK, status, text)
	assert.Contains(t, text, "4 birds can be read. Nothing has been written yet")
	status, text = c.send("/import", "", "", "do", "write")
	require.Equal(t, http.StatusOK, status, text)
	for name, want := range map[string]string{"bonds.csv": "A,B,2019-03-01", "studbook.csv": "2016-06-17", "programme.toml": "an ibis"} {
		raw, err := os.ReadFile(filepath.Join(imports, "ours", name))
		require.NoError(t, err)
		assert.Contains(t, string(raw), want)
	}
	assert.NoFileExists(t, filepath.Join(imports, "ours", "private.txt"))
	assert.NotContains(t, c.page("/data"), "Read the whole folder into a new one")
}
