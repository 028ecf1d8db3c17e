package review

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

// Standing says how a figure stands to its goal.
type Standing string

// The standings. A goal that is not reached yet is told apart from one that is
// farther off than last year.
const (
	OnCourse   Standing = "on course"
	OnTheWay   Standing = "not yet, on the way"    // nearer than at the last review
	SeasonRuns Standing = "the season is not over" // chicks may hatch still
	OffCourse  Standing = "not on course"
	NoGoal     Standing = "no goal set"
	CannotSay  Standing = "cannot be said"
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
		if g.AtMost {
			margin = -margin
		}
		g.Margin = number(margin, true)
		nearer := g.Then.Known && g.Now.Value > g.Then.Value
		if g.AtMost {
			nearer = g.Then.Known && g.Now.Value < g.Then.Value
		}
		switch {
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

// glances returns the five figures by which a colony and its programme are
// judged. Mean kinship and founder genome equivalents say the same as gene
// diversity and are not told again.
func (r *Review) glances() []Glance {
	set := r.Programme.Settings()
	whole := func(n int) Number { return number(float64(n), true) }
	now, before := &r.ProgrammeGenetics.Figures, &r.Change.ProgrammeBefore
	colony, colonyBefore := &r.ColonyGenetics.Figures, &r.Change.ColonyBefore
	if r.Whole {
		colony, colonyBefore = now, before
	}
	var out []Glance
	if !r.Whole {
		out = append(out, Glance{Measure: Birds, Now: whole(colony.Size), Then: whole(colonyBefore.Size)}.judge(false, false))
	}
	// What the colony hatched is judged by what would have held its level.
	out = append(out, Glance{Measure: Chicks, InProgramme: r.Whole, Now: whole(r.Numbers.Colony.Breeding.Chicks), Then: whole(r.Numbers.ChicksBefore),
		Goal: r.Numbers.Need.Chicks}.judge(true, r.Programme.Hatching()))
	out = append(out,
		Glance{Measure: Birds, InProgramme: true, Now: whole(now.Size), Then: whole(before.Size), Goal: number(float64(set.GoalBirds), set.GoalBirds > 0)}.judge(set.GoalBirds > 0, false),
		Glance{Measure: GeneDiversity, InProgramme: true, Now: now.GeneDiversity, Then: before.GeneDiversity, Goal: number(r.Outlook.Goal, true)}.judge(true, false))
	inbred := Glance{Measure: MeanInbreeding, InProgramme: r.Whole, Now: colony.MeanInbreeding, Then: colonyBefore.MeanInbreeding, Goal: number(set.PreferInbreeding, true), AtMost: true}
	out = append(out, inbred.judge(true, false))
	if r.Whole {
		out = append(out, Glance{Measure: KnownAncestry, InProgramme: true, Now: now.KnownAncestry, Then: before.KnownAncestry}.judge(false, false))
	}
	return out
}
