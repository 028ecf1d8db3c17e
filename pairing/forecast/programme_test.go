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
	assert.InDelta(t, .56, rules.Chance, 1e-12, "1.12 chicks of at most 2")
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
	assert.Equal(t, []forecast.Bird{{Sex: forecast.Female, Age: 5}, {Sex: forecast.Male, Age: 2}}, start.Birds)
	assert.Equal(t, 2, rules.Birds)
	assert.Nil(t, rules.Places)
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
