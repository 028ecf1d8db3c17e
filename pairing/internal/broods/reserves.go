package broods

import "math"

// Reserves are the pairs that may hatch chicks beside the planned ones, so that
// as many are to be expected as are wanted.
type Reserves struct {
	Broods []int // more chicks that each pair may hatch
	// Order of each pair among the reserves, from 1; 0 if it is none. Of the
	// reserves' chicks Steps is the pair of each, in order.
	Order []int
	Steps []int

	Expected  float64 // chicks of the planned broods and the reserves
	Shortfall float64 // of what is wanted, 0 or more: all pairs together are too few
}

// Reserve adds chicks to planned broods one by one until as many are to be
// expected as are wanted. Next comes always the pair of which an expected chick
// adds least to the expected S' and prices: since the number hatched of k is
// binomial, and e is the number expected of each pair, that is
//
//	Cost_p + Price_p + 2·Σ_q e_q·Kinship_pq + Kinship_pp
//
// Pairs without a chance are passed over. No place is expected to have more
// chicks than it has room for, unless it does by the planned ones alone.
func (p *Problem) Reserve(planned []int, wanted float64) Reserves {
	p.check()
	out := Reserves{Broods: make([]int, len(p.Pairs)), Order: make([]int, len(p.Pairs))}
	meets := make([]float64, len(p.Pairs))
	rooms := p.rooms()
	here := make([]float64, len(rooms))
	expect := func(i int, k float64) {
		e := k * p.Pairs[i].Chance
		out.Expected += e
		for j, f := range p.Kinship[i] {
			meets[j] += e * f
		}
		if rooms != nil {
			here[p.Pairs[i].Place] += e
		}
	}
	for i, k := range planned {
		if k > 0 {
			expect(i, float64(k))
		}
	}
	const rounding = 1e-9
	last := 0
	for out.Expected < wanted-rounding {
		best, least := -1, math.Inf(1)
		for i := range p.Pairs {
			x := &p.Pairs[i]
			if x.Chance <= 0 || planned[i]+out.Broods[i] >= x.Most {
				continue
			}
			if rooms != nil && rooms[x.Place] >= 0 && here[x.Place]+x.Chance > float64(rooms[x.Place])+rounding {
				continue
			}
			if c := x.Cost + x.Price + 2*meets[i] + p.Kinship[i][i]; c < least {
				best, least = i, c
			}
		}
		if best < 0 {
			break
		}
		expect(best, 1)
		out.Broods[best]++
		out.Steps = append(out.Steps, best)
		if out.Order[best] == 0 {
			last++
			out.Order[best] = last
		}
	}
	if short := wanted - out.Expected; short > rounding {
		out.Shortfall = short
	}
	return out
}
