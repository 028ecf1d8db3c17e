package pairing

import "pairwright/pedigree/studbook"

// RearingDays is how long after the first egg a pair is taken to sit or to
// feed chicks where the files do not say how the clutch ended; in the first
// sittingDays of them it is taken to sit if no hatch is on record (both common
// practice, no source).
const (
	RearingDays = 120
	sittingDays = 60
)

// nest is what a pair does on its nest.
type nest byte

const (
	away  nest = iota // nothing that is known
	rears             // feeds chicks, or may
	sits              // on eggs, or on dummies
)

// NestUntil returns the last day on which a clutch may keep its parents on the
// nest; ok is false if it is known to have ended, or nobody wrote down when it
// was laid.
func NestUntil(c *studbook.Clutch) (until studbook.Day, ok bool) {
	if c.Hatched == 0 || c.Fledged >= 0 || !c.Laid.Known() {
		return 0, false
	}
	if c.Replaced {
		return c.Laid.Last + sittingDays, true
	}
	return c.Laid.Last + RearingDays, true
}

// nest returns what a bird does on the nest on the day, with one mate alone if
// its id is given.
func (p *Programme) nest(id, mate string) nest {
	now := away
	for i := range p.Book.Clutches {
		c := &p.Book.Clutches[i]
		if !(c.Female == id && (mate == "" || c.Male == mate) || c.Male == id && (mate == "" || c.Female == mate)) {
			continue
		}
		until, ok := NestUntil(c)
		switch {
		case !ok || until < p.Book.AsOf:
		case c.Hatched < 0 && p.Book.AsOf-c.Laid.Mid() <= sittingDays:
			now = sits
		default:
			now = max(now, rears)
		}
	}
	return now
}
