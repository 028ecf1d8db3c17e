package forecast

import "slices"

// bird is a living bird of a run. Birds are known by their slot, which a bird
// hatched later takes over when they have died.
type bird struct {
	key    uint64 // the same for the same chick of a year under every policy
	sex    Sex
	age    int
	mate   int // slot, -1 if free
	bonded int // seasons that the bond has had
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

	survival [Male + 1][]float64 // that holds in the run, by sex and age

	birds  []bird // by slot
	living []int  // slots, in order of hatch
	unused []int  // slots
	held   []int  // living birds by place

	stride  int
	kinship []float64 // by slot, row by row
	total   []float64 // Σ_j f_ij over the living, i itself included, by slot
	sum     float64   // of all kinships

	season season
	moves  int // birds moved since the start
}

// newFlock returns the birds of a start.
func newFlock(s *Start, g *ground, l luck) *flock {
	f := &flock{}
	f.begin(s, g, l)
	return f
}

// begin puts the birds of a start in place of those there are; the memory of an
// earlier run serves again.
func (f *flock) begin(s *Start, g *ground, l luck) {
	n := len(s.Birds)
	f.rules, f.luck, f.year, f.moves, f.sum = g, l, 0, 0, 0
	f.living, f.unused = f.living[:0], f.unused[:0]
	f.held = make([]int, g.places())
	for _, sex := range [2]Sex{Female, Male} {
		f.survival[sex] = l.survival(f.survival[sex], g, sex)
	}
	for slot := f.stride - 1; slot >= 0; slot-- {
		f.unused = append(f.unused, slot)
	}
	if slots := max(n, g.Birds)*5/4 + 16; slots > f.stride {
		f.grow(slots)
		slices.SortFunc(f.unused, func(a, b int) int { return b - a }) // bird i gets slot i
	}
	for i, b := range s.Birds {
		slot := f.take()
		sex := b.Sex
		if sex == Unsexed {
			sex = f.drawSex(uint64(i))
		}
		f.birds[slot] = bird{key: uint64(i), sex: sex, age: b.Age, mate: b.Mate - 1, place: b.Place}
		if b.Settled {
			f.birds[slot].bonded = 1
		}
		row := f.row(slot)
		row[slot] = 0.5
		for j := range i {
			row[j], f.kinship[j*f.stride+slot] = 0, 0
		}
		if s.Kinship != nil {
			for j := range i + 1 {
				k := s.Kinship[i*n+j]
				row[j], f.kinship[j*f.stride+slot] = k, k
			}
		}
		f.enter(slot)
	}
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
	f.total = append(f.total, make([]float64, slots-f.stride)...)
	f.kinship, f.stride = kinship, slots
}

// enter counts a bird, whose kinships with the living are set, among them.
func (f *flock) enter(slot int) {
	row := f.row(slot)
	own := row[slot]
	all := own
	for _, j := range f.living {
		all += row[j]
		f.total[j] += row[j]
	}
	f.total[slot] = all
	f.sum += 2*all - own
	f.living = append(f.living, slot)
	f.held[f.birds[slot].place]++
}

// hatch adds a chick of two birds, at the dam's place.
func (f *flock) hatch(dam, sire int, key uint64, sex Sex) int {
	slot := f.take()
	f.birds[slot] = bird{key: key, sex: sex, mate: -1, place: f.birds[dam].place}
	row, d, s := f.row(slot), f.row(dam), f.row(sire)
	for _, j := range f.living {
		k := (d[j] + s[j]) / 2
		row[j], f.kinship[j*f.stride+slot] = k, k
	}
	row[slot] = (1 + d[sire]) / 2
	f.enter(slot)
	return slot
}

// bury takes a bird out of the sums and frees its mate; the caller takes it off
// the list of the living.
func (f *flock) bury(slot int) {
	row := f.row(slot)
	for _, j := range f.living {
		f.total[j] -= row[j]
	}
	f.sum -= 2*(f.total[slot]+row[slot]) - row[slot] // total has just lost its own
	b := &f.birds[slot]
	if b.mate >= 0 {
		f.birds[b.mate].mate, f.birds[b.mate].bonded = -1, 0
	}
	f.held[b.place]--
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

// inbreeding returns the mean F of the living, 0 for none.
func (f *flock) inbreeding() float64 {
	if len(f.living) == 0 {
		return 0
	}
	sum := 0.0
	for _, i := range f.living {
		sum += 2*f.of(i, i) - 1
	}
	return sum / float64(len(f.living))
}

// oneSex reports whether females or males are missing.
func (f *flock) oneSex() bool {
	var some [Male + 1]bool
	for _, i := range f.living {
		some[f.birds[i].sex] = true
	}
	return !some[Female] || !some[Male]
}
