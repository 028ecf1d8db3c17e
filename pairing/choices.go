package pairing

import (
	"context"
	"math"
	"slices"

	"pairwright/pairing/internal/bonds"
)

// Choice is one mate that a bird could have, as the decision sees it.
type Choice struct {
	Mate      int
	Advantage float64 // of one chick, in weighted gene diversity; see Ranking.AllAlike
	Chicks    float64 // expected in the coming season
	// ChicksAhead are those of all the seasons that a decision counts, BondTakes what
	// a new bond takes of the worth of the two birds: what Value is made of.
	ChicksAhead, BondTakes float64
	Value                  float64 // of the pair: ChicksAhead × Advantage, less the prices of the bond and of a move
	// NetGain is what the programme gains by the pair, less what the mate would do
	// otherwise: value(i,j) + W(without i and j) − W(without i), W the largest sum
	// of values over the free birds that remain. It ranks the mates of one bird: for
	// the other bird of the same pair it is another figure.
	NetGain float64
	// Charge is what NetGain has taken off beside the prices in Value: of a pair that needs
	// a move and is not formed what a move must be worth, the decision's LeastGain, and
	// what the room that it takes is worth to others, so that no choice of pairs would
	// gain more than the one made; of one that cannot be formed whatever Value has above
	// zero. Charged is true of the first.
	Charge  float64
	Charged bool
	Rating
	// Otherwise is whom the mate would be paired with if the bird were not there;
	// -1 if nobody.
	Otherwise int
	Move      bool // one of the two would have to move
	Late      bool // and would come too late for the coming season
	// Open is true of a pair that the decision may form. Others would be too
	// inbred, or may be closer kin than anybody knows, for a bird that has other
	// mates, or neither bird may move.
	Open bool
}

// WorthNoMove reports whether a pair that the decision does not form would gain
// something, and less than a move must be worth, with which its NetGain is charged.
// gain is what it would gain, from 0 to LeastGain.
func (d *Decision) WorthNoMove(x *Choice) (gain float64, is bool) {
	gain = x.NetGain + d.LeastGain
	return gain, x.Charged && x.NetGain <= 0 && gain > 0
}

// Charged returns the net gain of a pair that the decision forms as that of the others
// is: less what a move must be worth, if a bird moves for it.
func (d *Decision) Charged(netGain float64, moves bool) float64 {
	if moves {
		return netGain - d.LeastGain
	}
	return netGain
}

// unplaced returns the mates in the pool that a bird of the pool could have, in the
// order of the snapshot, without Rating; none for a bird that is not in the pool.
func (d *Decision) unplaced(b int) []Choice {
	if wide := d.letGo[b]; wide != nil {
		choices := wide.unplaced(b)
		for k := range choices {
			d.asAgreed(b, &choices[k])
		}
		return choices
	}
	g := d.gains(b)
	out := make([]Choice, 0, len(g.Net))
	r, female := d.free.row[b]
	c := d.free.column[b]
	for k := range g.Net {
		if female {
			c = k
		} else {
			r = k
		}
		if d.allowed(d.free.females[r], d.free.males[c]) {
			out = append(out, d.choice(r, c, b, g.Net[k], g.Loss[k], g.Otherwise[k]))
		}
	}
	slices.SortFunc(out, func(a, b Choice) int { return a.Mate - b.Mate })
	return out
}

// asAgreed takes what a move must be worth off no choice that people agreed on: the
// decision makes that move.
func (d *Decision) asAgreed(b int, x *Choice) {
	if mate, promised := d.rulings.mate[b]; !promised || mate != x.Mate || !x.Charged {
		return
	}
	x.NetGain, x.Charge, x.Charged = settled(x.NetGain+x.Charge), 0, false
}

// gains returns what each bird of the other sex in the pool would be worth as a mate of
// bird b; nothing if b is not in the pool.
func (d *Decision) gains(b int) bonds.Gains {
	if r, in := d.free.row[b]; in {
		return d.answer.OfFemale(r)
	}
	if c, in := d.free.column[b]; in {
		return d.answer.OfMale(c)
	}
	return bonds.Gains{}
}

// unplacedMate returns the choice of unplaced whose mate is a certain bird; ok is false
// where there is none.
func (d *Decision) unplacedMate(b, mate int) (x Choice, ok bool) {
	if wide := d.letGo[b]; wide != nil {
		x, ok = wide.unplacedMate(b, mate)
		d.asAgreed(b, &x)
		return x, ok
	}
	pair := d.pairOf(b, mate)
	r, in := d.free.row[pair[0]]
	c, too := d.free.column[pair[1]]
	if !in || !too || !d.allowed(d.free.females[r], d.free.males[c]) {
		return x, false
	}
	k, own, at := c, d.answer.OfItsMale, r // k is the mate among those of its sex
	if mate == pair[0] {
		k, own, at = r, d.answer.OfItsFemale, c
	}
	if d.answer.Mate[r] == c {
		net, otherwise := own(at)
		return d.choice(r, c, b, net, d.answer.Adjusted[r][c]-net, otherwise), true
	}
	g := d.gains(b)
	return d.choice(r, c, b, g.Net[k], g.Loss[k], g.Otherwise[k]), true
}

// choice returns the pair in a row and a column of the pool as a choice for b, one of the
// two birds; net, loss and otherwise are what bonds.Gains says of the other bird.
func (d *Decision) choice(r, c, b int, net, loss float64, otherwise int) Choice {
	p, f, m := d.p, d.free.females[r], d.free.males[c]
	female, male := d.m.females[f], d.m.males[m]
	pair := d.m.pair(f, m)
	x := Choice{Mate: male, Advantage: d.m.advantage(pair), Otherwise: -1, Open: d.open[r][c], NetGain: net, Value: settled(d.value(f, m))}
	side, numbers := d.m.females, d.free.females
	if b == male {
		x.Mate, side, numbers = female, d.m.males, d.free.males
	}
	if otherwise >= 0 {
		x.Otherwise = side[numbers[otherwise]]
	}
	x.Move = p.Book.Birds[female].Location != p.Book.Birds[male].Location
	x.Late = d.m.begins(pair) > 0
	mated := slices.Contains(p.Mates(female), male)
	x.Chicks, x.ChicksAhead = d.m.chicksIn(pair, 0, !mated), d.m.chicksAhead(pair, !mated)
	if !mated {
		x.BondTakes = d.m.w.bondTakesOf(&pair.her.future, &pair.his.future)
	}
	adjusted := d.answer.Adjusted[r][c]
	if !x.Open || math.IsInf(adjusted, 0) {
		// Never formed, and so worth nothing to anybody's choice.
		x.Open, x.Charge = false, max(0, x.Value)
		x.NetGain = settled(x.Value - x.Charge - loss)
		return x
	}
	hard := p.hardship(female, male) * d.m.unit // what tells equal pairs apart is no part of the figures
	x.NetGain, x.Charge = settled(x.NetGain+hard), settled(x.Value-adjusted-hard)
	x.Charged = x.Move && d.answer.Mate[r] != c
	return x
}

// settled takes from a figure what rounding alone has left of it: a pair that gains nothing
// must not be advised for the last digit of a difference.
func settled(figure float64) float64 {
	const leftOver = 1e-10 // sums of values are some 1e3 at most, with 16 digits
	if math.Abs(figure) < leftOver {
		return 0
	}
	return figure
}

// Choices returns the mates that a bird could have, by their number in the
// snapshot: the free birds, and its own mate for a bird that has one, as if the
// two were parted; with all also birds that are bonded to others, as if every bond
// might be parted. None for a bird that cannot breed in the season.
func (d *Decision) Choices(ctx context.Context, b int, all bool) ([]Choice, error) {
	choices, err := d.allUnplaced(ctx, b, all)
	values := make([]float64, len(choices))
	for k, x := range choices {
		values[k] = x.Value
	}
	for k, rating := range d.m.aheadOfEach(values) {
		choices[k].Rating = rating
	}
	return choices, err
}

// allUnplaced returns Choices without their Rating.
func (d *Decision) allUnplaced(ctx context.Context, b int, all bool) ([]Choice, error) {
	from, err := d.pool(ctx, b, all)
	if err != nil {
		return nil, err
	}
	return from.unplaced(b), nil
}

// pool returns the decision in which all birds are free that Choices considers for bird b.
func (d *Decision) pool(ctx context.Context, b int, all bool) (*Decision, error) {
	if d.m.number[b] < 0 || (d.free.has(b) || d.letGo[b] != nil) && !all {
		return d, nil
	}
	return d.with(ctx, func(x int) bool {
		return all || x == b || slices.Contains(d.p.Mates(b), x) || d.released(x) && !d.promised(x)
	})
}
