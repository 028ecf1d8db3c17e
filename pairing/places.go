package pairing

import (
	"fmt"
	"hash/fnv"
	"math"
	"slices"

	"pairwright/pedigree/studbook"
)

// places are where the living birds are, numbered, with what lies between: what
// is asked of every pair.
type places struct {
	codes []string    // sorted
	of    []int       // number of the place of each living bird of the snapshot
	km    [][]float64 // between two places; NaN where it is not known
	// late is a number of 0..1 that grows with the number of each living bird of the
	// snapshot among its full siblings of the same sex at the same place, by id: 0 for the
	// first and for others.
	late []float64
	// mark is a number of 0.5..1 that each living bird has from the days between which it
	// hatched, which tell two birds apart more clearly than their ids do, and from its id.
	mark []float64
	age  []float64 // of each living bird when the coming season begins; +Inf where not known
}

func (p *Programme) newPlaces() *places {
	n := len(p.Book.Birds)
	x := &places{codes: p.Book.Locations(), of: make([]int, n), late: make([]float64, n), mark: make([]float64, n), age: make([]float64, n)}
	type brood struct {
		sire, dam int
		sex       studbook.Sex
		place     int
	}
	siblings := map[brood]int{}
	for _, b := range p.Book.Living {
		x.of[b], _ = slices.BinarySearch(x.codes, p.Book.Birds[b].Location)
		h := fnv.New64a()
		fmt.Fprint(h, p.Book.Birds[b].Hatch.First, p.Book.Birds[b].Hatch.Last)
		x.mark[b] = 0.5 + (float64(h.Sum64()>>11)/(1<<53)+float64(n-b)/float64(n))/4
		if sire, dam, ok := p.Pedigree.Parents(p.node[b]); ok {
			same := brood{sire, dam, p.Book.Birds[b].Sex, x.of[b]}
			siblings[same]++
			x.late[b] = 1 - 1/float64(siblings[same])
		}
		x.age[b] = math.Inf(1)
		if years, known := ageOn(&p.Book.Birds[b], p.BreedingDay()); known {
			x.age[b] = years
		}
	}
	x.km = make([][]float64, len(x.codes))
	for k, from := range x.codes {
		x.km[k] = make([]float64, len(x.codes))
		for l, to := range x.codes {
			km, known := p.Distance(from, to)
			if !known {
				km = math.NaN()
			}
			x.km[k][l] = km
		}
	}
	return x
}

// apart returns how far two living birds are from each other in kilometres, NaN
// where that is not known.
func (x *places) apart(a, b int) float64 { return x.km[x.of[a]][x.of[b]] }

// later returns a number of 0..1 that grows with late of both birds. It tells siblings apart
// who are alike in everything else: the first of them goes to the mate with the greatest
// mark, whatever else changes from one day to the next.
func (x *places) later(a, b int) float64 {
	return (x.late[a]*x.mark[b] + x.late[b]*x.mark[a]) / 2
}
