package pairing_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// TestBondsLetGoMayStay: where all bonds may be parted, a pair of two rare lines that
// no other would gain by is kept, and is no new one.
func TestBondsLetGoMayStay(t *testing.T) {
	p := programmeOf(t, "studbook.csv", strings.Replace(apart, "wild,2020-05-01,AWAY", "wild,2020-05-01,HOME", 1),
		"bonds.csv", "female,male,since\nF,M,2022\nA1,B1,2022\nA2,B2,2022\n", "programme.toml", settings)
	d, err := p.Decide(t.Context(), pairing.DecisionOptions{FreeBonds: true})
	require.NoError(t, err)
	x, ok := d.BondOf(index(t, p, "F"))
	require.True(t, ok)
	assert.Equal(t, index(t, p, "M"), x.Male)
	assert.Equal(t, pairing.BondKept, x.Kind)
	assert.Nil(t, x.Move)
	for _, y := range decide(t, p).Bonds {
		if y.Female == x.Female && y.Kind == pairing.BondKept {
			assert.Equal(t, y.Chicks, x.Chicks, "the figures of a bond that nobody asked about")
		}
	}
}

// TestClutchesWithGaps: a clutch without a day is of no season; of one without eggs
// told as many may hatch as a pair may; and a bird that lost its mate rears on.
func TestClutchesWithGaps(t *testing.T) {
	files := []string{
		"studbook.csv", "id,sex,sire,dam,hatch_date,death_date,location,origin\nF1,F,wild,wild,2015-05-01,,A,wild\nM1,M,wild,wild,2015-05-01,,A,wild\n" +
			"F2,F,wild,wild,2015-05-01,,A,wild\nM2,M,wild,wild,2015-05-01,,A,wild\nF3,F,wild,wild,2015-05-01,2026-05-15,A,wild\nM3,M,wild,wild,2015-05-01,,A,wild\n",
		"bonds.csv", "female,male,since\nF1,M1,2022-01-01\n",
		"clutches.csv", "female,male,laid,eggs,fertile,hatched\nF2,M2,unknown,2,,\nF1,M1,2026-05-01,,,\nF3,M3,2026-04-10,2,2,2\n",
		"programme.toml", settings,
	}
	p := programmeOn(t, "2026-05-20", files...)
	assert.Equal(t, pairing.StateFree, p.State(index(t, p, "F2")).State, "nobody knows when they laid")
	plan, err := decide(t, p).Plan(t.Context(), pairing.PlanOptions{Place: "A", Chicks: 2})
	require.NoError(t, err)
	require.Len(t, plan.Eggs, 1, "of the pair that sits")
	assert.Equal(t, index(t, p, "F1"), plan.Eggs[0].Female)
	for _, x := range plan.Pairs {
		if x.Female == index(t, p, "F1") {
			assert.Equal(t, 2, x.HatchUpTo, "as many as a pair may: it has settled, and what lies there stays")
		}
	}
	// He feeds her chicks, and a journey waits until they can do without.
	timing := p.Timing(index(t, p, "M3"), "A", "B")
	require.NotEmpty(t, timing.Avoid)
	assert.Equal(t, pairing.OnNest, timing.Avoid[0].Why.Code)
	_, w := heardOn(t, "2026-05-20", files, "2026-05-16,move,M3,B,agreed,,,first")
	assert.Equal(t, pairing.OnNest, w["first"].Why.Code, "he is not sent away from them")
	released, err := p.Decide(t.Context(), pairing.DecisionOptions{FreeBonds: true})
	require.NoError(t, err)
	x, _ := released.BondOf(index(t, p, "F1"))
	assert.Equal(t, pairing.BondKept, x.Kind, "a pair that sits is not parted")
}

// TestNobodyHasASeasonLeft: where all are past breeding every bird counts one, as in
// plain gene diversity.
func TestNobodyHasASeasonLeft(t *testing.T) {
	old := strings.NewReplacer("[2, 20]", "[2, 5]").Replace(settings)
	p := programmeOf(t, sixBirds[0], sixBirds[1], "programme.toml", old)
	assert.False(t, p.WorthKnown())
	d := decide(t, p)
	assert.Empty(t, d.Bonds)
	plan, err := d.Plan(t.Context(), pairing.PlanOptions{Whole: true, Chicks: 2})
	require.NoError(t, err)
	gd, ok := p.Living.GeneDiversity()
	require.True(t, ok)
	assert.InDelta(t, gd, plan.ExpectedWeighted, 1e-12, "nothing hatches, and all count alike")
}

// TestAllPairsAlike: of unrelated founders of one age no pair is ahead of another.
func TestAllPairsAlike(t *testing.T) {
	var rows strings.Builder
	rows.WriteString("id,sex,sire,dam,hatch_date,location,origin\n")
	for k := range 20 {
		fmt.Fprintf(&rows, "F%02d,F,wild,wild,2018-05-01,A,wild\nM%02d,M,wild,wild,2018-05-01,A,wild\n", k, k)
	}
	p := programmeOf(t, "studbook.csv", rows.String(), "programme.toml", settings)
	d := decide(t, p)
	assert.True(t, d.AllAlike())
	ranking := rankBy(t, p, d, "F00", pairing.Options{})
	require.Len(t, ranking.Candidates, 20)
	for _, c := range ranking.Candidates {
		assert.Zero(t, c.AheadOf)
		assert.InDelta(t, ranking.Candidates[0].Value, c.Value, 1e-12)
	}
}

// TestAgreedMoveToAnEmptyPlace: people send a bird where none lives yet; it is not
// paired at home, and what comes there counts in its room.
func TestAgreedMoveToAnEmptyPlace(t *testing.T) {
	files := append([]string{"institutions.csv", "code,spaces_f,spaces_m\nA,1,1\nB,1,1\nC,1,1\n"}, sixBirds...)
	d, w := heard(t, files, "2026-01-10,move,F1,C,agreed,,,first")
	assert.Equal(t, pairing.RulingFixed, w["first"].Standing)
	require.Len(t, d.Sent(), 1)
	for _, x := range d.Bonds {
		if x.Female == 0 {
			t.Fatal("nobody lives where it goes, and nobody is sent after it")
		}
	}
	assert.Contains(t, d.AllMoves(), pairing.PlannedMove{Bird: 0, From: "A", To: "C"})
}

// TestAgreedMoveOfAYoungBird: it goes where people send it, whatever would be best.
func TestAgreedMoveOfAYoungBird(t *testing.T) {
	files := []string{"studbook.csv", sixBirds[1] + "Y,F,wild,wild,2025-05-01,B,wild\n", "programme.toml", settings}
	d, _ := heard(t, files, "2026-01-10,move,Y,A,agreed,,,")
	young, err := d.Young(t.Context())
	require.NoError(t, err)
	require.Len(t, young, 1)
	assert.Equal(t, "B", young[0].From)
	assert.Equal(t, "A", young[0].To)
	assert.True(t, young[0].Leaves())
	assert.Less(t, young[0].Mate, 0, "nothing is promised of a bird that is sent")
}

// TestDeclinedMoveOfAYoungBird: what was declined is not proposed of a bird that comes
// of age either.
func TestDeclinedMoveOfAYoungBird(t *testing.T) {
	leaves := 0
	for seed := range uint64(40) {
		files := randomColony(seed, 3)
		files[len(files)-1] = strings.ReplaceAll(settings, "[2, 20]", "[9, 20]")
		p := programmeOf(t, files...)
		young, err := decide(t, p).Young(t.Context())
		require.NoError(t, err)
		for _, y := range young {
			if !y.Leaves() {
				continue
			}
			leaves++
			row := "2026-01-10,move," + p.Book.Birds[y.Bird].ID + "," + y.To + ",declined,,,"
			after, err := decide(t, programmeOf(t, append(files, decisions(row)...)...)).Young(t.Context())
			require.NoError(t, err)
			for _, z := range after {
				assert.False(t, z.Bird == y.Bird && z.To == y.To, "seed %d", seed)
			}
		}
	}
	assert.Greater(t, leaves, 5)
}

// TestTogetherOfNoPair: of two of one sex, of the dead and of the unsexed nothing is
// said of what a pair would do.
func TestTogetherOfNoPair(t *testing.T) {
	p := programmeOf(t, "studbook.csv", sixBirds[1]+"D,F,wild,wild,2015-05-01,A,wild\nU,U,wild,wild,2015-05-01,A,wild\n", "programme.toml", settings)
	r, err := pairing.NewRanker(t.Context(), decide(t, p), pairing.Options{Samples: 1})
	require.NoError(t, err)
	for _, two := range [][2]string{{"F1", "F2"}, {"F1", "U"}} {
		x, err := r.Together(t.Context(), index(t, p, two[0]), index(t, p, two[1]))
		require.NoError(t, err)
		assert.Nil(t, x)
	}
	x, err := r.Together(t.Context(), index(t, p, "F1"), index(t, p, "M3"))
	require.NoError(t, err)
	require.NotNil(t, x.Mate)
	assert.Empty(t, x.Against)
	assert.InDelta(t, 0.5/8, x.ChickMeanKinship, 1e-12, "of a chick, with eight unrelated birds of which two are its parents")
}

// TestProfileByHand: what is told of one bird, with its family and its past.
func TestProfileByHand(t *testing.T) {
	files := append([]string{"moves.csv", "id,date,from,to\nC1,2021-03-01,B,A\nC1,2020-09-01,A,B\nC1,2027-01-01,A,B\n",
		"clutches.csv", "female,male,laid,hatched,fledged\nF3,M3,2020-04-20,1,1\nF3,M2,2019-04-20,1,1\n",
		"bonds.csv", "female,male,since,until\nF3,M3,2020-01-10,2020-10-01\nF3,M2,2019-01-10,2019-10-01\n"},
		"studbook.csv", sixBirds[1]+"C1,F,M3,F3,2020-05-10,A,captive\nC2,M,M3=0.5; M2=0.5,F3,2019-05-10,B,captive\n", "programme.toml", settings)
	p := programmeOf(t, files...)
	r, err := pairing.NewRanker(t.Context(), decide(t, p), pairing.Options{Samples: 1})
	require.NoError(t, err)
	x, err := r.Profile(t.Context(), index(t, p, "F3"), pedigree.Drop{Iterations: 128, Seed: 1})
	require.NoError(t, err)
	assert.Equal(t, []int{index(t, p, "C2"), index(t, p, "C1")}, x.Chicks, "the elder first")
	require.Len(t, x.Clutches, 2)
	assert.Equal(t, []string{"M2", "M3"}, []string{x.Clutches[0].Male, x.Clutches[1].Male}, "in time, whatever the order of the rows")
	require.Len(t, x.Bonds, 2)
	assert.Equal(t, []string{"M2", "M3"}, []string{x.Bonds[0].Male, x.Bonds[1].Male})
	require.NotEmpty(t, x.Closest)
	assert.InDelta(t, 0.25, x.Closest[0].Kinship, 1e-12, "parent and chick")
	assert.Equal(t, index(t, p, "C1"), x.Closest[0].Bird)
	chick, err := r.Profile(t.Context(), index(t, p, "C1"), pedigree.Drop{Iterations: 128, Seed: 1})
	require.NoError(t, err)
	var days []string
	for _, m := range chick.Moves {
		days = append(days, m.Date.Text)
	}
	assert.Equal(t, []string{"2020-09-01", "2021-03-01"}, days, "in order, and none that is to come")
	assert.Equal(t, studbook.Female, p.Book.Birds[chick.Bird].Sex)
}

// A parent without a row of its own is a gap, as the finding says of it, and its half of
// the ancestry is not known; without an origin column the other founders are wild.
func TestParentWithoutARowIsAGap(t *testing.T) {
	p := programmeOf(t, "studbook.csv", "id,sex,sire,dam,hatch_date,location\nF,F,,,2015-05-01,A\nC,M,NOROW,F,2020-05-01,A\n", "programme.toml", settings)
	assert.Equal(t, 0.5, p.KnownAncestry()[p.Node(index(t, p, "C"))])
	var at []string
	for _, g := range p.Gaps() {
		at = append(at, p.Book.Birds[g.Bird].ID)
	}
	assert.Equal(t, []string{"NOROW", "NOROW"}, at, "both its parents")
}
