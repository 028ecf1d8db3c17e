package report

import (
	"fmt"
	"math"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing/forecast"
)

// NeedDocument lays out what it takes to hold the goal.
func NeedDocument(x *Forecast, n *forecast.Need) *document.Document {
	goal := fmt.Sprintf("a gene diversity of %s for %s", document.FormatDiversity(x.Options.Goal), document.FormatThings(n.Years, "year", "years"))
	d := &document.Document{
		Title: "What it takes to hold the goal", Lead: needLead(n, goal) + leftText(n), Footer: Advice,
		Facts: document.Facts{
			{Name: "Goal", Value: goal + ", with a chance of " + document.FormatChance(n.Chance)},
			{Name: "Birds at the end", Value: spread(n.Birds, places(0)).Text + rangeText(n)},
			{Name: "Pairs chosen by", Value: lower(policyName(x.Policies[0].Name()))},
			{Name: "Runs", Value: fmt.Sprintf("%s of each number tried, all on the same luck; seed %d", document.FormatCount(n.Runs), x.Options.Seed)},
		}, About: about(x.Programme),
	}
	b := &forecastBuilder{Forecast: x}
	d.Sections = []document.Section{{Title: "What it rests on", Blocks: []document.Block{b.rates()}}}
	d.Notes = append([]string{
		"Found by halving: each number tried is run as often as the others and on the same luck, and more is taken to do no worse. The interval holds the numbers that so few runs cannot tell from the one found (95%, Wilson 1927).",
		needNote(x, n),
		"A forecast is what the rates of the past lead to, not a promise.",
	}, sentences(Assumptions(x.Programme, forecastSettings...))...)
	return d
}

// rangeText says what the range of the birds at the end is, and how many are wanted.
func rangeText(n *forecast.Need) string {
	if n.Birds.Low80 == n.Birds.High80 {
		return fmt.Sprintf(", of %s wanted", document.FormatCount(n.Wanted))
	}
	return fmt.Sprintf(" in 80%% of the runs, of %s wanted", document.FormatCount(n.Wanted))
}

// needLead says what it takes.
func needLead(n *forecast.Need, goal string) string {
	chance := document.FormatChance(n.Chance)
	switch {
	case n.Never:
		return fmt.Sprintf("Not even %s would hold %s with a chance of %s.", quantity(n.Quantity, n.Tried), goal, chance)
	case n.None:
		return fmt.Sprintf("None: %s is held with a chance of %s as things are, without new founders.", goal, document.FormatChance(n.Held))
	}
	say := fmt.Sprintf("It takes %s to hold %s with a chance of %s", quantity(n.Quantity, n.Least), goal, chance)
	if n.Low == n.Least && n.High == n.Least {
		return say + "."
	}
	high := "more than the most that was tried, " + quantity(n.Quantity, n.Tried)
	if n.High != forecast.Beyond {
		high = quantity(n.Quantity, n.High)
	}
	return say + fmt.Sprintf("; %s leave it open between %s and %s.", document.FormatThings(n.Runs, "run", "runs"), quantity(n.Quantity, n.Low), high)
}

// leftText says how many birds are left where that is fewer than are wanted, as nobody keeps
// a programme for its genes alone; "" of others.
func leftText(n *forecast.Need) string {
	if n.Quantity != forecast.ChicksAYear || n.Birds.Median >= float64(n.Wanted) {
		return ""
	}
	return fmt.Sprintf(" That holds the genes, not the number: after %s %s left, and %s are wanted, which takes about %s.", document.FormatThings(n.Years, "year", "years"),
		document.FormatThings(int(math.Round(n.Birds.Median)), "bird is", "birds are"), document.FormatCount(n.Wanted), quantity(n.Quantity, n.Hold))
}

func quantity(q forecast.Quantity, n int) string {
	switch q {
	case forecast.ChicksAYear:
		return document.FormatThings(n, "chick", "chicks") + " a year"
	case forecast.FounderEvery:
		switch n {
		case 0:
			return "none"
		case 1:
			return "a new unrelated bird every year"
		}
		return fmt.Sprintf("a new unrelated bird every %d years", n)
	}
	return "places for " + document.FormatThings(n, "living bird", "living birds")
}

// needNote says what else is held still.
func needNote(x *Forecast, n *forecast.Need) string {
	switch n.Quantity {
	case forecast.ChicksAYear:
		return "The chicks are wanted each year, whatever the number of birds, and room is found for them all."
	case forecast.FounderEvery:
		return fmt.Sprintf("The new birds are related to none, of breeding age and of either sex by chance; %s birds are wanted and the places are those of today.", document.FormatCount(x.Outset.Rules.Birds))
	}
	return "The number of birds grows or shrinks to it within ten years and is then held; at every place there is taken to be room."
}
