package question

import (
	"context"
	"fmt"
	"slices"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
	moves "pairwright/pairing/transfer"
)

var planQuestion = &Question{
	Name: "plan", About: Decide,
	Short: "Plan the season: who lives with whom, which pairs hatch how many chicks, what to do with eggs",
	Long: `Takes the season's decision: who should live with whom from now on, for the
whole programme and for years, and how many chicks each pair may hatch this
season; which pairs are reserves, in order, until as many chicks are to be
expected as are wanted, with the chance that there are enough; what to do with
eggs that lie there now; which birds should move, and which young birds in the
years ahead. Bonds are kept unless they are released. What decisions.csv has as
agreed is fixed, what it has as declined is not proposed. With --scope programme
there is a section for each institution, and --letters writes a file for each.`,
	Rows: "a row for each pair", colony: true,
	uses: states,
	new:  func() ask { return &plan{} },
}

type plan struct {
	scope        string
	chicks       *int
	perPair      *int
	moves        *int
	limit        *float64
	release      []string
	free         bool
	ignoreSpaces bool
	letters      string
}

// whose says whose birds a question is about.
var whose = []string{"home", "programme"}

func (q *plan) settings() []Setting {
	return []Setting{
		{Key: "scope", Takes: "WHOSE", Default: "home", Words: whose, value: text(&q.scope),
			Help: "whose broods to plan: home, the colony's, or programme, everybody's"},
		{Key: "chicks", Takes: "N", value: perhaps(&q.chicks, 0),
			Help: "chicks wanted (default: what holds the number of birds, or leads to goal.birds of programme.toml)"},
		{Key: "per-pair", Takes: "N", value: perhaps(&q.perPair, 1),
			Help: "most chicks of one pair (default: chicks_per_pair in programme.toml, or 2)"},
		{Key: "moves", Takes: "N", value: perhaps(&q.moves, 0), Help: "most birds that may move to a mate (default: as many as are worth it)"},
		limitInbreeding(&q.limit),
		{Key: "release", Takes: "ID", Again: true, value: texts(&q.release), Help: "a bird whose bond may be parted; may be given again"},
		{Key: "free-bonds", value: yes(&q.free), Help: "all bonds may be parted"},
		{Key: "ignore-spaces", value: yes(&q.ignoreSpaces), Help: "as if every place had room enough"},
		{Key: "letters", Takes: "DIR", Local: true, value: text(&q.letters),
			Help: "with --scope programme: write what is asked of each institution to a file of its own in a new folder (format: html, md or text; default html)"},
	}
}

func (q *plan) check(a *Asked) error {
	if a.Letters = q.letters; q.letters != "" {
		switch {
		case !q.whole():
			return Usagef("letters are for --scope programme: one for each institution")
		case a.Out != "":
			return Usagef("letters go into a folder of their own: leave out --out")
		case !a.given("format"):
			a.Format = "html"
		case !slices.Contains([]string{"html", "md", "text"}, a.Format):
			return Usagef("a letter is written as html, md or text")
		}
	}
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
	d, err := p.Decide(ctx, pairing.DecisionOptions{
		LimitInbreeding: q.limit, Moves: q.moves, Release: q.release, FreeBonds: q.free, IgnoreSpaces: q.ignoreSpaces,
	})
	if err != nil {
		return nil, err
	}
	plan, err := d.Plan(ctx, rules)
	if err != nil {
		return nil, fmt.Errorf("planning the season: %w", err)
	}
	value := contract.PlanJSON(p, plan)
	x := &Answer{
		schema: "pairwright/plan 2", value: value, rows: records(value.Pairs), Own: report.PlanWarnings(p, plan),
		build: func() *document.Document { return report.PlanDocument(p, plan, why) },
	}
	if !q.whole() {
		return x, nil
	}
	parts, err := moves.Parts(ctx, p, plan)
	if err != nil {
		return nil, err
	}
	x.build = func() *document.Document { return report.ProgrammeDocument(p, plan, parts, why) }
	if q.letters != "" {
		for k := range parts {
			x.Letters = append(x.Letters, Letter{parts[k].Code, func() *document.Document { return report.LetterDocument(p, plan, &parts[k]) }})
		}
	}
	return x, nil
}

// rules returns whose season it is, and why so many chicks are wanted.
func (q *plan) rules(a *Asked, p *pairing.Programme) (rules pairing.PlanOptions, why string, err error) {
	rules = pairing.PlanOptions{Whole: q.whole()}
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
	chicks, need := p.ChicksNeeded(rules.Place, rules.Whole)
	rules.Chicks = chicks
	return rules, report.NeedText(need), nil
}
