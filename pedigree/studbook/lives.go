package studbook

import (
	"cmp"
	"math"
	"runtime"
	"slices"

	"github.com/sourcegraph/conc"
)

// Stay is a time that a bird lived at one place of the programme: from the day
// From to the day before To.
type Stay struct {
	From, To Day // From is 0 where nothing is known before it, To Forever where nothing ends it
	Place    string
}

// Forever is a day after all others.
const Forever Day = math.MaxInt32

// Life is what the files tell of when a bird was there, and where. It is the
// one truth for who lives where on a day: snapshots and the numbers of
// demography both follow it. Of a date known in part the middle counts.
type Life struct {
	// Begin is the first day on which the bird exists for the programme: of
	// its hatch, without a date that of the younger of its known parents, or
	// of its arrival if a move from outside brought it; in any case the first day
	// of its first chick. 0 if it was always there.
	Begin Day

	Hatch Day // 0 if unknown
	Dead  Day // 0 if nothing says that it died; not before Begin

	// CameIn tells that the bird did not hatch in the programme: it has no
	// parents in the studbook and is not stated to have hatched under human
	// care, or it is of wild origin, or a move from outside brought it.
	CameIn bool

	// Seen is the day from which its death would have been noticed: its
	// hatch, or if it came in the first day on which it is known to have been
	// there, which is that of its arrival, bond, clutch, hold, other move or
	// the hatch of a chick that is its for certain. 0 if there is none.
	Seen Day

	// Arrived tells that a move from outside brought it, with a date.
	Arrived bool

	// Stays are where it lived in the programme, in order; between two there
	// may be a time elsewhere, and the last ends with the death or the day on
	// which it left. None for a parent without a row, one at least for others.
	Stays []Stay
}

// On returns where the bird lived on a day, false if that was nowhere in the
// programme.
func (l *Life) On(day Day) (place string, lives bool) {
	for _, s := range slices.Backward(l.Stays) {
		if s.From <= day {
			return s.Place, day < s.To
		}
	}
	return "", false
}

// Lives returns the life of every bird of the colony, by index in Birds.
//
// A bird whose first move has no from came in with it and lives in the programme
// from then on. All others live there from their hatch, at the place that their
// first move took them from or, where it does not say, to: also those that came in
// on a day that nobody wrote down, whose death would have been noticed later, from
// Seen on.
// A move without a to ends the stay until a later move brings the bird back.
//
// The slice is not to be changed.
func (c *Colony) Lives() []Life {
	if c.lives != nil {
		return c.lives
	}
	kin := c.lineage()
	return c.layOutLives(c.register(), kin, kin.parentsFirst())
}

// lineage returns who descends from whom.
func (c *Colony) lineage() *lineage {
	if c.kin != nil {
		return c.kin
	}
	return lineageOf(c.Birds, c.register())
}

// register returns where each bird is in Birds.
func (c *Colony) register() *register {
	if c.index != nil {
		return c.index
	}
	return registerOf(c.Birds)
}

// layOutLives lays out the lives of birds that are found by id in index; order has
// parents before chicks.
func (c *Colony) layOutLives(index *register, kin *lineage, order []int32) []Life {
	lives := large[Life](len(c.Birds))
	moves := make(map[int][]Move) // most birds never move
	for _, m := range c.Moves {
		if i, ok := index.find(m.ID); ok && m.Date.Known() {
			moves[i] = append(moves[i], m)
		}
	}
	for _, m := range moves {
		slices.SortStableFunc(m, func(a, b Move) int { return cmp.Compare(a.Date.Mid(), b.Date.Mid()) })
	}
	signs := c.firstSigns(index, kin)
	inRanges(len(c.Birds), func(i int) {
		b, l := &c.Birds[i], &lives[i]
		l.Hatch, l.Dead = b.Hatch.Mid(), b.Death.Mid()
		l.CameIn = cameIn(b, moves[i])
		l.Arrived = l.CameIn && len(moves[i]) > 0 && moves[i][0].From == ""
		switch {
		case !l.CameIn:
			l.Seen = l.Hatch
		case l.Arrived:
			l.Seen = max(moves[i][0].Date.Mid(), l.Hatch)
		case signs[i] != 0:
			l.Seen = max(signs[i], l.Hatch)
		}
	})
	entry := c.begin(lives, kin, order, moves)
	once := large[Stay](len(c.Birds)) // most birds stay at one place
	inRanges(len(c.Birds), func(i int) {
		b, l := &c.Birds[i], &lives[i]
		if l.Dead != 0 {
			l.Dead = max(l.Dead, l.Begin)
		}
		if b.Recorded {
			l.Stays = once[i : i : i+1]
			l.settle(entry[i], b.Location, moves[i], c.HasLocation)
		}
	})
	return lives
}

// inRanges has things of which none hangs on another dealt with on all cores where there
// are many.
func inRanges(things int, do func(i int)) {
	const few = 4096
	cores := max(1, min(runtime.GOMAXPROCS(0), things/few))
	var wg conc.WaitGroup
	for k := range cores {
		wg.Go(func() {
			for i := things * k / cores; i < things*(k+1)/cores; i++ {
				do(i)
			}
		})
	}
	wg.Wait()
}

// cameIn reports whether a bird came into the programme after it had hatched.
func cameIn(b *Bird, moves []Move) bool {
	if !b.Founder() {
		return b.Origin == OriginWild
	}
	return b.Origin != OriginCaptive || len(moves) > 0 && moves[0].From == ""
}

// firstSigns returns for each bird the first day on which it is known to have
// been there, 0 if there is none.
func (c *Colony) firstSigns(index *register, kin *lineage) []Day {
	signs := make([]Day, len(c.Birds))
	note := func(i int, d Date) {
		if d.Known() && (signs[i] == 0 || d.Mid() < signs[i]) {
			signs[i] = d.Mid()
		}
	}
	c.records(func(id string, d Date) {
		if i, ok := index.find(id); ok {
			note(i, d)
		}
	})
	for _, l := range kin.links {
		b := &c.Birds[l.chick]
		if _, ok := b.parentage(l.side).Known(); ok {
			note(int(l.parent), b.Hatch)
		}
	}
	return signs
}

// begin sets Begin of all lives and returns when each bird entered the
// programme, whatever its chicks say.
func (c *Colony) begin(lives []Life, kin *lineage, order []int32, moves map[int][]Move) []Day {
	entry := make([]Day, len(lives))
	for _, i := range order {
		b, l := &c.Birds[i], &lives[i]
		switch {
		case !b.Recorded:
		case l.Arrived:
			entry[i] = moves[int(i)][0].Date.Mid()
		case l.Hatch != 0:
			entry[i] = l.Hatch
		default:
			for _, k := range kin.of(int(i)) {
				if _, known := b.parentage(k.side).Known(); known {
					entry[i] = max(entry[i], entry[k.parent])
				}
			}
		}
		l.Begin = entry[i]
		if !b.Recorded {
			l.Begin = Forever // there for its chicks alone
		}
	}
	for _, i := range slices.Backward(order) {
		for _, k := range kin.of(int(i)) {
			lives[k.parent].Begin = min(lives[k.parent].Begin, lives[i].Begin)
		}
	}
	// Who did not come in has hatched when its first chick does, whatever the
	// middle of a vague date says.
	for i := range lives {
		if !lives[i].CameIn {
			entry[i] = lives[i].Begin
		}
	}
	return entry
}

// settle lays out the stays of a bird that entered the programme on a day.
// Without locations there is one place, "".
func (l *Life) settle(entry Day, home string, moves []Move, placed bool) {
	end := Forever
	if l.Dead != 0 {
		end = l.Dead
	}
	at := func(place string) string {
		if placed {
			return place
		}
		return ""
	}
	now := Stay{entry, end, at(home)}
	if len(moves) > 0 {
		now.Place = at(cmp.Or(moves[0].From, moves[0].To, home))
	}
	here := true
	for _, m := range moves {
		day := m.Date.Mid()
		if day >= end {
			break
		}
		if here && day > now.From {
			l.Stays = append(l.Stays, Stay{now.From, day, now.Place})
		}
		if here = m.To != ""; here {
			now = Stay{max(day, entry), end, at(m.To)}
		}
	}
	if here {
		l.Stays = append(l.Stays, now)
	}
	// Moves that tell nothing new do not part a stay.
	joined := l.Stays[:0]
	for _, s := range l.Stays {
		if n := len(joined); n > 0 && joined[n-1].To == s.From && joined[n-1].Place == s.Place {
			joined[n-1].To = s.To
			continue
		}
		joined = append(joined, s)
	}
	l.Stays = joined
	if len(l.Stays) == 0 { // it left on the day it came
		l.Stays = []Stay{{entry, entry, now.Place}}
	}
}

// until returns the life as a snapshot of a day has it: what came later has
// not happened.
func (l Life) until(day Day) Life {
	if n := len(l.Stays); l.Dead <= day && n > 0 && l.Stays[n-1].From <= day && l.Stays[n-1].To <= day+1 {
		return l // it is over, as most are
	}
	if l.Dead > day {
		l.Dead = 0
	}
	all := l.Stays
	l.Stays = nil
	for k, s := range all {
		if k > 0 && s.From > day {
			break
		}
		s.To = min(s.To, day+1)
		l.Stays = append(l.Stays, s)
	}
	return l
}

// records gives note every bird and day of which a file other than the studbook
// tells that the bird was there.
func (c *Colony) records(note func(id string, on Date)) {
	for _, m := range c.Moves {
		note(m.ID, m.Date)
	}
	for _, b := range c.Bonds {
		note(b.Female, b.Since)
		note(b.Male, b.Since)
	}
	for _, l := range c.Clutches {
		note(l.Female, l.Laid)
		note(l.Male, l.Laid)
	}
	for _, h := range c.Holds {
		note(h.ID, h.Since)
	}
}
