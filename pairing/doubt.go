package pairing

import (
	"context"
	"math"
	"slices"
	"sync"

	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// The reasons to doubt that two birds are as little related as the pedigree
// says.
const (
	// MateMayBeParent: an unknown or uncertain parent of one bird could be the
	// other. Birds: the chick, the other; Value the weight that the studbook
	// gives it, 0 where it names nobody.
	MateMayBeParent Code = "mate_may_be_parent"
	// KinMayBeParent: it could be a parent, chick or full sibling of the other.
	// Birds: the chick, the one that may be its parent, the other; Value as
	// before; Kin how the second is related to the third.
	KinMayBeParent Code = "kin_may_be_parent"
	// KinIsParent: by DNA a parent of one bird, whom the studbook does not have, is kin of
	// the other in the first degree. Birds: the chick, its parent, the other; Kin how the
	// second is related to the third.
	KinIsParent Code = "kin_is_parent"
	// KinByFounders: as AreKin, but it is only above the preferred limit.
	KinByFounders Code = "kin_by_founders"
	// MayBeSiblings: both have unknown parents and hatched at one place within
	// a clutch's time of each other. Birds: the two; Count the days between.
	MayBeSiblings Code = "may_be_siblings"
)

// clutchDays is the most days that full siblings of one clutch are taken to
// hatch apart (common practice, no source).
const clutchDays = 7

// doubts holds, for every living bird with a parent that is unknown or
// uncertain, who the parent could be and who would be its close kin then.
type doubts struct {
	// By bird of the snapshot, nil where there is no doubt.
	parents []map[int]float64 // possible parent -> its weight, 0 if not named
	byDNA   map[[2]int]bool   // chick and parent, where DNA has found it; nil where it has found none
	kin     []map[int]int     // first-degree relative of a possible parent -> that parent

	open map[int]string // bird -> place of hatch, if neither parent is known for certain and the day is known

	founders FounderKin
	found    map[[2]int]*FounderPair // those of them that are kin, by the two, ascending
	merged   *kinships               // with what DNA has found of founders; nil where that is nothing

	kinships kinships // of possible parents: many a pair has the same one in doubt
}

// kinships are those of a pedigree, of the nodes last asked for.
type kinships struct {
	of   *pedigree.Pedigree
	lock sync.Mutex
	rows map[int][]float64
}

// kinshipsKept is how many are kept.
const kinshipsKept = 1 << 20

// between returns the kinship of two nodes; all those of the first are kept.
func (k *kinships) between(a, b int) float64 {
	k.lock.Lock()
	defer k.lock.Unlock()
	row := k.rows[a]
	if row == nil {
		row = k.of.Kinships(a)
		if len(k.rows) == 0 || len(row)*len(k.rows) > kinshipsKept {
			k.rows = map[int][]float64{}
		}
		k.rows[a] = row
	}
	return row[b]
}

// kinshipWithParent returns the kinship of a living bird with a possible parent of
// another. Of a parent that is not in the pedigree, see NewAbout, nobody who lives
// descends: its kinships are the means of its own parents'.
func (p *Programme) kinshipWithParent(bird, parent int) float64 {
	known := map[int]float64{}
	var with func(x int) float64
	with = func(x int) float64 {
		if p.node[x] >= 0 {
			return p.doubts().kinships.between(p.node[x], p.node[bird])
		}
		f, seen := known[x]
		if !seen {
			for _, side := range [2]studbook.Parentage{p.Book.Birds[x].Sire, p.Book.Birds[x].Dam} {
				for _, c := range side.Candidates {
					if y, there := p.Book.Index(c.ID); there {
						f += c.Weight / 2 * with(y)
					}
				}
			}
			known[x] = f
		}
		return f
	}
	return with(parent)
}

func (p *Programme) newDoubts() *doubts {
	n := len(p.Book.Birds)
	d := &doubts{parents: make([]map[int]float64, n), kin: make([]map[int]int, n), open: map[int]string{}}
	d.kinships.of = p.Pedigree
	var gaps []Gap
	for _, b := range p.Book.Living {
		gaps = append(gaps, p.gapsOf(b)...)
	}
	gaps = append(gaps, p.contradicted()...)
	if len(gaps) > 0 {
		p.doubtParents(d, gaps)
	}
	d.founders = p.testFounders(d)
	p.merge(d)
	return d
}

// doubtParents fills in who could be the parents that are not known for certain.
func (p *Programme) doubtParents(d *doubts, gaps []Gap) {
	p.findParents(gaps)
	p.testGaps(gaps)
	family, near := p.newFamily(), map[int][]int{}
	sides := map[int]int{}
	for _, g := range gaps {
		if d.parents[g.Bird] == nil {
			d.parents[g.Bird], d.kin[g.Bird] = map[int]float64{}, map[int]int{}
		}
		if parent, found := g.DNA.Found(); found {
			if d.byDNA == nil {
				d.byDNA = map[[2]int]bool{}
			}
			d.parents[g.Bird][parent], d.byDNA[[2]int{g.Bird, parent}] = 1, true
			continue
		}
		for parent, weight := range p.possible(&g) {
			if !g.DNA.excludes(parent) {
				d.parents[g.Bird][parent] = weight
			}
		}
		if sides[g.Bird]++; sides[g.Bird] == 2 && p.Book.Birds[g.Bird].Hatch.Known() {
			d.open[g.Bird] = g.place
		}
	}
	for b, parents := range d.parents {
		for parent := range parents {
			if _, known := near[parent]; !known {
				near[parent] = family.firstDegree(parent)
			}
			for _, k := range near[parent] {
				if was, ok := d.kin[b][k]; !ok || parent < was {
					d.kin[b][k] = parent
				}
			}
		}
	}
}

// contradicted returns the parents of living birds that the studbook has for certain and
// that are not their parents by DNA, as gaps.
func (p *Programme) contradicted() (gaps []Gap) {
	typed := slices.DeleteFunc(slices.Clone(p.Book.Living), func(b int) bool { return p.Typed(b) == 0 })
	judged, _ := p.parentages(context.Background(), typed)
	for _, x := range judged {
		for _, s := range x.Sides() {
			if _, certain := s.Recorded.Known(); certain && s.Answer == ParentContradicted {
				gaps = append(gaps, Gap{Bird: x.Bird, Sex: s.Sex})
			}
		}
	}
	return gaps
}

// possible returns the birds that could be the parent of a gap, with the weights that the
// studbook gives them: the birds that it names and, unless their weights add up to 1,
// every other bird that was there and of age, with weight 0.
func (p *Programme) possible(g *Gap) map[int]float64 {
	bird := &p.Book.Birds[g.Bird]
	side := bird.Dam
	if g.Sex == studbook.Male {
		side = bird.Sire
	}
	who := map[int]float64{}
	rest := 1.0
	for _, c := range side.Candidates {
		if k, ok := p.Book.Index(c.ID); ok {
			who[k] = c.Weight
		}
		rest -= c.Weight
	}
	if rest > 1e-9 || g.DNA != nil && g.DNA.Answer == ParentContradicted {
		for _, b := range g.Possible {
			who[int(b)] = max(who[int(b)], 0)
		}
	}
	return who
}

// family is who is whose parent for certain.
type family struct {
	parents [][2]int // sire and dam of each bird of the snapshot, -1 for one that is not known for certain
	chicks  [][]int
}

func (p *Programme) newFamily() *family {
	n := len(p.Book.Birds)
	x := &family{parents: make([][2]int, n), chicks: make([][]int, n)}
	for b := range p.Book.Birds {
		sire, dam := p.Book.Parents(b)
		x.parents[b] = [2]int{sire, dam}
		for _, parent := range x.parents[b] {
			if parent >= 0 {
				x.chicks[parent] = append(x.chicks[parent], b)
			}
		}
	}
	return x
}

// firstDegree returns the parents, chicks and full siblings of a bird that are
// known for certain.
func (x *family) firstDegree(b int) []int {
	near := slices.Clone(x.chicks[b])
	of := x.parents[b]
	for _, parent := range of {
		if parent >= 0 {
			near = append(near, parent)
		}
	}
	if of[0] >= 0 && of[1] >= 0 {
		for _, sibling := range x.chicks[of[0]] {
			if sibling != b && x.parents[sibling] == of {
				near = append(near, sibling)
			}
		}
	}
	return near
}

// doubtful reports whether Doubt gives any reason. It is the quicker one to ask about many
// pairs.
func (p *Programme) doubtful(a, b int) bool {
	d := p.doubts()
	if _, kin := p.mergedKin(a, b, KinByFounders, p.Settings().PreferInbreeding); kin {
		return true
	}
	if d.parents[a] == nil && d.parents[b] == nil {
		return false // as of most pairs
	}
	for _, of := range [2][2]int{{a, b}, {b, a}} {
		if _, parent := d.parents[of[0]][of[1]]; parent {
			return true
		}
		if _, kin := d.kin[of[0]][of[1]]; kin {
			return true
		}
	}
	_, siblings := p.mayBeSiblings(a, b)
	return siblings
}

// mayBeSiblings reports whether two birds of unknown parents hatched like siblings,
// and how many days apart, and DNA does not show that they are none.
func (p *Programme) mayBeSiblings(a, b int) (days float64, may bool) {
	days, may = p.hatchedLikeSiblings(p.doubts(), a, b)
	return days, may && !p.notSiblings(a, b)
}

// hatchedLikeSiblings reports whether two birds of unknown parents hatched at one place
// within a clutch's time, and how many days apart.
func (p *Programme) hatchedLikeSiblings(d *doubts, a, b int) (days float64, so bool) {
	at, okA := d.open[a]
	with, okB := d.open[b]
	days = math.Abs(float64(p.Book.Birds[a].Hatch.Mid() - p.Book.Birds[b].Hatch.Mid()))
	return days, okA && okB && at == with && days <= clutchDays
}

// Doubt returns why two living birds may be closer kin than the pedigree says:
// an unknown or uncertain parent of one that, by place and age, could be the
// other or its parent, chick or full sibling, and two birds of unknown parents
// that hatched like siblings. None where nothing is in doubt. It speaks
// against recommending the pair, whatever its figures, until the birds are
// tested. The first call takes the time; the others are look-ups.
func (p *Programme) Doubt(a, b int) []Reason {
	d := p.doubts()
	var why []Reason
	if kin, are := p.mergedKin(a, b, KinByFounders, p.Settings().PreferInbreeding); are {
		why = append(why, kin)
	}
	if d.parents[a] == nil && d.parents[b] == nil {
		return why // none of most pairs
	}
	for _, of := range [2][2]int{{a, b}, {b, a}} {
		chick, other := of[0], of[1]
		if weight, ok := d.parents[chick][other]; ok {
			if !d.byDNA[of] { // which rules the pair out
				why = append(why, Reason{Code: MateMayBeParent, Birds: p.birds(chick, other), Value: weight})
			}
		} else if parent, ok := d.kin[chick][other]; ok {
			code := KinMayBeParent
			if d.byDNA[[2]int{chick, parent}] {
				code = KinIsParent
			}
			why = append(why, Reason{Code: code, Birds: p.birds(chick, parent, other),
				Value: d.parents[chick][parent], Kin: p.kinInWords(other, parent, func() float64 { return p.kinshipWithParent(other, parent) })})
		}
	}
	if days, may := p.mayBeSiblings(a, b); may {
		why = append(why, Reason{Code: MayBeSiblings, Birds: p.birds(a, b), Count: int(days)})
	}
	return why
}
