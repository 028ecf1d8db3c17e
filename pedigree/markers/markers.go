package markers

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"pairwright/pedigree/studbook"
)

// Panel is a set of markers with what was found of the birds that were typed at
// them. It is immutable.
type Panel struct {
	// Frequency is that of each allele among the typed birds, by marker; those of a
	// marker add up to 1.
	Frequency [][]float64

	found   map[string][]genotype // by bird
	nothing []genotype            // of a bird that never was typed
}

// New returns the panel of the birds that exist on a day, nil where none of them was typed;
// when they were typed is not on record. The frequency of an allele is its share of all
// genes of theirs that were typed, 0 of a marker at which none was: the birds of a
// programme are kin, but founders are seldom among them that could tell better.
func New(s *studbook.Snapshot) *Panel {
	c := s.Colony
	there := func(g studbook.Genotype) bool { _, ok := s.Index(g.ID); return ok }
	if !slices.ContainsFunc(c.Genotypes, there) {
		return nil
	}
	p := &Panel{found: make(map[string][]genotype, len(c.Genotypes))}
	for _, m := range c.Markers {
		p.Frequency = append(p.Frequency, make([]float64, len(m.Alleles)))
		p.nothing = append(p.nothing, unknown)
	}
	genes := make([]float64, len(c.Markers))
	for i := range c.Genotypes {
		g := &c.Genotypes[i]
		if !there(*g) {
			continue
		}
		found := make([]genotype, len(g.Found))
		p.found[g.ID] = found
		for k, f := range g.Found {
			found[k] = f
			if f[0] != studbook.NotTyped {
				p.Frequency[k][f[0]]++
				p.Frequency[k][f[1]]++
				genes[k] += 2
			}
		}
	}
	for k, of := range p.Frequency {
		for a := range of {
			of[a] /= max(1, genes[k])
		}
	}
	return p
}

// Typed returns at how many markers a bird was typed, 0 of one that never was.
func (p *Panel) Typed(id string) int { return p.Compared(id) }

// Compared returns at how many markers all of some birds were typed.
func (p *Panel) Compared(ids ...string) int {
	found := p.of(ids)
	n := 0
	for k := range p.Frequency {
		if !slices.ContainsFunc(found, func(of []genotype) bool { return of[k] == unknown }) {
			n++
		}
	}
	return n
}

// of returns what was found of each of some birds.
func (p *Panel) of(birds []string) [][]genotype {
	all := make([][]genotype, len(birds))
	for i, id := range birds {
		if all[i] = p.found[id]; all[i] == nil {
			all[i] = p.nothing
		}
	}
	return all
}

// genotype is two alleles, the lower first, or unknown.
type genotype [2]int16

var unknown = genotype{studbook.NotTyped, studbook.NotTyped}

// Mismatches returns at how many markers a bird cannot be the chick of two others, were
// there neither mutations nor errors of the laboratory. One of the parents may be "", for
// somebody unknown; what was not typed speaks against nobody.
func (p *Panel) Mismatches(chick, sire, dam string) int {
	found := p.of([]string{chick, sire, dam})
	n := 0
	for k, of := range p.Frequency {
		if o := found[0][k]; o != unknown && o.from(gifts(o, found[1][k], of), gifts(o, found[2][k], of)) == 0 {
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
	offspring, males, females := p.of([]string{chick})[0], p.of(sires), p.of(dams)
	for k, of := range p.Frequency {
		o := offspring[k]
		if o == unknown {
			continue
		}
		fathers, sireOf := kinds(o, males, k, of)
		mothers, damOf := kinds(o, females, k, of)
		anybody := gifts(o, unknown, of)
		random := o.from(anybody, anybody)
		with := make([]float64, len(mothers))
		chance := make([][]float64, len(fathers)) // by dam
		for i, f := range fathers {
			for j, m := range mothers {
				fits := right*right*o.from(f, m) + error*right*(o.from(f, anybody)+o.from(anybody, m)) + error*error*random
				with[j] = math.Log(right*fits + error*random)
			}
			chance[i] = make([]float64, len(dams))
			for j, m := range damOf {
				chance[i][j] = with[m]
			}
		}
		for i, row := range sum {
			floats.Add(row, chance[sireOf[i]])
		}
	}
	return sum
}

// kinds returns what parents could give to a chick at a marker, each different one once,
// and which of them each parent could: there are six and that of an unknown one, however
// many alleles there are.
func kinds(chick genotype, parents [][]genotype, marker int, frequency []float64) (all []gift, of []int) {
	of = make([]int, len(parents))
	for i, found := range parents {
		g := gifts(chick, found[marker], frequency)
		k := slices.Index(all, g)
		if k < 0 {
			k, all = len(all), append(all, g)
		}
		of[i] = k
	}
	return all, of
}

// gift is the chances, by Mendel's rules and without errors, that a parent gives a chick
// each of the two alleles that it has.
type gift [2]float64

// gifts are those of a parent to a chick; an unknown parent gives an allele by its
// frequency.
func gifts(chick, parent genotype, frequency []float64) (g gift) {
	for k, allele := range chick {
		if parent == unknown {
			g[k] = frequency[allele]
			continue
		}
		for _, a := range parent {
			if a == allele {
				g[k] += 0.5
			}
		}
	}
	return g
}

// from is the chance of a chick's genotype with what its parents could give.
func (chick genotype) from(sire, dam gift) float64 {
	t := sire[0] * dam[1]
	if chick[0] != chick[1] {
		t += sire[1] * dam[0]
	}
	return t
}

// Exclusion returns the chance, in 0..1, that the markers at which a bird was typed show
// a bird taken at random not to be its parent: where the other parent is known, and where
// it is not (Jamieson & Taylor 1997, formulas 1a and 2a; errors aside). It is of the
// markers, not of the bird's own genes: what such a test can do.
func (p *Panel) Exclusion(id string) (otherKnown, otherUnknown float64) {
	first, second := 1.0, 1.0 // chances that no marker shows it, where the other parent is known and where not
	found := p.of([]string{id})[0]
	for k, of := range p.Frequency {
		if found[k] == unknown {
			continue
		}
		var s [6]float64 // sums of powers of the frequencies
		for _, x := range of {
			for power, y := 1, x; power < len(s); power, y = power+1, y*x {
				s[power] += y
			}
		}
		first *= 2*s[2] - s[3] - 2*s[4] + 3*s[5] + 2*s[2]*s[2] - 3*s[2]*s[3]
		second *= 4*s[2] - 2*s[2]*s[2] - 4*s[3] + 3*s[4]
	}
	return 1 - first, 1 - second
}
