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

func birdNames(birds []*studbook.Bird) []string {
	var out []string
	for _, b := range birds {
		out = append(out, b.Named())
	}
	return out
}
