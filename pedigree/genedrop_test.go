package pedigree

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	macCluer = "memory: closed form; MacCluer JW, VandeBerg JL, Read B, Ryder OA 1986, Zoo Biology 5:147-160"
	identity = "memory: closed form identity; Lacy RC 1989, 1995"
)

func drop(t testing.TB, q *Population, d Drop) *DropResult {
	t.Helper()
	r, err := q.GeneDrop(t.Context(), d)
	require.NoError(t, err)
	return r
}

// within checks an estimate against the true value, allowing 4 standard errors.
func within(t testing.TB, want float64, got Estimate, note string) {
	t.Helper()
	assert.InDelta(t, want, got.Value, 4*got.StandardError+exact, note)
}

func TestPublishedRetention(t *testing.T) {
	const lines = "C1=A+B; C2=A+B; C3=A+B; " +
		"D1=C1+E1; D2=C1+E2; D3=C2+E3; D4=C2+E4; D5=C3+E5; D6=C3+E6"
	for _, c := range []struct {
		name, text, members string
		want                map[string]float64
	}{
		{"FND-01 one chick", "C1=A+B", "C1", map[string]float64{"A": 0.5, "B": 0.5}},
		{"FND-01 two chicks", "C1=A+B; C2=A+B", "C1 C2", map[string]float64{"A": 0.75}},
		{"FND-01 three chicks", "C1=A+B; C2=A+B; C3=A+B", "C1 C2 C3", map[string]float64{"A": 0.875}},
		{"FND-01 four chicks", "C1=A+B; C2=A+B; C3=A+B; C4=A+B", "C1 C2 C3 C4", map[string]float64{"A": 0.9375}},
		{"FND-01 five chicks", "C1=A+B; C2=A+B; C3=A+B; C4=A+B; C5=A+B", "C1 C2 C3 C4 C5", map[string]float64{"A": 0.96875}},
		{"FND-02 living founder", "C1=A+B", "A C1", map[string]float64{"A": 1, "B": 0.5}},
		{"FND-03 grandchick", "C=A+B; D=C+E", "D", map[string]float64{"A": 0.25, "B": 0.25, "E": 0.5}},
		{"FND-04 two lines", "C1=A+B; C2=A+B; D1=C1+E; D2=C2+G", "D1 D2", map[string]float64{"A": 0.4375}},
		{"FND-05 two grandchicks", "C=A+B; D1=C+E; D2=C+E", "D1 D2", map[string]float64{"A": 0.375, "E": 0.75}},
		{"FND-06 loop", "C=A+B; D=A+B; X=C+D", "X", map[string]float64{"A": 0.4375, "B": 0.4375}},
		{"FND-07 three chicks of two", lines, "D1 D2 D3 D4 D5 D6", map[string]float64{"A": 0.755859375}},
		{"no living descendant", "C=A+B; D=E+G", "C", map[string]float64{"E": 0}},
		{"unknown dam", "C=A+?", "C", map[string]float64{"unknown dam of C": 0.5}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := parse(t, c.text)
			r := drop(t, p.Population(nodes(t, p, c.members)), Drop{Seed: 1})
			assert.Equal(t, DefaultIterations, r.Iterations)
			sum := 0.0
			for a, f := range r.Founders {
				sum += f.Retention.Value
				if want, ok := c.want[p.Name(a)]; ok {
					within(t, want, f.Retention, p.Name(a)+": "+macCluer)
				}
			}
			assert.InDelta(t, sum, r.GenomesSurviving.Value, 1e-9)
		})
	}
	assert.InDelta(t, 0.00496, chance(4375, 10_000).StandardError, 1e-5, "FND-08, memory: binomial standard error")
}

func TestPublishedRetentionEquivalents(t *testing.T) {
	for _, c := range []struct {
		name, text, members string
		want, kinship       float64
	}{
		{"FND-12, 13 one chick", "C1=A+B", "C1", 1, 1},
		{"FND-12, 13 two full sibs", "C1=A+B; C2=A+B", "C1 C2", 1.5, 4. / 3},
		{"FND-12, 13 four full sibs", "C1=A+B; C2=A+B; C3=A+B; C4=A+B", "C1 C2 C3 C4", 1.875, 1.6},
		{"FND-14 chick of full sibs", "C=A+B; D=A+B; X=C+D", "X", 0.875, 0.8},
	} {
		p := parse(t, c.text)
		q := p.Population(nodes(t, p, c.members))
		within(t, c.want, drop(t, q, Drop{Seed: 1}).RetentionEquivalents, c.name+", "+lacy)
		fge, _ := q.FounderGenomeEquivalents()
		assert.InDelta(t, c.kinship, fge, 1e-9, "%s, memory: closed form; Lacy RC 1995; Caballero A, Toro MA 2000", c.name)
	}
}

func TestPublishedUniqueness(t *testing.T) {
	for _, c := range []struct {
		name, text, members string
		want                []float64 // in the order of nodes
	}{
		{"FND-17 one chick", "C1=A+B", "C1", []float64{1}},
		{"FND-17 two full sibs", "C1=A+B; C2=A+B", "C1 C2", []float64{0.5, 0.5}},
		{"FND-17 three full sibs", "C1=A+B; C2=A+B; C3=A+B", "C1 C2 C3", []float64{0.25, 0.25, 0.25}},
		{"FND-17 four full sibs", "C1=A+B; C2=A+B; C3=A+B; C4=A+B", "C1 C2 C3 C4", []float64{0.125, 0.125, 0.125, 0.125}},
		{"FND-18 trio", "X=A+B", "A B X", []float64{0.5, 0.5, 0}},
		{"FND-19 half sibs", "C=A+B; D=A+E", "C D", []float64{0.75, 0.75}},
		{"founder without chicks", "A; X=B+C", "A X", []float64{1, 1}},
		// Two copies within the bird itself do not spoil its uniqueness.
		{"inbred bird alone", "C=A+B; D=A+B; X=C+D", "X", []float64{1}},
		{"selfed bird alone", "C=A+B; X=C+C; Y=X+X", "Y", []float64{1}},
	} {
		p := parse(t, c.text)
		r := drop(t, p.Population(nodes(t, p, c.members)), Drop{Seed: 1})
		require.Len(t, r.Uniqueness, len(c.want))
		for k, want := range c.want {
			within(t, want, r.Uniqueness[k], c.name+", "+macCluer)
		}
	}
}

// replay does the same drop the plain way, one iteration after the other: a
// label for each founder gene, and for each label the set of members that hold
// it. It uses the same random bits, so that every count must be the same.
type replay struct {
	*dropper
	here                []int32
	held, inOne, inTwo  [][]float64 // by founder and iteration: share of its two genes
	either, both, total []float64   // iterations in which either, both are held, by founder; genes held, by iteration
	unique              [][]float64 // by member and iteration
	diversity           []float64   // by iteration: 1 − Σ freq²
}

func newReplay(q *Population, d Drop) *replay {
	t, here := newDropper(q, d)
	r := &replay{
		dropper: t,
		here:    here,
		held:    make([][]float64, t.founders),
		inOne:   make([][]float64, t.founders),
		inTwo:   make([][]float64, t.founders),
		either:  make([]float64, t.founders),
		both:    make([]float64, t.founders),
		unique:  make([][]float64, len(t.members)),
	}
	for iteration := range d.Iterations {
		r.once(func(i int32, side int) bool {
			return randomWord(t.coin[i], uint64(2*(iteration/64)+side))>>(iteration%64)&1 == 1
		}, func(m int32) int32 {
			u := uint64(0)
			for digit := range uint64(62) {
				u = u<<1 | randomWord(t.choice[m].key, uint64(64*(iteration/64))+digit)>>(iteration%64)&1
			}
			k, below := 0, t.mixtures[m].weight[0]
			for k < len(t.mixtures[m].node)-1 && float64(u)/(1<<62) >= below {
				k++
				below += t.mixtures[m].weight[k]
			}
			return t.mixtures[m].node[k]
		})
	}
	return r
}

// once drops genes once: coin says whether the parent's second gene is passed
// on, pick which candidate of a mixture is the parent.
func (r *replay) once(coin func(i int32, side int) bool, pick func(m int32) int32) {
	genes := make([][2]int, len(r.here))
	for i := range genes {
		if i < r.founders {
			genes[i] = [2]int{2 * i, 2*i + 1}
			continue
		}
		if r.sire[i] < 0 {
			continue
		}
		for side, parent := range [2]int32{r.sire[i], r.dam[i]} {
			if int(parent) >= r.founders && r.sire[parent] < 0 {
				parent = pick(-1 - r.sire[parent])
			}
			genes[i][side] = genes[parent][0]
			if coin(int32(i), side) {
				genes[i][side] = genes[parent][1]
			}
		}
	}
	holders := map[int]map[int32]bool{}
	copies := map[int]float64{}
	for _, i := range r.members {
		for _, gene := range genes[i] {
			if holders[gene] == nil {
				holders[gene] = map[int32]bool{}
			}
			holders[gene][i] = true
			copies[gene]++
		}
	}
	share := func(a int, is func(n int) bool) (share float64) {
		for gene := 2 * a; gene < 2*a+2; gene++ {
			if is(len(holders[gene])) {
				share += 0.5
			}
		}
		return share
	}
	total := 0.0
	for a := range r.founders {
		held := share(a, func(n int) bool { return n > 0 })
		r.held[a] = append(r.held[a], held)
		r.inOne[a] = append(r.inOne[a], share(a, func(n int) bool { return n == 1 }))
		r.inTwo[a] = append(r.inTwo[a], share(a, func(n int) bool { return n == 2 }))
		if held > 0 {
			r.either[a]++
		}
		if held == 1 {
			r.both[a]++
		}
		total += held
	}
	r.total = append(r.total, total)
	for k, i := range r.members {
		unique := 0.0
		for _, gene := range genes[i] {
			if len(holders[gene]) == 1 {
				unique += 0.5
			}
		}
		r.unique[k] = append(r.unique[k], unique)
	}
	d := 1.0
	for gene := range 2 * r.founders {
		freq := copies[gene] / float64(2*len(r.members))
		d -= freq * freq
	}
	r.diversity = append(r.diversity, d)
}

// estimate returns the mean and its standard error s/√n.
func estimate(values []float64) Estimate {
	n := float64(len(values))
	mean, squares := 0.0, 0.0
	for _, v := range values {
		mean += v / n
	}
	for _, v := range values {
		squares += (v - mean) * (v - mean)
	}
	return Estimate{mean, math.Sqrt(squares) / n}
}

// randomMembers returns each bird with the chance.
func randomMembers(p *Pedigree, random *rand.Rand, chance float64) (members []int) {
	for i := range p.Len() {
		if p.Kind(i) == Bird && random.Float64() < chance {
			members = append(members, i)
		}
	}
	return members
}

func TestGeneDropAgainstReplay(t *testing.T) {
	same := func(t *testing.T, want []float64, got Estimate, note string) {
		t.Helper()
		e := estimate(want)
		require.InDelta(t, e.Value, got.Value, 1e-12, note)
		require.InDelta(t, e.StandardError, got.StandardError, 1e-9, note)
	}
	for seed := range uint64(60) {
		random := rand.New(rand.NewPCG(seed, 4))
		text := randomPedigree(random, 5+random.IntN(40))
		if seed%3 == 0 { // two clutches with one uncertain sire each
			text += "; Y1=B0:0.3|B2:0.5+B1 2001; Y2=B0:0.3|B2:0.5+B1 2001; Y3=Y1:0.1|B3:0.9+Y2 2003; Y4=Y1:0.1|B3:0.9+Y2 2003"
		}
		p := parse(t, text)
		q := p.Population(randomMembers(p, random, 0.1+0.8*random.Float64()))
		d := Drop{Iterations: 128 + random.IntN(500), Seed: seed}
		got, want := drop(t, q, d), newReplay(q, d)
		note := fmt.Sprintf("seed %d: %s", seed, text)
		require.Equal(t, len(p.related) > 0, got.FoundersTakenUnrelated)
		n := float64(d.Iterations)
		founders := 0
		for a, f := range want.here[:want.founders] {
			founder := got.Founders[f]
			same(t, want.held[a], founder.Retention, note)
			same(t, want.inOne[a], founder.InOneBird, note)
			same(t, want.inTwo[a], founder.InTwoBirds, note)
			require.InDelta(t, 1-want.both[a]/n, founder.EitherLost.Value, 1e-12, note)
			require.InDelta(t, 1-want.either[a]/n, founder.BothLost.Value, 1e-12, note)
			if founder.Retention.Value > 0 {
				founders++
			}
		}
		for _, f := range got.Founders {
			if f.Retention.Value > 0 {
				founders--
			} else {
				require.Equal(t, 1.0, f.BothLost.Value, note)
			}
		}
		require.Zero(t, founders, "a founder outside the members' ancestry is held: %s", note)
		for k := range q.Members() {
			same(t, want.unique[k], got.Uniqueness[k], note)
		}
		same(t, want.total, got.GenomesSurviving, note)
	}
}

// The mean of 1 − Σ freq² over the drops is gene diversity.
func TestGeneDiversityOfDrops(t *testing.T) {
	for _, c := range []struct {
		name, text, members string
		want                float64
	}{
		{"FND-20 two full sibs", "C=A+B; D=A+B", "C D", 0.625},
		{"FND-21 trio", "X=A+B", "A B X", 13. / 18},
	} {
		p := parse(t, c.text)
		q := p.Population(nodes(t, p, c.members))
		within(t, c.want, estimate(newReplay(q, Drop{Iterations: 10_000, Seed: 1}).diversity), c.name+", "+identity)
	}
	for seed := range uint64(40) {
		random := rand.New(rand.NewPCG(seed, 5))
		p := parse(t, randomPedigree(random, 5+random.IntN(40)))
		q := p.Population(randomMembers(p, random, 0.6))
		if len(q.Members()) == 0 || len(p.related) > 0 {
			continue
		}
		gd, _ := q.GeneDiversity()
		within(t, gd, estimate(newReplay(q, Drop{Iterations: 2_000, Seed: seed}).diversity), fmt.Sprintf("seed %d, %s", seed, identity))
	}
}

// Two chicks with the same two possible sires. Hatched in one year with the
// same dam they share the draw and are full sibs; else each has its own.
func TestGeneDropOfTies(t *testing.T) {
	for _, c := range []struct {
		name, years          string
		kinship, sire, equal float64
	}{
		// Both of S1, none, or (if not tied) one each: ½·¾, or ¼·¾ + ½·½.
		{"UNC-03 tied", "2019", 1. / 4, 3. / 8, 3. / 4},
		{"UNC-02 not tied", "2020", 3. / 16, 7. / 16, 3. / 4},
	} {
		p := parse(t, "X=S1:0.5|S2:0.5+D 2019; Y=S1:0.5|S2:0.5+D "+c.years)
		q := p.Population(nodes(t, p, "X Y"))
		d := Drop{Seed: 3}
		r := drop(t, q, d)
		within(t, c.sire, r.Founders[node(t, p, "S1")].Retention, c.name)
		within(t, c.sire, r.Founders[node(t, p, "S2")].Retention, c.name)
		within(t, c.equal, r.Founders[node(t, p, "D")].Retention, c.name)
		d.Iterations = DefaultIterations
		mk := (1./2 + c.kinship) / 2
		within(t, 1-mk, estimate(newReplay(q, d).diversity), c.name+", "+henderson)
	}
}

// Every way the genes can go, each with its chance, on small random pedigrees.
func TestGeneDropAgainstEnumeration(t *testing.T) {
	for seed := range uint64(40) {
		random := rand.New(rand.NewPCG(seed, 6))
		text := randomPedigree(random, 6+random.IntN(3))
		p := parse(t, text)
		q := p.Population(randomMembers(p, random, 0.5))
		d := Drop{Iterations: 10_000, Seed: seed}
		all := newReplay(q, Drop{})
		var chances []float64
		var coins [][2]int32
		for i := all.founders; i < len(all.here); i++ {
			if all.sire[i] >= 0 {
				coins = append(coins, [2]int32{int32(i), 0}, [2]int32{int32(i), 1})
			}
		}
		picks := make([]int32, len(all.mixtures))
		var choose func(m int, chance float64)
		choose = func(m int, chance float64) {
			if m < len(picks) {
				for k, candidate := range all.mixtures[m].node {
					picks[m] = candidate
					choose(m+1, chance*all.mixtures[m].weight[k])
				}
				return
			}
			for way := range 1 << len(coins) {
				all.once(func(i int32, side int) bool {
					for k, c := range coins {
						if c == [2]int32{i, int32(side)} {
							return way>>k&1 == 1
						}
					}
					panic("no coin")
				}, func(m int32) int32 { return picks[m] })
				chances = append(chances, chance/float64(int(1)<<len(coins)))
			}
		}
		choose(0, 1)
		r := drop(t, q, d)
		check := func(values []float64, got Estimate) {
			mean, square := 0.0, 0.0
			for k, v := range values {
				mean += chances[k] * v
				square += chances[k] * v * v
			}
			e := math.Sqrt(max(0, square-mean*mean) / float64(d.Iterations))
			require.InDelta(t, mean, got.Value, 4*e+1e-12, "seed %d: %s", seed, text)
		}
		for a, f := range all.here[:all.founders] {
			check(all.held[a], r.Founders[f].Retention)
			check(all.inOne[a], r.Founders[f].InOneBird)
			check(all.inTwo[a], r.Founders[f].InTwoBirds)
		}
		for k := range q.Members() {
			check(all.unique[k], r.Uniqueness[k])
		}
		check(all.total, r.GenomesSurviving)
	}
}

// The standard errors against the spread of the figures between seeds.
func TestStandardErrorsOfGeneDrop(t *testing.T) {
	p := parse(t, "C1=A+B; C2=A+B; D1=C1+E; D2=C2+E; D3=C1+G; H1=D1+D2; H2=D1+D3; H3=D2+D3")
	q := p.Population(nodes(t, p, "H1 H2 H3"))
	const seeds = 400
	var retention, surviving, equivalents, unique []float64
	var claimed [4]float64
	for seed := range uint64(seeds) {
		r := drop(t, q, Drop{Iterations: 2_000, Seed: seed})
		for k, e := range []struct {
			list *[]float64
			Estimate
		}{
			{&retention, r.Founders[node(t, p, "A")].Retention}, {&surviving, r.GenomesSurviving},
			{&equivalents, r.RetentionEquivalents}, {&unique, r.Uniqueness[0]},
		} {
			*e.list = append(*e.list, e.Value)
			claimed[k] += e.StandardError / seeds
		}
	}
	for k, list := range [][]float64{retention, surviving, equivalents, unique} {
		spread := estimate(list).StandardError * math.Sqrt(seeds)
		// The spread of 400 values is itself known to 1/√800 = 3.5 %.
		assert.InEpsilon(t, spread, claimed[k], 4*0.035, "figure %d", k)
	}
}

func TestGeneDropIsReproducible(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 7))
	p := parse(t, randomPedigree(random, 200))
	q := p.Population(randomMembers(p, random, 0.4))
	d := Drop{Iterations: 3_000, Seed: 5}
	cores := runtime.GOMAXPROCS(1)
	defer runtime.GOMAXPROCS(cores)
	one := drop(t, q, d)
	for _, n := range []int{2, 7} {
		runtime.GOMAXPROCS(n)
		assert.Equal(t, one, drop(t, q, d), "%d cores", n)
	}
	d.Seed++
	assert.NotEqual(t, one.Founders, drop(t, q, d).Founders)
}

// A bird's draws are its own: birds that are no kin of the members change
// nothing.
func TestGeneDropKeepsDraws(t *testing.T) {
	const text = "C=A+B; D=A+B; X=C+D; Y=C:0.5|D:0.5+?"
	p, more := parse(t, text), parse(t, "0=1+2; 3=0+1; E=0:0.3|3:0.7+X;"+text)
	r := drop(t, p.Population(nodes(t, p, "X Y")), Drop{Iterations: 200})
	s := drop(t, more.Population(nodes(t, more, "X Y")), Drop{Iterations: 200})
	assert.Equal(t, r.Uniqueness, s.Uniqueness)
	assert.Equal(t, r.Founders[node(t, p, "A")], s.Founders[node(t, more, "A")])
}

func TestGeneDropOfNobody(t *testing.T) {
	for _, text := range []string{"X=A+B", "X=A+B; f(A,B)=0.1", "X=A:0.5|B:0.5+C"} {
		r := drop(t, parse(t, text).Population(nil), Drop{})
		assert.Empty(t, r.Uniqueness)
		assert.Zero(t, r.GenomesSurviving)
		assert.Zero(t, r.RetentionEquivalents)
		for _, f := range r.Founders {
			assert.Equal(t, FounderDrop{EitherLost: Estimate{Value: 1}, BothLost: Estimate{Value: 1}}, f)
		}
	}
}

func TestGeneDropRefusals(t *testing.T) {
	p := parse(t, "X=A+B")
	q := p.Population(nodes(t, p, "X"))
	for _, n := range []int{-1, 1, 127} {
		_, err := q.GeneDrop(t.Context(), Drop{Iterations: n})
		assert.ErrorContains(t, err, fmt.Sprintf("%d iterations: at least 128", n))
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := q.GeneDrop(ctx, Drop{})
	assert.ErrorIs(t, err, context.Canceled)
}

func TestBelow(t *testing.T) {
	// Over many words the share below a threshold is the threshold.
	for _, share := range []float64{0, 1e-6, 0.1, 0.3, 0.5, 0.999, 1} {
		const words = 4_000
		count := 0
		for word := range words {
			w := below(uint64(share*(1<<62)), 7, word)
			for ; w != 0; w &= w - 1 {
				count++
			}
		}
		e := math.Sqrt(share * (1 - share) / (64 * words))
		assert.InDelta(t, share, float64(count)/(64*words), 4*e)
	}
}

// BenchmarkGeneDrop has beside each drop the drawing of its random words alone.
func BenchmarkGeneDrop(b *testing.B) {
	for _, n := range []int{1_000, 3_000, 10_000, 100_000} {
		birds := generated(n, 1)
		p := build(b, birds, nil)
		// The youngest quarter stands for the living.
		q := p.Population(every(b, p, birds[3*n/4:]))
		b.Run(fmt.Sprintf("drop/%d", n), func(b *testing.B) {
			for b.Loop() {
				drop(b, q, Drop{Seed: 1})
			}
		})
		b.Run(fmt.Sprintf("words/%d", n), func(b *testing.B) {
			t, _ := newDropper(q, Drop{Iterations: DefaultIterations, Seed: 1})
			for b.Loop() {
				_ = onAllCores(b.Context(), t.blocks(), func(next func() (int, bool)) {
					c := core{dropper: t, coins: make([]block, len(t.from))}
					for number, ok := next(); ok; number, ok = next() {
						c.toss(number * lanes)
					}
				})
			}
		})
	}
}
