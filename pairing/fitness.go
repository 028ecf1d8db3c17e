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

// OlderThanAny is why a bird may be past breeding though no last age is known: Birds it,
// Value its age in years in the coming season, Other the age of the eldest parent of its sex on record.
const OlderThanAny Code = "older_than_any"

// olderBy is how many times as old as the eldest parent on record a bird must be to be
// spoken of (common practice, no source).
const olderBy = 1.5

// olderThanAny returns the reason OlderThanAny of a bird that is by far older than any of
// its sex is known to have had a brood; is is false of others, and where none had one.
func (p *Programme) olderThanAny(b int) (why Reason, is bool) {
	bird := &p.Book.Birds[b]
	age, known := ageOn(bird, p.BreedingDay())
	eldest := p.eldest[bird.Sex]
	if !known || eldest == 0 || p.AgesOf(b).Last > 0 || age <= olderBy*eldest {
		return why, false
	}
	return Reason{Code: OlderThanAny, Birds: p.birds(b), Value: age, Other: eldest}, true
}

// eldestParents returns by sex the greatest age in years at which a bird had a brood.
func (p *Programme) eldestParents() map[studbook.Sex]float64 {
	eldest := map[studbook.Sex]float64{}
	for b, day := range p.lastBrood {
		if age, known := ageOn(&p.Book.Birds[b], day); known && day > 0 {
			sex := p.Book.Birds[b].Sex
			eldest[sex] = max(eldest[sex], age)
		}
	}
	return eldest
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
