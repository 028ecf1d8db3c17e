package report

import (
	"fmt"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing/board"
	"pairwright/pairing/review"
)

// BoardDocument lays out the board of a colony as a sheet for the wall: what is to be
// done, the nests, the figures, the birds in no nest. A colony of forty fits on one sheet
// of A4; of a larger one the birds in no nest have the next.
func BoardDocument(b *board.Board) *document.Document {
	p := b.Programme
	d := &document.Document{
		Title: "Board of " + colonyName(p, b.Colony), Lead: boardLead(b) + seemPairedText(b.Programme), Footer: Advice, Brief: true,
		Facts: document.Facts{
			{Name: document.AsOf, Value: document.FormatDay(p.Book.AsOf)},
			{Name: "Season", Value: fmt.Sprintf("%d: %s", b.Plan.Decision.Season.Year, expectedText(p, b.Plan))},
		},
	}
	d.Notes = sentences(notMet(p, b.Plan.Decision))
	add := func(title string, t *document.Table, more ...document.Block) {
		if len(t.Rows) > 0 {
			d.Sections = append(d.Sections, document.Section{Title: title, Blocks: append([]document.Block{t}, more...)})
		}
	}
	today := b.Today
	overdue := taskTable(b, func(t *board.Task) bool { return t.Overdue(today) })
	week := taskTable(b, func(t *board.Task) bool { return t.ThisWeek(today) && !t.Overdue(today) })
	add("Overdue", overdue)
	if len(week.Rows) == 0 {
		d.Sections = append(d.Sections, document.Section{Title: WeekTitle(b), Blocks: []document.Block{document.Paragraph(NothingDue(len(overdue.Rows) > 0))}})
	}
	add(WeekTitle(b), week)
	add("After that", taskTable(b, func(t *board.Task) bool { return !t.ThisWeek(today) }))
	add("Nests", nestTable(b), document.Paragraph(RestNote(b)))
	add("On hold", boardHolds(b))
	d.Sections = append(d.Sections, document.Section{Title: "How it stands", Blocks: []document.Block{glanceFacts(b)}})
	if loose := looseTable(b); len(loose.Rows) > 0 {
		d.Sections = append(d.Sections, document.Section{Title: "Birds in no nest", Whole: true, Blocks: []document.Block{loose}})
	}
	return d
}

// WeekTitle heads what falls due in the week that begins today.
func WeekTitle(b *board.Board) string {
	return "This week, until " + document.FormatDay(b.Today+board.WeekDays-1)
}

// MonthTitle heads what comes next.
func MonthTitle(b *board.Board) string {
	return "After that, until " + document.FormatDay(b.Today+board.MonthDays-1)
}

// NothingDue says that nothing falls due in the week, but for what is overdue.
func NothingDue(overdue bool) string {
	if overdue {
		return "Nothing else falls due."
	}
	return "Nothing falls due."
}

// BoardTasks are the tasks of a board as a keeper goes about them: birds to be banded, or to
// be sexed, by the same day are one, which has all of them.
func BoardTasks(b *board.Board) []board.Task {
	together := func(x, y *board.Task) bool {
		return x.What == y.What && (x.What == board.BandBird || x.What == review.SexBird) && TaskBy(b.Programme, x) == TaskBy(b.Programme, y) && x.Nest == y.Nest && TaskWhy(b.Programme, x) == TaskWhy(b.Programme, y)
	}
	var out []board.Task
	for k := range b.Tasks {
		t := &b.Tasks[k]
		if at := slices.IndexFunc(out, func(x board.Task) bool { return together(&x, t) }); at >= 0 {
			out[at].Birds = slices.Concat(out[at].Birds, t.Birds)
			continue
		}
		out = append(out, *t)
	}
	return out
}

// boardLead counts the birds and what is to be done.
func boardLead(b *board.Board) string {
	n, week, overdue := len(b.Programme.Book.LivingAt(b.Colony)), 0, 0
	if n == 0 {
		return "No bird lives in the colony on this day."
	}
	parts := []string{document.FormatThings(len(b.Nests), "pair", "pairs")}
	for _, state := range board.States {
		count := 0
		for k := range b.Birds {
			if b.Birds[k].Standing.State == state {
				count++
			}
		}
		if count > 0 {
			parts = append(parts, document.FormatCount(count)+" "+string(state))
		}
	}
	tasks := BoardTasks(b)
	for k := range tasks {
		switch t, today := &tasks[k], b.Today; {
		case t.Overdue(today):
			overdue++
		case t.ThisWeek(today):
			week++
		}
	}
	text := fmt.Sprintf("%s: %s.", document.FormatThings(n, "bird", "birds"), document.FormatList(parts, 0))
	if overdue > 0 {
		text += " " + Capital(document.FormatThings(overdue, "thing is", "things are")) + " overdue."
	}
	if week > 0 {
		text += " " + Capital(document.FormatThings(week, "thing is", "things are")) + " due this week."
	}
	return text
}

// laterDays is how far ahead a sheet shows what is to be done: what is farther off has
// time until another sheet hangs there.
const laterDays = 365

// taskTable lists what is to be done of some kind.
func taskTable(b *board.Board, of func(*board.Task) bool) *document.Table {
	t := &document.Table{Columns: []document.Column{
		{Name: "By", Right: true}, deciding(document.Column{Name: "What to do", Wide: true}), {Name: "Nest"}, {Name: "Why", Wide: true}, {Name: "Done"},
	}}
	today, all := b.Today, 0
	tasks := BoardTasks(b)
	for k := range tasks {
		x := &tasks[k]
		if !of(x) {
			continue
		}
		if all++; x.Due > today+laterDays {
			continue
		}
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{
			{Text: TaskBy(b.Programme, x)}, {Text: Capital(TaskWhat(b.Colony, x))}, word(unbroken(x.Nest)), {Text: Capital(TaskWhy(b.Programme, x))}, {Text: "[  ]"},
		}})
	}
	if later := all - len(t.Rows); later > 0 { // a sheet on a wall has no other that could show them
		t.More = Capital(document.FormatThings(later, "more thing is", "more things are")) + " due in more than a year"
	}
	return withoutBlanks(t)
}

func nestTable(b *board.Board) *document.Table {
	p := b.Programme
	t := &document.Table{Columns: []document.Column{
		{Name: "Nest", Key: true}, {Name: "Pair", Wide: true, Whole: true}, {Name: "Since", Right: true}, deciding(document.Column{Name: "The season", Wide: true}), {Name: "In the nest now", Wide: true},
	}}
	for k := range b.Nests {
		n := &b.Nests[k]
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{
			word(unbroken(n.Nest)), {Text: unbroken(p.Name(n.Female)) + " and " + unbroken(p.Name(n.Male))}, {Text: document.FormatDate(n.Since)}, {Text: Capital(NestAsks(p, n))}, {Text: Capital(NestNow(p, n))},
		}})
	}
	return withoutBlanks(t)
}

func looseTable(b *board.Board) *document.Table {
	p := b.Programme
	t := &document.Table{Columns: []document.Column{birdColumn, sexColumn, {Name: "Years", Right: true}, {Name: "Is"}, deciding(document.Column{Name: "What becomes of it", Wide: true})}}
	for k := range b.Birds {
		x := &b.Birds[k]
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{
			{Text: unbroken(p.Name(x.Bird))}, {Text: p.Book.Birds[x.Bird].Sex.String()}, ageCell(x.Age, x.AgePlusMinus, x.AgeKnown), {Text: unbroken(BirdIs(x))}, {Text: Capital(BirdNext(p, x))},
		}})
	}
	return t
}

// Glance is a figure of the review's first page in words.
type Glance struct {
	Name, Now string
	Beside    string // the year before and the goal
}

// Glances are the figures of the review's first page.
func Glances(b *board.Board) []Glance {
	var out []Glance
	t := glanceTable(b.Glances)
	for k, row := range t.Rows {
		g := &b.Glances[k]
		figure, standing, now, then, goal := row.Cells[0].Text, row.Cells[1].Text, row.Cells[2].Text, row.Cells[3].Text, row.Cells[4].Text
		beside := "last year " + then
		if g.Goal.Known {
			beside += "; goal " + goal + ": " + standing
			if g.Reach != nil {
				beside += " " + reachText(g.Reach)
			}
		}
		out = append(out, Glance{figure, now, beside})
	}
	return out
}

// glanceFacts are the same, a line each.
func glanceFacts(b *board.Board) document.Facts {
	var facts document.Facts
	for _, g := range Glances(b) {
		facts = append(facts, document.Fact{Name: g.Name, Value: g.Now + ", " + g.Beside})
	}
	return facts
}

func boardHolds(b *board.Board) *document.Table {
	t := &document.Table{Columns: []document.Column{birdColumn, {Name: "Since", Right: true}, {Name: "Until", Right: true}, {Name: "Why", Wide: true}}}
	for k := range b.Holds {
		h := &b.Holds[k]
		until := "further notice"
		if h.Until.Known() {
			until = document.FormatDate(h.Until)
		}
		bird, _ := b.Programme.Book.Index(h.ID)
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: b.Programme.Name(bird)}, {Text: document.FormatDate(h.Since)}, {Text: until}, {Text: Capital(HoldText(h))}}})
	}
	return t
}

// unbroken keeps a short text on one line.
func unbroken(s string) string { return strings.ReplaceAll(s, " ", "\u00a0") }
