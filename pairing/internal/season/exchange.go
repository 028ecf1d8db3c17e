package season

import (
	"math"
	"slices"
)

// worth is the least fall of S' that counts as a better plan: far below any
// real difference and above rounding.
const worth = 1e-10

// draft is a plan under change, with what is needed to tell at once what a
// change would do to S':
//
//	ΔS' = Σ_b ΔK_b h_b + ¼ ΔKᵀ f ΔK,    h = c + ½ f K
type draft struct {
	s      *Problem
	usage  *usage
	plan   []Brood
	at     []int // by breeder: its place in plan, -1 if it has none
	chicks []int // by breeder
	slope  []float64
	value  float64
	work   int
}

func newDraft(s *Problem, plan []Brood) *draft {
	d := &draft{s: s, usage: newUsage(s), at: make([]int, s.breeders()), chicks: make([]int, s.breeders())}
	for b := range d.at {
		d.at[b] = -1
	}
	d.slope = slices.Clone(s.Cost)
	d.value = s.Sum
	for _, b := range plan {
		d.change(-1, b.Option, b.Chicks)
	}
	return d
}

// change moves t chicks from the brood at place from to an option, which may
// be of the same birds if from is emptied; from is -1 to add chicks.
func (d *draft) change(from, option, t int) {
	d.value += d.delta(from, option, t)
	if from >= 0 {
		b := &d.plan[from]
		o := &d.s.Options[b.Option]
		d.hatch(o, -t)
		b.Chicks -= t
		pairs := 0
		if b.Chicks == 0 {
			pairs = -1
			d.at[o.Female], d.at[o.Male] = -1, -1
			last := len(d.plan) - 1
			if d.plan[from] = d.plan[last]; from != last {
				moved := &d.s.Options[d.plan[from].Option]
				d.at[moved.Female], d.at[moved.Male] = from, from
			}
			d.plan = d.plan[:last]
		}
		d.usage.add(o, -t, pairs)
	}
	o := &d.s.Options[option]
	d.hatch(o, t)
	if k := d.at[o.Female]; k >= 0 {
		d.plan[k].Chicks += t
		d.usage.add(o, t, 0)
		return
	}
	d.at[o.Female], d.at[o.Male] = len(d.plan), len(d.plan)
	d.plan = append(d.plan, Brood{option, t})
	d.usage.add(o, t, 1)
}

func (d *draft) hatch(o *Option, t int) {
	for _, b := range [2]int{o.Female, o.Male} {
		d.chicks[b] += t
		for j, f := range d.s.Kinship[b] {
			d.slope[j] += float64(t) * f / 2
		}
	}
	d.work += 2 * len(d.slope)
}

// delta returns the change of S' by change.
func (d *draft) delta(from, option, t int) float64 {
	o := &d.s.Options[option]
	f := d.s.Kinship
	x := float64(t)
	sum := x*(d.slope[o.Female]+d.slope[o.Male]) +
		x*x/4*(f[o.Female][o.Female]+f[o.Male][o.Male]+2*f[o.Female][o.Male])
	if from >= 0 {
		p := &d.s.Options[d.plan[from].Option]
		sum += -x*(d.slope[p.Female]+d.slope[p.Male]) +
			x*x/4*(f[p.Female][p.Female]+f[p.Male][p.Male]+2*f[p.Female][p.Male]) -
			x*x/2*(f[o.Female][p.Female]+f[o.Female][p.Male]+f[o.Male][p.Female]+f[o.Male][p.Male])
	}
	return sum
}

// free reports whether change keeps the limits.
func (d *draft) free(from, option, t int) bool {
	o := &d.s.Options[option]
	if t > o.Most {
		return false
	}
	a, b := d.at[o.Female], d.at[o.Male]
	empties := from >= 0 && d.plan[from].Chicks == t
	switch {
	case a >= 0 && a == b && d.plan[a].Option == option:
		if a == from || d.plan[a].Chicks+t > o.Most {
			return false
		}
	case (a >= 0 && !(empties && a == from)) || (b >= 0 && !(empties && b == from)):
		return false
	}
	opens := a < 0 || a == from
	if from >= 0 {
		p := &d.s.Options[d.plan[from].Option]
		if p.Place == o.Place && p.Mover < 0 && o.Mover < 0 {
			return true // nothing changes for the place
		}
		d.usage.add(p, -t, one(-1, empties))
		defer d.usage.add(p, t, one(1, empties))
	}
	d.usage.add(o, t, one(1, opens))
	ok := d.usage.moves <= d.s.Moves && d.usage.fits(o.Place)
	d.usage.add(o, -t, one(-1, opens))
	return ok
}

func one(sign int, yes bool) int {
	if yes {
		return sign
	}
	return 0
}

// grow adds chicks one by one where each costs least, until there are enough
// or none can be added (dynamic selection: Ivy & Lacy 2012, J Hered
// 103:186-196, with the exact S').
func (d *draft) grow() {
	for count(d.plan) < d.s.Chicks {
		best, least := -1, math.Inf(1)
		for i := range d.s.Options {
			if c := d.delta(-1, i, 1); c < least && d.free(-1, i, 1) {
				best, least = i, c
			}
		}
		d.work += len(d.s.Options)
		if best < 0 {
			return
		}
		d.change(-1, best, 1)
	}
}

// improve makes the best exchange of one chick, or of a whole brood, until none
// lowers S'.
func (d *draft) improve() {
	for {
		from, option, t, least := -1, -1, 0, -worth
		for k := range d.plan {
			b := d.plan[k]
			p := &d.s.Options[b.Option]
			slope := d.slope[p.Female] + d.slope[p.Male]
			for i := range d.s.Options {
				o := &d.s.Options[i]
				// The quadratic part of ΔS' is never below zero.
				gain := d.slope[o.Female] + d.slope[o.Male] - slope
				if float64(b.Chicks)*gain >= least {
					continue
				}
				for _, n := range [2]int{1, b.Chicks} {
					if c := d.delta(k, i, n); c < least && d.free(k, i, n) {
						from, option, t, least = k, i, n, c
					}
				}
			}
			d.work += len(d.s.Options)
		}
		if from < 0 {
			if !d.swap() {
				return
			}
			continue
		}
		d.change(from, option, t)
	}
}

// swap exchanges the mates of two broods, the first exchange found that lowers
// S'; false if there is none. Each bird of one sex keeps its chicks, the
// others' change places.
func (d *draft) swap() bool {
	for a := range d.plan {
		for b := range a {
			x, y := d.plan[a], d.plan[b]
			ox, oy := &d.s.Options[x.Option], &d.s.Options[y.Option]
			d.work++
			if d.shift(ox.Male, oy.Male, x.Chicks-y.Chicks) < -worth && d.remate(a, b, x.Chicks, y.Chicks) ||
				d.shift(ox.Female, oy.Female, x.Chicks-y.Chicks) < -worth && d.remate(a, b, y.Chicks, x.Chicks) {
				return true
			}
		}
	}
	return false
}

// shift returns the change of S' when one bird has t chicks less and another t
// more.
func (d *draft) shift(from, to, t int) float64 {
	f, x := d.s.Kinship, float64(t)
	return x*(d.slope[to]-d.slope[from]) + x*x/4*(f[to][to]+f[from][from]-2*f[to][from])
}

// remate exchanges the mates of two broods and sets their chicks, if a pair of
// options allows it.
func (d *draft) remate(a, b, chicksA, chicksB int) bool {
	ox, oy := &d.s.Options[d.plan[a].Option], &d.s.Options[d.plan[b].Option]
	for _, i := range d.s.between(ox.Female, oy.Male) {
		for _, j := range d.s.between(oy.Female, ox.Male) {
			if chicksA > d.s.Options[i].Most || chicksB > d.s.Options[j].Most {
				continue
			}
			next := slices.Clone(d.plan)
			next[a], next[b] = Brood{i, chicksA}, Brood{j, chicksB}
			if d.s.allowed(next) {
				work := d.work
				*d = *newDraft(d.s, next)
				d.work += work
				return true
			}
		}
	}
	return false
}

// between returns the options of a female and a male.
func (s *Problem) between(female, male int) []int {
	if s.ofFemale == nil {
		s.ofFemale = make([][]int, s.Females)
		for i := range s.Options {
			f := s.Options[i].Female
			s.ofFemale[f] = append(s.ofFemale[f], i)
		}
	}
	var found []int
	for _, i := range s.ofFemale[female] {
		if s.Options[i].Male == male {
			found = append(found, i)
		}
	}
	return found
}

// rounded makes a plan near a corner of the relaxation: its broods, largest
// first, as far as the limits allow.
func (s *Problem) rounded(broods []Brood) *draft {
	d := newDraft(s, nil)
	broods = slices.Clone(broods)
	slices.SortStableFunc(broods, func(a, b Brood) int { return b.Chicks - a.Chicks })
	for _, b := range broods {
		for t := b.Chicks; t > 0; t-- {
			if d.free(-1, b.Option, t) {
				d.change(-1, b.Option, t)
				break
			}
		}
	}
	return d
}

// settle exchanges mates among broods of as many chicks where that lowers the
// strain of the plan, in place of it. S' depends on every bird's chicks alone,
// so it stays as it is to the last digit.
func (s *Problem) settle(plan []Brood) {
	for again := true; again; {
		again = false
		for a := range plan {
			for b := range a {
				x, y := plan[a], plan[b]
				if x.Chicks != y.Chicks {
					continue
				}
				ox, oy := &s.Options[x.Option], &s.Options[y.Option]
				least := ox.Strain + oy.Strain - worth
				for _, i := range s.between(ox.Female, oy.Male) {
					for _, j := range s.between(oy.Female, ox.Male) {
						if s.Options[i].Strain+s.Options[j].Strain >= least || x.Chicks > min(s.Options[i].Most, s.Options[j].Most) {
							continue
						}
						plan[a].Option, plan[b].Option = i, j
						if s.allowed(plan) {
							least, x, y = s.Options[i].Strain+s.Options[j].Strain, plan[a], plan[b]
							again = true
						} else {
							plan[a], plan[b] = x, y
						}
					}
				}
			}
		}
	}
}
