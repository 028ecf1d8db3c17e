package demography_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"

	"pairwright/pedigree/demography"
)

// leslie returns the matrix of some fecundities and survivals, with the schedule that
// AfterBreeding makes it of. Birds of the last class live one year more, without
// chicks.
func leslie(t *testing.T, fecundity, survival []float64) (a demography.Leslie, l, m []float64) {
	t.Helper()
	l, m = []float64{1}, []float64{0}
	for x, p := range append(slices.Clone(survival), 1) {
		l, m = append(l, l[x]*p), append(m, fecundity[x]/p)
	}
	a, ok := demography.AfterBreeding(l, m)
	require.True(t, ok)
	return a, l, m
}

// Anton H, Rorres C, Elementary Linear Algebra: Applications Version, section
// on age-specific population growth, from memory, recomputed (DEM-10).
func TestLeslieAnton(t *testing.T) {
	a, l, m := leslie(t, []float64{0, 4, 3}, []float64{1. / 2, 1. / 4})
	assert.InDelta(t, math.Log(1.5), demography.EulerLotka(l, m).Value, 1e-12)
	w, ok := a.StableStructure()
	require.True(t, ok)
	floats.Scale(1/(1-w[3]), w)
	assert.InDeltaSlice(t, []float64{.72, .24, .04}, w[:3], 1e-12)
}

// Bodine EN, Lenhart S, Gross LJ (2014) Mathematics for the Life Sciences, ch. 9
// Example 9.1; matrix and start from the page, steps recomputed (DEM-11).
func TestLeslieThreeYearCycle(t *testing.T) {
	a, l, m := leslie(t, []float64{0, 0, 1000}, []float64{.02, .05})
	rows := a.Project([]float64{0, 0, 50, 0}, 3)
	want := [][]float64{{0, 0, 50}, {50000, 0, 0}, {0, 1000, 0}, {0, 0, 50}}
	require.Len(t, rows, len(want))
	for year := range want {
		assert.InDeltaSlice(t, want[year], rows[year][:3], 1e-6, "year %d", year)
	}
	assert.InDelta(t, 0, demography.EulerLotka(l, m).Value, 1e-12)
}

// Bernardelli H (1941) Population waves, J Burma Research Society 31:1-18, from
// memory: powers of the matrix cycle, its growth factor is 1 (DEM-12).
func TestLeslieBernardelli(t *testing.T) {
	a, l, m := leslie(t, []float64{0, 0, 6}, []float64{1. / 2, 1. / 3})
	assert.InDelta(t, 0, demography.EulerLotka(l, m).Value, 1e-12)
	w, ok := a.StableStructure()
	require.True(t, ok)
	floats.Scale(1/(1-w[3]), w)
	assert.InDeltaSlice(t, []float64{.6, .3, .1}, w[:3], 1e-12) // 6 : 3 : 1 by hand
}

func TestLeslieWithoutBirths(t *testing.T) {
	a, ok := demography.AfterBreeding([]float64{1, .5}, []float64{0, 0})
	require.True(t, ok)
	_, ok = a.StableStructure()
	assert.False(t, ok)
	assert.Equal(t, [][]float64{{4, 2}, {0, 2}, {0, 0}}, a.Project([]float64{4, 2}, 2))

	_, ok = demography.AfterBreeding(nil, nil)
	assert.False(t, ok)
	_, ok = demography.AfterBreeding([]float64{1, 1}, []float64{1, 0})
	assert.False(t, ok, "every chick has a chick at once")
	assert.Panics(t, func() { a.Project([]float64{1}, 1) })
}

// Nobody lives to the last class: its share is 0, not a logarithm of it.
func TestStableStructureWithEmptyClass(t *testing.T) {
	a, ok := demography.AfterBreeding(emslieL, emslieM)
	require.True(t, ok)
	w, ok := a.StableStructure()
	require.True(t, ok)
	assert.Equal(t, 0.0, w[4])
}
