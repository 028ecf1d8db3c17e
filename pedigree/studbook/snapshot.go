package studbook

import (
	"cmp"
	"maps"
	"slices"
)

// Snapshot is the state of a colony on one day. Birds that had not hatched do
// not exist, later deaths have not happened, later moves have not been made.
type Snapshot struct {
	Colony *Colony
	AsOf   Day

	// Birds are the birds that exist on the day, by id. Deaths after the day
	// are cleared, Location is where the bird was on the day, "" if that was
	// outside the programme. Every parent and candidate parent of a bird that
	// exists is among them.
	Birds []Bird

	// Living are the indices in Birds of the birds that live in the programme,
	// ascending.
	Living []int

	Bonds    []Bond   // begun on or before the day, open or ended, in file order; a later end is cleared
	Clutches []Clutch // laid on or before the day, in file order; see At for what came of them
	Holds    []Hold   // in force on the day, in file order

	Requests []Request // made on or before the day, for birds that exist, in file order
	Rulings  []Ruling  // made on or before the day, on birds that exist, in file order

	there        []int32    // index in Colony.Birds by index in Birds
	parents      [][2]int32 // sires and dams, see Parents
	lives        []Life     // by index in Colony.Birds
	alive        []bool     // by index in Birds
	index        *register  // of Colony.Birds
	at           []int32    // index in Birds by index in Colony.Birds, -1 where the bird does not exist
	mates        map[string][]string
	open         []Bond
	held         map[string][]Hold
	institutions map[string]Institution
}

// At returns the state of the colony on a day. Of a date that is known only
// in part the middle counts.
//
// Who exists and lives where follows from Colony.Lives. A bond, clutch or hold
// without a beginning has always been there, once its birds exist. What came
// of a clutch is cleared where it cannot have been known on the day, if that
// is before the day of the files: whether eggs were fertile until they are
// candled, how many hatched until the incubation is over, and how many fledged
// until the rearing is too, each counted from the first egg.
func (c *Colony) At(day Day) *Snapshot {
	s := &Snapshot{Colony: c, AsOf: day, lives: c.Lives(), index: c.register()}
	s.setBirds()
	s.findParents()
	s.setRecords()
	s.setOpenBonds()
	s.institutions = make(map[string]Institution, len(c.Institutions))
	for _, in := range c.Institutions {
		s.institutions[in.Code] = in
	}
	return s
}

// setBirds fills in the birds that exist on the day, and who of them lives where.
func (s *Snapshot) setBirds() {
	c, day := s.Colony, s.AsOf
	for i := range c.Birds {
		if s.lives[i].Begin <= day {
			s.there = append(s.there, int32(i))
		}
	}
	slices.SortFunc(s.there, func(i, j int32) int { return cmp.Compare(s.index.ids[i], s.index.ids[j]) })
	// Where every bird is as the files have it, and in that order, nothing is copied:
	// a million birds are a quarter of a gigabyte.
	shared := len(s.there) == len(c.Birds) && slices.IsSorted(s.there)
	if s.Birds = c.Birds; !shared {
		s.Birds = make([]Bird, len(s.there))
		for i, k := range s.there {
			s.Birds[i] = c.Birds[k]
		}
	}
	s.alive = make([]bool, len(s.there))
	s.at = slices.Repeat([]int32{-1}, len(c.Birds))
	for i, k := range s.there {
		b, l := &s.Birds[i], &s.lives[k]
		s.at[k] = int32(i)
		death := b.Death
		if !death.OnOrBefore(day) {
			death = Date{}
		}
		place, alive := l.On(day)
		if s.alive[i] = alive; alive {
			s.Living = append(s.Living, i)
		} else if !death.Known() {
			place = "" // not in the programme
		}
		if death == b.Death && place == b.Location {
			continue
		}
		if shared {
			s.Birds, shared = slices.Clone(c.Birds), false
			b = &s.Birds[i]
		}
		b.Death, b.Location = death, place
	}
}

// setRecords fills in what the other files tell of these birds by the day.
func (s *Snapshot) setRecords() {
	c, day := s.Colony, s.AsOf
	s.Bonds = make([]Bond, 0, len(c.Bonds))
	for _, b := range c.Bonds {
		if !s.begun(b.Since, b.Female, b.Male) {
			continue
		}
		if !b.Until.OnOrBefore(day) {
			b.Until, b.EndedBy = Date{}, ""
		}
		s.Bonds = append(s.Bonds, b)
	}
	s.Clutches = make([]Clutch, 0, len(c.Clutches))
	for _, cl := range c.Clutches {
		if s.begun(cl.Laid, cl.Female, cl.Male) {
			s.Clutches = append(s.Clutches, c.known(cl, day))
		}
	}
	s.held = make(map[string][]Hold)
	for _, h := range c.Holds {
		if s.begun(h.Since, h.ID) && h.Ends() > day {
			s.Holds = append(s.Holds, h)
			s.held[h.ID] = append(s.held[h.ID], h)
		}
	}
	for _, q := range c.Requests {
		if s.begun(q.Date, q.Bird) && (q.Partner == "" || s.begun(q.Date, q.Partner)) {
			s.Requests = append(s.Requests, q)
		}
	}
	for _, u := range c.Rulings {
		if s.begun(u.Date, u.Birds...) {
			s.Rulings = append(s.Rulings, u)
		}
	}
}

// setOpenBonds fills in the bonds that are in force, and who is whose mate by them.
func (s *Snapshot) setOpenBonds() {
	s.mates = make(map[string][]string)
	for _, b := range s.Bonds {
		f, _ := s.Index(b.Female)
		m, _ := s.Index(b.Male)
		if b.Until.Known() || !s.alive[f] || !s.alive[m] || s.Birds[f].Location != s.Birds[m].Location {
			continue
		}
		s.open = append(s.open, b)
		if !slices.Contains(s.mates[b.Female], b.Male) {
			s.mates[b.Female] = append(s.mates[b.Female], b.Male)
			s.mates[b.Male] = append(s.mates[b.Male], b.Female)
		}
	}
}

// findParents fills in the parents of all birds. They were found by id when the
// colony was read.
func (s *Snapshot) findParents() {
	c := s.Colony
	kin := c.lineage()
	s.parents = make([][2]int32, len(s.there))
	for i, k := range s.there {
		s.parents[i] = [2]int32{-1, -1}
		for _, l := range kin.of(int(k)) {
			if _, certain := c.Birds[k].parentage(l.side).Known(); certain {
				s.parents[i][l.side] = s.at[l.parent]
			}
		}
	}
}

// known returns a clutch with what can have been known of it on a day.
func (c *Colony) known(l Clutch, day Day) Clutch {
	if !l.Laid.Known() || c.FilesDay == 0 || day >= c.FilesDay {
		return l
	}
	set := &c.Settings
	age := int(day - l.Laid.Mid())
	for _, of := range []struct {
		after int
		count *int
	}{{set.CandlingDays, &l.Fertile}, {set.IncubationDays, &l.Hatched}, {set.IncubationDays + set.RearingDays, &l.Fledged}} {
		if age < of.after {
			*of.count = -1
		}
	}
	l.Replaced = l.Replaced && age >= set.IncubationDays
	return l
}

// begun reports whether something that began on a date has begun, with all
// its birds there.
func (s *Snapshot) begun(since Date, ids ...string) bool {
	for _, id := range ids {
		if _, ok := s.Index(id); !ok {
			return false
		}
	}
	return !since.Known() || since.OnOrBefore(s.AsOf)
}

// Index returns the index in Birds of the bird with an id, false if no such
// bird exists on the day.
func (s *Snapshot) Index(id string) (int, bool) {
	if i, ok := s.index.find(id); ok && s.at[i] >= 0 {
		return int(s.at[i]), true
	}
	return 0, false
}

// Parents returns the indices in Birds of the parents of the bird at an index, -1
// for one that is not known for certain.
func (s *Snapshot) Parents(i int) (sire, dam int) {
	return int(s.parents[i][0]), int(s.parents[i][1])
}

// Bird returns the bird with an id, nil if no such bird exists on the day.
func (s *Snapshot) Bird(id string) *Bird {
	if i, ok := s.Index(id); ok {
		return &s.Birds[i]
	}
	return nil
}

// Alive reports whether the bird at index i of Birds lives in the programme on
// the day: it is one of Living. A parent without a row of its own never does,
// nor does a bird that has left or not yet come.
func (s *Snapshot) Alive(i int) bool { return s.alive[i] }

// Life returns the life of the bird at index i of Birds up to the day.
func (s *Snapshot) Life(i int) Life { return s.lives[s.there[i]].until(s.AsOf) }

// OpenBonds returns the bonds in force on the day, in file order: those that
// have begun and not ended, and whose birds both live, at one place.
func (s *Snapshot) OpenBonds() []Bond { return s.open }

// Mates returns the living birds that a bird has an open bond with, in the
// order of the bonds; empty if it has none.
func (s *Snapshot) Mates(id string) []string { return s.mates[id] }

// HoldsOn returns the holds in force on a bird, in file order.
func (s *Snapshot) HoldsOn(id string) []Hold { return s.held[id] }

// Blocked returns the first hold in force that keeps a bird from what is
// asked; BlocksBoth asks for a hold on either. A hold that blocks both keeps
// the bird from each.
func (s *Snapshot) Blocked(id string, what Block) (Hold, bool) {
	for _, h := range s.held[id] {
		if what == BlocksBoth || h.Blocks == BlocksBoth || h.Blocks == what {
			return h, true
		}
	}
	return Hold{}, false
}

// AgeYears returns the age in years of the bird at index i of Birds, on the
// day or at its death, counted between the middles of the dates, and by how
// much it may be off because the dates are known only in part. It is false if
// the hatch date is unknown.
func (s *Snapshot) AgeYears(i int) (age, plusMinus float64, ok bool) {
	b := &s.Birds[i]
	if !b.Hatch.Known() {
		return 0, 0, false
	}
	end := Date{First: s.AsOf, Last: s.AsOf}
	if b.Death.Known() {
		end = b.Death
	}
	age = max(0, float64(end.Mid()-b.Hatch.Mid())/DaysPerYear)
	return age, (b.Hatch.Spread() + end.Spread()) / DaysPerYear, true
}

// Institution returns the member of the network with a code.
func (s *Snapshot) Institution(code string) (Institution, bool) {
	in, ok := s.institutions[code]
	return in, ok
}

// FounderKinship returns the known kinships of founders that both exist on the day.
func (s *Snapshot) FounderKinship() []FounderKinship {
	var known []FounderKinship
	for _, k := range s.Colony.FounderKinship {
		if s.Bird(k.ID1) != nil && s.Bird(k.ID2) != nil {
			known = append(known, k)
		}
	}
	return known
}

// MovesOf returns the moves of a bird on or before the day, by day.
func (s *Snapshot) MovesOf(id string) []Move {
	var of []Move
	for _, m := range s.Colony.Moves {
		if m.ID == id && m.Date.OnOrBefore(s.AsOf) {
			of = append(of, m)
		}
	}
	slices.SortStableFunc(of, func(a, b Move) int { return cmp.Compare(a.Date.Mid(), b.Date.Mid()) })
	return of
}

// LivingAt returns the indices in Birds of the birds living at an
// institution, ascending.
func (s *Snapshot) LivingAt(code string) []int {
	var at []int
	for _, i := range s.Living {
		if s.Birds[i].Location == code {
			at = append(at, i)
		}
	}
	return at
}

// Locations returns where the living birds are, sorted, each place once.
func (s *Snapshot) Locations() []string {
	seen := make(map[string]bool)
	for _, i := range s.Living {
		seen[s.Birds[i].Location] = true
	}
	return slices.Sorted(maps.Keys(seen))
}
