package studbook

import (
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
		{DayOf(1999, 12, 31), nil, nil}, // U waits for its parents, V for U
		{DayOf(2000, 1, 1), []string{"S"}, []string{"S"}},
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
				assert.Equal(t, s.Alive(i), !s.Birds[i].Death.Known() && s.Birds[i].Recorded)
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
		{"C", DayOf(2008, 5, 31), "AWAY"}, // the first move does not say from where: the studbook's
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
	without.HasLocation = false
	s = without.At(DayOf(2011, 1, 1))
	assert.Equal(t, []string{""}, s.Locations())
	assert.Len(t, s.LivingAt(""), len(s.Living))
}

func TestBondsOnTheDay(t *testing.T) {
	c := travelled(t)
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
