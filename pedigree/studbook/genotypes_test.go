package studbook

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// typedBirds is a studbook of three birds to be typed.
const typedBirds = "id,sex,sire,dam,hatch_date,origin\nA,M,,,2010,wild\nB,F,,,2010,wild\nC,F,wild,wild,2015,captive\n"

// TestGenotypesAreRead: however a laboratory lays its table out, the same is found. The
// ways are common practice, no source; lengths of three digits in one cell are those of
// the Genepop format (Raymond & Rousset 1995), 0 and two columns those of linkage files.
func TestGenotypesAreRead(t *testing.T) {
	lengths := [][]string{{"id", "M", "N"}, {"A", "98/156", "9/11"}, {"B", "156/156", "11/12"}, {"C", "", "9/12"}}
	bases := [][]string{{"id", "S1", "S2"}, {"A", "A/G", "C/C"}, {"B", "A/A", ""}, {"C", "A/G", "C/T"}}
	copies := [][]string{{"id", "S1", "S2"}, {"A", "1/1", "2/2"}, {"B", "1/2", "1/2"}, {"C", "2/2", ""}}
	for name, test := range map[string]struct {
		file string
		want [][]string
		note string
	}{
		"one column":                {"id,M,N\nA,156/98,11/9\nB,156/156,11/12\nC,,9/12\n", lengths, ""},
		"other signs between":       {"id;M;N\nA;156 98;11|9\nB;156:156;11,12\nC;NA;9/12\n", lengths, ""},
		"two columns of one name":   {"id,M,M,N,N\nA,156,98,11,9\nB,156,156,11,12\nC,0,0,9,12\n", lengths, ""},
		"two columns, one named":    {"id,M,,N\nA,156,98,11/9\nB,156,156,11/12\nC,?,,9/12\n", lengths, ""},
		"two columns by number":     {"id,M1,M2,N_1,N_2\nA,156,98,11,9\nB,156,156,11,12\nC,0,0,9,12\n", lengths, ""},
		"two columns by letter":     {"id,Ma,Mb,N a,N b\nA,156,098,11,9\nB,156.0,156,11,12\nC,-9,-9,9,12\n", lengths, ""},
		"three digits each":         {"id,M,N\nA,156098,011009\nB,156156,011012\nC,000000,009012\n", lengths, ""},
		"columns of its own":        {"id,sample,date,plate,M,N,ok\nA,K-1,2019-05-12,North 1,156/98,11/9,yes\nB,K-2,2019-05-12,North 2,156/156,11/12,yes\nC,K-3,2019-05-13,North 2,,9/12,no\n", lengths, `"sample", "date", "plate", "ok"`},
		"bases":                     {"id,S1,S2\nA,AG,CC\nB,AA,NN\nC,GA,TC\n", bases, ""},
		"bases with a sign":         {"id,S1,S2\nA,A/G,C/C\nB,A/A,--\nC,g/a,t/c\n", bases, ""},
		"numbers of copies":         {"id,S1,S2\nA,0,2\nB,1,1\nC,2,NA\n", copies, ""},
		"codes":                     {"id,S1,S2\nA,11,22\nB,12,12\nC,22,00\n", copies, ""},
		"codes in two columns each": {"id,S1,S1,S2,S2\nA,1,1,2,2\nB,1,2,2,1\nC,2,2,0,0\n", copies, ""},
	} {
		t.Run(name, func(t *testing.T) {
			c, err := Read(t.Context(), folder("studbook.csv", typedBirds, "genotypes.csv", test.file), "studbook.csv", Options{})
			require.NoError(t, err)
			for _, f := range c.Warnings {
				assert.NotContains(t, f.File, "genotypes")
			}
			assert.Equal(t, test.want, c.GenotypeRows())
			assert.Equal(t, test.note != "", strings.Contains(strings.Join(c.Notes, "\n"), "kept aside: "+test.note))
		})
	}
}

// TestBirdsByTheirBands: a laboratory knows birds by what stands on them. A band that two
// birds have is nobody's, and a bird is not typed twice under two names.
func TestBirdsByTheirBands(t *testing.T) {
	const birds = "id,name,band,sex,sire,dam,hatch_date\nA,Kit,R-1,M,,,2010\nB,Wren,R-2,F,,,2010\nC,Wren,R-3,F,,,2010\n"
	read := func(genotypes string) (*Colony, error) {
		return Read(t.Context(), folder("studbook.csv", birds, "genotypes.csv", genotypes), "studbook.csv", Options{})
	}
	c, err := read("id,M\nr-1,1/2\nB,2/2\nWren,1/1\n")
	require.NoError(t, err)
	assert.Equal(t, [][]string{{"id", "M"}, {"A", "1/2"}, {"B", "2/2"}}, c.GenotypeRows())
	assert.Contains(t, c.Notes, "genotypes.csv: 1 bird is found by band or name")
	assert.Equal(t, "warning genotypes.csv:4 id sample_of_nobody", brief(c.Warnings[len(c.Warnings)-1]))
	c, err = read("id,M\nA,1/2\nKit,2/2\n")
	assert.Contains(t, briefly(findingsOf(t, c, err)), "error genotypes.csv:3 id duplicate_id")
}

func briefly(findings []Finding) (all []string) {
	for _, f := range findings {
		all = append(all, brief(f))
	}
	return all
}

// TestMarkersThatLookLikeOthers: what could be two columns of one marker or two markers is
// taken for one only if its name or its cells say so.
func TestMarkersThatLookLikeOthers(t *testing.T) {
	for file, want := range map[string]string{
		"id,S1,S2\nA,1,2\nB,0,1\nC,2,2\n":             "S1 S2", // copies
		"id,S_1,S_2\nA,1,2\nB,0,1\nC,2,2\n":           "S",
		"id,S1,S2\nA,AG,CT\nB,AA,CC\nC,GG,CT\n":       "S1 S2",
		"id,Sa,Sb\nA,AG,CT\nB,AA,CC\nC,GG,CT\n":       "Sa Sb",
		"id,M1,M2\nA,9,12\nB,11,11\nC,9,11\n":         "M", // no genotype is a 9
		"id,age,mass\nA,9,120\nB,11,110\nC,9,110\n":   "",
		"id,M\nA,K12-34\nB,K13-35\nC,K14-36\n":        "",
		"id,2019,2020\nA,yes,no\nB,no,no\nC,yes,no\n": "",
	} {
		c, err := Read(t.Context(), folder("studbook.csv", typedBirds, "genotypes.csv", file), "studbook.csv", Options{})
		require.NoError(t, err, file)
		var names []string
		for _, m := range c.Markers {
			names = append(names, m.Name)
		}
		assert.Equal(t, want, strings.Join(names, " "), file)
	}
}

// TestSamplesOfNobody: that a table has two of one bird that nobody knows is no fault, as
// one of it is none; two of a bird of the studbook are.
func TestSamplesOfNobody(t *testing.T) {
	c, err := Read(t.Context(), folder("studbook.csv", typedBirds, "genotypes.csv", "id,M\nX9,98/156\nX9,98/156\nA,98/156\n"), "studbook.csv", Options{})
	require.NoError(t, err)
	var found []string
	for _, f := range c.Warnings {
		found = append(found, brief(f))
	}
	assert.Subset(t, found, []string{"warning genotypes.csv:2 id sample_of_nobody", "warning genotypes.csv:3 id sample_of_nobody"})
	_, err = Read(t.Context(), folder("studbook.csv", typedBirds, "genotypes.csv", "id,M\nA,98/156\nA,98/156\n"), "studbook.csv", Options{})
	require.Error(t, err)
}
