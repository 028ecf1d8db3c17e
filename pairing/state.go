package pairing

import (
	"math"
	"slices"

	"pairwright/pedigree/studbook"
)

// State is what a bird can do in the coming season. It comes before all
// genetics: a bird that cannot breed then has no mate to be looked for.
type State string

// The states, in the order in which they count where several hold.
const (
	StateDead    State = "dead"
	StateLeft    State = "left" // left the programme, or is not there yet
	StateUnsexed State = "unsexed"
	StateYoung   State = "young"
	StatePast    State = "past breeding"
	StateOnHold  State = "on hold" // no breeding through the season
	StateBonded  State = "bonded"  // or on a clutch of the running season
	StateFree    State = "free"
)

// MayBreed reports whether a bird in the state may have chicks in the season.
func (s State) MayBreed() bool { return s == StateBonded || s == StateFree }

// A Standing is a bird's state, with the day on which it changes.
type Standing struct {
	State State
	// Until is the first day on which the bird is in another state, 0 where
	// nobody can say.
	Until studbook.Day
}

// State returns what a bird of the snapshot can do in the coming season: its
// age and holds are those on the season's first day, or today once it has begun.
func (p *Programme) State(b int) Standing { return p.standings[b] }

// standingsOn finds the states of all birds for a season that begins, or goes on,
// on a day.
func (p *Programme) standingsOn(day studbook.Day) []Standing {
	if p.standings == nil {
		out := make([]Standing, len(p.Book.Birds))
		for b := range out {
			out[b] = p.standing(b, day)
		}
		return out
	}
	out := slices.Clone(p.standings)
	for _, b := range p.Book.Living { // the others stay dead or elsewhere
		out[b] = p.standing(b, day)
	}
	return out
}

func (p *Programme) standing(b int, day studbook.Day) Standing {
	bird := &p.Book.Birds[b]
	switch {
	case bird.Death.Known():
		return Standing{State: StateDead}
	case !p.Book.Alive(b): // or has not come yet, or has no row of its own
		return Standing{State: StateLeft}
	case bird.Sex == studbook.Unsexed:
		return Standing{State: StateUnsexed}
	}
	return p.whateverItsSex(b, day)
}

// whateverItsSex returns what a living bird can do in a season that begins, or goes
// on, on a day, were its sex known.
func (p *Programme) whateverItsSex(b int, day studbook.Day) Standing {
	bird, ages := &p.Book.Birds[b], p.AgesOf(b)
	if age, known := ageOn(bird, day); known {
		if age < ages.First {
			return Standing{StateYoung, bird.Hatch.Mid() + studbook.Day(math.Ceil(ages.First*studbook.DaysPerYear))}
		}
		if ages.Last > 0 && age > ages.Last {
			return Standing{State: StatePast}
		}
	}
	if h, ok := lasting(p.Book.HoldsOn(bird.ID), day); ok {
		s := Standing{State: StateOnHold}
		if h.Until.Known() {
			s.Until = h.Ends()
		}
		return s
	}
	if len(p.Mates(b)) > 0 {
		return Standing{State: StateBonded}
	}
	return Standing{State: StateFree}
}

// ageOn returns a bird's age in years on a day, by the middle of its hatch date.
func ageOn(bird *studbook.Bird, day studbook.Day) (age float64, known bool) {
	if !bird.Hatch.Known() {
		return 0, false
	}
	return math.Max(0, float64(day-bird.Hatch.Mid())/studbook.DaysPerYear), true
}

// lasting returns the first of some holds in force that blocks breeding and lasts
// until a day.
func lasting(holds []studbook.Hold, day studbook.Day) (studbook.Hold, bool) {
	for _, h := range holds {
		if h.Blocks != studbook.BlocksMoving && h.Ends() > day {
			return h, true
		}
	}
	return studbook.Hold{}, false
}
