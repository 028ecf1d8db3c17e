package review

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

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

	Seasons []Season // with clutches on record, by year
	// FailedSeasons is how many seasons with a clutch that was left to the
	// pair are the last in a row without a chick fledged.
	FailedSeasons int
	// ClutchesWithoutOutcome are on record without what became of them, as
	// when the eggs were replaced.
	ClutchesWithoutOutcome int

	Action Action
	Why    []string
}

// Season is the clutches of a pair in one year. Counts that are not on record
// are left out of the sums; Told counts the clutches whose outcome is.
type Season struct {
	Year                                                int
	Clutches, Told                                      int
	Eggs, Fertile, Hatched, Fledged                     int
	EggsKnown, FertileKnown, HatchedKnown, FledgedKnown bool
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
		r.count(p)
		r.decide(p)
		pairs = append(pairs, r)
	}
	slices.SortStableFunc(pairs, func(a, b PairReview) int {
		return cmp.Or(cmp.Compare(a.FemaleBird, b.FemaleBird), cmp.Compare(a.MaleBird, b.MaleBird))
	})
	return pairs
}

// count sums the pair's clutches by year.
func (r *PairReview) count(p *pairing.Programme) {
	years := map[int]*Season{}
	sum := func(total *int, known *bool, n int) {
		if n >= 0 {
			*total += n
			*known = true
		}
	}
	for _, c := range p.Book.Clutches {
		if c.Female != r.Female || c.Male != r.Male {
			continue
		}
		year := 0
		if c.Laid.Known() {
			year = c.Laid.Mid().Time().Year()
		}
		s := years[year]
		if s == nil {
			s = &Season{Year: year}
			years[year] = s
		}
		s.Clutches++
		if c.Hatched >= 0 || c.Fledged >= 0 {
			s.Told++
		} else {
			r.ClutchesWithoutOutcome++
		}
		sum(&s.Eggs, &s.EggsKnown, c.Eggs)
		sum(&s.Fertile, &s.FertileKnown, c.Fertile)
		sum(&s.Hatched, &s.HatchedKnown, c.Hatched)
		sum(&s.Fledged, &s.FledgedKnown, c.Fledged)
	}
	for _, s := range years {
		r.Seasons = append(r.Seasons, *s)
	}
	slices.SortFunc(r.Seasons, func(a, b Season) int { return cmp.Compare(a.Year, b.Year) })
	for _, s := range slices.Backward(r.Seasons) {
		if s.Told == 0 {
			continue
		}
		if s.Fledged > 0 || !s.FledgedKnown && s.Hatched > 0 {
			break
		}
		r.FailedSeasons++
	}
}

// Totals adds the seasons up; its Year is 0.
func (r *PairReview) Totals() Season {
	var t Season
	for _, s := range r.Seasons {
		t.Clutches += s.Clutches
		t.Told += s.Told
		t.Eggs, t.EggsKnown = t.Eggs+s.Eggs, t.EggsKnown || s.EggsKnown
		t.Fertile, t.FertileKnown = t.Fertile+s.Fertile, t.FertileKnown || s.FertileKnown
		t.Hatched, t.HatchedKnown = t.Hatched+s.Hatched, t.HatchedKnown || s.HatchedKnown
		t.Fledged, t.FledgedKnown = t.Fledged+s.Fledged, t.FledgedKnown || s.FledgedKnown
	}
	return t
}

// decide sets the action and says why.
func (r *PairReview) decide(p *pairing.Programme) {
	because := func(format string, args ...any) { r.Why = append(r.Why, fmt.Sprintf(format, args...)) }
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
	for _, x := range r.Against {
		because("%s", x.Text)
	}
	t := r.Totals()
	barren := r.FailedSeasons >= failedSeasons && t.FertileKnown && t.Fertile == 0
	switch {
	case len(r.Against) > 0:
	case !r.Compared:
		because("no other pair may breed, so there is nothing to compare its chicks with")
	case r.Verdict == pairing.NotAdvised && (barren || r.Planned > 0):
		because("its chicks would be worth less to the programme than those of the average pair")
	case r.Verdict == pairing.NotAdvised:
		because("its chicks would be worth less to the programme than those of the average pair: leave the bond, and replace the eggs by dummies as they are laid")
	default:
		because("its chicks are worth more to the programme than those of the average pair")
	}
	switch {
	case r.Planned > 0 && r.Action == Part:
		because("the season's plan counts on %s of it all the same, which its record does not promise", pairing.Count(r.Planned, "chick", "chicks"))
	case r.Planned > 0:
		because("the season's plan has %s of it", pairing.Count(r.Planned, "chick", "chicks"))
	case r.Action == Reserve:
		because("the season's plan needs no chick of it: replace its eggs as they are laid, unless a planned pair fails")
	}
	if f := r.OffspringInbreeding; !kin && !p.Preferred(f) {
		because("a chick would have F %s, not below the preferred %s", pairing.FourDecimals(f), pairing.FourDecimals(p.Settings().PreferInbreeding))
	}
	switch {
	case barren:
		because("no chick fledged in the last %s, and no egg on record was fertile", seasons(r.FailedSeasons))
	case r.FailedSeasons >= failedSeasons && t.FertileKnown:
		because("no chick fledged in the last %s although eggs were fertile: look at nest and rearing before parting them", seasons(r.FailedSeasons))
	case r.FailedSeasons >= failedSeasons:
		because("no chick fledged in the last %s", seasons(r.FailedSeasons))
	case r.FailedSeasons > 0:
		because("no chick fledged in the last %s with an outcome on record: watch it", seasons(r.FailedSeasons))
	case t.Clutches == 0:
		because("no clutch of theirs is on record: a new pair needs a season to settle")
	case t.Told == 0 && (r.Action == Keep || r.Action == Reserve):
		because("none of its clutches has an outcome on record, so its success is judged by age and by the birds' other mates")
	}
	if apart {
		because("the two are on record at different places")
	}
	if r.Action == Part {
		because("part them between seasons alone, never while they sit or feed chicks")
	}
	if r.Sits {
		because("they sit now: leave them and their eggs undisturbed until the clutch is over")
	}
}

func seasons(n int) string {
	if n == 1 {
		return "season"
	}
	return fmt.Sprintf("%d seasons", n)
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
	Why    string
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
		mate := ""
		if b, ok := planned[row.Bird]; ok {
			mate = p.Name(b)
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

func (r *BirdReview) decide(p *pairing.Programme, mean float64, bond *PairReview, ranking *pairing.Ranking, planned string) {
	if unfit := p.Unfit(r.Bird); len(unfit) > 0 {
		r.Action = map[pairing.Code]BirdAction{
			pairing.SexUnknown: FindSex, pairing.TooYoung: TooYoung, pairing.TooOld: PastBreeding, pairing.OnHold: OnHold,
		}[unfit[0].Code]
		var why []string
		for _, x := range unfit {
			why = append(why, x.Text)
		}
		r.Why = strings.Join(why, "; ")
		return
	}
	// Equal mean kinships differ in their last digits.
	const same = 1e-12
	few := r.MeanKinship <= mean+same
	r.Action, r.Why = Breed, "fewer relatives than the average bird"
	if !few {
		r.Action, r.Why = BreedWithCare, "more relatives than the average bird"
	}
	switch {
	case bond != nil && bond.Action == Keep:
		r.Why += fmt.Sprintf("; the season's plan has %s of its pair with %s", pairing.Count(bond.Planned, "chick", "chicks"), bond.mate(r.Bird))
	case bond != nil && bond.Action == Reserve:
		r.Action = InReserve
		r.Why += fmt.Sprintf("; keep its bond with %s: the season's plan needs no chick of them", bond.mate(r.Bird))
	case bond != nil && bond.Action == Part:
		r.Action = NewMate
		r.Why += fmt.Sprintf("; part it from %s when the season allows", bond.mate(r.Bird))
	case bond != nil:
		r.Action = RestBird
		r.Why += fmt.Sprintf("; its pair with %s rests", bond.mate(r.Bird))
		switch {
		case len(bond.Against) > 0:
			r.Why += ": " + bond.Against[0].Text
		case few:
			r.Why += ", because the mate has more: it would do more with another, if the bond ends by itself"
		}
	case planned != "":
		r.Why += fmt.Sprintf("; the season's plan pairs it with %s", planned)
	case ranking == nil || len(ranking.Candidates) == 0:
		r.Action = RestBird
		r.Why += "; there is no mate for it now"
	case ranking.Candidates[0].Verdict.Good():
		r.Action = FindMate
		r.Why += "; it has a good mate to be, see the birds without a mate"
	default:
		r.Action = RestBird
		r.Why += "; no mate is better than the average pair"
	}
}

// mate returns the id of the other bird.
func (r *PairReview) mate(b int) string {
	if b == r.FemaleBird {
		return r.Male
	}
	return r.Female
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
