package report

import (
	"fmt"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
)

// PlanDocument lays out the season's decision; why says where the number of
// chicks wanted comes from.
func PlanDocument(p *pairing.Programme, plan *pairing.Plan, why string) *document.Document {
	place := plan.Options.Place
	if plan.Options.Whole {
		place = ""
	}
	d := &document.Document{
		Title: fmt.Sprintf("Plan for the season %d", plan.Decision.Season.Year), Lead: PlanLead(p, plan), Footer: Advice,
		Facts: document.Facts{
			{Name: "For", Value: colonyName(p, place)},
			{Name: "Chicks wanted", Value: document.FormatCount(plan.Wanted) + ", " + why},
		}, About: about(p),
		Sections: planSections(p, plan),
	}
	d.Notes = append(planNotes(p, plan), sentences(Assumptions(p, planSettings...))...)
	if text := NoSeasonText(p); text != "" {
		d.Notes = append(d.Notes, Sentence(text))
	}
	return d
}

// planSettings are the settings whose defaults a plan names.
var planSettings = []string{
	"chicks_per_season", "chicks_per_pair", "seasons_ahead", "limits.inbreeding", "limits.preferred_inbreeding", "lethal_equivalents",
	"moves.least_gain", "moves.ahead", "incubation.candling_days", "incubation.settled_days",
}

// PlanLead is the plan in three sentences: what is to be expected, who is to be
// paired, what it is worth; and who seems to be paired besides.
func PlanLead(p *pairing.Programme, plan *pairing.Plan) string {
	return strings.Join([]string{expectedText(p, plan), newPairsText(p, plan), worthText(plan)}, " ") + seemPairedText(p)
}

// expectedText says what is to be expected of the season.
func expectedText(p *pairing.Programme, plan *pairing.Plan) string {
	planned, reserves := pairsOf(plan, pairing.Planned), pairsOf(plan, pairing.Reserve)
	if plan.Wanted == 0 {
		return "No chicks are wanted: every egg is replaced as it is laid" + butForProgramme(p, plan) + "."
	}
	say := fmt.Sprintf("%s wanted", document.FormatThings(plan.Wanted, "chick is", "chicks are"))
	if plan.Hatched > 0 {
		say += fmt.Sprintf(" and %s hatched", document.FormatThings(plan.Hatched, "has", "have"))
	}
	if len(planned)+len(reserves) == 0 {
		if full := plan.FullPlaces(); len(full) > 0 {
			return say + "; there is no room for a chick at " + document.FormatList(full, 4) + "."
		}
		if plan.NoPairs != nil {
			return say + "; no pair can breed: " + planText(p, plan.NoPairs) + "."
		}
		return say + "; no pair may hatch any."
	}
	say += "; " + document.FormatThings(len(planned), "planned pair", "planned pairs")
	if len(reserves) > 0 {
		say += " and " + document.FormatThings(len(reserves), "reserve", "reserves")
	}
	hatched := float64(plan.Hatched)
	say += fmt.Sprintf(" should bring %s", document.FormatNumber(plan.Expected-hatched, 1))
	if plan.Hatched > 0 {
		say += " more"
	}
	say += " on average"
	if len(reserves) > 0 {
		say += " if all of them keep their eggs"
	}
	if plan.Hatched < plan.Wanted {
		say += fmt.Sprintf(", with a chance of %s that there are enough", document.FormatChance(plan.ChanceEnough))
	}
	say += "."
	if spared := document.FormatNumber(plan.InTurn-hatched, 1); len(reserves) > 0 && spared != document.FormatNumber(plan.Expected-hatched, 1) {
		say += fmt.Sprintf(" If the reserves stop once enough have hatched, %s come.", spared)
	}
	if plan.Shortfall > 0 {
		say += fmt.Sprintf(" That is %s short: %s.", howShort(plan), whyShort(p, plan))
	}
	if len(plan.Spare) > 0 {
		var names []string
		for _, x := range plan.Spare {
			names = append(names, p.Name(x.Female)+" with "+p.Name(x.Male))
		}
		say += " For numbers alone these could be paired too, though their chicks would do less for the genes than those of the average pair: " + document.FormatList(names, 4) + "."
	}
	return say
}

// butForProgramme excepts, of a colony among others, the pairs of which the plan of all of
// them wants chicks, and the other way round.
func butForProgramme(p *pairing.Programme, plan *pairing.Plan) string {
	var disputed []*pairing.PlannedPair
	asked := false
	for k := range plan.Pairs {
		x := &plan.Pairs[k]
		asked = asked || x.Other != nil
		if x.Disputed() {
			disputed = append(disputed, x)
		}
	}
	switch {
	case len(p.Book.Locations()) < 2 || asked && len(disputed) == 0:
		return ""
	case asked:
		return ", but none of a pair that " + otherPlanName(p, plan) + " wants chicks of, before that is settled"
	case plan.Options.Whole:
		return ""
	}
	return ", but none of a pair that the plan of the whole programme wants chicks of"
}

// otherPlanName names the plan that another is held against.
func otherPlanName(p *pairing.Programme, plan *pairing.Plan) string {
	if plan.Options.Whole {
		return "its colony's own plan"
	}
	return "the plan of the whole programme"
}

// otherPlanText says what the other plan asks of a pair that rests in this one, and what to
// do about it.
func otherPlanText(p *pairing.Programme, r *pairing.Reason) string {
	whose, settle := "the programme's plan", "settle with the coordinator before any egg is taken"
	if r.To != "" {
		whose, settle = "the plan of "+r.To+" for itself", r.To+" and the coordinator settle that before any egg is taken"
	}
	chicks := document.FormatThings(r.Count, "chick", "chicks")
	if r.Is(pairing.OtherReserves) {
		return fmt.Sprintf("%s has it in reserve for %s: %s", whose, chicks, settle)
	}
	return fmt.Sprintf("%s has it hatch %s: %s", whose, chicks, settle)
}

// howShort says how many chicks lack, in tenths.
func howShort(plan *pairing.Plan) string {
	if plan.Shortfall < 0.05 {
		return "less than 0.1"
	}
	return document.FormatNumber(plan.Shortfall, 1)
}

// whyShort says why fewer chicks are to be expected than are wanted.
func whyShort(p *pairing.Programme, plan *pairing.Plan) string {
	if plan.NoPairs != nil {
		return "no pair can breed: " + planText(p, plan.NoPairs)
	}
	full := plan.FullPlaces()
	if len(full) == 0 {
		return "all pairs that may breed are too few, so every one of them keeps its eggs"
	}
	say := "there is no room for more chicks at " + document.FormatList(full, 4)
	if slices.ContainsFunc(plan.Pairs, func(x pairing.PlannedPair) bool { return !slices.Contains(full, x.Place) && x.HatchUpTo > 0 }) {
		say += ", and every pair elsewhere that may breed keeps its eggs"
	}
	return say
}

func pairsOf(plan *pairing.Plan, role pairing.Role) []*pairing.PlannedPair {
	var pairs []*pairing.PlannedPair
	for k := range plan.Pairs {
		if plan.Pairs[k].Role == role {
			pairs = append(pairs, &plan.Pairs[k])
		}
	}
	return pairs
}

// newPairsText names the new pairs.
func newPairsText(p *pairing.Programme, plan *pairing.Plan) string {
	var say []string
	for k := range plan.Pairs {
		x := &plan.Pairs[k]
		if x.Kind != pairing.BondNew {
			continue
		}
		text := p.Name(x.Female) + " with " + p.Name(x.Male)
		if m := x.Move; m != nil {
			text += fmt.Sprintf(" (%s moves from %s to %s%s%s)", p.Book.Birds[m.Bird].ID, orUnknown(m.From), m.To, placeHeed(p, m.Bird, m.To), undoneHeed(p, x.UndoneBy))
		} else if u := x.UndoneBy; u != nil {
			text += " (" + undoneText(p, u) + ")"
		}
		say = append(say, text)
	}
	if len(say) == 0 {
		return "No new pair is formed."
	}
	return "New pairs: " + document.FormatList(say, 6) + "."
}

// worthText says how good the broods are.
func worthText(plan *pairing.Plan) string {
	if len(pairsOf(plan, pairing.Planned)) == 0 {
		return ""
	}
	text := "A chick of any pair would do the same for gene diversity."
	if !plan.Decision.AllAlike() {
		text = fmt.Sprintf("The planned chicks come from pairs that are ahead of %s in a hundred of the programme's possible pairs.", document.FormatOfHundred(plan.AheadOf))
		if plan.AheadOf < 0.5 { // equals say nothing against them
			text = fmt.Sprintf("Of the programme's possible pairs %s are better, on average, than those that the planned chicks come from, and %s worse.", document.FormatPercent(plan.Behind), document.FormatPercent(plan.AheadOf))
		}
	}
	return text
}

// planSections are the tables of a plan.
func planSections(p *pairing.Programme, plan *pairing.Plan) []document.Section {
	var sections []document.Section
	add := func(title string, blocks ...document.Block) {
		sections = append(sections, document.Section{Title: title, Blocks: blocks})
	}
	if len(plan.Eggs) > 0 {
		add("Eggs that lie there now", eggTable(p, plan))
	}
	if plan.Options.Whole || len(plan.Pairs) > 0 {
		add("Step by step", document.List(PlanSteps(p, plan)))
	}
	if len(plan.Pairs) > 0 {
		add("Pairs", document.Paragraph(pairKinshipText(p)), pairTable(p, plan))
	}
	if n := len(plan.Unpaired); n > 0 {
		alone := make([]*pairing.Alone, n)
		for k := range alone {
			alone[k] = &plan.Unpaired[k]
		}
		add("Birds without a mate", aloneBlocks(p, alone)...)
	}
	if len(plan.Young) > 0 {
		add("Young birds", youngTable(p, plan.Young))
	}
	if len(plan.InTheWay) > 0 {
		add("Bonds that stand in the way", obstacles(p, plan)...)
	}
	if len(plan.Pairs) > 0 {
		add("What it is worth", worthFacts(plan))
	}
	return sections
}

// PlanSteps says in what order eggs are kept.
func PlanSteps(p *pairing.Programme, plan *pairing.Plan) []string {
	set := p.Settings()
	names := func(pairs []*pairing.PlannedPair, limit bool) string {
		var say []string
		for _, x := range pairs {
			text := p.Name(x.Female) + " and " + p.Name(x.Male)
			if x.Kind == pairing.BondNew && !limit {
				text += heed(p, x.Female, x.Male)
			}
			if limit {
				text += fmt.Sprintf(" (up to %d)", x.HatchUpTo)
			}
			say = append(say, text)
		}
		return strings.Join(say, "; ")
	}
	planned, reserves := pairsOf(plan, pairing.Planned), pairsOf(plan, pairing.Reserve)
	var rest, neverFertile, clear, late, disputed, raising, untold []*pairing.PlannedPair
	for _, x := range pairsOf(plan, pairing.Rest) {
		why, occupied := x.Occupied()
		switch {
		case occupied && why.Is(pairing.RaisesChicks):
			raising = append(raising, x)
		case occupied:
			untold = append(untold, x)
		case x.Disputed():
			disputed = append(disputed, x)
		case x.ToExamine() && eggsAreClear(plan, x):
			clear = append(clear, x)
		case x.Late:
			late = append(late, x)
		case x.ToExamine():
			neverFertile = append(neverFertile, x)
		default:
			rest = append(rest, x)
		}
	}
	var steps []string
	if len(planned) > 0 {
		steps = append(steps, "From the start these pairs keep their eggs: "+names(planned, true)+".")
	}
	if len(reserves) > 0 {
		steps = append(steps, fmt.Sprintf("These keep theirs, in this order, until the planned ones have been candled about %s after the first egg: %s.",
			document.FormatThings(set.CandlingDays, "day", "days"), names(reserves, true)),
			fmt.Sprintf("Then: write down what candling shows and ask again. The reserves go on, in their order, while the fertile eggs of those before them bring fewer chicks than are wanted on average; the eggs of the others are then replaced, before the pair has sat for %s.",
				document.FormatThings(set.SettledDays, "day", "days")))
	}
	if len(rest) > 0 {
		steps = append(steps, "All others: replace each egg by a dummy as it is laid ("+document.FormatThings(len(rest), "pair", "pairs")+")"+butForProgramme(p, plan)+". The pair keeps its nest and its bond.")
	}
	if len(disputed) > 0 {
		steps = append(steps, "Take no egg of these before it is settled, as "+otherPlanName(p, plan)+" wants chicks of them: "+names(disputed, false)+".")
	}
	if len(raising) > 0 {
		steps = append(steps, "These raise the chicks that they have hatched: "+names(raising, false)+".")
	}
	if len(untold) > 0 {
		steps = append(steps, "Write down what became of the eggs of these, of which nothing is on record: "+names(untold, false)+".")
	}
	if len(clear) > 0 {
		steps = append(steps, "Sex both birds and ask the veterinarian; their eggs have been candled, and none is fertile: "+names(clear, false)+". "+clearNote)
	}
	if len(neverFertile) > 0 {
		steps = append(steps, "Leave their eggs, candle them, sex both birds and ask the veterinarian, as none or few of their eggs were fertile: "+names(neverFertile, false)+".")
	}
	if len(late) > 0 {
		steps = append(steps, fmt.Sprintf("Bring together for the season of %d, as no move leaves time for this one: %s.", p.Calendar().Year+1, names(late, false)))
	}
	return steps
}

// clearNote says what to do with eggs of a pair that is to be examined once they are known
// to be clear (common practice, no source).
const clearNote = "Let them sit until they leave the eggs, for dummies would hide what comes next, and keep an egg for the veterinarian."

// eggsAreClear reports whether a pair sits on eggs none of which is fertile.
func eggsAreClear(plan *pairing.Plan, x *pairing.PlannedPair) bool {
	return slices.ContainsFunc(plan.Eggs, func(e pairing.Eggs) bool { return e.Female == x.Female && e.Male == x.Male && e.Clutch.Fertile == 0 })
}

// pairTable lists the pairs with what the season asks of them.
func pairTable(p *pairing.Programme, plan *pairing.Plan) *document.Table {
	var pairs []*pairing.PlannedPair
	for k := range plan.Pairs {
		pairs = append(pairs, &plan.Pairs[k])
	}
	t := roleTable(p, pairs)
	t.Columns = append(t.Columns, document.Column{Name: "Why", Wide: true})
	if plan.Options.Whole {
		t.Columns = append(t.Columns, atColumn)
	}
	for k, x := range pairs {
		cells := append(t.Rows[k].Cells, document.Cell{Text: Capital(rowWhy(p, x, false))})
		if plan.Options.Whole {
			cells = append(cells, word(x.Place))
		}
		t.Rows[k].Cells = cells
	}
	return t
}

// pairKinshipText says what the mean kinship of a pair is measured by.
func pairKinshipText(p *pairing.Programme) string {
	mean, _ := p.Living.MeanKinship()
	text := "The mean kinship of a pair is how closely its two birds are related to all living birds, on average. That of the programme is " + document.FormatKinship(mean)
	rare := p.RareKinship()
	if rare >= mean {
		return text + "."
	}
	return text + "; the genes of a pair are called rare up to " + document.FormatKinship(rare) + ", as low as those of the quarter of all living birds with the fewest relatives."
}

// roleTable has what the season asks of pairs, without the reasons.
func roleTable(p *pairing.Programme, pairs []*pairing.PlannedPair) *document.Table {
	t := &document.Table{Columns: []document.Column{
		deciding(document.Column{Name: "Role"}), {Name: "Order", Right: true}, {Name: "Female", Key: true, Whole: true}, {Name: "Male", Key: true, Whole: true}, {Name: "Up to", Unit: "chicks", Right: true},
		{Name: "Expected", Unit: "chicks", Right: true}, {Name: "F of a chick", Right: true}, {Name: "Bond"},
	}}
	for _, x := range pairs {
		order := document.Cell{Text: document.Unknown}
		if x.Order > 0 {
			order = countCell(x.Order)
		}
		role := RoleText(x)
		switch {
		case x.Kind == pairing.BondReleased:
			role = "parted"
		case livesElsewhere(x):
			role = "leaves"
		}
		expected := document.Cell{Text: document.FormatNumber(x.Expected, 1), Value: x.Expected}
		if livesElsewhere(x) {
			expected = document.Cell{Text: document.Unknown}
		}
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{
			{Text: role}, order, {Text: p.Name(x.Female)}, {Text: p.Name(x.Male)}, hatchCell(x),
			expected, kinshipCell(x.Kinship), {Text: string(x.Kind)},
		}})
	}
	return t
}

// livesElsewhere reports whether a pair is to live outside the scope of a plan, which then has
// nothing to say of its chicks.
func livesElsewhere(x *pairing.PlannedPair) bool {
	return x.Role == "" && x.Kind != pairing.BondReleased
}

// hatchCell has how many chicks a plan lets a pair hatch.
func hatchCell(x *pairing.PlannedPair) document.Cell {
	if livesElsewhere(x) {
		return document.Cell{Text: document.Unknown}
	}
	return countCell(x.HatchUpTo)
}

// rowWhy says what a plan says of a pair beside its figures: what a column shows
// is not said again, nor the programme's mean kinship unless the row stands alone.
func rowWhy(p *pairing.Programme, x *pairing.PlannedPair, alone bool) string {
	return whyPair(p, x, func(r *pairing.Reason) string {
		switch r.Code {
		case pairing.ChickOf, pairing.NotNeeded: // the column of roles and the steps say it
			return ""
		case pairing.RareGenes, pairing.PairKinship:
			genes := "mean kinship"
			if r.Is(pairing.RareGenes) {
				genes = "rare genes: mean kinship"
			}
			genes += " " + document.FormatKinship(r.Value)
			if alone {
				genes += ", programme " + document.FormatKinship(r.Other)
			}
			return genes
		}
		return planText(p, r)
	})
}

// whyPair says what keeps a pair from hatching, then its reasons in the words given, those
// left out for which there are none.
func whyPair(p *pairing.Programme, x *pairing.PlannedPair, word func(r *pairing.Reason) string) string {
	var say []string
	for k := range x.Barred {
		say = append(say, barredText(p, &x.Barred[k]))
	}
	for k := range x.Reasons {
		if text := word(&x.Reasons[k]); text != "" {
			say = append(say, text)
		}
	}
	if x.UndoneBy != nil {
		say = append(say, undoneText(p, x.UndoneBy))
	}
	return strings.Join(say, "; ")
}

// eggTable says what to do with each clutch.
func eggTable(p *pairing.Programme, plan *pairing.Plan) *document.Table {
	t := &document.Table{Columns: []document.Column{
		deciding(document.Column{Name: "What to do"}), {Name: "Female", Key: true}, {Name: "Male", Key: true}, {Name: "By"}, {Name: "Laid"}, {Name: "Eggs", Right: true}, {Name: "Fertile", Right: true}, {Name: "Why", Wide: true},
	}}
	for k := range plan.Eggs {
		x := &plan.Eggs[k]
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{
			{Text: eggAdvice(p, x)}, {Text: p.Name(x.Female)}, {Text: p.Name(x.Male)}, {Text: eggsBy(p, x)}, {Text: document.FormatDate(x.Clutch.Laid)},
			countCell(x.Clutch.Eggs), countCell(x.Clutch.Fertile), {Text: Capital(EggReason(p, x))},
		}})
	}
	return t
}

// eggsBy says by when something is to be done with eggs.
func eggsBy(p *pairing.Programme, x *pairing.Eggs) string {
	by := document.FormatDay(x.By)
	switch {
	case x.SettleBy != 0 && x.By == 0:
		return "settle by " + document.FormatDay(x.SettleBy)
	case x.SettleBy != 0:
		return by + "; settle by " + document.FormatDay(x.SettleBy)
	case x.From != 0 && x.By > p.Book.AsOf:
		return byLast(x.By)
	}
	return by
}

// youngTable says where young birds should be, and by when they leave for it.
func youngTable(p *pairing.Programme, young []pairing.Young) *document.Table {
	t := &document.Table{Columns: []document.Column{birdColumn, sexColumn, {Name: "At"}, {Name: "Should be at"}, {Name: "Leaves by"}, {Name: "May breed from"}, {Name: "Why", Wide: true}}}
	for k := range young {
		x := &young[k]
		b := &p.Book.Birds[x.Bird]
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{
			{Text: p.Name(x.Bird)}, {Text: b.Sex.String()}, word(x.From), word(x.To), {Text: document.FormatDay(x.Timing.Latest)}, {Text: mayBreedFrom(p, x)}, {Text: Capital(youngRowText(p, x))},
		}})
	}
	return t
}

// obstaclesShown is how many bonds that stand in the way are listed.
const obstaclesShown = 8

// obstacles lists the bonds whose parting would be worth most.
func obstacles(p *pairing.Programme, plan *pairing.Plan) []document.Block {
	t := &document.Table{Columns: []document.Column{{Name: "Female", Key: true}, {Name: "Male", Key: true}, {Name: "At"}, gainColumn("Worth"), deciding(document.Column{Name: "Advice"}), {Name: "What follows", Wide: true}}}
	for k := range plan.InTheWay[:min(obstaclesShown, len(plan.InTheWay))] {
		x := &plan.InTheWay[k]
		advice, follows := "stay", partingReason(p, &x.Reasons(p)[0])
		if x.Advised {
			advice, follows = whenToPart(plan, x), partingText(p, x)
		}
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{
			{Text: p.Name(x.Female)}, {Text: p.Name(x.Male)}, word(p.Book.Birds[x.Female].Location), gainCell(x.Worth), {Text: advice}, {Text: Capital(follows)},
		}})
	}
	t.More = leftOut(len(t.Rows), len(plan.InTheWay), "bonds", "the JSON format has all")
	return []document.Block{
		document.Paragraph("The programme would gain if these were parted when the season allows; the worth is that of each parting alone. Those that may part can do so together, and what follows is told of all of them, here and elsewhere. Nothing is parted by this plan: it is for the keeper and the coordinator to weigh against the birds' welfare."),
		t,
	}
}

// eggsNote says how eggs are replaced, and by whose leave.
const eggsNote = "A pair that sits in earnest loses no egg. Replace eggs as they are laid, by dummies that look and feel alike, so that the pair keeps its rhythm; what is allowed, and how, the veterinarian and local law decide."

// whenToPart says when two birds may be parted that the decision would part.
func whenToPart(plan *pairing.Plan, x *pairing.Obstacle) string {
	for k := range plan.Pairs {
		switch pair := &plan.Pairs[k]; {
		case pair.Female != x.Female || pair.Male != x.Male:
		case isFailing(pair):
			return "examine first"
		case pair.HatchUpTo > 0 && x.DecideBy == 0:
			return "may part after the season"
		}
	}
	return "may part"
}

func isFailing(x *pairing.PlannedPair) bool { _, is := x.Failing(); return is }

// worthFacts are the figures of the decision.
func worthFacts(plan *pairing.Plan) document.Facts {
	six := func(x float64) string {
		if !plan.Known {
			return document.Unknown
		}
		return document.FormatNumber(x, 6)
	}
	facts := document.Facts{
		{Name: "Gene diversity now", Value: six(plan.Now)},
		{Name: "Expected after the season", Value: six(plan.ExpectedDiversity)},
		{Name: "Weighted by worth to the future, now", Value: six(plan.WeightedNow)},
		{Name: "With the planned chicks", Value: six(plan.Planned) + " if none fails, " + six(plan.ExpectedWeighted) + " to be expected"},
		{Name: "No broods can reach more than", Value: six(plan.Bound) + " if none fails"},
	}
	moves := document.FormatThings(plan.Decision.Moves, "move", "moves") + " in the programme"
	if plan.Decision.Proven {
		moves += "; no other choice of new pairs is worth more: that is proven"
	}
	return append(facts, document.Fact{Name: "New pairs", Value: moves})
}

// planNotes explain the plan.
func planNotes(p *pairing.Programme, plan *pairing.Plan) []string {
	notes := []string{
		"Who lives with whom is decided for the whole programme and for years: free birds are assigned to each other so that what the pairs are worth adds up to most. What a pair is worth are its expected chicks over the next seasons times what a chick of it does for the gene diversity of birds weighted by what they may still breed, less what a new bond and a move cost.",
		"Chicks are counted as hatched, with their chance: a pair's expected chicks are those of a season in which its eggs are left to it, by its record and age, and new pairs by the programme's first seasons.",
		eggsNote,
	}
	if slices.ContainsFunc(plan.Pairs, func(x pairing.PlannedPair) bool { return x.Role == pairing.Reserve }) {
		notes = append(notes, "Reserves that are not needed hatch nothing. They are let go by what candling shows, before a chick has hatched, so that enough hatch a little less often than the chance says.")
	}
	if !plan.Options.Whole && p.Book.Colony.HasLocation && len(p.Book.LivingAt(plan.Options.Place)) < len(p.Book.Living) {
		notes = append(notes, "The chicks are those by which the colony holds its own number. A plan of the whole programme has other numbers to reach, and may ask for more or fewer, and of other pairs: where the coordinator has sent one, that goes before this one.")
	}
	if !p.WorthKnown() {
		notes = append(notes, "Survival is neither on record nor set, so every living bird counts alike, whatever its age.")
	}
	return append(notes, sentences(notMet(p, plan.Decision))...)
}
