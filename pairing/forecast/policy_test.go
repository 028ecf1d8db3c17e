package forecast

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/demography"
)

// decided is the decision at the prices of the season's decision.
var decided = Decision{BondPrice: 0.2, MovePrice: 0.3, SeasonsAhead: 3, LeastGain: 0.25}

// mostAfterSeason takes the chicks that together keep the most gene diversity at the
// end of the season, all birds alike, one by one: the decision without its look
// ahead, to be compared with it.
type mostAfterSeason struct{}

func (mostAfterSeason) Name() string { return "one-season" }

func (mostAfterSeason) choose(f *flock) {
	c := choice{f: f, cost: append([]float64(nil), f.total...), exact: true}
	c.chicks(true)
}

// policies returns all policies, from the least that is done to the most.
func policies() []Policy {
	return []Policy{Random{}, Bonds{}, AvoidInbreeding{}, StaticList{}, DynamicList{}, mostAfterSeason{}, decided}
}

// The places of some policies in policies.
const (
	random = iota
	bondsAlone
	avoiding
	static
	dynamic
	oneSeason
	decision
)

// colony is a closed programme of unrelated birds of many ages: yearly survival
// 0.75 in the first year, 0.94 after, 0.9 from 23 on and nobody above 30;
// breeding from 4 to 22.
func colony(birds, places int) (Start, Rules) {
	p := demography.Prospect{First: 4, Last: 22, Survival: make([]float64, 30)}
	for a := range p.Survival {
		switch {
		case a == 0:
			p.Survival[a] = .75
		case a > 22:
			p.Survival[a] = .9
		default:
			p.Survival[a] = .94
		}
	}
	rules := Rules{
		Female: p, Male: p, Birds: birds, MostChicks: 2,
		Chance: .6, FirstSeason: .7, LethalEquivalents: 1.57, LimitInbreeding: .125,
	}
	if places > 1 {
		for range places {
			rules.Places = append(rules.Places, int(math.Ceil(1.2*float64(birds)/float64(places))))
		}
	}
	var start Start
	for i := range birds {
		start.Birds = append(start.Birds, Bird{Sex: Female + Sex(i%2), Age: 1 + i*7%18, Place: i % places})
	}
	return start, rules
}

// The order of policies: pairing by mean kinship keeps more gene diversity than
// avoiding inbreeding, and that more than pairing at random (Montgomery et al.
// 1997, Zoo Biol 16:377; Ivy & Lacy 2012, J Hered 103:186). That the decision is
// ahead of the lists is our own claim: see BenchmarkPolicies.
func TestOrderOfPolicies(t *testing.T) {
	start, rules := colony(40, 1)
	result, err := Run(context.Background(), &start, &rules, policies(), Options{Years: 60, Runs: 48, Seed: 1})
	require.NoError(t, err)
	for k, c := range result.Courses[:decision] {
		ahead := result.Courses[decision].Years[60].Ahead[k]
		assert.Greater(t, ahead.Value, 3*ahead.SE, "the decision and %s", c.Policy)
		assert.InDelta(t, 40, c.Years[60].Size.Mean.Value, 2, c.Policy)
	}
	for _, pair := range [][2]int{{static, avoiding}, {dynamic, avoiding}, {avoiding, random}} {
		ahead := result.Courses[pair[0]].Years[60].Ahead[pair[1]]
		assert.Greater(t, ahead.Value, 3*ahead.SE, "%s and %s", result.Courses[pair[0]].Policy, result.Courses[pair[1]].Policy)
	}
	inbred := func(k int) float64 { return result.Courses[k].Years[60].Inbreeding.Mean.Value }
	assert.Less(t, inbred(avoiding), inbred(random))
}

// Where the chicks wanted take every pair there is, the decision leaves nobody
// alone: it holds as many birds as the list does.
func TestDecisionHoldsNumbers(t *testing.T) {
	start, rules := colony(60, 1)
	for age := 1; age < 30; age++ {
		rules.Female.Survival[age] = .8 // of males too: they share the table
	}
	result, err := Run(context.Background(), &start, &rules, []Policy{DynamicList{}, decided}, Options{Years: 20, Runs: 24, Seed: 1})
	require.NoError(t, err)
	for year, y := range result.Courses[0].Years {
		assert.InDelta(t, y.Size.Mean.Value, result.Courses[1].Years[year].Size.Mean.Value, 2.5, "year %d", year)
	}
	assert.Less(t, result.Courses[0].Years[20].Size.Mean.Value, 50., "the flock falls short")
}

// A price on moves makes for fewer of them.
func TestMovePrice(t *testing.T) {
	start, rules := colony(60, 3)
	free := decided
	free.MovePrice, free.LeastGain = 0, 0
	result, err := Run(context.Background(), &start, &rules, []Policy{free, decided}, Options{Years: 40, Runs: 8, Seed: 1})
	require.NoError(t, err)
	assert.Less(t, 2*result.Courses[1].Moves.Value, result.Courses[0].Moves.Value)
	assert.Positive(t, result.Courses[1].Moves.Value)
}

// BenchmarkPolicies prints the gene diversity that each policy keeps over a
// century, and fails where the decision is not ahead of every other by more than
// three standard errors after 60 and 100 years.
//
//	go test ./pairing/forecast -run XXX -bench Policies -benchtime 1x -v
func BenchmarkPolicies(b *testing.B) {
	for _, c := range []struct{ birds, places, runs int }{{40, 1, 120}, {250, 9, 40}} {
		b.Run(fmt.Sprintf("%d-birds-%d-places", c.birds, c.places), func(b *testing.B) {
			start, rules := colony(c.birds, c.places)
			for b.Loop() {
				result, err := Run(context.Background(), &start, &rules, policies(), Options{Years: 100, Runs: c.runs, Seed: 1})
				require.NoError(b, err)
				b.Log(table(result))
				for _, year := range []int{60, 100} {
					for k, other := range result.Courses[:decision] {
						if a := result.Courses[decision].Years[year].Ahead[k]; a.Value <= 3*a.SE {
							b.Errorf("after %d years the decision is ahead of %s by %.3f ± %.3f hundredths alone", year, other.Policy, 100*a.Value, 100*a.SE)
						}
					}
				}
				ahead := result.Courses[decision].Years[100].Ahead[dynamic]
				b.ReportMetric(100*ahead.Value, "hundredths-ahead")
				b.ReportMetric(100*ahead.SE, "hundredths-se")
			}
		})
	}
}

// table writes gene diversity after some years, and in hundredths how far each
// policy is ahead of the list made anew after each pair, with its standard error.
func table(r *Result) string {
	var s strings.Builder
	fmt.Fprintf(&s, "%d runs; gene diversity, and hundredths ahead of the dynamic list\n", r.Runs)
	for _, c := range r.Courses {
		fmt.Fprintf(&s, "%-22s", c.Policy)
		for _, year := range []int{14, 30, 60, 100} {
			y := c.Years[year]
			a := y.Ahead[dynamic]
			fmt.Fprintf(&s, "  %3d y %.4f %+.2f ± %.2f", year, y.GeneDiversity.Mean.Value, 100*a.Value, 100*a.SE)
		}
		fmt.Fprintf(&s, "  %.0f moves, F %.4f\n", c.Moves.Value, c.Years[100].Inbreeding.Mean.Value)
	}
	return s.String()
}

// BenchmarkRun makes one run of a century of each policy.
func BenchmarkRun(b *testing.B) {
	for _, birds := range []int{40, 400} {
		for _, p := range policies() {
			b.Run(fmt.Sprintf("%d-birds/%s", birds, p.Name()), func(b *testing.B) {
				start, rules := colony(birds, 9)
				for seed := uint64(0); b.Loop(); seed++ {
					_, err := Run(context.Background(), &start, &rules, []Policy{p}, Options{Years: 100, Runs: 1, Seed: seed, Workers: 1})
					require.NoError(b, err)
				}
			})
		}
	}
}

// BenchmarkMany makes what a forecast of a large programme takes: 1,000 runs of a
// century of three lists, and 100 of the decision, on all cores.
func BenchmarkMany(b *testing.B) {
	start, rules := colony(400, 9)
	for _, c := range []struct {
		name     string
		policies []Policy
		runs     int
	}{{"lists", []Policy{DynamicList{}, StaticList{}, AvoidInbreeding{}}, 1000}, {"decision", []Policy{decided}, 100}} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				_, err := Run(context.Background(), &start, &rules, c.policies, Options{Years: 100, Runs: c.runs, Seed: 1})
				require.NoError(b, err)
			}
		})
	}
}
