package demography_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook"
)

// on returns the date of one day, or the dates of a year.
func on(t testing.TB, s string) studbook.Date {
	t.Helper()
	if len(s) == 4 {
		first, last := on(t, s+"-01-01"), on(t, s+"-12-31")
		return studbook.Date{First: first.First, Last: last.First, Text: s}
	}
	d, err := time.Parse("2006-01-02", s)
	require.NoError(t, err)
	day := studbook.DayOf(d.Date())
	return studbook.Date{First: day, Last: day, Text: s}
}

func day(t testing.TB, s string) studbook.Day { return on(t, s).Mid() }

// is returns the parentage of one parent for certain.
func is(id string) studbook.Parentage {
	return studbook.Parentage{Candidates: []studbook.Candidate{{ID: id, Weight: 1}}}
}

// age returns the years between two days.
func age(t testing.TB, from, to string) float64 {
	return float64(day(t, to)-day(t, from)) / studbook.DaysPerYear
}

// twoHouses is an invented programme of two institutions, small enough to count
// by hand. F1, M1 and W are of wild origin: F1 came by a move, M1 is first heard
// of when it is paired, of W nothing says when it came.
func twoHouses(t testing.TB) *studbook.Colony {
	row := func(id string, sex studbook.Sex, hatch, death, location string, sire, dam studbook.Parentage) studbook.Bird {
		b := studbook.Bird{ID: id, Sex: sex, Location: location, Sire: sire, Dam: dam, Origin: studbook.OriginCaptive, Recorded: true}
		if hatch != "" {
			b.Hatch = on(t, hatch)
		}
		if death != "" {
			b.Death = on(t, death)
		}
		return b
	}
	var unknown studbook.Parentage
	wild := func(b studbook.Bird) studbook.Bird { b.Origin = studbook.OriginWild; return b }
	return &studbook.Colony{
		HasLocation: true, HasOrigin: true,
		Birds: []studbook.Bird{
			wild(row("F1", studbook.Female, "2000-01-01", "", "A", unknown, unknown)),
			wild(row("M1", studbook.Male, "2000", "2009-12-31", "A", unknown, unknown)),
			wild(row("W", studbook.Female, "1999", "", "B", unknown, unknown)),
			row("C1", studbook.Female, "2005-06-01", "", "B", is("M1"), is("F1")),
			row("C2", studbook.Unsexed, "2005-06-10", "2005-06-30", "A", is("M1"), is("F1")),
			row("C3", studbook.Male, "2006-06-01", "2010-06-01", "A", is("M1"), is("F1")),
			row("C4", studbook.Female, "2009-05-01", "", "B", studbook.Parentage{Candidates: []studbook.Candidate{{ID: "C3", Weight: .5}, {ID: "M1", Weight: .25}}}, is("C1")),
			row("X", studbook.Male, "", "", "A", unknown, unknown),
		},
		Moves: []studbook.Move{
			{ID: "F1", Date: on(t, "2003-01-01"), To: "A"},
			{ID: "C1", Date: on(t, "2007-06-01"), From: "A", To: "B"},
		},
		Bonds: []studbook.Bond{{Female: "F1", Male: "M1", Since: on(t, "2004-01-01")}},
	}
}

func census(t testing.TB, c *studbook.Colony, asOf string) *demography.Census {
	return demography.NewCensus(c.At(day(t, asOf)))
}

func TestWatchByHand(t *testing.T) {
	c := census(t, twoHouses(t), "2011-01-01")
	all := c.Watch(demography.Programme, demography.Everyone, 0)
	hatchM1 := on(t, "2000").Mid().String()
	assert.ElementsMatch(t, []demography.Life{
		{Entry: age(t, "2000-01-01", "2003-01-01"), Exit: age(t, "2000-01-01", "2011-01-01"), Weight: 1},
		{Entry: age(t, hatchM1, "2004-01-01"), Exit: age(t, hatchM1, "2009-12-31"), Died: true, Weight: 1},
		{Exit: age(t, "2005-06-01", "2011-01-01"), Weight: 1},
		{Exit: age(t, "2005-06-10", "2005-06-30"), Died: true, Weight: 1},
		{Exit: age(t, "2006-06-01", "2010-06-01"), Died: true, Weight: 1},
		{Exit: age(t, "2009-05-01", "2011-01-01"), Weight: 1},
	}, all.Lives)
	assert.Equal(t, 1, all.NoHatchDate, "X")
	assert.Equal(t, 1, all.NoFirstSign, "W")
	assert.Len(t, all.Broods, 3*2+1+2)
	assert.Equal(t, .125, all.Unassigned, "a quarter of C4's sire is unknown")

	// At A: C1 leaves in 2007, C4 never was there.
	females := c.Watch("A", demography.Females, 0)
	assert.ElementsMatch(t, []demography.Life{
		{Entry: age(t, "2000-01-01", "2003-01-01"), Exit: age(t, "2000-01-01", "2011-01-01"), Weight: 1},
		{Exit: age(t, "2005-06-01", "2007-06-01"), Weight: 1},
		{Exit: age(t, "2005-06-10", "2005-06-30"), Died: true, Weight: .5},
	}, females.Lives)
	// Daughters of F1: C1 and half of C2.
	assert.ElementsMatch(t, []demography.Brood{
		{Age: age(t, "2000-01-01", "2005-06-01"), Chicks: 1},
		{Age: age(t, "2000-01-01", "2005-06-10"), Chicks: .5},
	}, females.Broods)
	assert.Equal(t, 0.0, females.Unassigned)

	// At B the daughter of C1; C1 came in at two years.
	females = c.Watch("B", demography.Females, 0)
	assert.ElementsMatch(t, []demography.Life{
		{Entry: age(t, "2005-06-01", "2007-06-01"), Exit: age(t, "2005-06-01", "2011-01-01"), Weight: 1},
		{Exit: age(t, "2009-05-01", "2011-01-01"), Weight: 1},
	}, females.Lives)
	assert.Equal(t, []demography.Brood{{Age: age(t, "2005-06-01", "2009-05-01"), Chicks: 1}}, females.Broods)

	// Since a day, those living then enter at their age on it.
	late := c.Watch("A", demography.Males, day(t, "2010-01-01"))
	assert.Equal(t, []demography.Life{
		{Entry: age(t, "2006-06-01", "2010-01-01"), Exit: age(t, "2006-06-01", "2010-06-01"), Died: true, Weight: 1},
	}, late.Lives)

	table, own := c.LifeTable("A", demography.Everyone, 0)
	assert.False(t, own, "a handful of birds is no table")
	assert.Equal(t, all.LifeTable(), table)
}

func TestWatchEndsWhereTheFilesDo(t *testing.T) {
	colony := twoHouses(t)
	colony.Settings.CurrentTo = day(t, "2010-03-01")
	c := census(t, colony, "2011-01-01")
	assert.Equal(t, "2010-06-01", c.WatchedUntil().String(), "a later death is on record")
	colony.Settings.CurrentTo = day(t, "2010-09-01")
	c = census(t, colony, "2011-01-01")
	assert.Equal(t, "2010-09-01", c.WatchedUntil().String())
	curve := c.Watch("B", demography.Females, 0).Survival()
	assert.Equal(t, age(t, "2005-06-01", "2010-09-01"), curve.Last)
	assert.Equal(t, "2010-01-01", census(t, colony, "2010-01-01").WatchedUntil().String())
}

// A chick may hatch after its sire has died, and then counts at the age of his
// death, but not years later. A captive bird that a move brings from nowhere
// in the studbook was not watched before. A death whose date says only the year
// of hatch is on the day of hatch at the earliest.
func TestWatchOddLives(t *testing.T) {
	bird := func(id string, hatch, death string, sire studbook.Parentage) studbook.Bird {
		b := studbook.Bird{ID: id, Sex: studbook.Male, Hatch: on(t, hatch), Sire: sire, Origin: studbook.OriginCaptive, Recorded: true}
		if death != "" {
			b.Death = on(t, death)
		}
		return b
	}
	colony := &studbook.Colony{
		HasOrigin: true,
		Birds: []studbook.Bird{
			bird("sire", "2000-01-01", "2004-01-01", studbook.Parentage{}),
			bird("late", "2004-02-01", "", is("sire")),
			bird("never", "2007-02-01", "", is("sire")),
			bird("came", "2001-01-01", "", studbook.Parentage{}),
			bird("short", "2005-11-01", "2005", is("late")),
		},
		Moves: []studbook.Move{{ID: "came", Date: on(t, "2006-01-01"), To: "A"}},
	}
	colony.Birds[3].Hatch = studbook.Date{First: day(t, "2000-01-01"), Last: day(t, "2002-12-31")}
	c := census(t, colony, "2010-01-01")
	w := c.Watch(demography.Programme, demography.Males, 0)
	hatchCame := colony.Birds[3].Hatch.Mid().String()
	assert.ElementsMatch(t, []demography.Life{
		{Exit: age(t, "2000-01-01", "2004-01-01"), Died: true, Weight: 1},
		{Exit: age(t, "2004-02-01", "2010-01-01"), Weight: 1},
		{Exit: age(t, "2007-02-01", "2010-01-01"), Weight: 1},
		{Entry: age(t, hatchCame, "2006-01-01"), Exit: age(t, hatchCame, "2010-01-01"), Weight: 1},
		{Died: true, Weight: 1},
	}, w.Lives)
	assert.ElementsMatch(t, []demography.Brood{
		{Age: age(t, "2000-01-01", "2004-01-01"), Chicks: 1},
		{Age: age(t, "2004-02-01", "2005-11-01"), Chicks: 1},
	}, w.Broods)
	assert.Equal(t, 1.0+1, w.Unassigned, "of never, and of sire, hatched here of nobody")
	assert.Equal(t, 1, c.AgeStructure(demography.Programme).Vague, "came")
}

func TestLedgerByHand(t *testing.T) {
	c := census(t, twoHouses(t), "2011-01-01")
	year := func(scope demography.Scope, y int) demography.Ledger {
		return c.Ledger(scope, studbook.DayOf(y-1, time.December, 31), studbook.DayOf(y, time.December, 31))
	}
	l := year("A", 2005)
	assert.Equal(t, 3, l.Start, "F1, M1, X")
	assert.Equal(t, 2, l.Hatched)
	assert.Equal(t, 1, l.Died)
	assert.Equal(t, 4, l.End)
	assert.Equal(t, 1, year("A", 2007).Departed)
	assert.Equal(t, 1, year("B", 2007).Arrived)
	assert.Equal(t, 0, year(demography.Programme, 2007).Arrived)
	assert.Equal(t, 1, year(demography.Programme, 1999).Founders, "W")

	// F1 is at A from its arrival in 2003, not from its hatch in 2000; M1, of which no
	// move from outside is on record, from its hatch in 2000 (design, section 3). Of X
	// nothing says that it was not always there.
	years := c.Years("A")
	assert.Equal(t, "1999-12-31", years[0].From.String())
	assert.Equal(t, 1, years[0].Start, "X")
	assert.Equal(t, 1, years[0].Founders, "M1")
	assert.Equal(t, 1, years[3].Founders, "F1")
	assert.Equal(t, "2011-01-01", years[len(years)-1].To.String())
	assert.Len(t, years, 12)
	assert.Empty(t, c.Years("nowhere"))
}

// A bird that left is watched until then and is no death; one that came back
// is watched again. Worked by hand.
func TestBirdsThatLeaveAndComeBack(t *testing.T) {
	colony := twoHouses(t)
	colony.Moves = append(colony.Moves,
		studbook.Move{ID: "C3", Date: on(t, "2007-06-01"), From: "A"},
		studbook.Move{ID: "C3", Date: on(t, "2009-06-01"), To: "B"},
		studbook.Move{ID: "F1", Date: on(t, "2010-03-01"), From: "A"})
	c := census(t, colony, "2011-01-01")
	birth := "2006-06-01"
	assert.ElementsMatch(t, []demography.Life{
		{Entry: age(t, on(t, "2000").Mid().String(), "2004-01-01"), Exit: age(t, on(t, "2000").Mid().String(), "2009-12-31"), Died: true, Weight: 1},
		{Exit: age(t, birth, "2007-06-01"), Weight: 1},
		{Entry: age(t, birth, "2009-06-01"), Exit: age(t, birth, "2010-06-01"), Died: true, Weight: 1},
		{Exit: age(t, "2005-06-10", "2005-06-30"), Died: true, Weight: .5},
	}, c.Watch(demography.Programme, demography.Males, 0).Lives)
	ledger := func(scope demography.Scope, y int) demography.Ledger {
		return c.Ledger(scope, studbook.DayOf(y-1, time.December, 31), studbook.DayOf(y, time.December, 31))
	}
	assert.Equal(t, 1, ledger(demography.Programme, 2007).Departed)
	assert.Equal(t, 1, ledger("B", 2009).Founders, "and 2009 it came back, to B")
	assert.Equal(t, 1, ledger("A", 2010).Departed, "F1")
	for _, scope := range []demography.Scope{demography.Programme, "A", "B"} {
		for _, l := range c.Years(scope) {
			assert.Equal(t, l.End, l.Start+l.Hatched+l.Founders+l.Arrived-l.Departed-l.Died, "%s %s", scope, l.To)
		}
	}
	var kinds []demography.EventKind
	for _, e := range c.Events(day(t, "2006-12-31"), day(t, "2011-01-01")) {
		if book := colony.At(day(t, "2011-01-01")); book.Birds[e.Bird].ID == "C3" {
			kinds = append(kinds, e.Kind)
		}
	}
	assert.Equal(t, []demography.EventKind{demography.Left, demography.CameIn, demography.Died}, kinds)
}

func TestAgesAndSexes(t *testing.T) {
	c := census(t, twoHouses(t), "2011-01-01")
	a := c.AgeStructure(demography.Programme)
	require.Len(t, a.Classes, 12)
	assert.Equal(t, demography.AgeCount{Age: 1, Females: 1}, a.Classes[1], "C4")
	assert.Equal(t, demography.AgeCount{Age: 5, Females: 1}, a.Classes[5], "C1")
	assert.Equal(t, demography.AgeCount{Age: 11, Females: 2}, a.Classes[11], "F1, W")
	assert.Equal(t, demography.AgeCount{Males: 1}, a.Unknown)
	assert.Equal(t, 0, a.Vague, "half a year is not more than half a year")
	assert.InDelta(t, (age(t, "2005-06-01", "2011-01-01")+age(t, "2000-01-01", "2011-01-01"))/2, a.Median.Value, 1e-12, "between C1 and the younger of F1 and W")

	assert.Equal(t, []float64{0, 1, 0, 3}, a.Counts(demography.Females, 4))
	assert.Equal(t, []float64{0}, a.Counts(demography.Males, 1))
	young := census(t, twoHouses(t), "2005-06-20").AgeStructure("A")
	assert.Equal(t, 2.5, young.Counts(demography.Females, 1)[0], "C1, half of C2, and F1")

	r := c.SexRatio("A")
	assert.Equal(t, 1, r.Males.Count)
	assert.Equal(t, 2, r.Males.Of)
	assert.True(t, r.Males.TooFew)
	assert.False(t, c.SexRatio("nowhere").Males.Known)
	assert.Empty(t, c.AgeStructure("nowhere").Classes)
}

// Worked by hand: a dam hatched in 2000 with one chick in each of the years
// from 2001 to 2020 breeds from 1 year on; one parent tells of no end.
func TestBreedingAgesFromTheRecord(t *testing.T) {
	colony := &studbook.Colony{Birds: []studbook.Bird{{ID: "D", Sex: studbook.Female, Hatch: on(t, "2000-06-01"), Recorded: true}}}
	for year := 2001; year <= 2020; year++ {
		colony.Birds = append(colony.Birds, studbook.Bird{
			ID: fmt.Sprint("C", year), Sex: studbook.Unsexed, Hatch: on(t, fmt.Sprintf("%d-06-01", year)), Recorded: true,
			Dam: studbook.Parentage{Candidates: []studbook.Candidate{{ID: "D", Weight: 1}}},
		})
	}
	ages := demography.BreedingAgesOf(colony.At(day(t, "2021-01-01")), studbook.Female)
	assert.Equal(t, 1, ages.Parents)
	assert.InDelta(t, 1, ages.First, 0.01)
	assert.Zero(t, ages.Last)
	assert.Equal(t, demography.BreedingAges{First: 2, FirstFrom: demography.FromPractice, Parents: 1},
		demography.BreedingAgesOf(colony.At(day(t, "2020-01-01")), studbook.Female), "19 are too few")

	colony.Settings.OldestAge = 25
	ages = demography.BreedingAgesOf(colony.At(day(t, "2021-01-01")), studbook.Female)
	assert.Equal(t, 25.0, ages.Last)
	assert.Equal(t, demography.FromOldestAge, ages.LastFrom)
}

// parents returns a colony of dams that hatched in 2000, each with one chick at
// every one of its ages from 2 to its last; one that died did so at an age.
func parents(t *testing.T, last, died []int) *studbook.Colony {
	c := &studbook.Colony{}
	for k := range last {
		dam := studbook.Bird{ID: fmt.Sprint("D", k), Sex: studbook.Female, Hatch: on(t, "2000-06-01"), Recorded: true}
		if died[k] > 0 {
			dam.Death = on(t, fmt.Sprintf("%d-06-01", 2000+died[k]))
		}
		c.Birds = append(c.Birds, dam)
		for age := 2; age <= last[k]; age++ {
			c.Birds = append(c.Birds, studbook.Bird{
				ID: fmt.Sprint("C", k, "-", age), Sex: studbook.Unsexed, Hatch: on(t, fmt.Sprintf("%d-06-01", 2000+age)), Recorded: true,
				Dam: studbook.Parentage{Candidates: []studbook.Candidate{{ID: dam.ID, Weight: 1}}},
			})
		}
	}
	return c
}

// Worked by hand with Kaplan & Meier's product over 20 dams. All stopped at 10
// and were watched to 15: nobody breeds beyond 10. With one of them alive, who
// may breed on, 1 of 20 is left at 10: the curve stands at 1/20 = 5 % there. With
// two alive it stands at 10 %, and the record shows no end. Dams of a young
// programme that bred at 2 to 4 and are alive at 9 do not show one either, nor
// do dams that died within two years of their last brood.
func TestLastBreedingAge(t *testing.T) {
	all := func(n, x int) []int {
		s := make([]int, n)
		for k := range s {
			s[k] = x
		}
		return s
	}
	alive := func(n int) []int {
		died := all(20, 15)
		for k := range n {
			died[k] = 0
		}
		return died
	}
	for _, tt := range []struct {
		name       string
		last, died []int
		day        string
		want       float64
		oldest     float64
	}{
		{"all stopped", all(20, 10), all(20, 15), "2016-01-01", 10, 0},
		{"one lives", all(20, 10), alive(1), "2016-01-01", 10, 0},
		{"two live", all(20, 10), alive(2), "2016-01-01", 0, 0},
		{"two live, and an oldest age is set", all(20, 10), alive(2), "2016-01-01", 25, 25},
		{"never above the oldest age", all(20, 10), all(20, 15), "2016-01-01", 8, 8},
		{"a young programme", all(20, 4), all(20, 0), "2009-07-01", 0, 0},
		{"died soon after", all(20, 10), all(20, 11), "2016-01-01", 0, 0},
		{"too few", all(19, 10), all(19, 15), "2016-01-01", 0, 0},
	} {
		colony := parents(t, tt.last, tt.died)
		colony.Settings.OldestAge = tt.oldest
		assert.InDelta(t, tt.want, demography.BreedingAgesOf(colony.At(day(t, tt.day)), studbook.Female).Last, 0.01, tt.name)
	}
}

func TestBreedingByHand(t *testing.T) {
	colony := twoHouses(t)
	c := census(t, colony, "2011-01-01")
	assert.Equal(t, demography.BreedingAges{First: 2, FirstFrom: demography.FromPractice, Parents: 2}, demography.BreedingAgesOf(colony.At(day(t, "2011-01-01")), studbook.Female), "too few parents on record")
	colony.Settings.FemaleFirst, colony.Settings.FemaleLast = 3, 15
	assert.Equal(t, demography.BreedingAges{First: 3, Last: 15, FirstFrom: demography.FromSettings, LastFrom: demography.FromSettings, Parents: 2}, demography.BreedingAgesOf(colony.At(day(t, "2011-01-01")), studbook.Female))
	assert.Equal(t, demography.BreedingAges{First: 2, FirstFrom: demography.FromPractice, Parents: 3}, demography.BreedingAgesOf(colony.At(day(t, "2011-01-01")), studbook.Unsexed), "the wider of the two")
	colony.Settings.FemaleFirst, colony.Settings.FemaleLast = 0, 0

	b := c.Breeding(demography.Programme, day(t, "2008-01-01"), day(t, "2011-01-01"))
	assert.Equal(t, 1, b.Chicks)
	assert.Equal(t, 1, b.Dams)
	assert.Equal(t, 0, b.Sires, "the sire is not certain")
	assert.Equal(t, 0.0, b.Size)
	assert.Equal(t, 1, b.Females.Count)
	assert.Equal(t, 3, b.Females.Of, "F1, W and C1; C4 is too young")
	assert.Equal(t, 1, b.Males.Of, "X, of unknown age")

	colony.Settings.FemaleFirst = 50
	c = census(t, colony, "2011-01-01")
	b = c.Breeding(demography.Programme, day(t, "2008-01-01"), day(t, "2011-01-01"))
	assert.Equal(t, 1, b.Females.Of, "who has bred is adult whatever the settings say")
	assert.Equal(t, 2, c.Breeding("A", 0, day(t, "2006-01-01")).Chicks)
	assert.Equal(t, 2.0, c.Breeding("A", 0, day(t, "2006-01-01")).Size, "F1 and M1")
	colony.Settings.FemaleFirst = 2
	c = census(t, colony, "2011-01-01")

	p := c.ParentAges("B", 0, day(t, "2011-01-01"))
	sires := (.5*age(t, "2006-06-01", "2009-05-01") + .25*age(t, on(t, "2000").Mid().String(), "2009-05-01")) / .75
	assert.InDelta(t, sires, p.Sires.Value.Value, 1e-12)
	assert.Equal(t, .75, p.Sires.N)
	assert.False(t, p.Sires.SE.Known)
	assert.Equal(t, age(t, "2005-06-01", "2009-05-01"), p.Dams.Value.Value)
	assert.InDelta(t, (sires+p.Dams.Value.Value)/2, p.Length.Value, 1e-12)
	assert.False(t, c.ParentAges("nowhere", 0, day(t, "2011-01-01")).Length.Known)

	// M1 died after breeding: C1 and C3 grew up, C2 did not. C3 left none for
	// certain, but died younger than males breed.
	colony.Settings.MaleFirst = 4.5
	c = census(t, colony, "2011-01-01")
	f := c.Families()
	assert.Equal(t, 1, f.Breeders)
	assert.False(t, f.Size.Known)
}

func TestReachedAge(t *testing.T) {
	c := census(t, twoHouses(t), "2011-01-01")
	p := c.ReachedAge(demography.Programme, 0, 1)
	assert.Equal(t, 3, p.Count)
	assert.Equal(t, 4, p.Of)
	exact, _ := demography.ClopperPearson(3, 4, .95)
	assert.Equal(t, exact, p.Exact)
	p = c.ReachedAge("A", 0, 1)
	assert.Equal(t, 2, p.Count, "C1 too: it left after its first year")
	assert.Equal(t, 3, p.Of)
	p = c.ReachedAge(demography.Programme, 0, 4)
	assert.Equal(t, 2, p.Count, "C1, and C3 that died the day after it was four")
	assert.Equal(t, 3, p.Of)
	p = c.ReachedAge(demography.Programme, 0, 2)
	assert.Equal(t, 3, p.Of, "C4 could not be two yet")
	assert.False(t, c.ReachedAge(demography.Programme, day(t, "2010-06-01"), 1).Known)
}

// A population in balance: each year ten chicks hatch of which half live to one
// year, nobody dies between one and three, everybody dies at three and a half.
func steady(t testing.TB) *studbook.Colony {
	c := &studbook.Colony{HasOrigin: true}
	for year := 1990; year < 2020; year++ {
		for k := range 10 {
			hatch := studbook.DayOf(year, time.May, 1)
			death := hatch + 100
			if k >= 5 {
				death = hatch + 1278
			}
			c.Birds = append(c.Birds, studbook.Bird{
				ID: fmt.Sprintf("%d-%d", year, k), Sex: []studbook.Sex{studbook.Female, studbook.Male}[k%2],
				Hatch: studbook.Date{First: hatch, Last: hatch}, Death: studbook.Date{First: death, Last: death},
				Origin: studbook.OriginCaptive, Recorded: true,
			})
		}
	}
	return c
}

// The number that holds a balanced population is what hatches in it. Counted in
// April, before the hatch, 15 birds of nearly 1, 2 and 3 years live; those of
// nearly 3 die. The chicks' first year begins after them, so 15 are held by
// 5/0.5 = 10 chicks.
func TestNeedOfABalancedPopulation(t *testing.T) {
	c := census(t, steady(t), "2015-04-20")
	n := c.Need(demography.Programme, 15, demography.Year{})
	assert.Equal(t, 15, n.Living)
	assert.Equal(t, 15, n.ByCurve)
	assert.Equal(t, .5, n.Reached.Value)
	assert.InDelta(t, 10, n.Expected.Value, 1e-9)
	assert.Equal(t, 10.0, n.Chicks.Value)
	assert.Less(t, n.Least.Value, 10.0)
	assert.Greater(t, n.Most.Value, 10.0)
	assert.True(t, n.OwnRecords)
	assert.Equal(t, 0.0, c.Need(demography.Programme, 3, demography.Year{}).Chicks.Value, "more live already")
	assert.Equal(t, 20.0, c.Need(demography.Programme, 20, demography.Year{}).Chicks.Value)
	assert.Equal(t, n, c.Need("ANY", 15, demography.Year{}), "without locations every colony is the programme")
}

// A balanced population hatches ten chicks a year, on whatever day of the year it is
// counted.
func TestNeedOnAnyDay(t *testing.T) {
	for _, on := range []string{"2015-04-20", "2015-06-01", "2015-10-01", "2015-12-24", "2016-04-30"} {
		c := census(t, steady(t), on)
		hatch := studbook.DayOf(2016, time.May, 1)
		if on == "2015-04-20" {
			hatch = studbook.DayOf(2015, time.May, 1)
		}
		living := c.Need(demography.Programme, 0, demography.Year{Hatch: hatch}).Living
		assert.Equal(t, 10.0, c.Need(demography.Programme, living, demography.Year{Hatch: hatch}).Chicks.Value, on)
	}
}

// The eldest bird is older than any was watched, and the birds a little younger died
// fast: it is not taken to live on as birds of all ages do. Half of 40 birds die at 12
// years, 16 of the rest at 13 and 3 of 4 at 14.
func TestNeedOfTheEldest(t *testing.T) {
	colony := &studbook.Colony{HasOrigin: true}
	hatch := studbook.DayOf(2000, time.May, 1)
	for k := range 40 {
		b := studbook.Bird{ID: fmt.Sprint(k), Sex: studbook.Female, Hatch: studbook.Date{First: hatch, Last: hatch}, Origin: studbook.OriginCaptive, Recorded: true}
		for age, last := range map[float64]int{12.5: 20, 13.5: 36, 14.5: 39} {
			if k < last && k >= map[float64]int{12.5: 0, 13.5: 20, 14.5: 36}[age] {
				death := hatch + studbook.Day(age*studbook.DaysPerYear)
				b.Death = studbook.Date{First: death, Last: death}
			}
		}
		colony.Birds = append(colony.Birds, b)
	}
	c := census(t, colony, "2016-03-01")
	n := c.Need(demography.Programme, 1, demography.Year{})
	require.Equal(t, 1, n.ByMean)
	table := c.Watch(demography.Programme, demography.Everyone, 0).LifeTable()
	risk, deaths := 0.0, 0.0
	for _, x := range table.Classes[13:] {
		risk += x.AtRisk
		deaths += x.Deaths
	}
	require.Greater(t, risk, 20.0)
	mean := table.Adult(1).Value
	assert.InDelta(t, 1-(deaths+20*(1-mean))/(risk+20), n.Expected.Value, 1e-12, "smoothed as the survival of the other ages is")
	assert.Less(t, n.Expected.Value, .6)
	assert.Greater(t, mean, .9)
}

// Chicks come whole: to the nearest number, but one where any bird is lacking, so that
// neither rounding lets a scope grow for ever nor dies a small one out.
func TestNeedIsRounded(t *testing.T) {
	c := census(t, steady(t), "2015-04-20")
	assert.Equal(t, 10.0, c.Need(demography.Programme, 15, demography.Year{}).Expected.Value)
	for target, chicks := range map[int]float64{10: 0, 11: 2, 12: 4} { // half of the chicks live to a year
		assert.Equal(t, chicks, c.Need(demography.Programme, target, demography.Year{}).Chicks.Value)
	}
	set := census(t, &studbook.Colony{}, "2015-04-20").Need(demography.Programme, 10, demography.Year{})
	set.Living, set.Target, set.Chicks.Known = 10, 10, false
	for yearly, chicks := range map[float64]float64{1: 0, .998: 0, .99: 1, .88: 2, .86: 2, .84: 3} { // of (10 - 10 yearly) / 0.6
		assert.Equal(t, chicks, set.Assuming(.6, yearly).Chicks.Value, yearly)
	}
}

// Every bird hatches at A and is brought to B at a month: B has a life table, but
// no chicks of its own to say how many live to a year.
func TestNeedOfAColonyWithoutHatches(t *testing.T) {
	colony := steady(t)
	colony.HasLocation = true
	for i := range colony.Birds {
		b := &colony.Birds[i]
		b.Location = "B"
		moved := b.Hatch.First + 30
		colony.Moves = append(colony.Moves, studbook.Move{ID: b.ID, Date: studbook.Date{First: moved, Last: moved}, From: "A", To: "B"})
	}
	c := census(t, colony, "2015-04-20")
	_, own := c.LifeTable("B", demography.Everyone, 0)
	require.True(t, own)
	n := c.Need("B", 15, demography.Year{})
	assert.False(t, n.OwnRecords)
	assert.Equal(t, 10.0, n.Chicks.Value)
}

func TestNeedThatCannotBeSaid(t *testing.T) {
	n := census(t, &studbook.Colony{}, "2015-04-20").Need(demography.Programme, 10, demography.Year{})
	assert.True(t, n.Expected.Known, "of nobody, nobody")
	assert.False(t, n.Chicks.Known)
	n = census(t, twoHouses(t), "2011-01-01").Need("A", 10, demography.Year{})
	assert.False(t, n.OwnRecords)
	assert.Equal(t, 2, n.ByMean)
	assert.True(t, n.Chicks.Known)

	assert.Equal(t, 110, demography.StepToward(100, 121, 2))
	assert.Equal(t, 121, demography.StepToward(100, 121, 1))
	assert.Equal(t, 50, demography.StepToward(0, 50, 10))
	assert.Equal(t, 91, demography.StepToward(100, 82, 2))
	assert.Equal(t, 87, demography.StepToward(100, 76, 2), "87.2")
	assert.Equal(t, 52, demography.StepToward(51, 53, 10), "51.2, and a bird at least")
	assert.Equal(t, 52, demography.StepToward(53, 51, 10), "52.8: down as up, or a goal is never come down to")
}

// randomColony draws a colony whose dates are often vague or absent, with moves
// between three places.
func randomColony(rng *rand.Rand) *studbook.Colony {
	c := &studbook.Colony{HasLocation: rng.IntN(5) > 0, HasOrigin: true}
	start := studbook.DayOf(2000, time.January, 1)
	const span = 1500
	date := func(from studbook.Day) studbook.Date {
		d := from + studbook.Day(rng.IntN(span))
		if rng.IntN(3) == 0 {
			return studbook.Date{First: d, Last: d + studbook.Day(rng.IntN(400))}
		}
		return studbook.Date{First: d, Last: d}
	}
	places := []string{"A", "B", "C"}
	n := 1 + rng.IntN(25)
	for i := range n {
		b := studbook.Bird{
			ID: fmt.Sprintf("b%02d", i), Sex: []studbook.Sex{studbook.Female, studbook.Male, studbook.Unsexed}[rng.IntN(3)],
			Origin: studbook.OriginCaptive, Location: places[rng.IntN(3)], Recorded: rng.IntN(8) > 0,
		}
		if rng.IntN(6) > 0 {
			b.Hatch = date(start)
		}
		if rng.IntN(2) == 0 {
			b.Death = date(max(start, b.Hatch.Mid()))
		}
		for _, p := range []*studbook.Parentage{&b.Sire, &b.Dam} {
			if i == 0 || !b.Recorded {
				continue
			}
			switch j := fmt.Sprintf("b%02d", rng.IntN(i)); rng.IntN(3) {
			case 0:
				*p = is(j)
			case 1:
				p.Candidates = []studbook.Candidate{{ID: j, Weight: rng.Float64()}}
			}
		}
		c.Birds = append(c.Birds, b)
		for range rng.IntN(4) {
			m := studbook.Move{ID: b.ID, From: places[rng.IntN(3)], To: places[rng.IntN(3)]}
			if rng.IntN(9) > 0 {
				m.Date = date(start)
			}
			c.Moves = append(c.Moves, m)
		}
	}
	return c
}

// The oracle is Colony.At itself, asked day by day: numbers at both ends of a
// ledger, and bird-days of birds whose hatch is known.
func TestCensusAgreesWithTimeTravel(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	start := studbook.DayOf(1999, time.December, 1)
	scopes := []demography.Scope{demography.Programme, "A"}
	for run := range 20 {
		colony := randomColony(rng)
		asOf := start + studbook.Day(rng.IntN(3800))
		c := demography.NewCensus(colony.At(asOf))
		living := func(s *studbook.Snapshot, scope demography.Scope) []int {
			if scope == demography.Programme || !colony.HasLocation {
				return s.Living
			}
			return s.LivingAt(string(scope))
		}
		days := map[demography.Scope]int{}
		for d := start; d < asOf; d++ {
			s := colony.At(d)
			for _, scope := range scopes {
				for _, i := range living(s, scope) {
					if s.Birds[i].Hatch.Known() && s.Birds[i].Hatch.Mid() <= d {
						days[scope]++
					}
				}
			}
		}
		for _, scope := range scopes {
			for range 10 {
				from := start + studbook.Day(rng.IntN(4000))
				to := min(from+studbook.Day(rng.IntN(900)), asOf)
				l := c.Ledger(scope, from, to)
				assert.Len(t, living(colony.At(l.From), scope), l.Start, "run %d, %v at %v", run, scope, l.From)
				assert.Len(t, living(colony.At(l.To), scope), l.End, "run %d, %v at %v", run, scope, l.To)
				assert.Equal(t, l.End, l.Start+l.Hatched+l.Founders+l.Arrived-l.Died-l.Departed, "run %d: %+v", run, l)
			}
			for _, year := range c.Years(scope) {
				assert.Equal(t, year.End, year.Start+year.Hatched+year.Founders+year.Arrived-year.Died-year.Departed)
			}
			lived := 0.0
			w := c.Watch(scope, demography.Everyone, 0)
			for _, l := range w.Lives {
				lived += l.Exit - l.Entry
			}
			assert.InDelta(t, float64(days[scope])/studbook.DaysPerYear, lived, 1e-9, "run %d, %v", run, scope)
			finite(t, w.LifeTable())
			sound(t, c, scope)
		}
	}
}

// A colony of one bird, of one sex, without any hatch date, with only founders,
// on a day before anything: what cannot be said is unknown.
func TestThinColonies(t *testing.T) {
	hatch := on(t, "2010-05-01")
	bird := func(id string, sex studbook.Sex, hatch studbook.Date) studbook.Bird {
		return studbook.Bird{ID: id, Sex: sex, Hatch: hatch, Origin: studbook.OriginWild, Recorded: true}
	}
	chick := bird("c", studbook.Female, studbook.Date{})
	chick.Sire, chick.Dam = is("m"), is("f")
	for name, birds := range map[string][]studbook.Bird{
		"nobody":        nil,
		"one bird":      {bird("a", studbook.Unsexed, hatch)},
		"one sex":       {bird("a", studbook.Male, hatch), bird("b", studbook.Male, hatch)},
		"no hatch date": {bird("f", studbook.Female, studbook.Date{}), bird("m", studbook.Male, studbook.Date{}), chick},
		"founders":      {bird("f", studbook.Female, hatch), bird("m", studbook.Male, hatch)},
	} {
		t.Run(name, func(t *testing.T) {
			colony := &studbook.Colony{Birds: birds, HasOrigin: true}
			c := census(t, colony, "2015-01-01")
			sound(t, c, demography.Programme)
			sound(t, census(t, colony, "1990-01-01"), demography.Programme)
			w := c.Watch(demography.Programme, demography.Everyone, 0)
			assert.Empty(t, w.Lives, "of nobody it is known when they came")
			assert.Equal(t, len(birds), w.NoHatchDate+w.NoFirstSign)
			assert.False(t, c.ReachedAge(demography.Programme, 0, 1).Known)
			need := c.Need(demography.Programme, len(birds)+1, demography.Year{})
			assert.False(t, need.Chicks.Known)
			assert.Equal(t, len(birds), need.Living)
		})
	}
}

// sound checks that no figure of a census is a NaN, infinite or negative.
func sound(t *testing.T, c *demography.Census, scope demography.Scope) {
	t.Helper()
	plain := func(numbers ...demography.Number) {
		t.Helper()
		for _, n := range numbers {
			assert.True(t, n.Value >= 0 && !math.IsInf(n.Value, 0), n)
		}
	}
	n := c.Need(scope, 10, demography.Year{})
	plain(n.Expected, n.Chicks, n.Least, n.Most)
	if n.Most.Known {
		assert.True(t, n.Least.Value <= n.Chicks.Value && n.Chicks.Value <= n.Most.Value, "%+v", n)
	}
	p := c.ParentAges(scope, 0, math.MaxInt32)
	plain(p.Length, p.Sires.Value, p.Sires.SE, p.Dams.Value, p.Dams.SE)
	b := c.Breeding(scope, 0, math.MaxInt32)
	assert.GreaterOrEqual(t, b.Size, 0.0)
	assert.LessOrEqual(t, b.All.Count, b.All.Of)
	plain(c.Families().Size, c.AgeStructure(scope).Median)
	for _, s := range c.Watch(scope, demography.Females, 0).Survival().Steps {
		plain(s.SE)
		assert.True(t, 0 <= s.Survival && s.Survival <= 1)
		if s.SE.Known {
			assert.True(t, 0 <= s.Interval.Low && s.Interval.Low <= s.Survival && s.Survival <= s.Interval.High && s.Interval.High <= 1, "%+v", s)
		}
	}
}

// finite checks that no figure of a life table is a NaN, infinite or a share
// outside 0..1.
func finite(t *testing.T, table demography.LifeTable) {
	t.Helper()
	for _, c := range table.Classes {
		for _, n := range []demography.Number{c.Q, c.P, c.L} {
			assert.True(t, 0 <= n.Value && n.Value <= 1, "%+v", c)
		}
		assert.True(t, 0 <= c.M.Value && !math.IsInf(c.M.Value, 0), "%+v", c)
		for _, i := range []demography.Interval{c.QExact, c.QWilson} {
			assert.True(t, 0 <= i.Low && i.Low <= i.High && i.High <= 1, "%+v", c)
			if c.Q.Known {
				assert.True(t, i.Low <= c.Q.Value && c.Q.Value <= i.High, "%+v", c)
			}
		}
	}
	g := table.Growth()
	for _, n := range []demography.Number{g.CohortGeneration, g.R, g.Lambda, g.GenerationLength} {
		assert.False(t, math.IsNaN(n.Value) || math.IsInf(n.Value, 0), "%+v", g)
	}
}
