package pedigree

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestSetOfNodes: a set that is used again and again is run through, numbered and asked
// as a sorted list would be.
func TestSetOfNodes(t *testing.T) {
	const n = 10_000 // more words than one tells of
	r := rand.New(rand.NewPCG(20, 26))
	s := newSet(n)
	for range 200 {
		var want []int32
		for range r.IntN(300) {
			i := int32(r.IntN(n))
			s.add(i)
			want = append(want, i)
		}
		// Half of them bring in one that is lower, while they are run through.
		s.down(func(i int32) {
			if i%2 == 0 && i > 0 {
				s.add(i / 3)
				want = append(want, i/3)
			}
		})
		slices.Sort(want)
		want = slices.Compact(want)

		var up, down []int32
		s.up(func(i int32) { up = append(up, i) })
		s.down(func(i int32) { down = append(down, i) })
		slices.Reverse(down)
		assert.Equal(t, want, up)
		assert.Equal(t, want, down)
		assert.Equal(t, len(want), s.number())
		for range 100 {
			i := int32(r.IntN(n))
			rank, there := slices.BinarySearch(want, i)
			assert.Equal(t, there, s.has(i))
			if there {
				assert.Equal(t, rank, s.rank(i))
			}
		}
		for rank, i := range want {
			assert.Equal(t, rank, s.rank(i))
		}
		s.clear()
	}
}
