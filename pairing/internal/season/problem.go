package season

import (
	"cmp"
	"slices"
)

// Problem is the choice of a season's broods in plain numbers. With N living
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
type Problem struct {
	Chicks int     // wanted, Σk
	Living int     // N
	Sum    float64 // S

	// Breeders are numbered females first.
	Females int
	Cost    []float64   // c of each breeder
	Kinship [][]float64 // f among breeders

	Options []Option
	Moves   int    // most pairs of which a bird moves
	Rooms   []Room // of each place

	slight   float64 // a difference of S' that is not worth a long search
	ofFemale [][]int // options of each female, filled in by between
}

// Option is a pair in one place.
type Option struct {
	Female, Male int // breeders
	Most         int // chicks, 1 or more
	Place        int // where they hatch, in Rooms
	Mover        int // the breeder that moves there, -1 if none

	// Strain is what speaks against the two as mates where S' cannot tell:
	// see settle.
	Strain float64
}

// Room is what a place has to spare; -1 where that is not known or not limited.
type Room struct {
	Birds          int // chicks and incoming birds together
	Females, Males int // incoming birds
}

// Brood is some chicks of one option.
type Brood struct{ Option, Chicks int }

// breeders returns the number of breeders.
func (s *Problem) breeders() int { return len(s.Cost) }

// geneDiversity returns 1 − S'/(N+Σk)².
func (s *Problem) geneDiversity(sum float64, chicks int) float64 {
	n := float64(s.Living + chicks)
	return 1 - sum/(n*n)
}

// Only returns the season with some of its options alone.
func (s *Problem) Only(keep func(o *Option) bool) *Problem {
	q := *s
	q.Moves, q.Options, q.ofFemale = 0, nil, nil
	for _, o := range s.Options {
		if !keep(&o) {
			continue
		}
		q.Options = append(q.Options, o)
		if o.Mover >= 0 {
			q.Moves = s.Moves
		}
	}
	return &q
}

func (s *Problem) withoutMoves() *Problem {
	return s.Only(func(o *Option) bool { return o.Mover < 0 })
}

// value returns S' of a plan.
func (s *Problem) value(plan []Brood) float64 {
	k := make([]float64, s.breeders())
	for _, b := range plan {
		k[s.Options[b.Option].Female] += float64(b.Chicks)
		k[s.Options[b.Option].Male] += float64(b.Chicks)
	}
	sum := s.Sum
	for i, ki := range k {
		if ki == 0 {
			continue
		}
		sum += ki * s.Cost[i]
		for j, kj := range k {
			if kj != 0 {
				sum += ki * kj * s.Kinship[i][j] / 4
			}
		}
	}
	return sum
}

// allowed reports whether a plan keeps all limits but the number of chicks.
func (s *Problem) allowed(plan []Brood) bool {
	taken := make([]bool, s.breeders())
	u := newUsage(s)
	for _, b := range plan {
		o := &s.Options[b.Option]
		if b.Chicks < 1 || b.Chicks > o.Most || taken[o.Female] || taken[o.Male] {
			return false
		}
		taken[o.Female], taken[o.Male] = true, true
		u.add(o, b.Chicks, 1)
	}
	return u.within()
}

// count returns the number of chicks of a plan.
func count(plan []Brood) int {
	n := 0
	for _, b := range plan {
		n += b.Chicks
	}
	return n
}

// inOrder sorts a plan by option, so that one set of broods is one value.
func inOrder(plan []Brood) []Brood {
	plan = slices.Clone(plan)
	slices.SortFunc(plan, func(a, b Brood) int { return cmp.Compare(a.Option, b.Option) })
	return plan
}

// usage is what a plan takes of the limits on moves and places.
type usage struct {
	s     *Problem
	moves int
	taken []Room // by place
}

func newUsage(s *Problem) *usage { return &usage{s: s, taken: make([]Room, len(s.Rooms))} }

// add counts pairs (1, 0 or -1) with chicks in all of an option.
func (u *usage) add(o *Option, chicks, pairs int) {
	t := &u.taken[o.Place]
	t.Birds += chicks
	if o.Mover < 0 {
		return
	}
	u.moves += pairs
	t.Birds += pairs
	if o.Mover < u.s.Females {
		t.Females += pairs
	} else {
		t.Males += pairs
	}
}

// within reports whether all limits are kept.
func (u *usage) within() bool {
	if u.moves > u.s.Moves {
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
	t, r := &u.taken[place], &u.s.Rooms[place]
	return (r.Birds < 0 || t.Birds <= r.Birds) &&
		(r.Females < 0 || t.Females <= r.Females) &&
		(r.Males < 0 || t.Males <= r.Males)
}
