package bonds

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// randomProblem invents a small problem: values with ties, negative and
// forbidden ones, places, ways and limits of every kind.
func randomProblem(seed uint64) *Problem {
	r := rand.New(rand.NewPCG(seed, 0x626f6e6473))
	f, m := r.IntN(5), r.IntN(5)
	p := &Problem{Moves: -1}
	ties := r.IntN(2) == 0
	for range f {
		row := make([]float64, m)
		for j := range row {
			row[j] = r.NormFloat64() + 0.7
			if ties {
				row[j] = float64(r.IntN(6) - 1)
			}
			switch r.IntN(12) {
			case 0:
				row[j] = math.NaN()
			case 1:
				row[j] = math.Inf(-1)
			}
		}
		p.Value = append(p.Value, row)
	}
	if r.IntN(5) == 0 {
		return p
	}
	places := 1 + r.IntN(3)
	p.FemaleAt, p.MaleAt = make([]int, f), make([]int, m)
	for i := range p.FemaleAt {
		p.FemaleAt[i] = r.IntN(places)
	}
	for j := range p.MaleAt {
		p.MaleAt[j] = r.IntN(places)
	}
	if r.IntN(2) == 0 {
		for range f {
			row := make([]Ways, m)
			for j := range row {
				row[j] = Ways(r.IntN(8))
			}
			p.Ways = append(p.Ways, row)
		}
	}
	if r.IntN(3) > 0 {
		for range places {
			p.Rooms = append(p.Rooms, Room{r.IntN(4) - 1, r.IntN(4) - 1, r.IntN(4) - 1})
		}
	}
	p.Moves = r.IntN(5) - 1
	if r.IntN(2) == 0 {
		p.LeastGain = []float64{0.3, 1, 2}[r.IntN(3)]
	}
	return p
}

// within reports whether pairs keep all limits, counted one by one.
func within(p *Problem, pairs []Pair) bool {
	moves, in := 0, map[int]Room{}
	for _, x := range pairs {
		switch x.Mover {
		case 0:
			continue
		case FemaleMoves:
			r := in[p.MaleAt[x.Male]]
			r.Females, r.Birds = r.Females+1, r.Birds+1
			in[p.MaleAt[x.Male]] = r
		case MaleMoves:
			r := in[p.FemaleAt[x.Female]]
			r.Males, r.Birds = r.Males+1, r.Birds+1
			in[p.FemaleAt[x.Female]] = r
		}
		moves++
	}
	if p.Moves >= 0 && moves > p.Moves {
		return false
	}
	for place, r := range in {
		if p.Rooms == nil {
			continue
		}
		most := p.Rooms[place]
		for _, x := range [][2]int{{r.Females, most.Females}, {r.Males, most.Males}, {r.Birds, most.Birds}} {
			if x[1] >= 0 && x[0] > x[1] {
				return false
			}
		}
	}
	return true
}

// everyChoice calls use with every choice of allowed pairs, within limits or
// not.
func everyChoice(p *Problem, use func(pairs []Pair)) {
	taken := make([]bool, p.males())
	var pairs []Pair
	var next func(f int)
	next = func(f int) {
		if f == len(p.Value) {
			use(pairs)
			return
		}
		next(f + 1)
		for m, v := range p.Value[f] {
			if taken[m] || math.IsNaN(v) || math.IsInf(v, 0) {
				continue
			}
			ways := []Ways{0}
			if p.FemaleAt != nil && p.FemaleAt[f] != p.MaleAt[m] {
				ways = nil
				for _, w := range []Ways{FemaleMoves, MaleMoves} {
					if p.Ways == nil || p.Ways[f][m]&w != 0 {
						ways = append(ways, w)
					}
				}
			}
			taken[m] = true
			for _, w := range ways {
				pairs = append(pairs, Pair{f, m, w})
				next(f + 1)
				pairs = pairs[:len(pairs)-1]
			}
			taken[m] = false
		}
	}
	next(0)
}

func (p *Problem) chargedSum(pairs []Pair) float64 {
	total := 0.0
	for _, x := range pairs {
		total += p.Value[x.Female][x.Male]
		if x.Mover != 0 {
			total -= p.LeastGain
		}
	}
	return total
}

// largest returns the largest sum of a plain assignment by trying all; birds
// set out are left out, and one pair may be forbidden.
func largest(value [][]float64, noFemale, noMale int, forbid [2]int) float64 {
	males := 0
	if len(value) > 0 {
		males = len(value[0])
	}
	taken := make([]bool, males)
	var next func(f int) float64
	next = func(f int) float64 {
		if f == len(value) {
			return 0
		}
		best := next(f + 1)
		if f == noFemale {
			return best
		}
		for m, v := range value[f] {
			if m == noMale || taken[m] || v <= 0 || forbid == [2]int{f, m} {
				continue
			}
			taken[m] = true
			best = max(best, v+next(f+1))
			taken[m] = false
		}
		return best
	}
	return next(0)
}

var nothing = [2]int{-1, -1}

// The oracle is the list of all choices.
func TestSolveFindsTheLargestSumOfAllChoices(t *testing.T) {
	moved, bound, dear := 0, 0, 0
	for seed := range uint64(6000) {
		p := randomProblem(seed)
		a, err := p.Solve(t.Context())
		require.NoError(t, err)
		best, free := 0.0, 0.0
		everyChoice(p, func(pairs []Pair) {
			free = max(free, p.chargedSum(pairs))
			if within(p, pairs) {
				best = max(best, p.chargedSum(pairs))
			}
		})
		name := fmt.Sprintf("seed %d", seed)
		require.True(t, within(p, a.Pairs), name)
		require.InDelta(t, best, p.chargedSum(a.Pairs), 1e-9, name)
		require.True(t, a.Proven, name)
		require.Equal(t, a.Sum, a.Bound, name)
		total, moves := 0.0, 0
		for _, x := range a.Pairs {
			v := p.Value[x.Female][x.Male]
			assert.Greater(t, v, 0.0, name)
			assert.Equal(t, x.Male, a.Mate[x.Female], name)
			total += v
			if x.Mover != 0 {
				moves++
			}
		}
		assert.InDelta(t, total, a.Sum, 1e-12, name)
		assert.Equal(t, moves, a.Moves, name)
		moved += moves
		if free > best+1e-9 {
			bound++
			for _, list := range [][]float64{a.Prices.Females, a.Prices.Males, a.Prices.Birds, {a.Prices.Moves}} {
				for _, x := range list {
					assert.GreaterOrEqual(t, x, 0.0, name)
					if x > 0 {
						dear++
					}
				}
			}
		}
		again, err := p.Solve(t.Context())
		require.NoError(t, err)
		assert.Equal(t, a.Pairs, again.Pairs, name)
	}
	// The limits must have mattered.
	assert.Greater(t, moved, 500)
	assert.Greater(t, bound, 300)
	assert.Greater(t, dear, 300)
}

// The oracle solves every assignment with a bird or two left out from scratch.
func TestNetGainsAreThoseOfSolvingAnew(t *testing.T) {
	for seed := range uint64(3000) {
		p := randomProblem(seed)
		a, err := p.Solve(t.Context())
		require.NoError(t, err)
		name := fmt.Sprintf("seed %d", seed)
		whole := largest(a.Adjusted, -1, -1, nothing)
		of := 0.0
		for _, x := range a.Pairs {
			of += a.Adjusted[x.Female][x.Male]
		}
		require.InDelta(t, whole, of, 1e-9, "the answer is the best of the adjusted values, %s", name)
		check := func(g Gains, bird, mate int, value func(j int) float64, without func(bird, j int) float64) {
			alone := without(bird, -1)
			assert.InDelta(t, whole-alone, g.Worth, 1e-9, name)
			for j := range g.Net {
				v := value(j)
				if math.IsInf(v, -1) {
					assert.Equal(t, v, g.Net[j], name)
					continue
				}
				assert.InDelta(t, v+without(bird, j)-alone, g.Net[j], 1e-9, name)
				if mate >= 0 {
					assert.LessOrEqual(t, g.Net[j], g.Net[mate]+1e-9, name)
				} else {
					assert.LessOrEqual(t, g.Net[j], 1e-9, name)
				}
			}
		}
		for f := range p.Value {
			g := a.OfFemale(f)
			check(g, f, a.Mate[f], func(m int) float64 { return a.Adjusted[f][m] },
				func(f, m int) float64 { return largest(a.Adjusted, f, m, nothing) })
			// Otherwise is a best choice of the rest.
			rest, seen := 0.0, map[int]bool{}
			for m, other := range g.Otherwise {
				if other >= 0 {
					rest += a.Adjusted[other][m]
					assert.False(t, seen[other] || other == f, name)
					seen[other] = true
				}
			}
			assert.InDelta(t, largest(a.Adjusted, f, -1, nothing), rest, 1e-9, name)
		}
		for m := range p.males() {
			mate := -1
			for f, x := range a.Mate {
				if x == m {
					mate = f
				}
			}
			check(a.OfMale(m), m, mate, func(f int) float64 { return a.Adjusted[f][m] },
				func(m, f int) float64 { return largest(a.Adjusted, f, m, nothing) })
		}
		// Every move of the answer is worth the least gain.
		for _, x := range a.Pairs {
			if x.Mover != 0 {
				without := largest(a.Adjusted, -1, -1, [2]int{x.Female, x.Male})
				assert.GreaterOrEqual(t, whole-without, p.LeastGain-1e-9, name)
			}
		}
	}
}

// Without limits the adjusted values are the values, and a move that is worth
// too little is left, because home does as well (worked by hand).
func TestMoveMustBeWorthIt(t *testing.T) {
	p := &Problem{
		Value:    [][]float64{{1, 1.2}, {math.NaN(), 0.4}},
		FemaleAt: []int{0, 1}, MaleAt: []int{0, 1},
		Moves: -1,
	}
	a, err := p.Solve(t.Context())
	require.NoError(t, err)
	assert.Equal(t, []Pair{{0, 0, 0}, {1, 1, 0}}, a.Pairs)
	assert.InDelta(t, 1.4, a.Sum, 1e-12)
	g := a.OfFemale(0)
	assert.InDelta(t, 1, g.Net[0], 1e-12)
	assert.InDelta(t, 0.8, g.Net[1], 1e-12, "1.2 less what he does for the other")
	assert.Equal(t, []int{-1, 1}, g.Otherwise)

	p.Value[1][1] = 0.1
	a, err = p.Solve(t.Context())
	require.NoError(t, err)
	assert.Equal(t, []Pair{{0, 1, FemaleMoves}}, a.Pairs, "1.2 is more than 1 + 0.1")
	p.Ways = [][]Ways{{0, FemaleMoves | MaleMoves | RatherMale}, {0, 0}}
	a, err = p.Solve(t.Context())
	require.NoError(t, err)
	assert.Equal(t, []Pair{{0, 1, MaleMoves}}, a.Pairs)
	p.LeastGain = 0.15
	a, err = p.Solve(t.Context())
	require.NoError(t, err)
	assert.Equal(t, []Pair{{0, 0, 0}, {1, 1, 0}}, a.Pairs, "a gain of 0.1 is not worth a move")
}

// One free place for two females that would move to it: the price of the place
// lies between what the two would gain (worked by hand).
func TestScarcePlaceHasAPrice(t *testing.T) {
	p := &Problem{
		Value:    [][]float64{{3, 2.5}, {2, 1.9}},
		FemaleAt: []int{0, 0}, MaleAt: []int{1, 1},
		Rooms: []Room{{0, 0, 0}, {1, -1, -1}},
		Moves: -1,
	}
	a, err := p.Solve(t.Context())
	require.NoError(t, err)
	assert.Equal(t, []Pair{{0, 0, FemaleMoves}}, a.Pairs)
	assert.True(t, a.Proven)
	assert.InDelta(t, 0, a.Prices.Females[0], 1e-12)
	assert.GreaterOrEqual(t, a.Prices.Females[1], 1.9-1e-6)
	assert.LessOrEqual(t, a.Prices.Females[1], 3+1e-6)
}

func TestNobodyToPair(t *testing.T) {
	for _, p := range []*Problem{
		{},
		{Value: [][]float64{{}, {}}},
		{Value: [][]float64{{math.NaN()}, {-1}}},
	} {
		a, err := p.Solve(t.Context())
		require.NoError(t, err)
		assert.Empty(t, a.Pairs)
		assert.True(t, a.Proven)
		assert.Zero(t, a.Sum)
		for f := range p.Value {
			assert.Zero(t, a.OfFemale(f).Worth)
		}
	}
}

// colonies invents a programme's free birds at nine places, with room for few.
func colonies(n int, limited bool) *Problem {
	r := rand.New(rand.NewPCG(uint64(n), 3))
	p := &Problem{Moves: -1, FemaleAt: make([]int, n), MaleAt: make([]int, n)}
	worth := make([]float64, n)
	for i := range worth {
		p.FemaleAt[i], p.MaleAt[i] = r.IntN(9), r.IntN(9)
		worth[i] = r.Float64()
	}
	for range n {
		row := make([]float64, n)
		own := r.Float64()
		for m := range row {
			row[m] = own + worth[m] - 0.6 + 0.3*r.NormFloat64()
			if r.IntN(10) == 0 {
				row[m] = math.NaN()
			}
		}
		p.Value = append(p.Value, row)
	}
	if limited {
		for range 9 {
			p.Rooms = append(p.Rooms, Room{r.IntN(3), r.IntN(3), 1 + r.IntN(3)})
		}
		p.LeastGain = 0.2
	}
	return p
}

func TestLargeProblemsEndWithABound(t *testing.T) {
	for _, n := range []int{20, 60, 150} {
		p := colonies(n, true)
		a, err := p.Solve(t.Context())
		require.NoError(t, err)
		assert.True(t, within(p, a.Pairs))
		assert.Less(t, a.Bound-a.Sum, 0.01*a.Sum, "%d a side", n)
		assert.False(t, math.IsInf(a.Bound, 0) || math.IsNaN(a.Bound))
		t.Logf("%d a side: %d pairs, %d moves, sum %.4f, bound %.4f", n, len(a.Pairs), a.Moves, a.Sum, a.Bound)
	}
}

// assigned is another assignment solver: the pairs are lengthened by the best
// augmenting path, found by relaxing all edges until nothing changes (Bellman
// 1958, Q Appl Math 16:87-90), until no path adds to the sum.
func assigned(value [][]float64, noFemale, noMale int) float64 {
	females, males := len(value), len(value[0])
	mate, of := make([]int, females), make([]int, males)
	for i := range mate {
		mate[i] = -1
	}
	for j := range of {
		of[j] = -1
	}
	total := 0.0
	for {
		// gain of the best path from an unpaired female to each male.
		gain, from := make([]float64, males), make([]int, males)
		for j := range gain {
			gain[j], from[j] = math.Inf(-1), -1
		}
		for changed := true; changed; {
			changed = false
			for f := range females {
				start := 0.0
				if f == noFemale {
					continue
				}
				if mate[f] >= 0 {
					start = gain[mate[f]] - value[f][mate[f]]
				}
				for m := range males {
					if m != noMale && m != mate[f] && start+value[f][m] > gain[m]+1e-12 {
						gain[m], from[m], changed = start+value[f][m], f, true
					}
				}
			}
		}
		end := -1
		for m := range males {
			if of[m] < 0 && gain[m] > 1e-12 && (end < 0 || gain[m] > gain[end]) {
				end = m
			}
		}
		if end < 0 {
			return total
		}
		total += gain[end]
		for m := end; m >= 0; {
			f := from[m]
			next := mate[f]
			mate[f], of[m] = m, f
			m = next
		}
	}
}

// The oracle is another solver. Searches cut short leave room that no prices
// clear, and the adjusted values must clear it all the same.
func TestNetGainsOfColoniesAreThoseOfAnotherSolver(t *testing.T) {
	open := 0
	for _, n := range []int{8, 14, 20} {
		for seed := range 12 {
			p := colonies(n+seed, seed > 2)
			if seed > 6 {
				p.Moves = seed - 6
			}
			a, err := p.solve(t.Context(), []int{0, 5000, budget}[seed%3])
			require.NoError(t, err)
			name := fmt.Sprintf("%d a side, %d", n+seed, seed)
			require.True(t, within(p, a.Pairs), name)
			if !a.Proven {
				open++
			}
			best, err := p.Solve(t.Context())
			require.NoError(t, err)
			assert.LessOrEqual(t, p.chargedSum(best.Pairs), a.Bound-p.LeastGain*float64(a.Moves)+1e-9, name)
			value := make([][]float64, n+seed)
			for f := range value {
				value[f] = slices.Clone(a.Adjusted[f])
				for m, v := range value[f] {
					if math.IsInf(v, -1) {
						value[f][m] = -99
					}
				}
			}
			same := func(want, got float64, v float64) {
				if v == -99 {
					assert.True(t, math.IsInf(got, -1), name)
				} else {
					assert.InDelta(t, want, got, 1e-9, name)
				}
			}
			whole, sum := assigned(value, -1, -1), 0.0
			for _, x := range a.Pairs {
				sum += value[x.Female][x.Male]
			}
			assert.InDelta(t, whole, sum, 1e-9, name)
			for f := 0; f < n+seed; f += 5 {
				g := a.OfFemale(f)
				alone := assigned(value, f, -1)
				for m := 0; m < n+seed; m += 3 {
					same(value[f][m]+assigned(value, f, m)-alone, g.Net[m], value[f][m])
				}
				h := a.OfMale(f)
				alone = assigned(value, -1, f)
				for m := 0; m < n+seed; m += 3 {
					same(value[m][f]+assigned(value, m, f)-alone, h.Net[m], value[m][f])
				}
			}
		}
	}
	assert.Greater(t, open, 3)
}

func TestStopsWhenAsked(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := colonies(10, true).Solve(ctx)
	assert.ErrorIs(t, err, context.Canceled)
}

func BenchmarkSolve(b *testing.B) {
	for _, n := range []int{50, 150, 400} {
		for _, limited := range []bool{false, true} {
			p := colonies(n, limited)
			b.Run(fmt.Sprintf("%d/limits=%v", n, limited), func(b *testing.B) {
				for b.Loop() {
					_, err := p.Solve(b.Context())
					require.NoError(b, err)
				}
			})
		}
	}
}

func BenchmarkGains(b *testing.B) {
	for _, n := range []int{50, 150, 400} {
		a, err := colonies(n, true).Solve(b.Context())
		require.NoError(b, err)
		b.Run(fmt.Sprintf("one/%d", n), func(b *testing.B) {
			for b.Loop() {
				a.OfFemale(n / 2)
			}
		})
		b.Run(fmt.Sprintf("all/%d", n), func(b *testing.B) {
			for b.Loop() {
				for f := range n {
					a.OfFemale(f)
				}
			}
		})
	}
}

// TestJoiningBirdsAddWhatSolvingAnewFinds adds a female, a male or both to what
// was solved, and holds the gain against all choices of the larger problem.
func TestJoiningBirdsAddWhatSolvingAnewFinds(t *testing.T) {
	for seed := range uint64(600) {
		p := randomProblem(seed)
		a, err := p.Solve(t.Context())
		require.NoError(t, err)
		r := rand.New(rand.NewPCG(seed, 3))
		f, m := len(a.Mate), p.males()
		draw := func(n int) []float64 {
			row := make([]float64, n)
			for k := range row {
				row[k] = r.NormFloat64() + 0.5
			}
			return row
		}
		female, male, together := draw(m), draw(f), r.NormFloat64()+0.5
		grown := make([][]float64, f+1)
		for i := range f {
			grown[i] = append(append([]float64{}, a.Adjusted[i]...), male[i])
		}
		grown[f] = append(append([]float64{}, female...), together)
		before := largest(a.Adjusted, -1, -1, nothing)
		assert.InDelta(t, largest(grown, -1, -1, nothing)-before, a.Join(female, male, together), 1e-9, "seed %d: both", seed)
		assert.InDelta(t, largest(grown, -1, m, nothing)-before, a.Join(female, nil, together), 1e-9, "seed %d: a female", seed)
		assert.InDelta(t, largest(grown, f, -1, nothing)-before, a.Join(nil, male, together), 1e-9, "seed %d: a male", seed)
		for i := range f {
			for j, loss := range a.OfFemale(i).Loss {
				assert.InDelta(t, largest(a.Adjusted, i, -1, nothing)-largest(a.Adjusted, i, j, nothing), loss, 1e-9, "seed %d: loss of %d without %d", seed, j, i)
			}
		}
	}
}

// Pairs found from another answer's prices are the best of all choices by the values that
// they are found for, and what the others lose without a bird is what it is when they are
// paired from scratch, with the moves of the new pairs not charged.
func TestPairAnew(t *testing.T) {
	changed, moved := 0, 0
	for seed := range uint64(2000) {
		p := randomProblem(seed)
		a, err := p.Solve(t.Context())
		require.NoError(t, err)
		name := fmt.Sprintf("seed %d", seed)
		r := rand.New(rand.NewPCG(seed, 0x616e6577))
		moves := func(f, m int) bool { return p.FemaleAt != nil && p.FemaleAt[f] != p.MaleAt[m] }
		values := make([][]float64, len(p.Value))
		for f := range values {
			for m, v := range a.Adjusted[f] {
				if a.Mate[f] == m && moves(f, m) {
					v -= p.LeastGain
				}
				if v += r.NormFloat64() * float64(seed%3); r.IntN(12) == 0 {
					v = math.Inf(-1)
				}
				values[f] = append(values[f], v)
			}
		}
		anew := a.PairAnew(values, moves, p.LeastGain)
		sum, taken := 0.0, map[int]bool{}
		with := make([][]float64, len(values))
		for f := range values {
			with[f] = append([]float64{}, values[f]...)
			m := anew.Mate(f)
			if m < 0 {
				continue
			}
			assert.False(t, taken[m], name)
			taken[m] = true
			if sum += values[f][m]; m != a.Mate[f] {
				changed++
			}
			if moves(f, m) {
				with[f][m] += p.LeastGain
				moved++
			}
		}
		require.InDelta(t, largest(values, -1, -1, nothing), sum, 1e-9, name)
		for f := range values {
			for m, loss := range anew.OfFemale(f).Loss {
				assert.InDelta(t, largest(with, f, -1, nothing)-largest(with, f, m, nothing), loss, 1e-9, name)
			}
		}
		for m := range p.males() {
			for f, loss := range anew.OfMale(m).Loss {
				assert.InDelta(t, largest(with, -1, m, nothing)-largest(with, f, m, nothing), loss, 1e-9, name)
			}
		}
	}
	assert.Greater(t, changed, 500)
	assert.Greater(t, moved, 200)
}

// A pair that needs a move and is not formed has its charge less in adjusted values, and
// less still where room is too lumpy for prices to lead to the pairs. Where there never is
// room the charge is without end.
func TestCharge(t *testing.T) {
	same, less, never := 0, 0, 0
	for seed := range uint64(3000) {
		p := randomProblem(seed)
		a, err := p.Solve(t.Context())
		require.NoError(t, err)
		if p.Ways == nil || p.FemaleAt == nil {
			continue
		}
		none := make([]int, 3*len(p.Rooms)+1)
		for f := range p.Value {
			for m, ways := range p.Ways[f] {
				if p.FemaleAt[f] == p.MaleAt[m] || math.IsInf(a.Adjusted[f][m], -1) || a.Mate[f] == m {
					continue
				}
				left := 0
				for _, way := range []Ways{FemaleMoves, MaleMoves} {
					if ways&way != 0 && p.room(none, newLimits(p).most, f, m, way) {
						left++
					}
				}
				charge := a.Charge(f, m, ways)
				if left == 0 {
					never++
					assert.True(t, math.IsInf(charge, 1), "seed %d", seed)
					continue
				}
				if both := ways & (FemaleMoves | MaleMoves); left == 1 && both == FemaleMoves|MaleMoves {
					continue // the way without room may be the cheaper
				}
				require.LessOrEqual(t, a.Adjusted[f][m], p.Value[f][m]-charge+1e-9, "seed %d", seed)
				if a.Adjusted[f][m] < p.Value[f][m]-charge-1e-9 {
					less++
				} else {
					same++
				}
			}
		}
	}
	assert.Greater(t, same, 20*less)
	assert.Positive(t, less)
	assert.Greater(t, never, 50)
}
