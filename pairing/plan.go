package pairing

import (
	"context"

	"pairwright/pairing/internal/season"
)

// PlanOptions say what a season's plan must keep to. The zero value asks for
// no chicks; see Programme.ChicksNeeded for how many to ask for.
type PlanOptions struct {
	// Place is the code of the colony whose plan it is, as Programme.Colony
	// gives it. Pairs are then formed in the colony, or by a move with one
	// bird of the colony. With Whole pairs of every place are planned.
	Place string
	Whole bool

	Chicks  int // wanted
	PerPair int // most chicks of one pair; 0 for the programme's limit
	Moves   int // most birds that may move to another place to be paired

	// LimitInbreeding is the most F a chick may have; nil for the
	// programme's limit.
	LimitInbreeding *float64

	Release   []string // ids of birds whose bonds may be parted
	FreeBonds bool     // all bonds may be parted

	IgnoreSpaces bool // as if every place had room enough

	Draws int    // of random pairing to compare with; 0 for DefaultDraws
	Seed  uint64 // of those draws
}

// DefaultDraws is the number of random pairings that a plan is compared with.
const DefaultDraws = 1000

// Plan is which pairs hatch how many chicks in a season, so that the living
// and the planned chicks together keep as much gene diversity as they can.
type Plan struct {
	Options PlanOptions
	Wanted  int // chicks
	Chicks  int // planned; fewer than wanted where no plan has more
	// MostCertain is false if there might be a plan with more of the chicks
	// wanted: the search for one ended before it had tried everything.
	MostCertain bool

	Pairs []PlannedPair // by place, then the female's id

	// Gene diversity of the programme, all living birds: now, with the planned
	// chicks as full members, and the most that any plan with as many chicks
	// could have. Known is false if there are no living birds.
	Before, After, Bound float64
	Known                bool
	Gap                  float64 // Bound − After, 0 or more
	Proven               bool    // no plan is better, but for rounding (1e-12)

	BondsAlone Alternative // the best with the bonds there are, without any new pair or move
	Random     RandomPairing

	Unpaired []Unplanned // by id
	Eggs     []EggAdvice // by the female's id
	Notes    []string    // what the reader must know besides
}

// PlannedPair is a pair that is to hatch chicks.
type PlannedPair struct {
	Female, Male        int    // in the snapshot
	Place               string // where the chicks hatch
	Chicks              int
	OffspringInbreeding float64
	KeepsBond           bool
	Move                *PlannedMove // nil if both live there
	Reasons             []string
}

// PlannedMove is a bird that moves to its mate.
type PlannedMove struct {
	Bird     int
	From, To string
}

// Alternative is another way to spend the season. Possible is false if it has
// no chicks at all.
type Alternative struct {
	Chicks        int
	GeneDiversity float64
	Possible      bool
	Proven        bool // none of its kind is better
}

// RandomPairing is what chance would do under the same limits: every chick goes
// to a pair drawn from all that may still hatch one. Draws is 0 if chance found
// no plan with the chicks planned.
type RandomPairing struct {
	Mean, StdErr float64 // of gene diversity after the season
	Draws        int
	Seed         uint64
}

// Unplanned is a bird without a mate that the plan leaves so.
type Unplanned struct {
	Bird   int
	Reason string
}

// EggAdvice is what to do with the eggs of a bonded pair this season: let
// hatch so many, and replace the others, or all of them, by dummies. A pair
// that sits already is left undisturbed, whatever the plan has of it.
type EggAdvice struct {
	Female, Male int
	Hatch        int
	Replace      bool // all eggs; false if the pair sits
	Sits         bool // the pair sits now
	Reason       string
}

// Plan finds the season's plan: exactly where branch and bound can exhaust the
// plans, which it does for a colony, else the best that was found, always with
// a proven bound. No plan at all is a result with the reason in Notes; an error
// is an unknown id in Release, or ctx's.
func (p *Programme) Plan(ctx context.Context, o PlanOptions) (*Plan, error) {
	for _, id := range o.Release {
		if _, err := p.Bird(id); err != nil {
			return nil, err
		}
	}
	out := &Plan{Options: o, Wanted: max(0, o.Chicks)}
	b, err := newPlanner(ctx, p, &out.Options)
	if err != nil {
		return nil, err
	}
	b.season.Chicks = out.Wanted
	best, err := b.season.Solve(ctx, season.Budget)
	if err != nil {
		return nil, err
	}
	out.Chicks, out.MostCertain, out.Proven = best.Chicks, best.MostCertain, best.Proven
	out.Before, out.Known = p.Living.GeneDiversity()
	out.After, out.Bound = out.Before, out.Before
	if best.Chicks > 0 {
		out.After, out.Bound = best.GeneDiversity, best.Bound
	}
	out.Gap = out.Bound - out.After
	if out.BondsAlone, err = b.bondsAlone(ctx); err != nil {
		return nil, err
	}
	b.season.Chicks = best.Chicks
	chance := b.season.Chance(out.Options.Draws, o.Seed)
	out.Random = RandomPairing{Mean: chance.Mean, StdErr: chance.StdErr, Draws: chance.Draws, Seed: o.Seed}
	b.plan = best.Plan
	b.fill(out)
	return out, nil
}
