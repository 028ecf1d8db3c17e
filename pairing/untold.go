package pairing

import "pairwright/pedigree/studbook"

// askedFor is for how many days after a clutch was laid one asks what became of it, and
// of its chicks: later, nobody remembers (common practice, no source).
const askedFor = 365

// overdue reports whether a clutch without an outcome can no longer hatch: none hatched
// or fledged, no eggs replaced, no candling that found none fertile.
func (p *Programme) overdue(c *studbook.Clutch) bool {
	return c.Laid.Known() && c.Hatched < 0 && c.Fledged < 0 && !c.Replaced && !infertileClutch(c) &&
		p.Book.AsOf > c.Laid.Last+studbook.Day(p.Settings().IncubationDays+overdueDays)
}

// Untold returns the clutches, in file order, that should have hatched long ago and of
// which nothing says what became of them, not even a chick of the two in the studbook that
// hatched then. Those laid more than a year ago are left out.
func (p *Programme) Untold() (out []*studbook.Clutch) {
	for i := range p.Book.Clutches {
		if c := &p.Book.Clutches[i]; p.overdue(c) && p.Book.AsOf-c.Laid.Mid() <= askedFor && len(p.chicksOf(c)) == 0 {
			out = append(out, c)
		}
	}
	return out
}

// Unfledged returns the clutches, in file order, of which chicks hatched within a year and
// nobody wrote down how many fledged.
func (p *Programme) Unfledged() (out []*studbook.Clutch) {
	for i := range p.Book.Clutches {
		if c := &p.Book.Clutches[i]; c.Laid.Known() && c.Hatched > 0 && c.Fledged < 0 && p.Book.AsOf-c.Laid.Mid() <= askedFor {
			out = append(out, c)
		}
	}
	return out
}

// chicksOf returns the birds that are for certain of the pair of a clutch and hatched when
// it may have.
func (p *Programme) chicksOf(c *studbook.Clutch) (chicks []int) {
	f, okF := p.Book.Index(c.Female)
	m, okM := p.Book.Index(c.Male)
	if !okF || !okM {
		return nil
	}
	until := c.Laid.Last + studbook.Day(p.Settings().IncubationDays+overdueDays)
	for _, i := range p.offspring()[[2]int{f, m}] {
		if hatch := p.Book.Birds[i].Hatch; hatch.Known() && hatch.Last > c.Laid.First && hatch.First <= until {
			chicks = append(chicks, i)
		}
	}
	return chicks
}

// chicksByPair returns the birds whose parents are both known for certain, by dam and sire.
func (p *Programme) chicksByPair() map[[2]int][]int {
	of := map[[2]int][]int{}
	for i := range p.Book.Birds {
		if sire, dam := p.Book.Parents(i); sire >= 0 && dam >= 0 {
			of[[2]int{dam, sire}] = append(of[[2]int{dam, sire}], i)
		}
	}
	return of
}

// brood is how a pair stands that has had eggs in the running season and sits on none now.
type brood struct {
	hatched, untold *studbook.Clutch // the last such clutch
	// more is how many of its other eggs may still hatch.
	more int
	// until is the day on which its chicks fledge, where they are in the nest.
	until studbook.Day
	// over is true of a pair that can raise no more chicks in the season.
	over bool
}

// done reports whether nothing but the eggs beside its chicks, and what somebody has yet to
// write down, is to be expected of the pair now.
func (s *brood) done() bool { return s != nil && (s.untold != nil || s.over || s.until != 0) }

// seasonBroods finds how the pairs stand that have hatched chicks in the running season, or
// whose eggs of it nobody has told the end of.
func (b *planning) seasonBroods() {
	p := b.p
	b.broods = map[[2]int]*brood{}
	of := func(c *studbook.Clutch) *brood {
		f, okF := p.Book.Index(c.Female)
		m, okM := p.Book.Index(c.Male)
		if !okF || !okM || p.laidIn(c.Laid.Mid()) != p.Season() || b.clutch[[2]int{f, m}] != nil {
			return nil
		}
		s := b.broods[[2]int{f, m}]
		if s == nil {
			s = &brood{}
			b.broods[[2]int{f, m}] = s
		}
		return s
	}
	for _, c := range p.Untold() {
		if s := of(c); s != nil {
			s.untold = c
		}
	}
	for i := range p.Book.Clutches {
		c := &p.Book.Clutches[i]
		if c.Hatched <= 0 || !c.Laid.Known() {
			continue
		}
		if s := of(c); s != nil && (s.hatched == nil || s.hatched.Laid.Mid() <= c.Laid.Mid()) {
			s.hatched = c
		}
	}
	_, end := p.laying(p.Season())
	for _, s := range b.broods {
		c := s.hatched
		if c == nil {
			continue
		}
		if c.Fledged < 0 && p.Book.AsOf <= c.Laid.Last+studbook.Day(p.Settings().IncubationDays+overdueDays) {
			s.more = max(0, eggsOf(c, c.Hatched)-c.Hatched)
		}
		if p.feeds(c) {
			s.until = p.fledges(c)
		}
		s.over = end != 0 && max(p.Book.AsOf, s.until)+relayDays >= end
	}
}

// fledges returns the day by which the chicks of a clutch should have fledged.
func (p *Programme) fledges(c *studbook.Clutch) studbook.Day {
	return c.Laid.Mid() + studbook.Day(p.Settings().IncubationDays+p.Settings().RearingDays)
}

// feeds reports whether chicks of a clutch should be in the nest: some have hatched, it
// is too early for them to have fledged, and they did not die as far as the studbook knows.
func (p *Programme) feeds(c *studbook.Clutch) bool {
	if c.Hatched <= 0 || c.Fledged >= 0 || p.Book.AsOf >= p.fledges(c) {
		return false
	}
	dead := 0
	for _, i := range p.chicksOf(c) {
		if !p.Book.Alive(i) {
			dead++
		}
	}
	return dead < c.Hatched
}
