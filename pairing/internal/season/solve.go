package season

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
)

// Solution is the best plan found, and what is proven of the best there is.
type Solution struct {
	Plan   []Brood // by option
	Chicks int     // of the plan; fewer than wanted where no plan found has more
	// MostCertain is false if there might be a plan with more of the chicks
	// wanted: the search for one ended before it had tried everything.
	MostCertain bool

	// GeneDiversity is that of the living and the plan's chicks together, and
	// Bound the most that any plan with as many chicks can have; both are
	// undefined without chicks.
	GeneDiversity, Bound float64
	Proven               bool // no plan is better, but for rounding; Bound is then GeneDiversity
}

// provenGap is the difference in gene diversity that rounding can make.
const provenGap = 1e-12

// slightGap is the difference in gene diversity below which the search for a
// better plan ends early: it cannot be seen in any figure that is printed.
const slightGap = 2e-6

// Budget is how much work a search may do, in arcs and entries looked at: the
// same on every machine, about a second on one of 2020.
const Budget = 150_000_000

// Solve finds the plan with the most of the chicks wanted, and of such plans
// the one that keeps the most gene diversity: exactly where branch and bound
// can exhaust the plans within the budget, as for a colony, else the best of
// exchange search and an incomplete tree. The error is ctx's.
func (s *Problem) Solve(ctx context.Context, budget int) (Solution, error) {
	q := *s
	start, certain, err := q.most(ctx)
	if err != nil {
		return Solution{}, err
	}
	q.Chicks = count(start)
	after := float64(q.Living + q.Chicks)
	q.slight = slightGap * after * after
	best, err := q.solve(ctx, [][]Brood{start}, 0, budget)
	if err != nil {
		return Solution{}, err
	}
	out := Solution{Plan: best.plan, Chicks: q.Chicks, MostCertain: certain, Proven: true}
	if q.Chicks > 0 {
		out.GeneDiversity = q.geneDiversity(best.value, q.Chicks)
		out.Bound = max(out.GeneDiversity, q.geneDiversity(best.bound, q.Chicks))
		if out.Proven = best.proven || out.Bound-out.GeneDiversity <= provenGap; out.Proven {
			out.Bound = out.GeneDiversity
		}
	}
	return out, nil
}

// Chance is what chance would do with a season under its limits: every chick
// goes to one of all the options that may still hatch one.
type Chance struct {
	Mean, StdErr float64 // of gene diversity; undefined without draws, StdErr with one too
	Draws        int     // plans drawn that have all the chicks
}

// Chance draws plans at random. Birds move only if the chicks cannot be had
// without.
func (s *Problem) Chance(draws int, seed uint64) Chance {
	var out Chance
	if s.Chicks == 0 {
		return out
	}
	if count(s.inPlace()) == s.Chicks {
		s = s.withoutMoves()
	}
	random := rand.New(rand.NewPCG(seed, 0x706c616e))
	squares := 0.0
	for tries := 0; out.Draws < draws && tries < 2*draws; tries++ {
		d := s.drawn(random)
		if d == nil {
			continue
		}
		gd := s.geneDiversity(d.value, s.Chicks)
		out.Draws++
		// Deviations from the mean so far (Welford 1962).
		delta := gd - out.Mean
		out.Mean += delta / float64(out.Draws)
		squares += delta * (gd - out.Mean)
	}
	if n := float64(out.Draws); n > 1 {
		out.StdErr = math.Sqrt(squares / (n - 1) / n)
	}
	return out
}

// drawn returns a plan drawn by chance, nil if it got stuck before it had the
// chicks: each chick goes to one of the options that may still hatch one, each
// alike. An option that may not will never again, so it is dropped when met.
func (s *Problem) drawn(random *rand.Rand) *draft {
	d := newDraft(s, nil)
	left := make([]int, len(s.Options))
	for i := range left {
		left[i] = i
	}
	for range s.Chicks {
		for {
			if len(left) == 0 {
				return nil
			}
			k := random.IntN(len(left))
			if d.free(-1, left[k], 1) {
				d.change(-1, left[k], 1)
				break
			}
			left[k] = left[len(left)-1]
			left = left[:len(left)-1]
		}
	}
	return d
}

// Exchange returns by how much gene diversity would fall if one chick of a plan
// were hatched by one of some options instead, the chick that is given up at
// the least cost; ok is false if no such exchange keeps the limits.
func (s *Problem) Exchange(plan []Brood, by func(o *Option) bool) (loss float64, ok bool) {
	d := newDraft(s, plan)
	least := math.Inf(1)
	for i := range s.Options {
		if !by(&s.Options[i]) {
			continue
		}
		for k := range d.plan {
			if d.plan[k].Option != i && d.free(k, i, 1) {
				least = min(least, d.delta(k, i, 1))
			}
		}
	}
	n := float64(s.Living + count(plan))
	return least / (n * n), !math.IsInf(least, 1)
}

// Full returns the places where chicks could hatch and whose room a plan uses
// up.
func (s *Problem) Full(plan []Brood) []int {
	u := newUsage(s)
	for _, b := range plan {
		u.add(&s.Options[b.Option], b.Chicks, 1)
	}
	var full []int
	for p, r := range s.Rooms {
		if r.Birds >= 0 && u.taken[p].Birds >= r.Birds &&
			slices.ContainsFunc(s.Options, func(o Option) bool { return o.Place == p }) {
			full = append(full, p)
		}
	}
	return full
}
