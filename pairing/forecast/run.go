package forecast

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"sync"
)

// Options say how many runs are made, and how long.
type Options struct {
	Years, Runs int
	Seed        uint64
	Workers     int     // runs at a time; 0 for one on each core
	Goal        float64 // gene diversity to hold, in 0..1; 0 for none
	Fewest      int     // number of birds below which there are too few; 0 for none
	// Progress is told the number of runs done, now and then; nil for nobody.
	Progress func(done int)
}

// Result is what many runs came to.
type Result struct {
	Runs    int // runs it rests on, fewer than asked for where it was stopped
	Courses []Course
}

// Course is what became of the flock under one policy.
type Course struct {
	Policy string
	Years  []Year // from the start, year 0, to the last
	Moves  Mean   // birds moved in a run

	// GoalHeld is the share of runs whose gene diversity was at or above the
	// goal at the end of every year. GoalLost is the first year by which half
	// of the runs had fallen below it, -1 if they had not by the last year or
	// there is no goal. GoalHeld is 0 without one.
	GoalHeld float64
	GoalLost int

	// OneSex is the share of runs in which at the end of some year females or
	// males were missing, TooFew of those in which there were fewer birds than
	// Options.Fewest; 0 where that is 0.
	OneSex, TooFew float64
}

// Year is the flock at the end of a year.
type Year struct {
	Size          Figure // living birds
	GeneDiversity Figure // 1 - mean kinship of the living; 0 where no bird lives
	Inbreeding    Figure // mean F of the living; 0 where no bird lives

	// Ahead is by how much gene diversity is above that of each policy, by its
	// place among the courses, in the same run.
	Ahead []Mean
}

// Mean of a figure over runs with its standard error, 0 for fewer than two runs.
type Mean struct{ Value, SE float64 }

// Figure is how a figure is spread over runs: its mean, its median and the
// ranges that hold 80 and 95 in 100 runs. Those of gene diversity and
// inbreeding are read from counts in steps of 1/4096, straight lines between.
type Figure struct {
	Mean                                 Mean
	Median, Low80, High80, Low95, High95 float64
}

// batch is the number of runs after which their figures are added up, so that
// they are added in the same order on any number of cores, and none of them is
// kept.
const batch = 32

// Run makes the runs of every policy, on the same luck for all of them in each
// run. Equal inputs and seed give equal figures on any number of cores; memory
// does not grow with the number of runs. Where the context ends before the runs
// do, the result rests on those done and the error is the context's.
func Run(ctx context.Context, start *Start, rules *Rules, policies []Policy, opt Options) (*Result, error) {
	if err := errors.Join(rules.check(), start.check(rules), opt.check()); err != nil {
		return nil, fmt.Errorf("forecast: %w", err)
	}
	ground := newGround(rules)
	sums := make([]tally, len(policies))
	for k := range sums {
		sums[k] = newTally(opt.Years, len(policies))
	}
	var traces [batch][]trace
	for n := range traces {
		traces[n] = make([]trace, len(policies))
		for k := range traces[n] {
			traces[n][k].points = make([]point, opt.Years+1)
		}
	}
	done := 0
	for done < opt.Runs {
		size := min(batch, opt.Runs-done)
		runs := make(chan int)
		var group sync.WaitGroup
		for range opt.workers() {
			group.Go(func() {
				var f flock
				for n := range runs {
					for k, p := range policies {
						f.begin(start, ground, newLuck(opt.Seed, done+n))
						traces[n][k].run(ctx, &f, p)
					}
				}
			})
		}
		for n := range size {
			runs <- n
		}
		close(runs)
		group.Wait()
		if ctx.Err() != nil {
			break
		}
		for n := range size {
			for k := range policies {
				sums[k].add(&traces[n][k], traces[n], &opt)
			}
		}
		done += size
		if opt.Progress != nil {
			opt.Progress(done)
		}
	}
	result := &Result{Runs: done}
	for k, p := range policies {
		result.Courses = append(result.Courses, sums[k].course(p.Name(), done, opt.Goal))
	}
	return result, ctx.Err()
}

func (o *Options) check() error {
	switch {
	case o.Years < 1:
		return fmt.Errorf("the number of years must be 1 or more, not %d", o.Years)
	case o.Runs < 1:
		return fmt.Errorf("the number of runs must be 1 or more, not %d", o.Runs)
	case o.Fewest < 0:
		return fmt.Errorf("the fewest birds must be 0 or more, not %d", o.Fewest)
	case !(o.Goal >= 0 && o.Goal <= 1):
		return fmt.Errorf("the goal must be between 0 and 1, not %g", o.Goal)
	}
	return nil
}

func (o *Options) workers() int {
	if o.Workers > 0 {
		return o.Workers
	}
	return runtime.GOMAXPROCS(0)
}

// point is the flock of one run at the end of a year.
type point struct {
	size                      int
	geneDiversity, inbreeding float64
}

// trace is one run under one policy.
type trace struct {
	points []point
	moves  int
	oneSex bool // at the end of some year
}

// run lives through the years, or until the context ends.
func (t *trace) run(ctx context.Context, f *flock, p Policy) {
	t.oneSex = false
	for year := range t.points {
		if year > 0 {
			if ctx.Err() != nil {
				return
			}
			f.step(p)
			t.oneSex = t.oneSex || f.oneSex()
		}
		t.points[year] = point{len(f.living), f.geneDiversity(), f.inbreeding()}
	}
	t.moves = f.moves
}

// tally adds up the runs of one policy.
type tally struct {
	years []yearTally
	moves moments
	held  int
	one   int   // runs in which one sex was missing
	few   int   // runs in which there were too few birds
	lost  []int // runs that first fell below the goal in each year
}

type yearTally struct {
	size, geneDiversity, inbreeding spread
	ahead                           []moments // of each policy
}

func newTally(years, policies int) tally {
	t := tally{years: make([]yearTally, years+1), lost: make([]int, years+1)}
	for y := range t.years {
		t.years[y].ahead = make([]moments, policies)
		t.years[y].size.width = 1
		t.years[y].geneDiversity.width = 1. / 4096
		t.years[y].inbreeding.width = 1. / 4096
	}
	return t
}

// add adds a run, beside the runs of all policies on the same luck.
func (t *tally) add(run *trace, all []trace, opt *Options) {
	lost, few := false, false
	for y, p := range run.points {
		at := &t.years[y]
		at.size.add(float64(p.size))
		at.geneDiversity.add(p.geneDiversity)
		at.inbreeding.add(p.inbreeding)
		for k := range all {
			at.ahead[k].add(p.geneDiversity - all[k].points[y].geneDiversity)
		}
		few = few || y > 0 && p.size < opt.Fewest
		if !lost && p.geneDiversity < opt.Goal {
			lost = true
			t.lost[y]++
		}
	}
	if !lost {
		t.held++
	}
	if few {
		t.few++
	}
	if run.oneSex {
		t.one++
	}
	t.moves.add(float64(run.moves))
}

func (t *tally) course(policy string, runs int, goal float64) Course {
	c := Course{Policy: policy, GoalLost: -1, Moves: t.moves.mean(), Years: make([]Year, len(t.years))}
	for y := range t.years {
		at := &t.years[y]
		c.Years[y] = Year{Size: at.size.figure(), GeneDiversity: at.geneDiversity.figure(), Inbreeding: at.inbreeding.figure()}
		for k := range at.ahead {
			c.Years[y].Ahead = append(c.Years[y].Ahead, at.ahead[k].mean())
		}
	}
	if runs > 0 {
		c.OneSex = float64(t.one) / float64(runs)
		c.TooFew = float64(t.few) / float64(runs)
	}
	if goal > 0 && runs > 0 {
		c.GoalHeld = float64(t.held) / float64(runs)
		below := 0
		for y, n := range t.lost {
			if below += n; 2*below >= runs {
				c.GoalLost = y
				break
			}
		}
	}
	return c
}

// moments is the mean of numbers and the squares about it, in one pass
// (Welford 1962, Technometrics 4:419-420).
type moments struct {
	n            int
	mid, squares float64
}

func (m *moments) add(x float64) {
	m.n++
	d := x - m.mid
	m.mid += d / float64(m.n)
	m.squares += d * (x - m.mid)
}

func (m *moments) mean() Mean {
	if m.n < 2 {
		return Mean{Value: m.mid}
	}
	n := float64(m.n)
	return Mean{m.mid, math.Sqrt(m.squares / (n - 1) / n)}
}

// spread counts numbers of 0 or more in steps of a width.
type spread struct {
	moments
	width     float64
	low, high float64
	counts    []uint32
}

func (s *spread) add(x float64) {
	if s.n == 0 {
		s.low, s.high = x, x
	}
	s.low, s.high = min(s.low, x), max(s.high, x)
	s.moments.add(x)
	at := int(max(0, x) / s.width)
	for at >= len(s.counts) {
		s.counts = append(s.counts, 0)
	}
	s.counts[at]++
}

// quantile returns the number below which a share of all lie; those of one step
// are taken to lie evenly in it. In steps of 1 it is a whole number.
func (s *spread) quantile(share float64) float64 {
	rank, below := share*float64(s.n-1), 0.0
	for at, n := range s.counts {
		if n > 0 && rank < below+float64(n) {
			x := float64(at)
			if s.width < 1 {
				x += (rank - below + 0.5) / float64(n)
			}
			return min(max(x*s.width, s.low), s.high)
		}
		below += float64(n)
	}
	return s.high
}

func (s *spread) figure() Figure {
	if s.n == 0 {
		return Figure{}
	}
	return Figure{
		Mean: s.mean(), Median: s.quantile(0.5),
		Low80: s.quantile(0.1), High80: s.quantile(0.9), Low95: s.quantile(0.025), High95: s.quantile(0.975),
	}
}
