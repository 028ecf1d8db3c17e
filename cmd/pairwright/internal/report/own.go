package report

import (
	"fmt"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
	"pairwright/pairing/review"
	"pairwright/pedigree/studbook"
)

// NamedOwn is a season that a person has made, with what they call it.
type NamedOwn struct {
	Name string
	*pairing.Own
}

// OwnDocument lays out seasons that people have made beside the decision.
func OwnDocument(p *pairing.Programme, best *pairing.Plan, seasons []NamedOwn, why string) *document.Document {
	place := best.Options.Place
	if best.Options.Whole {
		place = ""
	}
	d := &document.Document{
		Title: fmt.Sprintf("Seasons %d beside the decision", best.Decision.Season.Year), Footer: Advice,
		Facts: append(document.Facts{
			{Name: "For", Value: colonyName(p, place)},
			{Name: "Chicks wanted", Value: document.FormatCount(best.Wanted) + ", " + why},
		}, about(p)...),
		Notes: []string{ownNote, "What decisions.csv has as agreed stays unless a season says otherwise of the same birds. What cannot be carried out is left out of the figures."},
	}
	if len(seasons) == 1 {
		d.Title = fmt.Sprintf("A season %d beside the decision", best.Decision.Season.Year)
	}
	var say []string
	for k := range seasons {
		say = append(say, OwnText(p, best, &seasons[k]))
	}
	d.Lead = strings.Join(say, " ")
	d.Sections = append(d.Sections, document.Section{Title: "Side by side", Blocks: []document.Block{figuresTable(best, seasons)}})
	for k := range seasons {
		x := &seasons[k]
		if len(x.Breaches) == 0 {
			continue
		}
		d.Sections = append(d.Sections, document.Section{Title: "Rules that " + x.Name + " breaks", Blocks: []document.Block{breachTable(p, x.Breaches)}})
	}
	d.Sections = append(d.Sections, document.Section{Title: "Pair by pair", Blocks: []document.Block{pairsBeside(p, best, seasons)}})
	return d
}

// ownNote says what the distance from the best is.
const ownNote = "Chicks, chances, gene diversity and F are reckoned for each season as for the decision. What the new pairs are worth is counted over years and for the whole programme; where a season leaves birds of other places without a mate, they get the best that is left. Gene diversity weighted by worth is what the decision makes as large as can be."

// OwnText says in a sentence how far a season is from the decision.
func OwnText(p *pairing.Programme, best *pairing.Plan, x *NamedOwn) string {
	broods, bonds := FromBest(best, x.Plan)
	say := fmt.Sprintf("%s: %s chicks are to be expected (decision: %s)", x.Name, document.FormatNumber(x.Expected, 1), document.FormatNumber(best.Expected, 1))
	far := func(short float64, of string) string {
		switch {
		case short > sameFigure:
			return of + " " + millionths(short)[len("+"):] + " millionths short of the best"
		case short < -sameFigure:
			return of + " " + millionths(-short)[len("+"):] + " millionths ahead"
		}
		return of + " the same"
	}
	say += "; " + far(broods, "weighted gene diversity after the season") + "; " + far(bonds, "worth of the new pairs") + "."
	if n := len(x.Breaches); n > 0 {
		say += " " + Capital(document.FormatThings(n, "thing stands", "things stand")) + " against it."
	}
	return say
}

// sameFigure is the difference in gene diversity below which two are told as the same.
const sameFigure = 5e-8

// FromBest returns how far a season falls short of the best, or of the decision: in the
// weighted gene diversity to be expected after it, and in what the new pairs are worth.
func FromBest(best, x *pairing.Plan) (broods, bonds float64) {
	return best.ExpectedWeighted - x.ExpectedWeighted, best.Decision.Sum - x.Decision.Sum
}

// OwnFigures are the figures of a season with their names, for a column of a table.
func OwnFigures(x, best *pairing.Plan) document.Facts {
	six := func(v float64) string {
		if !x.Known {
			return document.Unknown
		}
		return document.FormatNumber(v, 6)
	}
	f := document.Unknown
	if x.Expected > float64(x.Hatched) {
		f = document.FormatKinship(x.MeanInbreeding)
	}
	broods, bonds := FromBest(best, x)
	return document.Facts{
		{Name: "Chicks to be expected", Value: document.FormatNumber(x.Expected, 1)},
		{Name: "Chance that there are enough", Value: document.FormatChance(x.ChanceEnough)},
		{Name: "Gene diversity after the season", Value: six(x.ExpectedDiversity)},
		{Name: "Mean F of the chicks", Value: f},
		{Name: "Moves in the programme", Value: document.FormatCount(x.Decision.Moves)},
		{Name: "Weighted by worth to the future, to be expected", Value: six(x.ExpectedWeighted)},
		{Name: "Short of the best by that, in millionths", Value: shortText(broods)},
		{Name: "Worth of the new pairs, in millionths", Value: millionths(x.Decision.Sum)},
		{Name: "New pairs short of the best, in millionths", Value: shortText(bonds)},
	}
}

// shortText writes how far a figure falls short; what is ahead has a minus.
func shortText(short float64) string {
	if short < sameFigure && short > -sameFigure {
		return "0"
	}
	return document.FormatNumber(short*1e6, 1)
}

func figuresTable(best *pairing.Plan, seasons []NamedOwn) *document.Table {
	t := &document.Table{Columns: []document.Column{{Name: "Figure", Key: true}, {Name: "Decision", Right: true}}}
	columns := []document.Facts{OwnFigures(best, best)}
	for k := range seasons {
		t.Columns = append(t.Columns, document.Column{Name: seasons[k].Name, Right: true})
		columns = append(columns, OwnFigures(seasons[k].Plan, best))
	}
	for k := range columns[0] {
		row := document.Row{Cells: []document.Cell{{Text: columns[0][k].Name}}}
		for _, c := range columns {
			row.Cells = append(row.Cells, document.Cell{Text: c[k].Value})
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

func breachTable(p *pairing.Programme, breaches []pairing.Breach) *document.Table {
	t := &document.Table{Columns: []document.Column{{Name: "Line", Right: true}, {Name: "Choice", Key: true, Wide: true}, deciding(document.Column{Name: "What is against it", Wide: true})}}
	for k := range breaches {
		b := &breaches[k]
		line := document.Cell{Text: document.Unknown}
		if b.Choice.Line > 0 {
			line = countCell(b.Choice.Line)
		}
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{line, {Text: Capital(ChoiceText(p, b.Choice))}, {Text: Capital(BreachText(p, b))}}})
	}
	return t
}

// pairsBeside lists the pairs of all seasons with what each asks of them.
func pairsBeside(p *pairing.Programme, best *pairing.Plan, seasons []NamedOwn) *document.Table {
	t := &document.Table{Columns: []document.Column{{Name: "Female", Key: true}, {Name: "Male", Key: true}, {Name: "F of a chick", Right: true}, {Name: "Decision"}}}
	plans := []*pairing.Plan{best}
	for k := range seasons {
		t.Columns = append(t.Columns, document.Column{Name: seasons[k].Name})
		plans = append(plans, seasons[k].Plan)
	}
	seen := map[[2]int]int{}
	for of, plan := range plans {
		for k := range plan.Pairs {
			x := &plan.Pairs[k]
			pair := [2]int{x.Female, x.Male}
			at, ok := seen[pair]
			if !ok {
				at = len(t.Rows)
				seen[pair] = at
				cells := []document.Cell{{Text: p.Name(x.Female)}, {Text: p.Name(x.Male)}, kinshipCell(x.Kinship)}
				for range plans {
					cells = append(cells, document.Cell{Text: document.Unknown})
				}
				t.Rows = append(t.Rows, document.Row{Cells: cells})
			}
			t.Rows[at].Cells[3+of].Text = AsksText(p, x)
		}
	}
	return t
}

// AsksText says what a season has of a pair.
func AsksText(p *pairing.Programme, x *pairing.PlannedPair) string {
	var say []string
	switch {
	case x.Kind == pairing.BondReleased:
		return "parted"
	case x.Kind == pairing.BondNew && x.Move != nil:
		say = append(say, "new, "+p.Book.Birds[x.Move.Bird].ID+" moves to "+x.Move.To)
	case x.Kind == pairing.BondNew:
		say = append(say, "new")
	}
	switch upTo := ": up to " + document.FormatThings(x.HatchUpTo, "chick", "chicks"); {
	case x.Role == "":
	case x.HatchUpTo == 0:
		say = append(say, RoleText(x))
	case x.Role == pairing.Reserve:
		say = append(say, "reserve "+document.FormatCount(x.Order)+upTo)
	default:
		say = append(say, string(x.Role)+upTo)
	}
	return strings.Join(say, "; ")
}

// RoleText says what the season asks of a pair in a word: its role, but for those that are
// to be examined.
func RoleText(x *pairing.PlannedPair) string {
	if x.Role == pairing.Rest && x.ToExamine() {
		return string(review.Examine)
	}
	if why, is := x.Occupied(); is && why.Is(pairing.RaisesChicks) {
		return "raising"
	}
	return string(x.Role)
}

// ChoiceText says a choice.
func ChoiceText(p *pairing.Programme, c *studbook.Choice) string {
	var names []string
	for _, id := range c.Birds {
		if b, ok := p.Book.Index(id); ok {
			id = p.Name(b)
		}
		names = append(names, id)
	}
	who := strings.Join(names, " and ")
	switch c.What {
	case studbook.RulesBond:
		if c.To != "" {
			return "pair " + who + " at " + c.To
		}
		return "pair " + who
	case studbook.RulesPart:
		return "part " + who
	case studbook.RulesMove:
		return "move " + who + " to " + c.To
	}
	return who + " may hatch up to " + document.FormatThings(max(0, c.Chicks), "chick", "chicks")
}

// BreachText says what is against a choice.
func BreachText(p *pairing.Programme, b *pairing.Breach) string {
	r := &b.Reason
	one := func() string { return r.Birds[0].Named() }
	sex := func() string { return r.Birds[0].Sex.Word() + "s" }
	switch r.Code {
	case pairing.MayNotMove:
		return one() + " is on hold for moving: " + r.Note
	case pairing.PlacesFull:
		return fmt.Sprintf("%s would come to %s, which has room for %s", document.FormatCount(r.Count)+" "+sex(), r.To, document.FormatCount(r.Of))
	case pairing.TooMany:
		return fmt.Sprintf("a pair may hatch up to %d in a season (chicks_per_pair, and what has hatched already)", r.Of)
	case pairing.ChicksFull:
		return fmt.Sprintf("%s chicks are to be expected at %s, which has room for %d", document.FormatNumber(r.Value, 1), r.To, r.Of)
	case pairing.EggsOfPair:
		return "it has no more than " + document.FormatThings(r.Of, "egg", "eggs")
	case pairing.NotThereYet:
		return r.Note + " has not hatched on this day"
	case pairing.LeavesScope:
		return "the pair lives elsewhere, and its chicks are planned there"
	case pairing.SaidYes, pairing.SaidNo, pairing.SaidPart, pairing.NotAMate, pairing.NoMeeting, pairing.OffSeason, pairing.Promised:
		return saidText(r)
	case pairing.Overruled:
		return "another choice for " + one() + " says something else"
	case pairing.BondFirst:
		return one() + " is bonded to " + r.Birds[1].Named() + ": part them first"
	case pairing.OnNest:
		return onNestText(r)
	}
	return barredText(p, r)
}

func onNestText(r *pairing.Reason) string {
	return strings.Join(birdNames(r.Birds), " and ") + " may sit or feed chicks now"
}
