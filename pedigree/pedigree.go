package pedigree

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"

	"pairwright/pedigree/studbook"
)

// NodeKind says what a node is.
type NodeKind byte

// The kinds of node.
const (
	Bird            NodeKind = iota
	UnknownParent            // an anonymous founder
	UncertainParent          // the weighted mean of several possible parents
)

// Pedigree is who descends from whom, with F of every node. See the package
// comment for its numbering.
type Pedigree struct {
	flow
	names   []string // id of a bird, label of any other node
	kinds   []NodeKind
	origins []studbook.Origin
	rowless []int32          // founders that are named as parents and have no row of their own
	halves  []int32          // founders not of wild origin, one parent of whom was wild
	level   []int32          // generations below the deepest founder line: 0 for founders
	rank    map[string]int32 // of a bird, its place among all ids
	nodes   []int32          // of the birds, by rank
}

// A CycleError says that birds descend from themselves.
type CycleError struct {
	IDs []string // the birds of one loop, each the parent of the next
}

// mostNamed bounds the birds that an error names.
const mostNamed = 10

// Error names at most ten birds of the loop.
func (e *CycleError) Error() string {
	return "pedigree: birds descend from themselves: " + studbook.SomeOf(e.IDs, mostNamed)
}

// New builds the pedigree of birds and computes F of each. Every parent that a
// bird names must be among birds; studbook.Read sees to that, and to weights
// and loops, so such an error is of a list that did not come from a studbook:
// *CycleError for a loop. Founder kinships that are sound one by one and cannot
// be true together are a *KinshipError, which a studbook may well cause.
//
// The order of birds does not matter to any result. F is computed on all
// cores; ctx stops it between generations.
func New(ctx context.Context, birds []studbook.Bird, known []studbook.FounderKinship) (*Pedigree, error) {
	all := make([]*studbook.Bird, len(birds))
	for i := range birds {
		all[i] = &birds[i]
	}
	return Of(ctx, all, known)
}

// Of is New for birds that stand among others.
func Of(ctx context.Context, birds []*studbook.Bird, known []studbook.FounderKinship) (*Pedigree, error) {
	p, err := descent(birds, known)
	if err != nil {
		return nil, err
	}
	if err := p.inbreeding(ctx); err != nil {
		return nil, err
	}
	return p, nil
}

// descent is Of without F.
func descent(birds []*studbook.Bird, known []studbook.FounderKinship) (*Pedigree, error) {
	byID := slices.Clone(birds)
	slices.SortFunc(byID, func(a, b *studbook.Bird) int { return cmp.Compare(a.ID, b.ID) })
	rank := make(map[string]int32, len(birds))
	for i, b := range byID {
		if _, twice := rank[b.ID]; twice {
			return nil, fmt.Errorf("pedigree: two birds with the id %q", b.ID)
		}
		rank[b.ID] = int32(i)
	}
	named, err := namedParents(byID, rank)
	if err != nil {
		return nil, err
	}
	order, hasChick, err := elderFirst(byID, named)
	if err != nil {
		return nil, err
	}
	p := &Pedigree{rank: rank, nodes: make([]int32, len(birds))}
	p.number(byID, named, order, hasChick)
	if err := p.relateFounders(known); err != nil {
		return nil, err
	}
	return p, nil
}

// named are the parents that birds name, by rank: those of bird i, of its sire's side
// first, are parent[first[i]:first[i+1]].
type named struct{ first, parent []int32 }

func (n *named) of(i int32) []int32 { return n.parent[n.first[i]:n.first[i+1]] }

// namedParents looks up the parents of all birds, once.
func namedParents(birds []*studbook.Bird, rank map[string]int32) (*named, error) {
	n := &named{make([]int32, 1, len(birds)+1), make([]int32, 0, 2*len(birds))}
	for _, b := range birds {
		for _, side := range [2]studbook.Parentage{b.Sire, b.Dam} {
			total := 0.0
			for _, c := range side.Candidates {
				r, ok := rank[c.ID]
				if !ok {
					return nil, fmt.Errorf("pedigree: parent %q of bird %q is not in the list", c.ID, b.ID)
				}
				if total += c.Weight; !(c.Weight > 0 && total <= 1+rounding) {
					return nil, fmt.Errorf("pedigree: weight %v of parent %q of bird %q: weights must be above 0 and add up to at most 1", c.Weight, c.ID, b.ID)
				}
				n.parent = append(n.parent, r)
			}
		}
		n.first = append(n.first, int32(len(n.parent)))
	}
	return n, nil
}

// elderFirst returns the indices of birds so that parents stand before chicks:
// by hatch date, then generation, then id. A bird without a date, or with one
// before its parents', takes the latest of its parents'. hasChick tells of each
// bird whether it is the parent or a possible parent of another.
func elderFirst(birds []*studbook.Bird, named *named) (order []int32, hasChick []bool, err error) {
	n := len(birds)
	type place struct {
		day   studbook.Day
		depth int32
	}
	at := make([]place, n)
	waiting := make([]int32, n)
	count := make([]int32, n+1)
	for i := range birds {
		at[i].day = birds[i].Hatch.Mid()
		of := named.of(int32(i))
		waiting[i] = int32(len(of))
		for _, r := range of {
			count[r+1]++
		}
	}
	for i := range n {
		count[i+1] += count[i]
	}
	chicks := make([]int32, len(named.parent))
	fill := slices.Clone(count[:n])
	for i := range n {
		for _, r := range named.of(int32(i)) {
			chicks[fill[r]] = int32(i)
			fill[r]++
		}
	}
	ready := make([]int32, 0, n)
	hasChick = make([]bool, n)
	for i := range n {
		hasChick[i] = count[i] < count[i+1]
		if waiting[i] == 0 {
			ready = append(ready, int32(i))
		}
	}
	for k := 0; k < len(ready); k++ {
		i := ready[k]
		for _, c := range chicks[count[i]:count[i+1]] {
			at[c].day = max(at[c].day, at[i].day)
			at[c].depth = max(at[c].depth, at[i].depth+1)
			if waiting[c]--; waiting[c] == 0 {
				ready = append(ready, c)
			}
		}
	}
	if len(ready) < n {
		return nil, nil, loop(birds, named, waiting)
	}
	slices.SortFunc(ready, func(a, b int32) int {
		if c := cmp.Compare(at[a].day, at[b].day); c != 0 {
			return c
		}
		if c := cmp.Compare(at[a].depth, at[b].depth); c != 0 {
			return c
		}
		return cmp.Compare(a, b)
	})
	return ready, hasChick, nil
}

// loop walks up from the first bird that waits for a parent until it meets a
// bird again: every waiting bird has a waiting parent.
func loop(birds []*studbook.Bird, named *named, waiting []int32) error {
	i := int32(slices.IndexFunc(waiting, func(w int32) bool { return w > 0 }))
	seen := map[int32]int{}
	var path []int32
	for {
		if start, again := seen[i]; again {
			path = path[start:]
			break
		}
		seen[i] = len(path)
		path = append(path, i)
		for _, r := range named.of(i) {
			if waiting[r] > 0 {
				i = r
				break
			}
		}
	}
	slices.Reverse(path)
	ids := make([]string, len(path))
	for k, i := range path {
		ids[k] = birds[i].ID
	}
	return &CycleError{IDs: ids}
}

// number lays out the nodes: founders, unknown parents, birds with chicks, birds
// without, each behind its uncertain parents. Walks over ancestors touch only
// the nodes that are a parent, so these stand together.
func (p *Pedigree) number(birds []*studbook.Bird, named *named, order []int32, hasChick []bool) {
	l := layout{Pedigree: p, ties: make(map[string]int), unknown: make(map[*studbook.Bird]parents)}
	for _, i := range order {
		if birds[i].Founder() {
			p.nodes[i] = l.founder(birds[i])
		}
	}
	for _, i := range order {
		if !birds[i].Founder() {
			l.unknownParents(birds[i])
		}
	}
	p.founders = len(p.names)

	type leaf struct {
		rank int32
		parents
	}
	var leaves []leaf
	for _, i := range order {
		switch b := birds[i]; {
		case b.Founder():
		case hasChick[i]:
			p.nodes[i] = l.add(b.ID, Bird, b.Origin, l.parentNodes(b, named.of(i)))
		default:
			leaves = append(leaves, leaf{rank: i})
		}
	}
	for k := range leaves {
		i := leaves[k].rank
		leaves[k].parents = l.parentNodes(birds[i], named.of(i))
	}
	p.breeders = len(p.names)
	for _, x := range leaves {
		b := birds[x.rank]
		p.nodes[x.rank] = l.add(b.ID, Bird, b.Origin, x.parents)
	}
	p.elder = make([]int32, 0, len(p.names)-p.founders)
	for _, i := range order {
		if birds[i].Founder() {
			continue
		}
		node := p.nodes[i]
		for _, parent := range [2]int32{p.sire[node], p.dam[node]} {
			if p.kinds[parent] == UncertainParent {
				p.elder = append(p.elder, parent)
			}
		}
		p.elder = append(p.elder, node)
	}
	p.level = make([]int32, len(p.names))
	for i := p.founders; i < len(p.names); i++ {
		p.parentsOf(int32(i), func(q int32, _ float64) { p.level[i] = max(p.level[i], p.level[q]+1) })
	}
}

// generations lists the first n nodes by level.
func (p *Pedigree) generations(n int) [][]int32 {
	sizes := make([]int32, slices.Max(p.level[:n])+1)
	for _, k := range p.level[:n] {
		sizes[k]++
	}
	nodes, left := make([][]int32, len(sizes)), make([]int32, n)
	for k, size := range sizes {
		nodes[k], left = left[:0:size], left[size:]
	}
	for i, k := range p.level[:n] {
		nodes[k] = append(nodes[k], int32(i))
	}
	return nodes
}

// layout is the numbering of a pedigree's nodes under way.
type layout struct {
	*Pedigree
	ties    map[string]int             // by clutchKey
	unknown map[*studbook.Bird]parents // the nodes of what is unknown of a bird's parents
}

// parents are the nodes of a bird's parents.
type parents struct{ sire, dam int32 }

var noParents = parents{noParent, noParent}

func (l *layout) add(name string, kind NodeKind, origin studbook.Origin, from parents) int32 {
	i := int32(len(l.names))
	l.names = append(l.names, name)
	l.kinds = append(l.kinds, kind)
	l.origins = append(l.origins, origin)
	l.sire = append(l.sire, from.sire)
	l.dam = append(l.dam, from.dam)
	return i
}

func (l *layout) founder(b *studbook.Bird) int32 {
	origin := b.Origin
	switch {
	case b.Sire.Wild && b.Dam.Wild:
		origin = studbook.OriginWild // its genes are, wherever it hatched
	case b.Sire.Wild != b.Dam.Wild && origin != studbook.OriginWild:
		l.halves = append(l.halves, int32(len(l.names)))
	}
	if !b.Recorded {
		l.rowless = append(l.rowless, int32(len(l.names)))
	}
	return l.add(b.ID, Bird, origin, noParents)
}

// unknownParents adds a founder for each side of a bird on which the parent may
// be a bird not named.
func (l *layout) unknownParents(b *studbook.Bird) {
	u := noParents
	if known(b.Sire) < 1 {
		u.sire = l.add("unknown sire of "+b.ID, UnknownParent, origin(b.Sire), noParents)
	}
	if known(b.Dam) < 1 {
		u.dam = l.add("unknown dam of "+b.ID, UnknownParent, origin(b.Dam), noParents)
	}
	if u != noParents {
		l.unknown[b] = u
	}
}

// parentNodes returns the nodes of a bird's parents, those that it names being given
// by rank; those of uncertain ones are added for it.
func (l *layout) parentNodes(b *studbook.Bird, named []int32) parents {
	u := l.unknown[b] // not looked at where nothing is unknown
	sires := len(b.Sire.Candidates)
	return parents{
		sire: l.parent(b, "sire", b.Sire, b.Dam, named[:sires], u.sire),
		dam:  l.parent(b, "dam", b.Dam, b.Sire, named[sires:], u.dam),
	}
}

// parent returns the node of one parent of a bird: is tells who it is, other who
// the other parent is, named are the ranks of the candidates, and unknown is the node
// of whoever is not named.
func (l *layout) parent(b *studbook.Bird, side string, is, other studbook.Parentage, named []int32, unknown int32) int32 {
	if is.Unknown() {
		return unknown
	}
	if _, ok := is.Known(); ok {
		return l.nodes[named[0]]
	}
	m := mixture{tie: len(l.ties)}
	for k, c := range is.Candidates {
		m.node = append(m.node, l.nodes[named[k]])
		m.weight = append(m.weight, c.Weight)
	}
	if missing := 1 - known(is); missing > 0 {
		m.node = append(m.node, unknown)
		m.weight = append(m.weight, missing)
	}
	key := clutchKey(b, side, is, other)
	if tie, shared := l.ties[key]; shared {
		m.tie = tie
	} else {
		l.ties[key] = m.tie
	}
	l.mixtures = append(l.mixtures, m)
	return l.add("uncertain "+side+" of "+b.ID, UncertainParent, studbook.OriginUnstated, parents{int32(-len(l.mixtures)), noParent})
}

// known returns the chance that the parent is one of the named birds, with a
// sum that is 1 but for rounding taken as 1.
func known(s studbook.Parentage) float64 {
	sum := 0.0
	for _, c := range s.Candidates {
		sum += c.Weight
	}
	if sum > 1-rounding {
		return 1
	}
	return sum
}

func origin(s studbook.Parentage) studbook.Origin {
	if s.Wild {
		return studbook.OriginWild
	}
	return studbook.OriginUnstated
}

// clutchKey is the same for chicks of one clutch with an uncertain parent:
// hatched in the same year, the same candidates on the uncertain side, the
// other parent given alike. Which of the candidates it was is then one
// question, not one a chick. Chicks without a hatch date are never taken for
// one clutch.
func clutchKey(b *studbook.Bird, side string, is, other studbook.Parentage) string {
	if !b.Hatch.Known() {
		return side + " of " + b.ID
	}
	k := strconv.AppendInt([]byte(side), int64(b.Hatch.Mid().Time().Year()), 10)
	for _, p := range [2]studbook.Parentage{is, other} {
		for _, c := range p.Candidates {
			k = append(append(k, '\n'), c.ID...)
			k = strconv.AppendUint(append(k, '='), math.Float64bits(c.Weight), 36)
		}
		k = append(k, '\n')
	}
	return string(strconv.AppendBool(k, other.Wild))
}

// Len returns the number of nodes.
func (p *Pedigree) Len() int { return len(p.names) }

// Founders returns the number of founder nodes, unknown parents among them:
// they are the nodes 0 to Founders()-1.
func (p *Pedigree) Founders() int { return p.founders }

// Index returns the node of the bird with the id.
func (p *Pedigree) Index(id string) (node int, ok bool) {
	rank, ok := p.rank[id]
	if !ok {
		return 0, false
	}
	return int(p.nodes[rank]), true
}

// Nodes returns the nodes of all birds, by id.
func (p *Pedigree) Nodes() []int {
	nodes := make([]int, len(p.nodes))
	for rank, node := range p.nodes {
		nodes[rank] = int(node)
	}
	return nodes
}

// Name returns the id of a bird; for the other kinds of node a description
// such as "unknown sire of C12".
func (p *Pedigree) Name(node int) string { return p.names[node] }

// Kind returns what a node is.
func (p *Pedigree) Kind(node int) NodeKind { return p.kinds[node] }

// Parents returns the nodes of the bird's sire and dam; ok is false for a
// founder and for an uncertain parent.
func (p *Pedigree) Parents(node int) (sire, dam int, ok bool) {
	if node < p.founders || p.sire[node] < 0 {
		return 0, 0, false
	}
	return int(p.sire[node]), int(p.dam[node]), true
}

// Candidates returns the nodes that may be an uncertain parent, in the order
// of the studbook, with their weights: what they lack to 1 is an unknown
// parent, given last. It is nil for other kinds of node.
func (p *Pedigree) Candidates(node int) (nodes []int, weights []float64) {
	if p.kinds[node] != UncertainParent {
		return nil, nil
	}
	m := &p.mixtures[-1-p.sire[node]]
	for _, q := range m.node {
		nodes = append(nodes, int(q))
	}
	return nodes, slices.Clone(m.weight)
}

// Uncertain reports whether the pedigree has any uncertain parent.
func (p *Pedigree) Uncertain() bool { return len(p.mixtures) > 0 }

// F returns the inbreeding coefficient of a bird, the kinship of its parents
// (Wright 1922; Malécot 1948), in 0..1; 0 where a parent is unknown. For
// founders it is 0 or, where their own kinship is given, 2f−1.
func (p *Pedigree) F(node int) float64 { return p.self[node] - 1 }
