package demography

import (
	"math"

	"github.com/sourcegraph/conc"

	"pairwright/pedigree/studbook"
)

// Prospect is what the birds of one sex have before them, year by year.
type Prospect struct {
	// Survival is the chance that a bird of each whole age lives another year,
	// in 0..1. A bird older than the last age does not live another year.
	Survival []float64
	// First and Last are the ages in years between which it breeds, both
	// included. Last is 0 where there is no upper end.
	First, Last float64
}

// SurvivalAt returns the chance of a bird of a whole age of 0 or more to live
// another year.
func (p Prospect) SurvivalAt(age int) float64 {
	if age >= len(p.Survival) {
		return 0
	}
	return p.Survival[age]
}

// Breeds reports whether a bird of a whole age breeds.
func (p Prospect) Breeds(age int) bool {
	return float64(age) >= p.First && (p.Last == 0 || float64(age) <= p.Last)
}

// season returns what one season at breeding age adds to the worth, so that
// all the seasons that a chick just hatched can expect add up to 1.
func (p Prospect) season() float64 {
	reached, seasons := 1.0, 0.0
	for age := range len(p.Survival) + 1 {
		if p.Breeds(age) {
			seasons += reached
		}
		reached *= p.SurvivalAt(age)
	}
	if seasons == 0 {
		return 0
	}
	return 1 / seasons
}

func (p Prospect) check() {
	for _, s := range p.Survival {
		if !(s >= 0 && s <= 1) {
			panic("demography: survival out of range")
		}
	}
	if !(p.First >= 0 && p.Last >= 0) {
		panic("demography: breeding age out of range")
	}
}

// Worth is the reproductive worth to the future of the birds of one sex: what
// a bird may still breed in the seasons after the coming one, where a chick
// just hatched is worth 1 (reproductive value: Fisher 1930; as the weight of a
// kinship: Ballou & Lacy 1995, "kinship value"). With p(a) the survival from
// age a to a+1, l(a) = Π p the share of chicks that reach it, and a season at
// breeding age worth h = 1/Σ l(a) over the ages that breed:
//
//	V(a)   = h [a breeds] + p(a) V(a+1)
//	free   = p(a) V(a+1)
//
// for a bird that is free to take any mate, and for one whose bond to a mate of
// age b lasts while both live, with q the survival of the mate's sex,
//
//	W(a,b) = h [both breed] + p(a) q(b) W(a+1,b+1) + p(a) (1-q(b)) V(a+1)
//	bonded = p(a) q(b) W(a+1,b+1) + p(a) (1-q(b)) V(a+1)
//
// It is 0 or more, mostly below 2, the highest just before breeding age, and 0
// from the last breeding age on. Between two whole ages it is what lies between
// their worths in a straight line.
type Worth struct {
	free   []float64   // by whole age
	bonded [][]float64 // by whole age and that of the mate
}

// NewWorth returns the worth of the birds of one sex, whose mates are of the
// other. ok is false where no chick can expect to breed: worth in terms of a
// chick then has no meaning. It panics on a Prospect out of its range.
func NewWorth(own, mate Prospect) (w *Worth, ok bool) {
	own.check()
	mate.check()
	h := own.season()
	if h == 0 {
		return nil, false
	}
	ages, mates := len(own.Survival)+1, len(mate.Survival)+1
	season := func(breeds bool) float64 {
		if breeds {
			return h
		}
		return 0
	}
	w = &Worth{free: make([]float64, ages), bonded: make([][]float64, ages)}
	for a := ages - 1; a >= 0; a-- {
		w.bonded[a] = make([]float64, mates)
		p := own.SurvivalAt(a)
		if p == 0 {
			continue
		}
		after := season(own.Breeds(a+1)) + w.free[a+1] // V(a+1)
		w.free[a] = p * after
		for b := range mates {
			q := mate.SurvivalAt(b)
			w.bonded[a][b] = p * (1 - q) * after
			if q > 0 {
				together := season(own.Breeds(a+1) && mate.Breeds(b+1)) + w.bonded[a+1][b+1] // W(a+1,b+1)
				w.bonded[a][b] += p * q * together
			}
		}
	}
	return w, true
}

// Free returns the worth of a bird that is free, of an age in years of 0 or
// more.
func (w *Worth) Free(age float64) float64 {
	a := split(age, len(w.free))
	return between(w.free[a.whole], w.free[a.next], a.part)
}

// Bonded returns the worth of a bird whose bond lasts while both live, by its
// age and its mate's in years, of 0 or more.
func (w *Worth) Bonded(age, mate float64) float64 {
	return w.BondedAt(w.Own(age), w.Mate(mate))
}

// Age is an age as a Worth has it, split once for many pairs.
type Age struct {
	whole, next int
	part        float64
}

// Own splits the age in years, of 0 or more, of a bird whose worth it is.
func (w *Worth) Own(age float64) Age { return split(age, len(w.bonded)) }

// Mate splits the age of a mate.
func (w *Worth) Mate(age float64) Age { return split(age, len(w.bonded[0])) }

// split tells an age apart into the whole age of a table and the part of the year after it;
// ages past the table are its last.
func split(age float64, ages int) Age {
	if !(age >= 0) {
		panic("demography: age out of range")
	}
	if age >= float64(ages-1) {
		return Age{ages - 1, ages - 1, 0}
	}
	full, part := math.Modf(age)
	return Age{int(full), int(full) + 1, part}
}

// BondedAt is Bonded of ages split by Own and Mate.
func (w *Worth) BondedAt(own, mate Age) float64 {
	now, then := w.bonded[own.whole], w.bonded[own.next]
	return between(between(now[mate.whole], now[mate.next], mate.part), between(then[mate.whole], then[mate.next], mate.part), own.part)
}

func between(a, b, part float64) float64 { return a + part*(b-a) }

// Basis says what a survival rests on.
type Basis byte

// The bases of a survival.
const (
	NoBasis    Basis = iota // not known
	OnRecords               // a life table
	OnSettings              // what was given beside it
)

// Yearly is the survival of birds of one sex year by year.
type Yearly struct {
	Survival         []float64 // by whole age, as in Prospect; nil where not Known
	FirstYear, Adult Basis     // of age 0, and of the ages after it

	// What it rests on where OnRecords: the birds at risk in their first year,
	// and the deaths after it.
	AtRisk, Deaths float64
}

// Known reports whether there is a survival for every age.
func (y Yearly) Known() bool { return y.FirstYear != NoBasis && y.Adult != NoBasis }

// How a life table is smoothed: the ages on either side that are pooled with
// an age, and the years at risk that the mean of all older than a year weighs
// against them. So few deaths are on record for each age of a small programme
// that the table by itself would say that birds of one age live for ever and
// those of the next die like flies. Common practice, no source.
const (
	smoothingAges  = 2
	smoothingYears = 20
	enoughYears    = 20 // at risk after the first year, below which the table says nothing
)

// SmoothedSurvival returns yearly survival by age up to an oldest age, or to
// the last class of the life table where that is older. After the first year
//
//	q(a) = (deaths + k q̄) / (at risk + k)
//
// with deaths and birds at risk of the classes from a-2 to a+2 without the
// first year, q̄ the rate of all of them pooled, and k = 20 bird-years (common
// practice, no source). The first year is the table's own class. Where the
// table has fewer than FewAtRisk birds in the first year, or fewer than 20
// bird-years after it, the rates given stand in, each for its own part: the
// survival of the first year, and of each year after it. A table in which no bird of
// a year or older died gives way to them too: that all live for ever is not what it
// says, see Need. Not Known where neither is there.
func SmoothedSurvival(t LifeTable, firstYear, yearly Number, oldest int) Yearly {
	var y Yearly
	first := firstYear
	if y.FirstYear = basis(firstYear); len(t.Classes) > 0 && !t.Classes[0].TooFew {
		first, y.FirstYear, y.AtRisk = t.Classes[0].P, OnRecords, t.Classes[0].AtRisk
	}
	y.Adult = basis(yearly)
	risk, deaths := t.pooled(1, len(t.Classes)-1)
	if risk >= enoughYears && (deaths > 0 || y.Adult == NoBasis) {
		y.Adult, y.Deaths = OnRecords, deaths
	}
	if !y.Known() {
		return y
	}
	y.Survival = make([]float64, 1+max(oldest, len(t.Classes)-1, 0))
	y.Survival[0] = first.Value
	for a := 1; a < len(y.Survival); a++ {
		if y.Adult == OnSettings {
			y.Survival[a] = yearly.Value
			continue
		}
		y.Survival[a] = t.smoothed(t.pooled(a-smoothingAges, a+smoothingAges))
	}
	return y
}

// smoothed returns the survival of birds at risk of which some died, smoothed by that of
// all birds of a year or older.
func (t LifeTable) smoothed(risk, deaths float64) float64 {
	n, d := t.pooled(1, len(t.Classes)-1)
	return max(0, 1-(deaths+smoothingYears*d/n)/(risk+smoothingYears))
}

func basis(given Number) Basis {
	if given.Known {
		return OnSettings
	}
	return NoBasis
}

// pooled returns birds at risk and deaths of a range of classes, both ends
// included, without the first year.
func (t LifeTable) pooled(from, to int) (risk, deaths float64) {
	for x := max(from, 1); x <= min(to, len(t.Classes)-1); x++ {
		risk += t.Classes[x].AtRisk
		deaths += t.Classes[x].Deaths
	}
	return risk, deaths
}

// Prospects are what the birds of both sexes have before them.
type Prospects struct {
	Female, Male             Prospect
	FemaleYearly, MaleYearly Yearly // where the survival comes from
}

// olderThanWatched is for how many years the survival goes on beyond the eldest
// bird where no oldest age is set (common practice, no source).
const olderThanWatched = 10

// Prospects returns the prospects of the programme's birds: SmoothedSurvival of
// all that was watched of each sex, with the survival of the settings to stand in
// and up to the oldest age there, and the breeding ages of BreedingAgesOf. Where
// no oldest age is set, nobody dies of being older than all that were watched: the
// survival goes on for ten years beyond the last breeding age and the eldest bird.
// ok is false where the survival of either sex is not known.
func (c *Census) Prospects() (p Prospects, ok bool) {
	of := func(group Group, sex studbook.Sex) (Prospect, Yearly) {
		set := &c.snapshot.Colony.Settings
		given := func(share float64) Number { return Number{Value: share, Known: share > 0} }
		ages := c.ages()[sex]
		table := c.Watch(Programme, group, 0).LifeTable()
		oldest := int(math.Ceil(set.OldestAge))
		if oldest == 0 {
			oldest = max(int(math.Ceil(ages.Last)), len(table.Classes)-1) + olderThanWatched
		}
		y := SmoothedSurvival(table, given(set.FirstYearSurvival), given(set.YearlySurvival), oldest)
		return Prospect{Survival: y.Survival, First: ages.First, Last: ages.Last}, y
	}
	var wg conc.WaitGroup
	wg.Go(func() { p.Female, p.FemaleYearly = of(Females, studbook.Female) })
	wg.Go(func() { p.Male, p.MaleYearly = of(Males, studbook.Male) })
	wg.Wait()
	return p, p.FemaleYearly.Known() && p.MaleYearly.Known()
}
