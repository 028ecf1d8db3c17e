package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/drawing"
	"pairwright/pairing/review"
	"pairwright/pedigree"
	"pairwright/pedigree/demography"
)

var rateNames = map[review.RateSource]string{
	review.FromInbreeding: "Inbreeding that the living have come to",
	review.FromBreeders:   "Sires and dams of the last generation",
	review.FromFamilies:   "Families of birds that have died",
}

// diversity tells how gene diversity stands, went and goes on.
func (b *reviewBuilder) diversity() {
	o := b.r.Outlook
	if !o.Now.Known {
		return
	}
	pools := &document.Table{Columns: []document.Column{{Name: "Gene pool", Key: true}, {Name: "Programme", Right: true}}}
	genetics := []review.Genetics{b.r.ProgrammeGenetics}
	if !b.r.Whole {
		pools.Columns = append(pools.Columns, document.Column{Name: "Colony", Right: true})
		genetics = append(genetics, b.r.ColonyGenetics)
	}
	for _, row := range []struct {
		name string
		of   func(g *review.Genetics) document.Cell
	}{
		{"Living birds", func(g *review.Genetics) document.Cell { return countCell(g.Size) }},
		{"Living founders among them", func(g *review.Genetics) document.Cell { return countCell(g.Founders) }},
		{"Gene diversity (mean kinship; founder genome equivalents)", func(g *review.Genetics) document.Cell {
			c := numberCell(g.GeneDiversity, document.FormatDiversity)
			if g.GeneDiversity.Known {
				c.Text += fmt.Sprintf(" (%s; %s)", number(g.MeanKinship, document.FormatMeanKinship), number(g.FounderGenomeEquivalents, places(1)))
			}
			return c
		}},
		{"Gene diversity without living founders", func(g *review.Genetics) document.Cell { return numberCell(g.WithoutFounders, document.FormatDiversity) }},
		{"Mean inbreeding coefficient F", func(g *review.Genetics) document.Cell { return numberCell(g.MeanInbreeding, document.FormatKinship) }},
		{"Founder equivalents", func(g *review.Genetics) document.Cell { return numberCell(g.FounderEquivalents, places(2)) }},
		{"Founder genomes surviving", func(g *review.Genetics) document.Cell {
			return document.Cell{Text: document.FormatPlusMinus(g.GenomesSurviving.Value, g.GenomesSurviving.StandardError, 2), Value: g.GenomesSurviving.Value}
		}},
		{"Effective size, from the inbreeding of the living", func(g *review.Genetics) document.Cell {
			c := numberCell(g.SizeFromInbreeding(), places(0))
			if se := g.SizeError(); se.Known {
				c.Text = document.FormatPlusMinus(g.Realised.Size, se.Value, 0)
			}
			if g.Realised.Size > 0 && g.Realised.Inbred < demography.FewAtRisk {
				c.Text += fmt.Sprintf(" (from %s: a guess)", document.FormatThings(g.Realised.Inbred, "inbred bird", "inbred birds"))
			}
			return c
		}},
		{"Known ancestry", func(g *review.Genetics) document.Cell { return numberCell(g.KnownAncestry, document.FormatPercent) }},
	} {
		cells := []document.Cell{{Text: row.name}}
		for k := range genetics {
			cells = append(cells, row.of(&genetics[k]))
		}
		pools.Rows = append(pools.Rows, document.Row{Cells: cells})
	}
	blocks := []document.Block{pools}
	if taken := takenWildText(b.p); taken != "" {
		blocks = append(blocks, document.Paragraph("Known ancestry rests on this: "+taken))
	}
	blocks = append(blocks, b.lasts()...)
	blocks = append(blocks, b.forward()...)
	b.section("Gene diversity", blocks...)
}

// lasts says how long gene diversity stays above its goal, and how far that is
// to be trusted.
func (b *reviewBuilder) lasts() []document.Block {
	o := b.r.Outlook
	if o.Missed > 0 {
		return []document.Block{document.Paragraph(fmt.Sprintf("The goal of %s is missed already now, by %s; only new founders can bring it back.", document.FormatDiversity(o.Goal), document.FormatDiversity(o.Missed)))}
	}
	f := o.Forecast
	if f == nil {
		return []document.Block{document.Paragraph("How long the gene diversity lasts is not told here: " + withheldText(o.Withheld) + ".")}
	}
	within := f.RateInterval(review.RangeLevel)
	// Four decimals of gene diversity are what the figures are read to.
	perTen := func(rate float64) string { return document.FormatChange(o.Now.Value*(math.Exp(10*rate)-1), 4) }
	say := fmt.Sprintf("From %s to %s gene diversity changed by %s in ten years; as it went up and down, that tells a rate of %s to %s in %s of cases.",
		document.FormatDay(f.From), document.FormatDay(f.To), perTen(f.Rate), perTen(within.Low), perTen(within.High), document.FormatChance(review.RangeLevel))
	if f.CameIn > 0 {
		say += fmt.Sprintf(" In that time %s from outside, which raised it: without more of them it goes down faster.", document.FormatThings(f.CameIn, "bird came", "birds came"))
	}
	switch {
	case f.Held.Known && f.Held.Value < float64(o.Years):
		say += fmt.Sprintf(" Going on so, it falls below %s in about %s years%s.", document.FormatDiversity(o.Goal), document.FormatNumber(f.Held.Value, 0), heldRange(f))
	default:
		say += fmt.Sprintf(" Going on so, it stays above %s for more than %d years%s.", document.FormatDiversity(o.Goal), o.Years, earlyEnd(o))
	}
	if f.Size.Known {
		size := " That is the loss of an effective size of about " + document.FormatNumber(f.Size.Value, 0)
		switch {
		case f.SizeLow.Known && f.SizeHigh.Known:
			size += fmt.Sprintf(" (%s to %s)", document.FormatNumber(f.SizeLow.Value, 0), document.FormatNumber(f.SizeHigh.Value, 0))
		case f.SizeLow.Known:
			size += fmt.Sprintf(" (%s or more)", document.FormatNumber(f.SizeLow.Value, 0))
		}
		if o.Required.Known {
			size += fmt.Sprintf("; %s would just keep the goal for %d years", document.FormatNumber(o.Required.Value, 0), o.Years)
		}
		say += size + "."
	}
	return []document.Block{document.Paragraph(say), document.Paragraph(b.lookedBack())}
}

// forward tells the short forecast with its picture.
func (b *reviewBuilder) forward() []document.Block {
	a := b.r.Forward
	if a == nil {
		return nil
	}
	f := &forecastBuilder{&Forecast{Programme: b.p, Outset: a.Outset, Policies: a.Policies, Options: a.Options}, a.Result}
	say := fmt.Sprintf("Run forward bird by bird (%s; the command forecast makes more and has other ways to choose pairs): ", document.FormatThings(a.Result.Runs, "run", "runs"))
	return []document.Block{document.Paragraph(say + f.lead()), f.figure(drawing.ForecastDiversity)}
}

// withheldText says why there is no forecast.
func withheldText(w *review.Withheld) string {
	switch w.Code {
	case review.TooFewYears:
		return fmt.Sprintf("it takes %d years of gene diversity in a row, %d to tell it from and %d to see whether it came true, and there are %d", w.Want, review.ForecastLeast, review.BackTestYears, w.Have)
	case review.BackTestFailed:
		return fmt.Sprintf("of %s that the same method would have told in earlier years for %d years later, %d came true", document.FormatThings(w.Want, "range", "ranges"), review.BackTestYears, w.Have)
	}
	return "no bird is alive"
}

// lookedBack says what the same method would have said before.
func (b *reviewBuilder) lookedBack() string {
	tests := b.r.Outlook.BackTests
	x := &tests[len(tests)-1]
	held := 0
	for k := range tests {
		if tests[k].Held() {
			held++
		}
	}
	return fmt.Sprintf("Looked back: on %s the same method would have said %s (%s to %s) for %s; it became %s. Of %s that can be looked back to, %d came true; about %s should.",
		document.FormatDay(x.On), document.FormatDiversity(x.Said), document.FormatDiversity(x.Range.Low), document.FormatDiversity(x.Range.High), document.FormatDay(x.Of), document.FormatDiversity(x.Became),
		document.FormatThings(len(tests), "such forecast", "such forecasts"), held, document.FormatChance(review.RangeLevel))
}

// otherSizes lists the ways to tell the effective size by formula, for those
// who know them.
func (b *reviewBuilder) otherSizes() {
	o := b.r.Outlook
	if !o.GenerationLength.Known {
		return
	}
	from := fmt.Sprintf("chicks hatched in the last %d years", review.LengthYears)
	if o.AllChicks {
		from = "all chicks on record"
	}
	t := &document.Table{Columns: []document.Column{
		{Name: "Effective size told from", Key: true}, {Name: "Effective size", Right: true}, {Name: "Share of the living", Right: true},
		{Name: fmt.Sprintf("Gene diversity in %d years", o.Years), Right: true}, {Name: "Above the goal for", Unit: "years", Right: true}}}
	for _, rate := range o.Rates {
		ne := numberCell(rate.Ne, places(0))
		if rate.SE.Known {
			ne.Text = document.FormatPlusMinus(rate.Ne.Value, rate.SE.Value, 0)
		}
		if !rate.Ne.Known {
			ne.Text = "cannot be estimated"
		}
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: rateNames[rate.Source]}, ne, numberCell(rate.Ratio, places(2)),
			numberCell(rate.AtGoalYear, document.FormatDiversity), numberCell(rate.YearsHeld, places(0))}})
	}
	b.section("Effective size by formula", document.Paragraph(fmt.Sprintf(
		"The generation length is %s years, the mean age of the parents of the %s: %d years are %s generations. The formulas look at different times and at different causes of loss and do not agree; the review tells how long gene diversity lasts from the loss that was seen, not from them. Inbreeding tells nothing as long as fewer than %d of the living are inbred.",
		document.FormatNumber(o.GenerationLength.Value, 1), from, o.Years, number(o.Generations, places(1)), demography.FewAtRisk)), t)
}

var kindNames = map[review.CauseKind]string{
	review.HatchHere: "hatched here", review.FounderHere: "came in here from outside the programme", review.Arrival: "arrived",
	review.Departure: "departed", review.DeathHere: "died here", review.HatchElsewhere: "hatched elsewhere",
	review.FounderElsewhere: "came in elsewhere from outside the programme", review.DeathElsewhere: "died elsewhere", review.LeftElsewhere: "left the programme elsewhere",
}

func (b *reviewBuilder) kindName(k review.CauseKind) string {
	name := kindNames[k]
	if b.r.Colony == "" {
		name = strings.TrimSuffix(strings.Replace(name, " here from", " from", 1), " here")
	}
	return name
}

// changes splits the change since the last review into its causes.
func (b *reviewBuilder) changes() {
	c := b.r.Change
	if !b.r.Outlook.Now.Known {
		return
	}
	if len(c.Causes) == 0 {
		b.section("What changed gene diversity", document.Paragraph("Nothing on record since the last review changed who lives in the programme or in the colony."))
		return
	}
	t := &document.Table{Columns: []document.Column{{Name: "Birds that", Key: true}, {Name: "Birds", Right: true}, gainColumn("Programme")}}
	if !b.r.Whole {
		t.Columns = append(t.Columns, gainColumn("Colony"))
	}
	row := func(name string, count int, programme, colony float64) {
		cells := []document.Cell{{Text: name}, countCell(count), gainCell(programme)}
		if !b.r.Whole {
			cells = append(cells, gainCell(colony))
		}
		t.Rows = append(t.Rows, document.Row{Cells: cells})
	}
	for _, s := range c.Sums {
		row(b.kindName(s.Kind), s.Count, s.Programme, s.Colony)
	}
	row("all together", len(c.Causes), c.Programme, c.Colony)
	say := fmt.Sprintf("Since %s the programme's gene diversity went from %s to %s.", document.FormatDay(c.Since),
		number(c.ProgrammeBefore.GeneDiversity, document.FormatDiversity), number(b.r.ProgrammeGenetics.GeneDiversity, document.FormatDiversity))
	if !b.r.Whole {
		say += fmt.Sprintf(" The colony's went from %s to %s.", number(c.ColonyBefore.GeneDiversity, document.FormatDiversity), number(b.r.ColonyGenetics.GeneDiversity, document.FormatDiversity))
	}
	b.section("What changed gene diversity", document.Paragraph(say), t,
		document.Paragraph("Each event counts with its exact effect, given all that came before it; the effects add up to the whole change. A chick hatched beside living parents often lowers gene diversity at first, and a death can raise it: that is no error. The appendix lists the events of the colony."),
		document.Paragraph("The largest effects on the programme:"), document.List(b.largest()))
}

// largest names the events with the largest effects on the programme.
func (b *reviewBuilder) largest() []string {
	causes := slices.Clone(b.r.Change.Causes)
	slices.SortStableFunc(causes, func(x, y review.Cause) int {
		return cmp.Compare(max(y.Programme, -y.Programme), max(x.Programme, -x.Programme))
	})
	var say []string
	for _, c := range causes[:min(5, len(causes))] {
		if c.Programme == 0 {
			break
		}
		say = append(say, fmt.Sprintf("%s %s on %s: %s millionths.", b.p.Name(c.Bird), b.kindName(c.Kind), document.FormatDay(c.Day), millionths(c.Programme)))
	}
	return say
}

// nodeName names a founder node: a bird with its name, or what is unknown.
func (b *reviewBuilder) nodeName(node int) string {
	if i, ok := b.p.Book.Index(b.p.Pedigree.Name(node)); ok && b.p.Pedigree.Kind(node) == pedigree.Bird {
		return b.p.Name(i)
	}
	return b.p.Pedigree.Name(node)
}

func (b *reviewBuilder) founders() {
	r := b.r
	if len(r.Founders) == 0 {
		return
	}
	named, unknown := 0, 0
	var thin []review.Founder
	for _, f := range r.Founders {
		if f.Bird >= 0 {
			named++
		} else {
			unknown++
		}
		if f.AboutToBeLost() {
			thin = append(thin, f)
		}
	}
	say := fmt.Sprintf("Genes of %s on record", document.FormatThings(named, "founder", "founders"))
	if unknown > 0 {
		say += fmt.Sprintf(" and of %s", document.FormatThings(unknown, "unknown parent", "unknown parents"))
	}
	say += " are left in the programme"
	if r.FoundersLost > 0 {
		say += fmt.Sprintf("; %s none", document.FormatThings(r.FoundersLost, "other has", "others have"))
	}
	say += fmt.Sprintf(". Of their genomes %s are left in the programme", document.FormatPlusMinus(r.ProgrammeGenetics.GenomesSurviving.Value, r.ProgrammeGenetics.GenomesSurviving.StandardError, 2))
	if !r.Whole && r.ColonyGenetics.Size > 0 {
		say += fmt.Sprintf(", %s in the colony", document.FormatPlusMinus(r.ColonyGenetics.GenomesSurviving.Value, r.ColonyGenetics.GenomesSurviving.StandardError, 2))
	}
	blocks := []document.Block{document.Paragraph(say + "."), b.pictureOf(len(r.Founders), b.foundersFigure)}
	if len(thin) == 0 {
		blocks = append(blocks, document.Paragraph("No founder's line hangs by one or two birds."))
	} else {
		t := b.founderTable(thin)
		t.Caption = "Lines held by one or two birds"
		t.Columns = slices.Insert(t.Columns, 1, document.Column{Name: "Held by", Wide: true})
		for k, f := range thin {
			var held []string
			for _, c := range f.Carriers {
				held = append(held, b.p.Name(c)+" at "+orUnknown(b.p.Book.Birds[c].Location))
			}
			t.Rows[k].Cells = slices.Insert(t.Rows[k].Cells, 1, document.Cell{Text: strings.Join(held, "; ")})
		}
		blocks = append(blocks, document.Paragraph("When these birds die without chicks, what they alone hold is lost for good: their pairs come first."), t)
	}
	b.section("Founders", blocks...)
}

func (b *reviewBuilder) founderTable(list []review.Founder) *document.Table {
	t := &document.Table{Columns: []document.Column{{Name: "Founder", Key: true}, deciding(document.Column{Name: "Retention", Right: true}), {Name: "In one bird alone", Right: true},
		{Name: "In two", Right: true}, {Name: "Living descendants", Right: true}, {Name: "Lives"}, {Name: "Contribution", Right: true}}}
	if !b.r.Whole {
		t.Columns = append(t.Columns, document.Column{Name: "In the colony", Right: true})
	}
	for _, f := range list {
		lives := "no"
		switch {
		case f.Bird < 0:
			lives = document.Unknown
		case f.Alive:
			lives = "yes"
		}
		cells := []document.Cell{{Text: b.nodeName(f.Node)}, estimateCell(f.Retention), estimateCell(f.InOneBird), estimateCell(f.InTwoBirds), countCell(f.Descendants), {Text: lives}, shareCell(f.Contribution)}
		if !b.r.Whole {
			cells = append(cells, shareCell(f.Colony))
		}
		t.Rows = append(t.Rows, document.Row{Cells: cells})
	}
	return t
}

// estimateCell writes a chance from a gene drop; its standard error is said
// once for all.
func estimateCell(e pedigree.Estimate) document.Cell {
	return document.Cell{Text: document.FormatFraction(e.Value, 3), Value: e.Value}
}

func (b *reviewBuilder) inbred() {
	r := b.r
	if len(r.Inbred) == 0 {
		b.section("Inbreeding", document.Paragraph("No bird of the colony is inbred, as far as its pedigree is known."))
		return
	}
	t := &document.Table{Columns: []document.Column{birdColumn, nameColumn, fColumn, {Name: "Its parents meet in", Wide: true}, {Name: "Founders whose genes meet", Wide: true}}}
	for _, x := range r.Inbred {
		bird := &b.p.Book.Birds[x.Bird]
		var through, from []string
		for _, m := range x.Through {
			name := b.p.Pedigree.Name(m.Ancestor)
			if m.With != m.Ancestor {
				name += " and its relative " + b.p.Pedigree.Name(m.With)
			}
			through = append(through, name+" "+document.FormatKinship(m.Contribution))
		}
		for _, s := range x.Founders {
			from = append(from, b.p.Pedigree.Name(s.Node)+" "+document.FormatPercent(s.Part/x.Inbreeding))
		}
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: bird.ID, Link: anchor(bird.ID)}, {Text: bird.Name}, kinshipCell(x.Inbreeding),
			{Text: document.FormatList(through, 4)}, {Text: document.FormatList(from, 4)}}})
	}
	t.More = leftOut(len(r.Inbred), r.InbredAll, "inbred birds", "the bird command tells of each")
	say := fmt.Sprintf("%s of the colony's %s %s inbred; mean F of the colony is %s.", document.FormatCount(r.InbredAll), document.FormatThings(r.ColonyGenetics.Size, "bird", "birds"),
		plural(r.InbredAll, "is", "are"), number(r.ColonyGenetics.MeanInbreeding, document.FormatKinship))
	b.section("Inbreeding", document.Paragraph(say), t)
}

// tables holds the long tables.
func (b *reviewBuilder) tables() {
	r := b.r
	if len(r.Founders) > 0 {
		b.section("All founders", b.founderTable(r.Founders))
	}
	if len(r.History) > 0 {
		b.section("Gene pool year by year", b.historyTable())
		b.otherSizes()
	}
	if years := r.Numbers.ByYear; len(years) > 0 {
		t := &document.Table{Caption: "The colony's comings and goings", Columns: []document.Column{{Name: "Year", Key: true}, {Name: "Begin", Right: true}, {Name: "Hatched", Right: true}, {Name: "From outside", Right: true},
			{Name: "Arrived", Right: true}, {Name: "Departed", Right: true}, {Name: "Died", Right: true}, {Name: "End", Right: true}}}
		for _, l := range years {
			cells := []document.Cell{{Text: fmt.Sprint(l.To.Time().Year())}}
			for _, n := range []int{l.Start, l.Hatched, l.Founders, l.Arrived, l.Departed, l.Died, l.End} {
				cells = append(cells, countCell(n))
			}
			t.Rows = append(t.Rows, document.Row{Cells: cells})
		}
		b.section("The colony year by year", t)
	}
	b.lifeTables()
	if causes := r.Change.Causes; len(causes) > 0 {
		home := slices.DeleteFunc(slices.Clone(causes), func(c review.Cause) bool { return elsewhere[c.Kind] })
		if len(home) > 0 {
			t := b.eventTable(home[:min(eventsShown, len(home))])
			t.More = leftOut(len(t.Rows), len(home), "events", "the workbook and the JSON format have all")
			b.section("Events of the colony", t)
		}
		b.add(document.Section{Title: "Events of the programme", Data: true, Blocks: []document.Block{b.eventTable(causes)}})
	}
	if ages := r.Numbers.Colony.Ages; len(ages.Classes) > 0 {
		b.add(document.Section{Title: "Ages of the colony", Data: true, Blocks: []document.Block{ageTable(ages)}})
	}
	if len(r.All) > 0 {
		b.add(document.Section{Title: "Birds of the programme", Data: true, Blocks: Birds(b.p, r.All).Sections[0].Blocks})
	}
}

// elsewhere are the kinds of events that no bird of the colony had a part in.
var elsewhere = map[review.CauseKind]bool{review.HatchElsewhere: true, review.FounderElsewhere: true, review.DeathElsewhere: true, review.LeftElsewhere: true}

// eventTable lists events with their effects on gene diversity.
func (b *reviewBuilder) eventTable(causes []review.Cause) *document.Table {
	t := &document.Table{Columns: []document.Column{{Name: "Day", Key: true}, {Name: "Bird", Key: true}, nameColumn, {Name: "What happened"}, gainColumn("Programme")}}
	if !b.r.Whole {
		t.Columns = append(t.Columns, gainColumn("Colony"))
	}
	for _, c := range causes {
		bird := &b.p.Book.Birds[c.Bird]
		what := b.kindName(c.Kind)
		switch {
		case c.Kind == review.Arrival:
			what += " from " + orUnknown(c.From)
		case c.Kind == review.Departure:
			what += " for " + orUnknown(c.To)
		case elsewhere[c.Kind]:
			what = strings.Replace(what, "elsewhere", "at "+orUnknown(c.To), 1)
		}
		cells := []document.Cell{{Text: c.Day.String(), Value: c.Day}, {Text: bird.ID, Link: anchor(bird.ID)}, {Text: bird.Name}, {Text: what}, gainCell(c.Programme)}
		if !b.r.Whole {
			cells = append(cells, gainCell(c.Colony))
		}
		t.Rows = append(t.Rows, document.Row{Cells: cells})
	}
	return t
}

func (b *reviewBuilder) historyTable() *document.Table {
	t := &document.Table{Columns: []document.Column{{Name: "End of", Key: true}, {Name: "Birds", Right: true}, {Name: "Gene diversity", Right: true}, {Name: "Without founders", Right: true},
		{Name: "Mean F", Right: true}}}
	if !b.r.Whole {
		t.Columns = append(t.Columns, document.Column{Name: "Birds of the colony", Right: true}, document.Column{Name: "Its gene diversity", Right: true})
	}
	for _, y := range b.r.History {
		when := fmt.Sprint(y.Day.Time().Year())
		if y.Day == b.p.Book.AsOf {
			when = "today"
		}
		f := &y.Programme
		cells := []document.Cell{{Text: when}, countCell(f.Size), numberCell(f.GeneDiversity, document.FormatDiversity), numberCell(f.WithoutFounders, document.FormatDiversity),
			numberCell(f.MeanInbreeding, document.FormatKinship)}
		if !b.r.Whole {
			cells = append(cells, countCell(y.Colony.Size), numberCell(y.Colony.GeneDiversity, document.FormatDiversity))
		}
		t.Rows = append(t.Rows, document.Row{Cells: cells})
	}
	return t
}

func (b *reviewBuilder) lifeTables() {
	for _, x := range []struct {
		name string
		*review.Table
	}{{"females", &b.r.Numbers.Females}, {"males", &b.r.Numbers.Males}} {
		if len(x.Classes) == 0 {
			continue
		}
		whose := "the programme's, because too few were watched in the colony"
		switch {
		case b.r.Whole || b.r.Colony == "":
			whose = "the programme's"
		case x.Own:
			whose = "the colony's"
		}
		deaths := 0.0
		for _, c := range x.Classes {
			deaths += c.Deaths
		}
		if deaths < deathsToTell {
			b.section("Life table of "+x.name, document.Paragraph(fmt.Sprintf("There is none: %s on record, and it takes %d.", deathsText(deaths), deathsToTell)))
			continue
		}
		t := &document.Table{Columns: []document.Column{{Name: "Age", Unit: "years", Right: true, Key: true}, {Name: "Reach it", Unit: "l", Right: true}, deciding(document.Column{Name: "Live a year more", Unit: "p", Right: true}), {Name: "95% interval", Unit: "of p"},
			{Name: "Chicks", Unit: "m", Right: true}, {Name: "Of all birds", Unit: "stable", Right: true}, {Name: "Watched", Unit: "birds", Right: true}, {Name: "Watched", Unit: "bird-years", Right: true}, {Name: "Died", Right: true}, {Name: "Note"}}}
		for _, c := range x.Classes {
			span, note, stable := document.Unknown, "", document.Cell{Text: document.Unknown}
			if c.Age < len(x.Stable) {
				stable = shareCell(x.Stable[c.Age])
			}
			if c.Q.Known {
				span = document.FormatProbability(1-c.QExact.High) + " to " + document.FormatProbability(1-c.QExact.Low)
			}
			if c.TooFew {
				note = "too few to judge"
			}
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{countCell(c.Age), numberCell(c.L, places(3)), numberCell(c.P, places(3)), {Text: span}, numberCell(c.M, places(3)), stable,
				{Text: document.FormatNumber(c.AtRisk, 1), Value: c.AtRisk}, {Text: document.FormatNumber(c.Exposure, 1), Value: c.Exposure}, {Text: document.FormatNumber(c.Deaths, 1), Value: c.Deaths}, {Text: note}}})
		}
		blocks := []document.Block{document.Paragraph(fmt.Sprintf("The table is %s. l: the share of hatched birds that reach the age; p: of those, the share that live another year; m: chicks of the same sex in the year; stable: the share of each age once birds have lived so for long. %s", whose, growth(x.Table)))}
		b.section("Life table of "+x.name, append(blocks, t)...)
	}
}

// growth says what a life table means for numbers.
func growth(t *review.Table) string {
	g := t.Growth
	if !g.R.Known {
		return "A rate of growth cannot be told from it."
	}
	say := fmt.Sprintf("Lived for long, it means numbers times %s a year (r = %s), %s chicks of the same sex in a life, and a generation length of %s years (Euler–Lotka).",
		document.FormatNumber(g.Lambda.Value, 3), document.FormatChange(g.R.Value, 3), document.FormatNumber(g.R0, 2), number(g.GenerationLength, places(1)))
	if t.Open() {
		say += " Birds live past its last age, so that these are somewhat too low."
	}
	return say
}
