package pairing_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// inJune computes the programme of a small colony in the middle of a year.
func inJune(t testing.TB, files ...string) *pairing.Programme {
	t.Helper()
	return programmeOn(t, "2026-06-30", files...)
}

const breeders = "[breeding_age]\nfemale = [3, 25]\nmale = [3, 25]\n"

// A pair that does as all pairs do is expected to hatch chicks_per_season, which
// counts failures already; over all pairs with a record like the programme's the
// mean is that setting. Worked by hand: 12 clutches, 6 won, so the programme's
// rate and that of pairs without a record is (6+5)/22 = 0.5.
func TestExpectedChicksCountFailureOnce(t *testing.T) {
	var clutches strings.Builder
	clutches.WriteString("female,male,laid,eggs,fertile,hatched,fledged\n")
	for year := 2015; year < 2021; year++ {
		fmt.Fprintf(&clutches, "F1,M1,%d-04-01,2,2,1,1\nF2,M2,%d-04-01,2,1,0,0\n", year, year)
	}
	p := inJune(t, "studbook.csv", `id,sex,sire,dam,hatch_date
F1,F,wild,wild,2010-05-01
F2,F,wild,wild,2010-05-01
F3,F,wild,wild,2010-05-01
M1,M,wild,wild,2010-05-01
M2,M,wild,wild,2010-05-01
M3,M,wild,wild,2010-05-01
`, "clutches.csv", clutches.String(), "programme.toml", "chicks_per_season = 1.2\n"+breeders)
	chicks := func(f, m string) float64 {
		return p.SeasonChicks(p.Success(index(t, p, f), index(t, p, m)), 0, false)
	}
	assert.InDelta(t, 1.2, chicks("F3", "M3"), 1e-12)
	assert.Greater(t, chicks("F1", "M1"), 1.2)
	assert.Less(t, chicks("F2", "M2"), 1.2)
	// In the first season of a bond, with no bond on record: half of that.
	assert.InDelta(t, 0.6, p.SeasonChicks(p.Success(index(t, p, "F3"), index(t, p, "M3")), 0, true), 1e-12)
	assert.InDelta(t, 1.2*math.Exp(-1.57*0.25), p.SeasonChicks(p.Success(index(t, p, "F3"), index(t, p, "M3")), 0.25, false), 1e-12)
}

// Worked by hand: two bonds, the first won in neither first season, both in each
// of two later ones: the ratio is 0/2 ÷ 4/4 = 0, shrunk to (2·0 + 20·0.5)/22.
func TestFirstSeasons(t *testing.T) {
	p := inJune(t, "studbook.csv", `id,sex,sire,dam,hatch_date
F1,F,wild,wild,2010-05-01
F2,F,wild,wild,2010-05-01
M1,M,wild,wild,2010-05-01
M2,M,wild,wild,2010-05-01
`, "bonds.csv", "female,male,since,until\nF1,M1,2017-02-01,\nF2,M2,2017-02-01,\n",
		"clutches.csv", `female,male,laid,eggs,fertile,hatched,fledged
F1,M1,2017-04-01,2,1,0,0
F1,M1,2018-04-01,2,2,1,1
F1,M1,2019-04-01,2,2,1,1
F2,M2,2017-04-01,2,1,0,0
F2,M2,2018-04-01,2,2,1,1
F2,M2,2019-04-01,2,2,1,1
F2,M2,2020-04-01,2,,,
`, "programme.toml", breeders)
	first := p.FirstSeasons()
	assert.Equal(t, pairing.FirstSeasons{Bonds: 2, Won: 0, Later: 4, LaterWon: 4}, first)
	assert.InDelta(t, 10.0/22, first.Share(), 1e-12)
	assert.InDelta(t, 0.5, pairing.FirstSeasons{}.Share(), 1e-12)
	assert.InDelta(t, 1, pairing.FirstSeasons{Bonds: 1e6, Won: 9e5, Later: 10, LaterWon: 5}.Share(), 1e-3, "never above one")
}

// All founders are alike: nothing is to be compared, so the limits judge and the
// male that fledged from six clutches of six stands before the one of none.
func TestAFailingRecordLiftsNobody(t *testing.T) {
	var clutches strings.Builder
	clutches.WriteString("female,male,laid,eggs,fertile,hatched,fledged\n")
	for year := 2015; year < 2021; year++ {
		fmt.Fprintf(&clutches, "X,A,%d-04-01,2,1,0,0\nY,B,%d-04-01,2,2,1,1\n", year, year)
	}
	const founders = `id,sex,sire,dam,hatch_date,death_date
A,M,wild,wild,2010-05-01,
B,M,wild,wild,2010-05-01,
F,F,wild,wild,2010-05-01,
X,F,wild,wild,2010-05-01,2022-01-01
Y,F,wild,wild,2010-05-01,2022-01-01
`
	alike := inJune(t, "studbook.csv", founders, "clutches.csv", clutches.String(), "programme.toml", breeders)
	out := rank(t, alike, "F", pairing.Options{})
	assert.True(t, out.AllAlike)
	assert.Equal(t, "B A", ranked(alike, out))
	assert.Equal(t, pairing.Recommended, out.Candidates[0].Verdict, "somebody is advised")

	// With another pair whose chicks gain more, A and B are both not advised.
	other := inJune(t, "studbook.csv", founders+`G,F,wild,wild,2010-05-01,
H,M,wild,wild,2010-05-01,
S1,M,B,F,2024-05-01,
S2,M,B,F,2024-05-01,
S3,M,A,F,2024-05-01,
S4,M,A,F,2024-05-01,
`, "clutches.csv", clutches.String(), "programme.toml", breeders)
	out = rank(t, other, "F", pairing.Options{})
	a, b := candidate(t, other, out, "A"), candidate(t, other, out, "B")
	assert.Equal(t, []pairing.Verdict{pairing.NotAdvised, pairing.NotAdvised}, []pairing.Verdict{a.Verdict, b.Verdict})
	assert.InDelta(t, a.GeneDiversityGain, b.GeneDiversityGain, 1e-15)
	assert.Less(t, b.Rank, a.Rank)
	for _, c := range out.Candidates {
		for _, d := range out.Candidates {
			if c.Verdict == pairing.NotAdvised && d.Verdict == pairing.NotAdvised && c.Rank < d.Rank {
				assert.GreaterOrEqual(t, c.GeneDiversityGain, d.GeneDiversityGain-pairing.Alike*math.Abs(c.GeneDiversityGain))
			}
		}
	}
}

// The oldest age of the settings ends breeding where the record does not, but
// not of a bird that bred within two years.
func TestTooOld(t *testing.T) {
	p := inJune(t, "studbook.csv", `id,sex,sire,dam,hatch_date
F,F,wild,wild,2015-05-01
OLD,M,wild,wild,1979-05-01
LATE,M,wild,wild,1980-05-01
CHICK,U,LATE,F,2025-05-01
`, "programme.toml", "oldest_age = 25\n")
	out := rank(t, p, "F", pairing.Options{})
	assert.Equal(t, []pairing.Code{pairing.TooOld}, ruledOut(t, p, out)["OLD"])
	assert.Equal(t, "LATE", ranked(p, out))
}

// What could make a pair closer kin than the pedigree says; the other birds
// could not have been the parent by place, age or sex.
func TestDoubt(t *testing.T) {
	p := inJune(t, "studbook.csv", `id,sex,sire,dam,hatch_date,location,origin
D,F,wild,wild,2000-05-01,HOME,wild
S,M,wild,wild,2000-05-01,HOME,wild
SON,M,S,wild,2009-05-01,HOME,captive
AWAY,M,wild,wild,2000-05-01,ELSE,wild
YOUNG,M,wild,wild,2014-05-01,HOME,wild
X,F,,D,2015-05-01,HOME,captive
Z,F,S=0.2,D,2015-06-01,ELSE,captive
T1,F,,,2016-05-01,THERE,captive
T2,M,,,2016-05-02,THERE,captive
T3,M,,,2016-09-02,THERE,captive
`, "programme.toml", "[breeding_age]\nfemale = [3, 40]\nmale = [3, 40]\n")
	doubt := func(a, b string) []pairing.Code {
		var out []pairing.Code
		for _, r := range p.Doubt(index(t, p, a), index(t, p, b)) {
			out = append(out, r.Code)
		}
		return out
	}
	assert.Equal(t, []pairing.Code{pairing.MateMayBeParent}, doubt("X", "S"))
	assert.Equal(t, []pairing.Code{pairing.MateMayBeParent}, doubt("S", "X"), "whichever bird asks")
	assert.Equal(t, []pairing.Code{pairing.MateMayBeParent}, doubt("X", "SON"))
	assert.Empty(t, doubt("X", "AWAY"))
	assert.Empty(t, doubt("X", "YOUNG"))
	assert.Equal(t, []pairing.Code{pairing.MateMayBeParent}, doubt("Z", "S"), "her own row names him")
	assert.Equal(t, 0.2, p.Doubt(index(t, p, "Z"), index(t, p, "S"))[0].Value)
	assert.Equal(t, []pairing.Code{pairing.KinMayBeParent}, doubt("Z", "SON"), "his father may be hers")
	assert.Equal(t, []pairing.Code{pairing.MayBeSiblings}, doubt("T1", "T2"), "hatched a day apart")
	assert.Empty(t, doubt("T1", "T3"), "hatched months apart")
	assert.Empty(t, doubt("D", "S"))
	assert.NotEqual(t, pairing.Recommended, candidate(t, p, rank(t, p, "X", pairing.Options{}), "S").Verdict)
	assert.NotEqual(t, pairing.Recommended, candidate(t, p, rank(t, p, "T1", pairing.Options{}), "T2").Verdict)
	assert.NotContains(t, codesOf(candidate(t, p, rank(t, p, "X", pairing.Options{}), "AWAY").Reasons), pairing.MateMayBeParent)
}

// A clutch of the season makes mates of its birds without a row of a bond, as
// long as nothing says that they parted; birds at two places are none.
func TestMates(t *testing.T) {
	p := inJune(t, "studbook.csv", `id,sex,sire,dam,hatch_date,location
F1,F,wild,wild,2010-05-01,HOME
F2,F,wild,wild,2010-05-01,HOME
F3,F,wild,wild,2010-05-01,HOME
F4,F,wild,wild,2010-05-01,HOME
M1,M,wild,wild,2010-05-01,HOME
M2,M,wild,wild,2010-05-01,HOME
M3,M,wild,wild,2010-05-01,HOME
M4,M,wild,wild,2010-05-01,ELSE
U,U,wild,wild,2010-05-01,HOME
CHICK,U,wild,wild,2026-05-01,HOME
`, "bonds.csv", "female,male,since,until\nF3,M3,2020-01-01,2026-06-25\nF4,M4,2020-01-01,\n",
		"clutches.csv", "female,male,laid,eggs,fertile,hatched,fledged\nF1,M1,2026-06-19,2,,,\nF2,M2,2024-06-19,2,,,\nF3,M3,2026-06-19,2,0,0,0\n",
		"programme.toml", breeders)
	assert.Equal(t, []int{index(t, p, "M1")}, p.Mates(index(t, p, "F1")), "eleven days on eggs")
	assert.Equal(t, []int{index(t, p, "F1")}, p.Mates(index(t, p, "M1")))
	for _, id := range []string{"F2", "F3", "F4"} {
		assert.Empty(t, p.Mates(index(t, p, id)), id)
	}
	var free []string
	for _, b := range p.Free("HOME") {
		free = append(free, p.Book.Birds[b].ID)
	}
	assert.Equal(t, []string{"F2", "F3", "F4", "M2", "M3", "U"}, free, "an adult of unknown sex too, a chick not")
	assert.Len(t, p.Unpaired("HOME"), 5)
	assert.Equal(t, []pairing.Code{pairing.Bonded}, ruledOut(t, p, rank(t, p, "F2", pairing.Options{}))["M1"])
}

// All are full siblings: F of every chick is 1/4. At that limit two of the two
// females and three males can be paired at once.
func TestEverybodyRelated(t *testing.T) {
	p := inJune(t, "studbook.csv", `id,sex,sire,dam,hatch_date,death_date
S,M,wild,wild,2000,2020
D,F,wild,wild,2000,2020
A,F,S,D,2012,
B,F,S,D,2012,
M,M,S,D,2012,
N,M,S,D,2012,
O,M,S,D,2012,
`, "programme.toml", breeders)
	out := rank(t, p, "A", pairing.Options{})
	assert.Empty(t, out.Candidates)
	require.NotNil(t, out.Related)
	assert.Equal(t, 0.25, out.Related.Least)
	assert.Equal(t, []string{"A", "M"}, []string{p.Book.Birds[out.Related.Female].ID, p.Book.Birds[out.Related.Male].ID})
	assert.Equal(t, []pairing.LimitAllows{{Limit: 0.25, Pairs: 2, Chicks: 2 * p.Settings().ChicksPerPair}}, out.Related.Limits)
	loose := 0.26 // F at a limit is ruled out
	d, err := p.Decide(t.Context(), pairing.DecisionOptions{LimitInbreeding: &loose})
	require.NoError(t, err)
	assert.Equal(t, "M N O", ranked(p, rankBy(t, p, d, "A", pairing.Options{})))
}

// The most pairs at once are those of brute force on random kinships.
func TestRelatedAgainstBruteForce(t *testing.T) {
	tight := math.SmallestNonzeroFloat64
	seen := 0
	var kin strings.Builder // of all founders, so that no pair is unrelated
	kin.WriteString("id1,id2,kinship\n")
	for i := range 8 {
		for j := range i {
			fmt.Fprintf(&kin, "B%03d,B%03d,%g\n", j, i, 0.01*float64(1+(i*i+3*j)%7))
		}
	}
	for seed := range uint64(15) {
		p := inJune(t, "studbook.csv", uncertainFlock(rand.New(rand.NewPCG(seed, 21)), 12), "founder_kinship.csv", kin.String(), "programme.toml", anyAge)
		var females, males []int
		for _, b := range p.Book.Living {
			switch {
			case !p.State(b).State.MayBreed():
			case p.Book.Birds[b].Sex == studbook.Female:
				females = append(females, b)
			default:
				males = append(males, b)
			}
		}
		d, err := p.Decide(t.Context(), pairing.DecisionOptions{LimitInbreeding: &tight})
		require.NoError(t, err)
		related := rankBy(t, p, d, p.Book.Birds[females[0]].ID, pairing.Options{Samples: 1}).Related
		require.NotNil(t, related, "seed %d", seed)
		var most func(k int, taken map[int]bool, limit float64) int
		most = func(k int, taken map[int]bool, limit float64) int {
			if k == len(females) {
				return 0
			}
			best := most(k+1, taken, limit)
			for _, m := range males {
				if !taken[m] && p.Pedigree.Kinship(p.Node(females[k]), p.Node(m)) <= limit+1e-12 {
					taken[m] = true
					best = max(best, 1+most(k+1, taken, limit))
					delete(taken, m)
				}
			}
			return best
		}
		before := 0
		for _, l := range related.Limits {
			assert.Equal(t, most(0, map[int]bool{}, l.Limit), l.Pairs, "seed %d", seed)
			assert.Greater(t, l.Pairs, before)
			before = l.Pairs
			seen++
		}
	}
	assert.Greater(t, seen, 30)
}

// Nobody died, so nobody knows how many live another year: never no chicks.
func TestNoDeathsOnRecord(t *testing.T) {
	var file strings.Builder
	file.WriteString("id,sex,sire,dam,hatch_date\n")
	for k := range 12 {
		fmt.Fprintf(&file, "B%02d,%c,wild,wild,2015-05-01\n", k, "FM"[k%2])
	}
	chicks, why := inJune(t, "studbook.csv", file.String()).ChicksNeeded("", true)
	assert.Equal(t, 2, chicks, "one for every ten birds")
	assert.Equal(t, pairing.SurvivalUnknown, why.Code)
	// Of 12 birds 12·0.9 = 10.8 live, 1.2 are lacking, and 1.2/0.6 chicks make up.
	chicks, why = inJune(t, "studbook.csv", file.String(), "programme.toml", "[survival]\nfirst_year = 0.6\nyearly = 0.9\n").ChicksNeeded("", true)
	assert.Equal(t, 2, chicks)
	assert.Equal(t, pairing.SurvivalSet, why.Code)
	chicks, _ = inJune(t, "studbook.csv", file.String(), "programme.toml", "[survival]\nfirst_year = 0.5\nyearly = 0.5\n").ChicksNeeded("", true)
	assert.Equal(t, 12, chicks)
}

// F of a chick at a limit is ruled out, half siblings at 0.125 for one, and
// rounding decides nothing.
func TestLimitRulesItselfOut(t *testing.T) {
	assert.True(t, pairing.TooClose(0.125, 0.125))
	assert.True(t, pairing.TooClose(0.125-1e-16, 0.125))
	assert.True(t, pairing.TooClose(math.Nextafter(0.1, 0), 0.1))
	assert.False(t, pairing.TooClose(0.125-1e-9, 0.125))
	assert.False(t, pairing.TooClose(0, 0), "no inbreeding at all never is too much")
	p := inJune(t, "studbook.csv", `id,sex,sire,dam,hatch_date
S,M,wild,wild,2005
D1,F,wild,wild,2005
D2,F,wild,wild,2005
A,F,S,D1,2012
B,M,S,D2,2012
C,M,wild,wild,2012
`, "programme.toml", breeders)
	assert.False(t, p.Preferred(math.Nextafter(0.0625, 0)), "the level itself is not below it")
	assert.True(t, p.Preferred(0.0624))
	out := rank(t, p, "A", pairing.Options{})
	assert.Equal(t, "C", ranked(p, out))
	assert.Equal(t, []pairing.Code{pairing.CloseKin}, ruledOut(t, p, out)["B"])
}

// Infertile clutches, failed ones and dummied ones are kept apart, and what
// nobody counted is not 0.
func TestBroods(t *testing.T) {
	p := inJune(t, "studbook.csv", "id,sex,sire,dam,hatch_date\nF,F,wild,wild,2010\nM,M,wild,wild,2010\nM2,M,wild,wild,2010\n",
		"clutches.csv", `female,male,laid,eggs,fertile,hatched,fledged
F,M,2018-04-01,2,2,1,1
F,M,2019-04-01,2,0,,
F,M,2020-04-01,2,1,0,
F,M,2021-04-01,2,,,
F,M,2022-04-01,,,,
F,M,2026-06-01,2,,,
F,M2,2015-04-01,2,0,0,0
F,M2,2016-04-01,2,0,0,0
F,M2,2017-04-01,1,0,0,0
`, "programme.toml", breeders)
	b := p.Broods(index(t, p, "F"), index(t, p, "M"))
	assert.Equal(t, pairing.Broods{
		Clutches: 6, Won: 1, Barren: 1, Lost: 1, Dummied: 1, Untold: 1, Sitting: 1,
		Eggs: pairing.Counted{10, 5}, Fertile: pairing.Counted{3, 3}, Hatched: pairing.Counted{1, 2}, Fledged: pairing.Counted{1, 1},
	}, b)
	assert.Equal(t, 3, b.Told())
	assert.False(t, b.NeverFertile())
	assert.Equal(t, 2, pairing.FailedInARow(p.Seasons(index(t, p, "F"), index(t, p, "M"))), "2019 and 2020; later seasons tell nothing")
	barren := p.Broods(index(t, p, "F"), index(t, p, "M2"))
	assert.True(t, barren.NeverFertile())
	c := candidate(t, p, rank(t, p, "F", pairing.Options{BreakBonds: true}), "M2")
	said := false
	for _, r := range c.Reasons {
		said = said || r.Code == pairing.NeverFertile
	}
	assert.True(t, said, "sex both birds")
	none := p.Broods(index(t, p, "F"), index(t, p, "F"))
	assert.False(t, none.Hatched.Known())
}

// Names of kin against relatives by hand; the coefficient that a name stands
// for (Wright 1922) is never above the kinship of the pedigree.
func TestKinInWords(t *testing.T) {
	p := inJune(t, "studbook.csv", `id,sex,sire,dam,hatch_date
GF,M,wild,wild,1980
GM,F,wild,wild,1980
GM2,F,wild,wild,1980
A,F,GF,GM,1990
B,M,GF,GM,1990
H,F,GF,GM2,1991
X,M,wild,wild,1990
Y,F,wild,wild,1990
C1,F,X,A,2000
C2,M,B,Y,2000
C3,F,X,A,2001
D1,F,X,C1,2010
D2,M,C2,wild,2010
E,M,X,H,2005
U1,F,B=0.5; X=0.5,Y,2003
W,F,wild,wild,2005
`)
	for _, tt := range []struct {
		a, b string
		want pairing.KinName
	}{
		{"C1", "A", pairing.KinName{pairing.Parent, 1, 0, false, studbook.Female}},
		{"C1", "GF", pairing.KinName{pairing.Parent, 2, 0, false, studbook.Male}},
		{"D2", "GM", pairing.KinName{pairing.Parent, 3, 0, false, studbook.Female}},
		{"A", "C1", pairing.KinName{pairing.Chick, 1, 0, false, studbook.Female}},
		{"GM", "C2", pairing.KinName{pairing.Chick, 2, 0, false, studbook.Male}},
		{"A", "B", pairing.KinName{pairing.Sibling, 1, 0, false, studbook.Male}},
		{"A", "H", pairing.KinName{pairing.Sibling, 1, 0, true, studbook.Female}},
		{"C1", "B", pairing.KinName{pairing.Aunt, 1, 0, false, studbook.Male}},
		{"B", "C1", pairing.KinName{pairing.Niece, 1, 0, false, studbook.Female}},
		{"C1", "H", pairing.KinName{pairing.Aunt, 1, 0, true, studbook.Female}},
		{"C1", "C2", pairing.KinName{pairing.Cousin, 1, 0, false, studbook.Male}},
		{"C1", "D2", pairing.KinName{pairing.Cousin, 1, 1, false, studbook.Male}},
		{"D2", "B", pairing.KinName{pairing.Parent, 2, 0, false, studbook.Male}},
		{"D2", "A", pairing.KinName{pairing.Aunt, 2, 0, false, studbook.Female}},
		{"C1", "W", pairing.KinName{pairing.NoKin, 0, 0, false, studbook.Female}},
		{"C1", "C1", pairing.KinName{pairing.Itself, 0, 0, false, studbook.Female}},
		{"C2", "U1", pairing.KinName{pairing.Sibling, 1, 0, true, studbook.Female}},
	} {
		got := p.KinInWords(index(t, p, tt.a), index(t, p, tt.b))
		assert.Equal(t, tt.want, got.KinName, "%s is to %s", tt.b, tt.a)
	}
	assert.True(t, p.KinInWords(index(t, p, "D1"), index(t, p, "X")).Further, "father and grandfather")
	maybe := p.KinInWords(index(t, p, "C2"), index(t, p, "U1")).Maybe
	assert.Equal(t, pairing.KinName{pairing.Sibling, 1, 0, false, studbook.Female}, maybe, "B may be the sire of both")
	uncertain := p.KinInWords(index(t, p, "C1"), index(t, p, "U1"))
	assert.Equal(t, pairing.KinName{pairing.Sibling, 1, 0, true, studbook.Female}, uncertain.Maybe, "X may be")
}

// A hold is over on the day on which it ends, whichever answer is asked and whether
// that day is today or still to come; and who is free is judged by the season to come,
// not by today.
func TestFreeAndHeldAreJudgedByOneDay(t *testing.T) {
	on := func(day string) *pairing.Programme {
		return programmeOn(t, day, "studbook.csv", `id,sex,sire,dam,hatch_date,location
HELD,F,wild,wild,2015-04-01,HOME
LATE,F,wild,wild,2015-04-01,HOME
SOON,M,wild,wild,2023-04-01,HOME
SOONU,U,wild,wild,2023-04-01,HOME
OLD,M,wild,wild,2001-03-20,HOME
MALE,M,wild,wild,2015-04-01,HOME
`, "holds.csv", "id,since,until,reason,blocks\nHELD,2025-12-01,2026-04-01,ill,breeding\nLATE,2025-12-01,2026-04-02,ill,breeding\n",
			"programme.toml", breeders+"[months]\nlaying = [4, 5, 6]\n")
	}
	free := func(p *pairing.Programme) (ids []string) {
		for _, b := range p.Free("HOME") {
			ids = append(ids, p.Book.Birds[b].ID)
		}
		return ids
	}
	winter := on("2026-01-10") // the season begins on 1 April
	assert.Equal(t, []string{"HELD", "MALE", "SOON", "SOONU"}, free(winter), "old enough by then, or no longer held; OLD is too old by then")
	assert.Equal(t, pairing.Standing{State: pairing.StateFree}, winter.State(index(t, winter, "HELD")))
	late := winter.State(index(t, winter, "LATE"))
	assert.Equal(t, pairing.StateOnHold, late.State)
	assert.Equal(t, "2026-04-02", late.Until.String(), "the first day without it")
	assert.Equal(t, pairing.StateFree, on("2026-04-01").State(index(t, winter, "HELD")).State)
	assert.Equal(t, pairing.StateOnHold, on("2026-04-01").State(index(t, winter, "LATE")).State)
	assert.Equal(t, pairing.StateFree, on("2026-04-02").State(index(t, winter, "LATE")).State)
}
