package review

import (
	"math"

	"pairwright/pedigree/demography"
)

// Measure names a figure at a glance.
type Measure string

// The figures at a glance.
const (
	Birds          Measure = "birds"
	Chicks         Measure = "chicks"
	GeneDiversity  Measure = "gene_diversity"
	MeanKinship    Measure = "mean_kinship"
	MeanInbreeding Measure = "mean_inbreeding"
	FounderGenomes Measure = "founder_genome_equivalents"
	KnownAncestry  Measure = "known_ancestry"
	YearsHeld      Measure = "years_held"
)

// Standing says how a figure stands to its goal.
type Standing string

// The standings.
const (
	OnCourse  Standing = "on course"
	OffCourse Standing = "not on course"
	NoGoal    Standing = "no goal set"
	CannotSay Standing = "cannot be said"
)

// Glance is one figure with last review's, the goal, and a word.
type Glance struct {
	Measure     Measure
	InProgramme bool // of the programme; else of the colony
	Now, Then   Number
	Goal        Number
	AtMost      bool // the goal is an upper limit
	Standing    Standing
	Margin      Number // by how much it is better than the goal; below 0 worse
}

func (g Glance) judge(hasGoal bool) Glance {
	switch {
	case !hasGoal:
		g.Standing = NoGoal
	case !g.Now.Known || !g.Goal.Known:
		g.Standing = CannotSay
	default:
		margin := g.Now.Value - g.Goal.Value
		if g.AtMost {
			margin = -margin
		}
		g.Margin = number(margin, true)
		g.Standing = OnCourse
		if margin < 0 {
			g.Standing = OffCourse
		}
	}
	return g
}

// glances returns the figures that matter most.
func (r *Review) glances() []Glance {
	set := r.Programme.Settings()
	n, o := r.Numbers, r.Outlook
	whole := func(n int) Number { return number(float64(n), true) }
	var out []Glance
	add := func(g Glance, hasGoal bool) { out = append(out, g.judge(hasGoal)) }
	pools := []struct {
		programme   bool
		now, before *Figures
	}{{true, &r.ProgrammeGenetics.Figures, &r.Change.ProgrammeBefore}, {false, &r.ColonyGenetics.Figures, &r.Change.ColonyBefore}}
	if r.Whole {
		pools = pools[:1]
	}
	for _, x := range pools {
		goal := x.programme && set.GoalBirds > 0
		add(Glance{Measure: Birds, InProgramme: x.programme, Now: whole(x.now.Size), Then: whole(x.before.Size),
			Goal: number(float64(set.GoalBirds), goal)}, goal)
	}
	// What the colony hatched is judged by what would have held its level.
	chicks := Glance{Measure: Chicks, InProgramme: r.Whole, Now: whole(n.Colony.Breeding.Chicks), Then: whole(n.ChicksBefore), Goal: n.Need.Chicks}
	add(chicks, true)
	for _, x := range pools {
		add(Glance{Measure: GeneDiversity, InProgramme: x.programme, Now: x.now.GeneDiversity, Then: x.before.GeneDiversity,
			Goal: number(o.Goal, x.programme)}, x.programme)
	}
	programme := pools[0]
	add(Glance{Measure: YearsHeld, InProgramme: true, Now: o.held(), Goal: whole(o.Years)}, o.Missed == 0)
	for _, x := range pools {
		add(Glance{Measure: MeanKinship, InProgramme: x.programme, Now: x.now.MeanKinship, Then: x.before.MeanKinship,
			Goal: number(1-o.Goal, x.programme), AtMost: true}, x.programme)
	}
	for _, x := range pools {
		add(Glance{Measure: MeanInbreeding, InProgramme: x.programme, Now: x.now.MeanInbreeding, Then: x.before.MeanInbreeding,
			Goal: number(set.PreferInbreeding, true), AtMost: true}, true)
	}
	add(Glance{Measure: FounderGenomes, InProgramme: true, Now: programme.now.FounderGenomeEquivalents, Then: programme.before.FounderGenomeEquivalents,
		Goal: genomesFor(o.Goal)}, o.Goal < 1)
	for _, x := range pools {
		add(Glance{Measure: KnownAncestry, InProgramme: x.programme, Now: x.now.KnownAncestry, Then: x.before.KnownAncestry}, false)
	}
	return out
}

// genomesFor returns the founder genome equivalents that go with a gene
// diversity, 1/(2(1−GD)).
func genomesFor(gd float64) Number {
	x := 1 / (2 * (1 - gd))
	return demography.Number{Value: x, Known: !math.IsInf(x, 0)}
}
