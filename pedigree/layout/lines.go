package layout

// Line is a straight line, from the corner of its family.
type Line struct{ X0, Y0, X1, Y1 float64 }

// Lines returns the lines of a family: between mates, down to their chicks and
// along the sibships.
func (f *Family) Lines() []Line {
	var out []Line
	for _, u := range f.Unions {
		if u.b == nil {
			continue
		}
		a, b, y := u.a.X+Radius, u.b.X-Radius, u.a.Y
		if u.a.X > u.b.X {
			a, b = u.b.X+Radius, u.a.X-Radius
		}
		if u.Couple.Kin {
			out = append(out, Line{a, y - 2, b, y - 2}, Line{a, y + 2, b, y + 2})
		} else {
			out = append(out, Line{a, y, b, y})
		}
	}
	for r := range f.rows {
		for _, n := range f.nets(r) {
			bus, x := f.bus[n.union][r], n.from.x()
			top := f.bus[n.union][r-1]
			switch u := n.union; {
			case n.from.chain.passes != nil: // from the line above
			case u.b == nil:
				top = u.a.Y + Radius + 5 + float64(u.a.lines)*LineHeight
			case u.Couple.Kin:
				top = u.a.Y + 2
			default:
				top = u.a.Y
			}
			out = append(out, Line{x, top, x, bus})
			low, high := x, x
			for _, to := range n.to {
				low, high = min(low, to.x()), max(high, to.x())
				if to.chain.passes == nil { // else the next row draws it
					out = append(out, Line{to.x(), bus, to.x(), to.chain.nodes[int(to.slot)].Y - Radius})
				}
			}
			if high > low {
				out = append(out, Line{low, bus, high, bus})
			}
		}
	}
	return out
}
