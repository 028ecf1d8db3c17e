package exchange

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

// overlooked looks through what is carried over and through the notes for what
// the figures would have to know: that a bird died or left, and dates of which
// no heading says what they are. A column of such words stops the import; words
// in the middle of other notes are listed.
func (im *importer) overlooked() {
	for _, t := range im.tables {
		if t.kind != birdRows {
			continue
		}
		for _, j := range t.extra {
			if im.opt.Mapping.carried(t.head[j]) {
				continue // somebody has looked at it
			}
			im.overlookedFates(t, j)
			im.overlookedDates(t, j)
			im.overlookedParents(t, j)
			im.overlookedSexes(t, j)
		}
		if t.has(colNotes) {
			im.overlookedFates(t, t.col[colNotes])
		}
	}
	im.noFates()
	im.sheetsOfPlaces()
}

// sheetsOfPlaces tells of birds that stand in several sheets and of whom no column says where
// they live: their sheets may be places.
func (im *importer) sheetsOfPlaces() {
	var names []string
	for _, t := range im.tables {
		if t.has(colLocation) || t.kind == eventRows {
			return
		}
		if t.kind == birdRows && t.of == t.Name && t.fate == noFate && t.sex == 0 && !strings.ContainsAny(t.Name, "0123456789") {
			names = append(names, t.Name)
		}
	}
	if len(names) < 2 {
		return
	}
	im.likely(Decision{Code: "sheets_not_read_as_places", Sheet: names[0], Column: colLocation.String(), Taken: "one place",
		Text: fmt.Sprintf("birds stand in sheets %s, and no column says where they live: all are taken to be at one place; if the sheets are places, write those beside each bird", studbook.QuoteAll(names))})
}

// saysFates reports whether a table has a column of what became of its birds.
func (t *table) saysFates() bool {
	return slices.ContainsFunc([]column{colStatus, colDeath, colDepartureDate, colDepartureReason}, t.has)
}

// noFates says of a file in which nothing could say that a bird died or left that all are
// taken to live.
func (im *importer) noFates() {
	if slices.ContainsFunc(im.birds, func(b *bird) bool { return b.fate != alive }) || len(im.birds) == 0 || len(im.report.Stops) > 0 {
		return
	}
	coloured, rows, first := 0, 0, spot{}
	for _, t := range im.tables {
		if t.kind == eventRows || t.fixed != nil || t.kind == birdRows && t.saysFates() {
			return
		}
		if t.kind != birdRows {
			continue
		}
		rows += len(t.body)
		for _, r := range t.body {
			if r.Coloured {
				if coloured++; coloured == 1 {
					first = spot{t, r.Line}
				}
			}
		}
	}
	d := Decision{Code: "all_alive", Taken: "living",
		Text: fmt.Sprintf("no column says that a bird died or left: %s count as living", studbook.Counted(len(im.birds), "bird", "birds"))}
	if coloured > 0 && coloured*2 < rows {
		d.Sheet, d.Line = first.t.Name, first.line
		d.Text += fmt.Sprintf("; %s filled with a colour, the first in line %d: where that means that a bird is gone, say it in a column of words", studbook.Counted(coloured, "row is", "rows are"), first.line)
	}
	im.likely(d)
}

// mostOfColumn is the share of a column's cells that make it a column of a
// kind; common practice, no source.
const mostOfColumn = 0.8

// fewStates is how many words a column has at most, besides those of death and leaving,
// that says what became of birds, as "here", "home" and "on eggs"; remarks have more.
// Common practice, no source.
const fewStates = 4

// overlookedFates looks in a column for birds that died or left and that count
// as living.
func (im *importer) overlookedFates(t *table, j int) {
	type told struct {
		b *bird
		r sheets.Row
		f fate
	}
	filled, fates, nobodyElse := 0, 0, true
	others := make(map[string]bool) // what else the column says
	var lost []told
	for _, r := range t.body {
		c := r.At(j)
		if c.Kind != sheets.Words {
			if c.Kind != sheets.Blank {
				filled++
			}
			continue
		}
		if isNobody(c.Text) {
			continue // "NULL", "unknown", "-"
		}
		filled++
		f := fateTold(c.Text)
		if f == noFate {
			nobodyElse, others[key(c.Text)] = false, true
			continue
		}
		fates++
		if said, ok := im.saidWord("fate", c.Text); ok && said == fateNames[alive] {
			continue
		}
		k, there := im.byID[im.idText(t.get(r, colID))]
		if there && im.birds[k].fate == alive && (f == died || f == left || f == departed && nobodyElse) {
			lost = append(lost, told{im.birds[k], r, f})
		}
	}
	if len(lost) == 0 {
		return
	}
	heading := t.head[j]
	alone := !t.saysFates()
	states := t.ours[j] == unclaimed && fates > 1 && len(others) <= fewStates
	into := colStatus
	if t.has(into) {
		into = colDepartureReason
	}
	if heading != "" && !t.has(into) && (t.ours[j] == unclaimed && float64(fates) >= mostOfColumn*float64(filled) || alone && (states || fates*2 >= filled)) {
		first := lost[0].r
		im.stop(Decision{Code: "fates_not_read", Sheet: t.Name, Line: first.Line, Column: into.String(), Value: first.At(j).Text, Choice: t.headingChoice(into, heading, ""),
			Text: fmt.Sprintf("column %q seems to say what became of the birds, as %q, and nothing reads it: %s would count as living", heading, first.At(j).Text, studbook.Counted(len(lost), "bird", "birds"))})
		return
	}
	for _, x := range lost {
		if x.f == departed {
			continue
		}
		text := x.r.At(j).Text
		im.likely(Decision{Code: "fate_in_notes", Sheet: t.Name, Line: x.r.Line, Column: heading, Value: text, Taken: fateNames[alive], of: im.about(x.b),
			Text: fmt.Sprintf("%s counts as living, for no column says otherwise; but %q says %q", x.b.id, heading, shorten(text))})
	}
}

// fateTold returns what a remark says at its beginning, or as a short one
// altogether, of what became of a bird.
func fateTold(s string) fate {
	s = strings.TrimSpace(s)
	if first, size := utf8.DecodeRuneInString(s); first == '†' || first == '✝' {
		if rest := strings.TrimSpace(s[size:]); rest == "" || strings.ContainsAny(rest, "0123456789") {
			return died
		}
	}
	run := tokens(s)
	const short = 6 // words; longer remarks tell of other birds too
	if len(run) == 0 || len(run) > short {
		return noFate
	}
	f, _ := fateWords().within(s)
	return f
}

// overlookedParents lists a column that by a word of its heading is of sires or dams,
// and that names others than were taken: of two columns one may be of those who
// reared the chick.
func (im *importer) overlookedParents(t *table, j int) {
	side := -1
	for _, w := range tokens(t.head[j]) {
		switch birdNames().columns[w] {
		case colSire:
			side = 0
		case colDam:
			side = 1
		}
	}
	c := [2]column{colSire, colDam}[max(side, 0)]
	if side < 0 || !t.has(c) {
		return
	}
	filled, birds, others := 0, 0, []int32(nil)
	line := 0
	for _, r := range t.body {
		text := r.At(j).Text
		k, there := im.byID[im.idText(t.get(r, colID))]
		if text == "" || !there || isNobody(text) {
			continue
		}
		filled++
		p, ok := im.oneAtMost(text)
		if !ok {
			continue
		}
		birds++
		if im.ancestor(p, k, 2) {
			continue
		}
		if others = append(others, k); line == 0 {
			line = r.Line
		}
	}
	if birds*2 < filled || len(others) == 0 {
		return
	}
	taken := t.head[t.col[c]]
	im.likely(Decision{Code: "other_parents", Sheet: t.Name, Line: line, Column: c.String(), Value: t.head[j], Taken: taken, of: others, half: true, Choice: t.columnChoice(c, taken, taken, t.head[j]),
		Text: fmt.Sprintf("column %q names another %s than %q for %s: %q is taken", t.head[j], c, taken, studbook.Counted(len(others), "bird", "birds"), taken)})
}

// ancestor reports whether a bird is one of the parents of another, or of their
// parents, as many generations up.
func (im *importer) ancestor(p, of int32, generations int) bool {
	for _, d := range im.birds[of].parentage {
		for _, c := range d.candidates {
			if c.bird == p || generations > 1 && c.bird >= 0 && im.ancestor(p, c.bird, generations-1) {
				return true
			}
		}
	}
	return false
}

// overlookedSexes stops if a column has little but words for sexes and nothing else
// says which sex a bird is: without sexes nobody can be paired.
func (im *importer) overlookedSexes(t *table, j int) {
	if t.has(colSex) || t.sex != 0 || t.head[j] == "" {
		return
	}
	filled, hits, example := 0, 0, ""
	sexes := make(map[string]bool)
	for _, r := range t.body {
		x := r.At(j)
		if x.Kind == sheets.Blank {
			continue
		}
		filled++
		s, ok := sexWords().whole(x.Text)
		if ok && s != studbook.Unsexed || len(x.Text) == 1 && strings.ContainsAny(x.Text, "mfwvhcMFWVHC") {
			hits++
			sexes[key(x.Text)], example = true, x.Text
		} else if ok {
			hits++
		}
	}
	const few = 6 // words for two sexes
	if len(sexes) < 2 || len(sexes) > few || float64(hits) < mostOfColumn*float64(filled) {
		return
	}
	im.stop(Decision{Code: "sex_not_read", Sheet: t.Name, Line: t.headLine, Column: "sex", Value: t.head[j], Choice: t.headingChoice(colSex, t.head[j], ""),
		Text: fmt.Sprintf("column %q seems to say which sex the birds are, as %q, and its heading is in no list: nothing reads it", t.head[j], example)})
}

// overlookedDates lists a column of dates that no heading explains; it stops where some of the
// birds have one, after they hatched, and nothing else could say that they are gone.
func (im *importer) overlookedDates(t *table, j int) {
	dated, filled, later := 0, 0, 0
	var example sheets.Cell
	var of []int32 // birds that would not live if these were days of their end
	for _, r := range t.body {
		c := r.At(j)
		if c.Kind == sheets.Blank || isNobody(c.Text) {
			continue
		}
		filled++
		if c.Kind == sheets.Number {
			continue
		}
		if d, ok := im.readDate(c); ok && d.known() && (c.Kind == sheets.Day || !yearOnly().MatchString(c.Text)) {
			dated++
			example = c
			if k, there := im.byID[im.idText(t.get(r, colID))]; there && im.birds[k].fate == alive {
				of = append(of, k)
				if h := im.birds[k].hatch; h.known() && d.first > h.last {
					later++
				}
			}
		}
	}
	if dated == 0 || float64(dated) < mostOfColumn*float64(filled) || t.head[j] == "" {
		return
	}
	meant := []column{colHatch, colDeath, colDepartureDate, colArrivalDate}
	if filled < len(t.body) { // what not every bird has is no hatch date
		meant = append(meant[1:], colHatch)
	}
	if t.has(colStatus) && filled < len(t.body) || t.has(colDeath) && len(of) == 0 {
		meant = append([]column{colStatusDate}, meant...)
	}
	k := slices.IndexFunc(meant, func(c column) bool { return !t.has(c) })
	if k < 0 {
		return
	}
	if filled == len(t.body) {
		of = nil // not all of them are gone
	}
	d := Decision{Code: "dates_not_read", Sheet: t.Name, Line: t.headLine, Column: meant[k].String(), Value: t.head[j], of: of, Choice: t.dateChoice(t.head[j], meant),
		Text: fmt.Sprintf("column %q holds dates of %s, as %s, and its heading is in no list: nothing reads them", t.head[j], studbook.Counted(filled, "bird", "birds"), example.Text)}
	if later == len(of) && later > 0 && !t.saysFates() && t.fate == noFate {
		d.Text += ", and no other column says who died or left"
		im.stop(d)
		return
	}
	d.Taken = "nothing"
	im.likely(d)
}
