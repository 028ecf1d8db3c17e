package forecast

import (
	"math"
	"slices"

	"pairwright/pedigree/demography"
)

// season is what is decided for one season.
type season struct {
	wanted   float64 // chicks that would hold the level
	counted  float64 // chicks to be expected of those allowed so far
	tooClose float64 // the F of a chick from which on no pair is formed
	allowed  []brood // chicks allowed, one each, in the order they were given
	limit    []int   // by slot of the dam: chicks still to be given
	fledging []brood // pairs of the chicks that hatch
	chicks   []bird  // that hatch
	hatched  []int   // their slots

	// Fit birds: pairs that may hatch chicks this season, and free birds.
	pairs          []brood
	females, males []int
}

// brood is a chick that a pair may hatch, or the pair.
type brood struct {
	dam, sire int
	chance    float64 // of one chick
	bonded    bool    // before this season's pairs were formed
}

// step lives one year under a policy: birds die before the season, founders may come,
// bonds are formed and chicks allowed, they hatch, each bird lives through the rest of
// the year or dies, bonds may end, and birds move on from where there are too many.
func (f *flock) step(p Policy) {
	f.began = len(f.living)
	if f.rules.Wait > 0 {
		f.die(func(l lives) float64 { return l.season })
	}
	f.arrive()
	f.open()
	f.allowDecided()
	p.choose(f)
	f.hatchAll()
	f.catastrophe()
	f.die(func(l lives) float64 { return l.end })
	f.birthday()
	f.part()
	f.spread()
	f.year++
}

// arrive adds the founders that come in the year.
func (f *flock) arrive() {
	key := uint64(f.year+1)<<32 | 1<<31 // no chick of the year has so high a number
	if every := f.rules.FounderEvery; every > 0 && (f.year+1)%every == 0 {
		for range max(1, f.rules.FoundersAtOnce) {
			f.found(Arrival{Place: -1}, key)
			key++
		}
	}
	key |= 1 << 30 // however many came
	for _, a := range f.rules.Arrivals {
		if key++; a.Year == f.year+1 {
			f.found(a, key)
		}
	}
}

// found adds a founder.
func (f *flock) found(a Arrival, key uint64) {
	if a.Place < 0 {
		a.Place = max(0, f.roomiest())
	}
	if a.Sex == Unsexed {
		a.Sex = f.drawSex(key)
	}
	slot := f.take()
	f.birds[slot] = bird{key: key, sex: a.Sex, age: int(math.Ceil(f.rules.of(a.Sex).First)), mate: -1, place: a.Place}
	f.genes[slot] = alleles{} // of which none was there at the start
	row := f.row(slot)
	for _, j := range f.living {
		row[j], f.kinship[j*f.stride+slot] = 0, 0
	}
	row[slot] = 0.5
	f.enter(slot)
	f.costs.founders++
}

// roomiest returns the place with most room, -1 where places have no limit.
func (f *flock) roomiest() int {
	place := -1
	for k := range f.rules.Places {
		if place < 0 || f.room(k) > f.room(place) {
			place = k
		}
	}
	return place
}

// room returns how many birds more a place may hold, below 0 where it has too
// many.
func (f *flock) room(place int) int { return f.rules.Places[place] - f.held[place] }

// spread moves birds on from places that hold too many to where there is most
// room, the youngest free birds first, as long as there is any.
func (f *flock) spread() {
	for place := range f.rules.Places {
		if f.room(place) >= 0 {
			continue
		}
		for k := len(f.living) - 1; k >= 0 && f.room(place) < 0; k-- {
			i := f.living[k]
			if f.birds[i].place != place || f.birds[i].mate >= 0 {
				continue
			}
			to := f.roomiest()
			if f.room(to) <= 0 {
				return
			}
			f.move(i, to)
		}
	}
}

// move moves a bird to another place.
func (f *flock) move(i, place int) {
	b := &f.birds[i]
	f.held[b.place]--
	f.held[place]++
	b.place = place
	f.costs.moves++
}

// part ends the bonds that end while both birds live.
func (f *flock) part() {
	if f.parting == 0 {
		return
	}
	for _, i := range f.living {
		b := &f.birds[i]
		if b.mate < 0 || b.sex != Female || f.luck.of(drawParting, b.key, f.year) >= f.parting {
			continue
		}
		mate := &f.birds[b.mate]
		b.former, mate.former = mate.key+1, b.key+1
		b.mate, b.bonded, mate.mate, mate.bonded = -1, 0, -1, 0
		f.costs.partings++
	}
}

// livesOn returns the chance of a bird that is there in the season to live to the end of
// the year.
func (g *ground) livesOn(b *bird) float64 {
	if of := g.lives[b.sex]; b.age < len(of) && of[b.age].season > 0 {
		return of[b.age].end / of[b.age].season
	}
	return 0
}

// open finds who may breed in the season and how many chicks are wanted: with
// p the chance of a bird of its age to live to the end of the year and p₀ that of a chick,
//
//	wanted = (level - Σ p) / p₀
//
// p₀ the mean of both sexes.
func (f *flock) open() {
	s := &f.season
	s.allowed, s.pairs, s.females, s.males = s.allowed[:0], s.pairs[:0], s.females[:0], s.males[:0]
	for len(s.limit) < f.stride {
		s.limit = append(s.limit, 0)
	}
	s.counted, s.wanted = 0, f.level()
	s.tooClose = f.raised(f.rules.LimitInbreeding)
	for _, i := range f.living {
		b := &f.birds[i]
		s.limit[i] = f.rules.MostChicks
		s.wanted -= f.rules.livesOn(b)
		fit := f.fit(i)
		switch {
		case b.mate >= 0:
			if b.sex == Female && fit && f.fit(b.mate) {
				s.pairs = append(s.pairs, brood{i, b.mate, f.chance(i, b.mate), true})
			}
		case !fit:
		case b.sex == Female:
			s.females = append(s.females, i)
		default:
			s.males = append(s.males, i)
		}
	}
	if f.rules.Chicks > 0 {
		s.wanted = float64(f.rules.Chicks)
		return
	}
	if first := (f.rules.livesOn(&bird{sex: Female}) + f.rules.livesOn(&bird{sex: Male})) / 2; first > 0 {
		s.wanted = max(0, s.wanted/first)
	} else {
		s.wanted = 0 // no chick would live
	}
}

// raised returns a limit of F with what all birds have come to share since the start.
func (f *flock) raised(limit float64) float64 {
	if f.diversity == 0 {
		return limit
	}
	return max(limit, 1-f.geneDiversity()/f.diversity*(1-limit))
}

// allowDecided gives the pairs whose broods of the first season are decided their
// chicks, and no policy gives them more.
func (f *flock) allowDecided() {
	if f.year > 0 {
		return
	}
	for _, b := range f.broods {
		if f.birds[b.Female].mate != b.Male || f.birds[b.Male].mate != b.Female {
			continue // one has died
		}
		if f.fit(b.Female) && f.fit(b.Male) {
			for range b.Chicks {
				f.allow(brood{b.Female, b.Male, f.chance(b.Female, b.Male), true})
			}
		}
		f.season.limit[b.Female] = 0
	}
}

// level returns the number of birds wanted in a year, for which there is room.
func (f *flock) level() float64 {
	birds := min(f.began, MostBirds)
	if !f.rules.Drifts {
		birds = demography.StepToward(f.began, f.rules.Birds, f.rules.Growing-f.year)
	}
	return float64(min(birds, f.rules.room))
}

// fit reports whether a bird is of breeding age.
func (f *flock) fit(i int) bool { return f.rules.of(f.birds[i].sex).Breeds(f.birds[i].years()) }

// chance returns the chance of one chick allowed to a pair this season.
func (f *flock) chance(dam, sire int) float64 {
	c := f.rules.Chance
	if f.birds[dam].bonded == 0 {
		c *= f.rules.FirstSeason
	}
	if k := f.of(dam, sire); k > 0 {
		c *= math.Exp(-f.rules.LethalEquivalents * k)
	}
	return c
}

// enough reports whether another chick would be nearer to too many than to the
// number wanted.
func (f *flock) enough(chance float64) bool {
	return f.season.counted+chance/2 >= f.season.wanted
}

// mayBond reports whether two free birds may become a pair: their chicks are
// not too inbred, and they can live together.
func (f *flock) mayBond(dam, sire int) bool {
	return f.of(dam, sire) < f.season.tooClose && f.mayMeet(dam, sire)
}

// mayMeet reports whether two free birds can live together: in one place, or one
// of them finds room at the other's; and they did not part from each other.
func (f *flock) mayMeet(dam, sire int) bool {
	return f.birds[dam].former != f.birds[sire].key+1 && f.meet(dam, sire) >= 0
}

// leaveOut takes the pairs out that have become too close kin to be planned on: those of
// the start, which nobody chose.
func (f *flock) leaveOut() {
	f.season.pairs = slices.DeleteFunc(f.season.pairs, func(p brood) bool { return f.of(p.dam, p.sire) >= f.season.tooClose })
}

// worth returns the worth of a bird to the future, 1 where no chick can expect
// to breed.
func (f *flock) worth(i int) float64 {
	b := &f.birds[i]
	w := f.rules.worth[b.sex]
	switch {
	case w == nil:
		return 1
	case b.mate >= 0:
		return w.Bonded(float64(b.age), float64(f.birds[b.mate].age))
	}
	return w.Free(float64(b.age))
}

// meet returns the place at which two birds would live together, the one with
// more room if they live apart; -1 if neither has any.
func (f *flock) meet(dam, sire int) int {
	a, b := f.birds[dam].place, f.birds[sire].place
	if a == b {
		return a
	}
	switch {
	case max(f.room(a), f.room(b)) <= 0:
		return -1
	case f.room(b) > f.room(a):
		return b
	}
	return a
}

// bond makes two free birds a pair where they meet.
func (f *flock) bond(dam, sire int) { f.bondAt(dam, sire, f.meet(dam, sire)) }

// bondAt makes two free birds a pair at a place, to which those move that live
// elsewhere.
func (f *flock) bondAt(dam, sire, place int) {
	for _, i := range [2]int{dam, sire} {
		if f.birds[i].place != place {
			f.move(i, place)
		}
	}
	f.birds[dam].mate, f.birds[sire].mate = sire, dam
}

// allow lets a pair hatch one chick more.
func (f *flock) allow(p brood) {
	f.season.allowed = append(f.season.allowed, p)
	f.season.counted += p.chance
	f.season.limit[p.dam]--
}

// hatchAll hatches the chicks allowed, each with its chance, at the dam's place.
func (f *flock) hatchAll() {
	s := &f.season
	s.fledging, s.chicks = s.fledging[:0], s.chicks[:0]
	for n, p := range s.allowed {
		key := uint64(f.year+1)<<32 | uint64(n)
		if f.luck.of(drawChick, key, f.year) < p.chance*f.hatching {
			s.fledging = append(s.fledging, p)
			s.chicks = append(s.chicks, bird{key: key, sex: f.drawSex(key), late: one(f.rules.HatchLate), mate: -1, place: f.birds[p.dam].place})
		}
	}
	f.hatch(s.fledging, s.chicks)
}

// catastrophe marks the birds that one takes this year, if there is one.
func (f *flock) catastrophe() {
	if f.luck.of(drawCatastrophe, 0, f.year) >= f.rules.CatastropheRate {
		return
	}
	for _, i := range f.living {
		b := &f.birds[i]
		b.victim = f.luck.of(drawVictim, b.key, f.year) < f.rules.CatastropheSeverity
	}
}

// die buries the birds that do not live to a point of the year, by the survival of their
// age, and those that a catastrophe takes. A bird whose mate died is free.
func (f *flock) die(to func(l lives) float64) {
	for _, i := range f.living {
		b := &f.birds[i]
		of := f.lives[b.sex]
		if b.victim || b.age >= len(of) || f.luck.of(drawSurvival, b.key, f.year) >= to(of[b.age]) {
			b.age = -1
		}
	}
	left := 0
	for _, i := range f.living {
		if f.birds[i].age < 0 {
			f.bury(i)
		}
	}
	for _, i := range f.living {
		if f.birds[i].age >= 0 {
			f.living[left] = i
			left++
		}
	}
	f.living = f.living[:left]
}

// birthday makes all birds a year older, and their bonds.
func (f *flock) birthday() {
	for _, i := range f.living {
		b := &f.birds[i]
		b.age++
		if b.mate >= 0 {
			b.bonded++
		}
	}
}
