package pairing_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"pairwright/pairing"
)

// TestSeasonsOnRecord: counted by hand. F1 and M1 are together from 2018 on, both of breeding
// age from 2018 to 2023: they lay in 2019 (two chicks), 2020 (replaced), 2022 (none) and 2023
// (one chick of the second clutch), which is four of the six seasons, three of them with an
// outcome. F2 and M2 were together from May 2021, which is no season, to 2022, and M2 died in
// May 2023.
func TestSeasonsOnRecord(t *testing.T) {
	p := programmeOf(t, "studbook.csv", `id,sex,sire,dam,hatch_date,death_date
F1,F,,,2015-06-01,
M1,M,,,2015-06-01,
F2,F,,,2015-06-01,
M2,M,,,2015-06-01,2023-05-10
`, "bonds.csv", "female,male,since,until\nF1,M1,2018-03-01,\nF2,M2,2021-05-10,\n",
		"clutches.csv", `female,male,laid,eggs,fertile,hatched,fledged
F1,M1,2019-04-20,2,2,2,2
F1,M1,2020-04-20,2,,replaced,
F1,M1,2022-04-20,2,0,0,0
F1,M1,2023-04-20,2,2,0,0
F1,M1,2023-05-20,2,2,1,1
F2,M2,2022-04-20,1,1,1,1
F2,M2,2018-04-20,1,1,1,1
`, "programme.toml", "[breeding_age]\nfemale = [2, 7]\nmale = [2, 20]\n[months]\nlaying = [4, 5]\n")
	s := p.SeasonsOnRecord()
	assert.Equal(t, 7, s.Seasons, "six of the first pair and one of the second")
	assert.Equal(t, 5, s.Laid)
	assert.Equal(t, 4, s.Left)
	assert.Equal(t, 4, s.Hatched)
	e, ok := s.Chicks()
	assert.True(t, ok)
	assert.InDelta(t, 5.0/7*1, e.Value, 1e-12)
	// By the delta method: mean² p(1−p)/n + p² s²/m, of p = 5/7, n = 7, s² = 0.5, m = 4.
	assert.InDelta(t, math.Sqrt(5.0/7*2/7/7+25.0/49*0.5/4), e.StandardError, 1e-12)
	assert.False(t, s.Speaks(9), "seven seasons are too few to tell")
}

// TestChicksAgainstRecord: a record of many seasons speaks against a setting that is clearly
// off it, and not against one that is near.
func TestChicksAgainstRecord(t *testing.T) {
	rows, bonds, clutches := "id,sex,sire,dam,hatch_date\n", "female,male,since,until\n", "female,male,laid,eggs,fertile,hatched,fledged\n"
	for k := range 30 {
		rows += fmt.Sprintf("F%d,F,,,2015-06-01\nM%d,M,,,2015-06-01\n", k, k)
		bonds += fmt.Sprintf("F%d,M%d,2018-03-01,\n", k, k)
		for year := 2019; year < 2024; year++ {
			if (k+year)%3 > 0 { // lays in two of three seasons, and hatches one or two
				n := 1 + (k+year)%2
				clutches += fmt.Sprintf("F%d,M%d,%d-04-20,2,%d,%d,%d\n", k, k, year, n, n, n)
			}
		}
	}
	of := func(set string) (*pairing.Programme, pairing.SeasonsOnRecord) {
		p := programmeOf(t, "studbook.csv", rows, "bonds.csv", bonds, "clutches.csv", clutches,
			"programme.toml", set+"[breeding_age]\nfemale = [2, 20]\nmale = [2, 20]\n[months]\nlaying = [4, 5]\n")
		return p, p.SeasonsOnRecord()
	}
	p, s := of("")
	assert.Equal(t, 150, s.Seasons)
	e, _ := s.Chicks()
	assert.InDelta(t, 1, e.Value, 0.02)
	assert.False(t, s.Speaks(p.Settings().ChicksPerSeason), "1.0 is the default")
	assert.True(t, s.Speaks(1.5))
	assert.True(t, s.Speaks(0.5))
	assert.False(t, s.Speaks(1.1))
}
