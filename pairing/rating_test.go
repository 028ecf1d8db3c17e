package pairing_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
)

// TestEquallyGoodPairsAreCountedAsNeitherBetterNorWorse: of two females and two males without
// kin, and three siblings, the four pairs of the first are one as good as the other and better than the rest; the shares are counts of the ten.
func TestEquallyGoodPairsAreCountedAsNeitherBetterNorWorse(t *testing.T) {
	p := programmeOn(t, "2026-10-05", "studbook.csv", `id,sex,sire,dam,hatch_date
F1,F,wild,wild,2018-05-01
F2,F,wild,wild,2018-05-01
M1,M,wild,wild,2018-05-01
M2,M,wild,wild,2018-05-01
A,F,S,D,2018-05-01
B,F,S,D,2018-05-01
C,M,S,D,2018-05-01
`, "programme.toml", settings)
	d := decide(t, p)
	r := rankBy(t, p, d, "F1", pairing.Options{Samples: -1})
	require.Equal(t, 4*3-2, d.EligiblePairs(), "all but C with its sisters")
	require.Len(t, r.Candidates, 3)
	for _, c := range r.Candidates[:2] {
		assert.Zero(t, c.Behind)
		assert.InDelta(t, 0.6, c.AheadOf, 1e-12)
	}
	last := r.Candidates[2]
	assert.Equal(t, "C", p.Book.Birds[last.Bird].ID)
	assert.InDelta(t, 0.4, last.Behind, 1e-12)
}
