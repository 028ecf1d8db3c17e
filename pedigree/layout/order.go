package layout

import (
	"cmp"
	"math/rand/v2"
	"slices"
)

// sortStarts is how many orders of the rows are tried to begin with.
const sortStarts = 8

// sortRows puts rows in order so that few lines cross: from the order of ids
// and from some random ones.
func (f *Family) sortRows() {
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
	turned := make(map[*chain][]*Node)
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

func (f *Family) sortRow(r int, down bool, all [][]net) {
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
func (f *Family) swap(all [][]net, best *int) {
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

func (f *Family) count(all [][]net) int {
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
