package question

import (
	"context"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
	yearly "pairwright/pairing/review"
	"pairwright/pedigree/studbook"
)

var reviewQuestion = &Question{
	Name: "review", About: Decide,
	Short: "Write the yearly review of the colony: its gene pool, its numbers, what to do next",
	Long: `Writes the yearly review of a colony within its programme: each figure with last
review's and the goal, the year in numbers, gene diversity since the first
founders and what changed it, founders, what to do with each bird and pair by
the season's decision, the best mates of birds without one, inbreeding and gaps
in parentage. First stands what is to be decided, by when and why.`,
	Workbook: true, colony: true, random: true,
	uses: states,
	new:  func() ask { return &review{} },
}

type review struct {
	since studbook.Day
	runs  *int
}

func (q *review) settings() []Setting {
	return []Setting{
		{Key: "since", Takes: "DATE", value: day(&q.since), Help: "the day of the last review (default: a year before --as-of)"},
		{Key: "runs", Takes: "N", value: perhaps(&q.runs, 0), Help: "how many runs to make of each policy in its short forecast, 0 for no forecast (default: from 4 to 40, the fewer the more birds)"},
	}
}

func (q *review) check(*Asked) error {
	switch {
	case q.runs == nil:
		return nil
	case *q.runs == 1:
		return Usagef("one run tells nothing of how sure a forecast is: make 2 runs at least, or 0 for no forecast")
	case *q.runs > mostRuns:
		return tooManyRuns(*q.runs)
	}
	return nil
}

func (q *review) answer(ctx context.Context, a *Asked, f *Folder) (*Answer, error) {
	p, err := f.programme(ctx, a)
	if err != nil {
		return nil, err
	}
	place, err := p.Colony(a.Colony)
	if err != nil {
		return nil, err
	}
	if q.since >= p.Book.AsOf {
		return nil, Usagef("since %s: the last review must be before the day of this one, %s", q.since, p.Book.AsOf)
	}
	rank := pairing.Options{Seed: a.Seed, Explained: bestShown, Shown: bestShown}
	ranker := func(ctx context.Context) (*pairing.Ranker, error) { return f.ranker(ctx, a, rank) }
	r, err := yearly.New(ctx, p, yearly.Options{Colony: place, Since: q.since, Drop: a.drop(), Runs: q.runs, Rank: rank, Ranker: ranker})
	if err != nil {
		return nil, err
	}
	return &Answer{
		schema: "pairwright/review 2", value: func() any { return contract.ReviewJSON(r) }, Own: report.PlanWarnings(p, r.Plan),
		build: func() *document.Document { return report.ReviewDocument(r) },
	}, nil
}
