package pedigree

import (
	"compress/gzip"
	"encoding/csv"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
)

// readTable returns the rows of a CSV file below its header line; a file whose
// name ends in .gz is unpacked.
func readTable(t testing.TB, name string) [][]string {
	t.Helper()
	file, err := os.Open(name)
	require.NoError(t, err)
	defer file.Close()
	var r io.Reader = file
	if strings.HasSuffix(name, ".gz") {
		r, err = gzip.NewReader(file)
		require.NoError(t, err)
	}
	rows, err := csv.NewReader(r).ReadAll()
	require.NoError(t, err)
	return rows[1:]
}

// readBirds reads a file with the columns id, sire, dam, whatever follows.
func readBirds(t testing.TB, name string) []studbook.Bird {
	t.Helper()
	one := func(id string) studbook.Parentage {
		if id == "" {
			return studbook.Parentage{}
		}
		return studbook.Parentage{Candidates: []studbook.Candidate{{ID: id, Weight: 1}}}
	}
	var birds []studbook.Bird
	for _, row := range readTable(t, name) {
		birds = append(birds, studbook.Bird{ID: row[0], Sire: one(row[1]), Dam: one(row[2]), Recorded: true})
	}
	return birds
}

// The open pedigrees, their F and kinships by general-purpose libraries: see
// testdata/open/README.md. Pedigrees of the same form that stand in
// shared/reference/open beside the repository are checked too.
func TestOpenPedigrees(t *testing.T) {
	here, err := filepath.Glob("../testdata/open/*.expected.csv*")
	require.NoError(t, err)
	require.Len(t, here, 15)
	beside, err := filepath.Glob("../../shared/reference/open/*.expected.csv*")
	require.NoError(t, err)
	t.Logf("%d pedigrees in testdata, %d more beside the repository", len(here), len(beside))

	for _, expected := range append(here, beside...) {
		t.Run(strings.TrimPrefix(expected, "../"), func(t *testing.T) {
			birds := readBirds(t, strings.Replace(expected, ".expected", "", 1))
			p, err := New(t.Context(), birds, nil)
			require.NoError(t, err)

			rows := readTable(t, expected)
			require.Len(t, rows, len(birds))
			worst := 0.0
			for _, row := range rows {
				worst = max(worst, math.Abs(p.F(node(t, p, row[0]))-number(t, row[1])))
			}
			assert.LessOrEqual(t, worst, 1e-9, "F")

			base, _, _ := strings.Cut(expected, ".expected")
			if _, err := os.Stat(base + ".kinship.csv.gz"); err == nil {
				compareKinships(t, p, birds, readTable(t, base+".kinship.csv.gz"))
			}
		})
	}
}

// compareKinships checks every kinship of birds, those that rows do not list
// being 0.
func compareKinships(t *testing.T, p *Pedigree, birds []studbook.Bird, rows [][]string) {
	all := every(t, p, birds)
	place := map[string]int{}
	for k, b := range birds {
		place[b.ID] = k
	}
	m, err := p.KinshipMatrix(t.Context(), all)
	require.NoError(t, err)
	want := make([]float64, len(all)*len(all))
	for _, row := range rows {
		a, b := place[row[0]], place[row[1]]
		want[a*len(all)+b] = number(t, row[2])
		want[b*len(all)+a] = number(t, row[2])
	}
	matrix, single := 0.0, 0.0
	for a := range all {
		row := p.Kinships(all[a])
		for b := range all {
			matrix = max(matrix, math.Abs(m.At(a, b)-want[a*len(all)+b]))
			single = max(single, math.Abs(row[all[b]]-want[a*len(all)+b]))
		}
	}
	assert.LessOrEqual(t, matrix, 1e-9, "KinshipMatrix")
	assert.LessOrEqual(t, single, 1e-9, "Kinships")
}
