package pedigree

import (
	"fmt"
	"math"
	"runtime"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
)

// A shape is pedigrees of one kind of breeding, for they take very different work:
// the parents of bird i among those before it, -1 for one that is not known, and the
// year in which it hatches.
type shape struct {
	name    string
	parents func(r *splitmix, n, i int) (sire, dam, year int)
}

var shapes = []shape{
	// Each the chick of the one before and of somebody unknown.
	{"line", func(_ *splitmix, _, i int) (int, int, int) {
		if i%2 == 0 {
			return i - 1, -1, i
		}
		return -1, i - 1, i
	}},
	// Each pair of full siblings the parents of the next.
	{"siblings", func(_ *splitmix, _, i int) (int, int, int) {
		if i < 2 {
			return -1, -1, 0
		}
		return i/2*2 - 2, i/2*2 - 1, i / 2
	}},
	// One sire of half of all birds, dams of any age.
	{"one sire", func(r *splitmix, n, i int) (int, int, int) {
		if i < n/20 {
			return -1, -1, 0
		}
		sire := 0
		if i%4 < 2 {
			sire = 2 * r.below(i/2)
		}
		return sire, 2*r.below(i/2) + 1, 1 + 20*i/n
	}},
	// Sixty yearly cohorts, sire and dam any birds of the three before: hardly any
	// full siblings.
	{"overlapping", func(r *splitmix, n, i int) (int, int, int) {
		year := 60 * i / n
		if year == 0 || r.below(100) == 0 {
			return -1, -1, year
		}
		first, end := (max(0, year-3)*n/60+1)/2, year*n/60/2
		return 2 * (first + r.below(end-first)), 2*(first+r.below(end-first)) + 1, year
	}},
	// Sixty yearly cohorts of pairs that stay together for three years.
	{"pairs", func(r *splitmix, n, i int) (int, int, int) {
		year := 60 * i / n
		if year == 0 || r.below(100) == 0 {
			return -1, -1, year
		}
		first, end := (max(0, year-3)*n+59)/60, (year*n+59)/60
		pair := (first+1)/2*2 + 2*r.below(max(1, (end-first)/4))
		return pair, pair + 1, year
	}},
	// Parents any birds that were there before.
	{"random", func(r *splitmix, n, i int) (int, int, int) {
		if i < max(2, n/50) {
			return -1, -1, 0
		}
		return 2 * r.below(i/2), 2*r.below(i/2) + 1, i * 60 / n
	}},
}

// shaped returns a pedigree of a shape.
func shaped(n int, parents func(r *splitmix, n, i int) (sire, dam, year int)) []studbook.Bird {
	r := splitmix(1)
	birds := make([]studbook.Bird, n)
	of := func(i int) studbook.Parentage {
		if i < 0 {
			return studbook.Parentage{}
		}
		return studbook.Parentage{Candidates: []studbook.Candidate{{ID: birds[i].ID, Weight: 1}}}
	}
	for i := range birds {
		sire, dam, year := parents(&r, n, i)
		day := studbook.DayOf(1900, time.May, 1) + studbook.Day(365*year)
		birds[i] = studbook.Bird{ID: fmt.Sprintf("%07d", i), Sire: of(sire), Dam: of(dam), Hatch: studbook.Date{First: day, Last: day}}
	}
	return birds
}

// uncertain makes every sixth sire or so one of two birds or somebody unknown.
func uncertain(birds []studbook.Bird) {
	r := splitmix(2)
	for k := range birds {
		sire := &birds[k].Sire
		if len(sire.Candidates) == 0 || r.below(6) > 0 {
			continue
		}
		if i, _ := strconv.Atoi(sire.Candidates[0].ID); i >= 2 {
			sire.Candidates = []studbook.Candidate{{ID: birds[i].ID, Weight: 0.5}, {ID: birds[i-2].ID, Weight: 0.25}}
		}
	}
}

// akin makes the first two birds kin if they are founders.
func akin(birds []studbook.Bird) []studbook.FounderKinship {
	if birds[0].Founder() && birds[1].Founder() {
		return []studbook.FounderKinship{{ID1: birds[0].ID, ID2: birds[1].ID, Kinship: 0.25}}
	}
	return nil
}

// bothWays returns self of every node by walks and by a sweep, of which either kind
// must give the same to the last bit.
func bothWays(t *testing.T, p *Pedigree) (walked, swept []float64) {
	t.Helper()
	clear(p.self[p.founders:])
	require.NoError(t, newWalks(p).run(t.Context()))
	walked = slices.Clone(p.self)
	clear(p.self[p.founders:])
	require.NoError(t, newSweep(p).run(t.Context()))
	swept = slices.Clone(p.self)
	clear(p.self[p.founders:])
	x := newNarrow(p)
	require.NoError(t, x.run(t.Context()))
	require.Equal(t, swept, p.self)
	require.Equal(t, x.width, x.top, "places")
	return walked, swept
}

// TestShapesAgainstOracles: in every shape both ways give the F of the factor form
// and, where sires are uncertain, that of the recursion in exact fractions.
func TestShapesAgainstOracles(t *testing.T) {
	for _, shape := range shapes {
		birds := shaped(300, shape.parents)
		known := akin(birds)
		p := build(t, birds, known)
		walked, swept := bothWays(t, p)
		a, at := factors(birds, known)
		for _, x := range birds {
			i, k := node(t, p, x.ID), at[x.ID]
			require.InDelta(t, a.At(k, k), walked[i], exact, "%s, %s", shape.name, x.ID)
			require.InDelta(t, a.At(k, k), swept[i], exact, "%s, %s", shape.name, x.ID)
		}

		birds = shaped(100, shape.parents)
		uncertain(birds)
		known = akin(birds)
		p = build(t, birds, known)
		walked, swept = bothWays(t, p)
		exactly := newRecursion(birds, known)
		for _, x := range birds {
			i, f := node(t, p, x.ID), float(exactly.inbreeding(x.ID))
			require.InDelta(t, 1+f, walked[i], exact, "%s, %s", shape.name, x.ID)
			require.InDelta(t, 1+f, swept[i], exact, "%s, %s", shape.name, x.ID)
		}
	}
}

// TestBothWaysOnAnyCores: where windows move up and batches are full, both ways
// still give the same, to the last bit on any number of cores.
func TestBothWaysOnAnyCores(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, shape := range shapes {
		birds := shaped(2000, shape.parents)
		uncertain(birds)
		p := build(t, birds, akin(birds))
		runtime.GOMAXPROCS(1)
		walked, swept := bothWays(t, p)
		for i := range walked {
			require.InDelta(t, walked[i], swept[i], exact, "node %d of %s", i, shape.name)
		}
		runtime.GOMAXPROCS(3)
		again, sweptAgain := bothWays(t, p)
		assert.Equal(t, walked, again, shape.name)
		assert.Equal(t, swept, sweptAgain, shape.name)
	}
}

// TestQuickerWay: a sweep is chosen where few birds breed at a time for long, lines where
// they have few ancestors.
func TestQuickerWay(t *testing.T) {
	want := map[string]any{
		"line": &walks{}, "siblings": &narrow{}, "overlapping": &narrow{}, "pairs": &narrow{},
		"one sire": &lines{}, "random": &lines{},
	}
	for _, shape := range shapes {
		p := build(t, shaped(10_000, shape.parents), nil)
		assert.IsType(t, want[shape.name], p.quicker(), shape.name)
	}
}

// TestLinesAgainstOracles: where lines are listed they give the F of the factor form, the
// same to the last bit on any number of cores, and in possible pedigrees what walks give.
func TestLinesAgainstOracles(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	listed := func(p *Pedigree, cores int) []float64 {
		runtime.GOMAXPROCS(cores)
		clear(p.self[p.founders:])
		clear(p.fresh[p.founders:])
		require.NoError(t, newLines(p).run(t.Context()))
		return slices.Clone(p.self)
	}
	for _, k := range []int{2, 5} {
		shape := shapes[k]
		birds := shaped(300, shape.parents)
		p := build(t, birds, nil)
		a, at := factors(birds, nil)
		self := listed(p, 1)
		for _, x := range birds {
			require.InDelta(t, a.At(at[x.ID], at[x.ID]), self[node(t, p, x.ID)], exact, "%s, %s", shape.name, x.ID)
		}

		birds = shaped(3000, shape.parents)
		p = build(t, birds, nil)
		require.Equal(t, listed(p, 1), listed(p, 3), shape.name)

		uncertain(birds)
		require.Nil(t, newLines(build(t, birds, nil)), "several possible parents")
		possible := build(t, birds, nil).Possible().Sample(1, 2)
		self = listed(possible, 2)
		require.NoError(t, newWalks(possible).run(t.Context()))
		assert.InDeltaSlice(t, possible.self, self, exact, shape.name)
	}
}

// TestLinesLeftToOtherWays: lines are not listed where they would not say all, or are too
// many or too long.
func TestLinesLeftToOtherWays(t *testing.T) {
	few := shaped(300, shapes[5].parents)
	assert.NotNil(t, newLines(build(t, few, nil)))
	assert.Nil(t, newLines(build(t, few, akin(few))), "founders are kin")
	assert.Nil(t, newLines(build(t, shaped(100, shapes[1].parents), nil)), "twice as many in each generation")
	assert.NotNil(t, newLines(build(t, shaped(mostGenerations+2, shapes[0].parents), nil)))
	assert.Nil(t, newLines(build(t, shaped(mostGenerations+3, shapes[0].parents), nil)), "one generation too long")
}

// TestSampleKinships: the kinships of some birds in possible pedigrees are those that
// the pedigrees themselves give, whoever of the birds is a parent or a founder.
func TestSampleKinships(t *testing.T) {
	for _, shape := range shapes {
		birds := shaped(300, shape.parents)
		uncertain(birds)
		possible := build(t, birds, akin(birds)).Possible()
		all := possible.Nodes()
		for _, nodes := range [][]int{reversed(all[240:]), all[:40], {all[1], all[299], all[0]}, all} {
			for k := range 3 {
				got, want := possible.SampleKinships(5, k, nodes), possible.Sample(5, k)
				for i, a := range nodes {
					row := want.Kinships(a)
					for j, b := range nodes {
						if math.Abs(row[b]-got.At(i, j)) > exact {
							require.InDelta(t, row[b], got.At(i, j), exact, "%s, sample %d, %d with %d", shape.name, k, a, b)
						}
					}
				}
			}
		}
	}
}

// TestSampleKinshipsQuick: it is chosen where few breed at a time.
func TestSampleKinshipsQuick(t *testing.T) {
	for _, shape := range shapes {
		birds := shaped(10_000, shape.parents)
		possible, err := PossibleOf(anybodyBefore(birds), nil)
		require.NoError(t, err)
		last := possible.Nodes()[9_900:]
		assert.Equal(t, shape.name != "one sire" && shape.name != "random", possible.SampleKinshipsQuick(1, last), shape.name)
		assert.False(t, possible.SampleKinshipsQuick(1, possible.Nodes()))
		assert.False(t, possible.SampleKinshipsQuick(1, nil))
	}
}

// anybodyBefore returns birds with the parents that nobody knows drawn from some
// before them.
func anybodyBefore(birds []studbook.Bird) []*studbook.Bird {
	out := make([]*studbook.Bird, len(birds))
	for i := range birds {
		out[i] = &birds[i]
		for side, is := range [2]*studbook.Parentage{&birds[i].Sire, &birds[i].Dam} {
			if len(is.Candidates) > 0 || birds[i].Founder() {
				continue
			}
			for k := i - i%2 - 40 + side; k < i-1; k += 2 {
				if k >= 0 {
					is.Candidates = append(is.Candidates, studbook.Candidate{ID: birds[k].ID, Weight: 1.0 / 20})
				}
			}
		}
	}
	return out
}

// BenchmarkSweeps has either kind of sweep of the pedigrees for which there is a choice.
func BenchmarkSweeps(b *testing.B) {
	for _, shape := range shapes {
		for _, n := range []int{1000, 3000, 10_000, 30_000} {
			p := build(b, shaped(n, shape.parents), nil)
			s := newSweep(p)
			if s.width > 4096 {
				continue
			}
			b.Run(fmt.Sprintf("%s/%d/batches", shape.name, n), func(b *testing.B) {
				b.ReportMetric(float64(s.width), "places")
				for b.Loop() {
					require.NoError(b, newSweep(p).run(b.Context()))
				}
			})
			b.Run(fmt.Sprintf("%s/%d/narrow", shape.name, n), func(b *testing.B) {
				for b.Loop() {
					require.NoError(b, newNarrow(p).run(b.Context()))
				}
			})
		}
	}
}

// BenchmarkSample draws the possible pedigrees of a line of which one parent of each
// is any of forty before it, for the kinships of the last hundred.
func BenchmarkSample(b *testing.B) {
	for _, n := range []int{1000, 3000, 10_000, 30_000} {
		possible, err := PossibleOf(anybodyBefore(shaped(n, shapes[0].parents)), nil)
		require.NoError(b, err)
		last := possible.Nodes()[n-100:]
		b.Run(fmt.Sprintf("whole/%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for k := 0; b.Loop(); k++ {
				_, err := possible.Sample(1, k).KinshipMatrix(b.Context(), last)
				require.NoError(b, err)
			}
		})
		b.Run(fmt.Sprintf("kinships/%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for k := 0; b.Loop(); k++ {
				possible.SampleKinships(1, k, last)
			}
		})
	}
}

func BenchmarkShapes(b *testing.B) {
	sizes := []int{10_000, 30_000, 100_000, 300_000}
	if *long {
		sizes = append(sizes, 1_000_000)
	}
	for _, shape := range shapes {
		for _, n := range sizes {
			b.Run(fmt.Sprintf("%s/%d", shape.name, n), func(b *testing.B) {
				p := build(b, shaped(n, shape.parents), nil)
				b.ReportAllocs()
				for b.Loop() {
					require.NoError(b, p.inbreeding(b.Context()))
				}
			})
		}
	}
}
