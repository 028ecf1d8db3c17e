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

// lineageOf finds the links between birds; a parent that is not among them has
// none.
func lineageOf(birds []Bird, index *register) *lineage {
	n := &lineage{links: make([]link, 0, 2*len(birds)), start: make([]int32, 1, len(birds)+1)}
	for i := range birds {
		for side := range int32(2) {
			for _, c := range birds[i].parentage(side).Candidates {
				if j, ok := index.find(c.ID); ok {
					n.links = append(n.links, link{int32(i), int32(j), side})
				}
			}
		}
		n.start = append(n.start, int32(len(n.links)))
	}
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
