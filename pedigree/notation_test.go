package pedigree

import (
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
)

// Tests draw pedigrees as text, one bird a statement, in any order:
//
//	C=A+B; D=A+?; X=C+S1:0.3|S2:0.7; f(A,B)=0.125
//
// C has sire A and dam B; D has sire A and an unknown dam; the dam of X is S1
// or S2 with those weights, and what they lack to 1 is an unknown parent.
// "wild" is a parent that was a wild bird. A parent without a statement of its
// own is a founder; a founder can also stand alone ("A"). Words after a bird
// tell more of it: "wild" or "captive" its origin, a number its year of hatch
// ("X=A+B captive 2019"). f(A,B) is a known kinship of founders. A bird may
// be sire and dam of one chick, which serves to check arithmetic.

// parse builds the pedigree that text draws.
func parse(t testing.TB, text string) *Pedigree {
	t.Helper()
	birds, known := draw(t, text)
	p, err := New(t.Context(), birds, known)
	require.NoError(t, err)
	return p
}

// draw returns the birds and founder kinships that text draws: first the
// birds that have a statement, in their order, then the parents without one.
func draw(t testing.TB, text string) (birds []studbook.Bird, known []studbook.FounderKinship) {
	t.Helper()
	stated := map[string]bool{}
	var named []string
	for statement := range strings.SplitSeq(text, ";") {
		statement = strings.TrimSpace(statement)
		if statement == "" {
			continue
		}
		if args, ok := strings.CutPrefix(statement, "f("); ok {
			pair, value, ok := strings.Cut(args, ")=")
			require.True(t, ok, statement)
			a, b, ok := strings.Cut(pair, ",")
			require.True(t, ok, statement)
			known = append(known, studbook.FounderKinship{ID1: strings.TrimSpace(a), ID2: strings.TrimSpace(b), Kinship: number(t, value)})
			continue
		}
		words := strings.Fields(statement)
		id, parents, ok := strings.Cut(words[0], "=")
		b := studbook.Bird{ID: id, Sex: studbook.Unsexed, Recorded: true}
		if ok {
			sire, dam, ok := strings.Cut(parents, "+")
			require.True(t, ok, statement)
			b.Sire, b.Dam = parent(t, sire), parent(t, dam)
		}
		for _, word := range words[1:] {
			switch word {
			case "wild":
				b.Origin = studbook.OriginWild
			case "captive":
				b.Origin = studbook.OriginCaptive
			default:
				year := int(number(t, word))
				b.Hatch = studbook.Date{
					First: studbook.DayOf(year, time.January, 1),
					Last:  studbook.DayOf(year, time.December, 31),
					Text:  word,
				}
			}
		}
		stated[id] = true
		birds = append(birds, b)
		for _, side := range []studbook.Parentage{b.Sire, b.Dam} {
			for _, c := range side.Candidates {
				named = append(named, c.ID)
			}
		}
	}
	for _, id := range named {
		if !stated[id] {
			stated[id] = true
			birds = append(birds, studbook.Bird{ID: id, Sex: studbook.Unsexed})
		}
	}
	return birds, known
}

func parent(t testing.TB, text string) studbook.Parentage {
	t.Helper()
	switch text {
	case "?":
		return studbook.Parentage{}
	case "wild":
		return studbook.Parentage{Wild: true}
	}
	var side studbook.Parentage
	for candidate := range strings.SplitSeq(text, "|") {
		id, weight, ok := strings.Cut(candidate, ":")
		c := studbook.Candidate{ID: id, Weight: 1}
		if ok {
			c.Weight = number(t, weight)
		}
		side.Candidates = append(side.Candidates, c)
	}
	return side
}

func number(t testing.TB, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err)
	return v
}

// node returns the node of the bird with the id.
func node(t testing.TB, p *Pedigree, id string) int {
	t.Helper()
	i, ok := p.Index(id)
	require.True(t, ok, "no bird %q", id)
	return i
}

// nodes returns the nodes of the birds whose ids stand in text, in that order.
func nodes(t testing.TB, p *Pedigree, text string) []int {
	t.Helper()
	var list []int
	for _, id := range strings.Fields(text) {
		list = append(list, node(t, p, id))
	}
	return list
}

func TestNotation(t *testing.T) {
	birds, known := draw(t, "C=A+? captive 2019; B wild; X=B+S1:0.25|S2:0.5; f(A,B)=0.125")
	var ids []string
	for _, b := range birds {
		ids = append(ids, b.ID)
	}
	require.Equal(t, []string{"C", "B", "X", "A", "S1", "S2"}, ids)
	require.Equal(t, studbook.OriginCaptive, birds[0].Origin)
	require.Equal(t, "2019-07-02", birds[0].Hatch.Mid().String())
	require.True(t, birds[0].Dam.Unknown())
	require.True(t, birds[1].Founder())
	require.Equal(t, []studbook.Candidate{{ID: "S1", Weight: 0.25}, {ID: "S2", Weight: 0.5}}, birds[2].Dam.Candidates)
	require.Equal(t, []studbook.FounderKinship{{ID1: "A", ID2: "B", Kinship: 0.125}}, known)
}
