package studbook

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// bigStudbook writes a sound studbook of n birds: 5 % founders, then every
// bird with two parents of the last 2,000 rows that are old enough.
func bigStudbook(n int, seed uint64) string {
	rnd := rand.New(rand.NewPCG(seed, 0))
	var b strings.Builder
	b.WriteString("id,name,band,sex,sire,dam,hatch_date,death_date,location,origin,notes\n")
	founders := max(10, n/20)
	start := DayOf(1950, 1, 1)
	span := 60 * 365
	day := func(i int) Day { return start + Day(i*span/n) }
	for i := range n {
		hatch := day(i)
		fmt.Fprintf(&b, "B%d,Name %d,%06d,%c,", i, i, i, "FM"[i%2])
		if i < founders {
			b.WriteString("wild,wild,")
		} else {
			// Old enough: hatched four years before, that is n/15 rows.
			oldest, youngest := max(0, i-n/5), max(2, i-n/15)
			sire := oldest + rnd.IntN(youngest-oldest)
			dam := oldest + rnd.IntN(youngest-oldest)
			fmt.Fprintf(&b, "B%d,B%d,", sire|1, dam&^1)
		}
		death := Day(0)
		if i < n*3/4 {
			death = hatch + Day(15*365+rnd.IntN(3650))
		}
		fmt.Fprintf(&b, "%s,%s,P%d,%s,\n", hatch, death, rnd.IntN(9), [2]string{"captive", "wild"}[b2i(i < founders)])
	}
	return b.String()
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

func BenchmarkRead(b *testing.B) {
	for _, n := range []int{1_000, 10_000, 100_000, 1_000_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			fsys := folder("studbook.csv", bigStudbook(n, 1))
			for b.Loop() {
				c, err := Read(b.Context(), fsys, "studbook.csv", Options{})
				require.NoError(b, err)
				require.Len(b, c.Birds, n)
			}
		})
	}
}

// BenchmarkQuoted measures reading where every cell stands in quotation marks.
func BenchmarkQuoted(b *testing.B) {
	const n = 100_000
	quoted := `"` + strings.NewReplacer(",", `","`, "\n", "\"\n\"").Replace(strings.TrimSuffix(bigStudbook(n, 1), "\n")) + `"`
	fsys := folder("studbook.csv", quoted)
	for b.Loop() {
		c, err := Read(b.Context(), fsys, "studbook.csv", Options{})
		require.NoError(b, err)
		require.Len(b, c.Birds, n)
	}
}

// BenchmarkWorkbook measures reading of the same birds as BenchmarkRead, but as texts in cells.
func BenchmarkWorkbook(b *testing.B) {
	const n = 100_000
	var rows strings.Builder
	for line := range strings.Lines(bigStudbook(n, 1)) {
		rows.WriteString("<row>")
		for cell := range strings.SplitSeq(strings.TrimSuffix(line, "\n"), ",") {
			rows.WriteString(`<c t="str"><v>` + cell + "</v></c>")
		}
		rows.WriteString("</row>")
	}
	fsys := bookOf(b, "<worksheet><sheetData>"+rows.String()+"</sheetData></worksheet>", "", "")
	for b.Loop() {
		c, err := Read(b.Context(), fsys, "colony.xlsx", Options{})
		require.NoError(b, err)
		require.Len(b, c.Birds, n)
	}
}

// BenchmarkRows measures what turning cells into birds takes of BenchmarkRead.
func BenchmarkRows(b *testing.B) {
	g, _, _ := parseCSV("studbook.csv", bigStudbook(100_000, 1))
	r := &reader{ctx: b.Context(), colony: &Colony{}}
	t := r.match(g, birdsTable.describe())
	for b.Loop() {
		_, err := readRows(r, birdsTable, t, spot.checkRow, func(spot, *Bird) bool { return true })
		require.NoError(b, err)
	}
}

func BenchmarkAt(b *testing.B) {
	c, err := Read(b.Context(), folder("studbook.csv", bigStudbook(10_000, 1)), "studbook.csv", Options{})
	require.NoError(b, err)
	for b.Loop() {
		c.At(DayOf(2000, 1, 1))
	}
}
