package broods

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// flock is birds with kinships by the tabular method (Emik & Terrill 1949), each
// drawn from earlier ones, with weights.
type flock struct {
	kinship [][]float64
	weight  []float64
}

func randomFlock(r *rand.Rand, founders, total, living int, weighted bool) flock {
	f := make([][]float64, total)
	for i := range f {
		f[i] = make([]float64, total)
		f[i][i] = 0.5
		if i < founders {
			continue
		}
		a, b := r.IntN(i), r.IntN(i)
		for j := range i {
			f[i][j] = (f[a][j] + f[b][j]) / 2
			f[j][i] = f[i][j]
		}
		f[i][i] = (1 + f[a][b]) / 2
	}
	first := total - living
	out := flock{weight: make([]float64, living)}
	for i := first; i < total; i++ {
		out.kinship = append(out.kinship, f[i][first:])
		out.weight[i-first] = 1
		if weighted {
			out.weight[i-first] = 1.5 * r.Float64()
		}
	}
	return out
}

// asProblem pairs the first birds of a flock with the next ones.
func (f flock) asProblem(pairs int) *Problem {
	p := &Problem{}
	cost := make([]float64, len(f.weight))
	for i, w := range f.weight {
		p.Total += w
		for j, v := range f.weight {
			p.Sum += w * v * f.kinship[i][j]
			cost[i] += v * f.kinship[i][j]
		}
		cost[i] += (1 - (2*f.kinship[i][i] - 1)) / 8
	}
	for a := range pairs {
		p.Pairs = append(p.Pairs, Pair{Cost: cost[a] + cost[pairs+a], Most: 2, Chance: 1})
		row := make([]float64, pairs)
		for b := range row {
			row[b] = (f.kinship[a][b] + f.kinship[a][pairs+b] + f.kinship[pairs+a][b] + f.kinship[pairs+a][pairs+b]) / 4
		}
		p.Kinship = append(p.Kinship, row)
	}
	return p
}

// withChicks returns GD of the flock and its pairs' chicks, each chick a row of
// the kinship matrix.
func (f flock) withChicks(pairs int, broods []int) float64 {
	type bird struct{ dam, sire int } // -1: living
	weight := append([]float64{}, f.weight...)
	kin := func(a, b int) float64 { return f.kinship[a][b] }
	var chicks []bird
	for i, k := range broods {
		for range k {
			chicks = append(chicks, bird{i, pairs + i})
			weight = append(weight, 1)
		}
	}
	total, sum := 0.0, 0.0
	of := func(i, j int) float64 {
		n := len(f.weight)
		switch {
		case i < n && j < n:
			return kin(i, j)
		case i < n:
			return (kin(i, chicks[j-n].dam) + kin(i, chicks[j-n].sire)) / 2
		case j < n:
			return (kin(j, chicks[i-n].dam) + kin(j, chicks[i-n].sire)) / 2
		case i == j:
			return (1 + kin(chicks[i-n].dam, chicks[i-n].sire)) / 2
		}
		a, b := chicks[i-n], chicks[j-n]
		return (kin(a.dam, b.dam) + kin(a.dam, b.sire) + kin(a.sire, b.dam) + kin(a.sire, b.sire)) / 4
	}
	for i, w := range weight {
		total += w
		for j, v := range weight {
			sum += w * v * of(i, j)
		}
	}
	return 1 - sum/(total*total)
}

// randomProblem invents a small season with places, limits and prices.
func randomProblem(seed uint64) (*Problem, flock) {
	r := rand.New(rand.NewPCG(seed, 0x62726f6f6473))
	pairs := 1 + r.IntN(6)
	living := 2*pairs + r.IntN(8)
	f := randomFlock(r, 3+r.IntN(8), living+r.IntN(20)+12, living, seed%2 == 0)
	p := f.asProblem(pairs)
	places := 1 + r.IntN(3)
	if r.IntN(2) == 0 {
		for range places {
			p.Rooms = append(p.Rooms, r.IntN(6)-1)
		}
	}
	p.Chicks = r.IntN(9)
	for i := range p.Pairs {
		x := &p.Pairs[i]
		x.Place, x.Most, x.Chance = r.IntN(places), r.IntN(4), float64(r.IntN(5))/4
		if r.IntN(6) == 0 {
			x.Least = r.IntN(x.Most + 1)
		}
		if seed%3 == 0 {
			x.Price = r.Float64()
		}
	}
	return p, f
}

// everyChoice calls use with every choice of broods within the limits of the
// pairs and, unless the least chicks break them, of the places.
func everyChoice(p *Problem, use func(broods []int)) {
	broods := make([]int, len(p.Pairs))
	var next func(i int)
	next = func(i int) {
		if i == len(broods) {
			if p.Rooms != nil {
				here, least := make([]int, len(p.Rooms)), make([]int, len(p.Rooms))
				for i, k := range broods {
					here[p.Pairs[i].Place] += k
					least[p.Pairs[i].Place] += p.Pairs[i].Least
				}
				for place, room := range p.Rooms {
					if room >= 0 && here[place] > max(room, least[place]) {
						return
					}
				}
			}
			use(broods)
			return
		}
		for k := p.Pairs[i].Least; k <= p.Pairs[i].Most; k++ {
			broods[i] = k
			next(i + 1)
		}
		broods[i] = 0
	}
	next(0)
}

// The oracle is the list of all choices.
func TestSolveFindsTheBestOfAllChoices(t *testing.T) {
	short, kept := 0, 0
	for seed := range uint64(3000) {
		p, _ := randomProblem(seed)
		name := fmt.Sprintf("seed %d", seed)
		chicks, least := 0, 0
		for _, x := range p.Pairs {
			least += x.Least
		}
		wanted := max(p.Chicks, least)
		everyChoice(p, func(b []int) {
			if n := total(b); n <= wanted {
				chicks = max(chicks, n)
			}
		})
		best := math.Inf(1)
		everyChoice(p, func(b []int) {
			if total(b) == chicks {
				best = min(best, p.Value(b)+p.prices(b))
			}
		})
		got, err := p.Solve(t.Context(), Budget)
		require.NoError(t, err)
		require.Equal(t, chicks, got.Chicks, name)
		require.Equal(t, chicks, total(got.Broods), name)
		require.InDelta(t, best, p.Value(got.Broods)+p.prices(got.Broods), 1e-9, name)
		assert.True(t, got.Proven, name)
		within := false
		everyChoice(p, func(b []int) { within = within || fmt.Sprint(b) == fmt.Sprint(got.Broods) })
		assert.True(t, within, name)
		if chicks < p.Chicks {
			short++
		}
		if least > 0 {
			kept++
		}

		// A search cut short still has broods and a bound.
		early, err := p.Solve(t.Context(), 0)
		require.NoError(t, err)
		n := p.Total + float64(chicks)
		paid := (p.prices(got.Broods) - p.prices(early.Broods)) / (n * n)
		assert.GreaterOrEqual(t, early.Bound, got.GeneDiversity-paid-1e-12, name)
		assert.False(t, math.IsInf(early.Bound, 0) || math.IsNaN(early.Bound), name)
	}
	assert.Greater(t, short, 200)
	assert.Greater(t, kept, 200)
}

// The oracle adds every chick to the kinship matrix.
func TestGeneDiversityIsThatOfTheMatrixWithAllChicks(t *testing.T) {
	for seed := range uint64(200) {
		p, f := randomProblem(seed)
		r := rand.New(rand.NewPCG(seed, 9))
		broods := make([]int, len(p.Pairs))
		for i := range broods {
			broods[i] = r.IntN(4)
		}
		assert.InDelta(t, f.withChicks(len(broods), broods), p.GeneDiversity(broods), 1e-12, "seed %d", seed)
	}
}

// The oracle is the list of all outcomes, the chicks of each added to the
// kinship matrix.
func TestExpectationIsTheMeanOfAllOutcomes(t *testing.T) {
	for seed := range uint64(300) {
		p, f := randomProblem(seed)
		r := rand.New(rand.NewPCG(seed, 10))
		broods := make([]int, len(p.Pairs))
		for i := range broods {
			broods[i] = r.IntN(3)
			p.Pairs[i].Chance = r.Float64()
			if r.IntN(6) == 0 {
				p.Pairs[i].Chance = float64(r.IntN(2))
			}
		}
		mean, gd := 0.0, 0.0
		chance := make([]float64, total(broods)+1)
		outcome := make([]int, len(broods))
		var next func(i int, prob float64)
		next = func(i int, prob float64) {
			if i == len(broods) {
				n := total(outcome)
				mean += prob * float64(n)
				chance[n] += prob
				gd += prob * f.withChicks(len(broods), outcome)
				return
			}
			c := p.Pairs[i].Chance
			ways := 1.0
			for k := 0; k <= broods[i]; k++ {
				outcome[i] = k
				next(i+1, prob*ways*math.Pow(c, float64(k))*math.Pow(1-c, float64(broods[i]-k)))
				ways = ways * float64(broods[i]-k) / float64(k+1)
			}
			outcome[i] = 0
		}
		next(0, 1)
		got := p.Expect(broods)
		require.True(t, got.Known)
		assert.InDelta(t, mean, got.Chicks, 1e-12, "seed %d", seed)
		assert.InDelta(t, gd, got.GeneDiversity, 1e-12, "seed %d", seed)
		require.Len(t, got.Chance, len(chance))
		atLeast := 0.0
		for n := len(chance) - 1; n >= 0; n-- {
			atLeast += chance[n]
			assert.InDelta(t, chance[n], got.Chance[n], 1e-12, "seed %d", seed)
			assert.InDelta(t, atLeast, got.AtLeast(n), 1e-12, "seed %d", seed)
		}
		assert.Zero(t, got.AtLeast(len(chance)))
	}
}

// The oracle is the change of the expected S' itself, from all outcomes, when
// a pair may hatch one chick more.
func TestReservesComeInOrderOfWhatTheyAdd(t *testing.T) {
	short, some := 0, 0
	for seed := range uint64(400) {
		p, _ := randomProblem(seed)
		p.Rooms = nil
		name := fmt.Sprintf("seed %d", seed)
		got, err := p.Solve(t.Context(), Budget)
		require.NoError(t, err)
		wanted := float64(got.Chicks)
		res := p.Reserve(got.Broods, wanted)
		limits := append([]int{}, got.Broods...)
		expected := 0.0
		for i, k := range limits {
			expected += float64(k) * p.Pairs[i].Chance
		}
		for _, step := range res.Steps {
			require.Less(t, expected, wanted, name)
			before := p.meanValue(limits)
			best := math.Inf(1)
			add := func(i int) float64 {
				limits[i]++
				defer func() { limits[i]-- }()
				return (p.meanValue(limits) - before) / p.Pairs[i].Chance
			}
			for i, x := range p.Pairs {
				if limits[i] < x.Most && x.Chance > 0 {
					best = min(best, add(i))
				}
			}
			assert.InDelta(t, best, add(step), 1e-9, name)
			limits[step]++
			expected += p.Pairs[step].Chance
			some++
		}
		assert.InDelta(t, expected, res.Expected, 1e-9, name)
		assert.InDelta(t, max(0, wanted-expected), res.Shortfall, 1e-9, name)
		if res.Shortfall > 0 {
			short++
			for i, x := range p.Pairs {
				assert.True(t, limits[i] == x.Most || x.Chance == 0, name)
			}
		}
		for i, k := range res.Broods {
			assert.Equal(t, k > 0, res.Order[i] > 0, name)
			assert.Equal(t, limits[i], got.Broods[i]+k, name)
		}
	}
	assert.Greater(t, short, 50)
	assert.Greater(t, some, 200)
}

// meanValue returns the mean of S' and prices over all outcomes.
func (p *Problem) meanValue(limits []int) float64 {
	outcome := make([]int, len(limits))
	var next func(i int, prob float64) float64
	next = func(i int, prob float64) float64 {
		if i == len(limits) {
			return prob * (p.Value(outcome) + p.prices(outcome))
		}
		sum := 0.0
		for k, chance := range Binomial(limits[i], p.Pairs[i].Chance) {
			outcome[i] = k
			if chance > 0 {
				sum += next(i+1, prob*chance)
			}
		}
		outcome[i] = 0
		return sum
	}
	return next(0, 1)
}

// No place is expected to have more chicks than it has room for (worked by
// hand): the pair of the full place waits though it comes first.
func TestReservesKeepToTheRoom(t *testing.T) {
	p := &Problem{
		Total: 10, Sum: 10,
		Pairs:   []Pair{{Cost: 1, Chance: 0.5, Most: 4}, {Cost: 9, Chance: 0.5, Most: 4, Place: 1}},
		Kinship: [][]float64{{0.25, 0}, {0, 0.25}},
		Rooms:   []int{1, -1},
	}
	res := p.Reserve([]int{1, 0}, 2)
	assert.Equal(t, []int{1, 2}, res.Broods)
	assert.Equal(t, []int{1, 2}, res.Order)
	assert.Equal(t, []int{0, 1, 1}, res.Steps)
	assert.InDelta(t, 2, res.Expected, 1e-12)
	assert.Zero(t, res.Shortfall)
	assert.InDelta(t, 0.5, p.Reserve([]int{1, 0}, 3.5).Shortfall, 1e-12)
}

// programme invents the pairs of a programme.
func programme(living, chicks int) *Problem {
	r := rand.New(rand.NewPCG(uint64(living), 4))
	f := randomFlock(r, 40, 3*living, living, true)
	p := f.asProblem(living / 3)
	p.Chicks = chicks
	for i := range p.Pairs {
		p.Pairs[i].Chance = 0.3 + 0.6*r.Float64()
	}
	return p
}

// More room is never worse, however short the search: it starts from the
// broods of less room.
func TestMoreRoomIsNeverWorse(t *testing.T) {
	p := programme(120, 20)
	last := math.Inf(-1)
	for most := 1; most <= 4; most++ {
		for i := range p.Pairs {
			p.Pairs[i].Most = most
		}
		got, err := p.Solve(t.Context(), 0)
		require.NoError(t, err)
		assert.GreaterOrEqual(t, got.GeneDiversity, last-1e-15)
		last = got.GeneDiversity
		p.Start = got.Broods
	}
}

func TestLargeProgrammesHaveAFiniteBound(t *testing.T) {
	for _, chicks := range []int{40, 80, 280, 500} {
		got, err := programme(842, chicks).Solve(t.Context(), Budget/10)
		require.NoError(t, err)
		assert.Equal(t, chicks, got.Chicks)
		assert.GreaterOrEqual(t, got.Bound, got.GeneDiversity)
		assert.Less(t, got.Bound-got.GeneDiversity, 5e-5)
	}
}

func TestStopsWhenAsked(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := programme(60, 10).Solve(ctx, Budget)
	assert.ErrorIs(t, err, context.Canceled)
}

func BenchmarkSolve(b *testing.B) {
	for _, size := range [][2]int{{40, 8}, {120, 20}, {383, 40}, {842, 40}, {842, 80}, {842, 500}} {
		p := programme(size[0], size[1])
		b.Run(fmt.Sprintf("%d/%d", size[0], size[1]), func(b *testing.B) {
			var got Solution
			for b.Loop() {
				var err error
				got, err = p.Solve(b.Context(), Budget)
				require.NoError(b, err)
			}
			b.ReportMetric(1e9*(got.Bound-got.GeneDiversity), "gap-nGD")
		})
	}
}

func BenchmarkExpect(b *testing.B) {
	for _, size := range [][2]int{{40, 8}, {383, 80}, {842, 500}} {
		p := programme(size[0], size[1])
		got, err := p.Solve(b.Context(), 0)
		require.NoError(b, err)
		b.Run(fmt.Sprintf("%d/%d", size[0], size[1]), func(b *testing.B) {
			for b.Loop() {
				p.Expect(got.Broods)
			}
		})
	}
}
