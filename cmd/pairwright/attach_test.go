package main

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// TestAttachedWorkbook: what is sent along as a workbook carries what F rests
// on, the known kinship of founders too, and gives the same F to every bird.
func TestAttachedWorkbook(t *testing.T) {
	copied(t)
	require.NoError(t, os.Mkdir("sent", 0o700))
	read := func(name string) *pairing.Programme {
		c, err := studbook.Read(context.Background(), os.DirFS(filepath.Dir(name)), filepath.Base(name), studbook.Options{})
		require.NoError(t, err)
		p, err := pairing.New(t.Context(), c.At(studbook.DayOf(2026, 9, 30)))
		require.NoError(t, err)
		return p
	}
	code, said := call(t, "transfer", "C0522", "--to", "HAF", "--quiet", "--out", "request.txt", "--attach", "sent/sent.xlsx")
	require.Zero(t, code, said)
	whole, sent := read("studbook.csv"), read("sent/sent.xlsx")
	require.NotEmpty(t, sent.Book.Colony.FounderKinship)
	rests := 0
	for k, b := range sent.Book.Birds {
		node, ok := whole.Pedigree.Index(b.ID)
		require.True(t, ok)
		assert.InDelta(t, whole.Pedigree.F(node), sent.Pedigree.F(sent.Node(k)), 1e-12, b.ID)
		if whole.Pedigree.F(node) > 0 {
			rests++
		}
	}
	assert.Positive(t, rests)

	code, said = call(t, "transfer", "C0522", "--to", "HAF", "--out", "request.txt", "--attach", "sent.csv")
	require.Zero(t, code, said)
	request, err := os.ReadFile("request.txt")
	require.NoError(t, err)
	assert.Contains(t, strings.Join(strings.Fields(string(request)), " "), "to send it too, attach a workbook")
}
