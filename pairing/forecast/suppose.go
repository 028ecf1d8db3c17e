package forecast

import (
	"fmt"
	"math"
	"slices"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// A SupposeError is a change that cannot be made to the programme of the day.
type SupposeError struct {
	Line int // of the file of changes
	Why  string
}

// Error says what is wrong with the change.
func (e *SupposeError) Error() string {
	if e.Line == 0 {
		return "the change cannot be made: " + e.Why
	}
	return fmt.Sprintf("the change of line %d cannot be made: %s", e.Line, e.Why)
}

// Suppose returns the outset with changes made to it at the start, in their order:
// what it is compared with in a what-if. A bird that moves leaves its mate behind,
// and goes to the one that is named; a pair lives where it is said, or at the
// female's place. The birds keep their numbers, so that both outsets are run on the
// same luck. The error is a *SupposeError.
func (o *Outset) Suppose(p *pairing.Programme, changes []studbook.Supposition) (*Outset, error) {
	c := *o
	c.Start.Birds, c.Start.Broods = slices.Clone(o.Start.Birds), slices.Clone(o.Start.Broods)
	c.Places, c.Rules.Places, c.Rules.Arrivals = slices.Clone(o.Places), slices.Clone(o.Rules.Places), slices.Clone(o.Rules.Arrivals)
	s := supposing{&c, map[string]int{}, nil}
	for k, b := range c.Birds {
		s.of[p.Book.Birds[b].ID] = k
	}
	for k := range changes {
		s.change = &changes[k]
		if err := s.make(); err != nil {
			return nil, &SupposeError{changes[k].Line, err.Error()}
		}
	}
	return &c, nil
}

// supposing makes changes to an outset.
type supposing struct {
	*Outset
	of     map[string]int // bird of the start by id
	change *studbook.Supposition
}

// make makes the change.
func (s *supposing) make() error {
	x := s.change
	birds := make([]int, len(x.Birds))
	for k, id := range x.Birds {
		i, ok := s.of[id]
		if !ok || s.Start.Birds[i].Absent {
			return fmt.Errorf("%s does not live in the programme on the day", id)
		}
		birds[k] = i
	}
	switch x.What {
	case studbook.SupposeMove:
		return s.move(birds)
	case studbook.SupposeBond:
		return s.bond(birds[0], birds[1])
	case studbook.SupposePart:
		return s.part(birds)
	case studbook.SupposeLeave:
		return s.leave(birds)
	case studbook.SupposeFounder:
		return s.founders()
	case studbook.SupposeHatch:
		return s.hatch(birds[0], birds[1])
	}
	place, err := s.place(x.To)
	if err != nil {
		return err
	}
	if room := &s.Rules.Places[place]; *room < math.MaxInt32 {
		*room = max(0, *room+int(x.Number))
	}
	return nil
}

// place returns the place of an institution, which has no room of its own if no
// bird lived there and no place was free.
func (s *supposing) place(code string) (int, error) {
	if s.Places == nil {
		return 0, fmt.Errorf("the files do not say where birds live")
	}
	k := slices.Index(s.Places, code)
	if k < 0 {
		k = len(s.Places)
		s.Places, s.Rules.Places = append(s.Places, code), append(s.Rules.Places, 0)
	}
	return k, nil
}

// free parts a bird from its mate.
func (s *supposing) free(bird int) {
	if b := &s.Start.Birds[bird]; b.Mate > 0 {
		s.Start.Broods = slices.DeleteFunc(s.Start.Broods, func(x Brood) bool { return x.Female == bird || x.Male == bird })
		mate := &s.Start.Birds[b.Mate-1]
		b.Mate, b.Settled, mate.Mate, mate.Settled = 0, false, 0, false
	}
}

// move moves a bird, to its mate if one is named.
func (s *supposing) move(birds []int) error {
	place, err := s.place(s.change.To)
	if err != nil {
		return err
	}
	s.settle(birds[0], place)
	if len(birds) == 2 {
		return s.bond(birds[0], birds[1])
	}
	return nil
}

// settle brings a bird to a place, without its mate if that lives elsewhere. There
// is room for it, as somebody saw to that.
func (s *supposing) settle(bird, place int) {
	b := &s.Start.Birds[bird]
	if b.Place == place {
		return
	}
	if b.Mate > 0 && s.Start.Birds[b.Mate-1].Place != place {
		s.free(bird)
	}
	b.Place = place
	held := 0
	for _, other := range s.Start.Birds {
		if !other.Absent && other.Place == place {
			held++
		}
	}
	s.Rules.Places[place] = max(s.Rules.Places[place], held)
}

// femaleFirst returns two birds, the female before the male.
func (s *supposing) femaleFirst(a, b int) (female, male int) {
	if s.Start.Birds[a].Sex == Male {
		return b, a
	}
	return a, b
}

// bond makes two birds a pair, or brings one to where it is to live.
func (s *supposing) bond(a, b int) error {
	female, male := s.femaleFirst(a, b)
	if s.Start.Birds[female].Sex != Female || s.Start.Birds[male].Sex != Male {
		return fmt.Errorf("%s and %s are not a female and a male", s.change.Birds[0], s.change.Birds[1])
	}
	mates, settled := s.Start.Birds[female].Mate == male+1, s.Start.Birds[female].Settled
	if mates && s.change.To == "" {
		return nil
	}
	place := s.Start.Birds[female].Place
	if s.change.To != "" {
		var err error
		if place, err = s.place(s.change.To); err != nil {
			return err
		}
	}
	if mates && s.Start.Birds[female].Place == place && s.Start.Birds[male].Place == place {
		return nil
	}
	s.free(female)
	s.free(male)
	s.settle(female, place)
	s.settle(male, place)
	s.Start.bond(female, male, mates && settled)
	return nil
}

// hatch decides the brood of a pair in the first season.
func (s *supposing) hatch(a, b int) error {
	female, male := s.femaleFirst(a, b)
	if s.Start.Birds[female].Mate != male+1 {
		return fmt.Errorf("%s and %s are no pair; write their bond before it", s.change.Birds[0], s.change.Birds[1])
	}
	s.Start.Broods = append(s.Start.Broods, Brood{female, male, s.change.Chicks})
	return nil
}

// part parts a pair.
func (s *supposing) part(birds []int) error {
	first := s.Start.Birds[birds[0]]
	if first.Mate == 0 || len(birds) == 2 && first.Mate != birds[1]+1 {
		return fmt.Errorf("%s has no such mate", s.change.Birds[0])
	}
	s.free(birds[0])
	return nil
}

// leave takes birds, or an institution with all of its, out of the programme.
func (s *supposing) leave(birds []int) error {
	if s.change.To != "" {
		place, err := s.place(s.change.To)
		if err != nil {
			return err
		}
		for i, b := range s.Start.Birds {
			if !b.Absent && b.Place == place {
				birds = append(birds, i)
			}
		}
		s.Rules.Places[place] = 0
	}
	for _, i := range birds {
		s.free(i)
		s.Start.Birds[i].Absent = true
	}
	return nil
}

// founders adds new unrelated birds.
func (s *supposing) founders() error {
	x := s.change
	a := Arrival{Year: 1, Place: -1}
	switch x.Sex {
	case studbook.Female:
		a.Sex = Female
	case studbook.Male:
		a.Sex = Male
	}
	if x.Year >= 0 {
		if a.Year = x.Year - s.Day.Time().Year(); a.Year < 1 {
			return fmt.Errorf("the founders would come in %d, which is over: the first year ahead is %d", x.Year, s.Day.Time().Year()+1)
		}
	}
	if x.To != "" {
		var err error
		if a.Place, err = s.place(x.To); err != nil {
			return err
		}
	}
	for range max(1, int(x.Number)) {
		s.Rules.Arrivals = append(s.Rules.Arrivals, a)
	}
	return nil
}
