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
)

// wildFlock writes founders with genotypes at markers of eight alleles: full siblings F1 and F2,
// half siblings of theirs H1, a parent W1 and its chick W2, T1 with the genes of F1, and
// birds that are no kin. F1 has a chick C1 with a bird that was not typed.
func wildFlock(seed uint64, markers, unrelated int) (birds, genotypes string) {
	r := rand.New(rand.NewPCG(seed, 0x77696c64))
	draw := func() [][2]int {
		g := make([][2]int, markers)
		for k := range g {
			g[k] = [2]int{1 + r.IntN(8), 1 + r.IntN(8)}
		}
		return g
	}
	chick := func(a, b [][2]int) [][2]int {
		g := make([][2]int, markers)
		for k := range g {
			g[k] = [2]int{a[k][r.IntN(2)], b[k][r.IntN(2)]}
		}
		return g
	}
	one, two := draw(), draw()
	ids, genes := []string{"F1", "F2", "H1", "W1"}, [][][2]int{chick(one, two), chick(one, two), chick(one, draw()), draw()}
	ids, genes = append(ids, "W2", "T1"), append(genes, chick(genes[3], draw()), genes[0])
	for i := range unrelated {
		ids, genes = append(ids, fmt.Sprintf("U%02d", i)), append(genes, draw())
	}
	rows, table := "id,sex,sire,dam,hatch_date,location,origin\n", "id"
	for k := range markers {
		table += fmt.Sprintf(",M%02d", k)
	}
	for i, id := range ids {
		rows += fmt.Sprintf("%s,%s,wild,wild,2018,H,wild\n", id, []string{"M", "F"}[i%2])
		table += "\n" + id
		for _, g := range genes[i] {
			table += fmt.Sprintf(",%d/%d", g[0], g[1])
		}
	}
	return rows + "N1,F,wild,wild,2018,H,wild\nC1,M,F1,N1,2020-05-01,H,captive\n", table + "\n"
}

const twoYears = "current_to = 2026-03-01\n[breeding_age]\nfemale = [2, 20]\nmale = [2, 20]\n"

// founderPair is what is told of two founders by id, nil where it is nothing.
func founderPair(p *pairing.Programme, a, b string) *pairing.FounderPair {
	for _, x := range p.FounderKin().Told {
		if one, other := p.Book.Birds[x.A].ID, p.Book.Birds[x.B].ID; one == a && other == b || one == b && other == a {
			return x
		}
	}
	return nil
}

// TestFounderKin: with forty markers kin of each kind are found for what they are, and what
// is on record is held against it.
func TestFounderKin(t *testing.T) {
	birds, genotypes := wildFlock(1, 40, 10)
	p := programmeOf(t, "studbook.csv", birds, "genotypes.csv", genotypes, "programme.toml", twoYears,
		"founder_kinship.csv", "id1,id2,kinship\nF2,H1,0.125\nU00,U01,0.25\nU02,U03,0\n")
	x := p.FounderKin()
	assert.Equal(t, 16, x.Typed)
	assert.Equal(t, 16*15/2, x.Pairs)
	for pair, want := range map[[2]string]struct {
		answer   pairing.FounderAnswer
		relation pairing.FounderRelation
	}{
		{"F1", "F2"}:   {pairing.FoundersFound, pairing.FoundersFullSibs},
		{"W1", "W2"}:   {pairing.FoundersFound, pairing.FoundersParent},
		{"F1", "T1"}:   {pairing.FoundersFound, pairing.FoundersSame},
		{"F2", "H1"}:   {pairing.FoundersAgree, pairing.FoundersHalfSibs},
		{"U00", "U01"}: {pairing.FoundersContradicted, pairing.FoundersUnrelated},
		{"U02", "U03"}: {pairing.FoundersAgree, pairing.FoundersUnrelated},
	} {
		if told := founderPair(p, pair[0], pair[1]); assert.NotNil(t, told, "%v", pair) {
			assert.Equal(t, want.answer, told.Answer, "%v", pair)
			assert.Equal(t, want.relation, told.Likeliest().Relation, "%v", pair)
			before, after := 0.0, 0.0
			for _, r := range told.Kin {
				before, after = before+r.Chance.Before, after+r.Chance.After
			}
			assert.InDelta(t, 1, before, 1e-12)
			assert.InDelta(t, 1, after, 1e-12)
		}
	}
	assert.Nil(t, founderPair(p, "U04", "U05"), "of most pairs nothing is told")
	found := p.FoundersFound()
	for k, f := range found {
		assert.Equal(t, []pairing.FounderRelation{"unrelated", "half siblings", "full siblings", "parent and chick"}[k], f.Relation)
		assert.True(t, f.Share >= 0 && f.Share <= 1)
	}
	assert.Less(t, found[0].Share, 0.01)
	assert.Greater(t, found[2].Share, 0.95)
	assert.Equal(t, found, p.FoundersFound(), "the same each time")
}

// TestFounderBayes: the chance after the test by hand, from the sibling index at one marker
// (see markers.TestSiblingIndex): 1/1 and 1/1, allele 1 being half of all genes, without
// errors to speak of.
func TestFounderBayes(t *testing.T) {
	p := programmeOf(t, "studbook.csv", "id,sex,sire,dam,hatch_date,location,origin\nA,F,wild,wild,2018,H,wild\nB,M,wild,wild,2018,H,wild\nC,M,wild,wild,2018,H,wild\n",
		"genotypes.csv", "id,M\nA,1/1\nB,1/1\nC,2/2\n", "founder_kinship.csv", "id1,id2,kinship\nA,B,0.25\n",
		"programme.toml", twoYears+"[genotypes]\nerror_rate = 1e-9\n")
	x := founderPair(p, "A", "B")
	require.NotNil(t, x)
	const a = 2.0 / 3
	index := []float64{1, (1 + a) / (2 * a), (1 + a) * (1 + a) / (4 * a * a), 1 / a, 1 / (a * a)}
	sum := 0.0
	for k, r := range x.Kin {
		sum += index[k] * r.Chance.Before
	}
	for k, r := range x.Kin {
		assert.InDelta(t, index[k]*r.Chance.Before/sum, r.Chance.After, 1e-7)
	}
	assert.Equal(t, 0.99, x.Kin[2].Chance.Before, "on record")
	assert.InDelta(t, 0.5, x.Kinship, 1e-6)
}

// TestKinByDNA: what was found of founders rules pairs out as it will once it is written
// down: of all pairs those, and no others, whose kinship reaches the limit then.
func TestKinByDNA(t *testing.T) {
	birds, genotypes := wildFlock(1, 40, 4)
	files := []string{"studbook.csv", birds, "genotypes.csv", genotypes, "programme.toml", twoYears}
	p := programmeOf(t, files...)
	known := "id1,id2,kinship\n"
	for _, x := range p.FounderKin().Told {
		if x.Answer == pairing.FoundersFound {
			known += fmt.Sprintf("%s,%s,%g\n", p.Book.Birds[x.A].ID, p.Book.Birds[x.B].ID, x.LikeliestKin().Kinship)
		}
	}
	written := programmeOf(t, append(files, "founder_kinship.csv", known)...)
	kinship := func(p *pairing.Programme, a, b int) float64 { return p.Pedigree.Kinship(p.Node(a), p.Node(b)) }
	ruledOut, doubted := 0, 0
	for _, a := range p.Book.Living {
		for _, b := range p.Book.Living {
			if a == b {
				continue
			}
			f, now := kinship(written, a, b), kinship(p, a, b)
			why, are := p.KinByDNA(a, b)
			assert.Equal(t, pairing.TooClose(f, 0.125) && !pairing.TooClose(now, 0.125), are, "%d %d", a, b)
			if are {
				ruledOut++
				assert.Equal(t, pairing.AreKin, why.Code)
				assert.InDelta(t, f, why.Value, 1e-12)
			}
			codes := []pairing.Code{}
			for _, r := range p.Doubt(a, b) {
				codes = append(codes, r.Code)
			}
			doubt := pairing.TooClose(f, 0.0625) && !pairing.TooClose(now, 0.0625)
			assert.Equal(t, doubt, strings.Contains(fmt.Sprint(codes), "kin_by_founders"))
			if doubt {
				doubted++
			}
			_, still := written.KinByDNA(a, b)
			assert.False(t, still, "once it is written down it is a matter of the pedigree")
		}
	}
	assert.NotZero(t, ruledOut)
	assert.GreaterOrEqual(t, doubted, ruledOut)
}

// TestNoSiblingsByDNA: two birds of unknown parents that hatched on one day at one place
// may be siblings, until they are typed; then they are or they are not.
func TestNoSiblingsByDNA(t *testing.T) {
	birds, genotypes := wildFlock(2, 40, 4)
	for _, of := range []string{"F1", "F2", "U00", "U01"} {
		birds = strings.Replace(birds, of+",M,wild,wild,2018,H,wild", of+",M,,,2018-05-01,H,captive", 1)
		birds = strings.Replace(birds, of+",F,wild,wild,2018,H,wild", of+",F,,,2018-05-01,H,captive", 1)
	}
	doubts := func(p *pairing.Programme, a, b string) (codes []pairing.Code) {
		i, _ := p.Book.Index(a)
		j, _ := p.Book.Index(b)
		for _, r := range p.Doubt(i, j) {
			codes = append(codes, r.Code)
		}
		return codes
	}
	untyped := programmeOf(t, "studbook.csv", birds, "programme.toml", twoYears)
	assert.Contains(t, doubts(untyped, "F1", "F2"), pairing.MayBeSiblings)
	assert.Contains(t, doubts(untyped, "U00", "U01"), pairing.MayBeSiblings)
	p := programmeOf(t, "studbook.csv", birds, "genotypes.csv", genotypes, "programme.toml", twoYears)
	assert.NotContains(t, doubts(p, "U00", "U01"), pairing.MayBeSiblings)
	assert.Equal(t, pairing.FoundersNoKin, founderPair(p, "U00", "U01").Answer)
	assert.Equal(t, 0.5, founderPair(p, "U00", "U01").Kin[2].Chance.Before)
	f1, _ := p.Book.Index("F1")
	f2, _ := p.Book.Index("F2")
	_, kin := p.KinByDNA(f1, f2)
	assert.True(t, kin, "%+v", founderPair(p, "F1", "F2"))
}

// TestFoundersByParent: where one founder is found to be the parent of another, that is what
// is to be written down, and no kinship; the pair is ruled out all the same.
func TestFoundersByParent(t *testing.T) {
	birds, genotypes := wildFlock(3, 40, 4)
	birds = strings.Replace(birds, "W1,F,wild,wild,2018,H,wild", "W1,F,wild,wild,2010,H,wild", 1)
	birds = strings.Replace(birds, "W2,M,wild,wild,2018,H,wild", "W2,M,,,2018-05-01,H,captive", 1)
	p := programmeOf(t, "studbook.csv", birds, "genotypes.csv", genotypes, "programme.toml", twoYears)
	w1, _ := p.Book.Index("W1")
	w2, _ := p.Book.Index("W2")
	parent, found := p.Parentage(w2).Dam.Found()
	require.True(t, found)
	assert.Equal(t, w1, parent)
	assert.Equal(t, pairing.FoundersByParent, founderPair(p, "W1", "W2").Answer)
	why, are := p.KinByDNA(w1, w2)
	assert.True(t, are)
	assert.Equal(t, pairing.IsParent, why.Code)
}

// TestChancesOfFoundersComeTrue: of pairs that are full siblings as often as is thought
// before the test, as many are so as the chances after it say, within three standard
// deviations, and of those found to be kin at most one in twenty is none.
func TestChancesOfFoundersComeTrue(t *testing.T) {
	const families, markers = 100, 8
	r := rand.New(rand.NewPCG(9, 4))
	rows, table := "id,sex,sire,dam,hatch_date,location,origin\n", "id"
	for k := range markers {
		table += fmt.Sprintf(",M%d", k)
	}
	siblings := map[string]bool{}
	for i := range families {
		var genes [2][markers][2]int
		kin := r.IntN(2) == 0
		for k := range markers {
			var parents [2][2]int
			for s := range parents {
				parents[s] = [2]int{r.IntN(5), r.IntN(5)}
			}
			for b := range genes {
				if b == 1 && !kin {
					parents = [2][2]int{{r.IntN(5), r.IntN(5)}, {r.IntN(5), r.IntN(5)}}
				}
				genes[b][k] = [2]int{parents[0][r.IntN(2)], parents[1][r.IntN(2)]}
			}
		}
		for b, g := range genes {
			id := fmt.Sprintf("%c%02d", 'A'+b, i)
			rows += fmt.Sprintf("%s,U,,,%d-05-0%d,P%d,captive\n", id, 2010+i%8, 1+b, i)
			table += "\n" + id
			for _, x := range g {
				table += fmt.Sprintf(",%d/%d", 1+x[0], 1+x[1])
			}
		}
		siblings[fmt.Sprintf("%02d", i)] = kin
	}
	p := programmeOf(t, "studbook.csv", rows, "genotypes.csv", table+"\n", "programme.toml", twoYears)
	expected, variance, came, found, wrong := 0.0, 0.0, 0.0, 0, 0
	for i := range families {
		n := fmt.Sprintf("%02d", i)
		x := founderPair(p, "A"+n, "B"+n)
		require.NotNil(t, x, "they hatched like siblings")
		chance := x.KinChance()
		expected += chance
		variance += chance * (1 - chance)
		if siblings[n] {
			came++
		}
		if x.Answer == pairing.FoundersFound {
			if found++; !siblings[n] {
				wrong++
			}
		}
	}
	t.Logf("%.0f siblings of %.1f ± %.1f told; %d found, %d of them wrongly", came, expected, math.Sqrt(variance), found, wrong)
	assert.InDelta(t, came, expected, 3*math.Sqrt(variance))
	assert.Greater(t, found, families/5)
	assert.LessOrEqual(t, wrong, found/20)
}

func TestNoFounderTyped(t *testing.T) {
	birds, _ := wildFlock(1, 4, 0)
	p := programmeOf(t, "studbook.csv", birds, "programme.toml", twoYears)
	assert.Equal(t, &pairing.FounderKin{}, p.FounderKin())
	assert.Nil(t, p.FoundersFound())
	p = programmeOf(t, "studbook.csv", birds, "genotypes.csv", "id,M1,M2\nF1,1/2,\nF2,,1/2\n", "programme.toml", twoYears)
	assert.Equal(t, 2, p.FounderKin().Typed)
	assert.Zero(t, p.FounderKin().Pairs, "at no marker in common")
	_, are := p.KinByDNA(0, 1)
	assert.False(t, are)
}
