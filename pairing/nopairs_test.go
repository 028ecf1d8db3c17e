package pairing_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
)

// TestNoPairs: why no two birds of a programme could ever have a chick, and what each bird
// that may breed is told, worked out by hand; where two could, or where a sex is to be
// found out first, nothing is said.
func TestNoPairs(t *testing.T) {
	const siblings = "P,M,wild,wild,2000,2020\nQ,F,wild,wild,2000,2020\nA,F,P,Q,2018,\n"
	for _, x := range []struct {
		name, rows string
		want       pairing.Code // "" where some two could
		count      int
		alone      pairing.Code // of A
	}{
		{"one bird", "A,F,wild,wild,2018,\n", pairing.NoOtherBird, 0, pairing.NoOtherBird},
		{"one that is not past breeding", "A,F,wild,wild,2018,\nB,M,wild,wild,1980,\n", pairing.NoOtherBird, 1, pairing.NoOtherBird},
		{"males alone", "A,M,wild,wild,2018,\nB,M,wild,wild,2017,\n", pairing.NoOtherSex, 0, pairing.NoOtherSex},
		{"males, and a female past breeding", "A,M,wild,wild,2018,\nB,M,wild,wild,2017,\nC,F,wild,wild,1980,\n", pairing.NoOtherSex, 1, pairing.NoOtherSex},
		{"all past breeding", "A,M,wild,wild,1980,\nB,F,wild,wild,1981,\n", pairing.AllPast, 2, pairing.TooOld},
		{"full siblings", siblings + "B,M,P,Q,2018,\n", pairing.AllTooCloseKin, 0, pairing.NoMateLeft},
		{"full siblings, one not of age", siblings + "B,M,P,Q,2026,\n", pairing.AllTooCloseKin, 0, pairing.NoneOfSexFree},
		{"a female comes of age", "A,M,wild,wild,2018,\nB,F,wild,wild,2026,\n", "", 0, pairing.NoneOfSexFree},
		{"a female may be among them", "A,M,wild,wild,2018,\nB,M,wild,wild,2017,\nC,U,wild,wild,2018,\n", "", 0, pairing.NoneOfSexFree},
		{"a pair to be", "A,M,wild,wild,2018,\nB,F,wild,wild,2017,\n", "", 0, ""},
	} {
		p := programmeOn(t, "2026-11-01", "studbook.csv", "id,sex,sire,dam,hatch_date,death_date\n"+x.rows, "programme.toml", settings)
		d := decide(t, p)
		why, is := d.NoPairs()
		assert.Equal(t, x.want != "", is, x.name)
		if is {
			assert.Equal(t, x.want, why.Code, x.name)
			assert.Equal(t, x.count, why.Count, x.name)
		}
		if why.Is(pairing.AllTooCloseKin) {
			assert.Equal(t, 0.25, why.Value, x.name)
		}
		if _, paired := d.BondOf(index(t, p, "A")); x.alone != "" {
			assert.False(t, paired, x.name)
			assert.Equal(t, x.alone, d.WhyAlone(index(t, p, "A")).Code, x.name)
		}
		plan, err := d.Plan(t.Context(), pairing.PlanOptions{Whole: true, Chicks: 2})
		require.NoError(t, err)
		assert.Equal(t, is, plan.NoPairs != nil, x.name)
	}
}

// Of a great many birds that are all too close kin it is said as well.
func TestNoPairsOfMany(t *testing.T) {
	var rows strings.Builder
	for k := range 60 {
		fmt.Fprintf(&rows, "X%d,%s,P,Q,2018,\n", k, []string{"F", "M"}[k%2])
	}
	p := programmeOn(t, "2026-11-01", "studbook.csv", "id,sex,sire,dam,hatch_date,death_date\nP,M,wild,wild,2000,2020\nQ,F,wild,wild,2000,2020\n"+rows.String(), "programme.toml", settings)
	why, is := decide(t, p).NoPairs()
	require.True(t, is)
	assert.Equal(t, pairing.AllTooCloseKin, why.Code)
}

// TestOlderThanAny: of a bird half as old again as any of its sex that had a brood,
// where no last age is known, every pair with it says so, by hand.
func TestOlderThanAny(t *testing.T) {
	const rows = "id,sex,sire,dam,hatch_date\nOLD,F,wild,wild,1996-05-01\nF,F,wild,wild,2010-05-01\nM,M,wild,wild,2015-05-01\nC,F,M,F,2024-05-01\n"
	said := func(files ...string) string {
		p := programmeOn(t, "2026-11-01", append([]string{"studbook.csv", rows, "bonds.csv", "female,male,since,until\nF,M,2023,2025\n"}, files...)...)
		var say []string
		for _, id := range []string{"OLD", "F"} {
			for _, r := range p.Heed(index(t, p, "M"), index(t, p, id)) {
				say = append(say, fmt.Sprintf("%s %s %.1f %.1f", r.Code, r.Birds[0].ID, r.Value, r.Other))
			}
		}
		return strings.Join(say, "; ")
	}
	assert.Equal(t, "older_than_any OLD 30.5 14.0", said())
	assert.Empty(t, said("programme.toml", "[breeding_age]\nfemale = [3, 40]\nmale = [3, 40]\n"), "the last age is set")
}
