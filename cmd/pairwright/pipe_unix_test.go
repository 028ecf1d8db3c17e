//go:build unix

package main

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestPipesAreNotRead: a pipe that nobody writes to would never end, wherever a file
// is read.
func TestPipesAreNotRead(t *testing.T) {
	copied(t)
	require.NoError(t, syscall.Mkfifo("pipe.csv", 0o600))
	require.NoError(t, os.Mkdir("beside", 0o700))
	require.NoError(t, os.Link("studbook.csv", filepath.Join("beside", "studbook.csv")))
	require.NoError(t, syscall.Mkfifo(filepath.Join("beside", "bonds.csv"), 0o600))
	for _, args := range [][]string{
		{"birds", "--studbook", "pipe.csv"}, {"birds", "--studbook", "beside/studbook.csv"}, {"import", "pipe.csv", "--into", "new"},
		{"import", "studbook.csv", "--into", "new", "--mapping", "pipe.csv"}, {"plan", "--own", "pipe.csv"}, {"forecast", "--with", "pipe.csv"},
		{"record", "death", "C0734", "--studbook", "pipe.csv"},
	} {
		code, said := call(t, args...)
		assert.Equal(t, exitFault, code, args)
		assert.Contains(t, said, "is a pipe or a device; write what comes from it to a file, and name that", args)
	}
	assert.NoDirExists(t, "new")
}
