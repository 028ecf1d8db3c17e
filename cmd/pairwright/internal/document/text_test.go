package document

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/cmd/pairwright/internal/golden"
)

func TestTextGolden(t *testing.T) {
	golden.File(t, "sample.txt", func(w io.Writer) error { return WriteText(w, sample(), 0) })
	golden.File(t, "sample-60.txt", func(w io.Writer) error { return WriteText(w, sample(), 60) })
}

func textLines(t *testing.T, d *Document, width int) []string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, WriteText(&b, d, width))
	return strings.Split(strings.TrimSuffix(b.String(), "\n"), "\n")
}

// TestTextTableAlignment reads random tables back by the columns of their
// rules: nothing crosses a gap between columns, no line is too long, figures
// are whole and on the right, and every word is there.
func TestTextTableAlignment(t *testing.T) {
	words := []string{"a", "nest", "moult", "日本語", "👩‍👩‍👧‍👦", "é", "一", "Llanfairpwllgwyngyllgogerychwyrndrobwll", "–", "±"}
	for seed := range uint64(300) {
		rng := rand.New(rand.NewPCG(seed, 0))
		phrase := func(most int) string {
			var s []string
			for range rng.IntN(most + 1) {
				s = append(s, words[rng.IntN(len(words))])
			}
			return strings.Join(s, " ")
		}
		width := 40 + rng.IntN(80)
		table := &Table{Columns: []Column{{Name: "Id"}}}
		for range rng.IntN(9) {
			c := Column{Name: phrase(3) + "x", Unit: phrase(1), Right: rng.IntN(2) == 0}
			c.Wide = !c.Right && rng.IntN(2) == 0
			table.Columns = append(table.Columns, c)
		}
		for i := range 1 + rng.IntN(6) {
			r := Row{Cells: []Cell{wordsCell(fmt.Sprintf("B%d", i))}}
			for _, c := range table.Columns[1:] {
				switch {
				case c.Right:
					r.Cells = append(r.Cells, wordsCell(FormatChange(rng.Float64()-0.5, 5)))
				case c.Wide:
					r.Cells = append(r.Cells, wordsCell(phrase(30)))
				default:
					r.Cells = append(r.Cells, wordsCell(phrase(2)))
				}
			}
			table.Rows = append(table.Rows, r)
		}

		got := textLines(t, &Document{Title: "T", Sections: []Section{{Blocks: []Block{table}}}}, width)[3:]
		for _, l := range got {
			require.LessOrEqual(t, DisplayWidth(l), width, "seed %d: %q", seed, l)
			require.Equal(t, strings.TrimRight(l, " "), l, "seed %d", seed)
		}
		// What stands below the rows is all of the columns that are not in them.
		line, below := newGrid(table).split(width)
		stacked := 0
		for i := range table.Rows {
			said := strings.Join(under(below, i, width), " ")
			stacked += len(under(below, i, width))
			for _, c := range below {
				require.Contains(t, strings.ReplaceAll(said, " ", ""), strings.ReplaceAll(c.cells[i], " ", ""), "seed %d", seed)
			}
		}
		var spans [][2]int
		var ls []string
		for _, l := range line.lines(nil, width) {
			l = strings.TrimRight(l, " ")
			require.Contains(t, got, l, "seed %d", seed)
			ls = append(ls, l)
			if strings.HasPrefix(l, "─") {
				at := 0
				for rule := range strings.SplitSeq(l, "  ") {
					spans = append(spans, [2]int{at, at + DisplayWidth(rule)})
					at += DisplayWidth(rule) + 2
				}
			}
		}
		require.Len(t, got, len(ls)+stacked, "seed %d", seed)
		require.Len(t, spans, len(line.columns), "seed %d", seed)
		require.Equal(t, len(table.Columns), len(line.columns)+len(below), "seed %d: columns shown", seed)
		require.Equal(t, "Id", line.columns[0].Name, "seed %d: the key is in the line", seed)
		cells := make([]string, len(spans)) // all of a column, without spaces
		for _, l := range ls {
			for j, piece := range cutColumns(t, l, spans) {
				if line.columns[j].Right && strings.TrimSpace(piece) != "" && !strings.HasPrefix(piece, "─") {
					require.Equal(t, strings.TrimRight(piece, " "), piece, "seed %d: not on the right: %q", seed, l)
					require.Equal(t, spans[j][1]-spans[j][0], DisplayWidth(piece), "seed %d: not on the right: %q", seed, l)
				}
				cells[j] += strings.ReplaceAll(strings.ReplaceAll(piece, " ", ""), "─", "")
			}
		}
		for j, c := range line.columns {
			want := c.Name + c.Unit + strings.Join(c.cells, "")
			require.Equal(t, strings.ReplaceAll(want, " ", ""), cells[j], "seed %d", seed)
		}
	}
}

// What decides stands in the line of its bird however narrow the line is.
func TestTextKeepsWhatDecides(t *testing.T) {
	table := &Table{
		Columns: []Column{{Name: "Bird"}, {Name: "Where it lives now", Wide: true}, {Name: "Age", Unit: "years", Right: true}, {Name: "Gain", Unit: "millionths", Right: true, Decides: true}},
		Rows:    []Row{{Cells: []Cell{wordsCell("C1"), wordsCell("Quillmoor Estate on Sea"), wordsCell("7.4"), wordsCell("+21.2")}}},
	}
	assert.Equal(t, []string{
		"Bird    Age        Gain",
		"      years  millionths",
		"────  ─────  ──────────",
		"C1      7.4       +21.2",
		"    Where it lives now: Quillmoor Estate",
		"    on Sea",
	}, textLines(t, &Document{Title: "", Sections: []Section{{Blocks: []Block{table}}}}, 40))
}

// cutColumns cuts a line at the columns of the terminal that spans names and
// fails if there is anything between them.
func cutColumns(t *testing.T, line string, spans [][2]int) []string {
	t.Helper()
	out := make([]string, len(spans))
	at := 0
	for rest := line; rest != ""; {
		head, tail := split(rest, 1)
		w := DisplayWidth(head)
		for j, s := range spans {
			if at >= s[0] && at+w <= s[1] {
				out[j] += head
			} else if at < s[1] && at+w > s[1] || j+1 < len(spans) && at >= s[1] && at < spans[j+1][0] {
				require.Equal(t, " ", head, "between the columns: %q", line)
			}
		}
		at += w
		rest = tail
	}
	return out
}

func TestTextHostile(t *testing.T) {
	for _, width := range []int{1, 40, 77, 100} {
		for _, l := range textLines(t, hostileDocument(), width) {
			assert.LessOrEqual(t, DisplayWidth(l), max(40, width), "%q", l)
			for _, r := range l {
				if unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) {
					t.Errorf("width %d: control character %U in %q", width, r, l)
				}
			}
		}
	}
}

// TestTextKeepsFigures has a figure that is too wide for any line.
func TestTextKeepsFigures(t *testing.T) {
	long := strings.Repeat("9", 70)
	table := &Table{Columns: []Column{{Name: "Id"}, {Name: "n", Right: true}, {Name: "m", Right: true}},
		Rows: []Row{{Cells: []Cell{wordsCell("A"), wordsCell(long), wordsCell("1")}}}}
	got := strings.Join(textLines(t, &Document{Sections: []Section{{Blocks: []Block{table}}}}, 40), "\n")
	assert.Contains(t, got, long)
	assert.Contains(t, got, "\n    m: 1", "the next figure stands below it")
}

func TestTextEmpty(t *testing.T) {
	assert.Equal(t, []string{""}, textLines(t, &Document{}, 0))
	assert.Equal(t, []string{"(none)"}, textLines(t, &Document{Sections: []Section{{Blocks: []Block{&Table{}}}}}, 0))
}

type failing struct{}

var errFull = errors.New("disk full")

func (failing) Write([]byte) (int, error) { return 0, errFull }

func TestWritersReturnErrors(t *testing.T) {
	assert.ErrorIs(t, WriteText(failing{}, sample(), 0), errFull)
	assert.ErrorIs(t, WriteMarkdown(failing{}, sample()), errFull)
}

func TestTruncate(t *testing.T) {
	measure := func(s string) float64 { return float64(DisplayWidth(s)) }
	assert.Equal(t, "Orrin", Truncate("Orrin", 5, measure))
	assert.Equal(t, "Orr…", Truncate("Orrin", 4, measure))
	assert.Equal(t, "A…", Truncate("A 柳", 3, measure), "no space before the mark")
	assert.Equal(t, "…", Truncate("Orrin", 0, measure))
}

// TestHugeWord: a cell of a megabyte takes time in proportion to its length;
// by its square this test would not end.
func TestHugeWord(t *testing.T) {
	word := strings.Repeat("x", 1<<20)
	lines := wrap(word, 8)
	assert.Len(t, lines, 1<<17)
	assert.Equal(t, word, strings.Join(lines, ""))
	assert.Equal(t, "xxx…", Truncate(word, 4, func(s string) float64 { return float64(DisplayWidth(s)) }))
}
