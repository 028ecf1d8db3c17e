package pairing_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// TestColony: the colony meant where none is named, or who lives where if nothing
// tells.
func TestColony(t *testing.T) {
	const head = "id,sex,sire,dam,hatch_date,death_date,location\n"
	for _, tt := range []struct {
		name, birds, want string
		unclear           bool
		places            []string
	}{
		{"one place", "A,M,,,2015,,X\nB,F,,,2015,,X\n", "X", false, nil},
		{"one place, and a bird of no known place", "A,M,,,2015,,X\nB,F,,,2015,,\n", "X", false, nil},
		{"no known place", "A,M,,,2015,,\nB,F,,,2015,,\n", "", false, nil},
		{"two places, and a bird of no known place", "A,M,,,2015,,X\nB,F,,,2015,,\nC,F,,,2015,,Y\n", "", true, []string{"X", "Y"}},
		{"none alive", "A,M,,,2015,2016,X\n", "", true, nil},
	} {
		got, err := programmeOf(t, "studbook.csv", head+tt.birds).Colony("")
		assert.Equal(t, tt.want, got, tt.name)
		var unclear *pairing.ColonyError
		if !tt.unclear {
			assert.NoError(t, err, tt.name)
		} else if assert.ErrorAs(t, err, &unclear, tt.name) {
			assert.ElementsMatch(t, tt.places, unclear.Places, tt.name)
			assert.NotContains(t, err.Error(), "--", "the engine knows of no flags")
		}
	}
}

// Without locations the colony is the programme (design of the colony folder),
// whether or not it is called by the name that programme.toml gives it.
func TestColonyWithoutLocations(t *testing.T) {
	p := programmeOf(t, "studbook.csv", "id,sex,sire,dam,hatch_date\nF,F,,,2015\n", "programme.toml", "home = \"HOME\"\n")
	for _, code := range []string{"", "HOME"} {
		place, err := p.Colony(code)
		require.NoError(t, err)
		assert.Empty(t, place)
	}
	_, err := p.Colony("AWAY")
	assert.ErrorContains(t, err, "AWAY")
}

// Half of a chick's genes come from each parent, so a gap carries half of what
// flows through the chick: worked by hand on three living birds, of which X
// and its chick Y descend from the unknown sire.
func TestGaps(t *testing.T) {
	p := programmeOf(t,
		"studbook.csv", `id,sex,sire,dam,hatch_date,death_date,location,origin
A,F,wild,wild,2000-05-01,,HOME,wild
M1,M,wild,wild,2000-05-01,2020-01-01,HOME,wild
M2,M,wild,wild,2000-05-01,2001-01-01,HOME,wild
M3,M,wild,wild,2000-05-01,2020-01-01,AWAY,wild
X,F,,A,2010-05-01,,HOME,captive
Y,M,M1=0.5; M3=0.4,X,2015-05-01,,HOME,captive
`)
	gaps := p.Gaps()
	require.Len(t, gaps, 2)
	assert.Equal(t, "X", p.Book.Birds[gaps[0].Bird].ID)
	assert.Equal(t, studbook.Male, gaps[0].Sex)
	assert.InDelta(t, (1.0/3+1.0/6)/2, gaps[0].Share, 1e-15)
	number := func(id string) int32 {
		k, there := p.Book.Index(id)
		require.True(t, there)
		return int32(k)
	}
	others, more := p.Others(&gaps[0], 0)
	assert.Equal(t, []string{"M1"}, others)
	assert.Zero(t, more)
	others, more = p.Others(&pairing.Gap{Named: []string{"M2"}, Possible: []int32{number("M1"), number("M2"), number("M3")}}, 1)
	assert.Equal(t, []string{"M1"}, others)
	assert.Equal(t, 1, more, "M3; M2 is named")
	assert.Equal(t, "Y", p.Book.Birds[gaps[1].Bird].ID)
	assert.InDelta(t, 1.0/6, gaps[1].Share, 1e-15)
	assert.Equal(t, []string{"M1", "M3"}, gaps[1].Named)
}
