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
	// are cleared, Location is where the bird was on the day. Every parent and
	// candidate parent of a bird that exists is among them.
	Birds []Bird

	// Living are the indices in Birds of the living, ascending.
	Living []int

	Bonds    []Bond   // begun on or before the day, open or ended, in file order; a later end is cleared
	Clutches []Clutch // laid on or before the day, in file order, with what came of them even if later
	Holds    []Hold   // in force on the day, in file order

	index        map[string]int
	mates        map[string][]string
	open         []Bond
	held         map[string][]Hold
	institutions map[string]Institution
}

// At returns the state of the colony on a day. Of a date that is known only
// in part the middle counts.
//
// A bird whose hatch date is unknown exists on every day, except before one
// of its known parents hatched. A bond, clutch or hold without a beginning
// has always been there, once its birds exist.
func (c *Colony) At(day Day) *Snapshot {
	s := &Snapshot{Colony: c, AsOf: day}
	for i, there := range c.existing(day) {
		if there {
			s.Birds = append(s.Birds, c.Birds[i])
		}
	}
	slices.SortFunc(s.Birds, func(a, b Bird) int { return cmp.Compare(a.ID, b.ID) })

	s.index = make(map[string]int, len(s.Birds))
	for i := range s.Birds {
		b := &s.Birds[i]
		s.index[b.ID] = i
		if !b.Death.OnOrBefore(day) {
			b.Death = Date{}
			if b.Recorded {
				s.Living = append(s.Living, i)
			}
		}
	}
	s.place(day)

	for _, b := range c.Bonds {
		if !s.begun(b.Since, b.Female, b.Male) {
			continue
		}
		if !b.Until.OnOrBefore(day) {
			b.Until, b.EndedBy = Date{}, ""
		}
		s.Bonds = append(s.Bonds, b)
	}
	for _, cl := range c.Clutches {
		if s.begun(cl.Laid, cl.Female, cl.Male) {
			s.Clutches = append(s.Clutches, cl)
		}
	}
	s.held = make(map[string][]Hold)
	for _, h := range c.Holds {
		if s.begun(h.Since, h.ID) && !h.Until.OnOrBefore(day) {
			s.Holds = append(s.Holds, h)
			s.held[h.ID] = append(s.held[h.ID], h)
		}
	}

	s.institutions = make(map[string]Institution, len(c.Institutions))
	for _, in := range c.Institutions {
		s.institutions[in.Code] = in
	}
	s.mates = make(map[string][]string)
	for _, b := range s.Bonds {
		if b.Until.Known() || !s.living(b.Female) || !s.living(b.Male) {
			continue
		}
		s.open = append(s.open, b)
		if !slices.Contains(s.mates[b.Female], b.Male) {
			s.mates[b.Female] = append(s.mates[b.Female], b.Male)
			s.mates[b.Male] = append(s.mates[b.Male], b.Female)
		}
	}
	return s
}

// existing reports for each bird of the colony whether it exists on the day.
func (c *Colony) existing(day Day) []bool {
	index := make(map[string]int, len(c.Birds))
	for i := range c.Birds {
		index[c.Birds[i].ID] = i
	}
	const (
		unseen = iota
		open
		present
		absent
	)
	state := make([]byte, len(c.Birds))
	// A bird without a hatch date waits for its known parents, so these are
	// settled first; the stack replaces a recursion that data could make deep.
	var stack []int
	for i := range c.Birds {
		stack = append(stack[:0], i)
		for len(stack) > 0 {
			k := stack[len(stack)-1]
			b := &c.Birds[k]
			switch {
			case state[k] > open:
				stack = stack[:len(stack)-1]
				continue
			case b.Hatch.Known():
				state[k] = absent
				if b.Hatch.OnOrBefore(day) {
					state[k] = present
				}
				continue
			}
			settled := true
			verdict := byte(present)
			for _, p := range [2]Parentage{b.Sire, b.Dam} {
				id, known := p.Known()
				j, row := index[id]
				if !known || !row {
					continue
				}
				switch state[j] {
				case absent:
					verdict = absent
				case unseen:
					if state[k] == unseen {
						stack = append(stack, j)
						settled = false
					}
				}
			}
			state[k] = open
			if settled {
				state[k] = verdict
			}
		}
	}
	// Who has a chick has hatched, whatever the middle of a vague date says,
	// and a parent without a row exists for its chicks alone.
	there := make([]bool, len(c.Birds))
	var pending []int
	for i := range c.Birds {
		if state[i] == present && c.Birds[i].Recorded {
			there[i] = true
			pending = append(pending, i)
		}
	}
	for len(pending) > 0 {
		b := &c.Birds[pending[len(pending)-1]]
		pending = pending[:len(pending)-1]
		for _, p := range [2]Parentage{b.Sire, b.Dam} {
			for _, cand := range p.Candidates {
				if j, ok := index[cand.ID]; ok && !there[j] {
					there[j] = true
					pending = append(pending, j)
				}
			}
		}
	}
	return there
}

// place puts every bird where it was on the day.
func (s *Snapshot) place(day Day) {
	places := s.Colony.Places()
	for i := range s.Birds {
		s.Birds[i].Location = places.On(&s.Birds[i], day)
	}
}

// Places tells where birds were on any day, and how they came there.
type Places struct {
	one   bool              // there is no location column
	moves map[string][]Move // of each bird, in time
}

// Places indexes the moves of the colony.
func (c *Colony) Places() Places {
	p := Places{one: !c.HasLocation, moves: make(map[string][]Move)}
	for _, m := range c.Moves {
		p.moves[m.ID] = append(p.moves[m.ID], m)
	}
	for _, moves := range p.moves {
		slices.SortStableFunc(moves, func(a, b Move) int { return cmp.Compare(a.Date.Mid(), b.Date.Mid()) })
	}
	return p
}

// Of returns the moves of a bird in time, those without a date first; not to be
// changed.
func (p Places) Of(id string) []Move { return p.moves[id] }

// On returns where a bird was on the day: where its last move until then took
// it, else where its first later move took it from, else where the studbook
// has it. A move without a destination tells nothing. Without a location
// column there is one place, "".
func (p Places) On(b *Bird, day Day) string {
	if p.one {
		return ""
	}
	place := b.Location
	for _, m := range slices.Backward(p.moves[b.ID]) {
		switch {
		case !m.Date.OnOrBefore(day):
			place = cmp.Or(m.From, b.Location)
		case m.To != "":
			return m.To
		}
	}
	return place
}

// begun reports whether something that began on a date has begun, with all
// its birds there.
func (s *Snapshot) begun(since Date, ids ...string) bool {
	for _, id := range ids {
		if _, ok := s.index[id]; !ok {
			return false
		}
	}
	return !since.Known() || since.OnOrBefore(s.AsOf)
}

// Index returns the index in Birds of the bird with an id, false if no such
// bird exists on the day.
func (s *Snapshot) Index(id string) (int, bool) {
	i, ok := s.index[id]
	return i, ok
}

// Bird returns the bird with an id, nil if no such bird exists on the day.
func (s *Snapshot) Bird(id string) *Bird {
	if i, ok := s.index[id]; ok {
		return &s.Birds[i]
	}
	return nil
}

// Alive reports whether the bird at index i of Birds lives on the day. A
// parent without a row of its own is never alive.
func (s *Snapshot) Alive(i int) bool { return s.Birds[i].Recorded && !s.Birds[i].Death.Known() }

func (s *Snapshot) living(id string) bool {
	i, ok := s.index[id]
	return ok && s.Alive(i)
}

// OpenBonds returns the bonds in force on the day, in file order: those that
// have begun and not ended, and whose birds both live.
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
