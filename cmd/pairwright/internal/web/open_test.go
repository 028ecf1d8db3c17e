package web

import (
	"archive/zip"
	"bytes"
	"io"
	"mime/multipart"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
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
		status, text = c.send("/import", "", "", "write", "yes")
		require.Equal(t, http.StatusOK, status, text)
		assert.FileExists(t, filepath.Join(imports, folder, "studbook.csv"))
		assert.FileExists(t, filepath.Join(imports, folder, "import-report.txt"))
		assert.Contains(t, c.page("/birds"), "R3", "the new colony is shown")
	}
	status, text := c.send("/import", "", "")
	assert.Equal(t, http.StatusUnprocessableEntity, status)
	assert.Contains(t, text, "Choose a file")
	status, text = c.send("/import", "big.csv", strings.Repeat("x", largestImport+1))
	assert.Equal(t, http.StatusUnprocessableEntity, status)
	assert.Contains(t, text, "larger than")
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
		}
	}
}
