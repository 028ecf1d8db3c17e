package pairing_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// family is a pair with two chicks at one place, and a male and a female that could be
// their parents too.
const family = `id,sex,sire,dam,hatch_date,location,origin
S1,M,,,2005,H,captive
S2,M,,,2005,H,captive
S3,M,,,2005,J,captive
D1,F,,,2005,H,captive
D2,F,,,2005,H,captive
W1,F,wild,wild,2005,H,wild
C1,F,%s,%s,2015-05-01,H,captive
C2,M,S1,D1,2015-05-01,H,captive
`

// typed is a table of genotypes at six markers: C1 has one allele of S1 and one of D1 at
// each, S2 has none of it.
func typed(birds ...string) string {
	all := map[string]string{
		"S1": "1/2,1/2,1/2,1/2,1/2,1/2", "S2": "5/6,5/6,5/6,5/6,5/6,5/6", "D1": "3/4,3/4,3/4,3/4,3/4,3/4", "D2": "7/8,7/8,7/8,7/8,7/8,7/8",
		"C1": "1/3,2/4,1/4,2/3,1/3,1/3", "C2": "2/3,1/4,2/4,1/3,2/3,2/3", "W1": "3/7,3/7,3/7,3/7,3/7,3/7", "S3": "1/2,1/2,1/2,1/2,1/2,1/2",
	}
	table := "id,M1,M2,M3,M4,M5,M6\n"
	for _, id := range birds {
		table += id + "," + all[id] + "\n"
	}
	return table
}

func parentageOf(t *testing.T, id, sire, dam string, genotyped ...string) (*pairing.Programme, *pairing.Parentage) {
	t.Helper()
	p := programmeOf(t, "studbook.csv", fmt.Sprintf(family, sire, dam), "programme.toml", "[breeding_age]\nfemale = [2, 20]\nmale = [2, 20]\n", "genotypes.csv", typed(genotyped...))
	b, there := p.Book.Index(id)
	require.True(t, there)
	return p, p.Parentage(b)
}

// TestParentAnswers: each answer in the smallest family that has it.
func TestParentAnswers(t *testing.T) {
	everybody := []string{"S1", "S2", "S3", "D1", "D2", "C1"}
	for name, x := range map[string]struct {
		sire, dam string
		genotyped []string
		answer    pairing.ParentAnswer // of the sire
		who       string               // the likeliest, "" for somebody else
		found     bool
	}{
		"as recorded":               {"S1", "D1", everybody, pairing.ParentAgrees, "S1", false},
		"found of nobody":           {"", "D1", everybody, pairing.ParentFound, "S1", true},
		"found of two":              {"S1=0.3; S2=0.7", "D1", everybody, pairing.ParentFound, "S1", true},
		"found without the dam":     {"", "", everybody, pairing.ParentFound, "S1", true},
		"another than recorded":     {"S2", "D1", everybody, pairing.ParentContradicted, "S1", true},
		"none of those recorded":    {"S2", "D1", []string{"S2", "D1", "C1"}, pairing.ParentContradicted, "", false},
		"one of two is out":         {"S2=0.5; S3=0.5", "D1", []string{"S2", "D1", "C1"}, pairing.ParentOpen, "S3", false}, // who was not typed is not found
		"nobody typed":              {"S1", "D1", nil, pairing.ParentNotTested, "S1", false},
		"the chick not typed":       {"S1", "D1", []string{"S1", "S2", "D1"}, pairing.ParentNotTested, "S1", false},
		"the sire not typed":        {"S1", "D1", []string{"S2", "D1", "C1"}, pairing.ParentNotTested, "S1", false},
		"he who is it is not typed": {"", "D1", []string{"S2", "D1", "C1"}, pairing.ParentOpen, "", false},
		"a wild bird":               {"wild", "D1", everybody, pairing.ParentWild, "", false},
	} {
		t.Run(name, func(t *testing.T) {
			p, got := parentageOf(t, "C1", x.sire, x.dam, x.genotyped...)
			assert.Equal(t, x.answer, got.Sire.Answer)
			who := ""
			if c := got.Sire.Best(); c != nil {
				who = p.Book.Birds[c.Bird].ID
			}
			assert.Equal(t, x.who, who)
			b, found := got.Sire.Found()
			assert.Equal(t, x.found, found)
			if found {
				assert.Equal(t, x.who, p.Book.Birds[b].ID)
			}
			for _, s := range []*pairing.ParentSide{&got.Sire, &got.Dam} {
				sum := pairing.Chance{Before: s.Else.Before + s.UntypedChance.Before, After: s.Else.After + s.UntypedChance.After}
				for _, c := range s.Candidates {
					sum.Before += c.Chance.Before
					sum.After += c.Chance.After
				}
				assert.InDelta(t, 1, sum.Before, 1e-12)
				if got.Typed > 0 {
					assert.InDelta(t, 1, sum.After, 1e-12)
				}
			}
		})
	}
}

// TestChancesBeforeTheTest: what the studbook names has its weight, 0.99 if that is all, and
// the rest is for those who could be it and one more.
func TestChancesBeforeTheTest(t *testing.T) {
	before := func(sire string) map[string]float64 {
		p, x := parentageOf(t, "C1", sire, "D1", "S1", "C1")
		chances := map[string]float64{"not typed": x.Sire.UntypedChance.Before, "else": x.Sire.Else.Before}
		for _, c := range x.Sire.Candidates {
			chances[p.Book.Birds[c.Bird].ID] = c.Chance.Before
		}
		return chances
	}
	third := 1.0 / 3
	for sire, want := range map[string]map[string]float64{
		"":               {"S1": third, "not typed": third, "else": third}, // S3 was elsewhere
		"S2":             {"S2": 0.99, "S1": 0.005, "not typed": 0, "else": 0.005},
		"S1=0.6; S2=0.4": {"S1": 0.594, "S2": 0.396, "not typed": 0, "else": 0.01},
		"S1=0.6":         {"S1": 0.6, "not typed": 0.2, "else": 0.2},
		"S3":             {"S3": 0.99, "S1": 0.01 / 3, "not typed": 0.01 / 3, "else": 0.01 / 3},
	} {
		got := before(sire)
		require.Len(t, got, len(want), sire)
		for who, chance := range want {
			assert.InDelta(t, chance, got[who], 1e-12, "%s of %q", who, sire)
		}
	}
}

// TestDoubtEndsWithTheTest: a bird that could by place and age be the parent of another is
// no reason to doubt any more once its genotype speaks against it; that it was not typed,
// or may be the parent still, is.
func TestDoubtEndsWithTheTest(t *testing.T) {
	doubts := func(genotyped ...string) []pairing.Code {
		p, x := parentageOf(t, "C1", "", "D1", genotyped...)
		var codes []pairing.Code
		for _, male := range []string{"S1", "S2"} {
			b, _ := p.Book.Index(male)
			for _, r := range p.Doubt(x.Bird, b) {
				codes = append(codes, r.Code+"/"+pairing.Code(male))
			}
		}
		return codes
	}
	const one, two = pairing.MateMayBeParent + "/S1", pairing.MateMayBeParent + "/S2"
	assert.Equal(t, []pairing.Code{one, two}, doubts("D1"))
	assert.Equal(t, []pairing.Code{one, two}, doubts("D1", "S1", "S2"), "the chick was not typed")
	assert.Equal(t, []pairing.Code{one, two}, doubts("D1", "C1"))
	assert.Equal(t, []pairing.Code{one}, doubts("D1", "C1", "S2"))
	assert.Empty(t, doubts("D1", "C1", "S1", "S2"), "S1 is it, which is no doubt")
}

// TestParentsByDNAAreNoMates: a bird that DNA shows to be the parent is out of the question,
// whatever the studbook says, and its kin are in doubt; so are pairs that live already.
func TestParentsByDNAAreNoMates(t *testing.T) {
	for _, sire := range []string{"", "S2", "S1=0.2; S2=0.8"} {
		p, x := parentageOf(t, "C1", sire, "D1", "D1", "C1", "S1", "S2")
		b, _ := p.Book.Index("S1")
		r, err := pairing.NewRanker(t.Context(), decide(t, p), pairing.Options{})
		require.NoError(t, err)
		ranking, err := r.Rank(t.Context(), x.Bird)
		require.NoError(t, err)
		for _, c := range ranking.Candidates {
			assert.NotEqual(t, b, c.Bird, "no candidate where the studbook has %q", sire)
		}
		out := false
		for _, e := range ranking.RuledOut {
			if e.Bird == b {
				out = true
				assert.Contains(t, e.Reasons, pairing.Reason{Code: pairing.IsParent, Birds: []*studbook.Bird{&p.Book.Birds[x.Bird], &p.Book.Birds[b]}})
			}
		}
		assert.True(t, out, "S1 is ruled out where the studbook has %q", sire)
		bond, paired := decide(t, p).BondOf(x.Bird)
		assert.False(t, paired && bond.Male == b)
		brother, _ := p.Book.Index("C2")
		var codes []pairing.Code
		for _, why := range p.Doubt(x.Bird, brother) {
			codes = append(codes, why.Code)
		}
		assert.Equal(t, []pairing.Code{pairing.KinIsParent}, codes, "C2 is his son")
	}
	p := programmeOf(t, "studbook.csv", fmt.Sprintf(family, "", "D1"), "bonds.csv", "female,male,since\nC1,S1,2018\n",
		"programme.toml", "[breeding_age]\nfemale = [2, 20]\nmale = [2, 20]\n", "genotypes.csv", typed("D1", "C1", "S1", "S2"))
	bonds := p.KinBonds(0.125)
	if assert.Len(t, bonds, 1) && assert.NotNil(t, bonds[0].ByDNA) {
		assert.Equal(t, "S1", bonds[0].ByDNA.Birds[1].ID)
	}
}

// TestGapsKnowOfTheTest: a gap says whom DNA has found for it.
func TestGapsKnowOfTheTest(t *testing.T) {
	p, x := parentageOf(t, "C1", "S1=0.5; S2=0.5", "D1", "S1", "S2", "D1", "C1")
	gaps := 0
	for _, g := range p.Gaps() {
		b, found := g.DNA.Found()
		if assert.Equal(t, g.Bird == x.Bird, found, "%s: others were not typed, or nobody else was", p.Book.Birds[g.Bird].ID) && found {
			assert.Equal(t, "S1", p.Book.Birds[b].ID)
			gaps++
		}
	}
	assert.Equal(t, 1, gaps)
}

// TestParentsOfSimulatedBirds: chicks of parents drawn at random among thirty males and
// thirty females, of whom nothing is on record, at seven markers of five alleles, of which
// one finding in a hundred is wrong and one in twenty failed. Of the parents that are found
// at 95 % at most one in twenty is wrong, and the chances that are left open come true: as
// many of those birds are the parent as they say, within three standard deviations.
func TestParentsOfSimulatedBirds(t *testing.T) {
	const adults, chicks, markers, alleles = 60, 200, 7, 5
	r := rand.New(rand.NewPCG(7, 11))
	genes := make([][markers][2]int, adults+chicks)
	var birds, table strings.Builder
	birds.WriteString("id,sex,sire,dam,hatch_date,origin\n")
	head := "id"
	for k := range markers {
		head += fmt.Sprintf(",M%02d", k)
	}
	table.WriteString(head + "\n")
	truth := map[string][2]string{}
	name := func(i int) string { return fmt.Sprintf("B%03d", i) }
	for i := range genes {
		sire, dam := -1, -1
		if i >= adults {
			sire, dam = 2*r.IntN(adults/2), 2*r.IntN(adults/2)+1
			truth[name(i)] = [2]string{name(sire), name(dam)}
		}
		table.WriteString(name(i))
		for k := range markers {
			if sire < 0 {
				genes[i][k] = [2]int{1 + r.IntN(alleles), 1 + r.IntN(alleles)}
			} else {
				genes[i][k] = [2]int{genes[sire][k][r.IntN(2)], genes[dam][k][r.IntN(2)]}
			}
			switch found := genes[i][k]; {
			case r.IntN(20) == 0:
				table.WriteString(",")
			case r.IntN(100) == 0:
				fmt.Fprintf(&table, ",%d/%d", 1+r.IntN(alleles), 1+r.IntN(alleles))
			default:
				fmt.Fprintf(&table, ",%d/%d", found[0], found[1])
			}
		}
		table.WriteString("\n")
		hatch := "2010-05-01"
		if i >= adults {
			hatch = "2016-05-01"
		}
		fmt.Fprintf(&birds, "%s,%s,,,%s,captive\n", name(i), []string{"M", "F"}[i%2], hatch)
	}
	p := programmeOf(t, "studbook.csv", birds.String(), "genotypes.csv", table.String(), "programme.toml", "[breeding_age]\nfemale = [2, 20]\nmale = [2, 20]\n")
	expected, variance, came := 0.0, 0.0, 0.0 // of chances that are neither near 0 nor near 1
	right, wrong, open := 0, 0, 0
	all, err := p.Parentages(t.Context())
	require.NoError(t, err)
	for _, x := range all {
		parents, chick := truth[p.Book.Birds[x.Bird].ID]
		if !chick {
			continue
		}
		for k, s := range []*pairing.ParentSide{&x.Sire, &x.Dam} {
			for _, c := range s.Candidates {
				if c.Chance.After > 0.02 && c.Chance.After < 0.98 {
					expected += c.Chance.After
					variance += c.Chance.After * (1 - c.Chance.After)
					if p.Book.Birds[c.Bird].ID == parents[k] {
						came++
					}
				}
			}
			switch b, found := s.Found(); {
			case !found:
				open++
			case p.Book.Birds[b].ID == parents[k]:
				right++
			default:
				wrong++
			}
		}
	}
	t.Logf("%d right, %d wrong, %d open; %.0f parents among the open chances of %.1f ± %.1f", right, wrong, open, came, expected, math.Sqrt(variance))
	assert.Equal(t, 2*chicks, right+wrong+open)
	assert.Less(t, wrong, (right+wrong)/20, "at most one in twenty")
	assert.Greater(t, right, chicks, "most are found")
	assert.Greater(t, open, chicks/10, "and not all")
	assert.InDelta(t, came, expected, 3*math.Sqrt(variance))
}
