package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
	"pairwright/pairing/review"
	"pairwright/pedigree/demography"
)

// ReviewDocument is the yearly review of a colony as a document to sign.
func ReviewDocument(r *review.Review) *document.Document {
	p := r.Programme
	b := &reviewBuilder{r: r, p: p}
	d := &document.Document{
		Title:  "Review of " + colonyName(p, r.Colony),
		Lead:   b.lead() + seemPairedText(p),
		About:  append(document.Facts{{Name: "Since", Value: document.FormatDay(r.Since) + ", the last review"}}, about(p)...),
		Footer: Advice, Portable: true,
	}
	b.d = d
	b.front()
	living := b.p.Living.Size() > 0
	home := r.ColonyGenetics.Size > 0
	if home {
		b.lastYear()
	}
	b.missing()
	b.yearInNumbers()
	if home {
		b.ages()
	}
	if living {
		b.diversity()
		b.changes()
		b.founders()
	}
	if home {
		b.birds()
		b.pairs()
		b.unpaired()
		b.plan()
		b.transfers()
	}
	main := len(d.Sections)
	if home {
		b.pairFigures()
		b.inbred()
	}
	if living {
		b.gaps()
	}
	if home {
		b.related()
	}
	b.tables()
	b.definitions()
	for k := range d.Sections[main:] {
		s := &d.Sections[main+k]
		s.Apart = k == 0
		if !s.Data {
			s.Title = "Appendix: " + strings.ToLower(s.Title[:1]) + s.Title[1:]
		}
	}
	return d
}

// Lengths of tables in a review.
const (
	gapsShown   = 15
	eventsShown = 300
)

// front is the page that is signed: what is to be decided, how the colony stands,
// a picture, and room for those who answer for it.
func (b *reviewBuilder) front() {
	b.decisions()
	b.atAGlance()
	b.section("Signatures", signatures("For the colony", "For the programme", "Veterinarian"))
	for k := range b.d.Sections {
		b.d.Sections[k].Front = true
	}
}

// gaps lists the gaps in parentage that cost most.
func (b *reviewBuilder) gaps() {
	all := b.r.Gaps
	s := gapSection(b.p, all[:min(len(all), gapsShown)])
	if n := len(all) - gapsShown; n > 0 {
		s.Blocks = append(s.Blocks, document.Paragraph(fmt.Sprintf("%s more let less through; the check command lists them all.", Capital(document.FormatThings(n, "gap", "gaps")))))
	}
	b.add(s)
}

// ReviewSettings are the settings whose defaults a review names.
var ReviewSettings = []string{"goal.gene_diversity", "goal.years", "chicks_per_season", "chicks_per_pair", "lethal_equivalents", "clutch_success",
	"limits.inbreeding", "limits.preferred_inbreeding"}

type reviewBuilder struct {
	r *review.Review
	p *pairing.Programme
	d *document.Document
}

func (b *reviewBuilder) add(s document.Section) {
	s.Anchor = strings.ReplaceAll(strings.ToLower(s.Title), " ", "-")
	b.d.Sections = append(b.d.Sections, s)
}

// section adds a section of the blocks that are not nil.
func (b *reviewBuilder) section(title string, blocks ...document.Block) {
	b.add(document.Section{Title: title, Blocks: slices.DeleteFunc(blocks, func(x document.Block) bool { return x == nil })})
}

// number writes a figure, or that it is not known.
func number(n review.Number, write func(float64) string) string {
	if !n.Known {
		return document.Unknown
	}
	return write(n.Value)
}

func numberCell(n review.Number, write func(float64) string) document.Cell {
	c := document.Cell{Text: number(n, write)}
	if n.Known {
		c.Value = n.Value
	}
	return c
}

// places returns a writer of numbers with that many decimals.
func places(n int) func(float64) string {
	return func(x float64) string { return document.FormatNumber(x, n) }
}

// lead is the review in three sentences.
func (b *reviewBuilder) lead() string {
	g := b.r.ProgrammeGenetics
	if !g.GeneDiversity.Known {
		return "No bird of the programme is alive on this day."
	}
	var say []string
	o := b.r.Outlook
	size := document.FormatThings(b.r.ColonyGenetics.Size, "bird", "birds")
	if b.r.Whole {
		say = append(say, fmt.Sprintf("The programme has %s.", strings.Replace(size, " bird", " living bird", 1)))
	} else {
		say = append(say, fmt.Sprintf("The colony has %s of the programme's %s.", size, document.FormatCount(g.Size)))
	}
	gd := document.FormatDiversity(g.GeneDiversity.Value)
	switch f := o.Forecast; {
	case o.Missed > 0:
		say = append(say, fmt.Sprintf("The programme's gene diversity of %s is %s below the goal of %s already now.", gd, document.FormatDiversity(o.Missed), document.FormatDiversity(o.Goal)))
	case f == nil:
		say = append(say, fmt.Sprintf("The programme's gene diversity of %s is above the goal of %s; how long it will stay so cannot be said.", gd, document.FormatDiversity(o.Goal)))
	case f.Held.Known && f.Held.Value < float64(o.Years):
		say = append(say, fmt.Sprintf("The programme's gene diversity of %s is not on course: going on as in the last %s it falls below the goal of %s in about %s years%s; %d are wanted.",
			gd, forecastYears(f), document.FormatDiversity(o.Goal), document.FormatNumber(f.Held.Value, 0), heldRange(f), o.Years))
	default:
		say = append(say, fmt.Sprintf("The programme's gene diversity of %s is on course: going on as in the last %s it stays above the goal of %s for more than the %d years wanted%s.",
			gd, forecastYears(f), document.FormatDiversity(o.Goal), o.Years, earlyEnd(o)))
	}
	switch change := b.r.Change.Programme; {
	case b.r.Change.Emptied:
	case change == 0:
		say = append(say, "Nothing changed it since the last review.")
	default:
		went := "rose"
		if change < 0 {
			went = "fell"
		}
		say = append(say, fmt.Sprintf("Since the last review it %s by %s.", went, document.FormatNumber(math.Abs(change), 5)))
	}
	for k := range b.r.Glances {
		if r := b.r.Glances[k].Reach; r != nil {
			say = append(say, "The goal is out of reach "+reachText(r)+".")
		}
	}
	return strings.Join(say, " ")
}

// forecastYears says from how many years a forecast is told.
func forecastYears(f *review.Forecast) string {
	return document.FormatThings(int(math.Round(f.Years)), "year", "years")
}

// heldRange says in brackets when the ends of a forecast's range lose the goal.
func heldRange(f *review.Forecast) string {
	chance := document.FormatChance(review.RangeLevel)
	switch {
	case f.First.Known && f.Last.Known:
		return fmt.Sprintf(" (%s to %s in %s of cases)", document.FormatNumber(f.First.Value, 0), document.FormatNumber(f.Last.Value, 0), chance)
	case f.First.Known:
		return fmt.Sprintf(" (from %s years on, or never, in %s of cases)", document.FormatNumber(f.First.Value, 0), chance)
	}
	return ""
}

// earlyEnd says when a goal that should be kept may be lost all the same.
func earlyEnd(o *review.Outlook) string {
	if f := o.Forecast; f.First.Known && f.First.Value < float64(o.Years) {
		return fmt.Sprintf("; in one case of ten it is lost in %s or less", document.FormatThings(int(f.First.Value), "year", "years"))
	}
	return ""
}

// measure says how a figure at a glance is called and written.
type measure struct {
	name  string
	write func(float64) string
}

var measures = map[review.Measure]measure{
	review.Birds:          {"Living birds of the", places(0)},
	review.Chicks:         {"Chicks hatched since the last review in the", places(0)},
	review.GeneDiversity:  {"Gene diversity of the", document.FormatDiversity},
	review.MeanInbreeding: {"Mean inbreeding coefficient F of the", document.FormatKinship},
	review.KnownAncestry:  {"Known ancestry of the", document.FormatPercent},
}

// decisions lists what is to be decided.
func (b *reviewBuilder) decisions() {
	if len(b.r.Decisions) == 0 {
		b.section("What is to be decided", document.Paragraph("Nothing: no bird is to be moved, paired, parted, sexed or tested."))
		return
	}
	t := &document.Table{Columns: []document.Column{{Name: "Who", Key: true, Wide: true}, deciding(document.Column{Name: "What", Wide: true}), {Name: "By"}, {Name: "Why", Wide: true}}}
	for k := range b.r.Decisions {
		x := &b.r.Decisions[k]
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: DecisionWho(x)}, {Text: Capital(DecisionWhat(b.p, x))}, {Text: decisionBy(b.p, x)}, {Text: Capital(DecisionWhy(b.p, x))}}})
	}
	t.More = leftOutText(b.r.LeftOut)
	b.section("What is to be decided", t)
}

// atAGlance says how the colony and its programme stand in five figures and a
// picture.
func (b *reviewBuilder) atAGlance() {
	t := glanceTable(b.r.Glances)
	o := b.r.Outlook
	taken := takenWildText(b.p)
	if taken != "" {
		taken = " Known ancestry rests on this: " + taken
	}
	b.section("How it stands", t, document.Paragraph(fmt.Sprintf(
		"The goal is to keep %s of the founders' gene diversity for %d years, and the colony's size. Gene diversity is the share of the founders' genetic variety that the living still have; F is the chance that a bird has one gene of a founder twice.",
		document.FormatPercent(o.Goal), o.Years)+taken), b.pictureOf(len(b.r.History), b.diversityFigure))
}

// glanceTable holds figures against last review's and the goal.
func glanceTable(glances []review.Glance) *document.Table {
	t := &document.Table{Columns: []document.Column{{Name: "Figure", Key: true, Wide: true}, deciding(document.Column{Name: "Standing"}),
		{Name: "Now", Right: true}, {Name: "Last year", Right: true}, {Name: "Goal", Right: true}}}
	for _, g := range glances {
		m := measures[g.Measure]
		of := "colony"
		if g.InProgramme {
			of = "programme"
		}
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: m.name + " " + of}, {Text: string(g.Standing)}, numberCell(g.Now, m.write), numberCell(g.Then, m.write), numberCell(g.Goal, m.write)}})
	}
	return t
}

// reachText says why a goal of gene diversity is out of reach, and what it takes.
func reachText(r *review.Reach) string {
	text := reachWhy(r.Founders, r.Most)
	if r.Needed == 0 {
		return text + "; no number of founders is enough"
	}
	return text + fmt.Sprintf("; it takes at least %s, so %s", document.FormatCount(r.Needed), document.FormatThings(r.Needed-r.Founders, "new founder", "new founders"))
}

// reachWhy says what the founders can hold whose genes may still be passed on.
func reachWhy(founders int, most float64) string {
	if founders == 0 {
		return "as no bird may breed any more that could pass on the genes of a founder"
	}
	return fmt.Sprintf("with the genes of %s, which can hold %s at most", document.FormatThings(founders, "founder", "founders"), document.FormatDiversity(most))
}

func (b *reviewBuilder) missing() {
	if say := MissingTexts(b.r); len(say) > 0 {
		b.section("What cannot be said", document.List(sentences(say)))
	}
}

// interval writes the 95% interval of a share.
func interval(i demography.Interval) string {
	return document.FormatChance(i.Low) + " to " + document.FormatChance(i.High)
}

// proportion writes a share with what it rests on, and never a bare figure
// from a few.
func proportion(x demography.Proportion) string {
	switch {
	case !x.Known:
		return document.Unknown
	case x.TooFew:
		return fmt.Sprintf("%s of %s, too few to judge (95%% interval %s)", document.FormatCount(x.Count), document.FormatCount(x.Of), interval(x.Exact))
	}
	return fmt.Sprintf("%s (%s of %s; 95%% interval %s)", document.FormatChance(x.Value), document.FormatCount(x.Count), document.FormatCount(x.Of), interval(x.Exact))
}

func (b *reviewBuilder) yearInNumbers() {
	n := b.r.Numbers
	counts := []*review.Count{&n.Colony, &n.Programme}
	names := []string{"Colony", "Programme"}
	if b.r.Whole {
		counts, names = counts[1:], names[1:]
	}
	t := &document.Table{Columns: []document.Column{{Name: "Birds", Key: true}}}
	for _, name := range names {
		t.Columns = append(t.Columns, document.Column{Name: name, Right: true})
	}
	from, to := n.Programme.Year.From, n.Programme.Year.To
	rows := []struct {
		name string
		of   func(l *demography.Ledger) int
	}{
		{"Living on " + document.FormatDay(from), func(l *demography.Ledger) int { return l.Start }},
		{"Hatched", func(l *demography.Ledger) int { return l.Hatched }},
		{"Came from the wild or from outside", func(l *demography.Ledger) int { return l.Founders }},
		{"Arrived", func(l *demography.Ledger) int { return l.Arrived }},
		{"Departed", func(l *demography.Ledger) int { return l.Departed }},
		{"Died", func(l *demography.Ledger) int { return l.Died }},
		{"Living on " + document.FormatDay(to), func(l *demography.Ledger) int { return l.End }},
	}
	for _, row := range rows {
		cells := []document.Cell{{Text: row.name}}
		for _, c := range counts {
			cells = append(cells, countCell(row.of(&c.Year)))
		}
		t.Rows = append(t.Rows, document.Row{Cells: cells})
	}
	more := &document.Table{Caption: "Shares of the birds", Columns: slices.Clone(t.Columns)}
	more.Columns[0].Name = "Share"
	for k := range more.Columns[1:] {
		more.Columns[k+1].Right, more.Columns[k+1].Wide = false, true
	}
	for _, row := range []struct {
		name string
		of   func(c *review.Count) string
	}{
		{"Males among birds of known sex", func(c *review.Count) string { return proportion(c.Sexes.Males) }},
		{"Birds of unknown sex", func(c *review.Count) string { return document.FormatCount(c.Sexes.Unsexed) }},
		{"Adults that bred since the last review", func(c *review.Count) string { return proportion(c.Breeding.All) }},
		{"Sires and dams of the chicks hatched since", func(c *review.Count) string {
			return document.FormatCount(c.Breeding.Sires) + " and " + document.FormatCount(c.Breeding.Dams)
		}},
		{fmt.Sprintf("Chicks of the last %d years that lived to one year", pairing.RecentYears), func(c *review.Count) string { return proportion(c.FirstYear) }},
	} {
		cells := []document.Cell{{Text: row.name}}
		for _, c := range counts {
			cells = append(cells, document.Cell{Text: row.of(c)})
		}
		more.Rows = append(more.Rows, document.Row{Cells: cells})
	}
	blocks := append([]document.Block{t}, b.clutches(counts, names)...)
	blocks = append(blocks, more)
	if !b.r.Whole {
		blocks = append(blocks, document.Paragraph(b.need("the colony", "To have as many birds in the colony a year from now as today", &n.Need)))
	}
	what := "To have as many birds in the programme a year from now as today"
	if need := &n.ProgrammeNeed; need.Target != need.Living {
		what = fmt.Sprintf("To bring the programme from %s to %s in a year, on the way to the goal of %s", document.FormatCount(need.Living), document.FormatThings(need.Target, "bird", "birds"), document.FormatCount(b.p.Settings().GoalBirds))
	}
	blocks = append(blocks, document.Paragraph(b.need("the programme", what, &n.ProgrammeNeed)))
	b.section("The year in numbers", blocks...)
}

// clutches sets what came of the clutches since the last review beside what came of those
// before it, and names the pairs of the colony that laid none.
func (b *reviewBuilder) clutches(counts []*review.Count, names []string) []document.Block {
	any := false
	t := &document.Table{Caption: "Clutches laid since the last review, and in as long a time before it", Columns: []document.Column{{Name: "Clutches", Key: true}}}
	for k, c := range counts {
		any = any || c.Clutches.Clutches+c.ClutchesBefore.Clutches > 0
		t.Columns = append(t.Columns, document.Column{Name: names[k], Right: true}, document.Column{Name: names[k] + ", before", Right: true})
	}
	if !any {
		return nil
	}
	counted := func(of func(*pairing.Broods) *pairing.Counted) func(*pairing.Broods) document.Cell {
		return func(x *pairing.Broods) document.Cell {
			if c := of(x); c.Known() {
				return countCell(c.Sum)
			}
			return document.Cell{Text: document.Unknown}
		}
	}
	for _, row := range []struct {
		name string
		of   func(*pairing.Broods) document.Cell
	}{
		{"Laid", func(x *pairing.Broods) document.Cell { return countCell(x.Clutches) }},
		{"Of these, eggs replaced by dummies or taken", func(x *pairing.Broods) document.Cell { return countCell(x.Dummied) }},
		{"Eggs", counted(func(x *pairing.Broods) *pairing.Counted { return &x.Eggs })},
		{"Fertile", counted(func(x *pairing.Broods) *pairing.Counted { return &x.Fertile })},
		{"Hatched", counted(func(x *pairing.Broods) *pairing.Counted { return &x.Hatched })},
		{"Fledged", counted(func(x *pairing.Broods) *pairing.Counted { return &x.Fledged })},
	} {
		cells := []document.Cell{{Text: row.name}}
		for _, c := range counts {
			cells = append(cells, row.of(&c.Clutches), row.of(&c.ClutchesBefore))
		}
		t.Rows = append(t.Rows, document.Row{Cells: cells})
	}
	blocks := []document.Block{t}
	var pairs []string
	for _, x := range b.r.Numbers.WithoutClutch {
		pairs = append(pairs, b.p.Name(x[0])+" and "+b.p.Name(x[1]))
	}
	if len(pairs) > 0 {
		blocks = append(blocks, document.Paragraph(fmt.Sprintf("Together through the laying months of the last season, of breeding age, and without a clutch of it on record: %s of the colony (%s).",
			document.FormatThings(len(pairs), "pair", "pairs"), strings.Join(pairs, "; "))))
	}
	return blocks
}

// need says how many chicks must hatch for what.
func (b *reviewBuilder) need(whose, what string, n *demography.Need) string {
	if !n.Chicks.Known {
		if !n.Expected.Known {
			return what + ": how many chicks must hatch cannot be said, because the survival of birds of their age is not known."
		}
		return what + ": how many chicks must hatch cannot be said, because no chick is known to have lived to one year."
	}
	of := "by its own records"
	if !n.OwnRecords {
		of = "by the programme's records, because its own are too few"
	}
	span := ""
	if n.Least.Known && n.Most.Known && n.Least != n.Most {
		span = fmt.Sprintf(" (%s to %s, as far as first-year survival is known)", document.FormatNumber(n.Least.Value, 0), document.FormatNumber(n.Most.Value, 0))
	} else if n.Least.Known && !n.Most.Known {
		span = fmt.Sprintf(" (at least %s; how many at most cannot be said)", document.FormatNumber(n.Least.Value, 0))
	}
	if n.Living == 0 {
		return what + ": no bird is alive, so nothing can be said."
	}
	return fmt.Sprintf("%s: %s must hatch next season%s. Of the %s of %s about %s are likely to live another year, %s.",
		what, document.FormatThings(int(n.Chicks.Value), "chick", "chicks"), span, document.FormatThings(n.Living, "bird", "birds"), whose, document.FormatNumber(n.Expected.Value, 0), of)
}

func (b *reviewBuilder) ages() {
	n := b.r.Numbers
	a := n.Colony.Ages
	var blocks []document.Block
	if len(a.Classes) == 0 {
		blocks = append(blocks, document.Paragraph("No bird of the colony has a hatch date, so there is no age structure."))
	} else {
		say := fmt.Sprintf("Half of the colony's birds of known age are %s years old or younger", number(a.Median, places(1)))
		if m := n.Programme.Ages.Median; !b.r.Whole && m.Known {
			say += fmt.Sprintf("; half of the programme's %s", document.FormatNumber(m.Value, 1))
		}
		say += "."
		if a.Vague > 0 {
			say += fmt.Sprintf(" The age of %s may be off by more than half a year.", document.FormatThings(a.Vague, "bird", "birds"))
		}
		if u := a.Unknown.Total(); u > 0 {
			say += fmt.Sprintf(" The age of %s is not known.", document.FormatThings(u, "bird", "birds"))
		}
		blocks = append(blocks, document.Paragraph(say), b.pictureOf(len(b.r.Birds), b.agePyramid))
	}
	switch deaths := n.Survival.Deaths; {
	case len(n.Survival.Steps) == 0:
	case deaths < deathsToTell:
		blocks = append(blocks, document.Paragraph(fmt.Sprintf("How long birds live is not told: %s on record, and it takes %d.", deathsText(deaths), deathsToTell)))
	default:
		blocks = append(blocks, b.survivalFigure(), document.Paragraph(b.survival()))
	}
	if ahead := n.Ahead; len(ahead) > 0 && n.Survival.Deaths >= deathsToTell {
		blocks = append(blocks, document.Paragraph(fmt.Sprintf(
			"If birds go on surviving and breeding as in the last %d years, the programme's %s of known age are about %s in 5 years and %s in %d (Leslie 1945). That knows no plan, no lack of room and no chance: it is a direction, not a promise.", review.AheadBasis,
			document.FormatThings(int(math.Round(ahead[0])), "bird", "birds"), document.FormatNumber(ahead[5], 0), document.FormatNumber(ahead[review.AheadYears], 0), review.AheadYears)))
	}
	b.section("Ages", blocks...)
}

// deathsToTell is how many deaths must be on record before anything is told of how
// long birds live: each of ten moves a share by a tenth at most (common practice,
// no source).
const deathsToTell = 10

func deathsText(deaths float64) string {
	if deaths == 1 {
		return "1 death is"
	}
	return document.FormatNumber(deaths, 0) + " deaths are"
}

// survival says in words how long birds live.
func (b *reviewBuilder) survival() string {
	n := b.r.Numbers
	whose := "the colony's birds"
	if !n.OwnSurvival || b.r.Whole {
		whose = "the programme's birds"
	}
	m := n.Survival.Median()
	say := fmt.Sprintf("Of %s more than half were still alive at the highest age watched.", whose)
	if m.Age.Known {
		say = fmt.Sprintf("Half of %s had died at %s years of age", whose, document.FormatNumber(m.Age.Value, 1))
		switch {
		case m.Low.Known && m.High.Known:
			say += fmt.Sprintf(" (95%% interval %s to %s)", document.FormatNumber(m.Low.Value, 1), document.FormatNumber(m.High.Value, 1))
		case m.Low.Known:
			say += fmt.Sprintf(" (95%% interval from %s on)", document.FormatNumber(m.Low.Value, 1))
		}
		say += "."
	}
	if !n.OwnSurvival {
		say += " They stand in for the colony's, of which too few were watched."
	}
	return say
}

func ageTable(a demography.AgeStructure) *document.Table {
	t := &document.Table{Caption: "The colony by age and sex", Columns: []document.Column{
		{Name: "Age", Unit: "years", Right: true, Key: true}, {Name: "Females", Right: true}, {Name: "Males", Right: true}, {Name: "Sex unknown", Right: true}}}
	for _, c := range a.Classes {
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{countCell(c.Age), countCell(c.Females), countCell(c.Males), countCell(c.Unsexed)}})
	}
	return t
}

// definitions says what was assumed, what the figures mean and where they come
// from, and with what care to read them.
func (b *reviewBuilder) definitions() {
	p := b.p
	assumed := Assumptions(p, ReviewSettings...)
	for _, x := range []struct {
		who string
		demography.BreedingAges
	}{{"females", p.Ages.Female}, {"males", p.Ages.Male}} {
		what, source := agesText(x.who, x.BreedingAges)
		assumed = append(assumed, what+" (from "+source+")")
	}
	assumed = append(assumed,
		"a bird counts from the day it hatched, also one that came from the wild later",
		"chicks of unknown sex count half in the life tables of each sex")
	b.section("Assumptions", document.List(sentences(assumed)))
	b.section("What the figures mean", meanings(b.r.Drop.Iterations, fmt.Sprintf(" (seed %d)", b.r.Drop.Seed)))
	caution := []string{
		"All figures rest on the studbook as it stands. An unknown parent counts as an unrelated founder, so that kinship is too low and gene diversity too high where ancestry is unknown.",
		"Figures from a few birds move by chance from year to year; an interval that is wide is no reason to act.",
		"A pair bond cannot be forced. Parting a pair that is well settled costs more than the figures show; ask those who know the birds.",
		"How long gene diversity lasts is a forecast at the present rate, not a promise.",
	}
	if b.r.Unrelated {
		caution = append(caution, "Kinships among founders are given: gene diversity and kinship use them, the gene drop takes the founders as unrelated.")
	}
	if b.p.Pedigree.Uncertain() {
		caution = append(caution, "Some parents are uncertain: kinships are averages over who they may be.")
	}
	b.section("Cautions", document.List(caution))
}

// nan turns a figure that is not known to NaN, as drawings want it.
func nan(n review.Number) float64 {
	if !n.Known {
		return math.NaN()
	}
	return n.Value
}
