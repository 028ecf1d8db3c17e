package pairing

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// Verdict is what Pairwright thinks of a pair.
type Verdict string

// The verdicts. A pair is recommended if its advantage is above zero, the
// chick's F below the preferred limit and at least half of the mate's ancestry
// known, for an unknown ancestor makes a bird look less related than it is;
// acceptable if its advantage is above zero and F within the limit; not advised
// otherwise. Where there is no other pair to compare with, the limits alone
// judge.
const (
	Recommended Verdict = "recommended"
	Acceptable  Verdict = "acceptable"
	NotAdvised  Verdict = "not advised"
	RuledOut    Verdict = "ruled out"
)

// Good reports whether the verdict speaks for a pair.
func (v Verdict) Good() bool { return v == Recommended || v == Acceptable }

// trusted is the share of known ancestry from which a mate can be recommended
// (common practice, no source).
const trusted = 0.5

// Options say which mates are wanted. The zero value asks for all, at the
// programme's limits, without breaking a bond.
type Options struct {
	HomeOnly   bool
	BreakBonds bool // birds that are bonded elsewhere count too

	// LimitInbreeding is the most F a chick may have; nil for the
	// programme's limit.
	LimitInbreeding *float64

	// Samples is how many possible pedigrees the confidence of ranks is
	// drawn from where parents are uncertain; 0 for DefaultSamples.
	Samples int
	Seed    uint64

	// Explained is how many of the best mates get their reasons in words, for
	// lists of many birds with the best of each; 0 for all.
	Explained int

	// Premise is what the ranking takes for granted, in plain words, as that
	// the season's plan has gone ahead; "" for nothing.
	Premise string
}

// DefaultSamples is the number of possible pedigrees drawn by default.
const DefaultSamples = 200

// Candidate is one possible mate with everything its rank is made of.
type Candidate struct {
	Rank    int
	Bird    int // in the snapshot
	Verdict Verdict

	OffspringInbreeding     float64 // F of a chick: the kinship of the two
	MeanKinship             float64 // of the mate, with the whole programme
	MeanKinshipDifference   float64 // of the two birds, without sign
	GeneDiversityGain       float64 // exact change by one chick of the pair
	Advantage               float64 // that minus the mean over all eligible pairs; 0 if not Ranking.Compared
	Success                 Success
	SurvivalUnderInbreeding float64 // exp(−B·F)
	ExpectedChicks          float64 // per season
	ExpectedGain            float64 // ExpectedChicks × Advantage, or × gain if not Compared
	RankConfidence          float64 // share of possible pedigrees in which it keeps its rank or a better one

	BondedTo      string // id of its mate, "" if free; may be the bird itself
	KnownBond     bool   // the two are or were bonded
	NeedsTransfer bool
	Distance      float64 // km between the institutions
	Placed        bool    // the distance is known
	Age           float64 // years
	AgeKnown      bool
	AgePlusMinus  float64
	KnownAncestry float64
	Reasons       []string
}

// Excluded is a bird that is ruled out, with every reason.
type Excluded struct {
	Bird    int
	Reasons []Reason
}

// Ranking is the answer to the question for a mate.
type Ranking struct {
	Bird int
	// Unfit is why the bird itself should not breed now; the ranking is then
	// a look ahead.
	Unfit []Reason
	Mates []string // its present mates

	Compared      bool    // there are other eligible pairs to compare with
	EligiblePairs int     // pairs of the programme that may breed, bonds aside
	AverageGain   float64 // mean change in gene diversity by a chick of those

	Candidates []Candidate // best first
	RuledOut   []Excluded  // by id

	Uncertain bool // parents are uncertain, so ranks have a confidence below 1
	Samples   int
	Seed      uint64
	Limit     float64 // most F allowed
	Premise   string  // see Options
}

// Ranker ranks mates for any bird of a programme. What all birds share, the
// average eligible pair and the possible pedigrees, it computes once.
type Ranker struct {
	p       *Programme
	o       Options
	limit   float64
	females []int
	males   []int
	base    comparison
	samples []comparison
	known   []float64          // known ancestry by node
	dead    map[int][]Reason   // why a dead bird of the snapshot is ruled out
	bonds   map[[2]string]bool // female and male of every bond there is or was
}

// comparison is one pedigree with the average pair a mate is compared with.
type comparison struct {
	ped     *pedigree.Pedigree
	living  *pedigree.Population
	pairs   int
	average float64
}

// NewRanker prepares to rank mates.
func NewRanker(ctx context.Context, p *Programme, o Options) (*Ranker, error) {
	if o.Samples == 0 {
		o.Samples = DefaultSamples
	}
	r := &Ranker{p: p, o: o, limit: p.Settings().LimitInbreeding}
	if o.LimitInbreeding != nil {
		r.limit = *o.LimitInbreeding
	}
	r.females, r.males = p.fit(studbook.Female), p.fit(studbook.Male)
	r.known = p.KnownAncestry()
	r.dead = make(map[int][]Reason)
	for b := range p.Book.Birds {
		if !p.Book.Alive(b) {
			r.dead[b] = []Reason{{Code: Dead, Birds: p.birds(b), Date: p.Book.Birds[b].Death, Text: "died " + p.Book.Birds[b].Death.Text}}
		}
	}
	r.bonds = make(map[[2]string]bool, len(p.Book.Bonds))
	for _, bond := range p.Book.Bonds {
		r.bonds[[2]string{bond.Female, bond.Male}] = true
	}
	var err error
	if r.base, err = r.compare(ctx, p.Pedigree, p.Living); err != nil {
		return nil, err
	}
	if p.Pedigree.Uncertain() {
		r.samples = make([]comparison, o.Samples)
		err = inParallel(ctx, o.Samples, func(k int) error {
			ped := p.Pedigree.Sample(o.Seed, k)
			var err error
			r.samples[k], err = r.compare(ctx, ped, ped.Population(p.Living.Members()))
			return err
		})
	}
	return r, err
}

// inParallel calls do for 0 to n-1 on all cores and returns the error of the
// lowest number that has one.
func inParallel(ctx context.Context, n int, do func(k int) error) error {
	errs := make([]error, n)
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			for k := int(next.Add(1)) - 1; k < n; k = int(next.Add(1)) - 1 {
				if errs[k] = ctx.Err(); errs[k] == nil {
					errs[k] = do(k)
				}
			}
		})
	}
	wg.Wait()
	return cmp.Or(errs...)
}

// compare computes the mean gain over the pairs that may breed: a fit female
// and a fit male whose chick would be within the limit.
func (r *Ranker) compare(ctx context.Context, ped *pedigree.Pedigree, living *pedigree.Population) (comparison, error) {
	c := comparison{ped: ped, living: living}
	if len(r.females) == 0 || len(r.males) == 0 {
		return c, nil
	}
	females, males := r.p.nodes(r.females), r.p.nodes(r.males)
	sums := make([]float64, len(females))
	pairs := make([]int, len(females))
	err := ped.KinshipRows(ctx, females, males, func(f int, row []float64) {
		for m, kinship := range row {
			if kinship <= r.limit {
				sums[f] += living.GainFromChick(females[f], males[m], kinship)
				pairs[f]++
			}
		}
	})
	for f := range females {
		c.average += sums[f]
		c.pairs += pairs[f]
	}
	if c.pairs > 0 {
		c.average /= float64(c.pairs)
	}
	return c, err
}

// Rank ranks the mates for a living bird. An error is a bird that can have
// none: dead, or of unknown sex.
func (r *Ranker) Rank(ctx context.Context, b int) (*Ranking, error) {
	p := r.p
	bird := &p.Book.Birds[b]
	if !p.Book.Alive(b) {
		return nil, fmt.Errorf("%s is not among the living on %s, so it can have no mate", bird.ID, p.Book.AsOf)
	}
	if bird.Sex == studbook.Unsexed {
		return nil, fmt.Errorf("the sex of %s is not known: have it sexed first, then ask for a mate", bird.ID)
	}
	out := r.ranking(b)
	kinships := p.Pedigree.Kinships(p.node[b])
	mates := r.males
	if bird.Sex == studbook.Male {
		mates = r.females
	}
	// A programme may hold the rankings of all its birds: no room is wasted.
	out.Candidates = make([]Candidate, 0, len(mates))
	out.RuledOut = make([]Excluded, 0, len(p.Book.Birds))
	for m := range p.Book.Birds {
		if m == b || !p.Book.Birds[m].Recorded {
			continue
		}
		if reasons := r.exclude(b, m, kinships[p.node[m]]); len(reasons) > 0 {
			out.RuledOut = append(out.RuledOut, Excluded{m, reasons})
			continue
		}
		out.Candidates = append(out.Candidates, r.candidate(b, m, kinships[p.node[m]]))
	}
	for k := range out.Candidates {
		r.weigh(&out.Candidates[k], out)
	}
	order(bird.ID, out.Candidates)
	for k := range out.Candidates {
		c := &out.Candidates[k]
		c.Rank, c.RankConfidence = k+1, 1
	}
	if err := r.confide(ctx, out); err != nil {
		return nil, err
	}
	for k := range out.Candidates {
		if r.o.Explained > 0 && k == r.o.Explained {
			break
		}
		c := &out.Candidates[k]
		c.Reasons = r.reasons(out, c)
	}
	return out, nil
}

// ranking returns the ranking for b without its candidates.
func (r *Ranker) ranking(b int) *Ranking {
	out := &Ranking{
		Bird: b, Unfit: r.p.Unfit(b), Mates: r.p.Book.Mates(r.p.Book.Birds[b].ID),
		EligiblePairs: r.base.pairs, AverageGain: r.base.average,
		Uncertain: len(r.samples) > 0, Samples: len(r.samples), Seed: r.o.Seed, Limit: r.limit, Premise: r.o.Premise,
	}
	// A candidate makes an eligible pair with a fit bird, which is no other
	// pair than itself.
	out.Compared = r.others(len(out.Unfit) == 0)
	return out
}

// others reports whether any pair of the programme is eligible besides one that
// itself is or is not.
func (r *Ranker) others(itself bool) bool {
	return r.base.pairs > 1 || r.base.pairs == 1 && !itself
}

// Pair weighs one living pair, the male as a mate for the female, with the
// figures and the verdict that Rank gives it. It has no rank and no rank
// confidence. against holds what rules the pair out, of either bird; the
// verdict then is RuledOut. compared is that of Ranking.
func (r *Ranker) Pair(female, male int) (c Candidate, against []Reason, compared bool) {
	p := r.p
	out := r.ranking(female)
	kinship := p.Pedigree.Kinship(p.node[female], p.node[male])
	for _, reason := range out.Unfit {
		reason.Text = p.Book.Birds[female].ID + ": " + reason.Text
		against = append(against, reason)
	}
	for _, reason := range r.exclude(female, male, kinship) {
		if reason.Code != CloseKin {
			reason.Text = p.Book.Birds[male].ID + ": " + reason.Text
		}
		against = append(against, reason)
	}
	out.Compared = r.others(len(out.Unfit) == 0 && len(p.Unfit(male)) == 0 && kinship <= r.limit)
	c = r.candidate(female, male, kinship)
	r.weigh(&c, out)
	c.RankConfidence = 1 // so that the reasons do not speak of a rank
	c.Reasons = r.reasons(out, &c)
	c.RankConfidence = 0
	if len(against) > 0 {
		c.Verdict = RuledOut
	}
	return c, against, out.Compared
}

// Weigh returns what a pair that may breed would do, bonds aside, with the
// figures and the verdict that Rank gives m as a mate for b, and without rank,
// confidence and reasons. kinship is that of the two, within the limit.
func (r *Ranker) Weigh(b, m int, kinship float64) Candidate {
	c := r.candidate(b, m, kinship)
	r.weigh(&c, r.ranking(b))
	return c
}

// Average returns how many pairs of the programme may breed, bonds aside, and
// the mean change in gene diversity by a chick of those.
func (r *Ranker) Average() (pairs int, gain float64) { return r.base.pairs, r.base.average }

// Limit returns the most F that a chick may have.
func (r *Ranker) Limit() float64 { return r.limit }

// exclude returns every reason why m is out of the question for b.
func (r *Ranker) exclude(b, m int, kinship float64) []Reason {
	p := r.p
	bird, mate := &p.Book.Birds[b], &p.Book.Birds[m]
	if !p.Book.Alive(m) {
		return r.dead[m]
	}
	var reasons []Reason
	if mate.Sex == bird.Sex {
		reasons = append(reasons, Reason{Code: SameSex, Birds: p.birds(m), Text: "is " + mate.Sex.Word() + " too"})
	}
	reasons = append(reasons, p.Unfit(m)...)
	if kinship > r.limit {
		reasons = append(reasons, Reason{Code: CloseKin, Birds: p.birds(m), Value: kinship, Other: r.limit,
			Text: fmt.Sprintf("too closely related: a chick would have F %s, the limit is %s", FourDecimals(kinship), FourDecimals(r.limit))})
	}
	if mates := p.Book.Mates(mate.ID); len(mates) > 0 && !slices.Contains(mates, bird.ID) && !r.o.BreakBonds {
		reasons = append(reasons, Reason{Code: Bonded, Birds: []*studbook.Bird{mate, p.Book.Bird(mates[0])}, Text: "is bonded to " + mates[0]})
	}
	if r.o.HomeOnly && mate.Location != bird.Location {
		reasons = append(reasons, Reason{Code: Elsewhere, Birds: p.birds(m), From: mate.Location, Text: "lives at " + mate.Location + "; only birds at home were asked for"})
	}
	return reasons
}

// candidate gathers what does not depend on the other candidates.
func (r *Ranker) candidate(b, m int, kinship float64) Candidate {
	p := r.p
	bird, mate := &p.Book.Birds[b], &p.Book.Birds[m]
	mk := p.Living.MeanKinshipOf(p.node[m])
	c := Candidate{
		Bird:                    m,
		OffspringInbreeding:     kinship,
		MeanKinship:             mk,
		MeanKinshipDifference:   math.Abs(mk - p.Living.MeanKinshipOf(p.node[b])),
		GeneDiversityGain:       p.Living.GainFromChick(p.node[b], p.node[m], kinship),
		SurvivalUnderInbreeding: math.Exp(-p.Settings().LethalEquivalents * kinship),
		NeedsTransfer:           mate.Location != bird.Location,
		KnownAncestry:           r.known[p.node[m]],
	}
	female, male := b, m
	if bird.Sex == studbook.Male {
		female, male = m, b
	}
	c.Success = p.Success(female, male)
	c.ExpectedChicks = p.Settings().ChicksPerSeason * c.Success.Chance * c.SurvivalUnderInbreeding
	c.Age, c.AgePlusMinus, c.AgeKnown = p.Book.AgeYears(m)
	c.Distance, c.Placed = p.Distance(bird.Location, mate.Location)
	if mates := p.Book.Mates(mate.ID); slices.Contains(mates, bird.ID) {
		c.BondedTo = bird.ID
	} else if len(mates) > 0 {
		c.BondedTo = mates[0]
	}
	c.KnownBond = r.bonds[[2]string{p.Book.Birds[female].ID, p.Book.Birds[male].ID}]
	return c
}

// Preferred reports whether F of a chick is as low as is preferred. No
// inbreeding at all is, whatever the setting.
func (p *Programme) Preferred(f float64) bool { return f == 0 || f < p.Settings().PreferInbreeding }

// weigh compares the candidate with the average pair and judges it.
func (r *Ranker) weigh(c *Candidate, out *Ranking) {
	within := r.p.Preferred(c.OffspringInbreeding) && c.KnownAncestry >= trusted
	if !out.Compared {
		c.ExpectedGain = c.ExpectedChicks * c.GeneDiversityGain
		c.Verdict = Acceptable
		if within {
			c.Verdict = Recommended
		}
		return
	}
	c.Advantage = c.GeneDiversityGain - r.base.average
	c.ExpectedGain = c.ExpectedChicks * c.Advantage
	switch {
	case c.Advantage <= 0:
		c.Verdict = NotAdvised
	case within:
		c.Verdict = Recommended
	default:
		c.Verdict = Acceptable
	}
}

// order sorts candidates for the bird with an id by expected gain; see InOrder.
func order(id string, candidates []Candidate) {
	InOrder(candidates, func(Candidate) int { return 0 }, func(c Candidate) float64 { return c.ExpectedGain }, gentler(id))
}

// gentler compares mates for the bird with an id by cost to the birds: no move
// before a move, free before bonded to another, known bond before new, nearer
// before farther, then id.
func gentler(id string) func(a, b Candidate) int {
	no := func(yes bool) int {
		if yes {
			return 1
		}
		return 0
	}
	breaks := func(c Candidate) bool { return c.BondedTo != "" && c.BondedTo != id }
	far := func(c Candidate) float64 {
		if c.Placed {
			return c.Distance
		}
		return math.Inf(1)
	}
	return func(a, b Candidate) int {
		return cmp.Or(
			cmp.Compare(no(a.NeedsTransfer), no(b.NeedsTransfer)),
			cmp.Compare(no(breaks(a)), no(breaks(b))),
			cmp.Compare(no(!a.KnownBond), no(!b.KnownBond)),
			cmp.Compare(far(a), far(b)),
			cmp.Compare(a.Bird, b.Bird), // the snapshot is by id
		)
	}
}

// confide sets the rank confidences: the candidates are ranked anew in every
// possible pedigree drawn, all in the same ones.
func (r *Ranker) confide(ctx context.Context, out *Ranking) error {
	if len(r.samples) == 0 {
		return nil
	}
	kept := make([][]bool, len(r.samples))
	err := inParallel(ctx, len(r.samples), func(s int) error {
		kept[s] = r.keeps(&r.samples[s], out)
		return nil
	})
	for k := range out.Candidates {
		n := 0
		for s := range kept {
			if kept[s] != nil && kept[s][k] {
				n++
			}
		}
		out.Candidates[k].RankConfidence = float64(n) / float64(len(r.samples))
	}
	return err
}

// keeps reports for each candidate, in their order, whether it has its rank or
// a better one in a sampled pedigree.
func (r *Ranker) keeps(s *comparison, out *Ranking) []bool {
	p := r.p
	b := p.node[out.Bird]
	kinships := s.ped.Kinships(b)
	again := slices.Clone(out.Candidates)
	for k := range again {
		c := &again[k]
		m := p.node[c.Bird]
		gain := s.living.GainFromChick(b, m, kinships[m])
		if out.Compared {
			gain -= s.average
		}
		c.ExpectedGain = p.Settings().ChicksPerSeason * c.Success.Chance *
			math.Exp(-p.Settings().LethalEquivalents*kinships[m]) * gain
	}
	order(p.Book.Birds[out.Bird].ID, again)
	kept := make([]bool, len(again))
	for place := range again {
		was := again[place].Rank - 1
		kept[was] = place <= was
	}
	return kept
}
