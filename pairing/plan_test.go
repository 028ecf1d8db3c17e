package pairing_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
)

// running are settings with a season that is under way.
var running = strings.Replace(settings, "laying = [4, 5]", "laying = [1, 2, 3]", 1)

const clutchHead = "female,male,laid,eggs,fertile,hatched,fledged\n"

// nesting is the flock with its three bonds and some clutches, in the season.
func nesting(t testing.TB, clutches string) *pairing.Programme {
	t.Helper()
	return programmeOf(t, "studbook.csv", flock, "bonds.csv", flockBonds, "clutches.csv", clutchHead+clutches, "programme.toml", running)
}

func pairOf(t testing.TB, p *pairing.Programme, plan *pairing.Plan, female string) pairing.PlannedPair {
	t.Helper()
	f := index(t, p, female)
	k := slices.IndexFunc(plan.Pairs, func(x pairing.PlannedPair) bool { return x.Female == f })
	require.GreaterOrEqual(t, k, 0, "%s is in no pair", female)
	return plan.Pairs[k]
}

func eggsUnder(t testing.TB, p *pairing.Programme, plan *pairing.Plan, female string) pairing.Eggs {
	t.Helper()
	f := index(t, p, female)
	k := slices.IndexFunc(plan.Eggs, func(e pairing.Eggs) bool { return e.Female == f })
	require.GreaterOrEqual(t, k, 0, "%s has no eggs", female)
	return plan.Eggs[k]
}

// F1 and M1 twice brought nothing from fertile eggs, and have such eggs again; F2
// and M2, who laid two days later, sit on eggs of which none is fertile.
func TestEggsAreFosteredToASittingPair(t *testing.T) {
	failed := "F1,M1,2024-03-01,2,2,0,0\nF1,M1,2025-03-01,2,2,0,0\n"
	p := nesting(t, failed+"F1,M1,2026-02-17,2,2,,\nF2,M2,2026-02-19,2,0,,\n")
	plan := planOf(t, p, 2)
	e := eggsUnder(t, p, plan, "F1")
	assert.Equal(t, pairing.FosterEggs, e.Advice)
	assert.Equal(t, [2]int{index(t, p, "F2"), index(t, p, "M2")}, e.To)
	assert.Equal(t, []pairing.Code{pairing.EggsFostered}, codesOf(e.Reasons))
	assert.Equal(t, 2, e.Reasons[0].Count, "failed seasons")
	assert.Equal(t, []pairing.Code{pairing.EggsInfertile, pairing.EggsTaken}, codesOf(eggsUnder(t, p, plan, "F2").Reasons))

	// A pair that has sat in earnest loses no egg, wherever it would hatch.
	p = nesting(t, failed+"F1,M1,2026-02-15,2,2,,\nF2,M2,2026-02-19,2,0,,\n")
	e = eggsUnder(t, p, planOf(t, p, 2), "F1")
	assert.Equal(t, pairing.LeaveEggs, e.Advice)
	assert.Equal(t, []pairing.Code{pairing.EggsSettled}, codesOf(e.Reasons))

	// With nobody to take them in, or one that laid three weeks before, the pair
	// is not planned on and its eggs are replaced.
	for _, others := range []string{"", "F2,M2,2026-01-27,2,0,,\n"} {
		p = nesting(t, failed+"F1,M1,2026-02-22,2,2,,\n"+others)
		plan = planOf(t, p, 2)
		e = eggsUnder(t, p, plan, "F1")
		assert.Equal(t, pairing.ReplaceEggs, e.Advice)
		assert.Equal(t, pairing.Rest, pairOf(t, p, plan, "F1").Role)
		assert.Subset(t, codesOf(e.Reasons), []pairing.Code{pairing.EggsBarred, pairing.FailedFertile})
	}
}

// Three eggs are fertile where the pair may hatch two.
func TestFertileEggsOverTheLimit(t *testing.T) {
	p := nesting(t, "F1,M1,2026-02-18,3,3,,\n")
	plan, err := decide(t, p).Plan(t.Context(), pairing.PlanOptions{Place: "A", Chicks: 8, PerPair: 2})
	require.NoError(t, err)
	e := eggsUnder(t, p, plan, "F1")
	assert.Equal(t, pairing.LeaveEggs, e.Advice)
	over := e.Reasons[len(e.Reasons)-1]
	assert.Equal(t, pairing.EggsOverTheTop, over.Code)
	assert.Equal(t, []int{2, 3}, []int{over.Count, over.Of})
	assert.Equal(t, 2, pairOf(t, p, plan, "F1").HatchUpTo)
}

// A reserve keeps its eggs until the planned pairs have laid and been candled. Then
// either their fertile eggs bring fewer chicks than are wanted, and it is needed, or
// they do not, and it is no reserve any more: nothing is put off for ever.
func TestReservesKnowWhereTheyStand(t *testing.T) {
	reserve := func(clutches string) (advice []string) {
		p := nesting(t, clutches)
		plan := planOf(t, p, 1)
		for _, e := range plan.Eggs {
			x := pairOf(t, p, plan, p.Book.Birds[e.Female].ID)
			if x.Role == pairing.Planned {
				continue
			}
			r := e.Reasons[0]
			advice = append(advice, fmt.Sprint(x.Role, " ", e.Advice, " ", r.Code, " ", r.Date.Text))
		}
		return advice
	}
	assert.Equal(t, []string{"reserve leave reserve 2026-03-06"}, reserve("F1,M1,2026-02-24,2,,,\nF2,M2,2026-02-24,2,1,,\n"), "the planned pair is candled in five days")
	assert.Equal(t, []string{"reserve leave needed "}, reserve("F1,M1,2026-02-20,2,2,,\nF2,M2,2026-02-24,2,1,,\n"))
}

// O is past the usual age: as a founder without living descendants any egg of hers
// counts, with a daughter the pair is barred by age.
func TestAnyEggOfTheLastOfALineCounts(t *testing.T) {
	rows := flock + "O,F,wild,wild,2003-05-01,A,wild\n"
	bonds := "female,male,since\nO,M1,2022-01-01\nF2,M2,2022-01-01\n"
	p := programmeOf(t, "studbook.csv", rows, "bonds.csv", bonds, "programme.toml", settings)
	plan := planOf(t, p, 1)
	x := pairOf(t, p, plan, "O")
	assert.Equal(t, pairing.Planned, x.Role)
	assert.Positive(t, x.Order)
	assert.Positive(t, x.HatchUpTo)
	assert.Zero(t, x.Expected, "nobody counts on it")
	require.NotEmpty(t, x.Reasons)
	assert.Equal(t, pairing.AnyEggCounts, x.Reasons[0].Code)
	assert.Equal(t, "O", x.Reasons[0].Birds[0].ID)

	p = programmeOf(t, "studbook.csv", rows+"OD,F,M1,O,2018-05-01,A,captive\n", "bonds.csv", bonds, "programme.toml", settings)
	x = pairOf(t, p, planOf(t, p, 1), "O")
	assert.Equal(t, pairing.Rest, x.Role)
	assert.Equal(t, []pairing.Code{pairing.TooOld}, codesOf(x.Barred))
}

// Eggs often laid and never fertile: the two are to be sexed, not planned on.
func TestNeverFertilePairIsBarred(t *testing.T) {
	p := nesting(t, "F1,M1,2023-03-01,2,0,0,0\nF1,M1,2024-03-01,2,0,0,0\nF1,M1,2025-03-01,1,0,0,0\n")
	x := pairOf(t, p, planOf(t, p, 20), "F1")
	assert.Equal(t, pairing.Rest, x.Role)
	assert.Zero(t, x.HatchUpTo)
	assert.Equal(t, []pairing.Code{pairing.NeverFertile}, codesOf(x.Barred))
	assert.Equal(t, 3, x.Barred[0].Count)
}

// Chicks that the season has hatched already count among the wanted.
func TestHatchedChicksCount(t *testing.T) {
	p := nesting(t, "F1,M1,2026-01-05,2,2,2,\n")
	plan := planOf(t, p, 2)
	assert.Equal(t, 2, plan.Hatched)
	assert.Equal(t, 2.0, plan.Expected)
	assert.Equal(t, 1.0, plan.ChanceEnough)
	assert.Zero(t, plan.Shortfall)
	for _, x := range plan.Pairs {
		assert.Equal(t, pairing.Rest, x.Role)
	}
	more := planOf(t, p, 3)
	assert.Greater(t, more.Expected, 2.0)
	assert.Zero(t, pairOf(t, p, more, "F1").HatchUpTo, "it has its two")
}

// T1 and T2 are captive birds of unknown parents that hatched a day apart. On paper
// they are unrelated to everybody, so their chicks would gain most.
func TestBirdsThatMayBeSiblingsHatchWhatOthersCannot(t *testing.T) {
	rows := flock
	for k := range 6 {
		rows += fmt.Sprintf("S%d,%s,M1,F1,2024-05-01,A,captive\n", k, "FM"[k%2:k%2+1])
	}
	rows += "T1,F,,,2018-05-01,A,captive\nT2,M,,,2018-05-02,A,captive\n"
	p := programmeOf(t, "studbook.csv", rows, "bonds.csv", flockBonds+"T1,T2,2022-01-01\n", "programme.toml", settings)
	plan := planOf(t, p, 2)
	x := pairOf(t, p, plan, "T1")
	assert.Equal(t, pairing.Rest, x.Role)
	assert.Contains(t, codesOf(x.Reasons), pairing.MayBeSiblings)
	assert.Zero(t, plan.Shortfall)
	all := planOf(t, p, 40)
	assert.NotEqual(t, pairing.Rest, pairOf(t, p, all, "T1").Role, "where all others are too few they hatch too")
	assert.Greater(t, pairOf(t, p, all, "T1").Order, pairOf(t, p, all, "F2").Order)

	// Free, they are given to others.
	p = programmeOf(t, "studbook.csv", rows, "bonds.csv", flockBonds, "programme.toml", settings)
	mate, ok := decide(t, p).MateOf(index(t, p, "T1"))
	assert.True(t, ok)
	assert.NotEqual(t, index(t, p, "T2"), mate)
}

// As many chicks are wanted while they hatch as before: those of the season are among them,
// and raise no level that is to be held.
func TestChicksWantedWhileTheyHatch(t *testing.T) {
	wanted := func(day string, clutch ...string) *pairing.Plan {
		files := []string{"studbook.csv", "id,sex,sire,dam,hatch_date,origin,location\nS,M,wild,wild,2014-05-01,wild,A\nD,F,wild,wild,2014-05-01,wild,A\nU,M,wild,wild,2014-05-01,wild,A\nV,F,wild,wild,2014-05-01,wild,A\n" + clutch[0],
			"bonds.csv", "female,male,since\nD,S,2018-01-01\nV,U,2018-01-01\n",
			"programme.toml", "[breeding_age]\nfemale = [2, 20]\nmale = [2, 20]\n[months]\nlaying = [4, 5]\n[survival]\nfirst_year = 0.5\nyearly = 0.76\n"}
		p := programmeOn(t, day, append(files, clutch[1:]...)...)
		chicks, _ := p.ChicksNeeded("A", false)
		plan, err := decide(t, p).Plan(t.Context(), pairing.PlanOptions{Place: "A", Chicks: chicks})
		require.NoError(t, err)
		return plan
	}
	before := wanted("2026-04-10", "")
	assert.Equal(t, 2, before.Wanted, "0.96 of four, and 0.54 of the chicks live to the end of the year: 1.8")
	const head = "female,male,laid,eggs,fertile,hatched\n"
	during := wanted("2026-05-20", "C1,U,S,D,2026-05-08,captive,A\nC2,U,S,D,2026-05-09,captive,A\n", "clutches.csv", head+"D,S,2026-04-10,2,2,2\n")
	assert.Equal(t, [2]int{2, 2}, [2]int{during.Wanted, during.Hatched})
	without := wanted("2026-05-20", "C1,U,S,D,2026-05-08,captive,A\n")
	assert.Equal(t, [2]int{2, 0}, [2]int{without.Wanted, without.Hatched}, "without clutches a chick is a bird like others: 1.2 of 5, and half of the chicks live to the end of the year: 2.4")
}

// Eggs of which none was fertile are a failure, whether anybody wrote down that nothing hatched
// or that they were replaced; fertile ones that were replaced say nothing.
func TestInfertileEggsAreAFailure(t *testing.T) {
	chance := func(clutch string) float64 {
		p := programmeOn(t, "2026-10-01", "studbook.csv", "id,sex,sire,dam,hatch_date,origin\nS,M,wild,wild,2014-05-01,wild\nD,F,wild,wild,2014-05-01,wild\n",
			"bonds.csv", "female,male,since\nD,S,2018-01-01\n", "clutches.csv", "female,male,laid,eggs,fertile,hatched\nD,S,2024-05-01,2,2,1\nD,S,2025-05-01,"+clutch+"\n")
		d, s := index(t, p, "D"), index(t, p, "S")
		return p.Success(d, s).Chance
	}
	failed := chance("2,0,0")
	assert.Equal(t, failed, chance("2,0,"))
	assert.Equal(t, failed, chance("2,0,replaced"))
	assert.Less(t, failed, chance("2,2,replaced"))
	assert.Equal(t, chance("2,,"), chance("2,2,replaced"))
}

// Where nobody wrote down where the dead had lived, a colony's survival is the programme's: that
// none died there is not what the record says.
func TestSurvivalOfTheDeadOfNoPlace(t *testing.T) {
	var rows strings.Builder
	rows.WriteString("id,sex,sire,dam,hatch_date,death_date,location,origin\nS,M,wild,wild,2008-05-01,,A,wild\nD,F,wild,wild,2008-05-01,,A,wild\n")
	for k := range 60 {
		died, place := "", "A"
		if k%2 == 0 {
			died, place = fmt.Sprintf("%d-06-01", 2018+k%7), ""
		}
		fmt.Fprintf(&rows, "B%02d,%s,S,D,%d-05-01,%s,%s,captive\n", k, []string{"F", "M"}[k/2%2], 2012+k%5, died, place)
	}
	p := programmeOn(t, "2026-10-01", "studbook.csv", rows.String())
	_, why := p.ChicksNeeded("A", false)
	assert.Positive(t, why.Need.Deaths)
	assert.False(t, why.Colony)
}

// However little lacks is told: chicks are allowed "until the expected number reaches what
// is wanted", and "if all pairs together fall short, it says by how much" (design, section
// 5, Brood limits).
func TestHardlyAnythingLacks(t *testing.T) {
	for chicks, lacks := range map[string]float64{"0.98": 0.02, "0.9": 0.1} {
		p := programmeOn(t, "2026-10-01", "studbook.csv", "id,sex,sire,dam,hatch_date,origin\nS,M,wild,wild,2014-05-01,wild\nD,F,wild,wild,2014-05-01,wild\n",
			"bonds.csv", "female,male,since\nD,S,2018-01-01\n",
			"programme.toml", "chicks_per_season = "+chicks+"\n[breeding_age]\nfemale = [2, 20]\nmale = [2, 20]\n[survival]\nfirst_year = 1\nyearly = 1\n")
		plan, err := decide(t, p).Plan(t.Context(), pairing.PlanOptions{Whole: true, Chicks: 1})
		require.NoError(t, err)
		assert.InDelta(t, lacks, plan.Shortfall, 1e-3, "%s, %v", chicks, plan.Expected)
		assert.Less(t, plan.Expected, 1.0)
	}
}

// The season has as many chicks to expect as are wanted, or says what lacks; more
// wanted are never fewer to expect, and a higher limit a pair lacks no more.
func TestExpectedReachesWantedOrSaysWhatLacks(t *testing.T) {
	enough, short := 0, 0
	for seed := range uint64(25) {
		p := programmeOf(t, randomColony(seed, 2)...)
		d := decide(t, p)
		before := 0.0
		for wanted := range 9 {
			lacks := 1e9
			for perPair := 1; perPair <= 3; perPair++ {
				plan, err := d.Plan(t.Context(), pairing.PlanOptions{Whole: true, Chicks: wanted, PerPair: perPair})
				require.NoError(t, err)
				lack := float64(wanted) - plan.Expected
				lack = max(0, lack)
				assert.InDelta(t, lack, plan.Shortfall, 1e-9, "seed %d", seed)
				assert.GreaterOrEqual(t, plan.Bound, plan.Planned-1e-12)
				assert.LessOrEqual(t, plan.Shortfall, lacks+1e-9)
				lacks = plan.Shortfall
				if perPair == 2 {
					assert.GreaterOrEqual(t, plan.Expected, before-1e-9, "seed %d, %d wanted", seed, wanted)
					before = plan.Expected
				}
				if plan.Shortfall > 0 {
					short++
				} else {
					enough++
				}
			}
		}
	}
	assert.Positive(t, enough)
	assert.Positive(t, short)
}

// Nobody moves beyond what is allowed, and more moves are never worse.
func TestMovesAreCapped(t *testing.T) {
	moved := 0
	for seed := range uint64(30) {
		p := programmeOf(t, randomColony(seed, 3)...)
		before := -1.0
		for cap := range 4 {
			d, err := p.Decide(t.Context(), pairing.DecisionOptions{Moves: &cap})
			require.NoError(t, err)
			moves := 0
			for _, x := range d.Bonds {
				if x.Move != nil {
					moves++
				}
			}
			assert.Equal(t, d.Moves, moves)
			assert.LessOrEqual(t, moves, cap)
			assert.GreaterOrEqual(t, d.Sum, before-1e-12, "seed %d, %d moves", seed, cap)
			assert.GreaterOrEqual(t, d.Bound, d.Sum-1e-12)
			before = d.Sum
			moved += moves
		}
		d := decide(t, p)
		assert.GreaterOrEqual(t, d.Sum, before-1e-12)
	}
	assert.Positive(t, moved)
}

// A bond is parted on a person's word alone, and never from under a sitting pair.
// OLD is past breeding, so F4 and M4 have chicks once he lets go of her.
func TestRelease(t *testing.T) {
	files := func(clutches string) *pairing.Programme {
		return programmeOf(t, "studbook.csv", flock+"OLD,M,wild,wild,2003-05-01,A,wild\n", "bonds.csv", flockBonds+"F4,OLD,2015-01-01\n",
			"clutches.csv", clutchHead+clutches, "programme.toml", settings)
	}
	p := files("")
	f4, old, m4 := index(t, p, "F4"), index(t, p, "OLD"), index(t, p, "M4")
	mate, _ := decide(t, p).MateOf(f4)
	assert.Equal(t, old, mate)
	d, err := p.Decide(t.Context(), pairing.DecisionOptions{Release: []string{"F4"}})
	require.NoError(t, err)
	mate, _ = d.MateOf(f4)
	assert.Equal(t, m4, mate)
	_, ok := d.MateOf(old)
	assert.False(t, ok)
	last := d.Bonds[len(d.Bonds)-1]
	assert.Equal(t, pairing.BondReleased, last.Kind)
	assert.Equal(t, [2]int{f4, old}, [2]int{last.Female, last.Male})
	_, err = p.Decide(t.Context(), pairing.DecisionOptions{Release: []string{"NOBODY"}})
	var missing *pairing.NotFoundError
	assert.ErrorAs(t, err, &missing)

	p = files("F4,OLD,2026-02-18,2,,,\n")
	d, err = p.Decide(t.Context(), pairing.DecisionOptions{FreeBonds: true})
	require.NoError(t, err)
	mate, _ = d.MateOf(index(t, p, "F4"))
	assert.Equal(t, index(t, p, "OLD"), mate)
}

// withOldMate is a flock in which F4 would do more with another mate than with OLD, whom it has
// had since a day.
func withOldMate(t testing.TB, since string, more ...string) *pairing.Programme {
	t.Helper()
	rows := flock + "OLD,M,wild,wild,2003-05-01,A,wild\n"
	for k := range 12 {
		rows += fmt.Sprintf("S%02d,%s,M1,F1,2020-05-01,A,captive\n", k, "FM"[k%2:k%2+1])
	}
	return programmeOf(t, append([]string{"studbook.csv", rows, "bonds.csv", flockBonds + "F4,OLD," + since + "\n", "programme.toml", "chicks_per_season = 2\n" + settings}, more...)...)
}

// What a bond in the way is worth is what a decision anew without it gains, less
// what the pair itself is worth.
func TestInTheWayIsWorthWhatSolvingAnewGains(t *testing.T) {
	p := withOldMate(t, "2015-01-01")
	d := decide(t, p)
	plan, err := d.Plan(t.Context(), pairing.PlanOptions{Whole: true, Chicks: 4})
	require.NoError(t, err)
	require.NotEmpty(t, plan.InTheWay)
	assert.Equal(t, index(t, p, "F4"), plan.InTheWay[0].Female)
	for _, x := range plan.InTheWay {
		kept := 0.0
		choices, err := d.Choices(t.Context(), x.Female, false)
		require.NoError(t, err)
		for _, c := range choices {
			if c.Mate == x.Male {
				kept = max(0, c.Value)
			}
		}
		anew, err := p.Decide(t.Context(), pairing.DecisionOptions{Release: []string{p.Book.Birds[x.Female].ID}})
		require.NoError(t, err)
		assert.InDelta(t, anew.Sum-d.Sum-kept, x.Worth, 1e-10, p.Name(x.Female))
	}
}

// Two that are too close kin to hatch a chick keep nothing that parting them would cost.
func TestABondOfSiblingsStandsInTheWay(t *testing.T) {
	rows := flock + "SIS,F,R1,R2,2018-05-01,A,captive\nBRO,M,R1,R2,2018-05-01,A,captive\n"
	for k := range 12 {
		rows += fmt.Sprintf("S%02d,%s,M1,F1,2020-05-01,A,captive\n", k, "FM"[k%2:k%2+1])
	}
	p := programmeOf(t, "studbook.csv", rows, "bonds.csv", flockBonds+"SIS,BRO,2020-01-01\n", "programme.toml", "chicks_per_season = 2\n"+settings)
	d := decide(t, p)
	plan, err := d.Plan(t.Context(), pairing.PlanOptions{Whole: true, Chicks: 4})
	require.NoError(t, err)
	k := slices.IndexFunc(plan.InTheWay, func(x pairing.Obstacle) bool { return x.Female == index(t, p, "SIS") })
	require.GreaterOrEqual(t, k, 0)
	anew, err := p.Decide(t.Context(), pairing.DecisionOptions{Release: []string{"SIS"}})
	require.NoError(t, err)
	assert.InDelta(t, anew.Sum-d.Sum, plan.InTheWay[k].Worth, 1e-10)
}

// TestNewPairsAreNotInTheWay: two who were brought together for the chicks of three seasons
// have these before anybody is told that they had better be parted.
func TestNewPairsAreNotInTheWay(t *testing.T) {
	for since, told := range map[string]bool{"2023-02-01": true, "2023-07-01": false, "2024-02-01": false, "2025-02-01": false, "unknown": true} {
		p := withOldMate(t, since)
		plan, err := decide(t, p).Plan(t.Context(), pairing.PlanOptions{Whole: true, Chicks: 4})
		require.NoError(t, err)
		assert.Equal(t, told, slices.ContainsFunc(plan.InTheWay, func(x pairing.Obstacle) bool { return x.Female == index(t, p, "F4") }), "since %s", since)
	}
}

// TestABirdOnHoldIsNoReasonToPart: what a hold keeps from breeding now may breed later, so
// that nobody is told to look for another mate for the other.
func TestABirdOnHoldIsNoReasonToPart(t *testing.T) {
	for hold, told := range map[string]bool{"breeding": false, "both": false, "moving": true} {
		p := withOldMate(t, "2015-01-01", "holds.csv", "id,since,reason,blocks\nF4,2015-01-01,lame,"+hold+"\n")
		plan, err := decide(t, p).Plan(t.Context(), pairing.PlanOptions{Whole: true, Chicks: 4})
		require.NoError(t, err)
		assert.Equal(t, told, slices.ContainsFunc(plan.InTheWay, func(x pairing.Obstacle) bool { return x.Female == index(t, p, "F4") }), hold)
	}
}

// B has no free place for a female, but eleven that live there: with nine in ten
// alive in a year one place comes free, with nine of them none. Of birds whose sex nobody
// knows half count.
func TestFreePlacesCountTheDeathsToExpect(t *testing.T) {
	for females, comes := range map[int]bool{9: false, 11: true, -11: false, -22: true} {
		sex := "F"
		if females < 0 {
			females, sex = -females, "U"
		}
		rows := "id,sex,sire,dam,hatch_date,location,origin\nF,F,wild,wild,2018-05-01,A,wild\nM,M,wild,wild,2018-05-01,B,wild\n"
		holds := "id,since,until,reason,blocks\nM,2026-01-01,,lame,moving\n"
		for k := range females {
			rows += fmt.Sprintf("H%02d,%s,wild,wild,2018-05-01,B,wild\n", k, sex)
			holds += fmt.Sprintf("H%02d,2026-01-01,,treated,breeding\n", k)
		}
		p := programmeOf(t, "studbook.csv", rows, "holds.csv", holds, "institutions.csv", "code,spaces_f,spaces_m\nA,5,5\nB,0,0\n",
			"programme.toml", "chicks_per_season = 2\n"+settings)
		d := decide(t, p)
		x, paired := d.BondOf(index(t, p, "F"))
		assert.Equal(t, comes, paired, "%d of sex %s", females, sex)
		if paired {
			assert.Equal(t, "B", x.Move.To)
			continue
		}
		assert.Equal(t, pairing.NoRoom, d.WhyAlone(index(t, p, "F")).Code)
		open, err := p.Decide(t.Context(), pairing.DecisionOptions{IgnoreSpaces: true})
		require.NoError(t, err)
		_, paired = open.BondOf(index(t, p, "F"))
		assert.True(t, paired)
	}
}

// Y is of age in April 2027. Its only mate then lives at B and may not move; with
// one of its own age at home it stays.
func TestYoungBirdsGoToTheirMates(t *testing.T) {
	rows := `id,sex,sire,dam,hatch_date,location,origin
F1,F,wild,wild,2018-05-01,A,wild
M1,M,wild,wild,2018-05-01,A,wild
M9,M,wild,wild,2018-05-01,B,wild
Y,F,wild,wild,2024-07-01,A,captive
U,U,wild,wild,2024-07-01,A,captive
`
	for k := range 6 { // her genes are rare among the daughters of F1
		rows += fmt.Sprintf("S%d,F,M1,F1,2020-05-01,A,captive\n", k)
	}
	bonds := "female,male,since\nF1,M1,2022-01-01\n"
	holds := "id,since,until,reason,blocks\nM9,2026-01-01,,lame,moving\n"
	young := func(rows string) (*pairing.Programme, map[string]pairing.Young) {
		p := programmeOf(t, "studbook.csv", rows, "bonds.csv", bonds, "holds.csv", holds, "programme.toml", "chicks_per_season = 2\n"+settings)
		list, err := decide(t, p).Young(t.Context())
		require.NoError(t, err)
		found := map[string]pairing.Young{}
		for _, y := range list {
			found[p.Book.Birds[y.Bird].ID] = y
		}
		return p, found
	}
	p, found := young(rows)
	require.Len(t, found, 2)
	y := found["Y"]
	assert.Equal(t, "B", y.To)
	assert.True(t, y.Leaves())
	assert.Equal(t, index(t, p, "M9"), y.Mate)
	assert.Equal(t, "2027-04-01", y.When.String())
	assert.True(t, found["U"].SexUnknown)
	assert.Equal(t, "A", found["U"].To, "nobody can say")

	p, found = young(rows + "M8,M,wild,wild,2024-07-01,A,captive\n")
	y = found["Y"]
	assert.False(t, y.Leaves())
	assert.Equal(t, index(t, p, "M8"), y.Mate)
}

// TestNoSpareWithoutRoom: two birds left alone are no pair for numbers where chicks have
// no room: those that a mate could have elsewhere are. Worked by hand.
func TestNoSpareWithoutRoom(t *testing.T) {
	of := func(spaces string) *pairing.Plan {
		p := programmeOn(t, "2026-10-01", "studbook.csv", "id,sex,sire,dam,hatch_date,location,origin\n"+
			"S,M,wild,wild,2014-05-01,A,wild\nD,F,wild,wild,2014-05-01,A,wild\nU,M,wild,wild,2014-05-01,A,wild\nV,F,wild,wild,2014-05-01,A,wild\n"+
			"X1,F,S,D,2019-05-01,A,captive\nX2,F,S,D,2019-05-01,A,captive\nX3,M,S,D,2019-05-01,A,captive\n"+
			"Y1,M,U,V,2019-05-01,A,captive\nY2,M,U,V,2019-05-01,A,captive\nY3,F,U,V,2019-05-01,A,captive\n",
			"bonds.csv", "female,male,since\nD,S,2018-01-01\nV,U,2018-01-01\n",
			"institutions.csv", "code,name,spaces_f,spaces_m\nA,Place A,"+spaces+"\n",
			"programme.toml", "[breeding_age]\nfemale = [2, 20]\nmale = [2, 20]\n[months]\nlaying = [4, 5]\n")
		plan, err := decide(t, p).Plan(t.Context(), pairing.PlanOptions{Whole: true, Chicks: 40})
		require.NoError(t, err)
		require.Positive(t, plan.Shortfall)
		return plan
	}
	plan := of(",")
	assert.NotEmpty(t, plan.Spare)
	assert.Empty(t, plan.FullPlaces())
	plan = of("0,0")
	assert.Equal(t, []string{"A"}, plan.FullPlaces())
	assert.Empty(t, plan.Spare)
}

// TestRoomForChicks: a new pair of two founders without a chick, at a place that is
// full when the female has come, rests for that alone, and it is said of it; with
// another place free it hatches before the pair that has four chicks. Worked by hand.
func TestRoomForChicks(t *testing.T) {
	folder := func(spaces string) []string {
		return []string{"studbook.csv", `id,sex,sire,dam,hatch_date,location,origin
F1,F,wild,wild,2018-05-01,A,wild
M1,M,wild,wild,2018-05-01,B,wild
S,M,wild,wild,2014-05-01,A,wild
D,F,wild,wild,2014-05-01,A,wild
X1,F,S,D,2019-05-01,A,captive
X2,F,S,D,2019-05-01,A,captive
X3,M,S,D,2019-05-01,A,captive
X4,M,S,D,2019-05-01,A,captive
`,
			"bonds.csv", "female,male,since\nD,S,2018-01-01\n",
			"institutions.csv", "code,name,spaces_f,spaces_m\nA,Place A,0,0\nB,Place B," + spaces + "\n",
			"programme.toml", "[breeding_age]\nfemale = [2, 20]\nmale = [2, 20]\n[months]\nlaying = [4, 5]\n"}
	}
	of := func(spaces string, chicks int) (*pairing.Plan, pairing.PlannedPair) {
		p := programmeOn(t, "2026-10-01", folder(spaces)...)
		plan, err := decide(t, p).Plan(t.Context(), pairing.PlanOptions{Whole: true, Chicks: chicks})
		require.NoError(t, err)
		return plan, pairOf(t, p, plan, "F1")
	}
	plan, pair := of("1,0", 1)
	assert.Equal(t, pairing.Rest, pair.Role)
	assert.True(t, pair.Crowded)
	assert.Contains(t, codesOf(pair.Reasons), pairing.NoRoomToHatch)
	assert.Zero(t, plan.Shortfall)
	plan, pair = of("1,0", 3)
	assert.True(t, pair.Crowded)
	assert.Positive(t, plan.Shortfall)
	_, pair = of("2,1", 1)
	assert.Equal(t, pairing.Planned, pair.Role)
	assert.False(t, pair.Crowded)
	_, pair = of("1,0", 0)
	assert.False(t, pair.Crowded, "nothing is wanted")
}

// TestChicksTakeRoom: a place with room for two chicks has none for more once two have
// hatched there in the season, and room for one again when one of them dies. Worked by hand.
func TestChicksTakeRoom(t *testing.T) {
	for died, upTo := range map[string]int{"": 0, "2026-05-15": 1} {
		p := programmeOn(t, "2026-05-20", "studbook.csv", "id,sex,sire,dam,hatch_date,death_date,location,origin\n"+
			"F1,F,wild,wild,2018-05-01,,A,wild\nM1,M,wild,wild,2018-05-01,,A,wild\nF2,F,wild,wild,2018-05-01,,A,wild\nM2,M,wild,wild,2018-05-01,,A,wild\n"+
			"X1,U,M1,F1,2026-05-08,,A,captive\nX2,U,M1,F1,2026-05-08,"+died+",A,captive\n",
			"bonds.csv", "female,male,since\nF1,M1,2022-01-01\nF2,M2,2022-01-01\n", "clutches.csv", clutchHead+"F1,M1,2026-04-10,2,2,2,\n",
			"institutions.csv", "code,spaces_f,spaces_m\nA,1,1\n", "programme.toml", "chicks_per_season = 2\n"+settings)
		plan, err := decide(t, p).Plan(t.Context(), pairing.PlanOptions{Place: "A", Chicks: 4})
		require.NoError(t, err)
		pair := pairOf(t, p, plan, "F2")
		assert.Equal(t, upTo, pair.HatchUpTo, "died %q", died)
		assert.Equal(t, upTo == 0, pair.Crowded, "died %q", died)
	}
}

// TestInfertileFirstClutch candles the eggs of the pair that was planned first. A reserve
// moves up; the pair keeps its place for other eggs while it may still lay them, and for
// those that it has laid, but not when the laying months are nearly over.
func TestInfertileFirstClutch(t *testing.T) {
	onDay := func(day, rows string) (*pairing.Programme, *pairing.Plan) {
		chicks := "Y2,F,M2,F2,2025-05-01,A,captive\nY3,M,M3,F3,2025-05-01,A,captive\n" // so that F1 and M1 are first
		p := programmeOn(t, day, "studbook.csv", flock+chicks, "bonds.csv", flockBonds, "clutches.csv", clutchHead+rows,
			"programme.toml", strings.Replace(running, "2026-03-01", day, 1))
		return p, planOf(t, p, 2)
	}
	p, plan := onDay(today, "")
	first := p.Book.Birds[plan.Pairs[0].Female].ID
	male := p.Book.Birds[plan.Pairs[0].Male].ID
	require.Equal(t, pairing.Planned, plan.Pairs[0].Role)
	clutch := func(laid, rest string) string { return first + "," + male + "," + laid + ",2," + rest + "\n" }

	for _, infertile := range []string{"0,,", "0,replaced,"} {
		p, plan = onDay(today, clutch("2026-02-19", infertile))
		x := pairOf(t, p, plan, first)
		assert.Equal(t, pairing.Reserve, x.Role, "not planned on, and not forgotten")
		assert.Contains(t, codesOf(x.Reasons), pairing.LaysAgain)
		assert.Positive(t, x.HatchUpTo)
		planned := 0
		for _, y := range plan.Pairs {
			switch y.Role {
			case pairing.Planned:
				planned += y.HatchUpTo
			case pairing.Reserve:
				assert.GreaterOrEqual(t, y.Order, x.Order, "it comes before all reserves")
			}
		}
		assert.GreaterOrEqual(t, planned, 2, "others move up")
	}
	p, plan = onDay(today, clutch("2026-02-19", "0,,"))
	e := eggsUnder(t, p, plan, first)
	assert.Equal(t, pairing.ReplaceEggs, e.Advice)
	assert.True(t, e.TakenAway())
	assert.Equal(t, "2026-03-31", e.Reasons[0].Date.Last.String(), "the last of the laying months")

	p, plan = onDay("2026-03-20", clutch("2026-03-10", "0,,"))
	x := pairOf(t, p, plan, first)
	assert.Equal(t, pairing.Rest, x.Role, "eleven days are too few to lay again")
	assert.Contains(t, codesOf(x.Reasons), pairing.Infertile)
	assert.False(t, func() bool { e := eggsUnder(t, p, plan, first); return e.TakenAway() }())

	// All others have sat too long to lose their eggs. Eggs of a second clutch are judged as
	// those of a first one: by whether the others' bring as many chicks as are wanted.
	others := ""
	for k := 1; k <= 3; k++ {
		if f := fmt.Sprintf("F%d", k); f != first {
			others += fmt.Sprintf("%s,M%d,2026-02-20,2,2,,\n", f, k)
		}
	}
	p, plan = onDay("2026-03-10", clutch("2026-02-19", "0,,")+clutch("2026-03-08", ",,")+others)
	x = pairOf(t, p, plan, first)
	assert.Equal(t, pairing.Reserve, x.Role, "four eggs bring fewer than two chicks on average")
	assert.Equal(t, pairing.CandleEggs, eggsUnder(t, p, plan, first).Advice)
	for _, before := range []string{"", clutch("2026-02-19", "0,,")} {
		p, plan = onDay("2026-03-10", before+clutch("2026-03-08", ",,")+strings.ReplaceAll(others, ",2,2,,", ",2,2,2,"))
		assert.Equal(t, pairing.Rest, pairOf(t, p, plan, first).Role, "the chicks that are wanted have hatched")
		assert.Equal(t, pairing.ReplaceEggs, eggsUnder(t, p, plan, first).Advice)
	}
	p, plan = onDay("2026-03-10", clutch("2026-02-19", "0,,")+clutch("2026-03-08", ",,")+strings.ReplaceAll(others, "2026-02-20", "2026-03-08"))
	x = pairOf(t, p, plan, first)
	assert.Equal(t, pairing.Planned, x.Role, "while no other pair has sat long, its second clutch has the place of the first")
	assert.Contains(t, codesOf(x.Reasons), pairing.SecondClutch)
	p, plan = onDay("2026-03-10", clutch("2026-03-08", ",,")+others)
	x = pairOf(t, p, plan, first)
	assert.Equal(t, pairing.Rest, x.Role, "a first clutch that comes so late has none")
	assert.Contains(t, codesOf(x.Reasons), pairing.OthersSit)
}

// TestPairToExamineKeepsItsEggs has a pair none of whose eggs was ever fertile, candled once more.
func TestPairToExamineKeepsItsEggs(t *testing.T) {
	p := nesting(t, "F2,M2,2023-03-01,2,0,,\nF2,M2,2024-03-01,2,0,,\nF2,M2,2025-03-01,2,0,,\nF2,M2,2026-02-19,2,0,,\n"+
		"F1,M1,2024-03-01,2,2,0,0\nF1,M1,2025-03-01,2,2,0,0\nF1,M1,2026-02-17,2,2,,\n")
	plan := planOf(t, p, 2)
	x := pairOf(t, p, plan, "F2")
	assert.True(t, x.ToExamine())
	e := eggsUnder(t, p, plan, "F2")
	assert.Equal(t, pairing.LeaveEggs, e.Advice, "dummies would hide what is wrong")
	assert.Equal(t, []pairing.Code{pairing.NeverFertile, pairing.EggsClear}, codesOf(e.Reasons))
	assert.Equal(t, pairing.ReplaceEggs, eggsUnder(t, p, plan, "F1").Advice, "nobody takes in its eggs")
}
