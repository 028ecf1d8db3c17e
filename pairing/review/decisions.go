package review

import (
	"slices"

	"pairwright/pairing"
	"pairwright/pairing/transfer"
	"pairwright/pedigree/studbook"
)

// Decided is one thing to do that follows from the review.
type Decided struct {
	What What
	// Birds are who it is about: the bird, or a female and a male in turn; of
	// FosterEggs the two that laid, then the two that are to sit; of MoveBird the bird
	// and its mate.
	Birds    []*studbook.Bird
	From, To string       // of MoveBird and PlaceYoung
	Parent   studbook.Sex // TestParent: of the parent that is not known
	Count    int          // HatchChicks: the chicks that may hatch of them
	By       studbook.Day // 0 where no day presses
	Why      []pairing.Reason
}

// A review has at most decisionsMost lines of what to do, and of one kind more than
// decisionsEach only where other kinds leave room.
const (
	decisionsMost = 12
	decisionsEach = 3
)

// decisions are what follows from the review.
func (r *Review) decisions() []Decided {
	var unsexed []int
	for _, b := range r.Birds {
		if b.Action == FindSex {
			unsexed = append(unsexed, b.Bird)
		}
	}
	return most(Decisions(r.Programme, r.Plan, r.Pairs, r.Transfers, unsexed, r.Gaps))
}

// Decisions gathers what follows from the plan of a colony, by kind: eggs that lie
// there now, moves to ask for, new pairs, the pairs that hatch, pairs to part on a
// person's word, pairs to examine, birds to sex, young birds to place, gaps in
// parentage to test. pairs are those of Pairs, moves those of the colony or nil.
func Decisions(p *pairing.Programme, plan *pairing.Plan, pairs []PairReview, list *transfer.List, unsexed []int, gaps []pairing.Gap) [][]Decided {
	birds := func(ids ...int) (out []*studbook.Bird) {
		for _, b := range ids {
			out = append(out, &p.Book.Birds[b])
		}
		return out
	}
	// Before pairs form: sex and parentage must be known to pair a bird.
	soon := studbook.Day(0)
	if form := p.PairsForm(); form > p.Book.AsOf {
		soon = form
	}
	var kinds [][]Decided
	var eggs, moves, bonds, part, examine, sex, young, test []Decided
	for _, e := range plan.Eggs {
		x := Decided{What: ReplaceEggs, Birds: birds(e.Female, e.Male), By: e.By, Why: e.Reasons}
		switch e.Advice {
		case pairing.LeaveEggs:
			continue
		case pairing.CandleEggs:
			x.What = CandleEggs
		case pairing.FosterEggs:
			x.What, x.Birds = FosterEggs, birds(e.Female, e.Male, e.To[0], e.To[1])
		}
		eggs = append(eggs, x)
	}
	slices.SortStableFunc(eggs, func(a, b Decided) int { return int(a.By - b.By) })
	var leaves []transfer.Listed
	if list != nil {
		leaves = list.Young
		for _, m := range list.Moves {
			pair := &m.Pairs[0]
			moves = append(moves, Decided{What: MoveBird, Birds: birds(m.Mover(), pair.Mate(m.Mover())), From: m.Moves[0].From, To: m.Moves[0].To, By: m.Timing.Latest,
				Why: said(p, plan.Decision, m.Mover(), pairing.Reason{Code: AheadOf, Value: pair.Figures.AheadOf})})
		}
	}
	hatch := Decided{What: HatchChicks, Why: []pairing.Reason{{Code: ForTheSeason, Value: plan.Expected, Count: plan.Wanted, Other: plan.ChanceEnough}}}
	for _, x := range plan.Pairs {
		if x.Role == pairing.Planned {
			hatch.Birds = append(hatch.Birds, birds(x.Female, x.Male)...)
			hatch.Count += x.HatchUpTo
		}
	}
	for k := range pairs {
		x := &pairs[k]
		one := Decided{Birds: birds(x.Female, x.Male), Why: x.Why}
		switch {
		case x.Action == Form && x.Move == nil:
			one.What, one.By = BondPair, soon
			one.Why = said(p, plan.Decision, x.Female, pairing.Reason{Code: AheadOf, Value: x.AheadOf})
			bonds = append(bonds, one)
		case x.Action == Part:
			one.What = PartPair
			one.Why = slices.DeleteFunc(slices.Clone(x.Why), func(r pairing.Reason) bool { return r.Is(PlanNeedsNone, WorthLess, NotPreferred, PartBetween, SitsNow) })
			part = append(part, one)
		case x.Action == Examine:
			one.What, one.Why, one.By = ExaminePair, x.Barred, soon
			examine = append(examine, one)
		}
	}
	for _, b := range unsexed {
		sex = append(sex, Decided{What: SexBird, Birds: birds(b), By: soon, Why: []pairing.Reason{{Code: NeverSexed}}})
	}
	for _, m := range leaves {
		x := Decided{What: PlaceYoung, Birds: birds(m.Mover()), From: m.Young.From, To: m.Young.To, By: m.Young.When}
		if m.Young.Mate >= 0 {
			x.Birds = append(x.Birds, &p.Book.Birds[m.Young.Mate])
		}
		young = append(young, x)
	}
	for k := range gaps {
		if g := &gaps[k]; len(g.Possible) > 0 || len(g.Named) > 0 {
			why := pairing.Reason{Code: GenesBehind, Value: g.Share, Count: len(g.Possible)}
			test = append(test, Decided{What: TestParent, Birds: birds(g.Bird), Parent: g.Sex, By: soon, Why: []pairing.Reason{why}})
		}
	}
	kinds = append(kinds, eggs, moves, bonds)
	if len(hatch.Birds) > 0 {
		kinds = append(kinds, []Decided{hatch})
	}
	return append(kinds, part, examine, sex, young, test[:min(len(test), decisionsEach)])
}

// said puts before a reason what a person said of the pair of a bird.
func said(p *pairing.Programme, d *pairing.Decision, b int, why pairing.Reason) []pairing.Reason {
	if x, ok := d.BondOf(b); ok && x.Word != nil {
		return []pairing.Reason{x.Word.Reason(p), why}
	}
	return []pairing.Reason{why}
}

// most takes decisionsMost lines of all kinds, in their order: decisionsEach of
// each kind, then more of the first ones.
func most(kinds [][]Decided) []Decided {
	take := make([]int, len(kinds))
	left := decisionsMost
	for _, each := range []int{decisionsEach, decisionsMost} {
		for k := range kinds {
			more := min(left, min(each, len(kinds[k]))-take[k])
			take[k] += more
			left -= more
		}
	}
	var out []Decided
	for k := range kinds {
		out = append(out, kinds[k][:take[k]]...)
	}
	return out
}
