package transfer

import (
	"fmt"
	"slices"
	"strings"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// alternatives returns, best first, what else could be done: the same pair the
// other way round, every other kind of option at its best, the next best mate,
// and the best mate at home. all is in order.
func alternatives(p *pairing.Programme, c *Case, all []*Option) []Alternative {
	best := c.Best
	seen := map[Kind]bool{best.Kind: true}
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
		if seen[o.Kind] && !nextMate {
			continue
		}
		seen[o.Kind] = true
		if single {
			other[mate] = true
		}
		out = append(out, Alternative{o, effects(p, o), why(c, o, k < mine)})
	}
	return out
}

// why says why an option comes second to the best one, or, where it was not
// asked for, that it would come first.
func why(c *Case, o *Option, before bool) string {
	best := c.Best
	switch {
	case len(o.Held) > 0:
		return "not possible now: " + strings.Join(o.Held, "; ")
	case len(o.NoPlace) > 0 && len(best.NoPlace) == 0:
		return strings.Join(o.NoPlace, "; ")
	case before && o.Kind == Stay:
		return "is as good or better and moves no bird: think of this first"
	case before:
		return "would gain more, or as much at less cost to the birds, but is not what was asked for"
	}
	if !o.Useful() {
		return "a chick of the pair gains no more than one of the average pair"
	}
	if pairing.AsGood(best.GainPerMove, o.GainPerMove) {
		for _, cost := range costs {
			if cost.of(o) > cost.of(best) {
				return "gains as much, but " + cost.say(o, best)
			}
			if cost.of(o) < cost.of(best) {
				break
			}
		}
		return "gains as much and costs the birds no more: a matter of choice"
	}
	if best.GainPerMove <= 0 {
		return "gains less"
	}
	share := 100 * o.GainPerMove / best.GainPerMove
	switch {
	case o.ExpectedGain > best.ExpectedGain:
		return fmt.Sprintf("gains more in all, as %s come together, but moves %s: only %.0f %% as much for each bird moved",
			pairing.Count(len(o.Pairs), "pair", "pairs"), pairing.Count(len(o.Moves), "bird", "birds"), share)
	case len(o.Moves) > 1:
		return fmt.Sprintf("gains %.0f %% as much for each bird moved", share)
	}
	return fmt.Sprintf("gains %.0f %% as much%s", share, lack(&o.Pairs[0].Figures, &best.Pairs[0].Figures))
}

// lack names what most makes the expected gain of one pair smaller than that of
// another: the gain is a product, so the smallest of the ratios of its factors.
func lack(less, more *pairing.Candidate) string {
	smallest, words := 1.0, ""
	for _, factor := range []struct {
		less, more float64
		words      string
	}{
		{less.SurvivalUnderInbreeding, more.SurvivalUnderInbreeding, fmt.Sprintf("the chicks would have F %s instead of %s", pairing.FourDecimals(less.OffspringInbreeding), pairing.FourDecimals(more.OffspringInbreeding))},
		{less.Success.Chance, more.Success.Chance, fmt.Sprintf("its chance of success is %.2f instead of %.2f", less.Success.Chance, more.Success.Chance)},
		{worth(less), worth(more), rarity(less, more)},
	} {
		if factor.more > 0 && factor.less/factor.more < smallest {
			smallest, words = factor.less/factor.more, ": "+factor.words
		}
	}
	return words
}

// rarity says why a chick of one pair gains less than one of another.
func rarity(less, more *pairing.Candidate) string {
	if less.MeanKinship <= more.MeanKinship {
		return "each chick gains less"
	}
	return fmt.Sprintf("its mean kinship is %s instead of %s", pairing.FourDecimals(less.MeanKinship), pairing.FourDecimals(more.MeanKinship))
}

// worth is what a chick gains, against the average pair where there is one.
func worth(c *pairing.Candidate) float64 {
	if c.ExpectedChicks == 0 {
		return 0
	}
	return c.ExpectedGain / c.ExpectedChicks
}

// gapsShown is how many gaps in the parentage of a bird are named.
const gapsShown = 3

// unknown says what the files do not tell of the birds and places of the best
// option.
func unknown(p *pairing.Programme, c *Case) []string {
	var say []string
	add := func(format string, args ...any) { say = append(say, fmt.Sprintf(format, args...)) }
	known := p.KnownAncestry()
	for _, b := range c.Birds() {
		name := p.Name(b)
		gaps := p.GapsBehind(b)
		var missing []string
		for k, g := range gaps {
			if k == gapsShown {
				missing = append(missing, fmt.Sprintf("%d more", len(gaps)-gapsShown))
				break
			}
			missing = append(missing, gapText(p, &g))
		}
		if len(missing) > 0 {
			add("%s: %.0f %% of its ancestry is known: %s", name, 100*known[p.Node(b)], strings.Join(missing, ", "))
		}
		if _, plusMinus, ok := p.Book.AgeYears(b); !ok {
			add("%s: its age is not known", name)
		} else if plusMinus >= 0.25 {
			add("%s: its age is known only to about %.1f years either way (hatched %s)", name, plusMinus, p.Book.Birds[b].Hatch.Text)
		}
	}
	add("how the sexes of the birds were determined is not in the files: confirm before the move")
	if len(p.Book.Colony.Institutions) == 0 {
		add("there is no institutions.csv: places, distances, quarantine and contacts are not known")
		return say
	}
	for _, m := range c.Best.Moves {
		in, listed := p.Book.Institution(m.To)
		if !listed {
			add("%s is not in institutions.csv", m.To)
			continue
		}
		if m.Places < 0 {
			add("%s: free places for a %s are not on file", p.Place(m.To), p.Book.Birds[m.Bird].Sex.Word())
		}
		if in.QuarantineDays < 0 {
			add("%s: its days of quarantine are not on file; %d are assumed", p.Place(m.To), m.Quarantine)
		}
		if !m.Placed {
			add("the distance from %s to %s is not known", p.Place(m.From), p.Place(m.To))
		}
	}
	return say
}

func gapText(p *pairing.Programme, g *pairing.Gap) string {
	side, is := "sire", "unknown"
	if g.Sex == studbook.Female {
		side = "dam"
	}
	if len(g.Named) > 0 {
		is = "uncertain"
	}
	return fmt.Sprintf("the %s of %s is %s (%.1f %% of its genes)", side, p.Book.Birds[g.Bird].ID, is, 100*g.Share)
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
func cautions(p *pairing.Programme, c *Case) []string {
	var say []string
	add := func(format string, args ...any) { say = append(say, fmt.Sprintf(format, args...)) }
	o := c.Best
	if !o.Useful() {
		add("not advised: a chick of this pair gains no more than one of the average eligible pair")
	}
	for _, a := range c.Alternatives {
		if a.Kind == Stay && a.GainPerMove >= (1-pairing.Alike)*o.GainPerMove {
			add("a mate at home, %s, is as good or better: no bird need travel", p.Name(a.mateOf(c.Bird)))
		}
	}
	for _, text := range o.NoPlace {
		add("%s: one must be made first", text)
	}
	for _, u := range c.Ranking.Unfit {
		add("%s should not breed now: %s; take this as a look ahead", p.Name(c.Bird), u.Text)
	}
	for _, b := range o.Broken {
		add("the bond of %s and %s would end: a pair that sits or raises chicks must not be parted", named(p, b.Female), named(p, b.Male))
	}
	for _, x := range o.Pairs {
		if f := x.Figures.OffspringInbreeding; !p.Preferred(f) {
			add("a chick of %s and %s would have F %s, not below the preferred %s",
				p.Book.Birds[x.Female].ID, p.Book.Birds[x.Male].ID, pairing.FourDecimals(f), pairing.FourDecimals(p.Settings().PreferInbreeding))
		}
	}
	for k, m := range o.Moves {
		switch t := c.Timing[k]; {
		case t.Earliest == 0:
			add("no day within a year is free for %s to travel so that %d days of quarantine end before the laying season", p.Name(m.Bird), m.Quarantine)
		case t.Season == 0 && len(p.Settings().LayingMonths) == 0:
			add("no laying months are set in programme.toml, so nobody can say whether %s travels before the season", p.Name(m.Bird))
		}
		if len(p.Settings().MoultMonths) == 0 {
			add("no moult months are set in programme.toml: make sure that %s is not in moult", p.Name(m.Bird))
		}
	}
	if slices.ContainsFunc(c.Birds(), func(b int) bool {
		return slices.ContainsFunc(p.GapsBehind(b), func(g pairing.Gap) bool { return len(g.Named) > 0 })
	}) {
		add("some parents are uncertain: kinships are weighted means over the possible ones")
	}
	if x := &o.Pairs[0].Figures; c.Ranking.Uncertain && x.RankConfidence < 1 {
		add("the mate keeps its rank or a better one in %.0f %% of %d pedigrees drawn from the uncertain parents", 100*x.RankConfidence, c.Ranking.Samples)
	}
	return say
}

func named(p *pairing.Programme, id string) string {
	b, _ := p.Book.Index(id)
	return p.Name(b)
}
