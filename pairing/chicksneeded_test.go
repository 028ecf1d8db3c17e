package pairing_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// TestNeedRestsOnTheSeason asks through a whole season in which nothing is written down how
// many chicks every place and the programme of the example need.
func TestNeedRestsOnTheSeason(t *testing.T) {
	c := studbooktest.Example(t)
	wanted := map[string]pairing.NeedReason{}
	for _, day := range []studbook.Day{studbook.DayOf(2026, 9, 30), studbook.DayOf(2026, 11, 15), studbook.DayOf(2027, 2, 14), studbook.DayOf(2027, 4, 20), studbook.DayOf(2027, 6, 30)} {
		p, err := pairing.New(t.Context(), c.At(day))
		require.NoError(t, err)
		require.Equal(t, 2027, p.Season())
		for _, place := range append(p.Book.Locations(), "") {
			_, why := p.ChicksNeeded(place, place == "")
			if first, asked := wanted[place]; asked {
				assert.Equal(t, first, why, "%q on %s", place, day)
			} else {
				wanted[place] = why
			}
		}
	}
	require.Len(t, wanted, 10)
	p, err := pairing.New(t.Context(), c.At(studbook.DayOf(2026, 9, 30)))
	require.NoError(t, err)
	need := p.Need("HAF", false)
	assert.Equal(t, "2027-04-01", need.From.String(), "the season's year")
	assert.InDelta(t, 1-69/studbook.DaysPerYear, need.Age, 1e-9, "from 9 June, 24 days after the middle of the laying months, to 1 April")
}

// TestSexBy has chicks and grown birds of unknown sex, where birds breed from two years on
// and their places are chosen a year before.
func TestSexBy(t *testing.T) {
	p := programmeOn(t, "2026-09-30", "studbook.csv", "id,sex,sire,dam,hatch_date\nF,F,,,2018-05-01\nM,M,,,2018-05-01\n"+
		"GROWN,U,M,F,2020-05-01\nNEXT,U,M,F,2025-05-01\nCHICK,U,M,F,2026-05-01\nUNAGED,U,M,F,\n",
		"programme.toml", "[breeding_age]\nfemale = [2, 20]\nmale = [2, 20]\n[moves]\nahead = 1\n[months]\npairing = [2, 3]\nlaying = [4, 5, 6]\n")
	for id, want := range map[string][2]string{
		"GROWN":  {"2027-02-01", ""},
		"NEXT":   {"2027-02-01", "2028-04-01"}, // not two years old on 1 April 2027, and older than one
		"CHICK":  {"2028-02-01", "2029-04-01"}, // not one year old on 1 April 2027
		"UNAGED": {"2027-02-01", ""},
	} {
		by, first := p.SexBy(index(t, p, id))
		assert.Equal(t, want, [2]string{by.String(), first.String()}, id)
	}
}

// TestSmallPlacesHatchTogether: places that lose next to nobody a year each share the chick
// that they need together, worked out by hand: of 3, 4 and 4 birds of which one in a
// hundred dies a year 0.03, 0.04 and 0.04 chicks lack, and of all 0.11. Beside a place
// that hatches as many by itself they hatch none.
func TestSmallPlacesHatchTogether(t *testing.T) {
	wanted := func(birds map[string]int) string {
		var rows strings.Builder
		for _, place := range []string{"A", "B", "C", "D"} {
			for k := range birds[place] {
				fmt.Fprintf(&rows, "%s%d,F,wild,wild,2018,%s\n", place, k, place)
			}
		}
		p := inJune(t, "studbook.csv", "id,sex,sire,dam,hatch_date,location\n"+rows.String(), "programme.toml", "[survival]\nfirst_year = 1\nyearly = 0.99\n")
		var say []string
		for _, place := range []string{"A", "B", "C", "D"} {
			if birds[place] > 0 {
				chicks, why := p.ChicksNeeded(place, false)
				say = append(say, fmt.Sprint(place, chicks))
				assert.Equal(t, chicks == 1 && birds[place] < 5, why.Rounded)
			}
		}
		all, why := p.ChicksNeeded("", true)
		assert.False(t, why.Rounded)
		return fmt.Sprint(strings.Join(say, " "), " of ", all)
	}
	assert.Equal(t, "A0 B1 C0 of 1", wanted(map[string]int{"A": 3, "B": 4, "C": 4}))
	assert.Equal(t, "A0 B0 C0 D1 of 1", wanted(map[string]int{"A": 3, "B": 4, "C": 4, "D": 60}))
	assert.Equal(t, "A0 of 0", wanted(map[string]int{"A": 4}))
}
