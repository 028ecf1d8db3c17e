package pairing

import (
	"cmp"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// The groups of the 2 % rule begin at the best that is not yet placed: worked by
// hand, with gains below zero too. The birds of the candidates are numbers alone.
func TestOrder(t *testing.T) {
	c := studbooktest.Read(t, "studbook.csv", "id,sex,sire,dam,hatch_date\nME,F,,,2015\n",
		"programme.toml", "[limits]\ninbreeding = 0.125\npreferred_inbreeding = 0.0625\n")
	p, err := New(t.Context(), c.At(studbook.DayOf(2026, 3, 1)))
	require.NoError(t, err)
	candidates := []Candidate{
		{Bird: 1, Verdict: Recommended, Choice: Choice{NetGain: 1}, NeedsTransfer: true},
		{Bird: 2, Verdict: Recommended, Choice: Choice{NetGain: 0.985}},
		{Bird: 3, Verdict: Recommended, Choice: Choice{NetGain: 0.9799}}, // within 2 % of 2, not of 1
		{Bird: 4, Verdict: NotAdvised, Choice: Choice{Advantage: 0}, NeedsTransfer: true},
		{Bird: 5, Verdict: NotAdvised, Choice: Choice{Advantage: -1}, BondedTo: "OTHER"},
		{Bird: 6, Verdict: NotAdvised, Choice: Choice{Advantage: -1.019}},
		{Bird: 7, Verdict: NotAdvised, Choice: Choice{Advantage: -1.0201, NetGain: -0.1}}, // few chicks lift nobody
		{Bird: 8, Verdict: Acceptable, Choice: Choice{NetGain: 5}},                        // behind what is recommended
		{Bird: 9, Verdict: Acceptable, Choice: Choice{NetGain: 9}, OffspringInbreeding: 0.0625},
		{Bird: 10, Verdict: NotAdvised, Choice: Choice{Advantage: -9}, BondedTo: "ME"}, // its own mate
		{Bird: 11, Verdict: Acceptable, Choice: Choice{NetGain: 0.1}, Decided: true},
	}
	candidates = (&Ranking{Bird: 0}).ordered(p, candidates, nil)
	var got []int
	for _, c := range candidates {
		got = append(got, c.Bird)
	}
	assert.Equal(t, []int{10, 11, 2, 1, 3, 8, 9, 4, 6, 5, 7}, got)
}

// The foremost are those that all in order begin with, however many and however alike.
func TestForemost(t *testing.T) {
	type choice struct{ class, gain, id int }
	class, gain := func(x choice) int { return x.class }, func(x choice) float64 { return float64(x.gain) }
	gentler := func(a, b choice) int { return cmp.Compare(a.id, b.id) }
	random := rand.New(rand.NewPCG(1, 1))
	for range 2000 {
		choices := make([]choice, random.IntN(12))
		for k := range choices {
			choices[k] = choice{random.IntN(3), 90 + random.IntN(20), k}
		}
		random.Shuffle(len(choices), func(a, b int) { choices[a], choices[b] = choices[b], choices[a] })
		all := slices.Clone(choices)
		InOrder(all, class, gain, gentler)
		assert.Equal(t, all[:min(3, len(all))], foremost(slices.Clone(choices), 3, class, gain, gentler))
		assert.Equal(t, all, foremost(choices, len(choices), class, gain, gentler))
	}
}
