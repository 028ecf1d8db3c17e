package exchange

import (
	"cmp"
	"fmt"
	"strings"
	"unicode"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

// stay is what one row says of where a bird was and what became of it.
type stay struct {
	at                  spot
	location            string
	arrived, gone       date
	from                string
	fate                fate
	reason, destination string
	reasonOf            column // the column that gives the reason, unclaimed where it is that of reasons
	reasonless          bool   // it left, and nothing says why
	fromEvents          bool
	listed              int // the year that the row lists it for, 0 if it has none
}

// year is the year that a row lists its bird for, as a date.
func (s stay) year() date {
	d, _ := simple(s.listed, 0, 0, "")
	return d
}

// away reports whether a stay ended with the bird going away.
func away(s stay) bool { return s.fate == moved || s.fate == left }

// takeStay reads what a row says of where a bird was and what became of it.
func (im *importer) takeStay(b *bird, t *table, r sheets.Row, at spot) {
	get := func(c column) sheets.Cell { return t.get(r, c) }
	place := im.placeRead(get(colLocation).Text)
	if place.enclosed && t.enclosed != "" {
		place.name = t.enclosed
	}
	s := stay{at: at, location: place.name, from: im.placeIn(get(colArrivalFrom).Text), destination: im.placeIn(get(colDepartureTo).Text)}
	if t.years >= 0 {
		s.listed = number2(r.At(t.years).Text)
		b.listed = max(b.listed, s.listed)
	}
	if _, event := eventWords().whole(s.from); event {
		s.from = "" // "hatched" or "bought" is no place
	}
	im.fillDate(b, &s.arrived, written{get(colArrivalDate), at}, colArrivalDate, "")
	told := im.endOf(b, &s, t, r, at)
	if f := place.fate; f == died || f == left || f == departed {
		im.likely(Decision{Code: "fate_in_location", Sheet: t.Name, Line: at.line, Column: "location", Value: s.location, Taken: fateNames[f], of: im.about(b),
			Text: fmt.Sprintf("the place %q is taken as what became of a bird, not as a place", s.location)})
		s.location = ""
		if told.status == noFate || told.status == alive {
			told.status = f
		}
	}
	im.settle(b, &s, told, t, at)
	if s.fate == died && !b.death.known() {
		if s.gone.known() && told.death != died {
			im.takeDate(b, &b.death, s.gone.in(at), colDeath)
		} else {
			b.deadSome = true
		}
	}
	if away(s) {
		s.reason = cmp.Or(s.reason, oneLine(get(colStatus).Text))
		s.destination = cmp.Or(s.destination, destination(s.reason))
		if t.enclosed != "" && im.placeRead(s.destination).enclosed {
			s.destination = t.enclosed
		}
	}
	b.stays = im.stays.add(b.stays, s)
}

// diedOf takes a bird for dead whose row gives the cause of its death and says nothing else.
func (im *importer) diedOf(b *bird, cause sheets.Cell, t *table, at spot) {
	if cause.Kind == sheets.Blank || isNobody(cause.Text) || noValue()[key(cause.Text)] {
		return
	}
	if f := im.fateIn(cause.Text); f == alive || f == moved || f == left {
		return
	}
	b.deadSome = true
	im.likely(Decision{Code: "death_by_cause", Sheet: t.Name, Line: at.line, Column: colDeathCause.String(), Taken: fateNames[died], of: im.about(b), Choice: t.headingChoice(colDeathCause, t.head[t.col[colDeathCause]], colDeathCause.String()),
		Text: fmt.Sprintf("birds with a cause of death in column %q of which nothing else says that they died, as %s, are taken as dead on an unknown day", t.head[t.col[colDeathCause]], b.id)})
}

// end is what the cells of a row say of how a stay ended, each by itself.
type end struct {
	death, status, why fate
	gone               bool   // it has a departure
	reason             string // as the row gives it, "" if it gives none
}

// endOf reads the cells of a row that say how a stay ended, and their dates.
func (im *importer) endOf(b *bird, s *stay, t *table, r sheets.Row, at spot) end {
	get := func(c column) sheets.Cell { return t.get(r, c) }
	departure := get(colDepartureDate)
	off, saidSo := im.departureIn(departure)
	if saidSo {
		s.gone = off.on
	} else {
		im.fillDate(b, &s.gone, written{departure, at}, colDepartureDate, "")
	}
	e := end{death: im.deathOf(b, get(colDeath), t, at), gone: departure.Kind != sheets.Blank && !isNobody(departure.Text), reason: get(colDepartureReason).Text}
	var since date
	e.status, since = im.statusOf(b, get(colStatus), t, at)
	unknownDay := e.death == died && !b.death.known()
	if x := get(colStatusDate); x.Kind != sheets.Blank && (e.status != noFate && e.status != alive || unknownDay) { // of the living it is a day on which somebody looked
		im.fillDate(b, &since, written{x, at}, colStatusDate, "")
	}
	switch {
	case !since.known():
	case e.status == died || unknownDay:
		im.takeDate(b, &b.death, since.in(at), colDeath)
	case e.status == moved || e.status == left || e.status == departed:
		im.takeDate(b, &s.gone, since.in(at), colDepartureDate)
	}
	if m, said := im.saidWord("fate", BlankStatus); said && get(colStatus).Kind == sheets.Blank && im.onlyYes(t) {
		e.status = im.deathWord(b, m)
	}
	if m, said := im.saidWord("fate", StruckThrough); r.Struck && said && (e.status == noFate || e.status == alive) {
		e.status = im.deathWord(b, m)
	}
	if e.death == noFate && e.status == noFate && !e.gone && !b.death.known() {
		im.diedOf(b, get(colDeathCause), t, at)
	}
	s.reason = oneLine(e.reason)
	if e.reason != "" {
		e.why = im.fateIn(e.reason)
	} else if saidSo {
		e.why, s.reason = off.fate, off.why
	}
	if e.death == moved || e.death == left {
		im.goneInDeath(b, s, get(colDeath))
	}
	return e
}

// goneInDeath takes from a cell of deaths that says that a bird moved or left, as "sent to
// Ashby 2023", what it has of the place and the day.
func (im *importer) goneInDeath(b *bird, s *stay, c sheets.Cell) {
	if s.reason == "" {
		s.reason, s.reasonOf = oneLine(c.Text), colDeath
	}
	if _, plain := fateWords().whole(c.Text); plain {
		return
	}
	b.note("death date: " + c.Text)
	if on, _, ok := im.dayIn(c.Text); ok && !s.gone.known() {
		s.gone = on
	}
}

// tellGone says what became of a bird by a cell of deaths with more than a word.
func (im *importer) tellGone(b *bird, s *stay) {
	_, plain := fateWords().whole(s.reason)
	_, said := im.saidWord("fate", s.reason)
	if s.reasonOf != colDeath || plain || said || !away(*s) || s.fate == moved && s.destination == "" {
		return // or it is told as a move to no place
	}
	taken := "it moved to " + s.destination
	switch {
	case s.fate == left && s.destination == "":
		taken = "it left the programme"
	case s.fate == left:
		taken = "it left the programme for " + s.destination
	}
	if s.gone.known() {
		taken += ", " + s.gone.text
	}
	d := Decision{Code: "fate_in_death", Sheet: s.at.t.Name, Line: s.at.line, Column: colDeath.String(), Value: s.reason, Taken: fateNames[s.fate], of: im.about(b), Choice: wordChoice("fate", s.reason, fateNames[s.fate], departures...),
		Text: fmt.Sprintf("the death date of %s, %q, is taken as what became of it: %s", b.id, shorten(s.reason), taken)}
	const each = 20 // cells that differ are told each by itself
	if im.goneTold[s.reason] = true; len(im.goneTold) > each {
		d.Value, d.Choice = s.at.t.head[s.at.t.col[colDeath]], nil
		d.Text = fmt.Sprintf("in column %q other cells too are taken as what became of birds, as %q of %s: %s", d.Value, shorten(s.reason), b.id, taken)
	}
	im.likely(d)
}

// dayIn cuts a date off the end or the beginning of a text.
func (im *importer) dayIn(s string) (d date, rest string, ok bool) {
	if d, rest, ok = im.trailingDate(s); !ok {
		d, rest, ok = im.leadingDate(s)
	}
	return d, rest, ok
}

// settle decides how a stay ended by all that a row says of it, and by its sheet.
func (im *importer) settle(b *bird, s *stay, e end, t *table, at spot) {
	told := e.reason != "" && e.why != departed
	if e.status == departed {
		e.gone, e.status = true, noFate
	}
	if e.why == departed {
		e.gone, e.why = true, noFate
	}
	switch {
	case b.death.known() || e.death == died:
		s.fate = died
		if e.gone && (e.why == moved || e.why == left && b.death.known() && s.gone.known() && s.gone.last < b.death.first) {
			s.fate = e.why // it went, and died there
		}
	case e.gone && e.why != noFate:
		s.fate = e.why
	case e.gone && e.status != noFate && e.status != alive:
		s.fate = e.status
	case e.gone && told:
		im.unknownReason(b, e.reason, at)
	case e.gone && (t.fate == died || t.fate == left):
		s.fate = t.fate
	case e.gone && t.goneBy != noFate:
		s.fate, s.reason = t.goneBy, t.head[t.col[colDepartureDate]]
	case e.gone:
		s.reasonless = true
	case e.status != noFate && e.status != alive:
		s.fate = e.status
	case e.why == died || e.why == left || e.why == moved:
		s.fate = e.why
	case e.why == noFate && told && e.death == noFate && !isNobody(e.reason):
		im.unknownReason(b, e.reason, at)
	case e.death != noFate:
		s.fate = e.death
	case e.status == alive:
		s.fate = alive
	}
	switch {
	case t.fate == died && !away(*s):
		s.fate = died
	case t.fate == left && s.fate == noFate && !s.reasonless:
		s.fate = left
	case t.fate == departed && s.fate == noFate:
		s.reasonless = true
	}
}

// placeIn returns the place that a cell names, "" if it names none.
func (im *importer) placeIn(s string) string { return im.placeRead(s).name }

// placeRead is what a cell with a place was read as: its name, and the fate that it
// names instead.
type placeRead struct {
	name            string
	fate            fate
	enclosed, plain bool // what enclosure says of it
}

// placeRead reads a cell with a place. A file has few, and many birds at each.
func (im *importer) placeRead(s string) placeRead {
	if s == "" {
		return placeRead{}
	}
	im.read.Lock()
	defer im.read.Unlock()
	if read, there := im.places[s]; there {
		return read
	}
	var read placeRead
	if read.name = oneLine(s); isNobody(read.name) {
		read.name = ""
	} else {
		read.fate, _ = fateWords().whole(read.name)
		if f, _ := fateWords().within(read.name); f == moved && read.fate == noFate {
			read.name = cmp.Or(destination(read.name), read.name) // "on loan to Ashby"
		}
		read.enclosed, read.plain = enclosure(read.name)
	}
	if im.places == nil {
		im.places = make(map[string]placeRead)
	}
	im.places[s] = read
	return read
}

// departure is what a cell says of the day on which a bird went and of why.
type departure struct {
	on   date
	fate fate
	why  string
}

// departureIn reads a cell of departures that says why as well, as "sold 2016", "+ 3.4.2014"
// or "given to M. Huber", if it does.
func (im *importer) departureIn(c sheets.Cell) (d departure, ok bool) {
	if c.Kind != sheets.Words {
		return d, false
	}
	rest := strings.TrimLeft(c.Text, "+†✝ ")
	if rest != c.Text {
		if on, read := im.parseDate(rest); read {
			return departure{im.past(on), died, c.Text}, true
		}
	}
	if _, read := im.parseDate(c.Text); read || strings.IndexFunc(c.Text, unicode.IsLetter) < 0 {
		return d, false
	}
	d.why, d.fate = oneLine(c.Text), im.fateIn(c.Text)
	if on, _, before := im.trailingDate(c.Text); before {
		d.on = on
	} else if on, rest, behind := im.leadingDate(c.Text); behind {
		d.on, d.fate = on, cmp.Or(d.fate, im.fateIn(rest))
	}
	return d, d.fate != noFate && d.fate != alive && d.fate != departed
}

// fateIn returns what a reason or a status says, on the user's word first.
func (im *importer) fateIn(s string) fate {
	if m, ok := im.saidWord("fate", s); ok {
		return fateNamed(m)
	}
	f, _ := fateWords().within(s)
	return f
}

// departures are what the end of a stay may be.
var departures = []string{"died", "moved", "left"}

// unknownReason stops because a bird left and nothing known says why.
func (im *importer) unknownReason(b *bird, reason string, at spot) {
	im.stop(Decision{Code: "departure_reason_unknown", Sheet: at.t.Name, Line: at.line, Column: "departure_reason", Value: reason, Choice: wordChoice("fate", reason, "", departures...),
		Text: fmt.Sprintf("%s left, and the reason %q says neither that it died nor that it moved or left the programme", b.id, reason)})
}

// noValue are what databases and programs of statistics write for a blank cell.
var noValue = wordSet("null|nil|na|nan|nat|none|#N/A|00/00/0000|0000-00-00|9999-12-31|31/12/9999|12/31/9999|no data")

// deathTold reads the cell of a death that says it in a word.
func (im *importer) deathTold(b *bird, c sheets.Cell, t *table, at spot) (f fate, said bool) {
	if noValue()[key(c.Text)] || dayZero(c.Text) || strings.Trim(c.Text, ".…-–—_/ ") == "" {
		return noFate, true
	}
	if m, ok := im.saidWord("fate", c.Text); ok {
		if on, _, dated := im.dayIn(c.Text); dated && fateNamed(m) == died {
			im.takeDate(b, &b.death, on.in(at), colDeath)
		}
		return im.deathWord(b, m), true
	}
	if t.mine && c.Text == someDayUnknown {
		b.death, b.deadSome = date{text: c.Text, at: at}, true
		return died, true
	}
	if c.Kind == sheets.Words || c.Kind == sheets.Number && (c.Num == 0 || c.Num == 1) {
		yes, ok := t.trueFalse(colDeath, c)
		if !ok {
			yes, ok = yesNo().whole(c.Text)
		}
		if ok {
			if yes {
				b.deadSome = true
				return died, true
			}
			return alive, true
		}
		if f, ok := fateWords().whole(c.Text); ok && f != departed {
			if f == died {
				b.deadSome = true
			}
			return f, true
		}
	}
	return noFate, false
}

// deathOf reads the cell of a death. A word in it that says nothing of life is
// a death on an unknown day.
func (im *importer) deathOf(b *bird, c sheets.Cell, t *table, at spot) fate {
	if c.Kind == sheets.Blank {
		return noFate
	}
	if x, read := im.dates[c.Text]; !read || !x.ok || !x.known() || len(im.opt.Mapping.Words["fate"]) > 0 { // most are days that were read before
		if f, said := im.deathTold(b, c, t, at); said {
			return f
		}
	}
	d, ok := im.readDate(c)
	switch {
	case ok && d.known():
		if d.note != "" {
			b.note("death date: " + c.Text)
		}
		im.takeDate(b, &b.death, d.in(at), colDeath)
		return died
	case ok && d.after:
		b.note("death date: " + c.Text)
		b.deadSome = true
		b.stays = append(b.stays, stay{at: at, arrived: exactly(d.last), fromEvents: true}) // alive then
		return died
	}
	// A date and words, as "12.5.2019 found dead".
	if d, rest, ok := im.dayIn(c.Text); ok {
		f := im.fateIn(rest)
		if f == noFate || f == died {
			b.note("death date: " + c.Text)
			im.takeDate(b, &b.death, d.in(at), colDeath)
			return died
		}
	}
	switch f := im.fateIn(c.Text); f {
	case alive, moved, left:
		return f
	}
	b.note("death date: " + c.Text)
	b.deadSome = true
	im.likely(Decision{Code: "death_without_day", Sheet: t.Name, Line: at.line, Column: "death_date", Value: c.Text, Taken: "dead on an unknown day", of: im.about(b), Choice: wordChoice("fate", c.Text, fateNames[died]),
		Text: fmt.Sprintf("the death of a bird is given as %q: it is taken as dead on an unknown day", c.Text)})
	return died
}

// trueFalse reads the t and f of a database, where no cell of the column has any
// other letter: an f alone may be a word for a death.
func (t *table) trueFalse(c column, x sheets.Cell) (yes, ok bool) {
	if t.logical[c] == 0 {
		t.logical[c] = 1
		seen := make(map[string]bool)
		for _, r := range t.body {
			if y := t.get(r, c); y.Kind != sheets.Blank {
				seen[strings.ToLower(y.Text)] = true
			}
		}
		if len(seen) == 2 && seen["t"] && seen["f"] {
			t.logical[c] = 2
		}
	}
	return strings.EqualFold(x.Text, "t"), t.logical[c] == 2
}

// deathWord is what the user says became of a bird.
func (im *importer) deathWord(b *bird, m string) fate {
	f := fateNamed(m)
	if f == died {
		b.deadSome = true
	}
	return f
}

// trailingDate cuts a date off the end of a text, as of "died 12.3.2019".
func (im *importer) trailingDate(s string) (d date, rest string, ok bool) {
	fields := strings.Fields(s)
	for n := min(len(fields)-1, 3); n > 0; n-- {
		if d, ok := im.parseDate(strings.Trim(strings.Join(fields[len(fields)-n:], " "), "()[],;")); ok && d.known() {
			return im.past(d), strings.TrimRight(strings.Join(fields[:len(fields)-n], " "), " (["), true
		}
	}
	return date{}, "", false
}

// leadingDate cuts a date off the beginning of a text.
func (im *importer) leadingDate(s string) (d date, rest string, ok bool) {
	fields := strings.Fields(s)
	for n := min(len(fields)-1, 3); n > 0; n-- {
		if d, ok := im.parseDate(strings.TrimRight(strings.Join(fields[:n], " "), ",;:")); ok && d.known() {
			return im.past(d), strings.Join(fields[n:], " "), true
		}
	}
	return date{}, "", false
}

// statusOf reads the cell of a status, and the date that it may have, as "sold 3.4.2014".
func (im *importer) statusOf(b *bird, c sheets.Cell, t *table, at spot) (f fate, since date) {
	if c.Kind == sheets.Blank {
		return noFate, since
	}
	if m, ok := im.saidWord("fate", c.Text); ok {
		return im.deathWord(b, m), since
	}
	yes, ok := t.trueFalse(colStatus, c)
	if !ok {
		yes, ok = yesNo().whole(c.Text)
	}
	if ok && t.positive {
		if yes {
			return alive, since
		}
		b.deadSome = true
		return died, since
	}
	word := c.Text
	if strings.ContainsAny(word, "0123456789") {
		if d, rest, ok := im.trailingDate(word); ok {
			since, word = d, rest
		} else if d, rest, ok := im.leadingDate(word); ok {
			since, word = d, rest
		}
	}
	if m, ok := im.saidWord("fate", word); ok {
		return im.deathWord(b, m), since
	}
	if f, ok = fateWords().within(c.Text); !ok {
		f, ok = fateWords().within(word)
	}
	switch {
	case ok:
		return f, since
	case isNobody(c.Text):
	case len(key(word)) <= 2: // a code, of which nothing is likely
		im.unknownStatus(word, at)
	default:
		b.note("status: " + c.Text)
		im.likely(Decision{Code: "status_unknown", Sheet: t.Name, Line: at.line, Column: "status", Value: word, Taken: "says nothing of life and death", of: im.about(b), Choice: wordChoice("fate", word, fateNames[alive]),
			Text: fmt.Sprintf("the status %q is in no list of words: birds with it count as living unless something else says otherwise", word)})
	}
	return noFate, date{}
}

// onlyYes reports whether a column that asks whether a bird is there has marks that it
// is, and blanks, and nothing that says that it is not.
func (im *importer) onlyYes(t *table) bool {
	if !t.positive {
		return false
	}
	if t.marks == 0 {
		yes, blanks := 0, 0
		t.marks = 1
		for _, r := range t.body {
			x := t.get(r, colStatus)
			y, ok := yesNo().whole(x.Text)
			switch {
			case x.Kind == sheets.Blank:
				blanks++
			case ok && y:
				yes++
			default:
				return false
			}
		}
		if yes > 0 && blanks > 0 {
			t.marks = 2
		}
	}
	return t.marks == 2
}

// blanks stops where a blank in such a column is all that could say that birds are
// gone.
func (im *importer) blanks() {
	if _, said := im.saidWord("fate", BlankStatus); said {
		return
	}
	for _, t := range im.tables {
		if t.kind != birdRows || !im.onlyYes(t) {
			continue
		}
		birds, line := 0, 0
		for _, r := range t.body {
			if t.get(r, colStatus).Kind != sheets.Blank {
				continue
			}
			k, there := im.byID[im.idText(t.get(r, colID))]
			if !there || im.birds[k].fate != alive {
				continue
			}
			if birds++; birds == 1 {
				line = r.Line
			}
		}
		if birds > 0 {
			im.stop(Decision{Code: "status_blank", Sheet: t.Name, Line: line, Column: "status", Value: t.head[t.col[colStatus]], Choice: wordChoice("fate", BlankStatus, "", "died", "left", "alive"),
				Text: fmt.Sprintf("column %q marks birds that are there and is blank for %s, the first in line %d, of which nothing else says that they are gone", t.head[t.col[colStatus]], studbook.Counted(birds, "bird", "birds"), line)})
			return
		}
	}
}

// unknownStatus stops because a code of the status column could say anything.
func (im *importer) unknownStatus(code string, at spot) {
	c := wordChoice("fate", code, "")
	im.stop(Decision{Code: "status_code_unknown", Sheet: at.t.Name, Line: at.line, Column: "status", Value: code, Choice: c,
		Text: fmt.Sprintf("the status %q is a code that could say of its birds that they live, died or left", code)})
}

// toWords are the words before the place that a bird went to.
var toWords = wordSet("to|nach|an|zu|zum|zur|à|au|aux|a|al|ao|à|alla|allo|para|naar|aan")

// destination finds the place in a reason such as "moved to QUM" or "an QUM abgegeben".
func destination(reason string) string {
	fields := strings.Fields(reason)
	for i, f := range fields {
		f = strings.Trim(f, ",:;")
		if i+1 == len(fields) || f != "->" && f != "→" && (f != strings.ToLower(f) && i > 0 || !toWords()[key(f)]) {
			continue
		}
		to := fields[i+1:]
		for len(to) > 1 && to[0] == strings.ToLower(to[0]) && articles()[key(to[0])] {
			to = to[1:]
		}
		place := strings.Join(to, " ")
		for {
			was := place
			place = strings.Trim(sinceThen().ReplaceAllString(place, ""), " .,;")
			if k := strings.LastIndexByte(place, ' '); k >= 0 {
				if f, _ := fateWords().whole(strings.Trim(place[k:], " ()[],;")); f == moved || f == left {
					place = place[:k]
				}
			}
			if place == was {
				return place
			}
		}
	}
	return ""
}

// sinceThen is the day that may stand behind the place that a bird moved to.
var sinceThen = pattern(`(?i)[,; (]+(?:(?:since|on|in|from|until|till|seit|ab|am|im|bis|depuis|le|en|desde|el|dal|il|nel|sinds|op|em)\b[^0-9]{0,12}[0-9].*|[0-9]{1,2}[./-][0-9]{1,2}[./-][0-9]{2,4}\)?|(?:19|20)[0-9]{2}(?:-[0-9]{2}){0,2}\)?)$`)
