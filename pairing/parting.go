package pairing

import (
	"cmp"
	"context"
	"maps"
	"math"
	"slices"
	"sync"

	"pairwright/pedigree/studbook"
)

// Obstacle is a bond whose parting, when the season allows, would be worth more
// than parting birds should be worth, and that has had the seasons for which a new pair
// is chosen. Bonds are parted on a person's word alone.
type Obstacle struct {
	Female, Male int
	Worth        float64 // of this parting alone, in weighted gene diversity, what the pair is worth itself taken off

	// Weighed is true of those of which it was worked out what follows; see partingWork.
	Weighed bool
	// Advised is true of those that can be parted together: the one worth most, and each
	// further one that is still worth it once those before it are parted, and takes from
	// none of their birds the mate that it gets by that.
	Advised bool
	// Instead is, of one that is not advised, the advised bond, by female and male, after
	// whose parting this one is not worth it any more, or whose birds it would take a mate
	// from; -1 and -1 where nothing would come of
	// it, as the places that its birds could go to are full.
	Instead [2]int
	// Then is what follows: of an advised bond once those advised before it are parted too,
	// of another if it alone is.
	Then Aftermath
	// DecideBy is, of an advised bond, by when it is to be decided whether the two are
	// parted, because the decision has a new pair that would then not be formed: the first
	// of those days (see Undoing.By), which may have passed; 0 where there is no such pair,
	// or no day presses.
	DecideBy studbook.Day
}

// Undoing is an advised parting after which the decision would not form one of its new
// pairs: either the one is done or the other.
type Undoing struct {
	*Obstacle
	// By is when it is to be decided which: before the move that the new pair needs is to be
	// agreed on, else before pairs form; 0 where no day presses. It may have passed.
	By studbook.Day
}

// Aftermath is what else the decision would be if bonds were parted.
type Aftermath struct {
	Formed []Bond        // pairs that it does not have now, by place
	Alone  []int         // birds that have a mate and would have none, in the order of the snapshot
	Moves  []PlannedMove // that it has now and would not make
	Undone []Bond        // new pairs that it has now and would not form, by place
}

// MateOf returns whom a bird would get; ok is false if nobody.
func (a *Aftermath) MateOf(b int) (mate int, ok bool) {
	for k := range a.Formed {
		if x := &a.Formed[k]; x.Female == b || x.Male == b {
			return x.Mate(b), true
		}
	}
	return -1, false
}

// What follows if the two birds of a bond are parted; see Obstacle.Reasons.
const (
	PartedGets  Code = "parted_gets"  // Birds: one of the two, its new mate and, if one moves for that, which, From and To
	PartedAlone Code = "parted_alone" // Birds stay alone
	OthersGet   Code = "others_get"   // the same as PartedGets of two others
	MoveFalls   Code = "move_falls"   // Birds: who would not move, From and To
	UndoneBy    Code = "undone_by"    // of a new pair: Birds after whose parting it would not be formed, Date by when to decide which
	PairFalls   Code = "pair_falls"   // Birds: two of one place who would not become a pair
	DecideFirst Code = "decide_first" // Date: by when to decide whether they are parted, because of what falls then
	PartInstead Code = "part_instead" // Birds: the pair that may be parted, or this one instead
	PartNot     Code = "part_not"     // too little is gained where all birds are assigned anew

	PartUnweighed Code = "part_unweighed" // what follows was not worked out
)

// Reasons says what follows if the two are parted: what becomes of them, who else stays
// alone or is paired, and what moves fall away; of one that is not advised first what it
// would be instead of.
func (x *Obstacle) Reasons(p *Programme) []Reason {
	var why, others []Reason
	switch {
	case x.Advised:
	case !x.Weighed:
		return []Reason{{Code: PartUnweighed}}
	case x.Instead[0] >= 0:
		why = append(why, Reason{Code: PartInstead, Birds: p.birds(x.Instead[:]...)})
	default:
		why = append(why, Reason{Code: PartNot})
	}
	for k := range x.Then.Formed {
		y := &x.Then.Formed[k]
		r := Reason{Code: PartedGets, Birds: p.birds(y.Female, y.Male)}
		if y.Move != nil {
			r.Birds, r.From, r.To = append(r.Birds, &p.Book.Birds[y.Move.Bird]), y.Move.From, y.Move.To
		}
		switch {
		case y.Female == x.Female:
			why = append(why, r)
		case y.Male == x.Male:
			r.Birds[0], r.Birds[1] = r.Birds[1], r.Birds[0]
			why = append(why, r)
		default:
			r.Code = OthersGet
			others = append(others, r)
		}
	}
	if len(x.Then.Alone) > 0 {
		why = append(why, Reason{Code: PartedAlone, Birds: p.birds(x.Then.Alone...)})
	}
	for _, m := range x.Then.Moves {
		why = append(why, Reason{Code: MoveFalls, Birds: p.birds(m.Bird), From: m.From, To: m.To})
	}
	for k := range x.Then.Undone {
		if y := &x.Then.Undone[k]; y.Move == nil {
			why = append(why, Reason{Code: PairFalls, Birds: p.birds(y.Female, y.Male)})
		}
	}
	why = append(why, others...)
	if x.DecideBy != 0 {
		why = append(why, Reason{Code: DecideFirst, Date: x.DecideBy.Date()})
	}
	return why
}

// Reason says an undoing as a reason of the new pair that it would be instead of.
func (u *Undoing) Reason(p *Programme) Reason {
	r := Reason{Code: UndoneBy, Birds: p.birds(u.Female, u.Male)}
	if u.By != 0 {
		r.Date = u.By.Date()
	}
	return r
}

// partings are the bonds of the programme that stand in the way, once they are asked for.
type partings struct {
	sync.Mutex
	known bool
	all   []Obstacle           // the worst first
	alone map[[2]int]Aftermath // of those not advised, once it is asked for
}

// inTheWay lists the bonds of a scope that stand in the way, the worst first.
func (d *Decision) inTheWay(ctx context.Context, has func(place string) bool) ([]Obstacle, error) {
	c := d.partings
	c.Lock()
	defer c.Unlock()
	if !c.known {
		all, err := d.findInTheWay(ctx)
		if err != nil {
			return nil, err
		}
		c.all, c.known, c.alone = all, true, map[[2]int]Aftermath{}
	}
	var out []Obstacle
	for _, x := range c.all {
		bond, _ := d.BondOf(x.Female)
		if !has(bond.Place) {
			continue
		}
		if pair := x.pair(); x.Weighed && !x.Advised {
			if _, known := c.alone[pair]; !known {
				then, err := d.ifParted(ctx, pair)
				if err != nil {
					return nil, err
				}
				c.alone[pair] = d.until(then)
			}
			x.Then = c.alone[pair]
		}
		out = append(out, x)
	}
	return out, nil
}

// What follows of a parting takes the decision anew, which takes the longer the more free birds
// there are. In a programme of a few hundred birds that is done for every bond that stands in
// the way; in one of thousands partingWork, in pairs of free birds looked at, ends it after the
// worst ones, and never before the first fewestWeighed of them.
const (
	partingWork   = 400_000
	fewestWeighed = 1
)

// InTheWay returns what there is to say of the bond of a bird if it stands in the way; is is
// false of every other bird. The first call takes the time. The error is ctx's.
func (d *Decision) InTheWay(ctx context.Context, b int) (x Obstacle, is bool, err error) {
	bond, paired := d.BondOf(b)
	if !paired || bond.Kind != BondKept {
		return x, false, nil
	}
	all, err := d.inTheWay(ctx, func(place string) bool { return place == bond.Place })
	for _, x := range all {
		if x.Female == b || x.Male == b {
			return x, true, nil
		}
	}
	return x, false, err
}

// UndoneBy returns the advised parting after which the decision would not form a new pair of
// its own; nil where it is formed in any case, as one that people agreed on is. The first
// call takes the time. The error is ctx's.
func (d *Decision) UndoneBy(ctx context.Context, x *Bond) (*Undoing, error) {
	if x.Kind != BondNew || x.Word != nil {
		return nil, nil
	}
	if _, err := d.inTheWay(ctx, func(string) bool { return false }); err != nil {
		return nil, err
	}
	for k := range d.partings.all {
		if o := &d.partings.all[k]; o.Advised && o.undoes(x) {
			return &Undoing{o, d.decideBy(x)}, nil
		}
	}
	return nil, nil
}

// undoes reports whether a new pair would not be formed, or not by the same move.
func (x *Obstacle) undoes(y *Bond) bool {
	return slices.ContainsFunc(x.Then.Undone, func(z Bond) bool { return z.Female == y.Female && z.Male == y.Male }) ||
		y.Move != nil && slices.Contains(x.Then.Moves, *y.Move)
}

// decideBy returns by when it is to be decided whether a new pair is to be formed; see
// Undoing.
func (d *Decision) decideBy(x *Bond) studbook.Day {
	if x.Move == nil {
		return d.p.PairsForm()
	}
	t := d.p.Timing(x.Move.Bird, x.Move.From, x.Move.To)
	if t.Latest == 0 {
		return 0
	}
	_, weeks := d.p.Border(x.Move.From, x.Move.To)
	return AgreeBy(weeks, t.Latest)
}

// decideFirst is DecideBy of an advised parting.
func (d *Decision) decideFirst(x *Obstacle) (first studbook.Day) {
	for k := range d.Bonds {
		if y := &d.Bonds[k]; y.Kind == BondNew && y.Word == nil && x.undoes(y) {
			if by := d.decideBy(y); by != 0 && (first == 0 || by < first) {
				first = by
			}
		}
	}
	return first
}

// mayFall fills in UndoneBy of the pairs of a plan.
func (d *Decision) mayFall(ctx context.Context, pairs []PlannedPair) (err error) {
	for k := range pairs {
		if x := &pairs[k].Bond; err == nil {
			x.UndoneBy, err = d.UndoneBy(ctx, x)
		}
	}
	return err
}

func (x *Obstacle) pair() [2]int { return [2]int{x.Female, x.Male} }

// findInTheWay lists the bonds of the programme that stand in the way, the worst first, and
// which of them can be parted together. That of a bird on hold is none of them: it will
// breed again, which the worth of parting does not know.
func (d *Decision) findInTheWay(ctx context.Context) ([]Obstacle, error) {
	var kept []Bond
	for _, x := range d.Bonds {
		onHold := d.p.State(x.Female).State == StateOnHold || d.p.State(x.Male).State == StateOnHold
		if x.Kind == BondKept && !onHold && d.rulings.noParts[[2]int{x.Female, x.Male}] == nil && d.p.tried(x.Female, x.Male) {
			kept = append(kept, x)
		}
	}
	price := partPrice * d.m.unit
	worth := make([]float64, len(kept))
	if err := inParallel(ctx, len(kept), func(k int) error {
		worth[k] = d.partingWorth(kept[k], price)
		return nil
	}); err != nil {
		return nil, err
	}
	var out []Obstacle
	bond := map[[2]int]Bond{}
	for k, x := range kept {
		if worth[k] > price {
			out = append(out, Obstacle{Female: x.Female, Male: x.Male, Worth: worth[k], Instead: [2]int{-1, -1}})
			bond[[2]int{x.Female, x.Male}] = x
		}
	}
	slices.SortStableFunc(out, func(a, b Obstacle) int { return cmp.Compare(b.Worth, a.Worth) })
	weighed := out[:min(len(out), max(fewestWeighed, partingWork/max(1, len(d.free.females)*len(d.free.males))))]
	var parted [][2]int
	now := d
	for k := range weighed {
		x := &weighed[k]
		x.Weighed = true
		if x.Instead[0] >= 0 {
			continue
		}
		then, err := d.ifParted(ctx, append(slices.Clone(parted), x.pair())...)
		if err != nil {
			return nil, err
		}
		// The prices of room that partingWorth reads hold for the decision at hand: only the
		// one taken anew knows whether there is a place for everybody.
		if then.charged()-now.charged()-d.keptWorth(bond[x.pair()]) <= price {
			continue
		}
		if y := slices.IndexFunc(out[:k], func(y Obstacle) bool { return y.Advised && !y.stands(then) }); y >= 0 {
			x.Instead = out[y].pair()
			continue
		}
		x.Advised, x.Instead, x.Then = true, [2]int{-1, -1}, now.until(then)
		x.Then.Undone = slices.DeleteFunc(x.Then.Undone, func(y Bond) bool { // what another parting would have brought
			mine, _ := d.MateOf(y.Female)
			return mine != y.Male
		})
		x.DecideBy = d.decideFirst(x)
		parted, now = append(parted, x.pair()), then
		for i := range weighed[k+1:] {
			y := &weighed[k+1+i]
			switch still := now.partingWorth(bond[y.pair()], price) > price; {
			case still:
				y.Instead = [2]int{-1, -1}
			case y.Instead[0] < 0:
				y.Instead = x.pair()
			}
		}
	}
	return out, nil
}

// stands reports whether the two birds have the mates in a decision that they would get by
// their parting.
func (x *Obstacle) stands(then *Decision) bool {
	for _, b := range x.pair() {
		mate, gets := x.Then.MateOf(b)
		if now, _ := then.MateOf(b); gets && now != mate {
			return false
		}
	}
	return true
}

// ifParted takes the decision as if people had agreed today to part some bonds.
func (d *Decision) ifParted(ctx context.Context, pairs ...[2]int) (*Decision, error) {
	out := &Decision{Options: d.Options, Season: d.Season, LeastGain: d.LeastGain, p: d.p, m: d.m, limit: d.limit, chosen: d.chosen, parted: pairs}
	out.Options.PairsAlone = true
	d.coming.Lock()
	out.coming = &coming{markets: maps.Clone(d.coming.markets)}
	d.coming.Unlock()
	return out, out.decide(ctx)
}

// charged is what the free birds of a decision are worth in it, each move charged what it
// must be worth.
func (d *Decision) charged() float64 {
	return d.answer.Sum - d.LeastGain*float64(d.answer.Moves)
}

// until says what is otherwise in a decision in which bonds were parted since.
func (d *Decision) until(then *Decision) (a Aftermath) {
	pairs := func(d *Decision) map[[2]int]bool {
		has := map[[2]int]bool{}
		for _, x := range d.Bonds {
			if x.Kind != BondReleased {
				has[[2]int{x.Female, x.Male}] = true
			}
		}
		return has
	}
	was, will := pairs(d), pairs(then)
	for _, x := range then.Bonds {
		if pair := [2]int{x.Female, x.Male}; will[pair] && !was[pair] {
			a.Formed = append(a.Formed, x)
		}
	}
	for _, x := range d.Bonds {
		if x.Kind == BondNew && !will[[2]int{x.Female, x.Male}] {
			a.Undone = append(a.Undone, x)
		}
	}
	still := then.AllMoves()
	for _, m := range d.AllMoves() {
		if !slices.Contains(still, m) {
			a.Moves = append(a.Moves, m)
		}
	}
	for _, b := range d.p.Book.Living {
		_, had := d.BondOf(b)
		if _, has := then.BondOf(b); had && !has {
			a.Alone = append(a.Alone, b)
		}
	}
	return a
}

// tried reports whether a bond has had as many seasons as a new pair is judged by
// (seasons_ahead), so that two who were brought together for their chicks of those are
// not to be parted for others who come free in the meantime; true where nobody knows since
// when they are a pair.
func (p *Programme) tried(female, male int) bool {
	since, told := p.began[[2]string{p.Book.Birds[female].ID, p.Book.Birds[male].ID}]
	return !told || p.Season()-since >= p.Settings().SeasonsAhead
}

// partingWorth returns what the programme would gain if the two birds of a bond
// were free, or no more than least where it is clear that it is not more.
func (d *Decision) partingWorth(x Bond, least float64) float64 {
	f, m := d.m.number[x.Female], d.m.number[x.Male]
	var female, male []float64
	if f >= 0 {
		female = make([]float64, 0, len(d.free.males))
	}
	if m >= 0 {
		male = make([]float64, 0, len(d.free.females))
	}
	charge := func(v float64, a, b int) float64 {
		if d.p.Book.Birds[a].Location != d.p.Book.Birds[b].Location {
			v -= d.LeastGain
		}
		return v - d.p.hardship(a, b)*d.m.unit
	}
	if f >= 0 {
		for _, k := range d.free.males {
			v := math.Inf(-1)
			if d.allowed(f, k) {
				v = charge(d.m.value(f, k), x.Female, d.m.males[k])
			}
			female = append(female, v)
		}
	}
	if m >= 0 {
		for _, k := range d.free.females {
			v := math.Inf(-1)
			if d.allowed(k, m) {
				v = charge(d.m.value(k, m), d.m.females[k], x.Male)
			}
			male = append(male, v)
		}
	}
	kept := d.keptWorth(x)
	const rounding = 1e-6
	if most := d.answer.JoinAtMost(female, male) - kept; most < least*(1-rounding) {
		return most
	}
	return d.answer.Join(female, male, math.Inf(-1)) - kept
}

// keptWorth is what a bond is worth as it is, 0 or more: nothing where the two are too close
// kin to hatch chicks.
func (d *Decision) keptWorth(x Bond) float64 {
	f, m := d.m.number[x.Female], d.m.number[x.Male]
	if f < 0 || m < 0 || TooClose(d.m.kin(f, m), d.limit) {
		return 0
	}
	return max(0, d.m.kept(f, m))
}
