package transfer

import (
	"slices"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// alternatives returns, best first, what else could be done: the same pair the
// other way round, every other way at its best, the next best mate,
// and the best mate at home. all is in order.
func alternatives(p *pairing.Programme, c *Case, all []*Option) []Alternative {
	best := c.Best
	seen := map[Way]bool{best.Way: true}
	other := map[int]bool{c.Mate: true}
	var out []Alternative
	mine := slices.Index(all, best)
	for k, o := range all {
		if o == best {
			continue
		}
		mate := o.mateOf(c.Bird)
		single := len(o.Moves) == 1
		nextMate := single && !other[mate] && len(other) == 1
		if seen[o.Way] && !nextMate {
			continue
		}
		seen[o.Way] = true
		if single {
			other[mate] = true
		}
		out = append(out, Alternative{o, effects(p, o), why(p, c, o, k < mine)})
	}
	return out
}

// why says why an option comes second to the best one, or, where it was not
// asked for, that it would come first.
func why(p *pairing.Programme, c *Case, o *Option, before bool) []pairing.Reason {
	best := c.Best
	say := func(r pairing.Reason, more ...pairing.Reason) []pairing.Reason {
		return append([]pairing.Reason{r}, more...)
	}
	switch {
	case len(o.Held) > 0:
		return say(pairing.Reason{Code: NotPossible}, o.Held...)
	case len(o.NoSpace) > 0 && len(best.NoSpace) == 0:
		return say(pairing.Reason{Code: SpaceWanted}, o.NoSpace...)
	case before && o.Way == Stay:
		return say(pairing.Reason{Code: BetterStay})
	case before:
		return say(pairing.Reason{Code: NotAsked})
	case !o.Useful():
		return say(pairing.Reason{Code: NoGain})
	}
	if pairing.AsGood(best.GainPerMove, o.GainPerMove) {
		as := pairing.Reason{Code: GainsAsMuch}
		for _, cost := range costs {
			if cost.of(o) > cost.of(best) {
				return say(as, cost.say(p, o, best))
			}
			if cost.of(o) < cost.of(best) {
				break
			}
		}
		return say(as)
	}
	if best.GainPerMove <= 0 {
		return say(pairing.Reason{Code: GainsLess})
	}
	share := o.GainPerMove / best.GainPerMove
	switch {
	case o.ExpectedGain > best.ExpectedGain:
		return say(pairing.Reason{Code: MoreInAll, Count: len(o.Pairs), Of: len(o.Moves), Value: share})
	case len(o.Moves) > 1:
		return say(pairing.Reason{Code: LessEach, Value: share})
	}
	return say(pairing.Reason{Code: LessGain, Value: share}, lack(&o.Pairs[0].Figures, &best.Pairs[0].Figures)...)
}

// lack names what most makes the expected gain of one pair smaller than that of
// another: the gain is a product, so the smallest of the ratios of its factors.
// Nothing where none is smaller.
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
		{worth(less), worth(more), rarity},
	} {
		if factor.more > 0 && factor.less/factor.more < smallest {
			smallest, why = factor.less/factor.more, []pairing.Reason{factor.why}
		}
	}
	return why
}

// worth is what a chick gains, against the average pair where there is one.
func worth(c *pairing.Candidate) float64 {
	if c.ExpectedChicks == 0 {
		return 0
	}
	return c.ExpectedGain / c.ExpectedChicks
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

// Birds returns the bird asked about, its mate, and every other bird of the
// best option, each once.
func (c *Case) Birds() []int {
	out := []int{c.Bird, c.Mate}
	for _, x := range c.Best.Pairs {
		for _, b := range []int{x.Female, x.Male} {
			if !slices.Contains(out, b) {
				out = append(out, b)
			}
		}
	}
	return out
}

// cautions says what speaks against the best option or must be thought of.
func cautions(p *pairing.Programme, c *Case) []pairing.Reason {
	var say []pairing.Reason
	o := c.Best
	if !o.Useful() {
		say = append(say, pairing.Reason{Code: NotAdvised})
	}
	for _, a := range c.Alternatives {
		if a.Way == Stay && pairing.AsGood(o.GainPerMove, a.GainPerMove) {
			say = append(say, about(p, HomeAsGood, a.mateOf(c.Bird)))
		}
	}
	say = append(say, o.NoSpace...)
	say = append(say, c.Ranking.Unfit...)
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
	if x := &o.Pairs[0].Figures; c.Ranking.Uncertain && x.AmongFirstIn < 1 {
		say = append(say, pairing.Reason{Code: RankUnsure, Value: x.AmongFirstIn, Count: c.Ranking.Samples})
	}
	return say
}
