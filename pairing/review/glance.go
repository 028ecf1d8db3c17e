package review

import (
	"context"
	"math"

	"pairwright/pairing"
	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook"
)

// Measure names a figure at a glance.
type Measure string

// The figures at a glance.
const (
	Birds          Measure = "birds"
	Chicks         Measure = "chicks"
	GeneDiversity  Measure = "gene_diversity"
	MeanInbreeding Measure = "mean_inbreeding"
	KnownAncestry  Measure = "known_ancestry"
)

// GoalStanding says how a figure stands to its goal.
type GoalStanding string

// The standings. A goal that is not reached yet is told apart from one that is
// farther off than last year.
const (
	OnCourse   GoalStanding = "on course"
	OnTheWay   GoalStanding = "not yet, on the way"    // nearer than at the last review
	SeasonRuns GoalStanding = "the season is not over" // chicks may hatch still
	OffCourse  GoalStanding = "not on course"
	OutOfReach GoalStanding = "out of reach" // of gene diversity: the founders there are cannot hold so much; see Reach
	NoGoal     GoalStanding = "no goal set"
	CannotSay  GoalStanding = "cannot be said"
)

// Glance is one figure with last review's, the goal, and a word.
type Glance struct {
	Measure     Measure
	InProgramme bool // of the programme; else of the colony
	Now, Then   Number
	Goal        Number
	Standing    GoalStanding
	Margin      Number // by how much it is better than the goal; below 0 worse
	Reach       *Reach // of OutOfReach; else nil
}

// Reach is how much gene diversity the founders there are can hold at most, where that is
// less than the goal. With n founders, unrelated, that is 1 − 1/(2n): mean kinship is least
// where each has given as much (Lacy 1989, 1995).
type Reach struct {
	Founders int     // whose genes birds hold that may breed still, unknown parents counted
	Most     float64 // gene diversity
	Needed   int     // founders that the goal takes at least; 0 where no number is enough
}

// reachOf returns the reach of some founders where it is below a goal, else nil.
func reachOf(founders int, goal float64) *Reach {
	const rounding = 1e-9
	most := 0.0
	if founders > 0 {
		most = 1 - 1/(2*float64(founders))
	}
	if most >= goal-rounding {
		return nil
	}
	r := &Reach{Founders: founders, Most: most}
	if goal < 1 {
		r.Needed = int(math.Ceil(1/(2*(1-goal)) - rounding))
	}
	return r
}

// lasting counts the founders whose genes a living bird holds that is not past breeding:
// those of the others end with them.
func lasting(p *pairing.Programme) (founders int) {
	var able []int
	for _, b := range p.Book.Living {
		if p.State(b).State != pairing.StatePast {
			able = append(able, b)
		}
	}
	for _, share := range p.Population(able).Contributions() {
		if share > 0 {
			founders++
		}
	}
	return founders
}

// within holds a figure that falls short of its goal against what the founders can hold.
func (g Glance) within(r *Reach) Glance {
	if r != nil && (g.Standing == OffCourse || g.Standing == OnTheWay) {
		g.Standing, g.Reach = OutOfReach, r
	}
	return g
}

// judge holds a figure against its goal, if it has one; seasonRuns says that it
// may grow still.
func (g Glance) judge(hasGoal, seasonRuns bool) Glance {
	switch {
	case !hasGoal:
		g.Standing = NoGoal
	case !g.Now.Known || !g.Goal.Known:
		g.Standing = CannotSay
	default:
		margin := g.Now.Value - g.Goal.Value
		g.Margin = number(margin, true)
		switch nearer := g.Then.Known && g.Now.Value > g.Then.Value; {
		case margin >= 0:
			g.Standing = OnCourse
		case seasonRuns:
			g.Standing = SeasonRuns
		case nearer:
			g.Standing = OnTheWay
		default:
			g.Standing = OffCourse
		}
	}
	return g
}

// seen is what the figures at a glance are judged from.
type seen struct {
	whole                bool // the colony is the whole programme
	now, before          *Figures
	colony, colonyBefore *Figures
	chicks, chicksBefore int    // hatched in the colony since the last review, and before it
	wanted               Number // chicks that the time since the last review was to bring
}

// wanted returns how many chicks were to hatch at a place from an earlier day on, by
// Programme.ChicksNeeded of that day; not known where that is no year ago, or chicks of the
// season were hatching then.
func wanted(p, then *pairing.Programme, place string) Number {
	n := then.Need(place, false)
	if yearBefore(p.Book.AsOf) != then.Book.AsOf || n.Living == 0 || n.Aside > 0 {
		return Number{}
	}
	if n.Chicks.Known {
		chicks, _ := then.ChicksNeeded(place, false)
		return number(float64(chicks), true)
	}
	return n.Chicks
}

func (r *Review) atAGlance(then *pairing.Programme) *seen {
	return &seen{
		whole: r.Whole, now: &r.ProgrammeGenetics.Figures, before: &r.Change.ProgrammeBefore, colony: &r.ColonyGenetics.Figures, colonyBefore: &r.Change.ColonyBefore,
		chicks: r.Numbers.Colony.Breeding.Chicks, chicksBefore: r.Numbers.ChicksBefore, wanted: wanted(r.Programme, then, r.Colony),
	}
}

// Glances returns the figures at a glance of a review that was last held a year ago,
// without the rest of it. The error is ctx's.
func Glances(ctx context.Context, p *pairing.Programme, place string) ([]Glance, error) {
	x, since := newPool(p), yearBefore(p.Book.AsOf)
	all, at := x.living(p.Book.Colony.At(since), place)
	here := p.Population(p.Book.LivingAt(place))
	now, colony, before, colonyBefore := x.measure(p.Living), x.measure(here), x.figures(all), x.figures(at)
	s := &seen{
		whole: here.Size() == p.Living.Size(), now: &now, before: &before, colony: &colony, colonyBefore: &colonyBefore,
	}
	then, err := p.Earlier(ctx, since)
	if err != nil {
		return nil, err
	}
	s.wanted = wanted(p, then, place)
	census := p.Census()
	s.chicks = census.Breeding(demography.Scope(place), since, p.Book.AsOf).Chicks
	s.chicksBefore = chicksBefore(p, census, place, since)
	return s.judged(p), nil
}

// chicksBefore counts the chicks hatched at a place in the time before the last
// review, as long as that since.
func chicksBefore(p *pairing.Programme, census *demography.Census, place string, since studbook.Day) int {
	return census.Breeding(demography.Scope(place), max(1, since-(p.Book.AsOf-since)), since).Chicks
}

// judged returns the five figures by which a colony and its programme are
// judged. Mean kinship and founder genome equivalents say the same as gene
// diversity and are not told again.
func (x *seen) judged(p *pairing.Programme) []Glance {
	set := p.Settings()
	count := func(n int) Number { return number(float64(n), true) }
	colony, colonyBefore := x.colony, x.colonyBefore
	if x.whole {
		colony, colonyBefore = x.now, x.before
	}
	var out []Glance
	if !x.whole {
		out = append(out, Glance{Measure: Birds, Now: count(colony.Size), Then: count(colonyBefore.Size)}.judge(false, false))
	}
	// Chicks are held against what was wanted of them when the time began, not against
	// what is wanted next; F has no goal: the limit of it is for a pair.
	out = append(out,
		Glance{Measure: Chicks, InProgramme: x.whole, Now: count(x.chicks), Then: count(x.chicksBefore), Goal: x.wanted}.judge(true, p.Hatching()),
		Glance{Measure: Birds, InProgramme: true, Now: count(x.now.Size), Then: count(x.before.Size), Goal: number(float64(set.GoalBirds), set.GoalBirds > 0)}.judge(set.GoalBirds > 0, false),
		Glance{Measure: GeneDiversity, InProgramme: true, Now: x.now.GeneDiversity, Then: x.before.GeneDiversity, Goal: number(set.GoalGeneDiversity, true)}.judge(true, false).within(reachOf(lasting(p), set.GoalGeneDiversity)),
		Glance{Measure: MeanInbreeding, InProgramme: x.whole, Now: colony.MeanInbreeding, Then: colonyBefore.MeanInbreeding}.judge(false, false))
	if x.whole {
		out = append(out, Glance{Measure: KnownAncestry, InProgramme: true, Now: x.now.KnownAncestry, Then: x.before.KnownAncestry}.judge(false, false))
	}
	return out
}
