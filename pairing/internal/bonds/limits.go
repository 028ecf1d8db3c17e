package bonds

// limits are the limits on moves in one list: for each place on females, on
// males and on all birds that move in, then on all moves.
type limits struct {
	most []int // −1 without limit
}

// Kinds of a place's limits.
const (
	females = iota
	males
	birds
	kinds
)

func newLimits(p *Problem) limits {
	var l limits
	for _, r := range p.Rooms {
		l.most = append(l.most, r.Females, r.Males, r.Birds)
	}
	l.most = append(l.most, p.Moves)
	return l
}

// takes returns the limits that count a move, by number.
func (p *Problem) takes(f, m int, way Ways) (taken [3]int, n int) {
	if way == atHome {
		return taken, 0
	}
	place, kind := p.MaleAt[m], females
	if way == MaleMoves {
		place, kind = p.FemaleAt[f], males
	}
	if p.Rooms != nil {
		taken[0], taken[1] = place*kinds+kind, place*kinds+birds
		n = 2
	}
	taken[n] = len(p.Rooms) * kinds
	return taken, n + 1
}

// costs are what moves cost at prices of the limits, by the place moved to.
type costs struct{ female, male []float64 }

func (p *Problem) costs(price []float64) costs {
	n := max(1, len(p.Rooms))
	if p.Rooms == nil {
		for _, at := range [2][]int{p.FemaleAt, p.MaleAt} {
			for _, place := range at {
				n = max(n, place+1)
			}
		}
	}
	c := costs{make([]float64, n), make([]float64, n)}
	moves := price[len(p.Rooms)*kinds]
	for i := range n {
		c.female[i], c.male[i] = moves, moves
		if p.Rooms != nil {
			c.female[i] += price[i*kinds+females] + price[i*kinds+birds]
			c.male[i] += price[i*kinds+males] + price[i*kinds+birds]
		}
	}
	return c
}

// of returns what one way to form a pair costs.
func (c *costs) of(p *Problem, f, m int, way Ways) float64 {
	switch way {
	case FemaleMoves:
		return c.female[p.MaleAt[m]]
	case MaleMoves:
		return c.male[p.FemaleAt[f]]
	}
	return 0
}

// cheapest returns the way of a pair that costs least; there must be one.
func (c *costs) cheapest(p *Problem, f, m int, ways Ways) (Ways, float64) {
	switch ways &^ RatherMale {
	case FemaleMoves | MaleMoves:
		hers, his := c.female[p.MaleAt[m]], c.male[p.FemaleAt[f]]
		if his < hers || his == hers && ways&RatherMale != 0 {
			return MaleMoves, his
		}
		return FemaleMoves, hers
	case FemaleMoves:
		return FemaleMoves, c.female[p.MaleAt[m]]
	case MaleMoves:
		return MaleMoves, c.male[p.FemaleAt[f]]
	}
	return atHome, 0
}

// room reports whether one more move is within the limits.
func (p *Problem) room(use, most []int, f, m int, way Ways) bool {
	taken, n := p.takes(f, m, way)
	for _, t := range taken[:n] {
		if most[t] >= 0 && use[t] >= most[t] {
			return false
		}
	}
	return true
}

// fits counts one more move if it is within the limits, and reports whether it
// was.
func (p *Problem) fits(use, most []int, f, m int, way Ways) bool {
	if !p.room(use, most, f, m, way) {
		return false
	}
	taken, n := p.takes(f, m, way)
	for _, t := range taken[:n] {
		use[t]++
	}
	return true
}
