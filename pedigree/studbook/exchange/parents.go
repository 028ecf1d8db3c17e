package exchange

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"pairwright/pedigree/studbook"
)

// how a parent was found.
type found byte

const (
	notFound found = iota
	byID
	byIDOtherwise
	byBand
	byName
	byNest
	byGroup
	asPossible
	asWild
	asUnknown
	withoutRow
)

// descent is one parent of a bird as it was understood.
type descent struct {
	how        found
	candidates []candidate
	word       string // what the file has, of wild and unknown parents and those without a row
}

// ofFile reports whether a parent is a bird of the file.
func (d descent) ofFile() bool {
	return slices.ContainsFunc(d.candidates, func(c candidate) bool { return c.bird >= 0 })
}

// candidate is a possible parent, a bird of the file or one without a row.
type candidate struct {
	bird   int32 // -1 without a row
	id     string
	weight float64
}

// about is the place of a bird, as the birds that a decision is about.
func (im *importer) about(b *bird) []int32 { return []int32{im.byID[b.id]} }

// descent finds the parents of every bird.
func (im *importer) descent() {
	im.rowless = make(map[string]int)
	for _, pass := range []bool{false, true} {
		im.namesakes = make(map[namesake]*timeline)
		for _, b := range im.birds {
			im.parentsOf(b)
		}
		if moved := im.centuries(); pass || !moved {
			break
		}
	}
	for _, b := range im.birds {
		for k := range b.parentage {
			if b.parentage[k].how == withoutRow || b.parentage[k].how == asPossible {
				for _, c := range b.parentage[k].candidates {
					if c.bird < 0 {
						im.rowless[c.id] |= 1 << k
					}
				}
			}
		}
	}
	for _, id := range sortedKeys(im.rowless) {
		if im.rowless[id] == 3 {
			im.stop(Decision{Code: "sire_and_dam", Value: id, Choice: &Choice{Subject: OfParent, Word: id, May: options(UnknownParent, WildParent)},
				Text: fmt.Sprintf("%q stands as a sire and as a dam and has no row of its own, so it is no one bird", id)})
		}
	}
}

// parentsOf finds the parents of a bird.
func (im *importer) parentsOf(b *bird) {
	sire, dam := b.sire, b.dam
	b.parentage = [2]descent{}
	if b.parents.kind != blank && sire.kind == blank && dam.kind == blank {
		if im.pairOf(b, b.parents) {
			return
		}
	}
	if sire.kind == blank && dam.kind == blank && b.parents.kind == blank {
		if b.nest != "" && len(im.held) > 0 {
			if s, d, ok := im.nestOf(b, b.nest, b.at); ok {
				b.parentage = [2]descent{s, d}
				return
			}
		}
		if b.group != "" && len(im.flocks) > 0 {
			if s, d, ok := im.groupOf(b, b.group, b.at); ok {
				b.parentage = [2]descent{s, d}
				return
			}
		}
	}
	for k, w := range [2]written{sire, dam} {
		b.parentage[k] = im.parent(b, w, [2]studbook.Sex{studbook.Male, studbook.Female}[k])
	}
	// A nest says both, whichever cell names it.
	for k, w := range [2]written{sire, dam} {
		if other := 1 - k; b.parentage[k].how == byNest && [2]written{sire, dam}[other].kind == blank {
			if s, d, ok := im.nestOf(b, w.text, w.spot); ok {
				b.parentage[other] = [2]descent{s, d}[other]
			}
		}
	}
}

// saidNobody returns what a parent's cell is on the user's word.
func (im *importer) saidNobody(s string) nobody {
	match := func(patterns []string) bool {
		for k, p := range patterns {
			p = strings.TrimSpace(p)
			is := strings.EqualFold(s, p)
			if stem, ok := strings.CutSuffix(p, "*"); ok {
				is = len(s) >= len(stem) && strings.EqualFold(s[:len(stem)], stem)
			}
			if is {
				im.met[&patterns[k]] = true
				return true
			}
		}
		return false
	}
	switch {
	case match(im.opt.Mapping.Unknown):
		return unknownParent
	case match(im.opt.Mapping.Wild):
		return wildParent
	}
	return 0
}

// reading understands a parent's cell in one way; false if that is not how it is meant.
type reading func(im *importer, b *bird, w written, sex studbook.Sex) (descent, bool)

// parent understands the cell of a sire or a dam: in the first of the ways of reading it
// that fits.
func (im *importer) parent(b *bird, w written, sex studbook.Sex) descent {
	if w.kind == blank {
		return descent{how: asUnknown}
	}
	if n := im.saidNobody(w.text); n != 0 {
		return n.asParent(w.text)
	}
	if i, how := im.one(w.text); how != notFound {
		return im.only(i, how)
	}
	for _, read := range [...]reading{
		(*importer).rearer, (*importer).byItsName, (*importer).inDoubt, (*importer).ofNest, (*importer).nobodyNamed, (*importer).oneOfSeveral,
		(*importer).oneOfPair, (*importer).besideName, (*importer).behindLabel, (*importer).ofFolder,
	} {
		if d, ok := read(im, b, w, sex); ok {
			return d
		}
	}
	id := plainWord.Replace(im.idText(w.cell))
	return descent{how: withoutRow, candidates: []candidate{{-1, id, 1}}, word: id}
}

// asParent is a parent who is nobody, by the word that says so.
func (n nobody) asParent(word string) descent {
	if n == wildParent {
		return descent{how: asWild, word: word}
	}
	return descent{how: asUnknown, word: word}
}

// only is a bird of the file as the one parent.
func (im *importer) only(i int32, how found) descent {
	return descent{how: how, candidates: []candidate{{i, im.birds[i].id, 1}}}
}

func (im *importer) rearer(b *bird, w written, _ studbook.Sex) (descent, bool) {
	if !im.fosters(w.text) {
		return descent{}, false
	}
	b.note("parent: " + w.text)
	im.likely(Decision{Code: "foster_parent", Sheet: w.t.name, Line: w.line, Value: w.text, Taken: "unknown", of: im.about(b), half: true,
		Text: fmt.Sprintf("%q is who reared a chick and not its parent: the parent is unknown, and the words go to the notes", w.text)})
	return descent{how: asUnknown, word: w.text}, true
}

func (im *importer) byItsName(b *bird, w written, sex studbook.Sex) (descent, bool) {
	return im.named(b, w.text, sex, w.spot)
}

// inDoubt reads "A12?", "(A12)" and "probably A12".
func (im *importer) inDoubt(b *bird, w written, sex studbook.Sex) (d descent, ok bool) {
	if plain := strings.Trim(w.text, " ?()[]"); plain != w.text {
		if i, how := im.one(plain); how != notFound {
			d, ok = im.only(i, byIDOtherwise), true
		}
	}
	if first, rest := cutWord(w.text); !ok && rest != "" && doubtWords()[key(first)] {
		if i, how := im.one(rest); how != notFound {
			d, ok = im.only(i, byIDOtherwise), true
		} else if d, ok = im.named(b, rest, sex, w.spot); len(d.candidates) != 1 {
			ok = false
		}
	}
	if ok {
		im.likely(Decision{Code: "parent_in_doubt", Sheet: w.t.name, Line: w.line, Value: w.text, Taken: d.candidates[0].id, of: im.about(b), half: true,
			Text: fmt.Sprintf("%q is taken as %s for certain", w.text, d.candidates[0].id)})
	}
	return d, ok
}

// ofNest reads the name of a nest, a pair or a group.
func (im *importer) ofNest(b *bird, w written, sex studbook.Sex) (descent, bool) {
	sire, dam, ok := im.nestOf(b, w.text, w.spot)
	if !ok {
		sire, dam, ok = im.groupOf(b, w.text, w.spot)
	}
	return bySex(sex, sire, dam), ok
}

// bySex is the first of two parents for a sire, else the second.
func bySex(sex studbook.Sex, sire, dam descent) descent {
	if sex == studbook.Male {
		return sire
	}
	return dam
}

func (im *importer) nobodyNamed(_ *bird, w written, _ studbook.Sex) (descent, bool) {
	n, ok := nobodyIn(w.text)
	return n.asParent(w.text), ok
}

func (im *importer) oneOfSeveral(b *bird, w written, sex studbook.Sex) (descent, bool) {
	return im.possible(b, w.text, sex, w.spot)
}

// oneOfPair reads "A12 x B7", of which one is the parent.
func (im *importer) oneOfPair(b *bird, w written, sex studbook.Sex) (descent, bool) {
	first, second, ok := im.pair(w.text)
	if !ok {
		return descent{}, false
	}
	sire, dam := im.inOrder(im.parent(b, written{textCell(first), w.spot}, studbook.Unsexed), im.parent(b, written{textCell(second), w.spot}, studbook.Unsexed))
	return bySex(sex, sire, dam), sire.ofFile() || dam.ofFile() || sire.how != withoutRow && dam.how != withoutRow
}

// besideName reads "A12 - Moss" of a bird whose own row has no name.
func (im *importer) besideName(b *bird, w written, _ studbook.Sex) (descent, bool) {
	first, rest, ok := strings.Cut(w.text, " ")
	if !ok || isNobody(rest) || strings.IndexFunc(rest, unicode.IsDigit) >= 0 {
		return descent{}, false
	}
	return im.labelled(b, first, strings.TrimLeft(rest, "-–: "), true, w.spot)
}

// behindLabel reads "Ring 12", "No. 12", "Vater: A12": a word that says what the id is.
func (im *importer) behindLabel(b *bird, w written, sex studbook.Sex) (descent, bool) {
	const most = 300 // bytes; a label may stand behind a label, but not behind hundreds
	if len(w.text) > most {
		return descent{}, false
	}
	rest := afterLabel(w.text)
	if rest == "" {
		return descent{}, false
	}
	d := im.parent(b, written{textCell(rest), w.spot}, sex)
	if d.how == byID {
		d.how = byIDOtherwise
	}
	return d, d.how != withoutRow
}

func (im *importer) ofFolder(_ *bird, w written, sex studbook.Sex) (descent, bool) {
	return im.over.parent(w.text, sex)
}

// doubtWords are words before a parent of whom nobody is sure.
var doubtWords = wordSet("probably|probable|prob|possibly|poss|presumably|presumed|supposed|likely|perhaps|maybe|wahrscheinlich|vermutlich|wohl|evtl|eventuell|vielleicht|mutmaßlich|probablement|présumé|présumée|peut-être|probablemente|posiblemente|posible|presunto|presunta|quizás|provavelmente|provável|talvez|probabilmente|forse|waarschijnlijk|vermoedelijk|misschien")

// fosters reports whether a cell says that a bird reared the chick of others.
func (im *importer) fosters(s string) bool {
	if !strings.ContainsAny(s, " (:") || len(im.bearing(s)) > 0 {
		return false
	}
	return slices.ContainsFunc(tokens(s), func(w string) bool { return fosterWords()[w] })
}

var fosterWords = wordSet("foster|fostered|fosters|adopted|adoptive|rearing|ziehvater|ziehmutter|ziehvogel|ziehpaar|amme|ammen|ammenvogel|pflegevater|pflegemutter|pflegeeltern|nourricier|nourricière|nourrice|adoptif|adopté|adoptivo|adoptiva|nodriza|nodrizo|adottivo|adottiva|balia|balio|pleegvader|pleegmoeder|pleegouders|adotivo|adotiva")

// afterLabel returns what stands behind a word that says what an id is, as a
// heading would: of a ring, a number, a sire, a dam; "" if there is none.
func afterLabel(s string) string {
	label, rest := cutLabel(s)
	if rest == "" {
		return ""
	}
	switch c := birdNames().find(label, false); {
	case c == colID, c == colBand, c == colSire, c == colDam, numberWords()[key(label)]:
		return rest
	}
	return ""
}

// cutLabel cuts the first word or what stands before a colon off a text.
func cutLabel(s string) (label, rest string) {
	i := strings.IndexAny(s, ":=")
	if i < 0 {
		i = strings.IndexByte(s, ' ')
	}
	if i <= 0 {
		return "", ""
	}
	return strings.TrimRight(s[:i], ". "), strings.TrimSpace(s[i+1:])
}

// sideOf returns the parent that a part of a cell with both says it is,
// colSire or colDam, and the part without that word.
func sideOf(s string) (column, string) {
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
	return side, strings.Trim(rest, "♂♀ ")
}

// sideOrID is sideOf, unless the part is an id as it stands.
func (im *importer) sideOrID(s string) (column, string) {
	if _, is := im.byID[strings.TrimSpace(s)]; is {
		return unclaimed, s
	}
	return sideOf(s)
}

// sided is a bird with the parent that it is said to be, unclaimed where nothing tells.
type sided struct {
	side column
	who  string
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

// named finds a parent by its name, or by a name with an id.
func (im *importer) named(b *bird, s string, sex studbook.Sex, at spot) (descent, bool) {
	if inner, outer, ok := inBrackets(s); ok {
		for _, x := range [2][2]string{{inner, outer}, {outer, inner}} {
			if d, ok := im.labelled(b, x[0], x[1], true, at); ok {
				return d, true
			}
		}
	}
	all := im.bearing(s)
	if len(all) == 0 { // "A12 Moss", "Moss A12", "A12 - Moss": an id and the name of that bird
		if first, rest, ok := strings.Cut(s, " "); ok {
			if d, ok := im.labelled(b, first, strings.TrimLeft(rest, "-–: "), false, at); ok {
				return d, true
			}
		}
		if rest, last, ok := cutLast(s, " "); ok {
			return im.labelled(b, last, strings.TrimRight(rest, "-–: "), false, at)
		}
		return descent{}, false
	}
	could := im.couldBe(s, all, b, sex)
	likely := func(code, taken, text string, of ...any) {
		im.likelySaid(Decision{Code: code, Sheet: at.t.name, Line: at.line, Value: s, Taken: taken, of: im.about(b), half: true}, func() string { return fmt.Sprintf(text, of...) })
	}
	bearers := counted{len(all), "bird", "birds"}
	switch n := len(could); {
	case n == 0:
		likely("name_of_no_parent", "a bird without a row", "%q is the name of %s, but none of them could be the parent of %s by sex and dates", s, bearers, b.id)
		return descent{}, false
	case n == 1:
		return descent{how: byName, candidates: []candidate{{could[0], im.birds[could[0]].id, 1}}}, true
	case n > studbook.MostCandidates:
		b.note("parent: " + s)
		likely("name_of_many", "unknown", "%q is the name of %s, more than %d of which could be the parent of %s: the parent is unknown, and the name goes to the notes", s, bearers, studbook.MostCandidates, b.id)
		return descent{how: asUnknown, word: s}, true
	}
	d := descent{how: asPossible, candidates: make([]candidate, len(could))}
	ids := make([]string, len(could))
	for k, i := range could {
		ids[k] = im.birds[i].id
		d.candidates[k] = candidate{i, ids[k], 1 / float64(len(could))}
	}
	likely("name_of_several", strings.Join(ids, "; "), "%q could be %s: all are possible parents of %s", s, oneOf(ids), b.id)
	return d, true
}

// counted writes how many there are when it is asked for.
type counted struct {
	n         int
	one, many string
}

func (c counted) String() string { return studbook.Counted(c.n, c.one, c.many) }

// oneOf names birds of which one is meant, the first of many.
func oneOf(ids []string) string {
	const most = 12
	if more := len(ids) - most; more > 0 {
		return strings.Join(ids[:most], " or ") + " or one of " + studbook.Counted(more, "other", "others")
	}
	return strings.Join(ids, " or ")
}

// labelled finds a parent by an id that is written with a name. Where the bird
// of the id bears no name or another, it is taken if there is no doubt which of
// the two is the id, as in brackets, and another name is said.
func (im *importer) labelled(b *bird, id, name string, sure bool, at spot) (descent, bool) {
	i, how := im.one(id)
	if how == notFound || strings.IndexFunc(name, unicode.IsLetter) < 0 { // a weight is no name
		return descent{}, false
	}
	d := descent{how: how, candidates: []candidate{{i, im.birds[i].id, 1}}}
	switch its := im.birds[i].name; {
	case key(its) == key(name):
	case its == "" && sure:
	case sure:
		whose := "nobody's"
		if len(im.bearing(name)) > 0 {
			whose = "another bird's"
		}
		im.likely(Decision{Code: "id_and_name_differ", Sheet: at.t.name, Line: at.line, Value: id + " (" + name + ")", Taken: im.birds[i].id, of: im.about(b), half: true,
			Text: fmt.Sprintf("a parent of %s is %s by its id, but the name beside it, %q, is %s: the id is taken", b.id, im.birds[i].id, name, whose)})
	default:
		return descent{}, false
	}
	return d, true
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
			im.likely(Decision{Code: "weights_incomplete", Sheet: at.t.name, Line: at.line, Value: s, Taken: "equal weights", of: im.about(b), half: true,
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

// pair cuts "A x B" in two.
func (im *importer) pair(s string) (first, second string, ok bool) {
	parts := severed(s, crossWord, crossSigns)
	if len(parts) != 2 {
		// Without blanks around it an x may be a letter of an id.
		if i := strings.IndexAny(s, "xX×"); i > 0 && strings.Count(strings.ToLower(s), "x") == 1 {
			a, b := strings.TrimSpace(s[:i]), strings.TrimSpace(strings.TrimPrefix(strings.TrimPrefix(strings.TrimPrefix(s[i:], "x"), "X"), "×"))
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

// pairOf understands a cell with both parents.
func (im *importer) pairOf(b *bird, w written) bool {
	s := w.text
	if n := im.saidNobody(s); n != 0 || isNobody(s) {
		for k := range b.parentage {
			b.parentage[k] = im.parent(b, w, [2]studbook.Sex{studbook.Male, studbook.Female}[k])
		}
		return true
	}
	if sire, dam, ok := im.nestOf(b, s, w.spot); ok {
		b.parentage = [2]descent{sire, dam}
		return true
	}
	if sire, dam, ok := im.groupOf(b, s, w.spot); ok {
		b.parentage = [2]descent{sire, dam}
		return true
	}
	first, second, ok := im.pair(s)
	if !ok {
		if p := severed(s, orWord, orSigns); len(p) == 2 {
			first, second, ok = p[0], p[1], true
		} else if p := strings.Split(s, ","); len(p) == 2 {
			first, second, ok = p[0], p[1], true
		} else if p := strings.Split(s, " - "); len(p) == 2 {
			first, second, ok = p[0], p[1], true
		} else if p := strings.Split(s, "\n"); len(p) == 2 {
			first, second, ok = p[0], p[1], true
		}
	}
	if !ok {
		d := im.parent(b, w, studbook.Unsexed)
		unknown := descent{how: asUnknown}
		if len(d.candidates) > 0 && d.candidates[0].bird >= 0 && im.birds[d.candidates[0].bird].sex == studbook.Female {
			b.parentage = [2]descent{unknown, d}
		} else {
			b.parentage = [2]descent{d, unknown}
		}
		im.likely(Decision{Code: "one_of_two_parents", Sheet: w.t.name, Line: w.line, Column: "parents", Value: s, Taken: s, of: im.about(b),
			Text: fmt.Sprintf("the parents %q of %s are read as one bird", s, b.id)})
		return true
	}
	side1, side2 := unclaimed, unclaimed
	if a, b, ok := lettered(im.withColon(first), im.withColon(second)); ok {
		side1, first, second = a.side, a.who, b.who
	} else {
		side1, first = im.sideOrID(first)
		side2, second = im.sideOrID(second)
	}
	d1 := im.parent(b, written{textCell(first), w.spot}, studbook.Unsexed)
	d2 := im.parent(b, written{textCell(second), w.spot}, studbook.Unsexed)
	switch {
	case side1 == colDam && side2 != colDam || side2 == colSire && side1 != colSire:
		d1, d2 = d2, d1
	case side1 == unclaimed && side2 == unclaimed:
		d1, d2 = im.inOrder(d1, d2)
	}
	b.parentage = [2]descent{d1, d2}
	return true
}

// plainWord takes from a word what means something in the cell of a parent.
var plainWord = strings.NewReplacer(";", ",", "=", ":")

// centuries moves years of two digits back where a parent would be younger
// than its chick, or a bird older than its own death. It reports whether any
// moved.
func (im *importer) centuries() bool {
	any := false
	for range 20 {
		moved := false
		for _, b := range im.birds {
			if b.death.known() && b.hatch.known() && b.hatch.short && b.hatch.first > b.death.last && b.hatch.y > 1500 {
				b.hatch, moved = b.hatch.earlier(), true
			}
			for k := range b.parentage {
				for _, c := range b.parentage[k].candidates {
					if c.bird < 0 || !b.hatch.known() {
						continue
					}
					p := im.birds[c.bird]
					if p.hatch.short && p.hatch.known() && p.hatch.first >= b.hatch.last && p.hatch.y > 1500 {
						p.hatch, moved = p.hatch.earlier(), true
					}
				}
			}
		}
		if !moved {
			return any
		}
		any = true
	}
	return any
}

// parentage returns what was found as the studbook has it.
func (d descent) parentage() studbook.Parentage {
	if d.how == asWild {
		return studbook.Parentage{Wild: true}
	}
	var p studbook.Parentage
	for _, c := range d.candidates {
		p.Candidates = append(p.Candidates, studbook.Candidate{ID: c.id, Weight: c.weight})
	}
	return p
}
