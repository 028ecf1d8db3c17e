package pedigree

import (
	"context"
	"runtime"
	"slices"
	"sync"

	"github.com/sourcegraph/conc"
)

// A sweep computes self of every node by the tabular method (Emik & Terrill 1949;
// Cruden 1949) in a window: the nodes are taken in their order, and of all
// relationships only those among nodes that still have a chick to come are kept,
// each once:
//
//	A_ia = (A_sa + A_da)/2,   A_ii = 1 + A_sd/2
//
// A node leaves the window after its last chick. Time is the number of nodes that
// have chicks times the width of the window, memory half the square of the width.
type sweep struct {
	p *Pedigree
	// enter and last are the first and the last batch in which a node is in the
	// window; enter is outside for one that never is.
	enter, last []int32
	batches     [][2]int32 // first node, and the one after the last
	entering    [][]int32  // founders that come in before a batch
	leaves      [][]int32  // chicks without chicks, by the batch that their younger parent enters with
	steps       int        // relationships that are worked out

	width int
	a     []float64 // relationships of each place with itself and those after it, row by row
	place []int32   // of a node in the window
	nodes []int32   // of each place; those that have left are gone when the rows move up

	parents []int32   // places of the parents of a batch, ascending
	from    []parents // of each node of the batch: numbers in parents + 1, 0 for nobody in the window
	mixed   []int     // uncertain parents among the batch
	number  []int32   // by place: its number in parents + 1
	buffers sync.Pool // of strips
}

// outside marks a node that is never in the window: it is no kin of any other but
// its chicks without chicks, and its one chick.
const outside = -1

const (
	// batch is the most nodes that enter together: the more, the more of the memory
	// that is read for their parents is of use.
	batch = 1024
	// strip is how many places are worked on together: their relationships with one
	// place before them stand side by side, so that memory is read in one go.
	strip = 32
)

// newSweep plans the sweep of a pedigree.
func newSweep(p *Pedigree) *sweep {
	s := &sweep{p: p}
	s.plan()
	s.measure()
	return s
}

// bytes is the memory that the window takes.
func (s *sweep) bytes() int { return 8 * triangle(s.width) }

// plan divides the nodes into batches of which none is a parent of another in the
// same, and finds when each enters and leaves.
func (s *sweep) plan() {
	p := s.p
	s.enter, s.last = make([]int32, p.breeders), make([]int32, p.breeders)
	chicks := make([]int32, p.founders)
	for i := range chicks {
		s.enter[i] = outside
	}
	first := int32(p.founders)
	for i := first; int(i) < p.breeders; i++ {
		full := i-first == batch
		p.parentsOf(i, func(q int32, _ float64) { full = full || q >= first })
		if full {
			s.batches = append(s.batches, [2]int32{first, i})
			first = i
		}
		now := int32(len(s.batches))
		s.enter[i], s.last[i] = now, now
		p.parentsOf(i, func(q int32, _ float64) {
			s.last[q] = now
			if int(q) < p.founders {
				if chicks[q]++; s.enter[q] == outside {
					s.enter[q] = now
				}
			}
		})
	}
	if int(first) < p.breeders {
		s.batches = append(s.batches, [2]int32{first, int32(p.breeders)})
	}
	for i := p.breeders; i < p.Len(); i++ {
		for _, q := range [2]int32{p.sire[i], p.dam[i]} {
			if int(q) < p.founders {
				chicks[q]++
			}
		}
	}
	for i, n := range chicks {
		if n < 2 {
			s.enter[i] = outside
		}
	}
	for _, a := range p.related {
		s.enter[a] = 0
	}
	s.entering, s.leaves = make([][]int32, len(s.batches)), make([][]int32, len(s.batches))
	for i := range int32(p.founders) {
		if at := s.enter[i]; at != outside {
			s.entering[at] = append(s.entering[at], i)
		}
	}
	for i := int32(p.breeders); int(i) < p.Len(); i++ {
		a, b := s.enter[p.sire[i]], s.enter[p.dam[i]]
		if a == outside || b == outside {
			p.self[i] = 1 // nobody is kin of such a parent
			continue
		}
		at := max(a, b)
		s.leaves[at] = append(s.leaves[at], i)
		s.last[p.sire[i]] = max(s.last[p.sire[i]], at)
		s.last[p.dam[i]] = max(s.last[p.dam[i]], at)
	}
}

// measure sets the width of the window and counts the steps.
func (s *sweep) measure() {
	change := make([]int, len(s.batches)+1)
	for i, at := range s.enter {
		if at != outside {
			change[at]++
			change[s.last[i]+1]--
		}
	}
	inside, most := 0, 0
	for k, b := range s.batches {
		inside += change[k]
		most = max(most, inside)
		s.steps += inside * int(b[1]-b[0])
	}
	s.width = most + max(64, most/4) // room for those that have left, so that rows seldom move up
}

// run computes self of every node.
func (s *sweep) run(ctx context.Context) error {
	p := s.p
	s.a = make([]float64, triangle(s.width))
	s.place, s.number = make([]int32, p.breeders), make([]int32, s.width)
	s.buffers.New = func() any { return new([strip][]float64) }
	for k, b := range s.batches {
		if err := ctx.Err(); err != nil {
			return err
		}
		if len(s.nodes)+len(s.entering[k])+int(b[1]-b[0]) > s.width {
			s.moveUp(int32(k))
		}
		s.admit(s.entering[k])
		if k == 0 {
			s.relate()
		}
		s.bring(b[0], b[1])
		for _, i := range s.leaves[k] {
			p.self[i] = 1 + s.relationship(p.sire[i], p.dam[i])/2
		}
	}
	return nil
}

// row returns the relationships of a place, by place: only those from it on are there.
func (s *sweep) row(place int) []float64 {
	return s.a[place*(2*s.width-place-1)/2:][:s.width]
}

// relationship returns A of two nodes that are in the window or outside.
func (s *sweep) relationship(i, j int32) float64 {
	switch {
	case i == j:
		return s.p.self[i]
	case s.enter[i] == outside || s.enter[j] == outside:
		return 0
	}
	a, b := s.place[i], s.place[j]
	return s.row(int(min(a, b)))[max(a, b)]
}

// take gives a node the next place.
func (s *sweep) take(i int32) {
	place := len(s.nodes)
	s.nodes, s.place[i] = append(s.nodes, i), int32(place)
	s.row(place)[place] = s.p.self[i]
}

// admit brings in founders, as if they were kin of nobody.
func (s *sweep) admit(founders []int32) {
	if len(founders) == 0 {
		return
	}
	first := len(s.nodes)
	for _, i := range founders {
		s.take(i)
	}
	for r := range s.nodes {
		clear(s.row(r)[max(first, r+1):len(s.nodes)])
	}
}

// relate fills in the founders that are known to be kin; they are all there from
// the beginning.
func (s *sweep) relate() {
	for k, i := range s.p.related {
		for l, j := range s.p.related[:k] {
			a, b := int(s.place[i]), int(s.place[j])
			s.row(min(a, b))[max(a, b)] = s.p.relationship[k*len(s.p.related)+l]
		}
	}
}

// bring lets the nodes of a batch come in.
func (s *sweep) bring(from, to int32) {
	old := len(s.nodes)
	s.name(from, to)
	for i := from; i < to; i++ {
		s.p.self[i] = s.selfOf(i)
		s.take(i)
	}
	// The parents are all older, so that first the old and then the new need no
	// relationship that is not there.
	s.share(0, old, func(r, end int) { s.fill(r, end, from, old) })
	s.share(old, len(s.nodes), func(r, end int) { s.fill(r, end, from, old) })
	for _, place := range s.parents {
		s.number[place] = 0
	}
}

// name numbers the parents of a batch, so that the nodes of it can tell theirs.
func (s *sweep) name(from, to int32) {
	p := s.p
	s.parents, s.from, s.mixed = s.parents[:0], s.from[:0], s.mixed[:0]
	for i := from; i < to; i++ {
		p.parentsOf(i, func(q int32, _ float64) {
			if s.enter[q] == outside {
				return
			}
			if place := s.place[q]; s.number[place] == 0 {
				s.number[place] = 1
				s.parents = append(s.parents, place)
			}
		})
	}
	slices.Sort(s.parents)
	for k, place := range s.parents {
		s.number[place] = int32(k + 1)
	}
	for i := from; i < to; i++ {
		if p.sire[i] < 0 {
			s.mixed = append(s.mixed, int(i-from))
			s.from = append(s.from, parents{})
			continue
		}
		s.from = append(s.from, parents{s.numberOf(p.sire[i]), s.numberOf(p.dam[i])})
	}
}

func (s *sweep) numberOf(i int32) int32 {
	if s.enter[i] == outside {
		return 0
	}
	return s.number[s.place[i]]
}

// fill works out the relationships of the places r to end-1, at most a strip, with
// those nodes of the batch that come after them. first is the node, old the place
// that the batch begins with.
func (s *sweep) fill(r, end int, first int32, old int) {
	with := s.buffers.Get().(*[strip][]float64) // of each place with each of the parents
	defer s.buffers.Put(with)
	for j := range end - r {
		with[j] = slices.Grow(with[j][:0], len(s.parents)+1)[:len(s.parents)+1]
		with[j][0] = 0
	}
	before, _ := slices.BinarySearch(s.parents, int32(r))
	for k, q := range s.parents[:before] {
		for j, v := range s.row(int(q))[r:end] {
			with[j][k+1] = v
		}
	}
	for i := r; i < end; i++ {
		row, with := s.row(i), with[i-r]
		for k, q := range s.parents[before:] {
			if int(q) >= i {
				with[before+k+1] = row[q]
			} else {
				with[before+k+1] = s.row(int(q))[i]
			}
		}
		from := max(0, i+1-old)
		row = row[old : old+len(s.from)]
		for k := from; k < len(row); k++ {
			f := s.from[k]
			row[k] = (with[f.sire] + with[f.dam]) / 2
		}
		for _, k := range s.mixed {
			if k < from {
				continue
			}
			row[k] = 0
			s.p.parentsOf(first+int32(k), func(q int32, share float64) {
				row[k] += share * with[s.numberOf(q)]
			})
		}
	}
}

// selfOf returns 1 + A_sd/2 of a bird, pᵀAp of an uncertain parent.
func (s *sweep) selfOf(i int32) float64 {
	p := s.p
	if p.sire[i] >= 0 {
		return 1 + s.relationship(p.sire[i], p.dam[i])/2
	}
	m := &p.mixtures[-1-p.sire[i]]
	v := 0.0
	for k, q := range m.node {
		for l, r := range m.node {
			v += m.weight[k] * m.weight[l] * s.relationship(q, r)
		}
	}
	return v
}

// moveUp takes the places of those that have left before a batch out of the window.
func (s *sweep) moveUp(now int32) {
	var stay []int32
	for place, i := range s.nodes {
		if s.last[i] >= now {
			stay = append(stay, int32(place))
		}
	}
	s.share(0, len(stay), func(k, end int) {
		for ; k < end; k++ {
			row := s.row(int(stay[k]))
			to := row[stay[k]:]
			for c, place := range stay[k:] {
				to[c] = row[place]
			}
		}
	})
	for k, place := range stay {
		copy(s.row(k)[k:len(stay)], s.row(int(place))[place:])
		i := s.nodes[place]
		s.nodes[k], s.place[i] = i, int32(k)
	}
	s.nodes = s.nodes[:len(stay)]
}

// share calls do for the places r to end-1 strip by strip, on all cores if there is
// enough to do.
func (s *sweep) share(r, end int, do func(r, end int)) {
	strips := (end - r + strip - 1) / strip
	cores := runtime.GOMAXPROCS(0)
	if (end-r)*len(s.nodes) < 1<<17 {
		cores = 1
	}
	work := func(core int) {
		for k := core; k < strips; k += cores {
			do(r+k*strip, min(end, r+(k+1)*strip))
		}
	}
	if cores == 1 {
		work(0)
		return
	}
	var wg conc.WaitGroup
	for core := range cores {
		wg.Go(func() { work(core) })
	}
	wg.Wait()
}
