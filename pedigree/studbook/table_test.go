package studbook

import (
	"encoding/csv"
	"errors"
	"io"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// readWhole is the oracle of parseCSV: encoding/csv reads all of the text, and after
// a mark that is never closed all that follows its line.
func readWhole(text string) (rows [][]string, lines, broken []int) {
	before := 0 // lines
	for text != "" {
		r := csv.NewReader(strings.NewReader(text))
		r.Comment, r.FieldsPerRecord, r.TrimLeadingSpace = '#', -1, true
		again := -1 // the line after which to read again
		for again < 0 {
			cells, err := r.Read()
			if err == io.EOF {
				return rows, lines, broken
			}
			var fault *csv.ParseError
			if errors.As(err, &fault) {
				broken = append(broken, before+fault.StartLine)
				if fault.Line != fault.StartLine {
					again = fault.StartLine
				}
				continue
			}
			blank := true
			for j := range cells {
				cells[j] = Unguarded(strings.TrimSpace(cells[j]))
				blank = blank && cells[j] == ""
			}
			if line, _ := r.FieldPos(0); !blank && !strings.HasPrefix(cells[0], "#") {
				rows, lines = append(rows, cells), append(lines, before+line)
			}
		}
		for range again {
			_, text, _ = strings.Cut(text, "\n")
		}
		before += again
	}
	return rows, lines, broken
}

// TestCuttingLosesNothing: lines that are cut where they stand, and rows that are
// read by windows, on one core or several, come out as encoding/csv reads them all at
// once, with their lines.
func TestCuttingLosesNothing(t *testing.T) {
	defer func(s, w, p int) { seldom, mostWindow, worthParting = s, w, p }(seldom, mostWindow, worthParting)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(3))
	compare := func(text string) {
		const header = "id,name\n"
		rows, lines, broken := readWhole(header + text)
		g, _, faults := parseCSV("", header+text)
		require.Equal(t, rows[1:], g.all(), "%q", text)
		require.Equal(t, lines[1:], linesOf(g), "%q", text)
		var at []int
		for _, b := range faults {
			at = append(at, b.line)
		}
		require.Equal(t, broken, at, "%q", text)
	}
	rnd := rand.New(rand.NewPCG(4, 4))
	pieces := []string{"a", "b", ",", ",", "\n", "\n", "\r\n", `"`, `""`, `,"`, `",`, "\"\n", "#", " ", "longer", "é", "\r"}
	for range 5_000 {
		seldom, worthParting = rnd.IntN(12), 1+rnd.IntN(100)
		var text strings.Builder
		for range rnd.IntN(40) {
			text.WriteString(pieces[rnd.IntN(len(pieces))])
		}
		compare(text.String())
	}
	mostWindow = 100 // bytes, more than any of these rows takes
	lines := []string{"a,b\n", "\"a\nb\",c\n", "\"a\n\n\nb\"\"\",c\n", "# \"\n", "\n", "x\"y,\n", "\"x\"y,\n", "plain,and longer than others are\n"}
	for range 2_000 {
		seldom, worthParting = rnd.IntN(12), 1+rnd.IntN(100)
		var text strings.Builder
		for range rnd.IntN(60) {
			text.WriteString(lines[rnd.IntN(len(lines))])
		}
		compare(text.String())
	}
}

func linesOf(g *grid) []int {
	lines := make([]int, len(g.rows))
	for i, r := range g.rows {
		lines[i] = int(r.line)
	}
	return lines
}
