package main

import (
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// BenchmarkCommands answers questions about the example from reading the files
// to the last byte of text, as the command does once it has started.
func BenchmarkCommands(b *testing.B) {
	studbook := filepath.Join("..", "..", "examples", "harrow-fell", "studbook.csv")
	for _, command := range []string{
		"check", "birds", "bird C0734", "kin C0419 C0841", "mates", "mates C0734", "plan",
		"transfer C0734", "transfer --list", "review", "review --format html",
	} {
		b.Run(strings.ReplaceAll(command, " ", "_"), func(b *testing.B) {
			timeAnswer(b, command, studbook)
		})
	}
}

// BenchmarkProgramme answers questions about invented programmes at ten places in
// which nobody has a mate yet, the most that there can be to decide: sixty yearly
// cohorts of the chicks of pairs, of which so many birds live.
func BenchmarkProgramme(b *testing.B) {
	for _, living := range []int{100, 300, 842, 2000} {
		studbook := pairsOf(b, living, 10, 0)
		for _, command := range []string{"mates", "plan --scope programme", "review", "transfer --list"} {
			b.Run(fmt.Sprintf("%s/%d", strings.ReplaceAll(command, " ", "_"), living), func(b *testing.B) {
				timeAnswer(b, command, studbook)
			})
		}
	}
}

// BenchmarkBonded answers questions about programmes as they mostly are: three of
// four living pairs are bonded, and the birds of the others are free.
func BenchmarkBonded(b *testing.B) {
	for _, size := range []struct{ living, places int }{{842, 10}, {10000, 100}} {
		studbook := pairsOf(b, size.living, size.places, 3)
		for _, command := range []string{"check", "mates", "bird", "colony", "plan --scope programme --chicks 500", "review --runs 0"} {
			b.Run(fmt.Sprintf("%s/%d", strings.ReplaceAll(command, " ", "_"), size.living), func(b *testing.B) {
				if command == "bird" {
					command += fmt.Sprintf(" B%05d", size.living*25/7-1)
				}
				timeAnswer(b, command, studbook)
			})
		}
	}
}

// BenchmarkRows answers questions about studbooks in which most birds are dead: of
// sixty yearly cohorts a few grow up and breed in pairs for life, and 900 birds live.
func BenchmarkRows(b *testing.B) {
	for _, rows := range []int{30_000, 100_000, 300_000, 1_000_000} {
		studbook := mostlyDead(b, rows, 900)
		last := fmt.Sprintf("B%07d", rows-rows/60) // grew up in the last cohort
		for _, command := range []string{"check", "birds", "mates", "bird " + last, "kin " + last + " B0000001"} {
			name, _, _ := strings.Cut(command, " ")
			b.Run(fmt.Sprintf("%s/%d", name, rows), func(b *testing.B) { timeAnswer(b, command, studbook) })
		}
	}
}

// BenchmarkLine answers questions about a line of 10,000 birds, each the chick of the
// one before and with one parent that nobody knows, a year from hatch to death.
func BenchmarkLine(b *testing.B) {
	var rows strings.Builder
	rows.WriteString("id,sex,sire,dam,hatch_date,death_date,location,origin\n")
	day := time.Date(1966, 1, 1, 0, 0, 0, 0, time.UTC)
	for i := range 10_000 {
		var parents [2]string
		if i > 0 {
			parents[(i-1)%2] = fmt.Sprintf("L%05d", i-1)
		}
		hatch, death := day.AddDate(0, 0, 2*i), ""
		if dies := hatch.AddDate(1, 0, 0); dies.Year() < 2020 {
			death = dies.Format(time.DateOnly)
		}
		fmt.Fprintf(&rows, "L%05d,%c,%s,%s,%s,%s,P0,captive\n", i, "MF"[i%2], parents[0], parents[1], hatch.Format(time.DateOnly), death)
	}
	studbook := folderOf(b, rows.String(), "female,male,since,until\n")
	settings := "home = \"P0\"\ncurrent_to = 2020-12-31\n[breeding_age]\nfemale = [0.001, 1]\nmale = [0.001, 1]\n"
	require.NoError(b, os.WriteFile(filepath.Join(filepath.Dir(studbook), "programme.toml"), []byte(settings), 0o600))
	for _, command := range []string{"check", "review --runs 0"} {
		name, _, _ := strings.Cut(command, " ")
		b.Run(name, func(b *testing.B) { timeAnswer(b, command, studbook) })
	}
}

// mostlyDead writes the folder of a programme of so many birds ever, at ten places, of
// which about so many live, and returns its studbook.
func mostlyDead(b *testing.B, rows, living int) string {
	const years, first, life, places = 60, 1966, 12, 10
	r := rand.New(rand.NewPCG(uint64(rows), years))
	type pair struct{ sire, dam, since int }
	var pairs []pair
	var birds, bonds strings.Builder
	birds.WriteString("id,sex,sire,dam,hatch_date,death_date,location,origin\n")
	bonds.WriteString("female,male,since,until\n")
	cohort, grown := rows/years, living/life/2*2 // of which so many grow up
	for year := range years {
		start := year * cohort
		pairs = slices.DeleteFunc(pairs, func(p pair) bool { return p.since+life-2 <= year })
		breed := slices.DeleteFunc(slices.Clone(pairs), func(p pair) bool { return p.since > year })
		place, mother := 0, -1
		for i := range cohort {
			sire, dam, origin, mine := "", "", "wild", -1
			if len(breed) > 0 {
				p := breed[r.IntN(len(breed))]
				sire, dam, origin, mine = fmt.Sprintf("B%07d", p.sire), fmt.Sprintf("B%07d", p.dam), "captive", p.dam
			}
			if i%2 == 0 || r.IntN(4) == 0 {
				place = r.IntN(places)
			}
			dies, death := year, ""
			if i < grown {
				dies += life
			}
			if dies < years {
				death = fmt.Sprintf("%d-12-01", first+dies)
			}
			if year == years-1 && i >= grown {
				death = fmt.Sprintf("%d-06-30", first+year)
			}
			if i%2 == 1 && i < grown {
				pairs = append(pairs, pair{start + i - 1, start + i, year + 2})
				if mine != mother || mine < 0 {
					until := ""
					if dies < years {
						until = death
					}
					fmt.Fprintf(&bonds, "B%07d,B%07d,%d-03-01,%s\n", start+i, start+i-1, first+year+2, until)
				}
			}
			mother = mine
			fmt.Fprintf(&birds, "B%07d,%c,%s,%s,%d-05-%02d,%s,P%d,%s\n", start+i, "MF"[i%2], sire, dam, first+year, 1+r.IntN(28), death, place, origin)
		}
	}
	return folderOf(b, birds.String(), bonds.String())
}

// folderOf writes the folder of a programme and returns its studbook.
func folderOf(b *testing.B, birds, bonds string) string {
	dir := b.TempDir()
	for name, text := range map[string]string{
		"studbook.csv":   birds,
		"bonds.csv":      bonds,
		"programme.toml": "home = \"P0\"\ncurrent_to = 2025-12-31\nlaying_months = [4, 5, 6]\n[breeding_age]\nfemale = [2, 20]\nmale = [2, 20]\n",
	} {
		require.NoError(b, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
	}
	return filepath.Join(dir, "studbook.csv")
}

// pairsOf writes the folder of a programme with so many living birds at so many places
// and returns its studbook. Of every four pairs so many are bonded where both live.
func pairsOf(b *testing.B, living, places, bonded int) string {
	const years, first = 60, 1966
	r := rand.New(rand.NewPCG(uint64(living), years))
	n := living * 25 / 7
	var rows, bonds strings.Builder
	rows.WriteString("id,sex,sire,dam,hatch_date,death_date,location,origin\n")
	bonds.WriteString("female,male,since,until\n")
	place, mother := 0, ""
	for i := range n {
		year := i * years / n
		sire, dam, origin, death := "", "", "wild", ""
		if from, to := max(0, year-4)*n/years/2, (year-1)*n/years/2; to > from && r.IntN(50) > 0 {
			pair := 2 * (from + r.IntN((to-from+1)/2))
			sire, dam, origin = fmt.Sprintf("B%05d", pair), fmt.Sprintf("B%05d", pair+1), "captive"
		}
		if i < n-living {
			death = fmt.Sprintf("%d-12-01", min(first+year+8, first+years-1))
		}
		day := 1 + r.IntN(28)
		if pair := i / 2; i%2 == 0 || pair%4 >= bonded {
			place = r.IntN(places)
		} else if i > n-living && year+3 < years && (dam == "" || dam != mother) {
			fmt.Fprintf(&bonds, "B%05d,B%05d,%d-03-01,\n", i, i-1, first+year+3)
		}
		mother = dam
		fmt.Fprintf(&rows, "B%05d,%c,%s,%s,%d-05-%02d,%s,P%d,%s\n", i, "MF"[i%2], sire, dam, first+year, day, death, place, origin)
	}
	return folderOf(b, rows.String(), bonds.String())
}

// timeAnswer measures a command from reading the files to the last byte of text.
func timeAnswer(b *testing.B, command, studbook string) {
	args := append(strings.Fields(command), "--quiet", "--studbook", studbook)
	b.ReportAllocs()
	for b.Loop() {
		var stderr bytes.Buffer
		if code := run(b.Context(), args, io.Discard, &stderr); code != exitDone {
			b.Fatal(code, stderr.String())
		}
	}
}
