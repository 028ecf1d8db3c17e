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
		Title: "Mates for " + p.Name(r.Bird), Lead: Capital(DecisionText(p, r)) + ".",
		Facts: mateFacts(p, r), About: about(p), Footer: Advice,
	}
	shown := r.Shown(top)
	if len(shown) > 0 {
		t := candidateTable(p, r, shown)
		t.More = leftOut(len(shown), len(r.Candidates), "possible mates", "more with --top")
		d.Sections = append(d.Sections, whyFirst(p, r, &shown[0]), document.Section{Title: "Ranked mates", Blocks: []document.Block{t}})
	}
	if out := ruledOut(p, r); len(out.Blocks) > 0 {
		d.Sections = append(d.Sections, out)
	}
	if len(shown) > 1 {
		d.Sections = append(d.Sections, document.Section{Title: "What else there is to say of the others", Blocks: []document.Block{reasonTable(p, shown[1:])}})
	}
	if len(shown) > 0 {
		d.Sections = append(d.Sections, document.Section{Title: "The figures behind the order", Blocks: []document.Block{figureTable(p, r, shown)}})
		d.Notes = mateNotes(p, r)
	}
	d.Notes = append(sentences(RankingNotes(p, r)), d.Notes...)
	d.Notes = append(d.Notes, "Home is where "+bird.ID+" lives. A pair bond cannot be forced: let the birds choose among good mates, and let the veterinarian see a bird before it moves.")
	return d
}

// whyFirst has the reasons for the mate that stands first, to be read aloud.
func whyFirst(p *pairing.Programme, r *pairing.Ranking, c *pairing.Candidate) document.Section {
	title := fmt.Sprintf("Why %s comes first", p.Name(c.Bird))
	switch {
	case !c.Verdict.Good() && !c.Decided:
		title = fmt.Sprintf("Why %s, the first of them, is not advised", p.Name(c.Bird))
	case r.Bond != nil && r.Bond.Kind == pairing.BondKept && !c.Decided:
		title = fmt.Sprintf("Why %s would come first if %s were free", p.Name(c.Bird), p.Name(r.Bird))
	}
	return document.Section{Title: title, Blocks: []document.Block{document.List(sentences(Reasons(p, c.Reasons)))}}
}

// reasonTable has, one in a row, the reasons of candidates that no column of their
// table shows.
func reasonTable(p *pairing.Programme, shown []pairing.Candidate) *document.Table {
	t := &document.Table{Columns: []document.Column{{Name: "Rank", Right: true, Key: true}, birdColumn, deciding(document.Column{Name: "Verdict"}), {Name: "Why", Wide: true}}}
	for k := range shown {
		c := &shown[k]
		more := slices.DeleteFunc(slices.Clone(c.Reasons), func(r pairing.Reason) bool {
			return r.Is(pairing.AheadOfPairs, pairing.NotKin, pairing.Inbred, pairing.Otherwise, pairing.AtHome, pairing.Away, pairing.RankConfidence)
		})
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{
			countCell(c.Rank), {Text: p.Name(c.Bird)}, {Text: verdictText(c)}, {Text: Capital(strings.Join(Reasons(p, more), "; "))},
		}})
	}
	return t
}

// mateNotes explain the order of mates.
func mateNotes(p *pairing.Programme, r *pairing.Ranking) []string {
	notes := []string{
		"First stands the bird's own mate, or the one that the season's decision for the whole programme gives it; then the order is by verdict and by net gain: what the programme gains by the pair, less what the mate would do otherwise, so that the same pair has another net gain as seen from the mate. Mates within 2% of each other are ordered by what costs the birds less: no move before a move, the nearer before the farther.",
		"Ahead of: of a hundred pairs of the programme that might breed, how many are worth less than this one.",
		fmt.Sprintf("Chicks are those that the pair is expected to hatch in the next %s if its eggs are left to it: in each %s, as pairs of the programme do, × its chance of success against theirs × survival under inbreeding × that both live; a new pair does as new pairs of the programme do, and one that a move brings together too late for a season has none in it.",
			document.FormatThings(p.Settings().SeasonsAhead, "season", "seasons"), document.FormatNumber(p.Settings().ChicksPerSeason, 2)),
		"Recommended: net gain above zero, a chick's F below " + document.FormatKinship(p.Settings().PreferInbreeding) + ", at least half of the mate's ancestry known, and no unknown parent that could make the two close kin. Acceptable: net gain above zero, F below " + document.FormatKinship(r.Limit) + ".",
	}
	if len(r.Candidates) > 0 && r.Candidates[0].Settled() {
		notes = append(notes, "Own mate: the two are bonded and stay together. Its net gain weighs the two as if both were free again, and is no word against their bond; bonds whose parting would be worth much stand in the plan, for people to decide.")
	}
	return notes
}

// figureTable is the appendix with the figures that the order is made of.
func figureTable(p *pairing.Programme, r *pairing.Ranking, shown []pairing.Candidate) *document.Table {
	t := &document.Table{Columns: []document.Column{
		{Name: "Rank", Right: true, Key: true}, birdColumn, deciding(gainColumn("Net gain")), {Name: "Chicks in the", Unit: "coming season", Right: true},
		mkColumn, ageColumn, {Name: "Distance", Unit: "km", Right: true},
	}}
	if r.Uncertain {
		t.Columns = append(t.Columns, document.Column{Name: "Best in", Right: true}, document.Column{Name: "First three in", Right: true})
	}
	for k := range shown {
		c := &shown[k]
		distance := document.Cell{Text: document.Unknown}
		if c.Placed {
			distance = document.Cell{Text: document.FormatKm(c.Distance), Value: c.Distance}
		}
		row := document.Row{Cells: []document.Cell{
			countCell(c.Rank), {Text: p.Book.Birds[c.Bird].ID}, gainCell(c.NetGain), {Text: document.FormatNumber(c.Chicks, 2), Value: c.Chicks},
			{Text: document.FormatMeanKinship(c.MeanKinship), Value: c.MeanKinship}, ageCell(c.Age, c.AgePlusMinus, c.AgeKnown), distance,
		}}
		if r.Uncertain {
			row.Cells = append(row.Cells, chanceCell(c.BestIn), chanceCell(c.AmongFirstIn))
		}
		t.Rows = append(t.Rows, row)
		if c.Charged {
			t.More = moveWorth(r.LeastGain) + takenOff
		}
	}
	return t
}

// chicksAhead heads the chicks of the seasons that a decision counts.
func chicksAhead(p *pairing.Programme) document.Column {
	return document.Column{Name: "Chicks", Unit: "in " + document.FormatThings(p.Settings().SeasonsAhead, "season", "seasons"), Right: true}
}

func mateFacts(p *pairing.Programme, r *pairing.Ranking) document.Facts {
	bird := &p.Book.Birds[r.Bird]
	place := ""
	if p.Book.Colony.HasLocation {
		place = ", at " + p.Place(bird.Location)
	}
	state := string(r.Standing.State)
	if until := r.Standing.Until; until != 0 {
		state += ", until " + document.FormatDay(until)
	}
	f := document.Facts{
		{Name: "Bird", Value: fmt.Sprintf("%s, %s, %s%s", p.Name(r.Bird), bird.Sex.Word(), yearsOld(p, r.Bird), place)},
		{Name: "Its state", Value: state},
	}
	mk := p.Living.MeanKinshipOf(p.Node(r.Bird))
	f = append(f, document.Fact{Name: "Its mean kinship", Value: document.FormatMeanKinship(mk) + ", " + rankText(p, r.Bird)})
	return append(f, document.Fact{Name: "Pairs that may breed", Value: document.FormatThings(r.EligiblePairs, "pair of the programme", "pairs of the programme")})
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
		{Name: "Rank", Right: true, Key: true}, birdColumn, deciding(document.Column{Name: "Verdict"}), atColumn, {Name: "Ahead of", Unit: "% of pairs", Right: true},
		{Name: "Kin", Wide: true}, {Name: "Chick's F", Right: true}, chicksAhead(p), {Name: "Otherwise with"},
	}}
	bonded := slices.ContainsFunc(shown, func(c pairing.Candidate) bool { return c.BondedTo != "" })
	if bonded {
		t.Columns = append(t.Columns, document.Column{Name: "Bonded to"})
	}
	for k := range shown {
		c := &shown[k]
		at, otherwise := "home", "nobody"
		if c.NeedsTransfer {
			at = orUnknown(p.Book.Birds[c.Bird].Location)
			if c.Placed {
				at += ",\u00a0" + document.FormatKm(c.Distance) + "\u00a0km"
			}
		}
		if c.Otherwise >= 0 {
			otherwise = p.Book.Birds[c.Otherwise].ID
		}
		ahead := document.Cell{Text: document.FormatOfHundred(c.AheadOf), Value: 100 * c.AheadOf}
		if r.AllAlike {
			ahead = document.Cell{Text: document.Unknown}
		}
		row := document.Row{Cells: []document.Cell{
			countCell(c.Rank), {Text: p.Name(c.Bird)}, {Text: verdictText(c)}, {Text: at}, ahead,
			{Text: KinWords(c.Kin)}, kinshipCell(c.OffspringInbreeding),
			{Text: document.FormatNumber(c.ChicksAhead, 1), Value: c.ChicksAhead}, {Text: otherwise},
		}}
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
	var elsewhere, same []pairing.Excluded
	gone := 0
	for x := range p.AllRuledOut(r) {
		bird := &p.Book.Birds[x.Bird]
		switch {
		case x.Reasons[0].Is(pairing.Dead, pairing.Gone):
			gone++
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
	if gone > 0 {
		rest = append(rest, document.FormatThings(gone, "bird that died or left", "birds that died or left"))
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
		Title: "Mates for the unpaired birds", Facts: document.Facts{{Name: "Colony", Value: colonyName(p, place)}}, About: about(p), Footer: Advice,
		Lead: "No bird of the colony is free: all are paired, too young or past breeding, or on hold.",
	}
	if len(rankings) == 0 {
		return d
	}
	d.Lead = Capital(document.FormatThings(len(rankings), "bird is", "birds are")) + " free for the coming season, or would be if their sex were known." + seemPairedText(p)
	seen := map[string]bool{}
	for _, r := range rankings {
		bird := &p.Book.Birds[r.Bird]
		s := document.Section{Title: p.Name(r.Bird), Anchor: anchor(bird.ID), Blocks: []document.Block{document.Paragraph(fmt.Sprintf(
			"%s, %s, mean kinship %s (%s): %s.", Capital(bird.Sex.Word()), yearsOld(p, r.Bird),
			document.FormatMeanKinship(p.Living.MeanKinshipOf(p.Node(r.Bird))), rankText(p, r.Bird), DecisionText(p, r)))}}
		if shown := r.Shown(top); len(shown) > 0 {
			t := candidateTable(p, r, shown)
			t.More = leftOut(len(shown), r.InAll, "possible mates", "all reasons with mates "+bird.ID)
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
