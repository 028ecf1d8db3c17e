package pairing

import (
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
	programme Record                       // all clutches; prior is the setting
	byStage   [2][stages]Record            // female, male
	byBird    map[string]map[string]Record // bird -> mate -> clutches
}

func newSuccesses(p *Programme) *successes {
	s := &successes{p: p, byBird: map[string]map[string]Record{}}
	s.programme = Record{Prior: p.Settings().ClutchSuccess, Weight: ageWeight}
	for i := range p.Book.Clutches {
		c := &p.Book.Clutches[i]
		won, told := outcome(c)
		if !told {
			continue
		}
		s.programme.count(won)
		for k, id := range [2]string{c.Female, c.Male} {
			if at, ok := s.stageAt(id, c.Laid); ok {
				s.byStage[k][at].count(won)
			}
			mate := [2]string{c.Male, c.Female}[k]
			if s.byBird[id] == nil {
				s.byBird[id] = map[string]Record{}
			}
			r := s.byBird[id][mate]
			r.count(won)
			s.byBird[id][mate] = r
		}
	}
	for k := range s.byStage {
		for at := range s.byStage[k] {
			s.byStage[k][at].Prior = s.programme.Rate()
			s.byStage[k][at].Weight = ageWeight
		}
	}
	return s
}

func (r *Record) count(won bool) {
	r.Clutches++
	if won {
		r.Fledged++
	}
}

// outcome reports whether a chick of the clutch fledged, or hatched where
// fledging is not on record; told is false where neither is.
func outcome(c *studbook.Clutch) (won, told bool) {
	switch {
	case c.Fledged >= 0:
		return c.Fledged > 0, true
	case c.Hatched >= 0:
		return c.Hatched > 0, true
	}
	return false, false
}

// stageAt returns a bird's stage on a date; ok is false where its age is not
// known.
func (s *successes) stageAt(id string, on studbook.Date) (at stage, ok bool) {
	bird := s.p.Book.Bird(id)
	if bird == nil || !bird.Hatch.Known() || !on.Known() {
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
	f, m := s.p.Book.Birds[female].ID, s.p.Book.Birds[male].ID
	out := Success{Female: s.bird(0, f, m), Male: s.bird(1, m, f), Pair: s.byBird[f][m]}
	out.Pair.Prior = (out.Female.Rate() + out.Male.Rate()) / 2
	out.Pair.Weight = recordWeight
	out.Chance = out.Pair.Rate()
	return out
}

// bird returns a bird's record with mates other than one, shrunk toward the
// rate of its present age.
func (s *successes) bird(side int, id, except string) Record {
	r := Record{Prior: s.programme.Rate(), Weight: recordWeight}
	if at, ok := s.stageAt(id, studbook.Date{First: s.p.Book.AsOf, Last: s.p.Book.AsOf}); ok {
		r.Prior = s.byStage[side][at].Rate()
	}
	for mate, with := range s.byBird[id] {
		if mate != except {
			r.Clutches += with.Clutches
			r.Fledged += with.Fledged
		}
	}
	return r
}

// Success returns the chance that a clutch of two birds fledges a chick, from
// their ages and records.
func (p *Programme) Success(female, male int) Success { return p.success.of(female, male) }
