package bonds

import (
	"cmp"
	"context"
	"math"
	"slices"
	"sync"
)

// search finds the pairs with the largest sum within the limits. Limits are
// charged at prices (Lagrange multipliers; Geoffrion 1974, Math Program Study
// 2:82-114), which leaves a plain assignment whose value bounds every choice
// within the limits:
//
//	Σ value ≤ W(value − prices) + Σ price·limit
//
// The prices are improved by subgradient steps (Held, Wolfe & Crowder 1974,
// Math Program 6:62-88); where a gap is left, branch and bound settles moves
// one by one, best bound first.
type search struct {
	p      *Problem
	ctx    context.Context
	limits limits

	charged [][]float64 // value, less LeastGain for a move; −Inf: not allowed
	scale   float64     // largest value
	close   float64     // sums this near are equal

	relaxed *assignment // at the prices of a node
	inside  *assignment // of the pairs at home and those kept, to make whole choices
	kept    []Pair
	home    *assignment // of the pairs at home alone
	ways    [][]Ways    // left in the node, by pair
	fixed   []int       // use of limits by the forced pairs of the node
	use     []int
	slope   []float64

	best      float64 // charged sum
	plan      []Pair
	bound     float64
	price     []float64 // at the root
	work      int
	budget    int
	nextOrder int

	memory *memory // of the matrices
}

// memory is what matrices of a search stand in. That of pairs alone, of which nothing
// is handed on, serves the next one: a forecast makes thousands.
type memory struct {
	numbers []float64
	ways    []Ways
}

var memories = sync.Pool{New: func() any { return new(memory) }}

// matrix takes rows of n off some memory, whatever there is in it.
func matrix[T any](from []T, rows, n int) (of [][]T, rest []T) {
	of = make([][]T, rows)
	for i := range of {
		of[i], from = from[:n:n], from[n:]
	}
	return of, from
}

// budget is how much work a search may do, in entries of matrices looked at:
// the same on every machine, some 0.2 s on one of 2020.
const budget = 60_000_000

// node is a part of the choices.
type node struct {
	settled []settled
	bound   float64
	price   []float64
	order   int // of making, the last tie-break
}

// settled is a way of a pair that is forced, or forbidden.
type settled struct {
	pair   Pair
	forced bool
}

func newSearch(ctx context.Context, p *Problem, budget int) *search {
	f, m := len(p.Value), p.males()
	s := &search{p: p, ctx: ctx, budget: budget, limits: newLimits(p), memory: memories.Get().(*memory)}
	numbers := slices.Grow(s.memory.numbers[:0], 5*f*m)[:5*f*m]
	s.memory.numbers, s.memory.ways = numbers, slices.Grow(s.memory.ways[:0], f*m)[:f*m]
	s.charged, numbers = matrix(numbers, f, m)
	s.relaxed, numbers = assignmentIn(numbers, f, m)
	s.inside, _ = assignmentIn(numbers, f, m)
	s.ways, _ = matrix(s.memory.ways, f, m)
	for i := range s.charged {
		for j := range s.charged[i] {
			v := p.value(i, j)
			if !math.IsInf(v, -1) {
				s.scale = max(s.scale, math.Abs(v))
			}
			s.inside.set(i, j, math.Inf(-1))
			if p.ways(i, j) == atHome {
				s.inside.set(i, j, v)
			} else {
				v -= p.LeastGain
			}
			s.charged[i][j] = v
		}
	}
	s.close = 1e-11 * s.scale
	s.inside.solve(0)
	s.home = s.inside.clone()
	n := len(s.limits.most)
	s.price, s.use, s.fixed, s.slope = make([]float64, n), make([]int, n), make([]int, n), make([]float64, n)
	s.best = -1 // worse than nobody paired
	return s
}

// Steps of the ascent at the root and at other nodes.
const (
	rootSteps = 150
	nodeSteps = 6
)

// run searches until the best choice is proven or the budget is spent.
func (s *search) run() error {
	root := &node{bound: math.Inf(1), price: make([]float64, len(s.price))}
	if err := s.ascend(root, rootSteps); err != nil {
		return err
	}
	s.price = root.price
	s.bound = s.best
	open := []*node{}
	if root.bound > s.best+s.close {
		open = append(open, root)
	}
	for len(open) > 0 && s.work < s.budget {
		k := 0
		for i, n := range open {
			if n.bound > open[k].bound || n.bound == open[k].bound && n.order > open[k].order {
				k = i
			}
		}
		n := open[k]
		open = slices.Delete(open, k, k+1)
		if n.bound <= s.best+s.close {
			continue
		}
		pair, ok := s.branch(n)
		if !ok {
			continue // all that is left is tried: see branch
		}
		for _, forced := range [2]bool{true, false} {
			s.nextOrder++
			child := &node{
				settled: append(slices.Clone(n.settled), settled{pair, forced}),
				bound:   n.bound, price: slices.Clone(n.price), order: s.nextOrder,
			}
			if err := s.ascend(child, nodeSteps); err != nil {
				return err
			}
			if child.bound > s.best+s.close {
				open = append(open, child)
			}
		}
	}
	for _, n := range open {
		s.bound = max(s.bound, n.bound)
	}
	s.bound = max(s.bound, s.best)
	return nil
}

// enterNode sets out what a node leaves open; false if its forced pairs break
// a limit.
func (s *search) enterNode(n *node) bool {
	for f := range s.ways {
		for m := range s.ways[f] {
			s.ways[f][m] = s.p.ways(f, m)
		}
	}
	clear(s.fixed)
	for _, d := range n.settled {
		f, m, way := d.pair.Female, d.pair.Male, d.pair.Mover
		if !d.forced {
			s.ways[f][m] &^= way
			if s.ways[f][m] == RatherMale {
				s.ways[f][m] = 0
			}
			continue
		}
		if !s.p.fits(s.fixed, s.limits.most, f, m, way) {
			return false
		}
	}
	// The forced birds are out; the others' ways to them too.
	for _, d := range n.settled {
		if !d.forced {
			continue
		}
		clear(s.ways[d.pair.Female])
		for f := range s.ways {
			s.ways[f][d.pair.Male] = 0
		}
	}
	s.work += len(s.ways) * len(s.inside.males.mate)
	return true
}

// at solves the node's assignment at some prices and returns the bound.
func (s *search) at(n *node, price []float64) float64 {
	costs := s.p.costs(price)
	for f, row := range s.ways {
		for m, ways := range row {
			v := math.Inf(-1)
			if ways != 0 {
				_, cost := costs.cheapest(s.p, f, m, ways)
				v = s.charged[f][m] - cost
			}
			s.relaxed.set(f, m, v)
		}
	}
	s.relaxed.solve(s.close / 100)
	s.work += 2*len(s.ways)*len(s.inside.males.mate) + s.relaxed.work
	s.relaxed.work = 0
	bound := s.relaxed.total()
	for _, d := range n.settled {
		if d.forced {
			bound += s.charged[d.pair.Female][d.pair.Male]
		}
	}
	for c, most := range s.limits.most {
		if most >= 0 {
			bound += price[c] * float64(most-s.fixed[c])
		}
	}
	return bound
}

// pairs returns the pairs of the relaxed assignment, with their ways, and
// fills in what they use of the limits.
func (s *search) pairs(price []float64) []Pair {
	copy(s.use, s.fixed)
	costs := s.p.costs(price)
	var pairs []Pair
	for f, m := range s.relaxed.females.mate {
		if m < 0 {
			continue
		}
		way, _ := costs.cheapest(s.p, f, m, s.ways[f][m])
		taken, n := s.p.takes(f, m, way)
		for _, t := range taken[:n] {
			s.use[t]++
		}
		pairs = append(pairs, Pair{f, m, way})
	}
	return pairs
}

// ascend lowers a node's bound by better prices and keeps the best choice that
// it meets.
func (s *search) ascend(n *node, steps int) error {
	if !s.enterNode(n) {
		n.bound = math.Inf(-1)
		return nil
	}
	price := slices.Clone(n.price)
	theta, idle := 1.0, 0
	lowest := math.Inf(1)
	for step := range steps {
		if err := s.ctx.Err(); err != nil {
			return err
		}
		bound := s.at(n, price)
		if bound < lowest-1e-4*max(0, lowest-s.best) {
			idle = 0
		} else if idle++; idle == 4 {
			theta, idle = theta/2, 0
		}
		if bound < lowest {
			lowest = bound
			copy(n.price, price)
		}
		pairs := s.pairs(price)
		squares := 0.0
		for c, most := range s.limits.most {
			s.slope[c] = 0
			if most >= 0 {
				s.slope[c] = float64(s.use[c] - most)
			}
			if price[c] == 0 && s.slope[c] < 0 {
				s.slope[c] = 0
			}
			squares += s.slope[c] * s.slope[c]
		}
		if step < 20 || step%5 == 0 || squares == 0 {
			s.complete(n, pairs)
		}
		n.bound = min(n.bound, lowest)
		if squares == 0 || n.bound <= s.best+s.close || theta < 1e-3 || s.work > s.budget {
			break
		}
		length := theta * max(bound-s.best, s.close) / squares
		for c := range price {
			price[c] = max(0, price[c]+length*s.slope[c])
		}
	}
	return nil
}

// complete makes a whole choice of a relaxed one: the forced pairs, and those
// that move, first that whose birds gain most by it, as far as they fit; the
// best assignment with them and all pairs at home; and then, while any fits,
// the move that adds most beside them.
func (s *search) complete(n *node, pairs []Pair) {
	moved := slices.DeleteFunc(slices.Clone(pairs), func(p Pair) bool { return p.Mover == atHome })
	beyond := func(p Pair) float64 {
		return s.charged[p.Female][p.Male] - s.home.females.price[p.Female] - s.home.males.price[p.Male]
	}
	slices.SortStableFunc(moved, func(a, b Pair) int { return cmp.Compare(beyond(b), beyond(a)) })
	for _, p := range s.kept {
		s.inside.set(p.Female, p.Male, math.Inf(-1))
	}
	s.kept = s.kept[:0]
	clear(s.use)
	keep := func(p Pair) {
		if s.p.fits(s.use, s.limits.most, p.Female, p.Male, p.Mover) {
			s.kept = append(s.kept, p)
			s.inside.set(p.Female, p.Male, s.charged[p.Female][p.Male])
		}
	}
	for _, d := range n.settled {
		if d.forced {
			keep(d.pair)
		}
	}
	for _, p := range moved {
		keep(p)
	}
	for before := math.Inf(-1); ; {
		s.inside.solve(s.close / 100)
		s.work += s.inside.work
		s.inside.work = 0
		after := s.inside.total()
		// A pair kept that was not formed takes no room.
		clear(s.use)
		for k := len(s.kept) - 1; k >= 0; k-- {
			if p := s.kept[k]; s.inside.females.mate[p.Female] != p.Male {
				s.inside.set(p.Female, p.Male, math.Inf(-1))
				s.kept = slices.Delete(s.kept, k, k+1)
			} else {
				s.p.fits(s.use, s.limits.most, p.Female, p.Male, p.Mover)
			}
		}
		p, ok := s.another()
		if !ok || after <= before+s.close {
			break
		}
		before = after
		keep(p)
	}
	total := 0.0
	var plan []Pair
	for f, m := range s.inside.females.mate {
		if m >= 0 {
			total += s.charged[f][m]
			plan = append(plan, Pair{f, m, atHome})
		}
	}
	if total <= s.best+s.close && s.best >= 0 {
		return
	}
	for _, p := range s.kept {
		for k := range plan {
			if plan[k].Female == p.Female {
				plan[k].Mover = p.Mover
			}
		}
	}
	s.best, s.plan = total, plan
}

// another returns the move that fits beside those in use and exceeds the prices
// of its birds by most.
func (s *search) another() (best Pair, ok bool) {
	most := s.close
	for f, row := range s.charged {
		for m, v := range row {
			gain := v - s.inside.females.price[f] - s.inside.males.price[m]
			if gain <= most {
				continue
			}
			ways := s.p.ways(f, m)
			order := [2]Ways{FemaleMoves, MaleMoves}
			if ways&RatherMale != 0 {
				order = [2]Ways{MaleMoves, FemaleMoves}
			}
			for _, way := range order {
				if ways&way != 0 && s.p.room(s.use, s.limits.most, f, m, way) {
					best, most, ok = Pair{f, m, way}, gain, true
					break
				}
			}
		}
	}
	s.work += len(s.charged) * len(s.inside.males.mate)
	return best, ok
}

// branch returns the move to settle next: of those not yet settled the one that
// is nearest to being part of the relaxed choice. If none is left that could be
// part of a better choice than the best known, ok is false: the forced pairs
// with the best of the pairs at home are then the best of the node.
func (s *search) branch(n *node) (Pair, bool) {
	if !s.enterNode(n) {
		return Pair{}, false
	}
	bound := s.at(n, n.price)
	room := bound - s.best
	costs := s.p.costs(n.price)
	best, found := Pair{}, false
	least := math.Inf(1)
	for f, row := range s.ways {
		for m, ways := range row {
			if ways&(FemaleMoves|MaleMoves) == 0 {
				continue
			}
			for _, way := range [2]Ways{FemaleMoves, MaleMoves} {
				if ways&way == 0 {
					continue
				}
				v := s.charged[f][m] - costs.of(s.p, f, m, way)
				slack := s.relaxed.females.price[f] + s.relaxed.males.price[m] - v
				if slack > room {
					continue
				}
				// Of those in the relaxed choice the most valuable.
				key := max(0, slack) - 1e-6*s.charged[f][m]
				if key < least {
					best, least, found = Pair{f, m, way}, key, true
				}
			}
		}
	}
	if !found {
		s.complete(n, nil)
	}
	return best, found
}
