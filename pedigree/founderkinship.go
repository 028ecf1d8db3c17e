package pedigree

import (
	"fmt"
	"slices"

	"gonum.org/v1/gonum/mat"

	"pairwright/pedigree/studbook"
)

// A KinshipError says that the given kinships of founders cannot be.
type KinshipError struct {
	IDs    []string
	Reason string
}

// Error names at most ten of the founders and what is wrong with their
// kinships.
func (e *KinshipError) Error() string {
	return fmt.Sprintf("pedigree: founder kinship of %s: %s", studbook.SomeOf(e.IDs, mostNamed), e.Reason)
}

// relateFounders puts the known kinships among founders into B. A founder's
// kinship with itself is 1/2 where it is not given.
func (p *Pedigree) relateFounders(known []studbook.FounderKinship) error {
	if len(known) == 0 {
		return nil
	}
	node := func(id string) (int32, error) {
		i, ok := p.Index(id)
		if !ok {
			return 0, &KinshipError{[]string{id}, "no such bird"}
		}
		if i >= p.founders {
			return 0, &KinshipError{[]string{id}, "the bird has a known parent, so its kinships follow from the pedigree"}
		}
		return int32(i), nil
	}
	for _, k := range known {
		for _, id := range []string{k.ID1, k.ID2} {
			i, err := node(id)
			if err != nil {
				return err
			}
			p.related = append(p.related, i)
		}
	}
	slices.Sort(p.related)
	p.related = slices.Compact(p.related)
	n := len(p.related)
	p.relationship = make([]float64, n*n)
	for i := range n {
		p.relationship[i*n+i] = 1
	}
	given := make(map[[2]int]float64, len(known))
	for _, k := range known {
		i, _ := p.Index(k.ID1)
		j, _ := p.Index(k.ID2)
		a, _ := slices.BinarySearch(p.related, int32(i))
		b, _ := slices.BinarySearch(p.related, int32(j))
		pair := [2]int{min(a, b), max(a, b)}
		if before, twice := given[pair]; twice && before != k.Kinship {
			return &KinshipError{[]string{k.ID1, k.ID2}, "given twice, with two values"}
		}
		given[pair] = k.Kinship
		p.relationship[a*n+b] = 2 * k.Kinship
		p.relationship[b*n+a] = 2 * k.Kinship
	}
	return p.checkRelationship()
}

// rounding is how far rounding alone may take a sum of weights from 1, or an
// eigenvalue of the founders' relationship below 0.
const rounding = 1e-9

func (p *Pedigree) checkRelationship() error {
	n := len(p.related)
	at := func(a, b int) float64 { return p.relationship[a*n+b] }
	for a := range n {
		if !(at(a, a) >= 1 && at(a, a) <= 2) { // false of NaN too
			return &KinshipError{[]string{p.names[p.related[a]]}, "kinship with itself must be from 0.5 to 1"}
		}
		for b := range a {
			if !(at(a, b) >= 0 && at(a, b) <= min(at(a, a), at(b, b))) {
				return &KinshipError{[]string{p.names[p.related[a]], p.names[p.related[b]]},
					"kinship must be at least 0 and no larger than either bird's kinship with itself"}
			}
		}
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(mat.NewSymDense(n, p.relationship), false) || slices.Min(eigen.Values(nil)) < -rounding {
		ids := make([]string, n)
		for k, a := range p.related {
			ids[k] = p.names[a]
		}
		return &KinshipError{ids, "taken together no pedigree could give these kinships (the matrix is not positive semidefinite)"}
	}
	return nil
}
