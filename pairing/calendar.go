package pairing

import (
	"slices"
	"time"

	"pairwright/pedigree/studbook"
)

// Calendar is the coming breeding season as the laying months of programme.toml
// give it: the running one while eggs are laid, else the next.
type Calendar struct {
	Year  int          // of the first laying month
	Start studbook.Day // its first day; the day of the answer where no laying months are set
	// Running is true on a day of the laying months.
	Running bool
}

// Calendar returns the coming season. Where the laying months are not set the
// season is taken to begin today, and to be that of the year into which most of
// the coming twelve months fall.
func (p *Programme) Calendar() Calendar { return p.season }

// PairsForm returns the day by which new pairs should be together and all be known
// that is needed to choose them: the first of the pairing months before the coming
// season, or the season's first day where those are not set or have begun.
func (p *Programme) PairsForm() studbook.Day {
	start := p.season.Start
	if day := nextSeason(p.Book.AsOf, p.pairingSeason()); day > 0 && day < start {
		return day
	}
	return start
}

// BeforePairsForm returns PairsForm where that day is still to come, and 0 once it has
// passed: what should be done before it is then to be done now.
func (p *Programme) BeforePairsForm() studbook.Day {
	if day := p.PairsForm(); day > p.Book.AsOf {
		return day
	}
	return 0
}

func (p *Programme) calendarOn(day studbook.Day) Calendar {
	now := day.Time()
	laying := p.Settings().LayingMonths
	if len(laying) == 0 {
		c := Calendar{Year: now.Year(), Start: day}
		if now.Month() > time.June {
			c.Year++
		}
		return c
	}
	running := slices.Contains(laying, now.Month())
	first := firstOf(laying)
	year := now.Year()
	switch {
	case running && now.Month() < first: // laying began last year
		year--
	case !running && now.Month() > first:
		year++
	}
	return Calendar{Year: year, Start: studbook.DayOf(year, first, 1), Running: running}
}

// DecidedAnew returns the first day on which the coming season is another one, and the
// decision is taken anew for that; 0 where the laying months are not set.
func (p *Programme) DecidedAnew() studbook.Day {
	_, end := p.laying(p.season.Year)
	return end
}

// laying returns the first day of the laying months of a season and the day after the
// last; both 0 where they are not set.
func (p *Programme) laying(year int) (begin, end studbook.Day) {
	months := p.Settings().LayingMonths
	if len(months) == 0 {
		return 0, 0
	}
	first := firstOf(months)
	return studbook.DayOf(year, first, 1), studbook.DayOf(year, first+time.Month(len(months)), 1)
}

// firstOf returns the month with which a run of months begins: one that is
// there without the month before it, which tells where a run over the turn of
// the year begins; January where all are there.
func firstOf(months []time.Month) time.Month {
	for m := time.January; m <= time.December; m++ {
		if slices.Contains(months, m) && !slices.Contains(months, (m+10)%12+1) {
			return m
		}
	}
	return time.January
}

// Hatching reports whether eggs of the season may hatch still: on a day of the
// laying months, and until eggs laid on the last of them are due.
func (p *Programme) Hatching() bool {
	return p.Calendar().Running || p.calendarOn(max(1, p.Book.AsOf-studbook.Day(p.Settings().IncubationDays))).Running
}

// Season returns the year of the coming breeding season.
func (p *Programme) Season() int { return p.season.Year }

// seasonOf returns the year of the season that a day belongs to, or comes before.
func (p *Programme) seasonOf(day studbook.Day) int { return p.calendarOn(day).Year }

// laidIn returns the year of the season that a clutch of a day is of: one that was laid
// out of the laying months is of the season that is nearer; where none are set, of the
// year.
func (p *Programme) laidIn(day studbook.Day) int {
	laying := p.Settings().LayingMonths
	if len(laying) == 0 {
		return day.Time().Year()
	}
	c := p.calendarOn(day)
	if c.Running {
		return c.Year
	}
	date := day.Time()
	end := studbook.DayOf(date.Year(), date.Month(), 1) // the day after a month, of which the last season ends with one
	for !slices.Contains(laying, (end - 1).Time().Month()) {
		date = (end - 1).Time()
		end = studbook.DayOf(date.Year(), date.Month(), 1)
	}
	if day-end < c.Start-day {
		return p.calendarOn(end - 1).Year
	}
	return c.Year
}

// BreedingDay is the day for which a bird's fitness for the coming season is
// judged: the first of the season, or today once it has begun.
func (p *Programme) BreedingDay() studbook.Day { return max(p.season.Start, p.Book.AsOf) }
