package season

import (
	"math"
	"slices"
)

// network finds the cheapest way to send units from its first node to its
// last, by successive shortest paths with potentials (Edmonds & Karp 1972).
// Arcs lead from lower to higher nodes. Capacities are whole, so the flow is.
type network struct {
	nodes int
	arcs  []arc
	first []int32 // arcs of node v, forward and backward: at[first[v]:first[v+1]]
	at    []int32 // an arc's number, or its complement for the way back

	potential, distance []float64
	via                 []int32
	done                []bool
	heap                []reached
}

// arc is one arc; cost and limit are set anew for every solution.
type arc struct {
	from, to int32
	limit    int32
	flow     int32
	cost     float64
}

type reached struct {
	distance float64
	node     int32
}

// index prepares the adjacency after the arcs have been laid.
func (g *network) index() {
	g.first = make([]int32, g.nodes+1)
	for k := range g.arcs {
		g.first[g.arcs[k].from+1]++
		g.first[g.arcs[k].to+1]++
	}
	for v := range g.nodes {
		g.first[v+1] += g.first[v]
	}
	fill := slices.Clone(g.first[:g.nodes])
	g.at = make([]int32, 2*len(g.arcs))
	for k := range g.arcs {
		a := &g.arcs[k]
		g.at[fill[a.from]] = int32(k)
		fill[a.from]++
		g.at[fill[a.to]] = int32(^k)
		fill[a.to]++
	}
	g.potential = make([]float64, g.nodes)
	g.distance = make([]float64, g.nodes)
	g.via = make([]int32, g.nodes)
	g.done = make([]bool, g.nodes)
}

// send sends units and returns a lower bound on their cost, which is the cost
// but for rounding: the value of the dual problem at the final potentials.
// Weak duality makes it a bound whatever rounding did to the potentials. ok is
// false if so many units cannot be sent. work counts the arcs looked at.
func (g *network) send(units int, work *int) (bound float64, ok bool) {
	g.start()
	*work += len(g.arcs)
	last := int32(g.nodes - 1)
	for range units {
		if !g.shortest(work) {
			return 0, false
		}
		for v := int32(0); v < int32(g.nodes); v++ {
			g.potential[v] += math.Min(g.distance[v], g.distance[last])
		}
		for v := last; v != 0; {
			if k := g.via[v]; k >= 0 {
				g.arcs[k].flow++
				v = g.arcs[k].from
			} else {
				g.arcs[^k].flow--
				v = g.arcs[^k].to
			}
		}
	}
	bound = float64(units) * (g.potential[last] - g.potential[0])
	for k := range g.arcs {
		if reduced := g.reduced(k); reduced < 0 {
			bound += float64(g.arcs[k].limit) * reduced
		}
	}
	return bound, true
}

// reduced returns the reduced cost of an arc.
func (g *network) reduced(k int) float64 {
	a := &g.arcs[k]
	return a.cost + g.potential[a.from] - g.potential[a.to]
}

// start clears the flow and sets the potentials to the distances from the
// first node; costs may be negative, there are no cycles.
func (g *network) start() {
	for v := range g.potential {
		g.potential[v] = math.Inf(1)
	}
	g.potential[0] = 0
	for v := range g.nodes {
		for _, k := range g.at[g.first[v]:g.first[v+1]] {
			if k < 0 {
				continue
			}
			a := &g.arcs[k]
			a.flow = 0
			if d := g.potential[v] + a.cost; a.limit > 0 && d < g.potential[a.to] {
				g.potential[a.to] = d
			}
		}
	}
	far := 0.0
	for _, d := range g.potential {
		if !math.IsInf(d, 1) {
			far = max(far, d)
		}
	}
	for v, d := range g.potential {
		if math.IsInf(d, 1) {
			g.potential[v] = far // not reached, and so without arcs to those reached
		}
	}
}

// shortest computes distances from the first node over reduced costs, and
// reports whether the last can be reached.
func (g *network) shortest(work *int) bool {
	last := int32(g.nodes - 1)
	for v := range g.distance {
		g.distance[v] = math.Inf(1)
		g.done[v] = false
	}
	g.distance[0] = 0
	g.heap = append(g.heap[:0], reached{0, 0})
	for len(g.heap) > 0 {
		v := g.pop().node
		if g.done[v] {
			continue
		}
		g.done[v] = true
		if v == last {
			return true
		}
		here := g.distance[v]
		next := g.at[g.first[v]:g.first[v+1]]
		*work += 4 + len(next)
		for _, k := range next {
			var to int32
			var step float64
			if k >= 0 {
				a := &g.arcs[k]
				if a.flow >= a.limit || g.done[a.to] {
					continue
				}
				to, step = a.to, a.cost+g.potential[v]-g.potential[a.to]
			} else {
				a := &g.arcs[^k]
				if a.flow <= 0 || g.done[a.from] {
					continue
				}
				to, step = a.from, -a.cost+g.potential[v]-g.potential[a.from]
			}
			if d := here + max(0, step); d < g.distance[to] {
				g.distance[to] = d
				g.via[to] = k
				g.push(reached{d, to})
			}
		}
	}
	return false
}

func (r reached) before(q reached) bool {
	return r.distance < q.distance || r.distance == q.distance && r.node < q.node
}

func (g *network) push(r reached) {
	h := append(g.heap, r)
	i := len(h) - 1
	for i > 0 {
		up := (i - 1) / 2
		if !h[i].before(h[up]) {
			break
		}
		h[i], h[up] = h[up], h[i]
		i = up
	}
	g.heap = h
}

func (g *network) pop() reached {
	h := g.heap
	top := h[0]
	n := len(h) - 1
	h[0] = h[n]
	h = h[:n]
	for i := 0; ; {
		c := 2*i + 1
		if c >= n {
			break
		}
		if c+1 < n && h[c+1].before(h[c]) {
			c++
		}
		if !h[c].before(h[i]) {
			break
		}
		h[i], h[c] = h[c], h[i]
		i = c
	}
	g.heap = h
	return top
}
