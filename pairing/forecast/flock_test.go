package forecast

import (
	"context"
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook/studbooktest"
)

// newFlock returns the birds of a start.
func newFlock(s *Start, g *ground, l luck) *flock {
	f := &flock{}
	f.begin(s, g, l)
	return f
}

// chosen is a policy that a test makes up.
type chosen func(f *flock)

func (chosen) Name() string { return "chosen" }

func (c chosen) choose(f *flock) { c(f) }

// oneYear is the life of birds that hatch, breed in their next year and die.
var oneYear = demography.Prospect{Survival: []float64{1}, First: 1}

// generations returns the gene diversity after each of some generations that do
// not overlap, of n birds from unrelated founders; parents gives the two parents
// of each chick of a generation.
func generations(t *testing.T, n, years, runs int, parents func(f *flock, chick int) (int, int)) []Mean {
	t.Helper()
	start := Start{Birds: make([]Bird, n)}
	for i := range start.Birds {
		start.Birds[i].Age = 1
	}
	rules := Rules{Female: oneYear, Male: oneYear, Birds: n, MostChicks: n, Chance: 1, FirstSeason: 1, LimitInbreeding: 1}
	policy := chosen(func(f *flock) {
		for chick := range n {
			dam, sire := parents(f, chick)
			f.allow(brood{dam: dam, sire: sire, chance: 1})
		}
	})
	result, err := Run(context.Background(), &start, &rules, []Policy{policy}, Options{Years: years, Runs: runs, Seed: 7})
	require.NoError(t, err)
	var kept []Mean
	for _, y := range result.Courses[0].Years {
		require.EqualValues(t, n, y.Size.Mean.Value)
		kept = append(kept, y.GeneDiversity.Mean)
	}
	return kept
}

// pick returns one of a number of things at random.
func pick(f *flock, what draw, key int) func(n int) int {
	return func(n int) int { return int(f.luck.of(what, uint64(key), f.year) * float64(n)) }
}

// An ideal population, any bird mating with any at random, itself too, keeps
// 1 - 1/(2N) of its gene diversity each generation (Wright 1931), and unrelated
// founders begin with 1 - 1/(2N).
func TestIdealPopulation(t *testing.T) {
	for _, n := range []int{5, 12, 40} {
		kept := generations(t, n, 20, 200, func(f *flock, chick int) (int, int) {
			return f.living[pick(f, 90, chick)(n)], f.living[pick(f, 91, chick)(n)]
		})
		for year, got := range kept {
			want := math.Pow(1-1/(2*float64(n)), float64(year+1))
			assert.InDelta(t, want, got.Value, 4*got.SE+1e-12, "%d birds, generation %d", n, year)
		}
	}
}

// Where some females and some males alone breed, 1/Ne = 1/(4 Nm) + 1/(4 Nf)
// (Wright 1931): two genes of different chicks come from one bird with chance
// 1/Ne, so that of h, what two birds differ by,
//
//	h' = (1 - 1/Ne) h + h₋₁/(2 Ne)
//
// which falls by 1/(2 Ne) in a generation, but for terms of 1/Ne².
func TestSexRatio(t *testing.T) {
	studbooktest.WithoutRace(t)
	const n = 40
	for _, c := range []struct{ females, males int }{{10, 10}, {12, 3}, {2, 14}} {
		ne := 4 * float64(c.females) * float64(c.males) / float64(c.females+c.males)
		kept := generations(t, n, 20, 200, func(f *flock, chick int) (int, int) {
			of := func(s Sex, breeders int, what draw) int {
				var all []int
				for _, i := range f.living {
					if f.birds[i].sex == s {
						all = append(all, i)
					}
				}
				return all[pick(f, what, chick)(min(breeders, len(all)))]
			}
			return of(Female, c.females, 90), of(Male, c.males, 91)
		})
		between, before := 1., 1.
		for year, got := range kept {
			if year > 0 {
				between, before = (1-1/ne)*between+before/(2*ne), between
			}
			inbred := 0.
			if year > 0 {
				inbred = 1 - before
			}
			want := 1 - (1-between)*(n-1)/n - (1+inbred)/2/n
			assert.InDelta(t, want, got.Value, 4*got.SE+1e-12, "%v, generation %d", c, year)
		}
		assert.InDelta(t, 1-1/(2*ne), between/before, 1/(3*ne*ne), "%v", c)
	}
}

// Where every bird has exactly two chicks, Ne = 2N - 1 (Crow & Kimura 1970, from
// memory), nearly twice the number of birds.
func TestEqualFamilies(t *testing.T) {
	for _, n := range []int{6, 25} {
		order := func(f *flock, what draw) []int {
			birds := slices.Clone(f.living)
			for k := len(birds) - 1; k > 0; k-- {
				other := pick(f, what, k)(k + 1)
				birds[k], birds[other] = birds[other], birds[k]
			}
			return birds
		}
		kept := generations(t, n, 20, 200, func(f *flock, chick int) (int, int) {
			genes := append(order(f, 90), order(f, 91)...)
			both := make([]int, 2*n)
			for k := range both {
				both[k] = k
			}
			for k := len(both) - 1; k > 0; k-- {
				other := pick(f, 92, k)(k + 1)
				both[k], both[other] = both[other], both[k]
			}
			return genes[both[2*chick]], genes[both[2*chick+1]]
		})
		for year, got := range kept {
			want := (1 - 1/(2*float64(n))) * math.Pow(1-1/(2*(2*float64(n)-1)), float64(year))
			assert.InDelta(t, want, got.Value, 4*got.SE+1e-12, "%d birds, generation %d", n, year)
		}
	}
}

// Overlapping generations: with M chicks hatched a year, L the mean age of
// parents and V the variance of the chicks of a bird in its life, whose mean is
// 2, Ne = 4 M L/(V + 2) (Hill 1972, 1979, from memory), and 1/(2 Ne) is lost in L
// years. Here every living bird has the same chance of each chick and lives
// another year with chance s, so that L = 1/(1-s), V = 2 + 4/s and
//
//	loss a year = (1-s)² (1+s)/(2 M s)
func TestOverlappingGenerations(t *testing.T) {
	studbooktest.WithoutRace(t)
	for _, c := range []struct {
		chicks int
		s      float64
	}{{20, .75}, {12, .9}} {
		birds := int(float64(c.chicks) * c.s / (1 - c.s))
		p := demography.Prospect{Survival: make([]float64, 200)}
		for age := range p.Survival {
			p.Survival[age] = c.s
		}
		start := Start{Birds: make([]Bird, birds)}
		rules := Rules{Female: p, Male: p, Birds: birds, MostChicks: birds, Chance: 1, FirstSeason: 1, LimitInbreeding: 1}
		policy := chosen(func(f *flock) {
			for chick := range c.chicks {
				n := len(f.living)
				f.allow(brood{dam: f.living[pick(f, 90, chick)(n)], sire: f.living[pick(f, 91, chick)(n)], chance: 1})
			}
		})
		result, err := Run(context.Background(), &start, &rules, []Policy{policy}, Options{Years: 120, Runs: 200, Seed: 7})
		require.NoError(t, err)
		years := result.Courses[0].Years
		loss := -math.Log(years[120].GeneDiversity.Mean.Value/years[20].GeneDiversity.Mean.Value) / 100
		want := (1 - c.s) * (1 - c.s) * (1 + c.s) / (2 * float64(c.chicks) * c.s)
		assert.InEpsilon(t, want, loss, .05, "%v", c)
	}
}

// The mean of many runs is the projection of a Leslie matrix, counted before
// breeding, F_x = p₀ m_x (Leslie 1945): here each hen of breeding age hatches one
// chick with chance 0.5, half of them hens.
func TestLeslieProjection(t *testing.T) {
	studbooktest.WithoutRace(t)
	p := demography.Prospect{Survival: []float64{.6, .9, .85, .8, .8, .7, .5, 0}, First: 2, Last: 6}
	start := Start{Birds: make([]Bird, 400)}
	hens := make([]float64, 8) // by age, the youngest 1
	for i := range start.Birds {
		start.Birds[i] = Bird{Sex: Female + Sex(i%2), Age: 1 + i/2%5}
		if i%2 == 0 {
			hens[start.Birds[i].Age]++
		}
	}
	rules := Rules{Female: p, Male: p, MostChicks: 1, Chance: .5, FirstSeason: 1, LimitInbreeding: 1}
	policy := chosen(func(f *flock) {
		for _, dam := range f.season.females {
			f.allow(brood{dam: dam, sire: f.season.males[0], chance: .5})
		}
	})
	result, err := Run(context.Background(), &start, &rules, []Policy{policy}, Options{Years: 15, Runs: 150, Seed: 3})
	require.NoError(t, err)
	for year, y := range result.Courses[0].Years {
		all, born := 0.0, 0.0
		next := make([]float64, len(hens))
		for age, n := range hens {
			all += n
			if age > 0 && age+1 < len(hens) {
				next[age+1] = n * p.Survival[age]
			}
			if 2 <= age && age <= 6 {
				born += n * .5 / 2
			}
		}
		next[1] = born * p.Survival[0]
		hens = next
		assert.InDelta(t, 2*all, y.Size.Mean.Value, 4*y.Size.Mean.SE+1e-9, "year %d", year)
	}
}

// Falconer & Mackay 1996, Introduction to Quantitative Genetics, table of
// inbreeding coefficients under full-sib mating (from memory): F_t = (1 +
// 2F_{t-1} + F_{t-2})/4.
func TestFullSibs(t *testing.T) {
	start := Start{Birds: []Bird{{Sex: Female, Age: 1}, {Sex: Male, Age: 1}}}
	f := newFlock(&start, newGround(&Rules{Female: oneYear, Male: oneYear}), 0)
	for generation, want := range []float64{0, .25, .375, .5, .594, .672, .734, .785, .826, .859} {
		dam, sire := f.living[0], f.living[1]
		pair := brood{dam: dam, sire: sire}
		f.hatch([]brood{pair, pair}, []bird{{key: 1, sex: Female, mate: -1}, {key: 2, sex: Male, mate: -1}})
		f.bury(dam)
		f.bury(sire)
		f.living = f.living[2:]
		assert.InDelta(t, want, f.inbreeding(), .0005, "generation %d", generation+1)
	}
}

// Birds that do not breed die out as their survival says (a Leslie projection
// without births, by hand).
func TestSurvivors(t *testing.T) {
	p := demography.Prospect{Survival: []float64{.7, .9, .8, .6, .5}}
	start := Start{Birds: make([]Bird, 60)}
	for i := range start.Birds {
		start.Birds[i].Age = i % 3
	}
	rules := Rules{Female: p, Male: p, MostChicks: 1}
	result, err := Run(context.Background(), &start, &rules, []Policy{Random{}}, Options{Years: 6, Runs: 300, Seed: 2})
	require.NoError(t, err)
	for year, y := range result.Courses[0].Years {
		want := 0.0
		for _, b := range start.Birds {
			left := 1.0
			for age := b.Age; age < b.Age+year; age++ {
				left *= p.SurvivalAt(age)
			}
			want += left
		}
		assert.InDelta(t, want, y.Size.Mean.Value, 4*y.Size.Mean.SE+1e-9, "year %d", year)
	}
	last := result.Courses[0].Years[6]
	assert.Zero(t, last.Size.Mean.Value)
	assert.Zero(t, last.GeneDiversity.Mean.Value)
}

// Where survival rests on few birds, runs differ by what so few leave open:
// √(p(1-p)/n) for a share of n, and q/√d for a rate on d deaths, but for terms of
// higher order, beside the chance of the birds themselves (by hand).
func TestEvidence(t *testing.T) {
	studbooktest.WithoutRace(t)
	const birds, runs = 400, 240
	spread := func(age int, p float64, e Evidence) (mean, sd float64) {
		start := Start{Birds: make([]Bird, birds)}
		for i := range start.Birds {
			start.Birds[i] = Bird{Sex: Female, Age: age}
		}
		x := demography.Prospect{Survival: []float64{p, p}}
		rules := Rules{Female: x, Male: x, MostChicks: 1, FemaleEvidence: e}
		result, err := Run(context.Background(), &start, &rules, []Policy{Random{}}, Options{Years: 1, Runs: runs, Seed: 5})
		require.NoError(t, err)
		m := result.Courses[0].Years[1].Size.Mean
		return m.Value / birds, m.SE * math.Sqrt(runs) / birds
	}
	for name, c := range map[string]struct {
		age  int
		p    float64
		e    Evidence
		want float64
	}{
		"certain":    {0, .7, Evidence{}, 0},
		"first year": {0, .7, Evidence{AtRisk: 40, Deaths: 9}, math.Sqrt(.7 * .3 / 40)},
		"later":      {1, .9, Evidence{AtRisk: 9, Deaths: 25}, .1 / 5},
	} {
		mean, sd := spread(c.age, c.p, c.e)
		assert.InDelta(t, c.p, mean, .02, name)
		assert.InEpsilon(t, math.Hypot(c.want, math.Sqrt(c.p*(1-c.p)/birds)), sd, .2, name)
	}
}

// A catastrophe takes its share of those that would have lived; over many runs
// the survivors of t years are (p (1 - rate·severity))^t (by hand).
func TestCatastrophes(t *testing.T) {
	p := demography.Prospect{Survival: []float64{.9, .9, .9, .9, .9, .9, .9, .9, .9, .9}}
	start := Start{Birds: make([]Bird, 50)}
	rules := Rules{Female: p, Male: p, MostChicks: 1, CatastropheRate: .2, CatastropheSeverity: .6}
	result, err := Run(context.Background(), &start, &rules, []Policy{Random{}}, Options{Years: 8, Runs: 600, Seed: 2, Fewest: 1})
	require.NoError(t, err)
	for year, y := range result.Courses[0].Years {
		assert.InDelta(t, 50*math.Pow(.9*(1-.2*.6), float64(year)), y.Size.Mean.Value, 4*y.Size.Mean.SE+1e-9, "year %d", year)
	}
	// All in one year, or none, is what sets it apart from a lower survival.
	assert.Greater(t, result.Courses[0].Years[1].Size.High80-result.Courses[0].Years[1].Size.Low80, 20.)
	assert.Less(t, result.Courses[0].TooFew, result.Courses[0].OneSex)
}

// An unrelated founder adds its own kinship alone: S' = S + 1/2, N' = N + 1.
func TestFounders(t *testing.T) {
	start, rules := colony(12, 3)
	rules.Birds, rules.FounderEvery = 0, 4 // nobody breeds
	for age := range rules.Female.Survival {
		rules.Female.Survival[age] = 1 // nobody dies: of males too, they share the table
	}
	f := newFlock(&start, newGround(&rules), 3)
	for year := 1; year <= 12; year++ {
		f.step(Random{})
		n := 12 + year/4
		require.Len(t, f.living, n, "year %d", year)
		assert.InDelta(t, 1-1/(2*float64(n)), f.geneDiversity(), 1e-12, "all are unrelated")
	}
	assert.Equal(t, []int{5, 5, 5}, f.held, "each came to where there was most room")
	last := f.birds[f.living[14]]
	assert.Equal(t, 5, last.age, "of breeding age when it came, a year ago")
}

// The fewest birds and the missing sex, by hand: two birds in a year in which
// neither dies.
func TestLost(t *testing.T) {
	p := demography.Prospect{Survival: []float64{1, 1, 0}}
	run := func(sex Sex, fewest int) Course {
		start := Start{Birds: []Bird{{Sex: Female, Age: 1}, {Sex: sex, Age: 1}}}
		rules := Rules{Female: p, Male: p, MostChicks: 1}
		result, err := Run(context.Background(), &start, &rules, []Policy{Random{}}, Options{Years: 1, Runs: 3, Fewest: fewest})
		require.NoError(t, err)
		return result.Courses[0]
	}
	assert.Equal(t, [2]float64{0, 0}, [2]float64{run(Male, 2).OneSex, run(Male, 2).TooFew})
	assert.Equal(t, [2]float64{1, 1}, [2]float64{run(Female, 3).OneSex, run(Female, 3).TooFew})
}

// Kinships carried forward are those of the pedigree by the recursion from its
// beginning, and what the policies were told holds.
func TestFlockAgainstItsPedigree(t *testing.T) {
	for _, policy := range policies() {
		t.Run(policy.Name(), func(t *testing.T) {
			start, rules := colony(30, 3)
			start.Kinship = make([]float64, 900)
			for i := range 30 {
				start.Kinship[i*31] = .5
			}
			start.Kinship[1], start.Kinship[30] = .25, .25 // two founders are sisters
			parents := map[uint64][2]uint64{}
			memo := map[[2]uint64]float64{}
			var kin func(a, b uint64) float64
			kin = func(a, b uint64) float64 {
				if a > b {
					a, b = b, a // keys ascend from parents to chicks
				}
				if b < 30 {
					return start.Kinship[a*30+b]
				}
				if k, ok := memo[[2]uint64{a, b}]; ok {
					return k
				}
				p := parents[b]
				k := (kin(a, p[0]) + kin(a, p[1])) / 2
				if a == b {
					k = (1 + kin(p[0], p[1])) / 2
				}
				memo[[2]uint64{a, b}] = k
				return k
			}
			f := newFlock(&start, newGround(&rules), 5)
			watched := chosen(func(f *flock) {
				policy.choose(f)
				assert.LessOrEqual(t, f.season.counted, f.season.wanted+rules.Chance/2)
				chicks := map[int]int{}
				for n, p := range f.season.allowed {
					parents[uint64(f.year+1)<<32|uint64(n)] = [2]uint64{f.birds[p.dam].key, f.birds[p.sire].key}
					assert.Equal(t, p.sire, f.birds[p.dam].mate)
					assert.Equal(t, p.dam, f.birds[p.sire].mate)
					assert.Equal(t, f.birds[p.dam].place, f.birds[p.sire].place)
					assert.True(t, f.fit(p.dam) && f.fit(p.sire))
					chicks[p.dam]++
					assert.LessOrEqual(t, chicks[p.dam], rules.MostChicks)
				}
			})
			for range 60 {
				f.step(watched)
				require.NotEmpty(t, f.living)
				held := make([]int, len(f.held))
				sum := 0.0
				for _, i := range f.living {
					all := 0.0
					for _, j := range f.living {
						k := kin(f.birds[i].key, f.birds[j].key)
						require.InDelta(t, k, f.of(i, j), 1e-12)
						all += k
					}
					require.InDelta(t, all, f.total[i], 1e-9)
					sum += all
					held[f.birds[i].place]++
					if mate := f.birds[i].mate; mate >= 0 {
						assert.Contains(t, f.living, mate)
						assert.Equal(t, i, f.birds[mate].mate)
					}
				}
				require.InDelta(t, 1-sum/float64(len(f.living)*len(f.living)), f.geneDiversity(), 1e-9)
				assert.Equal(t, held, f.held)
			}
		})
	}
}

func TestRunIsTheSameOnAnyNumberOfCores(t *testing.T) {
	start, rules := colony(30, 3)
	start.Birds[0].Sex = Unsexed
	run := func(workers, runs int) *Result {
		result, err := Run(context.Background(), &start, &rules, policies(), Options{Years: 15, Runs: runs, Seed: 3, Workers: workers, Goal: .9})
		require.NoError(t, err)
		return result
	}
	one := run(1, 40)
	assert.Equal(t, one, run(3, 40))
	assert.NotEqual(t, one.Courses[0].Years[15], run(1, 39).Courses[0].Years[15])
	assert.Equal(t, 40, one.Runs)
}

func TestRunStopped(t *testing.T) {
	start, rules := colony(20, 1)
	ctx, stop := context.WithCancel(context.Background())
	result, err := Run(ctx, &start, &rules, []Policy{Random{}}, Options{Years: 5, Runs: 500, Progress: func(done, _ int) {
		if done >= 40 {
			stop()
		}
	}})
	require.ErrorIs(t, err, context.Canceled)
	assert.Equal(t, 40, result.Runs)
	assert.Len(t, result.Courses[0].Years, 6)
	short, err := Run(context.Background(), &start, &rules, []Policy{Random{}}, Options{Years: 5, Runs: 40})
	require.NoError(t, err)
	assert.Equal(t, short, result)
}

// TestPanicReachesWhoeverAsked: a run that panics ends those that wait for its turn, and
// whoever waits for them all hears of it.
func TestPanicReachesWhoeverAsked(t *testing.T) {
	start, rules := colony(20, 1)
	assert.Panics(t, func() {
		_, _ = Run(context.Background(), &start, &rules, []Policy{Random{}}, Options{Years: 5, Runs: 50, Workers: 4, Progress: func(done, _ int) {
			if done == 7 {
				panic("in a run")
			}
		}})
	})
	var q queue
	assert.Panics(t, func() {
		for range q.runs(3) {
			panic("in a run that nobody waits for yet")
		}
	})
	for range q.runs(3) {
		assert.Fail(t, "runs go on")
	}
}

func TestGoal(t *testing.T) {
	start := Start{Birds: make([]Bird, 20)}
	for i := range start.Birds {
		start.Birds[i].Age = 1
	}
	rules := Rules{Female: oneYear, Male: oneYear, Birds: 20, MostChicks: 20, Chance: 1, FirstSeason: 1, LimitInbreeding: 1}
	same := chosen(func(f *flock) { // the first bird has all chicks, by itself
		for range 20 {
			f.allow(brood{dam: f.living[0], sire: f.living[0], chance: 1})
		}
	})
	for _, c := range []struct {
		goal, held float64
		lost       int
	}{{0, 0, -1}, {.1, 1, -1}, {.2, 0, 3}, {.4, 0, 2}, {.45, 0, 2}, {.49, 0, 1}, {.98, 0, 0}} {
		result, err := Run(context.Background(), &start, &rules, []Policy{same}, Options{Years: 3, Runs: 3, Goal: c.goal})
		require.NoError(t, err)
		// By hand: the mean kinship of the chicks of one bird by itself is
		// 19/20·(1+F₋)/2 + 1/20·(1+F)/2, F the inbreeding 0, 1/2, 3/4, 7/8.
		for year, want := range []float64{.975, .4875, .24375, .121875} {
			assert.InDelta(t, want, result.Courses[0].Years[year].GeneDiversity.Median, 1e-12)
		}
		assert.Equal(t, c.held, result.Courses[0].GoalHeld, "%g", c.goal)
		assert.Equal(t, c.lost, result.Courses[0].GoalLost, "%g", c.goal)
	}
}

func TestRunRefuses(t *testing.T) {
	for name, spoil := range map[string]func(s *Start, r *Rules, o *Options){
		"years must be 1 or more, not 0":                               func(_ *Start, _ *Rules, o *Options) { o.Years = 0 },
		"runs must be 1 or more, not -1":                               func(_ *Start, _ *Rules, o *Options) { o.Runs = -1 },
		"goal must be between 0 and 1":                                 func(_ *Start, _ *Rules, o *Options) { o.Goal = 1.5 },
		"chance of a chick must be between":                            func(_ *Start, r *Rules, _ *Options) { r.Chance = math.NaN() },
		"survival of males of 3 years":                                 func(_ *Start, r *Rules, _ *Options) { r.Male.Survival = []float64{1, 1, 1, -1} },
		"breeding ages of females":                                     func(_ *Start, r *Rules, _ *Options) { r.Female.Last = -2 },
		"a pair must be allowed 1 chick or more":                       func(_ *Start, r *Rules, _ *Options) { r.MostChicks = 0 },
		"birds wanted must be 0 or more":                               func(_ *Start, r *Rules, _ *Options) { r.Birds = -1 },
		"lethal equivalents":                                           func(_ *Start, r *Rules, _ *Options) { r.LethalEquivalents = math.Inf(1) },
		"rate of catastrophes must be between":                         func(_ *Start, r *Rules, _ *Options) { r.CatastropheRate = 2 },
		"severity of catastrophes":                                     func(_ *Start, r *Rules, _ *Options) { r.CatastropheSeverity = -1 },
		"new founders must be 0 or more":                               func(_ *Start, r *Rules, _ *Options) { r.FounderEvery = -1 },
		"at most 3,000 birds can be run forward, and 3,001 are wanted": func(_ *Start, r *Rules, _ *Options) { r.Birds = 3001 },
		"and 4,000 chicks a year are wanted":                           func(_ *Start, r *Rules, _ *Options) { r.Chicks = 4000 },
		"at most 3,000 birds can be run forward, not 3,001":            func(s *Start, _ *Rules, _ *Options) { s.Birds = make([]Bird, 3001) },
		"too many founders come":                                       func(_ *Start, r *Rules, _ *Options) { r.FounderEvery, r.FoundersAtOnce = 1, 101 },
		"grow in must be 0 or more":                                    func(_ *Start, r *Rules, _ *Options) { r.Growing = -1 },
		"fewest birds must be 0 or more":                               func(_ *Start, _ *Rules, o *Options) { o.Fewest = -1 },
		"males rests on fewer than 0 birds":                            func(_ *Start, r *Rules, _ *Options) { r.MaleEvidence.Deaths = -1 },
		"chicks wanted must be 0 or more":                              func(_ *Start, r *Rules, _ *Options) { r.Chicks = -1 },
		"chance that a bond ends must be":                              func(_ *Start, r *Rules, _ *Options) { r.Parting = 1.2 },
		"on fewer than 0 clutches":                                     func(_ *Start, r *Rules, _ *Options) { r.ChanceEvidence = -1 },
		"on fewer than 0 bonds":                                        func(_ *Start, r *Rules, _ *Options) { r.PartingEvidence = -1 },
		"founder must come in a year from 1 on":                        func(_ *Start, r *Rules, _ *Options) { r.Arrivals = []Arrival{{Year: 0}} },
		"place must be 0 or more":                                      func(_ *Start, _ *Rules, o *Options) { o.Place = -1 },
		"place 2 of 1":                                                 func(_ *Start, _ *Rules, o *Options) { o.Place = 2 },
		"the descent of 0 birds, not 20":                               func(s *Start, _ *Rules, _ *Options) { s.Descent = &Descent{} },
		"place 1 must have room":                                       func(_ *Start, r *Rules, _ *Options) { r.Places = []int{-1} },
		"bird 2 is at place 2 of 1":                                    func(s *Start, _ *Rules, _ *Options) { s.Birds[2].Place = 1 },
		"bird 2 is -1 years old":                                       func(s *Start, _ *Rules, _ *Options) { s.Birds[2].Age = -1 },
		"bird 2 is of no sex":                                          func(s *Start, _ *Rules, _ *Options) { s.Birds[2].Sex = 9 },
		"bird 2 has no mate":                                           func(s *Start, _ *Rules, _ *Options) { s.Birds[2].Mate = 2 },
		"bird 2 is not there and has a mate":                           func(s *Start, _ *Rules, _ *Options) { s.Birds[2].Mate, s.Birds[2].Absent = 2, true },
		"no ancestor 7 among 1": func(s *Start, _ *Rules, _ *Options) {
			s.Descent = &Descent{[][2]int{{-1, -1}}, slices.Repeat([]int{7}, 20)}
		},
		"3 kinships for 20 birds":    func(s *Start, _ *Rules, _ *Options) { s.Kinship = make([]float64, 3) },
		"kinship 0 of birds 0 and 0": func(s *Start, _ *Rules, _ *Options) { s.Kinship = make([]float64, 400) },
	} {
		start, rules := colony(20, 1)
		opt := Options{Years: 3, Runs: 2}
		spoil(&start, &rules, &opt)
		_, err := Run(context.Background(), &start, &rules, []Policy{Random{}}, opt)
		assert.ErrorContains(t, err, name)
	}
}

func TestNobody(t *testing.T) {
	for _, birds := range []int{0, 1} {
		for _, p := range policies() {
			start, rules := colony(birds, 1)
			result, err := Run(context.Background(), &start, &rules, []Policy{p}, Options{Years: 60, Runs: 4})
			require.NoError(t, err)
			years := result.Courses[0].Years
			assert.EqualValues(t, birds, years[0].Size.Median)
			assert.Equal(t, float64(birds)/2, years[0].GeneDiversity.Median)
			assert.Zero(t, years[60].Size.High95)
		}
	}
	// Nobody ever breeds: worth has no meaning, and the decision still answers.
	start, rules := colony(20, 1)
	rules.Female.First = 99
	_, err := Run(context.Background(), &start, &rules, policies(), Options{Years: 5, Runs: 2})
	require.NoError(t, err)
}

// The quantiles are those of sorting, within a step.
func TestSpread(t *testing.T) {
	s := spread{width: 1. / 4096}
	whole := spread{width: 1}
	var all, counts []float64
	for n := range 1000 {
		x := luck(4).of(drawOrder, uint64(n), 0)
		all = append(all, x)
		s.add(x)
		counts = append(counts, math.Floor(40*x))
		whole.add(math.Floor(40 * x))
	}
	slices.Sort(all)
	slices.Sort(counts)
	for _, share := range []float64{0, .025, .1, .5, .9, .975, 1} {
		rank := int(share * 999)
		assert.InDelta(t, all[rank], s.quantile(share), 1./1000, fmt.Sprint(share))
		assert.Equal(t, counts[rank], whole.quantile(share))
	}
	mean, squares := 0.0, 0.0
	for _, x := range all {
		mean += x / 1000
	}
	for _, x := range all {
		squares += (x - mean) * (x - mean)
	}
	assert.InDelta(t, mean, s.mean().Value, 1e-12)
	assert.InDelta(t, math.Sqrt(squares/999/1000), s.mean().SE, 1e-12)
}

// Founder genes: of the 2N genes of an ideal population a copy of each is left
// after a generation with chance 1 - (1 - 1/(2N))^2N, and later as the Markov chain
// of Wright (1931) and Fisher has it, worked out here from its binomial
// transitions.
func TestAlleles(t *testing.T) {
	const n, runs = 8, 300
	start := Start{Birds: make([]Bird, n)}
	for i := range start.Birds {
		start.Birds[i].Age = 1
	}
	rules := Rules{Female: oneYear, Male: oneYear, Birds: n, MostChicks: n, Chance: 1, FirstSeason: 1, LimitInbreeding: 1}
	ideal := chosen(func(f *flock) {
		for chick := range n {
			f.allow(brood{dam: f.living[pick(f, 90, chick)(n)], sire: f.living[pick(f, 91, chick)(n)], chance: 1})
		}
	})
	result, err := Run(context.Background(), &start, &rules, []Policy{ideal}, Options{Years: 12, Runs: runs, Seed: 7})
	require.NoError(t, err)
	copies := make([]float64, 2*n+1) // chance of so many copies of one gene
	copies[1] = 1
	for year, y := range result.Courses[0].Years {
		assert.InDelta(t, 1-copies[0], y.Alleles.Mean.Value, 4*y.Alleles.Mean.SE+1e-12, "generation %d", year)
		if year == 1 {
			assert.InDelta(t, 1-math.Pow(1-1./(2*n), 2*n), 1-copies[0], 1e-12)
		}
		next := make([]float64, 2*n+1)
		for k, chance := range copies {
			for j := range next {
				next[j] += chance * binomial(2*n, j, float64(k)/(2*n))
			}
		}
		copies = next
	}
}

// binomial returns the chance of k of n.
func binomial(n, k int, p float64) float64 {
	x := 1.
	for i := range k {
		x *= float64(n-i) / float64(i+1) * p
	}
	return x * math.Pow(1-p, float64(n-k))
}

// A dead founder whose n chicks live has a share 1 - 2^-n of its genes left
// (MacCluer et al. 1986): a start from a pedigree has as many founder genes as
// its descent left it, and loses none of them while nobody dies.
func TestDescent(t *testing.T) {
	const chicks, runs = 3, 400
	d := &Descent{Parents: [][2]int{{-1, -1}, {-1, -1}}}
	start := Start{Birds: make([]Bird, chicks), Descent: d}
	for range chicks {
		d.Birds = append(d.Birds, len(d.Parents))
		d.Parents = append(d.Parents, [2]int{0, 1})
	}
	left := 0
	for run := range runs {
		var p pool
		for _, a := range p.begin(&start, newLuck(1, run)) {
			p.add(&a)
		}
		left += p.kept
	}
	assert.InDelta(t, 4*(1-math.Pow(2, -chicks)), float64(left)/runs/loci, .02)
	p := demography.Prospect{Survival: []float64{1, 1, 1, 1}, First: 9}
	result, err := Run(context.Background(), &start, &Rules{Female: p, Male: p, MostChicks: 1, FounderEvery: 1}, []Policy{Random{}}, Options{Years: 3, Runs: 8})
	require.NoError(t, err)
	assert.Equal(t, 1., result.Courses[0].Years[3].Alleles.Low95, "new founders bring genes that do not count")
	assert.EqualValues(t, 3, result.Courses[0].Founders.Value)
	d.Parents[2] = [2]int{0, 4}
	_, err = Run(context.Background(), &start, &Rules{Female: p, Male: p, MostChicks: 1}, []Policy{Random{}}, Options{Years: 1, Runs: 1})
	assert.ErrorContains(t, err, "parents [0 4] of ancestor 2")
}

// Bonds that end by themselves do so with their chance in each year that both
// birds live through, and such birds do not take each other again.
func TestPartings(t *testing.T) {
	p := demography.Prospect{Survival: []float64{1, 1, 1, 1, 1, 1, 1, 1}, First: 1, Last: 9}
	start := Start{Birds: []Bird{{Sex: Female, Age: 1, Mate: 2}, {Sex: Male, Age: 1, Mate: 1}}}
	rules := Rules{Female: p, Male: p, MostChicks: 1, Birds: 9, Parting: .3}
	result, err := Run(context.Background(), &start, &rules, []Policy{AvoidInbreeding{}}, Options{Years: 5, Runs: 2000})
	require.NoError(t, err)
	got := result.Courses[0].Partings
	assert.InDelta(t, 1-math.Pow(.7, 5), got.Value, 4*got.SE)
}

// Where a place has too many birds the youngest free ones move on to where there
// is most room, and no more are wanted than there is room for.
func TestRoom(t *testing.T) {
	start, rules := colony(20, 2)
	for i := range start.Birds {
		start.Birds[i].Place = 0
	}
	rules.Places, rules.Birds = []int{12, 10}, 100
	for age := range rules.Female.Survival {
		rules.Female.Survival[age] = 1 // of males too
	}
	f := newFlock(&start, newGround(&rules), 3)
	f.step(Bonds{})
	assert.Equal(t, 12, f.held[0])
	assert.LessOrEqual(t, f.held[1], 10)
	assert.GreaterOrEqual(t, f.costs.moves, 8)
	for range 5 {
		f.step(Bonds{})
		assert.LessOrEqual(t, len(f.living), 23, "room for 22, and a chick more by chance")
	}
}

// The same birds without one of them, and figures of one place: by hand.
func TestAbsentAndPlace(t *testing.T) {
	p := demography.Prospect{Survival: []float64{1, 1, 1}}
	start := Start{Birds: []Bird{{Sex: Female, Age: 1}, {Sex: Male, Age: 1, Place: 1, Absent: true}, {Sex: Male, Age: 1, Place: 1}}}
	rules := Rules{Female: p, Male: p, MostChicks: 1, Places: []int{5, 5, 5}, Arrivals: []Arrival{{Year: 1, Sex: Female, Place: 1}}}
	run := func(place int) Year {
		result, err := Run(context.Background(), &start, &rules, []Policy{Random{}}, Options{Years: 1, Runs: 2, Place: place})
		require.NoError(t, err)
		return result.Courses[0].Years[1]
	}
	all, first, second := run(0), run(1), run(2)
	assert.Equal(t, [3]float64{3, 1, 2}, [3]float64{all.Size.Median, first.Size.Median, second.Size.Median})
	assert.InDelta(t, 1-1./6, all.GeneDiversity.Median, 1e-12)
	assert.InDelta(t, .5, first.GeneDiversity.Median, 1e-12)
	assert.InDelta(t, .75, second.GeneDiversity.Median, 1e-12)
	assert.InDelta(t, 3, all.GeneDiversity.GenomeEquivalents().Median, 1e-9)
	assert.Equal(t, 1., second.Alleles.Median)
	assert.Equal(t, [4]float64{}, func(y Year) [4]float64 {
		return [4]float64{y.Size.Median, y.GeneDiversity.Median, y.Inbreeding.Median, y.Alleles.Median}
	}(run(3)), "where nobody lives")
}

// Kept: the year in which the goal is lost, and how much later that is, by hand
// from the gene diversity of TestGoal; a run for the goal alone tells the same.
func TestKept(t *testing.T) {
	start := Start{Birds: make([]Bird, 20)}
	for i := range start.Birds {
		start.Birds[i].Age = 1
	}
	rules := Rules{Female: oneYear, Male: oneYear, Birds: 20, MostChicks: 20, Chance: 1, FirstSeason: 1, LimitInbreeding: 1}
	same := chosen(func(f *flock) {
		for range 20 {
			f.allow(brood{dam: f.living[0], sire: f.living[0], chance: 1})
		}
	})
	ring := chosen(func(f *flock) {
		for k := range 20 {
			f.allow(brood{dam: f.living[k], sire: f.living[(k+1)%20], chance: 1})
		}
	})
	for _, alone := range []bool{false, true} {
		result, err := Run(context.Background(), &start, &rules, []Policy{same, ring}, Options{Years: 9, Runs: 5, Goal: .4, GoalAlone: alone})
		require.NoError(t, err)
		assert.EqualValues(t, 2, result.Courses[0].Kept.Median)
		assert.EqualValues(t, 9, result.Courses[1].Kept.Median)
		assert.Equal(t, Mean{Value: 7}, result.Courses[1].Against[0].Kept)
		assert.EqualValues(t, 1, result.Courses[1].GoalHeld)
		if !alone { // the ring loses in nine years what the other loses in one
			assert.Equal(t, Mean{Value: 1}, result.Courses[0].Against[1].SameLoss)
			assert.Equal(t, Mean{Value: 9}, result.Courses[1].Against[0].SameLoss)
			assert.Equal(t, Mean{Value: 1}, result.Courses[1].Against[0].GoalHeld)
			assert.Zero(t, result.Courses[1].Against[0].Chicks)
			assert.InDelta(t, result.Courses[1].Years[9].Ahead[0].Value, result.Courses[1].Against[0].GeneDiversity.Value, 1e-12)
		}
		assert.Zero(t, result.Courses[0].GoalHeld)
	}
}

// The need found by bisection holds the goal, and one less does not, in runs made
// here one by one.
func TestFindNeed(t *testing.T) {
	start, rules := colony(24, 1)
	opt := Options{Years: 40, Runs: 24, Seed: 4, Goal: .9}
	for _, q := range []Quantity{LivingBirds, FounderEvery, ChicksAYear} {
		s := Scenario{&start, &rules, DynamicList{}}
		need, err := FindNeed(context.Background(), s, q, .8, opt)
		require.NoError(t, err)
		require.False(t, need.Never)
		left := 0.0
		held := func(n int) float64 {
			r := rules
			switch q {
			case LivingBirds:
				r.Birds, r.Growing = n, growing
			case FounderEvery:
				r.FounderEvery = n
			case ChicksAYear:
				r.Chicks, r.Birds = n, 0
			}
			result, err := Run(context.Background(), &start, &r, []Policy{DynamicList{}}, opt)
			require.NoError(t, err)
			left = result.Courses[0].Years[opt.Years].Size.Median
			return result.Courses[0].GoalHeld
		}
		less, more := need.Least-1, need.Least
		if q == FounderEvery {
			less = need.Least + 1
			assert.GreaterOrEqual(t, need.Low, need.Least)
		} else {
			assert.LessOrEqual(t, need.Low, need.Least)
			assert.GreaterOrEqual(t, need.High, need.Least)
		}
		assert.GreaterOrEqual(t, held(more), .8, "%d: %d", q, more)
		assert.Less(t, held(less), .8, "%d: %d", q, less)
		assert.Equal(t, held(need.Least), need.Held)
		assert.Equal(t, left, need.Birds.Median, "birds that live at the end")
		assert.Equal(t, rules.Birds, need.Wanted)
		if q == ChicksAYear { // so many chicks hold that number
			r := rules
			r.Chicks, r.Birds = need.Hold, 0
			result, err := Run(context.Background(), &start, &r, []Policy{DynamicList{}}, opt)
			require.NoError(t, err)
			live := result.Courses[0].Years[opt.Years].Size.Mean.Value
			assert.Greater(t, 1.05*live, float64(rules.Birds))
			assert.Less(t, 0.95*live*float64(need.Hold-1)/float64(need.Hold), float64(rules.Birds), "one fewer does not")
		}
		if q != FounderEvery {
			full := rules
			full.Places = []int{24}
			roomy, err := FindNeed(context.Background(), Scenario{&start, &full, DynamicList{}}, q, .8, opt)
			require.NoError(t, err)
			assert.Equal(t, need, roomy, "there is room for all")
		}
	}
	opt.Goal = .999
	_, err := FindNeed(context.Background(), Scenario{&start, &rules, Random{}}, LivingBirds, .8, opt)
	require.ErrorIs(t, err, ErrMissed)
	opt.Goal = .5
	need, err := FindNeed(context.Background(), Scenario{&start, &rules, DynamicList{}}, FounderEvery, .8, opt)
	require.NoError(t, err)
	assert.True(t, need.None)
	rules.Female.First = 99 // nobody breeds: no number of birds wanted helps
	opt.Goal = .9
	need, err = FindNeed(context.Background(), Scenario{&start, &rules, DynamicList{}}, LivingBirds, .8, opt)
	require.NoError(t, err)
	assert.True(t, need.Never)
	assert.Equal(t, Beyond, need.High)
	stopped, stop := context.WithCancel(context.Background())
	stop()
	rules.Female.First = 1
	_, err = FindNeed(stopped, Scenario{&start, &rules, DynamicList{}}, LivingBirds, .8, opt)
	require.ErrorIs(t, err, context.Canceled, "a bisection that was stopped has found nothing")
	_, err = FindNeed(context.Background(), Scenario{&start, &rules, DynamicList{}}, LivingBirds, .8, Options{Years: 4, Runs: 2})
	require.ErrorContains(t, err, "a need is for a goal")
	_, err = FindNeed(context.Background(), Scenario{&start, &rules, DynamicList{}}, LivingBirds, 1.8, opt)
	require.ErrorContains(t, err, "chance must be between")
}

// Broods decided for the first season are what hatches of those pairs then, under
// every policy, and not a year later.
func TestBroodsDecided(t *testing.T) {
	p := demography.Prospect{Survival: []float64{1, 1, 1, 1, 1}, First: 1, Last: 9}
	start := Start{
		Birds:  []Bird{{Sex: Female, Age: 1, Mate: 2, Settled: true}, {Sex: Male, Age: 1, Mate: 1, Settled: true}, {Sex: Female, Age: 1, Mate: 4, Settled: true}, {Sex: Male, Age: 1, Mate: 3, Settled: true}},
		Broods: []Brood{{0, 1, 3}, {2, 3, 0}},
	}
	rules := Rules{Female: p, Male: p, MostChicks: 1, Birds: 5, Chance: 1, FirstSeason: 1}
	result, err := Run(context.Background(), &start, &rules, policies(), Options{Years: 1, Runs: 2})
	require.NoError(t, err)
	for _, c := range result.Courses {
		assert.EqualValues(t, 7, c.Years[1].Size.Median, "%s: three of the first pair, none of the other", c.Policy)
	}
	start.Broods[0] = Brood{0, 3, 1}
	_, err = Run(context.Background(), &start, &rules, policies(), Options{Years: 1, Runs: 2})
	assert.ErrorContains(t, err, "birds 0 and 3, which are no pair")
}
