package forecast

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"pairwright/pairing"
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
	f.leaveOut()
	c := choice{f: f, cost: make([]float64, f.stride), exact: true}
	for _, i := range f.living {
		w := f.worth(i)
		if w == 0 {
			continue
		}
		floats.AddScaled(c.cost, w, f.row(i)) // slots that nobody has too
	}
	d.bond(&c)
	c.chicks(false)
	c.chicks(true)
}

// bond forms the pairs whose values add up to most.
func (d Decision) bond(c *choice) {
	f := c.f
	m := d.market(c)
	if len(m.females) == 0 {
		return
	}
	if f.rules.Places != nil {
		for place := range f.rules.Places {
			m.Rooms = append(m.Rooms, bonds.Room{Females: -1, Males: -1, Birds: max(0, f.room(place))})
		}
		for _, i := range m.females {
			m.FemaleAt = append(m.FemaleAt, f.birds[i].place)
		}
		for _, i := range m.males {
			m.MaleAt = append(m.MaleAt, f.birds[i].place)
		}
	}
	answer, err := m.Solve(context.Background())
	if err != nil {
		panic("forecast: " + err.Error()) // a background context has no end
	}
	for _, pair := range answer.Pairs {
		dam, sire := m.females[pair.Female], m.males[pair.Male]
		to := f.birds[dam].place
		if pair.Mover == bonds.FemaleMoves {
			to = f.birds[sire].place
		}
		f.propose(dam, sire)
		f.bondAt(dam, sire, to)
	}
}

// market is the free birds of which a pair may be formed at all, by slot, and what
// each pair is worth.
type market struct {
	females, males []int
	bonds.Problem
}

// market values the pairs of free birds. Those that no choice of pairs would have
// are left out: without value, or with less than a move must add.
func (d Decision) market(c *choice) *market {
	f := c.f
	s := &f.season
	mean, spread := d.values(c)
	m := &market{Problem: bonds.Problem{Moves: -1, LeastGain: d.LeastGain * spread, Work: decisionWork, PairsAlone: true}}
	wanted := make([]bool, len(s.males))
	open := f.openPairs()
	for r, dam := range s.females {
		var row []float64
		for k, sire := range s.males {
			gain := mean - c.of(dam, sire)
			if gain <= 0 || !open[r][k] {
				continue
			}
			value, least := d.chicks(f, dam, sire)*(gain-d.BondPrice*f.rules.bondTakes(f.birds[dam].age, f.birds[sire].age)), 0.0
			if f.birds[dam].place != f.birds[sire].place {
				value, least = value-d.MovePrice, m.LeastGain
			}
			if value <= least {
				continue
			}
			if row == nil {
				row = slices.Repeat([]float64{math.Inf(-1)}, len(s.males))
			}
			row[k], wanted[k] = value, true
		}
		if row != nil {
			m.females, m.Value = append(m.females, dam), append(m.Value, row)
		}
	}
	for k, sire := range s.males {
		if wanted[k] {
			m.males = append(m.males, sire)
		}
	}
	for _, row := range m.Value {
		at := 0
		for k := range wanted {
			if wanted[k] {
				row[at] = row[k]
				at++
			}
		}
	}
	for i := range m.Value {
		m.Value[i] = m.Value[i][:len(m.males)]
	}
	return m
}

// openPairs returns which pairs of the free females and males may be formed: those that
// may bond, and whose chick would reach the preferred F only where one of the two birds
// is in no other.
func (f *flock) openPairs() [][]bool {
	s, most := &f.season, f.rules.PreferInbreeding
	if most > 0 {
		most = f.raised(most)
	}
	may, good := make([][]bool, len(s.females)), make([][]bool, len(s.females))
	hers, his := make([]bool, len(s.females)), make([]bool, len(s.males)) // who is in a good pair
	for r, dam := range s.females {
		may[r], good[r] = make([]bool, len(s.males)), make([]bool, len(s.males))
		for k, sire := range s.males {
			if may[r][k] = f.mayBond(dam, sire); !may[r][k] {
				continue
			}
			if most == 0 || !pairing.TooClose(f.of(dam, sire), most) {
				good[r][k], hers[r], his[k] = true, true, true
			}
		}
	}
	for r := range good {
		for k := range good[r] {
			good[r][k] = good[r][k] || may[r][k] && !(hers[r] && his[k])
		}
	}
	return good
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
	// With a the chicks: Σx, Σa, Σax, Σa², Σa²x and Σa²x².
	var n, x1, a1, ax, a2, a2x, a2x2 float64
	males := make([]struct {
		slot, age int
		cost      float64
	}, len(sires))
	oldest := 0
	for k, sire := range sires {
		males[k].slot, males[k].age, males[k].cost = sire, f.birds[sire].years(), c.cost[sire]
		oldest = max(oldest, males[k].age)
	}
	known := make(map[int][]float64) // chicks of females of an age, by that of the male
	for _, dam := range dams {
		row, age := f.row(dam), f.birds[dam].years()
		ahead := known[age]
		if ahead == nil {
			ahead = make([]float64, oldest+1)
			for his := range ahead {
				ahead[his] = f.rules.ahead(age, his, d.SeasonsAhead)
			}
			known[age] = ahead
		}
		cost := c.cost[dam]
		for k := range males {
			sire := &males[k]
			kinship := row[sire.slot]
			if kinship >= f.season.tooClose {
				continue
			}
			x, a := cost+sire.cost+(1+kinship)/2, ahead[sire.age]
			n++
			x1, a1, ax = x1+x, a1+a, ax+a*x
			a2, a2x, a2x2 = a2+a*a, a2x+a*a*x, a2x2+a*a*x*x
		}
	}
	if n == 0 {
		return 0, 0
	}
	mean = x1 / n
	first, second := (mean*a1-ax)/n, (mean*mean*a2-2*mean*a2x+a2x2)/n
	return mean, math.Sqrt(max(0, second-first*first))
}

// chicks returns the chicks that a pair can be expected to hatch in the seasons
// looked ahead to, where a settled pair that is not inbred hatches one a season.
func (d Decision) chicks(f *flock, dam, sire int) float64 {
	x := f.rules.ahead(f.birds[dam].years(), f.birds[sire].years(), d.SeasonsAhead)
	if k := f.of(dam, sire); k > 0 && x > 0 {
		x *= math.Exp(-f.rules.LethalEquivalents * k)
	}
	return x
}

// ahead returns the seasons ahead that two birds of these ages can be expected to
// breed in together if they bond now, the first counted by its share.
func (g *ground) ahead(female, male, seasons int) float64 {
	if t := g.tabled(female, male); t != nil && seasons == g.seasons {
		return t.seasons
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

// bondTakes returns the worth that a bond takes from two birds of these ages: what
// they are worth free, less what they are worth bonded to each other.
func (g *ground) bondTakes(female, male int) float64 {
	if t := g.tabled(female, male); t != nil {
		return t.takes
	}
	dams, sires := g.worth[Female], g.worth[Male]
	if dams == nil || sires == nil {
		return 0
	}
	a, b := float64(female), float64(male)
	return dams.Free(a) - dams.Bonded(a, b) + sires.Free(b) - sires.Bonded(b, a)
}

// prospect is what a female and a male of some ages have before them together.
type prospect struct{ seasons, takes float64 }

// tabled returns the prospect of two ages, nil where there is no table of it.
func (g *ground) tabled(female, male int) *prospect {
	if female < len(g.together) && male < len(g.together[female]) {
		return &g.together[female][male]
	}
	return nil
}

// look tables what pairs have before them in a number of seasons.
func (g *ground) look(seasons int) {
	together := make([][]prospect, len(g.Female.Survival)+1)
	for female := range together {
		together[female] = make([]prospect, len(g.Male.Survival)+1)
		for male := range together[female] {
			together[female][male] = prospect{g.ahead(female, male, seasons), g.bondTakes(female, male)}
		}
	}
	g.seasons, g.together = seasons, together
}
