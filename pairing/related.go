package pairing

import (
	"cmp"
	"context"
	"slices"
)

// Related says how closely related all birds that may breed are, where every
// pair of them is above the limit.
type Related struct {
	Female, Male int     // the pair of the least F, the first by id
	Least        float64 // F of its chick
	Limits       []LimitAllows
}

// LimitAllows is what another limit would allow.
type LimitAllows struct {
	Limit  float64 // F of the most related pair in it: the limit must be above
	Pairs  int     // the most pairs that the birds can form at once
	Chicks int     // of these, at the most chicks a pair may hatch in a season
}

// relate compares all pairs that may breed but for their kinship; nil if there
// are none. The most pairs at once are a largest matching of females to males,
// grown by augmenting paths (Berge 1957) as the limit rises.
func (r *Ranker) relate(ctx context.Context) (*Related, error) {
	if len(r.females) == 0 || len(r.males) == 0 {
		return nil, nil
	}
	type match struct {
		female, male int // in r.females and r.males
		f            float64
	}
	var all []match
	rows := make([][]match, len(r.females))
	err := r.p.Pedigree.KinshipRows(ctx, r.p.nodes(r.females), r.p.nodes(r.males), func(f int, row []float64) {
		for m, kinship := range row {
			rows[f] = append(rows[f], match{f, m, kinship})
		}
	})
	if err != nil {
		return nil, err
	}
	for _, row := range rows {
		all = append(all, row...)
	}
	slices.SortStableFunc(all, func(a, b match) int { return cmp.Compare(a.f, b.f) })
	out := &Related{Female: r.females[all[0].female], Male: r.males[all[0].male], Least: all[0].f}

	mates := make([][]int, len(r.females)) // males within the limit so far
	taken := make([]int, len(r.males))     // female + 1
	var seen []bool
	var augment func(f int) bool
	augment = func(f int) bool {
		for _, m := range mates[f] {
			if seen[m] {
				continue
			}
			seen[m] = true
			if taken[m] == 0 || augment(taken[m]-1) {
				taken[m] = f + 1
				return true
			}
		}
		return false
	}
	matched := make([]bool, len(r.females))
	pairs, most := 0, min(len(r.females), len(r.males))
	for start := 0; start < len(all) && pairs < most; {
		end := start
		for end < len(all) && all[end].f-all[start].f < rounding {
			mates[all[end].female] = append(mates[all[end].female], all[end].male)
			end++
		}
		before := pairs
		for f := range mates {
			seen = make([]bool, len(r.males))
			if !matched[f] && augment(f) {
				matched[f] = true
				pairs++
			}
		}
		if pairs > before {
			out.Limits = append(out.Limits, LimitAllows{all[end-1].f, pairs, pairs * r.p.Settings().ChicksPerPair})
		}
		start = end
	}
	return out, nil
}
