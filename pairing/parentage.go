package pairing

import (
	"cmp"
	"context"
	"maps"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/floats"

	"pairwright/pedigree/studbook"
)

// ParentAnswer is what DNA says of one parent of a bird.
type ParentAnswer string

// The answers.
const (
	// ParentNotTested: the bird, or the parent on record, was not typed, and nobody who
	// was is likely.
	ParentNotTested ParentAnswer = "not tested"
	// ParentAgrees: the parent on record is it.
	ParentAgrees ParentAnswer = "agrees"
	// ParentFound: nobody is on record for certain, and one bird is the parent.
	ParentFound ParentAnswer = "found"
	// ParentContradicted: whoever is on record is not it.
	ParentContradicted ParentAnswer = "contradicted"
	// ParentOpen: it could be several birds still.
	ParentOpen ParentAnswer = "open"
	// ParentWild: it was a wild bird.
	ParentWild ParentAnswer = "wild"
)

const (
	// sureParent is the chance from which on a bird is taken to be the parent: the strict
	// level of confidence of Marshall et al. (1998). Below what it leaves a parent on
	// record is taken not to be it.
	sureParent = 0.95
	// studbookRight is the chance that somebody whom the studbook names for certain is the
	// parent, as long as nothing else is known (common practice, no source).
	studbookRight = 0.99
)

// Parentage is what DNA says of who the parents of a bird are.
type Parentage struct {
	Bird  int // in the snapshot
	Typed int // markers at which it was typed
	// Sire and Dam are judged together: a gene that both could have given came from one.
	Sire, Dam ParentSide
	// ExcludesKnown and ExcludesUnknown are the chances that these markers show a bird
	// taken at random not to be a parent, where the other parent is known and where it
	// is not.
	ExcludesKnown, ExcludesUnknown float64
}

// Sides are the sire and the dam.
func (x *Parentage) Sides() [2]*ParentSide { return [2]*ParentSide{&x.Sire, &x.Dam} }

// ParentSide is one of the two parents.
type ParentSide struct {
	Sex      studbook.Sex
	Recorded studbook.Parentage
	Answer   ParentAnswer
	// Candidates are those named in the studbook and all who were typed and could be
	// the parent by place and age, the likeliest first, then by id.
	Candidates []ParentCandidate
	// Untyped are further birds that could be, none of them typed.
	Untyped       int
	UntypedChance Chance // of all of them together
	Else          Chance // somebody who is not among these
}

// Chance is a probability, in 0..1, before the test and after it.
type Chance struct{ Before, After float64 }

// ParentCandidate is a bird that could be a parent.
type ParentCandidate struct {
	Bird   int
	Named  bool // in the studbook
	Chance Chance
	// Compared is at how many markers both the bird and its chick were typed, Mismatches
	// at how many of them it cannot be the parent, the other parent taken into account
	// where that one is sure.
	Compared, Mismatches int
	// Likelihood is the decimal logarithm of how many times as likely the genotypes of
	// the chick are with this parent as with somebody unknown.
	Likelihood float64
}

// Best is the likeliest candidate, nil where there is none or the likeliest is somebody else.
func (s *ParentSide) Best() *ParentCandidate {
	if len(s.Candidates) == 0 || s.Candidates[0].Chance.After < max(s.Else.After, s.UntypedChance.After) {
		return nil
	}
	return &s.Candidates[0]
}

// Sure returns the bird that is as good as known to be the parent.
func (s *ParentSide) Sure() (bird int, sure bool) {
	if len(s.Candidates) == 0 || s.Candidates[0].Chance.After < sureParent {
		return 0, false
	}
	return s.Candidates[0].Bird, true
}

// Found returns the bird that DNA shows to be the parent, where the studbook does not say
// so yet. It may be asked of nil.
func (s *ParentSide) Found() (bird int, found bool) {
	if s == nil || !s.Unsettled() {
		return 0, false
	}
	return s.Sure()
}

// excludes reports whether the genotypes of a bird speak against it so that it is no more
// likely the parent than that the studbook is wrong. It may be asked of nil.
func (s *ParentSide) excludes(bird int) bool {
	return s != nil && slices.ContainsFunc(s.Candidates, func(c ParentCandidate) bool {
		return c.Bird == bird && c.Compared > 0 && c.Chance.After < 1-studbookRight
	})
}

// Unsettled reports whether the studbook ought to say something else of the parent.
func (s *ParentSide) Unsettled() bool {
	return s.Answer == ParentFound || s.Answer == ParentContradicted
}

// Typed returns at how many markers a bird was typed, 0 of one that never was.
func (p *Programme) Typed(b int) int {
	panel := p.panel()
	if panel == nil {
		return 0
	}
	return panel.Typed(p.Book.Birds[b].ID)
}

// Parentage judges by DNA who the parents of a bird are. Before the test whoever the
// studbook names has the weight it gives, and the rest is shared evenly among all others
// that could be the parent by sex, age and place, and somebody who is none of them
// (common practice, no source). The test turns that into chances after it by Bayes' rule,
// over all pairs of a sire and a dam. Kin of the parent are among the candidates like any
// other bird; nothing is known of the genes of those that were not typed.
func (p *Programme) Parentage(b int) *Parentage {
	x, _ := p.parentages(context.Background(), []int{b})
	return x[0]
}

// Parentages judges the parents of every bird that was typed, by id, but for those of wild
// origin.
func (p *Programme) Parentages(ctx context.Context) ([]*Parentage, error) {
	var birds []int
	for _, g := range p.Book.Colony.Genotypes {
		if b, there := p.Book.Index(g.ID); there && p.Book.Birds[b].Origin != studbook.OriginWild {
			birds = append(birds, b)
		}
	}
	slices.Sort(birds)
	return p.parentages(ctx, birds)
}

// testGaps fills in what genotypes say of the parents that are not known.
func (p *Programme) testGaps(gaps []Gap) {
	of := map[int][]int{} // gaps by bird
	for k, g := range gaps {
		if p.Typed(g.Bird) > 0 {
			of[g.Bird] = append(of[g.Bird], k)
		}
	}
	tested, _ := p.parentages(context.Background(), slices.Sorted(maps.Keys(of)))
	for _, x := range tested {
		for _, k := range of[x.Bird] {
			gaps[k].DNA = &x.Dam
			if gaps[k].Sex == studbook.Male {
				gaps[k].DNA = &x.Sire
			}
		}
	}
}

// tests are the parentages that were judged, by bird.
type tests struct {
	lock sync.Mutex
	of   map[int]*Parentage
}

// parentages judges the parents of birds, each once.
func (p *Programme) parentages(ctx context.Context, birds []int) ([]*Parentage, error) {
	p.tests.lock.Lock()
	defer p.tests.lock.Unlock()
	var gaps []Gap
	for _, b := range birds {
		if p.tests.of[b] == nil {
			gaps = append(gaps, Gap{Bird: b, Sex: studbook.Male}, Gap{Bird: b, Sex: studbook.Female})
		}
	}
	p.findParents(gaps)
	judged := make([]*Parentage, len(gaps)/2)
	err := inParallel(ctx, len(judged), func(k int) error {
		judged[k] = p.judge(&gaps[2*k], &gaps[2*k+1])
		return nil
	})
	if err != nil {
		return nil, err
	}
	if p.tests.of == nil {
		p.tests.of = make(map[int]*Parentage)
	}
	for _, x := range judged {
		p.tests.of[x.Bird] = x
	}
	all := make([]*Parentage, len(birds))
	for k, b := range birds {
		all[k] = p.tests.of[b]
	}
	return all, nil
}

// judge judges who the parents of a bird are, of those that could be its sire and its dam.
func (p *Programme) judge(sire, dam *Gap) *Parentage {
	bird := &p.Book.Birds[sire.Bird]
	x := &Parentage{Bird: sire.Bird, Sire: ParentSide{Sex: sire.Sex, Recorded: bird.Sire}, Dam: ParentSide{Sex: dam.Sex, Recorded: bird.Dam}}
	p.enlist(&x.Sire, sire)
	p.enlist(&x.Dam, dam)
	if x.Typed = p.Typed(x.Bird); x.Typed > 0 {
		p.test(x)
	}
	x.Sire.answer()
	x.Dam.answer()
	return x
}

// test fills in what the genotypes of a bird and its candidates say.
func (p *Programme) test(x *Parentage) {
	panel, chick := p.panel(), p.Book.Birds[x.Bird].ID
	x.ExcludesKnown, x.ExcludesUnknown = panel.Exclusion(chick)
	sires, before := p.hypotheses(&x.Sire)
	dams, beforeDams := p.hypotheses(&x.Dam)
	after := posterior(panel.Likelihoods(chick, sires, dams, p.Settings().GenotypeErrors), before, beforeDams)
	x.Sire.take(after[0])
	x.Dam.take(after[1])
	sire, dam := p.sure(&x.Sire), p.sure(&x.Dam)
	p.compare(&x.Sire, chick, func(id string) int { return panel.Mismatches(chick, id, dam) })
	p.compare(&x.Dam, chick, func(id string) int { return panel.Mismatches(chick, sire, id) })
}

// sure returns the id of a parent that is as good as known, "" of another.
func (p *Programme) sure(s *ParentSide) string {
	b, sure := s.Sure()
	if !sure {
		return ""
	}
	return p.Book.Birds[b].ID
}

// compare fills in at how many markers the candidates fit.
func (p *Programme) compare(s *ParentSide, chick string, mismatches func(id string) int) {
	for i := range s.Candidates {
		c := &s.Candidates[i]
		id := p.Book.Birds[c.Bird].ID
		if c.Compared = p.panel().Compared(chick, id); c.Compared > 0 {
			c.Mismatches = mismatches(id)
		}
	}
}

// enlist fills in who could be a parent, with their chances before the test.
func (p *Programme) enlist(s *ParentSide, g *Gap) {
	if s.Recorded.Wild || s.Recorded.Unknown() && p.Book.Birds[g.Bird].Origin == studbook.OriginWild {
		s.Answer, s.Else = ParentWild, Chance{1, 1}
		return
	}
	named, rest := map[int]float64{}, 1.0
	for _, c := range s.Recorded.Candidates {
		rest -= c.Weight
	}
	share := 1.0
	if rest < 1-studbookRight {
		share = studbookRight / (1 - rest)
		rest = 1 - studbookRight
	}
	for _, c := range s.Recorded.Candidates {
		if k, known := p.Book.Index(c.ID); known {
			named[k] = c.Weight * share
			s.Candidates = append(s.Candidates, ParentCandidate{Bird: k, Named: true, Chance: Chance{Before: c.Weight * share}})
		} else {
			rest += c.Weight * share
		}
	}
	var others []int32
	for _, b := range g.Possible {
		if _, is := named[int(b)]; !is {
			others = append(others, b)
		}
	}
	each := rest / float64(len(others)+1)
	for _, b := range others {
		if p.Typed(int(b)) > 0 {
			s.Candidates = append(s.Candidates, ParentCandidate{Bird: int(b), Chance: Chance{Before: each}})
		} else {
			s.Untyped++
		}
	}
	s.UntypedChance.Before, s.Else.Before = each*float64(s.Untyped), each
}

// hypotheses are the candidates of a side, then those that were not typed, then somebody
// else: by id, "" for one of whose genes nothing is known, with the chance before the test.
func (p *Programme) hypotheses(s *ParentSide) (ids []string, before []float64) {
	for _, c := range s.Candidates {
		ids, before = append(ids, p.Book.Birds[c.Bird].ID), append(before, c.Chance.Before)
	}
	return append(ids, "", ""), append(before, s.UntypedChance.Before, s.Else.Before)
}

// posterior returns, for sires and dams, the logarithm of the chance after the test of each,
// from the logarithms of the likelihoods of all pairs and the chances before it.
func posterior(likelihood [][]float64, sires, dams []float64) (after [2][]float64) {
	logDams := make([]float64, len(dams))
	for j, before := range dams {
		logDams[j] = math.Log(before)
	}
	most := math.Inf(-1)
	for i, row := range likelihood { // now the logarithm of the joint chance, but for a constant
		floats.Add(row, logDams)
		floats.AddConst(math.Log(sires[i]), row)
		most = max(most, floats.Max(row))
	}
	after[0], after[1] = make([]float64, len(sires)), make([]float64, len(dams))
	for i, row := range likelihood {
		for j, l := range row {
			chance := math.Exp(l - most)
			after[0][i] += chance
			after[1][j] += chance
		}
	}
	all := math.Log(floats.Sum(after[0]))
	for k, side := range after {
		for i, chance := range side {
			side[i] = math.Log(chance) - all
			if chance == 0 { // too small to be told from nothing beside the most likely
				side[i] = floats.LogSumExp(across(likelihood, k, i)) - most - all
			}
		}
	}
	return after
}

// across returns a row of a matrix, or with side 1 a column.
func across(of [][]float64, side, at int) []float64 {
	if side == 0 {
		return of[at]
	}
	column := make([]float64, len(of))
	for i, row := range of {
		column[i] = row[at]
	}
	return column
}

// take fills in the chances after the test, given as logarithms in the order of
// hypotheses, and sorts.
func (s *ParentSide) take(after []float64) {
	n := len(s.Candidates)
	s.UntypedChance.After, s.Else.After = math.Exp(after[n]), math.Exp(after[n+1])
	unknown := after[n+1] - math.Log(s.Else.Before)
	for i := range s.Candidates {
		c := &s.Candidates[i]
		c.Chance.After = math.Exp(after[i])
		c.Likelihood = (after[i] - math.Log(c.Chance.Before) - unknown) / math.Ln10
	}
	slices.SortStableFunc(s.Candidates, func(a, b ParentCandidate) int {
		return cmp.Or(cmp.Compare(b.Chance.After, a.Chance.After), cmp.Compare(a.Bird, b.Bird))
	})
}

// answer says what the chances mean.
func (s *ParentSide) answer() {
	if s.Answer == ParentWild {
		return
	}
	named, tested := 0.0, false // the chance of those on record, and whether any of them was typed
	for _, c := range s.Candidates {
		if c.Named {
			named += c.Chance.After
			tested = tested || c.Compared > 0
		}
	}
	_, certain := s.Recorded.Known()
	best := s.Best()
	sure := best != nil && best.Chance.After >= sureParent
	switch {
	case !slices.ContainsFunc(s.Candidates, func(c ParentCandidate) bool { return c.Compared > 0 }):
		s.Answer = ParentNotTested
	case tested && named < 1-sureParent:
		s.Answer = ParentContradicted
	case sure && certain && best.Named && best.Compared > 0:
		s.Answer = ParentAgrees
	case sure && certain && best.Named:
		s.Answer = ParentNotTested
	case sure && best.Compared > 0:
		s.Answer = ParentFound
	default:
		s.Answer = ParentOpen
	}
}
