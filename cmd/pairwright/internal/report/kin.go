package report

import (
	"fmt"
	"strings"

	"pairwright/pairing"
)

// shownPaths is how many paths an ancestor has in a document; other programs
// get more.
const shownPaths = 3

// KinDocument says how two birds are related and why.
func KinDocument(p *pairing.Programme, k *pairing.Kin) *Document {
	a, b := p.Name(k.A), p.Name(k.B)
	d := &Document{Title: "Kinship of " + a + " and " + b, Facts: about(p), Footer: Advice}
	if len(k.Meetings) == 0 {
		d.Lead = fmt.Sprintf("%s and %s have no common ancestor on record: their kinship is 0.", a, b)
		d.Notes = sentences(p.Assumptions())
		return d
	}
	d.Lead = fmt.Sprintf("The kinship of %s and %s is %s", a, b, FormatKinship(k.Kinship))
	if p.Book.Birds[k.A].Sex != p.Book.Birds[k.B].Sex {
		d.Lead += ", which is the F that a chick of theirs would have"
	}
	d.Lead += fmt.Sprintf(": %s. It comes through %s.", pairing.Level(k.Kinship), FormatThings(len(k.Meetings), "common ancestor", "common ancestors"))
	t := &Table{Columns: []Column{
		{Name: "Common ancestor", Key: true}, {Name: "Name"}, fColumn, {Name: "Contribution", Right: true},
		{Name: "Share", Right: true}, {Name: "Largest paths", Wide: true},
	}}
	for _, x := range KinJSON(p, k).Ancestors {
		name, f := "", Cell{Text: Unknown}
		if x.Name != nil {
			name = *x.Name
		}
		if x.Inbreeding != nil {
			f = kinshipCell(*x.Inbreeding)
		}
		var paths []string
		for _, path := range x.Paths[:min(shownPaths, len(x.Paths))] {
			paths = append(paths, strings.Join(path.Path, "–")+" ("+fraction(path.Contribution, 6)+")")
		}
		if more := len(x.Paths) - len(paths) + x.PathsLeftOut; more > 0 {
			paths = append(paths, fmt.Sprintf("and %s more", FormatCount(more)))
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{
			{Text: x.ID}, {Text: name}, f, {Text: fraction(x.Contribution, 6), Value: x.Contribution},
			shareCell(x.Contribution / k.Kinship), {Text: strings.Join(paths, "; ")},
		}})
	}
	d.Sections = []Section{{Title: "Through whom", Blocks: []Block{t}}}
	d.Notes = append([]string{
		"Kinship is the chance that a gene drawn from one bird and one drawn from the other are copies of the same founder's gene (Malécot 1948).",
		"Contribution: the two gene lines are traced back, always stepping from the younger bird; it is the chance that they first meet in this ancestor, times (1 + F)/2 of it (Colleau & Sargolzaei 2008). The contributions add up to the kinship.",
		"A path leads from one bird up to the ancestor and down to the other; the figure behind it is its part by Wright's (1922) formula.",
	}, sentences(p.Assumptions())...)
	return d
}
