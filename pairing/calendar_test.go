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

// TestNoMonthNoDay: where no laying months are set, a day by which a bird must leave rests on
// months in which none travels or there is none; and a pair whose birds can meet only after
// the year that is counted as the season hatches nothing in it (by hand).
func TestNoMonthNoDay(t *testing.T) {
	const birds = "id,sex,sire,dam,hatch_date,location\nF,F,wild,wild,2018-05-01,A\nM,M,wild,wild,2018-05-01,B\n"
	asOf := studbook.DayOf(2026, 9, 30)
	for _, x := range []struct {
		name, months, institutions string
		latest                     studbook.Day
		hatch                      bool
	}{
		{"nothing is set", "", "A,X,,\nB,X,,\n", 0, true},
		{"one end is closed in March", "", "A,X,,\nB,X,,3\n", studbook.DayOf(2027, 2, 28), true},
		{"moult in January", "moult = [1]", "A,X,,\nB,X,,\n", studbook.DayOf(2026, 12, 31), true},
		{"a permit takes half a year", "", "A,X,26,\nB,Y,26,\n", 0, true},
		{"a permit takes a year", "", "A,X,52,\nB,Y,52,\n", 0, false},
		{"laying from April", "laying = [4, 5, 6]", "A,X,,\nB,X,,\n", studbook.DayOf(2027, 3, 2), true},
	} {
		t.Run(x.name, func(t *testing.T) {
			colony := studbooktest.Read(t, "studbook.csv", birds, "programme.toml", "quarantine_days = 30\n[months]\n"+x.months+"\n[moves]\nleast_gain = 0\n",
				"institutions.csv", "code,country,permit_weeks,closed_months\n"+x.institutions)
			p, err := pairing.New(t.Context(), colony.At(asOf))
			require.NoError(t, err)
			assert.Equal(t, x.latest.String(), p.Timing(index(t, p, "M"), "B", "A").Latest.String())
			plan, err := decide(t, p).Plan(t.Context(), pairing.PlanOptions{Whole: true, Chicks: 2})
			require.NoError(t, err)
			assert.Equal(t, x.hatch, plan.Expected > 0, "%v chicks", plan.Expected)
		})
	}
}
