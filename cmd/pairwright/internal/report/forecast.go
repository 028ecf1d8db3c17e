package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/drawing"
	"pairwright/pairing"
	"pairwright/pairing/forecast"
	"pairwright/pedigree/demography"
)

// Forecast is what is asked of a forecast.
type Forecast struct {
	Programme *pairing.Programme
	Outset    *forecast.Outset
	Policies  []forecast.Policy
	Options   forecast.Options
	Place     string // code of the colony whose figures are shown; "" for all
}

// FirstYear is the calendar year of the start: year 1 of a run ends in the next.
func (x *Forecast) FirstYear() int { return x.Outset.Day.Time().Year() }

// policyNames are the policies in the words of a keeper, short and in full.
var policyNames = map[string][2]string{
	"decision":             {"The season's decision", "bonds and broods as plan decides them, taken anew each year; no bond is parted by it"},
	"dynamic-mean-kinship": {"Kinship list, renewed", "a list of mean kinships, made anew after each chick"},
	"static-mean-kinship":  {"Kinship list, yearly", "a list of mean kinships, made once a season"},
	"avoid-inbreeding":     {"Avoiding inbreeding", "each female with the male least related to her"},
	"bonds":                {"Nothing planned", "nothing planned: birds take any mate at home that is no close kin, and any pair may breed"},
	"random":               {"Pairs by lot", "pairs drawn by lot, wherever they live"},
}

func policyName(policy string) string { return policyNames[policy][0] }

// PolicyWords is a policy in the words of a keeper, as its results have it.
func PolicyWords(policy string) (name string, ok bool) {
	n, ok := policyNames[policy]
	return n[0], ok
}

// ForecastDocument lays out a forecast.
func ForecastDocument(x *Forecast, r *forecast.Result) *document.Document {
	b := &forecastBuilder{x, r}
	d := &document.Document{
		Title: fmt.Sprintf("Forecast of %s, %d to %d", b.whose(), x.FirstYear(), x.FirstYear()+x.Options.Years), Lead: b.lead(), Footer: Advice,
		Facts: document.Facts{
			{Name: "Runs", Value: b.runs()},
			{Name: "Goal", Value: fmt.Sprintf("a gene diversity of %s for %s", document.FormatDiversity(x.Options.Goal), document.FormatThings(x.Options.Years, "year", "years"))},
		}, About: about(x.Programme),
	}
	add := func(title string, blocks ...document.Block) {
		d.Sections = append(d.Sections, document.Section{Title: title, Blocks: blocks})
	}
	add("What planning buys and takes", b.compared(), b.risks())
	add("Gene diversity", b.figure(drawing.ForecastDiversity), b.byYear())
	add(policyName(r.Courses[0].Policy)+", year by year", b.course())
	add("Inbreeding", b.figure(drawing.ForecastInbreeding))
	add("Number of birds", b.figure(drawing.ForecastSize))
	add("How pairs are chosen", b.ways())
	add("What it rests on", b.rates())
	d.Notes = append(b.notes(), sentences(Assumptions(x.Programme, forecastSettings...))...)
	return d
}

// forecastSettings are the settings whose defaults a forecast names.
var forecastSettings = []string{
	"goal.gene_diversity", "goal.years", "chicks_per_season", "chicks_per_pair", "limits.inbreeding", "limits.preferred_inbreeding", "lethal_equivalents",
}

// ForecastWarnings are what the reader must know of a forecast besides it.
func ForecastWarnings(x *Forecast, r *forecast.Result) []string {
	var say []string
	if r.Runs < x.Options.Runs {
		say = append(say, fmt.Sprintf("the runs were stopped: the forecast rests on %s of %s", document.FormatCount(r.Runs), document.FormatCount(x.Options.Runs)))
	}
	if n := x.Outset.UnknownAges; n > 0 {
		say = append(say, fmt.Sprintf("%s of unknown age with the mean age of their sex", document.FormatThings(n, "bird counts", "birds count")))
	}
	if len(x.Outset.NoLimit) > 0 {
		say = append(say, fmt.Sprintf("institutions.csv does not say how many places are free at %s: there is taken to be room for any number of birds", document.FormatList(x.Outset.NoLimit, 5)))
	}
	return say
}

type forecastBuilder struct {
	*Forecast
	r *forecast.Result
}

func (b *forecastBuilder) whose() string {
	if b.Place == "" {
		return "the programme"
	}
	return colonyName(b.Programme, b.Place)
}

func (b *forecastBuilder) runs() string {
	say := fmt.Sprintf("%s of each policy, all on the same luck; seed %d", document.FormatCount(b.r.Runs), b.Options.Seed)
	if b.r.Runs < b.Options.Runs {
		say += fmt.Sprintf("; stopped before %s were done", document.FormatCount(b.Options.Runs))
	}
	return say
}

// of returns the course of a policy, nil if it was not run.
func (b *forecastBuilder) of(policy string) *forecast.Course {
	k := slices.IndexFunc(b.r.Courses, func(c forecast.Course) bool { return c.Policy == policy })
	if k < 0 {
		return nil
	}
	return &b.r.Courses[k]
}

// reference is the place of the course that others are held against: that where
// nothing is planned, or else the last.
func (b *forecastBuilder) reference() int {
	if k := slices.IndexFunc(b.r.Courses, func(c forecast.Course) bool { return c.Policy == "bonds" }); k >= 0 {
		return k
	}
	return len(b.r.Courses) - 1
}

// sure is how many standard errors to either side of a mean hold the truth in 95
// of 100 cases.
const sure = 1.96

// lead says what planning buys and takes.
func (b *forecastBuilder) lead() string {
	first := &b.r.Courses[0]
	goal := document.FormatDiversity(b.Options.Goal)
	say := ""
	if b.r.Runs < b.Options.Runs {
		say = fmt.Sprintf("Stopped early: all figures rest on %s of %s runs. ", document.FormatCount(b.r.Runs), document.FormatCount(b.Options.Runs))
	}
	if first.Years[0].Size.Median == 0 {
		return say + "No bird is alive on this day, so that nothing can be looked ahead for but founders to come."
	}
	k := b.reference()
	other := &b.r.Courses[k]
	if now := first.Years[0].GeneDiversity.Median; now < b.Options.Goal {
		say += fmt.Sprintf("Gene diversity is %s today, below the goal of %s already: no way of pairing brings it back, only new founders can.", document.FormatDiversity(now), goal)
	} else if span := document.FormatThings(b.Options.Years, "year", "years"); k > 0 && !b.anyLost() {
		say += fmt.Sprintf("A gene diversity of %s is held for %s in all runs, however pairs are chosen.", goal, span)
	} else {
		say += fmt.Sprintf("%s: a gene diversity of %s is held for %s in %s.", policyName(first.Policy), goal, span, b.ofRuns(first))
		if k > 0 {
			say += fmt.Sprintf(" %s: in %s.", policyName(other.Policy), b.ofRuns(other))
		}
	}
	if k == 0 {
		return say
	}
	who := "planning"
	if first.Policy != "decision" {
		who = lower(policyName(first.Policy))
	}
	ahead, sooner := first.Against[k].Kept, other.Against[0].SameLoss
	switch {
	case ahead.Value > 0.5 && ahead.Value > sure*ahead.SE:
		say += fmt.Sprintf(" %s keeps the goal %s years longer on average (%s)%s.", Capital(who), document.FormatNumber(ahead.Value, 0), within(ahead), b.atLeast(first))
	case !b.falls() && sureDifference(first.Against[k].GeneDiversity):
		say += b.endsText(who, first, other, k)
	case b.falls() && sooner.Value+sure*sooner.SE < float64(b.Options.Years):
		say += fmt.Sprintf(" With %s the same loss of gene diversity comes after %s years (%s) instead of %s.", lower(policyName(other.Policy)), document.FormatNumber(sooner.Value, 0), within(sooner), document.FormatCount(b.Options.Years))
	default:
		return say + " So many runs do not tell the two apart."
	}
	say += fmt.Sprintf(" %s takes %s moves instead of %s and %s chicks instead of %s in that time.", Capital(who),
		document.FormatNumber(first.Moves.Value, 0), document.FormatNumber(other.Moves.Value, 0), document.FormatNumber(first.Chicks.Value, 0), document.FormatNumber(other.Chicks.Value, 0))
	if list := b.of("dynamic-mean-kinship"); list != nil && list != first && list != other {
		say += fmt.Sprintf(" %s comes to %s of gene diversity with %s moves, %s to %s.", policyName(list.Policy),
			document.FormatDiversity(list.Years[b.Options.Years].GeneDiversity.Median), document.FormatNumber(list.Moves.Value, 0), who, document.FormatDiversity(first.Years[b.Options.Years].GeneDiversity.Median))
		ours, theirs := document.FormatKinship(first.Years[b.Options.Years].Inbreeding.Median), document.FormatKinship(list.Years[b.Options.Years].Inbreeding.Median)
		if ours > theirs { // of one width
			say += fmt.Sprintf(" Its birds are less inbred at the end: mean F is %s with it and %s with %s.", theirs, ours, who)
		}
	}
	return say
}

// anyLost reports whether the goal is lost in any run of any course.
func (b *forecastBuilder) anyLost() bool {
	return slices.ContainsFunc(b.r.Courses, func(c forecast.Course) bool { return c.GoalHeld < 1 })
}

// falls reports whether gene diversity ends lower than it is under the first
// policy: how soon others fall as far says something only then.
func (b *forecastBuilder) falls() bool {
	y := b.r.Courses[0].Years
	return y[b.Options.Years].GeneDiversity.Median < y[0].GeneDiversity.Median
}

// endsText holds the last years of two courses against each other, where nothing is
// lost under the first.
func (b *forecastBuilder) endsText(who string, first, other *forecast.Course, k int) string {
	end := func(c *forecast.Course) string {
		return document.FormatDiversity(c.Years[b.Options.Years].GeneDiversity.Median)
	}
	m := first.Against[k].GeneDiversity
	word := "higher"
	if m.Value < 0 {
		word = "lower"
	}
	return fmt.Sprintf(" With %s gene diversity does not fall: it is %s today and %s in %d. With %s it is %s then; run for run it is %s %s with %s.",
		who, document.FormatDiversity(first.Years[0].GeneDiversity.Median), end(first), b.FirstYear()+b.Options.Years, lower(policyName(other.Policy)), end(other),
		plusMinus(m, document.FormatFraction(math.Abs(m.Value), 4), 4), word, who)
}

// ranges says what stands in brackets after a median.
func (b *forecastBuilder) ranges() string {
	return "Medians, in brackets the 80% range of " + document.FormatThings(b.r.Runs, "run", "runs")
}

// within writes the interval that holds a mean in 95 of 100 cases.
func within(m forecast.Mean) string {
	return document.FormatNumber(max(0, m.Value-sure*m.SE), 0) + " to " + document.FormatNumber(m.Value+sure*m.SE, 0)
}

// atLeast says that runs which hold the goal to the end are not watched further.
func (b *forecastBuilder) atLeast(c *forecast.Course) string {
	if c.GoalHeld == 0 {
		return ""
	}
	return fmt.Sprintf(", where runs that hold it longer count with %d years", b.Options.Years)
}

// ofRuns says in how many runs a course holds the goal, and by when half of them
// have lost it.
func (b *forecastBuilder) ofRuns(c *forecast.Course) string {
	say := ""
	switch n := int(c.GoalHeld*float64(b.r.Runs) + 0.5); n {
	case b.r.Runs:
		return "all runs"
	case 0:
		say = "no run"
	default:
		say = fmt.Sprintf("%s of %s runs", document.FormatCount(n), document.FormatCount(b.r.Runs))
	}
	if c.GoalLost >= 0 {
		say += fmt.Sprintf(", half have lost it by %d", b.FirstYear()+c.GoalLost)
	}
	return say
}

// spread writes a figure with its range of 80 %.
func spread(f forecast.Figure, write func(float64) string) document.Cell {
	text := write(f.Median)
	if low, high := write(f.Low80), write(f.High80); low != text || high != text {
		text += fmt.Sprintf(" (%s to %s)", low, high)
	}
	return document.Cell{Text: text, Value: f.Median}
}

func median(f forecast.Figure, write func(float64) string) document.Cell {
	return document.Cell{Text: write(f.Median), Value: f.Median}
}

// kept writes the years that the goal is kept.
func (b *forecastBuilder) kept(years float64) string {
	if years >= float64(b.Options.Years) {
		return document.FormatNumber(years, 0) + "+"
	}
	return document.FormatNumber(years, 0)
}

func meanCell(m forecast.Mean) document.Cell {
	return document.Cell{Text: document.FormatNumber(m.Value, 0), Value: m.Value}
}

// compared holds the policies against each other. Who keeps the goal longer is
// told where any run loses it, else in how many years they come down as far, or
// where nothing is lost with the first by how much they end higher.
func (b *forecastBuilder) compared() document.Block {
	ref := b.reference()
	several := len(b.r.Courses) > 1
	lost, falls := b.anyLost(), b.falls()
	t := &document.Table{
		Columns: []document.Column{{Name: "Pairs chosen by", Key: true}, {Name: "Goal held", Unit: "of runs", Right: true}, {Name: "Goal kept", Unit: "years", Right: true}},
		More: fmt.Sprintf("%s; differences with their 95%% intervals, run for run; moves, bonds parted while both birds live and chicks hatched are means of all %s, of the whole programme.",
			b.ranges(), document.FormatThings(b.Options.Years, "year", "years")),
	}
	switch {
	case several && lost:
		t.Columns = append(t.Columns, document.Column{Name: "Longer than " + lower(policyName(b.r.Courses[ref].Policy)), Unit: "years", Right: true})
	case several && !falls:
		t.Columns = append(t.Columns, document.Column{Name: "Above " + lower(policyName(b.r.Courses[ref].Policy)) + " at the end", Unit: "gene diversity", Right: true})
	case several:
		t.Columns = append(t.Columns, document.Column{Name: "As low as " + lower(policyName(b.r.Courses[0].Policy)) + " in", Unit: "years", Right: true})
	}
	t.Columns = append(t.Columns, document.Column{Name: "Gene diversity at the end", Right: true},
		document.Column{Name: "Moves", Right: true}, document.Column{Name: "Partings", Right: true}, document.Column{Name: "Chicks", Right: true})
	for k := range b.r.Courses {
		c := &b.r.Courses[k]
		cells := []document.Cell{{Text: policyName(c.Policy)}, chanceCell(c.GoalHeld), spread(c.Kept, b.kept)}
		switch {
		case several && lost:
			cells = append(cells, b.against(k, ref, c.Against[ref].Kept, func(v float64) string { return document.FormatChange(v, 0) }, 1))
		case several && !falls:
			cells = append(cells, b.against(k, ref, c.Against[ref].GeneDiversity, func(v float64) string { return document.FormatChange(v, 4) }, 4))
		case several:
			cells = append(cells, b.against(k, 0, c.Against[0].SameLoss, b.kept, 1))
		}
		t.Rows = append(t.Rows, document.Row{Cells: append(cells, spread(c.Years[b.Options.Years].GeneDiversity, document.FormatDiversity),
			meanCell(c.Moves), meanCell(c.Partings), meanCell(c.Chicks))})
	}
	return t
}

// against is what a course has over another, nothing where it is the same.
func (b *forecastBuilder) against(course, other int, m forecast.Mean, write func(float64) string, decimals int) document.Cell {
	if course == other {
		return document.Cell{Text: document.Unknown}
	}
	return document.Cell{Text: plusMinus(m, write(m.Value), decimals), Value: m.Value}
}

// plusMinus adds to a mean what it is sure to, where that is anything.
func plusMinus(m forecast.Mean, text string, decimals int) string {
	if m.SE == 0 {
		return text
	}
	return text + " ± " + document.FormatFraction(sure*m.SE, decimals)
}

func lower(s string) string { return strings.ToLower(s[:1]) + s[1:] }

// risks tells what else may happen.
func (b *forecastBuilder) risks() document.Block {
	t := &document.Table{Columns: []document.Column{
		{Name: "Pairs chosen by", Key: true}, {Name: "Half have lost the goal by", Right: true}, {Name: fmt.Sprintf("Fewer than %s", document.FormatThings(b.Options.Fewest, "bird", "birds")), Unit: "of runs", Right: true},
		{Name: "One sex missing", Unit: "of runs", Right: true}, {Name: "Birds at the end", Right: true}, {Name: "Mean F at the end", Right: true}, {Name: "Founder genes left", Right: true},
	}}
	for k := range b.r.Courses {
		c := &b.r.Courses[k]
		lost := document.Cell{Text: "not lost"}
		if c.GoalLost >= 0 {
			lost = document.Cell{Text: fmt.Sprint(b.FirstYear() + c.GoalLost), Value: b.FirstYear() + c.GoalLost}
		}
		last := &c.Years[b.Options.Years]
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{
			{Text: policyName(c.Policy)}, lost, chanceCell(c.TooFew), chanceCell(c.OneSex), spread(last.Size, places(0)), kinshipCell(last.Inbreeding.Median), spread(last.Alleles, document.FormatPercent),
		}})
	}
	return t
}

// shown returns the years that tables show: at most a dozen, today and the last
// among them.
func (b *forecastBuilder) shown() []int {
	step := 1
	for _, s := range []int{1, 2, 5, 10, 20, 25, 50, 100} {
		if step = s; b.Options.Years/s <= 12 {
			break
		}
	}
	var years []int
	for y := 0; y < b.Options.Years; y += step {
		years = append(years, y)
	}
	return append(years, b.Options.Years)
}

// byYear tables gene diversity under every policy.
func (b *forecastBuilder) byYear() document.Block {
	t := &document.Table{Caption: "Gene diversity: median of the runs", Columns: []document.Column{{Name: "End of", Key: true}}}
	for k := range b.r.Courses {
		t.Columns = append(t.Columns, document.Column{Name: policyName(b.r.Courses[k].Policy), Right: true})
	}
	for _, y := range b.shown() {
		cells := []document.Cell{b.yearCell(y)}
		for k := range b.r.Courses {
			v := b.r.Courses[k].Years[y].GeneDiversity.Median
			cells = append(cells, document.Cell{Text: document.FormatDiversity(v), Value: v})
		}
		t.Rows = append(t.Rows, document.Row{Cells: cells})
	}
	return t
}

func (b *forecastBuilder) yearCell(y int) document.Cell {
	if y == 0 {
		return document.Cell{Text: "today"}
	}
	return document.Cell{Text: fmt.Sprint(b.FirstYear() + y), Value: b.FirstYear() + y}
}

// course tables all figures of the first policy.
func (b *forecastBuilder) course() document.Block {
	t := &document.Table{
		Columns: []document.Column{{Name: "End of", Key: true}, {Name: "Birds", Right: true}, {Name: "Gene diversity", Right: true}, {Name: "Founder genome equivalents", Right: true},
			{Name: "Mean F", Right: true}, {Name: "Founder genes left", Right: true}},
		More: b.ranges() + ". The formats json and csv have every year, every policy and the 95% range.",
	}
	for _, k := range b.shown() {
		y := &b.r.Courses[0].Years[k]
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{
			b.yearCell(k), spread(y.Size, places(0)), spread(y.GeneDiversity, document.FormatDiversity), median(y.GeneDiversity.GenomeEquivalents(), places(1)),
			median(y.Inbreeding, document.FormatKinship), spread(y.Alleles, document.FormatPercent),
		}})
	}
	return t
}

// figure draws a figure of all policies on one scale.
func (b *forecastBuilder) figure(of drawing.ForecastOf) document.Block {
	in := drawing.ForecastPlot{Of: of, Goal: b.Options.Goal, First: b.FirstYear()}
	for k := range b.r.Courses {
		c := &b.r.Courses[k]
		panel := drawing.ForecastPanel{Name: policyName(c.Policy)}
		for y := range c.Years {
			f := c.Years[y].GeneDiversity
			switch of {
			case drawing.ForecastSize:
				f = c.Years[y].Size
			case drawing.ForecastInbreeding:
				f = c.Years[y].Inbreeding
			}
			panel.Years = append(panel.Years, drawing.ForecastBand{Median: f.Median, Low80: f.Low80, High80: f.High80, Low95: f.Low95, High95: f.High95})
		}
		in.Panels = append(in.Panels, panel)
	}
	return drawing.ForecastFigure(in)
}

// Rate is a rate that the runs are made with, and where it comes from.
type Rate struct{ What, Value, Source string }

// Rates returns the rates that the runs are made with.
func (x *Forecast) Rates() []Rate {
	o := x.Outset
	r := &o.Rules
	var out []Rate
	add := func(what, value, source string) { out = append(out, Rate{what, value, source}) }
	for k, y := range [2]*demography.Yearly{&o.Female, &o.Male} {
		sex, p := "females", &r.Female
		if k == 1 {
			sex, p = "males", &r.Male
		}
		add("Survival of "+sex+" in their first year", document.FormatPercent(p.SurvivalAt(0)), survivalSource(y.FirstYear, fmt.Sprintf("%s birds at risk", document.FormatNumber(y.AtRisk, 0))))
		ten := 1.0
		for age := 1; age <= 10; age++ {
			ten *= p.SurvivalAt(age)
		}
		add("Survival of "+sex+" from 1 to 11 years", document.FormatPercent(ten), survivalSource(y.Adult, fmt.Sprintf("%s deaths at all ages", document.FormatNumber(y.Deaths, 0))))
		until := "without an end"
		if p.Last > 0 {
			until = "to " + document.FormatNumber(p.Last, 0)
		}
		add("Breeding age of "+sex, document.FormatNumber(p.First, 0)+" "+until+" years", "programme.toml or the recorded parents")
	}
	chance := "programme.toml; no clutch is on record that says how sure it is"
	if o.Clutches > 0 {
		chance = fmt.Sprintf("programme.toml; from run to run as sure as %s on record", document.FormatThings(o.Clutches, "clutch", "clutches"))
	}
	add("Chance of each chick allowed to a settled pair", document.FormatPercent(r.Chance), chance)
	first := x.Programme.FirstSeasons()
	add("Share of it in a bond's first season", document.FormatPercent(r.FirstSeason), fmt.Sprintf("%s on record, shrunk toward a half", document.FormatThings(first.Bonds, "first season", "first seasons")))
	add("Most chicks of a pair in a season", document.FormatCount(r.MostChicks), "programme.toml or its default")
	add("Lethal equivalents per gamete", document.FormatNumber(r.LethalEquivalents, 2), "programme.toml or its default")
	parting := "no bond on record ended so"
	if r.PartingEvidence > 0 {
		parting = fmt.Sprintf("%s that ended so in %s years of bonds", document.FormatThings(int(r.PartingEvidence), "bond", "bonds"), document.FormatNumber(o.BondYears, 0))
	}
	add("Bonds that part in a year though both birds live", document.FormatPercent(r.Parting), parting)
	level := "today's number; each season's plan holds that of its year, so that what chance does adds up, unless goal.birds is set"
	if r.Growing > 0 {
		level = fmt.Sprintf("goal.birds of programme.toml, in %d years", r.Growing)
	}
	add("Birds wanted", document.FormatCount(r.Birds), level)
	add("Room for birds", x.room(), "birds there and free places of institutions.csv")
	founders := "none"
	if r.FounderEvery > 0 {
		founders = fmt.Sprintf("%s every %s", document.FormatCount(r.FoundersAtOnce), document.FormatThings(r.FounderEvery, "year", "years"))
	}
	add("New unrelated founders", founders, "as asked for")
	catastrophes := "none"
	if r.CatastropheRate > 0 {
		catastrophes = fmt.Sprintf("in %s of years, each takes %s of the birds", document.FormatPercent(r.CatastropheRate), document.FormatPercent(r.CatastropheSeverity))
	}
	add("Catastrophes", catastrophes, "as asked for")
	return out
}

func survivalSource(b demography.Basis, record string) string {
	if b == demography.OnSettings {
		return "programme.toml"
	}
	return "life table of the programme: " + record
}

// room says for how many birds there is room.
func (x *Forecast) room() string {
	if len(x.Outset.Places) == 0 || len(x.Outset.NoLimit) > 0 {
		return "no limit known"
	}
	sum := 0
	for _, n := range x.Outset.Rules.Places {
		sum += n
	}
	return document.FormatCount(sum)
}

// ways says how each policy chooses pairs.
func (b *forecastBuilder) ways() document.Block {
	var ways document.Facts
	for _, policy := range b.Policies {
		n := policyNames[policy.Name()]
		ways = append(ways, document.Fact{Name: n[0], Value: n[1]})
	}
	return ways
}

// rates tables what the runs are made with.
func (b *forecastBuilder) rates() document.Block {
	t := &document.Table{Columns: []document.Column{{Name: "Rate", Key: true}, {Name: "Value", Right: true}, {Name: "Where it comes from", Wide: true}}}
	for _, r := range b.Rates() {
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: r.What}, {Text: r.Value}, {Text: r.Source}}})
	}
	return t
}

// notes explain the forecast.
func (b *forecastBuilder) notes() []string {
	notes := []string{
		"Chicks at or above the limit of F are hatched by no policy that plans, and at or above the preferred one the decision pairs only birds that have no other mate; both limits rise by what all birds come to share from now on.",
		"Whatever the policy, bonds last while both birds live but for the share that part, and chicks are allowed until as many are to be expected as are wanted. Birds move to a mate, and from a place that has too many to one that has room.",
		"Every bird is run by itself: each year founders may come, free birds are paired, pairs hatch the chicks that they are allowed, each with its chance, which inbreeding lowers (Morton, Crow & Muller 1956), and every bird lives on or dies by its age and sex. All policies meet the same luck in each run, so that differences are surer than the ranges look. Survival, hatch and parting differ from run to run as far as the record leaves them open.",
		"Gene diversity is 1 less the mean kinship of the living, founder genome equivalents 1/(2(1 − gene diversity)) (Lacy 1995); founder genes left are those that the birds of today carry of which a copy lives, by gene drop (MacCluer et al. 1986).",
		"A forecast is what the rates of the past lead to, not a promise: no policy knows of new diseases, institutions that leave or birds that will not breed. A move and a parting cost birds more than a number says; the veterinarian and the keepers weigh that.",
	}
	if b.Place != "" {
		notes = append(notes, "The whole programme is run; the figures are of the birds that live at "+b.whose()+", and the moves, partings and chicks of all.")
	}
	return append(notes, sentences(ForecastWarnings(b.Forecast, b.r))...)
}
