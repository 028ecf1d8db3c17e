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
	RaisesChicks  Code = "raises_chicks"    // Count chicks that have hatched in the season, Date when they fledge: nothing more comes of the pair before
	SeasonDone    Code = "season_done"      // Count chicks of the season that have left the nest: too late for others
	EggsUntold    Code = "eggs_untold"      // Date when the eggs were laid of which nobody wrote down what became of them
	LaysAgain     Code = "lays_again"       // the same, and the pair keeps its place for those that it may lay again
	ChickOf       Code = "chick_of_pair"    // Value F of a chick
	PairMoves     Code = "pair_moves"       // Birds who moves, From and To
	TooLate       Code = "too_late"         // to hatch any in the coming season, which their move leaves no time for: Count is the year of the season that they are together for
	NoRoomToHatch Code = "no_room_to_hatch" // To the place that has room for Count more chicks, all of which better pairs there hatch
	AnyEggCounts  Code = "any_egg"          // Birds the one past the usual age that is a founder or alone holds a line
	SecondClutch  Code = "second_clutch"    // the same of a pair that has laid again: those eggs have the place

	// Why a pair should hatch nothing, besides TooOld, OnHold, CloseKin, IsParent, AreKin and NeverFertile:
	// Count seasons in a row without a chick that fledged, by the stage at which they failed. Of is their
	// eggs, Value those fertile, Other the chicks that hatched, as far as anybody wrote it down.
	FailedInfertile Code = "failed_infertile" // fewer than half of the eggs were fertile, and none hatched
	FailedFertile   Code = "failed_fertile"   // embryos died: eggs were fertile, and none hatched
	FailedChicks    Code = "failed_chicks"    // chicks hatched, and none fledged
	FailedUnseen    Code = "failed_unseen"    // nobody wrote down whether an egg was fertile

	// Why a bird stays alone, besides the reasons that keep it from breeding.
	NoMateLeft   Code = "no_mate"     // nobody is within the limit of kinship, or can come together with it
	NoGain       Code = "no_gain"     // Value the most that a chick of it would gain over the average pair's, 0 or less
	OthersNeed   Code = "others_need" // Birds the mate that others need least and, where there is one, the bird that this one is given
	NotWorthMove Code = "not_worth"   // Birds its best mate elsewhere, Value the net gain, Other what a move must be worth, Of how many may move, -1 for any
	NoRoom       Code = "no_room"     // Birds its best mate elsewhere, To the place that is full
	// What else there is to know of it.
	ComesForIt Code = "comes_for_it" // Birds a young bird that would be its mate at To, from Date
	Company    Code = "company"      // Birds at its place that it may pair with by itself, every egg replaced
	NoCompany  Code = "no_company"   // Birds at its place that are too close kin even for that: an egg may be overlooked
	WaitsFor   Code = "waits_for"    // a later season, that of Count: Birds it and, if anybody, its mate of then, To where they would live, Of 1 if that mate is not of age yet
)

// failedSeasons is how many seasons in a row without a chick make a pair that is not
// planned on, at whatever stage they failed (common practice, no source: pairs are
// reviewed after two to three failed seasons).
const failedSeasons = 2

// failing says that the last seasons of a pair brought no chick, and at which stage they
// failed; is is false of a pair that failed in fewer seasons than failedSeasons. A season in
// which it may still lay again counts only once fertile eggs came to nothing in it.
func (p *Programme) failing(female, male int) (r Reason, is bool) {
	var sum Broods
	for _, s := range slices.Backward(p.Seasons(female, male)) {
		if s.Won > 0 {
			break
		}
		now := p.Calendar()
		if s.Told() == 0 || now.Running && s.Year == now.Year && s.Lost == 0 {
			continue
		}
		r.Count++
		for _, x := range [3][2]*Counted{{&sum.Eggs, &s.Eggs}, {&sum.Fertile, &s.Fertile}, {&sum.Hatched, &s.Hatched}} {
			x[0].Sum, x[0].Clutches = x[0].Sum+x[1].Sum, x[0].Clutches+x[1].Clutches
		}
	}
	r.Birds, r.Of, r.Value, r.Other = p.birds(female, male), sum.Eggs.Sum, float64(sum.Fertile.Sum), float64(sum.Hatched.Sum)
	switch {
	case sum.Hatched.Sum > 0:
		r.Code = FailedChicks
	case !sum.Fertile.Known():
		r.Code = FailedUnseen
	case sum.Fertile.Sum == 0 || 2*sum.Fertile.Sum < sum.Eggs.Sum:
		r.Code = FailedInfertile
	default:
		r.Code = FailedFertile
	}
	return r, r.Count >= failedSeasons
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
	if x.Record.NeverFertile() {
		why = append(why, Reason{Code: NeverFertile, Birds: p.birds(x.Female, x.Male), Count: x.Record.Barren})
	} else if failed, is := p.failing(x.Female, x.Male); is {
		why = append(why, failed)
	}
	if w := b.d.rulings.noHatches[[2]int{x.Female, x.Male}]; w != nil {
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

// say gives a pair its reasons; rare is RareKinship, sitting leastSitting.
func (b *planning) say(x *PlannedPair, rare, sitting float64) {
	p := b.p
	mean, _ := p.Living.MeanKinship()
	mk := (p.Living.MeanKinshipOf(p.node[x.Female]) + p.Living.MeanKinshipOf(p.node[x.Male])) / 2
	both := p.birds(x.Female, x.Male)
	for _, w := range []*Ruling{x.Word, b.d.rulings.hatches[[2]int{x.Female, x.Male}]} {
		if w != nil {
			x.Reasons = append(x.Reasons, w.Reason(p))
		}
	}
	genes := PairKinship
	if mk <= rare && mk < mean {
		genes = RareGenes
	}
	if done := b.broods[[2]int{x.Female, x.Male}]; x.Role == Rest && len(x.Barred) == 0 && done.done() {
		x.Reasons = append(x.Reasons, b.whyDone(x, done))
	} else if x.Role == Rest && x.Chance > 0 && len(x.Barred) == 0 && !x.Late && !x.Crowded && !b.d.chosen.whole() {
		x.Reasons = append(x.Reasons, b.whyRests(x, sitting))
	}
	if x.Disputed() {
		x.Reasons = append(x.Reasons, b.otherReason(x))
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
func (b *planning) whyRests(x *PlannedPair, sitting float64) Reason {
	r := Reason{Code: NotNeeded, Birds: b.p.birds(x.Female, x.Male), Count: b.o.Chicks}
	if s := b.second[[2]int{x.Female, x.Male}]; s != nil && s.place > 0 && !s.laid {
		r.Code, r.Date = Infertile, s.infertile.Laid
		return r
	}
	if sitting < x.Advantage-sameGain {
		r.Code = OthersSit
	}
	return r
}

// whyDone says why nothing is to be expected of a pair that has had eggs in the season.
func (b *planning) whyDone(x *PlannedPair, s *brood) Reason {
	r := Reason{Code: SeasonDone, Birds: b.p.birds(x.Female, x.Male), Count: b.hatched[[2]int{x.Female, x.Male}]}
	switch {
	case s.untold != nil:
		r.Code, r.Count, r.Date = EggsUntold, 0, s.untold.Laid
	case s.until != 0:
		r.Code, r.Date = RaisesChicks, s.until.Date()
	}
	return r
}

// leastSitting returns the least advantage of a pair that has hatched chicks of the season,
// or hatches some of eggs that cannot be taken any more; +Inf where there is none.
func (b *planning) leastSitting() float64 {
	least := math.Inf(1)
	for k := range b.pairs {
		x := &b.pairs[k]
		pair := [2]int{x.Female, x.Male}
		c := b.clutch[pair]
		sits := c != nil && x.HatchUpTo > 0 && b.p.settled(c)
		if sits || b.hatched[pair] > 0 {
			least = min(least, x.Advantage)
		}
	}
	return least
}

// alone lists the living birds of a scope that the decision leaves without a mate,
// with the reason.
func (d *Decision) alone(ctx context.Context, o PlanOptions) ([]Alone, error) {
	var out []Alone
	for _, b := range d.p.Book.Living {
		if !o.has(d.p.Book.Birds[b].Location) {
			continue
		}
		if _, paired := d.BondOf(b); !paired {
			out = append(out, Alone{Bird: b})
		}
	}
	return out, inParallel(ctx, len(out), func(k int) (err error) {
		out[k].Reason = d.WhyAlone(out[k].Bird)
		out[k].Beside, err = d.Beside(ctx, out[k].Bird)
		return err
	})
}

// Beside says what else is to be known of a living bird that the decision leaves alone: a
// young bird that is to be its mate, and with whom at its place it may pair by itself, which
// birds of a species with pair bonds do: their eggs are replaced, and the bond is not refused.
// The first call takes the time. The error is ctx's.
func (d *Decision) Beside(ctx context.Context, b int) ([]Reason, error) {
	_, seems := d.p.seemMate[b]
	if _, paired := d.BondOf(b); paired || seems || d.p.State(b).State != StateFree || d.waiting(b) {
		return nil, nil
	}
	young, err := d.Young(ctx)
	if err != nil {
		return nil, err
	}
	expects := map[int]*Young{} // by the bird that a young one would be the mate of
	for k := range young {
		if y := &young[k]; y.Mate >= 0 {
			expects[y.Mate] = y
		}
	}
	if y := expects[b]; y != nil {
		return []Reason{{Code: ComesForIt, Birds: d.p.birds(y.Bird), To: y.To, Date: y.When.Date()}}, nil
	}
	var may, kin []int
	for _, mate := range d.p.Book.LivingAt(d.p.Book.Birds[b].Location) {
		if d.p.Book.Birds[mate].Sex == d.p.Book.Birds[b].Sex || d.p.State(mate).State != StateFree || expects[mate] != nil || d.waiting(mate) {
			continue
		}
		if _, seems := d.p.seemMate[mate]; seems {
			continue
		}
		if _, paired := d.BondOf(mate); paired || d.rulings.sent[mate].To != "" {
			continue
		}
		pair := d.pairOf(b, mate)
		f, m := d.m.number[pair[0]], d.m.number[pair[1]]
		switch _, declined := d.DeclinedPair(b, mate); {
		case f < 0 || m < 0 || declined:
		case d.allowed(f, m) && !d.p.doubtful(pair[0], pair[1]):
			may = append(may, mate)
		default:
			kin = append(kin, mate)
		}
	}
	var say []Reason
	if len(may) > 0 {
		say = append(say, Reason{Code: Company, Birds: d.p.birds(may...)})
	}
	if len(kin) > 0 {
		say = append(say, Reason{Code: NoCompany, Birds: d.p.birds(kin...)})
	}
	return say, nil
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
