package forecast

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"sync"

	"github.com/sourcegraph/conc"
)

// Options say how many runs are made, and how long.
type Options struct {
	Years, Runs int
	Seed        uint64
	Workers     int     // runs at a time; 0 for one on each core
	Goal        float64 // gene diversity to hold, in 0..1; 0 for none
	Fewest      int     // number of birds below which there are too few; 0 for none
	// Place is 1 + the place whose birds alone the figures are of; 0 for all.
	Place int
	// GoalAlone ends a run when the goal is lost, as no other figure is wanted.
	GoalAlone bool
	// Progress is told the number of runs done of all, after each; nil for nobody.
	Progress func(done, of int)
}

// Scenario is a course that is run: what it starts from, what holds, and how
// pairs are chosen.
type Scenario struct {
	Start  *Start
	Rules  *Rules
	Policy Policy
}

// Result is what many runs came to.
type Result struct {
	Runs    int // runs it rests on, fewer than asked for where it was stopped
	Courses []Course
}

// Course is what became of the flock in one scenario.
type Course struct {
	Policy string
	Years  []Year // from the start, year 0, to the last

	// What a run took, of the whole flock: birds moved, bonds parted while both
	// birds lived, chicks hatched, founders that came.
	Moves, Partings, Chicks, Founders Mean

	// GoalHeld is the share of runs whose gene diversity was at or above the
	// goal at the end of every year. GoalLost is the first year by which half
	// of the runs had fallen below it, -1 if they had not by the last year or
	// there is no goal. GoalHeld is 0 without one.
	GoalHeld float64
	GoalLost int
	// Kept is the year in which a run lost the goal, and the last year where it
	// did not.
	Kept Figure
	// Against is what sets the course apart from that of each scenario.
	Against []Contrast

	// OneSex is the share of runs in which at the end of some year females or
	// males were missing, TooFew of those in which there were fewer birds than
	// Options.Fewest; 0 where that is 0.
	OneSex, TooFew float64
}

// Contrast is what sets a course apart from another, run for run: what it has more.
type Contrast struct {
	// GoalHeld is of the share of runs, Kept of the years until the goal is lost,
	// which is less than the truth where runs hold it longer than they are run.
	GoalHeld, Kept Mean
	// SameLoss is no difference but the year in which gene diversity was first no
	// higher than it is in the last year of the other; the last year where it never
	// was.
	SameLoss Mean

	Size, GeneDiversity, Inbreeding, Alleles Mean // in the last year
	Moves, Partings, Chicks                  Mean
}

// Year is the flock at the end of a year.
type Year struct {
	Size          Figure // living birds
	GeneDiversity Figure // 1 - mean kinship of the living; 0 where no bird lives
	Inbreeding    Figure // mean F of the living; 0 where no bird lives
	// Alleles is the share of the founder genes there at the start of which a
	// copy is left, over loci that are inherited apart from each other; 0 where
	// there was none.
	Alleles Figure

	// Ahead is by how much gene diversity is above that of each scenario, by
	// its place among the courses, in the same run.
	Ahead []Mean
}

// Mean of a figure over runs with its standard error, 0 for fewer than two runs.
type Mean struct{ Value, SE float64 }

// Figure is how a figure is spread over runs: its mean, its median and the
// ranges that hold 80 and 95 in 100 runs. Those of shares are read from counts in
// steps of 1/4096, straight lines between.
type Figure struct {
	Mean                                 Mean
	Median, Low80, High80, Low95, High95 float64
}

// GenomeEquivalents returns founder genome equivalents 1/(2(1 - GD)) (Lacy 1995)
// of a figure of gene diversity, without the mean; 0 where no bird lives.
func (f Figure) GenomeEquivalents() Figure {
	of := func(diversity float64) float64 {
		if diversity == 0 {
			return 0
		}
		return 1 / (2 * (1 - diversity))
	}
	return Figure{Median: of(f.Median), Low80: of(f.Low80), High80: of(f.High80), Low95: of(f.Low95), High95: of(f.High95)}
}

// Run makes the runs of every policy: see RunScenarios.
func Run(ctx context.Context, start *Start, rules *Rules, policies []Policy, opt Options) (*Result, error) {
	scenarios := make([]Scenario, len(policies))
	for k, p := range policies {
		scenarios[k] = Scenario{start, rules, p}
	}
	return RunScenarios(ctx, scenarios, opt)
}

// RunScenarios makes the runs of every scenario, on the same luck for all of them
// in each run. Equal inputs and seed give equal figures on any number of cores;
// memory does not grow with the number of runs. Where the context ends before the
// runs do, the result rests on those done and the error is the context's.
func RunScenarios(ctx context.Context, scenarios []Scenario, opt Options) (*Result, error) {
	grounds := make([]*ground, len(scenarios))
	for k, s := range scenarios {
		err := errors.Join(opt.check(), s.Rules.check(), s.Start.check(s.Rules))
		if err == nil && opt.Place > s.Rules.places() {
			err = fmt.Errorf("place %d of %d", opt.Place, s.Rules.places())
		}
		if err != nil {
			return nil, fmt.Errorf("forecast: %w", err)
		}
		grounds[k] = newGround(s.Rules)
		if d, ok := s.Policy.(Decision); ok {
			grounds[k].look(d.SeasonsAhead)
		}
	}
	sums := make([]tally, len(scenarios))
	for k := range sums {
		sums[k] = newTally(opt.Years, len(scenarios))
	}
	var queue queue
	var group conc.WaitGroup
	for range min(opt.workers(), opt.Runs) {
		group.Go(func() {
			var f flock
			traces := make([]trace, len(scenarios))
			for n := range queue.runs(opt.Runs) {
				for k, s := range scenarios {
					f.begin(s.Start, grounds[k], newLuck(opt.Seed, n))
					traces[k].run(ctx, &f, s.Policy, &opt)
				}
				queue.inTurn(n, func() bool {
					if ctx.Err() != nil {
						return false
					}
					for k := range sums {
						sums[k].add(&traces[k], traces, &opt)
					}
					if opt.Progress != nil {
						opt.Progress(n+1, opt.Runs)
					}
					return true
				})
			}
		})
	}
	group.Wait()
	result := &Result{Runs: queue.done}
	for k, s := range scenarios {
		result.Courses = append(result.Courses, sums[k].course(s.Policy.Name(), queue.done, opt.Goal))
	}
	if queue.done == opt.Runs {
		return result, nil
	}
	return result, ctx.Err()
}

// queue hands runs out to workers and adds them up in their order, so that any
// number of cores adds the same numbers in the same order and keeps none.
type queue struct {
	mutex     sync.Mutex
	changed   *sync.Cond
	next      int // run to be handed out
	done      int // runs added up
	abandoned bool
}

// runs yields the runs that a worker is to make.
func (q *queue) runs(all int) func(yield func(n int) bool) {
	take := func() (n int, ok bool) {
		q.mutex.Lock()
		defer q.mutex.Unlock()
		if q.changed == nil {
			q.changed = sync.NewCond(&q.mutex)
		}
		n = q.next
		q.next++
		return n, n < all && !q.abandoned
	}
	return func(yield func(n int) bool) {
		whole := false
		defer func() {
			if !whole { // a panic: the others would wait for this run for ever
				q.abandon()
			}
		}()
		for {
			if n, ok := take(); !ok || !yield(n) {
				whole = true
				return
			}
		}
	}
}

// abandon ends all waiting for the turn of a run; no more are added up.
func (q *queue) abandon() {
	q.mutex.Lock()
	defer q.mutex.Unlock()
	q.abandoned = true
	q.changed.Broadcast()
}

// inTurn waits until all runs before this one are added up, and adds it. No more
// are added once one could not be.
func (q *queue) inTurn(n int, add func() bool) {
	q.mutex.Lock()
	defer q.mutex.Unlock()
	for q.done < n && !q.abandoned {
		q.changed.Wait()
	}
	if !q.abandoned && add() {
		q.done++
	} else {
		q.abandoned = true
	}
	q.changed.Broadcast()
}

func (o *Options) check() error {
	switch {
	case o.Years < 1:
		return fmt.Errorf("the number of years must be 1 or more, not %d", o.Years)
	case o.Runs < 1:
		return fmt.Errorf("the number of runs must be 1 or more, not %d", o.Runs)
	case o.Place < 0:
		return fmt.Errorf("the place must be 0 or more, not %d", o.Place)
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
	size                               int
	geneDiversity, inbreeding, alleles float64
	oneSex                             bool
}

// trace is one run of one scenario.
type trace struct {
	points []point
	costs
}

// run lives through the years, or until the context ends or nothing more is
// wanted.
func (t *trace) run(ctx context.Context, f *flock, p Policy, opt *Options) {
	t.points = t.points[:0]
	genes := f.founding
	if opt.Place > 0 {
		genes = f.founderGenes(opt.Place)
	}
	for year := range opt.Years + 1 {
		if year > 0 {
			if ctx.Err() != nil {
				return
			}
			f.step(p)
		}
		at := f.at(opt.Place)
		if genes > 0 {
			at.alleles /= float64(genes)
		}
		t.points = append(t.points, at)
		if opt.GoalAlone && at.geneDiversity < opt.Goal {
			break
		}
	}
	t.costs = f.costs
}

// tally adds up the runs of one scenario.
type tally struct {
	years                             []yearTally
	moves, partings, chicks, founders moments
	kept                              spread
	against                           []contrast
	held                              int
	one                               int   // runs in which one sex was missing
	few                               int   // runs in which there were too few birds
	lost                              []int // runs that first fell below the goal in each year
}

type yearTally struct {
	size, geneDiversity, inbreeding, alleles spread
	ahead                                    []moments // of each scenario
}

func newTally(years, scenarios int) tally {
	const share = 1. / 4096
	t := tally{years: make([]yearTally, years+1), lost: make([]int, years+1), against: make([]contrast, scenarios)}
	t.kept.width = 1
	for y := range t.years {
		at := &t.years[y]
		at.ahead = make([]moments, scenarios)
		at.size.width, at.geneDiversity.width, at.inbreeding.width, at.alleles.width = 1, share, share, share
	}
	return t
}

// lost returns the year at whose end gene diversity first is below a goal; ok is
// false if it never is.
func (t *trace) lost(goal float64) (year int, ok bool) {
	for y, p := range t.points {
		if p.geneDiversity < goal {
			return y, true
		}
	}
	return len(t.points) - 1, false
}

// add adds a run, beside the runs of all scenarios on the same luck.
func (t *tally) add(run *trace, all []trace, opt *Options) {
	few, one := false, false
	for y, p := range run.points {
		at := &t.years[y]
		at.size.add(float64(p.size))
		at.geneDiversity.add(p.geneDiversity)
		at.inbreeding.add(p.inbreeding)
		at.alleles.add(p.alleles)
		for k := range all {
			if y < len(all[k].points) {
				at.ahead[k].add(p.geneDiversity - all[k].points[y].geneDiversity)
			}
		}
		few = few || y > 0 && p.size < opt.Fewest
		one = one || y > 0 && p.oneSex
	}
	year, lost := run.lost(opt.Goal)
	t.kept.add(float64(year))
	for k := range all {
		t.against[k].add(run, &all[k], opt.Goal)
	}
	if lost {
		t.lost[year]++
	} else {
		t.held++
	}
	if few {
		t.few++
	}
	if one {
		t.one++
	}
	t.moves.add(float64(run.moves))
	t.partings.add(float64(run.partings))
	t.chicks.add(float64(run.chicks))
	t.founders.add(float64(run.founders))
}

func (t *tally) course(policy string, runs int, goal float64) Course {
	c := Course{
		Policy: policy, GoalLost: -1, Kept: t.kept.figure(), Years: make([]Year, len(t.years)),
		Moves: t.moves.mean(), Partings: t.partings.mean(), Chicks: t.chicks.mean(), Founders: t.founders.mean(),
	}
	for y := range t.years {
		at := &t.years[y]
		c.Years[y] = Year{Size: at.size.figure(), GeneDiversity: at.geneDiversity.figure(), Inbreeding: at.inbreeding.figure(), Alleles: at.alleles.figure()}
		for k := range at.ahead {
			c.Years[y].Ahead = append(c.Years[y].Ahead, at.ahead[k].mean())
		}
	}
	for k := range t.against {
		c.Against = append(c.Against, t.against[k].means())
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

// contrast adds up what sets runs apart from those of another scenario.
type contrast struct {
	held, kept, sameLoss                     moments
	size, geneDiversity, inbreeding, alleles moments
	moves, partings, chicks                  moments
}

// add adds a run and the other on the same luck.
func (c *contrast) add(run, other *trace, goal float64) {
	share := func(lost bool) float64 {
		if lost {
			return 0
		}
		return 1
	}
	year, lost := run.lost(goal)
	theirs, lostToo := other.lost(goal)
	c.held.add(share(lost) - share(lostToo))
	c.kept.add(float64(year - theirs))
	end, theirEnd := run.points[len(run.points)-1], other.points[len(other.points)-1]
	low, _ := run.lost(math.Nextafter(theirEnd.geneDiversity, 2))
	c.sameLoss.add(float64(low))
	c.size.add(float64(end.size - theirEnd.size))
	c.geneDiversity.add(end.geneDiversity - theirEnd.geneDiversity)
	c.inbreeding.add(end.inbreeding - theirEnd.inbreeding)
	c.alleles.add(end.alleles - theirEnd.alleles)
	c.moves.add(float64(run.moves - other.moves))
	c.partings.add(float64(run.partings - other.partings))
	c.chicks.add(float64(run.chicks - other.chicks))
}

func (c *contrast) means() Contrast {
	return Contrast{
		GoalHeld: c.held.mean(), Kept: c.kept.mean(), SameLoss: c.sameLoss.mean(),
		Size: c.size.mean(), GeneDiversity: c.geneDiversity.mean(), Inbreeding: c.inbreeding.mean(), Alleles: c.alleles.mean(),
		Moves: c.moves.mean(), Partings: c.partings.mean(), Chicks: c.chicks.mean(),
	}
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
	first     int // step of the first of counts
	counts    []uint32
}

func (s *spread) add(x float64) {
	if s.n == 0 {
		s.low, s.high = x, x
	}
	s.low, s.high = min(s.low, x), max(s.high, x)
	s.moments.add(x)
	at := int(max(0, x) / s.width)
	if len(s.counts) == 0 {
		s.first = at
	}
	if lacking := s.first - at; lacking > 0 {
		s.counts, s.first = append(make([]uint32, lacking, lacking+len(s.counts)), s.counts...), at
	}
	for at-s.first >= len(s.counts) {
		s.counts = append(s.counts, 0)
	}
	s.counts[at-s.first]++
}

// quantile returns the number below which a share of all lie; those of one step
// are taken to lie evenly in it. In steps of 1 it is a whole number.
func (s *spread) quantile(share float64) float64 {
	rank, below := share*float64(s.n-1), 0.0
	for at, n := range s.counts {
		if n > 0 && rank < below+float64(n) {
			x := float64(s.first + at)
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
