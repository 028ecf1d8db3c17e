package broods

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestExpectInTurn counts every outcome of small broods, one by one.
func TestExpectInTurn(t *testing.T) {
	p := &Problem{Pairs: []Pair{{Chance: 0.5, Most: 2}, {Chance: 0.8, Most: 1}, {Chance: 0.3, Most: 2}, {Chance: 0.6, Most: 1}}}
	broods := []int{2, 1, 2, 1}
	for _, reserves := range [][]int{nil, {1}, {3, 1}, {2, 0, 1}} {
		for wanted := range 6 {
			var follow func(order []int, sum int) float64
			follow = func(order []int, sum int) float64 {
				if len(order) == 0 {
					return float64(sum)
				}
				i := order[0]
				if slices.Contains(reserves, i) && sum >= wanted {
					return follow(order[1:], sum)
				}
				mean := 0.0
				for n, chance := range Binomial(broods[i], p.Pairs[i].Chance) {
					mean += chance * follow(order[1:], sum+n)
				}
				return mean
			}
			var order []int
			for i := range broods {
				if !slices.Contains(reserves, i) {
					order = append(order, i)
				}
			}
			assert.InDelta(t, follow(append(order, reserves...), 0), p.ExpectInTurn(broods, reserves, wanted), 1e-12, "%v %d", reserves, wanted)
		}
	}
}
