package review

import (
	"cmp"
	"slices"

	"pairwright/pairing"
	"pairwright/pairing/transfer"
	"pairwright/pedigree/studbook"
)

// Decided is one thing to do that follows from the review.
type Decided struct {
	What TaskKind
	// Birds are who it is about: the bird, or a female and a male in turn; of
	// FosterEggs the two that laid, then the two that are to sit; of MoveBird the bird
	// and its mate; of RecordParent the chick and its parent; of FindMates a bird that has
	// none, or nobody; of FindFounders nobody.
	Birds    []*studbook.Bird
	From, To string       // of MoveBird and PlaceYoung
	Parent   studbook.Sex // TestParent, RecordParent: of the parent that is not known
	Count    int          // HatchChicks: the chicks that may hatch of them; FindFounders: how many at least
	By       studbook.Day // 0 where no day presses
	Begin    studbook.Day // from when it is due, where it is so long before By; else 0
	// AgreeBy is, of MoveBird and PlaceYoung, by when the move is to be agreed on and its
	// permit applied for; see transfer.Listed.AgreeBy.
	AgreeBy studbook.Day
	Why     []pairing.Reason
	// Or is, of MoveBird and BondPair, the parting that could be made instead: one of the two
	// is done, and it has no line of its own; nil where there is none.
	Or *pairing.Undoing
	// Unkept is, of RenewRuling, what was agreed on in vain.
	Unkept *pairing.Unkept
}

// LeftOut is how many things of a kind a review has no line for.
type LeftOut struct {
	What  TaskKind // of the first of them
	Count int
}

// A review has at most decisionsMost lines of what to do, one with two things to choose from
// counted as two, and of one kind more than decisionsEach only where other kinds leave room.
const (
	decisionsMost = 12
	decisionsEach = 3
)

// decisions are what follows from the review, and what of it there is no line for.
func (r *Review) decisions() ([]Decided, []LeftOut) {
	var unsexed []int
	for _, b := range r.Birds {
		if b.Action == FindSex {
			unsexed = append(unsexed, b.Bird)
		}
	}
	kinds := Decisions(r.Programme, r.Plan, r.Pairs, r.Transfers, unsexed, r.Gaps)
	return most(slices.Insert(kinds, 1, r.toFound())) // after what keeps the programme from breeding at all
}

// toFound is what the goal of gene diversity takes where it is out of reach.
func (r *Review) toFound() []Decided {
	for k := range r.Glances {
		if x := r.Glances[k].Reach; x != nil {
			why := pairing.Reason{Code: GoalOutOfReach, Value: x.Most, Count: x.Founders, Of: x.Needed}
			return []Decided{{What: FindFounders, Count: max(0, x.Needed-x.Founders), Why: []pairing.Reason{why}}}
		}
	}
	return nil
}

// Decisions gathers what follows from the plan of a colony, by kind: mates from outside
// where no two birds of the programme can breed, eggs that lie
// there now, moves to ask for, new pairs, the pairs that hatch, pairs to part on a
// person's word, pairs to examine, birds to sex, young birds to place, gaps in
// parentage to test, kin among founders to write down; of one kind what is worth most
// or presses most first. pairs are those of Pairs, moves those of the colony or nil.
func Decisions(p *pairing.Programme, plan *pairing.Plan, pairs []PairReview, list *transfer.List, unsexed []int, gaps []pairing.Gap) [][]Decided {
	soon := p.BeforePairsForm() // sex and parentage must be known to pair a bird
	var moves, young []Decided
	if list != nil {
		moves, young = toMove(p, plan, list.Moves), toPlace(p, list.Young)
	}
	bonds, part, examine := toChange(p, plan, pairs, soon)
	part = slices.DeleteFunc(part, func(x Decided) bool { // told with what it would be instead of
		return slices.ContainsFunc(slices.Concat(moves, bonds), func(y Decided) bool {
			return y.Or != nil && x.Birds[0] == &p.Book.Birds[y.Or.Female] && x.Birds[1] == &p.Book.Birds[y.Or.Male]
		})
	})
	var mates []Decided
	if why := plan.NoPairs; why != nil {
		mates = []Decided{{What: FindMates, Birds: why.Birds, Why: []pairing.Reason{*why}}}
	}
	kinds := [][]Decided{mates, toRenew(p, plan), onEggs(p, plan), moves, bonds}
	if hatch := toHatch(p, plan); len(hatch.Birds) > 0 {
		kinds = append(kinds, []Decided{hatch})
	}
	var sex []Decided
	for _, b := range unsexed {
		why := pairing.Reason{Code: NeverSexed}
		by, first := p.SexBy(b)
		if first != 0 {
			why.Date = first.Date()
		}
		sex = append(sex, Decided{What: SexBird, Birds: birds(p, b), By: by, Why: []pairing.Reason{why}})
	}
	return append(kinds, part, examine, sex, young, toTest(p, gaps, soon), kinToRecord(p, plan))
}

// toRenew is what people agreed on in vain, of the places of a plan.
func toRenew(p *pairing.Programme, plan *pairing.Plan) (out []Decided) {
	for _, x := range plan.Decision.Unkept() {
		if plan.Options.Whole || slices.Contains(x.Places(p), plan.Options.Place) {
			out = append(out, Decided{What: RenewRuling, Birds: birds(p, x.Ruling.Birds...), To: x.Ruling.To, Why: []pairing.Reason{x.Why}, Unkept: &x})
		}
	}
	return out
}

// birds returns birds of the snapshot by their indices.
func birds(p *pairing.Programme, indices ...int) (out []*studbook.Bird) {
	for _, b := range indices {
		out = append(out, &p.Book.Birds[b])
	}
	return out
}

// onEggs says what to do with eggs that lie there now, what presses first.
func onEggs(p *pairing.Programme, plan *pairing.Plan) (eggs []Decided) {
	for _, e := range plan.Eggs {
		x := Decided{What: ReplaceEggs, Birds: birds(p, e.Female, e.Male), By: e.By, Begin: e.From, Why: e.Reasons}
		if e.SettleBy != 0 {
			y := x
			y.What, y.By, y.Begin = SettleEggs, e.SettleBy, e.Clutch.Laid.Mid()
			eggs = append(eggs, y)
		}
		switch e.Advice {
		case pairing.LeaveEggs:
			continue
		case pairing.CandleEggs:
			x.What = CandleEggs
		case pairing.FosterEggs:
			x.What, x.Birds = FosterEggs, birds(p, e.Female, e.Male, e.To[0], e.To[1])
		}
		eggs = append(eggs, x)
	}
	slices.SortStableFunc(eggs, func(a, b Decided) int { return int(a.By - b.By) })
	return eggs
}

// toMove are birds that go to a mate.
func toMove(p *pairing.Programme, plan *pairing.Plan, moves []transfer.Listed) (out []Decided) {
	for _, m := range moves {
		pair := &m.Pairs[0]
		why := aheadOf(plan.Decision, pair.Figures.Rating)
		if plan.Rests(pair.Female, pair.Male) {
			why = pairing.Reason{Code: transfer.RestsFirst, Birds: birds(p, pair.Female, pair.Male), Count: plan.Decision.Season.Year}
		}
		one := Decided{What: MoveBird, Birds: birds(p, m.Mover(), pair.Mate(m.Mover())), From: m.Moves[0].From, To: m.Moves[0].To, By: m.LeaveBy(), AgreeBy: m.AgreeBy(),
			Why: said(p, plan.Decision, m.Mover(), why), Or: m.UndoneBy}
		out = append(out, one)
	}
	return out
}

// aheadOf says how a pair compares with the programme's possible pairs.
func aheadOf(d *pairing.Decision, r pairing.Rating) pairing.Reason {
	return pairing.Reason{Code: AheadOf, Value: r.AheadOf, Other: r.Behind, Count: d.EligiblePairs()}
}

// toPlace are young birds that should be elsewhere when they come of age, and whose move is to
// be settled before the decision is taken for another season.
func toPlace(p *pairing.Programme, young []transfer.Listed) (out []Decided) {
	for _, m := range young {
		if m.Young.Anew != 0 && !m.Agreed {
			continue
		}
		x := Decided{What: PlaceYoung, Birds: birds(p, m.Mover()), From: m.Young.From, To: m.Young.To, By: m.LeaveBy(), AgreeBy: m.AgreeBy()}
		if m.Young.Mate >= 0 {
			x.Birds = append(x.Birds, &p.Book.Birds[m.Young.Mate])
		}
		out = append(out, x)
	}
	return out
}

// toHatch is how many chicks the planned pairs hatch together.
func toHatch(p *pairing.Programme, plan *pairing.Plan) Decided {
	hatch := Decided{What: HatchChicks, Why: []pairing.Reason{{Code: ForTheSeason, Value: plan.Expected, Count: plan.Wanted, Other: plan.ChanceEnough}}}
	for _, x := range plan.Pairs {
		if x.Role == pairing.Planned {
			hatch.Birds = append(hatch.Birds, birds(p, x.Female, x.Male)...)
			hatch.Count += x.HatchUpTo
		}
	}
	return hatch
}

// toChange are the pairs to bring together, to part on a person's word, and to examine:
// those worth more first, and of those to part what people agreed on, then close kin.
func toChange(p *pairing.Programme, plan *pairing.Plan, pairs []PairReview, soon studbook.Day) (bonds, part, examine []Decided) {
	settled := func(x *PairReview) int {
		switch {
		case x.Kind == pairing.BondReleased:
			return 0
		case x.kin():
			return 1
		}
		return 2
	}
	worth := func(x *PairReview) float64 {
		if x.Parting == nil {
			return 0
		}
		return x.Parting.Worth
	}
	pairs = slices.Clone(pairs)
	slices.SortStableFunc(pairs, func(a, b PairReview) int {
		return cmp.Or(settled(&a)-settled(&b), cmp.Compare(worth(&b), worth(&a)), cmp.Compare(b.AheadOf, a.AheadOf))
	})
	for k := range pairs {
		x := &pairs[k]
		one := Decided{Birds: birds(p, x.Female, x.Male), Why: x.Why}
		switch {
		case x.Action == Form && x.Move == nil:
			one.What, one.By, one.Or = BondPair, soon, x.UndoneBy
			one.Why = said(p, plan.Decision, x.Female, aheadOf(plan.Decision, x.Rating))
			bonds = append(bonds, one)
		case x.Action == Part:
			one.What = PartPair
			one.Why = slices.DeleteFunc(slices.Clone(x.Why), func(r pairing.Reason) bool {
				return r.Is(PlanNeedsNone, pairing.Infertile, pairing.OthersSit, pairing.RaisesChicks, pairing.SeasonDone, pairing.EggsUntold, pairing.OtherPlans, pairing.OtherReserves, WorthLess, NotPreferred, PartBetween, SitsNow, pairing.OthersGet, pairing.MoveFalls)
			})
			part = append(part, one)
		case x.Action == Examine:
			one.What, one.Why, one.By = ExaminePair, x.Barred, soon
			examine = append(examine, one)
		}
	}
	return bonds, part, examine
}

// toTest are the gaps in parentage that somebody could fill, or that DNA has filled.
func toTest(p *pairing.Programme, gaps []pairing.Gap, soon studbook.Day) (test []Decided) {
	for k := range gaps {
		if g := &gaps[k]; len(g.Possible) > 0 || len(g.Named) > 0 {
			why := pairing.Reason{Code: GenesBehind, Value: g.Share, Count: len(g.Possible)}
			x := Decided{What: TestParent, Birds: birds(p, g.Bird), Parent: g.Sex, By: soon, Why: []pairing.Reason{why}}
			if parent, found := g.DNA.Found(); found {
				x.What, x.Birds = RecordParent, birds(p, g.Bird, parent)
			}
			test = append(test, x)
		}
	}
	return test
}

// kinToRecord are the founders of the colony that are kin by DNA, which is not on record.
func kinToRecord(p *pairing.Programme, plan *pairing.Plan) (record []Decided) {
	for _, x := range p.FounderKin().Told {
		here := func(b int) bool {
			return p.Book.Alive(b) && (plan.Options.Whole || p.Book.Birds[b].Location == plan.Options.Place)
		}
		if x.Answer == pairing.FoundersFound && (here(x.A) || here(x.B)) {
			near := x.LikeliestKin()
			record = append(record, Decided{What: RecordKinship, Birds: birds(p, x.A, x.B), Why: []pairing.Reason{{Code: FoundersKin, Relation: near.Relation, Value: near.Kinship}}})
		}
	}
	return record
}

// said puts before a reason what a person said of the pair of a bird.
func said(p *pairing.Programme, d *pairing.Decision, b int, why pairing.Reason) []pairing.Reason {
	if x, ok := d.BondOf(b); ok && x.Word != nil {
		return []pairing.Reason{x.Word.Reason(p), why}
	}
	return []pairing.Reason{why}
}

// most takes decisionsMost lines of all kinds, in their order: decisionsEach of
// each kind, then more of the first ones; and counts the others.
func most(kinds [][]Decided) (out []Decided, left []LeftOut) {
	take := make([]int, len(kinds))
	room := decisionsMost
	for _, x := range slices.Concat(kinds...) {
		if x.Or != nil && room > 1 {
			room--
		}
	}
	for _, each := range []int{decisionsEach, decisionsMost} {
		for k := range kinds {
			more := min(room, min(each, len(kinds[k]))-take[k])
			take[k] += more
			room -= more
		}
	}
	for k, kind := range kinds {
		out = append(out, kind[:take[k]]...)
		if n := len(kind) - take[k]; n > 0 {
			left = append(left, LeftOut{kind[take[k]].What, n})
		}
	}
	return out, left
}
