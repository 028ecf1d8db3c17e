package drawing

import (
	"fmt"
	"io"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/golden"
	"pairwright/cmd/pairwright/internal/svg"
	"pairwright/pedigree/studbook"
)

// someColony makes up a studbook without chance: every bird after the first eight
// has two of those before for parents, the last ones live at home.
func someColony(birds, home int) ColonyPedigree {
	in := ColonyPedigree{Of: "The colony"}
	for i := range birds {
		id, name := names(i)
		b := PedigreeBird{ID: id, Name: name, Sex: [2]studbook.Sex{studbook.Female, studbook.Male}[i%2], Home: i >= birds-home, Dead: i < birds-home && i%3 > 0}
		if i >= 8 {
			b.Sire, b.Dam = in.Birds[i*37%(i/2)/2*2+1].ID, in.Birds[i*53%(i/2)/2*2].ID
		}
		in.Birds = append(in.Birds, b)
	}
	for i := birds - home; i+1 < birds; i += 4 {
		in.Pairs = append(in.Pairs, PedigreePair{in.Birds[i].ID, in.Birds[i+1].ID, i%8 == 0})
	}
	return in
}

func TestColonyPedigreeIsSound(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for _, home := range []int{1, 2, 13, 60} {
		in := someColony(home+150, home)
		figures, why := ColonyPedigreeFigures(in)
		require.NotEmpty(t, figures, why)
		shuffled := in
		shuffled.Birds = slices.Clone(in.Birds)
		rng.Shuffle(len(shuffled.Birds), func(i, j int) {
			shuffled.Birds[i], shuffled.Birds[j] = shuffled.Birds[j], shuffled.Birds[i]
		})
		again, _ := ColonyPedigreeFigures(shuffled)
		assert.Equal(t, figures, again, "the order of rows changes the drawing")
		for _, f := range figures {
			lettered, width, height := texts(t, f.SVG)
			for _, l := range lettered {
				assert.True(t, l.box.Inside(svg.Box{X0: 0, Y0: 0, X1: width, Y1: height}), "%q reaches out", l.text)
			}
			assert.NoError(t, document.WriteHTML(io.Discard, &document.Document{Title: "x", Sections: []document.Section{{Title: "y", Blocks: []document.Block{f}}}}))
			assert.NotEmpty(t, f.Alt)
		}
	}
	figures, why := ColonyPedigreeFigures(ColonyPedigree{})
	assert.Nil(t, figures)
	assert.Equal(t, "There is no pedigree of the colony: no living birds.", why)
}

// A bird mated to its own chick, and mates in a ring, cannot stand level with
// all of them; records can even be wrong. By hand.
func TestColonyPedigreeOfOddFamilies(t *testing.T) {
	f, m := studbook.Female, studbook.Male
	for name, birds := range map[string][]PedigreeBird{
		"father and daughter": {{ID: "A", Sex: m, Home: true}, {ID: "B", Sex: f, Home: true}, {ID: "C", Sex: f, Home: true, Sire: "A", Dam: "B"}, {ID: "D", Sex: m, Home: true, Sire: "A", Dam: "C", Inbreeding: 0.25}},
		"ring of mates": {{ID: "A", Sex: m, Home: true}, {ID: "B", Sex: f, Home: true}, {ID: "C", Sex: m, Home: true}, {ID: "D", Sex: f, Home: true},
			{ID: "E", Home: true, Sire: "A", Dam: "B"}, {ID: "F", Home: true, Sire: "C", Dam: "B"}, {ID: "G", Home: true, Sire: "C", Dam: "D"}, {ID: "H", Home: true, Sire: "A", Dam: "D"}},
		"loop":       {{ID: "A", Sex: m, Home: true, Sire: "B"}, {ID: "B", Sex: m, Home: true, Sire: "A"}},
		"own parent": {{ID: "A", Sex: m, Home: true, Sire: "A", Dam: "A"}},
		"one parent": {{ID: "A", Sex: m, Home: true}, {ID: "B", Home: true, Sire: "A"}, {ID: "C", Home: true, Sire: "A"}},
	} {
		t.Run(name, func(t *testing.T) {
			figures, why := ColonyPedigreeFigures(ColonyPedigree{Of: "The colony", Birds: birds})
			require.Len(t, figures, 1, why)
			for _, b := range birds {
				assert.Contains(t, figures[0].SVG, "<title>"+b.ID+"</title>")
			}
		})
	}
}

func TestColonyPedigreeGolden(t *testing.T) {
	f, m := studbook.Female, studbook.Male
	figures, _ := ColonyPedigreeFigures(ColonyPedigree{Of: "The colony", Birds: []PedigreeBird{
		{ID: "A1", Name: "Ash", Sex: m, Dead: true}, {ID: "A2", Name: "Bryony", Sex: f},
		{ID: "B1", Name: "Cobb", Sex: m, Home: true, Sire: "A1", Dam: "A2"}, {ID: "B2", Name: "Dew", Sex: f, Home: true, Sire: "A1", Dam: "A2"},
		{ID: "C1", Home: true, Sire: "B1", Dam: "B2", Inbreeding: 0.25, Link: "C1"}, {ID: "C2", Sex: f, Home: true},
	}, Pairs: []PedigreePair{{"B1", "B2", true}}})
	require.Len(t, figures, 1)
	golden.File(t, "colonypedigree.svg", func(w io.Writer) error {
		_, err := io.WriteString(w, figures[0].SVG+"\n")
		return err
	})
	assert.Equal(t, `Ash (A1), dead and Bryony (A2), elsewhere: parents of Cobb (B1); Dew (B2)
Cobb (B1) and Dew (B2), who are kin: parents of C1
No close kin here: C2
`, figures[0].Alt)
}

func someMap(n int) KinshipMap {
	m := KinshipMap{Of: "The colony"}
	for i := range n {
		id, name := names(i)
		m.Birds = append(m.Birds, MapBird{id, name, id})
		row := make([]float64, n)
		for j := range row {
			row[j] = []float64{0, 0.001, 1.0 / 16, 0.125, 0.25, 0.3}[(i+j)%6]
		}
		m.Kinship = append(m.Kinship, row)
	}
	m.Pairs = [][2]int{{0, n - 1}}
	return m
}

func TestKinshipMap(t *testing.T) {
	for _, n := range []int{2, 35, 80} {
		m := someMap(n)
		f, why := KinshipMapFigure(m)
		require.NotNil(t, f, why)
		again, _ := KinshipMapFigure(m)
		assert.Equal(t, f, again)
		lettered, width, height := texts(t, f.SVG)
		for _, l := range lettered {
			assert.True(t, l.box.Inside(svg.Box{X0: 0, Y0: 0, X1: width, Y1: height}), "%q reaches out: %v", l.text, l.box)
		}
		related := 0
		for i := range n {
			for j := range n {
				if i != j && m.Kinship[i][j] > 0 {
					related++
				}
			}
		}
		assert.Equal(t, related, strings.Count(f.SVG, "<g><title>"), "a square for every two that are kin")
		assert.Equal(t, 2, strings.Count(f.SVG, `stroke-width="2.2"`), "a frame for the pair on either side")
		assert.NoError(t, document.WriteHTML(io.Discard, &document.Document{Title: "x", Sections: []document.Section{{Title: "y", Blocks: []document.Block{f}}}}))
	}
	for _, n := range []int{0, 1, 81} {
		m := KinshipMap{Birds: make([]MapBird, n)}
		f, why := KinshipMapFigure(m)
		assert.Nil(t, f)
		assert.True(t, strings.HasPrefix(why, "There is no kinship map: "), why)
	}
	// Levels begin at the kinships of those kin (Falconer & Mackay 1996 ch. 5).
	for f, level := range map[float64]int{0: 0, 1e-6: 1, 0.0624: 1, 0.0625: 2, 0.125: 3, 0.2499: 3, 0.25: 4, 0.5: 4} {
		assert.Equal(t, level, kinLevel(f), fmt.Sprint(f))
	}
}

// A programme of 3,000 birds with a colony of 60.
func BenchmarkPictures(b *testing.B) {
	colony := someColony(3000, 60)
	pictures := chartPictures()
	kinships := someMap(60)
	for b.Loop() {
		for _, p := range pictures {
			switch p.name {
			case "ages-old", "diversity", "founders-many", "spread-all-home", "survival-many":
				p.make()
			}
		}
		KinshipMapFigure(kinships)
		ColonyPedigreeFigures(colony)
	}
}
