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
	from   []parents // of each breeder, one beside the other, as p.sire and p.dam have them
	broods broods
	levels []level // breeders by the generations behind them
}

// level is the breeders with as many generations behind them.
type level struct {
	breeders []int32
	groups   [][]int32 // the sires among them that walk, those that walk abreast together
}

// newWalks divides the sires into groups, and sets self of the nodes that need no
// walk: nobody is kin of an unknown parent.
func newWalks(p *Pedigree) *walks {
	w := &walks{p: p, from: make([]parents, p.breeders), broods: p.broods()}
	for i := range w.from {
		w.from[i] = parents{p.sire[i], p.dam[i]}
	}
	w.levels = make([]level, slices.Max(p.level[:p.breeders])+1)
	sizes := make([]int32, len(w.levels))
	for _, k := range p.level[:p.breeders] {
		sizes[k]++
	}
	left := make([]int32, p.breeders)
	for k, size := range sizes {
		w.levels[k].breeders, left = left[:0:size], left[size:]
	}
	for i := range int32(p.breeders) {
		l := &w.levels[p.level[i]]
		l.breeders = append(l.breeders, i)
	}
	for k := range w.levels {
		l := &w.levels[k]
		var sires []int32
		for _, i := range l.breeders {
			if w.walks(i) {
				sires = append(sires, i)
			}
		}
		slices.SortFunc(sires, func(a, b int32) int {
			return cmp.Or(cmp.Compare(p.sire[a], p.sire[b]), cmp.Compare(p.dam[a], p.dam[b]), cmp.Compare(a, b))
		})
		l.groups = slices.Collect(slices.Chunk(sires, abreast))
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
	for _, l := range w.levels {
		for _, i := range l.breeders {
			w.p.freshen(i)
		}
		if len(l.groups) == 0 {
			continue
		}
		err := onAllCores(ctx, len(l.groups), func(next func() (int, bool)) {
			var k *walker
			select {
			case k = <-walkers:
			default:
				k = newWalker(w)
			}
			for g, ok := next(); ok; g, ok = next() {
				k.walk(l.groups[g])
			}
			walkers <- k
		})
		if err != nil {
			return err
		}
	}
	return ctx.Err()
}

// estimate returns how many visits to a node all walks take, from some of them that
// stand far from each other: few where these are long.
func (w *walks) estimate() int {
	const fewest, most = 4, 16
	var all [][]int32
	for _, l := range w.levels {
		all = append(all, l.groups...)
	}
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
		if from := w.from[i]; from.sire >= 0 {
			of.add(from.sire)
			of.add(from.dam)
			return
		}
		p.parentsOf(i, func(q int32, _ float64) { of.add(q) })
	})
}

// walker is one core's scratch for walks. What a walk has of its nodes stands in their
// order and without gaps, so that it is close together whatever the number of birds.
type walker struct {
	*walks
	reached *set      // the sires that walk and their ancestors
	flow    []amounts // to each of these from each of the sires, then B times that
	settled *set      // mates of the sires and ancestors of these
	related []amounts // each of these to each of the sires
}

func newWalker(w *walks) *walker {
	return &walker{walks: w, reached: newSet(w.p.breeders), settled: newSet(w.p.breeders)}
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
					p.self[c] = 1 + w.related[w.settled.rank(p.dam[c])][k]/2
				}
				continue
			}
			v := 0.0
			p.parentsOf(s, func(q int32, share float64) { v += share * w.related[w.settled.rank(q)][k] })
			p.self[s] = v
		}
	}
	w.reached.clear()
	w.settled.clear()
}

// up spreads one unit of each sire over its ancestors and multiplies by B.
func (w *walker) up(sires []int32) {
	p, reached := w.p, w.reached
	for _, s := range sires {
		reached.add(s)
	}
	for _, a := range p.related {
		reached.add(a)
	}
	w.ancestors(reached)
	w.flow = zeros(w.flow, reached.number())
	at := func(i int32) *amounts { return &w.flow[reached.rank(i)] }
	for k, s := range sires {
		at(s)[k] = 1
	}
	k := len(w.flow)
	reached.down(func(i int32) {
		k--
		if int(i) < p.founders {
			return // B is 1, but for those related to others
		}
		x := &w.flow[k]
		if from := w.from[i]; from.sire >= 0 {
			x.pass(at(from.sire), at(from.dam), p.fresh[i])
			return
		}
		p.parentsOf(i, func(q int32, share float64) { at(q).add(x, share) })
		*x = amounts{}
	})
	p.relateFoundersAbreast(at)
}

// down works out the relationships of the sires with their mates and all ancestors
// of these.
func (w *walker) down(sires []int32) {
	p, settled := w.p, w.settled
	w.mates(sires, settled)
	w.ancestors(settled)
	w.related = room(w.related, settled.number())
	at := func(i int32) *amounts { return &w.related[settled.rank(i)] }
	k := 0
	settled.up(func(i int32) {
		x := &w.related[k]
		k++
		if *x = (amounts{}); w.reached.has(i) {
			*x = w.flow[w.reached.rank(i)]
		}
		if int(i) < p.founders {
			return
		}
		if from := w.from[i]; from.sire >= 0 {
			x.inherit(at(from.sire), at(from.dam))
			return
		}
		p.parentsOf(i, func(q int32, share float64) { x.add(at(q), share) })
	})
}

// set is a set of nodes, run through in their order in either direction. Its bits
// stand in words, and a bit for each word tells whether it has any, so that a
// small set among many nodes is run through at once too.
type set struct {
	words []word
	some  []uint64
}

// word is 64 nodes of a set.
type word struct {
	bits   uint64
	before int // how many nodes of the set stand before them; see number
}

func newSet(n int) *set {
	words := (n + 63) / 64
	return &set{make([]word, words), make([]uint64, (words+63)/64)}
}

// add adds a node. Whether it is there already is not asked: no processor can guess that.
func (s *set) add(i int32) {
	w := uint32(i) / 64
	s.words[w].bits |= 1 << (uint32(i) % 64)
	s.some[w/64] |= 1 << (w % 64)
}

// has reports whether a node is in the set.
func (s *set) has(i int32) bool { return s.words[uint32(i)/64].bits>>(uint32(i)%64)&1 != 0 }

// number makes rank ready and returns how many nodes there are.
func (s *set) number() int {
	n := 0
	for a, some := range s.some {
		for ; some != 0; some &= some - 1 {
			w := &s.words[64*a+bits.TrailingZeros64(some)]
			w.before = n
			n += bits.OnesCount64(w.bits)
		}
	}
	return n
}

// rank returns how many nodes of the set stand before one of them.
func (s *set) rank(i int32) int {
	w := &s.words[uint32(i)/64]
	return w.before + bits.OnesCount64(w.bits&(1<<(uint32(i)%64)-1))
}

// up calls do for each node, the lowest first.
func (s *set) up(do func(i int32)) {
	for a, some := range s.some {
		for ; some != 0; some &= some - 1 {
			w := 64*a + bits.TrailingZeros64(some)
			for word := s.words[w].bits; word != 0; word &= word - 1 {
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
			for left := ^uint64(0); s.words[w].bits&left != 0; {
				b := 63 - bits.LeadingZeros64(s.words[w].bits&left)
				left = 1<<b - 1
				do(int32(64*w + b))
			}
		}
	}
}

func (s *set) clear() {
	for a, some := range s.some {
		for ; some != 0; some &= some - 1 {
			s.words[64*a+bits.TrailingZeros64(some)].bits = 0
		}
		s.some[a] = 0
	}
}
