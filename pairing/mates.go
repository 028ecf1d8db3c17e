package pairing

import (
	"slices"

	"pairwright/pedigree/studbook"
)

// Mates returns the birds that a living bird is taken by, in the order of bonds
// and clutches: those of its open bonds, and those of its clutches of the
// running season and of clutches that may still be on the nest, whether or not
// anybody wrote a bond down. A bond or a clutch whose birds live at two places
// counts as none; a clutch tells nothing where the two were parted after it.
func (p *Programme) Mates(b int) []int { return p.mates[b] }

// mated fills in the mates of all birds.
func (p *Programme) mated() [][]int {
	mates := make([][]int, len(p.Book.Birds))
	join := func(female, male string) {
		f, okF := p.Book.Index(female)
		m, okM := p.Book.Index(male)
		if !okF || !okM || !p.Book.Alive(f) || !p.Book.Alive(m) ||
			p.Book.Birds[f].Location != p.Book.Birds[m].Location || slices.Contains(mates[f], m) {
			return
		}
		mates[f], mates[m] = append(mates[f], m), append(mates[m], f)
	}
	for _, bond := range p.Book.OpenBonds() {
		join(bond.Female, bond.Male)
	}
	for i := range p.Book.Clutches {
		if c := &p.Book.Clutches[i]; p.running(c) && !p.partedAfter(c) {
			join(c.Female, c.Male)
		}
	}
	return mates
}

// running reports whether a clutch is one of the running season, or may still
// keep its parents on the nest.
func (p *Programme) running(c *studbook.Clutch) bool {
	if !c.Laid.Known() {
		return false
	}
	until, onNest := NestUntil(c)
	return onNest && until >= p.Book.AsOf || p.laidIn(c.Laid.Mid()) == p.Season()
}

// partedAfter reports whether a bond of the two ended on or after the day that
// a clutch was laid, or one of them then began a bond with another bird.
func (p *Programme) partedAfter(c *studbook.Clutch) bool {
	return slices.ContainsFunc(p.Book.Bonds, func(b studbook.Bond) bool {
		female, male := b.Female == c.Female, b.Male == c.Male
		switch {
		case female && male:
			return b.Until.Known() && b.Until.Last >= c.Laid.First
		case female || male:
			return b.Since.Known() && b.Since.Mid() > c.Laid.Mid()
		}
		return false
	})
}

// Free returns the living birds of a place that are free to breed in the coming
// season, by id; birds that are so but for their sex, which nobody knows, are among
// them.
func (p *Programme) Free(place string) []int {
	return slices.DeleteFunc(slices.Clone(p.Book.LivingAt(place)), func(b int) bool {
		state := p.State(b).State
		if state == StateUnsexed {
			state = p.whateverItsSex(b, p.BreedingDay()).State
		}
		return state != StateFree
	})
}

// Unpaired returns the birds of Free whose sex is known.
func (p *Programme) Unpaired(place string) []int {
	return slices.DeleteFunc(p.Free(place), func(b int) bool { return p.Book.Birds[b].Sex == studbook.Unsexed })
}

// pairs returns every two living birds that are mates once, the female first.
func (p *Programme) pairs() [][2]int {
	var pairs [][2]int
	for _, b := range p.Book.Living {
		if p.Book.Birds[b].Sex == studbook.Male {
			continue
		}
		for _, mate := range p.Mates(b) {
			other := p.Book.Birds[mate].Sex
			twice := mate < b && other == studbook.Unsexed && p.Book.Birds[b].Sex == studbook.Unsexed
			if other != studbook.Female && !twice {
				pairs = append(pairs, [2]int{b, mate})
			}
		}
	}
	return pairs
}
