package markers

import (
	"math"

	"pairwright/pedigree/studbook"
)

// Panel is a set of markers with what was found of the birds that were typed at
// them. It is immutable.
type Panel struct {
	// Frequency is that of each allele among the typed birds, by marker; those of a
	// marker add up to 1.
	Frequency [][]float64

	found map[string][][2]int16 // by bird
}

// New returns the panel of a colony, nil where no bird was typed. The frequency of an
// allele is its share of all genes that were typed: the birds of a programme are kin,
// but founders are seldom among them that could tell better.
func New(c *studbook.Colony) *Panel {
	if len(c.Genotypes) == 0 {
		return nil
	}
	p := &Panel{found: make(map[string][][2]int16, len(c.Genotypes))}
	for _, m := range c.Markers {
		p.Frequency = append(p.Frequency, make([]float64, len(m.Alleles)))
	}
	genes := make([]float64, len(c.Markers))
	for i := range c.Genotypes {
		g := &c.Genotypes[i]
		p.found[g.ID] = g.Found
		for k, f := range g.Found {
			if f[0] != studbook.NotTyped {
				p.Frequency[k][f[0]]++
				p.Frequency[k][f[1]]++
				genes[k] += 2
			}
		}
	}
	for k, of := range p.Frequency {
		for a := range of {
			of[a] /= genes[k]
		}
	}
	return p
}

// Typed returns at how many markers a bird was typed, 0 of one that never was.
func (p *Panel) Typed(id string) int { return p.Compared(id) }

// Compared returns at how many markers all of some birds were typed.
func (p *Panel) Compared(ids ...string) int {
	n := 0
	for k := range p.Frequency {
		all := true
		for _, id := range ids {
			all = all && p.at(id, k)[0] != studbook.NotTyped
		}
		if all {
			n++
		}
	}
	return n
}

func (p *Panel) at(id string, marker int) genotype {
	if found := p.found[id]; found != nil {
		return found[marker]
	}
	return unknown
}

// genotype is two alleles, or unknown.
type genotype = [2]int16

var unknown = genotype{studbook.NotTyped, studbook.NotTyped}

// Mismatches returns at how many markers a bird cannot be the chick of two others, were
// there neither mutations nor errors of the laboratory. One of the parents may be "", for
// somebody unknown; what was not typed speaks against nobody.
func (p *Panel) Mismatches(chick, sire, dam string) int {
	n := 0
	for k, of := range p.Frequency {
		o := p.at(chick, k)
		if o[0] != studbook.NotTyped && inherits(o, p.at(sire, k), p.at(dam, k), of) == 0 {
			n++
		}
	}
	return n
}

// Likelihoods returns, by sire and dam, the natural logarithm of the chance to find the
// chick's genotypes if these are its parents. "" stands for somebody unknown; of an unknown
// or untyped parent the gene is any, by the alleles' frequencies. error is the chance,
// above 0 and up to 1, that what was found of a bird at a marker has nothing to do with
// its genes; with e for it and T for the chance without errors, of an offspring O of M
// and F at a marker
//
//	(1−e) [(1−e)² T(O|M,F) + e(1−e) T(O|M) + e(1−e) T(O|F) + e² P(O)] + e P(O)
//
// which is that of Kalinowski, Taper & Marshall (2007) without the factors that all
// parents share. Markers are taken to be inherited apart from each other, and P(O) to be
// as in random mating. Time is that of adding up sires × dams × markers: what parents
// of one genotype have in common is worked out once.
func (p *Panel) Likelihoods(chick string, sires, dams []string, error float64) [][]float64 {
	sum := make([][]float64, len(sires))
	for i := range sum {
		sum[i] = make([]float64, len(dams))
	}
	right := 1 - error
	for k, of := range p.Frequency {
		o := p.at(chick, k)
		if o[0] == studbook.NotTyped {
			continue
		}
		fathers, sireOf := p.kinds(sires, k)
		mothers, damOf := p.kinds(dams, k)
		random := inherits(o, unknown, unknown, of)
		chance := make([][]float64, len(fathers))
		for i, f := range fathers {
			for _, m := range mothers {
				fits := right*right*inherits(o, f, m, of) + error*right*(inherits(o, f, unknown, of)+inherits(o, unknown, m, of)) + error*error*random
				chance[i] = append(chance[i], math.Log(right*fits+error*random))
			}
		}
		for i, row := range sum {
			of := chance[sireOf[i]]
			for j := range row {
				row[j] += of[damOf[j]]
			}
		}
	}
	return sum
}

// kinds returns the different genotypes that birds have at a marker, and which of them
// each bird has.
func (p *Panel) kinds(birds []string, marker int) (all []genotype, of []int) {
	at := make(map[genotype]int)
	for _, id := range birds {
		g := p.at(id, marker)
		k, seen := at[g]
		if !seen {
			k = len(all)
			at[g], all = k, append(all, g)
		}
		of = append(of, k)
	}
	return all, of
}

// inherits returns the chance of a chick's genotype by Mendel's rules, without errors;
// an unknown parent gives an allele by its frequency.
func inherits(o, sire, dam genotype, frequency []float64) float64 {
	gives := func(parent genotype, allele int16) float64 {
		if parent[0] == studbook.NotTyped {
			return frequency[allele]
		}
		n := 0.0
		for _, a := range parent {
			if a == allele {
				n += 0.5
			}
		}
		return n
	}
	t := gives(sire, o[0]) * gives(dam, o[1])
	if o[0] != o[1] {
		t += gives(sire, o[1]) * gives(dam, o[0])
	}
	return t
}

// Exclusion returns the chance, in 0..1, that the markers at which a bird was typed show
// a bird taken at random not to be its parent: where the other parent is known, and where
// it is not (Jamieson & Taylor 1997, formulas 1a and 2a; errors aside). It is of the
// markers, not of the bird's own genes: what such a test can do.
func (p *Panel) Exclusion(id string) (otherKnown, otherUnknown float64) {
	known, unknown := 1.0, 1.0
	for k, of := range p.Frequency {
		if p.at(id, k)[0] == studbook.NotTyped {
			continue
		}
		var s [6]float64 // sums of powers of the frequencies
		for _, x := range of {
			for power, y := 1, x; power < len(s); power, y = power+1, y*x {
				s[power] += y
			}
		}
		known *= 2*s[2] - s[3] - 2*s[4] + 3*s[5] + 2*s[2]*s[2] - 3*s[2]*s[3]
		unknown *= 4*s[2] - 2*s[2]*s[2] - 4*s[3] + 3*s[4]
	}
	return 1 - known, 1 - unknown
}
