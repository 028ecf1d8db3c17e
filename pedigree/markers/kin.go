package markers

import (
	"math"
	"math/rand/v2"
)

// Sharing is how two birds that are not inbred are kin: the chances that at a place of
// the genome they have none, one and both of their genes from the same ancestor
// (Thompson 1975). They add up to 1.
type Sharing [3]float64

// The nearest kin, and birds that are none.
var (
	Unrelated      = Sharing{1, 0, 0}
	HalfSiblings   = Sharing{0.5, 0.5, 0} // and all others of the second degree
	FullSiblings   = Sharing{0.25, 0.5, 0.25}
	ParentAndChick = Sharing{0, 1, 0}
	SameBird       = Sharing{0, 0, 1} // or twins of one egg
)

// Kinship returns the kinship of two such birds, in 0..0.5.
func (s Sharing) Kinship() float64 { return s[1]/4 + s[2]/2 }

// Pair compares the genotypes of two birds.
type Pair struct {
	// times is, by marker at which both were typed, how many times as likely what was
	// found is if the two share one gene, and if they share both, as if they share none.
	times [][2]float64
	right float64 // the chance that neither of two findings is an error
}

// Pair compares two birds; error is as in Likelihoods.
func (p *Panel) Pair(a, b string, error float64) Pair {
	found := p.of([]string{a, b})
	x := Pair{make([][2]float64, 0, len(p.Frequency)), (1 - error) * (1 - error)}
	for k, of := range p.Frequency {
		if found[0][k] != unknown && found[1][k] != unknown {
			x.times = append(x.times, shared(found[0][k], found[1][k], of))
		}
	}
	return x
}

// Draw draws the genotypes of two birds that are kin in a way, at all markers and with
// errors.
func (p *Panel) Draw(random *rand.Rand, as Sharing, error float64) Pair {
	x := Pair{make([][2]float64, 0, len(p.Frequency)), (1 - error) * (1 - error)}
	for _, of := range p.Frequency {
		gene := func() int16 {
			left := random.Float64()
			for a, frequency := range of {
				if left -= frequency; left < 0 {
					return int16(a)
				}
			}
			return int16(len(of) - 1) // what rounding leaves
		}
		a, b := genotype{gene(), gene()}, genotype{gene(), gene()}
		if random.Float64() < x.right {
			switch which := random.Float64(); {
			case which < as[2]:
				b = a
			case which < as[1]+as[2]:
				b[0] = a[0]
			}
		}
		x.times = append(x.times, shared(a, b, of))
	}
	return x
}

// shared returns how many times as likely two genotypes are in birds that share one gene,
// and both, as in birds that share none.
func shared(a, b genotype, frequency []float64) (times [2]float64) {
	for _, x := range a {
		for _, y := range b {
			if x == y {
				times[0] += 1 / (4 * frequency[x])
			}
		}
	}
	if a == b || a == (genotype{b[1], b[0]}) {
		times[1] = 1 / (frequency[a[0]] * frequency[a[1]])
		if a[0] != a[1] {
			times[1] /= 2
		}
	}
	return times
}

// Compared returns at how many markers both were typed.
func (x Pair) Compared() int { return len(x.times) }

// LogLikelihood returns the natural logarithm of how many times as likely what was found
// of the two is if they are kin in a way as if they are unrelated. Where either genotype
// is an error they tell nothing of each other.
func (x Pair) LogLikelihood(as Sharing) float64 {
	sum, product := 0.0, 1.0
	for _, times := range x.times {
		product *= x.right*(as[0]+as[1]*times[0]+as[2]*times[1]) + 1 - x.right
		if product < 1e-100 || product > 1e100 { // a logarithm takes longer than all else
			sum, product = sum+math.Log(product), 1
		}
	}
	return sum + math.Log(product)
}

const (
	sharingSteps = 2000 // at most, towards the likeliest sharing
	sharingNear  = 1e-9 // two steps are the same that differ by no more
)

// Sharing returns the likeliest sharing of the two (Milligan 2003, of birds that are not
// inbred), Unrelated where nothing was compared. Its kinship lies above 0 for many a pair
// that is unrelated, and is as uncertain as the markers are few. The likelihood is that of
// a mixture of three, whose logarithm has one maximum, and each step of the
// expectation-maximisation algorithm raises it.
func (x Pair) Sharing() Sharing {
	if len(x.times) == 0 {
		return Unrelated
	}
	s := Sharing{1.0 / 3, 1.0 / 3, 1.0 / 3}
	for range sharingSteps {
		var next Sharing
		for _, times := range x.times {
			part := Sharing{s[0], s[1] * (x.right*times[0] + 1 - x.right), s[2] * (x.right*times[1] + 1 - x.right)}
			all := (part[0] + part[1] + part[2]) * float64(len(x.times))
			for k := range next {
				next[k] += part[k] / all
			}
		}
		moved := math.Abs(next[1]-s[1]) + math.Abs(next[2]-s[2])
		if s = next; moved < sharingNear {
			break
		}
	}
	return s
}
