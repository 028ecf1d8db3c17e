package pairing

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// TestIfPairedIsTheDecisionWithThePairAgreed compares with the decision taken
// when people have agreed on the pair, which fixes it by another way.
func TestIfPairedIsTheDecisionWithThePairAgreed(t *testing.T) {
	book := studbooktest.Example(t)
	day := book.Settings.CurrentTo
	p, err := New(t.Context(), book.At(day))
	require.NoError(t, err)
	d, err := p.Decide(t.Context(), DecisionOptions{})
	require.NoError(t, err)
	changed := 0
	for _, pair := range [][2]string{{"C0734", "C0398"}, {"C0734", "C0772"}, {"C0734", "C0902"}} {
		a, err := p.Bird(pair[0])
		require.NoError(t, err)
		b, err := p.Bird(pair[1])
		require.NoError(t, err)
		changes, err := d.IfPaired(t.Context(), a, b)
		require.NoError(t, err)
		changed += len(changes)

		agreed := *book
		agreed.Rulings = append(slices.Clone(book.Rulings), studbook.Ruling{
			Date: studbook.Date{First: day, Last: day}, What: studbook.RulesBond, Birds: []string{pair[0], pair[1]}, Answer: studbook.Agreed,
		})
		q, err := New(t.Context(), agreed.At(day))
		require.NoError(t, err)
		fixed, err := q.Decide(t.Context(), DecisionOptions{})
		require.NoError(t, err)
		mate, ok := fixed.MateOf(a)
		require.True(t, ok && mate == b, "the pair was not fixed")
		after := map[int]int{}
		for _, c := range changes {
			after[c.Bird] = c.After
		}
		for x := range p.Book.Birds {
			if x == a || x == b {
				continue
			}
			want := -1
			if mate, ok := fixed.MateOf(x); ok {
				want = mate
			}
			got, ok := after[x]
			if !ok {
				got = -1
				if mate, ok := d.MateOf(x); ok {
					got = mate
				}
				if got == a || got == b {
					got = -1
				}
			}
			assert.Equal(t, want, got, "%v: the mate of %s", pair, p.Name(x))
		}
	}
	assert.Positive(t, changed, "no pair changed anything")
}

// TestTogetherIsOneOfTheMates: of a free bird as a mate for one that is free, bonded or
// about to be, it says what the mates of that one are ranked by, and of a bonded bird
// what they are where bonds are to be broken.
func TestTogetherIsOneOfTheMates(t *testing.T) {
	book := studbooktest.Example(t)
	p, err := New(t.Context(), book.At(book.Settings.CurrentTo))
	require.NoError(t, err)
	d, err := p.Decide(t.Context(), DecisionOptions{})
	require.NoError(t, err)
	r, err := NewRanker(t.Context(), d, Options{Samples: -1})
	require.NoError(t, err)
	moves := 0
	for _, x := range []struct {
		id     string
		bonded bool // with bonds to be broken
	}{{"C0734", false}, {"C0902", false}, {"C0772", false}, {"C0154", false}, {"C0734", true}, {"C0154", true}} {
		id := x.id
		b, err := p.Bird(id)
		require.NoError(t, err)
		ranking, err := r.Asked(Options{BreakBonds: x.bonded, Samples: -1}).Rank(t.Context(), b)
		require.NoError(t, err)
		require.NotEmpty(t, ranking.Candidates)
		if x.bonded {
			ranking.Candidates = slices.DeleteFunc(ranking.Candidates, func(c Candidate) bool { return c.BondedTo == "" || c.BondedTo == id })
		}
		for _, c := range ranking.Candidates[:4] {
			x, err := r.Together(t.Context(), b, c.Bird)
			require.NoError(t, err)
			require.NotNil(t, x.Mate)
			c.Rank, c.BestIn, c.AmongFirstIn = 0, 0, 0 // of one alone no rank is told
			assert.Equal(t, c, *x.Mate, "%s with %s", id, p.Name(c.Bird))
			if c.Charged {
				moves++
			}
		}
	}
	assert.Positive(t, moves, "no pair was charged with a move that is not made")
}
