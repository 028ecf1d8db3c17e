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

// twoPlaces is the flock, with more birds at another place.
func twoPlaces(t testing.TB, clutches, decisions string) *pairing.Programme {
	t.Helper()
	rows := flock
	for k := range 8 {
		rows += fmt.Sprintf("X%d,%s,wild,wild,2018-05-01,B,wild\n", k, "FM"[k%2:k%2+1])
	}
	bonds := flockBonds
	for k := 0; k < 8; k += 2 {
		bonds += fmt.Sprintf("X%d,X%d,2022-01-01\n", k, k+1)
	}
	return programmeOf(t, "studbook.csv", rows, "bonds.csv", bonds, "clutches.csv", clutchHead+clutches, "decisions.csv", "date,what,birds,decision\n"+decisions,
		"programme.toml", strings.Replace(running, `home = "A"`, "home = \"A\"\nchicks_per_season = 2\n[goal]\nbirds = 400\n", 1))
}

// homeAndWhole returns the plans of a place and of the whole programme of one day.
func homeAndWhole(t testing.TB, p *pairing.Programme, place string, chicks int) (home, whole *pairing.Plan) {
	t.Helper()
	d := decide(t, p)
	home, err := d.Plan(t.Context(), pairing.PlanOptions{Place: place, Chicks: chicks})
	require.NoError(t, err)
	all, _ := p.ChicksNeeded("", true)
	whole, err = d.Plan(t.Context(), pairing.PlanOptions{Whole: true, Chicks: all})
	require.NoError(t, err)
	return home, whole
}

// TestNoPlanTakesEggsThatAnotherWants has a colony that wants no chick in a programme that
// wants more than all can hatch: no egg is taken there before people have settled it.
func TestNoPlanTakesEggsThatAnotherWants(t *testing.T) {
	const laid = "F1,M1,2026-02-24,2,2,,\n"
	p := twoPlaces(t, laid, "")
	home, whole := homeAndWhole(t, p, "A", 0)
	x := pairOf(t, p, home, "F1")
	theirs := pairOf(t, p, whole, "F1")
	require.NotEqual(t, pairing.Rest, theirs.Role)
	assert.Equal(t, pairing.Rest, x.Role, "the colony's plan stays what it is")
	assert.Zero(t, home.Expected)
	assert.True(t, x.Disputed())
	assert.Equal(t, &pairing.OtherPlan{Whole: true, Role: theirs.Role, Order: theirs.Order, HatchUpTo: theirs.HatchUpTo}, x.Other)
	e := eggsUnder(t, p, home, "F1")
	assert.Equal(t, pairing.LeaveEggs, e.Advice)
	assert.Equal(t, "2026-03-09", e.SettleBy.String(), "the last day on which an egg may be taken")
	assert.Equal(t, pairing.LeaveEggs, eggsUnder(t, p, whole, "F1").Advice)

	p = twoPlaces(t, laid, "2026-02-25,hatch,F1; M1,declined\n")
	home, whole = homeAndWhole(t, p, "A", 0)
	for _, plan := range []*pairing.Plan{home, whole} {
		e := eggsUnder(t, p, plan, "F1")
		assert.Equal(t, pairing.ReplaceEggs, e.Advice, "people have settled it")
		assert.Zero(t, e.SettleBy)
	}

	p = twoPlaces(t, laid, "2026-02-25,hatch,F1; M1,agreed\n")
	home, _ = homeAndWhole(t, p, "A", 0)
	assert.Equal(t, pairing.Planned, pairOf(t, p, home, "F1").Role)
	assert.Zero(t, eggsUnder(t, p, home, "F1").SettleBy)
}

// TestPlansOfTheExampleAgree asks all institutions of the example what to do with the eggs
// that lie there: what one plan wants, the other has nobody take.
func TestPlansOfTheExampleAgree(t *testing.T) {
	c := studbooktest.Example(t)
	for _, day := range []studbook.Day{studbook.DayOf(2025, 5, 4), studbook.DayOf(2026, 5, 5), studbook.DayOf(2026, 9, 30)} {
		p, err := pairing.New(t.Context(), c.At(day))
		require.NoError(t, err)
		d := decide(t, p)
		all, _ := p.ChicksNeeded("", true)
		whole, err := d.Plan(t.Context(), pairing.PlanOptions{Whole: true, Chicks: all})
		require.NoError(t, err)
		disputed, eggs := 0, 0
		for _, place := range p.Book.Locations() {
			chicks, _ := p.ChicksNeeded(place, false)
			home, err := d.Plan(t.Context(), pairing.PlanOptions{Place: place, Chicks: chicks})
			require.NoError(t, err)
			for _, two := range [2][2]*pairing.Plan{{home, whole}, {whole, home}} {
				for _, x := range two[0].Pairs {
					for _, y := range two[1].Pairs {
						if x.Female != y.Female || x.Male != y.Male || x.Place != place || len(x.Barred) > 0 || x.Late {
							continue
						}
						wants := y.Role == pairing.Planned || y.Role == pairing.Reserve
						assert.Equal(t, x.Role == pairing.Rest && wants, x.Disputed(), "%s on %s", p.Name(x.Female), day)
						if x.Disputed() {
							disputed++
						}
					}
				}
				for _, e := range two[0].Eggs {
					for _, y := range two[1].Pairs {
						if e.Female == y.Female && e.Male == y.Male && y.HatchUpTo > 0 {
							eggs++
							assert.NotContains(t, codesOf(e.Reasons), pairing.EggsNotWanted, "%s on %s", p.Name(e.Female), day)
						}
					}
				}
			}
		}
		assert.Positive(t, disputed)
		assert.Equal(t, day != studbook.DayOf(2026, 9, 30), eggs > 0)
	}
}

// TestPlansOfOnePlaceHaveNoOther: where all birds live at one place, nobody else plans.
func TestPlansOfOnePlaceHaveNoOther(t *testing.T) {
	p := nesting(t, "F1,M1,2026-02-24,2,2,,\n")
	plan := planOf(t, p, 0)
	assert.Nil(t, pairOf(t, p, plan, "F1").Other)
	e := eggsUnder(t, p, plan, "F1")
	assert.Equal(t, pairing.ReplaceEggs, e.Advice)
	assert.Equal(t, []string{"2026-02-24", "2026-03-09"}, []string{e.From.String(), e.By.String()}, "as they are laid, and before the pair sits in earnest")
}

// TestPairRaisesItsChick follows a pair that hatched one of two eggs: nothing more is to be
// expected of it until the chick has fledged, nor later if the laying months end too soon.
func TestPairRaisesItsChick(t *testing.T) {
	at := func(day, clutch, months string) (*pairing.Programme, *pairing.Plan) {
		p := programmeOn(t, day, "studbook.csv", flock+"Y1,U,M1,F1,"+"2026-02-05,A,captive\n", "bonds.csv", flockBonds, "clutches.csv", clutchHead+clutch,
			"programme.toml", strings.Replace(strings.Replace(running, "2026-03-01", day, 1), "[1, 2, 3]", months, 1))
		return p, planOf(t, p, 4)
	}
	const hatched = "F1,M1,2026-01-08,2,1,1,\n"
	for _, months := range []string{"[1, 2, 3]", "[1, 2, 3, 4, 5, 6]"} {
		p, plan := at("2026-03-10", hatched, months)
		x := pairOf(t, p, plan, "F1")
		assert.Equal(t, pairing.Rest, x.Role)
		assert.Zero(t, x.Expected)
		why, is := x.Occupied()
		require.True(t, is)
		assert.Equal(t, pairing.RaisesChicks, why.Code)
		assert.Equal(t, "2026-04-06", why.Date.Last.String(), "28 days of incubation and 60 of rearing")
		assert.Equal(t, 1, plan.Hatched)
	}
	p, plan := at("2026-04-20", hatched, "[1, 2, 3, 4]")
	x := pairOf(t, p, plan, "F1")
	assert.Contains(t, codesOf(x.Reasons), pairing.SeasonDone, "it takes two weeks to lay again, and April has ten days left")
	_, is := x.Occupied()
	assert.False(t, is)
	p, plan = at("2026-04-07", hatched, "[1, 2, 3, 4, 5, 6]")
	assert.Equal(t, 1, pairOf(t, p, plan, "F1").HatchUpTo, "it may lay again, up to two chicks in the season")

	// A second fertile egg may hatch while its time is not over.
	p, plan = at("2026-02-10", strings.Replace(hatched, "2,1,1", "2,2,1", 1), "[1, 2, 3]")
	x = pairOf(t, p, plan, "F1")
	assert.Equal(t, []any{pairing.Planned, 1}, []any{x.Role, x.HatchUpTo})
	p, plan = at("2026-02-25", strings.Replace(hatched, "2,1,1", "2,2,1", 1), "[1, 2, 3]")
	assert.Zero(t, pairOf(t, p, plan, "F1").HatchUpTo)
}

// TestUntoldClutch: nobody wrote down what became of eggs that should have hatched.
func TestUntoldClutch(t *testing.T) {
	at := func(day, clutch string) (*pairing.Programme, *pairing.Plan) {
		p := programmeOn(t, day, "studbook.csv", flock, "bonds.csv", flockBonds, "clutches.csv", clutchHead+clutch,
			"programme.toml", strings.Replace(running, "2026-03-01", day, 1))
		return p, planOf(t, p, 4)
	}
	const laid = "F1,M1,2026-01-10,2,%s\n"
	for _, x := range []struct {
		day, rest string
		untold    bool
	}{
		{"2026-02-21", "1,,", false}, // the last of 28 and 14 days
		{"2026-02-22", "1,,", true},
		{"2026-02-22", ",,", true},
		{"2026-02-22", "0,,", false},
		{"2026-02-22", "1,0,", false},
		{"2026-02-22", ",replaced,", false},
		{"2027-01-10", "1,,", true},
		{"2027-01-11", "1,,", false}, // a year later nobody remembers
	} {
		p, plan := at(x.day, fmt.Sprintf(laid, x.rest))
		assert.Equal(t, x.untold, len(p.Untold()) == 1, "%+v", x)
		if strings.HasPrefix(x.day, "2026") {
			why, is := func() (pairing.Reason, bool) { y := pairOf(t, p, plan, "F1"); return y.Occupied() }()
			assert.Equal(t, x.untold, is && why.Is(pairing.EggsUntold), "%+v", x)
		}
	}
	p := programmeOn(t, "2026-02-25", "studbook.csv", flock+"Y1,U,M1,F1,2026-02-07,A,captive\n", "bonds.csv", flockBonds, "clutches.csv", clutchHead+fmt.Sprintf(laid, "1,,"),
		"programme.toml", strings.Replace(running, "2026-03-01", "2026-02-25", 1))
	assert.Empty(t, p.Untold(), "its chick is in the studbook")
}
