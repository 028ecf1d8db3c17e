package report

import (
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// At returns the rows of the birds at an institution.
func At(p *pairing.Programme, rows []pairing.Row, place string) []pairing.Row {
	return slices.DeleteFunc(slices.Clone(rows), func(r pairing.Row) bool {
		return p.Book.Birds[r.Bird].Location != place
	})
}

// Birds lists birds, one row each.
func Birds(p *pairing.Programme, rows []pairing.Row) *document.Document {
	t := &document.Table{Columns: []document.Column{
		birdColumn, nameColumn, deciding(document.Column{Name: "State"}), {Name: "Mate"}, atColumn, sexColumn, ageColumn, {Name: "Worth", Right: true},
		{Name: "Living descendants", Right: true}, {Name: "Rank", Right: true}, mkColumn, {Name: "Genome uniqueness", Right: true}, fColumn,
		{Name: "Known ancestry", Right: true},
	}}
	held := slices.ContainsFunc(rows, func(r pairing.Row) bool { return len(r.Holds) > 0 })
	if held {
		t.Columns = append(t.Columns, document.Column{Name: "Holds", Wide: true})
	}
	dead, gone := 0, 0
	for k := range rows {
		r := &rows[k]
		bird := &p.Book.Birds[r.Bird]
		unknown := document.Cell{Text: document.Unknown}
		at, worth, rank, mk, unique := word(bird.Location), unknown, unknown, unknown, unknown
		if r.Alive {
			worth = document.Cell{Text: document.FormatNumber(p.Worth(r.Bird), 2), Value: p.Worth(r.Bird)}
			rank = countCell(r.Rank)
			mk = document.Cell{Text: document.FormatMeanKinship(r.MeanKinship), Value: r.MeanKinship}
			unique = document.Cell{Text: document.FormatProbability(r.Uniqueness.Value), Value: r.Uniqueness.Value}
		} else {
			at.Text = endText(p, r.Bird, document.FormatDate)
			if bird.Death.Known() {
				dead++
			} else {
				gone++
			}
		}
		row := document.Row{Anchor: anchor(bird.ID), Cells: []document.Cell{
			{Text: bird.ID}, {Text: bird.Name}, {Text: stateWords(p.State(r.Bird))}, {Text: strings.Join(BirdIDs(p, r.Mates), ", ")}, at,
			{Text: bird.Sex.String()}, ageCell(r.Age, r.AgePlusMinus, r.AgeKnown), worth, countCell(r.Descendants),
			rank, mk, unique, kinshipCell(r.Inbreeding), shareCell(r.KnownAncestry),
		}}
		if held {
			row.Cells = append(row.Cells, document.Cell{Text: strings.Join(HoldReasons(r.Holds), "; ")})
		}
		t.Rows = append(t.Rows, row)
	}
	counts := []string{document.FormatThings(len(rows)-dead-gone, "living bird", "living birds")}
	if dead > 0 {
		counts = append(counts, document.FormatThings(dead, "dead bird", "dead birds"))
	}
	if gone > 0 {
		counts = append(counts, document.FormatThings(gone, "bird that is not in the programme", "birds that are not in the programme"))
	}
	return &document.Document{
		Title: "Birds", Lead: Capital(document.FormatList(counts, len(counts))) + ".", About: about(p),
		Sections: []document.Section{{Title: "The birds", Blocks: []document.Block{t}}},
		Notes: append([]string{
			"State is what a bird can do in the coming season. Worth is what it may still breed in the seasons after that, in chicks just hatched.",
			"F is the inbreeding coefficient: the chance that the two genes a bird has at one place are copies of one founder's gene.",
			"Mean kinship is with all living birds of the programme, the bird itself included; rank 1 has the lowest, so the fewest relatives.",
			"Genome uniqueness is the chance that a gene of the bird has no copy in any other living bird, from " +
				document.FormatCount(pedigree.DefaultIterations) + " gene-drop iterations (standard error at most 0.005).",
			"Known ancestry is the share of a bird's genes that traces to wild founders.",
		}, sentences(Assumptions(p))...),
	}
}

// endText says how a bird that is not among the living came to be so, "" of one
// that is; date writes the day.
func endText(p *pairing.Programme, b int, date func(studbook.Date) string) string {
	bird := &p.Book.Birds[b]
	switch {
	case bird.Death.Text == "unknown":
		return "died on an unknown day"
	case bird.Death.Known():
		return "died " + date(bird.Death)
	case p.Book.Alive(b):
		return ""
	}
	for _, m := range slices.Backward(p.Book.Colony.Moves) {
		if m.ID == bird.ID && m.To == "" && m.Date.First <= p.Book.AsOf {
			return "left " + date(m.Date)
		}
	}
	return "not in the programme"
}

// stateWords is a bird's state, with the day on which it changes.
func stateWords(s pairing.Standing) string {
	if s.Until == 0 {
		return string(s.State)
	}
	return string(s.State) + " until " + s.Until.String()
}
