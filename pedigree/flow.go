package pedigree

import "slices"

// noParent marks the absent parents of a founder.
const noParent = -1 << 30

// mixture is an uncertain parent: the candidates and their weights, which sum
// to 1. Mixtures with the same tie are one question: the same draw decides.
type mixture struct {
	node   []int32
	weight []float64
	tie    int
}

// flow is the factor form A = T B Tᵀ over a topologically numbered list of
// nodes, founders first.
type flow struct {
	founders int // nodes 0 to founders-1 are founders
	breeders int // no node from this one on is a parent
	// elder has the nodes from founders on, eldest first, whether they are parents or
	// not: sums over many birds run in this order, in which birds without
	// descendants among these change no place and so no digit. Nil in a part of
	// a pedigree.
	elder []int32
	// sire and dam of every node from founders on. An uncertain parent has
	// sire = -1-k, its mixture being mixtures[k].
	sire, dam []int32
	mixtures  []mixture

	// self is A of a node with itself: 1+F of a bird, pᵀAp of a mixture.
	self []float64
	// fresh is the diagonal of B: what the node's own Mendelian sampling
	// adds, 1 − (self of sire + self of dam)/4; self of a founder; 0 of a
	// mixture.
	fresh []float64
	// related holds the founders that are known to be related, ascending,
	// with their relationship, row by row; empty as a rule.
	related      []int32
	relationship []float64
}

// parentsOf calls do for each parent of a node that is not a founder, with
// the share of the node's genes that comes from it.
func (f *flow) parentsOf(i int32, do func(parent int32, share float64)) {
	s := f.sire[i]
	if s >= 0 {
		do(s, 0.5)
		do(f.dam[i], 0.5)
		return
	}
	m := &f.mixtures[-1-s]
	for k, q := range m.node {
		do(q, m.weight[k])
	}
}

// up replaces x by Tᵀx: every node's amount flows on to its parents.
func (f *flow) up(x []float64) {
	if len(x) == len(f.sire) && f.elder != nil {
		for _, i := range slices.Backward(f.elder) {
			f.passUp(x, i)
		}
		return
	}
	for i := len(x) - 1; i >= f.founders; i-- {
		f.passUp(x, int32(i))
	}
}

// passUp adds what a node has to what its parents have.
func (f *flow) passUp(x []float64, i int32) {
	v := x[i]
	if v == 0 {
		return
	}
	s := f.sire[i]
	if s >= 0 {
		x[s] += v / 2
		x[f.dam[i]] += v / 2
		return
	}
	m := &f.mixtures[-1-s]
	for k, q := range m.node {
		x[q] += v * m.weight[k]
	}
}

// down replaces x by Tx: every node gets its parents' amounts by their shares.
func (f *flow) down(x []float64) {
	sire, dam := f.sire[:len(x)], f.dam[:len(x)]
	for i := f.founders; i < len(x); i++ {
		s := sire[i]
		if s >= 0 {
			x[i] += (x[s] + x[dam[i]]) / 2
			continue
		}
		m := &f.mixtures[-1-s]
		for k, q := range m.node {
			x[i] += x[q] * m.weight[k]
		}
	}
}

// spread replaces x by Bx.
func (f *flow) spread(x []float64) {
	var kept []float64
	if len(f.related) > 0 {
		kept = make([]float64, len(f.related))
		for k, a := range f.related {
			kept[k] = x[a]
		}
	}
	for i := range x {
		x[i] *= f.fresh[i]
	}
	f.spreadRelated(kept, func(a int32, v float64) { x[a] = v })
}

// spreadRelated gives set the rows of B times the amounts of the related
// founders.
func (f *flow) spreadRelated(amounts []float64, set func(founder int32, v float64)) {
	n := len(f.related)
	if len(amounts) == 0 {
		return
	}
	for r, a := range f.related {
		v := 0.0
		for k, w := range amounts {
			v += f.relationship[r*n+k] * w
		}
		set(a, v)
	}
}

// relate replaces x by Ax (Colleau 2002). x may be shorter than the pedigree:
// then only its first nodes are there.
func (f *flow) relate(x []float64) {
	f.up(x)
	f.spread(x)
	f.down(x)
}

// relateOne does the same to an x that is 0 but for one node: only that and those
// before it have anything to pass on or to multiply.
func (f *flow) relateOne(x []float64, node int) {
	from := x[:max(node+1, f.founders)]
	f.up(from)
	f.spread(from)
	f.down(x)
}

// abreast is the number of vectors that are worked on side by side: what they have
// of one node fills a line of memory, and what is read of it serves them all
// (Colleau 2002 takes any number at once).
const abreast = 8

// amounts are what the vectors side by side have of one node.
type amounts [abreast]float64

// relateAbreast is relateOne of vectors side by side, which are 0 but for nodes up
// to the last given.
func (f *flow) relateAbreast(x []amounts, last int) {
	for i := last; i >= f.founders; i-- {
		v := &x[i]
		if *v == (amounts{}) {
			continue
		}
		if s := f.sire[i]; s >= 0 {
			v.pass(&x[s], &x[f.dam[i]], f.fresh[i])
			continue
		}
		f.parentsOf(int32(i), func(q int32, share float64) { x[q].add(v, share) })
		*v = amounts{}
	}
	f.relateFoundersAbreast(func(a int32) *amounts { return &x[a] })
	for i := f.founders; i < len(x); i++ {
		if s := f.sire[i]; s >= 0 {
			x[i].inherit(&x[s], &x[f.dam[i]])
			continue
		}
		f.parentsOf(int32(i), func(q int32, share float64) { x[i].add(&x[q], share) })
	}
}

// relateFoundersAbreast multiplies by B what founders have that are related: it is
// 1 of the others.
func (f *flow) relateFoundersAbreast(at func(founder int32) *amounts) {
	if len(f.related) == 0 {
		return
	}
	had := make([]amounts, len(f.related))
	for k, a := range f.related {
		had[k] = *at(a)
	}
	for r, a := range f.related {
		to := at(a)
		*to = amounts{}
		for k := range had {
			to.add(&had[k], f.relationship[r*len(had)+k])
		}
	}
}

// pass gives half to each of two parents and keeps the share that is fresh.
func (x *amounts) pass(sire, dam *amounts, fresh float64) {
	for k, v := range x {
		half := v / 2
		sire[k] += half
		dam[k] += half
		x[k] = v * fresh
	}
}

// inherit adds half of what each of two parents has.
func (x *amounts) inherit(sire, dam *amounts) {
	for k := range x {
		x[k] += (sire[k] + dam[k]) / 2
	}
}

// mean sets x to the mean of what two parents have.
func (x *amounts) mean(sire, dam *amounts) {
	for k := range x {
		x[k] = (sire[k] + dam[k]) / 2
	}
}

// add adds a share of y.
func (x *amounts) add(y *amounts, share float64) {
	for k, v := range y {
		x[k] += v * share
	}
}

// lineage returns the flow of the given nodes and all their ancestors, and for
// each node of it the node it is here, ascending.
func (f *flow) lineage(nodes []int) (*flow, []int32) {
	local := make([]int32, len(f.self)) // local number + 1
	for _, i := range nodes {
		local[i] = 1
	}
	for i := len(local) - 1; i >= f.founders; i-- {
		if local[i] != 0 {
			f.parentsOf(int32(i), func(q int32, _ float64) { local[q] = 1 })
		}
	}
	// Related founders stay together, or their block would lose rows.
	for _, a := range f.related {
		local[a] = 1
	}
	n := 0
	for _, in := range local {
		n += int(in)
	}
	here := make([]int32, 0, n)
	g := &flow{relationship: f.relationship}
	g.self, g.fresh = make([]float64, 0, n), make([]float64, 0, n)
	g.sire, g.dam = make([]int32, 0, n), make([]int32, 0, n)
	for i, in := range local {
		if in == 0 {
			continue
		}
		here = append(here, int32(i))
		local[i] = int32(len(here))
		g.self = append(g.self, f.self[i])
		g.fresh = append(g.fresh, f.fresh[i])
		sire, dam := int32(noParent), int32(noParent)
		if i < f.founders {
			g.founders++
		} else if s := f.sire[i]; s >= 0 {
			sire, dam = local[s]-1, local[f.dam[i]]-1
		} else {
			m := f.mixtures[-1-s]
			nodes := make([]int32, len(m.node))
			for k, q := range m.node {
				nodes[k] = local[q] - 1
			}
			g.mixtures = append(g.mixtures, mixture{nodes, m.weight, m.tie})
			sire = int32(-len(g.mixtures))
		}
		g.sire = append(g.sire, sire)
		g.dam = append(g.dam, dam)
	}
	for _, a := range f.related {
		g.related = append(g.related, local[a]-1)
	}
	g.breeders = len(here)
	return g, here
}
