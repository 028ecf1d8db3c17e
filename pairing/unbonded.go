package pairing

// SeemsPaired is why a bird that counts as free may not be: Birds the bird and its other
// parent of their last chick, with whom no bond is on record.
const SeemsPaired Code = "seems_paired"

// SeemPaired returns the females and males that live together, had their last chicks with
// each other and count as free, because no bond of theirs is on record; in the order of
// the rows of these chicks.
func (p *Programme) SeemPaired() [][2]int { return p.seemPaired }

// SeemsPairedWith returns why a bird that counts as free seems to be paired; is is false
// for every other bird.
func (p *Programme) SeemsPairedWith(b int) (why Reason, is bool) {
	mate, is := p.seemMate[b]
	if is {
		why = Reason{Code: SeemsPaired, Birds: p.birds(b, mate)}
	}
	return why, is
}

// Heed returns what must be thought of before two living birds are brought together: that
// they may be closer kin than the pedigree says (Doubt), that one of them seems to be
// paired with another already, and that one is older than any bird is known to have bred.
// None where nothing is in doubt.
func (p *Programme) Heed(a, b int) []Reason {
	why := p.Doubt(a, b)
	for _, of := range [2][2]int{{a, b}, {b, a}} {
		if mate, is := p.seemMate[of[0]]; is && mate != of[1] {
			r, _ := p.SeemsPairedWith(of[0])
			why = append(why, r)
		}
	}
	for _, x := range [2]int{a, b} {
		if r, is := p.olderThanAny(x); is {
			why = append(why, r)
		}
	}
	return why
}

// findSeemPaired fills in who seems to be paired on the day of the snapshot.
func (p *Programme) findSeemPaired() {
	p.seemPaired, p.seemMate = nil, map[int]int{}
	c := p.Book.Colony
	for _, k := range c.UnbondedOn(p.Book.AsOf) {
		chick := &c.Birds[k]
		sire, _ := chick.Sire.Known()
		dam, _ := chick.Dam.Known()
		f, okF := p.Book.Index(dam)
		m, okM := p.Book.Index(sire)
		if okF && okM && len(p.mates[f]) == 0 && len(p.mates[m]) == 0 { // by a clutch they may have one
			p.seemPaired = append(p.seemPaired, [2]int{f, m})
			p.seemMate[f], p.seemMate[m] = m, f
		}
	}
}
