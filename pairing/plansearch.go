package pairing

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
	s      *season
	usage  *usage
	plan   []brood
	at     []int // by breeder: its place in plan, -1 if it has none
	chicks []int // by breeder
	slope  []float64
	value  float64
	work   int
}

func newDraft(s *season, plan []brood) *draft {
	d := &draft{s: s, usage: newUsage(s), at: make([]int, s.breeders()), chicks: make([]int, s.breeders())}
	for b := range d.at {
		d.at[b] = -1
	}
	d.slope = slices.Clone(s.cost)
	d.value = s.sum
	for _, b := range plan {
		d.change(-1, b.option, b.chicks)
	}
	return d
}

// change moves t chicks from the brood at place from to an option, which may
// be of the same birds if from is emptied; from is -1 to add chicks.
func (d *draft) change(from, option, t int) {
	d.value += d.delta(from, option, t)
	if from >= 0 {
		b := &d.plan[from]
		o := &d.s.options[b.option]
		d.hatch(o, -t)
		b.chicks -= t
		pairs := 0
		if b.chicks == 0 {
			pairs = -1
			d.at[o.female], d.at[o.male] = -1, -1
			last := len(d.plan) - 1
			if d.plan[from] = d.plan[last]; from != last {
				moved := &d.s.options[d.plan[from].option]
				d.at[moved.female], d.at[moved.male] = from, from
			}
			d.plan = d.plan[:last]
		}
		d.usage.add(o, -t, pairs)
	}
	o := &d.s.options[option]
	d.hatch(o, t)
	if k := d.at[o.female]; k >= 0 {
		d.plan[k].chicks += t
		d.usage.add(o, t, 0)
		return
	}
	d.at[o.female], d.at[o.male] = len(d.plan), len(d.plan)
	d.plan = append(d.plan, brood{option, t})
	d.usage.add(o, t, 1)
}

func (d *draft) hatch(o *option, t int) {
	for _, b := range [2]int{o.female, o.male} {
		d.chicks[b] += t
		for j, f := range d.s.kinship[b] {
			d.slope[j] += float64(t) * f / 2
		}
	}
	d.work += 2 * len(d.slope)
}

// delta returns the change of S' by change.
func (d *draft) delta(from, option, t int) float64 {
	o := &d.s.options[option]
	f := d.s.kinship
	x := float64(t)
	sum := x*(d.slope[o.female]+d.slope[o.male]) +
		x*x/4*(f[o.female][o.female]+f[o.male][o.male]+2*f[o.female][o.male])
	if from >= 0 {
		p := &d.s.options[d.plan[from].option]
		sum += -x*(d.slope[p.female]+d.slope[p.male]) +
			x*x/4*(f[p.female][p.female]+f[p.male][p.male]+2*f[p.female][p.male]) -
			x*x/2*(f[o.female][p.female]+f[o.female][p.male]+f[o.male][p.female]+f[o.male][p.male])
	}
	return sum
}

// free reports whether change keeps the limits.
func (d *draft) free(from, option, t int) bool {
	o := &d.s.options[option]
	if t > o.most {
		return false
	}
	a, b := d.at[o.female], d.at[o.male]
	empties := from >= 0 && d.plan[from].chicks == t
	switch {
	case a >= 0 && a == b && d.plan[a].option == option:
		if a == from || d.plan[a].chicks+t > o.most {
			return false
		}
	case (a >= 0 && !(empties && a == from)) || (b >= 0 && !(empties && b == from)):
		return false
	}
	opens := a < 0 || a == from
	if from >= 0 {
		p := &d.s.options[d.plan[from].option]
		if p.place == o.place && p.mover < 0 && o.mover < 0 {
			return true // nothing changes for the place
		}
		d.usage.add(p, -t, one(-1, empties))
		defer d.usage.add(p, t, one(1, empties))
	}
	d.usage.add(o, t, one(1, opens))
	ok := d.usage.moves <= d.s.moves && d.usage.fits(o.place)
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
	for count(d.plan) < d.s.chicks {
		best, least := -1, math.Inf(1)
		for i := range d.s.options {
			if c := d.delta(-1, i, 1); c < least && d.free(-1, i, 1) {
				best, least = i, c
			}
		}
		d.work += len(d.s.options)
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
			p := &d.s.options[b.option]
			slope := d.slope[p.female] + d.slope[p.male]
			for i := range d.s.options {
				o := &d.s.options[i]
				// The quadratic part of ΔS' is never below zero.
				gain := d.slope[o.female] + d.slope[o.male] - slope
				if float64(b.chicks)*gain >= least {
					continue
				}
				for _, n := range [2]int{1, b.chicks} {
					if c := d.delta(k, i, n); c < least && d.free(k, i, n) {
						from, option, t, least = k, i, n, c
					}
				}
			}
			d.work += len(d.s.options)
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
			ox, oy := &d.s.options[x.option], &d.s.options[y.option]
			d.work++
			if d.shift(ox.male, oy.male, x.chicks-y.chicks) < -worth && d.remate(a, b, x.chicks, y.chicks) ||
				d.shift(ox.female, oy.female, x.chicks-y.chicks) < -worth && d.remate(a, b, y.chicks, x.chicks) {
				return true
			}
		}
	}
	return false
}

// shift returns the change of S' when one bird has t chicks less and another t
// more.
func (d *draft) shift(from, to, t int) float64 {
	f, x := d.s.kinship, float64(t)
	return x*(d.slope[to]-d.slope[from]) + x*x/4*(f[to][to]+f[from][from]-2*f[to][from])
}

// remate exchanges the mates of two broods and sets their chicks, if a pair of
// options allows it.
func (d *draft) remate(a, b, chicksA, chicksB int) bool {
	ox, oy := &d.s.options[d.plan[a].option], &d.s.options[d.plan[b].option]
	for _, i := range d.s.between(ox.female, oy.male) {
		for _, j := range d.s.between(oy.female, ox.male) {
			if chicksA > d.s.options[i].most || chicksB > d.s.options[j].most {
				continue
			}
			next := slices.Clone(d.plan)
			next[a], next[b] = brood{i, chicksA}, brood{j, chicksB}
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
func (s *season) between(female, male int) []int {
	if s.ofFemale == nil {
		s.ofFemale = make([][]int, s.females)
		for i := range s.options {
			f := s.options[i].female
			s.ofFemale[f] = append(s.ofFemale[f], i)
		}
	}
	var found []int
	for _, i := range s.ofFemale[female] {
		if s.options[i].male == male {
			found = append(found, i)
		}
	}
	return found
}

// rounded makes a plan near a corner of the relaxation: its broods, largest
// first, as far as the limits allow.
func (s *season) rounded(broods []brood) *draft {
	d := newDraft(s, nil)
	broods = slices.Clone(broods)
	slices.SortStableFunc(broods, func(a, b brood) int { return b.chicks - a.chicks })
	for _, b := range broods {
		for t := b.chicks; t > 0; t-- {
			if d.free(-1, b.option, t) {
				d.change(-1, b.option, t)
				break
			}
		}
	}
	return d
}

// settle exchanges mates among broods of as many chicks where that lowers the
// strain of the plan, in place of it. S' depends on every bird's chicks alone,
// so it stays as it is to the last digit.
func (s *season) settle(plan []brood) {
	for again := true; again; {
		again = false
		for a := range plan {
			for b := range a {
				x, y := plan[a], plan[b]
				if x.chicks != y.chicks {
					continue
				}
				ox, oy := &s.options[x.option], &s.options[y.option]
				least := ox.strain + oy.strain - worth
				for _, i := range s.between(ox.female, oy.male) {
					for _, j := range s.between(oy.female, ox.male) {
						if s.options[i].strain+s.options[j].strain >= least || x.chicks > min(s.options[i].most, s.options[j].most) {
							continue
						}
						plan[a].option, plan[b].option = i, j
						if s.allowed(plan) {
							least, x, y = s.options[i].strain+s.options[j].strain, plan[a], plan[b]
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
