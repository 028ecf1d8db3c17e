package demography

import (
	"math"
	"slices"

	"pairwright/pedigree/studbook"
)

// ReachedAge returns the share of the chicks hatched in a scope after a day
// that were alive at an age in years, wherever they were then. Only chicks
// hatched so long before WatchedUntil that they could have reached it count.
// With an age of 1 it is first-year survival.
func (c *Census) ReachedAge(scope Scope, since studbook.Day, age float64) Proportion {
	reached, of := 0, 0
	for i := range c.courses {
		v := &c.courses[i]
		if v.hatch == 0 || v.hatch < since || !c.hatchedIn(i, scope) || years(c.watchEnd-v.hatch) < age {
			continue
		}
		of++
		if v.dead == 0 || v.dead > c.watchEnd || years(v.dead-v.hatch) >= age {
			reached++
		}
	}
	return NewProportion(reached, of)
}

// Need is how many chicks a scope needs to hatch in the coming season.
type Need struct {
	Living int // now, those aside left out
	Aside  int // living birds that are not counted, as chicks of the season itself
	Target int // living birds wanted in a year
	// Expected is how many of today's birds are likely to live in a year.
	Expected Number
	// ByCurve birds were judged by the survival of birds of their age, ByMean
	// by the mean of all birds of a year or older: those of unknown age and of
	// ages that too few birds were watched at.
	ByCurve, ByMean int
	FirstYear       Proportion // chicks that live to the age of one year
	OwnRecords      bool       // survival is the scope's own; else it is the programme's
	// Deaths are the birds watched that died at a year or older. Where none did
	// nobody knows how many live another year: that all do, for ever, is not
	// what such a record says.
	Deaths  int
	Assumed bool // the survival is not on record but given; see Assuming

	// Chicks is the number that must hatch, a whole number of 0 or more; Least
	// and Most are the same with the ends of FirstYear.Exact. Unknown where
	// the survival is, or where no chick is known to live to a year.
	Chicks, Least, Most Number
}

// Need returns the number of chicks that must hatch in the coming season so
// that a scope has a number of living birds a year from the day of the
// snapshot:
//
//	chicks = (target - Σ S(a+1)/S(a)) / s₁, rounded up, 0 or more
//
// over the ages a of the living, S the survival curve of the birds of both
// sexes watched after the day since and s₁ the share of chicks that live to a
// year. Chicks are taken to hatch at the beginning of the year and birds
// neither to come nor to go. To hold the level the target is the number of
// living; for a goal some years away see StepToward. The records of a colony
// that are too few (LifeTable.Suffices) are replaced by the programme's. The birds aside,
// by their places among those of the snapshot, count for none of the living.
func (c *Census) Need(scope Scope, target int, since studbook.Day, aside ...int) Need {
	living := c.living(scope)
	n := Need{Target: target}
	if len(aside) > 0 {
		living = slices.DeleteFunc(slices.Clone(living), func(i int) bool { return slices.Contains(aside, i) })
		n.Aside = len(c.living(scope)) - len(living)
	}
	n.Living = len(living)
	basis := scope
	n.FirstYear = c.ReachedAge(scope, since, 1)
	table, own := c.LifeTable(scope, Everyone, since)
	// A scope of whose dead nothing is known, as nobody wrote down where they lived, has
	// no records of its own either.
	if n.OwnRecords = own && !n.FirstYear.TooFew && (grownDeaths(c.Watch(scope, Everyone, since).Survival()) > 0 || scope == Programme); !n.OwnRecords {
		if scope == Programme || !c.snapshot.Colony.HasLocation {
			n.OwnRecords = true // there are no others
		} else {
			basis = Programme
			n.FirstYear = c.ReachedAge(Programme, since, 1)
			table = c.Watch(Programme, Everyone, since).LifeTable()
		}
	}
	curve := c.Watch(basis, Everyone, since).Survival()
	n.Deaths = grownDeaths(curve)
	if n.Deaths > 0 || len(living) == 0 {
		n.expect(c, living, curve, table.Adult(1))
	}
	if n.Expected.Known {
		n.Chicks = chicksNeeded(target, n.Expected.Value, n.FirstYear.Known, n.FirstYear.Value)
		n.Least = chicksNeeded(target, n.Expected.Value, n.FirstYear.Known, n.FirstYear.Exact.High)
		n.Most = chicksNeeded(target, n.Expected.Value, n.FirstYear.Known, n.FirstYear.Exact.Low)
	}
	return n
}

// grownDeaths counts the deaths at a year or older behind a survival curve.
func grownDeaths(curve Curve) (deaths int) {
	for _, step := range curve.Steps {
		if step.Age >= 1 {
			deaths += int(step.Deaths)
		}
	}
	return deaths
}

// Assuming returns the need with a survival that is given for the one that is
// not on record: shares of chicks that live to a year and of older birds that
// live another, in (0, 1]. A need that the record tells stays as it is.
func (n Need) Assuming(firstYear, yearly float64) Need {
	if n.Chicks.Known {
		return n
	}
	n.Assumed = true
	n.Expected = known(yearly * float64(n.Living))
	n.Chicks = chicksNeeded(n.Target, n.Expected.Value, true, firstYear)
	n.Least, n.Most = n.Chicks, n.Chicks
	return n
}

// expect adds up the chances of the living to live another year.
func (n *Need) expect(c *Census, living []int, curve Curve, mean Number) {
	sum := 0.0
	for _, i := range living {
		var p Number
		if age, ok := c.age(i, c.snapshot.AsOf); ok {
			p = curve.Between(age, age+1)
		}
		if p.Known {
			n.ByCurve++
		} else {
			p = mean
			n.ByMean++
		}
		if !p.Known {
			return
		}
		sum += p.Value
	}
	n.Expected = known(sum)
}

// chicksNeeded returns (target - expected) / survival rounded up.
func chicksNeeded(target int, expected float64, ok bool, survival float64) Number {
	lacking := float64(target) - expected
	if lacking <= 0 {
		return known(0)
	}
	if !ok || survival == 0 {
		return Number{}
	}
	// A whole number must not become the next one by rounding in the sum.
	return known(math.Ceil(lacking/survival - 1e-9))
}

// StepToward returns the number of birds wanted in a year by a population that
// is to grow, or shrink, from now to goal over a number of years by the same
// factor each year, rounded up: now·(goal/now)^(1/years). With one year or
// less it is the goal; a population of nobody cannot grow by a factor, and its
// step is the goal too.
func StepToward(now, goal, years int) int {
	if years <= 1 || now <= 0 || goal <= 0 {
		return max(goal, 0)
	}
	step := float64(now) * math.Pow(float64(goal)/float64(now), 1/float64(years))
	return int(math.Ceil(step - 1e-9))
}
