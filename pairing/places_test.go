package pairing

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook/studbooktest"
)

// TestSiblingsAreToldApartBeyondRounding: which of two sisters who are alike goes to which of
// two mates is settled by more than rounding does to what the pairs are worth, a few units
// in the last place of sums of some hundred kinships, so that all answers of a day and those
// of the next say the same; and by less than what anybody would choose by.
func TestSiblingsAreToldApartBeyondRounding(t *testing.T) {
	c := studbooktest.Read(t, "studbook.csv", "id,sex,sire,dam,hatch_date,location,origin\n"+
		"S1,F,M0,F0,2024-05-01,A,captive\nS2,F,M0,F0,2024-05-01,A,captive\nX,M,wild,wild,2023-05-02,A,wild\nY,M,wild,wild,2023-05-03,B,wild\n"+
		"M0,M,wild,wild,2015-05-01,A,wild\nF0,F,wild,wild,2015-05-01,A,wild\n")
	p, err := New(t.Context(), c.At(c.Birds[0].Hatch.Last+300))
	require.NoError(t, err)
	at := func(id string) int {
		b, known := p.Book.Index(id)
		require.True(t, known)
		return b
	}
	one := p.hardship(at("S1"), at("X")) + p.hardship(at("S2"), at("Y"))
	other := p.hardship(at("S1"), at("Y")) + p.hardship(at("S2"), at("X"))
	assert.Greater(t, math.Abs(one-other), 1e-13)
	assert.Less(t, max(one, other), 0.1*sameValue)
}
