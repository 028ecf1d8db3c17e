package pairing

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// possibleBirds returns the birds of a snapshot with every uncertain parent drawn, and
// every captive one that is not known as one of those that could have been it.
func possibleBirds(p *Programme, seed uint64) []studbook.Bird {
	r := rand.New(rand.NewPCG(1, seed))
	birds := slices.Clone(p.Book.Birds)
	for _, g := range p.Gaps() {
		bird := &birds[g.Bird]
		side := &bird.Dam
		if g.Sex == studbook.Male {
			side = &bird.Sire
		}
		all, rest := slices.Clone(side.Candidates), 1.0
		for _, c := range all {
			rest -= c.Weight
		}
		if others := slices.DeleteFunc(slices.Clone(g.Possible), func(id string) bool { return slices.Contains(g.Named, id) }); rest > 1e-9 {
			for _, id := range others {
				all = append(all, studbook.Candidate{ID: id, Weight: rest / float64(len(others))})
			}
		}
		u := r.Float64()
		for _, c := range all {
			if u -= c.Weight; u < 0 {
				side.Candidates = []studbook.Candidate{{ID: c.ID, Weight: 1}}
				break
			}
		}
	}
	return birds
}

// TestConfidenceIsOfTheDecisionTakenAnew holds the confidence of ranks, for which most of
// the decision stays as it is, against what would come first were a possible pedigree
// known and the decision taken anew (an oracle: it draws for itself, and shares no draw
// between the chicks of a clutch).
func TestConfidenceIsOfTheDecisionTakenAnew(t *testing.T) {
	studbooktest.WithoutRace(t)
	book := studbooktest.Example(t)
	for _, before := range []studbook.Day{0, 365} {
		apart, unsure := confidenceApart(t, book, book.Settings.CurrentTo-before)
		assert.Less(t, apart, 0.09, "%d days before: so far apart are the two on average, of all possible pedigrees", before)
		assert.Greater(t, unsure, 10, "ranks of which nobody can be sure")
	}
}

// confidenceApart returns how far the confidences of who comes first are from those of
// decisions taken anew, on average over all free birds, and of how many candidates
// nobody can be sure.
func confidenceApart(t *testing.T, book *studbook.Colony, day studbook.Day) (apart float64, unsure int) {
	ctx := t.Context()
	rankings := func(snapshot *studbook.Snapshot, free []int, samples int) (*Ranker, []*Ranking) {
		p, err := New(ctx, snapshot)
		require.NoError(t, err)
		d, err := p.Decide(ctx, DecisionOptions{})
		require.NoError(t, err)
		r, err := NewRanker(ctx, d, Options{Samples: samples})
		require.NoError(t, err)
		all, err := r.RankAll(ctx, free)
		require.NoError(t, err)
		return r, all
	}
	p, err := New(ctx, book.At(day))
	require.NoError(t, err)
	var free []int
	for _, b := range p.Book.Living {
		if p.State(b).State == StateFree {
			free = append(free, b)
		}
	}
	_, told := rankings(book.At(day), free, DefaultSamples)

	const draws = 25
	firsts := make([]map[int]float64, len(free)) // by mate: the share in which it comes first
	for k := range firsts {
		firsts[k] = map[int]float64{}
	}
	for n := range uint64(draws) {
		snapshot := book.At(day)
		snapshot.Birds = possibleBirds(p, n)
		r, anew := rankings(snapshot, free, -1)
		for k, out := range anew {
			var again []placed
			for i := range out.Candidates {
				c := out.Candidates[i]
				c.NetGain = r.d.Charged(c.NetGain, c.Decided && c.Move)
				c.Decided = false
				c.Verdict = r.verdict(&c)
				class, gain := out.place(r.p, &c)
				again = append(again, placed{&out.Candidates[i], class, gain})
			}
			if len(again) == 0 {
				continue
			}
			decided := func(c placed) int {
				if len(told[k].Candidates) > 0 && told[k].Candidates[0].Decided && c.Bird == told[k].Candidates[0].Bird {
					return 0
				}
				return 1
			}
			easier := gentler(p.Book.Birds[free[k]].ID)
			best := foremost(again, 1, placed.ofClass, placed.ofGain, func(a, b placed) int { return cmp.Or(decided(a)-decided(b), easier(a, b)) })
			firsts[k][best[0].Bird] += 1. / draws
		}
	}
	for k, out := range told {
		for _, c := range out.Candidates {
			apart += math.Abs(c.BestIn-firsts[k][c.Bird]) / 2 / float64(len(free))
			if c.BestIn > 0.05 && c.BestIn < 0.95 {
				unsure++
			}
		}
	}
	return apart, unsure
}
