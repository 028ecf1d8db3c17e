package bonds

import "math"

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

// cost returns what a move costs at prices of the limits.
func (p *Problem) cost(f, m int, way Ways, price []float64) float64 {
	taken, n := p.takes(f, m, way)
	c := 0.0
	for _, t := range taken[:n] {
		c += price[t]
	}
	return c
}

// cheapest returns the way of a pair that costs least, +Inf if there is none.
func (p *Problem) cheapest(f, m int, ways Ways, price []float64) (Ways, float64) {
	if ways == atHome {
		return atHome, 0
	}
	order := [2]Ways{FemaleMoves, MaleMoves}
	if ways&RatherMale != 0 {
		order = [2]Ways{MaleMoves, FemaleMoves}
	}
	best, least := Ways(0), math.Inf(1)
	for _, way := range order {
		if ways&way == 0 {
			continue
		}
		if c := p.cost(f, m, way, price); c < least {
			best, least = way, c
		}
	}
	return best, least
}

// fits counts one more move if it is within the limits, and reports whether it
// was.
func (p *Problem) fits(use, most []int, f, m int, way Ways) bool {
	taken, n := p.takes(f, m, way)
	for _, t := range taken[:n] {
		if most[t] >= 0 && use[t] >= most[t] {
			return false
		}
	}
	for _, t := range taken[:n] {
		use[t]++
	}
	return true
}
