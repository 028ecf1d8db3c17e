package transfer

import (
	"cmp"
	"slices"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// Extract returns the birds that travel, the bird asked about, and all their
// ancestors that have a row in the studbook, as they stand on the day, by id.
// Every bird that may be a parent counts as one.
func (c *Case) Extract(p *pairing.Programme) []studbook.Bird {
	pending := []int{c.Bird}
	for _, m := range c.Best.Moves {
		pending = append(pending, m.Bird)
	}
	seen := map[int]bool{}
	var out []studbook.Bird
	for len(pending) > 0 {
		b := pending[len(pending)-1]
		pending = pending[:len(pending)-1]
		if seen[b] {
			continue
		}
		seen[b] = true
		bird := p.Book.Birds[b]
		if bird.Recorded {
			out = append(out, bird)
		}
		for _, parent := range slices.Concat(bird.Sire.Candidates, bird.Dam.Candidates) {
			if k, ok := p.Book.Index(parent.ID); ok {
				pending = append(pending, k)
			}
		}
	}
	slices.SortFunc(out, func(a, b studbook.Bird) int { return cmp.Compare(a.ID, b.ID) })
	return out
}
