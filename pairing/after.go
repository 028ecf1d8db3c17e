package pairing

import (
	"context"
	"fmt"
	"slices"

	"pairwright/pedigree/studbook"
)

// After returns the programme as it is once a plan of p has gone ahead: every
// planned chick is a living bird of unknown sex, hatched on the day where its
// parents are then; birds have moved, new pairs are bonded and the bonds that
// the plan parts have ended. Breeding ages stay those of p. Indices of birds
// in the snapshot differ from p's: go by id.
func (p *Programme) After(ctx context.Context, plan *Plan) (*Programme, error) {
	today := studbook.Date{First: p.Book.AsOf, Last: p.Book.AsOf, Text: p.Book.AsOf.String()}
	colony := *p.Book.Colony
	colony.Birds = slices.Clone(colony.Birds)
	colony.Moves = slices.Clone(colony.Moves)
	colony.Bonds = slices.Clone(colony.Bonds)
	for _, pair := range plan.Pairs {
		female, male := p.Book.Birds[pair.Female].ID, p.Book.Birds[pair.Male].ID
		for k := range pair.Chicks {
			colony.Birds = append(colony.Birds, studbook.Bird{
				ID: p.newID(fmt.Sprintf("planned chick %d of %s and %s", k+1, female, male)), Sex: studbook.Unsexed,
				Sire:  studbook.Parentage{Candidates: []studbook.Candidate{{ID: male, Weight: 1}}},
				Dam:   studbook.Parentage{Candidates: []studbook.Candidate{{ID: female, Weight: 1}}},
				Hatch: today, Location: pair.Place, Origin: studbook.OriginCaptive, Recorded: true,
			})
		}
		if m := pair.Move; m != nil {
			colony.Moves = append(colony.Moves, studbook.Move{ID: p.Book.Birds[m.Bird].ID, Date: today, From: m.From, To: m.To, Reason: "planned"})
		}
		if pair.KeepsBond {
			continue
		}
		for k := range colony.Bonds {
			bond := &colony.Bonds[k]
			if !bond.Until.OnOrBefore(p.Book.AsOf) && (bond.Female == female || bond.Male == male) {
				bond.Until, bond.EndedBy = today, "planned"
			}
		}
		colony.Bonds = append(colony.Bonds, studbook.Bond{Female: female, Male: male, Since: today})
	}
	q, err := New(ctx, colony.At(p.Book.AsOf))
	if err != nil {
		return nil, err
	}
	q.Ages = p.Ages
	q.success = newSuccesses(q)
	return q, nil
}

// newID returns the id, or one made from it that no bird has.
func (p *Programme) newID(id string) string {
	for slices.ContainsFunc(p.Book.Colony.Birds, func(b studbook.Bird) bool { return b.ID == id }) {
		id += "'"
	}
	return id
}
