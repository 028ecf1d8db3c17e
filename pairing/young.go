package pairing

import (
	"context"
	"slices"
	"sync"

	"pairwright/pairing/internal/bonds"
	"pairwright/pedigree/studbook"
)

// Young is a bird that comes to breeding age in the years that a decision looks
// ahead, and where it should then be.
type Young struct {
	Bird int
	From string
	// To is where it should go; From if it should stay.
	To string
	// When is the first day of the first season in which it may breed: it should
	// be there by then.
	When studbook.Day
	// Mate is the bird that it would best be paired with then, if that lives or
	// comes there; -1 if there is none, even of a bird that people agreed to send.
	// Nothing is bonded yet.
	Mate int
	// SexUnknown is true of a bird that must be sexed before anybody can say.
	SexUnknown bool
}

// Leaves reports whether the bird should go to another place.
func (y *Young) Leaves() bool { return y.To != y.From }

// coming is what Young found.
type coming struct {
	sync.Mutex
	known bool
	young []Young
}

// Young assigns the birds that come to breeding age within moves.ahead years to
// each other and to the birds that the decision leaves alone, as the decision does,
// for the season then. They are listed by id. The first call takes the time.
func (d *Decision) Young(ctx context.Context) ([]Young, error) {
	c := d.coming
	c.Lock()
	defer c.Unlock()
	if !c.known {
		young, err := d.assignYoung(ctx)
		if err != nil {
			return nil, err
		}
		c.young, c.known = young, true
	}
	return slices.Clone(c.young), nil
}

func (d *Decision) assignYoung(ctx context.Context) ([]Young, error) {
	p := d.p
	years := p.Settings().MovesAhead
	m, err := newMarket(ctx, p, d.limit, years, d.m)
	if err != nil {
		return nil, err
	}
	var out []Young
	young := map[int]int{} // bird -> index in out
	for _, b := range p.Book.Living {
		bird := &p.Book.Birds[b]
		y := Young{Bird: b, From: bird.Location, To: bird.Location, Mate: -1, SexUnknown: bird.Sex == studbook.Unsexed}
		first := p.Ages.Of(bird.Sex).First
		age, known := ageOn(bird, p.breedingDay())
		switch {
		case !known || age >= first || age+years < first:
			continue
		case !y.SexUnknown && m.number[b] < 0:
			continue // on hold until then
		}
		y.When = d.firstSeason(bird, first)
		young[b] = len(out)
		out = append(out, y)
	}
	then := &Decision{Options: d.Options, p: p, m: m, limit: d.limit, young: young, words: d.words}
	then.LeastGain = m.leastGain(func() []float64 { return m.all(m.value) })
	free := pool{row: map[int]int{}, column: map[int]int{}}
	for _, side := range [2][]int{m.females, m.males} {
		for k, b := range side {
			_, isYoung := young[b]
			if _, paired := d.MateOf(b); isYoung || !paired && d.m.number[b] >= 0 {
				free.add(b, k, p.Book.Birds[b].Sex)
			}
		}
	}
	answer, err := then.solve(ctx, free)
	if err != nil {
		return nil, err
	}
	for _, x := range answer.Pairs {
		female, male := m.females[free.females[x.Female]], m.males[free.males[x.Male]]
		for _, one := range [2]struct {
			bird, mate int
			moves      bonds.Ways
		}{{female, male, bonds.FemaleMoves}, {male, female, bonds.MaleMoves}} {
			k, ok := young[one.bird]
			if !ok {
				continue
			}
			out[k].Mate = one.mate
			if x.Mover == one.moves {
				out[k].To = p.Book.Birds[one.mate].Location
			}
		}
	}
	for k := range out {
		if m, sent := d.words.sent[out[k].Bird]; sent {
			out[k].To = m.To
		}
	}
	return out, nil
}

// firstSeason returns the first day of the season in which a bird first is of
// breeding age.
func (d *Decision) firstSeason(bird *studbook.Bird, first float64) studbook.Day {
	day := d.Season.Start
	for {
		if age, _ := ageOn(bird, day); age >= first {
			return day
		}
		t := day.Time()
		day = studbook.DayOf(t.Year()+1, t.Month(), t.Day())
	}
}

// rather returns which of two birds should move where both may: a young one
// before one of breeding age, then the one that has moved less often.
func (d *Decision) rather(female, male int) bonds.Ways {
	_, f := d.young[female]
	_, m := d.young[male]
	switch {
	case f != m:
		if m {
			return bonds.RatherMale
		}
		return 0
	case d.p.movesBefore(male) < d.p.movesBefore(female):
		return bonds.RatherMale
	}
	return 0
}

// mayTravel reports whether a bird may be moved before the coming season: no hold
// on moving lasts until then.
func (p *Programme) mayTravel(b int) bool {
	return !slices.ContainsFunc(p.Book.HoldsOn(p.Book.Birds[b].ID), func(h studbook.Hold) bool {
		return h.Blocks != studbook.BlocksBreeding && (!h.Until.Known() || h.Until.Last >= p.breedingDay())
	})
}
