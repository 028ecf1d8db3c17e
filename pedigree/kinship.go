package pedigree

import (
	"cmp"
	"context"
	"runtime"
	"slices"
	"sync/atomic"

	"github.com/sourcegraph/conc"
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

// KinshipMatrix is the kinship of every two of some birds, (1+F)/2 on the
// diagonal, each kept once. It is a mat.Symmetric.
type KinshipMatrix struct {
	rank []int32   // of each bird among all of them, by node
	f    []float64 // kinships of each rank with those up to it, row by row
}

// KinshipMatrix returns the kinship of every two of the nodes, in their order.
// Time is the number of nodes times the number of their ancestors, memory the
// kinships. ctx stops it between some rows.
func (p *Pedigree) KinshipMatrix(ctx context.Context, nodes []int) (*KinshipMatrix, error) {
	g, here := p.lineage(nodes)
	m, order := newKinshipMatrix(nodes)
	local := make([]int, len(nodes)) // by rank
	for rank, k := range order {
		local[rank], _ = slices.BinarySearch(here, int32(nodes[k]))
	}
	// Those before a node need nothing of those after it. The longest rows are
	// first, or one core would end with long ones alone.
	groups := (len(nodes) + abreast - 1) / abreast
	err := onAllCores(ctx, groups, func(next func() (int, bool)) {
		all := make([]amounts, len(here))
		for k, ok := next(); ok; k, ok = next() {
			first := (groups - 1 - k) * abreast
			ranks := local[first:min(first+abreast, len(local))]
			last := ranks[len(ranks)-1]
			x := all[:max(last+1, g.founders)]
			clear(x)
			var rows [abreast][]float64
			for r, i := range ranks {
				x[i][r] = 0.5
				rows[r] = m.f[triangle(first+r):triangle(first+r+1)]
			}
			g.relateAbreast(x, last)
			for c, j := range local[:first+len(ranks)] {
				v := &x[j]
				for r := max(0, c-first); r < len(ranks); r++ {
					rows[r][c] = v[r]
				}
			}
		}
	})
	if err != nil {
		return nil, err
	}
	return m, nil
}

// newKinshipMatrix returns a matrix to be filled in, and the places in nodes by rank.
func newKinshipMatrix(nodes []int) (m *KinshipMatrix, order []int) {
	order = make([]int, len(nodes))
	for k := range order {
		order[k] = k
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(nodes[a], nodes[b]) })
	m = &KinshipMatrix{make([]int32, len(nodes)), make([]float64, triangle(len(nodes)))}
	for rank, k := range order {
		m.rank[k] = int32(rank)
	}
	return m, order
}

// At returns the kinship of the i-th and the j-th bird.
func (m *KinshipMatrix) At(i, j int) float64 {
	a, b := int(m.rank[i]), int(m.rank[j])
	return m.f[triangle(max(a, b))+min(a, b)]
}

// Dims returns the number of birds, twice.
func (m *KinshipMatrix) Dims() (rows, columns int) { return len(m.rank), len(m.rank) }

// SymmetricDim returns the number of birds.
func (m *KinshipMatrix) SymmetricDim() int { return len(m.rank) }

// T returns the matrix itself, which is its transpose.
func (m *KinshipMatrix) T() mat.Matrix { return m }

// triangle is the number of pairs among n, selves included.
func triangle(n int) int { return n * (n + 1) / 2 }

// KinshipRows calls use with the kinships of every node of rows with all nodes
// of columns, r being the place in rows. The calls come from several
// goroutines in no order, each r once; row is overwritten by the next call of
// the same goroutine. Time is the number of rows times the number of ancestors
// of rows and columns, memory linear. ctx stops it between some rows.
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
	return onAllCores(ctx, (len(rows)+abreast-1)/abreast, func(next func() (int, bool)) {
		x := make([]amounts, len(here))
		row := make([]float64, len(columns))
		for k, ok := next(); ok; k, ok = next() {
			first := k * abreast
			group := rows[first:min(first+abreast, len(rows))]
			clear(x)
			last := 0
			for r, node := range group {
				k := local[node]
				x[k][r] = 0.5
				last = max(last, k)
			}
			g.relateAbreast(x, last)
			for r := range group {
				for c, i := range column {
					row[c] = x[i][r]
				}
				use(first+r, row)
			}
		}
	})
}

// onAllCores calls do once on each core, with what gives it the numbers from 0 to
// n-1, each to one of the calls, until ctx is done. Its error is that of ctx.
func onAllCores(ctx context.Context, n int, do func(next func() (k int, ok bool))) error {
	var taken atomic.Int64
	next := func() (int, bool) {
		if ctx.Err() != nil {
			return 0, false
		}
		k := int(taken.Add(1)) - 1
		return k, k < n
	}
	cores := min(runtime.GOMAXPROCS(0), n)
	if cores == 1 {
		do(next)
		return ctx.Err()
	}
	var wg conc.WaitGroup
	for range cores {
		wg.Go(func() { do(next) })
	}
	wg.Wait()
	return ctx.Err()
}
