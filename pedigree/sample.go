package pedigree

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"sync"

	"pairwright/pedigree/studbook"
)

// Possible are the pedigrees that a studbook allows where parents are uncertain. It is
// immutable and safe for concurrent use.
type Possible struct {
	p       *Pedigree
	scratch sync.Pool // of drawing
}

// Possible returns the pedigrees that uncertain parents of this one allow.
func (p *Pedigree) Possible() *Possible { return &Possible{p: p} }

// PossibleOf returns the pedigrees that birds allow, with the errors of Of. It takes
// less than Of: nobody's F has to be known for it.
func PossibleOf(birds []*studbook.Bird, known []studbook.FounderKinship) (*Possible, error) {
	p, err := descent(birds, known)
	if err != nil {
		return nil, err
	}
	return p.Possible(), nil
}

// Uncertain reports whether there is more than one.
func (x *Possible) Uncertain() bool { return x.p.Uncertain() }

// Nodes returns the nodes of all birds, by id: they are the same in every pedigree.
func (x *Possible) Nodes() []int { return x.p.Nodes() }

// Sample returns the pedigree with every uncertain parent decided by a draw
// with its weights: one of the pedigrees that the studbook allows. Chicks of
// one clutch whose uncertain parent has the same candidates share the draw.
// The same seed and number give the same pedigree; nodes keep their numbers.
//
// F is computed anew: an inbred bird's F may differ between samples. The
// average over samples is the average relationship that uncertain parents give as
// they are, but for chicks that share a draw: these are full sibs in every sample.
func (x *Possible) Sample(seed uint64, number int) *Pedigree {
	q := x.sample(seed, number)
	if err := q.inbreeding(context.Background()); err != nil {
		panic("pedigree: " + err.Error()) // a context that never ends
	}
	return q
}

// sample is Sample without F.
func (x *Possible) sample(seed uint64, number int) *Pedigree {
	q := *x.p
	q.self, q.fresh = nil, nil
	q.mixtures = make([]mixture, len(x.p.mixtures))
	x.draw(seed, number, func(k int, m *mixture, chosen int) {
		q.mixtures[k] = mixture{node: m.node[chosen : chosen+1], weight: one, tie: m.tie}
	})
	return &q
}

// KinshipSharing returns what the kinship of two chicks of one clutch is if a parent of
// which it is open who of several it was is the same bird for both, as one draw:
//
//	f_ab + ¼ Σ over such parents (Σ_k p_k f_kk − Σ_k Σ_l p_k p_l f_kl)
//
// where Kinship has one draw for each of them (average relationship; Henderson 1988). ok
// is false where the two share no such question.
func (p *Pedigree) KinshipSharing(a, b int) (f float64, ok bool) {
	f = p.Kinship(a, b)
	if a == b || min(a, b) < p.founders {
		return f, false
	}
	for _, side := range [2][]int32{p.sire, p.dam} {
		mine, theirs := p.mixtureOf(side[a]), p.mixtureOf(side[b])
		if mine == nil || theirs == nil || mine.tie != theirs.tie {
			continue
		}
		ok = true
		for k, weight := range mine.weight {
			f += weight * p.Kinship(int(mine.node[k]), int(theirs.node[k])) / 4
			for l, other := range theirs.weight {
				f -= weight * other * p.Kinship(int(mine.node[k]), int(theirs.node[l])) / 4
			}
		}
	}
	return f, ok
}

// mixtureOf returns the uncertain parent that a node stands for, nil where it is a bird.
func (p *Pedigree) mixtureOf(node int32) *mixture {
	if int(node) < p.founders || p.sire[node] >= 0 {
		return nil
	}
	return &p.mixtures[-1-p.sire[node]]
}

// one is the weight of a candidate that was drawn.
var one = []float64{1}

// draw calls set with every mixture and the candidate that is drawn of it.
func (x *Possible) draw(seed uint64, number int, set func(k int, m *mixture, chosen int)) {
	random := rand.New(rand.NewPCG(seed, uint64(number)))
	drawn := slices.Repeat([]float64{math.NaN()}, len(x.p.mixtures)) // by tie
	for k := range x.p.mixtures {
		m := &x.p.mixtures[k]
		u := drawn[m.tie]
		if math.IsNaN(u) {
			u = random.Float64()
			drawn[m.tie] = u
		}
		chosen := 0
		for chosen < len(m.weight)-1 && u >= m.weight[chosen] {
			u -= m.weight[chosen]
			chosen++
		}
		set(k, m, chosen)
	}
}

// drawing is a drawn pedigree as far as some birds and their ancestors go: birds have
// those that were drawn for parents, and nobody the uncertain parents themselves.
type drawing struct {
	flow
	of     []int32 // who was drawn, by mixture
	narrow narrow
}

// SampleKinships returns the kinship of every two of the birds at nodes in the
// pedigree that Sample gives for the same seed and number, as its KinshipMatrix does but
// for rounding. It takes all of them in one pass over the birds' ancestors, where few
// breed at a time; see SampleKinshipsQuick.
func (x *Possible) SampleKinships(seed uint64, number int, nodes []int) *KinshipMatrix {
	d, made := x.scratch.Get().(*drawing)
	if !made {
		d = &drawing{}
	}
	defer x.scratch.Put(d)
	x.plan(d, seed, number, nodes)
	if err := d.narrow.run(context.Background()); err != nil {
		panic("pedigree: " + err.Error()) // a context that never ends
	}
	return d.narrow.kinships(nodes)
}

// plan makes a drawing of a sample.
func (x *Possible) plan(d *drawing, seed uint64, number int, nodes []int) {
	p := x.p
	d.of = zeros(d.of, len(p.mixtures))
	x.draw(seed, number, func(k int, m *mixture, chosen int) { d.of[k] = m.node[chosen] })
	d.founders, d.related, d.relationship = p.founders, p.related, p.relationship
	d.sire, d.dam = append(d.sire[:0], p.sire...), append(d.dam[:0], p.dam...)
	d.founderSelves()
	who := func(i int32) int32 {
		if int(i) >= p.founders && p.sire[i] < 0 {
			return d.of[-1-p.sire[i]]
		}
		return i
	}
	for i := p.founders; i < p.Len(); i++ {
		if p.sire[i] >= 0 {
			d.sire[i], d.dam[i] = who(p.sire[i]), who(p.dam[i])
		}
	}
	d.narrow.plan(&d.flow, nodes)
}

// SampleKinshipsQuick reports whether the kinships of the birds at nodes are had more
// quickly from SampleKinships than from Sample and Kinships: of pedigrees of many
// generations with few that breed at a time. It rests on the first sample of a seed.
func (x *Possible) SampleKinshipsQuick(seed uint64, nodes []int) bool {
	if len(nodes) == 0 || len(nodes) > narrowMost {
		return false
	}
	q := x.sample(seed, 0)
	q.founderSelves()
	switch q.quicker().(type) {
	case *walks, *lines:
		return false
	}
	d := &drawing{}
	x.plan(d, seed, 0, nodes)
	return d.narrow.width <= narrowMost
}
