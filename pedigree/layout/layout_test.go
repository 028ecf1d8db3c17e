package layout

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// lettering gives every bird a label of one line or two, of a width that changes
// from bird to bird.
var lettering = Lettering{Heading: 100, Label: func(bird, marks int) (float64, int) {
	width := 20 + float64(bird*29%70)
	if marks > 0 {
		width += 12
	}
	return width, 1 + bird%2
}}

// box is a rectangle.
type box struct{ X0, Y0, X1, Y1 float64 }

func (b box) Meets(o box) bool {
	return b.X0 < o.X1 && o.X0 < b.X1 && b.Y0 < o.Y1 && o.Y0 < b.Y1
}

func (b box) Inside(o box) bool {
	return b.X0 >= o.X0 && b.X1 <= o.X1 && b.Y0 >= o.Y0 && b.Y1 <= o.Y1
}

// randomColony invents a studbook: birds in order of hatch with parents among
// those before, the last ones at home, some of them paired.
func randomColony(rng *rand.Rand, birds, home int) ([]Bird, []Pair) {
	var all []Bird
	var pairs []Pair
	for i := range birds {
		b := Bird{ID: fmt.Sprintf("B%03d", i), Sex: []studbook.Sex{studbook.Female, studbook.Male, studbook.Male, studbook.Female, studbook.Unsexed}[rng.IntN(5)]}
		b.Home = i >= birds-home
		parent := func(sex studbook.Sex) string {
			for range 8 {
				if p := all[rng.IntN(i)]; p.Sex == sex {
					return p.ID
				}
			}
			return ""
		}
		if i > 6 && rng.IntN(10) > 0 {
			b.Sire, b.Dam = parent(studbook.Male), parent(studbook.Female)
			b.Inbred = rng.IntN(6) == 0
		}
		all = append(all, b)
	}
	last := all[birds-home:]
	for i := 1; i < len(last); i += 3 {
		pairs = append(pairs, Pair{last[i].ID, last[i-1].ID, i%2 == 0})
	}
	return all, pairs
}

// extents are the boxes of a symbol and of the texts below it.
func (n *Node) extents() []box {
	const r = Radius
	return []box{{X0: n.X - r, Y0: n.Y - r, X1: n.X + r, Y1: n.Y + r}, {X0: n.X - n.width/2, Y0: n.Y + r + 4, X1: n.X + n.width/2, Y1: n.Y + r + 4 + float64(n.lines)*LineHeight}}
}

func TestRandomColonies(t *testing.T) {
	studbooktest.WithoutRace(t)
	rng := rand.New(rand.NewPCG(3, 4))
	sorted, unsorted := 0, 0
	for trial := range 20 {
		home := 1 + rng.IntN(60)
		birds, pairs := randomColony(rng, home+rng.IntN(200), home)
		k := New(birds, pairs, lettering)
		k.choose(LeastReach + trial%3)
		families, _ := k.families(math.MaxInt)
		drawn := make(map[int]int)
		chicks, mates := 0, 0
		for _, f := range families {
			sorted += f.crossings
			unsorted += f.unsorted
			assert.LessOrEqual(t, f.crossings, f.unsorted, "trial %d", trial)
			assert.True(t, slices.ContainsFunc(f.Nodes, func(n *Node) bool { return k.birds[n.Bird].Home }), "trial %d: no bird of the colony in a family", trial)
			paper := box{X0: -0.5, Y0: -0.5, X1: f.Width + 0.5, Y1: f.Height + 0.5}
			lines := f.Lines()
			for i, n := range f.Nodes {
				drawn[n.Bird]++
				if n.parent != nil {
					chicks++
					for _, p := range []*Node{n.parent.a, n.parent.b} {
						if p != nil {
							assert.Greater(t, n.Y, p.Y, "a chick stands below its parents")
						}
					}
				}
				for _, e := range n.extents() {
					assert.True(t, e.Inside(paper), "trial %d: %s reaches out", trial, k.birds[n.Bird].ID)
					for _, m := range f.Nodes[:i] {
						for _, o := range m.extents() {
							if e.Meets(o) {
								t.Fatalf("trial %d: %s on %s", trial, k.birds[n.Bird].ID, k.birds[m.Bird].ID)
							}
						}
					}
					inner := box{X0: e.X0 + 0.5, Y0: e.Y0 + 0.5, X1: e.X1 - 0.5, Y1: e.Y1 - 0.5}
					for _, l := range lines {
						if inner.Meets(box{X0: min(l.X0, l.X1) - 0.1, Y0: min(l.Y0, l.Y1) - 0.1, X1: max(l.X0, l.X1) + 0.1, Y1: max(l.Y0, l.Y1) + 0.1}) {
							t.Fatalf("trial %d: a line goes through %s", trial, k.birds[n.Bird].ID)
						}
					}
				}
			}
			for _, u := range f.Unions {
				if u.b != nil {
					mates++
					assert.Equal(t, u.a.Y, u.b.Y, "mates stand level")
					assert.Same(t, u.a.chain, u.b.chain)
				}
			}
		}
		for _, i := range k.shown {
			assert.NotZero(t, drawn[i], "%s is not drawn", k.birds[i].ID)
			_, marked := k.Mark(i)
			assert.Equal(t, drawn[i] > 1, marked, "the mark of %s", k.birds[i].ID)
		}
		wantChicks, wantMates := 0, 0
		for _, c := range k.couples {
			wantChicks += len(c.Chicks)
			if c.Sire >= 0 && c.Dam >= 0 {
				wantMates++
			}
		}
		assert.Equal(t, wantChicks, chicks)
		assert.Equal(t, wantMates, mates)
	}
	assert.Less(t, sorted, unsorted, "putting rows in order helps")
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
		var birds []Bird
		for _, field := range strings.Split(strings.ReplaceAll(c.birds, ") ", "),"), ",") {
			for strings.Contains(strings.Split(field, "(")[0], " ") {
				id, rest, _ := strings.Cut(field, " ")
				birds = append(birds, Bird{ID: id, Home: strings.ToUpper(id) == id})
				field = rest
			}
			id, parents, _ := strings.Cut(strings.TrimSuffix(field, ")"), "(")
			sire, dam, _ := strings.Cut(parents, " ")
			birds = append(birds, Bird{ID: id, Home: strings.ToUpper(id) == id, Sire: sire, Dam: dam})
		}
		slices.SortFunc(birds, func(a, b Bird) int { return strings.Compare(a.ID, b.ID) })
		k := New(birds, nil, lettering)
		for reach := LeastReach; reach <= MostReach; reach++ {
			k.choose(reach)
			var shown []string
			for _, i := range k.shown {
				shown = append(shown, k.birds[i].ID)
			}
			assert.Equal(t, c.want[reach-LeastReach], strings.Join(shown, " "), "%s, %d steps", c.name, reach)
		}
	}
}

// Birds without close kin stand in rows of their own, each family on its place.
func TestFamiliesOnASheet(t *testing.T) {
	birds, pairs := randomColony(rand.New(rand.NewPCG(9, 10)), 200, 30)
	for i := range 40 {
		birds = append(birds, Bird{ID: fmt.Sprintf("C%02d alone", i), Home: true})
	}
	headed := 0
	for _, p := range New(birds, pairs, lettering).Sheets() {
		below := math.Inf(1)
		for _, y := range p.Headings {
			headed++
			below = y
		}
		for i, f := range p.Families {
			place := box{X0: f.X, Y0: f.Y, X1: f.X + f.Width, Y1: f.Y + f.Height}
			assert.True(t, place.Inside(box{X0: 0, Y0: 0, X1: p.Width, Y1: p.Height}))
			assert.Equal(t, !f.Kin(), f.Y > below, "below the heading")
			for _, g := range p.Families[:i] {
				assert.False(t, place.Meets(box{X0: g.X, Y0: g.Y, X1: g.X + g.Width, Y1: g.Y + g.Height}))
			}
		}
	}
	assert.Positive(t, headed)
}

// By hand: two at one place part evenly; three in a row share the shift.
func TestSeparate(t *testing.T) {
	ten := func(int) float64 { return 10 }
	assert.InDeltaSlice(t, []float64{45, 55}, Separate([]float64{50, 50}, nil, ten), 1e-12)
	assert.InDeltaSlice(t, []float64{0, 40, 50, 100}, Separate([]float64{0, 42, 48, 100}, nil, ten), 1e-12)
	assert.InDeltaSlice(t, []float64{50, 60}, Separate([]float64{50, 50}, []float64{1e9, 1}, ten), 1e-6)
}
