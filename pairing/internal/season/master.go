package season

import (
	"cmp"
	"slices"
)

// master is the least value of the relaxation over the mixtures of some
// corners:
//
//	½ Σ_vw a_v a_w G_vw + Σ_v a_v l_v,   Σ_v a_v = 1, a ≥ 0
//
// with G_vw = ½ K_vᵀ(f−D)K_w.
type master struct {
	corners []*corner
	linear  []float64
	gram    [][]float64
	weight  []float64
	slope   []float64 // G·a + l

	// Limits on the mixture, Σ_v a_v use_vc ≤ limit_c, and their prices; for
	// minimiseWithin alone.
	limit, price []float64
	dearest      float64 // most that a price may be: corners may not suffice to keep a limit
	use          [][]float64
}

// add adds a corner; false if it is there already.
func (m *master) add(c *corner, linear float64) bool { return m.addUsing(c, linear, nil) }

// addUsing adds a corner that uses so much of each limit.
func (m *master) addUsing(c *corner, linear float64, use []float64) bool {
	for k, d := range m.corners {
		if slices.Equal(c.chicks, d.chicks) && slices.Equal(c.levels, d.levels) && linear >= m.linear[k] &&
			(use == nil || slices.Equal(use, m.use[k])) {
			return false
		}
	}
	m.use = append(m.use, use)
	row := make([]float64, len(m.corners)+1)
	for k, d := range m.corners {
		row[k] = half(c, d)
		m.gram[k] = append(m.gram[k], row[k])
	}
	row[len(m.corners)] = half(c, c)
	m.gram = append(m.gram, row)
	m.corners = append(m.corners, c)
	m.linear = append(m.linear, linear)
	weight := 0.0
	if len(m.corners) == 1 {
		weight = 1
	}
	m.weight = append(m.weight, weight)
	return true
}

// half returns ½ K_vᵀ(f−D)K_w.
func half(v, w *corner) float64 {
	sum := 0.0
	for b, k := range v.chicks {
		if k != 0 {
			sum += k * w.product[b]
		}
	}
	return sum / 2
}

// minimise moves weight from the steepest corner that has some to the least
// steep until the slopes are equal, and returns the work done.
func (m *master) minimise() int {
	n := len(m.corners)
	m.slope = append(m.slope[:0], m.linear...)
	for v, a := range m.weight {
		if a != 0 {
			for w := range n {
				m.slope[w] += a * m.gram[v][w]
			}
		}
	}
	steps := 0
	for ; steps < 100*n; steps++ {
		low, high := 0, -1
		for v := range n {
			if m.slope[v] < m.slope[low] {
				low = v
			}
			if m.weight[v] > 0 && (high < 0 || m.slope[v] > m.slope[high]) {
				high = v
			}
		}
		fall := m.slope[high] - m.slope[low]
		if fall <= 1e-12*(1+max(m.slope[high], -m.slope[high])) {
			break
		}
		step := m.weight[high]
		if bend := m.gram[low][low] + m.gram[high][high] - 2*m.gram[low][high]; bend > 0 && fall < bend*step {
			step = fall / bend
			m.weight[high] -= step
		} else {
			m.weight[high] = 0
		}
		m.weight[low] += step
		for w := range n {
			m.slope[w] += step * (m.gram[low][w] - m.gram[high][w])
		}
	}
	return steps*n + n*n
}

// minimiseWithin minimises over the mixtures that keep the limits, by the
// method of multipliers (Hestenes 1969; Powell 1969), and sets the prices. The
// limits are kept but for a small remainder. It returns the work done.
func (m *master) minimiseWithin() int {
	const weight = 4.0 // of a squared violation
	n := len(m.corners)
	over := make([]float64, len(m.limit)) // use − limit of the mixture
	charge := make([]float64, len(m.limit))
	work := 0
	for range 60 {
		m.slope = append(m.slope[:0], m.linear...)
		for c := range over {
			over[c] = -m.limit[c]
		}
		for v, a := range m.weight {
			if a == 0 {
				continue
			}
			for w := range n {
				m.slope[w] += a * m.gram[v][w]
			}
			for c, u := range m.use[v] {
				over[c] += a * u
			}
		}
		slope := func(v int) float64 {
			sum := m.slope[v]
			for c, p := range charge {
				if p != 0 {
					sum += p * m.use[v][c]
				}
			}
			return sum
		}
		for range 10 * n {
			for c := range charge {
				charge[c] = min(m.dearest, max(0, m.price[c]+weight*over[c]))
			}
			low, high := -1, -1
			var least, most float64
			for v := range n {
				here := slope(v)
				if low < 0 || here < least {
					low, least = v, here
				}
				if m.weight[v] > 0 && (high < 0 || here > most) {
					high, most = v, here
				}
			}
			work += n * (1 + len(charge))
			if most-least <= 1e-9*(1+max(most, -most)) {
				break
			}
			bend := m.gram[low][low] + m.gram[high][high] - 2*m.gram[low][high]
			for c := range charge {
				d := m.use[low][c] - m.use[high][c]
				bend += weight * d * d
			}
			step := m.weight[high]
			if bend > 0 && most-least < bend*step {
				step = (most - least) / bend
				m.weight[high] -= step
			} else {
				m.weight[high] = 0
			}
			m.weight[low] += step
			for w := range n {
				m.slope[w] += step * (m.gram[low][w] - m.gram[high][w])
			}
			for c := range over {
				over[c] += step * (m.use[low][c] - m.use[high][c])
			}
		}
		change := 0.0
		for c := range over {
			p := min(m.dearest, max(0, m.price[c]+weight*over[c]))
			change = max(change, p-m.price[c], m.price[c]-p)
			m.price[c] = p
		}
		if change < 1e-6 {
			break
		}
	}
	return work
}

// within reports whether there is a mixture and it keeps the limits.
func (m *master) within() bool {
	for c, limit := range m.limit {
		used := 0.0
		for v, a := range m.weight {
			used += a * m.use[v][c]
		}
		if used > limit+1e-5 {
			return false
		}
	}
	return len(m.corners) > 0
}

// gradient sets g to ½(f−D)x of the mixture x.
func (m *master) gradient(g []float64) {
	clear(g)
	for k, c := range m.corners {
		if a := m.weight[k]; a > 0 {
			for b, v := range c.product {
				g[b] += a / 2 * v
			}
		}
	}
}

// quadratic returns ½ aᵀGa.
func (m *master) quadratic() float64 {
	sum := 0.0
	for v, a := range m.weight {
		if a == 0 {
			continue
		}
		for w, b := range m.weight {
			sum += a * b * m.gram[v][w]
		}
	}
	return sum / 2
}

// value returns the value of the mixture.
func (m *master) value() float64 {
	sum := m.quadratic()
	for v, a := range m.weight {
		sum += a * m.linear[v]
	}
	return sum
}

// heaviest returns the corners that have weight, the heaviest first.
func (m *master) heaviest() []int {
	var order []int
	for k, a := range m.weight {
		if a > 0 {
			order = append(order, k)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(m.weight[b], m.weight[a]) })
	return order
}
