package season

import (
	"cmp"
	"container/heap"
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// solution is a Solution in S'.
type solution struct {
	plan   []Brood // nil if there is none with the chicks wanted
	value  float64 // S', +Inf without a plan
	bound  float64 // no plan has a lower S', but for closed
	proven bool    // the search is exhausted: plan is the best
}

// search finds the plan with least S' by branch and bound over the relaxation
// (Land & Doig 1960), best bound first, with exchange search from the corners
// that the relaxation meets. It stops when the tree is exhausted or the work
// done reaches the budget; the bound then is the least of what is open.
type search struct {
	*relaxation
	best   solution
	close  float64 // plans this near to the best are taken as good
	open   frontier
	made   int
	budget int
}

// solve returns the best plan that can be found. step is the least difference
// between the S' of two plans, 0 if there is none.
func (s *Problem) solve(ctx context.Context, start [][]Brood, step float64, budget int) (solution, error) {
	x := &search{best: solution{value: math.Inf(1)}, budget: budget}
	x.best.bound = math.Inf(-1)
	if s.Chicks == 0 {
		return solution{plan: []Brood{}, value: s.Sum, bound: s.Sum, proven: true}, nil
	}
	x.relaxation = newRelaxation(s)
	if step > 0 {
		x.close = step * (1 - 1e-6)
	} else {
		x.close = max(worth, 1e-13*math.Abs(s.Sum))
	}
	for _, plan := range start {
		x.improve(newDraft(s, plan))
	}
	x.improve(newDraft(s, nil))
	root := x.root()
	x.stop = x.budget / 2
	x.tune(root, x.cutoff())
	heap.Push(&x.open, root)
	shut := math.Inf(1) // least bound among the closed nodes
	for len(x.open) > 0 {
		if err := ctx.Err(); err != nil {
			return x.best, err
		}
		if x.work > x.budget {
			break
		}
		n := heap.Pop(&x.open).(*node)
		if n.bound > x.cutoff() {
			shut = min(shut, n.bound)
			continue
		}
		if x.work > x.budget/4 && x.best.value-min(shut, n.bound) < s.slight {
			heap.Push(&x.open, n)
			break
		}
		x.stop = x.budget + x.budget/4
		out := x.relaxation.solve(n, x.cutoff())
		n.bound = max(n.bound, out.bound)
		if !out.feasible {
			continue
		}
		if n.bound <= x.cutoff() {
			x.try(n, &out)
		}
		if n.bound > x.cutoff() {
			shut = min(shut, n.bound)
			continue
		}
		for _, child := range x.branch(n, &out) {
			child.bound = n.bound
			child.corners = out.corners
			child.number = x.made
			x.made++
			heap.Push(&x.open, child)
		}
	}
	s.settle(x.best.plan)
	x.best.plan = inOrder(x.best.plan)
	x.best.bound = shut
	for _, n := range x.open {
		x.best.bound = min(x.best.bound, n.bound)
	}
	// Narrowing a node leaves out plans no better than the cutoff, and bounds
	// are off by rounding: both far less than the margin.
	margin := max(worth, 1e-13*math.Abs(s.Sum))
	x.best.bound = min(x.best.bound, x.best.value) - margin
	x.best.proven = x.best.plan != nil && x.best.bound > x.best.value-x.close-2*margin || len(x.open) == 0
	return x.best, nil
}

// cutoff is the bound from which on a node holds no better plan.
func (x *search) cutoff() float64 { return x.best.value - x.close }

// improve completes a draft and keeps it if it is the best so far.
func (x *search) improve(d *draft) {
	d.grow()
	if count(d.plan) == d.s.Chicks {
		d.improve()
		if v := d.s.value(d.plan); v < x.best.value-worth || x.best.plan == nil {
			x.best.plan, x.best.value = inOrder(d.plan), v
		}
	}
	x.work += d.work
}

// try makes plans from the heaviest corner of a node.
func (x *search) try(n *node, out *relaxed) {
	tries := 1
	if n.number == 0 {
		tries = 8
	}
	for _, c := range out.corners[:min(tries, len(out.corners))] {
		x.improve(x.s.rounded(c.broods))
	}
}

// frontier is the heap of open nodes: the least bound first, of equal bounds
// the one made last.
type frontier []*node

func (f frontier) Len() int { return len(f) }
func (f frontier) Less(i, j int) bool {
	return cmp.Or(cmp.Compare(f[i].bound, f[j].bound), cmp.Compare(f[j].number, f[i].number)) < 0
}
func (f frontier) Swap(i, j int) { f[i], f[j] = f[j], f[i] }

// Push adds a node.
func (f *frontier) Push(n any) { *f = append(*f, n.(*node)) }

// Pop removes the last node.
func (f *frontier) Pop() any {
	last := len(*f) - 1
	n := (*f)[last]
	*f = (*f)[:last]
	return n
}

// child returns a copy of a node to be narrowed.
func (n *node) child() *node {
	return &node{
		low: slices.Clone(n.low), high: slices.Clone(n.high),
		levelLow: slices.Clone(n.levelLow), levelHigh: slices.Clone(n.levelHigh),
		off: slices.Clone(n.off), forced: slices.Clone(n.forced),
	}
}

// whole is how far from a whole number a share may be by rounding.
const whole = 1e-7

// branch parts a node where its relaxation is no plan: by how many birds have
// m chicks, by the chicks of one bird, or by whether an option is used. It
// returns nothing if the node holds but one plan, which is then tried.
func (x *search) branch(n *node, out *relaxed) []*node {
	s := x.s
	for m := range x.levels {
		females, males := 0.0, 0.0
		for b := range out.level {
			if b < s.Females {
				females += out.level[b][m]
			} else {
				males += out.level[b][m]
			}
		}
		if math.Abs(females-males) < whole && math.Abs(females-math.Round(females)) < whole {
			continue
		}
		t := int(math.Floor((females+males)/2 + whole))
		fewer, more := n.child(), n.child()
		fewer.levelHigh[m], more.levelLow[m] = t, t+1
		return []*node{fewer, more}
	}
	bird, level, off := -1, 0, whole
	for b := range out.level {
		for m, u := range out.level[b] {
			if d := math.Min(u, 1-u); d > off {
				bird, level, off = b, m, d
			}
		}
	}
	if bird >= 0 {
		return n.split(bird, level)
	}
	return x.branchOnOption(n, out)
}

// split parts a node by whether a breeder has more than m chicks.
func (n *node) split(bird, m int) []*node {
	fewer, more := n.child(), n.child()
	fewer.high[bird], more.low[bird] = min(fewer.high[bird], m), max(more.low[bird], m+1)
	return []*node{fewer, more}
}

// branchOnOption parts a node in which every bird's chicks are whole: first by
// the options of a bird with several mates, then by options that need a move
// or hatch in a full place, then by any that is not yet forced.
func (x *search) branchOnOption(n *node, out *relaxed) []*node {
	s := x.s
	mates := make([]int, s.breeders())
	for i, k := range out.option {
		if k > whole {
			mates[s.Options[i].Female]++
			mates[s.Options[i].Male]++
		}
	}
	chosen, rank := -1, 0
	for i, k := range out.option {
		if k <= whole || slices.Contains(n.forced, i) {
			continue
		}
		o := &s.Options[i]
		here := 1
		if o.Mover >= 0 || s.Rooms[o.Place].Birds >= 0 {
			here = 2
		}
		if mates[o.Female] > 1 || mates[o.Male] > 1 {
			here = 3
		}
		if here > rank {
			chosen, rank = i, here
		}
	}
	if chosen < 0 {
		for _, i := range n.forced {
			o := &s.Options[i]
			for _, b := range [2]int{o.Female, o.Male} {
				if k := int(math.Round(floats.Sum(out.level[b]))); n.low[b] < k {
					return n.split(b, k-1)
				} else if n.high[b] > k {
					return n.split(b, k)
				}
			}
		}
		return nil
	}
	without, with := n.child(), n.child()
	without.off[chosen] = true
	o := &s.Options[chosen]
	with.forced = append(with.forced, chosen)
	with.low[o.Female], with.low[o.Male] = max(1, n.low[o.Female]), max(1, n.low[o.Male])
	for i := range s.Options {
		if p := &s.Options[i]; i != chosen && (p.Female == o.Female || p.Male == o.Male) {
			with.off[i] = true
		}
	}
	return []*node{without, with}
}
