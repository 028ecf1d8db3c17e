package exchange

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

// account adds up what became of rows, columns, parents and fates.
func (im *importer) account() {
	r := &im.report
	r.Birds = len(im.birds)
	for _, t := range im.tables {
		for i := range r.Sheets {
			if s := &r.Sheets[i]; s.Name == t.Name && s.As != SheetLeftOut {
				s.Took = len(t.body) - t.unpaired
			}
		}
		im.columnsRead(t)
	}
	slices.SortStableFunc(r.LeftOut, func(a, b LeftOut) int {
		return cmp.Or(cmp.Compare(im.sheetRank(a.Sheet), im.sheetRank(b.Sheet)), cmp.Compare(a.Line, b.Line))
	})
	for i := range r.Sheets {
		if s := &r.Sheets[i]; s.As == "birds" || s.As == "events" {
			s.Took = s.Rows
			for _, l := range r.LeftOut {
				if l.Sheet == s.Name && l.Reason != "above the header" {
					s.Took--
				}
			}
		}
	}
	r.DateOrder, r.DateProof = im.order.order, im.order.proof
	if im.order.matters() {
		r.Dates = &Choice{Subject: OfDates, May: options(orders[:]...), Taken: im.order.order}
	}
	im.parentsRead()
	im.fatesRead()
	for _, at := range im.said {
		if at.times > 1 {
			r.Decisions[at.index].Text += fmt.Sprintf(" (and %s more)", studbook.Counted(at.times-1, "time", "times"))
		}
	}
	for _, at := range im.stopped {
		if at.times > 1 {
			r.Stops[at.index].Text += fmt.Sprintf(" (and %s more)", studbook.Counted(at.times-1, "time", "times"))
		}
	}
	last := make(map[string]*Decision)
	for k := range r.Stops {
		last[r.Stops[k].Code] = &r.Stops[k]
	}
	for code, d := range last {
		if more := im.stops[code] - mostStops; more > 0 {
			d.Text += fmt.Sprintf(" (and so on from here, %s)", studbook.Counted(more, "more of the kind", "more of the kind"))
		}
	}
	im.weigh()
	for _, list := range [][]Decision{r.Stops, r.Decisions} {
		for k := range list[:min(len(list), rowsShown)] {
			if d := &list[k]; d.Line > 0 {
				d.Row = im.rowAt(d.Sheet, d.Line)
			}
		}
	}
}

// rowsShown is of how many decisions the rows are shown: more than anybody reads.
const rowsShown = 1000

// weigh says how much of the living gene pool hangs on each decision, and puts the most
// consequential first.
func (im *importer) weigh() {
	r := &im.report
	share := im.shares()
	for k := range r.Decisions {
		d := &r.Decisions[k]
		d.Share = 0
		for _, i := range d.of {
			if d.half {
				d.Share += share[i] / 2
			} else {
				d.Share += share[i]
			}
		}
		d.Share = min(d.Share, 1)
	}
	slices.SortStableFunc(r.Decisions, func(a, b Decision) int { return cmp.Compare(b.Share, a.Share) })
}

// shares returns for each bird the part of the living gene pool that comes
// through it: its own genes where it lives, and half of what comes through each
// of its chicks.
//
//	s_i = [i lives]/N + Σ_chicks w·s_chick/2
//
// w is the chance that it is the parent; N is the number of the living.
func (im *importer) shares() []float64 {
	s := make([]float64, len(im.birds))
	waiting := make([]int32, len(im.birds)) // chicks that are not added up yet
	living := 0
	for _, b := range im.birds {
		if b.fate == alive {
			living++
		}
		for _, d := range b.parentage {
			for _, c := range d.candidates {
				if c.bird >= 0 {
					waiting[c.bird]++
				}
			}
		}
	}
	if living == 0 {
		return s
	}
	var ready []int32
	for i, b := range im.birds {
		if b.fate == alive {
			s[i] = 1 / float64(living)
		}
		if waiting[i] == 0 {
			ready = append(ready, int32(i))
		}
	}
	for len(ready) > 0 { // a loop in the pedigree is never ready, and is a finding
		i := ready[len(ready)-1]
		ready = ready[:len(ready)-1]
		for _, d := range im.birds[i].parentage {
			for _, c := range d.candidates {
				if c.bird < 0 {
					continue
				}
				s[c.bird] += c.weight * s[i] / 2
				if waiting[c.bird]--; waiting[c.bird] == 0 {
					ready = append(ready, c.bird)
				}
			}
		}
	}
	return s
}

func (im *importer) sheetRank(name string) int {
	return slices.IndexFunc(im.src.sheets, func(s sheet) bool { return s.Name == name })
}

// columnsRead lists the columns of a table with three cells of each.
func (im *importer) columnsRead(t *table) {
	for j, h := range t.head {
		c := t.ours[j]
		if c == unclaimed && !slices.Contains(t.extra, j) {
			continue
		}
		col := ColumnRead{Sheet: t.Name, Theirs: h, How: t.how[j]}
		if h == "" {
			col.Theirs = "column " + strconv.Itoa(j+1)
		}
		if c == unclaimed {
			col.How = "carried over as it stands"
			if slices.Contains(t.chicks, j) {
				col.How = "the chicks of the pair, by name and content"
			} else if t.kind != birdRows {
				col.How = "not read"
			}
		} else {
			col.Ours = c.String()
		}
		for _, r := range t.body {
			x := r.At(j)
			if x.Kind == sheets.Blank || slices.Contains(col.Cells, x.Text) {
				continue
			}
			col.Cells = append(col.Cells, x.Text)
			col.Taken = append(col.Taken, im.takenFor(t, r, c, x))
			if len(col.Cells) == 3 {
				break
			}
		}
		if t.fixed == nil && t.own == "" && h != "" {
			col.Choice = &Choice{Subject: OfHeading, Sheet: t.Name, Word: h, May: options(append(ours(t.kind), Nothing)...), Taken: col.Ours}
		}
		im.report.Columns = append(im.report.Columns, col)
	}
}

// takenFor is what was written for a cell.
func (im *importer) takenFor(t *table, r sheets.Row, c column, x sheets.Cell) string {
	if t.aside[c] {
		return ""
	}
	if isDateColumn(c) {
		if d, ok := im.readDate(x); ok {
			return d.text
		}
		return ""
	}
	if c == colPair {
		pair, why := im.coupleIn(x.Text)
		if why != "" {
			return ""
		}
		return im.birds[pair.female].id + " × " + im.birds[pair.male].id
	}
	if t.kind != birdRows {
		return x.Text
	}
	k, ok := im.byID[im.idText(t.get(r, colID))]
	if !ok {
		return x.Text
	}
	b := im.birds[k]
	switch c {
	case colID:
		return b.id
	case colSex:
		return b.sex.String()
	case colSire:
		return im.cellOf(b.parentage[0])
	case colDam:
		return im.cellOf(b.parentage[1])
	case colParents:
		return im.cellOf(b.parentage[0]) + " × " + im.cellOf(b.parentage[1])
	case colOrigin:
		return map[studbook.Origin]string{studbook.OriginWild: "wild", studbook.OriginCaptive: "captive"}[b.origin]
	case colStatus:
		return fateNames[b.fate]
	}
	return x.Text
}

func (im *importer) cellOf(d descent) string { return d.parentage().String() }

// parentsRead counts the parents by how they were found.
func (im *importer) parentsRead() {
	p := &im.report.Parents
	wild, unknown, rowless := make(map[string]int), make(map[string]int), make(map[string]int)
	chicks, maybe := make(map[string][]int32), make(map[string][]int32) // of those without a row
	for i, b := range im.birds {
		for _, d := range b.parentage {
			word := cmp.Or(strings.TrimSpace(d.word), "(blank)")
			switch d.how {
			case byID:
				p.ByID++
			case byIDOtherwise:
				p.ByIDWrittenOtherwise++
			case byBand:
				p.ByBand++
			case byName:
				p.ByName++
			case byNest:
				p.ByNest++
			case byGroup:
				p.ByGroup++
			case asPossible:
				p.Possible++
				for _, c := range d.candidates {
					if c.bird < 0 {
						maybe[c.id] = append(maybe[c.id], int32(i))
					}
				}
			case asWild:
				p.Wild++
				wild[word]++
			case withoutRow:
				p.WithoutRow++
				rowless[word]++
				chicks[word] = append(chicks[word], int32(i))
			default:
				p.Unknown++
				unknown[word]++
			}
		}
	}
	p.WildWords, p.UnknownWords, p.Rowless = byTimes(wild), byTimes(unknown), byTimes(rowless)
	unlike := func(id string) string {
		if im.called().shapes[shape(id)] {
			return ""
		}
		return "; unlike the ids of the file"
	}
	for _, id := range slices.Sorted(maps.Keys(maybe)) {
		if chicks[id] == nil {
			im.likely(Decision{Code: "parent_without_row", Value: id, Taken: "a founder without a row", Choice: &Choice{Subject: OfParent, Word: id, May: mayBe, Taken: BirdNoRow}, of: maybe[id], half: true,
				Text: fmt.Sprintf("%s: one of the possible parents of %s%s", id, studbook.Counted(len(maybe[id]), "chick", "chicks"), unlike(id))})
		}
	}
	for _, c := range p.Rowless {
		im.likely(Decision{Code: "parent_without_row", Value: c.Word, Taken: "a founder without a row", Choice: &Choice{Subject: OfParent, Word: c.Word, May: mayBe, Taken: BirdNoRow}, of: chicks[c.Word], half: true,
			Text: fmt.Sprintf("%s: %s%s", c.Word, studbook.Counted(c.Times, "chick", "chicks"), unlike(c.Word))})
	}
}

// byTimes lists words by how often they stand, then by themselves.
func byTimes(m map[string]int) []Counted {
	var out []Counted
	for _, w := range slices.Sorted(maps.Keys(m)) {
		out = append(out, Counted{w, m[w]})
	}
	slices.SortStableFunc(out, func(a, b Counted) int { return cmp.Compare(b.Times, a.Times) })
	return out
}

// fatesRead counts the birds by what became of them.
func (im *importer) fatesRead() {
	f := &im.report.Fates
	type group struct {
		place string
		sex   studbook.Sex
	}
	at := make(map[group]*Fates)
	for _, b := range im.birds {
		g := group{b.location, b.sex}
		if at[g] == nil {
			at[g] = &Fates{}
		}
		for _, into := range []*Fates{f, at[g]} {
			switch {
			case b.fate == died && (b.death.text == "unknown" || strings.HasPrefix(b.death.text, "[") && b.deadSome):
				into.DiedUnknownDay++
			case b.fate == died:
				into.Died++
			case b.fate == left:
				into.Left++
			default:
				into.Living++
			}
		}
	}
	for g, x := range at {
		im.report.FatesAt = append(im.report.FatesAt, FatesAt{g.place, g.sex, *x})
	}
	rank := func(s studbook.Sex) int { return strings.IndexByte("FMU", byte(s)) }
	slices.SortFunc(im.report.FatesAt, func(a, b FatesAt) int {
		return cmp.Or(cmp.Compare(a.Place, b.Place), cmp.Compare(rank(a.Sex), rank(b.Sex)))
	})
	for i := range im.report.Totals {
		im.compareTotal(&im.report.Totals[i])
	}
}

var (
	bySexes  = pattern(`\b([0-9]{1,6})[.,/]([0-9]{1,6})(?:[.,/]([0-9]{1,6}))?\b`)
	ofLiving = pattern(`(?i)\b([0-9]{1,6})\b\D{0,20}\b(?:alive|living|live birds|lebend\w*|vivants?|vivos?|vivas?|vivi|levend\w*)\b|\b(?:alive|living|lebend\w*|vivants?|vivos?|vivas?|vivi|levend\w*)\b\D{0,20}\b([0-9]{1,6})\b`)
)

// ownTotal keeps a total that the file gives of its birds.
func (im *importer) ownTotal(t *table, r sheets.Row) {
	if t.kind != birdRows {
		return
	}
	text := ""
	for j, c := range r.Cells {
		if c.Kind != sheets.Blank && (j == 0 || c.Text != r.Cells[j-1].Text) {
			text = strings.TrimSpace(text + " " + c.Text)
		}
	}
	run := tokens(text)
	ofBirds := slices.ContainsFunc(run, func(w string) bool { return herds()[w] })
	sums := ofBirds || slices.ContainsFunc(run, func(w string) bool { return totals()[w] })
	if m := bySexes().FindStringSubmatch(text); m != nil && (m[3] == "" && ofBirds || m[3] != "" && sums && number2(m[3]) < 1900) {
		im.report.Totals = append(im.report.Totals, OwnTotal{Sheet: t.Name, Line: r.Line, Text: text, Says: strings.TrimRight(m[1]+"."+m[2]+"."+m[3], ".")})
	} else if m := ofLiving().FindStringSubmatch(text); m != nil {
		im.report.Totals = append(im.report.Totals, OwnTotal{Sheet: t.Name, Line: r.Line, Text: text, Says: cmp.Or(m[1], m[2])})
	}
}

// compareTotal counts what a total of the file says: males, females and
// unsexed, or the living.
func (im *importer) compareTotal(t *OwnTotal) {
	var n [3]int
	for _, b := range im.birds {
		if b.fate == alive {
			n[strings.IndexByte("MFU", byte(b.sex))]++
		}
	}
	t.Counted = strconv.Itoa(n[0] + n[1] + n[2])
	switch strings.Count(t.Says, ".") {
	case 1:
		t.Counted = fmt.Sprintf("%d.%d", n[0], n[1])
	case 2:
		t.Counted = fmt.Sprintf("%d.%d.%d", n[0], n[1], n[2])
	}
	if t.Agrees = t.Says == t.Counted; !t.Agrees {
		im.likely(Decision{Code: "total_differs", Sheet: t.Sheet, Line: t.Line, Value: t.Text, Taken: t.Counted,
			Text: fmt.Sprintf("the file counts %s, but %s are living by its rows (males.females.unsexed where there are points)", t.Says, t.Counted)})
	}
}
