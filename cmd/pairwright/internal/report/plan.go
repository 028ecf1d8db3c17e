package report

import (
	"fmt"
	"strings"

	"pairwright/pairing"
)

// PlanAnswer is the answer of the plan command.
type PlanAnswer struct {
	Season             int            `json:"season"`
	ChicksWanted       int            `json:"chicks_wanted"`
	ChicksPlanned      int            `json:"chicks_planned"`
	Pairs              []PlanPair     `json:"pairs"`
	GeneDiversityNow   *float64       `json:"gene_diversity_now"`
	GeneDiversityAfter *float64       `json:"gene_diversity_after"`
	GeneDiversityBound *float64       `json:"gene_diversity_bound"`
	Gap                *float64       `json:"gap"`
	ProvenOptimal      bool           `json:"proven_optimal"`
	BondsAlone         *float64       `json:"gene_diversity_bonds_alone"`
	RandomPairing      *float64       `json:"gene_diversity_random_pairing"`
	Unpaired           []PlanUnpaired `json:"unpaired"`
	Eggs               []PlanEggs     `json:"eggs"`
	Notes              []string       `json:"notes"`
}

// PlanPair is a pair that is to hatch chicks.
type PlanPair struct {
	Female              string   `json:"female"`
	Male                string   `json:"male"`
	Location            *string  `json:"location"`
	Chicks              int      `json:"chicks"`
	OffspringInbreeding float64  `json:"offspring_inbreeding"`
	NeedsTransfer       bool     `json:"needs_transfer"`
	Moves               *string  `json:"moves"`
	KeepsBond           bool     `json:"keeps_bond"`
	Reasons             []string `json:"reasons"`
}

// PlanUnpaired is a bird that the plan leaves without a mate.
type PlanUnpaired struct {
	ID     string `json:"id"`
	Reason string `json:"reason"`
}

// PlanEggs is what to do with a pair's eggs: let hatch so many and replace the
// rest, or all, by dummies; those of a pair that sits are left as they are.
type PlanEggs struct {
	Pair    [2]string `json:"pair"` // the female, the male
	Hatch   int       `json:"hatch"`
	Replace bool      `json:"replace"`
	Sits    bool      `json:"sits"`
	Reason  string    `json:"reason"`
}

// PlanJSON returns the plan as other programs read it.
func PlanJSON(p *pairing.Programme, plan *pairing.Plan) PlanAnswer {
	id := func(b int) string { return p.Book.Birds[b].ID }
	out := PlanAnswer{
		Season: p.Season(), ChicksWanted: plan.Wanted, ChicksPlanned: plan.Chicks,
		GeneDiversityNow: known(plan.Before, plan.Known), GeneDiversityAfter: known(plan.After, plan.Known),
		GeneDiversityBound: known(plan.Bound, plan.Known), Gap: known(plan.Gap, plan.Known), ProvenOptimal: plan.Proven,
		BondsAlone:    known(plan.BondsAlone.GeneDiversity, plan.BondsAlone.Possible),
		RandomPairing: known(plan.Random.Mean, plan.Random.Draws > 0),
		Pairs:         []PlanPair{}, Unpaired: []PlanUnpaired{}, Eggs: []PlanEggs{}, Notes: append([]string{}, plan.Notes...),
	}
	for _, x := range plan.Pairs {
		pair := PlanPair{
			Female: id(x.Female), Male: id(x.Male), Location: text(x.Place), Chicks: x.Chicks,
			OffspringInbreeding: x.OffspringInbreeding, NeedsTransfer: x.Move != nil, KeepsBond: x.KeepsBond,
			Reasons: append([]string{}, x.Reasons...),
		}
		if x.Move != nil {
			pair.Moves = text(id(x.Move.Bird))
		}
		out.Pairs = append(out.Pairs, pair)
	}
	for _, x := range plan.Unpaired {
		out.Unpaired = append(out.Unpaired, PlanUnpaired{id(x.Bird), x.Reason})
	}
	for _, x := range plan.Eggs {
		out.Eggs = append(out.Eggs, PlanEggs{[2]string{id(x.Female), id(x.Male)}, x.Hatch, x.Replace, x.Sits, x.Reason})
	}
	return out
}

// PlanDocument lays out the season's plan; why says where the number of chicks
// wanted comes from.
func PlanDocument(p *pairing.Programme, plan *pairing.Plan, why string) *Document {
	place := plan.Options.Place
	if plan.Options.Whole {
		place = ""
	}
	d := &Document{
		Title: fmt.Sprintf("Plan for the season %d", p.Season()), Footer: Advice,
		Facts: append(Facts{
			{"For", colonyName(p, place)},
			{"Chicks wanted", fmt.Sprintf("%d, %s", plan.Wanted, why)},
		}, about(p)...),
	}
	d.Lead = "No chick is planned."
	if plan.Chicks > 0 {
		d.Lead = fmt.Sprintf("%s from %s.", capital(FormatThings(plan.Chicks, "chick", "chicks")), FormatThings(len(plan.Pairs), "pair", "pairs"))
	}
	if plan.Known && plan.Chicks > 0 {
		d.Lead += fmt.Sprintf(" With them as full members the programme's gene diversity is %s (%s millionths). %s",
			FormatDiversity(plan.After), millionths(plan.After-plan.Before), boundText(plan))
	}
	d.Sections = planSections(p, plan)
	d.Notes = append(sentences(plan.Notes),
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
		FormatDiversity(plan.Bound), FormatNumber(plan.Gap*1e6, 1))
}

// planSections are the tables of a plan.
func planSections(p *pairing.Programme, plan *pairing.Plan) []Section {
	sections := []Section{{Title: "Pairs that hatch chicks", Blocks: []Block{plannedPairs(p, plan)}}}
	if plan.Known && plan.Chicks > 0 {
		sections = append(sections, Section{Title: "What the plan is worth", Blocks: []Block{worth(plan)}})
	}
	if len(plan.Eggs) > 0 {
		sections = append(sections, Section{Title: "Eggs of the bonded pairs", Blocks: []Block{eggTable(p, plan)}})
	}
	if len(plan.Unpaired) > 0 {
		sections = append(sections, Section{Title: "Birds left unpaired", Blocks: []Block{leftUnpaired(p, plan)}})
	}
	return sections
}

// plannedPairs lists the pairs that hatch chicks, or says that there are none.
func plannedPairs(p *pairing.Programme, plan *pairing.Plan) Block {
	if len(plan.Pairs) == 0 {
		return Paragraph("No pair can hatch a chick under these limits.")
	}
	t := &Table{Columns: []Column{
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
		t.Rows = append(t.Rows, Row{Cells: []Cell{
			{Text: p.Name(x.Female)}, {Text: p.Name(x.Male)}, word(x.Place), countCell(x.Chicks), kinshipCell(x.OffspringInbreeding),
			{Text: bond}, {Text: capital(strings.Join(x.Reasons, "; "))},
		}})
	}
	return t
}

// eggTable says what to do with the eggs of every bonded pair.
func eggTable(p *pairing.Programme, plan *pairing.Plan) *Table {
	t := &Table{Columns: []Column{{Name: "Female", Key: true}, {Name: "Male", Key: true}, {Name: "Eggs"}, {Name: "Why", Wide: true}}}
	for _, x := range plan.Eggs {
		t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: p.Name(x.Female)}, {Text: p.Name(x.Male)}, {Text: eggText(&x)}, {Text: capital(x.Reason)}}})
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
func leftUnpaired(p *pairing.Programme, plan *pairing.Plan) *Table {
	t := &Table{Columns: []Column{birdColumn, sexColumn, atColumn, {Name: "Why it stays unpaired", Wide: true}}}
	for _, x := range plan.Unpaired {
		b := &p.Book.Birds[x.Bird]
		t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: p.Name(x.Bird)}, {Text: b.Sex.String()}, word(b.Location), {Text: capital(x.Reason)}}})
	}
	return t
}

// worth compares the plan with its alternatives.
func worth(plan *pairing.Plan) *Table {
	t := &Table{Columns: []Column{{Name: "Season", Key: true}, {Name: "Chicks", Right: true}, {Name: "Gene diversity after", Right: true}, gainColumn("Against now")}}
	row := func(name string, chicks int, gd float64) {
		t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: name}, countCell(chicks), {Text: FormatNumber(gd, 6), Value: gd}, gainCell(gd - plan.Before)}})
	}
	row("as it is now", 0, plan.Before)
	row("this plan", plan.Chicks, plan.After)
	row("the most any plan can reach", plan.Chicks, plan.Bound)
	if plan.BondsAlone.Possible {
		row("present bonds alone", plan.BondsAlone.Chicks, plan.BondsAlone.GeneDiversity)
	}
	if plan.Random.Draws > 0 {
		row(fmt.Sprintf("random pairing (mean of %s draws)", FormatCount(plan.Random.Draws)), plan.Chicks, plan.Random.Mean)
	}
	return t
}
