package pedigree

import "pairwright/pedigree/studbook"

// Mean returns the mean over the members of a figure that is given by node; ok
// is false if there are no members.
func (q *Population) Mean(byNode []float64) (mean float64, ok bool) {
	if len(q.members) == 0 {
		return 0, false
	}
	for _, i := range q.ordered {
		mean += byNode[i]
	}
	return mean / float64(len(q.members)), true
}

// KnownAncestry returns, by node, the share of the bird's genes that traces to
// wild founders,
//
//	κ_i = (κ_s + κ_d) / 2
//
// in 0..1. It is 1 of a founder of wild origin and of an unknown parent that
// was wild, and 0 of every other founder or unknown parent: a captive bird with
// no known parents brings nothing known, and half where one of them is known to have
// been wild. An uncertain parent has the mean of its candidates, by weight.
//
// A studbook that has no origin column cannot tell: with foundersAreWild every
// founder that has a row counts as wild. Unknown parents, and those that are named
// but have no row of their own, bring 0.
func (p *Pedigree) KnownAncestry(foundersAreWild bool) []float64 {
	k := make([]float64, p.Len())
	for a := range p.founders {
		if p.origins[a] == studbook.OriginWild || foundersAreWild && p.kinds[a] == Bird {
			k[a] = 1
		}
	}
	for _, a := range p.halves {
		k[a] = max(k[a], 0.5)
	}
	for _, a := range p.rowless {
		k[a] = 0
	}
	p.down(k)
	return k
}

// EquivalentGenerations returns, by node, the number of equivalent complete
// generations known (Maignel, Boichard & Verrier 1996): the sum over known
// ancestors of (1/2)ⁿ, n the generations to the ancestor, which is
//
//	t_i = Σ (1 + t_parent) / 2   over the known parents
//
// in generations, 0 or more; 0 of founders. A candidate for an uncertain parent
// counts by its weight. A parent of which only "wild" is known is not known.
func (p *Pedigree) EquivalentGenerations() []float64 {
	t := make([]float64, p.Len())
	for i := p.founders; i < len(t); i++ {
		certain := p.kinds[i] == Bird
		p.parentsOf(int32(i), func(parent int32, share float64) {
			t[i] += share * t[parent]
			if certain {
				t[i] += share * p.named(parent)
			}
		})
	}
	return t
}

// named returns the chance that a parent is a bird of the studbook: 1 of a
// bird, 0 of an unknown parent, the weights of its birds of an uncertain one.
func (p *Pedigree) named(parent int32) float64 {
	switch p.kinds[parent] {
	case Bird:
		return 1
	case UnknownParent:
		return 0
	}
	known := 0.0
	p.parentsOf(parent, func(candidate int32, weight float64) {
		if p.kinds[candidate] == Bird {
			known += weight
		}
	})
	return known
}

// DefaultDepth is the number of generations a completeness index looks back
// where nothing else is said (common practice, no source).
const DefaultDepth = 4

// CompletenessIndex returns, by node, how complete the pedigree is over depth
// generations on both sides (MacCluer et al. 1983). With C of one side the mean
// over the generations 1 to depth of the share of that side's ancestors that is
// known,
//
//	index = 2 C_s C_d / (C_s + C_d)
//
// in 0..1; 0 if a parent is unknown, so 0 of founders. A candidate for an
// uncertain parent counts by its weight. A depth of 0 is DefaultDepth. An F
// that stands on an index below about 0.6 over four or five generations
// deserves a caution (common practice, no source).
func (p *Pedigree) CompletenessIndex(depth int) []float64 {
	if depth == 0 {
		depth = DefaultDepth
	}
	// known[i*depth+g] is the share of the ancestors g generations behind i
	// that is known, i itself being generation 0; side is their mean.
	known := make([]float64, p.Len()*depth)
	side := make([]float64, p.Len())
	index := make([]float64, p.Len())
	for i := range side {
		own := known[i*depth : (i+1)*depth]
		own[0] = p.named(int32(i))
		if i >= p.founders {
			later := 1 // an uncertain parent is of the generation of its candidates
			if p.kinds[i] == UncertainParent {
				later = 0
			}
			p.parentsOf(int32(i), func(parent int32, share float64) {
				for g := 1; g < depth; g++ {
					own[g] += share * known[int(parent)*depth+g-later]
				}
			})
		}
		for _, k := range own {
			side[i] += k
		}
		side[i] /= float64(depth)
		if sire, dam, ok := p.Parents(i); ok && side[sire] > 0 && side[dam] > 0 {
			index[i] = 2 * side[sire] * side[dam] / (side[sire] + side[dam])
		}
	}
	return index
}
