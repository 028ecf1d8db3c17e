package pedigree

import (
	"fmt"
	"math/big"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"pairwright/pedigree/studbook"
)

// recursion is kinship by its plain definition (Malécot 1948) in exact
// fractions: trace the bird with more generations behind it to its parents.
// It works on the birds as given and shares nothing with Pedigree.
type recursion struct {
	birds map[string]studbook.Bird
	known map[[2]string]*big.Rat
	memo  map[[2]string]*big.Rat
	deep  map[string]int
}

func newRecursion(birds []studbook.Bird, known []studbook.FounderKinship) *recursion {
	r := &recursion{map[string]studbook.Bird{}, map[[2]string]*big.Rat{}, map[[2]string]*big.Rat{}, map[string]int{}}
	for _, b := range birds {
		r.birds[b.ID] = b
	}
	for _, k := range known {
		r.known[ordered(k.ID1, k.ID2)] = new(big.Rat).SetFloat64(k.Kinship)
	}
	return r
}

func ordered(a, b string) [2]string { return [2]string{min(a, b), max(a, b)} }

// parents returns the possible parents on both sides with their weights. What
// is missing is a founder of its own.
func (r *recursion) parents(id string) (sides [2]map[string]*big.Rat, founder bool) {
	b, ok := r.birds[id]
	if !ok || b.Founder() {
		return sides, true
	}
	for k, side := range [2]studbook.Parentage{b.Sire, b.Dam} {
		sides[k] = map[string]*big.Rat{}
		rest := big.NewRat(1, 1)
		for _, c := range side.Candidates {
			w := new(big.Rat).SetFloat64(c.Weight)
			sides[k][c.ID] = w
			rest.Sub(rest, w)
		}
		if rest.Sign() > 0 {
			sides[k][fmt.Sprint("parent ", k, " of ", id)] = rest
		}
	}
	return sides, false
}

func (r *recursion) depth(id string) int {
	if d, ok := r.deep[id]; ok {
		return d
	}
	sides, founder := r.parents(id)
	d := 0
	if !founder {
		for _, side := range sides {
			for parent := range side {
				d = max(d, r.depth(parent)+1)
			}
		}
	}
	r.deep[id] = d
	return d
}

func (r *recursion) kinship(a, b string) *big.Rat {
	key := ordered(a, b)
	if f, ok := r.memo[key]; ok {
		return f
	}
	if r.depth(a) < r.depth(b) {
		a, b = b, a
	}
	f := new(big.Rat)
	half := big.NewRat(1, 2)
	sides, founder := r.parents(a)
	switch {
	case founder:
		if k, ok := r.known[key]; ok {
			f.Set(k)
		} else if a == b {
			f.Set(half)
		}
	case a == b:
		f.Add(big.NewRat(1, 1), r.inbreeding(a))
		f.Mul(f, half)
	default:
		for _, side := range sides {
			for parent, w := range side {
				f.Add(f, mul(w, r.kinship(parent, b), half))
			}
		}
	}
	r.memo[key] = f
	return f
}

// inbreeding is the kinship of the parents, averaged over who they may be.
func (r *recursion) inbreeding(id string) *big.Rat {
	sides, founder := r.parents(id)
	f := new(big.Rat)
	if founder {
		f.Add(r.kinship(id, id), r.kinship(id, id))
		return f.Sub(f, big.NewRat(1, 1))
	}
	for sire, p := range sides[0] {
		for dam, q := range sides[1] {
			f.Add(f, mul(p, q, r.kinship(sire, dam)))
		}
	}
	return f
}

func mul(x ...*big.Rat) *big.Rat {
	product := big.NewRat(1, 1)
	for _, v := range x {
		product.Mul(product, v)
	}
	return product
}

func float(x *big.Rat) float64 {
	v, _ := x.Float64()
	return v
}

// factors is relationship as T B Tᵀ (Henderson 1976), T filled row by row and
// the three multiplied out. An unknown parent is no node of it; uncertain
// parents it does not know.
func factors(birds []studbook.Bird, known []studbook.FounderKinship) (*mat.Dense, map[string]int) {
	at := map[string]int{}
	n := len(birds)
	t, b := mat.NewDense(n, n, nil), mat.NewDense(n, n, nil)
	f := make([]float64, n)
	place := func(x studbook.Bird) {
		i := len(at)
		at[x.ID] = i
		t.Set(i, i, 1)
		d := 1.0
		parents := [2]int{-1, -1}
		for k, side := range [2]studbook.Parentage{x.Sire, x.Dam} {
			id, ok := side.Known()
			if !ok {
				continue
			}
			q := at[id]
			parents[k] = q
			d -= (1 + f[q]) / 4
			for j := range i {
				t.Set(i, j, t.At(i, j)+t.At(q, j)/2)
			}
		}
		b.Set(i, i, d)
		if parents[0] >= 0 && parents[1] >= 0 {
			f[i] = mat.Inner(t.RowView(parents[0]), b, t.RowView(parents[1])) / 2
		}
	}
	for _, x := range birds {
		if x.Founder() {
			place(x)
		}
	}
	for _, k := range known {
		i, j := at[k.ID1], at[k.ID2]
		b.Set(i, j, 2*k.Kinship)
		b.Set(j, i, 2*k.Kinship)
		if i == j {
			f[i] = 2*k.Kinship - 1
		}
	}
	for len(at) < n {
		for _, x := range birds {
			if _, done := at[x.ID]; done {
				continue
			}
			ready := true
			for _, side := range [2]studbook.Parentage{x.Sire, x.Dam} {
				if id, ok := side.Known(); ok {
					_, there := at[id]
					ready = ready && there
				}
			}
			if ready {
				place(x)
			}
		}
	}
	var a mat.Dense
	a.Product(t, b, t.T())
	return &a, at
}

// randomColony is a colony of a few founders, some known to be related, whose
// birds breed with any elder bird of the other sex. Some have unknown parents
// and, if uncertain, some have several possible ones. Ids say nothing of age;
// hatch dates are partly missing. All weights and kinships are dyadic.
func randomColony(r *rand.Rand, uncertain bool) (birds []studbook.Bird, known []studbook.FounderKinship) {
	n := 8 + r.IntN(20)
	founders := 3 + r.IntN(4)
	ids := r.Perm(n)
	sexes := [2]studbook.Sex{studbook.Male, studbook.Female}
	for i := range n {
		b := studbook.Bird{ID: fmt.Sprint("b", ids[i]), Sex: sexes[i%2]}
		if r.IntN(2) == 0 {
			b.Hatch.First = studbook.DayOf(1990, 1, 1) + studbook.Day(100*i+r.IntN(500))
			b.Hatch.Last = b.Hatch.First
		}
		if i >= founders {
			b.Sire = randomParent(r, birds, 0, uncertain)
			b.Dam = randomParent(r, birds, 1, uncertain)
		}
		birds = append(birds, b)
	}
	if r.IntN(2) == 0 {
		known = randomKinships(r, birds[:founders])
	}
	return birds, known
}

func randomParent(r *rand.Rand, elders []studbook.Bird, parity int, uncertain bool) studbook.Parentage {
	pick := func() string {
		// The young breed more often, so that lines grow long.
		k := max(r.IntN(len(elders)), r.IntN(len(elders)))&^1 + parity
		if k >= len(elders) {
			k -= 2
		}
		return elders[k].ID
	}
	switch {
	case len(elders) < 2 || r.IntN(10) == 0:
		return studbook.Parentage{}
	case !uncertain || r.IntN(4) > 0 || len(elders) < 4:
		return studbook.Parentage{Candidates: []studbook.Candidate{{ID: pick(), Weight: 1}}}
	}
	var side studbook.Parentage
	left := 8
	for left > 0 && len(side.Candidates) < 3 && r.IntN(4) > 0 {
		id := pick()
		if slices.ContainsFunc(side.Candidates, func(c studbook.Candidate) bool { return c.ID == id }) {
			continue
		}
		w := 1 + r.IntN(left)
		left -= w
		side.Candidates = append(side.Candidates, studbook.Candidate{ID: id, Weight: float64(w) / 8})
	}
	return side
}

// randomKinships lets the founders descend from four birds before the
// studbook, with random shares, so that the kinships are possible.
func randomKinships(r *rand.Rand, founders []studbook.Bird) (known []studbook.FounderKinship) {
	share := make([][4]float64, len(founders))
	for a := range share {
		for range 4 {
			share[a][r.IntN(4)] += 0.25
		}
	}
	for a := range founders {
		if r.IntN(2) == 0 {
			known = append(known, studbook.FounderKinship{ID1: founders[a].ID, ID2: founders[a].ID, Kinship: 0.5 + float64(r.IntN(5))/8})
		}
		for b := range a {
			f := 0.0
			for k := range 4 {
				f += share[a][k] * share[b][k] / 2
			}
			if f > 0 {
				known = append(known, studbook.FounderKinship{ID1: founders[a].ID, ID2: founders[b].ID, Kinship: f})
			}
		}
	}
	return known
}

// colonies runs do on many random colonies.
func colonies(t *testing.T, uncertain bool, do func(t *testing.T, r *rand.Rand, birds []studbook.Bird, known []studbook.FounderKinship)) {
	for seed := range uint64(80) {
		t.Run(fmt.Sprint("seed ", seed), func(t *testing.T) {
			r := rand.New(rand.NewPCG(seed, 1))
			birds, known := randomColony(r, uncertain)
			do(t, r, birds, known)
		})
	}
}

func build(t testing.TB, birds []studbook.Bird, known []studbook.FounderKinship) *Pedigree {
	t.Helper()
	p, err := New(t.Context(), birds, known)
	require.NoError(t, err)
	return p
}

func TestAgainstFactors(t *testing.T) {
	colonies(t, false, func(t *testing.T, r *rand.Rand, birds []studbook.Bird, known []studbook.FounderKinship) {
		p := build(t, birds, known)
		a, at := factors(birds, known)
		for _, x := range birds {
			i := node(t, p, x.ID)
			assert.InDelta(t, a.At(at[x.ID], at[x.ID])-1, p.F(i), exact)
			for _, y := range birds {
				assert.InDelta(t, a.At(at[x.ID], at[y.ID])/2, p.Kinship(i, node(t, p, y.ID)), exact)
			}
		}
	})
}

func TestAgainstRecursion(t *testing.T) {
	inbred, uncertain := 0, 0
	colonies(t, true, func(t *testing.T, r *rand.Rand, birds []studbook.Bird, known []studbook.FounderKinship) {
		p := build(t, birds, known)
		exactly := newRecursion(birds, known)
		uncertain += len(p.mixtures)
		for _, x := range birds {
			i := node(t, p, x.ID)
			f := float(exactly.inbreeding(x.ID))
			if f > 0 {
				inbred++
			}
			assert.InDelta(t, f, p.F(i), exact, "F of %s", x.ID)
			row := p.Kinships(i)
			for _, y := range birds {
				f := float(exactly.kinship(x.ID, y.ID))
				j := node(t, p, y.ID)
				assert.InDelta(t, f, p.Kinship(i, j), exact, "%s and %s", x.ID, y.ID)
				assert.InDelta(t, f, row[j], exact, "%s and %s", x.ID, y.ID)
			}
		}

		members := r.Perm(len(birds))[:1+r.IntN(len(birds))]
		list := make([]int, len(members))
		for k, m := range members {
			list[k] = node(t, p, birds[m].ID)
		}
		matrix, err := p.KinshipMatrix(t.Context(), list)
		require.NoError(t, err)
		total := new(big.Rat)
		for k, a := range members {
			for l, b := range members {
				f := exactly.kinship(birds[a].ID, birds[b].ID)
				total.Add(total, f)
				assert.InDelta(t, float(f), matrix.At(k, l), exact)
			}
		}

		q := p.Population(list)
		n := float64(len(list))
		gd, ok := q.GeneDiversity()
		require.True(t, ok)
		assert.InDelta(t, 1-float(total)/(n*n), gd, exact, "gene diversity")
		value := make(map[int]int64)
		for _, i := range list {
			value[i] = 1 + r.Int64N(3)
		}
		kv, ok := q.KinshipValues(func(i int) float64 { return float64(value[i]) })
		require.True(t, ok)
		meanF := 0.0
		for _, i := range list {
			meanF += p.F(i) / n
		}
		got, ok := q.MeanInbreeding()
		require.True(t, ok)
		assert.InDelta(t, meanF, got, exact)
		for _, x := range birds {
			plain, weighted, weights := new(big.Rat), new(big.Rat), int64(0)
			for k, m := range members {
				f, v := exactly.kinship(x.ID, birds[m].ID), value[list[k]]
				plain.Add(plain, f)
				weighted.Add(weighted, mul(f, big.NewRat(v, 1)))
				weights += v
			}
			i := node(t, p, x.ID)
			assert.InDelta(t, float(plain)/n, q.MeanKinshipOf(i), exact, "mean kinship of %s", x.ID)
			assert.InDelta(t, float(weighted)/float64(weights), kv[i], exact, "kinship value of %s", x.ID)
		}
	})
	assert.Greater(t, inbred, 400, "the random colonies are too loose to tell anything")
	assert.Greater(t, uncertain, 200)
}

// Sums of kinships are exact in shallow pedigrees, so means are the fractions
// rounded once: 0.075 is 0.075 to the last digit. Hence no tolerance.
func TestMeansAreRoundedOnce(t *testing.T) {
	colonies(t, false, func(t *testing.T, r *rand.Rand, birds []studbook.Bird, known []studbook.FounderKinship) {
		p := build(t, birds, known)
		exactly := newRecursion(birds, known)
		members := birds[:1+r.IntN(len(birds))]
		n := big.NewRat(int64(len(members)), 1)
		total := new(big.Rat)
		list := make([]int, len(members))
		for k, b := range members {
			list[k] = node(t, p, b.ID)
		}
		q := p.Population(list)
		for _, b := range birds {
			sum := new(big.Rat)
			for _, m := range members {
				sum.Add(sum, exactly.kinship(b.ID, m.ID))
			}
			if i := node(t, p, b.ID); slices.Contains(list, i) {
				total.Add(total, sum)
			}
			assert.Equal(t, float(sum.Quo(sum, n)), q.MeanKinshipOf(node(t, p, b.ID)), "mean kinship of %s", b.ID)
		}
		mk, _ := q.MeanKinship()
		gd, _ := q.GeneDiversity()
		want := total.Quo(total, mul(n, n))
		assert.Equal(t, float(want), mk)
		assert.Equal(t, float(want.Sub(big.NewRat(1, 1), want)), gd)
	})
}

// The change in gene diversity by formula against a pedigree with the chicks
// in it and its kinship matrix summed.
func TestGainAgainstRebuiltMatrix(t *testing.T) {
	colonies(t, true, func(t *testing.T, r *rand.Rand, birds []studbook.Bird, known []studbook.FounderKinship) {
		p := build(t, birds, known)
		order := r.Perm(len(birds))
		living := 2 + r.IntN(len(birds)-2)
		ids := make([]string, len(order))
		for k, m := range order {
			ids[k] = birds[m].ID
		}
		at := func(ids []string) []int {
			list := make([]int, len(ids))
			for k, id := range ids {
				list[k] = node(t, p, id)
			}
			return list
		}
		q := p.Population(at(ids[:living]))
		before := diversity(t, p, ids[:living])

		// Parents living or dead.
		sire, dam := ids[r.IntN(len(ids))], ids[r.IntN(len(ids))]
		i, j := node(t, p, sire), node(t, p, dam)
		bigger, grown := slices.Clone(birds), slices.Clone(ids[:living])
		for k := 1; k <= 4; k++ {
			chick := studbook.Bird{
				ID:   fmt.Sprint("chick ", k),
				Sire: studbook.Parentage{Candidates: []studbook.Candidate{{ID: sire, Weight: 1}}},
				Dam:  studbook.Parentage{Candidates: []studbook.Candidate{{ID: dam, Weight: 1}}},
			}
			bigger, grown = append(bigger, chick), append(grown, chick.ID)
			after := diversity(t, build(t, bigger, known), grown)
			assert.InDelta(t, after-before, q.GainFromChicks(i, j, p.Kinship(i, j), k), exact, "%d chicks", k)
			if k == 1 {
				assert.InDelta(t, after-before, q.GainFromChick(i, j, p.Kinship(i, j)), exact)
			}
		}

		gain, ok := q.GainFromLoss(node(t, p, ids[0]))
		require.True(t, ok)
		assert.InDelta(t, diversity(t, p, ids[1:living])-before, gain, exact, "loss")
		assert.InDelta(t, diversity(t, p, ids[:living+1])-before, q.GainFromArrival(node(t, p, ids[living])), exact, "arrival")
	})
}

// A flock whose birds come and go at random has, after every step, the gene
// diversity of the kinship matrix of those who are there, and the step the
// difference of two such matrices; nobody at all counts as 0.
func TestFlockAgainstRebuiltMatrix(t *testing.T) {
	colonies(t, true, func(t *testing.T, r *rand.Rand, birds []studbook.Bird, known []studbook.FounderKinship) {
		p := build(t, birds, known)
		var here []string
		flock := p.Flock(nil)
		before := 0.0
		for range 25 {
			id := birds[r.IntN(len(birds))].ID
			at := node(t, p, id)
			var change float64
			if k := slices.Index(here, id); k < 0 {
				assert.Zero(t, flock.Leave(at, p.Kinships(at)), "a bird that is not there")
				change = flock.Join(at, p.Kinships(at))
				here = append(here, id)
			} else {
				assert.Zero(t, flock.Join(at, p.Kinships(at)), "a bird that is there")
				change = flock.Leave(at, p.Kinships(at))
				here = slices.Delete(here, k, k+1)
			}
			after := 0.0
			if len(here) > 0 {
				after = diversity(t, p, here)
			}
			got, ok := flock.Sum().GeneDiversity()
			assert.Equal(t, len(here) > 0, ok)
			assert.Equal(t, float64(len(here)), flock.Sum().Birds)
			assert.InDelta(t, after, got, exact)
			assert.InDelta(t, after-before, change, exact)
			before = after
		}
	})
}

// Nobody has no figures, and leaves no trace of rounding.
func TestKinshipSumOfNobody(t *testing.T) {
	nobody := KinshipSum{}
	_, ok := nobody.MeanKinship()
	assert.False(t, ok)
	one := nobody.Join(1, 0, 0.5)
	assert.Equal(t, nobody, one.Leave(1, 1e-9, 0.5))
	assert.Equal(t, 0.5, nobody.Gain(one))
	assert.Equal(t, -0.5, one.Gain(nobody))
	assert.Zero(t, nobody.Gain(nobody))
}

func diversity(t *testing.T, p *Pedigree, ids []string) float64 {
	list := make([]int, len(ids))
	for k, id := range ids {
		list[k] = node(t, p, id)
	}
	m, err := p.KinshipMatrix(t.Context(), list)
	require.NoError(t, err)
	n := float64(len(ids))
	return 1 - mat.Sum(m)/(n*n)
}

// figures is everything that the core computes of birds, in their order.
func figures(t *testing.T, p *Pedigree, birds []studbook.Bird) []float64 {
	list := every(t, p, birds)
	q := p.Population(list[:len(list)/2])
	gd, _ := q.GeneDiversity()
	v := []float64{gd}
	for _, i := range list {
		v = append(v, p.F(i), q.MeanKinshipOf(i), p.Kinship(i, list[0]))
	}
	m, err := p.KinshipMatrix(t.Context(), list)
	require.NoError(t, err)
	for a := range list {
		for b := range list {
			v = append(v, m.At(a, b))
		}
	}
	return v
}

// Equal bit for bit, hence no tolerance in the two tests that follow.

func TestOrderOfBirdsDoesNotMatter(t *testing.T) {
	colonies(t, true, func(t *testing.T, r *rand.Rand, birds []studbook.Bird, known []studbook.FounderKinship) {
		// Thirds are not dyadic: sums in another order would show.
		for i := range birds {
			for k, c := range birds[i].Sire.Candidates {
				if c.Weight < 1 {
					birds[i].Sire.Candidates[k].Weight = c.Weight / 3
				}
			}
		}
		want := figures(t, build(t, birds, known), birds)
		shuffled := slices.Clone(birds)
		r.Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
		r.Shuffle(len(known), func(i, j int) { known[i], known[j] = known[j], known[i] })
		assert.Equal(t, want, figures(t, build(t, shuffled, known), birds))
	})
}

// Birds that none of a population descends from change none of its figures, so that a
// question about the living and one about everybody agree to the last digit (design,
// section 1).
func TestOthersDoNotMatter(t *testing.T) {
	breeders := 0
	colonies(t, true, func(t *testing.T, r *rand.Rand, birds []studbook.Bird, known []studbook.FounderKinship) {
		worth := map[string]float64{}
		for _, b := range birds {
			worth[b.ID] = r.Float64()
		}
		living := birds[:len(birds)*2/3] // nobody of whom descends from the rest
		figuresOf := func(birds []studbook.Bird) []any {
			p := build(t, birds, known)
			var nodes []int
			for _, b := range living {
				nodes = append(nodes, node(t, p, b.ID))
			}
			q := p.Population(nodes)
			kv, ok := q.KinshipValues(func(i int) float64 { return worth[p.Name(i)] })
			require.True(t, ok)
			flow := q.GeneFlow()
			f, _ := q.MeanInbreeding()
			all := []any{q.Sum(), f}
			for _, i := range nodes {
				all = append(all, kv[i], q.KinshipSumOf(i), flow[i])
				if i < p.breeders {
					breeders++
				}
			}
			drop, err := q.GeneDrop(t.Context(), Drop{Iterations: 128, Seed: 1})
			require.NoError(t, err)
			return append(all, drop.GenomesSurviving, drop.RetentionEquivalents)
		}
		assert.Equal(t, figuresOf(birds), figuresOf(living))
	})
	assert.NotZero(t, breeders)
}

func TestNumberOfCoresDoesNotMatter(t *testing.T) {
	birds := generated(2000, 1)
	var want, wantSelf []float64
	for _, cores := range []int{1, 2, 5} {
		before := runtime.GOMAXPROCS(cores)
		t.Cleanup(func() { runtime.GOMAXPROCS(before) })
		p := build(t, birds, nil)
		got := figures(t, p, birds[1700:])
		if want == nil {
			want, wantSelf = got, p.self
		}
		assert.True(t, slices.Equal(want, got), "%d cores", cores)
		assert.True(t, slices.Equal(wantSelf, p.self), "F, %d cores", cores)
	}
}
