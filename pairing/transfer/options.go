package transfer

import (
	"cmp"
	"context"
	"math"
	"slices"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// Way says how a pair is brought together.
type Way string

// The ways.
const (
	Stay  Way = "stay"  // with a mate at home: no bird moves
	Bring Way = "bring" // a mate comes to the bird
	Send  Way = "send"  // the bird goes to a mate
	Swap  Way = "swap"  // two institutions give each other a bird, and both gain a pair that beats those at home
	Chain Way = "chain" // the same among three institutions, in a ring
)

// Option is one way to give a bird a mate, or, without a pair, to bring a young
// one to where it should be when it comes of age.
type Option struct {
	Way Way
	// Moves are the birds that travel; the first brings together the pair of
	// the bird asked about, and none is needed for Stay.
	Moves []Move
	// Pairs are the new pairs, the first that of the bird asked about, then
	// one for every further move.
	Pairs []Pair
	// NetGain is what the programme gains by the pairs, less what their mates
	// would do otherwise: the sum over the pairs, in weighted gene diversity.
	NetGain float64
	// LessMoves is NetGain with what a move must be worth taken off each pair that
	// needs one, whether or not the decision makes that move: what options are held
	// against each other by.
	LessMoves float64
	Decided   bool            // the season's decision has it
	Broken    []studbook.Bond // open bonds that would end

	// NoSpace says where a free place is lacking, as far as the files tell; Held
	// which bird may not travel until further notice. Both are empty if nothing
	// stands in the way.
	NoSpace, Held []pairing.Reason
	// ToComeFree says which places that lack now the decision counts on all the same.
	ToComeFree []pairing.Reason
}

// decide marks an option as the decision's, which counts the places that deaths are
// expected to free, and all its moves.
func (o *Option) decide() {
	o.Decided = true
	for _, r := range o.NoSpace {
		r.Code = PlaceToCome
		o.ToComeFree = append(o.ToComeFree, r)
	}
	o.NoSpace = nil
}

// Useful reports whether every pair of the option is one that a ranking of
// mates recommends or accepts.
func (o *Option) Useful() bool {
	return !slices.ContainsFunc(o.Pairs, func(x Pair) bool { return !x.Figures.Verdict.Good() })
}

// mateOf returns the mate that the option gives a bird of its first pair.
func (o *Option) mateOf(b int) int { return o.Pairs[0].Mate(b) }

// Move is the journey of one bird.
type Move struct {
	Bird       int // in the snapshot
	From, To   string
	Before     int     // how often the bird was moved until today
	Distance   float64 // km
	Placed     bool    // the distance is known
	Quarantine int     // days at the receiving end
	// QuarantineStated is true where the receiver states its quarantine; else
	// it is that of the settings.
	QuarantineStated bool
	// Abroad is true if the two ends are known to be in different countries;
	// PermitWeeks is then what the slower of the two says that a permit takes,
	// -1 where neither says.
	Abroad      bool
	PermitWeeks int
	Spaces      int // free places at the receiver for the bird's sex; -1 if not known
}

// Pair is a new pair.
type Pair struct {
	Female, Male int // in the snapshot
	At           string
	// Figures are those of the pair in a ranking of the mates of the bird that
	// it is made for.
	Figures pairing.Candidate
	// Chicks are those expected of the first season that the two have together:
	// the coming one, or the next where the move comes too late for it.
	Chicks float64
	// LessMove is the net gain of Figures, what a move must be worth taken off where
	// one of the two moves.
	LessMove float64
}

// Mate returns the other bird of the pair of bird b.
func (x *Pair) Mate(b int) int {
	if x.Female == b {
		return x.Male
	}
	return x.Female
}

// GainFor returns the bird of the pair that the net gain of Figures is for: it is less
// what the other would do otherwise (see pairing.Choice).
func (x *Pair) GainFor() int { return x.Mate(x.Figures.Bird) }

// leg is one bird's move to one mate.
type leg struct {
	mover, stayer int
	from, to      string
	figures       pairing.Candidate
}

// network makes options of the birds of a programme.
type network struct {
	p      *pairing.Programme
	d      *pairing.Decision
	ranker *pairing.Ranker
}

// leg returns the move of a bird to a mate.
func (n *network) leg(mover, stayer int, figures pairing.Candidate) leg {
	return leg{mover, stayer, n.p.Book.Birds[mover].Location, n.p.Book.Birds[stayer].Location, figures}
}

// all returns every option for a bird, best first: with each mate at home and
// elsewhere, either way. A mate that is bonded to another bird counts only if it is
// the partner asked for.
func (n *network) all(b int, ranking *pairing.Ranking, q *Question) []*Option {
	var out []*Option
	for _, c := range ranking.Candidates {
		mate := &n.p.Book.Birds[c.Bird]
		apart := c.BondedTo != "" && c.BondedTo != n.p.Book.Birds[b].ID
		switch {
		case mate.Location == "" || apart && mate.ID != q.Partner:
		case !c.NeedsTransfer:
			o := &Option{Way: Stay}
			n.addPair(o, b, c.Bird, mate.Location, c)
			out = append(out, o)
		default:
			out = append(out, n.option(Send, n.leg(b, c.Bird, c)), n.option(Bring, n.leg(c.Bird, b, c)))
		}
	}
	order(out)
	return out
}

// decidedOption returns the move that the decision makes for a bird, nil if it
// makes none, and marks it.
func (n *network) decidedOption(b int, all []*Option) *Option {
	bond, ok := n.d.BondOf(b)
	if !ok || bond.Kind != pairing.BondNew {
		return nil
	}
	mate, _ := n.d.MateOf(b)
	k := slices.IndexFunc(all, func(o *Option) bool {
		if o.mateOf(b) != mate {
			return false
		}
		return bond.Move == nil && o.Way == Stay || bond.Move != nil && o.Way != Stay && o.Moves[0].Bird == bond.Move.Bird
	})
	if k < 0 {
		return nil
	}
	all[k].decide()
	if bond.Move == nil {
		return nil
	}
	return all[k]
}

// young returns the move of a young bird to where it should be.
func (n *network) young(y *pairing.Young) *Option {
	m := n.move(leg{mover: y.Bird, from: y.From, to: y.To})
	o := &Option{Way: Send, Moves: []Move{m}, Decided: true}
	if hold, is := heldFor(n.p, y.Bird); is {
		o.Held = []pairing.Reason{held(n.p, y.Bird, hold)}
	}
	return o
}

// exchange returns the swap that sends a bird to a place and brings from there the
// bird that gains most with a free bird of its home; nil if there is none.
func (n *network) exchange(ctx context.Context, b int, q *Question, all []*Option) (*Option, error) {
	k := slices.IndexFunc(all, func(o *Option) bool {
		return o.Way == Send && o.Moves[0].To == q.To && o.Useful() && (q.Partner == "" || n.p.Book.Birds[o.mateOf(b)].ID == q.Partner)
	})
	if k < 0 || q.To != q.From {
		return nil, nil
	}
	first := all[k]
	mate, home := first.mateOf(b), n.p.Book.Birds[b].Location
	send := n.leg(b, mate, first.Pairs[0].Figures)
	var best *Option
	for _, at := range n.p.Unpaired(home) {
		choices, err := n.d.Choices(ctx, at, false)
		if err != nil {
			return nil, err
		}
		for _, x := range choices {
			if at == b || x.Mate == mate || n.p.Book.Birds[x.Mate].Location != q.From {
				continue
			}
			figures, ok := n.ranker.Weigh(at, x.Mate)
			if !ok || !figures.Verdict.Good() {
				continue
			}
			o := n.option(Swap, send, n.leg(x.Mate, at, figures))
			if o.hindrance() == 0 && (best == nil || o.NetGain > best.NetGain) {
				best = o
			}
		}
	}
	return best, nil
}

// rings returns the swaps and rings of three that the decision's moves make: birds
// that go round, so that no place ends with fewer birds. No move is in two.
func (n *network) rings(moves []*Option) []*Option {
	used := map[*Option]bool{}
	var out []*Option
	join := func(way Way, parts ...*Option) {
		var legs []leg
		for _, o := range parts {
			used[o] = true
			m := o.Moves[0]
			legs = append(legs, n.leg(m.Bird, o.mateOf(m.Bird), o.Pairs[0].Figures))
		}
		o := n.option(way, legs...)
		o.decide()
		out = append(out, o)
	}
	next := func(from string) []*Option {
		var out []*Option
		for _, o := range moves {
			if !used[o] && o.Moves[0].From == from {
				out = append(out, o)
			}
		}
		return out
	}
	for _, a := range moves {
		if used[a] {
			continue
		}
		for _, b := range next(a.Moves[0].To) {
			if b.Moves[0].To == a.Moves[0].From {
				join(Swap, a, b)
				break
			}
		}
	}
	for _, a := range moves {
		for _, b := range next(a.Moves[0].To) {
			for _, c := range next(b.Moves[0].To) {
				if !used[a] && !used[b] && !used[c] && c.Moves[0].To == a.Moves[0].From {
					join(Chain, a, b, c)
				}
			}
		}
	}
	order(out)
	return out
}

// heldFor returns the hold that keeps a bird from moving until further notice.
func heldFor(p *pairing.Programme, b int) (studbook.Hold, bool) {
	for _, h := range p.Book.HoldsOn(p.Book.Birds[b].ID) {
		if h.Blocks != studbook.BlocksBreeding && !h.Until.Known() {
			return h, true
		}
	}
	return studbook.Hold{}, false
}

// shortages says where legs taken together lack a place: birds that leave make
// room for those of their sex that come.
func (n *network) shortages(legs []leg) []pairing.Reason {
	var out []pairing.Reason
	for k, l := range legs {
		sex := n.p.Book.Birds[l.mover].Sex
		if slices.ContainsFunc(legs[:k], func(e leg) bool { return e.to == l.to && n.p.Book.Birds[e.mover].Sex == sex }) {
			continue // counted with the first
		}
		free := n.p.FreePlaces(l.to, sex)
		if free < 0 {
			continue
		}
		for _, other := range legs {
			if n.p.Book.Birds[other.mover].Sex != sex {
				continue
			}
			if other.to == l.to {
				free--
			}
			if other.from == l.to {
				free++
			}
		}
		if free < 0 {
			why := about(n.p, NoSpace, l.mover)
			why.To = l.to
			out = append(out, why)
		}
	}
	return out
}

// option makes an option of legs; the first is that of the bird asked about.
func (n *network) option(way Way, legs ...leg) *Option {
	p := n.p
	o := &Option{Way: way, NoSpace: n.shortages(legs)}
	for _, l := range legs {
		o.Moves = append(o.Moves, n.move(l))
		n.addPair(o, l.mover, l.stayer, l.to, l.figures)
		if hold, is := heldFor(p, l.mover); is {
			o.Held = append(o.Held, held(p, l.mover, hold))
		}
		if w, no := n.d.DeclinedMove(l.mover, l.stayer, l.to); no {
			o.Held = append(o.Held, w.Reason(p))
		}
	}
	return o
}

// addPair adds a new pair to an option with what it gains and the bonds that it breaks.
func (n *network) addPair(o *Option, a, b int, at string, figures pairing.Candidate) {
	p := n.p
	pair := Pair{Female: a, Male: b, At: at, Figures: figures, Chicks: figures.Chicks, LessMove: n.d.Charged(figures.NetGain, figures.Decided && figures.Move)}
	if pair.Chicks == 0 && figures.ChicksAhead > 0 {
		pair.Chicks = p.SeasonChicks(figures.Success, figures.OffspringInbreeding, true)
	}
	if p.Book.Birds[a].Sex == studbook.Male {
		pair.Female, pair.Male = b, a
	}
	o.Pairs = append(o.Pairs, pair)
	o.NetGain += figures.NetGain
	o.LessMoves += pair.LessMove
	female, male := p.Book.Birds[pair.Female].ID, p.Book.Birds[pair.Male].ID
	for _, bond := range p.Book.OpenBonds() {
		if (bond.Female == female) != (bond.Male == male) {
			o.Broken = append(o.Broken, bond)
		}
	}
}

func (n *network) move(l leg) Move {
	p := n.p
	m := Move{Bird: l.mover, From: l.from, To: l.to, Before: p.TimesMoved(l.mover), Spaces: p.FreePlaces(l.to, p.Book.Birds[l.mover].Sex)}
	m.Distance, m.Placed = p.Distance(l.from, l.to)
	m.Abroad, m.PermitWeeks = p.Border(l.from, l.to)
	m.Quarantine, m.QuarantineStated = p.Quarantine(l.to)
	return m
}

// order sorts options, best first: what can be done as the files stand before
// what lacks a place, that before what is not useful, and that before what a hold
// forbids; then by net gain, and those within 2 % of the best not yet placed by
// cost to the birds.
func order(options []*Option) {
	pairing.InOrder(options, (*Option).hindrance, func(o *Option) float64 { return o.NetGain }, gentler)
}

// hindrance is 0 if nothing stands in the way, 1 if a place is lacking, 2 if a
// pair is not useful, 3 if a bird may not travel.
func (o *Option) hindrance() int {
	switch {
	case len(o.Held) > 0:
		return 3
	case !o.Useful():
		return 2
	case len(o.NoSpace) > 0:
		return 1
	}
	return 0
}

// costs are what an option costs the birds, the heaviest first, with the codes of
// an option that costs more than another, and of one that costs less.
var costs = []struct {
	of         func(o *Option) float64
	more, less pairing.Code
}{
	{func(o *Option) float64 { return float64(len(o.Moves)) }, MoreMoves, FewerMoves},
	{func(o *Option) float64 { return float64(len(o.Broken)) }, BreaksBonds, KeepsBonds},
	{func(o *Option) float64 {
		if o.Pairs[0].Figures.KnownBond {
			return 0
		}
		return 1
	}, Strangers, Acquainted},
	{func(o *Option) float64 { return float64(o.borders()) }, MoreBorders, FewerBorders},
	{(*Option).distance, LongerWay, ShorterWay},
	{(*Option).movedBefore, MovedMore, MovedLess},
	{func(o *Option) float64 {
		unknown := 0.0
		for _, m := range o.Moves {
			if m.Spaces < 0 {
				unknown++
			}
		}
		return unknown
	}, SpaceUnknown, SpaceKnown},
	{func(o *Option) float64 {
		fewest := math.Inf(1)
		for _, m := range o.Moves {
			if m.Spaces >= 0 {
				fewest = min(fewest, float64(m.Spaces))
			}
		}
		return -fewest
	}, FewerSpaces, MoreSpaces},
	{func(o *Option) float64 { return float64(o.quarantine()) }, LongerQuarantine, ShorterQuarantine},
}

// weigh returns the heaviest cost in which an option differs from another, as what
// speaks against it or for it; ok is false where they cost the same.
func weigh(p *pairing.Programme, o, other *Option) (r pairing.Reason, against, ok bool) {
	for _, c := range costs {
		a, b := c.of(o), c.of(other)
		if a == b {
			continue
		}
		r = pairing.Reason{Code: c.less, Value: a, Other: b}
		if against = a > b; against {
			r.Code = c.more
		}
		if math.IsInf(a, 0) || math.IsInf(b, 0) {
			r.Value, r.Other = 0, 0
			switch r.Code {
			case LongerWay:
				r.Code = DistanceUnknown
			case ShorterWay:
				r.Code = DistanceKnown
			}
		}
		if r.Code == BreaksBonds {
			for _, b := range o.Broken {
				r.Birds = append(r.Birds, p.Book.Bird(b.Female), p.Book.Bird(b.Male))
			}
		}
		return r, against, true
	}
	return r, false, false
}

// borders counts the moves that are known to cross one.
func (o *Option) borders() int {
	n := 0
	for _, m := range o.Moves {
		if m.Abroad {
			n++
		}
	}
	return n
}

func (o *Option) distance() float64 {
	km := 0.0
	for _, m := range o.Moves {
		if !m.Placed {
			return math.Inf(1)
		}
		km += m.Distance
	}
	return km
}

// movedBefore counts the moves that the birds of an option have behind them.
func (o *Option) movedBefore() float64 {
	n := 0
	for _, m := range o.Moves {
		n += m.Before
	}
	return float64(n)
}

func (o *Option) quarantine() int {
	days := 0
	for _, m := range o.Moves {
		days += m.Quarantine
	}
	return days
}

// gentler compares options by cost to the birds, then by the birds' ids.
func gentler(a, b *Option) int {
	for _, c := range costs {
		if d := cmp.Compare(c.of(a), c.of(b)); d != 0 {
			return d
		}
	}
	return compareBirds(a, b)
}

// compareBirds compares by the birds that move and their mates; birds of a
// snapshot are by id.
func compareBirds(a, b *Option) int {
	flat := func(o *Option) []int {
		var out []int
		for _, m := range o.Moves {
			out = append(out, m.Bird)
		}
		for _, x := range o.Pairs {
			out = append(out, x.Female, x.Male)
		}
		return out
	}
	return slices.Compare(flat(a), flat(b))
}
