package markers

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
)

// panel is one of birds typed at markers, each row "id genotype genotype …".
func panel(t *testing.T, rows ...string) *Panel {
	t.Helper()
	birds, genotypes := "id,sex,sire,dam,hatch_date\n", "id"
	for k := range len(strings.Fields(rows[0])) - 1 {
		genotypes += fmt.Sprintf(",M%d", k)
	}
	for _, row := range rows {
		birds += strings.Fields(row)[0] + ",U,,,2015\n"
		genotypes += "\n" + strings.Join(strings.Fields(row), ",")
	}
	c, err := studbook.Read(t.Context(), fstest.MapFS{"studbook.csv": {Data: []byte(birds)}, "genotypes.csv": {Data: []byte(genotypes + "\n")}}, "studbook.csv", studbook.Options{})
	require.NoError(t, err)
	return New(c.At(studbook.DayOf(2020, 1, 1)))
}

// TestPanelOfADay: who has not hatched on the day lends no genes to the frequencies.
func TestPanelOfADay(t *testing.T) {
	c, err := studbook.Read(t.Context(), fstest.MapFS{
		"studbook.csv":  {Data: []byte("id,sex,sire,dam,hatch_date\nA,M,,,2010\nB,F,,,2015\n")},
		"genotypes.csv": {Data: []byte("id,M0,M1\nA,1/2,\nB,1/1,3/4\n")},
	}, "studbook.csv", studbook.Options{})
	require.NoError(t, err)
	assert.Nil(t, New(c.At(studbook.DayOf(2005, 1, 1))))
	early, late := New(c.At(studbook.DayOf(2012, 1, 1))), New(c.At(studbook.DayOf(2020, 1, 1)))
	assert.Equal(t, [][]float64{{0.5, 0.5}, {0, 0}}, early.Frequency)
	assert.Equal(t, [][]float64{{0.75, 0.25}, {0.5, 0.5}}, late.Frequency)
	assert.Equal(t, 0, early.Typed("B"))
}

// TestPaternityIndex: without errors the likelihood with a sire, over that with a bird
// taken at random, is the paternity index of forensic genetics, whose formulas by genotype
// stand in every table of it (Evett & Weir 1998, Interpreting DNA Evidence, chapter 6; from
// memory). a, b and c are the frequencies of alleles 1, 2 and 3.
func TestPaternityIndex(t *testing.T) {
	// Frequencies of 0.3, 0.2 and 0.1 besides 0.4 of another allele.
	const a, b = 0.3, 0.2
	for _, x := range []struct {
		dam, chick, sire string
		want             float64
	}{
		{"1/1", "1/1", "1/1", 1 / a},
		{"1/1", "1/1", "1/2", 1 / (2 * a)},
		{"1/1", "1/2", "2/2", 1 / b},
		{"1/1", "1/2", "2/3", 1 / (2 * b)},
		{"1/2", "1/1", "1/3", 1 / (2 * a)},
		{"1/2", "1/2", "1/1", 1 / (a + b)},
		{"1/2", "1/2", "1/2", 1 / (a + b)},
		{"1/2", "1/2", "1/3", 1 / (2 * (a + b))},
		{"1/3", "1/2", "2/2", 1 / b},
		{"1/1", "1/1", "2/3", 0},
		{"-", "1/1", "1/1", 1 / a},
		{"-", "1/1", "1/2", 1 / (2 * a)},
		{"-", "1/2", "1/1", 1 / (2 * a)},
		{"-", "1/2", "1/2", (a + b) / (4 * a * b)},
		{"-", "1/2", "1/3", 1 / (4 * a)},
		{"-", "1/2", "3/3", 0},
	} {
		p := panel(t, "chick "+x.chick, "dam "+x.dam, "sire "+x.sire, "other 4/4 ", "one 1/2", "two 3/4")
		p.Frequency[0] = []float64{a, b, 0.1, 0.4}
		of := p.Likelihoods("chick", []string{"sire", ""}, []string{"dam"}, 0)
		assert.InDelta(t, x.want, math.Exp(of[0][0]-of[1][0]), 1e-12, "%+v", x)
		assert.Equal(t, x.want == 0, p.Mismatches("chick", "sire", "dam") == 1, "%+v", x)
	}
}

// TestLikelihoodIsAProbability: over all genotypes of the chick it adds up to 1, and over
// all genotypes of a parent, by their frequencies, to what it is without that parent.
func TestLikelihoodIsAProbability(t *testing.T) {
	p := panel(t, "a 1/1", "b 2/3", "c 1/4", "d 3/3", "e 2/4")
	genotypes := []genotype{}
	for i := range int16(4) {
		for j := i; j < 4; j++ {
			genotypes = append(genotypes, genotype{i, j})
		}
	}
	set := func(id string, g genotype) { p.found[id] = []genotype{g} }
	chance := func(sire, dam string) float64 {
		return math.Exp(p.Likelihoods("chick", []string{sire}, []string{dam}, 0.07)[0][0])
	}
	for _, f := range genotypes {
		set("sire", f)
		for _, m := range append(genotypes, unknown) {
			set("dam", m)
			sum := 0.0
			for _, o := range genotypes {
				set("chick", o)
				sum += chance("sire", "dam")
			}
			require.InDelta(t, 1, sum, 1e-12)
		}
	}
	for _, o := range genotypes {
		set("chick", o)
		for _, m := range append(genotypes, unknown) {
			set("dam", m)
			sum := 0.0
			for _, f := range genotypes {
				set("sire", f)
				sum += inherits(f, unknown, unknown, p.Frequency[0]) * chance("sire", "dam")
			}
			require.InDelta(t, chance("", "dam"), sum, 1e-12)
		}
	}
}

// TestLikelihoodAgainstEnumeration: the closed form is the sum over which of the three
// genotypes are errors, each a genotype taken at random, and over what is behind them.
func TestLikelihoodAgainstEnumeration(t *testing.T) {
	p := panel(t, "chick 1/2", "sire 2/3", "dam 1/1", "x 3/3", "y 1/4")
	const e = 0.1
	of := p.Frequency[0]
	o, f, m := p.found["chick"][0], p.found["sire"][0], p.found["dam"][0]
	want := 0.0
	for errors := range 8 {
		chance, father, mother := 1.0, f, m
		for k := range 3 {
			chance *= []float64{1 - e, e}[errors>>k&1]
		}
		if errors&1 != 0 {
			father = unknown
		}
		if errors&2 != 0 {
			mother = unknown
		}
		if errors&4 != 0 {
			father, mother = unknown, unknown // the chick's is a genotype of nobody
		}
		want += chance * inherits(o, father, mother, of)
	}
	assert.InDelta(t, math.Log(want), p.Likelihoods("chick", []string{"sire"}, []string{"dam"}, e)[0][0], 1e-12)
}

// TestMarkersAddUp: markers are apart from each other, those without the chick tell
// nothing, and it is the same whoever else is asked about.
func TestMarkersAddUp(t *testing.T) {
	both := panel(t, "chick 1/2 5/5 -", "sire 2/3 5/6 7/7", "dam 1/1 5/6 7/8", "x 3/3 - 7/7")
	one, two := panel(t, "chick 1/2", "sire 2/3", "dam 1/1", "x 3/3"), panel(t, "chick 5/5", "sire 5/6", "dam 5/6", "x -")
	all := both.Likelihoods("chick", []string{"x", "sire", ""}, []string{"", "dam"}, 0.01)
	for i, sire := range []string{"x", "sire", ""} {
		for j, dam := range []string{"", "dam"} {
			alone := func(p *Panel) float64 { return p.Likelihoods("chick", []string{sire}, []string{dam}, 0.01)[0][0] }
			assert.InDelta(t, alone(one)+alone(two), all[i][j], 1e-12)
		}
	}
	assert.Equal(t, 2, both.Compared("chick", "sire"))
	assert.Equal(t, 1, both.Compared("chick", "x"))
	assert.Equal(t, 1, both.Mismatches("chick", "x", "dam"))
	assert.Zero(t, both.Mismatches("chick", "sire", "dam"))
	assert.Zero(t, both.Typed("nobody"))
}

// TestExclusion: the closed forms are sums over all families, and with two alleles as
// frequent as each other 3/16 and 1/8 (the most that a marker of two alleles excludes;
// Jamieson & Taylor 1997).
func TestExclusion(t *testing.T) {
	p := panel(t, "a 1/2", "b 1/2")
	known, unknownOther := p.Exclusion("a")
	assert.InDelta(t, 3.0/16, known, 1e-12)
	assert.InDelta(t, 1.0/8, unknownOther, 1e-12)

	p = panel(t, "a 1/2 5/5", "b 1/3 5/6", "c 1/4 6/7", "d 2/2 8/8", "e 1/1 5/7")
	excludes := func(of []float64, damKnown bool) (sum float64) {
		var genotypes []genotype
		for i := range int16(len(of)) {
			for j := i; j < int16(len(of)); j++ {
				genotypes = append(genotypes, genotype{i, j})
			}
		}
		for _, dam := range genotypes {
			for _, chick := range genotypes {
				for _, sire := range genotypes {
					with := dam
					if !damKnown {
						with = unknown
					}
					if inherits(chick, sire, with, of) == 0 {
						sum += inherits(dam, unknown, unknown, of) * inherits(chick, unknown, dam, of) * inherits(sire, unknown, unknown, of)
					}
				}
			}
		}
		return sum
	}
	known, unknownOther = p.Exclusion("a")
	assert.InDelta(t, 1-(1-excludes(p.Frequency[0], true))*(1-excludes(p.Frequency[1], true)), known, 1e-12)
	assert.InDelta(t, 1-(1-excludes(p.Frequency[0], false))*(1-excludes(p.Frequency[1], false)), unknownOther, 1e-12)
}

// inherits is the chance of a chick's genotype by Mendel's rules.
func inherits(o, sire, dam genotype, frequency []float64) float64 {
	return o.from(gifts(o, sire, frequency), gifts(o, dam, frequency))
}

func TestNoGenotypes(t *testing.T) {
	assert.Nil(t, New((&studbook.Colony{}).At(studbook.DayOf(2020, 1, 1))))
}

// BenchmarkLikelihoods has 50 sires and 50 dams of a chick at 20 markers of 8 alleles.
func BenchmarkLikelihoods(b *testing.B) {
	p := &Panel{found: map[string][]genotype{}}
	var sires, dams []string
	for k := range 20 {
		p.Frequency = append(p.Frequency, []float64{0.3, 0.2, 0.1, 0.1, 0.1, 0.1, 0.05, 0.05})
		for i := range 101 {
			id := fmt.Sprint(i)
			p.found[id] = append(p.found[id], genotype{int16((i + k) % 8), int16((i + k) % 8)})
		}
	}
	for i := range 50 {
		sires, dams = append(sires, fmt.Sprint(i)), append(dams, fmt.Sprint(50+i))
	}
	for b.Loop() {
		p.Likelihoods("100", sires, dams, 0.01)
	}
}
