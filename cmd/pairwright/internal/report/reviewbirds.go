package report

import (
	"fmt"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
	"pairwright/pairing/review"
)

// birds lists the colony by mean kinship with what to do with each bird.
func (b *reviewBuilder) birds() {
	mean, _ := b.p.Living.MeanKinship()
	t := &document.Table{Columns: []document.Column{birdColumn, nameColumn, deciding(document.Column{Name: "What to do"}), {Name: "Why", Wide: true}, {Name: "Mate"}, {Name: "Rank", Right: true}, mkColumn, fColumn, sexColumn, ageColumn}}
	counts := map[review.BirdAction]int{}
	for _, x := range b.r.Birds {
		bird := &b.p.Book.Birds[x.Bird]
		counts[x.Action]++
		t.Rows = append(t.Rows, document.Row{Anchor: anchor(bird.ID), Cells: []document.Cell{{Text: bird.ID}, {Text: bird.Name}, {Text: string(x.Action)}, {Text: Capital(birdRowReasons(b.p, &x))}, {Text: strings.Join(BirdIDs(b.p, x.Mates), ", ")},
			countCell(x.Rank), {Text: document.FormatMeanKinship(x.MeanKinship), Value: x.MeanKinship}, kinshipCell(x.Inbreeding), {Text: bird.Sex.String()}, ageCell(x.Age, x.AgePlusMinus, x.AgeKnown)}})
	}
	var parts []string
	for _, a := range review.BirdActions {
		if n := counts[a]; n > 0 {
			parts = append(parts, fmt.Sprintf("%s (%s)", a, document.FormatCount(n)))
		}
	}
	b.section("The birds", document.Paragraph(fmt.Sprintf("The birds of the colony, those with the fewest relatives first: %s. The mean kinship of the programme is %s; rank 1 of %s has the fewest relatives.",
		document.FormatList(parts, 0), document.FormatMeanKinship(mean), document.FormatCount(b.p.Living.Size()))), t)
}

// pairs reviews the pairs that live at the colony, or are to.
func (b *reviewBuilder) pairs() {
	if len(b.r.Pairs) == 0 {
		b.section("Pairs", document.Paragraph("No bird of the colony has a mate, and none is to have one."))
		return
	}
	p := b.p
	do := &document.Table{Caption: "What to do with each pair", Columns: []document.Column{{Name: "Female", Key: true}, {Name: "Male", Key: true}, {Name: "Nest"}, {Name: "Bond"}, deciding(document.Column{Name: "What to do"}), {Name: "Up to", Unit: "chicks", Right: true}, {Name: "Why", Wide: true}}}
	counts := map[review.Action]int{}
	for k := range b.r.Pairs {
		x := &b.r.Pairs[k]
		counts[x.Action]++
		do.Rows = append(do.Rows, document.Row{Cells: []document.Cell{b.link(x.Female), b.link(x.Male), {Text: x.Nest}, {Text: string(x.Kind)}, {Text: actionText(x.Action)}, hatchCell(&x.PlannedPair), {Text: Capital(pairRowWhy(p, x))}}})
	}
	var parts []string
	for _, a := range []review.Action{review.Keep, review.Form, review.Reserve, review.Rest, review.Examine, review.Part} {
		if n := counts[a]; n > 0 {
			parts = append(parts, fmt.Sprintf("%s (%s)", actionText(a), document.FormatCount(n)))
		}
	}
	b.section("Pairs", document.Paragraph(fmt.Sprintf("%s of the season's decision: %s. Keep: let it hatch what the plan has of it. Form: bring the two together. Reserve: keep the bond, and the eggs until the planned pairs have been candled. Rest: leave the bond, and replace its eggs as they are laid. Examine: find out with the veterinarian why its eggs or chicks fail. Part: let it rest, and between seasons part the two, if keeper and coordinator agree; never while they sit or feed chicks.",
		Capital(document.FormatThings(len(b.r.Pairs), "pair", "pairs")), document.FormatList(parts, 0))), withoutBlanks(do))
}

// pairRowWhy are the reasons in the list of pairs: what is to be done, and how many chicks
// may hatch, stands beside them, and above it what that means.
func pairRowWhy(p *pairing.Programme, x *review.PairReview) string {
	var say []string
	for k := range x.Why {
		r := &x.Why[k]
		switch {
		case r.Code == review.PlanHas && (x.Action == review.Keep || x.Action == review.Form), r.Code == review.PlanHasReserve && x.Action == review.Reserve,
			r.Code == review.PlanNeedsNone && x.Action == review.Part:
			continue
		case r.Code == review.PlanNeedsNone && x.Action == review.Rest:
			say = append(say, notNeeded)
			continue
		}
		switch r.Code {
		case review.PartBetween:
		case review.InTheWay:
			say = append(say, "the programme would gain if they were parted")
		default:
			say = append(say, pairWhy(p, r))
		}
	}
	return strings.Join(say, "; ")
}

// link leads from a bird to its row.
func (b *reviewBuilder) link(at int) document.Cell {
	id := b.p.Book.Birds[at].ID
	return document.Cell{Text: id, Link: anchor(id)}
}

// pairFigures has the figures of the pairs and their clutches.
func (b *reviewBuilder) pairFigures() {
	if len(b.r.Pairs) == 0 {
		return
	}
	t := &document.Table{Caption: "Expected of each pair", Columns: []document.Column{{Name: "Female", Key: true}, {Name: "Male", Key: true}, deciding(gainColumn("Advantage of a chick")), {Name: "F of a chick", Right: true},
		{Name: "Chance of success", Right: true}, {Name: "Expected of the plan", Unit: "chicks", Right: true}, {Name: "Expected if all eggs are left", Unit: "chicks", Right: true}, {Name: "Since", Right: true}}}
	clutches := &document.Table{Caption: "Their clutches on record", Columns: []document.Column{{Name: "Female", Key: true}, {Name: "Male", Key: true}, deciding(document.Column{Name: "Fledged", Right: true}), {Name: "Hatched", Right: true}, {Name: "Fertile", Right: true}, {Name: "Eggs", Right: true},
		{Name: "Clutches", Right: true}, {Name: "Seasons", Right: true}, {Name: "Failed in a row", Unit: "seasons", Right: true}, {Name: "With dummies", Right: true}, {Name: "Outcome unknown", Right: true}}}
	for k := range b.r.Pairs {
		x := &b.r.Pairs[k]
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{b.link(x.Female), b.link(x.Male), gainCell(x.Advantage), kinshipCell(x.Kinship),
			{Text: document.FormatProbability(x.Success.Chance), Value: x.Success.Chance}, {Text: document.FormatNumber(x.Expected, 2), Value: x.Expected},
			{Text: document.FormatNumber(x.Chicks, 2), Value: x.Chicks}, word(document.FormatDate(x.Since))}})
		s := &x.Record
		if s.Clutches == 0 {
			continue
		}
		clutches.Rows = append(clutches.Rows, document.Row{Cells: []document.Cell{b.link(x.Female), b.link(x.Male), countedCell(s.Fledged), countedCell(s.Hatched), countedCell(s.Fertile), countedCell(s.Eggs),
			countCell(s.Clutches), countCell(len(x.Seasons)), countCell(x.FailedSeasons), countCell(s.Dummied), countCell(s.Untold)}})
	}
	blocks := []document.Block{t}
	if len(clutches.Rows) > 0 {
		blocks = append(blocks, clutches)
	}
	b.section("Figures of the pairs", blocks...)
}

func actionText(a review.Action) string {
	if a == review.Part {
		return "part between seasons, if agreed"
	}
	return string(a)
}

// MatesShown is how many mates each unpaired bird is shown with.
const MatesShown = 3

// unpaired says of every bird that could have a mate what the decision has for it; the
// ranking of all mates is the list's of mates.
func (b *reviewBuilder) unpaired() {
	const title = "Birds without a mate"
	if len(b.r.Unpaired) == 0 {
		b.section(title, document.Paragraph("Every bird of the colony is paired, too young or too old to breed, or on hold."))
		return
	}
	var say []string
	for _, u := range b.r.Unpaired {
		say = append(say, b.p.Name(u.Bird)+": "+DecisionText(b.p, u.Ranking)+".")
	}
	b.section(title, document.List(sentences(say)), document.Paragraph("The mates command ranks all that each could have, with the reasons."))
}

// plan takes in the season's plan for the colony: what to do with each pair stands
// with the pairs, what to do with each bird alone with the birds.
func (b *reviewBuilder) plan() {
	x := b.r.Plan
	why := NeedText(b.r.PlanWhy)
	if !strings.HasPrefix(why, "to ") {
		why = "because " + why
	}
	say := fmt.Sprintf("Season %d: %s %s That many are wanted %s.", x.Decision.Season.Year, expectedText(b.p, x), worthText(x), why)
	blocks := []document.Block{document.Paragraph(say)}
	if len(x.Eggs) > 0 {
		t := eggTable(b.p, x)
		t.Caption = "Eggs that lie there now"
		blocks = append(blocks, t)
	}
	blocks = append(blocks, document.List(PlanSteps(b.p, x)))
	if len(x.Young) > 0 {
		t := youngTable(b.p, x.Young)
		t.Caption = "Young birds"
		blocks = append(blocks, t)
	}
	b.section("Plan for the next season", blocks...)
}

// transfersShown is how many transfers a review asks for.
const transfersShown = 5

// transfers names the moves to ask for.
func (b *reviewBuilder) transfers() {
	l := b.r.Transfers
	if l == nil {
		return
	}
	var blocks []document.Block
	if len(l.Moves) > 0 {
		t := moveTable(b.p, l.Moves, transfersShown)
		t.More = leftOut(len(t.Rows), len(l.Moves), "moves", "the transfer command lists all")
		blocks = append(blocks, document.Paragraph("Moves of the season's decision from and to the colony. The transfer command writes the request for each, with what it does at both ends and in what months a bird should not travel."), t)
	} else {
		blocks = append(blocks, document.Paragraph(noMoveText(b.p, "none from or to the colony would gain what a move should be worth")))
	}
	if len(l.Sent) > 0 {
		blocks = append(blocks, document.Paragraph("Agreed on, without a mate:"), agreedTable(b.p, l.Sent))
	}
	b.section("Transfers to ask for", blocks...)
}

// related draws how the birds of the colony are related.
func (b *reviewBuilder) related() {
	if len(b.r.Birds) < 2 {
		return
	}
	blocks := []document.Block{b.meanKinshipFigure()}
	if b.r.Kinship != nil {
		blocks = append(blocks, b.kinshipMap())
	}
	blocks = append(blocks, b.pedigreeFigures()...)
	b.section("How the birds are related", blocks...)
}

// mostPairs is how many pairs a list names.
const mostPairs = 12

// pairList lists pairs, of many the first ones and how many more there are.
func pairList(pairs []string) string {
	if more := len(pairs) - mostPairs; more > 1 {
		return strings.Join(pairs[:mostPairs], "; ") + "; and " + document.FormatCount(more) + " more"
	}
	return strings.Join(pairs, "; ")
}

// lastYear sets what was advised at the last review beside what became of it.
func (b *reviewBuilder) lastYear() {
	l := b.r.LastYear
	if l == nil || len(l.Results) == 0 {
		return
	}
	t := &document.Table{Columns: []document.Column{{Name: "Advised", Key: true, Wide: true}, deciding(document.Column{Name: "Done"}), {Name: "Result", Wide: true}}}
	type row struct {
		at    int
		pairs []string
	}
	replaced := map[[2]string]*row{} // of pairs whose eggs were to be replaced, by what became of it
	for k := range l.Results {
		r := &l.Results[k]
		became, result := BecameText(r), orUnknown(ResultText(r))
		if r.What == review.ReplaceEggs && r.Said == nil {
			same := replaced[[2]string{became, result}]
			if same == nil {
				same = &row{at: len(t.Rows)}
				replaced[[2]string{became, result}] = same
			}
			same.pairs = append(same.pairs, r.Birds[0].Named()+" and "+r.Birds[1].Named())
			if n := len(same.pairs); n > 1 {
				t.Rows[same.at].Cells[0].Text = fmt.Sprintf("Replace the eggs of %s pairs: %s", document.FormatCount(n), pairList(same.pairs))
				continue
			}
		}
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: Capital(AdvisedText(r))}, {Text: became}, {Text: result}}})
	}
	blocks := []document.Block{document.Paragraph(fmt.Sprintf(
		"What the season's decision was on %s, whether anybody asked for it then or not, with the files as they were known then, beside what the files say has happened since.", document.FormatDay(l.On))), t, document.Paragraph(calibrationText(l))}
	if l.Deaths != nil {
		blocks = append(blocks, document.Paragraph(diedText(l.Deaths)))
	}
	b.section("What became of the last advice", blocks...)
}
