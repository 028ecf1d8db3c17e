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
	drawHatching
	drawPartingRate
	drawParting
	drawGenes
	drawDescent
)

// luck is the chance of one run: a random number for each draw of each bird in
// each year, the same whatever happened before.
type luck uint64

// newLuck returns the luck of a run.
func newLuck(seed uint64, run int) luck { return luck(mix(mix(seed) ^ uint64(run))) }

// of returns a number in [0, 1) for a draw of a bird, or of whatever else the
// key stands for, in a year.
func (l luck) of(what draw, key uint64, year int) float64 {
	return float64(l.bits(what, key, year)>>11) / (1 << 53)
}

// bits returns 64 random bits for the same.
func (l luck) bits(what draw, key uint64, year int) uint64 {
	return mix(mix(uint64(l)^uint64(what)<<56^uint64(year)) ^ key)
}

// mix spreads a number over all 64 bits (the output function of SplitMix64:
// Steele, Lea & Flood 2014).
func mix(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// normal returns a standard normal number for a draw that holds in the run.
func (l luck) normal(what draw, s Sex) float64 {
	return distuv.UnitNormal.Quantile(l.of(what, uint64(s), 0) + 0x1p-54)
}

// share returns what a share seen of n birds is in the run: see Evidence.
func (l luck) share(p, n float64, what draw, s Sex) float64 {
	if !(n > 0 && p > 0 && p < 1) {
		return p
	}
	logit := math.Log(p/(1-p)) + l.normal(what, s)/math.Sqrt(n*p*(1-p))
	return 1 / (1 + math.Exp(-logit))
}

// often returns by how much a rate in the run is above the one that d events
// tell; 1 where nothing is left open.
func (l luck) often(d float64, what draw, s Sex) float64 {
	if !(d > 0) {
		return 1
	}
	return math.Exp(l.normal(what, s) / math.Sqrt(d))
}

// survival returns the yearly survival of a sex that holds in the run: see
// Evidence.
func (l luck) survival(into []float64, g *ground, s Sex) []float64 {
	e := g.FemaleEvidence
	if s == Male {
		e = g.MaleEvidence
	}
	into = append(into[:0], g.of(s).Survival...)
	if len(into) == 0 {
		return into
	}
	into[0] = l.share(into[0], e.AtRisk, drawFirstYear, s)
	if more := l.often(e.Deaths, drawLater, s); more != 1 {
		for age := 1; age < len(into); age++ {
			into[age] = math.Pow(into[age], more)
		}
	}
	return into
}
