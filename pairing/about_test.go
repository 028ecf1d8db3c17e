package pairing

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree"
	"pairwright/pedigree/studbook/studbooktest"
)

// A programme about some birds has the figures of the whole one, to the last digit, for
// all who are in its pedigree, and leaves out birds from whom nobody of these descends.
func TestNewAbout(t *testing.T) {
	studbooktest.WithoutRace(t)
	c := studbooktest.Example(t)
	whole, err := New(t.Context(), c.At(c.FilesDay))
	require.NoError(t, err)
	last := len(whole.Book.Birds) - 1
	dead := 0
	for whole.Book.Alive(dead) || whole.Pedigree.F(whole.node[dead]) == 0 {
		dead++
	}
	about, err := NewAbout(t.Context(), whole.Book, dead, last)
	require.NoError(t, err)
	require.Less(t, len(about.within), len(whole.within))
	for _, b := range about.within {
		i, j := whole.node[b], about.node[b]
		require.Equal(t, whole.Pedigree.F(i), about.Pedigree.F(j), whole.Name(b))
		require.Equal(t, whole.Living.KinshipSumOf(i), about.Living.KinshipSumOf(j), whole.Name(b))
	}
	assert.GreaterOrEqual(t, about.node[dead], 0)
	assert.Contains(t, about.node, -1)
	assert.Equal(t, whole.Gaps(), about.Gaps())
	assert.Equal(t, whole.ranks(), about.ranks())
	one, err := whole.Living.GeneDrop(t.Context(), pedigree.Drop{Iterations: 256, Seed: 3})
	require.NoError(t, err)
	other, err := about.Living.GeneDrop(t.Context(), pedigree.Drop{Iterations: 256, Seed: 3})
	require.NoError(t, err)
	assert.Equal(t, whole.RowsFrom(one, false), about.RowsFrom(other, false))

	var rankings [2]*Ranking
	for k, p := range []*Programme{whole, about} {
		d, err := p.Decide(t.Context(), DecisionOptions{})
		require.NoError(t, err)
		r, err := NewRanker(t.Context(), d, Options{Seed: 1, Samples: 20})
		require.NoError(t, err)
		rankings[k], err = r.Rank(t.Context(), p.Free(p.Settings().Home)[0])
		require.NoError(t, err)
	}
	assert.Equal(t, rankings[0].Candidates, rankings[1].Candidates, "possible pedigrees are drawn alike")
}

// Of very many pairs no ordered list is kept: the figures are the same without.
func TestVeryManyPairs(t *testing.T) {
	studbooktest.WithoutRace(t)
	c := studbooktest.Example(t)
	decide := func(most int) *Decision {
		defer func(before int) { mostInOrder = before }(mostInOrder)
		mostInOrder = most
		p, err := New(t.Context(), c.At(c.FilesDay))
		require.NoError(t, err)
		d, err := p.Decide(t.Context(), DecisionOptions{})
		require.NoError(t, err)
		return d
	}
	few, many := decide(mostInOrder), decide(0)
	assert.InEpsilon(t, few.LeastGain, many.LeastGain, 1e-12)
	require.Len(t, many.Bonds, len(few.Bonds))
	positive := 0
	for k, x := range few.Bonds {
		assert.Equal(t, x.AheadOf, many.Bonds[k].AheadOf)
		assert.Equal(t, many.m.aheadOf(x.Value), many.m.aheadOfEach([]float64{x.Value})[0])
		if x.AheadOf > 0 {
			positive++
		}
	}
	assert.Positive(t, positive)
}
