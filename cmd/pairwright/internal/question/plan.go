package question

import (
	"context"
	"fmt"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
)

var planQuestion = &Question{
	Name: "plan", About: Decide,
	Short: "Plan the season: which pairs hatch how many chicks, and which eggs to replace",
	Long: `Finds the pairs for the coming season and how many chicks each should hatch, so
that the living birds and the new chicks together keep as much gene diversity as
they can. Prints how far from the best the plan can be at most, what the present
bonds alone and what random pairing would give, and what to do with the eggs of
every bonded pair. Bonds are kept unless they are released.`,
	Rows: "a row for each pair", colony: true, random: true,
	new: func() ask { return &plan{} },
}

type plan struct {
	scope        string
	chicks       *int
	perPair      *int
	moves        int
	limit        *float64
	release      []string
	free         bool
	ignoreSpaces bool
}

// whose says whose birds a question is about.
var whose = []string{"home", "programme"}

func (q *plan) settings() []Setting {
	return []Setting{
		{Key: "scope", Takes: "WHOSE", Default: "home", Words: whose, value: text(&q.scope),
			Help: "whose season to plan: home, the colony's, or programme, everybody's"},
		{Key: "chicks", Takes: "N", value: perhaps(&q.chicks, 0),
			Help: "chicks wanted (default: what holds the number of birds, or leads to goal.birds of programme.toml)"},
		{Key: "per-pair", Takes: "N", value: perhaps(&q.perPair, 1),
			Help: "most chicks of one pair (default: chicks_per_pair in programme.toml, or 2)"},
		{Key: "moves", Takes: "N", Default: "0", value: whole(&q.moves, 0), Help: "most birds that may move to a mate"},
		limitInbreeding(&q.limit),
		{Key: "release", Takes: "ID", Again: true, value: texts(&q.release), Help: "a bird whose bond may be parted; may be given again"},
		{Key: "free-bonds", value: yes(&q.free), Help: "all bonds may be parted"},
		{Key: "ignore-spaces", value: yes(&q.ignoreSpaces), Help: "as if every place had room enough"},
	}
}

func (q *plan) check(a *Asked) error {
	if q.whole() && a.Colony != "" {
		return Usagef("the season of the whole programme is of every colony: leave out the colony, or the scope")
	}
	return nil
}

func (q *plan) whole() bool { return q.scope == "programme" }

func (q *plan) answer(ctx context.Context, a *Asked, f *Folder) (*Answer, error) {
	p, err := f.programme(ctx, a)
	if err != nil {
		return nil, err
	}
	rules, why, err := q.rules(a, p)
	if err != nil {
		return nil, err
	}
	plan, err := p.Plan(ctx, rules)
	if err != nil {
		return nil, fmt.Errorf("planning the season: %w", err)
	}
	value := contract.PlanJSON(p, plan)
	return &Answer{
		schema: "pairwright/plan 1", value: value, rows: records(value.Pairs), Own: report.PlanNotes(p, plan),
		build: func() *document.Document { return report.PlanDocument(p, plan, why) },
	}, nil
}

// rules returns the settings as the plan's options, and why so many chicks are
// wanted.
func (q *plan) rules(a *Asked, p *pairing.Programme) (rules pairing.PlanOptions, why string, err error) {
	rules = pairing.PlanOptions{
		Whole: q.whole(), Moves: q.moves, LimitInbreeding: q.limit,
		Release: q.release, FreeBonds: q.free, IgnoreSpaces: q.ignoreSpaces, Seed: a.Seed,
	}
	if q.perPair != nil {
		rules.PerPair = *q.perPair
	}
	if !rules.Whole {
		if rules.Place, err = p.Colony(a.Colony); err != nil {
			return rules, "", err
		}
	}
	if q.chicks != nil {
		rules.Chicks = *q.chicks
		return rules, "as asked for", nil
	}
	var need pairing.NeedReason
	rules.Chicks, need = p.ChicksNeeded(rules.Place, rules.Whole)
	return rules, report.NeedText(need), nil
}
