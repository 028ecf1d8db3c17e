package pairing

import "pairwright/pedigree/studbook"

// deathsAt returns how many females and males of a place are likely to die within
// a year, rounded down: their places come free.
func (p *Programme) deathsAt(code string) (dies [2]int) {
	var expected [2]float64
	for _, b := range p.Book.LivingAt(code) {
		sex := p.Book.Birds[b].Sex
		if sex == studbook.Unsexed {
			continue
		}
		expected[side(sex)] += 1 - p.worths().surviveFrom(b, 1)
	}
	for k := range dies {
		dies[k] = int(expected[k])
	}
	return dies
}

// movesBefore returns how often a bird has been moved.
func (p *Programme) movesBefore(b int) int { return p.moved[p.Book.Birds[b].ID] }

// countMoves counts the moves of each bird until today.
func (p *Programme) countMoves() map[string]int {
	n := map[string]int{}
	for i := range p.Book.Colony.Moves {
		if m := &p.Book.Colony.Moves[i]; m.Date.OnOrBefore(p.Book.AsOf) {
			n[m.ID]++
		}
	}
	return n
}
