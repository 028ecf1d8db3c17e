package report

import (
	"fmt"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
	"pairwright/pairing/board"
	"pairwright/pairing/review"
	"pairwright/pedigree/studbook"
)

// TaskWhat says what is to be done, with whom.
func TaskWhat(colony string, t *board.Task) string {
	if t.What == review.FindMates {
		return findMates(&t.Why[0])
	}
	if t.What == review.RenewRuling {
		return renewTask + ": " + rulingText(birdNames(t.Birds), t.Unkept.Ruling.Ruling)
	}
	one := t.Birds[0].Named()
	pair := func(k int) string { return t.Birds[k].Named() + " and " + t.Birds[k+1].Named() }
	all := func() string { return document.FormatList(birdNames(t.Birds), 0) }
	switch t.What {
	case review.CandleEggs:
		if t.MayHaveHatched {
			return "look for chicks of " + pair(0) + ", or candle the eggs"
		}
		return eggsTask(pairing.CandleEggs, pair(0), "")
	case review.ReplaceEggs:
		if pairing.MakeWay(t.Why) {
			return takeAwayTask(pair(0))
		}
		return eggsTask(pairing.ReplaceEggs, pair(0), "")
	case review.SettleEggs:
		return settleTask(pair(0))
	case review.FosterEggs:
		return eggsTask(pairing.FosterEggs, pair(0), pair(2))
	case review.BondPair:
		return bondTask(pair(0))
	case review.PartPair:
		return "part " + pair(0) + ", as agreed"
	case review.ExaminePair:
		if sexed(t.Why) {
			return "have " + pair(0) + " examined and sexed"
		}
		return causeTask(pair(0))
	case review.SexBird:
		return "have " + all() + " sexed"
	case review.RecordKinship:
		return recordKinship(&t.Why[0], pair(0), "the kinship of "+pair(0))
	case review.RecordParent:
		return "write down the " + ParentWord(t.Parent) + " of " + one + ": " + t.Birds[1].Named()
	case review.MoveBird, review.PlaceYoung, board.SendBird:
		return moveTask(colony, t)
	case board.HatchDue:
		return "look for chicks of " + pair(0)
	case board.TellOutcome:
		return "write down what became of the eggs of " + pair(0)
	case board.FledgeDue:
		return "count the fledged chicks of " + pair(0)
	case board.BandBird:
		return "band " + all()
	case board.EndQuarantine:
		return "let " + one + " out of quarantine, once the veterinarian agrees"
	case board.AnswerRequest:
		return "answer " + orUnknown(t.To) + ", who ask for " + one + ": " + requestAnswer(t.Request.Answer)
	case board.LookAtHold:
		return "look at " + one + ", whose hold ends"
	}
	return codeAsText(t.What) + " " + all()
}

// causeTask says that it is to be found out why a pair fails.
func causeTask(pair string) string {
	return "find out with the veterinarian why " + pair + " raise no chick"
}

// sexed reports whether a pair that is to be examined is to be sexed too, as its eggs were
// not fertile.
func sexed(why []pairing.Reason) bool {
	return slices.ContainsFunc(why, func(r pairing.Reason) bool {
		return r.Is(pairing.NeverFertile, pairing.FailedInfertile, pairing.FailedUnseen)
	})
}

// eggsTask says what is to be done with the eggs of a pair; to are those who get them.
func eggsTask(advice pairing.EggAdvice, pair, to string) string {
	switch advice {
	case pairing.CandleEggs:
		return "candle the eggs of " + pair
	case pairing.FosterEggs:
		return "give the eggs of " + pair + " to " + to
	}
	return "replace the eggs of " + pair
}

// settleTask says that nobody takes an egg before it is settled whether it is to hatch.
func settleTask(pair string) string {
	return "settle whether the eggs of " + pair + " are to hatch before any is taken"
}

// takeAwayTask says that eggs are to make way for others.
func takeAwayTask(pair string) string { return "take away the eggs of " + pair }

// bondTask says that two birds are to become a pair.
func bondTask(pair string) string { return "bring " + pair + " together as a new pair" }

// sendTask and takeInTask say that a bird is to move.
func sendTask(bird, to string) string     { return "send " + bird + " to " + to }
func takeInTask(bird, from string) string { return "take in " + bird + " from " + from }

// moveTask says how far a move is to be brought.
func moveTask(colony string, t *board.Task) string {
	one, what := t.Birds[0].Named(), ""
	leaves := t.From == colony
	from, to := orUnknown(t.From), orUnknown(t.To)
	switch {
	case t.Asked == board.IsAgreed && leaves:
		what = sendTask(one, to) + ", as agreed"
	case t.Asked == board.IsAgreed:
		what = takeInTask(one, from) + ", as agreed"
	case t.Asked == board.IsAsked && leaves:
		what = "settle with " + to + ", who have asked, when " + one + " goes"
	case t.Asked == board.IsAsked:
		what = "follow up the request to " + from + " for " + one
	case leaves:
		what = "offer " + one + " to " + to
	default:
		what = "ask " + from + " for " + one
	}
	if len(t.Birds) > 1 && t.What == review.MoveBird {
		what += ", as mate of " + t.Birds[1].Named()
	}
	return what
}

// TaskBy says by when.
func TaskBy(p *pairing.Programme, t *board.Task) string {
	switch {
	case t.Begin != 0 && t.Due > t.Begin:
		return byLast(t.Due)
	case t.Due != 0:
		return document.FormatDay(t.Due)
	case t.What == board.BandBird:
		return "when in the hand"
	}
	if by := decisionBy(p, &t.Decided); by != "now" {
		return by
	}
	return "from now on" // it has no day, and stands behind what has one
}

// byLast says that something is to be done at once, and the last day for it.
func byLast(last studbook.Day) string {
	return "now, until " + document.FormatDay(last)
}

// TaskWhy says why.
func TaskWhy(p *pairing.Programme, t *board.Task) string {
	switch t.What {
	case review.MoveBird, review.PlaceYoung:
		if t.By != 0 && t.Due != t.By {
			return "leaves by " + document.FormatDay(t.By) + ": " + decisionWhy(p, &t.Decided) + undoneHeed(p, t.Or)
		}
		return decisionWhy(p, &t.Decided) + undoneHeed(p, t.Or)
	case board.SendBird:
		return "decided so by people"
	case review.RecordParent:
		return "found by DNA; the studbook does not have it"
	case board.TellOutcome:
		return eggsText(t.Clutch) + ", " + document.FormatDateInText(t.Clutch.Laid) + ", should have hatched, and nothing is on record of it: write down the chicks, that none hatched, or that the eggs were replaced"
	case board.HatchDue:
		return eggsText(t.Clutch) + ", " + document.FormatDateInText(t.Clutch.Laid)
	case board.FledgeDue:
		return document.FormatThings(t.Clutch.Hatched, "chick", "chicks") + " hatched of the eggs laid on " + document.FormatDateInText(t.Clutch.Laid)
	case board.BandBird:
		if t.Due != 0 {
			return "no band on record; before it leaves the nest"
		}
		return "no band on record"
	case board.EndQuarantine:
		return "came from " + orUnknown(t.From)
	case board.AnswerRequest:
		return requestWhy(p, t.Request)
	case board.LookAtHold:
		return HoldText(t.Hold)
	}
	return decisionWhy(p, &t.Decided) + undoneHeed(p, t.Or)
}

// HoldText says why a bird is on hold, what that forbids, and the note on it.
func HoldText(h *studbook.Hold) string {
	text := h.Reason + map[studbook.Block]string{studbook.BlocksBoth: "; no breeding and no move", studbook.BlocksBreeding: "; no breeding", studbook.BlocksMoving: "; no move"}[h.Blocks]
	if h.Note != "" {
		text += "; " + h.Note
	}
	return text
}

// eggsText counts the eggs of a clutch.
func eggsText(c *studbook.Clutch) string {
	text := "eggs"
	if c.Eggs >= 0 {
		text = document.FormatThings(c.Eggs, "egg", "eggs")
	}
	if c.Fertile >= 0 {
		text += ", " + document.FormatCount(c.Fertile) + " fertile"
	}
	return text
}

// NestAsks says in few words what the season asks of a pair; RestNote explains them.
func NestAsks(p *pairing.Programme, n *board.Nest) string {
	switch n.Action {
	case review.Keep:
		return "hatches up to " + document.FormatThings(n.HatchUpTo, "chick", "chicks")
	case review.Reserve:
		again := ""
		if n.Again {
			again = ", if they lay again"
		}
		return fmt.Sprintf("reserve, number %d%s: up to %s", n.Order, again, document.FormatThings(n.HatchUpTo, "chick", "chicks"))
	case review.Examine:
		if n.ToExamine() {
			return "examine; leave their eggs"
		}
		return "rest; examine"
	case review.Part:
		if n.Kind == pairing.BondReleased {
			return "to be parted, as agreed"
		}
		if n.Parting == nil {
			return "rest; part them?" + nestHeed(p, n)
		}
		return "rest; part them? Then " + partTwo(p, n.Parting) + nestHeed(p, n)
	}
	if len(n.Barred) > 0 {
		return "rest: " + barredText(p, &n.Barred[0])
	}
	if why, is := n.Occupied(); is {
		return planText(p, &why)
	}
	return "rest" + nestHeed(p, n)
}

// nestHeed says what is to be known before an egg of a pair that rests is taken, or why it
// rests; "" where neither is out of the ordinary.
func nestHeed(p *pairing.Programme, n *board.Nest) string {
	for k := range n.Reasons {
		switch r := &n.Reasons[k]; r.Code {
		case pairing.RaisesChicks, pairing.EggsUntold, pairing.SeasonDone:
			return "; " + planText(p, r)
		case pairing.OtherPlans:
			return "; take no egg: hatches " + document.FormatThings(r.Count, "chick", "chicks") + " by the programme's plan"
		case pairing.OtherReserves:
			return "; take no egg: a reserve in the programme's plan"
		}
	}
	return ""
}

// RestNote explains what is asked of nests.
func RestNote(b *board.Board) string {
	return "Rest: replace each egg by a dummy as it is laid" + butForProgramme(b.Programme, b.Plan) + ". Reserve: keep the eggs until the planned pairs are candled. Part: between seasons, if all agree."
}

// NestNow says what is in the nest, and what to do with it.
func NestNow(p *pairing.Programme, n *board.Nest) string {
	var say []string
	if e := n.Eggs; e != nil {
		say = append(say, eggsText(e.Clutch)+", "+document.FormatDateInText(e.Clutch.Laid)+": "+eggAdvice(p, e))
	}
	if n.Brood != nil {
		say = append(say, document.FormatThings(n.Brood.Hatched, "chick", "chicks")+" hatched of the eggs laid on "+document.FormatDateInText(n.Brood.Laid))
	}
	if n.Dummies != nil && n.Eggs == nil {
		instead := "dummies, in place of the eggs laid on "
		if n.Dummies.Fertile == 0 { // they may have been taken away for others
			instead = "dummies or nothing, in place of the infertile eggs laid on "
		}
		say = append(say, instead+document.FormatDateInText(n.Dummies.Laid))
	}
	return strings.Join(say, "; ")
}

// BirdIs says how a bird stands.
func BirdIs(x *board.Bird) string {
	text := string(x.Standing.State)
	if x.Standing.Until != 0 {
		text += " until " + document.FormatDay(x.Standing.Until)
	}
	return text
}

// BirdNext says what becomes of a bird that is in no nest; the tasks say by when to decide on
// another parting that would undo it.
func BirdNext(p *pairing.Programme, x *board.Bird) string {
	switch {
	case x.Bond != nil && x.Bond.Move != nil && x.Bond.Move.Bird == x.Bird:
		return "goes to " + p.Place(x.Bond.Move.To) + ", to " + p.Name(x.Bond.Mate(x.Bird)) + pairHeed(p, x.Bond)
	case x.Bond != nil && x.Bond.Move != nil:
		return "gets " + p.Name(x.Bond.Mate(x.Bird)) + ", who comes from " + p.Place(x.Bond.Move.From) + pairHeed(p, x.Bond)
	case x.Bond != nil:
		return "gets " + p.Name(x.Bond.Mate(x.Bird)) + ", at home" + pairHeed(p, x.Bond)
	case x.Young != nil:
		return youngShort(p, x.Young)
	case x.Standing.State == pairing.StateYoung:
		return "stays: too young to be placed yet"
	}
	return aloneText(p, &x.Alone, x.Beside) + seemsPairedHeed(p, x.Bird)
}

// youngShort says in few words what becomes of a young bird; YoungText says it in full.
func youngShort(p *pairing.Programme, x *pairing.Young) string {
	switch {
	case x.SexUnknown:
		return "sex it before it can be placed"
	case x.Leaves() && x.Mate < 0:
		return "to " + x.To + leavesBy(x) + ", as agreed"
	case x.Leaves():
		return forNow(x) + "to " + x.To + leavesBy(x) + ", to " + p.Name(x.Mate) + heed(p, x.Bird, x.Mate)
	case x.Mate < 0:
		return "stays"
	}
	return forNow(x) + "stays; " + p.Name(x.Mate) + " would be its mate from " + mayBreedFrom(p, x) + heed(p, x.Bird, x.Mate)
}

// forNow marks what is decided anew before it need be done.
func forNow(x *pairing.Young) string {
	if x.Anew == 0 {
		return ""
	}
	return "for now "
}
