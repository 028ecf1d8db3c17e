package pairing

import (
	"fmt"
	"slices"
	"strings"

	"pairwright/pairing/internal/season"
)

// birdKin says how common a bird's genes are.
func (p *Programme) birdKin(b int) string {
	return fmt.Sprintf("%s has mean kinship %s, rank %d of %d",
		p.Name(b), FourDecimals(p.Living.MeanKinshipOf(p.node[b])), p.Rank(b), p.Living.Size())
}

// pairReasons says in plain words why a pair is in the plan.
func (b *planner) pairReasons(pair *PlannedPair) []string {
	p := b.p
	var say []string
	add := func(format string, args ...any) { say = append(say, fmt.Sprintf(format, args...)) }
	if pair.KeepsBond {
		add("the two are bonded")
	} else {
		add("a new pair")
		for _, bird := range [2]int{pair.Female, pair.Male} {
			if mates := p.Book.Mates(p.Book.Birds[bird].ID); len(mates) > 0 {
				add("%s must be parted from %s", p.Name(bird), strings.Join(mates, " and "))
			}
		}
	}
	add("%s", p.birdKin(pair.Female))
	add("%s", p.birdKin(pair.Male))
	add("%s", kinText(pair.OffspringInbreeding, p.Settings().LethalEquivalents))
	if !p.Preferred(pair.OffspringInbreeding) {
		add("F is within the limit of %s but not below the preferred %s", FourDecimals(b.limit), FourDecimals(p.Settings().PreferInbreeding))
	}
	if m := pair.Move; m != nil {
		how := ""
		if km, ok := p.Distance(m.From, m.To); ok {
			how = fmt.Sprintf(", %.0f km", km)
		}
		add("%s moves from %s to %s%s", p.Name(m.Bird), p.Place(m.From), p.Place(m.To), how)
		stays := pair.Female + pair.Male - m.Bird
		if why := p.mayNotMove(stays); why != "" {
			add("%s stays where it is: %s", p.Name(stays), why)
		}
	}
	for _, bird := range [2]int{pair.Female, pair.Male} {
		if _, _, ok := p.Book.AgeYears(bird); !ok {
			add("the age of %s is not known", p.Name(bird))
		}
	}
	return say
}

// noLoss is a loss of gene diversity too small to be printed.
const noLoss = 0.05e-6

func exchangeText(loss float64) string {
	if loss < noLoss {
		return "a planned chick hatched by them instead would keep the gene diversity as it is, but not raise it"
	}
	return fmt.Sprintf("a planned chick hatched by them instead would take %.1f millionths from the gene diversity", loss*1e6)
}

// whyUnpaired says why a bird has no mate in the plan, "" if it has one, keeps
// the mate it has, or is not of breeding age.
func (b *planner) whyUnpaired(out *Plan, bird int) string {
	p := b.p
	for _, pair := range out.Pairs {
		if pair.Female == bird || pair.Male == bird {
			return ""
		}
	}
	if len(p.keptMates(bird, b.o)) > 0 {
		return "" // see the advice on its eggs
	}
	var say []string
	for _, r := range p.Unfit(bird) {
		if r.Code == TooYoung || r.Code == TooOld {
			return ""
		}
		say = append(say, r.Plain())
	}
	if len(say) > 0 {
		return strings.Join(say, "; ")
	}
	k := b.breeder[bird]
	where := "at " + p.Place(p.Book.Birds[bird].Location)
	if !p.Book.Colony.HasLocation {
		where = "in the programme"
	}
	if b.o.Moves > 0 {
		where = "within the moves allowed"
	}
	switch {
	case !b.hasMate[k] && b.tooClose[k]:
		return fmt.Sprintf("every bird free to be its mate %s is too close kin: F of a chick would be above %s", where, FourDecimals(b.limit))
	case !b.hasMate[k]:
		return fmt.Sprintf("no bird of the other sex %s is free and may breed", where)
	case b.season.Chicks == 0:
		return "no chicks are planned"
	}
	loss, ok := b.season.Exchange(b.plan, func(o *season.Option) bool { return o.Female == k || o.Male == k })
	if !ok {
		return "no mate is left for it that the plan's limits allow; " + p.birdKin(bird)
	}
	text := "the chicks wanted are better hatched by others"
	if loss < noLoss {
		text = "others hatch the chicks wanted just as well"
	} else {
		text += fmt.Sprintf(": one of them hatched by this bird, with its best mate, would take %.1f millionths from the gene diversity", loss*1e6)
	}
	return text + "; " + p.birdKin(bird)
}

// eggs returns the advice for a bonded pair.
func (b *planner) eggs(out *Plan, female, male int) EggAdvice {
	p := b.p
	now := p.nest(p.Book.Birds[female].ID, p.Book.Birds[male].ID)
	e := EggAdvice{Female: female, Male: male, Sits: now == sits}
	mk := func(bird int) float64 { return p.Living.MeanKinshipOf(p.node[bird]) }
	mean := (mk(female) + mk(male)) / 2
	all, _ := p.Living.MeanKinship()
	rare := fmt.Sprintf("their mean kinships are %s and %s against %s in the programme", FourDecimals(mk(female)), FourDecimals(mk(male)), FourDecimals(all))
	var others []int
	for _, pair := range out.Pairs {
		switch {
		case pair.Female == female && pair.Male == male:
			e.Hatch = pair.Chicks
		case pair.Female == female || pair.Male == male:
			others = append(others, pair.Female, pair.Male)
		}
	}
	e.Replace = e.Hatch == 0 && !e.Sits
	f, okF := b.breeder[female]
	m, okM := b.breeder[male]
	var say []string
	switch {
	case e.Hatch > 0:
		how := "spread the genes of birds with few relatives"
		if mean > all {
			how = "keep more gene diversity than chicks of other pairs would"
		}
		say = append(say, rare, "chicks of theirs "+how)
	case len(others) > 0:
		say = append(say, "the plan parts this pair: "+rare)
	case !okF || !okM:
		var why []string
		for _, bird := range [2]int{female, male} {
			for _, r := range p.Unfit(bird) {
				why = append(why, p.Name(bird)+": "+r.Plain())
			}
		}
		if len(why) == 0 {
			why = []string{"the two do not live in one place"}
		}
		say = append(say, "the pair should not breed now ("+strings.Join(why, "; ")+"); "+rare)
	case b.season.Kinship[f][m] > b.limit:
		say = append(say, fmt.Sprintf("a chick would have F %s, above the limit of %s; %s", FourDecimals(b.season.Kinship[f][m]), FourDecimals(b.limit), rare))
	default:
		text := rare
		loss, ok := b.season.Exchange(b.plan, func(o *season.Option) bool { return o.Female == f && o.Male == m })
		switch {
		case b.season.Chicks == 0:
			text += "; no chicks are planned"
		case ok:
			text += "; " + exchangeText(loss)
		case !slices.ContainsFunc(b.season.Options, func(o season.Option) bool { return o.Female == f && o.Male == m }):
			text += "; the two do not live in one place"
		default:
			text += "; there is no room for a chick where they live"
		}
		say = append(say, text)
	}
	switch now {
	case sits:
		then := "the advice is for eggs laid after that"
		if e.Hatch > 0 {
			then = "chicks that hatch from it are chicks of the plan"
		}
		say = append(say, "they sit now: leave them and their eggs undisturbed until the clutch is over, and do not part or move them before; "+then)
	case rears:
		say = append(say, "they may feed chicks now: do not part or move them before those are on their own")
	}
	e.Reason = strings.Join(say, "; ")
	return e
}

// notes says what the reader must know besides the pairs.
func (b *planner) notes(out *Plan) []string {
	var say []string
	add := func(format string, args ...any) { say = append(say, fmt.Sprintf(format, args...)) }
	switch {
	case !out.Known:
		add("there are no living birds")
	case out.Wanted == 0:
		add("no chicks are wanted, so the eggs of every bonded pair are replaced as they are laid; a pair that sits is left undisturbed")
	case out.Chicks < out.Wanted:
		at := "no plan within the limits has more"
		if !out.MostCertain {
			at = "no plan with more was found"
		}
		add("%s planned of %d wanted: %s", Count(out.Chicks, "chick", "chicks"), out.Wanted, at)
		add("%s", b.whyFewer())
	}
	if full := b.full(); len(full) > 0 {
		add("free places limit the plan at %s", strings.Join(full, ", "))
	}
	if unknown := b.unknownRoom(out); len(unknown) > 0 {
		add("free places are not on record for %s: the plan takes it that there is room", strings.Join(unknown, ", "))
	}
	say = append(say, b.undisturbed()...)
	if len(out.Eggs) > 0 {
		add("replace eggs as they are laid, before the pair sits in earnest, and by dummies, for a pair that only loses its eggs may lay again and again, while one that sits on dummies keeps its nest and its bond; never disturb, move or part a pair that sits or feeds chicks")
	}
	return say
}

// whyFewer says why the plan has fewer chicks than wanted.
func (b *planner) whyFewer() string {
	s := b.season
	females, males := 0, 0
	for k := range b.birds {
		switch {
		case !b.o.Whole && b.location(k) != b.o.Place:
		case k < s.Females:
			females++
		default:
			males++
		}
	}
	where := "at " + b.p.Place(b.o.Place)
	if b.o.Whole || !b.p.Book.Colony.HasLocation {
		where = "in the programme"
	}
	switch {
	case females+males == 0:
		return fmt.Sprintf("no bird %s may breed now", where)
	case females == 0 && s.Females == 0:
		return fmt.Sprintf("no female %s may breed now", where)
	case males == 0 && len(b.birds) == s.Females:
		return fmt.Sprintf("no male %s may breed now", where)
	case len(s.Options) == 0:
		return fmt.Sprintf("no two birds %s may be paired: they are bonded to birds that may not breed, too close kin, or in different places", where)
	}
	return fmt.Sprintf("%s and %s %s may breed, at most %s a pair, bonds kept as asked",
		Count(females, "female", "females"), Count(males, "male", "males"), where, Count(b.o.PerPair, "chick", "chicks"))
}

// unknownRoom returns the places of the plan's pairs whose room is not on
// record.
func (b *planner) unknownRoom(out *Plan) []string {
	if b.o.IgnoreSpaces || !b.p.Book.Colony.HasLocation {
		return nil
	}
	var unknown []string
	for _, pair := range out.Pairs {
		if slices.Contains(b.unlimited, pair.Place) && !slices.Contains(unknown, pair.Place) {
			unknown = append(unknown, pair.Place)
		}
	}
	return unknown
}

// undisturbed says which birds are not released although they were to be.
func (b *planner) undisturbed() []string {
	p := b.p
	var say []string
	add := func(format string, args ...any) { say = append(say, fmt.Sprintf(format, args...)) }
	for _, id := range b.o.Release {
		bird, _ := p.Book.Index(id)
		for _, mate := range p.keptMates(bird, b.o) {
			add("%s is to be released, but it sits on eggs or feeds chicks with %s: the pair is left undisturbed", p.Name(bird), p.Name(mate))
		}
		if len(p.Book.Mates(id)) == 0 {
			add("%s has no bond to be released from", p.Name(bird))
		}
	}
	if b.o.FreeBonds {
		for _, bird := range b.birds[:b.season.Females] {
			for _, mate := range p.keptMates(bird, b.o) {
				add("%s and %s sit on eggs or feed chicks: the pair is left undisturbed", p.Name(bird), p.Name(mate))
			}
		}
	}
	return say
}

// full returns the places whose room the plan uses up.
func (b *planner) full() []string {
	var full []string
	for _, k := range b.season.Full(b.plan) {
		full = append(full, fmt.Sprintf("%s (%d)", b.p.Place(b.places[k]), b.season.Rooms[k].Birds))
	}
	return full
}
