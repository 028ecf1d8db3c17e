package review_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pairing/review"
	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// What became of advice, one bird of each case, worked by hand.
func TestWhatBecameOfAdvice(t *testing.T) {
	c := studbooktest.Read(t,
		"studbook.csv", `id,sex,sire,dam,hatch_date,death_date,location,origin
F1,F,wild,wild,2015-05-01,,A,wild
M1,M,wild,wild,2015-05-01,,A,wild
F2,F,wild,wild,2015-05-01,,A,wild
M2,M,wild,wild,2015-05-01,2025-08-01,A,wild
F3,F,wild,wild,2015-05-01,,B,wild
M3,M,wild,wild,2015-05-01,,A,wild
F4,F,wild,wild,2015-05-01,,A,wild
M4,M,wild,wild,2015-05-01,,C,wild
F5,F,wild,wild,2015-05-01,,A,wild
M5,M,wild,wild,2015-05-01,,A,wild
F6,F,wild,wild,2015-05-01,,A,wild
M6,M,wild,wild,2015-05-01,,A,wild
F7,F,wild,wild,2015-05-01,,A,wild
M7,M,wild,wild,2015-05-01,,A,wild
F8,F,wild,wild,2015-05-01,,A,wild
M8,M,wild,wild,2015-05-01,,A,wild
F9,F,wild,wild,2015-05-01,,A,wild
M9,M,wild,wild,2015-05-01,,A,wild
F0,F,wild,wild,2015-05-01,,A,wild
M0,M,wild,wild,2015-05-01,,A,wild
X1,F,M1,F1,2025-06-01,,A,captive
X2,F,M3,F4,2025-06-01,2025-06-09,A,captive
X3,F,M3,F4,2025-06-01,,A,captive
`,
		"moves.csv", "id,date,from,to\nF3,2025-03-01,A,B\nM4,2025-04-01,A,C\n",
		"bonds.csv", "female,male,since,until\nF1,M1,2025-02-01,\nF4,M3,2025-03-01,\n",
		"clutches.csv", "female,male,laid,eggs,fertile,hatched,fledged\nF1,M1,2025-04-20,2,2,2,\nF2,M2,2025-04-20,2,0,0,0\nF5,M5,2025-04-20,2,1,replaced,\nF6,M6,2025-04-20,2,,,\nF7,M7,2025-04-20,2,0,replaced,\nF8,M8,2025-04-20,2,1,,\nF9,M9,2025-04-20,2,2,0,\nF0,M0,2025-04-20,2,,replaced,\n",
		"institutions.csv", "code,name\nA,A\nB,B\nC,C\n")
	p := on(t, c, today)
	got := review.NewLastYear(p, &review.Advice{
		On:    studbook.DayOf(2024, 12, 31),
		Moves: []review.AdvisedMove{{"F3", "A", "B"}, {"M4", "A", "B"}, {"F1", "A", "B"}, {"M2", "A", "B"}},
		Broods: []review.AdvisedBrood{
			{"F1", "M1", true, false, false, 2, 1.1},
			{"F2", "M2", false, false, false, 1, 0.6},
			{"F4", "M4", true, false, false, 1, 0.5},
			{"F4", "M3", false, false, false, 0, 0},
			{"F3", "M3", false, false, false, 0, 0},
			{"F2", "M1", true, false, false, 1, 0.4},
			{"F5", "M5", false, false, false, 2, 0.9},
			{"F6", "M6", false, false, true, 2, 0.8},
			{"F7", "M7", false, false, false, 2, 0.7},
			{"F3", "M2", false, true, false, 0, 0},
			{"F8", "M8", false, false, false, 0, 0},
			{"F8", "M8", false, false, false, 1, 0},
			{"F9", "M9", false, false, false, 0, 0},
			{"F0", "M0", false, false, false, 0, 0},
		}})
	var said []string
	for _, r := range got.Results {
		s := fmt.Sprintf("%s %s", r.What, r.Birds[0].ID)
		if len(r.Birds) > 1 {
			s += "+" + r.Birds[1].ID
		}
		s += ": " + string(r.Became)
		if r.On.Known() {
			s += " " + r.On.Text
		}
		if r.At != "" {
			s += " at " + r.At
		}
		for _, b := range r.Instead {
			s += " with " + b.ID
		}
		if r.What == review.HatchChicks || r.What == review.ReplaceEggs {
			s += fmt.Sprintf(" %d", r.Hatched)
		}
		if r.Replaced {
			s += " replaced"
		}
		said = append(said, s)
	}
	assert.Equal(t, strings.TrimSpace(`
move F3: done 2025-03-01
move M4: otherwise at C
move F1: not done
move M2: prevented
bond F1+M1: done 2025-02-01
bond F4+M4: otherwise with M3
bond F2+M1: otherwise with F1
hatch F1+M1: done 2
hatch F2+M2: done 0
hatch F4+M4: not done 0
replace eggs F4+M3: not done 2
replace eggs F3+M3: laid none 0
hatch F2+M1: not done 0
hatch F5+M5: otherwise 0 replaced
hatch F6+M6: untold -1
hatch F7+M7: done 0
replace eggs F8+M8: untold -1
hatch F8+M8: untold -1
replace eggs F9+M9: not done 0
replace eggs F0+M0: done 0`), strings.Join(said, "\n"))
	// Two pairs were never formed, one lost its eggs to people, and one was a reserve: what
	// they hatched says nothing of what was expected.
	assert.Equal(t, 3, got.Pairs)
	assert.InDelta(t, 1.1+0.6+0.7, got.Expected, 1e-12)
	assert.Equal(t, 2, got.Hatched)
	// 2 events: 0.24 to 7.22 (Garwood 1936, from memory).
	assert.InDelta(t, 0.24, got.Low, 0.005)
	assert.InDelta(t, 7.22, got.High, 0.005)
	assert.True(t, got.Trusted())
	assert.False(t, (&review.Calibration{Expected: 8, Low: 0.24, High: 7.22}).Trusted())
	assert.True(t, (&review.Calibration{Expected: 2, Low: 0.24, High: 7.22}).Vague(), "1 and 4 lie within too")
	assert.False(t, (&review.Calibration{Expected: 20, Low: 12.2, High: 30.9}).Vague())
}

// The deaths of a year stand beside those that its beginning let expect, of the birds that
// lived then alone, and of no other time.
func TestDeathsOfAYear(t *testing.T) {
	for seed := range uint64(3) {
		c := grow(t, seed, size{birds: 300, years: 24, places: 2})
		p := on(t, c, today)
		before := studbook.DayOf(today.Time().Year()-1, today.Time().Month(), today.Time().Day())
		then := on(t, c, before)
		d := review.NewDeaths(p, then)
		require.NotNil(t, d)
		died := 0
		for i := range c.Birds {
			b := &c.Birds[i]
			if b.Hatch.Known() && b.Hatch.Mid() <= before && b.Death.Known() && b.Death.Mid() > before && b.Death.Mid() <= today {
				died++
			}
		}
		assert.Equal(t, died, d.Died, "seed %d", seed)
		assert.Equal(t, len(then.Book.Living), d.Living)
		need := then.Need("", true)
		assert.InDelta(t, float64(d.Living)-need.Expected.Value, d.Expected, 1e-12)
		assert.Positive(t, d.Expected)
		assert.Nil(t, review.NewDeaths(p, on(t, c, before-40)))

		// Chicks are held against what was wanted of the year when it began.
		glances, err := review.Glances(t.Context(), p, "P0")
		require.NoError(t, err)
		for _, g := range glances {
			switch g.Measure {
			case review.Chicks:
				require.True(t, g.Goal.Known)
				assert.Equal(t, on(t, c, before).Need("P0", false).Chicks, g.Goal)
			case review.MeanInbreeding:
				assert.Equal(t, review.NoGoal, g.Standing)
			}
		}
	}
}

// The advice of a year ago is the plan that was made then, with what was known
// then, and every part of it gets one result.
func TestAdviceIsTimeTravel(t *testing.T) {
	results := 0
	for seed := range uint64(4) {
		c := grow(t, seed, size{birds: 300, years: 24, places: 2})
		p := on(t, c, today)
		day := studbook.DayOf(lastYear-1, 12, 31)
		advice, err := adviceOn(t.Context(), p, "P0", day)
		require.NoError(t, err)
		require.NotNil(t, advice)
		then := on(t, c, day)
		d, err := then.Decide(t.Context(), pairing.DecisionOptions{})
		require.NoError(t, err)
		chicks, _ := then.ChicksNeeded("P0", false)
		plan, err := d.Plan(t.Context(), pairing.PlanOptions{Place: "P0", Chicks: chicks})
		require.NoError(t, err)
		want, got := 0.0, 0.0
		for _, x := range plan.Pairs {
			want += x.Expected
		}
		for _, b := range advice.Broods {
			got += b.Expected
			assert.LessOrEqual(t, b.Expected, float64(b.Most))
		}
		assert.InDelta(t, want, got, 1e-12)
		moves := 0
		for _, x := range d.Bonds {
			if m := x.Move; m != nil && (m.From == "P0" || m.To == "P0") {
				moves++
			}
		}
		assert.Len(t, advice.Moves, moves)
		last := review.NewLastYear(p, advice)
		bonds, broods := 0, 0
		for _, b := range advice.Broods {
			if b.New {
				bonds++
			}
			if !b.Elsewhere {
				broods++
			}
		}
		assert.Len(t, last.Results, len(advice.Moves)+broods+bonds)
		results += len(last.Results)
		if last.Pairs > 0 {
			assert.Equal(t, demography.PoissonInterval(last.Hatched, demography.Level), demography.Interval{Low: last.Low, High: last.High})
		}
	}
	assert.Greater(t, results, 20)
	none, err := adviceOn(t.Context(), on(t, grow(t, 1, size{birds: 40, years: 10, places: 1}), today), "P0", studbook.DayOf(1990, 1, 1))
	require.NoError(t, err)
	assert.Nil(t, none)
}

// What became of decisions of people, one of each kind, worked by hand.
func TestWhatBecameOfDecisions(t *testing.T) {
	c := studbooktest.Read(t,
		"studbook.csv", `id,sex,sire,dam,hatch_date,death_date,location,origin
F1,F,wild,wild,2015-05-01,,A,wild
M1,M,wild,wild,2015-05-01,,A,wild
F2,F,wild,wild,2015-05-01,,B,wild
M2,M,wild,wild,2015-05-01,,A,wild
F3,F,wild,wild,2015-05-01,,B,wild
M3,M,wild,wild,2015-05-01,2025-08-01,A,wild
`,
		"moves.csv", "id,date,from,to\nF2,2016-01-01,,A\nF2,2025-10-01,A,B\n",
		"bonds.csv", "female,male,since,until\nF1,M1,2025-09-10,\n",
		"decisions.csv", `date,what,birds,to,decision,by,until,reason
2025-09-01,bond,M1;F1,,agreed,the committee,,
2025-09-02,move,F2,B,agreed,the committee,,
2025-09-03,move,M2,B,agreed,the committee,,
2025-09-04,move,M3,B,agreed,the committee,,
2025-09-05,bond,F2;M2,,declined,the committee,,too few places
2025-09-06,part,F1;M1,,agreed,the committee,,
2025-09-07,move,M1,B,waiting,the committee,,
2025-09-08,move,F3,C,agreed,the committee,,
`,
		"institutions.csv", "code,name\nA,A\nB,B\nC,C\n")
	p := on(t, c, studbook.DayOf(2026, 3, 1))
	advice, err := adviceOn(t.Context(), p, "A", studbook.DayOf(2025, 3, 1))
	require.NoError(t, err)
	advice.Moves, advice.Broods = nil, nil
	var said []string
	for _, r := range review.NewLastYear(p, advice).Results {
		said = append(said, fmt.Sprintf("%s %s: %s", r.What, r.Birds[0].ID, r.Became))
	}
	assert.Equal(t, []string{
		"bond F1: done", "move F2: done", "move M2: not done", "move M3: prevented", "bond F2: declined", "part F1: not done", "move M1: waiting",
	}, said, "and nothing of a bird that never lived there")
}

// adviceOn returns what was advised on an earlier day.
func adviceOn(ctx context.Context, p *pairing.Programme, colony string, day studbook.Day) (*review.Advice, error) {
	then, err := p.Earlier(ctx, day)
	if err != nil {
		return nil, err
	}
	return review.AdviceOf(ctx, p, then, colony)
}
