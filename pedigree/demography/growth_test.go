package demography_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/demography"
)

var (
	// Emslie S, ecology course table (Univ. North Carolina Wilmington), from the page.
	emslieL = []float64{1, .45, .15, .05, 0}
	emslieM = []float64{0, 2, 2.5, 2.5, 0}
	// Begon M, Townsend CR, Harper JL, Ecology, Table 4.5, barnacle Balanus
	// glandula; results printed, the two columns from memory.
	barnacleL = []float64{1, 62e-6, 34e-6, 20e-6, 15.5e-6, 11e-6, 6.5e-6, 2e-6, 2e-6}
	barnacleM = []float64{0, 4600, 8700, 11600, 12700, 12700, 12700, 12700, 12700}
)

func TestGrowthPublished(t *testing.T) {
	g := demography.NewGrowth(emslieL, emslieM)
	// Emslie, from the page (DEM-01).
	assert.InDelta(t, 1.4, g.R0, .005)
	assert.InDelta(t, 1.45, g.CohortGeneration.Value, .005)
	assert.InDelta(t, .232, math.Log(g.R0)/g.CohortGeneration.Value, .005)
	// Not printed there; Lotka's equation, recomputed (DEM-03).
	assert.InDelta(t, .2406, g.R.Value, 1e-4)
	assert.InDelta(t, 1.2721, g.Lambda.Value, 1e-4)
	assert.InDelta(t, 1.15, demography.LifeExpectancy(emslieL), 1e-4)

	// Gotelli NJ, A Primer of Ecology, ch. 3, from memory, recomputed (DEM-04).
	g = demography.NewGrowth([]float64{1, .8, .4, .1, 0}, []float64{0, 2, 3, 1, 0})
	assert.InDelta(t, 2.9, g.R0, 6e-4)
	assert.InDelta(t, 1.483, g.CohortGeneration.Value, 6e-4)
	assert.InDelta(t, .718, math.Log(g.R0)/g.CohortGeneration.Value, 6e-4)
	assert.InDelta(t, .776, g.R.Value, 6e-4)

	// Begon, Townsend & Harper, Table 4.5 (DEM-05, 06 from the page; DEM-09 from memory).
	g = demography.NewGrowth(barnacleL, barnacleM)
	assert.InDelta(t, .085, g.R.Value, 5e-4)
	assert.InDelta(t, 3.1, g.CohortGeneration.Value, .05)
	assert.InDelta(t, 2.9, math.Log(g.R0)/g.R.Value, .05)
	assert.InDelta(t, 1.282, g.R0, .001)

	// Wethey D, ecology course notes (Univ. South Carolina), barnacle cohort of
	// 1959, from the page (DEM-07).
	assert.InDelta(t, 2.045, demography.NetReproduction(
		[]float64{.00143, .000083, .0000167}, []float64{1185, 3172, 5245}), .001)

	// Carr SM, Memorial University biology course table, from the page, printed
	// with rounded l (DEM-08).
	for _, c := range []struct{ p, r0 float64 }{{.5, 2}, {.75, 4.02}, {.25, .72}} {
		l := []float64{1, c.p, c.p * c.p, c.p * c.p * c.p}
		assert.InDelta(t, c.r0, demography.NetReproduction(l, []float64{0, 2, 3, 2}), .02, "survival %v", c.p)
	}
}

// schedule draws a life schedule with births in at least one age above 0.
func schedule(rng *rand.Rand) (l, m []float64) {
	n := 2 + rng.IntN(40)
	l, m = make([]float64, n), make([]float64, n)
	l[0] = 1
	for x := 1; x < n; x++ {
		l[x] = l[x-1] * (1 - rng.Float64()*rng.Float64())
		if rng.IntN(3) > 0 {
			m[x] = rng.ExpFloat64() * math.Pow(10, 4*rng.Float64()-2)
		}
	}
	m[0] = float64(rng.IntN(2)) * .9 * rng.Float64()
	m[1+rng.IntN(n-1)] += .1
	return l, m
}

// The equation is its own oracle; the projection matrix, its eigenvalue by
// repeated squaring in the test, is another.
func TestEulerLotkaProperties(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 400 {
		l, m := schedule(rng)
		g := demography.NewGrowth(l, m)
		require.True(t, g.R.Known)
		sum := 0.0
		for x := range l {
			sum += math.Exp(-g.R.Value*float64(x)) * l[x] * m[x]
		}
		assert.InDelta(t, 1, sum, 1e-12)
		assert.True(t, g.R0 > 1 == (g.R.Value > 0), "R0 %v, r %v", g.R0, g.R.Value)
		assert.LessOrEqual(t, g.GenerationLength.Value, float64(len(l)-1))

		after, ok := demography.AfterBreeding(l, m)
		require.True(t, ok)
		assert.InEpsilon(t, g.Lambda.Value, spectralRadius(after), 1e-6)

		w, ok := after.StableStructure()
		require.True(t, ok)
		next := after.Project(w, 1)[1]
		total := 0.0
		for x := range w {
			total += w[x]
			assert.InDelta(t, g.Lambda.Value*w[x], next[x], 1e-12*max(1, g.Lambda.Value), "class %d", x)
		}
		assert.InDelta(t, 1, total, 1e-12)
	}
}

// spectralRadius is the growth of the norm of A^(2^k), which holds for every
// matrix, cycling or not (Gelfand's formula).
func spectralRadius(a demography.Leslie) float64 {
	m := a.Matrix()
	log := 0.0 // of the factor taken out of the power
	const k = 32
	for range k {
		m.Mul(m, m)
		log *= 2
		top := 0.0
		for _, x := range m.RawMatrix().Data {
			top = max(top, x)
		}
		m.Scale(1/top, m)
		log += math.Log(top)
	}
	return math.Exp(log / (1 << k))
}

// One class that breeds: r = ln(l m)/x in closed form.
func TestEulerLotkaClosedForm(t *testing.T) {
	l := []float64{1, .5, .25, .2}
	g := demography.NewGrowth(l, []float64{0, 0, 0, 4})
	assert.InDelta(t, math.Log(.8)/3, g.R.Value, 1e-15)
	assert.InDelta(t, 3, g.GenerationLength.Value, 1e-12)
	assert.InDelta(t, 3, g.CohortGeneration.Value, 1e-12)
	// With as many births at hatch as 1-e: the others must make up 1-m0.
	g = demography.NewGrowth([]float64{1, .5}, []float64{.6, 1.6})
	assert.InDelta(t, math.Log(.8/.4), g.R.Value, 1e-12)
}

func TestGrowthUndefined(t *testing.T) {
	none := demography.NewGrowth([]float64{1, .5}, []float64{0, 0})
	assert.Equal(t, demography.Growth{}, none)
	assert.Equal(t, demography.Growth{}, demography.NewGrowth(nil, nil))
	atHatch := demography.NewGrowth([]float64{1, .5}, []float64{2, 1})
	assert.False(t, atHatch.R.Known)
	assert.False(t, atHatch.GenerationLength.Known)
	huge := demography.NewGrowth([]float64{1, 1e-300}, []float64{0, 1e-300})
	assert.False(t, huge.R.Known, "births too rare for a number are none")
	assert.Equal(t, 0.0, demography.LifeExpectancy(nil))
	assert.Panics(t, func() { demography.NewGrowth([]float64{1}, nil) })
	assert.Panics(t, func() { demography.NewGrowth([]float64{math.NaN()}, []float64{0}) })
}
