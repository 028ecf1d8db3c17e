package exchange

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestFolderIsWrittenWholeOrNotAtAll: a file that cannot be written takes the
// others with it, and the folder if it is new.
func TestFolderIsWrittenWholeOrNotAtAll(t *testing.T) {
	bad := []File{{Name: "a"}, {Name: "b"}, {Name: "no\x00name"}}
	fresh, empty := filepath.Join(t.TempDir(), "new"), t.TempDir()
	assert.Error(t, Create(fresh, bad))
	assert.NoDirExists(t, fresh)
	assert.Error(t, Create(empty, bad))
	left, err := os.ReadDir(empty)
	require.NoError(t, err)
	assert.Empty(t, left)
}

// A folder that one stands in is filled as it is, and nothing is written over.
func TestFolderOfOnesOwn(t *testing.T) {
	t.Chdir(t.TempDir())
	require.NoError(t, Create(".", []File{{"a.csv", []byte("x\n")}, {"under/b", []byte("y\n")}}))
	got, err := os.ReadFile(filepath.Join("under", "b"))
	require.NoError(t, err)
	assert.Equal(t, "y\n", string(got))
	assert.ErrorContains(t, Create(".", []File{{Name: "c"}}), "not empty")
	list, err := os.ReadDir(".")
	require.NoError(t, err)
	assert.Len(t, list, 2, "nothing is left behind")
}

// What a killed program left in a folder does not make it one that is in use.
func TestFolderOfTheKilled(t *testing.T) {
	dir := t.TempDir()
	left := filepath.Join(dir, "."+filepath.Base(dir)+".pairwright-0")
	require.NoError(t, os.Mkdir(left, 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(left, "a"), nil, 0o600))
	require.NoError(t, Create(dir, []File{{"a", []byte("x")}}))
	list, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, list, 1)
	assert.Equal(t, "a", list[0].Name())
}

// Of an import the tables are kept as they were, to tell later who changed what.
func TestBase(t *testing.T) {
	files := withBase([]File{{"studbook.csv", []byte("id\n")}, {MappingFile, nil}})
	assert.Equal(t, []string{MappingFile, "imported/studbook.csv", "studbook.csv"}, Names(files))
}
