package pairing_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// decisions writes a file of decisions.
func decisions(rows ...string) []string {
	return []string{"decisions.csv", "date,what,birds,to,decision,by,until,reason\n" + strings.Join(rows, "\n") + "\n"}
}

// another returns a free pair that the decision could form and does not, with both
// birds without a mate of their own before.
func another(t *testing.T, p *pairing.Programme, d *pairing.Decision, fits func(f, m int) bool) (f, m int, value float64, ok bool) {
	t.Helper()
	for _, b := range p.Book.Living {
		if p.State(b).State != pairing.StateFree || p.Book.Birds[b].Sex != studbook.Female {
			continue
		}
		choices, err := d.Choices(t.Context(), b, false)
		require.NoError(t, err)
		for _, c := range choices {
			if mate, paired := d.MateOf(b); c.Open && (!paired || mate != c.Mate) && fits(b, c.Mate) {
				return b, c.Mate, c.Value, true
			}
		}
	}
	return 0, 0, 0, false
}

// TestAgreedBondIsFixed agrees on a pair that the decision would not form. It is
// formed, it is worth what it was worth before, the others are assigned as well as
// they can be around it (an oracle: exhaustive enumeration), and every question about
// a bird names the same mate.
func TestAgreedBondIsFixed(t *testing.T) {
	fixed := 0
	for seed := range uint64(40) {
		files := randomColony(seed, 1)
		p0 := programmeOf(t, files...)
		f, m, value, ok := another(t, p0, decide(t, p0), func(int, int) bool { return true })
		if !ok {
			continue
		}
		fixed++
		female, male := p0.Book.Birds[f].ID, p0.Book.Birds[m].ID
		p := programmeOf(t, append(files, decisions("2025-11-01,bond,"+male+"; "+female+",,agreed,the committee,,two of a kind")...)...)
		d := decide(t, p)
		mate, ok := d.MateOf(f)
		require.True(t, ok)
		assert.Equal(t, m, mate, "seed %d", seed)
		x, _ := d.BondOf(m)
		assert.Equal(t, pairing.BondNew, x.Kind)
		require.NotNil(t, x.Word)
		assert.Equal(t, "the committee", x.Word.By)
		assert.InDelta(t, value, x.Value, 1e-12)
		require.Len(t, d.Rulings(), 1)
		assert.Equal(t, pairing.RulingFixed, d.Rulings()[0].Standing)

		values := map[[2]int]float64{}
		var females, males []int
		for _, b := range p.Book.Living {
			if p.State(b).State != pairing.StateFree || b == f || b == m {
				continue
			}
			choices, err := d.Choices(t.Context(), b, false)
			require.NoError(t, err)
			if p.Book.Birds[b].Sex == studbook.Male {
				males = append(males, b)
				continue
			}
			females = append(females, b)
			for _, c := range choices {
				assert.NotEqual(t, m, c.Mate, "seed %d: a bird that is promised is no choice for another", seed)
				if c.Open {
					values[[2]int{b, c.Mate}] = c.Value
				}
			}
		}
		assert.InDelta(t, bestSum(values, females, males, -1, -1)+value, d.Sum, 1e-12, "seed %d", seed)

		ranker, err := pairing.NewRanker(t.Context(), d, pairing.Options{Samples: 1})
		require.NoError(t, err)
		ranking, err := ranker.Rank(t.Context(), f)
		require.NoError(t, err)
		require.NotEmpty(t, ranking.Candidates)
		assert.Equal(t, m, ranking.Candidates[0].Bird)
		assert.InDelta(t, x.NetGain, ranking.Candidates[0].NetGain, 1e-12)
		assert.True(t, ranking.Candidates[0].Reasons[0].Is(pairing.SaidYes))
		for _, other := range females {
			ranking, err := ranker.Rank(t.Context(), other)
			require.NoError(t, err)
			for _, out := range ranking.RuledOut {
				if out.Bird == m {
					assert.True(t, out.Reasons[len(out.Reasons)-1].Is(pairing.Promised), "seed %d", seed)
				}
			}
		}
		plan, err := d.Plan(t.Context(), pairing.PlanOptions{Whole: true, Chicks: 3})
		require.NoError(t, err)
		for _, y := range plan.Pairs {
			if y.Female == f {
				assert.Equal(t, m, y.Male)
				assert.True(t, y.Reasons[0].Is(pairing.SaidYes))
			}
		}
	}
	assert.Greater(t, fixed, 10)
}

// TestDeclinedBondIsNotProposed declines the first new pair of a decision; a year
// later it may be proposed again.
func TestDeclinedBondIsNotProposed(t *testing.T) {
	declined := 0
	for seed := range uint64(40) {
		files := randomColony(seed, 1+int(seed%3))
		p := programmeOf(t, files...)
		before := decide(t, p)
		for _, x := range before.Bonds {
			if x.Kind != pairing.BondNew {
				continue
			}
			declined++
			row := func(day string) string {
				return day + ",bond," + p.Book.Birds[x.Female].ID + ";" + p.Book.Birds[x.Male].ID + ",,declined,,,"
			}
			q := programmeOf(t, append(files, decisions(row("2025-03-02"))...)...)
			d := decide(t, q)
			if mate, ok := d.MateOf(x.Female); ok {
				assert.NotEqual(t, x.Male, mate, "seed %d", seed)
			}
			charged := func(d *pairing.Decision) float64 { return d.Sum - d.LeastGain*float64(d.Moves) }
			assert.LessOrEqual(t, charged(d), charged(before)+1e-12, "with fewer choices no sum is larger, moves charged")
			ranker, err := pairing.NewRanker(t.Context(), d, pairing.Options{Samples: 1})
			require.NoError(t, err)
			ranking, err := ranker.Rank(t.Context(), x.Female)
			require.NoError(t, err)
			found := false
			for _, out := range ranking.RuledOut {
				if out.Bird == x.Male {
					found = true
					assert.True(t, out.Reasons[0].Is(pairing.SaidNo))
				}
			}
			assert.True(t, found, "seed %d: it is ruled out, with the reason", seed)

			old := decide(t, programmeOf(t, append(files, decisions(row("2025-03-01"))...)...))
			mate, ok := old.MateOf(x.Female)
			assert.True(t, ok && mate == x.Male, "seed %d: after a year it is open again", seed)
			break
		}
	}
	assert.Greater(t, declined, 20)
}

// TestAgreedMoveIsMade sends a bird to a place, with a mate there or without.
func TestAgreedMoveIsMade(t *testing.T) {
	moved, paired := 0, 0
	for seed := range uint64(60) {
		files := randomColony(seed, 3)
		p := programmeOf(t, files...)
		f, m, _, ok := another(t, p, decide(t, p), func(f, m int) bool { return p.Book.Birds[f].Location != p.Book.Birds[m].Location })
		if !ok {
			continue
		}
		moved++
		female, male, to := p.Book.Birds[f].ID, p.Book.Birds[m].ID, p.Book.Birds[m].Location
		d := decide(t, programmeOf(t, append(files, decisions("2026-01-05,move,"+female+"; "+male+","+to+",agreed,,,")...)...))
		x, ok := d.BondOf(f)
		require.True(t, ok)
		assert.Equal(t, m, x.Male)
		require.NotNil(t, x.Move)
		assert.Equal(t, pairing.PlannedMove{Bird: f, From: p.Book.Birds[f].Location, To: to}, *x.Move)
		assert.Equal(t, to, x.Place)
		ranker, err := pairing.NewRanker(t.Context(), d, pairing.Options{Samples: -1})
		require.NoError(t, err)
		for _, b := range [2]int{f, m} {
			ranking, err := ranker.Rank(t.Context(), b)
			require.NoError(t, err)
			first := &ranking.Candidates[0]
			assert.True(t, first.Bird == x.Mate(b) && first.Decided, "seed %d", seed)
			assert.False(t, first.Charged, "seed %d: the move is made, whatever a move must be worth", seed)
			assert.InDelta(t, x.Value, first.Value, 1e-12, "seed %d: worth as much to either bird as in the plan", seed)
			if b == f {
				assert.InDelta(t, x.NetGain, first.NetGain, 1e-12, "seed %d", seed)
			}
		}

		q := programmeOf(t, append(files, decisions("2026-01-05,move,"+female+","+to+",agreed,,,")...)...)
		d = decide(t, q)
		assert.Equal(t, []pairing.PlannedMove{{Bird: f, From: p.Book.Birds[f].Location, To: to}}, d.Sent())
		if x, ok := d.BondOf(f); ok {
			paired++
			assert.Equal(t, to, x.Place, "seed %d: it is paired where it goes", seed)
			assert.Equal(t, to, q.Book.Birds[x.Male].Location)
			assert.Equal(t, f, x.Move.Bird)
		}

		d = decide(t, programmeOf(t, append(files, decisions("2026-01-05,move,"+female+","+to+",declined,,,")...)...))
		for _, y := range d.AllMoves() {
			assert.False(t, y.Bird == f && y.To == to, "seed %d: a declined move is not proposed", seed)
		}
	}
	assert.Greater(t, moved, 15)
	assert.Greater(t, paired, 5)
}

// TestMatesOfABirdToBeParted: whom a bird is to be parted from no longer stands in the way
// of another mate, and every question says so.
func TestMatesOfABirdToBeParted(t *testing.T) {
	weighed := 0
	for seed := range uint64(40) {
		files := randomColony(seed, 2)
		p := programmeOf(t, files...)
		for _, x := range decide(t, p).Bonds {
			if x.Kind != pairing.BondKept {
				continue
			}
			female, male := p.Book.Birds[x.Female].ID, p.Book.Birds[x.Male].ID
			d := decide(t, programmeOf(t, append(files, decisions("2026-01-05,part,"+female+"; "+male+",,agreed,the committee,,")...)...))
			ranker, err := pairing.NewRanker(t.Context(), d, pairing.Options{Samples: -1})
			require.NoError(t, err)
			for _, b := range p.Book.Living {
				if b == x.Male || p.Book.Birds[b].Sex != studbook.Male || p.State(b).State != pairing.StateFree {
					continue
				}
				ranking, err := ranker.Rank(t.Context(), b)
				require.NoError(t, err)
				for _, c := range ranking.Candidates {
					if c.Bird != x.Female {
						continue
					}
					weighed++
					together, err := ranker.Together(t.Context(), b, x.Female)
					require.NoError(t, err)
					assert.InDelta(t, c.NetGain, together.Mate.NetGain, 1e-12, "seed %d", seed)
					assert.Equal(t, c.Otherwise, together.Mate.Otherwise, "seed %d", seed)
					last := c.Reasons[len(c.Reasons)-1]
					assert.True(t, last.Is(pairing.BondToEnd), "seed %d: %s", seed, last.Code)
					assert.Equal(t, []string{female, male, "the committee"}, []string{last.Birds[0].ID, last.Birds[1].ID, last.By})
				}
			}
		}
	}
	assert.Greater(t, weighed, 10)
}

// TestWordsOnBonds parts a bond, keeps a pair's eggs, and says what cannot be
// carried out, on a colony worked by hand.
func TestWordsOnBonds(t *testing.T) {
	files := func(rows ...string) []string {
		return append([]string{
			"studbook.csv", "id,sex,sire,dam,hatch_date,location,origin\n" +
				"F1,F,wild,wild,2015-05-01,A,wild\nM1,M,wild,wild,2015-05-01,A,wild\n" +
				"F2,F,wild,wild,2015-05-01,A,wild\nM2,M,wild,wild,2015-05-01,A,wild\nF3,F,wild,wild,2015-05-01,B,wild\nM3,M,wild,wild,2015-05-01,B,wild\n",
			"bonds.csv", "female,male,since\nF1,M1,2022-01-01\nF2,M2,2022-01-01\n",
			"programme.toml", settings,
		}, decisions(rows...)...)
	}
	words := func(rows ...string) (*pairing.Decision, map[string]pairing.Ruling) {
		d := decide(t, programmeOf(t, files(rows...)...))
		out := map[string]pairing.Ruling{}
		for _, w := range d.Rulings() {
			out[w.Ruling.Reason] = w
		}
		return d, out
	}

	d, _ := words("2026-02-01,part,M1; F1,,agreed,,,")
	for _, x := range d.Bonds {
		if x.Female == 0 && x.Male == 3 {
			assert.Equal(t, pairing.BondReleased, x.Kind)
			assert.NotNil(t, x.Word)
		}
	}
	_, w := words("2026-02-01,bond,F1; M2,,agreed,,,a", "2026-02-02,part,F2; M3,,agreed,,,b", "2026-02-03,bond,F2;M2,,agreed,,,c", "2026-02-01,move,F1,B,agreed,,,d",
		"2024-02-01,bond,F3; M3,,agreed,,,e", "2024-02-01,bond,F1; M3,,waiting,,2026-12-31,f", "2026-02-01,hatch,F3; M3,,agreed,,,g")
	assert.Equal(t, pairing.RulingStopped, w["a"].Standing)
	assert.Equal(t, pairing.BondFirst, w["a"].Why.Code)
	assert.Equal(t, pairing.RulingDone, w["b"].Standing, "they are no pair any more")
	assert.Equal(t, pairing.RulingDone, w["c"].Standing)
	assert.Equal(t, pairing.BondFirst, w["d"].Why.Code, "nobody has said that its bond may end")
	assert.NotContains(t, w, "e", "two years ago")
	assert.Equal(t, pairing.RulingWaits, w["f"].Standing, "it names the day until which it holds")
	assert.Equal(t, pairing.NotAMate, w["g"].Why.Code)

	d, w = words("2026-02-01,part,F1; M1,,agreed,,,a", "2026-02-01,bond,F1; M3,B,agreed,,,b", "2026-02-05,bond,F3; M3,,agreed,,,c", "2026-02-03,bond,F3;M3,,declined,,,d")
	assert.Equal(t, pairing.RulingFixed, w["a"].Standing)
	assert.Equal(t, pairing.Overruled, w["b"].Why.Code, "a later word gives M3 another mate")
	assert.Equal(t, pairing.RulingFixed, w["c"].Standing)
	assert.NotContains(t, w, "d", "a later word on the same two takes its place")
	mate, _ := d.MateOf(2)
	assert.Equal(t, 5, mate)

	d, _ = words("2026-02-01,hatch,F1; M1,,agreed,,,", "2026-02-01,hatch,F2; M2,,declined,,,")
	plan, err := d.Plan(t.Context(), pairing.PlanOptions{Whole: true, Chicks: 0})
	require.NoError(t, err)
	for _, x := range plan.Pairs {
		switch x.Female {
		case 0:
			assert.Equal(t, pairing.Planned, x.Role, "its eggs are kept, though no chick is wanted")
			assert.Equal(t, 2, x.HatchUpTo)
		case 1:
			assert.Equal(t, pairing.Rest, x.Role)
			assert.True(t, x.Barred[0].Is(pairing.SaidNo))
		}
	}
}
