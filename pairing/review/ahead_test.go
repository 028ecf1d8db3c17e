package review

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook"
)

// A programme in which every year from 2000 on one female and one male hatch,
// breed one female and one male chick just past their first birthday, and die
// before their second, holds
// its number: worked by hand, λ = R0 = 1 (Leslie 1945).
func TestNumbersAheadOfASteadyProgramme(t *testing.T) {
	colony := &studbook.Colony{HasOrigin: true}
	// A day later every year, so that parents are past their first birthday.
	hatch := func(year int) studbook.Day { return studbook.DayOf(year, 5, 1) + studbook.Day(year-2000) }
	date := func(day studbook.Day) studbook.Date { return studbook.Date{First: day, Last: day} }
	id := func(sex studbook.Sex, year int) string { return fmt.Sprint(sex, year) }
	last := 2020
	for year := 2000; year <= last; year++ {
		for _, sex := range []studbook.Sex{studbook.Female, studbook.Male} {
			b := studbook.Bird{ID: id(sex, year), Sex: sex, Hatch: date(hatch(year)), Recorded: true, Origin: studbook.OriginCaptive}
			if year > 2000 {
				one := func(s studbook.Sex) studbook.Parentage {
					return studbook.Parentage{Candidates: []studbook.Candidate{{ID: id(s, year-1), Weight: 1}}}
				}
				b.Sire, b.Dam = one(studbook.Male), one(studbook.Female)
			}
			if year <= last-2 {
				b.Death = date(hatch(year) + 660)
			}
			colony.Birds = append(colony.Birds, b)
		}
	}
	census := demography.NewCensus(colony.At(studbook.DayOf(last, 7, 1)))
	numbers := ahead(census, census.AgeStructure(demography.Programme), studbook.DayOf(last-10, 7, 1))
	require.Len(t, numbers, AheadYears+1)
	assert.Equal(t, 4.0, numbers[0], "the birds of the last two years")
	for year, n := range numbers {
		assert.InDelta(t, 4, n, 0.2, "year %d", year)
	}
	assert.Empty(t, ahead(demography.NewCensus((&studbook.Colony{}).At(studbook.DayOf(2020, 1, 1))), demography.AgeStructure{}, 0))
}
