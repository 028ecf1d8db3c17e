package report

import (
	"bytes"
	"fmt"
	"io"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/drawing"
	"pairwright/cmd/pairwright/internal/golden"
	"pairwright/pairing"
	"pairwright/pairing/review"
	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// reviewed reviews a colony given as file names and contents in turn.
func reviewed(t testing.TB, colony string, files ...string) *review.Review {
	t.Helper()
	p, err := pairing.New(t.Context(), studbooktest.Read(t, files...).At(studbook.DayOf(2026, time.June, 30)))
	require.NoError(t, err)
	r, err := review.New(t.Context(), p, review.Options{Colony: colony, Drop: pedigree.Drop{Iterations: 640, Seed: 1}, Rank: pairing.Options{Seed: 1}})
	require.NoError(t, err)
	return r
}

// A review of a colony of which little can be said is shorter, and says what
// cannot be said and why.
func TestReviewOfThinColonies(t *testing.T) {
	const head = "id,sex,sire,dam,hatch_date,location,origin\n"
	for _, x := range []struct {
		name, colony string
		files        []string
		says         []string // of what cannot be said
		without      []string // titles of sections that must not be there
	}{
		{name: "one bird", colony: "HOME",
			files: []string{"studbook.csv", head + "A,F,wild,wild,2015-05-01,HOME,wild\n"},
			says:  []string{"the colony is one bird", "every bird on record is a founder", "there is no moves.csv", "the generation length is not known"}},
		{name: "one sex", colony: "HOME",
			files: []string{"studbook.csv", head + "A,F,wild,wild,2010-05-01,HOME,wild\nM,M,wild,wild,2010-05-01,AWAY,wild\nB,F,M,A,2015-05-01,HOME,captive\nC,F,M,A,2016-05-01,HOME,captive\n"},
			says:  []string{"the colony has 3 birds", "the colony has no male", "too few females and males were watched in the colony"}},
		{name: "no hatch dates", colony: "HOME",
			files:   []string{"studbook.csv", head + "A,F,wild,wild,,HOME,wild\nM,M,wild,wild,,HOME,wild\nB,F,M,A,,HOME,captive\nC,M,M,A,,HOME,captive\n"},
			says:    []string{"no bird has a hatch date"},
			without: []string{"Ages of the colony", "Appendix: gene pool year by year", "Appendix: life table of females"}},
		{name: "founders only", colony: "",
			files: []string{"studbook.csv", "id,sex,sire,dam,hatch_date\nA,F,,,2010-05-01\nB,M,,,2011-05-01\nC,F,,,2012-05-01\nD,M,,,2013-05-01\n"},
			says:  []string{"every bird on record is a founder", "the generation length is not known", "there is no bonds.csv", "there is no clutches.csv"}},
		{name: "nobody at home", colony: "HOME",
			files: []string{"studbook.csv", head + "A,F,wild,wild,2010-05-01,AWAY,wild\nM,M,wild,wild,2010-05-01,AWAY,wild\n",
				"institutions.csv", "code,name\nHOME,Home\nAWAY,Away\n"},
			says:    []string{"no bird lives in the colony"},
			without: []string{"The birds", "Pairs", "Ages", "Plan for the next season"}},
		{name: "nobody alive", colony: "",
			files:   []string{"studbook.csv", "id,sex,sire,dam,hatch_date,death_date\nA,F,,,2010-05-01,2015-01-01\nB,M,,,2011-05-01,2015-01-01\n"},
			says:    []string{"no bird of the programme is alive"},
			without: []string{"The birds", "Pairs", "Gene diversity", "Founders", "Gaps in parentage"}},
		{name: "nobody sexed", colony: "HOME",
			files: []string{"studbook.csv", head + "A,U,wild,wild,2010-05-01,HOME,wild\nB,U,wild,wild,2010-05-01,HOME,wild\n", "moves.csv", "id,date,from,to\nA,2012-01-01,,HOME\n"},
			says:  []string{"no bird of the colony is sexed"}},
	} {
		t.Run(x.name, func(t *testing.T) {
			r := reviewed(t, x.colony, x.files...)
			missing := strings.Join(MissingTexts(r), "\n")
			for _, s := range x.says {
				assert.Contains(t, missing, s)
			}
			if x.name == "nobody sexed" {
				assert.NotContains(t, missing, "moves.csv")
			}
			d := ReviewDocument(r)
			titles := map[string]bool{}
			for _, s := range d.Sections {
				assert.False(t, titles[s.Title], "%s twice", s.Title)
				titles[s.Title] = true
				assert.NotEmpty(t, s.Blocks, s.Title)
			}
			assert.True(t, titles["What cannot be said"])
			for _, title := range x.without {
				assert.False(t, titles[title], "%s has nothing to say", title)
			}
			var text, md, html bytes.Buffer
			require.NoError(t, document.WriteText(&text, d, 0))
			require.NoError(t, document.WriteMarkdown(&md, d))
			require.NoError(t, document.WriteHTML(&html, d))
			for _, out := range []*bytes.Buffer{&text, &md, &html} {
				for _, bad := range []string{"NaN", "Inf", "∞", "%!", "<nil>"} {
					assert.NotContains(t, out.String(), bad)
				}
			}
		})
	}
}

// reviewOfExample reviews the home colony of the example.
func reviewOfExample(t testing.TB) *review.Review {
	t.Helper()
	c := studbooktest.Example(t)
	p, err := pairing.New(t.Context(), c.At(c.Settings.CurrentTo))
	require.NoError(t, err)
	r, err := review.New(t.Context(), p, review.Options{Colony: "HAF", Drop: pedigree.Drop{Seed: 1}, Rank: pairing.Options{Seed: 1}})
	require.NoError(t, err)
	return r
}

// smallColony has a pair, its chick and a bond that still holds.
func smallColony(t testing.TB) *review.Review {
	return reviewed(t, "HOME", "studbook.csv", "id,sex,sire,dam,hatch_date,location,origin\nA,F,wild,wild,2010-05-01,HOME,wild\nM,M,wild,wild,2010-05-01,HOME,wild\nB,F,M,A,2015-05-01,HOME,captive\n",
		"bonds.csv", "female,male,since,until\nA,M,2012-03-01,\n")
}

// The review of three birds, whole, as it is printed: short enough to be read.
func TestReviewOfThreeBirds(t *testing.T) {
	golden.File(t, "review-small.txt", func(w io.Writer) error { return document.WriteText(w, ReviewDocument(smallColony(t)), 0) })
}

// The review of the example colony is long: what every part of it must have is
// tested, not how it reads.
func TestReviewOfTheExample(t *testing.T) {
	studbooktest.WithoutRace(t)
	r := reviewOfExample(t)
	p := r.Programme
	d := ReviewDocument(r)
	titles := make(map[string]bool)
	for _, s := range d.Sections {
		assert.False(t, titles[s.Title], "%s stands there twice", s.Title)
		titles[s.Title] = true
		for _, block := range s.Blocks {
			switch b := block.(type) {
			case *document.Table:
				for _, row := range b.Rows {
					assert.LessOrEqual(t, len(row.Cells), len(b.Columns), "%s: more cells than columns", s.Title)
				}
			case *document.Figure:
				assert.NotEmpty(t, b.Caption, s.Title)
				assert.Greater(t, len(b.Alt), 40, "%s: who cannot see the picture is told what it shows", s.Title)
			}
		}
	}
	var text, md, html bytes.Buffer
	require.NoError(t, document.WriteText(&text, d, 0))
	require.NoError(t, document.WriteMarkdown(&md, d))
	require.NoError(t, document.WriteHTML(&html, d))
	wrong := regexp.MustCompile(`NaN|%!|<nil>|\w\.:|[^\d,]1 (birds|pairs|chicks|years)\b|\b0\.0000\b`)
	for name, out := range map[string]string{"text": text.String(), "md": md.String(), "html": html.String()} {
		assert.Empty(t, wrong.FindAllString(out, -1), name)
	}
	page := html.String()
	for _, row := range r.Birds {
		bird := &p.Book.Birds[row.Bird]
		id := document.AnchorID(anchor(bird.ID))
		assert.Equal(t, 1, strings.Count(page, `id="`+id+`"`), "one row to link to")
		assert.Contains(t, text.String(), bird.ID)
	}
	for _, pair := range r.Pairs {
		assert.Contains(t, text.String(), p.Book.Birds[pair.Female].ID)
	}
	assert.Contains(t, page, `href="#bird-C0782"`)
	// What is signed is short: a dozen lines, each with a day and a reason in a
	// dozen words, and what follows or depends on it behind a semicolon.
	assert.LessOrEqual(t, len(r.Decisions), 12)
	for k := range r.Decisions {
		x := &r.Decisions[k]
		why := DecisionWhy(p, x)
		assert.NotEmpty(t, why, DecisionWho(x))
		for say := range strings.SplitSeq(why, "; ") {
			assert.LessOrEqual(t, len(strings.Fields(say)), 12, why)
		}
		assert.NotEmpty(t, decisionBy(r.Programme, x), DecisionWho(x))
	}
	assert.Len(t, r.Glances, 5)
	// What there is no line for is counted, with where it stands.
	require.NotEmpty(t, r.LeftOut)
	assert.Contains(t, md.String(), leftOutText(r.LeftOut))
	for _, x := range r.LeftOut {
		assert.True(t, titles[leftOutKinds[x.What][2]], "%s: the review has a section of that name", x.What)
	}
}

// The workbook of the review opens again and has a sheet for every table.
func TestReviewAsWorkbook(t *testing.T) {
	d := ReviewDocument(smallColony(t))
	tables := 0
	for _, s := range d.Sections {
		for _, b := range s.Blocks {
			if x, ok := b.(*document.Table); ok && !x.Sign {
				tables++
			}
		}
	}
	var b bytes.Buffer
	require.NoError(t, document.WriteWorkbook(&b, d))
	f, err := excelize.OpenReader(&b)
	require.NoError(t, err)
	assert.Len(t, f.GetSheetList(), tables+1)
	require.NoError(t, f.Close())
}

// Nobody could follow the lines of so many birds, nor wait for them.
func TestNoPedigreeOfVeryManyBirds(t *testing.T) {
	var in drawing.ColonyPedigree
	for k := range drawing.MostDrawn + 1 {
		in.Birds = append(in.Birds, drawing.PedigreeBird{ID: fmt.Sprint("B", k), Home: true})
	}
	figures, why := drawing.ColonyPedigreeFigures(in)
	assert.Empty(t, figures)
	assert.Equal(t, "There is no pedigree of the colony: 151 birds are too many to follow in one; at most 150 are drawn.", why)
}

// BenchmarkReviewDocument lays the review of the example colony out as a page,
// with its pictures.
func BenchmarkReviewDocument(b *testing.B) {
	r := reviewOfExample(b)
	for b.Loop() {
		require.NoError(b, document.WriteHTML(io.Discard, ReviewDocument(r)))
	}
}
