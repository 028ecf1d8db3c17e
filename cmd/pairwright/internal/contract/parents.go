package contract

import (
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
)

// Parents is the answer of the parents command for one bird.
type Parents struct {
	Bird string `json:"bird"`
	// Markers is at how many the bird was typed.
	Markers   int        `json:"markers"`
	ErrorRate float64    `json:"error_rate"`
	Sire      ParentSide `json:"sire"`
	Dam       ParentSide `json:"dam"`
	// The chances that these markers show a bird taken at random not to be a parent;
	// null where the bird was not typed.
	ExcludesOtherKnown   *float64 `json:"excludes_other_parent_known"`
	ExcludesOtherUnknown *float64 `json:"excludes_other_parent_unknown"`
	// ToDo are the steps in plain words.
	ToDo []string `json:"to_do"`
}

// ParentSide is what DNA says of one parent.
type ParentSide struct {
	Recorded   *string           `json:"recorded"` // as the studbook has it
	Answer     string            `json:"answer"`   // one of pairing.ParentAnswer
	Parent     *string           `json:"parent"`   // who it is, if that is as good as known
	Candidates []ParentCandidate `json:"candidates"`
	Untyped    ParentGroup       `json:"not_typed"` // candidates, beside those listed
	Else       ParentGroup       `json:"somebody_else"`
}

// ParentGroup is birds that no test tells apart.
type ParentGroup struct {
	Birds  *int    `json:"birds"` // null of somebody else
	Before float64 `json:"chance_before"`
	After  float64 `json:"chance_after"`
}

// ParentCandidate is a bird that could be a parent.
type ParentCandidate struct {
	ID              string  `json:"id"`
	Name            *string `json:"name"`
	InStudbook      bool    `json:"in_studbook"`
	MarkersCompared int     `json:"markers_compared"`
	Mismatches      *int    `json:"mismatches"` // null where nothing was compared
	// LogLikelihoodRatio is the decimal logarithm of how many times as likely the chick's
	// genotypes are with this parent as with somebody unknown.
	LogLikelihoodRatio float64 `json:"log10_likelihood_ratio"`
	Before             float64 `json:"chance_before"`
	After              float64 `json:"chance_after"`
}

// ParentRow is a candidate as a row.
type ParentRow struct {
	Bird               string  `json:"bird"`
	Parent             string  `json:"parent"` // "sire" or "dam"
	Answer             string  `json:"answer"`
	ID                 string  `json:"id"`
	Name               *string `json:"name"`
	InStudbook         bool    `json:"in_studbook"`
	MarkersCompared    int     `json:"markers_compared"`
	Mismatches         *int    `json:"mismatches"`
	LogLikelihoodRatio float64 `json:"log10_likelihood_ratio"`
	Before             float64 `json:"chance_before"`
	After              float64 `json:"chance_after"`
}

// ParentsJSON returns what DNA says of the parents of one bird.
func ParentsJSON(p *pairing.Programme, x *pairing.Parentage) Parents {
	return Parents{
		Bird: p.Book.Birds[x.Bird].ID, Markers: x.Typed, ErrorRate: p.Settings().GenotypeErrors,
		Sire: parentSide(p, &x.Sire), Dam: parentSide(p, &x.Dam),
		ExcludesOtherKnown: known(x.ExcludesKnown, x.Typed > 0), ExcludesOtherUnknown: known(x.ExcludesUnknown, x.Typed > 0),
		ToDo: report.ParentSteps(p, x),
	}
}

func parentSide(p *pairing.Programme, s *pairing.ParentSide) ParentSide {
	out := ParentSide{
		Recorded: text(s.Recorded.String()), Answer: string(s.Answer), Candidates: []ParentCandidate{},
		Untyped: ParentGroup{&s.Untyped, s.UntypedChance.Before, s.UntypedChance.After},
		Else:    ParentGroup{nil, s.Else.Before, s.Else.After},
	}
	if b, sure := s.Sure(); sure {
		out.Parent = &p.Book.Birds[b].ID
	}
	for _, c := range s.Candidates {
		bird := &p.Book.Birds[c.Bird]
		out.Candidates = append(out.Candidates, ParentCandidate{
			bird.ID, text(bird.Name), c.Named, c.Compared, known(c.Mismatches, c.Compared > 0), c.Likelihood, c.Chance.Before, c.Chance.After,
		})
	}
	return out
}

// ParentsRows returns the candidates of several birds as rows, sires before dams.
func ParentsRows(p *pairing.Programme, all []*pairing.Parentage) []ParentRow {
	rows := []ParentRow{}
	for _, x := range all {
		for _, s := range x.Sides() {
			for _, c := range parentSide(p, s).Candidates {
				rows = append(rows, ParentRow{
					p.Book.Birds[x.Bird].ID, report.ParentWord(s.Sex), string(s.Answer),
					c.ID, c.Name, c.InStudbook, c.MarkersCompared, c.Mismatches, c.LogLikelihoodRatio, c.Before, c.After,
				})
			}
		}
	}
	return rows
}

// AllParentsJSON returns what DNA says of the parents of several birds.
func AllParentsJSON(p *pairing.Programme, all []*pairing.Parentage) []Parents {
	out := []Parents{}
	for _, x := range all {
		out = append(out, ParentsJSON(p, x))
	}
	return out
}
