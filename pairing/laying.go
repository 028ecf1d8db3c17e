package pairing

import (
	"math"
	"slices"

	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// SeasonsOnRecord is how bonds did in the seasons of which clutches are on record.
type SeasonsOnRecord struct {
	// Seasons is in how many a bond was together through the laying months and both birds
	// were of breeding age, Laid in how many of those it has a clutch on record.
	Seasons, Laid int
	// Left is in how many it laid, its eggs were left to it and what came of them is known,
	// Hatched how many chicks hatched of these.
	Left, Hatched int
	squares       int // of the chicks of each season
}

// surelyOff and muchOff are by how many standard errors, and by what share of itself, a
// setting has to be off the record to be told (common practice, no source); fewSeasons are
// too few to tell.
const (
	surelyOff  = 3
	muchOff    = 0.15
	fewSeasons = 50
)

// Speaks reports whether the record speaks against chicks_per_season of programme.toml.
func (s SeasonsOnRecord) Speaks(against float64) bool {
	e, ok := s.Chicks()
	off := math.Abs(against - e.Value)
	return ok && s.Seasons >= fewSeasons && off > surelyOff*e.StandardError && off > muchOff*e.Value
}

// Chicks estimates how many chicks a bond hatches in a season in which its eggs would be
// left to it, those that lay none among them:
//
//	share of seasons with a clutch × mean of those whose eggs were left
//
// with the standard error of such a product, to first order. ok is false where nothing is on
// record. A pair whose eggs were replaced without a clutch on record counts as one that laid
// none.
func (s SeasonsOnRecord) Chicks() (e pedigree.Estimate, ok bool) {
	if s.Seasons == 0 || s.Left == 0 {
		return e, false
	}
	share, mean := float64(s.Laid)/float64(s.Seasons), float64(s.Hatched)/float64(s.Left)
	ofShare := share * (1 - share) / float64(s.Seasons)
	ofMean := (float64(s.squares)/float64(s.Left) - mean*mean) / float64(s.Left)
	return pedigree.Estimate{Value: share * mean, StandardError: math.Sqrt(mean*mean*ofShare + share*share*ofMean)}, true
}

// SeasonsOnRecord counts how bonds did in the seasons before this one, from the first to the
// last of which a clutch is on record; nothing where the laying months are not set.
func (p *Programme) SeasonsOnRecord() (s SeasonsOnRecord) {
	first, last := 0, 0
	for _, c := range p.Book.Clutches {
		if c.Laid.Known() {
			year := p.laidIn(c.Laid.Mid())
			if last = max(last, year); first == 0 || year < first {
				first = year
			}
		}
	}
	if first == 0 {
		return s
	}
	for i := range p.Book.Bonds {
		var record map[int]Broods // by season
		for year := first; year <= min(last, p.Season()-1); year++ {
			pair, together := p.together(&p.Book.Bonds[i], year)
			if !together {
				continue
			}
			s.Seasons++
			if record == nil {
				record = map[int]Broods{}
				for _, season := range p.Seasons(pair[0], pair[1]) {
					record[season.Year] = season.Broods
				}
			}
			broods, laid := record[year]
			if !laid {
				continue
			}
			s.Laid++
			if broods.Told() > 0 {
				s.Left++
				s.Hatched += broods.Hatched.Sum
				s.squares += broods.Hatched.Sum * broods.Hatched.Sum
			}
		}
	}
	return s
}

// WithoutClutch returns the pairs, the female first and by id, that were together through the laying
// months of the last season, both of breeding age, and have no clutch of it on record; none
// where the season has no clutch on record at all, or the laying months are not set.
func (p *Programme) WithoutClutch() (pairs [][2]int) {
	year := p.Season() - 1
	if !slices.ContainsFunc(p.Book.Clutches, func(c studbook.Clutch) bool { return c.Laid.Known() && p.laidIn(c.Laid.Mid()) == year }) {
		return nil
	}
	for i := range p.Book.Bonds {
		pair, together := p.together(&p.Book.Bonds[i], year)
		if together && !slices.ContainsFunc(p.Seasons(pair[0], pair[1]), func(s SeasonRecord) bool { return s.Year == year }) {
			pairs = append(pairs, pair)
		}
	}
	slices.SortFunc(pairs, func(a, b [2]int) int { return slices.Compare(a[:], b[:]) })
	return slices.Compact(pairs)
}

// together returns the female and the male of a bond, and whether it lasted through the
// laying months of a season and both were of breeding age.
func (p *Programme) together(bond *studbook.Bond, year int) (pair [2]int, so bool) {
	female, known := p.Book.Index(bond.Female)
	male, too := p.Book.Index(bond.Male)
	if !known || !too || !bond.Since.Known() || len(p.Settings().LayingMonths) == 0 {
		return pair, false
	}
	begin, end := p.laying(year)
	end--
	return [2]int{female, male}, bond.Since.Mid() <= begin && end <= p.Book.AsOf && (!bond.Until.Known() || bond.Until.Mid() >= end) &&
		p.bred(female, begin, end) && p.bred(male, begin, end)
}

// bred reports whether a bird was of breeding age on the first of some days and lived to the
// last.
func (p *Programme) bred(b int, begin, end studbook.Day) bool {
	bird, ages := &p.Book.Birds[b], p.AgesOf(b)
	age := float64(begin-bird.Hatch.Mid()) / studbook.DaysPerYear
	return bird.Hatch.Known() && (!bird.Death.Known() || bird.Death.Mid() > end) && age >= ages.First && (ages.Last == 0 || age < ages.Last+1)
}
