package demography_test

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/demography"
)

// rows reads a table of testdata, the header left out.
func rows(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	all, err := r.ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(all), 1)
	return all[1:]
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return x
}

// sets returns the lives of testdata/survival-lives.csv by the name of the set.
func sets(t *testing.T) map[string][]demography.Life {
	t.Helper()
	s := map[string][]demography.Life{}
	for _, r := range rows(t, "survival-lives.csv") {
		s[r[0]] = append(s[r[0]], demography.Life{
			Entry: number(t, r[1]), Exit: number(t, r[2]), Died: r[3] == "1", Weight: number(t, r[4]),
		})
	}
	return s
}

func ages(c demography.Curve, of func(demography.Step) float64) []float64 {
	var x []float64
	for _, s := range c.Steps {
		x = append(x, of(s))
	}
	return x
}

func survival(s demography.Step) float64 { return s.Survival }

// Bewick V, Cheek L, Ball J (2004) Statistics review 12: Survival analysis.
// Critical Care 8:389, Table 2, from the page (KM-01, KM-02).
func TestKaplanMeierBewick(t *testing.T) {
	c := demography.KaplanMeier(sets(t)["bewick"])
	assert.Equal(t, []float64{1, 4, 5, 9, 22}, ages(c, func(s demography.Step) float64 { return s.Age }))
	assert.Equal(t, []float64{8, 6, 5, 3, 1}, ages(c, func(s demography.Step) float64 { return s.AtRisk }))
	assert.InDeltaSlice(t, []float64{.75, .625, .5, .333, 0}, ages(c, survival), 5e-4)
	assert.Equal(t, []float64{6, 9}, c.Censored)
	assert.Equal(t, demography.Number{Value: 5, Known: true}, c.Median().Age)
	assert.False(t, c.Steps[4].SE.Known, "no standard error where nobody survives")
}

// Freireich EJ et al. (1963) Blood 21:699-716, 6-MP arm; estimates tabulated in
// Kleinbaum DG, Klein M, Survival Analysis: A Self-Learning Text, ch. 2;
// from memory, recomputed (KM-03 to KM-05).
func TestKaplanMeierFreireich(t *testing.T) {
	c := demography.KaplanMeier(sets(t)["freireich"])
	assert.Equal(t, []float64{6, 7, 10, 13, 16, 22, 23}, ages(c, func(s demography.Step) float64 { return s.Age }))
	assert.InDeltaSlice(t, []float64{.8571, .8067, .7529, .6902, .6275, .5378, .4482}, ages(c, survival), 6e-5)
	assert.InDeltaSlice(t, []float64{.0764, .0869, .0963, .1068, .1141, .1282, .1346},
		ages(c, func(s demography.Step) float64 { return s.SE.Value }), 6e-5)
	assert.Equal(t, demography.Number{Value: 23, Known: true}, c.Median().Age)
}

// The oracle is R's survival package: testdata/README.md says how it was run.
func TestKaplanMeierAgainstR(t *testing.T) {
	const printed = 1e-12
	curves := map[string]demography.Curve{}
	for set, lives := range sets(t) {
		curves[set] = demography.KaplanMeier(lives)
	}
	next := map[string]int{}
	for _, r := range rows(t, "survival-curves.csv") {
		set, c := r[0], curves[r[0]]
		require.Less(t, next[set], len(c.Steps), set)
		s := c.Steps[next[set]]
		next[set]++
		assert.Equal(t, number(t, r[1]), s.Age, set)
		assert.Equal(t, number(t, r[2]), s.AtRisk, "%s at %s", set, r[1])
		assert.Equal(t, number(t, r[2]), c.AtRisk(s.Age), "%s at %s", set, r[1])
		assert.Equal(t, number(t, r[3]), s.Deaths, "%s at %s", set, r[1])
		assert.InDelta(t, number(t, r[4]), s.Survival, printed, "%s at %s", set, r[1])
		if r[5] == "NaN" {
			assert.False(t, s.SE.Known, "%s at %s", set, r[1])
			continue
		}
		assert.InDelta(t, number(t, r[5]), s.SE.Value, printed, "%s at %s", set, r[1])
		assert.InDelta(t, number(t, r[6]), s.Interval.Low, printed, "%s at %s", set, r[1])
		assert.InDelta(t, number(t, r[7]), s.Interval.High, printed, "%s at %s", set, r[1])
	}
	for set, c := range curves {
		assert.Len(t, c.Steps, next[set], set)
	}
	check := func(want string, got demography.Number, set string) {
		if want == "NA" {
			assert.False(t, got.Known, set)
			return
		}
		assert.True(t, got.Known, set)
		assert.Equal(t, number(t, want), got.Value, set)
	}
	for _, r := range rows(t, "survival-medians.csv") {
		m := curves[r[0]].Median()
		if r[0] != "bewick" { // there R prints the middle of a flat piece at 1/2
			check(r[1], m.Age, r[0])
		}
		check(r[2], m.Low, r[0])
		check(r[3], m.High, r[0])
	}
}

func TestCurveAt(t *testing.T) {
	c := demography.KaplanMeier([]demography.Life{
		{Exit: 1, Died: true}, {Exit: 2}, {Exit: 3, Died: true}, {Exit: 4},
	})
	for _, x := range []struct{ age, want float64 }{{0, 1}, {.99, 1}, {1, .75}, {2.9, .75}, {3, .375}, {4, .375}} {
		s, ok := c.At(x.age)
		require.True(t, ok, x.age)
		assert.Equal(t, x.want, s.Survival, x.age)
	}
	_, ok := c.At(4.01)
	assert.False(t, ok, "nobody was watched so long, and not all had died")
	_, ok = c.At(-1)
	assert.False(t, ok)
	_, ok = c.At(math.NaN())
	assert.False(t, ok)
	assert.False(t, c.Between(0, 2).Known, "four birds are too few")

	var many []demography.Life
	for i := range 20 {
		many = append(many, demography.Life{Exit: float64(1 + i%2), Died: i%2 == 0}) // ten die at 1
	}
	assert.Equal(t, demography.Number{Value: .5, Known: true}, demography.KaplanMeier(many).Between(0, 1.5))
	var scattered []demography.Life
	for i := range 10 {
		scattered = append(scattered, demography.Life{Exit: 1 + float64(i)/10, Died: i == 8})
	}
	assert.False(t, demography.KaplanMeier(scattered).Between(.5, 1.85).Known, "eight of ten left; what became of two is seen")
	var extinct []demography.Life
	for i := range 6 {
		extinct = append(extinct, demography.Life{Exit: 1 + float64(i)/10, Died: true})
	}
	curve := demography.KaplanMeier(extinct)
	assert.Equal(t, demography.Number{Known: true}, curve.Between(.5, 3), "of six it is known that they died")
	assert.False(t, curve.Between(1.15, 3).Known, "of four birds of that age, too")
}

func TestKaplanMeierOfNobody(t *testing.T) {
	c := demography.KaplanMeier(nil)
	assert.Empty(t, c.Steps)
	assert.False(t, c.Median().Age.Known)
	_, ok := c.At(0)
	assert.False(t, ok)
	unwatched := demography.KaplanMeier([]demography.Life{{Entry: 2, Exit: 2, Died: true}})
	assert.Equal(t, 0.0, unwatched.Birds)
	assert.Panics(t, func() { demography.KaplanMeier([]demography.Life{{Entry: 2, Exit: 1}}) })
	assert.Panics(t, func() { demography.KaplanMeier([]demography.Life{{Exit: math.Inf(1)}}) })
}
