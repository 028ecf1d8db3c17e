package bonds

import "math"

// Anew is the same birds paired anew with other values.
type Anew struct {
	plain *assignment
	moves func(f, m int) bool
}

// Charge returns what the adjusted value of a pair has less than its value if one of the
// two moves in one of some ways: LeastGain, and the price of the room that it takes; +Inf
// where there never is any.
func (a *Answer) Charge(f, m int, ways Ways) float64 { return a.charge(f, m, ways) }

// PairAnew pairs the birds of an answer by other adjusted values, every move of them
// charged least as it is for a pair that the answer does not have. What each mate is worth
// is then told with the moves of the new pairs not charged, as an answer has its own. It
// begins with the prices and pairs of the answer, which other values that are near change
// little.
func (a *Answer) PairAnew(values [][]float64, moves func(f, m int) bool, least float64) *Anew {
	c := newAssignment(len(a.Mate), len(a.plain.males.mate))
	scale := 0.0
	for f, row := range values {
		for m, v := range row {
			c.set(f, m, v)
			if !math.IsInf(v, -1) {
				scale = max(scale, math.Abs(v))
			}
		}
	}
	for _, s := range [2][2]*side{{&c.females, &a.plain.females}, {&c.males, &a.plain.males}} {
		copy(s[0].price, s[1].price)
		copy(s[0].mate, s[1].mate)
	}
	c.solve(1e-11 * scale)
	for f, m := range c.females.mate {
		if m >= 0 && moves(f, m) {
			c.set(f, m, c.females.value[f][m]+least)
			c.females.price[f] += least
		}
	}
	return &Anew{plain: c, moves: moves}
}

// Mate returns the male of a female, -1 if she is unpaired.
func (a *Anew) Mate(f int) int { return a.plain.females.mate[f] }

// OfFemale returns what each male would be worth to a female.
func (a *Anew) OfFemale(f int) Gains {
	c := a.plain.clone()
	return gains(&c.females, &c.males, f)
}

// OfMale returns what each female would be worth to a male.
func (a *Anew) OfMale(m int) Gains {
	c := a.plain.clone()
	return gains(&c.males, &c.females, m)
}
