package document

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"pairwright/pedigree/studbook"
)

func TestFormatFractions(t *testing.T) {
	nan := math.NaN()
	for _, tt := range []struct {
		name string
		f    func(float64) string
		x    float64
		want string
	}{
		{"exactly nothing", FormatKinship, 0, "0"},
		{"negative zero", FormatKinship, math.Copysign(0, -1), "0"},
		{"smallest float", FormatKinship, math.SmallestNonzeroFloat64, "<0.0001"},
		{"just below half a unit", FormatKinship, math.Nextafter(0.00005, 0), "<0.0001"},
		{"half a unit", FormatKinship, 0.00005, "0.0001"},
		{"1/32, half up as published", FormatKinship, 1.0 / 32, "0.0313"},
		{"3/32, half up as published", FormatKinship, 3.0 / 32, "0.0938"},
		{"1/64", FormatKinship, 1.0 / 64, "0.0156"},
		{"1/4", FormatKinship, 0.25, "0.2500"},
		{"one", FormatKinship, 1, "1.0000"},
		{"unknown", FormatKinship, nan, "–"},
		{"mean kinship", FormatMeanKinship, 5.0 / 18, "0.2778"},
		{"gene diversity", FormatDiversity, 0.97316, "0.9732"},
		{"probability", FormatProbability, 0.005, "0.01"},
		{"small probability", FormatProbability, 0.004, "<0.01"},
		{"a third", FormatChance, 1.0 / 3, "33%"},
		{"a small chance", FormatChance, 0.0049, "<1%"},
		{"near certainty", FormatChance, 0.9951, ">99%"},
		{"half a percent", FormatChance, 0.125, "13%"},

		{"no gain", formatGain, 0, "0"},
		{"gain", formatGain, 0.000125, "+0.00013"},
		{"loss", formatGain, -0.000125, "−0.00013"},
		{"gain that rounds to nothing", formatGain, 1e-9, "+<0.00001"},
		{"loss that rounds to nothing", formatGain, -1e-9, "−<0.00001"},
		{"unknown gain", formatGain, nan, "–"},

		{"nothing of it", FormatPercent, 0, "0%"},
		{"all of it", FormatPercent, 1, "100%"},
		{"hardly any", FormatPercent, 0.0004999, "<0.1%"},
		{"hardly any, half a unit", FormatPercent, 0.0005, "0.1%"},
		{"nearly all", FormatPercent, 0.9996, ">99.9%"},
		{"nearly all, below half a unit", FormatPercent, 0.9994, "99.9%"},
		{"more than all", FormatPercent, 1.2, "120.0%"},
		{"a loss", FormatPercent, -0.0123, "−1.2%"},
		{"unknown share", FormatPercent, nan, "–"},

		{"no way", FormatKm, 0, "0"},
		{"near", FormatKm, 0.3, "<1"},
		{"half a kilometre", FormatKm, 0.5, "1"},
		{"far", FormatKm, 12345.5, "12,346"},
		{"unknown distance", FormatKm, nan, "–"},
	} {
		assert.Equal(t, tt.want, tt.f(tt.x), tt.name)
	}
}

func TestFormatNumber(t *testing.T) {
	for _, tt := range []struct {
		x        float64
		decimals int
		want     string
	}{
		{0, 2, "0.00"},
		{-0.001, 2, "0.00"}, // no negative zero
		{-1.005, 1, "−1.0"},
		{0.5, 0, "1"},
		{1.5, 0, "2"},
		{999.95, 1, "1,000.0"},
		{-1234567, 0, "−1,234,567"},
		{1e18, 1, "1,000,000,000,000,000,000.0"},
		{math.Inf(1), 2, "∞"},
		{math.Inf(-1), 2, "−∞"},
		{math.NaN(), 2, "–"},
	} {
		assert.Equal(t, tt.want, FormatNumber(tt.x, tt.decimals), "%v to %d decimals", tt.x, tt.decimals)
	}
	assert.Equal(t, "12.3 ± 0.5", FormatPlusMinus(12.34, 0.45, 1))
	assert.Equal(t, "0.001 ± <0.001", FormatPlusMinus(0.0012, 0.0001, 3), "it is not certain")
	assert.Equal(t, "2.00 ± 0.00", FormatPlusMinus(2, 0, 2))
	assert.Equal(t, "12.3", FormatPlusMinus(12.34, math.NaN(), 1))
	assert.Equal(t, "+2", FormatChange(2, 0))
	assert.Equal(t, "−2", FormatChange(-2, 0))
	assert.Equal(t, "0", FormatChange(0, 0))
	assert.Equal(t, "+1.5", FormatChange(1.46, 1))
}

func TestFormatAge(t *testing.T) {
	for _, tt := range []struct {
		name             string
		years, plusMinus float64
		known            bool
		want             string
	}{
		{"both days known", 7.449, 0, true, "7.4"},
		{"month known", 7.4, 15.5 / 365, true, "7.4"},
		{"a season known", 7.4, 0.12, true, "7.4 ± 0.1"},
		{"year known", 7.4, 182.0 / 365, true, "7 ± 0.5"},
		{"two years known", 7.6, 1, true, "8 ± 1"},
		{"decade known", 17.4, 5, true, "17 ± 5"},
		{"nothing known", 0, 0, false, "?"},
		{"hatched today", 0, 0, true, "0.0"},
	} {
		assert.Equal(t, tt.want, FormatAge(tt.years, tt.plusMinus, tt.known), tt.name)
	}
}

func TestFormatCounts(t *testing.T) {
	assert.Equal(t, "–", FormatCount(-1))
	assert.Equal(t, "0", FormatCount(0))
	assert.Equal(t, "999", FormatCount(999))
	assert.Equal(t, "1,000", FormatCount(1000))
	assert.Equal(t, "no birds", FormatThings(0, "bird", "birds"))
	assert.Equal(t, "1 bird", FormatThings(1, "bird", "birds"))
	assert.Equal(t, "1,100 birds", FormatThings(1100, "bird", "birds"))
}

func TestFormatDates(t *testing.T) {
	between := func(from, to studbook.Day) studbook.Date { return studbook.Date{First: from, Last: to} }
	day := studbook.DayOf
	about := between(day(2019, 1, 1), day(2019, 12, 31))
	about.Approximate = true
	doubtful := between(day(2019, 5, 12), day(2019, 5, 12))
	doubtful.Uncertain = true
	for _, tt := range []struct {
		name string
		d    studbook.Date
		want string
	}{
		{"unknown", studbook.Date{}, "–"},
		{"day", between(day(2019, 5, 12), day(2019, 5, 12)), "2019-05-12"},
		{"first of January", between(day(2019, 1, 1), day(2019, 1, 1)), "2019-01-01"},
		{"month", between(day(2019, 5, 1), day(2019, 5, 31)), "2019-05"},
		{"February of a leap year", between(day(2020, 2, 1), day(2020, 2, 29)), "2020-02"},
		{"December", between(day(2019, 12, 1), day(2019, 12, 31)), "2019-12"},
		{"year", between(day(2020, 1, 1), day(2020, 12, 31)), "2020"},
		{"two years", between(day(2018, 1, 1), day(2019, 12, 31)), "2018 to 2019"},
		{"two months", between(day(2018, 11, 1), day(2018, 12, 31)), "2018-11 to 2018-12"},
		{"some days", between(day(2018, 11, 3), day(2018, 11, 9)), "2018-11-03 to 2018-11-09"},
		{"approximate", about, "about 2019"},
		{"uncertain", doubtful, "2019-05-12?"},
	} {
		assert.Equal(t, tt.want, FormatDate(tt.d), tt.name)
	}
	assert.Equal(t, "3 May 2019", FormatDay(day(2019, time.May, 3)))
	assert.Equal(t, "–", FormatDay(0))
}

func TestFormatList(t *testing.T) {
	five := []string{"A", "B", "C", "D", "E"}
	assert.Equal(t, "", FormatList(nil, 3))
	assert.Equal(t, "A", FormatList(five[:1], 3))
	assert.Equal(t, "A and B", FormatList(five[:2], 3))
	assert.Equal(t, "A, B, C and D", FormatList(five[:4], 3), "one more is named")
	assert.Equal(t, "A, B, C and 2 more", FormatList(five, 3))
	assert.Equal(t, "A, B, C, D and E", FormatList(five, 0))
}

func TestFormatOfHundred(t *testing.T) {
	assert.Equal(t, "99", FormatOfHundred(0.9999))
	assert.Equal(t, "29", FormatOfHundred(0.29)) // 100 × 0.29 is below 29 in binary
	assert.Equal(t, "0", FormatOfHundred(0))
	assert.Equal(t, "100", FormatOfHundred(1))
}
