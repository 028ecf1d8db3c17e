package contract

import (
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
)

// PlanAnswer is the answer of the plan command.
type PlanAnswer struct {
	Season             int            `json:"season"`
	ChicksWanted       int            `json:"chicks_wanted"`
	ChicksPlanned      int            `json:"chicks_planned"`
	Pairs              []PlanPair     `json:"pairs"`
	GeneDiversityNow   *float64       `json:"gene_diversity_now"`
	GeneDiversityAfter *float64       `json:"gene_diversity_after"`
	GeneDiversityBound *float64       `json:"gene_diversity_bound"`
	Gap                *float64       `json:"gap"`
	ProvenOptimal      bool           `json:"proven_optimal"`
	BondsAlone         *float64       `json:"gene_diversity_bonds_alone"`
	RandomPairing      *float64       `json:"gene_diversity_random_pairing"`
	Unpaired           []PlanUnpaired `json:"unpaired"`
	Eggs               []PlanEggs     `json:"eggs"`
	Notes              []string       `json:"notes"`
}

// PlanPair is a pair that is to hatch chicks.
type PlanPair struct {
	Female              string   `json:"female"`
	Male                string   `json:"male"`
	Location            *string  `json:"location"`
	Chicks              int      `json:"chicks"`
	OffspringInbreeding float64  `json:"offspring_inbreeding"`
	NeedsTransfer       bool     `json:"needs_transfer"`
	Moves               *string  `json:"moves"`
	KeepsBond           bool     `json:"keeps_bond"`
	Reasons             []string `json:"reasons"`
}

// PlanUnpaired is a bird that the plan leaves without a mate.
type PlanUnpaired struct {
	ID     string `json:"id"`
	Reason string `json:"reason"`
}

// PlanEggs is what to do with a pair's eggs: let hatch so many and replace the
// rest, or all, by dummies; those of a pair that sits are left as they are.
type PlanEggs struct {
	Pair    [2]string `json:"pair"` // the female, the male
	Hatch   int       `json:"hatch"`
	Replace bool      `json:"replace"`
	Sits    bool      `json:"sits"`
	Reason  string    `json:"reason"`
}

// PlanJSON returns the plan as other programs read it.
func PlanJSON(p *pairing.Programme, plan *pairing.Plan) PlanAnswer {
	id := func(b int) string { return p.Book.Birds[b].ID }
	out := PlanAnswer{
		Season: p.Season(), ChicksWanted: plan.Wanted, ChicksPlanned: plan.Chicks,
		GeneDiversityNow: known(plan.Before, plan.Known), GeneDiversityAfter: known(plan.After, plan.Known),
		GeneDiversityBound: known(plan.Bound, plan.Known), Gap: known(plan.Gap, plan.Known), ProvenOptimal: plan.Proven,
		BondsAlone:    known(plan.BondsAlone.GeneDiversity, plan.BondsAlone.Possible),
		RandomPairing: known(plan.Random.Mean, plan.Random.Draws > 0),
		Pairs:         []PlanPair{}, Unpaired: []PlanUnpaired{}, Eggs: []PlanEggs{}, Notes: report.PlanNotes(p, plan),
	}
	for _, x := range plan.Pairs {
		pair := PlanPair{
			Female: id(x.Female), Male: id(x.Male), Location: text(x.Place), Chicks: x.Chicks,
			OffspringInbreeding: x.OffspringInbreeding, NeedsTransfer: x.Move != nil, KeepsBond: x.KeepsBond,
			Reasons: append([]string{}, x.Reasons...),
		}
		if x.Move != nil {
			pair.Moves = text(id(x.Move.Bird))
		}
		out.Pairs = append(out.Pairs, pair)
	}
	for _, x := range plan.Unpaired {
		out.Unpaired = append(out.Unpaired, PlanUnpaired{id(x.Bird), x.Reason})
	}
	for _, x := range plan.Eggs {
		out.Eggs = append(out.Eggs, PlanEggs{[2]string{id(x.Female), id(x.Male)}, x.Hatch, x.Replace, x.Sits, x.Reason})
	}
	return out
}
