package pedigree

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	lacy      = "memory: closed form; Lacy RC 1989, Zoo Biology 8:111-123"
	boichard  = "memory: derived; Boichard D, Maignel L, Verrier É 1997, Genet Sel Evol 29:5-23"
	lacyAlaks = "memory: closed form; Lacy RC, Alaks G, Walsh A 1996, Evolution 50:2187; Gulisija D, Crow JF 2007, Evolution 61:1043"
	ballou97  = "memory: derived; recursion of Ballou JD 1997, Journal of Heredity 88:169-178"
)

func TestFounderEquivalents(t *testing.T) {
	for _, c := range []struct {
		name, text, members string
		want                map[string]float64 // contributions
		fe                  float64
		source              string
	}{
		{"FND-10 two halves", "X=A+B", "X", map[string]float64{"A": 1. / 2, "B": 1. / 2}, 2, lacy},
		{"FND-10 four quarters", "C=A+B; D=E+G; X=C+D", "X", map[string]float64{"A": 1. / 4, "G": 1. / 4}, 4, lacy},
		{"FND-10 a half and two quarters", "C=B+E; X=A+C", "X", map[string]float64{"A": 1. / 2, "B": 1. / 4, "E": 1. / 4}, 8. / 3, lacy},
		{"FND-10 a half and four eighths", "C=B+E; D=G+H; K=C+D; X=A+K", "X", map[string]float64{"A": 1. / 2, "G": 1. / 8}, 3.2, lacy},
		{"FND-11 half sibs mated", "C=A+B; D=A+E; H=C+D", "H", map[string]float64{"A": 1. / 2, "B": 1. / 4, "E": 1. / 4}, 8. / 3, lacy},
		{"FND-16 four founders, two parents", "X=A+B; Y=C+D; Z1=X+Y; Z2=X+Y; Z3=X+Y; Z4=X+Y", "Z1 Z2 Z3 Z4", map[string]float64{"A": 1. / 4}, 4, boichard},
		{"an unknown dam is a founder", "X=A+?", "X", map[string]float64{"A": 1. / 2}, 2, lacy},
		{"an uncertain sire shares", "X=A:0.5|B:0.25+D", "X", map[string]float64{"A": 1. / 4, "B": 1. / 8, "D": 1. / 2}, 1 / (1./16 + 1./64 + 1./4 + 1./64), henderson},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := parse(t, c.text)
			q := p.Population(nodes(t, p, c.members))
			shares := q.Contributions()
			require.Len(t, shares, p.Founders())
			for id, want := range c.want {
				assert.InDelta(t, want, shares[node(t, p, id)], exact, "%s: %s", id, c.source)
			}
			sum := 0.0
			for _, s := range shares {
				sum += s
			}
			assert.InDelta(t, 1, sum, exact)
			fe, ok := q.FounderEquivalents()
			assert.True(t, ok)
			assert.InDelta(t, c.fe, fe, 1e-9, c.source)
		})
	}
}

func TestEffectiveAncestors(t *testing.T) {
	p := parse(t, "X=A+B; Y=C+D; Z1=X+Y; Z2=X+Y; Z3=X+Y; Z4=X+Y")
	q := p.Population(nodes(t, p, "Z1 Z2 Z3 Z4"))
	assert.Equal(t, []Ancestor{{node(t, p, "X"), 0.5}, {node(t, p, "Y"), 0.5}}, q.Ancestors(), boichard)
	fa, ok := q.EffectiveAncestors()
	assert.True(t, ok)
	assert.InDelta(t, 2, fa, 1e-9, "FND-16, %s", boichard)
	fge, _ := q.FounderGenomeEquivalents()
	assert.InDelta(t, 1.6, fge, 1e-9, "FND-16, %s", boichard)

	// Worked by hand. D has 1/3 as itself and 1/6 in H, C a quarter in each of
	// D, E: 1/2 in all, like D and E. C is the eldest and goes first. Of D and E
	// then half is left: 1/4, like K and L, who are elder.
	p = parse(t, "C=A+B; D=C+K; E=C+L; H=D+E")
	q = p.Population(nodes(t, p, "D E H"))
	assert.Equal(t, []Ancestor{{node(t, p, "C"), 0.5}, {node(t, p, "K"), 0.25}, {node(t, p, "L"), 0.25}}, q.Ancestors())

	// Worked by hand: picking the largest share first can even out the rest, so
	// that fa exceeds fe. X has 5/18 of the genes of nine chicks. A and B have
	// 1/4 each, of which X does not explain 1/9; each mate has 1/18.
	p = parse(t, "X=A+B; C1=X+?; C2=X+?; C3=X+?; C4=X+?; C5=X+?; D1=A+?; D2=A+?; E1=B+?; E2=B+?")
	q = p.Population(nodes(t, p, "C1 C2 C3 C4 C5 D1 D2 E1 E2"))
	fe, _ := q.FounderEquivalents()
	assert.InDelta(t, 1/(2./16+9./324), fe, exact)
	fa, _ = q.EffectiveAncestors()
	assert.InDelta(t, 1/(25./324+2./81+9./324), fa, exact)
}

func TestRetentionEquivalents(t *testing.T) {
	for _, n := range []int{1, 2, 4} {
		r := 1 - math.Pow(0.5, float64(n))
		got, ok := RetentionEquivalents([]float64{0.5, 0.5}, []float64{r, r})
		assert.True(t, ok)
		assert.InDelta(t, []float64{0, 1, 1.5, 0, 1.875}[n], got, exact, "FND-12 %d sibs, %s", n, lacy)
	}
	got, _ := RetentionEquivalents([]float64{0.5, 0.5}, []float64{0.4375, 0.4375})
	assert.InDelta(t, 0.875, got, exact, "FND-14, %s", lacy)
	got, _ = RetentionEquivalents([]float64{1 / 2.25, 0.75 / 2.25, 0.5 / 2.25}, []float64{1, 0.75, 0.5})
	assert.InDelta(t, 2.25, got, exact, "FND-15, memory: derived from Lacy RC 1989")
	got, ok := RetentionEquivalents([]float64{1, 0.001}, []float64{1, 0})
	assert.True(t, ok)
	assert.InDelta(t, 1/1.002, got, exact, "a share that never came through counts with the least it can have")
	_, ok = RetentionEquivalents([]float64{0, 0}, []float64{0, 0})
	assert.False(t, ok)
}

func TestDescendants(t *testing.T) {
	p := parse(t, "C=A+B; D=A+B; E=C+D; G=E+?; H=E:0.5|K:0.5+M")
	q := p.Population(nodes(t, p, "C G H"))
	got := q.Descendants(nodes(t, p, "A C E K H A"))
	assert.Equal(t, []int{3, 2, 2, 1, 0, 3}, got)

	// More birds than bits in a word: a line of 100, of which the last 40 are
	// members, asked for from the youngest to the eldest.
	text := ""
	for i := 1; i < 100; i++ {
		text += fmt.Sprintf("L%d=L%d+W%d;", i, i-1, i)
	}
	p = parse(t, text)
	var line []int
	for i := range 100 {
		line = append(line, node(t, p, fmt.Sprint("L", i)))
	}
	q = p.Population(line[60:])
	slices.Reverse(line)
	for k, n := range q.Descendants(line) {
		assert.Equal(t, min(k, 40), n, p.Name(line[k]))
	}
}

func TestPartialInbreeding(t *testing.T) {
	for _, c := range []struct {
		name, text, bird string
		want             map[string]float64
		source           string
	}{
		{"PIN-01 full sibs", "C=A+B; D=A+B; X=C+D", "X", map[string]float64{"A": 1. / 8, "B": 1. / 8}, lacyAlaks},
		{"PIN-02 half sibs", "C=A+B; D=A+E; X=C+D", "X", map[string]float64{"A": 1. / 8, "B": 0, "E": 0}, lacyAlaks},
		{"PIN-03 parent and chick", "X=A+B; Y=A+X", "Y", map[string]float64{"A": 1. / 4, "B": 0}, lacyAlaks},
		{"PIN-04 AMAT-01", "3=1+2; 4=1+?; 5=4+3; 6=5+2", "6", map[string]float64{"1": 0, "2": 1. / 8, "unknown dam of 4": 0}, lacyAlaks},
		{"PIN-05 AMAT-12", "2=1+?; 3=1+?; 4=1+?; 5=2+3; 6=4+3; 7=5+6", "7", map[string]float64{"1": 5. / 32, "unknown dam of 3": 2. / 32}, lacyAlaks},
		{"related founders halve it", "X=A+B; f(A,B)=0.125", "X", map[string]float64{"A": 1. / 16, "B": 1. / 16}, "worked by hand"},
		{"an inbred founder has its own", "f(A,A)=0.75; A", "A", map[string]float64{"A": 1. / 2}, "worked by hand"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := parse(t, c.text)
			x := node(t, p, c.bird)
			parts := p.PartialInbreeding(x)
			sum := 0.0
			for a, part := range parts {
				sum += part
				if want, ok := c.want[p.Name(a)]; ok {
					assert.InDelta(t, want, part, exact, "%s: %s", p.Name(a), c.source)
				}
			}
			assert.InDelta(t, p.F(x), sum, exact)
		})
	}
}

// partialByRecursion returns F_x(a) of every node x by the plain recursion over
// all pairs of nodes, for one founder a; founders must be unrelated.
func partialByRecursion(p *Pedigree, founder int) []float64 {
	n := p.Len()
	c := make([]float64, n)
	c[founder] = 1
	p.down(c)
	f := make([][]float64, n)
	partial := make([]float64, n)
	for i := range n {
		f[i] = make([]float64, n)
		if i < p.founders {
			if i == founder {
				f[i][i] = 0.5
			}
			continue
		}
		type parent struct {
			node  int32
			share float64
		}
		var parents []parent
		p.parentsOf(int32(i), func(q int32, share float64) { parents = append(parents, parent{q, share}) })
		for j := range i {
			for _, q := range parents {
				f[i][j] += q.share * f[q.node][j]
			}
			f[j][i] = f[i][j]
		}
		if p.kinds[i] == UncertainParent {
			for _, q := range parents {
				f[i][i] += q.share * f[i][q.node]
			}
			continue
		}
		partial[i] = f[parents[0].node][parents[1].node]
		f[i][i] = (c[i] + partial[i]) / 2
	}
	return partial
}

// On random pedigrees with unknown and uncertain parents: partial inbreeding
// against the plain recursion, shares that add up, and fa ≥ FGE.
func TestFoundersOfRandomPedigrees(t *testing.T) {
	for seed := range uint64(100) {
		random := rand.New(rand.NewPCG(seed, 2))
		p := parse(t, randomPedigree(random, 5+random.IntN(40)))
		if len(p.related) == 0 {
			want := make([][]float64, p.founders)
			for a := range want {
				want[a] = partialByRecursion(p, a)
			}
			for x := range p.Len() {
				if p.Kind(x) == UncertainParent {
					continue
				}
				for a, part := range p.PartialInbreeding(x) {
					require.InDelta(t, want[a][x], part, exact, "seed %d, %s of %s", seed, p.Name(a), p.Name(x))
				}
			}
		}
		var members, every []int
		for x := range p.Len() {
			every = append(every, x)
			if p.Kind(x) == UncertainParent {
				require.Panics(t, func() { p.PartialInbreeding(x) })
				continue
			}
			sum := 0.0
			for _, part := range p.PartialInbreeding(x) {
				require.GreaterOrEqual(t, part, 0.0)
				sum += part
			}
			require.InDelta(t, p.F(x), sum, exact, "seed %d, %s", seed, p.Name(x))
			if p.Kind(x) == Bird && random.IntN(2) == 0 {
				members = append(members, x)
			}
		}
		q := p.Population(members)
		descendants := make([]int, p.Len())
		for _, x := range members {
			for a := range ancestors(p, x) {
				descendants[a]++
			}
		}
		require.Equal(t, descendants, q.Descendants(every), "seed %d", seed)
		sum := 0.0
		for _, s := range q.Contributions() {
			sum += s
		}
		if len(members) == 0 {
			require.Zero(t, sum)
			continue
		}
		require.InDelta(t, 1, sum, exact)
		sum = 0
		for _, a := range q.Ancestors() {
			sum += a.Share
		}
		require.InDelta(t, 1, sum, 1e-11)
		fa, _ := q.EffectiveAncestors()
		fge, _ := q.FounderGenomeEquivalents()
		require.GreaterOrEqual(t, fa*(1+exact), fge, "seed %d", seed)
	}
}

// ancestors returns the nodes behind a node.
func ancestors(p *Pedigree, node int) map[int]bool {
	seen := map[int]bool{}
	var visit func(i int)
	visit = func(i int) {
		if i < p.founders {
			return
		}
		p.parentsOf(int32(i), func(parent int32, _ float64) {
			if !seen[int(parent)] {
				seen[int(parent)] = true
				visit(int(parent))
			}
		})
	}
	visit(node)
	return seen
}

func TestFoundersOfNobody(t *testing.T) {
	q := parse(t, "X=A+B").Population(nil)
	assert.Equal(t, []float64{0, 0}, q.Contributions())
	_, ok := q.FounderEquivalents()
	assert.False(t, ok)
	_, ok = q.EffectiveAncestors()
	assert.False(t, ok)
	assert.Empty(t, q.Ancestors())
}

func TestAncestralInbreeding(t *testing.T) {
	p := parse(t, fullSibs(4))
	fa := p.AncestralInbreeding()
	f, i := 0.25, 0
	for _, want := range []float64{0, 0.25, 0.53125, 0.765625} {
		for p.F(i) != f {
			i++
		}
		assert.InDelta(t, want, fa[i], exact, "ANC-01 at F = %v, %s", f, ballou97)
		f = map[float64]float64{0.25: 0.375, 0.375: 0.5, 0.5: 0.59375}[f]
	}

	// ANC-02 asks for fa = 0.2 of a dam that is not inbred, which no small
	// pedigree gives; the like with fa = 1/8: a sire with F = 1/4 and fa = 0,
	// a dam whose sire has F = 1/4. ½[1/4 + 1/8] = 3/16.
	p = parse(t, "C=A+B; D=A+B; S=C+D; G=E+H; K=E+H; M=G+K; N=M+O; X=S+N; Y=S:0.5|O:0.5+N")
	fa = p.AncestralInbreeding()
	assert.InDelta(t, 1./8, fa[node(t, p, "N")], exact, ballou97)
	assert.InDelta(t, 3./16, fa[node(t, p, "X")], exact, ballou97)
	assert.InDelta(t, 1./8, fa[node(t, p, "Y")], exact, "an uncertain sire counts half, worked by hand")
}

func BenchmarkFounders(b *testing.B) {
	for _, n := range []int{1_000, 3_000, 10_000} {
		birds := generated(n, 1)
		p := build(b, birds, nil)
		living := every(b, p, birds[3*n/4:])
		q := p.Population(living)
		b.Run(fmt.Sprint("ancestors/", n), func(b *testing.B) {
			for b.Loop() {
				q.Ancestors()
			}
		})
		b.Run(fmt.Sprint("descendants/", n), func(b *testing.B) {
			for b.Loop() {
				q.Descendants(living)
			}
		})
		b.Run(fmt.Sprint("partial-inbreeding/", n), func(b *testing.B) {
			for b.Loop() {
				p.PartialInbreeding(living[len(living)-1])
			}
		})
	}
}
