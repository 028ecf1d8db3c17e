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

// FamilyVarianceSize returns the effective size of n breeders of a population
// of constant size whose number of chicks that come to breed has a variance
// around its mean of 2 (Crow & Kimura 1970),
//
//	Ne = (4n - 2) / (variance + 2)
//
// With equal families it is 2n-1. Unknown for n below 1. It panics on a
// variance below 0.
func FamilyVarianceSize(n int, variance float64) Number {
	if !(variance >= 0) {
		panic("demography: variance out of range")
	}
	if n < 1 {
		return Number{}
	}
	return known((4*float64(n) - 2) / (variance + 2))
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
// which for k = 2 is FamilyVarianceSize; V is the variance with divisor n. The
// size is unknown for fewer than two birds, without chicks, and where the
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

// OverlappingSize returns the effective size of a population of overlapping
// generations in which a constant number of birds of both sexes joins each
// year, of generation length years, with a variance of lifetime family size
// around a mean of 2 (Hill 1979),
//
//	Ne = 4 joining length / (variance + 2)
//
// Unknown for a length that is not above 0. It panics on a negative argument.
func OverlappingSize(joining, length, variance float64) Number {
	if !(joining >= 0 && length >= 0 && variance >= 0) {
		panic("demography: argument of an effective size out of range")
	}
	if length == 0 {
		return Number{}
	}
	return known(4 * joining * length / (variance + 2))
}

// HarmonicMean returns the effective size over generations of changing size
// (Wright 1938),
//
//	Ne = t / Σ 1/N
//
// 0 where one generation is 0. Unknown without generations. It panics on a
// size below 0.
func HarmonicMean(sizes []float64) Number {
	if len(sizes) == 0 {
		return Number{}
	}
	sum := 0.0
	for _, n := range sizes {
		if !(n >= 0) {
			panic("demography: negative population size")
		}
		sum += 1 / n
	}
	return known(float64(len(sizes)) / sum)
}

// InbreedingRate returns the rate of inbreeding of one generation from the
// mean inbreeding coefficients before and after it, and the effective size
// that goes with it (Falconer & Mackay 1996),
//
//	ΔF = (after - before) / (1 - before),  Ne = 1/(2ΔF)
//
// The rate is unknown for a before of 1, the size unknown (not estimable) for
// a rate of 0 or less. It panics on an argument outside 0..1.
func InbreedingRate(before, after float64) (rate, size Number) {
	checkShare(before)
	checkShare(after)
	if before == 1 {
		return Number{}, Number{}
	}
	rate = known((after - before) / (1 - before))
	if rate.Value > 0 {
		size = known(1 / (2 * rate.Value))
	}
	return rate, size
}

// RateFromSize returns the rate of inbreeding of a generation, 1/(2Ne), at most
// 1. Unknown for a size that is not above 0.
func RateFromSize(ne float64) Number {
	if !(ne > 0) {
		return Number{}
	}
	return known(min(1, 1/(2*ne)))
}

// DiversityLossSize returns the effective size that explains a change of gene
// diversity over a number of generations,
//
//	Ne = 1 / (2 (1 - (after/before)^(1/generations)))
//
// the inverse of DiversityAfter. Unknown (not estimable) where nothing was
// lost, where before is 0, and for generations not above 0. It panics on a
// diversity outside 0..1.
func DiversityLossSize(before, after, generations float64) Number {
	checkShare(before)
	checkShare(after)
	if before == 0 || after >= before || !(generations > 0) {
		return Number{}
	}
	return SizeToKeep(after/before, generations)
}

// SizeToKeep returns the effective size that keeps a share of today's gene
// diversity over a number of generations,
//
//	Ne = 1 / (2 (1 - share^(1/generations)))
//
// Keeping all, a share of 1 or more, takes an endless population: unknown; so
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

// DiversityThrough returns the gene diversity expected after generations of
// the effective sizes given, one after another: the product of their
// DiversityAfter. Unknown where one size is not above 0.
func DiversityThrough(now float64, sizes []float64) Number {
	left := known(now)
	for _, ne := range sizes {
		if left.Known {
			left = DiversityAfter(left.Value, ne, 1)
		}
	}
	return left
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

// FounderDiversity returns the share of the wild population's heterozygosity
// that n founders drawn from it at random hold, 1 - 1/(2n). Unknown for n
// below 1.
func FounderDiversity(n int) Number {
	if n < 1 {
		return Number{}
	}
	return known(1 - 1/(2*float64(n)))
}

// AlleleCaught returns the chance that at least one of n founders brings an
// allele of frequency p in the wild population, 1 - (1-p)^(2n) (Marshall &
// Brown 1975). It panics on a p outside 0..1 or an n below 0.
func AlleleCaught(p float64, n int) float64 {
	checkShare(p)
	if n < 0 {
		panic("demography: negative number of founders")
	}
	return 1 - math.Pow(1-p, 2*float64(n))
}

// AllelesCaught returns the expected number of different alleles that n
// founders bring of a locus whose alleles have the frequencies given,
// Σ AlleleCaught. It panics as AlleleCaught.
func AllelesCaught(frequencies []float64, n int) float64 {
	sum := 0.0
	for _, p := range frequencies {
		sum += AlleleCaught(p, n)
	}
	return sum
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
