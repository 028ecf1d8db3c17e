package studbook

// link is one bird as parent, or possible parent, of another: indices in
// Colony.Birds.
type link struct {
	chick, parent int32
	side          int32 // 0 sire, 1 dam
}

// lineage is every link between birds of a colony, found by id once for all that
// follow it: those of bird i to its parents are links[start[i]:start[i+1]], in the
// order of its row.
type lineage struct {
	links []link
	start []int32
}

// of returns the links of a bird to its parents.
func (n *lineage) of(i int) []link { return n.links[n.start[i]:n.start[i+1]] }

// parentage returns what is known of the parent on a side.
func (b *Bird) parentage(side int32) *Parentage {
	if side == 0 {
		return &b.Sire
	}
	return &b.Dam
}

// candidate returns the candidate for a parent of whom the bird's link of that number
// tells.
func (b *Bird) candidate(k int) Candidate {
	if k < len(b.Sire.Candidates) {
		return b.Sire.Candidates[k]
	}
	return b.Dam.Candidates[k-len(b.Sire.Candidates)]
}

// nobodyFound is the parent of a link to an id that no bird has.
const nobodyFound = -1

// linksOf finds the links between birds, with one to nobodyFound for a parent that is
// not among them.
func linksOf(birds []Bird, index *register) *lineage {
	n := &lineage{start: make([]int32, len(birds)+1)}
	inRanges(len(birds), func(i int) {
		n.start[i+1] = int32(len(birds[i].Sire.Candidates) + len(birds[i].Dam.Candidates))
	})
	for i := range birds {
		n.start[i+1] += n.start[i]
	}
	n.links = large[link](int(n.start[len(birds)]))
	inRanges(len(birds), func(i int) {
		k := n.start[i]
		for side := range int32(2) {
			for _, c := range birds[i].parentage(side).Candidates {
				n.links[k] = link{int32(i), nobodyFound, side}
				if j, ok := index.find(c.ID); ok {
					n.links[k].parent = int32(j)
				}
				k++
			}
		}
	})
	return n
}

// lineageOf finds the links between birds; a parent that is not among them has
// none.
func lineageOf(birds []Bird, index *register) *lineage {
	n := linksOf(birds, index)
	kept := int32(0)
	for i := range birds {
		of := n.of(i)
		n.start[i] = kept
		for _, l := range of {
			if l.parent != nobodyFound {
				n.links[kept] = l
				kept++
			}
		}
	}
	n.start[len(birds)], n.links = kept, n.links[:kept]
	return n
}

// parentsFirst returns the birds with every parent and candidate before its
// chicks. Birds that are their own ancestors are left out, with all that descend
// from them.
func (n *lineage) parentsFirst() []int32 {
	birds := len(n.start) - 1
	waits := make([]int32, birds) // for so many links to parents
	first := make([]int32, birds+1)
	for _, l := range n.links {
		waits[l.chick]++
		first[l.parent+1]++
	}
	for i := range birds {
		first[i+1] += first[i]
	}
	chicks := make([]int32, len(n.links))
	for k := len(n.links) - 1; k >= 0; k-- {
		l := n.links[k]
		first[l.parent+1]--
		chicks[first[l.parent+1]] = l.chick
	}
	// first[i+1] is now where the chicks of bird i begin, and those of the one
	// before it end.
	order := make([]int32, 0, birds)
	for i := range birds {
		if waits[i] == 0 {
			order = append(order, int32(i))
		}
	}
	for k := 0; k < len(order); k++ {
		end := int32(len(chicks))
		if next := int(order[k]) + 2; next <= birds {
			end = first[next]
		}
		for _, chick := range chicks[first[order[k]+1]:end] {
			if waits[chick]--; waits[chick] == 0 {
				order = append(order, chick)
			}
		}
	}
	return order
}
