package pairing_test

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// apart is a female at one place and a male at another, both free and of rare lines,
// to whom no move leads before the season: a permit takes 40 weeks. All
// others are of two families.
const apart = `id,sex,sire,dam,hatch_date,location
F,F,wild,wild,2020-05-01,HOME
M,M,bs,wild,2020-05-01,AWAY
A1,F,as,ad,2018-05-01,HOME
A2,F,as,ad,2018-05-01,HOME
A3,F,as,ad,2018-05-01,AWAY
A4,F,as,ad,2018-05-01,AWAY
B1,M,bs,bd,2018-05-01,HOME
B2,M,bs,bd,2018-05-01,HOME
B3,M,bs,bd,2018-05-01,AWAY
B4,M,bs,bd,2018-05-01,AWAY
`

func lateProgramme(t *testing.T, more string) *pairing.Programme {
	t.Helper()
	return programmeOn(t, "2026-03-01", "studbook.csv", apart+more,
		"bonds.csv", "female,male,since\nA1,B1,2022\nA2,B2,2022\nA3,B3,2022\nA4,B4,2022\n",
		"institutions.csv", "code,name,country,quarantine_days,permit_weeks\nHOME,Home,AA,30,40\nAWAY,Away,BB,30,40\n",
		"programme.toml", "chicks_per_season = 2\n"+settings)
}

// A pair that no move brings together before the season after the coming one stands
// while nobody else comes of age by then.
func TestALatePairStands(t *testing.T) {
	p := lateProgramme(t, "")
	x, ok := decide(t, p).BondOf(index(t, p, "F"))
	require.True(t, ok)
	assert.True(t, x.Late)
	assert.NotNil(t, x.Move)
}

// A male of a line of his own comes of age at home for that season: nobody is moved
// for a pair that could not breed before he can, and every answer names him.
func TestABirdWaitsForOneThatComesOfAge(t *testing.T) {
	p := lateProgramme(t, "Y,M,wild,wild,2024-06-01,HOME\n")
	d := decide(t, p)
	f, y := index(t, p, "F"), index(t, p, "Y")
	young, err := d.Young(t.Context())
	require.NoError(t, err)
	require.Len(t, young, 1)
	assert.Equal(t, [2]int{y, f}, [2]int{young[0].Bird, young[0].Mate})
	assert.False(t, young[0].Leaves())

	for _, alone := range []string{"F", "M"} {
		_, paired := d.BondOf(index(t, p, alone))
		assert.False(t, paired, alone)
	}
	why := d.WhyAlone(f)
	assert.Equal(t, pairing.WaitsFor, why.Code)
	assert.Equal(t, []*studbook.Bird{&p.Book.Birds[f], &p.Book.Birds[y]}, why.Birds)
	assert.Equal(t, 2027, why.Count)
	candidates := rankBy(t, p, d, "F", pairing.Options{}).Candidates
	require.Len(t, candidates, 1)
	assert.Equal(t, pairing.NotAdvised, candidates[0].Verdict)
	assert.True(t, slices.ContainsFunc(candidates[0].Reasons, func(r pairing.Reason) bool { return r.Code == pairing.WaitsFor }))
}

// TestAdviceComesTrue follows the programme's advice on the example: the birds that
// should move to a mate do, and the pairs that the decision then makes are those that
// they were moved for; the next summer the young birds get the mates that were named
// for them, or full siblings of these.
func TestAdviceComesTrue(t *testing.T) {
	folder := studbooktest.ExampleFolder(t)
	on := func(day string) (*pairing.Programme, *pairing.Decision) {
		var files []string
		for name, text := range folder {
			files = append(files, name, text)
		}
		p := programmeOn(t, day, files...)
		return p, decide(t, p)
	}
	send := func(p *pairing.Programme, m *pairing.PlannedMove) {
		id := p.Book.Birds[m.Bird].ID
		folder["moves.csv"] += strings.Join([]string{id, "2026-11-10", m.From, m.To, ""}, ",") + "\n"
		row := regexp.MustCompile(`(?m)^(` + id + `,.*),` + m.From + `,(captive|wild),`)
		require.True(t, row.MatchString(folder["studbook.csv"]))
		folder["studbook.csv"] = row.ReplaceAllString(folder["studbook.csv"], "$1,"+m.To+",$2,")
	}
	pairs := func(p *pairing.Programme, d *pairing.Decision) map[string]string {
		out := map[string]string{}
		for _, x := range d.Bonds {
			if x.Kind == pairing.BondNew {
				out[p.Book.Birds[x.Female].ID] = p.Book.Birds[x.Male].ID
			}
		}
		return out
	}
	now, d := on("2026-09-30")
	advised := pairs(now, d)
	young, err := d.Young(t.Context())
	require.NoError(t, err)
	moved := 0
	for _, x := range d.Bonds {
		if x.Move != nil && x.Kind == pairing.BondNew {
			require.False(t, x.Late, "the example has no pair that comes too late")
			moved++
			send(now, x.Move)
		}
	}
	require.NotZero(t, moved)
	for _, day := range []string{"2026-11-20", "2026-12-20"} {
		assert.Equal(t, advised, pairs(on(day)), day)
	}

	for female, male := range advised {
		folder["bonds.csv"] += strings.Join([]string{female, male, "2027-02-01", "", "", ""}, ",") + "\n"
	}
	assert.Empty(t, pairs(on("2027-03-01")), "all that was advised is done")

	then, next := on("2027-07-25")
	family := func(b *studbook.Bird) string { return fmt.Sprint(b.Sire, b.Dam, b.Hatch.Mid().Time().Year()) }
	var families [][2]string // which sister gets which brother turns on a day of age
	for female, male := range pairs(then, next) {
		families = append(families, [2]string{family(then.Book.Bird(female)), family(then.Book.Bird(male))})
	}
	told := 0
	for _, y := range young {
		if y.Mate < 0 || y.When != next.Season.Start {
			continue
		}
		told++
		female, male := now.Book.Birds[y.Bird], now.Book.Birds[y.Mate]
		if female.Sex == studbook.Male {
			female, male = male, female
		}
		assert.Contains(t, families, [2]string{family(&female), family(&male)}, "%s with %s", female.ID, male.ID)
	}
	assert.Greater(t, told, 5)
}
