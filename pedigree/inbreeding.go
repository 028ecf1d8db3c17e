package pedigree

import "context"

// inbreeding fills self and fresh of every node.
func (p *Pedigree) inbreeding(ctx context.Context) error {
	n := p.Len()
	p.self = nil // that of another may share it
	p.founderSelves()
	p.fresh = make([]float64, n)
	copy(p.fresh, p.self[:p.founders])
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

// founderSelves makes self anew and fills in that of the founders.
func (f *flow) founderSelves() {
	f.self = zeros(f.self, len(f.sire))
	for i := range f.founders {
		f.self[i] = 1
	}
	for k, a := range f.related {
		f.self[a] = f.relationship[k*len(f.related)+k]
	}
}

// quicker chooses between the ways to self of every node, of which the last two are
// right for every pedigree:
//
//   - the lines of descent that lead to each breeder, all of them listed (lines.go): quick
//     where there are few, as in a pedigree of few generations;
//   - a sweep over all nodes in their order, which keeps the relationships among
//     those that still breed: quick where these are few for the number of birds, as in
//     a flock of overlapping generations or a line of full siblings, but its memory
//     grows with the square of their number. Batch by batch (sweep.go), or where they
//     are very few node by node (narrow.go), which gives the same;
//   - walks from the sires over the ancestors of these and of their mates (walk.go):
//     quick where birds have few ancestors or few sires have many chicks, and in
//     little memory whatever the pedigree.
//
// Lines and the relationships that a sweep works out are counted before, the visits of
// walks estimated from some of them. So the choice rests on the pedigree alone, and no
// figure depends on the machine.
func (p *Pedigree) quicker() interface{ run(context.Context) error } {
	if t := newLines(p); t != nil {
		return t
	}
	w := newWalks(p)
	visits := w.estimate()
	if visits < fewVisits*p.Len() {
		return w
	}
	s := newSweep(p)
	switch {
	case s.bytes() > sweepBytes || s.steps > stepsPerVisit*visits:
		return w
	case s.width <= narrowMost:
		return newNarrow(p)
	}
	return s
}

const (
	// fewVisits is the number of visits for each node up to which walks are quick in
	// any case.
	fewVisits = 16
	// stepsPerVisit is how many relationships a sweep works out in the time in
	// which walks visit a node.
	stepsPerVisit = 5
	// narrowMost is the most places of a narrow sweep: its square takes 8 MB.
	narrowMost = 1024
	// sweepBytes is the most memory of a window: room for some 11,000 that breed at a time.
	sweepBytes = 768 << 20
)

// freshen sets fresh of a node from self of its parents.
func (p *Pedigree) freshen(i int32) {
	if int(i) >= p.founders && p.sire[i] >= 0 {
		p.fresh[i] = 1 - (p.self[p.sire[i]]+p.self[p.dam[i]])/4
	}
}
