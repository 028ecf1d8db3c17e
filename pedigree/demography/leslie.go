package demography

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Leslie is a projection matrix by age class, one class a year (Leslie 1945):
// fecundities in the first row, survival from each class to the next below the
// diagonal. Birds do not outlive the last class.
type Leslie struct {
	fecundity []float64
	survival  []float64 // one shorter
}

// AfterBreeding returns the matrix of a population counted each year just
// after hatch, class x the birds of age x,
//
//	F_x = p_x m_{x+1},  p_x = l_{x+1}/l_x
//
// for a schedule as in NewGrowth. Chicks of birds hatched in the same season
// (m₀) come in as the further chicks that they add, 1/(1-m₀) to every brood. ok
// is false for an empty schedule and for m₀ of 1 or more. Its dominant eigenvalue,
// the yearly growth factor λ, is e^r of EulerLotka, which solves the characteristic
// equation rather than iterate the matrix: with one class that breeds several
// eigenvalues are equally large and the iteration would cycle for ever (Bernardelli
// 1941).
func AfterBreeding(l, m []float64) (a Leslie, ok bool) {
	checkSchedule(l, m)
	if len(l) == 0 || m[0] >= 1 {
		return Leslie{}, false
	}
	a = Leslie{fecundity: make([]float64, len(l)), survival: yearly(l)}
	for x, p := range a.survival {
		a.fecundity[x] = p * m[x+1] / (1 - m[0])
	}
	return a, true
}

// yearly returns the survival from each age to the next.
func yearly(l []float64) []float64 {
	p := make([]float64, len(l)-1)
	for x := range p {
		if l[x] > 0 {
			p[x] = l[x+1] / l[x]
		}
	}
	return p
}

// Classes returns the number of age classes.
func (a Leslie) Classes() int { return len(a.fecundity) }

// Matrix returns the matrix itself, new at each call.
func (a Leslie) Matrix() *mat.Dense {
	n := a.Classes()
	d := mat.NewDense(n, n, nil)
	d.SetRow(0, a.fecundity)
	for x, p := range a.survival {
		d.Set(x+1, x, p)
	}
	return d
}

// asSchedule returns the matrix as a schedule, class x at age x+1.
func (a Leslie) asSchedule() (l, m []float64) {
	l, m = []float64{0, 1}, []float64{0}
	for _, p := range a.survival {
		l = append(l, l[len(l)-1]*p)
	}
	return l, append(m, a.fecundity...)
}

// StableStructure returns the shares of the age classes, summing to 1, that
// the population keeps while it grows by λ a year,
//
//	w_x ∝ λ^-x Π_{y<x} p_y
//
// ok is false without births: such a population dies out and has no growth factor.
func (a Leslie) StableStructure() (w []float64, ok bool) {
	l, m := a.asSchedule()
	r := EulerLotka(l, m)
	if !r.Known {
		return nil, false
	}
	// In logarithms, largest taken out: a falling population of long-lived
	// birds would overflow λ^-x.
	w = make([]float64, a.Classes())
	top := math.Inf(-1)
	for x := range w {
		w[x] = math.Log(l[x+1]) - r.Value*float64(x)
		top = max(top, w[x])
	}
	sum := 0.0
	for x := range w {
		w[x] = math.Exp(w[x] - top)
		sum += w[x]
	}
	for x := range w {
		w[x] /= sum
	}
	return w, true
}

// Project returns the numbers in each class now and after each of the coming
// years: row t is Aᵗ start, t from 0 to years. It panics if start has another
// number of classes or years is below 0.
func (a Leslie) Project(start []float64, years int) [][]float64 {
	if len(start) != a.Classes() || years < 0 {
		panic("demography: projection from another number of classes")
	}
	matrix := a.Matrix()
	rows := [][]float64{append([]float64(nil), start...)}
	for t := range years {
		next := mat.NewVecDense(len(start), nil)
		next.MulVec(matrix, mat.NewVecDense(len(start), rows[t]))
		rows = append(rows, next.RawVector().Data)
	}
	return rows
}
