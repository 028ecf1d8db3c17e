package season

import (
	"cmp"
	"context"
	"slices"
)

// most returns a plan with as many chicks as the limits allow, up to those
// wanted; certain is false if more might be possible.
func (s *Problem) most(ctx context.Context) (plan []Brood, certain bool, err error) {
	plan = s.inPlace()
	if count(plan) == min(s.Chicks, s.space()) || s.Moves == 0 {
		return plan, true, nil
	}
	// With moves: hatch the chicks that cannot be had in a pair of nobody's,
	// and have as few there as possible.
	males := s.breeders() - s.Females
	none := &Problem{
		Chicks: s.Chicks, Females: s.Females + 1, Moves: s.Moves,
		Cost:  make([]float64, s.breeders()+2),
		Rooms: append(slices.Clone(s.Rooms), Room{-1, -1, -1}),
	}
	none.Cost[s.Females], none.Cost[s.Females+1+males] = 0.5, 0.5
	for range none.Cost {
		none.Kinship = append(none.Kinship, make([]float64, len(none.Cost)))
	}
	for _, o := range s.Options {
		o.Male++
		if o.Mover >= s.Females {
			o.Mover++
		}
		none.Options = append(none.Options, o)
	}
	nobody := len(none.Options)
	none.Options = append(none.Options, Option{s.Females, s.Females + 1 + males, s.Chicks, len(s.Rooms), -1, 0})
	start := slices.Clone(plan)
	if lacking := s.Chicks - count(plan); lacking > 0 {
		start = append(start, Brood{nobody, lacking})
	}
	best, err := none.solve(ctx, [][]Brood{start}, 1, Budget/4)
	if err != nil {
		return nil, false, err
	}
	// Without its pairs that need a move a plan has no more than one in place.
	most := count(plan)
	for range s.Moves {
		most += slices.MaxFunc(s.Options, func(a, b Option) int { return cmp.Compare(a.Most, b.Most) }).Most
	}
	plan = nil
	for _, b := range best.plan {
		if b.Option != nobody {
			plan = append(plan, b)
		}
	}
	return plan, best.proven || count(plan) == most, nil
}

// space returns the number of chicks that the places with any options have
// room for, or the number wanted if that is less.
func (s *Problem) space() int {
	used := make([]bool, len(s.Rooms))
	for i := range s.Options {
		used[s.Options[i].Place] = true
	}
	total := 0
	for p, r := range s.Rooms {
		if !used[p] {
			continue
		}
		if r.Birds < 0 {
			return s.Chicks
		}
		total += r.Birds
	}
	return min(total, s.Chicks)
}

// inPlace returns a plan without moves that has as many chicks as there can
// be, by a largest matching in each place (augmenting paths: Berge 1957).
func (s *Problem) inPlace() []Brood {
	options := make([][]int, s.Females)
	for i := range s.Options {
		if o := &s.Options[i]; o.Mover < 0 {
			options[o.Female] = append(options[o.Female], i)
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
			m := s.Options[i].Male
			if seen[m] {
				continue
			}
			seen[m] = true
			if by[m] < 0 || augment(s.Options[by[m]].Female) {
				by[m] = i
				return true
			}
		}
		return false
	}
	for f := range s.Females {
		seen = make([]bool, s.breeders())
		augment(f)
	}
	left := s.Chicks
	room := make([]int, len(s.Rooms))
	for p := range room {
		if room[p] = s.Rooms[p].Birds; room[p] < 0 {
			room[p] = left
		}
	}
	var plan []Brood
	for _, i := range by {
		if i < 0 {
			continue
		}
		o := &s.Options[i]
		if k := min(o.Most, left, room[o.Place]); k > 0 {
			plan = append(plan, Brood{i, k})
			left -= k
			room[o.Place] -= k
		}
	}
	return plan
}
