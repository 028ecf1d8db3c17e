package report

import (
	"fmt"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
)

// togetherSections say what the chicks of two birds would be, and what pairing
// the two would do for the programme and to everybody else's choice.
func togetherSections(p *pairing.Programme, x *pairing.Together) []document.Section {
	s := document.Section{Title: "If they were paired"}
	if x.Mate == nil {
		why := "they are no choice for each other"
		if len(x.Against) > 0 {
			why = strings.Join(AgainstTexts(p, x.Against), "; ")
		}
		text := "They cannot be a pair in the coming season: " + why + "."
		if x.Bond != nil && x.Bond.Word != nil { // people have decided otherwise
			word := x.Bond.Word.Reason(p)
			text = fmt.Sprintf("%s are to be a pair (%s), which nothing here would propose: %s.", p.Name(x.A)+" and "+p.Name(x.B), planText(p, &word), why)
		}
		s.Blocks = []document.Block{document.Paragraph(text)}
		return []document.Section{s}
	}
	c := x.Mate
	mean, _ := p.Living.MeanKinship()
	otherwise := "nobody"
	if c.Otherwise >= 0 {
		otherwise = p.Name(c.Otherwise)
	}
	gain := millionths(c.NetGain) + " millionths, what " + p.Book.Birds[x.B].ID + " would do otherwise taken off"
	if c.Charged {
		gain += fmt.Sprintf(", and the %s that a move should be worth", document.FormatNumber(x.LeastGain*1e6, 1))
	}
	s.Blocks = []document.Block{
		document.Facts{
			{Name: "Verdict", Value: verdictText(c)},
			{Name: "A chick's F", Value: document.FormatKinship(c.OffspringInbreeding)},
			{Name: "A chick's mean kinship", Value: fmt.Sprintf("%s, where that of the programme is %s", document.FormatMeanKinship(x.ChickMeanKinship), document.FormatMeanKinship(mean))},
			{Name: "A chick's gain", Value: millionths(c.GeneDiversityGain) + " millionths of gene diversity"},
			{Name: "Chicks in the coming season", Value: document.FormatNumber(c.Chicks, 2)},
			{Name: "Net gain for " + p.Name(x.A), Value: gain},
			{Name: "Otherwise " + p.Name(x.B) + " would be with", Value: otherwise},
		},
		document.Paragraph(p.Name(x.B) + " as a mate for " + p.Name(x.A) + ":"),
		document.List(sentences(Reasons(p, c.Reasons))),
	}
	return []document.Section{s, othersSection(p, x)}
}

// othersSection says what becomes of the other birds.
func othersSection(p *pairing.Programme, x *pairing.Together) document.Section {
	s := document.Section{Title: "What that does to the others"}
	if len(x.Changes) == 0 {
		s.Blocks = []document.Block{document.Paragraph("By the season's decision nobody else would have another mate for it.")}
		return s
	}
	mate := func(b int) document.Cell {
		if b < 0 {
			return document.Cell{Text: "nobody"}
		}
		return document.Cell{Text: p.Name(b)}
	}
	t := &document.Table{Columns: []document.Column{birdColumn, nameColumn, sexColumn, atColumn, {Name: "By the decision with"}, {Name: "Then with"}}}
	for _, c := range x.Changes {
		bird := &p.Book.Birds[c.Bird]
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: bird.ID}, {Text: bird.Name}, {Text: bird.Sex.String()}, word(bird.Location), mate(c.Before), mate(c.After)}})
	}
	s.Blocks = []document.Block{
		document.Paragraph(fmt.Sprintf("%s would have another mate than by the season's decision, or none, if all the others were assigned to each other anew.",
			Capital(document.FormatThings(len(x.Changes), "other bird", "other birds")))), t,
	}
	return s
}

// AgainstTexts says why two birds can be no pair, with the name of the one that a
// reason is about.
func AgainstTexts(p *pairing.Programme, against []pairing.Reason) []string {
	texts := Reasons(p, against)
	for k := range against {
		switch against[k].Code {
		case pairing.TooYoung, pairing.TooOld, pairing.OnHold, pairing.SexUnknown:
			texts[k] = against[k].Birds[0].Named() + ": " + texts[k]
		}
	}
	return texts
}
