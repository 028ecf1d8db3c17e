package question

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
	moves "pairwright/pairing/transfer"
	"pairwright/pedigree/studbook"
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
there is a section for each institution, and --letters writes a file for each;
with --colony too it is what that plan asks of the one.

--keep writes the plan as a season of your own, to be changed in a spreadsheet:
pair, part, move, allow chicks, and fix what is to stay (pairwright help files).
--own weighs such a file with the same measures, says which rules it breaks and
how far it is from the best; given again it compares two. With --best it is the
decision again, but for what the file has fixed.`,
	Rows: "a row for each pair; with --own: a row for each season", colony: true,
	uses:   states,
	living: true,
	new:    func() ask { return &plan{} },
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
	own          []string
	seasons      []Own // of the files own
	best         bool
	keep         string
}

// What a plan can be asked for at most, far above what any programme needs: more would
// take all day. The first is that of chicks_per_pair in programme.toml.
const (
	mostPerPair = 100
	mostChicks  = 100_000
)

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
		{Key: "release", Takes: "ID", Again: true, value: texts(&q.release), Help: "a bird whose bond may be parted"},
		{Key: "free-bonds", value: yes(&q.free), Help: "all bonds may be parted"},
		{Key: "ignore-spaces", value: yes(&q.ignoreSpaces), Help: "as if every place had room enough"},
		{Key: LettersSetting, Takes: "DIR", Local: true, value: text(&q.letters),
			Help: "with --scope programme: write what is asked of each institution to a file of its own in a new folder (format: html, md or text; default html)"},
		{Key: "own", Takes: "FILE", Again: true, Local: true, value: texts(&q.own), Help: "weigh a season of your own beside the decision, or several"},
		{Key: "best", Local: true, value: yes(&q.best), Help: "with --own: the best season under what the file has fixed"},
		{Key: "keep", Takes: "FILE", Local: true, value: text(&q.keep), Help: "write the plan as a season of your own, as CSV, to begin with"},
	}
}

// alsoRead reads the seasons of one's own.
func (q *plan) alsoRead(ctx context.Context, f *Folder) error {
	for _, file := range q.own {
		dir, name := filepath.Split(filepath.Clean(file))
		if dir == "" {
			dir = "."
		}
		raw, err := studbook.ReadFile(watched{os.DirFS(dir), &f.Files}, name)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return Usagef("--own %s: there is no such file", file)
		case err != nil:
			return err
		}
		choices, err := f.Colony.ReadSeason(ctx, name, raw)
		if err != nil {
			return err
		}
		q.seasons = append(q.seasons, Own{strings.TrimSuffix(name, ".csv"), choices})
	}
	return nil
}

func (q *plan) check(a *Asked) error {
	if a.Letters = q.letters; q.letters != "" {
		switch {
		case !q.whole():
			return Usagef("letters are for --scope programme: one for each institution")
		case a.Out != "":
			return Usagef("letters go into a folder of their own: leave out --out")
		case q.keep != "":
			return Usagef("letters are all that is written then: leave out --letters or --keep")
		case !a.given("format"):
			a.Format = "html"
		case !slices.Contains(letterFormats, a.Format):
			return Usagef("a letter is written as html, md or text")
		}
	}
	a.Attach = q.keep
	switch {
	case q.perPair != nil && *q.perPair > mostPerPair:
		return Usagef("per-pair %d: no pair hatches so many in a season; ask for at most %d", *q.perPair, mostPerPair)
	case q.chicks != nil && *q.chicks > mostChicks:
		return Usagef("chicks %d: ask for at most %d", *q.chicks, mostChicks)
	case q.best && len(q.own) != 1:
		return Usagef("best is for one season of your own: name it with --own FILE")
	case len(q.own) > 0 && q.letters != "":
		return Usagef("letters are for the decision: leave out --own")
	case len(q.own) > 0 && !q.best && q.keep != "":
		return Usagef("keep is for the decision, or with --best for the best under what is fixed")
	}
	if q.free && len(q.release) > 0 {
		return Usagef("all bonds may be parted then: leave out the birds to release, or that all bonds are free")
	}
	switch {
	case !q.whole() || a.Colony == "":
	case len(q.own) > 0 || q.keep != "":
		return Usagef("a season of your own is of the whole programme or of one colony: leave out the colony, or the scope")
	case !slices.Contains(letterFormats, a.Format):
		return Usagef("what the programme's plan asks of one colony is written as text, md or html: leave out the colony for every pair with its place")
	}
	return nil
}

// letterFormats are the formats of what is asked of one institution.
var letterFormats = []string{"html", "md", "text"}

func (q *plan) whole() bool { return q.scope == "programme" }

func (q *plan) answer(ctx context.Context, a *Asked, f *Folder) (*Answer, error) {
	p, err := f.programme(ctx, a)
	if err != nil {
		return nil, err
	}
	for _, id := range q.release {
		b, err := p.Bird(id)
		if err != nil {
			return nil, Usagef("release %s: %w", id, err)
		}
		if !p.Book.Alive(b) {
			return nil, Usagef("release %s: it does not live in the programme on %s, so it has no bond to part", id, document.FormatDay(p.Book.AsOf))
		}
		if len(p.Mates(b)) == 0 {
			return nil, Usagef("release %s: it is in no bond on %s that could be parted", id, document.FormatDay(p.Book.AsOf))
		}
	}
	rules, why, err := q.rules(a, p)
	if err != nil {
		return nil, err
	}
	plan, err := q.plan(ctx, a, f, p, rules)
	if err != nil {
		return nil, err
	}
	switch {
	case q.best:
		if plan, err = plan.Decision.Best(ctx, q.seasons[0].Choices, rules); err != nil {
			return nil, fmt.Errorf("planning the season: %w", err)
		}
	case len(q.seasons) > 0:
		return (&Beside{Plan: plan, Why: why, programme: p}).answer(ctx, q.seasons)
	}
	value := func() contract.PlanAnswer { return contract.PlanJSON(p, plan) }
	x := &Answer{
		schema: "pairwright/plan 2", value: func() any { return value() },
		rows: records(func() []contract.PlanPair { return value().Pairs }), Own: report.PlanWarnings(p, plan),
		build:      func() *document.Document { return report.PlanDocument(p, plan, why) },
		Attachment: func(w io.Writer) error { return studbook.WriteSeason(w, plan.Choices()) },
	}
	if !q.whole() {
		return x, nil
	}
	parts, err := moves.ByInstitution(ctx, p, plan)
	if err != nil {
		return nil, err
	}
	x.build = func() *document.Document { return report.ProgrammeDocument(p, plan, parts, why) }
	if a.Colony != "" {
		place, err := p.Colony(a.Colony)
		if err != nil {
			return nil, err
		}
		k := slices.IndexFunc(parts, func(x moves.InstitutionPlan) bool { return x.Code == place })
		if k < 0 {
			return nil, Usagef("no bird lives at %s or goes there, so the plan asks nothing of it", p.Place(place))
		}
		parts = parts[k : k+1]
		x.build = func() *document.Document { return report.LetterDocument(p, plan, &parts[0]) }
	}
	if q.letters != "" {
		for k := range parts {
			x.Letters = append(x.Letters, Letter{parts[k].Code, func() *document.Document { return report.LetterDocument(p, plan, &parts[k]) }})
		}
	}
	return x, nil
}

// plan takes the decision by the rules asked for and plans the season.
func (q *plan) plan(ctx context.Context, a *Asked, f *Folder, p *pairing.Programme, rules pairing.PlanOptions) (*pairing.Plan, error) {
	own := q.limit == nil && q.moves == nil && q.release == nil && !q.free && !q.ignoreSpaces
	compute := func() (*pairing.Plan, error) {
		d, err := f.decision(ctx, a)
		if !own {
			d, err = p.Decide(ctx, pairing.DecisionOptions{
				LimitInbreeding: q.limit, Moves: q.moves, Release: q.release, FreeBonds: q.free, IgnoreSpaces: q.ignoreSpaces,
			})
		}
		if err != nil {
			return nil, err
		}
		plan, err := d.Plan(ctx, rules)
		if err != nil {
			return nil, fmt.Errorf("planning the season: %w", err)
		}
		return plan, nil
	}
	if !own {
		return compute()
	}
	s, err := f.season(ctx, a)
	if err != nil {
		return nil, err
	}
	return s.plans.at(fmt.Sprint(rules)).get(ctx, compute)
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
