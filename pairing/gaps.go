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

	place string // where the chick hatched, as far as Possible was looked for
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
	for _, b := range p.within {
		for _, g := range p.gapsOf(b) {
			// Half of the bird's genes came from this parent, and all that
			// passes through the bird passed through its parents.
			if g.Share = flow[p.node[b]] / 2; g.Share > 0 {
				gaps = append(gaps, g)
			}
		}
	}
	slices.SortFunc(gaps, func(a, b Gap) int {
		return cmp.Or(cmp.Compare(b.Share, a.Share), cmp.Compare(a.Bird, b.Bird), cmp.Compare(b.Sex, a.Sex))
	})
	p.findParents(gaps)
	return gaps
}

// gapsOf returns the gaps in the parentage of one bird, sire before dam, without
// their share and who could fill them.
func (p *Programme) gapsOf(b int) []Gap {
	bird := &p.Book.Birds[b]
	if bird.Founder() && (bird.Origin == studbook.OriginWild || !p.Book.Colony.HasOrigin) {
		return nil
	}
	var gaps []Gap
	for _, side := range []struct {
		sex studbook.Sex
		is  studbook.Parentage
	}{{studbook.Male, bird.Sire}, {studbook.Female, bird.Dam}} {
		if _, known := side.is.Known(); known || side.is.Wild {
			continue
		}
		g := Gap{Bird: b, Sex: side.sex}
		for _, c := range side.is.Candidates {
			g.Named = append(g.Named, c.ID)
		}
		gaps = append(gaps, g)
	}
	return gaps
}

// findParents fills Possible.
func (p *Programme) findParents(gaps []Gap) {
	if len(gaps) == 0 {
		return
	}
	lives := make([]studbook.Life, len(p.Book.Birds))
	adults := map[studbook.Sex][]int{}
	for b := range p.Book.Birds {
		bird := &p.Book.Birds[b]
		lives[b] = p.Book.Life(b)
		if bird.Recorded && bird.Hatch.Known() {
			adults[bird.Sex] = append(adults[bird.Sex], b)
		}
	}
	for k := range gaps {
		g := &gaps[k]
		chick := &p.Book.Birds[g.Bird]
		if !chick.Hatch.Known() {
			continue
		}
		day := chick.Hatch.Mid()
		at, _ := lives[g.Bird].On(day)
		g.place = at
		ages := p.Ages.Of(g.Sex)
		for _, b := range adults[g.Sex] {
			a := &p.Book.Birds[b]
			age := float64(day-a.Hatch.Mid()) / studbook.DaysPerYear
			if age < ages.First || ages.Last > 0 && age > ages.Last {
				continue
			}
			if a.Death.Known() && a.Death.Last < chick.Hatch.First {
				continue
			}
			// A bird that had died some days before was there all the same.
			l := &lives[b]
			where, lived := l.On(day)
			if first := l.Stays[0]; l.CameIn && !l.Arrived && day < first.From {
				where, lived = first.Place, true // nothing says that it was not there yet
			}
			if where != at || !lived && !a.Death.Known() {
				continue
			}
			g.Possible = append(g.Possible, a.ID)
		}
	}
}
