package pairing

import (
	"cmp"
	"math"
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
	// Possible are the birds that could have been the parent, in the snapshot: of the
	// right sex, alive and of breeding age when the chick hatched, and in the
	// same place. Empty where the hatch date is not known. There may be thousands for each
	// of thousands of gaps, so they are kept as numbers.
	Possible []int32
	// DNA is what the genotypes say of the parent; nil where the bird was not typed.
	DNA *ParentSide

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
	p.testGaps(gaps)
	return gaps
}

// TakenWild returns the birds through which genes of the living birds flow, of which no
// parent is on record and of which nothing says that they are wild: without an origin column
// they are taken to be, and their parents are no gaps. It is nil where there is one.
func (p *Programme) TakenWild() []int {
	if p.Book.Colony.HasOrigin {
		return nil
	}
	flow := p.Living.GeneFlow()
	var taken []int
	for _, b := range p.within {
		if bird := &p.Book.Birds[b]; bird.Recorded && bird.Founder() && !(bird.Sire.Wild && bird.Dam.Wild) && flow[p.node[b]] > 0 {
			taken = append(taken, b)
		}
	}
	return taken
}

// gapsOf returns the gaps in the parentage of one bird, sire before dam, without
// their share and who could fill them.
func (p *Programme) gapsOf(b int) []Gap {
	bird := &p.Book.Birds[b]
	if bird.Founder() && (bird.Origin == studbook.OriginWild || !p.Book.Colony.HasOrigin && bird.Recorded) {
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

// Others are the possible parents that the studbook does not name, by id, the first most
// of them, and how many more there are; a most of 0 has all.
func (p *Programme) Others(g *Gap, most int) (ids []string, more int) {
	for k, b := range g.Possible {
		if most > 0 && len(ids) == most {
			more = len(g.Possible) - k
			for _, id := range g.Named {
				if i, there := p.Book.Index(id); there {
					if _, again := slices.BinarySearch(g.Possible[k:], int32(i)); again {
						more--
					}
				}
			}
			break
		}
		if id := p.Book.Birds[b].ID; !slices.Contains(g.Named, id) {
			ids = append(ids, id)
		}
	}
	return ids, more
}

// presence is a bird at a place where it could have been a parent: from a day on, and
// until another, or until its death where that is known. Those of a place stand side by
// side, as every gap there looks at them.
type presence struct {
	hatch, death studbook.Day
	from         studbook.Day
	to           studbook.Day
	bird         int32
	moved        bool // its life says when it was there
}

// presences are the adults of each sex who were ever at a place, the eldest first; at the
// place "" those who were nowhere for a time.
func (p *Programme) presences(lives []studbook.Life) map[presenceKey][]presence {
	birds := p.Book.Birds
	all := map[presenceKey][]presence{}
	for b := range birds {
		bird, l := &birds[b], &lives[b]
		if !bird.Recorded || !bird.Hatch.Known() {
			continue
		}
		first := l.Stays[0]
		x := presence{hatch: bird.Hatch.Mid(), from: first.From, to: first.To, death: math.MaxInt32, bird: int32(b), moved: len(l.Stays) > 1}
		if bird.Death.Known() { // a bird that had died some days before was there all the same
			x.to, x.death = math.MaxInt32, bird.Death.Last
		}
		add := func(place string, x presence) {
			of := presenceKey{bird.Sex, place}
			if list := all[of]; len(list) == 0 || list[len(list)-1].bird != x.bird {
				all[of] = append(list, x)
			}
		}
		for _, s := range l.Stays {
			add(s.Place, x)
		}
		if x.from > x.hatch {
			x.moved = true
			add("", x)
		}
	}
	for _, list := range all {
		slices.SortFunc(list, func(a, b presence) int { return cmp.Or(cmp.Compare(a.hatch, b.hatch), cmp.Compare(a.bird, b.bird)) })
	}
	return all
}

type presenceKey struct {
	sex   studbook.Sex
	place string
}

// findParents fills Possible.
func (p *Programme) findParents(gaps []Gap) {
	if len(gaps) == 0 {
		return
	}
	lives := make([]studbook.Life, len(p.Book.Birds))
	for b := range lives {
		lives[b] = p.Book.Life(b)
	}
	adults := p.presences(lives)
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
		age := func(x *presence) float64 { return float64(day-x.hatch) / studbook.DaysPerYear }
		list := adults[presenceKey{g.Sex, at}]
		if ages.Last > 0 {
			from, _ := slices.BinarySearchFunc(list, ages.Last, func(x presence, last float64) int { return cmp.Compare(last, age(&x)) })
			list = list[from:]
		}
		for i := range list {
			x := &list[i]
			if age(x) < ages.First {
				break
			}
			if x.death < chick.Hatch.First {
				continue
			}
			if x.moved {
				where, lived := lives[x.bird].On(day)
				if where != at || !lived && x.death == math.MaxInt32 {
					continue
				}
			} else if day < x.from || day >= x.to {
				continue
			}
			g.Possible = append(g.Possible, x.bird)
		}
		slices.Sort(g.Possible)
	}
}
