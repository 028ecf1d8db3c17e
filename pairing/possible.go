package pairing

import (
	"context"
	"errors"
	"slices"

	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// possiblePedigree returns the pedigree, and the node of each bird of the snapshot in
// it, from which possible pedigrees are drawn:
// that of the programme, with every captive parent that is not known as one of
// the birds that could have been it, all with the same chance. Chicks of one
// clutch share the draw; see pedigree.Pedigree.Sample. A parent that nobody on
// record can have been stays an unrelated bird of its own, and so do all where
// hatch dates that are not known would let a bird descend from itself.
func (p *Programme) possiblePedigree(ctx context.Context) (*pedigree.Pedigree, []int, error) {
	gaps := p.Gaps()
	if len(gaps) == 0 {
		return p.Pedigree, p.node, nil
	}
	filled := map[int]*studbook.Bird{}
	related := map[string]bool{} // founders whose kinship is given stay founders
	known := foundersOn(p.Book)
	for _, k := range known {
		related[k.ID1], related[k.ID2] = true, true
	}
	for _, g := range gaps {
		bird := filled[g.Bird]
		if bird == nil {
			bird = new(studbook.Bird)
			*bird = p.Book.Birds[g.Bird]
		}
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
		filled[g.Bird] = bird
	}
	if len(filled) == 0 {
		return p.Pedigree, p.node, nil
	}
	row := func(b int) *studbook.Bird {
		if bird := filled[b]; bird != nil {
			return bird
		}
		return &p.Book.Birds[b]
	}
	within := withAncestors(p.Book, p.within, row)
	birds := make([]*studbook.Bird, len(within))
	for k, b := range within {
		birds[k] = row(b)
	}
	ped, err := pedigree.Of(ctx, birds, known)
	var loop *pedigree.CycleError
	if errors.As(err, &loop) {
		return p.Pedigree, p.node, nil
	}
	if err != nil {
		return nil, nil, err
	}
	return ped, p.nodesIn(ped, within), nil
}
