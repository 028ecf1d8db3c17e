package broods

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// relaxation bounds S' and prices from below over the choices of a node. Chicks
// may be fractions, but the quadratic is made as tight as whole numbers allow:
// with a diagonal D ≥ 0 such that Kinship − D is still convex between choices of
// as many chicks,
//
//	kᵀ Kinship k = kᵀ(Kinship−D)k + Σ_p d_p k_p²
//
// and k² may be replaced by the piecewise linear function through the whole
// numbers (convexification by the diagonal: Billionnet & Elloumi 2007, Math
// Program 109:55-68). It is minimised by moving chicks between two pairs at a
// time, those for which it pays most (sequential minimal optimisation: Platt
// 1998; Keerthi et al. 2001, Neural Comput 13:637-649). Wherever that ends,
// convexity proves the bound (Frank & Wolfe 1956):
//
//	min F ≥ min_y F(x) + F'(x; y−x)
//
// and the y that is least is found by taking the cheapest chicks first, because
// places are limits within the limit of all.
type relaxation struct {
	p      *Problem
	chicks int   // the most that can be had
	rooms  []int // by place, −1 without limit
	spare  []float64
	most   []float64 // the largest kinship of each pair's chicks with any
	work   int

	meets []float64 // (Kinship − D)·x
	left  []float64 // room left by x
	units []unit
	space []int
}

// unit is one more chick of a pair.
type unit struct {
	cost  float64
	pair  int
	which int // the chick's number, from 0
	taken bool
}

func newRelaxation(p *Problem) *relaxation {
	r := &relaxation{p: p, rooms: p.rooms(), spare: make([]float64, len(p.Pairs)), meets: make([]float64, len(p.Pairs))}
	r.most = make([]float64, len(p.Pairs))
	for i, row := range p.Kinship {
		r.most[i] = slices.Max(row)
	}
	least, room := 0, 0
	here := make([]int, len(p.Rooms))
	for _, x := range p.Pairs {
		least += x.Least
		if r.rooms == nil {
			room += x.Most
		} else {
			here[x.Place] += x.Most
		}
	}
	for i, n := range here {
		if r.rooms[i] >= 0 {
			n = min(n, r.rooms[i])
		}
		room += n
	}
	r.chicks = max(least, min(p.Chicks, room))
	r.left, r.space = make([]float64, len(r.rooms)), make([]int, len(r.rooms))
	return r
}

// begin makes the start of a node one of its choices, and computes what
// depends on it; false if the node holds none.
func (r *relaxation) begin(n *node) bool {
	for i := range r.left {
		r.left[i] = math.Inf(1)
		if r.rooms[i] >= 0 {
			r.left[i] = float64(r.rooms[i])
		}
	}
	missing := float64(r.chicks)
	for i := range n.x {
		if n.low[i] > n.high[i] {
			return false
		}
		n.x[i] = min(max(n.x[i], float64(n.low[i])), float64(n.high[i]))
		missing -= n.x[i]
		if r.rooms != nil {
			r.left[r.p.Pairs[i].Place] -= n.x[i]
		}
	}
	// Too many at a place, then too many or too few in all.
	for i := range n.x {
		place := r.p.Pairs[i].Place
		over := -missing
		if r.rooms != nil {
			over = max(over, -r.left[place])
		}
		if d := min(over, n.x[i]-float64(n.low[i])); d > 0 {
			missing += d
			n.x[i] -= d
			if r.rooms != nil {
				r.left[place] += d
			}
		}
	}
	for i := range n.x {
		d := min(missing, float64(n.high[i])-n.x[i])
		if r.rooms != nil {
			d = min(d, r.left[r.p.Pairs[i].Place])
		}
		if d > 0 {
			missing -= d
			n.x[i] += d
			if r.rooms != nil {
				r.left[r.p.Pairs[i].Place] -= d
			}
		}
	}
	const rounding = 1e-9
	if math.Abs(missing) > rounding {
		return false
	}
	for _, l := range r.left {
		if l < -rounding {
			return false
		}
	}
	clear(r.meets)
	for i, x := range n.x {
		if x == 0 {
			continue
		}
		for j, f := range r.p.Kinship[i] {
			r.meets[j] += x * f
		}
		r.meets[i] -= x * r.spare[i]
		r.work += len(r.meets)
	}
	return true
}

// whole reports whether all chicks are whole.
func (r *relaxation) whole(x []float64) bool {
	for _, k := range x {
		if math.Abs(k-math.Round(k)) > 1e-9 {
			return false
		}
	}
	return true
}

// slope returns the linear part of what a chick of pair i costs.
func (r *relaxation) slope(i int) float64 {
	x := &r.p.Pairs[i]
	return x.Cost + x.Price + 2*r.meets[i]
}

// minimise moves n.x towards the best of the node and returns its bound and the
// best corner there; it ends early where the bound passes the cutoff. ok is
// false if the node is empty.
func (r *relaxation) minimise(n *node, cutoff float64) (bound float64, corner []int, ok bool) {
	if !r.begin(n) {
		return 0, nil, false
	}
	bound = math.Inf(-1)
	tolerance := 1e-13 * (1 + math.Abs(cutoff)) / float64(r.chicks)
	every := max(8, len(n.x)/8)
	for step := 1; ; step++ {
		moved := r.step(n, tolerance)
		if moved && step%every != 0 {
			continue
		}
		lower, value := r.below(n)
		if corner == nil || lower > bound {
			bound = max(bound, lower)
			corner = r.corner(n)
		}
		r.narrow(n, lower, cutoff)
		if !moved || bound > cutoff || step > 40*len(n.x)+200 ||
			value-bound < 0.02*(cutoff-bound) && n.order > 0 || value-bound < 1e-3*(cutoff-bound) {
			return bound, corner, true
		}
	}
}

// step moves chicks from one pair to another where that lowers F most steeply;
// false if it is not to be lowered.
func (r *relaxation) step(n *node, tolerance float64) bool {
	places := max(1, len(r.rooms))
	type best struct {
		up, down   int
		rise, fall float64
	}
	at := make([]best, places)
	for i := range at {
		at[i] = best{-1, -1, math.Inf(1), math.Inf(-1)}
	}
	for i, x := range n.x {
		g := r.slope(i)
		place := 0
		if r.rooms != nil {
			place = r.p.Pairs[i].Place
		}
		b := &at[place]
		if x < float64(n.high[i]) {
			if c := g + r.spare[i]*(2*math.Floor(x)+1); c < b.rise {
				b.up, b.rise = i, c
			}
		}
		if x > float64(n.low[i]) {
			if c := g + r.spare[i]*(2*math.Ceil(x)-1); c > b.fall {
				b.down, b.fall = i, c
			}
		}
	}
	r.work += len(n.x)
	to, from, gain := -1, -1, tolerance
	anyDown, fall := -1, math.Inf(-1)
	for _, b := range at {
		if b.down >= 0 && b.fall > fall {
			anyDown, fall = b.down, b.fall
		}
		if b.up >= 0 && b.down >= 0 && b.fall-b.rise > gain {
			to, from, gain = b.up, b.down, b.fall-b.rise
		}
	}
	room := math.Inf(1)
	for place, b := range at {
		if b.up < 0 || anyDown < 0 || fall-b.rise <= gain {
			continue
		}
		if r.rooms != nil && r.left[place] <= 1e-12 {
			continue
		}
		to, from, gain = b.up, anyDown, fall-b.rise
	}
	if to < 0 {
		return false
	}
	if r.rooms != nil && r.p.Pairs[to].Place != r.p.Pairs[from].Place {
		room = r.left[r.p.Pairs[to].Place]
	}
	k := r.p.Kinship
	curve := k[to][to] - r.spare[to] + k[from][from] - r.spare[from] - 2*k[to][from]
	move := min(room, math.Floor(n.x[to])+1-n.x[to], n.x[from]-(math.Ceil(n.x[from])-1))
	if curve > 0 {
		move = min(move, gain/(2*curve))
	}
	r.shift(n, to, move)
	r.shift(n, from, -move)
	return true
}

// shift changes the chicks of a pair; numbers that are whole but for rounding
// become whole.
func (r *relaxation) shift(n *node, i int, by float64) {
	n.x[i] += by
	if w := math.Round(n.x[i]); math.Abs(n.x[i]-w) < 1e-12 {
		n.x[i] = w
	}
	for j, f := range r.p.Kinship[i] {
		r.meets[j] += by * f
	}
	r.meets[i] -= by * r.spare[i]
	if r.rooms != nil {
		r.left[r.p.Pairs[i].Place] -= by
	}
	r.work += len(r.meets)
}

// below returns the bound that holds at n.x, and F there. It leaves the chicks
// of the node in r.units, cheapest first, the best corner marked.
func (r *relaxation) below(n *node) (bound, value float64) {
	bound, value = r.p.Sum, r.p.Sum
	r.units = r.units[:0]
	copy(r.space, r.rooms)
	missing := r.chicks
	for i, x := range n.x {
		g := r.slope(i)
		d := r.spare[i]
		m := math.Floor(x)
		bound -= x * r.meets[i]
		value += x*(g-r.meets[i]) + d*(m*m+(2*m+1)*(x-m))
		low := n.low[i]
		bound += float64(low)*g + d*float64(low*low)
		missing -= low
		if r.rooms != nil && r.space[r.p.Pairs[i].Place] >= 0 {
			r.space[r.p.Pairs[i].Place] -= low
		}
		for k := low; k < n.high[i]; k++ {
			r.units = append(r.units, unit{cost: g + d*float64(2*k+1), pair: i, which: k})
		}
	}
	slices.SortFunc(r.units, func(a, b unit) int {
		return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(a.pair, b.pair), cmp.Compare(a.which, b.which))
	})
	r.work += 8 * len(r.units)
	for k := range r.units {
		u := &r.units[k]
		if missing == 0 {
			break
		}
		if r.rooms != nil {
			place := r.p.Pairs[u.pair].Place
			if r.space[place] == 0 {
				continue
			}
			if r.space[place] > 0 {
				r.space[place]--
			}
		}
		u.taken = true
		bound += u.cost
		missing--
	}
	return bound, value
}

// corner returns the broods marked by below.
func (r *relaxation) corner(n *node) []int {
	broods := slices.Clone(n.low)
	for _, u := range r.units {
		if u.taken {
			broods[u.pair]++
		}
	}
	return broods
}

// narrow takes out of a node what would lift its bound over the cutoff: one
// chick more costs at least what it costs beyond the dearest taken, one fewer
// what the cheapest not taken costs beyond it.
func (r *relaxation) narrow(n *node, bound, cutoff float64) {
	if math.IsInf(cutoff, 1) || bound > cutoff {
		return
	}
	room := cutoff - bound
	room += 1e-9 * (1 + math.Abs(room))
	dearest, cheapest := math.Inf(-1), math.Inf(1)
	for _, u := range r.units {
		if u.taken {
			dearest = max(dearest, u.cost)
		} else {
			cheapest = min(cheapest, u.cost)
		}
	}
	for _, u := range r.units {
		switch x := n.x[u.pair]; {
		case !u.taken && u.cost-dearest > room && x <= float64(u.which):
			n.high[u.pair] = min(n.high[u.pair], u.which)
		case u.taken && cheapest-u.cost > room && x >= float64(u.which+1):
			n.low[u.pair] = max(n.low[u.pair], u.which+1)
		}
	}
}

// sharpen finds the spare diagonal of the pairs that a node leaves open: as much
// of each pair's own kinship as can be taken off while what is left stays convex
// for choices of as many chicks, for which a constant added to all kinships
// makes no difference.
func (r *relaxation) sharpen(n *node) {
	var open []int
	for i := range n.x {
		if n.low[i] < n.high[i] {
			open = append(open, i)
		}
	}
	clear(r.spare)
	const most = 700 // beyond, the cube of it would take too long
	if len(open) == 0 || len(open) > most {
		return
	}
	level := 0.0
	for _, i := range open {
		level = max(level, math.Abs(r.p.Kinship[i][i]))
	}
	level *= 8
	f := make([][]float64, len(open))
	for a, i := range open {
		f[a] = make([]float64, len(open))
		for b, j := range open {
			f[a][b] = r.p.Kinship[i][j] + level
		}
	}
	for a, d := range spareDiagonal(f) {
		r.spare[open[a]] = d
	}
	r.work += 4 * len(open) * len(open) * len(open)
}

// spareDiagonal returns a diagonal D ≥ 0, as large as is easily found, such that
// f − D is positive semidefinite: a share at a time is taken off each element,
// up to what the inverse allows. 0 if f is not positive definite.
func spareDiagonal(f [][]float64) []float64 {
	n := len(f)
	d := make([]float64, n)
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
