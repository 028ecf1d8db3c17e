package transfer

import (
	"slices"
	"time"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// Timing is when a bird may travel.
type Timing struct {
	// Earliest is the first day on which nothing in the files speaks against
	// the move and from which quarantine ends before the next laying season;
	// 0 if there is none within the time looked at.
	Earliest studbook.Day
	// Latest is the last day of the same run of days, at most a year later.
	Latest studbook.Day
	// Season is the first day of the laying season that follows Earliest, 0
	// where the laying months are not set or are the whole year.
	Season studbook.Day
	Avoid  []Span
}

// Span is a run of days on which the bird must not travel.
type Span struct {
	From, Until studbook.Day // both included; Until is 0 for until further notice
	Why         pairing.Reason
}

// yearDays is the horizon of a calendar: a year and a day.
const yearDays = 366

// timing finds when bird b may travel to quarantine of some days. From the day
// of the snapshot on, a day is out of the question
//
//	in a moult month, for a bird must not travel while it grows its feathers;
//	in a laying month, when it may sit on eggs, and would come too late;
//	in the pairing.RearingDays after it laid, unless the clutch is known to have ended;
//	until a hold on moving ends;
//	if the days of quarantine from then on reach into the next laying season.
func timing(p *pairing.Programme, b, quarantine int) Timing {
	book := p.Book
	bird := &book.Birds[b]
	laying, moult := p.Settings().LayingMonths, p.Settings().MoultMonths
	var t Timing
	start := book.AsOf
	for _, h := range book.HoldsOn(bird.ID) {
		if h.Blocks == studbook.BlocksBreeding {
			continue
		}
		t.Avoid = append(t.Avoid, Span{book.AsOf, h.Until.Last, pairing.Reason{Code: pairing.OnHold, Birds: []*studbook.Bird{bird}, Note: h.Reason, Date: h.Until}})
		if !h.Until.Known() {
			return t
		}
		start = max(start, h.Until.Last+1)
	}
	for _, c := range book.Clutches {
		if c.Female != bird.ID && c.Male != bird.ID {
			continue
		}
		if until, ok := pairing.NestUntil(&c); ok && until >= book.AsOf {
			t.Avoid = append(t.Avoid, Span{book.AsOf, until, pairing.Reason{Code: OnNest, Birds: []*studbook.Bird{bird}, Date: c.Laid, Count: pairing.RearingDays}})
			start = max(start, until+1)
		}
	}
	for _, x := range []struct {
		months []time.Month
		why    pairing.Code
	}{{laying, LayingMonth}, {moult, MoultMonth}} {
		t.Avoid = append(t.Avoid, spans(book.AsOf, start+yearDays, x.months, x.why)...)
	}
	slices.SortStableFunc(t.Avoid, func(a, b Span) int { return int(a.From - b.From) })

	free := func(day studbook.Day) bool {
		month := day.Time().Month()
		if slices.Contains(laying, month) || slices.Contains(moult, month) {
			return false
		}
		season := nextSeason(day, laying)
		return season == 0 || day+studbook.Day(quarantine) <= season
	}
	for day := start; day <= start+yearDays; day++ {
		if free(day) {
			t.Earliest, t.Latest = day, day
			break
		}
	}
	if t.Earliest == 0 {
		return t
	}
	for day := t.Earliest + 1; day <= t.Earliest+yearDays && free(day); day++ {
		t.Latest = day
	}
	t.Season = nextSeason(t.Earliest, laying)
	return t
}

// spans returns the runs of days that fall into months, from one day to
// another.
func spans(from, until studbook.Day, months []time.Month, why pairing.Code) []Span {
	var out []Span
	open := false
	for day := from; day <= until; day++ {
		if !slices.Contains(months, day.Time().Month()) {
			open = false
			continue
		}
		if !open {
			out = append(out, Span{day, day, pairing.Reason{Code: why}})
			open = true
		}
		out[len(out)-1].Until = day
	}
	return out
}

// nextSeason returns the first day after day on which a laying season begins:
// the first of a laying month that follows one that is none. It is 0 if no
// month or every month is one.
func nextSeason(day studbook.Day, laying []time.Month) studbook.Day {
	date := day.Time()
	for k := 1; k <= 12; k++ {
		first := time.Date(date.Year(), date.Month()+time.Month(k), 1, 0, 0, 0, 0, time.UTC)
		if slices.Contains(laying, first.Month()) && !slices.Contains(laying, first.AddDate(0, -1, 0).Month()) {
			return studbook.DayOf(first.Year(), first.Month(), 1)
		}
	}
	return 0
}
