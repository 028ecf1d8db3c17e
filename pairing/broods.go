package pairing

import (
	"cmp"
	"slices"

	"pairwright/pedigree/studbook"
)

// Counted is a sum over clutches, with the number of clutches in which it was
// counted at all: 0 means that nobody wrote it down, which is not a sum of 0.
type Counted struct {
	Sum, Clutches int
}

// Known reports whether anything was counted.
func (c Counted) Known() bool { return c.Clutches > 0 }

func (c *Counted) add(n int) {
	if n >= 0 {
		c.Sum += n
		c.Clutches++
	}
}

// Broods is the record of some clutches. Every clutch is one of Won, Barren,
// Lost, Dummied, Sitting and Untold.
type Broods struct {
	Clutches int
	Won      int // a chick fledged, or hatched where fledging is not on record
	Barren   int // candled, and no egg was fertile
	Lost     int // no chick, with fertile eggs or where nobody candled
	Dummied  int // the eggs were replaced by dummies, or they alone are on record
	Sitting  int // eggs alone are on record, and the pair may still be on the nest
	Untold   int // nothing that tells what became of it

	Eggs, Fertile, Hatched, Fledged Counted
}

// Told returns how many clutches have an outcome on record that says something
// of the pair.
func (b *Broods) Told() int { return b.Won + b.Barren + b.Lost }

// oftenBarren is the number of clutches without a fertile egg from which a pair
// that never had one is to be sexed and examined (common practice, no source).
const oftenBarren = 3

// NeverFertile reports whether eggs were often laid and none was ever fertile:
// the two may be of one sex, or one of them ill.
func (b *Broods) NeverFertile() bool {
	return b.Barren >= oftenBarren && b.Fertile.Sum == 0 && b.Hatched.Sum == 0 && b.Fledged.Sum == 0
}

// Add adds a clutch as it stands on a day.
func (b *Broods) Add(c *studbook.Clutch, on studbook.Day) {
	b.Clutches++
	b.Eggs.add(c.Eggs)
	b.Fertile.add(c.Fertile)
	b.Hatched.add(c.Hatched)
	b.Fledged.add(c.Fledged)
	won, told := outcome(c)
	until, dated := NestUntil(c)
	switch {
	case won:
		b.Won++
	case c.Fertile == 0 && c.Eggs != 0:
		b.Barren++
	case c.Replaced:
		b.Dummied++
	case told:
		b.Lost++
	case dated && until >= on:
		b.Sitting++
	case c.Eggs > 0 && c.Fertile < 0:
		b.Dummied++
	default:
		b.Untold++
	}
}

// SeasonRecord is the record of a pair in one season, by the year in which it begins, 0
// for clutches without a date.
type SeasonRecord struct {
	Year int
	Broods
}

// Seasons returns the record of two birds by season.
func (p *Programme) Seasons(female, male int) []SeasonRecord {
	var seasons []SeasonRecord
	for _, c := range p.clutchesOf(female, male) {
		year := 0
		if c.Laid.Known() {
			year = p.laidIn(c.Laid.Mid())
		}
		k := slices.IndexFunc(seasons, func(s SeasonRecord) bool { return s.Year == year })
		if k < 0 {
			k = len(seasons)
			seasons = append(seasons, SeasonRecord{Year: year})
		}
		seasons[k].Add(c, p.Book.AsOf)
	}
	slices.SortFunc(seasons, func(a, b SeasonRecord) int { return cmp.Compare(a.Year, b.Year) })
	return seasons
}

// FailedInARow returns how many of the last seasons whose outcome is on record
// brought no chick, one after the other.
func FailedInARow(seasons []SeasonRecord) int {
	failed := 0
	for _, s := range slices.Backward(seasons) {
		switch {
		case s.Told() == 0:
		case s.Won > 0:
			return failed
		default:
			failed++
		}
	}
	return failed
}

// Broods returns the whole record of two birds together.
func (p *Programme) Broods(female, male int) Broods {
	var b Broods
	for _, c := range p.clutchesOf(female, male) {
		b.Add(c, p.Book.AsOf)
	}
	return b
}

// clutchesOf returns the clutches of two birds, in file order.
func (p *Programme) clutchesOf(female, male int) []*studbook.Clutch {
	return p.clutches()[[2]int{female, male}]
}

func (p *Programme) clutchesByPair() map[[2]int][]*studbook.Clutch {
	by := map[[2]int][]*studbook.Clutch{}
	for i := range p.Book.Clutches {
		c := &p.Book.Clutches[i]
		female, known := p.Book.Index(c.Female)
		male, too := p.Book.Index(c.Male)
		if known && too {
			by[[2]int{female, male}] = append(by[[2]int{female, male}], c)
		}
	}
	return by
}
