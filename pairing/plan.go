package pairing

import (
	"cmp"
	"context"
	"math"
	"slices"

	"github.com/sourcegraph/conc"

	"pairwright/pairing/internal/broods"
	"pairwright/pedigree/studbook"
)

// PlanOptions say whose season is planned.
type PlanOptions struct {
	// Place is the code of the colony whose season it is, as Programme.Colony
	// gives it; with Whole it is that of every place.
	Place string
	Whole bool

	Chicks  int // wanted; see Programme.ChicksNeeded
	PerPair int // most chicks of one pair; 0 for the programme's limit

	// PairsAlone leaves out Unpaired, NoPairs, Eggs, Young, InTheWay and Spare, for those
	// who ask for Pairs and the figures.
	PairsAlone bool
}

// Plan is how many chicks each pair of the decision may hatch in the season.
type Plan struct {
	Decision *Decision
	Options  PlanOptions

	Wanted int // chicks
	// Hatched is how many chicks of the running season are there already; they
	// count among the wanted.
	Hatched int
	// Expected is the number of chicks to be expected of the planned pairs and the
	// reserves, those that have hatched included; Shortfall is what lacks to the
	// wanted, 0 or more, because even all pairs together are too few.
	Expected, Shortfall float64
	ChanceEnough        float64 // that at least the wanted number hatches
	// InTurn is Expected where each reserve hatches its chicks only while fewer than are
	// wanted have hatched of all before it.
	InTurn float64

	// Pairs are those that hatch, in their order, then the others by place and
	// the female's id, then those for which a bird leaves the scope and the bonds
	// that are parted.
	Pairs    []PlannedPair
	Unpaired []Alone // by id
	Eggs     []Eggs  // that lie there now, by the female's id
	Young    []Young // by id
	InTheWay []Obstacle
	// Spare are pairs that birds left alone could form where all others fall short:
	// they do nothing for the genes, and the decision has none of them.
	Spare []Bond
	// NoPairs is why no two birds of the programme can have a chick, in this season or a
	// later one; nil where some could. See Decision.NoPairs.
	NoPairs *Reason

	// Gene diversity of the living, and that expected after the season; Known is
	// false without living birds.
	Now, ExpectedDiversity float64
	Known                  bool
	// ExpectedWeighted is the weighted gene diversity to be expected after the season,
	// and MeanInbreeding the mean F of the chicks to be expected of pairs that may
	// hatch; 0 where none are.
	ExpectedWeighted, MeanInbreeding float64
	// Weighted gene diversity: now, with the planned chicks, and the most that any
	// broods with as many chicks could have.
	WeightedNow, Planned, Bound float64
	Proven                      bool // no broods are better, but for rounding

	// Rating is that of the mean planned chick's pair, by the advantage of a chick.
	Rating
}

// Role is what the season asks of a pair.
type Role string

// The roles. Planned pairs keep their eggs from the start; reserves keep theirs
// until the planned ones have been candled; the others' are replaced as they are
// laid.
const (
	Planned Role = "planned"
	Reserve Role = "reserve"
	Rest    Role = "rest"
)

// PlannedPair is a pair of the decision with what the season asks of it.
type PlannedPair struct {
	Bond
	Role      Role    // "" of a bond that is parted, and of one for which a bird leaves the scope
	Order     int     // of planned pairs and reserves, from 1; 0 of others
	HatchUpTo int     // chicks
	Expected  float64 // of those
	Chance    float64 // that a chick the pair may hatch does
	Record    Broods  // of the two together
	Reasons   []Reason
	// Barred is why the pair should hatch nothing; empty if it may.
	Barred []Reason
	// Crowded is set where only the room at its place keeps the pair from hatching
	// what is still lacking, or what a lesser pair hatches elsewhere.
	Crowded bool
	// Other is what the other plan of the same day asks of the pair; see OtherPlan. nil where
	// nobody asked it.
	Other *OtherPlan
	// Again is set where the pair's eggs were infertile and it keeps its place for those
	// that it may lay again.
	Again bool
}

// ToExamine reports whether the two are to be sexed and examined before anything else is
// asked of them, as none or few of their eggs were fertile: till then they keep their eggs,
// for dummies would hide what is wrong.
func (x *PlannedPair) ToExamine() bool {
	r, failing := x.Failing()
	return failing && r.Is(NeverFertile, FailedInfertile, FailedUnseen)
}

// Failing returns why a pair is to be looked at before more is asked of it: its eggs or
// chicks failed season after season. is is false of a pair that could not breed in any case.
func (x *PlannedPair) Failing() (why Reason, is bool) {
	if x.Kind != BondKept || len(x.Barred) == 0 {
		return why, false
	}
	other := false // reason why it hatches nothing now
	for _, r := range x.Barred {
		switch {
		case r.Is(NeverFertile, FailedInfertile, FailedFertile, FailedChicks, FailedUnseen):
			why, is = r, true
		case r.Is(CloseKin, IsParent, AreKin):
			return why, false
		case r.Is(TooOld, OnHold):
			other = true
		}
	}
	return why, is && (!other || why.Is(NeverFertile))
}

// Alone is a living bird without a mate in the decision.
type Alone struct {
	Bird   int
	Reason Reason
	Beside []Reason // what else is to be known of it; see Decision.Beside
}

// planning is a season's broods while they are worked out.
type planning struct {
	p        *Programme
	d        *Decision
	o        PlanOptions
	pairs    []PlannedPair               // in scope, those that are not parted
	hatching []int                       // of pairs, those that the problem has
	clutch   map[[2]int]*studbook.Clutch // that pairs sit on today
	hatched  map[[2]int]int              // chicks of the season that are there already
	hosts    map[[2]int][2]int           // who is to sit on the eggs of a pair
	broods   map[[2]int]*brood           // pairs that have had eggs in the season and sit on none
	second   map[[2]int]*second          // pairs whose eggs were infertile
	problem  *broods.Problem
	plain    *broods.Problem // the same with all living birds alike
	basis    int             // chicks that a brood left to itself may have
}

// Plan says how many chicks each pair of a scope may hatch, so that the living and
// the chicks together keep as much weighted gene diversity as they can, and which
// pairs come next until as many are to be expected as are wanted.
func (d *Decision) Plan(ctx context.Context, o PlanOptions) (*Plan, error) {
	p := d.p
	if o.PerPair <= 0 {
		o.PerPair = p.Settings().ChicksPerPair
	}
	o.Chicks = max(0, o.Chicks)
	b := &planning{p: p, d: d, o: o}
	out := &Plan{Decision: d, Options: o, Wanted: o.Chicks}
	best, reserves, err := b.assign(ctx, out)
	if err != nil {
		return nil, err
	}
	if !o.PairsAlone && !d.chosen.whole() {
		if err := b.compare(ctx, b.pairs); err != nil {
			return nil, err
		}
	}
	b.expect(out, best, reserves)
	b.crowd(out)
	if !o.PairsAlone && !d.chosen.whole() { // of what a person chose nothing else follows
		if err := b.beside(ctx, out); err != nil {
			return nil, err
		}
	}
	rare, sitting := p.RareKinship(), b.leastSitting()
	for k := range b.pairs {
		b.say(&b.pairs[k], rare, sitting)
	}
	b.order(out)
	if !o.PairsAlone && !d.chosen.whole() {
		if err := d.mayFall(ctx, out.Pairs); err != nil {
			return nil, err
		}
	}
	return out, ctx.Err()
}

// assign gives each pair of the scope its role.
func (b *planning) assign(ctx context.Context, out *Plan) (best broods.Solution, reserves broods.Reserves, err error) {
	p, o := b.p, b.o
	b.clutch = p.sittingClutches()
	b.basis = max(o.PerPair, p.Settings().ChicksPerPair, int(math.Ceil(p.Settings().ChicksPerSeason)))
	out.Hatched, b.hatched = p.hatchedThisSeason(o)
	b.findHosts()
	b.seasonBroods()
	if err := b.secondClutches(ctx); err != nil {
		return best, reserves, err
	}
	if err := b.pose(ctx); err != nil {
		return best, reserves, err
	}
	still := max(0, o.Chicks-out.Hatched)
	b.problem.Chicks, b.plain.Chicks = still, still
	if best, reserves, err = b.solve(ctx, still); err != nil {
		return best, reserves, err
	}
	b.share(best.Broods, reserves)
	return best, reserves, nil
}

// beside fills in what there is to do beside the pairs' broods.
func (b *planning) beside(ctx context.Context, out *Plan) (err error) {
	if out.Unpaired, err = b.d.alone(ctx, b.o); err != nil {
		return err
	}
	if why, is := b.d.NoPairs(); is {
		out.NoPairs = &why
	}
	b.eggs(out)
	if out.Young, err = b.d.youngAt(ctx, b.o); err != nil {
		return err
	}
	if out.InTheWay, err = b.d.inTheWay(ctx, b.o.has); err != nil {
		return err
	}
	if out.Shortfall > 0 {
		out.Spare = b.d.spare(b.o, out.Shortfall, fullPlaces(b.pairs))
	}
	return nil
}

// has reports whether a place is in the scope of the options.
func (o *PlanOptions) has(place string) bool { return o.Whole || place == o.Place }

// pose makes the problem of the pairs in scope.
func (b *planning) pose(ctx context.Context) error {
	p, w := b.p, b.p.worths()
	living := p.Living.Sum()
	b.problem = &broods.Problem{Total: w.sum.Birds, Sum: w.sum.Total}
	b.plain = &broods.Problem{Total: living.Birds, Sum: living.Total}
	// Two birds that may be closer kin than anybody knows hatch what all others
	// cannot: no chick costs more than to be full kin of everybody.
	last := 2 * (w.sum.Birds + float64(b.o.Chicks) + 1)
	var places []string
	for _, x := range b.d.Bonds {
		if x.Kind == BondReleased || !b.o.has(x.Place) {
			continue
		}
		pair := PlannedPair{Bond: x, Role: Rest, Record: p.Broods(x.Female, x.Male)}
		pair.Barred = b.barred(&pair)
		pair.Chance = math.Min(1, pair.Chicks/float64(b.basis))
		least, most := b.limits(&pair)
		k := len(b.pairs)
		b.pairs = append(b.pairs, pair)
		if most == 0 {
			continue
		}
		place, known := slices.BinarySearch(places, x.Place)
		if !known {
			places = slices.Insert(places, place, x.Place)
		}
		b.hatching = append(b.hatching, k)
		cost := func(sum func(node int) float64) float64 {
			f, m := p.node[x.Female], p.node[x.Male]
			return sum(f) + (1-p.Pedigree.F(f))/8 + sum(m) + (1-p.Pedigree.F(m))/8
		}
		q := broods.Pair{Chance: pair.Chance, Least: least, Most: most}
		q.Cost = cost(p.Living.KinshipSumOf)
		b.plain.Pairs = append(b.plain.Pairs, q)
		q.Cost = cost(func(node int) float64 { return w.sums[node] })
		if x.Kind == BondNew {
			q.Price = bondPrice * w.bondTakes(x.Female, x.Male)
		}
		if p.doubtful(x.Female, x.Male) {
			q.Price += last
		}
		b.problem.Pairs = append(b.problem.Pairs, q)
	}
	for k, i := range b.hatching {
		place, _ := slices.BinarySearch(places, b.pairs[i].Place)
		b.problem.Pairs[k].Place, b.plain.Pairs[k].Place = place, place
	}
	for _, code := range places {
		b.problem.Rooms = append(b.problem.Rooms, b.roomFor(code))
	}
	b.plain.Rooms = b.problem.Rooms
	return b.relate(ctx)
}

// limits returns how few and how many chicks a pair may hatch, and fills in the chance of
// each: of eggs that lie under it, of what a person chose or agreed on, or of the limit of
// all pairs. A most of 0 leaves it out of the problem; one that is barred and hatches all
// the same is planned besides it.
func (b *planning) limits(x *PlannedPair) (least, most int) {
	both := [2]int{x.Female, x.Male}
	most = max(0, b.o.PerPair-b.hatched[both])
	agreed := b.d.rulings.hatches[both] != nil
	chosen, isChosen := b.d.chosen.hatches(b.p, both)
	second := b.second[both]
	if isChosen || agreed || len(x.Barred) > 0 {
		second = nil
	}
	if second.waits() {
		x.Again = true
		return 0, min(most, second.place)
	}
	if s := b.broods[both]; s.done() && len(x.Barred) == 0 {
		if s.untold == nil && s.more > 0 { // nobody takes an egg from beside a chick
			if s.hatched.Fertile >= 0 {
				x.Chance = b.fertileChance(x)
			}
			return s.more, s.more
		}
		return 0, 0
	}
	if c := b.clutch[both]; c != nil {
		least, most, x.Chance = b.standing(x, c)
		if isChosen { // eggs under a pair that has settled stay, and there are no more than lie there
			chosen = min(max(chosen, least), eggsOf(c, b.basis))
		}
	} else if second != nil && !second.open && !second.laid {
		return 0, 0
	} else if len(x.Barred) > 0 {
		if isChosen {
			most = chosen
		}
		bird, anyEgg := b.anyEgg(x)
		if anyEgg && !agreed {
			x.Reasons = []Reason{{Code: AnyEggCounts, Birds: b.p.birds(bird)}}
		}
		if (anyEgg || agreed) && most > 0 {
			x.Role, x.HatchUpTo = Planned, most
		}
		if anyEgg || agreed || !isChosen {
			return 0, 0
		}
	}
	switch {
	case isChosen:
		most = min(chosen, max(most, b.basis))
		least = most
	case agreed:
		least = most
	}
	return least, most
}

// relate fills in the kinships of the chicks of every two pairs.
func (b *planning) relate(ctx context.Context) error {
	n := len(b.hatching)
	if n == 0 {
		return nil
	}
	var nodes []int
	at := map[int]int{}
	for _, i := range b.hatching {
		for _, bird := range [2]int{b.pairs[i].Female, b.pairs[i].Male} {
			if _, known := at[bird]; !known {
				at[bird] = len(nodes)
				nodes = append(nodes, b.p.node[bird])
			}
		}
	}
	kinship, parents := make([][]float64, n), make([][2]int, n) // in nodes
	for k, i := range b.hatching {
		kinship[k] = make([]float64, n)
		parents[k] = [2]int{at[b.pairs[i].Female], at[b.pairs[i].Male]}
	}
	// The kinships of a parent with all parents are many: those of each are added to
	// its pairs and forgotten, the mothers' before the fathers'.
	for _, parent := range [2]func(x *PlannedPair) int{
		func(x *PlannedPair) int { return x.Female },
		func(x *PlannedPair) int { return x.Male },
	} {
		var of []int      // nodes of the parents of this sex
		var pairs [][]int // of each, in b.hatching
		known := map[int]int{}
		for k, i := range b.hatching {
			bird := parent(&b.pairs[i])
			r, there := known[bird]
			if !there {
				r = len(of)
				known[bird] = r
				of, pairs = append(of, b.p.node[bird]), append(pairs, nil)
			}
			pairs[r] = append(pairs[r], k)
		}
		err := b.p.Pedigree.KinshipRows(ctx, of, nodes, func(r int, row []float64) {
			for _, k := range pairs[r] {
				for l, of := range parents {
					kinship[k][l] = kinship[k][l] + row[of[0]] + row[of[1]]
				}
			}
		})
		if err != nil {
			return err
		}
	}
	for _, row := range kinship {
		for l := range row {
			row[l] /= 4
		}
	}
	b.problem.Kinship, b.plain.Kinship = kinship, kinship
	return nil
}

// roomFor returns how many chicks more a place has room for: its free places, the
// deaths to be expected there and the birds that the decision sends away, less
// those that it brings and the chicks of the season that are there already; -1 where
// its places are not on record.
func (b *planning) roomFor(code string) int {
	r := b.d.room(code)
	if r.Birds < 0 {
		return -1
	}
	room := r.Birds
	for _, i := range b.p.chicksOfSeason() {
		if b.p.Book.Birds[i].Location == code {
			room--
		}
	}
	for _, m := range b.d.AllMoves() {
		switch code {
		case m.From:
			room++
		case m.To:
			room--
		}
	}
	return max(0, room)
}

// share gives the pairs their roles.
func (b *planning) share(planned []int, reserves broods.Reserves) {
	type place struct{ pair, order int }
	var first []place
	for i := range b.pairs {
		if b.pairs[i].Role == Planned { // any egg of it counts
			first = append(first, place{pair: i})
		}
	}
	for k, i := range b.hatching {
		pair := &b.pairs[i]
		if planned[k] == 0 {
			if reserves.Order[k] > 0 {
				pair.Role, pair.HatchUpTo = Reserve, reserves.Broods[k]
			}
			continue
		}
		pair.Role, pair.HatchUpTo = Planned, planned[k]+reserves.Broods[k]
		first = append(first, place{i, k})
	}
	slices.SortStableFunc(first, func(a, c place) int { return cmp.Compare(b.pairs[c.pair].Advantage, b.pairs[a.pair].Advantage) })
	for n, x := range first {
		b.pairs[x.pair].Order = n + 1
	}
	var next []place
	for k, i := range b.hatching {
		if b.pairs[i].Role == Reserve {
			next = append(next, place{i, reserves.Order[k]})
		}
	}
	slices.SortFunc(next, func(a, c place) int { return cmp.Compare(a.order, c.order) })
	for n, x := range next {
		b.pairs[x.pair].Order = len(first) + n + 1
	}
}

// Rests reports whether the plan lets a pair hatch nothing because others do more.
func (x *Plan) Rests(female, male int) bool {
	return slices.ContainsFunc(x.Pairs, func(y PlannedPair) bool {
		return y.Female == female && y.Male == male && slices.ContainsFunc(y.Reasons, func(r Reason) bool { return r.Is(NotNeeded, OthersSit) })
	})
}

// FullPlaces returns the places, in their order, at which pairs would hatch chicks that
// are wanted if there were room for them.
func (x *Plan) FullPlaces() []string { return fullPlaces(x.Pairs) }

func fullPlaces(pairs []PlannedPair) []string {
	var full []string
	for k := range pairs {
		if p := &pairs[k]; p.Crowded && !slices.Contains(full, p.Place) {
			full = append(full, p.Place)
		}
	}
	slices.Sort(full)
	return full
}

// crowd marks the pairs that would hatch chicks if their place had room for more.
func (b *planning) crowd(out *Plan) {
	left := slices.Clone(b.problem.Rooms)
	least := math.Inf(1) // advantage of a pair that hatches
	for k, i := range b.hatching {
		x := &b.pairs[i]
		left[b.problem.Pairs[k].Place] -= x.HatchUpTo
		if x.HatchUpTo > 0 {
			least = min(least, x.Advantage)
		}
	}
	for k, i := range b.hatching {
		x, at := &b.pairs[i], b.problem.Pairs[k].Place
		full := b.problem.Rooms[at] >= 0 && left[at] <= 0
		wanted := out.Shortfall > 0 || out.Wanted > out.Hatched && x.Advantage > least+sameGain
		x.Crowded = x.HatchUpTo == 0 && !x.Late && x.Chance > 0 && full && wanted
	}
}

// expect fills in what is to be expected.
func (b *planning) expect(out *Plan, best broods.Solution, reserves broods.Reserves) {
	limits, hatch := make([]int, len(b.hatching)), 0.0
	for k, i := range b.hatching {
		pair := &b.pairs[i]
		limits[k] = pair.HatchUpTo
		pair.Expected = float64(pair.HatchUpTo) * pair.Chance
		hatch += pair.Expected
		out.MeanInbreeding += pair.Expected * pair.Kinship
	}
	if hatch > 0 {
		out.MeanInbreeding /= hatch
	}
	var reserve []int // in b.hatching
	for k, i := range b.hatching {
		if b.pairs[i].Role == Reserve {
			reserve = append(reserve, k)
		}
	}
	slices.SortFunc(reserve, func(k, l int) int { return b.pairs[b.hatching[k]].Order - b.pairs[b.hatching[l]].Order })
	out.InTurn = b.problem.ExpectInTurn(limits, reserve, out.Wanted-out.Hatched) + float64(out.Hatched)
	var e broods.Expected
	var both conc.WaitGroup
	both.Go(func() { e = b.plain.Expect(limits) })
	both.Go(func() { out.ExpectedWeighted = b.problem.Expect(limits).GeneDiversity })
	both.Wait()
	out.Expected = e.Chicks + float64(out.Hatched)
	if reserves.Shortfall > 0 {
		out.Shortfall = max(0, float64(out.Wanted)-out.Expected)
	}
	out.ChanceEnough = e.AtLeast(out.Wanted - out.Hatched)
	out.Now, out.Known = b.p.Living.GeneDiversity()
	out.ExpectedDiversity = e.GeneDiversity
	out.WeightedNow, _ = b.p.worths().sum.GeneDiversity()
	out.Planned, out.Bound, out.Proven = best.GeneDiversity, best.Bound, best.Proven
	if best.Chicks == 0 {
		out.Planned, out.Bound = out.WeightedNow, out.WeightedNow
	}
	chicks := 0.0
	var planned, advantages []float64
	for k, i := range b.hatching {
		if n := float64(best.Broods[k]); n > 0 {
			planned, advantages = append(planned, n), append(advantages, b.pairs[i].Advantage)
			chicks += n
		}
	}
	for k, rating := range b.d.m.gainsAheadOf(advantages) {
		out.AheadOf += planned[k] * rating.AheadOf
		out.Behind += planned[k] * rating.Behind
	}
	out.AheadOf /= math.Max(1, chicks)
	out.Behind /= math.Max(1, chicks)
}

// order lists the pairs as a reader takes them in.
func (b *planning) order(out *Plan) {
	rank := func(x *PlannedPair) int {
		if x.Order > 0 {
			return x.Order
		}
		return math.MaxInt
	}
	out.Pairs = b.pairs
	slices.SortStableFunc(out.Pairs, func(a, c PlannedPair) int {
		return cmp.Or(cmp.Compare(rank(&a), rank(&c)), cmp.Compare(a.Place, c.Place), cmp.Compare(a.Female, c.Female), cmp.Compare(a.Male, c.Male))
	})
	for _, x := range b.d.Bonds {
		leaves := x.Move != nil && b.o.has(x.Move.From) && !b.o.has(x.Place)
		if leaves || x.Kind == BondReleased && b.o.has(x.Place) {
			pair := PlannedPair{Bond: x, Record: b.p.Broods(x.Female, x.Male)}
			if x.Word != nil {
				pair.Reasons = []Reason{x.Word.Reason(b.p)}
			}
			out.Pairs = append(out.Pairs, pair)
		}
	}
}
