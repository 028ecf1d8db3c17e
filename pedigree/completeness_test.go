package pedigree

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	maignel  = "memory: closed form; Maignel L, Boichard D, Verrier É 1996, Interbull Bulletin 14:49-54"
	maccluer = "memory: closed form; MacCluer JW et al. 1983, Journal of Heredity 74:394-399"
)

func TestKnownAncestry(t *testing.T) {
	for _, c := range []struct {
		name, text, bird string
		want             float64
		allWild          float64 // with founders taken as wild
	}{
		{"wild founders", "A wild; B wild; X=A+B", "X", 1, 1},
		{"captive founder", "A wild; B captive; X=A+B", "X", 1. / 2, 1},
		{"founder of unstated origin", "A wild; B; X=A+B", "X", 1. / 2, 1},
		{"parent without a row", "A wild; X=A+B", "X", 1. / 2, 1. / 2},
		{"captive founder itself", "A captive", "A", 0, 1},
		{"unknown dam", "A wild; X=A+?", "X", 1. / 2, 1. / 2},
		{"wild dam", "A wild; X=A+wild", "X", 1, 1},
		// methods, section 2: κ = (κ_s + κ_d)/2, founder of stated wild origin 1, unknown 0.
		{"wild dam and unknown sire", "X=?+wild captive", "X", 1. / 2, 1},
		{"its chick", "X=?+wild captive; A wild; Y=A+X captive", "Y", 3. / 4, 1},
		{"wild dam, unknown sire and itself wild", "X=?+wild wild", "X", 1, 1},
		{"two generations", "A wild; B wild; C=A+B captive; X=C+?", "X", 1. / 2, 1. / 2},
		{"uncertain sire", "A wild; B captive; D wild; X=A:0.5|B:0.25+D", "X", 3. / 4, 7. / 8},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := parse(t, c.text)
			assert.InDelta(t, c.want, p.KnownAncestry(false)[node(t, p, c.bird)], exact)
			assert.InDelta(t, c.allWild, p.KnownAncestry(true)[node(t, p, c.bird)], exact)
		})
	}
}

func TestEquivalentGenerations(t *testing.T) {
	p := parse(t, "3=1+2; 4=1+?; 5=4+3; 6=5+2")
	got := p.EquivalentGenerations()
	for id, want := range map[string]float64{"1": 0, "3": 1, "4": 0.5, "5": 1.75, "6": 1.875} {
		assert.InDelta(t, want, got[node(t, p, id)], exact, "PED-01 animal %s, %s", id, maignel)
	}
	p = parse(t, "C=A+B; X=C:0.5|A:0.25+D; Y=C+wild")
	got = p.EquivalentGenerations()
	assert.InDelta(t, (0.5*2+0.25*1)/2+0.5, got[node(t, p, "X")], exact, "weighted candidates, worked by hand")
	assert.InDelta(t, 1, got[node(t, p, "Y")], exact, "a wild dam is not known, worked by hand")
}

func TestCompletenessIndex(t *testing.T) {
	for _, c := range []struct {
		name, text string
		depth      int
		want       float64
		source     string
	}{
		{"PED-02 sire's line full, nothing behind the dam", "S=A+B; A=C+D; B=E+G; X=S+M", 3, 1. / 2, maccluer},
		{"PED-03 dam unknown", "S=A+B; X=S+?", 3, 0, maccluer},
		{"founder", "X", 3, 0, maccluer},
		{"parents alone, depth 1", "X=A+B", 1, 1, maccluer},
		{"parents alone, default depth", "X=A+B", 0, 1. / 4, maccluer},
		{"uncertain sire of which half is known", "X=A:0.5+B", 1, 2 * 0.5 * 1 / 1.5, "worked by hand"},
		{"two candidates, one with parents", "A=C+D; X=A:0.5|B:0.5+M; M=G+H", 2, 2 * 0.75 / 1.75, "worked by hand"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := parse(t, c.text)
			assert.InDelta(t, c.want, p.CompletenessIndex(c.depth)[node(t, p, "X")], exact, c.source)
		})
	}
}

// The sum of (1/2)ⁿ over known ancestors, and the shares known, by walking all
// lines of ancestors one by one.
func TestCompletenessByWalking(t *testing.T) {
	for seed := range uint64(50) {
		random := rand.New(rand.NewPCG(seed, 3))
		p := parse(t, randomPedigree(random, 5+random.IntN(20)))
		generations := p.EquivalentGenerations()
		index := p.CompletenessIndex(5)
		for x := p.founders; x < p.Len(); x++ {
			if p.Kind(x) != Bird {
				continue
			}
			total := 0.0
			var side [2]float64
			var walk func(i int32, generation int, weight float64, side *float64)
			walk = func(i int32, generation int, weight float64, side *float64) {
				switch p.kinds[i] {
				case UnknownParent:
					return
				case Bird:
					total += weight
					if generation <= 5 {
						// weight is (1/2)^generation; a side has half of the places.
						*side += 2 * weight / 5
					}
					generation++
				}
				if int(i) < p.founders {
					return
				}
				p.parentsOf(i, func(q int32, share float64) { walk(q, generation, weight*share, side) })
			}
			walk(p.sire[x], 1, 0.5, &side[0])
			walk(p.dam[x], 1, 0.5, &side[1])
			require.InDelta(t, total, generations[x], exact, "seed %d, %s", seed, p.Name(x))
			want := 0.0
			if side[0] > 0 && side[1] > 0 {
				want = 2 * side[0] * side[1] / (side[0] + side[1])
			}
			require.InDelta(t, want, index[x], exact, "seed %d, %s", seed, p.Name(x))
		}
	}
}

func TestMean(t *testing.T) {
	p := parse(t, "X=A+B")
	mean, ok := p.Population(nodes(t, p, "A X")).Mean(p.EquivalentGenerations())
	assert.True(t, ok)
	assert.Equal(t, 0.5, mean)
	_, ok = p.Population(nil).Mean(nil)
	assert.False(t, ok)
}
