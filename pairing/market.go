package pairing

import (
	"context"
	"math"
	"slices"
	"sync"

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

// market is what every pair of birds that may breed in a season would do for
// the programme, bonds aside. Birds of it are numbered by sex, in the order of the
// snapshot.
type market struct {
	p              *Programme
	limit          float64 // F of a chick from which on a pair is ruled out
	years          float64 // from the coming season to this one
	females, males []int   // in the snapshot
	number         []int   // of each bird of the snapshot among its sex, -1 if it is in neither
	kinship        [][]float64
	// ahead is the chance of each bird of the snapshot to be alive and of
	// breeding age in the season and in those after it that a decision counts;
	// nil for birds that are in neither list.
	ahead [][]float64
	gain  [][]float64 // exact change in weighted gene diversity by one chick
	// settled are the chicks to expect in a season after a pair's first, while
	// both live and are of breeding age.
	settled [][]float64
	// late is true of two places between which no bird can come in time for the
	// season, either way, by their numbers; nil where none is.
	late   [][]bool
	places *places

	eligible int     // pairs within the limit
	average  float64 // mean gain of those
	// alike is true where no pair within the limit gains clearly more than another, or
	// there is only one: then nothing can be compared, and every chick counts
	// the same.
	alike bool

	// unit turns S_w into gene diversity: 1/(Σw+1)².
	unit   float64
	values func() []float64 // of all eligible pairs, ascending
	gains  func() []float64 // the same of their gains
}

// newMarket computes the kinships and gains of all pairs of birds that may
// breed in the season so many years after the coming one. What a market of another
// season, or nil, has of a pair is taken from there.
func newMarket(ctx context.Context, p *Programme, limit, years float64, known *market) (*market, error) {
	m := &market{p: p, limit: limit, years: years, places: p.places(), number: make([]int, len(p.Book.Birds)), ahead: make([][]float64, len(p.Book.Birds))}
	for b := range m.number {
		m.number[b] = -1
	}
	standings := p.standings
	if years > 0 {
		standings = p.standingsOn(p.breedingDay() + studbook.Day(math.Round(years*studbook.DaysPerYear)))
	}
	for _, b := range p.Book.Living {
		if !standings[b].State.MayBreed() {
			continue
		}
		m.ahead[b] = m.lookAhead(b)
		side := &m.females
		if p.Book.Birds[b].Sex == studbook.Male {
			side = &m.males
		}
		m.number[b] = len(*side)
		*side = append(*side, b)
	}
	w := p.worths()
	m.unit = 1 / ((w.total + 1) * (w.total + 1))
	m.kinship = make([][]float64, len(m.females))
	m.gain = make([][]float64, len(m.females))
	m.settled = make([][]float64, len(m.females))
	m.values = sync.OnceValue(func() []float64 { return ascending(m.all(m.value)) })
	m.gains = sync.OnceValue(func() []float64 { return ascending(m.all(func(f, k int) float64 { return m.gain[f][k] })) })
	if len(m.females) == 0 || len(m.males) == 0 {
		return m, nil
	}
	males := p.nodes(m.males)
	err := p.Pedigree.KinshipRows(ctx, p.nodes(m.females), males, func(f int, row []float64) {
		m.kinship[f] = slices.Clone(row)
		m.gain[f], m.settled[f] = make([]float64, len(row)), make([]float64, len(row))
		female, there := m.females[f], -1
		if known != nil {
			there = known.number[female]
		}
		for k, kinship := range row {
			male := m.males[k]
			if there >= 0 && known.number[male] >= 0 {
				m.gain[f][k], m.settled[f][k] = known.gain[there][known.number[male]], known.settled[there][known.number[male]]
				continue
			}
			m.gain[f][k] = w.gainFromChick(p.node[female], males[k], kinship)
			m.settled[f][k] = p.seasonChicks(p.success.chance(female, male), kinship, false)
		}
	})
	if err != nil {
		return nil, err
	}
	least, most := math.Inf(1), math.Inf(-1)
	for f := range m.females {
		for k := range m.males {
			if !m.within(f, k) {
				continue
			}
			m.eligible++
			m.average += m.gain[f][k]
			least, most = min(least, m.gain[f][k]), max(most, m.gain[f][k])
		}
	}
	if m.eligible > 0 {
		m.average /= float64(m.eligible)
	}
	m.alike = m.eligible < 2 || most-least < alikeGain*m.unit
	m.findLate()
	return m, nil
}

// all returns a figure of all eligible pairs, as they stand.
func (m *market) all(of func(f, k int) float64) []float64 {
	all := make([]float64, 0, m.eligible)
	for f := range m.females {
		for k := range m.males {
			if m.within(f, k) {
				all = append(all, of(f, k))
			}
		}
	}
	return all
}

// ascending returns numbers in ascending order, as slices.Sort has them, and may
// use those it is given: those of pairs are many and lie close together, so that
// shares of their range sort them all but for a few beside each other.
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

func (m *market) within(f, k int) bool { return !TooClose(m.kinship[f][k], m.limit) }

// advantage is the gain of a chick over that of the average eligible pair;
// where all are alike it is that of an unrelated bird's own kinship, so that
// chicks alone count.
func (m *market) advantage(f, k int) float64 {
	if m.alike {
		return 0.5 * m.unit
	}
	return m.gain[f][k] - m.average
}

// value returns what a new pair is worth: the chicks to be expected of it over
// the seasons ahead times its advantage, less the prices of the bond and, where
// the birds live apart, of a move.
func (m *market) value(f, k int) float64 {
	female, male := m.females[f], m.males[k]
	chicks := m.chicksAhead(f, k, true)
	v := chicks * (m.advantage(f, k) - bondPrice*m.p.worths().bondTakes(female, male)*m.unit)
	if m.p.Book.Birds[female].Location != m.p.Book.Birds[male].Location {
		v -= movePrice * m.unit
	}
	return v
}

// kept returns what an existing pair is worth: it has paid for its bond.
func (m *market) kept(f, k int) float64 {
	return m.chicksAhead(f, k, false) * m.advantage(f, k)
}

// aheadOf returns the share of the eligible pairs whose value is smaller, by more
// than what tells equal pairs apart.
func (m *market) aheadOf(value float64) float64 {
	if m.eligible == 0 {
		return 0
	}
	n, _ := slices.BinarySearch(m.values(), value-sameValue*m.unit)
	return float64(n) / float64(m.eligible)
}

// gainAheadOf returns the share of the eligible pairs of which a chick gains less.
func (m *market) gainAheadOf(advantage float64) float64 {
	if m.alike || m.eligible == 0 {
		return 0
	}
	n, _ := slices.BinarySearch(m.gains(), advantage+m.average-sameGain)
	return float64(n) / float64(m.eligible)
}

// leastGain returns what a pair must gain to be worth a move: as programme.toml has
// it, or else a quarter of the spread of the values of all eligible pairs.
func (m *market) leastGain(values func() []float64) float64 {
	if set := m.p.Settings().LeastGain; set != nil {
		return *set
	}
	return spread(values()) / 4
}

// spread returns the standard deviation of the values of the eligible pairs.
func spread(values []float64) float64 {
	n := float64(len(values))
	if n == 0 {
		return 0
	}
	mean, squares := 0.0, 0.0
	for _, v := range values {
		mean += v / n
	}
	for _, v := range values {
		squares += (v - mean) * (v - mean)
	}
	return math.Sqrt(squares / n)
}

// lookAhead returns the chance of a bird to be alive and of breeding age in the
// seasons that a decision counts.
func (m *market) lookAhead(b int) []float64 {
	p := m.p
	bird := &p.Book.Birds[b]
	ages := p.AgesOf(b)
	age, known := ageOn(bird, p.breedingDay())
	out := make([]float64, p.Settings().SeasonsAhead)
	for s := range out {
		years := m.years + float64(s)
		if then := age + years; known && (then < ages.First || ages.Last > 0 && then > ages.Last) {
			continue
		}
		out[s] = p.worths().survive(b, years)
	}
	return out
}

// findLate fills late for the coming season; for one in years to come every move is
// in time.
func (m *market) findLate() {
	if m.years > 0 || len(m.p.pairingSeason()) == 0 {
		return
	}
	m.late = make([][]bool, len(m.places.codes))
	for k, a := range m.places.codes {
		m.late[k] = make([]bool, len(m.late))
		for l, b := range m.places.codes[:k] {
			late := !m.p.inTime(a, b) && !m.p.inTime(b, a)
			m.late[k][l], m.late[l][k] = late, late
		}
	}
}

// begins returns the first season, counted from the market's, in which two birds can
// be together: a move that comes too late for the first leaves the next.
func (m *market) begins(f, k int) int {
	if m.late != nil && m.late[m.places.of[m.females[f]]][m.places.of[m.males[k]]] {
		return 1
	}
	return 0
}

// chicksIn returns the chicks that a pair is expected to hatch in a season so
// many after the market's if its eggs are left to it: those of SeasonChicks, times
// the chance that both live and are of breeding age then; none before the two can be
// together. fresh says that the bond is new: its first season has its own chance.
func (m *market) chicksIn(f, k, season int, fresh bool) float64 {
	female, male := m.females[f], m.males[k]
	both := m.ahead[female][season] * m.ahead[male][season]
	begins := m.begins(f, k)
	if both == 0 || season < begins {
		return 0
	}
	chicks := m.settled[f][k]
	if fresh && season == begins {
		chicks = m.p.firstChicks(chicks)
	}
	return both * chicks
}

// chicksAhead sums chicksIn over the seasons that a decision counts, from the first
// in which the two can be together.
func (m *market) chicksAhead(f, k int, fresh bool) float64 {
	female, male := m.females[f], m.males[k]
	begins := m.begins(f, k)
	settled := m.settled[f][k]
	ofFemale, ofMale := m.ahead[female], m.ahead[male]
	sum := 0.0
	for season := begins; season < len(ofFemale); season++ {
		chicks := settled
		if season == begins && fresh {
			chicks = m.p.firstChicks(settled)
		}
		sum += ofFemale[season] * ofMale[season] * chicks
	}
	return sum
}
