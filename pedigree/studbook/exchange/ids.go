package exchange

import (
	"fmt"
	"iter"
	"maps"
	"slices"
	"strconv"
	"strings"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

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
					if k := key(r.At(j).Text); k != "" {
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
		im.likely(Decision{Code: "bands_are_ids", Sheet: t.Name, Line: t.headLine, Column: "id", Value: t.head[best], Taken: "id", Choice: im.idChoice(t, best, old),
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
				k := key(r.At(j).Text)
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
		im.likely(Decision{Code: "ids_by_parents", Sheet: t.Name, Line: t.headLine, Column: "id", Value: t.head[found], Taken: "id",
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
				x := t.get(r, c).Text
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
				if id := t.get(r, colID).Text; t.kind == birdRows && id != "" {
					im.looks[studbook.PlainID(id)] = true
				}
			}
		}
	}
	return im.looks[studbook.PlainID(s)]
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
			if c.Kind == sheets.Blank || c.Kind == sheets.Day {
				continue
			}
			if strings.Trim(c.Text, "0123456789") != "" {
				return
			}
			if c.Kind == sheets.Number && c.Plain() || im.src.format == "csv" && c.Text[0] != '0' {
				continue
			}
			if length == 0 {
				length = len(c.Text)
			}
			if len(c.Text) != length {
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
			if c.Kind == sheets.Blank {
				continue
			}
			if len(c.Text) > length {
				return
			}
			k := filled(c.Text, length)
			if other, there := first[k]; there && other.Text != c.Text && im.twoBirds(other.spot, spot{t, r.Line}) {
				return
			}
			first[k] = written{c, spot{t, r.Line}}
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
	find := func(s spot) sheets.Row {
		i, _ := slices.BinarySearchFunc(s.t.body, s.line, func(r sheets.Row, l int) int { return r.Line - l })
		return s.t.body[i]
	}
	ra, rb := find(a), find(b)
	for _, c := range []column{colHatch, colSire, colDam, colSex, colName} {
		x, y := a.t.get(ra, c).Text, b.t.get(rb, c).Text
		if x != "" && y != "" && x != y {
			return true
		}
	}
	return false
}

// idText returns a cell that names a bird as the text of its id.
func (im *importer) idText(c sheets.Cell) string {
	s := c.Text
	if c.Kind == sheets.Number && c.Plain() || c.Kind == sheets.Words {
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
		im.stop(Decision{Code: "alike_ids", Sheet: b.at.t.Name, Line: b.at.line, Column: "id", Value: b.id, Choice: wordChoice("id", b.id, "", a.id, b.id),
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
				if i := strings.IndexByte(c.Text, '.'); i >= 0 && c.Kind == sheets.Words && !strings.HasSuffix(c.Text, ".0") {
					im.pointed = 2
				}
			}
		}
	}
	return im.pointed == 2
}

// yearlyIDs tells birds apart whose number begins again each year, where parents are
// written with the year, as 12/2019, and so prove it. What they are called by is then
// the number with the year.
func (im *importer) yearlyIDs() {
	if !im.oftenCited(func(s string) bool { return numberYear().MatchString(s) || yearNumber().MatchString(s) }) {
		return
	}
	rows, again := im.numbered()
	if !again {
		return
	}
	var cited []citing
	all := 0
	for x := range im.eachParent(func(*table, column) bool { return true }) {
		all++
		if as, ok := rows.cited(x.Text); ok {
			cited = append(cited, citing{x, as})
		}
	}
	if len(cited)*2 < all || all == 0 {
		return // nothing proves it; rows that disagree stop
	}
	for _, c := range cited {
		*c.c = sheets.TextCell(c.as)
	}
	var first *numberedRow
	for _, id := range slices.Sorted(maps.Keys(rows)) {
		for _, x := range rows[id] {
			if x.year > 0 {
				x.r.Cells[x.t.col[colID]] = sheets.TextCell(id + "/" + strconv.Itoa(x.year))
				if first == nil || x.r.Line < first.r.Line {
					first = &x
				}
			}
		}
	}
	im.looks = nil
	heading, example := first.t.head[first.t.col[colID]], first.t.get(*first.r, colID).Text
	im.likely(Decision{Code: "ids_by_year", Sheet: first.t.Name, Line: first.r.Line, Column: "id", Value: heading, Taken: example,
		Text: fmt.Sprintf("the numbers in column %q begin again each year, and parents are written with the year: birds are called by both, as %s", heading, example)})
}

// citing is the cell of a parent, and the id that it means.
type citing struct {
	c  *sheets.Cell
	as string
}

// eachParent passes over the parents and mates that the cells of some columns name.
func (im *importer) eachParent(of func(*table, column) bool) iter.Seq2[*sheets.Cell, spot] {
	return func(yield func(*sheets.Cell, spot) bool) {
		for _, t := range im.tables {
			for _, c := range []column{colSire, colDam, colFemale, colMale} {
				if !t.has(c) || !of(t, c) {
					continue
				}
				for _, r := range t.body {
					if x := t.get(r, c); x.Kind != sheets.Blank && !isNobody(x.Text) && !yield(&r.Cells[t.col[c]], spot{t, r.Line}) {
						return
					}
				}
			}
		}
	}
}

// numberedRow is a bird whose id may be a number of its year; the year is 0 if it is not known.
type numberedRow struct {
	t    *table
	r    *sheets.Row
	year int
}

// numberedRows are birds by their number, without zeros in front.
type numberedRows map[string][]numberedRow

// numbered returns the birds of tables that say when they hatched by their numbers, and
// whether one number is of several years.
func (im *importer) numbered() (rows numberedRows, again bool) {
	rows = make(numberedRows)
	for _, t := range im.tables {
		if t.kind != birdRows || t.fixed != nil || !t.has(colID) {
			continue
		}
		years := im.yearColumn(t)
		if years < 0 && !t.has(colHatch) {
			continue
		}
		for k := range t.body {
			r := &t.body[k]
			id := strings.TrimLeft(im.idText(t.get(*r, colID)), "0")
			if id == "" {
				continue
			}
			y := im.yearOf(t, *r, years)
			for _, other := range rows[id] {
				again = again || other.year != y && y > 0 && other.year > 0
			}
			rows[id] = append(rows[id], numberedRow{t, r, y})
		}
	}
	return rows, again
}

// cited returns the number with its year of the bird that a parent's cell names so, in
// either order.
func (rows numberedRows) cited(s string) (id string, ok bool) {
	of := func(s string) []numberedRow { return rows[strings.TrimLeft(s, "0")] }
	for _, m := range [][]string{numberYear().FindStringSubmatch(s), yearNumber().FindStringSubmatch(s)} {
		if m == nil {
			continue
		}
		number, year := m[1], m[3]
		if of(m[1]) == nil && (of(m[3]) != nil || yearOnly().MatchString(m[1])) {
			number, year = m[3], m[1]
		}
		for _, x := range of(number) {
			if x.year > 0 && (strconv.Itoa(x.year) == year || len(year) == 2 && x.year%100 == number2(year)) {
				return strings.TrimLeft(number, "0") + "/" + strconv.Itoa(x.year), true
			}
		}
	}
	return "", false
}

// oftenCited reports whether half of the first parents of the file are written in a
// way.
func (im *importer) oftenCited(so func(string) bool) bool {
	const enough = 200 // parents tell how they are written
	all, hits := 0, 0
	for x := range im.eachParent(func(t *table, _ column) bool { return t.fixed == nil }) {
		if all == enough {
			break
		}
		if all++; so(x.Text) {
			hits++
		}
	}
	return hits > 0 && hits*2 >= all
}

var (
	numberYear = pattern(`^([0-9]+)( ?[-/. ] ?)([0-9]{4}|[0-9]{2})$`)
	yearNumber = pattern(`^([0-9]{4}|[0-9]{2})( ?[-/. ] ?)([0-9]+)$`)
)

// shortIDs finds parents that are written with the end of a ring's number alone, as
// 034 for CZ 2019 034, where most are and one bird's id has that end.
func (im *importer) shortIDs() {
	if !im.oftenCited(func(s string) bool {
		return strings.Trim(s, "# 0123456789") == "" && len(s) > 1 && !im.looksLikeID(s)
	}) {
		return
	}
	ends := make(map[string]string) // number at the end, without zeros in front -> id; "" where several
	known := make(map[string]bool)
	for _, t := range im.tables {
		if t.kind != birdRows || t.fixed != nil {
			continue
		}
		for _, r := range t.body {
			for _, c := range []column{colName, colBand, colOtherIDs} {
				if x := t.get(r, c).Text; x != "" {
					known[key(x)] = true
				}
			}
			id := im.idText(t.get(r, colID))
			rest := strings.TrimRight(id, "0123456789")
			end := strings.TrimLeft(id[len(rest):], "0")
			if rest == "" || end == "" {
				continue
			}
			if other, there := ends[end]; there && other != id {
				id = ""
			}
			ends[end] = id
		}
	}
	var cited []citing
	var at []spot
	others := 0
	for x, where := range im.eachParent(func(t *table, c column) bool {
		return (t.kind == birdRows || t.kind == nestRows) && t.fixed == nil && !t.explicit[c]
	}) {
		if im.saidNobody(x.Text) != 0 {
			continue
		}
		id := ends[strings.TrimLeft(x.Text, "# 0")]
		if id == "" || im.looksLikeID(x.Text) || known[key(x.Text)] || len(strings.TrimLeft(x.Text, "# ")) < 2 {
			others++
			continue
		}
		cited, at = append(cited, citing{x, id}), append(at, where)
	}
	if len(cited) < 3 || len(cited) < others {
		return
	}
	for k, c := range cited {
		was := c.c.Text
		*c.c = sheets.TextCell(c.as)
		im.likely(Decision{Code: "id_by_its_end", Sheet: at[k].t.Name, Line: at[k].line, Taken: "the one id with that end",
			Text: fmt.Sprintf("parents are written with the end of an id alone, as %q for %s", was, c.as)})
	}
}

// yearOf returns the year in which a bird hatched, 0 if it is not known.
func (im *importer) yearOf(t *table, r sheets.Row, years int) int {
	if x := r.At(years); x.Kind != sheets.Blank {
		return number2(x.Text)
	}
	if d, ok := im.readDate(t.get(r, colHatch)); ok && d.known() {
		if y := d.first.Time().Year(); y == d.last.Time().Year() {
			return y
		}
	}
	return 0
}
