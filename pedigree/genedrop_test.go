package pedigree

import (
	"fmt"
	"strconv"
	"testing"

	"pairwright/pedigree/studbook"

	"github.com/stretchr/testify/require"
)

// cohorts returns n birds in 40 yearly cohorts: the first are founders, later
// one in 50 is; sires are a few males of the last four years, dams females
// of two to seven years ago, one sire in 100 is unknown.
func cohorts(n int, seed uint64) []studbook.Bird {
	const years = 40
	k := uint64(0)
	below := func(m int) int {
		k++
		return int(randomWord(seed, k) >> 11 * uint64(m) >> 53)
	}
	known := func(i int) studbook.Parentage {
		return studbook.Parentage{Candidates: []studbook.Candidate{{ID: strconv.Itoa(i + 1), Weight: 1}}}
	}
	birds := make([]studbook.Bird, n)
	start := func(y int) int { return n * max(0, y) / years }
	for y := range years {
		var sires []int
		if y > 0 {
			from, to := start(y-4), start(y)
			for range max(5, (to-from)/100) {
				sires = append(sires, from+below(to-from)&^1)
			}
		}
		for i := start(y); i < start(y+1); i++ {
			birds[i] = studbook.Bird{ID: strconv.Itoa(i + 1), Recorded: true}
			birds[i].Hatch.First = studbook.DayOf(1980+y, 6, 1)
			birds[i].Hatch.Last = birds[i].Hatch.First
			if y == 0 || below(50) == 0 {
				continue
			}
			if below(100) > 0 {
				birds[i].Sire = known(sires[below(len(sires))])
			}
			from, to := start(y-7), max(start(1), start(y-1))
			dam := from + below(to-from) | 1
			birds[i].Dam = known(min(dam, i-1))
		}
	}
	return birds
}

func BenchmarkGeneDrop(b *testing.B) {
	for _, n := range []int{1_000, 3_000, 10_000, 100_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			p, err := New(b.Context(), cohorts(n, 1), nil)
			require.NoError(b, err)
			var living []int
			for i := range p.Len() {
				if p.Kind(i) != Bird {
					continue
				}
				if id, _ := strconv.Atoi(p.Name(i)); id > n*3/4 {
					living = append(living, i)
				}
			}
			q := p.Population(living)
			for b.Loop() {
				r, err := q.GeneDrop(b.Context(), Drop{Seed: 1})
				require.NoError(b, err)
				if r.GenomesSurviving.Value == 0 {
					b.Fatal("nothing survives")
				}
			}
		})
	}
}
