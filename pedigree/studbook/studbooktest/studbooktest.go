// Package studbooktest gives tests colonies to work on: small ones written in
// the test itself, and the example.
package studbooktest

import (
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
)

// Read reads a colony folder given as the names of files and what is in them,
// in turn: "studbook.csv", "id,sex,…", "bonds.csv", "female,…".
func Read(t testing.TB, files ...string) *studbook.Colony {
	t.Helper()
	folder := fstest.MapFS{}
	for k := 0; k < len(files); k += 2 {
		folder[files[k]] = &fstest.MapFile{Data: []byte(files[k+1])}
	}
	c, err := studbook.Read(t.Context(), folder, "studbook.csv", studbook.Options{})
	require.NoError(t, err)
	return c
}

// Example reads the example colony.
func Example(t testing.TB) *studbook.Colony {
	t.Helper()
	c, err := studbook.Read(t.Context(), exampleFolder(t), "studbook.csv", studbook.Options{})
	require.NoError(t, err)
	return c
}

// ExampleFolder returns the files of the example by name, for tests that go on with
// them.
func ExampleFolder(t testing.TB) map[string]string {
	t.Helper()
	names, err := fs.Glob(exampleFolder(t), "*.*")
	require.NoError(t, err)
	require.NotEmpty(t, names)
	files := map[string]string{}
	for _, name := range names {
		data, err := fs.ReadFile(exampleFolder(t), name)
		require.NoError(t, err)
		files[name] = string(data)
	}
	return files
}

func exampleFolder(t testing.TB) fs.FS {
	_, here, _, ok := runtime.Caller(0)
	require.True(t, ok)
	return os.DirFS(filepath.Join(filepath.Dir(here), "..", "..", "..", "examples", "harrow-fell"))
}
