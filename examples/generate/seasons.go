package main

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"slices"
	"time"
)

// simulate plays the programme from its first bird to asOf.
func simulate(seed uint64) *programme {
	p := &programme{random: rand.New(rand.NewPCG(seed, 0x68617272))}
	for year := firstYear; year <= lastYear; year++ {
		p.winter(year)
		p.spring(year)
		p.season(year)
		p.arrivals(year)
	}
	p.widow(asOf)
	p.number()
	p.leaveDoubts()
	p.putOnHold()
	p.nameAll()
	p.remark()
	return p
}

// arrivalsIn are the wild birds that came in each year from firstYear on.
var arrivalsIn = []int{13, 8, 6, 4, 3, 3, 2, 2, 1, 2, 1, 1}

// founderVigour is as unequal as the success of real founders; it is dealt out
// in turn.
var founderVigour = []int{125, 105, 0, 130, 70, 115, 40, 100, 130, 20, 90, 110, 60}

// arrivals brings in the wild birds of a year: fledglings picked up below the
// cliffs, and adults that were hurt. Two captive birds of unknown descent come
// later from private aviaries.
func (p *programme) arrivals(year int) {
	if i := year - firstYear; i < len(arrivalsIn) {
		for n := range arrivalsIn[i] {
			p.founder(year, n)
		}
	}
	switch year {
	case 1996:
		last := p.birds[len(p.birds)-arrivalsIn[year-firstYear]:]
		a, b := last[0], last[1]
		p.kinship[b.row][a.row] = 0.125
		a.vigour, b.vigour = 110, 110
		a.death, b.death = max(a.death, a.hatch+years(17)), max(b.death, b.hatch+years(15))
		p.halfSibs = [2]*bird{a, b}
	case 2013:
		p.rescued(year, 'M', date(2009, time.July, 2), "2009~", placeOf("HOK"),
			"confiscated from a private aviary; parents not known")
	case 2021:
		p.rescued(year, 'F', date(2014, time.December, 31), "201X", placeOf("VAL"),
			"handed in without a band, an adult then; parents not known")
	}
}

// founder brings in the nth wild bird of a year, counted from 0.
func (p *programme) founder(year, n int) {
	b := &bird{
		sex: 'F', origin: "wild", sireText: "wild", damText: "wild",
		vigour: founderVigour[len(p.birds)%len(founderVigour)],
	}
	if p.chance(500) {
		b.sex = 'M'
	}
	if year <= firstYear+2 {
		b.sex = "FM"[n%2] // both were sought for the first pairs
	}
	b.entered = p.between(date(year, time.July, 20), date(year, time.September, 20))
	p.age(b, year, n)
	b.death = p.lastDay(b.hatch, b.entered, 0)
	if p.chance(800) { // those that settle do well
		b.death = max(b.death, b.entered+p.between(years(6), years(14)))
	}
	switch {
	case year == 1992 && n == 3: // the oldest bird on record
		b.hatch, b.hatchText = date(1990, time.July, 2), "1990~"
		b.death = b.hatch + years(oldest) - 40
	case year == 1999, year == 2001: // nearly lost, whatever the keepers try
		b.poor, b.vigour = true, 22
		b.death = max(b.death, b.hatch+years(21))
		b.notes = "rarely lays"
		if b.sex == 'M' {
			b.notes = "few fertile eggs"
		}
	case year == 2000 && n == 0, year == 2002: // alive to this day
		b.death = asOf + 250
		b.vigour = 100
	}
	to := home
	if year < 2002 {
		to = p.wanting(b.sex, b.entered, year)
	}
	b.stays = []stay{{to, b.entered, "arrived from the wild"}}
	p.add(b)
}

// age sets when a wild bird hatched, and how well that is known: fledglings to
// the month, adults to some years. The day is the middle of what the file says.
func (p *programme) age(b *bird, year, n int) {
	switch older := 2 + p.random.IntN(4); {
	case year <= 1992 && n < 2:
		b.hatch, b.hatchText = date(1984, time.December, 31), "198X"
		b.notes = "adult when found"
	case year == 2000 && n == 0:
		b.hatch, b.hatchText = date(1998, time.July, 2), "1998~"
		b.notes = "found in fishing line; one toe missing"
	case year <= 1998 && n == 2:
		b.hatch = date(year-older, time.January, 1)
		b.hatchText = fmt.Sprintf("[%d..%d]", year-older-1, year-older)
		b.notes = "adult when found"
	case year < 2000 && n > 2 && p.chance(650):
		b.hatch = date(year-older, time.July, 2)
		b.hatchText = fmt.Sprintf("%d~", year-older)
	default:
		month := time.May + time.Month(p.random.IntN(2))
		b.hatch = date(year, month, 16)
		b.hatchText = fmt.Sprintf("%d-%02d", year, month)
		b.notes = [...]string{
			"fledgling found below the cliffs", "fledgling found below the cliffs", "picked up as a fledgling in a storm",
			"from a nest that fell; hand-reared", "fledgling with a broken wing",
		}[p.random.IntN(5)]
	}
}

// rescued takes in a captive bird of unknown parents.
func (p *programme) rescued(year int, sex byte, hatch day, text string, to place, notes string) {
	b := &bird{
		sex: sex, origin: "captive", sireText: "unknown", damText: "unknown",
		hatch: hatch, hatchText: text, notes: notes, vigour: 120,
		entered: p.between(date(year, time.October, 10), date(year, time.November, 20)),
		death:   asOf + 900,
	}
	b.stays = []stay{{to, b.entered, "taken in from private hands"}}
	p.add(b)
}

// wanting returns the open institution with the fewest free birds of the sex
// for those of the other, of two drawn at random.
func (p *programme) wanting(sex byte, d day, year int) place {
	surplus := make([]int, len(institutions))
	for _, b := range p.alive(d) {
		switch {
		case b.bond != nil:
		case b.sex == sex:
			surplus[b.place()]++
		default:
			surplus[b.place()]--
		}
	}
	a, b := p.member(year), p.member(year)
	if surplus[b] < surplus[a] {
		return b
	}
	return a
}

// member returns an institution that is open in the year.
func (p *programme) member(year int) place {
	for {
		if i := place(p.random.IntN(len(institutions))); institutions[i].opens <= year {
			return i
		}
	}
}

// yearly is the chance in permille of living through the year from each age.
var yearly = [oldest + 1]int{
	1: 890, 2: 925, 935, 940, 940, 940, 940, 935, 935, 930, 930, 925, 925, 920, 915,
	915, 905, 890, 875, 855, 830, 800, 765, 730, 690, 640, 580, 480,
}

// lastDay draws a bird's day of death, given that it lives on day from. The
// later chicks of a brood, counted from 0, do worse.
func (p *programme) lastDay(hatch, from day, inBrood int) day {
	if from == hatch {
		switch inNest := 115 + 60*inBrood; {
		case p.chance(inNest):
			return hatch + 1 + day(p.random.IntN(20)+p.random.IntN(fledgingAge-22))
		case p.chance(130):
			return p.between(hatch+fledgingAge+3, hatch+364)
		}
	}
	age := max(1, int(from-hatch)/365)
	for ; age < oldest; age++ {
		if !p.chance(yearly[age]) {
			first := max(hatch+years(age), from+5)
			return p.between(first, max(first, hatch+years(age+1)-1))
		}
	}
	return hatch + years(oldest) - 1
}

// widow ends the bonds that a death on or before the day has ended.
func (p *programme) widow(d day) {
	for _, b := range p.open() {
		if w := b.widowed(); w <= d {
			b.end(w, "death")
		}
	}
}

// winter is the time of moves, October to early February: bonds may part, free
// birds go where they are wanted.
func (p *programme) winter(year int) {
	start := date(year-1, time.October, 1)
	p.widow(start)
	for _, b := range p.open() {
		parts := 12
		if b.failed >= 3 {
			parts = 90
		}
		if d := p.between(start+5, start+80); p.chance(parts) && !b.barren && b.female.aliveOn(d) && b.male.aliveOn(d) {
			b.end(d, "parted")
		} else if year >= 2006 && year < lastYear && !b.barren && p.chance(7) {
			p.regroup(b, year, start)
		}
	}
	for i, x := range institutions {
		if x.opens == year && year > firstYear {
			p.settle(place(i), start)
		}
	}
	if year == lastYear {
		p.stage(start)
	}
	p.spread(start, year)
}

// regroup moves one bird of a bond away to another mate.
func (p *programme) regroup(b *bond, year int, start day) {
	d, to, mover := p.moveDay(start), p.member(year), b.female
	if p.chance(500) {
		mover = b.male
	}
	if to == mover.place() || !b.female.aliveOn(d) || !b.male.aliveOn(d) || mover.aged(d, 16) {
		return
	}
	b.end(d, "moved")
	mover.move(to, d, "advised by the coordinator")
}

// moveDay returns a day of the winter that begins on start.
func (p *programme) moveDay(start day) day { return p.between(start+8, start+125) }

// settle brings the first birds to a new member.
func (p *programme) settle(to place, start day) {
	wanted := map[byte]int{'F': 3, 'M': 3}
	d := p.moveDay(start)
	for _, b := range p.shuffled(p.alive(d)) {
		if b.bond == nil && b.place() != to && wanted[b.sex] > 0 && b.aged(d, 1) && !b.aged(d, 9) && b.settled(start) {
			wanted[b.sex]--
			b.move(to, d, "first birds of a new colony")
		}
	}
}

// shuffled puts the birds in a random order, in place.
func (p *programme) shuffled(birds []*bird) []*bird {
	p.random.Shuffle(len(birds), func(i, j int) { birds[i], birds[j] = birds[j], birds[i] })
	return birds
}

// census counts the birds of each place, and those of two years and more
// without a mate by sex.
type census struct {
	crowd []int
	free  map[byte][]int
}

func newCensus(living []*bird, d day) census {
	c := census{make([]int, len(institutions)), map[byte][]int{}}
	for _, sex := range []byte("FMU") {
		c.free[sex] = make([]int, len(institutions))
	}
	for _, b := range living {
		c.count(b, b.place(), 1, d)
	}
	return c
}

// count adds the bird n times at a place.
func (c census) count(b *bird, at place, n int, d day) {
	c.crowd[at] += n
	if b.bond == nil && b.aged(d, 2) {
		c.free[b.sex][at] += n
	}
}

// want says how much a place wants another bird of the sex: for the mates that
// it lacks, for the room it has, and at home for the ledges built in 2012.
func (c census) want(at place, sex byte, year int) int {
	other := byte('F' + 'M' - sex)
	want := 3*(c.free[other][at]-c.free[sex][at]) + institutions[at].room - c.crowd[at]
	if at == home && year >= 2012 {
		want += 4
	}
	return want
}

// spread moves free birds from where their sex is in surplus, or room is short,
// to where it is wanted. In the last winter stage has seen to the home colony.
func (p *programme) spread(start day, year int) {
	living := p.alive(start)
	c := newCensus(living, start)
	left := 4 + len(living)/35
	for _, b := range p.shuffled(living) {
		d := p.moveDay(start)
		from := b.place()
		stays := b.sex == 'U' || b.origin == "wild" && year > 2003 || b.bond != nil || b.reserved ||
			!b.aged(start, 1) || b.aged(start, 14) || !b.aliveOn(d) || !b.settled(start) || year == lastYear && from == home
		if left == 0 || stays {
			continue
		}
		to := place(-1)
		for i, x := range institutions {
			i := place(i)
			if x.opens > year || i == from || year == lastYear && i == home {
				continue
			}
			if to < 0 || c.want(i, b.sex, year) > c.want(to, b.sex, year) {
				to = i
			}
		}
		if to < 0 || c.want(to, b.sex, year)-c.want(from, b.sex, year) < 8 || p.chance(250) {
			continue
		}
		c.count(b, from, -1, start)
		c.count(b, to, 1, start)
		b.move(to, d, [...]string{"to find a mate", "to make room", "advised by the coordinator"}[p.random.IntN(3)])
		left--
	}
}

// spring bonds the free adults of each place.
func (p *programme) spring(year int) {
	start := date(year, time.February, 15)
	p.widow(start)
	mean := p.meanKinship(start)
	for i := range institutions {
		females, males := p.seeking(place(i), 'F', year), p.seeking(place(i), 'M', year)
		bonds := 0
		for _, b := range p.open() {
			if b.female.place() == place(i) {
				bonds++
			}
		}
		for _, f := range females {
			if place(i) == home && bonds >= homeBonds {
				break
			}
			if m := p.choose(f, males, mean, year); m != nil {
				males = slices.DeleteFunc(males, func(x *bird) bool { return x == m })
				p.pair(f, m, start)
				bonds++
			}
		}
	}
	p.chooseBarren(year)
}

// seeking returns the free birds of a sex at a place that look for a mate.
func (p *programme) seeking(at place, sex byte, year int) []*bird {
	laying := date(year, time.April, 20)
	var birds []*bird
	for _, b := range p.alive(laying) {
		if b.sex != sex || b.bond != nil || b.reserved || b.place() != at || !b.aged(laying, 3) || b.aged(laying, 23) {
			continue
		}
		seeks := 960
		if !b.aged(laying, 4) {
			seeks = 350
		} else if !b.aged(laying, 5) {
			seeks = 800
		}
		if p.chance(seeks) {
			birds = append(birds, b)
		}
	}
	return p.shuffled(birds)
}

// choose returns a mate for the female, nil if none will do. Until 2004 birds
// chose for themselves and only the nearest kin were kept apart; later the
// coordinator matched rare lines with rare lines.
func (p *programme) choose(f *bird, males []*bird, mean []float64, year int) *bird {
	limit := 0.2
	if year >= guidedFrom {
		limit = 0.07
	}
	if p.chance(60) {
		limit *= 2
	}
	var best *bird
	bestScore := 0.0
	for _, m := range males {
		k := p.kin(f, m)
		if k >= limit || p.chance(60) {
			continue
		}
		score := 0.0
		if year >= guidedFrom {
			// The conversions keep a machine from fusing the two
			// operations, which would round differently.
			score = float64(2*k) + float64(max(mean[f.row]-mean[m.row], mean[m.row]-mean[f.row]))
		}
		if best == nil || score < bestScore {
			best, bestScore = m, score
		}
	}
	return best
}

// pair bonds two birds in the weeks from start on, once both are out of
// quarantine.
func (p *programme) pair(f, m *bird, start day) {
	d := p.between(start, start+45)
	for _, b := range []*bird{f, m} {
		if last := b.stays[len(b.stays)-1]; last.reason != "" {
			d = max(d, last.since+33)
		}
	}
	if !f.aliveOn(d) || !m.aliveOn(d) {
		return
	}
	b := &bond{female: f, male: m, since: d}
	if f.place() == home {
		b.nest = p.freeNest(m)
		f.nest, m.nest = b.nest, b.nest
	}
	f.bond, m.bond = b, b
	p.bonds = append(p.bonds, b)
}

// nestsOn has the number of nests on each ledge at home.
var nestsOn = [...]int{7, 6, 5}

// freeNest returns a nest of the home ledges: the one the male had before if
// it is free.
func (p *programme) freeNest(m *bird) string {
	taken := map[string]bool{}
	for _, b := range p.open() {
		taken[b.nest] = true
	}
	if m.nest != "" && !taken[m.nest] {
		return m.nest
	}
	var nests []string
	for ledge, n := range nestsOn {
		for i := range n {
			if s := fmt.Sprintf("ledge %d nest %d", ledge+1, i+1); !taken[s] {
				nests = append(nests, s)
			}
		}
	}
	return nests[p.random.IntN(len(nests))]
}

// chicksWanted is how many chicks the programme lets hatch in a year: all in the
// first years, then what its places can take.
func (p *programme) chicksWanted(year int) int {
	switch {
	case year < 2000:
		return 24
	case year < plentyFrom:
		return 24 + 2*(year-2000)
	}
	return min(38+(year-plentyFrom)/3, 43) + p.random.IntN(9)
}

// sitting is a clutch that a bond will lay in the season.
type sitting struct {
	bond  *bond
	laid  day
	order float64 // pairs with the lowest hatch their chicks first
}

// season lays the clutches of a year and hatches chicks until the programme
// has as many as it wants; the eggs of the other pairs are replaced.
func (p *programme) season(year int) {
	sittings := p.sittings(year)
	slices.SortFunc(sittings, func(a, b sitting) int { return cmp.Compare(a.order, b.order) })
	left, leftHome := p.chicksWanted(year), 3
	for _, s := range sittings {
		atHome := s.bond.female.place() == home && year >= plentyFrom
		c := p.sit(s.bond, s.laid, !s.bond.barren && (left <= 0 || atHome && leftHome <= 0))
		left -= c.hatched
		if atHome {
			leftHome -= c.hatched
		}
		if c.replaced {
			continue
		}
		again := 180
		if year < plentyFrom {
			again = 700
		}
		if c.hatched == 0 && c.laid < date(year, time.May, 18) && p.chance(again) {
			second := p.sit(s.bond, c.laid+28+day(p.random.IntN(12)), false)
			left -= second.hatched
			c.hatched += second.hatched
		}
		s.bond.failed++
		if c.hatched > 0 {
			s.bond.failed = 0
		}
	}
	if year == 1998 {
		p.lentSire(year)
	}
}

// sittings returns the clutches of the bonds that lay in the year. From
// guidedFrom on the pairs of rare lines come first, with some luck in it.
func (p *programme) sittings(year int) []sitting {
	mean := p.meanKinship(date(year, time.March, 31))
	var sittings []sitting
	for _, b := range p.open() {
		laid := date(year, time.April, 4) + day(p.random.IntN(26)+p.random.IntN(26))
		s := sitting{b, laid, p.random.Float64()}
		switch {
		case b.barren:
			s.order = -1
		case year >= guidedFrom:
			s.order += float64(20 * (mean[b.female.row] + mean[b.male.row]))
		}
		if p.lays(b, laid) {
			sittings = append(sittings, s)
		}
	}
	return sittings
}

// lays draws whether a bond lays on the day.
func (p *programme) lays(b *bond, laid day) bool {
	year := laid.time().Year()
	permille := 720
	switch {
	case b.barren:
		permille = 960
	case b.female.aged(laid, 22) || b.male.aged(laid, 25):
		permille = 40
	case b.female.aged(laid, 18) || b.since > date(year, time.January, 1) && year >= 1996:
		permille = 480
	case year < plentyFrom:
		permille = 920
	}
	lays := p.chance(permille)
	if laid < b.since+14 || !b.female.aged(laid, 3) || !b.male.aged(laid, 3) || b.widowed() <= laid+2 {
		return false
	}
	if year >= clutchesOf && !b.female.aged(laid, lastFemale+1) && !b.male.aged(laid, lastMale+1) {
		p.bondSeasons++
		if lays {
			p.laid++
		}
	}
	return lays
}

// sit lays one clutch and hatches it, unless the eggs are replaced by dummies.
func (p *programme) sit(b *bond, laid day, replaced bool) clutch {
	c := clutch{bond: b, laid: laid, eggs: 2, replaced: replaced}
	switch n := p.random.IntN(100); {
	case n < 28:
		c.eggs = 1
	case n >= 85:
		c.eggs = 3
	}
	if b.widowed() <= laid+2 { // before a second clutch
		return clutch{}
	}
	hatch := laid + incubation + day(p.random.IntN(3))
	orphaned := b.widowed() <= hatch+3
	for range c.eggs {
		if replaced || b.barren {
			break
		}
		if !p.chance(950 * b.female.vigour / 100 * b.male.vigour / 100) {
			continue
		}
		c.fertile++
		if orphaned || !p.chance(800) {
			continue
		}
		chick := p.hatch(b.male, b.female, hatch, c.hatched)
		c.hatched++
		if chick.death > hatch+fledgingAge {
			c.fledged++
		}
		hatch = min(hatch+day(p.random.IntN(2)), laid+28)
	}
	p.clutches = append(p.clutches, c)
	return c
}

// hatch enters a chick that hatches on the day, inBrood the number of its
// siblings that hatched before it. A chick that dies young is not sexed.
func (p *programme) hatch(sire, dam *bird, d day, inBrood int) *bird {
	b := &bird{
		sex: 'F', origin: "captive", sire: sire, dam: dam, hatch: d, entered: d,
		stays: []stay{{dam.place(), d, ""}}, vigour: 60 + p.random.IntN(65),
	}
	if dam.poor || sire != nil && sire.poor {
		b.poor, b.vigour = true, 30
	}
	if p.chance(500) {
		b.sex = 'M'
	}
	b.death = p.lastDay(d, d, inBrood)
	age := min(b.death, asOf) - d
	if age < 60 && p.chance(750) || age < 200 && p.chance(350) {
		b.sex = 'U'
	}
	if age >= 25 && d < date(2006, time.January, 1) && p.chance(60) {
		b.hatchText = d.time().Format("2006-01")
		b.hatch = date(d.time().Year(), d.time().Month(), 16)
	}
	return p.add(b)
}
