package report

import (
	"io"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
	"pairwright/pairing/transfer"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// harrowFell is the example colony in autumn.
func harrowFell(t testing.TB, year int) *pairing.Programme {
	t.Helper()
	p, err := pairing.New(t.Context(), studbooktest.Example(t).At(studbook.DayOf(year, 9, 30)))
	require.NoError(t, err)
	return p
}

// TestEveryRequestCanBeWritten asks for birds of all places in several years
// and in every way, and writes what comes of it in every format.
func TestEveryRequestCanBeWritten(t *testing.T) {
	studbooktest.WithoutRace(t)
	written, refused := 0, 0
	for _, year := range []int{1994, 2012, 2026} {
		p := harrowFell(t, year)
		d, err := p.Decide(t.Context(), pairing.DecisionOptions{})
		require.NoError(t, err)
		for k := 0; k < len(p.Book.Living); k += 1 + len(p.Book.Living)/8 {
			bird := &p.Book.Birds[p.Book.Living[k]]
			for _, q := range []transfer.Question{{Bird: bird.ID}, {Bird: bird.ID, To: "LIS"}, {Bird: bird.ID, To: "HAF", From: "HAF"}} {
				c, err := transfer.Find(t.Context(), p, d, q)
				if err != nil {
					refused++
					assert.NotContains(t, err.Error(), "\n")
					continue
				}
				written++
				doc := TransferDocument(p, c, "HAF")
				require.NoError(t, document.WriteText(io.Discard, doc, 0))
				require.NoError(t, document.WriteMarkdown(io.Discard, doc))
				require.NoError(t, document.WriteHTML(io.Discard, doc))
				for _, s := range doc.Sections {
					assert.NotEmpty(t, s.Blocks, s.Title)
				}
			}
		}
	}
	assert.Greater(t, written, 15)
	assert.Greater(t, refused, 15)
}
