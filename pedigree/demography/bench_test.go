package demography_test

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook"
)

// generated is a programme of n birds over 60 years in ten places.
func generated(n int) *studbook.Colony {
	rng := rand.New(rand.NewPCG(7, 8))
	c := &studbook.Colony{HasLocation: true, HasOrigin: true}
	start := studbook.DayOf(1960, time.January, 1)
	const span = 60 * 365
	exact := func(d studbook.Day) studbook.Date { return studbook.Date{First: d, Last: d} }
	for i := range n {
		hatch := start + studbook.Day(i*span/n)
		place := fmt.Sprintf("P%d", rng.IntN(10))
		b := studbook.Bird{
			ID: fmt.Sprintf("b%05d", i), Sex: []studbook.Sex{studbook.Female, studbook.Male}[i%2], Hatch: exact(hatch),
			Death: exact(hatch + studbook.Day(rng.ExpFloat64()*3000)), Location: place, Origin: studbook.OriginCaptive, Recorded: true,
		}
		if i >= 20 {
			b.Dam = is(fmt.Sprintf("b%05d", 2*(max(0, i-200)/2+rng.IntN(5))))
			b.Sire = is(fmt.Sprintf("b%05d", 2*(max(0, i-200)/2+rng.IntN(5))+1))
		}
		c.Birds = append(c.Birds, b)
		if rng.IntN(3) == 0 {
			c.Moves = append(c.Moves, studbook.Move{ID: b.ID, Date: exact(hatch + 400), From: place, To: fmt.Sprintf("P%d", rng.IntN(10))})
		}
	}
	return c
}

func BenchmarkCensus(b *testing.B) {
	for _, n := range []int{300, 3000} {
		s := generated(n).At(studbook.DayOf(2020, time.January, 1))
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				c := demography.NewCensus(s)
				c.Years(demography.Programme)
				c.Years("P1")
				c.Need("P1", 30, demography.Year{})
				for _, g := range []demography.Group{demography.Females, demography.Males} {
					c.Watch(demography.Programme, g, 0).Survival()
					t, _ := c.LifeTable("P1", g, 0)
					t.Growth()
				}
				c.Breeding("P1", 0, s.AsOf)
				c.Families()
			}
		})
	}
}
