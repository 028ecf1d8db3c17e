package studbook

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// travelled is a colony in which something happens in most years.
func travelled(t *testing.T) *Colony {
	c, err := Read(t.Context(), folder(
		"studbook.csv", "id,sex,sire,dam,hatch_date,death_date,location,origin\n"+
			"S,M,wild,wild,2000-01-01,2012-01-01,HOME,wild\n"+
			"D,F,X,,2001,,HOME,\n"+ // hatched in the middle of 2001
			"C,F,S,D,2005-03-01,201X,AWAY,captive\n"+ // died in the middle of the decade
			"M,M,,,2004,,FAR,captive\n"+
			"U,U,S,D,,,HOME,captive\n"+ // unknown hatch date
			"V,U,U,,,,HOME,captive\n", // a chick of that one
		"moves.csv", "id,date,from,to\nC,2010,HOME,MID\nC,2008-06-01,,HOME\nC,2012-06-01,MID,AWAY\nM,2009-01-01,AWAY,FAR\n",
		"bonds.csv", "female,male,since,until,nest,ended_by\nD,S,2003-01-01,2009-01-01,N1,keeper\nD,S,2010-01-01,,N2,\nC,M,2010-01-01,2011,N3,\nC,M,,,,\nD,M,2013-01-01,,N4,\n",
		"clutches.csv", "female,male,laid,eggs\nD,S,2004-05-01,2\nC,M,2012-01-01,1\n",
		"holds.csv", "id,since,until,reason,blocks\nD,2006-01-01,2006-02-01,egg,moving\nD,2006-01-15,,ill,breeding\nM,,2011-01-01,quarantine,both\n",
		"institutions.csv", "code,name\nHOME,Here\nAWAY,There\nMID,Middle\nFAR,Far\n",
	), "studbook.csv", Options{})
	require.NoError(t, err)
	return c
}

func ids(s *Snapshot, indices []int) []string {
	var out []string
	for _, i := range indices {
		out = append(out, s.Birds[i].ID)
	}
	return out
}

func all(s *Snapshot) []string {
	var out []string
	for _, b := range s.Birds {
		out = append(out, b.ID)
	}
	return out
}

func TestWhoExistsAndLives(t *testing.T) {
	c := travelled(t)
	tests := []struct {
		day         Day
		exist, live []string
	}{
		{DayOf(1999, 12, 31), nil, nil},                   // U waits for its parents, V for U
		{DayOf(2000, 1, 1), []string{"S"}, []string{"S"}}, // wild, and no move says that it came later
		{DayOf(2001, 7, 1), []string{"S"}, []string{"S"}},
		{DayOf(2001, 7, 2), []string{"D", "S", "U", "V", "X"}, []string{"D", "S", "U", "V"}}, // the middle of 2001
		{DayOf(2005, 3, 1), []string{"C", "D", "M", "S", "U", "V", "X"}, []string{"C", "D", "M", "S", "U", "V"}},
		{DayOf(2011, 12, 31), []string{"C", "D", "M", "S", "U", "V", "X"}, []string{"C", "D", "M", "S", "U", "V"}},
		{DayOf(2012, 1, 1), []string{"C", "D", "M", "S", "U", "V", "X"}, []string{"C", "D", "M", "U", "V"}},
		{DayOf(2014, 12, 30), []string{"C", "D", "M", "S", "U", "V", "X"}, []string{"C", "D", "M", "U", "V"}},
		{DayOf(2014, 12, 31), []string{"C", "D", "M", "S", "U", "V", "X"}, []string{"D", "M", "U", "V"}}, // the middle of the 2010s
	}
	for _, tt := range tests {
		t.Run(tt.day.String(), func(t *testing.T) {
			s := c.At(tt.day)
			assert.Equal(t, tt.exist, all(s))
			assert.Equal(t, tt.live, ids(s, s.Living))
			for i := range s.Birds {
				assert.Equal(t, s.Alive(i), slices.Contains(s.Living, i))
			}
		})
	}
	assert.Nil(t, c.At(1).Bird("S"))
	_, ok := c.At(1).Index("S")
	assert.False(t, ok)
	assert.False(t, c.At(DayOf(2011, 1, 1)).Bird("S").Death.Known(), "a later death has not happened")
	assert.True(t, c.Birds[0].Death.Known(), "and the colony itself is not changed")
}

func TestLocationOnTheDay(t *testing.T) {
	c := travelled(t)
	tests := []struct {
		bird string
		day  Day
		want string
	}{
		{"C", DayOf(2008, 5, 31), "HOME"}, // the first move does not say from where: where it took it
		{"C", DayOf(2008, 6, 1), "HOME"},
		{"C", DayOf(2010, 7, 1), "HOME"},
		{"C", DayOf(2010, 7, 2), "MID"}, // the middle of 2010
		{"C", DayOf(2012, 6, 1), "AWAY"},
		{"C", DayOf(2020, 1, 1), "AWAY"}, // dead
		{"M", DayOf(2008, 1, 1), "AWAY"}, // from where its first move takes it
		{"M", DayOf(2009, 1, 1), "FAR"},
		{"S", DayOf(2009, 1, 1), "HOME"}, // never moved
	}
	for _, tt := range tests {
		assert.Equal(t, tt.want, c.At(tt.day).Bird(tt.bird).Location, "%s on %s", tt.bird, tt.day)
	}
	s := c.At(DayOf(2011, 1, 1))
	assert.Equal(t, []string{"FAR", "HOME", "MID"}, s.Locations())
	assert.Equal(t, []string{"D", "S", "U", "V"}, ids(s, s.LivingAt("HOME")))
	assert.Empty(t, s.LivingAt("AWAY"))

	without := *c
	without.HasLocation, without.lives = false, nil
	s = without.At(DayOf(2011, 1, 1))
	assert.Equal(t, []string{""}, s.Locations())
	assert.Len(t, s.LivingAt(""), len(s.Living))
}

func TestBondsOnTheDay(t *testing.T) {
	c := travelled(t)
	c.HasLocation, c.lives = false, nil // else C and D would live apart from M; see TestBondsApart
	tests := []struct {
		day  Day
		bird string
		want []string
	}{
		{DayOf(2002, 1, 1), "D", nil},
		{DayOf(2003, 1, 1), "D", []string{"S"}},
		{DayOf(2009, 1, 1), "D", nil},           // ended on the day
		{DayOf(2010, 1, 1), "S", []string{"D"}}, // and again
		{DayOf(2012, 1, 1), "D", nil},           // S has died
		{DayOf(2013, 1, 1), "D", []string{"M"}},
		{DayOf(2013, 1, 1), "M", []string{"C", "D"}}, // the bond without a beginning comes first in the file
		{DayOf(2015, 1, 1), "M", []string{"D"}},
		{DayOf(2004, 1, 1), "M", nil},           // not hatched
		{DayOf(2010, 6, 1), "C", []string{"M"}}, // two rows, one mate
	}
	for _, tt := range tests {
		assert.Equal(t, tt.want, c.At(tt.day).Mates(tt.bird), "%s on %s", tt.bird, tt.day)
	}
	s := c.At(DayOf(2008, 1, 1))
	require.Len(t, s.Bonds, 2)
	assert.False(t, s.Bonds[0].Until.Known(), "a later end has not happened")
	assert.Empty(t, s.Bonds[0].EndedBy)
	assert.Equal(t, s.Bonds, s.OpenBonds())
	s = c.At(DayOf(2012, 1, 1))
	assert.Len(t, s.Bonds, 4)
	assert.Len(t, s.OpenBonds(), 1)
	assert.Len(t, c.At(DayOf(2004, 5, 1)).Clutches, 1)
	assert.Len(t, c.At(DayOf(2012, 1, 1)).Clutches, 2)
}

func TestHoldsOnTheDay(t *testing.T) {
	c := travelled(t)
	s := c.At(DayOf(2006, 1, 20))
	assert.Len(t, s.HoldsOn("D"), 2)
	h, ok := s.Blocked("D", BlocksMoving)
	assert.True(t, ok)
	assert.Equal(t, "egg", h.Reason)
	h, ok = s.Blocked("D", BlocksBreeding)
	assert.True(t, ok)
	assert.Equal(t, "ill", h.Reason)
	_, ok = s.Blocked("S", BlocksBreeding)
	assert.False(t, ok)
	for _, what := range []Block{BlocksBoth, BlocksBreeding, BlocksMoving} {
		_, ok = s.Blocked("M", what)
		assert.True(t, ok, "a hold without a beginning, on both")
	}
	s = c.At(DayOf(2006, 2, 1))
	_, ok = s.Blocked("D", BlocksMoving)
	assert.False(t, ok, "a hold ends on the day it ends")
	_, ok = s.Blocked("D", BlocksBoth)
	assert.True(t, ok)
	assert.Empty(t, c.At(DayOf(2011, 1, 1)).HoldsOn("M"))
}

func TestAges(t *testing.T) {
	c := travelled(t)
	s := c.At(DayOf(2020, 1, 1))
	age := func(id string) (float64, float64, bool) {
		i, ok := s.Index(id)
		require.True(t, ok)
		return s.AgeYears(i)
	}
	a, pm, ok := age("S") // 2000-01-01 to 2012-01-01 is 12 years with 3 leap days
	require.True(t, ok)
	assert.InDelta(t, (12*365+3)/DaysPerYear, a, 1e-12)
	assert.Zero(t, pm)
	a, pm, ok = age("D") // from 2001-07-02, give or take half a year
	require.True(t, ok)
	assert.InDelta(t, float64(DayOf(2020, 1, 1)-DayOf(2001, 7, 2))/DaysPerYear, a, 1e-12)
	assert.InDelta(t, 182/DaysPerYear, pm, 1e-12)
	_, pm, ok = age("C") // died some time in the 2010s: five years either way
	require.True(t, ok)
	assert.InDelta(t, 5, pm, 0.01)
	for _, id := range []string{"U", "X"} {
		_, _, ok = age(id)
		assert.False(t, ok, id)
	}
	in, ok := s.Institution("MID")
	assert.True(t, ok)
	assert.Equal(t, "Middle", in.Name)
	_, ok = s.Institution("NONE")
	assert.False(t, ok)
}

// Who has a chick has hatched, even if the middle of a vague date lies later.
func TestParentsOfTheLivingExist(t *testing.T) {
	c, err := Read(t.Context(), folder("studbook.csv", "id,sex,sire,dam,hatch_date\nA,M,,,201X\nB,M,A,,2012-01-01\nC,M,A=0.5,Y,2013-01-01\n"), "studbook.csv", Options{})
	require.NoError(t, err)
	s := c.At(DayOf(2012, 6, 1))
	assert.Equal(t, []string{"A", "B"}, all(s))
	age, _, ok := s.AgeYears(0)
	assert.True(t, ok)
	assert.Zero(t, age, "and is not of negative age")
	assert.Equal(t, []string{"A", "B", "C", "Y"}, all(c.At(today)))
}

// lived reads a colony whose files are kept to a day.
func lived(t *testing.T, files ...string) *Colony {
	c, err := Read(t.Context(), folder(files...), "studbook.csv", Options{Today: DayOf(2026, 5, 10)})
	require.NoError(t, err)
	return c
}

// What is on file has happened by the day of the files: the running year ends
// there. Worked by hand: the middle of 1 January to 10 May 2026 is 6 March.
func TestVagueDatesOfTheRunningYear(t *testing.T) {
	const rows = "id,sex,sire,dam,hatch_date,death_date,origin\nA,M,,,2010-01-01,2026,captive\nB,F,,,2010-01-01,,captive\nC,U,A,B,2026,,captive\nD,U,A,B,2026-05,,captive\nE,U,A,B,202X,,captive\n"
	for _, c := range []*Colony{
		lived(t, "studbook.csv", rows),
		lived(t, "studbook.csv", rows, "programme.toml", "current_to = \"2026-05-10\"\n"),
	} {
		s := c.At(DayOf(2026, 5, 10))
		assert.Equal(t, []string{"B", "C", "D", "E"}, ids(s, s.Living))
		assert.Equal(t, DayOf(2026, 3, 6), s.Bird("C").Hatch.Mid())
		assert.Equal(t, "2026", s.Bird("C").Hatch.Text)
		assert.Equal(t, DayOf(2026, 5, 10), s.Bird("D").Hatch.Last)
		assert.Equal(t, DayOf(2023, 3, 6), s.Bird("E").Hatch.Mid())
	}
	c := lived(t, "studbook.csv", rows, "programme.toml", "current_to = \"2025-12-31\"\n")
	assert.Equal(t, DayOf(2026, 7, 2), c.Birds[0].Death.Mid(), "what lies after the day of the files is left as it is")
	c = lived(t, "studbook.csv", rows, "bonds.csv", "female,male,since,until\nB,A,2012,2026\n")
	assert.Equal(t, DayOf(2026, 12, 31), c.Bonds[0].Until.Last, "a planned end may lie in the future")
}

// A wild bird counts from its arrival where that is on record and else from its hatch,
// and a later move changes no year before (design, sections 3 and 5: living is who hatched
// on or before the day and did not die; a blank from came from outside; later moves have
// not been made).
func TestBeforeArrival(t *testing.T) {
	const rows = "id,sex,sire,dam,hatch_date,location,origin\nW,F,wild,wild,2000-05-01,%s,wild\nM,M,,,2001-05-01,HOME,captive\nX,M,wild,wild,2002-05-01,HOME,wild\nY,F,wild,wild,2002-05-01,HOME,wild\nC,U,X,W,2012-06-01,HOME,captive\n"
	const moves = "id,date,from,to\nW,2008-03-01,,HOME\n"
	before := lived(t, "studbook.csv", strings.Replace(rows, "%s", "HOME", 1), "moves.csv", moves)
	after := lived(t, "studbook.csv", strings.Replace(rows, "%s", "AWAY", 1), "moves.csv", moves+"W,2020-03-01,HOME,AWAY\n")
	for _, c := range []*Colony{before, after} {
		living := func(year int) []string { s := c.At(DayOf(year, 12, 31)); return ids(s, s.LivingAt("HOME")) }
		assert.Equal(t, []string{"M", "X", "Y"}, living(2007), "nothing says that X and Y were elsewhere")
		assert.Nil(t, c.At(DayOf(2008, 2, 29)).Bird("W"))
		assert.Equal(t, []string{"M", "W", "X", "Y"}, living(2008))
		assert.Equal(t, []string{"C", "M", "W", "X", "Y"}, living(2012))
		assert.Equal(t, DayOf(2012, 6, 1), c.Lives()[2].Seen, "for survival X counts from its first chick")
		assert.Contains(t, c.Notes, "1 bird came into the programme on no recorded day (a move with a blank from): counted as living from the hatch, and for survival from the first chick or other record")
		assert.Contains(t, c.Notes, "1 bird came into the programme on no recorded day and left no other sign of when: counted as living from the hatch, and left out of survival")
	}
}

// A move without a destination is a departure; the bird may be a parent still.
func TestLeftTheProgramme(t *testing.T) {
	c := lived(t, "studbook.csv", "id,sex,sire,dam,hatch_date,location,origin\nA,M,,,2000-05-01,HOME,captive\nB,F,,,2000-05-01,HOME,captive\nC,U,A,B,2012-06-01,HOME,captive\n",
		"moves.csv", "id,date,from,to,reason\nA,2010-03-01,HOME,,sold\nB,2011-03-01,HOME,,lent\nB,2012-03-01,,HOME,back\n",
		"bonds.csv", "female,male,since\nB,A,2005-01-01\n")
	assert.Empty(t, c.Warnings)
	s := c.At(DayOf(2010, 2, 28))
	assert.Equal(t, []string{"A", "B"}, ids(s, s.Living))
	assert.Len(t, s.OpenBonds(), 1)
	s = c.At(DayOf(2010, 3, 1))
	assert.Equal(t, []string{"B"}, ids(s, s.Living))
	assert.False(t, s.Alive(0))
	assert.Empty(t, s.Bird("A").Location)
	assert.Empty(t, s.OpenBonds())
	s = c.At(DayOf(2011, 6, 1))
	assert.Empty(t, s.Living)
	s = c.At(DayOf(2012, 6, 1))
	assert.Equal(t, []string{"B", "C"}, ids(s, s.LivingAt("HOME")))
	sire, _ := s.Bird("C").Sire.Known()
	assert.Equal(t, "A", sire)
}

// Dead on an unknown day is dead. Worked by hand: from the last sign of life,
// the bond of 1 January 2020, to the day of the files, 10 May 2026; the middle
// is 6 March 2023.
func TestDeadOnAnUnknownDay(t *testing.T) {
	c := lived(t, "studbook.csv", "id,sex,sire,dam,hatch_date,death_date,origin\nA,M,,,2010-01-01,unknown,captive\nB,F,,,2010-01-01,Unknown,captive\nC,F,,,,XXXX,captive\nD,F,,,2012-01-01,,captive\n",
		"bonds.csv", "female,male,since\nD,A,2020-01-01\n")
	assert.Empty(t, c.Warnings)
	a := c.Birds[0].Death
	assert.Equal(t, Date{First: DayOf(2020, 1, 1), Last: DayOf(2026, 5, 10), Text: "unknown"}, a)
	assert.Equal(t, DayOf(2023, 3, 6), a.Mid())
	s := c.At(DayOf(2026, 5, 10))
	assert.Equal(t, []string{"D"}, ids(s, s.Living))
	s = c.At(DayOf(2020, 1, 1))
	assert.Equal(t, []string{"A", "C", "D"}, ids(s, s.Living), "of B nothing is known after its hatch, of C nothing at all")
	assert.Contains(t, c.Notes, "studbook.csv: A, B, C died on an unknown day; it is taken to lie between the last sign of life and the day of the files")
	assert.Equal(t, "unknown", Cells(c.Birds[0])[7], "and is written as it was")

	c, err := Read(t.Context(), folder("studbook.csv", "id,sex,sire,dam,hatch_date,death_date\nA,M,,,2010-01-01,unknown\nB,F,,,2015-01-01,2020-01-01\n"), "studbook.csv", Options{})
	require.NoError(t, err)
	assert.Equal(t, DayOf(2020, 1, 1), c.Birds[0].Death.Last, "without a day of the files the last date on file counts")
}

func TestNoHatchDates(t *testing.T) {
	c := lived(t, "studbook.csv", "id,sex,sire,dam\nA,M,,\nB,F,,\nC,U,A,B\n")
	s := c.At(DayOf(2026, 5, 10))
	assert.Equal(t, []string{"A", "B", "C"}, ids(s, s.Living))
	_, _, ok := s.AgeYears(0)
	assert.False(t, ok)
	assert.Contains(t, c.Notes, "studbook.csv has no hatch_date column: nobody's age is known")
}

// Before the day of the files, what cannot have been known of a clutch is not
// known. With the standard settings eggs are candled on day 10, hatch on day 28
// and fledge 60 days after.
func TestOutcomeToCome(t *testing.T) {
	c := lived(t, "studbook.csv", "id,sex,sire,dam,hatch_date\nA,M,,,2000-05-01\nB,F,,,2000-05-01\n",
		"clutches.csv", "female,male,laid,eggs,fertile,hatched,fledged\nB,A,2026-02-01,2,2,1,1\nB,A,,2,2,1,1\n")
	laid := DayOf(2026, 2, 1)
	for _, tt := range []struct {
		after                     Day
		fertile, hatched, fledged int
	}{{0, -1, -1, -1}, {9, -1, -1, -1}, {10, 2, -1, -1}, {27, 2, -1, -1}, {28, 2, 1, -1}, {87, 2, 1, -1}, {88, 2, 1, 1}} {
		got := c.At(laid + tt.after).Clutches
		require.Len(t, got, 2)
		assert.Equal(t, [4]int{2, tt.fertile, tt.hatched, tt.fledged}, [4]int{got[0].Eggs, got[0].Fertile, got[0].Hatched, got[0].Fledged}, "day %d", tt.after)
		assert.Equal(t, 1, got[1].Fledged, "a clutch without a date stays")
	}
	c.FilesDay = laid + 20
	assert.Equal(t, 1, c.At(laid + 20).Clutches[0].Fledged, "what is on file by then is known")
}

func TestBondsApart(t *testing.T) {
	c := lived(t, "studbook.csv", "id,sex,sire,dam,hatch_date,location,origin\nA,M,,,2000-05-01,HOME,captive\nB,F,,,2000-05-01,AWAY,captive\nC,F,,,2000-05-01,HOME,captive\n",
		"moves.csv", "id,date,from,to\nB,2012-03-01,HOME,AWAY\n", "bonds.csv", "female,male,since\nB,A,2005-01-01\nC,A,2014-01-01\n")
	warnings := c.Warnings
	require.Len(t, warnings, 2)
	assert.Equal(t, `bonds.csv:2: warning: until: the bond has no end, but "B" lives at AWAY and "A" at HOME; it counts as none (write in until when it ended, or correct a move)`, warnings[0].String())
	assert.Equal(t, codeTwoOpenBonds, warnings[1].Code)
	s := c.At(DayOf(2012, 2, 28))
	assert.Equal(t, []string{"A"}, s.Mates("B"))
	assert.Len(t, s.OpenBonds(), 1)
	s = c.At(DayOf(2012, 3, 1))
	assert.Empty(t, s.Mates("B"))
	assert.Len(t, s.Bonds, 1)
	assert.Empty(t, s.OpenBonds(), "it is on file, and counts as none")
	s = c.At(DayOf(2014, 1, 1))
	assert.Equal(t, []string{"C"}, s.Mates("A"))
}
