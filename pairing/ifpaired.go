package pairing

import (
	"context"
	"slices"

	"pairwright/pedigree/studbook"
)

// Change is what a pair changes for another bird: the mates it would have by the
// season's decision before and after, -1 for none.
type Change struct{ Bird, Before, After int }

// IfPaired returns what becomes of the other birds when two birds that may breed
// are paired in the coming season, whatever the decision has for them: the others
// are assigned anew to each other, the mates that the two have now among them. The
// changes are by bird; each changed pair shows in both of its birds. What place
// the two would take up at an institution is not counted.
func (d *Decision) IfPaired(ctx context.Context, a, b int) ([]Change, error) {
	p := d.p
	left := slices.Concat(p.Mates(a), p.Mates(b))
	free := d.freeBirds(func(x int) bool { return slices.Contains(left, x) || d.released(x) && !d.promised(x) })
	rest := pool{row: map[int]int{}, column: map[int]int{}}
	for k, numbers := range [2][]int{free.females, free.males} {
		side := [2][]int{d.m.females, d.m.males}[k]
		for _, n := range numbers {
			if x := side[n]; x != a && x != b {
				rest.add(x, n, p.Book.Birds[x].Sex)
			}
		}
	}
	other := *d
	answer, err := other.solve(ctx, rest)
	if err != nil {
		return nil, err
	}
	after := map[int]int{}
	for _, x := range answer.Pairs {
		f, m := d.m.females[rest.females[x.Female]], d.m.males[rest.males[x.Male]]
		after[f], after[m] = m, f
	}
	var changes []Change
	for x := range p.Book.Birds {
		_, female := rest.row[x]
		_, male := rest.column[x]
		if !female && !male {
			continue
		}
		c := Change{Bird: x, Before: -1, After: -1}
		if mate, ok := d.MateOf(x); ok {
			c.Before = mate
		}
		if mate, ok := after[x]; ok {
			c.After = mate
		}
		if c.Before != c.After {
			changes = append(changes, c)
		}
	}
	return changes, nil
}

// Together is what two living birds would do as a pair in the coming season,
// whatever bonds they are in now.
type Together struct {
	A, B int
	// Mate is B as a mate for A, with the reasons and without a rank; nil where the two
	// cannot be a pair, and then Against says why.
	Mate      *Candidate
	Against   []Reason
	Bond      *Bond    // that the decision has for the two all the same; nil if it has none
	LeastGain float64  // what a pair must gain to be worth a move
	Changes   []Change // for the other birds
	// ChickMeanKinship is that of a chick of the two with the programme as it is:
	// the mean of theirs.
	ChickMeanKinship float64
}

// hasOther reports whether a bird has a mate that it is to keep, or is promised one, other
// than the bird it is asked about with.
func (d *Decision) hasOther(b, with int) bool {
	other, promised := d.rulings.mate[b]
	return promised && other != with || !d.released(b) && slices.ContainsFunc(d.p.Mates(b), func(m int) bool { return m != with })
}

// Together returns what two birds would do as a pair, as if every bond might be
// parted where the second has another mate; nil for birds that can be none: of one
// sex, of unknown sex, not among the living.
func (r *Ranker) Together(ctx context.Context, a, b int) (*Together, error) {
	p := r.p
	if p.Book.Birds[a].Sex == p.Book.Birds[b].Sex {
		return nil, nil
	}
	for _, x := range [2]int{a, b} {
		if !p.Book.Alive(x) || p.Book.Birds[x].Sex == studbook.Unsexed {
			return nil, nil
		}
	}
	out := &Together{A: a, B: b, LeastGain: r.d.LeastGain, ChickMeanKinship: (p.Living.MeanKinshipOf(p.node[a]) + p.Living.MeanKinshipOf(p.node[b])) / 2}
	if bond, paired := r.d.BondOf(a); paired && bond.Mate(a) == b {
		out.Bond = &bond
	}
	for _, x := range [2]int{a, b} {
		if !p.State(x).State.MayBreed() {
			out.Against = append(out.Against, p.StateReason(x))
		}
	}
	if len(out.Against) > 0 {
		return out, nil
	}
	// As the mates of A are ranked, and where B has another mate, as with all that
	// are bonded among them.
	taken := r.d.hasOther(b, a)
	from, err := r.d.pool(ctx, a, taken)
	if err != nil {
		return nil, err
	}
	kinship := p.Pedigree.Kinships(p.node[a])[p.node[b]]
	x, ok := from.unplacedMate(a, b)
	if !ok {
		out.Against = r.Asked(Options{BreakBonds: taken, Samples: -1}).exclude(a, b, kinship)
		return out, nil
	}
	ranking := &Ranking{Bird: a, AllAlike: r.d.m.alike, EligiblePairs: r.d.m.eligible}
	if bond, paired := r.d.BondOf(a); paired {
		ranking.Bond = &bond
	}
	x.Rating = r.d.m.aheadOfEach([]float64{x.Value})[0]
	c := r.candidate(a, x, kinship, ranking.Bond != nil && ranking.Bond.Mate(a) == b)
	r.explain(ranking, &c)
	out.Mate = &c
	out.Changes, err = r.d.IfPaired(ctx, a, b)
	return out, err
}
