package exchange

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"
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
		}
		if t.has(colNotes) {
			im.overlookedFates(t, t.col[colNotes])
		}
	}
}

// mostOfColumn is the share of a column's cells that make it a column of a
// kind; common practice, no source.
const mostOfColumn = 0.8

// overlookedFates looks in a column for birds that died or left and that count
// as living.
func (im *importer) overlookedFates(t *table, j int) {
	type told struct {
		b *bird
		r row
		f fate
	}
	filled, fates, nobodyElse := 0, 0, true
	var lost []told
	for _, r := range t.body {
		c := r.at(j)
		if c.kind != words {
			if c.kind != blank {
				filled++
			}
			continue
		}
		if isNobody(c.text) {
			continue // "NULL", "unknown", "-"
		}
		filled++
		f := fateTold(c.text)
		if f == noFate {
			nobodyElse = false
			continue
		}
		fates++
		if said, ok := im.saidWord("fate", c.text); ok && said == fateNames[alive] {
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
	alone := !t.has(colStatus) && !t.has(colDeath) && !t.has(colDepartureDate) && !t.has(colDepartureReason)
	into := colStatus
	if t.has(into) {
		into = colDepartureReason
	}
	if heading != "" && !t.has(into) && (t.ours[j] == unclaimed && float64(fates) >= mostOfColumn*float64(filled) || alone && fates*2 >= filled) {
		first := lost[0].r
		im.stop(Decision{Code: "fates_not_read", Sheet: t.name, Line: first.line, Column: into.String(), Value: first.at(j).text, Flag: columnFlag(into, heading) + fmt.Sprintf("; or, where a word in it says nothing of life and death, [import.words.fate] %s = \"alive\"", tomlQuote(first.at(j).text)), Choice: t.headingChoice(into, heading, ""),
			Text: fmt.Sprintf("column %q seems to say what became of the birds, as %q, and nothing reads it: %s would count as living", heading, first.at(j).text, counted(len(lost), "bird", "birds"))})
		return
	}
	for _, x := range lost {
		if x.f == departed {
			continue
		}
		text := x.r.at(j).text
		im.likely(Decision{Code: "fate_in_notes", Sheet: t.name, Line: x.r.line, Column: heading, Value: text, Taken: fateNames[alive], of: im.about(x.b),
			Flag: fmt.Sprintf("[import.words.fate] %s = \"alive\", or its date or status in the file", tomlQuote(shorten(text))),
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

// overlookedDates lists a column of dates that no heading explains.
func (im *importer) overlookedDates(t *table, j int) {
	dated, filled := 0, 0
	var example cell
	for _, r := range t.body {
		c := r.at(j)
		if c.kind == blank {
			continue
		}
		filled++
		if c.kind == number {
			continue
		}
		if d, ok := im.readDate(c); ok && d.known() && (c.kind == day || !yearOnly().MatchString(c.text)) {
			dated++
			example = c
		}
	}
	if dated == 0 || float64(dated) < mostOfColumn*float64(filled) || t.head[j] == "" {
		return
	}
	meant := []column{colHatch, colDeath, colDepartureDate, colArrivalDate}
	if filled < len(t.body) { // what not every bird has is no hatch date
		meant = append(meant[1:], colHatch)
	}
	if t.has(colDepartureDate) || t.has(colDeath) {
		meant = slices.DeleteFunc(meant, func(c column) bool { return c == colDeath || c == colDepartureDate })
	}
	k := slices.IndexFunc(meant, func(c column) bool { return !t.has(c) })
	if k < 0 {
		return
	}
	im.likely(Decision{Code: "dates_not_read", Sheet: t.name, Line: t.headLine, Column: meant[k].String(), Value: t.head[j], Taken: "nothing", Flag: columnFlag(meant[k], t.head[j]), Choice: t.dateChoice(t.head[j], meant),
		Text: fmt.Sprintf("column %q holds dates of %s, as %s, and its heading is in no list: nothing reads them", t.head[j], counted(filled, "bird", "birds"), example.text)})
}
