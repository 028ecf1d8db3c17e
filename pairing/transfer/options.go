package transfer

import (
	"cmp"
	"context"
	"math"
	"slices"
	"strings"

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

// Option is one way to give a bird a mate.
type Option struct {
	Way Way
	// Moves are the birds that travel; the first brings together the pair of
	// the bird asked about, and none is needed for Stay.
	Moves []Move
	// Pairs are the new pairs, the first that of the bird asked about, then
	// one for every further move.
	Pairs []Pair
	// ExpectedGain is what the pairs' chicks of one season are expected to
	// gain for the programme's gene diversity, against chicks of average pairs:
	// the sum over the pairs. Options are ranked by GainPerMove, for every
	// move costs a bird; for Stay it is ExpectedGain.
	ExpectedGain, GainPerMove float64
	Broken                    []studbook.Bond // open bonds that would end

	// NoSpace says where a free place is lacking, as far as the files tell; Held
	// which bird may not travel until further notice. Both are empty if nothing
	// stands in the way.
	NoSpace, Held []pairing.Reason
}

// Useful reports whether every pair of the option is one that a ranking of
// mates recommends or accepts.
func (o *Option) Useful() bool {
	return !slices.ContainsFunc(o.Pairs, func(x Pair) bool { return !x.Figures.Verdict.Good() })
}

// Move is the journey of one bird.
type Move struct {
	Bird       int // in the snapshot
	From, To   string
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
	// Figures are those of the pair in a ranking of mates: what a chick
	// gains, its F, and how many to expect.
	Figures pairing.Candidate
}

// leg is one bird's move to one mate.
type leg struct {
	mover, stayer int
	from, to      string
	figures       pairing.Candidate
}

func (l *leg) has(birds ...int) bool {
	return slices.Contains(birds, l.mover) || slices.Contains(birds, l.stayer)
}

// route is a pair of institutions.
type route struct{ from, to string }

// network finds options among the birds of a programme.
type network struct {
	p      *pairing.Programme
	ranker *pairing.Ranker
	// legs are the useful moves of a free bird to a free bird that gain more
	// than either gains with a free mate at home, the largest expected gain
	// first, by route.
	legs         map[route][]leg
	atHome       map[int]float64 // what a free bird gains with its best free mate at home
	institutions []string        // where birds live
}

// newNetwork weighs all pairs of free birds in different places.
func newNetwork(ctx context.Context, p *pairing.Programme, ranker *pairing.Ranker) (*network, error) {
	n := &network{p: p, ranker: ranker, legs: map[route][]leg{}, atHome: map[int]float64{}}
	var females, males []int
	for _, at := range p.Book.Locations() {
		if at == "" { // a bird that is nobody knows where cannot be moved
			continue
		}
		n.institutions = append(n.institutions, at)
		for _, b := range p.Unpaired(at) {
			if p.Book.Birds[b].Sex == studbook.Female {
				females = append(females, b)
			} else {
				males = append(males, b)
			}
		}
	}
	rows := make([][]float64, len(females))
	if len(females) > 0 && len(males) > 0 {
		err := p.Pedigree.KinshipRows(ctx, nodes(p, females), nodes(p, males), func(r int, row []float64) { rows[r] = slices.Clone(row) })
		if err != nil {
			return nil, err
		}
	}
	type match struct {
		female, male int
		figures      pairing.Candidate
	}
	var away []match
	for f, female := range females {
		for m, male := range males {
			if rows[f][m] > ranker.Limit() {
				continue
			}
			x := match{female, male, ranker.Weigh(female, male, rows[f][m])}
			switch {
			case !x.figures.Verdict.Good():
			case x.figures.NeedsTransfer:
				away = append(away, x)
			default:
				for _, b := range []int{female, male} {
					n.atHome[b] = max(n.atHome[b], x.figures.ExpectedGain)
				}
			}
		}
	}
	for _, x := range away {
		if n.beatsHome(x.female, x.male, &x.figures) {
			n.add(x.female, x.male, x.figures)
			n.add(x.male, x.female, x.figures)
		}
	}
	for _, legs := range n.legs {
		slices.SortFunc(legs, func(a, b leg) int {
			return cmp.Or(cmp.Compare(b.figures.ExpectedGain, a.figures.ExpectedGain), cmp.Compare(a.mover, b.mover), cmp.Compare(a.stayer, b.stayer))
		})
	}
	return n, nil
}

// beatsHome reports whether a useful pair gains more than either bird gains
// with a free mate at home.
func (n *network) beatsHome(a, b int, figures *pairing.Candidate) bool {
	return figures.Verdict.Good() && figures.ExpectedGain > n.atHome[a] && figures.ExpectedGain > n.atHome[b]
}

func nodes(p *pairing.Programme, birds []int) []int {
	out := make([]int, len(birds))
	for k, b := range birds {
		out[k] = p.Node(b)
	}
	return out
}

// add adds the move of a bird to a mate, if it may travel.
func (n *network) add(mover, stayer int, figures pairing.Candidate) {
	if _, held := heldFor(n.p, mover); held {
		return
	}
	l := leg{mover, stayer, n.p.Book.Birds[mover].Location, n.p.Book.Birds[stayer].Location, figures}
	n.legs[route{l.from, l.to}] = append(n.legs[route{l.from, l.to}], l)
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

// swap returns the best swap that begins with a useful leg, nil if there is
// none: the move back is that of the largest expected gain for which there are
// places and which needs neither bird of the first.
func (n *network) swap(first leg) *Option {
	for _, back := range n.legs[route{first.to, first.from}] {
		if !back.has(first.mover, first.stayer) && n.room(first, back) {
			return n.option(Swap, first, back)
		}
	}
	return nil
}

// chain returns the best ring of three places that begins with a useful leg,
// nil if there is none; its further moves are chosen like that of a swap.
func (n *network) chain(first leg) *Option {
	var best [2]leg
	most := math.Inf(-1)
	for _, third := range n.institutions {
		if third == first.from || third == first.to {
			continue
		}
		last := n.legs[route{third, first.from}]
		for _, second := range n.legs[route{first.to, third}] {
			if len(last) == 0 || second.figures.ExpectedGain+last[0].figures.ExpectedGain <= most {
				break // neither this nor any further one can be better
			}
			if second.has(first.mover, first.stayer) {
				continue
			}
			for _, l := range last {
				gain := second.figures.ExpectedGain + l.figures.ExpectedGain
				if gain <= most {
					break
				}
				if l.has(first.mover, first.stayer, second.mover, second.stayer) || !n.room(first, second, l) {
					continue
				}
				best, most = [2]leg{second, l}, gain
				break
			}
		}
	}
	if math.IsInf(most, -1) {
		return nil
	}
	return n.option(Chain, first, best[0], best[1])
}

// room reports whether there are places for all, as far as the files tell.
func (n *network) room(legs ...leg) bool { return len(n.shortages(legs)) == 0 }

// shortages says where legs taken together lack a place: birds that leave make
// room for those of their sex that come.
func (n *network) shortages(legs []leg) []pairing.Reason {
	var out []pairing.Reason
	for k, l := range legs {
		sex := n.p.Book.Birds[l.mover].Sex
		if slices.ContainsFunc(legs[:k], func(e leg) bool { return e.to == l.to && n.p.Book.Birds[e.mover].Sex == sex }) {
			continue // counted with the first
		}
		free := spaces(n.p, l.to, sex)
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

// spaces returns the free places of an institution for a sex, -1 if not known.
func spaces(p *pairing.Programme, code string, sex studbook.Sex) int {
	in, ok := p.Book.Institution(code)
	switch {
	case !ok:
		return -1
	case sex == studbook.Female:
		return in.SpacesF
	}
	return in.SpacesM
}

// option makes an option of legs; the first is that of the bird asked about.
func (n *network) option(way Way, legs ...leg) *Option {
	p := n.p
	o := &Option{Way: way, NoSpace: n.shortages(legs)}
	for _, l := range legs {
		o.Moves = append(o.Moves, n.move(l))
		o.addPair(p, l.mover, l.stayer, l.to, l.figures)
		if hold, is := heldFor(p, l.mover); is {
			o.Held = append(o.Held, held(p, l.mover, hold))
		}
	}
	o.GainPerMove = o.ExpectedGain / float64(len(legs))
	return o
}

// addPair adds a new pair with what it gains and the bonds that it breaks.
func (o *Option) addPair(p *pairing.Programme, a, b int, at string, figures pairing.Candidate) {
	pair := Pair{Female: a, Male: b, At: at, Figures: figures}
	if p.Book.Birds[a].Sex == studbook.Male {
		pair.Female, pair.Male = b, a
	}
	o.Pairs = append(o.Pairs, pair)
	o.ExpectedGain += figures.ExpectedGain
	female, male := p.Book.Birds[pair.Female].ID, p.Book.Birds[pair.Male].ID
	for _, bond := range p.Book.OpenBonds() {
		if (bond.Female == female) != (bond.Male == male) {
			o.Broken = append(o.Broken, bond)
		}
	}
}

func (n *network) move(l leg) Move {
	p := n.p
	m := Move{Bird: l.mover, From: l.from, To: l.to, Quarantine: p.Settings().QuarantineDays, Spaces: spaces(p, l.to, p.Book.Birds[l.mover].Sex)}
	m.Distance, m.Placed = p.Distance(l.from, l.to)
	m.Abroad, m.PermitWeeks = border(p, l.from, l.to)
	if in, ok := p.Book.Institution(l.to); ok && in.QuarantineDays >= 0 {
		m.Quarantine, m.QuarantineStated = in.QuarantineDays, true
	}
	return m
}

// border reports whether two institutions are known to be in different
// countries, and what the slower of them says that a permit takes, -1 where
// neither says.
func border(p *pairing.Programme, from, to string) (abroad bool, weeks int) {
	a, _ := p.Book.Institution(from)
	b, _ := p.Book.Institution(to)
	if a.Country == "" || b.Country == "" || strings.EqualFold(a.Country, b.Country) {
		return false, -1
	}
	return true, max(a.PermitWeeks, b.PermitWeeks)
}

// order sorts options, best first: what can be done as the files stand before
// what lacks a place, that before what is not useful, and that before what a
// hold forbids; then by the gain for each bird moved; those within 2 % of the best not yet placed by cost to the
// birds.
func order(options []*Option) {
	pairing.InOrder(options, (*Option).hindrance, func(o *Option) float64 { return o.GainPerMove }, gentler)
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

// costs are what an option costs the birds, the heaviest first, and what to
// say of an option that costs more than another.
var costs = []struct {
	of  func(o *Option) float64
	say func(p *pairing.Programme, more, less *Option) pairing.Reason
}{
	{func(o *Option) float64 { return float64(len(o.Moves)) }, func(_ *pairing.Programme, more, less *Option) pairing.Reason {
		return pairing.Reason{Code: MoreMoves, Count: len(more.Moves), Of: len(less.Moves)}
	}},
	{func(o *Option) float64 { return float64(len(o.Broken)) }, func(p *pairing.Programme, more, _ *Option) pairing.Reason {
		r := pairing.Reason{Code: BreaksBonds}
		for _, b := range more.Broken {
			r.Birds = append(r.Birds, p.Book.Bird(b.Female), p.Book.Bird(b.Male))
		}
		return r
	}},
	{func(o *Option) float64 {
		if o.Pairs[0].Figures.KnownBond {
			return 0
		}
		return 1
	}, func(*pairing.Programme, *Option, *Option) pairing.Reason { return pairing.Reason{Code: Strangers} }},
	{func(o *Option) float64 { return float64(o.borders()) }, func(_ *pairing.Programme, more, less *Option) pairing.Reason {
		return pairing.Reason{Code: MoreBorders, Count: more.borders(), Of: less.borders()}
	}},
	{(*Option).distance, func(_ *pairing.Programme, more, less *Option) pairing.Reason {
		if math.IsInf(more.distance(), 1) {
			return pairing.Reason{Code: DistanceUnknown}
		}
		return pairing.Reason{Code: LongerWay, Value: more.distance(), Other: less.distance()}
	}},
	{func(o *Option) float64 {
		unknown := 0.0
		for _, m := range o.Moves {
			if m.Spaces < 0 {
				unknown++
			}
		}
		return unknown
	}, func(*pairing.Programme, *Option, *Option) pairing.Reason { return pairing.Reason{Code: SpaceUnknown} }},
	{func(o *Option) float64 {
		fewest := math.Inf(1)
		for _, m := range o.Moves {
			if m.Spaces >= 0 {
				fewest = min(fewest, float64(m.Spaces))
			}
		}
		return -fewest
	}, func(*pairing.Programme, *Option, *Option) pairing.Reason { return pairing.Reason{Code: FewerSpaces} }},
	{func(o *Option) float64 { return float64(o.quarantine()) }, func(_ *pairing.Programme, more, less *Option) pairing.Reason {
		return pairing.Reason{Code: LongerQuarantine, Count: more.quarantine(), Of: less.quarantine()}
	}},
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
