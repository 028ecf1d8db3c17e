package pedigree

import "context"

// inbreeding fills self and fresh of every node.
func (p *Pedigree) inbreeding(ctx context.Context) error {
	n := p.Len()
	p.self = make([]float64, n)
	p.fresh = make([]float64, n)
	for i := range p.founders {
		p.self[i], p.fresh[i] = 1, 1
	}
	for k, a := range p.related {
		p.self[a] = p.relationship[k*len(p.related)+k]
		p.fresh[a] = p.self[a]
	}
	if p.founders == n {
		return nil
	}
	if err := p.quicker().run(ctx); err != nil {
		return err
	}
	for i := p.founders; i < n; i++ {
		p.freshen(int32(i))
	}
	return nil
}

// quicker chooses between two ways to self of every node, each of which is right
// for every pedigree:
//
//   - a sweep over all nodes in their order, which keeps the relationships among
//     those that still breed (sweep.go): quick where these are few for the number
//     of birds, as in a flock of overlapping generations or a line of full siblings,
//     but its memory grows with the square of their number;
//   - walks from the sires over the ancestors of these and of their mates (walk.go):
//     quick where birds have few ancestors or few sires have many chicks, and in
//     little memory whatever the pedigree.
//
// The relationships that a sweep works out are counted before, the visits of walks
// estimated from some of them. So the choice rests on the pedigree alone, and no
// figure depends on the machine.
func (p *Pedigree) quicker() interface{ run(context.Context) error } {
	w := newWalks(p)
	visits := w.estimate()
	if visits < fewVisits {
		return w
	}
	s := newSweep(p)
	if s.bytes() <= sweepBytes && s.steps <= stepsPerVisit*visits {
		return s
	}
	return w
}

const (
	// fewVisits is the number of visits up to which walks are quick in any case.
	fewVisits = 200_000
	// stepsPerVisit is how many relationships a sweep works out in the time in
	// which walks visit a node.
	stepsPerVisit = 5
	// sweepBytes is the most memory of a window: room for some 11,000 that breed at a time.
	sweepBytes = 768 << 20
)

// freshen sets fresh of a node from self of its parents.
func (p *Pedigree) freshen(i int32) {
	if int(i) >= p.founders && p.sire[i] >= 0 {
		p.fresh[i] = 1 - (p.self[p.sire[i]]+p.self[p.dam[i]])/4
	}
}
