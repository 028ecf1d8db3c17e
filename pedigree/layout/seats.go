package layout

import (
	"cmp"
	"slices"
)

// Node is a symbol. A bird has one where it stands with its parents, and
// another wherever it stands beside a mate it could not be joined to.
type Node struct {
	Bird   int     // of those that were given
	X, Y   float64 // of the symbol, from the corner of its family
	width  float64 // of its labels
	lines  int
	chain  *chain
	parent *Union
	unions []*Union
}

// Union is a couple with the symbols that stand for its birds.
type Union struct {
	Couple  *Couple
	a, b    *Node // b is nil for a lone parent
	members [2]*Node
	chicks  []*Node
}

// chain is an item of a row: mates beside each other or, with no nodes, a
// place where a line passes the row.
type chain struct {
	nodes  []*Node
	passes *Union
	row    int
	order  int
	x      float64 // left edge
	width  float64
	offset []float64 // of the nodes' symbols
}

// Family is a connected drawing.
type Family struct {
	Nodes         []*Node
	Unions        []*Union
	X, Y          float64 // on its sheet
	Width, Height float64
	rows          [][]*chain
	crossings     int
	unsorted      int // crossings before rows were put in order
	bus           map[*Union]map[int]float64
}

// seat says that a bird has a symbol of its own in a couple.
type seat struct {
	couple int
	member int // 0 the sire, 1 the dam
}

// Kin reports whether birds in the family are drawn as kin.
func (f *Family) Kin() bool {
	return slices.ContainsFunc(f.Unions, func(u *Union) bool { return len(u.chicks) > 0 })
}

// families lays out the kindred: its connected drawings, the largest first.
// What is too wide is parted until it fits or cannot be parted; ok is false if
// that takes more cuts than allowed.
func (k *Kindred) families(mostCuts int) (families []*Family, ok bool) {
	apart := make(map[seat]bool)
	for {
		families = k.place(apart)
		cut := false
		for _, f := range families {
			if f.fits() {
				continue
			}
			if s, ok := f.cut(k); ok {
				apart[s] = true
				cut = true
			} else {
				f.layout()
			}
		}
		if len(apart) > mostCuts {
			return nil, false
		}
		if cut {
			continue
		}
		k.mark(families)
		return families, true
	}
}

// mark numbers, in the order of the drawing, the birds with several symbols.
func (k *Kindred) mark(families []*Family) {
	k.marks = make(map[int]int)
	for _, f := range families {
		for _, row := range f.rows {
			for _, c := range row {
				for _, n := range c.nodes {
					if _, done := k.marks[n.Bird]; k.several[n.Bird] && !done {
						k.marks[n.Bird] = len(k.marks)
					}
				}
			}
		}
	}
}

func (f *Family) measure(k *Kindred) {
	for _, n := range f.Nodes {
		width, lines := k.text.Label(n.Bird, k.Several(n.Bird))
		n.width, n.lines = max(2*Radius+8, width), lines
	}
}

// place makes the symbols and couples and parts them into families.
func (k *Kindred) place(apart map[seat]bool) []*Family {
	home := make(map[int]*Node)
	var nodes []*Node
	add := func(bird int) *Node {
		n := &Node{Bird: bird}
		n.chain = &chain{nodes: []*Node{n}}
		nodes = append(nodes, n)
		return n
	}
	for _, i := range k.shown {
		home[i] = add(i)
	}
	var unions []*Union
	for ci := range k.couples {
		c := &k.couples[ci]
		u := &Union{Couple: c}
		for _, i := range c.Chicks {
			u.chicks = append(u.chicks, home[i])
			home[i].parent = u
		}
		var own [2]*Node
		for m, i := range [2]int{c.Sire, c.Dam} {
			if i >= 0 && !apart[seat{ci, m}] {
				own[m] = home[i]
			}
		}
		u.join(c, own, add)
		unions = append(unions, u)
	}
	// A bird that stands beside its mates alone needs no place of its own.
	seen := make(map[int]bool)
	for _, n := range nodes {
		if n.parent != nil || len(n.unions) > 0 {
			seen[n.Bird] = true
		}
	}
	nodes = slices.DeleteFunc(nodes, func(n *Node) bool { return n.parent == nil && len(n.unions) == 0 && seen[n.Bird] })
	count := make(map[int]int)
	k.several = make(map[int]bool)
	for _, n := range nodes {
		if count[n.Bird]++; count[n.Bird] > 1 {
			k.several[n.Bird] = true
		}
	}
	families := connected(nodes, unions)
	for _, f := range families {
		f.measure(k)
	}
	return families
}

// join seats a couple: at the places that its birds have, if these can be
// brought side by side, or else with a symbol more for one of them or both.
func (u *Union) join(c *Couple, own [2]*Node, add func(bird int) *Node) {
	if c.Sire < 0 || c.Dam < 0 {
		n, bird, m := own[0], c.Sire, 0
		if c.Sire < 0 {
			n, bird, m = own[1], c.Dam, 1
		}
		if n == nil || u.below(n.chain) {
			n = add(bird)
		}
		u.a, u.members[m] = n, n
		n.unions = append(n.unions, u)
		return
	}
	fits := func(n *Node) bool {
		return n != nil && (n.chain.nodes[0] == n || n.chain.nodes[len(n.chain.nodes)-1] == n) && !u.below(n.chain)
	}
	s, d := own[0], own[1]
	okS, okD := fits(s), fits(d)
	both := okS && okD && s.chain != d.chain && !s.chain.above(d.chain) && !d.chain.above(s.chain)
	switch {
	case both:
	case okD:
		s = add(c.Sire)
	case okS:
		d = add(c.Dam)
	default:
		s, d = add(c.Sire), add(c.Dam)
	}
	left, right := s.chain, d.chain
	if left.nodes[len(left.nodes)-1] != s {
		if right.nodes[len(right.nodes)-1] == d {
			left, right, s, d = right, left, d, s
		} else {
			slices.Reverse(left.nodes)
		}
	}
	if right.nodes[0] != d {
		slices.Reverse(right.nodes)
	}
	for _, n := range right.nodes {
		n.chain = left
	}
	left.nodes = append(left.nodes, right.nodes...)
	u.a, u.b = s, d
	u.members = [2]*Node{s, d}
	if s.Bird != c.Sire {
		u.members = [2]*Node{d, s}
	}
	s.unions = append(s.unions, u)
	d.unions = append(d.unions, u)
}

// below reports whether a chain stands below one of the couple's chicks, so
// that the couple cannot be in it.
func (u *Union) below(c *chain) bool {
	for _, n := range u.chicks {
		if n.chain == c || n.chain.above(c) {
			return true
		}
	}
	return false
}

// above reports whether a chain is a forebear of another.
func (c *chain) above(other *chain) bool {
	seen := map[*chain]bool{c: true}
	queue := []*chain{c}
	for len(queue) > 0 {
		at := queue[0]
		queue = queue[1:]
		for _, n := range at.nodes {
			for _, u := range n.unions {
				for _, chick := range u.chicks {
					if chick.chain == other {
						return true
					}
					if !seen[chick.chain] {
						seen[chick.chain] = true
						queue = append(queue, chick.chain)
					}
				}
			}
		}
	}
	return false
}

// neighbours are the symbols that a symbol is joined to by a line.
func (n *Node) neighbours(visit func(*Node)) {
	if u := n.parent; u != nil {
		visit(u.a)
		for _, c := range u.chicks {
			visit(c)
		}
	}
	for _, u := range n.unions {
		visit(u.a)
		if u.b != nil {
			visit(u.b)
		}
		for _, c := range u.chicks {
			visit(c)
		}
	}
}

// connected parts symbols into families, the largest first.
func connected(nodes []*Node, unions []*Union) []*Family {
	of := make(map[*Node]*Family)
	var out []*Family
	for _, start := range nodes {
		if of[start] != nil {
			continue
		}
		f := &Family{}
		of[start] = f
		stack := []*Node{start}
		for len(stack) > 0 {
			n := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			n.neighbours(func(m *Node) {
				if of[m] == nil {
					of[m] = f
					stack = append(stack, m)
				}
			})
		}
		out = append(out, f)
	}
	for _, n := range nodes {
		of[n].Nodes = append(of[n].Nodes, n)
	}
	for _, u := range unions {
		of[u.a].Unions = append(of[u.a].Unions, u)
	}
	size := func(f *Family) int {
		if !f.Kin() {
			return len(f.Nodes) - len(nodes) // after all others
		}
		return len(f.Nodes)
	}
	slices.SortStableFunc(out, func(a, b *Family) int { return cmp.Compare(size(b), size(a)) })
	return out
}

// cut finds the seat whose loss parts a family most evenly.
func (f *Family) cut(k *Kindred) (best seat, ok bool) {
	most := 0
	for _, u := range f.Unions {
		for m, n := range u.members {
			if n == nil || n.parent == nil && len(n.unions) < 2 {
				continue
			}
			// What stays with the bird when the couple gets a symbol more.
			seen := map[*Node]bool{n: true}
			stack := []*Node{n}
			reached := false
			for len(stack) > 0 {
				at := stack[len(stack)-1]
				stack = stack[:len(stack)-1]
				visit := func(o *Node) {
					if !seen[o] {
						seen[o] = true
						stack = append(stack, o)
					}
				}
				if at == n {
					if p := n.parent; p != nil {
						visit(p.a)
						for _, c := range p.chicks {
							visit(c)
						}
					}
					for _, v := range n.unions {
						if v != u {
							visit(v.a)
							if v.b != nil {
								visit(v.b)
							}
							for _, c := range v.chicks {
								visit(c)
							}
						}
					}
					continue
				}
				at.neighbours(visit)
				if at == u.a || at == u.b {
					reached = true
					break
				}
			}
			side := min(len(seen), len(f.Nodes)-len(seen)+1)
			if reached { // no bridge: better than nothing
				side = 1
			} else if !k.homeOnBothSides(f, n, seen) {
				continue
			}
			if side > most {
				most, ok = side, true
				best = seat{k.coupleIndex(u.Couple), m}
			}
		}
	}
	return best, ok
}

// homeOnBothSides reports whether a family parted at a bird has a bird of the
// colony among those that stay with it and among the others with it.
func (k *Kindred) homeOnBothSides(f *Family, at *Node, stay map[*Node]bool) bool {
	var with, without bool
	for _, n := range f.Nodes {
		if k.birds[n.Bird].Home {
			with = with || stay[n]
			without = without || !stay[n] || n == at
		}
	}
	return with && without
}

func (k *Kindred) coupleIndex(c *Couple) int {
	for i := range k.couples {
		if &k.couples[i] == c {
			return i
		}
	}
	panic("layout: a couple of another kindred")
}
