package forecast

import (
	"slices"

	"gonum.org/v1/gonum/floats"
)

// bird is a living bird of a run. Birds are known by their slot, which a bird
// hatched later takes over when they have died.
type bird struct {
	key    uint64 // the same for the same chick of a year under every policy
	sex    Sex
	age    int    // seasons since it hatched
	late   int    // how many more these are than whole years, 0 or 1
	mate   int    // slot, -1 if free
	bonded int    // seasons that the bond has had
	victim bool   // of this year's catastrophe
	former uint64 // 1 + the key of the bird that it parted from last; 0 for none
	place  int
}

// flock is the living birds of a run with the kinship of every two of them. A
// chick adds a row from those of its parents, f_ox = (f_dx + f_sx)/2 and f_oo =
// (1 + f_ds)/2, and a death takes one out, so that no year computes the past
// again.
type flock struct {
	rules *ground
	luck  luck
	year  int

	// That hold in the run: survival by sex and age, by what a chance that a
	// chick hatches is to be multiplied, and the chance that a bond ends.
	survival          [Male + 1][]float64
	lives             [Male + 1][]lives
	hatching, parting float64

	birds  []bird // by slot
	living []int  // slots, in order of hatch
	began  int    // living birds at the beginning of the year
	unused []int  // slots
	held   []int  // living birds by place

	stride  int
	kinship []float64 // by slot, row by row; those of unused slots mean nothing
	total   []float64 // Σ_j f_ij over the living, i itself included, by slot
	sum     float64   // of all kinships

	diversity float64 // gene diversity at the start

	genes    []alleles // by slot
	pool     pool
	founding int // founder genes of the birds of the start

	season season
	costs  costs
	broods []Brood // decided for the first season; bird i of the start has slot i
}

// years returns the age of a bird on the first day of the season.
func (b *bird) years() int { return b.age - b.late }

// one returns 1 for what is so, and 0 for what is not.
func one(is bool) int {
	if is {
		return 1
	}
	return 0
}

// costs are what was asked of birds and keepers since the start.
type costs struct {
	moves, partings, chicks, founders int
}

// begin puts the birds of a start in place of those there are; the memory of an
// earlier run serves again.
func (f *flock) begin(s *Start, g *ground, l luck) {
	n := len(s.Birds)
	f.rules, f.luck, f.year, f.costs, f.sum = g, l, 0, costs{}, 0
	f.living, f.unused, f.broods = f.living[:0], f.unused[:0], s.Broods
	f.held = make([]int, g.places())
	for _, sex := range [2]Sex{Female, Male} {
		f.survival[sex] = l.survival(f.survival[sex], g, sex)
		f.lives[sex] = livesBy(f.survival[sex], g.Wait, f.lives[sex])
	}
	f.hatching = 1
	if g.Chance > 0 {
		f.hatching = l.share(g.Chance, g.ChanceEvidence, drawHatching, Unsexed) / g.Chance
	}
	f.parting = min(1, g.Parting*l.often(g.PartingEvidence, drawPartingRate, Unsexed))
	for slot := f.stride - 1; slot >= 0; slot-- {
		f.unused = append(f.unused, slot)
	}
	if slots := max(n, g.Birds)*5/4 + 16; slots > f.stride {
		f.grow(slots)
		slices.SortFunc(f.unused, func(a, b int) int { return b - a }) // bird i gets slot i
	}
	genes := f.pool.begin(s, l)
	for i, b := range s.Birds {
		slot := f.take() // its own number
		if b.Absent {
			continue
		}
		sex := b.Sex
		if sex == Unsexed {
			sex = f.drawSex(uint64(i))
		}
		f.birds[slot] = bird{key: uint64(i), sex: sex, age: b.Age + one(b.Late), late: one(b.Late), mate: b.Mate - 1, place: b.Place}
		if b.Settled {
			f.birds[slot].bonded = 1
		}
		row := f.row(slot)[:n]
		if s.Kinship != nil {
			copy(row, s.Kinship[i*n:])
		} else {
			clear(row)
			row[slot] = 0.5
		}
		f.genes[slot] = genes[i]
		f.enter(slot)
	}
	f.lend(s, genes)
	f.diversity = f.geneDiversity()
}

// lend counts the founder genes of all birds of a start, those that are absent too,
// as what is left of them is told of all; and leaves their slots to others.
func (f *flock) lend(s *Start, genes []alleles) {
	each := func(do func(i int)) {
		for i, b := range s.Birds {
			if b.Absent {
				do(i)
			}
		}
	}
	each(func(i int) { f.pool.add(&genes[i]) })
	f.founding = f.pool.kept
	each(func(i int) {
		f.pool.remove(&genes[i])
		f.unused = append(f.unused, i)
	})
}

// drawSex draws the sex of a bird.
func (f *flock) drawSex(key uint64) Sex {
	if f.luck.of(drawSex, key, 0) < 0.5 {
		return Female
	}
	return Male
}

// row returns the kinship of a bird with the bird of each slot.
func (f *flock) row(slot int) []float64 { return f.kinship[slot*f.stride : (slot+1)*f.stride] }

// of returns the kinship of two birds.
func (f *flock) of(i, j int) float64 { return f.kinship[i*f.stride+j] }

// take returns a slot that no living bird has.
func (f *flock) take() int {
	if len(f.unused) == 0 {
		f.grow(f.stride + f.stride/4 + 1)
	}
	slot := f.unused[len(f.unused)-1]
	f.unused = f.unused[:len(f.unused)-1]
	return slot
}

// grow makes room for a number of birds.
func (f *flock) grow(slots int) {
	kinship := make([]float64, slots*slots)
	for i := range f.stride {
		copy(kinship[i*slots:], f.row(i))
	}
	for slot := slots - 1; slot >= f.stride; slot-- {
		f.unused = append(f.unused, slot)
	}
	f.birds = append(f.birds, make([]bird, slots-f.stride)...)
	f.genes = append(f.genes, make([]alleles, slots-f.stride)...)
	f.total = append(f.total, make([]float64, slots-f.stride)...)
	f.kinship, f.stride = kinship, slots
}

// enter counts a bird, whose kinships with the living are set, among them.
func (f *flock) enter(slot int) {
	row := f.row(slot)
	all := 0.0
	for _, j := range f.living {
		all += row[j]
		f.total[j] += row[j]
	}
	f.join(slot, all)
}

// join counts a bird among the living, whose sums have its kinships already; all
// is what these add up to.
func (f *flock) join(slot int, all float64) {
	own := f.of(slot, slot)
	f.total[slot] = all + own
	f.sum += 2*all + own
	f.living = append(f.living, slot)
	f.held[f.birds[slot].place]++
	f.pool.add(&f.genes[slot])
}

// hatch adds a chick, with its key, sex and place set, for each of the pairs. The kinships of a living bird with
// all of them come from its own row, as a matrix of many birds is too large to
// be gone through by columns.
func (f *flock) hatch(pairs []brood, chicks []bird) {
	s := &f.season
	s.hatched = s.hatched[:0]
	for k, p := range pairs {
		slot := f.take()
		s.hatched = append(s.hatched, slot)
		f.birds[slot] = chicks[k]
		f.genes[slot] = inherit(&f.genes[p.sire], &f.genes[p.dam], f.luck.bits(drawGenes, chicks[k].key, f.year))
	}
	for _, j := range f.living {
		row := f.row(j)
		for k, slot := range s.hatched {
			p := &pairs[k]
			row[slot] = (row[p.dam] + row[p.sire]) / 2
		}
	}
	for k, p := range pairs {
		slot := s.hatched[k]
		row := f.row(slot)
		all := (f.total[p.dam] + f.total[p.sire]) / 2
		floats.AddTo(row, f.row(p.dam), f.row(p.sire)) // of chicks before it too, and slots that nobody has
		floats.Scale(0.5, row)
		floats.Add(f.total, row)
		row[slot] = (1 + f.of(p.dam, p.sire)) / 2
		for _, j := range f.season.hatched[:k] {
			f.kinship[j*f.stride+slot] = row[j]
		}
		f.join(slot, all)
	}
	f.costs.chicks += len(pairs)
}

// bury takes a bird out of the sums and frees its mate; the caller takes it off
// the list of the living.
func (f *flock) bury(slot int) {
	row := f.row(slot)
	floats.Sub(f.total, row)
	f.sum -= 2*(f.total[slot]+row[slot]) - row[slot] // total has just lost its own
	b := &f.birds[slot]
	if b.mate >= 0 {
		f.birds[b.mate].mate, f.birds[b.mate].bonded = -1, 0
		b.mate = -1
	}
	f.held[b.place]--
	f.pool.remove(&f.genes[slot])
	f.unused = append(f.unused, slot)
}

// geneDiversity returns 1 - S/N², 0 for no birds.
func (f *flock) geneDiversity() float64 {
	n := float64(len(f.living))
	if n == 0 {
		return 0
	}
	return 1 - f.sum/(n*n)
}

// diversityOf returns the gene diversity of some birds, 0 for none.
func (f *flock) diversityOf(birds []int) float64 {
	if len(birds) == 0 {
		return 0
	}
	sum := 0.0
	for _, i := range birds {
		for _, j := range birds {
			sum += f.of(i, j)
		}
	}
	return 1 - sum/float64(len(birds)*len(birds))
}

// inbreeding returns the mean F of the living, 0 for none.
func (f *flock) inbreeding() float64 { return f.inbreedingOf(f.living) }

// inbreedingOf returns the mean F of some birds, 0 for none.
func (f *flock) inbreedingOf(birds []int) float64 {
	if len(birds) == 0 {
		return 0
	}
	sum := 0.0
	for _, i := range birds {
		sum += 2*f.of(i, i) - 1
	}
	return sum / float64(len(birds))
}

// livingAt returns the living birds of a place.
func (f *flock) livingAt(place int) []int {
	var here []int
	for _, i := range f.living {
		if f.birds[i].place == place {
			here = append(here, i)
		}
	}
	return here
}

// founderGenes returns how many founder genes of the start there are, over all
// loci, in the birds of a place, 1 for the first; 0 for all.
func (f *flock) founderGenes(place int) int {
	if place == 0 {
		return f.pool.kept
	}
	there := pool{labels: f.pool.labels, copies: make([]int32, len(f.pool.copies))}
	for _, i := range f.livingAt(place - 1) {
		there.add(&f.genes[i])
	}
	return there.kept
}

// at returns the figures of the birds of a place, 1 for the first; 0 for all. The
// alleles are the number of founder genes there at the start that are left.
func (f *flock) at(place int) point {
	var some [Male + 1]bool
	p := point{size: len(f.living), geneDiversity: f.geneDiversity(), inbreeding: f.inbreeding(), alleles: float64(f.founderGenes(place))}
	here := f.living
	if place > 0 {
		here = f.livingAt(place - 1)
		p.size, p.geneDiversity, p.inbreeding = len(here), f.diversityOf(here), f.inbreedingOf(here)
	}
	for _, i := range here {
		some[f.birds[i].sex] = true
	}
	p.oneSex = !some[Female] || !some[Male]
	return p
}
