package pairing

import "pairwright/pedigree"

// Kin is why two birds are related.
type Kin struct {
	A, B    int // in the snapshot
	Kinship float64
	// Meetings are the part of the kinship that comes through each common ancestor,
	// and Others is what comes through ancestors that are not among them: 0 but where
	// the two have thousands.
	Meetings []pedigree.Meeting
	Others   float64
	// Sharing is the kinship if the two, chicks of one clutch, have the same bird for a
	// parent of which it is open who it was, and Shared whether they share such a question:
	// Kinship draws it for each by itself.
	Sharing float64
	Shared  bool
}

// pathsListed is how many paths of Wright's formula are listed an ancestor.
const pathsListed = 20

// Kin returns the kinship of two birds split by common ancestor.
func (p *Programme) Kin(a, b int) *Kin {
	k := &Kin{A: a, B: b, Kinship: p.Pedigree.Kinship(p.node[a], p.node[b])}
	k.Sharing, k.Shared = p.Pedigree.KinshipSharing(p.node[a], p.node[b])
	k.Meetings, k.Others = p.Pedigree.Meetings(p.node[a], p.node[b], pathsListed)
	return k
}
