package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook/studbooktest"
)

// TestRowOrder: the example colony with the rows of every file in reverse gives
// the same bytes.
func TestRowOrder(t *testing.T) {
	studbooktest.WithoutRace(t)
	example, reversed := filepath.Join("..", "..", "examples", "harrow-fell"), t.TempDir()
	files, err := os.ReadDir(example)
	require.NoError(t, err)
	for _, f := range files {
		text, err := os.ReadFile(filepath.Join(example, f.Name()))
		require.NoError(t, err)
		if strings.HasSuffix(f.Name(), ".csv") {
			rows := strings.SplitAfter(string(text), "\n")
			header := slices.IndexFunc(rows, func(row string) bool { return !strings.HasPrefix(row, "#") })
			slices.Reverse(rows[header+1:])
			text = []byte(strings.Join(rows, ""))
		}
		require.NoError(t, os.WriteFile(filepath.Join(reversed, f.Name()), text, 0o600))
	}
	for _, command := range [][]string{
		{"birds", "--all", "--format", "csv"},
		{"bird", "C1001"},
		{"kin", "C0419", "C0841"},
		{"parents"},
		{"parents", "C0390"},
		{"mates"},
		{"mates", "C0734", "--break-bonds"},
		{"plan"},
		{"transfer", "C0734"},
		{"transfer", "--list"},
		{"review", "--runs", "2"},
	} {
		var want, got, stderr bytes.Buffer
		require.Zero(t, run(context.Background(), append(command, "--quiet", "--studbook", filepath.Join(example, "studbook.csv")), &want, &stderr), stderr.String())
		require.Zero(t, run(context.Background(), append(command, "--quiet", "--studbook", filepath.Join(reversed, "studbook.csv")), &got, &stderr), stderr.String())
		assert.Equal(t, want.String(), got.String(), command)
	}
}
