package pairing

import (
	"math"
	"slices"
)

// places are where the living birds are, numbered, with what lies between: what
// is asked of every pair.
type places struct {
	codes []string    // sorted
	of    []int       // number of the place of each living bird of the snapshot
	km    [][]float64 // between two places; NaN where it is not known
}

func (p *Programme) newPlaces() *places {
	x := &places{codes: p.Book.Locations(), of: make([]int, len(p.Book.Birds))}
	for _, b := range p.Book.Living {
		x.of[b], _ = slices.BinarySearch(x.codes, p.Book.Birds[b].Location)
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
