package main

import (
	"cmp"
	"fmt"
	"slices"
	"time"
)

// cast are the birds whose last year at home is steered, so that each case a
// keeper meets is there.
type cast struct {
	widow   *bird // lost her mate this summer; brother is a good mate for her
	brother *bird // unpaired, of a rare line
	sister  *bird // of brother, so that her best mate lives elsewhere
	common  *bird // an unpaired male whose line is over-represented
	resting *bird // unpaired, on a hold
	barren  *bond // sits every year without success
}

// spare lets a bird live past asOf.
func spare(b *bird) {
	if !b.living() {
		b.death = asOf + 200 + day(b.row%300)
	}
}

// stage prepares the home colony in the last winter: it fills the bonds,
// chooses the cast, and sends the other free adults away.
func (p *programme) stage(start day) {
	mean := p.meanKinship(start)
	spring := date(lastYear, time.April, 1)
	var free []*bird // of breeding age, home birds first
	for _, b := range p.alive(start) {
		if b.bond == nil && b.sex != 'U' && b.living() && b.freeSince <= start && b.aged(spring, 3) && !b.aged(spring, 13) && b.origin == "captive" && b.sire != nil {
			free = append(free, b)
		}
	}
	slices.SortStableFunc(free, func(a, b *bird) int { return cmp.Compare(away(a), away(b)) })

	bonds := 0
	for _, b := range p.open() {
		if b.female.place() == home {
			spare(b.female)
			spare(b.male)
			bonds++
		}
	}
	c := &p.cast
	c.brother, c.sister = p.siblings(free, mean)
	c.widow = p.futureWidow(c.brother, mean, start)
	c.common = p.overRepresented(mean, start)
	c.resting = middling(free, c.sister, mean)
	for _, b := range []*bird{c.brother, c.sister, c.common, c.resting} {
		if b == nil {
			continue
		}
		b.reserved = true
		if b.place() != home && b != c.common {
			b.move(home, p.moveDay(start), "advised by the coordinator")
		}
	}
	for ; bonds < homeBonds; bonds++ {
		p.fill(free, start)
	}
	p.makeRoom(start)
	if c.widow != nil {
		c.widow.bond.male.death = date(lastYear, time.July, 24) + day(p.random.IntN(20))
		c.widow.bond.male.notes = "found dead below the ledge"
	}
}

// away is 0 for a home bird and 1 for another.
func away(b *bird) int {
	if b.place() == home {
		return 0
	}
	return 1
}

// traced reports whether every ancestor of the bird is known back to the wild.
func traced(b *bird) bool {
	return b.origin == "wild" || b.sire != nil && b.dam != nil && traced(b.sire) && traced(b.dam)
}

// descends reports whether a is b or an ancestor of b.
func descends(b, a *bird) bool {
	return b != nil && (a == b || descends(b.sire, a) || descends(b.dam, a))
}

// siblings returns a free brother and sister of the rarest line that is traced.
func (p *programme) siblings(free []*bird, mean []float64) (brother, sister *bird) {
	best := 0.0
	for _, m := range free {
		for _, f := range free {
			if m.sex != 'M' || f.sex != 'F' || m.sire != f.sire || m.dam != f.dam || !traced(m) {
				continue
			}
			if sum := mean[m.row] + mean[f.row]; brother == nil || sum < best {
				brother, sister, best = m, f, sum
			}
		}
	}
	return brother, sister
}

// middling returns the free female, not the sister, whose line is neither rare
// nor common.
func middling(free []*bird, sister *bird, mean []float64) *bird {
	var females []*bird
	for _, b := range free {
		if b.sex == 'F' && b != sister {
			females = append(females, b)
		}
	}
	if len(females) == 0 {
		return nil
	}
	slices.SortStableFunc(females, func(a, b *bird) int { return cmp.Compare(mean[a.row], mean[b.row]) })
	return females[len(females)/2]
}

// overRepresented brings home the bonded male of the commonest line, to live
// there without a mate.
func (p *programme) overRepresented(mean []float64, start day) *bird {
	var common *bond
	for _, b := range p.open() {
		m := b.male
		if m.place() == home || !m.living() || !b.female.living() || !m.aged(start, 4) || m.aged(start, 15) || !m.settled(start) {
			continue
		}
		if common == nil || mean[m.row] > mean[common.male.row] {
			common = b
		}
	}
	if common == nil {
		return nil
	}
	m, d := common.male, p.moveDay(start)
	common.end(d, "moved")
	m.move(home, d, "his line has chicks enough; housed here without a mate")
	return m
}

// futureWidow returns the bonded female at home of the rarest line that is no
// kin of the brother.
func (p *programme) futureWidow(brother *bird, mean []float64, start day) *bird {
	var widow *bird
	for _, b := range p.open() {
		f := b.female
		if f.place() != home || b.barren || !traced(f) || !f.aged(start, 4) || f.aged(start, 14) || b.male.entered == b.male.hatch && !b.male.aged(start, 5) {
			continue
		}
		if brother != nil && p.kin(f, brother) > 0.02 {
			continue
		}
		if widow == nil || mean[f.row] < mean[widow.row] {
			widow = f
		}
	}
	return widow
}

// fill bonds a pair at home from the free birds.
func (p *programme) fill(free []*bird, start day) {
	for _, f := range free {
		if f.sex != 'F' || f.bond != nil || f.reserved {
			continue
		}
		for _, m := range free {
			if m.sex != 'M' || m.bond != nil || m.reserved || p.kin(f, m) > 0.05 {
				continue
			}
			for _, b := range []*bird{f, m} {
				if b.place() != home {
					b.move(home, p.moveDay(start), "to find a mate")
				}
			}
			p.pair(f, m, date(lastYear, time.February, 15))
			return
		}
	}
}

// makeRoom sends the free adults that have no part, and most of the young birds,
// from home to where there is room.
func (p *programme) makeRoom(start day) {
	crowd := make([]int, len(institutions))
	living := p.alive(start)
	for _, b := range living {
		crowd[b.place()]++
	}
	stay := 2 // young birds that stay
	for _, b := range living {
		d := max(p.moveDay(start), b.freeSince+7)
		if b.place() != home || b.bond != nil || b.reserved || !b.aliveOn(d) || !b.aged(start, 1) || b.aged(start, 20) {
			continue
		}
		if !b.aged(start, 2) && stay > 0 {
			stay--
			continue
		}
		to := place(1)
		for i := range institutions {
			if i := place(i); i != home && institutions[i].room-crowd[i] > institutions[to].room-crowd[to] {
				to = i
			}
		}
		crowd[to]++
		b.move(to, d, "to make room")
	}
}

// chooseBarren picks, once, a new home bond that will never have a fertile egg.
func (p *programme) chooseBarren(year int) {
	if p.cast.barren != nil || year < 2017 || year > 2022 {
		return
	}
	for _, b := range p.open() {
		if b.female.place() == home && b.since >= date(year, time.January, 1) && !b.female.aged(b.since, 12) && !b.male.aged(b.since, 12) &&
			!slices.ContainsFunc(p.birds, func(x *bird) bool { return x.sire == b.male || x.dam == b.female }) {
			b.barren = true
			p.cast.barren = b
			spare(b.female)
			spare(b.male)
			return
		}
	}
}

// lentSire hatches a chick whose sire was never entered in the studbook.
func (p *programme) lentSire(year int) {
	d := date(year, time.June, 3)
	for _, b := range p.birds {
		if b.sex == 'F' && b.aged(d, 3) && b.aliveOn(d) && b.aliveOn(d-40) && b.bond == nil && !b.aged(d, 15) {
			chick := p.hatch(nil, b, d, 0)
			chick.sex = 'F'
			chick.sireText = "PA07"
			chick.notes = "sire was on loan from a private aviary that has closed; its papers are lost"
			chick.death = max(chick.death, d+years(16))
			chick.vigour = 115
			return
		}
	}
}

// chicks returns the birds of a parent.
func (p *programme) chicks(b *bird) []*bird {
	var chicks []*bird
	for _, x := range p.birds {
		if x.sire == b || x.dam == b {
			chicks = append(chicks, x)
		}
	}
	return chicks
}

// rival returns another male that could have been the sire: of age, alive, at
// the place of the nest.
func (p *programme) rival(chick *bird) *bird {
	laid := chick.hatch - incubation - 4
	var males []*bird
	for _, b := range p.birds {
		if b.sex == 'M' && b != chick.sire && b.sire != nil && !b.poor && b.aged(laid, 3) && !b.aged(laid, 22) && b.aliveOn(laid) && b.aliveOn(chick.hatch+5) &&
			b.placeOn(laid) == chick.stays[0].place {
			males = append(males, b)
		}
	}
	if len(males) == 0 {
		return nil
	}
	return males[p.random.IntN(len(males))]
}

// leaveDoubts makes the parentage of a few birds uncertain.
func (p *programme) leaveDoubts() {
	c := p.cast
	staged := []*bird{c.widow, c.brother, c.sister, c.common}
	used := map[*bird]bool{}
	// doubt makes the first bird that fits uncertain, together with its
	// siblings of the clutch if there must be two.
	doubt := func(pair bool, sires func(sire, rival *bird) string, notes string, fits func(b *bird) bool) {
		for _, b := range p.birds {
			if b.sire == nil || b.sireText != "" || b.hatchText != "" || used[b.dam] ||
				slices.ContainsFunc(staged, func(x *bird) bool { return descends(x, b) }) || !fits(b) {
				continue
			}
			brood := []*bird{b}
			for _, x := range p.birds {
				if x != b && x.dam == b.dam && x.hatch >= b.hatch && x.hatch <= b.hatch+5 && x.living() && x.place() != home {
					brood = append(brood, x)
				}
			}
			rival := p.rival(b)
			if rival == nil || pair && len(brood) != 2 {
				continue
			}
			if !pair {
				brood = brood[:1]
			}
			for _, x := range brood {
				x.sireText, x.notes = sires(b.sire, rival), notes
			}
			used[b.dam] = true
			return
		}
	}
	in := func(b *bird, first, last int) bool { y := b.hatch.time().Year(); return first <= y && y <= last }
	doubt(true, func(s, r *bird) string { return fmt.Sprintf("%s=0.6; %s=0.4", s.id, r.id) },
		"two males seen with the dam; one clutch, so one sire for both chicks",
		func(b *bird) bool { return b.living() && b.place() != home && in(b, 2013, 2023) })
	doubt(false, func(s, r *bird) string { return fmt.Sprintf("%s=0.7; %s=0.3", s.id, r.id) },
		"sire likely from the nest book, not certain",
		func(b *bird) bool { return b.living() && b.place() == home && b.bond != nil && in(b, 2010, 2023) })
	doubt(false, func(s, r *bird) string { return s.id + "; " + r.id },
		"mates changed over in the laying weeks; either male",
		func(b *bird) bool { return in(b, 1999, 2009) && p.livingChicks(b) >= 3 })
	doubt(false, func(s, r *bird) string { return s.id + "=0.8" },
		"sire from a DNA test of few markers, not certain",
		func(b *bird) bool { return b.living() && b.place() != home && in(b, 2012, 2024) })
	doubt(false, func(s, r *bird) string { return "unknown" },
		"nest card lost; dam by band",
		func(b *bird) bool { return in(b, 2000, 2009) && p.livingChicks(b) >= 2 })
}

func (p *programme) livingChicks(b *bird) int {
	n := 0
	for _, x := range p.chicks(b) {
		if x.living() {
			n++
		}
	}
	return n
}

// putOnHold writes the holds: two in force at home, one elsewhere, one past.
func (p *programme) putOnHold() {
	if r := p.cast.resting; r != nil {
		p.holds = append(p.holds, hold{r, "2026-03-02", "", "treated for an inflamed oviduct", "breeding", "the veterinarian looks again in January"})
	}
	var old, elsewhere *bird
	for _, b := range p.birds {
		if !b.living() {
			continue
		}
		if b.place() == home && b.bond != nil && (old == nil || b.hatch < old.hatch) {
			old = b
		}
		if b.place() != home && b.bond == nil && b.aged(asOf, 4) && !b.aged(asOf, 10) {
			elsewhere = b
		}
	}
	if old != nil {
		p.holds = append(p.holds, hold{old, "2024-10-14", "", "too old to travel", "moving", "agreed with the coordinator"})
	}
	if elsewhere != nil {
		p.holds = append(p.holds, hold{elsewhere, "2026-09-07", "2026-10-20", "treatment for lung mites", "both", ""})
	}
	if b := p.cast.barren; b != nil {
		p.holds = append(p.holds, hold{b.male, "2025-11-03", "2025-12-20", "treated for bumblefoot", "both", "healed"})
	}
}

// number gives ids in the order of entry, and bands to birds that lived long
// enough to be banded.
func (p *programme) number() {
	slices.SortStableFunc(p.birds, func(a, b *bird) int { return cmp.Compare(a.entered, b.entered) })
	bands := make([]int, len(institutions))
	for i, b := range p.birds {
		b.id = fmt.Sprintf("C%04d", i+1)
		if at := b.stays[0].place; min(b.death, asOf)-b.entered >= bandingAge || b.sire == nil && b.dam == nil {
			bands[at]++
			b.band = fmt.Sprintf("%s-%03d", institutions[at].code, bands[at])
		}
	}
	a, b := p.halfSibs[0], p.halfSibs[1]
	a.notes, b.notes = "half sib of "+b.id+" by DNA", "half sib of "+a.id+" by DNA"
}
