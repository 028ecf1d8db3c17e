package forecast

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// draw says what a random number is for.
type draw uint64

const (
	drawSurvival draw = iota + 1
	drawSex
	drawChick
	drawOrder
	drawCatastrophe
	drawVictim
	drawFirstYear
	drawLater
)

// luck is the chance of one run: a random number for each draw of each bird in
// each year, the same whatever happened before.
type luck uint64

// newLuck returns the luck of a run.
func newLuck(seed uint64, run int) luck { return luck(mix(mix(seed) ^ uint64(run))) }

// of returns a number in [0, 1) for a draw of a bird, or of whatever else the
// key stands for, in a year.
func (l luck) of(what draw, key uint64, year int) float64 {
	x := mix(mix(uint64(l)^uint64(what)<<56^uint64(year)) ^ key)
	return float64(x>>11) / (1 << 53)
}

// mix spreads a number over all 64 bits (the output function of SplitMix64:
// Steele, Lea & Flood 2014).
func mix(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// survival returns the yearly survival of a sex that holds in the run: see
// Evidence.
func (l luck) survival(into []float64, g *ground, s Sex) []float64 {
	e := g.FemaleEvidence
	if s == Male {
		e = g.MaleEvidence
	}
	into = append(into[:0], g.of(s).Survival...)
	z := func(what draw) float64 { return distuv.UnitNormal.Quantile(l.of(what, uint64(s), 0) + 0x1p-54) }
	if len(into) == 0 {
		return into
	}
	if p := into[0]; e.AtRisk > 0 && p > 0 && p < 1 {
		logit := math.Log(p/(1-p)) + z(drawFirstYear)/math.Sqrt(e.AtRisk*p*(1-p))
		into[0] = 1 / (1 + math.Exp(-logit))
	}
	if e.Deaths > 0 {
		more := math.Exp(z(drawLater) / math.Sqrt(e.Deaths))
		for age := 1; age < len(into); age++ {
			into[age] = math.Pow(into[age], more)
		}
	}
	return into
}
