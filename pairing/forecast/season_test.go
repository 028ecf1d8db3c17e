package forecast

import (
	"context"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/demography"
)

// A year from one day to the next has the season in it: birds die as those a year younger
// until then, and as those of their age after it (by hand).
func TestSurvivorsOfAYearWithASeasonInIt(t *testing.T) {
	p := demography.Prospect{Survival: []float64{.7, .9, .8, .6, .5}}
	const wait = .4
	start := Start{Birds: make([]Bird, 60)}
	for i := range start.Birds {
		start.Birds[i] = Bird{Age: i % 3, Late: i%2 == 1}
	}
	rules := Rules{Female: p, Male: p, MostChicks: 1, Wait: wait}
	result, err := Run(context.Background(), &start, &rules, []Policy{Random{}}, Options{Years: 4, Runs: 300, Seed: 2})
	require.NoError(t, err)
	at := func(age int) float64 {
		if age < 0 {
			return 1
		}
		return p.SurvivalAt(age)
	}
	for year, y := range result.Courses[0].Years {
		want := 0.0
		for _, b := range start.Birds {
			left, age := 1.0, b.Age+one(b.Late)
			for range year {
				left *= math.Pow(at(age-1), wait) * math.Pow(at(age), 1-wait)
				age++
			}
			want += left
		}
		assert.InDelta(t, want, y.Size.Mean.Value, 4*y.Size.Mean.SE+1e-9, "year %d", year)
	}
}

// Birds begin to breed at three years on the first day of a season: those that hatched after
// that day have their fourth birthday's season for their first.
func TestFirstSeason(t *testing.T) {
	p := demography.Prospect{Survival: slices.Repeat([]float64{1}, 30), First: 3}
	for late, seasons := range map[bool]int{false: 3, true: 4} {
		start := Start{Birds: []Bird{{Sex: Female, Age: 3, Mate: 2}, {Sex: Male, Age: 3, Mate: 1}}}
		f := newFlock(&start, newGround(&Rules{Female: p, Male: p, MostChicks: 1, Chance: 1, FirstSeason: 1, HatchLate: late}), 0)
		f.hatch([]brood{{dam: f.living[0], sire: f.living[1]}}, []bird{{key: 1, sex: Female, mate: -1, late: one(late)}})
		chick := f.living[2]
		for season := range seasons {
			assert.False(t, f.fit(chick), "season %d after it hatched", season)
			f.birthday()
		}
		assert.True(t, f.fit(chick))
	}
}

// The step toward a goal is taken from the birds of the beginning of the year, not from those
// that the winter has left: that would be a step down.
func TestStepTowardAGoal(t *testing.T) {
	p := demography.Prospect{Survival: slices.Repeat([]float64{.9}, 60)}
	start := Start{Birds: make([]Bird, 100)}
	for i := range start.Birds {
		start.Birds[i] = Bird{Sex: Female + Sex(i%2), Age: 2 + i%7}
	}
	rules := Rules{Female: p, Male: p, MostChicks: 4, Chance: 1, FirstSeason: 1, Birds: 100, Growing: 10, Wait: .5}
	result, err := Run(context.Background(), &start, &rules, []Policy{Random{}}, Options{Years: 8, Runs: 60, Seed: 3})
	require.NoError(t, err)
	for year, y := range result.Courses[0].Years {
		assert.InDelta(t, 100, y.Size.Mean.Value, 1.5, "year %d", year)
	}
}

// A programme without a goal wants in each year the number it began with: its size is a
// random walk, whose variance grows with the years, each adding deaths of n·q·(1-q); one
// with a goal comes back to it.
func TestNumbersDriftWithoutAGoal(t *testing.T) {
	const n, years, runs = 100, 8, 400
	p := demography.Prospect{Survival: slices.Repeat([]float64{.9}, 60)}
	start := Start{Birds: make([]Bird, n)}
	for i := range start.Birds {
		start.Birds[i] = Bird{Sex: Female + Sex(i%2), Age: 2 + i%7}
	}
	variance := func(drifts bool, year int) float64 {
		rules := Rules{Female: p, Male: p, MostChicks: 4, Chance: 1, FirstSeason: 1, Birds: n, Drifts: drifts}
		result, err := Run(t.Context(), &start, &rules, []Policy{Random{}}, Options{Years: year, Runs: runs, Seed: 5})
		require.NoError(t, err)
		size := result.Courses[0].Years[year].Size
		assert.InDelta(t, n, size.Mean.Value, 2, "no drift up or down")
		width := (size.High80 - size.Low80) / (2 * 1.2816) // of a normal distribution
		return width * width
	}
	// The deaths of old birds and of the year's chicks, in numbers that the level wants.
	yearly := n * .9 * .1 * (1 + .1/.9)
	assert.InEpsilon(t, yearly*years, variance(true, years), .25, "the sampling error of 400 runs and whole birds")
	assert.InEpsilon(t, yearly, variance(false, years), .35)
}

// The limits of F are those of today, raised by what all come to share since the start; the
// decision forms a pair of cousins only for a bird that has no other; and pairs of the
// start that are too close kin hatch nothing under a policy that plans.
func TestLimitsOfTheDecision(t *testing.T) {
	p := demography.Prospect{Survival: slices.Repeat([]float64{1}, 30), First: 1}
	// Females 0 and 1, males 2 and 3; 4 and 5 are a pair of full siblings.
	start := Start{Birds: []Bird{{Sex: Female, Age: 2}, {Sex: Female, Age: 2}, {Sex: Male, Age: 2}, {Sex: Male, Age: 2}, {Sex: Female, Age: 2, Mate: 6}, {Sex: Male, Age: 2, Mate: 5}}}
	n := len(start.Birds)
	start.Kinship = make([]float64, n*n)
	for i := range n {
		start.Kinship[i*n+i] = .5
	}
	kin := func(a, b int, f float64) { start.Kinship[a*n+b], start.Kinship[b*n+a] = f, f }
	kin(4, 5, .25)
	kin(0, 2, .0625)
	rules := &Rules{Female: p, Male: p, MostChicks: 2, Chance: 1, FirstSeason: 1, LimitInbreeding: .125, PreferInbreeding: .0625}
	f := newFlock(&start, newGround(rules), 0)
	f.open()
	assert.Equal(t, .125, f.season.tooClose)
	assert.Equal(t, [][]bool{{false, true}, {true, true}}, f.openPairs(), "0 may have 3, and 2 may have 1")
	kin(0, 3, .1)
	f = newFlock(&start, newGround(rules), 0)
	f.open()
	assert.Equal(t, [][]bool{{true, true}, {true, true}}, f.openPairs(), "0 has nobody else")
	kin(0, 3, .125)
	f = newFlock(&start, newGround(rules), 0)
	f.open()
	assert.Equal(t, [][]bool{{true, false}, {true, true}}, f.openPairs())

	require.Len(t, f.season.pairs, 1)
	f.leaveOut()
	assert.Empty(t, f.season.pairs)
	before := f.geneDiversity()
	f.bury(f.living[0])
	f.living = f.living[1:]
	assert.InDelta(t, 1-f.geneDiversity()/before*(1-.125), f.raised(.125), 1e-15)
	assert.Greater(t, f.raised(.125), .125)
}

// A pair whose broods are decided hatches none where one of the two dies before the season,
// and whoever has its place in the flock then hatches no chicks for it.
func TestBroodsOfThePairThatIsLeft(t *testing.T) {
	dies := demography.Prospect{Survival: []float64{1, 0, 0, 0, 0}, First: 1}
	lives := demography.Prospect{Survival: slices.Repeat([]float64{1}, 30), First: 1}
	start := Start{Birds: []Bird{{Sex: Female, Age: 2, Mate: 2}, {Sex: Male, Age: 2, Mate: 1}}, Broods: []Brood{{Female: 0, Male: 1, Chicks: 2}}}
	rules := &Rules{Female: dies, Male: lives, MostChicks: 2, Chance: 1, FirstSeason: 1, Wait: .5, Arrivals: []Arrival{{Year: 1, Sex: Female}}}
	f := newFlock(&start, newGround(rules), 0)
	f.step(Bonds{})
	assert.Zero(t, f.costs.chicks)
	assert.Equal(t, 1, f.costs.founders)
}
