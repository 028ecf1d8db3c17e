package exchange

import (
	"cmp"
	"iter"
	"math"
	"slices"

	"pairwright/pedigree/studbook"
)

// timeline finds among things that last for some days, as lives do or what a pair holds,
// those of some day: thousands of birds may bear one name, or hold one nest in turn.
type timeline struct {
	periods []period       // by the first day, then by what they are of
	latest  []studbook.Day // by place, the last day of any up to there
}

// period is the days of a thing, which is known by a number.
type period struct {
	of          int32
	first, last studbook.Day
}

// always is the period of what is true on every day.
func always(of int32) period { return period{of, math.MinInt32, math.MaxInt32} }

func newTimeline(periods []period) *timeline {
	t := &timeline{periods, make([]studbook.Day, len(periods))}
	slices.SortFunc(periods, func(x, y period) int { return cmp.Or(cmp.Compare(x.first, y.first), cmp.Compare(x.of, y.of)) })
	latest := studbook.Day(math.MinInt32)
	for k, s := range periods {
		latest = max(latest, s.last)
		t.latest[k] = latest
	}
	return t
}

// during runs through what lasts on any day from first to last.
func (t *timeline) during(first, last studbook.Day) iter.Seq[int32] {
	return func(yield func(int32) bool) {
		from, _ := slices.BinarySearch(t.latest, first)
		for _, s := range t.periods[from:] {
			if s.first > last || s.last >= first && !yield(s.of) {
				return
			}
		}
	}
}
