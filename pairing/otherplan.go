package pairing

import (
	"context"
	"sync"
)

// OtherPlan is what the other plan of the same day asks of a pair: beside the plan of a
// colony that of the whole programme, and beside that the plan of the colony that the
// pair lives in, each for the chicks of Programme.ChicksNeeded. They plan other numbers
// of chicks, so that a pair may rest in one and hatch in the other; but eggs are taken
// from a pair only where neither wants them, or people have agreed on it.
type OtherPlan struct {
	Whole     bool // the other plan is that of the whole programme
	Role      Role
	Order     int // among the planned pairs and reserves of that plan; 0 of others
	HatchUpTo int // chicks
}

// Wants reports whether the other plan wants chicks of the pair, perhaps as a reserve.
func (x *OtherPlan) Wants() bool { return x != nil && (x.Role == Planned || x.Role == Reserve) }

// Disputed reports whether a plan lets a pair rest of which the other one wants chicks:
// no egg of it is to be taken before that is settled.
func (x *PlannedPair) Disputed() bool {
	return x.Role == Rest && len(x.Barred) == 0 && x.Other.Wants()
}

// Occupied returns why the eggs of a pair that rests are not to be replaced as they are laid:
// it raises chicks, or nobody wrote down what became of its eggs.
func (x *PlannedPair) Occupied() (why Reason, is bool) {
	for _, r := range x.Reasons {
		if x.Role == Rest && r.Is(RaisesChicks, EggsUntold) {
			return r, true
		}
	}
	return why, false
}

// What a plan says of a pair that it lets rest and of which the other plan wants chicks.
// Birds are the pair, Count the chicks it may hatch there, Of its order there, To the
// colony whose plan it is, "" for the plan of the whole programme.
const (
	OtherPlans    Code = "other_plans"    // as a planned pair
	OtherReserves Code = "other_reserves" // as a reserve
)

// otherReason is the reason of a disputed pair.
func (b *planning) otherReason(x *PlannedPair) Reason {
	r := Reason{Code: OtherPlans, Birds: b.p.birds(x.Female, x.Male), Count: x.Other.HatchUpTo, Of: x.Other.Order}
	if x.Other.Role == Reserve {
		r.Code = OtherReserves
	}
	if !x.Other.Whole {
		r.To = x.Place
	}
	return r
}

// otherPlans keeps what the plans of a decision ask of pairs, by colony, "" for all.
type otherPlans struct {
	sync.Mutex
	of map[string]map[[2]int]OtherPlan
}

// rolesIn returns what the plan of a colony, or of the whole programme, asks of its pairs, for
// the chicks of Programme.ChicksNeeded. The error is ctx's.
func (d *Decision) rolesIn(ctx context.Context, place string, whole bool) (map[[2]int]OtherPlan, error) {
	d.asked.Lock()
	defer d.asked.Unlock()
	key := "home " + place
	if whole {
		key = ""
	}
	if of, known := d.asked.of[key]; known {
		return of, nil
	}
	o := PlanOptions{Place: place, Whole: whole, PerPair: d.p.Settings().ChicksPerPair}
	o.Chicks, _ = d.p.ChicksNeeded(place, whole)
	b := &planning{p: d.p, d: d, o: o}
	if _, _, err := b.assign(ctx, new(Plan)); err != nil {
		return nil, err
	}
	of := map[[2]int]OtherPlan{}
	for k := range b.pairs {
		x := &b.pairs[k]
		of[[2]int{x.Female, x.Male}] = OtherPlan{whole, x.Role, x.Order, x.HatchUpTo}
	}
	if ctx.Err() == nil {
		d.asked.of[key] = of
	}
	return of, ctx.Err()
}

// Compare fills in Other of the pairs of a plan that was made without it; see
// PlanOptions.PairsAlone. The error is ctx's.
func (x *Plan) Compare(ctx context.Context) error {
	p := x.Decision.p
	b := &planning{p: p, d: x.Decision, o: x.Options, clutch: p.sittingClutches()}
	b.seasonBroods()
	return b.compare(ctx, x.Pairs)
}

// manyPairs is from how many pairs on the other plan is asked for eggs that lie there, or
// may be laid now: of so many it takes as long as the decision.
const manyPairs = 1000

// putOff reports whether the plans of a big programme are compared for eggs that lie there
// alone, as it is not known to be laying.
func (b *planning) putOff() bool {
	return len(b.d.Bonds) >= manyPairs && !b.p.Calendar().Running
}

// compare fills in what the other plan asks of the pairs, where one of them rests for others'
// sake: else both plans leave all eggs alone.
func (b *planning) compare(ctx context.Context, pairs []PlannedPair) error {
	if len(b.p.Book.Locations()) < 2 {
		return nil
	}
	asks := map[string]bool{} // places whose pairs rest, or lose eggs over what the plan wants of them
	for k := range pairs {
		x := &pairs[k]
		c := b.clutch[[2]int{x.Female, x.Male}]
		rests := x.Role == Rest && len(x.Barred) == 0 && !x.Late && !b.broods[[2]int{x.Female, x.Male}].done()
		over := c != nil && x.HatchUpTo > 0 && c.Fertile > x.HatchUpTo && !b.p.settled(c)
		if (rests && (c != nil || !b.putOff())) || over {
			asks[x.Place] = true
		}
	}
	for k := range pairs {
		x := &pairs[k]
		if !asks[x.Place] {
			continue
		}
		of, err := b.d.rolesIn(ctx, x.Place, !b.o.Whole)
		if err != nil {
			return err
		}
		if y, there := of[[2]int{x.Female, x.Male}]; there {
			x.Other = &y
		}
	}
	return nil
}
