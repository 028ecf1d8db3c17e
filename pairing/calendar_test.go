package pairing_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// TestPairsForm asks by when a new pair should be together, at the turns of a year
// whose pairing months come before its laying months (by hand).
func TestPairsForm(t *testing.T) {
	const birds = "id,sex,sire,dam,hatch_date\nA,F,,,2018-05-01\nB,M,,,2018-05-01\n"
	day := studbook.DayOf
	for _, x := range []struct {
		months     string
		asOf, want studbook.Day
	}{
		{"pairing = [2, 3]\nlaying = [4, 5, 6]", day(2026, 9, 30), day(2027, 2, 1)},
		{"pairing = [2, 3]\nlaying = [4, 5, 6]", day(2027, 2, 15), day(2027, 4, 1)}, // pairs form already
		{"pairing = [2, 3]\nlaying = [4, 5, 6]", day(2027, 5, 10), day(2027, 4, 1)}, // the season runs
		{"laying = [4, 5, 6]", day(2026, 9, 30), day(2027, 4, 1)},
		{"", day(2026, 9, 30), day(2026, 9, 30)},
	} {
		colony := studbooktest.Read(t, "studbook.csv", birds, "programme.toml", "[months]\n"+x.months+"\n")
		p, err := pairing.New(t.Context(), colony.At(x.asOf))
		require.NoError(t, err)
		assert.Equal(t, x.want, p.PairsForm(), "%s on %s", x.months, x.asOf)
	}
}
