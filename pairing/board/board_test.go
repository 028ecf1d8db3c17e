package board

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pairing/review"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

func decided(t *testing.T, c *studbook.Colony, day studbook.Day) (*pairing.Programme, *pairing.Decision) {
	t.Helper()
	p, err := pairing.New(t.Context(), c.At(day))
	require.NoError(t, err)
	d, err := p.Decide(t.Context(), pairing.DecisionOptions{})
	require.NoError(t, err)
	return p, d
}

func boardOn(t *testing.T, c *studbook.Colony, colony string, day studbook.Day) *Board {
	t.Helper()
	p, d := decided(t, c, day)
	b, err := New(t.Context(), d, p, colony)
	require.NoError(t, err)
	return b
}

// TestReplacedEggsAreDone: eggs that were replaced ask for nothing more and are no chicks to
// expect, and the pair is known to sit on dummies for a while.
func TestReplacedEggsAreDone(t *testing.T) {
	const birds = "id,sex,sire,dam,hatch_date,location\nF1,F,,,2018-05-01,A\nM1,M,,,2018-05-01,A\n"
	on := func(cells, day string) *Board {
		d, err := studbook.ParseDate(day)
		require.NoError(t, err)
		c := studbooktest.Read(t, "studbook.csv", birds, "bonds.csv", "female,male,since\nF1,M1,2020-02-01\n",
			"clutches.csv", "female,male,laid,eggs,fertile,hatched\nF1,M1,2026-04-20,"+cells+"\n")
		return boardOn(t, c, "A", d.First)
	}
	lying, replaced, none := on("2,,", "2026-05-10"), on("2,,replaced", "2026-05-10"), on("2,,replaced", "2026-07-10")
	require.NotNil(t, lying.Nests[0].Eggs)
	assert.Nil(t, lying.Nests[0].Dummies)
	assert.Nil(t, replaced.Nests[0].Eggs)
	assert.NotNil(t, replaced.Nests[0].Dummies)
	assert.Nil(t, none.Nests[0].Dummies, "it has left them")
	for _, x := range replaced.Tasks {
		assert.NotContains(t, []review.TaskKind{review.CandleEggs, review.ReplaceEggs, HatchDue}, x.What)
	}
	var record pairing.Broods
	record.Add(&studbook.Clutch{Laid: studbook.Date{First: 1, Last: 1, Text: "x"}, Eggs: 2, Fertile: 2, Hatched: -1, Fledged: -1, Replaced: true}, 2)
	assert.Equal(t, 1, record.Dummied, "that nothing hatched says nothing of the pair")
}

// TestDaysStay: what is to be done keeps its day until it is written down, and what became of
// eggs is asked for until somebody tells. Candling is due after 10 days, the hatch after 28.
func TestDaysStay(t *testing.T) {
	const birds = "id,sex,sire,dam,hatch_date,location\nF1,F,,,2018-05-01,A\nM1,M,,,2018-05-01,A\n"
	on := func(cells string, day studbook.Day) map[review.TaskKind]string {
		c := studbooktest.Read(t, "studbook.csv", birds, "bonds.csv", "female,male,since\nF1,M1,2020-02-01\n",
			"clutches.csv", "female,male,laid,eggs,fertile,hatched,fledged\nF1,M1,2026-04-20,2,"+cells+"\n")
		due := map[review.TaskKind]string{}
		for _, x := range boardOn(t, c, "A", day).Tasks {
			due[x.What] = x.Due.String()
		}
		return due
	}
	for _, x := range []struct {
		cells string
		month time.Month
		day   int
		what  review.TaskKind
		due   string
	}{
		{",,", 4, 25, review.CandleEggs, "2026-04-30"},
		{",,", 5, 10, review.CandleEggs, "2026-04-30"},
		{",,", 6, 1, review.CandleEggs, "2026-04-30"}, // 42 days are 28 and 14
		{",,", 6, 2, TellOutcome, "2026-05-18"},
		{",,", 12, 1, TellOutcome, "2026-05-18"},
		{"1,,", 6, 1, HatchDue, "2026-05-18"},
		{"1,,", 6, 2, TellOutcome, "2026-05-18"},
		{"1,0,", 6, 2, TellOutcome, ""},
		{"0,,", 6, 2, TellOutcome, ""},
		{",replaced,", 6, 2, TellOutcome, ""},
		{"1,1,", 6, 2, FledgeDue, "2026-07-17"},
		{"1,1,", 12, 1, FledgeDue, "2026-07-17"},
		{"1,1,0", 12, 1, FledgeDue, ""},
	} {
		assert.Equal(t, x.due, on(x.cells, studbook.DayOf(2026, x.month, x.day))[x.what], "%+v", x)
	}
	for day := 21; day < 25; day++ {
		assert.Equal(t, "2026-04-30", on("0,,", studbook.DayOf(2026, 4, day))[review.ReplaceEggs], "found infertile before")
	}
}

// TestDueFromTheStart: eggs of a pair that nobody wants chicks of are replaced as they are laid,
// not on the last day on which they may be.
func TestDueFromTheStart(t *testing.T) {
	x := Task{Due: 40}
	assert.False(t, x.ThisWeek(30))
	x.Begin = 28
	assert.True(t, x.ThisWeek(30))
	assert.False(t, x.Overdue(40))
	assert.True(t, x.Overdue(41))
}

// TestDayByDay: a colony of a few birds in which everything is to be done, worked by
// hand. Eggs are candled 10 days after the first and hatch 28 days after it, chicks
// fledge 60 days later, quarantine is 30 days.
func TestDayByDay(t *testing.T) {
	c := studbooktest.Read(t,
		"studbook.csv", `id,band,sex,sire,dam,hatch_date,location
F1,b1,F,,,2018-05-01,A
M1,b2,M,,,2018-05-01,A
F2,b3,F,,,2018-05-01,A
M2,b4,M,,,2018-05-01,A
F3,b5,F,,,2018-05-01,A
M3,b6,M,,,2018-05-01,A
C1,,U,M3,F3,2026-04-20,A
N1,b7,F,,,2019-05-01,A
N2,,F,,,2019-05-01,A
Z1,b8,M,,,2019-05-01,B
Y1,b9,M,,,2019-05-01,A
`,
		"bonds.csv", `female,male,since,until,nest
F1,M1,2020-02-01,,box 10
F2,M2,2020-02-01,,box 9
F3,M3,2020-02-01,,
`,
		"clutches.csv", `female,male,laid,eggs,fertile,hatched,fledged
F1,M1,2026-04-21,2,,,
F2,M2,2026-04-20,2,2,,
F3,M3,2026-03-23,1,1,1,
`,
		"moves.csv", "id,date,from,to\nN1,2026-04-20,B,A\nN2,2026-03-01,B,A\n",
		"holds.csv", "id,since,until,reason,blocks\nN1,2026-04-20,2026-06-30,settling in,both\nN2,2026-04-20,,old,moving\n",
		"institutions.csv", "code,name\nA,Here\nB,There\n",
		"requests.csv", "bird,to,asked_by,date\nY1,B,there,2026-05-02\nZ1,A,here,2026-05-02\n",
		"programme.toml", "home = \"A\"\n[months]\nlaying = [4, 5, 6]\n[breeding_age]\nfemale = [2, 20]\nmale = [2, 20]\n")
	b := boardOn(t, c, "A", studbook.DayOf(2026, 5, 6))

	var nests []string
	for _, n := range b.Nests {
		nests = append(nests, n.Nest)
	}
	assert.Equal(t, []string{"box 9", "box 10", ""}, nests)
	assert.NotNil(t, b.Nests[1].Eggs)
	assert.Equal(t, 1, b.Nests[2].Brood.Hatched)

	type due struct {
		what review.TaskKind
		bird string
		day  studbook.Day
	}
	found := map[due]*Task{}
	for k := range b.Tasks {
		x := &b.Tasks[k]
		found[due{x.What, x.Birds[0].ID, x.Due}] = x
		if k > 0 && x.Due != 0 {
			assert.LessOrEqual(t, b.Tasks[k-1].Due, x.Due)
		}
	}
	day := studbook.DayOf
	for _, want := range []due{
		{review.CandleEggs, "F1", day(2026, 5, 1)},
		{HatchDue, "F2", day(2026, 5, 18)},
		{FledgeDue, "F3", day(2026, 6, 19)},
		{BandBird, "C1", day(2026, 6, 19)},
		{BandBird, "N2", 0},
		{review.SexBird, "C1", 0},
		{EndQuarantine, "N1", day(2026, 5, 20)},
		{LookAtHold, "N1", day(2026, 6, 30)},
		{AnswerRequest, "Y1", day(2026, 5, 16)},
	} {
		assert.Contains(t, found, want)
	}
	for x := range found {
		assert.False(t, x.what == EndQuarantine && x.bird == "N2", "over since 31 March")
		assert.False(t, x.what == AnswerRequest && x.bird == "Z1", "B answers for its own")
		assert.False(t, x.what == HatchDue && x.bird == "F1", "not candled yet")
		assert.False(t, x.what == LookAtHold && x.bird == "N2", "it has no end")
	}
	assert.Equal(t, "box 10", found[due{review.CandleEggs, "F1", day(2026, 5, 1)}].Nest)
	assert.True(t, found[due{review.CandleEggs, "F1", day(2026, 5, 1)}].ThisWeek(day(2026, 5, 6)))
	assert.False(t, found[due{HatchDue, "F2", day(2026, 5, 18)}].ThisWeek(day(2026, 5, 6)))
	assert.True(t, found[due{HatchDue, "F2", day(2026, 5, 18)}].Soon(day(2026, 4, 19)))
	assert.False(t, found[due{HatchDue, "F2", day(2026, 5, 18)}].Soon(day(2026, 4, 18)), "thirty days off")
	assert.False(t, found[due{HatchDue, "F2", day(2026, 5, 18)}].Overdue(day(2026, 5, 18)), "on its day it is due")
	assert.True(t, found[due{HatchDue, "F2", day(2026, 5, 18)}].Overdue(day(2026, 5, 19)))

	// Four weeks on nobody has candled them: a chick may lie there.
	late := boardOn(t, c, "A", day(2026, 5, 30))
	assert.Condition(t, func() bool {
		for _, x := range late.Tasks {
			if x.What == review.CandleEggs && x.Birds[0].ID == "F1" {
				return x.MayHaveHatched
			}
		}
		return false
	})
}

// TestEveryBirdOnce: whatever the day, each living bird of a colony of the example
// stands on its board once.
func TestEveryBirdOnce(t *testing.T) {
	c := studbooktest.Example(t)
	for _, day := range []studbook.Day{studbook.DayOf(2004, 6, 1), studbook.DayOf(2026, 5, 20), studbook.DayOf(2026, 9, 30)} {
		p, d := decided(t, c, day)
		for _, place := range p.Book.Locations() {
			b, err := New(t.Context(), d, p, place)
			require.NoError(t, err)
			var birds []int
			seen := map[int]bool{}
			for _, n := range b.Nests {
				for _, i := range [2]int{n.Female, n.Male} {
					if !seen[i] { // one may have two mates
						birds = append(birds, i)
					}
					seen[i] = true
				}
			}
			for _, x := range b.Birds {
				birds = append(birds, x.Bird)
				assert.True(t, x.Bond != nil || x.Alone.Code != "", "%s: nothing is said of it", b.Programme.Name(x.Bird))
			}
			assert.ElementsMatch(t, b.Programme.Book.LivingAt(place), birds, "%s on %s", place, day)
		}
	}
}

// TestColonyOfOnePlace: without locations there is nobody to ask and nobody who asks.
func TestColonyOfOnePlace(t *testing.T) {
	c := studbooktest.Read(t, "studbook.csv", "id,sex,sire,dam\nA,F,,\nB,M,,\nC,U,B,A\n", "requests.csv", "bird,to\nA,X\n")
	b := boardOn(t, c, "", studbook.DayOf(2026, 1, 1))
	assert.Len(t, b.Birds, 3)
	for _, x := range b.Tasks {
		assert.NotEqual(t, AnswerRequest, x.What)
	}
}
