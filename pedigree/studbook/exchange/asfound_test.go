package exchange

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// TestFilesAsFound imports the files of testdata/strangers, whose README says who
// keeps them and where the expected values come from: another program than ours.
func TestFilesAsFound(t *testing.T) {
	for _, x := range []struct {
		file  string
		stops []string // the codes of what must be decided
		asks  []string // a part of the question that settles each
		said  Mapping  // and over it the mapping beside the file, if there is one
	}{
		{file: "01-verein.xlsx"},
		{file: "02-list.csv"},
		{file: "03-anos.ods"},
		{file: "04-ringbook.xlsx", stops: []string{"departure_reason_unknown"}, asks: []string{`word "fox": died`}},
		{file: "05-dump.tsv"},
		{file: "06-liste.csv", stops: []string{"column_missing", "column_missing", "column_missing"}, asks: []string{"column", "column", "column"}},
		{file: "07-baum.ged"},
		{file: "08-flocks.fam"},
		{file: "09-registre.ods"},
		{file: "10-registro.csv", stops: []string{"date_order", "departure_without_reason"}, asks: []string{`dates "": dmy, mdy`, `word "": died`}, said: Mapping{Dates: "mdy"}},
		{file: "11-colony.xlsx", stops: []string{"column_twice", "alike_ids", "alike_ids"}, asks: []string{"Genetic father", "word", "word"},
			said: Mapping{Alike: "two", Columns: map[string]string{"sire": "Genetic father"}}},
		{file: "12-registrar.xlsx"},
		{file: "13-pairs.xlsx"},
		{file: "14-clutches.xlsx"},
		{file: "15-canarini.csv"},
		{file: "16-hodowla.csv", stops: []string{"column_missing", "column_missing", "column_missing"}, asks: []string{"column", "column", "column"}},
		{file: "17-zoo.xlsx"},
		{file: "18-koppels.xlsx"},
		{file: "19-rayes.xlsx", stops: []string{"rows_struck_through"}, asks: []string{`word "struck through": died`}},
		{file: "20-short.csv"},
		{file: "21-ditto.csv"},
		{file: "22-rayes.ods", stops: []string{"rows_struck_through"}, asks: []string{`word "struck through": died`}},
	} {
		t.Run(x.file, func(t *testing.T) {
			t.Parallel()
			fsys := os.DirFS(filepath.Join("testdata", "strangers"))
			opt := Options{Today: asOf, FileDay: asOf}
			take := func() *Result {
				res, err := Import(t.Context(), fsys, x.file, opt)
				require.NoError(t, err)
				return res
			}
			res := take()
			require.Len(t, res.Report.Stops, len(x.stops))
			for i, d := range res.Report.Stops {
				assert.Equal(t, x.stops[i], d.Code)
				assert.Contains(t, asks(d), x.asks[i])
				assert.Nil(t, res.Files, "nothing is written")
			}
			if len(x.stops) > 0 {
				raw, err := os.ReadFile(filepath.Join("testdata", "strangers", x.file[:2]+"-mapping.toml"))
				if !os.IsNotExist(err) {
					require.NoError(t, err)
				}
				m, err := ReadMapping(raw)
				require.NoError(t, err)
				opt.Mapping = x.said.Over(m)
				res = take()
				require.Empty(t, res.Report.Stops)
			}
			require.NotNil(t, res.Colony, "%v", res.Report.Findings)
			addsUp(t, res)
			agreesWith(t, res, filepath.Join("testdata", "strangers", x.file[:len(x.file)-len(filepath.Ext(x.file))]+".expected.csv"))
		})
	}
}

// agreesWith compares what was imported with a file of ids, sexes, who lives, F and
// mean kinship.
func agreesWith(t *testing.T, res *Result, name string) {
	t.Helper()
	f, err := os.Open(name)
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	s := res.Colony.At(asOf)
	p, err := pedigree.New(t.Context(), s.Birds, nil)
	require.NoError(t, err)
	node := func(id string) int {
		n, ok := p.Index(id)
		require.True(t, ok, "bird %s is missing", id)
		return n
	}
	var living []int
	lives := make(map[string]bool)
	for _, i := range s.Living {
		living = append(living, node(s.Birds[i].ID))
		lives[s.Birds[i].ID] = true
	}
	q := p.Population(living)
	number := func(s string) float64 {
		x, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		return x
	}
	assert.Equal(t, len(rows)-1, res.Report.Birds)
	for _, row := range rows[1:] {
		id := row[0]
		assert.Equal(t, studbook.Sex(row[1][0]), s.Bird(id).Sex, "sex of %s", id)
		assert.Equal(t, row[2] == "1", lives[id], "whether %s lives", id)
		assert.InDelta(t, number(row[3]), p.F(node(id)), 1e-9, "F of %s", id)
		assert.InDelta(t, number(row[4]), q.MeanKinshipOf(node(id)), 1e-9, "mean kinship of %s", id)
	}
}
