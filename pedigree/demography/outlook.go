package demography

import (
	"cmp"
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
	Target int // living birds wanted at its end
	// Expected is how many of the living are likely to live through the year, if all
	// see it begin.
	Expected Number
	From     studbook.Day // the first day of the year
	// ByCurve birds were judged by the survival of birds of their age, ByMean
	// by the mean of all birds of a year or older, or, where that is less, of the
	// eldest: those of unknown age and of ages that too few birds were watched at.
	ByCurve, ByMean int
	Age             float64    // in years, that the chicks of the season have at the end of the year
	Reached         Proportion // chicks that lived to that age
	OwnRecords      bool       // survival is the scope's own; else it is the programme's
	// Deaths are the birds watched that died at a year or older. Where none did
	// nobody knows how many live another year: that all do, for ever, is not
	// what such a record says.
	Deaths  int
	Assumed bool // the survival is not on record but given; see Assuming

	// Chicks is the number that must hatch, a whole number of 0 or more; Least
	// and Most are the same with the ends of Reached.Exact. Unknown where the
	// survival is, or where no chick is known to live so long.
	Chicks, Least, Most Number
	// Exact is Chicks before it is rounded.
	Exact Number
}

// Year is the year for which a scope needs chicks, and from what its survival is known.
// With days that do not turn with the calendar, neither does the need.
type Year struct {
	From  studbook.Day // its first day; 0 for that of the snapshot
	Hatch studbook.Day // on which the chicks hatch; they are a year old at its end where that is not after From
	// Since and Until are the days between which birds count as watched; an Until of 0, or
	// after WatchedUntil, is that.
	Since, Until studbook.Day
}

// Need returns the number of chicks that must hatch in the coming season so
// that a scope has a number of living birds at the end of a year:
//
//	chicks = (target - Σ S(a+1)/S(a)) / s, to the nearest whole number
//
// over the ages a that the living have when the year begins, S the survival curve of the
// birds of both sexes watched, and s the share of chicks that live to the
// age that those of the season have at its end; 1 at least from a twentieth of a chick on, or a
// small scope would die out. Rounding up would let a scope grow that is to hold its
// level. Birds are taken neither to come nor to go. To hold the level the target is
// the number of living; for a goal some years away see StepToward. The records of a
// colony that are too few (LifeTable.Suffices) are replaced by the programme's. The
// birds aside, by their places among those of the snapshot, count for none of the
// living.
func (c *Census) Need(scope Scope, target int, year Year, aside ...int) Need {
	since := year.Since
	if year.Until != 0 && year.Until < c.watchEnd {
		until := *c
		until.watchEnd = year.Until
		c = &until
	}
	living := c.living(scope)
	n := Need{Target: target, From: cmp.Or(year.From, c.snapshot.AsOf)}
	n.Age = min(1, max(0, 1-years(year.Hatch-n.From)))
	if len(aside) > 0 {
		living = slices.DeleteFunc(slices.Clone(living), func(i int) bool { return slices.Contains(aside, i) })
		n.Aside = len(c.living(scope)) - len(living)
	}
	n.Living = len(living)
	basis := scope
	n.Reached = c.ReachedAge(scope, since, n.Age)
	table, own := c.LifeTable(scope, Everyone, since)
	// A scope of whose dead nothing is known, as nobody wrote down where they lived, has
	// no records of its own either.
	if n.OwnRecords = own && !n.Reached.TooFew && (grownDeaths(c.Watch(scope, Everyone, since).Survival()) > 0 || scope == Programme); !n.OwnRecords {
		if scope == Programme || !c.snapshot.Colony.HasLocation {
			n.OwnRecords = true // there are no others
		} else {
			basis = Programme
			n.Reached = c.ReachedAge(Programme, since, n.Age)
			table = c.Watch(Programme, Everyone, since).LifeTable()
		}
	}
	curve := c.Watch(basis, Everyone, since).Survival()
	n.Deaths = grownDeaths(curve)
	if n.Deaths > 0 || len(living) == 0 {
		n.expect(c, living, curve, table)
	}
	if n.Expected.Known {
		n.Exact = chicksLacking(target, n.Expected.Value, n.Reached.Known, n.Reached.Value)
		n.Chicks = wholeChicks(n.Exact)
		n.Least = wholeChicks(chicksLacking(target, n.Expected.Value, n.Reached.Known, n.Reached.Exact.High))
		n.Most = wholeChicks(chicksLacking(target, n.Expected.Value, n.Reached.Known, n.Reached.Exact.Low))
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
// not on record: shares of chicks that live to a year, of which as many die in
// each part of it, and of older birds that live another, in (0, 1]. A need that the
// record tells stays as it is.
func (n Need) Assuming(firstYear, yearly float64) Need {
	if n.Chicks.Known {
		return n
	}
	n.Assumed = true
	n.Expected = known(yearly * float64(n.Living))
	n.Exact = chicksLacking(n.Target, n.Expected.Value, true, math.Pow(firstYear, n.Age))
	n.Chicks = wholeChicks(n.Exact)
	n.Least, n.Most = n.Chicks, n.Chicks
	return n
}

// expect adds up the chances of the living to live through the year.
func (n *Need) expect(c *Census, living []int, curve Curve, table LifeTable) {
	sum, mean := 0.0, table.Adult(1)
	eldest, ofEldest := table.Eldest()
	for _, i := range living {
		var p Number
		age, aged := c.age(i, n.From)
		if aged {
			p = curve.Between(age, age+1)
		}
		if p.Known {
			n.ByCurve++
		} else {
			p = mean
			if aged && ofEldest.Known && age >= float64(eldest) {
				p.Value = min(p.Value, ofEldest.Value)
			}
			n.ByMean++
		}
		if !p.Known {
			return
		}
		sum += p.Value
	}
	n.Expected = known(sum)
}

// chicksLacking returns (target - expected) / survival, 0 at least.
func chicksLacking(target int, expected float64, ok bool, survival float64) Number {
	const rounding = 1e-9 // of the sum
	lacking := float64(target) - expected
	if lacking <= rounding {
		return known(0)
	}
	if !ok || survival == 0 {
		return Number{}
	}
	return known(lacking / survival)
}

// wholeChicks returns a number of chicks to the nearest whole one, 1 at least from a
// twentieth on.
func wholeChicks(n Number) Number {
	const nothing = 0.05 // of a chick: so few deaths are as good as none
	switch {
	case !n.Known:
		return n
	case n.Value < nothing:
		return known(0)
	}
	return known(max(1, math.Round(n.Value)))
}

// StepToward returns the number of birds wanted in a year by a population that
// is to grow, or shrink, from now to goal over a number of years by the same
// factor each year, to the nearest whole number and a bird nearer at least:
// now·(goal/now)^(1/years). With one year or less it is the goal; a population of
// nobody cannot grow by a factor, and its step is the goal too.
func StepToward(now, goal, years int) int {
	if years <= 1 || now <= 0 || goal <= 0 {
		return max(goal, 0)
	}
	step := int(math.Round(float64(now) * math.Pow(float64(goal)/float64(now), 1/float64(years))))
	switch {
	case now < goal:
		return max(step, now+1)
	case now > goal:
		return min(step, now-1)
	}
	return goal
}
