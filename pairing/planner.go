package pairing

import (
	"cmp"
	"context"
	"math"
	"slices"

	"pairwright/pairing/internal/season"
	"pairwright/pedigree/studbook"
)

// planner is a season with the birds behind its numbers.
type planner struct {
	p         *Programme
	o         *PlanOptions
	limit     float64
	birds     []int    // by breeder
	places    []string // by place of the season
	breeder   map[int]int
	season    *season.Problem
	plan      []season.Brood // the best, once it is found
	tooClose  []bool         // by breeder: has a mate in reach but for kinship
	hasMate   []bool         // by breeder: has an option
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
	s := &season.Problem{Moves: o.Moves, Living: p.Living.Size()}
	b.season = s
	for _, sex := range []studbook.Sex{studbook.Female, studbook.Male} {
		for _, bird := range p.fit(sex) {
			if o.Whole || o.Moves > 0 || p.Book.Birds[bird].Location == o.Place {
				b.breeder[bird] = len(b.birds)
				b.birds = append(b.birds, bird)
			}
		}
		if sex == studbook.Female {
			s.Females = len(b.birds)
		}
	}
	n := float64(p.Living.Size())
	mean, _ := p.Living.MeanKinship()
	s.Sum = mean * n * n
	nodes := p.nodes(b.birds)
	s.Cost = make([]float64, len(nodes))
	s.Kinship = make([][]float64, len(nodes))
	for k, node := range nodes {
		s.Cost[k] = n*p.Living.MeanKinshipOf(node) + (1-p.Pedigree.F(node))/8
	}
	if len(nodes) > 0 {
		err := p.Pedigree.KinshipRows(ctx, nodes, nodes, func(r int, row []float64) { s.Kinship[r] = slices.Clone(row) })
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
		r := season.Room{Birds: -1, Females: -1, Males: -1}
		if in, ok := b.p.Book.Institution(code); ok && !b.o.IgnoreSpaces {
			r.Females, r.Males = in.SpacesF, in.SpacesM
			if r.Females >= 0 && r.Males >= 0 {
				r.Birds = r.Females + r.Males
			}
		}
		if r.Birds < 0 {
			b.unlimited = append(b.unlimited, code)
		}
		b.season.Rooms = append(b.season.Rooms, r)
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
	for f := range s.Females {
		for m := s.Females; m < len(b.birds); m++ {
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
			if s.Kinship[f][m] > b.limit {
				b.tooClose[f], b.tooClose[m] = true, true
				continue
			}
			b.hasMate[f], b.hasMate[m] = true, true
			add := func(at, mover int) {
				s.Options = append(s.Options, season.Option{Female: f, Male: m, Most: b.o.PerPair, Place: at, Mover: mover, Strain: b.strain(f, m)})
			}
			if together {
				add(place[f], -1)
				continue
			}
			if r := s.Rooms[place[m]]; !stays[f] && r.Females != 0 && r.Birds != 0 && r.Birds != 1 {
				add(place[m], f)
			}
			if r := s.Rooms[place[f]]; !stays[m] && r.Males != 0 && r.Birds != 0 && r.Birds != 1 {
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
	return math.Abs(mk(f)-mk(m)) + max(0, b.season.Kinship[f][m]-b.p.Settings().PreferInbreeding)
}

// keptMates returns the mates with which a bird must breed or not at all: those
// of its bonds, unless it or they are released. A pair that sits or feeds
// chicks is kept whatever the options say.
func (p *Programme) keptMates(bird int, o *PlanOptions) []int {
	var kept []int
	id := p.Book.Birds[bird].ID
	for _, mate := range p.Book.Mates(id) {
		released := o.FreeBonds || slices.Contains(o.Release, id) || slices.Contains(o.Release, mate)
		if !released || p.nest(id, mate) != away {
			m, _ := p.Book.Index(mate)
			kept = append(kept, m)
		}
	}
	return kept
}

// mayNotMove returns why a bird may not move now, "" if it may.
func (p *Programme) mayNotMove(bird int) string {
	id := p.Book.Birds[bird].ID
	if hold, ok := p.Book.Blocked(id, studbook.BlocksMoving); ok {
		return holdText("moving", hold)
	}
	return p.nest(id, "").says()
}

// bondsAlone spreads the chicks over the bonds there are.
func (b *planner) bondsAlone(ctx context.Context) (Alternative, error) {
	bonds := b.season.Only(func(o *season.Option) bool { return o.Mover < 0 && b.bonded(o) })
	best, err := bonds.Solve(ctx, season.Budget/4)
	return Alternative{Chicks: best.Chicks, GeneDiversity: best.GeneDiversity, Possible: best.Chicks > 0, Proven: best.Proven}, err
}

func (b *planner) bonded(o *season.Option) bool {
	f, m := b.p.Book.Birds[b.birds[o.Female]].ID, b.p.Book.Birds[b.birds[o.Male]].ID
	return slices.Contains(b.p.Book.Mates(f), m)
}

// fill writes the plan out for birds.
func (b *planner) fill(out *Plan) {
	p, s := b.p, b.season
	for _, x := range b.plan {
		o := &s.Options[x.Option]
		pair := PlannedPair{
			Female: b.birds[o.Female], Male: b.birds[o.Male], Place: b.places[o.Place], Chicks: x.Chicks,
			OffspringInbreeding: s.Kinship[o.Female][o.Male], KeepsBond: b.bonded(o),
		}
		if o.Mover >= 0 {
			pair.Move = &PlannedMove{b.birds[o.Mover], b.location(o.Mover), pair.Place}
		}
		pair.Reasons = b.pairReasons(&pair)
		out.Pairs = append(out.Pairs, pair)
	}
	slices.SortFunc(out.Pairs, func(a, c PlannedPair) int {
		return cmp.Or(cmp.Compare(a.Place, c.Place), cmp.Compare(a.Female, c.Female))
	})
	for _, bird := range p.Book.Living {
		if !b.o.Whole && p.Book.Birds[bird].Location != b.o.Place {
			continue
		}
		if reason := b.whyUnpaired(out, bird); reason != "" {
			out.Unpaired = append(out.Unpaired, Unplanned{bird, reason})
		}
	}
	for _, bond := range p.Book.OpenBonds() {
		f, _ := p.Book.Index(bond.Female)
		m, _ := p.Book.Index(bond.Male)
		if b.o.Whole || p.Book.Birds[f].Location == b.o.Place || p.Book.Birds[m].Location == b.o.Place {
			out.Eggs = append(out.Eggs, b.eggs(out, f, m))
		}
	}
	slices.SortFunc(out.Eggs, func(a, c EggAdvice) int {
		return cmp.Or(cmp.Compare(a.Female, c.Female), cmp.Compare(a.Male, c.Male))
	})
	out.Notes = b.notes(out)
}
