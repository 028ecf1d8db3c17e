package main

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
	bad := map[string][]byte{"a": nil, "b": nil, filepath.Join("no", "folder"): nil}
	fresh, empty := filepath.Join(t.TempDir(), "new"), t.TempDir()
	assert.Error(t, writeFolder(fresh, bad))
	assert.NoDirExists(t, fresh)
	assert.Error(t, writeFolder(empty, bad))
	left, err := os.ReadDir(empty)
	require.NoError(t, err)
	assert.Empty(t, left)
}
