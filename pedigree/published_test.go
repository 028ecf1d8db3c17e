package pedigree

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"pairwright/pedigree/studbook"
)

// Where the expected values of this file come from. "page" was read in the
// source while the table was made; "memory" was recalled from it and agrees
// with the exact fraction.
const (
	lange       = "page: Lange K, Applied Probability, ch. 5, Table 5.1 p. 82"
	wright      = "memory: Wright S 1922, American Naturalist 56:330-338"
	loops       = "page: encyclopedia article on the coefficient of inbreeding"
	falconer    = "memory: Falconer DS, Mackay TFC 1996, Introduction to Quantitative Genetics 4th ed., ch. 5"
	mrode       = "page: Mrode RA 2014, Linear Models for the Prediction of Animal Breeding Values 3rd ed."
	mrodeRow    = "memory: Mrode RA 2014, sec. 2.2-2.3, A = TDT' rebuilt from the printed T and D"
	christensen = "page: Christensen K, Population Genetics, sec. 4.4-4.5 (printed truncated)"
	colleau     = "memory: derived from the rows of A; method Colleau JJ 2002, Genet Sel Evol 34:409-421"
	malecot     = "memory: closed form; Malécot G 1948"
	ballou      = "memory: closed form; Ballou JD, Lacy RC 1995, in Population Management for Survival and Recovery, 76-111"
	henderson   = "memory: derived; Henderson CR 1988, J Anim Sci 66:1614; Pérez-Enciso M, Fernando RL 1992, Theor Appl Genet 84:173"
	closed      = "memory: closed form, equal to rebuilding the matrix"
)

// exact is the tolerance for dyadic values, which come out without rounding.
const exact = 1e-12

func TestPublishedF(t *testing.T) {
	for _, c := range []struct {
		name, text, bird string
		want             float64
		source           string
	}{
		{"INB-01 parent and chick", "X=A+B; Y=A+X", "Y", 1. / 4, lange},
		{"INB-02 full sibs", "C=A+B; D=A+B; X=C+D", "X", 1. / 4, lange},
		{"INB-03 half sibs", "C=A+B; D=A+E; X=C+D", "X", 1. / 8, lange},
		{"INB-04 grandparent and grandchick", "C=A+B; D=E+C; X=A+D", "X", 1. / 8, wright},
		{"INB-05 uncle and niece", "C=A+B; D=A+B; E=G+D; X=C+E", "X", 1. / 8, lange},
		{"INB-06 double first cousins", "C=A+B; D=A+B; E=G+H; I=G+H; J=C+E; K=D+I; X=J+K", "X", 1. / 8, lange},
		{"INB-07 first cousins", "C=A+B; D=A+B; E=C+G; H=I+D; X=E+H", "X", 1. / 16, lange},
		{"INB-08 first cousins once removed", "C=A+B; D=A+B; E=C+G; H=I+D; J=K+H; X=E+J", "X", 1. / 32, wright},
		{"INB-09 second cousins", "C=A+B; D=A+B; E=C+G; H=I+D; L=E+M; J=K+H; X=L+J", "X", 1. / 64, lange},
		{"INB-10 half uncle and niece", "C=A+B; D=A+E; G=H+D; X=C+G", "X", 1. / 16, wright},
		{"INB-11 unrelated", "C=A+B; D=E+G; X=C+D", "X", 0, wright},
		{"INB-12 selfing", "C=A+B; X=C+C", "X", 1. / 2, loops},
		{"INB-13 half sibs through an inbred ancestor", "P=G+H; Q=G+H; A=P+Q; C=A+B; D=A+E; X=C+D", "X", 5. / 32, wright},
		{"INB-14 two loops", "G=C+F; C=A+B; D=A+B; F=D+E", "G", 1. / 8, loops},
		{"INB-15 one parent unknown", "X=A+?", "X", 0, mrode + " sec. 2.2"},
		{"SYS-04 selfing once", selfed(1), "G1", 1. / 2, falconer},
		{"SYS-04 selfing twice", selfed(2), "G2", 3. / 4, falconer},
		{"SYS-04 selfing 3 times", selfed(3), "G3", 7. / 8, falconer},
		{"SYS-04 selfing 4 times", selfed(4), "G4", 15. / 16, falconer},
		{"SYS-04 selfing 5 times", selfed(5), "G5", 31. / 32, falconer},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := parse(t, c.text)
			assert.Equal(t, c.want, p.F(node(t, p, c.bird)), c.source)
		})
	}
}

// selfed draws a bird mated to itself in every generation.
func selfed(generations int) string {
	var b strings.Builder
	b.WriteString("G0")
	for g := range generations {
		fmt.Fprintf(&b, "; G%d=G%[2]d+G%[2]d", g+1, g)
	}
	return b.String()
}

// fullSibs draws two founders, their chicks A1 and B1, the chicks of those two
// and so on: the chicks of sibs are generation 1.
func fullSibs(generations int) string {
	var b strings.Builder
	b.WriteString("A0=A+B; B0=A+B")
	for g := range generations {
		fmt.Fprintf(&b, "; A%d=A%d+B%[2]d; B%[1]d=A%[2]d+B%[2]d", g+1, g)
	}
	return b.String()
}

// halfSibs draws one male a generation mated to half sisters that all have
// different dams. Each generation has one chick less, the first is the male.
func halfSibs(generations int) string {
	var b strings.Builder
	chicks := generations + 1
	for k := range chicks {
		fmt.Fprintf(&b, "G0.%d=M+F%[1]d; ", k)
	}
	for g := range generations {
		chicks--
		for k := range chicks {
			fmt.Fprintf(&b, "G%d.%d=G%d.0+G%[3]d.%[4]d; ", g+1, k, g, k+1)
		}
	}
	return b.String()
}

// backcrosses draws B0 = A+Z and B_t = A+B_{t-1}.
func backcrosses(generations int) string {
	var b strings.Builder
	b.WriteString("B0=A+Z")
	for g := range generations {
		fmt.Fprintf(&b, "; B%d=A+B%d", g+1, g)
	}
	return b.String()
}

func TestRegularSystems(t *testing.T) {
	for _, c := range []struct {
		name string
		text string
		bird string // with the number of the generation for %d
		want []float64
		tol  float64 // of the printed table
		// next is the recursion that the same chapter gives.
		next func(before, last float64) float64
	}{
		{
			"SYS-01 full sibs", fullSibs(10), "A%d",
			[]float64{0.25, 0.375, 0.5, 0.59375, 0.671875, 0.734375, 0.78515625, 0.826171875, 0.859375, 0.8862304688}, 0.0005,
			func(before, last float64) float64 { return (1 + 2*last + before) / 4 },
		},
		{
			"SYS-03 half sibs", halfSibs(10), "G%d.0",
			[]float64{0.125, 0.219, 0.305, 0.381, 0.449, 0.509, 0.563, 0.611, 0.654, 0.691}, 0.0006,
			func(before, last float64) float64 { return (1 + 6*last + before) / 8 },
		},
		{
			"SYS-05 backcross", backcrosses(6), "B%d",
			[]float64{0.25, 0.375, 0.4375, 0.46875, 0.484375, 0.4921875}, exact,
			func(_, last float64) float64 { return (1 + 2*last) / 4 },
		},
		{
			"SYS-06 backcross to an inbred founder", backcrosses(4) + "; f(A,A)=1", "B%d",
			[]float64{0.5, 0.75, 0.875, 0.9375}, exact,
			func(_, last float64) float64 { return (1 + 2*last + 1) / 4 },
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := parse(t, c.text)
			before, last := 0.0, 0.0
			for g, want := range c.want {
				got := p.F(node(t, p, fmt.Sprintf(c.bird, g+1)))
				assert.InDelta(t, want, got, c.tol, "generation %d; %s", g+1, falconer)
				before, last = last, c.next(before, last)
				assert.InDelta(t, last, got, exact, "generation %d by the recursion", g+1)
			}
		})
	}

	t.Run("SYS-02 full sibs, generation 20", func(t *testing.T) {
		p := parse(t, fullSibs(20))
		assert.InDelta(t, 0.986, p.F(node(t, p, "A20")), 0.0005, falconer)
	})

	t.Run("SYS-07 rate of inbreeding in the long run", func(t *testing.T) {
		rate := func(text, last, before string) float64 {
			p := parse(t, text)
			f := p.F(node(t, p, before))
			return (p.F(node(t, p, last)) - f) / (1 - f)
		}
		assert.InDelta(t, 0.191, rate(fullSibs(20), "A20", "A19"), 0.0006, falconer)
		assert.InDelta(t, 0.11, rate(halfSibs(12), "G12.0", "G11.0"), 0.0006, falconer)
	})
}

// The pedigree of Mrode's Table 2.1, and one with four chicks of one sire.
const (
	mrode21  = "3=1+2; 4=1+?; 5=4+3; 6=5+2"
	halfSib4 = "2=1+?; 3=1+?; 4=1+?; 5=2+3; 6=4+3; 7=5+6"
)

func TestPublishedRelationship(t *testing.T) {
	for _, c := range []struct {
		name, text, bird, others string
		want                     []float64
		tol                      float64
		source                   string
	}{
		{"AMAT-02", mrode21, "1", "1 2 3 4 5 6", []float64{1, 0, 0.5, 0.5, 0.5, 0.25}, 0.0006, mrodeRow},
		{"AMAT-03", mrode21, "2", "1 2 3 4 5 6", []float64{0, 1, 0.5, 0, 0.25, 0.625}, 0.0006, mrodeRow},
		{"AMAT-04", mrode21, "3", "1 2 3 4 5 6", []float64{0.5, 0.5, 1, 0.25, 0.625, 0.5625}, 0.0006, mrodeRow},
		{"AMAT-05", mrode21, "4", "1 2 3 4 5 6", []float64{0.5, 0, 0.25, 1, 0.625, 0.3125}, 0.0006, mrodeRow},
		{"AMAT-06", mrode21, "5", "1 2 3 4 5 6", []float64{0.5, 0.25, 0.625, 0.625, 1.125, 0.6875}, 0.0006, mrodeRow},
		{"AMAT-07", mrode21, "6", "1 2 3 4 5 6", []float64{0.25, 0.625, 0.5625, 0.3125, 0.6875, 1.125}, 0.0006, mrodeRow},
		{"AMAT-10 sire 1", mrode21, "1", "1 4 5", []float64{1, 0.5, 0.5}, exact, mrode + " sec. 2.6 p. 32"},
		{"AMAT-10 sire 4", mrode21, "4", "4 5", []float64{1, 0.625}, exact, mrode + " sec. 2.6 p. 32"},
		{"AMAT-10 sire 5", mrode21, "5", "5", []float64{1.125}, exact, mrode + " sec. 2.6 p. 32"},
		{"AMAT-13", halfSib4, "2", "1 2 3 4 5 6 7", []float64{0.5, 1, 0.25, 0.25, 0.625, 0.25, 0.437}, 0.001, christensen},
		{"AMAT-14", halfSib4, "3", "1 2 3 4 5 6 7", []float64{0.5, 0.25, 1, 0.25, 0.625, 0.625, 0.625}, 0.001, christensen},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := parse(t, c.text)
			a := node(t, p, c.bird)
			row := p.Kinships(a)
			others := nodes(t, p, c.others)
			matrix, err := p.KinshipMatrix(t.Context(), append(others, a))
			require.NoError(t, err)
			for k, b := range others {
				assert.InDelta(t, c.want[k], 2*p.Kinship(a, b), c.tol, c.source)
				assert.InDelta(t, c.want[k], 2*row[b], c.tol, c.source)
				assert.InDelta(t, c.want[k], 2*matrix.At(len(others), k), c.tol, c.source)
			}
		})
	}

	for _, c := range []struct {
		name, text, birds string
		want              []float64
		tol               float64
		source            string
	}{
		{"AMAT-01 F", mrode21, "1 2 3 4 5 6", []float64{0, 0, 0, 0, 0.125, 0.125}, exact, mrode + " Table 2.1, p. 25, App. B"},
		{"AMAT-12 F", halfSib4, "1 2 3 4 5 6 7", []float64{0, 0, 0, 0, 0.125, 0.125, 0.218}, 0.001, christensen},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := parse(t, c.text)
			for k, i := range nodes(t, p, c.birds) {
				assert.InDelta(t, c.want[k], p.F(i), c.tol, c.source)
			}
		})
	}

	t.Run("AMAT-15 mean kinship", func(t *testing.T) {
		p := parse(t, mrode21)
		living := nodes(t, p, "1 2 3 4 5 6")
		q := p.Population(living)
		want := []float64{0.2291666667, 0.1979166667, 0.2864583333, 0.2239583333, 0.3177083333, 0.296875}
		for k, i := range living {
			assert.InDelta(t, want[k], q.MeanKinshipOf(i), 1e-9, colleau)
		}
	})
}

// The factors T and D of Mrode's example. There an unknown parent is no node:
// the quarter that it adds is counted in D of its chick.
func TestPublishedFactors(t *testing.T) {
	p := parse(t, mrode21)
	d := func(id string) float64 {
		i := node(t, p, id)
		v := p.fresh[i]
		if sire, dam, ok := p.Parents(i); ok {
			for _, parent := range []int{sire, dam} {
				if p.Kind(parent) == UnknownParent {
					v += p.self[parent] / 4
				}
			}
		}
		return v
	}
	flowFrom := func(id string) []float64 {
		x := make([]float64, p.Len())
		x[node(t, p, id)] = 1
		p.up(x)
		return x
	}

	row6 := flowFrom("6")
	for k, want := range []float64{0.25, 0.625, 0.25, 0.25, 0.5, 1} {
		assert.InDelta(t, want, row6[node(t, p, fmt.Sprint(k+1))], exact, "AMAT-08, T of 6 and %d; %s sec. 2.3 p. 25", k+1, mrode)
	}
	for k, want := range []float64{1, 1, 0.5, 0.75, 0.5, 0.469} {
		assert.InDelta(t, want, d(fmt.Sprint(k+1)), 0.0006, "AMAT-09, D of %d; %s sec. 2.3 p. 25", k+1, mrode)
	}
	row5 := flowFrom("5")
	sum := 0.0
	want := []float64{0.5, 0.6875, 0.8125, 0.875, 1.125}
	for k, id := range []string{"5", "4", "3", "2", "1"} {
		l := row5[node(t, p, id)]
		sum += l * l * d(id)
		assert.InDelta(t, want[k], sum, exact, "AMAT-11, after %s; page: Meuwissen THE, Luo Z 1992, as traced in Mrode 2014 App. B.1 p. 308", id)
	}
}

func TestPublishedInverse(t *testing.T) {
	// Six bulls: sire and maternal grandsire known, the rest unknown.
	p := parse(t, "3=1+?; d4=1+?; 4=2+d4; d5=2+?; 5=3+d5; d6=3+?; 6=2+d6")
	f, err := p.KinshipMatrix(t.Context(), nodes(t, p, "1 2 3 4 5 6"))
	require.NoError(t, err)
	var a, inverse mat.Dense
	a.Scale(2, f)
	require.NoError(t, inverse.Inverse(&a))
	for _, c := range []struct {
		name     string
		row, col int
		want     float64
	}{
		{"AMAT-16", 1, 1, 1.424}, {"AMAT-16", 1, 2, 0.182}, {"AMAT-16", 1, 3, -0.667},
		{"AMAT-16", 1, 4, -0.364}, {"AMAT-16", 1, 5, 0}, {"AMAT-16", 1, 6, 0},
		{"AMAT-17", 2, 2, 1.818}, {"AMAT-17", 2, 3, 0.364}, {"AMAT-17", 2, 4, -0.727},
		{"AMAT-17", 3, 3, 1.788}, {"AMAT-17", 3, 5, -0.727}, {"AMAT-17", 3, 6, -0.364},
	} {
		assert.InDelta(t, c.want, inverse.At(c.row-1, c.col-1), 0.0006, "%s element %d,%d; %s p. 235", c.name, c.row, c.col, mrode)
	}
}

func TestPublishedKinship(t *testing.T) {
	const founderKinship = "memory: derived, the recursion begun from a given block of founders"
	for _, c := range []struct {
		name, text, pair string
		want             float64
		source           string
	}{
		{"KIN-01 parent and chick", "X=A+B", "A X", 1. / 4, lange},
		{"KIN-01 half sibs", "C=A+B; D=A+E", "C D", 1. / 8, lange},
		{"KIN-01 full sibs", "C=A+B; D=A+B", "C D", 1. / 4, lange},
		{"KIN-01 first cousins", "C=A+B; D=A+B; E=C+G; H=I+D", "E H", 1. / 16, lange},
		{"KIN-01 double first cousins", "C=A+B; D=A+B; E=G+H; I=G+H; J=C+E; K=D+I", "J K", 1. / 8, lange},
		{"KIN-01 second cousins", "C=A+B; D=A+B; E=C+G; H=I+D; L=E+M; J=K+H", "L J", 1. / 64, lange},
		{"KIN-01 uncle and nephew", "C=A+B; D=A+B; E=G+D", "C E", 1. / 8, lange},
		{"KIN-02 itself", "C=A+B; D=A+B; X=C+D", "X X", 0.625, malecot},
		{"KIN-02 grandparent", "C=A+B; D=A+B; X=C+D", "X A", 0.25, malecot},
		{"KIN-02 parent", "C=A+B; D=A+B; X=C+D", "X C", 0.375, malecot},
		{"KIN-03 founders", "C=A+B; f(A,B)=0.125", "A B", 0.125, founderKinship},
		{"KIN-03 parent", "C=A+B; f(A,B)=0.125", "C A", 0.3125, founderKinship},
		{"KIN-03 itself", "C=A+B; f(A,B)=0.125", "C C", 0.5625, founderKinship},
		{"KIN-04 parents", "C=A+B; D=E+G; X=C+D; f(A,E)=0.25; f(A,A)=0.625", "C D", 0.0625, founderKinship},
		{"KIN-04 parent", "C=A+B; D=E+G; X=C+D; f(A,E)=0.25; f(A,A)=0.625", "C A", 0.3125, founderKinship},
		{"UNC-01 a possible sire", unc01, "X S1", 0.125, henderson},
		{"UNC-01 the other", unc01, "X S2", 0.125, henderson},
		{"UNC-01 the dam", unc01, "X D", 0.25, henderson},
		{"UNC-01 itself", unc01, "X X", 0.5, henderson},
		{"UNC-02 sibs, draws apart", unc01 + "; Y=S1:0.5|S2:0.5+D", "X Y", 0.1875, henderson},
		{"UNC-04 a possible sire", unc04, "X S1", 0.2, henderson},
		{"UNC-04 the founder behind", unc04, "X A", 0.1625, henderson},
		{"UNC-05 the founder behind", unc05, "X A", 0.1875, henderson},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := parse(t, c.text)
			ab := nodes(t, p, c.pair)
			assert.InDelta(t, c.want, p.Kinship(ab[0], ab[1]), exact, c.source)
			assert.InDelta(t, c.want, p.Kinship(ab[1], ab[0]), exact, c.source)
			assert.InDelta(t, c.want, p.Kinships(ab[0])[ab[1]], exact, c.source)
			assert.InDelta(t, c.want, p.Kinships(ab[1])[ab[0]], exact, c.source)
			m, err := p.KinshipMatrix(t.Context(), ab)
			require.NoError(t, err)
			assert.InDelta(t, c.want, m.At(0, 1), exact, c.source)
		})
	}
}

const (
	unc01 = "X=S1:0.5|S2:0.5+D"
	unc04 = "S1=A+B; D=A+B; S2; X=S1:0.3|S2:0.7+D"
	unc05 = "S1=A+B; D=A+B; X=S1:0.5+D"
)

func TestPublishedFOfUncertainAndRelated(t *testing.T) {
	for _, c := range []struct {
		name, text, bird string
		want             float64
	}{
		{"KIN-03", "C=A+B; f(A,B)=0.125", "C", 0.125},
		{"KIN-04", "C=A+B; D=E+G; X=C+D; f(A,E)=0.25; f(A,A)=0.625", "X", 0.0625},
		{"KIN-04 the founder itself", "C=A+B; D=E+G; X=C+D; f(A,E)=0.25; f(A,A)=0.625", "A", 0.25},
		{"UNC-01", unc01, "X", 0},
		{"UNC-04", unc04, "X", 0.075},
		{"UNC-05", unc05, "X", 0.125},
		{"UNC-06", unc01 + "; Z=S1+X", "Z", 0.125},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := parse(t, c.text)
			assert.InDelta(t, c.want, p.F(node(t, p, c.bird)), exact, henderson)
		})
	}
}

// UNC-03: two chicks that have the same sire, whichever it is, are full sibs.
// The mean over both cases says so; weighted parents, drawn apart, do not
// (UNC-02), which is why chicks of one clutch share one draw.
func TestSharedUncertainty(t *testing.T) {
	mean := 0.0
	for _, sire := range []string{"S1", "S2"} {
		p := parse(t, "S1; S2; X="+sire+"+D; Y="+sire+"+D")
		mean += p.Kinship(node(t, p, "X"), node(t, p, "Y")) / 2
	}
	assert.Equal(t, 0.25, mean, "memory: derived, average of the exact kinship over both cases")

	for _, c := range []struct {
		name, text string
		same       bool
	}{
		{"one clutch", unc01 + " 2019; Y=S1:0.5|S2:0.5+D 2019", true},
		{"another year", unc01 + " 2019; Y=S1:0.5|S2:0.5+D 2020", false},
		{"another dam", unc01 + " 2019; Y=S1:0.5|S2:0.5+E 2019", false},
		{"other weights", unc01 + " 2019; Y=S1:0.4|S2:0.6+D 2019", false},
		{"no dates", unc01 + "; Y=S1:0.5|S2:0.5+D", false},
	} {
		p := parse(t, c.text)
		require.Len(t, p.mixtures, 2, c.name)
		assert.Equal(t, c.same, p.mixtures[0].tie == p.mixtures[1].tie, c.name)
	}
}

func TestPublishedMeanKinship(t *testing.T) {
	for _, c := range []struct {
		name, text, living string
		of                 []float64 // MK of each
		mk, gd, fge        float64
		tol                float64
	}{
		{"MK-01 two and their chick", "X=A+B", "A B X", []float64{0.25, 0.25, 1. / 3}, 5. / 18, 13. / 18, 1.8, exact},
		{"MK-02 one bird", "A", "A", []float64{0.5}, 0.5, 0.5, 1, exact},
		{"MK-03 two unrelated", "A; B", "A B", []float64{0.25, 0.25}, 0.25, 0.75, 2, exact},
		{"MK-04 ten unrelated", unrelated(10, "; "), unrelated(10, " "), nil, 0.05, 0.95, 10, exact},
		{"MK-05 twenty unrelated", unrelated(20, "; "), unrelated(20, " "), nil, 0.025, 0.975, 20, exact},
		{"MK-06 four full sibs", "C=A+B; D=A+B; E=A+B; G=A+B", "C D E G", []float64{0.3125, 0.3125, 0.3125, 0.3125}, 0.3125, 0.6875, 1.6, exact},
		{"MK-07 two half sibs", "C=A+B; D=A+E", "C D", []float64{0.3125, 0.3125}, 0.3125, 0.6875, 1.6, exact},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := parse(t, c.text)
			living := nodes(t, p, c.living)
			q := p.Population(living)
			assert.Equal(t, len(living), q.Size())
			mk, ok := q.MeanKinship()
			assert.True(t, ok)
			gd, ok := q.GeneDiversity()
			assert.True(t, ok)
			fge, ok := q.FounderGenomeEquivalents()
			assert.True(t, ok)
			assert.InDelta(t, c.mk, mk, c.tol, ballou)
			assert.InDelta(t, c.gd, gd, c.tol, ballou)
			assert.InDelta(t, c.fge, fge, c.tol, ballou)
			for k, want := range c.of {
				assert.InDelta(t, want, q.MeanKinshipOf(living[k]), c.tol, ballou)
			}
		})
	}

	t.Run("MK-08 kinship value", func(t *testing.T) {
		p := parse(t, "X=A+B")
		living := nodes(t, p, "A B X")
		value := map[int]float64{living[0]: 2, living[1]: 1, living[2]: 1}
		kv, ok := p.Population(living).KinshipValues(func(i int) float64 { return value[i] })
		require.True(t, ok)
		for k, want := range []float64{0.3125, 0.1875, 0.3125} {
			assert.InDelta(t, want, kv[living[k]], exact, ballou)
		}
	})
}

// unrelated names n birds.
func unrelated(n int, between string) string {
	ids := make([]string, n)
	for k := range ids {
		ids[k] = fmt.Sprint("B", k)
	}
	return strings.Join(ids, between)
}

func TestNobody(t *testing.T) {
	p := parse(t, "X=A+B")
	q := p.Population(nil)
	_, ok := q.MeanKinship()
	assert.False(t, ok)
	_, ok = q.GeneDiversity()
	assert.False(t, ok)
	_, ok = q.FounderGenomeEquivalents()
	assert.False(t, ok)
	_, ok = q.MeanInbreeding()
	assert.False(t, ok)
	_, ok = q.KinshipValues(func(int) float64 { return 1 })
	assert.False(t, ok)
	_, ok = p.Population([]int{0}).GainFromLoss(0)
	assert.False(t, ok, "nobody would be left")
	_, ok = p.Population([]int{0}).KinshipValues(func(int) float64 { return 0 })
	assert.False(t, ok, "nobody can breed")

	none, err := New(t.Context(), nil, nil)
	require.NoError(t, err)
	assert.Zero(t, none.Len())
}

func TestPublishedChangeInGeneDiversity(t *testing.T) {
	for _, c := range []struct {
		name, text, living, pair string
		chicks                   int
		want                     float64
	}{
		{"DGD-01", "A; B; C; D", "A B C D", "A B", 1, -3. / 200},
		{"DGD-02", "A; B; C; D", "A B C D", "A B", 2, -1. / 36},
		{"DGD-03", "A; B; C; D", "A B C D", "A B", 4, -3. / 64},
		{"DGD-04", "X=A+B; C", "A B C X", "A C", 1, -1. / 400},
		{"DGD-05", "X=A+B; C", "A B C X", "A B", 1, -1. / 80},
		{"DGD-06", "X=A+B; C", "A B C X", "C X", 2, -1. / 48},
		{"DGD-07", mrode21, "3 4 5 6", "5 6", 1, -161. / 6400},
		{"DGD-08", mrode21, "3 4 5 6", "3 4", 3, 51. / 12544},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := parse(t, c.text)
			q := p.Population(nodes(t, p, c.living))
			pair := nodes(t, p, c.pair)
			f := p.Kinship(pair[0], pair[1])
			assert.InDelta(t, c.want, q.GainFromChicks(pair[0], pair[1], f, c.chicks), exact, closed)
			if c.chicks == 1 {
				assert.InDelta(t, c.want, q.GainFromChick(pair[0], pair[1], f), exact, closed)
			}
		})
	}

	p := parse(t, "X=A+B; C; Z")
	q := p.Population(nodes(t, p, "A B C X"))
	gain, ok := q.GainFromLoss(node(t, p, "X"))
	require.True(t, ok)
	assert.InDelta(t, 1./48, gain, exact, "DGD-09; %s", closed)
	assert.InDelta(t, 0.0475, q.GainFromArrival(node(t, p, "Z")), exact, "DGD-10; %s", closed)
}

// The Shorthorn bulls of Wright's paper. He worked from a deeper pedigree, so
// the seven names that follow must give a little less than he printed.
func TestShorthornBulls(t *testing.T) {
	p := parse(t, `YoungPhoenix=Favourite+Phoenix; Comet=Favourite+YoungPhoenix; Favourite=Bolingbroke+Phoenix;
		Bolingbroke=Foljambe+YoungStrawberry; Phoenix=Foljambe+LadyMaynard; YoungStrawberry=DaltonDuke+LadyMaynard`)
	for _, c := range []struct {
		name             string
		printed, present float64
	}{
		{"Favourite", 0.192, 0.1875},
		{"Comet", 0.471, 0.46875},
	} {
		f := p.F(node(t, p, c.name))
		assert.Equal(t, c.present, f, "HIS-06; exact for these lines")
		assert.Less(t, f, c.printed, "HIS-06; %s", wright)
		assert.InDelta(t, c.printed, f, 0.005, "HIS-06; %s", wright)
	}
}

// The Spanish line of the House of Habsburg: see testdata/royal/README.md.
func TestRoyalPedigree(t *testing.T) {
	birds := readBirds(t, "../testdata/royal/habsburg.csv")
	p, err := New(t.Context(), birds, nil)
	require.NoError(t, err)
	for _, c := range []struct {
		name, id      string
		printed, here float64
		tol           float64 // of the printed figure: how much the missing ancestors may cost
		source        string
	}{
		{"HIS-01", "CharlesII", 0.254, 0.2489012927, 0.006, "page: Alvarez G, Ceballos FC, Quinteiro C 2009, PLoS ONE 4:e5174 (16 generations)"},
		{"HIS-02", "PhilipIII", 0.2177, 0.2076838017, 0.0105, "page: Ceballos FC, Alvarez G 2013, Heredity 111:114, as quoted on a secondary page"},
		{"HIS-03", "FerdinandII_Emp", 0.139, 0.1348867416, 0.0045, "page: Ceballos FC, Alvarez G 2013, Heredity 111:114, as quoted on a secondary page"},
	} {
		f := p.F(node(t, p, c.id))
		assert.Less(t, f, c.printed, "%s: fewer ancestors cannot give more; %s", c.name, c.source)
		assert.InDelta(t, c.printed, f, c.tol, "%s; %s", c.name, c.source)
		assert.InDelta(t, c.here, f, 1e-9, "HIS-04, recomputed from the file with exact fractions")
	}
	for id, here := range map[string]float64{"PhilipIV": 0.107889086, "PhilipI": 0.0170288086} {
		assert.InDelta(t, here, p.F(node(t, p, id)), 1e-9, "HIS-04, recomputed from the file with exact fractions")
	}

	for _, c := range []struct {
		generations int
		want        float64
	}{{3, 0.125}, {4, 0.15625}, {5, 0.2275390625}, {6, 0.2326660156}, {7, 0.2383422852}, {8, 0.2438640594}, {10, 0.2478078008}} {
		cut := cutBehind(birds, "CharlesII", c.generations)
		p, err := New(t.Context(), cut, nil)
		require.NoError(t, err)
		assert.InDelta(t, c.want, p.F(node(t, p, "CharlesII")), 1e-9, "HIS-05, %d generations; recomputed from the file", c.generations)
	}
}

// cutBehind returns the ancestors of a bird; those whose shortest distance from
// it is the number of generations become founders.
func cutBehind(birds []studbook.Bird, id string, generations int) []studbook.Bird {
	byID := map[string]studbook.Bird{}
	for _, b := range birds {
		byID[b.ID] = b
	}
	var kept []studbook.Bird
	seen := map[string]bool{id: true}
	row := []string{id}
	for g := 0; len(row) > 0; g++ {
		var next []string
		for _, id := range row {
			b := byID[id]
			if g == generations {
				b.Sire, b.Dam = studbook.Parentage{}, studbook.Parentage{}
			}
			kept = append(kept, b)
			for _, side := range []studbook.Parentage{b.Sire, b.Dam} {
				for _, c := range side.Candidates {
					if !seen[c.ID] {
						seen[c.ID] = true
						next = append(next, c.ID)
					}
				}
			}
		}
		row = next
	}
	return kept
}
