package bonds

import (
	"context"
	"fmt"
	"math"
	"sync"
)

// Problem is free females and males to be paired. A pair of birds at one place
// needs no move; any other is formed by a move of one of the two to the other's
// place.
type Problem struct {
	// Value of each pair, by female then male. Only pairs above 0 are ever
	// formed; NaN or infinite: not allowed.
	Value [][]float64

	// FemaleAt and MaleAt are the places of the birds, as numbers in Rooms;
	// both nil if all live at one place.
	FemaleAt, MaleAt []int
	// Ways says of each pair that needs a move who may move, by female then
	// male; nil: both ways are possible for all.
	Ways [][]Ways

	Rooms []Room // of each place; nil: no place is limited
	Moves int    // most moves in all; -1 without limit

	// LeastGain is what a move must be worth, 0 or more: a pair that needs a
	// move is formed only if without it, and with one move less, the sum of
	// values would be smaller by at least so much.
	LeastGain float64

	// Work is how much work may go into finding better pairs than those at hand,
	// in entries of matrices looked at; 0 for some 0.2 s on a machine of 2020.
	Work int
	// PairsAlone leaves out what follows from the pairs: Adjusted, and what each mate
	// is worth.
	PairsAlone bool
}

// Ways is a set of ways in which two birds of different places come together.
type Ways uint8

// The ways to bring two birds together.
const (
	FemaleMoves Ways = 1 << iota // she moves to his place
	MaleMoves                    // he moves to her place
	// RatherMale prefers the move of the male where both ways are possible
	// and take equally scarce room; else the female's is preferred.
	RatherMale
)

// Room is how many birds may move in to a place; -1 where not limited.
type Room struct {
	Females, Males int
	Birds          int // females and males together
}

// Pair is two birds to be paired.
type Pair struct {
	Female, Male int
	Mover        Ways // FemaleMoves, MaleMoves, or 0 if both live at one place
}

// Prices are what the scarce room for moves is worth, in units of value: by how
// much the bound falls for each move less that a limit allows (Lagrange
// multipliers, 0 or more; 0 where a limit does not bind).
type Prices struct {
	Females, Males, Birds []float64 // for each move in, by place
	Moves                 float64   // for each move
}

// Answer is the pairs found, what is proven of them, and, by OfFemale and
// OfMale, what each mate is worth.
type Answer struct {
	Pairs []Pair // by female
	Mate  []int  // male of each female, -1 if unpaired
	Moves int    // pairs that need a move

	// Sum of the values of the pairs. No choice of pairs within the limits has
	// a larger sum than Bound, each move beyond Moves counted as LeastGain less
	// and each move short of it as LeastGain more:
	//
	//	sum − LeastGain·(moves − Moves) ≤ Bound
	Sum, Bound float64
	Proven     bool // no choice is better, but for rounding; Bound is then Sum

	Prices Prices

	// Adjusted are the values with which the limited problem is a plain
	// assignment of females to males: no choice of pairs whatever has a larger
	// sum of them than Pairs. A pair at one place has its value. A pair of the
	// answer that needs a move has its value less the prices of the room it
	// takes; one not of the answer LeastGain less besides, so that every move of
	// the answer is worth that. Where room is so lumpy that no prices lead to
	// Pairs, those of the answer have their plain value, and others that need a
	// move at most what their birds would lose by it. −Inf: not allowed.
	Adjusted [][]float64

	// charge is what a pair that may be formed in some ways is charged; see Charge.
	charge func(f, m int, ways Ways) float64

	plain  *assignment         // of Adjusted, with Pairs as its matching
	losses [2]func() []float64 // of the females, of the males: side.losses of plain, computed when first asked for
	least  func() []float64    // of each female of plain, the least price that the males' allow
	wider  sync.Pool           // plain with room for a female and a male more, which Join fills in
}

// Solve finds the pairs whose values add up to most within the limits: exactly
// where no limit binds, and where branch and bound can close the gap within a
// fixed amount of work; else the best found, with its bound. Equal inputs give
// equal answers; of equal choices those of lower numbers come first where they
// are met. The error is ctx's.
//
// A move must be worth LeastGain. So each is charged it, and of the sums thus
// charged the largest is taken: a choice with fewer moves then falls short by
// at least LeastGain for each, whatever the birds would do instead.
func (p *Problem) Solve(ctx context.Context) (*Answer, error) {
	work := p.Work
	if work == 0 {
		work = budget
	}
	return p.solve(ctx, work)
}

func (p *Problem) solve(ctx context.Context, budget int) (*Answer, error) {
	p.check()
	s := newSearch(ctx, p, budget)
	if p.PairsAlone {
		defer memories.Put(s.memory)
	}
	if err := s.run(); err != nil {
		return nil, err
	}
	return s.answer()
}

// check panics where the parts of a problem do not fit together.
func (p *Problem) check() {
	females := len(p.Value)
	males := p.males()
	for f := range p.Value {
		if len(p.Value[f]) != males || p.Ways != nil && len(p.Ways[f]) != males {
			panic(fmt.Sprintf("bonds: row %d has another length than the first", f))
		}
	}
	if p.FemaleAt != nil && (len(p.FemaleAt) != females || males > 0 && len(p.MaleAt) != males) {
		panic("bonds: places of some birds are missing")
	}
}

// males returns the number of males.
func (p *Problem) males() int {
	if len(p.Value) == 0 {
		return len(p.MaleAt)
	}
	return len(p.Value[0])
}

// value returns the value of a pair, −Inf if it is not allowed.
func (p *Problem) value(f, m int) float64 {
	if v := p.Value[f][m]; !math.IsNaN(v) && !math.IsInf(v, 0) && p.ways(f, m) != 0 {
		return v
	}
	return math.Inf(-1)
}

// atHome stands for the way of a pair that needs no move.
const atHome Ways = 1 << 7

// ways returns how a pair may be formed.
func (p *Problem) ways(f, m int) Ways {
	if p.FemaleAt == nil || p.FemaleAt[f] == p.MaleAt[m] {
		return atHome
	}
	if p.Ways == nil {
		return FemaleMoves | MaleMoves
	}
	if w := p.Ways[f][m]; w&(FemaleMoves|MaleMoves) != 0 {
		return w
	}
	return 0
}
