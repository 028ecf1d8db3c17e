package pairing

import (
	"context"
	"slices"

	"pairwright/pedigree/studbook"
)

// chosenSeason is a person's season while a decision keeps to it.
type chosenSeason struct {
	choices []studbook.Choice
	// scope is whose birds the choices are all there is of: those that none pairs stay
	// alone, and pairs without a hatch hatch nothing. nil where the choices are fixed
	// and all else is decided.
	scope *PlanOptions
}

// whole reports whether the season is all chosen.
func (x *chosenSeason) whole() bool { return x != nil && x.scope != nil }

// keepsAlone reports whether a bird that has no mate by the choices stays so.
func (x *chosenSeason) keepsAlone(p *Programme, b int) bool {
	return x.whole() && x.scope.has(p.Book.Birds[b].Location)
}

// hatches returns how many chicks a pair may hatch, if that is chosen.
func (x *chosenSeason) hatches(p *Programme, pair [2]int) (chicks int, chosen bool) {
	if x == nil {
		return 0, false
	}
	for k := range x.choices {
		c := &x.choices[k]
		if c.What == studbook.RulesHatch && c.SameBirds(p.Book.Birds[pair[0]].ID, p.Book.Birds[pair[1]].ID) {
			return c.Chicks, true
		}
	}
	return 0, x.whole()
}

// words are the choices on bonds and moves, as if people had agreed on them today.
func (x *chosenSeason) words(p *Programme) []Ruling {
	if x == nil {
		return nil
	}
	var out []Ruling
	for k := range x.choices {
		c := &x.choices[k]
		if c.What == studbook.RulesHatch {
			continue
		}
		w := Ruling{Ruling: &studbook.Ruling{Date: p.Book.AsOf.Date(), What: c.What, Birds: c.Birds, To: c.To, Answer: studbook.Agreed, Reason: c.Reason, Line: c.Line}, choice: c}
		for _, id := range c.Birds {
			if b, ok := p.Book.Index(id); ok {
				w.Birds = append(w.Birds, b)
			}
		}
		if len(w.Birds) < len(c.Birds) {
			continue // it has not hatched on this day
		}
		if len(w.Birds) > 1 && p.Book.Birds[w.Birds[0]].Sex == studbook.Male {
			w.Birds[0], w.Birds[1] = w.Birds[1], w.Birds[0]
		}
		out = append(out, w)
	}
	return out
}

// under takes the decision anew, keeping to a season.
func (d *Decision) under(ctx context.Context, x *chosenSeason) (*Decision, error) {
	out := &Decision{Options: d.Options, Season: d.Season, LeastGain: d.LeastGain, p: d.p, m: d.m, limit: d.limit, chosen: x, coming: &coming{markets: map[int]*market{}}}
	return out, out.decide(ctx)
}

// Own is a season that a person has made, weighed with the measures of the decision.
type Own struct {
	// Plan has exactly what was chosen of the birds of its scope; elsewhere who lives
	// with whom is decided as well as the choices let it be. Its Unpaired, Eggs, Young,
	// InTheWay and Spare are empty: of a person's choices nothing else follows.
	*Plan
	Breaches []Breach // rules that it breaks, in the order of the choices
}

// Breach is a rule that a choice breaks, or why a choice cannot be carried out.
type Breach struct {
	Choice *studbook.Choice
	Reason Reason
}

// What is said of choices, besides the reasons of the decision.
const (
	Chosen      Code = "chosen"        // Birds are paired, parted or moved because a person's season has it
	MayNotMove  Code = "may_not_move"  // Birds one with a hold on moving, Note why, Date until when
	PlacesFull  Code = "places_full"   // To where Count birds of the sex of Birds come, and Of have room
	TooMany     Code = "too_many"      // Count chicks of the pair, Of the most of one pair
	ChicksFull  Code = "chicks_full"   // To where Value chicks are to be expected, and Of have room
	EggsOfPair  Code = "eggs_of_pair"  // Count chicks of a pair under which Of eggs lie
	NotThereYet Code = "not_there_yet" // Note the id of a bird that has not hatched
	LeavesScope Code = "leaves_scope"  // Birds: a pair that lives elsewhere, whose broods are not planned here
)

// Weigh weighs a season that a person has made, of the scope of the options, by the
// rules of the decision: what it comes to, and which rules it breaks. Choices that
// cannot be carried out are left out, and told among the breaches. What people have
// agreed on stays unless a choice says otherwise of the same birds. The error is ctx's.
func (d *Decision) Weigh(ctx context.Context, choices []studbook.Choice, o PlanOptions) (*Own, error) {
	x, err := d.under(ctx, &chosenSeason{choices: choices, scope: &o})
	if err != nil {
		return nil, err
	}
	plan, err := x.Plan(ctx, o)
	if err != nil {
		return nil, err
	}
	return &Own{Plan: plan, Breaches: x.breaches(choices, plan)}, nil
}

// Best returns the best season under those of the choices that are fixed: the decision
// and the plan for the scope of the options, with these as they are. The error is ctx's.
func (d *Decision) Best(ctx context.Context, choices []studbook.Choice, o PlanOptions) (*Plan, error) {
	fixed := slices.DeleteFunc(slices.Clone(choices), func(c studbook.Choice) bool { return !c.Fixed })
	x, err := d.under(ctx, &chosenSeason{choices: fixed})
	if err != nil {
		return nil, err
	}
	return x.Plan(ctx, o)
}

// Choices returns a plan as a season to begin with: weighed, it is the plan again.
func (plan *Plan) Choices() []studbook.Choice {
	p := plan.Decision.p
	var out []studbook.Choice
	add := func(what studbook.Subject, to string, chicks int, birds ...int) {
		x := studbook.Choice{What: what, To: to, Chicks: chicks}
		for _, b := range birds {
			x.Birds = append(x.Birds, p.Book.Birds[b].ID)
		}
		out = append(out, x)
	}
	for k := range plan.Pairs {
		switch x := &plan.Pairs[k]; x.Kind {
		case BondReleased:
			add(studbook.RulesPart, "", -1, x.Female, x.Male)
		case BondNew:
			to := ""
			if x.Move != nil {
				to = x.Move.To
			}
			add(studbook.RulesBond, to, -1, x.Female, x.Male)
		}
	}
	for _, m := range plan.Decision.Sent() {
		if plan.Options.has(m.From) || plan.Options.has(m.To) {
			add(studbook.RulesMove, m.To, -1, m.Bird)
		}
	}
	for k := range plan.Pairs {
		if x := &plan.Pairs[k]; x.HatchUpTo > 0 {
			add(studbook.RulesHatch, "", x.HatchUpTo, x.Female, x.Male)
		}
	}
	return out
}

// breaches gathers the rules that a season breaks.
func (d *Decision) breaches(choices []studbook.Choice, plan *Plan) []Breach {
	p := d.p
	var out []Breach
	come := map[string]map[studbook.Sex]int{}
	for k := range choices {
		c := &choices[k]
		say := func(r Reason) { out = append(out, Breach{c, r}) }
		var birds []int
		for _, id := range c.Birds {
			if b, ok := p.Book.Index(id); ok {
				birds = append(birds, b)
			} else {
				say(Reason{Code: NotThereYet, Note: id})
			}
		}
		if len(birds) < len(c.Birds) {
			continue
		}
		if c.What == studbook.RulesHatch {
			d.hatchBreaches(c, d.pairOf(birds[0], birds[1]), plan, say)
			continue
		}
		w := d.wordOf(c)
		if w.Standing == RulingStopped {
			say(w.Why)
			continue
		}
		var move *PlannedMove
		switch c.What {
		case studbook.RulesPart:
			if no := d.rulings.noParts[d.pairOf(birds[0], birds[1])]; no != nil {
				say(no.Reason(p))
			}
		case studbook.RulesMove:
			bond, paired := d.BondOf(birds[0])
			if m, ok := d.rulings.sent[birds[0]]; ok {
				move = &m
			} else if w.Standing == RulingFixed && !(paired && bond.Place == c.To) { // another choice pairs it elsewhere
				say(Reason{Code: Overruled, Birds: p.birds(birds[0])})
			}
		case studbook.RulesBond:
			pair := d.pairOf(birds[0], birds[1])
			if m, apart := d.rulings.moves[pair]; apart {
				move = &m
			}
			d.bondBreaches(pair, say)
		}
		if move != nil {
			d.moveBreaches(*move, come, say)
		}
	}
	return out
}

// wordOf returns what has become of a choice on a bond or move.
func (d *Decision) wordOf(c *studbook.Choice) *Ruling {
	for k := range d.rulings.all {
		if w := &d.rulings.all[k]; w.choice != nil && w.choice == c {
			return w
		}
	}
	return &Ruling{Standing: RulingDone}
}

func (d *Decision) bondBreaches(pair [2]int, say func(Reason)) {
	p := d.p
	if f := p.Pedigree.Kinship(p.node[pair[0]], p.node[pair[1]]); TooClose(f, d.limit) {
		say(Reason{Code: CloseKin, Birds: p.birds(pair[0], pair[1]), Value: f, Other: d.limit})
	}
	if why, are := p.KinByDNA(pair[0], pair[1]); are {
		say(why)
	}
	for _, no := range []*Ruling{d.rulings.noPairs[pair], d.rulings.noMeetings[pair]} {
		if no != nil {
			say(no.Reason(p))
		}
	}
	for _, r := range p.Doubt(pair[0], pair[1]) {
		say(r)
	}
}

// moveBreaches holds a move against holds, what people declined and the room at the
// place, of which the moves before it have taken some.
func (d *Decision) moveBreaches(m PlannedMove, come map[string]map[studbook.Sex]int, say func(Reason)) {
	p := d.p
	for _, h := range p.Book.HoldsOn(p.Book.Birds[m.Bird].ID) {
		if h.Blocks != studbook.BlocksBreeding && !p.mayTravel(m.Bird) {
			say(Reason{Code: MayNotMove, Birds: p.birds(m.Bird), Note: h.Reason, Date: h.Until})
			break
		}
	}
	if w := d.rulings.refused[m.Bird][m.To]; w != nil {
		say(w.Reason(p))
	}
	sex := p.Book.Birds[m.Bird].Sex
	if come[m.To] == nil {
		come[m.To] = map[studbook.Sex]int{}
	}
	come[m.To][sex]++
	if room := d.Places(m.To, sex); sex != studbook.Unsexed && room >= 0 && come[m.To][sex] > room {
		say(Reason{Code: PlacesFull, Birds: p.birds(m.Bird), To: m.To, Count: come[m.To][sex], Of: room})
	}
}

// hatchBreaches holds the chicks of a pair against what it may hatch.
func (d *Decision) hatchBreaches(c *studbook.Choice, pair [2]int, plan *Plan, say func(Reason)) {
	p := d.p
	k := slices.IndexFunc(plan.Pairs, func(x PlannedPair) bool {
		return x.Female == pair[0] && x.Male == pair[1] && x.Kind != BondReleased
	})
	both := p.birds(pair[0], pair[1])
	switch {
	case k < 0:
		say(Reason{Code: NotAMate, Birds: both})
		return
	case plan.Pairs[k].Role == "":
		say(Reason{Code: LeavesScope, Birds: both})
		return
	}
	x := &plan.Pairs[k]
	if c.Chicks > 0 {
		for _, r := range x.Barred {
			say(r)
		}
	}
	_, byPair := p.hatchedThisSeason(plan.Options)
	if most := plan.Options.PerPair - byPair[pair]; c.Chicks > most {
		say(Reason{Code: TooMany, Birds: both, Count: c.Chicks, Of: max(0, most)})
	}
	if clutch := p.sittingClutches()[pair]; clutch != nil {
		n := eggsOf(clutch, c.Chicks)
		switch {
		case p.settled(clutch) && c.Chicks < n:
			say(Reason{Code: EggsSettled, Birds: both, Count: int(p.Book.AsOf - clutch.Laid.Mid()), Of: p.Settings().SettledDays})
		case c.Chicks > n:
			say(Reason{Code: EggsOfPair, Birds: both, Count: c.Chicks, Of: n})
		}
	}
	room := (&planning{p: p, d: d}).roomFor(x.Place)
	expected := 0.0
	for _, y := range plan.Pairs {
		if y.Place == x.Place {
			expected += y.Expected
		}
	}
	if room >= 0 && expected > float64(room)+1e-9 && c.Chicks > 0 {
		say(Reason{Code: ChicksFull, Birds: both, To: x.Place, Value: expected, Of: room})
	}
}
