package transfer

import (
	"slices"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// Extract returns, as a studbook of their own, the birds that travel, the bird asked about,
// and all their ancestors that have a row in the studbook, as they stand on the day, by id.
// Every bird that may be a parent counts as one. With them comes what is known of kinship
// among their founders, on which their F rests too.
func (c *Case) Extract(p *pairing.Programme) *studbook.Colony {
	travel := []int{c.Bird}
	for _, m := range c.Best.Moves {
		travel = append(travel, m.Bird)
	}
	birds := p.WithAncestors(travel...)
	whole := p.Book.Colony
	out := &studbook.Colony{Source: whole.Source, HasLocation: whole.HasLocation, HasOrigin: whole.HasOrigin}
	for _, b := range birds { // those of a snapshot are by id
		if bird := p.Book.Birds[b]; bird.Recorded {
			out.Birds = append(out.Birds, bird)
		}
	}
	among := func(id string) bool {
		b, known := p.Book.Index(id)
		_, in := slices.BinarySearch(birds, b)
		return known && in
	}
	for _, k := range whole.FounderKinship {
		if among(k.ID1) && among(k.ID2) {
			out.FounderKinship = append(out.FounderKinship, k)
		}
	}
	return out
}
