package studbook

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestBounds: a file that is none of a colony gives a finding, at once.
func TestBounds(t *testing.T) {
	const sound = "id,name,sex,sire,dam\nA,,M,,\n"
	var keys, likes strings.Builder
	for i := range 5000 {
		fmt.Fprintf(&keys, "k%d = 1\n", i)
		fmt.Fprintf(&likes, ";B%d", i)
	}
	defer func(most int) { mostRows = most }(mostRows)
	mostRows = 10_000
	tests := []struct{ name, studbook, settings, want string }{
		{"a cell of a megabyte", sound + "B," + strings.Repeat("x", 1<<20) + ",F,,\n", "", "error studbook.csv:3 - long_cell"},
		{"an id of a megabyte", sound + strings.Repeat("x", 1<<20) + ",,F,,\n", "", "error studbook.csv:3 - long_cell"},
		{"a header of a megabyte", strings.Repeat("x", 1<<20), "", "error studbook.csv:1 - long_cell"},
		{"a row of a million cells", sound + "B" + strings.Repeat(",", 1<<20) + "\nC,,F,,\n", "", "error studbook.csv:3 - long_row"},
		{"a row of megabytes with a mark", sound + "B,\"" + strings.Repeat("x,", 1<<22) + "\nC,,F,,\n", "", "error studbook.csv:3 - long_row"},
		{"a mark that is never closed", sound + "B,\"" + strings.Repeat("x\n", 1<<12), "", "error studbook.csv:3 - broken_quotes"},
		{"too many rows", sound + strings.Repeat("\nx", mostRows+1), "", "error studbook.csv:0 - too_many_rows"},
		{"thousands of possible parents", sound + "B,,F,A" + likes.String() + ",\n", "", "error studbook.csv:3 sire bad_parent"},
		{"a deep key", sound, strings.Repeat("a.", 20_000) + "a = 1\n", "error programme.toml:1 - bad_settings"},
		{"a deep table", sound, "[" + strings.Repeat("a.", 20_000) + "a]\n", "error programme.toml:1 - bad_settings"},
		{"nested tables", sound, "\nx = " + strings.Repeat("{a = ", 10_000) + "1" + strings.Repeat("}", 10_000), "error programme.toml:2 - bad_settings"},
		{"nested lists", sound, "x = " + strings.Repeat("[", 10_000) + strings.Repeat("]", 10_000), "error programme.toml:1 - bad_settings"},
		{"megabytes of settings", sound, strings.Repeat("# nothing\n", 1<<18), "error programme.toml:0 - bad_settings"},
		{"thousands of unknown keys", sound, keys.String(), "warning programme.toml:1 k0 unknown_setting"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c, err := Read(t.Context(), folder("studbook.csv", tt.studbook, "programme.toml", tt.settings), "studbook.csv", Options{})
			var got []string
			length := 0
			for _, f := range findingsOf(t, c, err) {
				got = append(got, brief(f))
				length += len(f.String())
			}
			assert.Contains(t, got, tt.want)
			assert.Less(t, length, 2<<20, "and what is said stays short")
		})
	}
}

// TestManyFindingsOfOneKind: the first thousand are told, and how many there are.
func TestManyFindingsOfOneKind(t *testing.T) {
	c, err := Read(t.Context(), folder("studbook.csv", "id,sex,sire,dam\n"+strings.Repeat("A,cock,,\n", 5000)), "studbook.csv", Options{})
	counts := make(map[string]int)
	for _, f := range findingsOf(t, c, err) {
		counts[f.Code]++
		if counts[f.Code] == 1001 {
			assert.Contains(t, f.Message, "and so on from here, "+map[string]string{codeBadSex: "5,000", codeDuplicateID: "4,999"}[f.Code]+" times in all")
		}
	}
	assert.Equal(t, map[string]int{codeBadSex: 1001, codeDuplicateID: 1001}, counts)

	// A thousand warnings never hide an error of the same kind.
	c, err = Read(t.Context(), folder("studbook.csv", "id,name,sex,sire,dam,location\n"+strings.Repeat("A,#N/A,M,,,\n", 2000)+"B,,F,,,#N/A\n"), "studbook.csv", Options{})
	counts = make(map[string]int)
	for _, f := range findingsOf(t, c, err) {
		if f.Code == codeSheetError {
			counts[f.Severity.String()]++
		}
	}
	assert.Equal(t, map[string]int{"warning": 1001, "error": 1}, counts)
}

// TestWideSheet: a cell in the last column of every row is no reason to keep
// sixteen thousand cells of each.
func TestWideSheet(t *testing.T) {
	rows := [][]any{{"id", "sex", "sire", "dam"}}
	wide := make([]any, 16_000)
	wide[0], wide[15_999] = "A", "x"
	for range 3 {
		rows = append(rows, wide)
	}
	c, err := Read(t.Context(), fstest.MapFS{"colony.xlsx": {Data: writeWorkbook(t, sheet{"studbook", rows, nil})}}, "colony.xlsx", Options{})
	require.Error(t, err, "a cell beyond the header")
	assert.Nil(t, c)
}

// TestFarSheet: a sheet with cells at its far right edge is a finding at once, and not let grow
// to gigabytes; cells without a value there, which only have a look, are none.
func TestFarSheet(t *testing.T) {
	sheet := func(value string) fstest.MapFS {
		var rows strings.Builder
		rows.WriteString(`<worksheet><sheetData><row r="1"><c t="str"><v>id</v></c><c t="str"><v>sex</v></c><c t="str"><v>sire</v></c><c t="str"><v>dam</v></c></row>`)
		for line := 2; line < 2_000; line++ {
			fmt.Fprintf(&rows, `<row r="%d"><c t="str"><v>B%d</v></c><c t="str"><v>M</v></c><c r="XFD%d">%s</c></row>`, line, line, line, value)
		}
		return bookOf(t, rows.String()+`</sheetData></worksheet>`, "", "")
	}
	c, err := Read(t.Context(), sheet(""), "colony.xlsx", Options{})
	require.NoError(t, err)
	assert.Len(t, c.Birds, 1_998)
	_, err = Read(t.Context(), sheet("<v>1</v>"), "colony.xlsx", Options{})
	var faults *Faults
	require.ErrorAs(t, err, &faults)
	require.Len(t, faults.Findings, 1)
	assert.Contains(t, faults.Findings[0].Message, "so far to the right")
	assert.Contains(t, faults.Findings[0].Help, "delete the columns to the right of the table, or import colony.xlsx")
}

// TestForeignFiles: a file that is no table gets one finding with the cure,
// whatever it is called.
func TestForeignFiles(t *testing.T) {
	for begins, want := range map[string]string{
		"%PDF-1.7": "a PDF", "\x1f\x8b\x08": "a compressed file", "<!DOCTYPE html><table>": "a web page",
	} {
		text := begins + strings.Repeat("\x00rest of it\n", 100)
		for _, files := range []fstest.MapFS{folder("birds.csv", text), folder("birds.csv", "id,sex,sire,dam\nA,M,,\n", "moves.csv", text)} {
			_, err := Read(t.Context(), files, "birds.csv", Options{})
			var faults *Faults
			require.ErrorAs(t, err, &faults)
			require.Len(t, faults.Findings, 1)
			assert.Contains(t, faults.Findings[0].Message, want)
			assert.NotEmpty(t, faults.Findings[0].Help)
		}
	}
	_, err := Read(t.Context(), fstest.MapFS{"birds.csv": {Mode: fs.ModeNamedPipe}}, "birds.csv", Options{})
	assert.EqualError(t, err, "birds.csv is a pipe or a device; write what comes from it to a file, and name that")
	_, err = Read(t.Context(), os.DirFS(t.TempDir()), "..", Options{})
	assert.EqualError(t, err, ".. is a folder; name the file in it")
	_, err = Read(t.Context(), fstest.MapFS{"birds/studbook.csv": {}}, "birds", Options{})
	assert.EqualError(t, err, "birds is a folder; name the file in it")
}

// busy is a folder in which somebody writes to a file whenever reading it has begun.
type busy struct {
	fs.FS
	write  func(trial int)
	trials int
}

func (b *busy) Open(name string) (fs.File, error) {
	f, err := b.FS.Open(name)
	return &begun{f, b, false}, err
}

// begun is a file that is written to after its first byte has been read.
type begun struct {
	fs.File
	of   *busy
	read bool
}

func (b *begun) Read(to []byte) (int, error) {
	if b.read {
		return b.File.Read(to)
	}
	b.read = true
	n, err := b.File.Read(to[:1])
	b.of.trials++
	b.of.write(b.of.trials)
	return n, err
}

func (b *busy) Stat(name string) (fs.FileInfo, error) { return fs.Stat(b.FS, name) }

// TestReadFileIsWhole: of a file that grows, shrinks, is written anew or vanishes
// while it is read nobody gets half.
func TestReadFileIsWhole(t *testing.T) {
	const before, after = "id,sex\nA,F\n", "id,sex\nA,F\nB,M\n"
	for name, x := range map[string]struct {
		write func(t *testing.T, file string)
		gets  string
		again bool // it is read a second time
	}{
		"grows": {func(t *testing.T, file string) {
			f, err := os.OpenFile(file, os.O_APPEND|os.O_WRONLY, 0)
			require.NoError(t, err)
			_, err = f.WriteString("B,M\n")
			require.NoError(t, errors.Join(err, f.Close()))
		}, after, true},
		"shrinks":         {func(t *testing.T, file string) { require.NoError(t, os.Truncate(file, 7)) }, before[:7], true},
		"is written anew": {func(t *testing.T, file string) { require.NoError(t, os.WriteFile(file, []byte(after), 0o600)) }, after, true},
		"gives way to another": {func(t *testing.T, file string) {
			require.NoError(t, os.WriteFile(file+".new", []byte(after), 0o600))
			require.NoError(t, os.Rename(file+".new", file))
		}, before, false}, // whole, as it was when it was opened
		"vanishes": {func(t *testing.T, file string) { require.NoError(t, os.Remove(file)) }, before, false},
	} {
		for _, always := range []bool{false, true} {
			t.Run(fmt.Sprintf("%s, for ever %t", name, always), func(t *testing.T) {
				dir := t.TempDir()
				file := filepath.Join(dir, "birds.csv")
				require.NoError(t, os.WriteFile(file, []byte(before), 0o600))
				long := time.Now().Add(-time.Hour) // so that a write shows in its time
				require.NoError(t, os.Chtimes(file, long, long))
				folder := &busy{FS: os.DirFS(dir), write: func(trial int) {
					if trial == 1 {
						x.write(t, file)
					} else if always {
						require.NoError(t, os.Chtimes(file, long, long.Add(time.Duration(trial)*time.Minute)))
					}
				}}
				raw, err := ReadFile(folder, "birds.csv")
				if always && x.again {
					assert.Equal(t, 3, folder.trials)
					assert.EqualError(t, err, "birds.csv was changed while it was read; wait until it is saved, and ask again")
					assert.Empty(t, raw)
					return
				}
				require.NoError(t, err)
				assert.Equal(t, x.gets, string(raw))
				assert.Equal(t, x.again, folder.trials > 1)
			})
		}
	}
}
