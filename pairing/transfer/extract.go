package transfer

import (
	"cmp"
	"slices"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// Extract returns, as a studbook of their own, the birds that travel, the bird asked about, and all their
// ancestors that have a row in the studbook, as they stand on the day, by id.
// Every bird that may be a parent counts as one. With them comes what is known
// of kinship among their founders, on which their F rests too.
func (c *Case) Extract(p *pairing.Programme) *studbook.Colony {
	pending := []int{c.Bird}
	for _, m := range c.Best.Moves {
		pending = append(pending, m.Bird)
	}
	seen := map[int]bool{}
	whole := p.Book.Colony
	out := &studbook.Colony{Source: whole.Source, HasLocation: whole.HasLocation, HasOrigin: whole.HasOrigin}
	for len(pending) > 0 {
		b := pending[len(pending)-1]
		pending = pending[:len(pending)-1]
		if seen[b] {
			continue
		}
		seen[b] = true
		bird := p.Book.Birds[b]
		if bird.Recorded {
			out.Birds = append(out.Birds, bird)
		}
		for _, parent := range slices.Concat(bird.Sire.Candidates, bird.Dam.Candidates) {
			if k, ok := p.Book.Index(parent.ID); ok {
				pending = append(pending, k)
			}
		}
	}
	slices.SortFunc(out.Birds, func(a, b studbook.Bird) int { return cmp.Compare(a.ID, b.ID) })
	for _, k := range whole.FounderKinship {
		one, ok1 := p.Book.Index(k.ID1)
		other, ok2 := p.Book.Index(k.ID2)
		if ok1 && ok2 && seen[one] && seen[other] {
			out.FounderKinship = append(out.FounderKinship, k)
		}
	}
	return out
}
