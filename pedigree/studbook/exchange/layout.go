package exchange

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

// tableKind is what the rows of a sheet are.
type tableKind byte

const (
	otherRows tableKind = iota
	birdRows
	nestRows
	groupRows
	eventRows
	ownRows // a file of a colony folder as it stands, but for the studbook
)

// SheetLeftOut is what a sheet was read as of which nothing was.
const SheetLeftOut = "left out"

var tableKindNames = [...]string{SheetLeftOut, "birds", "nests", "groups", "events", "a file of the folder"}

// table is a sheet whose header was found and whose columns are named.
type table struct {
	*sheet
	kind tableKind
	fate fate         // what the sheet's name says became of its birds: died, left or departed
	sex  studbook.Sex // what it says that they are; 0 if nothing

	head     []string // the headings, of two rows where two belong together
	headKeys []string // each as key has it
	headLine int
	col      [columnCount]int // place of each column of ours, -1 if it has none
	how      []string         // how each heading was matched, "" if it was not
	ours     []column
	extra    []int // the columns that nothing claims

	body     []sheets.Row // the rows beneath the header that may be birds
	chicks   []int        // of a sheet of pairs, the columns with the ids of their chicks
	unpaired int          // rows of clutches that are left out, for their pair is none
	explicit [columnCount]bool
	aside    [columnCount]bool // columns whose cells are not what they are named as; see setAside
	order    string            // of dates, if a heading gives it
	orderBy  string
	mine     bool              // its headings are those of our own studbook.csv
	own      string            // the file of the folder that the sheet is
	enclosed string            // the place whose enclosures the locations are, "" if they are places
	positive bool              // the status column asks "alive?"
	marks    byte              // whether it has yes and blanks alone: 1 no, 2 yes, 0 not looked at
	years    int               // the column of the year that a row lists its bird for, -1 if it has none
	goneBy   fate              // what the heading of the departures says became of the birds, as "sold on"
	logical  [columnCount]byte // whether a column has t and f alone: 1 no, 2 yes, 0 not looked at
}

// get returns a cell of a row by our name of its column.
func (t *table) get(r sheets.Row, c column) sheets.Cell {
	if t.aside[c] {
		return sheets.Cell{}
	}
	return r.At(t.col[c])
}

func (t *table) has(c column) bool { return t.col[c] >= 0 }

// setAside has a column read as blank from here on, in which so many cells are not what
// it is named as, if those are more than anybody is told of. The import stopped for it as
// a whole: what each cell would be taken for is of no use before it is decided what they
// are.
func (t *table) setAside(c column, unlike int) { t.aside[c] = unlike > mostStops }

// searched is how many rows at the top of a sheet the header is looked for in.
const searched = 40

// layout finds the header of a sheet and what its rows are.
func (im *importer) layout(s *sheet) *table {
	t := &table{sheet: s, years: -1}
	if s.fixed == nil && len(im.src.sheets) > 1 {
		t.fate, t.sex = fateOfSheet(s.Name), sexOfSheet(s.Name)
	}
	for c := range t.col {
		t.col[c] = -1
	}
	if s.fixed != nil {
		t.head, t.how, t.ours = s.fixed, make([]string, len(s.fixed)), make([]column, len(s.fixed))
		t.kind = birdRows
		for j, name := range s.fixed {
			if c, ok := columnNamed(name); ok {
				t.col[c], t.ours[j], t.how[j], t.explicit[c] = j, c, "by the format", true
				if c == colFemale {
					t.kind = nestRows
				}
			} else {
				t.extra = append(t.extra, j)
			}
		}
		t.body = s.Rows
		return t
	}
	if own := ownFile(s); own != "" {
		t.kind, t.own = ownRows, own
		t.head, t.headLine, t.body = texts(s.Rows[0].Cells), s.Rows[0].Line, s.Rows[1:]
		t.how, t.ours = make([]string, len(t.head)), make([]column, len(t.head))
		return t
	}
	mapped := im.mapped(s)
	if c := im.asCard(s, mapped); c != nil {
		s.Rows, s.Wide = c, nil
	}
	best, bestScore, double := -1, 0, false
	for i := range min(len(s.Rows), searched) {
		head := s.heading(i, false)
		if score := im.score(head, mapped); score > bestScore {
			best, bestScore, double = i, score, false
		}
		if i+1 < len(s.Rows) && s.belong(i) {
			if score := im.score(s.heading(i, true), mapped); score > bestScore && score > im.score(s.heading(i+1, false), mapped) {
				best, bestScore, double = i, score, true
			}
		}
	}
	if best < 0 {
		return t
	}
	t.head = s.heading(best, double)
	t.headLine = s.Rows[best].Line
	t.kind = im.kindOf(t.head, mapped, t.fate == died)
	first := best + 1
	if double {
		first++
	}
	pair := im.pairColumn(t.head, s.Rows[first:], mapped)
	if pair >= 0 {
		t.kind = nestRows
	}
	if t.kind == otherRows {
		return t
	}
	for _, r := range s.Rows[:best] {
		if im.counts(t, 1) > 0 {
			im.leave(t, r, "above the header")
		}
	}
	t.body = s.Rows[first:]
	if t.kind == birdRows {
		im.joinDates(t, mapped)
	}
	im.claim(t, mapped, pair)
	t.mine = !slices.ContainsFunc(studbook.Header[studbook.Bird](), func(h string) bool {
		return (h == "id" || h == "sex" || h == "sire" || h == "dam" || h == "death_date") && !slices.Contains(t.head, h)
	})
	return t
}

// ownFile returns the file of a colony folder that a sheet is by its name and
// its headings, "" if it is none.
func ownFile(s *sheet) string {
	if len(s.Rows) == 0 {
		return ""
	}
	head := texts(s.Rows[0].Cells)
	for _, f := range studbook.Files() {
		if f.Name == "studbook.csv" || key(s.Name) != key(strings.TrimSuffix(f.Name, ".csv")) {
			continue
		}
		if !slices.ContainsFunc(f.Columns, func(c studbook.Column) bool { return c.Needed && !slices.Contains(head, c.Name) }) {
			return f.Name
		}
	}
	return ""
}

func texts(cells []sheets.Cell) []string {
	out := make([]string, len(cells))
	for j, c := range cells {
		out[j] = c.Text
	}
	return out
}

// heading returns the headings that a row gives, or two rows together.
func (s *sheet) heading(i int, double bool) []string {
	top := s.Rows[i]
	width := len(top.Cells)
	var under sheets.Row
	if double {
		under = s.Rows[i+1]
		width = max(width, len(under.Cells))
	}
	head := make([]string, width)
	for j := range head {
		a, b := top.At(j).Text, under.At(j).Text
		if a != "" && j > 0 && !double && s.Covers(top.Line, j) && top.At(j-1).Text == a {
			continue // a heading drawn over several columns is that of the first
		}
		head[j] = a
		if b == "" || a == b {
			continue
		}
		over := a
		if over == "" { // text tables have the upper heading over the first alone
			for k := j - 1; k >= 0 && over == ""; k-- {
				if k < len(under.Cells) && under.Cells[k].Kind == sheets.Blank {
					break
				}
				over = top.At(k).Text
			}
		}
		head[j] = joinHeads(over, b)
	}
	return head
}

// joinHeads names a column under two headings: by both if that is a name, else
// by the lower one.
func joinHeads(upper, lower string) string {
	for _, both := range []string{upper + " " + lower, lower + " " + upper} {
		if k := headKey(both); upper != "" && (birdNames().columns[k] != unclaimed || birdNames().weak[k] != unclaimed) {
			return both
		}
	}
	if birdNames().find(upper, false) == colParents && ofPairs(lower) {
		return upper + ": " + lower
	}
	if birdNames().find(lower, false) != unclaimed || birdNames().find(lower, true) != unclaimed || nestNames().find(lower, false) != unclaimed || upper == "" {
		return lower
	}
	return upper + " " + lower
}

// belong reports whether the row beneath another is its second header row: it
// has something only where the heads are empty or drawn over several columns.
func (s *sheet) belong(i int) bool {
	top, under := s.Rows[i], s.Rows[i+1]
	if under.Line != top.Line+1 {
		return false
	}
	fills := false
	for j := range under.Cells {
		a, b := top.At(j).Text, under.Cells[j].Text
		if b == "" || a == b {
			continue
		}
		spread := s.Covers(top.Line, j) || j+1 < len(under.Cells) && top.At(j+1).Text == "" && under.At(j+1).Text != ""
		if a != "" && !spread {
			return false
		}
		fills = true
	}
	return fills
}

// mapped returns the columns that the user named for a sheet: heading -> ours.
func (im *importer) mapped(s *sheet) map[string]column {
	m := make(map[string]column)
	for _, from := range []map[string]string{im.opt.Mapping.Columns, im.opt.Mapping.SheetColumns[s.Name]} {
		for _, ours := range slices.Sorted(maps.Keys(from)) {
			if c, ok := columnNamed(ours); ok {
				for k, other := range m {
					if other == c {
						delete(m, k)
					}
				}
				m[strings.TrimSpace(from[ours])] = c
			}
		}
	}
	return m
}

// mappedTo returns what the user says of a heading.
func mappedTo(mapped map[string]column, heading string) column {
	if c, ok := mapped[strings.TrimSpace(heading)]; ok {
		return c
	}
	for _, theirs := range slices.Sorted(maps.Keys(mapped)) {
		if k := key(theirs); k != "" && k == key(heading) {
			return mapped[theirs]
		}
	}
	return unclaimed
}

// known returns what a heading means in a dictionary, on the user's word, by
// itself, or by what a description calls it.
func (im *importer) known(d *dictionary, heading string, mapped map[string]column, weak bool) column {
	if heading == "" {
		return unclaimed
	}
	if c := mappedTo(mapped, heading); c != unclaimed || im.opt.Mapping.carried(heading) {
		return c
	}
	if c := d.find(heading, weak); c != unclaimed {
		return c
	}
	if alias := im.src.fields[heading].alias; alias != "" {
		return d.find(alias, weak)
	}
	if !weak {
		return unclaimed
	}
	if d == birdNames() {
		if c := happened(heading); c != unclaimed {
			return c
		}
	}
	return d.likely(heading)
}

// happened returns the column of dates that a heading is which is a word of
// what happens to birds, as "sold" or "nasceu".
func happened(heading string) column {
	heading = headKey(heading)
	switch f, _ := fateWords().whole(heading); f {
	case died:
		return colDeath
	case left, departed:
		return colDepartureDate
	}
	switch e, _ := eventWords().whole(heading); e {
	case eventHatched:
		return colHatch
	case eventArrived:
		return colArrivalDate
	case eventDied:
		return colDeath
	}
	return unclaimed
}

// score counts the column names that a row has; of two rows with as many, the one
// with more that are certain has the higher score.
func (im *importer) score(head []string, mapped map[string]column) int {
	const one = 1 << 10 // more than a row has columns
	best := 0
	for _, d := range []*dictionary{birdNames(), nestNames(), groupNames(), eventNames()} {
		var seen [columnCount]bool
		n := 0
		for _, h := range head {
			c, certain := im.known(d, h, mapped, false), 1
			if c == unclaimed {
				c, certain = im.known(d, h, mapped, true), 0
			}
			if c != unclaimed && !seen[c] {
				seen[c] = true
				n += one + certain
			}
		}
		best = max(best, n)
	}
	return best
}

// kindOf tells by its header what the rows of a sheet are; dead, that its name
// is of the dead, so that a list of them needs no more than their ids.
func (im *importer) kindOf(head []string, mapped map[string]column, dead bool) tableKind {
	strong := im.namesIDs(head, mapped)
	has := func(d *dictionary) (set [columnCount]bool, n int) {
		for _, h := range head {
			for _, weak := range []bool{false, true} {
				if c := im.known(d, h, mapped, weak); c != unclaimed && !(weak && d == birdNames() && !strong && ofPairs(h)) {
					if !set[c] {
						n++
					}
					set[c] = true
					break
				}
			}
		}
		return set, n
	}
	birds, nBirds := has(birdNames())
	events, _ := has(eventNames())
	nests, _ := has(nestNames())
	groups, _ := has(groupNames())
	named := birds[colID] || birds[colBand]
	descent := birds[colSire] || birds[colDam] || birds[colParents]
	switch {
	case events[colEvent] && events[colEventDate] && (events[colID] || named):
		return eventRows
	case groups[colGroup] && (groups[colMales] || groups[colFemales]) && !strong && !descent:
		return groupRows
	case nests[colFemale] && nests[colMale] && !strong && !(birds[colSex] && descent) && (nests[colNest] || nests[colSince] || nests[colUntil] || nests[colLaid] || nests[colEggs] || nests[colSeason] && !birds[colSex] && !birds[colHatch] && !birds[colName]):
		return nestRows
	case named && nBirds >= 3 && (descent || birds[colSex] || birds[colHatch] || birds[colDeath] || birds[colStatus] || birds[colDepartureDate]),
		named && descent,
		named && nBirds >= 2 && birds[colDeath],
		named && dead,
		(birds[colSex] || birds[colHatch]) && descent,
		im.unnamed && nBirds >= 3 && (descent || birds[colSex] || birds[colHatch] || birds[colDeath]):
		return birdRows
	}
	return otherRows
}

// namesIDs reports whether a heading says for certain that birds stand beneath it, as one of
// chicks does beside their sex.
func (im *importer) namesIDs(head []string, mapped map[string]column) bool {
	named := func(of func(heading string, c column) bool) bool {
		return slices.ContainsFunc(head, func(h string) bool { return of(h, im.known(birdNames(), h, mapped, false)) })
	}
	return named(func(_ string, c column) bool { return c == colID || c == colBand }) ||
		named(func(h string, _ column) bool { return chickNames()[headKey(h)] }) && named(func(_ string, c column) bool { return c == colSex })
}

// ofPairs reports whether a heading is one of the two birds of a pair. Beside the ids
// of birds those are their parents; in any other list they are who the row is about.
func ofPairs(heading string) bool {
	c := nestNames().find(heading, false)
	return c == colMale || c == colFemale
}

// dictionaryOf returns the headings of a kind of table.
func dictionaryOf(k tableKind) *dictionary {
	switch k {
	case nestRows:
		return nestNames()
	case groupRows:
		return groupNames()
	case eventRows:
		return eventNames()
	}
	return birdNames()
}

// claim names the columns of a table; pair is the place of the one that names both birds of a
// pair, -1 if none does.
func (im *importer) claim(t *table, mapped map[string]column, pair int) {
	d := dictionaryOf(t.kind)
	width := len(t.head)
	for _, r := range t.body {
		width = max(width, len(r.Cells))
	}
	t.head = append(t.head, make([]string, width-len(t.head))...)
	t.how, t.ours = make([]string, width), make([]column, width)
	for _, h := range t.head {
		t.headKeys = append(t.headKeys, key(h))
	}
	for j, h := range t.head {
		if c := mappedTo(mapped, h); h != "" && c != unclaimed && !t.has(c) {
			t.claimed(j, c, "as you said")
			t.explicit[c] = true
		}
	}
	if pair >= 0 && !t.has(colPair) {
		t.claimed(pair, colPair, "by name and content: its cells name two birds")
	}
	plainDate := func(c column, how string) { // a plain "date", where no other heading is of that one
		if slices.ContainsFunc(t.head, func(h string) bool { return im.known(d, h, mapped, false) == c }) {
			return
		}
		for j, h := range t.head {
			if t.ours[j] == unclaimed && !t.has(c) && eventNames().find(h, false) == colEventDate && d.find(h, false) == unclaimed {
				t.claimed(j, c, how)
			}
		}
	}
	switch {
	case t.has(colPair):
		plainDate(colLaid, "by name, in a sheet of clutches")
	case t.fate == died:
		plainDate(colDeath, "by name, in a sheet of the dead")
	}
	im.claimByName(t, d, im.namesIDs(t.head, mapped))
	for j, h := range t.head {
		if t.ours[j] != unclaimed {
			if o := headingOrder(h); o != "" && isDateColumn(t.ours[j]) {
				t.order, t.orderBy = o, h
			}
		} else if h != "" || !t.empty(j) {
			t.extra = append(t.extra, j)
		}
	}
	if j := t.col[colDepartureDate]; j >= 0 && d.find(t.head[j], false) == unclaimed {
		f, _ := fateWords().whole(headKey(t.head[j]))
		if m, said := im.saidWord("fate", t.head[j]); said {
			f = fateNamed(m)
		}
		if f == died || f == left || f == moved {
			t.goneBy = f
		}
	}
	if j := t.col[colStatus]; j >= 0 {
		t.positive = asksPresence(t.head[j])
	}
}

// claimed names a column.
func (t *table) claimed(j int, c column, how string) { t.col[c], t.ours[j], t.how[j] = j, c, how }

// empty reports whether nothing stands in a column.
func (t *table) empty(j int) bool {
	return !slices.ContainsFunc(t.body, func(r sheets.Row) bool { return r.At(j).Kind != sheets.Blank })
}

// onlyOnce are the columns of birds of which no second one is passed over.
var onlyOnce = []column{colID, colSire, colDam, colParents}

// claimByName names the columns whose headings a dictionary has, first those that it is
// certain of; strong, that one names the ids of birds. It stops where two could be one that
// must not be mistaken.
func (im *importer) claimByName(t *table, d *dictionary, strong bool) {
	twice := make(map[column][]string)
	for _, weak := range []bool{false, true} {
		for j, h := range t.head {
			c := unclaimed
			if t.ours[j] == unclaimed && h != "" {
				c = im.known(d, h, nil, weak)
			}
			switch {
			case c == unclaimed || t.explicit[c]:
			case weak && !strong && ofPairs(h) && t.kind == birdRows:
			case t.has(c) && t.empty(j):
			case t.has(c) && t.empty(t.col[c]) && len(t.body) > 0:
				t.ours[t.col[c]], t.how[t.col[c]] = unclaimed, ""
				t.claimed(j, c, "by name")
			case !t.has(c):
				how := "by name"
				if weak {
					how = weakly
				} else if d.columns[headKey(h)] == unclaimed {
					how = "by the parts of its name"
				}
				t.claimed(j, c, how)
			case weak:
			case slices.Contains(onlyOnce, c) && t.kind == birdRows:
				if len(twice[c]) == 0 {
					twice[c] = []string{t.head[t.col[c]]}
				}
				twice[c] = append(twice[c], h)
			default:
				im.likely(Decision{Code: "second_column", Sheet: t.Name, Line: t.headLine, Column: c.String(), Value: h, Taken: t.head[t.col[c]], Choice: t.columnChoice(c, t.head[t.col[c]], t.head[t.col[c]], h),
					Text: fmt.Sprintf("two columns are %s: %q and %q; the first is taken, the second carried over", c, t.head[t.col[c]], h)})
			}
		}
	}
	for _, c := range slices.Sorted(maps.Keys(twice)) {
		if im.sameCells(t, twice[c]) {
			continue
		}
		quoted := make([]string, len(twice[c]))
		for i, h := range twice[c] {
			quoted[i] = strconv.Quote(h)
		}
		im.stop(Decision{Code: "column_twice", Sheet: t.Name, Line: t.headLine, Column: c.String(), Value: strings.Join(twice[c], " / "), Choice: t.columnChoice(c, "", twice[c]...),
			Text: fmt.Sprintf("columns %s could all be %s", strings.Join(quoted, ", "), c)})
	}
}

// asksPresence reports whether a heading asks if a bird is alive or there, so that a yes says
// that it is.
func asksPresence(heading string) bool {
	k := key(heading)
	return k == "envie" || k == "living" || k == "levend" || slices.ContainsFunc([]string{"alive", "isalive", "leb", "viv", "leef", "present", "still", "incolle", "onsite", "here", "anwesend", "vorhanden", "noch", "encorep", "encolecc", "nacolec", "aanwezig", "nogaanwezig"}, func(stem string) bool { return strings.HasPrefix(k, stem) })
}

// sameCells reports whether columns with these headings say the same in every
// row.
func (im *importer) sameCells(t *table, heads []string) bool {
	var places []int
	for j, h := range t.head {
		if slices.Contains(heads, h) {
			places = append(places, j)
		}
	}
	for _, r := range t.body {
		for _, j := range places[1:] {
			if r.At(j).Text != r.At(places[0]).Text {
				return false
			}
		}
	}
	return true
}

// headingOrder returns the order of dates that a heading gives, as in
// "Hatched (dd/mm/yyyy)".
func headingOrder(h string) string {
	if i := strings.IndexAny(h, "(["); i >= 0 {
		return patterns[key(h[i:])]
	}
	return ""
}

func isDateColumn(c column) bool {
	switch c {
	case colHatch, colDeath, colStatusDate, colDepartureDate, colArrivalDate, colEventDate, colSince, colUntil, colLaid:
		return true
	}
	return false
}

// fateOfSheet returns what the name of a sheet says became of its birds.
func fateOfSheet(name string) fate {
	for _, w := range tokens(name) {
		if f := fateSheets()[w]; f != noFate {
			return f
		}
	}
	return noFate
}

// sexOfSheet returns the sex that the name of a sheet says its birds are, 0 if
// it names none or both.
func sexOfSheet(name string) studbook.Sex {
	sex := studbook.Sex(0)
	for _, w := range tokens(name) {
		s, ok := sexWords().meaning[w]
		if !ok || s == studbook.Unsexed || len(w) < 3 {
			continue
		}
		if sex != 0 && s != sex {
			return 0
		}
		sex = s
	}
	return sex
}
