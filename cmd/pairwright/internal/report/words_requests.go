package report

import (
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
	"pairwright/pairing/review"
	"pairwright/pedigree/studbook"
)

// saidText says a reason that comes from what a person decided.
func saidText(r *pairing.Reason) string {
	switch r.Code {
	case pairing.SaidYes:
		return "agreed on " + saidBy(r)
	case pairing.Chosen:
		if r.Note != "" {
			return "your own choice: " + r.Note
		}
		return "your own choice"
	case pairing.SaidPart:
		return "to be parted: agreed on " + saidBy(r)
	case pairing.SaidNo:
		return "declined on " + saidBy(r)
	case pairing.Promised:
		return "is to be paired with " + r.Birds[1].Named() + ": that is agreed"
	case pairing.Overruled:
		return "a later decision on " + r.Birds[0].Named() + " says something else"
	case pairing.BondFirst:
		return r.Birds[0].Named() + " is bonded to " + r.Birds[1].Named() + ", and nobody has decided to part them"
	case pairing.NotAMate:
		return r.Birds[0].Named() + " and " + r.Birds[1].Named() + " are no pair"
	case pairing.NoMeeting:
		return "nothing says where " + strings.Join(birdNames(r.Birds), " and ") + " are to live"
	case pairing.OffSeason:
		return "it was said of an earlier season"
	}
	return string(r.Code)
}

// saidBy says when, by whom and why something was decided.
func saidBy(r *pairing.Reason) string {
	text := document.FormatDateInText(r.Date)
	if r.By != "" {
		text += " by " + r.By
	}
	if r.Note != "" {
		text += ": " + r.Note
	}
	return text
}

// saidWords are the words for what was decided, before the day.
var saidWords = map[studbook.Answer]string{studbook.Agreed: "agreed on", studbook.Declined: "declined on", studbook.Waiting: "waiting since"}

// ruledText says what a person decided, of a table of what became of it.
func ruledText(r *review.Result) string {
	text := rulingText(birdNames(r.Birds), r.Said)
	text += ": " + saidWords[r.Said.Answer] + " " + document.FormatDateInText(r.Said.Date)
	if r.Said.By != "" {
		text += " by " + r.Said.By
	}
	if r.Said.Reason != "" {
		text += " (" + r.Said.Reason + ")"
	}
	return text
}

// rulingText says what a decision is about.
func rulingText(names []string, u *studbook.Ruling) string {
	switch pair := strings.Join(names, " and "); u.What {
	case studbook.RulesMove:
		text := names[0] + " to " + u.To
		if len(names) > 1 {
			text += ", to " + names[1]
		}
		return text
	case studbook.RulesBond:
		return "bond " + pair
	case studbook.RulesPart:
		return "part " + pair
	default:
		return "let " + pair + " hatch their eggs"
	}
}

// renewTask says what is to be done about an agreement in vain.
const renewTask = "renew or cancel what was agreed, and tell all who agreed"

// unkeptText says why what was agreed has not come about.
func unkeptText(p *pairing.Programme, x *pairing.Unkept) string {
	agreed := "agreed on " + document.FormatDateInText(x.Ruling.Date)
	switch r := &x.Why; r.Code {
	case pairing.Lapsed:
		return agreed + ", held until " + document.FormatDateInText(r.Date) + ", not done"
	case pairing.MissedDay:
		text := agreed + ", to leave " + orUnknown(r.From) + " by " + document.FormatDateInText(r.Date) + ", not done"
		b, _ := p.Book.Index(r.Birds[0].ID)
		if t := p.Timing(b, r.From, r.To); t.Earliest != 0 {
			text += "; the next time is " + document.FormatDay(t.Earliest) + " to " + document.FormatDay(t.Latest)
		}
		return text
	case pairing.PlaceFull:
		return agreed + "; " + r.To + " has no free place for a " + r.Birds[0].Sex.Word()
	}
	return agreed + "; " + unkeptBar(p, &x.Why)
}

// unkeptBar says what keeps an agreement from being carried out.
func unkeptBar(p *pairing.Programme, r *pairing.Reason) string {
	text := planText(p, r)
	if len(r.Birds) == 1 && r.Is(pairing.TooYoung, pairing.TooOld, pairing.OnHold, pairing.SexUnknown, pairing.Dead, pairing.Gone) {
		return r.Birds[0].Named() + ": " + text
	}
	return text
}

// unkeptHeed says, behind what the decision has for a bird, what was agreed on it in vain.
func unkeptHeed(p *pairing.Programme, all []pairing.Unkept) string {
	text := ""
	for k := range all {
		w := all[k].Ruling
		var names []string
		for _, b := range w.Birds {
			names = append(names, p.Name(b))
		}
		text += "; but " + rulingText(names, w.Ruling) + " was " + unkeptText(p, &all[k]) + ": renew or cancel it"
	}
	return text
}

func birdNames(birds []*studbook.Bird) []string {
	var out []string
	for _, b := range birds {
		out = append(out, b.Named())
	}
	return out
}
