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
func ProgrammeDocument(p *pairing.Programme, plan *pairing.Plan, parts []transfer.InstitutionPlan, why string) *document.Document {
	d := PlanDocument(p, plan, why)
	d.Sections = desk(p, parts)
	for k := range parts {
		blocks := []document.Block{document.Paragraph(partLead(&parts[k]))}
		for _, s := range partSections(p, plan, &parts[k]) {
			for _, b := range s.Blocks {
				if t, is := b.(*document.Table); is && t.Caption == "" {
					t.Caption = s.Title
				}
				blocks = append(blocks, b)
			}
		}
		d.Sections = append(d.Sections, document.Section{Title: placeTitle(p, parts[k].Code), Anchor: placeAnchor(k), Apart: true, Blocks: blocks})
	}
	worth := document.Section{Title: "What it is worth", Apart: true, Blocks: []document.Block{worthFacts(plan)}}
	if len(plan.InTheWay) > 0 {
		d.Sections = append(d.Sections, document.Section{Title: "Bonds that stand in the way", Apart: true, Blocks: obstacles(p, plan)})
		worth.Apart = false
	}
	d.Sections = append(d.Sections, worth)
	d.Notes = append([]string{rolesNote(p)}, d.Notes...)
	return d
}

func placeAnchor(k int) string { return fmt.Sprintf("place-%d", k+1) }

// desk is what a coordinator sees first: how much is asked of whom, and every move.
func desk(p *pairing.Programme, parts []transfer.InstitutionPlan) []document.Section {
	t := &document.Table{Columns: []document.Column{
		{Name: "Institution", Key: true}, deciding(document.Column{Name: "First day", Right: true}), {Name: "Sends", Unit: "birds", Right: true}, {Name: "Takes in", Unit: "birds", Right: true},
		{Name: "New pairs", Right: true}, {Name: "Planned", Unit: "pairs", Right: true}, {Name: "Reserve", Unit: "pairs", Right: true}, {Name: "Expected", Unit: "chicks", Right: true}, {Name: "Young to send", Unit: "birds", Right: true},
	}}
	moves := &document.Table{Columns: []document.Column{{Name: "Bird", Key: true}, agreeByColumn, deciding(document.Column{Name: "Leave by"}), {Name: "From"}, {Name: "To"}, {Name: "For"}}}
	for k := range parts {
		x := &parts[k]
		first := document.Cell{Text: document.Unknown}
		var days []studbook.Day
		for _, m := range slices.Concat(x.Out, x.In) {
			if by := cmp.Or(m.AgreeBy(), m.LeaveBy()); by != 0 {
				days = append(days, max(by, p.Book.AsOf))
			}
		}
		for _, e := range x.Eggs {
			if e.Advice != pairing.LeaveEggs {
				days = append(days, e.By)
			}
			if e.SettleBy != 0 {
				days = append(days, e.SettleBy)
			}
		}
		if len(days) > 0 {
			first.Text = document.FormatDay(slices.Min(days))
		}
		roles := map[pairing.Role]int{}
		formed := 0
		for _, pair := range x.Pairs {
			roles[pair.Role]++
			if pair.Kind == pairing.BondNew {
				formed++
			}
		}
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{
			{Text: placeTitle(p, x.Code), Link: placeAnchor(k)}, first, countCell(len(x.Out)), countCell(len(x.In)), countCell(formed),
			countCell(roles[pairing.Planned]), countCell(roles[pairing.Reserve]), {Text: document.FormatNumber(x.Expected, 1), Value: x.Expected}, countCell(len(x.YoungOut)),
		}})
		for i := range x.Out {
			m := &x.Out[i]
			mate := document.Unknown
			if len(m.Pairs) > 0 {
				b := m.Pairs[0].Mate(m.Mover())
				mate = p.Name(b) + heed(p, m.Mover(), b)
			}
			mate += moveHeed(p, m)
			moves.Rows = append(moves.Rows, document.Row{Cells: []document.Cell{
				{Text: p.Name(m.Mover())}, agreeByCell(p, m), word(document.FormatDay(m.Timing.Latest)), word(m.Moves[0].From), {Text: m.Moves[0].To}, {Text: mate},
			}})
		}
	}
	sections := []document.Section{{Title: "What is asked of whom", Blocks: []document.Block{t}}}
	if len(moves.Rows) > 0 {
		sections = append(sections, document.Section{Title: "Moves", Blocks: []document.Block{moves}})
	}
	return sections
}

// LetterDocument is what the plan asks of one institution, as a page to send.
func LetterDocument(p *pairing.Programme, plan *pairing.Plan, part *transfer.InstitutionPlan) *document.Document {
	to := placeTitle(p, part.Code)
	return &document.Document{
		Title: fmt.Sprintf("Season %d: what is asked of %s", plan.Decision.Season.Year, to),
		Lead:  partLead(part), About: about(p), Footer: Advice,
		Facts:    document.Facts{{Name: "From", Value: Capital(coordinator(p))}, {Name: "To", Value: contact(p, part.Code)}, {Name: "Sent", Value: "on " + dayBlank + "; please answer " + answerBy(p, part)}},
		Sections: append(partSections(p, plan, part), document.Section{Title: "Signatures", Blocks: []document.Block{signatures("For the programme", "For "+to)}}),
		Notes:    []string{rolesNote(p), eggsNote},
	}
}

// answerBy says by when an institution is to answer: before the first of its moves is to be
// agreed on, or before pairs form.
func answerBy(p *pairing.Programme, part *transfer.InstitutionPlan) string {
	first := p.BeforePairsForm()
	for _, m := range slices.Concat(part.Out, part.In) {
		if by := m.AgreeBy(); by != 0 && (first == 0 || by < first) {
			first = by
		}
	}
	switch {
	case first == 0:
		return "by " + dayBlank
	case first <= p.Book.AsOf:
		return "at once"
	}
	return "by " + document.FormatDay(first)
}

// coordinator names who asks for the programme.
func coordinator(p *pairing.Programme) string {
	return "the programme's coordinator, " + cmp.Or(p.Settings().Coordinator, longBlank)
}

// signatures has room for those who answer for what a document asks.
func signatures(who ...string) *document.Table {
	t := &document.Table{Sign: true, Columns: []document.Column{{Name: "Signed", Key: true}, {Name: "Agreed, but for"}, {Name: "Name and signature"}, {Name: "Date"}}}
	for _, w := range who {
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: w}, {Text: longBlank}, {Text: longBlank}, {Text: blank}}})
	}
	return t
}

func placeTitle(p *pairing.Programme, code string) string {
	if code == "" && !p.Book.Colony.HasLocation {
		return colonyName(p, code)
	}
	return Capital(p.Place(code))
}

// rolesNote explains what is asked of pairs.
func rolesNote(p *pairing.Programme) string {
	return fmt.Sprintf("Planned pairs keep their eggs from the start. Reserves keep theirs, in their order through the whole programme, until the planned ones have been candled, about %s after the first egg; then they stay if a planned pair fails, else their eggs are replaced. The eggs of pairs at rest are replaced by dummies as they are laid. What is asked here is for the whole programme, and goes before what an institution plans for its own number.",
		document.FormatThings(p.Settings().CandlingDays, "day", "days"))
}

// partLead counts what is asked of an institution.
func partLead(part *transfer.InstitutionPlan) string {
	planned, reserves, formed := 0, 0, 0
	for _, x := range part.Pairs {
		if x.Kind == pairing.BondNew {
			formed++
		}
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
	add(formed, "new pair is formed", "new pairs are formed")
	add(len(part.Out), "bird leaves", "birds leave")
	add(len(part.In), "bird comes", "birds come")
	add(len(part.YoungOut), "young bird is to leave later", "young birds are to leave later")
	add(len(part.YoungIn), "young bird is to come later", "young birds are to come later")
	if len(say) == 0 {
		return "Nothing is asked for: no pair hatches and no bird moves."
	}
	text := Capital(document.FormatList(say, 0)) + "."
	if part.Expected > 0 {
		text += " " + document.FormatNumber(part.Expected, 1) + " chicks should come on average"
		if reserves > 0 {
			text += ", reserves included"
		}
		text += "."
	}
	return text
}

// task is one thing that an institution is asked to do.
type task struct {
	what, why string
	by        studbook.Day     // 0 where no day presses
	move      *transfer.Listed // of a bird; nil of other things
}

// first is the day that a task presses from: of a move that on which it is to be agreed
// on, 0 where none is known.
func (t *task) first() studbook.Day {
	if t.move == nil {
		return t.by
	}
	return cmp.Or(t.move.AgreeBy(), t.by)
}

// whatText says what to do, and of a move by when it is to be agreed on and its permit
// applied for; of a young bird there are years until then.
func (t *task) whatText(p *pairing.Programme) string {
	if t.move == nil || t.move.Young != nil || t.move.AgreeBy() == 0 {
		return t.what
	}
	text := t.what + "; agree"
	if m := &t.move.Moves[0]; m.Abroad && m.PermitWeeks > 0 {
		text += fmt.Sprintf(" and apply (permit: %s)", document.FormatThings(m.PermitWeeks, "week", "weeks"))
	}
	if t.move.AgreeBy() <= p.Book.AsOf {
		return text + " at once"
	}
	return text + " by " + document.FormatDay(t.move.AgreeBy())
}

// partSections are what is asked by when, then the pairs, and the birds alone.
func partSections(p *pairing.Programme, plan *pairing.Plan, part *transfer.InstitutionPlan) []document.Section {
	var sections []document.Section
	if tasks := partTasks(p, plan, part); len(tasks) > 0 {
		t := &document.Table{Columns: []document.Column{deciding(document.Column{Name: "What to do", Key: true, Wide: true}), {Name: "By"}, {Name: "Why", Wide: true}}}
		for _, x := range tasks {
			by := document.Unknown
			if x.by != 0 {
				by = document.FormatDay(x.by)
			}
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: Capital(x.whatText(p))}, {Text: by}, {Text: Capital(x.why)}}})
		}
		sections = append(sections, document.Section{Title: "What is asked", Blocks: []document.Block{t}})
	}
	var breed, rest []*pairing.PlannedPair
	for _, x := range part.Pairs {
		if x.Role == pairing.Rest && x.Kind != pairing.BondNew {
			if x.ToExamine() {
				continue // a task says what to do with them
			}
			rest = append(rest, x)
		} else {
			breed = append(breed, x)
		}
	}
	var pairs []document.Block
	if len(breed) > 0 {
		t := roleTable(p, breed)
		t.Columns = append(t.Columns, document.Column{Name: "Why", Wide: true})
		for k, x := range breed {
			t.Rows[k].Cells = append(t.Rows[k].Cells, document.Cell{Text: Capital(letterWhy(p, x))})
		}
		pairs = append(pairs, t)
	}
	if len(rest) > 0 {
		pairs = append(pairs, restList(p, rest))
	}
	if len(pairs) > 0 {
		sections = append(sections, document.Section{Title: "Pairs", Blocks: pairs})
	}
	grown := slices.DeleteFunc(slices.Clone(part.Alone), func(x *pairing.Alone) bool { return x.Reason.Is(pairing.TooYoung, pairing.SexUnknown) })
	if len(grown) > 0 { // nothing is asked of the others
		sections = append(sections, document.Section{Title: "Birds without a mate", Blocks: aloneBlocks(p, grown)})
	}
	return sections
}

// letterWhy says what a letter says of a pair beside its figures, in a few words: a page is
// to do for an institution.
func letterWhy(p *pairing.Programme, x *pairing.PlannedPair) string {
	return whyPair(p, x, func(r *pairing.Reason) string {
		switch r.Code {
		case pairing.ChickOf, pairing.NotNeeded, pairing.PairKinship:
			return ""
		case pairing.RareGenes:
			return "rare genes"
		}
		return planText(p, r)
	})
}

// restList says why pairs rest, those with one reason together.
func restList(p *pairing.Programme, rest []*pairing.PlannedPair) document.List {
	var say []string
	same := map[string][]*pairing.PlannedPair{}
	for _, x := range rest {
		why := restWhy(p, x)
		if same[why] == nil {
			say = append(say, why)
		}
		same[why] = append(same[why], x)
	}
	for k, why := range say {
		text := pairNames(p, same[why])
		if why != "" {
			text += ": " + why
		}
		begin := "At rest, every egg replaced as it is laid: "
		switch _, occupied := same[why][0].Occupied(); {
		case occupied:
			begin = ""
		case same[why][0].Disputed():
			begin = "At rest, and no egg taken before it is settled: "
		}
		say[k] = begin + text + "."
	}
	return say
}

// restWhy says why a pair rests.
func restWhy(p *pairing.Programme, x *pairing.PlannedPair) string {
	return whyPair(p, x, func(r *pairing.Reason) string {
		switch r.Code {
		case pairing.ChickOf, pairing.RareGenes, pairing.PairKinship:
			return ""
		case pairing.NotNeeded:
			return "not needed"
		}
		return planText(p, r)
	})
}

// pairNames lists pairs in running text.
func pairNames(p *pairing.Programme, pairs []*pairing.PlannedPair) string {
	var say []string
	for _, x := range pairs {
		say = append(say, p.Name(x.Female)+" and "+p.Name(x.Male))
	}
	return strings.Join(say, "; ")
}

// aloneBlocks say why birds stay alone: in a line those who cannot breed yet, in a
// table the others, with their states where any is another than free.
func aloneBlocks(p *pairing.Programme, alone []*pairing.Alone) []document.Block {
	t := &document.Table{Columns: []document.Column{birdColumn, sexColumn, {Name: "State"}, {Name: "Why", Wide: true}}}
	var young, unsexed []string
	free := true
	for _, x := range alone {
		switch state := p.State(x.Bird).State; {
		case x.Reason.Is(pairing.TooYoung):
			young = append(young, p.Name(x.Bird))
		case x.Reason.Is(pairing.SexUnknown):
			unsexed = append(unsexed, p.Name(x.Bird))
		default:
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{
				{Text: p.Name(x.Bird)}, {Text: p.Book.Birds[x.Bird].Sex.String()}, {Text: string(state)}, {Text: Capital(AloneText(p, x))},
			}})
			free = free && state == pairing.StateFree
		}
	}
	if free {
		t.Columns = slices.Delete(t.Columns, 2, 3)
		for k := range t.Rows {
			t.Rows[k].Cells = slices.Delete(t.Rows[k].Cells, 2, 3)
		}
	}
	var blocks []document.Block
	if len(t.Rows) > 0 {
		blocks = append(blocks, t)
	}
	var others []string
	if len(young) > 0 {
		others = append(others, "Too young to breed: "+document.FormatList(young, 0)+".")
	}
	if len(unsexed) > 0 {
		others = append(others, "Of unknown sex: "+document.FormatList(unsexed, 0)+".")
	}
	if len(others) > 0 {
		blocks = append(blocks, document.Paragraph(strings.Join(others, " ")))
	}
	return blocks
}

// partTasks lists what an institution is asked to do, the first day first; what has
// no day comes last.
func partTasks(p *pairing.Programme, plan *pairing.Plan, part *transfer.InstitutionPlan) []task {
	var tasks []task
	add := func(by studbook.Day, what, why string) { tasks = append(tasks, task{what: what, why: why, by: by}) }
	addMove := func(m *transfer.Listed, what, why string) {
		if m.Young != nil && m.Young.Anew != 0 { // no day presses for what is decided anew before
			add(0, what, why)
			return
		}
		tasks = append(tasks, task{what: what, why: why, by: m.LeaveBy(), move: m})
	}
	start, form := plan.Decision.Season.Start, p.BeforePairsForm()
	var hatch, reserves []string
	chicks := 0 // that they may hatch
	resting, disputed := 0, 0
	for _, x := range part.Eggs {
		pair := p.Name(x.Female) + " and " + p.Name(x.Male)
		if x.SettleBy != 0 {
			add(x.SettleBy, settleTask(pair), EggReason(p, x))
		}
		switch x.Advice {
		case pairing.LeaveEggs:
			continue
		case pairing.FosterEggs:
			add(x.By, eggsTask(x.Advice, pair, p.Name(x.To[0])+" and "+p.Name(x.To[1])), EggReason(p, x))
		default:
			if x.TakenAway() {
				add(x.By, takeAwayTask(pair), EggReason(p, x))
				continue
			}
			add(x.By, eggsTask(x.Advice, pair, ""), EggReason(p, x))
		}
	}
	for k := range part.Out {
		m := &part.Out[k]
		addMove(m, sendTask(p.Name(m.Mover()), p.Place(m.Moves[0].To)), moveWhy(p, plan, m))
	}
	for k := range part.In {
		m := &part.In[k]
		addMove(m, fmt.Sprintf("%s, with %s of quarantine", takeInTask(p.Name(m.Mover()), p.Place(m.Moves[0].From)), document.FormatThings(m.Moves[0].Quarantine, "day", "days")), moveWhy(p, plan, m))
	}
	for _, x := range part.ToPart {
		add(0, "Part "+p.Name(x.Female)+" and "+p.Name(x.Male)+", between seasons", strings.Join(PlannedReasons(p, x), "; "))
	}
	for _, x := range part.Pairs {
		pair := p.Name(x.Female) + " and " + p.Name(x.Male)
		if x.Kind == pairing.BondNew && x.Move == nil {
			add(form, bondTask(pair), rowWhy(p, x, true))
		}
		switch {
		case x.Role == pairing.Planned && x.Order == 0:
			add(start, fmt.Sprintf("Let %s hatch up to %s", pair, document.FormatThings(x.HatchUpTo, "chick", "chicks")), rowWhy(p, x, true))
		case x.ToExamine() && eggsAreClear(plan, x):
			add(form, "Sex "+pair+" and ask the veterinarian. "+clearNote, failingWhy(x)+"; none of the eggs that lie there is fertile")
		case x.ToExamine():
			add(form, "Leave and candle the eggs of "+pair+", sex both birds and ask the veterinarian", failingWhy(x))
		case x.Role == pairing.Planned:
			hatch, chicks = append(hatch, pair), chicks+x.HatchUpTo
		case x.Role == pairing.Reserve:
			reserves = append(reserves, pair)
		case x.Role == pairing.Rest && x.Kind != pairing.BondNew:
			switch _, occupied := x.Occupied(); {
			case x.Disputed():
				disputed++
			case !occupied:
				resting++
			}
			if isFailing(x) {
				add(form, causeTask(pair), failingWhy(x))
			}
		}
	}
	pairs := func(all []string, kind string) string { // the list of pairs names them
		if len(all) == 1 {
			return all[0]
		}
		return "the " + document.FormatThings(len(all), kind+" pair", kind+" pairs")
	}
	if len(hatch) > 0 {
		add(start, fmt.Sprintf("Let %s hatch, up to %s in all", pairs(hatch, "planned"), document.FormatThings(chicks, "chick", "chicks")), "planned")
	}
	if len(reserves) > 0 {
		add(start, fmt.Sprintf("Keep the eggs of %s until the planned pairs are candled", pairs(reserves, "reserve")), "in reserve")
	}
	if resting > 0 {
		add(start, "Replace each egg by a dummy as it is laid: "+document.FormatThings(resting, "pair", "pairs")+" at rest", "see the list")
	}
	if disputed > 0 {
		add(start, "Settle with the coordinator before any egg is taken: "+document.FormatThings(disputed, "pair", "pairs")+" at rest here that the colony's own plan wants chicks of", "see the list")
	}
	for k := range part.YoungOut {
		m := &part.YoungOut[k]
		addMove(m, sendTask(p.Name(m.Mover()), p.Place(m.Young.To)), youngWhy(p, m))
	}
	for k := range part.YoungIn {
		m := &part.YoungIn[k]
		addMove(m, takeInTask(p.Name(m.Mover()), p.Place(m.Young.From)), youngWhy(p, m))
	}
	slices.SortStableFunc(tasks, func(a, b task) int {
		last := func(t task) int {
			if t.first() == 0 {
				return 1
			}
			return 0
		}
		return cmp.Or(last(a)-last(b), cmp.Compare(a.first(), b.first()))
	})
	return tasks
}

// failingWhy says in short why a pair is to be examined.
func failingWhy(x *pairing.PlannedPair) string {
	r, _ := x.Failing()
	return decisionReason(nil, &r)
}

// moveWhy says what a move is for.
func moveWhy(p *pairing.Programme, plan *pairing.Plan, m *transfer.Listed) string {
	text := "agreed, without a mate"
	if len(m.Pairs) > 0 {
		mate := m.Pairs[0].Mate(m.Mover())
		text = "for " + p.Name(mate) + heed(p, m.Mover(), mate)
	}
	for _, w := range plan.Decision.Rulings() {
		if w.Standing == pairing.RulingFixed && w.What == studbook.RulesMove && w.Ruling.Birds[0] == p.Book.Birds[m.Mover()].ID {
			r := w.Reason(p)
			text += "; " + saidText(&r)
		}
	}
	if len(m.Pairs) > 0 && plan.Rests(m.Pairs[0].Female, m.Pairs[0].Male) {
		text += "; " + restsFirst(plan.Decision.Season.Year)
	}
	return text + moveHeed(p, m)
}

// youngWhy says what a young bird is wanted elsewhere for.
func youngWhy(p *pairing.Programme, m *transfer.Listed) string {
	if m.Young.Mate < 0 {
		return "as was agreed"
	}
	return p.Name(m.Young.Mate) + " would be its mate" + heed(p, m.Young.Bird, m.Young.Mate) + anewHeed(m.Young)
}
