package report

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// wordsOf is a reason being put into words.
type wordsOf struct {
	p *pairing.Programme
	r *pairing.Reason
}

// name names a bird of the reason.
func (w wordsOf) name(k int) string { return w.r.Birds[k].Named() }

// notNeeded says why a pair rests that nothing keeps from breeding.
const notNeeded = "not needed: enough chicks come from pairs that do more for the programme"

// planText says a reason of a plan. Those that rule a bird out name it.
func planText(p *pairing.Programme, r *pairing.Reason) string {
	w := wordsOf{p, r}
	switch r.Code {
	case pairing.RareGenes, pairing.PairKinship:
		text := fmt.Sprintf("their mean kinships are %s on average against %s in the programme", document.FormatKinship(r.Value), document.FormatKinship(r.Other))
		if r.Is(pairing.RareGenes) {
			return text + ": their genes are rare"
		}
		return text
	case pairing.NotNeeded:
		if r.Count == 0 {
			return "no chick is wanted of any pair"
		}
		return notNeeded
	case pairing.OthersSit:
		return "not needed: the chicks that are wanted have hatched, or are in eggs of other pairs that can no longer be taken"
	case pairing.Infertile:
		return "no egg of theirs of " + document.FormatDateInText(r.Date) + " was fertile"
	case pairing.RaisesChicks:
		return fmt.Sprintf("raises %s until about %s, and hatches no other before", document.FormatThings(r.Count, "chick", "chicks"), document.FormatDateInText(r.Date))
	case pairing.SeasonDone:
		return fmt.Sprintf("has hatched %s this season, and it is too late for others", document.FormatThings(r.Count, "chick", "chicks"))
	case pairing.EggsUntold:
		return "nobody wrote down what became of their eggs of " + document.FormatDateInText(r.Date) + ": not planned on before"
	case pairing.OtherPlans, pairing.OtherReserves:
		return otherPlanText(p, r)
	case pairing.LaysAgain:
		return "no egg of theirs of " + document.FormatDateInText(r.Date) + " was fertile: they keep their place if they lay again"
	case pairing.SecondClutch:
		return "no egg of theirs of " + document.FormatDateInText(r.Date) + " was fertile: those laid since have their place"
	case pairing.ChickOf:
		if r.Value == 0 {
			return "no common ancestor on record"
		}
		return fmt.Sprintf("a chick would have F %s", document.FormatKinship(r.Value))
	case pairing.PairMoves:
		return fmt.Sprintf("%s moves from %s to %s", w.name(0), orUnknown(r.From), r.To) + placeHeedOf(p, r.Birds[0], r.To)
	case pairing.NoRoomToHatch:
		if r.Count == 0 {
			return "there is no room for a chick at " + r.To
		}
		return fmt.Sprintf("the room for %s at %s goes to other pairs", document.FormatThings(r.Count, "chick", "chicks"), r.To)
	case pairing.AnyEggCounts:
		return w.name(0) + " is past the usual age and the last that holds its line: any egg counts, let it hatch; none is counted on"
	case pairing.FailedInfertile, pairing.FailedFertile, pairing.FailedChicks, pairing.FailedUnseen:
		return failedText(r) + ": not planned on; " + lookText(r)
	case pairing.NeverFertile:
		return fmt.Sprintf("not one egg of %s was fertile: sex both birds and ask the veterinarian; replace no egg of theirs before", document.FormatThings(r.Count, "clutch", "clutches"))
	case pairing.NoOtherBird:
		if r.Count > 0 {
			return "no other bird can breed any more"
		}
		return "there is no other bird"
	case pairing.NoOtherSex:
		other := otherSex(r.Birds[0].Sex)
		if r.Count > 0 {
			return "no " + other + " can breed any more"
		}
		return "there is no " + other
	case pairing.NoneOfSexFree:
		return "no " + otherSex(r.Birds[0].Sex) + " is free for the season"
	case pairing.AllPast:
		return "every bird is past breeding"
	case pairing.AllTooCloseKin:
		return fmt.Sprintf("all that could be a pair are too closely related: a chick would have F %s or more, and the limit is %s", document.FormatKinship(r.Value), document.FormatKinship(r.Other))
	case pairing.NoMateLeft:
		return "no free bird is within the limit of kinship and can come together with it"
	case pairing.NoGain:
		return "with any free bird a chick would do no more for the programme than the average pair's"
	case pairing.OthersNeed:
		if len(r.Birds) > 1 {
			return "the best mate left for it, " + w.name(0) + ", does more for the programme with " + w.name(1)
		}
		return "the best mate left for it is " + w.name(0) + ", but the programme would gain too little by the two for a new bond"
	case pairing.WaitsFor:
		return waitsText(w)
	case pairing.NotWorthMove:
		text := fmt.Sprintf("no good mate at home; %s at %s would gain too little for a move", w.name(0), orUnknown(r.To))
		if r.Of >= 0 {
			text += ", or more birds would have to move than may"
		}
		return text
	case pairing.NoRoom:
		return fmt.Sprintf("no good mate at home; %s would be one, but there is no free place at %s", w.name(0), orUnknown(r.To))
	}
	if say := cmp.Or(partingReason(p, r), besideText(r)); say != "" {
		return say
	}
	if say := eggsReason(p, r); say != "" {
		return say
	}
	return ReasonText(p, r)
}

// otherSex names the sex that a mate must have.
func otherSex(sex studbook.Sex) string {
	if sex == studbook.Female {
		return studbook.Male.Word()
	}
	return studbook.Female.Word()
}

// failedText says at which stage the seasons of a pair failed.
func failedText(r *pairing.Reason) string {
	seasons := "in " + document.FormatThings(r.Count, "season", "seasons") + " in a row"
	fertile := document.FormatCount(int(r.Value)) + " of " + document.FormatThings(r.Of, "egg", "eggs")
	switch r.Code {
	case pairing.FailedInfertile:
		return "no chick hatched " + seasons + "; " + fertile + " were fertile"
	case pairing.FailedFertile:
		return "no chick hatched " + seasons + "; " + fertile + " were fertile"
	case pairing.FailedChicks:
		return document.FormatThings(int(r.Other), "chick", "chicks") + " hatched " + seasons + " and none fledged"
	case pairing.FailedUnseen:
		return "no chick " + seasons + ", and nobody wrote down whether an egg was fertile"
	}
	return codeAsText(r.Code)
}

// lookText says what to look at where a pair has failed. A pair whose eggs are all replaced
// can show nothing.
func lookText(r *pairing.Reason) string {
	switch r.Code {
	case pairing.NeverFertile, pairing.FailedInfertile:
		return "sex both birds and ask the veterinarian; replace no egg of theirs before it is candled"
	case pairing.FailedFertile:
		return "ask the veterinarian to open eggs that died, and look at nest and incubation; eggs that are replaced show nothing"
	case pairing.FailedChicks:
		return "ask the veterinarian to examine chicks that die, and look at nest and rearing; a nest with dummies shows nothing"
	}
	return "candle their eggs, write down what that shows, and ask the veterinarian; replace none before"
}

// partingReason says what follows if two birds are parted, "" for a reason of anything
// else.
func partingReason(p *pairing.Programme, r *pairing.Reason) string {
	switch r.Code {
	case pairing.PartInstead:
		return "could be parted instead of " + r.Birds[0].Named() + " and " + r.Birds[1].Named() + ", not besides them"
	case pairing.PartUnweighed:
		return "what follows was not worked out, as worse bonds stand in the way"
	case pairing.PartNot:
		return "parting them would gain too little, with all birds placed anew"
	case pairing.PartedGets, pairing.OthersGet:
		text := r.Birds[0].Named() + " would get " + r.Birds[1].Named()
		if len(r.Birds) > 2 {
			text += fmt.Sprintf(" (%s would move from %s to %s)", r.Birds[2].ID, orUnknown(r.From), r.To)
		}
		return text
	case pairing.PartedAlone:
		var names []string
		for _, b := range r.Birds {
			names = append(names, b.Named())
		}
		return document.FormatList(names, 0) + " would stay alone"
	case pairing.MoveFalls:
		return fmt.Sprintf("%s would not move from %s to %s", r.Birds[0].Named(), orUnknown(r.From), r.To)
	case pairing.PairFalls:
		return r.Birds[0].Named() + " and " + r.Birds[1].Named() + " would not be brought together"
	case pairing.DecideFirst:
		return "decide " + decideBy(p, r.Date)
	case pairing.UndoneBy:
		return "not if " + r.Birds[0].ID + " and " + r.Birds[1].ID + " are parted: decide which " + decideBy(p, r.Date)
	}
	return ""
}

// decideBy says by when one of two things that exclude each other is to be chosen.
func decideBy(p *pairing.Programme, by studbook.Date) string {
	switch {
	case !by.Known():
		return "first"
	case by.First <= p.Book.AsOf:
		return "now"
	}
	return "by " + document.FormatDay(by.First)
}

// partingText says what follows if two birds are parted.
func partingText(p *pairing.Programme, x *pairing.Obstacle) string {
	var say []string
	for _, r := range x.Reasons(p) {
		say = append(say, partingReason(p, &r))
	}
	return strings.Join(say, "; ")
}

// partTwo says what becomes of the two of a pair if they are parted, in few words.
func partTwo(p *pairing.Programme, x *pairing.Obstacle) string {
	var say []string
	for _, b := range [2]int{x.Female, x.Male} {
		if mate, gets := x.Then.MateOf(b); gets {
			say = append(say, p.Name(b)+" gets "+p.Name(mate))
		} else {
			say = append(say, p.Name(b)+" stays alone")
		}
	}
	return strings.Join(say, ", ")
}

// eggsReason says why eggs are treated so, "" for a reason of anything else.
func eggsReason(p *pairing.Programme, r *pairing.Reason) string {
	w := wordsOf{p, r}
	switch r.Code {
	case pairing.EggsPlanned:
		if r.Of > r.Count && r.Count > 0 {
			return fmt.Sprintf("planned: up to %s may hatch, of %s", document.FormatThings(r.Count, "chick", "chicks"), document.FormatThings(r.Of, "egg", "eggs"))
		}
		return "planned: let them hatch"
	case pairing.EggsReserve:
		when := "have been candled, " + document.FormatDateInText(r.Date)
		if !r.Date.Known() {
			when = "have laid and been candled"
		}
		return "reserve: keep the eggs until the planned pairs " + when + "; then they stay if the planned eggs bring too few chicks, else replace them"
	case pairing.EggsNeeded:
		return fmt.Sprintf("reserve, and needed: the eggs of the planned pairs bring %s of the %s wanted on average, so let these hatch",
			document.FormatNumber(r.Value, 1), document.FormatThings(r.Count, "chick", "chicks"))
	case pairing.EggsNotWanted:
		return "other pairs hatch the chicks that are wanted"
	case pairing.EggsSettled:
		return fmt.Sprintf("they have sat for %s: no egg is taken from under a pair after %s", document.FormatThings(r.Count, "day", "days"), document.FormatThings(r.Of, "day", "days"))
	case pairing.EggsInfertile:
		return "no egg is fertile: put dummies under them, or an egg of another pair"
	case pairing.EggsClear:
		return "none is fertile: let them sit until they leave the eggs, and keep an egg for the veterinarian"
	case pairing.EggsMakeWay:
		return "no egg is fertile: take them away and put nothing in their place, so that the pair may lay again by " + document.FormatDateInText(r.Date)
	case pairing.EggsBarred:
		return "the pair should hatch nothing"
	case pairing.EggsFostered:
		return fmt.Sprintf("the pair has failed in %s in a row; %s and %s sit on eggs that will not hatch", document.FormatThings(r.Count, "season", "seasons"), w.name(2), w.name(3))
	case pairing.EggsTaken:
		return fmt.Sprintf("the eggs of %s and %s come under them", w.name(2), w.name(3))
	case pairing.EggsOverTheTop:
		return fmt.Sprintf("%s are fertile and %s wanted of them: replace the others", document.FormatCount(r.Of), document.FormatCount(r.Count))
	case pairing.EggsUncandled:
		if r.Date.Last < p.Book.AsOf {
			return "candling was due on " + document.FormatDateInText(r.Date) + " and is not on record: candle them now"
		}
		return "candle them on " + document.FormatDateInText(r.Date)
	}
	return ""
}

// waitsText says for whom a bird waits.
func waitsText(w wordsOf) string {
	p, r := w.p, w.r
	if len(r.Birds) < 2 {
		return "no good mate can be with it in time, and the best pairs for the season after leave it without one"
	}
	where, old := "at home", ""
	if r.To != r.Birds[0].Location {
		where = "at " + p.Place(r.To)
	}
	if r.Of > 0 {
		old = " and then old enough"
	}
	return fmt.Sprintf("no good mate can be with it in time; for the season of %d the best mate is %s, %s%s", r.Count, w.name(1), where, old)
}

// barredText says why a pair should hatch nothing; a reason of one bird names it.
func barredText(p *pairing.Programme, r *pairing.Reason) string {
	text := planText(p, r)
	if len(r.Birds) == 1 {
		return wordsOf{p, r}.name(0) + ": " + text
	}
	return text
}

// PlannedReasons says what a plan says of a pair.
func PlannedReasons(p *pairing.Programme, x *pairing.PlannedPair) []string {
	say := []string{}
	for k := range x.Barred {
		say = append(say, barredText(p, &x.Barred[k]))
	}
	for k := range x.Reasons {
		say = append(say, planText(p, &x.Reasons[k]))
	}
	if x.UndoneBy != nil {
		say = append(say, undoneText(p, x.UndoneBy))
	}
	return say
}

// eggAdvice says what to do with a clutch, beside whose it is.
func eggAdvice(p *pairing.Programme, x *pairing.Eggs) string {
	switch {
	case x.Advice == pairing.FosterEggs:
		return "foster to " + p.Name(x.To[0]) + " and " + p.Name(x.To[1])
	case x.TakenAway():
		return "take away"
	}
	return string(x.Advice)
}

// EggReason says why a clutch is treated so.
func EggReason(p *pairing.Programme, x *pairing.Eggs) string {
	var say []string
	for k := range x.Reasons {
		say = append(say, barredText(p, &x.Reasons[k]))
	}
	return strings.Join(say, "; ")
}

// AloneText says why the decision leaves a bird alone.
func AloneText(p *pairing.Programme, x *pairing.Alone) string {
	return aloneText(p, &x.Reason, x.Beside)
}

func aloneText(p *pairing.Programme, why *pairing.Reason, beside []pairing.Reason) string {
	text := planText(p, why)
	for k := range beside {
		text += "; " + planText(p, &beside[k])
	}
	return text
}

// besideText says what else is to be known of a bird that stays alone, "" for a reason of
// anything else.
func besideText(r *pairing.Reason) string {
	var names []string
	for _, b := range r.Birds {
		names = append(names, b.Named())
	}
	switch r.Code {
	case pairing.ComesForIt:
		if r.To == r.Birds[0].Location {
			return names[0] + ", still young, would be its mate from " + document.FormatDateInText(r.Date)
		}
		return names[0] + ", still young, is to come for it by " + document.FormatDateInText(r.Date)
	case pairing.Company:
		return "may pair for company with " + orList(names) + ", every egg replaced"
	case pairing.NoCompany:
		return "keep it from pairing with " + orList(names) + ", who may be too close kin"
	}
	return ""
}

// orList lists names of which one is meant.
func orList(names []string) string {
	if n := len(names); n > 1 {
		return strings.Join(names[:n-1], ", ") + " or " + names[n-1]
	}
	return strings.Join(names, "")
}

// mayBreedFrom says from when on a young bird may breed: the first day of the season, or the
// year alone where no laying months are set for one to begin with.
func mayBreedFrom(p *pairing.Programme, x *pairing.Young) string {
	if len(p.Settings().LayingMonths) == 0 {
		return strconv.Itoa(x.When.Time().Year())
	}
	return document.FormatDay(x.When)
}

// seasonOfYoung says for which season a young bird is placed.
func seasonOfYoung(p *pairing.Programme, x *pairing.Young) string {
	if len(p.Settings().LayingMonths) == 0 {
		return "for the seasons from " + mayBreedFrom(p, x) + " on"
	}
	return "for the season that begins on " + mayBreedFrom(p, x)
}

// YoungText says what becomes of a young bird.
func YoungText(p *pairing.Programme, x *pairing.Young) string {
	when := seasonOfYoung(p, x)
	switch {
	case x.SexUnknown:
		return "sex it before it can be placed " + when
	case x.Leaves() && x.Mate < 0:
		return "goes to " + p.Place(x.To) + leavesBy(x) + ", as was agreed, " + when
	case x.Leaves():
		return "should go to " + p.Place(x.To) + leavesBy(x) + " " + when + ", where " + p.Name(x.Mate) + " would be its mate" + heed(p, x.Bird, x.Mate) + anewHeed(x)
	case x.Mate < 0:
		return "stays: no mate needs it elsewhere " + when
	}
	return "stays: " + p.Name(x.Mate) + " would be its mate " + when + heed(p, x.Bird, x.Mate) + anewHeed(x)
}

// anewHeed says that what is advised for a young bird stands for now; "" where it is to be
// followed as it is.
func anewHeed(x *pairing.Young) string {
	if x.Anew == 0 {
		return ""
	}
	return "; for now: it is decided anew from " + document.FormatDay(x.Anew) + " on"
}

// leavesBy says by when a young bird is to leave, "" where no day is known.
func leavesBy(x *pairing.Young) string {
	if x.Timing.Latest == 0 {
		return ""
	}
	return " by " + document.FormatDay(x.Timing.Latest)
}

// youngRowText is YoungText where it stands beside where the bird should be, and by when.
func youngRowText(p *pairing.Programme, x *pairing.Young) string {
	switch {
	case x.SexUnknown:
		return "sex it before it can be placed"
	case x.Leaves() && x.Mate < 0:
		return "goes as was agreed"
	case x.Leaves():
		return p.Name(x.Mate) + " would be its mate there" + heed(p, x.Bird, x.Mate) + anewHeed(x)
	case x.Mate < 0:
		return "stays: no mate needs it elsewhere"
	}
	return "stays: " + p.Name(x.Mate) + " would be its mate" + heed(p, x.Bird, x.Mate) + anewHeed(x)
}

// PlanWarnings says what a reader of a plan must know besides its figures.
func PlanWarnings(p *pairing.Programme, plan *pairing.Plan) []string {
	warnings := []string{}
	if plan.Shortfall > 0 {
		warnings = append(warnings, fmt.Sprintf("the chicks to be expected are %s short of those wanted: %s", howShort(plan), whyShort(p, plan)))
	}
	if !p.WorthKnown() {
		warnings = append(warnings, "survival is neither on record nor set, so every living bird counts alike, whatever its age")
	}
	warnings = append(warnings, notMet(p, plan.Decision)...)
	return append(warnings, Assumptions(p, planSettings...)...)
}

// notMet tells what people agreed on and the decision cannot have, and why.
func notMet(p *pairing.Programme, d *pairing.Decision) []string {
	var out []string
	for _, w := range d.Rulings() {
		r := &w.Why
		if w.Standing != pairing.RulingStopped || r.Code == pairing.OffSeason {
			continue
		}
		var names []string
		for _, b := range w.Birds {
			names = append(names, p.Name(b))
		}
		out = append(out, fmt.Sprintf("agreed on %s, and not in the plan: %s – %s", saidBy(&pairing.Reason{Date: w.Date, By: w.By}), rulingText(names, w.Ruling), whyNot(p, r)))
	}
	return out
}

// whyNot says why something that was agreed on cannot be carried out.
func whyNot(p *pairing.Programme, r *pairing.Reason) string {
	switch r.Code {
	case pairing.Overruled, pairing.BondFirst, pairing.NotAMate, pairing.NoMeeting:
		return saidText(r)
	case pairing.OnNest:
		return onNestText(r)
	}
	return barredText(p, r)
}
