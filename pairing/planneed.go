package pairing

import (
	"fmt"

	"pairwright/pedigree/demography"
)

// How many chicks a season needs is judged by the survival of recentYears
// years; a goal in birds is to be reached in goalYears years; where survival
// is not known a season hatches one chick for so many living birds (all three
// common practice, no source).
const (
	recentYears   = 15
	goalYears     = 10
	birdsPerChick = 10
)

// ChicksNeeded returns how many chicks must hatch in the coming season, and why
// so many in plain words: for the colony at a place so many that it has as many
// living birds in a year as now, for the whole programme so many that it comes
// a tenth of the way nearer to the goal.birds of programme.toml, or holds its
// level where none is set. See demography.Census.Need.
func (p *Programme) ChicksNeeded(place string, whole bool) (chicks int, reason string) {
	scope, living := demography.Scope(place), len(p.Book.LivingAt(place))
	if whole || !p.Book.Colony.HasLocation {
		scope, living = demography.Programme, len(p.Book.Living)
	}
	target, aim := living, fmt.Sprintf("to hold the level of %d living birds", living)
	if goal := p.Settings().GoalBirds; goal > 0 && scope == demography.Programme {
		target = demography.StepToward(living, goal, goalYears)
		aim = fmt.Sprintf("to come from %d living birds to the %d of the goal in %d years, %d in the first", living, goal, goalYears, target)
	}
	since := p.Book.AsOf - recentYears*365
	n := demography.NewCensus(p.Book).Need(scope, target, since)
	if !n.Chicks.Known {
		chicks = (living + birdsPerChick - 1) / birdsPerChick
		return chicks, fmt.Sprintf("too little is on record to say how many birds live another year: one chick for %d living birds", birdsPerChick)
	}
	whose := "the colony's"
	if scope == demography.Programme || !n.OwnRecords {
		whose = "the programme's"
	}
	if n.FirstYear.Of == 0 {
		return int(n.Chicks.Value), fmt.Sprintf("%s: by %s survival of the last %d years %.1f of today's birds are likely to live in a year",
			aim, whose, recentYears, n.Expected.Value)
	}
	return int(n.Chicks.Value), fmt.Sprintf("%s: by %s survival of the last %d years %.1f of today's birds are likely to live in a year, and %d of %d chicks lived to a year",
		aim, whose, recentYears, n.Expected.Value, n.FirstYear.Count, n.FirstYear.Of)
}
