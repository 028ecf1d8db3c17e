package review

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"github.com/sourcegraph/conc"

	"pairwright/pairing"
	"pairwright/pairing/transfer"
	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// Options say what is reviewed.
type Options struct {
	Colony string        // code of the institution; "" where the studbook has no locations
	Since  studbook.Day  // day of the last review; 0 is a year before the programme's day
	Drop   pedigree.Drop // for founders and genome uniqueness
	Rank   pairing.Options
	// Ranker gives the ranker that ranks so, where the season's decision may have been
	// taken already; nil to take it.
	Ranker func(context.Context) (*pairing.Ranker, error)
	Runs   *int // of the short forecast, 2 or more; 0 for none, nil for as many as the birds allow
}

// Genetics are the figures of a gene pool with those that take a gene drop.
type Genetics struct {
	Figures
	GenomesSurviving pedigree.Estimate // Σ retention, in founder genomes
}

// Review is the yearly account of a colony in its programme.
type Review struct {
	Programme *pairing.Programme
	Colony    string // its code
	// Whole is true if the colony is the whole programme: its figures are
	// then the same.
	Whole bool
	Since studbook.Day
	Drop  pedigree.Drop // as run

	ProgrammeGenetics, ColonyGenetics Genetics

	Glances []Glance
	Numbers *Numbers
	History []Year
	Outlook *Outlook
	Forward *Forward // nil where it cannot be had: see newForward
	Change  *Change

	Founders     []Founder
	FoundersLost int // founders, unknown parents too, without any gene left
	// Unrelated is set if kinships of founders are known: the gene drop then
	// takes them as unrelated all the same.
	Unrelated bool

	Birds    []BirdReview // of the colony, the lowest mean kinship first
	Pairs    []PairReview
	Unpaired []Unpaired

	// Plan is the season's decision for the colony, with the chicks of
	// pairing.Programme.ChicksNeeded; PlanWhy says why so many.
	Plan    *pairing.Plan
	PlanWhy pairing.NeedReason
	// Decisions are what follows from all of it, the most consequential first, at
	// most decisionsMost; LeftOut counts by kind what there is no line for.
	Decisions []Decided
	LeftOut   []LeftOut
	// LastYear is what was advised on the day of the last review and what became
	// of it; nil where the colony had no bird then.
	LastYear *LastYear

	// Transfers are the decision's moves from and to the colony; nil where birds
	// live in one place only.
	Transfers *transfer.List

	// Kinship is the kinship of every two of the Birds, in their order; nil
	// where they are more than kinshipMost.
	Kinship [][]float64

	Inbred    []Inbred // of the colony, most inbred first, at most inbredListed
	InbredAll int      // how many there are in all

	Gaps []pairing.Gap
	All  []pairing.Row // every living bird of the programme, by id
}

// New reviews a colony on the day of its programme. The error is a Since that
// is not before that day, or ctx's.
func New(ctx context.Context, p *pairing.Programme, o Options) (*Review, error) {
	r := &Review{Programme: p, Colony: o.Colony, Since: o.Since}
	if r.Since == 0 {
		r.Since = yearBefore(p.Book.AsOf)
	}
	if r.Since >= p.Book.AsOf {
		return nil, fmt.Errorf("the last review, %s, is not before the day of this one, %s", r.Since, p.Book.AsOf)
	}
	colony := p.Population(p.Book.LivingAt(r.Colony))
	r.Whole = colony.Size() == p.Living.Size()
	then, err := p.Earlier(ctx, r.Since)
	if err != nil {
		return nil, err
	}
	// The decisions leave a core alone for much of their time, and none rests on another.
	var drop *pedigree.DropResult
	var advice *Advice
	var ranker *pairing.Ranker
	if err := together(
		func() (err error) { drop, err = r.measure(ctx, colony, o); return err },
		func() (err error) { advice, err = AdviceOf(ctx, p, then, r.Colony); return err },
		func() (err error) { ranker, err = o.ranker(ctx, p); return err },
	); err != nil {
		return nil, err
	}
	if advice != nil {
		r.LastYear = NewLastYear(p, advice)
		r.LastYear.Deaths = NewDeaths(p, then)
	}
	decision := ranker.Decision()
	r.All = p.RowsFrom(drop, false)
	var rows []pairing.Row
	for _, row := range r.All {
		if p.Book.Birds[row.Bird].Location == r.Colony {
			rows = append(rows, row)
		}
	}
	plan := pairing.PlanOptions{Place: r.Colony}
	plan.Chicks, r.PlanWhy = p.ChicksNeeded(r.Colony, false)
	if err := together(
		func() (err error) { r.Plan, err = decision.Plan(ctx, plan); return err },
		func() (err error) { r.Unpaired, err = rankUnpaired(ctx, p, ranker, r.Colony); return err },
		func() error { r.Gaps = p.Gaps(); r.Inbred, r.InbredAll = inbred(p, rows); return nil },
	); err != nil {
		return nil, err
	}
	if !r.Whole {
		if r.Transfers, err = transfer.Moves(ctx, p, decision, r.Colony); err != nil {
			return nil, err
		}
	}
	r.Pairs = Pairs(p, r.Plan)
	r.Birds = reviewBirds(p, rows, decision, r.Plan, r.Pairs)
	if r.Kinship, err = kinship(ctx, p, r.Birds); err != nil {
		return nil, err
	}
	r.Glances = r.atAGlance(then).judged(p)
	r.Decisions, r.LeftOut = r.decisions()
	return r, ctx.Err()
}

// together does several things at the same time and returns the error of the first of
// them that has one.
func together(all ...func() error) error {
	errs := make([]error, len(all))
	var wg conc.WaitGroup
	for k, do := range all {
		wg.Go(func() { errs[k] = do() })
	}
	wg.Wait()
	return cmp.Or(errs...)
}

// measure fills in the figures that rest on no decision, and returns the gene drop of
// the programme.
func (r *Review) measure(ctx context.Context, colony *pedigree.Population, o Options) (*pedigree.DropResult, error) {
	p := r.Programme
	drop, err := p.Living.GeneDrop(ctx, o.Drop)
	if err != nil {
		return nil, err
	}
	colonyDrop := drop
	if !r.Whole {
		if colonyDrop, err = colony.GeneDrop(ctx, o.Drop); err != nil {
			return nil, err
		}
	}
	r.Drop, r.Unrelated = drop.Drop, drop.FoundersTakenUnrelated
	x := newPool(p)
	r.ProgrammeGenetics = Genetics{x.measure(p.Living), drop.GenomesSurviving}
	r.ColonyGenetics = Genetics{x.measure(colony), colonyDrop.GenomesSurviving}

	census := p.Census()
	r.Numbers = NewNumbers(p, census, r.Colony, r.Since)
	r.History = History(p, census, r.Colony)
	r.Outlook = NewOutlook(p, census, r.History)
	if r.Forward, err = newForward(ctx, p, o.Runs, o.Rank.Seed); err != nil {
		return nil, err
	}
	r.Change = NewChange(p, census, r.Colony, r.Since)
	r.Founders, r.FoundersLost = founders(p, colony, drop)
	return drop, nil
}

// ranker returns the ranker of the options.
func (o *Options) ranker(ctx context.Context, p *pairing.Programme) (*pairing.Ranker, error) {
	if o.Ranker != nil {
		return o.Ranker(ctx)
	}
	decision, err := p.Decide(ctx, pairing.DecisionOptions{})
	if err != nil {
		return nil, err
	}
	return pairing.NewRanker(ctx, decision, o.Rank)
}

// kinshipMost is the number of birds up to which all kinships are given: more
// are no table that anybody reads.
const kinshipMost = 200

// kinship returns the kinship of every two of the birds.
func kinship(ctx context.Context, p *pairing.Programme, birds []BirdReview) ([][]float64, error) {
	if len(birds) == 0 || len(birds) > kinshipMost {
		return nil, nil
	}
	nodes := make([]int, len(birds))
	for k := range birds {
		nodes[k] = p.Node(birds[k].Bird)
	}
	out := make([][]float64, len(nodes))
	err := p.Pedigree.KinshipRows(ctx, nodes, nodes, func(k int, row []float64) { out[k] = slices.Clone(row) })
	return out, err
}

// yearBefore returns the same date a year earlier, 28 February for the 29th.
func yearBefore(day studbook.Day) studbook.Day {
	t := day.Time()
	year, month, d := t.Year()-1, t.Month(), t.Day()
	if month == 2 && d == 29 {
		d = 28
	}
	return studbook.DayOf(year, month, d)
}
