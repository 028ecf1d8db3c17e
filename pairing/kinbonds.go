package pairing

import "pairwright/pedigree/studbook"

// KinBond is a pair that lives together though it is too closely related to be
// formed anew.
type KinBond struct {
	Female, Male int        // in the snapshot; the first may be of unknown sex
	F            float64    // of a chick
	Kin          KinInWords // what the second is to the first
	// ByDNA says that the two are too near by DNA, though the studbook does not have it so;
	// nil where F is what speaks against the pair.
	ByDNA *Reason
	// Bond is the open bond of the two; nil where a clutch alone tells of them, and
	// that is Clutch then.
	Bond   *studbook.Bond
	Clutch *studbook.Clutch
}

// KinBonds returns the pairs whose chick would have F of a limit or more, as
// full and half siblings, and parents and their chicks have, if by DNA alone, by the female's id:
// bonds are parted on a person's word alone, so they have to be told.
func (p *Programme) KinBonds(limit float64) []KinBond {
	var found []KinBond
	for _, pair := range p.pairs() {
		f := p.Pedigree.Kinship(p.node[pair[0]], p.node[pair[1]])
		kin, is := p.KinByDNA(pair[0], pair[1])
		if !is && !TooClose(f, limit) {
			continue
		}
		x := KinBond{Female: pair[0], Male: pair[1], F: f, Kin: p.KinInWordsOf(pair[0], pair[1], f)}
		if is {
			x.ByDNA = &kin
		}
		one, other := p.Book.Birds[pair[0]].ID, p.Book.Birds[pair[1]].ID
		of := func(female, male string) bool {
			return female == one && male == other || female == other && male == one
		}
		open := p.Book.OpenBonds()
		for k := range open {
			if of(open[k].Female, open[k].Male) {
				x.Bond = &open[k]
				break
			}
		}
		for k := range p.Book.Clutches {
			if c := &p.Book.Clutches[k]; x.Bond == nil && of(c.Female, c.Male) && p.running(c) {
				x.Clutch = c
			}
		}
		found = append(found, x)
	}
	return found
}
