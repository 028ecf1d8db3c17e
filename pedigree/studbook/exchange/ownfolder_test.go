package exchange

import (
	"encoding/csv"
	"fmt"
	"io/fs"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/examples"
	"pairwright/pedigree/studbook"
)

// now is a day on which the example is up to date.
var now = studbook.DayOf(2026, 12, 1)

// savedAbroad is the example as a spreadsheet saves it that writes dates in another order:
// days with semicolons between the cells, every other date as it was.
func savedAbroad(t *testing.T, as func(y, m, d string) string) fstest.MapFS {
	t.Helper()
	files, err := FilesOf(examples.HarrowFell())
	require.NoError(t, err)
	out := fstest.MapFS{}
	for _, f := range files {
		if strings.HasSuffix(f.Name, ".csv") && f.Name != "changes.csv" {
			r := csv.NewReader(strings.NewReader(string(f.Content)))
			r.Comment, r.FieldsPerRecord = '#', -1
			rows, err := r.ReadAll()
			require.NoError(t, err)
			for _, row := range rows {
				for j, cell := range row {
					var y, m, d string
					if n, _ := fmt.Sscanf(strings.ReplaceAll(cell, "-", " "), "%4s %2s %2s", &y, &m, &d); n == 3 && len(cell) == 10 && cell[4] == '-' {
						row[j] = as(y, m, d)
					}
				}
			}
			var b strings.Builder
			w := csv.NewWriter(&b)
			w.Comma = ';'
			require.NoError(t, w.WriteAll(rows))
			f.Content = []byte(b.String())
		}
		out[f.Name] = &fstest.MapFile{Data: f.Content}
	}
	return out
}

// TestFolderSavedAbroad: a colony folder whose dates a spreadsheet wrote in another order is
// read whole: bonds, moves, clutches, holds and settings are those of the folder before.
func TestFolderSavedAbroad(t *testing.T) {
	want, err := studbook.Read(t.Context(), examples.HarrowFell(), "studbook.csv", studbook.Options{Today: now})
	require.NoError(t, err)
	for name, as := range map[string]func(y, m, d string) string{
		"day first":   func(y, m, d string) string { return d + "." + m + "." + y },
		"month first": func(y, m, d string) string { return m + "/" + d + "/" + y[2:] },
	} {
		t.Run(name, func(t *testing.T) {
			dir := savedAbroad(t, as)
			_, err := studbook.Read(t.Context(), dir, "studbook.csv", studbook.Options{Today: now})
			var faults *studbook.Faults
			require.ErrorAs(t, err, &faults)
			told := map[string]int{}
			few := map[string]bool{"holds.csv": true, "requests.csv": true, "decisions.csv": true}
			for _, f := range faults.Findings {
				if f.Severity == studbook.Error && f.Code == studbook.CodeDateOrder && !few[f.File] {
					told[f.File]++
				}
			}
			assert.Equal(t, map[string]int{"studbook.csv": 1, "moves.csv": 1, "bonds.csv": 1, "clutches.csv": 1}, told)

			res, err := Import(t.Context(), dir, "studbook.csv", Options{Today: now, FileDay: now})
			require.NoError(t, err)
			require.Empty(t, res.Report.Stops)
			require.NotNil(t, res.Colony)
			got := res.Colony
			assert.Equal(t, withoutLines(want.Moves, func(m *studbook.Move) { m.Line = 0 }), withoutLines(got.Moves, func(m *studbook.Move) { m.Line = 0 }))
			assert.Equal(t, withoutLines(want.Bonds, func(b *studbook.Bond) { b.Line = 0 }), withoutLines(got.Bonds, func(b *studbook.Bond) { b.Line = 0 }))
			assert.Equal(t, withoutLines(want.Clutches, func(c *studbook.Clutch) { c.Line = 0 }), withoutLines(got.Clutches, func(c *studbook.Clutch) { c.Line = 0 }))
			assert.Equal(t, withoutLines(want.Holds, func(h *studbook.Hold) { h.Line = 0 }), withoutLines(got.Holds, func(h *studbook.Hold) { h.Line = 0 }))
			assert.Equal(t, want.Settings, got.Settings)
			for i, b := range want.Birds {
				assert.Equal(t, [2]studbook.Date{b.Hatch, b.Death}, [2]studbook.Date{got.Birds[i].Hatch, got.Birds[i].Death}, b.ID)
			}
			settings, err := fs.ReadFile(examples.HarrowFell(), "programme.toml")
			require.NoError(t, err)
			written, err := memory(res.Files).ReadFile("programme.toml")
			require.NoError(t, err)
			assert.Equal(t, string(settings), string(written))
		})
	}
}

// TestHomeOfFolder: whoever names another institution gets the settings of the folder with that.
func TestHomeOfFolder(t *testing.T) {
	for settings, want := range map[string]string{
		"home = \"X\" # ours\nspecies = \"s\"\n": "home = \"Y\" # ours\nspecies = \"s\"\n",
		"species = \"s\"\n":                      "home = \"Y\"\nspecies = \"s\"\n",
	} {
		dir := fstest.MapFS{
			"studbook.csv":   {Data: []byte("id,sex,sire,dam,location\nA,M,wild,wild,X\nB,F,wild,wild,Y\n")},
			"programme.toml": {Data: []byte(settings)},
		}
		res, err := Import(t.Context(), dir, "studbook.csv", Options{Today: now, FileDay: now, Home: "Y"})
		require.NoError(t, err)
		require.NotNil(t, res.Colony, "%v", res.Report.Findings)
		written, err := memory(res.Files).ReadFile("programme.toml")
		require.NoError(t, err)
		assert.Equal(t, want, string(written))
		assert.Equal(t, "Y", res.Colony.Settings.Home)
	}
}

// withoutLines returns records as they are whatever their lines.
func withoutLines[T any](records []T, clear func(*T)) []T {
	out := append([]T(nil), records...)
	for k := range out {
		clear(&out[k])
	}
	return out
}
