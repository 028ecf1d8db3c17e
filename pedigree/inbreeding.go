package pedigree

import (
	"cmp"
	"context"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
)

// inbreeding fills self and fresh of every node.
//
// F of a chick is half the relationship of its parents, A_sd = Σ_j l_j B_j y_j
// with l the flow from the sire to its ancestors. The chicks of one sire share
// that flow, and the pass back down to their dams visits each ancestor of the
// dams once for all of them: the idea of Meuwissen & Luo (1992), turned so that
// half and full sibs share it (Sargolzaei, Iwaisaki & Colleau 2005 share it by
// sire too). Memory is linear.
//
// A chick can be done when all its ancestors are; birds that have no chick are
// left for one last round, in which sires meet the most dams at a time. The
// rounds run one after the other, their sires side by side on all cores; no
// figure depends on how they are divided.
func (p *Pedigree) inbreeding(ctx context.Context) error {
	n := p.Len()
	p.self = make([]float64, n)
	p.fresh = make([]float64, n)
	for i := range p.founders {
		p.self[i], p.fresh[i] = 1, 1
	}
	for k, a := range p.related {
		p.self[a] = p.relationship[k*len(p.related)+k]
		p.fresh[a] = p.self[a]
	}
	if p.founders == n {
		return nil
	}

	rounds := p.rounds()
	workers := make([]*walker, runtime.GOMAXPROCS(0))
	for _, round := range rounds {
		if err := ctx.Err(); err != nil {
			return err
		}
		// Chicks of a sire stand together; a chunk is never cut inside one.
		slices.SortFunc(round, func(a, b int32) int {
			if c := cmp.Compare(p.sire[a], p.sire[b]); c != 0 {
				return c
			}
			return cmp.Compare(p.dam[a], p.dam[b])
		})
		p.runRound(round, workers)
	}
	return nil
}

// rounds divides the nodes with parents so that each stands in a later round
// than its ancestors.
func (p *Pedigree) rounds() [][]int32 {
	n := p.Len()
	rounds := make([][]int32, slices.Max(p.level[:p.breeders])+1)
	for i := p.founders; i < n; i++ {
		r := len(rounds) - 1
		if i < p.breeders {
			r = int(p.level[i]) - 1
		}
		rounds[r] = append(rounds[r], int32(i))
	}
	return rounds
}

// chunk is the number of nodes a core takes at a time: enough to hide the cost
// of taking them, few enough to keep all cores busy to the end of a round.
const chunk = 256

func (p *Pedigree) runRound(round []int32, workers []*walker) {
	var next atomic.Int64
	work := func(w *walker) {
		for {
			end := int(next.Add(chunk))
			start := end - chunk
			if start >= len(round) {
				return
			}
			// Chicks of the sire that the chunk before ends with are done
			// there, so begin with the next sire and end with a whole one.
			for start > 0 && start < len(round) && p.sire[round[start]] == p.sire[round[start-1]] {
				start++
			}
			end = min(end, len(round))
			for end < len(round) && p.sire[round[end]] == p.sire[round[end-1]] {
				end++
			}
			for start < end {
				stop := start + 1
				for stop < end && p.sire[round[stop]] == p.sire[round[start]] {
					stop++
				}
				w.sibs(round[start:stop])
				start = stop
			}
		}
	}
	busy := min(len(workers), (len(round)+chunk-1)/chunk)
	for k := range busy {
		if workers[k] == nil {
			workers[k] = newWalker(p)
		}
	}
	if busy == 1 {
		work(workers[0])
		return
	}
	var wg sync.WaitGroup
	for k := range busy {
		wg.Go(func() { work(workers[k]) })
	}
	wg.Wait()
}

// walker is one core's scratch for walks over a few nodes' ancestors.
type walker struct {
	p     *Pedigree
	cells []cell
	walk  uint32
	next  []int32 // chains of nodes by level
	head  []int32 // first node of each level's chain, -1 if none
	kept  []float64
}

type cell struct {
	amount           float64 // flow from the walk's origin, then B times it
	value            float64 // relationship with the origin
	sire, dam        int32
	reached, settled uint32 // the walk that set amount, value
}

func newWalker(p *Pedigree) *walker {
	w := &walker{
		p:     p,
		cells: make([]cell, p.breeders),
		next:  make([]int32, p.breeders),
		head:  make([]int32, slices.Max(p.level[:p.breeders])+1),
		kept:  make([]float64, len(p.related)),
	}
	for i := range w.head {
		w.head[i] = -1
	}
	for i := range w.cells {
		w.cells[i].sire = p.sire[i]
		w.cells[i].dam = p.dam[i]
	}
	return w
}

// sibs sets self and fresh of nodes that share one sire node, or of a mixture.
func (w *walker) sibs(nodes []int32) {
	p := w.p
	s := p.sire[nodes[0]]
	if s < 0 { // a mixture: self is pᵀAp
		i := nodes[0]
		m := &p.mixtures[-1-s]
		w.from(i)
		v := 0.0
		for k, q := range m.node {
			v += m.weight[k] * w.value(q)
		}
		p.self[i], p.fresh[i] = v, 0
		return
	}
	w.from(s)
	for _, i := range nodes {
		d := p.dam[i]
		p.self[i] = 1 + w.value(d)/2
		p.fresh[i] = 1 - (p.self[s]+p.self[d])/4
	}
}

// from spreads one unit of the origin over its ancestors and multiplies by B.
func (w *walker) from(origin int32) {
	p := w.p
	w.walk++
	w.reach(origin, 1)
	for level := p.level[origin]; level > 0; level-- {
		i := w.head[level]
		w.head[level] = -1
		for ; i >= 0; i = w.next[i] {
			c := &w.cells[i]
			v := c.amount
			c.amount = v * p.fresh[i]
			if s := c.sire; s >= 0 {
				w.reach(s, v/2)
				w.reach(c.dam, v/2)
			} else {
				m := &p.mixtures[-1-s]
				for k, q := range m.node {
					w.reach(q, v*m.weight[k])
				}
			}
		}
	}
	i := w.head[0]
	w.head[0] = -1
	for k, a := range p.related {
		w.kept[k] = 0
		if w.cells[a].reached == w.walk {
			w.kept[k] = w.cells[a].amount
		}
	}
	for ; i >= 0; i = w.next[i] {
		w.cells[i].amount *= p.fresh[i]
	}
	p.spreadRelated(w.kept, func(a int32, v float64) { w.cells[a].amount = v; w.cells[a].reached = w.walk })
}

func (w *walker) reach(i int32, v float64) {
	c := &w.cells[i]
	if c.reached == w.walk {
		c.amount += v
		return
	}
	c.reached = w.walk
	c.amount = v
	level := w.p.level[i]
	w.next[i] = w.head[level]
	w.head[level] = i
}

func (w *walker) value(i int32) float64 {
	c := &w.cells[i]
	if c.settled == w.walk {
		return c.value
	}
	c.settled = w.walk
	v := 0.0
	if c.reached == w.walk {
		v = c.amount
	}
	if int(i) >= w.p.founders {
		if s := c.sire; s >= 0 {
			v += (w.value(s) + w.value(c.dam)) / 2
		} else {
			m := &w.p.mixtures[-1-s]
			for k, q := range m.node {
				v += m.weight[k] * w.value(q)
			}
		}
	}
	c.value = v
	return v
}
