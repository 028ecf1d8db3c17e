package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// copied writes the example colony to a folder of its own and goes there.
func copied(t *testing.T) {
	t.Helper()
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, os.DirFS(filepath.Join("..", "..", "examples", "harrow-fell"))))
	t.Chdir(dir)
}

// call runs a command and returns its exit code and what it said to the user.
func call(t *testing.T, args ...string) (code int, said string) {
	t.Helper()
	var stdout, stderr bytes.Buffer
	code = run(context.Background(), args, &stdout, &stderr)
	return code, stderr.String()
}

// TestNoOutputReplacesWhatWasRead: whatever a file that was read is called,
// nothing is written over it.
func TestNoOutputReplacesWhatWasRead(t *testing.T) {
	copied(t)
	before, err := os.ReadFile("studbook.csv")
	require.NoError(t, err)
	require.NoError(t, os.Symlink("studbook.csv", "link.csv"))
	require.NoError(t, os.Symlink("link.csv", "chain.csv"))
	require.NoError(t, os.Link("studbook.csv", "hard.csv"))
	require.NoError(t, os.Mkdir("sub", 0o700))
	here, err := os.Getwd()
	require.NoError(t, err)
	for _, name := range []string{
		"studbook.csv", "./studbook.csv", "sub/../studbook.csv", filepath.Join(here, "studbook.csv"), "link.csv", "chain.csv", "hard.csv",
		"moves.csv", "bonds.csv", "clutches.csv", "holds.csv", "institutions.csv", "founder_kinship.csv", "programme.toml",
	} {
		code, said := call(t, "birds", "--format", "csv", "--out", name)
		assert.Equal(t, exitUsage, code, name)
		assert.Contains(t, said, name+" was read for this answer and would be lost", name)
		code, said = call(t, "transfer", "C0734", "--out", "request.txt", "--attach", name)
		assert.Equal(t, exitUsage, code, name)
		assert.Contains(t, said, name+" was read for this answer and would be lost", name)
	}
	code, said := call(t, "birds", "--studbook", "link.csv", "--out", "hard.csv")
	assert.Equal(t, exitUsage, code)
	assert.Contains(t, said, "would be lost")
	assert.NoFileExists(t, "request.txt")
	after, err := os.ReadFile("studbook.csv")
	require.NoError(t, err)
	assert.Equal(t, before, after)
}

// TestOutputAndAttachmentAreTwoFiles: under whatever two names.
func TestOutputAndAttachmentAreTwoFiles(t *testing.T) {
	copied(t)
	require.NoError(t, os.WriteFile("old.csv", []byte("old"), 0o600))
	require.NoError(t, os.Link("old.csv", "hard.csv"))
	require.NoError(t, os.Symlink("new.csv", "link.csv"))
	require.NoError(t, os.Symlink(".", "here"))
	for _, names := range [][2]string{
		{"new.csv", "new.csv"}, {"new.csv", "./new.csv"}, {"new.csv", "link.csv"}, {"new.csv", "here/new.csv"}, {"old.csv", "hard.csv"},
	} {
		code, said := call(t, "transfer", "C0734", "--quiet", "--out", names[0], "--attach", names[1])
		assert.Equal(t, exitUsage, code, names)
		assert.Contains(t, said, "name a file for each", names)
	}
	assert.NoFileExists(t, "new.csv")
	code, said := call(t, "transfer", "C0734", "--quiet", "--out", "request.txt", "--attach", "rows.csv")
	assert.Zero(t, code, said)
	assert.FileExists(t, "request.txt")
	assert.FileExists(t, "rows.csv")
}

// TestAnswerIsNotAddedToWhatWasRead: where the shell opens a file of the colony for
// the answer to go to its end.
func TestAnswerIsNotAddedToWhatWasRead(t *testing.T) {
	copied(t)
	before, err := os.ReadFile("bonds.csv")
	require.NoError(t, err)
	f, err := os.OpenFile("bonds.csv", os.O_APPEND|os.O_WRONLY, 0)
	require.NoError(t, err)
	defer f.Close()
	var said bytes.Buffer
	assert.Equal(t, exitUsage, run(t.Context(), []string{"birds", "--quiet"}, f, &said))
	assert.Contains(t, said.String(), "the answer would go to the end of bonds.csv, which was read for it")
	after, err := os.ReadFile("bonds.csv")
	require.NoError(t, err)
	assert.Equal(t, before, after)
}

// TestOutputIsNoFolder: and a place that does not exist is said before
// anything is computed or after, but never in the terms of the system alone.
func TestOutputIsNoFolder(t *testing.T) {
	copied(t)
	require.NoError(t, os.Mkdir("sub", 0o700))
	code, said := call(t, "birds", "--quiet", "--out", "sub")
	assert.Equal(t, exitUsage, code)
	assert.Contains(t, said, "sub is a folder: name a file")
	code, said = call(t, "birds", "--quiet", "--out", "nowhere/list.txt")
	assert.Equal(t, exitFault, code)
	assert.Contains(t, said, "nowhere/list.txt was not written")
}

// TestAllOfItOrNothing: where the answer or what is sent along cannot be written,
// the other is not either, and what was there stays.
func TestAllOfItOrNothing(t *testing.T) {
	const full = "/dev/full"
	if _, err := os.Stat(full); err != nil {
		t.Skip("this system has no device that is full")
	}
	copied(t)
	require.NoError(t, os.WriteFile("old.csv", []byte("old"), 0o600))
	for _, names := range [][2]string{{full, "old.csv"}, {full, "new.csv"}, {"old.csv", full}, {"new.csv", full}} {
		code, said := call(t, "transfer", "C0734", "--quiet", "--out", names[0], "--attach", names[1])
		assert.Equal(t, exitFault, code, names)
		assert.Contains(t, said, "/dev/full was not written: no space left on device", names)
		assert.NoFileExists(t, "new.csv")
		old, err := os.ReadFile("old.csv")
		require.NoError(t, err)
		assert.Equal(t, "old", string(old))
	}
	screen, err := os.OpenFile(full, os.O_WRONLY, 0)
	require.NoError(t, err)
	defer screen.Close()
	for _, args := range [][]string{
		{}, {"--help"}, {"--version"}, {"help", "methods"}, {"mates", "--help"}, {"completion", "bash"},
		{"birds"}, {"kin", "C0419", "C0841", "--format", "json"}, {"check"}, {"transfer", "C0734", "--attach", "old.csv"},
		{"demo", "demo"}, {"export", "fam", "--into", "fam"}, {"import", "studbook.csv", "--preview"},
		{"record", "death", "C0734", "--dry-run"}, {"undo", "--list"}, {"serve", "--no-open"},
	} {
		var stderr bytes.Buffer
		assert.Equal(t, exitFault, run(t.Context(), args, screen, &stderr), args)
		assert.Contains(t, stderr.String(), "pairwright: the answer could not be written: no space left on device\n", args)
	}
	old, err := os.ReadFile("old.csv")
	require.NoError(t, err)
	assert.Equal(t, "old", string(old), "nothing is sent along with an answer that nobody has")
}
