package sheets

import "time"

// unixDay is the count of 1970-01-01, where that of 0001-01-01 is 1.
const unixDay = 719_163

// Epoch is the day from which a workbook counts its days, itself counted so that 0001-01-01
// is 1: 1904-01-01, or 1899-12-30, from which every day of the calendar that begins in 1900
// is counted but the first 59 (see CountedDay).
func Epoch(from1904 bool) int {
	if from1904 {
		return unixDay - 24_107
	}
	return unixDay - 25_569
}

// CountedDay turns a spreadsheet's count of days into a day, counted so that 0001-01-01 is 1.
// Day 60 of the count from 1900 is a 29 February 1900 that never was, so from then on day n
// is n days after 1899-12-30; in the count from 1904 day 0 is 1904-01-01. It is none where the
// count is negative, beyond the year 9999, or a time of day alone.
func CountedDay(n float64, from1904 bool) (day int, ok bool) {
	if !(n >= 0 && n < 2_958_466) {
		return 0, false
	}
	whole := int(n)
	switch {
	case from1904:
	case whole == 0:
		return 0, false
	case whole < 60:
		whole++
	}
	return Epoch(from1904) + whole, true
}

// isoDay reads a day as workbooks store it, 2019-05-12 or with a time of day behind it.
func isoDay(s string) (day int, ok bool) {
	t, err := time.Parse(time.DateOnly, s[:min(len(s), len(time.DateOnly))])
	if err != nil || t.Year() < 1 {
		return 0, false
	}
	return int(t.Unix()/86_400) + unixDay, true
}

// dayText is a day as 2006-01-02.
func dayText(day int) string {
	return time.Unix(int64(day-unixDay)*86_400, 0).UTC().Format(time.DateOnly)
}
