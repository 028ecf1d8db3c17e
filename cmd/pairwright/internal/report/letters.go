package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
	"pairwright/pairing/transfer"
	"pairwright/pedigree/studbook"
)

// ProgrammeDocument lays out a plan for the whole programme with a section for each
// institution.
func ProgrammeDocument(p *pairing.Programme, plan *pairing.Plan, parts []transfer.Part, why string) *document.Document {
	d := PlanDocument(p, plan, why)
	d.Sections = nil
	for k := range parts {
		blocks := []document.Block{document.Paragraph(partLead(p, &parts[k]))}
		for _, s := range partSections(p, plan, &parts[k]) {
			for _, b := range s.Blocks {
				if t, is := b.(*document.Table); is && t.Caption == "" {
					t.Caption = s.Title
				}
				blocks = append(blocks, b)
			}
		}
		d.Sections = append(d.Sections, document.Section{Title: placeTitle(p, parts[k].Code), Anchor: fmt.Sprintf("place-%d", k+1), Blocks: blocks})
	}
	if len(plan.InTheWay) > 0 {
		d.Sections = append(d.Sections, document.Section{Title: "Bonds that stand in the way", Blocks: obstacles(p, plan)})
	}
	d.Sections = append(d.Sections, document.Section{Title: "What it is worth", Blocks: []document.Block{worthFacts(plan)}})
	d.Notes = append([]string{rolesNote(p)}, d.Notes...)
	return d
}

// LetterDocument is what the plan asks of one institution, as a page to send.
func LetterDocument(p *pairing.Programme, plan *pairing.Plan, part *transfer.Part) *document.Document {
	d := &document.Document{
		Title: fmt.Sprintf("Season %d: what is asked of %s", plan.Decision.Season.Year, placeTitle(p, part.Code)),
		Lead:  partLead(p, part), Facts: about(p), Footer: Advice, Brief: true,
		Sections: partSections(p, plan, part),
		Notes:    []string{rolesNote(p)},
	}
	if in, ok := p.Book.Institution(part.Code); ok && in.Contact != "" {
		d.Facts = append(document.Facts{{Name: "To", Value: in.Contact}}, d.Facts...)
	}
	return d
}

func placeTitle(p *pairing.Programme, code string) string {
	if code == "" && !p.Book.Colony.HasLocation {
		return colonyName(p, code)
	}
	return capital(p.Place(code))
}

// rolesNote explains what is asked of pairs.
func rolesNote(p *pairing.Programme) string {
	return fmt.Sprintf("Planned pairs keep their eggs from the start. Reserves keep theirs, in their order through the whole programme, until the planned ones have been candled, about %s after the first egg; then they stay if a planned pair fails, else their eggs are replaced. The eggs of pairs at rest are replaced by dummies as they are laid.",
		document.FormatThings(p.Settings().CandlingDays, "day", "days"))
}

// partLead counts what is asked of an institution.
func partLead(p *pairing.Programme, part *transfer.Part) string {
	planned, reserves := 0, 0
	for _, x := range part.Pairs {
		switch x.Role {
		case pairing.Planned:
			planned++
		case pairing.Reserve:
			reserves++
		}
	}
	var say []string
	add := func(n int, one, many string) {
		if n > 0 {
			say = append(say, document.FormatThings(n, one, many))
		}
	}
	add(planned, "pair hatches chicks", "pairs hatch chicks")
	add(reserves, "pair stands in reserve", "pairs stand in reserve")
	add(len(part.Out), "bird leaves", "birds leave")
	add(len(part.In), "bird comes", "birds come")
	add(len(part.YoungOut), "young bird is to leave in the years ahead", "young birds are to leave in the years ahead")
	add(len(part.YoungIn), "young bird is to come in the years ahead", "young birds are to come in the years ahead")
	if len(say) == 0 {
		return "Nothing is asked for: no pair hatches and no bird moves."
	}
	text := capital(document.FormatList(say, 0)) + "."
	if part.Expected > 0 {
		text += " " + document.FormatNumber(part.Expected, 1) + " chicks are to be expected."
	}
	return text
}

// task is one thing that an institution is asked to do.
type task struct {
	what, why string
	by        studbook.Day // 0 where no day presses
}

// partSections are what is asked by when, then the pairs, and the birds alone.
func partSections(p *pairing.Programme, plan *pairing.Plan, part *transfer.Part) []document.Section {
	var sections []document.Section
	if tasks := partTasks(p, plan, part); len(tasks) > 0 {
		t := &document.Table{Columns: []document.Column{deciding(document.Column{Name: "What to do", Key: true, Wide: true}), {Name: "By"}, {Name: "Why", Wide: true}}}
		for _, x := range tasks {
			by := document.Unknown
			if x.by != 0 {
				by = document.FormatDay(x.by)
			}
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: x.what}, {Text: by}, {Text: capital(x.why)}}})
		}
		sections = append(sections, document.Section{Title: "What is asked", Blocks: []document.Block{t}})
	}
	if len(part.Pairs) > 0 {
		t := &document.Table{Columns: []document.Column{
			deciding(document.Column{Name: "Role"}), {Name: "Order", Right: true}, {Name: "Female", Key: true}, {Name: "Male", Key: true}, {Name: "Up to", Unit: "chicks", Right: true},
			{Name: "Expected", Unit: "chicks", Right: true}, {Name: "F of a chick", Right: true}, {Name: "Bond"},
		}}
		for _, x := range part.Pairs {
			order := document.Cell{Text: document.Unknown}
			if x.Order > 0 {
				order = countCell(x.Order)
			}
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{
				{Text: string(x.Role)}, order, {Text: p.Name(x.Female)}, {Text: p.Name(x.Male)}, countCell(x.HatchUpTo),
				{Text: document.FormatNumber(x.Expected, 1), Value: x.Expected}, kinshipCell(x.Kinship), {Text: string(x.Kind)},
			}})
		}
		sections = append(sections, document.Section{Title: "Pairs", Blocks: []document.Block{t}})
	}
	if len(part.Alone) > 0 {
		t := &document.Table{Columns: []document.Column{birdColumn, sexColumn, {Name: "State"}, {Name: "Why", Wide: true}}}
		for _, x := range part.Alone {
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{
				{Text: p.Name(x.Bird)}, {Text: p.Book.Birds[x.Bird].Sex.String()}, {Text: string(p.State(x.Bird).State)}, {Text: capital(AloneText(p, x))},
			}})
		}
		sections = append(sections, document.Section{Title: "Birds without a mate", Blocks: []document.Block{t}})
	}
	return sections
}

// partTasks lists what an institution is asked to do, the first day first; what has
// no day comes last.
func partTasks(p *pairing.Programme, plan *pairing.Plan, part *transfer.Part) []task {
	var tasks []task
	add := func(by studbook.Day, what, why string) { tasks = append(tasks, task{what, why, by}) }
	start := plan.Decision.Season.Start
	for _, x := range part.Eggs {
		pair := p.Name(x.Female) + " and " + p.Name(x.Male)
		switch x.Advice {
		case pairing.LeaveEggs:
			continue
		case pairing.CandleEggs:
			add(x.By, "Candle the eggs of "+pair, EggReason(p, x))
		case pairing.FosterEggs:
			add(x.By, "Give the eggs of "+pair+" to "+p.Name(x.To[0])+" and "+p.Name(x.To[1]), EggReason(p, x))
		default:
			add(x.By, "Replace the eggs of "+pair, EggReason(p, x))
		}
	}
	for k := range part.Out {
		m := &part.Out[k]
		add(m.Timing.Latest, "Send "+p.Name(m.Mover())+" to "+p.Place(m.Moves[0].To), moveWhy(p, plan, m))
	}
	for k := range part.In {
		m := &part.In[k]
		add(m.Timing.Latest, fmt.Sprintf("Take in %s from %s, with %s of quarantine", p.Name(m.Mover()), p.Place(m.Moves[0].From), document.FormatThings(m.Moves[0].Quarantine, "day", "days")), moveWhy(p, plan, m))
	}
	for _, x := range part.Part {
		add(0, "Part "+p.Name(x.Female)+" and "+p.Name(x.Male)+", between seasons", strings.Join(PlannedReasons(p, x), "; "))
	}
	for _, x := range part.Pairs {
		pair := p.Name(x.Female) + " and " + p.Name(x.Male)
		if x.Kind == pairing.BondNew && x.Move == nil {
			add(start, "Bring together "+pair, planWhy(p, x))
		}
		if x.Role == pairing.Planned {
			add(start, fmt.Sprintf("Let %s hatch up to %s", pair, document.FormatThings(x.HatchUpTo, "chick", "chicks")), "planned, number "+document.FormatCount(x.Order)+" in the programme")
			if x.Order == 0 {
				tasks[len(tasks)-1].why = planWhy(p, x)
			}
		}
	}
	for k := range part.YoungOut {
		m := &part.YoungOut[k]
		add(m.Young.When, "Send "+p.Name(m.Mover())+" to "+p.Place(m.Young.To), YoungText(p, m.Young))
	}
	for k := range part.YoungIn {
		m := &part.YoungIn[k]
		add(m.Young.When, "Take in "+p.Name(m.Mover())+" from "+p.Place(m.Young.From), YoungText(p, m.Young))
	}
	slices.SortStableFunc(tasks, func(a, b task) int {
		last := func(t task) int {
			if t.by == 0 {
				return 1
			}
			return 0
		}
		return cmp.Or(last(a)-last(b), cmp.Compare(a.by, b.by))
	})
	return tasks
}

// moveWhy says what a move is for.
func moveWhy(p *pairing.Programme, plan *pairing.Plan, m *transfer.Listed) string {
	text := "agreed, without a mate"
	if len(m.Pairs) > 0 {
		text = "for " + p.Name(Partner(m.Pairs[0], m.Mover()))
	}
	for _, w := range plan.Decision.Words() {
		if w.Standing == pairing.WordFixed && w.What == studbook.RulesMove && w.Ruling.Birds[0] == p.Book.Birds[m.Mover()].ID {
			r := w.Reason(p)
			text += "; " + saidText(&r)
		}
	}
	return text
}

// planWhy is the first reason of a pair.
func planWhy(p *pairing.Programme, x *pairing.PlannedPair) string {
	say := PlannedReasons(p, x)
	if len(say) == 0 {
		return ""
	}
	return say[0]
}
