package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/drawing"
	"pairwright/pairing"
	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// farther stands in the row of the ancestors that are not listed one by one.
const farther = "others"

// shownPaths is how many paths an ancestor has in a document; other programs
// get more.
const shownPaths = 3

// KinDocument says how two birds are related and why, and what they would do as
// a pair; together is nil for birds that can be none.
func KinDocument(p *pairing.Programme, k *pairing.Kin, together *pairing.Together) *document.Document {
	d := kinDocument(p, k)
	if together != nil { // before the figures of the common ancestors, which stand last
		d.Sections = slices.Insert(d.Sections, max(0, len(d.Sections)-1), togetherSections(p, together)...)
	}
	return d
}

func kinDocument(p *pairing.Programme, k *pairing.Kin) *document.Document {
	a, b := p.Name(k.A), p.Name(k.B)
	d := &document.Document{Title: "Kinship of " + a + " and " + b, About: about(p), Footer: Advice}
	if len(k.Meetings) == 0 {
		d.Lead = fmt.Sprintf("%s and %s have no common ancestor on record: their kinship is 0.", a, b)
		d.Notes = sentences(Assumptions(p))
		return d
	}
	d.Lead = fmt.Sprintf("The kinship of %s and %s is %s", a, b, document.FormatKinship(k.Kinship))
	if p.Book.Birds[k.A].Sex != p.Book.Birds[k.B].Sex {
		d.Lead += ", which is the F that a chick of theirs would have"
	}
	d.Lead += fmt.Sprintf(": %s. It comes through %s", kinLevel(k.Kinship), document.FormatThings(len(k.Meetings), "common ancestor", "common ancestors"))
	if k.Others > 0 {
		d.Lead += " and others"
	}
	d.Lead += "."
	if k.Shared {
		d.Lead += fmt.Sprintf(" It is not known which of several birds is a parent of the two, and the figure takes them for each by itself; if the chicks of that clutch have one and the same, it is %s.", document.FormatKinship(k.Sharing))
	}
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
	if k.Others > 0 {
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: farther}, {}, {},
			{Text: document.FormatFraction(k.Others, 6), Value: k.Others}, shareCell(k.Others / k.Kinship), {}}})
	}
	d.Sections = []document.Section{{Title: "Through whom", Blocks: []document.Block{t}}}
	if paths := pathFigures(p, k); len(paths) > 0 {
		d.Sections = append([]document.Section{{Title: "The paths between them", Blocks: paths}}, d.Sections...)
	}
	d.Notes = append([]string{
		"Kinship is the chance that a gene drawn from one bird and one drawn from the other are copies of the same founder's gene (Malécot 1948).",
		"Contribution: the two gene lines are traced back, always stepping from the younger bird; it is the chance that they first meet in this ancestor, times (1 + F)/2 of it (Colleau & Sargolzaei 2008). The contributions add up to the kinship.",
		"A path leads from one bird up to the ancestor and down to the other; the figure behind it is its part by Wright's (1922) formula.",
	}, sentences(Assumptions(p))...)
	return d
}

// drawnBirds is how many birds, besides their other parents, the drawing of paths
// may have.
const drawnBirds = 36

// pathFigures draws the largest paths between two birds, as many as can be
// followed.
func pathFigures(p *pairing.Programme, k *pairing.Kin) []document.Block {
	in := drawing.KinPaths{Of: p.Name(k.A) + " and " + p.Name(k.B)}
	var paths []pedigree.Path
	ancestors := map[int]bool{}
	for _, m := range k.Meetings {
		paths = append(paths, m.Paths...)
		in.All += len(m.Paths) + m.PathsLeftOut
		ancestors[m.Ancestor], ancestors[m.With] = true, true
	}
	slices.SortStableFunc(paths, func(a, b pedigree.Path) int { return cmp.Compare(b.Contribution, a.Contribution) })
	on := map[int]bool{}
	parents := map[int][2]int{} // those drawn where the studbook names several
	for _, path := range paths {
		more := 0
		for _, n := range slices.Concat(path.Up, path.Down) {
			if !on[n] {
				more++
			}
		}
		if len(on) > 0 && len(on)+more > drawnBirds {
			break
		}
		in.Drawn++
		for _, line := range [2][]int{path.Up, reversed(path.Down)} {
			for at, n := range line {
				on[n] = true
				if p.Pedigree.Kind(n) == pedigree.UncertainParent {
					noteParent(p, parents, line[at-1], n, line[at+1])
				}
			}
		}
	}
	in.Birds = pathBirds(p, k, on, parents, ancestors)
	if len(in.Birds) < 2 {
		return nil
	}
	var blocks []document.Block
	for _, f := range drawing.KinPathsFigures(in) {
		blocks = append(blocks, f)
	}
	return blocks
}

func reversed(line []int) []int {
	line = slices.Clone(line)
	slices.Reverse(line)
	return line
}

// noteParent notes the candidate that stands in a drawing for the uncertain parent
// of a chick: the first that a path leads through.
func noteParent(p *pairing.Programme, parents map[int][2]int, chick, uncertain, candidate int) {
	sire, _, _ := p.Pedigree.Parents(chick)
	side := 1
	if sire == uncertain {
		side = 0
	}
	both, ok := parents[chick]
	if !ok {
		both = [2]int{-1, -1}
	}
	if both[side] < 0 {
		both[side] = candidate
	}
	parents[chick] = both
}

// pathBirds returns the birds that paths lead through and their other parents.
func pathBirds(p *pairing.Programme, k *pairing.Kin, on map[int]bool, noted map[int][2]int, ancestors map[int]bool) []drawing.PedigreeBird {
	var birds []drawing.PedigreeBird
	seen := map[string]bool{}
	isOn := func(id string) bool {
		node, ok := p.Pedigree.Index(id)
		return ok && on[node]
	}
	add := func(id string) {
		bird := p.Book.Bird(id)
		if bird == nil || seen[id] {
			return
		}
		seen[id] = true
		node, _ := p.Pedigree.Index(id)
		x := drawing.PedigreeBird{
			ID: id, Name: bird.Name, Sex: bird.Sex, Dead: bird.Death.Known(), Inbreeding: p.Pedigree.F(node), Shaded: ancestors[node],
			Home: id == p.Book.Birds[k.A].ID || id == p.Book.Birds[k.B].ID,
		}
		if sire, dam := drawnParents(p, bird, node, noted); on[node] && (isOn(sire) || isOn(dam)) {
			x.Sire, x.Dam = sire, dam
		}
		birds = append(birds, x)
	}
	for n := range p.Pedigree.Len() {
		if on[n] && p.Pedigree.Kind(n) != pedigree.UncertainParent {
			add(p.Pedigree.Name(n))
		}
	}
	for _, x := range slices.Clone(birds) {
		add(x.Sire)
		add(x.Dam)
	}
	return birds
}

// drawnParents returns the parents that a bird has in a drawing, "" for one that
// is not known.
func drawnParents(p *pairing.Programme, bird *studbook.Bird, node int, noted map[int][2]int) (sire, dam string) {
	sire, _ = bird.Sire.Known()
	dam, _ = bird.Dam.Known()
	if both, ok := noted[node]; ok {
		if both[0] >= 0 {
			sire = p.Pedigree.Name(both[0])
		}
		if both[1] >= 0 {
			dam = p.Pedigree.Name(both[1])
		}
	}
	return sire, dam
}

// MeetingID returns the ids and the names of the common ancestor; of two
// founders known to be related both have both, joined by " & ".
func MeetingID(p *pairing.Programme, m pedigree.Meeting) (id, name string) {
	id, name = p.Pedigree.Name(m.Ancestor), nodeName(p, m.Ancestor)
	if m.With != m.Ancestor {
		id += " & " + p.Pedigree.Name(m.With)
		if other := nodeName(p, m.With); name != "" || other != "" {
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
