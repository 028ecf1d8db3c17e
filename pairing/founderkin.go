package pairing

import (
	"cmp"
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/floats"

	"pairwright/pedigree"
	"pairwright/pedigree/markers"
	"pairwright/pedigree/studbook"
)

// FounderRelation is how two founders may be kin.
type FounderRelation string

// The relations, the farthest first. Those of the second degree cannot be told apart by
// unlinked markers.
const (
	FoundersUnrelated FounderRelation = "unrelated"
	FoundersHalfSibs  FounderRelation = "half siblings"
	FoundersFullSibs  FounderRelation = "full siblings"
	FoundersParent    FounderRelation = "parent and chick"
	FoundersSame      FounderRelation = "the same bird"
)

// fullSiblings is the place of FoundersFullSibs in relations.
const fullSiblings = 2

// relations are those that are weighed.
var relations = [...]struct {
	of    FounderRelation
	share markers.Sharing
}{
	{FoundersUnrelated, markers.Unrelated}, {FoundersHalfSibs, markers.HalfSiblings}, {FoundersFullSibs, markers.FullSiblings},
	{FoundersParent, markers.ParentAndChick}, {FoundersSame, markers.SameBird},
}

const (
	// foundersKin is the chance before a test that two founders of whom nothing is known
	// are kin, but where so many were typed that each would have more than one kin among
	// the others: then it is that which gives it one. maySiblings is the chance that two are
	// full siblings that hatched like siblings at one place (common practice, no source).
	foundersKin = 0.05
	maySiblings = 0.5
	// kinWorthTelling is the chance after the test from which on it is told that two
	// founders may be kin (common practice, no source).
	kinWorthTelling = 0.1
)

// FounderAnswer is what DNA says of two founders.
type FounderAnswer string

// The answers.
const (
	FoundersAgree        FounderAnswer = "agrees"       // with founder_kinship.csv
	FoundersFound        FounderAnswer = "found"        // they are kin, and nothing is on record
	FoundersByParent     FounderAnswer = "parent found" // so too, and from a parent of one that was found it will follow
	FoundersContradicted FounderAnswer = "contradicted" // what is on record is wrong
	FoundersOpen         FounderAnswer = "open"         // they may be kin, or not be
	FoundersNoKin        FounderAnswer = "not kin"      // though they hatched like siblings
)

// FounderPair is what DNA says of the kinship of two founders.
type FounderPair struct {
	A, B     int      // in the snapshot, ascending
	Compared int      // markers at which both were typed
	Recorded *float64 // in founder_kinship.csv; nil where it has nothing
	Siblings bool     // they hatched like siblings at one place
	Answer   FounderAnswer
	// Kin is what they are, in the order of how near that is.
	Kin []RelationChance
	// Kinship is the likeliest one, in 0..0.5, whatever was thought before the test
	// (Milligan 2003).
	Kinship float64
}

// RelationChance is how likely a relation is.
type RelationChance struct {
	Relation FounderRelation
	Kinship  float64
	Chance   Chance
}

// Likeliest is the relation with the largest chance after the test.
func (x *FounderPair) Likeliest() RelationChance {
	return slices.MaxFunc(x.Kin, func(a, b RelationChance) int { return cmp.Compare(a.Chance.After, b.Chance.After) })
}

// LikeliestKin is the likeliest relation of those that are kin.
func (x *FounderPair) LikeliestKin() RelationChance {
	return slices.MaxFunc(x.Kin[1:], func(a, b RelationChance) int { return cmp.Compare(a.Chance.After, b.Chance.After) })
}

// KinChance is the chance after the test that the two are kin.
func (x *FounderPair) KinChance() float64 {
	sum := 0.0
	for _, r := range x.Kin[1:] {
		sum += r.Chance.After
	}
	return min(1, sum)
}

// FounderKin is what DNA says of the founders.
type FounderKin struct {
	Typed int // founders with a genotype
	Pairs int // of two with a marker in common
	// Told are the pairs that may be kin, are on record or hatched like siblings, the
	// likeliest kin first, then by id.
	Told []*FounderPair
}

// FoundShare is how often birds of a relation are found to be kin.
type FoundShare struct {
	Relation FounderRelation
	Share    float64
}

// founderSimulations is how many pairs of each relation are simulated.
const founderSimulations = 2000

// FounderKin says by DNA which founders are kin, and which of the kinships on record are
// wrong. A founder is a bird without a parent in the studbook, living or dead. Before the
// test two are kin with 5 %, or less where many were typed, each relation as often; what is
// on record has 99 % instead, and where nothing is, being full siblings has 50 % if they
// hatched like siblings (common practice, no source). The chances after it follow by Bayes'
// rule. Time is that of all pairs of typed founders times the markers.
func (p *Programme) FounderKin() *FounderKin { return &p.doubts().founders }

// FoundersFound returns by relation how many of two thousand pairs of founders, simulated
// with all markers and their errors, are found to be kin: what the test can do. The draws
// are the same each time; nil where no bird was typed.
func (p *Programme) FoundersFound() (shares []FoundShare) {
	if p.panel() == nil {
		return nil
	}
	random := rand.New(rand.NewPCG(1, 0x666f756e64657273))
	before := kinBefore(p.FounderKin().Typed)
	for _, r := range relations[:len(relations)-1] { // whoever is the same bird is seen at once
		found := 0
		for range founderSimulations {
			if before.after(p.panel().Draw(random, r.share, p.Settings().GenotypeErrors)).kin() >= sureParent {
				found++
			}
		}
		shares = append(shares, FoundShare{r.of, float64(found) / founderSimulations})
	}
	return shares
}

// testFounders compares all founders that were typed with each other, of whom d knows which
// hatched like siblings.
func (p *Programme) testFounders(d *doubts) (x FounderKin) {
	var founders []int
	for b := range p.Book.Birds {
		if p.Book.Birds[b].Founder() && p.Typed(b) > 0 {
			founders = append(founders, b)
		}
	}
	if x.Typed = len(founders); x.Typed < 2 {
		return x
	}
	recorded, usual := recordedKin(p.Book), kinBefore(x.Typed)
	told, pairs := make([][]*FounderPair, len(founders)), make([]int, len(founders))
	_ = inParallel(context.Background(), len(founders), func(i int) error { // it never fails
		for _, b := range founders[i+1:] {
			a := founders[i]
			found := p.panel().Pair(p.Book.Birds[a].ID, p.Book.Birds[b].ID, p.Settings().GenotypeErrors)
			if found.Compared() == 0 {
				continue
			}
			pairs[i]++
			before, known := usual, recorded[[2]int{a, b}]
			_, siblings := p.hatchedLikeSiblings(d, a, b)
			switch {
			case known != nil:
				before = usual.with(nearestRelation(*known), studbookRight)
			case siblings:
				before = usual.with(fullSiblings, maySiblings)
			}
			after := before.after(found)
			if known == nil && !siblings && after.kin() < kinWorthTelling {
				continue // as most
			}
			pair := &FounderPair{A: a, B: b, Compared: found.Compared(), Recorded: known, Siblings: siblings, Kinship: found.Sharing().Kinship()}
			for k, r := range relations {
				pair.Kin = append(pair.Kin, RelationChance{r.of, r.share.Kinship(), Chance{before[k], after[k]}})
			}
			pair.answer()
			told[i] = append(told[i], pair)
		}
		return nil
	})
	for i := range founders {
		x.Pairs += pairs[i]
	}
	x.Told = slices.Concat(told...)
	slices.SortStableFunc(x.Told, func(a, b *FounderPair) int { return cmp.Compare(b.KinChance(), a.KinChance()) })
	p.leaveToParents(x.Told)
	return x
}

// leaveToParents marks the founders that are kin of whom one has a parent that was found:
// once that is written down it is no founder, and a kinship on record of it would be wrong.
func (p *Programme) leaveToParents(told []*FounderPair) {
	var kin []int
	for _, x := range told {
		if x.Answer == FoundersFound {
			kin = append(kin, x.A, x.B)
		}
	}
	slices.Sort(kin)
	kin = slices.Compact(kin)
	tested, _ := p.parentages(context.Background(), kin)
	found := map[int]bool{}
	for _, x := range tested {
		for _, s := range x.Sides() {
			if _, is := s.Found(); is {
				found[x.Bird] = true
			}
		}
	}
	for _, x := range told {
		if x.Answer == FoundersFound && (found[x.A] || found[x.B]) {
			x.Answer = FoundersByParent
		}
	}
}

// kinChances are those of the relations of two founders, which add up to 1.
type kinChances [len(relations)]float64

// kinBefore are the chances of two among some founders that were typed, before the test.
func kinBefore(typed int) (c kinChances) {
	kin := min(foundersKin, 1/float64(typed))
	for k := range c {
		c[k] = kin / float64(len(c)-1)
	}
	c[0] = 1 - kin
	return c
}

// with gives a relation a chance; what is left of the others stays as it was between them.
func (c kinChances) with(relation int, chance float64) kinChances {
	left := (1 - chance) / (1 - c[relation])
	for k := range c {
		c[k] *= left
	}
	c[relation] = chance
	return c
}

// after are the chances after the test.
func (c kinChances) after(found markers.Pair) kinChances {
	for k, r := range relations {
		c[k] = math.Log(c[k]) + found.LogLikelihood(r.share)
	}
	all := floats.LogSumExp(c[:])
	for k := range c {
		c[k] = math.Exp(c[k] - all)
	}
	return c
}

// kin is the chance of any relation.
func (c kinChances) kin() float64 { return floats.Sum(c[1:]) }

// nearestRelation is the relation of a kinship on record: of parents and full siblings,
// whose kinship is the same, the one that says less.
func nearestRelation(kinship float64) int {
	nearest := 0
	for k, r := range relations {
		if math.Abs(r.share.Kinship()-kinship) < math.Abs(relations[nearest].share.Kinship()-kinship) {
			nearest = k
		}
	}
	return nearest
}

// answer says what the chances mean.
func (x *FounderPair) answer() {
	if x.Recorded != nil {
		recorded := 0.0 // the chance of the relations of that kinship
		kinship := x.Kin[nearestRelation(*x.Recorded)].Kinship
		for _, r := range x.Kin {
			if r.Kinship == kinship {
				recorded += r.Chance.After
			}
		}
		switch {
		case recorded >= sureParent:
			x.Answer = FoundersAgree
		case recorded < 1-sureParent:
			x.Answer = FoundersContradicted
		default:
			x.Answer = FoundersOpen
		}
		return
	}
	switch kin := x.KinChance(); {
	case kin >= sureParent:
		x.Answer = FoundersFound
	case kin >= kinWorthTelling:
		x.Answer = FoundersOpen
	default:
		x.Answer = FoundersNoKin
	}
}

// merge puts the kinship that was found of founders beside that on record, which gives the
// kinships of all as they will be once it is written down. Where kinships found cannot all
// be at once, the least sure ones are left out until they can.
func (p *Programme) merge(d *doubts) {
	known := p.Book.FounderKinship()
	recorded := len(known)
	d.found = map[[2]int]*FounderPair{}
	for _, x := range d.founders.Told {
		if x.Answer != FoundersFound && x.Answer != FoundersByParent {
			continue
		}
		d.found[[2]int{x.A, x.B}] = x
		if p.node[x.A] >= 0 && p.node[x.B] >= 0 {
			known = append(known, studbook.FounderKinship{ID1: p.Book.Birds[x.A].ID, ID2: p.Book.Birds[x.B].ID, Kinship: x.LikeliestKin().Kinship})
		}
	}
	for ; len(known) > recorded && d.merged == nil; known = known[:len(known)-1] {
		if merged, err := pedigree.Of(context.Background(), p.birds(p.within...), known); err == nil {
			d.merged = &kinships{of: merged}
		}
	}
}

// KinByDNA reports whether two birds are too near by DNA, though the studbook does not have
// it so, as a reason against the pair: one is the parent of the other, or they descend from
// founders that are kin.
func (p *Programme) KinByDNA(a, b int) (why Reason, are bool) {
	d := p.doubts()
	if d.byDNA != nil {
		for _, of := range [2][2]int{{a, b}, {b, a}} {
			if d.byDNA[of] {
				return Reason{Code: IsParent, Birds: p.birds(of[0], of[1])}, true
			}
		}
	}
	return p.mergedKin(a, b, AreKin, p.Settings().LimitInbreeding)
}

// mergedKin returns a reason of a code where two birds are too near by a limit once what
// DNA has found of founders is written down, and are not as the studbook is.
func (p *Programme) mergedKin(a, b int, code Code, limit float64) (why Reason, are bool) {
	d := p.doubts()
	if len(d.found) == 0 {
		return why, false // asked of very many pairs
	}
	why = Reason{Code: code, Birds: p.birds(a, b), Other: limit}
	if d.merged != nil {
		why.Value = d.merged.between(p.node[a], p.node[b])
	}
	if x := d.found[[2]int{min(a, b), max(a, b)}]; x != nil {
		why.Relation, why.Value = x.LikeliestKin().Relation, x.LikeliestKin().Kinship
	}
	return why, TooClose(why.Value, limit) && !TooClose(p.Pedigree.Kinship(p.node[a], p.node[b]), limit)
}

// notSiblings reports whether DNA shows two founders that hatched like siblings to be none.
func (p *Programme) notSiblings(a, b int) bool {
	return slices.ContainsFunc(p.doubts().founders.Told, func(x *FounderPair) bool {
		return x.Siblings && x.A == min(a, b) && x.B == max(a, b) && x.Kin[fullSiblings].Chance.After < 1-studbookRight
	})
}

// recordedKin returns the kinships of founders on record, by two birds of the snapshot,
// ascending.
func recordedKin(s *studbook.Snapshot) map[[2]int]*float64 {
	of := map[[2]int]*float64{}
	for _, k := range s.FounderKinship() {
		a, _ := s.Index(k.ID1)
		b, _ := s.Index(k.ID2)
		of[[2]int{min(a, b), max(a, b)}] = &k.Kinship
	}
	return of
}
