package pedigree

import (
	"fmt"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"
)

// The published ways to F of every animal, written from their papers (recalled, not
// read again) for animals of which no parent stands behind its chick and none is
// uncertain: what libraries for statistics do, on the same machine and in the same
// language. All are of
//
//	a_ij = Σ_k t_ik t_jk d_k,  1 + F_i = a_ii,  d_k = ½ − ¼(F_s + F_d)
//
// with F of −1 for a parent that nobody knows.
var peers = []struct {
	name string
	f    func(sire, dam []int32) []float64
}{
	{"Meuwissen & Luo 1992", meuwissenLuo},
	{"Sargolzaei & Iwaisaki 2005", sargolzaeiIwaisaki},
	{"Colleau 2002, by sires", colleauBySires},
}

// sampled returns d of an animal from F of its parents.
func sampled(sire, dam int32, f []float64) float64 {
	d := 1.0
	for _, parent := range [2]int32{sire, dam} {
		if parent >= 0 {
			d -= 0.25 * (1 + f[parent])
		}
	}
	return d
}

// oneByOne returns F of each animal from a walk over its ancestors, which gives a_ii
// from d of these; one of full siblings in a row walks for all.
func oneByOne(sire, dam []int32, walk func(i int32, d []float64) float64) []float64 {
	f, d := make([]float64, len(sire)), make([]float64, len(sire))
	for i := range sire {
		d[i] = sampled(sire[i], dam[i], f)
		switch {
		case sire[i] < 0 || dam[i] < 0:
		case i > 0 && sire[i] == sire[i-1] && dam[i] == dam[i-1]:
			f[i] = f[i-1]
		default:
			f[i] = walk(int32(i), d) - 1
		}
	}
	return f
}

// meuwissenLuo walks from each animal over its ancestors, the youngest first, in a
// list that is kept in order (Meuwissen THE, Luo Z 1992, Genet Sel Evol 24:305-313).
func meuwissenLuo(sire, dam []int32) []float64 {
	t := make([]float64, len(sire))
	elder := make([]int32, len(sire)) // the next of the list
	return oneByOne(sire, dam, func(i int32, d []float64) (sum float64) {
		t[i], elder[i] = 1, -1
		for j := i; j >= 0; j = elder[j] {
			for _, parent := range [2]int32{sire[j], dam[j]} {
				if parent < 0 {
					continue
				}
				if t[parent] == 0 {
					at := j
					for elder[at] > parent {
						at = elder[at]
					}
					elder[parent], elder[at] = elder[at], parent
				}
				t[parent] += t[j] / 2
			}
			sum += t[j] * t[j] * d[j]
			t[j] = 0
		}
		return sum
	})
}

// longestPaths returns the longest path of each animal to a founder, so that a parent
// has a shorter one than its chicks.
func longestPaths(sire, dam []int32) (longest []int32, most int32) {
	longest = make([]int32, len(sire))
	for i := range sire {
		for _, parent := range [2]int32{sire[i], dam[i]} {
			if parent >= 0 {
				longest[i] = max(longest[i], longest[parent]+1)
			}
		}
		most = max(most, longest[i])
	}
	return longest, most
}

// sargolzaeiIwaisaki is meuwissenLuo with the ancestors in heaps by their longest
// paths, which need no order within (Sargolzaei M, Iwaisaki H 2005, Anim Sci J
// 76:401-406).
func sargolzaeiIwaisaki(sire, dam []int32) []float64 {
	t := make([]float64, len(sire))
	longest, most := longestPaths(sire, dam)
	heaps := make([][]int32, most+1)
	return oneByOne(sire, dam, func(i int32, d []float64) (sum float64) {
		t[i] = 1
		heaps[longest[i]] = append(heaps[longest[i]], i)
		for path := longest[i]; path >= 0; path-- {
			for _, j := range heaps[path] {
				for _, parent := range [2]int32{sire[j], dam[j]} {
					if parent < 0 {
						continue
					}
					if t[parent] == 0 {
						heaps[longest[parent]] = append(heaps[longest[parent]], parent)
					}
					t[parent] += t[j] / 2
				}
				sum += t[j] * t[j] * d[j]
				t[j] = 0
			}
			heaps[path] = heaps[path][:0]
		}
		return sum
	})
}

// colleauBySires takes the chicks of one sire together: up from it over its ancestors,
// and down to its mates over theirs; twice F is the relationship of the two (Colleau
// JJ 2002, Genet Sel Evol 34:409-421; by sires Sargolzaei M, Iwaisaki H, Colleau JJ
// 2005, J Anim Breed Genet 122:325-331).
func colleauBySires(sire, dam []int32) []float64 {
	n := len(sire)
	f, d, up, down := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	seen := make([]int32, n) // the last walk that has been down to it
	longest, most := longestPaths(sire, dam)
	byPath, heaps := make([][]int32, most+1), make([][]int32, most+1)
	for i := range n {
		byPath[longest[i]] = append(byPath[longest[i]], int32(i))
	}
	var walk int32
	var todo []int32
	for _, chicks := range byPath { // F of all parents of these is known
		bySire, sires := map[int32][]int32{}, []int32{}
		for _, i := range chicks {
			d[i] = sampled(sire[i], dam[i], f)
			if s := sire[i]; s >= 0 && dam[i] >= 0 {
				if bySire[s] == nil {
					sires = append(sires, s)
				}
				bySire[s] = append(bySire[s], i)
			}
		}
		for _, s := range sires {
			var ancestors []int32
			up[s] = 1
			heaps[longest[s]] = append(heaps[longest[s]], s)
			for path := longest[s]; path >= 0; path-- {
				for _, j := range heaps[path] {
					for _, parent := range [2]int32{sire[j], dam[j]} {
						if parent < 0 {
							continue
						}
						if up[parent] == 0 {
							heaps[longest[parent]] = append(heaps[longest[parent]], parent)
						}
						up[parent] += up[j] / 2
					}
					ancestors = append(ancestors, j)
				}
				heaps[path] = heaps[path][:0]
			}
			walk++
			for _, i := range bySire[s] {
				for todo = append(todo, dam[i]); len(todo) > 0; {
					j, waits := todo[len(todo)-1], false
					for _, parent := range [2]int32{sire[j], dam[j]} {
						if parent >= 0 && seen[parent] != walk {
							todo, waits = append(todo, parent), true
						}
					}
					if waits {
						continue
					}
					todo = todo[:len(todo)-1]
					seen[j], down[j] = walk, up[j]*d[j]
					for _, parent := range [2]int32{sire[j], dam[j]} {
						if parent >= 0 {
							down[j] += down[parent] / 2
						}
					}
				}
				f[i] = down[dam[i]] / 2
			}
			for _, j := range ancestors {
				up[j] = 0
			}
		}
	}
	return f
}

// numbered returns the parents of the animals of a shape, by number, -1 for one that
// nobody knows.
func numbered(n int, parents func(r *splitmix, n, i int) (sire, dam, year int)) (sire, dam []int32) {
	r := splitmix(1)
	for i := range n {
		s, d, _ := parents(&r, n, i)
		sire, dam = append(sire, int32(s)), append(dam, int32(d))
	}
	return sire, dam
}

// TestShapesAgainstPublishedWays: in every shape F is what each published way gives.
func TestShapesAgainstPublishedWays(t *testing.T) {
	for _, shape := range shapes {
		const n = 800
		p := build(t, shaped(n, shape.parents), nil)
		sire, dam := numbered(n, shape.parents)
		inbred := 0
		for _, peer := range peers {
			for i, f := range peer.f(sire, dam) {
				require.InDelta(t, f, p.self[node(t, p, fmt.Sprintf("%07d", i))]-1, exact, "%s: %s of %d", peer.name, shape.name, i)
				if f > 0 {
					inbred++
				}
			}
		}
		require.Equal(t, shape.name != "line", inbred > 0, shape.name)
	}
}

// BenchmarkPeers has F of every bird beside the published ways to it, on one core.
func BenchmarkPeers(b *testing.B) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	sizes := []int{10_000, 30_000}
	if *long {
		sizes = append(sizes, 100_000)
	}
	for _, shape := range shapes {
		for _, n := range sizes {
			p := build(b, shaped(n, shape.parents), nil)
			sire, dam := numbered(n, shape.parents)
			b.Run(fmt.Sprintf("%s/%d/here", shape.name, n), func(b *testing.B) {
				for b.Loop() {
					require.NoError(b, p.inbreeding(b.Context()))
				}
			})
			for _, peer := range peers {
				b.Run(fmt.Sprintf("%s/%d/%s", shape.name, n, peer.name), func(b *testing.B) {
					for b.Loop() {
						peer.f(sire, dam)
					}
				})
			}
		}
	}
}
