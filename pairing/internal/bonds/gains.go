package bonds

import "math"

// Gains are what each bird of the other sex would be worth as a mate of one
// bird.
type Gains struct {
	// Net gain of each mate j for the bird i, in adjusted values:
	//
	//	value(i,j) + W(without i and j) − W(without i)
	//
	// with W the largest sum that the other birds can have: what the pair is
	// worth, less what the mate would do otherwise. −Inf: not allowed. The mate
	// that the answer gives the bird has the largest, and one of at least 0;
	// another may equal it, but for rounding.
	Net []float64
	// Otherwise is whom each mate would be paired with if the bird were not
	// there; −1 if nobody.
	Otherwise []int
	// Worth is W − W(without i): what the sum loses without the bird.
	Worth float64
}

// OfFemale returns what each male would be worth to a female.
func (a *Answer) OfFemale(f int) Gains {
	c := a.plain.clone()
	return gains(&c.females, &c.males, f)
}

// OfMale returns what each female would be worth to a male.
func (a *Answer) OfMale(m int) Gains {
	c := a.plain.clone()
	return gains(&c.males, &c.females, m)
}

// gains takes a bird out of one side and tells what each of the others would
// cost the rest.
func gains(s, other *side, bird int) Gains {
	before := sum(s.price) + sum(other.price)
	if j := s.mate[bird]; j >= 0 {
		s.mate[bird], other.mate[j] = -1, -1
		if other.price[j] > 0 {
			other.enter(s, j, bird)
		}
	}
	s.price[bird] = 0
	out := Gains{
		Net:       make([]float64, len(other.mate)),
		Otherwise: other.mate,
		Worth:     max(0, before-sum(s.price)-sum(other.price)),
	}
	loss := s.losses(other, bird)
	for j, value := range s.value[bird] {
		if math.IsInf(value, -1) {
			out.Net[j] = value
			continue
		}
		out.Net[j] = value - other.price[j]
		if i := other.mate[j]; i >= 0 {
			out.Net[j] -= loss[i]
		}
	}
	return out
}

func sum(x []float64) float64 {
	total := 0.0
	for _, v := range x {
		total += v
	}
	return total
}
