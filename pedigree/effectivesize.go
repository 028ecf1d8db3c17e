package pedigree

import "math"

// RealisedSize is an effective population size from the inbreeding that the
// members have in fact come to.
type RealisedSize struct {
	Size          float64 // Nₑ, in birds
	StandardError float64 // of Size, from the spread between members; 0 if only one was used
	Increase      float64 // mean increase in inbreeding per generation, ΔF
	Birds         int     // members used
	Inbred        int     // of those; where they are few the size is theirs alone
	Skipped       int     // members with at most one equivalent generation known
}

// RealisedEffectiveSize returns the effective size from the individual increase
// in inbreeding of the members (Gutiérrez, Cervantes & Goyache 2009),
//
//	ΔF_i = 1 − (1 − F_i)^(1/(t_i − 1)),   Nₑ = 1 / (2·mean ΔF)
//
// with t the equivalent complete generations, and its standard error
// 2Nₑ²·s.e.(mean ΔF). Members with t of at most 1, founders and their chicks
// for the most part, say nothing about it and are counted in Skipped.
//
// It cannot be estimated, and ok is false with Size 0, if no member is left or
// none of them is inbred; the counts are given even then.
func (q *Population) RealisedEffectiveSize() (r RealisedSize, ok bool) {
	generations := q.p.EquivalentGenerations()
	var increases []float64
	for _, i := range q.ordered {
		if d, ok := increaseInInbreeding(q.p.F(i), generations[i]); ok {
			increases = append(increases, d)
		}
	}
	r = effectiveSize(increases)
	r.Skipped = len(q.members) - r.Birds
	return r, r.Size > 0
}

// increaseInInbreeding returns ΔF of one bird with the inbreeding f and t
// equivalent generations; ok is false if t is at most 1.
func increaseInInbreeding(f, t float64) (d float64, ok bool) {
	if t <= 1 {
		return 0, false
	}
	return 1 - math.Pow(1-f, 1/(t-1)), true
}

// effectiveSize returns 1/(2·mean), with Size 0 if the mean is not above 0.
func effectiveSize(increases []float64) RealisedSize {
	n := float64(len(increases))
	r := RealisedSize{Birds: len(increases)}
	if n == 0 {
		return r
	}
	for _, d := range increases {
		r.Increase += d
		if d > 0 {
			r.Inbred++
		}
	}
	r.Increase /= n
	if r.Increase <= 0 {
		return r
	}
	r.Size = 1 / (2 * r.Increase)
	if n > 1 {
		squares := 0.0
		for _, d := range increases {
			squares += (d - r.Increase) * (d - r.Increase)
		}
		r.StandardError = 2 * r.Size * r.Size * math.Sqrt(squares/(n-1)/n)
	}
	return r
}
