package contract

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// TestGapsAreBounded: of very many birds that could be a parent the first are listed, after
// those that the studbook names, and it is said how many there are besides.
func TestGapsAreBounded(t *testing.T) {
	var rows strings.Builder
	rows.WriteString("id,sex,sire,dam,hatch_date\n")
	for k := range mostCandidates + 10 {
		fmt.Fprintf(&rows, "M%02d,M,,,2000-01-01\n", k)
	}
	rows.WriteString("F,F,wild,wild,2000-01-01\nA,F,M57=0.5; M03=0.3,F,2010-01-01\nB,F,,F,\n")
	c := studbooktest.Read(t, "studbook.csv", rows.String())
	p, err := pairing.New(t.Context(), c.At(studbook.DayOf(2011, time.December, 31)))
	require.NoError(t, err)
	gaps := map[string]CheckGap{}
	for _, g := range CheckJSON(nil, p, p.Gaps()).Gaps {
		gaps[g.ID] = g
	}
	require.Len(t, gaps["A"].Candidates, 2+mostCandidates)
	assert.Equal(t, []string{"M57", "M03", "M00", "M01", "M02", "M04"}, gaps["A"].Candidates[:6])
	assert.Equal(t, 8, gaps["A"].CandidatesLeftOut)
	assert.Equal(t, []string{}, gaps["B"].Candidates, "nobody, which is a list and not null")
}
