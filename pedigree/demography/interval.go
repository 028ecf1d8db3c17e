package demography

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Level is the confidence of every interval that the package computes for
// itself.
const Level = 0.95

// FewAtRisk is the number of birds below which a rate is marked as resting on
// too few to judge. Common practice, no source.
const FewAtRisk = 5

// Number is a figure that may be unknown. The zero Number is unknown.
type Number struct {
	Value float64 // 0 where not Known
	Known bool
}

// known returns the Number x, the unknown Number if x is not finite.
func known(x float64) Number {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return Number{}
	}
	return Number{Value: x, Known: true}
}

// Median returns the middle one of the values, of an even number the mean of the
// two in the middle; unknown without values.
func Median(values []float64) Number {
	n := len(values)
	if n == 0 {
		return Number{}
	}
	sorted := slices.Sorted(slices.Values(values))
	return known((sorted[(n-1)/2] + sorted[n/2]) / 2)
}

// Ptr returns a pointer to the value, nil where it is unknown.
func (n Number) Ptr() *float64 {
	if !n.Known {
		return nil
	}
	return &n.Value
}

// Interval is a range of values, both ends included.
type Interval struct{ Low, High float64 }

// Proportion is a share with what its uncertainty is.
type Proportion struct {
	Count, Of int
	Value     float64  // Count/Of, in 0..1
	Wilson    Interval // for display
	Exact     Interval // Clopper-Pearson
	Known     bool     // false where Of is 0; the figures are then 0
	TooFew    bool     // Of is below FewAtRisk
}

// NewProportion returns the share of count in of with its intervals at Level.
// It panics unless 0 <= count <= of.
func NewProportion(count, of int) Proportion {
	p := Proportion{Count: count, Of: of, TooFew: of < FewAtRisk}
	p.Exact, p.Known = ClopperPearson(count, of, Level)
	if p.Known {
		p.Value = float64(count) / float64(of)
		p.Wilson, _ = Wilson(count, of, Level)
	}
	return p
}

// Wilson returns the score interval of a proportion, k of n, without
// continuity correction (Wilson 1927):
//
//	(p + z²/2n ± z √(p(1-p)/n + z²/4n²)) / (1 + z²/n)
//
// Both ends are in 0..1; ok is false for n = 0. It panics unless 0 <= k <= n
// and 0 < level < 1.
func Wilson(k, n int, level float64) (i Interval, ok bool) {
	return wilson(float64(k), float64(n), level)
}

// ClopperPearson returns the exact interval of a proportion, k of n, with equal
// tails (Clopper & Pearson 1934), from quantiles of the beta distribution:
//
//	low  = B⁻¹(α/2; k, n-k+1)     0 for k = 0
//	high = B⁻¹(1-α/2; k+1, n-k)   1 for k = n
//
// With no event the upper end is 1 - (α/2)^(1/n). Both ends are in 0..1; ok is
// false for n = 0. It panics unless 0 <= k <= n and 0 < level < 1.
func ClopperPearson(k, n int, level float64) (i Interval, ok bool) {
	return clopperPearson(float64(k), float64(n), level)
}

// zeroEventsUpper returns 1 - tail^(1/n) without cancellation.
func zeroEventsUpper(n, tail float64) float64 { return -math.Expm1(math.Log(tail) / n) }

// wilson is Wilson for counts that need not be whole: birds under risk for
// part of a year, half birds where the sex is unknown.
func wilson(k, n, level float64) (Interval, bool) {
	checkTrials(k, n, level)
	if n == 0 {
		return Interval{}, false
	}
	p := k / n
	z := distuv.UnitNormal.Quantile(1 - (1-level)/2)
	zz := z * z / n
	mid := p + zz/2
	half := z * math.Sqrt(p*(1-p)/n+zz/(4*n))
	i := Interval{(mid - half) / (1 + zz), (mid + half) / (1 + zz)}
	// Rounding must not leave a trace at the ends, which are exact.
	if k == 0 {
		i.Low = 0
	}
	if k == n {
		i.High = 1
	}
	return i, true
}

// clopperPearson is ClopperPearson for counts that need not be whole.
func clopperPearson(k, n, level float64) (Interval, bool) {
	checkTrials(k, n, level)
	if n == 0 {
		return Interval{}, false
	}
	tail := (1 - level) / 2
	i := Interval{0, 1}
	switch {
	case k == 0:
		i.High = zeroEventsUpper(n, tail)
	case k == n:
		i.Low = 1 - zeroEventsUpper(n, tail)
	default:
		i.Low = distuv.Beta{Alpha: k, Beta: n - k + 1}.Quantile(tail)
		i.High = distuv.Beta{Alpha: k + 1, Beta: n - k}.Quantile(1 - tail)
	}
	return i, true
}

func checkTrials(k, n, level float64) {
	if !(0 <= k && k <= n) {
		panic("demography: count of a proportion out of range")
	}
	if !(0 < level && level < 1) {
		panic("demography: confidence level out of range")
	}
}

// PoissonInterval returns the exact interval of the mean of a number of events
// of which k were seen, with equal tails (Garwood 1936), from quantiles of the
// χ² distribution:
//
//	low  = χ²⁻¹(α/2; 2k)/2          0 for k = 0
//	high = χ²⁻¹(1−α/2; 2k+2)/2
//
// It panics for k < 0 and unless 0 < level < 1.
func PoissonInterval(k int, level float64) Interval {
	if k < 0 || !(0 < level && level < 1) {
		panic("demography: count or confidence level out of range")
	}
	tail := (1 - level) / 2
	var i Interval
	if k > 0 {
		i.Low = distuv.ChiSquared{K: 2 * float64(k)}.Quantile(tail) / 2
	}
	i.High = distuv.ChiSquared{K: 2*float64(k) + 2}.Quantile(1-tail) / 2
	return i
}
