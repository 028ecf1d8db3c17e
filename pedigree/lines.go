package pedigree

import (
	"context"
	"sync"
)

// lines compute self of every node from the lines of descent that end in each breeder,
// all of them listed: those of a chick are its parents' lines, a generation longer.
// What two parents have in common is the sum over all pairs of their lines that begin
// at one node,
//
//	A_sd = Σ (1/2)^(n₁+n₂) B_j
//
// with n₁ and n₂ the generations of the two lines and j where they begin: Wright's
// (1922) path coefficients, with B in place of 1+F so that lines may meet again on
// their way. Nothing has to be searched for, and a line takes four bytes; but there may
// be exponentially many, so this is a way for birds with few ancestors.
type lines struct {
	p *Pedigree
	// The lines that end in breeder i are all[first[i]:first[i+1]], the last of them
	// itself.
	first []int32
	all   []line
	free  sync.Pool // of *scratch
}

// scratch is what one core works with.
type scratch struct {
	flow  []float64 // of each breeder, 0 between two nodes
	spare []line    // room for the lines of a node without chicks, which nobody asks for
	seen  line      // the sum of what look found, so that it does look
}

// line is the node that a line begins at, and a generation for each step from there.
type line uint32

const (
	// generation stands above all nodes, of which there are fewer.
	generation = 1 << 26
	// mostGenerations is how many a line can count.
	mostGenerations = 1<<6 - 1
	// linesMost is how many lines the parents of a node may have, on average.
	linesMost = 256
	// linesBytes is the most memory of all lines.
	linesBytes = 256 << 20
	// linesNear is how many lines are near to a core, so that it has not to wait for them.
	linesNear = 1 << 20
)

func (l line) start() int    { return int(l % generation) }
func (l line) half() float64 { return halves[l/generation] }

// halves are the shares of genes that come down lines of 0, 1, 2, … generations.
var halves = func() (h [mostGenerations + 1]float64) {
	for k := range h {
		h[k] = 1 / float64(uint64(1)<<k)
	}
	return h
}()

// newLines counts the lines of a pedigree and makes room for them. It returns nil where
// these are too many, or do not say all: of birds that have several possible parents, or
// founders that are kin of each other.
func newLines(p *Pedigree) *lines {
	if len(p.related) > 0 || p.breeders > generation {
		return nil
	}
	t := &lines{p: p, first: make([]int32, p.breeders+1)}
	number := func(i int32) int { return int(t.first[i+1] - t.first[i]) }
	looked, most, longest := 0, linesMost*p.Len(), 0
	for i := range p.Len() {
		n := 0
		if i >= p.founders {
			if s := p.sire[i]; s >= 0 {
				n = number(s) + number(p.dam[i])
			} else if m := &p.mixtures[-1-s]; len(m.node) == 1 {
				n = number(m.node[0])
			} else {
				return nil
			}
		}
		if looked += n; looked > most {
			return nil
		}
		longest = max(longest, n)
		if i < p.breeders {
			n += int(t.first[i]) + 1
			if n*4 > linesBytes || p.level[i] > mostGenerations {
				return nil
			}
			t.first[i+1] = int32(n)
		}
	}
	t.all = make([]line, t.first[p.breeders])
	t.free.New = func() any {
		return &scratch{make([]float64, p.breeders), make([]line, longest), 0}
	}
	return t
}

// run computes self of every node, and fresh of the breeders: of those with as many
// generations behind them on all cores.
func (t *lines) run(ctx context.Context) error {
	const together, ahead = 512, 8
	far := len(t.all) > linesNear
	for _, nodes := range t.p.generations(t.p.Len()) {
		err := onAllCores(ctx, (len(nodes)+together-1)/together, func(next func() (int, bool)) {
			x := t.free.Get().(*scratch)
			for k, ok := next(); ok; k, ok = next() {
				some := nodes[k*together : min((k+1)*together, len(nodes))]
				for at, i := range some {
					if far && at%ahead == 0 {
						x.seen += t.look(some[at:min(at+ahead, len(some))])
					}
					t.descend(i, x)
				}
			}
			t.free.Put(x)
		})
		if err != nil {
			return err
		}
	}
	return nil
}

func (t *lines) of(i int32) []line { return t.all[t.first[i]:t.first[i+1]] }

// look reads from the lines of the parents of a few nodes, so that all of these are
// fetched from memory at the same time, not one after the other as they are needed.
func (t *lines) look(nodes []int32) (sum line) {
	const fetched = 64 / 4 // at a time
	for _, i := range nodes {
		if int(i) < t.p.founders || t.p.sire[i] < 0 {
			continue
		}
		for _, parent := range [2]int32{t.p.sire[i], t.p.dam[i]} {
			of := t.of(parent)
			for k := 0; k < len(of); k += fetched {
				sum += of[k]
			}
		}
	}
	return sum
}

// descend works out self of a node and, of a breeder, its lines.
func (t *lines) descend(i int32, x *scratch) {
	p, to := t.p, x.spare
	if int(i) < p.breeders {
		p.freshen(i)
		to = t.of(i)
		to[len(to)-1] = line(i)
	}
	if int(i) < p.founders {
		return
	}
	s, d := p.sire[i], p.dam[i]
	if s < 0 {
		only := p.mixtures[-1-s].node[0]
		p.self[i] = p.self[only]
		copy(to, t.of(only))
		return
	}
	fewer, more := t.of(s), t.of(d)
	if len(fewer) > len(more) {
		fewer, more = more, fewer
	}
	// Lists are short, and each further loop over one would take longer to end than
	// to go through it.
	flow, fresh := x.flow, p.fresh[:len(x.flow)]
	longer := to[:len(fewer)]
	for k, l := range fewer {
		longer[k] = l + generation
		flow[l.start()] += l.half() * fresh[l.start()]
	}
	longer = to[len(fewer):][:len(more)]
	common := 0.0
	for k, l := range more {
		longer[k] = l + generation
		common += flow[l.start()] * l.half()
	}
	for _, l := range fewer {
		flow[l.start()] = 0
	}
	p.self[i] = 1 + common/2
}
