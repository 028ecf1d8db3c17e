package report

import (
	"fmt"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
)

// PlanDocument lays out the season's plan; why says where the number of chicks
// wanted comes from.
func PlanDocument(p *pairing.Programme, plan *pairing.Plan, why string) *document.Document {
	place := plan.Options.Place
	if plan.Options.Whole {
		place = ""
	}
	d := &document.Document{
		Title: fmt.Sprintf("Plan for the season %d", p.Season()), Footer: Advice,
		Facts: append(document.Facts{
			{Name: "For", Value: colonyName(p, place)},
			{Name: "Chicks wanted", Value: fmt.Sprintf("%d, %s", plan.Wanted, why)},
		}, about(p)...),
	}
	d.Lead = "No chick is planned."
	if plan.Chicks > 0 {
		d.Lead = fmt.Sprintf("%s from %s.", capital(document.FormatThings(plan.Chicks, "chick", "chicks")), document.FormatThings(len(plan.Pairs), "pair", "pairs"))
	}
	if plan.Known && plan.Chicks > 0 {
		d.Lead += fmt.Sprintf(" With them as full members the programme's gene diversity is %s (%s millionths). %s",
			document.FormatDiversity(plan.After), millionths(plan.After-plan.Before), boundText(plan))
	}
	d.Sections = planSections(p, plan)
	d.Notes = append(sentences(PlanNotes(p, plan)),
		"The plan minimises the mean kinship of the living birds and the planned chicks together, exactly as each chick's kinship with everybody follows from its parents; every bird is in one pair at most.",
		"Rank: by mean kinship among the living birds of the programme; rank 1 has the fewest relatives.",
		"Present bonds alone: the same number of chicks, or as many as can be, spread as well as possible over the bonds there are. Random pairing: every chick goes to a pair drawn by lot under the same limits.",
		"A pair that sits is not to be disturbed for the plan's sake. Replace eggs as they are laid, and by dummies that look and feel alike, so that the pair keeps its rhythm; what is allowed, and how, the veterinarian and local law decide.")
	return d
}

func boundText(plan *pairing.Plan) string {
	if plan.Proven {
		return "No plan under the same limits can do better: that is proven."
	}
	return fmt.Sprintf("No plan under the same limits can reach more than %s: this one is at most %s millionths short of the best.",
		document.FormatDiversity(plan.Bound), document.FormatNumber(plan.Gap*1e6, 1))
}

// PlanNotes says what the reader of the plan must know besides the pairs.
func PlanNotes(p *pairing.Programme, plan *pairing.Plan) []string {
	return append(slices.Clone(plan.Notes), Assumptions(p, "chicks_per_pair", "limits.inbreeding", "limits.preferred_inbreeding", "lethal_equivalents")...)
}

// planSections are the tables of a plan.
func planSections(p *pairing.Programme, plan *pairing.Plan) []document.Section {
	sections := []document.Section{{Title: "Pairs that hatch chicks", Blocks: []document.Block{plannedPairs(p, plan)}}}
	if plan.Known && plan.Chicks > 0 {
		sections = append(sections, document.Section{Title: "What the plan is worth", Blocks: []document.Block{worth(plan)}})
	}
	if len(plan.Eggs) > 0 {
		sections = append(sections, document.Section{Title: "Eggs of the bonded pairs", Blocks: []document.Block{eggTable(p, plan)}})
	}
	if len(plan.Unpaired) > 0 {
		sections = append(sections, document.Section{Title: "Birds left unpaired", Blocks: []document.Block{leftUnpaired(p, plan)}})
	}
	return sections
}

// plannedPairs lists the pairs that hatch chicks, or says that there are none.
func plannedPairs(p *pairing.Programme, plan *pairing.Plan) document.Block {
	if len(plan.Pairs) == 0 {
		return document.Paragraph("No pair can hatch a chick under these limits.")
	}
	t := &document.Table{Columns: []document.Column{
		{Name: "Female", Key: true}, {Name: "Male", Key: true}, {Name: "At"}, {Name: "Chicks", Right: true},
		{Name: "F of a chick", Right: true}, {Name: "Bond"}, {Name: "Why", Wide: true},
	}}
	for _, x := range plan.Pairs {
		bond := "new"
		switch {
		case x.KeepsBond:
			bond = "kept"
		case x.Move != nil:
			bond = "new, " + p.Book.Birds[x.Move.Bird].ID + " moves from " + orUnknown(x.Move.From)
		}
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{
			{Text: p.Name(x.Female)}, {Text: p.Name(x.Male)}, word(x.Place), countCell(x.Chicks), kinshipCell(x.OffspringInbreeding),
			{Text: bond}, {Text: capital(strings.Join(x.Reasons, "; "))},
		}})
	}
	return t
}

// eggTable says what to do with the eggs of every bonded pair.
func eggTable(p *pairing.Programme, plan *pairing.Plan) *document.Table {
	t := &document.Table{Columns: []document.Column{{Name: "Female", Key: true}, {Name: "Male", Key: true}, {Name: "Eggs"}, {Name: "Why", Wide: true}}}
	for _, x := range plan.Eggs {
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: p.Name(x.Female)}, {Text: p.Name(x.Male)}, {Text: eggText(&x)}, {Text: capital(x.Reason)}}})
	}
	return t
}

// eggText says what to do with the eggs of a pair.
func eggText(x *pairing.EggAdvice) string {
	what := fmt.Sprintf("let hatch %d, replace more by dummies", x.Hatch)
	if x.Replace {
		what = "replace all by dummies"
	}
	if x.Sits {
		what += " (sits now)"
	}
	return what
}

// leftUnpaired says why birds that could breed have no part in the plan.
func leftUnpaired(p *pairing.Programme, plan *pairing.Plan) *document.Table {
	t := &document.Table{Columns: []document.Column{birdColumn, sexColumn, atColumn, {Name: "Why it stays unpaired", Wide: true}}}
	for _, x := range plan.Unpaired {
		b := &p.Book.Birds[x.Bird]
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: p.Name(x.Bird)}, {Text: b.Sex.String()}, word(b.Location), {Text: capital(x.Reason)}}})
	}
	return t
}

// worth compares the plan with its alternatives.
func worth(plan *pairing.Plan) *document.Table {
	t := &document.Table{Columns: []document.Column{{Name: "Season", Key: true}, {Name: "Chicks", Right: true}, {Name: "Gene diversity after", Right: true}, gainColumn("Against now")}}
	row := func(name string, chicks int, gd float64) {
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: name}, countCell(chicks), {Text: document.FormatNumber(gd, 6), Value: gd}, gainCell(gd - plan.Before)}})
	}
	row("as it is now", 0, plan.Before)
	row("this plan", plan.Chicks, plan.After)
	row("the most any plan can reach", plan.Chicks, plan.Bound)
	if plan.BondsAlone.Possible {
		row("present bonds alone", plan.BondsAlone.Chicks, plan.BondsAlone.GeneDiversity)
	}
	if plan.Random.Draws > 0 {
		row(fmt.Sprintf("random pairing (mean of %s draws)", document.FormatCount(plan.Random.Draws)), plan.Chicks, plan.Random.Mean)
	}
	return t
}
