package exchange

import (
	"fmt"
	"iter"
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

// finder looks up birds by what they are called.
type finder struct {
	sight     map[string]int32  // what PlainID has of an id -> bird; -1 where several; made when needed
	names     *names            // made when needed; see called
	looked    map[string]lookup // texts that are no id as it stands, once all birds are there
	sires     []bool            // by bird, whether it is a sire for certain
	dams      []bool
	pointed   byte                   // whether ids have points between digits: 1 no, 2 yes
	namesakes map[namesake]*timeline // when they could be parents; made when needed
	could     []int32                // what couldBe returned last
	rowless   map[string]int         // parents without a row: bit 1 as sire, bit 2 as dam
}

// namesake is birds of one name, by what key has of it, that are or may be of one sex.
type namesake struct {
	name string
	sex  studbook.Sex
}

// lookup is a bird that was looked up by a text, and how it was found.
type lookup struct {
	bird int32
	how  found
}

// names are what birds are called besides their ids as they stand: bird by name, -1
// where several have it.
type names struct {
	folded map[string]int32 // ids without case, spaces and punctuation
	other  map[string]int32 // other ids as they stand and folded
	band   map[string]int32
	name   map[string][]int32
	shapes map[string]bool // of the ids
}

const several = int32(-1)

// index makes all birds findable, also those that came since it was last asked.
func (im *importer) index() { im.names, im.sight, im.looked = nil, nil, make(map[string]lookup) }

// called returns what the birds are called. A file whose parents are all written as
// the ids are needs none of it.
func (im *importer) called() *names {
	if im.names != nil {
		return im.names
	}
	all := &names{make(map[string]int32, len(im.birds)), make(map[string]int32), make(map[string]int32), make(map[string][]int32), make(map[string]bool)}
	put := func(m map[string]int32, k string, i int32) {
		if k == "" {
			return
		}
		if old, there := m[k]; there && old != i {
			i = several
		}
		m[k] = i
	}
	for i, b := range im.birds {
		i := int32(i)
		put(all.folded, key(b.id), i)
		all.shapes[shape(b.id)] = true
		put(all.band, b.band, i)
		if f := key(b.band); f != b.band {
			put(all.band, f, i)
		}
		for _, o := range b.others.list {
			put(all.other, o, i)
			if f := key(o); f != o {
				put(all.other, f, i)
			}
		}
		if b.name == "" { // "Poppy (1010)" is called Poppy, and is 1010
			if inner, outer, ok := inBrackets(b.id); ok {
				all.name[key(outer)] = append(all.name[key(outer)], i)
				put(all.other, inner, i)
			}
			continue
		}
		if n, ok := nobodyWords().whole(b.name); ok && n != severalParents {
			continue
		}
		k := key(b.name)
		all.name[k] = append(all.name[k], i)
	}
	im.names = all
	return all
}

// bearing returns the birds that bear a name.
func (im *importer) bearing(name string) []int32 { return im.called().name[key(name)] }

// one finds the bird that a text names by an id or a band. What is no id as it stands
// is looked up in several ways, and a parent's cell in several parts of this package.
func (im *importer) one(s string) (int32, found) {
	if i, ok := im.byID[s]; ok {
		return i, byID
	}
	x, there := im.looked[s]
	if !there {
		x.bird, x.how = im.lookUp(s)
		if im.looked != nil {
			im.looked[s] = x
		}
	}
	return x.bird, x.how
}

func (im *importer) lookUp(s string) (int32, found) {
	if im.weighs(s) {
		return 0, notFound
	}
	t := im.idText(textCell(s))
	if i, ok := im.byID[t]; ok {
		return i, byIDOtherwise
	}
	k, names := key(t), im.called()
	if i, ok := names.folded[k]; ok && i != several {
		return i, byIDOtherwise
	}
	for _, x := range [...]string{s, k} {
		if i, ok := names.other[x]; ok && i != several {
			return i, byBand
		}
		if i, ok := names.band[x]; ok && i != several {
			return i, byBand
		}
	}
	if i, ok := im.bySight(t); ok {
		return i, byIDOtherwise
	}
	return 0, notFound
}

// bySight finds the one bird whose id the eye does not tell from another: A007 where
// A7 is written.
func (im *importer) bySight(id string) (int32, bool) {
	if im.sight == nil {
		im.sight = make(map[string]int32, len(im.birds))
		for i, b := range im.birds {
			p := studbook.PlainID(b.id)
			if _, there := im.sight[p]; there {
				im.sight[p] = several
			} else {
				im.sight[p] = int32(i)
			}
		}
	}
	i, ok := im.sight[studbook.PlainID(id)]
	return i, ok && i != several
}

// oneAtMost finds a bird that some other cell names, as a partner's or a
// group's, by an id, a band or a name that one bird has.
func (im *importer) oneAtMost(s string) (int32, bool) {
	s = strings.TrimSpace(s)
	if i, how := im.one(s); how != notFound {
		return i, true
	}
	if named := im.bearing(s); len(named) == 1 {
		return named[0], true
	}
	if inner, outer, ok := inBrackets(s); ok {
		for _, x := range []string{inner, outer} {
			if i, how := im.one(x); how != notFound {
				return i, true
			}
		}
	}
	return 0, false
}

// about is the place of a bird, as the birds that a decision is about.
func (im *importer) about(b *bird) []int32 { return []int32{im.byID[b.id]} }

// inBrackets cuts "Name (id)" apart.
func inBrackets(s string) (inner, outer string, ok bool) {
	if !strings.HasSuffix(s, ")") && !strings.HasSuffix(s, "]") {
		return "", "", false
	}
	i := strings.LastIndexAny(s, "([")
	if i <= 0 {
		return "", "", false
	}
	return strings.TrimSpace(s[i+1 : len(s)-1]), strings.TrimSpace(s[:i]), true
}

// longest is how many days before its chick hatches a parent may have died.
const longest = 120

// couldBe returns those of the birds of a name, by place, that could be parents of another: of
// the sex, hatched before it, and alive in its season. It stops with one more than may stand
// as candidates. The list is good until it is asked again.
func (im *importer) couldBe(name string, all []int32, chick *bird, sex studbook.Sex) []int32 {
	those := namesake{key(name), sex}
	lives, there := im.namesakes[those]
	if !there {
		var periods []period
		for _, i := range all {
			if is := im.birds[i].sex; sex == studbook.Unsexed || is == studbook.Unsexed || is == sex {
				periods = append(periods, im.lifetimeOf(i))
			}
		}
		lives = newTimeline(periods)
		im.namesakes[those] = lives
	}
	first, last := chick.days()
	if chick.hatch.known() {
		last-- // it hatched before
	}
	could := im.could[:0]
	defer func() { im.could = could }()
	for i := range lives.during(first, last) {
		if im.birds[i] != chick {
			could = append(could, i)
		}
		if len(could) > studbook.MostCandidates {
			return could
		}
	}
	slices.Sort(could)
	return could
}

// lifetimeOf returns the days on which a bird could be a parent.
func (im *importer) lifetimeOf(i int32) period {
	p, s := im.birds[i], always(i)
	if p.hatch.known() {
		s.first = p.hatch.first
	}
	if p.death.known() {
		s.last = p.death.last + longest
	}
	return s
}

// days are those on which a bird may have hatched, all where nothing is known.
func (b *bird) days() (first, last studbook.Day) {
	if !b.hatch.known() {
		return math.MinInt32, math.MaxInt32
	}
	return b.hatch.first, b.hatch.last
}

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

// parent understands the cell of a sire or a dam.
func (im *importer) parent(b *bird, w written, sex studbook.Sex) descent {
	s := w.text
	if w.kind == blank {
		return descent{how: asUnknown}
	}
	asNobody := func(n nobody) descent {
		if n == wildParent {
			return descent{how: asWild, word: s}
		}
		return descent{how: asUnknown, word: s}
	}
	if n := im.saidNobody(s); n != 0 {
		return asNobody(n)
	}
	if i, how := im.one(s); how != notFound {
		return descent{how: how, candidates: []candidate{{i, im.birds[i].id, 1}}}
	}
	if im.fosters(s) {
		b.note("parent: " + s)
		im.likely(Decision{Code: "foster_parent", Sheet: w.t.name, Line: w.line, Value: s, Taken: "unknown", of: im.about(b), half: true,
			Text: fmt.Sprintf("%q is who reared a chick and not its parent: the parent is unknown, and the words go to the notes", s)})
		return descent{how: asUnknown, word: s}
	}
	if d, ok := im.named(b, s, sex, w.spot); ok {
		return d
	}
	if plain := strings.Trim(s, " ?()[]"); plain != s {
		if i, how := im.one(plain); how != notFound {
			im.likely(Decision{Code: "parent_in_doubt", Sheet: w.t.name, Line: w.line, Value: s, Taken: im.birds[i].id, of: im.about(b), half: true,
				Text: fmt.Sprintf("%q is taken as %s for certain", s, im.birds[i].id)})
			return descent{how: byIDOtherwise, candidates: []candidate{{i, im.birds[i].id, 1}}}
		}
	}
	if first, rest := cutWord(s); rest != "" && doubtWords()[key(first)] {
		if d := im.parent(b, written{textCell(rest), w.spot}, sex); len(d.candidates) == 1 && d.ofFile() {
			im.likely(Decision{Code: "parent_in_doubt", Sheet: w.t.name, Line: w.line, Value: s, Taken: d.candidates[0].id, of: im.about(b), half: true,
				Text: fmt.Sprintf("%q is taken as %s for certain", s, d.candidates[0].id)})
			return d
		}
	}
	sire, dam, ok := im.nestOf(b, s, w.spot)
	if !ok {
		sire, dam, ok = im.groupOf(b, s, w.spot)
	}
	if ok {
		if sex == studbook.Male {
			return sire
		}
		return dam
	}
	if n, ok := nobodyIn(s); ok {
		return asNobody(n)
	}
	if d, ok := im.possible(b, s, sex, w.spot); ok {
		return d
	}
	if first, second, ok := im.pair(s); ok {
		d1, d2 := im.parent(b, written{textCell(first), w.spot}, studbook.Unsexed), im.parent(b, written{textCell(second), w.spot}, studbook.Unsexed)
		d1, d2 = im.inOrder(d1, d2)
		if d1.ofFile() || d2.ofFile() || d1.how != withoutRow && d2.how != withoutRow {
			if sex == studbook.Male {
				return d1
			}
			return d2
		}
	}
	// "A12 - Moss" of a bird whose own row has no name.
	if first, rest, ok := strings.Cut(s, " "); ok && !isNobody(rest) && strings.IndexFunc(rest, unicode.IsDigit) < 0 {
		if d, ok := im.labelled(b, first, strings.TrimLeft(rest, "-–: "), true, w.spot); ok {
			return d
		}
	}
	// "Ring 12", "No. 12", "Vater: A12": a word that says what the id is.
	if rest := afterLabel(s); rest != "" {
		if d := im.parent(b, written{textCell(rest), w.spot}, sex); d.how != withoutRow {
			if d.how == byID {
				d.how = byIDOtherwise
			}
			return d
		}
	}
	if d, ok := im.over.parent(s, sex); ok {
		return d
	}
	id := plainWord.Replace(im.idText(w.cell))
	return descent{how: withoutRow, candidates: []candidate{{-1, id, 1}}, word: id}
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
	type part struct {
		i      int32
		id     string
		how    found
		nobody bool
		weight float64
	}
	var read []part
	hits, weighted, percent, sum := 0, 0, false, 0.0
	for _, p := range parts {
		p = strings.TrimSpace(strings.Trim(strings.TrimSpace(p), "?"))
		if p == "" {
			continue
		}
		x := part{i: -1, id: p}
		look := func(text string) bool {
			if i, how := im.one(text); how != notFound {
				x.i, x.id, x.how = i, im.birds[i].id, how
				return true
			}
			if d, ok := im.named(b, text, sex, at); ok && len(d.candidates) == 1 {
				x.i, x.id, x.how = d.candidates[0].bird, d.candidates[0].id, d.how
				return true
			}
			if isNobody(text) || im.saidNobody(text) != 0 {
				x.nobody = true
				return true
			}
			return false
		}
		if last := p[len(p)-1]; !look(p) && (last <= '9' || last == ')' || last == ']') { // a weight stands at the end
			body, number, ofHundred, ok := weightLast(p)
			if body = strings.TrimSpace(body); ok && body != "" {
				w, err := strconv.ParseFloat(strings.Replace(number, ",", ".", 1), 64)
				if err == nil && w > 0 {
					if look(body) || w <= 1 && strings.ContainsAny(p, "(=[") || ofHundred {
						if !x.nobody && x.how == notFound {
							x.id = body
						}
						x.weight = w
						weighted++
						percent = percent || ofHundred || w > 1
						sum += w
					}
				}
			}
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
	d := descent{how: asPossible}
	scale := 1.0
	if percent {
		scale = 100
	}
	even := weighted != len(read)
	if even && weighted > 0 {
		im.likely(Decision{Code: "weights_incomplete", Sheet: at.t.name, Line: at.line, Value: s, Taken: "equal weights", of: im.about(b), half: true,
			Text: fmt.Sprintf("some of the possible parents in %q have a weight and some have none: all count the same", s)})
	}
	for _, x := range read {
		w := x.weight / scale
		if even {
			w = 1 / float64(len(read))
		}
		if x.nobody {
			continue
		}
		id := plainWord.Replace(x.id)
		if k := slices.IndexFunc(d.candidates, func(c candidate) bool { return c.id == id }); k >= 0 {
			d.candidates[k].weight += w
			continue
		}
		d.candidates = append(d.candidates, candidate{x.i, id, w})
	}
	if len(d.candidates) == 1 && math.Abs(d.candidates[0].weight-1) < 1e-9 && d.candidates[0].bird >= 0 {
		d.how = byIDOtherwise
	}
	return d, true
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

// holding is a pair that held a nest.
type holding struct {
	nest         string
	female, male string
	since, until date
	season       int // the year, if only that is known of the time
	at           spot
	clutch       studbook.Clutch // the row's, if it is clutched
	clutched     bool
}

// nestKey is the name of a nest or group without words for nests and groups.
func nestKey(s string) string {
	run := tokens(s)
	out := make([]string, 0, len(run))
	for _, w := range run {
		if nestWords()[w] {
			continue
		}
		if stem := strings.TrimRight(w, "0123456789"); stem != w && nestWords()[stem] {
			w = w[len(stem):]
		}
		if w = strings.TrimLeft(w, "0"); w == "" {
			w = "0"
		}
		out = append(out, w)
	}
	if len(out) == 0 {
		return strings.Join(run, "")
	}
	return strings.Join(out, " ")
}

var nestWords = wordSet("pair|paar|couple|pareja|casal|coppia|koppel|nest|box|nestbox|no|nr|n|nº|number|nistkasten|kasten|brutkasten|nid|nichoir|nido|caja|ninho|caixa|cassetta|nestkast|kast|the|le|la|el|o|a|il|de|das|der|die")

// nests reads the sheets of nests and pairs. What their cells call birds is
// looked up later, when all birds are known.
func (im *importer) nests() {
	for _, t := range im.tables {
		if t.kind != nestRows {
			continue
		}
		for _, r := range t.body {
			h := holding{nest: t.get(r, colNest).text, female: t.get(r, colFemale).text, male: t.get(r, colMale).text, at: spot{t, r.line}}
			for _, x := range []struct {
				into *date
				c    column
			}{{&h.since, colSince}, {&h.until, colUntil}} {
				d, ok := im.readDate(t.get(r, x.c))
				if !ok {
					im.likely(Decision{Code: "unreadable_date", Sheet: t.name, Line: r.line, Column: x.c.String(), Value: t.get(r, x.c).text, Taken: "blank",
						Text: fmt.Sprintf("the date %q of a nest cannot be read", t.get(r, x.c).text)})
				}
				*x.into = d
			}
			if season := t.get(r, colSeason); season.kind != blank {
				d, ok := im.readDate(season)
				switch {
				case !ok || !d.known():
					im.likely(Decision{Code: "unreadable_date", Sheet: t.name, Line: r.line, Column: "season", Value: season.text, Taken: "any season",
						Text: fmt.Sprintf("the season %q of a pair cannot be read: it counts for every season", season.text)})
				case !h.since.known() && !h.until.known():
					h.since, h.until, h.season = d, d, d.first.Time().Year()
				}
			}
			h.clutch, h.clutched = im.clutchOf(t, r, h.season)
			im.held = append(im.held, h)
		}
	}
	im.heldBy = timelines(im.held, func(h holding) (string, date, date) { return h.nest, h.since, h.until })
}

// mostOfClutch is the largest number that is one of eggs or chicks of a clutch; from memory,
// few birds lay as many as twenty.
const mostOfClutch = 30

// clutchOf reads the clutch that a row of a sheet of nests is, if it is one: a date or a
// number of eggs or of chicks says so. Where no day is given its season is the date.
func (im *importer) clutchOf(t *table, r row, season int) (c studbook.Clutch, ok bool) {
	c = studbook.Clutch{Eggs: -1, Fertile: -1, Hatched: -1, Fledged: -1}
	infertile := -1
	for _, x := range []struct {
		into *int
		c    column
	}{{&c.Eggs, colEggs}, {&c.Fertile, colFertile}, {&infertile, colInfertile}, {&c.Hatched, colHatched}, {&c.Fledged, colFledged}} {
		cell := t.get(r, x.c)
		if cell.kind == blank || cell.text != "0" && isNobody(cell.text) {
			continue
		}
		n, err := strconv.Atoi(cell.text)
		if err != nil || n < 0 || n > mostOfClutch {
			im.likely(Decision{Code: "count_not_read", Sheet: t.name, Line: r.line, Column: x.c.String(), Value: cell.text, Taken: "blank",
				Text: fmt.Sprintf("%q is no number of eggs or chicks of one clutch: nothing is taken as known", shorten(cell.text))})
			continue
		}
		*x.into, ok = n, true
	}
	if c.Fertile < 0 && infertile >= 0 && infertile <= c.Eggs {
		c.Fertile = c.Eggs - infertile
	}
	if laid := t.get(r, colLaid); laid.kind != blank {
		d, read := im.readDate(laid)
		for _, between := range []string{" ", "", ".", "/", "-"} { // "12 April", in a sheet with the year beside it
			if (!read || !d.known()) && season > 0 {
				d, read = im.readDate(textCell(laid.text + between + strconv.Itoa(season)))
			}
		}
		if !read {
			im.likely(Decision{Code: "unreadable_date", Sheet: t.name, Line: r.line, Column: colLaid.String(), Value: laid.text, Taken: "the season",
				Text: fmt.Sprintf("the date %q of a clutch cannot be read", shorten(laid.text))})
		} else if d.known() {
			c.Laid, ok = toDate(d), true
		}
	}
	if ok && c.Laid.Text == "" && season > 0 {
		c.Laid = toDate(date{text: strconv.Itoa(season)})
	}
	return c, ok && c.Laid.Text != ""
}

// nestOf finds the pairs that held a nest on the day a bird hatched.
func (im *importer) nestOf(b *bird, nest string, at spot) (sire, dam descent, ok bool) {
	if len(im.heldBy) == 0 {
		return sire, dam, false
	}
	holders, there := im.heldBy[nestKey(nest)]
	if !there {
		return sire, dam, false
	}
	var sires, dams []candidate
	add := func(list []candidate, name string) []candidate {
		c := im.member(name)
		if isNobody(name) {
			c.id = ""
		}
		return append(list, c)
	}
	held, few := atMost(holders.during(b.days()), studbook.MostCandidates)
	if !few {
		d := im.tooMany(b, nest, at)
		return d, d, true
	}
	for _, k := range held {
		male, female := im.held[k].male, im.held[k].female
		if m, ok := im.oneAtMost(male); ok && im.birds[m].sex == studbook.Female {
			male, female = female, male
		}
		sires, dams = add(sires, male), add(dams, female)
	}
	if len(sires) == 0 || !b.hatch.known() && len(sires) > 1 {
		im.likely(Decision{Code: "nest_of_nobody", Sheet: at.t.name, Line: at.line, Value: nest, Taken: "unknown", of: im.about(b),
			Text: fmt.Sprintf("no pair is known to have held nest %s when %s hatched: its parents are unknown", nest, b.id)})
		return descent{how: asUnknown, word: nest}, descent{how: asUnknown, word: nest}, true
	}
	return shared(sires, byNest), shared(dams, byNest), true
}

// timelines are when what has a name was there, by what nestKey has of the name; a date that is
// not known bounds nothing.
func timelines[T any](all []T, of func(T) (name string, since, until date)) map[string]*timeline {
	periods := make(map[string][]period)
	for i, x := range all {
		name, since, until := of(x)
		s := always(int32(i))
		if since.known() {
			s.first = since.first
		}
		if until.known() {
			s.last = until.last
		}
		if k := nestKey(name); k != "" {
			periods[k] = append(periods[k], s)
		}
	}
	lines := make(map[string]*timeline, len(periods))
	for name, s := range periods {
		lines[name] = newTimeline(s)
	}
	return lines
}

// atMost returns some numbers in their order, unless there are more than most.
func atMost(numbers iter.Seq[int32], most int) (list []int32, few bool) {
	for k := range numbers {
		if list = append(list, k); len(list) > most {
			return nil, false
		}
	}
	slices.Sort(list)
	return list, true
}

// tooMany is a parent of which a nest or a group names more birds than may stand as possible
// ones.
func (im *importer) tooMany(b *bird, of string, at spot) descent {
	im.likely(Decision{Code: "parents_too_many", Sheet: at.t.name, Line: at.line, Value: of, Taken: "unknown", of: im.about(b), half: true,
		Text: fmt.Sprintf("more than %d birds or pairs of %q could be parents of %s: the parent is unknown", studbook.MostCandidates, of, b.id)})
	return descent{how: asUnknown, word: of}
}

// shared gives candidates equal weights, the same bird once.
func shared(list []candidate, how found) descent {
	d := descent{how: how}
	for _, c := range list {
		if c.id == "" {
			continue
		}
		if k := slices.IndexFunc(d.candidates, func(x candidate) bool { return x.id == c.id }); k >= 0 {
			d.candidates[k].weight += 1 / float64(len(list))
			continue
		}
		c.weight = 1 / float64(len(list))
		d.candidates = append(d.candidates, c)
	}
	if len(d.candidates) == 0 {
		return descent{how: asUnknown}
	}
	for k := range d.candidates {
		if math.Abs(d.candidates[k].weight-1) < 1e-9 {
			d.candidates[k].weight = 1
		}
	}
	return d
}

// flock is a breeding group of a season.
type flock struct {
	name           string
	season         date
	anytime        bool
	males, females []string
}

// groups reads the sheets of breeding groups.
func (im *importer) groups() {
	for _, t := range im.tables {
		if t.kind != groupRows {
			continue
		}
		for _, r := range t.body {
			f := flock{name: t.get(r, colGroup).text}
			season := t.get(r, colSeason)
			d, ok := im.readDate(season)
			f.season = d
			if f.anytime = !ok || !d.known(); f.anytime && season.kind != blank {
				im.likely(Decision{Code: "unreadable_date", Sheet: t.name, Line: r.line, Column: "season", Value: season.text, Taken: "any season",
					Text: fmt.Sprintf("the season %q of group %s cannot be read: it counts for every season", season.text, f.name)})
			}
			f.males, f.females = im.members(t.get(r, colMales).text), im.members(t.get(r, colFemales).text)
			im.flocks = append(im.flocks, f)
		}
	}
	im.flocksBy = timelines(im.flocks, func(f flock) (name string, since, until date) {
		if f.anytime {
			return f.name, date{}, date{}
		}
		return f.name, f.season, f.season
	})
}

// member is a parent as a nest or a group names it.
func (im *importer) member(name string) candidate {
	if i, ok := im.oneAtMost(name); ok {
		return candidate{i, im.birds[i].id, 1}
	}
	return candidate{-1, plainWord.Replace(name), 1}
}

// plainWord takes from a word what means something in the cell of a parent.
var plainWord = strings.NewReplacer(";", ",", "=", ":")

// members cuts a list of birds.
func (im *importer) members(s string) []string {
	list := strings.FieldsFunc(s, func(c rune) bool { return strings.ContainsRune(",;/|\n+&", c) })
	var out []string
	for _, m := range list {
		if m = strings.TrimSpace(m); m != "" && !isNobody(m) {
			out = append(out, m)
		}
	}
	if len(out) == 1 && strings.Contains(out[0], " ") {
		// Blanks alone, where every piece is a bird and the whole is none.
		pieces := strings.Fields(out[0])
		if _, whole := im.byID[out[0]]; !whole {
			all := true
			for _, p := range pieces {
				_, ok := im.byID[p]
				all = all && ok
			}
			if all {
				return pieces
			}
		}
	}
	return out
}

// groupOf finds the birds of a group in the season that a bird hatched in.
func (im *importer) groupOf(b *bird, group string, at spot) (sire, dam descent, ok bool) {
	if len(im.flocksBy) == 0 {
		return sire, dam, false
	}
	seasons, there := im.flocksBy[nestKey(group)]
	if !there {
		return sire, dam, false
	}
	together, few := atMost(seasons.during(b.days()), studbook.MostCandidates)
	if !few {
		d := im.tooMany(b, group, at)
		return d, d, true
	}
	among := func(members func(*flock) []string) descent {
		var names []string
		for _, k := range together {
			f := &im.flocks[k]
			if !f.anytime && !b.hatch.known() {
				continue
			}
			if names = union(names, members(f)); len(names) > studbook.MostCandidates {
				return im.tooMany(b, group, at)
			}
		}
		list := make([]candidate, len(names))
		for i, n := range names {
			list[i] = im.member(n)
		}
		d := shared(list, byGroup)
		if d.how == asUnknown {
			d.word = group
		}
		return d
	}
	return among(func(f *flock) []string { return f.males }), among(func(f *flock) []string { return f.females }), true
}

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
