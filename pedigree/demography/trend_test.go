package demography_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook"
)

// everyYear returns the last days of some years.
func everyYear(first, n int) []studbook.Day {
	var days []studbook.Day
	for k := range n {
		days = append(days, studbook.DayOf(first+k, 12, 31))
	}
	return days
}

// calendar is what four years of 1461 days differ by, as a share, from four
// mean years.
const calendar = 1e-4

// Worked by hand: in three times four years the logarithm falls by 4, 12 and 8
// hundredths.
func TestTrendByHand(t *testing.T) {
	days := []studbook.Day{1000, 1000 + 1461, 1000 + 2*1461, 1000 + 3*1461}
	var values []float64
	for _, log := range []float64{0, -0.04, -0.16, -0.24} {
		values = append(values, 0.95*math.Exp(log))
	}
	trend, ok := demography.NewTrend(days, values)
	require.True(t, ok)
	assert.Equal(t, 3, trend.Steps)
	assert.InEpsilon(t, 12, trend.Years, calendar)
	assert.InEpsilon(t, -0.02, trend.Rate, calendar)
	// Deviations of 0.04, −0.04 and 0 over four years each.
	assert.InEpsilon(t, math.Sqrt((0.0016/4+0.0016/4)/2), trend.Spread, calendar)
	// Student's t with 2 degrees of freedom at 95 % is 4.303 (any table).
	assert.InDelta(t, 4.303*trend.Spread/math.Sqrt(12), trend.RateInterval(0.95).High-trend.Rate, 1e-4)

	for _, bad := range [][]float64{{0.9, 0.8}, {0.9, 0, 0.8}, nil} {
		_, ok := demography.NewTrend(days[:len(bad)], bad)
		assert.False(t, ok)
	}
	assert.Panics(t, func() { demography.NewTrend(days[:2], values) })
	assert.Panics(t, func() { demography.NewTrend([]studbook.Day{3, 2, 1}, values[:3]) })
}

// A figure without any noise falls below the goal when the formula of a
// constant loss says, and its range has no width.
func TestTrendOfAConstantLoss(t *testing.T) {
	days := []studbook.Day{1, 1462, 2923, 4384}
	values := []float64{1, 0.5, 0.25, 0.125}
	trend, ok := demography.NewTrend(days, values)
	require.True(t, ok)
	mid, first, last := trend.Held(0.8, 0.4, 0.8)
	assert.InEpsilon(t, 4, mid.Value, calendar)
	assert.InEpsilon(t, 4, first.Value, calendar)
	assert.InEpsilon(t, 4, last.Value, calendar)
	gd, within := trend.After(0.8, 8, 0.8)
	assert.InEpsilon(t, 0.2, gd, calendar)
	assert.InEpsilon(t, gd, within.Low, 1e-9)
	mid, first, last = trend.Held(0.3, 0.4, 0.8)
	assert.Equal(t, [3]demography.Number{{Known: true}, {Known: true}, {Known: true}}, [3]demography.Number{mid, first, last}, "below already")
}

// Held and After solve the same equation for another unknown, and a range that
// Held does not know is never left within ten thousand years.
func TestHeldSolvesAfter(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	ends, never := 0, 0
	for range 300 {
		days := everyYear(1990, 4+random.IntN(25))
		values := []float64{0.95}
		for range days[1:] {
			values = append(values, values[len(values)-1]*math.Exp(random.NormFloat64()*0.004-0.004*random.Float64()+0.001))
		}
		trend, ok := demography.NewTrend(days, values)
		require.True(t, ok)
		const goal, now = 0.8, 0.9
		mid, first, last := trend.Held(now, goal, 0.8)
		at := func(y float64, of func(mid float64, in demography.Interval) float64) float64 {
			m, in := trend.After(now, y, 0.8)
			return of(m, in)
		}
		for _, x := range []struct {
			y  demography.Number
			of func(mid float64, in demography.Interval) float64
		}{
			{mid, func(m float64, _ demography.Interval) float64 { return m }},
			{first, func(_ float64, in demography.Interval) float64 { return in.Low }},
			{last, func(_ float64, in demography.Interval) float64 { return in.High }},
		} {
			if x.y.Known {
				ends++
				assert.InDelta(t, goal, at(x.y.Value, x.of), 1e-9)
				assert.Greater(t, at(x.y.Value*0.99, x.of), goal)
				continue
			}
			never++
			for y := 1.0; y < 1e4; y *= 1.1 {
				assert.Greater(t, at(y, x.of), goal)
			}
		}
	}
	assert.Greater(t, ends, 300)
	assert.Greater(t, never, 50)
}

// Of random walks whose drift and spread are as supposed, four in five end in
// the range of four in five: that is what the range means. 2,000 walks have a
// standard error of 0.009.
func TestTrendRangeHolds(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	days := everyYear(1990, 13)
	const walks, ahead = 2000, 10
	within := 0
	for range walks {
		log, values := 0.0, []float64{0.9}
		step := func() { log += -0.003 + 0.005*random.NormFloat64() }
		for range days[1:] {
			step()
			values = append(values, 0.9*math.Exp(log))
		}
		trend, ok := demography.NewTrend(days, values)
		require.True(t, ok)
		_, in := trend.After(values[len(values)-1], ahead, 0.8)
		for range ahead {
			step()
		}
		if end := 0.9 * math.Exp(log); in.Low <= end && end <= in.High {
			within++
		}
	}
	assert.InDelta(t, 0.8, float64(within)/walks, 4*0.009)
}
