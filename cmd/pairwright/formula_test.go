//go:build !race

package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/cmd/pairwright/internal/question"
	"pairwright/pedigree/studbook"
)

// formulas makes every id of the example, its names, places, nests, reasons and
// notes something that a spreadsheet would run.
func formulas(t *testing.T) {
	t.Helper()
	copied(t)
	names, err := filepath.Glob("*")
	require.NoError(t, err)
	for _, name := range names {
		raw, err := os.ReadFile(name)
		require.NoError(t, err)
		text := strings.NewReplacer("HAF", "=HAF", "C0", "@C0").Replace(string(raw))
		if filepath.Ext(name) != ".csv" {
			require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
			continue
		}
		r := csv.NewReader(strings.NewReader(text))
		r.Comment = '#'
		rows, err := r.ReadAll()
		require.NoError(t, err)
		for _, row := range rows[1:] {
			for j, column := range rows[0] {
				switch column {
				case "name", "nest", "reason", "notes", "note", "by", "asked_by", "contact":
					if row[j] != "" {
						row[j] = "+cmd|' /C calc'!A0" + row[j]
					}
				}
			}
		}
		var b bytes.Buffer
		require.NoError(t, csv.NewWriter(&b).WriteAll(rows))
		require.NoError(t, os.WriteFile(name, b.Bytes(), 0o600))
	}
}

// TestNothingThatLeavesIsRun: no cell of any table that the program writes begins as
// a formula does (OWASP, CSV injection), and what was guarded reads back the same.
func TestNothingThatLeavesIsRun(t *testing.T) {
	formulas(t)
	guarded := func(name string, raw []byte) {
		rows, err := csv.NewReader(bytes.NewReader(raw)).ReadAll()
		require.NoError(t, err, name)
		n := 0
		for _, row := range rows {
			for _, cell := range row {
				if cell != "" && strings.ContainsRune("=+-@\t\r\n＝＋－＠", []rune(cell)[0]) {
					_, err := strconv.ParseFloat(cell, 64)
					assert.NoError(t, err, "%s: %q would be run", name, cell)
				}
				if studbook.Unguarded(cell) != cell {
					n++
				}
			}
		}
		assert.Equal(t, name != "forecast", n > 0, "%s has nothing that would be run", name) // a forecast has figures alone
	}
	said := func(args ...string) []byte {
		var stdout, stderr bytes.Buffer
		require.Zero(t, run(context.Background(), args, &stdout, &stderr), "%v: %s", args, last(stderr.String()))
		return stdout.Bytes()
	}
	asked := map[string][]string{
		"bird": {"@C0734"}, "kin": {"@C0419", "@C0841"}, "mates": {"@C0734"}, "transfer": {"--list"}, "review": {"--runs", "0"},
		"forecast": {"--years", "2", "--runs", "2", "--policy", "decision"},
	}
	for _, q := range question.All {
		if q.Rows == "" {
			continue
		}
		guarded(q.Name, said(append(append([]string{q.Name}, asked[q.Name]...), "--format", "csv", "--quiet")...))
	}
	said("plan", "--keep", "own.csv", "--quiet")
	said("transfer", "@C0522", "--to", "VAL", "--quiet", "--out", "request.txt", "--attach", "sent.csv")
	said("export", "all", "--into", "out", "--quiet")
	said("import", filepath.Join("out", "studbook.csv"), "--into", "back")
	for _, name := range []string{"own.csv", "sent.csv", "out/studbook.csv", "out/moves.csv", "out/bonds.csv", "out/holds.csv", "out/kinship.csv", "out/institutions.csv", "out/requests.csv", "out/decisions.csv", "back/studbook.csv", "back/holds.csv"} {
		raw, err := os.ReadFile(name)
		require.NoError(t, err)
		guarded(name, raw)
	}
	// What leaves comes back as it was.
	for _, dir := range []string{"out", "back"} {
		first, err := studbook.Read(t.Context(), os.DirFS("."), "studbook.csv", studbook.Options{})
		require.NoError(t, err)
		again, err := studbook.Read(t.Context(), os.DirFS("."), dir+"/studbook.csv", studbook.Options{})
		require.NoError(t, err)
		require.Len(t, again.Birds, len(first.Birds))
		for k := range first.Birds {
			a, b := first.Birds[k], again.Birds[k]
			assert.Equal(t, []string{a.ID, a.Name, a.Notes, a.Location, a.Sire.String(), a.Dam.String()}, []string{b.ID, b.Name, b.Notes, b.Location, b.Sire.String(), b.Dam.String()})
		}
		require.Equal(t, len(first.Holds), len(again.Holds))
		for k := range first.Holds {
			assert.Equal(t, first.Holds[k].Reason, again.Holds[k].Reason)
		}
	}
}

// last returns the end of a long message, where errors stand.
func last(s string) string { return s[max(0, len(s)-2000):] }
