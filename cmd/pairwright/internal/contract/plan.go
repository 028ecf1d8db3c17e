package contract

import (
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// PlanAnswer is the answer of the plan command.
type PlanAnswer struct {
	Season                int            `json:"season"`
	Scope                 string         `json:"scope"` // "home" or "programme"
	Colony                *string        `json:"colony"`
	ChicksWanted          int            `json:"chicks_wanted"`
	ChicksHatched         int            `json:"chicks_hatched"` // in this season already
	ChicksExpected        float64        `json:"chicks_expected"`
	ChanceEnough          float64        `json:"chance_enough"`
	Shortfall             float64        `json:"shortfall"`
	Pairs                 []PlanPair     `json:"pairs"`
	Eggs                  []PlanEggs     `json:"eggs"`
	Unpaired              []PlanUnpaired `json:"unpaired"`
	Young                 []YoungBird    `json:"young"`
	InTheWay              []ParkedBond   `json:"in_the_way"`
	SparePairs            []SparePair    `json:"spare_pairs"`
	GeneDiversityNow      *float64       `json:"gene_diversity_now"`
	GeneDiversityExpected *float64       `json:"gene_diversity_expected"`
	Weighted              WeightedAnswer `json:"weighted"`
	Bonds                 BondsAnswer    `json:"bonds"`
	AheadOf               float64        `json:"ahead_of"`
}

// PlanPair is a pair with what the season asks of it.
type PlanPair struct {
	Female              string   `json:"female"`
	Male                string   `json:"male"`
	Location            *string  `json:"location"`
	Bond                string   `json:"bond"`
	Role                *string  `json:"role"`
	Order               *int     `json:"order"`
	HatchUpTo           int      `json:"hatch_up_to"`
	ChicksExpected      float64  `json:"chicks_expected"`
	OffspringInbreeding float64  `json:"offspring_inbreeding"`
	Value               *float64 `json:"value"`
	NetGain             *float64 `json:"net_gain"`
	NetGainFor          *string  `json:"net_gain_for"` // the bird that it is for: less what its mate would do otherwise
	NeedsTransfer       bool     `json:"needs_transfer"`
	Moves               *string  `json:"moves"`
	Reasons             []string `json:"reasons"`
	// What the other plan of the same day asks of the pair, which is that of the programme beside
	// that of a colony, and that of its colony beside that of the programme. Where this plan
	// lets it rest and the other one has it planned or reserve, no egg is to be taken before
	// that is settled. null where there is no other plan, or neither lets a pair there rest.
	OtherPlanRole      *string `json:"other_plan_role"`
	OtherPlanHatchUpTo *int    `json:"other_plan_hatch_up_to"`
	Undoing
}

// Undoing is, of a new pair, the advised parting that could be made instead: the female and
// the male, and by when it is to be decided which; null of every other pair.
type Undoing struct {
	UndoneBy []string `json:"undone_by"`
	DecideBy *string  `json:"decide_by"`
}

func undoing(p *pairing.Programme, x *pairing.Undoing) Undoing {
	if x == nil {
		return Undoing{}
	}
	return Undoing{[]string{p.Book.Birds[x.Female].ID, p.Book.Birds[x.Male].ID}, day(x.By)}
}

// otherPlan returns what the other plan asks of a pair.
func otherPlan(x *pairing.PlannedPair) (role *string, hatchUpTo *int) {
	if x.Other == nil {
		return nil, nil
	}
	return text(string(x.Other.Role)), &x.Other.HatchUpTo
}

// PlanEggs is what to do with a clutch that lies there now.
type PlanEggs struct {
	Female  string     `json:"female"`
	Male    string     `json:"male"`
	Laid    *string    `json:"laid"`
	Eggs    *int       `json:"eggs"`
	Fertile *int       `json:"fertile"`
	Advice  string     `json:"advice"`
	By      *string    `json:"by"`    // the last day for it, which may have passed
	Begin   *string    `json:"begin"` // of replace, the first day for it: eggs are replaced as they are laid
	To      *[2]string `json:"to"`    // the female and the male that are to sit on them
	Reason  string     `json:"reason"`
	// SettleBy is of eggs that this plan would have replaced and the other plan wants: the
	// last day on which any could be taken, before which that is to be settled.
	SettleBy *string `json:"settle_by"`
}

// PlanUnpaired is a bird that the decision leaves without a mate.
type PlanUnpaired struct {
	ID     string `json:"id"`
	Reason string `json:"reason"`
}

// YoungBird is a bird that comes to breeding age in the years ahead.
type YoungBird struct {
	ID       string  `json:"id"`
	Location *string `json:"location"`
	To       *string `json:"to"`       // where it should go; null if it should stay
	When     string  `json:"when"`     // the first day of its first season
	LeaveBy  *string `json:"leave_by"` // the last day on which it can leave in time for that; null if it stays
	Mate     *string `json:"mate"`
	Reason   string  `json:"reason"`
	Anew     *string `json:"decided_anew"` // from when it is decided anew, before it need be done; null of what is to be settled before, or was agreed
}

// ParkedBond is a bond whose parting would be worth more than all prices.
type ParkedBond struct {
	Female    string       `json:"female"`
	Male      string       `json:"male"`
	Worth     float64      `json:"worth"`      // of this parting alone
	Advised   bool         `json:"advised"`    // it can be parted together with the others advised
	InsteadOf *[2]string   `json:"instead_of"` // the advised bond that it could be parted instead of
	Pairs     []ParkedPair `json:"pairs"`      // that would be formed: of an advised bond with those before it parted too, else by this parting alone
	Alone     []string     `json:"alone"`      // birds that would lose their mate
	MovesOff  []string     `json:"moves_off"`  // birds that would not move
	DecideBy  *string      `json:"decide_by"`  // because the plan has a new pair that would not be formed then; null where it has none
}

// ParkedPair is two birds that would be paired if others were parted.
type ParkedPair struct {
	Female string  `json:"female"`
	Male   string  `json:"male"`
	Moves  *string `json:"moves"`
}

// SparePair is two birds left alone that could be paired for numbers.
type SparePair struct {
	Female         string  `json:"female"`
	Male           string  `json:"male"`
	ChicksExpected float64 `json:"chicks_expected"`
}

// WeightedAnswer is weighted gene diversity before and after the season.
type WeightedAnswer struct {
	Now     *float64 `json:"now"`
	Planned *float64 `json:"planned"` // if as many chicks as are wanted hatch, none of them failing
	Bound   *float64 `json:"bound"`
	Gap     *float64 `json:"gap"`
}

// BondsAnswer is what the assignment of free birds is worth.
type BondsAnswer struct {
	Sum       float64 `json:"sum"`
	Bound     float64 `json:"bound"`
	Proven    bool    `json:"proven"`
	Moves     int     `json:"moves"`
	LeastGain float64 `json:"least_gain"`
}

// PlanJSON returns the plan as other programs read it.
func PlanJSON(p *pairing.Programme, plan *pairing.Plan) PlanAnswer {
	id := func(b int) string { return p.Book.Birds[b].ID }
	out := PlanAnswer{
		Season: plan.Decision.Season.Year, Scope: "home", Colony: text(plan.Options.Place),
		ChicksWanted: plan.Wanted, ChicksHatched: plan.Hatched, ChicksExpected: plan.Expected,
		ChanceEnough: plan.ChanceEnough, Shortfall: plan.Shortfall, AheadOf: plan.AheadOf,
		GeneDiversityNow: known(plan.Now, plan.Known), GeneDiversityExpected: known(plan.ExpectedDiversity, plan.Known),
		Weighted: WeightedAnswer{
			Now: known(plan.WeightedNow, plan.Known), Planned: known(plan.Planned, plan.Known),
			Bound: known(plan.Bound, plan.Known), Gap: known(plan.Bound-plan.Planned, plan.Known),
		},
		Bonds: BondsAnswer{plan.Decision.Sum, plan.Decision.Bound, plan.Decision.Proven, plan.Decision.Moves, plan.Decision.LeastGain},
		Pairs: []PlanPair{}, Eggs: []PlanEggs{}, Unpaired: []PlanUnpaired{}, Young: []YoungBird{}, InTheWay: []ParkedBond{}, SparePairs: []SparePair{},
	}
	if plan.Options.Whole {
		out.Scope = "programme"
	}
	for k := range plan.Pairs {
		x := &plan.Pairs[k]
		isNew := x.Kind == pairing.BondNew
		pair := PlanPair{
			Female: id(x.Female), Male: id(x.Male), Location: text(x.Place), Bond: string(x.Kind), Role: text(string(x.Role)),
			Order: known(x.Order, x.Order > 0), HatchUpTo: x.HatchUpTo, ChicksExpected: x.Expected, OffspringInbreeding: x.Kinship,
			Value: known(x.Value, isNew), NetGain: known(x.NetGain, isNew), NetGainFor: known(id(x.Female), isNew), NeedsTransfer: x.Move != nil,
			Reasons: report.PlannedReasons(p, x), Undoing: undoing(p, x.UndoneBy),
		}
		if x.Move != nil {
			pair.Moves = text(id(x.Move.Bird))
		}
		pair.OtherPlanRole, pair.OtherPlanHatchUpTo = otherPlan(x)
		out.Pairs = append(out.Pairs, pair)
	}
	for k := range plan.Eggs {
		out.Eggs = append(out.Eggs, eggsJSON(p, &plan.Eggs[k]))
	}
	for _, x := range plan.Unpaired {
		out.Unpaired = append(out.Unpaired, PlanUnpaired{id(x.Bird), report.AloneText(p, &x)})
	}
	out.Young = youngJSON(p, plan.Young)
	for k := range plan.InTheWay {
		out.InTheWay = append(out.InTheWay, parkedJSON(p, &plan.InTheWay[k]))
	}
	for _, x := range plan.Spare {
		out.SparePairs = append(out.SparePairs, SparePair{id(x.Female), id(x.Male), x.Chicks})
	}
	return out
}

func parkedJSON(p *pairing.Programme, x *pairing.Obstacle) ParkedBond {
	id := func(b int) string { return p.Book.Birds[b].ID }
	out := ParkedBond{Female: id(x.Female), Male: id(x.Male), Worth: x.Worth, Advised: x.Advised, Pairs: []ParkedPair{}, Alone: []string{}, MovesOff: []string{}, DecideBy: day(x.DecideBy)}
	if x.Instead[0] >= 0 {
		out.InsteadOf = &[2]string{id(x.Instead[0]), id(x.Instead[1])}
	}
	for _, y := range x.Then.Formed {
		pair := ParkedPair{Female: id(y.Female), Male: id(y.Male)}
		if y.Move != nil {
			pair.Moves = text(id(y.Move.Bird))
		}
		out.Pairs = append(out.Pairs, pair)
	}
	for _, b := range x.Then.Alone {
		out.Alone = append(out.Alone, id(b))
	}
	for _, m := range x.Then.Moves {
		out.MovesOff = append(out.MovesOff, id(m.Bird))
	}
	return out
}

func eggsJSON(p *pairing.Programme, x *pairing.Eggs) PlanEggs {
	id := func(b int) string { return p.Book.Birds[b].ID }
	e := PlanEggs{
		Female: id(x.Female), Male: id(x.Male), Laid: text(x.Clutch.Laid.Text),
		Eggs: known(x.Clutch.Eggs, x.Clutch.Eggs >= 0), Fertile: known(x.Clutch.Fertile, x.Clutch.Fertile >= 0),
		Advice: string(x.Advice), By: day(x.By), Begin: day(x.From), Reason: report.EggReason(p, x), SettleBy: day(x.SettleBy),
	}
	if x.Advice == pairing.FosterEggs {
		e.To = &[2]string{id(x.To[0]), id(x.To[1])}
	}
	return e
}

// youngJSON returns young birds as other programs read them.
func youngJSON(p *pairing.Programme, young []pairing.Young) []YoungBird {
	out := []YoungBird{}
	for k := range young {
		x := &young[k]
		y := YoungBird{ID: p.Book.Birds[x.Bird].ID, Location: text(x.From), When: x.When.String(), LeaveBy: day(x.Timing.Latest), Reason: report.YoungText(p, x), Anew: day(x.Anew)}
		if x.Leaves() {
			y.To = text(x.To)
		}
		if x.Mate >= 0 {
			y.Mate = text(p.Book.Birds[x.Mate].ID)
		}
		out = append(out, y)
	}
	return out
}

// day returns a day as ISO 8601 has it, null for none.
func day(d studbook.Day) *string {
	if d == 0 {
		return nil
	}
	return text(d.String())
}
