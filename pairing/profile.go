package pairing

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// Profile is all there is to say of one bird.
type Profile struct {
	Row
	Drop     pedigree.Drop     // that Uniqueness of the row comes from; zero for a bird without a row
	Bonds    []studbook.Bond   // present and past, in time
	Chicks   []int             // by hatch date, then id; of an uncertain parent every possible chick
	Clutches []studbook.Clutch // in time
	Moves    []studbook.Move   // until the day, in time
	Closest  []Relative        // living kin, the closest first
	// How deep its pedigree is known, and whether its ancestors were inbred:
	// equivalent complete generations, the completeness index over
	// pedigree.DefaultDepth generations, ancestral inbreeding.
	Generations, Completeness, AncestralInbreeding float64
	// InbredThrough splits F by the common ancestors of the parents; empty
	// for a bird that is not inbred. InbredThroughOthers is the part of F through
	// ancestors that are not among them: 0 but where there are thousands.
	InbredThrough       []pedigree.Meeting
	InbredThroughOthers float64
	// Best ranks its mates; nil for a bird that can have none, and then
	// NoMate says why.
	Best   *Ranking
	NoMate *NoMateError
}

// Relative is a living bird with its kinship.
type Relative struct {
	Bird    int
	Kinship float64
}

// closestListed is how many relatives a profile lists.
const closestListed = 10

// Profile gathers what there is to say of a bird.
func (r *Ranker) Profile(ctx context.Context, b int, drop pedigree.Drop) (*Profile, error) {
	p := r.p
	bird := &p.Book.Birds[b]
	out := &Profile{Row: Row{Bird: b, Inbreeding: p.Pedigree.F(p.node[b])}}
	if bird.Recorded {
		result, err := p.Living.GeneDrop(ctx, drop)
		if err != nil {
			return nil, err
		}
		out.Row, out.Drop = p.rowsOf(result, []int{b})[0], result.Drop
	}
	node := p.node[b]
	out.Generations = p.Pedigree.EquivalentGenerations()[node]
	out.Completeness = p.Pedigree.CompletenessIndex(pedigree.DefaultDepth)[node]
	out.AncestralInbreeding = p.Pedigree.AncestralInbreeding()[node]
	for _, x := range p.Book.Bonds {
		if x.Female == bird.ID || x.Male == bird.ID {
			out.Bonds = append(out.Bonds, x)
		}
	}
	for _, x := range p.Book.Clutches {
		if x.Female == bird.ID || x.Male == bird.ID {
			out.Clutches = append(out.Clutches, x)
		}
	}
	slices.SortStableFunc(out.Bonds, func(x, y studbook.Bond) int { return cmp.Compare(x.Since.Mid(), y.Since.Mid()) })
	slices.SortStableFunc(out.Clutches, func(x, y studbook.Clutch) int { return cmp.Compare(x.Laid.Mid(), y.Laid.Mid()) })
	out.Moves = p.Book.MovesOf(bird.ID)
	out.Chicks = p.chicks(b)
	out.Closest = p.closest(b)
	if sire, dam, ok := p.Pedigree.Parents(p.node[b]); ok && out.Inbreeding > 0 {
		out.InbredThrough, out.InbredThroughOthers = p.Pedigree.Meetings(sire, dam, 0)
	}
	best, err := r.Rank(ctx, b)
	if err != nil && !errors.As(err, &out.NoMate) {
		return nil, err
	}
	out.Best = best
	return out, nil
}

func (p *Programme) chicks(of int) []int {
	id := p.Book.Birds[of].ID
	named := func(x studbook.Parentage) bool {
		return slices.ContainsFunc(x.Candidates, func(c studbook.Candidate) bool { return c.ID == id })
	}
	var chicks []int
	for b := range p.Book.Birds {
		sire, dam := p.Book.Parents(b)
		if sire == of || dam == of || sire < 0 && named(p.Book.Birds[b].Sire) || dam < 0 && named(p.Book.Birds[b].Dam) {
			chicks = append(chicks, b)
		}
	}
	slices.SortStableFunc(chicks, func(x, y int) int {
		return cmp.Compare(p.Book.Birds[x].Hatch.Mid(), p.Book.Birds[y].Hatch.Mid())
	})
	return chicks
}

func (p *Programme) closest(b int) []Relative {
	kinships := p.Pedigree.Kinships(p.node[b])
	var kin []Relative
	for _, x := range p.Book.Living {
		if f := kinships[p.node[x]]; x != b && f > 0 {
			kin = append(kin, Relative{x, f})
		}
	}
	slices.SortFunc(kin, func(x, y Relative) int {
		return cmp.Or(cmp.Compare(y.Kinship, x.Kinship), cmp.Compare(x.Bird, y.Bird))
	})
	return kin[:min(closestListed, len(kin))]
}
