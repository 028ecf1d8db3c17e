package exchange

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

// Keepers save themselves writing: a mark for what stands above, a date in three cells, two
// lists side by side. Here such tables are written out in full, before their rows are read.

// unfold writes out what tables say by where it stands.
func (im *importer) unfold() {
	for _, t := range im.tables {
		if t.fixed == nil && t.kind != ownRows {
			im.dittos(t)
		}
		if t.fixed == nil && t.kind == birdRows {
			im.sexMarks(t)
			im.daysOfYear(t)
			im.sectionPairs(t)
			im.sectionWords(t)
		}
	}
	for _, t := range im.tables {
		if t.kind == nestRows {
			t.chicks = im.chickColumns(t)
		}
	}
}

// dateParts are headings of columns that have a day, a month or a year alone.
var dateParts = map[byte]func() map[string]bool{
	'd': wordSet("d|day|tag|t|jour|j|día|dia|giorno|g|dag"),
	'm': wordSet("m|month|monat|mois|mes|mês|mese|maand"),
	'y': wordSet("y|year|jahr|j|année|an|a|año|ano|anno|jaar"),
}

// joinDates makes one column of a day, a month and a year that stand in three, beside each
// other. Without a word over them it is the hatch date, unless there is one.
func (im *importer) joinDates(t *table, mapped map[string]column) {
	for j := 0; j+3 <= len(t.head); j++ {
		for _, order := range orders {
			if what, ok := im.dateOfParts(t, j, order, mapped); ok {
				im.joinDate(t, j, order, what)
				break
			}
		}
	}
}

// dateOfParts reports whether three columns from the j-th on are the parts of a date in an
// order, and what heading they have together.
func (im *importer) dateOfParts(t *table, j int, order string, mapped map[string]column) (what string, ok bool) {
	const longest = 4 // digits of a year
	for k := range 3 {
		h := t.head[j+k]
		run := strings.FieldsFunc(h, func(c rune) bool { return !unicode.IsLetter(c) })
		if len(run) == 0 || !dateParts[order[k]]()[key(run[len(run)-1])] || mappedTo(mapped, h) != unclaimed {
			return "", false
		}
		over := strings.Join(run[:len(run)-1], " ")
		if what != "" && over != "" && over != what {
			return "", false
		}
		what = cmp.Or(what, over)
		for _, r := range t.body {
			if x := r.At(j + k).Text; len(x) > longest && r.Used() > 2 {
				return "", false
			}
		}
	}
	if what == "" {
		what = colHatch.String()
		if slices.ContainsFunc(t.head, func(h string) bool { return im.known(birdNames(), h, mapped, false) == colHatch }) {
			return "", false
		}
	}
	return what, true
}

func (im *importer) joinDate(t *table, j int, order, what string) {
	im.likely(Decision{Code: "dates_joined", Sheet: t.Name, Line: t.headLine, Value: what, Taken: "one date",
		Text: fmt.Sprintf("columns %q, %q and %q are read as one date, %q", t.head[j], t.head[j+1], t.head[j+2], what)})
	t.head[j], t.head[j+1], t.head[j+2] = what, "", ""
	for _, r := range t.body {
		if j >= len(r.Cells) || r.Used() < 2 {
			continue
		}
		part := func(of byte) string { return r.At(j + strings.IndexByte(order, of)).Text }
		text, month := part('y'), number2(part('m'))
		if month >= 1 && month <= 12 && text != "" {
			text = time.Month(month).String() + " " + text
			if d := part('d'); d != "" {
				text = d + " " + text
			}
		} else if text != "" {
			text = strings.Trim(part('d')+" "+part('m')+" "+text, " ")
		}
		for k := j; k < min(j+3, len(r.Cells)); k++ {
			r.Cells[k] = sheets.Cell{}
		}
		r.Cells[j] = sheets.TextCell(text)
	}
}

// daysOfYear writes the year of a column beside them to hatch dates without one, as 12/5.
func (im *importer) daysOfYear(t *table) {
	years := im.yearColumn(t)
	if years < 0 || !t.has(colHatch) {
		return
	}
	all, short := 0, 0
	for _, r := range t.body {
		if x := t.get(r, colHatch); x.Kind == sheets.Words {
			if all++; dayMonth().MatchString(x.Text) {
				short++
			}
		}
	}
	if short*2 <= all {
		return
	}
	for _, r := range t.body {
		if x := t.get(r, colHatch); dayMonth().MatchString(x.Text) && r.At(years).Kind != sheets.Blank {
			sep := strings.Trim(x.Text, "0123456789 ")[:1]
			r.Cells[t.col[colHatch]] = sheets.TextCell(strings.TrimRight(x.Text, sep+" ") + sep + r.At(years).Text)
		}
	}
	im.likely(Decision{Code: "dates_joined", Sheet: t.Name, Line: t.headLine, Column: colHatch.String(), Value: t.head[t.col[colHatch]], Taken: "one date",
		Text: fmt.Sprintf("columns %q and %q are read as one date", t.head[t.col[colHatch]], t.head[years])})
}

var dayMonth = pattern(`^[0-9]{1,2} ?[./-] ?[0-9]{1,2}[./-]?$`)

// addColumn gives a table one more column, that is one of ours.
func (t *table) addColumn(c column, how string) int {
	j := len(t.head)
	t.head, t.headKeys = append(t.head, ""), append(t.headKeys, "")
	t.ours, t.how = append(t.ours, c), append(t.how, how)
	t.col[c] = j
	return j
}

// sexMarks writes out the sexes of birds that are marked in a column headed male or female,
// or in one of each.
func (im *importer) sexMarks(t *table) {
	if t.has(colSex) {
		return
	}
	columns := map[column]int{colMale: -1, colFemale: -1}
	for _, j := range t.extra {
		if c := nestNames().find(strings.TrimRight(t.head[j], "? "), false); c == colMale || c == colFemale {
			columns[c] = j
		}
	}
	male, female := columns[colMale], columns[colFemale]
	if male < 0 && female < 0 {
		return
	}
	sexes := make([]sheets.Cell, len(t.body))
	both := map[string]bool{}
	for k, r := range t.body {
		m, isM := yesNo().whole(r.At(male).Text)
		f, isF := yesNo().whole(r.At(female).Text)
		switch {
		case !isM && r.At(male).Kind != sheets.Blank || !isF && r.At(female).Kind != sheets.Blank:
			return // it says something else
		case m && !f || female < 0 && isM && m || male < 0 && isF && !f:
			sexes[k] = sheets.TextCell(studbook.Male.Word())
		case f && !m || male < 0 && isF && f || female < 0 && isM && !m:
			sexes[k] = sheets.TextCell(studbook.Female.Word())
		}
		both[sexes[k].Text] = true
	}
	if !both[studbook.Male.Word()] && !both[studbook.Female.Word()] {
		return
	}
	j := t.addColumn(colSex, "by the marks for males or females")
	for k := range t.body {
		t.body[k].Set(j, sexes[k])
	}
	im.likely(Decision{Code: "sex_by_marks", Sheet: t.Name, Line: t.headLine, Column: "sex", Value: t.head[max(male, female)], Taken: "sex",
		Text: fmt.Sprintf("the marks in column %q are taken for which sex the birds are", t.head[max(male, female)])})
}

// sideBySide puts tables of birds that stand beside each other in one sheet, with the
// same headings, one beneath the other; where cocks and hens stand apart, what stands
// over each says its sex.
func (im *importer) sideBySide(s *sheet) {
	if s.fixed != nil {
		return
	}
	for i := range min(len(s.Rows), searched) {
		starts, width := blocks(s.Rows[i].Cells)
		if starts == nil {
			continue
		}
		head := s.Rows[i].Cells[starts[0] : starts[0]+width]
		sexes := make([]sheets.Cell, len(starts))
		apart := !slices.ContainsFunc(head, func(c sheets.Cell) bool { return birdNames().find(c.Text, false) == colSex })
		for k, at := range starts {
			for up := i - 1; apart && up >= 0 && sexes[k].Kind == sheets.Blank; up-- {
				for j := at; j < at+width; j++ {
					if x := sexOfSheet(s.Rows[up].At(j).Text); x != 0 {
						sexes[k] = sheets.TextCell(x.Word())
						break
					}
				}
			}
			apart = apart && sexes[k].Kind != sheets.Blank
		}
		line := func(r sheets.Row, cells []sheets.Cell, sex sheets.Cell) sheets.Row {
			r.Cells = slices.Clone(cells)
			if apart {
				for len(r.Cells) < width {
					r.Cells = append(r.Cells, sheets.Cell{})
				}
				r.Cells = append(r.Cells, sex)
			}
			return r
		}
		var rows []sheets.Row
		for k, at := range starts {
			for _, r := range s.Rows[i+1:] {
				if at >= len(r.Cells) {
					continue
				}
				part := line(r, r.Cells[at:min(at+width, len(r.Cells))], sexes[k])
				if len(part.Cells) == 0 || !slices.ContainsFunc(part.Cells[:min(width, len(part.Cells))], func(c sheets.Cell) bool { return c.Kind != sheets.Blank }) {
					continue
				}
				rows = append(rows, part)
			}
		}
		slices.SortStableFunc(rows, func(a, b sheets.Row) int { return a.Line - b.Line })
		im.likely(Decision{Code: "side_by_side", Sheet: s.Name, Line: s.Rows[i].Line, Taken: "one table",
			Text: fmt.Sprintf("%s with the same headings stand side by side in sheet %q: they are read as one", studbook.Counted(len(starts), "table", "tables"), s.Name)})
		s.Rows, s.Wide = slices.Concat(s.Rows[:i], []sheets.Row{line(s.Rows[i], head, sheets.TextCell("sex"))}, rows), nil
		return
	}
}

// stacked parts tables of birds that stand beneath each other in one sheet with headings of
// their own, each into a sheet by what stands over it.
func (im *importer) stacked() {
	var parts []sheet
	for _, s := range im.src.sheets {
		from, title := 0, ""
		var head []string
		cut := func(to int) {
			part := s
			part.of = s.Name
			if part.Rows = s.Rows[from:to]; from > 0 {
				part.Name = fmt.Sprintf("%s (%s)", s.Name, cmp.Or(title, fmt.Sprintf("from line %d", part.Rows[0].Line)))
			}
			parts = append(parts, part)
		}
		for i := range s.Rows {
			if s.fixed != nil || !im.headsTable(&s, i) || head != nil && slices.Equal(head, texts(s.Rows[i].Cells)) {
				continue
			}
			if head != nil {
				cut(i)
				if from, title = i, ""; i > 0 && s.Rows[i-1].Used() == 1 {
					title = s.Rows[i-1].Cells[slices.IndexFunc(s.Rows[i-1].Cells, func(c sheets.Cell) bool { return c.Kind != sheets.Blank })].Text
				}
			}
			head = texts(s.Rows[i].Cells)
		}
		cut(len(s.Rows))
	}
	im.src.sheets = parts
}

// headsTable reports whether a row that begins a sheet, or follows a gap or a title, is the
// heading of a table of birds.
func (im *importer) headsTable(s *sheet, i int) bool {
	const least = 3 // headings that are certain
	r := s.Rows[i]
	if i > 0 && s.Rows[i-1].Line+1 == r.Line && s.Rows[i-1].Used() > 1 {
		return false
	}
	head := s.heading(i, false)
	certain, used := 0, r.Used()
	for _, h := range head {
		if h != "" && im.known(birdNames(), h, nil, false) != unclaimed {
			certain++
		}
	}
	return certain >= least && certain*2 >= used && im.kindOf(head, nil, false) == birdRows
}

// asCard returns the rows of a sheet that has its headings in the first column and a
// bird in each further one, as a card of one bird or a table lying down, with its
// columns as rows; nil for any other sheet.
func (im *importer) asCard(s *sheet, mapped map[string]column) []sheets.Row {
	const most = 60 // lines of a card
	if len(s.Rows) < 4 || len(s.Rows) > most {
		return nil
	}
	for i := range s.Rows {
		if im.known(birdNames(), s.Rows[i].At(1).Text, mapped, false) != unclaimed {
			return nil // headings beside each other
		}
	}
	var head []string
	width, first := 0, -1
	for i, r := range s.Rows {
		text := strings.TrimRight(r.At(0).Text, " :")
		if first < 0 && im.known(birdNames(), text, mapped, false) == unclaimed {
			continue // a title
		}
		if first < 0 {
			first = i
		}
		head = append(head, text)
		width = max(width, len(r.Cells))
	}
	if first < 0 || im.kindOf(head, mapped, false) != birdRows || im.score(head, mapped) <= im.score(s.heading(first, false), mapped) {
		return nil
	}
	column := func(j int) sheets.Row {
		r := sheets.Row{Line: s.Rows[first].Line + j, Cells: make([]sheets.Cell, len(head))}
		for k := range head {
			r.Cells[k] = s.Rows[first+k].At(j)
		}
		return r
	}
	rows := []sheets.Row{column(0)}
	for k, h := range head {
		rows[0].Cells[k] = sheets.TextCell(h)
	}
	for j := 1; j < width; j++ {
		if r := column(j); r.Used() > 0 {
			rows = append(rows, r)
		}
	}
	im.likely(Decision{Code: "headings_down", Sheet: s.Name, Line: s.Rows[first].Line, Taken: "a bird a column",
		Text: "sheets whose headings stand beneath each other in the first column are read as a bird in each column beside them"})
	return rows
}

// blocks finds where the same headings of a table of birds begin again in a row, and
// how many they are; nil if they do not.
func blocks(cells []sheets.Cell) (starts []int, width int) {
	first := slices.IndexFunc(cells, func(c sheets.Cell) bool { return c.Kind != sheets.Blank })
	if first < 0 || len(cells) < 4 {
		return nil, 0
	}
	again := -1
	for j := first + 2; j < len(cells); j++ {
		if cells[j].Kind == sheets.Words && key(cells[j].Text) == key(cells[first].Text) {
			again = j
			break
		}
	}
	if again < 0 {
		return nil, 0
	}
	width = again - first
	for width > 0 && cells[first+width-1].Kind == sheets.Blank {
		width--
	}
	known := 0
	for _, c := range cells[first : first+width] {
		if birdNames().find(c.Text, false) != unclaimed || birdNames().find(c.Text, true) != unclaimed {
			known++
		}
	}
	if known < 2 {
		return nil, 0
	}
	for at := first; at < len(cells); {
		if cells[at].Kind == sheets.Blank {
			at++
			continue
		}
		for k := range width {
			if at+k >= len(cells) || key(cells[at+k].Text) != key(cells[first+k].Text) {
				return nil, 0
			}
		}
		starts = append(starts, at)
		at += width
	}
	return starts, width
}

// dittoWords are words for "as above" of the languages.
var dittoWords = wordSet("ditto|dito|dto|do|same|same as above|as above|idem|id|ídem|siehe oben|s.o.|wie oben|gleichfalls|ebenso|desgleichen|dgl|comme dessus|ci-dessus|même|como arriba|igual|igual que arriba|como acima|mesmo|come sopra|c.s.|stesso|stessa|zie boven|als boven|hetzelfde|idem dito")

// isDitto reports whether a cell says that what stands above it holds here too.
func isDitto(s string) bool {
	const longest = 24
	n := len(s)
	if n == 0 || n > longest || n == 1 && s[0] != '"' || s[n-1] >= '0' && s[n-1] <= '9' || s[0] >= '0' && s[0] <= '9' {
		return false // most cells, without a look into the list
	}
	if k := key(s); k != "" {
		return dittoWords()[k]
	}
	switch strings.ReplaceAll(strings.Trim(s, "- "), " ", "") {
	case `"`, "″", "”", "“", "„", "〃", "''", "´´", "``", "’’", "‘‘", ",,", `""`:
		return true
	}
	return false
}

// dittos puts what stands above in the place of a mark that says so.
func (im *importer) dittos(t *table) {
	var called map[string]bool // what the file calls birds, nests and groups
	for j, c := range t.ours {
		if c == unclaimed || c == colID || c == colName || c == colBand || c == colNotes || c == colOtherIDs {
			continue
		}
		last := [2]string{} // texts that are none: columns that could have many have few
		for k, r := range t.body {
			x := r.At(j)
			if x.Kind != sheets.Words || x.Text == last[0] || x.Text == last[1] {
				continue
			}
			if !isDitto(x.Text) {
				last[k%2] = x.Text
				continue
			}
			if r.Used() < 2 || im.saidNobody(x.Text) != 0 || im.looksLikeID(x.Text) {
				continue
			}
			if k := key(x.Text); k != "" { // "do" may be a place, and Ditto a bird
				if called == nil {
					called = im.calledKeys()
				}
				if called[k] || len(x.Text) <= 3 && !strings.HasSuffix(x.Text, ".") && !isDateColumn(c) && c != colSire && c != colDam && c != colParents {
					continue
				}
			}
			above := k - 1
			for above >= 0 && t.body[above].Used() < 2 {
				above--
			}
			if above < 0 || t.body[above].At(j).Kind == sheets.Blank {
				continue // it repeats nothing
			}
			r.Cells[j] = t.body[above].Cells[j]
			im.likely(Decision{Code: "ditto", Sheet: t.Name, Line: r.Line, Column: c.String(), Value: x.Text, Taken: "the cell above",
				Text: fmt.Sprintf("%q in column %q is a mark for what stands in the row above, and is read so", x.Text, t.head[j])})
		}
	}
}

// needParents stops where nothing in the file says who the parents are, unless the folder
// that it is laid over says it.
func (im *importer) needParents() {
	if im.over != nil {
		return
	}
	kept := []column{colParents} // what names both parents
	for _, t := range im.tables {
		switch t.kind {
		case nestRows:
			kept = append(kept, colNest)
			if t.chicks != nil {
				return
			}
		case groupRows:
			kept = append(kept, colGroup)
		}
	}
	im.need(colSire, kept...)
	im.need(colDam, kept...)
}

// yearlyLists finds the lists in which a bird has a row for every year that it was there.
func (im *importer) yearlyLists() {
	for _, t := range im.tables {
		if t.kind != birdRows || t.fixed != nil || !t.has(colID) {
			continue
		}
		j := im.yearColumn(t)
		if j < 0 {
			continue
		}
		year := make(map[string]string)
		for _, r := range t.body {
			id, y := t.get(r, colID).Text, r.At(j).Text
			if of, there := year[id]; id != "" && y != "" && there && of != y {
				t.years = j
				break
			} else if !there && y != "" {
				year[id] = y
			}
		}
		for _, r := range t.body {
			if t.years >= 0 {
				im.lastList = max(im.lastList, number2(r.At(j).Text))
			}
		}
	}
}

// unlisted stops where nothing but the lists of later years, which are without them, could
// say that birds are gone.
func (im *importer) unlisted() {
	if _, said := im.saidWord("fate", Unlisted); said || im.lastList == 0 {
		return
	}
	var first *bird
	birds := 0
	for _, b := range im.birds {
		if b.fate == alive && b.listed > 0 && b.listed < im.lastList {
			if birds++; birds == 1 {
				first = b
			}
		}
	}
	if birds == 0 {
		return
	}
	im.stop(Decision{Code: "not_in_last_list", Sheet: first.at.t.Name, Line: first.at.line, Column: "status", Value: Unlisted, Choice: wordChoice("fate", Unlisted, "", "died", "left", "alive"),
		Text: fmt.Sprintf("the rows list birds by year up to %d; %s, as %s in %d, stand last in an earlier year, and nothing says what became of them", im.lastList, studbook.Counted(birds, "bird", "birds"), first.id, first.listed)})
}

// yearColumn returns a column of years that nothing claims, -1 if there is none.
func (im *importer) yearColumn(t *table) int {
	for _, j := range t.extra {
		if groupNames().find(t.head[j], false) != colSeason {
			continue
		}
		if !slices.ContainsFunc(t.body, func(r sheets.Row) bool {
			x := r.At(j)
			return x.Kind != sheets.Blank && !yearOnly().MatchString(x.Text)
		}) {
			return j
		}
	}
	return -1
}

// struck stops where rows of birds are struck through that nothing else says died or
// left: keepers cross out who is gone.
func (im *importer) struck() {
	if _, said := im.saidWord("fate", StruckThrough); said {
		return
	}
	var first spot
	birds := 0
	for _, t := range im.tables {
		if t.kind != birdRows {
			continue
		}
		for _, r := range t.body {
			if !r.Struck {
				continue
			}
			k, there := im.byID[im.idText(t.get(r, colID))]
			if !there || im.birds[k].fate != alive {
				continue
			}
			if birds++; birds == 1 {
				first = spot{t, r.Line}
			}
		}
	}
	if birds == 0 {
		return
	}
	im.stop(Decision{Code: "rows_struck_through", Sheet: first.t.Name, Line: first.line, Column: "status", Value: StruckThrough, Choice: wordChoice("fate", StruckThrough, "", "died", "left", "alive"),
		Text: fmt.Sprintf("%s struck through, the first in line %d, and nothing else says that the birds are gone", studbook.Counted(birds, "row is", "rows are"), first.line)})
}
