package report

import (
	"fmt"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
	"pairwright/pedigree"
)

// shownPaths is how many paths an ancestor has in a document; other programs
// get more.
const shownPaths = 3

// KinDocument says how two birds are related and why.
func KinDocument(p *pairing.Programme, k *pairing.Kin) *document.Document {
	a, b := p.Name(k.A), p.Name(k.B)
	d := &document.Document{Title: "Kinship of " + a + " and " + b, Facts: about(p), Footer: Advice}
	if len(k.Meetings) == 0 {
		d.Lead = fmt.Sprintf("%s and %s have no common ancestor on record: their kinship is 0.", a, b)
		d.Notes = sentences(Assumptions(p))
		return d
	}
	d.Lead = fmt.Sprintf("The kinship of %s and %s is %s", a, b, document.FormatKinship(k.Kinship))
	if p.Book.Birds[k.A].Sex != p.Book.Birds[k.B].Sex {
		d.Lead += ", which is the F that a chick of theirs would have"
	}
	d.Lead += fmt.Sprintf(": %s. It comes through %s.", KinLevel(k.Kinship), document.FormatThings(len(k.Meetings), "common ancestor", "common ancestors"))
	t := &document.Table{Columns: []document.Column{
		{Name: "Common ancestor", Key: true}, {Name: "Name"}, fColumn, {Name: "Contribution", Right: true},
		{Name: "Share", Right: true}, {Name: "Largest paths", Wide: true},
	}}
	for _, x := range k.Meetings {
		id, name := MeetingID(p, x)
		f := document.Cell{Text: document.Unknown}
		if x.With == x.Ancestor {
			f = kinshipCell(p.Pedigree.F(x.Ancestor))
		}
		var paths []string
		for _, path := range x.Paths[:min(shownPaths, len(x.Paths))] {
			paths = append(paths, strings.Join(PathIDs(p, path), "–")+" ("+document.FormatFraction(path.Contribution, 6)+")")
		}
		if more := len(x.Paths) - len(paths) + x.PathsLeftOut; more > 0 {
			paths = append(paths, fmt.Sprintf("and %s more", document.FormatCount(more)))
		}
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{
			{Text: id}, {Text: name}, f, {Text: document.FormatFraction(x.Contribution, 6), Value: x.Contribution},
			shareCell(x.Contribution / k.Kinship), {Text: strings.Join(paths, "; ")},
		}})
	}
	d.Sections = []document.Section{{Title: "Through whom", Blocks: []document.Block{t}}}
	d.Notes = append([]string{
		"Kinship is the chance that a gene drawn from one bird and one drawn from the other are copies of the same founder's gene (Malécot 1948).",
		"Contribution: the two gene lines are traced back, always stepping from the younger bird; it is the chance that they first meet in this ancestor, times (1 + F)/2 of it (Colleau & Sargolzaei 2008). The contributions add up to the kinship.",
		"A path leads from one bird up to the ancestor and down to the other; the figure behind it is its part by Wright's (1922) formula.",
	}, sentences(Assumptions(p))...)
	return d
}

// MeetingID returns the ids and the names of the common ancestor; of two
// founders known to be related both have both, joined by " & ".
func MeetingID(p *pairing.Programme, m pedigree.Meeting) (id, name string) {
	id, name = p.Pedigree.Name(m.Ancestor), BirdName(p, m.Ancestor)
	if m.With != m.Ancestor {
		id += " & " + p.Pedigree.Name(m.With)
		if other := BirdName(p, m.With); name != "" || other != "" {
			name += " & " + other
		}
	}
	return id, name
}

// PathIDs returns the birds of a path from end to end; that a parent on the
// way is uncertain shows in the contribution alone.
func PathIDs(p *pairing.Programme, path pedigree.Path) []string {
	ids := []string{}
	down := path.Down
	if down[0] == path.Up[len(path.Up)-1] { // not so of two related founders
		down = down[1:]
	}
	for _, n := range slices.Concat(path.Up, down) {
		if p.Pedigree.Kind(n) != pedigree.UncertainParent {
			ids = append(ids, p.Pedigree.Name(n))
		}
	}
	return ids
}
