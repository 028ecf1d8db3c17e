package drawing

import (
	"fmt"
	"io"
	"math"
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

// randomColony invents a studbook: birds in order of hatch with parents among
// those before, the last ones at home, some of them paired.
func randomColony(rng *rand.Rand, birds, home int) ColonyPedigree {
	in := ColonyPedigree{Of: "The colony"}
	for i := range birds {
		id, name := names(i)
		b := PedigreeBird{ID: id, Name: name, Sex: []studbook.Sex{studbook.Female, studbook.Male, studbook.Male, studbook.Female, studbook.Unsexed}[rng.IntN(5)]}
		b.Home = i >= birds-home
		b.Dead = !b.Home && rng.IntN(3) > 0
		parent := func(sex studbook.Sex) string {
			for range 8 {
				if p := in.Birds[rng.IntN(i)]; p.Sex == sex {
					return p.ID
				}
			}
			return ""
		}
		if i > 6 && rng.IntN(10) > 0 {
			b.Sire, b.Dam = parent(studbook.Male), parent(studbook.Female)
			if rng.IntN(6) == 0 {
				b.Inbreeding = 0.125
			}
		}
		in.Birds = append(in.Birds, b)
	}
	last := in.Birds[birds-home:]
	for i := 1; i < len(last); i += 3 {
		in.Pairs = append(in.Pairs, PedigreePair{last[i].ID, last[i-1].ID, i%2 == 0})
	}
	return in
}

// extents are the boxes of a symbol and of the texts below it.
func (n *kinNode) extents() []svg.Box {
	const r = kinRadius
	return []svg.Box{{X0: n.x - r, Y0: n.y - r, X1: n.x + r, Y1: n.y + r}, {X0: n.x - n.width/2, Y0: n.y + r + 4, X1: n.x + n.width/2, Y1: n.y + r + 4 + float64(n.lines)*kinLine}}
}

func TestColonyPedigreeOnRandomColonies(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	sorted, unsorted := 0, 0
	for trial := range 20 {
		home := 1 + rng.IntN(60)
		in := randomColony(rng, home+rng.IntN(200), home)
		k := newKindred(in)
		k.choose(leastReach + trial%3)
		families, _ := k.families(math.MaxInt)
		drawn := make(map[int]int)
		chicks, mates := 0, 0
		for _, f := range families {
			sorted += f.crossings
			unsorted += f.unsorted
			assert.LessOrEqual(t, f.crossings, f.unsorted, "trial %d", trial)
			assert.True(t, slices.ContainsFunc(f.nodes, func(n *kinNode) bool { return k.birds[n.bird].Home }), "trial %d: no bird of the colony in a family", trial)
			paper := svg.Box{X0: -0.5, Y0: -0.5, X1: f.width + 0.5, Y1: f.height + 0.5}
			lines := f.lines()
			for i, n := range f.nodes {
				drawn[n.bird]++
				if n.parent != nil {
					chicks++
					for _, p := range []*kinNode{n.parent.a, n.parent.b} {
						if p != nil {
							assert.Greater(t, n.y, p.y, "a chick stands below its parents")
						}
					}
				}
				for _, e := range n.extents() {
					assert.True(t, e.Inside(paper), "trial %d: %s reaches out", trial, k.birds[n.bird].ID)
					for _, m := range f.nodes[:i] {
						for _, o := range m.extents() {
							if e.Meets(o) {
								t.Fatalf("trial %d: %s on %s", trial, k.birds[n.bird].ID, k.birds[m.bird].ID)
							}
						}
					}
					inner := svg.Box{X0: e.X0 + 0.5, Y0: e.Y0 + 0.5, X1: e.X1 - 0.5, Y1: e.Y1 - 0.5}
					for _, l := range lines {
						if inner.Meets(svg.Box{X0: min(l.X0, l.X1) - 0.1, Y0: min(l.Y0, l.Y1) - 0.1, X1: max(l.X0, l.X1) + 0.1, Y1: max(l.Y0, l.Y1) + 0.1}) {
							t.Fatalf("trial %d: a line goes through %s", trial, k.birds[n.bird].ID)
						}
					}
				}
			}
			for _, u := range f.unions {
				if u.b != nil {
					mates++
					assert.Equal(t, u.a.y, u.b.y, "mates stand level")
					assert.Same(t, u.a.chain, u.b.chain)
				}
			}
		}
		for _, i := range k.shown {
			assert.NotZero(t, drawn[i], "%s is not drawn", k.birds[i].ID)
			assert.Equal(t, drawn[i] > 1, k.marks[i] != "", "the letter of %s", k.birds[i].ID)
		}
		wantChicks, wantMates := 0, 0
		for _, c := range k.couples {
			wantChicks += len(c.chicks)
			if c.sire >= 0 && c.dam >= 0 {
				wantMates++
			}
		}
		assert.Equal(t, wantChicks, chicks)
		assert.Equal(t, wantMates, mates)
	}
	assert.Less(t, sorted, unsorted, "putting rows in order helps")
}

func TestColonyPedigreeIsSound(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for _, home := range []int{1, 2, 13, 60} {
		in := randomColony(rng, home+150, home)
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

// Who makes two birds of the colony kin within so many steps, by hand.
func TestOnlyAncestorsWhoLinkAreDrawn(t *testing.T) {
	for _, c := range []struct {
		name, birds string // each "id", "id(sire dam)" or "id(sire)"; small letters are not at home
		want        [3]string
	}{
		{"parents of one bird", "s d A(s d)", [3]string{"A", "A", "A"}},
		{"one parent known", "t B(t) C(t)", [3]string{"B C t", "B C t", "B C t"}},
		{"brothers and sisters with known grandparents", "g h s(g h) d A(s d) B(s d)", [3]string{"A B d s", "A B d s", "A B d s"}},
		{"half sisters have three parents", "s d e A(s d) B(s e)", [3]string{"A B d e s", "A B d e s", "A B d e s"}},
		{"uncle and niece", "g h p(g h) q U(g h) N(p q)", [3]string{"N U", "N U g h p q", "N U g h p q"}},
		{"grandmother", "S D p(S D) q N(p q)", [3]string{"D N S p q", "D N S p q", "D N S p q"}},
		{"first cousins", "g h p(g h) q r(g h) t A(p q) B(r t)", [3]string{"A B", "A B", "A B g h p q r t"}},
		{"second cousins", "g h p(g h) r(g h) a(p) b(r) A(a) B(b)", [3]string{"A B", "A B", "A B"}},
		{"an inbred brood", "g h s(g h) d(g h) A(s d) B(s d)", [3]string{"A B d s", "A B d s", "A B d s"}},
		{"an inbred bird alone", "g h s(g h) d(g h) A(s d)", [3]string{"A", "A", "A"}},
	} {
		in := ColonyPedigree{}
		for _, field := range strings.Split(strings.ReplaceAll(c.birds, ") ", "),"), ",") {
			for strings.Contains(strings.Split(field, "(")[0], " ") {
				id, rest, _ := strings.Cut(field, " ")
				in.Birds = append(in.Birds, PedigreeBird{ID: id, Home: strings.ToUpper(id) == id})
				field = rest
			}
			id, parents, _ := strings.Cut(strings.TrimSuffix(field, ")"), "(")
			sire, dam, _ := strings.Cut(parents, " ")
			in.Birds = append(in.Birds, PedigreeBird{ID: id, Home: strings.ToUpper(id) == id, Sire: sire, Dam: dam})
		}
		k := newKindred(in)
		for reach := leastReach; reach <= mostReach; reach++ {
			k.choose(reach)
			var shown []string
			for _, i := range k.shown {
				shown = append(shown, k.birds[i].ID)
			}
			assert.Equal(t, c.want[reach-leastReach], strings.Join(shown, " "), "%s, %d steps", c.name, reach)
		}
	}
}

// Birds without close kin stand in rows of their own, each family on its place.
func TestFamiliesOnASheet(t *testing.T) {
	in := randomColony(rand.New(rand.NewPCG(9, 10)), 200, 30)
	for i := range 40 {
		in.Birds = append(in.Birds, PedigreeBird{ID: fmt.Sprintf("alone %02d", i), Home: true})
	}
	headed := 0
	for _, p := range newKindred(in).parts() {
		below := math.Inf(1)
		for _, y := range p.headings {
			headed++
			below = y + kinFont
		}
		for i, f := range p.families {
			place := svg.Box{X0: f.x, Y0: f.y, X1: f.x + f.width, Y1: f.y + f.height}
			assert.True(t, place.Inside(svg.Box{X0: 0, Y0: 0, X1: p.width, Y1: p.height}))
			assert.Equal(t, !f.kin(), f.y > below, "below the heading")
			for _, g := range p.families[:i] {
				assert.False(t, place.Meets(svg.Box{X0: g.x, Y0: g.y, X1: g.x + g.width, Y1: g.y + g.height}))
			}
		}
	}
	assert.Positive(t, headed)
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
	colony := randomColony(rand.New(rand.NewPCG(7, 8)), 3000, 60)
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
