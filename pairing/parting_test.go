package pairing_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// exampleWith reads the example with rows more in its decisions, and plans for all.
func exampleWith(t *testing.T, parted ...[2]string) (*pairing.Programme, *pairing.Plan) {
	t.Helper()
	c := studbooktest.Example(t)
	for _, x := range parted {
		day, err := studbook.ParseDate("2026-09-30")
		require.NoError(t, err)
		c.Rulings = append(c.Rulings, studbook.Ruling{Date: day, What: studbook.RulesPart, Birds: []string{x[0], x[1]}, Answer: studbook.Agreed})
	}
	p, err := pairing.New(t.Context(), c.At(studbook.DayOf(2026, 9, 30)))
	require.NoError(t, err)
	plan, err := decide(t, p).Plan(t.Context(), pairing.PlanOptions{Whole: true, Chicks: 40})
	require.NoError(t, err)
	return p, plan
}

// TestWhatFollowsAPartingIsWhatThePlanHasOnceItIsAgreed: what is told of a parting is what
// the plan says once somebody writes down that it is agreed on, whether it is the first
// that is advised or one that is not.
func TestWhatFollowsAPartingIsWhatThePlanHasOnceItIsAgreed(t *testing.T) {
	studbooktest.WithoutRace(t)
	p, plan := exampleWith(t)
	bonds := func(p *pairing.Programme, d *pairing.Decision) map[string]bool {
		has := map[string]bool{}
		for _, x := range d.Bonds {
			if x.Kind != pairing.BondReleased {
				has[p.Book.Birds[x.Female].ID+" "+p.Book.Birds[x.Male].ID] = true
			}
		}
		return has
	}
	before := bonds(p, plan.Decision)
	for k, x := range plan.InTheWay {
		if k > 0 && x.Advised {
			continue // told with others parted too: see the next test
		}
		f, m := p.Book.Birds[x.Female].ID, p.Book.Birds[x.Male].ID
		q, anew := exampleWith(t, [2]string{f, m})
		after := bonds(q, anew.Decision)
		var formed, alone, off []string
		for pair := range after {
			if !before[pair] {
				formed = append(formed, pair)
			}
		}
		for _, b := range q.Book.Living {
			_, had := plan.Decision.BondOf(b)
			if _, has := anew.Decision.BondOf(b); had && !has {
				alone = append(alone, q.Book.Birds[b].ID)
			}
		}
		for _, move := range plan.Decision.AllMoves() {
			if !slices.Contains(anew.Decision.AllMoves(), move) {
				off = append(off, p.Book.Birds[move.Bird].ID)
			}
		}
		var toldFormed, toldAlone, toldOff []string
		for _, y := range x.Then.Formed {
			toldFormed = append(toldFormed, p.Book.Birds[y.Female].ID+" "+p.Book.Birds[y.Male].ID)
		}
		for _, b := range x.Then.Alone {
			toldAlone = append(toldAlone, p.Book.Birds[b].ID)
		}
		for _, move := range x.Then.Moves {
			toldOff = append(toldOff, p.Book.Birds[move.Bird].ID)
		}
		assert.ElementsMatch(t, formed, toldFormed, "%s and %s", f, m)
		assert.ElementsMatch(t, alone, toldAlone, "%s and %s", f, m)
		assert.ElementsMatch(t, off, toldOff, "%s and %s", f, m)
		assert.True(t, slices.Contains(toldAlone, f) || slices.Contains(toldAlone, m), "in the example one of the two stays alone")
	}
}

// TestPartingsAdvisedCanBeMadeTogether: once all that are advised are agreed on, every bird
// of them has the mate that it was told.
func TestPartingsAdvisedCanBeMadeTogether(t *testing.T) {
	studbooktest.WithoutRace(t)
	p, plan := exampleWith(t)
	var advised []pairing.Obstacle
	var pairs [][2]string
	rivals := map[[2]int]bool{}
	for _, x := range plan.InTheWay {
		if x.Advised {
			advised = append(advised, x)
			pairs = append(pairs, [2]string{p.Book.Birds[x.Female].ID, p.Book.Birds[x.Male].ID})
			rivals[[2]int{x.Female, x.Male}] = true
		}
	}
	require.NotEmpty(t, advised)
	assert.True(t, plan.InTheWay[0].Advised, "what is worth most")
	q, anew := exampleWith(t, pairs...)
	given := map[int]int{}
	for _, x := range advised {
		for _, b := range [2]int{x.Female, x.Male} {
			if mate, gets := x.Then.MateOf(b); gets {
				have, _ := anew.Decision.MateOf(b)
				assert.Equal(t, q.Name(mate), q.Name(have), q.Name(b))
				_, twice := given[mate]
				assert.False(t, twice, "%s is given to two", q.Name(mate))
				given[mate] = b
			}
		}
	}
	for _, x := range plan.InTheWay {
		if !x.Advised && x.Instead[0] >= 0 {
			assert.True(t, rivals[x.Instead], "it stands against one that is advised")
		}
	}
	// The four males of the home colony would all get one and the same female.
	var home []string
	for _, x := range plan.InTheWay {
		if p.Book.Birds[x.Female].Location == "HAF" {
			mate, gets := x.Then.MateOf(x.Male)
			require.True(t, gets)
			home = append(home, fmt.Sprint(p.Book.Birds[mate].ID, " ", x.Advised))
		}
	}
	assert.Equal(t, []string{"C0734 true", "C0734 false", "C0734 false", "C0734 false"}, home)
}

// TestANewPairSaysAfterWhosePartingItIsNotFormed: once the partings that are advised are
// agreed on, in their order, a new pair is gone exactly from the one on that it is said to
// be undone by; and that is to be decided before the move, or before pairs form.
func TestANewPairSaysAfterWhosePartingItIsNotFormed(t *testing.T) {
	studbooktest.WithoutRace(t)
	p, plan := exampleWith(t)
	name := func(x *pairing.Bond) string { return p.Book.Birds[x.Female].ID + " " + p.Book.Birds[x.Male].ID }
	undone := map[string]string{} // new pairs, and the bond
	for k := range plan.Pairs {
		if x := &plan.Pairs[k]; x.Kind == pairing.BondNew && x.UndoneBy == nil {
			undone[name(&x.Bond)] = ""
		} else if x.UndoneBy != nil {
			require.Equal(t, pairing.BondNew, x.Kind)
			undone[name(&x.Bond)] = p.Book.Birds[x.UndoneBy.Female].ID + " " + p.Book.Birds[x.UndoneBy.Male].ID
			by := p.PairsForm()
			if m := x.Move; m != nil {
				_, weeks := p.Border(m.From, m.To)
				by = p.Timing(m.Bird, m.From, m.To).Latest - studbook.Day(max(28, 7*weeks))
			}
			assert.Equal(t, by, x.UndoneBy.By, name(&x.Bond))
			assert.LessOrEqual(t, x.UndoneBy.DecideBy, by)
		}
	}
	assert.Equal(t, "C0654 C0648", undone["C0734 C0902"])
	assert.Contains(t, undone, "C0736 C0893", "at home")
	leaves, err := plan.Decision.Plan(t.Context(), pairing.PlanOptions{Place: "QUM"})
	require.NoError(t, err)
	for k := range leaves.Pairs {
		if x := &leaves.Pairs[k]; x.Kind == pairing.BondNew {
			assert.Equal(t, undone[name(&x.Bond)] != "", x.UndoneBy != nil, "%s: as in the plan of all, where a bird leaves too", name(&x.Bond))
		}
	}
	gone := map[string]string{}
	var parted [][2]string
	for _, x := range plan.InTheWay {
		if !x.Advised {
			continue
		}
		f, m := p.Book.Birds[x.Female].ID, p.Book.Birds[x.Male].ID
		parted = append(parted, [2]string{f, m})
		_, anew := exampleWith(t, parted...)
		formed := map[string]bool{}
		for k := range anew.Pairs {
			formed[name(&anew.Pairs[k].Bond)] = true
		}
		for pair := range undone {
			if _, told := gone[pair]; !told && !formed[pair] {
				gone[pair] = f + " " + m
			}
		}
	}
	for pair, by := range undone {
		assert.Equal(t, by, gone[pair], pair)
	}
}
