package studbook

import (
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// folder makes a colony folder of file names and their contents by turns.
func folder(files ...string) fstest.MapFS {
	fsys := fstest.MapFS{}
	for i := 0; i < len(files); i += 2 {
		fsys[files[i]] = &fstest.MapFile{Data: []byte(files[i+1])}
	}
	return fsys
}

func TestReadPlainFolder(t *testing.T) {
	c, err := Read(t.Context(), folder(
		"studbook.csv", "id,sex,sire,dam,hatch_date,death_date,location,origin\n"+
			"A,M,,,2010-05-01,,HOME,wild\n"+
			"B,F,wild,unknown,2011,2020-03-04,HOME,wild\n"+
			"C,F,A,B,2015-06-07,,AWAY,captive\n"+
			"D,M,A=0.7; X=0.3,B,2016-06-07,,HOME,captive\n",
		"moves.csv", "id,date,from,to\nC,2018-01-01,HOME,AWAY\n",
		"bonds.csv", "female,male,since\nB,A,2013-01-01\nC,D,2019-01-01\n",
	), "studbook.csv", Options{})
	require.NoError(t, err)
	require.Len(t, c.Birds, 5)
	assert.Equal(t, "X", c.Birds[4].ID)
	assert.False(t, c.Birds[4].Recorded)
	assert.Equal(t, []Candidate{{"A", 0.7}, {"X", 0.3}}, c.Birds[3].Sire.Candidates)
	assert.Equal(t, 4, c.Birds[2].Line)

	s := c.At(DayOf(2017, 1, 1))
	require.Len(t, s.Birds, 5)
	assert.Equal(t, "HOME", s.Bird("C").Location)
	assert.Equal(t, []string{"A"}, s.Mates("B"))
	s = c.At(DayOf(2021, 1, 1))
	assert.Equal(t, "AWAY", s.Bird("C").Location)
	assert.Empty(t, s.Mates("A"), "its mate has died")
	assert.Equal(t, []string{"D"}, s.Mates("C"))
}
