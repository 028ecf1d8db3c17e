package pairing_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
)

// southern is a colony of the southern half of the world, that lays from November to
// January, in which no bond was written down.
var southern = []string{
	"studbook.csv", "id,sex,sire,dam,hatch_date,location,origin\n" +
		"F1,F,wild,wild,2015-12-01,A,wild\nM1,M,wild,wild,2015-12-01,A,wild\nF2,F,wild,wild,2015-12-01,A,wild\nM2,M,wild,wild,2015-12-01,A,wild\n",
	"clutches.csv", "female,male,laid,eggs,fertile,hatched\nF1,M1,2025-11-20,2,1,0\nF1,M1,2026-01-05,2,1,0\nF2,M2,2025-01-10,2,2,1\n",
	"programme.toml", strings.Replace(settings, "laying = [4, 5]", "laying = [11, 12, 1]", 1),
}

// TestASeasonOverNewYear: a season that runs over the turn of the year is one, with
// the clutches before it and after.
func TestASeasonOverNewYear(t *testing.T) {
	p := programmeOn(t, "2026-01-20", southern...)
	assert.Equal(t, 2025, p.Season(), "it began in November")
	assert.True(t, p.Calendar().Running)
	assert.Equal(t, pairing.StateBonded, p.State(index(t, p, "F1")).State, "they laid this season")
	assert.Equal(t, []int{index(t, p, "M1")}, p.Mates(index(t, p, "F1")))
	assert.Equal(t, pairing.StateFree, p.State(index(t, p, "F2")).State, "they laid in the season before")
	seasons := p.Seasons(index(t, p, "F1"), index(t, p, "M1"))
	require.Len(t, seasons, 1)
	assert.Equal(t, 2025, seasons[0].Year)
	assert.Equal(t, 1, pairing.FailedInARow(seasons), "two clutches of one season failed")

	p = programmeOn(t, "2026-03-15", southern...)
	assert.Equal(t, 2026, p.Season(), "the coming one")
	assert.Equal(t, pairing.StateFree, p.State(index(t, p, "F1")).State, "the season is over")
}

// TestChicksOfALateClutch: what hatches after the laying months is of the season that
// they followed, and no part of what the next is to bring.
func TestChicksOfALateClutch(t *testing.T) {
	files := append([]string{"clutches.csv", "female,male,laid,eggs,fertile,hatched,fledged\nF1,M1,2026-06-10,2,2,2,2\n"}, bonded()...)
	for day, hatched := range map[string]int{"2026-05-31": 0, "2026-07-20": 0, "2027-03-01": 0} {
		p := programmeOn(t, day, files...)
		plan, err := decide(t, p).Plan(t.Context(), pairing.PlanOptions{Place: "A", Chicks: 3})
		require.NoError(t, err)
		assert.Equal(t, hatched, plan.Hatched, day)
	}
	early := append([]string{"clutches.csv", "female,male,laid,eggs,fertile,hatched,fledged\nF1,M1,2026-03-20,2,2,2,2\n"}, bonded()...)
	p := programmeOn(t, "2026-05-31", early...)
	plan, err := decide(t, p).Plan(t.Context(), pairing.PlanOptions{Place: "A", Chicks: 3})
	require.NoError(t, err)
	assert.Equal(t, 2, plan.Hatched, "what hatches before them is of the one that comes")
}
