package forecast

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"pairwright/pedigree/demography"
)

// Quantity is what a need is told in.
type Quantity byte

// The quantities.
const (
	ChicksAYear  Quantity = iota // chicks wanted each year
	FounderEvery                 // years between new founders; less is more
	LivingBirds                  // birds wanted, with places for them all
)

// Need is how much of a quantity holds the goal with a chance.
type Need struct {
	Quantity Quantity
	Chance   float64 // that was asked for

	// Least is the least that does (of years between founders the most), Held
	// the share of its runs that held the goal. Low and High are the least and
	// the most that it may be, where the Wilson interval of the share holds the
	// chance; High is Beyond where even the most that was tried may not do.
	// None says that the goal is held without any, Never that not even the most
	// that was tried, Tried, does.
	Least, Low, High int
	Held             float64
	None, Never      bool
	Tried            int

	// Birds live at the end of the runs of Least, or of Tried where that does not do;
	// Wanted is how many are wanted, and Hold how many chicks a year hold that number
	// by the survival of the rules.
	Birds        Figure
	Wanted, Hold int

	Runs  int // of each trial
	Years int
}

// Beyond stands for more than was tried.
const Beyond = -1

// ErrMissed says that gene diversity is below the goal today, so that nothing
// holds it.
var ErrMissed = errors.New("gene diversity is below the goal already today, so nothing holds it; ask for a goal below today's")

// FindNeed finds by bisection how much of a quantity holds the goal of the options
// in a share of the runs, on the same luck for every trial. That more does no
// worse is taken for granted. What was tried goes up to three times the birds
// wanted or living, MostBirds at most, the chicks that would hold those, or a founder every year.
//
// The error is ErrMissed, that of RunScenarios, or ctx's: a bisection that was
// stopped has found nothing.
func FindNeed(ctx context.Context, s Scenario, q Quantity, chance float64, opt Options) (*Need, error) {
	if !(chance > 0 && chance < 1) {
		return nil, fmt.Errorf("forecast: the chance must be between 0 and 1, not %g", chance)
	}
	if !(opt.Goal > 0) {
		return nil, errors.New("forecast: a need is for a goal, and there is none")
	}
	opt.GoalAlone = true
	t := &trials{ctx: ctx, scenario: s, quantity: q, opt: opt, done: map[int]demography.Proportion{}}
	t.most = t.reach()
	n := &Need{Quantity: q, Chance: chance, Runs: opt.Runs, Years: opt.Years, Tried: t.value(t.most)}
	least := t.first(0, t.most, func(p demography.Proportion) bool { return p.Value >= chance })
	low := t.first(0, min(least, t.most), func(p demography.Proportion) bool { return p.Wilson.High >= chance })
	high := t.first(min(least, t.most), t.most, func(p demography.Proportion) bool { return p.Wilson.Low >= chance })
	if t.err != nil {
		return nil, t.err
	}
	n.Low, n.High = t.value(low), t.value(high)
	n.Wanted, n.Hold = s.Rules.Birds, t.chicksFor(s.Rules.Birds)
	t.opt.GoalAlone = false
	last, err := t.run(min(least, t.most))
	if err != nil {
		return nil, err
	}
	n.Birds = last.Courses[0].Years[opt.Years].Size
	if n.Never = least > t.most; n.Never {
		return n, nil
	}
	n.None, n.Least, n.Held = least == 0, t.value(least), t.done[least].Value
	return n, nil
}

// trials are the shares of runs that held the goal, by effort: 0 for none.
type trials struct {
	ctx      context.Context
	scenario Scenario
	quantity Quantity
	opt      Options
	most     int
	done     map[int]demography.Proportion
	err      error
}

// first returns the least effort from low to high that is enough, or one more than
// high.
func (t *trials) first(low, high int, enough func(p demography.Proportion) bool) int {
	if t.err != nil || !enough(t.at(high)) {
		return high + 1
	}
	for low < high && t.err == nil {
		if middle := (low + high) / 2; enough(t.at(middle)) {
			high = middle
		} else {
			low = middle + 1
		}
	}
	return high
}

// at returns the share of the runs of an effort that hold the goal.
func (t *trials) at(effort int) demography.Proportion {
	if p, ok := t.done[effort]; ok || t.err != nil {
		return p
	}
	result, err := t.run(effort)
	if err != nil {
		t.err = err
		return demography.Proportion{}
	}
	if result.Courses[0].Years[0].GeneDiversity.Median < t.opt.Goal {
		t.err = ErrMissed
	}
	t.done[effort] = demography.NewProportion(int(math.Round(result.Courses[0].GoalHeld*float64(result.Runs))), result.Runs)
	return t.done[effort]
}

// run makes the runs of an effort.
func (t *trials) run(effort int) (*Result, error) {
	r := *t.scenario.Rules
	switch t.quantity {
	case ChicksAYear:
		r.Chicks, r.Birds = effort, 0
	case FounderEvery:
		r.FounderEvery, r.FoundersAtOnce = t.value(effort), 1
	case LivingBirds:
		r.Birds, r.Growing, r.Drifts = effort, growing, false
	}
	if r.Places != nil && t.quantity != FounderEvery { // there is room for all
		r.Places = slices.Repeat([]int{math.MaxInt32}, len(r.Places))
	}
	s := t.scenario
	s.Rules = &r
	return RunScenarios(t.ctx, []Scenario{s}, t.opt)
}

// value returns what an effort is in terms of the quantity, Beyond for more than
// the most.
func (t *trials) value(effort int) int {
	switch {
	case effort > t.most:
		return Beyond
	case t.quantity == FounderEvery && effort > 0:
		return t.opt.Years + 1 - effort
	}
	return effort
}

// reach returns the most that is tried.
func (t *trials) reach() int {
	const times = 3
	r := t.scenario.Rules
	birds := min(times*max(len(t.scenario.Start.Birds), r.Birds, 10), MostBirds)
	switch t.quantity {
	case FounderEvery:
		return t.opt.Years
	case LivingBirds:
		return birds
	}
	return t.chicksFor(birds)
}

// chicksFor returns how many chicks a year hold a number of birds: a bird lives so many
// years.
func (t *trials) chicksFor(birds int) int {
	years, r := 0.0, t.scenario.Rules
	for _, p := range [2]*demography.Prospect{&r.Female, &r.Male} {
		reached := 0.5
		for age := range p.Survival {
			reached *= p.SurvivalAt(age)
			years += reached
		}
	}
	return int(math.Ceil(float64(birds) / max(years, 1)))
}
