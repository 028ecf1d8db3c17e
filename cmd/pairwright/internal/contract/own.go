package contract

import (
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
)

// OwnAnswer is the answer of the plan command to seasons of one's own.
type OwnAnswer struct {
	Season       int         `json:"season"`
	Scope        string      `json:"scope"` // "home" or "programme"
	Colony       *string     `json:"colony"`
	ChicksWanted int         `json:"chicks_wanted"`
	Decision     OwnFigures  `json:"decision"`
	Seasons      []OwnSeason `json:"seasons"`
}

// OwnFigures are what a season is judged by.
type OwnFigures struct {
	Name                  string   `json:"name"`
	ChicksExpected        float64  `json:"chicks_expected"`
	ChanceEnough          float64  `json:"chance_enough"`
	GeneDiversityExpected *float64 `json:"gene_diversity_expected"`
	MeanInbreeding        float64  `json:"mean_inbreeding"` // of the chicks
	Moves                 int      `json:"moves"`
	WeightedExpected      *float64 `json:"weighted_expected"`
	WeightedShort         *float64 `json:"weighted_short"` // of the decision; below 0 ahead of it
	BondsSum              float64  `json:"bonds_sum"`
	BondsShort            float64  `json:"bonds_short"`
	Breaches              int      `json:"breaches"`
}

// OwnSeason is a season of one's own.
type OwnSeason struct {
	OwnFigures
	BrokenRules []BrokenRule `json:"broken_rules"`
	Pairs       []PlanPair   `json:"pairs"`
}

// BrokenRule is what is against a choice.
type BrokenRule struct {
	Line   int    `json:"line"`
	Choice string `json:"choice"`
	Code   string `json:"code"`
	Text   string `json:"text"`
}

// OwnJSON returns seasons of one's own as other programs read them, and a row of
// figures for the decision and for each of them.
func OwnJSON(p *pairing.Programme, best *pairing.Plan, seasons []report.NamedOwn) (OwnAnswer, []OwnFigures) {
	plan := PlanJSON(p, best)
	out := OwnAnswer{Season: plan.Season, Scope: plan.Scope, Colony: plan.Colony, ChicksWanted: plan.ChicksWanted, Decision: ownFigures("decision", best, best), Seasons: []OwnSeason{}}
	rows := []OwnFigures{out.Decision}
	for k := range seasons {
		x := &seasons[k]
		s := OwnSeason{OwnFigures: ownFigures(x.Name, x.Plan, best), BrokenRules: []BrokenRule{}, Pairs: PlanJSON(p, x.Plan).Pairs}
		for i := range x.Breaches {
			b := &x.Breaches[i]
			s.BrokenRules = append(s.BrokenRules, BrokenRule{b.Choice.Line, report.ChoiceText(p, b.Choice), string(b.Reason.Code), report.BreachText(p, b)})
		}
		s.Breaches = len(s.BrokenRules)
		out.Seasons = append(out.Seasons, s)
		rows = append(rows, s.OwnFigures)
	}
	return out, rows
}

func ownFigures(name string, x, best *pairing.Plan) OwnFigures {
	broods, bonds := report.FromBest(best, x)
	return OwnFigures{
		Name: name, ChicksExpected: x.Expected, ChanceEnough: x.ChanceEnough, GeneDiversityExpected: known(x.ExpectedDiversity, x.Known),
		MeanInbreeding: x.MeanInbreeding, Moves: x.Decision.Moves, WeightedExpected: known(x.ExpectedWeighted, x.Known), WeightedShort: known(broods, x.Known),
		BondsSum: x.Decision.Sum, BondsShort: bonds,
	}
}
