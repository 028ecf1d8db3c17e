package pedigree

import (
	"context"
	"math"
	"math/bits"
	"slices"
	"sync"
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
// ancestors are much the same. Who is to be visited, and where what is worked out
// of each will stand, is found before, so that the passes themselves have nothing
// to decide and the processor can fetch ahead of them. Memory is linear.
//
// The flow needs B of the sire's ancestors alone. So sires with as many
// generations behind them stand side by side on all cores once those with fewer
// are done; no figure depends on how they are divided.
type walks struct {
	p      *Pedigree
	from   []parents // of each breeder, one beside the other, as p.sire and p.dam have them
	broods broods
	levels []level   // breeders by the generations behind them; none where no walk is needed
	free   sync.Pool // of walkers
}

// level is the breeders with as many generations behind them.
type level struct {
	breeders []int32
	sires    []int32   // those that walk, half and full sibs side by side
	groups   [][]int32 // of these, of those that walk abreast
}

// newWalks divides the sires into groups, and sets self of the nodes that need no
// walk: nobody is kin of an unknown parent.
func newWalks(p *Pedigree) *walks {
	w := &walks{p: p}
	if !w.open() {
		return w
	}
	w.from, w.broods = make([]parents, p.breeders), p.broods()
	for i := range w.from {
		w.from[i] = parents{p.sire[i], p.dam[i]}
	}
	w.free.New = func() any { return newWalker(w) }
	for _, breeders := range p.generations(p.breeders) {
		w.levels = append(w.levels, level{breeders: breeders, sires: make([]int32, 0, len(breeders))})
	}
	for i := range int32(p.founders) {
		if int(i) < p.breeders && w.walks(i) {
			w.levels[0].sires = append(w.levels[0].sires, i)
		}
	}
	for i := range int32(p.breeders) {
		for _, c := range w.broods.of(i) {
			if int(c) < p.breeders && w.walks(c) {
				l := &w.levels[p.level[c]]
				l.sires = append(l.sires, c)
			}
		}
	}
	for k := range w.levels {
		l := &w.levels[k]
		l.groups = slices.Collect(slices.Chunk(l.sires, abreast))
	}
	return w
}

// open reports whether any walk is needed, and sets self of the nodes that need none.
func (w *walks) open() bool {
	p, open := w.p, false
	for i := p.founders; i < p.Len(); i++ {
		if p.sire[i] >= 0 && (p.kinds[p.sire[i]] == UnknownParent || p.kinds[p.dam[i]] == UnknownParent) {
			p.self[i] = 1
		} else {
			open = true
		}
	}
	return open
}

// walks reports whether a walk has to go out from a breeder.
func (w *walks) walks(i int32) bool {
	p := w.p
	return slices.ContainsFunc(w.broods.of(i), func(c int32) bool {
		return c == i || p.kinds[i] != UnknownParent && p.kinds[p.dam[c]] != UnknownParent
	})
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
	for _, l := range w.levels {
		for _, i := range l.breeders {
			w.p.freshen(i)
		}
		if len(l.groups) == 0 {
			continue
		}
		err := onAllCores(ctx, len(l.groups), func(next func() (int, bool)) {
			k := w.free.Get().(*walker)
			for g, ok := next(); ok; g, ok = next() {
				k.walk(l.groups[g])
			}
			w.free.Put(k)
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
	if len(all) == 0 {
		return 0
	}
	visits, looked := 0, 0
	k := w.free.Get().(*walker)
	for looked < min(most, len(all)) && (looked < fewest || visits < w.p.breeders) {
		_, at := math.Modf(0.5 + float64(looked)*math.Phi) // any few of these are spread evenly
		visits += k.gather(all[int(at*float64(len(all)))])
		k.set.clear()
		looked++
	}
	w.free.Put(k)
	return visits * len(all) / looked
}

// walker is one core's scratch for walks. What a walk has of its nodes stands by their
// places in a set, without gaps, so that it is close together whatever the number of
// birds. The sires and their ancestors stand together too: the way up is through them
// alone, and they need nothing of the others on the way down.
type walker struct {
	*walks
	set    *set
	visits [2]visits // to those that no sire descends from, and to the sires and their ancestors
	x      []amounts // by place: what flows to it from each of the sires, B times that, then its relationship to each
}

// visits are to nodes that are not founders, chicks before parents.
type visits struct {
	number  int
	nodes   []int32
	parents []parents // as from has them, then their places
}

func newWalker(w *walks) *walker {
	k := &walker{walks: w, set: newSet(w.p.breeders)}
	for r := range k.visits {
		k.visits[r] = visits{0, make([]int32, w.p.breeders), make([]parents, w.p.breeders)}
	}
	return k
}

// walk sets self of what walks from the sires give: 1 + A_sd/2 of a chick, pᵀAp of
// a sire that is a mixture.
func (w *walker) walk(sires []int32) {
	p := w.p
	w.x = room(w.x, w.gather(sires))
	w.up(sires)
	w.down()
	for k, s := range sires {
		for _, c := range w.broods.of(s) {
			if c != s {
				p.self[c] = 1 + w.at(p.dam[c])[k]/2
				continue
			}
			v := 0.0
			p.parentsOf(s, func(q int32, share float64) { v += share * w.at(q)[k] })
			p.self[s] = v
		}
	}
	w.set.clear()
}

func (w *walker) at(i int32) *amounts { return &w.x[w.set.place(i)] }

// gather finds the sires, the nodes whose relationships with these are asked for, and
// the ancestors of either, and returns how many places there are.
func (w *walker) gather(sires []int32) int {
	p, set := w.p, w.set
	for _, s := range sires {
		set.add(s, 1)
		for _, c := range w.broods.of(s) {
			if c != s {
				set.add(p.dam[c], 0)
				continue
			}
			p.parentsOf(s, func(q int32, _ float64) { set.add(q, 0) })
		}
	}
	for _, a := range p.related {
		set.add(a, 1)
	}
	w.visits[0].number, w.visits[1].number = 0, 0
	for i := set.below(int32(p.breeders)); int(i) >= p.founders; i = set.below(i) {
		from, reached := w.from[i], set.reached(i)
		v := &w.visits[reached]
		v.nodes[v.number], v.parents[v.number] = i, from
		v.number++
		if from.sire >= 0 {
			set.add(from.sire, reached)
			set.add(from.dam, reached)
		} else {
			p.parentsOf(i, func(q int32, _ float64) { set.add(q, reached) })
		}
	}
	places := set.number(p.founders, w.visits[0].number)
	for r := range w.visits {
		of := w.visits[r].parents[:w.visits[r].number]
		for k, from := range of {
			if from.sire >= 0 {
				of[k] = parents{set.place(from.sire), set.place(from.dam)}
			}
		}
	}
	return places
}

// up spreads one unit of each sire over its ancestors and multiplies by B, which is 1
// of founders but for those related to others.
func (w *walker) up(sires []int32) {
	p, v := w.p, &w.visits[1]
	reached := w.x[1+w.visits[0].number:]
	w.x[0] = amounts{}
	clear(reached)
	for k, s := range sires {
		w.at(s)[k] = 1
	}
	for k, from := range v.parents[:v.number] {
		x := &reached[k]
		if from.sire >= 0 {
			x.pass(&w.x[from.sire], &w.x[from.dam], p.fresh[v.nodes[k]])
			continue
		}
		p.parentsOf(v.nodes[k], func(q int32, share float64) { w.at(q).add(x, share) })
		*x = amounts{}
	}
	p.relateFoundersAbreast(w.at)
}

// down works out the relationships of the sires with all that have a place.
func (w *walker) down() {
	others, sires := &w.visits[0], &w.visits[1]
	for k := sires.number - 1; k >= 0; k-- {
		x := &w.x[1+others.number+k]
		if from := sires.parents[k]; from.sire >= 0 {
			x.inherit(&w.x[from.sire], &w.x[from.dam])
			continue
		}
		w.p.parentsOf(sires.nodes[k], func(q int32, share float64) { x.add(w.at(q), share) })
	}
	for k := others.number - 1; k >= 0; k-- {
		x := &w.x[1+k]
		if from := others.parents[k]; from.sire >= 0 {
			x.mean(&w.x[from.sire], &w.x[from.dam])
			continue
		}
		*x = amounts{}
		w.p.parentsOf(others.nodes[k], func(q int32, share float64) { x.add(w.at(q), share) })
	}
}

// set is a set of nodes, run through from the highest to the lowest. Its bits stand in
// words, and of every few words is known whether they have any, so that a small set
// among many nodes is run through at once too. Some of the nodes are marked as reached.
type set struct {
	words []word
	some  []bool // by few
}

// word is 64 nodes of a set.
type word struct {
	in, reached uint64
	above       [2]int32 // the places before those of its nodes, not reached and reached; see number
}

// few is how many words are looked at only where one of them is known to have a node.
const few = 8

func newSet(n int) *set {
	fews := (n + few*64 - 1) / (few * 64)
	return &set{make([]word, few*fews), make([]bool, fews)}
}

// add adds a node, as one that is reached if that is 1. Whether it is there already is
// not asked: no processor can guess that.
func (s *set) add(i int32, reached uint64) {
	w := &s.words[uint32(i)/64]
	w.in |= 1 << (uint32(i) % 64)
	w.reached |= reached << (uint32(i) % 64)
	s.some[uint32(i)/(few*64)] = true
}

// reached returns 1 for a node that is reached, else 0.
func (s *set) reached(i int32) uint64 {
	return s.words[uint32(i)/64].reached >> (uint32(i) % 64) & 1
}

// below returns the highest node that is lower than one, -1 if there is none.
func (s *set) below(i int32) int32 {
	w := int(i) / 64
	if i%64 != 0 {
		if in := s.words[w].in & (1<<(uint32(i)%64) - 1); in != 0 {
			return int32(64*w + bits.Len64(in) - 1)
		}
	}
	for w--; w >= 0; w-- {
		if in := s.words[w].in; in != 0 {
			return int32(64*w + bits.Len64(in) - 1)
		}
		if !s.some[w/few] {
			w -= w % few
		}
	}
	return -1
}

// number gives places to the nodes and returns how many there are: place 0 is that of
// all who are not there, then come those that are not reached and then those that are,
// either from the highest to the lowest. Founders that are not reached go, for they are
// kin of nobody who is; others is how many more are not.
func (s *set) number(founders, others int) int {
	next := [2]int32{1, int32(1 + others)}
	for f := len(s.some) - 1; f >= 0; f-- {
		if !s.some[f] {
			continue
		}
		for k := few*f + few - 1; k >= few*f; k-- {
			w := &s.words[k]
			if 64*k < founders {
				w.in &= w.reached | ^uint64(0)<<(founders-64*k)
			}
			w.above = next
			next[0] += int32(bits.OnesCount64(w.in &^ w.reached))
			next[1] += int32(bits.OnesCount64(w.reached))
		}
	}
	return int(next[1])
}

// place returns the place of a node.
func (s *set) place(i int32) int32 {
	w := &s.words[uint32(i)/64]
	bit := uint32(i) % 64
	reached := w.reached >> bit & 1
	alike := w.in&^w.reached ^ w.in&-reached // those not reached, or those reached
	return (w.above[reached] + int32(bits.OnesCount64(alike>>bit>>1))) & -int32(w.in>>bit&1)
}

func (s *set) clear() {
	for f, some := range s.some {
		if some {
			clear(s.words[few*f : few*f+few])
			s.some[f] = false
		}
	}
}
