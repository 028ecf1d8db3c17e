package exchange

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"time"
	"unicode"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

// date is a date as a foreign cell has it, on its way into EDTF.
type date struct {
	text        string // in EDTF, "" if nothing is known
	first, last studbook.Day
	note        string // the words that EDTF does not hold
	after       bool   // some day after last; text is ""
	short       bool   // the year had two digits: y may be a century earlier
	y, m, d     int    // 0 where unknown, and all of them where text is a range
	mark        string // "~", "?" or "%"
	at          spot   // where it was read, of what a bird has
}

// in returns the date as it was read in a place.
func (d date) in(at spot) date {
	d.at = at
	return d
}

func (d date) known() bool { return d.text != "" && d.text != someDayUnknown }

// someDayUnknown is how our own files write a death on an unknown day.
const someDayUnknown = "unknown"

// inCalendar reports whether there is a year, a month (0 for none) and a day of it (0
// for none).
func inCalendar(y, m, d int) bool {
	return y >= 1 && y <= 9999 && m >= 0 && m <= 12 && (m > 0 || d == 0) && d >= 0 && (m == 0 || d <= studbook.DaysIn(y, m))
}

// simple makes a date of a year, a month or a day.
func simple(y, m, d int, mark string) (date, bool) {
	if !inCalendar(y, m, d) {
		return date{}, false
	}
	out := date{y: y, m: m, d: d, mark: mark}
	switch {
	case d > 0:
		out.first = studbook.DayOf(y, time.Month(m), d)
		out.last = out.first
		out.text = out.first.String() + mark
	case m > 0:
		out.first, out.last = studbook.DayOf(y, time.Month(m), 1), studbook.DayOf(y, time.Month(m), studbook.DaysIn(y, m))
		out.text = fmt.Sprintf("%04d-%02d%s", y, m, mark)
	default:
		out.first, out.last = studbook.DayOf(y, time.January, 1), studbook.DayOf(y, time.December, 31)
		out.text = fmt.Sprintf("%04d%s", y, mark)
	}
	return out, true
}

func exactly(day studbook.Day) date {
	t := day.Time()
	d, _ := simple(t.Year(), int(t.Month()), t.Day(), "")
	return d
}

// marked returns a date with a mark added.
func (d date) marked(mark string) date {
	if mark == "" || d.text == "" || d.y == 0 {
		return d // a range is vague already
	}
	switch {
	case d.mark == "" || d.mark == mark:
	default:
		mark = "%"
	}
	out, _ := simple(d.y, d.m, d.d, mark)
	out.note, out.short = d.note, d.short
	return out
}

// earlier returns a date with a year of two digits a century earlier.
func (d date) earlier() date {
	out, ok := simple(d.y-100, d.m, min(d.d, studbook.DaysIn(d.y-100, max(d.m, 1))), d.mark)
	if !ok {
		return d
	}
	out.note, out.short = d.note, true
	return out
}

// between returns the date that is some day of two dates' span.
func between(a, b studbook.Day) date {
	if a == b {
		return exactly(a)
	}
	return date{text: "[" + a.String() + ".." + b.String() + "]", first: a, last: b}
}

// truncated returns what of a date a precision leaves: "day", "month", "year".
func (d date) truncated(precision string) date {
	if d.y == 0 {
		return d
	}
	out := d
	switch precision {
	case "month":
		if d.m > 0 {
			out, _ = simple(d.y, d.m, 0, d.mark)
		}
	case "year":
		out, _ = simple(d.y, 0, 0, d.mark)
	}
	out.note, out.short = d.note, d.short
	return out
}

// precisions are the words of a column that says how well a date is known.
var precisions = sync.OnceValue(func() *lexicon[string] {
	return newLexicon(map[string]string{
		"day":   "day|d|exact|exactly|known|tag|t|taggenau|genau|jour|j|exacte|día|dia|exacta|exacto|giorno|g|esatta|esatto|dag|exact|precies",
		"month": "month|m|monat|mois|mes|mês|mese|maand",
		"year":  "year|y|jahr|année|an|a|año|ano|anno|jaar",
		"about": "about|approximate|approx|estimate|estimated|est|ca|circa|geschätzt|ungefähr|estimé|estimée|estimada|estimado|aproximada|aproximado|stimata|stimato|geschat|uncertain|unsicher|incertain|incierto|incierta|incerto|incerta|onzeker",
	}, []string{"day", "month", "year", "about"})
})

var (
	clock     = pattern(`(?i)(?:[ ,]+(?:um|at|à|alle|om|a las|às))?[T ,]+[0-9]{1,2}:[0-9]{2}(?::[0-9]{2}(?:[.,][0-9]+)?)?(?: ?[ap]\.?m\.?)?(?:Z| ?UTC|[+-][0-9]{2}(?::?[0-9]{2})?)?$`)
	yearOnly  = pattern(`^(1[5-9]|20|21)[0-9]{2}$`)
	runOn     = pattern(`^(?:1[5-9]|20)[0-9]{6}$`)
	dayCount  = pattern(`^([1-6][0-9]{4})(?:\.[0-9]+)?$`)
	decade    = pattern(`^([0-9]{3})0 ?(?:'?s|er|ies)$`)
	twoYears  = pattern(`^([0-9]{4}) ?[-/–—] ?([0-9]{4}|[0-9]{2})$`)
	edtfYears = pattern(`^([0-9]{4})-(2[1-4])$`)
	monthYear = pattern(`^([0-9]{1,2}) ?[-/. ] ?([0-9]{4})$`)
	yearMonth = pattern(`^([0-9]{4}) ?[-/. ] ?([0-9]{1,2})$`)
	calendar  = pattern(`^(?:@#DGREGORIAN@|GREGORIAN) +`)
)

// pattern is an expression that is made when it is first asked for: few commands
// need any of them.
func pattern(expression string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(expression) })
}

// wordSet is a set of keys.
func wordSet(list string) func() map[string]bool {
	return sync.OnceValue(func() map[string]bool {
		m := make(map[string]bool)
		for w := range strings.SplitSeq(list, "|") {
			m[key(w)] = true
		}
		return m
	})
}

var (
	aboutWords  = wordSet("ca|c|circa|cca|about|abt|approx|approximately|around|est|estimated|cal|calc|calculated|roughly|um|etwa|ungefähr|zirka|gegen|geschätzt|vers|env|environ|autour|estimé|hacia|aprox|aproximadamente|alrededor|sobre|estimado|cerca|volta|verso|intorno|stimato|rond|ongeveer|omstreeks|geschat|int")
	beforeWords = wordSet("before|bef|vor|avant|antes|prima|voor|pre")
	afterWords  = wordSet("after|aft|nach|après|después|depois|dopo|na|since|seit|post")
	seasonWords = wordSet("spring|summer|autumn|fall|winter|early|mid|middle|late|beginning|start|end|season|frühling|frühjahr|sommer|herbst|anfang|mitte|ende|früh|spät|printemps|été|automne|hiver|début|milieu|fin|mi|saison|primavera|verano|otoño|invierno|principios|mediados|finales|temporada|" +
		"verão|outono|inverno|início|meados|final|estate|autunno|inizio|metà|fine|stagione|lente|voorjaar|zomer|herfst|najaar|begin|midden|eind|einde|seizoen")
	betweenWords = wordSet("between|bet|zwischen|entre|tra|fra|tussen|from|von|de|desde|da|van")
	andWords     = wordSet("and|und|et|y|e|en|to|bis|à|a|al|até|tot|or|oder|ou|o|of|hasta")
	dateFillers  = wordSet("de|del|of|the|le|la|den|der|dem|am|on|el|il|den|em|in|im|en|der|do|da|at|year|jahr|année|año|ano|anno|jaar|hatched|born|died|geboren|né|née|" +
		"monday|tuesday|wednesday|thursday|friday|saturday|sunday|mon|tue|wed|thu|fri|sat|sun|montag|dienstag|mittwoch|donnerstag|freitag|samstag|sonntag|mo|di|mi|fr|sa|so|lundi|mardi|mercredi|jeudi|vendredi|samedi|dimanche|lunes|martes|miércoles|jueves|viernes|sábado|domingo|" +
		"segunda|terça|quarta|quinta|sexta|feira|lunedì|martedì|mercoledì|giovedì|venerdì|sabato|domenica|maandag|dinsdag|woensdag|donderdag|vrijdag|zaterdag|zondag")
	dateUnknown = wordSet("unknown|unk|not known|unbekannt|unbek|inconnu|inconnue|desconocido|desconocida|desconhecido|desconhecida|sconosciuto|sconosciuta|onbekend|n/a|na|nd|none|no data|nicht bekannt|xxxx|#N/A|nil|null|00/00/0000|0000-00-00|9999-12-31|31/12/9999|12/31/9999|0")
)

// dayZero reports whether a text is the day that spreadsheets and databases count from: they
// show it for a date that is a nought or nothing at all.
func dayZero(s string) bool {
	return len(s) >= 6 && (strings.Contains(s, "00") || strings.Contains(s, "1899")) && firstDays().MatchString(s)
}

var firstDays = pattern(`(?i)^(?:0{1,2}[-./ ](?:0?1|jan)[-./ ](?:19)?00|0?1/0{1,2}/(?:19)?00|1900-0?1-0{1,2}|3[01][-./]12[-./]1899|12/3[01]/1899|1899-12-3[01]|1900-01-01|0?1[-./]0?1[-./]1900)(?:[T ]0{1,2}:00.*)?$`)

// unknownDate reports whether a cell says that a date is not known.
func unknownDate(s string) bool {
	k := key(s)
	return k == "" || dateUnknown()[k] || dayZero(s)
}

// readDate reads a cell with a date; false if it cannot be read.
func (im *importer) readDate(c sheets.Cell) (date, bool) {
	switch c.Kind {
	case sheets.Blank:
		return date{}, true
	case sheets.Day:
		if dayZero(c.Text) {
			return date{}, true
		}
		return exactly(dayOf(c)), true
	case sheets.Number:
		if c.Num >= 1500 && c.Num < 2200 && c.Num == float64(int(c.Num)) {
			return simple(int(c.Num), 0, 0, "")
		}
		if c.Num >= 10_000 && c.Num < 80_000 {
			if d, ok := sheets.CountedDay(c.Num, im.from1904); ok {
				return exactly(studbook.Day(d)), true
			}
		}
	}
	d, ok := im.parseDate(c.Text)
	return im.past(d), ok
}

// past returns a date whose year of two digits is in the future as one of the
// century before.
func (im *importer) past(d date) date {
	for d.short && d.first > im.opt.today() && d.y > 100 {
		d = d.earlier()
	}
	return d
}

// parseDate reads the text of a date in the notations of the languages.
func (im *importer) parseDate(s string) (date, bool) {
	im.read.Lock()
	x, there := im.dates[s]
	im.read.Unlock()
	if there {
		return x.date, x.ok
	}
	d, ok := im.readText(s)
	im.read.Lock()
	defer im.read.Unlock()
	if im.dates == nil {
		im.dates = make(map[string]dateRead)
	}
	if len(im.dates) < mostDates {
		im.dates[s] = dateRead{d, ok}
	}
	return d, ok
}

// dateRead is what was made of the text of a date. In a long file most days stand
// many times.
type dateRead struct {
	date
	ok bool
}

// mostDates is how many of them are kept: the days of a century.
const mostDates = 1 << 16

// readText reads the text of a date that was not read before.
func (im *importer) readText(s string) (date, bool) {
	if dayZero(s) {
		return date{}, true
	}
	if len(s) == 10 && s[4] == '-' && s[7] == '-' {
		if n, width, _, ok := triple(s); ok {
			if d, ok := arranged(n, width, "ymd"); ok {
				return d, true
			}
		}
	}
	if strings.Trim(s, "0123456789./-") == "" {
		if d, ok := withoutDay(s); ok {
			return d, true
		}
		if n, width, _, ok := triple(s); ok && len(s) <= 10 {
			return im.inOrderOf(n, width)
		}
	}
	return im.writtenOut(s)
}

// withoutDay reads a date whose day, or day and month, is a nought, as 00.05.2012: many
// lists and databases write what they do not know so.
func withoutDay(s string) (date, bool) {
	m := noughts().FindStringSubmatch(s)
	if m == nil {
		return date{}, false
	}
	return simple(number2(m[3]+m[4]), number2(m[1]+m[2]+m[5]), 0, "")
}

var noughts = pattern(`^(?:(?:00?[-./](\d\d?)|(\d\d?)[-./]00?)[-./](\d{4})|(\d{4})[-./](\d\d?)[-./]00?)$`)

// writtenOut reads the text of a date that is not of numbers alone.
func (im *importer) writtenOut(s string) (date, bool) {
	s = strings.Join(strings.Fields(strings.TrimLeft(strings.ReplaceAll(s, "\u00a0", " "), "*†✝+ ")), " ")
	if s == "" || unknownDate(s) {
		return date{}, true
	}
	if !strings.ContainsAny(s, "0123456789") {
		return date{}, false
	}
	s = calendar().ReplaceAllString(clock().ReplaceAllString(s, ""), "")
	if m := edtfYears().FindStringSubmatch(s); m != nil {
		d, ok := simple(number2(m[1]), 0, 0, "")
		d.note = s
		return d, ok
	}
	if d, err := studbook.ParseDate(s); err == nil && d.Known() {
		out := date{text: d.Text, first: d.First, last: d.Last}
		if n, err := strconv.Atoi(s[:min(4, len(s))]); err == nil && s[0] != '[' && !strings.ContainsAny(s, "X/") {
			// Taken apart again, so that marks can be added.
			t := d.First.Time()
			body := strings.TrimRight(s, "~?%")
			switch {
			case n == t.Year() && len(body) == 4:
				out, _ = simple(n, 0, 0, s[len(body):])
			case n == t.Year() && len(body) == 7:
				out, _ = simple(n, int(t.Month()), 0, s[len(body):])
			case n == t.Year() && len(body) == 10:
				out, _ = simple(n, int(t.Month()), t.Day(), s[len(body):])
			}
		}
		return out, true
	}
	return im.vagueDate(s, 0)
}

func number2(s string) int {
	n, _ := strconv.Atoi(s)
	return n
}

// vagueDate reads a date with words around it.
func (im *importer) vagueDate(s string, depth int) (date, bool) {
	if s = strings.TrimSpace(s); s == "" || depth > 4 {
		return date{}, false
	}
	if d, ok := im.plainDate(s); ok {
		return d, true
	}
	inner := func(s string) (date, bool) { return im.vagueDate(s, depth+1) }
	if body := strings.Trim(s, "()[]"); body != s && body != "" && !strings.ContainsAny(body, "()[]") {
		if d, ok := inner(body); ok {
			return d, true
		}
	}
	for _, sign := range []struct {
		text, mark string
	}{{"~", "~"}, {"±", "~"}, {"+/-", "~"}, {"?", "?"}, {"%", "%"}} {
		for _, body := range []string{strings.TrimPrefix(s, sign.text), strings.TrimSuffix(s, sign.text)} {
			if body != s {
				if d, ok := inner(body); ok && d.known() {
					return d.marked(sign.mark), true
				}
			}
		}
	}
	if body, ok := strings.CutPrefix(s, "<"); ok {
		if d, ok := inner(body); ok && d.known() {
			return dayBefore(d, s), true
		}
	}
	// The first word may say how the rest is meant, and so may the last.
	first, rest := cutWord(s)
	switch k := key(first); {
	case rest == "" || k == "":
	case aboutWords()[k]:
		if d, ok := inner(afterFiller(rest)); ok && d.known() {
			return d.marked("~"), true
		}
	case beforeWords()[k]:
		if d, ok := inner(afterFiller(rest)); ok && d.known() {
			return dayBefore(d, s), true
		}
	case afterWords()[k]:
		if d, ok := inner(afterFiller(rest)); ok && d.known() {
			return date{after: true, first: d.last, last: d.last, note: s}, true
		}
	case seasonWords()[k]:
		if d, ok := inner(afterFiller(rest)); ok && d.known() && d.d == 0 {
			d.note = s
			return d, true
		}
	}
	if a, b, ok := im.twoDates(s, depth); ok {
		d := between(a.first, b.last)
		if !betweenWords()[key(first)] {
			d.note = s // it may have meant something else
		}
		return d, true
	}
	if k := strings.LastIndexAny(s, " ("); k > 0 {
		switch last := key(s[k:]); {
		case aboutWords()[last]:
			if d, ok := inner(s[:k]); ok && d.known() {
				return d.marked("~"), true
			}
		case seasonWords()[last]:
			if d, ok := inner(s[:k]); ok && d.known() && d.d == 0 {
				d.note = s
				return d, true
			}
		}
	}
	if !unicode.IsDigit(rune(s[0])) && rest != "" && dateFillers()[key(first)] {
		return inner(rest)
	}
	return date{}, false
}

// cutWord cuts the first word off a text.
func cutWord(s string) (first, rest string) {
	for i, c := range s {
		if unicode.IsDigit(c) && i > 0 || c == ' ' || c == '.' && i > 0 && i < len(s)-1 {
			return s[:i], strings.TrimLeft(s[i:], " .")
		}
	}
	return s, ""
}

// afterFiller passes over an article or a preposition.
func afterFiller(s string) string {
	for {
		first, rest := cutWord(s)
		if rest == "" || unicode.IsDigit(rune(first[0])) || !dateFillers()[key(first)] {
			return s
		}
		s = rest
	}
}

// dayBefore returns the year, month or day before a date, as about.
func dayBefore(d date, s string) date {
	t := (d.first - 1).Time()
	out := d
	switch {
	case d.y == 0 || d.d == 0 && d.m == 0:
		out, _ = simple(t.Year(), 0, 0, "~")
	case d.d == 0:
		out, _ = simple(t.Year(), int(t.Month()), 0, "~")
	default:
		out, _ = simple(t.Year(), int(t.Month()), t.Day(), "~")
	}
	out.note = s
	return out
}

// twoDates reads a span: "BET a AND b", "a - b", "a or b", 2018/19.
func (im *importer) twoDates(s string, depth int) (a, b date, ok bool) {
	if m := twoYears().FindStringSubmatch(s); m != nil {
		y1, y2 := number2(m[1]), number2(m[2])
		if len(m[2]) == 2 {
			if y2 += y1 / 100 * 100; y2 < y1 {
				y2 += 100
			}
		}
		a, ok1 := simple(y1, 0, 0, "")
		b, ok2 := simple(y2, 0, 0, "")
		return a, b, ok1 && ok2 && y1 <= y2 && yearOnly().MatchString(m[1])
	}
	body := s
	if first, rest := cutWord(s); rest != "" && betweenWords()[key(first)] {
		body = rest
	}
	try := func(x, y string) bool {
		var ok1, ok2 bool
		a, ok1 = im.vagueDate(x, depth+2)
		b, ok2 = im.vagueDate(y, depth+2)
		return ok1 && ok2 && a.known() && b.known() && a.first <= b.last
	}
	fields := strings.Fields(body)
	for i := 1; i+1 < len(fields); i++ {
		if k := key(fields[i]); k == "" && strings.Trim(fields[i], "-–—") == "" || andWords()[k] {
			if try(strings.Join(fields[:i], " "), strings.Join(fields[i+1:], " ")) {
				return a, b, true
			}
		}
	}
	if x, y, found := strings.Cut(body, "–"); found && try(x, y) {
		return a, b, true
	}
	if x, y, found := strings.Cut(body, ".."); found && try(x, y) {
		return a, b, true
	}
	return a, b, false
}

// plainDate reads a date without words but a month's name.
func (im *importer) plainDate(s string) (date, bool) {
	switch {
	case yearOnly().MatchString(s):
		return simple(number2(s), 0, 0, "")
	case runOn().MatchString(s):
		return simple(number2(s[:4]), number2(s[4:6]), number2(s[6:]), "")
	}
	if m := dayCount().FindStringSubmatch(s); m != nil {
		d, ok := sheets.CountedDay(float64(number2(m[1])), im.from1904)
		if !ok {
			return date{}, false
		}
		out := exactly(studbook.Day(d))
		out.note = s + " days, as spreadsheets count"
		return out, true
	}
	if m := decade().FindStringSubmatch(s); m != nil {
		y := number2(m[1]) * 10
		if y < 1500 {
			return date{}, false
		}
		return date{text: m[1] + "X", first: studbook.DayOf(y, time.January, 1), last: studbook.DayOf(y+9, time.December, 31)}, true
	}
	if m := monthYear().FindStringSubmatch(s); m != nil {
		return simple(number2(m[2]), number2(m[1]), 0, "") // 00/1999 is of no month
	}
	if m := yearMonth().FindStringSubmatch(s); m != nil && number2(m[2]) <= 12 {
		if strings.Contains(s, "/") && (number2(m[1])+1)%100 == number2(m[2]) {
			return date{}, false // 2008/09 is a season as often as a month
		}
		return simple(number2(m[1]), number2(m[2]), 0, "")
	}
	if n, width, _, ok := triple(s); ok && !strings.ContainsFunc(s, unicode.IsLetter) && strings.Trim(s, "0123456789./- ") == "" {
		return im.inOrderOf(n, width)
	}
	return monthNamed(s)
}

// inOrderOf makes a date of three numbers in the order of the file.
func (im *importer) inOrderOf(n, width [3]int) (date, bool) {
	return arranged(n, width, im.orderOf(width))
}

// orderOf is the order of the file for three numbers of so many digits.
func (im *importer) orderOf(width [3]int) string {
	order := im.order.order
	if order == "" || order == "ymd" && width[0] != 4 && width[2] == 4 {
		return "dmy" // no date depends on it, or the file stops anyway
	}
	return order
}

// monthAlone reads the month and year of a date in numbers whose day its month does not
// have, as 2024-04-31: a slip, mostly of the day.
func (im *importer) monthAlone(s string) (date, bool) {
	s = strings.TrimSpace(s)
	n, width, _, ok := triple(s)
	if !ok || strings.Trim(s, "0123456789./- ") != "" {
		return date{}, false
	}
	y, m, d, short := inOrder(n, width, im.orderOf(width))
	if d > 31 || !inCalendar(y, m, 0) || inCalendar(y, m, d) {
		return date{}, false
	}
	out, ok := simple(y, m, 0, "")
	out.short = short
	return im.past(out), ok
}

// romanMonths are months as numbers of Rome, as 12.V.2009 is written in much of Europe.
var romanMonths = map[string]int{"I": 1, "II": 2, "III": 3, "IV": 4, "V": 5, "VI": 6, "VII": 7, "VIII": 8, "IX": 9, "X": 10, "XI": 11, "XII": 12}

// monthNamed reads a date with the name of a month, as 12 May 2019, May 12,
// 2019, 12-mei-19 or mayo de 2009.
func monthNamed(s string) (date, bool) {
	var numbers []string
	month, monthAt := 0, 0
	for w := range strings.FieldsFuncSeq(s, func(c rune) bool { return c == ' ' || strings.ContainsRune(".,/-'’–", c) }) {
		digits := strings.TrimRightFunc(w, func(c rune) bool { return !unicode.IsDigit(c) })
		k := key(w)
		switch {
		case digits != "" && strings.Trim(digits, "0123456789") == "" && (digits == w || strings.Contains(" st nd rd th er re ro o a e º ª de ", " "+w[len(digits):]+" ")):
			numbers = append(numbers, digits)
		case months()[k] != 0:
			if month != 0 {
				return date{}, false
			}
			month, monthAt = months()[k], len(numbers)
		case romanMonths[w] != 0 && month == 0 && len(numbers) > 0:
			month, monthAt = romanMonths[w], len(numbers)
		case dateFillers()[k]:
		default:
			// 12mai2019 and the like.
			letters := strings.TrimLeft(w, "0123456789")
			word := strings.TrimRight(letters, "0123456789")
			m := months()[key(word)]
			if m == 0 || month != 0 {
				return date{}, false
			}
			if d := w[:len(w)-len(letters)]; d != "" {
				numbers = append(numbers, d)
			}
			month, monthAt = m, len(numbers)
			if y := letters[len(word):]; y != "" {
				numbers = append(numbers, y)
			}
		}
	}
	if month == 0 || len(numbers) == 0 || len(numbers) > 2 {
		return date{}, false
	}
	year, dayText := numbers[len(numbers)-1], ""
	if len(numbers) == 2 {
		dayText = numbers[0]
		if len(numbers[0]) == 4 {
			year, dayText = numbers[0], numbers[1]
		}
	} else if len(year) != 4 && (len(year) != 2 || monthAt != 0) {
		return date{}, false // 12 May, of no year
	}
	if len(year) != 4 && len(year) != 2 || len(dayText) > 2 {
		return date{}, false
	}
	y := number2(year)
	if len(year) == 2 {
		y += 2000
	}
	if dayText != "" && number2(dayText) == 0 {
		dayText = ""
	}
	d, ok := simple(y, month, number2(dayText), "")
	d.short = len(year) == 2
	return d, ok
}
