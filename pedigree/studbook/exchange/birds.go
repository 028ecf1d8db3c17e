package exchange

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
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
	return fmt.Sprintf("%s line %d", s.t.Name, s.line)
}

// written is a cell that waits to be understood, and where it stands.
type written struct {
	sheets.Cell
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
	death      date
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

func cutLast(s, sep string) (before, after string, ok bool) {
	if i := strings.LastIndex(s, sep); i >= 0 {
		return s[:i], s[i+len(sep):], true
	}
	return s, "", false
}

// collect makes birds of the rows of birds and joins those of one bird.
func (im *importer) collect() {
	if n := im.birdRows(); len(im.birds) == 0 {
		im.byID, im.birds = make(map[string]int32, n), make([]*bird, 0, n)
	}
	carried := im.headingsCarried()
	type banded struct {
		t *table
		r sheets.Row
	}
	var later []banded // rows with a band and no id, of tables beside others that have ids
	for _, t := range im.tables {
		if t.kind != birdRows {
			continue
		}
		for _, r := range t.body {
			id := t.get(r, colID)
			if id.Kind != sheets.Blank {
				if n, ok := nobodyWords().whole(id.Text); ok && n == unknownParent && id.Text != "0" || key(id.Text) == "" {
					id = sheets.Cell{} // no letter and no digit is no id
				}
			}
			if id.Kind == sheets.Blank && !t.has(colID) && t.get(r, colBand).Kind != sheets.Blank {
				later = append(later, banded{t, r})
				continue
			}
			im.takeRow(t, r, im.idText(id), carried[t])
		}
	}
	if len(later) > 0 {
		bands := im.bands()
		for _, l := range later {
			band := im.idText(l.t.get(l.r, colBand))
			im.takeRow(l.t, l.r, cmp.Or(bands[key(band)], band), carried[l.t])
		}
	}
	if len(im.birds) == 0 && !slices.ContainsFunc(im.tables, func(t *table) bool { return t.kind == eventRows }) && len(im.report.Stops) == 0 {
		im.stop(Decision{Code: "no_birds", Text: "no row of the file is a bird"})
	}
}

// headingsCarried gathers the headings that are carried over, each once, and returns the
// places among them that each table's columns have.
func (im *importer) headingsCarried() map[*table][]int {
	index := make(map[string]int)
	places := make(map[*table][]int)
	for _, t := range im.tables {
		if t.kind != birdRows {
			continue
		}
		for _, j := range t.extra {
			name := cmp.Or(t.head[j], "column "+strconv.Itoa(j+1))
			k := cmp.Or(key(name), name)
			i, there := index[k]
			if !there {
				i = len(im.carried)
				index[k] = i
				im.carried = append(im.carried, im.freeHeading(name))
			}
			places[t] = append(places[t], i)
		}
	}
	return places
}

// bands returns the ids of birds by the keys of their ids, bands and other ids.
func (im *importer) bands() map[string]string {
	ids := make(map[string]string)
	for _, b := range im.birds {
		for _, s := range append([]string{b.band}, b.others.list...) {
			if k := key(s); k != "" && ids[k] == "" {
				ids[k] = b.id
			}
		}
	}
	for _, b := range im.birds {
		ids[key(b.id)] = b.id
	}
	return ids
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

// takeRow takes in a row of birds. carried are the places among the headings that are
// carried over that the table's have.
func (im *importer) takeRow(t *table, r sheets.Row, id string, carried []int) {
	at := spot{t, r.Line}
	if id == "" {
		bred := t.get(r, colSire).Kind != sheets.Blank || t.get(r, colDam).Kind != sheets.Blank || t.get(r, colParents).Kind != sheets.Blank
		if !bred || t.get(r, colSex).Kind == sheets.Blank && t.get(r, colHatch).Kind == sheets.Blank {
			im.leave(t, r, "it has no id, and not both a parent and a sex or a hatch date")
			return
		}
		id = t.Name + "-" + strconv.Itoa(r.Line)
		im.likely(Decision{Code: "no_id", Sheet: t.Name, Line: r.Line, Column: "id", Taken: id, Text: fmt.Sprintf("the row has no id; its bird is called %s", id)})
	}
	im.sayOfID(t.get(r, colID), id, at)
	if im.saidApart(t, r.Line) {
		id = im.ownID(id, at)
	}
	b := im.birdOf(id, at)
	get := func(c column) sheets.Cell { return t.get(r, c) }

	im.takeNames(b, r, at)
	im.takeSex(b, r, at)
	im.fillParent(b, &b.sire, get(colSire), colSire, at)
	im.fillParent(b, &b.dam, get(colDam), colDam, at)
	im.fillParent(b, &b.parents, get(colParents), colParents, at)
	im.fillDate(b, &b.hatch, written{get(colHatch), at}, colHatch, precisionOf(get(colHatchPrecision).Text))
	im.fill(b, &b.nest, get(colNest).Text, "nest", at)
	im.fill(b, &b.group, get(colGroup).Text, "group", at)
	if c := get(colMate); c.Kind != sheets.Blank && !alone()[key(c.Text)] && !isNobody(c.Text) {
		b.mate = written{c, at} // of several rows the last is of today
	}
	if c := get(colOrigin); c.Kind != sheets.Blank {
		im.takeOrigin(b, c.Text, at)
	}
	b.note(get(colNotes).Text)
	for _, c := range []column{colFosterSire, colFosterDam, colDeathCause} {
		if x := get(c); x.Kind != sheets.Blank {
			b.note(plainName(c) + ": " + x.Text)
		}
	}
	for i, place := range carried {
		if c := r.At(t.extra[i]); c.Kind != sheets.Blank {
			im.carry(b, place, c.Text)
		}
	}
	im.takeStay(b, t, r, at)
}

// sayOfID says what was done to a cell with an id that is a day or begins a remark.
func (im *importer) sayOfID(c sheets.Cell, id string, at spot) {
	if c.Kind == sheets.Day && at.t.fixed == nil {
		im.likely(Decision{Code: "ids_as_days", Sheet: at.t.Name, Line: at.line, Column: "id", Taken: "the day",
			Text: fmt.Sprintf("ids are stored as dates, as %s: a spreadsheet seems to have taken ids such as 3-5 for days; give the columns of ids and parents the format of text and type those again", id)})
	}
	if strings.HasPrefix(c.Text, "#") {
		im.likely(Decision{Code: "sign_left_out", Sheet: at.t.Name, Line: at.line, Column: "id", Value: "#", Taken: "nothing",
			Text: fmt.Sprintf("the # in front of ids, as of %s, is left out: in our files it begins a remark", c.Text)})
	}
}

// ownID returns an id for a row of another bird than the one whose id it has, and says so:
// that id and a number, which no id of the file has or looks like.
func (im *importer) ownID(id string, at spot) string {
	taken := make(map[string]bool)
	for _, t := range im.tables {
		for _, r := range t.body {
			taken[studbook.PlainID(im.idText(t.get(r, colID)))] = true
		}
	}
	for own := range im.byID {
		taken[studbook.PlainID(own)] = true
	}
	own := ""
	for n := 2; own == "" || taken[studbook.PlainID(own)]; n++ {
		own = id + "-" + strconv.Itoa(n)
	}
	im.likely(Decision{Code: "apart", Sheet: at.t.Name, Line: at.line, Column: "id", Value: id, Taken: own,
		Text: fmt.Sprintf("the row has the id %s of another bird, and is taken as a bird of its own, %s: where the file says %s elsewhere, the other is meant", id, own, id)})
	return own
}

// birdOf returns the bird of an id, a new one if no row was of it yet.
func (im *importer) birdOf(id string, at spot) *bird {
	k, there := im.byID[id]
	if !there && im.opt.Mapping.Alike == "one" {
		k, there = im.plain[studbook.PlainID(id)]
	}
	if there {
		im.report.Joined++
	} else {
		k = im.newBird(id, at)
	}
	return im.birds[k]
}

// takeNames reads what a bird is called beside its id.
func (im *importer) takeNames(b *bird, r sheets.Row, at spot) {
	get := func(c column) sheets.Cell { return at.t.get(r, c) }
	name, crossed := withoutCross(get(colName).Text)
	if _, beside := withoutCross(get(colID).Text); crossed || beside {
		b.deadSome = true
		im.likely(Decision{Code: "cross_in_name", Sheet: at.t.Name, Line: at.line, Column: "name", Value: "†", Taken: fateNames[died], of: im.about(b),
			Text: "a bird whose name or id is written with a cross is taken as dead"})
	}
	im.fill(b, &b.name, name, "name", at)
	im.fill(b, &b.band, im.idTextOr(get(colBand)), "band", at)
	for _, s := range severalIDs(get(colOtherIDs).Text) {
		b.others.add(s)
	}
}

// takeSex notes every sign of a bird's sex that a row has; see sexes.
func (im *importer) takeSex(b *bird, r sheets.Row, at spot) {
	t := at.t
	if c := t.get(r, colSex); c.Kind != sheets.Blank {
		b.sexes = im.sexed.add(b.sexes, written{c, at})
	} else if x := sexSign(t.get(r, colID).Text + t.get(r, colName).Text); x != 0 {
		b.sexes = append(b.sexes, written{sheets.TextCell(x.Word()), at})
	}
	if t.sex != 0 && !t.has(colSex) {
		b.sexes = append(b.sexes, written{sheets.TextCell(t.sex.Word()), at})
		im.likely(Decision{Code: "sex_of_sheet", Sheet: t.Name, Column: "sex", Taken: t.sex.String(),
			Text: fmt.Sprintf("the birds of sheet %q are taken as %ss by its name", t.Name, t.sex.Word())})
	}
}

// carry keeps a cell under a heading that is none of ours.
func (im *importer) carry(b *bird, place int, text string) {
	if b.carried == nil {
		b.carried = make([]string, len(im.carried))
	}
	switch old := &b.carried[place]; {
	case *old == "":
		*old = text
	case len(*old) < endless && *old != text && !strings.Contains(*old, text):
		*old += "; " + text
	}
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
func (im *importer) idTextOr(c sheets.Cell) string {
	if c.Kind == sheets.Blank {
		return ""
	}
	if n, ok := nobodyWords().whole(c.Text); ok && n == unknownParent {
		return ""
	}
	return oneLine(c.Text)
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
		im.likely(Decision{Code: "rows_differ", Sheet: at.t.Name, Line: at.line, Column: what, Value: s, Taken: *into,
			Text: fmt.Sprintf("two rows of %s differ in their %s: %q is taken, %q (%s) goes to the notes", b.id, what, *into, s, at)})
	}
}

// fillParent takes a parent's cell; two that name different birds stop.
func (im *importer) fillParent(b *bird, into *written, c sheets.Cell, what column, at spot) {
	switch {
	case c.Kind == sheets.Blank:
	case into.Kind == sheets.Blank:
		*into = written{c, at}
	case im.idText(into.Cell) == im.idText(c) || key(into.Text) == key(c.Text):
	case isNobody(into.Text):
		*into = written{c, at}
	case isNobody(c.Text):
	default:
		im.conflict(b, what.String(), *into, written{c, at})
	}
}

func isNobody(s string) bool {
	_, ok := nobodyIn(s)
	return ok
}

// conflict stops because two rows of a bird cannot both be right.
func (im *importer) conflict(b *bird, what string, first, second written) {
	const code = "rows_disagree"
	if im.enough(code) {
		return
	}
	im.stop(Decision{Code: code, Sheet: second.t.Name, Line: second.line, Column: what, Value: second.Text, Choice: im.rowChoice(first.spot, second.spot),
		Text: fmt.Sprintf("two rows of %s disagree on its %s: %q in %s, %q in %s; correct one of them, leave one out, or keep both as two birds", b.id, what, first.Text, first.spot, second.Text, second.spot) + hiddenOf(first.t, second.t)})
}

// hiddenOf says of two sheets if one is hidden.
func hiddenOf(a, b *table) string {
	for _, t := range []*table{a, b} {
		if t != nil && t.Hidden && !(a.Hidden && b.Hidden) {
			return fmt.Sprintf("; sheet %q is hidden in the workbook and may be an old copy", t.Name)
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
func (im *importer) fillDate(b *bird, into *date, w written, what column, precision string) {
	if w.Kind == sheets.Blank {
		return
	}
	d, ok := im.readDate(w.Cell)
	if !ok || d.after && !d.known() {
		b.note(what.String() + ": " + w.Text)
		text := fmt.Sprintf("the %s of %s, %q, cannot be read as a date: it goes to the notes", plainName(what), b.id, w.Text)
		if month, is := im.monthAlone(w.Text); is {
			text = fmt.Sprintf("the %s of %s, %q, is a day that its month does not have: it goes to the notes, and the date is blank; write the right day or, if the month is sure, %s", plainName(what), b.id, w.Text, month.text)
		}
		im.likely(Decision{Code: "unreadable_date", Sheet: w.t.Name, Line: w.line, Column: what.String(), Value: w.Text, Taken: "blank", Text: text})
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
		b.note(what.String() + ": " + w.Text)
	}
	im.takeDate(b, into, d.in(w.spot), what)
}

// takeDate is fillDate of a date that was read.
func (im *importer) takeDate(b *bird, into *date, d date, what column) {
	disagree := func(what string) {
		im.conflict(b, what, written{sheets.TextCell(into.text), into.at}, written{sheets.TextCell(d.text), d.at})
	}
	switch {
	case !into.known():
		*into = d
	case into.first <= d.last && d.first <= into.last:
		if d.last-d.first < into.last-into.first || d.last-d.first == into.last-into.first && into.mark != "" && d.mark == "" {
			*into = d
		}
	case what == colDeath:
		disagree("day of death")
	case what == colHatch && into.mark == "" && d.mark == "" && (d.first-into.last > yearsApart || into.first-d.last > yearsApart):
		disagree("day of hatching") // two birds as likely as one
	default:
		b.note(plainName(what) + " also " + d.text)
		im.likely(Decision{Code: "rows_differ", Sheet: d.at.t.Name, Line: d.at.line, Column: what.String(), Value: d.text, Taken: into.text,
			Text: fmt.Sprintf("two rows of %s differ in their %s: %s is taken, %s (%s) goes to the notes", b.id, plainName(what), into.text, d.text, d.at)})
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
		im.likely(Decision{Code: "unknown_origin", Sheet: at.t.Name, Line: at.line, Column: "origin", Value: s, Taken: "blank",
			Text: fmt.Sprintf("origin %q is neither wild nor captive: it goes to the notes", s)})
	}
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
