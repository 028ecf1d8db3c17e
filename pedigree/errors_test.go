package pedigree

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"pairwright/pedigree/studbook"
)

func TestCycles(t *testing.T) {
	long := "b1=b30+?"
	for i := 2; i <= 30; i++ {
		long += fmt.Sprintf("; b%d=b%d+?", i, i-1)
	}
	for _, c := range []struct {
		name, text string
		ids        []string // in any rotation
	}{
		{"its own parent", "A=A+B", []string{"A"}},
		{"parent and chick", "A=B+?; B=?+A", []string{"A", "B"}},
		{"three, with others around", "A=F+C; B=A+F; C=G+B; D=C+B; E=D+A", []string{"A", "B", "C"}},
		{"a possible parent only", "A=B:0.5|G:0.5+F; B=A+F", []string{"A", "B"}},
		{"thirty", long, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			birds, known := draw(t, c.text)
			_, err := New(t.Context(), birds, known)
			var cycle *CycleError
			require.ErrorAs(t, err, &cycle)
			if c.ids != nil {
				assert.ElementsMatch(t, c.ids, cycle.IDs)
			}
			parents := map[string][]studbook.Candidate{}
			for _, b := range birds {
				parents[b.ID] = append(b.Sire.Candidates, b.Dam.Candidates...)
			}
			for k, id := range cycle.IDs {
				next := cycle.IDs[(k+1)%len(cycle.IDs)]
				found := false
				for _, p := range parents[next] {
					found = found || p.ID == id
				}
				assert.True(t, found, "%s is no parent of %s", id, next)
			}
		})
	}

	birds, _ := draw(t, long)
	_, err := New(t.Context(), birds, nil)
	require.Error(t, err)
	assert.Equal(t, 9, strings.Count(err.Error(), ","), "ten birds are named: %v", err)
	assert.ErrorContains(t, err, " and 20 more")
}

func TestImpossibleBirds(t *testing.T) {
	birds, _ := draw(t, "X=A+B")
	twice := append(birds, studbook.Bird{ID: "A"})
	_, err := New(t.Context(), twice, nil)
	assert.ErrorContains(t, err, `two birds with the id "A"`)

	_, err = New(t.Context(), birds[:2], nil)
	assert.ErrorContains(t, err, `parent "B" of bird "X" is not in the list`)

	for _, weights := range [][]float64{{0.75, 0.5}, {1, 1}, {0}, {-0.5}, {2}, {math.NaN()}, {math.Inf(1)}} {
		birds, _ := draw(t, "X=?+D; A; B")
		for k, w := range weights {
			birds[0].Sire.Candidates = append(birds[0].Sire.Candidates, studbook.Candidate{ID: birds[1+k].ID, Weight: w})
		}
		_, err := New(t.Context(), birds, nil)
		assert.ErrorContains(t, err, `of bird "X": weights must be above 0 and add up to at most 1`, "%v", weights)
	}
}

func TestImpossibleFounderKinships(t *testing.T) {
	for _, c := range []struct {
		name, text string
		ids        []string
	}{
		{"negative", "X=A+B; f(A,B)=-0.125", []string{"B", "A"}},
		{"above self", "X=A+B; f(A,B)=0.5625", []string{"B", "A"}},
		{"above the less inbred self", "X=A+B; f(A,B)=0.75; f(B,B)=1", []string{"B", "A"}},
		{"self below a half", "X=A+B; f(A,A)=0.25", []string{"A"}},
		{"self above one", "X=A+B; f(A,A)=1.25", []string{"A"}},
		{"not a number", "X=A+B; f(A,B)=NaN", []string{"B", "A"}},
		{"self not a number", "X=A+B; f(A,A)=NaN", []string{"A"}},
		{"no such bird", "X=A+B; f(A,Q)=0.125", []string{"Q"}},
		{"not a founder", "X=A+B; f(A,X)=0.25", []string{"X"}},
		{"one parent known", "X=A+?; B; f(X,B)=0.25", []string{"X"}},
		{"two values", "X=A+B; f(A,B)=0.25; f(B,A)=0.125", []string{"B", "A"}},
		// A is one with B, B with C, yet A and C are strangers.
		{"not positive semidefinite", "X=A+B; C; f(A,B)=0.5; f(B,C)=0.5", []string{"A", "B", "C"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			birds, known := draw(t, c.text)
			_, err := New(t.Context(), birds, known)
			var kinship *KinshipError
			require.ErrorAs(t, err, &kinship)
			assert.Equal(t, c.ids, kinship.IDs)
			for _, id := range c.ids {
				assert.ErrorContains(t, err, id)
			}
		})
	}

	t.Run("the same value twice is none", func(t *testing.T) {
		p := parse(t, "X=A+B; f(A,B)=0.25; f(B,A)=0.25")
		assert.Equal(t, 0.25, p.F(node(t, p, "X")))
	})
	// Semidefinite to the limit: two founders with all genes in common.
	t.Run("twins are possible", func(t *testing.T) {
		p := parse(t, "X=A+B; f(A,B)=0.5")
		assert.Equal(t, 0.5, p.F(node(t, p, "X")))
	})
}

func TestCancelled(t *testing.T) {
	p := parse(t, "X=A+B")
	birds, _ := draw(t, "X=A+B")
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := New(ctx, birds, nil)
	assert.ErrorIs(t, err, context.Canceled)
	_, err = p.KinshipMatrix(ctx, []int{0, 1})
	assert.ErrorIs(t, err, context.Canceled)
}

func TestCallersMistakes(t *testing.T) {
	p := parse(t, "X=A+B")
	assert.PanicsWithValue(t, "pedigree: a bird is twice in a population of 3", func() { p.Population([]int{0, 1, 0}) })
	assert.PanicsWithValue(t, "pedigree: gain from a chick in a population without members", func() { p.Population(nil).GainFromChick(0, 1, 0) })
	assert.PanicsWithValue(t, "pedigree: gain from an arrival in a population without members", func() { p.Population(nil).GainFromArrival(0) })
}

func TestKinshipsOfNobody(t *testing.T) {
	m, err := parse(t, "X=A+B").KinshipMatrix(t.Context(), nil)
	require.NoError(t, err)
	assert.Zero(t, m.SymmetricDim())
}

// FuzzNew builds any graph at all: a bird may be its own ancestor, named
// twice, or have parents, weights and founder kinships that cannot be.
func FuzzNew(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte{3, 0, 0, 0, 0, 0, 0, 2, 1, 2})
	f.Add([]byte{12, 0, 0, 1, 0, 2, 1, 2, 3, 0, 1, 3, 4, 0x85, 1, 4, 3, 5, 6, 0, 8, 0xff, 7, 6, 1, 2, 200, 4, 4, 130})
	f.Add([]byte{2, 1, 1, 2, 2})
	f.Fuzz(func(t *testing.T, data []byte) {
		next := func() int {
			if len(data) == 0 {
				return 0
			}
			v := int(data[0])
			data = data[1:]
			return v
		}
		side := func() (s studbook.Parentage) {
			// Below 128 one parent or, for 0, none; above, several with weights.
			v := next()
			if v < 128 {
				if v > 0 {
					s.Candidates = []studbook.Candidate{{ID: fmt.Sprint(v % 32), Weight: 1}}
				}
				return s
			}
			for range v % 4 {
				c := next()
				s.Candidates = append(s.Candidates, studbook.Candidate{ID: fmt.Sprint(c % 32), Weight: float64(c/32) / 7})
			}
			return s
		}
		var birds []studbook.Bird
		for i := range next() % 32 {
			b := studbook.Bird{ID: fmt.Sprint(i + 1), Sire: side(), Dam: side()}
			if v := next(); v > 0 {
				b.Hatch.First = studbook.Day(v)
				b.Hatch.Last = b.Hatch.First
			}
			birds = append(birds, b)
		}
		if next()%16 == 15 && len(birds) > 0 {
			birds = append(birds, birds[0])
		}
		var known []studbook.FounderKinship
		for len(data) >= 3 {
			known = append(known, studbook.FounderKinship{ID1: fmt.Sprint(next() % 32), ID2: fmt.Sprint(next() % 32), Kinship: float64(next())/160 - 0.1})
		}

		p, err := New(t.Context(), birds, known)
		if err != nil {
			require.Nil(t, p)
			return
		}
		require.GreaterOrEqual(t, p.Len(), len(birds))
		all := make([]int, p.Len())
		for i := range all {
			all[i] = i
			if p.Kind(i) == Bird {
				require.GreaterOrEqual(t, p.F(i), -exact)
				require.LessOrEqual(t, p.F(i), 1+exact)
			}
		}
		if p.Len() == 0 {
			return
		}
		m, err := p.KinshipMatrix(t.Context(), all)
		require.NoError(t, err)
		mk, _ := p.Population(all).MeanKinship()
		require.InDelta(t, mat.Sum(m)/float64(len(all)*len(all)), mk, exact)
	})
}
