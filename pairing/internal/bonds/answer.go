package bonds

import (
	"math"
	"sync"
)

// answer makes an Answer of what was found.
func (s *search) answer() (*Answer, error) {
	p := s.p
	out := &Answer{Mate: make([]int, len(s.charged))}
	for f := range out.Mate {
		out.Mate[f] = -1
	}
	for _, pair := range s.plan {
		if pair.Mover == atHome {
			pair.Mover = 0
		}
		if pair.Mover != 0 {
			out.Moves++
		}
		out.Pairs = append(out.Pairs, pair)
		out.Mate[pair.Female] = pair.Male
		out.Sum += p.Value[pair.Female][pair.Male]
	}
	out.Bound = out.Sum + max(0, s.bound-s.best)
	if out.Proven = out.Bound-out.Sum <= 1e-9*s.scale; out.Proven {
		out.Bound = out.Sum
	}
	n := len(p.Rooms)
	for place := range n {
		out.Prices.Females = append(out.Prices.Females, s.price[place*kinds+females])
		out.Prices.Males = append(out.Prices.Males, s.price[place*kinds+males])
		out.Prices.Birds = append(out.Prices.Birds, s.price[place*kinds+birds])
	}
	out.Prices.Moves = s.price[n*kinds]
	if !p.PairsAlone {
		s.adjust(out)
	}
	return out, s.ctx.Err()
}

// adjust fills in the adjusted values.
func (s *search) adjust(out *Answer) {
	p := s.p
	plain := newAssignment(len(s.charged), p.males())
	costs := p.costs(s.price)
	none := make([]int, len(s.limits.most))
	out.charge = func(f, m int, ways Ways) float64 {
		for _, way := range [2]Ways{FemaleMoves, MaleMoves} {
			if !p.room(none, s.limits.most, f, m, way) {
				ways &^= way
			}
		}
		if ways&^RatherMale == 0 {
			return math.Inf(1)
		}
		_, cost := costs.cheapest(p, f, m, ways)
		return p.LeastGain + cost
	}
	for f := range s.charged {
		for m, v := range s.charged[f] {
			if ways := p.ways(f, m); ways != 0 {
				_, cost := costs.cheapest(p, f, m, ways)
				v -= cost
			}
			plain.set(f, m, v)
		}
	}
	total := 0.0
	for _, pair := range out.Pairs {
		f, m := pair.Female, pair.Male
		if pair.Mover != 0 {
			plain.set(f, m, s.charged[f][m]-costs.of(p, f, m, pair.Mover))
		}
		total += plain.females.value[f][m]
	}
	plain.solve(0)
	if plain.total() > total+1e-9*s.scale {
		s.lower(out, plain)
	}
	for _, pair := range out.Pairs {
		if f, m := pair.Female, pair.Male; pair.Mover != 0 {
			plain.set(f, m, plain.females.value[f][m]+p.LeastGain)
		}
	}
	plain.solve(s.close)
	out.Adjusted = plain.females.value
	// Of equal choices the assignment may have met another; the prices prove
	// either.
	for i := range plain.females.mate {
		plain.females.mate[i] = -1
	}
	for j := range plain.males.mate {
		plain.males.mate[j] = -1
	}
	for _, pair := range out.Pairs {
		plain.females.mate[pair.Female], plain.males.mate[pair.Male] = pair.Male, pair.Female
	}
	out.plain = plain
	out.least = sync.OnceValue(func() []float64 {
		least := make([]float64, len(plain.females.value))
		for f, row := range plain.females.value {
			least[f] = plain.males.beyond(row)
		}
		return least
	})
	// An unpaired bird is on no other's path, so it need not be skipped.
	out.losses = [2]func() []float64{
		sync.OnceValue(func() []float64 { return plain.females.losses(&plain.males, -1) }),
		sync.OnceValue(func() []float64 { return plain.males.losses(&plain.females, -1) }),
	}
}

// lower makes the pairs of the answer the best where no prices do: with the
// pairs at home and their own moves alone they are; other moves are lowered to
// what their birds would lose.
func (s *search) lower(out *Answer, plain *assignment) {
	p := s.p
	inside := newAssignment(len(s.charged), p.males())
	for f := range s.charged {
		for m := range s.charged[f] {
			v := math.Inf(-1)
			if p.ways(f, m) == atHome {
				v = s.charged[f][m]
			}
			inside.set(f, m, v)
		}
	}
	for _, pair := range out.Pairs {
		inside.set(pair.Female, pair.Male, s.charged[pair.Female][pair.Male])
	}
	inside.solve(0)
	for f := range s.charged {
		for m := range s.charged[f] {
			v := inside.females.value[f][m]
			if math.IsInf(v, -1) {
				v = min(plain.females.value[f][m], inside.females.price[f]+inside.males.price[m])
			}
			plain.set(f, m, v)
		}
	}
}
