package review

import (
	"cmp"
	"context"
	"slices"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// Action is what to do with a pair next season.
type Action string

// The actions for a pair.
const (
	Keep    Action = "keep"    // keep the bond and let it hatch what the plan has of it
	Form    Action = "form"    // bring the two together, for the years to come
	Reserve Action = "reserve" // keep the bond and the eggs until the planned pairs have been candled
	Rest    Action = "rest"    // keep the bond, hatch no chicks
	Examine Action = "examine" // find out with the veterinarian why its eggs or chicks fail
	Part    Action = "part"    // find both another mate when the season allows, on a person's word
)

// PairReview is a pair of the season's decision that lives at the colony, or is
// to, with what speaks for and against it.
type PairReview struct {
	pairing.PlannedPair
	Since studbook.Date // of the bond on record
	Nest  string

	Success           pairing.Success
	GeneDiversityGain float64 // exact change by one chick, all living birds alike
	Seasons           []pairing.SeasonRecord
	FailedSeasons     int               // of the last, one after the other, without a chick
	Parting           *pairing.Obstacle // of a bond that stands in the way; nil of others
	Sits              bool              // now

	Action Action
	Why    []pairing.Reason // what keeps it from breeding, then the codes of reason.go
}

const aYear = 365 // days

// Pairs reviews the pairs of a plan, by female, then male.
func Pairs(p *pairing.Programme, plan *pairing.Plan) []PairReview {
	var pairs []PairReview
	for _, x := range plan.Pairs {
		r := PairReview{PlannedPair: x, Success: p.Success(x.Female, x.Male), Seasons: p.Seasons(x.Female, x.Male)}
		r.GeneDiversityGain = p.Living.GainFromChick(p.Node(x.Female), p.Node(x.Male), x.Kinship)
		r.FailedSeasons = pairing.FailedInARow(r.Seasons)
		for _, bond := range p.Book.OpenBonds() {
			if bond.Female == p.Book.Birds[x.Female].ID && bond.Male == p.Book.Birds[x.Male].ID {
				r.Since, r.Nest = bond.Since, bond.Nest
			}
		}
		r.Sits = slices.ContainsFunc(plan.Eggs, func(e pairing.Eggs) bool { return e.Female == x.Female && e.Male == x.Male })
		for k := range plan.InTheWay {
			if o := &plan.InTheWay[k]; o.Female == x.Female && o.Male == x.Male {
				r.Parting = o
			}
		}
		r.decide(p)
		pairs = append(pairs, r)
	}
	slices.SortStableFunc(pairs, func(a, b PairReview) int {
		return cmp.Or(cmp.Compare(a.Female, b.Female), cmp.Compare(a.Male, b.Male))
	})
	return pairs
}

// barred reports whether one of some codes keeps the pair from breeding.
func (r *PairReview) barred(codes ...pairing.Code) bool {
	return slices.ContainsFunc(r.Barred, func(x pairing.Reason) bool { return x.Is(codes...) })
}

// kin reports whether the two are too closely related to breed.
func (r *PairReview) kin() bool {
	return r.barred(pairing.CloseKin, pairing.IsParent, pairing.AreKin)
}

// decide sets the action and says why.
func (r *PairReview) decide(p *pairing.Programme) {
	because := func(code pairing.Code, count int) { r.Why = append(r.Why, pairing.Reason{Code: code, Count: count}) }
	kin := r.kin()
	_, failing := r.Failing()
	hatches := r.Role == pairing.Planned || r.Role == pairing.Reserve
	switch {
	case r.Kind == pairing.BondNew:
		r.Action = Form
	case r.Kind == pairing.BondReleased, kin:
		r.Action = Part
	case failing && (r.ToExamine() || !hatches):
		r.Action = Examine
	case r.Parting != nil && r.Parting.Advised && !hatches:
		r.Action = Part
	case r.Role == pairing.Planned:
		r.Action = Keep
	case r.Role == pairing.Reserve:
		r.Action = Reserve
	default:
		r.Action = Rest
	}
	r.Why = append(r.Why, r.Barred...)
	for _, x := range r.Reasons {
		if x.Is(pairing.SaidYes, pairing.SaidPart, pairing.AnyEggCounts, pairing.LaysAgain, pairing.SecondClutch, pairing.Infertile, pairing.OthersSit, pairing.RaisesChicks, pairing.SeasonDone, pairing.EggsUntold, pairing.OtherPlans, pairing.OtherReserves, pairing.PairMoves, pairing.TooLate, pairing.MateMayBeParent, pairing.KinMayBeParent, pairing.KinIsParent, pairing.MayBeSiblings, pairing.KinByFounders, pairing.SeemsPaired) {
			r.Why = append(r.Why, x)
		}
	}
	switch {
	case r.Role == pairing.Planned && r.Action != Examine:
		because(PlanHas, r.HatchUpTo)
	case r.Again:
	case r.Role == pairing.Reserve:
		because(PlanHasReserve, r.HatchUpTo)
	case r.Role == "" && r.Kind != pairing.BondReleased: // it leaves the scope of the plan
		r.Why = append(r.Why, pairing.Reason{Code: PlanElsewhere, From: r.Place})
	case len(r.Barred) == 0 && !r.Late && !slices.ContainsFunc(r.Why, func(x pairing.Reason) bool {
		return x.Is(pairing.Infertile, pairing.OthersSit, pairing.RaisesChicks, pairing.SeasonDone, pairing.EggsUntold, pairing.OtherPlans, pairing.OtherReserves)
	}):
		because(PlanNeedsNone, 0)
	}
	if r.UndoneBy != nil {
		r.Why = append(r.Why, r.UndoneBy.Reason(p))
	}
	if r.Parting != nil {
		follows := r.Parting.Reasons(p)
		if r.Parting.Advised {
			because(InTheWay, 0)
			r.Why = append(r.Why, follows...)
		} else {
			r.Why = append(r.Why, follows[0])
		}
	}
	if len(r.Barred) == 0 && r.Advantage <= 0 {
		because(WorthLess, 0)
	}
	if f := r.Kinship; !kin && !p.Preferred(f) {
		r.Why = append(r.Why, pairing.Reason{Code: NotPreferred, Value: f, Other: p.Settings().PreferInbreeding})
	}
	switch {
	case failing, r.Kind == pairing.BondNew:
	case r.FailedSeasons > 0:
		because(FailedLately, r.FailedSeasons)
	case r.Record.Clutches == 0 && r.Since.Known() && p.Book.AsOf-r.Since.Mid() > aYear:
		because(NoClutches, 0)
	case r.Record.Clutches == 0:
		because(NewPair, 0)
	case r.Record.Told() == 0 && hatches:
		because(NoOutcomes, 0)
	}
	if r.Action == Part {
		because(PartBetween, 0)
	}
	if r.Sits {
		because(SitsNow, 0)
	}
}

// BirdAction is what to do with a bird next season.
type BirdAction string

// The actions for a bird. Those of a bird that cannot breed are its state.
const (
	Breed        BirdAction = "breed"
	InReserve    BirdAction = "in reserve"
	RestBird     BirdAction = "rest"
	PairUp       BirdAction = "pair up"
	GoToMate     BirdAction = "move to its mate"
	ExamineBird  BirdAction = "examine"
	NewMate      BirdAction = "new mate"
	StayAlone    BirdAction = "no mate this season"
	TooYoung     BirdAction = "too young"
	PastBreeding BirdAction = "past breeding"
	OnHold       BirdAction = "on hold"
	FindSex      BirdAction = "find out its sex"
)

// BirdActions are all of them, those with most to do first.
var BirdActions = []BirdAction{Breed, PairUp, GoToMate, InReserve, RestBird, NewMate, ExamineBird, StayAlone, FindSex, OnHold, TooYoung, PastBreeding}

// BirdReview is a bird of the colony with what to do with it and why.
type BirdReview struct {
	pairing.Row
	Standing pairing.Standing
	Young    *pairing.Young // where it should be in the years ahead
	Action   BirdAction
	Why      []pairing.Reason // what the decision says of it, or the codes of reason.go
}

// Unpaired is a bird of the colony that may breed, but for its sex where nobody
// knows it, and has no mate, with the ranking of its mates.
type Unpaired struct {
	Bird    int
	Ranking *pairing.Ranking
}

// rankUnpaired ranks the mates of the free birds of a place, by id.
func rankUnpaired(ctx context.Context, p *pairing.Programme, ranker *pairing.Ranker, place string) ([]Unpaired, error) {
	var out []Unpaired
	rankings, err := ranker.RankAll(ctx, p.Free(place))
	for _, x := range rankings {
		out = append(out, Unpaired{x.Bird, x})
	}
	return out, err
}

// reviewBirds says what to do with each bird of the rows, the lowest mean
// kinship first, ties by id.
func reviewBirds(p *pairing.Programme, rows []pairing.Row, d *pairing.Decision, plan *pairing.Plan, pairs []PairReview) []BirdReview {
	mean, _ := p.Living.MeanKinship()
	pair := map[int]*PairReview{}
	for k := range pairs {
		if r := &pairs[k]; r.Kind != pairing.BondReleased {
			pair[r.Female], pair[r.Male] = r, r
		}
	}
	young := map[int]*pairing.Young{}
	for k := range plan.Young {
		young[plan.Young[k].Bird] = &plan.Young[k]
	}
	var out []BirdReview
	for _, row := range rows {
		r := BirdReview{Row: row, Standing: p.State(row.Bird), Young: young[row.Bird]}
		r.decide(p, d, plan, mean, pair[row.Bird])
		out = append(out, r)
	}
	slices.SortStableFunc(out, func(a, b BirdReview) int { return cmp.Compare(a.Rank, b.Rank) })
	return out
}

// decide sets the action and says why. pair is that of the colony that the bird is
// to live in, nil for none.
func (r *BirdReview) decide(p *pairing.Programme, d *pairing.Decision, plan *pairing.Plan, mean float64, pair *PairReview) {
	if !r.Standing.State.MayBreed() {
		r.Action = map[pairing.State]BirdAction{
			pairing.StateUnsexed: FindSex, pairing.StateYoung: TooYoung, pairing.StatePast: PastBreeding, pairing.StateOnHold: OnHold,
		}[r.Standing.State]
		r.Why = append(r.Why, p.StateReason(r.Bird))
		if pair != nil {
			for _, x := range pair.Reasons {
				if x.Is(pairing.AnyEggCounts) {
					r.Why = append(r.Why, x)
				}
			}
		}
		return
	}
	mate, paired := d.MateOf(r.Bird)
	because := func(code pairing.Code) *pairing.Reason {
		why := pairing.Reason{Code: code, Birds: []*studbook.Bird{&p.Book.Birds[r.Bird]}}
		if paired {
			why.Birds = append(why.Birds, &p.Book.Birds[mate])
		}
		r.Why = append(r.Why, why)
		return &r.Why[len(r.Why)-1]
	}
	// Equal mean kinships differ in their last digits.
	const same = 1e-12
	if r.MeanKinship <= mean+same {
		because(FewRelatives)
	} else {
		because(ManyRelatives)
	}
	if !paired {
		r.Action = StayAlone
		r.Why = append(r.Why, d.WhyAlone(r.Bird))
		for k := range plan.Unpaired {
			if x := &plan.Unpaired[k]; x.Bird == r.Bird {
				r.Why = append(r.Why, x.Beside...)
			}
		}
		return
	}
	bond, _ := d.BondOf(r.Bird)
	switch {
	case bond.Move != nil && bond.Move.Bird == r.Bird:
		r.Action = GoToMate
		because(GoesTo).To = bond.Move.To
	case bond.Move != nil:
		r.Action = PairUp
		because(MateComes).From = bond.Move.From
	case bond.Kind == pairing.BondNew:
		r.Action = PairUp
		because(PlannedWith)
	case pair == nil: // a second mate of a bird that has two
		r.Action = RestBird
		because(PairRests)
	default:
		x := map[Action]struct {
			action BirdAction
			why    pairing.Code
		}{
			Keep: {Breed, PairPlanned}, Reserve: {InReserve, PairInReserve}, Rest: {RestBird, PairRests},
			Examine: {ExamineBird, PairToExamine}, Part: {NewMate, PairToPart},
		}[pair.Action]
		r.Action = x.action
		why := because(x.why)
		why.Count = pair.HatchUpTo
		if pair.Action == Part && pair.Parting != nil {
			if next, gets := pair.Parting.Then.MateOf(r.Bird); gets {
				why.Code, why.Birds = PairToPartFor, append(why.Birds, &p.Book.Birds[next])
			} else {
				r.Action, why.Code = RestBird, PairToPartAlone
			}
		}
		if failing, is := pair.Failing(); pair.Action == Examine && is {
			r.Why = append(r.Why, failing)
		} else if pair.Action == Rest && len(pair.Barred) > 0 {
			r.Why = append(r.Why, pair.Barred[0])
		}
	}
	if pair != nil && pair.UndoneBy != nil {
		r.Why = append(r.Why, pair.UndoneBy.Reason(p))
	}
}
