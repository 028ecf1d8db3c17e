package forecast

import (
	"math"

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

// step lives one year under a policy: founders may come, bonds are formed and
// chicks allowed, they hatch, each bird lives through the year or dies, bonds may
// end, and birds move on from where there are too many.
func (f *flock) step(p Policy) {
	f.arrive()
	f.open()
	f.allowDecided()
	p.choose(f)
	f.hatchAll()
	f.die()
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

// open finds who may breed in the season and how many chicks are wanted: with
// p the survival of a bird of its age and p₀ that of a chick,
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
	s.tooClose = 1 - f.geneDiversity()*(1-f.rules.LimitInbreeding)
	for _, i := range f.living {
		b := &f.birds[i]
		s.limit[i] = f.rules.MostChicks
		s.wanted -= f.rules.of(b.sex).SurvivalAt(b.age)
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
	if first := (f.rules.Female.SurvivalAt(0) + f.rules.Male.SurvivalAt(0)) / 2; first > 0 {
		s.wanted = max(0, s.wanted/first)
	} else {
		s.wanted = 0
	}
}

// allowDecided gives the pairs whose broods of the first season are decided their
// chicks, and no policy gives them more.
func (f *flock) allowDecided() {
	if f.year > 0 {
		return
	}
	for _, b := range f.broods {
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
	birds := demography.StepToward(len(f.living), f.rules.Birds, f.rules.Growing-f.year)
	return float64(min(birds, f.rules.room))
}

// fit reports whether a bird is of breeding age.
func (f *flock) fit(i int) bool { return f.rules.of(f.birds[i].sex).Breeds(f.birds[i].age) }

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
			s.chicks = append(s.chicks, bird{key: key, sex: f.drawSex(key), mate: -1, place: f.birds[p.dam].place})
		}
	}
	f.hatch(s.fledging, s.chicks)
}

// die ends the year: every bird lives or dies by the survival of its age and
// what catastrophe there is, and the living are a year older. A bird whose mate
// died is free.
func (f *flock) die() {
	catastrophe := f.luck.of(drawCatastrophe, 0, f.year) < f.rules.CatastropheRate
	for _, i := range f.living {
		b := &f.birds[i]
		survival := f.survival[b.sex]
		lives := b.age < len(survival) && f.luck.of(drawSurvival, b.key, f.year) < survival[b.age]
		if lives && catastrophe {
			lives = f.luck.of(drawVictim, b.key, f.year) >= f.rules.CatastropheSeverity
		}
		if !lives {
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
		b := &f.birds[i]
		if b.age < 0 {
			continue
		}
		b.age++
		if b.mate >= 0 {
			b.bonded++
		}
		f.living[left] = i
		left++
	}
	f.living = f.living[:left]
}
