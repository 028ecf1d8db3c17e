package pairing

import (
	"cmp"
	"math"
	"slices"
)

// Alike is the share of the better gain within which two mates, or two
// transfers, count as equally good and what costs the birds less decides
// (common practice, no source).
const Alike = 0.02

// AsGood reports whether a gain is within Alike of that of the best.
func AsGood(best, gain float64) bool { return best-gain <= Alike*math.Abs(best) }

// InOrder sorts choices, the best first: by class, the lowest first, and within
// a class by gain, the largest first. Choices of a class whose gain is within
// Alike of that of the best not yet placed are ordered among themselves by
// gentler, which must tell any two choices apart for the order to be one.
func InOrder[T any](choices []T, class func(T) int, gain func(T) float64, gentler func(a, b T) int) {
	slices.SortFunc(choices, func(a, b T) int {
		return cmp.Or(cmp.Compare(class(a), class(b)), cmp.Compare(gain(b), gain(a)))
	})
	for start := 0; start < len(choices); {
		best, of := gain(choices[start]), class(choices[start])
		end := start + 1
		for end < len(choices) && class(choices[end]) == of && AsGood(best, gain(choices[end])) {
			end++
		}
		slices.SortFunc(choices[start:end], gentler)
		start = end
	}
}

// foremost moves the choices that InOrder would place first to the front, n of them or
// all there are, and returns these; the others are left in no order.
func foremost[T any](choices []T, n int, class func(T) int, gain func(T) float64, gentler func(a, b T) int) []T {
	n = min(n, len(choices))
	for start := 0; start < n; {
		best := slices.MinFunc(choices[start:], func(a, b T) int {
			return cmp.Or(cmp.Compare(class(a), class(b)), cmp.Compare(gain(b), gain(a)))
		})
		end := start
		for k := start; k < len(choices); k++ {
			if class(choices[k]) == class(best) && AsGood(gain(best), gain(choices[k])) {
				choices[end], choices[k] = choices[k], choices[end]
				end++
			}
		}
		slices.SortFunc(choices[start:end], gentler)
		start = end
	}
	return choices[:n]
}
