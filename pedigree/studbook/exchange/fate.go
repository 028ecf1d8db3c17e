package exchange

import (
	"cmp"
	"fmt"
	"slices"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

// elsewhere is where a bird went that moved to a place with no name.
const elsewhere = "elsewhere"

// fates decides what became of every bird, and writes its moves.
func (im *importer) fates() {
	im.lastDay = im.fileDay()
	im.settleDepartures()
	for _, b := range im.birds {
		im.fateOf(b)
	}
	im.ownMoves()
	im.homeOfOthers()
	// Who has a chick was alive then; the day of an unknown death is known
	// when all chicks are.
	last := make([]studbook.Day, len(im.birds))
	for i, b := range im.birds {
		last[i] = b.lastKnown()
	}
	for _, b := range im.birds {
		if !b.hatch.known() {
			continue
		}
		if d := b.parentage[1]; len(d.candidates) == 1 && d.candidates[0].bird >= 0 && d.candidates[0].weight == 1 {
			// The dam laid the egg; the sire may have died before.
			if k := d.candidates[0].bird; b.hatch.first-longest > last[k] {
				last[k] = b.hatch.first - longest
			}
		}
	}
	for i, b := range im.birds {
		if b.fate != died || b.death.text != "" {
			continue
		}
		from := last[i]
		switch {
		case from == 0:
			b.death = date{text: someDayUnknown}
		case from > im.lastDay:
			b.death = exactly(from)
		default:
			b.death = between(from, im.lastDay)
		}
	}
}

// settleDepartures has birds that were given to a place where birds of the file live, as
// "abgegeben an Ashby", move there, and writes a place that they went to as the file has it.
func (im *importer) settleDepartures() {
	places := make(map[string]string)
	for _, b := range im.birds {
		for _, s := range b.stays {
			if k := key(s.location); k != "" && places[k] == "" {
				places[k] = s.location
			}
		}
	}
	for _, b := range im.birds {
		for i := range b.stays {
			s := &b.stays[i]
			if place := places[key(s.destination)]; place != "" && away(*s) {
				s.destination = place
				if _, said := im.saidWord("fate", s.reason); !said {
					s.fate = moved
				}
			}
			im.tellGone(b, s)
		}
	}
}

// homeOfOthers puts the birds of a file that has no column of places at one place, where
// some of them moved to another: without it those would count as living there too.
func (im *importer) homeOfOthers() {
	fill := func() {
		for _, b := range im.birds {
			if b.location == "" {
				b.location = im.enclosed
			}
		}
		for k := range im.moves {
			if im.moves[k].From == unstated {
				im.moves[k].From = im.enclosed
			}
		}
	}
	if im.enclosed != "" { // those of which no enclosure is told, as of the dead, were there too
		fill()
		return
	}
	for _, t := range im.tables {
		if t.kind == ownRows || t.has(colLocation) || t.has(colEventPlace) {
			return
		}
	}
	moved := func(b *bird) bool { return b.fate == alive && b.location != "" }
	if !slices.ContainsFunc(im.birds, moved) {
		return
	}
	im.enclosed = cmp.Or(im.opt.Home, atHome)
	fill()
}

// ownMoves says of birds that left the programme by the moves of a folder.
func (im *importer) ownMoves() {
	for _, t := range im.tables {
		if t.own != "moves.csv" {
			continue
		}
		id, to, on := slices.Index(t.head, "id"), slices.Index(t.head, "to"), slices.Index(t.head, "date")
		last := make(map[string]studbook.Day)
		for _, r := range t.body {
			d := im.ownDate(r.At(on))
			k, there := im.byID[r.At(id).Text]
			if !there || d.First < last[r.At(id).Text] {
				continue
			}
			last[r.At(id).Text] = d.First
			switch b := im.birds[k]; {
			case b.fate == died:
			case r.At(to).Kind == sheets.Blank:
				b.fate = left
			default:
				b.fate = alive
			}
		}
	}
}

// fileDay is the last day the file can know of: when it was last changed, or
// the last date in it that is not in the future.
func (im *importer) fileDay() studbook.Day {
	last := im.opt.FileDay
	take := func(d date) {
		if d.known() && d.last > last && d.last <= im.opt.today() {
			last = d.last
		}
	}
	for _, b := range im.birds {
		take(b.hatch)
		take(b.death)
		for _, s := range b.stays {
			take(s.arrived)
			take(s.gone)
		}
	}
	return last
}

// lastKnown is the last day on which the bird was alive for certain, 0 if
// none is known.
func (b *bird) lastKnown() studbook.Day {
	last := studbook.Day(0)
	if b.hatch.known() {
		last = b.hatch.first
	}
	for _, s := range b.stays {
		for _, d := range []date{s.arrived, s.gone, s.year()} {
			if d.known() && d.first > last && (s.fate != died || d.text != s.gone.text) {
				last = d.first
			}
		}
	}
	return last
}

// fateOf decides what became of a bird from all its stays.
func (im *importer) fateOf(b *bird) {
	stays := im.staying[:0]
	defer func() { im.staying = stays }()
	for i := range b.stays {
		if s := &b.stays[i]; !s.fromEvents || s.location != "" || s.fate != noFate {
			stays = append(stays, *s)
		}
	}
	inTime(stays)
	dead := b.death.known() || b.deadSome || slices.ContainsFunc(stays, func(s stay) bool { return s.fate == died })
	b.fate = alive
	if len(stays) > 0 {
		last := &stays[len(stays)-1]
		if last.reasonless && !b.death.known() && !b.deadSome {
			im.goneWithoutReason(b, last)
		}
		dead = dead || last.fate == died
		if b.listed > 0 && b.listed < im.lastList && !dead && !away(*last) {
			if m, said := im.saidWord("fate", Unlisted); said {
				last.fate = im.deathWord(b, m)
				dead = last.fate == died
			}
		}
		if last.fate == left {
			b.fate = left
		}
	}
	if dead {
		b.fate = died
	}
	im.movesOf(b, stays)
}

// inTime puts the stays of a bird in the order in which they were.
func inTime(stays []stay) {
	if len(stays) < 2 {
		return
	}
	when := func(s stay) studbook.Day {
		if s.arrived.known() {
			return s.arrived.first
		}
		if s.gone.known() {
			return s.gone.first
		}
		return s.year().first
	}
	logged := !slices.ContainsFunc(stays, func(s stay) bool { return !s.fromEvents })
	if logged || !slices.ContainsFunc(stays, func(s stay) bool { return when(s) == 0 }) {
		// What a log has without a date happened after what stands above it.
		days, last := make(map[spot]studbook.Day), studbook.Day(0)
		for _, s := range stays {
			last = max(last, when(s))
			days[s.at] = cmp.Or(when(s), last)
		}
		slices.SortStableFunc(stays, func(x, y stay) int { return cmp.Compare(days[x.at], days[y.at]) })
		return
	}
	if !slices.ContainsFunc(stays, func(s stay) bool { return s.gone.known() }) {
		return
	}
	// A row without dates is where the bird is now, as another says that it left.
	slices.SortStableFunc(stays, func(x, y stay) int {
		now := func(s stay) int {
			if !s.gone.known() && !s.arrived.known() {
				return 1
			}
			return 0
		}
		return cmp.Compare(now(x), now(y))
	})
}

// goneWithoutReason takes the user's word for what became of birds that left while nothing
// says why, or stops.
func (im *importer) goneWithoutReason(b *bird, last *stay) {
	m, ok := im.saidWord("fate", "")
	if !ok {
		im.stop(Decision{Code: "departure_without_reason", Sheet: last.at.t.Name, Line: last.at.line, Column: "departure_date", Value: last.gone.text, Choice: wordChoice("fate", "", "", departures...),
			Text: fmt.Sprintf("%s is gone%s, and nothing says whether it died, moved or left the programme", b.id, since(last.gone))})
		return
	}
	switch f := fateNamed(m); f {
	case died:
		b.death, last.fate = last.gone, died
	case moved, left:
		last.fate = f
	}
}

// since writes the day of a departure, if there is one.
func since(d date) string {
	if !d.known() {
		return ""
	}
	return " since " + d.text
}

// movesOf writes the moves that a bird's stays amount to, and where it is in
// the end.
func (im *importer) movesOf(b *bird, stays []stay) {
	here, out := "", false
	var unknown date // the day of moves without one, worked out once: all rows of a file may be of one bird
	move := func(d date, from, to, reason string) {
		if from == to {
			return
		}
		if !d.known() {
			if unknown.text == "" {
				unknown = im.someDay(b)
			}
			d = unknown
		}
		if d.known() {
			im.moves = append(im.moves, studbook.Move{ID: b.id, Date: toDate(d), From: from, To: to, Reason: reason})
		}
	}
	lastPlace := ""
	for i, s := range stays {
		loc := cmp.Or(s.location, lastPlace)
		lastOne := i == len(stays)-1
		switch {
		case loc == "":
			if s.from != "" {
				b.note("arrived from " + s.from + " " + s.arrived.text)
			}
		case i == 0:
			// A bird that hatched where it is did not come from outside.
			if s.arrived.known() && (s.from != "" || !b.hatch.known() || s.arrived.first > b.hatch.last) {
				move(s.arrived, s.from, loc, "")
			}
		case out:
			move(s.arrived, cmp.Or(s.from, here), loc, "came back")
		case lastPlace != "":
			d := s.arrived
			if !d.known() {
				d = stays[i-1].gone
			}
			if !d.known() {
				d = s.year()
			}
			move(d, lastPlace, loc, stays[i-1].reason)
		}
		here, lastPlace, out = loc, loc, false
		if !away(s) || s.fate == moved && !lastOne && stays[i+1].location != "" && stays[i+1].location != loc {
			continue // the next row says where it went
		}
		to := ""
		if s.fate == moved {
			if to = s.destination; to == "" {
				to = elsewhere
				im.likely(Decision{Code: "moved_nowhere", Sheet: s.at.t.Name, Line: s.at.line, Column: cmp.Or(s.reasonOf, colDepartureReason).String(), Value: s.reason, Taken: elsewhere, of: im.about(b), Choice: wordChoice("fate", s.reason, fateNames[moved], departures...),
					Text: movedNowhere(b, s)})
			}
			if loc == to {
				continue // the place it moved to is the one that the row has
			}
		}
		move(s.gone, cmp.Or(loc, unstated), to, s.reason)
		here, out = to, true
	}
	b.location = cmp.Or(here, lastPlace)
}

// movedNowhere says that a bird moved and that nothing names the place.
func movedNowhere(b *bird, s stay) string {
	said := ""
	if s.reason != "" {
		said = fmt.Sprintf(" (%q)", shorten(s.reason))
	}
	return fmt.Sprintf("%s moved to a place that the file does not name%s: it counts as living, at %q", b.id, said, elsewhere)
}

// unstated is the place that a bird left of which the file says no place.
const unstated = "unstated"

// someDay is the date of what happened on an unknown day in a bird's life.
func (im *importer) someDay(b *bird) date {
	from := b.lastKnown()
	switch {
	case from == 0 && im.lastDay == 0:
		return date{}
	case from == 0:
		return date{text: "[" + im.lastDay.String() + ".." + im.lastDay.String() + "]", first: im.lastDay, last: im.lastDay}
	case from >= im.lastDay:
		return exactly(from)
	}
	return between(from, im.lastDay)
}

// toDate turns a date into one of the studbook.
func toDate(d date) studbook.Date {
	if d.text == "" {
		return studbook.Date{}
	}
	out, err := studbook.ParseDate(d.text)
	if err != nil {
		return studbook.Date{}
	}
	return out
}
