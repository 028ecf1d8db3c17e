package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"pairwright/cmd/pairwright/internal/golden"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// tables are the files of a colony: of each the heading and the rows.
type tables map[string][][]string

// colonyToAsk is a colony with questions for it.
type colonyToAsk struct {
	tables    tables
	programme string // programme.toml
	asOf      string
	asked     [][]string
}

// exampleToAsk is the example, with letters in its names that encodings differ in.
func exampleToAsk(t *testing.T) *colonyToAsk {
	c := &colonyToAsk{tables: tables{}, asOf: "2026-09-30", asked: [][]string{
		{"birds", "--all"}, {"kin", "C0419", "C0841"}, {"parents"}, {"mates", "C0734"}, {"mates"}, {"plan", "--scope", "programme"},
		{"transfer", "--list", "--scope", "programme"}, {"colony"},
	}}
	dir := filepath.Join("..", "..", "examples", "harrow-fell")
	raw, err := os.ReadFile(filepath.Join(dir, "programme.toml"))
	require.NoError(t, err)
	c.programme = string(raw)
	for _, f := range studbook.Files() {
		raw, err := os.ReadFile(filepath.Join(dir, f.Name))
		if os.IsNotExist(err) {
			continue
		}
		require.NoError(t, err)
		r := csv.NewReader(bytes.NewReader(raw))
		r.Comment = '#'
		c.tables[f.Name], err = r.ReadAll()
		require.NoError(t, err)
	}
	for k, row := range c.tables["studbook.csv"] {
		if k%7 == 1 {
			row[1] += " Käthe-Zoë"
		}
	}
	return c
}

// madeUp is a colony at three places, bred by chance.
func madeUp(seed uint64) *colonyToAsk {
	rnd := rand.New(rand.NewPCG(seed, 14))
	type bird struct {
		id, sex, place string
		year           int
		sire, dam      int // in birds, -1 for none
		dead           bool
		mate           int
	}
	places := []string{"HOME", "AWAY", "FARR"}
	var birds []bird
	c := &colonyToAsk{asOf: "2026-09-30", programme: "home = \"HOME\"\ncurrent_to = 2026-09-30\n", tables: tables{
		"studbook.csv":     {{"id", "name", "sex", "sire", "dam", "hatch_date", "death_date", "location", "origin", "notes"}},
		"moves.csv":        {{"id", "date", "from", "to", "reason"}},
		"bonds.csv":        {{"female", "male", "since", "until", "nest", "ended_by"}},
		"clutches.csv":     {{"female", "male", "laid", "eggs", "fertile", "hatched", "fledged"}},
		"holds.csv":        {{"id", "since", "until", "reason", "blocks", "note"}},
		"institutions.csv": {{"code", "name", "country", "latitude", "longitude", "spaces_f", "spaces_m", "quarantine_days", "closed_months"}},
	}}
	add := func(file string, row ...string) { c.tables[file] = append(c.tables[file], row) }
	for k, p := range places {
		add("institutions.csv", p, p+" park", "GB", fmt.Sprint(50+k), fmt.Sprint(k), "6", "6", "30", "")
	}
	born := func(sex, place string, sire, dam, year int, hatch string) {
		b := bird{fmt.Sprintf("B%04d", len(birds)+1), sex, place, year, sire, dam, false, -1}
		row := []string{b.id, fmt.Sprintf("Zoë %d", len(birds)+1), sex, "wild", "wild", hatch, "", place, "wild", "see, \"box\" 3; é"}
		if sire >= 0 {
			row[3], row[4], row[8] = birds[sire].id, birds[dam].id, "captive"
		}
		birds = append(birds, b)
		add("studbook.csv", row...)
	}
	for k := range 14 {
		born([]string{"F", "M"}[k%2], places[k%3], -1, -1, 2002, fmt.Sprintf("2002-05-%02d", k+1))
	}
	for year := 2005; year <= 2026; year++ {
		for f := range birds {
			for m := range birds {
				x, y := &birds[f], &birds[m]
				kin := x.sire >= 0 && (x.sire == y.sire || x.dam == y.dam || x.sire == m || x.dam == m || y.sire == f || y.dam == f)
				if x.sex == "F" && y.sex == "M" && !x.dead && !y.dead && x.mate < 0 && y.mate < 0 && x.place == y.place && year-x.year >= 3 && year-y.year >= 3 && !kin && rnd.IntN(3) > 0 {
					x.mate, y.mate = m, f
					add("bonds.csv", x.id, y.id, fmt.Sprintf("%d-03-%02d", year, 1+f%20), "", fmt.Sprint("nest ", f), "")
				}
			}
		}
		for f, n := 0, len(birds); f < n; f++ {
			if x := birds[f]; x.sex == "F" && !x.dead && x.mate >= 0 && rnd.IntN(3) > 0 {
				fertile := rnd.IntN(3)
				hatched := min(fertile, rnd.IntN(3))
				add("clutches.csv", x.id, birds[x.mate].id, fmt.Sprintf("%d-04-%02d", year, 1+f%20), "2", fmt.Sprint(fertile), fmt.Sprint(hatched), fmt.Sprint(hatched))
				for range hatched {
					born([]string{"F", "M"}[rnd.IntN(2)], x.place, x.mate, f, year, fmt.Sprintf("%d-05-%02d", year, 1+f%20))
				}
			}
		}
		for k := range birds {
			x := &birds[k]
			row := c.tables["studbook.csv"][k+1]
			switch {
			case x.dead || year == x.year || year == 2026:
			case x.mate < 0 && rnd.IntN(6) == 0:
				to := places[rnd.IntN(3)]
				if to != x.place {
					add("moves.csv", x.id, fmt.Sprintf("%d-09-%02d", year, 1+k%20), x.place, to, "")
					x.place, row[7] = to, to
				}
			case rnd.IntN(9) == 0:
				day := fmt.Sprintf("%d-11-%02d", year, 1+k%20)
				x.dead, row[6] = true, day
				if x.mate >= 0 {
					for _, b := range c.tables["bonds.csv"] {
						if (b[0] == x.id || b[1] == x.id) && b[3] == "" {
							b[3], b[5] = day, "death"
						}
					}
					birds[x.mate].mate, x.mate = -1, -1
				}
			}
		}
	}
	var living []string
	for _, b := range birds {
		if !b.dead {
			living = append(living, b.id)
		}
	}
	add("holds.csv", living[0], "2026-01-05", "", "lame", "moving", "")
	last := living[len(living)-1]
	c.asked = [][]string{{"birds", "--all"}, {"kin", living[1], last}, {"mates", last}, {"mates"}, {"plan", "--scope", "programme"}, {"transfer", "--list", "--scope", "programme"}, {"colony"},
		{"review", "--runs", "0"}}
	return c
}

// files writes a colony as CSV files of UTF-8 with commas.
func (c *colonyToAsk) files() map[string][]byte { return c.written(',', "\n", nil) }

// written writes a colony as CSV files.
func (c *colonyToAsk) written(delimiter rune, end string, e encoding.Encoding) map[string][]byte {
	files := map[string][]byte{"programme.toml": []byte(c.programme)}
	for name, rows := range c.tables {
		var b bytes.Buffer
		w := csv.NewWriter(&b)
		w.Comma = delimiter
		_ = w.WriteAll(rows) // to memory
		text := strings.ReplaceAll(b.String(), "\n", end)
		if e != nil {
			text, _ = e.NewEncoder().String(text) // asked below to be without loss
		}
		files[name] = []byte(text)
	}
	return files
}

// workbook writes a colony as one workbook of texts.
func (c *colonyToAsk) workbook(t *testing.T) map[string][]byte {
	f := excelize.NewFile()
	defer f.Close()
	for _, name := range slices.Sorted(maps.Keys(c.tables)) {
		sheet := strings.TrimSuffix(name, ".csv")
		_, err := f.NewSheet(sheet)
		require.NoError(t, err)
		for i, row := range c.tables[name] {
			require.NoError(t, f.SetSheetRow(sheet, fmt.Sprintf("A%d", i+1), &row))
		}
	}
	require.NoError(t, f.DeleteSheet("Sheet1"))
	var b bytes.Buffer
	require.NoError(t, f.Write(&b))
	return map[string][]byte{"colony.xlsx": b.Bytes(), "programme.toml": []byte(c.programme)}
}

// answers writes files to a folder and asks everything of it, in JSON.
func (c *colonyToAsk) answers(t *testing.T, files map[string][]byte) map[string]string {
	t.Helper()
	dir := t.TempDir()
	book := filepath.Join(dir, "studbook.csv")
	for name, content := range files {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), content, 0o644))
		if strings.HasSuffix(name, ".xlsx") {
			book = filepath.Join(dir, name)
		}
	}
	all := make(map[string]string)
	for _, args := range c.asked {
		var stdout, stderr bytes.Buffer
		code := run(context.Background(), slices.Concat(args, []string{"--studbook", book, "--as-of", c.asOf, "--format", "json", "--quiet"}), &stdout, &stderr)
		require.Zero(t, code, "%v: %s", args, stderr.String())
		all[strings.Join(args, " ")] = warnings.ReplaceAllString(stdout.String(), "")
	}
	return all
}

// warnings of an answer name lines and files.
var warnings = regexp.MustCompile(`(?s)\n  "warnings": \[.*?\n  \],?`)

// changed is a copy of the colony with tables that are changed.
func (c *colonyToAsk) changed(change func(name string, rows [][]string) [][]string) *colonyToAsk {
	d := *c
	d.tables = tables{}
	for _, name := range slices.Sorted(maps.Keys(c.tables)) {
		var rows [][]string
		for _, row := range c.tables[name] {
			rows = append(rows, slices.Clone(row))
		}
		d.tables[name] = change(name, rows)
	}
	return &d
}

// colonies calls a test with the example and colonies bred by chance.
func colonies(t *testing.T, test func(t *testing.T, c *colonyToAsk)) {
	t.Run("example", func(t *testing.T) { test(t, exampleToAsk(t)) })
	for seed := range uint64(2) {
		t.Run(fmt.Sprint("made up ", seed), func(t *testing.T) { test(t, madeUp(seed)) })
	}
}

// TestSameFactsSameAnswers writes the same facts in other ways: every answer is
// the same to the last byte.
func TestSameFactsSameAnswers(t *testing.T) {
	studbooktest.WithoutRace(t)
	colonies(t, func(t *testing.T, c *colonyToAsk) {
		want := c.answers(t, c.files())
		same := func(how string, files map[string][]byte) {
			got := c.answers(t, files)
			for asked := range want {
				assert.True(t, want[asked] == got[asked], "%s: %s: %s", how, asked, difference(want[asked], got[asked]))
			}
		}
		rnd := rand.New(rand.NewPCG(3, 9))
		same("rows in another order", c.changed(func(name string, rows [][]string) [][]string {
			if name == "holds.csv" { // which are listed as the keeper wrote them
				return rows
			}
			rnd.Shuffle(len(rows)-1, func(i, j int) { rows[i+1], rows[j+1] = rows[j+1], rows[i+1] })
			return rows
		}).files())
		same("columns in another order, with others between", c.changed(func(name string, rows [][]string) [][]string {
			order := rnd.Perm(len(rows[0]))
			for i, row := range rows {
				mixed := []string{[]string{"keeper", "x"}[min(i, 1)]}
				for _, j := range order {
					mixed = append(mixed, row[j])
				}
				rows[i] = append(mixed, []string{"weight of it", "1.5"}[min(i, 1)])
			}
			return rows
		}).files())
		same("Windows-1252", c.written(';', "\r\n", charmap.Windows1252))
		same("a workbook", c.workbook(t))
		if len(c.tables["studbook.csv"]) > 1000 { // all else is said by small colonies
			return
		}
		same("with a mark of its bytes", c.written(',', "\n", unicode.UTF8BOM))
		same("UTF-16", c.written(';', "\r\n", unicode.UTF16(unicode.LittleEndian, unicode.UseBOM)))
		same("UTF-16, the other way round", c.written(',', "\n", unicode.UTF16(unicode.BigEndian, unicode.UseBOM)))
		same("tabs", c.written('\t', "\r", nil))
	})
}

// difference shows where two texts part.
func difference(a, b string) string {
	n := 0
	for n < min(len(a), len(b)) && a[n] == b[n] {
		n++
	}
	part := func(s string) string { return s[max(0, n-200):min(len(s), n+100)] }
	return fmt.Sprintf("…%s… is …%s…", part(a), part(b))
}

// TestSameAnswersOnAnyMachine: however many cores there are.
func TestSameAnswersOnAnyMachine(t *testing.T) {
	studbooktest.WithoutRace(t)
	c := exampleToAsk(t)
	c.asked = append(c.asked, []string{"review", "--runs", "2"}, []string{"forecast", "--runs", "3", "--years", "5"})
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	var want map[string]string
	for _, cores := range []int{1, 7} {
		runtime.GOMAXPROCS(cores)
		got := c.answers(t, c.files())
		if want == nil {
			want = got
		}
		for asked := range want {
			assert.True(t, want[asked] == got[asked], "%d cores: %s: %s", cores, asked, difference(want[asked], got[asked]))
		}
	}
}

// TestOtherNamesSameNumbers: birds of other ids in the same order have the same
// answers, with these ids in them. Only the gene drop draws by the id of a bird.
func TestOtherNamesSameNumbers(t *testing.T) {
	studbooktest.WithoutRace(t)
	colonies(t, func(t *testing.T, c *colonyToAsk) {
		c.asked = slices.DeleteFunc(c.asked, func(args []string) bool { return args[0] == "review" })
		drawn := regexp.MustCompile(`"genome_uniqueness": [0-9.]+`)
		id := regexp.MustCompile(`\b[BC](\d{4})\b`)
		renamed := func(s string) string { return id.ReplaceAllString(s, "Dove $1") }
		want := c.answers(t, c.files())
		d := c.changed(func(_ string, rows [][]string) [][]string {
			for _, row := range rows[1:] {
				for j := range row {
					row[j] = renamed(row[j])
				}
			}
			return rows
		})
		d.asked = nil
		for _, args := range c.asked {
			args = slices.Clone(args)
			for k := range args {
				args[k] = renamed(args[k])
			}
			d.asked = append(d.asked, args)
		}
		got := d.answers(t, d.files())
		for asked := range want {
			a, b := drawn.ReplaceAllString(renamed(want[asked]), ""), drawn.ReplaceAllString(got[renamed(asked)], "")
			assert.NoError(t, golden.Nearly(a, b), asked)
		}
	})
}

// TestADeadBirdOfNobody: a bird without kin that died long ago is another row of
// all birds and changes nothing of the others that follows from kinship.
func TestADeadBirdOfNobody(t *testing.T) {
	studbooktest.WithoutRace(t)
	colonies(t, func(t *testing.T, c *colonyToAsk) {
		c.asked = c.asked[:2]
		want := c.answers(t, c.files())
		more := c.changed(func(name string, rows [][]string) [][]string {
			if name == "studbook.csv" {
				row := make([]string, len(rows[0]))
				for j, h := range rows[0] {
					row[j] = map[string]string{"id": "Z9999", "sex": "F", "sire": "wild", "dam": "wild", "hatch_date": "2003-05-05", "death_date": "2003-08-01", "location": rows[1][7], "origin": "wild"}[h]
				}
				rows = append(rows, row)
			}
			return rows
		})
		got := more.answers(t, more.files())
		assert.Equal(t, want[strings.Join(c.asked[1], " ")], got[strings.Join(c.asked[1], " ")])
		var before, after []map[string]any
		require.NoError(t, json.Unmarshal([]byte(want["birds --all"]), &before))
		require.NoError(t, json.Unmarshal([]byte(got["birds --all"]), &after))
		require.Len(t, after, len(before)+1)
		after = slices.DeleteFunc(after, func(b map[string]any) bool { return b["id"] == "Z9999" })
		require.Len(t, after, len(before))
		for k := range before {
			delete(before[k], "worth") // which rests on how long birds live
			delete(after[k], "worth")
			assert.Equal(t, before[k], after[k])
		}
	})
}

// TestTimeTravelIsACutFolder: the answer for a day of the past is the one that the
// files gave on that day, which are made here by hand from what they are now.
func TestTimeTravelIsACutFolder(t *testing.T) {
	studbooktest.WithoutRace(t)
	colonies(t, func(t *testing.T, c *colonyToAsk) {
		for _, day := range []string{"2019-12-31", "2023-02-10"} {
			now := *c
			now.asOf = day
			now.asked = slices.DeleteFunc(slices.Clone(c.asked), func(args []string) bool {
				return len(args) > 1 && args[0] != "review" && !strings.HasPrefix(args[1], "--")
			})
			then := now.cut(t, day)
			want, got := then.answers(t, then.files()), now.answers(t, now.files())
			for asked := range want {
				assert.True(t, want[asked] == got[asked], "%s: %s: %s", day, asked, difference(want[asked], got[asked]))
			}
		}
	})
}

// cut is the colony as its files were on a day on which no eggs lay.
func (c *colonyToAsk) cut(t *testing.T, on string) *colonyToAsk {
	limit, err := time.Parse(time.DateOnly, on)
	require.NoError(t, err)
	day := studbook.DayOf(limit.Date())
	by := func(cell string) bool { // has happened, or is not told
		d, err := studbook.ParseDate(cell)
		require.NoError(t, err)
		return !d.Known() || d.OnOrBefore(day)
	}
	place := map[string]string{} // where birds were that have moved since
	moves := slices.Clone(c.tables["moves.csv"][1:])
	slices.SortStableFunc(moves, func(a, b []string) int { return strings.Compare(a[1], b[1]) })
	for _, m := range slices.Backward(moves) {
		if !by(m[1]) {
			place[m[0]] = m[2]
		}
	}
	there := map[string]bool{}
	for _, row := range c.tables["studbook.csv"][1:] {
		there[row[slices.Index(c.tables["studbook.csv"][0], "id")]] = by(row[slices.Index(c.tables["studbook.csv"][0], "hatch_date")])
	}
	began := map[string]string{"studbook.csv": "hatch_date", "moves.csv": "date", "bonds.csv": "since", "clutches.csv": "laid", "holds.csv": "since", "requests.csv": "date", "decisions.csv": "date"}
	d := c.changed(func(name string, rows [][]string) [][]string {
		at := func(column string) int { return slices.Index(rows[0], column) }
		kept := rows[:1]
		for _, row := range rows[1:] {
			if begin, ok := began[name]; ok && !by(row[at(begin)]) {
				continue
			}
			switch name {
			case "studbook.csv":
				if was, moved := place[row[at("id")]]; moved && was == "" { // it came later
					continue
				}
				if !by(row[at("death_date")]) {
					row[at("death_date")] = ""
				}
				if was, moved := place[row[at("id")]]; moved {
					row[at("location")] = was
				}
			case "bonds.csv":
				if !by(row[at("until")]) {
					row[at("until")], row[at("ended_by")] = "", ""
				}
			case "holds.csv":
				if !by(row[at("until")]) && !there[row[at("id")]] {
					continue
				}
			}
			kept = append(kept, row)
		}
		return kept
	})
	d.programme = regexp.MustCompile(`current_to = \S+`).ReplaceAllString(c.programme, `current_to = "`+on+`"`)
	require.NotEqual(t, c.programme, d.programme)
	return d
}
