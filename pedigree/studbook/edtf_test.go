package studbook

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestDayCount(t *testing.T) {
	assert.Equal(t, Day(1), DayOf(1, time.January, 1))
	// Rata die of the turn of the millennium: Dershowitz & Reingold,
	// Calendrical Calculations, give R.D. 710347 for 1945-11-12 (from memory).
	assert.Equal(t, Day(710347), DayOf(1945, time.November, 12))
	assert.Equal(t, "1945-11-12", Day(710347).String())
	assert.Equal(t, "", Day(0).String())
}

// TestDaysOfMonths: the package time is the oracle.
func TestDaysOfMonths(t *testing.T) {
	for year := 1; year < 2500; year++ {
		for month := 1; month <= 12; month++ {
			want := time.Date(year, time.Month(month)+1, 0, 0, 0, 0, 0, time.UTC).Day()
			if got := DaysIn(year, month); got != want {
				t.Fatalf("%d-%02d has %d days and not %d", year, month, want, got)
			}
		}
	}
}

func TestParseDate(t *testing.T) {
	day := func(y, m, d int) Day { return DayOf(y, time.Month(m), d) }
	// The notations and what they mean are those of the Extended Date/Time
	// Format specification of 2019, adopted as ISO 8601-2:2019: level 0, level
	// 1 and "one of a set" of level 2. From memory; the examples are ours but
	// for those marked EDTF.
	tests := []struct {
		text         string
		first, last  Day
		approx, unsu bool
	}{
		{"2019-05-12", day(2019, 5, 12), day(2019, 5, 12), false, false},
		{" 2019-05-12 ", day(2019, 5, 12), day(2019, 5, 12), false, false},
		{"2019-05", day(2019, 5, 1), day(2019, 5, 31), false, false},
		{"2020-02", day(2020, 2, 1), day(2020, 2, 29), false, false},
		{"1900-02", day(1900, 2, 1), day(1900, 2, 28), false, false}, // no leap year in the Gregorian calendar
		{"2019", day(2019, 1, 1), day(2019, 12, 31), false, false},
		{"2009-21", day(2009, 1, 1), day(2009, 12, 31), false, false}, // EDTF level 1: spring, of one half of the world
		{"2009-24~", day(2009, 1, 1), day(2009, 12, 31), true, false},
		{"201X", day(2010, 1, 1), day(2019, 12, 31), false, false}, // EDTF level 1
		{"20XX", day(2000, 1, 1), day(2099, 12, 31), false, false}, // EDTF level 1
		{"201x", day(2010, 1, 1), day(2019, 12, 31), false, false},
		{"00XX", day(1, 1, 1), day(99, 12, 31), false, false},
		{"2004-XX", day(2004, 1, 1), day(2004, 12, 31), false, false},    // EDTF level 1
		{"1985-04-XX", day(1985, 4, 1), day(1985, 4, 30), false, false},  // EDTF level 1
		{"1985-XX-XX", day(1985, 1, 1), day(1985, 12, 31), false, false}, // EDTF level 1
		{"1984?", day(1984, 1, 1), day(1984, 12, 31), false, true},       // EDTF level 1
		{"2004-06~", day(2004, 6, 1), day(2004, 6, 30), true, false},     // EDTF level 1
		{"2004-06-11%", day(2004, 6, 11), day(2004, 6, 11), true, true},  // EDTF level 1
		{"[2018..2019]", day(2018, 1, 1), day(2019, 12, 31), false, false},
		{"[2018-05..2019-02]", day(2018, 5, 1), day(2019, 2, 28), false, false},
		{"[ 2018-05-07 .. 2019 ]", day(2018, 5, 7), day(2019, 12, 31), false, false},
		{"[2018~..2019?]", day(2018, 1, 1), day(2019, 12, 31), true, true},
		{"[2018..2018]", day(2018, 1, 1), day(2018, 12, 31), false, false},
		{"0001-01-01", day(1, 1, 1), day(1, 1, 1), false, false},
		{"9999-12-31", day(9999, 12, 31), day(9999, 12, 31), false, false},
	}
	for _, tt := range tests {
		t.Run(tt.text, func(t *testing.T) {
			d, err := ParseDate(tt.text)
			require.NoError(t, err)
			assert.Equal(t, tt.first, d.First, "first day")
			assert.Equal(t, tt.last, d.Last, "last day")
			assert.Equal(t, tt.approx, d.Approximate, "approximate")
			assert.Equal(t, tt.unsu, d.Uncertain, "uncertain")
			assert.NotEmpty(t, d.Text)
		})
	}
	for _, text := range []string{"", "  ", "unknown", "Unknown", "XXXX"} {
		d, err := ParseDate(text)
		require.NoError(t, err, text)
		assert.Equal(t, Date{}, d, text)
	}
}

// What the error of an unreadable date tells to write is what a keeper needs.
func TestParseDateAdvice(t *testing.T) {
	tests := []struct{ text, want string }{
		{"3/4/2019", "write 2019-04-03 for 3 April or 2019-03-04 for 4 March"},
		{"03.04.2019", "write 2019-04-03 for 3 April or 2019-03-04 for 4 March"},
		{"3-4-2019", "write 2019-04-03 for 3 April or 2019-03-04 for 4 March"},
		{"4/4/2019", "write 2019-04-04"},
		{"25.12.2019", "write 2019-12-25"},
		{"12/25/2019", "write 2019-12-25"},
		{"2019/5/12", "write 2019-05-12"},
		{"2019.05.12", "write 2019-05-12"},
		{"2019-5-2", "write 2019-05-02"},
		{"2019-5", "write 2019-05"},
		{"20190512", "write 2019-05-12"},
		{"2019-05-12T10:30:00Z", "write 2019-05-12"},
		{"2019-05-12 00:00:00", "write 2019-05-12"},
		{"12 May 2019", "write 2019-05-12"},
		{"May 12, 2019", "write 2019-05-12"},
		{"May 2019", "write 2019-05"},
		{"5/2019", "write 2019-05"},
		{"05-2019", "write 2019-05"},
		{"1990s", "write 199X"},
		{"ca. 2019", "write 2019~"},
		{"c 2019-05", "write 2019-05~"},
		{"About 2019", "write 2019~"},
		{"~2019", "write 2019~"},
		{"2019 ~", "write 2019~"},
		{"3/4/19", "write the year with four digits and in front, as 2019-05-12"},
		{"2018/2019", "write [2018..2019] for some day between them"},
		{"2018..2019", "write [2018..2019] for some day between them"},
		// 43597 is the day a spreadsheet stores for 2019-05-12; it can be
		// checked in any of them.
		{"43597", "this is a spreadsheet's count of days; write 2019-05-12 if it was saved from a date"},
		{"2019-02-30", "February 2019 has no day 30; write 2019-02 if the day is unknown"},
		{"2019-13-01", "there is no month 13; months run from 01 to 12, and the order is year-month-day"},
		{"201X-05", "a year that is known only in part stands alone; write 201X"},
		{"2019-XX-05", "a day needs its month; write 2019 if the month is unknown"},
		{"0000", "there is no year 0000; write what is known of the date"},
		{"[2019..2018]", "the range ends before it begins; write [2018..2019] if that is meant"},
		{"[..2019]", "a range needs both ends, as [2018..2019]; an open end has no middle to count ages from"},
		{"[2019..]", "a range needs both ends, as [2018..2019]; an open end has no middle to count ages from"},
		{"[2018, 2019]", "a range is written with both ends in square brackets, as [2018..2019]"},
		{"[2018..2019", "a range is written with both ends in square brackets, as [2018..2019]"},
		{"[3/4/2018..2019]", "write 2018-04-03 for 3 April or 2018-03-04 for 4 March"},
		{"spring", "write a date as 2019-05-12, or what is known of it as 2019-05, 2019, 201X or [2018..2019]"},
		{"12019-05-12", "write a date as 2019-05-12, or what is known of it as 2019-05, 2019, 201X or [2018..2019]"},
	}
	for _, tt := range tests {
		t.Run(tt.text, func(t *testing.T) {
			_, err := ParseDate(tt.text)
			assert.EqualError(t, err, tt.want)
		})
	}
}

func FuzzParseDate(f *testing.F) {
	for _, s := range []string{"2019-05-12", "2019-05", "201X", "20XX~", "[2018..2019-02]", "3/4/2019", "43597", "unknown", "\x00", "[..]", "2019-02-30", "9999-12-31"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		d, err := ParseDate(s)
		if err != nil {
			assert.NotEmpty(t, err.Error())
			return
		}
		if !d.Known() {
			assert.Equal(t, Date{}, d)
			return
		}
		assert.GreaterOrEqual(t, d.First, DayOf(1, 1, 1))
		assert.LessOrEqual(t, d.First, d.Last)
		assert.LessOrEqual(t, d.Last, DayOf(9999, 12, 31))
		assert.True(t, d.First <= d.Mid() && d.Mid() <= d.Last)
		again, err := ParseDate(d.Text)
		require.NoError(t, err)
		assert.Equal(t, d, again, "the text is the date's own")
	})
}
