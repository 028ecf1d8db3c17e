package pairing

import (
	"cmp"
	"context"
	"maps"
	"math"
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
	// When is the first day of the first season in which it may breed.
	When studbook.Day
	// Timing is when a bird that leaves may travel, so that it is there and out of
	// quarantine when pairs form for that season; that of others is zero.
	Timing Timing
	// Mate is the bird that it would best be paired with then, if that lives or
	// comes there; -1 if there is none, even of a bird that people agreed to send.
	// Nothing is bonded yet.
	Mate int
	// Anew is, of advice that need not be followed before, the day from which the decision is
	// taken for another season, and this with it: deaths, moves and what else happens until
	// then may turn it. 0 of a move that is to be agreed on before that day, or that people
	// have agreed on, and of a bird of unknown sex.
	Anew studbook.Day
	// SexUnknown is true of a bird that must be sexed before anybody can say.
	SexUnknown bool
}

// Leaves reports whether the bird should go to another place.
func (y *Young) Leaves() bool { return y.To != y.From }

// later is the pair that a bird without a mate for the coming season should best form in a
// later one. Nothing is bonded yet.
type later struct {
	Mate   int
	Begins studbook.Day // the season
	Move   *PlannedMove // nil if both live at one place
}

// coming is what a decision says of the seasons after the coming one.
type coming struct {
	sync.Mutex
	known   bool
	next    *lookout        // of the season after the coming one, where the decision needed it
	markets map[int]*market // by years from the coming season
	young   []Young
}

// Young assigns the birds that come to breeding age within moves.ahead years to
// each other and to the birds that the decision leaves alone, one season after the
// other, as the decisions of those years would. They are listed by id. The first
// call takes the time.
func (d *Decision) Young(ctx context.Context) ([]Young, error) {
	c := d.coming
	c.Lock()
	defer c.Unlock()
	if err := d.lookAhead(ctx); err != nil {
		return nil, err
	}
	return slices.Clone(c.young), nil
}

// lookout is what one of the seasons after the coming one brings: who would then be
// paired with whom.
type lookout struct {
	m     *market
	later map[int]later // of both birds of each pair
}

// lookAhead fills in coming, season by season.
func (d *Decision) lookAhead(ctx context.Context) error {
	c, p := d.coming, d.p
	if c.known {
		return nil
	}
	c.young = nil
	paired := map[int]later{} // in the seasons so far
	held := map[int]bool{}    // young birds that no season so far finds without a hold
	last := 0                 // of the seasons in which one of them comes of age
	for _, b := range p.Book.Living {
		bird := &p.Book.Birds[b]
		first := p.Ages.Of(bird.Sex).First
		if age, known := ageOn(bird, p.BreedingDay()); known && age < first && age+p.Settings().MovesAhead >= first {
			last = max(last, int(math.Ceil(first-age)))
			held[b] = bird.Sex != studbook.Unsexed
			c.young = append(c.young, Young{Bird: b, From: bird.Location, To: bird.Location, When: p.seasonAtAge(bird, first), Mate: -1,
				SexUnknown: bird.Sex == studbook.Unsexed})
		}
	}
	for years := 1; years <= last; years++ {
		season := c.next
		if years > 1 || season == nil {
			var err error
			if season, err = d.lookout(ctx, years, paired); err != nil {
				return err
			}
		}
		maps.Copy(paired, season.later)
		for b := range held {
			held[b] = held[b] && season.m.number[b] < 0
		}
	}
	for k := range c.young {
		y := &c.young[k]
		if x, ok := paired[y.Bird]; ok {
			y.Mate, y.When = x.Mate, max(y.When, x.Begins)
			if x.Move != nil && x.Move.Bird == y.Bird {
				y.To = x.Move.To
			}
		}
		if m, sent := d.rulings.sent[y.Bird]; sent {
			y.To = m.To
		}
		if y.Leaves() {
			y.Timing = p.timing(y.Bird, y.From, y.To, y.When)
		}
		y.Anew = d.decidedAnew(y)
	}
	c.young = slices.DeleteFunc(c.young, func(y Young) bool { return held[y.Bird] })
	c.known = true
	return nil
}

// decidedAnew is Young.Anew.
func (d *Decision) decidedAnew(y *Young) studbook.Day {
	p := d.p
	anew := p.DecidedAnew()
	if _, sent := d.rulings.sent[y.Bird]; sent || y.SexUnknown || y.Mate < 0 {
		return 0
	}
	if last := y.Timing.Latest; y.Leaves() && last != 0 {
		if _, weeks := p.Border(y.From, y.To); AgreeBy(weeks, last) < anew {
			return 0
		}
	}
	return anew
}

// lookout assigns the birds that may breed in the season so many years after the
// coming one, and have no mate then, nor a later one of an earlier season, to each
// other: those that come of age by then, and those that are free now and that the
// decision gives no mate for the coming season.
func (d *Decision) lookout(ctx context.Context, years int, earlier map[int]later) (*lookout, error) {
	p := d.p
	m := d.coming.markets[years]
	if m == nil {
		var err error
		if m, err = newMarket(ctx, p, d.limit, float64(years)); err != nil {
			return nil, err
		}
		d.coming.markets[years] = m
	}
	start := d.Season.Start.Time()
	out := &lookout{m: m, later: map[int]later{}}
	then := &Decision{Options: d.Options, p: p, m: m, limit: d.limit, rulings: d.rulings}
	then.LeastGain = m.leastGain()
	taken := d.paired()
	free := pool{row: map[int]int{}, column: map[int]int{}}
	for _, side := range [2][]int{m.females, m.males} {
		for k, b := range side {
			bird := &p.Book.Birds[b]
			age, known := ageOn(bird, p.BreedingDay())
			comes := known && age < p.AgesOf(b).First
			if _, has := earlier[b]; !has && !taken[b] && (comes || d.m.number[b] >= 0) {
				free.add(b, k, bird.Sex)
			}
		}
	}
	answer, err := then.solve(ctx, free)
	if err != nil {
		return nil, err
	}
	for _, x := range answer.Pairs {
		female, male := m.females[free.females[x.Female]], m.males[free.males[x.Male]]
		pair := later{Begins: studbook.DayOf(start.Year()+years, start.Month(), start.Day())}
		switch from, to := p.Book.Birds[female].Location, p.Book.Birds[male].Location; x.Mover {
		case bonds.FemaleMoves:
			pair.Move = &PlannedMove{female, from, to}
		case bonds.MaleMoves:
			pair.Move = &PlannedMove{male, to, from}
		}
		pair.Mate = male
		out.later[female] = pair
		pair.Mate = female
		out.later[male] = pair
	}
	return out, nil
}

// paired returns the birds that have a mate for the coming season: in a bond that
// is kept, by what people agreed on, or as a new pair that is together in time.
func (d *Decision) paired() map[int]bool {
	out := map[int]bool{}
	for _, pair := range d.p.pairs() {
		for _, b := range pair {
			out[b] = !d.free.has(b)
		}
	}
	for _, pair := range d.fixedPairs() {
		out[pair[0]], out[pair[1]] = true, true
	}
	for _, x := range d.answer.Pairs {
		f, m := d.free.females[x.Female], d.free.males[x.Male]
		if d.m.begins(d.m.pair(f, m)) == 0 {
			out[d.m.females[f]], out[d.m.males[m]] = true, true
		}
	}
	return out
}

// assign pairs the free birds with each other. Two that cannot be together before the
// season after the coming one compete with the birds that come of age for that season, so
// their pair stands only if the look ahead at that season pairs them too. Otherwise they
// wait for the mates that the look ahead gives them, and no such pair of theirs is formed.
func (d *Decision) assign(ctx context.Context) (err error) {
	d.waits = map[int]bool{}
	for {
		if d.answer, err = d.solve(ctx, d.free); err != nil {
			return err
		}
		var late [][2]int
		for _, x := range d.answer.Pairs {
			if f, m := d.free.females[x.Female], d.free.males[x.Male]; d.m.begins(d.m.pair(f, m)) > 0 {
				late = append(late, [2]int{d.m.females[f], d.m.males[m]})
			}
		}
		if len(late) == 0 && len(d.waits) == 0 {
			return nil
		}
		if d.coming.next, err = d.lookout(ctx, 1, nil); err != nil {
			return err
		}
		stands := true
		for _, pair := range late {
			f, hers := d.coming.next.later[pair[0]]
			_, his := d.coming.next.later[pair[1]]
			if hers && f.Mate == pair[1] {
				continue
			}
			stands = false
			d.waits[pair[0]] = hers || !his
			d.waits[pair[1]] = his || !hers
		}
		if stands {
			return nil
		}
	}
}

// mayForm reports whether the decision may form a pair of the market: it is allowed,
// and neither of the two waits for a mate of the season that the pair would be for.
func (d *Decision) mayForm(f, m int) bool {
	return d.allowed(f, m) && !d.putsOff(f, m)
}

// putsOff reports whether a pair of the market is one that PutOff speaks of.
func (d *Decision) putsOff(f, m int) bool {
	return len(d.waits) > 0 && d.m.begins(d.m.pair(f, m)) > 0 && (d.waits[d.m.females[f]] || d.waits[d.m.males[m]])
}

// seasonAtAge returns the first day of the coming season or, of a bird that is younger then
// than so many years, of the first in which it is not.
func (p *Programme) seasonAtAge(bird *studbook.Bird, years float64) studbook.Day {
	day := p.season.Start
	for age, known := ageOn(bird, day); known && age < years; age, _ = ageOn(bird, day) {
		t := day.Time()
		day = studbook.DayOf(t.Year()+1, t.Month(), t.Day())
	}
	return day
}

// SexBy returns the day by which the sex of a bird should be known: before pairs form for
// the season for which it could breed or, moves.ahead years earlier, its place is chosen; 0
// where that has begun. first is the first day of the first season of one that is too young
// to breed, else 0.
func (p *Programme) SexBy(b int) (by, first studbook.Day) {
	bird, from := &p.Book.Birds[b], p.AgesOf(b).First
	by = p.BeforePairsForm()
	if chosen := p.seasonAtAge(bird, from-p.Settings().MovesAhead); chosen != p.season.Start {
		by = firstBefore(chosen, p.pairingSeason())
	}
	if day := p.seasonAtAge(bird, from); day != p.season.Start {
		first = day
	}
	return by, first
}

// rather returns which of two birds should move where both may: the one that
// somebody asks for, then the one that has moved less often, then the younger.
func (d *Decision) rather(female, male int) bonds.Ways {
	p := d.p
	asks := func(b, mate int) int {
		if d.rulings.asked[asked{p.Book.Birds[b].ID, p.Book.Birds[mate].Location}] {
			return 1
		}
		return 0
	}
	rather := 0
	if len(d.rulings.asked) > 0 {
		rather = cmp.Compare(asks(female, male), asks(male, female))
	}
	if rather == 0 {
		rather = cmp.Compare(p.moved[male], p.moved[female])
	}
	if ages := p.places().age; rather == 0 {
		rather = cmp.Compare(ages[male], ages[female])
	}
	if rather < 0 {
		return bonds.RatherMale
	}
	return 0
}

// mayTravel reports whether a bird may be moved before the coming season: no hold
// on moving lasts until then.
func (p *Programme) mayTravel(b int) bool {
	return !slices.ContainsFunc(p.Book.HoldsOn(p.Book.Birds[b].ID), func(h studbook.Hold) bool {
		return h.Blocks != studbook.BlocksBreeding && h.Ends() > p.BreedingDay()
	})
}
