package demography

import (
	"sync"

	"pairwright/pedigree/studbook"
)

// Scope says whose birds are counted: those at an institution, by its code, or
// the whole Programme. Where the studbook has no locations every Scope is the
// programme.
type Scope string

// Programme is the Scope of every bird of the studbook.
const Programme Scope = ""

// Group says which birds a table or curve is of.
type Group byte

// The groups. In a group of one sex a bird of unknown sex counts half: most
// birds that die before anybody could sex them are of unknown sex, and without
// them the young would seem to live better than they do.
const (
	Everyone Group = iota
	Females
	Males
)

// weight returns what a bird of a sex counts in the group.
func (g Group) weight(s studbook.Sex) float64 {
	switch {
	case g == Everyone, g == Females && s == studbook.Female, g == Males && s == studbook.Male:
		return 1
	case s == studbook.Unsexed:
		return 0.5
	}
	return 0
}

// Census is a snapshot of a colony with the life of every bird laid out as
// studbook.Colony.Lives has it, so that its counts on a past day are those of
// the snapshot of that day. It is immutable.
type Census struct {
	snapshot *studbook.Snapshot
	courses  []course // by index in snapshot.Birds
	watchEnd studbook.Day
	ages     func() map[studbook.Sex]BreedingAges // of females and males, by BreedingAgesOf
}

// course is the course of one bird's life, in days.
type course struct {
	begin  studbook.Day    // first day on which it lives in the programme, or as a parent without a row has a chick; 0 if it was always there
	hatch  studbook.Day    // 0 if unknown
	dead   studbook.Day    // 0 if living
	seen   studbook.Day    // day from which its death would have been noticed; 0 if unknown
	cameIn bool            // did not hatch in the programme
	stays  []studbook.Stay // in order, none for a parent without a row
}

// lastParentDays is how long after the death of a parent a chick may hatch and
// still count for it, at the age of its death.
const lastParentDays = 365

// NewCensus lays out the lives of the birds of a snapshot.
func NewCensus(s *studbook.Snapshot) *Census {
	c := &Census{snapshot: s, courses: make([]course, len(s.Birds))}
	for i := range s.Birds {
		l := s.Life(i)
		v := &c.courses[i]
		*v = course{begin: l.Begin, hatch: l.Hatch, dead: l.Dead, seen: l.Seen, cameIn: l.CameIn}
		if v.seen > s.AsOf {
			v.seen = 0
		}
		for n := len(l.Stays); n > 0 && v.stays == nil; n-- { // those to come are at the end
			if l.Stays[n-1].From <= s.AsOf {
				v.stays = l.Stays[:n:n]
			}
		}
		if len(v.stays) > 0 {
			v.begin = v.stays[0].From
		}
	}
	c.setWatchEnd()
	c.ages = sync.OnceValue(func() map[studbook.Sex]BreedingAges {
		return map[studbook.Sex]BreedingAges{studbook.Female: BreedingAgesOf(s, studbook.Female), studbook.Male: BreedingAgesOf(s, studbook.Male)}
	})
	return c
}

// WithAges returns the census with breeding ages that are already known, those of
// BreedingAgesOf, so that they are not looked for again.
func (c *Census) WithAges(female, male BreedingAges) *Census {
	known := *c
	known.ages = func() map[studbook.Sex]BreedingAges {
		return map[studbook.Sex]BreedingAges{studbook.Female: female, studbook.Male: male}
	}
	return &known
}

// earlier returns the earlier of two days, either of which may be no day.
func earlier(a, b studbook.Day) studbook.Day {
	if a == 0 || (b != 0 && b < a) {
		return b
	}
	return a
}

// setWatchEnd finds the day up to which the files are kept: the day of the
// snapshot, or the programme's CurrentTo where that is earlier, unless
// something later is on record.
func (c *Census) setWatchEnd() {
	c.watchEnd = c.snapshot.AsOf
	current := c.snapshot.Colony.Settings.CurrentTo
	if current == 0 || current >= c.watchEnd {
		return
	}
	for _, v := range c.courses {
		current = max(current, v.hatch, v.dead)
		if n := len(v.stays); n > 1 {
			current = max(current, v.stays[n-1].From)
		}
	}
	c.watchEnd = min(current, c.watchEnd)
}

// WatchedUntil returns the last day of the census on which a death would be on
// record: the day of the snapshot, or the day that the files are current to.
func (c *Census) WatchedUntil() studbook.Day { return c.watchEnd }

// in reports whether a place is in the scope.
func (c *Census) in(scope Scope, place string) bool {
	return scope == Programme || !c.snapshot.Colony.HasLocation || place == string(scope)
}

// spans returns the bird's stays in the scope, those that follow one another
// joined; not to be changed.
func (c *Census) spans(i int, scope Scope) []studbook.Stay {
	if all := c.courses[i].stays; len(all) == 1 && c.in(scope, all[0].Place) { // as most have it
		return all
	}
	var s []studbook.Stay
	for _, x := range c.courses[i].stays {
		switch n := len(s); {
		case !c.in(scope, x.Place):
		case n > 0 && s[n-1].To == x.From:
			s[n-1].To = x.To
		default:
			s = append(s, x)
		}
	}
	return s
}

// at reports whether the bird lived in the scope on a day.
func (c *Census) at(i int, scope Scope, day studbook.Day) bool {
	for _, x := range c.courses[i].stays {
		if x.From <= day && day < x.To {
			return c.in(scope, x.Place)
		}
	}
	return false
}

// hatchedIn reports whether the bird's life began in the scope, and not by
// coming in. It is false for a parent without a row.
func (c *Census) hatchedIn(i int, scope Scope) bool {
	v := &c.courses[i]
	return len(v.stays) > 0 && !v.cameIn && c.in(scope, v.stays[0].Place)
}

// living returns the indices of the birds living in the scope on the day of
// the snapshot, ascending.
func (c *Census) living(scope Scope) []int {
	if scope == Programme || !c.snapshot.Colony.HasLocation {
		return c.snapshot.Living
	}
	return c.snapshot.LivingAt(string(scope))
}

// age returns the age of a bird on a day in years, 0 before its hatch; false if
// its hatch date is unknown.
func (c *Census) age(i int, day studbook.Day) (float64, bool) {
	h := c.courses[i].hatch
	return years(max(0, day-h)), h != 0
}

// years turns days to years.
func years(d studbook.Day) float64 { return float64(d) / studbook.DaysPerYear }

// Watch is what a census saw of a group's lives.
type Watch struct {
	Lives  []Life
	Broods []Brood

	NoHatchDate int // birds left out because their age is unknown
	NoFirstSign int // birds left out because nothing says when they came in

	// Unassigned is the number of chicks, in the measure of Brood, that
	// hatched in the scope and add to no bird's broods, because the parent
	// or its age is unknown. Where it is large, the chicks by age are too few.
	Unassigned float64
}

// Watch returns what was seen of the lives of a group in a scope after a day;
// since 0 is from the beginning of the records.
//
// A bird is watched while it is in the scope, from hatch if it hatched in the
// programme. One that came in is watched from the first day it is known to have
// been there, at the age it then had; that it lived until then is no evidence.
// It is watched until it died or left, or until WatchedUntil.
//
// A chick counts for its parent if the parent was watched on the day of the
// hatch, or had died in the scope in the year before. Chicks of an uncertain
// parent are shared by weight. In a group of one sex the chicks of that sex
// count, and half of those of unknown sex; among Everyone each parent has half
// of each chick.
func (c *Census) Watch(scope Scope, group Group, since studbook.Day) Watch {
	birds := c.snapshot.Birds
	counted := 0
	for i := range birds {
		if group.weight(birds[i].Sex) > 0 {
			counted++
		}
	}
	w := Watch{Lives: make([]Life, 0, counted), Broods: make([]Brood, 0, counted)}
	for i := range birds {
		weight := group.weight(birds[i].Sex)
		if weight == 0 || len(c.courses[i].stays) == 0 {
			continue
		}
		v := &c.courses[i]
		for _, s := range c.spans(i, scope) {
			if s.From > c.watchEnd || s.To < since {
				continue
			}
			if v.hatch == 0 {
				w.NoHatchDate++
				break
			}
			if v.seen == 0 {
				w.NoFirstSign++
				break
			}
			from, to, died := c.watched(i, s, since)
			if to < from || (to == from && from != v.hatch) {
				continue
			}
			w.Lives = append(w.Lives, Life{Entry: years(from - v.hatch), Exit: years(to - v.hatch), Died: died, Weight: weight})
		}
	}
	for i := range birds {
		c.addBroods(&w, i, scope, group, since)
	}
	return w
}

// watched returns the part of a span in which a bird was watched after a day,
// and whether it died at its end. The bird's hatch and first sign are known.
func (c *Census) watched(i int, s studbook.Stay, since studbook.Day) (from, to studbook.Day, died bool) {
	v := &c.courses[i]
	from = max(s.From, v.seen, since)
	died = v.dead != 0 && s.To == v.dead && v.dead <= c.watchEnd
	return from, min(s.To, c.watchEnd), died
}

// addBroods adds the hatch of one chick to the broods of its parents.
func (c *Census) addBroods(w *Watch, chick int, scope Scope, group Group, since studbook.Day) {
	b, day := &c.snapshot.Birds[chick], c.courses[chick].hatch
	if !b.Recorded || day == 0 || day < since || day > c.watchEnd {
		return
	}
	share := group.weight(b.Sex)
	if group == Everyone {
		share = 0.5
	}
	if share == 0 {
		return
	}
	sire, dam := c.snapshot.Parents(chick)
	for _, side := range [2]struct {
		not     Group // whose parent it is not
		is      studbook.Parentage
		certain int
	}{{Females, b.Sire, sire}, {Males, b.Dam, dam}} {
		if group == side.not {
			continue
		}
		left := 1.0
		for _, candidate := range side.is.Candidates {
			i := side.certain
			if i < 0 {
				i, _ = c.snapshot.Index(candidate.ID) // a parent is there if its chick is
			}
			if age, ok := c.parentAge(i, scope, since, day); ok {
				w.Broods = append(w.Broods, Brood{Age: age, Chicks: share * candidate.Weight})
				left -= candidate.Weight
			}
		}
		if c.hatchedIn(chick, scope) && left > 1e-9 {
			w.Unassigned += share * left
		}
	}
}

// parentAge returns the age of a bird, watched in the scope, when a chick of it
// hatched on a day.
func (c *Census) parentAge(i int, scope Scope, since, day studbook.Day) (float64, bool) {
	v := &c.courses[i]
	if v.hatch == 0 || v.seen == 0 {
		return 0, false
	}
	for _, s := range c.spans(i, scope) {
		from, to, died := c.watched(i, s, since)
		switch {
		case from <= day && (day < to || day == to && !died):
			return years(day - v.hatch), true
		case died && from <= to && to <= day && day-to <= lastParentDays:
			return years(to - v.hatch), true
		}
	}
	return 0, false
}

// Survival returns the survival curve of what was watched.
func (w Watch) Survival() Curve { return KaplanMeier(w.Lives) }

// LifeTable returns the life table of what was watched.
func (w Watch) LifeTable() LifeTable { return NewLifeTable(w.Lives, w.Broods) }

// LifeTable returns the life table of a group in a scope after a day. Where it
// does not suffice beside the programme's (see LifeTable.Suffices) it is the
// programme's, and own is false.
func (c *Census) LifeTable(scope Scope, group Group, since studbook.Day) (t LifeTable, own bool) {
	programme := c.Watch(Programme, group, since).LifeTable()
	if scope == Programme || !c.snapshot.Colony.HasLocation {
		return programme, true
	}
	if t = c.Watch(scope, group, since).LifeTable(); t.Suffices(programme) {
		return t, true
	}
	return programme, false
}
