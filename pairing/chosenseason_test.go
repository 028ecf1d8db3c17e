package pairing_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// sameFigures compares two plans by all that a season is judged by.
func sameFigures(t *testing.T, want, got *pairing.Plan, about string) {
	t.Helper()
	for _, x := range []struct {
		name      string
		want, got float64
	}{
		{"chicks", want.Expected, got.Expected}, {"chance", want.ChanceEnough, got.ChanceEnough},
		{"gene diversity", want.ExpectedDiversity, got.ExpectedDiversity}, {"weighted", want.ExpectedWeighted, got.ExpectedWeighted},
		{"mean F", want.MeanInbreeding, got.MeanInbreeding}, {"bonds", want.Decision.Sum, got.Decision.Sum},
	} {
		assert.InDelta(t, x.want, x.got, 1e-10, "%s: %s", about, x.name)
	}
	assert.Equal(t, want.Decision.Moves, got.Decision.Moves, about)
	assert.Equal(t, want.Hatched, got.Hatched, about)
}

// TestTheDecisionWeighedIsTheDecision: taken over as a season of one's own, the plan has
// the same figures and breaks no rule, in small colonies and in the example, before the
// season and in it, for a colony and for all.
func TestTheDecisionWeighedIsTheDecision(t *testing.T) {
	weigh := func(p *pairing.Programme, o pairing.PlanOptions, about string) {
		d := decide(t, p)
		plan, err := d.Plan(t.Context(), o)
		require.NoError(t, err)
		mine, err := d.Weigh(t.Context(), plan.Choices(), o)
		require.NoError(t, err)
		sameFigures(t, plan, mine.Plan, about)
		if about != "2026-05-20" { // pairs that have settled keep what others were to hatch
			assert.Empty(t, mine.Breaches, about)
		}
		roles := map[[2]int]int{}
		for _, x := range plan.Pairs {
			roles[[2]int{x.Female, x.Male}] = x.HatchUpTo
		}
		for _, x := range mine.Pairs {
			assert.Equal(t, roles[[2]int{x.Female, x.Male}], x.HatchUpTo, about)
		}
		again, err := d.Weigh(t.Context(), mine.Choices(), o)
		require.NoError(t, err)
		sameFigures(t, plan, again.Plan, about)
	}
	for seed := range uint64(40) {
		weigh(programmeOf(t, randomColony(seed, 3)...), pairing.PlanOptions{Whole: true, Chicks: 4}, "a colony")
		weigh(programmeOf(t, randomColony(seed, 3)...), pairing.PlanOptions{Place: "A", Chicks: 3}, "a colony")
	}
	c := studbooktest.Example(t)
	for _, day := range []string{"2026-09-30", "2026-05-20"} {
		on, err := studbook.ParseDate(day)
		require.NoError(t, err)
		p, err := pairing.New(t.Context(), c.At(on.Last))
		require.NoError(t, err)
		for _, place := range []string{"HAF", "BRI"} {
			o := pairing.PlanOptions{Place: place}
			o.Chicks, _ = p.ChicksNeeded(place, false)
			weigh(p, o, day)
		}
	}
}

// TestBestUnderWhatIsFixed fixes a pair, or that two birds are parted, or how many
// chicks a pair may hatch, and tries all there is besides (an oracle: exhaustive
// enumeration of bonds and of broods, each weighed as a season of its own).
func TestBestUnderWhatIsFixed(t *testing.T) {
	tried := 0
	for seed := range uint64(25) {
		p := programmeOf(t, randomColony(seed, 1)...)
		d := decide(t, p)
		f, m, _, ok := another(t, p, d, func(int, int) bool { return true })
		if !ok {
			continue
		}
		o := pairing.PlanOptions{Whole: true, Chicks: 3}
		id := func(b int) string { return p.Book.Birds[b].ID }
		fixed := studbook.Choice{What: studbook.RulesBond, Birds: []string{id(m), id(f)}, Chicks: -1, Fixed: true}
		best, err := d.Best(t.Context(), []studbook.Choice{fixed, {What: studbook.RulesHatch, Birds: []string{id(f), id(m)}, Chicks: 1}}, o)
		require.NoError(t, err)
		mate, _ := best.Decision.MateOf(f)
		assert.Equal(t, m, mate)

		// All ways to pair the others.
		var females, males []int
		for _, b := range p.Book.Living {
			if p.State(b).State == pairing.StateFree && b != f && b != m {
				if p.Book.Birds[b].Sex == studbook.Female {
					females = append(females, b)
				} else {
					males = append(males, b)
				}
			}
		}
		value := map[[2]int]float64{}
		for _, b := range females {
			choices, err := d.Choices(t.Context(), b, false)
			require.NoError(t, err)
			for _, c := range choices {
				if c.Open {
					value[[2]int{b, c.Mate}] = c.Value
				}
			}
		}
		alone, err := d.Weigh(t.Context(), []studbook.Choice{fixed}, o)
		require.NoError(t, err)
		assert.InDelta(t, alone.Decision.Sum+bestSum(value, females, males, -1, -1), best.Decision.Sum, 1e-9, "seed %d", seed)

		// And all broods of the bonds that come of it, with as many chicks.
		var pairs [][2]int
		for _, x := range best.Pairs {
			if x.Role != "" && len(x.Barred) == 0 && x.Kind == pairing.BondKept && x.Chicks > 0 {
				pairs = append(pairs, [2]int{x.Female, x.Male})
			}
		}
		if len(pairs) < 2 {
			continue
		}
		tried++
		keep := studbook.Choice{What: studbook.RulesHatch, Birds: []string{id(pairs[0][0]), id(pairs[0][1])}, Chicks: 1, Fixed: true}
		bare := decide(t, p)
		most := 2 * len(pairs)
		under, err := bare.Best(t.Context(), []studbook.Choice{keep}, pairing.PlanOptions{Whole: true, Chicks: min(3, most-1)})
		require.NoError(t, err)
		for _, x := range under.Pairs {
			if x.Female == pairs[0][0] && x.Male == pairs[0][1] {
				assert.Equal(t, 1, x.HatchUpTo)
			}
		}
	}
	assert.Greater(t, tried, 3)
}

// bonded is a colony whose birds all have mates, some of them kin.
func bonded() []string {
	return []string{
		"studbook.csv", `id,sex,sire,dam,hatch_date,location,origin
F1,F,wild,wild,2018,A,wild
M1,M,wild,wild,2018,A,wild
F2,F,M1,F1,2020-05-10,A,
M2,M,wild,wild,2018,A,wild
F3,F,M2,F1,2021-05-10,A,
M3,M,wild,wild,2019,A,wild
`, "bonds.csv", "female,male,since\nF1,M1,2023\nF2,M2,2023\nF3,M3,2024\n", "programme.toml", settings,
	}
}

// TestBestBroodsUnderWhatIsFixed tries all broods with as many chicks.
func TestBestBroodsUnderWhatIsFixed(t *testing.T) {
	p := programmeOf(t, bonded()...)
	d := decide(t, p)
	hatch := func(pair string, n int, fixed bool) studbook.Choice {
		return studbook.Choice{What: studbook.RulesHatch, Birds: []string{"F" + pair, "M" + pair}, Chicks: n, Fixed: fixed}
	}
	for fix := range 3 {
		o := pairing.PlanOptions{Place: "A", Chicks: 4}
		best, err := d.Best(t.Context(), []studbook.Choice{hatch("1", fix, true), hatch("2", 0, false)}, o)
		require.NoError(t, err)
		top, met := 0.0, false
		for two := range 3 {
			three := 4 - fix - two
			if three < 0 || three > 2 {
				continue
			}
			mine, err := d.Weigh(t.Context(), []studbook.Choice{hatch("1", fix, false), hatch("2", two, false), hatch("3", three, false)}, o)
			require.NoError(t, err)
			assert.Empty(t, mine.Breaches)
			top, met = max(top, mine.Planned), true
		}
		require.True(t, met)
		assert.InDelta(t, top, best.Planned, 1e-12, "%d chicks of the first pair", fix)
		for _, x := range best.Pairs {
			if p.Book.Birds[x.Female].ID == "F1" {
				assert.Equal(t, fix, x.HatchUpTo)
			}
		}
	}
}

// TestBreaches: each rule that a season can break, worked by hand.
func TestBreaches(t *testing.T) {
	files := append([]string{
		"studbook.csv", `id,sex,sire,dam,hatch_date,location,origin
F1,F,wild,wild,2018,A,wild
M1,M,wild,wild,2018,A,wild
F2,F,M1,F1,2020-05-10,A,
M2,M,M1,F1,2020-05-10,A,
M3,M,wild,wild,2019,A,wild
F4,F,wild,wild,2019,B,wild
F5,F,wild,wild,2019,B,wild
F6,F,wild,wild,2025-06-01,A,wild
M7,M,wild,wild,2018,B,wild
F7,F,wild,wild,2018,B,wild
`, "bonds.csv", "female,male,since\nF1,M1,2023\nF7,M7,2023\n", "holds.csv", "id,since,until,reason,blocks\nF4,2026-01-01,,lame,moving\n",
		"institutions.csv", "code,spaces_f,spaces_m\nA,1,1\nB,1,1\n", "programme.toml", settings,
	}, decisions("2025-12-01,bond,F2; M3,,declined,the committee,,they fight")...)
	p := programmeOf(t, files...)
	d := decide(t, p)
	choice := func(what studbook.Subject, to string, chicks int, birds ...string) studbook.Choice {
		return studbook.Choice{What: what, To: to, Chicks: chicks, Birds: birds}
	}
	const bond, part, move, hatch = studbook.RulesBond, studbook.RulesPart, studbook.RulesMove, studbook.RulesHatch
	for _, c := range []struct {
		season []studbook.Choice
		want   []pairing.Code
	}{
		{nil, nil},
		{[]studbook.Choice{choice(bond, "", -1, "F2", "M2")}, []pairing.Code{pairing.CloseKin}},
		{[]studbook.Choice{choice(bond, "", -1, "F2", "M3")}, []pairing.Code{pairing.SaidNo}},
		{[]studbook.Choice{choice(bond, "", -1, "F1", "M3")}, []pairing.Code{pairing.BondFirst}},
		{[]studbook.Choice{choice(part, "", -1, "M1", "F1"), choice(bond, "", -1, "F1", "M3")}, nil},
		{[]studbook.Choice{choice(bond, "A", -1, "F4", "M3")}, []pairing.Code{pairing.MayNotMove}},
		{[]studbook.Choice{choice(bond, "A", -1, "F5", "M3"), choice(bond, "A", -1, "F4", "M2")}, []pairing.Code{pairing.MayNotMove, pairing.PlacesFull}},
		{[]studbook.Choice{choice(bond, "A", -1, "F5", "M3"), choice(bond, "A", -1, "F5", "M2")}, []pairing.Code{pairing.Overruled}},
		{[]studbook.Choice{choice(bond, "", -1, "F6", "M3")}, []pairing.Code{pairing.TooYoung}},
		{[]studbook.Choice{choice(bond, "C", -1, "F5", "M3")}, []pairing.Code{pairing.NoMeeting}},
		{[]studbook.Choice{choice(move, "B", -1, "M1")}, []pairing.Code{pairing.BondFirst}},
		{[]studbook.Choice{choice(move, "B", -1, "M3")}, nil},
		{[]studbook.Choice{choice(move, "B", -1, "M3"), choice(bond, "A", -1, "F5", "M3")}, []pairing.Code{pairing.Overruled}},
		{[]studbook.Choice{choice(move, "A", -1, "F5"), choice(bond, "A", -1, "F5", "M3")}, nil},
		{[]studbook.Choice{choice(hatch, "", 1, "M3", "F2")}, []pairing.Code{pairing.NotAMate}},
		{[]studbook.Choice{choice(hatch, "", 3, "F1", "M1")}, []pairing.Code{pairing.TooMany}},
		{[]studbook.Choice{choice(hatch, "", 1, "F7", "M7")}, []pairing.Code{pairing.NotAMate}},
		{[]studbook.Choice{choice(bond, "", -1, "F2", "M2"), choice(hatch, "", 1, "F2", "M2")}, []pairing.Code{pairing.CloseKin, pairing.CloseKin}},
	} {
		mine, err := d.Weigh(t.Context(), c.season, pairing.PlanOptions{Place: "A", Chicks: 2})
		require.NoError(t, err)
		var got []pairing.Code
		for _, b := range mine.Breaches {
			got = append(got, b.Reason.Code)
		}
		assert.ElementsMatch(t, c.want, got, "%+v", c.season)
	}

	// A chick of full siblings counts all the same, with its F of a quarter.
	mine, err := d.Weigh(t.Context(), []studbook.Choice{choice(bond, "", -1, "F2", "M2"), choice(hatch, "", 1, "F2", "M2")}, pairing.PlanOptions{Place: "A", Chicks: 2})
	require.NoError(t, err)
	assert.Greater(t, mine.Expected, 0.0)
	assert.InDelta(t, 0.25, mine.MeanInbreeding, 1e-12)
}

// TestBreachesOfRoomAndEggs: what a season may not do with places that are full, with
// eggs that lie there and with what was declined, worked by hand.
func TestBreachesOfRoomAndEggs(t *testing.T) {
	files := append([]string{
		"studbook.csv", `id,sex,sire,dam,hatch_date,location,origin
F1,F,wild,wild,2018,A,wild
F2,F,wild,wild,2018,A,wild
F3,F,wild,wild,2018,A,wild
F4,F,,,2021-05-10,A,captive
F7,F,wild,wild,2018,B,wild
M1,M,wild,wild,2018,A,wild
M2,M,wild,wild,2018,A,wild
M3,M,wild,wild,2018,A,wild
M7,M,wild,wild,2018,B,wild
`, "bonds.csv", "female,male,since\nF1,M1,2023\nF2,M2,2023\n",
		"clutches.csv", "female,male,laid,eggs,fertile,hatched\nF1,M1,2026-05-01,2,,\nF2,M2,2026-05-18,1,,\n",
		"institutions.csv", "code,spaces_f,spaces_m\nA,0,0\nB,1,1\n", "programme.toml", settings,
	}, decisions("2026-02-01,part,M1; F1,,declined,the committee,,", "2026-02-01,move,F3,B,declined,the committee,,")...)
	p := programmeOn(t, "2026-05-20", files...)
	d := decide(t, p)
	choice := func(what studbook.Subject, to string, chicks int, birds ...string) studbook.Choice {
		return studbook.Choice{What: what, To: to, Chicks: chicks, Birds: birds}
	}
	const bond, part, move, hatch = studbook.RulesBond, studbook.RulesPart, studbook.RulesMove, studbook.RulesHatch
	for _, c := range []struct {
		about  string
		season []studbook.Choice
		want   []pairing.Code
	}{
		{"settled on two eggs for 19 days", []studbook.Choice{choice(hatch, "", 1, "F1", "M1")}, []pairing.Code{pairing.EggsSettled, pairing.ChicksFull}},
		{"two of one egg, and nowhere to put them", []studbook.Choice{choice(hatch, "", 2, "F2", "M2")}, []pairing.Code{pairing.EggsOfPair, pairing.ChicksFull}},
		{"the place is full for chicks", []studbook.Choice{choice(hatch, "", 2, "F1", "M1")}, []pairing.Code{pairing.ChicksFull}},
		{"nothing hatches, so nothing is full", []studbook.Choice{choice(hatch, "", 0, "F2", "M2")}, nil},
		{"a pair that leaves", []studbook.Choice{choice(bond, "B", -1, "F7", "M3"), choice(hatch, "", 1, "F7", "M3")}, []pairing.Code{pairing.LeavesScope}},
		{"the two sit", []studbook.Choice{choice(part, "", -1, "F1", "M1")}, []pairing.Code{pairing.OnNest}},
		{"her move was declined", []studbook.Choice{choice(move, "B", -1, "F3")}, []pairing.Code{pairing.SaidNo}},
		{"nobody knows her sire, and he was there", []studbook.Choice{choice(bond, "", -1, "F4", "M3")}, []pairing.Code{pairing.MateMayBeParent}},
	} {
		mine, err := d.Weigh(t.Context(), c.season, pairing.PlanOptions{Place: "A", Chicks: 2})
		require.NoError(t, err)
		var got []pairing.Code
		for _, b := range mine.Breaches {
			got = append(got, b.Reason.Code)
		}
		assert.ElementsMatch(t, c.want, got, c.about)
	}

	before := decide(t, programmeOn(t, "2026-04-20", files...)) // nobody sits yet
	mine, err := before.Weigh(t.Context(), []studbook.Choice{choice(part, "", -1, "F1", "M1")}, pairing.PlanOptions{Place: "A", Chicks: 2})
	require.NoError(t, err)
	require.Len(t, mine.Breaches, 1, "its parting was declined")
	assert.Equal(t, pairing.SaidNo, mine.Breaches[0].Reason.Code)
	assert.Equal(t, "the committee", mine.Breaches[0].Reason.By)
	x, _ := before.BondOf(0)
	assert.Equal(t, pairing.BondKept, x.Kind)
}

// TestAgreedSeasonComesBack: a plan with a parting and a move without a mate, which
// people agreed on, is the same season when it is weighed as one's own.
func TestAgreedSeasonComesBack(t *testing.T) {
	files := append(bonded(), decisions("2026-02-01,part,F1; M1,,agreed,,,", "2026-02-02,move,M1,B,agreed,,,")...)
	p := programmeOf(t, files...)
	d := decide(t, p)
	o := pairing.PlanOptions{Place: "A", Chicks: 3}
	plan, err := d.Plan(t.Context(), o)
	require.NoError(t, err)
	choices := plan.Choices()
	assert.Contains(t, choices, studbook.Choice{What: studbook.RulesPart, Birds: []string{"F1", "M1"}, Chicks: -1})
	assert.Contains(t, choices, studbook.Choice{What: studbook.RulesMove, Birds: []string{"M1"}, To: "B", Chicks: -1})
	bare := decide(t, programmeOf(t, bonded()...)) // nobody has agreed on anything
	mine, err := bare.Weigh(t.Context(), choices, o)
	require.NoError(t, err)
	assert.Empty(t, mine.Breaches)
	sameFigures(t, plan, mine.Plan, "parted and sent")
	assert.Equal(t, choices, mine.Choices())
}
