package pairing

import (
	"math"

	"pairwright/pedigree"
	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook"
)

// worths are what the living birds are worth to the future, and the kinship
// weighted by that.
type worths struct {
	p     *Programme
	of    []float64 // by bird of the snapshot, in chicks; 0 for the dead
	total float64   // Σw
	weighed

	// known is false where no survival is on record nor set: then every living
	// bird counts 1.
	known    bool
	tables   [2]*demography.Worth // female, male; nil where not known
	survival [2][]float64         // by whole age
	middle   [2]float64           // mean age of the birds of a sex whose age is known
	futures  []future             // of living birds of known sex, by bird of the snapshot
}

// future is what a bird has before it when the season begins; where its age is not
// known that is the middle one.
type future struct {
	free      float64        // worth without a mate
	own, mate demography.Age // its age in the table of its sex, and in that of its mates'
}

// weighed is the kinship of a pedigree weighted by worth.
type weighed struct {
	sums []float64           // by node, Σ_j w_j f_bj over the living
	sum  pedigree.KinshipSum // Σw and S_w = Σ_i Σ_j w_i w_j f_ij
}

func side(sex studbook.Sex) int {
	if sex == studbook.Male {
		return 1
	}
	return 0
}

// Worth returns what a living bird is worth to the future after the coming
// season, in chicks just hatched; 0 for the dead. See demography.Worth.
func (p *Programme) Worth(b int) float64 { return p.worths().of[b] }

// WorthKnown reports whether worths rest on a survival that is on record or
// set; else every living bird counts 1.
func (p *Programme) WorthKnown() bool { return p.worths().known }

// newWorths weighs the living birds by their prospects from the day that the
// coming season begins. A bird of unknown age counts as the mean of its sex,
// one of unknown sex as the mean of both.
func (p *Programme) newWorths() *worths {
	w := &worths{p: p, of: make([]float64, len(p.Book.Birds))}
	w.setProspects()
	day := p.BreedingDay()
	ages := make([]float64, len(p.Book.Birds))
	var n, years, seen, worth [2]float64
	for _, b := range p.Book.Living {
		bird := &p.Book.Birds[b]
		age, ok := ageOn(bird, day)
		if !ok {
			age = math.NaN()
		} else if bird.Sex != studbook.Unsexed {
			n[side(bird.Sex)]++
			years[side(bird.Sex)] += age
		}
		ages[b] = age
	}
	for k := range w.middle {
		w.middle[k] = years[k] / math.Max(1, n[k])
	}
	of := func(b int) float64 {
		bird := &p.Book.Birds[b]
		if bird.Sex == studbook.Unsexed {
			return (w.tables[0].Free(ages[b]) + w.tables[1].Free(ages[b])) / 2
		}
		k := side(bird.Sex)
		if mates := p.Mates(b); len(mates) > 0 {
			mate := ages[mates[0]]
			if math.IsNaN(mate) {
				mate = w.middle[1-k]
			}
			return w.tables[k].Bonded(ages[b], mate)
		}
		return w.tables[k].Free(ages[b])
	}
	w.setFutures(ages)
	for _, b := range p.Book.Living {
		w.of[b] = 1
		if w.known && !math.IsNaN(ages[b]) {
			w.of[b] = of(b)
			if sex := p.Book.Birds[b].Sex; sex != studbook.Unsexed {
				seen[side(sex)]++
				worth[side(sex)] += w.of[b]
			}
		}
	}
	if w.known {
		mean := func(k int) float64 {
			if seen[k] == 0 {
				return 1
			}
			return worth[k] / seen[k]
		}
		for _, b := range p.Book.Living {
			if !math.IsNaN(ages[b]) {
				continue
			}
			if sex := p.Book.Birds[b].Sex; sex == studbook.Unsexed {
				w.of[b] = (mean(0) + mean(1)) / 2
			} else {
				w.of[b] = mean(side(sex))
			}
		}
	}
	for _, b := range p.Book.Living {
		w.total += w.of[b]
	}
	if w.total == 0 { // nobody has a season left: count heads
		for _, b := range p.Book.Living {
			w.of[b] = 1
		}
		w.total = float64(len(p.Book.Living))
		w.known = false
	}
	w.weighed = w.weigh(p.Pedigree, p.node)
	return w
}

// setFutures fills futures from the ages of the birds, NaN where not known.
func (w *worths) setFutures(ages []float64) {
	w.futures = make([]future, len(ages))
	for _, b := range w.p.Book.Living {
		sex := w.p.Book.Birds[b].Sex
		if !w.known || sex == studbook.Unsexed {
			continue
		}
		k, age := side(sex), ages[b]
		if math.IsNaN(age) {
			age = w.middle[k]
		}
		w.futures[b] = future{w.tables[k].Free(age), w.tables[k].Own(age), w.tables[1-k].Mate(age)}
	}
}

// weigh computes the sums of weighted kinship in a pedigree, given the node of
// each bird of the snapshot.
func (w *worths) weigh(ped *pedigree.Pedigree, node []int) weighed {
	x := weighed{sums: make([]float64, ped.Len())}
	living := w.p.Book.Living
	if len(living) == 0 {
		return x
	}
	of := make([]float64, ped.Len())
	for _, b := range living {
		of[node[b]] = w.of[b]
	}
	kv, _ := ped.Population(nodesOf(living, node)).KinshipValues(func(node int) float64 { return of[node] })
	for i := range kv {
		x.sums[i] = kv[i] * w.total
	}
	x.sum.Birds = w.total
	for _, b := range living {
		x.sum.Total += w.of[b] * x.sums[node[b]]
	}
	return x
}

// setProspects takes yearly survival and breeding ages of both sexes from the
// records, or where they are too few from the settings.
func (w *worths) setProspects() {
	prospects, ok := w.p.Census().Prospects()
	if !ok {
		return
	}
	w.survival = [2][]float64{prospects.Female.Survival, prospects.Male.Survival}
	var female, male bool
	w.tables[0], female = demography.NewWorth(prospects.Female, prospects.Male)
	w.tables[1], male = demography.NewWorth(prospects.Male, prospects.Female)
	w.known = female && male
}

// gainFromChick returns the exact change in weighted gene diversity,
//
//	GD_w = 1 − S_w/(Σw)²,
//
// by one chick of worth 1 of the birds at two nodes with a kinship. It panics
// in a programme without living birds.
func (w *weighed) gainFromChick(i, j int, kinship float64) float64 {
	if w.sum.Birds == 0 {
		panic("pairing: gain from a chick in a programme without living birds")
	}
	return w.gain(w.sums[i]+w.sums[j], kinship)
}

// gain is gainFromChick from the sum of both parents' sums.
func (w *weighed) gain(sums, kinship float64) float64 { return w.gainFrom(chickAdds(sums, kinship)) }

// gainFrom is gain from what the chick adds to S_w.
func (w *weighed) gainFrom(added float64) float64 { return w.sum.Gain(w.sum.Join(1, 0, added)) }

// chickAdds returns what one chick adds to S_w: twice its kinship with the living,
// which is half of its parents' sums, and that with itself.
func chickAdds(sums, kinship float64) float64 { return sums + (1+kinship)/2 }

// bondTakes returns how much of their worth a new bond takes from two birds,
// because each would lose seasons with a mate that is past breeding or dead: what
// they are worth free less what they are worth bonded, 0 or more.
func (w *worths) bondTakes(female, male int) float64 {
	return w.bondTakesOf(&w.futures[female], &w.futures[male])
}

// bondTakesOf is bondTakes of two futures.
func (w *worths) bondTakesOf(her, his *future) float64 {
	if !w.known {
		return 0
	}
	return max(0, her.free-w.tables[0].BondedAt(her.own, his.mate)) + max(0, his.free-w.tables[1].BondedAt(his.own, her.mate))
}

// surviveFrom returns the chance that a bird lives so many years from today; 1
// where survival is not known.
func (w *worths) surviveFrom(b int, left float64) float64 {
	var x outlook
	w.look(&x, b)
	return x.survive(left)
}

// outlook is the chance of a bird to live on, birthday by birthday.
type outlook struct {
	survival []float64 // by whole age; nil where not known
	at       []birthday
}

// birthday is the age today or at a birthday to come, with the chance to reach it.
type birthday struct{ age, chance float64 }

// look makes x the outlook of a bird.
func (w *worths) look(x *outlook, b int) {
	if !w.known {
		*x = outlook{}
		return
	}
	bird := &w.p.Book.Birds[b]
	k := side(bird.Sex)
	age, ok := ageOn(bird, w.p.Book.AsOf)
	if !ok {
		age = w.middle[k]
	}
	x.survival, x.at = w.survival[k], append(x.at[:0], birthday{age, 1})
}

// survive returns the chance that the bird lives so many years from today; 1 where
// survival is not known.
func (x *outlook) survive(years float64) float64 {
	if x.survival == nil {
		return 1
	}
	for k := 0; ; k++ {
		from := x.at[k]
		if !(years > 1e-9 && from.chance > 0) {
			return from.chance
		}
		whole, survival := math.Floor(from.age+1e-9), 0.0
		if a := int(whole); a < len(x.survival) {
			survival = x.survival[a]
		}
		next := whole + 1 - from.age
		if years < next {
			return from.chance * math.Pow(survival, years)
		}
		if k+1 == len(x.at) {
			x.at = append(x.at, birthday{from.age + next, from.chance * math.Pow(survival, next)})
		}
		years -= next
	}
}
