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
	// Loss is what the others lose without each mate, W(without i) − W(without
	// i and j): what a pair that is not allowed would have to be worth.
	Loss []float64
	// Otherwise is whom each mate would be paired with if the bird were not
	// there; −1 if nobody.
	Otherwise []int
	// Worth is W − W(without i): what the sum loses without the bird.
	Worth float64
}

// OfItsMale returns what Gains has of the male that the answer pairs a female with,
// without that of all others: its net gain is W − W(without her), since the best that the
// others do without both is the rest of the answer.
func (a *Answer) OfItsMale(f int) (net float64, otherwise int) {
	c := a.plain.clone()
	return c.females.own(&c.males, f)
}

// OfItsFemale returns what Gains has of the female that the answer pairs a male with.
func (a *Answer) OfItsFemale(m int) (net float64, otherwise int) {
	c := a.plain.clone()
	return c.males.own(&c.females, m)
}

// own takes a bird out of its side and returns what the sum falls by and whom its mate is
// paired with then.
func (s *side) own(other *side, bird int) (fall float64, otherwise int) {
	mate := s.mate[bird]
	fall = s.leave(other, bird)
	return fall, other.mate[mate]
}

// leave takes a bird out of its side and returns what the sum falls by.
func (s *side) leave(other *side, bird int) float64 {
	fall := s.price[bird]
	if j := s.mate[bird]; j >= 0 {
		s.mate[bird], other.mate[j] = -1, -1
		if price := other.price[j]; price > 0 {
			other.enter(s, j, bird)
			fall += price - other.price[j]
		}
	}
	s.price[bird] = 0
	return fall
}

// OfFemale returns what each male would be worth to a female.
func (a *Answer) OfFemale(f int) Gains {
	if s := &a.plain.females; s.mate[f] < 0 {
		return s.spare(&a.plain.males, f, a.losses[0]())
	}
	c := a.plain.clone()
	return gains(&c.females, &c.males, f)
}

// OfMale returns what each female would be worth to a male.
func (a *Answer) OfMale(m int) Gains {
	if s := &a.plain.males; s.mate[m] < 0 {
		return s.spare(&a.plain.females, m, a.losses[1]())
	}
	c := a.plain.clone()
	return gains(&c.males, &c.females, m)
}

// gains takes a bird out of one side and tells what each of the others would
// cost the rest.
func gains(s, other *side, bird int) Gains {
	own := s.mate[bird]
	fall := s.leave(other, bird)
	out := s.spare(other, bird, s.losses(other, bird))
	out.Worth = fall
	if own >= 0 { // as OfItsMale has it, to the last digit
		out.Net[own], out.Loss[own] = fall, s.value[bird][own]-fall
	}
	return out
}

// spare tells what each of the others would cost the rest as a mate for an unpaired
// bird: loss is what losses gives, which is the same for all such.
func (s *side) spare(other *side, bird int, loss []float64) Gains {
	out := Gains{
		Net:       make([]float64, len(other.mate)),
		Loss:      make([]float64, len(other.mate)),
		Otherwise: other.mate,
	}
	for j, value := range s.value[bird] {
		out.Loss[j] = other.price[j]
		if i := other.mate[j]; i >= 0 {
			out.Loss[j] += loss[i]
		}
		if out.Net[j] = value - out.Loss[j]; math.IsInf(value, -1) {
			out.Net[j] = value
		}
	}
	return out
}

// JoinAtMost returns what Join of two birds that are not to be a pair is at most, but
// for rounding: the prices prove it, and it takes no search.
func (a *Answer) JoinAtMost(female, male []float64) float64 {
	return a.plain.males.beyond(female) + a.plain.females.beyond(male)
}

// beyond returns by how much a bird's values with those of this side exceed their
// prices at most, 0 or more.
func (s *side) beyond(values []float64) float64 {
	most := 0.0
	price := s.price[:len(values)]
	for j, value := range values {
		if v := value - price[j]; v > most { // not max: see enter
			most = v
		}
	}
	return most
}

// Join returns what the sum of adjusted values gains if a female and a male more
// are there to be paired, with anybody: female holds her value with each male,
// male his with each female, together that of the two. nil: not there.
func (a *Answer) Join(female, male []float64, together float64) float64 {
	f, m := len(a.plain.females.mate), len(a.plain.males.mate)
	c, made := a.wider.Get().(*assignment)
	if !made {
		c = a.widen()
	}
	defer a.wider.Put(c)
	value := func(of []float64, k int) float64 {
		if of == nil {
			return math.Inf(-1)
		}
		return of[k]
	}
	for i := range f {
		c.set(i, m, value(male, i))
	}
	for j := range m {
		c.set(f, j, value(female, j))
	}
	if c.set(f, m, math.Inf(-1)); female != nil && male != nil {
		c.set(f, m, together)
	}
	for _, x := range [2]struct{ to, from *side }{{&c.females, &a.plain.females}, {&c.males, &a.plain.males}} {
		n := copy(x.to.price, x.from.price)
		copy(x.to.mate, x.from.mate)
		x.to.price[n], x.to.mate[n] = 0, -1
	}
	// As solve has it: what the males there are leave each female is the same for every
	// one that joins, whose price is 0.
	for i, least := range a.least() {
		c.females.price[i] = max(least, value(male, i))
	}
	c.females.price[f] = c.males.beyond(c.females.value[f])
	c.pair(0)
	return max(0, c.total()-a.plain.total())
}

// widen returns an assignment with the values of the answer and room for a female and a
// male more.
func (a *Answer) widen() *assignment {
	f, m := len(a.plain.females.mate), len(a.plain.males.mate)
	c := newAssignment(f+1, m+1)
	for i := range f {
		copy(c.females.value[i], a.plain.females.value[i])
	}
	for j := range m {
		copy(c.males.value[j], a.plain.males.value[j])
	}
	return c
}
