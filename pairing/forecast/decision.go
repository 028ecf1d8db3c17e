package forecast

import (
	"context"
	"math"

	"pairwright/pairing/internal/bonds"
)

// Decision is the season's decision. Each living bird counts with its worth to
// the future w (see demography.Worth), so that with chicks of worth 1 the sum
// that a chick of birds i and j adds to is S_w = Σ Σ w w f, by
//
//	x_ij = Σ_k w_k (f_ik + f_jk) + (1 + f_ij)/2
//
// Free birds are bonded so that the sum of the values of the pairs is largest,
// those without value left alone,
//
//	value = chicks·(x̄ - x_ij) - λ chicks·L - μ [a bird moves]
//
// with the chicks that the pair can be expected to hatch in SeasonsAhead
// seasons, x̄ the mean of all pairs of breeding age that are not too close kin,
// and L what the bond takes from the worth of the two. Then the chicks are
// allowed that add least to the sum of the flock with the chicks allowed before.
// Where all pairs together fall short of the chicks wanted, birds left alone are
// bonded too, those first whose chicks add least: genes cannot be kept in a flock
// that dies out.
type Decision struct {
	BondPrice    float64 // λ
	MovePrice    float64 // μ
	SeasonsAhead int
	// LeastGain is what a move must add to the sum of the values, in standard
	// deviations of chicks·(x̄ - x_ij) over the pairs of breeding age, as if no
	// chick were inbred.
	LeastGain float64
}

// decisionWork is how much work goes into a season's pairs. Sixty times as much
// finds pairs that are better by less than luck lets be seen after a century.
const decisionWork = 1_000_000

// Name implements Policy.
func (Decision) Name() string { return "decision" }

func (d Decision) choose(f *flock) {
	c := choice{f: f, cost: make([]float64, f.stride), exact: true}
	for _, i := range f.living {
		w := f.worth(i)
		if w == 0 {
			continue
		}
		row := f.row(i)
		for _, j := range f.living {
			c.cost[j] += w * row[j]
		}
	}
	d.bond(&c)
	c.chicks(false)
	c.chicks(true)
}

// bond forms the pairs whose values add up to most.
func (d Decision) bond(c *choice) {
	f := c.f
	s := &f.season
	if len(s.females) == 0 || len(s.males) == 0 {
		return
	}
	mean, spread := d.values(c)
	p := bonds.Problem{Moves: -1, LeastGain: d.LeastGain * spread, Work: decisionWork}
	for _, dam := range s.females {
		row := make([]float64, len(s.males))
		for k, sire := range s.males {
			row[k] = math.Inf(-1)
			if f.mayBond(dam, sire) {
				chicks := d.chicks(f, dam, sire)
				value, least := chicks*(mean-c.of(dam, sire)-d.BondPrice*f.bondTakes(dam, sire)), 0.0
				if f.birds[dam].place != f.birds[sire].place {
					value, least = value-d.MovePrice, p.LeastGain
				}
				if value > least { // else no choice of pairs would have it
					row[k] = value
				}
			}
		}
		p.Value = append(p.Value, row)
	}
	if f.rules.Places != nil {
		for place, most := range f.rules.Places {
			p.Rooms = append(p.Rooms, bonds.Room{Females: -1, Males: -1, Birds: max(0, most-f.held[place])})
		}
		for _, i := range s.females {
			p.FemaleAt = append(p.FemaleAt, f.birds[i].place)
		}
		for _, i := range s.males {
			p.MaleAt = append(p.MaleAt, f.birds[i].place)
		}
	}
	answer, err := p.Solve(context.Background())
	if err != nil {
		panic("forecast: " + err.Error()) // a background context has no end
	}
	for _, pair := range answer.Pairs {
		dam, sire := s.females[pair.Female], s.males[pair.Male]
		to := f.birds[dam].place
		if pair.Mover == bonds.FemaleMoves {
			to = f.birds[sire].place
		}
		f.propose(dam, sire)
		f.bondAt(dam, sire, to)
	}
}

// values returns the mean of x_ij over the pairs of breeding age, bonds aside,
// and the standard deviation of chicks·(x̄ - x_ij), as if no chick were inbred.
func (d Decision) values(c *choice) (mean, spread float64) {
	f := c.f
	var dams, sires []int
	for _, i := range f.living {
		switch {
		case !f.fit(i):
		case f.birds[i].sex == Female:
			dams = append(dams, i)
		default:
			sires = append(sires, i)
		}
	}
	each := func(do func(dam, sire int)) {
		for _, dam := range dams {
			for _, sire := range sires {
				if f.of(dam, sire) < f.season.tooClose {
					do(dam, sire)
				}
			}
		}
	}
	n := 0.0
	each(func(dam, sire int) { n, mean = n+1, mean+c.of(dam, sire) })
	if n == 0 {
		return 0, 0
	}
	mean /= n
	if d.LeastGain == 0 {
		return mean, 0
	}
	sum, squares := 0.0, 0.0
	each(func(dam, sire int) {
		v := f.rules.ahead(f.birds[dam].age, f.birds[sire].age, d.SeasonsAhead) * (mean - c.of(dam, sire))
		sum, squares = sum+v, squares+v*v
	})
	return mean, math.Sqrt(max(0, squares/n-sum/n*sum/n))
}

// chicks returns the chicks that a pair can be expected to hatch in the seasons
// looked ahead to, where a settled pair that is not inbred hatches one a season.
func (d Decision) chicks(f *flock, dam, sire int) float64 {
	x := f.rules.ahead(f.birds[dam].age, f.birds[sire].age, d.SeasonsAhead)
	if k := f.of(dam, sire); k > 0 && x > 0 {
		x *= math.Exp(-f.rules.LethalEquivalents * k)
	}
	return x
}

// ahead returns the seasons ahead that two birds of these ages can be expected to
// breed in together if they bond now, the first counted by its share.
func (g *ground) ahead(female, male, seasons int) float64 {
	if seasons == g.seasons && female < len(g.together) && male < len(g.together[female]) {
		return g.together[female][male]
	}
	sum, both := 0.0, 1.0
	for n := range seasons {
		if g.Female.Breeds(female+n) && g.Male.Breeds(male+n) {
			if n == 0 {
				sum += both * g.FirstSeason
			} else {
				sum += both
			}
		}
		both *= g.Female.SurvivalAt(female+n) * g.Male.SurvivalAt(male+n)
	}
	return sum
}

// look tables ahead for a number of seasons.
func (g *ground) look(seasons int) {
	together := make([][]float64, len(g.Female.Survival)+1)
	for female := range together {
		together[female] = make([]float64, len(g.Male.Survival)+1)
		for male := range together[female] {
			together[female][male] = g.ahead(female, male, seasons)
		}
	}
	g.seasons, g.together = seasons, together
}
