package pedigree

import (
	"context"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
)

// inbreeding fills self and fresh of every node, by a sweep over all in their order
// or, where the kin among breeders are more than there is memory for or few sires
// have many chicks, by walks over the ancestors of each.
//
// F of a chick is half the relationship of its parents, A_sd = Σ_j l_j B_j y_j
// with l the flow from the sire to its ancestors. The chicks of one sire share
// that flow, and the pass back down to their dams visits each ancestor of the
// dams once for all of them: the idea of Meuwissen & Luo (1992), turned so that
// half and full sibs share it (Sargolzaei, Iwaisaki & Colleau 2005 share it by
// sire too). Memory is linear.
//
// The flow needs B of the sire's ancestors alone. So all chicks of a sire, of
// whatever dams, are done together once the sire's ancestors are. Sires with
// as many generations behind them stand side by side on all cores; no figure
// depends on how they are divided.
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

	broods := p.broods()
	if s := p.newSweep(broods); s != nil {
		if err := s.run(ctx); err != nil {
			return err
		}
	} else if err := p.walk(ctx, broods); err != nil {
		return err
	}
	for i := p.founders; i < n; i++ {
		p.freshen(int32(i))
	}
	return nil
}

// walk fills self by a walk from every sire, and fresh of the breeders.
func (p *Pedigree) walk(ctx context.Context, broods broods) error {
	workers := make([]*walker, runtime.GOMAXPROCS(0))
	for _, round := range p.rounds() {
		if err := ctx.Err(); err != nil {
			return err
		}
		for _, i := range round {
			p.freshen(i)
		}
		p.runRound(round, broods, workers)
	}
	return nil
}

// freshen sets fresh of a node from self of its parents.
func (p *Pedigree) freshen(i int32) {
	if int(i) >= p.founders && p.sire[i] >= 0 {
		p.fresh[i] = 1 - (p.self[p.sire[i]]+p.self[p.dam[i]])/4
	}
}

// broods lists for every breeder the nodes whose self a walk from it gives: the
// chicks it is the sire of or, of a mixture, also itself. Those of i are
// node[first[i]:first[i+1]].
type broods struct{ first, node []int32 }

func (p *Pedigree) broods() broods {
	origin := func(i int) int32 {
		if p.sire[i] < 0 {
			return int32(i)
		}
		return p.sire[i]
	}
	b := broods{make([]int32, p.breeders+2), make([]int32, p.Len()-p.founders)}
	// Counted two places ahead, then filled one ahead, first is left in place.
	for i := p.founders; i < p.Len(); i++ {
		b.first[origin(i)+2]++
	}
	for i := range p.breeders {
		b.first[i+2] += b.first[i+1]
	}
	for i := p.founders; i < p.Len(); i++ {
		at := &b.first[origin(i)+1]
		b.node[*at] = int32(i)
		*at++
	}
	return b
}

func (b *broods) of(i int32) []int32 { return b.node[b.first[i]:b.first[i+1]] }

// rounds divides the breeders by the number of generations behind them.
func (p *Pedigree) rounds() [][]int32 {
	rounds := make([][]int32, slices.Max(p.level[:p.breeders])+1)
	for i := range p.breeders {
		rounds[p.level[i]] = append(rounds[p.level[i]], int32(i))
	}
	return rounds
}

// chunk is the number of breeders a core takes at a time: enough to hide the
// cost of taking them, few enough to keep all cores busy to the end of a round.
const chunk = 64

func (p *Pedigree) runRound(round []int32, broods broods, workers []*walker) {
	var next atomic.Int64
	work := func(w *walker) {
		for {
			end := int(next.Add(chunk))
			start := end - chunk
			if start >= len(round) {
				return
			}
			for _, i := range round[start:min(end, len(round))] {
				if brood := broods.of(i); len(brood) > 0 {
					w.brood(i, brood)
				}
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
	// x is the flow from the walk's origin, then B times it, then the
	// relationship with the origin.
	x                float64
	sire, dam        int32
	reached, settled uint32 // the walk that set x to the first, the last of these
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

// brood sets self of the nodes that a walk from the sire gives: 1 + A_sd/2 of a
// chick, pᵀAp of the sire itself, a mixture.
func (w *walker) brood(sire int32, nodes []int32) {
	p := w.p
	if p.kinds[sire] == UnknownParent { // has no kin but its one chick
		p.self[nodes[0]] = 1
		return
	}
	walked := false
	for _, i := range nodes {
		if i != sire && p.kinds[p.dam[i]] == UnknownParent {
			p.self[i] = 1 // without a walk: nobody is kin of an unknown dam
			continue
		}
		if !walked {
			w.from(sire)
			walked = true
		}
		if i != sire {
			p.self[i] = 1 + w.value(p.dam[i])/2
			continue
		}
		m := &p.mixtures[-1-p.sire[i]]
		v := 0.0
		for k, q := range m.node {
			v += m.weight[k] * w.value(q)
		}
		p.self[i] = v
	}
}

// from spreads one unit of the origin over its ancestors and multiplies by B.
func (w *walker) from(origin int32) {
	p := w.p
	w.walk++
	*w.reach(origin) = 1
	for level := p.level[origin]; level > 0; level-- {
		i := w.head[level]
		w.head[level] = -1
		for ; i >= 0; i = w.next[i] {
			c := &w.cells[i]
			v := c.x
			c.x = v * p.fresh[i]
			if s := c.sire; s >= 0 {
				*w.reach(s) += v / 2
				*w.reach(c.dam) += v / 2
			} else {
				m := &p.mixtures[-1-s]
				for k, q := range m.node {
					*w.reach(q) += v * m.weight[k]
				}
			}
		}
	}
	// B of a founder is 1 unless it is related to others.
	for k, a := range p.related {
		w.kept[k] = *w.reach(a)
	}
	p.spreadRelated(w.kept, func(a int32, v float64) { w.cells[a].x = v })
	w.head[0] = -1
}

// reach returns x of a node, 0 when the walk first comes to it.
func (w *walker) reach(i int32) *float64 {
	c := &w.cells[i]
	if c.reached != w.walk {
		c.reached = w.walk
		c.x = 0
		level := w.p.level[i]
		w.next[i] = w.head[level]
		w.head[level] = i
	}
	return &c.x
}

// value returns the relationship of a node with the origin of the walk.
func (w *walker) value(i int32) float64 {
	c := &w.cells[i]
	if c.settled == w.walk {
		return c.x
	}
	c.settled = w.walk
	v := 0.0
	if c.reached == w.walk {
		v = c.x
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
	c.x = v
	return v
}
