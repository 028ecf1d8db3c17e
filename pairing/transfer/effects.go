package transfer

import (
	"math"
	"slices"

	"pairwright/pairing"
	"pairwright/pairing/internal/broods"
	"pairwright/pedigree"
	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook"
)

// Measures are the genetic figures of a population. After a season they are
// expectations.
type Measures struct {
	Size           float64 // birds
	GeneDiversity  float64 // 1 − mean kinship
	MeanKinship    float64 // mean over all pairs, selves included
	MeanInbreeding float64
	Known          bool // false where there is no bird: then all but Size is undefined
}

// Makeup is who lives in a place.
type Makeup struct {
	Females, Males, Unsexed int
	// BreedingFemales and BreedingMales may breed in the coming season.
	BreedingFemales, BreedingMales int
	MedianAge                      demography.Number // years, of the birds of known age
}

// Effect is what the moves of an option do to a place or to the programme.
type Effect struct {
	At string // code of the institution; "" for the programme
	// Before and After the moves, all else as it is; AfterSeason besides with
	// the chicks that the new pairs of the place may be expected to hatch in
	// their first season.
	Before, After, AfterSeason Measures
	MakeupBefore, MakeupAfter  Makeup
}

// Programme reports whether the effect is that on the whole programme.
func (e *Effect) Programme() bool { return e.At == "" }

// Brood returns the chance of 0, 1, 2, ... chicks that a pair hatches in a
// season: binomial, with the number of chicks expected as its mean, out of the
// most that a pair may hatch, or out of the next whole number above the mean if
// that is more. The chance is common practice without a source; the mean is
// what a ranking of mates expects.
func Brood(expected float64, most int) []float64 {
	n := max(most, int(math.Ceil(expected)), 1)
	return broods.Binomial(n, expected/float64(n))
}

// effects returns what an option does to the places that its birds leave and
// reach, in the order of its moves, or to the place where nobody moves, and
// then to the programme.
func effects(p *pairing.Programme, o *Option) []Effect {
	var ends []string
	add := func(at string) {
		if !slices.Contains(ends, at) {
			ends = append(ends, at)
		}
	}
	for _, m := range o.Moves {
		add(m.From)
		add(m.To)
	}
	for _, x := range o.Pairs {
		add(x.At)
	}
	var out []Effect
	for _, at := range ends {
		before := p.Book.LivingAt(at)
		after := slices.Clone(before)
		for _, m := range o.Moves {
			if m.From == at {
				after = slices.DeleteFunc(after, func(b int) bool { return b == m.Bird })
			}
			if m.To == at {
				after = append(after, m.Bird)
			}
		}
		slices.Sort(after)
		var here []*Pair
		for k := range o.Pairs {
			if o.Pairs[k].At == at {
				here = append(here, &o.Pairs[k])
			}
		}
		then := p.Population(after)
		out = append(out, Effect{
			At: at, Before: measure(p.Population(before)), After: measure(then), AfterSeason: season(p, then, here),
			MakeupBefore: makeup(p, before), MakeupAfter: makeup(p, after),
		})
	}
	var all []*Pair
	for k := range o.Pairs {
		all = append(all, &o.Pairs[k])
	}
	now := measure(p.Living)
	return append(out, Effect{
		Before: now, After: now, AfterSeason: season(p, p.Living, all),
		MakeupBefore: makeup(p, p.Book.Living), MakeupAfter: makeup(p, p.Book.Living),
	})
}

func measure(q *pedigree.Population) Measures {
	m := Measures{Size: float64(q.Size())}
	if m.MeanKinship, m.Known = q.MeanKinship(); m.Known {
		m.GeneDiversity, _ = q.GeneDiversity() // not 1 − MK, which may differ in the last digit
		m.MeanInbreeding, _ = q.MeanInbreeding()
	}
	return m
}

// season returns the figures to expect once the pairs have hatched the chicks
// of one season: the mean over all brood sizes, for gene diversity does not
// grow evenly with the chicks. The k_a chicks of the pair a, of the birds i and
// j, join the birds that are there and the broods before theirs, with the sums
//
//	with  = k_a(R_i + R_j)/2 + Σ_b<a k_a k_b (f_iu + f_iv + f_ju + f_jv)/4
//	among = pedigree.FullSibs of k_a
//
// R of a bird being the sum of its kinships with the birds there, u and v the
// birds of the pair b.
func season(p *pairing.Programme, q *pedigree.Population, pairs []*Pair) Measures {
	now := measure(q)
	if len(pairs) == 0 || !now.Known {
		return now
	}
	most := p.Settings().ChicksPerPair
	type brood struct {
		chance     []float64 // of each number of chicks
		with       float64   // (R_i + R_j)/2
		earlier    []float64 // kinship with a chick of each earlier pair
		inbreeding float64   // f_ij, F of a chick
		dam, sire  float64   // kinship of each parent with itself
	}
	broods := make([]brood, len(pairs))
	for a, pair := range pairs {
		i, j := p.Node(pair.Female), p.Node(pair.Male)
		broods[a] = brood{
			chance:     Brood(pair.Chicks, most),
			with:       (q.KinshipSumOf(i) + q.KinshipSumOf(j)) / 2,
			inbreeding: pair.Figures.OffspringInbreeding,
			dam:        (1 + p.Pedigree.F(i)) / 2,
			sire:       (1 + p.Pedigree.F(j)) / 2,
		}
		for _, other := range pairs[:a] {
			u, v := p.Node(other.Female), p.Node(other.Male)
			broods[a].earlier = append(broods[a].earlier,
				(p.Pedigree.Kinship(i, u)+p.Pedigree.Kinship(i, v)+p.Pedigree.Kinship(j, u)+p.Pedigree.Kinship(j, v))/4)
		}
	}
	out := Measures{Known: true}
	chicks := make([]float64, len(pairs))
	var add func(a int, chance, inbreeding float64, sum pedigree.KinshipSum)
	add = func(a int, chance, inbreeding float64, sum pedigree.KinshipSum) {
		if a == len(broods) {
			mk, _ := sum.MeanKinship()
			out.Size += chance * sum.Birds
			out.MeanKinship += chance * mk
			out.MeanInbreeding += chance * inbreeding / sum.Birds
			return
		}
		b := &broods[a]
		for k, c := range b.chance {
			if c == 0 {
				continue
			}
			chicks[a] = float64(k)
			with := b.with
			for e, f := range b.earlier {
				with += chicks[e] * f
			}
			add(a+1, chance*c, inbreeding+chicks[a]*b.inbreeding, sum.Join(chicks[a], chicks[a]*with, pedigree.FullSibs(chicks[a], b.inbreeding, b.dam, b.sire)))
		}
	}
	add(0, 1, now.MeanInbreeding*now.Size, q.Sum())
	out.GeneDiversity = 1 - out.MeanKinship
	return out
}

func makeup(p *pairing.Programme, birds []int) Makeup {
	var m Makeup
	var ages []float64
	for _, b := range birds {
		breeds := p.State(b).State.MayBreed()
		switch p.Book.Birds[b].Sex {
		case studbook.Female:
			m.Females++
			if breeds {
				m.BreedingFemales++
			}
		case studbook.Male:
			m.Males++
			if breeds {
				m.BreedingMales++
			}
		default:
			m.Unsexed++
		}
		if age, _, ok := p.Book.AgeYears(b); ok {
			ages = append(ages, age)
		}
	}
	m.MedianAge = demography.Median(ages)
	return m
}
