package review_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pairing/review"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// TestClutchesOfTheYear: counted by hand. Of the two clutches at A since March 2025 one hatched
// and of one the eggs were replaced; F1 lived at B when she laid the one of the year before,
// and F3 and M3, bonded all the while, laid none.
func TestClutchesOfTheYear(t *testing.T) {
	c := studbooktest.Read(t, "studbook.csv", `id,sex,sire,dam,hatch_date,location,origin
F1,F,wild,wild,2015-05-01,A,wild
M1,M,wild,wild,2015-05-01,A,wild
F2,F,wild,wild,2015-05-01,A,wild
M2,M,wild,wild,2015-05-01,A,wild
F3,F,wild,wild,2015-05-01,A,wild
M3,M,wild,wild,2015-05-01,A,wild
`, "moves.csv", "id,date,from,to\nF1,2025-03-05,B,A\n",
		"bonds.csv", "female,male,since\nF1,M1,2025-03-10\nF2,M2,2020-03-01\nF3,M3,2020-03-01\n",
		"clutches.csv", "female,male,laid,eggs,fertile,hatched,fledged\nF1,M1,2025-04-20,2,2,1,\nF2,M2,2025-05-02,3,,replaced,\nF2,M2,2024-05-02,2,1,1,1\nF1,M1,2024-04-20,2,0,0,0\nF2,M2,2023-05-02,2,2,2,2\n",
		"institutions.csv", "code,name\nA,A\nB,B\n",
		"programme.toml", "[breeding_age]\nfemale = [2, 20]\nmale = [2, 20]\n[months]\nlaying = [4, 5]\n")
	p := on(t, c, studbook.DayOf(2026, 3, 1))
	n := review.NewNumbers(p, p.Census(), "A", studbook.DayOf(2025, 3, 1))
	for name, x := range map[string]struct {
		broods                                 pairing.Broods
		laid, replaced, eggs, fertile, hatched int
	}{
		"colony": {n.Colony.Clutches, 2, 1, 5, 2, 1}, "colony before": {n.Colony.ClutchesBefore, 1, 0, 2, 1, 1},
		"programme": {n.Programme.Clutches, 2, 1, 5, 2, 1}, "programme before": {n.Programme.ClutchesBefore, 2, 0, 4, 1, 1},
	} {
		assert.Equal(t, []int{x.laid, x.replaced, x.eggs, x.fertile, x.hatched},
			[]int{x.broods.Clutches, x.broods.Dummied, x.broods.Eggs.Sum, x.broods.Fertile.Sum, x.broods.Hatched.Sum}, name)
	}
	assert.False(t, n.Colony.Clutches.Fledged.Known(), "nobody counted")
	require.Len(t, n.WithoutClutch, 1)
	assert.Equal(t, "F3", p.Book.Birds[n.WithoutClutch[0][0]].ID)

	became := review.NewLastYear(p, &review.Advice{On: studbook.DayOf(2025, 3, 1), Broods: []review.AdvisedBrood{
		{Female: "F3", Male: "M3", Most: 2, Expected: 0.7}, {Female: "F1", Male: "M1", Most: 2, Expected: 0.9}, {Female: "F2", Male: "M1", Most: 1, Expected: 0.2}}})
	assert.Equal(t, review.LaidNone, became.Results[0].Became)
	assert.Equal(t, review.Done, became.Results[1].Became)
	assert.Equal(t, review.NotDone, became.Results[2].Became, "they are no pair")
	assert.InDelta(t, 1.8, became.Expected, 1e-12, "a pair that lays none is part of what was expected")
}
