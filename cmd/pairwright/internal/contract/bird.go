package contract

import (
	"pairwright/cmd/pairwright/internal/drawing"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// BirdAnswer is the answer of the bird command.
type BirdAnswer struct {
	BirdRow
	// UniquenessSE is the standard error of the row's genome uniqueness, from a gene drop
	// of so many iterations; both null for the dead.
	UniquenessSE *float64 `json:"genome_uniqueness_standard_error"`
	Iterations   *int     `json:"gene_drop_iterations"`

	Sire        ParentAnswer    `json:"sire"`
	Dam         ParentAnswer    `json:"dam"`
	HatchDate   *string         `json:"hatch_date"`
	DeathDate   *string         `json:"death_date"`
	Mates       []BondAnswer    `json:"mates"`
	Chicks      []string        `json:"chicks"`
	Descendants int             `json:"living_descendants"`
	Ancestral   float64         `json:"ancestral_inbreeding"`
	Generations float64         `json:"equivalent_complete_generations"`
	Complete    float64         `json:"completeness_index"`
	Ancestors   *AncestorAnswer `json:"ancestors"`
	InbredFrom  []SourceAnswer  `json:"inbred_through"`
	InbredMore  float64         `json:"inbred_through_others"` // the part of F through those that are not listed
	ClosestKin  []RelativeOf    `json:"closest_kin"`
	BestMates   []MateCandidate `json:"best_mates"`
	MatesNote   *string         `json:"mates_note"`
}

// ParentAnswer is what is known of a parent: "known", "uncertain", "unknown"
// or "wild".
type ParentAnswer struct {
	Standing   string            `json:"standing"`
	Candidates []CandidateAnswer `json:"candidates"`
}

// CandidateAnswer is a bird that is or may be the parent.
type CandidateAnswer struct {
	ID     string  `json:"id"`
	Weight float64 `json:"weight"`
}

// BondAnswer is a pair bond of the bird.
type BondAnswer struct {
	Mate  string  `json:"mate"`
	Since *string `json:"since"`
	Until *string `json:"until"`
	Nest  *string `json:"nest"`
}

// AncestorAnswer is a bird with its parents, four generations up.
type AncestorAnswer struct {
	ID         string          `json:"id"`
	Sex        string          `json:"sex"`
	Inbreeding float64         `json:"inbreeding"`
	Sire       *AncestorAnswer `json:"sire"`
	Dam        *AncestorAnswer `json:"dam"`
}

// SourceAnswer is a common ancestor of the parents with its part of F.
type SourceAnswer struct {
	ID           string  `json:"id"`
	Contribution float64 `json:"contribution"`
}

// RelativeOf is a living relative.
type RelativeOf struct {
	ID      string  `json:"id"`
	Kinship float64 `json:"kinship"`
}

// BirdJSON returns the profile as other programs read it.
func BirdJSON(p *pairing.Programme, x *pairing.Profile) BirdAnswer {
	bird := &p.Book.Birds[x.Bird]
	out := BirdAnswer{
		BirdRow: birdRow(p, &x.Row), UniquenessSE: uniquenessSE(&x.Row), Iterations: known(x.Drop.Iterations, x.Alive), Sire: parentAnswer(bird.Sire), Dam: parentAnswer(bird.Dam),
		HatchDate: text(bird.Hatch.Text), DeathDate: text(bird.Death.Text), Descendants: x.Descendants,
		Ancestral: x.AncestralInbreeding, Generations: x.Generations, Complete: x.Completeness,
		Mates: []BondAnswer{}, Chicks: []string{}, InbredFrom: []SourceAnswer{}, InbredMore: x.InbredThroughOthers, ClosestKin: []RelativeOf{},
		Ancestors: ancestorAnswer(p, bird, drawing.Generations), BestMates: []MateCandidate{}, MatesNote: text(report.NoMateText(x.NoMate)),
	}
	for _, b := range x.Bonds {
		out.Mates = append(out.Mates, BondAnswer{report.MateID(b, bird.ID), text(b.Since.Text), text(b.Until.Text), text(b.Nest)})
	}
	for _, c := range x.Chicks {
		out.Chicks = append(out.Chicks, p.Book.Birds[c].ID)
	}
	for _, m := range x.InbredThrough {
		out.InbredFrom = append(out.InbredFrom, SourceAnswer{p.Pedigree.Name(m.Ancestor), m.Contribution})
	}
	for _, k := range x.Closest {
		out.ClosestKin = append(out.ClosestKin, RelativeOf{p.Book.Birds[k.Bird].ID, k.Kinship})
	}
	if x.Best != nil {
		out.BestMates, out.MatesNote = Candidates(p, x.Best, report.BestMatesShown), text(report.DecisionText(p, x.Best))
	}
	return out
}

func parentAnswer(is studbook.Parentage) ParentAnswer {
	out := ParentAnswer{Standing: "uncertain", Candidates: []CandidateAnswer{}}
	for _, c := range is.Candidates {
		out.Candidates = append(out.Candidates, CandidateAnswer(c))
	}
	_, known := is.Known()
	switch {
	case known:
		out.Standing = "known"
	case is.Wild:
		out.Standing = "wild"
	case is.Unknown():
		out.Standing = "unknown"
	}
	return out
}

func ancestorAnswer(p *pairing.Programme, bird *studbook.Bird, generations int) *AncestorAnswer {
	node, _ := p.Pedigree.Index(bird.ID)
	out := &AncestorAnswer{ID: bird.ID, Sex: bird.Sex.String(), Inbreeding: p.Pedigree.F(node)}
	if generations == 0 {
		return out
	}
	if id, ok := bird.Sire.Known(); ok {
		out.Sire = ancestorAnswer(p, p.Book.Bird(id), generations-1)
	}
	if id, ok := bird.Dam.Known(); ok {
		out.Dam = ancestorAnswer(p, p.Book.Bird(id), generations-1)
	}
	return out
}
