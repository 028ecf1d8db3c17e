package pairing

import (
	"math"
	"slices"

	"pairwright/pedigree/studbook"
)

// Prior weights: how many clutches the more general rate counts for when a
// record of few clutches is shrunk toward it (common practice, no source).
const (
	ageWeight    = 10 // the programme's rate, in the rate of an age class
	recordWeight = 4  // the age class's rate in a bird's, the birds' in a pair's
)

// Record is how many clutches fledged at least one chick, and the rate that
// follows once the record is shrunk toward a prior (beta-binomial):
//
//	rate = (fledged + weight·prior) / (clutches + weight)
type Record struct {
	Clutches, Fledged int
	Prior, Weight     float64
}

// Rate returns the shrunk rate, in 0..1.
func (r Record) Rate() float64 {
	return (float64(r.Fledged) + r.Weight*r.Prior) / (float64(r.Clutches) + r.Weight)
}

// Success is the chance that a clutch of a pair fledges a chick, with what it
// is made of.
type Success struct {
	Chance float64
	// Programme is that of all pairs of the programme together; Chance over it
	// is how the pair compares with them.
	Programme float64
	// Pair is the pair's own record. Its prior is the mean of the two birds'
	// rates with other mates.
	Pair, Female, Male Record
}

// stage is a class of age within the breeding life. A bird's age counts from
// the start of breeding: its first two years, its last quarter, and between.
type stage int

const (
	beginner stage = iota
	prime
	late
	stages
)

// successes holds the clutches on record by what they were shrunk into.
type successes struct {
	p         *Programme
	programme Record  // all clutches; prior is the setting
	rate      float64 // of programme
	first     FirstSeasons
	share     float64           // of first
	byStage   [2][stages]Record // female, male
	birds     []*track          // of the snapshot; nil for the dead without a clutch
}

// track is the clutches on record of one bird.
type track struct {
	all   Record
	with  []shared // by mate, in the order of the clutches
	stage stage    // today
	aged  bool     // the stage is known
	alone [2]alone // as a female and as a male
}

// shared is the clutches on record of a bird and one mate.
type shared struct {
	mate string // its id
	Record
}

// together returns the clutches with a mate.
func (t *track) together(mate string) *Record {
	for k := range t.with {
		if t.with[k].mate == mate {
			return &t.with[k].Record
		}
	}
	return nil
}

// alone is the record of a bird as a mate for one that it has no clutch with.
type alone struct {
	Record
	rate float64
}

func newSuccesses(p *Programme) *successes {
	s := &successes{p: p, birds: make([]*track, len(p.Book.Birds))}
	for _, b := range p.Book.Living {
		s.birds[b] = &track{}
	}
	s.programme = Record{Prior: p.Settings().ClutchSuccess, Weight: ageWeight}
	for i := range p.Book.Clutches {
		c := &p.Book.Clutches[i]
		won, told := outcome(c)
		if !told {
			continue
		}
		s.programme.count(won)
		for k, id := range [2]string{c.Female, c.Male} {
			b, ok := p.Book.Index(id)
			if !ok {
				continue
			}
			if at, ok := s.stageAt(b, c.Laid); ok {
				s.byStage[k][at].count(won)
			}
			t := s.birds[b]
			if t == nil {
				t = &track{}
				s.birds[b] = t
			}
			mate := [2]string{c.Male, c.Female}[k]
			r := t.together(mate)
			if r == nil {
				t.with = append(t.with, shared{mate: mate})
				r = &t.with[len(t.with)-1].Record
			}
			r.count(won)
			t.all.count(won)
		}
	}
	s.rate = s.programme.Rate()
	for k := range s.byStage {
		for at := range s.byStage[k] {
			s.byStage[k][at].Prior = s.programme.Rate()
			s.byStage[k][at].Weight = ageWeight
		}
	}
	for b, t := range s.birds {
		if t != nil {
			s.finish(b, t)
		}
	}
	s.first = firstSeasons(p)
	s.share = s.first.Share()
	return s
}

// finish fills in what follows from the clutches of a bird.
func (s *successes) finish(b int, t *track) {
	today := s.p.Book.AsOf
	t.stage, t.aged = s.stageAt(b, studbook.Date{First: today, Last: today})
	for k := range t.alone {
		r := s.bird(k, t, Record{})
		t.alone[k] = alone{r, r.Rate()}
	}
}

// track returns the clutches on record of a bird.
func (s *successes) track(b int) *track {
	t := s.birds[b]
	if t == nil {
		t = &track{}
		s.finish(b, t)
	}
	return t
}

func (r *Record) count(won bool) {
	r.Clutches++
	if won {
		r.Fledged++
	}
}

// outcome reports whether a chick of the clutch fledged, or hatched where
// fledging is not on record; of eggs none of which was fertile none can. told is false
// where neither is.
func outcome(c *studbook.Clutch) (won, told bool) {
	switch {
	case c.Fledged >= 0:
		return c.Fledged > 0, true
	case c.Hatched >= 0:
		return c.Hatched > 0, true
	case c.Fertile == 0 && c.Eggs != 0: // whether anybody wrote down that nothing hatched of it
		return false, true
	}
	return false, false
}

// stageAt returns a bird's stage on a date; ok is false where its age is not
// known.
func (s *successes) stageAt(b int, on studbook.Date) (at stage, ok bool) {
	bird := &s.p.Book.Birds[b]
	if !bird.Hatch.Known() || !on.Known() {
		return 0, false
	}
	age := float64(on.Mid()-bird.Hatch.Mid()) / studbook.DaysPerYear
	ages := s.p.Ages.Of(bird.Sex)
	switch {
	case age < ages.First+2:
		return beginner, true
	case ages.Last > 0 && age > ages.First+0.75*(ages.Last-ages.First):
		return late, true
	}
	return prime, true
}

// of returns the chance of success of two birds of the snapshot.
func (s *successes) of(female, male int) Success {
	hers, his := s.track(female), s.track(male)
	out := Success{Female: hers.alone[0].Record, Male: his.alone[1].Record}
	if len(hers.with) > 0 && len(his.with) > 0 { // seldom, which saves looking for the mate
		if r := hers.together(s.p.Book.Birds[male].ID); r != nil {
			out.Pair = *r
		}
	}
	if out.Pair.Clutches > 0 {
		out.Female, out.Male = s.bird(0, hers, out.Pair), s.bird(1, his, out.Pair)
	}
	out.Pair.Prior = (out.Female.Rate() + out.Male.Rate()) / 2
	out.Pair.Weight = recordWeight
	out.Chance, out.Programme = out.Pair.Rate(), s.programme.Rate()
	return out
}

// relative returns the chance of success of two living birds against that of all pairs.
func (s *successes) relative(female, male int) float64 {
	hers, his := s.birds[female], s.birds[male]
	if len(hers.with) > 0 && len(his.with) > 0 && hers.together(s.p.Book.Birds[male].ID) != nil {
		return s.against(s.of(female, male).Chance)
	}
	return s.against(chanceAlone(hers.alone[0].rate, his.alone[1].rate))
}

// against returns a chance of success against that of all pairs; 1 where no pair ever
// succeeds, and none is worse than another.
func (s *successes) against(chance float64) float64 {
	if s.rate > 0 {
		return chance / s.rate
	}
	return 1
}

// mates returns the birds that a bird has clutches with on record.
func (s *successes) mates(b int) []int {
	var mates []int
	for _, x := range s.track(b).with {
		if mate, known := s.p.Book.Index(x.mate); known {
			mates = append(mates, mate)
		}
	}
	slices.Sort(mates)
	return mates
}

// chanceAlone is the Chance of a pair without a clutch, from the rates of the two
// birds with others.
func chanceAlone(female, male float64) float64 {
	return Record{Prior: (female + male) / 2, Weight: recordWeight}.Rate()
}

// bird returns a bird's record with mates other than one, less the record of the
// two together, shrunk toward the rate of its present age.
func (s *successes) bird(side int, t *track, pair Record) Record {
	r := Record{t.all.Clutches - pair.Clutches, t.all.Fledged - pair.Fledged, s.programme.Rate(), recordWeight}
	if t.aged {
		r.Prior = s.byStage[side][t.stage].Rate()
	}
	return r
}

// Success returns the chance that a clutch of two birds fledges a chick, from
// their ages and records.
func (p *Programme) Success(female, male int) Success { return p.success.of(female, male) }

// SeasonChicks returns how many chicks to expect that a pair hatches in a
// season in which its eggs are left to it:
//
//	chicks per season × (the pair's chance ÷ the programme's) × exp(−B·F)
//
// chicks_per_season is the mean over pairs, those that fail among them; the
// pair's chance is therefore held against that of all pairs and not counted a
// second time. In the first season of a new bond it is FirstSeasons.Share of
// that. F is that of a chick; B the lethal equivalents (Morton, Crow & Muller
// 1956).
func (p *Programme) SeasonChicks(s Success, f float64, firstSeason bool) float64 {
	chicks := p.usualChicks(f) * p.success.against(s.Chance)
	if firstSeason {
		return p.firstChicks(chicks)
	}
	return chicks
}

// usualChicks is SeasonChicks of a settled pair whose chance is that of all pairs.
func (p *Programme) usualChicks(f float64) float64 {
	set := p.Settings()
	return set.ChicksPerSeason * math.Exp(-set.LethalEquivalents*f)
}

// firstChicks returns what the chicks of a season come to in the first of a bond.
func (p *Programme) firstChicks(chicks float64) float64 { return chicks * p.success.share }

// FirstSeasons is how bonds do in their first season against later ones.
type FirstSeasons struct {
	Bonds    int // watched in their first season
	Won      int // of which fledged a chick in it
	Later    int // seasons of bonds after their first
	LaterWon int
}

// The share of a settled pair's success that a new pair has in its first season
// where no bond is on record, and for how many bonds that counts against the
// record (both common practice, no source).
const (
	firstShare  = 0.5
	firstWeight = 20
)

// Share returns the chance of a bond in its first season as a share of that in
// later ones, in 0..1, with the record shrunk toward one half with the weight
// of 20 bonds:
//
//	(bonds × (won/bonds ÷ later won/later) + 20 × 0.5) ÷ (bonds + 20)
func (f FirstSeasons) Share() float64 {
	bonds, ratio := float64(f.Bonds), 0.0
	if f.Bonds == 0 || f.LaterWon == 0 {
		bonds = 0 // there is nothing to hold the first seasons against
	} else {
		ratio = min(1, float64(f.Won)/bonds/(float64(f.LaterWon)/float64(f.Later)))
	}
	return (bonds*ratio + firstWeight*firstShare) / (bonds + firstWeight)
}

// HasRecord reports whether the outcome of any clutch is on record.
func (p *Programme) HasRecord() bool { return p.success.programme.Clutches > 0 }

// FirstSeasons returns the record that SeasonChicks uses.
func (p *Programme) FirstSeasons() FirstSeasons { return p.success.first }

// firstBonds returns the season of each pair's first bond whose day is known, by the ids of
// the female and the male: a pair that came together again is not new.
func (p *Programme) firstBonds() map[[2]string]int {
	began := map[[2]string]int{}
	for _, bond := range p.Book.Bonds {
		if !bond.Since.Known() {
			continue
		}
		pair, year := [2]string{bond.Female, bond.Male}, p.seasonOf(bond.Since.Mid())
		if was, ok := began[pair]; !ok || year < was {
			began[pair] = year
		}
	}
	return began
}

// firstSeasons counts the seasons of the bonds on record that tell of success:
// those in which the pair laid a clutch whose outcome is known.
func firstSeasons(p *Programme) FirstSeasons {
	type season struct {
		pair [2]string
		year int
	}
	won := make(map[season]bool) // a clutch of the pair won in it
	for i := range p.Book.Clutches {
		c := &p.Book.Clutches[i]
		success, told := outcome(c)
		if !told || !c.Laid.Known() {
			continue
		}
		at := season{[2]string{c.Female, c.Male}, p.laidIn(c.Laid.Mid())}
		won[at] = won[at] || success
	}
	var f FirstSeasons
	for at, success := range won {
		first, bonded := p.began[at.pair]
		switch {
		case !bonded || at.year < first: // or the bond was written down late
		case at.year == first && success:
			f.Bonds, f.Won = f.Bonds+1, f.Won+1
		case at.year == first:
			f.Bonds++
		case success:
			f.Later, f.LaterWon = f.Later+1, f.LaterWon+1
		default:
			f.Later++
		}
	}
	return f
}
