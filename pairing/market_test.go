package pairing

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook/studbooktest"
)

// Values and gains worked out row by row are those of the pairs one by one, to the last
// digit, in the coming season and in a later one.
func TestRowsOfAMarket(t *testing.T) {
	c := studbooktest.Example(t)
	p, err := New(t.Context(), c.At(c.FilesDay))
	require.NoError(t, err)
	for _, years := range []float64{0, 1} {
		m, err := newMarket(t.Context(), p, p.Settings().LimitInbreeding, years)
		require.NoError(t, err)
		assert.Less(t, len(m.kinds[1].one), len(m.males), "some are of an age")
		n := 0
		for f := range m.females {
			var values, gains []float64
			for k := range m.males {
				if x := m.pair(f, k); !TooClose(x.kinship, m.limit) {
					values, gains = append(values, m.valueOf(x)), append(gains, m.w.gainFrom(x.added()))
				}
			}
			require.Equal(t, n, m.before[f])
			n += len(values)
			require.Equal(t, values, m.allValuesOf(f, nil))
			require.Equal(t, gains, m.gainsOf(f, nil))
		}
		assert.Equal(t, n, m.eligible)
	}
}

// A ruler finds what a binary search does, wherever numbers lie, alone or together.
func TestRuler(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for n := 1; n < 60; n++ {
		numbers := make([]float64, n)
		for k := range numbers {
			numbers[k] = math.Exp(20 * (r.Float64() - 0.5))
			if k%3 == 1 {
				numbers[k] = numbers[k-1] * (1 + 1e-15)
			}
		}
		slices.Sort(numbers)
		numbers = slices.Compact(numbers)
		ruler := newRuler(numbers)
		for _, x := range append(slices.Clone(numbers), -1, 0, 1, 1e9, math.Inf(1), math.Inf(-1), r.Float64(), 100*r.Float64()) {
			for _, x := range []float64{x, math.Nextafter(x, -1), math.Nextafter(x, 1e10)} {
				want := 0
				for _, y := range numbers {
					if y <= x {
						want++
					}
				}
				require.Equal(t, want, ruler.upTo(x), "%v among %v", x, numbers)
			}
		}
	}
	assert.Equal(t, 1, newRuler([]float64{2}).upTo(2))
	assert.Equal(t, 0, newRuler([]float64{2}).upTo(math.NaN()))
}

// Birds ranked together are ranked as one by one.
func TestRankAll(t *testing.T) {
	studbooktest.WithoutRace(t)
	c := studbooktest.Example(t)
	p, err := New(t.Context(), c.At(c.FilesDay))
	require.NoError(t, err)
	d, err := p.Decide(t.Context(), DecisionOptions{})
	require.NoError(t, err)
	r, err := NewRanker(t.Context(), d, Options{Samples: 10, Seed: 1, Explained: 2, Shown: 3})
	require.NoError(t, err)
	free := p.Free(p.Settings().Home)
	all, err := r.RankAll(t.Context(), free)
	require.NoError(t, err)
	require.NotEmpty(t, all)
	for k, b := range free {
		one, err := r.Rank(t.Context(), b)
		require.NoError(t, err)
		assert.Equal(t, one, all[k])
	}
}

// TestTooManyBirds: what would take more than a gigabyte is told with what makes less of it.
func TestTooManyBirds(t *testing.T) {
	c := studbooktest.Example(t)
	few := func(limit *int, n int) error {
		was := *limit
		*limit = n
		defer func() { *limit = was }()
		p, err := New(t.Context(), c.At(c.FilesDay))
		require.NoError(t, err)
		_, err = p.Decide(t.Context(), DecisionOptions{})
		return err
	}
	assert.ErrorContains(t, few(&mostCouples, 1000), "males may breed by the files, more than can be weighed against each other; write down the deaths")
	var many *TooManyError
	require.ErrorAs(t, few(&mostFreePairs, 100), &many)
	assert.True(t, many.Free)
	assert.Greater(t, many.Females*many.Males, 100)
	assert.ErrorContains(t, many, "and the bonds of pairs (bonds.csv)")
	assert.NoError(t, few(&mostFreePairs, many.Females*many.Males))
}
