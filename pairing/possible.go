package pairing

import (
	"context"
	"errors"
	"slices"
	"sync"

	"pairwright/pairing/internal/bonds"
	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// possiblePedigrees returns what possible pedigrees are drawn from, and the node of each
// bird of the snapshot in them: the pedigree of the programme, with every captive parent that is not known as one of
// the birds that could have been it, all with the same chance. Chicks of one
// clutch share the draw; see pedigree.Pedigree.Sample. A parent that nobody on
// record can have been stays an unrelated bird of its own, and so do all where
// hatch dates that are not known would let a bird descend from itself.
//
// What is drawn depends on which birds are in them and where; it is the same birds
// whatever others the programme was computed for.
func (p *Programme) possiblePedigrees() (*pedigree.Possible, []int, error) {
	gaps := p.Gaps()
	filled := map[int]*studbook.Bird{}
	related := map[string]bool{} // founders whose kinship is given stay founders
	known := p.Book.FounderKinship()
	for _, k := range known {
		related[k.ID1], related[k.ID2] = true, true
	}
	for _, g := range gaps {
		bird := filled[g.Bird]
		if bird == nil {
			bird = new(studbook.Bird)
			*bird = p.Book.Birds[g.Bird]
		}
		if related[bird.ID] {
			continue
		}
		side := &bird.Dam
		if g.Sex == studbook.Male {
			side = &bird.Sire
		}
		rest := 1.0
		for _, c := range side.Candidates {
			rest -= c.Weight
		}
		others, _ := p.Others(&g, 0)
		if rest < 1e-9 || len(others) == 0 {
			continue
		}
		side.Candidates = slices.Clone(side.Candidates)
		for _, id := range others {
			side.Candidates = append(side.Candidates, studbook.Candidate{ID: id, Weight: rest / float64(len(others))})
		}
		filled[g.Bird] = bird
	}
	possible, node, err := p.possibleOf(func(b int) *studbook.Bird {
		if bird := filled[b]; bird != nil {
			return bird
		}
		return &p.Book.Birds[b]
	}, len(filled) > 0)
	var loop *pedigree.CycleError
	if errors.As(err, &loop) {
		return p.possibleOf(func(b int) *studbook.Bird { return &p.Book.Birds[b] }, false)
	}
	return possible, node, err
}

// possibleOf returns the possible pedigrees of the living and of all that are drawn with
// them, by rows that name the parents, and the node of each bird of the snapshot in them;
// changed tells that some rows are not those of the snapshot.
func (p *Programme) possibleOf(row func(b int) *studbook.Bird, changed bool) (*pedigree.Possible, []int, error) {
	within := withAncestors(p.Book, livingOrUncertain(p.Book), row)
	if nodes := p.Pedigree.Nodes(); !changed && len(within) == len(nodes) { // its own pedigree is of the same birds
		return p.Pedigree.Possible(), p.node, nil
	}
	birds := make([]*studbook.Bird, len(within))
	for k, b := range within {
		birds[k] = row(b)
	}
	possible, err := pedigree.PossibleOf(birds, p.Book.FounderKinship())
	if err != nil {
		return nil, nil, err
	}
	return possible, p.nodesIn(possible.Nodes(), within), nil
}

// possibilities are the possible pedigrees that are drawn, all of them when the first
// bird is ranked: many a bird has no mates to rank.
type possibilities struct {
	from *pedigree.Possible
	node []int // in it, of each bird of the snapshot

	sync.Mutex
	of    int // how many there are to be
	all   []possibility
	offer *offer // what the decision chooses from, taken anew in them
	// means are possibility.means of the programme's own pedigree.
	means [2]float64
}

// possibility is one possible pedigree with what a chick of the average pair gains in
// it, over all pairs that may breed. Birds that may breed have a number in it.
type possibility struct {
	number []int // of each bird of the snapshot
	weighed
	average float64
	means   [2]float64 // of the sums of the females, and of the males
	// kinshipsOf returns the kinships of a bird with those of the other sex, kinshipRows
	// calls use with those of each of some females with some males, in no order.
	kinshipsOf  func(a int) func(b int) float64
	kinshipRows func(females, males []int, use func(f int, row []float64))
	anew        *bonds.Anew // the decision taken anew in it, once it is asked for
}

// samples returns the possible pedigrees.
func (r *Ranker) samples(ctx context.Context) ([]possibility, error) {
	x, p := r.drawn, r.p
	x.Lock()
	defer x.Unlock()
	if len(x.all) == x.of {
		return x.all, nil
	}
	// The mean gain over the pairs that may breed goes up and down from pedigree to
	// pedigree as that over every female with every male does, for which no kinship of
	// two birds has to be known.
	w := &p.worths().weighed
	x.means = r.means(w, p.node)
	above := r.d.m.average - w.meanGain(x.means, r.meanKinship(p.Pedigree, p.node))
	draw := r.drawWhole
	if r.drawsPairs() {
		draw = r.pairsDrawer()
	}
	all := make([]possibility, x.of)
	err := inParallel(ctx, x.of, func(k int) error {
		all[k] = draw(k)
		all[k].average += above
		return nil
	})
	if err != nil {
		return nil, err
	}
	x.all = all
	return all, nil
}

// drawWhole draws a possible pedigree with F of every bird, in which the kinships of a
// bird are worked out when they are asked for. Its average is the mean gain.
func (r *Ranker) drawWhole(k int) possibility {
	node := r.drawn.node
	ped := r.drawn.from.Sample(r.o.Seed, k)
	w := r.p.worths().weigh(ped, node)
	means := r.means(&w, node)
	return possibility{
		number: node, weighed: w, means: means, average: w.meanGain(means, r.meanKinship(ped, node)),
		kinshipsOf: func(a int) func(b int) float64 {
			row := ped.Kinships(a)
			return func(b int) float64 { return row[b] }
		},
		kinshipRows: func(females, males []int, use func(f int, row []float64)) {
			_ = ped.KinshipRows(context.Background(), females, males, use)
		},
	}
}

// pairsMost is how many kinships of pairs are kept of all possible pedigrees.
const pairsMost = 8 << 20

// drawsPairs reports whether the kinships of all pairs are drawn at once, and no more
// kept of the pedigrees: where many generations of few birds make that the quicker way.
func (r *Ranker) drawsPairs() bool {
	return len(r.females)*len(r.males)*r.drawn.of <= pairsMost &&
		r.drawn.from.SampleKinshipsQuick(r.o.Seed, nodesOf(r.p.Book.Living, r.drawn.node))
}

// pairsDrawer returns what draws possible pedigrees like drawWhole, as far as the
// kinships of the living go. Numbers are those of the females in the market, then of
// the males.
func (r *Ranker) pairsDrawer() func(k int) possibility {
	p, w := r.p, r.p.worths()
	living := p.Book.Living
	nodes := nodesOf(living, r.drawn.node)
	number, breeds := make([]int, len(p.Book.Birds)), make([]int, 0, len(r.females)+len(r.males))
	place := make([]int, len(p.Book.Birds)) // among the living
	for k, b := range living {
		place[b] = k
	}
	for _, b := range slices.Concat(r.females, r.males) {
		number[b] = len(breeds)
		breeds = append(breeds, place[b])
	}
	females, males := len(r.females), len(r.males)
	return func(k int) possibility {
		all := r.drawn.from.SampleKinships(r.o.Seed, k, nodes)
		sums := make([]float64, len(living))
		out := possibility{number: number}
		out.sum.Birds = w.total
		for i, a := range living {
			for j, b := range living {
				sums[i] += w.of[b] * all.At(i, j)
			}
			out.sum.Total += w.of[a] * sums[i]
		}
		out.sums = make([]float64, len(breeds))
		for n, i := range breeds {
			out.sums[n] = sums[i]
		}
		pairs := make([]float64, females*males)
		kinship := 0.0
		for f := range females {
			for m := range males {
				v := all.At(breeds[f], breeds[females+m])
				pairs[f*males+m] = v
				kinship += v
			}
		}
		out.means = r.means(&out.weighed, number)
		out.average = out.meanGain(out.means, kinship/float64(max(1, len(pairs))))
		out.kinshipsOf = func(a int) func(b int) float64 {
			return func(b int) float64 { return pairs[min(a, b)*males+max(a, b)-females] }
		}
		out.kinshipRows = func(some, with []int, use func(f int, row []float64)) {
			row := make([]float64, len(with))
			for k, f := range some {
				for n, m := range with {
					row[n] = pairs[f*males+m-females]
				}
				use(k, row)
			}
		}
		return out
	}
}

// meanKinship returns the mean kinship of a female with a male that may breed, in a
// pedigree; 0 where one sex is missing.
func (r *Ranker) meanKinship(ped *pedigree.Pedigree, node []int) float64 {
	if len(r.females) == 0 || len(r.males) == 0 {
		return 0
	}
	with := ped.Population(nodesOf(r.males, node))
	kinship := 0.0
	for _, f := range nodesOf(r.females, node) {
		kinship += with.MeanKinshipOf(f)
	}
	return kinship / float64(len(r.females))
}

// means returns the mean of the sums of the females that may breed, and of the males; 0
// where there are none.
func (r *Ranker) means(w *weighed, number []int) (means [2]float64) {
	for side, birds := range [2][]int{r.females, r.males} {
		for _, b := range birds {
			means[side] += w.sums[number[b]]
		}
		means[side] /= float64(max(1, len(birds)))
	}
	return means
}

// meanGain returns what a chick of a female and a male gains, on average over all of
// them that may breed, from the means of their sums and their mean kinship: a gain is
// linear in all three. 0 in a programme without living birds.
func (w *weighed) meanGain(means [2]float64, kinship float64) float64 {
	if w.sum.Birds == 0 {
		return 0
	}
	return w.gain(means[0]+means[1], kinship)
}

func nodesOf(birds, node []int) []int {
	nodes := make([]int, len(birds))
	for k, b := range birds {
		nodes[k] = node[b]
	}
	return nodes
}
