package markers

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// pairOf is a pair of birds of two genotypes at a marker whose alleles 1 to 4 have
// frequencies of 0.3, 0.2, 0.1 and 0.4.
func pairOf(t *testing.T, a, b string, error float64) Pair {
	p := panel(t, "a "+a, "b "+b, "c 1/2", "d 3/4")
	p.Frequency[0] = []float64{0.3, 0.2, 0.1, 0.4}
	return p.Pair("a", "b", error)
}

// TestSiblingIndex: without errors the likelihood of full and half siblings, over that of
// unrelated birds, is the sibling index of forensic genetics, and that of parent and chick
// the paternity index without the mother, whose formulas by genotype stand in its tables
// (Evett & Weir 1998, Interpreting DNA Evidence, chapter 4; from memory). a and b are the
// frequencies of alleles 1 and 2.
func TestSiblingIndex(t *testing.T) {
	const a, b = 0.3, 0.2
	for _, x := range []struct {
		one, other         string
		parent, full, half float64
	}{
		{"1/1", "1/1", 1 / a, (1 + a) * (1 + a) / (4 * a * a), (1 + a) / (2 * a)},
		{"1/1", "1/2", 1 / (2 * a), (1 + a) / (4 * a), (1 + 2*a) / (4 * a)},
		{"1/2", "1/2", (a + b) / (4 * a * b), (1 + a + b + 2*a*b) / (8 * a * b), (a + b + 4*a*b) / (8 * a * b)},
		{"1/2", "1/3", 1 / (4 * a), (1 + 2*a) / (8 * a), (1 + 4*a) / (8 * a)},
		{"1/1", "2/3", 0, 0.25, 0.5},
		{"1/2", "3/4", 0, 0.25, 0.5},
	} {
		for _, pair := range []Pair{pairOf(t, x.one, x.other, 0), pairOf(t, x.other, x.one, 0)} {
			times := func(s Sharing) float64 { return math.Exp(pair.LogLikelihood(s)) }
			assert.InDelta(t, x.parent, times(ParentAndChick), 1e-12, "%+v", x)
			assert.InDelta(t, x.full, times(FullSiblings), 1e-12, "%+v", x)
			assert.InDelta(t, x.half, times(HalfSiblings), 1e-12, "%+v", x)
			assert.InDelta(t, 1, times(Unrelated), 1e-12, "%+v", x)
		}
	}
}

// TestKinshipOfSharing: those of the nearest kin (Falconer & Mackay 1996, chapter 9).
func TestKinshipOfSharing(t *testing.T) {
	for s, want := range map[Sharing]float64{Unrelated: 0, HalfSiblings: 1.0 / 8, FullSiblings: 1.0 / 4, ParentAndChick: 1.0 / 4, SameBird: 1.0 / 2} {
		assert.Equal(t, want, s.Kinship())
	}
}

// TestPairIsAProbability: over all genotypes of the second bird, weighted by how likely
// each is in unrelated birds, the likelihood ratio is 1, errors or not.
func TestPairIsAProbability(t *testing.T) {
	p := panel(t, "a 1/1", "b 2/3", "c 1/4", "d 3/3", "e 2/4")
	of := p.Frequency[0]
	for _, s := range []Sharing{Unrelated, HalfSiblings, FullSiblings, ParentAndChick, SameBird} {
		for _, first := range []genotype{{0, 0}, {0, 1}, {2, 3}} {
			sum := 0.0
			for i := range int16(4) {
				for j := i; j < 4; j++ {
					second := genotype{i, j}
					p.found["x"], p.found["y"] = []genotype{first}, []genotype{second}
					sum += inherits(second, unknown, unknown, of) * math.Exp(p.Pair("x", "y", 0.05).LogLikelihood(s))
				}
			}
			assert.InDelta(t, 1, sum, 1e-12, "%v %v", s, first)
		}
	}
}

// TestPairsByMendel: simulated by the kinds of kin that have a sharing, chicks of drawn
// parents, the pairs have the genotypes that their likelihoods say: the mean logarithm of
// a mixture over genotypes is as large as can be for the true sharing (Gibbs' inequality),
// Draw draws such pairs too, and the likeliest kinship is right on average but for what
// being 0 at the least adds.
func TestPairsByMendel(t *testing.T) {
	p := panel(t, "a 1/2 1/2 1/2 1/2 1/2 1/2 1/2 1/2", "b 3/4 3/4 3/4 3/4 3/4 3/4 3/4 3/4")
	r := rand.New(rand.NewPCG(3, 5))
	draw := func() []genotype {
		g := make([]genotype, len(p.Frequency))
		for k := range g {
			g[k] = genotype{int16(r.IntN(4)), int16(r.IntN(4))}
		}
		return g
	}
	chick := func(a, b []genotype) []genotype {
		g := make([]genotype, len(a))
		for k := range g {
			g[k] = genotype{a[k][r.IntN(2)], b[k][r.IntN(2)]}
		}
		return g
	}
	kin := []struct {
		as   Sharing
		pair func() ([]genotype, []genotype)
	}{
		{Unrelated, func() ([]genotype, []genotype) { return draw(), draw() }},
		{HalfSiblings, func() ([]genotype, []genotype) { a := draw(); return chick(a, draw()), chick(a, draw()) }},
		{FullSiblings, func() ([]genotype, []genotype) { a, b := draw(), draw(); return chick(a, b), chick(a, b) }},
		{ParentAndChick, func() ([]genotype, []genotype) { a := draw(); return a, chick(a, draw()) }},
	}
	const pairs = 2000
	for _, right := range kin {
		sums, squares, drawn, kinship := map[Sharing]float64{}, map[Sharing]float64{}, map[Sharing]float64{}, 0.0
		for range pairs {
			p.found["x"], p.found["y"] = right.pair()
			for _, s := range kin {
				l := p.Pair("x", "y", 0.001).LogLikelihood(s.as)
				sums[s.as] += l / pairs
				squares[s.as] += l * l / pairs
				drawn[s.as] += p.Draw(r, right.as, 0.001).LogLikelihood(s.as) / pairs
			}
			kinship += p.Pair("x", "y", 0.001).Sharing().Kinship() / pairs
		}
		for _, s := range kin {
			if s.as != right.as {
				assert.Greater(t, sums[right.as], sums[s.as], "%v as %v", right.as, s.as)
			}
			sd := math.Sqrt(2 * (squares[s.as] - sums[s.as]*sums[s.as]) / pairs) // of the difference of two means
			assert.InDelta(t, sums[s.as], drawn[s.as], 4*sd+0.05, "Draw draws as Mendel does: %v as %v", right.as, s.as)
		}
		assert.InDelta(t, right.as.Kinship(), kinship, 0.06, "%v", right.as)
		assert.GreaterOrEqual(t, kinship, right.as.Kinship()-0.01, "%v", right.as)
	}
}

// TestLikeliestSharing: no sharing on a grid is likelier, and pairs without a marker or
// alike at all of them have what they must.
func TestLikeliestSharing(t *testing.T) {
	p := panel(t, "a 1/1 1/2 3/4 1/2 2/2 3/3", "b 1/2 1/2 1/3 3/4 2/2 -", "c 1/3 2/4 1/1 2/2 1/4 1/2", "d 1/1 1/2 3/4 1/2 2/2 3/3")
	for _, pair := range []Pair{p.Pair("a", "b", 0.01), p.Pair("a", "c", 0.01), p.Pair("b", "c", 0.01)} {
		best := pair.LogLikelihood(pair.Sharing())
		for i := 0.0; i <= 1; i += 0.02 {
			for j := 0.0; i+j <= 1; j += 0.02 {
				require.LessOrEqual(t, pair.LogLikelihood(Sharing{1 - i - j, i, j}), best+1e-6)
			}
		}
	}
	assert.InDelta(t, 0.5, p.Pair("a", "d", 0.01).Sharing().Kinship(), 1e-3, "one bird under two ids")
	assert.Equal(t, 5, p.Pair("a", "b", 0.01).Compared())
	assert.Equal(t, Unrelated, p.Pair("a", "nobody", 0.01).Sharing())
	assert.Zero(t, p.Pair("a", "nobody", 0.01).LogLikelihood(SameBird))
}

// BenchmarkPair compares two birds at 20 markers in four ways.
func BenchmarkPair(b *testing.B) {
	p := &Panel{found: map[string][]genotype{}}
	for k := range 20 {
		p.Frequency = append(p.Frequency, []float64{0.2, 0.2, 0.2, 0.2, 0.2})
		p.found["a"] = append(p.found["a"], genotype{int16(k % 5), int16((k + 1) % 5)})
		p.found["b"] = append(p.found["b"], genotype{int16(k % 3), int16((k + 2) % 5)})
	}
	for b.Loop() {
		pair := p.Pair("a", "b", 0.01)
		for _, s := range []Sharing{HalfSiblings, FullSiblings, ParentAndChick, SameBird} {
			pair.LogLikelihood(s)
		}
	}
}
