package review

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"pairwright/pairing"
	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// Action is what to do with a pair next season.
type Action string

// The actions for a pair.
const (
	Keep    Action = "keep"    // keep the bond and let it hatch the chicks of the plan
	Reserve Action = "reserve" // keep the bond; its chicks are wanted only if a planned pair fails
	Rest    Action = "rest"    // keep the bond, hatch no chicks
	Part    Action = "part"    // find both another mate when the season allows
)

// PairReview is an open bond with what speaks for and against it.
type PairReview struct {
	studbook.Bond
	FemaleBird, MaleBird int // in the snapshot

	pairing.Candidate // the male as a mate for the female
	Compared          bool
	Against           []pairing.Reason // what rules the pair out for breeding now
	Planned           int              // chicks that the season's plan has from it
	Sits              bool             // now

	Seasons []pairing.Season // with clutches on record, by year
	Record  pairing.Broods   // all of them together
	// FailedSeasons is how many seasons whose outcome is on record are the last
	// in a row without a chick fledged.
	FailedSeasons int

	Action Action
	Why    []pairing.Reason // what rules it out, then the codes of reason.go
}

// failedSeasons is the number of failed seasons in a row after which a pair is
// to be reviewed (common practice, no source).
const failedSeasons = 3

// reviewPairs reviews the open bonds of which a bird lives at the place, by
// female, then male.
func reviewPairs(p *pairing.Programme, ranker *pairing.Ranker, plan *pairing.Plan, place string) []PairReview {
	var pairs []PairReview
	for _, bond := range p.Book.OpenBonds() {
		f, _ := p.Book.Index(bond.Female)
		m, _ := p.Book.Index(bond.Male)
		if p.Book.Birds[f].Location != place && p.Book.Birds[m].Location != place {
			continue
		}
		r := PairReview{Bond: bond, FemaleBird: f, MaleBird: m}
		r.Candidate, r.Against, r.Compared = ranker.Pair(f, m)
		for _, x := range plan.Pairs {
			if x.Female == f && x.Male == m {
				r.Planned = x.Chicks
			}
		}
		for _, e := range plan.Eggs {
			if e.Female == f && e.Male == m {
				r.Sits = e.Sits
			}
		}
		r.Seasons, r.Record = p.Seasons(f, m), p.Broods(f, m)
		r.FailedSeasons = pairing.FailedInARow(r.Seasons)
		r.decide(p)
		pairs = append(pairs, r)
	}
	slices.SortStableFunc(pairs, func(a, b PairReview) int {
		return cmp.Or(cmp.Compare(a.FemaleBird, b.FemaleBird), cmp.Compare(a.MaleBird, b.MaleBird))
	})
	return pairs
}

// decide sets the action and says why.
func (r *PairReview) decide(p *pairing.Programme) {
	because := func(code pairing.Code, count int) { r.Why = append(r.Why, pairing.Reason{Code: code, Count: count}) }
	kin := slices.ContainsFunc(r.Against, func(x pairing.Reason) bool { return x.Code == pairing.CloseKin })
	apart := p.Book.Birds[r.FemaleBird].Location != p.Book.Birds[r.MaleBird].Location
	switch {
	case kin:
		r.Action = Part
	case len(r.Against) > 0:
		r.Action = Rest
	case r.FailedSeasons >= failedSeasons && r.Verdict != pairing.NotAdvised:
		r.Action = Part
	case r.Planned > 0:
		r.Action = Keep
	case r.Verdict == pairing.NotAdvised:
		r.Action = Rest
	default:
		r.Action = Reserve
	}
	r.Why = append(r.Why, r.Against...)
	t := &r.Record
	barren := t.NeverFertile() || r.FailedSeasons >= failedSeasons && t.Fertile.Known() && t.Fertile.Sum == 0
	switch {
	case len(r.Against) > 0:
	case !r.Compared:
		because(NothingToCompare, 0)
	case r.Verdict == pairing.NotAdvised && (barren || r.Planned > 0):
		because(WorthLess, 0)
	case r.Verdict == pairing.NotAdvised:
		because(WorthLessReplace, 0)
	default:
		because(WorthMore, 0)
	}
	switch {
	case r.Planned > 0 && r.Action == Part:
		because(PlanHasDoubtful, r.Planned)
	case r.Planned > 0:
		because(PlanHas, r.Planned)
	case r.Action == Reserve:
		because(PlanNeedsNone, 0)
	}
	if f := r.OffspringInbreeding; !kin && !p.Preferred(f) {
		r.Why = append(r.Why, pairing.Reason{Code: NotPreferred, Value: f, Other: p.Settings().PreferInbreeding})
	}
	switch {
	case barren:
		because(NeverFertile, r.FailedSeasons)
	case r.FailedSeasons >= failedSeasons && t.Fertile.Known():
		because(FailedThoughFertile, r.FailedSeasons)
	case r.FailedSeasons >= failedSeasons:
		because(Failed, r.FailedSeasons)
	case r.FailedSeasons > 0:
		because(FailedLately, r.FailedSeasons)
	case t.Clutches == 0:
		because(NewPair, 0)
	case t.Told() == 0 && (r.Action == Keep || r.Action == Reserve):
		because(NoOutcomes, 0)
	}
	if apart {
		because(LivesApart, 0)
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

// The actions for a bird.
const (
	Breed         BirdAction = "breed"
	BreedWithCare BirdAction = "breed with care"
	InReserve     BirdAction = "in reserve"
	RestBird      BirdAction = "rest"
	FindMate      BirdAction = "find a mate"
	NewMate       BirdAction = "new mate"
	TooYoung      BirdAction = "too young"
	PastBreeding  BirdAction = "past breeding"
	OnHold        BirdAction = "on hold"
	FindSex       BirdAction = "find out its sex"
)

// BirdReview is a bird of the colony with what to do with it and why.
type BirdReview struct {
	pairing.Row
	Action BirdAction
	Why    []pairing.Reason // what makes it unfit to breed, or the codes of reason.go
}

// Unpaired is a bird of the colony that may breed and has no mate, with the
// ranking of its mates.
type Unpaired struct {
	Bird    int
	Ranking *pairing.Ranking
}

// rankUnpaired ranks the mates of the unpaired birds of a place, by id.
func rankUnpaired(ctx context.Context, p *pairing.Programme, ranker *pairing.Ranker, place string) ([]Unpaired, error) {
	var out []Unpaired
	for _, b := range p.Unpaired(place) {
		ranking, err := ranker.Rank(ctx, b)
		if err != nil {
			return nil, fmt.Errorf("mates for %s: %w", p.Name(b), err)
		}
		out = append(out, Unpaired{b, ranking})
	}
	return out, nil
}

// reviewBirds says what to do with each bird of the rows, the lowest mean
// kinship first, ties by id.
func reviewBirds(p *pairing.Programme, rows []pairing.Row, plan *pairing.Plan, pairs []PairReview, unpaired []Unpaired) []BirdReview {
	mean, _ := p.Living.MeanKinship()
	bond := map[int]*PairReview{}
	for k := range pairs {
		r := &pairs[k]
		for _, b := range [2]int{r.FemaleBird, r.MaleBird} {
			if bond[b] == nil || better(r.Action, bond[b].Action) {
				bond[b] = r
			}
		}
	}
	ranked := map[int]*pairing.Ranking{}
	for _, u := range unpaired {
		ranked[u.Bird] = u.Ranking
	}
	planned := map[int]int{} // mates in the plan
	for _, x := range plan.Pairs {
		planned[x.Female], planned[x.Male] = x.Male, x.Female
	}
	var out []BirdReview
	for _, row := range rows {
		r := BirdReview{Row: row}
		mate, ok := planned[row.Bird]
		if !ok {
			mate = -1
		}
		r.decide(p, mean, bond[row.Bird], ranked[row.Bird], mate)
		out = append(out, r)
	}
	slices.SortStableFunc(out, func(a, b BirdReview) int { return cmp.Compare(a.Rank, b.Rank) })
	return out
}

func better(a, b Action) bool {
	order := []Action{Keep, Reserve, Rest, Part}
	return slices.Index(order, a) < slices.Index(order, b)
}

// decide sets the action and says why. planned is the mate that the season's
// plan gives the bird, -1 for none.
func (r *BirdReview) decide(p *pairing.Programme, mean float64, bond *PairReview, ranking *pairing.Ranking, planned int) {
	if unfit := p.Unfit(r.Bird); len(unfit) > 0 {
		r.Action = map[pairing.Code]BirdAction{
			pairing.SexUnknown: FindSex, pairing.TooYoung: TooYoung, pairing.TooOld: PastBreeding, pairing.OnHold: OnHold,
		}[unfit[0].Code]
		r.Why = unfit
		return
	}
	because := func(code pairing.Code, mate int) *pairing.Reason {
		why := pairing.Reason{Code: code, Birds: []*studbook.Bird{&p.Book.Birds[r.Bird]}}
		if mate >= 0 {
			why.Birds = append(why.Birds, &p.Book.Birds[mate])
		}
		r.Why = append(r.Why, why)
		return &r.Why[len(r.Why)-1]
	}
	// Equal mean kinships differ in their last digits.
	const same = 1e-12
	few := r.MeanKinship <= mean+same
	if r.Action = BreedWithCare; few {
		r.Action = Breed
		because(FewRelatives, -1)
	} else {
		because(ManyRelatives, -1)
	}
	switch {
	case bond != nil && bond.Action == Keep:
		because(PairPlanned, bond.mate(r.Bird)).Count = bond.Planned
	case bond != nil && bond.Action == Reserve:
		r.Action = InReserve
		because(PairInReserve, bond.mate(r.Bird))
	case bond != nil && bond.Action == Part:
		r.Action = NewMate
		because(PairToPart, bond.mate(r.Bird))
	case bond != nil:
		r.Action = RestBird
		because(PairRests, bond.mate(r.Bird))
		switch {
		case len(bond.Against) > 0:
			r.Why = append(r.Why, bond.Against[0])
		case few:
			because(MateCommoner, bond.mate(r.Bird))
		}
	case planned >= 0:
		because(PlannedWith, planned)
	case ranking == nil || len(ranking.Candidates) == 0:
		r.Action = RestBird
		because(NoMateNow, -1)
	case ranking.Candidates[0].Verdict.Good():
		r.Action = FindMate
		because(GoodMate, ranking.Candidates[0].Bird)
	default:
		r.Action = RestBird
		because(NoBetterMate, -1)
	}
}

// mate returns the other bird.
func (r *PairReview) mate(b int) int {
	if b == r.FemaleBird {
		return r.MaleBird
	}
	return r.FemaleBird
}

// Inbred is an inbred bird with whom it is inbred through.
type Inbred struct {
	Bird       int
	Inbreeding float64
	// Through splits F by the common ancestors of its parents, and Founders
	// by the founders whose genes meet in it; both largest first.
	Through  []pedigree.Meeting
	Founders []Share
}

// Share is a founder's part of something, in the unit of that.
type Share struct {
	Node int
	Part float64
}

// inbredListed is how many inbred birds are looked into.
const inbredListed = 20

// inbred returns the most inbred birds of the rows, at most inbredListed of
// them, and how many are inbred in all.
func inbred(p *pairing.Programme, rows []pairing.Row) (list []Inbred, all int) {
	for _, r := range rows {
		if r.Inbreeding > 0 {
			list = append(list, Inbred{Bird: r.Bird, Inbreeding: r.Inbreeding})
		}
	}
	all = len(list)
	slices.SortStableFunc(list, func(a, b Inbred) int { return cmp.Compare(b.Inbreeding, a.Inbreeding) })
	list = list[:min(all, inbredListed)]
	for k := range list {
		x := &list[k]
		node := p.Node(x.Bird)
		if sire, dam, ok := p.Pedigree.Parents(node); ok {
			x.Through = p.Pedigree.Meetings(sire, dam, 0)
		}
		for founder, part := range p.Pedigree.PartialInbreeding(node) {
			if part > 0 {
				x.Founders = append(x.Founders, Share{founder, part})
			}
		}
		slices.SortStableFunc(x.Founders, func(a, b Share) int { return cmp.Compare(b.Part, a.Part) })
	}
	return list, all
}
