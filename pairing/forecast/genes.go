package forecast

import (
	"fmt"
	"slices"
)

// Descent is where the birds of a start come from: every known ancestor of
// theirs and they themselves, parents before chicks.
type Descent struct {
	Parents [][2]int // of each, -1 where it is a founder
	Birds   []int    // which of them each bird of the start is
}

// check returns what is wrong with the descent of a number of birds.
func (d *Descent) check(birds int) error {
	if d == nil {
		return nil
	}
	if len(d.Birds) != birds {
		return fmt.Errorf("the descent of %d birds, not %d", len(d.Birds), birds)
	}
	for i, p := range d.Parents {
		if min(p[0], p[1]) < -1 || max(p[0], p[1]) >= i || (p[0] < 0) != (p[1] < 0) {
			return fmt.Errorf("parents %v of ancestor %d", p, i)
		}
	}
	for _, i := range d.Birds {
		if i < 0 || i >= len(d.Parents) {
			return fmt.Errorf("no ancestor %d among %d", i, len(d.Parents))
		}
	}
	return nil
}

// loci is the number of places in the genome that are followed, each on a
// chromosome of its own; two bits of a random word say for each which genes
// a chick has from its parents.
const loci = 32

// alleles are the two genes of a bird at each of the loci, the dam's behind the
// sire's; 0 a gene that came in after the start.
type alleles [2 * loci]int32

// inherit returns the genes of a chick, one of the two of either parent at each
// locus as the bits fall.
func inherit(sire, dam *alleles, bits uint64) (chick alleles) {
	for locus := range loci {
		chick[locus] = sire[locus+loci*int(bits&1)]
		chick[loci+locus] = dam[locus+loci*int(bits>>1&1)]
		bits >>= 2
	}
	return chick
}

// pool counts the copies of every founder gene among the living.
type pool struct {
	labels int     // that a gene may have, 0 among them
	copies []int32 // by locus and label
	kept   int     // labels but 0 with a copy, over all loci
}

// begin empties the pool and gives the birds of a start their genes: those of
// the founders that they descend from, dropped down the pedigree by chance
// (MacCluer et al. 1986).
func (p *pool) begin(s *Start, l luck) []alleles {
	d := s.Descent
	if d == nil {
		d = unrelated(len(s.Birds))
	}
	drop := make([]alleles, len(d.Parents))
	p.labels = 1
	for i, parents := range d.Parents {
		if parents[0] < 0 {
			for k := range drop[i] {
				drop[i][k] = int32(p.labels + k/loci)
			}
			p.labels += 2
			continue
		}
		drop[i] = inherit(&drop[parents[0]], &drop[parents[1]], l.bits(drawDescent, uint64(i), 0))
	}
	p.kept = 0
	p.copies = slices.Grow(p.copies[:0], loci*p.labels)[:loci*p.labels]
	clear(p.copies)
	genes := make([]alleles, len(s.Birds))
	for k, i := range d.Birds {
		genes[k] = drop[i]
	}
	return genes
}

// unrelated returns the descent of birds with genes of their own.
func unrelated(birds int) *Descent {
	d := &Descent{Parents: make([][2]int, birds), Birds: make([]int, birds)}
	for i := range birds {
		d.Parents[i], d.Birds[i] = [2]int{-1, -1}, i
	}
	return d
}

func (p *pool) add(a *alleles) {
	for k, label := range a {
		if label == 0 {
			continue
		}
		at := &p.copies[k%loci*p.labels+int(label)]
		if *at == 0 {
			p.kept++
		}
		*at++
	}
}

func (p *pool) remove(a *alleles) {
	for k, label := range a {
		if label == 0 {
			continue
		}
		at := &p.copies[k%loci*p.labels+int(label)]
		if *at--; *at == 0 {
			p.kept--
		}
	}
}
