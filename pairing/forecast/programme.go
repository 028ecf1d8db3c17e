package forecast

import (
	"context"
	"errors"
	"math"
	"slices"
	"time"

	"pairwright/pairing"
	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook"
)

// firstSeason is the share of a settled pair's success that a new pair has in
// its first season, and growing the years in which a programme comes to the
// number of birds of its goal (both common practice, no source).
const (
	firstSeason = 0.5
	growing     = 10
)

// ErrNoSurvival says that a programme cannot be run forward.
var ErrNoSurvival = errors.New("too little is on record to say how many birds live another year; set survival.first_year and survival.yearly in programme.toml")

// FromProgramme returns what the runs of a real programme start from: its living
// birds with their kinship, ages in the coming season, bonds of birds that live
// together, and places; and the rules that its records and settings give. A bird
// of unknown age counts with the mean age of its sex, or where no age is known as
// one that begins to breed. A place has room for the birds it has and those that
// institutions.csv has free places for, any number where that is not known.
//
// The error is ErrNoSurvival, or ctx's.
func FromProgramme(ctx context.Context, p *pairing.Programme) (*Start, *Rules, error) {
	prospects, ok := demography.NewCensus(p.Book).Prospects()
	if !ok {
		return nil, nil, ErrNoSurvival
	}
	set := p.Settings()
	living := p.Book.Living
	r := &Rules{
		Female: prospects.Female, Male: prospects.Male, Birds: len(living),
		FemaleEvidence: Evidence{prospects.FemaleYearly.AtRisk, prospects.FemaleYearly.Deaths},
		MaleEvidence:   Evidence{prospects.MaleYearly.AtRisk, prospects.MaleYearly.Deaths},
		MostChicks:     set.ChicksPerPair, Chance: min(1, set.ChicksPerSeason/float64(set.ChicksPerPair)), FirstSeason: firstSeason,
		LethalEquivalents: set.LethalEquivalents, LimitInbreeding: set.LimitInbreeding,
	}
	if set.GoalBirds > 0 {
		r.Birds, r.Growing = set.GoalBirds, growing
	}
	s := &Start{Birds: make([]Bird, len(living)), Kinship: make([]float64, len(living)*len(living))}
	for k, b := range living {
		switch p.Book.Birds[b].Sex {
		case studbook.Female:
			s.Birds[k].Sex = Female
		case studbook.Male:
			s.Birds[k].Sex = Male
		}
	}
	setAges(s, r, p)
	setPlaces(s, r, p)
	setBonds(s, p)
	nodes := make([]int, len(living))
	for k, b := range living {
		nodes[k] = p.Node(b)
	}
	if len(nodes) == 0 {
		return s, r, ctx.Err()
	}
	err := p.Pedigree.KinshipRows(ctx, nodes, nodes, func(i int, row []float64) {
		copy(s.Kinship[i*len(nodes):], row)
	})
	if err != nil {
		return nil, nil, err
	}
	for i := range nodes { // the same to the last digit either way round
		for j := range i {
			s.Kinship[j*len(nodes)+i] = s.Kinship[i*len(nodes)+j]
		}
	}
	return s, r, nil
}

// seasonDay returns the day on which the coming season begins: today in a laying
// month, or where no such month is set, else the first of the next one.
func seasonDay(p *pairing.Programme) studbook.Day {
	today := p.Book.AsOf
	months := p.Settings().LayingMonths
	if len(months) == 0 {
		return today
	}
	year, month, _ := today.Time().Date()
	for !slices.Contains(months, month) {
		if month++; month > time.December {
			year, month = year+1, time.January
		}
	}
	return max(today, studbook.DayOf(year, month, 1))
}

// setAges sets the ages in the coming season.
func setAges(s *Start, r *Rules, p *pairing.Programme) {
	until := float64(seasonDay(p)-p.Book.AsOf) / studbook.DaysPerYear
	var sum, n [Male + 1]float64
	var unknown []int
	for k, b := range p.Book.Living {
		age, _, ok := p.Book.AgeYears(b)
		if !ok {
			unknown = append(unknown, k)
			continue
		}
		s.Birds[k].Age = int(age + until)
		sum[s.Birds[k].Sex] += age + until
		n[s.Birds[k].Sex]++
	}
	for _, k := range unknown {
		b := &s.Birds[k]
		if n[b.Sex] > 0 {
			b.Age = int(sum[b.Sex] / n[b.Sex])
		} else {
			b.Age = int(math.Ceil(r.of(b.Sex).First))
		}
	}
}

// setPlaces sets where the birds live and how many birds each place may hold.
func setPlaces(s *Start, r *Rules, p *pairing.Programme) {
	codes := p.Book.Locations()
	if len(codes) < 2 {
		return
	}
	at := map[string]int{}
	for k, code := range codes {
		at[code] = k
		room := math.MaxInt32
		if in, ok := p.Book.Institution(code); ok && in.SpacesF >= 0 && in.SpacesM >= 0 {
			room = len(p.Book.LivingAt(code)) + in.SpacesF + in.SpacesM
		}
		r.Places = append(r.Places, room)
	}
	for k, b := range p.Book.Living {
		s.Birds[k].Place = at[p.Book.Birds[b].Location]
	}
}

// setBonds sets the bonds of living birds of known sex that live together, the
// first in the files where a bird has several. A bond has had a season where it
// is a year old, or of unknown age.
func setBonds(s *Start, p *pairing.Programme) {
	of := map[string]int{}
	for k, b := range p.Book.Living {
		of[p.Book.Birds[b].ID] = k
	}
	for _, bond := range p.Book.OpenBonds() {
		f, okF := of[bond.Female]
		m, okM := of[bond.Male]
		if !okF || !okM || s.Birds[f].Mate+s.Birds[m].Mate > 0 || s.Birds[f].Place != s.Birds[m].Place ||
			s.Birds[f].Sex != Female || s.Birds[m].Sex != Male {
			continue
		}
		settled := !bond.Since.Known() || p.Book.AsOf-bond.Since.Mid() >= 365
		s.Birds[f].Mate, s.Birds[m].Mate = m+1, f+1
		s.Birds[f].Settled, s.Birds[m].Settled = settled, settled
	}
}
