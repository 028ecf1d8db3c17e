package report

import (
	"fmt"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
	"pairwright/pairing/transfer"
)

// RequestsDocument lays out all requests with the answers to them, one line each:
// those that exclude each other side by side, then the others.
func RequestsDocument(p *pairing.Programme, desk *transfer.Desk) *document.Document {
	d := &document.Document{Title: "Requests", Lead: requestsLead(desk), About: about(p), Footer: Advice}
	for g := 1; g <= desk.Groups; g++ {
		var rows []*transfer.Judged
		for k := range desk.Requests {
			if desk.Requests[k].Group == g {
				rows = append(rows, &desk.Requests[k])
			}
		}
		title := "These exclude each other"
		if desk.Groups > 1 {
			title += fmt.Sprintf(" (%d of %d)", g, desk.Groups)
		}
		d.Sections = append(d.Sections, document.Section{Title: title, Blocks: []document.Block{requestTable(p, rows)}})
	}
	for _, answer := range transfer.RequestAnswers {
		var rows []*transfer.Judged
		for k := range desk.Requests {
			if x := &desk.Requests[k]; x.Group == 0 && x.Answer == answer {
				rows = append(rows, x)
			}
		}
		if len(rows) > 0 {
			d.Sections = append(d.Sections, document.Section{Title: Capital(requestAnswer(answer)), Blocks: []document.Block{requestTable(p, rows)}})
		}
	}
	d.Notes = []string{
		"Every request is held against the season's decision, which gives each bird the mate that is best for the programme as a whole. What is agreed to goes into decisions.csv, and is then fixed in the decision.",
		"How much one pair gains against another is its net gain: what the programme gains by it, less what the mate would do otherwise, both as seen from the bird that they share.",
		"The page for one of these moves, with its effects at both ends: pairwright transfer, then the id of the bird and --to with the code.",
	}
	return d
}

// requestsLead counts the answers.
func requestsLead(desk *transfer.Desk) string {
	if len(desk.Requests) == 0 {
		return "No request is on file; requests.csv has one in each row."
	}
	var parts []string
	for _, answer := range transfer.RequestAnswers {
		n := 0
		for k := range desk.Requests {
			if desk.Requests[k].Answer == answer {
				n++
			}
		}
		if n > 0 {
			parts = append(parts, document.FormatCount(n)+" "+requestAnswer(answer))
		}
	}
	text := document.FormatThings(len(desk.Requests), "request", "requests") + ": " + strings.Join(parts, ", ") + "."
	excluded := 0
	for k := range desk.Requests {
		if desk.Requests[k].Group > 0 {
			excluded++
		}
	}
	switch {
	case desk.Groups == 1:
		text += fmt.Sprintf(" %s of them exclude each other and stand side by side, the best first.", Capital(document.FormatCount(excluded)))
	case desk.Groups > 1:
		text += fmt.Sprintf(" %s of them exclude others and stand side by side in %s, the best first.", Capital(document.FormatCount(excluded)), document.FormatThings(desk.Groups, "group", "groups"))
	}
	return text
}

// requestAnswer says an answer in words; its own are those of the JSON.
func requestAnswer(a transfer.RequestAnswer) string {
	if a == transfer.AgreeIf {
		return "agree on a condition"
	}
	return string(a)
}

func requestTable(p *pairing.Programme, rows []*transfer.Judged) *document.Table {
	t := &document.Table{Columns: []document.Column{
		deciding(document.Column{Name: "Answer"}), {Name: "Bird", Key: true}, {Name: "To"}, {Name: "For"}, {Name: "Asked by"}, {Name: "Leave by"}, {Name: "Why", Wide: true},
	}}
	for _, x := range rows {
		answer := requestAnswer(x.Answer)
		if x.Preferred {
			answer += " (the better one)"
		}
		mate, latest := document.Unknown, document.Unknown
		if x.Partner >= 0 {
			mate = p.Name(x.Partner)
		}
		if (x.Answer == transfer.Agree || x.Answer == transfer.AgreeIf) && x.Timing.Latest != 0 {
			latest = document.FormatDay(x.Timing.Latest)
		}
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{
			{Text: answer}, {Text: p.Name(x.Bird)}, {Text: x.Request.To}, {Text: mate}, word(x.AskedBy), {Text: latest}, {Text: Capital(requestWhy(p, x))},
		}})
	}
	return t
}

// requestWhy says the conditions and the reason in a line.
func requestWhy(p *pairing.Programme, x *transfer.Judged) string {
	text := RequestReason(p, x)
	if say := RequestConditions(p, x); len(say) > 0 {
		text = "if " + strings.Join(say, ", and if ") + ": " + text
	}
	if x.Waiting != nil {
		text += "; a decision is waiting"
		if x.Waiting.Ruling.Reason != "" {
			text += " (" + x.Waiting.Ruling.Reason + ")"
		}
	}
	return text
}

// RequestConditions says what must come true before a request can be agreed to.
func RequestConditions(p *pairing.Programme, x *transfer.Judged) []string {
	say := []string{}
	for k := range x.Conditions {
		say = append(say, conditionText(p, &x.Conditions[k]))
	}
	return say
}

func conditionText(p *pairing.Programme, r *pairing.Reason) string {
	switch r.Code {
	case pairing.Permit:
		return fmt.Sprintf("the permit for the border comes (%s)", document.FormatThings(r.Count, "week", "weeks"))
	case transfer.HeldFromMove:
		return "its hold on moving is lifted (" + r.Note + ")"
	case transfer.HoldOver:
		return fmt.Sprintf("its hold on moving ends on %s (%s)", document.FormatDateInText(r.Date), r.Note)
	case transfer.OffTheNest:
		return "it is off its nest, at the latest after " + document.FormatDay(r.Date.First)
	case transfer.PlaceFree:
		return "a place for a " + r.Birds[0].Sex.Word() + " comes free at " + r.To
	case transfer.OtherRequest:
		return "the place at " + r.To + " is not given to the better request"
	case transfer.AfterSeason:
		return "it may come for the next season, as it cannot travel before " + document.FormatDay(r.Date.First)
	case transfer.NoDay:
		return fmt.Sprintf("a day is found on which it can travel and %s of quarantine end before the season", document.FormatThings(r.Count, "day", "days"))
	}
	return transferReason(p, r)
}

// RequestReason says in a line why a request has its answer.
func RequestReason(p *pairing.Programme, x *transfer.Judged) string {
	r := &x.Why[0]
	name := func(k int) string { return r.Birds[k].Named() }
	switch r.Code {
	case transfer.DecisionsMove:
		return "the season's decision makes this move, to " + name(1) + heedBirds(p, r.Birds[0], r.Birds[1])
	case transfer.ForLater:
		when := document.FormatDay(r.Date.First)
		if x.Answer == transfer.Rather {
			return "the season's decision wants it at " + p.Place(r.To) + " for the season that begins on " + when
		}
		return "the season's decision wants it there for the season that begins on " + when
	case transfer.WorthIt:
		return "worth a move for " + name(1) + ", and the season's decision has no mate for either" + heedBirds(p, r.Birds[0], r.Birds[1])
	case transfer.BirdsOwn:
		return insteadText(p, x) + ", " + againstText(p, x)
	case transfer.MatesOwn:
		return name(0) + " has a better mate: " + insteadText(p, x) + ", " + againstText(p, x)
	case transfer.PlaceTaken:
		return "the last free place there is for " + name(0) + ": " + insteadText(p, x)
	case pairing.Bonded:
		return "it is bonded to " + name(1) + ", and nobody has decided to part them"
	case transfer.MateRuledOut:
		return name(1) + " cannot be its mate: it " + ruledOutText(x.Why[1:])
	case transfer.MateElsewhere:
		return name(1) + " does not live there, but at " + p.Place(r.From)
	case transfer.NoMate:
		return "nobody there could be its mate"
	case transfer.NotAdvised:
		return "the programme gains nothing by it with " + name(1)
	case transfer.NotWorth:
		return fmt.Sprintf("with %s it gains %s of what a move should be worth", name(1), document.FormatChance(r.Value/r.Other))
	case transfer.SamePlace:
		return "it lives there already"
	case transfer.LocationUnknown:
		return "nobody has written down where it lives"
	}
	return transferReason(p, r)
}

// insteadText names what the decision has instead.
func insteadText(p *pairing.Programme, x *transfer.Judged) string {
	i := x.Instead
	text := p.Name(i.Female) + " with " + p.Name(i.Male)
	switch {
	case i.Move == nil:
		return text + " at " + i.At + ", where both live"
	case i.Move.Bird == x.Bird:
		return text + " at " + i.At
	}
	return text + fmt.Sprintf(" at %s (%s comes from %s)", i.At, p.Book.Birds[i.Move.Bird].ID, orUnknown(i.Move.From))
}

// againstText holds the net gain of what the decision has against that of what was
// asked for, in words, the move of either charged.
func againstText(p *pairing.Programme, x *transfer.Judged) string {
	switch {
	case x.Asked == nil:
		return "which is agreed already"
	case x.Instead.Asked <= 0:
		return "which gains, while this with " + p.Name(x.Asked.Bird) + " would gain nothing"
	case x.Instead.Asked < x.Instead.Charged/1000:
		return "which gains, while this with " + p.Name(x.Asked.Bird) + " would gain next to nothing"
	}
	asked, instead := x.Instead.Asked, x.Instead.Charged
	times := instead / asked
	switch {
	case pairing.AsGood(max(asked, instead), min(asked, instead)):
		return "which gains as much as this with " + p.Name(x.Asked.Bird)
	case times < 1:
		return "which is best for all together, though this with " + p.Name(x.Asked.Bird) + " alone would gain " + document.FormatChance(1/times-1) + " more"
	case times < 2:
		return "which gains " + document.FormatChance(times-1) + " more than this with " + p.Name(x.Asked.Bird)
	}
	return "which gains " + document.FormatNumber(times, 1) + " times as much as this with " + p.Name(x.Asked.Bird)
}
