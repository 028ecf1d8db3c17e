package pairing

import (
	"cmp"
	"context"
	"slices"
)

// most returns a plan with as many chicks as the limits allow, up to those
// wanted; certain is false if more might be possible.
func (s *season) most(ctx context.Context) (plan []brood, certain bool, err error) {
	plan = s.inPlace()
	if count(plan) == min(s.chicks, s.space()) || s.moves == 0 {
		return plan, true, nil
	}
	// With moves: hatch the chicks that cannot be had in a pair of nobody's,
	// and have as few there as possible.
	males := s.breeders() - s.females
	none := &season{
		chicks: s.chicks, females: s.females + 1, moves: s.moves,
		cost:  make([]float64, s.breeders()+2),
		rooms: append(append([]room(nil), s.rooms...), room{-1, -1, -1}),
	}
	none.cost[s.females], none.cost[s.females+1+males] = 0.5, 0.5
	for range none.cost {
		none.kinship = append(none.kinship, make([]float64, len(none.cost)))
	}
	for _, o := range s.options {
		o.male++
		if o.mover >= s.females {
			o.mover++
		}
		none.options = append(none.options, o)
	}
	nobody := len(none.options)
	none.options = append(none.options, option{s.females, s.females + 1 + males, s.chicks, len(s.rooms), -1, 0})
	start := append([]brood(nil), plan...)
	if lacking := s.chicks - count(plan); lacking > 0 {
		start = append(start, brood{nobody, lacking})
	}
	best, err := none.solve(ctx, [][]brood{start}, 1, budget/4)
	if err != nil {
		return nil, false, err
	}
	// Without its pairs that need a move a plan has no more than one in place.
	most := count(plan)
	for range s.moves {
		most += slices.MaxFunc(s.options, func(a, b option) int { return cmp.Compare(a.most, b.most) }).most
	}
	plan = nil
	for _, b := range best.plan {
		if b.option != nobody {
			plan = append(plan, b)
		}
	}
	return plan, best.proven || count(plan) == most, nil
}

// space returns the number of chicks that the places with any options have
// room for, or the number wanted if that is less.
func (s *season) space() int {
	used := make([]bool, len(s.rooms))
	for i := range s.options {
		used[s.options[i].place] = true
	}
	total := 0
	for p, r := range s.rooms {
		if !used[p] {
			continue
		}
		if r.birds < 0 {
			return s.chicks
		}
		total += r.birds
	}
	return min(total, s.chicks)
}

// inPlace returns a plan without moves that has as many chicks as there can
// be, by a largest matching in each place (augmenting paths: Berge 1957).
func (s *season) inPlace() []brood {
	options := make([][]int, s.females)
	for i := range s.options {
		if o := &s.options[i]; o.mover < 0 {
			options[o.female] = append(options[o.female], i)
		}
	}
	by := make([]int, s.breeders()) // option of each male, -1 if he has none
	for m := range by {
		by[m] = -1
	}
	var seen []bool
	var augment func(f int) bool
	augment = func(f int) bool {
		for _, i := range options[f] {
			m := s.options[i].male
			if seen[m] {
				continue
			}
			seen[m] = true
			if by[m] < 0 || augment(s.options[by[m]].female) {
				by[m] = i
				return true
			}
		}
		return false
	}
	for f := range s.females {
		seen = make([]bool, s.breeders())
		augment(f)
	}
	left := s.chicks
	room := make([]int, len(s.rooms))
	for p := range room {
		if room[p] = s.rooms[p].birds; room[p] < 0 {
			room[p] = left
		}
	}
	var plan []brood
	for _, i := range by {
		if i < 0 {
			continue
		}
		o := &s.options[i]
		if k := min(o.most, left, room[o.place]); k > 0 {
			plan = append(plan, brood{i, k})
			left -= k
			room[o.place] -= k
		}
	}
	return plan
}
