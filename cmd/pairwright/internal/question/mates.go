package question

import (
	"context"
	"fmt"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

var matesQuestion = &Question{
	Name: "mates", About: Decide,
	Short: "Rank the mates for a bird, at home and in the network",
	Long: `Ranks the mates for one bird by what a chick of the pair gains for the whole
programme and how many chicks to expect, and says why, and who is ruled out and
why. Without an ID it lists every unpaired bird of the colony with its best
three mates.`,
	Birds: []string{"bird"}, Usage: "[ID]",
	Rows: "a row for each mate", colony: true, random: true,
	new: func() ask { return &mates{} },
}

// bestShown is how many mates each unpaired bird is shown with.
const bestShown = 3

type mates struct {
	within string
	breaks bool
	limit  *float64
	after  bool
	top    int
}

func (q *mates) settings() []Setting {
	return []Setting{
		{Key: "within", Takes: "WHERE", Default: "network", Words: []string{"home", "network"}, value: text(&q.within),
			Help: "where to look: home, the bird's own place, or network, everywhere"},
		{Key: "break-bonds", value: yes(&q.breaks), Help: "rank birds that are bonded to others too"},
		limitInbreeding(&q.limit),
		{Key: "after-plan", value: yes(&q.after), Help: "rank as if the colony's plan for the season (see plan) had gone ahead"},
		{Key: "top", Takes: "N", Default: "10", value: whole(&q.top, 1), Help: "with an ID: list the first N mates"},
	}
}

// limitInbreeding is a setting of several questions.
func limitInbreeding(v **float64) Setting {
	return Setting{Key: "limit-inbreeding", Takes: "F", value: inbreeding(v),
		Help: "most F a chick may have, from 0 to 1 (default: limits.inbreeding in programme.toml, or 0.125)"}
}

func (q *mates) check(a *Asked) error {
	if len(a.Birds) == 0 && a.given("top") {
		return Usagef("top is for the mates of one bird; without an id each unpaired bird has its best %d", bestShown)
	}
	return nil
}

func (q *mates) answer(ctx context.Context, a *Asked, f *Folder) (*Answer, error) {
	p, err := f.programme(ctx, a)
	if err != nil {
		return nil, err
	}
	rules := pairing.Options{HomeOnly: q.within == "home", BreakBonds: q.breaks, LimitInbreeding: q.limit, Seed: a.Seed}
	if q.after {
		if p, rules.Premise, err = afterPlan(ctx, a, p); err != nil {
			return nil, err
		}
	}
	if len(a.Birds) == 0 {
		return unpaired(ctx, a, p, rules)
	}
	ranker, err := pairing.NewRanker(ctx, p, rules)
	if err != nil {
		return nil, err
	}
	b, err := p.Bird(a.Birds[0])
	if err != nil {
		return nil, err
	}
	ranking, err := ranker.Rank(ctx, b)
	if err != nil {
		return nil, err
	}
	return &Answer{
		schema: "pairwright/mates 1", value: contract.MatesJSON(p, ranking, q.top), Own: report.RankingNotes(p, ranking),
		rows:  records(contract.Candidates(p, ranking, q.top)),
		build: func() *document.Document { return report.MatesDocument(p, ranking, q.top) },
	}, nil
}

// unpaired answers with the best mates of every unpaired bird of the colony;
// birds of unknown sex are there too, without mates.
func unpaired(ctx context.Context, a *Asked, p *pairing.Programme, rules pairing.Options) (*Answer, error) {
	place, err := p.Colony(a.Colony)
	if err != nil {
		return nil, err
	}
	rules.Explained = bestShown
	ranker, err := pairing.NewRanker(ctx, p, rules)
	if err != nil {
		return nil, err
	}
	rankings := []*pairing.Ranking{}
	for _, b := range p.Free(place) {
		if p.Book.Birds[b].Sex == studbook.Unsexed {
			rankings = append(rankings, &pairing.Ranking{Bird: b, Unfit: p.Unfit(b)})
			continue
		}
		ranking, err := ranker.Rank(ctx, b)
		if err != nil {
			return nil, fmt.Errorf("mates for %s: %w", p.Name(b), err)
		}
		rankings = append(rankings, ranking)
	}
	best := contract.BestMatesJSON(p, rankings, bestShown)
	x := &Answer{
		value: best, rows: records(contract.BestMatesRecords(best)),
		build: func() *document.Document { return report.BestMatesDocument(p, place, rankings, bestShown) },
	}
	if rules.Premise != "" {
		x.Own = []string{rules.Premise}
	}
	return x, nil
}

// afterPlan returns the programme as it is once the colony's plan for the
// season, with no setting of the plan's own given, has gone ahead, and says so.
func afterPlan(ctx context.Context, a *Asked, p *pairing.Programme) (after *pairing.Programme, premise string, err error) {
	place, err := p.Colony(a.Colony)
	if err != nil {
		return nil, "", err
	}
	chicks, _ := p.ChicksNeeded(place, false)
	plan, err := p.Plan(ctx, pairing.PlanOptions{Place: place, Chicks: chicks, Seed: a.Seed})
	if err != nil {
		return nil, "", err
	}
	premise = fmt.Sprintf("ranked as if the plan for the season %d had gone ahead: %s from %s are living birds, and the planned pairs are bonded",
		p.Season(), pairing.Count(plan.Chicks, "chick", "chicks"), pairing.Count(len(plan.Pairs), "pair", "pairs"))
	after, err = p.After(ctx, plan)
	return after, premise, err
}
