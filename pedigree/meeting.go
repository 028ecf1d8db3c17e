package pedigree

import (
	"cmp"
	"slices"
)

// Meeting is the part of two birds' kinship that comes through one common
// ancestor, or through two founders that are known to be related.
type Meeting struct {
	Ancestor int
	// With is the second founder of a known founder kinship, and then
	// different from Ancestor.
	With         int
	Contribution float64
	// Paths are the largest of the ancestor's paths, largest first, and
	// PathsLeftOut is how many more there are (a rounded number where there
	// are more than 2⁵³, and no more than 2⁶²); 0 where none were asked for.
	Paths        []Path
	PathsLeftOut int
}

// mostPaths keeps the number of paths, which doubles with every generation of
// full sibs, within an int.
const mostPaths = 1 << 62

// Path is one path of Wright's formula from a bird up to a common ancestor and
// down to another bird.
type Path struct {
	// Up leads from the first bird to the ancestor, Down from the ancestor
	// to the second bird, the ancestor in both. Uncertain parents on the way
	// are nodes of their own.
	Up, Down []int
	// Contribution is (1/2)^(n₁+n₂+1)·(1+F), n₁ and n₂ the birds stepped up
	// and down, F that of the ancestor, times the weight of every candidate
	// on the way.
	Contribution float64
}

// Meetings splits the kinship of a and b by the ancestor in which the two gene
// lines first meet when they are traced back, always stepping from the younger
// (Colleau & Sargolzaei 2008): the contributions and the kinship through others add
// up to the kinship. What an ancestor contributes is the sum of its paths in Wright's
// (1922) formula, of which at most maxPaths are listed. Meetings with larger
// contributions come first, equal ones by node.
//
// Where no paths are asked for, time grows with the square of the number of
// ancestors, and memory with the number. For paths, of which there may be
// exponentially many and which are searched best first (Jiménez & Marzal 1999), one
// pass over the pairs of ancestors that the lines can stand on takes both with the
// square. Where the two have more than 2,000 ancestors, 10,000 without paths, only the
// likely pairs are followed: a pair that the lines come by with a chance below 2⁻²⁰
// adds less than that to the kinship. Of more than 2,000 the largest meetings are
// listed; the others' part is exact all the same, and 0 where all are listed.
func (p *Pedigree) Meetings(a, b, maxPaths int) (meetings []Meeting, others float64) {
	g, here := p.lineage([]int{a, b})
	t := trace{flow: g, routed: maxPaths > 0}
	many := len(here) > manyAncestors
	find := func(node int) int32 {
		k, _ := slices.BinarySearch(here, int32(node))
		return int32(k)
	}
	la, lb := find(a), find(b)
	if !t.routed && len(here) <= manyWithoutPaths {
		t.meet(la, lb)
	} else {
		if many {
			t.least = leastFollowed
		}
		t.coming = make([][]arc, len(here))
		t.run(la, lb)
	}

	same := func(end *state) float64 { // what a meeting is of the chance to come by it
		if end.young != end.old {
			return t.founderKinship(end.young, end.old)
		}
		return g.self[end.young] / 2
	}
	t.ends = slices.DeleteFunc(t.ends, func(s int32) bool { return t.states[s].weight*same(&t.states[s]) == 0 })
	slices.SortFunc(t.ends, func(x, y int32) int {
		i, j := &t.states[x], &t.states[y]
		return cmp.Or(cmp.Compare(j.weight*same(j), i.weight*same(i)), cmp.Compare(i.old, j.old), cmp.Compare(i.young, j.young))
	})
	if many {
		t.ends = t.ends[:min(len(t.ends), meetingsListed)]
		others = p.Kinship(a, b)
	}
	for _, s := range t.ends {
		end := &t.states[s]
		m := Meeting{
			Ancestor:     int(here[end.old]),
			With:         int(here[end.young]),
			Contribution: end.weight * same(end),
		}
		for k := 0; k < maxPaths; k++ {
			if !t.route(s, k) {
				break
			}
			path := t.path(s, k, la, lb)
			path.Contribution = t.states[s].routes[k].weight * same(end)
			for _, side := range [][]int{path.Up, path.Down} {
				for i, n := range side {
					side[i] = int(here[n])
				}
			}
			m.Paths = append(m.Paths, path)
		}
		m.PathsLeftOut = int(min(end.paths, mostPaths)) - len(m.Paths)
		meetings = append(meetings, m)
		if many {
			others = max(0, others-m.Contribution)
		}
	}
	return meetings, others
}

const (
	// manyAncestors is how many ancestors two birds may have for all pairs of them to
	// be followed: some two million.
	manyAncestors = 2000
	// manyWithoutPaths is how many they may have where no paths are asked for: fifty
	// million steps.
	manyWithoutPaths = 10_000
	// leftOver is the share of what is taken away that may be left of it by rounding.
	leftOver = 1e-12
	// leastFollowed is the chance that the lines come by a pair from which on it is
	// followed where they have more.
	leastFollowed = 1.0 / (1 << 20)
	// meetingsListed is how many meetings are listed then.
	meetingsListed = 100
)

// trace follows two gene lines back. A state is the pair of nodes they stand
// on; an arc is a step of the younger line to a parent.
type trace struct {
	*flow
	least  float64 // chance to come by a state from which on it is followed
	routed bool    // paths are asked for, and so arcs are kept
	coming [][]arc // into states that were not visited yet, by their younger node
	states []state
	arcs   []arc
	ends   []int32 // states in which the lines have met or can go no further
}

type state struct {
	young, old int32
	weight     float64 // chance that the lines come by here
	paths      float64 // in how many ways
	arcs, end  int32   // the arcs into the state are those from arcs to end-1
	routes     []route // best ways here, best first, as far as asked for
	open       []route // of every arc into the state the next best way not in routes
}

type arc struct {
	from   int32 // state
	parent int32 // node the younger line steps to
	old    int32 // the older node of the state that it leads to
	share  float64
}

// route is the rank-th best way to the start of an arc, and then the arc.
type route struct {
	weight float64
	arc    int32 // -1 at the start
	rank   int32
}

// run visits the states that the lines come by from the nodes a and b, younger
// nodes first: a step leads to pairs of older ones alone, so that all ways into a
// state are known when it is visited.
func (t *trace) run(a, b int32) {
	t.visit(state{young: max(a, b), old: min(a, b), weight: 1, paths: 1})
	for i := max(a, b); i >= 0; i-- {
		coming := t.coming[i]
		t.coming[i] = nil
		slices.SortStableFunc(coming, func(x, y arc) int { return cmp.Compare(x.old, y.old) })
		for len(coming) > 0 {
			s := state{young: i, old: coming[0].old, arcs: int32(len(t.arcs))}
			n := 0
			for ; n < len(coming) && coming[n].old == s.old; n++ {
				from := &t.states[coming[n].from]
				s.weight += from.weight * coming[n].share
				s.paths += from.paths
			}
			if s.weight >= t.least {
				if t.routed {
					t.arcs = append(t.arcs, coming[:n]...)
				}
				s.end = int32(len(t.arcs))
				t.visit(s)
			}
			coming = coming[n:]
		}
	}
}

// meet finds the states in which the lines have met without following them. Lines that
// both pass a node have met there or before, however they are stepped; so with T_ik,
// the chance that a line from i passes k, they first meet in k with the chance
//
//	w_k = T_ak T_bk − Σ_m w_m T_mk²
//
// over the younger nodes m. They end on two founders with T_ai T_bj + T_aj T_bi less
// what met before.
func (t *trace) meet(a, b int32) {
	row := make([]float64, len(t.self))
	passing := func(from int32) []float64 {
		x := row[:from+1]
		clear(x)
		x[from] = 1
		t.up(x)
		return x
	}
	older, younger, w := make([]float64, len(row)), make([]float64, len(row)), make([]float64, len(row))
	copy(older, passing(min(a, b)))
	copy(younger, passing(max(a, b)))
	for k := range w {
		w[k] = older[k] * younger[k]
	}
	both := slices.Clone(w)
	ends := func(x, y []float64, i, j int32) float64 { return x[i]*y[j] + x[j]*y[i] }
	pairs := make([]float64, len(t.related)*len(t.related))
	for r, i := range t.related {
		for s, j := range t.related[:r] {
			pairs[r*len(t.related)+s] = ends(older, younger, i, j)
		}
	}
	for m := len(w) - 1; m >= 0; m-- {
		if !(w[m] > both[m]*leftOver) {
			continue // what is left of a difference that is none
		}
		t.ends = append(t.ends, int32(len(t.states)))
		t.states = append(t.states, state{young: int32(m), old: int32(m), weight: w[m]})
		if m < t.founders {
			continue
		}
		x := passing(int32(m))
		for k, v := range x[:m] {
			w[k] -= w[m] * v * v
		}
		for r, i := range t.related {
			for s, j := range t.related[:r] {
				pairs[r*len(t.related)+s] -= w[m] * ends(x, x, i, j)
			}
		}
	}
	for r, i := range t.related {
		for s, j := range t.related[:r] {
			if v := pairs[r*len(t.related)+s]; v > ends(older, younger, i, j)*leftOver {
				t.ends = append(t.ends, int32(len(t.states)))
				t.states = append(t.states, state{young: i, old: j, weight: v})
			}
		}
	}
}

// visit steps on from a state.
func (t *trace) visit(s state) {
	number := int32(len(t.states))
	t.states = append(t.states, s)
	if s.young == s.old || int(s.young) < t.founders {
		t.ends = append(t.ends, number)
		return
	}
	t.parentsOf(s.young, func(q int32, share float64) {
		young := max(q, s.old)
		t.coming[young] = append(t.coming[young], arc{from: number, parent: q, old: min(q, s.old), share: share})
	})
}

func (t *trace) founderKinship(a, b int32) float64 {
	x, ok := slices.BinarySearch(t.related, a)
	y, ok2 := slices.BinarySearch(t.related, b)
	if !ok || !ok2 {
		return 0
	}
	return t.relationship[x*len(t.related)+y] / 2
}

// route reports whether there is a k-th best way to state s, k from 0, and
// then has it in the state's routes.
func (t *trace) route(s int32, k int) bool {
	st := &t.states[s]
	if len(st.routes) == 0 {
		if st.arcs == st.end {
			st.routes = []route{{weight: 1, arc: -1}}
		} else {
			for a := st.arcs; a < st.end; a++ {
				t.open(s, route{arc: a})
			}
			t.takeBest(s)
		}
	}
	for len(st.routes) <= k {
		last := st.routes[len(st.routes)-1]
		if last.arc < 0 {
			return false
		}
		t.open(s, route{arc: last.arc, rank: last.rank + 1})
		if len(st.open) == 0 {
			return false
		}
		t.takeBest(s)
	}
	return true
}

// open makes a route a choice for the state if there is such a route.
func (t *trace) open(s int32, r route) {
	a := t.arcs[r.arc]
	if t.route(a.from, int(r.rank)) {
		r.weight = t.states[a.from].routes[r.rank].weight * a.share
		t.states[s].open = append(t.states[s].open, r)
	}
}

func (t *trace) takeBest(s int32) {
	st := &t.states[s]
	best := 0
	for k, r := range st.open {
		b := st.open[best]
		if cmp.Or(cmp.Compare(b.weight, r.weight), cmp.Compare(r.arc, b.arc), cmp.Compare(r.rank, b.rank)) < 0 {
			best = k
		}
	}
	st.routes = append(st.routes, st.open[best])
	st.open = slices.Delete(st.open, best, best+1)
}

// path replays the k-th best way to state s as the nodes of the two lines.
func (t *trace) path(s int32, k int, a, b int32) Path {
	var steps []arc
	for {
		r := t.states[s].routes[k]
		if r.arc < 0 {
			break
		}
		step := t.arcs[r.arc]
		steps = append(steps, step)
		s, k = step.from, int(r.rank)
	}
	up, down := []int{int(a)}, []int{int(b)}
	for _, step := range slices.Backward(steps) {
		if t.states[step.from].young == a {
			a = step.parent
			up = append(up, int(a))
		} else {
			b = step.parent
			down = append(down, int(b))
		}
	}
	slices.Reverse(down)
	return Path{Up: up, Down: down}
}
