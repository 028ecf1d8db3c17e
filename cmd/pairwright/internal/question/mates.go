package question

import (
	"context"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
)

var matesQuestion = &Question{
	Name: "mates", About: Decide,
	Short: "Rank the mates for a bird, at home and in the network",
	Long: `Says which mate the season's decision for the whole programme has for a bird,
and ranks all mates by net gain: what the programme gains by the pair, less what
the mate would do otherwise; why, and who is ruled out and why. Free birds at
home are always listed. Without an ID it lists every free bird of the colony
with its best three mates.`,
	Birds: []string{"bird"}, Usage: "[ID]",
	Rows: "a row for each mate", colony: true, random: true,
	uses:     states,
	living:   true,
	byFormat: true,
	new:      func() ask { return &mates{} },
}

// bestShown is how many mates each free bird is shown with.
const bestShown = 3

type mates struct {
	within string
	breaks bool
	limit  *float64
	top    int
}

func (q *mates) settings() []Setting {
	return []Setting{
		{Key: "within", Takes: "WHERE", Default: "network", Words: []string{"home", "network"}, value: text(&q.within),
			Help: "where to look: home, the bird's own place, or network, everywhere"},
		{Key: "break-bonds", value: yes(&q.breaks), Help: "rank birds that are bonded to others too, as if every bond might be parted"},
		limitInbreeding(&q.limit),
		{Key: "top", Takes: "N", Default: "10", value: whole(&q.top, 1), Help: "for one bird: list the first N mates, and the free birds at home"},
	}
}

// limitInbreeding is a setting of several questions.
func limitInbreeding(v **float64) Setting {
	return Setting{Key: "limit-inbreeding", Takes: "F", value: inbreeding(v),
		Help: "F of a chick from which on a new pair is ruled out, from 0 to 1 (default: limits.inbreeding in programme.toml, or 0.125)"}
}

func (q *mates) check(a *Asked) error {
	if len(a.Birds) == 0 && a.given("top") {
		return Usagef("top is for the mates of one bird; without an id each free bird has its best %d", bestShown)
	}
	if len(a.Birds) == 0 && a.given("seed") && !confidencesIn(a.Format) {
		return Usagef("seed is for the draws that tell how sure a rank is, which the list of all free birds has in json and csv alone: leave it out, or name a bird")
	}
	return nil
}

// confidencesIn reports whether the list of all free birds tells in a format how sure
// each rank is.
func confidencesIn(format string) bool { return format == "json" || format == "csv" }

func (q *mates) answer(ctx context.Context, a *Asked, f *Folder) (*Answer, error) {
	p, err := f.programme(ctx, a)
	if err != nil {
		return nil, err
	}
	rules := pairing.Options{HomeOnly: q.within == "home", BreakBonds: q.breaks, Seed: a.Seed}
	if len(a.Birds) == 0 {
		return q.free(ctx, a, f, p, rules)
	}
	b, err := p.Bird(a.Birds[0])
	if err != nil {
		return nil, err
	}
	if a.Colony != "" {
		place, err := p.Colony(a.Colony)
		if err != nil {
			return nil, err
		}
		if home := p.Book.Birds[b].Location; home != place {
			return nil, Usagef("a bird's home is where it lives, that of %s is %s: leave out the colony, or the bird for the mates of all free birds there", p.Book.Birds[b].ID, home)
		}
	}
	ranker, err := q.ranker(ctx, a, f, p, rules)
	if err != nil {
		return nil, err
	}
	ranking, err := ranker.Rank(ctx, b)
	if err != nil {
		return nil, err
	}
	return &Answer{
		schema: "pairwright/mates 2", value: func() any { return contract.MatesJSON(p, ranking, q.top) }, Own: report.RankingNotes(p, ranking),
		rows:  records(func() []contract.MateCandidate { return contract.Candidates(p, ranking, q.top) }),
		build: func() *document.Document { return report.MatesDocument(p, ranking, q.top) },
	}, nil
}

// ranker ranks by the decision within the limit asked for.
func (q *mates) ranker(ctx context.Context, a *Asked, f *Folder, p *pairing.Programme, rules pairing.Options) (*pairing.Ranker, error) {
	if q.limit == nil {
		return f.ranker(ctx, a, rules)
	}
	d, err := p.Decide(ctx, pairing.DecisionOptions{LimitInbreeding: q.limit})
	if err != nil {
		return nil, err
	}
	return pairing.NewRanker(ctx, d, rules)
}

// free answers with the best mates of every free bird of the colony; birds of
// unknown sex are there too, without mates.
func (q *mates) free(ctx context.Context, a *Asked, f *Folder, p *pairing.Programme, rules pairing.Options) (*Answer, error) {
	place, err := p.Colony(a.Colony)
	if err != nil {
		return nil, err
	}
	rules.Explained, rules.Shown = bestShown, bestShown
	if !confidencesIn(a.Format) {
		rules.Samples = -1
	}
	ranker, err := q.ranker(ctx, a, f, p, rules)
	if err != nil {
		return nil, err
	}
	rankings, err := ranker.RankAll(ctx, p.Free(place))
	if err != nil {
		return nil, err
	}
	best := func() []contract.BestMates { return contract.BestMatesJSON(p, rankings, bestShown) }
	return &Answer{
		value: func() any { return best() },
		rows:  records(func() []contract.BestMate { return contract.BestMatesRecords(best()) }),
		build: func() *document.Document { return report.BestMatesDocument(p, place, rankings, bestShown) },
	}, nil
}
