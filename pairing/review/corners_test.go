package review_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pairing/review"
	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// reviewed reviews a colony of a few birds on 1 March 2026.
func reviewed(t *testing.T, colony string, files ...string) *review.Review {
	t.Helper()
	runs := 0
	p := on(t, studbooktest.Read(t, files...), studbook.DayOf(2026, 3, 1))
	r, err := review.New(t.Context(), p, review.Options{Colony: colony, Runs: &runs, Drop: pedigree.Drop{Iterations: 128}})
	require.NoError(t, err)
	return r
}

const few = "id,sex,sire,dam,hatch_date,location,origin\nF1,F,wild,wild,2018-05-01,A,wild\nM1,M,wild,wild,2018-05-01,A,wild\nF2,F,wild,wild,2018-05-01,A,wild\n" +
	"M2,M,wild,wild,2018-05-01,B,wild\nM3,M,wild,wild,2018-05-01,B,wild\n"

const ages = "[breeding_age]\nfemale = [2, 20]\nmale = [2, 20]\n[months]\nlaying = [4, 5]\n"

// TestMissingByHand: what a review cannot say is said, of a colony of one sex, of one
// that nobody has sexed and of birds without a day of hatch.
func TestMissingByHand(t *testing.T) {
	codes := func(r *review.Review) (out []pairing.Code) {
		for _, x := range r.Missing() {
			out = append(out, x.Code)
		}
		return out
	}
	assert.Contains(t, codes(reviewed(t, "B", "studbook.csv", few, "programme.toml", ages)), review.NoFemale)
	hens := few + "F3,F,wild,wild,,C,wild\nF4,F,wild,wild,2018-05-01,C,wild\n"
	got := codes(reviewed(t, "C", "studbook.csv", hens, "programme.toml", ages))
	assert.Contains(t, got, review.NoMale)
	assert.Contains(t, got, review.SomeUndated)
	assert.NotContains(t, got, review.NoHatchDates)
}

// TestFailedPairs: a pair whose eggs came to nothing for three seasons, and that the plan
// does not count on, is parted between seasons; nobody knows whether they were fertile.
func TestFailedPairs(t *testing.T) {
	rows := few
	for k := range 6 { // so common a line that no chick of it is wanted
		rows += fmt.Sprintf("C%d,%s,M1,F1,2020-05-01,A,captive\n", k, []string{"F", "M"}[k%2])
	}
	r := reviewed(t, "A", "studbook.csv", rows, "bonds.csv", "female,male,since\nF1,M1,2019-03-01\nC0,M2,2023-01-01\n",
		"clutches.csv", "female,male,laid,eggs,fertile,hatched,fledged\nF1,M1,2023-04-10,,,1,0\nF1,M1,2024-04-10,,,1,0\nF1,M1,2025-04-10,,,1,0\n", "programme.toml", ages)
	var pair *review.PairReview
	for k := range r.Pairs {
		if r.Programme.Book.Birds[r.Pairs[k].Female].ID == "F1" {
			pair = &r.Pairs[k]
		}
	}
	require.NotNil(t, pair)
	assert.Equal(t, 3, pair.FailedSeasons)
	said := map[pairing.Code]int{}
	for _, x := range pair.Why {
		said[x.Code] = x.Count
	}
	assert.Equal(t, 3, said[pairing.FailedChicks], "whether an egg was fertile nobody wrote down, but chicks hatched")
	assert.Equal(t, pairing.Rest, pair.Role)
	assert.Equal(t, review.Examine, pair.Action)
}

// TestLeavingElsewhere: a bird of another place that leaves the programme is a cause
// of the programme's change, and none of the colony's.
func TestLeavingElsewhere(t *testing.T) {
	r := reviewed(t, "A", "studbook.csv", few+"M4,M,wild,wild,2018-05-01,,wild\n", "moves.csv", "id,date,from,to\nM4,2018-06-01,,B\nM4,2025-10-01,B,\n", "programme.toml", ages)
	found := false
	for _, c := range r.Change.Causes {
		if c.Kind == review.LeftElsewhere {
			found = true
			assert.Equal(t, "M4", r.Programme.Book.Birds[c.Event.Bird].ID)
			assert.Zero(t, c.Colony)
			// One of six unrelated founders less: 1 − 1/(2·5) from 1 − 1/(2·6).
			assert.InDelta(t, 1.0/12-1.0/10, c.Programme, 1e-12)
		}
	}
	assert.True(t, found)
}

// TestHistoryBeginsWithTheLiving: years before the first in which birds live at its end
// are not told, though one hatched and died in them.
func TestHistoryBeginsWithTheLiving(t *testing.T) {
	c := studbooktest.Read(t, "studbook.csv", "id,sex,sire,dam,hatch_date,death_date,location,origin\nX,F,D,E,2001-03-01,2001-05-01,A,captive\nY,M,,,2010-03-01,,A,captive\nZ,F,D,E,2010-03-01,,A,captive\n", "programme.toml", ages)
	p := on(t, c, studbook.DayOf(2012, 6, 1))
	history := review.History(p, p.Census(), "A")
	require.NotEmpty(t, history)
	assert.Equal(t, 2010, history[0].Day.Time().Year())
	assert.Equal(t, 2, history[0].Programme.Size)
}

// TestHatchesThatPeopleDecided: what became of chicks that people let a pair have, and
// of a move that nobody wrote down.
func TestHatchesThatPeopleDecided(t *testing.T) {
	c := studbooktest.Read(t, "studbook.csv", few+"X,F,M1,F1,2025-06-01,A,captive\n",
		"bonds.csv", "female,male,since\nF1,M1,2020-01-01\n",
		"clutches.csv", "female,male,laid,eggs,fertile,hatched\nF1,M1,2025-04-20,2,2,1\n",
		"decisions.csv", "date,what,birds,to,decision,by,until,reason\n2025-03-10,hatch,M1;F1,,agreed,,,\n2025-03-11,move,F2,A,agreed,,,\n", "programme.toml", ages)
	p := on(t, c, studbook.DayOf(2026, 3, 1))
	advice, err := adviceOn(t.Context(), p, "A", studbook.DayOf(2025, 3, 1))
	require.NoError(t, err)
	advice.Moves, advice.Broods = nil, nil
	got := review.NewLastYear(p, advice)
	require.Len(t, got.Results, 2)
	assert.Equal(t, review.HatchChicks, got.Results[0].What)
	assert.Equal(t, review.Done, got.Results[0].Became)
	assert.Equal(t, 1, got.Results[0].Hatched)
	assert.Equal(t, 0, got.Pairs, "nothing was expected of it")
	assert.Equal(t, review.Done, got.Results[1].Became, "it lives there, whoever wrote down when it came")
}

// TestWhatPeopleSaidOfAMove: the reason of a move that people agreed on stands before
// that of the decision.
func TestWhatPeopleSaidOfAMove(t *testing.T) {
	r := reviewed(t, "A", "studbook.csv", few, "programme.toml", ages,
		"decisions.csv", "date,what,birds,to,decision,by,until,reason\n2026-02-01,move,M2;F2,A,agreed,the committee,,a rare line\n")
	var said []pairing.Reason
	for _, x := range r.Decisions {
		if x.What == review.MoveBird && x.Birds[0].ID == "M2" {
			said = x.Why
		}
	}
	require.NotEmpty(t, said)
	assert.Equal(t, pairing.SaidYes, said[0].Code)
	assert.Equal(t, "a rare line", said[0].Note)
}
