package drawing

import (
	"fmt"

	"pairwright/cmd/pairwright/internal/document"
)

// KinPaths is what the drawing of the paths between two birds is made of: the
// birds on them and their other parents, the two themselves at home, common
// ancestors shaded.
type KinPaths struct {
	Of         string // the two: "Violet (C1) and Nightfall (C2)"
	Birds      []PedigreeBird
	Drawn, All int // how many paths are drawn, and how many there are
}

// KinPathsFigures draws the paths of Wright 1922 (Am Nat 56:330) that make two
// birds kin as a pedigree: a generation in a row, in the symbols of Bennett et al.
// 2008 (J Genet Couns 17:424–433). What is wider than a sheet is parted, and then
// a letter marks a bird in both of its places.
func KinPathsFigures(in KinPaths) []*document.Figure {
	k := newKindred(in.Birds, nil)
	k.bold = "the two birds"
	caption := "How " + document.Clean(in.Of) + " are kin"
	if in.Drawn < in.All {
		caption += fmt.Sprintf(": the %s of %s paths that count most", document.FormatCount(in.Drawn), document.FormatCount(in.All))
	}
	var figures []*document.Figure
	for _, p := range k.Whole() {
		figures = append(figures, &document.Figure{SVG: k.draw(p), Alt: k.words(p), Caption: caption + ".", Key: k.key(p)})
	}
	return figures
}
