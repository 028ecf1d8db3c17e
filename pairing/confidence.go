package pairing

import (
	"context"
	"math"
	"slices"

	"pairwright/pairing/internal/bonds"
)

// anewMost is how many pairs a decision may choose from that is taken anew in possible
// pedigrees: with more the time would be noticed. A variable for the sake of tests.
var anewMost = 1 << 12

// mayDecideAnew reports whether the confidence of a ranking comes from taking the decision
// anew in every possible pedigree. That needs few free birds, the bird among them.
func (r *Ranker) mayDecideAnew(out *Ranking) bool {
	free := &r.d.free
	return free.has(out.Bird) && !r.o.BreakBonds && len(free.females)*len(free.males) <= anewMost
}

// weighAnew weighs candidates by the decision taken anew. No parent is in doubt there.
func (r *Ranker) weighAnew(ctx context.Context, drawn []possibility, out *Ranking) (func(s *possibility) weighing, error) {
	if err := r.decideAnew(ctx, drawn); err != nil {
		return nil, err
	}
	x, free := r.drawn.offer, &r.d.free
	row, female := free.row[out.Bird]
	column := free.column[out.Bird]
	return func(s *possibility) weighing {
		b := s.number[out.Bird]
		kinship := s.kinshipsOf(b)
		var g bonds.Gains
		if female {
			g = s.anew.OfFemale(row)
		} else {
			g = s.anew.OfMale(column)
		}
		return func(_ int, c *Candidate) {
			r, m, at := row, free.column[c.Bird], free.column[c.Bird]
			if !female {
				r, m, at = free.row[c.Bird], column, free.row[c.Bird]
			}
			y, mate := &x.pairs[r][m], s.number[c.Bird]
			c.OffspringInbreeding, c.doubtful = kinship(mate), false
			chicks, advantage := x.in(s, y, b, mate, c.OffspringInbreeding)
			c.Advantage = advantage
			if c.NetGain = g.Net[at]; math.IsInf(c.NetGain, -1) { // it is not open, and worth nothing to anybody's choice
				c.NetGain = min(0, y.value(chicks, advantage)) - g.Loss[at]
				return
			}
			if c.NetGain = settled(c.NetGain + y.hardship); y.moves && s.anew.Mate(r) == m {
				c.NetGain -= x.d.LeastGain
			}
		}
	}, nil
}

// decideAnew takes the decision anew in possible pedigrees, once.
func (r *Ranker) decideAnew(ctx context.Context, drawn []possibility) error {
	r.drawn.Lock()
	defer r.drawn.Unlock()
	if r.drawn.offer == nil {
		r.drawn.offer = r.d.offer()
	}
	if !slices.ContainsFunc(drawn, func(s possibility) bool { return s.anew == nil }) {
		return nil
	}
	return inParallel(ctx, len(drawn), func(s int) error {
		if drawn[s].anew == nil {
			drawn[s].anew = r.drawn.offer.chooseIn(&drawn[s])
		}
		return nil
	})
}

// offer holds the pairs that a decision chooses from, with the figures of each that are the
// same in every possible pedigree.
type offer struct {
	d     *Decision
	pairs [][]offered // by row and column of the free birds
}

// offered is a pair of free birds.
type offered struct {
	may   bool // but for their kinship the two may be paired
	moves bool // one of them would have to move
	// kinship, chicks and advantage are those of the programme's own pedigree.
	kinship, chicks, advantage float64
	takes                      float64 // the price of the bond, of a chick
	hardship                   float64 // see Programme.hardship; it is taken off rest and is no part of the figures
	// rest is what is added for all else: the prices of a move, charged as one that is
	// not made, and of the room that it takes; −Inf where the two cannot come together.
	rest float64
}

// value is what the pair is worth with so many chicks of an advantage.
func (y *offered) value(chicks, advantage float64) float64 {
	return chicks*(advantage-y.takes) + y.rest
}

// offer gathers the pairs of the free birds.
func (d *Decision) offer() *offer {
	x := &offer{d: d, pairs: make([][]offered, len(d.free.females))}
	hers, his := d.travellers(d.m.females, d.free.females), d.travellers(d.m.males, d.free.males)
	for r, f := range d.free.females {
		x.pairs[r] = make([]offered, len(d.free.males))
		for c, m := range d.free.males {
			female, male := d.m.females[f], d.m.males[m]
			pair, mated := d.m.pair(f, m), slices.Contains(d.p.Mates(female), male)
			_, no := d.DeclinedPair(female, male)
			y := offered{
				may: !no && !d.putsOff(f, m), moves: d.livesAt(female) != d.livesAt(male),
				kinship: pair.kinship, chicks: d.m.chicksAhead(pair, !mated), advantage: d.m.advantage(pair), hardship: d.p.hardship(female, male) * d.m.unit,
			}
			if !mated {
				y.takes = bondPrice * d.m.w.bondTakesOf(&pair.her.future, &pair.his.future) * d.m.unit
			}
			value := d.answer.Adjusted[r][c]
			switch formed := d.answer.Mate[r] == c; {
			case !math.IsInf(value, -1) && y.moves && formed:
				value -= d.LeastGain
			case !math.IsInf(value, -1):
			default: // it is not open
				value = d.valueAs(f, m, d.m.valueOf(pair)) - y.hardship
				if y.moves {
					var ways bonds.Ways
					if hers[r].stays && his[c].stays {
						ways = d.waysOf(female, male, hers[r].may, his[c].may)
					}
					value -= d.answer.Charge(r, c, ways)
				}
			}
			y.rest = value - y.value(y.chicks, y.advantage)
			x.pairs[r][c] = y
		}
	}
	return x
}

// in returns the chicks of a pair and the advantage of one in a possible pedigree, in which
// the two have numbers and a kinship.
func (x *offer) in(s *possibility, y *offered, a, b int, kinship float64) (chicks, advantage float64) {
	chicks, advantage = y.chicks, y.advantage
	if kinship != y.kinship {
		chicks *= math.Exp(x.d.p.Settings().LethalEquivalents * (y.kinship - kinship))
	}
	if !x.d.m.alike {
		advantage = s.gainFromChick(a, b, kinship) - s.average
	}
	return chicks, advantage
}

// chooseIn chooses anew in a possible pedigree: who may be paired by the kinships there, by
// the rule of openPairs. What a move must be worth and what room costs stay as they are.
func (x *offer) chooseIn(s *possibility) *bonds.Anew {
	d := x.d
	females, males := make([]int, len(d.free.females)), make([]int, len(d.free.males))
	for r, f := range d.free.females {
		females[r] = s.number[d.m.females[f]]
	}
	for c, m := range d.free.males {
		males[c] = s.number[d.m.males[m]]
	}
	values, open := make([][]float64, len(females)), make([][]bool, len(females))
	s.kinshipRows(females, males, func(r int, kinships []float64) {
		values[r], open[r] = make([]float64, len(males)), make([]bool, len(males))
		for c, kinship := range kinships {
			y := &x.pairs[r][c]
			if values[r][c] = math.Inf(-1); !y.may || TooClose(kinship, d.limit) {
				continue
			}
			values[r][c], open[r][c] = y.value(x.in(s, y, females[r], males[c], kinship)), d.p.Preferred(kinship)
		}
	})
	addLastResorts(open, len(males), func(r, c int) bool { return !math.IsInf(values[r][c], -1) })
	for r, row := range open {
		for c, is := range row {
			if !is {
				values[r][c] = math.Inf(-1)
			}
		}
	}
	return d.answer.PairAnew(values, func(f, m int) bool { return x.pairs[f][m].moves }, d.LeastGain)
}
