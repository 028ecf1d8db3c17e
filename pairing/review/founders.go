package review

import (
	"cmp"
	"slices"

	"pairwright/pairing"
	"pairwright/pedigree"
)

// Founder is what is left of a founder's genes in the programme.
type Founder struct {
	Node  int
	Bird  int  // in the snapshot; -1 for an unknown parent
	Alive bool // the founder itself lives

	Contribution float64 // share of the programme's genes, in 0..1
	Colony       float64 // share of the colony's
	pedigree.FounderDrop

	Descendants int // living ones
	// Carriers are the living birds that have any of its genes, itself
	// included, by id, where they are one or two; nil where they are more.
	Carriers []int
}

// aboutLost is the number of living birds at or below which a founder's line hangs
// by them.
const aboutLost = 2

// AboutToBeLost reports whether the line hangs by one or two birds.
func (f *Founder) AboutToBeLost() bool { return len(f.Carriers) > 0 }

// founders returns every founder with genes left in the programme, the
// largest contribution first, then by node, and how many have none left.
func founders(p *pairing.Programme, colony *pedigree.Population, drop *pedigree.DropResult) (list []Founder, lost int) {
	share, here := p.Living.Contributions(), colony.Contributions()
	var nodes []int
	for node := range share {
		if share[node] == 0 {
			lost++
			continue
		}
		nodes = append(nodes, node)
	}
	descendants := p.Living.Descendants(nodes)
	thin := map[int]*Founder{}
	list = make([]Founder, len(nodes))
	for k, node := range nodes {
		f := &list[k]
		*f = Founder{
			Node: node, Bird: -1, Contribution: share[node], Colony: here[node],
			FounderDrop: drop.Founders[node], Descendants: descendants[k],
		}
		if p.Pedigree.Kind(node) == pedigree.Bird {
			f.Bird, _ = p.Book.Index(p.Pedigree.Name(node))
			f.Alive = p.Book.Alive(f.Bird)
		}
		if f.carriers() <= aboutLost {
			thin[node] = f
		}
	}
	if len(thin) > 0 {
		findCarriers(p, thin)
	}
	slices.SortStableFunc(list, func(a, b Founder) int { return cmp.Compare(b.Contribution, a.Contribution) })
	return list, lost
}

// findCarriers goes down from founders, given by node, to the living birds that descend
// from each: their lines are thin, so that is a short way.
func findCarriers(p *pairing.Programme, of map[int]*Founder) {
	ped := p.Pedigree
	chicks := make([][]int, ped.Len())
	for node := range chicks {
		if sire, dam, ok := ped.Parents(node); ok {
			chicks[sire], chicks[dam] = append(chicks[sire], node), append(chicks[dam], node)
		}
		candidates, _ := ped.Candidates(node)
		for _, c := range candidates {
			chicks[c] = append(chicks[c], node)
		}
	}
	bird := make(map[int]int, len(p.Book.Living))
	for _, b := range p.Book.Living {
		bird[p.Node(b)] = b
	}
	for founder, f := range of {
		seen, line := map[int]bool{founder: true}, []int{founder}
		for k := 0; k < len(line); k++ {
			if b, lives := bird[line[k]]; lives {
				f.Carriers = append(f.Carriers, b)
			}
			for _, c := range chicks[line[k]] {
				if !seen[c] {
					seen[c] = true
					line = append(line, c)
				}
			}
		}
		slices.Sort(f.Carriers)
	}
}

func (f *Founder) carriers() int {
	if f.Alive {
		return f.Descendants + 1
	}
	return f.Descendants
}
