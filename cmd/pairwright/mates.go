package main

import (
	"context"
	"fmt"
	"io"
	"slices"

	"github.com/spf13/cobra"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
)

// bestShown is how many mates each unpaired bird is shown with.
const bestShown = 3

// mateOptions are the flags of the mates command.
type mateOptions struct {
	within string
	breaks bool
	limit  inbreedingLimit
	top    int
	after  bool
}

func newMates(o *options) *cobra.Command {
	var m mateOptions
	cmd := &cobra.Command{
		Use:   "mates [ID]",
		Short: "Rank the mates for a bird, at home and in the network",
		Long: `Ranks the mates for one bird by what a chick of the pair gains for the whole
programme and how many chicks to expect, and says why, and who is ruled out and
why. Without an ID it lists every unpaired bird of the colony with its best
three mates.

Formats: text, json, csv (a row for each mate), md, html.`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			rules, err := m.rules(o.seed)
			if err != nil {
				return err
			}
			p, err := o.load(cmd.Context())
			if err != nil {
				return err
			}
			if m.after {
				if p, rules.Premise, err = o.afterPlan(cmd.Context(), p); err != nil {
					return err
				}
			}
			if len(args) == 0 {
				rules.Explained = bestShown
			}
			ranker, err := pairing.NewRanker(cmd.Context(), p, rules)
			if err != nil {
				return err
			}
			if len(args) == 0 {
				return o.unpaired(cmd.Context(), p, ranker)
			}
			b, err := p.Bird(args[0])
			if err != nil {
				return err
			}
			ranking, err := ranker.Rank(cmd.Context(), b)
			if err != nil {
				return err
			}
			return o.print(formats{
				"json": func(w io.Writer) error { return contract.WriteJSON(w, contract.MatesJSON(p, ranking, m.top)) },
				"csv":  func(w io.Writer) error { return contract.WriteRecords(w, contract.Candidates(p, ranking, m.top)) },
			}.with(func() *document.Document { return report.MatesDocument(p, ranking, m.top) }))
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&m.within, "within", "network", "`WHERE` to look: home, the bird's own place, or network, everywhere")
	flags.BoolVar(&m.breaks, "break-bonds", false, "rank birds that are bonded to others too")
	m.limit.bind(flags)
	flags.BoolVar(&m.after, "after-plan", false, "rank as if the colony's plan for the season (see plan) had gone ahead")
	flags.IntVar(&m.top, "top", 10, "list the first `N` mates")
	return cmd
}

// rules checks the flags and returns them as the ranking's options.
func (m *mateOptions) rules(seed uint64) (pairing.Options, error) {
	rules := pairing.Options{HomeOnly: m.within == "home", BreakBonds: m.breaks, Seed: seed}
	if m.within != "home" && m.within != "network" {
		return rules, usagef("--within %q: use home or network", m.within)
	}
	if m.top < 1 {
		return rules, usagef("--top %d: ask for at least 1", m.top)
	}
	var err error
	rules.LimitInbreeding, err = m.limit.given()
	return rules, err
}

// unpaired prints the best mates of every unpaired bird of the colony; birds of
// unknown sex are there too, without mates.
func (o *options) unpaired(ctx context.Context, p *pairing.Programme, ranker *pairing.Ranker) error {
	place, err := p.Colony(o.colony)
	if err != nil {
		return err
	}
	rankings := []*pairing.Ranking{}
	for _, b := range p.Unpaired(place) {
		ranking, err := ranker.Rank(ctx, b)
		if err != nil {
			return fmt.Errorf("mates for %s: %w", p.Name(b), err)
		}
		rankings = append(rankings, ranking)
	}
	for _, b := range p.UnpairedUnsexed(place) {
		rankings = append(rankings, &pairing.Ranking{Bird: b, Unfit: p.Unfit(b)})
	}
	slices.SortFunc(rankings, func(a, b *pairing.Ranking) int { return a.Bird - b.Bird })
	best := contract.BestMatesJSON(p, rankings, bestShown)
	return o.print(formats{
		"json": func(w io.Writer) error { return contract.WriteJSON(w, best) },
		"csv":  func(w io.Writer) error { return contract.WriteRecords(w, contract.BestMatesRecords(best)) },
	}.with(func() *document.Document { return report.BestMatesDocument(p, place, rankings, bestShown) }))
}

// afterPlan returns the programme as it is once the colony's plan for the
// season, with no flag of the plan command set, has gone ahead, and says so.
func (o *options) afterPlan(ctx context.Context, p *pairing.Programme) (after *pairing.Programme, premise string, err error) {
	place, err := p.Colony(o.colony)
	if err != nil {
		return nil, "", err
	}
	chicks, _ := p.ChicksNeeded(place, false)
	plan, err := p.Plan(ctx, pairing.PlanOptions{Place: place, Chicks: chicks, Seed: o.seed})
	if err != nil {
		return nil, "", err
	}
	premise = fmt.Sprintf("ranked as if the plan for the season %d had gone ahead: %s from %s are living birds, and the planned pairs are bonded",
		p.Season(), pairing.Count(plan.Chicks, "chick", "chicks"), pairing.Count(len(plan.Pairs), "pair", "pairs"))
	after, err = p.After(ctx, plan)
	return after, premise, err
}
