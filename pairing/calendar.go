package pairing

import (
	"slices"
	"time"
)

// Season returns the year of the coming breeding season: this year's while a
// laying month is still to come or under way, else the next. Where the laying
// months are not set it is the year that most of the coming twelve months fall
// into.
func (p *Programme) Season() int {
	now := p.Book.AsOf.Time()
	laying := p.Settings().LayingMonths
	last := time.June
	if len(laying) > 0 {
		last = slices.Max(laying)
	}
	if now.Month() > last {
		return now.Year() + 1
	}
	return now.Year()
}
