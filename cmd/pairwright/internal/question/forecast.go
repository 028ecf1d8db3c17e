package question

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
	"pairwright/pairing/forecast"
	"pairwright/pedigree/studbook"
)

var forecastQuestion = &Question{
	Name: "forecast", About: Decide, uses: states,
	Short: "Run the programme forward under several ways to choose pairs: what planning buys and what it takes",
	Long: `Runs the programme forward bird by bird, many times, under each of several ways
to choose its pairs, all on the same luck: how many years the goal is kept, with
what chance, and what that takes in moves, partings and chicks. Survival comes
from the life table or programme.toml, breeding from programme.toml, and rates
that rest on few birds differ from run to run as far as so few leave them open.
Programmes of up to 3,000 birds can be run forward.

Ways to choose (--policy):
  decision               the season's decision, each year anew
  dynamic-mean-kinship   pairs by a list of mean kinships, made anew after each
  static-mean-kinship    pairs by a list of mean kinships, made once a season
  avoid-inbreeding       each female with the male least related to her
  bonds                  nothing planned: birds pair at home as they like
  random                 pairs drawn by lot

--need answers backwards: how many chicks a year, or one new founder every how
many years, or places for how many birds hold the goal with a chance of 80%.

--with FILE asks what if: the programme with the changes of a file is run beside
the programme as it is, on the same luck. The file is CSV, a row for each change,
with these columns; those that it does not need may be left out, and others are
passed over:

  what,birds,to,number,sex,year,chicks
  move,A12; B3,HAF,,,,         A12 moves to HAF, to its mate B3 if one is named
  bond,A12; B3,,,,,            they become a pair
  part,A12; B3,,,,,            they are parted
  hatch,A12; B3,,,,,1          they may hatch one chick in the first season
  leave,A12; C4,,,,,           birds leave the programme,
  leave,,XYZ,,,,               or an institution with all its birds
  founder,,HAF,2,F,2030,       two unrelated females come to HAF in 2030
  places,,HAF,4,,,             HAF has four places more (-4: fewer)

--change ROW asks the same of one such row without a file, the last cells left
out: --change "move,A12; B3,HAF" --change "leave,,XYZ".

--season NAME asks the same of a season of your own that is kept in the folder
plans beside the studbook.

Ctrl-C ends the runs early: the answer then rests on those that were done.`,
	Rows: "a row for each policy and year", colony: true, random: true,
	new: func() ask { return &outlook{} },
}

// What a forecast is where nobody says otherwise (common practice, no source).
const (
	forecastRuns    = 100
	mostYears       = 1000
	catastropheLoss = 0.5
	needChance      = 0.8
)

type outlook struct {
	scope     string
	years     *int
	runs      int
	policies  []string
	goal      *float64
	fewest    *int
	founders  every
	disasters every
	severity  *float64
	need      string
	with      string
	season    string
	rows      []string
	changes   []studbook.Supposition
}

// every is so many times in so many years.
type every struct{ times, years int }

// need is what can be asked for backwards.
type need struct {
	word     string
	quantity forecast.Quantity
}

var needs = []need{{"chicks", forecast.ChicksAYear}, {"founders", forecast.FounderEvery}, {"places", forecast.LivingBirds}}

func (q *outlook) settings() []Setting {
	var policies, quantities []string
	for _, p := range forecast.Policies() {
		policies = append(policies, p.Name())
	}
	for _, n := range needs {
		quantities = append(quantities, n.word)
	}
	return []Setting{
		{Key: "scope", Takes: "WHOSE", Default: "programme", Words: whose, value: text(&q.scope),
			Help: "whose figures to show: programme, everybody's, or home, those of the birds at the colony while the whole programme is run"},
		{Key: "years", Takes: "N", value: perhaps(&q.years, 1), Help: "how many years to look ahead (default: goal.years of programme.toml, or 100)"},
		{Key: "runs", Takes: "N", Default: strconv.Itoa(forecastRuns), value: whole(&q.runs, 2), Help: "how many runs to make of each policy"},
		{Key: "policy", Takes: "POLICY", Rare: true, Words: policies, Again: true, value: texts(&q.policies),
			Help: "a way to choose pairs (default: all of them; the decision where it is asked what if, or what it takes)"},
		{Key: "goal", Takes: "GD", value: fraction(&q.goal, "give the goal as a gene diversity from 0 to 1, such as 0.9"),
			Help: "gene diversity to hold (default: goal.gene_diversity of programme.toml, or 0.9)"},
		{Key: "fewest", Takes: "N", Rare: true, value: perhaps(&q.fewest, 0), Help: "number of birds that there should not be fewer of (default: half of those that live today)"},
		{Key: "founders", Takes: "N/YEARS", value: often(&q.founders), Help: "new unrelated birds that come from outside, such as 1/5y: one every five years"},
		{Key: "catastrophes", Takes: "N/YEARS", Rare: true, value: often(&q.disasters), Help: "years in which disease or weather takes many birds, such as 1/30y"},
		{Key: "severity", Takes: "SHARE", Rare: true, value: fraction(&q.severity, "give a share from 0 to 1, such as 0.5"),
			Help: fmt.Sprintf("share of the birds that a catastrophe takes (default: %g)", catastropheLoss)},
		{Key: "need", Takes: "WHAT", Words: quantities, value: text(&q.need),
			Help: "what it takes to hold the goal with a chance of 80%: chicks a year, founders (one every how many years) or places"},
		{Key: "with", Takes: "FILE", Local: true, value: text(&q.with), Help: "a CSV file of changes to compare with the programme as it is"},
		{Key: ChangeSetting, Takes: "ROW", Again: true, value: texts(&q.rows), Help: "a change to compare with the programme as it is, a row of such a file"},
		{Key: "season", Takes: "NAME", value: text(&q.season), Help: "a season of your own, kept in the folder plans, to compare with the programme as it is"},
	}
}

func (q *outlook) check(a *Asked) error {
	switch {
	case q.years != nil && *q.years > mostYears:
		return Usagef("%d years are too many to look ahead: ask for at most %d", *q.years, mostYears)
	case q.runs > mostRuns:
		return tooManyRuns(q.runs)
	case q.goal != nil && *q.goal == 0:
		return Usagef("a goal of 0 says nothing: give a gene diversity above it, such as 0.9")
	case q.disasters.times > q.disasters.years:
		return Usagef("catastrophes %d/%dy: there is at most one in a year", q.disasters.times, q.disasters.years)
	case q.severity != nil && q.disasters.times == 0:
		return Usagef("the severity is of catastrophes: say how often they come, as --catastrophes 1/30y")
	case q.scope == "programme" && a.Colony != "":
		return Usagef("the forecast is of every colony: leave out the colony, or ask for the scope home")
	case q.need != "" && len(q.policies) > 1:
		return Usagef("a need is told for one policy")
	case q.need != "" && a.Format == "csv":
		return Usagef("a need has no rows: use the format json")
	case q.need != "" && (q.scope == "home" || q.fewest != nil):
		return Usagef("a need is what holds the goal of the whole programme, whatever its numbers: leave out --scope home and --fewest")
	case strings.ContainsAny(q.season, `/\`):
		return Usagef("season %s: give the name of a season, without its folder", q.season)
	case q.with != "" && q.season != "" || len(q.rows) > 0 && q.with+q.season != "":
		return Usagef("ask what if of one thing at a time: of --with, --change and --season leave out all but one")
	case q.need != "" && q.whatIf():
		return Usagef("ask what it takes, or what if, one at a time: leave out --need, or --with, --change and --season")
	case q.whatIf() && a.Format == "csv":
		return Usagef("what if has no rows: use the format json")
	case q.need == "founders" && q.founders.times > 0:
		return Usagef("how often founders come is what is asked for: leave out --founders")
	}
	return nil
}

// mostRuns is the most runs of a policy: these give every chance to within one in a hundred
// (1.96·√(¼/n)), and take hours.
const mostRuns = 10_000

func tooManyRuns(runs int) error {
	return Usagef("%d runs are too many: ask for at most %d, which tell every chance to within one in a hundred", runs, mostRuns)
}

// whatIf reports whether the programme is compared with a changed one.
func (q *outlook) whatIf() bool { return q.with+q.season != "" || len(q.rows) > 0 }

// ChangeSetting is the key of the setting for changes to ask about, each a row of a file
// of them.
const ChangeSetting = "change"

// readRows reads the changes that are asked about one by one.
func (q *outlook) readRows(ctx context.Context, f *Folder) (err error) {
	q.changes, err = studbook.ParseSuppositions(ctx, q.rows, f.Colony)
	if err != nil && ctx.Err() == nil {
		return Usagef("change %v", err)
	}
	return err
}

// readSeason reads the changes that a kept season makes.
func (q *outlook) readSeason(ctx context.Context, f *Folder) (err error) {
	name := path.Join(studbook.SeasonsFolder, q.season+".csv")
	q.changes, err = studbook.ReadSuppositions(ctx, f.dir, name, f.Colony)
	var missing *studbook.NoFileError
	if errors.As(err, &missing) {
		return Usagef("season %s: no season of that name is kept in the folder %s", q.season, studbook.SeasonsFolder)
	}
	return err
}

// alsoRead reads the changes of a file.
func (q *outlook) alsoRead(ctx context.Context, f *Folder) (err error) {
	if q.with == "" {
		return nil
	}
	dir, name := filepath.Split(filepath.Clean(q.with))
	if dir == "" {
		dir = "."
	}
	q.changes, err = studbook.ReadSuppositions(ctx, watched{os.DirFS(dir), &f.Files}, name, f.Colony)
	var missing *studbook.NoFileError
	if errors.As(err, &missing) {
		return Usagef("--with %s: there is no such file", q.with)
	}
	return err
}

func (q *outlook) answer(ctx context.Context, a *Asked, f *Folder) (*Answer, error) {
	p, err := f.programme(ctx, a)
	if err != nil {
		return nil, err
	}
	o, err := forecast.New(ctx, p)
	if err != nil {
		return nil, err
	}
	switch {
	case q.season != "":
		err = q.readSeason(ctx, f)
	case len(q.rows) > 0:
		err = q.readRows(ctx, f)
	}
	if err != nil {
		return nil, err
	}
	asked, err := q.asked(a, p, o)
	if err != nil {
		return nil, err
	}
	if q.need != "" {
		return q.needed(ctx, asked)
	}
	if q.whatIf() {
		return q.supposed(ctx, asked)
	}
	result, err := forecast.Run(ctx, &o.Start, &o.Rules, asked.Policies, asked.Options)
	if !usable(result, err) {
		return nil, err
	}
	value := func() contract.ForecastAnswer { return contract.ForecastJSON(asked, result) }
	return &Answer{
		schema: "pairwright/forecast 1", value: func() any { return value() },
		rows: records(func() []contract.ForecastRow {
			all := value()
			return contract.ForecastRows(&all)
		}), Own: report.ForecastWarnings(asked, result),
		build: func() *document.Document { return report.ForecastDocument(asked, result) },
	}, nil
}

// usable reports whether an answer can be given of what the runs came to: of some,
// where they were stopped.
func usable(r *forecast.Result, err error) bool {
	return err == nil || errors.Is(err, context.Canceled) && r != nil && r.Runs > 1
}

// supposed answers what if.
func (q *outlook) supposed(ctx context.Context, asked *report.Forecast) (*Answer, error) {
	other, err := asked.Outset.Suppose(asked.Programme, q.changes)
	if err != nil {
		return nil, err
	}
	var scenarios []forecast.Scenario
	for _, policy := range asked.Policies {
		for _, o := range []*forecast.Outset{asked.Outset, other} {
			scenarios = append(scenarios, forecast.Scenario{Start: &o.Start, Rules: &o.Rules, Policy: policy})
		}
	}
	result, err := forecast.RunScenarios(ctx, scenarios, asked.Options)
	if !usable(result, err) {
		return nil, err
	}
	return &Answer{
		schema: "pairwright/whatif 1", value: func() any { return contract.WhatIfJSON(asked, q.changes, result) }, Own: report.ForecastWarnings(asked, result),
		build: func() *document.Document { return report.WhatIfDocument(asked, q.changes, result) },
	}, nil
}

// needed answers what it takes to hold the goal.
func (q *outlook) needed(ctx context.Context, asked *report.Forecast) (*Answer, error) {
	i := slices.IndexFunc(needs, func(n need) bool { return n.word == q.need })
	s := forecast.Scenario{Start: &asked.Outset.Start, Rules: &asked.Outset.Rules, Policy: asked.Policies[0]}
	found, err := forecast.FindNeed(ctx, s, needs[i].quantity, needChance, asked.Options)
	if err != nil {
		return nil, err
	}
	return &Answer{
		schema: "pairwright/forecastneed 1", value: func() any { return contract.NeedJSON(asked, q.need, found) },
		build: func() *document.Document { return report.NeedDocument(asked, found) },
	}, nil
}

// asked fills in what is asked of the forecast.
func (q *outlook) asked(a *Asked, p *pairing.Programme, o *forecast.Outset) (*report.Forecast, error) {
	set := p.Settings()
	x := &report.Forecast{Programme: p, Outset: o, Options: forecast.Options{
		Years: set.GoalYears, Runs: q.runs, Seed: a.Seed, Goal: set.GoalGeneDiversity, Fewest: len(o.Birds) / 2, Progress: a.Progress,
	}}
	if q.years != nil {
		x.Options.Years = *q.years
	}
	if q.goal != nil {
		x.Options.Goal = *q.goal
	}
	if q.fewest != nil {
		x.Options.Fewest = *q.fewest
	}
	if q.founders.times > 0 {
		o.Rules.FounderEvery, o.Rules.FoundersAtOnce = q.founders.years, q.founders.times
	}
	if q.disasters.times > 0 {
		o.Rules.CatastropheRate, o.Rules.CatastropheSeverity = float64(q.disasters.times)/float64(q.disasters.years), catastropheLoss
		if q.severity != nil {
			o.Rules.CatastropheSeverity = *q.severity
		}
	}
	for _, policy := range forecast.Policies() {
		if len(q.policies) == 0 && (q.need == "" && !q.whatIf() || len(x.Policies) == 0) || slices.Contains(q.policies, policy.Name()) {
			x.Policies = append(x.Policies, policy)
		}
	}
	if q.scope == "home" {
		place, err := p.Colony(a.Colony)
		if err != nil {
			return nil, err
		}
		k := slices.Index(o.Places, place)
		if k < 0 && place != "" {
			return nil, fmt.Errorf("no bird lives at %s on that day and no place is free there, so there is nothing to look ahead for; leave out --scope home", place)
		}
		if k >= 0 {
			x.Place, x.Options.Place = place, k+1
			if q.fewest == nil {
				x.Options.Fewest = len(p.Book.LivingAt(place)) / 2
			}
		}
	}
	return x, nil
}

// often takes how often something happens, as 1/5y.
func often(v *every) value {
	return value{Text, func(text string) error {
		times, years, ok := strings.Cut(strings.TrimSuffix(strings.TrimSpace(text), "y"), "/")
		n, err := strconv.Atoi(times)
		of, other := strconv.Atoi(years)
		if !ok || err != nil || other != nil || n < 1 || of < 1 || n > 1000 || of > mostYears {
			return errors.New("write it as 1/5y: once every five years")
		}
		*v = every{n, of}
		return nil
	}}
}
