package pedigree_test

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// TestMutations changes the example's studbook in a thousand ways, as slips of
// the hand and damage to files do. Each time there is a finding that was not
// there before, or F of every bird is what an oracle gets that reads the changed
// text by itself: nothing is wrong in silence.
func TestMutations(t *testing.T) {
	whole, err := os.ReadFile("../examples/harrow-fell/studbook.csv")
	require.NoError(t, err)
	lines := strings.SplitAfter(string(whole), "\n")
	text := strings.Join(lines[:84], "") // remarks, the header and 80 birds
	before := told(t, text)
	rnd := rand.New(rand.NewPCG(11, 7))
	silent := 0
	for k := range 1000 {
		changed, how := mutated(rnd, text)
		c, findings := read(t, changed)
		if c == nil || !slices.Equal(findings, before) {
			continue
		}
		want, err := oracle(changed)
		require.NoError(t, err, "change %d: %s gives no finding", k, how)
		p, err := pedigree.New(t.Context(), c.Birds, nil)
		require.NoError(t, err)
		for id, f := range want {
			node, ok := p.Index(id)
			require.True(t, ok, "change %d: %s loses %s in silence", k, how, id)
			require.InDelta(t, f, p.F(node), 1e-12, "change %d: %s changes F of %s in silence", k, how, id)
		}
		silent++
	}
	assert.Greater(t, silent, 100, "changes of names and notes are no faults")
	assert.Less(t, silent, 900)
}

// read reads a studbook and returns its findings, without the lines that they
// are in; the colony is nil where they stop the computation.
func read(t *testing.T, text string) (*studbook.Colony, []string) {
	c, err := studbook.Read(t.Context(), fstest.MapFS{"studbook.csv": {Data: []byte(text)}}, "studbook.csv", studbook.Options{Today: studbook.DayOf(2026, 9, 30)})
	var faults *studbook.Faults
	if !errors.As(err, &faults) {
		require.NoError(t, err)
		faults = &studbook.Faults{Findings: c.Warnings}
	}
	var all []string
	for _, f := range faults.Findings {
		all = append(all, f.Code+" "+f.Value)
	}
	return c, all
}

func told(t *testing.T, text string) []string {
	_, findings := read(t, text)
	return findings
}

// mutated changes a text of rows in one random way and says how.
func mutated(rnd *rand.Rand, text string) (changed, how string) {
	lines := strings.SplitAfter(text, "\n")
	pick := func() int { return 4 + rnd.IntN(len(lines)-5) }
	signs := []string{",", ";", "\"", "#", "=", "'", " ", "\t", "-", "?", "0", "1", "9", "C", "c", "O", "\x00", "\x07", "é", "А", "\u200b", "\n", "\r", "wild", "unknown", "#N/A"}
	cells := append(slices.Clone(signs), "C0001", "C0100", "Total", "=1+1", "2030-01-01", "1900", "3/4/2001", "F", "M", "", "A=0.5; B=0.5", "C0001=0.5; C0002=0.5")
	at := rnd.IntN(len(text))
	switch k := rnd.IntN(9); k {
	case 0:
		s := signs[rnd.IntN(len(signs))]
		return text[:at] + s + text[at:], fmt.Sprintf("%q put in at byte %d", s, at)
	case 1:
		s := signs[rnd.IntN(len(signs))]
		return text[:at] + s + text[at+1:], fmt.Sprintf("%q for byte %d", s, at)
	case 2:
		return text[:at] + text[at+1:], fmt.Sprintf("byte %d left out", at)
	case 3:
		return text[:at], fmt.Sprintf("the text ends at byte %d", at)
	case 4, 5:
		i, j := pick(), pick()
		lines[i] = lines[i] + lines[j]
		if k == 5 {
			lines[j] = ""
		}
		return strings.Join(lines, ""), fmt.Sprintf("line %d put behind line %d", j+1, i+1)
	case 6:
		i := pick()
		lines[i] = ""
		return strings.Join(lines, ""), fmt.Sprintf("line %d left out", i+1)
	case 7:
		i := pick()
		row := strings.Split(strings.TrimSpace(lines[i]), ",")
		j, s := rnd.IntN(len(row)), cells[rnd.IntN(len(cells))]
		row[j] = s
		lines[i] = strings.Join(row, ",") + "\n"
		return strings.Join(lines, ""), fmt.Sprintf("%q for cell %d of line %d", s, j+1, i+1)
	default:
		i, k := pick(), pick()
		row, other := strings.Split(strings.TrimSpace(lines[i]), ","), strings.Split(strings.TrimSpace(lines[k]), ",")
		j := rnd.IntN(min(len(row), len(other)))
		row[j], other[j] = other[j], row[j]
		lines[i], lines[k] = strings.Join(row, ",")+"\n", strings.Join(other, ",")+"\n"
		return strings.Join(lines, ""), fmt.Sprintf("cell %d of lines %d and %d exchanged", j+1, i+1, k+1)
	}
}

// oracle reads a studbook as plainly as can be and returns F of every bird in
// it by the tabular method (Emik & Terrill 1949), an uncertain parent as the
// weighted mean of its candidates.
func oracle(text string) (map[string]float64, error) {
	r := csv.NewReader(strings.NewReader(text))
	r.Comment, r.FieldsPerRecord, r.TrimLeadingSpace = '#', -1, true
	var id, sire, dam = -1, -1, -1
	type parent struct {
		id     string
		weight float64
	}
	parents := map[string][2][]parent{}
	var ids []string
	for {
		row, err := r.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
		for j := range row {
			row[j] = strings.TrimSpace(row[j])
		}
		if id < 0 {
			for j, h := range row {
				switch strings.ToLower(h) {
				case "id":
					id = j
				case "sire":
					sire = j
				case "dam":
					dam = j
				}
			}
			if id < 0 || sire < 0 || dam < 0 {
				return nil, errors.New("no header")
			}
			continue
		}
		if len(row) <= max(id, sire, dam) || row[id] == "" {
			if strings.Join(row, "") == "" {
				continue
			}
			return nil, errors.New("a short row")
		}
		var both [2][]parent
		for side, cell := range []string{row[sire], row[dam]} {
			for part := range strings.SplitSeq(cell, ";") {
				name, weight, weighed := strings.Cut(strings.TrimSpace(part), "=")
				w := 1 / float64(strings.Count(cell, ";")+1)
				if weighed {
					if w, err = strconv.ParseFloat(strings.TrimSpace(weight), 64); err != nil {
						return nil, err
					}
				}
				if name = strings.TrimSpace(name); name != "" && !strings.EqualFold(name, "unknown") && !strings.EqualFold(name, "wild") {
					both[side] = append(both[side], parent{name, w})
				}
			}
		}
		if _, twice := parents[row[id]]; twice {
			return nil, errors.New("an id twice")
		}
		parents[row[id]] = both
		ids = append(ids, row[id])
	}
	// Parents before chicks.
	place := map[string]int{}
	var order []string
	var visit func(string, int) error
	visit = func(name string, depth int) error {
		if _, done := place[name]; done {
			return nil
		}
		if depth > len(ids)+1 {
			return errors.New("a loop")
		}
		for _, side := range parents[name] {
			for _, p := range side {
				if err := visit(p.id, depth+1); err != nil {
					return err
				}
			}
		}
		place[name] = len(order)
		order = append(order, name)
		return nil
	}
	for _, name := range ids {
		if err := visit(name, 0); err != nil {
			return nil, err
		}
	}
	kin := make([][]float64, len(order))
	f := map[string]float64{}
	for i, name := range order {
		kin[i] = make([]float64, len(order))
		both := parents[name]
		for j := range i {
			for _, side := range both {
				for _, p := range side {
					kin[i][j] += p.weight * kin[place[p.id]][j] / 2
				}
			}
			kin[j][i] = kin[i][j]
		}
		for _, s := range both[0] {
			for _, d := range both[1] {
				f[name] += s.weight * d.weight * kin[place[s.id]][place[d.id]]
			}
		}
		kin[i][i] = (1 + f[name]) / 2
	}
	out := map[string]float64{}
	for _, name := range ids {
		out[name] = f[name]
	}
	return out, nil
}

// TestOracleOfMutations: the oracle itself on the brother and sister of two
// full siblings; F of their chick is 3/8 (closed form).
func TestOracleOfMutations(t *testing.T) {
	f, err := oracle("id,sire,dam\nA,,\nB,,\nC,A,B\nD,A,B\nE,C,D\nF,C,D\nG,E,F\n")
	require.NoError(t, err)
	assert.Equal(t, 0.25, f["E"])
	assert.Equal(t, 0.375, f["G"])
}
