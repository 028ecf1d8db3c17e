package pedigree

import (
	"flag"
	"fmt"
	"math/bits"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"pairwright/pedigree/studbook"
)

// splitmix is the generator splitmix64 (Steele, Lea & Flood 2014).
type splitmix uint64

func (s *splitmix) next() uint64 {
	*s += 0x9E3779B97F4A7C15
	z := uint64(*s)
	z = (z ^ z>>30) * 0xBF58476D1CE4E5B9
	z = (z ^ z>>27) * 0x94D049BB133111EB
	return z ^ z>>31
}

// below returns a number from 0 to n-1.
func (s *splitmix) below(n int) int {
	hi, lo := bits.Mul64(s.next()>>11, uint64(n))
	return int(hi<<11 | lo>>53)
}

// generated returns a large pedigree with overlapping generations, the one on
// which general-purpose libraries were timed: 40 cohorts of equal size, the
// first of founders, one bird in 50 of the others a founder too. Sires of a
// year are 2 % (at least 5) of the males of the four years before, dams any
// females two to seven years older; 1 % of sires are unknown.
func generated(n int, seed uint64) []studbook.Bird {
	const years = 40
	r := splitmix(seed)
	start := make([]int, years+1)
	for y := range start {
		start[y] = n * y / years
	}
	one := func(i int) studbook.Parentage {
		return studbook.Parentage{Candidates: []studbook.Candidate{{ID: strconv.Itoa(i + 1), Weight: 1}}}
	}
	birds := make([]studbook.Bird, n)
	for i := range birds {
		birds[i].ID = strconv.Itoa(i + 1)
	}
	for y := 1; y < years; y++ {
		lo, hi := start[y], start[y+1]
		var males []int
		for i := start[max(0, y-4)]; i < lo; i++ {
			if i%2 == 0 {
				males = append(males, i)
			}
		}
		chosen := map[int]bool{}
		for range max(5, len(males)/50) {
			chosen[males[r.below(len(males))]] = true
		}
		var sires []int
		for _, i := range males {
			if chosen[i] {
				sires = append(sires, i)
			}
		}
		first, last := start[max(0, y-7)], start[max(1, y-1)]
		for i := lo; i < hi; i++ {
			if r.below(50) == 0 {
				continue
			}
			sire := sires[r.below(len(sires))]
			dam := 0
			for dam%2 == 0 {
				dam = first + r.below(last-first)
			}
			birds[i].Dam = one(dam)
			if r.below(100) > 0 {
				birds[i].Sire = one(sire)
			}
		}
	}
	return birds
}

var long = flag.Bool("long", false, "check the pedigree of a million birds and the matrix of 5,000 too")

// Sums over the generated pedigrees as computed in R 4.2.2 by pedigreemm 0.3-5
// (F, all sizes), nadiv 2.18.0 (F to 100,000 birds; kinship), MCMCglmm 2.36 (F,
// 10,000) and kinship2 1.9.6.2 (F, 10,000; kinship), which agree.

func TestGeneratedF(t *testing.T) {
	sizes := []struct {
		n, inbred int
		sum, most float64
	}{
		{10_000, 7130, 208.801583633843, 0.2731661},
		{100_000, 61886, 235.936802925725, 0.2553312},
		{1_000_000, 487865, 238.610948567787, 0.2501479},
	}
	if !*long {
		sizes = sizes[:2]
	}
	for _, c := range sizes {
		birds := generated(c.n, 1)
		p := build(t, birds, nil)
		sum, most, inbred := 0.0, 0.0, 0
		for _, i := range every(t, p, birds) {
			f := p.F(i)
			sum += f
			most = max(most, f)
			if f > 0 {
				inbred++
			}
		}
		assert.InDelta(t, c.sum, sum, 1e-9, "sum of F of %d", c.n)
		assert.InDelta(t, c.most, most, 0.5e-7, "largest F of %d", c.n)
		assert.Equal(t, c.inbred, inbred, "birds with F above 0 of %d", c.n)
	}
}

func TestGeneratedKinship(t *testing.T) {
	for _, c := range []struct {
		n   int
		sum float64
	}{{2000, 143371.259723}, {5000, 888418.365147}} {
		birds := generated(c.n, 1)
		p := build(t, birds, nil)
		all := every(t, p, birds)
		mk, ok := p.Population(all).MeanKinship()
		require.True(t, ok)
		assert.InDelta(t, c.sum, mk*float64(c.n)*float64(c.n), 1e-6, "mean kinship of %d", c.n)
		if c.n > 2000 && !*long {
			continue
		}
		m, err := p.KinshipMatrix(t.Context(), all)
		require.NoError(t, err)
		assert.InDelta(t, c.sum, mat.Sum(m), 1e-6, "matrix of %d", c.n)
	}
}

func every(t testing.TB, p *Pedigree, birds []studbook.Bird) []int {
	list := make([]int, len(birds))
	for k, b := range birds {
		i, ok := p.Index(b.ID)
		if !ok {
			t.Fatalf("there is no bird %q", b.ID)
		}
		list[k] = i
	}
	return list
}

func BenchmarkNew(b *testing.B) {
	for _, n := range []int{1000, 10_000, 100_000, 1_000_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			birds := generated(n, 1)
			b.ReportAllocs()
			for b.Loop() {
				build(b, birds, nil)
			}
		})
	}
}

func BenchmarkInbreeding(b *testing.B) {
	for _, n := range []int{1000, 10_000, 100_000, 1_000_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			p := build(b, generated(n, 1), nil)
			b.ReportAllocs()
			for b.Loop() {
				require.NoError(b, p.inbreeding(b.Context()))
			}
		})
	}
}

func BenchmarkMeanKinship(b *testing.B) {
	for _, n := range []int{1000, 10_000, 100_000, 1_000_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			birds := generated(n, 1)
			p := build(b, birds, nil)
			living := every(b, p, birds[n*3/4:])
			b.ReportAllocs()
			for b.Loop() {
				p.Population(living)
			}
		})
	}
}

func BenchmarkDescendants(b *testing.B) {
	for _, n := range []int{1000, 10_000, 100_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			birds := generated(n, 1)
			p := build(b, birds, nil)
			all := every(b, p, birds)
			living := p.Population(all[n*3/4:])
			b.ReportAllocs()
			for b.Loop() {
				living.Descendants(all)
			}
		})
	}
}

// BenchmarkKinshipMatrix has beside each matrix what it cannot be quicker than on
// one core: writing once to every page of as much fresh memory.
func BenchmarkKinshipMatrix(b *testing.B) {
	for _, n := range []int{1000, 2000, 5000, 10_000} {
		b.Run(fmt.Sprintf("matrix/%d", n), func(b *testing.B) {
			birds := generated(n, 1)
			p := build(b, birds, nil)
			all := every(b, p, birds)
			b.ReportAllocs()
			for b.Loop() {
				_, err := p.KinshipMatrix(b.Context(), all)
				require.NoError(b, err)
			}
		})
		b.Run(fmt.Sprintf("touch/%d", n), func(b *testing.B) {
			for b.Loop() {
				touched = make([]float64, n*(n+1)/2)
				for i := 0; i < len(touched); i += 512 {
					touched[i] = 1
				}
			}
		})
	}
}

var touched []float64
