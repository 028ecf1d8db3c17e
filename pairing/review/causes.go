package review

import (
	"pairwright/pairing"
	"pairwright/pedigree"
	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook"
)

// CauseKind is a kind of cause, seen from the colony.
type CauseKind byte

// The kinds of cause. Those of the colony itself come first.
const (
	HatchHere CauseKind = iota
	FounderHere
	Arrival
	Departure
	DeathHere
	HatchElsewhere
	FounderElsewhere
	DeathElsewhere
	LeftElsewhere // the programme, from another place
	kinds
)

// Cause is one event that changed gene diversity, with what it changed.
type Cause struct {
	demography.Event
	Kind CauseKind

	// Programme and Colony are the exact changes in gene diversity, that of
	// no birds at all counting as 0.
	Programme, Colony float64
}

// Sum is what all causes of one kind did together.
type Sum struct {
	Kind              CauseKind
	Count             int
	Programme, Colony float64
}

// Change is how the gene pool came from one day to another.
type Change struct {
	Since studbook.Day

	// ProgrammeBefore and ColonyBefore are the figures on that day.
	ProgrammeBefore, ColonyBefore Figures

	// Programme and Colony are the whole changes in gene diversity, the sums
	// of the causes.
	Programme, Colony float64
	Causes            []Cause // by day, then kind of event, then id
	Sums              []Sum   // of the kinds that occurred, in their order

	// Emptied is true if the colony, or the programme, had no bird at some
	// time: gene diversity then does not exist and counts as 0.
	Emptied bool
}

// NewChange splits the change in gene diversity since a day into what each
// hatch, death, arrival and departure did. The effect of an event is exact
// given all before it; taken in another order the same events would share the
// change otherwise, with the same sum. See pedigree.Flock.
func NewChange(p *pairing.Programme, census *demography.Census, place string, since studbook.Day) *Change {
	x := newPool(p)
	all, at := x.living(p.Book.Colony.At(since), place)
	c := &Change{Since: since, ProgrammeBefore: x.figures(all), ColonyBefore: x.figures(at)}
	programme, colony := x.ped.Flock(all), x.ped.Flock(at)
	c.Emptied = len(all) == 0 || len(at) == 0
	here := func(at string) bool { return at == place }
	for _, e := range census.Events(since, p.Book.AsOf) {
		cause := Cause{Event: e}
		home := here(e.To)
		switch e.Kind {
		case demography.Hatched:
			cause.Kind = pick(home, HatchHere, HatchElsewhere)
		case demography.CameIn:
			cause.Kind = pick(home, FounderHere, FounderElsewhere)
		case demography.Died:
			cause.Kind = pick(home, DeathHere, DeathElsewhere)
		case demography.Left:
			cause.Kind = pick(home, Departure, LeftElsewhere)
		case demography.Moved:
			if !home && !here(e.From) {
				continue // between two other places
			}
			cause.Kind = pick(home, Arrival, Departure)
		}
		node := p.Node(e.Bird)
		kinships := x.ped.Kinships(node)
		joins := e.Kind == demography.Hatched || e.Kind == demography.CameIn
		if e.Kind != demography.Moved {
			cause.Programme = comesOrGoes(programme, node, kinships, joins)
		}
		if home || cause.Kind == Departure {
			cause.Colony = comesOrGoes(colony, node, kinships, joins || cause.Kind == Arrival)
		}
		c.Emptied = c.Emptied || programme.Sum().Birds == 0 || colony.Sum().Birds == 0
		c.Programme += cause.Programme
		c.Colony += cause.Colony
		c.Causes = append(c.Causes, cause)
	}
	for k := range kinds {
		sum := Sum{Kind: k}
		for _, cause := range c.Causes {
			if cause.Kind == k {
				sum.Count++
				sum.Programme += cause.Programme
				sum.Colony += cause.Colony
			}
		}
		if sum.Count > 0 {
			c.Sums = append(c.Sums, sum)
		}
	}
	return c
}

func pick(here bool, yes, no CauseKind) CauseKind {
	if here {
		return yes
	}
	return no
}

// comesOrGoes lets a bird join or leave and returns the change in gene
// diversity; files that contradict themselves have birds come that are there.
func comesOrGoes(flock *pedigree.Flock, node int, kinships []float64, joins bool) float64 {
	if joins {
		return flock.Join(node, kinships)
	}
	return flock.Leave(node, kinships)
}
