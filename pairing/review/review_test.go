package review_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pairing/review"
	"pairwright/pairing/transfer"
	"pairwright/pedigree"
	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// rounding is what two ways to add up the same kinships may differ by.
const rounding = 1e-12

var today = studbook.DayOf(lastYear, time.December, 31)

// Every year of a history is what a programme computed anew from that day's
// snapshot says, though all years share the pedigree of the last day.
func TestHistoryIsTimeTravel(t *testing.T) {
	for seed := range uint64(6) {
		c := grow(t, seed, size{birds: 150, years: 24, places: 3, vague: seed%2 == 1})
		p := on(t, c, studbook.DayOf(lastYear, time.June, 30))
		history := review.History(p, demography.NewCensus(p.Book), "P0")
		require.GreaterOrEqual(t, len(history), 18, "founders count from the first sign of them, so not all of the 24 years")
		assert.Equal(t, p.Book.AsOf, history[len(history)-1].Day)
		assert.Equal(t, history[0].Day.Time().Year()+len(history)-1, p.Book.AsOf.Time().Year(), "every year since the first")
		for _, y := range history {
			then := on(t, c, y.Day)
			known := then.KnownAncestry()
			for _, x := range []struct {
				pop *pedigree.Population
				got review.Figures
			}{{then.Living, y.Programme}, {then.Population(then.Book.LivingAt("P0")), y.Colony}} {
				require.Equal(t, x.pop.Size(), x.got.Size, y.Day)
				same := func(what string, got review.Number, want float64, ok bool) {
					t.Helper()
					assert.Equal(t, ok, got.Known, "%s on %s", what, y.Day)
					if ok {
						assert.InEpsilon(t, 1+want, 1+got.Value, rounding, "%s on %s", what, y.Day)
					}
				}
				gd, ok := x.pop.GeneDiversity()
				same("gene diversity", x.got.GeneDiversity, gd, ok)
				mk, ok := x.pop.MeanKinship()
				same("mean kinship", x.got.MeanKinship, mk, ok)
				f, ok := x.pop.MeanInbreeding()
				same("mean inbreeding", x.got.MeanInbreeding, f, ok)
				fge, ok := x.pop.FounderGenomeEquivalents()
				same("genome equivalents", x.got.FounderGenomeEquivalents, fge, ok)
				fe, ok := x.pop.FounderEquivalents()
				same("founder equivalents", x.got.FounderEquivalents, fe, ok)
				kappa, ok := x.pop.Mean(known)
				same("known ancestry", x.got.KnownAncestry, kappa, ok)
				ne, ok := x.pop.RealisedEffectiveSize()
				same("effective size", x.got.SizeFromInbreeding(), ne.Size, ok)
			}
			without, ok := then.WithoutFounders().GeneDiversity()
			assert.Equal(t, ok, y.Programme.WithoutFounders.Known)
			if ok {
				assert.InDelta(t, without, y.Programme.WithoutFounders.Value, rounding)
			}
		}
	}
}

// The causes lead exactly from the figures of the first day to those of the
// last, of programme and colony, whatever happened between.
func TestCausesAddUpToTheChange(t *testing.T) {
	for seed := range uint64(20) {
		c := grow(t, seed, size{birds: 160, years: 20, places: 1 + int(seed%4), vague: seed%2 == 1})
		p := on(t, c, today)
		census := demography.NewCensus(p.Book)
		for _, back := range []int{1, 4, 25} {
			since := studbook.DayOf(lastYear-back, time.July, 14)
			change := review.NewChange(p, census, "P0", since)
			then := on(t, c, since)
			total := func(get func(review.Cause) float64) (sum float64) {
				for _, cause := range change.Causes {
					sum += get(cause)
				}
				return sum
			}
			before, _ := then.Living.GeneDiversity()
			after, _ := p.Living.GeneDiversity()
			if then.Living.Size() == 0 {
				before = 0
			}
			assert.InDelta(t, after-before, change.Programme, rounding)
			assert.InDelta(t, after-before, total(func(c review.Cause) float64 { return c.Programme }), rounding)
			was, now := then.Population(then.Book.LivingAt("P0")), p.Population(p.Book.LivingAt("P0"))
			before, _ = was.GeneDiversity()
			after, _ = now.GeneDiversity()
			if was.Size() == 0 {
				before = 0
			}
			if now.Size() == 0 {
				after = 0
			}
			assert.InDelta(t, after-before, change.Colony, rounding, "seed %d, since %s", seed, since)
			count, programme, colony := 0, 0.0, 0.0
			for _, s := range change.Sums {
				count, programme, colony = count+s.Count, programme+s.Programme, colony+s.Colony
			}
			assert.Equal(t, len(change.Causes), count)
			assert.InDelta(t, change.Programme, programme, rounding)
			assert.InDelta(t, change.Colony, colony, rounding)
		}
	}
}

// Two unrelated founders and their only chick have mean kinship 5/18
// (MK-01 of the handbook's check values, by hand: S = 3/2 + 4·1/4 = 5/2 over
// 9); the founders alone 1/4. The death of the sire leaves S = 1 + 2/4 = 3/2
// over 4, mean kinship 3/8.
func TestEffectsByHand(t *testing.T) {
	c := studbooktest.Read(t, "studbook.csv", `id,sex,sire,dam,hatch_date,death_date,location,origin
A,M,wild,wild,2010-01-01,2024-09-01,HOME,wild
B,F,wild,wild,2010-01-01,,HOME,wild
C,F,A,B,2024-05-01,,HOME,captive
`, "moves.csv", "id,date,from,to\nA,2011-03-01,,HOME\nB,2011-03-01,,HOME\n")
	p := on(t, c, studbook.DayOf(2024, time.December, 31))
	change := review.NewChange(p, demography.NewCensus(p.Book), "HOME", studbook.DayOf(2023, time.December, 31))
	require.Len(t, change.Causes, 2)
	hatch, death := change.Causes[0], change.Causes[1]
	assert.Equal(t, review.HatchHere, hatch.Kind)
	assert.InDelta(t, 1.0/4-5.0/18, hatch.Programme, rounding)
	assert.Equal(t, review.DeathHere, death.Kind)
	assert.InDelta(t, 5.0/18-3.0/8, death.Programme, rounding)
	assert.InDelta(t, death.Programme, death.Colony, 0)
}

// The Ledger of a census counts the same events.
func TestCausesAreTheLedgers(t *testing.T) {
	for seed := range uint64(8) {
		c := grow(t, seed, size{birds: 200, years: 20, places: 3, vague: seed%2 == 1})
		p := on(t, c, today)
		census := demography.NewCensus(p.Book)
		since := studbook.DayOf(lastYear-7, time.July, 14)
		counts := map[review.CauseKind]int{}
		for _, s := range review.NewChange(p, census, "P0", since).Sums {
			counts[s.Kind] = s.Count
		}
		l := census.Ledger("P0", since, today)
		assert.Equal(t, [5]int{l.Hatched, l.Founders, l.Arrived, l.Departed, l.Died}, [5]int{
			counts[review.HatchHere], counts[review.FounderHere], counts[review.Arrival], counts[review.Departure], counts[review.DeathHere]})
		all := census.Ledger(demography.Programme, since, today)
		assert.Equal(t, [3]int{all.Hatched, all.Founders, all.Died}, [3]int{
			counts[review.HatchHere] + counts[review.HatchElsewhere], counts[review.FounderHere] + counts[review.FounderElsewhere],
			counts[review.DeathHere] + counts[review.DeathElsewhere]})
	}
}

// What a review says of birds, mates and pairs is what the other answers say.
func TestReviewAgreesWithOtherAnswers(t *testing.T) {
	studbooktest.WithoutRace(t)
	for seed := range uint64(4) {
		c := grow(t, seed, size{birds: 260, years: 24, places: 2, vague: seed%2 == 1})
		p := on(t, c, today)
		drop := pedigree.Drop{Iterations: 640, Seed: 3}
		rank := pairing.Options{Samples: 20, Seed: 3}
		r, err := review.New(t.Context(), p, review.Options{Colony: "P0", Drop: drop, Rank: rank})
		require.NoError(t, err)

		rows, err := p.Rows(t.Context(), false, drop)
		require.NoError(t, err)
		assert.Equal(t, rows, r.All)
		byBird := map[int]pairing.Row{}
		for _, row := range rows {
			byBird[row.Bird] = row
		}
		require.Len(t, r.Birds, len(p.Book.LivingAt("P0")))
		for k, b := range r.Birds {
			assert.Equal(t, byBird[b.Bird], b.Row)
			assert.NotEmpty(t, b.Action)
			assert.NotEmpty(t, b.Why)
			if k > 0 {
				assert.Less(t, r.Birds[k-1].Rank, b.Rank)
			}
		}

		gd, _ := p.Living.GeneDiversity()
		assert.Equal(t, gd, r.ProgrammeGenetics.GeneDiversity.Value)
		assert.Equal(t, gd, r.History[len(r.History)-1].Programme.GeneDiversity.Value)
		assert.InDelta(t, gd-r.Change.ProgrammeBefore.GeneDiversity.Value, r.Change.Programme, rounding)

		d, err := p.Decide(t.Context(), pairing.DecisionOptions{})
		require.NoError(t, err)
		chicks, why := p.ChicksNeeded("P0", false)
		plan, err := d.Plan(t.Context(), pairing.PlanOptions{Place: "P0", Chicks: chicks})
		require.NoError(t, err)
		assert.Equal(t, plan.Pairs, r.Plan.Pairs)
		assert.Equal(t, plan.Unpaired, r.Plan.Unpaired)
		assert.Equal(t, plan.Young, r.Plan.Young)
		assert.Equal(t, plan.Expected, r.Plan.Expected)
		assert.Equal(t, why, r.PlanWhy)
		ranker, err := pairing.NewRanker(t.Context(), d, rank)
		require.NoError(t, err)
		require.NotEmpty(t, r.Pairs)
		require.Len(t, r.Pairs, len(plan.Pairs))
		for _, x := range r.Pairs {
			at := slices.IndexFunc(plan.Pairs, func(y pairing.PlannedPair) bool { return y.Female == x.Female && y.Male == x.Male })
			require.GreaterOrEqual(t, at, 0)
			assert.Equal(t, plan.Pairs[at], x.PlannedPair)
			assert.NotEmpty(t, x.Why)
			assert.Equal(t, x.Kind == pairing.BondNew, x.Action == review.Form)
			if x.Action == review.Keep {
				assert.Equal(t, pairing.Planned, x.Role)
				assert.Empty(t, x.Barred)
			}
			if _, failing := x.Failing(); failing && x.Role == pairing.Rest {
				assert.Equal(t, review.Examine, x.Action)
			}
		}
		for _, b := range r.Birds {
			mate, paired := d.MateOf(b.Bird)
			switch {
			case !p.State(b.Bird).State.MayBreed():
				assert.Contains(t, []review.BirdAction{review.FindSex, review.TooYoung, review.PastBreeding, review.OnHold}, b.Action)
			case paired:
				assert.NotEqual(t, review.StayAlone, b.Action)
				assert.Equal(t, p.Book.Birds[mate].ID, b.Why[1].Birds[1].ID)
			default:
				assert.Equal(t, review.StayAlone, b.Action)
				assert.Equal(t, d.WhyAlone(b.Bird), b.Why[1])
			}
		}
		require.Len(t, r.Unpaired, len(p.Free("P0")))
		for _, u := range r.Unpaired {
			ranking, err := ranker.Rank(t.Context(), u.Bird)
			require.NoError(t, err)
			assert.Equal(t, ranking, u.Ranking)
		}
		assert.Equal(t, p.Gaps(), r.Gaps)
		moves, err := transfer.Moves(t.Context(), p, d, "P0")
		require.NoError(t, err)
		assert.Equal(t, moves, r.Transfers)
		assert.NotEmpty(t, r.Decisions)
		assert.LessOrEqual(t, len(r.Decisions), 12)
		worth := map[*studbook.Bird]float64{}
		for _, x := range r.Pairs {
			if x.Kind == pairing.BondKept && len(x.Barred) == 0 && x.Parting != nil {
				worth[&p.Book.Birds[x.Female]] = x.Parting.Worth
			}
		}
		listed, last := map[review.TaskKind]int{}, math.Inf(1)
		for _, x := range r.Decisions {
			assert.NotEmpty(t, x.Birds, x.What)
			listed[x.What]++
			if x.What == review.PartPair && worth[x.Birds[0]] > 0 {
				assert.LessOrEqual(t, worth[x.Birds[0]], last, "what is worth most stands first")
				last = worth[x.Birds[0]]
			}
		}
		left := 0
		for _, x := range r.LeftOut {
			if left += x.Count; x.What == review.PartPair {
				listed[x.What] += x.Count
			}
		}
		if left > 0 {
			lines := len(r.Decisions)
			for _, x := range r.Decisions {
				if x.Or != nil { // two things to choose from
					lines++
				}
			}
			assert.Equal(t, 12, lines, "nothing is left out while there is room")
		}
		parted := 0
		for _, x := range r.Pairs {
			if x.Action == review.Part {
				parted++
			}
		}
		assert.Equal(t, parted, listed[review.PartPair], "each pair to part has its line or is counted")

		contributions := 0.0
		for _, f := range r.Founders {
			contributions += f.Contribution
			assert.Equal(t, len(f.Carriers) > 0, f.AboutToBeLost())
		}
		assert.InDelta(t, 1, contributions, rounding)
		for _, x := range r.Inbred {
			through, parts := 0.0, 0.0
			for _, m := range x.Through {
				through += m.Contribution
			}
			for _, s := range x.Founders {
				parts += s.Part
			}
			assert.InDelta(t, x.Inbreeding, through, rounding)
			assert.InDelta(t, x.Inbreeding, parts, rounding)
		}
	}
}

// The figures of an outlook satisfy the formula they come from (Crow & Kimura
// 1970: GD_t = GD_0 (1 − 1/(2Ne))^t), each solved for another unknown.
func TestOutlookSolvesTheLossFormula(t *testing.T) {
	c := grow(t, 11, size{birds: 300, years: 30, places: 2})
	p := on(t, c, today)
	census := demography.NewCensus(p.Book)
	o := review.NewOutlook(p, census, review.History(p, census, "P0"))
	require.True(t, o.GenerationLength.Known)
	l := o.GenerationLength.Value
	after := func(ne, years float64) float64 { return o.Now.Value * math.Pow(1-1/(2*ne), years/l) }
	require.True(t, o.Required.Known)
	assert.Zero(t, o.Missed)
	assert.InDelta(t, o.Goal, after(o.Required.Value, 100), 1e-9)
	known := 0
	for _, rate := range o.Rates {
		if !rate.Ne.Known {
			continue
		}
		known++
		assert.InDelta(t, after(rate.Ne.Value, 100), rate.AtGoalYear.Value, 1e-9)
		assert.InDelta(t, o.Goal, after(rate.Ne.Value, rate.YearsHeld.Value), 1e-9)
		assert.InDelta(t, rate.Ne.Value/float64(p.Living.Size()), rate.Ratio.Value, rounding)
	}
	assert.GreaterOrEqual(t, known, 2)
	require.NotNil(t, o.Forecast)
	require.True(t, o.Forecast.Size.Known)
	assert.InDelta(t, o.Goal, after(o.Forecast.Size.Value, o.Forecast.Held.Value), 1e-9)
}

// What a back-test says is what the review of that day would have said, with
// the files as they were known then.
func TestBackTestsAreTimeTravel(t *testing.T) {
	c := grow(t, 3, size{birds: 300, years: 40, places: 2})
	outlook := func(day studbook.Day) *review.Outlook {
		p := on(t, c, day)
		census := demography.NewCensus(p.Book)
		return review.NewOutlook(p, census, review.History(p, census, "P0"))
	}
	o := outlook(today)
	require.Len(t, o.BackTests, 40-review.ForecastLeast-review.BackTestYears)
	compared := 0
	for _, b := range o.BackTests {
		then := outlook(b.On)
		assert.InDelta(t, b.Was, then.Now.Value, rounding)
		assert.InDelta(t, b.Became, outlook(b.Of).Now.Value, rounding)
		if then.Forecast == nil {
			continue
		}
		compared++
		said, within := then.Forecast.After(then.Now.Value, float64(b.Of-b.On)/studbook.DaysPerYear, review.RangeLevel)
		assert.InDelta(t, min(1, said), b.Said, 1e-9)
		assert.InDelta(t, within.Low, b.Range.Low, 1e-9)
	}
	assert.Greater(t, compared, 5)
}

// steady is a programme of sixty pairs of founders of which one bird dies every
// other year from 2001 on, while every pair in turn hatches a chick a year; no
// bird is inbred, until in the last year two siblings hatch a chick if they
// are let.
func steady(t *testing.T, siblings bool) *studbook.Colony {
	var book strings.Builder
	book.WriteString("id,sex,sire,dam,hatch_date,death_date,location,origin\n")
	arrivals := "id,date,from,to\n"
	for k := range 60 {
		arrivals += fmt.Sprintf("F%d,1995-09-01,,P0\nM%d,1995-09-01,,P0\n", k, k)
		death := [2]string{}
		if k < 12 {
			death[k%2] = fmt.Sprint(2001+2*k, "-02-01")
		}
		fmt.Fprintf(&book, "F%d,F,wild,wild,1995-05-01,%s,P0,wild\nM%d,M,wild,wild,1995-05-01,%s,P0,wild\n", k, death[0], k, death[1])
	}
	for year := 2000; year <= lastYear; year++ {
		pair := 20 + (year-2000)/2 // two chicks of each, a brother and a sister
		fmt.Fprintf(&book, "C%d,%s,M%d,F%d,%d-05-01,,P0,captive\n", year, []string{"F", "M"}[year%2], pair, pair, year)
	}
	if siblings {
		fmt.Fprintf(&book, "INBRED,F,C2001,C2000,%d-06-01,,P0,captive\n", lastYear)
	}
	return studbooktest.Read(t, "studbook.csv", book.String(), "moves.csv", arrivals)
}

// One inbred bird among a hundred is told as what it is, and turns neither the
// years of the goal nor "cannot be estimated" into a number.
func TestOneInbredBirdTurnsNothing(t *testing.T) {
	outlook := func(siblings bool) *review.Outlook {
		p := on(t, steady(t, siblings), today)
		census := demography.NewCensus(p.Book)
		return review.NewOutlook(p, census, review.History(p, census, "P0"))
	}
	without, with := outlook(false), outlook(true)
	require.NotNil(t, without.Forecast)
	require.NotNil(t, with.Forecast)
	assert.False(t, without.Rates[review.FromInbreeding].Ne.Known)
	assert.False(t, with.Rates[review.FromInbreeding].Ne.Known)
	require.True(t, without.Forecast.Held.Known)
	assert.Greater(t, without.Forecast.Held.Value, 100.0)
	assert.InEpsilon(t, without.Forecast.Held.Value, with.Forecast.Held.Value, 0.25)
	assert.InEpsilon(t, without.Forecast.Size.Value, with.Forecast.Size.Value, 0.25)
}

// What is not to be trusted is withheld, with what it takes.
func TestForecastWithheld(t *testing.T) {
	outlook := func(p *pairing.Programme) *review.Outlook {
		census := demography.NewCensus(p.Book)
		return review.NewOutlook(p, census, review.History(p, census, ""))
	}
	young := outlook(on(t, studbooktest.Read(t, "studbook.csv", "id,sex,sire,dam,hatch_date\nA,F,wild,wild,2015-05-01\nB,M,wild,wild,2015-05-01\n"), today))
	assert.Nil(t, young.Forecast)
	assert.Equal(t, &review.Withheld{Code: review.TooFewYears, Have: 10, Want: 18}, young.Withheld)
	nobody := outlook(on(t, studbooktest.Read(t, "studbook.csv", "id,sex,sire,dam,hatch_date,death_date\nA,F,wild,wild,2015-05-01,2020\n"), today))
	assert.Equal(t, &review.Withheld{Code: review.NobodyLives}, nobody.Withheld)

	// Sixty founders that hardly change, of which after 2015 all but two die:
	// no earlier year would have said so.
	var book strings.Builder
	book.WriteString("id,sex,sire,dam,hatch_date,death_date\n")
	for k := range 60 {
		death := fmt.Sprint(1996+k, "-02-01")
		if k >= 19 && k < 58 {
			death = fmt.Sprintf("%d-03-01", 2015+(k-19)/4)
		} else if k >= 58 {
			death = ""
		}
		fmt.Fprintf(&book, "A%d,F,wild,wild,1995-05-01,%s\n", k, death)
	}
	crash := outlook(on(t, studbooktest.Read(t, "studbook.csv", book.String()), today))
	assert.Nil(t, crash.Forecast)
	require.NotNil(t, crash.Withheld)
	assert.Equal(t, review.BackTestFailed, crash.Withheld.Code)
	assert.Equal(t, len(crash.BackTests), crash.Withheld.Want)
}

// A small list of clutches by hand: fledging decides, clutches without an
// outcome do not count, and the failures counted are the last in a row.
func TestPairsByTheirRecord(t *testing.T) {
	c := studbooktest.Read(t,
		"studbook.csv", `id,sex,sire,dam,hatch_date,location,origin
F1,F,wild,wild,2010,HOME,wild
M1,M,wild,wild,2010,HOME,wild
F2,F,wild,wild,2010,HOME,wild
M2,M,wild,wild,2010,HOME,wild
S1,M,M1,F1,2015,HOME,captive
D1,F,M1,F1,2016,HOME,captive
`,
		"bonds.csv", "female,male,since,until\nF1,M1,2014-03-01,\nF2,M2,2014-03-01,\nD1,S1,2019-03-01,\n",
		"clutches.csv", `female,male,laid,eggs,fertile,hatched,fledged
F1,M1,2015-04-01,2,2,1,1
F1,M1,2016-04-01,2,2,1,1
F1,M1,2017-04-01,2,1,1,0
F1,M1,2018-04-01,2,,,
F2,M2,2021-04-01,2,1,1,1
F2,M2,2022-04-01,2,1,0,0
F2,M2,2023-04-01,2,0,0,0
F2,M2,2024-04-01,2,1,1,0
F2,M2,2024-05-20,1,0,0,0
D1,S1,2025-12-20,2,,,
`,
		"programme.toml", "home = \"HOME\"\n[breeding_age]\nfemale = [3, 25]\nmale = [3, 25]\n")
	p := on(t, c, today)
	r, err := review.New(t.Context(), p, review.Options{Colony: "HOME", Drop: pedigree.Drop{Iterations: 128}})
	require.NoError(t, err)
	require.Len(t, r.Pairs, 3)
	sibs, one, two := r.Pairs[0], r.Pairs[1], r.Pairs[2]
	assert.Equal(t, "D1", p.Book.Birds[sibs.Female].ID)
	assert.Equal(t, review.Part, sibs.Action, "full siblings, F 0.25 above the limit of 0.125")
	assert.True(t, sibs.Sits)
	assert.True(t, slices.ContainsFunc(sibs.Why, func(x pairing.Reason) bool { return x.Is(review.SitsNow) }))

	assert.Equal(t, 1, one.FailedSeasons)
	assert.Equal(t, 4, one.Record.Clutches)
	assert.Equal(t, 3, one.Record.Told())
	assert.Equal(t, pairing.Counted{Sum: 2, Clutches: 3}, one.Record.Fledged)

	assert.Equal(t, 3, two.FailedSeasons)
	assert.Len(t, two.Seasons, 4)
	assert.Equal(t, review.Examine, two.Action, "three seasons failed, at whatever stage")
	assert.True(t, slices.ContainsFunc(two.Why, func(x pairing.Reason) bool {
		return x.Is(pairing.FailedChicks) && x.Count == 3
	}))

	var parted []string
	for _, x := range r.Decisions {
		if x.What == review.PartPair {
			parted = append(parted, x.Birds[0].ID)
		}
	}
	assert.Equal(t, []string{"D1"}, parted)
}

func TestLastReviewMustBeBeforeThisOne(t *testing.T) {
	p := on(t, grow(t, 1, size{birds: 40, years: 10, places: 1}), today)
	_, err := review.New(t.Context(), p, review.Options{Colony: "P0", Since: today})
	assert.EqualError(t, err, "the last review, 2025-12-31, is not before the day of this one, 2025-12-31")
	r, err := review.New(t.Context(), p, review.Options{Colony: "P0", Drop: pedigree.Drop{Iterations: 128}})
	require.NoError(t, err)
	assert.Equal(t, "2024-12-31", r.Since.String())
	leap := on(t, grow(t, 1, size{birds: 40, years: 10, places: 1}), studbook.DayOf(2024, time.February, 29))
	r, err = review.New(t.Context(), leap, review.Options{Colony: "P0", Drop: pedigree.Drop{Iterations: 128}})
	require.NoError(t, err)
	assert.Equal(t, "2023-02-28", r.Since.String())
}
