package pairing

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"pairwright/pedigree/studbook"
)

// Timing is when a bird may travel.
type Timing struct {
	// Earliest is the first day on which nothing in the files speaks against
	// the move and from which quarantine ends before Season; 0 if there is none
	// within the time looked at.
	Earliest studbook.Day
	// Latest is the last day of the same run of days, at most a year later; 0 where no
	// month that is set ends it, neither one in which birds pair or lay nor one in which none
	// travel.
	Latest studbook.Day
	// Season is the first day of the pairing months that follow Earliest, or
	// where those are not set of the laying months; 0 where neither is set or
	// they are the whole year.
	Season studbook.Day
	Pairs  bool // Season is that of pairing
	Avoid  []Span
}

// Span is a run of days on which the bird must not travel.
type Span struct {
	From, Until studbook.Day // both included; Until is 0 for until further notice
	Why         Reason
}

// seasonDays is how long the season lasts that is taken to begin today, where no laying
// months are set.
const seasonDays = 365

// yearDays is the horizon of a calendar: a year and a day.
const yearDays = 366

// Border reports whether two institutions are known to be in different countries,
// and what the slower of them says that a permit takes, -1 where neither says.
func (p *Programme) Border(from, to string) (abroad bool, weeks int) {
	a, _ := p.Book.Institution(from)
	b, _ := p.Book.Institution(to)
	if a.Country == "" || b.Country == "" || strings.EqualFold(a.Country, b.Country) {
		return false, -1
	}
	return true, max(a.PermitWeeks, b.PermitWeeks)
}

// PreparationDays is how long it takes to prepare a journey where no permit takes
// longer: examination, tests and their results, a crate (common practice, no
// source).
const PreparationDays = 28

// AgreeBy returns the last day on which a move that must be made by a day is to be
// agreed on, and its permit applied for, to leave time to prepare the journey. It may
// have passed. permitWeeks is what a permit takes, 0 or less where none is needed or
// nobody knows.
func AgreeBy(permitWeeks int, latest studbook.Day) studbook.Day {
	return latest - studbook.Day(max(PreparationDays, 7*permitWeeks))
}

// permitBy returns the first day, today or later, on which a bird can cross the border
// between two institutions if the permit is asked for on a day.
func (p *Programme) permitBy(from, to string, asked studbook.Day) studbook.Day {
	if abroad, weeks := p.Border(from, to); abroad && weeks > 0 {
		return max(p.Book.AsOf, asked+studbook.Day(7*weeks))
	}
	return p.Book.AsOf
}

// askedFor returns the day on which the permit for a bird to go to a place is taken to be
// asked for: that on which people agreed on the move, or today.
func (p *Programme) askedFor(b int, to string) studbook.Day {
	if day, agreed := p.agreed[asked{p.Book.Birds[b].ID, to}]; agreed {
		return day
	}
	return p.Book.AsOf
}

// agreedOn returns the days on which people agreed on moves that are still to be made, or
// may be.
func (p *Programme) agreedOn() map[asked]studbook.Day {
	on := map[asked]studbook.Day{}
	for _, w := range p.inForce() {
		if w.Answer != studbook.Agreed || w.To == "" || w.What != studbook.RulesMove && w.What != studbook.RulesBond {
			continue
		}
		for k, id := range w.Ruling.Birds {
			if x := (asked{id, w.To}); k == 0 || w.What == studbook.RulesBond { // of a move the second is the mate
				on[x] = min(cmp.Or(on[x], p.Book.AsOf), w.Date.Mid())
			}
		}
	}
	return on
}

// Quarantine returns the days of quarantine at an institution, and whether it
// states them; else they are those of the settings.
func (p *Programme) Quarantine(at string) (days int, stated bool) {
	if in, ok := p.Book.Institution(at); ok && in.QuarantineDays >= 0 {
		return in.QuarantineDays, true
	}
	return p.Settings().QuarantineDays, false
}

// Timing finds when a bird may travel from one institution to another. From the day of the snapshot on, a day is out of
// the question
//
//	in a moult month, for a bird must not travel while it grows its feathers;
//	in a laying month, when it may sit on eggs, and in a pairing month, when pairs form at both ends, and would come too late;
//	in a month in which one of the two ends takes and sends no birds;
//	before a permit to cross a border can be had, which is asked for when people have agreed on the move, or today;
//	in the RearingDays after it laid, unless the clutch is known to have ended;
//	until a hold on moving ends;
//	if the days of quarantine from then on reach into the next pairing months, or laying months where those are not set.
func (p *Programme) Timing(b int, from, to string) Timing { return p.timing(b, from, to, 0) }

// timing is Timing of a bird that is to be at a place for the season that begins on a day:
// Season is then the pairing for that, and Latest the last day of all before it, even while
// a hold until further notice leaves no Earliest. With 0, and where there is no such day,
// it is Timing.
func (p *Programme) timing(b int, from, to string, begins studbook.Day) Timing {
	book := p.Book
	bird := &book.Birds[b]
	quarantine, _ := p.Quarantine(to)
	var t Timing
	season := p.pairingSeason()
	t.Pairs = len(p.Settings().PairingMonths) > 0
	start := p.permitBy(from, to, p.askedFor(b, to))
	if start > book.AsOf {
		_, weeks := p.Border(from, to)
		t.Avoid = append(t.Avoid, Span{book.AsOf, start - 1, Reason{Code: Permit, From: from, To: to, Count: weeks}})
	}
	for _, h := range book.HoldsOn(bird.ID) {
		if h.Blocks == studbook.BlocksBreeding {
			continue
		}
		avoid := Span{From: book.AsOf, Why: Reason{Code: OnHold, Birds: []*studbook.Bird{bird}, Note: h.Reason, Date: h.Until}}
		if !h.Until.Known() {
			t.Avoid = append(t.Avoid, avoid)
			if begins != 0 && len(season) > 0 { // the hold is to be looked at by then
				t.Latest = firstBefore(begins, season) - studbook.Day(quarantine)
			}
			return t
		}
		avoid.Until = h.Ends() - 1
		t.Avoid = append(t.Avoid, avoid)
		start = max(start, h.Ends())
	}
	for _, c := range book.Clutches {
		if c.Female != bird.ID && c.Male != bird.ID {
			continue
		}
		if until, ok := NestUntil(&c); ok && until >= book.AsOf {
			t.Avoid = append(t.Avoid, Span{book.AsOf, until, Reason{Code: OnNest, Birds: []*studbook.Bird{bird}, Date: c.Laid, Count: RearingDays}})
			start = max(start, until+1)
		}
	}
	closed := p.closedMonths(from, to)
	if t.Earliest, t.Latest = openDays(start, closed, season, quarantine); t.Earliest != 0 {
		t.Season = nextSeason(t.Earliest, season)
	}
	looked, ended := start+yearDays, t.Latest < t.Earliest+yearDays // by a month, and not by how far was looked
	if begins != 0 && t.Earliest != 0 {
		forms := firstBefore(begins, season)
		last := forms - studbook.Day(quarantine)
		if t.Earliest <= last {
			if t.Season != 0 {
				t.Season = forms
			}
			for first, until := t.Earliest, t.Latest; first != 0 && first <= last; first, until = openDays(until+1, closed, season, quarantine) {
				t.Latest = min(until, last)
			}
			looked, ended = t.Latest, t.Latest < last
		}
	}
	if len(season) == 0 && !ended {
		t.Latest = 0
	}
	for _, x := range closed {
		t.Avoid = append(t.Avoid, spans(book.AsOf, looked, x.months, Reason{Code: x.why, From: x.at})...)
	}
	slices.SortStableFunc(t.Avoid, func(a, b Span) int { return int(a.From - b.From) })
	return t
}

// firstBefore returns the last day up to a season's first on which some months begin, the
// day itself where they have no beginning.
func firstBefore(begins studbook.Day, months []time.Month) studbook.Day {
	first := begins
	for day := nextSeason(begins-yearDays, months); day != 0 && day <= begins; day = nextSeason(day, months) {
		first = day
	}
	return first
}

// shut is months in which no bird travels.
type shut struct {
	months []time.Month
	why    Code
	at     string // the institution, for EndClosed
}

// closedMonths returns the months in which no bird travels between two institutions.
func (p *Programme) closedMonths(from, to string) []shut {
	set := p.Settings()
	closed := append(make([]shut, 0, 5), shut{months: set.LayingMonths, why: LayingMonth}, shut{months: set.PairingMonths, why: PairingMonth}, shut{months: set.MoultMonths, why: MoultMonth})
	for _, end := range []string{from, to} {
		if in, ok := p.Book.Institution(end); ok {
			closed = append(closed, shut{in.ClosedMonths, EndClosed, end})
		}
	}
	return closed
}

// openDays returns the first day from start on in no closed month and so many days
// before the next season, and the last of the days after it that are like it, at
// most a year later; 0 if there is none within a year.
func openDays(start studbook.Day, closed []shut, season []time.Month, quarantine int) (earliest, latest studbook.Day) {
	var until, last studbook.Day // of the month that was looked at: its end, and its last open day
	open := func(day studbook.Day) bool {
		if day > until {
			date := day.Time()
			until = studbook.DayOf(date.Year(), date.Month()+1, 1) - 1
			last = until
			if next := nextSeason(day, season); next != 0 {
				last = min(last, next-studbook.Day(quarantine))
			}
			if slices.ContainsFunc(closed, func(x shut) bool { return slices.Contains(x.months, date.Month()) }) {
				last = 0
			}
		}
		return day <= last
	}
	for day := start; day <= start+yearDays; day++ {
		if open(day) {
			earliest, latest = day, day
			break
		}
	}
	for day := earliest + 1; earliest != 0 && day <= earliest+yearDays && open(day); day++ {
		latest = day
	}
	return earliest, latest
}

// spans returns the runs of days that fall into months, from one day to
// another.
func spans(from, until studbook.Day, months []time.Month, why Reason) []Span {
	var out []Span
	open := false
	for day := from; day <= until; {
		date := day.Time()
		next := studbook.DayOf(date.Year(), date.Month()+1, 1)
		if within := slices.Contains(months, date.Month()); !within {
			open = false
		} else {
			if !open {
				out = append(out, Span{From: day, Why: why})
				open = true
			}
			out[len(out)-1].Until = min(next-1, until)
		}
		day = next
	}
	return out
}

// nextSeason returns the first day after day on which a season begins: the
// first of one of its months that follows one that is none. It is 0 if no
// month or every month is one.
func nextSeason(day studbook.Day, season []time.Month) studbook.Day {
	date := day.Time()
	for k := 1; k <= 12; k++ {
		month := (date.Month()+time.Month(k)-1)%12 + 1
		if slices.Contains(season, month) && !slices.Contains(season, (month+10)%12+1) {
			return studbook.DayOf(date.Year(), date.Month()+time.Month(k), 1)
		}
	}
	return 0
}

// inTime reports whether a bird could come from one place to another, quarantine
// over, before the pairing months, or laying months where those are not set, of the
// coming season, if its permit is asked for on a day. Where neither are set it is to be there
// within the year that is counted as the season.
func (p *Programme) inTime(from, to string, asked studbook.Day) bool {
	season := p.pairingSeason()
	quarantine, _ := p.Quarantine(to)
	earliest, _ := openDays(p.permitBy(from, to, asked), p.closedMonths(from, to), season, quarantine)
	if earliest == 0 {
		return false
	}
	if len(season) == 0 {
		return earliest+studbook.Day(quarantine) < p.season.Start+seasonDays
	}
	begins := nextSeason(earliest, season)
	return begins != 0 && begins <= p.Calendar().Start
}

// pairingSeason returns the months in which birds pair or, where those are not set,
// lay.
func (p *Programme) pairingSeason() []time.Month {
	if set := p.Settings(); len(set.PairingMonths) > 0 {
		return set.PairingMonths
	}
	return p.Settings().LayingMonths
}

// TimesMoved returns how often a bird of the snapshot was moved until today.
func (p *Programme) TimesMoved(b int) int { return p.moved[b] }

// countMoves counts the moves of each bird until today.
func (p *Programme) countMoves() []int {
	n := make([]int, len(p.Book.Birds))
	for i := range p.Book.Colony.Moves {
		m := &p.Book.Colony.Moves[i]
		if b, known := p.Book.Index(m.ID); known && m.Date.OnOrBefore(p.Book.AsOf) {
			n[b]++
		}
	}
	return n
}
