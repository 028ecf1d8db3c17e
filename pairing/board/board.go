package board

import (
	"cmp"
	"context"
	"regexp"
	"slices"
	"strings"

	"pairwright/pairing"
	"pairwright/pairing/review"
	"pairwright/pairing/transfer"
	"pairwright/pedigree/studbook"
)

// Board is a colony on one day. Every living bird of the colony is in one of Nests
// or is one of Birds.
type Board struct {
	Programme *pairing.Programme
	Colony    string // its code; "" where the studbook has no locations

	// Plan is the season's decision for the colony, with the chicks of
	// pairing.Programme.ChicksNeeded; Why says why so many.
	Plan *pairing.Plan
	Why  pairing.NeedReason

	Glances []review.Glance // the five figures of the review
	Nests   []Nest          // by nest, those without a name last, then by female
	Birds   []Bird          // in no nest: by state in the order of States, then id
	Holds   []studbook.Hold // in force on birds of the colony, by bird, then in the order in which they began
	Tasks   []Task          // the first day first; those without a day last
	// Today is the day from which what falls due is counted: that of the programme, or a
	// later one where the files end before.
	Today studbook.Day
}

// Nest is a pair that lives together today.
type Nest struct {
	review.PairReview
	Eggs *pairing.Eggs // that it sits on; nil for none
	// Brood is a clutch of which chicks may still be in the nest; nil for none.
	Brood *studbook.Clutch
	// Dummies is a clutch whose eggs were replaced, on which the pair may still sit; nil
	// for none.
	Dummies *studbook.Clutch
}

// Bird is a living bird of the colony that has no mate today.
type Bird struct {
	Bird     int
	Standing pairing.Standing
	Age      float64 // years, give or take AgePlusMinus
	// AgePlusMinus is by how much the age may be off; AgeKnown is false where there
	// is none.
	AgePlusMinus float64
	AgeKnown     bool
	// Bond is the pair that it is to live in by the decision; nil for none, and Alone
	// says why.
	Bond   *pairing.Bond
	Alone  pairing.Reason
	Beside []pairing.Reason // what else is to be known of it; see pairing.Decision.Beside
	Young  *pairing.Young   // where it should be in the years ahead; nil of others
}

// States are the states of birds in no nest, in the order of a board.
var States = []pairing.State{pairing.StateFree, pairing.StateBonded, pairing.StateOnHold, pairing.StateYoung, pairing.StateUnsexed, pairing.StatePast}

// New returns the board of a colony, as Programme.Colony gives its code, by a
// decision. The error is ctx's.
func New(ctx context.Context, d *pairing.Decision, p *pairing.Programme, colony string) (*Board, error) {
	b := &Board{Programme: p, Colony: colony, Today: p.Book.AsOf}
	var err error
	if b.Glances, err = review.Glances(ctx, p, colony); err != nil {
		return nil, err
	}
	o := pairing.PlanOptions{Place: colony}
	o.Chicks, b.Why = p.ChicksNeeded(colony, false)
	if b.Plan, err = d.Plan(ctx, o); err != nil {
		return nil, err
	}
	pairs := review.Pairs(p, b.Plan)
	b.fillNests(pairs)
	if err := b.fillBirds(ctx, d); err != nil {
		return nil, err
	}
	for _, h := range p.Book.Holds {
		if i, ok := p.Book.Index(h.ID); ok && p.Book.Alive(i) && p.Book.Birds[i].Location == colony {
			b.Holds = append(b.Holds, h)
		}
	}
	slices.SortStableFunc(b.Holds, func(x, y studbook.Hold) int {
		return cmp.Or(strings.Compare(x.ID, y.ID), cmp.Compare(x.Since.Mid(), y.Since.Mid()), strings.Compare(x.Reason, y.Reason))
	})
	moves, err := transfer.Moves(ctx, p, d, colony)
	if err != nil {
		return nil, err
	}
	if err := b.fillTasks(ctx, d, pairs, moves); err != nil {
		return nil, err
	}
	return b, ctx.Err()
}

// fillNests takes the pairs that live together at the colony today.
func (b *Board) fillNests(pairs []review.PairReview) {
	p := b.Programme
	for _, x := range pairs {
		if x.Kind == pairing.BondNew || p.Book.Birds[x.Female].Location != b.Colony || !slices.Contains(p.Mates(x.Female), x.Male) {
			continue
		}
		n := Nest{PairReview: x}
		for k := range b.Plan.Eggs {
			if e := &b.Plan.Eggs[k]; e.Female == x.Female && e.Male == x.Male {
				n.Eggs = e
			}
		}
		for k := range p.Book.Clutches {
			c := &p.Book.Clutches[k]
			until, may := pairing.NestUntil(c)
			if c.Female == p.Book.Birds[x.Female].ID && c.Male == p.Book.Birds[x.Male].ID && may && until >= p.Book.AsOf {
				switch {
				case c.Hatched > 0:
					n.Brood = c
				case c.Replaced:
					n.Dummies = c
				}
			}
		}
		b.Nests = append(b.Nests, n)
	}
	unnamed := func(n *Nest) int {
		if n.Nest == "" {
			return 1
		}
		return 0
	}
	slices.SortStableFunc(b.Nests, func(x, y Nest) int {
		return cmp.Or(unnamed(&x)-unnamed(&y), strings.Compare(inOrder(x.Nest), inOrder(y.Nest)), x.Female-y.Female, x.Male-y.Male)
	})
}

// inOrder is a name in whose order numbers count as numbers: "ledge 2" before
// "ledge 10".
func inOrder(name string) string {
	return digits.ReplaceAllStringFunc(name, func(n string) string { return strings.Repeat("0", max(0, 20-len(n))) + n })
}

var digits = regexp.MustCompile("[0-9]+")

// fillBirds takes the living birds of the colony that are in no nest.
func (b *Board) fillBirds(ctx context.Context, d *pairing.Decision) error {
	p := b.Programme
	nested := map[int]bool{}
	for _, n := range b.Nests {
		nested[n.Female], nested[n.Male] = true, true
	}
	for _, i := range p.Book.LivingAt(b.Colony) {
		if nested[i] {
			continue
		}
		x := Bird{Bird: i, Standing: p.State(i)}
		x.Age, x.AgePlusMinus, x.AgeKnown = p.Book.AgeYears(i)
		if bond, ok := d.BondOf(i); ok {
			x.Bond = &bond
		} else {
			x.Alone = d.WhyAlone(i)
			var err error
			if x.Beside, err = d.Beside(ctx, i); err != nil {
				return err
			}
		}
		for k := range b.Plan.Young {
			if y := &b.Plan.Young[k]; y.Bird == i {
				x.Young = y
			}
		}
		b.Birds = append(b.Birds, x)
	}
	slices.SortStableFunc(b.Birds, func(x, y Bird) int {
		return slices.Index(States, x.Standing.State) - slices.Index(States, y.Standing.State)
	})
	return nil
}
