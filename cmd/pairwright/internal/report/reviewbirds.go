package report

import (
	"fmt"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing/review"
	"pairwright/pairing/transfer"
)

// birds lists the colony by mean kinship with what to do with each bird.
func (b *reviewBuilder) birds() {
	mean, _ := b.p.Living.MeanKinship()
	t := &document.Table{Columns: []document.Column{birdColumn, nameColumn, sexColumn, ageColumn, {Name: "Mate"}, mkColumn, {Name: "Rank", Right: true}, fColumn, {Name: "What to do"}, {Name: "Why", Wide: true}}}
	counts := map[review.BirdAction]int{}
	for _, x := range b.r.Birds {
		bird := &b.p.Book.Birds[x.Bird]
		counts[x.Action]++
		t.Rows = append(t.Rows, document.Row{Anchor: anchor(bird.ID), Cells: []document.Cell{{Text: bird.ID}, {Text: bird.Name}, {Text: bird.Sex.String()}, ageCell(x.Age, x.AgePlusMinus, x.AgeKnown),
			{Text: strings.Join(BirdIDs(b.p, x.Mates), ", ")}, {Text: document.FormatMeanKinship(x.MeanKinship), Value: x.MeanKinship}, countCell(x.Rank), kinshipCell(x.Inbreeding), {Text: string(x.Action)}, {Text: BirdReasons(&x)}}})
	}
	var parts []string
	for _, a := range []review.BirdAction{review.Breed, review.BreedWithCare, review.FindMate, review.NewMate, review.InReserve, review.RestBird, review.TooYoung, review.PastBreeding, review.OnHold, review.FindSex} {
		if n := counts[a]; n > 0 {
			parts = append(parts, fmt.Sprintf("%s (%s)", a, document.FormatCount(n)))
		}
	}
	b.section("The birds", document.Paragraph(fmt.Sprintf("The birds of the colony, those with the fewest relatives first: %s. The mean kinship of the programme is %s; rank 1 of %s has the fewest relatives.",
		document.FormatList(parts, 0), document.FormatMeanKinship(mean), document.FormatCount(b.p.Living.Size()))), b.pictureOf(len(b.r.Birds), b.meanKinshipFigure), t)
}

// pairs reviews every open bond.
func (b *reviewBuilder) pairs() {
	if len(b.r.Pairs) == 0 {
		b.section("Pairs", document.Paragraph("No bird of the colony has an open bond on record."))
		return
	}
	do := &document.Table{Caption: "What to do with each pair", Columns: []document.Column{{Name: "Female", Key: true}, {Name: "Male", Key: true}, {Name: "Nest"}, {Name: "What to do"}, {Name: "Eggs"}, {Name: "Why", Wide: true}}}
	t := &document.Table{Caption: "Their figures", Columns: []document.Column{{Name: "Female", Key: true}, {Name: "Male", Key: true}, {Name: "Since", Right: true}, {Name: "F of a chick", Right: true},
		gainColumn("Advantage"), {Name: "Chance of success", Right: true}, {Name: "Expected chicks", Right: true}, gainColumn("Expected gain"), {Name: "Chicks in the plan", Right: true}}}
	clutches := &document.Table{Caption: "Their clutches on record", Columns: []document.Column{{Name: "Female", Key: true}, {Name: "Male", Key: true}, {Name: "Seasons", Right: true}, {Name: "Clutches", Right: true}, {Name: "Without outcome", Right: true}, {Name: "Eggs", Right: true},
		{Name: "Fertile", Right: true}, {Name: "Hatched", Right: true}, {Name: "Fledged", Right: true}, {Name: "Failed seasons in a row", Right: true}}}
	counts := map[review.Action]int{}
	eggs := map[[2]int]string{}
	for k := range b.r.Plan.Eggs {
		x := &b.r.Plan.Eggs[k]
		eggs[[2]int{x.Female, x.Male}] = eggText(x)
	}
	for k := range b.r.Pairs {
		x := &b.r.Pairs[k]
		counts[x.Action]++
		link := func(id string) document.Cell { return document.Cell{Text: id, Link: anchor(id)} }
		advantage, gain := document.Cell{Text: document.Unknown}, document.Cell{Text: document.Unknown}
		if x.Compared {
			advantage, gain = gainCell(x.Advantage), gainCell(x.ExpectedGain)
		}
		do.Rows = append(do.Rows, document.Row{Cells: []document.Cell{link(x.Female), link(x.Male), {Text: x.Nest}, {Text: actionText(x.Action)}, word(eggs[[2]int{x.FemaleBird, x.MaleBird}]), {Text: capital(strings.Join(PairReasons(x), "; "))}}})
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{link(x.Female), link(x.Male), word(document.FormatDate(x.Since)), kinshipCell(x.OffspringInbreeding),
			advantage, {Text: document.FormatProbability(x.Success.Chance), Value: x.Success.Chance}, {Text: document.FormatNumber(x.ExpectedChicks, 2), Value: x.ExpectedChicks}, gain, countCell(x.Planned)}})
		s := &x.Record
		if s.Clutches == 0 {
			continue
		}
		clutches.Rows = append(clutches.Rows, document.Row{Cells: []document.Cell{link(x.Female), link(x.Male), countCell(len(x.Seasons)), countCell(s.Clutches), countCell(s.Clutches - s.Told()),
			countedCell(s.Eggs), countedCell(s.Fertile), countedCell(s.Hatched), countedCell(s.Fledged), countCell(x.FailedSeasons)}})
	}
	var parts []string
	for _, a := range []review.Action{review.Keep, review.Reserve, review.Rest, review.Part} {
		if n := counts[a]; n > 0 {
			parts = append(parts, fmt.Sprintf("%s (%s)", actionText(a), document.FormatCount(n)))
		}
	}
	blocks := []document.Block{document.Paragraph(fmt.Sprintf("%s: %s. Keep: let it hatch the chicks that the plan has from it. Reserve: keep the bond, but its chicks are wanted only if a planned pair fails. Rest: leave the bond, hatch no chicks. Part: look for another mate for both when the season allows.",
		capital(document.FormatThings(len(b.r.Pairs), "open bond", "open bonds")), document.FormatList(parts, 0))), do, t}
	if len(clutches.Rows) > 0 {
		blocks = append(blocks, clutches)
	}
	b.section("Pairs", blocks...)
}

func actionText(a review.Action) string {
	if a == review.Part {
		return "part when the season allows"
	}
	return string(a)
}

// MatesShown is how many mates each unpaired bird is shown with.
const MatesShown = 3

// unpaired names the best mates of every bird that could have one.
func (b *reviewBuilder) unpaired() {
	if len(b.r.Unpaired) == 0 {
		b.section("Birds without a mate", document.Paragraph("Every bird of the colony is paired, too young or too old to breed, of unknown sex, or on hold."))
		return
	}
	t := &document.Table{Columns: []document.Column{birdColumn, nameColumn, {Name: "Rank", Right: true, Key: true}, {Name: "Mate"}, {Name: "At"}, {Name: "Verdict"}, {Name: "F of a chick", Right: true},
		gainColumn("Advantage"), gainColumn("Expected gain"), {Name: "Distance", Unit: "km", Right: true}}}
	var say []string
	for _, u := range b.r.Unpaired {
		bird := &b.p.Book.Birds[u.Bird]
		say = append(say, fmt.Sprintf("%s: %s.", b.p.Name(u.Bird), RankingSummary(b.p, u.Ranking)))
		for k := range u.Ranking.Candidates[:min(MatesShown, len(u.Ranking.Candidates))] {
			c := &u.Ranking.Candidates[k]
			at := "home"
			if c.NeedsTransfer {
				at = orUnknown(b.p.Book.Birds[c.Bird].Location)
			}
			advantage, gain, km := document.Cell{Text: document.Unknown}, document.Cell{Text: document.Unknown}, document.Cell{Text: document.Unknown}
			if u.Ranking.Compared {
				advantage, gain = gainCell(c.Advantage), gainCell(c.ExpectedGain)
			}
			if c.Placed {
				km = document.Cell{Text: document.FormatKm(c.Distance), Value: c.Distance}
			}
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: bird.ID, Link: anchor(bird.ID)}, {Text: bird.Name}, countCell(c.Rank), {Text: b.p.Name(c.Bird), Link: anchor(b.p.Book.Birds[c.Bird].ID)},
				{Text: at}, {Text: string(c.Verdict)}, kinshipCell(c.OffspringInbreeding), advantage, gain, km}})
		}
	}
	blocks := []document.Block{document.List(sentences(say))}
	if len(t.Rows) > 0 {
		t.More = fmt.Sprintf("At most %d mates for each bird; the mates command has all, with the reasons.", MatesShown)
		blocks = append(blocks, t)
	}
	b.section("Birds without a mate", blocks...)
}

// plan takes in the colony's plan for the coming season.
func (b *reviewBuilder) plan() {
	x := b.r.Plan
	say := fmt.Sprintf("No chick is planned for the season %d; %s wanted: %s.", b.p.Season(), document.FormatCount(x.Wanted), NeedText(b.r.PlanWhy))
	if x.Chicks > 0 {
		say = fmt.Sprintf("%s of %s planned for the season %d; %s wanted: %s.", capital(document.FormatThings(x.Chicks, "chick", "chicks")),
			document.FormatThings(len(x.Pairs), "pair", "pairs"), b.p.Season(), document.FormatCount(x.Wanted), NeedText(b.r.PlanWhy))
	}
	if x.Known && x.Chicks > 0 {
		say += " " + boundText(x)
	}
	blocks := []document.Block{document.Paragraph(say)}
	titled := func(title string, block document.Block) {
		if t, ok := block.(*document.Table); ok {
			t.Caption = title
		}
		blocks = append(blocks, block)
	}
	// What to do with the eggs stands with the pairs.
	titled("Pairs that hatch chicks", plannedPairs(b.p, x))
	if x.Known && x.Chicks > 0 {
		titled("What the plan is worth", worth(x))
	}
	if len(x.Unpaired) > 0 {
		titled("Birds left unpaired", leftUnpaired(b.p, x))
	}
	// What the plan assumes is among the assumptions of the review.
	assumed := Assumptions(b.p, ReviewSettings...)
	notes := slices.DeleteFunc(slices.Clone(x.Notes), func(n string) bool { return slices.Contains(assumed, n) })
	if len(notes) > 0 {
		blocks = append(blocks, document.List(sentences(notes)))
	}
	b.section("Plan for the next season", blocks...)
}

// transfersShown is how many transfers a review asks for.
const transfersShown = 5

// transfers names the moves worth asking for.
func (b *reviewBuilder) transfers() {
	l := b.r.Transfers
	if l == nil {
		return
	}
	var together []transfer.Listed
	for _, m := range l.Singles {
		if m.Together {
			together = append(together, m)
		}
	}
	if len(together) == 0 {
		b.section("Transfers to ask for", document.Paragraph("No move from or to the colony would give an unpaired bird a better mate than it has at home, or one better than the average pair."))
		return
	}
	t := moveTable(b.p, together, transfersShown)
	t.More = leftOut(len(t.Rows), len(together), "moves", "the transfer command lists all")
	b.section("Transfers to ask for", document.Paragraph("Moves from and to the colony that give unpaired birds mates, the largest expected gain first; they can be made together. The transfer command writes the request for each, with what it does at both ends and in what months a bird should not travel."), t)
}

// related draws how the birds of the colony are related.
func (b *reviewBuilder) related() {
	if len(b.r.Birds) < 2 {
		return
	}
	var blocks []document.Block
	if b.r.Kinship != nil {
		blocks = append(blocks, b.kinshipMap())
	}
	blocks = append(blocks, b.pedigreeFigures()...)
	b.section("How the birds are related", blocks...)
}

// lastYear sets what was advised at the last review beside what became of it.
func (b *reviewBuilder) lastYear() {
	l := b.r.LastYear
	if l == nil || len(l.Results) == 0 {
		return
	}
	t := &document.Table{Columns: []document.Column{{Name: "Advised", Key: true, Wide: true}, {Name: "Done"}, {Name: "Result"}}}
	for k := range l.Results {
		r := &l.Results[k]
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: capital(AdvisedText(r))}, {Text: BecameText(r)}, word(ResultText(r))}})
	}
	b.section("What became of the last advice", document.Paragraph(fmt.Sprintf(
		"What the plan would have said on %s, with the files as they were known then, beside what the files say has happened since.", document.FormatDay(l.On))), t, document.Paragraph(calibrationText(l)))
}
