package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"pairwright/pairing"
	"pairwright/pairing/review"
	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// reviewed reviews a colony given as file names and contents in turn.
func reviewed(t testing.TB, colony string, files ...string) *review.Review {
	t.Helper()
	folder := fstest.MapFS{}
	for k := 0; k < len(files); k += 2 {
		folder[files[k]] = &fstest.MapFile{Data: []byte(files[k+1])}
	}
	c, err := studbook.Read(t.Context(), folder, "studbook.csv", studbook.Options{})
	require.NoError(t, err)
	p, err := pairing.New(t.Context(), c.At(studbook.DayOf(2026, time.June, 30)))
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
			missing := strings.Join(r.Missing(), "\n")
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
			var text, md, html, js bytes.Buffer
			require.NoError(t, WriteText(&text, d, 0))
			require.NoError(t, WriteMarkdown(&md, d))
			require.NoError(t, WriteHTML(&html, d))
			require.NoError(t, WriteJSON(&js, ReviewJSON(r)))
			for _, out := range []*bytes.Buffer{&text, &md, &html, &js} {
				for _, bad := range []string{"NaN", "Inf", "∞", "%!", "<nil>"} {
					assert.NotContains(t, out.String(), bad)
				}
			}
			var back map[string]any
			require.NoError(t, json.Unmarshal(js.Bytes(), &back))
		})
	}
}

// The keys that other programs read, from the contract of the design.
func TestReviewKeepsItsContract(t *testing.T) {
	r := reviewed(t, "HOME", "studbook.csv", "id,sex,sire,dam,hatch_date,location,origin\nA,F,wild,wild,2010-05-01,HOME,wild\nM,M,wild,wild,2010-05-01,HOME,wild\nB,F,M,A,2015-05-01,HOME,captive\n",
		"bonds.csv", "female,male,since,until\nA,M,2012-03-01,\n")
	var js bytes.Buffer
	require.NoError(t, WriteJSON(&js, ReviewJSON(r)))
	var back map[string]json.RawMessage
	require.NoError(t, json.Unmarshal(js.Bytes(), &back))
	for _, key := range []string{"as_of", "colony", "genetics", "demography", "change_since", "birds", "pairs", "unpaired", "plan", "transfers", "gaps", "assumptions"} {
		assert.Contains(t, back, key)
	}
	var genetics map[string]map[string]any
	require.NoError(t, json.Unmarshal(back["genetics"], &genetics))
	for _, of := range []string{"programme", "colony"} {
		for _, key := range []string{"size", "gene_diversity", "gene_diversity_without_founders", "mean_kinship", "mean_inbreeding", "founder_genome_equivalents",
			"founder_equivalents", "founder_genomes_surviving", "effective_size", "known_ancestry"} {
			assert.Contains(t, genetics[of], key)
		}
	}
	// Two founders and their chick: MK-01 of the published check values, 5/18.
	assert.InDelta(t, 5.0/18, genetics["programme"]["mean_kinship"], 1e-12)
	assert.Nil(t, genetics["programme"]["effective_size"], "what cannot be estimated is null")
}

// reviewOfExample reviews the home colony of the example.
func reviewOfExample(t testing.TB) *review.Review {
	t.Helper()
	dir := filepath.Join("..", "..", "..", "..", "examples", "harrow-fell")
	c, err := studbook.Read(t.Context(), os.DirFS(dir), "studbook.csv", studbook.Options{})
	require.NoError(t, err)
	p, err := pairing.New(t.Context(), c.At(c.Programme.CurrentTo))
	require.NoError(t, err)
	r, err := review.New(t.Context(), p, review.Options{Colony: "HAF", Drop: pedigree.Drop{Seed: 1}, Rank: pairing.Options{Seed: 1}})
	require.NoError(t, err)
	return r
}

// The review of the example colony, whole, as it is printed.
func TestReviewOfTheExample(t *testing.T) {
	r := reviewOfExample(t)
	p := r.Programme
	d := ReviewDocument(r)
	t.Run("text", func(t *testing.T) { golden(t, "review.txt", func(w io.Writer) error { return WriteText(w, d, 0) }) })
	t.Run("md", func(t *testing.T) { golden(t, "review.md", func(w io.Writer) error { return WriteMarkdown(w, d) }) })
	t.Run("json", func(t *testing.T) {
		golden(t, "review.json", func(w io.Writer) error { return WriteJSON(w, ReviewJSON(r)) })
	})
	var html bytes.Buffer
	require.NoError(t, WriteHTML(&html, d))
	page := html.String()
	for _, row := range r.Birds {
		id := anchorID(anchor(p.Book.Birds[row.Bird].ID))
		assert.Equal(t, 1, strings.Count(page, `id="`+id+`"`), "one row to link to")
	}
	assert.Contains(t, page, `href="#bird-C0782"`)
}

// The workbook of the review opens again and has a sheet for every table.
func TestReviewAsWorkbook(t *testing.T) {
	r := reviewed(t, "HOME", "studbook.csv", "id,sex,sire,dam,hatch_date,location,origin\nA,F,wild,wild,2010-05-01,HOME,wild\nM,M,wild,wild,2010-05-01,HOME,wild\nB,F,M,A,2015-05-01,HOME,captive\n",
		"bonds.csv", "female,male,since,until\nA,M,2012-03-01,\n")
	d := ReviewDocument(r)
	tables := 0
	for _, s := range d.Sections {
		for _, b := range s.Blocks {
			if _, ok := b.(*Table); ok {
				tables++
			}
		}
	}
	var b bytes.Buffer
	require.NoError(t, WriteWorkbook(&b, d))
	f, err := excelize.OpenReader(&b)
	require.NoError(t, err)
	assert.Len(t, f.GetSheetList(), tables+1)
	require.NoError(t, f.Close())
}

// Nobody could follow the lines of so many birds, nor wait for them.
func TestNoPedigreeOfVeryManyBirds(t *testing.T) {
	var in ColonyPedigree
	for k := range mostDrawn + 1 {
		in.Birds = append(in.Birds, PedigreeBird{ID: fmt.Sprint("B", k), Home: true})
	}
	figures, why := ColonyPedigreeFigures(in)
	assert.Empty(t, figures)
	assert.Equal(t, "There is no pedigree of the colony: 151 birds are too many to follow in one; at most 150 are drawn.", why)
}

// BenchmarkReviewDocument lays the review of the example colony out as a page,
// with its pictures.
func BenchmarkReviewDocument(b *testing.B) {
	r := reviewOfExample(b)
	for b.Loop() {
		require.NoError(b, WriteHTML(io.Discard, ReviewDocument(r)))
	}
}
