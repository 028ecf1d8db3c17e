package pairing

import (
	"cmp"
	"context"
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
// chick's F below the preferred limit, at least half of the mate's ancestry
// known, for an unknown ancestor makes a bird look less related than it is, and
// no doubt open that the two are close kin (see Programme.Doubt); acceptable if
// its advantage is above zero and F within the limit; not advised otherwise.
// Where there is no other pair to compare with, or all pairs are alike, the
// limits alone judge.
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
	ExpectedChicks          float64 // hatched in a season by the settled pair; see Programme.SeasonChicks
	ExpectedGain            float64 // ExpectedChicks × Advantage, or × gain if not Compared
	// BestIn and AmongFirstIn are the shares of possible pedigrees in which it
	// is the best mate, and one of the first three.
	BestIn, AmongFirstIn float64
	Kin                  KinInWords // what the mate is to the bird; of explained candidates alone
	Doubts               []Reason   // why the two may be closer kin; see Programme.Doubt

	BondedTo      string // id of its mate, "" if free; may be the bird itself
	KnownBond     bool   // the two are or were bonded
	NeedsTransfer bool
	Distance      float64 // km between the institutions
	Placed        bool    // the distance is known
	Age           float64 // years
	AgeKnown      bool
	AgePlusMinus  float64
	KnownAncestry float64
	Reasons       []Reason
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
	Mates []int // its present mates

	Compared      bool    // there are other eligible pairs to compare with, and they differ
	AllAlike      bool    // a chick of any eligible pair would gain the same
	EligiblePairs int     // pairs of the programme that may breed, bonds aside
	AverageGain   float64 // mean change in gene diversity by a chick of those

	id         string      // of Bird
	Candidates []Candidate // best first
	RuledOut   []Excluded  // by id

	Uncertain bool // parents are uncertain or unknown, so other pedigrees are possible
	Samples   int
	Seed      uint64
	Limit     float64  // most F allowed
	Premise   string   // see Options
	Related   *Related // where no pair of the programme is within the limit
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
	related *Related           // where no pair is within the limit
	known   []float64          // known ancestry by node
	dead    map[int][]Reason   // why a dead bird of the snapshot is ruled out
	bonds   map[[2]string]bool // female and male of every bond there is or was
}

// comparison is one pedigree with the average pair a mate is compared with.
type comparison struct {
	ped         *pedigree.Pedigree
	node        []int // of each bird of the snapshot
	living      *pedigree.Population
	pairs       int
	average     float64
	least, most float64 // gain of a pair
}

// alike reports whether all pairs gain the same.
func (c *comparison) alike() bool { return c.pairs > 1 && c.most-c.least < sameGain }

// sameGain is the difference below which two changes of gene diversity by a
// chick are one number; rounding makes no difference larger.
const sameGain = 1e-13

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
			r.dead[b] = []Reason{p.absent(b)}
		}
	}
	r.bonds = make(map[[2]string]bool, len(p.Book.Bonds))
	for _, bond := range p.Book.Bonds {
		r.bonds[[2]string{bond.Female, bond.Male}] = true
	}
	var err error
	if r.base, err = r.compare(ctx, comparison{ped: p.Pedigree, node: p.node, living: p.Living}); err != nil {
		return nil, err
	}
	if r.base.pairs == 0 {
		if r.related, err = r.relate(ctx); err != nil {
			return nil, err
		}
	}
	possible, err := p.possiblePedigree(ctx)
	if err != nil || !possible.Uncertain() {
		return r, err
	}
	node := make([]int, len(p.node))
	for b := range node {
		node[b], _ = possible.Index(p.Book.Birds[b].ID)
	}
	var living []int
	for _, b := range p.Book.Living {
		living = append(living, node[b])
	}
	r.samples = make([]comparison, o.Samples)
	err = inParallel(ctx, o.Samples, func(k int) error {
		ped := possible.Sample(o.Seed, k)
		var err error
		r.samples[k], err = r.compare(ctx, comparison{ped: ped, node: node, living: ped.Population(living)})
		return err
	})
	return r, err
}

// absent says why a bird is not among the living.
func (p *Programme) absent(b int) Reason {
	if death := p.Book.Birds[b].Death; death.Known() {
		return Reason{Code: Dead, Birds: p.birds(b), Date: death}
	}
	return Reason{Code: Gone, Birds: p.birds(b)}
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
func (r *Ranker) compare(ctx context.Context, c comparison) (comparison, error) {
	if len(r.females) == 0 || len(r.males) == 0 {
		return c, nil
	}
	females, males := nodesOf(r.females, c.node), nodesOf(r.males, c.node)
	sums := make([]float64, len(females))
	pairs := make([]int, len(females))
	least, most := make([]float64, len(females)), make([]float64, len(females))
	err := c.ped.KinshipRows(ctx, females, males, func(f int, row []float64) {
		least[f], most[f] = math.Inf(1), math.Inf(-1)
		for m, kinship := range row {
			if Within(kinship, r.limit) {
				gain := c.living.GainFromChick(females[f], males[m], kinship)
				sums[f] += gain
				pairs[f]++
				least[f], most[f] = min(least[f], gain), max(most[f], gain)
			}
		}
	})
	for f := range females {
		c.average += sums[f]
		c.pairs += pairs[f]
	}
	if c.pairs > 0 {
		c.average /= float64(c.pairs)
		c.least, c.most = slices.Min(least), slices.Max(most)
	}
	return c, err
}

func nodesOf(birds, node []int) []int {
	nodes := make([]int, len(birds))
	for k, b := range birds {
		nodes[k] = node[b]
	}
	return nodes
}

// rounding is the most by which a kinship may be off through rounding.
const rounding = 1e-12

// Within reports whether F, or a kinship, is within a limit, the limit itself
// included.
func Within(f, limit float64) bool { return f <= limit+rounding }

// A NoMateError is a bird for which no mate can be looked for: it is not among
// the living, or nobody knows its sex.
type NoMateError struct {
	Why Reason // Dead, Gone or SexUnknown
	On  studbook.Day
}

// Error says why.
func (e *NoMateError) Error() string {
	if e.Why.Code == SexUnknown {
		return "the sex of " + e.Why.Birds[0].ID + " is not known: have it sexed first, then ask for a mate"
	}
	return e.Why.Birds[0].ID + " is not among the living on " + e.On.String() + ", so it can have no mate"
}

// Rank ranks the mates for a living bird. The error is a *NoMateError, or
// ctx's.
func (r *Ranker) Rank(ctx context.Context, b int) (*Ranking, error) {
	p := r.p
	bird := &p.Book.Birds[b]
	if !p.Book.Alive(b) {
		return nil, &NoMateError{p.absent(b), p.Book.AsOf}
	}
	if bird.Sex == studbook.Unsexed {
		return nil, &NoMateError{Reason{Code: SexUnknown, Birds: p.birds(b)}, p.Book.AsOf}
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
	out.order(out.Candidates)
	for k := range out.Candidates {
		c := &out.Candidates[k]
		c.Rank = k + 1
		if k == 0 {
			c.BestIn = 1
		}
		if k < first {
			c.AmongFirstIn = 1
		}
	}
	if err := r.confide(ctx, out); err != nil {
		return nil, err
	}
	for k := range out.Candidates {
		if r.o.Explained > 0 && k == r.o.Explained {
			break
		}
		r.explain(out, &out.Candidates[k])
	}
	return out, nil
}

// ranking returns the ranking for b without its candidates.
func (r *Ranker) ranking(b int) *Ranking {
	out := &Ranking{
		Bird: b, id: r.p.Book.Birds[b].ID, Unfit: r.p.Unfit(b), Mates: r.p.Mates(b), AllAlike: r.base.alike(), Related: r.related,
		EligiblePairs: r.base.pairs, AverageGain: r.base.average,
		Uncertain: len(r.samples) > 0, Samples: len(r.samples), Seed: r.o.Seed, Limit: r.limit, Premise: r.o.Premise,
	}
	// A candidate makes an eligible pair with a fit bird, which is no other
	// pair than itself.
	out.Compared = r.others(len(out.Unfit) == 0)
	return out
}

// others reports whether any pair of the programme is eligible besides one that
// itself is or is not, so that comparing tells something.
func (r *Ranker) others(itself bool) bool {
	return (r.base.pairs > 1 || r.base.pairs == 1 && !itself) && !r.base.alike()
}

// Pair weighs one living pair, the male as a mate for the female, with the
// figures and the verdict that Rank gives it. It has no rank and no rank
// confidence. against holds what rules the pair out, of either bird; the
// verdict then is RuledOut. compared is that of Ranking.
func (r *Ranker) Pair(female, male int) (c Candidate, against []Reason, compared bool) {
	p := r.p
	out := r.ranking(female)
	kinship := p.Pedigree.Kinship(p.node[female], p.node[male])
	against = append(slices.Clone(out.Unfit), r.exclude(female, male, kinship)...)
	out.Compared = r.others(len(out.Unfit) == 0 && len(p.Unfit(male)) == 0 && Within(kinship, r.limit))
	c = r.candidate(female, male, kinship)
	r.weigh(&c, out)
	out.Uncertain = false // so that the reasons do not speak of a rank
	r.explain(out, &c)
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
		reasons = append(reasons, Reason{Code: SameSex, Birds: p.birds(m)})
	}
	reasons = append(reasons, p.Unfit(m)...)
	if !Within(kinship, r.limit) {
		reasons = append(reasons, Reason{Code: CloseKin, Birds: p.birds(m, b), Value: kinship, Other: r.limit})
	}
	if mates := p.Mates(m); len(mates) > 0 && !slices.Contains(mates, b) && !r.o.BreakBonds {
		reasons = append(reasons, Reason{Code: Bonded, Birds: p.birds(m, mates[0])})
	}
	if r.o.HomeOnly && mate.Location != bird.Location {
		reasons = append(reasons, Reason{Code: Elsewhere, Birds: p.birds(m), From: mate.Location})
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
	c.ExpectedChicks = p.SeasonChicks(c.Success, kinship, false)
	c.Doubts = p.Doubt(b, m)
	c.Age, c.AgePlusMinus, c.AgeKnown = p.Book.AgeYears(m)
	c.Distance, c.Placed = p.Distance(bird.Location, mate.Location)
	if mates := p.Mates(m); slices.Contains(mates, b) {
		c.BondedTo = bird.ID
	} else if len(mates) > 0 {
		c.BondedTo = p.Book.Birds[mates[0]].ID
	}
	c.KnownBond = r.bonds[[2]string{p.Book.Birds[female].ID, p.Book.Birds[male].ID}]
	return c
}

// Preferred reports whether F of a chick is as low as is preferred. No
// inbreeding at all is, whatever the setting.
func (p *Programme) Preferred(f float64) bool {
	return f == 0 || f < p.Settings().PreferInbreeding-rounding
}

// weigh compares the candidate with the average pair and judges it.
func (r *Ranker) weigh(c *Candidate, out *Ranking) {
	gain := c.GeneDiversityGain
	if out.Compared {
		c.Advantage = gain - r.base.average
		gain = c.Advantage
	}
	c.ExpectedGain = c.ExpectedChicks * gain
	c.Verdict = r.verdict(c, out)
}

func (r *Ranker) verdict(c *Candidate, out *Ranking) Verdict {
	switch {
	case out.Compared && c.Advantage <= 0:
		return NotAdvised
	case r.p.Preferred(c.OffspringInbreeding) && c.KnownAncestry >= trusted && len(c.Doubts) == 0:
		return Recommended
	}
	return Acceptable
}

// order sorts candidates by verdict, then by expected gain; see InOrder. Where
// a chick gains less than one of the average pair, and where there is nothing
// to compare with, the order is by what a chick gains: more chicks of a bad
// pair are no better, so a failing record must not lift it.
func (out *Ranking) order(candidates []Candidate) {
	class := map[Verdict]int{Recommended: 0, Acceptable: 1, NotAdvised: 2, RuledOut: 3}
	InOrder(candidates, func(c Candidate) int { return class[c.Verdict] }, func(c Candidate) float64 {
		if out.Compared && c.Verdict.Good() {
			return c.ExpectedGain
		}
		return c.GeneDiversityGain
	}, gentler(out.id))
}

// gentler compares mates for a bird by cost to the birds: no move before a
// move, free before bonded to another, known bond before new, nearer before
// farther; then by the chicks to expect, the most first, and id.
func gentler(bird string) func(a, b Candidate) int {
	no := func(yes bool) int {
		if yes {
			return 1
		}
		return 0
	}
	breaks := func(c Candidate) bool { return c.BondedTo != "" && c.BondedTo != bird }
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
			cmp.Compare(b.ExpectedChicks, a.ExpectedChicks),
			cmp.Compare(a.Bird, b.Bird), // the snapshot is by id
		)
	}
}

// first is how many mates count as the first ones.
const first = 3

// confide sets the shares of possible pedigrees in which a candidate is the
// best, and one of the first: the candidates are ranked anew in every one
// drawn, all in the same ones.
func (r *Ranker) confide(ctx context.Context, out *Ranking) error {
	if len(r.samples) == 0 {
		return nil
	}
	best := make([][]int, len(r.samples)) // the first, as their ranks in out less 1
	err := inParallel(ctx, len(r.samples), func(s int) error {
		best[s] = r.firstIn(&r.samples[s], out)
		return nil
	})
	if err != nil {
		return err
	}
	samples := float64(len(r.samples))
	wins, among := make([]int, len(out.Candidates)), make([]int, len(out.Candidates))
	for _, ranks := range best {
		for place, k := range ranks {
			if among[k]++; place == 0 {
				wins[k]++
			}
		}
	}
	for k := range out.Candidates {
		out.Candidates[k].BestIn, out.Candidates[k].AmongFirstIn = float64(wins[k])/samples, float64(among[k])/samples
	}
	return nil
}

// firstIn returns which candidates are the first in a sampled pedigree, as
// their ranks less 1. A candidate that is too close kin there comes last.
func (r *Ranker) firstIn(s *comparison, out *Ranking) []int {
	b := s.node[out.Bird]
	kinships := s.ped.Kinships(b)
	again := slices.Clone(out.Candidates)
	sampled := *out
	sampled.Compared = out.Compared && s.pairs > 0
	for k := range again {
		c := &again[k]
		m := s.node[c.Bird]
		c.OffspringInbreeding = kinships[m]
		c.GeneDiversityGain = s.living.GainFromChick(b, m, kinships[m])
		c.ExpectedChicks = r.p.SeasonChicks(c.Success, kinships[m], false)
		c.Advantage = c.GeneDiversityGain - s.average
		c.ExpectedGain = c.ExpectedChicks * c.Advantage
		if c.Verdict = r.verdict(c, &sampled); !Within(kinships[m], r.limit) {
			c.Verdict = RuledOut
		}
	}
	sampled.order(again)
	var ranks []int
	for k := range min(first, len(again)) {
		ranks = append(ranks, again[k].Rank-1)
	}
	return ranks
}
