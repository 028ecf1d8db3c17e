package pedigree

import (
	"cmp"
	"slices"
)

// Contributions returns, by founder node, the expected share of the members'
// genes that comes from the founder,
//
//	p_a = (1/N) Σ_j c_ja,   c_aa = 1,  c_ja = (c_sa + c_da) / 2
//
// (Lacy 1989), each in 0..1. Unknown parents are founders too; with them the
// shares add up to 1. All are 0 if there are no members.
func (q *Population) Contributions() []float64 {
	founders := q.p.founders
	return q.GeneFlow()[:founders:founders]
}

// FounderEquivalents returns the number of equally contributing founders that
// would give the same evenness of founder shares (Lacy 1989),
//
//	fe = 1 / Σ_a p_a²
//
// from 1 to the number of founders, unknown parents counted; ok is false if
// there are no members.
func (q *Population) FounderEquivalents() (fe float64, ok bool) {
	return equivalents(q.Contributions())
}

// equivalents returns 1/Σp²; ok is false if every share is 0.
func equivalents(shares []float64) (n float64, ok bool) {
	sum := 0.0
	for _, p := range shares {
		sum += p * p
	}
	if sum == 0 {
		return 0, false
	}
	return 1 / sum, true
}

// RetentionEquivalents returns founder genome equivalents in the retention
// form of Lacy (1989),
//
//	1 / Σ_a (p_a² / r_a)
//
// from the contributions p and the retentions r of the same founders, each
// r_a the share in 0..1 of the founder's two genes of which a copy is left. It
// is not FounderGenomeEquivalents, which is 1/(2·MK) and agrees with gene
// diversity; the two must never share a label. Given r, no contributions could
// give more than Σ r_a, reached by p proportional to r.
//
// N members carry at most 2N copies, so r_a is at least p_a/2; a smaller one,
// as from a gene drop in which a small share never came through, is raised to
// that. ok is false if every contribution is 0.
func RetentionEquivalents(contributions, retention []float64) (n float64, ok bool) {
	sum := 0.0
	for a, p := range contributions {
		if p > 0 {
			sum += p * p / max(retention[a], p/2)
		}
	}
	if sum == 0 {
		return 0, false
	}
	return 1 / sum, true
}

// Ancestor is a bird through which part of a gene pool has passed.
type Ancestor struct {
	Node  int
	Share float64 // of the members' genes, beyond what earlier ancestors explain; in 0..1
}

// Ancestors returns the birds that explain the members' genes with the least
// overlap (Boichard, Maignel & Verrier 1997): again and again the bird, a
// founder or not, with the largest contribution that those before it do not
// explain. After each the parents of the bird are cut off, and of a
// descendant only
//
//	q_k (1 − a_k)
//
// counts, a_k being what it has from the birds already picked. Of equal birds
// the one with the lowest node is first, so founders go before chicks and
// elder before younger. A member can be its own ancestor, and unknown parents
// are among them. The shares add up to 1; they need not fall. The list is empty
// if there are no members.
//
// Time is the number of ancestors picked times that of all ancestors.
func (q *Population) Ancestors() []Ancestor {
	if len(q.members) == 0 {
		return nil
	}
	g, here := q.p.lineage(q.members)
	n := len(here)
	contribution := make([]float64, n)
	explained := make([]float64, n) // a_k
	picked := make([]bool, n)
	member := make([]bool, n)
	for k, i := range here {
		_, member[k] = slices.BinarySearch(q.members, int(i))
	}

	// Shares are compared up to rounding, or equal ones would be put in the
	// order of their last digits.
	const same = 1e-12
	var list []Ancestor
	for rest := 1.0; rest > same; {
		for k := range n {
			contribution[k], explained[k] = 0, 0
			if member[k] {
				contribution[k] = 1 / float64(len(q.members))
			}
			if picked[k] {
				explained[k] = 1
			}
		}
		g.up(contribution)
		g.down(explained)
		best, most := -1, 0.0
		for k := range n {
			if picked[k] || q.p.kinds[here[k]] == UncertainParent {
				continue
			}
			if share := contribution[k] * (1 - explained[k]); share > most*(1+same) {
				best, most = k, share
			}
		}
		if best < 0 {
			break
		}
		list = append(list, Ancestor{Node: int(here[best]), Share: most})
		rest -= most
		picked[best] = true
		if best >= g.founders {
			// To cut its parents off, make them one of no candidates.
			g.mixtures = append(g.mixtures, mixture{})
			g.sire[best] = int32(-len(g.mixtures))
		}
	}
	return list
}

// EffectiveAncestors returns the number of ancestors, founders or not, that
// would explain the members' genes if all did equally (Boichard, Maignel &
// Verrier 1997),
//
//	fa = 1 / Σ_k share_k²
//
// over Ancestors. It counts bottlenecks, which founder equivalents do not see,
// and so is below them as a rule; taking the largest share first does not
// warrant it. It is never below FounderGenomeEquivalents nor below 1. ok is
// false if there are no members.
func (q *Population) EffectiveAncestors() (fa float64, ok bool) {
	list := q.Ancestors()
	shares := make([]float64, len(list))
	for k, a := range list {
		shares[k] = a.Share
	}
	return equivalents(shares)
}

// Descendants returns of each of the nodes how many of the members, as a rule
// the living, descend from it, itself not counted. A chick of an uncertain
// parent counts for every candidate.
//
// Time is the number of nodes that have chicks times that of nodes younger than
// them, 64 of the former at once.
func (q *Population) Descendants(nodes []int) []int {
	counts := make([]int, len(nodes))
	member := make([]bool, q.p.Len())
	for _, i := range q.members {
		member[i] = true
	}
	var parents []int // places in nodes, eldest node first: the others have no chicks
	for k, i := range nodes {
		if i < q.p.breeders {
			parents = append(parents, k)
		}
	}
	slices.SortFunc(parents, func(a, b int) int { return cmp.Compare(nodes[a], nodes[b]) })
	descends := make([]uint64, q.p.Len()) // a bit for each of 64 parents at a time
	for group := range slices.Chunk(parents, 64) {
		clear(descends)
		for bit, k := range group {
			descends[nodes[k]] |= 1 << bit
		}
		var count counter
		for i := max(q.p.founders, nodes[group[0]]); i < len(descends); i++ {
			from := uint64(0)
			if s := q.p.sire[i]; s >= 0 {
				from = descends[s] | descends[q.p.dam[i]]
			} else {
				for _, c := range q.p.mixtures[-1-s].node {
					from |= descends[c]
				}
			}
			descends[i] |= from
			if member[i] {
				count.add(from)
			}
		}
		for bit, k := range group {
			counts[k] = count.at(bit)
		}
	}
	return counts
}

// counter holds 64 numbers, one for each bit of a word: digit k of all of them
// is word k. Adding a word costs two digits on average, however many bits are
// set in it.
type counter [32]uint64

// add adds one to the numbers whose bits are set.
func (c *counter) add(carry uint64) {
	for k := 0; carry != 0; k++ {
		c[k], carry = c[k]^carry, c[k]&carry
	}
}

// at returns the number of a bit.
func (c *counter) at(bit int) int {
	n := 0
	for k, digit := range c {
		n |= int(digit>>bit&1) << k
	}
	return n
}

// PartialInbreeding returns, by founder node, the part of a bird's F that is
// due to genes of the founder (Lacy, Alaks & Walsh 1996; Gulisija & Crow 2007).
// With c_xa the contribution of founder a to x it follows the recursion of
// kinship with
//
//	f_aa(a) = 1/2, other founders 0,   f_xx(a) = (c_xa + F_x(a)) / 2
//
// in 0..1. Unknown parents are founders too; with them the parts add up to F.
// Where kinships of founders are given, what two related founders bring
// together is halved between them and a founder's own F is its own part, so
// that the parts still add up to F; an inbred founder has its whole F. All are
// 0 if F is. The node must be that of a bird.
//
// All founders are done at once, by running the recursion backwards from the
// bird to its founders. Memory is linear in the bird's ancestors, time at most
// quadratic.
func (p *Pedigree) PartialInbreeding(node int) []float64 {
	if p.kinds[node] == UncertainParent {
		panic("pedigree: partial inbreeding of an uncertain parent")
	}
	parts := make([]float64, p.founders)
	if node < p.founders {
		parts[node] = p.F(node)
		return parts
	}
	g, here := p.lineage([]int{node})
	n := len(here)
	w := backward{
		flow:  g,
		genes: make([]float64, n),
		self:  make([]float64, n),
		fresh: make([]float64, n),
		left:  make([]float64, n),
		right: make([]float64, n),
	}
	w.run(int32(n - 1))
	for a := range g.founders {
		parts[here[a]] = max(0, w.genes[a]) // rounding may leave a trace below 0
	}
	return parts
}

// backward finds F_x(a) of one bird x for all founders a. What the recursion
// needs of a node k is linear in a:
//
//	c_k(a)  its contribution
//	S_k(a)  its relationship with itself, c_k(a) + F_k(a)
//	B_k(a)  its own Mendelian sampling, c_k(a) − (S_sire(a) + S_dam(a))/4
//
// and F_k(a) = ½ Σ_j l_j m_j B_j(a), with l and m the flows from sire and dam
// to their ancestors. So F_x(a) is a weighted sum of them. The weights are
// taken from the youngest node to the eldest, each S and B replaced by those
// of older nodes, until only the founders' are left.
type backward struct {
	*flow
	genes, self, fresh []float64 // weights of c, S and B
	left, right        []float64 // flows
}

func (w *backward) run(x int32) {
	w.meet(w.sire[x], w.dam[x], 0.5)
	for i := x - 1; i >= int32(w.founders); i-- {
		s, d := w.sire[i], w.dam[i]
		if s < 0 { // a mixture: S = pᵀAp, B = 0
			w.meet(i, i, w.self[i])
			continue
		}
		w.genes[i] += w.fresh[i] + w.self[i]
		w.self[s] -= w.fresh[i] / 4
		w.self[d] -= w.fresh[i] / 4
		if w.flow.self[i] > 1 { // else nothing meets
			w.meet(s, d, w.self[i]/2)
		}
	}
	w.up(w.genes)
	for a := range w.founders {
		w.genes[a] += (w.self[a] + w.fresh[a]) * w.flow.self[a]
	}
}

// meet adds weight times the relationship of i and j, written in B.
func (w *backward) meet(i, j int32, weight float64) {
	if weight == 0 {
		return
	}
	end := max(i, j) + 1
	l, m := w.left[:end], w.right[:end]
	clear(l)
	clear(m)
	l[i], m[j] = 1, 1
	w.up(l)
	w.up(m)
	for k := range min(i, j) + 1 {
		w.fresh[k] += weight * l[k] * m[k]
	}
	// What founders a and b bring together is halved between them.
	n := len(w.related)
	for r, a := range w.related {
		for c, b := range w.related {
			if a != b && a < end && b < end {
				both := weight * w.relationship[r*n+c] * l[a] * m[b] / 2
				w.genes[a] += both
				w.genes[b] += both
			}
		}
	}
}

// AncestralInbreeding returns, by node, the chance that a gene of the bird,
// followed back, was at some time in an inbred ancestor, and so has been tried
// by selection before (Ballou 1997):
//
//	fa_x = ½ [fa_s + (1 − fa_s) F_s + fa_d + (1 − fa_d) F_d]
//
// in 0..1; 0 of founders and of a bird whose parents are. The recursion takes
// fa and F of a parent as independent and is approximate for that (Nomura
// 2024). An uncertain parent has the mean of its candidates, by weight.
func (p *Pedigree) AncestralInbreeding() []float64 {
	fa := make([]float64, p.Len())
	passed := make([]float64, p.Len()) // fa + (1 − fa) F, of a mixture the mean of it
	for i := range fa {
		if i >= p.founders {
			uncertain := p.kinds[i] == UncertainParent
			p.parentsOf(int32(i), func(parent int32, share float64) {
				if uncertain {
					fa[i] += share * fa[parent]
				} else {
					fa[i] += share * passed[parent]
				}
				passed[i] += share * passed[parent]
			})
			if uncertain {
				continue
			}
		}
		passed[i] = fa[i] + (1-fa[i])*p.F(i)
	}
	return fa
}
