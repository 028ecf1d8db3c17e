package pedigree

import (
	"cmp"
	"context"
	"math"
	"math/bits"
	"runtime"
	"slices"
)

// walks compute self of every node by walks over the ancestors of the sires and
// of their mates.
//
// F of a chick is half the relationship of its parents, A_sd = Σ_j l_j B_j y_j
// with l the flow from the sire to its ancestors. The chicks of one sire share
// that flow, and the pass back down to their dams visits each ancestor of the
// dams once for all of them: the idea of Meuwissen & Luo (1992), turned so that
// half and full sibs share it (Sargolzaei, Iwaisaki & Colleau 2005 share it by
// sire too). A few sires walk abreast, those of the same sire together: their
// ancestors are much the same. Memory is linear.
//
// The flow needs B of the sire's ancestors alone. So sires with as many
// generations behind them stand side by side on all cores once those with fewer
// are done; no figure depends on how they are divided.
type walks struct {
	p      *Pedigree
	broods broods
	groups [][][]int32 // sires that walk abreast, by the generations behind them
	level  [][]int32   // breeders by the generations behind them
}

// newWalks divides the sires into groups, and sets self of the nodes that need no
// walk: nobody is kin of an unknown parent.
func newWalks(p *Pedigree) *walks {
	w := &walks{p: p, broods: p.broods()}
	levels := slices.Max(p.level[:p.breeders]) + 1
	w.level, w.groups = make([][]int32, levels), make([][][]int32, levels)
	sires := make([][]int32, levels)
	for i := range int32(p.breeders) {
		level := p.level[i]
		w.level[level] = append(w.level[level], i)
		if w.walks(i) {
			sires[level] = append(sires[level], i)
		}
	}
	for level, list := range sires {
		slices.SortFunc(list, func(a, b int32) int {
			return cmp.Or(cmp.Compare(p.sire[a], p.sire[b]), cmp.Compare(p.dam[a], p.dam[b]), cmp.Compare(a, b))
		})
		w.groups[level] = slices.Collect(slices.Chunk(list, abreast))
	}
	return w
}

// walks reports whether a walk has to go out from a breeder, and sets self of
// those of its brood for which none has to.
func (w *walks) walks(i int32) bool {
	p, any := w.p, false
	for _, c := range w.broods.of(i) {
		if c != i && (p.kinds[i] == UnknownParent || p.kinds[p.dam[c]] == UnknownParent) {
			p.self[c] = 1
		} else {
			any = true
		}
	}
	return any
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

// run computes self of every node, and fresh of the breeders.
func (w *walks) run(ctx context.Context) error {
	walkers := make(chan *walker, runtime.GOMAXPROCS(0)) // those that are made and free
	for level, groups := range w.groups {
		for _, i := range w.level[level] {
			w.p.freshen(i)
		}
		err := onAllCores(ctx, len(groups), func(next func() (int, bool)) {
			var k *walker
			select {
			case k = <-walkers:
			default:
				k = newWalker(w)
			}
			for g, ok := next(); ok; g, ok = next() {
				k.walk(groups[g])
			}
			walkers <- k
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// estimate returns how many visits to a node all walks take, from some of them that
// stand far from each other: few where these are long.
func (w *walks) estimate() int {
	const fewest, most = 4, 16
	all := slices.Concat(w.groups...)
	visits, looked := 0, 0
	set := newSet(w.p.breeders)
	count := func() {
		w.ancestors(set)
		set.up(func(int32) { visits++ })
		set.clear()
	}
	for looked < min(most, len(all)) && (looked < fewest || visits < w.p.breeders) {
		_, at := math.Modf(0.5 + float64(looked)*math.Phi) // any few of these are spread evenly
		group := all[int(at*float64(len(all)))]
		for _, s := range group {
			set.add(s)
		}
		count()
		w.mates(group, set)
		count()
		looked++
	}
	return visits * len(all) / max(1, looked)
}

// mates adds the nodes to a set whose relationships with some sires are asked for.
func (w *walks) mates(sires []int32, to *set) {
	p := w.p
	for _, s := range sires {
		for _, c := range w.broods.of(s) {
			if c == s {
				p.parentsOf(s, func(q int32, _ float64) { to.add(q) })
			} else if p.kinds[p.dam[c]] != UnknownParent {
				to.add(p.dam[c])
			}
		}
	}
}

// ancestors adds all ancestors of its nodes to a set.
func (w *walks) ancestors(of *set) {
	p := w.p
	of.down(func(i int32) {
		if int(i) < p.founders {
			return
		}
		if s := p.sire[i]; s >= 0 {
			of.add(s)
			of.add(p.dam[i])
			return
		}
		p.parentsOf(i, func(q int32, _ float64) { of.add(q) })
	})
}

// walker is one core's scratch for walks.
type walker struct {
	*walks
	// amounts of each node, by the sire that walks: the flow from it, then B times
	// that, then the relationship with it. They count where reached or settled.
	amounts          []amounts
	reached, settled *set
}

func newWalker(w *walks) *walker {
	n := w.p.breeders
	return &walker{
		walks:   w,
		amounts: make([]amounts, n),
		reached: newSet(n),
		settled: newSet(n),
	}
}

// walk sets self of what walks from the sires give: 1 + A_sd/2 of a chick, pᵀAp of
// a sire that is a mixture.
func (w *walker) walk(sires []int32) {
	p := w.p
	w.up(sires)
	w.down(sires)
	for k, s := range sires {
		for _, c := range w.broods.of(s) {
			if c != s {
				if p.kinds[p.dam[c]] != UnknownParent {
					p.self[c] = 1 + w.amounts[p.dam[c]][k]/2
				}
				continue
			}
			v := 0.0
			p.parentsOf(s, func(q int32, share float64) { v += share * w.amounts[q][k] })
			p.self[s] = v
		}
	}
	w.reached.clear()
	w.settled.clear()
}

// up spreads one unit of each sire over its ancestors and multiplies by B.
func (w *walker) up(sires []int32) {
	p := w.p
	for k, s := range sires {
		w.reach(s)[k] = 1
	}
	w.reached.down(func(i int32) {
		if int(i) < p.founders {
			return // B is 1, but for those related to others
		}
		x := &w.amounts[i]
		if s := p.sire[i]; s >= 0 {
			x.pass(w.reach(s), w.reach(p.dam[i]), p.fresh[i])
			return
		}
		p.parentsOf(i, func(q int32, share float64) { w.reach(q).add(x, share) })
		*x = amounts{}
	})
	p.relateFoundersAbreast(w.reach)
}

// reach returns the amounts of a node, 0 when the walk first comes to it.
func (w *walker) reach(i int32) *amounts {
	x := &w.amounts[i]
	if w.reached.add(i) {
		*x = amounts{}
	}
	return x
}

// down works out the relationships of the sires with their mates and all ancestors
// of these.
func (w *walker) down(sires []int32) {
	p := w.p
	w.mates(sires, w.settled)
	w.ancestors(w.settled)
	w.settled.up(func(i int32) {
		x := w.reach(i)
		if int(i) < p.founders {
			return
		}
		if s := p.sire[i]; s >= 0 {
			x.inherit(&w.amounts[s], &w.amounts[p.dam[i]])
			return
		}
		p.parentsOf(i, func(q int32, share float64) { x.add(&w.amounts[q], share) })
	})
}

// set is a set of nodes, run through in their order in either direction. Its bits
// stand in words, and a bit for each word tells whether it has any, so that a
// small set among many nodes is run through at once too.
type set struct{ words, some []uint64 }

func newSet(n int) *set {
	words := (n + 63) / 64
	return &set{make([]uint64, words), make([]uint64, (words+63)/64)}
}

// add reports whether the node was not there before.
func (s *set) add(i int32) bool {
	w, bit := uint32(i)/64, uint64(1)<<(uint32(i)%64)
	if s.words[w]&bit != 0 {
		return false
	}
	s.words[w] |= bit
	s.some[w/64] |= 1 << (w % 64)
	return true
}

// up calls do for each node, the lowest first.
func (s *set) up(do func(i int32)) {
	for a, some := range s.some {
		for ; some != 0; some &= some - 1 {
			w := 64*a + bits.TrailingZeros64(some)
			for word := s.words[w]; word != 0; word &= word - 1 {
				do(int32(64*w + bits.TrailingZeros64(word)))
			}
		}
	}
}

// down calls do for each node, the highest first; do may add nodes lower than its own.
func (s *set) down(do func(i int32)) {
	for a := len(s.some) - 1; a >= 0; a-- {
		for left := ^uint64(0); s.some[a]&left != 0; {
			b := 63 - bits.LeadingZeros64(s.some[a]&left)
			left = 1<<b - 1
			w := 64*a + b
			for left := ^uint64(0); s.words[w]&left != 0; {
				b := 63 - bits.LeadingZeros64(s.words[w]&left)
				left = 1<<b - 1
				do(int32(64*w + b))
			}
		}
	}
}

func (s *set) clear() {
	for a, some := range s.some {
		for ; some != 0; some &= some - 1 {
			s.words[64*a+bits.TrailingZeros64(some)] = 0
		}
		s.some[a] = 0
	}
}
