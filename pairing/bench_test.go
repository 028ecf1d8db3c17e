package pairing_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// programmeOf400 invents a programme of some 400 living birds at nine places: sixty
// wild founders, then yearly cohorts of pairs that stay together while both live.
// About one bird in four of breeding age is free. uncertain says that every tenth
// chick has one of two sires.
func programmeOf400(t testing.TB, uncertain bool) *pairing.Programme {
	t.Helper()
	const places, founders, first, last, cohort, breeds, dies = 9, 60, 2001, 2025, 33, 3, 15
	r := rand.New(rand.NewPCG(400, 9))
	type bird struct {
		id, sire, dam, place string
		female               bool
		hatch, death         int
		mate                 *bird
	}
	var all []*bird
	var rows, bonds, clutches, members strings.Builder
	add := func(sire, dam, place string, year int) *bird {
		b := &bird{id: fmt.Sprintf("B%04d", len(all)), sire: sire, dam: dam, place: place, female: r.IntN(2) == 0, hatch: year, death: year + 6 + r.IntN(dies)}
		all = append(all, b)
		return b
	}
	at := func() string { return fmt.Sprintf("P%d", r.IntN(places)) }
	for range founders {
		add("wild", "wild", at(), first-4)
	}
	bonds.WriteString("female,male,since,until\n")
	clutches.WriteString("female,male,laid,eggs,fertile,hatched,fledged\n")
	for year := first; year <= last; year++ {
		var pairs [][2]*bird
		free := map[string][]*bird{}
		for _, b := range all {
			if b.death <= year || year-b.hatch < breeds {
				continue
			}
			if b.mate != nil && b.mate.death > year {
				if b.female {
					pairs = append(pairs, [2]*bird{b, b.mate})
				}
				continue
			}
			b.mate = nil
			for k, x := range free[b.place] {
				if x.female != b.female && (x.dam != b.dam || x.dam == "wild") && r.IntN(3) > 0 {
					x.mate, b.mate = b, x
					f, m := b, x
					if x.female {
						f, m = x, b
					}
					pairs = append(pairs, [2]*bird{f, m})
					fmt.Fprintf(&bonds, "%s,%s,%d-01-10,\n", f.id, m.id, year)
					free[b.place] = append(free[b.place][:k:k], free[b.place][k+1:]...)
					break
				}
			}
			if b.mate == nil {
				free[b.place] = append(free[b.place], b)
			}
		}
		for range min(cohort, 2*len(pairs)) {
			pair := pairs[r.IntN(len(pairs))]
			sire := pair[1].id
			if other := pairs[r.IntN(len(pairs))][1]; uncertain && r.IntN(10) == 0 && other != pair[1] {
				sire = fmt.Sprintf("%s=0.6; %s=0.4", sire, other.id)
			}
			place := pair[0].place
			if r.IntN(8) == 0 {
				place = at()
			}
			add(sire, pair[0].id, place, year)
			fmt.Fprintf(&clutches, "%s,%s,%d-04-12,2,%d,1,1\n", pair[0].id, pair[1].id, year, 1+r.IntN(2))
		}
	}
	rows.WriteString("id,sex,sire,dam,hatch_date,death_date,location,origin\n")
	for _, b := range all {
		sex, origin, death := "M", "captive", ""
		if b.female {
			sex = "F"
		}
		if b.sire == "wild" {
			origin = "wild"
		}
		if b.death <= last {
			death = fmt.Sprintf("%d-12-01", b.death)
		}
		fmt.Fprintf(&rows, "%s,%s,%s,%s,%d-05-15,%s,%s,%s\n", b.id, sex, b.sire, b.dam, b.hatch, death, b.place, origin)
	}
	members.WriteString("code,latitude,longitude,spaces_f,spaces_m\n")
	for k := range places {
		fmt.Fprintf(&members, "P%d,%d,%d,3,3\n", k, 44+k, 2*k)
	}
	return programmeOf(t, "studbook.csv", rows.String(), "bonds.csv", bonds.String(), "clutches.csv", clutches.String(),
		"institutions.csv", members.String(), "programme.toml", strings.Replace(settings, `home = "A"`, `home = "P0"`, 1))
}

// BenchmarkDecide decides who lives with whom for 400 birds at nine places.
func BenchmarkDecide(b *testing.B) {
	p := programmeOf400(b, true)
	for b.Loop() {
		_, err := p.Decide(b.Context(), pairing.DecisionOptions{})
		require.NoError(b, err)
	}
	b.ReportMetric(float64(len(p.Book.Living)), "birds")
}

// BenchmarkPlan is all of the season's plan, from the snapshot on: the programme,
// the decision and everybody's broods.
func BenchmarkPlan(b *testing.B) {
	book := programmeOf400(b, true).Book
	for b.Loop() {
		p, err := pairing.New(b.Context(), book)
		require.NoError(b, err)
		d, err := p.Decide(b.Context(), pairing.DecisionOptions{})
		require.NoError(b, err)
		chicks, _ := p.ChicksNeeded("", true)
		_, err = d.Plan(b.Context(), pairing.PlanOptions{Whole: true, Chicks: chicks})
		require.NoError(b, err)
	}
}

// BenchmarkMates ranks the mates of one free bird, from the snapshot on: with its
// confidence from 200 possible pedigrees where parents are uncertain.
func BenchmarkMates(b *testing.B) {
	for _, uncertain := range []bool{false, true} {
		b.Run(map[bool]string{false: "certain", true: "uncertain"}[uncertain], func(b *testing.B) {
			book := programmeOf400(b, uncertain).Book
			for b.Loop() {
				p, err := pairing.New(b.Context(), book)
				require.NoError(b, err)
				d, err := p.Decide(b.Context(), pairing.DecisionOptions{})
				require.NoError(b, err)
				r, err := pairing.NewRanker(b.Context(), d, pairing.Options{Seed: 1})
				require.NoError(b, err)
				bird := -1
				for _, x := range p.Book.Living {
					if p.State(x).State == pairing.StateFree && p.Book.Birds[x].Sex == studbook.Female {
						bird = x
						break
					}
				}
				_, err = r.Rank(b.Context(), bird)
				require.NoError(b, err)
			}
		})
	}
}
