package forecast

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"pairwright/pairing"
	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook"
)

// growing is the years in which a programme comes to the number of birds of its
// goal, and afterwards how many days after the end of a bond both birds must have
// lived for it to have ended otherwise than by a death (both common practice, no
// source).
const (
	growing    = 10
	afterwards = 30
)

// ErrNoSurvival says that a programme cannot be run forward.
var ErrNoSurvival = errors.New("too little is on record to say how many birds live another year; set survival.first_year and survival.yearly in programme.toml")

// Outset is what the runs of a real programme start from, with what it rests on.
type Outset struct {
	Start Start
	Rules Rules

	Day    studbook.Day // of the start; year 1 ends a year later
	Birds  []int        // of the snapshot, by bird of Start
	Places []string     // codes by place of Rules, "" for birds that nobody wrote the place of; nil without places

	Female, Male demography.Yearly // what survival rests on
	Clutches     int               // whose hatch is on record, for Rules.ChanceEvidence
	BondYears    float64           // of bonds on record, of which Rules.PartingEvidence parted
	UnknownAges  int               // birds that count with the mean age of their sex
	NoLimit      []string          // places of which nobody says how many birds they have room for
}

// New returns what the runs of a programme start from: its living birds with
// their kinship, ages in the coming season, descent, bonds of birds that live
// together, and places; and the rules that its records and settings give. Where laying
// months are set, chicks hatch after the first of them, on which ages are counted. A bird
// of unknown age counts with the mean age of its sex, or where no age is known as
// one that begins to breed; of several possible parents the likeliest lends its
// genes. A place has room for the birds it has and those that institutions.csv has
// free places for, any number where that is not known.
//
// The error is ErrNoSurvival, that the birds are more than MostBirds, or ctx's.
func New(ctx context.Context, p *pairing.Programme) (*Outset, error) {
	prospects, ok := p.Census().Prospects()
	if !ok {
		return nil, ErrNoSurvival
	}
	set := p.Settings()
	living := p.Book.Living
	if len(living) > MostBirds {
		return nil, fmt.Errorf("at most %s birds can be run forward, and the programme has %s", studbook.Number(MostBirds), studbook.Number(len(living)))
	}
	o := &Outset{Day: p.Book.AsOf, Birds: living, Female: prospects.FemaleYearly, Male: prospects.MaleYearly}
	o.Rules = Rules{
		Female: prospects.Female, Male: prospects.Male, Birds: len(living), Drifts: set.GoalBirds == 0,
		FemaleEvidence: Evidence{prospects.FemaleYearly.AtRisk, prospects.FemaleYearly.Deaths},
		MaleEvidence:   Evidence{prospects.MaleYearly.AtRisk, prospects.MaleYearly.Deaths},
		MostChicks:     set.ChicksPerPair, Chance: min(1, set.ChicksPerSeason/float64(set.ChicksPerPair)), FirstSeason: p.FirstSeasons().Share(),
		LethalEquivalents: set.LethalEquivalents, LimitInbreeding: set.LimitInbreeding, PreferInbreeding: max(set.PreferInbreeding, math.SmallestNonzeroFloat64),
		HatchLate: len(set.LayingMonths) > 0, Wait: min(1, float64(p.BreedingDay()-p.Book.AsOf)/studbook.DaysPerYear),
	}
	if set.GoalBirds > 0 {
		o.Rules.Birds, o.Rules.Growing = set.GoalBirds, growing
	}
	o.Start.Birds = make([]Bird, len(living))
	for k, b := range living {
		switch p.Book.Birds[b].Sex {
		case studbook.Female:
			o.Start.Birds[k].Sex = Female
		case studbook.Male:
			o.Start.Birds[k].Sex = Male
		}
	}
	o.setAges(p)
	o.setPlaces(p)
	o.setBonds(p)
	o.setRecords(p)
	o.setDescent(p)
	return o, o.setKinship(ctx, p)
}

// setKinship sets the kinship of every two birds.
func (o *Outset) setKinship(ctx context.Context, p *pairing.Programme) error {
	n := len(o.Birds)
	o.Start.Kinship = make([]float64, n*n)
	if n == 0 {
		return ctx.Err()
	}
	nodes := make([]int, n)
	for k, b := range o.Birds {
		nodes[k] = p.Node(b)
	}
	err := p.Pedigree.KinshipRows(ctx, nodes, nodes, func(i int, row []float64) {
		copy(o.Start.Kinship[i*n:], row)
	})
	for i := range nodes { // the same to the last digit either way round
		for j := range i {
			o.Start.Kinship[j*n+i] = o.Start.Kinship[i*n+j]
		}
	}
	return err
}

// setDescent sets where the birds come from.
func (o *Outset) setDescent(p *pairing.Programme) {
	d := &Descent{Birds: make([]int, len(o.Birds))}
	at := make(map[int]int) // place in d of a node
	var add func(node int) int
	add = func(node int) int {
		if nodes, weights := p.Pedigree.Candidates(node); nodes != nil {
			node = nodes[slices.Index(weights, slices.Max(weights))]
		}
		if k, ok := at[node]; ok {
			return k
		}
		parents := [2]int{-1, -1}
		if sire, dam, ok := p.Pedigree.Parents(node); ok {
			parents = [2]int{add(sire), add(dam)}
		}
		at[node] = len(d.Parents)
		d.Parents = append(d.Parents, parents)
		return at[node]
	}
	for k, b := range o.Birds {
		d.Birds[k] = add(p.Node(b))
	}
	o.Start.Descent = d
}

// setRecords counts the clutches that say how many chicks hatched, and the bonds
// that ended while both birds lived and were not moved apart.
func (o *Outset) setRecords(p *pairing.Programme) {
	for i := range p.Book.Clutches {
		if p.Book.Clutches[i].Hatched >= 0 {
			o.Clutches++
		}
	}
	o.Rules.ChanceEvidence = float64(o.Clutches)
	parted := 0.0
	for _, bond := range p.Book.Bonds {
		female, okF := p.Book.Index(bond.Female)
		male, okM := p.Book.Index(bond.Male)
		if !okF || !okM || !bond.Since.Known() {
			continue
		}
		end := p.Book.AsOf
		if bond.Until.Known() {
			end = bond.Until.Mid()
		}
		lived, at := true, [2]string{}
		for k, b := range [2]int{female, male} {
			life := p.Book.Life(b)
			if life.Dead > 0 && life.Dead <= end+afterwards {
				end, lived = min(end, life.Dead), false
			}
			at[k], _ = life.On(end + afterwards)
		}
		o.BondYears += max(0, float64(end-bond.Since.Mid())/studbook.DaysPerYear)
		if bond.Until.Known() && lived && at[0] == at[1] {
			parted++
		}
	}
	if parted > 0 && o.BondYears > parted {
		o.Rules.Parting, o.Rules.PartingEvidence = parted/o.BondYears, parted
	}
}

// setAges sets the ages in the coming season.
func (o *Outset) setAges(p *pairing.Programme) {
	s := &o.Start
	until := float64(p.BreedingDay()-p.Book.AsOf) / studbook.DaysPerYear
	var sum, n [Male + 1]float64
	var unknown []int
	for k, b := range o.Birds {
		age, _, ok := p.Book.AgeYears(b)
		if !ok {
			unknown = append(unknown, k)
			continue
		}
		s.Birds[k].Age = int(age + until)
		s.Birds[k].Late = math.Round(age+until) > math.Floor(age+until)
		sum[s.Birds[k].Sex] += age + until
		n[s.Birds[k].Sex]++
	}
	for _, k := range unknown {
		b := &s.Birds[k]
		if n[b.Sex] > 0 {
			b.Age = int(sum[b.Sex] / n[b.Sex])
		} else {
			b.Age = int(math.Ceil(o.Rules.of(b.Sex).First))
		}
	}
	o.UnknownAges = len(unknown)
}

// setPlaces sets where the birds live and how many birds each place may hold: the
// institutions that have birds or say that they have room.
func (o *Outset) setPlaces(p *pairing.Programme) {
	codes := p.Book.Locations()
	if !p.Book.Colony.HasLocation || len(codes) == 0 {
		return
	}
	for _, in := range p.Book.Colony.Institutions {
		if !slices.Contains(codes, in.Code) && in.SpacesF+in.SpacesM > 0 {
			codes = append(codes, in.Code)
		}
	}
	slices.Sort(codes)
	at := map[string]int{}
	for k, code := range codes {
		at[code] = k
		room := math.MaxInt32
		if in, ok := p.Book.Institution(code); ok && in.SpacesF >= 0 && in.SpacesM >= 0 {
			room = len(p.Book.LivingAt(code)) + in.SpacesF + in.SpacesM
		} else {
			o.NoLimit = append(o.NoLimit, code)
		}
		o.Rules.Places = append(o.Rules.Places, room)
	}
	o.Places = codes
	for k, b := range o.Birds {
		o.Start.Birds[k].Place = at[p.Book.Birds[b].Location]
	}
}

// setBonds sets the bonds of living birds of known sex that live together, the
// first in the files where a bird has several. A bond has had a season where it
// is a year old, or of unknown age.
func (o *Outset) setBonds(p *pairing.Programme) {
	of := map[string]int{}
	for k, b := range o.Birds {
		of[p.Book.Birds[b].ID] = k
	}
	for _, bond := range p.Book.OpenBonds() {
		f, okF := of[bond.Female]
		m, okM := of[bond.Male]
		settled := !bond.Since.Known() || p.Book.AsOf-bond.Since.Mid() >= 365
		if okF && okM {
			o.Start.bond(f, m, settled)
		}
	}
}

// bond makes two birds of a start a pair, if both are free, of the two sexes, and
// live together.
func (s *Start) bond(female, male int, settled bool) {
	f, m := &s.Birds[female], &s.Birds[male]
	if f.Mate+m.Mate == 0 && f.Place == m.Place && f.Sex == Female && m.Sex == Male {
		f.Mate, m.Mate = male+1, female+1
		f.Settled, m.Settled = settled, settled
	}
}
