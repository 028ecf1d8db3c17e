package report

import (
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
const blank = "________"

// TransferDocument is the request for a transfer, one page to send with an
// appendix. asker is the institution that asks, if it is one of the two ends of
// the first move; else the place of the bird does.
func TransferDocument(p *pairing.Programme, c *transfer.Case, asker string) *document.Document {
	first := c.Best.Moves[0]
	if asker != first.From && asker != first.To {
		asker = p.Book.Birds[c.Bird].Location
	}
	asked := first.From
	if asker == first.From {
		asked = first.To
	}
	d := &document.Document{
		Title: "Transfer request: " + journeys(p, c.Best),
		Lead:  strings.Join([]string{askText(p, c, asker, asked), mateText(p, c), gainText(p, c)}, " "),
		Facts: document.Facts{
			{Name: "Asks", Value: contact(p, asker)}, {Name: "Is asked", Value: contact(p, asked)},
			{Name: "Purpose", Value: TransferPurpose(p, c)},
			{Name: "Studbook", Value: studbookText(p)},
		},
		Footer: Advice, Brief: true, Portable: true,
	}
	d.Sections = []document.Section{
		{Title: "The birds", Blocks: []document.Block{birdsSideBySide(p, c)}},
		{Title: "Effects", Blocks: []document.Block{effectTable(c)}},
		{Title: "Both ends", Blocks: []document.Block{endTable(p, c)}},
	}
	if len(c.Alternatives) > 0 {
		d.Sections = append(d.Sections, document.Section{Title: "Alternatives considered", Blocks: []document.Block{alternativeTable(p, c)}})
	}
	d.Sections = append(d.Sections,
		document.Section{Title: "Timing", Blocks: []document.Block{document.List(timingTexts(p, c))}},
		document.Section{Title: "Cautions, and what is not known", Blocks: []document.Block{document.List(sentences(slices.Concat(Cautions(p, c), TransferReasons(p, c.Unknown))))}},
		document.Section{Title: "Before the move", Blocks: []document.Block{document.Paragraph(strings.Join(checklist, "\u00a0\u00a0 "))}},
		document.Section{Title: "Decisions", Blocks: []document.Block{decisionTable(c), document.Paragraph(Advice)}})
	d.Sections = append(d.Sections, appendix(p, c)...)
	d.Notes = []string{
		"The effects count nothing but this request: chicks of other pairs and deaths are left out. Figures of a colony are those of the birds that live there, measured among themselves; those of the programme count every living bird, founders included. A move alone changes no figure of the programme.",
		fmt.Sprintf("After one season: the mean over the broods that the new pair may hatch, binomial with at most %d chicks and the expected number as its mean (%s a season × chance of success × survival under inbreeding).",
			max(p.Settings().ChicksPerPair, 1), document.FormatNumber(p.Settings().ChicksPerSeason, 2)),
		"Options are ranked by expected gain for each bird moved: what the chicks of a season gain for the programme's gene diversity, against chicks of average pairs. Those within 2 % of each other are ordered by cost to the birds: fewer moves, no bond broken, a known mate, a shorter way, more free places, a shorter quarantine. In a swap or a ring every place gains a pair; the colonies' own figures may fall all the same.",
		fmt.Sprintf("A bird is taken to sit or to feed chicks for %d days after it laid, unless the end of the clutch is on record (common practice, no source); a whole month of laying or moult counts as closed.", pairing.RearingDays),
		"A pair bond cannot be forced: give the birds time and let them choose. Law on live transport, animal health and protected species goes before everything on this page.",
	}
	d.Notes = append(d.Notes, sentences(Assumptions(p, "limits.inbreeding", "limits.preferred_inbreeding", "chicks_per_season", "chicks_per_pair", "lethal_equivalents", "quarantine_days", "months.laying", "months.moult"))...)
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

// studbookText says which studbook of which species, when, and how large.
func studbookText(p *pairing.Programme) string {
	s := fmt.Sprintf("%s as of %s, %s", p.Book.Colony.Source, document.FormatDay(p.Book.AsOf), document.FormatThings(p.Living.Size(), "living bird", "living birds"))
	if species := p.Settings().Species; species != "" {
		s = species + ", " + s
	}
	return s
}

// contact names an institution with whom to write to.
func contact(p *pairing.Programme, code string) string {
	in, _ := p.Book.Institution(code)
	return p.Place(code) + ", contact: " + orBlank(in.Contact)
}

func orBlank(s string) string {
	if s == "" {
		return blank
	}
	return s
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
	m, pair := c.Best.Moves[0], c.Best.Pairs[0]
	mate := pair.Female
	if mate == m.Bird {
		mate = pair.Male
	}
	s := fmt.Sprintf("%s asks %s for %s, as the mate of %s, who lives at %s", p.Place(asker), p.Place(asked), described(p, m.Bird), described(p, mate), m.To)
	if asker == m.From {
		s = fmt.Sprintf("%s asks %s to take %s, as the mate of %s, who lives there", p.Place(asker), p.Place(asked), described(p, m.Bird), described(p, mate))
	}
	for k, m := range c.Best.Moves[1:] {
		pair := c.Best.Pairs[k+1]
		mate := pair.Female
		if mate == m.Bird {
			mate = pair.Male
		}
		s += fmt.Sprintf("; in return %s goes from %s to %s, to %s", described(p, m.Bird), m.From, m.To, p.Name(mate))
	}
	return s + "."
}

// mateText says why this mate: what there is at home and in the network.
func mateText(p *pairing.Programme, c *transfer.Case) string {
	bird := &p.Book.Birds[c.Bird]
	figures := &c.Best.Pairs[0].Figures
	s := "At home " + bird.ID + " has no possible mate"
	if k := slices.IndexFunc(c.Alternatives, func(a transfer.Alternative) bool { return a.Way == transfer.Stay }); k >= 0 {
		home := c.Alternatives[k]
		name := p.Name(Partner(home.Pairs[0], c.Bird))
		switch {
		case slices.Contains(c.Birds(), Partner(home.Pairs[0], c.Bird)):
			s = fmt.Sprintf("At home the best mate of %s, %s, is wanted for another pair of this request", bird.ID, name)
		case !home.Useful():
			s = fmt.Sprintf("At home the best mate of %s, %s, is not advised", bird.ID, name)
		case home.ExpectedGain >= figures.ExpectedGain:
			s = fmt.Sprintf("At home %s would be at least as good a mate of %s", name, bird.ID)
		default:
			s = fmt.Sprintf("At home the best mate of %s, %s, gains %s as much", bird.ID, name, document.FormatChance(home.ExpectedGain/figures.ExpectedGain))
		}
	}
	f := "would not be inbred, as the two have no common ancestor on record"
	if figures.OffspringInbreeding > 0 {
		f = "would have F " + document.FormatKinship(figures.OffspringInbreeding) + ", " + KinLevel(figures.OffspringInbreeding)
	}
	return fmt.Sprintf("%s; the proposed pair is %s, number %d of %s, and a chick of it %s.",
		s, figures.Verdict, figures.Rank, document.FormatThings(len(c.Ranking.Candidates), "possible mate", "possible mates"), f)
}

// gainText says what the request is worth.
func gainText(p *pairing.Programme, c *transfer.Case) string {
	all := c.Effects[len(c.Effects)-1]
	chicks := 0.0
	for _, x := range c.Best.Pairs {
		chicks += x.Figures.ExpectedChicks
	}
	who := "the pair is"
	if len(c.Best.Pairs) > 1 {
		who = "the pairs are"
	}
	s := fmt.Sprintf("In one season %s expected to hatch %s chicks, which brings the programme's gene diversity from %s to %s",
		who, document.FormatNumber(chicks, 2), document.FormatNumber(all.Before.GeneDiversity, 6), document.FormatNumber(all.AfterSeason.GeneDiversity, 6))
	if c.Ranking.Compared {
		word := "more"
		if c.Best.ExpectedGain < 0 {
			word = "less"
		}
		s += fmt.Sprintf(", %s millionths %s than chicks of average pairs would bring", document.FormatNumber(math.Abs(c.Best.ExpectedGain)*1e6, 1), word)
	}
	return s + "."
}

// TransferPurpose says what a move is for.
func TransferPurpose(p *pairing.Programme, c *transfer.Case) string {
	var pairs []string
	for _, x := range c.Best.Pairs {
		pairs = append(pairs, fmt.Sprintf("%s with %s at %s", p.Name(x.Female), p.Name(x.Male), x.At))
	}
	return "breeding, " + document.FormatList(pairs, 0)
}

// Partner returns the other bird of a pair, as a place in Book.Birds.
func Partner(x transfer.Pair, b int) int {
	if x.Female == b {
		return x.Male
	}
	return x.Female
}

// birdsSideBySide has a column for each bird of the request.
func birdsSideBySide(p *pairing.Programme, c *transfer.Case) *document.Table {
	t := &document.Table{Columns: []document.Column{{Name: "Of each bird", Key: true}}}
	names := []string{"Band", "Sex, hatched, age", "Lives at", "Mean kinship", "Own F, known ancestry", "Sire and dam", "Earlier moves", "Clutches with other mates", "Bonds and holds"}
	rows := make([]document.Row, len(names))
	for k, name := range names {
		rows[k].Cells = []document.Cell{{Text: name}}
	}
	known := p.KnownAncestry()
	for _, b := range c.Birds() {
		bird := &p.Book.Birds[b]
		t.Columns = append(t.Columns, document.Column{Name: p.Name(b)})
		to := ", stays"
		if k := slices.IndexFunc(c.Best.Moves, func(m transfer.Move) bool { return m.Bird == b }); k >= 0 {
			to = ", travels to " + c.Best.Moves[k].To
		}
		pair := c.Best.Pairs[slices.IndexFunc(c.Best.Pairs, func(x transfer.Pair) bool { return x.Female == b || x.Male == b })]
		record := pair.Figures.Success.Female
		if bird.Sex == studbook.Male {
			record = pair.Figures.Success.Male
		}
		clutches := "none on record"
		if record.Clutches > 0 {
			clutches = fmt.Sprintf("%d, chicks fledged from %d", record.Clutches, record.Fledged)
		}
		hatched := document.FormatDate(bird.Hatch)
		if !bird.Hatch.Known() {
			hatched = blank
		}
		for k, text := range []string{
			orBlank(bird.Band),
			fmt.Sprintf("%s, %s, %s years", bird.Sex.Word(), hatched, document.FormatAge(p.Book.AgeYears(b))),
			bird.Location + to,
			fmt.Sprintf("%s, rank %d of %d", document.FormatMeanKinship(p.Living.MeanKinshipOf(p.Node(b))), p.Rank(b), p.Living.Size()),
			fmt.Sprintf("F %s, %s known", document.FormatKinship(p.Pedigree.F(p.Node(b))), document.FormatPercent(known[p.Node(b)])),
			parentsText(p, bird), earlierText(c, bird), clutches,
			bondText(BirdIDs(p, p.Mates(b))) + "; " + holdText(p.Book.HoldsOn(bird.ID)),
		} {
			rows[k].Cells = append(rows[k].Cells, document.Cell{Text: text})
		}
	}
	t.Rows = rows
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

func bondText(mates []string) string {
	if len(mates) == 0 {
		return "not bonded"
	}
	return "bonded to " + strings.Join(mates, " and ")
}

func holdText(holds []studbook.Hold) string {
	if len(holds) == 0 {
		return "not on hold"
	}
	var held []string
	for _, h := range holds {
		until := "until further notice"
		if h.Until.Known() {
			until = "until " + document.FormatDate(h.Until)
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
	t.More = "After: after the move. Season: besides with the chicks to expect from the new pair in one season."
	if len(c.Best.Moves) > 1 {
		t.More = "After: after the moves. Season: besides with the chicks to expect from the new pairs in one season."
	}
	return t
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
	t := &document.Table{Columns: []document.Column{{Name: "Place", Key: true}, {Name: "Females, males, sex unknown"}, {Name: "Able to breed", Unit: "F + M"},
		{Name: "Median age", Unit: "years", Right: true}, {Name: "Free places", Unit: "F + M"}, {Name: "Quarantine", Unit: "days", Right: true}, {Name: "Way there", Unit: "km", Right: true}}}
	var says []string
	for k := range c.Effects {
		e := &c.Effects[k]
		if e.Programme() {
			continue
		}
		m := e.MakeupBefore
		age := document.Unknown
		if m.AgeKnown {
			age = document.FormatNumber(m.MedianAge, 1)
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
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: p.Place(e.At)}, {Text: fmt.Sprintf("%d, %d, %d", m.Females, m.Males, m.Unsexed)},
			{Text: fmt.Sprintf("%d + %d", m.BreedingFemales, m.BreedingMales)}, {Text: age}, {Text: free}, {Text: quarantine}, {Text: km}}})
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
	return strconv.Itoa(n)
}

// alternativeTable says what else could be done.
func alternativeTable(p *pairing.Programme, c *transfer.Case) *document.Table {
	t := &document.Table{Columns: []document.Column{{Name: "Option", Key: true, Wide: true}, {Name: "F of a chick", Right: true}, gainColumn("Gain for each move"), {Name: "Why not first", Wide: true}}}
	t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: "Proposed: " + optionText(p, c.Best)}, kinshipCell(c.Best.Pairs[0].Figures.OffspringInbreeding), gainCell(c.Best.GainPerMove), {Text: ""}}})
	for _, a := range c.Alternatives {
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: capital(optionText(p, a.Option))}, kinshipCell(a.Pairs[0].Figures.OffspringInbreeding), gainCell(a.GainPerMove), {Text: capital(AlternativeText(p, &a))}}})
	}
	return t
}

// optionText is an option in a line.
func optionText(p *pairing.Programme, o *transfer.Option) string {
	if o.Way == transfer.Stay {
		return fmt.Sprintf("no move: %s with %s", p.Book.Birds[o.Pairs[0].Female].ID, p.Book.Birds[o.Pairs[0].Male].ID)
	}
	var moves []string
	for k, m := range o.Moves {
		moves = append(moves, fmt.Sprintf("%s from %s to %s, to %s", p.Book.Birds[m.Bird].ID, m.From, m.To, p.Book.Birds[Partner(o.Pairs[k], m.Bird)].ID))
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

func timingText(p *pairing.Programme, t *transfer.Timing, quarantine int) string {
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
		s += " Not " + strings.Join(avoid, "; ") + "."
	}
	return s
}

func spanText(p *pairing.Programme, s transfer.Span) string {
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
	t := &document.Table{Columns: []document.Column{{Name: "Who", Key: true}, {Name: "Decision"}, {Name: "Conditions"}, {Name: "Name and signature"}, {Name: "Date"}}}
	var who []string
	for _, e := range c.Effects {
		if !e.Programme() {
			who = append(who, transferRole(c, e.At)+", "+e.At)
		}
	}
	for _, w := range append(who, "Coordinator of the programme", "Veterinarian") {
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: w}, {Text: "☐\u00a0yes ☐\u00a0no"}, {Text: strings.Repeat(blank, 2)}, {Text: strings.Repeat(blank, 3)}, {Text: blank}}})
	}
	return t
}

// appendix shows the ancestry of the pair and the studbook rows to send.
func appendix(p *pairing.Programme, c *transfer.Case) []document.Section {
	var out []document.Section
	for k, b := range []int{c.Bird, c.Mate} {
		out = append(out, document.Section{
			Title: "Appendix: ancestry of " + p.Name(b), Apart: k == 0,
			Blocks: []document.Block{drawing.AncestryFigure(ancestryOf(p, &p.Book.Birds[b], drawing.Generations))},
		})
	}
	t := &document.Table{Columns: []document.Column{birdColumn, nameColumn, sexColumn, {Name: "Sire"}, {Name: "Dam"}, {Name: "Hatched"}, {Name: "Died"}, atColumn, {Name: "Origin"}}}
	for _, b := range c.Extract(p) {
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: b.ID}, {Text: b.Name}, {Text: b.Sex.String()}, {Text: b.Sire.String()}, {Text: b.Dam.String()},
			{Text: b.Hatch.Text}, {Text: b.Death.Text}, {Text: b.Location}, {Text: OriginText(b.Origin)}}})
	}
	return append(out, document.Section{Title: "Appendix: studbook rows of the birds and their ancestors", Blocks: []document.Block{t,
		document.Paragraph("To send them as a file that a studbook can take in, write them with --attach.")}})
}

// TransfersDocument lists the useful moves of a colony or of the programme.
func TransfersDocument(p *pairing.Programme, l *transfer.List, top int) *document.Document {
	d := &document.Document{
		Title: "Useful transfers for " + colonyName(p, l.Colony), Facts: about(p), Footer: Advice,
		Lead: "No move would give an unpaired bird a better mate than it has at home, or one better than the average pair.",
	}
	var together, others []transfer.Listed
	for _, m := range l.Singles {
		if m.Together {
			together = append(together, m)
		} else {
			others = append(others, m)
		}
	}
	if len(l.Singles) > 0 {
		d.Lead = fmt.Sprintf("%s would give an unpaired bird a mate that gains more for the programme than its best free mate at home and than the average pair.",
			capital(document.FormatThings(len(l.Singles), "move", "moves")))
		title := "Moves that can be made together"
		switch {
		case len(l.Singles) == 1:
			title = "The move"
		case len(together) == 1:
			title = "The best move"
			d.Lead += " Each of the others stands in place of the best one."
		default:
			d.Lead += fmt.Sprintf(" %s of them can be made together.", document.FormatCount(len(together)))
		}
		d.Sections = append(d.Sections, document.Section{Title: title, Blocks: []document.Block{moveTable(p, together, top)}})
	}
	if l.Full > 0 {
		d.Lead += " " + capital(document.FormatThings(l.Full, "more pair", "more pairs")) + " would be as useful, but no place is free for the bird that would come."
	}
	if len(others) > 0 {
		d.Sections = append(d.Sections, document.Section{Title: "Other useful moves, each in place of one above", Blocks: []document.Block{moveTable(p, others, top)}})
	}
	if len(l.Swaps) > 0 {
		t := &document.Table{Columns: []document.Column{{Name: "First bird", Key: true}, {Name: "From"}, {Name: "To"}, {Name: "Mate"}, {Name: "Second bird"}, {Name: "Mate"}, gainColumn("Gain in all"), gainColumn("Gain for each move"), {Name: "Distance", Unit: "km", Right: true}}}
		for _, o := range l.Swaps[:min(top, len(l.Swaps))] {
			a, b := o.Moves[0], o.Moves[1]
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: p.Name(a.Bird)}, {Text: a.From}, {Text: a.To}, {Text: p.Name(Partner(o.Pairs[0], a.Bird))}, {Text: p.Name(b.Bird)},
				{Text: p.Name(Partner(o.Pairs[1], b.Bird))}, gainCell(o.ExpectedGain), gainCell(o.GainPerMove), kmCell(a)}})
		}
		t.More = leftOut(len(t.Rows), len(l.Swaps), "swaps", "more with --top")
		d.Sections = append(d.Sections, document.Section{Title: "Swaps in which both places gain a pair", Blocks: []document.Block{t}})
	}
	d.Notes = append([]string{
		"Moves are ranked by expected gain: what the chicks of one season are expected to gain for the programme's gene diversity, against chicks of average pairs, in millionths. Those within 2 % of each other are ordered by cost to the birds. Of a pair the way round is listed that costs them less.",
		"A request ready to send, with the effects at both ends: pairwright transfer, then the id of a bird.",
	}, sentences(Assumptions(p, "limits.inbreeding", "chicks_per_season", "lethal_equivalents", "quarantine_days"))...)
	return d
}

func kmCell(m transfer.Move) document.Cell {
	if !m.Placed {
		return document.Cell{Text: document.Unknown}
	}
	return document.Cell{Text: document.FormatKm(m.Distance), Value: m.Distance}
}

func moveTable(p *pairing.Programme, moves []transfer.Listed, top int) *document.Table {
	t := &document.Table{Columns: []document.Column{{Name: "Bird", Key: true}, sexColumn, {Name: "From"}, {Name: "To"}, {Name: "Mate"}, {Name: "Verdict"}, {Name: "F of a chick", Right: true}, {Name: "Expected chicks", Right: true}, gainColumn("Expected gain"), {Name: "Distance", Unit: "km", Right: true}, {Name: "Free places", Right: true}}}
	for _, o := range moves[:min(top, len(moves))] {
		m, x := o.Moves[0], o.Pairs[0]
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: p.Name(m.Bird)}, {Text: p.Book.Birds[m.Bird].Sex.String()}, {Text: m.From}, {Text: m.To}, {Text: p.Name(Partner(x, m.Bird))},
			{Text: string(x.Figures.Verdict)}, kinshipCell(x.Figures.OffspringInbreeding), {Text: document.FormatNumber(x.Figures.ExpectedChicks, 2), Value: x.Figures.ExpectedChicks}, gainCell(o.ExpectedGain), kmCell(m), countCell(m.Spaces)}})
	}
	t.More = leftOut(len(t.Rows), len(moves), "moves", "more with --top")
	return t
}
