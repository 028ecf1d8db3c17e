package exchange

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
)

// TestTimeline looks at every period, which is the definition.
func TestTimeline(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		periods := make([]period, r.IntN(20))
		for k := range periods {
			p := always(int32(k))
			if r.IntN(4) > 0 {
				p.first = studbook.Day(r.IntN(30))
			}
			if r.IntN(4) > 0 {
				p.last = max(p.first, 0) + studbook.Day(r.IntN(10)) - 1 // one day too early at times
			}
			periods[k] = p
		}
		lines := newTimeline(slices.Clone(periods))
		for first := studbook.Day(-2); first < 45; first++ {
			for _, last := range []studbook.Day{first, first + 3, math.MaxInt32} {
				var want []int32
				for _, p := range periods {
					if p.first <= last && p.last >= first {
						want = append(want, p.of)
					}
				}
				require.Equal(t, want, slices.Sorted(lines.during(first, last)))
			}
		}
	}
}
