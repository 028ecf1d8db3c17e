package pairing

import (
	"cmp"
	"slices"

	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// Gap is a parent that is not known, or not for certain.
type Gap struct {
	Bird int          // the chick, in the snapshot
	Sex  studbook.Sex // Male: its sire, Female: its dam
	// Share is the part of the living birds' genes that flows through the
	// parent, in 0..1.
	Share float64
	// Named are the birds that the studbook names as possible parents.
	Named []string
	// Possible are the birds that could have been the parent, by id: of the
	// right sex, alive and of breeding age when the chick hatched, and in the
	// same place. Empty where the hatch date is not known.
	Possible []string
}

// Gaps returns the gaps in parentage through which any of the living birds'
// genes flow, largest share first, then by id, sire before dam. A wild parent
// is no gap, nor are the parents of a bird of wild origin; where the studbook
// has no origin column its founders are taken to be wild.
func (p *Programme) Gaps() []Gap { return p.gaps(p.Living) }

// GapsBehind returns the gaps in the parentage of one bird and its ancestors
// like Gaps; their shares are of the bird's own genes.
func (p *Programme) GapsBehind(b int) []Gap { return p.gaps(p.Population([]int{b})) }

func (p *Programme) gaps(of *pedigree.Population) []Gap {
	flow := of.GeneFlow()
	var gaps []Gap
	for b := range p.Book.Birds {
		bird := &p.Book.Birds[b]
		founder := bird.Founder()
		if founder && (bird.Origin == studbook.OriginWild || !p.Book.Colony.HasOrigin) {
			continue
		}
		for _, side := range []struct {
			sex studbook.Sex
			is  studbook.Parentage
		}{{studbook.Male, bird.Sire}, {studbook.Female, bird.Dam}} {
			if _, known := side.is.Known(); known || side.is.Wild {
				continue
			}
			// Half of the bird's genes came from this parent, and all that
			// passes through the bird passed through its parents.
			g := Gap{Bird: b, Sex: side.sex, Share: flow[p.node[b]] / 2}
			if g.Share == 0 {
				continue
			}
			for _, c := range side.is.Candidates {
				g.Named = append(g.Named, c.ID)
			}
			gaps = append(gaps, g)
		}
	}
	slices.SortFunc(gaps, func(a, b Gap) int {
		return cmp.Or(cmp.Compare(b.Share, a.Share), cmp.Compare(a.Bird, b.Bird), cmp.Compare(b.Sex, a.Sex))
	})
	p.findParents(gaps)
	return gaps
}

// adult is a bird that may have been a parent.
type adult struct {
	*studbook.Bird
	hatched, died studbook.Day // died is 0 for a living bird
}

// findParents fills Possible.
func (p *Programme) findParents(gaps []Gap) {
	places := p.Book.Colony.Places()
	// The birds as the files have them: the snapshot's location is of its day.
	onFile := make(map[string]*studbook.Bird, len(p.Book.Colony.Birds))
	for i := range p.Book.Colony.Birds {
		onFile[p.Book.Colony.Birds[i].ID] = &p.Book.Colony.Birds[i]
	}
	adults := map[studbook.Sex][]adult{}
	for b := range p.Book.Birds {
		if bird := &p.Book.Birds[b]; bird.Recorded && bird.Hatch.Known() {
			adults[bird.Sex] = append(adults[bird.Sex], adult{onFile[bird.ID], bird.Hatch.Mid(), bird.Death.Last})
		}
	}
	for k := range gaps {
		g := &gaps[k]
		chick := &p.Book.Birds[g.Bird]
		if !chick.Hatch.Known() {
			continue
		}
		day := chick.Hatch.Mid()
		at := places.On(onFile[chick.ID], day)
		ages := p.Ages.Of(g.Sex)
		for _, a := range adults[g.Sex] {
			age := float64(day-a.hatched) / studbook.DaysPerYear
			if age < ages.First || ages.Last > 0 && age > ages.Last {
				continue
			}
			if a.died != 0 && a.died < chick.Hatch.First || places.On(a.Bird, day) != at {
				continue
			}
			g.Possible = append(g.Possible, a.ID)
		}
	}
}
