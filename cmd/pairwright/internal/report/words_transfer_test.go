package report

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pairing/transfer"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// Why there is no case is told in one sentence that names who and where, and
// what could be done.
func TestNoCaseInWords(t *testing.T) {
	p := harrowFell(t, 2026)
	d, err := p.Decide(t.Context(), pairing.DecisionOptions{})
	require.NoError(t, err)
	for _, c := range []struct {
		q    transfer.Question
		want string
	}{
		{transfer.Question{Bird: "C0001"}, "C0001 (Bramna) died 20 January 2004; there is nothing to transfer"},
		{transfer.Question{Bird: "C0734", To: "HAF"}, "C0734 (Moss) already lives at Harrow Fell Bird Park (HAF); no transfer is needed"},
		{transfer.Question{Bird: "C0734", Partner: "C0734"}, "C0734 (Moss) cannot be its own mate"},
	} {
		_, err := transfer.Find(t.Context(), p, d, c.q)
		var no *transfer.NoCaseError
		require.ErrorAs(t, err, &no)
		assert.Equal(t, c.want, NoCaseText(p, no))
	}
	ill := studbook.Bird{ID: "A", Sex: studbook.Female}
	friend := studbook.Bird{ID: "B", Name: "Bee", Sex: studbook.Male}
	both := []*studbook.Bird{&ill, &friend}
	for want, e := range map[string]transfer.NoCaseError{
		"no exchange was found in which A goes to Y and a bird comes back from X so that every new pair gains": {Reason: pairing.Reason{Code: transfer.NoExchange, Birds: both[:1], To: "Y", From: "X"}},
		"B (Bee) lives at X; name that place, or none":                                                         {Reason: pairing.Reason{Code: transfer.MateElsewhere, Birds: both, From: "X"}},
		"there is no possible mate for A elsewhere: no other bird lives there":                                 {Reason: pairing.Reason{Code: transfer.NoMate, Birds: both[:1]}},
		"this move is not possible now: A is on hold for moving until further notice: a broken toe": {Reason: pairing.Reason{Code: transfer.NotNow, Birds: both[:1]},
			Because: []pairing.Reason{{Code: transfer.HeldFromMove, Birds: both[:1], Note: "a broken toe"}}},
	} {
		assert.Equal(t, want, NoCaseText(p, &e))
	}
}

// An alternative says what speaks against it in the figures of the tables:
// 63% of a gain is 63% everywhere.
func TestAlternativesInWords(t *testing.T) {
	p := harrowFell(t, 2026)
	for want, why := range map[string][]pairing.Reason{
		"gains 63% as much: the chicks would have F 0.0313 instead of 0":                                        {{Code: transfer.LessGain, Value: 0.6251}, {Code: transfer.MoreInbred, Value: 1.0 / 32}},
		"gains as much, but the way is 1,338 km instead of 20 km":                                               {{Code: transfer.GainsAsMuch}, {Code: transfer.LongerWay, Value: 1338.4, Other: 19.6}},
		"gains as much and costs the birds no more: a matter of choice":                                         {{Code: transfer.GainsAsMuch}},
		"gains as much for all together, where others are paired anew and may have to move: a matter of choice": {{Code: transfer.AsMuchAnew}},
		"gains as much, but moves 2 birds instead of 1":                                                         {{Code: transfer.GainsAsMuch}, {Code: transfer.MoreMoves, Value: 2, Other: 1}},
		"gains as much, but the bird that travels was moved 2 times before instead of 1":                        {{Code: transfer.GainsAsMuch}, {Code: transfer.MovedMore, Value: 2, Other: 1}},
		"gains as much, but quarantine is 60 days instead of 30":                                                {{Code: transfer.GainsAsMuch}, {Code: transfer.LongerQuarantine, Value: 60, Other: 30}},
		"gains <1% as much: its chance of success is 0.10 instead of 0.80":                                      {{Code: transfer.LessGain, Value: 0.001}, {Code: transfer.LessSuccess, Value: 0.1, Other: 0.8}},
		"gains less than a move should be worth":                                                                {{Code: transfer.NotWorth, Value: 1e-6, Other: 2e-6}},
	} {
		assert.Equal(t, want, AlternativeText(p, &transfer.Alternative{Option: &transfer.Option{}, Why: why}))
	}
	for want, why := range map[string]pairing.Reason{
		"the chicks would have F 0 instead of 0.0313":  {Code: transfer.MoreInbred, Value: 1.0 / 32},
		"the way is 20 km instead of 1,338 km":         {Code: transfer.ShorterWay, Value: 19.6, Other: 1338.4},
		"the bird that travels was never moved before": {Code: transfer.MovedLess, Value: 0, Other: 2},
		"no bird moves": {Code: transfer.FewerMoves, Value: 0, Other: 1},
	} {
		assert.Equal(t, want, FavourText(p, &transfer.Alternative{Option: &transfer.Option{}, For: []pairing.Reason{why}}))
	}
}

// Whether a move is needed, and why, is told of every living bird in words; a bird
// that cannot breed has its state there.
func TestWhetherAMoveIsNeededInWords(t *testing.T) {
	p := harrowFell(t, 2026)
	d, err := p.Decide(t.Context(), pairing.DecisionOptions{})
	require.NoError(t, err)
	for bird, want := range map[string]string{
		"C1076": "no move is needed: its sex is not known: have it sexed before a mate is looked for",
		"C0311": "no move is needed: bonded to C0642 (Meadow): it stays with its mate",
	} {
		c, err := transfer.Find(t.Context(), p, d, transfer.Question{Bird: bird})
		require.NoError(t, err)
		assert.Equal(t, want, TransferReason(p, c))
	}
}

// Every code of the engine has words.
func TestEveryTransferReasonHasWords(t *testing.T) {
	studbooktest.WithoutRace(t)
	p := harrowFell(t, 2026)
	d, err := p.Decide(t.Context(), pairing.DecisionOptions{})
	require.NoError(t, err)
	reasons, alternatives := 0, 0
	for k := 0; k < len(p.Book.Living); k += 19 {
		c, err := transfer.Find(t.Context(), p, d, transfer.Question{Bird: p.Book.Birds[p.Book.Living[k]].ID, To: []string{"LIS", "QUM"}[k%2]})
		if no := (*transfer.NoCaseError)(nil); err != nil {
			require.ErrorAs(t, err, &no)
			assert.NotEqual(t, string(no.Code), NoCaseText(p, no))
			continue
		}
		for _, r := range append(c.Cautions, c.Unknown...) {
			reasons++
			assert.Contains(t, transferReason(p, &r), " ", r.Code)
		}
		for _, a := range c.Alternatives {
			alternatives++
			assert.Contains(t, AlternativeText(p, &a), " ")
			for _, r := range a.For {
				assert.Contains(t, FavourText(p, &transfer.Alternative{For: []pairing.Reason{r}}), " ", r.Code)
			}
		}
	}
	assert.Greater(t, reasons, 20)
	assert.Greater(t, alternatives, 20)
}
