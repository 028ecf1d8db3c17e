package pairing

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"

	"pairwright/pedigree"
	"pairwright/pedigree/demography"
	"pairwright/pedigree/markers"
	"pairwright/pedigree/studbook"
)

// Programme is a breeding programme on one day: every living bird of the
// studbook, whatever its institution, with the numbers that all decisions
// share. It is immutable.
type Programme struct {
	Book     *studbook.Snapshot
	Pedigree *pedigree.Pedigree
	Living   *pedigree.Population // every living bird

	// Ages are the breeding ages in force, from programme.toml or, where it
	// is silent, from the recorded parents.
	Ages Ages

	within     []int                    // the birds of Book that have a node, ascending
	node       []int                    // node of each bird of Book, -1 for one that has none
	rank       []int                    // of each bird of Book by mean kinship, 0 for the dead
	mates      [][]int                  // of each bird of Book
	seemPaired [][2]int                 // see SeemPaired
	seemMate   map[int]int              // of these, each bird's mate
	lastBrood  []studbook.Day           // of each bird of Book, 0 if it had none
	eldest     map[studbook.Sex]float64 // see eldestParents
	success    *successes
	season     Calendar               // the coming one
	moved      []int                  // how often each bird of Book was moved
	agreed     map[asked]studbook.Day // moves that people agreed on; see agreedOn
	began      map[[2]string]int      // season of each pair's first bond; see firstBonds
	bonded     [][]int                // of each bird of Book, the males that it was ever bonded with
	standings  []Standing             // of each bird of Book in the coming season
	// Computed once, when they are first asked for.
	doubts  func() *doubts
	worths  func() *worths
	census  func() *demography.Census
	places  func() *places
	couples *couples
	coupled []int // number of each living bird of Book among those of couples
	// clutches are those of every pair, by female and male, in file order.
	clutches func() map[[2]int][]*studbook.Clutch
	// offspring are the chicks of every pair; see chicksByPair.
	offspring func() map[[2]int][]int
	deaths    func() map[string][2]float64 // see countDeaths
	panel     func() *markers.Panel
	tests     tests
}

// New computes the programme of a snapshot. The error is a founder kinship
// that cannot be (*pedigree.KinshipError), or ctx's.
func New(ctx context.Context, book *studbook.Snapshot) (*Programme, error) {
	all := make([]int, len(book.Birds))
	for b := range all {
		all[b] = b
	}
	return of(ctx, book, all)
}

// NewAbout computes the programme of a snapshot as far as questions about some
// birds and the living go: in its pedigree are these, their ancestors, and whoever
// has an uncertain parent, so that possible pedigrees are drawn as from all birds.
// No figure of them differs from that of New. Node is -1 for all others, of which
// nothing may be asked that rests on descent.
func NewAbout(ctx context.Context, book *studbook.Snapshot, birds ...int) (*Programme, error) {
	return of(ctx, book, withAncestors(book, append(livingOrUncertain(book), birds...), func(b int) *studbook.Bird { return &book.Birds[b] }))
}

// livingOrUncertain returns the living birds of a snapshot, whoever has an uncertain
// parent, and the founders whose kinship is given; some more than once.
func livingOrUncertain(book *studbook.Snapshot) []int {
	birds := slices.Clone(book.Living)
	for b := range book.Birds {
		if bird := &book.Birds[b]; bird.Sire.Uncertain() || bird.Dam.Uncertain() {
			birds = append(birds, b)
		}
	}
	for _, k := range book.FounderKinship() {
		for _, id := range [2]string{k.ID1, k.ID2} {
			b, _ := book.Index(id)
			birds = append(birds, b)
		}
	}
	return birds
}

// withAncestors returns birds of a snapshot, ascending, with all whom they descend
// from or may descend from; bird gives the rows that name the parents.
func withAncestors(book *studbook.Snapshot, birds []int, bird func(b int) *studbook.Bird) []int {
	seen := make([]bool, len(book.Birds))
	var all []int
	add := func(b int) {
		if !seen[b] {
			seen[b] = true
			all = append(all, b)
		}
	}
	for _, b := range birds {
		add(b)
	}
	for k := 0; k < len(all); k++ {
		of := bird(all[k])
		for _, side := range [2]studbook.Parentage{of.Sire, of.Dam} {
			for _, c := range side.Candidates {
				if b, there := book.Index(c.ID); there {
					add(b)
				}
			}
		}
	}
	slices.Sort(all)
	return all
}

// WithAncestors returns birds of the snapshot, ascending, with all whom they descend from
// or may descend from.
func (p *Programme) WithAncestors(birds ...int) []int {
	return withAncestors(p.Book, birds, func(b int) *studbook.Bird { return &p.Book.Birds[b] })
}

// of computes the programme with a pedigree of birds among whom are the living, and
// of whom every parent is one.
func of(ctx context.Context, book *studbook.Snapshot, within []int) (*Programme, error) {
	p := &Programme{Book: book, within: within}
	var err error
	if p.Pedigree, err = pedigree.Of(ctx, p.birds(within...), book.FounderKinship()); err != nil {
		return nil, err
	}
	p.node = p.nodesIn(p.Pedigree.Nodes(), within)
	p.prepare()
	return p, nil
}

// Earlier computes the programme as the files had it on an earlier day. Birds that came
// since change nothing between those that were there before: the pedigree is that of p,
// and what holds of two birds on any day is worked out once for both, if nobody has asked
// it of p yet.
func (p *Programme) Earlier(ctx context.Context, day studbook.Day) (*Programme, error) {
	book := p.Book.Colony.At(day)
	if len(p.within) < len(p.Book.Birds) { // some are in no pedigree of p
		return New(ctx, book)
	}
	then := &Programme{Book: book, Pedigree: p.Pedigree, within: make([]int, len(book.Birds)), node: make([]int, len(book.Birds))}
	for b := range book.Birds {
		now, _ := p.Book.Index(book.Birds[b].ID)
		then.within[b], then.node[b] = b, p.node[now]
	}
	then.couples = p.couples
	then.prepare()
	return then, nil
}

// prepare computes what follows from the pedigree and the book.
func (p *Programme) prepare() {
	book := p.Book
	p.Ages, p.lastBrood, p.season = breedingAges(book), lastBroods(book), p.calendarOn(book.AsOf)
	p.eldest = p.eldestParents()
	p.Living = p.Pedigree.Population(p.nodes(book.Living))
	if p.couples == nil || !p.couples.enter(p) {
		p.couples = &couples{}
		p.couples.enter(p)
	}
	p.rank = p.ranks()
	p.mates = p.mated()
	p.findSeemPaired()
	p.began = p.firstBonds()
	p.success = newSuccesses(p)
	p.moved = p.countMoves()
	p.agreed = p.agreedOn()
	p.bonded = make([][]int, len(book.Birds))
	for _, bond := range book.Bonds {
		female, known := book.Index(bond.Female)
		male, too := book.Index(bond.Male)
		if known && too {
			p.bonded[female] = append(p.bonded[female], male)
		}
	}
	p.standings = p.standingsOn(p.BreedingDay())
	p.doubts = sync.OnceValue(p.newDoubts)
	p.worths = sync.OnceValue(p.newWorths)
	p.places = sync.OnceValue(p.newPlaces)
	p.clutches = sync.OnceValue(p.clutchesByPair)
	p.offspring = sync.OnceValue(p.chicksByPair)
	p.deaths = sync.OnceValue(p.countDeaths)
	p.panel = sync.OnceValue(func() *markers.Panel { return markers.New(book) })
	p.census = sync.OnceValue(func() *demography.Census { return demography.NewCensus(book).WithAges(p.Ages.Female, p.Ages.Male) })
}

// Census returns the lives of the birds of Book.
func (p *Programme) Census() *demography.Census { return p.census() }

// Settings returns the settings of programme.toml.
func (p *Programme) Settings() *studbook.Settings { return &p.Book.Colony.Settings }

// nodesIn returns the node of each bird of the snapshot in a pedigree of some of
// them, by id, whose nodes are given; -1 for the others.
func (p *Programme) nodesIn(nodes, within []int) []int {
	node := slices.Repeat([]int{-1}, len(p.Book.Birds))
	for k, n := range nodes { // the birds of a snapshot stand by id
		node[within[k]] = n
	}
	return node
}

// Node returns the pedigree node of bird b of the snapshot, -1 where it has none;
// see NewAbout.
func (p *Programme) Node(b int) int { return p.node[b] }

func (p *Programme) nodes(birds []int) []int {
	nodes := make([]int, len(birds))
	for k, b := range birds {
		nodes[k] = p.node[b]
	}
	return nodes
}

// birds returns birds of the snapshot by their indices.
func (p *Programme) birds(indices ...int) []*studbook.Bird {
	birds := make([]*studbook.Bird, len(indices))
	for k, b := range indices {
		birds[k] = &p.Book.Birds[b]
	}
	return birds
}

// Population returns the measures of some birds of the snapshot against
// themselves, as for a colony.
func (p *Programme) Population(birds []int) *pedigree.Population {
	return p.Pedigree.Population(p.nodes(birds))
}

// WithoutFounders returns the living birds less the living founders.
func (p *Programme) WithoutFounders() *pedigree.Population {
	return p.Pedigree.Population(slices.DeleteFunc(slices.Clone(p.Living.Members()), func(node int) bool {
		return node < p.Pedigree.Founders()
	}))
}

// A NotFoundError is an id, or a code of an institution, that the files do not
// have on the day.
type NotFoundError struct {
	What string // "bird" or "institution"
	ID   string
	Near []studbook.Meant // what may have been meant

	// AsSet tells that the id is the home of programme.toml.
	AsSet bool
}

// Error says what is missing and what may have been meant.
func (e *NotFoundError) Error() string {
	s := fmt.Sprintf("no %s %q in the files on that day", e.What, studbook.Shorten(e.ID))
	if e.AsSet {
		s = fmt.Sprintf("home = %q in programme.toml: no bird lives there on that day, and institutions.csv does not list it", studbook.Shorten(e.ID))
	}
	if len(e.Near) > 0 {
		s += "; did you mean " + studbook.OrOf(e.Near) + "?"
	}
	return s
}

// Bird returns the index in the snapshot of the bird with the id; a
// *NotFoundError if there is none.
func (p *Programme) Bird(id string) (int, error) {
	if b, ok := p.Book.Index(id); ok {
		return b, nil
	}
	living := make(map[int]bool, len(p.Book.Living))
	for _, b := range p.Book.Living {
		living[b] = true
	}
	e := &NotFoundError{What: "bird", ID: id, Near: studbook.NearBirds(p.Book.Birds, id, func(b int) bool { return living[b] })}
	return 0, e
}

// A ColonyError says that nothing tells which colony is meant: none was named,
// programme.toml has no home, and birds live at no place or at several.
type ColonyError struct {
	Places []string // where birds live on the day; empty if none lives
	Birds  int      // in the files, living or not
	On     studbook.Day
}

// Error says where birds live.
func (e *ColonyError) Error() string {
	if e.Birds == 0 {
		return "the studbook has no birds yet"
	}
	if len(e.Places) == 0 {
		return "no bird of the files lives on " + e.On.String() + ", so there is no colony"
	}
	return "nothing says which colony is meant; birds live at " + strings.Join(e.Places, ", ")
}

// Colony returns the code of the institution that is meant by code: itself, or
// if it is empty the home of programme.toml, or else the only place where
// birds live; a *ColonyError where none of them settles it, a *NotFoundError
// for a code that the files do not have. Without locations the colony is the
// programme and its code "".
func (p *Programme) Colony(code string) (string, error) {
	places := p.Book.Locations()
	if !p.Book.Colony.HasLocation {
		if code != "" && code != p.Settings().Home {
			return "", &NotFoundError{What: "institution", ID: code}
		}
		return "", nil
	}
	set := code == ""
	if set {
		code = p.Settings().Home
	}
	if code == "" {
		if len(places) > 1 && places[0] == "" {
			places = places[1:] // birds whose place nobody wrote down are at no place of their own
		}
		if len(places) != 1 {
			return "", &ColonyError{places, len(p.Book.Colony.Birds), p.Book.AsOf}
		}
		return places[0], nil
	}
	if _, listed := p.Book.Institution(code); !listed && !slices.Contains(places, code) {
		return "", &NotFoundError{What: "institution", ID: code, AsSet: set, Near: studbook.NearPlaces(p.Book.Colony.Institutions, places, code)}
	}
	return code, nil
}

// earthRadius is the mean radius of the Earth in kilometres.
const earthRadius = 6371.0088

// Distance returns the great-circle distance of two institutions in
// kilometres, 0 for one and the same; ok is false where a position is not
// known.
//
//	d = 2R·asin √(sin²(Δφ/2) + cos φ₁ cos φ₂ sin²(Δλ/2))    (haversine)
func (p *Programme) Distance(from, to string) (km float64, ok bool) {
	if from == to {
		return 0, true
	}
	a, okA := p.Book.Institution(from)
	b, okB := p.Book.Institution(to)
	if !okA || !okB || !a.Placed() || !b.Placed() {
		return 0, false
	}
	rad := func(degrees float64) float64 { return degrees * math.Pi / 180 }
	sin2 := func(x float64) float64 { s := math.Sin(x / 2); return s * s }
	h := sin2(rad(b.Latitude-a.Latitude)) +
		math.Cos(rad(a.Latitude))*math.Cos(rad(b.Latitude))*sin2(rad(b.Longitude-a.Longitude))
	return 2 * earthRadius * math.Asin(math.Sqrt(math.Min(1, h))), true
}
