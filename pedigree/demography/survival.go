package demography

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"gonum.org/v1/gonum/stat/distuv"
)

// Life is the part of a bird's life that was watched, in years of age. A bird
// that left and came back has one Life for each stay.
//
// A bird watched from hatch has Entry 0 and is at risk on the day of hatch
// too. A bird that came in later is at risk after its Entry only, so that what
// it survived unseen does not count for survival (left truncation). A bird
// that did not die at Exit left or was living when the watch ended (right
// censoring). A Life with Exit equal to an Entry above 0 was not watched and
// counts nowhere.
type Life struct {
	Entry, Exit float64 // 0 <= Entry <= Exit, finite
	Died        bool    // dead at Exit
	Weight      float64 // birds it counts for; 0 means 1; 1/2 for a bird of unknown sex among birds of one sex
}

func (l Life) weight() float64 {
	if l.Weight == 0 {
		return 1
	}
	return l.Weight
}

func (l Life) watched() bool { return l.Exit > l.Entry || l.Entry == 0 }

func checkLives(lives []Life) {
	for _, l := range lives {
		if !(0 <= l.Entry && l.Entry <= l.Exit) || math.IsInf(l.Exit, 1) || !(l.Weight >= 0) {
			panic("demography: life with an entry, exit or weight out of range")
		}
	}
}

// Step is one age at which birds died.
type Step struct {
	Age      float64
	AtRisk   float64 // birds at risk at that age; those censored at it still are
	Deaths   float64
	Survival float64 // share surviving beyond that age, in 0..1
	SE       Number  // Greenwood's standard error; unknown where Survival is 0
	// Interval is on the log(-log) scale at Level; it is meaningless where SE
	// is unknown.
	Interval Interval
	TooFew   bool // AtRisk is below FewAtRisk
}

// Curve is a survival curve.
type Curve struct {
	Birds    float64   // lives watched, by weight
	Deaths   float64   // among them
	Steps    []Step    // ages at which birds died, ascending
	Censored []float64 // ages at which birds left the watch alive, ascending
	Last     float64   // highest age watched; 0 for no lives

	// Birds by the age at which the watch of them began, and at which it ended.
	entered, left running
}

// running is the number of birds up to each of some ages, ascending.
type running struct{ ages, sums []float64 }

// add adds birds at an age that is not below those before.
func (r *running) add(age, birds float64) {
	n := len(r.ages)
	if n > 0 {
		birds += r.sums[n-1]
	}
	if n > 0 && r.ages[n-1] == age {
		r.sums[n-1] = birds
		return
	}
	r.ages, r.sums = append(r.ages, age), append(r.sums, birds)
}

// before returns the number of birds below an age.
func (r *running) before(age float64) float64 {
	if i, _ := slices.BinarySearch(r.ages, age); i > 0 {
		return r.sums[i-1]
	}
	return 0
}

// enter is the age that a life at risk has passed: an Entry of 0 is at risk on
// the day of hatch too.
func (l Life) enter() float64 {
	if l.Entry == 0 {
		return math.Inf(-1)
	}
	return l.Entry
}

// KaplanMeier returns the product-limit estimate of survival (Kaplan & Meier
// 1958), with n birds at risk and d deaths at each age of a death:
//
//	S(t)  = Π (1 - d/n)
//	s.e.  = S √Σ d/(n(n-d))                    (Greenwood 1926)
//	range = S^exp(±z √Σ d/(n(n-d)) / log S)    (Kalbfleisch & Prentice 1980)
//
// Birds that enter late join the risk set after their entry. With no lives the
// curve is empty. It panics on a Life out of its range.
func KaplanMeier(lives []Life) Curve {
	checkLives(lives)
	lives = slices.DeleteFunc(slices.Clone(lives), func(l Life) bool { return !l.watched() })
	var c Curve
	slices.SortStableFunc(lives, func(a, b Life) int { return cmp.Compare(a.Entry, b.Entry) })
	for _, l := range lives {
		c.entered.add(l.enter(), l.weight())
	}
	slices.SortStableFunc(lives, func(a, b Life) int { return cmp.Compare(a.Exit, b.Exit) })

	z := distuv.UnitNormal.Quantile(1 - (1-Level)/2)
	survival, greenwood := 1.0, 0.0
	for i := 0; i < len(lives); {
		age := lives[i].Exit
		atRisk, deaths := c.AtRisk(age), 0.0
		for ; i < len(lives) && lives[i].Exit == age; i++ {
			l := lives[i]
			c.left.add(age, l.weight())
			c.Birds += l.weight()
			if l.Died {
				deaths += l.weight()
			} else {
				c.Censored = append(c.Censored, age)
			}
		}
		c.Last = age
		if deaths == 0 {
			continue
		}
		c.Deaths += deaths
		left := atRisk - deaths
		if left < 1e-9*atRisk { // a trace of rounding in weights, no bird
			left = 0
		}
		survival *= left / atRisk
		s := Step{Age: age, AtRisk: atRisk, Deaths: deaths, Survival: survival, TooFew: atRisk < FewAtRisk}
		if survival > 0 {
			greenwood += deaths / (atRisk * left)
			root := math.Sqrt(greenwood)
			s.SE = known(survival * root)
			spread := z * root / -math.Log(survival)
			s.Interval = Interval{math.Pow(survival, math.Exp(spread)), math.Pow(survival, math.Exp(-spread))}
		}
		c.Steps = append(c.Steps, s)
	}
	return c
}

// At returns the step in force at an age: the last one at or before it, or one
// of survival 1, without standard error and interval, before the first death.
// ok is false below age 0, without lives, and beyond the highest age watched
// unless all had died by then.
func (c Curve) At(age float64) (s Step, ok bool) {
	if !(age >= 0) || c.Birds == 0 {
		return Step{}, false
	}
	s = Step{Survival: 1}
	if i := c.stepsTo(age); i > 0 {
		s = c.Steps[i-1]
	}
	if age > c.Last && s.Survival > 0 {
		return Step{}, false
	}
	return s, true
}

// stepsTo returns the number of steps at or before an age.
func (c Curve) stepsTo(age float64) int {
	return sort.Search(len(c.Steps), func(i int) bool { return c.Steps[i].Age > age })
}

// AtRisk returns the number of birds at risk at an age.
func (c Curve) AtRisk(age float64) float64 {
	return c.entered.before(age) - c.left.before(age)
}

// Between returns the chance that a bird of one age lives to another,
// S(to)/S(from), in 0..1. It is unknown where the curve does not reach, where
// fewer than FewAtRisk birds were at risk at the first age, and where of fewer
// it was seen what became of them by the second: dead, or at risk still.
func (c Curve) Between(from, to float64) Number {
	a, okA := c.At(from)
	b, okB := c.At(to)
	if !okA || !okB || a.Survival == 0 || c.AtRisk(from) < FewAtRisk {
		return Number{}
	}
	seen := c.AtRisk(to)
	for _, s := range c.Steps[c.stepsTo(from):] {
		if s.Age >= to {
			break
		}
		seen += s.Deaths
	}
	if seen < FewAtRisk {
		return Number{}
	}
	return known(b.Survival / a.Survival)
}

// Quantile is an age by which a given share of birds has died. Each of the
// three is unknown where the curve, or its bound, does not fall so far.
type Quantile struct{ Age, Low, High Number }

// Median returns the first age at which survival is 1/2 or less, and the ages
// at which the bounds of its interval are (Brookmeyer & Crowley 1982).
func (c Curve) Median() Quantile {
	// Survival is a product: a true 1/2 may come out a few roundings above.
	const half = 0.5 + 1e-12
	var q Quantile
	reach := func(n *Number, s Step, x float64) {
		if !n.Known && x <= half {
			*n = known(s.Age)
		}
	}
	for _, s := range c.Steps {
		reach(&q.Age, s, s.Survival)
		if s.SE.Known {
			reach(&q.Low, s, s.Interval.Low)
			reach(&q.High, s, s.Interval.High)
		}
	}
	return q
}
