package pedigree

import (
	"context"
	"math/rand/v2"
)

// Sample returns the pedigree with every uncertain parent decided by a draw
// with its weights: one of the pedigrees that the studbook allows. Chicks of
// one clutch whose uncertain parent has the same candidates share the draw.
// The same seed and number give the same pedigree; nodes keep their numbers.
//
// F is computed anew: an inbred bird's F may differ between samples. The
// average over samples is the average relationship that p itself gives, but
// for chicks that share a draw: these are full sibs in every sample.
func (p *Pedigree) Sample(seed uint64, number int) *Pedigree {
	random := rand.New(rand.NewPCG(seed, uint64(number)))
	q := *p
	q.mixtures = make([]mixture, len(p.mixtures))
	drawn := make(map[int]float64)
	for k, m := range p.mixtures {
		u, ok := drawn[m.tie]
		if !ok {
			u = random.Float64()
			drawn[m.tie] = u
		}
		chosen := 0
		for chosen < len(m.weight)-1 && u >= m.weight[chosen] {
			u -= m.weight[chosen]
			chosen++
		}
		q.mixtures[k] = mixture{node: m.node[chosen : chosen+1], weight: one, tie: m.tie}
	}
	if err := q.inbreeding(context.Background()); err != nil {
		panic("pedigree: " + err.Error()) // a context that never ends
	}
	return &q
}

// one is the weight of a candidate that was drawn.
var one = []float64{1}
