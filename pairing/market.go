package pairing

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/stat"

	"pairwright/pedigree/studbook"
)

// Prices of a decision in units of S_w, in which 0.5 is an unrelated bird's own
// kinship (from simulated programmes; common practice has no figures for them).
const (
	bondPrice = 0.2 // λ: of a planned chick of a new bond, for each unit of worth that the bond takes
	movePrice = 0.3 // μ: of a bird's move
	// alikeGain is the difference of two gains below which nobody would choose by
	// them: that of birds that are alike but for a bond that one has.
	alikeGain = 0.02
	sameValue = 1e-7 // difference up to which two values are the same
	partPrice = 1.2  // π: what parting a bond must be worth to be spoken of
)

// Prices returns what a planned chick of a new bond costs for each unit of worth
// that the bond takes, and what a bird's move costs, both in units of S_w' (see
// demography.Worth).
func Prices() (bond, move float64) { return bondPrice, movePrice }

// market knows what every pair of birds that may breed in a season would do for the
// programme, whatever bonds there are now. Its birds are numbered by sex, in the order
// of the snapshot. A large programme has millions of pairs, so what is the same for a
// pair in every season is kept once, with the programme (couples); all else is worked
// out from that and from what each of the two birds brings.
type market struct {
	p              *Programme
	w              *worths
	limit          float64 // F of a chick from which on a pair is ruled out
	years          float64 // from the coming season to this one
	females, males []int   // in the snapshot
	number         []int   // of each bird of the snapshot among its sex, -1 if it is in neither
	rows           [][]couple
	brings         [2][]brings // of the females and the males
	columns        []column    // the males
	kinds          [2]kinds
	// late is true of two places between which no bird can come in time for the
	// season, either way, by their numbers, but for one of which that was agreed before;
	// nil where none is.
	late   [][]bool
	places *places

	eligible  int     // pairs within the limit
	average   float64 // mean gain of those
	meanAdded float64 // of what a chick of each of those adds to S_w
	// before is how many eligible pairs the females before each have.
	before []int
	// alike is true where no pair within the limit gains clearly more than another, or
	// there is only one: then nothing can be compared, and every chick counts
	// the same.
	alike bool

	// unit turns S_w into gene diversity: 1/(Σw+1)².
	unit   float64
	values func() []float64 // of all eligible pairs, ascending
	// leastGain is what a pair must gain to be worth a move: as programme.toml has it, or
	// else a quarter of the spread of the values of all eligible pairs.
	leastGain func() float64
}

// couples holds, for every living female with every living male, the figures that do not
// change from day to day, computed when first asked for. Programmes of several days that
// are asked about together share them.
type couples struct {
	sync.Mutex
	nodes [2][]int // of the females and of the males, in the pedigree
	rows  [][]couple
}

// couple is a female and a male.
type couple struct {
	kinship float64 // F of a chick
	usual   float64 // usualChicks of it
}

// enter adds the living birds of a programme to the couples and notes their numbers there.
// It returns false if the couples have been computed already and a bird is not among them.
func (x *couples) enter(p *Programme) bool {
	x.Lock()
	defer x.Unlock()
	number := map[int]int{} // by node
	for _, nodes := range x.nodes {
		for k, n := range nodes {
			number[n] = k
		}
	}
	p.coupled = make([]int, len(p.Book.Birds))
	for _, b := range p.Book.Living {
		sex := p.Book.Birds[b].Sex
		if sex == studbook.Unsexed {
			continue
		}
		k, there := number[p.node[b]]
		if !there {
			if x.rows != nil {
				return false
			}
			nodes := &x.nodes[side(sex)]
			k = len(*nodes)
			*nodes = append(*nodes, p.node[b])
		}
		p.coupled[b] = k
	}
	return true
}

// mostCouples and mostFreePairs are how many pairs of birds, and of free ones among them,
// are looked at: with so many of either the whole takes about a gigabyte, 16 bytes for
// each couple and some 80 more where both are free. Variables for the sake of tests.
var (
	mostCouples   = 30_000_000
	mostFreePairs = 10_000_000
)

// TooManyError says that more birds may breed, or are free to, than can be weighed against
// each other. Mostly they do not all live.
type TooManyError struct {
	Females, Males int
	Free           bool // of those that are in no pair
}

// Error says how many there are, and what makes fewer of them.
func (e *TooManyError) Error() string {
	are, cure := "may breed", "write down the deaths of those that do not live any more (death_date in studbook.csv)"
	if e.Free {
		are, cure = "are free to pair", cure+" and the bonds of pairs (bonds.csv)"
	}
	return fmt.Sprintf("%s females and %s males %s by the files, more than can be weighed against each other; %s", studbook.Number(e.Females), studbook.Number(e.Males), are, cure)
}

// coupleRows returns the rows of the couples of a programme. The error is a
// *TooManyError, or ctx's.
func (p *Programme) coupleRows(ctx context.Context) ([][]couple, error) {
	x := p.couples
	x.Lock()
	defer x.Unlock()
	if x.rows != nil {
		return x.rows, nil
	}
	if f, m := len(x.nodes[0]), len(x.nodes[1]); f > 0 && m > mostCouples/f {
		return nil, &TooManyError{Females: f, Males: m}
	}
	rows := make([][]couple, len(x.nodes[0]))
	if len(x.nodes[0]) > 0 && len(x.nodes[1]) > 0 {
		err := p.Pedigree.KinshipRows(ctx, x.nodes[0], x.nodes[1], func(f int, row []float64) {
			rows[f] = make([]couple, len(row))
			for k, kinship := range row {
				rows[f][k] = couple{kinship, p.usualChicks(kinship)}
			}
		})
		if err != nil {
			return nil, err
		}
	}
	x.rows = rows
	return rows, nil
}

// pair is a female and a male of a market.
type pair struct {
	her, his *brings
	*couple
}

// pair returns a female with a male, by their numbers.
func (m *market) pair(f, k int) pair {
	her, his := &m.brings[0][f], &m.brings[1][k]
	return pair{her, his, &m.rows[her.row][his.row]}
}

// settled returns the chicks to expect of a pair in a season after the first, while both
// live and are of breeding age.
func (m *market) settled(x pair) float64 {
	return x.usual * m.p.success.relative(x.her.bird, x.his.bird)
}

// kin is the kinship of a pair, F of its chick.
func (m *market) kin(f, k int) float64 {
	return m.rows[m.brings[0][f].row][m.brings[1][k].row].kinship
}

// brings is what a bird brings into each of its pairs.
type brings struct {
	bird  int     // in the snapshot
	place int     // its number
	row   int     // its number among the couples
	sum   float64 // of its worth-weighted kinships with the living
	// ahead is the chance to be alive and of breeding age in the season and in those
	// after it that a decision counts.
	ahead []float64
	rate  float64 // of its clutches with others; see chanceAlone
	future
}

// newMarket looks at all pairs of birds that may breed in the season so many years
// after the coming one. The error is a *TooManyError, or ctx's.
func newMarket(ctx context.Context, p *Programme, limit, years float64) (*market, error) {
	rows, err := p.coupleRows(ctx)
	if err != nil {
		return nil, err
	}
	w := p.worths()
	m := &market{p: p, w: w, rows: rows, limit: limit, years: years, places: p.places(), number: make([]int, len(p.Book.Birds))}
	for b := range m.number {
		m.number[b] = -1
	}
	standings := p.standings
	if years > 0 {
		standings = p.standingsOn(p.BreedingDay() + studbook.Day(math.Round(years*studbook.DaysPerYear)))
	}
	m.unit = 1 / ((w.total + 1) * (w.total + 1))
	for _, b := range p.Book.Living {
		if standings[b].State.MayBreed() {
			list := [2]*[]int{&m.females, &m.males}[side(p.Book.Birds[b].Sex)]
			m.number[b] = len(*list)
			*list = append(*list, b)
		}
	}
	var life outlook
	seasons := p.Settings().SeasonsAhead
	for sex, birds := range [2][]int{m.females, m.males} {
		m.brings[sex] = make([]brings, len(birds))
		ahead := make([]float64, len(birds)*seasons)
		for k, b := range birds {
			m.brings[sex][k] = brings{
				bird: b, place: m.places.of[b], row: p.coupled[b], sum: w.sums[p.node[b]],
				ahead: ahead[k*seasons : (k+1)*seasons], rate: p.success.birds[b].alone[sex].rate, future: w.futures[b],
			}
			w.look(&life, b)
			m.lookAhead(b, &life, m.brings[sex][k].ahead)
		}
	}
	m.values, m.leastGain = sync.OnceValue(func() []float64 { return ascending(m.all()) }), sync.OnceValue(m.findLeastGain)
	m.kinds = [2]kinds{kindsOf(m.brings[0]), kindsOf(m.brings[1])}
	for k := range m.males {
		his := &m.brings[1][k]
		m.columns = append(m.columns, column{his.sum, int32(k), int32(his.row), int32(his.place), int32(m.kinds[1].of[k])})
	}
	m.before = make([]int, len(m.females))
	if len(m.females) == 0 || len(m.males) == 0 {
		return m, nil
	}
	all := m.addedByEach()
	if m.eligible = all.n; m.eligible > 0 {
		m.meanAdded = all.sum / float64(all.n)
		m.average = w.gainFrom(m.meanAdded)
	}
	m.alike = m.eligible < 2 || all.most-all.least < alikeGain
	m.findLate()
	return m, nil
}

// summary is of some numbers.
type summary struct {
	n                int
	sum, least, most float64
}

// addedByEach sums up what a chick of each eligible pair adds to S_w, and fills in before.
func (m *market) addedByEach() summary {
	n, sum, least, most := 0, 0.0, math.Inf(1), math.Inf(-1)
	limit := closeFrom(m.limit)
	for f := range m.females {
		m.before[f] = n
		her := &m.brings[0][f]
		row := m.rows[her.row]
		for k := range m.columns {
			his := &m.columns[k]
			kinship := row[his.row].kinship
			if kinship > limit {
				continue
			}
			added := chickAdds(her.sum+his.sum, kinship)
			n++
			sum += added
			if added < least {
				least = added
			}
			if added > most {
				most = added
			}
		}
	}
	return summary{n, sum, least, most}
}

// added is what one chick adds to S_w. It alone tells the gains of two pairs apart.
func (x pair) added() float64 { return chickAdds(x.her.sum+x.his.sum, x.kinship) }

// column is what of a male is asked for in every row of a market.
type column struct {
	sum                      float64
	number, row, place, kind int32
}

// kinds groups the birds of one sex that bring the same to a pair, but for their sum and
// their place, as most birds of one age do. Much of what a pair is worth is then worked
// out once for two kinds instead of for every two birds.
type kinds struct {
	of  []int     // of each bird
	one []*brings // bird of each kind
}

func kindsOf(birds []brings) kinds {
	x := kinds{of: make([]int, len(birds))}
	type trait struct {
		rate float64
		future
	}
	known := map[trait][]int{}
	for k := range birds {
		bird := &birds[k]
		of := trait{bird.rate, bird.future}
		same := func(kind int) bool { return slices.Equal(x.one[kind].ahead, bird.ahead) }
		at := slices.IndexFunc(known[of], same)
		if at < 0 {
			at = len(known[of])
			known[of] = append(known[of], len(x.one))
			x.one = append(x.one, bird)
		}
		x.of[k] = known[of][at]
	}
	return x
}

// each calls use with each female and a list that it may fill, as long as there are
// males, on all cores: those of one kind together.
func (m *market) each(use func(f int, row []float64)) {
	buffers := sync.Pool{New: func() any { return new([]float64) }}
	inOrder := make([]int, len(m.females))
	for f := range inOrder {
		inOrder[f] = f
	}
	slices.SortFunc(inOrder, func(a, b int) int { return cmp.Compare(m.kinds[0].of[a], m.kinds[0].of[b]) })
	_ = inParallel(context.Background(), len(m.females), func(k int) error {
		row := buffers.Get().(*[]float64)
		*row = slices.Grow((*row)[:0], len(m.males))
		use(inOrder[k], *row)
		buffers.Put(row)
		return nil
	})
}

// all returns the values of all eligible pairs, female by female.
func (m *market) all() []float64 {
	out := make([]float64, m.eligible)
	m.each(func(f int, _ []float64) { m.allValuesOf(f, out[m.before[f]:m.before[f]]) })
	return out
}

// mostInOrder is how many values are put into order for what can be had without; a
// variable for the sake of tests.
var mostInOrder = 4 << 20

// withKinds holds what a female of one kind and a male of each kind bring together, worked
// out when first asked for.
type withKinds struct {
	m     *market
	her   int // kind
	kinds []withKind
	both  []float64 // of all kinds
}

type withKind struct {
	success float64   // the chance of a clutch against that of all pairs
	takes   float64   // the price of the bond
	both    []float64 // the chances that both live, by season; nil where nothing is worked out yet
}

var kindMemory = sync.Pool{New: func() any { return new(withKinds) }} // of valuesOf

// of makes x that of a kind of females.
func (x *withKinds) of(m *market, kind int) {
	if x.m == m && x.her == kind {
		return
	}
	n := len(m.kinds[1].one)
	x.m, x.her = m, kind
	x.kinds, x.both = slices.Grow(x.kinds[:0], n)[:n], slices.Grow(x.both[:0], n*m.p.Settings().SeasonsAhead)
	clear(x.kinds)
}

// fill works out what there is with a kind of males.
func (x *withKinds) fill(kind int32) {
	m := x.m
	her, his := m.kinds[0].one[x.her], m.kinds[1].one[kind]
	start := len(x.both)
	for season, chance := range her.ahead {
		x.both = append(x.both, chance*his.ahead[season])
	}
	x.kinds[kind] = withKind{
		m.p.success.against(chanceAlone(her.rate, his.rate)),
		bondPrice * m.w.bondTakesOf(&her.future, &his.future) * m.unit,
		x.both[start:],
	}
}

// valuesOf appends to a list the values of the eligible pairs of a female with some males.
// Each is what valueOf returns for the pair, to the last digit.
func (m *market) valuesOf(f int, males []column, to []float64) []float64 {
	her := &m.brings[0][f]
	with := kindMemory.Get().(*withKinds)
	defer kindMemory.Put(with)
	with.of(m, m.kinds[0].of[f])
	var late []bool
	if m.late != nil {
		late = m.late[her.place]
	}
	row, known := m.rows[her.row], m.matesOnRecord(f)
	share, move, limit := m.p.success.share, movePrice*m.unit, closeFrom(m.limit)
	place, sum := int32(her.place), her.sum
	for k := range males {
		his := &males[k]
		x := row[his.row]
		if x.kinship > limit {
			continue
		}
		kind := &with.kinds[his.kind]
		if kind.both == nil {
			with.fill(his.kind)
		}
		settled := x.usual * kind.success
		if known != nil && slices.Contains(known, int(his.number)) {
			settled = m.settled(m.pair(f, int(his.number)))
		}
		both := kind.both
		if late != nil && late[his.place] && m.begins(m.pair(f, int(his.number))) > 0 {
			both = both[1:]
		}
		chicks := 0.0
		if len(both) > 0 {
			chicks = both[0] * (settled * share)
			for _, chance := range both[1:] {
				chicks += chance * settled
			}
		}
		v := chicks * (m.advantageOf(chickAdds(sum+his.sum, x.kinship)) - kind.takes)
		if place != his.place {
			v -= move
		}
		to = append(to, v)
	}
	return to
}

// allValuesOf is valuesOf with all males.
func (m *market) allValuesOf(f int, to []float64) []float64 { return m.valuesOf(f, m.columns, to) }

// matesOnRecord returns the males, by number, that a female has clutches with.
func (m *market) matesOnRecord(f int) []int {
	var males []int
	for _, b := range m.p.success.mates(m.females[f]) {
		if k := m.number[b]; k >= 0 && m.p.Book.Birds[b].Sex == studbook.Male {
			males = append(males, k)
		}
	}
	return males
}

// gainsOf appends the gains of the eligible pairs of a female to a list.
func (m *market) gainsOf(f int, to []float64) []float64 {
	her, limit := &m.brings[0][f], closeFrom(m.limit)
	row := m.rows[her.row]
	for k := range m.columns {
		his := &m.columns[k]
		if kinship := row[his.row].kinship; !(kinship > limit) {
			to = append(to, m.w.gainFrom(chickAdds(her.sum+his.sum, kinship)))
		}
	}
	return to
}

// sharesBelow returns the shares of the eligible pairs that have less than each of
// some numbers, by what of gives of each female.
func (m *market) sharesBelow(numbers []float64, of func(f int, to []float64) []float64) []float64 {
	out := make([]float64, len(numbers))
	if m.eligible == 0 || len(numbers) == 0 {
		return out
	}
	sorted := slices.Compact(slices.Sorted(slices.Values(numbers)))
	places := newRuler(sorted)
	var lock sync.Mutex
	count := make([]int, len(sorted)+1) // of pairs with less than each, and not less than the one before
	m.each(func(f int, row []float64) {
		here := make([]int, len(count))
		for _, x := range of(f, row) {
			here[places.upTo(x)]++
		}
		lock.Lock()
		defer lock.Unlock()
		for k, n := range here {
			count[k] += n
		}
	})
	for k := 1; k < len(count); k++ {
		count[k] += count[k-1]
	}
	for k, x := range numbers {
		at, _ := slices.BinarySearch(sorted, x)
		out[k] = float64(count[at]) / float64(m.eligible)
	}
	return out
}

// ruler finds the place of a number among sorted ones faster than a binary search does:
// their range is cut into equal shares, and few numbers lie in the same share.
type ruler struct {
	sorted []float64
	first  []int32 // by share: how many numbers lie in the shares before it
	scale  float64 // shares in a unit
}

func newRuler(sorted []float64) *ruler {
	shares := 4 * len(sorted)
	r := &ruler{sorted: sorted, first: make([]int32, shares+1)}
	if r.scale = float64(shares-1) / (sorted[len(sorted)-1] - sorted[0]); math.IsInf(r.scale, 0) || math.IsNaN(r.scale) {
		r.scale = 0
	}
	for _, x := range sorted {
		r.first[r.share(x)+1]++
	}
	for s := range shares {
		r.first[s+1] += r.first[s]
	}
	return r
}

// share returns the share that a number from the first to the last lies in.
func (r *ruler) share(x float64) int { return int((x - r.sorted[0]) * r.scale) }

// upTo returns how many of the numbers are x or less.
func (r *ruler) upTo(x float64) int {
	n := len(r.sorted)
	switch {
	case !(x >= r.sorted[0]):
		return 0
	case x >= r.sorted[n-1]:
		return n
	}
	k := int(r.first[r.share(x)])
	for r.sorted[k] <= x {
		k++
	}
	return k
}

// ascending returns numbers in ascending order, as slices.Sort does, and may overwrite
// those it is given. The values of pairs are many and lie close together, so they are
// first put into equal shares of their range, and then sorted within each share.
func ascending(x []float64) []float64 {
	const each = 4 // numbers in a share, on average
	if len(x) < 16*each {
		slices.Sort(x)
		return x
	}
	least := slices.Min(x)
	shares := len(x) / each
	width := (slices.Max(x) - least) / float64(shares)
	if !(width > 0) || math.IsInf(width, 0) { // all alike, or none to be told apart
		slices.Sort(x)
		return x
	}
	share := func(v float64) int { return min(shares-1, int((v-least)/width)) }
	end := make([]int32, shares+1)
	for _, v := range x {
		end[share(v)+1]++
	}
	for s := range shares {
		end[s+1] += end[s]
	}
	out := make([]float64, len(x))
	for _, v := range x {
		s := share(v)
		out[end[s]] = v
		end[s]++
	}
	start := int32(0)
	for _, e := range end[:shares] {
		slices.Sort(out[start:e])
		start = e
	}
	return out
}

// advantage is the gain of a chick over that of the average eligible pair;
// where all are alike it is that of an unrelated bird's own kinship, so that
// chicks alone count.
func (m *market) advantage(x pair) float64 { return m.advantageOf(x.added()) }

// advantageOf is advantage from what a chick adds to S_w.
func (m *market) advantageOf(added float64) float64 {
	if m.alike {
		return 0.5 * m.unit
	}
	return (m.meanAdded - added) * m.unit
}

// value returns what a new pair is worth: the chicks to be expected of it over
// the seasons ahead times its advantage, less the prices of the bond and, where
// the birds live apart, of a move.
func (m *market) value(f, k int) float64 { return m.valueOf(m.pair(f, k)) }

func (m *market) valueOf(x pair) float64 {
	v := m.chicksAhead(x, true) * (m.advantage(x) - bondPrice*m.w.bondTakesOf(&x.her.future, &x.his.future)*m.unit)
	if x.her.place != x.his.place {
		v -= movePrice * m.unit
	}
	return v
}

// kept returns what an existing pair is worth: it has paid for its bond.
func (m *market) kept(f, k int) float64 {
	x := m.pair(f, k)
	return m.chicksAhead(x, false) * m.advantage(x)
}

// Rating is how a pair compares with the programme's eligible pairs by its value, pairs that
// differ by less than what tells equal ones apart counted as neither.
type Rating struct {
	AheadOf float64 // share of the eligible pairs with a smaller value
	Behind  float64 // share of them with a larger one
}

// aheadOf rates a value.
func (m *market) aheadOf(value float64) (r Rating) {
	if m.eligible == 0 {
		return r
	}
	values, same := m.values(), sameValue*m.unit
	less, _ := slices.BinarySearch(values, value-same)
	more, _ := slices.BinarySearch(values, value+same)
	return Rating{float64(less) / float64(m.eligible), 1 - float64(more)/float64(m.eligible)}
}

// aheadOfEach is aheadOf of several values; very many are not put into order for them.
func (m *market) aheadOfEach(values []float64) []Rating {
	if m.eligible > mostInOrder {
		return m.rate(values, 0, sameValue*m.unit, m.allValuesOf)
	}
	out := make([]Rating, len(values))
	for k, v := range values {
		out[k] = m.aheadOf(v)
	}
	return out
}

// gainsAheadOf rates some advantages among the eligible pairs, by what a chick of them gains
// and not by their value.
func (m *market) gainsAheadOf(advantages []float64) []Rating {
	if m.alike {
		return make([]Rating, len(advantages))
	}
	return m.rate(advantages, m.average, sameGain, m.gainsOf)
}

// rate rates some numbers, a constant added to each, among what of gives of each female;
// those that differ by less than same are one.
func (m *market) rate(numbers []float64, constant, same float64, of func(f int, to []float64) []float64) []Rating {
	ends := make([]float64, 0, 2*len(numbers))
	for _, x := range numbers {
		ends = append(ends, x+constant-same, x+constant+same)
	}
	shares := m.sharesBelow(ends, of)
	out := make([]Rating, len(numbers))
	for k := range out {
		out[k].AheadOf = shares[2*k]
		if m.eligible > 0 {
			out[k].Behind = 1 - shares[2*k+1]
		}
	}
	return out
}

// findLeastGain computes leastGain; the coming season's values are wanted in order
// besides, where they are not too many.
func (m *market) findLeastGain() float64 {
	switch set := m.p.Settings().LeastGain; {
	case set != nil:
		return *set
	case m.eligible == 0:
		return 0
	case m.years > 0 || m.eligible > mostInOrder:
		return m.spread() / 4
	}
	return stat.PopStdDev(m.values(), nil) / 4
}

// spread returns the standard deviation of the values of the eligible pairs, of which
// it keeps those of one female at a time: the squares within the rows, and those of
// the rows' means about that of all.
func (m *market) spread() float64 {
	type row struct{ n, mean, variance float64 }
	rows := make([]row, len(m.females))
	m.each(func(f int, values []float64) {
		if values = m.allValuesOf(f, values); len(values) > 0 {
			mean, variance := stat.PopMeanVariance(values, nil)
			rows[f] = row{float64(len(values)), mean, variance}
		}
	})
	n := float64(m.eligible)
	mean, squares := 0.0, 0.0
	for _, x := range rows {
		mean += x.mean * x.n / n
	}
	for _, x := range rows {
		squares += x.n * (x.variance + (x.mean-mean)*(x.mean-mean))
	}
	return math.Sqrt(squares / n)
}

// lookAhead fills in the chance of a bird to be alive and of breeding age in the
// seasons that a decision counts.
func (m *market) lookAhead(b int, life *outlook, out []float64) {
	p := m.p
	bird := &p.Book.Birds[b]
	ages := p.AgesOf(b)
	age, known := ageOn(bird, p.BreedingDay())
	wait := float64(p.BreedingDay()-p.Book.AsOf) / studbook.DaysPerYear
	for s := range out {
		years := m.years + float64(s)
		if then := age + years; known && (then < ages.First || ages.Last > 0 && then > ages.Last) {
			continue
		}
		out[s] = life.survive(years + wait)
	}
}

// findLate fills late for the coming season; for one in years to come every move is
// in time.
func (m *market) findLate() {
	if m.years > 0 {
		return
	}
	m.late = make([][]bool, len(m.places.codes))
	for k, a := range m.places.codes {
		m.late[k] = make([]bool, len(m.late))
		for l, b := range m.places.codes[:k] {
			late := !m.p.inTime(a, b, m.p.Book.AsOf) && !m.p.inTime(b, a, m.p.Book.AsOf)
			m.late[k][l], m.late[l][k] = late, late
		}
	}
}

// begins returns the first season, counted from the market's, in which two birds can
// be together: a move that comes too late for the first leaves the next.
func (m *market) begins(x pair) int {
	if m.late != nil && m.late[x.her.place][x.his.place] && !m.agreedInTime(x.her.bird, x.his.bird) && !m.agreedInTime(x.his.bird, x.her.bird) {
		return 1
	}
	return 0
}

// agreedInTime reports whether people agreed so early that a bird goes to the place of
// another that it comes in time, though with a permit asked for today it would not.
func (m *market) agreedInTime(b, mate int) bool {
	birds := m.p.Book.Birds
	day, agreed := m.p.agreed[asked{birds[b].ID, birds[mate].Location}]
	return agreed && m.p.inTime(birds[b].Location, birds[mate].Location, day)
}

// chicksIn returns the chicks that a pair is expected to hatch in a season so
// many after the market's if its eggs are left to it: those of SeasonChicks, times
// the chance that both live and are of breeding age then; none before the two can be
// together. fresh says that the bond is new: its first season has its own chance.
func (m *market) chicksIn(x pair, season int, fresh bool) float64 {
	both := x.her.ahead[season] * x.his.ahead[season]
	begins := m.begins(x)
	if both == 0 || season < begins {
		return 0
	}
	chicks := m.settled(x)
	if fresh && season == begins {
		chicks = m.p.firstChicks(chicks)
	}
	return both * chicks
}

// chicksAhead sums chicksIn over the seasons that a decision counts, from the first
// in which the two can be together.
func (m *market) chicksAhead(x pair, fresh bool) float64 {
	begins := m.begins(x)
	hers, his := x.her.ahead, x.his.ahead[:len(x.her.ahead)]
	sum, settled := 0.0, m.settled(x)
	for season := begins; season < len(hers); season++ {
		chicks := settled
		if season == begins && fresh {
			chicks = m.p.firstChicks(chicks)
		}
		sum += hers[season] * his[season] * chicks
	}
	return sum
}
