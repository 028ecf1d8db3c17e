package pairing

import (
	"fmt"

	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook"
)

// RecentYears is how many years the survival is taken from by which the chicks
// that a season needs are judged (common practice, no source).
const RecentYears = 15

// A goal in birds is to be reached in goalYears years; where survival is not
// known a season hatches one chick for so many living birds (both common
// practice, no source).
const (
	goalYears     = 10
	birdsPerChick = 10
)

// RecentSince returns the day RecentYears before the programme's.
func (p *Programme) RecentSince() studbook.Day { return p.Book.AsOf - RecentYears*365 }

// Need returns how many chicks must hatch in the coming season: for the colony
// at a place so many that it has as many living birds in a year as now, for the
// whole programme so many that it comes a tenth of the way nearer to the
// goal.birds of programme.toml, or holds its level where none is set. See
// demography.Census.Need.
func (p *Programme) Need(place string, whole bool) demography.Need {
	scope, living := demography.Scope(place), len(p.Book.LivingAt(place))
	if whole || !p.Book.Colony.HasLocation {
		scope, living = demography.Programme, len(p.Book.Living)
	}
	target := living
	if goal := p.Settings().GoalBirds; goal > 0 && scope == demography.Programme {
		target = demography.StepToward(living, goal, goalYears)
	}
	return demography.NewCensus(p.Book).Need(scope, target, p.RecentSince())
}

// ChicksNeeded returns the chicks of Need, and why so many in plain words; one
// for every ten living birds where too little is on record.
func (p *Programme) ChicksNeeded(place string, whole bool) (chicks int, reason string) {
	n := p.Need(place, whole)
	whole = whole || !p.Book.Colony.HasLocation
	living := n.Living
	aim := fmt.Sprintf("to hold the level of %d living birds", living)
	if goal := p.Settings().GoalBirds; goal > 0 && whole {
		aim = fmt.Sprintf("to come from %d living birds to the %d of the goal in %d years, %d in the first", living, goal, goalYears, n.Target)
	}
	if !n.Chicks.Known {
		chicks = (living + birdsPerChick - 1) / birdsPerChick
		return chicks, fmt.Sprintf("too little is on record to say how many birds live another year: one chick for %d living birds", birdsPerChick)
	}
	whose := "the colony's"
	if whole || !n.OwnRecords {
		whose = "the programme's"
	}
	if n.FirstYear.Of == 0 {
		return int(n.Chicks.Value), fmt.Sprintf("%s: by %s survival of the last %d years %.1f of today's birds are likely to live in a year",
			aim, whose, RecentYears, n.Expected.Value)
	}
	return int(n.Chicks.Value), fmt.Sprintf("%s: by %s survival of the last %d years %.1f of today's birds are likely to live in a year, and %d of %d chicks lived to a year",
		aim, whose, RecentYears, n.Expected.Value, n.FirstYear.Count, n.FirstYear.Of)
}
