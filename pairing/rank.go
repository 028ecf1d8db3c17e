package pairing

import (
	"cmp"
	"context"
	"iter"
	"math"
	"slices"
	"sync"

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

// Settled reports whether two birds stay together that would not be advised as a new
// pair: the verdict weighs them as if both were free, and says nothing of their bond or
// of the chicks that a plan lets them hatch.
func (c *Candidate) Settled() bool { return c.Kept && c.Verdict == NotAdvised }

// trusted is the share of known ancestry from which a mate can be recommended
// (common practice, no source).
const trusted = 0.5

// Options say which mates are wanted. The zero value asks for all free birds.
type Options struct {
	HomeOnly   bool
	BreakBonds bool // birds that are bonded elsewhere count too, as if every bond might be parted

	// Samples is how many possible pedigrees the confidence of ranks is
	// drawn from where parents are uncertain; 0 for DefaultSamples, below 0 for
	// none, where nobody asks for confidences.
	Samples int
	Seed    uint64

	// Explained is how many of the best mates get their reasons, for lists of
	// many birds with the best of each; 0 for all. No more than Shown.
	Explained int

	// Shown is how many candidates of Ranking.Shown are kept, for the same lists, and
	// where there is one nobody who is ruled out: in a large programme the others fill
	// memory. 0 for all.
	Shown int
}

// DefaultSamples is the number of possible pedigrees drawn by default.
const DefaultSamples = 200

// Candidate is one possible mate with everything its rank is made of.
type Candidate struct {
	Rank    int
	Bird    int // in the snapshot
	Verdict Verdict
	Choice       // what the decision makes of the pair
	Decided bool // the season's decision pairs the two, or keeps them together
	Kept    bool // the two are bonded, and the decision keeps them together

	OffspringInbreeding     float64 // F of a chick: the kinship of the two
	MeanKinship             float64 // of the mate, with the whole programme
	MeanKinshipDifference   float64 // of the two birds, without sign
	GeneDiversityGain       float64 // exact change by one chick of the pair, all living birds alike
	Success                 Success
	SurvivalUnderInbreeding float64 // exp(−B·F)
	// BestIn and AmongFirstIn are the shares of possible pedigrees in which it
	// is the best mate, and one of the first three.
	BestIn, AmongFirstIn float64
	Kin                  KinInWords // of those that get their reasons or are shown
	doubtful             bool       // whether the two may be closer kin; see Programme.Doubt

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
	// Standing comes before all else: a bird that cannot breed in the season
	// has no candidates.
	Standing Standing
	Bond     *Bond     // that the decision has it in; nil if it is to be alone
	Alone    Reason    // why, if it is
	Beside   []Reason  // what else is to be known of it then; see Decision.Beside
	Young    *Young    // where it should be in the years ahead, of a young bird
	Mates    []int     // its present mates
	Parting  *Obstacle // of a bird whose bond stands in the way; nil of others
	Unkept   []Unkept  // what was agreed on it in vain

	AllAlike      bool // a chick of any eligible pair would gain the same, or there is one pair alone
	EligiblePairs int  // pairs of the programme that may breed, bonds aside

	Candidates []Candidate // best first
	RuledOut   []Excluded  // the living ones, by id; see Programme.AllRuledOut and Options.Shown
	InAll      int         // candidates that there are, whether they are kept or not

	Uncertain bool // parents are uncertain or unknown, so other pedigrees are possible
	Anew      bool // how sure the ranks are comes from the decision taken anew in each of them
	Samples   int
	Seed      uint64
	Limit     float64  // F from which on a pair is ruled out
	LeastGain float64  // what a pair must gain to be worth a move
	Related   *Related // where no pair of the programme is within the limit
}

// Ranker ranks mates for any bird of a programme as its decision has them. What
// all birds share, the possible pedigrees among it, it computes once.
type Ranker struct {
	p       *Programme
	d       *Decision
	o       Options
	females []int
	males   []int
	drawn   *possibilities
	related *Related  // where no pair is within the limit
	known   []float64 // known ancestry by node
}

// sameGain is the difference below which two changes of gene diversity by a
// chick are one number; rounding makes no difference larger.
const sameGain = 1e-13

// NewRanker prepares to rank mates by a decision.
func NewRanker(ctx context.Context, d *Decision, o Options) (*Ranker, error) {
	if o.Samples == 0 {
		o.Samples = DefaultSamples
	}
	p := d.p
	r := &Ranker{p: p, d: d, o: o, females: d.m.females, males: d.m.males, drawn: &possibilities{}}
	r.known = p.KnownAncestry()
	var err error
	if d.m.eligible == 0 {
		if r.related, err = r.relate(ctx); err != nil {
			return nil, err
		}
	}
	if o.Samples < 0 {
		return r, nil
	}
	if r.drawn.from, r.drawn.node, err = p.possiblePedigrees(); err == nil && r.drawn.from.Uncertain() {
		r.drawn.of = o.Samples
	}
	return r, err
}

// Asked returns the ranker for other questions of the same seed and number of
// samples, or of none: what it computed once serves them too.
func (r *Ranker) Asked(o Options) *Ranker {
	if o.Samples == 0 {
		o.Samples = DefaultSamples
	}
	other := *r
	other.o = o
	switch {
	case o.Samples < 0:
		other.drawn = &possibilities{}
	case o.Samples != r.o.Samples || o.Seed != r.o.Seed:
		panic("pairing: possible pedigrees of another seed, or another number of them")
	}
	return &other
}

// AllRuledOut returns who is ruled out by a ranking, by id, the birds that died or
// left among them; nobody where the bird cannot breed in the season.
func (p *Programme) AllRuledOut(r *Ranking) iter.Seq[Excluded] {
	return func(yield func(Excluded) bool) {
		if !r.Standing.State.MayBreed() {
			return
		}
		living := r.RuledOut
		for m := range p.Book.Birds {
			var x Excluded
			switch {
			case p.Book.Alive(m):
				if len(living) == 0 || living[0].Bird != m {
					continue
				}
				x, living = living[0], living[1:]
			case !p.Book.Birds[m].Recorded:
				continue
			default:
				x = Excluded{m, []Reason{p.Absent(m)}}
			}
			if !yield(x) {
				return
			}
		}
	}
}

// Absent says why a bird is not among the living.
func (p *Programme) Absent(b int) Reason {
	if death := p.Book.Birds[b].Death; death.Known() {
		return Reason{Code: Dead, Birds: p.birds(b), Date: death}
	}
	return Reason{Code: Gone, Birds: p.birds(b)}
}

// A NoMateError is a bird for which no mate can be looked for: it is not among
// the living.
type NoMateError struct {
	Why Reason // Dead or Gone
	On  studbook.Day
}

// Error says why.
func (e *NoMateError) Error() string {
	return e.Why.Birds[0].ID + " is not among the living on " + e.On.String() + ", so it can have no mate"
}

// Rank ranks the mates for a living bird: first the mate that the decision gives
// it or leaves it with, then by verdict and net gain. A bird that cannot breed in
// the season has its state for an answer. The error is a *NoMateError, or ctx's.
func (r *Ranker) Rank(ctx context.Context, b int) (*Ranking, error) {
	all, err := r.RankAll(ctx, []int{b})
	if err != nil {
		return nil, err
	}
	return all[0], nil
}

// RankAll ranks the mates of several birds, in a large programme faster than one after the
// other. The error is that of the first bird that has one.
func (r *Ranker) RankAll(ctx context.Context, birds []int) ([]*Ranking, error) {
	all := make([]*Ranking, len(birds))
	err := inParallel(ctx, len(birds), func(k int) (err error) {
		all[k], err = r.rank(ctx, birds[k])
		return err
	})
	if err != nil {
		return nil, err
	}
	var values []float64
	for _, out := range all {
		for _, c := range out.Candidates {
			values = append(values, c.Value)
		}
	}
	ahead := r.d.m.aheadOfEach(values)
	for _, out := range all {
		for k := range out.Candidates {
			out.Candidates[k].Rating, ahead = ahead[0], ahead[1:]
		}
	}
	return all, inParallel(ctx, len(all), func(n int) error {
		out := all[n]
		for k := range out.Candidates {
			c := &out.Candidates[k]
			if r.o.Explained == 0 || k < r.o.Explained {
				r.explain(out, c)
			} else if r.o.Shown > 0 {
				r.nameKin(out, c)
			}
		}
		return nil
	})
}

// rank is Rank without how many pairs a candidate is ahead of, and without reasons.
func (r *Ranker) rank(ctx context.Context, b int) (*Ranking, error) {
	p := r.p
	if !p.Book.Alive(b) {
		return nil, &NoMateError{p.Absent(b), p.Book.AsOf}
	}
	out := &Ranking{
		Bird: b, Standing: p.State(b), Mates: p.Mates(b), Unkept: r.d.UnkeptOf(b), AllAlike: r.d.m.alike, Related: r.related,
		EligiblePairs: r.d.m.eligible, Uncertain: r.drawn.of > 0, Samples: r.drawn.of, Seed: r.o.Seed, Limit: r.d.limit, LeastGain: r.d.LeastGain,
	}
	mate := -1
	if x, ok := r.d.BondOf(b); ok {
		var err error
		if x.UndoneBy, err = r.d.UndoneBy(ctx, &x); err != nil {
			return nil, err
		}
		out.Bond = &x
		mate, _ = r.d.MateOf(b)
		parting, is, err := r.d.InTheWay(ctx, b)
		if err != nil {
			return nil, err
		}
		if is {
			out.Parting = &parting
		}
	} else {
		out.Alone = r.d.WhyAlone(b)
		var err error
		if out.Beside, err = r.d.Beside(ctx, b); err != nil {
			return nil, err
		}
	}
	if out.Standing.State == StateYoung {
		young, err := r.d.Young(ctx)
		if err != nil {
			return nil, err
		}
		if k := slices.IndexFunc(young, func(y Young) bool { return y.Bird == b }); k >= 0 {
			out.Young = &young[k]
		}
	}
	if !out.Standing.State.MayBreed() {
		return out, nil
	}
	choices, err := r.d.allUnplaced(ctx, b, r.o.BreakBonds)
	if err != nil {
		return nil, err
	}
	kinships := p.Pedigree.Kinships(p.node[b])
	memory := candidateMemory.Get().(*[2][]Candidate)
	defer candidateMemory.Put(memory)
	candidates, chosen := memory[0][:0], map[int]bool{}
	for _, x := range choices {
		if r.o.HomeOnly && x.Move {
			continue
		}
		chosen[x.Mate] = true
		candidates = append(candidates, r.candidate(b, x, kinships[p.node[x.Mate]], x.Mate == mate))
	}
	out.RuledOut = []Excluded{}
	for _, m := range p.Book.Living {
		if m == b || chosen[m] || r.o.Shown > 0 && len(candidates) > 0 {
			continue
		}
		if reasons := r.exclude(b, m, kinships[p.node[m]]); len(reasons) > 0 {
			out.RuledOut = append(out.RuledOut, Excluded{m, reasons})
		}
	}
	var in []Candidate
	if r.o.Shown > 0 { // most are soon forgotten
		in = memory[1][:0]
	}
	out.Candidates = out.ordered(p, candidates, in)
	if memory[0] = candidates; r.o.Shown > 0 {
		memory[1] = out.Candidates
	}
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
	if out.InAll = len(out.Candidates); r.o.Shown > 0 {
		out.Candidates = slices.Clip(out.Shown(r.o.Shown))
	}
	return out, nil
}

// Shown returns the first candidates of a ranking, and after them the free birds
// at home, whatever their rank.
func (out *Ranking) Shown(top int) []Candidate {
	n := min(top, len(out.Candidates))
	shown := slices.Clone(out.Candidates[:n])
	for _, c := range out.Candidates[n:] {
		if !c.NeedsTransfer && c.BondedTo == "" {
			shown = append(shown, c)
		}
	}
	return shown
}

// Weigh returns what two birds that may breed would do as a new pair, with the
// figures and the verdict that Rank gives them, and without rank, confidence and
// reasons; ok is false where they are no choice for each other.
func (r *Ranker) Weigh(b, m int) (c Candidate, ok bool) {
	x, ok := r.d.unplacedMate(b, m)
	if !ok {
		return c, false
	}
	bond, paired := r.d.BondOf(b)
	paired = paired && bond.Mate(b) == m
	if x.Rating = bond.Rating; !paired || bond.Value != x.Value { // else it is known without a list of all
		x.Rating = r.d.m.aheadOf(x.Value)
	}
	return r.candidate(b, x, r.p.Pedigree.Kinship(r.p.node[b], r.p.node[m]), paired), true
}

// Decision returns the decision that the mates are ranked by.
func (r *Ranker) Decision() *Decision { return r.d }

// exclude returns every reason why a living bird m is out of the question for b.
func (r *Ranker) exclude(b, m int, kinship float64) []Reason {
	p := r.p
	bird, mate := &p.Book.Birds[b], &p.Book.Birds[m]
	var reasons []Reason
	if mate.Sex == bird.Sex {
		reasons = append(reasons, Reason{Code: SameSex, Birds: p.birds(m)})
	}
	if !p.State(m).State.MayBreed() {
		reasons = append(reasons, p.StateReason(m))
	}
	if TooClose(kinship, r.d.limit) {
		reasons = append(reasons, Reason{Code: CloseKin, Birds: p.birds(m, b), Value: kinship, Other: r.d.limit})
	}
	if why, are := p.KinByDNA(m, b); are {
		reasons = append(reasons, why)
	}
	if mates := p.Mates(m); len(mates) > 0 && !slices.Contains(mates, b) && !r.o.BreakBonds {
		reasons = append(reasons, Reason{Code: Bonded, Birds: p.birds(m, mates[0])})
	}
	if w, no := r.d.DeclinedPair(b, m); no {
		reasons = append(reasons, w.Reason(p))
	}
	if other, ok := r.d.rulings.mate[m]; ok && other != b && !r.o.BreakBonds {
		reasons = append(reasons, Reason{Code: Promised, Birds: p.birds(m, other)})
	}
	if r.o.HomeOnly && mate.Location != bird.Location {
		reasons = append(reasons, Reason{Code: Elsewhere, Birds: p.birds(m), From: mate.Location})
	}
	return reasons
}

// candidate gathers what there is to say of a choice, and judges it.
func (r *Ranker) candidate(b int, x Choice, kinship float64, decided bool) Candidate {
	p := r.p
	m := x.Mate
	bird, mate := &p.Book.Birds[b], &p.Book.Birds[m]
	mk := p.Living.MeanKinshipOf(p.node[m])
	c := Candidate{
		Bird: m, Choice: x, Decided: decided,
		OffspringInbreeding:     kinship,
		MeanKinship:             mk,
		MeanKinshipDifference:   math.Abs(mk - p.Living.MeanKinshipOf(p.node[b])),
		GeneDiversityGain:       p.Living.GainFromChick(p.node[b], p.node[m], kinship),
		SurvivalUnderInbreeding: math.Exp(-p.Settings().LethalEquivalents * kinship),
		NeedsTransfer:           mate.Location != bird.Location,
		KnownAncestry:           r.known[p.node[m]],
	}
	pair := r.d.pairOf(b, m)
	c.Success = p.Success(pair[0], pair[1])
	c.doubtful = p.doubtful(b, m)
	c.Age, c.AgePlusMinus, c.AgeKnown = p.Book.AgeYears(m)
	c.Distance, c.Placed = p.Distance(bird.Location, mate.Location)
	if mates := p.Mates(m); slices.Contains(mates, b) {
		c.BondedTo = bird.ID
	} else if len(mates) > 0 {
		c.BondedTo = p.Book.Birds[mates[0]].ID
	}
	c.Kept = decided && c.BondedTo == bird.ID
	c.KnownBond = p.wereBonded(pair[0], pair[1])
	c.Verdict = r.verdict(&c)
	return c
}

// verdict judges a candidate by its net gain, F, what is known of its ancestry,
// and doubt about parents. The pair of the decision gains nothing where another bird
// would do as well as this one: that speaks against neither.
func (r *Ranker) verdict(c *Candidate) Verdict {
	asWell := c.Decided && c.Value > 0 && c.NetGain > -sameGain
	switch {
	case c.NetGain <= 0 && !asWell:
		return NotAdvised
	case r.p.Preferred(c.OffspringInbreeding) && c.KnownAncestry >= trusted && !c.doubtful:
		return Recommended
	}
	return Acceptable
}

// candidateMemory is where the candidates for a bird are gathered, and those of which
// few are kept are put in order: they are large.
var candidateMemory = sync.Pool{New: func() any { return new([2][]Candidate) }}

// ordered appends candidates in their order to a list.
func (out *Ranking) ordered(p *Programme, candidates, in []Candidate) []Candidate {
	sorted := make([]placed, len(candidates))
	for k := range candidates {
		c := &candidates[k]
		class, gain := out.place(p, c)
		sorted[k] = placed{c, class, gain}
	}
	InOrder(sorted, placed.ofClass, placed.ofGain, gentler(p.Book.Birds[out.Bird].ID))
	in = slices.Grow(in, len(candidates))
	for _, x := range sorted {
		in = append(in, *x.Candidate)
	}
	return in
}

// placed is a candidate with what places it: its class, the lowest first, and within
// a class its gain, the largest first.
type placed struct {
	*Candidate
	class int
	gain  float64
}

func (x placed) ofClass() int    { return x.class }
func (x placed) ofGain() float64 { return x.gain }

// classes are the verdicts in their order. An acceptable pair whose chick would have more
// than the preferred F comes after all other acceptable ones.
var classes = map[Verdict]int{Recommended: 2, Acceptable: 3, NotAdvised: 5, RuledOut: 6}

const acceptableAbovePreferred = 4

// place places a candidate: the bird's own mate, then the one that the decision
// gives it, then by verdict, those whose chick has less than the preferred F
// before others, and by net gain; see InOrder. Where a pair is not advised the
// order is by what a chick gains: more chicks of a bad pair are no better, so a
// failing record must not lift it.
func (out *Ranking) place(p *Programme, c *Candidate) (class int, gain float64) {
	class, gain = classes[c.Verdict], c.Advantage
	switch {
	case c.BondedTo == p.Book.Birds[out.Bird].ID:
		class = 0
	case c.Decided:
		class = 1
	case c.Verdict == Acceptable && !p.Preferred(c.OffspringInbreeding):
		class = acceptableAbovePreferred
	}
	if c.Verdict.Good() {
		gain = c.NetGain
	}
	return class, gain
}

// compareBool puts what is not so before what is.
func compareBool(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
}

// gentler compares mates for a bird by cost to the birds: no move before a
// move, free before bonded to another, known bond before new, nearer before
// farther; then by the chicks to expect, the most first, and id.
func gentler(bird string) func(a, b placed) int {
	breaks := func(c placed) bool { return c.BondedTo != "" && c.BondedTo != bird }
	far := func(c placed) float64 {
		if c.Placed {
			return c.Distance
		}
		return math.Inf(1)
	}
	return func(a, b placed) int {
		return cmp.Or(
			compareBool(a.NeedsTransfer, b.NeedsTransfer),
			compareBool(breaks(a), breaks(b)),
			-compareBool(a.KnownBond, b.KnownBond),
			cmp.Compare(far(a), far(b)),
			cmp.Compare(b.Chicks, a.Chicks),
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
	if len(out.Candidates) == 0 {
		return nil
	}
	drawn, err := r.samples(ctx)
	if err != nil || len(drawn) == 0 {
		return err
	}
	best := make([][]int, len(drawn)) // the first, as their ranks in out less 1
	weigh := r.weighAsDecided(out)
	if out.Anew = r.mayDecideAnew(out); out.Anew {
		if weigh, err = r.weighAnew(ctx, drawn, out); err != nil {
			return err
		}
	}
	err = inParallel(ctx, len(drawn), func(s int) error {
		best[s] = r.firstIn(out, weigh(&drawn[s]))
		return nil
	})
	if err != nil {
		return err
	}
	samples := float64(len(drawn))
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

// weighing weighs a candidate of a ranking, by its rank less 1, in a possible pedigree: its
// F, what a chick gains, and what the pair gains with every move charged alike.
type weighing func(k int, c *Candidate)

// weighAsDecided weighs candidates without taking the decision anew. The value of the pair
// itself is worked out anew in the possible pedigree, and of what the others lose without
// the mate only the part that depends on that bird alone: the more kin it has there, the
// less it would be worth to the mate that it would have otherwise.
func (r *Ranker) weighAsDecided(out *Ranking) func(s *possibility) weighing {
	m := r.d.m
	chicks := make([]float64, len(out.Candidates)) // of the candidate with the mate that it would have otherwise
	for k := range out.Candidates {
		c := &out.Candidates[k]
		if c.Otherwise < 0 {
			continue
		}
		pair := r.d.pairOf(c.Bird, c.Otherwise)
		chicks[k] = m.chicksAhead(m.pair(m.number[pair[0]], m.number[pair[1]]), !slices.Contains(r.p.Mates(c.Bird), c.Otherwise))
	}
	side, usual, lethal := 0, r.p.worths().sums, r.p.Settings().LethalEquivalents // side of the mates
	if r.p.Book.Birds[out.Bird].Sex == studbook.Female {
		side = 1
	}
	return func(s *possibility) weighing {
		b := s.number[out.Bird]
		kinship := s.kinshipsOf(b)
		return func(k int, c *Candidate) {
			mate := s.number[c.Bird]
			f := kinship(mate)
			lost := c.Value - c.Charge - c.NetGain
			fixed := c.ChicksAhead*(c.Advantage-c.BondTakes*bondPrice*m.unit) - c.Value
			c.ChicksAhead *= math.Exp(lethal * (c.OffspringInbreeding - f))
			c.OffspringInbreeding = f
			if !out.AllAlike {
				c.Advantage = s.gainFromChick(b, mate, f) - s.average
				more := s.sums[mate] - s.means[side] - (usual[r.p.node[c.Bird]] - r.drawn.means[side])
				lost -= chicks[k] * more * m.unit
			}
			if c.Value = c.ChicksAhead*(c.Advantage-c.BondTakes*bondPrice*m.unit) - fixed; !c.Open {
				c.Charge = max(0, c.Value)
			}
			if c.NetGain = c.Value - c.Charge - lost; c.Move && c.Open && !c.Charged {
				c.NetGain -= r.d.LeastGain
			}
		}
	}
}

// firstIn returns which candidates come first in a possible pedigree, as their ranks less
// 1, going by the figures alone. A candidate that is too close kin there comes last.
func (r *Ranker) firstIn(out *Ranking, weigh weighing) []int {
	again := make([]placed, len(out.Candidates))
	var c Candidate // there
	for k := range out.Candidates {
		c = out.Candidates[k]
		weigh(k, &c)
		c.Decided = false
		if c.Verdict = r.verdict(&c); TooClose(c.OffspringInbreeding, r.d.limit) {
			c.Verdict = RuledOut
		}
		class, gain := out.place(r.p, &c)
		again[k] = placed{&out.Candidates[k], class, gain} // what is gentler to the birds is the same
	}
	var ranks []int
	// Only a mate that gains clearly more comes before the one decided on.
	easier := gentler(r.p.Book.Birds[out.Bird].ID)
	asDecided := func(a, b placed) int { return cmp.Or(-compareBool(a.Decided, b.Decided), easier(a, b)) }
	for _, c := range foremost(again, first, placed.ofClass, placed.ofGain, asDecided) {
		ranks = append(ranks, c.Rank-1)
	}
	return ranks
}
