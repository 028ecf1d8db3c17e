package pairing

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// asOf is the day that the colonies of these tests are looked at.
var asOf = studbook.DayOf(2026, 6, 30)

// colony reads a colony folder given as file names and contents in turn.
func colony(t testing.TB, files ...string) *Programme {
	t.Helper()
	folder := fstest.MapFS{}
	for k := 0; k < len(files); k += 2 {
		folder[files[k]] = &fstest.MapFile{Data: []byte(files[k+1])}
	}
	c, err := studbook.Read(t.Context(), folder, "studbook.csv", studbook.Options{})
	require.NoError(t, err)
	p, err := New(t.Context(), c.At(asOf))
	require.NoError(t, err)
	return p
}

func rank(t testing.TB, p *Programme, id string, o Options) *Ranking {
	t.Helper()
	r, err := NewRanker(t.Context(), p, o)
	require.NoError(t, err)
	b, err := p.Bird(id)
	require.NoError(t, err)
	out, err := r.Rank(t.Context(), b)
	require.NoError(t, err)
	return out
}

func ids(p *Programme, out *Ranking) string {
	var s []string
	for _, c := range out.Candidates {
		s = append(s, p.Book.Birds[c.Bird].ID)
	}
	return strings.Join(s, " ")
}

func codes(t testing.TB, p *Programme, out *Ranking) map[string][]Code {
	m := map[string][]Code{}
	for _, x := range out.RuledOut {
		for _, r := range x.Reasons {
			m[p.Book.Birds[x.Bird].ID] = append(m[p.Book.Birds[x.Bird].ID], r.Code)
			assert.Same(t, &p.Book.Birds[x.Bird], r.Birds[0], "a reason is about the bird that is ruled out")
		}
	}
	return m
}

// A colony in which every rule applies to somebody. HOME and AWAY lie on one
// meridian, one degree apart.
var everyRule = []string{
	"studbook.csv", `id,sex,sire,dam,hatch_date,death_date,location,origin
F1,F,wild,wild,2010,,HOME,wild
M1,M,wild,wild,2010,,HOME,wild
M2,M,wild,wild,2011,,AWAY,wild
M3,M,wild,wild,2011,,HOME,wild
F3,F,wild,wild,2011,,HOME,wild
SON,M,M1,F1,2018,,HOME,captive
DEAD,M,wild,wild,2010,2020-01-01,HOME,wild
YOUNG,M,M2,F3,2025,,HOME,captive
OLD,M,wild,wild,1990,,HOME,wild
HELD,M,wild,wild,2012,,HOME,wild
NOSEX,U,wild,wild,2012,,HOME,wild
`,
	"bonds.csv", "female,male,since,until\nF3,M3,2020-03-01,\n",
	"holds.csv", "id,since,until,reason,blocks\nHELD,2026-01-01,,treated for a bad foot,breeding\n",
	"institutions.csv", "code,latitude,longitude\nHOME,50,8\nAWAY,51,8\n",
	"programme.toml", "home = \"HOME\"\n[breeding_age]\nfemale = [3, 25]\nmale = [3, 25]\n",
}

func TestRuledOutSaysWhy(t *testing.T) {
	p := colony(t, everyRule...)
	out := rank(t, p, "F1", Options{})
	assert.Equal(t, map[string][]Code{
		"DEAD": {Dead}, "F3": {SameSex, Bonded}, "HELD": {OnHold}, "M3": {Bonded}, "NOSEX": {SexUnknown},
		"OLD": {TooOld}, "SON": {CloseKin}, "YOUNG": {TooYoung},
	}, codes(t, p, out))
	assert.Equal(t, "M1 M2", ids(p, out), "every bird is ranked or ruled out")
	for _, x := range out.RuledOut {
		if p.Book.Birds[x.Bird].ID == "HELD" {
			assert.Equal(t, "treated for a bad foot", x.Reasons[0].Note)
		}
	}

	home := rank(t, p, "F1", Options{HomeOnly: true})
	assert.Equal(t, "M1", ids(p, home))
	assert.Equal(t, []Code{Elsewhere}, codes(t, p, home)["M2"])

	apart := rank(t, p, "F1", Options{BreakBonds: true})
	assert.Contains(t, ids(p, apart), "M3")

	strict := 0.3
	assert.Contains(t, ids(p, rank(t, p, "F1", Options{LimitInbreeding: &strict})), "SON")
}

// One degree of a meridian is 111.195 km on a sphere of the Earth's mean
// radius 6371.0088 km (2πR/360; IUGG mean radius).
func TestDistance(t *testing.T) {
	p := colony(t, everyRule...)
	km, ok := p.Distance("HOME", "AWAY")
	assert.True(t, ok)
	assert.InDelta(t, 2*math.Pi*6371.0088/360, km, 1e-9)
	_, ok = p.Distance("HOME", "NOWHERE")
	assert.False(t, ok)
	out := rank(t, p, "F1", Options{})
	assert.InDelta(t, km, out.Candidates[slices.IndexFunc(out.Candidates, func(c Candidate) bool { return c.NeedsTransfer })].Distance, 1e-9)
}

func TestBirdsThatCanHaveNoMate(t *testing.T) {
	p := colony(t, everyRule...)
	r, err := NewRanker(t.Context(), p, Options{})
	require.NoError(t, err)
	for id, says := range map[string]string{"DEAD": "not among the living", "NOSEX": "sexed first"} {
		b, err := p.Bird(id)
		require.NoError(t, err)
		_, err = r.Rank(t.Context(), b)
		assert.ErrorContains(t, err, says)
	}
	_, err = p.Bird("f1")
	assert.ErrorContains(t, err, "did you mean F1?")
}

// Candidates within 2 % of the best are ordered by what costs the birds less:
// the rule of the design. All of these founders are worth the same.
func TestAlikeMatesAreOrderedByCostToTheBirds(t *testing.T) {
	p := colony(t,
		"studbook.csv", `id,sex,sire,dam,hatch_date,location
F,F,wild,wild,2015,HOME
FB,F,wild,wild,2015,HOME
M1,M,wild,wild,2015,FAR
M2,M,wild,wild,2015,NEAR
M3,M,wild,wild,2015,HOME
M4,M,wild,wild,2015,HOME
M5,M,wild,wild,2015,HOME
M6,M,wild,wild,2015,UNPLACED
M7,M,wild,wild,2015,HOME
FC,F,wild,wild,2015,HOME
`,
		"bonds.csv", "female,male,since,until\nFB,M3,2020-03-01,\nF,M5,2020-03-01,2022-01-01\nF,M7,2017-03-01,2018-01-01\nFC,M7,2020-03-01,\n",
		"institutions.csv", "code,latitude,longitude\nHOME,50,8\nNEAR,51,8\nFAR,55,8\nUNPLACED,,\n")
	out := rank(t, p, "F", Options{BreakBonds: true})
	assert.Equal(t, "M5 M4 M7 M3 M2 M1 M6", ids(p, out), "a former mate that is bonded to another now is not free")
}

// The groups of the 2 % rule begin at the best that is not yet placed: worked
// by hand, with gains below zero too.
func TestOrder(t *testing.T) {
	candidates := []Candidate{
		{Bird: 1, Verdict: Recommended, ExpectedGain: 1, NeedsTransfer: true},
		{Bird: 2, Verdict: Recommended, ExpectedGain: 0.985},
		{Bird: 3, Verdict: Recommended, ExpectedGain: 0.9799}, // within 2 % of 2, not of 1
		{Bird: 4, Verdict: NotAdvised, GeneDiversityGain: 0, NeedsTransfer: true},
		{Bird: 5, Verdict: NotAdvised, GeneDiversityGain: -1, BondedTo: "OTHER"},
		{Bird: 6, Verdict: NotAdvised, GeneDiversityGain: -1.019},
		{Bird: 7, Verdict: NotAdvised, GeneDiversityGain: -1.0201, ExpectedGain: -0.1}, // few chicks lift nobody
		{Bird: 8, Verdict: Acceptable, ExpectedGain: 5},                                // behind what is recommended
	}
	(&Ranking{id: "ME", Compared: true}).order(candidates)
	var got []int
	for _, c := range candidates {
		got = append(got, c.Bird)
	}
	assert.Equal(t, []int{2, 1, 3, 8, 4, 6, 5, 7}, got)
}

// A pair that may not breed is none of the pairs that others are compared with.
func TestUnfitPairIsComparedWithTheOnlyOther(t *testing.T) {
	p := colony(t,
		"studbook.csv", "id,sex,sire,dam,hatch_date\nF,F,wild,wild,2015\nOLD,M,wild,wild,1990\nM,M,wild,wild,2015\n",
		"programme.toml", "[breeding_age]\nfemale = [3, 25]\nmale = [3, 25]\n[limits]\npreferred_inbreeding = 0\n")
	r, err := NewRanker(t.Context(), p, Options{})
	require.NoError(t, err)
	c, against, compared := r.Pair(0, 2)
	require.Len(t, against, 1)
	assert.Equal(t, TooOld, against[0].Code)
	assert.Equal(t, "OLD", against[0].Birds[0].ID)
	assert.Equal(t, 25.0, against[0].Other)
	assert.Equal(t, RuledOut, c.Verdict)
	assert.True(t, compared)
	c, against, compared = r.Pair(0, 1)
	assert.Empty(t, against)
	assert.False(t, compared, "the two are the only pair")
	assert.Equal(t, Recommended, c.Verdict, "F 0 is preferred, whatever the setting")
}

func TestNothingToCompareWith(t *testing.T) {
	p := colony(t, "studbook.csv", "id,sex,sire,dam,hatch_date\nF,F,wild,wild,2015\nM,M,wild,wild,2015\n")
	out := rank(t, p, "F", Options{})
	assert.False(t, out.Compared)
	assert.Equal(t, Recommended, out.Candidates[0].Verdict)

	alone := colony(t, "studbook.csv", "id,sex,sire,dam,hatch_date\nF,F,wild,wild,2015\n")
	assert.Empty(t, rank(t, alone, "F", Options{}).Candidates)
}

// The chance of success: hand-worked beta-binomial shrinkage of methods.md
// section 7 (weights are common practice, no source). Six clutches, three
// fledged: the programme's rate is (3+10·0.5)/(6+10) = 0.5.
func TestSuccessIsShrunk(t *testing.T) {
	p := colony(t,
		"studbook.csv", `id,sex,sire,dam,hatch_date
F1,F,wild,wild,2015-05-01
F2,F,wild,wild,2015-05-01
M1,M,wild,wild,2015-05-01
M2,M,wild,wild,2015-05-01
`,
		"clutches.csv", `female,male,laid,eggs,fertile,hatched,fledged
F1,M1,2020-04-01,2,2,1,1
F1,M1,2021-04-01,2,2,1,1
F1,M1,2022-04-01,2,2,1,1
F2,M2,2020-04-01,2,0,0,0
F2,M2,2021-04-01,2,0,0,0
F2,M2,2022-04-01,2,0,0,0
`,
		"programme.toml", "[breeding_age]\nfemale = [3, 20]\nmale = [3, 20]\n")
	bird := func(id string) int {
		b, err := p.Bird(id)
		require.NoError(t, err)
		return b
	}
	// Age class "prime": 3 of 6 clutches for each sex, so (3+10·0.5)/(6+10) = 0.5.
	// With other mates neither F1 nor M2 has a clutch: both stay at 0.5.
	known := p.Success(bird("F1"), bird("M1"))
	assert.InDelta(t, 0.5, known.Female.Rate(), 1e-12)
	assert.InDelta(t, (3+4*0.5)/(3+4), known.Chance, 1e-12)
	// F1 with M2: her 3 of 3 gives (3+4·0.5)/7, his 0 of 3 gives (0+4·0.5)/7.
	crossed := p.Success(bird("F1"), bird("M2"))
	assert.InDelta(t, (5.0/7+2.0/7)/2, crossed.Chance, 1e-12)
	assert.Less(t, p.Success(bird("F2"), bird("M2")).Chance, crossed.Chance)
}

// anyAge lets nearly every bird of a random colony breed with any other.
const anyAge = "[breeding_age]\nfemale = [1, 60]\nmale = [1, 60]\n[limits]\ninbreeding = 0.9\npreferred_inbreeding = 0.2\n"

// randomColony draws a colony folder with uncertain parents.
func randomColony(random *rand.Rand, birds int) string {
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

// The gain is what a pedigree with the chick in it says: property on random
// colonies against the definition, 1 − mean of the kinship matrix with the
// chick as a member. The average is that over all pairs, bonds or not; no bird
// with an advantage of zero or below is advised.
func TestGainIsThatOfTheRebuiltPedigree(t *testing.T) {
	for seed := range uint64(20) {
		random := rand.New(rand.NewPCG(seed, 3))
		file := randomColony(random, 26)
		p := colony(t, "studbook.csv", file, "programme.toml", anyAge)
		out := rank(t, p, "B020", Options{BreakBonds: true, Samples: 4, Seed: 1})
		require.NotEmpty(t, out.Candidates)
		pairs, sum := 0, 0.0
		for _, f := range p.Book.Living {
			for _, m := range p.Book.Living {
				kinship := p.Pedigree.Kinship(p.Node(f), p.Node(m))
				if p.Book.Birds[f].Sex == studbook.Female && p.Book.Birds[m].Sex == studbook.Male && kinship <= 0.9 &&
					len(p.Unfit(f)) == 0 && len(p.Unfit(m)) == 0 {
					pairs++
					sum += p.Living.GainFromChick(p.Node(f), p.Node(m), kinship)
				}
			}
		}
		assert.Equal(t, pairs, out.EligiblePairs)
		assert.InDelta(t, sum/float64(pairs), out.AverageGain, 1e-12)
		for _, c := range out.Candidates {
			assert.Equal(t, c.Advantage > 0, c.Verdict.Good())
			birds := slices.Clone(p.Book.Birds)
			mate := p.Book.Birds[c.Bird].ID
			one := func(id string) studbook.Parentage {
				return studbook.Parentage{Candidates: []studbook.Candidate{{ID: id, Weight: 1}}}
			}
			birds = append(birds, studbook.Bird{ID: "chick", Sire: one(mate), Dam: one("B020"), Recorded: true})
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
			sum := 0.0
			for i := range nodes {
				for j := range nodes {
					sum += m.At(i, j)
				}
			}
			before, _ := p.Living.GeneDiversity()
			after := 1 - sum/float64(len(nodes)*len(nodes))
			assert.InDelta(t, after-before, c.GeneDiversityGain, 1e-12)
			chick, _ := ped.Index("chick")
			assert.InDelta(t, ped.F(chick), c.OffspringInbreeding, 1e-12)
			assert.InDelta(t, c.GeneDiversityGain-out.AverageGain, c.Advantage, 1e-15)
		}
	}
}

func TestRankConfidence(t *testing.T) {
	p := colony(t, "studbook.csv", randomColony(rand.New(rand.NewPCG(2, 3)), 40), "programme.toml", anyAge)
	out := rank(t, p, "B030", Options{Samples: 100, Seed: 1})
	require.True(t, out.Uncertain)
	best, among := 0.0, 0.0
	for _, c := range out.Candidates {
		assert.GreaterOrEqual(t, c.AmongFirstIn, c.BestIn)
		best, among = best+c.BestIn, among+c.AmongFirstIn
	}
	assert.InDelta(t, 1, best, 1e-12, "one mate is the best in every pedigree")
	assert.InDelta(t, 3, among, 1e-12, "and three are among the first three")
	assert.Less(t, out.Candidates[0].BestIn, 1.0)
	assert.Equal(t, out, rank(t, p, "B030", Options{Samples: 100, Seed: 1}))

	certain := rank(t, colony(t, everyRule...), "F1", Options{})
	assert.False(t, certain.Uncertain)
	assert.Equal(t, []float64{1, 1}, []float64{certain.Candidates[0].BestIn, certain.Candidates[1].AmongFirstIn})
	assert.Zero(t, certain.Candidates[1].BestIn)
}

// Two males can have been the sire of X, one as well as the other: whichever it
// was is no mate for her, as F of a chick would be 1/4, so each is the best mate
// in the pedigrees in which the other is her sire. 2,000 draws of one half have
// a standard error of 0.011.
func TestUnknownParentsAreDrawnFromThoseThatCouldHaveBeenIt(t *testing.T) {
	p := colony(t,
		"studbook.csv", `id,sex,sire,dam,hatch_date,location,origin
D,F,wild,wild,2000,HOME,wild
M1,M,wild,wild,2000,HOME,wild
M2,M,wild,wild,2000,HOME,wild
M3,M,wild,wild,2020,HOME,wild
X,F,,D,2015-05-01,HOME,captive
`,
		"programme.toml", "[breeding_age]\nfemale = [2, 40]\nmale = [2, 40]\n")
	out := rank(t, p, "X", Options{Samples: 2000, Seed: 7})
	require.True(t, out.Uncertain)
	shares := map[string]Candidate{}
	for _, c := range out.Candidates {
		shares[p.Book.Birds[c.Bird].ID] = c
	}
	for _, id := range []string{"M1", "M2"} {
		assert.InDelta(t, 0.5, shares[id].BestIn+shares["M3"].BestIn/2, 0.05, id)
	}
	assert.InDelta(t, 1, shares["M1"].BestIn+shares["M2"].BestIn+shares["M3"].BestIn, 1e-12)
	assert.Equal(t, Recommended, shares["M3"].Verdict, "he had not hatched")
	for _, id := range []string{"M1", "M2"} {
		assert.Equal(t, Acceptable, shares[id].Verdict, "he may be her sire")
		assert.Equal(t, MateMayBeParent, shares[id].Doubts[0].Code)
	}
}

// The order of the rows must not change an answer.
func TestRowOrderChangesNothing(t *testing.T) {
	file := randomColony(rand.New(rand.NewPCG(5, 3)), 40)
	rows := strings.Split(strings.TrimSpace(file), "\n")
	read := func(file string) *Programme {
		p := colony(t, "studbook.csv", file, "programme.toml", anyAge)
		for b := range p.Book.Birds {
			p.Book.Birds[b].Line = 0
		}
		return p
	}
	want := rank(t, read(file), "B030", Options{Samples: 20, Seed: 1})
	for seed := range uint64(5) {
		body := slices.Clone(rows[1:])
		rand.New(rand.NewPCG(seed, 9)).Shuffle(len(body), func(i, j int) { body[i], body[j] = body[j], body[i] })
		p := read(rows[0] + "\n" + strings.Join(body, "\n") + "\n")
		assert.Equal(t, want, rank(t, p, "B030", Options{Samples: 20, Seed: 1}))
	}
}

func TestStopsWhenToldTo(t *testing.T) {
	p := colony(t, "studbook.csv", randomColony(rand.New(rand.NewPCG(5, 3)), 40), "programme.toml", anyAge)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := NewRanker(ctx, p, Options{})
	assert.ErrorIs(t, err, context.Canceled)
}

// Half of a chick's genes come from each parent, so a gap carries half of what
// flows through the chick: worked by hand on three living birds, of which X
// and its chick Y descend from the unknown sire.
func TestGaps(t *testing.T) {
	p := colony(t,
		"studbook.csv", `id,sex,sire,dam,hatch_date,death_date,location,origin
A,F,wild,wild,2000-05-01,,HOME,wild
M1,M,wild,wild,2000-05-01,2020-01-01,HOME,wild
M2,M,wild,wild,2000-05-01,2001-01-01,HOME,wild
M3,M,wild,wild,2000-05-01,2020-01-01,AWAY,wild
X,F,,A,2010-05-01,,HOME,captive
Y,M,M1=0.5; M3=0.4,X,2015-05-01,,HOME,captive
`)
	gaps := p.Gaps()
	require.Len(t, gaps, 2)
	assert.Equal(t, "X", p.Book.Birds[gaps[0].Bird].ID)
	assert.Equal(t, studbook.Male, gaps[0].Sex)
	assert.InDelta(t, (1.0/3+1.0/6)/2, gaps[0].Share, 1e-15)
	assert.Equal(t, []string{"M1"}, gaps[0].Possible)
	assert.Equal(t, "Y", p.Book.Birds[gaps[1].Bird].ID)
	assert.InDelta(t, 1.0/6, gaps[1].Share, 1e-15)
	assert.Equal(t, []string{"M1", "M3"}, gaps[1].Named)
}

// TestColony: the colony meant where none is named.
func TestColony(t *testing.T) {
	const head = "id,sex,sire,dam,hatch_date,death_date,location\n"
	for _, tt := range []struct{ name, birds, want, fault string }{
		{"one place", "A,M,,,2015,,X\nB,F,,,2015,,X\n", "X", ""},
		{"one place, and a bird of no known place", "A,M,,,2015,,X\nB,F,,,2015,,\n", "X", ""},
		{"no known place", "A,M,,,2015,,\nB,F,,,2015,,\n", "", ""},
		{"two places, and a bird of no known place", "A,M,,,2015,,X\nB,F,,,2015,,\nC,F,,,2015,,Y\n", "", "live at X, Y"},
		{"none alive", "A,M,,,2015,2016,X\n", "", "no bird"},
	} {
		got, err := colony(t, "studbook.csv", head+tt.birds).Colony("")
		assert.Equal(t, tt.want, got, tt.name)
		if tt.fault == "" {
			assert.NoError(t, err, tt.name)
		} else {
			assert.ErrorContains(t, err, tt.fault, tt.name)
		}
	}
}

// TestExplained: with reasons for the best alone, nothing else of a ranking
// changes.
func TestExplained(t *testing.T) {
	p := colony(t, "studbook.csv", randomColony(rand.New(rand.NewPCG(7, 3)), 40), "programme.toml", anyAge)
	females := p.fit(studbook.Female)
	require.NotEmpty(t, females)
	id := p.Book.Birds[females[0]].ID
	all, best := rank(t, p, id, Options{}), rank(t, p, id, Options{Explained: 2})
	require.Greater(t, len(all.Candidates), 2)
	for k := range all.Candidates {
		if assert.NotEmpty(t, all.Candidates[k].Reasons); k >= 2 {
			assert.Empty(t, best.Candidates[k].Reasons)
			all.Candidates[k].Reasons, all.Candidates[k].Kin = nil, KinInWords{}
		}
	}
	assert.Equal(t, all, best)
}

// Without locations the colony is the programme (design of the colony folder),
// whether or not it is called by the name that programme.toml gives it.
func TestColonyWithoutLocations(t *testing.T) {
	p := colony(t, "studbook.csv", "id,sex,sire,dam,hatch_date\nF,F,,,2015\n", "programme.toml", "home = \"HOME\"\n")
	for _, code := range []string{"", "HOME"} {
		place, err := p.Colony(code)
		require.NoError(t, err)
		assert.Empty(t, place)
	}
	_, err := p.Colony("AWAY")
	assert.ErrorContains(t, err, "AWAY")
}
