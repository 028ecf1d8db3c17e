package report

import (
	"fmt"
	"math"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/drawing"
	"pairwright/pairing/forecast"
	"pairwright/pedigree/studbook"
)

// WhatIfDocument lays out a programme with changes beside the programme as it is:
// the courses of the result come in pairs, the one with the changes second.
func WhatIfDocument(x *Forecast, changes []studbook.Supposition, r *forecast.Result) *document.Document {
	b := &forecastBuilder{x, r}
	d := &document.Document{
		Title: fmt.Sprintf("What if: %s, %d to %d", b.whose(), x.FirstYear(), x.FirstYear()+x.Options.Years), Lead: b.whatIfLead(changes), Footer: Advice,
		Facts: document.Facts{
			{Name: "Runs", Value: strings.Replace(b.runs(), "of each policy", "of each", 1)},
			{Name: "Goal", Value: fmt.Sprintf("a gene diversity of %s for %s", document.FormatDiversity(x.Options.Goal), document.FormatThings(x.Options.Years, "year", "years"))},
		}, About: about(x.Programme),
	}
	add := func(title string, blocks ...document.Block) {
		d.Sections = append(d.Sections, document.Section{Title: title, Blocks: blocks})
	}
	add("What is changed", document.List(ChangeTexts(x, changes)))
	for k := 0; k < len(r.Courses); k += 2 {
		add("With pairs chosen by "+lower(policyName(r.Courses[k].Policy)), b.differences(k), b.differenceFigure(k), b.differencesByYear(k))
	}
	add("How pairs are chosen", b.ways())
	add("What it rests on", b.rates())
	d.Notes = append(b.notes(), "Both programmes meet the same luck in each run, and the difference is taken run for run: with its 95% interval it says what the changes bring, whatever else comes. The changes are made at the start, founders come in their year.")
	d.Notes = append(d.Notes, sentences(Assumptions(x.Programme, forecastSettings...))...)
	return d
}

// sureDifference reports whether a difference is more than chance.
func sureDifference(m forecast.Mean) bool { return math.Abs(m.Value) > sure*m.SE && m.Value != 0 }

// whatIfLead says what the changes bring under the first policy.
func (b *forecastBuilder) whatIfLead(changes []studbook.Supposition) string {
	c := b.r.Courses[1].Against[0]
	say := ""
	if b.r.Runs < b.Options.Runs {
		say = fmt.Sprintf("Stopped early: all figures rest on %s of %s runs. ", document.FormatCount(b.r.Runs), document.FormatCount(b.Options.Runs))
	}
	if len(changes) == 0 {
		return say + "The file has no change, so nothing differs."
	}
	end := b.FirstYear() + b.Options.Years
	if sureDifference(c.GeneDiversity) {
		word := "higher"
		if c.GeneDiversity.Value < 0 {
			word = "lower"
		}
		say += fmt.Sprintf("With %s, gene diversity in %d is %s %s (± %s).", document.FormatThings(len(changes), "change", "changes"), end,
			document.FormatFraction(math.Abs(c.GeneDiversity.Value), 5), word, document.FormatFraction(sure*c.GeneDiversity.SE, 5))
	} else {
		say += fmt.Sprintf("With %s, gene diversity in %d differs by less than so many runs can tell.", document.FormatThings(len(changes), "change", "changes"), end)
	}
	if sureDifference(c.Kept) {
		say += fmt.Sprintf(" The goal is kept %s years on average.", document.FormatChange(c.Kept.Value, 0))
	} else {
		say += fmt.Sprintf(" The goal is held in %s as things are, with the changes in %s.", b.ofRuns(&b.r.Courses[0]), b.ofRuns(&b.r.Courses[1]))
	}
	if n := int(math.Round(math.Abs(c.Moves.Value))); sureDifference(c.Moves) && n > 0 {
		more, are := "more", "are"
		if c.Moves.Value < 0 {
			more = "fewer"
		}
		if n == 1 {
			are = "is"
		}
		say += fmt.Sprintf(" %s %s %s made after them.", document.FormatThings(n, "move", "moves"), more, are)
	}
	return say
}

// differences holds the two courses of a policy against each other.
func (b *forecastBuilder) differences(k int) document.Block {
	t := &document.Table{
		Columns: []document.Column{{Name: "Figure", Key: true}, {Name: "As things are", Right: true}, {Name: "With the changes", Right: true}, {Name: "Difference, run for run", Right: true}},
		More:    fmt.Sprintf("At the end of %d; moves, partings and chicks over all years. %s; differences are means with their 95%% intervals.", b.FirstYear()+b.Options.Years, b.ranges()),
	}
	is, with := &b.r.Courses[k], &b.r.Courses[k+1]
	diff := with.Against[k]
	a, z := &is.Years[b.Options.Years], &with.Years[b.Options.Years]
	row := func(name string, one, other document.Cell, m forecast.Mean, decimals int) {
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: name}, one, other, {Text: plusMinus(m, document.FormatChange(m.Value, decimals), decimals), Value: m.Value}}})
	}
	held := forecast.Mean{Value: 100 * diff.GoalHeld.Value, SE: 100 * diff.GoalHeld.SE}
	row("Goal held, % of runs", chanceCell(is.GoalHeld), chanceCell(with.GoalHeld), held, 0)
	row("Goal kept, years", spread(is.Kept, b.kept), spread(with.Kept, b.kept), diff.Kept, 1)
	row("Gene diversity", spread(a.GeneDiversity, document.FormatDiversity), spread(z.GeneDiversity, document.FormatDiversity), diff.GeneDiversity, 5)
	row("Mean F", spread(a.Inbreeding, document.FormatKinship), spread(z.Inbreeding, document.FormatKinship), diff.Inbreeding, 5)
	alleles := forecast.Mean{Value: 100 * diff.Alleles.Value, SE: 100 * diff.Alleles.SE}
	row("Founder genes left, %", spread(a.Alleles, document.FormatPercent), spread(z.Alleles, document.FormatPercent), alleles, 1)
	row("Living birds", spread(a.Size, places(0)), spread(z.Size, places(0)), diff.Size, 0)
	row("Moves", meanCell(is.Moves), meanCell(with.Moves), diff.Moves, 0)
	row("Partings", meanCell(is.Partings), meanCell(with.Partings), diff.Partings, 0)
	row("Chicks", meanCell(is.Chicks), meanCell(with.Chicks), diff.Chicks, 0)
	return t
}

// differenceFigure draws the difference in gene diversity year by year.
func (b *forecastBuilder) differenceFigure(k int) document.Block {
	panel := drawing.ForecastPanel{Name: "With the changes less as things are"}
	for y := range b.r.Courses[k+1].Years {
		m := b.r.Courses[k+1].Years[y].Ahead[k]
		low, high := m.Value-sure*m.SE, m.Value+sure*m.SE
		panel.Years = append(panel.Years, drawing.ForecastBand{Median: m.Value, Low80: low, High80: high, Low95: low, High95: high})
	}
	return drawing.ForecastFigure(drawing.ForecastPlot{Of: drawing.ForecastDifference, First: b.FirstYear(), Panels: []drawing.ForecastPanel{panel}})
}

// differencesByYear tables gene diversity of both courses.
func (b *forecastBuilder) differencesByYear(k int) document.Block {
	t := &document.Table{Caption: "Gene diversity: medians, and the mean difference with its 95% interval", Columns: []document.Column{
		{Name: "End of", Key: true}, {Name: "As things are", Right: true}, {Name: "With the changes", Right: true}, {Name: "Difference", Right: true}}}
	for _, y := range b.shown() {
		is, with := &b.r.Courses[k].Years[y], &b.r.Courses[k+1].Years[y]
		m := with.Ahead[k]
		text := plusMinus(m, document.FormatChange(m.Value, 5), 5)
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{
			b.yearCell(y), median(is.GeneDiversity, document.FormatDiversity), median(with.GeneDiversity, document.FormatDiversity), {Text: text, Value: m.Value},
		}})
	}
	return t
}

// ChangeTexts says each change in a sentence.
func ChangeTexts(x *Forecast, changes []studbook.Supposition) []string {
	p := x.Programme
	say := []string{}
	for k := range changes {
		c := &changes[k]
		var birds []string
		for _, id := range c.Birds {
			name := id
			if i, ok := p.Book.Index(id); ok {
				name = p.Name(i)
			}
			birds = append(birds, name)
		}
		to := ""
		if c.To != "" {
			to = p.Place(c.To)
		}
		say = append(say, changeText(c, birds, to))
	}
	return say
}

func changeText(c *studbook.Supposition, birds []string, to string) string {
	number := int(c.Number)
	switch c.What {
	case studbook.SupposeMove:
		text := birds[0] + " moves to " + to
		if len(birds) == 2 {
			text += ", to " + birds[1] + " as its mate"
		}
		return text + "."
	case studbook.SupposeBond:
		text := birds[0] + " and " + birds[1] + " become a pair"
		if to != "" {
			text += " at " + to
		}
		return text + "."
	case studbook.SupposeHatch:
		return fmt.Sprintf("%s and %s may hatch %s in the first season.", birds[0], birds[1], document.FormatThings(c.Chicks, "chick", "chicks"))
	case studbook.SupposePart:
		return document.FormatList(birds, 0) + partedText(len(birds))
	case studbook.SupposeLeave:
		if to != "" {
			return to + " leaves the programme, with all its birds."
		}
		if len(birds) == 1 {
			return birds[0] + " leaves the programme."
		}
		return document.FormatList(birds, 10) + " leave the programme."
	case studbook.SupposeFounder:
		one, many, come := "new unrelated bird", "new unrelated birds", " come"
		switch c.Sex {
		case studbook.Female:
			one, many = "new unrelated female", "new unrelated females"
		case studbook.Male:
			one, many = "new unrelated male", "new unrelated males"
		}
		if number = max(1, number); number == 1 {
			come = " comes"
		}
		text := document.FormatThings(number, one, many) + come
		if to != "" {
			text += " to " + to
		}
		if c.Year >= 0 {
			text += fmt.Sprintf(" in %d", c.Year)
		}
		return text + "."
	}
	if number < 0 {
		return to + " has " + document.FormatThings(-number, "place", "places") + " fewer."
	}
	return to + " has " + document.FormatThings(number, "place", "places") + " more."
}

func partedText(birds int) string {
	if birds == 1 {
		return " is parted from its mate."
	}
	return " are parted."
}
