package pairing

import (
	"context"
	"errors"
	"slices"

	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// possiblePedigree returns the pedigree from which possible pedigrees are drawn:
// that of the programme, with every captive parent that is not known as one of
// the birds that could have been it, all with the same chance. Chicks of one
// clutch share the draw; see pedigree.Pedigree.Sample. A parent that nobody on
// record can have been stays an unrelated bird of its own, and so do all where
// hatch dates that are not known would let a bird descend from itself.
func (p *Programme) possiblePedigree(ctx context.Context) (*pedigree.Pedigree, error) {
	gaps := p.Gaps()
	if len(gaps) == 0 {
		return p.Pedigree, nil
	}
	birds := slices.Clone(p.Book.Birds)
	related := map[string]bool{} // founders whose kinship is given stay founders
	known := foundersOn(p.Book)
	for _, k := range known {
		related[k.ID1], related[k.ID2] = true, true
	}
	filled := false
	for _, g := range gaps {
		bird := &birds[g.Bird]
		if related[bird.ID] {
			continue
		}
		side := &bird.Dam
		if g.Sex == studbook.Male {
			side = &bird.Sire
		}
		rest := 1.0
		for _, c := range side.Candidates {
			rest -= c.Weight
		}
		others := slices.DeleteFunc(slices.Clone(g.Possible), func(id string) bool { return slices.Contains(g.Named, id) })
		if rest < 1e-9 || len(others) == 0 {
			continue
		}
		side.Candidates = slices.Clone(side.Candidates)
		for _, id := range others {
			side.Candidates = append(side.Candidates, studbook.Candidate{ID: id, Weight: rest / float64(len(others))})
		}
		filled = true
	}
	if !filled {
		return p.Pedigree, nil
	}
	ped, err := pedigree.New(ctx, birds, known)
	var loop *pedigree.CycleError
	if errors.As(err, &loop) {
		return p.Pedigree, nil
	}
	return ped, err
}
