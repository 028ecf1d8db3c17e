package contract

import (
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
)

// FounderKin is the answer of the parents command about founders.
type FounderKin struct {
	Typed     int            `json:"founders_typed"`
	Pairs     int            `json:"pairs_compared"`
	ErrorRate float64        `json:"error_rate"`
	Told      []FounderPair  `json:"pairs"` // that may be kin, or are on record
	Found     []FounderShare `json:"found_of_simulated"`
	ToDo      []string       `json:"to_do"`
}

// FounderPair is what DNA says of two founders.
type FounderPair struct {
	ID1             string   `json:"id1"`
	ID2             string   `json:"id2"`
	MarkersCompared int      `json:"markers_compared"`
	Recorded        *float64 `json:"recorded_kinship"`
	Answer          string   `json:"answer"` // one of pairing.FounderAnswer
	// Relation is the likeliest one, Kinship that of such birds.
	Relation string  `json:"relation"`
	Kinship  float64 `json:"kinship"`
	// LikeliestKinship is what fits the genotypes best, nothing being thought before.
	LikeliestKinship float64           `json:"likeliest_kinship"`
	KinChance        float64           `json:"kin_chance"`
	Chances          []FounderRelation `json:"chances"`
}

// FounderRelation is how likely a relation is.
type FounderRelation struct {
	Relation string  `json:"relation"`
	Kinship  float64 `json:"kinship"`
	Before   float64 `json:"chance_before"`
	After    float64 `json:"chance_after"`
}

// FounderShare is how often birds of a relation would be found to be kin.
type FounderShare struct {
	Relation string  `json:"relation"`
	Share    float64 `json:"share"`
}

// FounderRow is two founders as a row that can stand in founder_kinship.csv.
type FounderRow struct {
	ID1              string   `json:"id1"`
	ID2              string   `json:"id2"`
	Kinship          float64  `json:"kinship"`
	Relation         string   `json:"relation"`
	Answer           string   `json:"answer"`
	KinChance        float64  `json:"kin_chance"`
	LikeliestKinship float64  `json:"likeliest_kinship"`
	MarkersCompared  int      `json:"markers_compared"`
	Recorded         *float64 `json:"recorded_kinship"`
}

// FounderKinJSON returns what DNA says of the founders.
func FounderKinJSON(p *pairing.Programme, x *pairing.FounderKin, found []pairing.FoundShare) FounderKin {
	out := FounderKin{Typed: x.Typed, Pairs: x.Pairs, ErrorRate: p.Settings().GenotypeErrors, Told: []FounderPair{}, Found: []FounderShare{}, ToDo: report.FounderSteps(p, x)}
	for _, pair := range x.Told {
		likeliest := pair.Likeliest()
		one := FounderPair{
			ID1: p.Book.Birds[pair.A].ID, ID2: p.Book.Birds[pair.B].ID, MarkersCompared: pair.Compared, Recorded: pair.Recorded, Answer: string(pair.Answer),
			Relation: string(likeliest.Relation), Kinship: likeliest.Kinship, LikeliestKinship: pair.Kinship, KinChance: pair.KinChance(),
		}
		for _, r := range pair.Kin {
			one.Chances = append(one.Chances, FounderRelation{string(r.Relation), r.Kinship, r.Chance.Before, r.Chance.After})
		}
		out.Told = append(out.Told, one)
	}
	for _, f := range found {
		out.Found = append(out.Found, FounderShare{string(f.Relation), f.Share})
	}
	return out
}

// FounderRows returns the pairs of founders as rows.
func FounderRows(p *pairing.Programme, x *pairing.FounderKin) []FounderRow {
	rows := []FounderRow{}
	for _, f := range FounderKinJSON(p, x, nil).Told {
		rows = append(rows, FounderRow{f.ID1, f.ID2, f.Kinship, f.Relation, f.Answer, f.KinChance, f.LikeliestKinship, f.MarkersCompared, f.Recorded})
	}
	return rows
}
