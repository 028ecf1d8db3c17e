package pedigree

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// KIN-05 to KIN-07 of the published check values: derived by hand, method
// Colleau JJ, Sargolzaei M (2008) Genetics Research 90:191-199, from memory.
func TestMeetingsWorkedByHand(t *testing.T) {
	mrode := "3=1+2; 4=1+?; 5=4+3; 6=5+2"                 // Mrode (2014) Table 2.1, page
	tabular := "2=1+?; 3=1+?; 4=1+?; 5=2+3; 6=4+3; 7=5+6" // Christensen, web text sec. 4.4, page
	for _, c := range []struct{ name, pedigree, a, b, want string }{
		{"KIN-05", mrode, "5", "6", "5 0.28125, 2 0.0625"},
		{"KIN-06", tabular, "5", "6", "3 0.125, 1 0.09375"},
		{"KIN-07 uncle and niece", "C=A+B; D=A+B; E=G+D", "C", "E", "A 0.0625, B 0.0625"},
		{"parent and chick", "C=A+B", "A", "C", "A 0.25"},
		{"unrelated", "C=A+B; D=E+G", "C", "D", ""},
		{"a bird with itself", "C=A+B; D=A+B; X=C+D", "X", "X", "X 0.625"},
		{"known founder kinship, KIN-04", "C=A+B; D=E+G; f(A,E)=0.25; f(A,A)=0.625", "C", "D", "A~E 0.0625"},
		{"one of two sires, UNC-01", "X=S1:0.5|S2:0.5+D", "X", "S1", "S1 0.125"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := parse(t, c.pedigree)
			var got []string
			meetings, others := p.Meetings(node(t, p, c.a), node(t, p, c.b), 20)
			assert.Zero(t, others)
			for _, m := range meetings {
				name := p.Name(m.Ancestor)
				if m.With != m.Ancestor {
					name += "~" + p.Name(m.With)
				}
				got = append(got, fmt.Sprint(name, " ", m.Contribution))
			}
			assert.Equal(t, c.want, strings.Join(got, ", "))
		})
	}
}

// Wright S (1922) American Naturalist 56:330-338: the paths of an ancestor in
// order, worked by hand on first cousins whose fathers are full brothers.
func TestPaths(t *testing.T) {
	p := parse(t, "C=A+B; D=A+B; E=C+G; H=D+I")
	meetings, _ := p.Meetings(node(t, p, "E"), node(t, p, "H"), 20)
	require.Len(t, meetings, 2)
	require.Len(t, meetings[0].Paths, 1)
	path := meetings[0].Paths[0]
	assert.Equal(t, "E C A", names(p, path.Up))
	assert.Equal(t, "A D H", names(p, path.Down))
	assert.Equal(t, 1.0/32, path.Contribution)
	assert.Zero(t, meetings[0].PathsLeftOut)
}

// Full sibs for 100 generations: more paths than an int can count.
func TestPathsBeyondCounting(t *testing.T) {
	text := "S0=A+B; D0=A+B;"
	for i := range 100 {
		text += fmt.Sprintf("S%d=S%d+D%d; D%d=S%d+D%d;", i+1, i, i, i+1, i, i)
	}
	p := parse(t, text)
	meetings, _ := p.Meetings(node(t, p, "S100"), node(t, p, "D100"), 3)
	for _, m := range meetings {
		assert.GreaterOrEqual(t, m.PathsLeftOut, 0, "through %s", p.Name(m.Ancestor))
		if p.Name(m.Ancestor) == "A" {
			assert.Equal(t, 1<<62-3, m.PathsLeftOut)
		}
	}
}

func names(p *Pedigree, nodes []int) string {
	var s []string
	for _, n := range nodes {
		s = append(s, p.Name(n))
	}
	return strings.Join(s, " ")
}

// randomPedigree draws overlapping generations with a few unknown and
// uncertain parents, and sometimes two related founders.
func randomPedigree(random *rand.Rand, size int) string {
	var b strings.Builder
	parent := func(i int) string {
		one := func() int { return max(0, i-1-random.IntN(12)) }
		switch random.IntN(12) {
		case 0:
			return "?"
		case 1:
			x, y := one(), one()
			if x != y {
				return fmt.Sprintf("B%d:0.5|B%d:0.3", x, y)
			}
		}
		return fmt.Sprintf("B%d", one())
	}
	for i := range size {
		if i < 4 {
			fmt.Fprintf(&b, "B%d;", i)
			continue
		}
		fmt.Fprintf(&b, "B%d=%s+%s;", i, parent(i), parent(i))
	}
	if random.IntN(2) == 0 {
		b.WriteString("f(B0,B1)=0.125")
	}
	return b.String()
}

// The contributions add up to the kinship, the paths to the contribution, and
// a path is a chain of parents whose shares multiply to its contribution.
func TestMeetingsAddUp(t *testing.T) {
	for seed := range uint64(200) {
		random := rand.New(rand.NewPCG(seed, 1))
		text := randomPedigree(random, 16)
		p := parse(t, text)
		a, b := random.IntN(p.Len()), random.IntN(p.Len())
		if p.Kind(a) != Bird || p.Kind(b) != Bird {
			continue
		}
		total := 0.0
		meetings, _ := p.Meetings(a, b, 1<<20)
		for _, m := range meetings {
			total += m.Contribution
			assert.Zero(t, m.PathsLeftOut, text)
			sum, last := 0.0, math.Inf(1)
			for _, path := range m.Paths {
				sum += path.Contribution
				assert.LessOrEqual(t, path.Contribution, last)
				last = path.Contribution
				share := p.Kinship(m.Ancestor, m.With)
				for _, side := range [][]int{path.Up, reversed(path.Down)} {
					for k := range len(side) - 1 {
						step := 0.0
						p.parentsOf(int32(side[k]), func(q int32, s float64) {
							if int(q) == side[k+1] {
								step += s
							}
						})
						share *= step
					}
				}
				assert.InDelta(t, share, path.Contribution*float64(selfings(p, path)), 1e-15, text)
			}
			assert.InDelta(t, m.Contribution, sum, 1e-12, text)
			short, _ := p.Meetings(a, b, 2)
			for _, s := range short {
				if s.Ancestor == m.Ancestor && s.With == m.With {
					assert.Equal(t, len(m.Paths), len(s.Paths)+s.PathsLeftOut, text)
				}
			}
		}
		assert.InDelta(t, p.Kinship(a, b), total, 1e-12, text)

		// Without paths they come out of the other way: nothing is followed.
		unrouted, others := p.Meetings(a, b, 0)
		require.Len(t, unrouted, len(meetings), text)
		assert.Zero(t, others)
		part := map[[2]int]float64{}
		for _, m := range unrouted {
			assert.Empty(t, m.Paths)
			part[[2]int{m.Ancestor, m.With}] = m.Contribution
		}
		for _, m := range meetings {
			assert.InDelta(t, m.Contribution, part[[2]int{m.Ancestor, m.With}], 1e-15, text)
		}
	}
}

// Two birds with thousands of ancestors, of whom only likely pairs are followed. The
// oracle needs no pairs: two lines that always step from the younger bird stand on an
// ancestor together if both pass it at all, so that they first meet in c with a chance
//
//	h_c = T_ac T_bc − Σ h_d T_dc²    over the younger d,
//
// T being gene flow to an ancestor.
func TestMeetingsOfManyAncestors(t *testing.T) {
	k := slices.IndexFunc(shapes, func(s shape) bool { return s.name == "pairs" })
	birds := shaped(4200, shapes[k].parents)
	p := build(t, birds, nil)
	a, b := node(t, p, birds[len(birds)-1].ID), node(t, p, birds[len(birds)-3].ID)
	_, here := p.lineage([]int{a, b})
	require.Greater(t, len(here), manyAncestors)
	flow := func(node int) []float64 {
		x := make([]float64, node+1)
		x[node] = 1
		p.up(x)
		return x
	}
	ta, tb, met := flow(a), flow(b), make([]float64, p.Len())
	for c := min(a, b); c >= 0; c-- {
		met[c] += ta[c] * tb[c]
		if met[c] == 0 {
			continue
		}
		for d, x := range flow(c)[:c] {
			met[d] -= met[c] * x * x
		}
	}
	exact, _ := p.Meetings(a, b, 0)
	require.Len(t, exact, meetingsListed)
	for _, m := range exact {
		assert.InDelta(t, met[m.Ancestor]*p.Kinship(m.Ancestor, m.Ancestor), m.Contribution, 1e-15, "through %s", p.Name(m.Ancestor))
	}
	meetings, others := p.Meetings(a, b, 3)
	require.Len(t, meetings, meetingsListed)
	sum := others
	for _, m := range meetings {
		sum += m.Contribution
		want := met[m.Ancestor] * p.Kinship(m.Ancestor, m.Ancestor)
		assert.LessOrEqual(t, m.Contribution, want+1e-15)
		assert.InDelta(t, want, m.Contribution, 1e-5, "through %s", p.Name(m.Ancestor))
		assert.NotEmpty(t, m.Paths)
	}
	assert.Positive(t, others)
	assert.InDelta(t, p.Kinship(a, b), sum, 1e-15)
}

// selfings counts 2 for every step that leads to a bird that is both parents:
// it is then two paths through the same nodes.
func selfings(p *Pedigree, path Path) int {
	n := 1
	for _, side := range [][]int{path.Up, reversed(path.Down)} {
		for k := range len(side) - 1 {
			if s, d, ok := p.Parents(side[k]); ok && s == d {
				n *= 2
			}
		}
	}
	return n
}

func reversed(s []int) []int {
	r := make([]int, len(s))
	for i, v := range s {
		r[len(s)-1-i] = v
	}
	return r
}

// UNC-02 and UNC-03 of the published check values (derived; averaging exact
// kinship over the joint scenarios, from memory): chicks of one clutch share
// the draw and are full sibs in every sample, others need not be.
func TestSampleRespectsClutches(t *testing.T) {
	const samples = 400
	mean := func(text string) float64 {
		p := parse(t, text)
		x, y := node(t, p, "X"), node(t, p, "Y")
		sum := 0.0
		for k := range samples {
			q := p.Possible().Sample(7, k)
			f := q.Kinship(x, y)
			assert.Contains(t, []float64{0.125, 0.25}, f)
			sum += f
		}
		return sum / samples
	}
	assert.Equal(t, 0.25, mean("X=S1:0.5|S2:0.5+D 2019; Y=S1:0.5|S2:0.5+D 2019"))
	// Apart, 0.25 or 0.125 with equal chance: s.e. of the mean 0.0625/√samples.
	assert.InDelta(t, 0.1875, mean("X=S1:0.5|S2:0.5+D 2019; Y=S1:0.5|S2:0.5+D 2020"), 4*0.0625/math.Sqrt(samples))
}

// UNC-03 again, and what the mean over all samples is told for nothing else: chicks of
// other days, of other candidates and of parents that are known share no question.
func TestKinshipSharing(t *testing.T) {
	for _, x := range []struct {
		text   string
		want   float64
		shared bool
	}{
		{"X=S1:0.5|S2:0.5+D 2019; Y=S1:0.5|S2:0.5+D 2019", 0.25, true},
		{"X=S1:0.5|S2:0.5+D 2019; Y=S1:0.5|S2:0.5+D 2020", 0.1875, false},
		{"X=S1:0.5|S2:0.5+D 2019; Y=S1:0.5|S3:0.5+D 2019", 0.15625, false},
		{"X=S1+D 2019; Y=S1+D 2019", 0.25, false},
		{"S1=A+B; S2=A+B; X=S1:0.7|S2:0.3+D 2019; Y=S1:0.7|S2:0.3+D 2019", 0.25, true},
		{"S1=A+B; S2=A+C; X=S1:0.7|S2:0.3+S2 2019; Y=S1:0.7|S2:0.3+S2 2019", 0, true},
	} {
		p := parse(t, x.text)
		a, b := node(t, p, "X"), node(t, p, "Y")
		f, shared := p.KinshipSharing(a, b)
		assert.Equal(t, x.shared, shared, x.text)
		if x.want == 0 { // the mean over both sires, each certain
			for sire, weight := range map[string]float64{"S1": 0.7, "S2": 0.3} {
				q := parse(t, strings.ReplaceAll(x.text, "S1:0.7|S2:0.3", sire))
				x.want += weight * q.Kinship(node(t, q, "X"), node(t, q, "Y"))
			}
		}
		assert.InDelta(t, x.want, f, 1e-12, x.text)
	}
}

// UNC-04 of the published check values (Henderson 1988, from memory): the
// average over samples is the average relationship.
func TestSampleAverages(t *testing.T) {
	p := parse(t, "S1=A+B; D=A+B; X=S1:0.3|S2:0.7+D")
	const samples = 2000
	sum := 0.0
	for k := range samples {
		f := p.Possible().Sample(1, k).F(node(t, p, "X"))
		assert.Contains(t, []float64{0, 0.25}, f)
		sum += f
	}
	assert.InDelta(t, 0.075, sum/samples, 4*0.25*math.Sqrt(0.3*0.7/samples))
	assert.Equal(t, p.Possible().Sample(5, 9), p.Possible().Sample(5, 9))
}
