package pairing

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// A programme about some birds has the figures of the whole one, to the last digit, for
// all who are in its pedigree, and leaves out birds from whom nobody of these descends.
func TestNewAbout(t *testing.T) {
	studbooktest.WithoutRace(t)
	c := studbooktest.Example(t)
	whole, err := New(t.Context(), c.At(c.FilesDay))
	require.NoError(t, err)
	last := len(whole.Book.Birds) - 1
	dead := 0
	for whole.Book.Alive(dead) || whole.Pedigree.F(whole.node[dead]) == 0 {
		dead++
	}
	about, err := NewAbout(t.Context(), whole.Book, dead, last)
	require.NoError(t, err)
	require.Less(t, len(about.within), len(whole.within))
	for _, b := range about.within {
		i, j := whole.node[b], about.node[b]
		require.Equal(t, whole.Pedigree.F(i), about.Pedigree.F(j), whole.Name(b))
		require.Equal(t, whole.Living.KinshipSumOf(i), about.Living.KinshipSumOf(j), whole.Name(b))
	}
	assert.GreaterOrEqual(t, about.node[dead], 0)
	assert.Contains(t, about.node, -1)
	assert.Equal(t, whole.Gaps(), about.Gaps())
	assert.Equal(t, whole.ranks(), about.ranks())
	one, err := whole.Living.GeneDrop(t.Context(), pedigree.Drop{Iterations: 256, Seed: 3})
	require.NoError(t, err)
	other, err := about.Living.GeneDrop(t.Context(), pedigree.Drop{Iterations: 256, Seed: 3})
	require.NoError(t, err)
	assert.Equal(t, whole.RowsFrom(one, false), about.RowsFrom(other, false))

	var rankings [2]*Ranking
	for k, p := range []*Programme{whole, about} {
		d, err := p.Decide(t.Context(), DecisionOptions{})
		require.NoError(t, err)
		r, err := NewRanker(t.Context(), d, Options{Seed: 1, Samples: 20})
		require.NoError(t, err)
		rankings[k], err = r.Rank(t.Context(), p.Free(p.Settings().Home)[0])
		require.NoError(t, err)
	}
	assert.Equal(t, rankings[0].Candidates, rankings[1].Candidates, "possible pedigrees are drawn alike")
}

// Which possible pedigrees are drawn is no matter of what else a programme was computed
// for: here a dead bird of doubtful sire has a chick, dead too, of which a question about
// the living knows nothing, and stands before the other doubtful bird for it.
func TestPossiblePedigreesAreThoseOfEveryProgramme(t *testing.T) {
	c := studbooktest.Read(t, "studbook.csv", `id,sex,sire,dam,hatch_date,death_date,origin
A,M,wild,wild,2008-05-01,,wild
B,M,wild,wild,2008-05-01,,wild
E,F,wild,wild,2008-05-01,,wild
G,F,wild,wild,2008-05-01,,wild
I,F,A; B,E,2012-05-01,,captive
J,M,A; B,G,2012-05-11,2015-05-01,captive
K,F,J,E,2014-05-01,2014-06-01,captive
`, "programme.toml", "current_to = 2016-01-01\n[breeding_age]\nfemale = [1, 20]\nmale = [1, 20]\n[limits]\ninbreeding = 1\n")
	book := c.At(c.FilesDay)
	whole, err := New(t.Context(), book)
	require.NoError(t, err)
	about, err := NewAbout(t.Context(), book)
	require.NoError(t, err)
	require.Less(t, len(about.within), len(whole.within))
	bird, _ := book.Index("I")
	var rankings [2]*Ranking
	for k, p := range []*Programme{whole, about} {
		d, err := p.Decide(t.Context(), DecisionOptions{})
		require.NoError(t, err)
		r, err := NewRanker(t.Context(), d, Options{Seed: 1})
		require.NoError(t, err)
		rankings[k], err = r.Rank(t.Context(), bird)
		require.NoError(t, err)
	}
	require.Len(t, rankings[0].Candidates, 2)
	assert.Equal(t, rankings[0].Candidates, rankings[1].Candidates)
}

// A dead brother of a female without living descendants, whom a question about the living
// leaves out of its pedigree, may be the sire of a male: the two are in doubt as aunt and
// nephew, as the whole programme says.
func TestDoubtOfAParentWithoutDescendants(t *testing.T) {
	c := studbooktest.Read(t, "studbook.csv", `id,sex,sire,dam,hatch_date,death_date,origin
S,M,wild,wild,2005-05-01,2014-01-01,wild
D,F,wild,wild,2005-05-01,2014-01-01,wild
A,F,S,D,2010-05-01,,captive
B,M,S,D,2010-05-01,2016-01-01,captive
E,F,wild,wild,2010-05-01,,wild
C,M,unknown,E,2015-05-01,,captive
`, "programme.toml", "current_to = 2018-01-01\n[breeding_age]\nfemale = [1, 20]\nmale = [1, 20]\n")
	book := c.At(c.FilesDay)
	whole, err := New(t.Context(), book)
	require.NoError(t, err)
	about, err := NewAbout(t.Context(), book)
	require.NoError(t, err)
	a, _ := book.Index("A")
	b, _ := book.Index("B")
	chick, _ := book.Index("C")
	require.Negative(t, about.Node(b))
	assert.Equal(t, 0.25, about.kinshipWithParent(a, b), "full siblings")
	why := about.Doubt(chick, a)
	require.NotEmpty(t, why)
	assert.Equal(t, whole.Doubt(chick, a), why)
	d, err := about.Decide(t.Context(), DecisionOptions{})
	require.NoError(t, err)
	r, err := NewRanker(t.Context(), d, Options{Samples: 3, Seed: 1})
	require.NoError(t, err)
	_, err = r.Rank(t.Context(), chick)
	require.NoError(t, err)
}

// Of very many pairs no ordered list is kept: the figures are the same without.
func TestVeryManyPairs(t *testing.T) {
	studbooktest.WithoutRace(t)
	c := studbooktest.Example(t)
	decide := func(most int) *Decision {
		defer func(before int) { mostInOrder = before }(mostInOrder)
		mostInOrder = most
		p, err := New(t.Context(), c.At(c.FilesDay))
		require.NoError(t, err)
		d, err := p.Decide(t.Context(), DecisionOptions{})
		require.NoError(t, err)
		return d
	}
	few, many := decide(mostInOrder), decide(0)
	assert.InEpsilon(t, few.LeastGain, many.LeastGain, 1e-12)
	require.Len(t, many.Bonds, len(few.Bonds))
	positive := 0
	for k, x := range few.Bonds {
		assert.Equal(t, x.AheadOf, many.Bonds[k].AheadOf)
		assert.InDelta(t, x.Behind, many.Bonds[k].Behind, 1e-12)
		assert.Equal(t, many.m.aheadOf(x.Value), many.m.aheadOfEach([]float64{x.Value})[0])
		if x.AheadOf > 0 {
			positive++
		}
	}
	assert.Positive(t, positive)
}

// Possible pedigrees of which the kinships of all pairs are drawn at once are those
// that are drawn whole, and so are the ranks in them: of the example, and of a line of
// which every other parent is not known, where that way is chosen.
func TestPairsDrawnAtOnce(t *testing.T) {
	studbooktest.WithoutRace(t)
	var line strings.Builder
	line.WriteString("id,sex,sire,dam,hatch_date,death_date,origin\n")
	for i := range 1500 {
		var parents [2]string
		if i > 0 {
			parents[(i-1)%2] = fmt.Sprintf("L%04d", i-1)
		}
		hatch, death := studbook.DayOf(2000, time.January, 1)+studbook.Day(5*i), ""
		if i < 1430 {
			death = (hatch + 360).String()
		}
		fmt.Fprintf(&line, "L%04d,%c,%s,%s,%s,%s,captive\n", i, "MF"[i%2], parents[0], parents[1], hatch, death)
	}
	lines := studbooktest.Read(t, "studbook.csv", line.String(), "programme.toml", "current_to = 2020-12-31\n[breeding_age]\nfemale = [0.01, 40]\nmale = [0.01, 40]\n")
	for name, c := range map[string]*studbook.Colony{"example": studbooktest.Example(t), "line": lines} {
		p, err := New(t.Context(), c.At(c.FilesDay))
		require.NoError(t, err)
		d, err := p.Decide(t.Context(), DecisionOptions{})
		require.NoError(t, err)
		r, err := NewRanker(t.Context(), d, Options{Seed: 3, Samples: 3})
		require.NoError(t, err)
		require.True(t, r.drawn.from.Uncertain())
		assert.Equal(t, name == "line", r.drawsPairs(), name)
		free := p.Free(p.Settings().Home)
		require.NotEmpty(t, free)
		atOnce := r.pairsDrawer()
		for k := range 3 {
			whole, pairs := r.drawWhole(k), atOnce(k)
			require.InDelta(t, whole.average, pairs.average, 1e-12, "%s, %d", name, k)
			require.InEpsilon(t, whole.sum.Total, pairs.sum.Total, 1e-12, "%s, %d", name, k)
			require.Equal(t, whole.sum.Birds, pairs.sum.Birds)
			for _, f := range r.females {
				require.InEpsilon(t, whole.sums[whole.number[f]], pairs.sums[pairs.number[f]], 1e-12, "%s, %d, %s", name, k, p.Name(f))
				of, at := whole.kinshipsOf(whole.number[f]), pairs.kinshipsOf(pairs.number[f])
				for _, m := range r.males {
					want := of(whole.number[m])
					require.InDelta(t, want, at(pairs.number[m]), 1e-12, "%s, %d, %s and %s", name, k, p.Name(f), p.Name(m))
					require.Equal(t, at(pairs.number[m]), pairs.kinshipsOf(pairs.number[m])(pairs.number[f]))
				}
			}
			for _, b := range free[:min(4, len(free))] {
				out, err := r.Rank(t.Context(), b)
				require.NoError(t, err)
				asDecided := r.weighAsDecided(out)
				assert.Equal(t, r.firstIn(out, asDecided(&whole)), r.firstIn(out, asDecided(&pairs)), "%s, %d, %s", name, k, p.Name(b))
				both := []possibility{whole, pairs}
				require.True(t, r.mayDecideAnew(out))
				anew, err := r.weighAnew(t.Context(), both, out)
				require.NoError(t, err)
				assert.Equal(t, r.firstIn(out, anew(&both[0])), r.firstIn(out, anew(&both[1])), "%s, %d, %s", name, k, p.Name(b))
			}
		}
	}
}
