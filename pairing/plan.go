package pairing

import (
	"cmp"
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"pairwright/pedigree/studbook"
)

// PlanOptions say what a season's plan must keep to. The zero value asks for
// no chicks; see Programme.ChicksNeeded for how many to ask for.
type PlanOptions struct {
	// Place is the code of the colony whose plan it is, as Programme.Colony
	// gives it. Pairs are then formed in the colony, or by a move with one
	// bird of the colony. With Whole pairs of every place are planned.
	Place string
	Whole bool

	Chicks  int // wanted
	PerPair int // most chicks of one pair; 0 for the programme's limit
	Moves   int // most birds that may move to another place to be paired

	// LimitInbreeding is the most F a chick may have; nil for the
	// programme's limit.
	LimitInbreeding *float64

	Release   []string // ids of birds whose bonds may be parted
	FreeBonds bool     // all bonds may be parted

	IgnoreSpaces bool // as if every place had room enough

	Draws int    // of random pairing to compare with; 0 for DefaultDraws
	Seed  uint64 // of those draws
}

// DefaultDraws is the number of random pairings that a plan is compared with.
const DefaultDraws = 1000

// Plan is which pairs hatch how many chicks in a season, so that the living
// and the planned chicks together keep as much gene diversity as they can.
type Plan struct {
	Options PlanOptions
	Wanted  int // chicks
	Chicks  int // planned; fewer than wanted where no plan has more
	// MostCertain is false if there might be a plan with more of the chicks
	// wanted: the search for one ended before it had tried everything.
	MostCertain bool

	Pairs []PlannedPair // by place, then the female's id

	// Gene diversity of the programme, all living birds: now, with the planned
	// chicks as full members, and the most that any plan with as many chicks
	// could have. Known is false if there are no living birds.
	Before, After, Bound float64
	Known                bool
	Gap                  float64 // Bound − After, 0 or more
	Proven               bool    // no plan is better, but for rounding (1e-12)

	BondsAlone Alternative // the best with the bonds there are, without any new pair or move
	Random     RandomPairing

	Unpaired []Unplanned // by id
	Eggs     []EggAdvice // by the female's id
	Notes    []string    // what the reader must know besides
}

// PlannedPair is a pair that is to hatch chicks.
type PlannedPair struct {
	Female, Male        int    // in the snapshot
	Place               string // where the chicks hatch
	Chicks              int
	OffspringInbreeding float64
	KeepsBond           bool
	Move                *PlannedMove // nil if both live there
	Reasons             []string
}

// PlannedMove is a bird that moves to its mate.
type PlannedMove struct {
	Bird     int
	From, To string
}

// Alternative is another way to spend the season. Possible is false if it has
// no chicks at all.
type Alternative struct {
	Chicks        int
	GeneDiversity float64
	Possible      bool
	Proven        bool // none of its kind is better
}

// RandomPairing is what chance would do under the same limits: every chick goes
// to a pair drawn from all that may still hatch one. Draws is 0 if chance found
// no plan with the chicks planned.
type RandomPairing struct {
	Mean, StdErr float64 // of gene diversity after the season
	Draws        int
	Seed         uint64
}

// Unplanned is a bird without a mate that the plan leaves so.
type Unplanned struct {
	Bird   int
	Reason string
}

// EggAdvice is what to do with the eggs of a bonded pair this season: let
// hatch so many, and replace the others, or all of them, by dummies.
type EggAdvice struct {
	Female, Male int
	Hatch        int
	Replace      bool // all eggs
	Sits         bool // the pair sits now
	Reason       string
}

// Plan finds the season's plan: exactly where branch and bound can exhaust the
// plans, which it does for a colony, else the best of exchange search and an
// incomplete tree, always with a proven bound (see relaxation). No plan at all
// is a result with the reason in Notes; an error is an unknown id in Release,
// or ctx's.
func (p *Programme) Plan(ctx context.Context, o PlanOptions) (*Plan, error) {
	for _, id := range o.Release {
		if _, err := p.Bird(id); err != nil {
			return nil, err
		}
	}
	out := &Plan{Options: o, Wanted: max(0, o.Chicks), MostCertain: true}
	out.Before, out.Known = p.Living.GeneDiversity()
	out.After, out.Bound, out.Proven = out.Before, out.Before, true
	b, err := newPlanner(ctx, p, &out.Options)
	if err != nil {
		return nil, err
	}
	s := b.season
	s.chicks = out.Wanted
	start, certain, err := s.most(ctx)
	if err != nil {
		return nil, err
	}
	out.MostCertain = certain
	s.chicks = count(start)
	out.Chicks = s.chicks
	after := float64(p.Living.Size() + s.chicks)
	s.slight = slightGap * after * after
	best, err := s.solve(ctx, [][]brood{start}, 0, budget)
	if err != nil {
		return nil, err
	}
	if s.chicks > 0 {
		out.After = b.geneDiversity(best.value, s.chicks)
		out.Bound = max(out.After, b.geneDiversity(best.bound, s.chicks))
		out.Proven = best.proven || out.Bound-out.After <= provenGap
		if out.Proven {
			out.Bound = out.After
		}
		out.Gap = out.Bound - out.After
	}
	if out.BondsAlone, err = b.bondsAlone(ctx, out.Wanted); err != nil {
		return nil, err
	}
	out.Random = b.random(&out.Options)
	b.fill(out, best.plan)
	return out, nil
}

// provenGap is the difference in gene diversity that rounding can make.
const provenGap = 1e-12

// slightGap is the difference in gene diversity below which the search for a
// better plan ends early: it cannot be seen in any figure that is printed.
const slightGap = 2e-6

// planner is a season with the birds behind its numbers.
type planner struct {
	p         *Programme
	o         *PlanOptions
	limit     float64
	birds     []int    // by breeder
	places    []string // by place of the season
	breeder   map[int]int
	season    *season
	tooClose  []bool // by breeder: has a mate in reach but for kinship
	hasMate   []bool // by breeder: has an option
	unlimited []string
}

// newPlanner lists the pairs that the options allow.
func newPlanner(ctx context.Context, p *Programme, o *PlanOptions) (*planner, error) {
	if o.PerPair <= 0 {
		o.PerPair = p.Settings().ChicksPerPair
	}
	if o.Draws == 0 {
		o.Draws = DefaultDraws
	}
	o.Moves = max(0, o.Moves)
	b := &planner{p: p, o: o, limit: p.Settings().LimitInbreeding, breeder: map[int]int{}}
	if o.LimitInbreeding != nil {
		b.limit = *o.LimitInbreeding
	}
	s := &season{moves: o.Moves}
	b.season = s
	for _, sex := range []studbook.Sex{studbook.Female, studbook.Male} {
		for _, bird := range p.fit(sex) {
			if o.Whole || o.Moves > 0 || p.Book.Birds[bird].Location == o.Place {
				b.breeder[bird] = len(b.birds)
				b.birds = append(b.birds, bird)
			}
		}
		if sex == studbook.Female {
			s.females = len(b.birds)
		}
	}
	n := float64(p.Living.Size())
	mean, _ := p.Living.MeanKinship()
	s.sum = mean * n * n
	nodes := p.nodes(b.birds)
	s.cost = make([]float64, len(nodes))
	s.kinship = make([][]float64, len(nodes))
	for k, node := range nodes {
		s.cost[k] = n*p.Living.MeanKinshipOf(node) + (1-p.Pedigree.F(node))/8
	}
	if len(nodes) > 0 {
		err := p.Pedigree.KinshipRows(ctx, nodes, nodes, func(r int, row []float64) { s.kinship[r] = slices.Clone(row) })
		if err != nil {
			return nil, err
		}
	}
	b.makeRooms()
	b.makeOptions()
	return b, nil
}

// makeRooms makes a place of the season of every place where breeders are.
func (b *planner) makeRooms() {
	for _, bird := range b.birds {
		b.places = append(b.places, b.p.Book.Birds[bird].Location)
	}
	slices.Sort(b.places)
	b.places = slices.Compact(b.places)
	for _, code := range b.places {
		r := room{-1, -1, -1}
		if in, ok := b.p.Book.Institution(code); ok && !b.o.IgnoreSpaces {
			r.females, r.males = in.SpacesF, in.SpacesM
			if r.females >= 0 && r.males >= 0 {
				r.birds = r.females + r.males
			}
		}
		if r.birds < 0 {
			b.unlimited = append(b.unlimited, code)
		}
		b.season.rooms = append(b.season.rooms, r)
	}
}

func (b *planner) location(breeder int) string { return b.p.Book.Birds[b.birds[breeder]].Location }

// makeOptions lists the pairs that bonds, kinship, places and holds allow.
func (b *planner) makeOptions() {
	s := b.season
	place := make([]int, len(b.birds))
	bonded := make([][]int, len(b.birds)) // kept mates
	stays := make([]bool, len(b.birds))
	for k, bird := range b.birds {
		place[k], _ = slices.BinarySearch(b.places, b.location(k))
		bonded[k] = b.p.keptMates(bird, b.o)
		stays[k] = b.p.mayNotMove(bird) != ""
	}
	b.tooClose, b.hasMate = make([]bool, len(b.birds)), make([]bool, len(b.birds))
	for f := range s.females {
		for m := s.females; m < len(b.birds); m++ {
			if len(bonded[f]) > 0 && !slices.Contains(bonded[f], b.birds[m]) ||
				len(bonded[m]) > 0 && !slices.Contains(bonded[m], b.birds[f]) {
				continue
			}
			if !b.o.Whole && b.location(f) != b.o.Place && b.location(m) != b.o.Place {
				continue
			}
			together := place[f] == place[m]
			if !together && (b.o.Moves == 0 || stays[f] && stays[m]) {
				continue
			}
			if s.kinship[f][m] > b.limit {
				b.tooClose[f], b.tooClose[m] = true, true
				continue
			}
			b.hasMate[f], b.hasMate[m] = true, true
			add := func(at, mover int) {
				s.options = append(s.options, option{f, m, b.o.PerPair, at, mover, b.strain(f, m)})
			}
			if together {
				add(place[f], -1)
				continue
			}
			if r := s.rooms[place[m]]; !stays[f] && r.females != 0 && r.birds != 0 && r.birds != 1 {
				add(place[m], f)
			}
			if r := s.rooms[place[f]]; !stays[m] && r.males != 0 && r.birds != 0 && r.birds != 1 {
				add(place[f], m)
			}
		}
	}
}

// strain is the difference of the mean kinships of two birds, and what F of
// their chick has above the preferred limit: where S' cannot tell, birds with
// rare genes are not mated to birds with common ones, which would tie the two
// together for the chick's life (common practice, no source; in simulated
// colonies it kept clearly more over generations than the least F did).
func (b *planner) strain(f, m int) float64 {
	mk := func(k int) float64 { return b.p.Living.MeanKinshipOf(b.p.node[b.birds[k]]) }
	return math.Abs(mk(f)-mk(m)) + max(0, b.season.kinship[f][m]-b.p.Settings().PreferInbreeding)
}

// keptMates returns the mates with which a bird must breed or not at all: those
// of its bonds, unless it or they are released. A pair that sits is kept
// whatever the options say.
func (p *Programme) keptMates(bird int, o *PlanOptions) []int {
	var kept []int
	id := p.Book.Birds[bird].ID
	for _, mate := range p.Book.Mates(id) {
		released := o.FreeBonds || slices.Contains(o.Release, id) || slices.Contains(o.Release, mate)
		m, _ := p.Book.Index(mate)
		if !released || p.sitsWith(bird, m) {
			kept = append(kept, m)
		}
	}
	return kept
}

// sittingDays is how long after the first egg a clutch without an outcome on
// record is taken to be sat on (common practice, no source).
const sittingDays = 60

// sitsWith reports whether two birds sit on a clutch of theirs: laid lately and
// without an outcome on record.
func (p *Programme) sitsWith(a, b int) bool {
	x, y := p.Book.Birds[a].ID, p.Book.Birds[b].ID
	for i := range p.Book.Clutches {
		c := &p.Book.Clutches[i]
		if c.Hatched < 0 && c.Fledged < 0 && c.Laid.Known() && p.Book.AsOf-c.Laid.Mid() <= sittingDays &&
			(c.Female == x && c.Male == y || c.Female == y && c.Male == x) {
			return true
		}
	}
	return false
}

// mayNotMove returns why a bird may not move now, "" if it may.
func (p *Programme) mayNotMove(bird int) string {
	id := p.Book.Birds[bird].ID
	if hold, ok := p.Book.Blocked(id, studbook.BlocksMoving); ok {
		return holdText("moving", hold)
	}
	for _, mate := range p.Book.Mates(id) {
		if m, _ := p.Book.Index(mate); p.sitsWith(bird, m) {
			return "it sits on eggs"
		}
	}
	return ""
}

// geneDiversity returns 1 − S'/(N+Σk)².
func (b *planner) geneDiversity(sum float64, chicks int) float64 {
	n := float64(b.p.Living.Size() + chicks)
	return 1 - sum/(n*n)
}

// bondsAlone spreads the chicks over the bonds there are.
func (b *planner) bondsAlone(ctx context.Context, chicks int) (Alternative, error) {
	s := b.season.withoutMoves()
	s.chicks = chicks
	s.options = slices.DeleteFunc(s.options, func(o option) bool { return !b.bonded(&o) })
	start, _, err := s.most(ctx)
	if err != nil || len(start) == 0 {
		return Alternative{}, err
	}
	s.chicks = count(start)
	best, err := s.solve(ctx, [][]brood{start}, 0, budget/4)
	return Alternative{Chicks: s.chicks, GeneDiversity: b.geneDiversity(best.value, s.chicks), Possible: true, Proven: best.proven}, err
}

// withoutMoves returns the season with the options in place alone.
func (s *season) withoutMoves() *season {
	q := *s
	q.moves, q.options, q.ofFemale = 0, nil, nil
	for _, o := range s.options {
		if o.mover < 0 {
			q.options = append(q.options, o)
		}
	}
	return &q
}

func (b *planner) bonded(o *option) bool {
	f, m := b.p.Book.Birds[b.birds[o.female]].ID, b.p.Book.Birds[b.birds[o.male]].ID
	return slices.Contains(b.p.Book.Mates(f), m)
}

// random draws plans by chance.
func (b *planner) random(o *PlanOptions) RandomPairing {
	s := b.season
	out := RandomPairing{Seed: o.Seed}
	if s.chicks == 0 {
		return out
	}
	if count(s.inPlace()) == s.chicks {
		s = s.withoutMoves() // chance moves nobody where it need not
	}
	random := rand.New(rand.NewPCG(o.Seed, 0x706c616e))
	sum, squares := 0.0, 0.0
	for tries := 0; out.Draws < o.Draws && tries < 2*o.Draws; tries++ {
		d := s.drawn(random)
		if d == nil {
			continue
		}
		gd := b.geneDiversity(d.value, s.chicks)
		out.Draws++
		// Deviations from the first mean so far (Welford 1962).
		delta := gd - sum
		sum += delta / float64(out.Draws)
		squares += delta * (gd - sum)
	}
	out.Mean = sum
	if n := float64(out.Draws); n > 1 {
		out.StdErr = math.Sqrt(squares / (n - 1) / n)
	}
	return out
}

// drawn returns a plan drawn by chance, nil if it got stuck before it had the
// chicks: each chick goes to one of the options that may still hatch one, each
// alike. An option that may not will never again, so it is dropped when met.
func (s *season) drawn(random *rand.Rand) *draft {
	d := newDraft(s, nil)
	left := make([]int, len(s.options))
	for i := range left {
		left[i] = i
	}
	for range s.chicks {
		for {
			if len(left) == 0 {
				return nil
			}
			k := random.IntN(len(left))
			if d.free(-1, left[k], 1) {
				d.change(-1, left[k], 1)
				break
			}
			left[k] = left[len(left)-1]
			left = left[:len(left)-1]
		}
	}
	return d
}

// fill writes the plan out for birds.
func (b *planner) fill(out *Plan, plan []brood) {
	p, s := b.p, b.season
	for _, x := range plan {
		o := &s.options[x.option]
		pair := PlannedPair{
			Female: b.birds[o.female], Male: b.birds[o.male], Place: b.places[o.place], Chicks: x.chicks,
			OffspringInbreeding: s.kinship[o.female][o.male], KeepsBond: b.bonded(o),
		}
		if o.mover >= 0 {
			pair.Move = &PlannedMove{b.birds[o.mover], b.location(o.mover), pair.Place}
		}
		pair.Reasons = b.pairReasons(&pair)
		out.Pairs = append(out.Pairs, pair)
	}
	slices.SortFunc(out.Pairs, func(a, c PlannedPair) int {
		return cmp.Or(cmp.Compare(a.Place, c.Place), cmp.Compare(a.Female, c.Female))
	})
	d := newDraft(s, plan)
	for _, bird := range p.Book.Living {
		if !b.o.Whole && p.Book.Birds[bird].Location != b.o.Place {
			continue
		}
		if reason := b.whyUnpaired(out, d, bird); reason != "" {
			out.Unpaired = append(out.Unpaired, Unplanned{bird, reason})
		}
		for _, mate := range p.Book.Mates(p.Book.Birds[bird].ID) {
			m, _ := p.Book.Index(mate)
			if p.Book.Birds[bird].Sex == studbook.Female ||
				!b.o.Whole && p.Book.Birds[m].Location != b.o.Place && p.Book.Birds[bird].Sex == studbook.Male {
				female, male := bird, m
				if p.Book.Birds[bird].Sex == studbook.Male {
					female, male = m, bird
				}
				out.Eggs = append(out.Eggs, b.eggs(out, d, female, male))
			}
		}
	}
	slices.SortFunc(out.Eggs, func(a, c EggAdvice) int {
		return cmp.Or(cmp.Compare(a.Female, c.Female), cmp.Compare(a.Male, c.Male))
	})
	out.Notes = b.notes(out)
}
