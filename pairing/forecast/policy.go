package forecast

import (
	"cmp"
	"slices"

	"pairwright/pairing"
)

// Policy is a way to choose the pairs of a season. Whatever the policy, bonds
// last while both birds live, and chicks are allowed one by one, up to the most
// of a pair, until as many are to be expected as are wanted.
type Policy interface {
	// Name is the name by which the policy is called for.
	Name() string
	choose(f *flock)
}

// Policies returns the policies that a programme is compared under, from what
// looks ahead furthest to what looks at nothing. The decision has the prices of
// the season's decision; a move must be worth a quarter of the spread of the values
// (both common practice, no source).
func Policies() []Policy {
	bond, move := pairing.Prices()
	return []Policy{
		Decision{BondPrice: bond, MovePrice: move, SeasonsAhead: 3, LeastGain: 0.25},
		DynamicList{}, StaticList{}, AvoidInbreeding{}, Bonds{}, Random{},
	}
}

// Random pairing takes pairs at random, kin or not.
type Random struct{}

// Name implements Policy.
func (Random) Name() string { return "random" }

func (Random) choose(f *flock) {
	f.byLot(f.season.females)
	f.byLot(f.season.males)
	f.match(f.mayMeet)
	f.inOrder(func(p brood) float64 { return f.lot(p.dam) })
}

// Bonds plans nothing: pairs breed as they are, in an order drawn by lot, and a
// free bird takes any free mate at its own place that is no close kin.
type Bonds struct{}

// Name implements Policy.
func (Bonds) Name() string { return "bonds" }

func (Bonds) choose(f *flock) {
	f.byLot(f.season.females)
	f.byLot(f.season.males)
	f.match(func(dam, sire int) bool { return f.birds[dam].place == f.birds[sire].place && f.mayBond(dam, sire) })
	f.inOrder(func(p brood) float64 { return f.lot(p.dam) })
}

// AvoidInbreeding gives every free female the free male least related to her,
// and lets the least related pairs breed.
type AvoidInbreeding struct{}

// Name implements Policy.
func (AvoidInbreeding) Name() string { return "avoid-inbreeding" }

func (AvoidInbreeding) choose(f *flock) {
	f.leaveOut()
	s := &f.season
	f.byLot(s.females)
	for _, dam := range s.females {
		best, least := -1, f.season.tooClose
		for k, sire := range s.males {
			if x := f.of(dam, sire); x < least && f.mayBond(dam, sire) {
				best, least = k, x
			}
		}
		if best >= 0 {
			f.propose(dam, s.males[best])
			s.males = slices.Delete(s.males, best, best+1)
		}
	}
	f.inOrder(func(p brood) float64 { return f.of(p.dam, p.sire) })
}

// StaticList pairs free birds by the list of their mean kinships, least with
// least, as it stands at the beginning of the season, and lets the pairs of the
// least mean kinship breed.
type StaticList struct{}

// Name implements Policy.
func (StaticList) Name() string { return "static-mean-kinship" }

func (StaticList) choose(f *flock) {
	f.leaveOut()
	s := &f.season
	byKinship := func(slots []int) {
		slices.SortStableFunc(slots, func(a, b int) int { return cmp.Compare(f.total[a], f.total[b]) })
	}
	byKinship(s.females)
	byKinship(s.males)
	f.match(f.mayBond)
	f.inOrder(func(p brood) float64 { return f.total[p.dam] + f.total[p.sire] })
}

// lot returns the lot of a bird in a season.
func (f *flock) lot(i int) float64 { return f.luck.of(drawOrder, f.birds[i].key, f.year) }

// byLot puts birds in an order drawn by lot.
func (f *flock) byLot(slots []int) {
	slices.SortStableFunc(slots, func(a, b int) int { return cmp.Compare(f.lot(a), f.lot(b)) })
}

// propose adds a pair of free birds to those that may breed. They are bonded
// when they are allowed a chick.
func (f *flock) propose(dam, sire int) {
	f.season.pairs = append(f.season.pairs, brood{dam, sire, f.chance(dam, sire), false})
}

// match gives every free female, in the order of the list, the first free male
// of his list that suits.
func (f *flock) match(suits func(dam, sire int) bool) {
	s := &f.season
	for _, dam := range s.females {
		for k, sire := range s.males {
			if suits(dam, sire) {
				f.propose(dam, sire)
				s.males = slices.Delete(s.males, k, k+1)
				break
			}
		}
	}
}

// inOrder lets the pairs breed, those with the least score first, each with as
// many chicks as a pair may have, until there are enough.
func (f *flock) inOrder(score func(brood) float64) {
	s := &f.season
	scores := make([]float64, f.stride)
	for _, p := range s.pairs {
		scores[p.dam] = score(p)
	}
	slices.SortStableFunc(s.pairs, func(a, b brood) int { return cmp.Compare(scores[a.dam], scores[b.dam]) })
	for _, p := range s.pairs {
		if f.enough(p.chance) {
			return
		}
		if !p.bonded {
			if f.meet(p.dam, p.sire) < 0 {
				continue // others took the room
			}
			f.bond(p.dam, p.sire)
		}
		for s.limit[p.dam] > 0 && !f.enough(p.chance) {
			f.allow(p)
		}
	}
}
