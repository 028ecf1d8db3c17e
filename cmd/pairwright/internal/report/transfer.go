package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/drawing"
	"pairwright/pairing"
	"pairwright/pairing/transfer"
	"pairwright/pedigree/studbook"
)

// blank stands for what the files do not give and a person must fill in.
const (
	blank     = "________"
	dayBlank  = blank + blank
	longBlank = blank + blank + blank // for names
)

// TransferDocument is the request for a transfer, one page to send with an
// appendix, or, where no bird need move, the answer that says so. Where a request for the
// move is on file, its receiver has asked; else asker is the institution that asks, if it
// is one of the two ends of the first move, and the place of the bird if it is not.
func TransferDocument(p *pairing.Programme, c *transfer.Case, asker string) *document.Document {
	if c.Best == nil {
		return noTransfer(p, c)
	}
	first := c.Best.Moves[0]
	if asker != first.From && asker != first.To {
		asker = p.Book.Birds[c.Bird].Location
	}
	if c.Request != nil {
		asker = first.To
	}
	asked := first.From
	if asker == first.From {
		asked = first.To
	}
	d := &document.Document{
		Title: "Transfer request: " + journeys(p, c.Best),
		Facts: document.Facts{
			{Name: "Asked", Value: askText(p, c, asker, asked)}, {Name: "Why", Value: whyText(p, c)}, {Name: "Answer", Value: answerText(p, c)},
			{Name: "Who asks", Value: contact(p, asker)}, {Name: "Asked of", Value: contact(p, asked)},
			sentFact(p, c),
		},
		About: about(p), Footer: Advice, Brief: true, Portable: true,
	}
	if c.Waiting != nil {
		d.Facts = append(d.Facts, document.Fact{Name: "So far", Value: Capital(WaitingText(p, c)) + "."})
	}
	cautions := Cautions(p, c)
	d.Sections = []document.Section{
		{Title: "The birds", Blocks: []document.Block{birdsSideBySide(p, c, 0, rowsToDecideBy)}},
		{Title: "What it changes", Blocks: []document.Block{document.List(effectTexts(p, c))}},
	}
	if len(c.Alternatives) > 0 {
		d.Sections = append(d.Sections, document.Section{Title: "Alternatives considered", Blocks: []document.Block{alternativeTable(p, c)}})
	}
	d.Sections = append(d.Sections, document.Section{Title: "Timing", Blocks: []document.Block{document.List(timingTexts(p, c))}})
	if len(cautions) > 0 {
		d.Sections = append(d.Sections, document.Section{Title: "Cautions", Blocks: []document.Block{document.List(sentences(cautions[:min(len(cautions), cautionsToDecideBy)]))}})
	}
	d.Sections = append(d.Sections,
		document.Section{Title: "Before the move", Blocks: []document.Block{document.Paragraph(strings.Join(checklist, "\u00a0\u00a0 "))}},
		document.Section{Title: "Decisions", Blocks: []document.Block{decisionTable(c)}})
	rest := slices.Concat(cautions[min(len(cautions), cautionsToDecideBy):], TransferReasons(p, c.Unknown))
	d.Sections = append(d.Sections, appendix(p, c, rest)...)
	d.Notes = []string{
		"The effects count nothing but this request: chicks of other pairs and deaths are left out. Figures of a colony are those of the birds that live there, measured among themselves; those of the programme count every living bird, founders included. A move alone changes no figure of the programme.",
		fmt.Sprintf("After a season: the mean over the broods that the new pair may hatch in its first season, binomial with at most %d chicks and the expected number as its mean.", max(p.Settings().ChicksPerPair, 1)),
		"Who is paired with whom, and who moves for it, is decided once for the whole programme, so that no bird is promised to two. Net gain for " + p.Book.Birds[c.Bird].ID + ": what the programme gains by a pair, less what the mate would do otherwise, so that the same move has another net gain as seen from the mate; a pair must gain more than a move should be worth to be asked for.",
		fmt.Sprintf("A bird is taken to sit or to feed chicks for %d days after it laid, unless the end of the clutch is on record (common practice, no source); a whole month of laying or moult counts as closed.", pairing.RearingDays),
		"A pair bond cannot be forced: give the birds time and let them choose. Law on live transport, animal health and protected species goes before everything on this page.",
	}
	d.Notes = append(d.Notes, sentences(Assumptions(p, transferSettings...))...)
	return d
}

// forTheTwo says what becomes of the pair of a request if others are parted instead, but for
// those who get one of these.
func forTheTwo(p *pairing.Programme, c *transfer.Case) string {
	text := ""
	for _, b := range [2]int{c.Best.Pairs[0].Female, c.Best.Pairs[0].Male} {
		mate, gets := c.Or.Then.MateOf(b)
		switch {
		case gets && mate != c.Or.Female && mate != c.Or.Male:
			text += ", " + p.Name(b) + " gets " + p.Name(mate)
		case !gets && slices.Contains(c.Or.Then.Alone, b):
			text += ", " + p.Name(b) + " stays alone"
		}
	}
	return text
}

// WaitingText says what people have said of a move that is still to be decided.
func WaitingText(p *pairing.Programme, c *transfer.Case) string {
	word := c.Waiting.Reason(p)
	return saidWords[c.Waiting.Answer] + " " + saidBy(&word)
}

// sentFact says when the request was made, or leaves room for it.
func sentFact(p *pairing.Programme, c *transfer.Case) document.Fact {
	q := c.Request
	if q == nil {
		return document.Fact{Name: "Sent", Value: "on " + dayBlank + " by " + longBlank + ", copy to " + coordinator(p)}
	}
	when := "on " + dayBlank
	if q.Date.Known() {
		when = document.FormatDateInText(q.Date)
	}
	if q.AskedBy != "" {
		when += " by " + q.AskedBy
	}
	if q.Notes != "" {
		when += " (" + q.Notes + ")"
	}
	return document.Fact{Name: "Sent", Value: when + "; copy to " + coordinator(p)}
}

// transferSettings are the settings whose defaults a request names.
var transferSettings = []string{"limits.inbreeding", "limits.preferred_inbreeding", "chicks_per_season", "chicks_per_pair", "lethal_equivalents", "moves.least_gain", "moves.ahead", "quarantine_days", "months.laying", "months.moult"}

// noTransfer is the answer where there is nothing to ask for.
func noTransfer(p *pairing.Programme, c *transfer.Case) *document.Document {
	d := &document.Document{
		Title: "Transfer of " + p.Name(c.Bird), Lead: Capital(TransferReason(p, c)) + ".",
		Facts: mateFacts(p, c.Ranking), About: about(p), Footer: Advice,
	}
	if len(c.Alternatives) > 0 {
		d.Sections = append(d.Sections, document.Section{Title: "What else could be done", Blocks: []document.Block{alternativeTable(p, c)}})
	}
	d.Notes = []string{
		"Who is paired with whom, and who moves for it, is decided once for the whole programme. To write a request all the same, name the mate with --partner, or a place with --to or --from.",
	}
	d.Notes = append(d.Notes, sentences(Assumptions(p, "limits.inbreeding", "moves.least_gain", "moves.ahead"))...)
	return d
}

// journeys names who travels from where to where.
func journeys(p *pairing.Programme, o *transfer.Option) string {
	var moves []string
	for _, m := range o.Moves {
		moves = append(moves, fmt.Sprintf("%s from %s to %s", p.Name(m.Bird), m.From, m.To))
	}
	return document.FormatList(moves, 0)
}

// contact names an institution with whom to write to.
func contact(p *pairing.Programme, code string) string {
	in, _ := p.Book.Institution(code)
	return placeTitle(p, code) + ", contact: " + cmp.Or(in.Contact, longBlank)
}

// described is a bird in half a line: "C12 (Bracken), a female of 7.4 years".
func described(p *pairing.Programme, b int) string {
	age, plusMinus, ok := p.Book.AgeYears(b)
	s := p.Name(b) + ", a " + p.Book.Birds[b].Sex.Word()
	if !ok {
		return s + " of unknown age"
	}
	return s + " of " + document.FormatAge(age, plusMinus, true) + " years"
}

// askText says who asks whom for which bird.
func askText(p *pairing.Programme, c *transfer.Case, asker, asked string) string {
	m := c.Best.Moves[0]
	if c.Young != nil {
		if asker == m.From {
			return fmt.Sprintf("%s asks %s to take %s.", p.Place(asker), p.Place(asked), described(p, m.Bird))
		}
		return fmt.Sprintf("%s asks %s for %s.", p.Place(asker), p.Place(asked), described(p, m.Bird))
	}
	mate := c.Best.Pairs[0].Mate(m.Bird)
	s := fmt.Sprintf("%s asks %s for %s, as the mate of %s, who lives at %s", p.Place(asker), p.Place(asked), described(p, m.Bird), described(p, mate), m.To)
	if asker == m.From {
		s = fmt.Sprintf("%s asks %s to take %s, as the mate of %s, who lives there", p.Place(asker), p.Place(asked), described(p, m.Bird), described(p, mate))
	}
	for k, m := range c.Best.Moves[1:] {
		s += fmt.Sprintf("; in return %s goes from %s to %s, to %s", described(p, m.Bird), m.From, m.To, p.Name(c.Best.Pairs[k+1].Mate(m.Bird)))
	}
	return s + "."
}

// whyText says why: what the decision has, and how the pair compares.
func whyText(p *pairing.Programme, c *transfer.Case) string {
	s := "The season's decision for the programme has it"
	if c.Young != nil {
		return s + ": it " + YoungText(p, c.Young) + "."
	}
	if bond := c.Ranking.Bond; !c.Needed {
		s = Capital(TransferReason(p, c))
	} else if bond != nil && bond.Word != nil {
		word := bond.Word.Reason(p)
		s += ": " + planText(p, &word)
	}
	x := &c.Best.Pairs[0].Figures
	f := "would not be inbred, as the two have no common ancestor on record"
	if x.OffspringInbreeding > 0 {
		f = "would have F " + document.FormatKinship(x.OffspringInbreeding) + ", " + kinLevel(x.OffspringInbreeding)
	}
	if pair := &c.Best.Pairs[0]; len(p.Doubt(pair.Female, pair.Male)) > 0 {
		f += "; but the two may be closer kin than that (see Cautions)"
	}
	chicks := "less than one chick is"
	if n := int(math.Round(x.ChicksAhead)); n > 0 {
		chicks = "about " + document.FormatThings(n, "chick is", "chicks are")
	}
	or := ""
	if c.Or != nil {
		or = fmt.Sprintf(" Or else %s and %s are parted, if keeper and coordinator agree, by which the programme would gain more: %s. One of the two: decide which %s.",
			p.Name(c.Or.Female), p.Name(c.Or.Male), partTwo(p, c.Or.Obstacle)+forTheTwo(p, c), OrBy(p, c.Or))
	}
	return fmt.Sprintf("%s. The pair is %s (%s): %s to be expected in the next %s, and a chick %s.",
		s, x.Verdict, aheadText(c), chicks, document.FormatThings(p.Settings().SeasonsAhead, "season", "seasons"), f) + or
}

// answerText says by when an answer is wanted.
func answerText(p *pairing.Programme, c *transfer.Case) string {
	answer, journey := c.AnswerBy()
	switch {
	case journey == 0:
		return "No day to travel can be given yet."
	case answer <= p.Book.AsOf:
		return "Please answer at once: the journey must be made by " + document.FormatDay(journey) + "."
	}
	return fmt.Sprintf("Please answer by %s, so that the journey can be prepared; it must be made by %s.", document.FormatDay(answer), document.FormatDay(journey))
}

// TransferPurpose says what a move is for.
func TransferPurpose(p *pairing.Programme, c *transfer.Case) string {
	if y := c.Young; y != nil {
		if y.Mate < 0 {
			return "a young bird, " + seasonOfYoung(p, y) + ", as was agreed"
		}
		return "a young bird, " + seasonOfYoung(p, y) + ", where " + p.Name(y.Mate) + " would be its mate"
	}
	var pairs []string
	for _, x := range c.Best.Pairs {
		pairs = append(pairs, fmt.Sprintf("%s with %s at %s", p.Name(x.Female), p.Name(x.Male), x.At))
	}
	return "breeding, " + document.FormatList(pairs, 0)
}

// What of the birds and of the cautions stands on the page that is signed; the
// appendix has the rest.
const (
	rowsToDecideBy     = 4
	cautionsToDecideBy = 4
)

// birdsSideBySide has a column for each bird of the request, with the rows from one up
// to another.
func birdsSideBySide(p *pairing.Programme, c *transfer.Case, from, to int) *document.Table {
	t := &document.Table{Columns: []document.Column{{Name: "Of each bird", Key: true}}}
	names := []string{"Lives at", "Sex, age, band", "Mean kinship", "Earlier moves", "Bonds and holds", "Hatched", "Own F, known ancestry", "Sire and dam", "Clutches with other mates"}
	rows := make([]document.Row, len(names))
	for k, name := range names {
		rows[k].Cells = []document.Cell{{Text: name}}
	}
	known := p.KnownAncestry()
	for _, b := range c.Birds() {
		bird := &p.Book.Birds[b]
		t.Columns = append(t.Columns, document.Column{Name: p.Name(b)})
		travels := ", stays"
		if k := slices.IndexFunc(c.Best.Moves, func(m transfer.Move) bool { return m.Bird == b }); k >= 0 {
			travels = ", travels to " + c.Best.Moves[k].To
		}
		var record pairing.Record
		if k := slices.IndexFunc(c.Best.Pairs, func(x transfer.Pair) bool { return x.Female == b || x.Male == b }); k >= 0 {
			record = c.Best.Pairs[k].Figures.Success.Female
			if bird.Sex == studbook.Male {
				record = c.Best.Pairs[k].Figures.Success.Male
			}
		}
		clutches := "none with an outcome on record"
		if record.Clutches > 0 {
			clutches = fmt.Sprintf("%d, chicks fledged from %d", record.Clutches, record.Fledged)
		}
		hatched := document.FormatDate(bird.Hatch)
		if !bird.Hatch.Known() {
			hatched = blank
		}
		for k, text := range []string{
			bird.Location + travels,
			fmt.Sprintf("%s, %s years, %s", bird.Sex.Word(), document.FormatAge(p.Book.AgeYears(b)), cmp.Or(bird.Band, blank)),
			document.FormatMeanKinship(p.Living.MeanKinshipOf(p.Node(b))) + ", " + rankText(p, b),
			earlierText(c, bird),
			bondText(p, BirdIDs(p, p.Mates(b))) + "; " + holdText(p, bird.ID),
			hatched,
			fmt.Sprintf("F %s, %s known", document.FormatKinship(p.Pedigree.F(p.Node(b))), document.FormatPercent(known[p.Node(b)])),
			parentsText(p, bird), clutches,
		} {
			rows[k].Cells = append(rows[k].Cells, document.Cell{Text: text})
		}
	}
	t.Rows = rows[from:min(to, len(rows))]
	return t
}

// earlierText names the moves that a bird has made.
func earlierText(c *transfer.Case, bird *studbook.Bird) string {
	var moves []string
	for _, m := range c.Earlier {
		if m.ID == bird.ID {
			moves = append(moves, fmt.Sprintf("%s %s to %s", document.FormatDate(m.Date), outside(m.From), outside(m.To)))
		}
	}
	if len(moves) == 0 {
		return "none on record"
	}
	return strings.Join(moves, "; ")
}

// outside is the code of an institution, or that there is none.
func outside(code string) string {
	if code == "" {
		return "outside"
	}
	return code
}

func parentsText(p *pairing.Programme, bird *studbook.Bird) string {
	switch {
	case bird.Sire.Wild && bird.Dam.Wild:
		return "wild birds"
	case bird.Sire.Unknown() && bird.Dam.Unknown():
		return "both unknown"
	}
	return parentText(p, bird.Sire) + " and " + parentText(p, bird.Dam)
}

func bondText(p *pairing.Programme, mates []string) string {
	switch {
	case len(mates) == 0 && !p.Book.Colony.HasFile("bonds.csv"):
		return "bonds are not on record"
	case len(mates) == 0:
		return "not bonded"
	}
	return "bonded to " + strings.Join(mates, " and ")
}

func holdText(p *pairing.Programme, id string) string {
	holds := p.Book.HoldsOn(id)
	switch {
	case !p.Book.Colony.HasFile("holds.csv"):
		return "holds are not on record"
	case len(holds) == 0:
		return "not on hold"
	}
	var held []string
	for _, h := range holds {
		until := "until further notice"
		if h.Until.Known() {
			until = "until " + document.FormatDateInText(h.Until)
		}
		held = append(held, h.Reason+", "+until)
	}
	return "on hold: " + strings.Join(held, "; ")
}

// effectTable has the figures of every place and of the programme: now, after
// the moves, and after one season.
func effectTable(c *transfer.Case) *document.Table {
	t := &document.Table{Columns: []document.Column{{Name: "Population", Key: true}}}
	for _, figure := range []string{"Birds", "Gene diversity", "Mean kinship"} {
		for _, when := range []string{"now", "after", "season"} {
			t.Columns = append(t.Columns, document.Column{Name: figure, Unit: when, Right: true})
		}
	}
	for k := range c.Effects {
		e := &c.Effects[k]
		name := transferRole(c, e.At) + " " + e.At
		if e.Programme() {
			name = "Programme"
		}
		row := document.Row{Cells: []document.Cell{{Text: name}}}
		stages := []transfer.Measures{e.Before, e.After, e.AfterSeason}
		for at, m := range stages {
			decimals := 0
			if at == len(stages)-1 {
				decimals = 2
			}
			row.Cells = append(row.Cells, document.Cell{Text: document.FormatNumber(m.Size, decimals), Value: m.Size})
		}
		for _, of := range []func(transfer.Measures) float64{
			func(m transfer.Measures) float64 { return m.GeneDiversity },
			func(m transfer.Measures) float64 { return m.MeanKinship },
		} {
			for _, m := range stages {
				cell := document.Cell{Text: document.Unknown}
				if m.Known {
					cell = document.Cell{Text: document.FormatNumber(of(m), 6), Value: of(m)}
				}
				row.Cells = append(row.Cells, cell)
			}
		}
		t.Rows = append(t.Rows, row)
	}
	t.More = "After: after the move. Season: besides with the chicks to expect from the new pair in its first season."
	if len(c.Best.Moves) > 1 {
		t.More = "After: after the moves. Season: besides with the chicks to expect from the new pairs in their first season."
	}
	return t
}

// effectTexts says what the request changes, in whole birds; the appendix has the
// figures.
func effectTexts(p *pairing.Programme, c *transfer.Case) []string {
	var say []string
	for k := range c.Effects {
		e := &c.Effects[k]
		name := p.Place(e.At) + ": "
		before, after := e.Before, e.After
		if e.Programme() {
			name, after = "Programme: ", e.AfterSeason
		}
		birds := document.FormatThings(int(math.Round(before.Size)), "bird", "birds")
		if now := int(math.Round(after.Size)); now != int(math.Round(before.Size)) {
			birds += " now, " + document.FormatCount(now) + map[bool]string{true: " after a season", false: " after"}[e.Programme()]
		} else {
			birds += ", as many as now"
		}
		text := name + birds
		if before.Known && after.Known {
			text += "; " + diversityText(before.GeneDiversity, after.GeneDiversity)
		}
		if in, ok := p.Book.Institution(e.At); ok && !e.Programme() {
			text += "; free places: " + placeCount(in.SpacesF) + " for females, " + placeCount(in.SpacesM) + " for males"
		}
		say = append(say, text+".")
	}
	return say
}

// diversityText says how gene diversity goes, as far as four decimals
// tell it.
func diversityText(before, after float64) string {
	from, to := document.FormatDiversity(before), document.FormatDiversity(after)
	rises := after > before
	switch {
	case from == to && after == before:
		return "its gene diversity stays at " + from
	case from == to && rises:
		return "its gene diversity stays at " + from + ", a trace higher"
	case from == to:
		return "its gene diversity stays at " + from + ", a trace lower"
	case rises:
		return "its gene diversity rises from " + from + " to " + to
	}
	return "its gene diversity falls from " + from + " to " + to
}

// transferRole is what a place does in the request.
func transferRole(c *transfer.Case, place string) string {
	sends := slices.ContainsFunc(c.Best.Moves, func(m transfer.Move) bool { return m.From == place })
	receives := slices.ContainsFunc(c.Best.Moves, func(m transfer.Move) bool { return m.To == place })
	switch {
	case sends && receives:
		return "Sender and receiver"
	case sends:
		return "Sender"
	}
	return "Receiver"
}

// endTable says who lives at the ends and what a bird would meet there.
func endTable(p *pairing.Programme, c *transfer.Case) *document.Table {
	t := &document.Table{Columns: []document.Column{{Name: "Place", Key: true}, {Name: "Birds", Unit: "now, after", Right: true}, {Name: "Of them", Unit: "F, M, unsexed"}, {Name: "Breeders", Unit: "F + M"},
		{Name: "Median age", Unit: "years", Right: true}, deciding(document.Column{Name: "Free", Unit: "F + M"}), {Name: "Quarantine", Unit: "days", Right: true}, {Name: "Way there", Unit: "km", Right: true}}}
	var says []string
	for k := range c.Effects {
		e := &c.Effects[k]
		if e.Programme() {
			continue
		}
		m := e.MakeupAfter
		age := document.Unknown
		if m.MedianAge.Known {
			age = document.FormatNumber(m.MedianAge.Value, 1)
		}
		free := blank
		if in, ok := p.Book.Institution(e.At); ok {
			free = placeCount(in.SpacesF) + " + " + placeCount(in.SpacesM)
			if in.Notes != "" {
				says = append(says, e.At+", "+in.Notes)
			}
		}
		quarantine, km := document.Unknown, document.Unknown
		for _, move := range c.Best.Moves {
			if move.To != e.At {
				continue
			}
			quarantine = strconv.Itoa(move.Quarantine)
			if !move.QuarantineStated {
				quarantine += " (assumed)"
			}
			km = blank
			if move.Placed {
				km = document.FormatKm(move.Distance)
			}
		}
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: transferRole(c, e.At) + " " + p.Place(e.At)}, {Text: document.FormatNumber(e.Before.Size, 0) + ", " + document.FormatNumber(e.After.Size, 0)}, {Text: strings.Join([]string{document.FormatCount(m.Females), document.FormatCount(m.Males), document.FormatCount(m.Unsexed)}, ", ")},
			{Text: document.FormatCount(m.BreedingFemales) + " + " + document.FormatCount(m.BreedingMales)}, {Text: age}, {Text: free}, {Text: quarantine}, {Text: km}}})
	}
	if len(says) > 0 {
		t.More = "From institutions.csv: " + strings.Join(says, "; ") + "."
	}
	return t
}

func placeCount(n int) string {
	if n < 0 {
		return blank
	}
	return document.FormatCount(n)
}

// alternativeTable says what else could be done.
func alternativeTable(p *pairing.Programme, c *transfer.Case) *document.Table {
	t := &document.Table{Columns: []document.Column{{Name: "Option", Key: true, Wide: true}, deciding(document.Column{Name: "Gains", Unit: "% of proposed", Right: true}), {Name: "Chick's F", Right: true},
		{Name: "What would speak for it", Wide: true}, {Name: "What speaks against it", Wide: true}}}
	row := func(name string, o *transfer.Option, favour, why string) {
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: name}, besideProposed(c.Share(o)), kinshipCell(o.Pairs[0].Figures.OffspringInbreeding), {Text: favour}, {Text: why}}})
	}
	if best := c.Best; best != nil {
		favour := ""
		if c.Needed {
			favour = "The season's decision"
		}
		row("Proposed: "+optionText(p, best), best, favour, "")
	}
	if x := c.Or; x != nil {
		share, ok := c.PartingShare()
		f := document.Cell{Text: document.Unknown}
		for k := range x.Then.Formed {
			if y := &x.Then.Formed[k]; y.Female == c.Bird || y.Male == c.Bird {
				f = kinshipCell(y.Kinship)
			}
		}
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: "Instead: part " + p.Book.Birds[x.Female].ID + " and " + p.Book.Birds[x.Male].ID}, besideProposed(share, ok), f,
			{Text: Capital(partTwo(p, x.Obstacle)) + forTheTwo(p, c) + "; the programme gains more"}, {Text: "A bond is parted, on a person's word alone, and between seasons"}}})
	}
	for _, a := range c.Alternatives {
		row(Capital(optionText(p, a.Option)), a.Option, Capital(FavourText(p, &a)), Capital(AlternativeText(p, &a)))
	}
	return t
}

// besideProposed is what an option gains as a share of what is proposed.
func besideProposed(share float64, ok bool) document.Cell {
	switch {
	case !ok:
		return document.Cell{Text: document.Unknown}
	case share <= 0:
		return document.Cell{Text: "none", Value: 100 * share}
	}
	return document.Cell{Text: strings.TrimSuffix(document.FormatChance(share), "%"), Value: 100 * share}
}

// optionText is an option in a line.
func optionText(p *pairing.Programme, o *transfer.Option) string {
	if o.Way == transfer.Stay {
		return fmt.Sprintf("no move: %s with %s", p.Book.Birds[o.Pairs[0].Female].ID, p.Book.Birds[o.Pairs[0].Male].ID)
	}
	var moves []string
	for k, m := range o.Moves {
		moves = append(moves, fmt.Sprintf("%s from %s to %s, to %s", p.Book.Birds[m.Bird].ID, m.From, m.To, p.Book.Birds[o.Pairs[k].Mate(m.Bird)].ID))
	}
	return wayWords[o.Way] + strings.Join(moves, "; ")
}

var wayWords = map[transfer.Way]string{
	transfer.Bring: "", transfer.Send: "", transfer.Swap: "swap: ", transfer.Chain: "ring of three: ",
}

// timingTexts says when each bird may travel; birds of which the same holds
// are named together.
func timingTexts(p *pairing.Programme, c *transfer.Case) []string {
	names := map[string][]string{}
	var texts []string
	for k := range c.Timing {
		m := c.Best.Moves[k]
		text := timingText(p, &c.Timing[k], m.Quarantine)
		if names[text] == nil {
			texts = append(texts, text)
		}
		names[text] = append(names[text], p.Name(m.Bird))
	}
	var out []string
	for _, text := range texts {
		out = append(out, document.FormatList(names[text], 0)+": "+text)
	}
	return append(out, "Never while a bird moults, sits on eggs or feeds chicks, whatever the calendar says. Agreed date: "+blank)
}

func timingText(p *pairing.Programme, t *pairing.Timing, quarantine int) string {
	days := document.FormatThings(quarantine, "day", "days") + " of quarantine"
	s := fmt.Sprintf("from %s; %s.", document.FormatDay(t.Earliest), days)
	begins := "laying begins"
	if t.Pairs {
		begins = "pairs begin to form"
	}
	switch {
	case t.Earliest == 0:
		s = "no date can be given yet."
	case t.Season != 0:
		s = fmt.Sprintf("from %s, at the latest %s, so that %s end before %s on %s.", document.FormatDay(t.Earliest), document.FormatDay(t.Latest), days, begins, document.FormatDay(t.Season))
	}
	var avoid []string
	for _, span := range t.Avoid {
		avoid = append(avoid, spanText(p, span)+" ("+AvoidText(p, &span)+")")
	}
	if len(avoid) > 0 {
		s += " Closed to travel: " + strings.Join(avoid, "; ") + "."
	}
	return s
}

func spanText(p *pairing.Programme, s pairing.Span) string {
	switch {
	case s.Until == 0:
		return "until further notice"
	case s.From == p.Book.AsOf:
		return "until " + document.FormatDay(s.Until)
	}
	return document.FormatDay(s.From) + " to " + document.FormatDay(s.Until)
}

// checklist is what must be done before any bird travels.
var checklist = []string{
	"☐\u00a0Veterinary examination", "☐\u00a0Disease testing as both veterinarians ask", "☐\u00a0Quarantine prepared at the receiving end",
	"☐\u00a0Export, import and keeping permits", "☐\u00a0Transport crate and live-animal transport rules", "☐\u00a0Identity and sex confirmed",
	"☐\u00a0Health and diet records sent along", "☐\u00a0Agreement of the programme's coordinator",
}

func decisionTable(c *transfer.Case) *document.Table {
	t := &document.Table{Sign: true, Columns: []document.Column{{Name: "Who", Key: true}, deciding(document.Column{Name: "Decision"}), {Name: "Conditions"}, {Name: "Name and signature"}, {Name: "Date"}}}
	var who []string
	for _, e := range c.Effects {
		if !e.Programme() {
			who = append(who, transferRole(c, e.At)+", "+e.At)
		}
	}
	for _, w := range append(who, "Coordinator of the programme", "Veterinarian") {
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: w}, {Text: "☐\u00a0yes ☐\u00a0no"}, {Text: strings.Repeat(blank, 2)}, {Text: longBlank}, {Text: blank}}})
	}
	return t
}

// appendix has the figures in full, the ancestry of the pair and the studbook rows
// to send.
func appendix(p *pairing.Programme, c *transfer.Case, notes []string) []document.Section {
	out := []document.Section{{Title: "Appendix: the figures", Apart: true, Blocks: []document.Block{effectTable(c)}},
		{Title: "Appendix: more of the birds", Blocks: []document.Block{birdsSideBySide(p, c, rowsToDecideBy, math.MaxInt)}},
		{Title: "Appendix: both ends", Blocks: []document.Block{endTable(p, c)}}}
	if len(notes) > 0 {
		out = append(out, document.Section{Title: "Appendix: what is not known", Blocks: []document.Block{document.List(sentences(notes))}})
	}
	if len(c.Best.Pairs) > 0 {
		out[0].Blocks = append(out[0].Blocks, gainTable(p, c))
	}
	for _, b := range []int{c.Bird, c.Mate} {
		if b < 0 {
			continue
		}
		f := drawing.AncestryFigure(ancestryOf(p, &p.Book.Birds[b], drawing.Generations))
		f.Alt = fmt.Sprintf("%d generations; the studbook rows below have each ancestor with its sire and dam", drawing.Generations)
		out = append(out, document.Section{Title: "Appendix: ancestry of " + p.Name(b), Blocks: []document.Block{f}})
	}
	t := &document.Table{Columns: []document.Column{birdColumn, nameColumn, sexColumn, {Name: "Sire"}, {Name: "Dam"}, {Name: "Hatched"}, {Name: "Died"}, atColumn, {Name: "Origin"}}}
	for _, b := range c.Extract(p).Birds {
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: b.ID}, {Text: b.Name}, {Text: b.Sex.String()}, {Text: b.Sire.String()}, {Text: b.Dam.String()},
			{Text: b.Hatch.Text}, {Text: b.Death.Text}, {Text: b.Location}, {Text: originText(b.Origin)}}})
	}
	return append(out, document.Section{Title: "Appendix: studbook rows of the birds and their ancestors", Blocks: []document.Block{t,
		document.Paragraph("To send them as a file that a studbook can take in, write them with --attach.")}})
}

// gainTable has what the options gain.
func gainTable(p *pairing.Programme, c *transfer.Case) *document.Table {
	t := &document.Table{Columns: []document.Column{{Name: "Option", Key: true, Wide: true}, gainColumn("Net gain for " + p.Book.Birds[c.Bird].ID), deciding(gainColumn("Moves taken off")), {Name: "Expected", Unit: "chicks ahead", Right: true}}}
	add := func(o *transfer.Option) {
		chicks := 0.0
		for _, x := range o.Pairs {
			chicks += x.Figures.ChicksAhead
		}
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: Capital(optionText(p, o))}, gainCell(o.NetGain), gainCell(o.LessMoves), {Text: document.FormatNumber(chicks, 2), Value: chicks}}})
	}
	add(c.Best)
	for _, a := range c.Alternatives {
		add(a.Option)
	}
	t.More = moveWorth(c.LeastGain) + " Options are held against each other with that taken off for every pair that needs a move; of net gain, as mates are ranked by it, only where the season's decision does not make the move."
	return t
}

// TransfersDocument lists what the season's decision moves.
func TransfersDocument(p *pairing.Programme, l *transfer.List, top int) *document.Document {
	d := &document.Document{
		Title: "Transfers for " + colonyName(p, l.Colony), About: about(p), Footer: Advice,
		Lead: noMoveText(p, "none would gain what a move should be worth"),
	}
	add := func(title string, blocks ...document.Block) {
		d.Sections = append(d.Sections, document.Section{Title: title, Blocks: blocks})
	}
	if n := len(l.Moves); n > 0 {
		d.Lead = fmt.Sprintf("%s of the season's decision for the programme; all of them can be made, as no bird is in two.", Capital(document.FormatThings(n, "move", "moves")))
		blocks := []document.Block{moveTable(p, l.Moves, top)}
		if say := movesHeed(p, l.Moves[:min(top, n)]); len(say) > 0 {
			blocks = append(blocks, say)
		}
		add("Moves to a mate", blocks...)
	}
	if n := len(l.Sent); n > 0 {
		d.Lead += fmt.Sprintf(" %s agreed on, without a mate.", Capital(document.FormatThings(n, "move was", "moves were")))
		add("Moves that were agreed on", agreedTable(p, l.Sent))
	}
	if n := len(l.Young); n > 0 {
		d.Lead += fmt.Sprintf(" %s should be elsewhere when %s of age.", Capital(document.FormatThings(n, "young bird", "young birds")), plural(n, "it comes", "they come"))
		var young []pairing.Young
		for _, m := range l.Young {
			young = append(young, *m.Young)
		}
		t := youngTable(p, young[:min(top, n)])
		t.More = leftOut(len(t.Rows), n, "young birds", "more with --top")
		add("Young birds", t)
	}
	if len(l.Rings) > 0 {
		t := &document.Table{Columns: []document.Column{{Name: "Together", Key: true, Wide: true}, {Name: "Moves", Right: true}}}
		for _, o := range l.Rings[:min(top, len(l.Rings))] {
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: Capital(optionText(p, o))}, countCell(len(o.Moves))}})
		}
		t.More = leftOut(len(t.Rows), len(l.Rings), "swaps and rings", "more with --top")
		add("Swaps and rings among all the moves", t)
	}
	if n := len(l.Moves); n > 0 {
		t := &document.Table{Columns: []document.Column{birdColumn, {Name: "Asked for", Key: true}, deciding(gainColumn("Net gain")), {Name: "Expected", Unit: "chicks ahead", Right: true}}}
		for _, m := range l.Moves[:min(top, n)] {
			x := &m.Pairs[0].Figures
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: p.Book.Birds[m.Mover()].ID}, {Text: p.Book.Birds[m.Pairs[0].Mate(x.Bird)].ID}, gainCell(m.NetGain), {Text: document.FormatNumber(x.ChicksAhead, 2), Value: x.ChicksAhead}}})
		}
		t.More = moveWorth(l.LeastGain)
		add("The figures behind the order", t)
	}
	d.Notes = append([]string{
		"Moves are in the order of their net gain: what the programme gains by the pair, less what the mate of the bird that it is asked for would do otherwise; those within 2% of each other in that of their cost to the birds.",
		"A request ready to send, with the effects at both ends: pairwright transfer, then the id of a bird.",
	}, sentences(Assumptions(p, "limits.inbreeding", "chicks_per_season", "lethal_equivalents", "moves.least_gain", "moves.ahead", "quarantine_days"))...)
	return d
}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// movesHeed says of which moves the two birds may be closer kin than the pedigree says, or
// one of them paired already.
func movesHeed(p *pairing.Programme, moves []transfer.Listed) document.List {
	var say document.List
	for _, m := range moves {
		mate := m.Pairs[0].Mate(m.Mover())
		if why := p.Heed(m.Mover(), mate); len(why) > 0 {
			say = append(say, p.Name(m.Mover())+" to "+p.Name(mate)+": "+strings.Join(Reasons(p, why), "; ")+".")
		}
	}
	return say
}

func kmCell(m transfer.Move) document.Cell {
	if !m.Placed {
		return document.Cell{Text: document.Unknown}
	}
	return document.Cell{Text: document.FormatKm(m.Distance), Value: m.Distance}
}

// noMoveText says that the decision moves no bird to a mate, and why.
func noMoveText(p *pairing.Programme, why string) string {
	if !p.Book.Colony.HasLocation {
		return Capital(NoCaseText(p, &transfer.NoCaseError{Reason: pairing.Reason{Code: transfer.NoLocations}})) + "."
	}
	return "No move is needed: " + why + "."
}

// agreeByColumn heads by when moves are to be agreed on and their permits applied for;
// agreeByCell says it of one.
var agreeByColumn = document.Column{Name: "Agree and apply by"}

func agreeByCell(p *pairing.Programme, m *transfer.Listed) document.Cell {
	switch by := m.AgreeBy(); {
	case m.Agreed:
		return document.Cell{Text: "agreed"}
	case by != 0 && by <= p.Book.AsOf:
		return document.Cell{Text: "at once"}
	default:
		return word(document.FormatDay(by))
	}
}

// agreedTable lists moves that people agreed on and that bring no pair together.
func agreedTable(p *pairing.Programme, moves []transfer.Listed) *document.Table {
	t := &document.Table{Columns: []document.Column{birdColumn, sexColumn, {Name: "From"}, {Name: "To"}, deciding(document.Column{Name: "Leave by"}), {Name: "Distance", Unit: "km", Right: true}, {Name: "Free places", Right: true}, {Name: "Heed", Wide: true}}}
	for k := range moves {
		o := &moves[k]
		m := o.Moves[0]
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: p.Name(m.Bird)}, {Text: p.Book.Birds[m.Bird].Sex.String()}, {Text: m.From}, {Text: m.To},
			word(document.FormatDay(o.Timing.Latest)), kmCell(m), countCell(m.Spaces), {Text: MoveHeed(p, o)}}})
	}
	return withoutBlanks(t)
}

func moveTable(p *pairing.Programme, moves []transfer.Listed, top int) *document.Table {
	t := &document.Table{Columns: []document.Column{{Name: "Bird", Key: true}, sexColumn, {Name: "From"}, {Name: "To"}, {Name: "Mate"}, agreeByColumn, deciding(document.Column{Name: "Leave by"}), {Name: "Verdict"}, {Name: "Ahead of", Unit: "% of pairs", Right: true},
		{Name: "Chick's F", Right: true}, {Name: "Distance", Unit: "km", Right: true}, {Name: "Free places", Right: true}, {Name: "Heed", Wide: true}}}
	for k := range moves[:min(top, len(moves))] {
		o := &moves[k]
		m, x := o.Moves[0], &o.Pairs[0].Figures
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: p.Name(m.Bird)}, {Text: p.Book.Birds[m.Bird].Sex.String()}, {Text: m.From}, {Text: m.To}, {Text: p.Name(o.Pairs[0].Mate(m.Bird))},
			agreeByCell(p, o), word(document.FormatDay(o.Timing.Latest)), {Text: string(x.Verdict)}, {Text: document.FormatOfHundred(x.AheadOf), Value: 100 * x.AheadOf}, kinshipCell(x.OffspringInbreeding), kmCell(m), countCell(m.Spaces),
			{Text: MoveHeed(p, o)}}})
	}
	t.More = leftOut(len(t.Rows), len(moves), "moves", "more with --top")
	return withoutBlanks(t)
}
