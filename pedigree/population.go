package pedigree

import (
	"fmt"
	"slices"
)

// Population is a set of birds measured together: as a rule the living birds
// of the programme, or of one colony. All sums run over its members, each of
// them included with itself.
type Population struct {
	p       *Pedigree
	members []int
	ordered []int // the members eldest first, in which order they are summed
	// Sums, not means: sums of kinships are exact as far as these are, so that
	// each figure is rounded once, when it is divided by N or N².
	sums  []float64 // R of every node, Σ_j f_ij over the members
	total float64   // S, R summed over the members
}

// Population returns the measures of the birds at nodes. Mean kinships of all
// birds take one pass up and one down the pedigree (Colleau 2002): time and
// memory are linear. It panics if a node is given twice.
func (p *Pedigree) Population(nodes []int) *Population {
	q := &Population{p: p, members: slices.Clone(nodes), sums: make([]float64, p.Len())}
	slices.Sort(q.members)
	if len(slices.Compact(slices.Clone(q.members))) < len(nodes) {
		panic(fmt.Sprintf("pedigree: a bird is twice in a population of %d", len(nodes)))
	}
	for _, i := range q.members {
		q.sums[i] = 0.5
	}
	q.order()
	p.relate(q.sums)
	for _, i := range q.ordered {
		q.total += q.sums[i]
	}
	return q
}

// order fills in ordered while sums are above 0 for members alone.
func (q *Population) order() {
	founders, _ := slices.BinarySearch(q.members, q.p.founders)
	q.ordered = append(make([]int, 0, len(q.members)), q.members[:founders]...)
	for _, i := range q.p.elder {
		if q.sums[i] > 0 {
			q.ordered = append(q.ordered, int(i))
		}
	}
}

// Size returns the number of birds N.
func (q *Population) Size() int { return len(q.members) }

// Members returns the nodes of the population, ascending; not to be changed.
func (q *Population) Members() []int { return q.members }

// MeanKinshipOf returns the mean kinship of a bird with the N members,
//
//	MK_i = (1/N) Σ_j f_ij
//
// itself included if it is one of them (Ballou & Lacy 1995). The bird need not
// be a member: the sum is then over the same N. In 0..1; 0 of no members.
func (q *Population) MeanKinshipOf(node int) float64 {
	return q.sums[node] / float64(max(1, len(q.members)))
}

// Sum returns the sum of all kinships among the members, to let birds join and
// leave.
func (q *Population) Sum() KinshipSum { return KinshipSum{float64(len(q.members)), q.total} }

// KinshipSumOf returns the sum R_i = Σ_j f_ij of the kinships of a bird with the
// members, itself included if it is one of them.
func (q *Population) KinshipSumOf(node int) float64 { return q.sums[node] }

// MeanKinship returns the mean of all N² kinships among the members, selves
// included; ok is false if there are none.
func (q *Population) MeanKinship() (mk float64, ok bool) { return q.Sum().MeanKinship() }

// GeneDiversity returns 1 − MK, the heterozygosity to expect relative to the
// founders' base (Lacy 1989, 1995). In 0..1; ok is false if there are no
// members. One bird has (1−F)/2.
func (q *Population) GeneDiversity() (gd float64, ok bool) { return q.Sum().GeneDiversity() }

// FounderGenomeEquivalents returns 1/(2·MK), the number of unrelated founders
// with the same gene diversity (Lacy 1995; Caballero & Toro 2000); ok is false
// if there are no members.
func (q *Population) FounderGenomeEquivalents() (fge float64, ok bool) {
	if len(q.members) == 0 {
		return 0, false
	}
	n := float64(len(q.members))
	return n * n / (2 * q.total), true
}

// MeanInbreeding returns the mean F of the members; ok is false if there are
// none.
func (q *Population) MeanInbreeding() (f float64, ok bool) {
	if len(q.members) == 0 {
		return 0, false
	}
	for _, i := range q.ordered {
		f += q.p.F(i)
	}
	return f / float64(len(q.members)), true
}

// KinshipValues returns of every node the mean of its kinships with the
// members, each weighted by the member's reproductive value V, so that birds
// past breeding count for little (Ballou & Lacy 1995):
//
//	KV_i = Σ_j f_ij V_j / Σ_j V_j
//
// in 0..1, by node. value gives V of a member, 0 or more, in any unit; ok is
// false if the values add up to 0. Equal values give mean kinship. Time and
// memory are linear, as in Population.
func (q *Population) KinshipValues(value func(node int) float64) (kv []float64, ok bool) {
	sum := 0.0
	kv = make([]float64, q.p.Len())
	for _, i := range q.ordered {
		v := value(i)
		kv[i] = v / 2
		sum += v
	}
	if sum == 0 {
		return nil, false
	}
	q.p.relate(kv)
	for i := range kv {
		kv[i] /= sum
	}
	return kv, true
}

// GeneFlow returns for every node the share of the members' genes that passes
// through it, Tᵀ·(1/N): 1/N or more for a member; for a founder its
// contribution. In 0..1; all 0 if there are no members.
func (q *Population) GeneFlow() []float64 {
	x := make([]float64, q.p.Len())
	for _, i := range q.members {
		x[i] = 1
	}
	q.p.up(x)
	for i := range x {
		x[i] /= float64(max(1, len(q.members)))
	}
	return x
}

// GainFromChick returns the exact change in gene diversity when one chick of
// the birds i and j joins the N members, f_ij being their kinship:
//
//	S' = S + R_i + R_j + (1 + f_ij)/2,  ΔGD = S/N² − S'/(N+1)²
//
// with R = N·MK of a bird and S the sum of all kinships. It is often below
// zero while both parents live. i and j need not be members. It panics if
// there are no members.
func (q *Population) GainFromChick(i, j int, kinship float64) float64 {
	return q.GainFromChicks(i, j, kinship, 1)
}

// GainFromChicks returns the exact change in gene diversity when k full sibs
// join the members at once. With N, R, S as in GainFromChick,
//
//	S' = S + k(R_i + R_j) + k(1 + f_ij)/2 + k(k−1)(f_ii + f_jj + 2f_ij)/4
//
// It is not k times the gain from one.
func (q *Population) GainFromChicks(i, j int, kinship float64, k int) float64 {
	if len(q.members) == 0 {
		panic("pedigree: gain from a chick in a population without members")
	}
	c := float64(k)
	now := q.Sum()
	return now.Gain(now.Join(c, c*(q.sums[i]+q.sums[j])/2, FullSibs(c, kinship, q.p.self[i]/2, q.p.self[j]/2)))
}

// GainFromLoss returns the exact change in gene diversity when a member dies
// or leaves; ok is false if it is the last one.
//
//	S' = S − 2R_x + f_xx over (N−1)²
func (q *Population) GainFromLoss(node int) (gain float64, ok bool) {
	if len(q.members) < 2 {
		return 0, false
	}
	self := q.p.self[node] / 2
	now := q.Sum()
	return now.Gain(now.Leave(1, q.sums[node]-self, self)), true
}

// GainFromArrival returns the exact change in gene diversity when a bird of
// the pedigree that is not a member joins.
//
//	S' = S + 2R_x + f_xx over (N+1)²
//
// It panics if there are no members.
func (q *Population) GainFromArrival(node int) float64 {
	if len(q.members) == 0 {
		panic("pedigree: gain from an arrival in a population without members")
	}
	now := q.Sum()
	return now.Gain(now.Join(1, q.sums[node], q.p.self[node]/2))
}
