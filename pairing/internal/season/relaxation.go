package season

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// relaxation bounds S' from below over all plans of a season, or of a part of
// them (a node of the search).
//
// Chicks may be fractions and a bird may have several mates, but a chick still
// needs one bird of each sex that may be paired, and as many females as males
// have at least m chicks, for each m. What is left is a convex quadratic over
// flows in a network, whose corners are whole. The quadratic is made as tight
// as the whole numbers allow: f − D is still positive semidefinite for some
// diagonal D ≥ 0, so that
//
//	¼ KᵀfK = ¼ Kᵀ(f−D)K + ¼ Σ_b d_b K_b²
//
// and K² may be replaced by the piecewise linear function through the whole
// numbers, Σ_m (2m−1)·[K ≥ m] (convexification by the diagonal: Billionnet &
// Elloumi 2007, Math Program 109:55-68). Limits on moves and places are charged
// at prices (Lagrange multipliers; Geoffrion 1974).
//
// It is solved by simplicial decomposition (von Hohenbalken 1977, Math Program
// 13:49-68): minimise over the corners found so far, then find the corner that
// is best in the gradient there. That second step also gives the bound (Frank &
// Wolfe 1956): for convex F and any x,
//
//	min F ≥ F(x) + min_y ∇F(x)·(y − x)
type relaxation struct {
	s      *Problem
	levels int
	spare  []float64   // d
	rest   [][]float64 // f − D
	reward float64     // for meeting a lower limit, in the network
	work   int         // arcs and entries looked at, a clock that is the same everywhere
	stop   int         // work at which a solution ends early; its bound holds all the same

	network
	femaleLevel, maleLevel [][2]int // arcs of level m: up to the lower limit, beyond
	birdLevel              [][]int  // arcs of a breeder's m-th chick
	optionArc              []int

	movePrice float64   // for a pair that needs a move
	roomPrice []float64 // for a chick or an incoming bird, by place
	dearest   float64   // most that a price may become: beyond what chicks of other birds cost
}

// node is a part of the plans: limits on the chicks of each breeder, on how
// many of each sex have at least m+1 chicks, and on options.
type node struct {
	low, high           []int  // of each breeder
	levelLow, levelHigh []int  // by m
	off                 []bool // options not used
	forced              []int  // options with at least one chick
	bound               float64
	number              int // order of making, the last tie-break
	corners             []*corner
}

// corner is a whole solution of the network.
type corner struct {
	chicks  []float64
	product []float64 // (f−D)·chicks
	linear  float64   // c·K + ¼ Σ d·(2m−1) over the levels used
	levels  [][2]int  // breeder, m
	broods  []Brood
}

// relaxed is the solution of a relaxation.
type relaxed struct {
	bound    float64
	feasible bool
	level    [][]float64 // share of each breeder's m-th chick
	option   []float64   // chicks
	corners  []*corner   // with weight above zero, heaviest first
}

// newRelaxation prepares the network.
func newRelaxation(s *Problem) *relaxation {
	r := &relaxation{s: s, roomPrice: make([]float64, len(s.Rooms))}
	r.spare = spareDiagonal(s.Kinship)
	n := s.breeders()
	r.rest = make([][]float64, n)
	low, high := math.Inf(1), math.Inf(-1)
	for b := range n {
		r.rest[b] = slices.Clone(s.Kinship[b])
		r.rest[b][b] -= r.spare[b]
		low, high = min(low, s.Cost[b]), max(high, s.Cost[b])
	}
	for i := range s.Options {
		r.levels = max(r.levels, min(s.Chicks, s.Options[i].Most))
	}
	r.dearest = 4 * float64(r.levels) * (high - low + 1)
	r.reward = math.Exp2(math.Ceil(math.Log2(16 * (high - low + float64(s.Chicks) + 1))))
	r.lay()
	return r
}

// spareDiagonal returns a diagonal that can be taken from a positive definite
// matrix and leave it positive semidefinite; zeros if the matrix is not safely
// definite. Each entry is raised in turn by a part of what the Schur complement
// leaves it.
func spareDiagonal(f [][]float64) []float64 {
	n := len(f)
	d := make([]float64, n)
	if n == 0 {
		return d
	}
	at := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			at.SetSym(i, j, f[i][j])
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(at) || chol.Cond() > 1e8 {
		return d
	}
	var inverse mat.SymDense
	if chol.InverseTo(&inverse) != nil {
		return d
	}
	g := make([][]float64, n) // the upper triangle of the inverse
	for i := range n {
		g[i] = make([]float64, n)
		for j := i; j < n; j++ {
			g[i][j] = inverse.At(i, j)
		}
	}
	const sweeps, share = 4, 0.4
	column := make([]float64, n)
	for range sweeps {
		for b := range n {
			// (A − t·e eᵀ)⁻¹ = A⁻¹ + t·g gᵀ/(1 − t·g_b), g the column b of A⁻¹.
			t := share / g[b][b]
			d[b] += t
			for i := range b {
				column[i] = g[i][b]
			}
			copy(column[b:], g[b][b:])
			scale := t / (1 - t*column[b])
			for i := range n {
				ci := scale * column[i]
				row := g[i][i:]
				for j, c := range column[i:] {
					row[j] += ci * c
				}
			}
		}
	}
	// Rounding may have spoilt the inverse: the factorization is the proof.
	for range 20 {
		for i := range n {
			at.SetSym(i, i, f[i][i]-d[i])
		}
		if chol.Factorize(at) {
			return d
		}
		for i := range n {
			d[i] *= 0.9
		}
	}
	return make([]float64, n)
}

// lay lays the arcs: first node, levels of females, females, males, levels of
// males, last node.
func (r *relaxation) lay() {
	s := r.s
	n := s.breeders()
	breeder := func(b int) int32 { return int32(1 + r.levels + b) }
	r.nodes = 2 + 2*r.levels + n
	last := int32(r.nodes - 1)
	add := func(from, to int32) int {
		r.arcs = append(r.arcs, arc{from: from, to: to})
		return len(r.arcs) - 1
	}
	r.birdLevel = make([][]int, n)
	for m := range r.levels {
		level := int32(1 + m)
		r.femaleLevel = append(r.femaleLevel, [2]int{add(0, level), add(0, level)})
		for b := range s.Females {
			r.birdLevel[b] = append(r.birdLevel[b], add(level, breeder(b)))
		}
	}
	for i := range s.Options {
		r.optionArc = append(r.optionArc, add(breeder(s.Options[i].Female), breeder(s.Options[i].Male)))
	}
	for m := range r.levels {
		level := int32(1 + r.levels + n + m)
		for b := s.Females; b < n; b++ {
			r.birdLevel[b] = append(r.birdLevel[b], add(breeder(b), level))
		}
		r.maleLevel = append(r.maleLevel, [2]int{add(level, last), add(level, last)})
	}
	r.index()
}

// root returns the node of all plans.
func (r *relaxation) root() *node {
	s := r.s
	n := &node{
		low: make([]int, s.breeders()), high: make([]int, s.breeders()),
		levelLow: make([]int, r.levels), levelHigh: make([]int, r.levels),
		off: make([]bool, len(s.Options)), bound: math.Inf(-1),
	}
	for i := range s.Options {
		o := &s.Options[i]
		for _, b := range [2]int{o.Female, o.Male} {
			n.high[b] = max(n.high[b], min(o.Most, s.Chicks))
		}
	}
	for m := range r.levels {
		n.levelHigh[m] = s.Chicks / (m + 1)
	}
	return n
}

// limits sets the limits of the arcs for a node and returns the price of each
// option's chicks, the sum to add to every cost, and the rewards in the
// network. ok is false if the limits contradict one another.
func (r *relaxation) limits(n *node) (price []float64, constant float64, rewards int, ok bool) {
	s := r.s
	for m := range r.levels {
		lo, hi := n.levelLow[m], n.levelHigh[m]
		if lo > hi {
			return nil, 0, 0, false
		}
		rewards += 2 * lo
		for _, a := range [2][2]int{r.femaleLevel[m], r.maleLevel[m]} {
			r.arcs[a[0]].limit, r.arcs[a[0]].cost = int32(lo), -r.reward
			r.arcs[a[1]].limit, r.arcs[a[1]].cost = int32(hi-lo), 0
		}
	}
	for b := range r.birdLevel {
		if n.low[b] > n.high[b] {
			return nil, 0, 0, false
		}
		rewards += n.low[b]
		for m, a := range r.birdLevel[b] {
			r.arcs[a].limit = 0
			if m < n.high[b] && n.levelHigh[m] > 0 {
				r.arcs[a].limit = 1
			}
		}
	}
	used := newUsage(s)
	isForced := make([]bool, len(s.Options))
	for _, i := range n.forced {
		used.add(&s.Options[i], 0, 1)
		isForced[i] = true
	}
	if !used.within() {
		return nil, 0, 0, false
	}
	price = make([]float64, len(s.Options))
	constant = -r.movePrice * float64(s.Moves-used.moves)
	for p, t := range used.taken {
		if r.roomPrice[p] > 0 {
			constant -= r.roomPrice[p] * float64(s.Rooms[p].Birds-t.Birds)
		}
	}
	for i := range s.Options {
		o := &s.Options[i]
		most := min(o.Most, n.high[o.Female], n.high[o.Male])
		if n.off[i] {
			most = 0
		}
		price[i] = r.roomPrice[o.Place]
		if o.Mover >= 0 && !isForced[i] {
			used.add(o, 0, 1)
			if used.moves > s.Moves || !used.fits(o.Place) {
				most = 0
			}
			used.add(o, 0, -1)
			if most > 0 {
				price[i] += (r.movePrice + r.roomPrice[o.Place]) / float64(most)
			}
		}
		a := &r.arcs[r.optionArc[i]]
		a.limit, a.cost = int32(most), price[i]
	}
	return price, constant, rewards, true
}

// keeps reports whether a corner lies within a node.
func (n *node) keeps(c *corner) bool {
	for b, k := range c.chicks {
		if k := int(k); k < n.low[b] || k > n.high[b] {
			return false
		}
	}
	for _, b := range c.broods {
		if n.off[b.Option] {
			return false
		}
	}
	return true
}

// near is the share of the distance between the value and the cutoff at which
// the relaxation of a node that is not cut off is good enough to branch on.
const near = 0.02

// solve bounds S' over a node. It stops early once the bound passes cutoff.
func (r *relaxation) solve(n *node, cutoff float64) relaxed {
	out := relaxed{bound: n.bound}
	price, constant, rewards, ok := r.limits(n)
	if !ok {
		return out
	}
	s := r.s
	total := float64(rewards) * r.reward
	narrow := &node{low: slices.Clone(n.low), high: slices.Clone(n.high), off: slices.Clone(n.off)}
	defer func() { n.low, n.high, n.off = narrow.low, narrow.high, narrow.off }()
	m := master{}
	linear := func(c *corner) float64 {
		sum := c.linear + constant + r.reward*float64(rewards-n.met(r, c))
		for _, b := range c.broods {
			sum += price[b.Option] * float64(b.Chicks)
		}
		return sum
	}
	for _, c := range n.corners {
		if n.keeps(c) && n.keepsLevels(r, c) {
			m.add(c, linear(c))
		}
	}
	gradient := make([]float64, s.breeders())
	for range 400 {
		if len(m.corners) > 0 {
			r.work += m.minimise()
		}
		m.gradient(gradient)
		quadratic := m.quadratic() // ¼ xᵀ(f−D)x
		r.charge(n, gradient)
		dual, ok := r.send(s.Chicks, &r.work)
		if !ok {
			return out
		}
		bound := s.Sum - quadratic + constant + dual + total
		if bound > out.bound || !out.feasible {
			out.bound = max(out.bound, bound)
			r.fix(narrow, bound, cutoff)
		}
		out.feasible = true
		if out.bound > cutoff {
			return out
		}
		if len(m.corners) > 0 {
			value := s.Sum + m.value()
			enough := near * (cutoff - value)
			if math.IsInf(cutoff, 1) {
				enough = 1e-7 * math.Abs(value)
			}
			if value-out.bound <= max(1e-11*math.Abs(value), enough) || r.work > r.stop {
				break
			}
		}
		c := r.corner()
		if !m.add(c, linear(c)) {
			break // the best corner is known: rounding is all that is left
		}
	}
	r.summarise(&m, &out)
	return out
}

// charge sets the costs of each breeder's chicks in the network.
func (r *relaxation) charge(n *node, gradient []float64) {
	for b := range gradient {
		for l, a := range r.birdLevel[b] {
			cost := r.s.Cost[b] + gradient[b] + r.spare[b]*float64(2*l+1)/4
			if l < n.low[b] {
				cost -= r.reward
			}
			r.arcs[a].cost = cost
		}
	}
}

// tune sets the prices of moves and room for which the bound over all plans is
// best, by column generation: the corners found so far are mixed so that the
// mixture keeps the limits (master.minimiseWithin), the prices of the limits
// there price the next corner (Dantzig & Wolfe 1960). Every bound on the way
// holds; the best and its prices are kept.
func (r *relaxation) tune(root *node, cutoff float64) {
	s := r.s
	limited, moved := make([]bool, len(s.Rooms)), false
	for i := range s.Options {
		o := &s.Options[i]
		limited[o.Place] = s.Rooms[o.Place].Birds >= 0
		moved = moved || o.Mover >= 0
	}
	if !moved && !slices.Contains(limited, true) {
		return
	}
	m := master{limit: make([]float64, 1+len(s.Rooms)), price: make([]float64, 1+len(s.Rooms))}
	m.dearest = r.dearest
	m.limit[0] = float64(s.Moves)
	for p := range s.Rooms {
		m.limit[1+p] = math.Inf(1)
		if limited[p] {
			m.limit[1+p] = float64(s.Rooms[p].Birds)
		}
	}
	use := func(c *corner) []float64 {
		u := make([]float64, len(m.limit))
		for _, b := range c.broods {
			o := &s.Options[b.Option]
			u[1+o.Place] += float64(b.Chicks)
			if o.Mover >= 0 {
				share := float64(b.Chicks) / float64(min(o.Most, root.high[o.Female], root.high[o.Male]))
				u[0] += share
				u[1+o.Place] += share
			}
		}
		return u
	}
	best := slices.Clone(m.price)
	// A corner that is known may be the best until the prices have settled.
	const patience = 10
	known := 0
	// Without its prices the bound is worth little, so that many corners are
	// found whatever the work.
	const rounds = 40
	gradient := make([]float64, s.breeders())
	for round := range 400 {
		if len(m.corners) > 0 {
			r.work += m.minimiseWithin()
		}
		m.gradient(gradient)
		r.movePrice, r.roomPrice = m.price[0], m.price[1:]
		_, constant, _, ok := r.limits(root)
		r.charge(root, gradient)
		dual, sent := r.send(s.Chicks, &r.work)
		if !ok || !sent {
			break
		}
		if bound := s.Sum - m.quadratic() + constant + dual; bound > root.bound {
			root.bound = bound
			copy(best, m.price)
		}
		if root.bound > cutoff || r.work > r.stop && round > rounds ||
			m.within() && s.Sum+m.value()-root.bound < near/2*(cutoff-root.bound) {
			break
		}
		c := r.corner()
		if m.addUsing(c, c.linear, use(c)) {
			known = 0
		} else if known++; known == patience {
			break
		}
	}
	r.movePrice, r.roomPrice = best[0], best[1:]
	for _, k := range m.heaviest() {
		root.corners = append(root.corners, m.corners[k])
	}
}

// met counts the lower limits of a node that a corner meets, those of levels
// twice, as the network rewards them.
func (n *node) met(r *relaxation, c *corner) int {
	met := 0
	var have [2][]int
	have[0], have[1] = make([]int, r.levels), make([]int, r.levels)
	for _, l := range c.levels {
		if l[1] < n.low[l[0]] {
			met++
		}
		side := 0
		if l[0] >= r.s.Females {
			side = 1
		}
		have[side][l[1]]++
	}
	for m, lo := range n.levelLow {
		met += min(have[0][m], lo) + min(have[1][m], lo)
	}
	return met
}

// keepsLevels reports whether a corner keeps the limits on levels.
func (n *node) keepsLevels(r *relaxation, c *corner) bool {
	have := make([]int, 2*r.levels)
	for _, l := range c.levels {
		k := l[1]
		if l[0] >= r.s.Females {
			k += r.levels
		}
		have[k]++
	}
	for k, h := range have {
		if m := k % r.levels; h < n.levelLow[m] || h > n.levelHigh[m] {
			return false
		}
	}
	for _, l := range c.levels {
		if l[1] >= n.high[l[0]] {
			return false
		}
	}
	return true
}

// fix narrows a node by reduced costs: what would lift the bound over the
// cutoff is no part of a better plan.
func (r *relaxation) fix(n *node, bound, cutoff float64) {
	if math.IsInf(cutoff, 1) {
		return
	}
	room := cutoff - bound
	room += 1e-9 * (1 + math.Abs(room))
	for b := range r.birdLevel {
		for l, a := range r.birdLevel[b] {
			switch arc := &r.arcs[a]; {
			case arc.limit == 0:
			case arc.flow == 0 && r.reduced(a) > room:
				n.high[b] = min(n.high[b], l)
			case arc.flow > 0 && -r.reduced(a) > room:
				n.low[b] = max(n.low[b], l+1)
			}
		}
	}
	for i, a := range r.optionArc {
		if !n.off[i] && r.arcs[a].flow == 0 && r.reduced(a) > room {
			n.off[i] = true
		}
	}
}

// corner reads the flow.
func (r *relaxation) corner() *corner {
	s := r.s
	c := &corner{chicks: make([]float64, s.breeders()), product: make([]float64, s.breeders())}
	for b := range r.birdLevel {
		for l, a := range r.birdLevel[b] {
			if r.arcs[a].flow > 0 {
				c.chicks[b]++
				c.levels = append(c.levels, [2]int{b, l})
				c.linear += s.Cost[b] + r.spare[b]*float64(2*l+1)/4
			}
		}
	}
	for i, a := range r.optionArc {
		if f := r.arcs[a].flow; f > 0 {
			c.broods = append(c.broods, Brood{i, int(f)})
		}
	}
	for b, k := range c.chicks {
		if k > 0 {
			for j, f := range r.rest[b] {
				c.product[j] += k * f
			}
			r.work += len(c.product)
		}
	}
	return c
}

// summarise fills in the solution from the corners' weights.
func (r *relaxation) summarise(m *master, out *relaxed) {
	out.level = make([][]float64, r.s.breeders())
	for b := range out.level {
		out.level[b] = make([]float64, r.levels)
	}
	out.option = make([]float64, len(r.s.Options))
	for _, k := range m.heaviest() {
		c, a := m.corners[k], m.weight[k]
		out.corners = append(out.corners, c)
		for _, l := range c.levels {
			out.level[l[0]][l[1]] += a
		}
		for _, b := range c.broods {
			out.option[b.Option] += a * float64(b.Chicks)
		}
	}
}
