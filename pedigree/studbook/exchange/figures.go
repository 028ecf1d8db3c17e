package exchange

import (
	"cmp"
	"context"
	"slices"
	"sync"

	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// Figures are what a reader who knows the birds can check an import by.
type Figures struct {
	AsOf         studbook.Day
	Living       int
	Founders     int     // founders from whom the living descend, or who live
	Generations  float64 // mean of the complete generation equivalents of the living (Maignel et al. 1996)
	ParentsKnown float64 // share of the parents of all birds that are known or possible birds, in [0, 1]
	MeanF        float64 // of the living
	Closest      []Pair  // the most related living pairs
}

// Pair is two birds and their kinship.
type Pair struct {
	A, B    string
	Kinship float64
}

const (
	closest = 5 // pairs
	// mostCompared bounds the living times all birds up to which every two of
	// the living are compared: some tenths of a second.
	mostCompared = 20_000_000
)

// Figures returns those of the colony on a day; nil if the import stopped.
func (r *Result) Figures(ctx context.Context, day studbook.Day) (*Figures, error) {
	if r.Colony == nil {
		return nil, nil
	}
	f, err := figuresOf(ctx, r.Colony, day)
	return &f, err
}

// lines returns the living birds and all whom they descend from or may descend from, and
// what is known of the kinship of founders among these.
func lines(s *studbook.Snapshot) (birds []studbook.Bird, related []studbook.FounderKinship) {
	seen := make([]bool, len(s.Birds))
	for up := slices.Clone(s.Living); len(up) > 0; {
		i := up[len(up)-1]
		up = up[:len(up)-1]
		if seen[i] {
			continue
		}
		seen[i] = true
		b := &s.Birds[i]
		sire, dam := s.Parents(i)
		for k, at := range [2]int{sire, dam} {
			if at >= 0 {
				up = append(up, at)
				continue
			}
			for _, x := range [2]studbook.Parentage{b.Sire, b.Dam}[k].Candidates {
				if at, there := s.Index(x.ID); there {
					up = append(up, at)
				}
			}
		}
	}
	for i, of := range seen {
		if of {
			birds = append(birds, s.Birds[i])
		}
	}
	among := func(id string) bool {
		i, there := s.Index(id)
		return there && seen[i]
	}
	for _, k := range s.FounderKinship() {
		if among(k.ID1) && among(k.ID2) {
			related = append(related, k)
		}
	}
	return birds, related
}

func figuresOf(ctx context.Context, c *studbook.Colony, day studbook.Day) (Figures, error) {
	s := c.At(day)
	f := Figures{AsOf: day, Living: len(s.Living)}
	birds, related := lines(s)
	p, err := pedigree.New(ctx, birds, related)
	if err != nil {
		return f, err
	}
	known, rows := 0, 0
	for i := range s.Birds {
		b := &s.Birds[i]
		if !b.Recorded {
			continue
		}
		rows++
		for _, side := range []studbook.Parentage{b.Sire, b.Dam} {
			if !side.Unknown() {
				known++
			}
		}
	}
	if rows > 0 {
		f.ParentsKnown = float64(known) / float64(2*rows)
	}
	nodes := make([]int, 0, len(s.Living))
	for _, i := range s.Living {
		if n, ok := p.Index(s.Birds[i].ID); ok {
			nodes = append(nodes, n)
			f.MeanF += p.F(n)
		}
	}
	for k := range birds {
		if birds[k].Founder() {
			f.Founders++
		}
	}
	if len(nodes) == 0 {
		return f, nil
	}
	f.MeanF /= float64(len(nodes))
	deep := p.EquivalentGenerations()
	for _, n := range nodes {
		f.Generations += deep[n] / float64(len(nodes))
	}
	if len(nodes)*p.Len() > mostCompared {
		return f, nil
	}
	order := func(x, y Pair) int {
		return cmp.Or(cmp.Compare(y.Kinship, x.Kinship), cmp.Compare(x.A, y.A), cmp.Compare(x.B, y.B))
	}
	var mu sync.Mutex
	err = p.KinshipRows(ctx, nodes, nodes, func(r int, row []float64) {
		var here []Pair
		for k := range r {
			if len(here) == closest && row[k] < here[closest-1].Kinship {
				continue
			}
			a, b := p.Name(nodes[r]), p.Name(nodes[k])
			here = append(here, Pair{min(a, b), max(a, b), row[k]})
			slices.SortFunc(here, order)
			here = here[:min(len(here), closest)]
		}
		mu.Lock()
		defer mu.Unlock()
		f.Closest = append(f.Closest, here...)
		slices.SortFunc(f.Closest, order)
		f.Closest = f.Closest[:min(len(f.Closest), closest)]
	})
	return f, err
}
