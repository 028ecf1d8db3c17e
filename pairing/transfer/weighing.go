package transfer

import (
	"slices"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// Alternative is another option, what speaks for it, and why it comes second.
type Alternative struct {
	*Option
	Effects  []Effect // as in Case
	For, Why []pairing.Reason
}

// Share returns what the bird's pair in an option gains as a share of what its pair in
// Best does, a move charged to either (see Pair.LessMove); ok is false where there is
// nothing to compare with. 0 or less: nothing is gained by it.
func (c *Case) Share(o *Option) (share float64, ok bool) {
	if c.Best == nil || c.Best.Pairs[0].LessMove <= 0 {
		return 0, false
	}
	return o.Pairs[0].LessMove / c.Best.Pairs[0].LessMove, true
}

// PartingShare is Share of the parting that could be made instead: what the proposed pair
// gains and what the programme would gain more by the parting.
func (c *Case) PartingShare() (share float64, ok bool) {
	if c.Or == nil || c.Best.Pairs[0].LessMove <= 0 {
		return 0, false
	}
	return 1 + c.Or.Worth/c.Best.Pairs[0].LessMove, true
}

// alternatives returns what else could be done: what the decision has, if that is
// not what was asked for; the swap or ring that its moves make; the same pair the
// other way round; the next best mate elsewhere; and the best at home. Those of the
// decision come first, then what gains most. all is in order, decided the decision's own
// move.
func (n *network) alternatives(c *Case, all []*Option, decided *Option) []Alternative {
	var chosen []*Option
	add := func(o *Option) {
		if o != c.Best && !slices.Contains(chosen, o) {
			chosen = append(chosen, o)
		}
	}
	first := func(fits func(o *Option) bool) {
		if k := slices.IndexFunc(all, fits); k >= 0 {
			add(all[k])
		}
	}
	if decided != nil {
		add(decided)
		for _, ring := range n.rings(n.decidedMoves("")) {
			if k := slices.IndexFunc(ring.Moves, func(m Move) bool { return m.Bird == decided.Moves[0].Bird }); k >= 0 {
				add(ring.from(k))
			}
		}
	}
	first(func(o *Option) bool { return o.Decided })
	if best := c.Best; best != nil {
		first(func(o *Option) bool { return o != best && len(o.Moves) == 1 && o.mateOf(c.Bird) == c.Mate })
	}
	first(func(o *Option) bool { return len(o.Moves) == 1 && o.mateOf(c.Bird) != c.Mate })
	first(func(o *Option) bool { return o.Way == Stay })
	place := func(o *Option) int {
		switch {
		case o == decided:
			return 0
		case o.Decided:
			return 1
		}
		return 2 + o.hindrance()
	}
	pairing.InOrder(chosen, place, func(o *Option) float64 { return o.LessMoves }, gentler)
	var out []Alternative
	for _, o := range chosen {
		out = append(out, Alternative{o, effects(n.p, o), n.favours(c, o), n.why(c, o)})
	}
	return out
}

// from returns a ring with another of its moves first.
func (o *Option) from(k int) *Option {
	out := *o
	out.Moves = slices.Concat(o.Moves[k:], o.Moves[:k])
	out.Pairs = slices.Concat(o.Pairs[k:], o.Pairs[:k])
	return &out
}

// why says what speaks against an option, beside the best one if there is one.
func (n *network) why(c *Case, o *Option) []pairing.Reason {
	best := c.Best
	figures := &o.Pairs[0].Figures
	lacks, short := lacking(n.p, n.d, c.Bird, &figures.Choice)
	say := func(r pairing.Reason, more ...pairing.Reason) []pairing.Reason {
		return append([]pairing.Reason{r}, more...)
	}
	switch {
	case len(o.Held) > 0:
		return say(pairing.Reason{Code: NotPossible}, o.Held...)
	case len(o.NoSpace) > 0 && (best == nil || len(best.NoSpace) == 0):
		return say(pairing.Reason{Code: SpaceWanted}, o.NoSpace...)
	case len(o.Moves) > 1:
		return say(pairing.Reason{Code: MoreMoves, Value: float64(len(o.Moves)), Other: 1})
	case o.Decided:
		return say(pairing.Reason{Code: NotAsked})
	case crowded(n.d, o):
		return say(placesTaken(n.p, o))
	case short:
		return say(lacks)
	case figures.NetGain <= 0:
		return say(pairing.Reason{Code: NoGain}, n.wanted(c, figures)...)
	case best == nil:
		return say(pairing.Reason{Code: GainsLess}, n.wanted(c, figures)...)
	}
	share, ok := c.Share(o)
	switch {
	case !ok || !pairing.AsGood(share, 1):
		return say(pairing.Reason{Code: NotAsked})
	case pairing.AsGood(1, share):
		r, against, ok := weigh(n.p, o, best)
		if ok && against {
			return say(pairing.Reason{Code: GainsAsMuch}, r)
		}
		if len(o.Moves) < len(best.Moves) || len(n.wanted(c, figures)) > 0 {
			return say(pairing.Reason{Code: AsMuchAnew})
		}
		return say(pairing.Reason{Code: GainsAsMuch})
	}
	less := pairing.Reason{Code: LessGain, Value: share}
	if figures.Value >= best.Pairs[0].Figures.Value {
		return say(less, n.wanted(c, figures)...)
	}
	return say(less, lack(figures, &best.Pairs[0].Figures)...)
}

// wanted says whom a mate would be paired with else.
func (n *network) wanted(c *Case, figures *pairing.Candidate) []pairing.Reason {
	if figures.Otherwise < 0 || figures.Otherwise == c.Bird {
		return nil
	}
	return []pairing.Reason{about(n.p, WantedElsewhere, figures.Bird, figures.Otherwise)}
}

// favours says what would speak for an option, beside the best one if there is one:
// what it costs the birds less, and what is better about its pair.
func (n *network) favours(c *Case, o *Option) []pairing.Reason {
	best := c.Best
	if best == nil {
		return nil
	}
	var say []pairing.Reason
	if len(o.Moves) > 1 {
		say = append(say, pairing.Reason{Code: GoesRound, Count: len(o.Pairs)})
	} else if r, against, ok := weigh(n.p, o, best); ok && !against {
		say = append(say, r)
	}
	if o.mateOf(c.Bird) != c.Mate {
		say = append(say, lack(&best.Pairs[0].Figures, &o.Pairs[0].Figures)...)
	}
	return say
}

// lack names what most makes one pair worth less than another: the worth is a
// product, so the smallest of the ratios of its factors. Nothing where none is
// smaller.
func lack(less, more *pairing.Candidate) []pairing.Reason {
	smallest := 1.0
	var why []pairing.Reason
	rarity := pairing.Reason{Code: LessForEachChick}
	if less.MeanKinship > more.MeanKinship {
		rarity = pairing.Reason{Code: CommonerMate, Value: less.MeanKinship, Other: more.MeanKinship}
	}
	for _, factor := range []struct {
		less, more float64
		why        pairing.Reason
	}{
		{less.SurvivalUnderInbreeding, more.SurvivalUnderInbreeding, pairing.Reason{Code: MoreInbred, Value: less.OffspringInbreeding, Other: more.OffspringInbreeding}},
		{less.Success.Chance, more.Success.Chance, pairing.Reason{Code: LessSuccess, Value: less.Success.Chance, Other: more.Success.Chance}},
		{less.Advantage, more.Advantage, rarity},
	} {
		if factor.more > 0 && factor.less/factor.more < smallest {
			smallest, why = factor.less/factor.more, []pairing.Reason{factor.why}
		}
	}
	return why
}

// vagueAge is the uncertainty of an age in years from which it is said (common
// practice, no source).
const vagueAge = 0.25

// unknown says what the files do not tell of the birds and places of the best
// option.
func unknown(p *pairing.Programme, c *Case) []pairing.Reason {
	var say []pairing.Reason
	known := p.KnownAncestry()
	for _, b := range c.Birds() {
		if len(p.GapsBehind(b)) > 0 {
			r := about(p, AncestryGaps, b)
			r.Value = known[p.Node(b)]
			say = append(say, r)
		}
		if _, plusMinus, ok := p.Book.AgeYears(b); !ok {
			say = append(say, about(p, AgeUnknown, b))
		} else if plusMinus >= vagueAge {
			r := about(p, AgeVague, b)
			r.Value, r.Date = plusMinus, p.Book.Birds[b].Hatch
			say = append(say, r)
		}
	}
	say = append(say, pairing.Reason{Code: SexesUnproven})
	if len(p.Book.Colony.Institutions) == 0 {
		return append(say, pairing.Reason{Code: NoInstitutions})
	}
	for _, m := range c.Best.Moves {
		in, listed := p.Book.Institution(m.To)
		if !listed {
			say = append(say, pairing.Reason{Code: NotListed, To: m.To})
			continue
		}
		if m.Spaces < 0 {
			r := about(p, SpaceUnknown, m.Bird)
			r.To = m.To
			say = append(say, r)
		}
		if in.QuarantineDays < 0 {
			say = append(say, pairing.Reason{Code: QuarantineUnknown, To: m.To, Count: m.Quarantine})
		}
		if m.Abroad && m.PermitWeeks < 0 {
			say = append(say, pairing.Reason{Code: PermitUnknown, From: m.From, To: m.To})
		}
		if !m.Placed {
			say = append(say, pairing.Reason{Code: DistanceUnknown, From: m.From, To: m.To})
		}
	}
	return say
}

// Birds returns the bird asked about, its mate if there is one, and every other
// bird of the best option, each once.
func (c *Case) Birds() []int {
	out := []int{c.Bird}
	if c.Mate >= 0 {
		out = append(out, c.Mate)
	}
	if c.Best == nil {
		return out
	}
	for _, x := range c.Best.Pairs {
		for _, b := range []int{x.Female, x.Male} {
			if !slices.Contains(out, b) {
				out = append(out, b)
			}
		}
	}
	return out
}

// crowded reports whether full places alone keep the decision from an option of one
// move.
func crowded(d *pairing.Decision, o *Option) bool {
	return len(o.Moves) == 1 && len(o.Pairs) == 1 && d.Crowded(o.Moves[0].Bird, o.mateOf(o.Moves[0].Bird))
}

// placesTaken is the reason of an option that is crowded.
func placesTaken(p *pairing.Programme, o *Option) pairing.Reason {
	r := about(p, PlacesTaken, o.Moves[0].Bird)
	r.To = o.Moves[0].To
	return r
}

// lacking says why the decision does not form a pair of a bird that might gain something: it
// is put off, or gains less than a move must be worth; is is false of every other pair.
func lacking(p *pairing.Programme, d *pairing.Decision, b int, x *pairing.Choice) (why pairing.Reason, is bool) {
	if why, is = d.PutOff(b, x); is {
		return why, true
	}
	why = about(p, NotWorth, b, x.Mate)
	why.Other = d.LeastGain
	why.Value, is = d.WorthNoMove(x)
	return why, is
}

// cautions says what speaks against the best option or must be thought of.
func cautions(p *pairing.Programme, d *pairing.Decision, c *Case) []pairing.Reason {
	var say []pairing.Reason
	o := c.Best
	for _, x := range o.Pairs {
		say = append(say, p.Heed(x.Female, x.Male)...)
	}
	if crowded(d, o) {
		if len(o.NoSpace) == 0 {
			say = append(say, placesTaken(p, o))
		}
	} else if !o.Useful() {
		r, short := lacking(p, d, c.Bird, &o.Pairs[0].Figures.Choice)
		if !short {
			r = pairing.Reason{Code: NotAdvised}
		}
		say = append(say, r)
	}
	for _, a := range c.Alternatives {
		if a.Way == Stay && !c.Needed && a.Useful() && pairing.AsGood(o.Pairs[0].Figures.NetGain, a.Pairs[0].Figures.NetGain) {
			say = append(say, about(p, HomeAsGood, a.mateOf(c.Bird)))
		}
	}
	for _, x := range o.Pairs {
		for _, b := range [2]int{x.Female, x.Male} {
			bond, paired := d.BondOf(b)
			mate, _ := d.MateOf(b)
			told := slices.ContainsFunc(say, func(r pairing.Reason) bool {
				return r.Is(pairing.PairedInTime) && r.Birds[0] == &p.Book.Birds[b] || r.Is(PromisedElsewhere) && r.Birds[1] == &p.Book.Birds[b]
			})
			if paired && b != c.Bird && bond.Kind == pairing.BondNew && mate != x.Female && mate != x.Male && !told {
				say = append(say, about(p, PromisedElsewhere, b, mate))
			}
		}
	}
	say = append(say, o.Held...)
	say = append(say, o.NoSpace...)
	say = append(say, o.ToComeFree...)
	for _, b := range o.Broken {
		say = append(say, pairing.Reason{Code: BondEnds, Birds: []*studbook.Bird{p.Book.Bird(b.Female), p.Book.Bird(b.Male)}})
	}
	for _, x := range o.Pairs {
		if f := x.Figures.OffspringInbreeding; !p.Preferred(f) {
			r := about(p, NotPreferred, x.Female, x.Male)
			r.Value, r.Other = f, p.Settings().PreferInbreeding
			say = append(say, r)
		}
	}
	for k, m := range o.Moves {
		switch t := c.Timing[k]; {
		case t.Earliest == 0:
			r := about(p, NoDay, m.Bird)
			r.Count = m.Quarantine
			say = append(say, r)
		case c.Young == nil && t.Earliest > c.season && c.season > p.Book.AsOf:
			r := about(p, AfterSeason, m.Bird)
			r.Date = t.Earliest.Date()
			say = append(say, r)
		case t.Season == 0 && len(p.Settings().LayingMonths) == 0 && !t.Pairs:
			say = append(say, about(p, NoLayingMonths, m.Bird))
		}
		if len(p.Settings().MoultMonths) == 0 {
			say = append(say, about(p, NoMoultMonths, m.Bird))
		}
	}
	if slices.ContainsFunc(c.Birds(), func(b int) bool {
		return slices.ContainsFunc(p.GapsBehind(b), func(g pairing.Gap) bool { return len(g.Named) > 0 })
	}) {
		say = append(say, pairing.Reason{Code: ParentsUncertain})
	}
	if len(o.Pairs) == 0 {
		return say
	}
	if x := &o.Pairs[0].Figures; c.Ranking.Uncertain && x.AmongFirstIn < 1 {
		say = append(say, pairing.Reason{Code: RankUnsure, Value: x.AmongFirstIn, Count: c.Ranking.Samples})
	}
	return say
}
