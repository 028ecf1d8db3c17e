package report

import (
	"fmt"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
	"pairwright/pairing/review"
	"pairwright/pairing/transfer"
	"pairwright/pedigree/studbook"
)

// PairWhy says why a pair is to be done with as it is, one reason each.
func PairWhy(p *pairing.Programme, x *review.PairReview) []string {
	say := []string{}
	for k := range x.Why {
		say = append(say, pairWhy(p, &x.Why[k]))
	}
	return say
}

func pairWhy(p *pairing.Programme, r *pairing.Reason) string {
	chicks := document.FormatThings(r.Count, "chick", "chicks")
	switch r.Code {
	case review.WorthLess:
		return "its chicks would be worth less to the programme than those of the average pair"
	case review.PlanHas:
		return "planned: up to " + chicks
	case review.PlanHasReserve:
		return "reserve: up to " + chicks + " if a planned pair fails"
	case review.PlanNeedsNone:
		return "no chick of it is needed: replace its eggs as they are laid"
	case review.PlanElsewhere:
		return "it is to live at " + p.Place(r.From) + ", whose own plan says how many chicks it hatches"
	case review.InTheWay:
		return "the programme would gain if they were parted when the season allows"
	case review.NotPreferred:
		return fmt.Sprintf("a chick would have F %s, not below the preferred %s", document.FormatKinship(r.Value), document.FormatKinship(r.Other))
	case review.FailedLately:
		return "no chick in the last " + seasonsText(r.Count) + " with an outcome on record: watch it"
	case review.NewPair:
		return "no clutch of theirs is on record: a new pair needs a season to settle"
	case review.NoClutches:
		return "no clutch of theirs is on record, so nothing is known of their success together"
	case review.NoOutcomes:
		return "none of its clutches has an outcome on record, so its success is judged by age and by the birds' other mates"
	case review.PartBetween:
		return "part them between seasons alone, never while they sit or feed chicks"
	case review.SitsNow:
		return "they sit now: leave them undisturbed until the clutch is over, but for what the eggs need"
	}
	if r.Is(pairing.PairMoves, pairing.TooLate, pairing.AnyEggCounts) {
		return planText(p, r)
	}
	if say := partingReason(p, r); say != "" {
		return say
	}
	return barredText(p, r)
}

// seasonsText counts seasons after "the last".
func seasonsText(n int) string {
	if n == 1 {
		return "season"
	}
	return document.FormatThings(n, "season", "seasons")
}

// BirdReasons says why a bird is to be done with as it is, in one line.
func BirdReasons(p *pairing.Programme, x *review.BirdReview) string { return birdReasons(p, x, x.Why) }

// birdRowReasons are the reasons in the list of birds, where the rank says how many
// relatives a bird has, and what becomes of the young stands in a list of its own too.
func birdRowReasons(p *pairing.Programme, x *review.BirdReview) string {
	if x.Standing.State == pairing.StateYoung && x.Standing.Until != 0 {
		say := "young until " + document.FormatDay(x.Standing.Until)
		if x.Young != nil {
			say += "; " + youngShort(p, x.Young)
		}
		return say
	}
	return birdReasons(p, x, slices.DeleteFunc(slices.Clone(x.Why), func(r pairing.Reason) bool {
		return r.Is(review.FewRelatives, review.ManyRelatives)
	}))
}

func birdReasons(p *pairing.Programme, x *review.BirdReview, why []pairing.Reason) string {
	var say []string
	for k := range why {
		text := birdReason(p, &why[k])
		if k > 0 && why[k-1].Is(review.PairRests, review.PairToExamine) {
			say[len(say)-1] += ": " + text
		} else {
			say = append(say, text)
		}
	}
	if x.Standing.Until != 0 && x.Action != review.StayAlone {
		say = append(say, "until "+document.FormatDay(x.Standing.Until))
	}
	if x.Young != nil {
		say = append(say, YoungText(p, x.Young))
	}
	return strings.Join(say, "; ")
}

func birdReason(p *pairing.Programme, r *pairing.Reason) string {
	mate, mateName := "", ""
	if len(r.Birds) > 1 {
		mate, mateName = r.Birds[1].ID, r.Birds[1].Named()
	}
	switch r.Code {
	case review.FewRelatives:
		return "fewer relatives than the average bird"
	case review.ManyRelatives:
		return "more relatives than the average bird"
	case review.PairPlanned:
		return "its pair with " + mate + " may hatch up to " + document.FormatThings(r.Count, "chick", "chicks")
	case review.PairInReserve:
		return "its pair with " + mate + " keeps its eggs until the planned pairs have been candled"
	case review.PairToPart:
		return "part it from " + mate + " between seasons, if keeper and coordinator agree"
	case review.PairToPartFor:
		return "with " + r.Birds[2].Named() + ", once it is parted from " + mate + " between seasons, if keeper and coordinator agree"
	case review.PairToPartAlone:
		return "its pair with " + mate + " rests; if the two are parted, it stays alone"
	case review.PairToExamine:
		return "its pair with " + mate + " is to be examined"
	case review.PairRests:
		return "its pair with " + mate + " rests"
	case review.PlannedWith:
		return "paired with " + mateName + ", at home" + heedBirds(p, r.Birds[0], r.Birds[1])
	case review.GoesTo:
		return "paired with " + mateName + ": it goes to " + p.Place(r.To) + placeHeedOf(p, r.Birds[0], r.To) + heedBirds(p, r.Birds[0], r.Birds[1])
	case review.MateComes:
		return "paired with " + mateName + ", who comes from " + p.Place(r.From) + placeHeedOf(p, r.Birds[1], r.Birds[0].Location) + heedBirds(p, r.Birds[0], r.Birds[1])
	}
	return planText(p, r)
}

// DecisionWho says whom a decision is about, and DecisionWhat what is to be done.
func DecisionWho(x *review.Decided) string {
	var names []string
	switch x.What {
	case review.MoveBird, review.PlaceYoung, review.SexBird, review.TestParent, review.RecordParent:
		return x.Birds[0].Named()
	case review.FosterEggs:
		return x.Birds[0].Named() + " and " + x.Birds[1].Named()
	case review.FindMates, review.FindFounders:
		return "The programme"
	}
	for k := 0; k+1 < len(x.Birds); k += 2 {
		if len(x.Birds) > 4 {
			names = append(names, x.Birds[k].ID+" and "+x.Birds[k+1].ID)
		} else {
			names = append(names, x.Birds[k].Named()+" and "+x.Birds[k+1].Named())
		}
	}
	return strings.Join(names, "; ")
}

// DecisionWhat says what is to be done, or which of two things.
func DecisionWhat(p *pairing.Programme, x *review.Decided) string {
	if x.Or != nil {
		return decisionWhat(x) + "; or else part " + p.Book.Birds[x.Or.Female].ID + " and " + p.Book.Birds[x.Or.Male].ID
	}
	return decisionWhat(x)
}

func decisionWhat(x *review.Decided) string {
	switch x.What {
	case review.FindMates:
		return findMates(&x.Why[0])
	case review.RenewRuling:
		return renewTask
	case review.FindFounders:
		if x.Count == 0 {
			return "ask the coordinator for another goal"
		}
		return "ask the coordinator for at least " + document.FormatThings(x.Count, "new founder", "new founders")
	case review.ReplaceEggs:
		if pairing.MakeWay(x.Why) {
			return "take their eggs away, so that they may lay again"
		}
		return "replace their eggs by dummies"
	case review.CandleEggs:
		return "candle their eggs"
	case review.SettleEggs:
		return "settle whether their eggs are to hatch, before any is taken"
	case review.FosterEggs:
		return "foster their eggs to " + x.Birds[2].Named() + " and " + x.Birds[3].Named()
	case review.MoveBird:
		return "move from " + orUnknown(x.From) + " to " + orUnknown(x.To) + ", as mate of " + x.Birds[1].Named()
	case review.BondPair:
		return "bring together as a new pair"
	case review.HatchChicks:
		return "let them hatch, up to " + document.FormatThings(x.Count, "chick", "chicks") + " together"
	case review.PartPair:
		if slices.ContainsFunc(x.Why, func(r pairing.Reason) bool { return r.Is(pairing.SaidPart) }) {
			return "part, as was agreed"
		}
		return "part, if keeper and coordinator agree"
	case review.ExaminePair:
		if sexed(x.Why) {
			return "sex both and ask the veterinarian"
		}
		return "find out with the veterinarian why they raise no chick"
	case review.SexBird:
		return "have it sexed"
	case review.PlaceYoung:
		return "move from " + orUnknown(x.From) + " to " + orUnknown(x.To) + " while young"
	}
	switch x.What {
	case review.RecordKinship:
		return recordKinship(&x.Why[0], "they", "their kinship")
	case review.RecordParent:
		return "write down its " + ParentWord(x.Parent) + ", " + x.Birds[1].Named() + " by DNA"
	}
	return "find out its " + ParentWord(x.Parent) + ", by DNA if need be"
}

// findMates says whom a programme needs in which no two birds can breed.
func findMates(why *pairing.Reason) string {
	whom := "birds that can breed"
	switch why.Code {
	case pairing.AllTooCloseKin:
		whom = "unrelated birds"
	case pairing.NoOtherBird, pairing.NoOtherSex:
		switch why.Birds[0].Sex {
		case studbook.Female:
			whom = "a male"
		case studbook.Male:
			whom = "a female"
		default:
			whom = "a mate"
		}
	}
	return "no pair can breed: ask the coordinator for " + whom
}

// recordKinship says what is to be done about two founders that DNA has found to be kin.
func recordKinship(why *pairing.Reason, they, kinship string) string {
	if why.Relation == pairing.FoundersSame {
		return "look whether " + they + " are one bird"
	}
	return "write down " + kinship + ", " + AsInFiles(why.Value)
}

// decisionBy says by when.
func decisionBy(p *pairing.Programme, x *review.Decided) string {
	switch {
	case x.Or != nil && x.By != 0 && x.By != x.Or.By:
		return document.FormatDay(x.By) + "; decide " + OrBy(p, x.Or)
	case x.Or != nil && x.By != 0:
		return document.FormatDay(x.By) + "; decide before"
	case x.AgreeBy != 0:
		return fmt.Sprintf("%s; agree by %s", document.FormatDay(x.By), document.FormatDay(x.AgreeBy))
	case x.By != 0:
		return document.FormatDay(x.By)
	case x.What == review.PartPair:
		return "between seasons"
	case x.What == review.HatchChicks:
		return "in the season"
	}
	return "now"
}

// DecisionWhy says why something is to be done, as decisionWhy, and what would speak for
// the parting that could be made instead.
func DecisionWhy(p *pairing.Programme, x *review.Decided) string {
	if x.Or == nil {
		return decisionWhy(p, x)
	}
	say := []string{decisionWhy(p, x), "parting them gains more"}
	return strings.Join(append(say, partedShort(x.Or.Reasons(p))...), "; ")
}

// OrBy says by when it is to be decided which of two things is done.
func OrBy(p *pairing.Programme, x *pairing.Undoing) string {
	if x.By == 0 {
		return decideBy(p, studbook.Date{})
	}
	return decideBy(p, x.By.Date())
}

// decisionWhy says why something is to be done: the first reason, in a dozen words
// at most, as it stands on the page that is signed; behind a semicolon what else follows, of
// two birds that are to come together why they may be kin, and on what a move depends.
func decisionWhy(p *pairing.Programme, x *review.Decided) string {
	if x.What == review.PlaceYoung && len(x.Birds) > 1 {
		return "for " + x.Birds[1].Named() + heedBirds(p, x.Birds[0], x.Birds[1])
	}
	if x.What == review.FindMates {
		return planText(p, &x.Why[0])
	}
	if x.What == review.RenewRuling {
		return unkeptText(p, x.Unkept)
	}
	if k := slices.IndexFunc(x.Why, func(r pairing.Reason) bool { return r.Is(review.InTheWay) }); x.What == review.PartPair && k == 0 {
		return strings.Join(partedShort(x.Why), "; ")
	}
	for k := range x.Why {
		if say := decisionReason(p, &x.Why[k]); say != "" {
			if x.What == review.BondPair || x.What == review.MoveBird {
				say += heedBirds(p, x.Birds[0], x.Birds[1])
			}
			if x.What == review.MoveBird {
				say += placeHeedOf(p, x.Birds[0], x.To)
			}
			return say
		}
	}
	return ""
}

// partedShort says what becomes of the birds of a bond if it is parted, by their ids.
func partedShort(why []pairing.Reason) (say []string) {
	for k := range why {
		switch r := &why[k]; r.Code {
		case pairing.PartedGets:
			say = append(say, r.Birds[0].ID+" would get "+r.Birds[1].ID)
		case pairing.PartedAlone:
			var ids []string
			for _, b := range r.Birds {
				ids = append(ids, b.ID)
			}
			say = append(say, document.FormatList(ids, 0)+" would stay alone")
		}
	}
	return say
}

func decisionReason(p *pairing.Programme, r *pairing.Reason) string {
	switch r.Code {
	case review.ForTheSeason:
		return fmt.Sprintf("%s wanted, %s expected with reserves; chance of enough %s", document.FormatCount(r.Count), document.FormatNumber(r.Value, 1), document.FormatChance(r.Other))
	case review.GoalOutOfReach:
		return "the goal of gene diversity is out of reach " + reachWhy(r.Count, r.Value)
	case review.NeverSexed:
		if r.Date.Known() {
			return fmt.Sprintf("its place for %d waits for it", r.Date.First.Time().Year())
		}
		return "no mate can be named until then"
	case review.GenesBehind:
		return document.FormatPercent(r.Value) + " of the living birds' genes come through this parent"
	case review.FoundersKin:
		if r.Relation == pairing.FoundersSame {
			return "their genotypes are those of one bird"
		}
		return string(r.Relation) + " by DNA; the studbook has no parents of either"
	case review.AheadOf:
		if r.Count >= fewPairs && r.Value >= 0.5 {
			return "worth more than " + document.FormatOfHundred(r.Value) + " in a hundred possible pairs"
		}
		return ratingText(pairing.Rating{AheadOf: r.Value, Behind: r.Other}, r.Count, "", "possible pair", "possible pairs")
	case transfer.RestsFirst:
		return restsFirst(r.Count)
	case review.InTheWay:
		return "the programme would gain if they were parted"
	case pairing.NeverFertile:
		return fmt.Sprintf("not one egg of %s was fertile", document.FormatThings(r.Count, "clutch", "clutches"))
	case pairing.FailedInfertile:
		return fmt.Sprintf("%s of %s fertile in %s", document.FormatCount(int(r.Value)), document.FormatThings(r.Of, "egg", "eggs"), document.FormatThings(r.Count, "season", "seasons"))
	case pairing.FailedFertile, pairing.FailedChicks, pairing.FailedUnseen:
		return failedText(r)
	case pairing.EggsPlanned:
		return "planned: up to " + document.FormatThings(r.Count, "chick", "chicks")
	case pairing.EggsReserve:
		return "in reserve until the planned pairs are candled"
	case pairing.EggsNeeded:
		return "in reserve, and needed: the planned eggs bring too few chicks"
	case pairing.EggsSettled:
		return fmt.Sprintf("they have sat for %s", document.FormatThings(r.Count, "day", "days"))
	case pairing.EggsInfertile:
		return "no egg is fertile"
	case pairing.EggsMakeWay:
		return "no egg is fertile; the pair may lay again by " + document.FormatDateInText(r.Date)
	case pairing.EggsFostered:
		return "the pair has failed in " + document.FormatThings(r.Count, "season", "seasons") + " in a row"
	case pairing.EggsOverTheTop:
		return fmt.Sprintf("%d fertile, %d wanted of them", r.Of, r.Count)
	case pairing.CloseKin:
		return fmt.Sprintf("too closely related: a chick would have F %s", document.FormatKinship(r.Value))
	case pairing.OnHold:
		return r.Birds[0].Named() + " is on hold for breeding"
	case review.PartBetween, review.SitsNow:
		return "" // what to heed, and no reason
	}
	return pairWhy(p, r)
}

// leftOutKinds say how the kinds of things to decide are counted, and which section of
// the review, or which command, has all of them.
var leftOutKinds = map[review.TaskKind][3]string{
	review.ReplaceEggs:   {"pair with eggs to see to", "pairs with eggs to see to", "Plan for the next season"},
	review.SettleEggs:    {"pair with eggs to see to", "pairs with eggs to see to", "Plan for the next season"},
	review.CandleEggs:    {"pair with eggs to see to", "pairs with eggs to see to", "Plan for the next season"},
	review.FosterEggs:    {"pair with eggs to see to", "pairs with eggs to see to", "Plan for the next season"},
	review.RenewRuling:   {"agreement to renew or cancel", "agreements to renew or cancel", "Transfers to ask for"},
	review.MoveBird:      {"bird to move", "birds to move", "Transfers to ask for"},
	review.BondPair:      {"new pair to bring together", "new pairs to bring together", "Pairs"},
	review.PartPair:      {"pair to part", "pairs to part", "Pairs"},
	review.ExaminePair:   {"pair to examine", "pairs to examine", "Pairs"},
	review.SexBird:       {"bird to sex", "birds to sex", "The birds"},
	review.PlaceYoung:    {"young bird to place", "young birds to place", "Plan for the next season"},
	review.TestParent:    {"parent to find out", "parents to find out", "Appendix: gaps in parentage"},
	review.RecordParent:  {"parent to find out", "parents to find out", "Appendix: gaps in parentage"},
	review.RecordKinship: {"kinship of two founders to write down", "kinships of founders to write down", "parents --founder-kin"},
}

// leftOutText names what the list of things to decide has no line for, and where it
// stands; "" where that is nothing.
func leftOutText(left []review.LeftOut) string {
	var say []string
	for _, x := range left {
		kind := leftOutKinds[x.What]
		say = append(say, fmt.Sprintf("%s: see %s", document.FormatThings(x.Count, "more "+kind[0], "more "+kind[1]), kind[2]))
	}
	if len(say) == 0 {
		return ""
	}
	return "And " + strings.Join(say, "; ")
}

// restsFirst says that a new pair hatches nothing in the season of a year, and what its
// move is for then.
func restsFirst(year int) string {
	return fmt.Sprintf("rests in %d; moved for the chicks of the seasons after", year)
}

// MissingTexts says what a review cannot say, or not surely.
func MissingTexts(r *review.Review) []string {
	say := []string{}
	if w := r.Outlook.Withheld; w != nil && w.Code != review.NobodyLives && r.Outlook.Missed == 0 {
		say = append(say, "how long the gene diversity lasts is not told: "+withheldText(w))
	}
	missing := r.Missing()
	for k := range missing {
		say = append(say, missingText(&missing[k]))
	}
	return say
}

func missingText(r *pairing.Reason) string {
	switch r.Code {
	case review.NobodyAlive:
		return "no bird of the programme is alive, so there is no gene pool to speak of"
	case review.NobodyHere:
		return "no bird lives in the colony, so all that is said is about the programme"
	case review.OneBird:
		return "the colony is one bird: it has no pair, no spread of ages and no kinship but with itself"
	case review.FewBirds:
		return fmt.Sprintf("the colony has %d birds: with so few, every share and rate is mostly chance; read the intervals, not the figures", r.Count)
	case review.NobodySexed:
		return "no bird of the colony is sexed, so no pair can be judged and no mate named"
	case review.NoFemale:
		return "the colony has no female: it can breed only with birds from elsewhere"
	case review.NoMale:
		return "the colony has no male: it can breed only with birds from elsewhere"
	case review.NoHatchDates:
		return "no bird has a hatch date: ages, survival, life tables, the history of the gene pool and the generation length cannot be told"
	case review.SomeUndated:
		return fmt.Sprintf("%s of the colony's birds have no hatch date: they are left out of ages, survival and life tables, and nothing says whether they are of breeding age", document.FormatCount(r.Count))
	case review.AllFounders:
		return "every bird on record is a founder: nothing is known of inbreeding, kinship between birds, generation length or loss of gene diversity, and all mean kinships are equal but for founder kinships given"
	case review.NoMovesFile:
		return "there is no moves.csv: birds are taken to have always lived where the studbook has them, so arrivals and departures, and the colony's own past, cannot be told"
	case review.NoBondsFile:
		return "there is no bonds.csv: no pair can be reviewed, and every bird counts as unpaired"
	case review.NoClutchesFile:
		return "there is no clutches.csv: the chance of success of every pair is the programme's setting, not its record"
	case review.NoGenerations:
		return "no chick with its parents' ages is on record, so the generation length is not known and no effective size can be told"
	case review.ProgrammesTables:
		return fmt.Sprintf("too few %s were watched in the colony for a life table of its own (fewer than %d at risk in a class that counts): the programme's stands in its place", r.Note, r.Count)
	case review.Emptied:
		return "at some time since the last review the colony or the programme had no bird: its gene diversity then counts as 0 in the causes of change"
	}
	return codeAsText(r.Code)
}

// AdvisedText says what was advised.
func AdvisedText(r *review.Result) string {
	one := r.Birds[0].Named()
	if r.Said != nil {
		return ruledText(r)
	}
	if r.What == review.MoveBird {
		return one + " to " + r.To
	}
	pair := one + " and " + r.Birds[1].Named()
	switch r.What {
	case review.BondPair:
		return "bond " + pair
	case review.HatchChicks:
		say := fmt.Sprintf("let %s hatch up to %s (%s expected)", pair, document.FormatThings(r.Most, "chick", "chicks"), document.FormatNumber(r.Expected, 2))
		if r.Reserve {
			say += " if others fail"
		}
		return say
	case review.ReplaceEggs:
		return "replace the eggs of " + pair
	}
	return codeAsText(r.What) + " " + pair
}

// BecameText says whether it was done.
func BecameText(r *review.Result) string {
	switch r.Became {
	case review.Done:
		if r.On.Known() {
			return "done, " + document.FormatDateInText(r.On)
		}
		return "done"
	case review.Prevented:
		return "a bird died or left"
	case review.Untold:
		return "not on record"
	case review.LaidNone:
		return "no clutch on record"
	}
	return string(r.Became)
}

// ResultText says what came of it; "" where that is nothing or not known.
func ResultText(r *review.Result) string {
	switch r.What {
	case review.MoveBird:
		if r.At != "" {
			return "lives at " + r.At
		}
		return ""
	case review.BondPair:
		var mates []string
		for _, b := range r.Instead {
			mates = append(mates, b.ID)
		}
		if len(mates) > 0 {
			return "bonded to " + document.FormatList(mates, 0)
		}
		return ""
	}
	switch {
	case r.Hatched < 0:
		return ""
	case r.Replaced:
		return "their eggs were replaced"
	}
	return document.FormatThings(r.Hatched, "chick", "chicks") + " hatched"
}

// calibrationText says how far the expected chicks can be trusted.
func calibrationText(l *review.LastYear) string {
	if l.Pairs == 0 {
		return "No planned pair had eggs to hatch, so nothing says how far expected chicks can be trusted."
	}
	say := fmt.Sprintf("Expected of %s were %s chicks, pairs that lay none and deaths counted in, and %s hatched. A count of %d goes with a mean of %s to %s (95%% interval, Garwood 1936): ",
		document.FormatThings(l.Pairs, "planned pair whose eggs nobody replaced", "planned pairs whose eggs nobody replaced"), document.FormatNumber(l.Expected, 1), document.FormatCount(l.Hatched),
		l.Hatched, document.FormatNumber(l.Low, 1), document.FormatNumber(l.High, 1))
	switch {
	case l.Vague():
		return say + "what was expected lies within, but half or twice as many would too: so few chicks tell little."
	case l.Trusted():
		return say + "what was expected lies within, so nothing speaks against the expectations."
	case l.Expected > l.High:
		return say + "more was expected than chance explains, so expect fewer than the plan says."
	}
	return say + "less was expected than chance explains, so expect more than the plan says."
}

// diedText says how many birds were to be expected to die, and how many did.
func diedText(d *review.Deaths) string {
	say := fmt.Sprintf("Of the %s of the programme that lived a year ago, %s were to be expected to die by the survival on record then, and %s did. A count of %d goes with a mean of %s to %s (95%% interval, Garwood 1936): ",
		document.FormatThings(d.Living, "bird", "birds"), document.FormatNumber(d.Expected, 1), document.FormatCount(d.Died), d.Died, document.FormatNumber(d.Low, 1), document.FormatNumber(d.High, 1))
	switch {
	case d.Trusted():
		return say + "what was expected lies within."
	case d.Expected < d.Low:
		return say + "more died than chance explains. Look for the cause, and expect fewer birds in a year than the plan says."
	}
	return say + "fewer died than chance explains, so expect more birds in a year than the plan says."
}
