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
	const n = 10_000 // more words than are looked at together
	r := rand.New(rand.NewPCG(20, 26))
	s := newSet(n)
	for range 200 {
		founders := int32(r.IntN(n))
		var want []int32
		reached := map[int32]uint64{}
		add := func(i int32, mark uint64) {
			s.add(i, mark)
			want = append(want, i)
			reached[i] |= mark
		}
		for range r.IntN(300) {
			add(int32(r.IntN(n)), uint64(r.IntN(2)))
		}
		// Half of them bring in one that is lower, while they are run through.
		var down []int32
		for i := s.below(n); i >= 0; i = s.below(i) {
			down = append(down, i)
			if i%2 == 0 && i > 0 {
				add(i/3, s.reached(i))
			}
		}
		slices.Sort(want)
		want = slices.Compact(want)
		slices.Reverse(want)
		assert.Equal(t, want, down)
		for _, i := range want {
			assert.Equal(t, reached[i], s.reached(i))
		}

		want = slices.DeleteFunc(want, func(i int32) bool { return i < founders && reached[i] == 0 })
		others := 0
		for _, i := range want {
			others += 1 - int(reached[i])
		}
		assert.Equal(t, len(want)+1, s.number(int(founders), others))
		next := [2]int32{1, int32(1 + others)}
		for _, i := range want {
			assert.Equal(t, next[reached[i]], s.place(i))
			next[reached[i]]++
		}
		for range 100 {
			if i := int32(r.IntN(n)); !slices.Contains(want, i) {
				assert.Zero(t, s.place(i))
			}
		}
		s.clear()
		assert.Equal(t, int32(-1), s.below(n))
	}
}
