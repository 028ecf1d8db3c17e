package broods

import "fmt"

// Problem is the choice of a season's broods in plain numbers. With living birds
// of weights w (all 1, or their worth to the future), S = Σ_i Σ_j w_i w_j f_ij,
// and k_p chicks of weight 1 for each pair p = (i,j), the sum of all kinships
// among the living and the chicks is
//
//	S' = S + Σ_p k_p·Cost_p + Σ_p Σ_q k_p k_q·Kinship_pq
//
//	Cost_p     = c_i + c_j,  c_b = Σ_x w_x f_bx + (1−F_b)/8
//	Kinship_pq = (f_iu + f_iv + f_ju + f_jv)/4,  q = (u,v), of p with itself too
//
// since f_bb = (1+F_b)/2, so that what a chick has with itself beyond a full
// sibling is the (1−F)/8 of its two parents. The broods with the least S' for a
// given number of chicks keep the most gene diversity, 1 − S'/(Σw+Σk)². It is a
// convex quadratic (optimum contributions: Meuwissen 1997, J Anim Sci
// 75:934-940; Caballero & Toro 2000, Genet Res 75:331-343).
type Problem struct {
	Total float64 // Σw, the number of living birds if all have weight 1
	Sum   float64 // S

	Pairs   []Pair
	Kinship [][]float64 // of chicks of one pair with chicks of another, symmetric
	Rooms   []int       // most chicks at each place, -1 without limit; nil: no limits

	Chicks int // wanted
	// Start is a choice of broods that is already known, if not nil: that of
	// the same season with tighter limits, so that more room is never worse.
	// What of it exceeds the limits is left out.
	Start []int
}

// Pair is two birds whose eggs may hatch.
type Pair struct {
	Cost  float64 // its chicks' part of S' that is linear: see Problem
	Price float64 // of each chick, in units of S'; 0 for none
	// Chance that a chick planned for the pair hatches, 0 to 1.
	Chance float64
	// Least and Most chicks. Where the least of all pairs are more than are
	// wanted or than a place has room for, they count none the less.
	Least, Most int
	Place       int // in Rooms
}

// check panics where the parts of a problem do not fit together.
func (p *Problem) check() {
	if len(p.Kinship) != len(p.Pairs) {
		panic("broods: kinships are not those of the pairs")
	}
	for i, x := range p.Pairs {
		if x.Least < 0 || x.Most < x.Least || p.Rooms != nil && (x.Place < 0 || x.Place >= len(p.Rooms)) {
			panic(fmt.Sprintf("broods: pair %d has impossible limits", i))
		}
	}
}

// total returns the number of chicks.
func total(broods []int) int {
	n := 0
	for _, k := range broods {
		n += k
	}
	return n
}

// Value returns S' of some broods, prices apart.
func (p *Problem) Value(broods []int) float64 {
	sum := p.Sum
	for i, k := range broods {
		if k == 0 {
			continue
		}
		sum += float64(k) * p.Pairs[i].Cost
		for j, l := range broods {
			if l != 0 {
				sum += float64(k*l) * p.Kinship[i][j]
			}
		}
	}
	return sum
}

// GeneDiversity returns 1 − S'/(Σw+Σk)² of some broods. It is undefined where
// nothing has weight.
func (p *Problem) GeneDiversity(broods []int) float64 {
	n := p.Total + float64(total(broods))
	return 1 - p.Value(broods)/(n*n)
}

// prices returns what some broods cost at their prices.
func (p *Problem) prices(broods []int) float64 {
	sum := 0.0
	for i, k := range broods {
		sum += float64(k) * p.Pairs[i].Price
	}
	return sum
}
