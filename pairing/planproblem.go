package pairing

import (
	"cmp"
	"slices"
)

// season is the choice of a season's broods in plain numbers. With N living
// birds whose kinships add up to S, and k_p chicks for each pair p = (i,j),
// the sum of all kinships among the living and the chicks is
//
//	S' = S + Σ_p k_p(R_i+R_j) + Σ_p k_p(1+f_ij)/2 + Σ_p k_p(k_p−1)·s_p
//	       + Σ_{p≠q} k_p k_q (f_iu+f_iv+f_ju+f_jv)/4
//
// with R the kinships of a bird with all the living and s_p = (f_ii+f_jj+2f_ij)/4
// that of two full siblings. Since f_ii = (1+F_i)/2, every term that belongs to
// a pair and not to a bird cancels, and with K_b the chicks of bird b
//
//	S' = S + Σ_b K_b c_b + ¼ Kᵀ f K,    c_b = R_b + (1−F_b)/8
//
// The plan with the least S' for a given number of chicks keeps the most gene
// diversity, 1 − S'/(N+Σk)². It is a convex quadratic in the birds' chicks
// (optimum contributions: Meuwissen 1997, J Anim Sci 75:934-940; Caballero &
// Toro 2000, Genet Res 75:331-343); pairs, mates, places and moves come in as
// limits alone.
type season struct {
	chicks int     // wanted, Σk
	sum    float64 // S
	slight float64 // a difference of S' that is not worth a long search

	// Breeders are numbered females first.
	females int
	cost    []float64   // c of each breeder
	kinship [][]float64 // f among breeders

	options []option
	moves   int // most pairs of which a bird moves
	rooms   []room

	ofFemale [][]int // options of each female, filled in by between
}

// option is a pair in one place.
type option struct {
	female, male int // breeders
	most         int // chicks, 1 or more
	place        int // where they hatch, in rooms
	mover        int // the breeder that moves there, -1 if none

	// strain is what speaks against the two as mates where S' cannot tell:
	// see settle.
	strain float64
}

// room is what a place has to spare; -1 where that is not known or not limited.
type room struct {
	birds          int // chicks and incoming birds together
	females, males int // incoming birds
}

// brood is some chicks of one option.
type brood struct{ option, chicks int }

// breeders returns the number of breeders.
func (s *season) breeders() int { return len(s.cost) }

// value returns S' of a plan.
func (s *season) value(plan []brood) float64 {
	k := make([]float64, s.breeders())
	for _, b := range plan {
		k[s.options[b.option].female] += float64(b.chicks)
		k[s.options[b.option].male] += float64(b.chicks)
	}
	sum := s.sum
	for i, ki := range k {
		if ki == 0 {
			continue
		}
		sum += ki * s.cost[i]
		for j, kj := range k {
			if kj != 0 {
				sum += ki * kj * s.kinship[i][j] / 4
			}
		}
	}
	return sum
}

// allowed reports whether a plan keeps all limits but the number of chicks.
func (s *season) allowed(plan []brood) bool {
	taken := make([]bool, s.breeders())
	u := newUsage(s)
	for _, b := range plan {
		o := &s.options[b.option]
		if b.chicks < 1 || b.chicks > o.most || taken[o.female] || taken[o.male] {
			return false
		}
		taken[o.female], taken[o.male] = true, true
		u.add(o, b.chicks, 1)
	}
	return u.within()
}

// count returns the number of chicks of a plan.
func count(plan []brood) int {
	n := 0
	for _, b := range plan {
		n += b.chicks
	}
	return n
}

// inOrder sorts a plan by option, so that one set of broods is one value.
func inOrder(plan []brood) []brood {
	plan = slices.Clone(plan)
	slices.SortFunc(plan, func(a, b brood) int { return cmp.Compare(a.option, b.option) })
	return plan
}

// usage is what a plan takes of the limits on moves and places.
type usage struct {
	s     *season
	moves int
	taken []room // by place
}

func newUsage(s *season) *usage { return &usage{s: s, taken: make([]room, len(s.rooms))} }

// add counts pairs (1, 0 or -1) with chicks in all of an option.
func (u *usage) add(o *option, chicks, pairs int) {
	t := &u.taken[o.place]
	t.birds += chicks
	if o.mover < 0 {
		return
	}
	u.moves += pairs
	t.birds += pairs
	if o.mover < u.s.females {
		t.females += pairs
	} else {
		t.males += pairs
	}
}

// within reports whether all limits are kept.
func (u *usage) within() bool {
	if u.moves > u.s.moves {
		return false
	}
	for p := range u.taken {
		if !u.fits(p) {
			return false
		}
	}
	return true
}

// fits reports whether the limits of one place are kept.
func (u *usage) fits(place int) bool {
	t, r := &u.taken[place], &u.s.rooms[place]
	return (r.birds < 0 || t.birds <= r.birds) &&
		(r.females < 0 || t.females <= r.females) &&
		(r.males < 0 || t.males <= r.males)
}
