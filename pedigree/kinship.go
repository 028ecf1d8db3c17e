package pedigree

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"

	"gonum.org/v1/gonum/mat"
)

// Kinship returns the chance that a gene drawn at random from a and one drawn
// from b at the same place descend from the same founder gene (Malécot 1948):
//
//	f_ab = A_ab / 2,   f_aa = (1 + F_a) / 2
//
// in 0..1. It is the F that a chick of the two would have. Only the two birds'
// ancestors are visited.
func (p *Pedigree) Kinship(a, b int) float64 {
	if a == b {
		return p.self[a] / 2
	}
	g, here := p.lineage([]int{a, b})
	x := make([]float64, len(here))
	last := len(here) - 1 // the younger of the two
	x[last] = 1
	g.relate(x)
	elder := min(a, b)
	for k, i := range here {
		if int(i) == elder {
			return x[k] / 2
		}
	}
	panic("pedigree: a bird is missing from its own lineage")
}

// Kinships returns the kinship of a with every node of the pedigree, by node.
func (p *Pedigree) Kinships(a int) []float64 {
	x := make([]float64, p.Len())
	x[a] = 0.5
	p.relate(x)
	return x
}

// KinshipMatrix returns the kinship of every two of the nodes, in their order,
// (1+F)/2 on the diagonal. Time is the number of nodes times the number of
// their ancestors, memory the matrix. It panics if nodes is empty; ctx stops
// it between rows.
func (p *Pedigree) KinshipMatrix(ctx context.Context, nodes []int) (*mat.SymDense, error) {
	g, here := p.lineage(nodes)
	local := make(map[int]int, len(here))
	for k, i := range here {
		local[int(i)] = k
	}
	column := make([]int, len(nodes))
	// A row needs only the nodes up to the youngest that it is asked about.
	needed := make([]int, len(nodes))
	for k := len(nodes) - 1; k >= 0; k-- {
		column[k] = local[nodes[k]]
		needed[k] = max(column[k]+1, g.founders)
		if k+1 < len(nodes) {
			needed[k] = max(needed[k], needed[k+1])
		}
	}
	m := mat.NewSymDense(len(nodes), nil)
	raw := m.RawSymmetric()
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(nodes)) {
		wg.Go(func() {
			x := make([]float64, len(here))
			for ctx.Err() == nil {
				r := int(next.Add(1)) - 1
				if r >= len(nodes) {
					return
				}
				y := x[:needed[r]]
				clear(y)
				y[column[r]] = 0.5
				g.relate(y)
				row := raw.Data[r*raw.Stride:]
				for c := r; c < len(nodes); c++ {
					row[c] = y[column[c]]
				}
			}
		})
	}
	wg.Wait()
	return m, ctx.Err()
}
