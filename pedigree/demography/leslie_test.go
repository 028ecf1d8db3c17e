package demography_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/demography"
)

// Anton H, Rorres C, Elementary Linear Algebra: Applications Version, section
// on age-specific population growth, from memory, recomputed (DEM-10).
func TestLeslieAnton(t *testing.T) {
	a := demography.NewLeslie([]float64{0, 4, 3}, []float64{1. / 2, 1. / 4})
	assert.InDelta(t, 1.5, a.Lambda().Value, 1e-12)
	w, ok := a.StableStructure()
	require.True(t, ok)
	assert.InDeltaSlice(t, []float64{.72, .24, .04}, w, 1e-12)
}

// Bodine EN, Lenhart S, Gross LJ (2014) Mathematics for the Life Sciences, ch. 9
// Example 9.1; matrix and start from the page, steps recomputed (DEM-11).
func TestLeslieThreeYearCycle(t *testing.T) {
	a := demography.NewLeslie([]float64{0, 0, 1000}, []float64{.02, .05})
	rows := a.Project([]float64{0, 0, 50}, 3)
	want := [][]float64{{0, 0, 50}, {50000, 0, 0}, {0, 1000, 0}, {0, 0, 50}}
	require.Len(t, rows, len(want))
	for year := range want {
		assert.InDeltaSlice(t, want[year], rows[year], 1e-6, "year %d", year)
	}
	assert.InDelta(t, 1, a.Lambda().Value, 1e-12)
}

// Bernardelli H (1941) Population waves, J Burma Research Society 31:1-18, from
// memory: powers of the matrix cycle, its growth factor is 1 (DEM-12).
func TestLeslieBernardelli(t *testing.T) {
	a := demography.NewLeslie([]float64{0, 0, 6}, []float64{1. / 2, 1. / 3})
	assert.InDelta(t, 1, a.Lambda().Value, 1e-12)
	w, ok := a.StableStructure()
	require.True(t, ok)
	assert.InDeltaSlice(t, []float64{.6, .3, .1}, w, 1e-12) // 6 : 3 : 1 by hand
}

func TestLeslieWithoutBirths(t *testing.T) {
	a := demography.NewLeslie([]float64{0, 0}, []float64{.5})
	assert.False(t, a.Lambda().Known)
	_, ok := a.StableStructure()
	assert.False(t, ok)
	assert.Equal(t, [][]float64{{4, 2}, {0, 2}, {0, 0}}, a.Project([]float64{4, 2}, 2))

	_, ok = demography.AfterBreeding(nil, nil)
	assert.False(t, ok)
	_, ok = demography.BeforeBreeding([]float64{1}, []float64{0})
	assert.False(t, ok)
	_, ok = demography.AfterBreeding([]float64{1, 1}, []float64{1, 0})
	assert.False(t, ok, "every chick has a chick at once")
	assert.Panics(t, func() { demography.NewLeslie([]float64{1}, []float64{1}) })
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
