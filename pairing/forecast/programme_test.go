package forecast_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pairing/forecast"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// programme returns the programme of a colony on a day.
func programme(t *testing.T, colony *studbook.Colony, day studbook.Day) *pairing.Programme {
	t.Helper()
	p, err := pairing.New(context.Background(), colony.At(day))
	require.NoError(t, err)
	return p
}

// What the runs start from is the programme of the day.
func TestNew(t *testing.T) {
	p := programme(t, studbooktest.Example(t), studbook.DayOf(2026, time.September, 30))
	o, err := forecast.New(context.Background(), p)
	require.NoError(t, err)
	start, rules := &o.Start, &o.Rules
	assert.Len(t, start.Birds, len(p.Book.Living))
	assert.Equal(t, 420, rules.Birds, "goal.birds of programme.toml")
	assert.InDelta(t, .37, rules.Chance, 1e-12, "0.74 chicks of at most 2")
	assert.Positive(t, rules.FemaleEvidence.Deaths)
	assert.Positive(t, rules.MaleEvidence.AtRisk)
	pairs := 0
	for k, b := range start.Birds {
		age, _, ok := p.Book.AgeYears(p.Book.Living[k])
		if ok {
			assert.Equal(t, int(age+183/365.25), b.Age, "the season begins on 1 April")
		}
		if b.Mate > 0 {
			pairs++
			assert.Equal(t, k+1, start.Birds[b.Mate-1].Mate)
		}
	}
	assert.Positive(t, pairs)

	policies := []forecast.Policy{forecast.DynamicList{}, forecast.Bonds{}, forecast.Decision{BondPrice: .2, MovePrice: .3, SeasonsAhead: 3, LeastGain: .25}}
	result, err := forecast.Run(context.Background(), start, rules, policies, forecast.Options{Years: 15, Runs: 4, Seed: 1, Goal: .9})
	require.NoError(t, err)
	now, _ := p.Living.GeneDiversity()
	inbred, _ := p.Living.MeanInbreeding()
	for _, c := range result.Courses {
		assert.InDelta(t, now, c.Years[0].GeneDiversity.Median, 1e-12)
		assert.InDelta(t, inbred, c.Years[0].Inbreeding.Median, 1e-12)
		assert.EqualValues(t, len(start.Birds), c.Years[0].Size.Median)
		assert.InDelta(t, 420, c.Years[15].Size.Median, 20, c.Policy)
		assert.Equal(t, 1.0, c.GoalHeld)
	}
	assert.Less(t, result.Courses[1].Moves.Value, result.Courses[0].Moves.Value, "birds move for room alone")
	assert.Equal(t, 10., rules.PartingEvidence, "rows of bonds.csv that ended by parting")
	assert.InDelta(t, .01, rules.Parting, .01)
	assert.Positive(t, rules.ChanceEvidence)
	assert.Empty(t, o.NoLimit)
}

// A programme of which nothing is known but the birds cannot be run forward.
func TestNewWithoutSurvival(t *testing.T) {
	const birds = "id,sex,sire,dam,hatch_date\nA,F,,,2020\nB,M,,,\n"
	p := programme(t, studbooktest.Read(t, "studbook.csv", birds), studbook.DayOf(2026, time.May, 1))
	_, err := forecast.New(context.Background(), p)
	require.ErrorIs(t, err, forecast.ErrNoSurvival)

	p = programme(t, studbooktest.Read(t, "studbook.csv", birds, "programme.toml", "[survival]\nfirst_year = 0.7\nyearly = 0.9\n"), studbook.DayOf(2026, time.May, 1))
	o, err := forecast.New(context.Background(), p)
	require.NoError(t, err)
	start, rules := &o.Start, &o.Rules
	assert.Equal(t, []forecast.Bird{{Sex: forecast.Female, Age: 5, Late: true}, {Sex: forecast.Male, Age: 2}}, start.Birds)
	assert.Equal(t, 2, rules.Birds)
	assert.Nil(t, rules.Places)
}

// TestSuppose: each change by hand, in a programme of three places.
func TestSuppose(t *testing.T) {
	colony := studbooktest.Read(t, "studbook.csv", `id,sex,sire,dam,hatch_date,location,origin
F1,F,,,2020-05-01,A,wild
M1,M,,,2020-05-01,A,wild
F2,F,,,2020-05-01,B,wild
M2,M,,,2020-05-01,B,wild
F3,F,,,2020-05-01,C,wild
`, "institutions.csv", "code,spaces_f,spaces_m\nA,1,1\nB,0,0\nC,0,0\nD,,\n", "bonds.csv", "female,male,since\nF1,M1,2022\n",
		"programme.toml", "[survival]\nfirst_year = 0.7\nyearly = 0.9\n")
	p := programme(t, colony, studbook.DayOf(2026, time.May, 1))
	o, err := forecast.New(context.Background(), p)
	require.NoError(t, err)
	require.Equal(t, []string{"A", "B", "C"}, o.Places)
	require.Equal(t, []int{4, 2, 1}, o.Rules.Places)
	before := *o
	suppose := func(rows ...studbook.Supposition) (*forecast.Outset, error) { return o.Suppose(p, rows) }
	at := map[string]int{}
	for k, b := range o.Birds {
		at[p.Book.Birds[b].ID] = k
	}
	move := studbook.Supposition{What: studbook.SupposeMove, Birds: []string{"F1"}, To: "B", Year: -1}

	c, err := suppose(move)
	require.NoError(t, err)
	assert.Equal(t, 1, c.Start.Birds[at["F1"]].Place)
	assert.Zero(t, c.Start.Birds[at["F1"]].Mate, "its mate stays behind")
	assert.Zero(t, c.Start.Birds[at["M1"]].Mate)
	assert.Equal(t, []int{4, 3, 1}, c.Rules.Places, "somebody made room")
	assert.Equal(t, before, *o, "the outset itself stays as it is")
	assert.NotZero(t, o.Start.Birds[at["F1"]].Mate)

	move.Birds = []string{"F1", "M2"}
	c, err = suppose(move)
	require.NoError(t, err)
	assert.Equal(t, at["M2"]+1, c.Start.Birds[at["F1"]].Mate)
	hatch := studbook.Supposition{What: studbook.SupposeHatch, Birds: []string{"M1", "F1"}, Chicks: 1}
	c, err = suppose(hatch)
	require.NoError(t, err)
	assert.Equal(t, []forecast.Brood{{Female: at["F1"], Male: at["M1"], Chicks: 1}}, c.Start.Broods)
	c, err = suppose(hatch, studbook.Supposition{What: studbook.SupposePart, Birds: []string{"F1", "M1"}})
	require.NoError(t, err)
	assert.Empty(t, c.Start.Broods)
	c, err = suppose(studbook.Supposition{What: studbook.SupposeBond, Birds: []string{"M1", "F3"}, To: "D"})
	require.NoError(t, err)
	assert.Equal(t, []string{"A", "B", "C", "D"}, c.Places)
	assert.Equal(t, 2, c.Rules.Places[3])
	assert.Equal(t, at["F3"]+1, c.Start.Birds[at["M1"]].Mate)
	c, err = suppose(studbook.Supposition{What: studbook.SupposePart, Birds: []string{"M1"}},
		studbook.Supposition{What: studbook.SupposeLeave, To: "B"},
		studbook.Supposition{What: studbook.SupposePlaces, To: "A", Number: -2},
		studbook.Supposition{What: studbook.SupposeFounder, Sex: studbook.Male, To: "C", Number: 2, Year: 2028})
	require.NoError(t, err)
	assert.Zero(t, c.Start.Birds[at["F1"]].Mate)
	assert.True(t, c.Start.Birds[at["F2"]].Absent && c.Start.Birds[at["M2"]].Absent)
	assert.Equal(t, []int{2, 0, 1}, c.Rules.Places)
	founder := forecast.Arrival{Year: 2, Sex: forecast.Male, Place: 2}
	assert.Equal(t, []forecast.Arrival{founder, founder}, c.Rules.Arrivals)
	scenarios := []forecast.Scenario{{Start: &o.Start, Rules: &o.Rules, Policy: forecast.Bonds{}}, {Start: &c.Start, Rules: &c.Rules, Policy: forecast.Bonds{}}}
	result, err := forecast.RunScenarios(context.Background(), scenarios, forecast.Options{Years: 2, Runs: 2})
	require.NoError(t, err)
	assert.EqualValues(t, 5, result.Courses[0].Years[0].Size.Median)
	assert.EqualValues(t, 3, result.Courses[1].Years[0].Size.Median)
	assert.InDelta(t, .6, result.Courses[1].Years[0].Alleles.Median, .001, "of the genes of all five")
	assert.EqualValues(t, 2, result.Courses[1].Founders.Value)

	for why, x := range map[string]studbook.Supposition{
		"F1 and F2 are not a female and a male":        {What: studbook.SupposeBond, Birds: []string{"F1", "F2"}},
		"M2 and F1 are no pair; write their bond":      {What: studbook.SupposeHatch, Birds: []string{"M2", "F1"}, Chicks: 1},
		"F1 has no such mate":                          {What: studbook.SupposePart, Birds: []string{"F1", "M2"}},
		"F9 does not live in the programme on the day": {What: studbook.SupposeLeave, Birds: []string{"F9"}},
		"the first year ahead is 2027":                 {What: studbook.SupposeFounder, Year: 2026},
	} {
		x.Line = 3
		_, err := suppose(x)
		var e *forecast.SupposeError
		require.ErrorAs(t, err, &e)
		assert.ErrorContains(t, err, "the change of line 3 cannot be made: ")
		assert.ErrorContains(t, err, why)
	}
}

// BenchmarkExample makes one run of a century of the example under each policy.
func BenchmarkExample(b *testing.B) {
	p, err := pairing.New(context.Background(), studbooktest.Example(b).At(studbook.DayOf(2026, time.September, 30)))
	require.NoError(b, err)
	o, err := forecast.New(context.Background(), p)
	require.NoError(b, err)
	for _, policy := range forecast.Policies() {
		b.Run(policy.Name(), func(b *testing.B) {
			for seed := uint64(0); b.Loop(); seed++ {
				_, err := forecast.Run(context.Background(), &o.Start, &o.Rules, []forecast.Policy{policy}, forecast.Options{Years: 100, Runs: 1, Seed: seed, Workers: 1})
				require.NoError(b, err)
			}
		})
	}
}

// TestSupposeMore: a pair that is brought elsewhere stays a pair, founders come to a
// place where nobody lived, and without places none can be named.
func TestSupposeMore(t *testing.T) {
	const rows = "id,sex,sire,dam,hatch_date,location,origin\nF1,F,,,2020-05-01,A,wild\nM1,M,,,2020-05-01,A,wild\nF2,F,,,2020-05-01,B,wild\n"
	const more = "[survival]\nfirst_year = 0.7\nyearly = 0.9\n"
	p := programme(t, studbooktest.Read(t, "studbook.csv", rows, "bonds.csv", "female,male,since\nF1,M1,2022\n", "programme.toml", more), studbook.DayOf(2026, time.May, 1))
	o, err := forecast.New(t.Context(), p)
	require.NoError(t, err)
	at := map[string]int{}
	for k, b := range o.Birds {
		at[p.Book.Birds[b].ID] = k
	}
	bond := studbook.Supposition{What: studbook.SupposeBond, Birds: []string{"M1", "F1"}, Year: -1}
	same, err := o.Suppose(p, []studbook.Supposition{bond})
	require.NoError(t, err)
	assert.Equal(t, o.Start, same.Start, "they are a pair already")
	bond.To = "A"
	same, err = o.Suppose(p, []studbook.Supposition{bond})
	require.NoError(t, err)
	assert.Equal(t, o.Start, same.Start, "where they live already")
	bond.To = "B"
	c, err := o.Suppose(p, []studbook.Supposition{bond, {What: studbook.SupposeFounder, Sex: studbook.Female, To: "C", Year: -1}, {What: studbook.SupposeMove, Birds: []string{"F2"}, To: "D", Year: -1}})
	require.NoError(t, err)
	assert.Equal(t, []string{"A", "B", "C", "D"}, c.Places)
	for _, id := range []string{"F1", "M1"} {
		assert.Equal(t, 1, c.Start.Birds[at[id]].Place, id)
	}
	assert.Equal(t, at["M1"]+1, c.Start.Birds[at["F1"]].Mate)
	assert.Equal(t, o.Start.Birds[at["F1"]].Settled, c.Start.Birds[at["F1"]].Settled, "and no new pair")
	assert.Equal(t, []forecast.Arrival{{Year: 1, Sex: forecast.Female, Place: 2}}, c.Rules.Arrivals)
	assert.Equal(t, 3, c.Start.Birds[at["F2"]].Place)

	bare := programme(t, studbooktest.Read(t, "studbook.csv", "id,sex,sire,dam,hatch_date\nF1,F,,,2020-05-01\nM1,M,,,2020-05-01\n", "programme.toml", more), studbook.DayOf(2026, time.May, 1))
	o, err = forecast.New(t.Context(), bare)
	require.NoError(t, err)
	for _, x := range []studbook.Supposition{
		{What: studbook.SupposeMove, Birds: []string{"F1"}, To: "B"}, {What: studbook.SupposeBond, Birds: []string{"F1", "M1"}, To: "B"},
		{What: studbook.SupposePlaces, To: "B", Number: 1}, {What: studbook.SupposeLeave, To: "B"}, {What: studbook.SupposeFounder, To: "B", Year: -1},
	} {
		_, err := o.Suppose(bare, []studbook.Supposition{x})
		assert.ErrorContains(t, err, "the files do not say where birds live", "%v", x)
	}
}
