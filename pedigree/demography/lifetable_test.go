package demography_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/demography"
)

// Emslie S, ecology course table (Univ. North Carolina Wilmington), from the
// page: 100, 45, 15, 5, 0 alive (DEM-02), chicks so that m is as printed, hence
// R0 and T (DEM-01).
func TestLifeTableEmslie(t *testing.T) {
	var lives []demography.Life
	var broods []demography.Brood
	alive := []int{100, 45, 15, 5, 0}
	for x := range 4 {
		for range alive[x] - alive[x+1] {
			lives = append(lives, demography.Life{Exit: float64(x) + .5, Died: true})
		}
		broods = append(broods, demography.Brood{Age: float64(x), Chicks: emslieM[x] * float64(alive[x])})
	}
	table := demography.NewLifeTable(lives, broods)
	require.Len(t, table.Classes, 4)
	for x, q := range []float64{.55, .67, .67, 1} {
		assert.InDelta(t, q, table.Classes[x].Q.Value, .005)
		assert.Equal(t, float64(alive[x]), table.Classes[x].AtRisk)
		assert.Equal(t, float64(alive[x]+alive[x+1])/2, table.Classes[x].Exposure, "deaths at half-year")
	}
	growth := table.Growth()
	assert.InDelta(t, 1.4, growth.R0, .005)
	assert.InDelta(t, 1.45, growth.CohortGeneration.Value, .005)
	years, atLeast := table.LifeExpectancy()
	assert.InDelta(t, 1.15, years.Value, 1e-12)
	assert.False(t, atLeast)
	assert.False(t, table.Classes[3].TooFew)
	assert.True(t, table.Suffices(table))

	exact, _ := demography.ClopperPearson(55, 100, demography.Level)
	assert.Equal(t, exact, table.Classes[0].QExact)
}

// In complete cohorts the life table and the Kaplan-Meier curve are two ways to
// count the same birds, and R0 is all chicks over all birds.
func TestLifeTableOfCompleteCohorts(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 200 {
		n := 1 + rng.IntN(60)
		lives := make([]demography.Life, n)
		var broods []demography.Brood
		chicks := 0.0
		for i := range lives {
			lives[i] = demography.Life{Exit: rng.ExpFloat64() * 4, Died: true}
			for range rng.IntN(4) {
				b := demography.Brood{Age: lives[i].Exit * rng.Float64(), Chicks: float64(1+rng.IntN(2)) / 2}
				broods, chicks = append(broods, b), chicks+b.Chicks
			}
		}
		table := demography.NewLifeTable(lives, broods)
		curve := demography.KaplanMeier(lives)
		lived := 0.0
		for _, l := range lives {
			lived += l.Exit
		}
		exposure := 0.0
		for x, c := range table.Classes {
			s, ok := curve.At(float64(x))
			require.True(t, ok)
			require.True(t, c.L.Known)
			assert.InDelta(t, s.Survival, c.L.Value, 1e-12)
			exposure += c.Exposure
		}
		assert.InDelta(t, lived, exposure, 1e-9)
		assert.InDelta(t, chicks/float64(n), table.Growth().R0, 1e-9)
		assert.False(t, table.Open())
	}
}

// By hand: one bird watched from 0.25 to 0.75, one that came in at 1.5 and died
// at 1.75, one that hatched and lives at 2.5, half a bird that died on the day
// it hatched.
func TestLifeTableOfPartialLives(t *testing.T) {
	table := demography.NewLifeTable([]demography.Life{
		{Entry: .25, Exit: .75},
		{Entry: 1.5, Exit: 1.75, Died: true},
		{Exit: 2.5},
		{Died: true, Weight: .5},
		{Entry: 3, Exit: 3, Died: true}, // not watched
	}, []demography.Brood{{Age: 2.1, Chicks: 1}, {Age: 9, Chicks: 1}})
	require.Len(t, table.Classes, 3)
	for x, want := range []struct{ atRisk, exposure, deaths float64 }{{2, 1.5, .5}, {1.5, 1.25, 1}, {.5, .5, 0}} {
		c := table.Classes[x]
		assert.Equal(t, want.atRisk, c.AtRisk, x)
		assert.Equal(t, want.exposure, c.Exposure, x)
		assert.Equal(t, want.deaths, c.Deaths, x)
		assert.True(t, c.TooFew)
	}
	assert.Equal(t, 3.5, table.Birds)
	assert.Equal(t, 1.0, table.Chicks, "nobody was watched at nine")
	assert.Equal(t, .25, table.Classes[0].Q.Value)
	assert.Equal(t, 2.0, table.Classes[2].M.Value)
	assert.True(t, table.Open())
	_, atLeast := table.LifeExpectancy()
	assert.True(t, atLeast)
	assert.Equal(t, 1-1/2., table.Adult(1).Value)
	assert.False(t, table.Adult(3).Known)
}

func TestLifeTableWithGap(t *testing.T) {
	table := demography.NewLifeTable([]demography.Life{
		{Exit: 1, Died: false}, {Entry: 2, Exit: 4, Died: false},
	}, nil)
	assert.False(t, table.Classes[1].Q.Known)
	assert.True(t, table.Classes[1].L.Known, "all that were watched lived to 1")
	assert.False(t, table.Classes[2].L.Known)
	assert.True(t, table.Classes[2].Q.Known)
	l, m := table.Schedule()
	assert.Equal(t, []float64{1}, l)
	assert.Equal(t, []float64{0}, m)

	empty := demography.NewLifeTable(nil, nil)
	assert.Empty(t, empty.Classes)
	years, _ := empty.LifeExpectancy()
	assert.False(t, years.Known)
	assert.False(t, empty.Suffices(table))
	assert.Equal(t, demography.Growth{}, empty.Growth())
	// More deaths than years of risk: three come in late in a year and die in it.
	late := demography.Life{Entry: .9, Exit: .95, Died: true}
	dense := demography.NewLifeTable([]demography.Life{late, late, late}, nil)
	assert.Equal(t, 1.0, dense.Classes[0].Q.Value)
	assert.False(t, math.IsNaN(dense.Classes[0].QExact.Low))
}
