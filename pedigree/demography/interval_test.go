package demography_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/demography"
)

// Newcombe RG (1998) Statistics in Medicine 17:857-872, Table I, from memory
// and recomputed; 0 of 10: Clopper CJ, Pearson ES (1934) Biometrika 26:404-413,
// closed form, from the page.
func TestBinomialIntervals(t *testing.T) {
	const printed = 6e-5
	for _, c := range []struct {
		name   string
		k, n   int
		exact  demography.Interval
		wilson demography.Interval
	}{
		{"81 of 263 (BIN-01, 02)", 81, 263, demography.Interval{Low: .2527, High: .3676}, demography.Interval{Low: .2553, High: .3662}},
		{"15 of 148 (BIN-03, 04)", 15, 148, demography.Interval{Low: .0578, High: .1617}, demography.Interval{Low: .0624, High: .1605}},
		{"0 of 20 (BIN-05, 06)", 0, 20, demography.Interval{Low: 0, High: .1684}, demography.Interval{Low: 0, High: .1611}},
		{"1 of 29 (BIN-07, 08)", 1, 29, demography.Interval{Low: .0009, High: .1776}, demography.Interval{Low: .0061, High: .1718}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := demography.NewProportion(c.k, c.n)
			require.True(t, p.Known)
			assert.InDelta(t, c.exact.Low, p.Exact.Low, printed)
			assert.InDelta(t, c.exact.High, p.Exact.High, printed)
			assert.InDelta(t, c.wilson.Low, p.Wilson.Low, printed)
			assert.InDelta(t, c.wilson.High, p.Wilson.High, printed)
			assert.Equal(t, float64(c.k)/float64(c.n), p.Value)
		})
	}
	exact, ok := demography.ClopperPearson(0, 10, .95)
	require.True(t, ok)
	assert.InDelta(t, .3085, exact.High, printed, "BIN-09")
	assert.Equal(t, 0.0, exact.Low)
}

// The exact limits solve the binomial tails they are defined by: the oracle is
// the binomial sum itself.
func TestClopperPearsonSolvesTheTails(t *testing.T) {
	tail := func(p float64, from, to, n int) float64 {
		sum := 0.0
		for k := from; k <= to; k++ {
			a, _ := math.Lgamma(float64(n + 1))
			b, _ := math.Lgamma(float64(k + 1))
			c, _ := math.Lgamma(float64(n - k + 1))
			sum += math.Exp(a - b - c + float64(k)*math.Log(p) + float64(n-k)*math.Log1p(-p))
		}
		return sum
	}
	for _, n := range []int{1, 2, 5, 17, 60, 400} {
		for k := 0; k <= n; k += 1 + n/7 {
			i, ok := demography.ClopperPearson(k, n, .95)
			require.True(t, ok)
			if k > 0 {
				assert.InDelta(t, .025, tail(i.Low, k, n, n), 1e-9, "%d of %d, low", k, n)
			}
			if k < n {
				assert.InDelta(t, .025, tail(i.High, 0, k, n), 1e-9, "%d of %d, high", k, n)
			}
			w, ok := demography.Wilson(k, n, .95)
			require.True(t, ok)
			p := float64(k) / float64(n)
			assert.True(t, 0 <= w.Low && w.Low <= p && p <= w.High && w.High <= 1, "%d of %d: %v", k, n, w)
		}
	}
}

func TestProportionOfNothing(t *testing.T) {
	p := demography.NewProportion(0, 0)
	assert.Equal(t, demography.Proportion{TooFew: true}, p)
	assert.True(t, demography.NewProportion(2, 4).TooFew)
	assert.False(t, demography.NewProportion(2, 5).TooFew)
	assert.Nil(t, demography.Number{}.Ptr())
	assert.Equal(t, 3.0, *demography.Number{Value: 3, Known: true}.Ptr())
	assert.Panics(t, func() { demography.NewProportion(3, 2) })
	assert.Panics(t, func() { demography.Wilson(1, 2, 95) })
}

// Published limits for counts (Garwood 1936, table; from memory), and the two
// sums that define them: with the mean at an end, as many events or more, or as
// few or fewer, have a chance of 2.5 %.
func TestPoissonInterval(t *testing.T) {
	for _, c := range []struct {
		k         int
		low, high float64
	}{{0, 0, 3.69}, {1, 0.03, 5.57}, {5, 1.62, 11.67}, {10, 4.80, 18.39}, {50, 37.11, 65.92}} {
		i := demography.PoissonInterval(c.k, 0.95)
		assert.InDelta(t, c.low, i.Low, 0.006, "%d", c.k)
		assert.InDelta(t, c.high, i.High, 0.006, "%d", c.k)
		upTo := func(k int, mean float64) float64 {
			sum, term := 0.0, math.Exp(-mean)
			for n := 0; n <= k; n++ {
				sum += term
				term *= mean / float64(n+1)
			}
			return sum
		}
		assert.InDelta(t, 0.025, upTo(c.k, i.High), 1e-9)
		if c.k > 0 {
			assert.InDelta(t, 0.025, 1-upTo(c.k-1, i.Low), 1e-9)
		}
	}
	assert.Panics(t, func() { demography.PoissonInterval(-1, 0.95) })
}

// The median of an even number of values is the mean of the two in the middle, as
// in Hyndman & Fan 1996 (Am Stat 50:361), R's median and numpy.median.
func TestMedian(t *testing.T) {
	assert.Equal(t, demography.Number{}, demography.Median(nil))
	values := []float64{7, 1, 4}
	assert.Equal(t, demography.Number{Value: 4, Known: true}, demography.Median(values))
	assert.Equal(t, []float64{7, 1, 4}, values, "left in their order")
	assert.Equal(t, demography.Number{Value: 3, Known: true}, demography.Median([]float64{7, 1, 4, 2}))
}
