package pairing

import (
	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook"

	"github.com/sourcegraph/conc"
)

// Ages are the breeding ages of both sexes in years.
type Ages struct {
	Female, Male demography.BreedingAges
}

// Of returns the ages of a sex; for an unsexed bird the wider of both.
func (a Ages) Of(sex studbook.Sex) demography.BreedingAges {
	switch sex {
	case studbook.Female:
		return a.Female
	case studbook.Male:
		return a.Male
	}
	return a.Female.Wider(a.Male)
}

// breedingAges returns the ages in force; see demography.BreedingAgesOf.
func breedingAges(book *studbook.Snapshot) Ages {
	var a Ages
	var wg conc.WaitGroup
	wg.Go(func() { a.Female = demography.BreedingAgesOf(book, studbook.Female) })
	wg.Go(func() { a.Male = demography.BreedingAgesOf(book, studbook.Male) })
	wg.Wait()
	return a
}

// AgesOf returns the breeding ages of one bird: those of its sex, but where
// programme.toml does not set the last age it breeds on for
// demography.StillBreeds years after its own last brood.
func (p *Programme) AgesOf(b int) demography.BreedingAges {
	bird := &p.Book.Birds[b]
	ages := p.Ages.Of(bird.Sex)
	if ages.Last == 0 || ages.LastFrom == demography.FromSettings || !bird.Hatch.Known() {
		return ages
	}
	if last := p.lastBrood[b]; last > 0 {
		ages.Last = max(ages.Last, float64(last-bird.Hatch.Mid())/studbook.DaysPerYear+demography.StillBreeds)
	}
	return ages
}

// lastBroods returns the day of the last brood of every bird, 0 where none is on
// record: a chick whose parent it is for certain, or a clutch that hatched.
func lastBroods(book *studbook.Snapshot) []studbook.Day {
	last := make([]studbook.Day, len(book.Birds))
	note := func(b int, on studbook.Date) {
		if b >= 0 && on.Known() {
			last[b] = max(last[b], on.Mid())
		}
	}
	for b := range book.Birds {
		sire, dam := book.Parents(b)
		note(sire, book.Birds[b].Hatch)
		note(dam, book.Birds[b].Hatch)
	}
	for i := range book.Clutches {
		c := &book.Clutches[i]
		if c.Hatched <= 0 && c.Fledged <= 0 {
			continue
		}
		for _, id := range [2]string{c.Female, c.Male} {
			if b, ok := book.Index(id); ok {
				note(b, c.Laid)
			}
		}
	}
	return last
}
