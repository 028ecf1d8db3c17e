package pairing

import (
	"cmp"
	"slices"
	"strings"

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
// at a place so many that a year's deaths leave it as many living birds as now, for the
// whole programme so many that it comes a tenth of the way nearer to the
// goal.birds of programme.toml, or holds its level where none is set. Chicks of the season
// that have hatched are among the chicks, and no part of the level; else each would
// ask for more. See demography.Census.Need. Where the record does not tell the survival, that of
// the settings stands in, if they give one.
func (p *Programme) Need(place string, whole bool) demography.Need {
	scope, living := demography.Scope(place), len(p.Book.LivingAt(place))
	if whole || !p.Book.Colony.HasLocation {
		scope, living = demography.Programme, len(p.Book.Living)
	}
	chicks := p.chicksOfSeason()
	for _, i := range chicks {
		if scope == demography.Programme || p.Book.Birds[i].Location == place {
			living--
		}
	}
	target := living
	if goal := p.Settings().GoalBirds; goal > 0 && scope == demography.Programme {
		target = demography.StepToward(living, goal, goalYears)
	}
	need := p.Census().Need(scope, target, p.seasonYear(), chicks...)
	if set := p.Settings(); set.FirstYearSurvival > 0 && set.YearlySurvival > 0 {
		need = need.Assuming(set.FirstYearSurvival, set.YearlySurvival)
	}
	return need
}

// seasonYear is the year that the coming or running season begins, with chicks of a clutch
// laid in the middle of the laying months, judged by what was known when the season before
// was over: so the same birds need as many chicks on whichever day they are counted. Where
// the laying months are not set it is the year from today.
func (p *Programme) seasonYear() demography.Year {
	_, over := p.laying(p.Season() - 1)
	if over == 0 {
		return demography.Year{Hatch: p.Book.AsOf, Since: p.RecentSince()}
	}
	begin, end := p.laying(p.Season())
	return demography.Year{From: begin, Hatch: (begin+end)/2 + studbook.Day(p.Settings().IncubationDays), Since: over - RecentYears*365, Until: over}
}

// chicksOfSeason returns the living chicks that clutches of the coming or running season
// have hatched; see hatchedThisSeason.
func (p *Programme) chicksOfSeason() (chicks []int) {
	_, byPair := p.hatchedThisSeason(PlanOptions{Whole: true})
	if len(byPair) == 0 {
		return nil
	}
	for _, i := range p.Book.Living {
		sire, dam := p.Book.Parents(i)
		hatch := p.Book.Birds[i].Hatch
		if byPair[[2]int{dam, sire}] > 0 && hatch.Known() && p.laidIn(hatch.Mid()-studbook.Day(p.Settings().IncubationDays)) == p.Season() {
			chicks = append(chicks, i)
		}
	}
	return chicks
}

// The survival by which the chicks of a season are judged where the files do
// not tell it.
const (
	SurvivalSet     Code = "survival_set"     // that of the settings
	SurvivalUnknown Code = "survival_unknown" // none: a number of living birds for each chick
)

// NeedReason is why a season needs so many chicks.
type NeedReason struct {
	Code     Code // SurvivalSet, SurvivalUnknown or, where survival is on record, "".
	Need     demography.Need
	Goal     int  // birds of the goal; 0 if the level is to be held
	Years    int  // in which the goal is to be reached
	Colony   bool // survival is the colony's own, not the programme's
	PerChick int  // living birds for each chick, of SurvivalUnknown
	// Rounded is true of a place that needs less than a chick by itself and has the one
	// that all such places together need.
	Rounded bool
}

// ChicksNeeded returns the chicks of Need, and why so many. Where no life table
// can be had because no bird died, or too few were watched, the survival of the
// settings stands in, and without those one chick for every ten living birds. Places that
// need so little that each number is 0 share what the programme needs beyond those of the
// others, a chick each, the one that lacks most first, then by code: small places would
// hatch nothing otherwise, one like the other, and the programme would die out.
func (p *Programme) ChicksNeeded(place string, whole bool) (chicks int, why NeedReason) {
	n := p.Need(place, whole)
	whole = whole || !p.Book.Colony.HasLocation
	why = NeedReason{Need: n, Colony: !whole && n.OwnRecords, Years: goalYears, PerChick: birdsPerChick}
	if whole {
		why.Goal = p.Settings().GoalBirds
	}
	if n.Assumed {
		why.Code = SurvivalSet
	}
	if !n.Chicks.Known {
		why.Code = SurvivalUnknown
		return (n.Living + birdsPerChick - 1) / birdsPerChick, why
	}
	chicks = int(n.Chicks.Value)
	if why.Rounded = !whole && chicks == 0 && n.Exact.Value > 0 && p.roundedUp(place); why.Rounded {
		chicks = 1
	}
	return chicks, why
}

// roundedUp reports whether a place whose need is rounded to no chick is to have one; see
// ChicksNeeded.
func (p *Programme) roundedUp(place string) bool {
	type lack struct {
		place string
		exact float64
	}
	left := int(p.Need("", true).Chicks.Value)
	var small []lack
	for _, code := range p.Book.Locations() {
		n := p.Need(code, false)
		left -= int(n.Chicks.Value)
		if n.Chicks.Known && n.Chicks.Value == 0 && n.Exact.Value > 0 {
			small = append(small, lack{code, n.Exact.Value})
		}
	}
	slices.SortFunc(small, func(a, b lack) int {
		return cmp.Or(cmp.Compare(b.exact, a.exact), strings.Compare(a.place, b.place))
	})
	return slices.ContainsFunc(small[:max(0, min(left, len(small)))], func(x lack) bool { return x.place == place })
}
