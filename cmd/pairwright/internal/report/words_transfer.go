package report

import (
	"cmp"
	"fmt"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
	"pairwright/pairing/transfer"
	"pairwright/pedigree/studbook"
)

// reasonText says why a bird is ruled out, which names no institution.
func reasonText(r *pairing.Reason) string { return ReasonText(nil, r) }

// nameAt names one of the birds of a reason, "" where it has fewer.
func nameAt(birds []*studbook.Bird, k int) string {
	if k >= len(birds) {
		return ""
	}
	return birds[k].Named()
}

// NoCaseText says why there is no case for a transfer, and what could be done.
func NoCaseText(p *pairing.Programme, e *transfer.NoCaseError) string {
	name, other := nameAt(e.Birds, 0), nameAt(e.Birds, 1)
	switch e.Code {
	case transfer.NoLocations:
		return "the studbook has no location column, so all birds are taken to live in one place and there is nowhere to move a bird; add a location to each bird's row"
	case pairing.Dead:
		return name + " died " + document.FormatDateInText(e.Date) + "; there is nothing to transfer"
	case pairing.Gone:
		return name + " is not in the programme on " + document.FormatDay(p.Book.AsOf) + "; there is nothing to transfer"
	case transfer.NoRow:
		return name + " is named as a parent but has no row of its own in the studbook, so nobody knows where it is"
	case transfer.LocationUnknown:
		if other != "" {
			return "nobody has written down where " + other + " lives, so no transfer can be planned"
		}
		return "nobody has written down where " + name + " lives; fill in its location in the studbook first"
	case transfer.SamePlace:
		if other != "" {
			return name + " and " + other + " both live at " + p.Place(e.To) + "; no transfer is needed"
		}
		return name + " already lives at " + p.Place(e.To) + "; no transfer is needed"
	case transfer.NobodyThere:
		return "no bird lives at " + p.Place(e.To) + ", so there is no mate for " + name
	case transfer.OwnMate:
		return name + " cannot be its own mate"
	case transfer.NotNow:
		return "this move is not possible now: " + strings.Join(TransferReasons(p, e.Because), "; ")
	case transfer.MateRuledOut:
		return other + " cannot be the mate of " + name + ": it " + ruledOutText(e.Because)
	case transfer.MateElsewhere:
		return other + " lives at " + p.Place(e.From) + "; name that place, or none"
	case transfer.NoSuchMove:
		return "there is no such move for " + name + " and " + other
	case transfer.NoExchange:
		return fmt.Sprintf("no exchange was found in which %s goes to %s and a bird comes back from %s so that every new pair gains", name, p.Place(e.To), p.Place(e.From))
	case transfer.NoMate:
		where := "elsewhere"
		if e.From != "" {
			where = "at " + p.Place(e.From)
		}
		if len(e.RuledOut) == 0 {
			return "there is no possible mate for " + name + " " + where + ": no other bird lives there"
		}
		why := fmt.Sprintf("there is no possible mate for %s %s: of %s living there %s", name, where, document.FormatThings(len(e.RuledOut), "bird", "birds"), tally(e.RuledOut))
		if other != "" {
			why += "; at home " + other + " is possible"
		}
		return why
	}
	return string(e.Code)
}

// ruledOutText continues a sentence about a bird that is ruled out.
func ruledOutText(reasons []pairing.Reason) string {
	var words []string
	for k := range reasons {
		r := &reasons[k]
		text := reasonText(r)
		switch {
		case r.Is(pairing.TooYoung, pairing.TooOld, pairing.CloseKin, pairing.OnHold):
			text = "is " + text
		case r.Is(pairing.SexUnknown):
			text = "cannot be chosen, as " + text
		}
		words = append(words, text)
	}
	return strings.Join(words, "; ")
}

// TransferReasons says what there is to say of a transfer, one each.
func TransferReasons(p *pairing.Programme, reasons []pairing.Reason) []string {
	say := []string{}
	for k := range reasons {
		say = append(say, transferReason(p, &reasons[k]))
	}
	return say
}

func transferReason(p *pairing.Programme, r *pairing.Reason) string {
	switch r.Code {
	case transfer.NoSpace:
		return p.Place(r.To) + " has no free place for a " + r.Birds[0].Sex.Word()
	case transfer.PlaceToCome:
		return fmt.Sprintf("%s has no free place for a %s today: the season's decision counts on a death to be expected there within a year, or on a bird that leaves", p.Place(r.To), r.Birds[0].Sex.Word())
	case transfer.PlacesTaken:
		return "the season's decision gives what places there are for a " + r.Birds[0].Sex.Word() + " at " + p.Place(r.To) + " to others"
	case transfer.HeldFromMove:
		return r.Birds[0].Named() + " is on hold for moving until further notice: " + r.Note
	case pairing.WaitsFor:
		return ReasonText(p, r)
	case pairing.OnNest:
		return fmt.Sprintf("may sit on its clutch of %s or feed the chicks: %d days are allowed for that, as its end is not on record", document.FormatDateInText(r.Date), r.Count)
	case pairing.LayingMonth:
		return "laying season: it may sit on eggs or feed chicks"
	case pairing.MoultMonth:
		return "moult"
	case pairing.PairingMonth:
		return "pairs form, here and there"
	case pairing.EndClosed:
		return p.Place(r.From) + " takes and sends no birds"
	case pairing.Permit:
		return fmt.Sprintf("a permit to cross the border takes %s", document.FormatThings(r.Count, "week", "weeks"))
	}
	if say := cmp.Or(unknownReason(p, r), worthReason(r)); say != "" {
		return say
	}
	return planText(p, r)
}

// unknownReason says what is not known of a transfer, "" for another reason.
func unknownReason(p *pairing.Programme, r *pairing.Reason) string {
	name := nameAt(r.Birds, 0)
	switch r.Code {
	case transfer.AncestryGaps:
		return fmt.Sprintf("%s: %s of its ancestry is known: %s", name, document.FormatChance(r.Value), strings.Join(gapTexts(p, r.Birds[0]), ", "))
	case transfer.AgeUnknown:
		return name + ": its age is not known"
	case transfer.AgeVague:
		return fmt.Sprintf("%s: its age is known only to about %s years either way (hatched %s)", name, document.FormatNumber(r.Value, 1), document.FormatDateInText(r.Date))
	case transfer.SexesUnproven:
		return "how the sexes of the birds were determined is not in the files: confirm before the move"
	case transfer.NoInstitutions:
		return "there is no institutions.csv: places, distances, quarantine and contacts are not known"
	case transfer.NotListed:
		return r.To + " is not in institutions.csv"
	case transfer.SpaceUnknown:
		return fmt.Sprintf("%s: free places for a %s are not on file", p.Place(r.To), r.Birds[0].Sex.Word())
	case transfer.QuarantineUnknown:
		return fmt.Sprintf("%s: its days of quarantine are not on file; %d are assumed", p.Place(r.To), r.Count)
	case transfer.PermitUnknown:
		return fmt.Sprintf("how long a permit takes for the border between %s and %s is not on file", p.Place(r.From), p.Place(r.To))
	case transfer.DistanceUnknown:
		return fmt.Sprintf("the distance from %s to %s is not known", p.Place(r.From), p.Place(r.To))
	}
	return ""
}

// worthReason says what a transfer is worth against others, and whether there is time for
// it, "" for another reason.
func worthReason(r *pairing.Reason) string {
	name := nameAt(r.Birds, 0)
	switch r.Code {
	case transfer.NotAdvised:
		return "not advised: the programme gains nothing by this pair, against what the mate would do otherwise"
	case transfer.NotWorth:
		return "the pair gains less than a move should be worth"
	case transfer.HomeAsGood:
		return "a mate at home, " + name + ", is as good or better: no bird need travel"
	case transfer.PromisedElsewhere:
		return "the season's decision pairs " + name + " with " + r.Birds[1].Named()
	case transfer.BondEnds:
		return "the bond of " + name + " and " + r.Birds[1].Named() + " would end: a pair that sits or raises chicks must not be parted"
	case transfer.NotPreferred:
		return fmt.Sprintf("a chick of %s and %s would have F %s, not below the preferred %s", r.Birds[0].ID, r.Birds[1].ID, document.FormatKinship(r.Value), document.FormatKinship(r.Other))
	case transfer.NoDay:
		return fmt.Sprintf("no day within a year is free for %s to travel so that %d days of quarantine end before the season", name, r.Count)
	case transfer.RestsFirst:
		return fmt.Sprintf("%s and %s rest in %d, as other pairs there hatch the chicks that are wanted: the effects with chicks of theirs are those of a later season, and the move is for the chicks of the seasons after", name, r.Birds[1].Named(), r.Count)
	case transfer.AfterSeason:
		return name + " cannot travel before " + document.FormatDay(r.Date.First) + ", too late for the coming season: it would be there for the next"
	case transfer.NoLayingMonths:
		return "no laying months are set in programme.toml, so nobody can say whether " + name + " travels before the season"
	case transfer.NoMoultMonths:
		return "no moult months are set in programme.toml: make sure that " + name + " is not in moult"
	case transfer.ParentsUncertain:
		return "some parents are uncertain: kinships are weighted means over the possible ones"
	case transfer.RankUnsure:
		return fmt.Sprintf("the mate is one of the first three in %s of %d possible pedigrees, as some parents are uncertain or not known", document.FormatChance(r.Value), r.Count)
	}
	return ""
}

// Cautions says what speaks against a transfer.
func Cautions(p *pairing.Programme, c *transfer.Case) []string {
	say := []string{}
	for k := range c.Cautions {
		text := transferReason(p, &c.Cautions[k])
		if c.Cautions[k].Is(transfer.NoSpace) {
			text += ": one must be made first"
		}
		say = append(say, text)
	}
	return say
}

// AvoidText says why a bird must not travel on some days.
func AvoidText(p *pairing.Programme, s *pairing.Span) string {
	if s.Why.Is(pairing.OnHold) {
		return "on hold: " + s.Why.Note
	}
	return transferReason(p, &s.Why)
}

// gapsNamed is how many gaps in the parentage of a bird are named.
const gapsNamed = 3

// gapTexts names what is not known of the ancestors of a bird.
func gapTexts(p *pairing.Programme, b *studbook.Bird) []string {
	var say []string
	at, _ := p.Book.Index(b.ID)
	gaps := p.GapsBehind(at)
	for k := range gaps {
		if k == gapsNamed {
			return append(say, document.FormatCount(len(gaps)-gapsNamed)+" more")
		}
		g := &gaps[k]
		is := "unknown"
		if len(g.Named) > 0 {
			is = "uncertain"
		}
		say = append(say, fmt.Sprintf("the %s of %s is %s (%s of its genes)", ParentWord(g.Sex), p.Book.Birds[g.Bird].ID, is, document.FormatPercent(g.Share)))
	}
	return say
}

// TransferReason says what the season's decision has for the bird, and so why a
// move is needed, or is not.
func TransferReason(p *pairing.Programme, c *transfer.Case) string {
	text := DecisionText(p, c.Ranking)
	switch {
	case c.Needed:
		return text
	case c.Best == nil && c.Young != nil && c.Young.Leaves():
		return "not this move: " + text
	case c.Best == nil && c.Ranking.Bond == nil && c.Ranking.Standing.State.MayBreed():
		return "no move is planned: " + text
	case c.Best == nil:
		return "no move is needed: " + text
	}
	return "the season's decision has another: " + text
}

// AlternativeText says why an option is not the first.
func AlternativeText(p *pairing.Programme, a *transfer.Alternative) string {
	r := &a.Why[0]
	more := a.Why[1:]
	then := func(text string) string {
		if len(more) > 0 {
			return text + ": " + lackText(&more[0])
		}
		return text
	}
	switch r.Code {
	case transfer.NotPossible:
		return "not possible now: " + strings.Join(TransferReasons(p, more), "; ")
	case transfer.SpaceWanted:
		return strings.Join(TransferReasons(p, more), "; ")
	case transfer.PlacesTaken:
		return transferReason(p, r)
	case transfer.NotAsked:
		if a.Decided {
			return "nothing: the season's decision has it, but it is not what was asked for"
		}
		return "gains more, but is not what was asked for"
	case transfer.NoGain:
		return then("the programme gains nothing by it")
	case pairing.PairedInTime, pairing.WaitsFor:
		return transferReason(p, r)
	case transfer.NotWorth:
		return "gains less than a move should be worth"
	case transfer.AsMuchAnew:
		return "gains as much for all together, where others are paired anew and may have to move: a matter of choice"
	case transfer.GainsAsMuch:
		if len(more) == 0 {
			return "gains as much and costs the birds no more: a matter of choice"
		}
		return "gains as much, but " + costText(&more[0])
	case transfer.GainsLess:
		return then("gains less than what the decision has")
	case transfer.LessGain:
		return then("gains " + document.FormatChance(r.Value) + " as much")
	}
	return costText(r)
}

// FavourText says what would speak for an option.
func FavourText(p *pairing.Programme, a *transfer.Alternative) string {
	var say []string
	for k := range a.For {
		r := &a.For[k]
		switch r.Code {
		case transfer.GoesRound:
			say = append(say, fmt.Sprintf("%s come together, and each place gives a bird and gets one", document.FormatThings(r.Count, "pair", "pairs")))
		case transfer.MoreInbred, transfer.LessSuccess, transfer.CommonerMate, transfer.LessForEachChick:
			say = append(say, moreText(r))
		default:
			say = append(say, costText(r))
		}
	}
	return strings.Join(say, "; ")
}

// aheadText says how the pair that a transfer is for compares with all others.
func aheadText(c *transfer.Case) string {
	return ratingText(c.Best.Pairs[0].Figures.Rating, c.Ranking.EligiblePairs, "the programme's", "possible pair", "possible pairs")
}

// costText says what an option costs the birds more than the best, or less.
func costText(r *pairing.Reason) string {
	count := func(x float64, one, many string) string { return document.FormatThings(int(x), one, many) }
	switch r.Code {
	case transfer.MoreMoves, transfer.FewerMoves:
		if r.Value == 0 {
			return "no bird moves"
		}
		return fmt.Sprintf("moves %s instead of %.0f", count(r.Value, "bird", "birds"), r.Other)
	case transfer.BreaksBonds:
		var bonds []string
		for k := 0; k < len(r.Birds); k += 2 {
			bonds = append(bonds, "the bond of "+r.Birds[k].ID+" and "+r.Birds[k+1].ID)
		}
		return "breaks " + strings.Join(bonds, " and ")
	case transfer.KeepsBonds:
		return "breaks no bond"
	case transfer.Strangers:
		return "the two do not know each other"
	case transfer.Acquainted:
		return "the two know each other"
	case transfer.MoreBorders, transfer.FewerBorders:
		return fmt.Sprintf("crosses %s instead of %.0f", count(r.Value, "border", "borders"), r.Other)
	case transfer.DistanceUnknown:
		return "its distance is not known"
	case transfer.DistanceKnown:
		return "its distance is known"
	case transfer.LongerWay, transfer.ShorterWay:
		return fmt.Sprintf("the way is %s km instead of %s km", document.FormatKm(r.Value), document.FormatKm(r.Other))
	case transfer.MovedMore, transfer.MovedLess:
		if r.Value == 0 {
			return "the bird that travels was never moved before"
		}
		return fmt.Sprintf("the bird that travels was moved %s before instead of %.0f", count(r.Value, "time", "times"), r.Other)
	case transfer.SpaceUnknown:
		return "it is not known whether there is a free place"
	case transfer.SpaceKnown:
		return "there is a free place on record"
	case transfer.FewerSpaces:
		return "it takes a place where fewer are free"
	case transfer.MoreSpaces:
		return "it takes a place where more are free"
	case transfer.LongerQuarantine, transfer.ShorterQuarantine:
		return fmt.Sprintf("quarantine is %.0f days instead of %.0f", r.Value, r.Other)
	}
	return codeAsText(r.Code)
}

// lackText says what most makes a pair worth less.
func lackText(r *pairing.Reason) string {
	switch r.Code {
	case transfer.WantedElsewhere:
		return r.Birds[0].ID + " would do more with " + r.Birds[1].ID
	case transfer.MoreInbred:
		return fmt.Sprintf("the chicks would have F %s instead of %s", document.FormatKinship(r.Value), document.FormatKinship(r.Other))
	case transfer.LessSuccess:
		less, more := document.FormatProbability(r.Value), document.FormatProbability(r.Other)
		if less == more {
			return "its chance of success is a hair lower"
		}
		return fmt.Sprintf("its chance of success is %s instead of %s", less, more)
	case transfer.CommonerMate:
		return fmt.Sprintf("its mean kinship is %s instead of %s", document.FormatMeanKinship(r.Value), document.FormatMeanKinship(r.Other))
	}
	return "each chick gains less"
}

// moreText says the same of the pair that is worth more by it.
func moreText(r *pairing.Reason) string {
	if r.Code == transfer.LessForEachChick {
		return "each chick gains more"
	}
	turned := *r
	turned.Value, turned.Other = r.Other, r.Value
	return lackText(&turned)
}
