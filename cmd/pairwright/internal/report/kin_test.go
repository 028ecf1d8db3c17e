package report

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// pathsOf returns the words of the drawings of the paths between two birds.
func pathsOf(t *testing.T, a, b, rows string) []string {
	t.Helper()
	p, err := pairing.New(t.Context(), studbooktest.Read(t, "studbook.csv", "id,sex,sire,dam,hatch_date\n"+rows).At(studbook.DayOf(2026, time.June, 30)))
	require.NoError(t, err)
	at := func(id string) int {
		b, err := p.Bird(id)
		require.NoError(t, err)
		return b
	}
	var words []string
	for _, s := range KinDocument(p, p.Kin(at(a), at(b)), nil).Sections {
		for _, block := range s.Blocks {
			if f, is := block.(*document.Figure); is {
				words = append(words, f.Caption, f.Alt)
			}
		}
	}
	return words
}

// TestPathsAreDrawn: through a bird that may be the sire the path is drawn, with
// the dam beside it; what leads nowhere is not.
func TestPathsAreDrawn(t *testing.T) {
	words := pathsOf(t, "X", "Y", "G,M,,,2000\nH,F,,,2000\nS,M,G,H,2005\nT,M,,,2005\nD,F,,,2005\nX,F,S=0.7; T=0.3,D,2010\nY,M,G,,2010\nZ,M,G,H,2011\n")
	require.Len(t, words, 2)
	assert.Equal(t, "How X and Y are kin.", words[0])
	assert.Equal(t, "G: parents of Y\nG and H: parents of S\nS and D: parents of X\n", words[1])
}

// TestPathsAreBounded: of birds with more paths than anybody can follow those that
// count most are drawn. Full siblings bred with each other double the paths with
// every generation.
func TestPathsAreBounded(t *testing.T) {
	rows := "Aa,M,,,1990\nBa,F,,,1990\n"
	for g := range 12 {
		year, parents := 1992+2*g, "A"+string(rune('a'+g))+",B"+string(rune('a'+g))
		for _, sex := range []string{"A,M", "B,F"} {
			name, s, _ := strings.Cut(sex, ",")
			rows += name + string(rune('a'+g+1)) + "," + s + "," + parents + "," + studbook.DayOf(year, time.May, 1).String() + "\n"
		}
	}
	words := pathsOf(t, "Am", "Bm", rows)
	require.NotEmpty(t, words)
	assert.Regexp(t, `^How Am and Bm are kin: the \d+ of [\d,]+ paths that count most`, words[0])
}
