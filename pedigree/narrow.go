package pedigree

import (
	"context"
	"math/bits"
	"slices"
)

// A narrow sweep is a sweep (sweep.go) for a window of few places: one node after the
// other takes the first place that is free, and its relationships with all places are
// half the sum of two rows of a square. Nothing has to be found out for a batch, which
// is most of the work where batches are of one node, as in a line. Both work out the
// same to the last bit.
//
// It can keep some nodes in the window until the end: then these and their ancestors
// alone come in, and the relationships among them are there at last.
type narrow struct {
	f *flow

	kept   []bool  // by node
	chicks []int32 // by node: how many of its chicks are looked at
	start  []int32 // by node: the node with which it comes in, or outside
	until  []int32 // by node: the last that needs it
	// By the node that they wait for: chicks without chicks, which need no more than
	// their self, and nodes that leave the window.
	waiting, leaving lists

	width int // the most nodes that are in the window at a time
	steps int // relationships that are worked out

	a     []float64 // relationships of each place with every place, row by row
	place []int32   // of a node in the window, outside for one that is not
	taken []uint64  // bits of the places
	top   int       // no place from this one on was ever taken
}

// lists holds lists of nodes, by node; numbers are those of nodes + 1.
type lists struct{ first, next []int32 }

func (l *lists) reset(n int) { l.first, l.next = zeros(l.first, n), zeros(l.next, n) }

func (l *lists) add(at, i int32) { l.next[i], l.first[at] = l.first[at], i+1 }

func (l *lists) each(at int32, do func(i int32)) {
	for k := l.first[at]; k > 0; k = l.next[k-1] {
		do(k - 1)
	}
}

// room returns n elements of any value, in the memory of a slice where that is enough.
func room[T any](s []T, n int) []T { return slices.Grow(s[:0], n)[:n] }

// zeros returns zeros, in the memory of a slice where that is enough.
func zeros[T any](s []T, n int) []T {
	s = room(s, n)
	clear(s)
	return s
}

// newNarrow plans the sweep over all nodes of a pedigree.
func newNarrow(p *Pedigree) *narrow {
	x := &narrow{}
	x.plan(&p.flow, nil)
	return x
}

// plan plans a sweep over nodes to be kept and their ancestors, or over all nodes
// where none are to be kept.
func (x *narrow) plan(f *flow, keep []int) {
	x.f = f
	n, founders, all := int32(len(f.sire)), int32(f.founders), len(keep) == 0
	x.kept, x.chicks = zeros(x.kept, int(n)), zeros(x.chicks, int(n))
	x.start, x.until = zeros(x.start, int(n)), zeros(x.until, int(n))
	for _, i := range keep {
		x.kept[i] = true
	}
	comes := func(i int32) bool { return x.chicks[i] > 0 || x.kept[i] }
	for i := n - 1; i >= founders; i-- {
		if all || comes(i) {
			f.parentsOf(i, func(q int32, _ float64) { x.chicks[q]++ })
		}
	}
	for i := range founders {
		if x.start[i] = outside; x.kept[i] {
			x.start[i] = founders
		}
	}
	for _, i := range f.related {
		if comes(i) {
			x.start[i] = founders
		}
	}
	x.waiting.reset(int(n))
	for i := founders; i < n; i++ {
		if x.start[i] = outside; !comes(i) {
			continue
		}
		x.start[i], x.until[i] = i, i
		f.parentsOf(i, func(q int32, _ float64) {
			if q < founders && x.start[q] == outside && x.chicks[q] > 1 {
				x.start[q] = i
			}
			x.until[q] = i
		})
	}
	for i := founders; all && i < n; i++ {
		if !comes(i) {
			x.wait(i)
		}
	}
	x.measure()
}

// wait lets a chick without chicks wait for the parent that comes in last.
func (x *narrow) wait(i int32) {
	s, d := x.f.sire[i], x.f.dam[i]
	if x.start[s] == outside || x.start[d] == outside {
		x.f.self[i] = 1 // nobody is kin of such a parent
		return
	}
	at := max(x.start[s], x.start[d])
	x.until[s], x.until[d] = max(x.until[s], at), max(x.until[d], at)
	x.waiting.add(at, i)
}

// measure lists who leaves when, sets the width and counts the steps.
func (x *narrow) measure() {
	n, founders := int32(len(x.start)), int32(x.f.founders)
	x.leaving.reset(int(n))
	x.place = zeros(x.place, int(n)) // until the sweep: how many come in with each
	inside := 0
	for i, at := range x.start {
		switch {
		case at == outside:
			continue
		case at == n: // kept founders, of a pedigree of no others
			inside++
		default:
			x.place[at]++
		}
		if !x.kept[i] {
			x.leaving.add(max(at, x.until[i]), int32(i))
		}
	}
	x.width, x.steps = inside, 0
	for i := founders; i < n; i++ {
		inside += int(x.place[i])
		x.width = max(x.width, inside)
		x.steps += inside * int(x.place[i])
		x.leaving.each(i, func(int32) { inside-- })
	}
}

// run computes self of every node that is looked at.
func (x *narrow) run(ctx context.Context) error {
	n, founders := int32(len(x.start)), int32(x.f.founders)
	x.a = room(x.a, x.width*x.width)
	x.taken, x.top = zeros(x.taken, x.width/64+1), 0
	for i := range x.place {
		x.place[i] = outside
	}
	for i, at := range x.start[:founders] {
		if at == founders {
			x.admit(int32(i))
		}
	}
	x.relate()
	for i := founders; i < n; i++ {
		if i%1024 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		if x.start[i] == outside {
			continue
		}
		x.f.parentsOf(i, func(q int32, _ float64) {
			if x.start[q] == i && x.place[q] == outside {
				x.admit(q)
			}
		})
		x.enter(i)
		x.waiting.each(i, func(c int32) { x.f.self[c] = 1 + x.relationship(x.f.sire[c], x.f.dam[c])/2 })
		x.leaving.each(i, func(q int32) {
			x.taken[x.place[q]/64] &^= 1 << (x.place[q] % 64)
		})
	}
	return nil
}

// row returns the relationships of a place, by place.
func (x *narrow) row(place int32) []float64 {
	from := int(place) * x.width
	return x.a[from : from+x.top]
}

// relationship returns A of two nodes that are in the window or outside.
func (x *narrow) relationship(i, j int32) float64 {
	if i == j {
		return x.f.self[i]
	}
	a, b := x.place[i], x.place[j]
	if a == outside || b == outside {
		return 0
	}
	return x.row(a)[b]
}

// take gives a node the first place that is free.
func (x *narrow) take(i int32) int32 {
	w := 0
	for x.taken[w] == ^uint64(0) {
		w++
	}
	bit := bits.TrailingZeros64(^x.taken[w])
	x.taken[w] |= 1 << bit
	place := int32(64*w + bit)
	x.place[i] = place
	x.top = max(x.top, int(place)+1)
	return place
}

// admit brings in a founder, as if it were kin of nobody.
func (x *narrow) admit(i int32) {
	place := x.take(i)
	row := x.row(place)
	clear(row)
	x.settle(i, place, row)
}

// relate fills in the founders that are known to be kin, of whom all that come in
// are there.
func (x *narrow) relate() {
	n := len(x.f.related)
	for k, i := range x.f.related {
		for l, j := range x.f.related {
			if a, b := x.place[i], x.place[j]; a != outside && b != outside {
				x.row(a)[b] = x.f.relationship[k*n+l]
			}
		}
	}
}

// enter brings in a node whose parents are there, or outside.
func (x *narrow) enter(i int32) {
	f := x.f
	place := x.take(i)
	row := x.row(place)
	if s, d := f.sire[i], f.dam[i]; s >= 0 {
		f.self[i] = 1 + x.relationship(s, d)/2
		halve(row, x.rowOf(s), x.rowOf(d))
	} else {
		m := &f.mixtures[-1-s]
		self := 0.0
		for k, q := range m.node {
			for l, r := range m.node {
				self += m.weight[k] * m.weight[l] * x.relationship(q, r)
			}
		}
		f.self[i] = self
		clear(row)
		for k, q := range m.node {
			for c, v := range x.rowOf(q) {
				row[c] += m.weight[k] * v
			}
		}
	}
	x.settle(i, place, row)
}

// rowOf returns the row of a node, nil of one outside.
func (x *narrow) rowOf(i int32) []float64 {
	if x.place[i] == outside {
		return nil
	}
	return x.row(x.place[i])
}

// halve sets a row to half the sum of two others, of which nil is 0.
func halve(row, s, d []float64) {
	switch {
	case s == nil && d == nil:
		clear(row)
	case s == nil || d == nil:
		if s == nil {
			s = d
		}
		s = s[:len(row)]
		for k := range row {
			row[k] = s[k] / 2
		}
	default:
		s, d = s[:len(row)], d[:len(row)]
		for k := range row {
			row[k] = (s[k] + d[k]) / 2
		}
	}
}

// settle fills in the column of a node that came in with its row, and its self.
func (x *narrow) settle(i, place int32, row []float64) {
	row[place] = x.f.self[i]
	at := int(place)
	for _, v := range row {
		x.a[at] = v
		at += x.width
	}
}

// kinships returns the kinship of every two of the nodes that were kept, in an order
// of them, after run.
func (x *narrow) kinships(nodes []int) *KinshipMatrix {
	m, order := newKinshipMatrix(nodes)
	for r, i := range order {
		row := x.row(x.place[nodes[i]])
		for c, j := range order[:r+1] {
			m.f[triangle(r)+c] = row[x.place[nodes[j]]] / 2
		}
	}
	return m
}
