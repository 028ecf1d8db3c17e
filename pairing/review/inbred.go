package review

import (
	"cmp"
	"slices"

	"pairwright/pairing"
	"pairwright/pedigree"
)

// Inbred is an inbred bird with whom it is inbred through.
type Inbred struct {
	Bird       int
	Inbreeding float64
	// Through splits F by the common ancestors of its parents, but for the part
	// through Others (see pairing.Kin), and Founders by the founders whose genes meet
	// in it; both largest first.
	Through  []pedigree.Meeting
	Others   float64
	Founders []Share
}

// Share is a founder's part of something, in the unit of that.
type Share struct {
	Node int
	Part float64
}

// inbredListed is how many inbred birds are looked into.
const inbredListed = 20

// inbred returns the most inbred birds of the rows, at most inbredListed of
// them, and how many are inbred in all.
func inbred(p *pairing.Programme, rows []pairing.Row) (list []Inbred, all int) {
	for _, r := range rows {
		if r.Inbreeding > 0 {
			list = append(list, Inbred{Bird: r.Bird, Inbreeding: r.Inbreeding})
		}
	}
	all = len(list)
	slices.SortStableFunc(list, func(a, b Inbred) int { return cmp.Compare(b.Inbreeding, a.Inbreeding) })
	list = list[:min(all, inbredListed)]
	for k := range list {
		x := &list[k]
		node := p.Node(x.Bird)
		if sire, dam, ok := p.Pedigree.Parents(node); ok {
			x.Through, x.Others = p.Pedigree.Meetings(sire, dam, 0)
		}
		for founder, part := range p.Pedigree.PartialInbreeding(node) {
			if part > 0 {
				x.Founders = append(x.Founders, Share{founder, part})
			}
		}
		slices.SortStableFunc(x.Founders, func(a, b Share) int { return cmp.Compare(b.Part, a.Part) })
	}
	return list, all
}
