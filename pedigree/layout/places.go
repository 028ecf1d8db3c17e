package layout

import (
	"math"
)

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
	return c.offset[i] + c.nodes[i].width/2 + Gap/2 // between the labels
}

func (p port) x() float64 { return p.chain.x + p.along() }

// setPlaces sets parents above the middle of their chicks as far as the order
// and the widths of a row allow.
func (f *Family) setPlaces() {
	all := make([][]net, len(f.rows))
	for r := range f.rows {
		all[r] = f.nets(r)
		x := 0.0
		for _, c := range f.rows[r] {
			c.offset = c.offset[:0] // the chain may have been turned
			at := 0.0
			for _, n := range c.nodes {
				c.offset = append(c.offset, at+n.width/2)
				at += n.width + Gap
			}
			c.x = x
			x += c.width + Gap
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
	f.Width = 0
	for _, row := range f.rows {
		for _, c := range row {
			left = min(left, c.x)
		}
	}
	for _, row := range f.rows {
		for _, c := range row {
			c.x -= left
			f.Width = max(f.Width, c.x+c.width)
			for i, n := range c.nodes {
				n.X = c.x + c.offset[i]
			}
		}
	}
}

func (f *Family) settle(r int, all [][]net) {
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
	for i, x := range Separate(want, weights, func(i int) float64 { return row[i-1].width + Gap }) {
		row[i].x = x
	}
}

// straighten takes small bends out of lines that have one end, as far as there
// is room.
func (f *Family) straighten(all [][]net) {
	for r := 1; r < len(f.rows); r++ {
		bend := make(map[*chain]float64)
		for _, n := range all[r-1] {
			for _, to := range n.to {
				by := n.from.x() - to.x()
				if len(n.to) == 1 && math.Abs(by) < 3*trackSpace || to.chain.passes != nil {
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
		for i, x := range Separate(want, weights, func(i int) float64 { return row[i-1].width + Gap }) {
			row[i].x = x
		}
	}
}

// setHeights sets the heights of rows and of the lines between them.
func (f *Family) setHeights() {
	f.bus = make(map[*Union]map[int]float64)
	y := 0.0
	for r, row := range f.rows {
		lines := 0
		for _, c := range row {
			for _, n := range c.nodes {
				n.Y = y + Radius + 3
				lines = max(lines, n.lines)
			}
		}
		y += 2*Radius + 10 + float64(lines)*LineHeight
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
			f.bus[n.union][r] = y + float64(track[i])*trackSpace
		}
		y += float64(max(tracks-1, 0))*trackSpace + 10
	}
	f.Height = y
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

// Separate moves places apart as little as possible, by the sum of weighted
// squares, so that each follows the one before it by at least its gap. The
// order stays. Without weights all count the same.
func Separate(want, weight []float64, gap func(i int) float64) []float64 {
	// Subtracting the gaps leaves a regression under the condition that the
	// places do not descend, which pooling neighbours solves (Ayer et al. 1955).
	type pool struct {
		sum, weight float64
		n           int
	}
	var pools []pool
	offset := make([]float64, len(want))
	for i, w := range want {
		if i > 0 {
			offset[i] = offset[i-1] + gap(i)
		}
		wt := 1.0
		if weight != nil {
			wt = weight[i]
		}
		p := pool{(w - offset[i]) * wt, wt, 1}
		for len(pools) > 0 && pools[len(pools)-1].sum*p.weight > p.sum*pools[len(pools)-1].weight {
			last := pools[len(pools)-1]
			p = pool{p.sum + last.sum, p.weight + last.weight, p.n + last.n}
			pools = pools[:len(pools)-1]
		}
		pools = append(pools, p)
	}
	out := make([]float64, 0, len(want))
	for _, p := range pools {
		for range p.n {
			i := len(out)
			out = append(out, p.sum/p.weight+offset[i])
		}
	}
	return out
}
