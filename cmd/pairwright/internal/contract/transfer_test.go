package contract

import (
	"bytes"
	"io"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

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

// TestStudbookRowsAreAStudbook: what is attached to a request can be read, and
// gives every bird in it the F and the kinship with the traveller that the whole
// studbook gives. The known kinship of founders is a file of its own and is
// left out of both.
func TestStudbookRowsAreAStudbook(t *testing.T) {
	whole := harrowFell(t, 2026)
	read := func(text []byte) *pairing.Programme {
		p, err := pairing.New(t.Context(), studbooktest.Read(t, "studbook.csv", string(text)).At(whole.Book.AsOf))
		require.NoError(t, err)
		return p
	}
	raw, err := os.ReadFile("../../../../examples/harrow-fell/studbook.csv")
	require.NoError(t, err)
	before := read(raw)
	d, err := whole.Decide(t.Context(), pairing.DecisionOptions{})
	require.NoError(t, err)
	c, err := transfer.Find(t.Context(), whole, d, transfer.Question{Bird: "C0390", To: "QUM", From: "QUM"})
	require.NoError(t, err)
	var sent bytes.Buffer
	require.NoError(t, WriteStudbook(&sent, c.Extract(whole)))
	after := read(sent.Bytes())

	uncertain := 0
	traveller, _ := after.Pedigree.Index("C0390")
	there, _ := before.Pedigree.Index("C0390")
	for b := range after.Book.Birds {
		got := &after.Book.Birds[b]
		want := before.Book.Bird(got.ID)
		node, _ := before.Pedigree.Index(got.ID)
		assert.InDelta(t, before.Pedigree.F(node), after.Pedigree.F(after.Node(b)), 1e-12, got.ID)
		assert.InDelta(t, before.Pedigree.Kinship(there, node), after.Pedigree.Kinship(traveller, after.Node(b)), 1e-12, got.ID)
		assert.Equal(t, []any{want.Name, want.Band, want.Sex, want.Sire, want.Dam, want.Hatch, want.Death, want.Origin, want.Notes, want.Recorded},
			[]any{got.Name, got.Band, got.Sex, got.Sire, got.Dam, got.Hatch, got.Death, got.Origin, got.Notes, got.Recorded})
		if got.Sire.Uncertain() {
			uncertain++
		}
	}
	assert.Positive(t, uncertain)
}

// TestEveryRequestHasItsJSON asks for birds of all places in several years.
func TestEveryRequestHasItsJSON(t *testing.T) {
	studbooktest.WithoutRace(t)
	written := 0
	for _, year := range []int{1994, 2012, 2026} {
		p := harrowFell(t, year)
		d, err := p.Decide(t.Context(), pairing.DecisionOptions{})
		require.NoError(t, err)
		for k := 0; k < len(p.Book.Living); k += 1 + len(p.Book.Living)/12 {
			if c, err := transfer.Find(t.Context(), p, d, transfer.Question{Bird: p.Book.Birds[p.Book.Living[k]].ID}); err == nil {
				written++
				require.NoError(t, WriteJSON(io.Discard, TransferJSON(p, c)))
			}
		}
	}
	assert.Greater(t, written, 5)
}
