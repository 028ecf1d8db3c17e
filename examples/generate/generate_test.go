package main

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
)

// The checks below read the files as a keeper would send them, with nothing of
// the generator but its names. The numbers are those of the scenario in
// README.md; there is no outside source, the colony is invented.

type row map[string]string

func read(t *testing.T, content []byte) []row {
	t.Helper()
	r := csv.NewReader(bytes.NewReader(content))
	r.Comment = '#'
	records, err := r.ReadAll()
	require.NoError(t, err)
	var rows []row
	for _, rec := range records[1:] {
		x := row{}
		for i, name := range records[0] {
			x[name] = rec[i]
		}
		rows = append(rows, x)
	}
	return rows
}

// folder is the parsed example with what the checks look up again and again.
type folder struct {
	birds, moves, bonds, clutches, holds, institutions []row
	bird                                               map[string]row
	movesOf                                            map[string][]row
}

func open(t *testing.T, files map[string][]byte) folder {
	t.Helper()
	f := folder{
		birds: read(t, files["studbook.csv"]), moves: read(t, files["moves.csv"]),
		bonds: read(t, files["bonds.csv"]), clutches: read(t, files["clutches.csv"]),
		holds: read(t, files["holds.csv"]), institutions: read(t, files["institutions.csv"]),
		bird: map[string]row{}, movesOf: map[string][]row{},
	}
	for _, b := range f.birds {
		require.Nil(t, f.bird[b["id"]], "id used twice")
		f.bird[b["id"]] = b
	}
	for _, m := range f.moves {
		f.movesOf[m["id"]] = append(f.movesOf[m["id"]], m)
	}
	return f
}

// span returns the first and last day a date of the example may mean.
func span(t *testing.T, text string) (first, last time.Time) {
	t.Helper()
	text = strings.TrimSuffix(text, "~")
	if from, to, ok := strings.Cut(strings.Trim(text, "[]"), ".."); ok {
		first, _ = span(t, from)
		_, last = span(t, to)
		return first, last
	}
	if decade, ok := strings.CutSuffix(text, "X"); ok {
		first, _ = span(t, decade+"0")
		_, last = span(t, decade+"9")
		return first, last
	}
	for _, l := range []struct {
		layout       string
		years, month int
	}{{"2006-01-02", 0, 0}, {"2006-01", 0, 1}, {"2006", 1, 0}} {
		if d, err := time.Parse(l.layout, text); err == nil {
			first, last = d, d
			if l.years+l.month > 0 {
				last = d.AddDate(l.years, l.month, -1)
			}
			return first, last
		}
	}
	t.Fatalf("date %q cannot be read", text)
	return
}

// middle returns the middle of a date.
func middle(t *testing.T, text string) time.Time {
	first, last := span(t, text)
	return first.Add(last.Sub(first) / 2).Truncate(24 * time.Hour)
}

func yearsBetween(from, to time.Time) float64 { return to.Sub(from).Hours() / 24 / 365.2425 }

func (b row) living() bool { return b["death_date"] == "" }

func (f folder) living() []row {
	var living []row
	for _, b := range f.birds {
		if b.living() {
			living = append(living, b)
		}
	}
	return living
}

// parents returns the possible parents in a sire or dam cell.
func parents(cell string) []string {
	var ids []string
	for p := range strings.SplitSeq(cell, ";") {
		id, _, _ := strings.Cut(strings.TrimSpace(p), "=")
		if id != "" && id != "wild" && id != "unknown" {
			ids = append(ids, id)
		}
	}
	return ids
}

// placeOn returns where a bird was on a day.
func (f folder) placeOn(id string, day string) string {
	moves := f.movesOf[id]
	if len(moves) == 0 {
		return f.bird[id]["location"]
	}
	at := moves[0]["from"]
	for _, m := range moves {
		if m["date"] <= day {
			at = m["to"]
		}
	}
	return at
}

// seeds are the committed colony and a few others, which must hold together too.
var seeds = []uint64{committed, 1, 2, 3}

func eachSeed(t *testing.T, check func(t *testing.T, f folder)) {
	for _, seed := range seeds {
		t.Run(fmt.Sprint("seed ", seed), func(t *testing.T) { check(t, open(t, made(seed).files)) })
	}
}

// example is what a seed gives, made once for all tests.
type example struct {
	*programme
	files map[string][]byte
}

var examples = map[uint64]example{}

func made(seed uint64) example {
	x, ok := examples[seed]
	if !ok {
		p := simulate(seed)
		x = example{p, render(p)}
		examples[seed] = x
	}
	return x
}

func TestCommittedFolderIsWhatTheGeneratorWrites(t *testing.T) {
	files := made(committed).files
	entries, err := os.ReadDir(filepath.Join("..", "harrow-fell"))
	require.NoError(t, err)
	assert.Len(t, entries, len(files))
	for _, e := range entries {
		got, err := os.ReadFile(filepath.Join("..", "harrow-fell", e.Name()))
		require.NoError(t, err)
		assert.True(t, bytes.Equal(files[e.Name()], got), "%s differs: run go generate in examples", e.Name())
	}
}

func TestReadFindsOneDeliberateWarning(t *testing.T) {
	for _, seed := range seeds {
		fsys := fstest.MapFS{}
		for name, content := range made(seed).files {
			fsys[name] = &fstest.MapFile{Data: content}
		}
		asOf := studbook.DayOf(2026, time.September, 30)
		colony, err := studbook.Read(t.Context(), fsys, "studbook.csv", studbook.Options{Today: asOf})
		require.NoError(t, err, "seed %d", seed)
		require.Len(t, colony.Warnings, 1, "seed %d", seed)
		assert.Contains(t, colony.Warnings[0].String(), "PA07")
		assert.Equal(t, asOf, colony.Settings.CurrentTo)
		assert.Equal(t, "HAF", colony.Settings.Home)
		for _, d := range colony.Settings.Defaulted {
			assert.Equal(t, "moves.least_gain", d.Key, "the example sets every key but the one whose default is told from the birds")
		}
		assert.Len(t, colony.At(asOf).Living, len(open(t, made(seed).files).living()))
	}
}

func TestAnotherSeedIsAnotherProgramme(t *testing.T) {
	assert.False(t, bytes.Equal(made(1).files["studbook.csv"], made(2).files["studbook.csv"]))
}

func TestNumbersAreThoseOfTheScenario(t *testing.T) {
	f := open(t, made(committed).files)
	living := f.living()
	assert.InDelta(t, 1100, len(f.birds), 60, "birds ever")
	assert.InDelta(t, 400, len(living), 25, "living birds")
	assert.Len(t, f.institutions, 9)
	wild, unknown, oldFounders, home, young := 0, 0, 0, 0, 0
	for _, b := range f.birds {
		switch {
		case b["origin"] == "wild":
			wild++
			if b.living() {
				oldFounders++
			}
		case b["sire"] == "unknown" && b["dam"] == "unknown":
			unknown++
		}
		if b.living() && b["location"] == "HAF" {
			home++
			assert.NotEmpty(t, b["name"], "home bird %s", b["id"])
			if middle(t, b["hatch_date"]).Year() > lastYear-3 {
				young++
			}
		}
	}
	assert.InDelta(t, 45, wild, 4, "founders")
	assert.Equal(t, 2, unknown, "captive birds of unknown parents")
	assert.InDelta(t, 2, oldFounders, 1, "founders alive")
	assert.InDelta(t, 36, home, 4, "home birds")
	assert.InDelta(t, 6, young, 4, "home birds below breeding age")

	held := map[string]bool{}
	for _, h := range f.holds {
		held[h["id"]] = h["until"] == "" && h["blocks"] != "moving"
	}
	bonded, bonds, nests := map[string]bool{}, 0, map[string]bool{}
	for _, b := range f.bonds {
		if b["until"] != "" {
			continue
		}
		bonded[b["female"]], bonded[b["male"]] = true, true
		if f.bird[b["female"]]["location"] == "HAF" {
			bonds++
			assert.NotEmpty(t, b["nest"])
			nests[b["nest"]] = true
		}
	}
	assert.InDelta(t, 14, bonds, 1, "bonds at home")
	assert.Len(t, nests, bonds, "nests")
	alone := 0
	asOf := middle(t, "2026-09-30")
	for _, b := range living {
		if b["location"] == "HAF" && !bonded[b["id"]] && !held[b["id"]] && yearsBetween(middle(t, b["hatch_date"]), asOf) >= 3 {
			alone++
		}
	}
	assert.InDelta(t, 3.5, alone, 0.6, "unpaired adults at home")
}

func TestFounderLinesAreUnequal(t *testing.T) {
	f := open(t, made(committed).files)
	descendants := map[string]int{}
	for _, b := range f.living() {
		seen := map[string]bool{}
		var up func(id string)
		up = func(id string) {
			if seen[id] {
				return
			}
			seen[id] = true
			for _, p := range append(parents(f.bird[id]["sire"]), parents(f.bird[id]["dam"])...) {
				up(p)
			}
		}
		up(b["id"])
		for id := range seen {
			if id != b["id"] && f.bird[id]["origin"] == "wild" {
				descendants[id]++
			}
		}
	}
	few, many, none := 0, 0, 0
	for _, b := range f.birds {
		if b["origin"] != "wild" {
			continue
		}
		switch n := descendants[b["id"]]; {
		case n == 0 && !b.living():
			none++
		case n > 0 && n <= 3:
			few++
		case n > 100:
			many++
		}
	}
	assert.GreaterOrEqual(t, few, 2, "lines held by one to three birds")
	assert.GreaterOrEqual(t, many, 5, "lines in a quarter of the birds")
	assert.GreaterOrEqual(t, none, 4, "lines that died out")
}

func TestParentsAreOfAgeAliveAndTogether(t *testing.T) {
	eachSeed(t, func(t *testing.T, f folder) {
		unrecorded := map[string]bool{}
		for _, b := range f.birds {
			hatched := middle(t, b["hatch_date"])
			for column, sex := range map[string]string{"sire": "M", "dam": "F"} {
				for _, id := range parents(b[column]) {
					p, ok := f.bird[id]
					if !ok {
						unrecorded[id] = true
						continue
					}
					assert.Equal(t, sex, p["sex"], "%s of %s", column, b["id"])
					assert.GreaterOrEqual(t, yearsBetween(middle(t, p["hatch_date"]), hatched), 3.0, "age of %s at the hatch of %s", id, b["id"])
					if !p.living() {
						assert.False(t, middle(t, p["death_date"]).Before(hatched), "%s died before %s hatched", id, b["id"])
					}
					day := hatched.AddDate(0, 0, -incubation).Format("2006-01-02")
					assert.Equal(t, f.placeOn(b["id"], b["hatch_date"]), f.placeOn(id, day), "place of %s when %s hatched", id, b["id"])
				}
			}
			if !b.living() {
				died := middle(t, b["death_date"])
				assert.False(t, died.Before(hatched), "%s died before it hatched", b["id"])
				assert.LessOrEqual(t, yearsBetween(hatched, died), float64(oldest))
				assert.LessOrEqual(t, b["death_date"], "2026-09-30")
			} else {
				assert.LessOrEqual(t, yearsBetween(hatched, middle(t, "2026-09-30")), float64(oldest), "age of %s", b["id"])
			}
		}
		assert.LessOrEqual(t, len(unrecorded), 1, "parents without a row: the deliberate warning")
	})
}

func TestMovesLeadToTheLocation(t *testing.T) {
	eachSeed(t, func(t *testing.T, f folder) {
		codes := map[string]bool{}
		for _, x := range f.institutions {
			codes[x["code"]] = true
		}
		for id, moves := range f.movesOf {
			b := f.bird[id]
			require.NotNil(t, b, "move of unknown bird %s", id)
			at := ""
			for i, m := range moves {
				if i == 0 {
					at = m["from"]
					assert.Equal(t, at == "", len(parents(b["dam"])) == 0, "only an arrival has no place of origin: %s", id)
				} else {
					assert.Greater(t, m["date"], moves[i-1]["date"])
				}
				assert.Equal(t, at, m["from"], "move of %s on %s", id, m["date"])
				assert.NotEqual(t, m["from"], m["to"])
				assert.True(t, codes[m["to"]])
				at = m["to"]
				assert.False(t, middle(t, b["hatch_date"]).After(middle(t, m["date"])))
				if !b.living() {
					assert.False(t, middle(t, b["death_date"]).Before(middle(t, m["date"])), "move of %s after its death", id)
				}
			}
			assert.Equal(t, b["location"], at, "location of %s", id)
		}
		for _, b := range f.birds {
			assert.True(t, codes[b["location"]], "location of %s", b["id"])
			assert.False(t, len(f.movesOf[b["id"]]) == 0 && b["origin"] == "wild", "%s never arrived", b["id"])
		}
	})
}

func TestBirdsHaveOneBondAtATimeAndLiveTogether(t *testing.T) {
	eachSeed(t, func(t *testing.T, f folder) {
		freeFrom := map[string]string{}
		for _, b := range f.bonds { // in order of since
			until := b["until"]
			if until == "" {
				until = "9999"
			} else {
				assert.Contains(t, []string{"death", "moved", "parted"}, b["ended_by"])
			}
			assert.Greater(t, until, b["since"])
			died := ""
			for column, sex := range map[string]string{"female": "F", "male": "M"} {
				id := b[column]
				x := f.bird[id]
				require.NotNil(t, x, "bond of unknown bird %s", id)
				assert.Equal(t, sex, x["sex"])
				assert.GreaterOrEqual(t, b["since"], freeFrom[id], "bonds of %s overlap", id)
				freeFrom[id] = until
				if !x.living() && (died == "" || x["death_date"] < died) {
					died = x["death_date"]
				}
			}
			if died != "" {
				assert.LessOrEqual(t, until, died, "bond of %s and %s outlives a bird", b["female"], b["male"])
			}
			if b["ended_by"] == "death" {
				assert.Equal(t, died, until)
			}
			last := until
			if b["ended_by"] == "moved" { // together until the day of the move
				last = middle(t, until).AddDate(0, 0, -1).Format("2006-01-02")
			}
			for _, day := range []string{b["since"], last} {
				assert.Equal(t, f.placeOn(b["female"], day), f.placeOn(b["male"], day), "%s and %s on %s", b["female"], b["male"], day)
			}
		}
	})
}

func TestClutchesAgreeWithTheChicks(t *testing.T) {
	eachSeed(t, func(t *testing.T, f folder) {
		chicks := map[string][]row{} // by dam
		left := 0
		for _, b := range f.birds {
			if dam := parents(b["dam"]); len(dam) == 1 && b["hatch_date"] >= strconv.Itoa(clutchesOf) {
				chicks[dam[0]] = append(chicks[dam[0]], b)
				left++
			}
		}
		for _, c := range f.clutches {
			laid := middle(t, c["laid"])
			assert.Contains(t, []string{"04", "05", "06"}, c["laid"][5:7])
			together := false
			for _, b := range f.bonds {
				together = together || b["female"] == c["female"] && b["male"] == c["male"] && b["since"] <= c["laid"] && (b["until"] == "" || c["laid"] <= b["until"])
			}
			assert.True(t, together, "%s and %s laid outside a bond", c["female"], c["male"])
			hatched, fledged := 0, 0
			for _, b := range chicks[c["female"]] {
				days := int(middle(t, b["hatch_date"]).Sub(laid).Hours() / 24)
				if days < 24 || days > 28 {
					continue
				}
				hatched++
				left--
				assert.Contains(t, parents(b["sire"]), c["male"])
				if b.living() || middle(t, b["death_date"]).Sub(middle(t, b["hatch_date"])).Hours()/24 > fledgingAge {
					fledged++
				}
			}
			if c["fertile"] == "" {
				assert.Equal(t, []string{studbook.EggsReplaced, ""}, []string{c["hatched"], c["fledged"]})
				assert.Zero(t, hatched, "a dummy hatched")
				continue
			}
			counts := make([]int, 4)
			for i, column := range []string{"eggs", "fertile", "hatched", "fledged"} {
				n, err := strconv.Atoi(c[column])
				require.NoError(t, err)
				counts[i] = n
				if i > 0 {
					assert.LessOrEqual(t, n, counts[i-1], "%s of %v", column, c)
				}
			}
			assert.InDelta(t, 2, counts[0], 1)
			assert.Equal(t, []int{hatched, fledged}, counts[2:], "clutch of %s laid %s", c["female"], c["laid"])
		}
		assert.Zero(t, left, "chicks without a clutch")
	})
}

func TestUncertainSires(t *testing.T) {
	f := open(t, made(committed).files)
	sameClutch, atHome, n := map[string]int{}, 0, 0
	for _, b := range f.birds {
		if !strings.ContainsAny(b["sire"], "=;") {
			continue
		}
		n++
		sameClutch[b["dam"]+b["sire"]]++
		if b.living() && b["location"] == "HAF" {
			atHome++
		}
	}
	assert.Equal(t, 5, n)
	assert.Equal(t, 1, atHome)
	var broods []int
	for _, k := range slices.Sorted(maps.Keys(sameClutch)) {
		broods = append(broods, sameClutch[k])
	}
	slices.Sort(broods)
	assert.Equal(t, []int{1, 1, 1, 2}, broods, "one clutch of two shares its candidates")
}

func TestOnePairSitsInVain(t *testing.T) {
	f := open(t, made(committed).files)
	var vain []string
	for _, b := range f.bonds {
		if b["until"] != "" || f.bird[b["female"]]["location"] != "HAF" {
			continue
		}
		n, fertile := 0, 0
		for _, c := range f.clutches {
			if c["female"] == b["female"] && c["male"] == b["male"] {
				k, err := strconv.Atoi(c["fertile"])
				n++
				if err != nil || k > 0 {
					fertile++
				}
			}
		}
		if n >= 4 && fertile == 0 {
			vain = append(vain, b["female"])
		}
	}
	assert.Len(t, vain, 1)
}

func TestReadmeNamesTheUnpairedBirds(t *testing.T) {
	guide, err := os.ReadFile(filepath.Join("..", "README.md"))
	require.NoError(t, err)
	f := open(t, made(committed).files)
	c := made(committed).cast
	for _, b := range []*bird{c.widow, c.brother, c.sister, c.common, c.resting, c.barren.female, c.barren.male} {
		assert.True(t, strings.Contains(string(guide), "**"+b.id+" "+b.name+"**"), "README.md lacks %s %s", b.id, b.name)
		assert.Equal(t, "HAF", f.bird[b.id]["location"])
	}
	for id := range strings.FieldsFuncSeq(string(guide), func(r rune) bool { return !strings.ContainsRune("C0123456789", r) }) {
		if len(id) == 5 && id[0] == 'C' {
			assert.NotNil(t, f.bird[id], "README.md names %s", id)
		}
	}
}
