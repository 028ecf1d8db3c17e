package demography

import "math"

// The functions of this file take a schedule: l[x], the share of hatched birds
// that reach age x, and m[x], the chicks of a bird's own sex that it has at
// age x. Both have one element for each age from 0 and none below 0. Breeding
// is one pulse at each birthday, so that age x at breeding is x and not the
// middle of the class.

// Growth is what a schedule says of a population that lives by it for long.
type Growth struct {
	R0               float64 // chicks of its own sex a hatched bird has in its life
	CohortGeneration Number  // Tc, years; mean age of a cohort's parents
	R                Number  // r per year, exact
	Lambda           Number  // e^r, yearly growth; above 1 the population grows
	GenerationLength Number  // L, years; mean age of parents in the stable population
}

// NewGrowth returns all figures of a schedule. Without births R0 is 0 and all
// else unknown. It panics if l and m differ in length or hold a number below 0.
func NewGrowth(l, m []float64) Growth {
	g := Growth{R0: NetReproduction(l, m), CohortGeneration: CohortGeneration(l, m), R: EulerLotka(l, m)}
	if g.R.Known {
		g.Lambda = known(math.Exp(g.R.Value))
		g.GenerationLength = GenerationLength(l, m)
	}
	return g
}

// NetReproduction returns R₀ = Σ l m, 0 or more. It panics as NewGrowth.
func NetReproduction(l, m []float64) float64 {
	checkSchedule(l, m)
	r0 := 0.0
	for x := range l {
		r0 += l[x] * m[x]
	}
	return r0
}

// CohortGeneration returns the mean age of a cohort's parents in years,
//
//	Tc = Σ x l m / Σ l m
//
// unknown without births. It panics as NewGrowth.
func CohortGeneration(l, m []float64) Number {
	r0 := NetReproduction(l, m)
	if r0 == 0 {
		return Number{}
	}
	t := 0.0
	for x := range l {
		t += float64(x) * l[x] * m[x]
	}
	return known(t / r0)
}

// EulerLotka returns the growth rate r per year that solves
//
//	Σ e^(-rx) l m = 1
//
// (Lotka 1925). The root is unique. It is unknown without births after age 0,
// and where l₀m₀ is 1 or more: such a population has no finite rate. It panics
// as NewGrowth.
func EulerLotka(l, m []float64) Number {
	checkSchedule(l, m)
	// With the births of age 0, which r does not touch, on the right side,
	//	g(r) = log Σ_{x≥1} l m e^(-rx) - log(1 - l₀m₀)
	// is convex, falls, and its slope is between -last and -first.
	var logs, ages []float64
	atHatch := 0.0
	for x := range l {
		switch b := l[x] * m[x]; {
		case b == 0:
		case x == 0:
			atHatch = b
		default:
			logs, ages = append(logs, math.Log(b)), append(ages, float64(x))
		}
	}
	if len(ages) == 0 || atHatch >= 1 {
		return Number{}
	}
	right := math.Log1p(-atHatch)
	// g returns the function and its slope; the largest term is taken out so
	// that no power overflows.
	g := func(r float64) (value, slope float64) {
		top := math.Inf(-1)
		for i := range ages {
			top = max(top, logs[i]-r*ages[i])
		}
		sum, mean := 0.0, 0.0
		for i := range ages {
			w := math.Exp(logs[i] - r*ages[i] - top)
			sum += w
			mean += w * ages[i]
		}
		return top + math.Log(sum) - right, -mean / sum
	}
	g0, _ := g(0)
	low, high := g0/ages[len(ages)-1], g0/ages[0]
	if low > high {
		low, high = high, low
	}
	// Newton's steps from the side where g is above 0 never pass the root; the
	// bracket guards against rounding.
	r := low
	const maxSteps = 200
	for range maxSteps {
		value, slope := g(r)
		if value >= 0 {
			low = r
		} else {
			high = r
		}
		next := r - value/slope
		if !(low <= next && next <= high) {
			next = low + (high-low)/2
		}
		if next == r {
			break
		}
		r = next
	}
	return known(r)
}

// GenerationLength returns the mean age in years of the parents of a stable
// population's chicks,
//
//	L = Σ x e^(-rx) l m,  r from EulerLotka
//
// unknown where r is. It panics as NewGrowth.
func GenerationLength(l, m []float64) Number {
	r := EulerLotka(l, m)
	if !r.Known {
		return Number{}
	}
	mean := 0.0
	for x := range l {
		if b := l[x] * m[x]; b > 0 {
			mean += float64(x) * math.Exp(math.Log(b)-r.Value*float64(x))
		}
	}
	return known(mean)
}

// LifeExpectancy returns the mean age at death in years of hatched birds that
// die, on average, in the middle of their age class,
//
//	e₀ = ½ + Σ_{x≥1} l_x
//
// taking nobody to live past the last age of l; 0 for an empty l. It panics on
// a number below 0.
func LifeExpectancy(l []float64) float64 {
	checkSchedule(l, l)
	if len(l) == 0 {
		return 0
	}
	e := 0.5
	for _, x := range l[1:] {
		e += x
	}
	return e
}

func checkSchedule(l, m []float64) {
	if len(l) != len(m) {
		panic("demography: schedule of two lengths")
	}
	for x := range l {
		if !(l[x] >= 0 && m[x] >= 0) || math.IsInf(l[x], 1) || math.IsInf(m[x], 1) {
			panic("demography: schedule out of range")
		}
	}
}
