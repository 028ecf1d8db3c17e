package document

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"pairwright/pedigree/studbook"
)

// This file is the only place where numbers are rounded and turned into
// words. Rounding is half away from zero, as published tables do it: a
// kinship of 1/32 = 0.03125 reads 0.0313.

// Unknown stands where a value is not known or does not exist; it is never 0.
const Unknown = "–"

// Minus is the sign of negative numbers wherever a person reads them.
const Minus = "−"

// FormatKinship writes an inbreeding coefficient or a kinship, 0..1, with four
// decimals: exactly 0 as 0, what would round to 0 as <0.0001, NaN as Unknown.
func FormatKinship(f float64) string { return FormatFraction(f, 4) }

// FormatMeanKinship writes a mean kinship like FormatKinship.
func FormatMeanKinship(mk float64) string { return FormatFraction(mk, 4) }

// FormatDiversity writes a gene diversity, 0..1, with four decimals like
// FormatKinship.
func FormatDiversity(gd float64) string { return FormatFraction(gd, 4) }

// FormatProbability writes a chance, 0..1, with two decimals like
// FormatKinship; NaN as Unknown.
func FormatProbability(p float64) string { return FormatFraction(p, 2) }

// FormatFraction writes a number with the given decimals like FormatKinship.
func FormatFraction(x float64, decimals int) string {
	switch {
	case x == 0:
		return "0"
	case x > 0 && round(x, decimals) == 0:
		return "<" + FormatNumber(math.Pow10(-decimals), decimals)
	}
	return FormatNumber(x, decimals)
}

// FormatChange writes a change with its sign and the given decimals; exactly 0
// as 0, what would round to 0 as +<0.0001 or −<0.0001, NaN as Unknown.
func FormatChange(x float64, decimals int) string {
	switch {
	case math.IsNaN(x):
		return Unknown
	case x == 0:
		return "0"
	case x < 0:
		return Minus + FormatFraction(-x, decimals)
	}
	return "+" + FormatFraction(x, decimals)
}

// FormatNumber writes a number with the given decimals and thousands set off
// by commas; NaN as Unknown, infinities as ∞.
func FormatNumber(x float64, decimals int) string {
	if math.IsNaN(x) {
		return Unknown
	}
	x = round(x, decimals)
	sign := ""
	if x < 0 {
		sign, x = Minus, -x
	}
	if math.IsInf(x, 1) {
		return sign + "∞"
	}
	s := strconv.FormatFloat(math.Abs(x), 'f', decimals, 64)
	whole, rest, point := strings.Cut(s, ".")
	s = sign + studbook.Grouped(whole)
	if point {
		s += "." + rest
	}
	return s
}

// Printed returns a number as it is printed with a number of decimals. What
// words say of a figure, above or below another, is said of printed figures,
// so that words and figures never contradict each other.
func Printed(x float64, decimals int) float64 { return round(x, decimals) }

// round rounds to a number of decimals, half away from zero.
func round(x float64, decimals int) float64 {
	scale := math.Pow10(decimals)
	if y := x * scale; math.Abs(y) < 1<<52 { // beyond, there are no decimals
		return math.Round(y) / scale
	}
	return x
}

// FormatPercent writes a share, 0..1, as percent with one decimal. What is not
// nothing never reads as 0%, and what is not all never as 100%.
func FormatPercent(share float64) string { return percent(share, 1) }

// FormatChance writes a chance, 0..1, as whole percent like FormatPercent.
func FormatChance(p float64) string { return percent(p, 0) }

// FormatOfHundred writes a share, 0..1, as so many in a hundred, rounded down: who
// is not ahead of all never reads as being so.
func FormatOfHundred(share float64) string { return FormatNumber(math.Floor(100*share+1e-9), 0) }

func percent(share float64, decimals int) string {
	unit := math.Pow10(-decimals)
	p := 100 * share
	switch {
	case math.IsNaN(share):
		return Unknown
	case share == 0:
		return "0%"
	case share == 1:
		return "100%"
	case share > 0 && round(p, decimals) == 0:
		return "<" + FormatNumber(unit, decimals) + "%"
	case share < 1 && round(p, decimals) == 100:
		return ">" + FormatNumber(100-unit, decimals) + "%"
	}
	return FormatNumber(p, decimals) + "%"
}

// FormatPlusMinus writes an estimate with its standard error, both with the
// given decimals: 12.3 ± 0.4, and 12.3 ± <0.1 where the error is not 0 but would
// round to it. An error of NaN is left out.
func FormatPlusMinus(x, err float64, decimals int) string {
	if math.IsNaN(x) || math.IsNaN(err) {
		return FormatNumber(x, decimals)
	}
	written := FormatNumber(err, decimals)
	if err > 0 {
		written = FormatFraction(err, decimals)
	}
	return FormatNumber(x, decimals) + " ± " + written
}

// FormatAge writes an age in years: 7.4, or 7 ± 0.5 where the dates are known
// only in part, ? where the hatch date is unknown. Its arguments are the
// results of studbook.Snapshot.AgeYears.
func FormatAge(years, plusMinus float64, known bool) string {
	switch {
	case !known || math.IsNaN(years):
		return "?"
	case !(plusMinus >= 0.05): // a month known without its day is near enough
		return FormatNumber(years, 1)
	case plusMinus < 0.25:
		return FormatPlusMinus(years, plusMinus, 1)
	case plusMinus < 0.95:
		return FormatNumber(years, 0) + " ± " + FormatNumber(plusMinus, 1)
	}
	return FormatPlusMinus(years, plusMinus, 0)
}

// FormatCount writes a number of things; a negative count is not known.
func FormatCount(n int) string {
	if n < 0 {
		return Unknown
	}
	return studbook.Number(n)
}

// FormatThings writes a count with what is counted: 1 bird, 3 birds, no birds.
func FormatThings(n int, one, many string) string {
	switch n {
	case 0:
		return "no " + many
	case 1:
		return "1 " + one
	}
	return FormatCount(n) + " " + many
}

// FormatKm writes a distance in whole kilometres without the unit; NaN as
// Unknown, what is not nothing but less than half as <1.
func FormatKm(km float64) string { return FormatFraction(km, 0) }

// FormatDay writes a day for running text: 12 May 2019.
func FormatDay(d studbook.Day) string {
	if d == 0 {
		return Unknown
	}
	return d.Time().Format("2 January 2006")
}

// FormatDate writes a date for a table, known in part or in full:
// 2019-05-12, 2019-05, about 2019, 2018 to 2019.
func FormatDate(d studbook.Date) string {
	if !d.Known() {
		return Unknown
	}
	first, last := d.First.Time(), d.Last.Time()
	next := last.AddDate(0, 0, 1)
	var s string
	switch {
	case d.Exact():
		s = d.First.String()
	case first.Day() == 1 && next.Equal(first.AddDate(0, 1, 0)):
		s = first.Format("2006-01")
	case first.YearDay() == 1 && next.Equal(first.AddDate(1, 0, 0)):
		s = first.Format("2006")
	case first.YearDay() == 1 && next.YearDay() == 1:
		s = first.Format("2006") + " to " + last.Format("2006")
	case first.Day() == 1 && next.Day() == 1:
		s = first.Format("2006-01") + " to " + last.Format("2006-01")
	default:
		s = d.First.String() + " to " + d.Last.String()
	}
	if d.Approximate {
		s = "about " + s
	}
	if d.Uncertain {
		s += "?"
	}
	return s
}

// FormatDateInText writes a date for running text: 12 May 2019, and what is known
// in part like FormatDate.
func FormatDateInText(d studbook.Date) string {
	if d.Exact() && !d.Approximate && !d.Uncertain {
		return FormatDay(d.First)
	}
	return FormatDate(d)
}

// FormatList writes a list for running text: A, B and C. Of more than most
// items it names that many and counts the others: A, B and 3 more. A most of
// 0 names all. One more item is named rather than counted.
func FormatList(items []string, most int) string {
	n := len(items)
	switch {
	case n == 0:
		return ""
	case most > 0 && n > most+1:
		return strings.Join(items[:most], ", ") + fmt.Sprintf(" and %s more", FormatCount(n-most))
	case n == 1:
		return items[0]
	}
	return strings.Join(items[:n-1], ", ") + " and " + items[n-1]
}
