package demography

import "math"

// SexRatioSize returns the effective size of a population of breeders of two
// sexes (Wright 1931),
//
//	Ne = 4 Nm Nf / (Nm + Nf)
//
// 0 where one sex is missing. The counts are birds that breed, not birds
// alive. It panics on a count below 0.
func SexRatioSize(males, females int) float64 {
	if males < 0 || females < 0 {
		panic("demography: negative number of breeders")
	}
	if males == 0 || females == 0 {
		return 0
	}
	m, f := float64(males), float64(females)
	return 4 * m * f / (m + f)
}

// FamilySize is the effective size from counted families.
type FamilySize struct {
	Breeders       int // birds counted, those without chicks too
	Mean, Variance float64
	Size           Number
}

// FamilySizes returns the effective size from the number of chicks that came
// to breed of each bird of a generation, birds without any included. For a
// mean k that need not be 2 (Kimura & Crow 1963),
//
//	Ne = (n k - 1) / (k - 1 + V/k)
//
// which for k = 2 is (4n - 2) / (V + 2) (Crow & Kimura 1970); V is the variance
// with divisor n. The size is unknown for fewer than two birds, without chicks, and where the
// formula has no positive value (less than one chick a bird). It panics on a
// count below 0.
func FamilySizes(chicks []int) FamilySize {
	s := FamilySize{Breeders: len(chicks)}
	if len(chicks) == 0 {
		return s
	}
	n := float64(len(chicks))
	for _, k := range chicks {
		if k < 0 {
			panic("demography: negative family size")
		}
		s.Mean += float64(k)
	}
	s.Mean /= n
	for _, k := range chicks {
		d := float64(k) - s.Mean
		s.Variance += d * d
	}
	s.Variance /= n
	above := n*s.Mean - 1
	if s.Mean == 0 || len(chicks) < 2 || above <= 0 {
		return s
	}
	if below := s.Mean - 1 + s.Variance/s.Mean; below > 0 {
		s.Size = known(above / below)
	}
	return s
}

// SizeToKeep returns the effective size that keeps a share of today's gene
// diversity over a number of generations,
//
//	Ne = 1 / (2 (1 - share^(1/generations)))
//
// the inverse of DiversityAfter. Keeping all, a share of 1 or more, takes an endless population: unknown; so
// is it for generations not above 0. It panics on a share below 0.
func SizeToKeep(share, generations float64) Number {
	if !(share >= 0) {
		panic("demography: share out of range")
	}
	if share >= 1 || !(generations > 0) {
		return Number{}
	}
	// 1 - share^(1/t) without cancellation.
	return known(1 / (-2 * math.Expm1(math.Log(share)/generations)))
}

// SizeForGoal returns the effective size with which the gene diversity now
// is still the goal after a number of generations. missed is what lacks to the
// goal already now: where it is above 0, or where now is the goal exactly, no
// size reaches it and the size is unknown. It panics on a diversity outside
// 0..1.
func SizeForGoal(now, goal, generations float64) (size Number, missed float64) {
	checkShare(now)
	checkShare(goal)
	if now <= goal {
		return Number{}, goal - now
	}
	return SizeToKeep(goal/now, generations), 0
}

// DiversityAfter returns the gene diversity expected after a number of
// generations, which need not be whole,
//
//	GD_t = GD_0 (1 - 1/(2Ne))^t
//
// in 0..1; with an effective size of 1/2 or less, 0 after any time. Unknown for
// a size that is not above 0 or generations below 0. It panics on a diversity
// outside 0..1.
func DiversityAfter(now, ne, generations float64) Number {
	checkShare(now)
	if !(ne > 0 && generations >= 0) {
		return Number{}
	}
	return known(now * math.Pow(max(0, 1-1/(2*ne)), generations))
}

// GenerationsHeld returns for how many generations the gene diversity stays at
// the goal or above,
//
//	t = ln(goal/now) / ln(1 - 1/(2Ne))
//
// 0 where it is below already. Whole generations are its floor. Unknown for a
// size that is not above 0 and for a goal of 0, which is never lost. It panics
// on a diversity outside 0..1.
func GenerationsHeld(now, goal, ne float64) Number {
	checkShare(now)
	checkShare(goal)
	if !(ne > 0) || goal == 0 {
		return Number{}
	}
	if now <= goal || ne <= 0.5 {
		return known(0)
	}
	return known(math.Log(goal/now) / math.Log1p(-1/(2*ne)))
}

// SizeRatio returns Ne/N, the effective size as a share of the birds alive.
// Unknown for n below 1 or an unknown size.
func SizeRatio(ne Number, n int) Number {
	if !ne.Known || n < 1 {
		return Number{}
	}
	return known(ne.Value / float64(n))
}

func checkShare(x float64) {
	if !(0 <= x && x <= 1) {
		panic("demography: share outside 0..1")
	}
}
