package pairing

import (
	"cmp"
	"context"
	"math"
	"slices"
	"sync"

	"pairwright/pairing/internal/bonds"
	"pairwright/pedigree/studbook"
)

// DecisionOptions say what the season's decision must keep to. The zero value
// asks for the programme's own rules.
type DecisionOptions struct {
	// LimitInbreeding is the F of a chick from which on a pair is ruled out;
	// nil for the programme's limit.
	LimitInbreeding *float64
	Moves           *int     // most birds that may move; nil for as many as are worth it
	Release         []string // ids of birds whose bonds may be parted
	FreeBonds       bool     // all bonds may be parted
	IgnoreSpaces    bool     // as if every place had room enough

	// PairsAlone leaves out how many pairs each new bond is ahead of, for those who ask
	// for the pairs and what they hatch.
	PairsAlone bool
}

// Decision is who lives with whom from the coming season on, for the whole
// programme: the one value that every answer is taken from. It is immutable.
type Decision struct {
	Options DecisionOptions
	Season  Calendar

	// Bonds are the pairs that stay and the new ones, by place and the female's
	// id, then the bonds that the options part.
	Bonds []Bond
	// Sum is of the values of the new bonds, and of bonds kept that the options
	// let go; no choice within the limits has more than Bound, each move charged
	// LeastGain. Both are in gene diversity.
	Sum, Bound float64
	Proven     bool // none has more, but for rounding
	Moves      int  // birds that move
	// LeastGain is what a pair must gain beyond what its birds would do
	// otherwise to be worth a move.
	LeastGain float64

	p         *Programme
	m         *market
	limit     float64
	free      pool
	answer    *bonds.Answer
	open      [][]bool                     // which pairs of free may be formed, by row and column
	bond      []int                        // of each bird of the snapshot in Bonds, -1 if it has none
	waits     map[int]bool                 // birds that wait for a mate of the season after the coming one; see assign
	rulings   rulings                      // what people have decided
	coming    *coming                      // the seasons after the coming one, once they are asked for
	roomAfter func() map[string]bonds.Room // leftRoom, computed when first asked for
	breeders  func() breeders              // findBreeders, when first asked for
	unkept    func() []Unkept              // findUnkept, when first asked for: rankings ask for each bird
	partings  *partings                    // bonds that stand in the way
	parted    [][2]int                     // bonds, by female and male, that count as parted on people's word; see ifParted
	chosen    *chosenSeason                // a person's season that it keeps to; nil for none
	// letGo is the decision as if a bird that people agreed to pair were free: what
	// its mates are worth is read from that.
	letGo map[int]*Decision
	asked *otherPlans // what its plans of other scopes ask of pairs
}

// BondKind says what becomes of a bond.
type BondKind string

// The kinds of bond in a decision.
const (
	BondKept     BondKind = "kept"
	BondNew      BondKind = "new"
	BondReleased BondKind = "released" // parted, on the word of a person
)

// Bond is a pair in the decision.
type Bond struct {
	Female, Male int // in the snapshot
	Kind         BondKind
	Place        string       // where the two are to live; of a released bond where it was
	Move         *PlannedMove // nil if both live there
	Word         *Ruling      // of a person, that formed or parted it; nil if nobody's did
	Kinship      float64      // F of a chick
	Chicks       float64      // expected in the coming season if its eggs are left to it
	Late         bool         // the two cannot be together before the season after the coming one
	Advantage    float64      // of one chick, in weighted gene diversity

	// Of new bonds: what the pair is worth, its net gain as a mate for the female
	// (see Choice.NetGain), and how it compares with the programme's eligible pairs.
	Value, NetGain float64
	Rating

	// UndoneBy is, of a new pair in an answer, the advised parting of another bond after
	// which it would not be formed; see Decision.UndoneBy, which knows it.
	UndoneBy *Undoing
}

// PlannedMove is a bird that moves to its mate.
type PlannedMove struct {
	Bird     int
	From, To string
}

// pool is the birds that are free to be paired, by number among their sex in
// the market, and back.
type pool struct {
	females, males []int
	row, column    map[int]int // of a bird of the snapshot
}

func (x *pool) add(b, number int, sex studbook.Sex) {
	if sex == studbook.Female {
		x.row[b] = len(x.females)
		x.females = append(x.females, number)
		return
	}
	x.column[b] = len(x.males)
	x.males = append(x.males, number)
}

// has reports whether a bird is in the pool.
func (x *pool) has(b int) bool {
	_, female := x.row[b]
	_, male := x.column[b]
	return female || male
}

// Decide finds who should live with whom: free birds are assigned to each other
// so that what the pairs are worth adds up to most, within kinship, holds on
// moving and free places. What people have agreed on is fixed before, and what they
// declined is left out; see Ruling. See examples/README.md for the rules. An error is an unknown id
// in Release, a *TooManyError, or ctx's.
func (p *Programme) Decide(ctx context.Context, o DecisionOptions) (*Decision, error) {
	for _, id := range o.Release {
		if _, err := p.Bird(id); err != nil {
			return nil, err
		}
	}
	d := &Decision{Options: o, Season: p.Calendar(), p: p, limit: p.Settings().LimitInbreeding, coming: &coming{markets: map[int]*market{}}}
	if o.LimitInbreeding != nil {
		d.limit = *o.LimitInbreeding
	}
	var err error
	if d.m, err = newMarket(ctx, p, d.limit, 0); err != nil {
		return nil, err
	}
	d.LeastGain = d.m.leastGain()
	return d, d.decide(ctx)
}

// decide takes the decision, once the market and the rules are there.
func (d *Decision) decide(ctx context.Context) (err error) {
	d.readRulings()
	d.free = d.freeBirds(func(b int) bool { return d.released(b) && !d.promised(b) })
	if f, m := len(d.free.females), len(d.free.males); f > 0 && m > mostFreePairs/f {
		return &TooManyError{Females: f, Males: m, Free: true}
	}
	if err := d.assign(ctx); err != nil {
		return err
	}
	d.Sum, d.Bound, d.Proven, d.Moves = d.answer.Sum, d.answer.Bound, d.answer.Proven, d.answer.Moves+len(d.Sent())
	for _, x := range d.answer.Pairs { // hardship orders pairs and is no part of what they are worth
		hardship := d.p.hardship(d.m.females[d.free.females[x.Female]], d.m.males[d.free.males[x.Male]]) * d.m.unit
		d.Sum, d.Bound = d.Sum+hardship, d.Bound+hardship
	}
	if err := d.fillFixed(ctx); err != nil {
		return err
	}
	d.fill()
	if !d.Options.PairsAlone {
		d.placeAmongPairs()
	}
	d.index()
	d.roomAfter, d.breeders, d.unkept, d.partings = sync.OnceValue(d.leftRoom), sync.OnceValue(d.findBreeders), sync.OnceValue(d.findUnkept), &partings{}
	d.asked = &otherPlans{of: map[string]map[[2]int]OtherPlan{}}
	return nil
}

// placeAmongPairs tells of the new bonds how many pairs each is ahead of.
func (d *Decision) placeAmongPairs() {
	var values []float64
	for _, x := range d.Bonds {
		if x.Kind == BondNew {
			values = append(values, x.Value)
		}
	}
	ahead := d.m.aheadOfEach(values)
	for k := range d.Bonds {
		if d.Bonds[k].Kind == BondNew {
			d.Bonds[k].Rating, ahead = ahead[0], ahead[1:]
		}
	}
}

// fillFixed writes out the pairs that people agreed on.
func (d *Decision) fillFixed(ctx context.Context) error {
	d.letGo = map[int]*Decision{}
	for _, pair := range d.fixedPairs() {
		f, m := d.m.number[pair[0]], d.m.number[pair[1]]
		bond := d.bondOf(f, m)
		bond.Kind, bond.Word, bond.Value = BondNew, d.rulings.pairs[pair], d.value(f, m)
		if !d.chosen.whole() && len(d.parted) == 0 { // where all is chosen by a person, or who lives with whom is all that is asked, nothing else is weighed
			wide, err := d.with(ctx, func(b int) bool { return b == pair[0] || b == pair[1] || d.released(b) && !d.promised(b) })
			if err != nil {
				return err
			}
			d.letGo[pair[0]], d.letGo[pair[1]] = wide, wide
			if x, ok := d.unplacedMate(pair[0], pair[1]); ok {
				bond.NetGain = x.NetGain
			}
		}
		if move, apart := d.rulings.moves[pair]; apart {
			bond.Place, bond.Move = move.To, &move
			d.Moves++
		}
		d.Sum += bond.Value
		d.Bound += bond.Value
		d.Bonds = append(d.Bonds, bond)
	}
	return nil
}

// with returns the decision with some birds let go besides the free ones.
func (d *Decision) with(ctx context.Context, letGo func(b int) bool) (*Decision, error) {
	wide := *d
	wide.letGo = nil
	wide.free = wide.freeBirds(letGo)
	var err error
	wide.answer, err = wide.solve(ctx, wide.free)
	return &wide, err
}

// released reports whether the options let a bonded bird go. A pair that sits or
// feeds chicks is never parted.
func (d *Decision) released(b int) bool {
	id := d.p.Book.Birds[b].ID
	for _, mate := range d.p.Mates(b) {
		other := d.p.Book.Birds[mate].ID
		if d.rulings.parts[d.pairOf(b, mate)] != nil {
			return true
		}
		if d.Options.FreeBonds || slices.Contains(d.Options.Release, id) || slices.Contains(d.Options.Release, other) {
			return !d.onNest(b) && !d.onNest(mate)
		}
	}
	return false
}

// freeBirds returns the birds of the market that have no mate, and those with one
// that is let go.
func (d *Decision) freeBirds(letGo func(b int) bool) pool {
	x := pool{row: map[int]int{}, column: map[int]int{}}
	for _, side := range [2][]int{d.m.females, d.m.males} {
		for k, b := range side {
			if (d.p.State(b).State == StateFree && !d.promised(b) || letGo(b)) && !d.chosen.keepsAlone(d.p, b) {
				x.add(b, k, d.p.Book.Birds[b].Sex)
			}
		}
	}
	return x
}

// solve assigns the birds of a pool to each other.
func (d *Decision) solve(ctx context.Context, free pool) (*bonds.Answer, error) {
	problem := &bonds.Problem{Moves: -1, LeastGain: d.LeastGain}
	places := d.p.Book.Locations()
	for _, m := range d.rulings.sent {
		if !slices.Contains(places, m.To) {
			places = append(places, m.To)
		}
	}
	slices.Sort(places)
	agreed := d.agreedMoves(free)
	for _, code := range places {
		problem.Rooms = append(problem.Rooms, less(d.room(code), d.p, agreed, code))
	}
	if d.Options.Moves != nil {
		problem.Moves = max(0, *d.Options.Moves-len(agreed))
	}
	at := func(b int) int {
		code := d.livesAt(b)
		k, _ := slices.BinarySearch(places, code)
		if code == "" && d.p.Book.Colony.HasLocation { // nobody knows where it is: at a place of its own
			k = len(problem.Rooms)
			problem.Rooms = append(problem.Rooms, bonds.Room{})
		}
		return k
	}
	for _, m := range free.males {
		problem.MaleAt = append(problem.MaleAt, at(d.m.males[m]))
	}
	d.open = d.openPairs(free)
	for _, f := range free.females {
		problem.FemaleAt = append(problem.FemaleAt, at(d.m.females[f]))
	}
	males := make([]column, len(free.males))
	for c, m := range free.males {
		males[c] = d.m.columns[m]
	}
	hers, his := d.travellers(d.m.females, free.females), d.travellers(d.m.males, free.males)
	problem.Value, problem.Ways = make([][]float64, len(free.females)), make([][]bonds.Ways, len(free.females))
	if err := inParallel(ctx, len(free.females), func(r int) error {
		f := free.females[r]
		values, ways := make([]float64, len(free.males)), make([]bonds.Ways, len(free.males))
		fresh := d.m.valuesOf(f, males, make([]float64, 0, len(free.males)))
		for c, m := range free.males {
			values[c] = math.Inf(-1)
			if TooClose(d.m.kin(f, m), d.m.limit) {
				continue
			}
			value := fresh[0]
			if fresh = fresh[1:]; !d.open[r][c] {
				continue
			}
			female, male := d.m.females[f], d.m.males[m]
			values[c] = d.valueAs(f, m, value) - d.p.hardship(female, male)*d.m.unit
			if problem.FemaleAt[r] != problem.MaleAt[c] && hers[r].stays && his[c].stays {
				ways[c] = d.waysOf(female, male, hers[r].may, his[c].may)
			}
		}
		problem.Value[r], problem.Ways[r] = values, ways
		return nil
	}); err != nil {
		return nil, err
	}
	return problem.Solve(ctx)
}

// traveller is a bird as its moves go.
type traveller struct {
	stays bool // it is to live where it is: nobody follows one that is sent, but those who live there
	may   bool // it may move to a mate
}

func (d *Decision) travellers(side, numbers []int) []traveller {
	out := make([]traveller, len(numbers))
	for k, n := range numbers {
		b := side[n]
		at := d.p.Book.Birds[b].Location // "" where nobody knows: it cannot be sent
		_, sent := d.rulings.sent[b]
		out[k] = traveller{at != "" && d.livesAt(b) == at, !sent && d.p.mayTravel(b)}
	}
	return out
}

// waysOf returns how two birds of different places come together, where each may move or
// not.
func (d *Decision) waysOf(female, male int, hers, his bool) (ways bonds.Ways) {
	if _, no := d.DeclinedMove(female, male, d.p.Book.Birds[male].Location); hers && !no {
		ways |= bonds.FemaleMoves
	}
	if _, no := d.DeclinedMove(male, female, d.p.Book.Birds[female].Location); his && !no {
		ways |= bonds.MaleMoves
	}
	if ways == bonds.FemaleMoves|bonds.MaleMoves {
		ways |= d.rather(female, male)
	}
	return ways
}

// value returns what two birds of the market are worth as a pair: as they are if
// they are mates already, else as a new pair.
func (d *Decision) value(f, m int) float64 { return d.valueAs(f, m, d.m.value(f, m)) }

// valueAs is value from what the two are worth as a new pair.
func (d *Decision) valueAs(f, m int, fresh float64) float64 {
	female, male := d.m.females[f], d.m.males[m]
	if slices.Contains(d.p.Mates(female), male) {
		return d.m.kept(f, m)
	}
	if len(d.rulings.sent) > 0 && d.livesAt(female) == d.livesAt(male) && d.p.Book.Birds[female].Location != d.p.Book.Birds[male].Location {
		fresh += movePrice * d.m.unit // the move is made in any case
	}
	return fresh
}

// agreedMoves returns the moves that people agreed on, but for those of pairs that
// are in a pool: there they are chosen freely.
func (d *Decision) agreedMoves(free pool) []PlannedMove {
	var out []PlannedMove
	for _, pair := range d.fixedPairs() {
		if m, apart := d.rulings.moves[pair]; apart {
			if _, in := free.row[pair[0]]; !in {
				out = append(out, m)
			}
		}
	}
	return append(out, d.Sent()...)
}

// less takes the birds that move to a place off its room.
func less(r bonds.Room, p *Programme, moves []PlannedMove, code string) bonds.Room {
	take := func(n *int) {
		if *n > 0 {
			*n--
		}
	}
	for _, m := range moves {
		if m.To != code {
			continue
		}
		take(&r.Birds)
		switch p.Book.Birds[m.Bird].Sex {
		case studbook.Female:
			take(&r.Females)
		case studbook.Male:
			take(&r.Males)
		}
	}
	return r
}

// hardship is what a new pair costs its birds where nothing else tells two pairs
// apart, in units of S_w: known bonds come before new ones, nearer before farther,
// and siblings who are alike in all of that by id, so that a bird that was sent for
// one of them is not given the other on arrival. It is so small that no pair that is
// worth more is passed over for it.
func (p *Programme) hardship(female, male int) float64 {
	const most, sibling = 5e-11, 1e-11 // well above what rounding does to values of equal pairs, and far below sameValue
	sum := sibling * p.places().later(female, male)
	if !p.wereBonded(female, male) {
		sum += most
	}
	if km := p.places().apart(female, male); !math.IsNaN(km) {
		return sum + most*km/(2*math.Pi*earthRadius)
	}
	return sum + most
}

// wereBonded reports whether a female and a male are bonded or were.
func (p *Programme) wereBonded(female, male int) bool { return slices.Contains(p.bonded[female], male) }

// openPairs returns which pairs of a pool, by row and column, may be formed: within
// the limit, and where its chick would reach the preferred F, or the two may be
// closer kin than anybody knows, only if one of the two has no other mate.
func (d *Decision) openPairs(free pool) [][]bool {
	open := make([][]bool, len(free.females))
	_ = inParallel(context.Background(), len(free.females), func(r int) error {
		f := free.females[r]
		open[r] = make([]bool, len(free.males))
		for c, m := range free.males {
			open[r][c] = d.mayForm(f, m) && d.p.Preferred(d.m.kin(f, m)) && !d.p.doubtful(d.m.females[f], d.m.males[m])
		}
		return nil
	})
	addLastResorts(open, len(free.males), func(r, c int) bool { return d.mayForm(free.females[r], free.males[c]) })
	return open
}

// addLastResorts adds to the good pairs, by row and column, those that may be formed and
// of which one of the two birds is in no good pair.
func addLastResorts(good [][]bool, males int, may func(r, c int) bool) {
	var left, all []int // columns of males in no good pair, of all males
	for c := range males {
		all = append(all, c)
		if !slices.ContainsFunc(good, func(row []bool) bool { return row[c] }) {
			left = append(left, c)
		}
	}
	for r, row := range good {
		without := left
		if !slices.Contains(row, true) {
			without = all
		}
		for _, c := range without {
			row[c] = may(r, c)
		}
	}
}

// room returns how many birds a place can take in: its free places and the deaths
// to be expected there within a year, rounded down, for each sex and for both together,
// as chicks come whose sex nobody knows.
func (d *Decision) room(code string) bonds.Room {
	r := bonds.Room{Females: -1, Males: -1, Birds: -1}
	in, ok := d.p.Book.Institution(code)
	if !ok || d.Options.IgnoreSpaces {
		return r
	}
	dies := d.p.deaths()[code]
	if in.SpacesF >= 0 {
		r.Females = in.SpacesF + int(dies[0])
	}
	if in.SpacesM >= 0 {
		r.Males = in.SpacesM + int(dies[1])
	}
	if r.Females >= 0 && r.Males >= 0 {
		r.Birds = in.SpacesF + in.SpacesM + int(dies[0]+dies[1])
	}
	return r
}

// Places returns how many birds of a sex a place can take in: its free places and
// the deaths to be expected there within a year; -1 where that is not on record.
func (d *Decision) Places(code string, sex studbook.Sex) int {
	r := d.room(code)
	if sex == studbook.Female {
		return r.Females
	}
	return r.Males
}

// FreePlaces returns the free places of an institution for a sex as they are on record, -1
// where they are not. The decision counts the deaths to be expected there besides, so a bird
// that it sends where there are 0 may go only when a place comes free.
func (p *Programme) FreePlaces(code string, sex studbook.Sex) int {
	in, ok := p.Book.Institution(code)
	switch {
	case !ok:
		return -1
	case sex == studbook.Female:
		return in.SpacesF
	}
	return in.SpacesM
}

// fill writes the answer out for birds.
func (d *Decision) fill() {
	p := d.p
	add := func(x Bond) { d.Bonds = append(d.Bonds, x) }
	found := map[[2]int]bool{}
	for _, x := range d.Bonds { // those that people agreed on
		found[[2]int{x.Female, x.Male}] = true
	}
	for _, x := range d.answer.Pairs {
		f, m := d.free.females[x.Female], d.free.males[x.Male]
		bond := d.bondOf(f, m)
		found[[2]int{bond.Female, bond.Male}] = true
		if slices.Contains(p.Mates(bond.Female), bond.Male) {
			add(bond)
			continue
		}
		bond.Kind = BondNew
		hard := p.hardship(bond.Female, bond.Male) * d.m.unit // told apart with, and no part of the figures
		bond.Value = settled(d.value(f, m))
		bond.NetGain, _ = d.answer.OfItsMale(x.Female)
		bond.NetGain += hard
		female, male := p.Book.Birds[bond.Female].Location, p.Book.Birds[bond.Male].Location
		switch x.Mover {
		case bonds.FemaleMoves:
			bond.Place, bond.Move = male, &PlannedMove{bond.Female, female, male}
		case bonds.MaleMoves:
			bond.Move = &PlannedMove{bond.Male, male, female}
		default:
			for _, b := range [2]int{bond.Female, bond.Male} {
				if m, sent := d.rulings.sent[b]; sent && female != male {
					bond.Place, bond.Move = m.To, &m
				}
			}
		}
		add(bond)
	}
	for _, pair := range p.pairs() {
		if found[pair] {
			continue
		}
		x := Bond{Female: pair[0], Male: pair[1], Kind: BondKept, Place: p.Book.Birds[pair[0]].Location}
		if f, m := d.m.number[pair[0]], d.m.number[pair[1]]; f >= 0 && m >= 0 {
			x = d.bondOf(f, m)
		} else {
			x.Kinship = p.Pedigree.Kinship(p.node[pair[0]], p.node[pair[1]])
		}
		if d.released(pair[0]) {
			x.Kind, x.Word = BondReleased, d.rulings.parts[pair]
		}
		add(x)
	}
}

// index puts the bonds in order and notes who is in which.
func (d *Decision) index() {
	p := d.p
	slices.SortFunc(d.Bonds, func(a, b Bond) int {
		gone := func(x Bond) int {
			if x.Kind == BondReleased {
				return 1
			}
			return 0
		}
		return cmp.Or(cmp.Compare(gone(a), gone(b)), cmp.Compare(a.Place, b.Place), cmp.Compare(a.Female, b.Female), cmp.Compare(a.Male, b.Male))
	})
	d.bond = make([]int, len(p.Book.Birds))
	for b := range d.bond {
		d.bond[b] = -1
	}
	for k, x := range d.Bonds {
		for _, b := range [2]int{x.Female, x.Male} {
			if d.bond[b] < 0 {
				d.bond[b] = k
			}
		}
	}
}

// bondOf returns the pair of two birds of the market, by number.
func (d *Decision) bondOf(f, m int) Bond {
	pair := d.m.pair(f, m)
	x := Bond{Female: d.m.females[f], Male: d.m.males[m], Kind: BondKept, Kinship: pair.kinship, Advantage: d.m.advantage(pair)}
	x.Place = d.p.Book.Birds[x.Female].Location
	x.Late = d.m.begins(pair) > 0
	x.Chicks = d.m.chicksIn(pair, 0, !slices.Contains(d.p.Mates(x.Female), x.Male))
	return x
}

// AllAlike reports whether a chick of any pair that may breed would gain the same,
// or there is one such pair at most: then chicks alone count.
func (d *Decision) AllAlike() bool { return d.m.alike }

// EligiblePairs returns how many pairs of the programme may breed, bonds aside.
func (d *Decision) EligiblePairs() int { return d.m.eligible }

// BondOf returns the pair that a bird is to live in; ok is false if it is to be
// alone.
func (d *Decision) BondOf(b int) (Bond, bool) {
	if k := d.bond[b]; k >= 0 && d.Bonds[k].Kind != BondReleased {
		return d.Bonds[k], true
	}
	return Bond{}, false
}

// MateOf returns the mate that a bird is to live with; ok is false if it is to be
// alone.
func (d *Decision) MateOf(b int) (mate int, ok bool) {
	x, ok := d.BondOf(b)
	return x.Mate(b), ok
}

// Mate returns the other bird of the bond of bird b.
func (x *Bond) Mate(b int) int {
	if x.Female == b {
		return x.Male
	}
	return x.Female
}
