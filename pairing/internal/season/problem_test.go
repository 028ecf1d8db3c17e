package season

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// randomBirds invents a studbook: founders, then birds with parents among the
// earlier ones, a few of them uncertain or unknown. Even birds are females.
func randomBirds(r *rand.Rand, founders, total int) []studbook.Bird {
	birds := make([]studbook.Bird, total)
	id := numbered
	for i := range birds {
		b := &birds[i]
		b.ID, b.Recorded, b.Sex = id(i), true, studbook.Female
		if i%2 == 1 {
			b.Sex = studbook.Male
		}
		if i < founders {
			continue
		}
		pick := func(parity int) studbook.Parentage {
			from := max(0, i-founders*2)
			one := func() string {
				for {
					if k := from + r.IntN(i-from); k%2 == parity {
						return id(k)
					}
				}
			}
			switch a := one(); r.IntN(20) {
			case 0:
				return studbook.Parentage{}
			case 1:
				if b := one(); b != a {
					return studbook.Parentage{Candidates: []studbook.Candidate{{ID: a, Weight: 0.5}, {ID: b, Weight: 0.25}}}
				}
				fallthrough
			default:
				return studbook.Parentage{Candidates: []studbook.Candidate{{ID: a, Weight: 1}}}
			}
		}
		b.Dam, b.Sire = pick(0), pick(1)
	}
	return birds
}

// numbered returns the id of an invented bird.
func numbered(i int) string { return fmt.Sprintf("B%04d", i) }

// asSeason makes a season of the living birds, all of them able to breed, in
// one place with no limits, bonds or moves.
func asSeason(t testing.TB, birds []studbook.Bird, living []int, chicks, most int, limit float64) *Problem {
	t.Helper()
	p, err := pedigree.New(t.Context(), birds, nil)
	require.NoError(t, err)
	s := &Problem{Chicks: chicks, Living: len(living), Rooms: []Room{{-1, -1, -1}}}
	var nodes []int
	for _, sex := range []studbook.Sex{studbook.Female, studbook.Male} {
		for _, b := range living {
			if birds[b].Sex == sex {
				n, _ := p.Index(birds[b].ID)
				nodes = append(nodes, n)
			}
		}
		if sex == studbook.Female {
			s.Females = len(nodes)
		}
	}
	q := p.Population(nodes)
	mean, _ := q.MeanKinship()
	n := float64(len(nodes))
	s.Sum = mean * n * n
	m, err := p.KinshipMatrix(t.Context(), nodes)
	require.NoError(t, err)
	for i, a := range nodes {
		s.Cost = append(s.Cost, n*q.MeanKinshipOf(a)+(1-p.F(a))/8)
		row := make([]float64, len(nodes))
		for j := range nodes {
			row[j] = m.At(i, j)
		}
		s.Kinship = append(s.Kinship, row)
	}
	for f := range s.Females {
		for m := s.Females; m < len(nodes); m++ {
			if s.Kinship[f][m] <= limit {
				strain := math.Abs(q.MeanKinshipOf(nodes[f]) - q.MeanKinshipOf(nodes[m]))
				s.Options = append(s.Options, Option{f, m, most, 0, -1, strain})
			}
		}
	}
	return s
}

// keeps reports whether a plan keeps the limits on moves and places, counted
// from the options one by one.
func keeps(s *Problem, plan []Brood) bool {
	moves, taken := 0, map[int]Room{}
	for _, b := range plan {
		o := &s.Options[b.Option]
		r := taken[o.Place]
		r.Birds += b.Chicks
		switch o.Mover {
		case -1:
		case o.Female:
			moves, r.Birds, r.Females = moves+1, r.Birds+1, r.Females+1
		case o.Male:
			moves, r.Birds, r.Males = moves+1, r.Birds+1, r.Males+1
		}
		taken[o.Place] = r
	}
	for place, r := range taken {
		for _, x := range [][2]int{{r.Birds, s.Rooms[place].Birds}, {r.Females, s.Rooms[place].Females}, {r.Males, s.Rooms[place].Males}} {
			if x[1] >= 0 && x[0] > x[1] {
				return false
			}
		}
	}
	return moves <= s.Moves
}

// everyPlan calls use with every plan of the season that has the chicks wanted
// and keeps the limits.
func everyPlan(s *Problem, use func(plan []Brood)) {
	var plan []Brood
	taken := make([]bool, s.breeders())
	var next func(i, left int)
	next = func(i, left int) {
		if left == 0 {
			if keeps(s, plan) {
				use(plan)
			}
			return
		}
		if i == len(s.Options) {
			return
		}
		next(i+1, left)
		o := &s.Options[i]
		if taken[o.Female] || taken[o.Male] {
			return
		}
		taken[o.Female], taken[o.Male] = true, true
		for k := 1; k <= min(left, o.Most); k++ {
			plan = append(plan, Brood{i, k})
			next(i+1, left-k)
			plan = plan[:len(plan)-1]
		}
		taken[o.Female], taken[o.Male] = false, false
	}
	next(0, s.Chicks)
}

// randomSeason makes a small season with places, moves and limits of every
// kind.
func randomSeason(t testing.TB, seed uint64) *Problem {
	r := rand.New(rand.NewPCG(seed, 1))
	founders := 4 + r.IntN(5)
	birds := randomBirds(r, founders, founders+r.IntN(12))
	var living []int
	for b := range birds {
		if len(living) < 10 && r.IntN(3) > 0 {
			living = append(living, b)
		}
	}
	limit := []float64{1, 0.25, 0.125, 0}[r.IntN(4)]
	s := asSeason(t, birds, living, 1+r.IntN(5), 1+r.IntN(3), limit)
	s.Rooms = nil
	for range 3 {
		a := Room{-1, -1, -1}
		if r.IntN(2) == 0 {
			a = Room{r.IntN(5), r.IntN(2), r.IntN(2)}
		}
		s.Rooms = append(s.Rooms, a)
	}
	s.Moves = r.IntN(3)
	home := make([]int, s.breeders())
	places := 1 + r.IntN(3)
	for b := range home {
		home[b] = r.IntN(places)
	}
	var options []Option
	for _, o := range s.Options {
		a, b := home[o.Female], home[o.Male]
		if r.IntN(6) == 0 {
			continue
		}
		if a == b {
			o.Place = a
			options = append(options, o)
		} else if s.Moves > 0 {
			o.Place, o.Mover = a, o.Male
			options = append(options, o)
			o.Place, o.Mover = b, o.Female
			options = append(options, o)
		}
	}
	s.Options = options
	return s
}

// The oracle is the list of all plans.
func TestSolveFindsTheBestOfAllPlans(t *testing.T) {
	short, moved, crowded := 0, 0, 0
	for seed := range uint64(600) {
		s := randomSeason(t, seed)
		wanted := s.Chicks
		start, certain, err := s.most(t.Context())
		require.NoError(t, err)
		assert.True(t, certain, "seed %d", seed)
		assert.True(t, keeps(s, start), "seed %d", seed)
		for s.Chicks = wanted; s.Chicks > 0; s.Chicks-- {
			n := 0
			everyPlan(s, func([]Brood) { n++ })
			if n > 0 {
				break
			}
		}
		require.Equal(t, s.Chicks, count(start), "most chicks, seed %d", seed)
		if s.Chicks < wanted {
			short++
		}
		best, n := math.Inf(1), 0
		everyPlan(s, func(plan []Brood) { best = min(best, s.value(plan)); n++ })
		got, err := s.solve(t.Context(), [][]Brood{start}, 0, Budget)
		require.NoError(t, err)
		assert.True(t, got.proven, "seed %d of %d plans", seed, n)
		assert.True(t, keeps(s, got.plan), "seed %d", seed)
		assert.Equal(t, s.Chicks, count(got.plan))
		assert.InDelta(t, best, got.value, 1e-9, "seed %d of %d plans", seed, n)
		assert.InDelta(t, got.value, s.value(got.plan), 1e-12)
		assert.LessOrEqual(t, got.bound, best+1e-12, "seed %d", seed)

		// A search cut short still has a plan and a bound.
		early, err := s.solve(t.Context(), [][]Brood{start}, 0, 1)
		require.NoError(t, err)
		assert.LessOrEqual(t, early.bound, best+1e-12, "cut short, seed %d", seed)
		assert.GreaterOrEqual(t, early.value, best-1e-9, "cut short, seed %d", seed)

		u := newUsage(s)
		for _, b := range got.plan {
			u.add(&s.Options[b.Option], b.Chicks, 1)
		}
		moved += u.moves
		for p, r := range s.Rooms {
			if r.Birds >= 0 && u.taken[p].Birds == r.Birds && r.Birds > 0 {
				crowded++
			}
		}
	}
	// The limits must have mattered.
	assert.Greater(t, short, 50)
	assert.Greater(t, moved, 50)
	assert.Greater(t, crowded, 50)
}

func TestColonyIsProvenOptimal(t *testing.T) {
	for seed := range uint64(12) {
		r := rand.New(rand.NewPCG(seed, 2))
		s := asSeason(t, randomBirds(r, 6+2*int(seed), 80), numbers(40, 80), 8, 1+int(seed%4), 0.125)
		got, err := s.Solve(t.Context(), Budget/3)
		require.NoError(t, err)
		assert.True(t, got.Proven, "seed %d", seed)
	}
}

func numbers(from, to int) []int {
	var n []int
	for i := from; i < to; i++ {
		n = append(n, i)
	}
	return n
}
