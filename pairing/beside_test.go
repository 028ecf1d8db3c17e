package pairing_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// TestLoneBirdsMayPairForCompany: birds that the decision leaves alone at one place are told
// with whom they may pair, each the other, and whom they had better not; a bird for whom a
// young one comes is told that and is left to it.
func TestLoneBirdsMayPairForCompany(t *testing.T) {
	p, err := pairing.New(t.Context(), studbooktest.Example(t).At(studbook.DayOf(2026, 9, 30)))
	require.NoError(t, err)
	d := decide(t, p)
	said := func(id string) string {
		why, err := d.Beside(t.Context(), index(t, p, id))
		require.NoError(t, err)
		var say []string
		for _, r := range why {
			var ids []string
			for _, b := range r.Birds {
				ids = append(ids, b.ID)
			}
			say = append(say, fmt.Sprint(r.Code, " ", strings.Join(ids, " ")))
		}
		return strings.Join(say, "; ")
	}
	assert.Equal(t, "company C0846 C0877 C0885", said("C0929"))
	assert.Equal(t, "company C0917 C0921 C0929", said("C0846"))
	assert.Equal(t, "comes_for_it C0978", said("C0619"), "Crest comes for her")
	assert.Empty(t, said("C0734"), "she gets a mate")
	assert.Empty(t, said("C0843"), "she is on hold")

	// Full siblings, alone together, are not to pair even so.
	p = programmeOf(t, "studbook.csv", "id,sex,sire,dam,hatch_date,location,origin\nM,M,wild,wild,2008-05-01,A,wild\nF,F,wild,wild,2008-05-01,A,wild\n"+
		"S,F,M,F,2019-05-01,B,captive\nB,M,M,F,2020-05-01,B,captive\n", "bonds.csv", "female,male,since\nF,M,2012-01-01\n", "programme.toml", settings)
	d = decide(t, p)
	assert.Equal(t, "no_company B", said("S"))
}
