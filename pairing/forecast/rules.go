package forecast

import (
	"errors"
	"fmt"
	"math"

	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook"
)

// Sex of a bird. That of a bird of unknown sex is drawn in each run.
type Sex byte

// The sexes.
const (
	Unsexed Sex = iota
	Female
	Male
)

// Bird is a living bird at the start of a run.
type Bird struct {
	Sex     Sex
	Age     int  // whole years in the coming season
	Late    bool // it is nearer to a year more, and lives or dies as birds of that age do
	Mate    int  // 1 + the index of the bird it is bonded to; 0 if it is free
	Settled bool // the bond has had a season together
	Place   int  // index in Rules.Places
	// Absent birds are not there: they keep their number, so that a start with
	// them and one without are compared on the same luck.
	Absent bool
}

// Brood is how many chicks a bonded pair of birds of the start may hatch.
type Brood struct{ Female, Male, Chicks int }

// Start is what a run starts from.
type Start struct {
	Birds []Bird
	// Kinship of every two birds, row by row, (1+F)/2 on the diagonal; nil for
	// birds that are not related and not inbred.
	Kinship []float64
	// Broods are decided for the first season: these pairs of the start may hatch so
	// many chicks, no more and no fewer, whatever the policy.
	Broods []Brood
	// Descent is where the birds come from; nil where each has genes of its own.
	Descent *Descent
}

// Evidence is what the survival of a sex rests on: the birds at risk in their
// first year and the deaths after it. Each run draws the survival that holds in
// it from what so few birds leave open, with z standard normal,
//
//	logit p₀ + z/√(n p₀(1-p₀)),    q(a) → 1 - (1-q(a))^exp(z/√d)
//
// for n birds at risk and d deaths (large-sample errors of a logit and of the
// logarithm of a rate). The policies do not know it: they go by what is on
// record. What rests on 0 is taken to be certain.
type Evidence struct{ AtRisk, Deaths float64 }

// Rules are what holds in every run. Chances and F are fractions in 0..1.
type Rules struct {
	Female, Male                 demography.Prospect
	FemaleEvidence, MaleEvidence Evidence

	// Birds is the number of living birds wanted after so many years of Growing,
	// of which each aims at its step toward it (demography.StepToward), and
	// from then on.
	Birds, Growing int
	// Drifts says that each year wants the number it began with instead, as the plan of
	// a programme without a goal does (pairing.Programme.Need), so that what chance does to
	// the numbers adds up over the years. Birds is then the number of the start.
	Drifts bool
	// Chicks is the number of chicks wanted each year, whatever the number of
	// birds; 0 where Birds says it.
	Chicks int
	// Places is the most birds at each place; nil for one place without a
	// limit. No more birds are wanted than there is room for, a bird moves only
	// to a place that has room, and of the free birds that are too many at a
	// place the youngest move on where there is most.
	Places []int

	MostChicks int     // most chicks that one pair may hatch in a season
	Chance     float64 // of each chick allowed to a settled pair to hatch, if not inbred
	// ChanceEvidence is the number of clutches that Chance rests on: each run
	// draws its own as the survival of the first year (see Evidence); 0 where
	// it is taken to be certain.
	ChanceEvidence float64
	FirstSeason    float64 // the share of Chance that a bond has in its first season
	// Parting is the chance that a bond ends in a year that both birds live
	// through, by no plan of anybody's; PartingEvidence the bonds that ended so,
	// from which each run draws its own rate as the survival after the first
	// year, 0 where it is taken to be certain.
	Parting, PartingEvidence float64
	// Wait is the part of a year from the day of the start to the season, 0 to 1: a year
	// of a run goes from one such day to the next, and birds die before the season and
	// after it.
	Wait float64
	// HatchLate says that chicks hatch after the day on which ages are counted, the
	// first of a season, so that a bird has been hatched a season longer than it has
	// whole years.
	HatchLate bool
	// LethalEquivalents B per gamete: a chick of inbreeding F hatches with
	// Chance·exp(-B·F).
	LethalEquivalents float64
	// LimitInbreeding is the F of a chick from which on no policy but random
	// pairing forms the pair, and none that plans lets it hatch any, on top of what all
	// birds have come to share since the start: with gene diversity GD now and GD₀ at the
	// start, F of 1 - (1-limit)·GD/GD₀ or more. In a closed flock all are closer kin
	// than any fixed limit in the end.
	LimitInbreeding float64
	// PreferInbreeding is the F of a chick, raised in the same way, from which on the
	// decision forms a pair only where one of the two can be in no other; 0 for none.
	PreferInbreeding float64

	// FounderEvery is the number of years after which FoundersAtOnce new birds
	// come, one where that is 0, and again after as many: of breeding age, their
	// sex drawn, related to none; they live where there is most room. 0 for none.
	FounderEvery, FoundersAtOnce int
	// Arrivals are founders that come besides.
	Arrivals []Arrival
	// A year is a catastrophe with chance CatastropheRate; every bird that would
	// have lived through it then dies with chance CatastropheSeverity.
	CatastropheRate, CatastropheSeverity float64
}

// Arrival is a founder, related to none and of breeding age, that comes at the
// beginning of a year, 1 the first; its sex is drawn where it is Unsexed.
type Arrival struct {
	Year  int
	Sex   Sex
	Place int // -1 for where there is most room
}

// ground is the rules with what follows from them for all runs.
type ground struct {
	*Rules
	worth [Male + 1]*demography.Worth // by sex, nil where no chick can expect to breed
	lives [Male + 1][]lives           // by sex and age, as on record
	room  int                         // of all places together

	// What pairs have before them in a number of seasons, by age of the female and
	// the male: see look.
	seasons  int
	together [][]prospect
}

func newGround(r *Rules) *ground {
	g := &ground{Rules: r, room: math.MaxInt32}
	if r.Places != nil {
		g.room = 0
		for _, room := range r.Places {
			g.room = min(g.room+room, math.MaxInt32)
		}
	}
	for _, sex := range [2]Sex{Female, Male} {
		g.lives[sex] = livesBy(r.of(sex).Survival, r.Wait, nil)
	}
	if w, ok := demography.NewWorth(r.Female, r.Male); ok {
		g.worth[Female] = w
	}
	if w, ok := demography.NewWorth(r.Male, r.Female); ok {
		g.worth[Male] = w
	}
	return g
}

// lives is the chance of a bird of an age to live from the beginning of a year to the
// season, and to the end of the year.
type lives struct{ season, end float64 }

// livesBy fills in the chances that follow from a yearly survival by age, with the season
// so long after the beginning of the year: a bird is a year older in it.
func livesBy(survival []float64, wait float64, into []lives) []lives {
	into = into[:0]
	before := 1.
	for _, s := range survival {
		into = append(into, lives{before, before * math.Pow(s, 1-wait)})
		before = math.Pow(s, wait)
	}
	return into
}

// places returns the number of places.
func (r *Rules) places() int { return max(1, len(r.Places)) }

// of returns the prospect of a sex.
func (r *Rules) of(s Sex) *demography.Prospect {
	if s == Female {
		return &r.Female
	}
	return &r.Male
}

// MostBirds is the most birds that can be run forward: the kinships of each two of
// them are kept. mostArrivals are the most founders of Arrivals.
const (
	MostBirds    = 3000
	mostArrivals = 1000
)

// check returns what is wrong with the rules, all of it.
func (r *Rules) check() error {
	var faults []error
	fault := func(bad bool, format string, args ...any) {
		if bad {
			faults = append(faults, fmt.Errorf(format, args...))
		}
	}
	fraction := func(name string, x float64) {
		fault(!(x >= 0 && x <= 1), "%s must be between 0 and 1, not %g", name, x)
	}
	fraction("the chance of a chick", r.Chance)
	fraction("the share of it in a first season", r.FirstSeason)
	fraction("the chance that a bond ends", r.Parting)
	fault(!(r.ChanceEvidence >= 0), "the chance of a chick rests on fewer than 0 clutches")
	fault(!(r.PartingEvidence >= 0), "the chance that a bond ends rests on fewer than 0 bonds")
	fault(r.Chicks < 0, "the number of chicks wanted must be 0 or more, not %d", r.Chicks)
	for _, a := range r.Arrivals {
		fault(a.Year < 1 || a.Sex > Male || a.Place < -1 || a.Place >= r.places(), "a founder must come in a year from 1 on to one of %d places", r.places())
	}
	fraction("the wait for the season", r.Wait)
	fraction("the limit of inbreeding", r.LimitInbreeding)
	fraction("the preferred limit of inbreeding", r.PreferInbreeding)
	fraction("the rate of catastrophes", r.CatastropheRate)
	fraction("the severity of catastrophes", r.CatastropheSeverity)
	fault(r.FoundersAtOnce < 0, "the number of founders that come must be 0 or more, not %d", r.FoundersAtOnce)
	fault(r.FounderEvery < 0, "the years between new founders must be 0 or more, not %d", r.FounderEvery)
	fault(!(r.LethalEquivalents >= 0) || math.IsInf(r.LethalEquivalents, 1), "lethal equivalents must be 0 or more, not %g", r.LethalEquivalents)
	fault(r.Birds < 0, "the number of birds wanted must be 0 or more, not %d", r.Birds)
	fault(r.Birds > MostBirds, "at most %s birds can be run forward, and %s are wanted", studbook.Number(MostBirds), studbook.Number(r.Birds))
	fault(r.Chicks > MostBirds, "at most %s birds can be run forward, and %s chicks a year are wanted", studbook.Number(MostBirds), studbook.Number(r.Chicks))
	fault(r.FounderEvery > 0 && r.FoundersAtOnce > r.FounderEvery*mostArrivals/10 || len(r.Arrivals) > mostArrivals, "too many founders come: at most %d in ten years", mostArrivals)
	fault(r.Growing < 0, "the years to grow in must be 0 or more, not %d", r.Growing)
	fault(r.MostChicks < 1, "a pair must be allowed 1 chick or more, not %d", r.MostChicks)
	for i, room := range r.Places {
		fault(room < 0, "place %d must have room for 0 birds or more, not %d", i+1, room)
	}
	sexes := [2]string{"females", "males"}
	for k, p := range [2]*demography.Prospect{&r.Female, &r.Male} {
		for age, s := range p.Survival {
			fraction(fmt.Sprintf("the survival of %s of %d years", sexes[k], age), s)
		}
		e := [2]Evidence{r.FemaleEvidence, r.MaleEvidence}[k]
		fault(!(e.AtRisk >= 0 && e.Deaths >= 0), "the survival of %s rests on fewer than 0 birds", sexes[k])
		fault(!(p.First >= 0 && p.Last >= 0), "breeding ages of %s must be 0 or more", sexes[k])
	}
	return errors.Join(faults...)
}

// check returns what is wrong with a start under the rules, all of it.
func (s *Start) check(r *Rules) error {
	n := len(s.Birds)
	if n > MostBirds {
		return fmt.Errorf("at most %s birds can be run forward, not %s", studbook.Number(MostBirds), studbook.Number(n))
	}
	var faults []error
	for i, b := range s.Birds {
		switch {
		case b.Sex > Male:
			faults = append(faults, fmt.Errorf("bird %d is of no sex", i))
		case b.Age < 0:
			faults = append(faults, fmt.Errorf("bird %d is %d years old", i, b.Age))
		case b.Place < 0 || b.Place >= r.places():
			faults = append(faults, fmt.Errorf("bird %d is at place %d of %d", i, b.Place+1, r.places()))
		case b.Absent && b.Mate > 0:
			faults = append(faults, fmt.Errorf("bird %d is not there and has a mate", i))
		case b.Mate < 0 || b.Mate > n || b.Mate > 0 && (s.Birds[b.Mate-1].Mate != i+1 || s.Birds[b.Mate-1].Sex+b.Sex != Female+Male):
			faults = append(faults, fmt.Errorf("bird %d has no mate of the other sex that has it", i))
		}
	}
	switch {
	case s.Kinship == nil:
	case len(s.Kinship) != n*n:
		faults = append(faults, fmt.Errorf("%d kinships for %d birds", len(s.Kinship), n))
	default:
		for i := range n {
			for j := range i + 1 {
				if f := s.Kinship[i*n+j]; f != s.Kinship[j*n+i] || !(f >= 0 && f <= 1) || i == j && f < 0.5 {
					faults = append(faults, fmt.Errorf("kinship %g of birds %d and %d", f, i, j))
				}
			}
		}
	}
	for _, b := range s.Broods {
		if min(b.Female, b.Male) < 0 || max(b.Female, b.Male) >= n || s.Birds[b.Female].Mate != b.Male+1 || s.Birds[b.Female].Sex != Female || b.Chicks < 0 {
			faults = append(faults, fmt.Errorf("a brood of %d chicks of birds %d and %d, which are no pair", b.Chicks, b.Female, b.Male))
		}
	}
	return errors.Join(append(faults, s.Descent.check(n))...)
}
