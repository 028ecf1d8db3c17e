package review

import (
	"fmt"

	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook"
)

// ownTableBirds is the number of birds below which a colony's shares and rates
// are hardly more than chance (common practice, no source).
const ownTableBirds = 20

// Missing says what the review cannot say, or not surely, and why; in plain
// words, most important first.
func (r *Review) Missing() []string {
	p := r.Programme
	var say []string
	add := func(format string, args ...any) { say = append(say, fmt.Sprintf(format, args...)) }
	colony := r.ColonyGenetics.Size
	switch {
	case p.Living.Size() == 0:
		add("no bird of the programme is alive, so there is no gene pool to speak of")
		return say
	case colony == 0:
		add("no bird lives in the colony, so all that is said is about the programme")
	case colony == 1:
		add("the colony is one bird: it has no pair, no spread of ages and no kinship but with itself")
	case colony < ownTableBirds:
		add("the colony has %d birds: with so few, every share and rate is mostly chance; read the intervals, not the figures", colony)
	}
	females, males := 0, 0
	for _, b := range p.Book.LivingAt(r.Place) {
		switch p.Book.Birds[b].Sex {
		case studbook.Female:
			females++
		case studbook.Male:
			males++
		}
	}
	if colony > 1 {
		switch {
		case females == 0 && males == 0:
			add("no bird of the colony is sexed, so no pair can be judged and no mate named")
		case females == 0:
			add("the colony has no female: it can breed only with birds from elsewhere")
		case males == 0:
			add("the colony has no male: it can breed only with birds from elsewhere")
		}
	}
	dated, bred := 0, 0
	for i := range p.Book.Birds {
		b := &p.Book.Birds[i]
		if b.Hatch.Known() {
			dated++
		}
		if !b.Founder() {
			bred++
		}
	}
	undated := r.Numbers.Colony.Ages.Unknown.Total()
	switch {
	case dated == 0:
		add("no bird has a hatch date: ages, survival, life tables, the history of the gene pool and the generation length cannot be told")
	case undated > 0:
		add("%d of the colony's birds have no hatch date: they are left out of ages, survival and life tables, and nothing says whether they are of breeding age", undated)
	}
	if bred == 0 {
		add("every bird on record is a founder: nothing is known of inbreeding, kinship between birds, generation length or loss of gene diversity, and all mean kinships are equal but for founder kinships given")
	}
	if p.Book.Colony.HasLocation && !p.Book.Colony.HasFile("moves.csv") {
		add("there is no moves.csv: birds are taken to have always lived where the studbook has them, so arrivals and departures, and the colony's own past, cannot be told")
	}
	if !p.Book.Colony.HasFile("bonds.csv") {
		add("there is no bonds.csv: no pair can be reviewed, and every bird counts as unpaired")
	}
	if !p.Book.Colony.HasFile("clutches.csv") {
		add("there is no clutches.csv: the chance of success of every pair is the programme's setting, not its record")
	}
	o := r.Outlook
	if !o.GenerationLength.Known && dated > 0 {
		add("no chick with its parents' ages is on record, so the generation length is not known and no effective size can be told")
	}
	if !r.Whole && colony > 0 {
		var of string
		switch n := r.Numbers; {
		case !n.Females.Own && !n.Males.Own:
			of = "females and males"
		case !n.Females.Own:
			of = "females"
		case !n.Males.Own:
			of = "males"
		}
		if of != "" {
			add("too few %s were watched in the colony for a life table of its own (fewer than %d at risk in a class that counts): the programme's stands in its place", of, demography.FewAtRisk)
		}
	}
	if r.Change.Emptied {
		add("at some time since the last review the colony or the programme had no bird: its gene diversity then counts as 0 in the causes of change")
	}
	return say
}
