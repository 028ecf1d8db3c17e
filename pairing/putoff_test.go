package pairing_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// lateColony invents a colony at four places of two countries, between which no bird
// can move in time for the coming season, with birds that come of age for the next.
func lateColony(seed uint64) []string {
	r := rand.New(rand.NewPCG(seed, 0x6c617465))
	var rows, bonds, places strings.Builder
	rows.WriteString("id,sex,sire,dam,hatch_date,location,origin\n")
	bonds.WriteString("female,male,since\n")
	var birds, founders [2][]string
	home := map[string]string{}
	add := func(id, hatch, origin string) {
		sex, parents := r.IntN(2), [2]string{"wild", "wild"}
		for k, of := range founders {
			if len(of) > 0 {
				parents[k] = of[r.IntN(len(of))]
			}
		}
		home[id] = string(rune('A' + r.IntN(4)))
		fmt.Fprintf(&rows, "%s,%c,%s,%s,%s,%s,%s\n", id, "FM"[sex], parents[1], parents[0], hatch, home[id], origin)
		birds[sex] = append(birds[sex], id)
	}
	for k := range 8 {
		add(fmt.Sprintf("W%d", k), fmt.Sprintf("%d-05-10", 2006+r.IntN(8)), "wild")
	}
	founders = birds
	for k := range 18 {
		hatch := fmt.Sprintf("%d-05-10", 2015+r.IntN(5))
		if k >= 12 {
			hatch = "2024-06-10"
		}
		add(fmt.Sprintf("C%02d", k), hatch, "captive")
	}
	taken := map[string]bool{}
	for range 4 {
		if f, m := birds[0][r.IntN(len(birds[0]))], birds[1][r.IntN(len(birds[1]))]; !taken[f] && !taken[m] && home[f] == home[m] {
			taken[f], taken[m] = true, true
			fmt.Fprintf(&bonds, "%s,%s,2024-01-01\n", f, m)
		}
	}
	places.WriteString("code,country,quarantine_days,permit_weeks,spaces_f,spaces_m\n")
	for k := range 4 {
		fmt.Fprintf(&places, "%c,%c,30,40,%d,%d\n", 'A'+k, 'A'+k/2, r.IntN(4), r.IntN(4))
	}
	return []string{"studbook.csv", rows.String(), "bonds.csv", bonds.String(), "institutions.csv", places.String(), "programme.toml", "chicks_per_season = 2\n" + settings}
}

// TestWhyAPairIsPutOff holds what is said of mates whom no move brings in time against
// the decision, for every bird of programmes made up by chance and from both sides: who
// is said to be paired in time is, with that mate; who is said to wait is left alone for
// that reason, and so is whom it waits for.
func TestWhyAPairIsPutOff(t *testing.T) {
	studbooktest.WithoutRace(t)
	seen := map[string]int{}
	seeds := []uint64{288, 512, 563} // in which a bird waits for nobody
	for seed := range uint64(150) {
		seeds = append(seeds, seed)
	}
	for _, seed := range seeds {
		p := programmeOf(t, lateColony(seed)...)
		d := decide(t, p)
		young, err := d.Young(t.Context())
		require.NoError(t, err)
		r, err := pairing.NewRanker(t.Context(), d, pairing.Options{Samples: -1})
		require.NoError(t, err)
		all, err := r.RankAll(t.Context(), p.Book.Living)
		require.NoError(t, err)
		at := func(bird *studbook.Bird) int { b, _ := p.Book.Index(bird.ID); return b }
		putOff := map[[2]int]bool{}
		for _, out := range all {
			for k := range out.Candidates {
				c := &out.Candidates[k]
				what := fmt.Sprintf("seed %d, %s with %s", seed, p.Name(out.Bird), p.Name(c.Bird))
				why, is := d.PutOff(out.Bird, &c.Choice)
				told := slices.ContainsFunc(c.Reasons, func(r pairing.Reason) bool { return r.Is(pairing.PairedInTime, pairing.WaitsFor) })
				require.Equal(t, is, told, what)
				if !is {
					continue
				}
				if p.State(out.Bird).State == pairing.StateFree {
					putOff[[2]int{out.Bird, c.Bird}] = true
				}
				assert.Equal(t, pairing.NotAdvised, c.Verdict, what)
				who := at(why.Birds[0])
				require.Contains(t, []int{out.Bird, c.Bird}, who, what)
				bond, paired := d.BondOf(who)
				if why.Code == pairing.PairedInTime {
					seen["paired"]++
					require.True(t, paired, what)
					assert.False(t, bond.Late, what)
					assert.Equal(t, bond.Mate(who), at(why.Birds[1]), what)
					continue
				}
				require.False(t, paired, what)
				assert.Equal(t, why, d.WhyAlone(who), what)
				seen["alone"]++
			}
			if out.Alone.Is(pairing.NoMateLeft) {
				assert.False(t, slices.ContainsFunc(out.Candidates, func(c pairing.Candidate) bool {
					_, is := d.PutOff(out.Bird, &c.Choice)
					return is
				}), "seed %d, %s: that a pair is put off does not mean that there is none", seed, p.Name(out.Bird))
			}
			if !out.Alone.Is(pairing.WaitsFor) {
				continue
			}
			if len(out.Alone.Birds) == 1 {
				seen["for nobody"]++
				continue
			}
			mate := at(out.Alone.Birds[1])
			_, paired := d.BondOf(mate)
			what := fmt.Sprintf("seed %d, %s waits for %s", seed, p.Name(out.Bird), p.Name(mate))
			assert.False(t, paired, what)
			switch back := d.WhyAlone(mate); {
			case p.State(mate).State == pairing.StateYoung:
				seen["for a young one"]++
				assert.True(t, slices.ContainsFunc(young, func(y pairing.Young) bool { return y.Bird == mate && y.Mate == out.Bird }), what)
			default:
				seen["for one of age"]++
				assert.Equal(t, []*studbook.Bird{out.Alone.Birds[1], out.Alone.Birds[0]}, back.Birds, what)
				assert.Equal(t, pairing.WaitsFor, back.Code, what)
			}
		}
		for pair := range putOff {
			assert.True(t, putOff[[2]int{pair[1], pair[0]}], "seed %d: %v from the other side", seed, pair)
		}
	}
	for _, of := range []string{"paired", "alone", "for nobody", "for a young one", "for one of age"} {
		assert.Positive(t, seen[of], of)
	}
}
