package pairing

import (
	"slices"
	"time"

	"pairwright/pedigree/studbook"
)

// Season returns the year of the coming breeding season: this year's while a
// laying month is still to come or under way, else the next. Where the laying
// months are not set it is the year that most of the coming twelve months fall
// into.
func (p *Programme) Season() int { return p.seasonOf(p.Book.AsOf) }

// seasonOf returns the year of the season that a day belongs to.
func (p *Programme) seasonOf(day studbook.Day) int {
	now := day.Time()
	last := time.June
	if laying := p.Settings().LayingMonths; len(laying) > 0 {
		last = slices.Max(laying)
	}
	if now.Month() > last {
		return now.Year() + 1
	}
	return now.Year()
}
