package pairing

import (
	"cmp"
	"context"
	"math"
	"slices"

	"pairwright/pairing/internal/bonds"
	"pairwright/pedigree/studbook"
)

// What a plan says of its pairs and birds.
const (
	// Of a pair; Birds are the female and the male.
	RareGenes     Code = "rare_genes"       // Value the mean of their mean kinships, Other the programme's; see Programme.RareKinship
	PairKinship   Code = "pair_kinship"     // the same of others
	NotNeeded     Code = "not_needed"       // others that do more hatch the Count chicks that are wanted
	OthersSit     Code = "others_sit"       // others hatch or have hatched the Count chicks that are wanted, and their eggs cannot be taken any more
	Infertile     Code = "infertile_clutch" // Date when the eggs were laid of which none was fertile
	LaysAgain     Code = "lays_again"       // the same, and the pair keeps its place for those that it may lay again
	ChickOf       Code = "chick_of_pair"    // Value F of a chick
	PairMoves     Code = "pair_moves"       // Birds who moves, From and To
	TooLate       Code = "too_late"         // to hatch any in the coming season, which their move leaves no time for: Count is the year of the season that they are together for
	NoRoomToHatch Code = "no_room_to_hatch" // To the place that has room for Count more chicks, all of which better pairs there hatch
	AnyEggCounts  Code = "any_egg"          // Birds the one past the usual age that is a founder or alone holds a line
	SecondClutch  Code = "second_clutch"    // the same of a pair that has laid again: those eggs have the place

	// Why a pair should hatch nothing, besides TooOld, OnHold, CloseKin, IsParent, AreKin and NeverFertile.
	FailedFertile Code = "failed_fertile" // Count seasons in a row in which fertile eggs came to nothing

	// Why a bird stays alone, besides the reasons that keep it from breeding.
	NoMateLeft   Code = "no_mate"     // nobody is within the limit of kinship, or can come together with it
	NoGain       Code = "no_gain"     // Value the most that a chick of it would gain over the average pair's, 0 or less
	OthersNeed   Code = "others_need" // Birds the mate that others need least and, where there is one, the bird that this one is given
	NotWorthMove Code = "not_worth"   // Birds its best mate elsewhere, Value the net gain, Other what a move must be worth, Of how many may move, -1 for any
	NoRoom       Code = "no_room"     // Birds its best mate elsewhere, To the place that is full
	WaitsFor     Code = "waits_for"   // a later season, that of Count: Birds it and, if anybody, its mate of then, To where they would live, Of 1 if that mate is not of age yet
)

// failedSeasons is how many seasons in a row without a chick from fertile eggs
// make a pair that is not planned on (common practice, no source: pairs are
// reviewed after two to three failed seasons).
const failedSeasons = 2

// failedFertile returns how many of the last seasons of a pair, one after the
// other, brought no chick from eggs that were fertile.
func (p *Programme) failedFertile(female, male int) int {
	failed := 0
	for _, s := range slices.Backward(p.Seasons(female, male)) {
		switch {
		case s.Told() == 0:
		case s.Won > 0 || s.Fertile.Sum == 0:
			return failed
		default:
			failed++
		}
	}
	return failed
}

// barred returns why a pair of the decision should hatch nothing this season.
func (b *planning) barred(x *PlannedPair) []Reason {
	p := b.p
	var why []Reason
	for _, bird := range [2]int{x.Female, x.Male} {
		if s := p.State(bird).State; !s.MayBreed() {
			why = append(why, p.StateReason(bird))
		}
	}
	if TooClose(x.Kinship, b.d.limit) {
		why = append(why, Reason{Code: CloseKin, Birds: p.birds(x.Female, x.Male), Value: x.Kinship, Other: b.d.limit})
	}
	if kin, is := p.KinByDNA(x.Female, x.Male); is {
		why = append(why, kin)
	}
	if failed := p.failedFertile(x.Female, x.Male); failed >= failedSeasons {
		why = append(why, Reason{Code: FailedFertile, Birds: p.birds(x.Female, x.Male), Count: failed})
	}
	if x.Record.NeverFertile() {
		why = append(why, Reason{Code: NeverFertile, Birds: p.birds(x.Female, x.Male), Count: x.Record.Barren})
	}
	if w := b.d.words.noHatches[[2]int{x.Female, x.Male}]; w != nil {
		why = append(why, w.Reason(p))
	}
	return why
}

// StateReason says a bird's state as a reason against breeding.
func (p *Programme) StateReason(b int) Reason {
	bird := &p.Book.Birds[b]
	age, _ := ageOn(bird, p.BreedingDay())
	r := Reason{Birds: p.birds(b), Value: age}
	var then studbook.Date
	if day := p.BreedingDay(); day > p.Book.AsOf {
		then = day.Date()
	}
	switch p.State(b).State {
	case StateUnsexed:
		r.Code = SexUnknown
	case StateYoung:
		r.Code, r.Other, r.Date = TooYoung, p.AgesOf(b).First, then
	case StatePast:
		r.Code, r.Other, r.Date = TooOld, p.AgesOf(b).Last, then
	case StateOnHold:
		r.Code = OnHold
		if hold, ok := lasting(p.Book.HoldsOn(bird.ID), p.BreedingDay()); ok {
			r.Note, r.Date = hold.Reason, hold.Until
		}
	}
	return r
}

// anyEgg reports whether a pair that is barred by age alone should keep its eggs
// all the same: one of the two is a living founder, or the only living bird that
// holds the genes of one.
func (b *planning) anyEgg(x *PlannedPair) (bird int, ok bool) {
	if slices.ContainsFunc(x.Barred, func(r Reason) bool { return r.Code != TooOld }) {
		return 0, false
	}
	alone := b.p.soleHolders()
	for _, bird := range [2]int{x.Female, x.Male} {
		if alone[bird] {
			return bird, true
		}
	}
	return 0, false
}

// soleHolders returns the living birds without which all genes of a founder would
// be gone from the living: founders without living descendants, and the only living
// descendant of one that is dead.
func (p *Programme) soleHolders() map[int]bool {
	holders := map[int]bool{}
	bird := make(map[int]int, len(p.Book.Living)) // of each living node
	for _, b := range p.Book.Living {
		bird[p.node[b]] = b
	}
	founders := make([]int, p.Pedigree.Founders())
	for k := range founders {
		founders[k] = k
	}
	for k, n := range p.Living.Descendants(founders) {
		b, alive := bird[k]
		switch {
		case alive && n == 0:
			holders[b] = true
		case !alive && n == 1:
			for _, x := range p.Book.Living {
				if p.descends(p.node[x], k) {
					holders[x] = true
				}
			}
		}
	}
	return holders
}

// descends reports whether a node has another among its ancestors, uncertain ones
// too.
func (p *Programme) descends(node, ancestor int) bool {
	seen := map[int]bool{}
	left := []int{node}
	for len(left) > 0 {
		i := left[len(left)-1]
		left = left[:len(left)-1]
		if i == ancestor {
			return true
		}
		if seen[i] || i < ancestor { // parents stand before their chicks
			continue
		}
		seen[i] = true
		if sire, dam, ok := p.Pedigree.Parents(i); ok {
			left = append(left, sire, dam)
		}
		candidates, _ := p.Pedigree.Candidates(i)
		left = append(left, candidates...)
	}
	return false
}

// RareKinship returns the mean kinship up to which the genes of a pair are called rare,
// the lower quartile of those of the living birds (common practice, no source); 0
// without living birds.
func (p *Programme) RareKinship() float64 {
	var means []float64
	for _, b := range p.Book.Living {
		means = append(means, p.Living.MeanKinshipOf(p.node[b]))
	}
	if len(means) == 0 {
		return 0
	}
	slices.Sort(means)
	return means[(len(means)-1)/4]
}

// say gives a pair its reasons; rare is RareKinship.
func (b *planning) say(x *PlannedPair, rare float64) {
	p := b.p
	mean, _ := p.Living.MeanKinship()
	mk := (p.Living.MeanKinshipOf(p.node[x.Female]) + p.Living.MeanKinshipOf(p.node[x.Male])) / 2
	both := p.birds(x.Female, x.Male)
	for _, w := range []*Word{x.Word, b.d.words.hatches[[2]int{x.Female, x.Male}]} {
		if w != nil {
			x.Reasons = append(x.Reasons, w.Reason(p))
		}
	}
	genes := PairKinship
	if mk <= rare && mk < mean {
		genes = RareGenes
	}
	if x.Role == Rest && x.Chance > 0 && len(x.Barred) == 0 && !x.Late && !x.Crowded && !b.d.own.whole() {
		x.Reasons = append(x.Reasons, b.whyRests(x))
	}
	if s := b.second[[2]int{x.Female, x.Male}]; x.Again {
		x.Reasons = append(x.Reasons, Reason{Code: LaysAgain, Birds: both, Date: s.infertile.Laid})
	} else if s != nil && s.laid && s.first && x.Role == Planned {
		x.Reasons = append(x.Reasons, Reason{Code: SecondClutch, Birds: both, Date: s.infertile.Laid})
	}
	x.Reasons = append(x.Reasons, Reason{Code: genes, Birds: both, Value: mk, Other: mean}, Reason{Code: ChickOf, Birds: both, Value: x.Kinship})
	if m := x.Move; m != nil {
		x.Reasons = append(x.Reasons, Reason{Code: PairMoves, Birds: p.birds(m.Bird), From: m.From, To: m.To})
	}
	if x.Late {
		x.Reasons = append(x.Reasons, Reason{Code: TooLate, Birds: both, Count: p.Calendar().Year + 1})
	}
	if x.Crowded {
		x.Reasons = append(x.Reasons, Reason{Code: NoRoomToHatch, Birds: both, To: x.Place, Count: b.roomFor(x.Place)})
	}
	x.Reasons = append(x.Reasons, p.Heed(x.Female, x.Male)...)
}

// whyRests says why a pair that could hatch chicks hatches none.
func (b *planning) whyRests(x *PlannedPair) Reason {
	r := Reason{Code: NotNeeded, Birds: b.p.birds(x.Female, x.Male), Count: b.o.Chicks}
	if s := b.second[[2]int{x.Female, x.Male}]; s != nil && s.place > 0 && !s.laid {
		r.Code, r.Date = Infertile, s.infertile.Laid
		return r
	}
	for k := range b.pairs {
		y := &b.pairs[k]
		pair := [2]int{y.Female, y.Male}
		c := b.clutch[pair]
		sits := c != nil && y.HatchUpTo > 0 && b.p.settled(c)
		if (sits || b.hatched[pair] > 0) && y.Advantage < x.Advantage-sameGain {
			r.Code = OthersSit
		}
	}
	return r
}

// alone lists the living birds of a scope that the decision leaves without a mate,
// with the reason.
func (d *Decision) alone(o PlanOptions) []Alone {
	var out []Alone
	for _, b := range d.p.Book.Living {
		if !o.has(d.p.Book.Birds[b].Location) {
			continue
		}
		if _, paired := d.BondOf(b); !paired {
			out = append(out, Alone{Bird: b})
		}
	}
	_ = inParallel(context.Background(), len(out), func(k int) error {
		out[k].Reason = d.WhyAlone(out[k].Bird)
		return nil
	})
	return out
}

// spare returns the pairs that birds left alone at one place could form for numbers
// alone, those first whose chicks cost the least: genes cannot be kept in a programme
// that dies out. The decision forms none of them, and none is of use at a full place.
func (d *Decision) spare(o PlanOptions, lacks float64, full []string) []Bond {
	var left []Bond
	for r, f := range d.free.females {
		for c, m := range d.free.males {
			x := d.bondOf(f, m)
			_, hasMate := d.BondOf(x.Female)
			_, hasFemale := d.BondOf(x.Male)
			if !hasMate && !hasFemale && x.Chicks > 0 && o.has(x.Place) && !slices.Contains(full, x.Place) && x.Place == d.p.Book.Birds[x.Male].Location && d.open[r][c] {
				left = append(left, x)
			}
		}
	}
	slices.SortStableFunc(left, func(a, b Bond) int { return cmp.Compare(b.Advantage, a.Advantage) })
	var out []Bond
	taken := map[int]bool{}
	for _, x := range left {
		if lacks > 0 && !taken[x.Female] && !taken[x.Male] {
			taken[x.Female], taken[x.Male] = true, true
			x.Kind = BondNew
			lacks -= x.Chicks
			out = append(out, x)
		}
	}
	return out
}

// WhyAlone says why the decision leaves a living bird without a mate.
func (d *Decision) WhyAlone(b int) Reason {
	p := d.p
	if s := p.State(b); !s.State.MayBreed() {
		return p.StateReason(b)
	}
	if d.waiting(b) {
		return d.waitsFor(b)
	}
	var best, near, full, off *Choice
	where, lost := "", 0.0
	most := math.Inf(-1)
	choices := d.unplaced(b)
	for k := range choices {
		c := &choices[k]
		most = max(most, c.Advantage)
		if c.Open && (best == nil || c.NetGain > best.NetGain) {
			best = c
		}
		if _, is := d.PutOff(b, c); is && (off == nil || c.NetGain > off.NetGain) {
			off = c
		}
		if _, short := d.WorthNoMove(c); short && (near == nil || c.NetGain > near.NetGain) {
			near = c
		}
		if place, worth := d.crowded(b, c); worth > lost {
			full, where, lost = c, place, worth
		}
	}
	switch {
	case len(choices) == 0:
		return d.noChoices(b)
	case most <= 0:
		return Reason{Code: NoGain, Birds: p.birds(b), Value: most}
	case full != nil:
		return Reason{Code: NoRoom, Birds: p.birds(full.Mate), To: where}
	case near != nil:
		gain, _ := d.WorthNoMove(near)
		r := Reason{Code: NotWorthMove, Birds: p.birds(near.Mate), To: p.Book.Birds[near.Mate].Location, Value: gain, Other: d.LeastGain, Of: -1}
		if d.Options.Moves != nil {
			r.Of = *d.Options.Moves
		}
		return r
	case best == nil && off == nil:
		return Reason{Code: NoMateLeft, Birds: p.birds(b)}
	case best == nil:
		best = off
	}
	who := []int{best.Mate}
	if other, ok := d.MateOf(best.Mate); ok {
		who = append(who, other)
	} else if x, ok := d.nextPair(best.Mate); ok && best == off {
		who = append(who, x.Mate)
	}
	return Reason{Code: OthersNeed, Birds: p.birds(who...), Value: best.NetGain}
}

// PutOff says why the decision does not form a pair that no move can bring together for the
// coming season, whatever it would gain: one of the two has a mate for that season, or
// waits for one of the season after. is is false for every other pair.
func (d *Decision) PutOff(b int, c *Choice) (why Reason, is bool) {
	if c.Open || !c.Late {
		return why, false
	}
	for _, bird := range [2]int{b, c.Mate} {
		if !d.waits[bird] {
			continue
		}
		if mate, paired := d.MateOf(bird); paired {
			return Reason{Code: PairedInTime, Birds: d.p.birds(bird, mate)}, true
		}
		return d.waitsFor(bird), true
	}
	return why, false
}

// nextPair returns the pair that a bird without a mate for the coming season would best
// live in from the one after on, as far as the decision needed to know.
func (d *Decision) nextPair(b int) (x later, ok bool) {
	if d.coming.next != nil {
		x, ok = d.coming.next.later[b]
	}
	return x, ok
}

// waiting reports whether a bird that is left alone waits for the season after the coming
// one, or is the mate for whom another does.
func (d *Decision) waiting(b int) bool {
	x, ok := d.nextPair(b)
	return d.waits[b] || ok && d.waits[x.Mate]
}

// waitsFor says for whom a bird waits that has no good mate in time for the coming season.
func (d *Decision) waitsFor(b int) Reason {
	r := Reason{Code: WaitsFor, Birds: d.p.birds(b), Count: d.p.Calendar().Year + 1}
	if x, ok := d.nextPair(b); ok {
		r.Birds = d.p.birds(b, x.Mate)
		r.To = d.p.Book.Birds[b].Location
		if x.Move != nil {
			r.To = x.Move.To
		}
		if d.p.State(x.Mate).State == StateYoung {
			r.Of = 1
		}
	}
	return r
}

// Crowded reports whether full places are all that keeps two birds apart which the
// decision leaves alone: together they would gain more than a move must be worth.
func (d *Decision) Crowded(b, mate int) bool {
	choices := d.unplaced(b)
	k := slices.IndexFunc(choices, func(c Choice) bool { return c.Mate == mate })
	if _, paired := d.MateOf(b); paired || k < 0 {
		return false
	}
	_, worth := d.crowded(b, &choices[k])
	return worth > 0
}

// crowded returns how much more than a move must be worth a bird would gain with a
// mate that is left alone, were there room for them, and a place that is full; 0 where
// there is room or nothing to gain.
func (d *Decision) crowded(b int, c *Choice) (place string, worth float64) {
	if _, taken := d.MateOf(c.Mate); !c.Move || !c.Open || taken {
		return "", 0
	}
	place, none := d.noRoom(b, c.Mate)
	if !none {
		return "", 0
	}
	pair := d.pairOf(b, c.Mate)
	return place, max(0, d.m.value(d.m.number[pair[0]], d.m.number[pair[1]])-d.LeastGain)
}

// noRoom reports whether two birds that live apart, and may travel as far as holds
// go, cannot come together because the places that they could move to are full; place
// is one of these.
func (d *Decision) noRoom(a, b int) (place string, none bool) {
	p := d.p
	for _, way := range [2][2]int{{a, b}, {b, a}} {
		bird, to := &p.Book.Birds[way[0]], p.Book.Birds[way[1]].Location
		if !p.mayTravel(way[0]) {
			continue
		}
		// Below -1 or -1 itself: no limit is on record.
		limited, free := d.room(to), d.roomAfter()[to]
		has := (limited.Birds < 0 || free.Birds > 0) && (bird.Sex != studbook.Female || limited.Females < 0 || free.Females > 0) &&
			(bird.Sex != studbook.Male || limited.Males < 0 || free.Males > 0)
		if has {
			return "", false
		}
		place, none = to, true
	}
	return place, none
}

// leftRoom returns what the moves to new mates leave of the room at every place.
func (d *Decision) leftRoom() map[string]bonds.Room {
	left := map[string]bonds.Room{}
	for _, code := range d.p.Book.Locations() {
		left[code] = d.room(code)
	}
	for _, x := range d.Bonds {
		if x.Move == nil {
			continue
		}
		r, known := left[x.Move.To]
		if !known {
			r = d.room(x.Move.To)
		}
		r.Birds--
		switch d.p.Book.Birds[x.Move.Bird].Sex {
		case studbook.Female:
			r.Females--
		case studbook.Male:
			r.Males--
		}
		left[x.Move.To] = r
	}
	return left
}

// youngAt returns the young birds of a scope, and those that should come to it.
func (d *Decision) youngAt(ctx context.Context, o PlanOptions) ([]Young, error) {
	all, err := d.Young(ctx)
	return slices.DeleteFunc(all, func(y Young) bool { return !o.has(y.From) && !o.has(y.To) }), err
}

// Obstacle is a bond whose parting, when the season allows, would be worth more
// than parting birds should be worth, and that has had the seasons for which a new pair
// is chosen. Bonds are parted on a person's word alone.
type Obstacle struct {
	Female, Male int
	Worth        float64 // in weighted gene diversity, what the pair is worth itself taken off
}

// inTheWay lists the bonds of a scope that stand in the way, the worst first. That of a
// bird on hold is none of them: it will breed again, which the worth of parting does not
// know.
func (d *Decision) inTheWay(o PlanOptions) []Obstacle {
	var kept []Bond
	for _, x := range d.Bonds {
		onHold := d.p.State(x.Female).State == StateOnHold || d.p.State(x.Male).State == StateOnHold
		if x.Kind == BondKept && !onHold && o.has(x.Place) && d.words.noParts[[2]int{x.Female, x.Male}] == nil && d.p.tried(x.Female, x.Male) {
			kept = append(kept, x)
		}
	}
	worth := make([]float64, len(kept))
	_ = inParallel(context.Background(), len(kept), func(k int) error {
		worth[k] = d.partingWorth(kept[k], partPrice*d.m.unit)
		return nil
	})
	var out []Obstacle
	for k, x := range kept {
		if worth[k] > partPrice*d.m.unit {
			out = append(out, Obstacle{x.Female, x.Male, worth[k]})
		}
	}
	slices.SortStableFunc(out, func(a, b Obstacle) int { return cmp.Compare(b.Worth, a.Worth) })
	return out
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
	kept := 0.0
	if f >= 0 && m >= 0 {
		kept = max(0, d.m.kept(f, m))
	}
	const rounding = 1e-6
	if most := d.answer.JoinAtMost(female, male) - kept; most < least*(1-rounding) {
		return most
	}
	return d.answer.Join(female, male, math.Inf(-1)) - kept
}

// sittingClutches returns the clutches on which pairs sit today.
func (p *Programme) sittingClutches() map[[2]int]*studbook.Clutch {
	out := map[[2]int]*studbook.Clutch{}
	for i := range p.Book.Clutches {
		c := &p.Book.Clutches[i]
		f, okF := p.Book.Index(c.Female)
		m, okM := p.Book.Index(c.Male)
		if okF && okM && p.sitsOn(c) {
			out[[2]int{f, m}] = c
		}
	}
	return out
}
