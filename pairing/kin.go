package pairing

import "pairwright/pedigree"

// Kin is why two birds are related.
type Kin struct {
	A, B     int // in the snapshot
	Kinship  float64
	Meetings []pedigree.Meeting // they add up to the kinship
}

// pathsListed is how many paths of Wright's formula are listed an ancestor.
const pathsListed = 20

// Kin returns the kinship of two birds split by common ancestor.
func (p *Programme) Kin(a, b int) *Kin {
	return &Kin{
		A: a, B: b,
		Kinship:  p.Pedigree.Kinship(p.node[a], p.node[b]),
		Meetings: p.Pedigree.Meetings(p.node[a], p.node[b], pathsListed),
	}
}
