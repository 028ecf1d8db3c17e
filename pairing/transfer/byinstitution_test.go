package transfer

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// TestPartsAreTheWholePlan: what the institutions of the example are asked for is the
// plan for the programme, every pair, bird alone and clutch once, every move once at
// each end.
func TestPartsAreTheWholePlan(t *testing.T) {
	c := studbooktest.Example(t)
	p, err := pairing.New(t.Context(), c.At(studbook.DayOf(2026, 5, 10)))
	require.NoError(t, err)
	d, err := p.Decide(t.Context(), pairing.DecisionOptions{})
	require.NoError(t, err)
	chicks, _ := p.ChicksNeeded("", true)
	plan, err := d.Plan(t.Context(), pairing.PlanOptions{Whole: true, Chicks: chicks})
	require.NoError(t, err)
	parts, err := ByInstitution(t.Context(), p, plan)
	require.NoError(t, err)

	pairs, alone, eggs := map[[2]int]string{}, map[int]bool{}, 0
	moves := map[int][2]string{}
	expected, in, out := 0.0, 0, 0
	for k := range parts {
		x := &parts[k]
		for _, pair := range x.Pairs {
			both := [2]int{pair.Female, pair.Male}
			assert.NotContains(t, pairs, both)
			pairs[both] = x.Code
			assert.Equal(t, pair.Place, x.Code)
		}
		for _, a := range x.Alone {
			assert.False(t, alone[a.Bird])
			alone[a.Bird] = true
		}
		for _, m := range x.Out {
			ends := moves[m.Mover()]
			moves[m.Mover()] = [2]string{x.Code, ends[1]}
			out++
		}
		for _, m := range x.In {
			ends := moves[m.Mover()]
			moves[m.Mover()] = [2]string{ends[0], x.Code}
			in++
		}
		eggs += len(x.Eggs)
		expected += x.Expected
	}
	assert.Len(t, pairs, len(plan.Pairs))
	assert.Len(t, alone, len(plan.Unpaired))
	assert.Equal(t, len(plan.Eggs), eggs)
	assert.InDelta(t, plan.Expected, expected+float64(plan.Hatched), 1e-9)
	require.NotEmpty(t, d.AllMoves())
	assert.Len(t, moves, len(d.AllMoves()))
	assert.Equal(t, [2]int{len(moves), len(moves)}, [2]int{in, out})
	for _, m := range d.AllMoves() {
		assert.Equal(t, [2]string{m.From, m.To}, moves[m.Bird])
	}
}

// TestAMoveWithoutAMateIsAsked: a bird that people agreed to send, and that finds no
// mate there, is asked for at both ends.
func TestAMoveWithoutAMateIsAsked(t *testing.T) {
	f := hand()
	f["decisions.csv"] = "date,what,birds,to,decision,by,until,reason\n2026-08-01,move,OLD,C,agreed,the committee,,a quiet place\n"
	p := f.programme(t)
	d, err := p.Decide(t.Context(), pairing.DecisionOptions{})
	require.NoError(t, err)
	plan, err := d.Plan(t.Context(), pairing.PlanOptions{Whole: true})
	require.NoError(t, err)
	parts, err := ByInstitution(t.Context(), p, plan)
	require.NoError(t, err)
	asked := map[string]string{}
	for k := range parts {
		for _, m := range parts[k].Out {
			if p.Book.Birds[m.Mover()].ID == "OLD" {
				asked["out"] = parts[k].Code
				assert.Empty(t, m.Pairs)
			}
		}
		for _, m := range parts[k].In {
			if p.Book.Birds[m.Mover()].ID == "OLD" {
				asked["in"] = parts[k].Code
			}
		}
	}
	assert.Equal(t, map[string]string{"out": "A", "in": "C"}, asked)
}
