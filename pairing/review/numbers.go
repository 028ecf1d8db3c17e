package review

import (
	"gonum.org/v1/gonum/floats"

	"pairwright/pairing"
	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook"
)

// Numbers are the birds of a colony counted, beside those of the programme.
// Where a table of the colony would rest on too few birds it is the
// programme's, and says so.
type Numbers struct {
	Colony, Programme Count

	// Survival is the curve of all birds, of the colony if OwnSurvival.
	Survival    demography.Curve
	OwnSurvival bool

	Females, Males Table

	// ChicksBefore hatched in the colony in the time before the last review, as
	// long as that since.
	ChicksBefore int

	// ByYear are the colony's comings and goings of every calendar year.
	ByYear []demography.Ledger

	// Need is the chicks that must hatch next season for as many birds in the
	// colony a year from now, ProgrammeNeed those that lead the programme
	// toward goal.birds, or hold its level; see pairing.Programme.Need.
	Need, ProgrammeNeed demography.Need

	// Ahead are the living birds of the programme today and after each of the
	// coming AheadYears years, if birds go on surviving and breeding as in the
	// last AheadBasis years: the matrices of Leslie (1945) of both sexes,
	// counted after breeding, from the ages of today. Birds of unknown age are
	// left out. Empty where there is no life table of both sexes.
	Ahead []float64

	// WithoutClutch are the pairs whose female lives here that laid nothing in the last
	// season; see pairing.Programme.WithoutClutch.
	WithoutClutch [][2]int

	Families demography.FamilySize // of the programme
	Parents  demography.ParentAges // of all chicks of the programme on record
}

// Count is what a census of one scope gives.
type Count struct {
	Scope     demography.Scope
	Year      demography.Ledger // since the last review
	Ages      demography.AgeStructure
	Sexes     demography.SexRatio
	FirstYear demography.Proportion // chicks hatched in the last pairing.RecentYears that lived to one year
	Breeding  demography.Breeding   // since the last review
	// Clutches are those laid since the last review, ClutchesBefore those of as long a
	// time before it, by where the female lived.
	Clutches, ClutchesBefore pairing.Broods
}

// Table is a life table of one sex with the growth that follows.
type Table struct {
	demography.LifeTable
	Own    bool // of the colony; else of the programme
	Growth demography.Growth

	// Stable are the shares of the age classes, from age 0, that birds come to
	// have that live and breed by the table for long; empty where it has no
	// rate of growth.
	Stable []float64
}

// The numbers are projected AheadYears ahead by how birds have lived and bred
// in the last AheadBasis years, because breeding is held to what is wanted now
// (common practice, no source).
const (
	AheadYears = 10
	AheadBasis = 5
)

// NewNumbers counts the birds.
func NewNumbers(p *pairing.Programme, census *demography.Census, place string, since studbook.Day) *Numbers {
	scope := demography.Scope(place)
	count := func(scope demography.Scope) Count {
		return Count{
			Scope: scope, Year: census.Ledger(scope, since, p.Book.AsOf), Ages: census.AgeStructure(scope),
			Sexes: census.SexRatio(scope), FirstYear: census.ReachedAge(scope, p.RecentSince(), 1),
			Breeding: census.Breeding(scope, since, p.Book.AsOf),
			Clutches: clutches(p, scope, since, p.Book.AsOf), ClutchesBefore: clutches(p, scope, 2*since-p.Book.AsOf, since),
		}
	}
	n := &Numbers{
		Colony: count(scope), Programme: count(demography.Programme), ByYear: census.Years(scope),
		Families: census.Families(), Parents: census.ParentAges(demography.Programme, 0, p.Book.AsOf),
	}
	n.ChicksBefore = chicksBefore(p, census, place, since)
	for _, pair := range p.WithoutClutch() {
		if p.Book.Birds[pair[0]].Location == place {
			n.WithoutClutch = append(n.WithoutClutch, pair)
		}
	}
	table := func(group demography.Group) Table {
		t, own := census.LifeTable(scope, group, 0)
		out := Table{LifeTable: t, Own: own, Growth: t.Growth()}
		if a, ok := demography.AfterBreeding(t.Schedule()); ok {
			out.Stable, _ = a.StableStructure()
		}
		return out
	}
	n.Females, n.Males = table(demography.Females), table(demography.Males)
	_, n.OwnSurvival = census.LifeTable(scope, demography.Everyone, 0)
	basis := demography.Programme
	if n.OwnSurvival {
		basis = scope
	}
	n.Survival = census.Watch(basis, demography.Everyone, 0).Survival()
	n.Ahead = ahead(census, n.Programme.Ages, p.Book.AsOf-AheadBasis*365)
	n.Need, n.ProgrammeNeed = p.Need(place, false), p.Need("", true)
	return n
}

// clutches returns what is on record of the clutches laid after a day, up to another.
func clutches(p *pairing.Programme, scope demography.Scope, after, upTo studbook.Day) (b pairing.Broods) {
	for i := range p.Book.Clutches {
		c := &p.Book.Clutches[i]
		day := c.Laid.Mid()
		female, known := p.Book.Index(c.Female)
		if !c.Laid.Known() || day <= after || day > upTo || !known {
			continue
		}
		life := p.Book.Life(female)
		if place, _ := life.On(day); scope == demography.Programme || place == string(scope) {
			b.Add(c, p.Book.AsOf)
		}
	}
	return b
}

// ahead projects the programme's birds of known age by how birds have lived and
// bred since a day.
func ahead(census *demography.Census, ages demography.AgeStructure, since studbook.Day) []float64 {
	sum := make([]float64, AheadYears+1)
	for _, sex := range []demography.Group{demography.Females, demography.Males} {
		table, _ := census.LifeTable(demography.Programme, sex, since)
		a, ok := demography.AfterBreeding(table.Schedule())
		if !ok || !table.Growth().R.Known {
			return nil
		}
		for year, birds := range a.Project(ages.Counts(sex, a.Classes()), AheadYears) {
			sum[year] += floats.Sum(birds)
		}
	}
	return sum
}
