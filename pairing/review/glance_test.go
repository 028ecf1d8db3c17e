package review

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// TestReach: n unrelated founders have a mean kinship of 1/(2n) among themselves, each
// with 1/2 with itself, and no more gene diversity than 1 less that can come of them
// (Lacy 1989, 1995): 0.9 takes five, 0.95 ten.
func TestReach(t *testing.T) {
	for _, x := range []struct {
		founders int
		goal     float64
		want     *Reach
	}{
		{3, 0.9, &Reach{3, 1 - 1.0/6, 5}}, {4, 0.9, &Reach{4, 0.875, 5}}, {5, 0.9, nil}, {9, 0.95, &Reach{9, 1 - 1.0/18, 10}}, {10, 0.95, nil},
		{3, 1, &Reach{3, 1 - 1.0/6, 0}}, {0, 0.9, &Reach{0, 0, 5}},
	} {
		assert.Equal(t, x.want, reachOf(x.founders, x.goal), "%d founders, goal %g", x.founders, x.goal)
	}
	glanced := func(rows string) Glance {
		c := studbooktest.Read(t, "studbook.csv", "id,sex,sire,dam,hatch_date,origin\n"+rows, "programme.toml", "[breeding_age]\nfemale = [3, 20]\nmale = [3, 20]\n")
		p, err := pairing.New(t.Context(), c.At(studbook.DayOf(2026, 6, 1)))
		require.NoError(t, err)
		all, err := Glances(t.Context(), p, "")
		require.NoError(t, err)
		for _, g := range all {
			if g.Measure == GeneDiversity {
				return g
			}
		}
		return Glance{}
	}
	three := glanced("A,F,wild,wild,2018,wild\nB,M,wild,wild,2018,wild\nC,F,wild,wild,2018,wild\nD,F,B,A,2022,captive\n")
	assert.Equal(t, OutOfReach, three.Standing)
	require.NotNil(t, three.Reach)
	assert.Equal(t, 3, three.Reach.Founders)
	assert.Less(t, three.Now.Value, three.Reach.Most)
	gone := glanced("A,F,wild,wild,1978,wild\nB,M,wild,wild,1978,wild\nC,F,wild,wild,2018,wild\nD,F,B,A,2022,captive\nE,M,wild,wild,1979,wild\n")
	require.NotNil(t, gone.Reach)
	assert.Equal(t, 3, gone.Reach.Founders, "what A and B left lives on in D; E is past breeding and leaves nothing")
	six := glanced("A,F,wild,wild,2018,wild\nB,M,wild,wild,2018,wild\nC,F,wild,wild,2018,wild\nD,F,B,A,2022,captive\nE,F,B,A,2022,captive\nF,F,B,A,2022,captive\nG,F,wild,wild,2018,wild\nH,F,wild,wild,2018,wild\nI,F,wild,wild,2018,wild\n")
	assert.Equal(t, OffCourse, six.Standing, "with six it could be held")
	assert.Nil(t, six.Reach)
}
