package demography

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"pairwright/pedigree/studbook"
)

// Trend is how a figure above 0 went over some years: its logarithm as a
// random walk with a drift, which is how numbers of birds have been looked
// ahead (Dennis, Munholland & Scott 1991; for gene diversity common practice,
// no source). It knows no cause: what brought the figure where it is must go on
// as it did.
type Trend struct {
	Steps int     // from one value to the next
	Years float64 // from the first to the last

	// Rate is the mean change of the logarithm in a year, Spread the standard
	// deviation of that of one year around it.
	Rate, Spread float64
}

// NewTrend returns the trend of values on days, ascending; ok is false with
// fewer than three of them and where one is not above 0. With x_k the change of
// the logarithm over τ_k years, q steps and T years in all:
//
//	rate = Σ x_k / T,  spread² = 1/(q−1) Σ (x_k − rate τ_k)²/τ_k
//
// It panics unless there is a day for every value and the days ascend.
func NewTrend(days []studbook.Day, values []float64) (t Trend, ok bool) {
	if len(days) != len(values) {
		panic("demography: a trend needs a day for every value")
	}
	t.Steps = len(values) - 1
	if t.Steps < 2 {
		return Trend{}, false
	}
	for k, v := range values {
		if !(v > 0) {
			return Trend{}, false
		}
		if k > 0 && days[k] <= days[k-1] {
			panic("demography: the days of a trend must ascend")
		}
	}
	t.Years = years(days[t.Steps] - days[0])
	t.Rate = math.Log(values[t.Steps]/values[0]) / t.Years
	for k := range t.Steps {
		tau := years(days[k+1] - days[k])
		off := math.Log(values[k+1]/values[k]) - t.Rate*tau
		t.Spread += off * off / tau
	}
	t.Spread = math.Sqrt(t.Spread / float64(t.Steps-1))
	return t, true
}

// width returns Student's t times the spread: half the range of the logarithm
// after y years is that times √(y + y²/T).
func (t *Trend) width(level float64) float64 {
	student := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(t.Steps - 1)}
	return t.Spread * student.Quantile(1-(1-level)/2)
}

// RateInterval returns the interval of Rate at a level of confidence,
// rate ± t·spread/√T.
func (t *Trend) RateInterval(level float64) Interval {
	half := t.width(level) / math.Sqrt(t.Years)
	return Interval{t.Rate - half, t.Rate + half}
}

// After returns the figure to expect so many years after it was now, and the
// range in which it is to be expected at a level of confidence: what the rate
// is not known for, and the chance of the years to come.
//
//	ln x = ln now + rate·y ± t·spread·√(y + y²/T)
func (t *Trend) After(now, y, level float64) (mid float64, within Interval) {
	half := t.width(level) * math.Sqrt(y+y*y/t.Years)
	to := func(x float64) float64 { return now * math.Exp(t.Rate*y+x) }
	return to(0), Interval{to(-half), to(half)}
}

// Held returns after how many years the figure that is now falls below a goal:
// by its rate, and when the lower and the upper end of its range do. Each is
// unknown where that never happens, and 0 where now is below already. It panics
// unless both are above 0.
func (t *Trend) Held(now, goal, level float64) (mid, first, last Number) {
	if !(now > 0 && goal > 0) {
		panic("demography: figure or goal of a trend not above 0")
	}
	c, b := math.Log(now/goal), t.Rate
	if c < 0 {
		return known(0), known(0), known(0)
	}
	if b < 0 {
		mid = known(-c / b)
	}
	// (c + b·y)² = k²(y + y²/T): the lower end of the range falls below the
	// goal at the first root with c + b·y above 0, the upper end at the root
	// with it below 0.
	k2 := t.width(level) * t.width(level)
	if k2 < 1e-18 { // nothing but rounding
		return mid, mid, mid
	}
	for _, y := range quadratic(b*b-k2/t.Years, 2*b*c-k2, c*c) {
		switch at := c + b*y; {
		case y < 0:
		case at >= 0 && (!first.Known || y < first.Value):
			first = known(y)
		case at < 0 && !last.Known:
			last = known(y)
		}
	}
	return mid, first, last
}

// quadratic returns the real roots of ax² + bx + c, without cancellation.
func quadratic(a, b, c float64) []float64 {
	d := b*b - 4*a*c
	if d < 0 {
		return nil
	}
	q := -(b + math.Copysign(math.Sqrt(d), b)) / 2
	var roots []float64
	if a != 0 {
		roots = append(roots, q/a)
	}
	if q != 0 {
		roots = append(roots, c/q)
	}
	return roots
}
