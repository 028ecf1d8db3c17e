package exchange

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
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
	for _, id := range slices.Sorted(maps.Keys(im.rowless)) {
		if im.rowless[id] == 3 {
			im.stop(Decision{Code: "sire_and_dam", Value: id, Choice: &Choice{Subject: OfParent, Word: id, May: options(UnknownParent, WildParent)},
				Text: fmt.Sprintf("%q stands as a sire and as a dam and has no row of its own, so it is no one bird", id)})
		}
	}
}

// parentsOf finds the parents of a bird.
func (im *importer) parentsOf(b *bird) {
	b.parentage = [2]descent{}
	cells := [2]written{b.sire, b.dam}
	if cells[0].Kind == sheets.Blank && cells[1].Kind == sheets.Blank {
		if b.parents.Kind != sheets.Blank {
			im.pairOf(b, b.parents)
			return
		}
		if s, d, ok := im.nestOrGroup(b, b.nest, b.group, b.at); ok {
			b.parentage = [2]descent{s, d}
			return
		}
	}
	for k, w := range cells {
		b.parentage[k] = im.parent(b, w, sexes[k])
	}
	// A nest says both, whichever cell names it, and though one of the two may be unknown: of
	// any other cell there would be a word then.
	for k, w := range cells {
		d := &b.parentage[k]
		ofNest := d.how == byNest || d.how == asUnknown && d.word == "" && w.Kind != sheets.Blank
		if other := 1 - k; ofNest && cells[other].Kind == sheets.Blank {
			if s, d, ok := im.nestOf(b, w.Text, w.spot); ok {
				b.parentage[other] = [2]descent{s, d}[other]
			}
		}
	}
}

// sexes are those of the two parents, as parentage has them.
var sexes = [2]studbook.Sex{studbook.Male, studbook.Female}

// nestOrGroup returns the parents that held a bird's nest, else those of its group.
func (im *importer) nestOrGroup(b *bird, nest, group string, at spot) (sire, dam descent, ok bool) {
	if nest != "" {
		sire, dam, ok = im.nestOf(b, nest, at)
	}
	if !ok && group != "" {
		sire, dam, ok = im.groupOf(b, group, at)
	}
	return sire, dam, ok
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
	if w.Kind == sheets.Blank {
		return descent{how: asUnknown}
	}
	if n := im.saidNobody(w.Text); n != 0 {
		return n.asParent(w.Text)
	}
	if i, how := im.one(w.Text); how != notFound {
		if how != byID && strings.HasSuffix(w.Text, "?") {
			im.takenForCertain(b, w, im.birds[i].id)
		}
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
	id := plainWord.Replace(im.idText(w.Cell))
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
	if !im.fosters(w.Text) {
		return descent{}, false
	}
	b.note("parent: " + w.Text)
	im.likely(Decision{Code: "foster_parent", Sheet: w.t.Name, Line: w.line, Value: w.Text, Taken: "unknown", of: im.about(b), half: true,
		Text: fmt.Sprintf("%q is who reared a chick and not its parent: the parent is unknown, and the words go to the notes", w.Text)})
	return descent{how: asUnknown, word: w.Text}, true
}

func (im *importer) byItsName(b *bird, w written, sex studbook.Sex) (descent, bool) {
	return im.named(b, w.Text, sex, w.spot)
}

// inDoubt reads "A12?", "(A12)" and "probably A12".
func (im *importer) inDoubt(b *bird, w written, sex studbook.Sex) (d descent, ok bool) {
	if plain := strings.Trim(w.Text, " ?()[]"); plain != w.Text {
		if i, how := im.one(plain); how != notFound {
			d, ok = im.only(i, byIDOtherwise), true
		}
	}
	if first, rest := cutWord(w.Text); !ok && rest != "" && doubtWords()[key(first)] {
		if i, how := im.one(rest); how != notFound {
			d, ok = im.only(i, byIDOtherwise), true
		} else if d, ok = im.named(b, rest, sex, w.spot); len(d.candidates) != 1 {
			ok = false
		}
	}
	if ok {
		im.takenForCertain(b, w, d.candidates[0].id)
	}
	return d, ok
}

// takenForCertain says of a parent whose cell doubts it that it is taken as it stands.
func (im *importer) takenForCertain(b *bird, w written, id string) {
	im.likely(Decision{Code: "parent_in_doubt", Sheet: w.t.Name, Line: w.line, Value: w.Text, Taken: id, of: im.about(b), half: true,
		Text: fmt.Sprintf("%q is taken as %s for certain", w.Text, id)})
}

// ofNest reads the name of a nest, a pair or a group.
func (im *importer) ofNest(b *bird, w written, sex studbook.Sex) (descent, bool) {
	sire, dam, ok := im.nestOrGroup(b, w.Text, w.Text, w.spot)
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
	n, ok := nobodyIn(w.Text)
	return n.asParent(w.Text), ok
}

func (im *importer) oneOfSeveral(b *bird, w written, sex studbook.Sex) (descent, bool) {
	return im.possible(b, w.Text, sex, w.spot)
}

// oneOfPair reads "A12 x B7", of which one is the parent.
func (im *importer) oneOfPair(b *bird, w written, sex studbook.Sex) (descent, bool) {
	first, second, ok := im.pair(w.Text)
	if !ok {
		return descent{}, false
	}
	sire, dam := im.inOrder(im.parent(b, written{sheets.TextCell(first), w.spot}, studbook.Unsexed), im.parent(b, written{sheets.TextCell(second), w.spot}, studbook.Unsexed))
	return bySex(sex, sire, dam), sire.ofFile() || dam.ofFile() || sire.how != withoutRow && dam.how != withoutRow
}

// besideName reads "A12 - Moss" of a bird whose own row has no name.
func (im *importer) besideName(b *bird, w written, _ studbook.Sex) (descent, bool) {
	first, rest, ok := strings.Cut(w.Text, " ")
	if !ok || isNobody(rest) || strings.IndexFunc(rest, unicode.IsDigit) >= 0 {
		return descent{}, false
	}
	return im.labelled(b, first, strings.TrimLeft(rest, "-–: "), true, w.spot)
}

// behindLabel reads "Ring 12", "No. 12", "Vater: A12": a word that says what the id is.
func (im *importer) behindLabel(b *bird, w written, sex studbook.Sex) (descent, bool) {
	const most = 300 // bytes; a label may stand behind a label, but not behind hundreds
	if len(w.Text) > most {
		return descent{}, false
	}
	rest := afterLabel(w.Text)
	if rest == "" {
		return descent{}, false
	}
	d := im.parent(b, written{sheets.TextCell(rest), w.spot}, sex)
	if d.how == byID {
		d.how = byIDOtherwise
	}
	return d, d.how != withoutRow
}

func (im *importer) ofFolder(_ *bird, w written, sex studbook.Sex) (descent, bool) {
	return im.over.parent(w.Text, sex)
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
		im.likelySaid(Decision{Code: code, Sheet: at.t.Name, Line: at.line, Value: s, Taken: taken, of: im.about(b), half: true}, func() string { return fmt.Sprintf(text, of...) })
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
		im.likely(Decision{Code: "id_and_name_differ", Sheet: at.t.Name, Line: at.line, Value: id + " (" + name + ")", Taken: im.birds[i].id, of: im.about(b), half: true,
			Text: fmt.Sprintf("a parent of %s is %s by its id, but the name beside it, %q, is %s: the id is taken", b.id, im.birds[i].id, name, whose)})
	default:
		return descent{}, false
	}
	return d, true
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
