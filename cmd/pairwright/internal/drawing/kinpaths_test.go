package drawing

import (
	"io"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pedigree/studbook"
)

// TestKinPathsOfCousins: the drawing of first cousins has the grandparents that
// both have, shaded, and every bird between, whether or not it lives.
func TestKinPathsOfCousins(t *testing.T) {
	in := KinPaths{Of: "A and B", Drawn: 2, All: 2, Birds: []PedigreeBird{
		{ID: "GF", Sex: studbook.Male, Dead: true, Shaded: true}, {ID: "GM", Sex: studbook.Female, Dead: true, Shaded: true},
		{ID: "P", Sex: studbook.Male, Dead: true, Sire: "GF", Dam: "GM"}, {ID: "Q", Sex: studbook.Female, Sire: "GF", Dam: "GM"},
		{ID: "M", Sex: studbook.Female}, {ID: "N", Sex: studbook.Male},
		{ID: "A", Sex: studbook.Female, Home: true, Sire: "P", Dam: "M"}, {ID: "B", Name: "Bo", Sex: studbook.Male, Home: true, Sire: "N", Dam: "Q"},
	}}
	figures := KinPathsFigures(in)
	require.Len(t, figures, 1)
	f := figures[0]
	assert.Equal(t, "How A and B are kin.", f.Caption)
	assert.Equal(t, "GF, dead and GM, dead: parents of P, dead; Q\nN and Q: parents of Bo (B)\nP, dead and M: parents of A\n", f.Alt)
	assert.Equal(t, "Square: male; circle: female; bold: the two birds; shaded: common ancestor; struck through: dead.", f.Key)
	lettered, _, _ := texts(t, f.SVG)
	assert.Len(t, lettered, len(in.Birds)+1, "an id for each, and a name")
	assert.NoError(t, document.WriteHTML(io.Discard, &document.Document{Title: "x", Sections: []document.Section{{Title: "y", Blocks: []document.Block{f}}}}))
}

// TestKinPathsLeftOut: a drawing that does not have all paths says so.
func TestKinPathsLeftOut(t *testing.T) {
	figures := KinPathsFigures(KinPaths{Of: "A and B", Drawn: 12, All: 1300, Birds: []PedigreeBird{{ID: "A", Home: true}, {ID: "B", Home: true, Sire: "A"}}})
	assert.Equal(t, "How A and B are kin: the 12 of 1,300 paths that count most.", figures[0].Caption)
}
