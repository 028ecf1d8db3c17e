package web

import (
	"fmt"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwright/examples"
)

// measured are the pages that are measured: all but the documents.
var measured = []string{
	"/", "/season", "/season?own=1&pair=C0565%3BC0573&chicks=1", "/birds", "/bird/C0734", "/kin?a=C0734&b=C0398", "/parents", "/mates", "/mates?bird=C0734", "/plan", "/plan?scope=programme",
	"/transfers", "/requests", "/transfer?bird=C0734", "/data", "/record", "/record/hatch", "/open", "/help",
}

// BenchmarkPages measures pages of the example, and of a programme of three such
// as large: some 3,300 birds ever, 1,150 of them living. What all pages share has
// been computed, as it is when the server starts.
func BenchmarkPages(b *testing.B) { measure(b, func(*Server) {}) }

// BenchmarkPagesAfterChange measures the same pages where each is the first that is
// asked for after a change of the files: these are read anew, and nothing is kept.
func BenchmarkPagesAfterChange(b *testing.B) {
	measure(b, func(s *Server) { s.reader.open(s.reader.from, nil) })
}

func measure(b *testing.B, before func(*Server)) {
	for _, times := range []int{1, 3} {
		s, err := New(Config{Studbook: manifold(b, times)})
		require.NoError(b, err)
		b.Cleanup(s.jobs.end)
		s.Warm(b.Context())
		for _, path := range measured {
			b.Run(fmt.Sprintf("%dx%s", times, path), func(b *testing.B) {
				for b.Loop() {
					before(s)
					w := httptest.NewRecorder()
					s.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "http://localhost"+path, nil))
					require.Less(b, w.Code, 400)
				}
			})
		}
	}
}

// manifold writes the example as many times over, each copy with birds of its
// own, and returns its studbook.
func manifold(b *testing.B, times int) string {
	b.Helper()
	dir, id := b.TempDir(), regexp.MustCompile(`\b(?:C\d{4}|PA\d\d)\b`)
	entries, err := fs.ReadDir(examples.HarrowFell(), ".")
	require.NoError(b, err)
	for _, e := range entries {
		raw, err := fs.ReadFile(examples.HarrowFell(), e.Name())
		require.NoError(b, err)
		text := string(raw)
		switch e.Name() {
		case "studbook.csv", "bonds.csv", "clutches.csv", "moves.csv":
			heading := regexp.MustCompile(`(?m)^[a-z][a-z_]*,.*\n`).FindString(text)
			_, rows, _ := strings.Cut(text, heading)
			for k := 1; k < times; k++ {
				text += id.ReplaceAllString(rows, fmt.Sprintf("${0}x%d", k))
			}
		}
		require.NoError(b, os.WriteFile(filepath.Join(dir, e.Name()), []byte(text), 0o666))
	}
	return filepath.Join(dir, "studbook.csv")
}
