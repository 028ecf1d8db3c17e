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

// step lives one year under a policy: a new founder may come, bonds are formed
// and chicks allowed, they hatch, and then each bird lives through the year or
// dies.
func (f *flock) step(p Policy) {
	f.arrive()
	f.open()
	p.choose(f)
	f.hatchAll()
	f.die()
	f.year++
}

// arrive adds a founder in the years in which one comes.
func (f *flock) arrive() {
	if every := f.rules.FounderEvery; every == 0 || (f.year+1)%every != 0 {
		return
	}
	place, most := 0, math.MinInt
	for k, room := range f.rules.Places {
		if room-f.held[k] > most {
			place, most = k, room-f.held[k]
		}
	}
	key := uint64(f.year+1)<<32 | 1<<31 // no chick of the year has so high a number
	slot := f.take()
	sex := f.drawSex(key)
	f.birds[slot] = bird{key: key, sex: sex, age: int(math.Ceil(f.rules.of(sex).First)), mate: -1, place: place}
	row := f.row(slot)
	for _, j := range f.living {
		row[j], f.kinship[j*f.stride+slot] = 0, 0
	}
	row[slot] = 0.5
	f.enter(slot)
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
	if first := (f.rules.Female.SurvivalAt(0) + f.rules.Male.SurvivalAt(0)) / 2; first > 0 {
		s.wanted = max(0, s.wanted/first)
	} else {
		s.wanted = 0
	}
}

// level returns the number of birds wanted in a year.
func (f *flock) level() float64 {
	return float64(demography.StepToward(len(f.living), f.rules.Birds, f.rules.Growing-f.year))
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
// not too inbred, and they live in one place or one of them finds room at the
// other's.
func (f *flock) mayBond(dam, sire int) bool {
	return f.of(dam, sire) < f.season.tooClose && f.meet(dam, sire) >= 0
}

// bondTakes returns the worth that a bond takes from its two birds: what they
// are worth free, less what they are worth bonded to each other.
func (f *flock) bondTakes(dam, sire int) float64 {
	female, male := f.rules.worth[Female], f.rules.worth[Male]
	if female == nil || male == nil {
		return 0
	}
	a, b := float64(f.birds[dam].age), float64(f.birds[sire].age)
	return female.Free(a) - female.Bonded(a, b) + male.Free(b) - male.Bonded(b, a)
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
	room := func(place int) int { return f.rules.Places[place] - f.held[place] }
	switch {
	case max(room(a), room(b)) <= 0:
		return -1
	case room(b) > room(a):
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
		if b := &f.birds[i]; b.place != place {
			f.held[b.place]--
			f.held[place]++
			b.place = place
			f.moves++
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

// hatchAll hatches the chicks allowed, each with its chance.
func (f *flock) hatchAll() {
	for n, p := range f.season.allowed {
		key := uint64(f.year+1)<<32 | uint64(n)
		if f.luck.of(drawChick, key, f.year) < p.chance {
			f.hatch(p.dam, p.sire, key, f.drawSex(key))
		}
	}
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
