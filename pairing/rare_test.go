package pairing

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// TestWhyAPairRests: a pair whose eggs are replaced though nothing keeps it from breeding
// is told why before its genes are, and no genes are called rare that a quarter of the
// living birds have rarer ones than.
func TestWhyAPairRests(t *testing.T) {
	c := studbooktest.Example(t)
	p, err := New(t.Context(), c.At(studbook.DayOf(2026, 9, 30)))
	require.NoError(t, err)
	d, err := p.Decide(t.Context(), DecisionOptions{})
	require.NoError(t, err)
	plan, err := d.Plan(t.Context(), PlanOptions{Place: p.Settings().Home, Chicks: 4})
	require.NoError(t, err)
	rest := 0
	for _, x := range plan.Pairs {
		codes := []Code{}
		for _, r := range x.Reasons {
			codes = append(codes, r.Code)
			if r.Is(RareGenes, PairKinship) {
				rarer := 0
				for _, b := range p.Book.Living {
					if p.Living.MeanKinshipOf(p.Node(b)) < r.Value {
						rarer++
					}
				}
				assert.Equal(t, 4*rarer < len(p.Book.Living), r.Is(RareGenes), "%d of %d are rarer", rarer, len(p.Book.Living))
			}
		}
		if x.Role == Rest && len(x.Barred) == 0 && !x.Late {
			rest++
			assert.Equal(t, NotNeeded, codes[0])
		} else {
			assert.False(t, slices.Contains(codes, NotNeeded))
		}
	}
	assert.Positive(t, rest)
}
