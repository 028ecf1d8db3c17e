package layout

import (
	"math"
	"slices"
)

// fits lays a family out and reports whether it is no wider than a sheet. One
// with a row that is too wide by itself is not laid out.
func (f *Family) fits() bool {
	f.setRows()
	for _, row := range f.rows {
		width := -Gap
		for _, c := range row {
			width += c.width + Gap
		}
		if width > sheetWidth {
			return false
		}
	}
	f.layout()
	return f.Width <= sheetWidth
}

// layout finds the place of everything in a family.
func (f *Family) layout() {
	f.setRows()
	f.sortRows()
	f.setPlaces()
	f.setHeights()
}

// chains returns the chains of a family in the order of its symbols.
func (f *Family) chains() []*chain {
	var out []*chain
	seen := make(map[*chain]bool)
	for _, n := range f.Nodes {
		if !seen[n.chain] {
			seen[n.chain] = true
			out = append(out, n.chain)
		}
	}
	return out
}

// setRows sets every chain below all parents of its birds, and those without
// parents just above their first chicks.
func (f *Family) setRows() {
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
				c.width += Gap
			}
			c.offset = append(c.offset, c.width+n.width/2)
			c.width += n.width
		}
		f.rows[c.row] = append(f.rows[c.row], c)
	}
	for _, u := range f.Unions {
		for row := u.a.chain.row + 1; row < u.lowest(); row++ {
			f.rows[row] = append(f.rows[row], &chain{passes: u, row: row, width: 8})
		}
	}
	for _, row := range f.rows {
		enumerate(row)
	}
}

// lowest returns the lowest row with a chick of the couple.
func (u *Union) lowest() int {
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
	union *Union
	from  port
	to    []port
}

func (n *Node) port() port {
	return port{n.chain, float64(slices.Index(n.chain.nodes, n))}
}

func (u *Union) port() port {
	p := u.a.port()
	if u.b != nil {
		p.slot = (p.slot + u.b.port().slot) / 2
	}
	return p
}

// nets returns the lines between a row and the next.
func (f *Family) nets(row int) []net {
	passing := make(map[*Union][2]*chain)
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
	for _, u := range f.Unions {
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
