package exchange

import (
	"bytes"
	"fmt"
	"maps"
	"slices"
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

// BenchmarkFaulty imports rows that each have a fault.
func BenchmarkFaulty(b *testing.B) {
	const n = 100_000
	faults := map[string]func(i int, row []any){
		"letters": func(i int, row []any) {
			for j := range row {
				row[j] = letters(i*len(row) + j)
			}
		},
		"deaths":  func(i int, row []any) { row[6] = letters(2*i) + " " + letters(2*i+1) },
		"weights": func(_ int, row []any) { row[3] = fmt.Sprintf("%v=0.9; %v=0.8", row[3], row[4]) },
		"names": func(i int, row []any) {
			row[1], row[3], row[4] = fmt.Sprint("Moss", i%50), fmt.Sprint("Moss", i%50), nil
		},
		"one id": func(_ int, row []any) { row[0] = "B1" },
	}
	for _, name := range slices.Sorted(maps.Keys(faults)) {
		rows := manyRows(n)
		for i := range n {
			faults[name](i, rows[i+1])
		}
		content := inText(b, ",", nil, rows)
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				res, err := Import(b.Context(), fstest.MapFS{"faulty.csv": {Data: content}}, "faulty.csv", Options{Today: asOf, FileDay: asOf})
				if err != nil || len(res.Report.Stops)+len(res.Report.Decisions) == 0 {
					b.Fatal(err, "nothing is said")
				}
			}
		})
	}
}

// letters is a word of six letters that differs for every number, as if by chance.
func letters(n int) string {
	word := make([]byte, 6)
	x := uint64(n)*0x9e3779b97f4a7c15 + 1
	for k := range word {
		word[k] = 'a' + byte(x%26)
		x /= 26
	}
	return string(word)
}

// BenchmarkKept imports a book of 300 nests kept for forty years with the chicks of each, and a
// log of what happened to pairs: what a chick or an event is about must not be sought in all.
func BenchmarkKept(b *testing.B) {
	const birds, nests, years = 20_000, 300, 40
	id := func(i int) string { return fmt.Sprintf("B%05d", i) }
	hatched := [][]any{{"ID", "Sex", "Hatch date", "Sire", "Dam"}}
	happened := [][]any{{"ID", "Sex", "Hatch date", "Sire", "Dam", "Event date", "Event", "With"}}
	held := [][]any{{"Nest", "Female", "Male", "From", "To"}}
	for i := range birds {
		year, nest := 1980+i*years/birds, any(nil)
		if year > 1984 {
			nest = fmt.Sprint("Box ", i%nests)
		}
		row := []any{id(i), []string{"female", "male"}[i%2], fmt.Sprintf("%d-05-%02d", year, 1+i%28), nest, nest}
		hatched = append(hatched, row)
		with := []any{fmt.Sprint(year+2, "-03-01"), "paired", id(i ^ 1)}
		happened = append(happened, slices.Concat(row[:3], []any{nil, nil}, with))
	}
	for year := 1984; year < 1980+years; year++ {
		for nest := range nests {
			dam := (year-1984)*birds/years + 2*(nest%250)
			held = append(held, []any{fmt.Sprint("Box ", nest), id(dam), id(dam + 1), fmt.Sprint(year, "-01-15"), fmt.Sprint(year, "-12-31")})
		}
	}
	for name, content := range map[string][]byte{
		"nests.ods":  inODS(b, page{name: "Birds", rows: hatched}, page{name: "Nests", rows: held}),
		"events.csv": inText(b, ",", nil, happened),
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				res, err := Import(b.Context(), fstest.MapFS{name: {Data: content}}, name, Options{Today: asOf, FileDay: asOf})
				if err != nil || res.Colony == nil || len(res.Colony.Bonds) == 0 {
					b.Fatal(err, res.Report.Stops, studbook.Errors(res.Report.Findings))
				}
			}
		})
	}
}
