package pedigree

import (
	"context"
	"runtime"
	"slices"
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
	if a > b { // one way round, for the same last digit
		a, b = b, a
	}
	g, here := p.lineage([]int{a, b})
	k, _ := slices.BinarySearch(here, int32(a))
	l, _ := slices.BinarySearch(here, int32(b))
	x := make([]float64, len(here))
	x[k] = 0.5
	g.relateOne(x, k)
	return x[l]
}

// Kinships returns the kinship of a with every node of the pedigree, by node.
func (p *Pedigree) Kinships(a int) []float64 {
	x := make([]float64, p.Len())
	x[a] = 0.5
	p.relateOne(x, a)
	return x
}

// KinshipMatrix returns the kinship of every two of the nodes, in their order,
// (1+F)/2 on the diagonal. Time is the number of nodes times the number of
// their ancestors, memory the matrix. It panics if nodes is empty; ctx stops
// it between rows.
func (p *Pedigree) KinshipMatrix(ctx context.Context, nodes []int) (*mat.SymDense, error) {
	m := mat.NewSymDense(len(nodes), nil)
	raw := m.RawSymmetric()
	err := p.KinshipRows(ctx, nodes, nodes, func(r int, row []float64) {
		copy(raw.Data[r*raw.Stride+r:(r+1)*raw.Stride], row[r:])
	})
	return m, err
}

// KinshipRows calls use with the kinships of every node of rows with all nodes
// of columns, r being the place in rows. The calls come from several
// goroutines in no order, each r once; row is overwritten by the next call of
// the same goroutine. Time is the number of rows times the number of ancestors
// of rows and columns, memory linear. ctx stops it between rows.
func (p *Pedigree) KinshipRows(ctx context.Context, rows, columns []int, use func(r int, row []float64)) error {
	g, here := p.lineage(append(slices.Clone(rows), columns...))
	local := make(map[int]int, len(here))
	for k, i := range here {
		local[int(i)] = k
	}
	column := make([]int, len(columns))
	for c, i := range columns {
		column[c] = local[i]
	}
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(rows)) {
		wg.Go(func() {
			x := make([]float64, len(here))
			row := make([]float64, len(columns))
			for ctx.Err() == nil {
				r := int(next.Add(1)) - 1
				if r >= len(rows) {
					return
				}
				clear(x)
				k := local[rows[r]]
				x[k] = 0.5
				g.relateOne(x, k)
				for c, i := range column {
					row[c] = x[i]
				}
				use(r, row)
			}
		})
	}
	wg.Wait()
	return ctx.Err()
}
