package studbook

import (
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"time"

	"pairwright/pedigree/studbook/sheets"
)

// ParseDate reads a date in the notation of the Extended Date/Time Format
// (ISO 8601-2:2019, level 1, and the one-of-a-range of level 2):
//
//	2019-05-12           a day
//	2019-05, 2019-05-XX  some day of a month
//	2019, 2019-XX        some day of a year
//	2019-21 to 2019-24   a season; read as the year, because seasons differ
//	                     between the halves of the world
//	201X, 20XX           some day of a decade or century
//	2019~  2019?  2019%  approximate, uncertain, both; the interval stays
//	[2018-05..2019]      some day from the first of May 2018 to the end of 2019
//
// Blank, "unknown" and "XXXX" give the zero Date. Years run from 1 to 9999.
// The error of a date in any other notation says what to write instead.
func ParseDate(s string) (Date, error) {
	s = strings.TrimSpace(s)
	if day, ok := plainDay(s); ok {
		return Date{First: day, Last: day, Text: s}, nil
	}
	if s == "" || strings.EqualFold(s, "unknown") || strings.EqualFold(s, "XXXX") {
		return Date{}, nil
	}
	body, ranged := strings.CutPrefix(s, "[")
	if !ranged {
		d, err := parseSimple(s)
		d.Text = s
		return d, err
	}
	body, closed := strings.CutSuffix(body, "]")
	from, to, dotted := strings.Cut(body, "..")
	if !closed || !dotted {
		return Date{}, errors.New("a range is written with both ends in square brackets, as [2018..2019]")
	}
	from, to = strings.TrimSpace(from), strings.TrimSpace(to)
	if from == "" || to == "" {
		return Date{}, errors.New("a range needs both ends, as [2018..2019]; an open end has no middle to count ages from")
	}
	first, err := parseSimple(from)
	if err != nil {
		return Date{}, err
	}
	last, err := parseSimple(to)
	if err != nil {
		return Date{}, err
	}
	if first.First > last.Last {
		return Date{}, fmt.Errorf("the range ends before it begins; write [%s..%s] if that is meant", to, from)
	}
	return Date{
		First: first.First, Last: last.Last, Text: s,
		Approximate: first.Approximate || last.Approximate,
		Uncertain:   first.Uncertain || last.Uncertain,
	}, nil
}

// plainDay reads the commonest notation, 2019-05-12, without detours.
func plainDay(s string) (Day, bool) {
	if len(s) != 10 || s[4] != '-' || s[7] != '-' {
		return 0, false
	}
	var n [3]int
	for k, part := range [3]string{s[:4], s[5:7], s[8:]} {
		for i := range len(part) {
			if part[i] < '0' || part[i] > '9' {
				return 0, false
			}
			n[k] = n[k]*10 + int(part[i]-'0')
		}
	}
	return dayOf(n[0], n[1], n[2])
}

// dayOf returns the day of a date of the calendar, false if the calendar has
// no such date or the year is not in 1..9999.
func dayOf(year, month, day int) (Day, bool) {
	if year < 1 || year > 9999 || month < 1 || month > 12 || day < 1 || day > DaysIn(year, month) {
		return 0, false
	}
	return DayOf(year, time.Month(month), day), true
}

// DaysIn returns how many days a month from 1 to 12 has.
func DaysIn(year, month int) int {
	if month == 2 {
		if year%4 == 0 && year%100 != 0 || year%400 == 0 {
			return 29
		}
		return 28
	}
	return 30 + (month+month/8)%2
}

// pattern is a regular expression that is compiled when it is first needed: most
// answers need none of those of dates.
func pattern(expression string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(expression) })
}

var simpleDate = pattern(`^([0-9]{4}|[0-9]{3}[Xx]|[0-9]{2}[Xx]{2})(?:-([0-9]{2}|[Xx]{2})(?:-([0-9]{2}|[Xx]{2}))?)?([~?%]?)$`)

// parseSimple reads a date that is not a range.
func parseSimple(s string) (Date, error) {
	m := simpleDate().FindStringSubmatch(s)
	if m == nil {
		return Date{}, adviseDate(s)
	}
	year, month, day := strings.ToUpper(m[1]), strings.ToUpper(m[2]), strings.ToUpper(m[3])
	d := Date{Approximate: m[4] == "~" || m[4] == "%", Uncertain: m[4] == "?" || m[4] == "%"}
	if strings.Contains(year, "X") {
		if month != "" {
			return Date{}, fmt.Errorf("a year that is known only in part stands alone; write %s", year)
		}
		// The century of the years 1 to 99 begins with the year 1.
		first := max(1, atoi(strings.ReplaceAll(year, "X", "0")))
		last := atoi(strings.ReplaceAll(year, "X", "9"))
		d.First, d.Last = DayOf(first, time.January, 1), DayOf(last, time.December, 31)
		return d, nil
	}
	y := atoi(year)
	if y == 0 {
		return Date{}, errNoYear
	}
	if month == "" || month == "XX" {
		if day != "" && day != "XX" {
			return Date{}, fmt.Errorf("a day needs its month; write %s if the month is unknown", year)
		}
		d.First, d.Last = DayOf(y, time.January, 1), DayOf(y, time.December, 31)
		return d, nil
	}
	mo := atoi(month)
	if mo >= 21 && mo <= 24 && day == "" {
		d.First, d.Last = DayOf(y, time.January, 1), DayOf(y, time.December, 31)
		return d, nil
	}
	if mo < 1 || mo > 12 {
		return Date{}, fmt.Errorf("there is no month %s; months run from 01 to 12, and the order is year-month-day", month)
	}
	if day == "" || day == "XX" {
		d.First, d.Last = DayOf(y, time.Month(mo), 1), DayOf(y, time.Month(mo), DaysIn(y, mo))
		return d, nil
	}
	only, ok := dayOf(y, mo, atoi(day))
	if !ok {
		return Date{}, fmt.Errorf("%s %d has no day %s; write %s-%s if the day is unknown", time.Month(mo), y, day, year, month)
	}
	d.First, d.Last = only, only
	return d, nil
}

// atoi reads up to five digits that a regular expression has checked.
func atoi(s string) int {
	n, _ := strconv.Atoi(s)
	return n
}

var (
	yearFirst = pattern(`^([0-9]{4})[-/. ]([0-9]{1,2})(?:[-/. ]([0-9]{1,2}))?(?:[T ][0-9:.Z+ -]*)?$`)
	runOn     = pattern(`^([0-9]{4})([0-9]{2})([0-9]{2})$`)
	yearLast  = pattern(`^([0-9]{1,2})[-/. ]+([0-9]{1,2})[-/. ]+([0-9]{4})$`)
	shortYear = pattern(`^[0-9]{1,2}[-/.][0-9]{1,2}[-/.][0-9]{2}$`)
	yearsTo   = pattern(`^([0-9]{4}(?:-[0-9]{2}){0,2}) ?(?:/|-|–|\.\.|to) ?([0-9]{4}(?:-[0-9]{2}){0,2})$`)
	dayCount  = pattern(`^[0-9]{5}$`)
	monthYear = pattern(`^([0-9]{1,2})[-/. ]+([0-9]{4})$`)
	decade    = pattern(`^([0-9]{3})0'?s$`)
	about     = pattern(`^(?i:~|c\.?|ca\.?|circa|about|approx\.?) *([0-9]{4}(?:-[0-9]{2}){0,2})$|^([0-9]{4}(?:-[0-9]{2}){0,2}) +~$`)
)

// Errors of dates of which nothing can be read; what to do where nothing is known
// depends on what the date is for.
var (
	errNoYear = errors.New("there is no year 0000; write what is known of the date")
	errNoDate = errors.New("write a date as 2019-05-12, or what is known of it as 2019-05, 2019, 201X or [2018..2019]")
)

// adviseDate returns the error for a date in no notation we read: what to
// write instead, in every reading the calendar allows.
func adviseDate(s string) error {
	if !strings.ContainsAny(s, "0123456789") {
		return errNoDate
	}
	if m := yearFirst().FindStringSubmatch(s); m != nil {
		if m[3] == "" {
			if mo := atoi(m[2]); mo >= 1 && mo <= 12 {
				return fmt.Errorf("write %s-%02d", m[1], mo)
			}
		} else if day, ok := dayOf(atoi(m[1]), atoi(m[2]), atoi(m[3])); ok {
			return fmt.Errorf("write %s", day)
		}
	}
	if m := runOn().FindStringSubmatch(s); m != nil {
		if day, ok := dayOf(atoi(m[1]), atoi(m[2]), atoi(m[3])); ok {
			return fmt.Errorf("write %s", day)
		}
	}
	if m := yearLast().FindStringSubmatch(s); m != nil {
		a, b, year := atoi(m[1]), atoi(m[2]), atoi(m[3])
		dayFirst, ok1 := dayOf(year, b, a)
		monthFirst, ok2 := dayOf(year, a, b)
		switch {
		case ok1 && ok2 && a != b:
			return fmt.Errorf("write %s for %d %s or %s for %d %s",
				dayFirst, a, time.Month(b), monthFirst, b, time.Month(a))
		case ok1:
			return fmt.Errorf("write %s", dayFirst)
		case ok2:
			return fmt.Errorf("write %s", monthFirst)
		}
	}
	if m := monthYear().FindStringSubmatch(s); m != nil {
		if mo := atoi(m[1]); mo >= 1 && mo <= 12 {
			return fmt.Errorf("write %s-%02d", m[2], mo)
		}
	}
	if m := decade().FindStringSubmatch(s); m != nil {
		return fmt.Errorf("write %sX", m[1])
	}
	if m := about().FindStringSubmatch(s); m != nil {
		return fmt.Errorf("write %s~", m[1]+m[2])
	}
	if shortYear().MatchString(s) {
		return errors.New("write the year with four digits and in front, as 2019-05-12")
	}
	if m := yearsTo().FindStringSubmatch(s); m != nil {
		return fmt.Errorf("write [%s..%s] for some day between them", m[1], m[2])
	}
	if dayCount().MatchString(s) {
		if day, ok := sheets.CountedDay(float64(atoi(s)), false); ok {
			return fmt.Errorf("this is a spreadsheet's count of days; write %s if it was saved from a date", Day(day))
		}
	}
	for _, layout := range []string{"2 January 2006", "2 Jan 2006", "2-Jan-2006", "2-Jan-06", "January 2, 2006", "Jan 2, 2006"} {
		if t, err := time.Parse(layout, s); err == nil {
			return fmt.Errorf("write %s", t.Format("2006-01-02"))
		}
	}
	for _, layout := range []string{"January 2006", "Jan 2006", "Jan-2006"} {
		if t, err := time.Parse(layout, s); err == nil {
			return fmt.Errorf("write %s", t.Format("2006-01"))
		}
	}
	return errNoDate
}
