package pedigree

import (
	"context"
	"fmt"
	"hash/fnv"
	"math"
	"math/bits"
	"runtime"
	"slices"
)

// DefaultIterations is the number of gene-drop iterations where nothing else
// is said. The standard error of a proportion is then at most 0.005.
const DefaultIterations = 10_000

// minIterations is two words of iterations: fewer give no standard error.
const minIterations = 128

// Drop says how to drop genes down a pedigree.
type Drop struct {
	Iterations int    // 0 is DefaultIterations; at least 128
	Seed       uint64 // the same seed gives the same figures on any number of cores
}

// Estimate is a figure from a gene drop.
type Estimate struct {
	Value         float64
	StandardError float64
}

// FounderDrop is what a gene drop tells of a founder's two genes at one place
// of the genome. All figures are in 0..1.
type FounderDrop struct {
	// Retention is the share of the two genes of which at least one member
	// holds a copy: 1 of a living founder, 0 of one without living
	// descendants.
	Retention Estimate
	// EitherLost and BothLost are the chances that at least one of the two
	// genes is lost, and that both are.
	EitherLost, BothLost Estimate
	// InOneBird and InTwoBirds are the shares of the two genes that exactly
	// one member holds, and exactly two: what is about to be lost.
	InOneBird, InTwoBirds Estimate
}

// DropResult is the outcome of a gene drop.
type DropResult struct {
	Drop // as it was run

	// Founders by founder node of the pedigree, unknown parents included.
	Founders []FounderDrop
	// Uniqueness of the members, in the order of Members: the chance that a
	// gene drawn from the bird has no copy in any other member. Two copies
	// within the bird itself do not spoil it. In 0..1.
	Uniqueness []Estimate
	// GenomesSurviving is the sum of the retentions, in founder genomes.
	GenomesSurviving Estimate
	// RetentionEquivalents is the retention form of founder genome
	// equivalents, 1/Σ(p²/r); see the function of that name. 0 if there are
	// no members.
	RetentionEquivalents Estimate
	// FoundersTakenUnrelated is true if kinships of founders are given. The
	// drop takes all founders' genes as distinct and so sets them aside.
	FoundersTakenUnrelated bool
}

// GeneDrop gives every founder two genes of its own and lets them descend to
// the members by chance, many times (MacCluer, VandeBerg, Read & Ryder 1986).
// An uncertain parent is drawn by its weights in every iteration; chicks of one
// clutch whose uncertain parent has the same candidates share the draw, though
// an unknown parent among these is another for each chick.
//
// The standard error of a mean over n iterations is s/√n, s the standard
// deviation between iterations: √(p(1−p)/n) of the chance of one event. That of
// RetentionEquivalents is from batches of iterations, to first order.
//
// A bird's draws depend on the seed and its id alone, so that populations, and
// studbooks a few birds apart, are compared on the same draws. It is an error
// to ask for fewer than 128 iterations; ctx stops the work between blocks.
func (q *Population) GeneDrop(ctx context.Context, d Drop) (*DropResult, error) {
	if d.Iterations == 0 {
		d.Iterations = DefaultIterations
	}
	if d.Iterations < minIterations {
		return nil, fmt.Errorf("pedigree: gene drop of %d iterations: at least %d are needed for a standard error", d.Iterations, minIterations)
	}
	t, here := newDropper(q, d)
	cores := make(chan *core, min(runtime.GOMAXPROCS(0), t.blocks()))
	err := onAllCores(ctx, t.blocks(), func(next func() (int, bool)) {
		c := t.newCore()
		for block, ok := next(); ok; block, ok = next() {
			c.run(block)
		}
		cores <- c
	})
	if err != nil {
		return nil, err
	}
	close(cores)
	all := &(<-cores).tally
	for c := range cores {
		all.add(&c.tally)
	}
	return t.result(q, here, all), nil
}

// A gene slot is one of the two genes of a node: slot 2i of node i comes from
// its sire, slot 2i+1 from its dam. A word holds one bit for each of 64
// iterations; a block is the words that are worked on together.
const lanes = 4

type block [lanes]uint64

// full is set in all iterations.
var full = block{math.MaxUint64, math.MaxUint64, math.MaxUint64, math.MaxUint64}

// dropper is what all cores share: the ancestors of the members, numbered
// anew, and where the genes of each come from.
type dropper struct {
	Drop
	*flow
	members []int32  // ascending
	bred    []int32  // nodes with genes from parents, ascending
	from    []int32  // by slot: the parent node, or -1-k for mixtures[k]
	coin    []uint64 // by node: key of its random words
	choice  []choice // by mixture

	// Two genes of one member can be copies of one founder gene only if it
	// is inbred. For these birds alone founder genes are told apart.
	inbred []int32 // inbred members
	traced []int32 // they and their ancestors, without founders, ascending
	behind []int32 // their founders
}

// choice is the draw of an uncertain parent.
type choice struct {
	key   uint64   // of its random words, one for all of a tie
	below []uint64 // the candidate is k if 2⁶² times a uniform number is below it and not below an earlier one
	first int      // where the picks of its candidates begin
}

func newDropper(q *Population, d Drop) (t *dropper, here []int32) {
	g, here := q.p.lineage(q.members)
	n := len(here)
	t = &dropper{
		Drop:   d,
		flow:   g,
		from:   make([]int32, 2*n),
		coin:   make([]uint64, n),
		choice: make([]choice, len(g.mixtures)),
	}
	seed := scramble(d.Seed)
	key := func(node int) uint64 {
		h := fnv.New64a()
		h.Write([]byte{byte(q.p.kinds[node])})
		h.Write([]byte(q.p.names[node]))
		return scramble(h.Sum64() ^ seed)
	}
	for i, node := range here {
		t.coin[i] = key(int(node))
		_, member := slices.BinarySearch(q.members, int(node))
		if member {
			t.members = append(t.members, int32(i))
		}
		if i < g.founders || g.sire[i] < 0 {
			continue
		}
		t.bred = append(t.bred, int32(i))
		for side, parent := range [2]int32{g.sire[i], g.dam[i]} {
			if parent >= int32(g.founders) && g.sire[parent] < 0 {
				parent = g.sire[parent]
			}
			t.from[2*i+side] = parent
		}
		if member && g.self[i] > 1 {
			t.inbred = append(t.inbred, int32(i))
		}
	}
	if len(g.mixtures) > 0 {
		t.choose(q.p, key)
	}
	t.trace()
	return t, here
}

// choose prepares the draws of the uncertain parents. The first of a tie in
// the whole pedigree lends its key to all.
func (t *dropper) choose(p *Pedigree, key func(node int) uint64) {
	ties := make(map[int]uint64)
	for _, i := range p.elder {
		if p.sire[i] < 0 {
			tie := p.mixtures[-1-p.sire[i]].tie
			if _, ok := ties[tie]; !ok {
				ties[tie] = key(int(i))
			}
		}
	}
	first := 0
	for k, m := range t.mixtures {
		c := choice{key: ties[m.tie], first: first}
		sum := 0.0
		for _, w := range m.weight {
			sum += w
			c.below = append(c.below, uint64(min(sum, 1)*(1<<62)))
		}
		c.below[len(c.below)-1] = 1 << 62
		first += len(m.node)
		t.choice[k] = c
	}
}

// trace finds the ancestors of the inbred members.
func (t *dropper) trace() {
	wanted := make([]bool, len(t.coin))
	for _, i := range t.inbred {
		wanted[i] = true
	}
	for i := len(wanted) - 1; i >= t.founders; i-- {
		if wanted[i] {
			t.parentsOf(int32(i), func(parent int32, _ float64) { wanted[parent] = true })
		}
	}
	for a := range t.founders {
		if wanted[a] {
			t.behind = append(t.behind, int32(a))
		}
	}
	for _, i := range t.bred {
		if wanted[i] {
			t.traced = append(t.traced, i)
		}
	}
}

func (t *dropper) words() int  { return (t.Iterations + 63) / 64 }
func (t *dropper) blocks() int { return (t.words() + lanes - 1) / lanes }

// batches is the number of parts the iterations are divided into, to see how a
// figure varies between them; batch is the part that a word belongs to.
func (t *dropper) batches() int       { return min(t.words(), 32) }
func (t *dropper) batch(word int) int { return word * t.batches() / t.words() }

// inUse returns the iterations of a word that count: the last words of the
// last block may lie beyond the number asked for.
func (t *dropper) inUse(word int) uint64 {
	switch left := t.Iterations - 64*word; {
	case left >= 64:
		return math.MaxUint64
	case left > 0:
		return 1<<left - 1
	}
	return 0
}

// scramble is the finaliser of splitmix64 (Steele, Lea & Flood 2014).
func scramble(z uint64) uint64 {
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// randomWord returns the k-th word of the splitmix64 generator that starts at
// key. Any word can be had at any time, so the order of work does not matter.
func randomWord(key, k uint64) uint64 {
	return scramble(key + (k+1)*0x9e3779b97f4a7c15)
}

// below tells of 64 iterations whether a random number uniform in 0..2⁶² is
// below the threshold. Digit by digit, highest first, a random word gives that
// digit of all 64 numbers; once all are decided the rest is not drawn. Equal
// key and word give equal numbers.
func below(threshold, key uint64, word int) uint64 {
	if threshold >= 1<<62 {
		return math.MaxUint64
	}
	less, open := uint64(0), uint64(math.MaxUint64)
	for digit := uint64(0); digit < 62 && open != 0; digit++ {
		r := randomWord(key, 64*uint64(word)+digit)
		if threshold>>(61-digit)&1 != 0 {
			less |= open &^ r
			open &= r
		} else {
			open &^= r
		}
	}
	return less
}

// pair counts iterations in which something is so of at least one of a node's
// two genes, and of both.
type pair struct{ either, both int64 }

func (c *pair) count(a, b uint64) {
	c.either += int64(bits.OnesCount64(a | b))
	c.both += int64(bits.OnesCount64(a & b))
}

func (c *pair) add(d pair) {
	c.either += d.either
	c.both += d.both
}

// share estimates the mean over the two genes from n iterations.
func (c pair) share(n float64) Estimate {
	either, both := float64(c.either), float64(c.both)
	mean := (either + both) / (2 * n)
	square := (both + (either-both)/4) / n
	return Estimate{mean, math.Sqrt(max(0, square-mean*mean) / n)}
}

// chance estimates the chance of what was so in count of n iterations.
func chance(count int64, n float64) Estimate {
	p := float64(count) / n
	return Estimate{p, math.Sqrt(p * (1 - p) / n)}
}

// tally is what is counted. All of it is whole numbers, so that sums do not
// depend on their order.
type tally struct {
	held, inOne, inTwo []pair  // by founder: by members at all, by exactly one, by exactly two
	unique             []pair  // by place among the members
	genes, squares     int64   // sum over iterations of the founder genes held, and of its square
	byBatch            []int64 // iterations times genes held, by batch and founder
}

func (t *tally) add(other *tally) {
	for _, list := range []struct{ to, from []pair }{
		{t.held, other.held}, {t.inOne, other.inOne}, {t.inTwo, other.inTwo}, {t.unique, other.unique},
	} {
		for k := range list.to {
			list.to[k].add(list.from[k])
		}
	}
	t.genes += other.genes
	t.squares += other.squares
	for k, v := range other.byBatch {
		t.byBatch[k] += v
	}
}

// core drops blocks of iterations, one at a time, on one processor core.
type core struct {
	*dropper
	tally
	coins []block // by slot: set where the parent's gene from its dam is passed on
	picks []block // by candidate of a mixture: set where it is the parent
	// The number of members that hold a copy of the gene in a slot through
	// it, in two binary digits: 0, 1, 2, or 3 for any more.
	ones, twos []block
	differ     []block // by inbred member: set where its genes are not one founder gene
	digits     []block // number of founder genes held, by binary digit
}

func (t *dropper) newCore() *core {
	slots := len(t.from)
	picks := 0
	for _, c := range t.choice {
		picks += len(c.below)
	}
	return &core{
		dropper: t,
		tally: tally{
			held:    make([]pair, t.founders),
			inOne:   make([]pair, t.founders),
			inTwo:   make([]pair, t.founders),
			unique:  make([]pair, len(t.members)),
			byBatch: make([]int64, t.batches()*t.founders),
		},
		coins:  make([]block, slots),
		picks:  make([]block, picks),
		ones:   make([]block, slots),
		twos:   make([]block, slots),
		differ: make([]block, len(t.inbred)),
		digits: make([]block, bits.Len(uint(2*t.founders))),
	}
}

func (c *core) run(number int) {
	c.toss(number * lanes)
	c.compare()
	c.gather()
	c.countFounders(number * lanes)
	c.countUnique(number * lanes)
}

// toss draws which gene every slot takes from its parent, and which candidate
// every uncertain parent is.
func (c *core) toss(word int) {
	for _, i := range c.bred {
		sire, dam, key := &c.coins[2*i], &c.coins[2*i+1], c.coin[i]
		for j := range lanes {
			k := 2 * uint64(word+j)
			sire[j] = randomWord(key, k)
			dam[j] = randomWord(key, k+1)
		}
	}
	for _, d := range c.choice {
		for j := range lanes {
			earlier := uint64(0)
			for k, threshold := range d.below {
				upTo := below(threshold, d.key, word+j)
				c.picks[d.first+k][j] = upTo &^ earlier
				earlier = upTo
			}
		}
	}
}

// passDown passes a bit of each founder gene on to the copies of it: from the
// founders' slots to those of nodes, which are ascending and with each node
// hold its ancestors.
func (c *core) passDown(x []block, nodes []int32) {
	for _, i := range nodes {
		for slot := 2 * i; slot < 2*i+2; slot++ {
			to, coin := &x[slot], &c.coins[slot]
			if parent := c.from[slot]; parent >= 0 {
				a, b := &x[2*parent], &x[2*parent+1]
				for j := range lanes {
					to[j] = a[j] ^ (a[j]^b[j])&coin[j]
				}
				continue
			}
			*to = block{}
			m := -1 - c.from[slot]
			for k, parent := range c.mixtures[m].node {
				a, b, pick := &x[2*parent], &x[2*parent+1], &c.picks[c.choice[m].first+k]
				for j := range lanes {
					to[j] |= (a[j] ^ (a[j]^b[j])&coin[j]) & pick[j]
				}
			}
		}
	}
}

// compare finds where the two genes of the inbred members differ. The founder
// genes behind them are numbered, and the numbers passed down digit by digit.
func (c *core) compare() {
	clear(c.differ)
	for digit := range bits.Len(uint(max(0, 2*len(c.behind)-1))) {
		for k, a := range c.behind {
			for side := range 2 {
				c.ones[2*int(a)+side] = block{}
				if (2*k+side)>>digit&1 != 0 {
					c.ones[2*int(a)+side] = full
				}
			}
		}
		c.passDown(c.ones, c.traced)
		for k, i := range c.inbred {
			for j := range lanes {
				c.differ[k][j] |= c.ones[2*i][j] ^ c.ones[2*i+1][j]
			}
		}
	}
}

// gather counts, from chicks to parents, the members that hold a copy of the
// gene in each slot. No labels are needed for it: where the copies of one
// founder gene go, their counts come back. A member whose genes are copies of
// one founder gene counts with the first alone.
func (c *core) gather() {
	clear(c.ones)
	clear(c.twos)
	for _, i := range c.members {
		c.ones[2*i], c.ones[2*i+1] = full, full
	}
	for k, i := range c.inbred {
		c.ones[2*i+1] = c.differ[k]
	}
	for k := len(c.bred) - 1; k >= 0; k-- {
		i := c.bred[k]
		for slot := 2 * i; slot < 2*i+2; slot++ {
			ones, twos, coin := &c.ones[slot], &c.twos[slot], &c.coins[slot]
			if parent := c.from[slot]; parent >= 0 {
				c.give(parent, ones, twos, coin)
				continue
			}
			m := -1 - c.from[slot]
			for k, parent := range c.mixtures[m].node {
				pick := &c.picks[c.choice[m].first+k]
				var x, y block
				for j := range lanes {
					x[j], y[j] = ones[j]&pick[j], twos[j]&pick[j]
				}
				c.give(parent, &x, &y, coin)
			}
		}
	}
}

// give adds a chick's counts to the slot of the parent that the coin says.
func (c *core) give(parent int32, ones, twos, coin *block) {
	a1, a2 := &c.ones[2*parent], &c.twos[2*parent]
	b1, b2 := &c.ones[2*parent+1], &c.twos[2*parent+1]
	for j := range lanes {
		x, y, r := ones[j], twos[j], coin[j]
		a1[j], a2[j] = sum(a1[j], a2[j], x&^r, y&^r)
		b1[j], b2[j] = sum(b1[j], b2[j], x&r, y&r)
	}
}

// sum adds numbers of two binary digits each; what exceeds 3 stays 3.
func sum(a1, a2, b1, b2 uint64) (ones, twos uint64) {
	carry := a1 & b1
	over := a2&b2 | carry&(a2|b2)
	return a1 ^ b1 | over, a2 ^ b2 ^ carry | over
}

// countFounders counts what the founders' slots have gathered.
func (c *core) countFounders(word int) {
	clear(c.digits)
	for a := range c.founders {
		x1, x2 := &c.ones[2*a], &c.twos[2*a]
		y1, y2 := &c.ones[2*a+1], &c.twos[2*a+1]
		for j := range lanes {
			use := c.inUse(word + j)
			if use == 0 {
				break
			}
			x, y := (x1[j]|x2[j])&use, (y1[j]|y2[j])&use
			c.held[a].count(x, y)
			c.inOne[a].count(x1[j]&^x2[j]&use, y1[j]&^y2[j]&use)
			c.inTwo[a].count(x2[j]&^x1[j]&use, y2[j]&^y1[j]&use)
			c.byBatch[c.batch(word+j)*c.founders+a] += int64(bits.OnesCount64(x) + bits.OnesCount64(y))
			c.tick(j, x)
			c.tick(j, y)
		}
	}
	// Σ over iterations of a number and of its square, from its digits.
	for j := range lanes {
		for k := range c.digits {
			d := c.digits[k][j]
			c.genes += int64(bits.OnesCount64(d)) << k
			for l := range c.digits {
				c.squares += int64(bits.OnesCount64(d&c.digits[l][j])) << (k + l)
			}
		}
	}
}

// tick adds one to the number of genes held in the iterations of carry.
func (c *core) tick(lane int, carry uint64) {
	for k := 0; carry != 0; k++ {
		c.digits[k][lane], carry = c.digits[k][lane]^carry, c.digits[k][lane]&carry
	}
}

// countUnique passes down, from parents to chicks, whether the founder gene in
// a slot is held by one member only, and counts it at the members. The ones are
// overwritten for it.
func (c *core) countUnique(word int) {
	for slot := range 2 * c.founders {
		for j := range lanes {
			c.ones[slot][j] &^= c.twos[slot][j]
		}
	}
	c.passDown(c.ones, c.bred)
	for k, i := range c.members {
		for j := range lanes {
			use := c.inUse(word + j)
			c.unique[k].count(c.ones[2*i][j]&use, c.ones[2*i+1][j]&use)
		}
	}
}

// result turns counts into estimates.
func (t *dropper) result(q *Population, here []int32, c *tally) *DropResult {
	n := float64(t.Iterations)
	r := &DropResult{
		Drop:                   t.Drop,
		Founders:               make([]FounderDrop, q.p.founders),
		Uniqueness:             make([]Estimate, len(q.members)),
		FoundersTakenUnrelated: len(q.p.related) > 0,
	}
	for a := range r.Founders {
		r.Founders[a].EitherLost.Value, r.Founders[a].BothLost.Value = 1, 1
	}
	for a := range t.founders {
		r.Founders[here[a]] = FounderDrop{
			Retention:  c.held[a].share(n),
			EitherLost: chance(int64(t.Iterations)-c.held[a].both, n),
			BothLost:   chance(int64(t.Iterations)-c.held[a].either, n),
			InOneBird:  c.inOne[a].share(n),
			InTwoBirds: c.inTwo[a].share(n),
		}
	}
	for k := range r.Uniqueness {
		r.Uniqueness[k] = c.unique[k].share(n)
	}
	genes, squares := float64(c.genes)/n, float64(c.squares)/n
	r.GenomesSurviving = Estimate{genes / 2, math.Sqrt(max(0, squares-genes*genes)/n) / 2}
	r.RetentionEquivalents = t.equivalents(q.Contributions(), r.Founders, here, c)
	return r
}

// equivalents estimates 1/D, D = Σ p²/r. Its standard error is that of the
// weighted sum Σ r p²/(r²D²), which changes as it does for small errors of r.
func (t *dropper) equivalents(contributions []float64, founders []FounderDrop, here []int32, c *tally) Estimate {
	retention := make([]float64, len(founders))
	for a := range founders {
		retention[a] = founders[a].Retention.Value
	}
	value, ok := RetentionEquivalents(contributions, retention)
	if !ok {
		return Estimate{}
	}
	batches := t.batches()
	size := make([]float64, batches) // iterations
	total := make([]float64, batches)
	for word := range t.words() {
		size[t.batch(word)] += float64(bits.OnesCount64(t.inUse(word)))
	}
	mean := 0.0
	for a := range t.founders {
		p, r := contributions[here[a]], retention[here[a]]
		if r <= p/2 {
			continue
		}
		weight := p * p / (r * r) * value * value
		mean += weight * r
		for b := range batches {
			total[b] += weight * float64(c.byBatch[b*t.founders+a]) / 2
		}
	}
	squares := 0.0
	for b := range batches {
		d := total[b] - size[b]*mean
		squares += d * d
	}
	n, parts := float64(t.Iterations), float64(batches)
	return Estimate{value, math.Sqrt(squares*parts/(parts-1)) / n}
}
