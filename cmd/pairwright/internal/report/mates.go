package report

import (
	"fmt"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// MatesDocument ranks the mates for one bird.
func MatesDocument(p *pairing.Programme, r *pairing.Ranking, top int) *document.Document {
	bird := &p.Book.Birds[r.Bird]
	d := &document.Document{
		Title: "Mates for " + p.Name(r.Bird), Lead: capital(RankingSummary(p, r)) + ".",
		Facts: append(mateFacts(p, r), about(p)...), Footer: Advice,
	}
	shown := r.Candidates[:min(top, len(r.Candidates))]
	if len(shown) > 0 {
		t := candidateTable(p, r, shown)
		t.More = leftOut(len(shown), len(r.Candidates), "possible mates", "more with --top")
		why := document.Section{Title: "Why"}
		for k := range shown {
			c := &shown[k]
			why.Blocks = append(why.Blocks,
				document.Paragraph(fmt.Sprintf("%d. %s, %s:", c.Rank, p.Name(c.Bird), c.Verdict)), document.List(Reasons(p, c.Reasons)))
		}
		d.Sections = append(d.Sections, document.Section{Title: "Ranked mates", Blocks: []document.Block{t}}, why)
	}
	if out := ruledOut(p, r); len(out.Blocks) > 0 {
		d.Sections = append(d.Sections, out)
	}
	d.Notes = append(sentences(RankingNotes(p, r)),
		"Gain is the exact change in the programme's gene diversity when one chick of the pair is added; it is often below zero while both parents live. Advantage is the gain less that of the average eligible pair, because some pair will hatch the chick.",
		fmt.Sprintf("Expected gain = expected chicks × advantage. Expected chicks are those that the settled pair hatches in a season in which its eggs are left to it: %s, as pairs of the programme do, × chance of success ÷ the programme's × survival under inbreeding.", document.FormatNumber(p.Settings().ChicksPerSeason, 2)),
		"Recommended: advantage above zero, chick's F below "+document.FormatKinship(p.Settings().PreferInbreeding)+" at least half of the mate's ancestry known and no unknown parent that could make the two close kin. Acceptable: advantage above zero, F at most "+document.FormatKinship(r.Limit)+". The recommended come first, then the acceptable; mates within 2 % of each other are ordered by what costs the birds less.",
		"Home is where "+bird.ID+" lives. A pair bond cannot be forced: let the birds choose among good mates, and let the veterinarian see a bird before it moves.")
	return d
}

func mateFacts(p *pairing.Programme, r *pairing.Ranking) document.Facts {
	bird := &p.Book.Birds[r.Bird]
	place := ""
	if p.Book.Colony.HasLocation {
		place = ", at " + p.Place(bird.Location)
	}
	f := document.Facts{{Name: "Bird", Value: fmt.Sprintf("%s, %s, %s%s", p.Name(r.Bird), bird.Sex.Word(), yearsOld(p, r.Bird), place)}}
	mk := p.Living.MeanKinshipOf(p.Node(r.Bird))
	f = append(f, document.Fact{Name: "Its mean kinship", Value: fmt.Sprintf("%s, rank %d of %d", document.FormatMeanKinship(mk), p.Rank(r.Bird), p.Living.Size())})
	compare := "none besides"
	if r.EligiblePairs > 0 {
		compare = fmt.Sprintf("%s; a chick of the average one gains %s millionths", document.FormatThings(r.EligiblePairs, "pair", "pairs"), millionths(r.AverageGain))
	}
	return append(f, document.Fact{Name: "Pairs that may breed", Value: compare})
}

// yearsOld says how old a bird is.
func yearsOld(p *pairing.Programme, b int) string {
	age, plusMinus, ok := p.Book.AgeYears(b)
	if !ok {
		return "of unknown age"
	}
	return document.FormatAge(age, plusMinus, true) + " years old"
}

// candidateTable has a row for each of the candidates shown, and a column only
// where at least one of them has something to say there.
func candidateTable(p *pairing.Programme, r *pairing.Ranking, shown []pairing.Candidate) *document.Table {
	t := &document.Table{Columns: []document.Column{
		{Name: "Rank", Right: true, Key: true}, birdColumn, nameColumn, atColumn, {Name: "Verdict"}, {Name: "F of a chick", Right: true},
		mkColumn, gainColumn("Gain"), gainColumn("Advantage"), {Name: "Expected chicks", Right: true},
		deciding(gainColumn("Expected gain")), ageColumn, {Name: "Distance", Unit: "km", Right: true},
	}}
	bonded := slices.ContainsFunc(shown, func(c pairing.Candidate) bool { return c.BondedTo != "" })
	if r.Uncertain {
		t.Columns = append(t.Columns, document.Column{Name: "Best in", Right: true}, document.Column{Name: "First three in", Right: true})
	}
	if bonded {
		t.Columns = append(t.Columns, document.Column{Name: "Bonded to"})
	}
	for k := range shown {
		c := &shown[k]
		mate := &p.Book.Birds[c.Bird]
		at, distance := orUnknown(mate.Location), document.Cell{Text: document.Unknown}
		if !c.NeedsTransfer {
			at = "home"
		}
		if c.Placed {
			distance = document.Cell{Text: document.FormatKm(c.Distance), Value: c.Distance}
		}
		advantage, gain := document.Cell{Text: document.Unknown}, document.Cell{Text: document.Unknown}
		if r.Compared {
			advantage, gain = gainCell(c.Advantage), gainCell(c.ExpectedGain)
		}
		row := document.Row{Cells: []document.Cell{
			countCell(c.Rank), {Text: mate.ID}, {Text: mate.Name}, {Text: at}, {Text: string(c.Verdict)}, kinshipCell(c.OffspringInbreeding),
			{Text: document.FormatMeanKinship(c.MeanKinship), Value: c.MeanKinship}, gainCell(c.GeneDiversityGain), advantage,
			{Text: document.FormatNumber(c.ExpectedChicks, 2), Value: c.ExpectedChicks}, gain, ageCell(c.Age, c.AgePlusMinus, c.AgeKnown), distance,
		}}
		if r.Uncertain {
			row.Cells = append(row.Cells, chanceCell(c.BestIn), chanceCell(c.AmongFirstIn))
		}
		if bonded {
			row.Cells = append(row.Cells, document.Cell{Text: c.BondedTo})
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// ruledOut lists the birds of the other sex at home that are ruled out, and
// counts the rest.
func ruledOut(p *pairing.Programme, r *pairing.Ranking) document.Section {
	t := &document.Table{Columns: []document.Column{birdColumn, nameColumn, atColumn, {Name: "Why not", Wide: true}}}
	home := p.Book.Birds[r.Bird].Location
	var elsewhere, same, dead []pairing.Excluded
	for _, x := range r.RuledOut {
		bird := &p.Book.Birds[x.Bird]
		switch {
		case x.Reasons[0].Is(pairing.Dead, pairing.Gone):
			dead = append(dead, x)
		case x.Reasons[0].Code == pairing.SameSex:
			same = append(same, x)
		case bird.Location != home:
			elsewhere = append(elsewhere, x)
		default:
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: bird.ID}, {Text: bird.Name}, {Text: "home"}, {Text: strings.Join(Reasons(p, x.Reasons), "; ")}}})
		}
	}
	var rest []string
	if n := len(elsewhere); n > 0 {
		rest = append(rest, document.FormatThings(n, "bird elsewhere", "birds elsewhere")+" ("+tally(elsewhere)+")")
	}
	if n := len(same); n > 0 {
		rest = append(rest, document.FormatThings(n, "bird of the same sex", "birds of the same sex"))
	}
	if n := len(dead); n > 0 {
		rest = append(rest, document.FormatThings(n, "bird that died or left", "birds that died or left"))
	}
	s := document.Section{Title: "Ruled out"}
	if len(t.Rows) > 0 {
		s.Blocks = append(s.Blocks, t)
	}
	if len(rest) > 0 {
		s.Blocks = append(s.Blocks, document.Paragraph("Ruled out too: "+document.FormatList(rest, len(rest))+". The JSON format names every one with its reasons."))
	}
	return s
}

// BestMatesDocument lists the unpaired birds of a colony with their best
// mates.
func BestMatesDocument(p *pairing.Programme, place string, rankings []*pairing.Ranking, top int) *document.Document {
	d := &document.Document{
		Title: "Mates for the unpaired birds", Facts: append(document.Facts{{Name: "Colony", Value: colonyName(p, place)}}, about(p)...), Footer: Advice,
		Lead: "Every bird of the colony is paired, too young or too old to breed, or on hold.",
	}
	if len(rankings) == 0 {
		return d
	}
	d.Lead = fmt.Sprintf("%s of breeding age without a mate and without a hold.", document.FormatThings(len(rankings), "bird", "birds"))
	seen := map[string]bool{}
	for _, r := range rankings {
		bird := &p.Book.Birds[r.Bird]
		s := document.Section{Title: p.Name(r.Bird), Anchor: anchor(bird.ID), Blocks: []document.Block{document.Paragraph(fmt.Sprintf(
			"%s, %s, mean kinship %s (rank %d of %d): %s.", capital(bird.Sex.Word()), yearsOld(p, r.Bird),
			document.FormatMeanKinship(p.Living.MeanKinshipOf(p.Node(r.Bird))), p.Rank(r.Bird), p.Living.Size(), RankingSummary(p, r)))}}
		if shown := r.Candidates[:min(top, len(r.Candidates))]; len(shown) > 0 {
			t := candidateTable(p, r, shown)
			t.More = leftOut(len(shown), len(r.Candidates), "possible mates", "all reasons with mates "+bird.ID)
			s.Blocks = append(s.Blocks, t)
		}
		d.Sections = append(d.Sections, s)
		if bird.Sex == studbook.Unsexed {
			continue // the section says all
		}
		for _, n := range sentences(RankingNotes(p, r)) {
			if !seen[n] {
				seen[n] = true
				d.Notes = append(d.Notes, n)
			}
		}
	}
	return d
}
