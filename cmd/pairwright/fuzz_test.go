package main

import (
	"bytes"
	"encoding/json"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// seeds are command lines, an argument a line, each for the small folder.
var seeds = []string{
	"check", "check\n--format\njson", "birds\n--all\n--format\njson", "bird\nA01\n--format\nhtml", "kin\nA01\nA02\n--format\njson", "mates\nC\n--format\njson",
	"mates\n--top\n3\n--format\nmd", "plan\n--scope\nprogramme\n--chicks\n4", "colony\n--format\njson", "transfer\nA04\n--to\nAWAY", "transfer\n--list\n--format\ncsv",
	"review\n--format\njson", "forecast\n--policy\nbonds\n--format\njson", "export\nfam", "export\nkinship\n--format\ncsv",
	"record\nhatch\nA02\n--date\n2026-11-20\n--yes", "record\nmove\nDove\nAWAY\n--format\njson", "undo\n--list", "import\nstudbook.csv\n--preview", "help\nfiles",
	"plan\n--own\nmine.csv", "plan\n--own\nmine.csv\n--best\n--format\njson", "plan\n--scope\nprogramme\n--keep\nkept.csv", "forecast\n--with\nmine.csv", "transfer\n--requests", "transfer\nA04\n--away", "kin\nA01\nDove", "parents", "parents\nA04\n--format\njson",
	"birds\n--as-of\n2020-06\n--column\nsire=dam", "--version", "birds\n--top\n-1", "mates\nnobody\n--within\nhome\n--moves\nx", "completion\nbash",
}

// FuzzCommand runs whole commands on small folders.
func FuzzCommand(f *testing.F) {
	for _, line := range seeds {
		f.Add(line, small["studbook.csv"], small["bonds.csv"], small["programme.toml"])
	}
	f.Fuzz(commanded)
}

// TestCommandsOnAnything changes command lines and files by chance: what
// FuzzCommand seeks for as long as it is let is sought here for a moment.
func TestCommandsOnAnything(t *testing.T) {
	rnd := rand.New(rand.NewPCG(8, 2))
	pieces := []string{"", "A01", "A02", "Dove", "-", "--", "wild", "unknown", "NaN", "1e999", "-1", "0", "99999999999999999999", "2026-13-01", "201X", "[2018..2019]", "A01=0.5; C=0.6", "=1+1", "\x00", "\xff\xfe", "é", "\u202e", ",", ";", "\"", "\n", "#", "json", "M", "F", "U"}
	changed := func(s, between string) string {
		parts := strings.Split(s, between)
		at := rnd.IntN(len(parts))
		switch rnd.IntN(4) {
		case 0:
			parts[at] = pieces[rnd.IntN(len(pieces))]
		case 1:
			parts = slices.Insert(parts, at, pieces[rnd.IntN(len(pieces))])
		case 2:
			parts = slices.Delete(parts, at, at+1)
		default:
			if n := len(parts[at]); n > 0 {
				k := rnd.IntN(n)
				parts[at] = parts[at][:k] + pieces[rnd.IntN(len(pieces))] + parts[at][k+1:]
			}
		}
		return strings.Join(parts, between)
	}
	for range 150 {
		line, files := seeds[rnd.IntN(len(seeds))], [3]string{small["studbook.csv"], small["bonds.csv"], small["programme.toml"]}
		for range 1 + rnd.IntN(3) {
			if k := rnd.IntN(5); k < 3 {
				files[k] = changed(files[k], []string{",", "\n"}[rnd.IntN(2)])
			} else {
				line = changed(line, "\n")
			}
		}
		commanded(t, line, files[0], files[1], files[2])
		if t.Failed() {
			t.Fatalf("%q on %q", line, files)
		}
	}
}

// asked are the commands that end by themselves and write nowhere but to the
// folder that they are in.
var asked = []string{"check", "birds", "bird", "kin", "parents", "mates", "plan", "colony", "transfer", "review", "forecast", "export", "record", "undo", "import", "help", "completion", "--version", "--help"}

var (
	// goSpeech is what a keeper should never read.
	goSpeech = regexp.MustCompile(`strconv|runtime error|goroutine |panic|%!|<nil>|nil pointer|invalid syntax|unmarshal|reflect\.|0xc0|\bEOF\b|[^.]csv: |[^.]toml: |json: |no such file or|accepts \d|unknown (command|flag|shorthand)|index out of|interface \{`)
	noNumber = regexp.MustCompile(`\b(NaN|Inf)\b`)
)

// commanded runs a command line twice, each time on new files: it ends with one of
// three codes, in a keeper's words, with numbers or findings and never both, and
// the second time says the same.
func commanded(t *testing.T, line, studbook, bonds, settings string) {
	args := strings.Split(line, "\n")
	if !slices.Contains(asked, args[0]) || strings.ContainsAny(line, `/\`) || strings.Contains(line, "..") || len(line) > 300 {
		t.Skip()
	}
	switch args[0] {
	case "forecast":
		args = append(args, "--runs", "2", "--years", "3")
	case "review":
		args = append(args, "--runs", "1")
	}
	type answer struct {
		code      int
		out, said string
	}
	var answers [2]answer
	for k := range answers {
		dir := t.TempDir()
		for name, text := range map[string]string{
			"studbook.csv": studbook, "bonds.csv": bonds, "programme.toml": settings, "clutches.csv": small["clutches.csv"],
			"mine.csv": "what,birds,to,chicks\nbond,A02; C,,\nmove,Dove,AWAY,\nhatch,A02; C,,1\n", "requests.csv": "bird,to,partner\nA04,AWAY,C\n",
		} {
			require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
		}
		t.Chdir(dir)
		var stdout, stderr bytes.Buffer
		code := run(t.Context(), args, &stdout, &stderr)
		answers[k] = answer{code, stdout.String(), stderr.String()}
	}
	a := answers[0]
	assert.Equal(t, a, answers[1], "the same twice")
	assert.Contains(t, []int{exitDone, exitFault, exitUsage}, a.code)
	input := line + studbook + bonds + settings
	if !goSpeech.MatchString(input) && args[0] != "completion" {
		assert.False(t, goSpeech.MatchString(a.said), a.said)
		assert.False(t, goSpeech.MatchString(a.out), a.out)
	}
	if !strings.Contains(strings.ToLower(input), "nan") && !strings.Contains(strings.ToLower(input), "inf") && args[0] != "completion" && args[0] != "help" {
		assert.False(t, noNumber.MatchString(a.out), a.out)
	}
	switch {
	case a.code == exitDone:
		assert.NotContains(t, a.said, "pairwright: ")
		if slices.Contains(args, "json") && strings.HasPrefix(a.out, "{\"") {
			assert.True(t, json.Valid([]byte(a.out)), a.out)
		}
	case a.code == exitUsage:
		assert.Empty(t, a.out)
		assert.Contains(t, a.said, "pairwright: ")
	case strings.Contains(a.said, "nothing was computed"):
		assert.Empty(t, a.out, "findings or numbers")
	default:
		assert.NotEmpty(t, a.out+a.said)
	}
}
