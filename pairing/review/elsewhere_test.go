package review_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pairing/review"
	"pairwright/pedigree/studbook/studbooktest"
)

// What one institution's review says of a pair that is to live at another says nothing of its
// chicks, which the other's plan may well have hatch.
func TestPairsThatAreToLiveElsewhere(t *testing.T) {
	studbooktest.WithoutRace(t)
	c := studbooktest.Example(t)
	p := on(t, c, c.FilesDay)
	d, err := p.Decide(t.Context(), pairing.DecisionOptions{})
	require.NoError(t, err)
	told := 0
	for _, place := range c.Institutions {
		chicks, _ := p.ChicksNeeded(place.Code, false)
		plan, err := d.Plan(t.Context(), pairing.PlanOptions{Place: place.Code, Chicks: chicks})
		require.NoError(t, err)
		for _, x := range review.Pairs(p, plan) {
			codes := map[pairing.Code]bool{}
			for _, r := range x.Why {
				codes[r.Code] = true
			}
			away := x.Place != place.Code
			assert.Equal(t, away, codes[review.PlanElsewhere], "%s: %d and %d", place.Code, x.Female, x.Male)
			if away {
				told++
				assert.False(t, codes[review.PlanNeedsNone])
			}
		}
	}
	assert.Positive(t, told, "some pairs are to live elsewhere")
}
