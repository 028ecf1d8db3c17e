package exchange

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

// pairOf understands a cell with both parents.
func (im *importer) pairOf(b *bird, w written) {
	s := w.Text
	if n := im.saidNobody(s); n != 0 || isNobody(s) {
		for k := range b.parentage {
			b.parentage[k] = im.parent(b, w, sexes[k])
		}
		return
	}
	if sire, dam, ok := im.nestOrGroup(b, s, s, w.spot); ok {
		b.parentage = [2]descent{sire, dam}
		return
	}
	first, second, ok := im.pair(s)
	if !ok {
		for _, parts := range [...][]string{severed(s, orWord, orSigns), strings.Split(s, ","), strings.Split(s, " - "), strings.Split(s, "\n")} {
			if len(parts) == 2 {
				first, second, ok = parts[0], parts[1], true
				break
			}
		}
	}
	if !ok {
		d := im.parent(b, w, studbook.Unsexed)
		b.parentage[0], b.parentage[1] = im.inOrder(d, descent{how: asUnknown})
		im.likely(Decision{Code: "one_of_two_parents", Sheet: w.t.Name, Line: w.line, Column: "parents", Value: s, Taken: s, of: im.about(b),
			Text: fmt.Sprintf("the parents %q of %s are read as one bird", s, b.id)})
		return
	}
	x, y, ok := lettered(im.withColon(first), im.withColon(second))
	if !ok {
		x, y = im.sideOrID(first), im.sideOrID(second)
	}
	d1 := im.parent(b, written{sheets.TextCell(x.who), w.spot}, studbook.Unsexed)
	d2 := im.parent(b, written{sheets.TextCell(y.who), w.spot}, studbook.Unsexed)
	switch {
	case damFirst(x, y):
		d1, d2 = d2, d1
	case x.side == unclaimed && y.side == unclaimed:
		d1, d2 = im.inOrder(d1, d2)
	}
	b.parentage = [2]descent{d1, d2}
}

// pair cuts "A x B" in two.
func (im *importer) pair(s string) (first, second string, ok bool) {
	parts := severed(s, crossWord, crossSigns)
	if len(parts) != 2 {
		// Without blanks around it an x may be a letter of an id.
		if a, b, one := atOnlyX(s); one {
			if _, how := im.one(a); how != notFound {
				if _, how := im.one(b); how != notFound {
					return a, b, true
				}
			}
		}
		return "", "", false
	}
	a, b := strings.TrimSpace(parts[0]), strings.TrimSpace(parts[1])
	if a == "" || b == "" {
		return "", "", false
	}
	if sep := key(crossWord().FindString(s)); sep != "" && sep != "x" {
		// "and" and its like stand inside phrases too, as "né en captivité".
		called := func(s string) bool {
			_, how := im.one(s)
			return how != notFound || len(im.bearing(s)) > 0
		}
		if !called(a) && !called(b) && !(isNobody(a) && isNobody(b)) {
			return "", "", false
		}
	}
	return a, b, true
}

// atOnlyX cuts "A12xB7" in two, at the one x that it has.
func atOnlyX(s string) (first, second string, ok bool) {
	i := strings.IndexAny(s, "xX×")
	if i <= 0 || strings.Count(strings.ToLower(s), "x") != 1 {
		return "", "", false
	}
	return strings.TrimSpace(s[:i]), strings.TrimSpace(strings.TrimPrefix(strings.TrimPrefix(strings.TrimPrefix(s[i:], "x"), "X"), "×")), true
}

// inOrder puts the sire first, if the sexes say who it is.
func (im *importer) inOrder(a, b descent) (sire, dam descent) {
	sex := func(d descent) studbook.Sex {
		if len(d.candidates) == 0 || d.candidates[0].bird < 0 {
			return studbook.Unsexed
		}
		return im.birds[d.candidates[0].bird].sex
	}
	if sex(a) == studbook.Female && sex(b) != studbook.Female || sex(b) == studbook.Male && sex(a) != studbook.Male {
		return b, a
	}
	return a, b
}

// sided is a bird with the parent that it is said to be, colSire or colDam, unclaimed where
// nothing tells.
type sided struct {
	side column
	who  string
}

// damFirst reports whether of two birds the first is said to be the dam, or the second the
// sire.
func damFirst(a, b sided) bool {
	return a.side == colDam && b.side != colDam || b.side == colSire && a.side != colSire
}

// sideOf reads the part of a cell with both parents that one of them is.
func sideOf(s string) sided {
	s = strings.TrimSpace(s)
	label, rest := cutLabel(s)
	side := birdNames().find(label, false)
	if side != colSire && side != colDam {
		switch nestNames().find(label, false) {
		case colMale:
			side = colSire
		case colFemale:
			side = colDam
		default:
			side, rest = unclaimed, s
		}
	}
	switch {
	case strings.Contains(rest, "♂"):
		side = colSire
	case strings.Contains(rest, "♀"):
		side = colDam
	}
	return sided{side, strings.Trim(rest, "♂♀ ")}
}

// sideOrID is sideOf, unless the part is an id as it stands.
func (im *importer) sideOrID(s string) sided {
	if _, is := im.byID[strings.TrimSpace(s)]; is {
		return sided{unclaimed, s}
	}
	return sideOf(s)
}

// lettered reads two parents behind a letter each, as in "P: A12" and "M: B7". M is the mother
// beside P, V or S, and male as well as mother beside F, so that the sexes have to say.
func lettered(first, second string) (a, b sided, ok bool) {
	letter := func(s string) (string, string) {
		label, who, found := strings.Cut(s, ":")
		if label = key(label); !found || len(label) != 1 {
			return "", ""
		}
		return label, strings.TrimSpace(who)
	}
	x, a1 := letter(first)
	y, b1 := letter(second)
	a, b = sided{unclaimed, a1}, sided{unclaimed, b1}
	const fathers, mothers = "pvs", "md"
	switch {
	case x == "" || y == "" || x == y:
		return a, b, false
	case strings.Contains(fathers, x) && strings.Contains(mothers, y):
		a.side = colSire
	case strings.Contains(mothers, x) && strings.Contains(fathers, y):
		a.side = colDam
	case x != "f" && y != "f" || x+y != "fm" && x+y != "mf":
		return a, b, false
	}
	return a, b, true
}

// withColon puts a colon behind a letter that says which parent a bird is, as in "m A12".
func (im *importer) withColon(s string) string {
	letter, who, ok := strings.Cut(s, " ")
	if letter = strings.TrimRight(letter, "."); !ok || len(letter) != 1 {
		return s
	}
	if _, how := im.one(s); how != notFound {
		return s
	}
	if _, how := im.one(strings.TrimSpace(who)); how == notFound {
		return s
	}
	return letter + ":" + who
}

// maybe is one of several possible parents as a cell has it.
type maybe struct {
	candidate
	how    found // notFound where no bird of the file is meant
	nobody bool
}

// possible reads several possible parents, with weights or without. It takes
// what names at least one bird of the file.
func (im *importer) possible(b *bird, s string, sex studbook.Sex, at spot) (descent, bool) {
	parts := severed(s, orWord, orSigns)
	if len(parts) == 1 && strings.Count(s, ",") > 0 && !strings.Contains(s, "(") {
		parts = strings.Split(s, ",")
	}
	if len(parts) == 1 {
		if _, number, _, ok := weightLast(s); !ok || strings.Trim(number, "0.,") == "" {
			return descent{}, false // one bird, without a weight
		}
	}
	ofWord := len(parts) > 1 && wordOf().MatchString(s) // "or" to the Dutch, and in "son of A12" it is none
	var read []maybe
	hits, weighted, scale := 0, 0, 1.0
	for _, p := range parts {
		p = strings.TrimSpace(strings.Trim(strings.TrimSpace(p), "?"))
		if p == "" {
			continue
		}
		x, ofHundred := im.maybe(b, p, sex, at)
		if x.weight > 0 {
			weighted++
		}
		if ofHundred || x.weight > 1 {
			scale = 100
		}
		switch {
		case x.how != notFound:
			hits++
		case !x.nobody && (ofWord || !im.called().shapes[shape(x.id)] && strings.Contains(s, "/") && !strings.Contains(s, " / ")):
			return descent{}, false // the word says something else, the stroke is part of a number
		}
		read = append(read, x)
	}
	if hits == 0 || len(read) < 2 && weighted == 0 {
		return descent{}, false
	}
	if weighted != len(read) {
		if weighted > 0 {
			im.likely(Decision{Code: "weights_incomplete", Sheet: at.t.Name, Line: at.line, Value: s, Taken: "equal weights", of: im.about(b), half: true,
				Text: fmt.Sprintf("some of the possible parents in %q have a weight and some have none: all count the same", s)})
		}
		scale = float64(len(read))
		for k := range read {
			read[k].weight = 1
		}
	}
	return together(read, scale), true
}

// maybe reads one possible parent and its weight, 0 if it has none, and whether that is
// in hundredths.
func (im *importer) maybe(b *bird, p string, sex studbook.Sex, at spot) (x maybe, ofHundred bool) {
	x.bird, x.id = -1, p
	look := func(text string) bool {
		if i, how := im.one(text); how != notFound {
			x.bird, x.id, x.how = i, im.birds[i].id, how
			return true
		}
		if d, ok := im.named(b, text, sex, at); ok && len(d.candidates) == 1 {
			x.candidate, x.how = d.candidates[0], d.how
			x.weight = 0
			return true
		}
		x.nobody = isNobody(text) || im.saidNobody(text) != 0
		return x.nobody
	}
	last := p[len(p)-1]
	if look(p) || last > '9' && last != ')' && last != ']' { // a weight stands at the end
		return x, false
	}
	body, number, percent, ok := weightLast(p)
	if body = strings.TrimSpace(body); !ok || body == "" {
		return x, false
	}
	w, err := strconv.ParseFloat(strings.Replace(number, ",", ".", 1), 64)
	if err != nil || w <= 0 || !look(body) && !(w <= 1 && strings.ContainsAny(p, "(=[")) && !percent {
		return x, false
	}
	if !x.nobody && x.how == notFound {
		x.id = body
	}
	x.weight = w
	return x, percent
}

// together are several possible parents as one, each bird once.
func together(read []maybe, scale float64) descent {
	d := descent{how: asPossible}
	for _, x := range read {
		if x.nobody {
			continue
		}
		id, w := plainWord.Replace(x.id), x.weight/scale
		if k := slices.IndexFunc(d.candidates, func(c candidate) bool { return c.id == id }); k >= 0 {
			d.candidates[k].weight += w
			continue
		}
		d.candidates = append(d.candidates, candidate{x.bird, id, w})
	}
	if len(d.candidates) == 1 && math.Abs(d.candidates[0].weight-1) < 1e-9 && d.candidates[0].bird >= 0 {
		d.how = byIDOtherwise
	}
	return d
}

// weighs reports whether a text is an id with a weight, as A12=0.7, A12 (0.7) or A12: 70%.
// Without its signs it may be the id of another bird, A1207.
func (im *importer) weighs(s string) bool {
	at := strings.IndexAny(s, "=([%")
	if at < 0 || !strings.ContainsAny(s[at:], "0123456789%") {
		return false
	}
	body, _, _, ok := weightLast(s)
	_, there := im.byID[strings.TrimSpace(body)]
	return ok && there
}

// weightLast parts a text from the number at its end, as in A12 = 0.7, A12 (30 %) and
// A12 [,5]; false where there is none.
func weightLast(s string) (body, number string, percent, ok bool) {
	const space, digits = "\t\n\f\r ", "0123456789"
	if k := len(s) - 1; k >= 0 && (s[k] == ')' || s[k] == ']') {
		s = s[:k]
	}
	s = strings.TrimRight(s, space)
	if s, percent = strings.CutSuffix(s, "%"); percent {
		s = strings.TrimRight(s, space)
	}
	body = strings.TrimRight(s, digits)
	if len(body) == len(s) {
		return "", "", false, false
	}
	if k := len(body) - 1; k >= 0 && (body[k] == '.' || body[k] == ',') {
		body = strings.TrimRight(body[:k], digits)
	}
	number = s[len(body):]
	body = strings.TrimRight(body, space)
	if k := len(body) - 1; k >= 0 && (body[k] == '(' || body[k] == '[') {
		body = body[:k]
	}
	return strings.TrimRight(body, space+":="), number, percent, true
}

// severed cuts a text at a pattern whose every match has one of these signs.
func severed(s string, at func() *regexp.Regexp, signs string) []string {
	if !strings.ContainsAny(s, signs) {
		return []string{s}
	}
	return at().Split(s, -1)
}

const orSigns, crossSigns = " \t\n\f\r/;|", " \t\n\f\r×+&"

var (
	orWord    = pattern(`(?i)\s+(?:or|oder|ou|o|of)\s+|\s*[/;|]\s*`)
	wordOf    = pattern(`(?i)\sof\s`)
	crossWord = pattern(`(?i)\s+(?:x|×|\+|&|and|und|et|y|e|en)\s+|\s*[×+&]\s*`)
)
