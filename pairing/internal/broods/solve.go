package broods

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// Solution is the best broods found, and what is proven of the best there are.
type Solution struct {
	Broods []int // chicks of each pair
	Chicks int   // of all; fewer than wanted only where no choice has more

	// GeneDiversity is that of the living and the chicks together, undefined
	// where nothing has weight. No choice of as many chicks has more than Bound;
	// with prices, more than Bound once the prices it pays beyond those of
	// Broods, divided by (Σw+Σk)², are taken off.
	GeneDiversity, Bound float64
	Proven               bool // no choice is better, but for rounding; Bound is then GeneDiversity
}

// provenGap is the difference in gene diversity that rounding can make.
const provenGap = 1e-12

// slightGap is the difference in gene diversity below which the search for
// better broods ends early: it cannot be seen in any figure that is printed.
const slightGap = 2e-7

// Budget is how much work a search may do, in entries looked at: the same on
// every machine, a few tenths of a second on one of 2020.
const Budget = 120_000_000

// Solve finds the broods with the most of the chicks wanted and, of these, with
// the least S' and prices: exactly where branch and bound can exhaust them
// within the budget, as for a colony, else the best of exchange search; always
// with a proven bound. The error is ctx's.
func (p *Problem) Solve(ctx context.Context, budget int) (Solution, error) {
	p.check()
	s := newSearch(ctx, p, budget)
	if err := s.run(); err != nil {
		return Solution{}, err
	}
	out := Solution{Broods: s.best, Chicks: s.chicks, GeneDiversity: p.GeneDiversity(s.best)}
	n := p.Total + float64(s.chicks)
	gap := max(0, s.value-s.bound) / (n * n)
	if out.Proven = s.chicks == 0 || gap <= provenGap; out.Proven {
		gap = 0
	}
	out.Bound = out.GeneDiversity + gap
	return out, nil
}

// plan is some broods with what one chick more or less would change.
type plan struct {
	p      *Problem
	broods []int
	meets  []float64 // Kinship·broods
	most   []float64 // the largest kinship of each pair's chicks with any
	rooms  []int     // left at each place, -1 without limit
	work   int
}

// rooms returns the most chicks of each place; what pairs have at the least
// counts in any case.
func (p *Problem) rooms() []int {
	if p.Rooms == nil {
		return nil
	}
	least := make([]int, len(p.Rooms))
	for _, x := range p.Pairs {
		least[x.Place] += x.Least
	}
	rooms := slices.Clone(p.Rooms)
	for i := range rooms {
		if rooms[i] >= 0 {
			rooms[i] = max(rooms[i], least[i])
		}
	}
	return rooms
}

// newPlan returns a plan of some broods.
func (r *relaxation) newPlan(broods []int) *plan {
	p := r.p
	s := &plan{p: p, broods: make([]int, len(p.Pairs)), meets: make([]float64, len(p.Pairs)), most: r.most, rooms: p.rooms()}
	for i, k := range broods {
		s.add(i, k)
	}
	return s
}

// add counts more chicks, or fewer, of a pair.
func (s *plan) add(i, k int) {
	if k == 0 {
		return
	}
	s.broods[i] += k
	for j, f := range s.p.Kinship[i] {
		s.meets[j] += float64(k) * f
	}
	s.work += len(s.meets)
	if place := s.p.Pairs[i].Place; s.rooms != nil && s.rooms[place] >= 0 {
		s.rooms[place] -= k
	}
}

// more returns what one more chick of a pair adds to S' and prices, less what
// one chick fewer would save.
func (s *plan) more(i int) float64 {
	x := &s.p.Pairs[i]
	return x.Cost + x.Price + 2*s.meets[i] + s.p.Kinship[i][i]
}

func (s *plan) less(i int) float64 {
	x := &s.p.Pairs[i]
	return x.Cost + x.Price + 2*s.meets[i] - s.p.Kinship[i][i]
}

// hasRoom reports whether the place of a pair has room for one more chick.
func (s *plan) hasRoom(i int) bool { return s.rooms == nil || s.rooms[s.p.Pairs[i].Place] != 0 }

// grow adds the chicks that cost least one by one, up to n in all.
func (s *plan) grow(n int) {
	for have := total(s.broods); have < n; have++ {
		best, least := -1, math.Inf(1)
		for i := range s.broods {
			if s.broods[i] < s.p.Pairs[i].Most && s.hasRoom(i) {
				if c := s.more(i); c < least {
					best, least = i, c
				}
			}
		}
		s.work += len(s.broods)
		if best < 0 {
			return
		}
		s.add(best, 1)
	}
}

// improve exchanges one chick for another while that lowers S' and prices by
// more than worth.
func (s *plan) improve(worth float64) {
	for {
		to, from := s.exchange(worth)
		if to < 0 {
			return
		}
		s.add(from, -1)
		s.add(to, 1)
	}
}

// exchange returns the pair that should have one more chick and the one that should
// have one fewer, so that S' and prices fall most, by more than worth; -1 if nothing
// does. Of equal exchanges it is that of lower numbers. What is saved of most pairs
// is so little that no kinship of the two makes up for it, which is seen without
// looking at them, as chicks are taken in the order of what they cost.
func (s *plan) exchange(worth float64) (to, from int) {
	type chick struct {
		pair int
		less float64
	}
	var chicks []chick // that may go
	for j, k := range s.broods {
		if k > s.p.Pairs[j].Least {
			chicks = append(chicks, chick{j, s.less(j)})
		}
	}
	slices.SortFunc(chicks, func(a, b chick) int { return cmp.Or(cmp.Compare(b.less, a.less), cmp.Compare(a.pair, b.pair)) })
	to, from = -1, -1
	least := -worth
	for i := range s.broods {
		if s.broods[i] >= s.p.Pairs[i].Most {
			continue
		}
		more, room := s.more(i), s.hasRoom(i)
		for _, x := range chicks {
			s.work++
			if more-x.less-2*s.most[i] > least {
				break
			}
			j := x.pair
			if j == i || !room && s.p.Pairs[j].Place != s.p.Pairs[i].Place {
				continue
			}
			d := more - x.less - 2*s.p.Kinship[i][j]
			if d < least || d == least && to == i && j < from {
				to, from, least = i, j, d
			}
		}
	}
	s.work += len(s.broods)
	return to, from
}

// value returns S' and prices.
func (s *plan) value() float64 { return s.p.Value(s.broods) + s.p.prices(s.broods) }

// search is branch and bound over the relaxation (Land & Doig 1960), best bound
// first, with exchange from the corners that the relaxation meets.
type search struct {
	*relaxation
	ctx    context.Context
	best   []int
	value  float64 // S' and prices of the best
	bound  float64 // none has less
	close  float64 // sums this near are equal
	budget int
	made   int
}

// node is a part of the choices: limits on the chicks of each pair.
type node struct {
	low, high []int
	x         []float64 // near its relaxed best
	bound     float64
	order     int // of making, the last tie-break
}

func newSearch(ctx context.Context, p *Problem, budget int) *search {
	s := &search{ctx: ctx, budget: budget, value: math.Inf(1)}
	s.relaxation = newRelaxation(p)
	n := p.Total + float64(s.chicks)
	s.close = max(provenGap/4*n*n, 1e-14*math.Abs(p.Sum))
	return s
}

// run searches until the best is proven, or the budget is spent.
func (s *search) run() error {
	p := s.p
	root := &node{low: make([]int, len(p.Pairs)), high: make([]int, len(p.Pairs)), bound: math.Inf(-1)}
	for i, x := range p.Pairs {
		root.low[i], root.high[i] = x.Least, min(x.Most, max(x.Least, s.chicks))
	}
	s.try(root.low)
	if p.Start != nil {
		start := s.newPlan(root.low)
		for i, k := range p.Start[:min(len(p.Start), len(p.Pairs))] {
			for start.broods[i] < min(k, p.Pairs[i].Most) && start.hasRoom(i) && total(start.broods) < s.chicks {
				start.add(i, 1)
			}
		}
		s.try(start.broods)
	}
	s.bound = s.value
	if s.chicks == total(root.low) {
		return nil
	}
	root.x = make([]float64, len(p.Pairs))
	for i, k := range s.best {
		root.x[i] = float64(k)
	}
	// First without the spare diagonal, to see which pairs matter; then with
	// that of these, which is larger.
	for range 2 {
		if err := s.relax(root); err != nil {
			return err
		}
		if root.bound > s.value-s.close {
			return nil
		}
		s.sharpen(root)
	}
	if err := s.relax(root); err != nil {
		return err
	}
	n := p.Total + float64(s.chicks)
	slight := slightGap * n * n
	open := []*node{root}
	for len(open) > 0 {
		k := 0
		for i, x := range open {
			if x.bound < open[k].bound || x.bound == open[k].bound && x.order > open[k].order {
				k = i
			}
		}
		x := open[k]
		if x.bound > s.value-s.close {
			open = nil
			break
		}
		if s.work > s.budget || s.work > s.budget/4 && s.value-x.bound < slight {
			break
		}
		open[k] = open[len(open)-1]
		open = open[:len(open)-1]
		s.work += len(open)
		for _, child := range s.branch(x) {
			if err := s.relax(child); err != nil {
				return err
			}
			if child.bound <= s.value-s.close {
				open = append(open, child)
			}
		}
	}
	s.bound = s.value
	for _, x := range open {
		s.bound = min(s.bound, x.bound)
	}
	return nil
}

// try completes some broods, improves them by exchange and keeps them if they
// are the best so far.
func (s *search) try(broods []int) {
	d := s.newPlan(broods)
	d.grow(s.chicks)
	d.improve(s.close / 16)
	if v := d.value(); v < s.value-s.close/8 || s.best == nil {
		s.best, s.value = slices.Clone(d.broods), v
	}
	s.work += d.work
}

// relax bounds a node from below, tries the corner it ends at, and narrows it by
// reduced costs.
func (s *search) relax(n *node) error {
	if err := s.ctx.Err(); err != nil {
		return err
	}
	bound, corner, ok := s.minimise(n, s.value-s.close)
	if !ok {
		n.bound = math.Inf(1)
		return nil
	}
	n.bound = max(n.bound, bound)
	if n.order < 8 || n.order%8 == 0 || s.whole(n.x) {
		s.try(corner)
		rounded := make([]int, len(n.x))
		for i, x := range n.x {
			rounded[i] = int(math.Floor(x + 0.5))
		}
		s.try(s.fitted(rounded))
	}
	return nil
}

// fitted leaves out what is too much of some broods.
func (s *search) fitted(broods []int) []int {
	low := make([]int, len(broods))
	for i := range low {
		low[i] = s.p.Pairs[i].Least
	}
	d := s.newPlan(low)
	for i, k := range broods {
		for d.broods[i] < min(k, s.p.Pairs[i].Most) && d.hasRoom(i) && total(d.broods) < s.chicks {
			d.add(i, 1)
		}
	}
	return d.broods
}

// branch parts a node by the chicks of one pair: that whose number is the
// farthest from whole, or else any that is not yet settled.
func (s *search) branch(n *node) []*node {
	pair, off := -1, 1e-9
	for i, x := range n.x {
		if d := math.Abs(x - math.Round(x)); d > off {
			pair, off = i, d
		}
	}
	at := 0
	if pair >= 0 {
		at = int(math.Floor(n.x[pair]))
	} else {
		for i, x := range n.x {
			if n.low[i] < n.high[i] {
				pair, at = i, min(int(math.Round(x)), n.high[i]-1)
				break
			}
		}
		if pair < 0 {
			return nil // one choice alone, which has been tried
		}
	}
	s.made += 2
	fewer := &node{low: slices.Clone(n.low), high: slices.Clone(n.high), x: slices.Clone(n.x), bound: n.bound, order: s.made - 1}
	more := &node{low: slices.Clone(n.low), high: slices.Clone(n.high), x: slices.Clone(n.x), bound: n.bound, order: s.made}
	fewer.high[pair], more.low[pair] = at, at+1
	return []*node{fewer, more}
}
