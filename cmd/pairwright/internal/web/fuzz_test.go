package web

import (
	"io"
	"maps"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// FuzzRequest asks a server for anything, with the token of a form or without: no
// request is the program's fault, and nothing that was sent comes back as markup.
func FuzzRequest(f *testing.F) {
	for _, p := range pages() {
		method, path, _ := strings.Cut(p.pattern, " ")
		path = strings.NewReplacer("{$}", "", "{bird...}", "A02", "{kind}", "hatch", "{question}", "mates", "{job}", "1").Replace(path)
		f.Add(method == http.MethodPost, path, "bird=A02&a=A01&b=A02&as-of=2026-01-01&<zq>=<zq>", "dam=A02&date=2026-05-20&token=<zq>", "")
	}
	for _, path := range []string{"/bird/<zq>", "/birds?", "/export/xlsx", "/export/<zq>", "/download/transfer", "/record/<zq>", "/static/../page.go", "//x", "/%00", "/bird/%ff"} {
		f.Add(false, path, "find=<zq>&bird=%22><zq>&as-of=<zq>&format=<zq>&top=-1", "", "")
	}
	f.Add(true, "/record/death", "", "bird=A01&date=<zq>&note=%22<zq>&seal=x", "")
	f.Add(true, "/season/keep", "bond=A02+A01", "name=<zq>&hatch=A01%3BA02%3B9e9", "")
	for _, path := range []string{"/import", "/open", "/season/keep", "/record/hatch"} {
		f.Add(true, path, "", "home=<zq>&dates=dmy&apply=yes", strangers)
		f.Add(true, path, "", "file=<zq>&column.sire=<zq>", "Ring;<zq>;Vater\n<zq>;m;<zq>\n")
	}
	dir := f.TempDir()
	require.NoError(f, os.WriteFile(filepath.Join(dir, "studbook.csv"), []byte("id,name,sex,sire,dam,hatch_date\nA01,Ash <zq>,M,,,2018-05-01\nA02,Bryony,F,,,2018-05-02\n"), 0o644))
	s, err := New(Config{Studbook: filepath.Join(dir, "studbook.csv"), Imports: dir})
	require.NoError(f, err)
	f.Cleanup(s.jobs.end)
	f.Fuzz(func(t *testing.T, post bool, path, query, form, file string) {
		if strings.HasPrefix(path, "/quit") || strings.HasPrefix(path, "/open") && post || strings.Contains(query+form, "runs") || strings.Contains(query+form, "years") {
			t.Skip("which would end, lead elsewhere or take long")
		}
		method := http.MethodGet
		values, _ := url.ParseQuery(form) // what can be read of it
		if post {
			method = http.MethodPost
			values.Set("token", s.seal("AAAAAAAAAAAAAAAAAAAAAAAAAA"))
		}
		body, kind := values.Encode(), "application/x-www-form-urlencoded"
		if file != "" {
			body, kind = sent(t, values, file)
		}
		r := httptest.NewRequest(method, "http://localhost/", strings.NewReader(body))
		r.URL.Path, r.URL.RawQuery = path, query
		r.Header.Set("Content-Type", kind)
		r.AddCookie(&http.Cookie{Name: visitorCookie, Value: "AAAAAAAAAAAAAAAAAAAAAAAAAA"})
		w := httptest.NewRecorder()
		s.ServeHTTP(w, r)
		assert.NotEqual(t, http.StatusInternalServerError, w.Code, "%s %s: %s", method, r.URL, w.Body)
		if strings.HasPrefix(w.Header().Get("Content-Type"), "text/html") {
			assert.NotContains(t, strings.ToLower(w.Body.String()), "<zq>", "%s %s", method, r.URL)
		}
	})
}

// sent is a form with a file, as a browser sends it, and what kind of body that is.
func sent(t *testing.T, values url.Values, file string) (body, kind string) {
	var b strings.Builder
	form := multipart.NewWriter(&b)
	for _, name := range slices.Sorted(maps.Keys(values)) {
		for _, value := range values[name] {
			require.NoError(t, form.WriteField(name, value))
		}
	}
	w, err := form.CreateFormFile("file", "<zq>.csv")
	require.NoError(t, err)
	_, err = io.WriteString(w, file)
	require.NoError(t, err)
	require.NoError(t, form.Close())
	return b.String(), form.FormDataContentType()
}
