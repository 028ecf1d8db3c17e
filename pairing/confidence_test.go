package pairing

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
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
		if others, _ := p.Others(&g, 0); rest > 1e-9 {
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

// unsureFlock invents a programme at three places, of which some parents are one of two
// birds.
func unsureFlock(seed uint64) []string {
	r := rand.New(rand.NewPCG(seed, 0x756e73))
	var rows strings.Builder
	rows.WriteString("id,sex,sire,dam,hatch_date,location,origin\n")
	var birds [2][]string
	for k := range 46 {
		id, sex := fmt.Sprintf("B%02d", k), r.IntN(2)
		parents, hatch := [2]string{"wild", "wild"}, 2004+r.IntN(4)
		if k < 2 {
			sex = k
		}
		if k >= 10 {
			hatch = 2010 + (k-10)/4
			for side := range parents {
				of := birds[side][max(0, len(birds[side])-12):]
				of = of[:max(1, len(of)*2/3)]
				a, b := of[r.IntN(len(of))], of[r.IntN(len(of))]
				if parents[side] = a; a != b && r.IntN(3) == 0 {
					parents[side] = a + "=0.6; " + b + "=0.4"
				}
			}
		}
		fmt.Fprintf(&rows, "%s,%c,%s,%s,%d-05-10,%c,\n", id, "FM"[sex], parents[1], parents[0], hatch, 'A'+r.IntN(3))
		birds[sex] = append(birds[sex], id)
	}
	return []string{"studbook.csv", rows.String(), "programme.toml", `current_to = 2021-03-01
home = "A"
[breeding_age]
female = [2, 20]
male = [2, 20]
[survival]
first_year = 0.7
yearly = 0.9
`}
}

// TestConfidenceIsOfTheDecisionTakenAnew holds the confidence of ranks against what would
// come first were a possible pedigree known and the decision taken anew (an oracle: it
// draws for itself, shares no draw between the chicks of a clutch, and finds anew what a
// move must be worth and what it costs as well). Chance makes the most part of what is
// left between the two: of so few draws, about 0.06 in the flocks. With very many free
// birds most of the decision stays as it is, which is farther off.
func TestConfidenceIsOfTheDecisionTakenAnew(t *testing.T) {
	studbooktest.WithoutRace(t)
	book, flock := studbooktest.Example(t), studbooktest.Read(t, unsureFlock(3)...)
	for _, x := range []struct {
		name           string
		book           *studbook.Colony
		before         studbook.Day
		draws          uint64
		few, many, one float64 // the most that may be between them: with few free birds, with many, for one bird of few
	}{
		{"example", book, 0, 25, 0.04, 0.1, 0.25}, {"flock", flock, 0, 50, 0.08, 0.25, 0.35},
	} {
		apart, most, unsure := confidenceApart(t, x.book, x.book.Settings.CurrentTo-x.before, x.draws)
		assert.Less(t, apart[0], x.few, "%s: so far apart are the two on average, of all possible pedigrees", x.name)
		assert.Less(t, most[0], x.one, "%s: so far apart are they at most", x.name)
		assert.Less(t, apart[1], x.many, "%s: so far with most of the decision as it is", x.name)
		assert.Less(t, 2*apart[0], apart[1], x.name)
		assert.Greater(t, unsure, 10, "ranks of which nobody can be sure")
	}
}

// confidenceApart returns how far the confidences of who comes first are from those of
// decisions taken anew, on average over all free birds and at most, as they are told
// and as they would be were there too many free birds; and of how many candidates nobody
// can be sure.
func confidenceApart(t *testing.T, book *studbook.Colony, day studbook.Day, draws uint64) (apart, most [2]float64, unsure int) {
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
	var told [2][]*Ranking
	_, told[0] = rankings(book.At(day), free, DefaultSamples)
	before := anewMost
	anewMost = 0
	_, told[1] = rankings(book.At(day), free, DefaultSamples)
	anewMost = before

	firsts := make([]map[int]float64, len(free)) // by mate: the share in which it comes first
	for k := range firsts {
		firsts[k] = map[int]float64{}
	}
	for n := range draws {
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
				if first := told[0][k].Candidates; len(first) > 0 && first[0].Decided && c.Bird == first[0].Bird {
					return 0
				}
				return 1
			}
			easier := gentler(p.Book.Birds[free[k]].ID)
			best := foremost(again, 1, placed.ofClass, placed.ofGain, func(a, b placed) int { return cmp.Or(decided(a)-decided(b), easier(a, b)) })
			firsts[k][best[0].Bird] += 1 / float64(draws)
		}
	}
	for way, all := range told {
		for k, out := range all {
			of := 0.0
			for _, c := range out.Candidates {
				of += math.Abs(c.BestIn-firsts[k][c.Bird]) / 2
				if way == 0 && c.BestIn > 0.05 && c.BestIn < 0.95 {
					unsure++
				}
			}
			apart[way] += of / float64(len(free))
			most[way] = max(most[way], of)
		}
	}
	t.Log(apart, most, unsure)
	return apart, most, unsure
}
