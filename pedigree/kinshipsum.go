package pedigree

// KinshipSum is the sum of all N² kinships of a set of birds, selves included,
//
//	S = Σ_i Σ_j f_ij
//
// carried along as birds join and leave. Birds that are not hatched yet can
// join too. The zero KinshipSum is that of nobody.
type KinshipSum struct {
	Birds float64 // N; a sum of weights where birds do not all count alike
	Total float64 // S
}

// Join returns the sum once some birds have joined: with is the sum of the
// kinships of each of them with each of those that are there, among that of
// all kinships among themselves, selves included.
//
//	S' = S + 2·with + among  over N + birds
//
// For one bird x, with is R_x = Σ_j f_xj and among is f_xx.
func (s KinshipSum) Join(birds, with, among float64) KinshipSum {
	return KinshipSum{s.Birds + birds, s.Total + 2*with + among}
}

// Leave returns the sum once some birds have left: with is the sum of their
// kinships with those that remain, among as in Join.
//
//	S' = S − 2·with − among  over N − birds
//
// Nobody at all has a sum of 0, without a trace of rounding.
func (s KinshipSum) Leave(birds, with, among float64) KinshipSum {
	if s.Birds <= birds {
		return KinshipSum{}
	}
	return KinshipSum{s.Birds - birds, s.Total - 2*with - among}
}

// MeanKinship returns S/N²; ok is false if there is nobody.
func (s KinshipSum) MeanKinship() (mk float64, ok bool) {
	if s.Birds == 0 {
		return 0, false
	}
	return s.Total / (s.Birds * s.Birds), true
}

// GeneDiversity returns 1 − S/N²; ok is false if there is nobody.
func (s KinshipSum) GeneDiversity() (gd float64, ok bool) {
	if s.Birds == 0 {
		return 0, false
	}
	return (s.Birds*s.Birds - s.Total) / (s.Birds * s.Birds), true
}

// Gain returns by how much gene diversity is larger in the set that this one
// becomes:
//
//	S/N² − S'/N'² = (S·(N'−N)(N'+N)/N² − (S'−S)) / N'²
//
// The two quotients on the left are nearly equal, and their difference would
// lose the digits that they share. The gene diversity of nobody counts as 0.
func (s KinshipSum) Gain(then KinshipSum) float64 {
	switch {
	case s.Birds == 0:
		gd, _ := then.GeneDiversity()
		return gd
	case then.Birds == 0:
		gd, _ := s.GeneDiversity()
		return -gd
	}
	n, m := s.Birds, then.Birds
	return (s.Total*(m-n)*(m+n)/(n*n) - (then.Total - s.Total)) / (m * m)
}

// FullSibs returns the sum of all kinships among k chicks of one pair, selves
// included, from the kinship f_ij of the two and each of theirs with itself:
//
//	k(1 + f_ij)/2 + k(k−1)(f_ii + f_jj + 2f_ij)/4
func FullSibs(k, fij, fii, fjj float64) float64 {
	return k*(1+fij)/2 + k*(k-1)*(fii+fjj+2*fij)/4
}

// Flock is a set of birds of a pedigree that come and go, with the sum of all
// their kinships.
type Flock struct {
	sum    KinshipSum
	member []bool // by node
}

// Flock returns the birds at nodes as a set that can change. It panics if a
// node is given twice.
func (p *Pedigree) Flock(nodes []int) *Flock {
	f := &Flock{sum: p.Population(nodes).Sum(), member: make([]bool, p.Len())}
	for _, node := range nodes {
		f.member[node] = true
	}
	return f
}

// Sum returns the sum of all kinships as the flock stands.
func (f *Flock) Sum() KinshipSum { return f.sum }

// Join lets a bird come and returns the exact change in gene diversity, 0 for
// one that is there. kinships are those of the bird, by node: see
// Pedigree.Kinships.
func (f *Flock) Join(node int, kinships []float64) float64 {
	if f.member[node] {
		return 0
	}
	before := f.sum
	f.sum = f.sum.Join(1, f.with(kinships), kinships[node])
	f.member[node] = true
	return before.Gain(f.sum)
}

// Leave lets a bird go and returns the exact change in gene diversity, 0 for
// one that is not there. kinships are as in Join.
func (f *Flock) Leave(node int, kinships []float64) float64 {
	if !f.member[node] {
		return 0
	}
	before := f.sum
	f.member[node] = false
	f.sum = f.sum.Leave(1, f.with(kinships), kinships[node])
	return before.Gain(f.sum)
}

// with returns the sum of some kinships over the flock.
func (f *Flock) with(kinships []float64) float64 {
	sum := 0.0
	for node, here := range f.member {
		if here {
			sum += kinships[node]
		}
	}
	return sum
}
