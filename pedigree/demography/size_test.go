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

func TestHarmonicMean(t *testing.T) {
	for _, c := range []struct {
		sizes           []float64
		want, tolerance float64
		source          string
	}{
		{[]float64{11000, 2000, 11000, 16000}, 5374, .5, "NE-06 course text on Ford's scarlet tiger moth counts, page"},
		{[]float64{10, 100, 50, 80, 20, 500}, 30.8, .06, "NE-07 encyclopedia article, memory"},
		{[]float64{100, 10, 100}, 25, 1e-9, "NE-08 Hamilton MB (2009) Population Genetics, Fig. 3.16, page"},
		{[]float64{100, 0}, 0, 0, "a generation of none"},
	} {
		got := demography.HarmonicMean(c.sizes)
		require.True(t, got.Known, c.source)
		assert.InDelta(t, c.want, got.Value, c.tolerance, c.source)
	}
	assert.False(t, demography.HarmonicMean(nil).Known)
}

// Crow & Kimura (1970), Falconer & Mackay (1996) ch. 4; closed form, memory (NE-09).
func TestFamilyVarianceSize(t *testing.T) {
	for variance, want := range map[float64]float64{2: 19.5, 0: 39, 6: 9.75} {
		assert.InDelta(t, want, demography.FamilyVarianceSize(20, variance).Value, 1e-9, "variance %v", variance)
	}
	assert.False(t, demography.FamilyVarianceSize(0, 2).Known)
}

// Counted families of mean 2 give the formula for a mean of 2; at another mean
// the oracle is the chance that two different chicks' genes come from the same
// parent, Σ k(k-1) / nk(nk-1), of which the formula is the inverse.
func TestFamilySizes(t *testing.T) {
	equal := demography.FamilySizes([]int{2, 2, 2, 2, 2})
	assert.Equal(t, 9.0, equal.Size.Value)
	mixed := demography.FamilySizes([]int{0, 1, 2, 3, 4})
	assert.Equal(t, demography.FamilyVarianceSize(5, mixed.Variance).Value, mixed.Size.Value)
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

// With discrete generations of n birds that join once per length 1 it is the
// family-variance size but for the 2 of a finite population.
func TestOverlappingSize(t *testing.T) {
	assert.Equal(t, 4.*10*8/6, demography.OverlappingSize(10, 8, 4).Value)
	assert.False(t, demography.OverlappingSize(10, 0, 4).Known)
}

func TestInbreedingRate(t *testing.T) {
	// NE-10: Christensen, sec. 3.6, page.
	assert.InDelta(t, .025, demography.RateFromSize(20).Value, 1e-12)
	// NE-11: closed form; Falconer & Mackay (1996) ch. 4, memory.
	rate, size := demography.InbreedingRate(.10, .145)
	assert.InDelta(t, .05, rate.Value, 1e-9)
	assert.InDelta(t, 10, size.Value, 1e-9)
	rate, size = demography.InbreedingRate(.2, .1)
	assert.InDelta(t, -.125, rate.Value, 1e-12)
	assert.False(t, size.Known, "a falling inbreeding estimates no size")
	rate, _ = demography.InbreedingRate(1, 1)
	assert.False(t, rate.Known)
}

func TestFounderSampling(t *testing.T) {
	// NE-12 and NE-13: Hunter & Gibbs, Fundamentals of Conservation Biology, Table
	// 5.2 footnotes, page.
	assert.InDelta(t, .95, demography.FounderDiversity(10).Value, 1e-12)
	assert.InDelta(t, 2, demography.AllelesCaught([]float64{.94, .02, .02, .02}, 10), .005)
	// NE-14: Inouye D, conservation biology lecture, Univ. Maryland, page.
	assert.InDelta(t, .875, demography.DiversityAfter(1, 4, 1).Value, 1e-12)
	// NE-15: closed form, memory.
	for n, want := range map[int]float64{1: .5, 2: .75, 3: .8333, 4: .875, 5: .9, 6: .9167, 10: .95, 20: .975, 25: .98, 30: .9833, 50: .99, 100: .995} {
		assert.InDelta(t, want, demography.FounderDiversity(n).Value, 5e-5, "%d founders", n)
	}
	assert.False(t, demography.FounderDiversity(0).Known)
	// NE-16: closed form; Marshall & Brown (1975), Allendorf (1986), memory.
	for _, c := range []struct {
		p    float64
		n    int
		want float64
	}{{.05, 10, .6415}, {.05, 20, .8715}, {.05, 30, .9539}, {.1, 10, .8784}, {.01, 50, .634}} {
		assert.InDelta(t, c.want, demography.AlleleCaught(c.p, c.n), 5e-5, "%v", c)
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
	// NE-25: closed form, memory.
	assert.InDelta(t, .6241, demography.DiversityAfter(.95, 30, 100./4).Value, 1e-4)
	assert.InDelta(t, .95*.75*.9, demography.DiversityThrough(.95, []float64{2, 5}).Value, 1e-12)
	assert.False(t, demography.DiversityThrough(.95, []float64{2, 0}).Known)
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
	// effective founders; closed form, memory.
	assert.InDelta(t, .975, demography.FounderDiversity(20).Value, 1e-9)
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

// The size that explains a loss is the size that makes it.
func TestDiversityLossSize(t *testing.T) {
	for _, ne := range []float64{.5, 1, 7.3, 40, 1e6} {
		after := demography.DiversityAfter(.9, ne, 3.5).Value
		if got := demography.DiversityLossSize(.9, after, 3.5); ne > .5 {
			assert.InEpsilon(t, ne, got.Value, 1e-6)
		} else {
			assert.Equal(t, .5, got.Value)
		}
	}
	assert.False(t, demography.DiversityLossSize(.9, .9, 1).Known)
	assert.False(t, demography.DiversityLossSize(.8, .9, 1).Known)
	assert.False(t, demography.DiversityLossSize(.9, .8, 0).Known)
	assert.Equal(t, .4, demography.SizeRatio(demography.Number{Value: 8, Known: true}, 20).Value)
	assert.False(t, demography.SizeRatio(demography.Number{}, 20).Known)
	assert.False(t, demography.SizeRatio(demography.Number{Value: 8, Known: true}, 0).Known)
}
