package drawing

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"pairwright/cmd/pairwright/internal/svg"
)

// The layout of a pedigree follows Sugiyama, Tagawa & Toda 1981 (IEEE Trans
// Syst Man Cybern 11:109): birds are set into rows by generation, rows are put
// in order by the barycentres of their neighbours, and then places are found.
// What stands in a row is a chain: birds that are mates, each beside the next.

// kinNode is a symbol. A bird has one where it stands with its parents, and
// another wherever it stands beside a mate it could not be joined to.
type kinNode struct {
	bird   int
	x, y   float64 // of the symbol, from the corner of its family
	width  float64 // of its labels
	lines  int
	chain  *chain
	parent *union
	unions []*union
}

// union is a couple with the symbols that stand for its birds.
type union struct {
	couple  *couple
	a, b    *kinNode // b is nil for a lone parent
	members [2]*kinNode
	chicks  []*kinNode
}

// chain is an item of a row: mates beside each other or, with no nodes, a
// place where a line passes the row.
type chain struct {
	nodes  []*kinNode
	passes *union
	row    int
	order  int
	x      float64 // left edge
	width  float64
	offset []float64 // of the nodes' symbols
}

// family is a connected drawing.
type family struct {
	nodes         []*kinNode
	unions        []*union
	rows          [][]*chain
	x, y          float64 // on its part
	width, height float64
	crossings     int
	unsorted      int // crossings before rows were put in order
	bus           map[*union]map[int]float64
}

// seat says that a bird has a symbol of its own in a couple.
type seat struct {
	couple int
	member int // 0 the sire, 1 the dam
}

// kin reports whether birds in the family are drawn as kin.
func (f *family) kin() bool {
	return slices.ContainsFunc(f.unions, func(u *union) bool { return len(u.chicks) > 0 })
}

// families lays out the kindred: its connected drawings, the largest first.
// What is too wide is parted until it fits or cannot be parted; ok is false if
// that takes more cuts than allowed.
func (k *kindred) families(mostCuts int) (families []*family, ok bool) {
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
		k.letter(families)
		return families, true
	}
}

// letter gives letters, in the order of the drawing, to the birds with several
// symbols.
func (k *kindred) letter(families []*family) {
	k.marks = make(map[int]string)
	for _, f := range families {
		for _, row := range f.rows {
			for _, c := range row {
				for _, n := range c.nodes {
					if k.several[n.bird] && k.marks[n.bird] == "" {
						k.marks[n.bird] = letter(len(k.marks))
					}
				}
			}
		}
	}
}

func (f *family) measure(k *kindred) {
	for _, n := range f.nodes {
		c := k.captions[n.bird]
		n.width, n.lines = max(2*kinRadius+8, c.width), len(c.lines)
	}
}

// place makes the symbols and couples and parts them into families.
func (k *kindred) place(apart map[seat]bool) []*family {
	home := make(map[int]*kinNode)
	var nodes []*kinNode
	add := func(bird int) *kinNode {
		n := &kinNode{bird: bird}
		n.chain = &chain{nodes: []*kinNode{n}}
		nodes = append(nodes, n)
		return n
	}
	for _, i := range k.shown {
		home[i] = add(i)
	}
	var unions []*union
	for ci := range k.couples {
		c := &k.couples[ci]
		u := &union{couple: c}
		for _, i := range c.chicks {
			u.chicks = append(u.chicks, home[i])
			home[i].parent = u
		}
		var own [2]*kinNode
		for m, i := range [2]int{c.sire, c.dam} {
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
			seen[n.bird] = true
		}
	}
	nodes = slices.DeleteFunc(nodes, func(n *kinNode) bool { return n.parent == nil && len(n.unions) == 0 && seen[n.bird] })
	count := make(map[int]int)
	k.several = make(map[int]bool)
	for _, n := range nodes {
		if count[n.bird]++; count[n.bird] > 1 {
			k.several[n.bird] = true
		}
	}
	k.write()
	families := connected(nodes, unions)
	for _, f := range families {
		f.measure(k)
	}
	return families
}

// join seats a couple: at the places that its birds have, if these can be
// brought side by side, or else with a symbol more for one of them or both.
func (u *union) join(c *couple, own [2]*kinNode, add func(bird int) *kinNode) {
	if c.sire < 0 || c.dam < 0 {
		n, bird, m := own[0], c.sire, 0
		if c.sire < 0 {
			n, bird, m = own[1], c.dam, 1
		}
		if n == nil || u.below(n.chain) {
			n = add(bird)
		}
		u.a, u.members[m] = n, n
		n.unions = append(n.unions, u)
		return
	}
	fits := func(n *kinNode) bool {
		return n != nil && (n.chain.nodes[0] == n || n.chain.nodes[len(n.chain.nodes)-1] == n) && !u.below(n.chain)
	}
	s, d := own[0], own[1]
	okS, okD := fits(s), fits(d)
	both := okS && okD && s.chain != d.chain && !s.chain.above(d.chain) && !d.chain.above(s.chain)
	switch {
	case both:
	case okD:
		s = add(c.sire)
	case okS:
		d = add(c.dam)
	default:
		s, d = add(c.sire), add(c.dam)
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
	u.members = [2]*kinNode{s, d}
	if s.bird != c.sire {
		u.members = [2]*kinNode{d, s}
	}
	s.unions = append(s.unions, u)
	d.unions = append(d.unions, u)
}

// below reports whether a chain stands below one of the couple's chicks, so
// that the couple cannot be in it.
func (u *union) below(c *chain) bool {
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
func (n *kinNode) neighbours(visit func(*kinNode)) {
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
func connected(nodes []*kinNode, unions []*union) []*family {
	of := make(map[*kinNode]*family)
	var out []*family
	for _, start := range nodes {
		if of[start] != nil {
			continue
		}
		f := &family{}
		of[start] = f
		stack := []*kinNode{start}
		for len(stack) > 0 {
			n := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			n.neighbours(func(m *kinNode) {
				if of[m] == nil {
					of[m] = f
					stack = append(stack, m)
				}
			})
		}
		out = append(out, f)
	}
	for _, n := range nodes {
		of[n].nodes = append(of[n].nodes, n)
	}
	for _, u := range unions {
		of[u.a].unions = append(of[u.a].unions, u)
	}
	size := func(f *family) int {
		if !f.kin() {
			return len(f.nodes) - len(nodes) // after all others
		}
		return len(f.nodes)
	}
	slices.SortStableFunc(out, func(a, b *family) int { return cmp.Compare(size(b), size(a)) })
	return out
}

// cut finds the seat whose loss parts a family most evenly.
func (f *family) cut(k *kindred) (best seat, ok bool) {
	most := 0
	for _, u := range f.unions {
		for m, n := range u.members {
			if n == nil || n.parent == nil && len(n.unions) < 2 {
				continue
			}
			// What stays with the bird when the couple gets a symbol more.
			seen := map[*kinNode]bool{n: true}
			stack := []*kinNode{n}
			reached := false
			for len(stack) > 0 {
				at := stack[len(stack)-1]
				stack = stack[:len(stack)-1]
				visit := func(o *kinNode) {
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
			side := min(len(seen), len(f.nodes)-len(seen)+1)
			if reached { // no bridge: better than nothing
				side = 1
			} else if !k.homeOnBothSides(f, n, seen) {
				continue
			}
			if side > most {
				most, ok = side, true
				best = seat{k.coupleIndex(u.couple), m}
			}
		}
	}
	return best, ok
}

// homeOnBothSides reports whether a family parted at a bird has a bird of the
// colony among those that stay with it and among the others with it.
func (k *kindred) homeOnBothSides(f *family, at *kinNode, stay map[*kinNode]bool) bool {
	var with, without bool
	for _, n := range f.nodes {
		if k.birds[n.bird].Home {
			with = with || stay[n]
			without = without || !stay[n] || n == at
		}
	}
	return with && without
}

func (k *kindred) coupleIndex(c *couple) int {
	for i := range k.couples {
		if &k.couples[i] == c {
			return i
		}
	}
	panic("drawing: a couple of another kindred")
}

// fits lays a family out and reports whether it is no wider than a sheet. One
// with a row that is too wide by itself is not laid out.
func (f *family) fits() bool {
	f.setRows()
	for _, row := range f.rows {
		width := -kinSlotSpace
		for _, c := range row {
			width += c.width + kinSlotSpace
		}
		if width > partWidth {
			return false
		}
	}
	f.layout()
	return f.width <= partWidth
}

// layout finds the place of everything in a family.
func (f *family) layout() {
	f.setRows()
	f.sortRows()
	f.setPlaces()
	f.setHeights()
}

// chains returns the chains of a family in the order of its symbols.
func (f *family) chains() []*chain {
	var out []*chain
	seen := make(map[*chain]bool)
	for _, n := range f.nodes {
		if !seen[n.chain] {
			seen[n.chain] = true
			out = append(out, n.chain)
		}
	}
	return out
}

// setRows sets every chain below all parents of its birds, and those without
// parents just above their first chicks.
func (f *family) setRows() {
	chains := f.chains()
	for _, c := range chains {
		c.row = 0
	}
	for changed := true; changed; { // there are no cycles
		changed = false
		for _, c := range chains {
			for _, n := range c.nodes {
				if n.parent != nil && c.row <= n.parent.a.chain.row {
					c.row, changed = n.parent.a.chain.row+1, true
				}
			}
		}
	}
	rows := 0
	for _, c := range chains {
		rows = max(rows, c.row+1)
		orphans, first := true, math.MaxInt
		for _, n := range c.nodes {
			orphans = orphans && n.parent == nil
			for _, u := range n.unions {
				for _, chick := range u.chicks {
					first = min(first, chick.chain.row)
				}
			}
		}
		if orphans && first < math.MaxInt {
			c.row = first - 1
		}
	}
	f.rows = make([][]*chain, rows)
	for _, c := range chains {
		c.width = 0
		c.offset = c.offset[:0]
		for i, n := range c.nodes {
			if i > 0 {
				c.width += kinSlotSpace
			}
			c.offset = append(c.offset, c.width+n.width/2)
			c.width += n.width
		}
		f.rows[c.row] = append(f.rows[c.row], c)
	}
	for _, u := range f.unions {
		for row := u.a.chain.row + 1; row < u.lowest(); row++ {
			f.rows[row] = append(f.rows[row], &chain{passes: u, row: row, width: 8})
		}
	}
	for _, row := range f.rows {
		enumerate(row)
	}
}

// lowest returns the lowest row with a chick of the couple.
func (u *union) lowest() int {
	low := u.a.chain.row
	for _, c := range u.chicks {
		low = max(low, c.chain.row)
	}
	return low
}

// port is a point of a chain where a line begins or ends, counted in places
// along it.
type port struct {
	chain *chain
	slot  float64 // 0 the first bird, 0.5 between it and the next
}

// net is the line of a couple through one gap between rows.
type net struct {
	union *union
	from  port
	to    []port
}

func (n *kinNode) port() port {
	return port{n.chain, float64(slices.Index(n.chain.nodes, n))}
}

func (u *union) port() port {
	p := u.a.port()
	if u.b != nil {
		p.slot = (p.slot + u.b.port().slot) / 2
	}
	return p
}

// nets returns the lines between a row and the next.
func (f *family) nets(row int) []net {
	passing := make(map[*union][2]*chain)
	for k := range 2 {
		if row+k < len(f.rows) {
			for _, c := range f.rows[row+k] {
				if c.passes != nil {
					p := passing[c.passes]
					p[k] = c
					passing[c.passes] = p
				}
			}
		}
	}
	var out []net
	for _, u := range f.unions {
		top := u.a.chain.row
		if row < top || row >= u.lowest() {
			continue
		}
		n := net{union: u, from: u.port()}
		if row > top {
			n.from = port{passing[u][0], 0}
		}
		for _, c := range u.chicks {
			if c.chain.row == row+1 {
				n.to = append(n.to, c.port())
			}
		}
		if p := passing[u][1]; p != nil {
			n.to = append(n.to, port{p, 0})
		}
		out = append(out, n)
	}
	return out
}

// sortStarts is how many orders of the rows are tried to begin with.
const sortStarts = 8

// sortRows puts rows in order so that few lines cross: from the order of ids
// and from some random ones.
func (f *family) sortRows() {
	all := make([][]net, len(f.rows))
	refresh := func() {
		for r := range f.rows {
			all[r] = f.nets(r)
		}
	}
	refresh()
	best := f.count(all)
	f.unsorted, f.crossings = best, best
	keep := make([][]*chain, len(f.rows))
	turned := make(map[*chain][]*kinNode)
	save := func() {
		for r, row := range f.rows {
			keep[r] = slices.Clone(row)
			for _, c := range row {
				turned[c] = slices.Clone(c.nodes)
			}
		}
	}
	save()
	rng := rand.New(rand.NewPCG(1, 0))
	for start := 0; start < sortStarts && best > 0; start++ {
		if start > 0 {
			for _, row := range f.rows {
				rng.Shuffle(len(row), func(i, j int) { row[i], row[j] = row[j], row[i] })
				enumerate(row)
			}
			refresh()
		}
		least := f.count(all)
		for sweep, idle := 0, 0; least > 0 && idle < 4; sweep++ {
			for i := range f.rows {
				r := i
				if sweep%2 == 1 {
					r = len(f.rows) - 1 - i
				}
				f.sortRow(r, sweep%2 == 0, all)
			}
			refresh()
			n := f.count(all)
			idle++
			if n < least {
				least, idle = n, 0
			}
			f.swap(all, &n)
			if n < best {
				best = n
				save()
			}
		}
	}
	for r := range f.rows {
		f.rows[r] = keep[r]
		enumerate(keep[r])
		for _, c := range keep[r] {
			copy(c.nodes, turned[c])
		}
	}
	f.crossings = best
}

// enumerate tells the chains of a row their order.
func enumerate(row []*chain) {
	for i, c := range row {
		c.order = i
	}
}

// position is where a port is in its row, in chains.
func (p port) position() float64 {
	return float64(p.chain.order) + (p.slot+0.5)/float64(max(len(p.chain.nodes), 1))
}

func (f *family) sortRow(r int, down bool, all [][]net) {
	sum, n := make(map[*chain]float64), make(map[*chain]float64)
	if down && r > 0 {
		ends := make(map[port]float64)
		for _, net := range all[r-1] {
			for _, to := range net.to {
				sum[to.chain] += net.from.position()
				n[to.chain]++
				ends[to] = net.from.position()
			}
		}
		// Mates whose parents stand the other way round change places.
		for _, c := range f.rows[r] {
			first, last, found := 0.0, 0.0, 0
			for slot := range c.nodes {
				if at, ok := ends[port{c, float64(slot)}]; ok {
					if found == 0 {
						first = at
					}
					last = at
					found++
				}
			}
			if found > 1 && first > last {
				slices.Reverse(c.nodes)
			}
		}
	}
	if !down && r < len(all) {
		for _, net := range all[r] {
			for _, to := range net.to {
				sum[net.from.chain] += to.position()
				n[net.from.chain]++
			}
		}
	}
	key := func(c *chain) float64 {
		if n[c] == 0 {
			return float64(c.order) + 0.5
		}
		return sum[c] / n[c]
	}
	slices.SortStableFunc(f.rows[r], func(a, b *chain) int { return cmp.Compare(key(a), key(b)) })
	enumerate(f.rows[r])
}

// swap changes neighbours of a row as long as that takes crossings away.
func (f *family) swap(all [][]net, best *int) {
	for pass := 0; pass < 6 && *best > 0; pass++ {
		improved := false
		for r, row := range f.rows {
			local := func() int {
				n := crossings(all[r])
				if r > 0 {
					n += crossings(all[r-1])
				}
				return n
			}
			for i := 1; i < len(row); i++ {
				before := local()
				if before == 0 {
					break
				}
				row[i-1], row[i] = row[i], row[i-1]
				row[i-1].order, row[i].order = i-1, i
				if after := local(); after < before {
					*best -= before - after
					improved = true
				} else {
					row[i-1], row[i] = row[i], row[i-1]
					row[i-1].order, row[i].order = i-1, i
				}
			}
		}
		if !improved {
			return
		}
	}
}

func (f *family) count(all [][]net) int {
	n := 0
	for _, nets := range all {
		n += crossings(nets)
	}
	return n
}

// crossings counts the lines of a gap that cross if all are straight.
func crossings(nets []net) int {
	type line struct{ a, b float64 }
	var lines []line
	for _, n := range nets {
		for _, to := range n.to {
			lines = append(lines, line{n.from.position(), to.position()})
		}
	}
	count := 0
	for i, l := range lines {
		for _, m := range lines[:i] {
			if (l.a-m.a)*(l.b-m.b) < 0 {
				count++
			}
		}
	}
	return count
}

// along returns where a port is from the left edge of its chain.
func (p port) along() float64 {
	c := p.chain
	if len(c.nodes) == 0 {
		return c.width / 2
	}
	i := int(p.slot)
	if float64(i) == p.slot {
		return c.offset[i]
	}
	return c.offset[i] + c.nodes[i].width/2 + kinSlotSpace/2 // between the labels
}

func (p port) x() float64 { return p.chain.x + p.along() }

// setPlaces sets parents above the middle of their chicks as far as the order
// and the widths of a row allow.
func (f *family) setPlaces() {
	all := make([][]net, len(f.rows))
	for r := range f.rows {
		all[r] = f.nets(r)
		x := 0.0
		for _, c := range f.rows[r] {
			c.offset = c.offset[:0] // the chain may have been turned
			at := 0.0
			for _, n := range c.nodes {
				c.offset = append(c.offset, at+n.width/2)
				at += n.width + kinSlotSpace
			}
			c.x = x
			x += c.width + kinSlotSpace
		}
	}
	for pass := range 16 {
		for i := range f.rows {
			r := i
			if pass%2 == 1 {
				r = len(f.rows) - 1 - i
			}
			f.settle(r, all)
		}
	}
	f.straighten(all)
	left := math.Inf(1)
	f.width = 0
	for _, row := range f.rows {
		for _, c := range row {
			left = min(left, c.x)
		}
	}
	for _, row := range f.rows {
		for _, c := range row {
			c.x -= left
			f.width = max(f.width, c.x+c.width)
			for i, n := range c.nodes {
				n.x = c.x + c.offset[i]
			}
		}
	}
}

func (f *family) settle(r int, all [][]net) {
	sum, n := make(map[*chain]float64), make(map[*chain]float64)
	pull := func(p port, to, weight float64) {
		sum[p.chain] += weight * (to - p.along())
		n[p.chain] += weight
	}
	middle := func(ports []port) float64 {
		low, high := math.Inf(1), math.Inf(-1)
		for _, p := range ports {
			low, high = min(low, p.x()), max(high, p.x())
		}
		return (low + high) / 2
	}
	weight := func(p port) float64 {
		if p.chain.passes != nil {
			return 4
		}
		return 1
	}
	if r > 0 {
		for _, net := range all[r-1] {
			for _, to := range net.to {
				pull(to, net.from.x(), weight(to))
			}
		}
	}
	for _, net := range all[r] {
		pull(net.from, middle(net.to), 2*weight(net.from))
	}
	row := f.rows[r]
	want, weights := make([]float64, len(row)), make([]float64, len(row))
	for i, c := range row {
		want[i], weights[i] = c.x, 0.01
		if n[c] > 0 {
			want[i], weights[i] = sum[c]/n[c], n[c]
		}
	}
	for i, x := range separate(want, weights, func(i int) float64 { return row[i-1].width + kinSlotSpace }) {
		row[i].x = x
	}
}

// straighten takes small bends out of lines that have one end, as far as there
// is room.
func (f *family) straighten(all [][]net) {
	for r := 1; r < len(f.rows); r++ {
		bend := make(map[*chain]float64)
		for _, n := range all[r-1] {
			for _, to := range n.to {
				by := n.from.x() - to.x()
				if len(n.to) == 1 && math.Abs(by) < 3*kinTrackSpace || to.chain.passes != nil {
					bend[to.chain] = by
				}
			}
		}
		row := f.rows[r]
		want, weights := make([]float64, len(row)), make([]float64, len(row))
		for i, c := range row {
			by, bent := bend[c]
			want[i], weights[i] = c.x+by, 1
			if bent {
				weights[i] = 1e4
			}
		}
		for i, x := range separate(want, weights, func(i int) float64 { return row[i-1].width + kinSlotSpace }) {
			row[i].x = x
		}
	}
}

// setHeights sets the heights of rows and of the lines between them.
func (f *family) setHeights() {
	f.bus = make(map[*union]map[int]float64)
	y := 0.0
	for r, row := range f.rows {
		lines := 0
		for _, c := range row {
			for _, n := range c.nodes {
				n.y = y + kinRadius + 3
				lines = max(lines, n.lines)
			}
		}
		y += 2*kinRadius + 10 + float64(lines)*kinLine
		if r == len(f.rows)-1 {
			break
		}
		nets := f.nets(r)
		track, tracks := tracksOf(nets)
		y += 6
		for i, n := range nets {
			if f.bus[n.union] == nil {
				f.bus[n.union] = make(map[int]float64)
			}
			f.bus[n.union][r] = y + float64(track[i])*kinTrackSpace
		}
		y += float64(max(tracks-1, 0))*kinTrackSpace + 10
	}
	f.height = y
}

// tracksOf gives every line of a gap a height for its level part, so that no
// two lie on each other, and so that where one comes down above the place
// where another ends, it has turned away before.
func tracksOf(nets []net) (track []int, tracks int) {
	const near = 4.0
	type span struct{ low, high float64 }
	spans := make([]span, len(nets))
	for i, n := range nets {
		s := span{n.from.x(), n.from.x()}
		for _, to := range n.to {
			s = span{min(s.low, to.x()), max(s.high, to.x())}
		}
		spans[i] = s
	}
	before := make([][]int, len(nets)) // lines that must turn above each
	for i, n := range nets {
		for j, m := range nets {
			if i == j {
				continue
			}
			for _, to := range n.to {
				if math.Abs(m.from.x()-to.x()) < near {
					before[i] = append(before[i], j)
					break
				}
			}
		}
	}
	track = make([]int, len(nets))
	done := make([]bool, len(nets))
	for range nets {
		// The leftmost of those that nothing must precede, or the leftmost.
		next, free := -1, false
		for i := range nets {
			if done[i] {
				continue
			}
			ready := true
			for _, j := range before[i] {
				ready = ready && done[j]
			}
			if next < 0 || ready && !free || ready == free && spans[i].low < spans[next].low {
				next, free = i, ready
			}
		}
		at := 0
		for _, j := range before[next] {
			if done[j] {
				at = max(at, track[j]+1)
			}
		}
		for taken := true; taken; {
			taken = false
			for j := range nets {
				if done[j] && track[j] == at && spans[j].low < spans[next].high+near && spans[next].low < spans[j].high+near {
					at, taken = at+1, true
					break
				}
			}
		}
		track[next], done[next] = at, true
		tracks = max(tracks, at+1)
	}
	return track, tracks
}

// lines returns the lines of a family: between mates, down to their chicks and
// along the sibships.
func (f *family) lines() []svg.Box {
	var out []svg.Box
	for _, u := range f.unions {
		if u.b == nil {
			continue
		}
		a, b, y := u.a.x+kinRadius, u.b.x-kinRadius, u.a.y
		if u.a.x > u.b.x {
			a, b = u.b.x+kinRadius, u.a.x-kinRadius
		}
		if u.couple.kin {
			out = append(out, svg.Box{X0: a, Y0: y - 2, X1: b, Y1: y - 2}, svg.Box{X0: a, Y0: y + 2, X1: b, Y1: y + 2})
		} else {
			out = append(out, svg.Box{X0: a, Y0: y, X1: b, Y1: y})
		}
	}
	for r := range f.rows {
		for _, n := range f.nets(r) {
			bus, x := f.bus[n.union][r], n.from.x()
			top := f.bus[n.union][r-1]
			switch u := n.union; {
			case n.from.chain.passes != nil: // from the line above
			case u.b == nil:
				top = u.a.y + kinRadius + 5 + float64(u.a.lines)*kinLine
			case u.couple.kin:
				top = u.a.y + 2
			default:
				top = u.a.y
			}
			out = append(out, svg.Box{X0: x, Y0: top, X1: x, Y1: bus})
			low, high := x, x
			for _, to := range n.to {
				low, high = min(low, to.x()), max(high, to.x())
				if to.chain.passes == nil { // else the next row draws it
					out = append(out, svg.Box{X0: to.x(), Y0: bus, X1: to.x(), Y1: to.chain.nodes[int(to.slot)].y - kinRadius})
				}
			}
			if high > low {
				out = append(out, svg.Box{X0: low, Y0: bus, X1: high, Y1: bus})
			}
		}
	}
	return out
}
