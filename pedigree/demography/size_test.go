package demography_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/demography"
)

func TestSexRatioSize(t *testing.T) {
	for _, c := range []struct {
		males, females  int
		want, tolerance float64
		source          string
	}{
		{10, 10, 20, 1e-9, "NE-01 Christensen K, Population Genetics (web text), sec. 3.6, page"},
		{100, 100000, 400, .5, "NE-02 Christensen, sec. 3.6, rounded, page"},
		{400, 400, 800, 1e-9, "NE-03 encyclopedia article on effective population size, page"},
		{1, 1000, 3.996, 5e-4, "NE-04 Holsinger KE, lecture notes, drift, eq. 7, page"},
		{2, 18, 7.2, 1e-9, "NE-05 closed form; Wright (1931), memory"},
		{5, 20, 16, 1e-9, "NE-05 closed form; Wright (1931), memory"},
		{0, 20, 0, 0, "one sex alone leaves nothing"},
	} {
		assert.InDelta(t, c.want, demography.SexRatioSize(c.males, c.females), c.tolerance, c.source)
	}
}

// Counted families of mean 2 give the formula for a mean of 2; at another mean
// the oracle is the chance that two different chicks' genes come from the same
// parent, Σ k(k-1) / nk(nk-1), of which the formula is the inverse.
func TestFamilySizes(t *testing.T) {
	equal := demography.FamilySizes([]int{2, 2, 2, 2, 2})
	assert.Equal(t, 9.0, equal.Size.Value)
	// Crow & Kimura (1970), Falconer & Mackay (1996) ch. 4: (4n - 2)/(V + 2) for 20
	// birds; closed form, memory (NE-09).
	for _, c := range []struct {
		families       string
		variance, want float64
	}{
		{"22222222222222222222", 0, 39},
		{"00000444442222222222", 2, 19.5},
		{"98000000131313131312", 6, 9.75},
	} {
		var k []int
		for _, digit := range c.families {
			k = append(k, int(digit-'0'))
		}
		got := demography.FamilySizes(k)
		require.Equal(t, 2.0, got.Mean, c.families)
		assert.InDelta(t, c.variance, got.Variance, 1e-9, c.families)
		assert.InDelta(t, c.want, got.Size.Value, 1e-9, c.families)
	}
	k := []int{0, 3, 1, 7, 2, 2, 0, 5}
	pairs, total := 0, 0
	for _, x := range k {
		pairs += x * (x - 1)
		total += x
	}
	assert.InDelta(t, float64(total*(total-1))/float64(pairs), demography.FamilySizes(k).Size.Value, 1e-9)
	for _, none := range [][]int{nil, {3}, {0, 0}, {1, 0}, {1, 1, 1}} {
		assert.False(t, demography.FamilySizes(none).Size.Known, none)
	}
}

// Denniston (1978)-type table reprinted in Meffe & Carroll, Principles of
// Conservation Biology, and in Hunter, Table 5.3 (percent, rounded); memory,
// recomputed (NE-17 to NE-22).
func TestDiversityLeft(t *testing.T) {
	for ne, want := range map[float64][3]float64{
		2: {75, 24, 6}, 6: {91.7, 65, 42}, 10: {95, 77, 60}, 20: {97.5, 88, 78}, 50: {99, 95, 90}, 100: {99.5, 97.5, 95},
	} {
		for i, generations := range []float64{1, 5, 10} {
			assert.InDelta(t, want[i], 100*demography.DiversityAfter(1, ne, generations).Value, .6, "Ne %v after %v", ne, generations)
		}
	}
	// NE-14: Inouye D, conservation biology lecture, Univ. Maryland, page.
	assert.InDelta(t, .875, demography.DiversityAfter(1, 4, 1).Value, 1e-12)
	// NE-25: closed form, memory.
	assert.InDelta(t, .6241, demography.DiversityAfter(.95, 30, 100./4).Value, 1e-4)
	assert.Equal(t, 0.0, demography.DiversityAfter(.9, .3, 2).Value, "less than half a bird keeps nothing")
	assert.False(t, demography.DiversityAfter(.9, -3, 2).Known)
}

func TestSizeForGoal(t *testing.T) {
	// NE-23: Frankham, Ballou & Briscoe (2002): about 475/L for 90 % over 100
	// years; memory.
	assert.InDelta(t, 475, demography.SizeToKeep(.9, 100).Value, .6)
	// NE-24: closed form, memory.
	for generations, want := range map[float64]float64{5: 23.98, 10: 47.71, 20: 95.16} {
		assert.InDelta(t, want, demography.SizeToKeep(.9, generations).Value, .01, "%v generations", generations)
	}
	// NE-26: Willis & Willis (2010) Zoo Biology 29:638-646, recommendation of 20
	// effective founders, 1 - 1/(2·20) of the wild's diversity; closed form, memory.
	assert.Equal(t, 9.0, math.Floor(demography.GenerationsHeld(.975, .9, 60).Value))

	size, missed := demography.SizeForGoal(.95, .9, 10)
	assert.InDelta(t, .9, demography.DiversityAfter(.95, size.Value, 10).Value, 1e-12)
	assert.Equal(t, 0.0, missed)
	size, missed = demography.SizeForGoal(.85, .9, 10)
	assert.False(t, size.Known)
	assert.InDelta(t, .05, missed, 1e-12)
	size, missed = demography.SizeForGoal(.9, .9, 10)
	assert.False(t, size.Known)
	assert.Equal(t, 0.0, missed)
	assert.Equal(t, 0.0, demography.GenerationsHeld(.85, .9, 60).Value)
	assert.False(t, demography.GenerationsHeld(.95, .9, 0).Known)
}

// The size that keeps what another leaves is that other.
func TestSizeToKeepInvertsDiversityAfter(t *testing.T) {
	for _, ne := range []float64{1, 7.3, 40, 1e6} {
		after := demography.DiversityAfter(.9, ne, 3.5).Value
		assert.InEpsilon(t, ne, demography.SizeToKeep(after/.9, 3.5).Value, 1e-6)
	}
	assert.Equal(t, .5, demography.SizeToKeep(0, 3.5).Value)
	assert.False(t, demography.SizeToKeep(1, 1).Known)
	assert.False(t, demography.SizeToKeep(.8, 0).Known)
}

func TestSizeRatio(t *testing.T) {
	assert.Equal(t, .4, demography.SizeRatio(demography.Number{Value: 8, Known: true}, 20).Value)
	assert.False(t, demography.SizeRatio(demography.Number{}, 20).Known)
	assert.False(t, demography.SizeRatio(demography.Number{Value: 8, Known: true}, 0).Known)
}
