package demography

import (
	"cmp"
	"slices"

	"pairwright/pedigree/studbook"
)

// EventKind is what happened to a bird.
type EventKind byte

// The kinds of event, in the order in which those of one day are taken: founders
// come before their chicks hatch, a bird hatches before it moves, and moves before it leaves or dies.
const (
	CameIn EventKind = iota // arrived from outside the programme, for the first time or again; see Ledger.Founders
	Hatched
	Moved
	Left // the programme, and is not known to have died
	Died
)

// Event is something on one day that changed who lives where.
type Event struct {
	Day      studbook.Day
	Kind     EventKind
	Bird     int    // index in the Birds of the snapshot
	From, To string // Moved: the two places; else where it happened, in To
}

// Events returns what happened in the whole programme after one day and up to
// another, that day included, by day, then kind, then id of the bird. They
// lead from the birds of the snapshot of the first day to those of the second.
func (c *Census) Events(from, to studbook.Day) []Event {
	to = min(to, c.snapshot.AsOf)
	var events []Event
	add := func(e Event) {
		if from < e.Day && e.Day <= to {
			events = append(events, e)
		}
	}
	for i := range c.courses {
		v := &c.courses[i]
		if len(v.stays) == 0 {
			continue
		}
		begin := Event{Day: v.begin, Kind: Hatched, Bird: i, To: v.stays[0].Place}
		if v.cameIn {
			begin.Kind = CameIn
		}
		add(begin)
		for k, s := range v.stays {
			if k > 0 {
				switch before := v.stays[k-1]; {
				case before.To < s.From: // it had left and came back
					add(Event{Day: s.From, Kind: CameIn, Bird: i, To: s.Place})
				case before.Place != s.Place:
					add(Event{Day: s.From, Kind: Moved, Bird: i, From: before.Place, To: s.Place})
				}
			}
			switch {
			case s.To == v.dead:
				add(Event{Day: s.To, Kind: Died, Bird: i, To: s.Place})
			case k+1 == len(v.stays) || s.To < v.stays[k+1].From:
				add(Event{Day: s.To, Kind: Left, Bird: i, To: s.Place})
			}
		}
	}
	slices.SortFunc(events, func(a, b Event) int {
		return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Bird, b.Bird))
	})
	return events
}
