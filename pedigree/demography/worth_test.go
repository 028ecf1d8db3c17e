package demography_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// evenLife is a bird with survival 0.75 in its first year and 0.94 after, that
// breeds from 4 to 22 and lives to no more than an oldest age; after late its
// survival is falling.
func evenLife(late int, falling float64, oldest int) demography.Prospect {
	p := demography.Prospect{First: 4, Last: 22, Survival: make([]float64, oldest)}
	for a := range p.Survival {
		switch {
		case a == 0:
			p.Survival[a] = .75
		case a > late:
			p.Survival[a] = falling
		default:
			p.Survival[a] = .94
		}
	}
	return p
}

// Values from a calculation made apart from this code, to its two digits. They
// do not depend on survival past the last breeding age.
func TestWorthOfFreeBirds(t *testing.T) {
	for _, oldest := range []int{23, 30, 60} {
		p := evenLife(oldest, 0, oldest)
		w, ok := demography.NewWorth(p, p)
		require.True(t, ok)
		assert.InDelta(t, 1, w.Free(0), 1e-12, "a chick cannot breed this season: its worth is V(0)")
		for age, want := range map[float64]float64{3: 1.51, 10: 1.14, 15: .77, 20: .25, 22: 0, 23: 0, 29: 0, 99: 0} {
			assert.InDelta(t, want, w.Free(age), .005, "age %g", age)
		}
		assert.InDelta(t, (w.Free(9)+3*w.Free(10))/4, w.Free(9.75), 1e-12)
	}
}

// The same calculation gave 0.68 for a bird of 10 with a mate of 20, but not how
// long the mate lives past its last breeding age: the longer, the more the bond
// costs. A survival that falls to 0.9 then, and no bird over 30, gives its 0.68.
// The other cases are worked by hand from the meaning of a bond.
func TestWorthOfBondedBirds(t *testing.T) {
	p := evenLife(22, .9, 30)
	w, _ := demography.NewWorth(p, p)
	assert.InDelta(t, .68, w.Bonded(10, 20), .005)
	assert.InDelta(t, 1.14, w.Free(10), .005)
	assert.Zero(t, w.Bonded(22, 10))
	assert.Less(t, w.Bonded(10, 20), w.Bonded(10, 10))
	assert.InDelta(t, (w.Bonded(10, 20)+w.Bonded(10, 21)+w.Bonded(11, 20)+w.Bonded(11, 21))/4, w.Bonded(10.5, 20.5), 1e-12)

	// A mate that outlives its last season by nothing leaves the bird free.
	for _, age := range []float64{3, 10, 21} {
		assert.InDelta(t, w.Free(age), w.Bonded(age, 99), 1e-12)
	}
	// A mate that cannot die and never breeds again takes all.
	old := demography.Prospect{First: 4, Last: 22, Survival: make([]float64, 80)}
	for a := range old.Survival {
		old.Survival[a] = 1
	}
	w, _ = demography.NewWorth(p, old)
	assert.Zero(t, w.Bonded(10, 22))
	// One that cannot die and has as many seasons as the bird takes nothing.
	old.Last = 79
	w, _ = demography.NewWorth(p, old)
	assert.InDelta(t, w.Free(10), w.Bonded(10, 10), 1e-12)
}

// The recursion against lives drawn one year at a time: what is left of the
// seasons of a bird, and of those of a pair, over the seasons of a chick.
func TestWorthAgainstDrawnLives(t *testing.T) {
	hen := demography.Prospect{First: 2.5, Last: 9, Survival: []float64{.5, .8, .9, .9, .9, .9, .8, .8, .7, .6, .5, .3}}
	cock := demography.Prospect{First: 3, Survival: []float64{.6, .8, .9, .95, .95, .9, .9, .9, .8, .7, .5, .5, .4, .2}}
	w, ok := demography.NewWorth(hen, cock)
	require.True(t, ok)
	rng := rand.New(rand.NewPCG(11, 1))
	lives := func(p demography.Prospect, age int) bool {
		return age < len(p.Survival) && rng.Float64() < p.Survival[age]
	}
	breeds := func(p demography.Prospect, age int) bool {
		return float64(age) >= p.First && (p.Last == 0 || float64(age) <= p.Last)
	}
	const n = 100000
	seasons := func(age, mate int) float64 {
		sum := 0.0
		for range n {
			hen1, cock1, bonded := age, mate, mate >= 0
			for lives(hen, hen1) {
				hen1++
				if bonded {
					bonded = lives(cock, cock1)
					cock1++
				}
				if breeds(hen, hen1) && (!bonded || breeds(cock, cock1)) {
					sum++
				}
			}
		}
		return sum / n
	}
	chick := seasons(0, -1)
	for _, age := range []int{0, 2, 5, 9, 11} {
		assert.InDelta(t, seasons(age, -1)/chick, w.Free(float64(age)), .03, "free at %d", age)
		for _, mate := range []int{0, 4, 12} {
			assert.InDelta(t, seasons(age, mate)/chick, w.Bonded(float64(age), float64(mate)), .03, "%d with a mate of %d", age, mate)
		}
	}
}

func TestWorthOfBirdsThatCannotBreed(t *testing.T) {
	for name, p := range map[string]demography.Prospect{
		"nobody lives to breed": {Survival: []float64{.5, 0, .9, .9}, First: 2},
		"never of age":          {Survival: []float64{.5, .9}, First: 7},
	} {
		_, ok := demography.NewWorth(p, p)
		assert.False(t, ok, name)
	}
	// A chick that breeds in the season it hatches: V(0) is 1, and what comes
	// after is less.
	w, ok := demography.NewWorth(demography.Prospect{Survival: []float64{.5}}, demography.Prospect{})
	require.True(t, ok)
	assert.InDelta(t, 1/3., w.Free(0), 1e-12, "seasons 1 and 1/2")
	assert.Zero(t, w.Free(1))
	assert.Panics(t, func() { w.Free(-1) })
	assert.Panics(t, func() { w.Free(math.NaN()) })
	assert.Panics(t, func() { demography.NewWorth(demography.Prospect{Survival: []float64{1.1}}, demography.Prospect{}) })
}

// Worked by hand from the formula of the comment.
func TestSmoothedSurvival(t *testing.T) {
	var lives []demography.Life
	for range 10 {
		lives = append(lives, demography.Life{Exit: .5, Died: true}, demography.Life{Exit: 3}, demography.Life{Exit: 3})
	}
	for range 5 {
		lives = append(lives, demography.Life{Entry: 1, Exit: 1.5, Died: true})
	}
	table := demography.NewLifeTable(lives, nil)
	// At risk: 30, 25, 20 and 0 by age; deaths 10, 5, 0, 0.
	none, some := demography.Number{}, func(x float64) demography.Number { return demography.Number{Value: x, Known: true} }
	y := demography.SmoothedSurvival(table, some(.1), some(.2), 7)
	require.True(t, y.Known())
	assert.Equal(t, demography.OnRecords, y.FirstYear)
	assert.Equal(t, demography.OnRecords, y.Adult)
	assert.Equal(t, [2]float64{30, 5}, [2]float64{y.AtRisk, y.Deaths})
	require.Len(t, y.Survival, 8)
	assert.InDelta(t, 2/3., y.Survival[0], 1e-12)
	mean := 5 / 45.
	for a, want := range []float64{1: mean, 2: mean, 3: mean, 4: (0 + 20*mean) / 40, 5: mean, 6: mean, 7: mean} {
		if a > 0 {
			assert.InDelta(t, 1-want, y.Survival[a], 1e-12, "age %d", a)
		}
	}

	few := demography.NewLifeTable(lives[:3], nil)
	y = demography.SmoothedSurvival(few, some(.7), some(.9), 3)
	assert.Equal(t, demography.Yearly{Survival: []float64{.7, .9, .9, .9}, FirstYear: demography.OnSettings, Adult: demography.OnSettings}, y)
	assert.False(t, demography.SmoothedSurvival(few, none, some(.9), 3).Known())
	assert.False(t, demography.SmoothedSurvival(demography.LifeTable{}, some(.9), none, 3).Known())
	y = demography.SmoothedSurvival(table, none, none, 0)
	assert.True(t, y.Known())
	assert.Len(t, y.Survival, len(table.Classes))

	// Where nobody of a year or older died, all would live for ever: what is set is
	// believed rather, as in Census.Need.
	noDeaths := demography.NewLifeTable(slices.Repeat([]demography.Life{{Exit: 3}}, 30), nil)
	y = demography.SmoothedSurvival(noDeaths, some(.7), some(.9), 3)
	assert.Equal(t, []float64{1, .9, .9, .9}, y.Survival)
	assert.Equal(t, demography.OnSettings, y.Adult)
	y = demography.SmoothedSurvival(noDeaths, none, none, 3)
	assert.Equal(t, demography.OnRecords, y.Adult)
}

// A table of many birds is hardly moved by smoothing.
func TestSmoothedSurvivalOfMany(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	var lives []demography.Life
	for range 20000 {
		age := 0
		for rng.Float64() < 1-.03-.01*float64(age) {
			age++
		}
		lives = append(lives, demography.Life{Exit: float64(age) + .5, Died: true})
	}
	y := demography.SmoothedSurvival(demography.NewLifeTable(lives, nil), demography.Number{}, demography.Number{}, 0)
	for a := 3; a < 12; a++ {
		assert.InDelta(t, 1-.03-.01*float64(a), y.Survival[a], .01, "age %d", a)
	}
}

// A young programme: nobody has lived to be nine yet, which says nothing against
// living on. Ages 2 to 20 breed, and no oldest age is set.
func TestNobodyDiesOfBeingTheEldest(t *testing.T) {
	var rows strings.Builder
	rows.WriteString("id,sex,sire,dam,hatch_date\n")
	for k := range 10 {
		fmt.Fprintf(&rows, "B%d,%s,wild,wild,2018-05-01\n", k, "FM"[k%2:k%2+1])
	}
	c := studbooktest.Read(t, "studbook.csv", rows.String(),
		"programme.toml", "[breeding_age]\nfemale = [2, 20]\nmale = [2, 20]\n[survival]\nfirst_year = 0.7\nyearly = 0.9\n")
	p, ok := demography.NewCensus(c.At(studbook.DayOf(2026, 3, 1))).Prospects()
	require.True(t, ok)
	for a := 1; a <= 20; a++ {
		assert.Equal(t, 0.9, p.Female.SurvivalAt(a), "age %d", a)
	}
}
