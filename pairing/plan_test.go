package pairing

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// example reads the invented example colony on the day its files were last
// brought up to date.
func example(t testing.TB) *Programme {
	t.Helper()
	c, err := studbook.Read(t.Context(), os.DirFS("../examples/harrow-fell"), "studbook.csv", studbook.Options{})
	require.NoError(t, err)
	p, err := New(t.Context(), c.At(c.Settings.CurrentTo))
	require.NoError(t, err)
	return p
}

func makePlan(t testing.TB, p *Programme, o PlanOptions) *Plan {
	t.Helper()
	plan, err := p.Plan(t.Context(), o)
	require.NoError(t, err)
	assert.Equal(t, plan.Bound-plan.After, plan.Gap)
	assert.GreaterOrEqual(t, plan.Gap, 0.0)
	chicks := 0
	taken := map[int]bool{}
	for _, pair := range plan.Pairs {
		chicks += pair.Chicks
		assert.False(t, taken[pair.Female] || taken[pair.Male], "a bird in two pairs")
		taken[pair.Female], taken[pair.Male] = true, true
		assert.NotEmpty(t, pair.Reasons)
	}
	assert.Equal(t, plan.Chicks, chicks)
	return plan
}

// rebuilt returns the gene diversity of the living with the chicks of some
// pairs added to the pedigree as birds of their own.
func rebuilt(t testing.TB, p *Programme, broods map[[2]int]int) float64 {
	t.Helper()
	birds := slices.Clone(p.Book.Birds)
	var living []string
	for _, b := range p.Book.Living {
		living = append(living, p.Book.Birds[b].ID)
	}
	for pair, n := range broods {
		for k := range n {
			id := fmt.Sprintf("chick %d %v", k, pair)
			birds = append(birds, studbook.Bird{ID: id, Recorded: true, Sex: studbook.Unsexed,
				Dam:  studbook.Parentage{Candidates: []studbook.Candidate{{ID: p.Book.Birds[pair[0]].ID, Weight: 1}}},
				Sire: studbook.Parentage{Candidates: []studbook.Candidate{{ID: p.Book.Birds[pair[1]].ID, Weight: 1}}}})
			living = append(living, id)
		}
	}
	q, err := pedigree.New(t.Context(), birds, foundersOn(p.Book))
	require.NoError(t, err)
	var nodes []int
	for _, id := range living {
		n, ok := q.Index(id)
		require.True(t, ok)
		nodes = append(nodes, n)
	}
	gd, ok := q.Population(nodes).GeneDiversity()
	require.True(t, ok)
	return gd
}

// smallColony invents a folder of about 14 birds at two or three places, with
// bonds, holds, spaces and uncertain parents. All are of breeding age.
func smallColony(r *rand.Rand) []string {
	founders := 4 + r.IntN(3)
	places := []string{"A", "B", "C"}[:1+r.IntN(3)]
	var book, bonds, holds, spaces strings.Builder
	book.WriteString("id,sex,sire,dam,hatch_date,death_date,location\n")
	bonds.WriteString("female,male,since\n")
	holds.WriteString("id,since,reason,blocks\n")
	spaces.WriteString("code,spaces_f,spaces_m\n")
	id := func(i int) string { return fmt.Sprintf("B%02d", i) }
	// Even birds are females. A parent is one of the last birds before the
	// chick, now and then uncertain or unknown.
	parent := func(chick, parity int) string {
		pick := func() string {
			for {
				if i := max(0, chick-2*founders) + r.IntN(min(chick, 2*founders)); i%2 == parity {
					return id(i)
				}
			}
		}
		one, other := pick(), pick()
		switch n := r.IntN(20); {
		case n == 0:
			return ""
		case n == 1 && one != other:
			return one + "=0.5;" + other + "=0.25"
		}
		return one
	}
	var females, males []int
	for i := range 14 {
		sex, at, death := "FM"[i%2], places[r.IntN(len(places))], ""
		if r.IntN(3) == 0 {
			death = "2024"
		} else if sex == 'F' {
			females = append(females, i)
		} else {
			males = append(males, i)
		}
		sire, dam := "", ""
		if i >= founders {
			sire, dam = parent(i, 1), parent(i, 0)
		}
		fmt.Fprintf(&book, "%s,%c,%s,%s,%d,%s,%s\n", id(i), sex, sire, dam, 2000+i, death, at)
		switch r.IntN(12) {
		case 0:
			fmt.Fprintf(&holds, "%s,2026-01-01,treatment,breeding\n", id(i))
		case 1:
			fmt.Fprintf(&holds, "%s,2026-01-01,treatment,moving\n", id(i))
		}
	}
	for _, f := range females {
		if len(males) > 0 && r.IntN(3) == 0 {
			k := r.IntN(len(males))
			fmt.Fprintf(&bonds, "%s,%s,2025-01-01\n", id(f), id(males[k]))
			males = slices.Delete(males, k, k+1)
		}
	}
	for _, code := range places {
		f, m := fmt.Sprint(r.IntN(3)), fmt.Sprint(r.IntN(3))
		if r.IntN(4) == 0 {
			f = ""
		}
		fmt.Fprintf(&spaces, "%s,%s,%s\n", code, f, m)
	}
	return []string{"studbook.csv", book.String(), "bonds.csv", bonds.String(), "holds.csv", holds.String(), "institutions.csv", spaces.String(),
		"programme.toml", "[breeding_age]\nfemale = [1]\nmale = [1]\n"}
}

// allPlans calls use with the broods of every plan that keeps to the options,
// told from the records alone and not with anything that Plan uses.
func allPlans(p *Programme, o PlanOptions, limit float64, use func(broods map[[2]int]int, chicks int)) {
	type spaces struct{ birds, females, males int }
	left := map[string]spaces{}
	for _, b := range p.Book.Living {
		code := p.Book.Birds[b].Location
		in, ok := p.Book.Institution(code)
		s := spaces{1000, 1000, 1000}
		if ok && in.SpacesF >= 0 {
			s.females = in.SpacesF
		}
		if ok && in.SpacesM >= 0 {
			s.males = in.SpacesM
		}
		if s.females < 1000 && s.males < 1000 {
			s.birds = s.females + s.males
		}
		left[code] = s
	}
	bonded := map[string][]string{}
	for _, bond := range p.Book.OpenBonds() {
		if !o.FreeBonds && !slices.Contains(o.Release, bond.Female) && !slices.Contains(o.Release, bond.Male) {
			bonded[bond.Female] = append(bonded[bond.Female], bond.Male)
			bonded[bond.Male] = append(bonded[bond.Male], bond.Female)
		}
	}
	var females, males []int
	for _, b := range p.Book.Living {
		if len(p.Unfit(b)) > 0 {
			continue
		}
		if p.Book.Birds[b].Sex == studbook.Female {
			females = append(females, b)
		} else {
			males = append(males, b)
		}
	}
	broods := map[[2]int]int{}
	taken := map[int]bool{}
	var next func(k, chicks, moves int)
	next = func(k, chicks, moves int) {
		if k == len(females) {
			use(broods, chicks)
			return
		}
		next(k+1, chicks, moves)
		f := females[k]
		fb := &p.Book.Birds[f]
		for _, m := range males {
			mb := &p.Book.Birds[m]
			if taken[m] || p.Pedigree.Kinship(p.Node(f), p.Node(m)) > limit ||
				len(bonded[fb.ID]) > 0 && !slices.Contains(bonded[fb.ID], mb.ID) ||
				len(bonded[mb.ID]) > 0 && !slices.Contains(bonded[mb.ID], fb.ID) ||
				!o.Whole && fb.Location != o.Place && mb.Location != o.Place {
				continue
			}
			try := func(place string, moved *studbook.Bird) {
				before := left[place]
				s, cost := before, 0
				if moved != nil {
					if _, held := p.Book.Blocked(moved.ID, studbook.BlocksMoving); held {
						return
					}
					cost = 1
					s.birds--
					if moved.Sex == studbook.Female {
						s.females--
					} else {
						s.males--
					}
				}
				for n := 1; n <= o.PerPair && chicks+n <= o.Chicks; n++ {
					s.birds--
					if s.birds < 0 || s.females < 0 || s.males < 0 || moves+cost > o.Moves {
						break
					}
					left[place] = s
					broods[[2]int{f, m}] = n
					taken[m] = true
					next(k+1, chicks+n, moves+cost)
					delete(broods, [2]int{f, m})
					taken[m] = false
				}
				left[place] = before
			}
			if fb.Location == mb.Location {
				try(fb.Location, nil)
			} else {
				try(fb.Location, mb)
				try(mb.Location, fb)
			}
		}
	}
	next(0, 0, 0)
}

// The oracle lists all plans from the records, and the gene diversity of the
// best is that of a pedigree with the chicks in it.
func TestPlanIsTheBestOfAllPlans(t *testing.T) {
	fewer, moved, parted, kept := 0, 0, 0, 0
	for seed := range uint64(250) {
		r := rand.New(rand.NewPCG(seed, 3))
		p := colony(t, smallColony(r)...)
		limit := []float64{0.3, 0.125, 0}[r.IntN(3)]
		o := PlanOptions{Whole: r.IntN(2) == 0, Place: "A", Chicks: 1 + r.IntN(4), PerPair: 1 + r.IntN(2), Moves: r.IntN(3),
			FreeBonds: r.IntN(4) == 0, LimitInbreeding: &limit, Draws: 20, Seed: seed}
		if bonds := p.Book.OpenBonds(); len(bonds) > 0 && r.IntN(2) == 0 {
			o.Release = []string{bonds[0].Female}
		}
		plan := makePlan(t, p, o)
		most, best := 0, math.Inf(-1)
		var broods map[[2]int]int
		gd := func(b map[[2]int]int, k int) float64 { // from the one-pair formula of methods, chick by chick
			now, _ := p.Living.MeanKinship()
			n := float64(p.Living.Size())
			sum := now * n * n
			for x, kx := range b {
				for y, ky := range b {
					f := func(i, j int) float64 { return p.Pedigree.Kinship(p.Node(i), p.Node(j)) }
					pairs := float64(kx * ky)
					if x == y {
						pairs = float64(kx * (kx - 1))
						sum += float64(kx) * (1 + f(x[0], x[1])) / 2
						sum += float64(kx) * n * (p.Living.MeanKinshipOf(p.Node(x[0])) + p.Living.MeanKinshipOf(p.Node(x[1])))
					}
					sum += pairs * (f(x[0], y[0]) + f(x[0], y[1]) + f(x[1], y[0]) + f(x[1], y[1])) / 4
				}
			}
			return 1 - sum/(n+float64(k))/(n+float64(k))
		}
		allPlans(p, o, limit, func(b map[[2]int]int, chicks int) {
			if chicks < most {
				return
			}
			if chicks > most {
				most, best = chicks, math.Inf(-1)
			}
			if v := gd(b, chicks); v > best {
				best, broods = v, map[[2]int]int{}
				for k, n := range b {
					broods[k] = n
				}
			}
		})
		require.Equal(t, most, plan.Chicks, "seed %d", seed)
		assert.True(t, plan.MostCertain, "seed %d", seed)
		assert.True(t, plan.Proven, "seed %d", seed)
		assert.InDelta(t, best, plan.After, 1e-12, "seed %d", seed)
		assert.GreaterOrEqual(t, plan.Bound, best-1e-12, "seed %d", seed)
		assert.InDelta(t, rebuilt(t, p, broods), plan.After, 1e-12, "seed %d", seed)

		after, err := p.After(t.Context(), plan)
		require.NoError(t, err)
		gdAfter, _ := after.Living.GeneDiversity()
		assert.InDelta(t, gdAfter, plan.After, 1e-12, "seed %d", seed)
		assert.Equal(t, p.Living.Size()+plan.Chicks, after.Living.Size())
		if plan.Random.Draws > 0 {
			assert.LessOrEqual(t, plan.Random.Mean, plan.After+1e-12, "seed %d", seed)
		}
		if plan.BondsAlone.Possible && plan.BondsAlone.Chicks == plan.Chicks {
			assert.LessOrEqual(t, plan.BondsAlone.GeneDiversity, plan.After+1e-12, "seed %d", seed)
		}
		if plan.Chicks < plan.Wanted {
			fewer++
			assert.Contains(t, plan.Notes[0], "wanted")
		}
		for _, pair := range plan.Pairs {
			if pair.Move != nil {
				moved++
			}
			if pair.KeepsBond {
				kept++
			} else if len(p.Book.Mates(p.Book.Birds[pair.Female].ID)) > 0 {
				parted++
			}
		}
	}
	assert.Greater(t, fewer, 50)
	assert.Greater(t, moved, 20)
	assert.Greater(t, parted, 5)
	assert.Greater(t, kept, 20)
}

// After a plan mates are ranked with the planned chicks among the living, the
// new pairs bonded and the movers moved.
func TestMatesAfterThePlan(t *testing.T) {
	p := example(t)
	plan := makePlan(t, p, PlanOptions{Place: "HAF", Chicks: 20, Moves: 2, FreeBonds: true, IgnoreSpaces: true, Draws: 10})
	after, err := p.After(t.Context(), plan)
	require.NoError(t, err)
	assert.Equal(t, p.Ages, after.Ages)
	moved := false
	for _, pair := range plan.Pairs {
		f, m := p.Book.Birds[pair.Female].ID, p.Book.Birds[pair.Male].ID
		assert.Equal(t, []string{m}, after.Book.Mates(f))
		for _, id := range []string{f, m} {
			assert.Equal(t, pair.Place, after.Book.Bird(id).Location)
		}
		if pair.Move != nil {
			moved = true
			assert.NotEqual(t, pair.Place, p.Book.Birds[pair.Move.Bird].Location)
		}
	}
	assert.True(t, moved)
	require.NotEmpty(t, plan.Unpaired)
	id := p.Book.Birds[plan.Unpaired[0].Bird].ID
	now, then := rank(t, p, id, Options{Samples: 1}), rank(t, after, id, Options{Samples: 1})
	assert.NotEmpty(t, then.Candidates)
	assert.NotEqual(t, now.AverageGain, then.AverageGain)
}

// Whatever the number of cores and the order of rows, the plan is the same.
func TestPlanIsTheSameEverywhere(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 3))
	files := smallColony(r)
	o := PlanOptions{Whole: true, Chicks: 4, Moves: 1, Seed: 5, Draws: 50}
	show := func(files []string) string {
		return fmt.Sprintf("%+v", *withoutPointers(makePlan(t, colony(t, files...), o)))
	}
	want := show(files)
	cores := runtime.GOMAXPROCS(1)
	assert.Equal(t, want, show(files))
	runtime.GOMAXPROCS(cores)
	rows := strings.Split(strings.TrimSpace(files[1]), "\n")
	slices.Reverse(rows[1:])
	turned := slices.Clone(files)
	turned[1] = strings.Join(rows, "\n") + "\n"
	assert.Equal(t, want, show(turned))
	assert.NotEqual(t, want, show(smallColony(r)))
}

// withoutPointers puts moves into the reasons, so that %+v shows values alone.
func withoutPointers(plan *Plan) *Plan {
	for k := range plan.Pairs {
		if m := plan.Pairs[k].Move; m != nil {
			plan.Pairs[k].Reasons = append(plan.Pairs[k].Reasons, fmt.Sprint(*m))
			plan.Pairs[k].Move = nil
		}
	}
	return plan
}

func TestProgrammePlanIsNearTheBound(t *testing.T) {
	p := example(t)
	plan := makePlan(t, p, PlanOptions{Whole: true, Chicks: 40, Moves: 2, Draws: 100, FreeBonds: true, IgnoreSpaces: true})
	assert.Less(t, plan.Gap, 0.00001)
	require.True(t, plan.BondsAlone.Possible)
	assert.Less(t, plan.BondsAlone.GeneDiversity, plan.After)
	assert.Less(t, plan.Random.Mean, plan.BondsAlone.GeneDiversity)
	assert.Equal(t, 100, plan.Random.Draws)
	after, err := p.After(t.Context(), plan)
	require.NoError(t, err)
	gd, _ := after.Living.GeneDiversity()
	assert.InDelta(t, gd, plan.After, 1e-12)
}

func TestPlanWithoutAnswer(t *testing.T) {
	adults := "[breeding_age]\nfemale = [2, 20]\nmale = [2, 20]\n"
	for _, c := range []struct {
		name, studbook, holds string
		want                  string
	}{
		{"nobody lives", "id,sex,sire,dam,hatch_date,death_date\nA,F,,,2015,2020\n", "", "there are no living birds"},
		{"one sex", "id,sex,sire,dam,hatch_date\nA,F,,,2015\nB,F,,,2016\n", "", "no male in the programme may breed now"},
		{"all too young", "id,sex,sire,dam,hatch_date\nA,F,,,2025\nB,M,,,2025\n", "", "no bird in the programme may breed now"},
		{"on hold", "id,sex,sire,dam,hatch_date\nA,F,,,2015\nB,M,,,2016\n", "A,2026-01-01,broken wing,breeding\n", "no female in the programme may breed now"},
		{"siblings alone", "id,sex,hatch_date,death_date,sire,dam\nS,M,2001,2020,,\nD,F,2001,2020,,\nA,F,2015,,S,D\nB,M,2016,,S,D\n", "", "no two birds in the programme may be paired"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := colony(t, "studbook.csv", c.studbook, "programme.toml", adults, "holds.csv", "id,since,reason,blocks\n"+c.holds)
			plan := makePlan(t, p, PlanOptions{Chicks: 3, Moves: 1})
			assert.Empty(t, plan.Pairs)
			assert.Equal(t, 3, plan.Wanted)
			assert.Zero(t, plan.Gap)
			assert.True(t, plan.Proven)
			assert.Equal(t, plan.Before, plan.After)
			assert.Contains(t, strings.Join(plan.Notes, "\n"), c.want)
			assert.False(t, plan.BondsAlone.Possible)
			assert.Zero(t, plan.Random.Draws)
		})
	}
	p := colony(t, everyRule...)
	_, err := p.Plan(t.Context(), PlanOptions{Place: "HOME", Chicks: 2, Release: []string{"NOBODY"}})
	var missing *NotFoundError
	require.ErrorAs(t, err, &missing)
	assert.Equal(t, "NOBODY", missing.ID)
}

// A pair that sits or feeds chicks is kept together, whatever is released, and
// no eggs are taken from under it. A and B have a chick already, so the plan
// has none of them.
func TestSittingPairStays(t *testing.T) {
	files := []string{"studbook.csv", `id,sex,hatch_date,sire,dam
A,F,2015,,
B,M,2015,,
C,F,2015,,
D,M,2015,,
E,M,2018,B,A
G,F,2015,,
H,M,2015,,
`, "bonds.csv", "female,male,since\nA,B,2020\nC,D,2020\nG,H,2020\n",
		"clutches.csv", "female,male,laid,eggs,hatched\nA,B,2026-06-20,2,\nC,D,2026-02-01,2,\nG,H,2026-05-01,2,1\n",
		"programme.toml", "[breeding_age]\nfemale = [2, 20]\nmale = [2, 20]\n"}
	p := colony(t, files...)
	plan := makePlan(t, p, PlanOptions{Chicks: 2, PerPair: 1, FreeBonds: true, Draws: 10})
	byFemale := map[string]EggAdvice{}
	for _, e := range plan.Eggs {
		byFemale[p.Book.Birds[e.Female].ID] = e
	}
	assert.True(t, byFemale["A"].Sits)
	assert.Zero(t, byFemale["A"].Hatch)
	assert.False(t, byFemale["A"].Replace)
	assert.Contains(t, byFemale["A"].Reason, "they sit now: leave them and their eggs undisturbed")
	assert.False(t, byFemale["G"].Sits)
	assert.Contains(t, byFemale["G"].Reason, "they may feed chicks now")
	assert.False(t, byFemale["C"].Sits, "a clutch laid five months ago is over")
	assert.Contains(t, strings.Join(plan.Notes, "\n"), "A and B sit on eggs or feed chicks: the pair is left undisturbed")
	for _, pair := range plan.Pairs {
		if female, male := p.Book.Birds[pair.Female].ID, p.Book.Birds[pair.Male].ID; female == "G" || male == "H" {
			assert.Equal(t, "G H", female+" "+male)
		}
	}
}

// Every bonded pair gets advice, the same as the plan's chicks.
func TestEggAdviceFollowsThePlan(t *testing.T) {
	p := example(t)
	plan := makePlan(t, p, PlanOptions{Place: "HAF", Chicks: 5, IgnoreSpaces: true, Draws: 10})
	bonds := 0
	for _, bond := range p.Book.OpenBonds() {
		if p.Book.Bird(bond.Female).Location == "HAF" || p.Book.Bird(bond.Male).Location == "HAF" {
			bonds++
		}
	}
	assert.Len(t, plan.Eggs, bonds)
	hatch := 0
	for _, e := range plan.Eggs {
		assert.Equal(t, e.Hatch == 0, e.Replace)
		assert.Contains(t, e.Reason, "mean kinship")
		hatch += e.Hatch
	}
	for _, pair := range plan.Pairs {
		if !pair.KeepsBond {
			hatch += pair.Chicks
		}
	}
	assert.Equal(t, 5, hatch)
	for _, u := range plan.Unpaired {
		assert.NotEmpty(t, u.Reason)
		assert.Equal(t, "HAF", p.Book.Birds[u.Bird].Location)
	}
}

func BenchmarkPlan(b *testing.B) {
	p := example(b)
	for _, c := range []struct {
		name string
		o    PlanOptions
	}{
		{"home-8-chicks", PlanOptions{Place: "HAF", Chicks: 8, IgnoreSpaces: true}},
		{"home-8-chicks-bonds-free", PlanOptions{Place: "HAF", Chicks: 8, IgnoreSpaces: true, FreeBonds: true}},
		{"programme-40-chicks-2-moves", PlanOptions{Whole: true, Chicks: 40, Moves: 2}},
		{"programme-40-chicks-2-moves-bonds-free", PlanOptions{Whole: true, Chicks: 40, Moves: 2, FreeBonds: true, IgnoreSpaces: true}},
	} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				if _, err := p.Plan(b.Context(), c.o); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
