package pairing

import (
	"fmt"
	"strings"

	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook"
)

// Ages are the breeding ages of both sexes in years.
type Ages struct {
	Female, Male AgeRange
}

// AgeRange is a range of ages in years, both ends included. Last is 0 where
// there is no upper end.
type AgeRange struct {
	First, Last float64
	Source      string // where the range comes from, in plain words
}

// Of returns the range of a sex; for an unsexed bird the wider of both.
func (a Ages) Of(sex studbook.Sex) AgeRange {
	switch sex {
	case studbook.Female:
		return a.Female
	case studbook.Male:
		return a.Male
	}
	wide := AgeRange{First: min(a.Female.First, a.Male.First), Last: max(a.Female.Last, a.Male.Last)}
	if a.Female.Last == 0 || a.Male.Last == 0 {
		wide.Last = 0
	}
	return wide
}

// fromSettings is the source of ages that programme.toml sets.
const fromSettings = "programme.toml"

// breedingAges returns the ages in force; see demography.BreedingAgesOf.
func breedingAges(book *studbook.Snapshot) Ages {
	of := func(sex studbook.Sex) AgeRange {
		ages := demography.BreedingAgesOf(book, sex)
		r := AgeRange{First: ages.First, Last: ages.Last, Source: fromSettings}
		switch {
		case ages.Set:
		case ages.Parents > 0:
			r.Source = fmt.Sprintf("the studbook's %d recorded parents: the youngest, and the age below which 95 %% of them bred", ages.Parents)
		default:
			r.Source = "common practice, as too few parents are on record to tell"
		}
		return r
	}
	return Ages{Female: of(studbook.Female), Male: of(studbook.Male)}
}

// Unfit returns why a living bird should not breed now, whoever the mate:
// sex not known, too young, too old, on hold. None if it may. A bird whose age
// is not known is not ruled out by age.
func (p *Programme) Unfit(b int) []Reason {
	bird := &p.Book.Birds[b]
	var reasons []Reason
	if bird.Sex == studbook.Unsexed {
		reasons = append(reasons, Reason{Code: SexUnknown, Birds: p.birds(b), Text: "its sex is not known"})
	}
	if age, _, ok := p.Book.AgeYears(b); ok {
		ages := p.Ages.Of(bird.Sex)
		if age < ages.First {
			reasons = append(reasons, Reason{Code: TooYoung, Birds: p.birds(b), Value: age, Other: ages.First, Text: fmt.Sprintf("%s old; breeding begins at %s", years(age), years(ages.First))})
		}
		if ages.Last > 0 && age > ages.Last {
			reasons = append(reasons, Reason{Code: TooOld, Birds: p.birds(b), Value: age, Other: ages.Last, Text: fmt.Sprintf("%s old; breeding ends at %s", years(age), years(ages.Last))})
		}
	}
	if hold, ok := p.Book.Blocked(bird.ID, studbook.BlocksBreeding); ok {
		reasons = append(reasons, Reason{Code: OnHold, Birds: p.birds(b), Note: hold.Reason, Date: hold.Until, Text: holdText("breeding", hold)})
	}
	return reasons
}

func holdText(what string, hold studbook.Hold) string {
	text := "on hold for " + what + ": " + hold.Reason
	if hold.Until.Known() {
		text += ", until " + hold.Until.Text
	}
	return text
}

// years is an age as a person says it.
func years(age float64) string {
	said := strings.TrimSuffix(fmt.Sprintf("%.1f", age), ".0")
	if said == "1" {
		return "1 year"
	}
	return said + " years"
}

// fit returns the living birds of a sex that may breed now, bonds aside.
func (p *Programme) fit(sex studbook.Sex) []int {
	var birds []int
	for _, b := range p.Book.Living {
		if p.Book.Birds[b].Sex == sex && len(p.Unfit(b)) == 0 {
			birds = append(birds, b)
		}
	}
	return birds
}

// Unpaired returns the living birds of a place that have no mate and may
// breed, by id.
func (p *Programme) Unpaired(place string) []int {
	return p.alone(place, func(reasons []Reason) bool { return len(reasons) == 0 })
}

// UnpairedUnsexed returns the living birds of a place that have no mate and
// might breed if their sex were known, by id.
func (p *Programme) UnpairedUnsexed(place string) []int {
	return p.alone(place, func(reasons []Reason) bool { return len(reasons) == 1 && reasons[0].Code == SexUnknown })
}

func (p *Programme) alone(place string, unfit func([]Reason) bool) []int {
	var birds []int
	for _, b := range p.Book.LivingAt(place) {
		if len(p.Book.Mates(p.Book.Birds[b].ID)) == 0 && unfit(p.Unfit(b)) {
			birds = append(birds, b)
		}
	}
	return birds
}
