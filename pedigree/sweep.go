package pedigree

import (
	"context"
	"runtime"
	"slices"
	"sync"
)

// A sweep computes self of every node by the tabular method (Emik & Terrill 1949;
// Cruden 1949) in a window: the nodes are taken in their order, and of all
// relationships only those among nodes that still have a chick to come are kept,
//
//	A_ia = (A_sa + A_da)/2,   A_ii = 1 + A_sd/2
//
// A node leaves the window after its last chick. Time is the number of nodes that
// have chicks times the width of the window, memory the square of the width. Where
// generations overlap and hardly any two chicks share a sire, as in a flock that
// breeds at random, that is far less than a walk over all ancestors of each sire;
// where many birds breed for long it is more than there is memory. So which way to
// go is told from the pedigree before: see newSweep.
type sweep struct {
	p *Pedigree
	// enter and last are the first and the last batch in which a node is in the
	// window; enter is outside for one that never is.
	enter, last []int32
	batches     [][2]int32 // first node, and the one after the last
	entering    [][]int32  // founders that come in with a batch
	leaves      [][]int32  // chicks without chicks, by the batch that their younger parent enters with

	width int       // of the window
	a     []float64 // width × width, symmetric
	place []int32   // row of a node in the window
	nodes []int32   // of each row; those that have left are gone when the rows move up
}

// outside marks a node that is never in the window: it is no kin of any other but
// its chicks without chicks, and its one chick.
const outside = -1

const (
	// batch is the most nodes that enter together: their rows are worked out side by
	// side, and the columns written in one go, which memory is faster at.
	batch = 256
	// sweepBytes is the most memory of a window.
	sweepBytes = 512 << 20
	// walkSteps is the number of steps up to which walks are quick enough in any case.
	walkSteps = 2_000_000
	// stepsPerStep is how many steps of a sweep take the time of one of a walk.
	stepsPerStep = 3
	// sampled is how many walks are looked at to estimate the steps of all.
	sampled = 16
)

// newSweep returns the sweep of the pedigree if that is quicker than a walk from
// every sire and its window fits into memory, else nil. The choice rests on the
// pedigree alone, so that no figure depends on the machine.
func (p *Pedigree) newSweep(b broods) *sweep {
	walks := p.walks(b)
	if 2*len(walks)*p.breeders < walkSteps {
		return nil
	}
	s := &sweep{p: p}
	s.plan()
	steps := s.measure()
	if 8*s.width*s.width > sweepBytes {
		return nil
	}
	if visits := p.estimate(walks); visits < walkSteps || steps > stepsPerStep*visits {
		return nil
	}
	return s
}

// walks returns the breeders from which a walk goes out.
func (p *Pedigree) walks(b broods) []int32 {
	var walks []int32
	for i := range int32(p.breeders) {
		if p.kinds[i] != UnknownParent && slices.ContainsFunc(b.of(i), func(c int32) bool {
			return c == i || p.kinds[p.dam[c]] != UnknownParent
		}) {
			walks = append(walks, i)
		}
	}
	return walks
}

// estimate returns how many steps walks take, from the ancestors of some.
func (p *Pedigree) estimate(walks []int32) int {
	seen := make([]int32, p.breeders)
	var stack []int32
	steps, n := 0, min(sampled, len(walks))
	for k := range n {
		stack = append(stack[:0], walks[(2*k+1)*len(walks)/(2*n)])
		for len(stack) > 0 {
			i := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			steps++
			if int(i) < p.founders {
				continue
			}
			p.parentsOf(i, func(q int32, _ float64) {
				if seen[q] != int32(k+1) {
					seen[q] = int32(k + 1)
					stack = append(stack, q)
				}
			})
		}
	}
	return 2 * steps / max(1, n) * len(walks)
}

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

// measure sets the width of the window and returns the steps of the sweep.
func (s *sweep) measure() (steps int) {
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
		steps += inside * int(b[1]-b[0])
	}
	s.width = most + max(batch, most/4) // room for those that have left, so that rows seldom move up
	return steps
}

// run computes self of every node.
func (s *sweep) run(ctx context.Context) error {
	p := s.p
	s.a = make([]float64, s.width*s.width)
	s.place = make([]int32, p.breeders)
	for k, b := range s.batches {
		if err := ctx.Err(); err != nil {
			return err
		}
		if len(s.nodes)+len(s.entering[k])+int(b[1]-b[0]) > s.width {
			s.moveUp(int32(k))
		}
		for _, i := range s.entering[k] {
			s.admit(i)
		}
		s.sweep(b[0], b[1])
		for _, i := range s.leaves[k] {
			p.self[i] = 1 + s.relationship(p.sire[i], p.dam[i])/2
		}
	}
	return nil
}

func (s *sweep) row(place int32) []float64 {
	return s.a[int(place)*s.width : int(place+1)*s.width]
}

// relationship returns A of two nodes whose rows are there, or that are outside.
func (s *sweep) relationship(i, j int32) float64 {
	switch {
	case i == j:
		return s.p.self[i]
	case s.enter[i] == outside || s.enter[j] == outside:
		return 0
	}
	return s.row(s.place[i])[s.place[j]]
}

// admit gives a founder its row.
func (s *sweep) admit(i int32) {
	p, n := s.p, int32(len(s.nodes))
	row := s.row(n)
	clear(row[:n])
	for c := range n {
		s.row(c)[n] = 0
	}
	s.nodes, s.place[i] = append(s.nodes, i), n
	row[n] = p.self[i]
	r, related := slices.BinarySearch(p.related, i)
	if !related {
		return
	}
	for c, j := range p.related {
		if at := s.place[j]; at < n && s.nodes[at] == j {
			row[at] = p.relationship[r*len(p.related)+c]
			s.row(at)[n] = row[at]
		}
	}
}

// sweep gives the nodes of a batch their rows and columns.
func (s *sweep) sweep(from, to int32) {
	p, old := s.p, len(s.nodes)
	for i := from; i < to; i++ {
		s.place[i] = int32(len(s.nodes))
		s.nodes = append(s.nodes, i)
		p.self[i] = s.selfOf(i)
	}
	n := int(to - from)
	s.share(n, old, func(k int) {
		s.average(s.row(int32(old + k))[:old], from+int32(k))
	})
	for k := range n {
		row := s.row(int32(old + k))
		for l := range k {
			v := 0.0
			p.parentsOf(from+int32(k), func(q int32, share float64) {
				if s.enter[q] != outside {
					v += share * s.row(int32(old + l))[s.place[q]]
				}
			})
			row[old+l] = v
			s.row(int32(old + l))[old+k] = v
		}
		row[old+k] = p.self[from+int32(k)]
	}
	const strip = 8 // places in a line of memory
	s.share((old+strip-1)/strip, strip*n, func(k int) {
		for r := k * strip; r < min((k+1)*strip, old); r++ {
			row := s.row(int32(r))[old : old+n]
			for c := range row {
				row[c] = s.a[(old+c)*s.width+r]
			}
		}
	})
}

// average fills in the relationships of a node with those that have been there
// before: the mean of its parents'.
func (s *sweep) average(row []float64, i int32) {
	p := s.p
	var of [2][]float64
	if sire := p.sire[i]; sire >= 0 {
		for k, q := range [2]int32{sire, p.dam[i]} {
			if s.enter[q] != outside {
				of[k] = s.row(s.place[q])[:len(row)]
			}
		}
		switch {
		case of[0] != nil && of[1] != nil:
			for c, v := range of[0] {
				row[c] = (v + of[1][c]) / 2
			}
			return
		case of[0] == nil:
			of[0] = of[1]
		}
		if of[0] != nil {
			for c, v := range of[0] {
				row[c] = v / 2
			}
			return
		}
	}
	clear(row)
	p.parentsOf(i, func(q int32, share float64) {
		if s.enter[q] != outside {
			for c, v := range s.row(s.place[q])[:len(row)] {
				row[c] += share * v
			}
		}
	})
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

// moveUp takes the rows and columns of those that have left before a batch out of
// the window.
func (s *sweep) moveUp(now int32) {
	var stay []int32
	for place, i := range s.nodes {
		if s.last[i] >= now {
			stay = append(stay, int32(place))
		}
	}
	s.share(len(stay), len(stay), func(k int) {
		row := s.row(stay[k])
		for c, place := range stay {
			row[c] = row[place]
		}
	})
	for k, place := range stay {
		copy(s.row(int32(k))[:len(stay)], s.row(place))
		i := s.nodes[place]
		s.nodes[k], s.place[i] = i, int32(k)
	}
	s.nodes = s.nodes[:len(stay)]
}

// share calls do for 0 to n-1, on all cores if each of so much work makes that worth
// their while.
func (s *sweep) share(n, each int, do func(k int)) {
	cores := runtime.GOMAXPROCS(0)
	if n*each < 1<<16 {
		cores = 1
	}
	if cores == 1 {
		for k := range n {
			do(k)
		}
		return
	}
	var wg sync.WaitGroup
	for c := range cores {
		wg.Go(func() {
			for k := c * n / cores; k < (c+1)*n/cores; k++ {
				do(k)
			}
		})
	}
	wg.Wait()
}
