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
	"pairwright/pedigree/studbook/studbooktest"
)

// today is the day of the small colonies of these tests.
const today = "2026-03-01"

// programmeOf computes the programme of a small colony written out as files.
func programmeOf(t testing.TB, files ...string) *pairing.Programme {
	t.Helper()
	return programmeOn(t, today, files...)
}

// programmeOn computes it for another day.
func programmeOn(t testing.TB, day string, files ...string) *pairing.Programme {
	t.Helper()
	c := studbooktest.Read(t, files...)
	d, err := studbook.ParseDate(day)
	require.NoError(t, err)
	p, err := pairing.New(t.Context(), c.At(d.Last))
	require.NoError(t, err)
	return p
}

// settings are those of the small colonies, but for what a test adds.
const settings = `current_to = "2026-03-01"
home = "A"
[breeding_age]
female = [2, 20]
male = [2, 20]
[months]
laying = [4, 5]
[survival]
first_year = 0.7
yearly = 0.9
`

func decide(t testing.TB, p *pairing.Programme) *pairing.Decision {
	t.Helper()
	d, err := p.Decide(t.Context(), pairing.DecisionOptions{})
	require.NoError(t, err)
	return d
}

// randomColony invents a colony at some places with founders, their chicks and
// bonds.
func randomColony(seed uint64, places int) []string {
	r := rand.New(rand.NewPCG(seed, 0x64656369))
	var rows, bonds strings.Builder
	rows.WriteString("id,sex,sire,dam,hatch_date,location,origin\n")
	bonds.WriteString("female,male,since\n")
	var females, males []string
	at := func() string { return string(rune('A' + r.IntN(places))) }
	home := map[string]string{}
	add := func(id, sire, dam string, year int, origin string) {
		sex := "F"
		if r.IntN(2) == 0 {
			sex = "M"
		}
		home[id] = at()
		fmt.Fprintf(&rows, "%s,%s,%s,%s,%d-05-10,%s,%s\n", id, sex, sire, dam, year, home[id], origin)
		if sex == "F" {
			females = append(females, id)
		} else {
			males = append(males, id)
		}
	}
	for k := range 6 {
		add(fmt.Sprintf("W%d", k), "wild", "wild", 2012+r.IntN(3), "wild")
	}
	for k := range 12 {
		if len(females) == 0 || len(males) == 0 {
			break
		}
		add(fmt.Sprintf("C%02d", k), males[r.IntN(len(males))], females[r.IntN(len(females))], 2016+k/3, "captive")
	}
	taken := map[string]bool{}
	for range 3 {
		if len(females) == 0 || len(males) == 0 {
			break
		}
		f, m := females[r.IntN(len(females))], males[r.IntN(len(males))]
		if !taken[f] && !taken[m] && home[f] == home[m] {
			taken[f], taken[m] = true, true
			fmt.Fprintf(&bonds, "%s,%s,2024-01-01\n", f, m)
		}
	}
	return []string{"studbook.csv", rows.String(), "bonds.csv", bonds.String(), "programme.toml", settings}
}

// bestSum returns the largest sum of values over pairs, unpaired allowed, by
// trying all (an oracle: exhaustive enumeration).
func bestSum(value map[[2]int]float64, females, males []int, noFemale, noMale int) float64 {
	taken := map[int]bool{noMale: true}
	var next func(k int) float64
	next = func(k int) float64 {
		if k == len(females) {
			return 0
		}
		best := next(k + 1)
		if females[k] == noFemale {
			return best
		}
		for _, m := range males {
			if v, ok := value[[2]int{females[k], m}]; ok && v > 0 && !taken[m] {
				taken[m] = true
				best = max(best, v+next(k+1))
				taken[m] = false
			}
		}
		return best
	}
	return next(0)
}

// TestNetGainsFollowFromTheValues holds the net gains of every free bird against
// an assignment solved by trying everything on the values that are given.
func TestNetGainsFollowFromTheValues(t *testing.T) {
	pairs, closed := 0, 0
	for seed := range uint64(40) {
		p := programmeOf(t, randomColony(seed, 1+int(seed%3))...)
		d := decide(t, p)
		value := map[[2]int]float64{}
		var females, males []int
		choices := map[int][]pairing.Choice{}
		for _, b := range p.Book.Living {
			if p.State(b).State != pairing.StateFree {
				continue
			}
			found, err := d.Choices(t.Context(), b, false)
			require.NoError(t, err)
			choices[b] = found
			if p.Book.Birds[b].Sex == studbook.Male {
				males = append(males, b)
				continue
			}
			females = append(females, b)
			for _, c := range found {
				if c.Open {
					value[[2]int{b, c.Mate}] = c.Value - c.Charge
				}
			}
		}
		sum := bestSum(value, females, males, -1, -1)
		decided := 0.0
		for _, x := range d.Bonds {
			if x.Kind == pairing.BondNew {
				decided += x.Value
			}
		}
		assert.InDelta(t, sum, decided, 1e-12, "seed %d: the decision has the largest sum of values", seed)
		for b, found := range choices {
			for _, c := range found {
				f, m := b, c.Mate
				if p.Book.Birds[b].Sex == studbook.Male {
					f, m = c.Mate, b
				}
				pairs++
				if !c.Open {
					closed++
				}
				without, alone := bestSum(value, females, males, f, m), 0.0
				if b == f {
					alone = bestSum(value, females, males, f, -1)
				} else {
					alone = bestSum(value, females, males, -1, m)
				}
				assert.InDelta(t, c.Value-c.Charge+without-alone, c.NetGain, 1e-12, "seed %d: %s with %s", seed, p.Name(b), p.Name(c.Mate))
			}
			if mate, ok := d.MateOf(b); ok {
				best := math.Inf(-1)
				gain := math.Inf(-1)
				for _, c := range found {
					if c.Open {
						best = max(best, c.NetGain)
					}
					if c.Mate == mate {
						gain = c.NetGain
					}
				}
				assert.InDelta(t, best, gain, 1e-12, "seed %d: the mate decided for %s has the largest net gain", seed, p.Name(b))
			}
		}
	}
	assert.Greater(t, pairs, 300)
	assert.Greater(t, closed, 30, "pairs that the decision may not form are weighed too")
}

// TestNobodyIsPromisedTwice follows the decision for all birds.
func TestNobodyIsPromisedTwice(t *testing.T) {
	for seed := range uint64(40) {
		p := programmeOf(t, randomColony(seed, 3)...)
		d := decide(t, p)
		seen := map[int]bool{}
		for _, x := range d.Bonds {
			for _, b := range [2]int{x.Female, x.Male} {
				assert.False(t, seen[b], "seed %d: %s is in two pairs", seed, p.Name(b))
				seen[b] = true
			}
			if x.Kind == pairing.BondNew {
				assert.True(t, p.State(x.Female).State.MayBreed() && p.State(x.Male).State.MayBreed())
				assert.False(t, pairing.TooClose(x.Kinship, p.Settings().LimitInbreeding), "seed %d: half siblings are no new pair", seed)
			}
		}
	}
}

// TestExpectedDiversityIsThatOfAllOutcomes enumerates every outcome of the
// broods, each with its chance, and builds the kinships of the living and the
// chicks anew for each (an oracle: tabular method, Emik & Terrill 1949).
func TestExpectedDiversityIsThatOfAllOutcomes(t *testing.T) {
	compared := 0
	for seed := range uint64(30) {
		p := programmeOf(t, randomColony(seed, 1)...)
		plan, err := decide(t, p).Plan(t.Context(), pairing.PlanOptions{Whole: true, Chicks: 3, PerPair: 2})
		require.NoError(t, err)
		var hatching []*pairing.PlannedPair
		for k := range plan.Pairs {
			if plan.Pairs[k].HatchUpTo > 0 && plan.Pairs[k].Chance > 0 {
				hatching = append(hatching, &plan.Pairs[k])
			}
		}
		if len(hatching) == 0 || len(hatching) > 5 {
			continue
		}
		compared++
		expected, chicks, enough := 0.0, 0.0, 0.0
		var next func(k int, chance float64, broods []int)
		next = func(k int, chance float64, broods []int) {
			if k == len(hatching) {
				n := 0
				for _, x := range broods {
					n += x
				}
				expected += chance * diversityWith(p, hatching, broods)
				chicks += chance * float64(n)
				if n >= plan.Wanted {
					enough += chance
				}
				return
			}
			x := hatching[k]
			for n := range x.HatchUpTo + 1 {
				binomial := math.Exp(lchoose(x.HatchUpTo, n)) * math.Pow(x.Chance, float64(n)) * math.Pow(1-x.Chance, float64(x.HatchUpTo-n))
				next(k+1, chance*binomial, append(broods[:k:k], n))
			}
		}
		next(0, 1, nil)
		assert.InDelta(t, expected, plan.ExpectedDiversity, 1e-10, "seed %d", seed)
		assert.InDelta(t, chicks, plan.Expected, 1e-10, "seed %d", seed)
		assert.InDelta(t, enough, plan.ChanceEnough, 1e-10, "seed %d", seed)
		assert.GreaterOrEqual(t, plan.Bound, plan.Planned)
	}
	assert.Greater(t, compared, 10)
}

// diversityWith returns the gene diversity of the living with some broods, from
// the whole matrix.
func diversityWith(p *pairing.Programme, pairs []*pairing.PlannedPair, broods []int) float64 {
	type bird struct{ node, sire, dam int } // sire and dam of a chick, else node
	var all []bird
	for _, b := range p.Book.Living {
		all = append(all, bird{node: p.Node(b)})
	}
	for k, n := range broods {
		for range n {
			all = append(all, bird{-1, p.Node(pairs[k].Male), p.Node(pairs[k].Female)})
		}
	}
	half := func(x bird) map[int]float64 {
		if x.node >= 0 {
			return map[int]float64{x.node: 1}
		}
		return map[int]float64{x.sire: 0.5, x.dam: 0.5}
	}
	known := map[[2]int]float64{}
	kinship := func(a, b int) float64 {
		f, ok := known[[2]int{a, b}]
		if !ok {
			f = p.Pedigree.Kinship(a, b)
			known[[2]int{a, b}] = f
		}
		return f
	}
	sum := 0.0
	for i, x := range all {
		for j, y := range all {
			if i == j && x.node < 0 {
				sum += (1 + kinship(x.sire, x.dam)) / 2
				continue
			}
			for a, u := range half(x) {
				for b, v := range half(y) {
					sum += u * v * kinship(a, b)
				}
			}
		}
	}
	n := float64(len(all))
	return 1 - sum/(n*n)
}

func lchoose(n, k int) float64 {
	lg := func(x int) float64 { v, _ := math.Lgamma(float64(x) + 1); return v }
	return lg(n) - lg(k) - lg(n-k)
}

// flock is eight unrelated wild birds in four pairs at one place, the last of
// which has no bond.
const flock = `id,sex,sire,dam,hatch_date,location,origin
F1,F,wild,wild,2018-05-01,A,wild
M1,M,wild,wild,2018-05-01,A,wild
F2,F,wild,wild,2018-05-01,A,wild
M2,M,wild,wild,2018-05-01,A,wild
F3,F,wild,wild,2018-05-01,A,wild
M3,M,wild,wild,2018-05-01,A,wild
F4,F,wild,wild,2018-05-01,A,wild
M4,M,wild,wild,2018-05-01,A,wild
`

const flockBonds = `female,male,since
F1,M1,2022-01-01
F2,M2,2022-01-01
F3,M3,2022-01-01
`

// TestStates has one bird in each state, worked by hand.
func TestStates(t *testing.T) {
	p := programmeOf(t, "studbook.csv", flock+`Y1,F,M1,F1,2025-05-01,A,captive
Y2,M,M1,F1,2024-03-20,A,captive
U1,U,M1,F1,2020-05-01,A,captive
O1,F,wild,wild,2001-05-01,A,wild
H1,M,wild,wild,2018-05-01,A,wild
H2,M,wild,wild,2018-05-01,A,wild
`, "bonds.csv", flockBonds, "holds.csv", `id,since,until,reason,blocks
H1,2026-01-01,,lame,both
H2,2026-01-01,2026-03-15,moult,breeding
`, "programme.toml", settings)
	want := map[string]struct {
		state pairing.State
		until string
	}{
		"F1": {pairing.StateBonded, ""}, "F4": {pairing.StateFree, ""},
		"Y1": {pairing.StateYoung, "2027-05-02"}, // the first day on which it is two years of 365.25 days old
		"Y2": {pairing.StateFree, ""},            // two years old on 1 April, when the season begins
		"U1": {pairing.StateUnsexed, ""}, "O1": {pairing.StatePast, ""}, "H1": {pairing.StateOnHold, ""},
		"H2": {pairing.StateFree, ""}, // the hold ends before the season
	}
	for id, w := range want {
		b, err := p.Bird(id)
		require.NoError(t, err)
		got := p.State(b)
		assert.Equal(t, w.state, got.State, id)
		if w.until != "" {
			assert.Equal(t, w.until, got.Until.String(), id)
		}
	}
}

func planOf(t testing.TB, p *pairing.Programme, chicks int) *pairing.Plan {
	t.Helper()
	plan, err := decide(t, p).Plan(t.Context(), pairing.PlanOptions{Place: "A", Chicks: chicks})
	require.NoError(t, err)
	return plan
}

func rolesOf(p *pairing.Programme, plan *pairing.Plan) map[string]pairing.Role {
	roles := map[string]pairing.Role{}
	for _, x := range plan.Pairs {
		roles[p.Book.Birds[x.Female].ID] = x.Role
	}
	return roles
}

// TestAllPairsTogetherFallShort asks for more than the pairs can have: everybody
// keeps the eggs, and it says what lacks.
func TestAllPairsTogetherFallShort(t *testing.T) {
	p := programmeOf(t, "studbook.csv", flock, "bonds.csv", flockBonds, "programme.toml", settings)
	plan := planOf(t, p, 20)
	sum := 0.0
	for _, x := range plan.Pairs {
		assert.Contains(t, []pairing.Role{pairing.Planned, pairing.Reserve}, x.Role)
		assert.Equal(t, 2, x.HatchUpTo)
		sum += x.Expected
	}
	assert.Len(t, plan.Pairs, 4, "the two birds alone are a new pair")
	assert.InDelta(t, sum, plan.Expected, 1e-12)
	assert.InDelta(t, 20-sum, plan.Shortfall, 1e-12)
}

// TestSparePairsAreNamed has birds whose chicks do less than those of the average
// pair: where all others are too few it says who could be paired for numbers.
func TestSparePairsAreNamed(t *testing.T) {
	rows := flock + "S1,M,M1,F1,2020-05-01,A,captive\nS2,M,M1,F1,2020-05-01,A,captive\nS3,M,M1,F1,2020-05-01,A,captive\n" +
		"D1,F,M2,F2,2020-05-01,A,captive\nD2,F,M2,F2,2020-05-01,A,captive\nD3,F,M2,F2,2020-05-01,A,captive\n"
	p := programmeOf(t, "studbook.csv", rows, "bonds.csv", flockBonds, "programme.toml", settings)
	assert.Empty(t, planOf(t, p, 2).Spare)
	plan := planOf(t, p, 40)
	require.NotEmpty(t, plan.Spare)
	seen := map[int]bool{}
	for _, x := range plan.Spare {
		for _, b := range [2]int{x.Female, x.Male} {
			_, paired := plan.Decision.MateOf(b)
			assert.False(t, paired || seen[b])
			seen[b] = true
		}
	}
}

// TestReservesMoveUp lets the planned pair's clutch turn out infertile.
func TestReservesMoveUp(t *testing.T) {
	clutches := func(rows string) *pairing.Programme {
		return programmeOf(t, "studbook.csv", flock, "bonds.csv", flockBonds, "clutches.csv", "female,male,laid,eggs,fertile,hatched,fledged\n"+rows,
			"programme.toml", strings.Replace(strings.Replace(settings, "laying = [4, 5]", "laying = [2, 3]", 1), `home = "A"`, "home = \"A\"\nchicks_per_season = 2", 1))
	}
	p := clutches("F1,M1,2026-02-27,2,,,\nF2,M2,2026-02-27,2,,,\nF3,M3,2026-02-27,2,,,\n")
	plan := planOf(t, p, 2)
	first := ""
	for id, role := range rolesOf(p, plan) {
		if role == pairing.Planned {
			first = id
		}
	}
	require.NotEmpty(t, first)
	for _, e := range plan.Eggs {
		role := rolesOf(p, plan)[p.Book.Birds[e.Female].ID]
		switch role {
		case pairing.Planned, pairing.Reserve:
			assert.Equal(t, pairing.CandleEggs, e.Advice, "eggs that are not candled yet")
			assert.Equal(t, "2026-03-09", e.By.String(), "ten days after the first egg")
		case pairing.Rest:
			assert.Equal(t, pairing.ReplaceEggs, e.Advice)
		}
	}
	rows := ""
	for _, pair := range []string{"1", "2", "3"} {
		fertile := ""
		if "F"+pair == first {
			fertile = "0"
		}
		rows += "F" + pair + ",M" + pair + ",2026-02-27,2," + fertile + ",,\n"
	}
	after := planOf(t, clutches(rows), 2)
	assert.NotEqual(t, pairing.Planned, rolesOf(p, after)[first], "a pair without a fertile egg is not planned on")
	planned := 0
	for _, x := range after.Pairs {
		if x.Role == pairing.Planned {
			planned++
		}
	}
	assert.Positive(t, planned, "another moves up")
	for _, e := range after.Eggs {
		if p.Book.Birds[e.Female].ID == first {
			assert.Equal(t, pairing.ReplaceEggs, e.Advice)
		}
	}
}

// TestSettledPairLosesNoEgg has a pair whose chicks nobody wants sit for long.
func TestSettledPairLosesNoEgg(t *testing.T) {
	p := programmeOf(t, "studbook.csv", flock, "bonds.csv", flockBonds,
		"clutches.csv", "female,male,laid,eggs,fertile,hatched,fledged\nF1,M1,2026-02-05,2,,,\n",
		"programme.toml", strings.Replace(settings, "laying = [4, 5]", "laying = [2, 3]", 1))
	plan := planOf(t, p, 0)
	require.Len(t, plan.Eggs, 1)
	assert.Equal(t, pairing.CandleEggs, plan.Eggs[0].Advice)
	assert.Equal(t, pairing.EggsSettled, plan.Eggs[0].Reasons[0].Code)
	for _, x := range plan.Pairs {
		if p.Book.Birds[x.Female].ID == "F1" {
			assert.Equal(t, 2, x.HatchUpTo, "its two eggs may hatch all the same, and count")
			assert.Positive(t, plan.Expected)
		}
	}
}

// TestClutchWithoutABondRow has a sitting pair that nobody wrote down as a bond:
// it is not paired anew.
func TestClutchWithoutABondRow(t *testing.T) {
	p := programmeOf(t, "studbook.csv", flock, "bonds.csv", flockBonds,
		"clutches.csv", "female,male,laid,eggs,fertile,hatched,fledged\nF4,M4,2026-02-18,2,,,\n", "programme.toml", settings)
	d := decide(t, p)
	f, err := p.Bird("F4")
	require.NoError(t, err)
	x, ok := d.BondOf(f)
	require.True(t, ok)
	assert.Equal(t, pairing.BondKept, x.Kind)
	assert.Equal(t, pairing.StateBonded, p.State(f).State)
}

// TestEqualPairsGainNothing: where a female too many is there and all birds are alike, any male
// does as much with another, and what is left of the differences is exactly nothing.
func TestEqualPairsGainNothing(t *testing.T) {
	for n := 2; n < 8; n++ {
		rows := "id,sex,sire,dam,hatch_date,location\n"
		for k := range n {
			rows += fmt.Sprintf("F%d,F,,,2019-05-01,P\nM%d,M,,,2019-05-01,P\n", k, k)
		}
		rows += "F,F,,,2019-05-01,P\n"
		p := programmeOf(t, "studbook.csv", rows, "programme.toml", "chicks_per_season = 1\n")
		d := decide(t, p)
		nothing := 0
		for _, b := range p.Book.Living {
			choices, err := d.Choices(t.Context(), b, false)
			require.NoError(t, err)
			for _, c := range choices {
				if math.Abs(c.NetGain) < 1e-9 {
					nothing++
					assert.Zero(t, c.NetGain, "%d males: %d with %d", n, b, c.Mate)
				}
			}
		}
		assert.Positive(t, nothing)
	}
}
