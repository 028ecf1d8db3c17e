package bonds

import (
	"math"
	"slices"
)

// assignment is the plain assignment problem: pairs of a row and a column so
// that the sum of values is largest, unpaired allowed. It keeps prices u of the
// rows and v of the columns, all 0 or more, with
//
//	u_i + v_j ≥ value_ij,  equal for pairs;  u_i = 0, v_j = 0 for the unpaired
//
// which prove the pairs best: no sum exceeds Σu + Σv (Kuhn 1955, Naval Res
// Logist Q 2:83-97). Birds are brought in one at a time along shortest
// alternating paths (Jonker & Volgenant 1987, Computing 38:325-340).
type assignment struct {
	females, males side
	work           int // entries looked at, a clock that is the same everywhere
}

// side is the birds of one sex.
type side struct {
	value [][]float64 // by bird of this side, then of the other; −Inf: not allowed
	price []float64
	mate  []int // −1 if unpaired
	paths paths
}

// paths is the memory in which the paths to a bird are sought, by bird of the other side.
type paths struct {
	from  []int     // bird of this side from which it is reached
	price []float64 // its price; +Inf of one that is reached for good, or is not there
	dist  []float64 // so far; +Inf where it is not reached, or for good
	done  []reached
}

// reached is a bird of the other side that is reached for good.
type reached struct {
	bird int
	dist float64
}

// newAssignment returns an assignment without values or pairs.
func newAssignment(females, males int) *assignment {
	a, _ := assignmentIn(make([]float64, 2*females*males), females, males)
	return a
}

// assignmentIn returns an assignment without pairs, whose values stand in some
// memory, and the rest of that.
func assignmentIn(memory []float64, females, males int) (a *assignment, rest []float64) {
	a = &assignment{}
	a.females, memory = newSide(memory, females, males)
	a.males, memory = newSide(memory, males, females)
	return a, memory
}

func newSide(memory []float64, n, others int) (s side, rest []float64) {
	s = side{price: make([]float64, n), mate: make([]int, n)}
	s.value, rest = matrix(memory, n, others)
	for i := range s.mate {
		s.mate[i] = -1
	}
	return s, rest
}

// set gives a pair its value.
func (a *assignment) set(f, m int, value float64) {
	a.females.value[f][m] = value
	a.males.value[m][f] = value
}

// total returns Σu + Σv, the sum of the pairs' values once solved.
func (a *assignment) total() float64 {
	sum := 0.0
	for _, u := range a.females.price {
		sum += u
	}
	for _, v := range a.males.price {
		sum += v
	}
	return sum
}

// solve finds the best pairs, from the prices and pairs there are: after a
// change of values few birds need to be paired anew. Pairs are kept if they
// cost no more than rounding.
func (a *assignment) solve(rounding float64) {
	f, m := &a.females, &a.males
	for i, row := range f.value {
		f.price[i] = m.beyond(row)
	}
	a.work += len(f.value) * len(m.value)
	a.pair(rounding)
}

// pair is solve once every female has the least price that the males' allow.
func (a *assignment) pair(rounding float64) {
	f, m := &a.females, &a.males
	for i, j := range f.mate {
		if j < 0 {
			continue
		}
		if value := f.value[i][j]; f.price[i]+m.price[j]-value > rounding || value <= 0 {
			f.mate[i], m.mate[j] = -1, -1
		}
	}
	for i := range f.mate {
		if f.mate[i] < 0 && f.price[i] > 0 {
			a.work += f.enter(m, i, -1)
		}
	}
	for j := range m.mate {
		if m.mate[j] < 0 && m.price[j] > 0 {
			a.work += m.enter(f, j, -1)
		}
	}
}

// enter pairs an unpaired bird of this side whose price is above 0, or lets
// another of its side, or itself, go unpaired, whatever costs least; the bird
// of the other side with number skip is as if it were not there. It returns the
// work done.
func (s *side) enter(other *side, root, skip int) int {
	n := len(other.mate)
	if s.paths.from == nil {
		s.paths = paths{from: make([]int, n), price: make([]float64, n), dist: make([]float64, n)}
	}
	// Those reached for good stay in the lists, where no path is better than +Inf: to go
	// through all of them is quicker than to go through a list of the others.
	from, price, dist, done := s.paths.from, s.paths.price, s.paths.dist, s.paths.done[:0]
	left, work := n, n
	copy(price, other.price)
	if skip >= 0 {
		price[skip] = math.Inf(1)
		left--
	}
	for j := range dist {
		dist[j] = math.Inf(1)
	}
	at, d := root, 0.0
	// The path ends with a bird of this side left unpaired, or with an
	// unpaired one of the other.
	end, leaves, free := s.price[root], root, -1
	for {
		row, u := s.value[at], d+s.price[at]
		nearest, best := -1, end
		price, dist := price[:len(row)], dist[:len(row)]
		for j, value := range row {
			c := u + price[j] - value
			if c < d { // not max, which takes care of what is no number, and twice as long
				c = d
			}
			if c < dist[j] {
				dist[j], from[j] = c, at
			}
			if dist[j] < best {
				nearest, best = j, dist[j]
			}
		}
		work += left
		if nearest < 0 {
			break
		}
		j := nearest
		if other.mate[j] < 0 {
			end, free = best, j
			break
		}
		done = append(done, reached{j, best})
		price[j], dist[j] = math.Inf(1), math.Inf(1)
		left--
		at, d = other.mate[j], best
		if c := d + s.price[at]; c < end {
			end, leaves = c, at
		}
	}
	s.paths.done = done
	s.price[root] = max(0, s.price[root]-end)
	for _, x := range done {
		i := other.mate[x.bird]
		s.price[i] = max(0, s.price[i]-(end-x.dist))
		other.price[x.bird] += end - x.dist
	}
	j := free
	if free < 0 {
		s.price[leaves] = 0
		if leaves == root {
			return work
		}
		j = s.mate[leaves]
		s.mate[leaves] = -1
	}
	for {
		i := from[j]
		next := s.mate[i]
		s.mate[i], other.mate[j] = j, i
		if i == root {
			return work
		}
		j = next
	}
}

// losses returns for each bird of this side by how much the sum falls if its
// mate goes (less that mate's own price): the cost of the shortest alternating
// path on which it finds another mate or goes unpaired. The bird skip of this
// side is as if it were not there.
func (s *side) losses(other *side, skip int) []float64 {
	loss := make([]float64, len(s.mate))
	for i, row := range s.value {
		loss[i] = s.price[i]
		if s.mate[i] < 0 {
			loss[i] = 0
			continue
		}
		for j, value := range row {
			if other.mate[j] < 0 {
				loss[i] = min(loss[i], max(0, s.price[i]+other.price[j]-value))
			}
		}
	}
	left := make([]int, 0, len(loss))
	for i := range loss {
		if i != skip {
			left = append(left, i)
		}
	}
	for len(left) > 0 {
		nearest := 0
		for k, i := range left {
			if loss[i] < loss[left[nearest]] {
				nearest = k
			}
		}
		i := left[nearest]
		left = slices.Delete(left, nearest, nearest+1)
		j := s.mate[i]
		if j < 0 {
			continue
		}
		column, v := other.value[j], other.price[j]+loss[i]
		for _, k := range left {
			loss[k] = min(loss[k], max(loss[i], s.price[k]+v-column[k]))
		}
	}
	return loss
}

// clone returns a copy that shares the values.
func (a *assignment) clone() *assignment {
	c := *a
	for _, s := range []*side{&c.females, &c.males} {
		s.price, s.mate, s.paths = slices.Clone(s.price), slices.Clone(s.mate), paths{}
	}
	return &c
}
