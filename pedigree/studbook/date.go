package studbook

import "time"

// Day is a day of the proleptic Gregorian calendar, counted so that
// 0001-01-01 is day 1. The zero Day is no day.
type Day int32

// Today is the day here and now.
func Today() Day { return DayOf(time.Now().Date()) }

// DayOf returns the Day of a calendar date.
func DayOf(year int, month time.Month, day int) Day {
	if year < 1 || month < 1 || month > 12 {
		return Day(time.Date(year, month, day, 0, 0, 0, 0, time.UTC).Unix()/86400 + 719163)
	}
	// Years that begin in March have their odd day at the end, and every five of their
	// months 153 days.
	y, m := year, int(month)-3
	if m < 0 {
		y, m = y-1, m+12
	}
	return Day(365*y + y/4 - y/100 + y/400 + (153*m+2)/5 + day - 306)
}

// Time returns midnight UTC of the day.
func (d Day) Time() time.Time { return time.Unix((int64(d)-719163)*86400, 0).UTC() }

// String returns the day as 2006-01-02, "" for no day.
func (d Day) String() string {
	if d == 0 {
		return ""
	}
	y, m, n := d.Time().Date()
	if y < 0 || y > 9999 {
		return d.Time().Format("2006-01-02")
	}
	// Large files have a hundred thousand of them, for which Format takes long.
	digit := func(n int) byte { return byte('0' + n%10) }
	return string([]byte{digit(y / 1000), digit(y / 100), digit(y / 10), digit(y), '-', digit(int(m) / 10), digit(int(m)), '-', digit(n / 10), digit(n)})
}

// Date returns the date that is the day, known in full.
func (d Day) Date() Date { return Date{First: d, Last: d, Text: d.String()} }

// DaysPerYear turns days to years: the mean length of the Gregorian year.
const DaysPerYear = 365.2425

// Date is a date that may be known only in part: an interval of days. The
// zero Date is unknown.
type Date struct {
	First, Last Day    // the interval, both ends included
	Text        string // as the file has it
	Approximate bool   // written with ~
	Uncertain   bool   // written with ?
}

// Known reports whether anything is known of the date.
func (d Date) Known() bool { return d.First != 0 }

// Exact reports whether the date is one day.
func (d Date) Exact() bool { return d.Known() && d.First == d.Last }

// Mid returns the middle day of the interval, 0 if unknown.
func (d Date) Mid() Day { return d.First + (d.Last-d.First)/2 }

// Spread returns half the length of the interval in days.
func (d Date) Spread() float64 { return float64(d.Last-d.First) / 2 }

// OnOrBefore reports whether the middle of the date is on or before day; an
// unknown date is not.
func (d Date) OnOrBefore(day Day) bool { return d.Known() && d.Mid() <= day }
