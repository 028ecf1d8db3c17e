package report

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
	"pairwright/pairing/transfer"
	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook"
)

// Reasons says what reasons say, one each.
func Reasons(p *pairing.Programme, reasons []pairing.Reason) []string {
	say := []string{}
	for k := range reasons {
		say = append(say, ReasonText(p, &reasons[k]))
	}
	return say
}

// ageText says the age of a reason, and on which day if that is still to come.
func ageText(r *pairing.Reason) string {
	if r.Date.Known() {
		return yearsText(r.Value) + " old on " + document.FormatDay(r.Date.First)
	}
	return yearsText(r.Value) + " old"
}

// ReasonText says a reason of the engine: of the first bird that it is about,
// which the text does not name.
func ReasonText(p *pairing.Programme, r *pairing.Reason) string {
	if say := cmp.Or(ruledOutReason(r), pairReason(r), moveReason(p, r), doubtReason(r)); say != "" {
		return say
	}
	return saidText(r)
}

// ruledOutReason says why a bird is ruled out as a mate, "" for another reason.
func ruledOutReason(r *pairing.Reason) string {
	switch r.Code {
	case pairing.Dead:
		return "died " + document.FormatDateInText(r.Date)
	case pairing.Gone:
		return "is not in the programme on that day"
	case pairing.SameSex:
		return "is " + r.Birds[0].Sex.Word() + " too"
	case pairing.SexUnknown:
		return "its sex is not known"
	case pairing.TooYoung:
		return ageText(r) + "; breeding begins at " + yearsText(r.Other)
	case pairing.TooOld:
		return ageText(r) + "; breeding ends at " + yearsText(r.Other)
	case pairing.OnHold:
		return onHold("breeding", r)
	case pairing.CloseKin:
		return fmt.Sprintf("too closely related: a chick would have F %s, the limit is %s", document.FormatKinship(r.Value), document.FormatKinship(r.Other))
	case pairing.IsParent, pairing.AreKin:
		return byDNA(r)
	case pairing.Bonded:
		return "is bonded to " + r.Birds[1].ID
	case pairing.Elsewhere:
		return "lives at " + r.From + "; only birds at home were asked for"
	}
	return ""
}

// fewPairs is below how many pairs so many in a hundred of them say less than their number.
const fewPairs = 100

// ratingText says how a pair compares with all that could be: what it is ahead of, where that
// is most of many; else how many are better, for equals say nothing against it.
func ratingText(r pairing.Rating, pairs int, whose, one, many string) string {
	all := strings.TrimSpace(whose + " " + document.FormatThings(pairs, one, many))
	worse, better := int(math.Round(r.AheadOf*float64(pairs))), int(math.Round(r.Behind*float64(pairs)))
	equal := max(0, pairs-worse-better-1)
	as := ""
	switch {
	case pairs >= fewPairs && r.AheadOf >= 0.5:
		return fmt.Sprintf("ahead of %s in a hundred of %s", document.FormatOfHundred(r.AheadOf), all)
	case equal == 1:
		as = ", 1 is as good"
	case equal > 1:
		as = ", " + document.FormatCount(equal) + " are as good"
	}
	switch {
	case pairs <= 1:
		return "there is no other pair"
	case better == 0 && equal == 0:
		return "the best of " + all
	case better == 0:
		return "none of " + all + " is better" + as
	case better == 1:
		return "1 of " + all + " is better" + as
	}
	return document.FormatCount(better) + " of " + all + " are better" + as
}

// pairReason says what a pair would do and what is known of the two, "" for another
// reason.
func pairReason(r *pairing.Reason) string {
	switch r.Code {
	case pairing.AheadOfPairs:
		return ratingText(pairing.Rating{AheadOf: r.Value, Behind: r.Other}, r.Count, "the programme's", "pair that might breed", "pairs that might breed")
	case pairing.ChickAlike:
		return "a chick of any pair of the programme would do the same for its gene diversity, or there is no other pair"
	case pairing.NotWhile:
		return fmt.Sprintf("not while the two have other mates: those whose chicks have F below %s, and that are no kin in doubt, come first", document.FormatKinship(r.Other))
	case pairing.Otherwise:
		if len(r.Birds) > 1 {
			return "would otherwise be paired with " + r.Birds[1].ID
		}
		return "would otherwise be without a mate"
	case pairing.NotKin:
		return "no common ancestor on record: a chick would not be inbred"
	case pairing.Inbred:
		return fmt.Sprintf("%s: a chick would have F %s, %s; that lowers its chance to survive by %s", kinOf(r.Kin, r.Birds[1].ID), document.FormatKinship(r.Value), kinLevel(r.Value), document.FormatPercent(r.Other))
	case pairing.MeanKinships:
		return fmt.Sprintf("its mean kinship %s is number %s of %s living birds (1 has the fewest relatives)", document.FormatMeanKinship(r.Value), document.FormatCount(r.Count), document.FormatCount(r.Of))
	case pairing.RareToCommon:
		return fmt.Sprintf("the two birds' mean kinships differ by %s: the rarer one's genes would be tied to common ones", document.FormatMeanKinship(r.Value))
	case pairing.RecordTogether:
		own := r.Records[0]
		return fmt.Sprintf("the pair fledged chicks from %d of %s together: chance of success %s", own.Fledged, clutches(own.Clutches), document.FormatProbability(r.Value))
	case pairing.RecordsApart:
		return fmt.Sprintf("with other mates %s, and %s: chance of success %s",
			recordText("the female", r.Records[0]), recordText("the male", r.Records[1]), document.FormatProbability(r.Value))
	case pairing.NoRecord:
		return "neither bird has a clutch with an outcome on record; at their ages the chance of success is " + document.FormatProbability(r.Value)
	case pairing.NeverFertile:
		return fmt.Sprintf("%s of theirs were candled and not one egg was fertile: sex both birds, and ask the veterinarian", clutches(r.Count))
	case pairing.AgeVague:
		return "its age is known only to about " + yearsText(r.Value) + " either way"
	case pairing.AgeUnknown:
		return "its age is not known, so nobody can say whether it is of breeding age"
	case pairing.TheirBond:
		return "the two are bonded"
	case pairing.StayTogether:
		return "the two are bonded and stay together; were both free, the programme would gain nothing by pairing them anew, which is no reason to part them: whether they hatch chicks, the season's plan says"
	case pairing.OtherBond:
		return "is bonded to " + r.Birds[1].ID + ": that bond would have to be broken"
	case pairing.BondToEnd:
		return "is bonded to " + r.Birds[1].ID + ", from whom it is to be parted: agreed on " + saidBy(r)
	case pairing.FormerBond:
		return "the two were bonded before"
	}
	return ""
}

// moveReason says where a mate is and when the two can be together, "" for another
// reason.
func moveReason(p *pairing.Programme, r *pairing.Reason) string {
	switch r.Code {
	case pairing.AtHome:
		return "lives in the same place: no move"
	case pairing.Away:
		return fmt.Sprintf("lives at %s, %s km away: one of the two must move", p.Place(r.From), document.FormatKm(r.Value))
	case pairing.AwayUnplaced:
		return "lives at " + p.Place(r.From) + ": one of the two must move"
	case pairing.TooLate:
		return fmt.Sprintf("the move leaves no time for the coming season: the two would be together for that of %d", r.Count)
	case pairing.WaitsFor:
		w := wordsOf{p, r}
		return w.name(0) + " waits: " + waitsText(w)
	case pairing.PairedInTime:
		w := wordsOf{p, r}
		return w.name(0) + " is paired in time for the coming season, with " + w.name(1)
	case pairing.HeldHere:
		return r.Birds[0].ID + " is " + onHold("moving", r)
	case pairing.CannotMove:
		return "neither of the two may be moved, so they cannot come together"
	}
	return ""
}

// doubtReason says what is not sure of a pair, "" for another reason.
func doubtReason(r *pairing.Reason) string {
	switch r.Code {
	case pairing.AncestryUnsure:
		return "only " + document.FormatChance(r.Value) + " of its ancestry is known, so it may be closer kin than the figures say"
	case pairing.RankConfidence:
		return fmt.Sprintf("the best mate in %s of %d possible pedigrees, among the first three in %s", document.FormatChance(r.Value), r.Count, document.FormatChance(r.Other))
	case pairing.MateMayBeParent:
		return fmt.Sprintf("%s may be the %s of %s%s: have both tested before they breed", r.Birds[1].ID, ParentWord(r.Birds[1].Sex), r.Birds[0].ID, named(r.Value))
	case pairing.KinMayBeParent:
		return fmt.Sprintf("the %s of %s may be %s, %s%s: have both tested before they breed",
			ParentWord(r.Birds[1].Sex), r.Birds[0].ID, r.Birds[1].ID, kinOf(r.Kin, r.Birds[2].ID), named(r.Value))
	case pairing.KinIsParent:
		return fmt.Sprintf("%s, %s: their kinship is higher than it says here until that is written down", byDNA(r), kinOf(r.Kin, r.Birds[2].ID))
	case pairing.KinByFounders:
		return byDNA(r) + ", above what is preferred, " + document.FormatKinship(r.Other)
	case pairing.OlderThanAny:
		return fmt.Sprintf("%s, %s old, may be past breeding: no %s on record had chicks beyond %s", r.Birds[0].ID,
			document.FormatThings(int(r.Value), "year", "years"), r.Birds[0].Sex.Word(), yearsText(math.Round(r.Other)))
	case pairing.SeemsPaired:
		return seemsPaired(r)
	case pairing.MayBeSiblings:
		apart := "on the same day"
		if r.Count > 0 {
			apart = document.FormatThings(r.Count, "day", "days") + " apart"
		}
		return fmt.Sprintf("%s and %s hatched at one place %s, and nobody knows their parents: they may be full siblings; have both tested before they breed", r.Birds[0].ID, r.Birds[1].ID, apart)
	}
	return ""
}

// heed is what goes with every word that two birds are to come together: why they may be
// closer kin than the pedigree says, or have a mate already. "" where nothing is in doubt.
func heed(p *pairing.Programme, a, b int) string {
	why := p.Heed(a, b)
	if len(why) == 0 {
		return ""
	}
	return "; but " + strings.Join(Reasons(p, why), "; ")
}

// seemsPaired says that a bird that counts as free may be none.
func seemsPaired(r *pairing.Reason) string {
	return fmt.Sprintf("%s seems to be paired with %s, the other parent of its last chick, and counts as free only because no bond of theirs is on record", r.Birds[0].ID, r.Birds[1].ID)
}

// seemPairedMost is how many pairs without a bond on record an answer names.
const seemPairedMost = 3

// seemPairedText names the pairs that seem to be there without a bond on record, as a
// sentence to stand behind others; "" if there are none.
func seemPairedText(p *pairing.Programme) string {
	pairs := p.SeemPaired()
	if len(pairs) == 0 {
		return ""
	}
	var names []string
	for _, x := range pairs {
		names = append(names, p.Name(x[0])+" with "+p.Name(x[1]))
	}
	return fmt.Sprintf(" %s to be together, as their last chicks are of each other, and no bond of theirs is on record, so that their birds count as free here: %s. Write down the bonds of those that are pairs.",
		Capital(document.FormatThings(len(pairs), "pair seems", "pairs seem")), document.FormatList(names, seemPairedMost))
}

// seemsPairedHeed is what goes with the word that a bird stays without a mate.
func seemsPairedHeed(p *pairing.Programme, b int) string {
	why, is := p.SeemsPairedWith(b)
	if !is {
		return ""
	}
	return "; but " + seemsPaired(&why)
}

// bondHeed is heed of a pair that the season's decision forms.
func bondHeed(p *pairing.Programme, x *pairing.Bond) string {
	if x.Kind != pairing.BondNew {
		return ""
	}
	return pairHeed(p, x) + undoneHeed(p, x.UndoneBy)
}

// pairHeed is bondHeed but for what another parting would undo.
func pairHeed(p *pairing.Programme, x *pairing.Bond) string {
	if x.Kind != pairing.BondNew {
		return ""
	}
	text := heed(p, x.Female, x.Male)
	if m := x.Move; m != nil {
		return placeHeed(p, m.Bird, m.To) + text
	}
	return text
}

// placeHeed says of a bird that the decision sends to an institution that it may go only
// when a place is free there; "" where one is, or nobody knows.
func placeHeed(p *pairing.Programme, b int, to string) string {
	return placeHeedOf(p, &p.Book.Birds[b], to)
}

// placeHeedOf is placeHeed of a bird of the snapshot.
func placeHeedOf(p *pairing.Programme, b *studbook.Bird, to string) string {
	if p.FreePlaces(to, b.Sex) != 0 {
		return ""
	}
	return fmt.Sprintf("; only when a place for a %s is free at %s", b.Sex.Word(), to)
}

// MoveHeed says on what a move of the decision depends; "" where it is made in any case.
func MoveHeed(p *pairing.Programme, m *transfer.Listed) string {
	return Capital(strings.TrimPrefix(moveHeed(p, m), "; "))
}

// moveHeed is MoveHeed behind something else that is said of the move.
func moveHeed(p *pairing.Programme, m *transfer.Listed) string {
	text := ""
	if m.Young == nil {
		text = placeHeed(p, m.Mover(), m.Moves[0].To)
	}
	return text + undoneHeed(p, m.UndoneBy)
}

// undoneText says after whose parting a new pair would not be formed, and by when it is to
// be decided which of the two is done.
func undoneText(p *pairing.Programme, x *pairing.Undoing) string {
	r := x.Reason(p)
	return partingReason(p, &r)
}

// undoneHeed is undoneText behind something else that is said of the pair; "" where it is
// formed in any case.
func undoneHeed(p *pairing.Programme, x *pairing.Undoing) string {
	if x == nil {
		return ""
	}
	return "; " + undoneText(p, x)
}

// heedBirds is heed of two of the birds of the snapshot.
func heedBirds(p *pairing.Programme, a, b *studbook.Bird) string {
	i, _ := p.Book.Index(a.ID)
	j, _ := p.Book.Index(b.ID)
	return heed(p, i, j)
}

// byDNA says what kin DNA has found two birds to be.
func byDNA(r *pairing.Reason) string {
	if r.Code == pairing.AreKin || r.Code == pairing.KinByFounders {
		who := "founders are kin that are not on record as such"
		if r.Relation != "" {
			who = fmt.Sprintf("%s and %s are %s", r.Birds[0].ID, r.Birds[1].ID, r.Relation)
		}
		return fmt.Sprintf("by DNA %s: with that written down a chick would have F %s", who, document.FormatKinship(r.Value))
	}
	return fmt.Sprintf("by DNA the %s of %s is %s", ParentWord(r.Birds[1].Sex), r.Birds[0].ID, r.Birds[1].ID)
}

// named says how a parent came to be thought of.
func named(weight float64) string {
	if weight > 0 {
		return ", as the studbook says with a chance of " + document.FormatChance(weight)
	}
	return ", as it was there and of age"
}

func onHold(what string, r *pairing.Reason) string {
	text := "on hold for " + what + ": " + r.Note
	if r.Date.Known() {
		text += ", until " + document.FormatDateInText(r.Date)
	}
	return text
}

func clutches(n int) string { return document.FormatThings(n, "clutch", "clutches") }

func recordText(who string, r pairing.Record) string {
	if r.Clutches == 0 {
		return who + " has no clutch with an outcome on record"
	}
	return fmt.Sprintf("%s fledged chicks from %d of %s", who, r.Fledged, clutches(r.Clutches))
}

// yearsText is an age as a person says it.
func yearsText(age float64) string {
	said := strings.TrimSuffix(document.FormatNumber(age, 1), ".0")
	if said == "1" {
		return "1 year"
	}
	return said + " years"
}

// NeedText says why a season needs so many chicks.
func NeedText(n pairing.NeedReason) string {
	living := document.FormatThings(n.Need.Living, "living bird", "living birds")
	if n.Code == pairing.SurvivalUnknown {
		why := "too little is on record to say how many birds live another year"
		if n.Need.Deaths == 0 {
			why = "no death of a grown bird is on record, so nobody can say how many live another year"
		}
		return fmt.Sprintf("%s: one chick for %s", why, document.FormatThings(n.PerChick, "living bird", "living birds"))
	}
	if n.Need.Aside > 0 {
		living += " besides the chicks of this season"
	}
	aim := fmt.Sprintf("to hold the level of %s", living)
	if n.Goal > 0 {
		aim = fmt.Sprintf("to come from %s to the %s of the goal in %d years, %s in the first", living, document.FormatCount(n.Goal), n.Years, document.FormatCount(n.Need.Target))
	}
	if n.Code == pairing.SurvivalSet {
		return aim + ": by the survival that programme.toml sets, as too few deaths are on record" + roundedText(n)
	}
	whose := "the programme's"
	if n.Colony {
		whose = "the colony's"
	}
	text := fmt.Sprintf("%s: by %s survival of the last %d years %s of them are likely to live through the year from %s", aim, whose, pairing.RecentYears, document.FormatNumber(n.Need.Expected.Value, 1), document.FormatDay(n.Need.From))
	if r := n.Need.Reached; r.Of > 0 {
		text += fmt.Sprintf(", and %s of %s lived to %s", document.FormatCount(r.Count), document.FormatThings(r.Of, "chick", "chicks"), youngAge(n.Need.Age))
	}
	return text + roundedText(n)
}

// roundedText says why a place that needs next to no chick has one.
func roundedText(n pairing.NeedReason) string {
	if !n.Rounded {
		return ""
	}
	return "; that is next to none here, but the small colonies of the programme together need a chick, and it falls to this one"
}

// youngAge writes an age of up to a year.
func youngAge(years float64) string {
	months := int(math.Round(12 * years))
	switch {
	case months >= 12:
		return "a year"
	case months > 0:
		return document.FormatThings(months, "month", "months")
	}
	return document.FormatThings(int(math.Round(studbook.DaysPerYear*years)), "day", "days")
}

// agesText says the breeding ages of a sex and where they come from: "females
// breed from 2 years to 22 years, from programme.toml".
func agesText(who string, a demography.BreedingAges) (range_, source string) {
	until := "without an upper age"
	if a.Last > 0 {
		until = "to " + yearsText(a.Last)
	}
	range_ = fmt.Sprintf("%s breed from %s %s", who, yearsText(a.First), until)
	parents := document.FormatThings(a.Parents, "recorded parent", "recorded parents")
	first := map[demography.AgeSource]string{
		demography.FromSettings: "programme.toml",
		demography.FromRecord:   "the youngest of " + parents,
		demography.FromPractice: "common practice, as too few parents are on record to tell",
	}[a.FirstFrom]
	last := map[demography.AgeSource]string{
		demography.FromSettings:  "programme.toml",
		demography.FromRecord:    "the age by which 95% of them had their last brood, a bird longer than that for two years after its own",
		demography.FromOldestAge: "the oldest age of programme.toml, as the record does not show when birds stop",
		demography.NoAge:         "the record does not show when birds stop",
	}[a.LastFrom]
	if first == last {
		return range_, first
	}
	return range_, first + "; " + last
}

// codeAsText is a code for which no words were chosen: better than those of another.
func codeAsText[C ~string](code C) string { return strings.ReplaceAll(string(code), "_", " ") }
