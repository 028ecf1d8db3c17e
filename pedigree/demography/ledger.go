package demography

import (
	"time"

	"pairwright/pedigree/studbook"
)

// Ledger is the comings and goings of a scope after one day and up to another,
// that day included:
//
//	Start + Hatched + Founders + Arrived - Died - Departed = End
type Ledger struct {
	From, To   studbook.Day
	Start, End int // birds living at the end of the day From, of the day To
	Hatched    int
	// Founders are birds that did not hatch in the programme and arrived in
	// the time, and birds that had left it and came back.
	Founders          int
	Arrived, Departed int // by moves.csv; for the programme, those that left it
	Died              int
}

// Ledger returns the comings and goings of a scope. Both days count at most to
// the day of the snapshot. What has no date has no place in it: a bird without
// a hatch date counts as present from the first day on.
func (c *Census) Ledger(scope Scope, from, to studbook.Day) Ledger {
	to = min(to, c.snapshot.AsOf)
	from = min(from, to)
	l := Ledger{From: from, To: to}
	count := func(n *int, day studbook.Day) {
		if from < day && day <= to {
			*n++
		}
	}
	for i := range c.courses {
		v := &c.courses[i]
		if len(v.stays) == 0 {
			continue
		}
		if c.at(i, scope, from) {
			l.Start++
		}
		if c.at(i, scope, to) {
			l.End++
		}
		for k, s := range v.stays {
			is := c.in(scope, s.Place)
			out := k == 0 || v.stays[k-1].To < s.From // it was outside of the programme
			was := !out && c.in(scope, v.stays[k-1].Place)
			switch {
			case is && k == 0 && !v.cameIn:
				count(&l.Hatched, s.From)
			case is && out:
				count(&l.Founders, s.From)
			case is && !was:
				count(&l.Arrived, s.From)
			case was && !is:
				count(&l.Departed, s.From)
			}
			switch {
			case !is:
			case s.To == v.dead:
				count(&l.Died, s.To)
			case k+1 == len(v.stays) || s.To < v.stays[k+1].From:
				count(&l.Departed, s.To)
			}
		}
	}
	return l
}

// Years returns the Ledger of each calendar year of a scope, from the first in
// which something is on record to that of the snapshot, which ends on its day.
// It is empty where nothing has a date.
func (c *Census) Years(scope Scope) []Ledger {
	var first studbook.Day
	for i := range c.courses {
		for _, s := range c.courses[i].stays {
			if !c.in(scope, s.Place) {
				continue
			}
			if s.From != 0 {
				first = earlier(first, s.From)
			} else if dead := c.courses[i].dead; dead != 0 {
				first = earlier(first, dead)
			}
		}
	}
	if first == 0 {
		return nil
	}
	var l []Ledger
	for year := first.Time().Year(); year <= c.snapshot.AsOf.Time().Year(); year++ {
		l = append(l, c.Ledger(scope, studbook.DayOf(year-1, time.December, 31), studbook.DayOf(year, time.December, 31)))
	}
	return l
}

// AgeCount is the number of birds of an age class by sex.
type AgeCount struct {
	Age                     int // the class [Age, Age+1)
	Females, Males, Unsexed int
}

func (a *AgeCount) add(s studbook.Sex) {
	switch s {
	case studbook.Female:
		a.Females++
	case studbook.Male:
		a.Males++
	default:
		a.Unsexed++
	}
}

// Total returns the number of birds of the class.
func (a AgeCount) Total() int { return a.Females + a.Males + a.Unsexed }

// AgeStructure is the birds living on a day by age and sex.
type AgeStructure struct {
	Classes []AgeCount // from age 0 to the oldest, empty ones included
	Unknown AgeCount   // birds without a hatch date; its Age is 0
	Vague   int        // birds in Classes whose age may be off by more than half a year
	Median  Number     // age in years of those whose age is known
}

// AgeStructure returns the birds living in a scope on the day of the snapshot.
func (c *Census) AgeStructure(scope Scope) AgeStructure {
	var a AgeStructure
	var known []float64
	for _, i := range c.living(scope) {
		b := &c.snapshot.Birds[i]
		age, plusMinus, ok := c.snapshot.AgeYears(i)
		if !ok {
			a.Unknown.add(b.Sex)
			continue
		}
		for len(a.Classes) <= int(age) {
			a.Classes = append(a.Classes, AgeCount{Age: len(a.Classes)})
		}
		a.Classes[int(age)].add(b.Sex)
		known = append(known, age)
		if plusMinus > 0.5 {
			a.Vague++
		}
	}
	a.Median = Median(known)
	return a
}

// Counts returns the birds of a group by age class, for Leslie.Project: as many
// classes as asked for, older birds in the last of them. Birds of unknown age
// are left out. It panics for fewer than one class.
func (a AgeStructure) Counts(group Group, classes int) []float64 {
	if classes < 1 {
		panic("demography: counts of no age class")
	}
	n := make([]float64, classes)
	for x, c := range a.Classes {
		n[min(x, classes-1)] += group.weight(studbook.Female)*float64(c.Females) +
			group.weight(studbook.Male)*float64(c.Males) + group.weight(studbook.Unsexed)*float64(c.Unsexed)
	}
	return n
}

// SexRatio is the birds of each sex on a day.
type SexRatio struct {
	Males   Proportion // males among the birds of known sex
	Unsexed int
}

// SexRatio returns the sexes of the birds living in a scope on the day of the
// snapshot.
func (c *Census) SexRatio(scope Scope) SexRatio {
	var n AgeCount
	for _, i := range c.living(scope) {
		n.add(c.snapshot.Birds[i].Sex)
	}
	return SexRatio{Males: NewProportion(n.Males, n.Males+n.Females), Unsexed: n.Unsexed}
}
