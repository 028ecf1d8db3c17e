package pairing_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// rank ranks the mates of a bird by a programme's own decision.
func rank(t testing.TB, p *pairing.Programme, id string, o pairing.Options) *pairing.Ranking {
	t.Helper()
	return rankBy(t, p, decide(t, p), id, o)
}

func rankBy(t testing.TB, p *pairing.Programme, d *pairing.Decision, id string, o pairing.Options) *pairing.Ranking {
	t.Helper()
	r, err := pairing.NewRanker(t.Context(), d, o)
	require.NoError(t, err)
	out, err := r.Rank(t.Context(), index(t, p, id))
	require.NoError(t, err)
	return out
}

// index returns where a bird stands in the snapshot.
func index(t testing.TB, p *pairing.Programme, id string) int {
	t.Helper()
	b, err := p.Bird(id)
	require.NoError(t, err)
	return b
}

// ranked returns the ids of the candidates, the best first.
func ranked(p *pairing.Programme, out *pairing.Ranking) string {
	var s []string
	for _, c := range out.Candidates {
		s = append(s, p.Book.Birds[c.Bird].ID)
	}
	return strings.Join(s, " ")
}

// candidate returns one of the candidates by its id.
func candidate(t testing.TB, p *pairing.Programme, out *pairing.Ranking, id string) pairing.Candidate {
	t.Helper()
	k := slices.IndexFunc(out.Candidates, func(c pairing.Candidate) bool { return p.Book.Birds[c.Bird].ID == id })
	require.GreaterOrEqual(t, k, 0, "%s is no candidate; there are %s", id, ranked(p, out))
	return out.Candidates[k]
}

func codesOf(reasons []pairing.Reason) []pairing.Code {
	var codes []pairing.Code
	for _, r := range reasons {
		codes = append(codes, r.Code)
	}
	return codes
}

// ruledOut returns the codes of the reasons against each bird that is ruled out.
func ruledOut(t testing.TB, p *pairing.Programme, out *pairing.Ranking) map[string][]pairing.Code {
	m := map[string][]pairing.Code{}
	for x := range p.AllRuledOut(out) {
		m[p.Book.Birds[x.Bird].ID] = codesOf(x.Reasons)
		for _, r := range x.Reasons {
			assert.Same(t, &p.Book.Birds[x.Bird], r.Birds[0], "a reason is about the bird that is ruled out")
		}
	}
	return m
}

// everyRule is a colony in which every rule applies to somebody. A and B lie on one
// meridian, one degree apart.
var everyRule = []string{
	"studbook.csv", `id,sex,sire,dam,hatch_date,death_date,location,origin
F1,F,wild,wild,2010,,A,wild
M1,M,wild,wild,2010,,A,wild
M2,M,wild,wild,2011,,B,wild
M3,M,wild,wild,2011,,A,wild
F3,F,wild,wild,2011,,A,wild
SON,M,M1,F1,2018,,A,captive
DEAD,M,wild,wild,2010,2020-01-01,A,wild
YOUNG,M,M2,F3,2025,,A,captive
OLD,M,wild,wild,1990,,A,wild
HELD,M,wild,wild,2012,,A,wild
NOSEX,U,wild,wild,2012,,A,wild
GONE,M,wild,wild,2012,,,wild
`,
	"moves.csv", "id,date,from,to\nGONE,2020-01-01,A,\n",
	"bonds.csv", "female,male,since,until\nF3,M3,2020-03-01,\n",
	"holds.csv", "id,since,until,reason,blocks\nHELD,2026-01-01,,treated for a bad foot,breeding\n",
	"institutions.csv", "code,latitude,longitude\nA,50,8\nB,51,8\n",
	"programme.toml", settings,
}

func TestRuledOutSaysWhy(t *testing.T) {
	p := programmeOf(t, everyRule...)
	out := rank(t, p, "F1", pairing.Options{})
	assert.Equal(t, map[string][]pairing.Code{
		"DEAD": {pairing.Dead}, "GONE": {pairing.Gone}, "F3": {pairing.SameSex, pairing.Bonded}, "HELD": {pairing.OnHold},
		"M3": {pairing.Bonded}, "NOSEX": {pairing.SexUnknown}, "OLD": {pairing.TooOld}, "SON": {pairing.CloseKin}, "YOUNG": {pairing.TooYoung},
	}, ruledOut(t, p, out))
	assert.ElementsMatch(t, []string{"M1", "M2"}, strings.Fields(ranked(p, out)), "every bird is ranked or ruled out")
	for _, x := range out.RuledOut {
		if p.Book.Birds[x.Bird].ID == "HELD" {
			assert.Equal(t, "treated for a bad foot", x.Reasons[0].Note)
		}
	}

	home := rank(t, p, "F1", pairing.Options{HomeOnly: true})
	assert.Equal(t, "M1", ranked(p, home))
	assert.Equal(t, []pairing.Code{pairing.Elsewhere}, ruledOut(t, p, home)["M2"])

	assert.Contains(t, ranked(p, rank(t, p, "F1", pairing.Options{BreakBonds: true})), "M3")

	loose := 0.3
	d, err := p.Decide(t.Context(), pairing.DecisionOptions{LimitInbreeding: &loose})
	require.NoError(t, err)
	assert.Contains(t, ranked(p, rankBy(t, p, d, "F1", pairing.Options{})), "SON")
}

// One degree of a meridian is 111.195 km on a sphere of the Earth's mean radius
// 6371.0088 km (2πR/360; IUGG mean radius).
func TestDistance(t *testing.T) {
	p := programmeOf(t, everyRule...)
	km, ok := p.Distance("A", "B")
	assert.True(t, ok)
	assert.InDelta(t, 2*math.Pi*6371.0088/360, km, 1e-9)
	_, ok = p.Distance("A", "NOWHERE")
	assert.False(t, ok)
	m2 := candidate(t, p, rank(t, p, "F1", pairing.Options{}), "M2")
	assert.True(t, m2.NeedsTransfer && m2.Placed)
	assert.InDelta(t, km, m2.Distance, 1e-9)
}

// A bird that cannot breed has its state for an answer, and the dead an error.
func TestStateComesBeforeMates(t *testing.T) {
	p := programmeOf(t, everyRule...)
	for id, state := range map[string]pairing.State{
		"NOSEX": pairing.StateUnsexed, "YOUNG": pairing.StateYoung, "OLD": pairing.StatePast, "HELD": pairing.StateOnHold,
	} {
		out := rank(t, p, id, pairing.Options{})
		assert.Equal(t, state, out.Standing.State, id)
		assert.Empty(t, out.Candidates, id)
		assert.Nil(t, out.Bond, id)
		assert.NotEmpty(t, out.Alone.Code, id)
	}
	assert.NotNil(t, rank(t, p, "YOUNG", pairing.Options{}).Young, "where it should be when it is of age")
	r, err := pairing.NewRanker(t.Context(), decide(t, p), pairing.Options{})
	require.NoError(t, err)
	for id, code := range map[string]pairing.Code{"DEAD": pairing.Dead, "GONE": pairing.Gone} {
		_, err := r.Rank(t.Context(), index(t, p, id))
		var no *pairing.NoMateError
		require.ErrorAs(t, err, &no, id)
		assert.Equal(t, code, no.Why.Code)
		assert.ErrorContains(t, err, "not among the living")
	}
	_, err = p.Bird("f1")
	assert.ErrorContains(t, err, "did you mean F1?")
}

// For a bonded bird its own mate stands first, and the others are what it could
// have if the two were parted.
func TestOwnMateComesFirst(t *testing.T) {
	p := programmeOf(t, "studbook.csv", flock+"S1,M,M1,F1,2020-05-01,A,captive\nF5,F,wild,wild,2018-05-01,A,wild\n",
		"bonds.csv", flockBonds+"F5,S1,2022-01-01\n", "programme.toml", settings)
	out := rank(t, p, "F5", pairing.Options{})
	assert.Equal(t, pairing.StateBonded, out.Standing.State)
	require.Equal(t, "S1 M4", ranked(p, out), "M4 alone is free besides")
	first, other := out.Candidates[0], out.Candidates[1]
	assert.Equal(t, "F5", first.BondedTo)
	assert.True(t, first.Decided && first.KnownBond)
	assert.Greater(t, other.Advantage, first.Advantage, "it stands first because it is the mate, not by its figures")
	require.NotNil(t, out.Bond)
	assert.Equal(t, pairing.BondKept, out.Bond.Kind)
}

// All of these founders are worth the same, so what costs the birds less decides:
// a known bond before a new one, no move before a move, nearer before farther, a
// place on the map before one that is not. M3 and M7 are taken by others.
func TestAlikeMatesAreOrderedByCostToTheBirds(t *testing.T) {
	p := programmeOf(t,
		"studbook.csv", `id,sex,sire,dam,hatch_date,location
F,F,wild,wild,2015,A
FB,F,wild,wild,2015,A
M1,M,wild,wild,2015,FAR
M2,M,wild,wild,2015,NEAR
M3,M,wild,wild,2015,A
M4,M,wild,wild,2015,A
M5,M,wild,wild,2015,A
M6,M,wild,wild,2015,UNPLACED
M7,M,wild,wild,2015,A
FC,F,wild,wild,2015,A
`,
		"bonds.csv", "female,male,since,until\nFB,M3,2020-03-01,\nF,M5,2020-03-01,2022-01-01\nF,M7,2017-03-01,2018-01-01\nFC,M7,2020-03-01,\n",
		"institutions.csv", "code,latitude,longitude\nA,50,8\nNEAR,51,8\nFAR,55,8\nUNPLACED,,\n", "programme.toml", settings)
	out := rank(t, p, "F", pairing.Options{})
	assert.Equal(t, "M5 M4 M2 M1 M6", ranked(p, out))
	assert.True(t, out.AllAlike)
	assert.True(t, out.Candidates[0].Decided)
}

// F 0 is preferred, whatever the setting; a bird that may not breed is no mate.
func TestNoInbreedingIsPreferred(t *testing.T) {
	p := programmeOf(t,
		"studbook.csv", "id,sex,sire,dam,hatch_date\nF,F,wild,wild,2015\nOLD,M,wild,wild,1990\nM,M,wild,wild,2015\n",
		"programme.toml", settings+"[limits]\npreferred_inbreeding = 0\n")
	out := rank(t, p, "F", pairing.Options{})
	assert.Equal(t, "M", ranked(p, out))
	assert.Equal(t, pairing.Recommended, out.Candidates[0].Verdict)
	require.Len(t, out.RuledOut, 1)
	assert.Equal(t, pairing.TooOld, out.RuledOut[0].Reasons[0].Code)
	assert.Equal(t, 20.0, out.RuledOut[0].Reasons[0].Other)
}

func TestNothingToCompareWith(t *testing.T) {
	p := programmeOf(t, "studbook.csv", "id,sex,sire,dam,hatch_date\nF,F,wild,wild,2015\nM,M,wild,wild,2015\n", "programme.toml", settings)
	out := rank(t, p, "F", pairing.Options{})
	assert.True(t, out.AllAlike)
	assert.Equal(t, 1, out.EligiblePairs)
	assert.Equal(t, pairing.Recommended, out.Candidates[0].Verdict)

	alone := programmeOf(t, "studbook.csv", "id,sex,sire,dam,hatch_date\nF,F,wild,wild,2015\n", "programme.toml", settings)
	out = rank(t, alone, "F", pairing.Options{})
	assert.Empty(t, out.Candidates)
	assert.Equal(t, pairing.NoOtherBird, out.Alone.Code)
}

// anyAge lets nearly every bird of a random flock breed with any other.
const anyAge = "[breeding_age]\nfemale = [1, 60]\nmale = [1, 60]\n[limits]\ninbreeding = 0.9\npreferred_inbreeding = 0.2\n[survival]\nfirst_year = 0.7\nyearly = 0.95\n"

// uncertainFlock draws a studbook with uncertain parents.
func uncertainFlock(random *rand.Rand, birds int) string {
	var b strings.Builder
	b.WriteString("id,sex,sire,dam,hatch_date,location,origin\n")
	parent := func(i, sex int) string {
		pick := func() int { return (max(0, i-2-random.IntN(14)) &^ 1) | sex }
		if random.IntN(6) == 0 {
			if x, y := pick(), pick(); x != y {
				return fmt.Sprintf("B%03d=0.6; B%03d=0.4", x, y)
			}
		}
		return fmt.Sprintf("B%03d", pick())
	}
	for i := range birds {
		sex := "FM"[i%2]
		if i < 8 {
			fmt.Fprintf(&b, "B%03d,%c,wild,wild,%d,P%d,wild\n", i, sex, 1984+i, i%3)
			continue
		}
		fmt.Fprintf(&b, "B%03d,%c,%s,%s,%d,P%d,captive\n", i, sex, parent(i, 1), parent(i, 0), 1984+i, random.IntN(3))
	}
	return b.String()
}

// matrixWith returns the kinship matrix of the living with a chick of two birds,
// which comes last, from a pedigree that has it in, and F of the chick.
func matrixWith(t *testing.T, p *pairing.Programme, sire, dam string) (at func(i, j int) float64, f float64) {
	t.Helper()
	one := func(id string) studbook.Parentage {
		return studbook.Parentage{Candidates: []studbook.Candidate{{ID: id, Weight: 1}}}
	}
	birds := append(slices.Clone(p.Book.Birds), studbook.Bird{ID: "chick", Sire: one(sire), Dam: one(dam), Recorded: true})
	ped, err := pedigree.New(t.Context(), birds, nil)
	require.NoError(t, err)
	var nodes []int
	for _, b := range append(slices.Clone(p.Book.Living), len(birds)-1) {
		n, ok := ped.Index(birds[b].ID)
		require.True(t, ok)
		nodes = append(nodes, n)
	}
	m, err := ped.KinshipMatrix(t.Context(), nodes)
	require.NoError(t, err)
	chick, _ := ped.Index("chick")
	return m.At, ped.F(chick)
}

// The gain is what a pedigree with the chick in it says: property on random
// flocks against the definition, 1 − mean of the kinship matrix with the chick as a
// member; that of the advantage is the mean weighted by worth, the chick's being 1
// (methods of the season's decision), over that of the average eligible pair.
func TestGainIsThatOfTheRebuiltPedigree(t *testing.T) {
	for seed := range uint64(12) {
		p := programmeOf(t, "studbook.csv", uncertainFlock(rand.New(rand.NewPCG(seed, 3)), 26), "programme.toml", anyAge)
		out := rank(t, p, "B020", pairing.Options{BreakBonds: true, Samples: 4, Seed: 1})
		require.NotEmpty(t, out.Candidates)
		diversity := func(at func(i, j int) float64, n int, weigh bool) float64 {
			w := func(i int) float64 {
				if !weigh || i == len(p.Book.Living) {
					return 1
				}
				return p.Worth(p.Book.Living[i])
			}
			sum, total := 0.0, 0.0
			for i := range n {
				total += w(i)
				for j := range n {
					sum += w(i) * w(j) * at(i, j)
				}
			}
			return 1 - sum/(total*total)
		}
		n := len(p.Book.Living)
		gain := func(sire, dam string) (plain, weighted, f float64) {
			at, f := matrixWith(t, p, sire, dam)
			return diversity(at, n+1, false) - diversity(at, n, false), diversity(at, n+1, true) - diversity(at, n, true), f
		}
		pairs, sum := 0, 0.0
		for _, f := range p.Book.Living {
			for _, m := range p.Book.Living {
				if p.Book.Birds[f].Sex != studbook.Female || p.Book.Birds[m].Sex != studbook.Male ||
					!p.State(f).State.MayBreed() || !p.State(m).State.MayBreed() {
					continue
				}
				if _, weighted, kinship := gain(p.Book.Birds[m].ID, p.Book.Birds[f].ID); kinship < 0.9 {
					pairs++
					sum += weighted
				}
			}
		}
		assert.Equal(t, pairs, out.EligiblePairs)
		for _, c := range out.Candidates {
			plain, weighted, f := gain(p.Book.Birds[c.Bird].ID, "B020")
			assert.InDelta(t, plain, c.GeneDiversityGain, 1e-12)
			assert.InDelta(t, f, c.OffspringInbreeding, 1e-12)
			assert.InDelta(t, weighted-sum/float64(pairs), c.Advantage, 1e-12)
			assert.Equal(t, c.NetGain > 0, c.Verdict.Good(), "no bird without a net gain is advised")
		}
	}
}

func TestRankConfidence(t *testing.T) {
	p := programmeOf(t, "studbook.csv", uncertainFlock(rand.New(rand.NewPCG(2, 3)), 40), "programme.toml", anyAge)
	out := rank(t, p, "B030", pairing.Options{Samples: 100, Seed: 1})
	require.True(t, out.Uncertain)
	best, among := 0.0, 0.0
	for _, c := range out.Candidates {
		assert.GreaterOrEqual(t, c.AmongFirstIn, c.BestIn)
		best, among = best+c.BestIn, among+c.AmongFirstIn
	}
	assert.InDelta(t, 1, best, 1e-12, "one mate is the best in every pedigree")
	assert.InDelta(t, 3, among, 1e-12, "and three are among the first three")
	assert.Less(t, out.Candidates[0].BestIn, 1.0)
	assert.Equal(t, out, rank(t, p, "B030", pairing.Options{Samples: 100, Seed: 1}))

	certain := rank(t, programmeOf(t, everyRule...), "F1", pairing.Options{})
	assert.False(t, certain.Uncertain)
	assert.Equal(t, []float64{1, 1}, []float64{certain.Candidates[0].BestIn, certain.Candidates[1].AmongFirstIn})
	assert.Zero(t, certain.Candidates[1].BestIn)
}

// Two males can have been the sire of X, one as well as the other: whichever it
// was is no mate for her, as F of a chick would be 1/4, so each is the best mate
// in the pedigrees in which the other is her sire. 2,000 draws of one half have
// a standard error of 0.011.
func TestUnknownParentsAreDrawnFromThoseThatCouldHaveBeenIt(t *testing.T) {
	p := programmeOf(t,
		"studbook.csv", `id,sex,sire,dam,hatch_date,location,origin
D,F,wild,wild,2000,A,wild
M1,M,wild,wild,2000,A,wild
M2,M,wild,wild,2000,A,wild
M3,M,wild,wild,2020,A,wild
X,F,,D,2015-05-01,A,captive
`,
		"programme.toml", "[breeding_age]\nfemale = [2, 40]\nmale = [2, 40]\n")
	out := rank(t, p, "X", pairing.Options{Samples: 2000, Seed: 7})
	require.True(t, out.Uncertain)
	m1, m2, m3 := candidate(t, p, out, "M1"), candidate(t, p, out, "M2"), candidate(t, p, out, "M3")
	assert.InDelta(t, m1.BestIn, m2.BestIn, 0.05)
	assert.InDelta(t, 1, m1.BestIn+m2.BestIn+m3.BestIn, 1e-12)
	assert.Equal(t, pairing.Recommended, m3.Verdict, "he had not hatched")
	for _, c := range []pairing.Candidate{m1, m2} {
		assert.NotEqual(t, pairing.Recommended, c.Verdict, "he may be her sire")
		assert.Contains(t, codesOf(c.Reasons), pairing.MateMayBeParent)
	}
	assert.Equal(t, "M3", p.Book.Birds[out.Candidates[0].Bird].ID)
}

// The order of the rows must not change an answer.
func TestRowOrderChangesNothing(t *testing.T) {
	file := uncertainFlock(rand.New(rand.NewPCG(5, 3)), 40)
	rows := strings.Split(strings.TrimSpace(file), "\n")
	read := func(file string) *pairing.Programme {
		p := programmeOf(t, "studbook.csv", file, "programme.toml", anyAge)
		for b := range p.Book.Birds {
			p.Book.Birds[b].Line = 0
		}
		return p
	}
	want := rank(t, read(file), "B030", pairing.Options{Samples: 20, Seed: 1})
	for seed := range uint64(5) {
		body := slices.Clone(rows[1:])
		rand.New(rand.NewPCG(seed, 9)).Shuffle(len(body), func(i, j int) { body[i], body[j] = body[j], body[i] })
		p := read(rows[0] + "\n" + strings.Join(body, "\n") + "\n")
		assert.Equal(t, want, rank(t, p, "B030", pairing.Options{Samples: 20, Seed: 1}))
	}
}

func TestStopsWhenToldTo(t *testing.T) {
	p := programmeOf(t, "studbook.csv", uncertainFlock(rand.New(rand.NewPCG(5, 3)), 40), "programme.toml", anyAge)
	d := decide(t, p)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := p.Decide(ctx, pairing.DecisionOptions{})
	assert.ErrorIs(t, err, context.Canceled)
	r, err := pairing.NewRanker(t.Context(), d, pairing.Options{})
	require.NoError(t, err)
	b, err := p.Bird("B030")
	require.NoError(t, err)
	_, err = r.Rank(ctx, b)
	assert.ErrorIs(t, err, context.Canceled)
	_, err = d.Plan(ctx, pairing.PlanOptions{Whole: true, Chicks: 3})
	assert.ErrorIs(t, err, context.Canceled)
}

// TestExplained: with reasons for the best alone, nothing else of a ranking
// changes.
func TestExplained(t *testing.T) {
	p := programmeOf(t, "studbook.csv", uncertainFlock(rand.New(rand.NewPCG(7, 3)), 40), "programme.toml", anyAge)
	all, best := rank(t, p, "B030", pairing.Options{}), rank(t, p, "B030", pairing.Options{Explained: 2})
	require.Greater(t, len(all.Candidates), 2)
	for k := range all.Candidates {
		if assert.NotEmpty(t, all.Candidates[k].Reasons); k >= 2 {
			assert.Empty(t, best.Candidates[k].Reasons)
			all.Candidates[k].Reasons, all.Candidates[k].Kin = nil, pairing.KinInWords{}
		}
	}
	assert.Equal(t, all, best)
}

// Free birds at home are shown whatever their rank: M1 has a failing record, and
// nine better ones live elsewhere.
func TestFreeBirdsAtHomeAreAlwaysShown(t *testing.T) {
	rows := "id,sex,sire,dam,hatch_date,location,origin\nF,F,wild,wild,2015,A,wild\nF2,F,wild,wild,2015,A,wild\nHOME,M,wild,wild,2015,A,wild\nKIN,M,HOME,F2,2019,A,captive\n"
	for k := range 9 {
		rows += fmt.Sprintf("M%d,M,wild,wild,2015,B,wild\n", k)
	}
	p := programmeOf(t, "studbook.csv", rows, "programme.toml", settings)
	out := rank(t, p, "F", pairing.Options{})
	require.Len(t, out.Candidates, 11)
	var shown []string
	for _, c := range out.Shown(3) {
		shown = append(shown, p.Book.Birds[c.Bird].ID)
	}
	assert.Subset(t, shown, []string{"HOME", "KIN"})
	assert.LessOrEqual(t, len(shown), 5)
}
