package exchange

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"sync"

	"pairwright/pedigree/studbook"
)

// source of a value: the table and line it was read from.
type spot struct {
	t    *table
	line int
}

func (s spot) String() string {
	if s.t == nil {
		return "the file"
	}
	return fmt.Sprintf("%s line %d", s.t.name, s.line)
}

// written is a cell that waits to be understood, and where it stands.
type written struct {
	cell
	spot
}

// bird is a bird as the rows together have it.
type bird struct {
	id         string
	at         spot // its first row
	name, band string
	others     differing
	sexes      []written // every cell with its sex
	sex        studbook.Sex
	hatch      date
	hatchAt    spot
	death      date
	deathAt    spot
	deadSome   bool // dead on an unknown day
	sire, dam  written
	parents    written
	nest       string
	group      string
	mate       written
	origin     studbook.Origin
	location   string
	notes      differing
	carried    []string // by the headings that are carried over
	stays      []stay
	listed     int // the last year that lists it; see yearlyLists

	parentage [2]descent // of the sire and the dam
	fate      fate
}

// stay is what one row says of where a bird was and what became of it.
type stay struct {
	at                  spot
	location            string
	arrived, gone       date
	from                string
	fate                fate
	reason, destination string
	reasonless          bool // it left, and nothing says why
	fromEvents          bool
	listed              int // the year that the row lists it for, 0 if it has none
}

// chooseIDs finds the column of ids where no heading says it for certain, by
// what the parents are called.
func (im *importer) chooseIDs() {
	im.citedColumn()
	im.need(colID, colBand)
	strong := false
	for _, t := range im.tables {
		strong = strong || t.kind == birdRows && t.has(colID) && t.how[t.col[colID]] != weakly
	}
	var cited map[string]bool
	for _, t := range im.tables {
		if t.kind != birdRows || t.fixed != nil || t.has(colID) && (t.how[t.col[colID]] != weakly || !t.has(colBand)) || !t.has(colID) && !t.has(colBand) {
			continue
		}
		if strong && !t.has(colID) {
			continue // its bands will be looked up among those of the others
		}
		var candidates []int
		for _, c := range []column{colID, colBand} {
			if t.has(c) {
				candidates = append(candidates, t.col[c])
			}
		}
		best := candidates[0]
		if len(candidates) > 1 {
			if cited == nil {
				cited = im.citedKeys()
			}
			count := func(j int) (n, distinct int) {
				seen := make(map[string]bool)
				for _, r := range t.body {
					if k := key(r.at(j).text); k != "" {
						if cited[k] && !seen[k] {
							n++
						}
						seen[k] = true
					}
				}
				return n, len(seen)
			}
			n0, d0 := count(candidates[0])
			n1, d1 := count(candidates[1])
			if n1 > n0 || n1 == n0 && d1 >= d0 {
				best = candidates[1]
			}
		}
		old := t.col[colID]
		if best == old {
			continue
		}
		if old >= 0 {
			t.ours[old], t.how[old] = unclaimed, ""
			t.extra = append(t.extra, old)
			slices.Sort(t.extra)
		}
		t.ours[best], t.col[colID], t.col[colBand] = colID, best, -1
		t.how[best] = "the bands are the ids: no other column has them"
		im.likely(Decision{Code: "bands_are_ids", Sheet: t.name, Line: t.headLine, Column: "id", Value: t.head[best], Taken: "id", Choice: im.idChoice(t, best, old),
			Text: fmt.Sprintf("the bands in column %q are taken as the ids of the birds", t.head[best])})
	}
}

// citedColumn takes for the ids of a list of birds, where no heading says which column has
// them, the one in which no cell stands twice and most of the parents stand.
func (im *importer) citedColumn() {
	for _, t := range im.tables {
		if t.kind != birdRows || t.fixed != nil || t.has(colID) || t.has(colBand) || slices.Contains(im.opt.Mapping.Without, colID.String()) {
			continue
		}
		cited := im.citedKeys()
		maps.DeleteFunc(cited, func(k string, _ bool) bool { return isNobody(k) })
		found, columns := 0, 0
		maybe := t.extra
		if t.has(colName) {
			maybe = append(slices.Clone(maybe), t.col[colName])
		}
		for _, j := range maybe {
			seen, hits, twice := make(map[string]bool), 0, false
			for _, r := range t.body {
				k := key(r.at(j).text)
				if twice = twice || k != "" && seen[k]; cited[k] && !seen[k] {
					hits++
				}
				seen[k] = true
			}
			if !twice && hits > 0 && hits*2 >= len(cited) {
				found = j
				columns++
			}
		}
		if columns != 1 {
			continue
		}
		if t.ours[found] == colName {
			t.col[colName] = -1
		}
		t.ours[found], t.col[colID], t.how[found] = colID, found, "by its cells: parents are called so"
		t.extra = slices.DeleteFunc(t.extra, func(j int) bool { return j == found })
		im.likely(Decision{Code: "ids_by_parents", Sheet: t.name, Line: t.headLine, Column: "id", Value: t.head[found], Taken: "id",
			Text: fmt.Sprintf("column %q is taken for the ids of the birds: no cell of it stands twice, and parents are called so", t.head[found])})
	}
}

const weakly = "by name, as no other column has it"

// citedKeys are the keys of all parents that the file names.
func (im *importer) citedKeys() map[string]bool {
	cited := make(map[string]bool)
	for _, t := range im.tables {
		for _, c := range []column{colSire, colDam, colParents} {
			if !t.has(c) {
				continue
			}
			for _, r := range t.body {
				x := t.get(r, c).text
				if k := key(x); k != "" {
					cited[k] = true
				}
				for _, p := range splitAny(x) {
					if k := key(p); k != "" {
						cited[k] = true
					}
				}
			}
		}
	}
	return cited
}

// splitAny cuts a parent's cell at everything that may stand between birds.
func splitAny(s string) []string {
	const signs = " /;+&|,×()=" // the last before a weight
	if !strings.ContainsAny(s, signs) {
		return nil
	}
	return strings.FieldsFunc(s, func(c rune) bool { return strings.ContainsRune(signs, c) })
}

// looksLikeID reports whether a text is an id of the file, or one that the eye does
// not tell from it.
func (im *importer) looksLikeID(s string) bool {
	if im.looks == nil {
		im.looks = make(map[string]bool)
		for _, t := range im.tables {
			for _, r := range t.body {
				if id := t.get(r, colID).text; t.kind == birdRows && id != "" {
					im.looks[studbook.PlainID(id)] = true
				}
			}
		}
	}
	return im.looks[studbook.PlainID(s)]
}

// idLike tells what in a row of its own may be an id of a table: what parents are called, or
// what has the shape of its ids.
func (t *table) idLike(cited func() map[string]bool) func(string) bool {
	shapes := sync.OnceValue(func() map[string]bool {
		shapes := make(map[string]bool)
		for _, r := range t.body {
			if id := t.get(r, colID).text; id != "" && r.used() > 1 {
				shapes[shape(id)] = true
			}
		}
		return shapes
	})
	return func(s string) bool {
		year := len(s) == 4 && yearOnly().MatchString(s)
		return cited()[key(s)] || strings.ContainsAny(s, "0123456789") && !year && shapes()[shape(s)]
	}
}

// sortRows keeps the rows of data and leaves out the others, each with the
// reason.
func (im *importer) sortRows() {
	cited := sync.OnceValue(im.citedKeys)
	for _, t := range im.tables {
		if t.fixed != nil {
			im.report.RowsRead += im.counts(t, len(t.body))
			continue
		}
		if im.counts(t, 1) > 0 {
			// Those above the header are counted already.
			for _, l := range im.report.LeftOut {
				if l.Sheet == t.name {
					im.report.RowsRead++
				}
			}
		}
		im.report.RowsRead += im.counts(t, len(t.body))
		idLike := t.idLike(cited)
		kept := make([]row, 0, len(t.body))
		for _, r := range t.body {
			reason := ""
			switch {
			case im.saidOut(t, r.line):
				reason = "left out on your word"
			case t.eggRow(r) && !cited()[key(t.get(r, colID).text)]:
				reason = "an egg that did not hatch"
			default:
				reason = t.plainRow(r, idLike, im.looksLikeID)
			}
			if reason == "" {
				kept = append(kept, r)
				continue
			}
			if im.counts(t, 1) > 0 {
				im.leave(t, r, reason)
			}
			if reason == "a total" || strings.HasPrefix(reason, "a section") {
				im.ownTotal(t, r)
			}
		}
		t.body = kept
		for _, r := range t.rows {
			if r.line < t.headLine {
				im.ownTotal(t, r)
			}
		}
	}
}

// counts returns n for tables whose rows are counted as birds are.
func (im *importer) counts(t *table, n int) int {
	if t.kind == birdRows || t.kind == eventRows {
		return n
	}
	return 0
}

func (im *importer) saidOut(t *table, line int) bool {
	if im.leftOut == nil {
		im.leftOut = make(map[int][]int)
		for k, l := range im.opt.Mapping.LeaveOut {
			if _, number := rowSaid(l); number > 0 {
				im.leftOut[number] = append(im.leftOut[number], k)
			}
		}
	}
	for _, k := range im.leftOut[line] {
		if name, _ := rowSaid(im.opt.Mapping.LeaveOut[k]); name == "" || strings.EqualFold(name, t.name) {
			im.met[&im.opt.Mapping.LeaveOut[k]] = true
			return true
		}
	}
	return false
}

// rowSaid cuts "sheet:line", or a line alone, apart; the number is 0 if it is none.
func rowSaid(s string) (sheet string, number int) {
	name, digits, ok := cutLast(s, ":")
	if !ok {
		name, digits = "", s
	}
	number, _ = strconv.Atoi(strings.TrimSpace(digits))
	return strings.TrimSpace(name), number
}

func cutLast(s, sep string) (before, after string, ok bool) {
	if i := strings.LastIndex(s, sep); i >= 0 {
		return s[:i], s[i+len(sep):], true
	}
	return s, "", false
}

// padIDs finds the length that ids stored as numbers are filled to: the one of
// all ids written as text, if those are digits alone and of one length.
func (im *importer) padIDs() {
	length := 0
	for _, t := range im.tables {
		if !t.has(colID) || t.kind != birdRows {
			continue
		}
		for _, r := range t.body {
			c := t.get(r, colID)
			if c.kind == blank || c.kind == day {
				continue
			}
			if strings.Trim(c.text, "0123456789") != "" {
				return
			}
			if c.kind == number && c.text == numberText(c.num) || im.src.format == "csv" && c.text[0] != '0' {
				continue
			}
			if length == 0 {
				length = len(c.text)
			}
			if len(c.text) != length {
				return
			}
		}
	}
	if length == 0 {
		return
	}
	// Not where a number and a text that is the same with zeros are two birds.
	first := make(map[string]written)
	for _, t := range im.tables {
		if t.kind != birdRows || !t.has(colID) {
			continue
		}
		for _, r := range t.body {
			c := t.get(r, colID)
			if c.kind == blank {
				continue
			}
			if len(c.text) > length {
				return
			}
			k := filled(c.text, length)
			if other, there := first[k]; there && other.text != c.text && im.twoBirds(other.spot, spot{t, r.line}) {
				return
			}
			first[k] = written{c, spot{t, r.line}}
		}
	}
	im.padded = length
}

// filled returns digits with zeros in front.
func filled(s string, length int) string {
	if len(s) >= length || strings.Trim(s, "0123456789") != "" {
		return s
	}
	return strings.Repeat("0", length-len(s)) + s
}

// twoBirds reports whether two rows cannot be of one bird.
func (im *importer) twoBirds(a, b spot) bool {
	find := func(s spot) row {
		i, _ := slices.BinarySearchFunc(s.t.body, s.line, func(r row, l int) int { return r.line - l })
		return s.t.body[i]
	}
	ra, rb := find(a), find(b)
	for _, c := range []column{colHatch, colSire, colDam, colSex, colName} {
		x, y := a.t.get(ra, c).text, b.t.get(rb, c).text
		if x != "" && y != "" && x != y {
			return true
		}
	}
	return false
}

// idText returns a cell that names a bird as the text of its id.
func (im *importer) idText(c cell) string {
	s := c.text
	if c.kind == number && c.text == numberText(c.num) || c.kind == words {
		if body, ok := strings.CutSuffix(s, ".0"); ok && body != "" && strings.Trim(body, "0123456789") == "" && !im.dotted() {
			s = body
		}
	}
	if rest := strings.TrimLeft(s, "# "); rest != "" {
		s = rest // a row that begins with the sign is a remark in our files
	}
	if rest, crossed := withoutCross(s); crossed && rest != "" {
		s = rest
	}
	if im.padded > 0 {
		s = filled(s, im.padded)
	}
	s = oneLine(s)
	if is := im.opt.Mapping.Words["id"][s]; is != "" {
		return is
	}
	return s
}

// alikeIDs stops where the ids of two birds cannot be told apart by eye, as C12 and
// c12 or 7 and 007: with one bird for two, or two for one, kinship is wrong.
func (im *importer) alikeIDs() {
	first := make(map[string]*bird, len(im.birds))
	for _, b := range im.birds {
		plain := studbook.PlainID(b.id)
		a := first[plain]
		if a == nil {
			first[plain] = b
			continue
		}
		if im.opt.Mapping.Alike == "two" || im.opt.Mapping.Words["id"][b.id] == b.id {
			continue
		}
		im.stop(Decision{Code: "alike_ids", Sheet: b.at.t.name, Line: b.at.line, Column: "id", Value: b.id, Choice: wordChoice("id", b.id, "", a.id, b.id),
			Text: fmt.Sprintf("the ids %q (%s) and %q (%s) differ in what the eye does not tell apart: they may be one bird or two", a.id, a.at, b.id, b.at)})
	}
}

// dotted reports whether ids of the file have points between digits, so that
// 12.0 is not 12.
func (im *importer) dotted() bool {
	if im.pointed == 0 {
		im.pointed = 1
		for _, t := range im.tables {
			if t.kind != birdRows || !t.has(colID) {
				continue
			}
			for _, r := range t.body {
				c := t.get(r, colID)
				if i := strings.IndexByte(c.text, '.'); i >= 0 && c.kind == words && !strings.HasSuffix(c.text, ".0") {
					im.pointed = 2
				}
			}
		}
	}
	return im.pointed == 2
}

// collect makes birds of the rows of birds and joins those of one bird.
func (im *importer) collect() {
	if n := im.birdRows(); len(im.birds) == 0 {
		im.byID, im.birds = make(map[string]int32, n), make([]*bird, 0, n)
	}
	index := make(map[string]int)
	place := make(map[*table][]int)
	for _, t := range im.tables {
		if t.kind != birdRows {
			continue
		}
		for _, j := range t.extra {
			name := t.head[j]
			if name == "" {
				name = "column " + strconv.Itoa(j+1)
			}
			k := key(name)
			if k == "" {
				k = name
			}
			i, there := index[k]
			if !there {
				i = len(im.carried)
				index[k] = i
				im.carried = append(im.carried, im.freeHeading(name))
			}
			place[t] = append(place[t], i)
		}
	}
	var later []written // rows with a band and no id, of tables beside others that have ids
	for _, t := range im.tables {
		if t.kind != birdRows {
			continue
		}
		for i, r := range t.body {
			id := t.get(r, colID)
			if id.kind != blank {
				if n, ok := nobodyWords().whole(id.text); ok && n == unknownParent && id.text != "0" || key(id.text) == "" {
					id = cell{} // no letter and no digit is no id
				}
			}
			if id.kind == blank && !t.has(colID) && t.get(r, colBand).kind != blank {
				later = append(later, written{cell{num: float64(i)}, spot{t, r.line}})
				continue
			}
			im.takeRow(t, r, im.idText(id), place[t])
		}
	}
	if len(later) > 0 {
		bands := make(map[string]string)
		for _, b := range im.birds {
			for _, s := range append([]string{b.band}, b.others.list...) {
				if k := key(s); k != "" && bands[k] == "" {
					bands[k] = b.id
				}
			}
			bands[key(b.id)] = b.id
		}
		for _, l := range later {
			r := l.t.body[int(l.num)]
			band := im.idText(l.t.get(r, colBand))
			id := bands[key(band)]
			if id == "" {
				id = band
			}
			im.takeRow(l.t, r, id, place[l.t])
		}
	}
	if len(im.birds) == 0 && !slices.ContainsFunc(im.tables, func(t *table) bool { return t.kind == eventRows }) && len(im.report.Stops) == 0 {
		im.stop(Decision{Code: "no_birds", Text: "no row of the file is a bird"})
	}
}

// freeHeading returns a heading that is none of ours.
func (im *importer) freeHeading(name string) string {
	for _, h := range studbook.Header[studbook.Bird]() {
		if key(h) == key(name) {
			return name + " (theirs)"
		}
	}
	return oneLine(name)
}

// takeRow takes in a row of birds.
func (im *importer) takeRow(t *table, r row, id string, carried []int) {
	at := spot{t, r.line}
	if id == "" {
		bred := t.get(r, colSire).kind != blank || t.get(r, colDam).kind != blank || t.get(r, colParents).kind != blank
		if !bred || t.get(r, colSex).kind == blank && t.get(r, colHatch).kind == blank {
			im.leave(t, r, "it has no id, and not both a parent and a sex or a hatch date")
			return
		}
		id = t.name + "-" + strconv.Itoa(r.line)
		im.likely(Decision{Code: "no_id", Sheet: t.name, Line: r.line, Column: "id", Taken: id, Text: fmt.Sprintf("the row has no id; its bird is called %s", id)})
	}
	if t.get(r, colID).kind == day && t.fixed == nil {
		im.likely(Decision{Code: "ids_as_days", Sheet: t.name, Line: r.line, Column: "id", Taken: "the day",
			Text: fmt.Sprintf("ids are stored as dates, as %s: a spreadsheet seems to have taken ids such as 3-5 for days; give the columns of ids and parents the format of text and type those again", id)})
	}
	if raw := t.get(r, colID).text; strings.HasPrefix(raw, "#") {
		im.likely(Decision{Code: "sign_left_out", Sheet: t.name, Line: r.line, Column: "id", Value: "#", Taken: "nothing",
			Text: fmt.Sprintf("the # in front of ids, as of %s, is left out: in our files it begins a remark", raw)})
	}
	k, there := im.byID[id]
	if !there && im.opt.Mapping.Alike == "one" {
		k, there = im.plain[studbook.PlainID(id)]
	}
	if there {
		im.report.Joined++
	} else {
		k = im.newBird(id, at)
	}
	b := im.birds[k]
	get := func(c column) cell { return t.get(r, c) }

	name, crossed := withoutCross(get(colName).text)
	if _, beside := withoutCross(get(colID).text); crossed || beside {
		b.deadSome = true
		im.likely(Decision{Code: "cross_in_name", Sheet: t.name, Line: r.line, Column: "name", Value: "†", Taken: fateNames[died], of: im.about(b),
			Text: "a bird whose name or id is written with a cross is taken as dead"})
	}
	im.fill(b, &b.name, name, "name", at)
	im.fill(b, &b.band, im.idTextOr(get(colBand)), "band", at)
	for _, s := range severalIDs(get(colOtherIDs).text) {
		b.others.add(s)
	}
	if c := get(colSex); c.kind != blank {
		b.sexes = im.sexed.add(b.sexes, written{c, at})
	}
	if x := sexSign(get(colID).text + get(colName).text); x != 0 && get(colSex).kind == blank {
		b.sexes = append(b.sexes, written{textCell(x.Word()), at})
	}
	if t.sex != 0 && !t.has(colSex) {
		b.sexes = append(b.sexes, written{textCell(t.sex.Word()), at})
		im.likely(Decision{Code: "sex_of_sheet", Sheet: t.name, Column: "sex", Taken: t.sex.String(),
			Text: fmt.Sprintf("the birds of sheet %q are taken as %ss by its name", t.name, t.sex.Word())})
	}
	im.fillParent(b, &b.sire, get(colSire), colSire, at)
	im.fillParent(b, &b.dam, get(colDam), colDam, at)
	im.fillParent(b, &b.parents, get(colParents), colParents, at)
	im.fillDate(b, &b.hatch, &b.hatchAt, get(colHatch), colHatch, precisionOf(get(colHatchPrecision).text), at)
	im.fill(b, &b.nest, get(colNest).text, "nest", at)
	im.fill(b, &b.group, get(colGroup).text, "group", at)
	if c := get(colMate); c.kind != blank && !alone()[key(c.text)] && !isNobody(c.text) {
		b.mate = written{c, at} // of several rows the last is of today
	}
	if c := get(colOrigin); c.kind != blank {
		im.takeOrigin(b, c.text, at)
	}
	if c := get(colNotes); c.kind != blank {
		b.note(c.text)
	}
	for _, c := range []column{colFosterSire, colFosterDam, colDeathCause} {
		if x := get(c); x.kind != blank {
			b.note(strings.ReplaceAll(c.String(), "_", " ") + ": " + x.text)
		}
	}
	for i, j := range t.extra {
		c := r.at(j)
		if c.kind == blank || i >= len(carried) {
			continue
		}
		if b.carried == nil {
			b.carried = make([]string, len(im.carried))
		}
		switch old := &b.carried[carried[i]]; {
		case *old == "":
			*old = c.text
		case len(*old) < endless && *old != c.text && !strings.Contains(*old, c.text):
			*old += "; " + c.text
		}
	}
	im.takeStay(b, t, r, at)
}

// endless is how long a text is, in bytes, that no cell of a studbook can be, so that
// the import stops and nothing of it is kept.
const endless = 200_000

// withoutCross cuts the cross of the dead off a name.
func withoutCross(name string) (rest string, crossed bool) {
	if studbook.ASCII(name) || !strings.ContainsAny(name, "†✝") {
		return name, false
	}
	return strings.TrimSpace(strings.NewReplacer("(†)", "", "†", "", "✝", "").Replace(name)), true
}

// sexSign returns the sex whose sign stands in a text, 0 if it has none or both.
func sexSign(s string) studbook.Sex {
	if studbook.ASCII(s) {
		return 0
	}
	switch male, female := strings.Contains(s, "♂"), strings.Contains(s, "♀"); {
	case male && !female:
		return studbook.Male
	case female && !male:
		return studbook.Female
	}
	return 0
}

// severalIDs cuts a cell with ids. A stroke without blanks around it is part of
// a ring's number.
func severalIDs(s string) []string {
	var out []string
	for p := range strings.FieldsFuncSeq(strings.ReplaceAll(s, " / ", ";"), func(c rune) bool { return strings.ContainsRune(";,|\n", c) }) {
		if p = oneLine(p); key(p) != "" {
			out = append(out, p)
		}
	}
	return out
}

// slab makes lists of one, many at a time: made one by one, those of birds, stays and
// sexes would take a good part of the time that reading a row does.
type slab[T any] struct{ left []T }

// add appends to a list.
func (s *slab[T]) add(list []T, x T) []T {
	const many = 64
	if list != nil {
		return append(list, x)
	}
	if len(s.left) == 0 {
		s.left = make([]T, many)
	}
	list = s.left[:1:1]
	list[0], s.left = x, s.left[1:]
	return list
}

func (im *importer) newBird(id string, at spot) int32 {
	k := int32(len(im.birds))
	im.birds = append(im.birds, &im.bred.add(nil, bird{id: id, at: at, sex: studbook.Unsexed})[0])
	im.byID[id] = k
	if im.opt.Mapping.Alike == "one" {
		if plain := studbook.PlainID(id); im.plain == nil {
			im.plain = map[string]int32{plain: k}
		} else if _, there := im.plain[plain]; !there {
			im.plain[plain] = k
		}
	}
	return k
}

// idTextOr is the text of a band, "" if it says that there is none.
func (im *importer) idTextOr(c cell) string {
	if c.kind == blank {
		return ""
	}
	if n, ok := nobodyWords().whole(c.text); ok && n == unknownParent {
		return ""
	}
	return oneLine(c.text)
}

func (b *bird) note(s string) {
	if s = oneLine(s); s != "" {
		b.notes.add(s)
	}
}

// differing is a list that has each text once. Few birds have many, but all rows of a file
// may be of one bird.
type differing struct {
	list []string
	has  map[string]bool // of a long list
}

func (t *differing) add(s string) {
	const long = 32
	if len(t.list) < long && slices.Contains(t.list, s) || t.has[s] {
		return
	}
	if t.list = append(t.list, s); len(t.list) < long {
		return
	}
	if t.has == nil {
		t.has = make(map[string]bool)
		for _, s := range t.list {
			t.has[s] = true
		}
	}
	t.has[s] = true
}

// fill takes a text into a blank; where another stands, that stays and it is
// said.
func (im *importer) fill(b *bird, into *string, s, what string, at spot) {
	s = oneLine(s)
	switch {
	case s == "" || s == *into:
	case *into == "":
		*into = s
	case strings.EqualFold(*into, s):
	default:
		b.note(what + " also " + s)
		if what == "band" || what == "name" {
			b.others.add(s)
		}
		im.likely(Decision{Code: "rows_differ", Sheet: at.t.name, Line: at.line, Column: what, Value: s, Taken: *into,
			Text: fmt.Sprintf("two rows of %s differ in their %s: %q is taken, %q (%s) goes to the notes", b.id, what, *into, s, at)})
	}
}

// fillParent takes a parent's cell; two that name different birds stop.
func (im *importer) fillParent(b *bird, into *written, c cell, what column, at spot) {
	switch {
	case c.kind == blank:
	case into.kind == blank:
		*into = written{c, at}
	case im.idText(into.cell) == im.idText(c) || key(into.text) == key(c.text):
	case isNobody(into.text):
		*into = written{c, at}
	case isNobody(c.text):
	default:
		im.conflict(b, what.String(), into.text, into.spot, c.text, at)
	}
}

func isNobody(s string) bool {
	_, ok := nobodyIn(s)
	return ok
}

// conflict stops because two rows of a bird cannot both be right.
func (im *importer) conflict(b *bird, what, first string, firstAt spot, second string, at spot) {
	const code = "rows_disagree"
	if im.enough(code) {
		return
	}
	im.stop(Decision{Code: code, Sheet: at.t.name, Line: at.line, Column: what, Value: second, Choice: im.rowChoice(firstAt, at),
		Text: fmt.Sprintf("two rows of %s disagree on its %s: %q in %s, %q in %s; correct one of them, or leave one out", b.id, what, first, firstAt, second, at) + hiddenOf(firstAt.t, at.t)})
}

// hiddenOf says of two sheets if one is hidden.
func hiddenOf(a, b *table) string {
	for _, t := range []*table{a, b} {
		if t != nil && t.hidden && !(a.hidden && b.hidden) {
			return fmt.Sprintf("; sheet %q is hidden in the workbook and may be an old copy", t.name)
		}
	}
	return ""
}

func precisionOf(s string) string {
	if s == "" {
		return ""
	}
	p, _ := precisions().within(s)
	return p
}

// fillDate reads a date into a blank. Of two that agree the finer is taken.
func (im *importer) fillDate(b *bird, into *date, from *spot, c cell, what column, precision string, at spot) {
	if c.kind == blank {
		return
	}
	d, ok := im.readDate(c)
	if !ok || d.after && !d.known() {
		b.note(what.String() + ": " + c.text)
		im.likely(Decision{Code: "unreadable_date", Sheet: at.t.name, Line: at.line, Column: what.String(), Value: c.text, Taken: "blank",
			Text: fmt.Sprintf("the %s of %s, %q, cannot be read as a date: it goes to the notes", plainName(what), b.id, c.text)})
		return
	}
	if !d.known() {
		return
	}
	if precision == "about" {
		d = d.marked("~")
	} else if precision != "" {
		d = d.truncated(precision)
	}
	if d.note != "" {
		b.note(what.String() + ": " + c.text)
	}
	im.takeDate(b, into, from, d, what, at)
}

func (im *importer) takeDate(b *bird, into *date, from *spot, d date, what column, at spot) {
	switch {
	case !into.known():
		*into, *from = d, at
	case into.first <= d.last && d.first <= into.last:
		if d.last-d.first < into.last-into.first || d.last-d.first == into.last-into.first && into.mark != "" && d.mark == "" {
			*into, *from = d, at
		}
	case what == colDeath:
		im.conflict(b, "day of death", into.text, *from, d.text, at)
	case what == colHatch && into.mark == "" && d.mark == "" && (d.first-into.last > yearsApart || into.first-d.last > yearsApart):
		im.conflict(b, "day of hatching", into.text, *from, d.text, at) // two birds as likely as one
	default:
		b.note(plainName(what) + " also " + d.text)
		im.likely(Decision{Code: "rows_differ", Sheet: at.t.name, Line: at.line, Column: what.String(), Value: d.text, Taken: into.text,
			Text: fmt.Sprintf("two rows of %s differ in their %s: %s is taken, %s (%s) goes to the notes", b.id, plainName(what), into.text, d.text, at)})
	}
}

// yearsApart is how many days lie between two hatch dates that are no slip of one.
const yearsApart = 366

func plainName(c column) string { return strings.ReplaceAll(c.String(), "_", " ") }

// takeOrigin reads where a bird's life began. A column of origins whose words
// are of places says where the birds came from; see agree.
func (im *importer) takeOrigin(b *bird, s string, at spot) {
	o, ok := originWords().within(s)
	switch {
	case ok && o != studbook.OriginUnstated && b.origin == studbook.OriginUnstated:
		b.origin = o
	case ok:
	default:
		b.note("origin: " + s)
		im.likely(Decision{Code: "unknown_origin", Sheet: at.t.name, Line: at.line, Column: "origin", Value: s, Taken: "blank",
			Text: fmt.Sprintf("origin %q is neither wild nor captive: it goes to the notes", s)})
	}
}

// agree stops where the cells of a column are not what its heading says.
func (im *importer) agree() {
	ids := make(map[string]bool, im.birdRows())
	for _, t := range im.tables {
		if t.kind != birdRows || !t.has(colID) {
			continue
		}
		for _, r := range t.body {
			ids[t.get(r, colID).text] = true
		}
	}
	keys := sync.OnceValue(im.calledKeys)
	known := func(s string) bool {
		return ids[s] || keys()[key(strings.TrimLeft(strings.TrimSuffix(s, ".0"), "0"))] || keys()[nestKey(s)]
	}
	for _, t := range im.tables {
		if t.kind != birdRows || t.fixed != nil {
			continue
		}
		for _, c := range []column{colSire, colDam} {
			if t.has(c) && !t.explicit[c] {
				im.agreeParents(t, c, known)
			}
		}
		if t.has(colNest) && !t.explicit[colNest] {
			im.agreeNest(t)
		}
		if t.has(colDepartureReason) && !t.explicit[colDepartureReason] && !t.has(colDepartureDate) {
			im.agreeReason(t)
		}
		if t.has(colSex) && !t.explicit[colSex] {
			im.agreeSex(t)
		}
		if t.has(colOrigin) && !t.explicit[colOrigin] {
			im.agreeOrigin(t)
		}
		if t.has(colLocation) && !t.explicit[colLocation] {
			im.agreeLocation(t)
		}
		for _, c := range []column{colHatch, colStatusDate, colDepartureDate, colArrivalDate} {
			if t.has(c) && !t.explicit[c] {
				im.agreeDates(t, c)
			}
		}
	}
}

// calledKeys are the keys of ids, bands, names, nests and groups.
func (im *importer) calledKeys() map[string]bool {
	known := make(map[string]bool)
	for _, t := range im.tables {
		if t.kind != birdRows {
			continue
		}
		for _, c := range []column{colID, colBand, colOtherIDs, colName} {
			if !t.has(c) {
				continue
			}
			for _, r := range t.body {
				if x := t.get(r, c).text; x != "" {
					known[key(strings.TrimLeft(x, "0"))] = true
					if c == colOtherIDs {
						for _, p := range severalIDs(x) {
							known[key(strings.TrimLeft(p, "0"))] = true
						}
					}
				}
			}
		}
	}
	for _, t := range im.tables {
		if t.kind == nestRows || t.kind == groupRows {
			for _, r := range t.body {
				for _, c := range []column{colNest, colGroup} {
					if x := t.get(r, c).text; x != "" {
						known[nestKey(x)] = true
					}
				}
			}
		}
	}
	return known
}

// birdRows is how many rows of birds the file has.
func (im *importer) birdRows() int {
	n := 0
	for _, t := range im.tables {
		if t.kind == birdRows {
			n += len(t.body)
		}
	}
	return n
}

// agreeParents stops if most parents are no birds of the file. known tells what is an
// id, a band, a name, a nest or a group.
func (im *importer) agreeParents(t *table, c column, known func(string) bool) {
	all, hits := 0, 0
	example := ""
	for _, r := range t.body {
		x := t.get(r, c).text
		if x == "" {
			continue
		}
		ok := known(x) || slices.ContainsFunc(splitAny(x), known) || im.looksLikeID(x) || im.over.parentOf(x)
		switch {
		case ok:
			all++
			hits++
		case isNobody(x) || im.saidNobody(x) != 0:
		default:
			all++
			if example == "" {
				example = x
			}
		}
	}
	if all == 0 || hits*2 >= all {
		return
	}
	im.stop(Decision{Code: "parents_unlike_ids", Sheet: t.name, Line: t.headLine, Column: c.String(), Value: t.head[t.col[c]], Choice: t.headingChoice(c, t.head[t.col[c]], ""),
		Text: fmt.Sprintf("column %q is named as %s, but only %s of its %s cells are ids or names of the file; %q is none", t.head[t.col[c]], c, studbook.Number(hits), studbook.Number(all), shorten(example))})
	t.setAside(c, all-hits)
}

// agreeNest gives up a column of nests or pairs in which most birds that hold one are
// themselves of the two that held theirs: it says where the bird lives, not where it
// hatched.
func (im *importer) agreeNest(t *table) {
	j := t.col[colNest]
	all, pairs := 0, 0
	for _, r := range t.body {
		x := t.get(r, colNest)
		if x.kind == blank || isNobody(x.text) {
			continue
		}
		all++
		if _, _, ok := im.pairOfLine(x.text); ok {
			pairs++
		}
	}
	if pairs*2 > all && !t.has(colParents) && !t.has(colSire) && !t.has(colDam) {
		t.col[colNest] = -1
		t.claimed(j, colParents, "by name and content: its cells name two birds")
		return
	}
	if natal()[headKey(t.head[j])] {
		return
	}
	holders, holding := make(map[[2]string]bool), make(map[string]bool)
	for _, n := range im.tables {
		if n.kind != nestRows {
			continue
		}
		for _, r := range n.body {
			for _, c := range []column{colFemale, colMale} {
				bird := key(n.get(r, c).text)
				holders[[2]string{nestKey(n.get(r, colNest).text), bird}], holding[bird] = true, true
			}
		}
	}
	own, others := 0, 0
	var first row
	for _, r := range t.body {
		x, bird := t.get(r, colNest), key(t.get(r, colID).text)
		switch {
		case x.kind == blank || !holding[bird]:
		case !holders[[2]string{nestKey(x.text), bird}]:
			others++
		default:
			if own++; own == 1 {
				first = r
			}
		}
	}
	if own == 0 || own < others {
		return
	}
	t.col[colNest], t.ours[j], t.how[j] = -1, unclaimed, ""
	t.extra = append(t.extra, j)
	slices.Sort(t.extra)
	im.likely(Decision{Code: "nest_of_its_own", Sheet: t.name, Line: first.line, Column: "nest", Value: t.head[j], Taken: "nothing", Choice: t.headingChoice(colNest, t.head[j], ""),
		Text: fmt.Sprintf("column %q says which nest or pair a bird holds itself, as in line %d, so it says nothing of its parents", t.head[j], first.line)})
}

// agreeReason turns a column of departures into one of their dates, if its cells are dates.
func (im *importer) agreeReason(t *table) {
	all, dated := 0, 0
	for _, r := range t.body {
		x := t.get(r, colDepartureReason)
		if x.kind == blank || isNobody(x.text) {
			continue
		}
		all++
		if d, ok := im.readDate(x); ok && d.known() {
			dated++
		}
	}
	if float64(dated) < mostOfColumn*float64(all) || dated == 0 {
		return
	}
	j := t.col[colDepartureReason]
	t.col[colDepartureReason] = -1
	t.claimed(j, colDepartureDate, "by name and content: its cells are dates")
	for _, k := range t.extra {
		if c := birdNames().find(t.head[k], true); c == colDepartureReason {
			t.claimed(k, c, weakly)
			t.extra = slices.DeleteFunc(t.extra, func(x int) bool { return x == k })
			return
		}
	}
}

// natal are headings of the nest or pair that a bird came from, and no other.
var natal = wordSet("natalnest|hatchnest|hatchedinnest|frompair|ofpair|hatchedfrompair|natalpair|pairorigin|parentpairno|auspaar|elternpaarno|coupleorigine|parejaorigen|noparejaprogenitora|casalorigem|coppiaorigine|uitkoppel")

// agreeSex stops if a column of sexes has too many words.
func (im *importer) agreeSex(t *table) {
	distinct := make(map[string]bool)
	example, n := "", 0
	for _, r := range t.body {
		c := t.get(r, colSex)
		if c.kind == blank {
			continue
		}
		n++
		if _, ok := sexWords().whole(c.text); !ok {
			distinct[key(c.text)] = true
			example = c.text
		}
	}
	const fewWords = 12
	if len(distinct) > fewWords || n > 0 && len(distinct) > 4 && len(distinct)*2 > n {
		im.stop(Decision{Code: "sex_unlike_sexes", Sheet: t.name, Line: t.headLine, Column: "sex", Value: t.head[t.col[colSex]], Choice: t.headingChoice(colSex, t.head[t.col[colSex]], ""),
			Text: fmt.Sprintf("column %q is named as sex, but has %s, such as %q", t.head[t.col[colSex]], studbook.Counted(len(distinct), "different word", "different words"), shorten(example))})
		t.setAside(colSex, len(distinct))
	}
}

// agreeOrigin turns a column of origins into one of where birds came from, if
// its words are of places.
func (im *importer) agreeOrigin(t *table) {
	all, hits := 0, 0
	for _, r := range t.body {
		if x := t.get(r, colOrigin).text; x != "" {
			all++
			if _, ok := originWords().within(x); ok {
				hits++
			}
		}
	}
	if all == 0 || hits*2 >= all {
		return
	}
	j := t.col[colOrigin]
	t.col[colOrigin] = -1
	if t.has(colArrivalFrom) {
		t.ours[j], t.how[j] = unclaimed, ""
		t.extra = append(t.extra, j)
		return
	}
	t.col[colArrivalFrom], t.ours[j] = j, colArrivalFrom
	t.how[j] = "by name and content: its words are of places"
}

// enclosureWords are words for where in one place birds are kept.
var enclosureWords = wordSet("aviary|aviaries|av|flight|cage|pen|enclosure|box|shelter|room|block|bay|house|voliere|volieren|vol|außenvoliere|innenvoliere|käfig|gehege|abteil|zuchtbox|zuchtkäfig|volière|enclos|loge|jaula|voladera|aviario|recinto|gaiola|viveiro|voadeira|gabbia|voliera|kooi|hok|volière|ren|vlucht|buitenvolière|binnenvolière")

// enclosure reports whether a cell with a place names where in one place a bird is
// kept, and whether that is plain, as of "Aviary 3" or "cage B".
func enclosure(s string) (is, plain bool) {
	for _, w := range tokens(s) {
		bare := strings.TrimRight(w, "0123456789")
		if is = is || enclosureWords()[bare]; bare == "" || len(w) == 1 || is && bare != w {
			plain = true
		}
	}
	return is, is && plain
}

// atHome is the code of the one place in which a file's enclosures are, where nobody
// says another.
const atHome = "HOME"

// agreeLocation reads a column of places whose cells are enclosures of one place: as
// places of the programme a bird would need a transfer from one to the next. The cells
// are carried over.
func (im *importer) agreeLocation(t *table) {
	all, plain, first := 0, 0, row{}
	for _, r := range t.body {
		x := im.placeRead(t.get(r, colLocation).text)
		if x.name == "" || x.fate != noFate {
			continue
		}
		all++
		if x.plain {
			if plain++; plain == 1 {
				first = r
			}
		}
	}
	if plain == 0 || plain*2 < all {
		return
	}
	j := t.col[colLocation]
	t.extra = append(t.extra, j)
	slices.Sort(t.extra)
	t.enclosed, t.how[j] = cmp.Or(im.opt.Home, atHome), "by name; its enclosures are of one place"
	im.enclosed = t.enclosed
	im.likely(Decision{Code: "enclosures_of_one_place", Sheet: t.name, Line: first.line, Column: colLocation.String(), Value: t.head[j], Taken: t.enclosed, Choice: t.headingChoice(colLocation, t.head[j], ""),
		Text: fmt.Sprintf("column %q names enclosures, as %q: they are taken to be at one place, %s, between which no bird needs a transfer", t.head[j], shorten(first.at(j).text), t.enclosed)})
}

// agreeDates stops if most dates of a column cannot be read.
func (im *importer) agreeDates(t *table, c column) {
	const enough = 2000 // rows tell what a column is
	all, bad := 0, 0
	example := ""
	for _, r := range t.body[:min(len(t.body), enough)] {
		x := t.get(r, c)
		if x.kind != words {
			continue
		}
		all++
		if _, ok := im.readDate(x); !ok {
			if _, told := im.departureIn(x); told && c == colDepartureDate {
				continue
			}
			bad++
			example = x.text
		}
	}
	if bad*2 > all && bad > 2 {
		im.stop(Decision{Code: "dates_unlike_dates", Sheet: t.name, Line: t.headLine, Column: c.String(), Value: t.head[t.col[c]], Choice: t.headingChoice(c, t.head[t.col[c]], ""),
			Text: fmt.Sprintf("column %q is named as %s, but %s of its %s cells are no dates; %q is none", t.head[t.col[c]], plainName(c), studbook.Number(bad), studbook.Number(all), shorten(example))})
		t.setAside(c, bad)
	}
}
