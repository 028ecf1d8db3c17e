package review

import (
	"pairwright/pairing"
	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook"
)

// ownTableBirds is the number of birds below which a colony's shares and rates
// are hardly more than chance (common practice, no source).
const ownTableBirds = 20

// Missing says what the review cannot say, or not surely, and why; most
// important first.
func (r *Review) Missing() []pairing.Reason {
	p := r.Programme
	var say []pairing.Reason
	add := func(code pairing.Code, count int) { say = append(say, pairing.Reason{Code: code, Count: count}) }
	colony := r.ColonyGenetics.Size
	switch {
	case p.Living.Size() == 0:
		add(NobodyAlive, 0)
		return say
	case colony == 0:
		add(NobodyHere, 0)
	case colony == 1:
		add(OneBird, 0)
	case colony < ownTableBirds:
		add(FewBirds, colony)
	}
	females, males := 0, 0
	for _, b := range p.Book.LivingAt(r.Colony) {
		switch p.Book.Birds[b].Sex {
		case studbook.Female:
			females++
		case studbook.Male:
			males++
		}
	}
	switch {
	case colony <= 1:
	case females == 0 && males == 0:
		add(NobodySexed, 0)
	case females == 0:
		add(NoFemale, 0)
	case males == 0:
		add(NoMale, 0)
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
		add(NoHatchDates, 0)
	case undated > 0:
		add(SomeUndated, undated)
	}
	if bred == 0 {
		add(AllFounders, 0)
	}
	files := p.Book.Colony
	if files.HasLocation && !files.HasFile("moves.csv") {
		add(NoMovesFile, 0)
	}
	if !files.HasFile("bonds.csv") {
		add(NoBondsFile, 0)
	}
	if !files.HasFile("clutches.csv") {
		add(NoClutchesFile, 0)
	}
	if !r.Outlook.GenerationLength.Known && dated > 0 {
		add(NoGenerations, 0)
	}
	if n := r.Numbers; !r.Whole && colony > 0 && !(n.Females.Own && n.Males.Own) {
		of := "females and males"
		switch {
		case n.Females.Own:
			of = "males"
		case n.Males.Own:
			of = "females"
		}
		say = append(say, pairing.Reason{Code: ProgrammesTables, Note: of, Count: demography.FewAtRisk})
	}
	if r.Change.Emptied {
		add(Emptied, 0)
	}
	return say
}
