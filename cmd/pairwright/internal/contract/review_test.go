package contract

import (
	"bytes"
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pairing/review"
	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// reviewed reviews a colony given as file names and contents in turn.
func reviewed(t testing.TB, colony string, files ...string) *review.Review {
	t.Helper()
	p, err := pairing.New(t.Context(), studbooktest.Read(t, files...).At(studbook.DayOf(2026, time.June, 30)))
	require.NoError(t, err)
	r, err := review.New(t.Context(), p, review.Options{Colony: colony, Drop: pedigree.Drop{Iterations: 640, Seed: 1}, Rank: pairing.Options{Seed: 1}})
	require.NoError(t, err)
	return r
}

// The keys that other programs read, from the contract of the design.
func TestReviewKeepsItsContract(t *testing.T) {
	r := reviewed(t, "HOME", "studbook.csv", "id,sex,sire,dam,hatch_date,location,origin\nA,F,wild,wild,2010-05-01,HOME,wild\nM,M,wild,wild,2010-05-01,HOME,wild\nB,F,M,A,2015-05-01,HOME,captive\n",
		"bonds.csv", "female,male,since,until\nA,M,2012-03-01,\n")
	var js bytes.Buffer
	require.NoError(t, WriteJSON(&js, ReviewJSON(r)))
	var back map[string]json.RawMessage
	require.NoError(t, json.Unmarshal(js.Bytes(), &back))
	for _, key := range []string{"as_of", "colony", "genetics", "demography", "change_since", "birds", "pairs", "unpaired", "plan", "transfers", "young", "decisions", "last_year", "calibration", "gaps", "assumptions"} {
		assert.Contains(t, back, key)
	}
	var genetics map[string]map[string]any
	require.NoError(t, json.Unmarshal(back["genetics"], &genetics))
	for _, of := range []string{"programme", "colony"} {
		for _, key := range []string{"size", "gene_diversity", "gene_diversity_without_founders", "mean_kinship", "mean_inbreeding", "founder_genome_equivalents",
			"founder_equivalents", "founder_genomes_surviving", "effective_size", "known_ancestry"} {
			assert.Contains(t, genetics[of], key)
		}
	}
	// Two founders and their chick: MK-01 of the published check values, 5/18.
	assert.InDelta(t, 5.0/18, genetics["programme"]["mean_kinship"], 1e-12)
	assert.Nil(t, genetics["programme"]["effective_size"], "what cannot be estimated is null")
}

// reviewOfExample reviews the home colony of the example.
func reviewOfExample(t testing.TB) *review.Review {
	t.Helper()
	c := studbooktest.Example(t)
	p, err := pairing.New(t.Context(), c.At(c.Settings.CurrentTo))
	require.NoError(t, err)
	r, err := review.New(t.Context(), p, review.Options{Colony: "HAF", Drop: pedigree.Drop{Seed: 1}, Runs: new(2), Rank: pairing.Options{Seed: 1}})
	require.NoError(t, err)
	return r
}

// Every figure of the example's review is in its JSON as it was computed, and
// whoever reads it can write it again without losing anything.
func TestReviewOfTheExample(t *testing.T) {
	studbooktest.WithoutRace(t)
	r := reviewOfExample(t)
	answer := ReviewJSON(r)
	assert.Len(t, answer.Birds, len(r.Birds))
	assert.Len(t, answer.Pairs, len(r.Pairs))
	assert.Len(t, answer.Unpaired, len(r.Unpaired))
	var js bytes.Buffer
	require.NoError(t, WriteJSON(&js, answer))
	var back ReviewAnswer
	strict := json.NewDecoder(bytes.NewReader(js.Bytes()))
	strict.DisallowUnknownFields()
	require.NoError(t, strict.Decode(&back))
	assert.Equal(t, answer, back)
}
