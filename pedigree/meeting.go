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
	// are more than 2⁵³, and no more than 2⁶²).
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
// (Colleau & Sargolzaei 2008): the sum of the contributions is the kinship.
// What an ancestor contributes is the sum of its paths in Wright's (1922)
// formula, of which at most maxPaths are listed. Meetings with larger
// contributions come first, equal ones by node.
//
// The split takes one pass over the pairs of ancestors that the lines can
// stand on, so its time and memory grow with the square of their number; the
// paths, of which there may be exponentially many, are searched best first
// (Jiménez & Marzal 1999).
func (p *Pedigree) Meetings(a, b, maxPaths int) []Meeting {
	g, here := p.lineage([]int{a, b})
	t := trace{flow: g, rows: make([][]int32, len(here)), routed: maxPaths > 0}
	find := func(node int) int32 {
		k, _ := slices.BinarySearch(here, int32(node))
		return int32(k)
	}
	la, lb := find(a), find(b)
	t.states = append(t.states, state{}) // so that 0 means no state
	start := t.at(la, lb)
	t.states[start].weight, t.states[start].paths = 1, 1
	t.run(start)

	var meetings []Meeting
	for _, s := range t.ends {
		end := &t.states[s]
		same := g.self[end.young] / 2
		if end.young != end.old {
			same = t.founderKinship(end.young, end.old)
		}
		m := Meeting{
			Ancestor:     int(here[end.old]),
			With:         int(here[end.young]),
			Contribution: end.weight * same,
		}
		if m.Contribution == 0 {
			continue
		}
		for k := 0; k < maxPaths; k++ {
			if !t.route(s, k) {
				break
			}
			path := t.path(s, k, la, lb)
			path.Contribution = t.states[s].routes[k].weight * same
			for _, side := range [][]int{path.Up, path.Down} {
				for i, n := range side {
					side[i] = int(here[n])
				}
			}
			m.Paths = append(m.Paths, path)
		}
		m.PathsLeftOut = int(min(end.paths, mostPaths)) - len(m.Paths)
		meetings = append(meetings, m)
	}
	slices.SortStableFunc(meetings, func(x, y Meeting) int {
		return cmp.Or(cmp.Compare(y.Contribution, x.Contribution),
			cmp.Compare(x.Ancestor, y.Ancestor), cmp.Compare(x.With, y.With))
	})
	return meetings
}

// trace follows two gene lines back. A state is the pair of nodes they stand
// on; an arc is a step of the younger line to a parent.
type trace struct {
	*flow
	rows   [][]int32 // number of the state of a pair, by younger and older node; 0 if none
	states []state
	routed bool // paths are asked for, and so arcs are kept
	arcs   []arc
	ends   []int32 // states in which the lines have met or can go no further
}

type state struct {
	young, old int32
	weight     float64 // chance that the lines come by here
	paths      float64 // in how many ways
	arcs       int32   // last arc into the state, -1-based chain; 0 if none
	routes     []route // best ways here, best first, as far as asked for
	open       []route // of every arc into the state the next best way not in routes
}

type arc struct {
	from   int32 // state
	parent int32 // node the younger line steps to
	share  float64
	next   int32 // next arc into the same state + 1
}

// route is the rank-th best way to the start of an arc, and then the arc.
type route struct {
	weight float64
	arc    int32 // -1 at the start
	rank   int32
}

// at returns the state of a pair of nodes.
func (t *trace) at(i, j int32) int32 {
	i, j = max(i, j), min(i, j)
	if t.rows[i] == nil {
		t.rows[i] = make([]int32, i+1)
	}
	if t.rows[i][j] == 0 {
		t.rows[i][j] = int32(len(t.states))
		t.states = append(t.states, state{young: i, old: j})
	}
	return t.rows[i][j]
}

// run visits the states reachable from start, younger nodes first, so that
// all ways into a state are known when it is visited.
func (t *trace) run(start int32) {
	for i := t.states[start].young; i >= 0; i-- {
		// A step from a pair with i leads to pairs of older nodes alone.
		for _, s := range t.rows[i] {
			if s == 0 {
				continue
			}
			from := t.states[s]
			if from.young == from.old || int(from.young) < t.founders {
				t.ends = append(t.ends, s)
				continue
			}
			t.parentsOf(from.young, func(q int32, share float64) {
				number := t.at(q, from.old)
				to := &t.states[number]
				to.weight += from.weight * share
				to.paths += from.paths
				if t.routed {
					t.arcs = append(t.arcs, arc{from: s, parent: q, share: share, next: to.arcs})
					to.arcs = int32(len(t.arcs))
				}
			})
		}
	}
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
		if st.arcs == 0 {
			st.routes = []route{{weight: 1, arc: -1}}
		} else {
			for a := st.arcs; a != 0; a = t.arcs[a-1].next {
				t.open(s, route{arc: a - 1})
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
