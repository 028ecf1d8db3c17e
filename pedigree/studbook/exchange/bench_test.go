package exchange

import (
	"bytes"
	"fmt"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"pairwright/pedigree/studbook"
)

// manyRows is a table of so many birds, with names, parents, dates and fates.
func manyRows(n int) [][]any {
	rows := [][]any{{"Ring", "Name", "Sex", "Sire", "Dam", "Hatched", "Died", "Location", "Notes"}}
	id := func(i int) any {
		if i < 1 {
			return nil
		}
		return fmt.Sprintf("B%06d", i)
	}
	for i := 1; i <= n; i++ {
		sire, dam := 0, 0
		if i > 9000 { // more than a year's birds before
			sire, dam = (i-8000)/2*2, (i-7000)/2*2+1
		}
		year := 1980 + i*40/n
		died := any(nil)
		if i%3 == 0 {
			died = fmt.Sprintf("%d/%d/%d", 1+i%28, 1+i%12, year+3)
		}
		rows = append(rows, []any{id(i), fmt.Sprintf("Bird %d", i%5000), []string{"male", "female"}[i%2], id(sire), id(dam), fmt.Sprintf("%d/%d/%d", 1+i%28, 1+i%12, year), died, fmt.Sprintf("P%02d", i%40), nil})
	}
	return rows
}

// inStream writes a large workbook of one sheet.
func inStream(t testing.TB, rows [][]any) []byte {
	f := excelize.NewFile()
	defer f.Close()
	w, err := f.NewStreamWriter("Sheet1")
	require.NoError(t, err)
	for i, r := range rows {
		cell, err := excelize.CoordinatesToCellName(1, i+1)
		require.NoError(t, err)
		require.NoError(t, w.SetRow(cell, r))
	}
	require.NoError(t, w.Flush())
	var out bytes.Buffer
	require.NoError(t, f.Write(&out))
	return out.Bytes()
}

func BenchmarkImport(b *testing.B) {
	const n = 100_000
	rows := manyRows(n)
	for _, f := range []struct {
		name    string
		content []byte
	}{
		{"many.csv", inText(b, ",", nil, rows)},
		{"many.ods", inODS(b, page{name: "Birds", rows: rows})},
		{"many.xlsx", inStream(b, rows)},
	} {
		b.Run(f.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				res, err := Import(b.Context(), fstest.MapFS{f.name: {Data: f.content}}, f.name, Options{Today: asOf, FileDay: asOf})
				if err != nil || res.Colony == nil || res.Report.Birds != n {
					b.Fatal(err, res.Report.Stops, studbook.Errors(res.Report.Findings))
				}
			}
		})
	}
}
