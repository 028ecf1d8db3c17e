package studbook

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"
)

// Number writes how many there are of something, with commas between the thousands:
// "12,345". Lines, years and ids, which people look up and type again, have none.
func Number(n int) string { return Grouped(strconv.Itoa(n)) }

// Grouped sets commas between the thousands of a row of digits.
func Grouped(digits string) string {
	for i := len(digits) - 3; i > 0; i -= 3 {
		digits = digits[:i] + "," + digits[i:]
	}
	return digits
}

// Counted counts things: "1 bird", "2 birds", "3,000 birds".
func Counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return Number(n) + " " + many
}

// times counts things whose plural ends in s.
func times(n int, what string) string { return Counted(n, what, what+"s") }

// are counts things that something is said of: "1 bird is", "3 birds are".
func are(n int, what string) string { return Counted(n, what+" is", what+"s are") }

// age says how old a bird of so many days is, in whole years and months: "2 years and
// 4 months".
func age(days Day) string {
	months := int(float64(days) * 12 / DaysPerYear)
	switch years := months / 12; {
	case years == 0:
		return times(months, "month")
	case months%12 == 0:
		return times(years, "year")
	default:
		return times(years, "year") + " and " + times(months%12, "month")
	}
}

// SomeOf lists so many things and counts the rest: "A, B and 3 more".
func SomeOf(things []string, most int) string {
	if len(things) <= most {
		return strings.Join(things, ", ")
	}
	return fmt.Sprintf("%s and %s more", strings.Join(things[:most], ", "), Number(len(things)-most))
}

// AnyOf lists what may be chosen: "a, b or c".
func AnyOf(things []string) string {
	last := len(things) - 1
	if last < 1 {
		return strings.Join(things, "")
	}
	return strings.Join(things[:last], ", ") + " or " + things[last]
}

// QuoteAll lists names of columns, sheets or places, the first of many.
func QuoteAll(names []string) string {
	quoted := make([]string, len(names))
	for i, n := range names {
		quoted[i] = strconv.Quote(Shorten(n))
	}
	return SomeOf(quoted, 30)
}

// Shorten bounds what a message repeats of a file, and shows control characters as
// U+FFFD.
func Shorten(s string) string {
	const most = 60
	n := 0
	var b strings.Builder
	for _, c := range s {
		if n++; n > most {
			b.WriteString("…")
			break
		}
		if unicode.IsControl(c) {
			c = '\uFFFD'
		}
		b.WriteRune(c)
	}
	return b.String()
}
