package contract

import (
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
)

// IfPaired is what two birds would do as a pair.
type IfPaired struct {
	Verdict         string           `json:"verdict"`
	ChickMean       *float64         `json:"chick_mean_kinship"`
	Gain            *float64         `json:"gene_diversity_gain"`
	ExpectedChicks  *float64         `json:"expected_chicks"`
	ChicksAhead     *float64         `json:"expected_chicks_ahead"`
	Value           *float64         `json:"value"`
	NetGain         *float64         `json:"net_gain"`
	AheadOf         *float64         `json:"ahead_of"` // share of the eligible pairs whose value is smaller
	Otherwise       *string          `json:"otherwise"`
	Reasons         []string         `json:"reasons"`
	ChangesOfOthers []ChangeOfOthers `json:"changes_of_others"`
}

// ChangeOfOthers is another bird that would have another mate for it, null for
// none.
type ChangeOfOthers struct {
	Bird   string  `json:"bird"`
	Before *string `json:"before"`
	After  *string `json:"after"`
}

func togetherJSON(p *pairing.Programme, x *pairing.Together) *IfPaired {
	if x == nil {
		return nil
	}
	out := &IfPaired{Verdict: string(pairing.RuledOut), Reasons: report.AgainstTexts(p, x.Against), ChangesOfOthers: []ChangeOfOthers{}}
	c := x.Mate
	if c == nil {
		return out
	}
	id := func(b int) *string {
		if b < 0 {
			return nil
		}
		return &p.Book.Birds[b].ID
	}
	out.Verdict, out.Reasons = string(c.Verdict), report.Reasons(p, c.Reasons)
	out.ChickMean = &x.ChickMeanKinship
	out.Gain, out.ExpectedChicks, out.ChicksAhead, out.Value, out.NetGain = &c.GeneDiversityGain, &c.Chicks, &c.ChicksAhead, &c.Value, &c.NetGain
	out.AheadOf, out.Otherwise = &c.AheadOf, id(c.Otherwise)
	for _, change := range x.Changes {
		out.ChangesOfOthers = append(out.ChangesOfOthers, ChangeOfOthers{*id(change.Bird), id(change.Before), id(change.After)})
	}
	return out
}
