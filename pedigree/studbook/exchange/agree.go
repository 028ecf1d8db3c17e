package exchange

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"sync"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

// agree stops where the cells of a column are not what its heading says.
func (im *importer) agree() {
	ids := make(map[string]bool, im.birdRows())
	for _, t := range im.tables {
		if t.kind != birdRows || !t.has(colID) {
			continue
		}
		for _, r := range t.body {
			ids[t.get(r, colID).Text] = true
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
				if x := t.get(r, c).Text; x != "" {
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
					if x := t.get(r, c).Text; x != "" {
						known[nestKey(x)] = true
					}
				}
			}
		}
	}
	return known
}

// agreeParents stops if most parents are no birds of the file. known tells what is an
// id, a band, a name, a nest or a group.
func (im *importer) agreeParents(t *table, c column, known func(string) bool) {
	all, hits := 0, 0
	example := ""
	for _, r := range t.body {
		x := t.get(r, c).Text
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
	im.stop(Decision{Code: "parents_unlike_ids", Sheet: t.Name, Line: t.headLine, Column: c.String(), Value: t.head[t.col[c]], Choice: t.headingChoice(c, t.head[t.col[c]], ""),
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
		if x.Kind == sheets.Blank || isNobody(x.Text) {
			continue
		}
		all++
		if _, _, ok := im.pairOfLine(x.Text); ok {
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
				bird := key(n.get(r, c).Text)
				holders[[2]string{nestKey(n.get(r, colNest).Text), bird}], holding[bird] = true, true
			}
		}
	}
	own, others := 0, 0
	var first sheets.Row
	for _, r := range t.body {
		x, bird := t.get(r, colNest), key(t.get(r, colID).Text)
		switch {
		case x.Kind == sheets.Blank || !holding[bird]:
		case !holders[[2]string{nestKey(x.Text), bird}]:
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
	im.likely(Decision{Code: "nest_of_its_own", Sheet: t.Name, Line: first.Line, Column: "nest", Value: t.head[j], Taken: "nothing", Choice: t.headingChoice(colNest, t.head[j], ""),
		Text: fmt.Sprintf("column %q says which nest or pair a bird holds itself, as in line %d, so it says nothing of its parents", t.head[j], first.Line)})
}

// agreeReason turns a column of departures into one of their dates, if its cells are dates.
func (im *importer) agreeReason(t *table) {
	all, dated := 0, 0
	for _, r := range t.body {
		x := t.get(r, colDepartureReason)
		if x.Kind == sheets.Blank || isNobody(x.Text) {
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
		if c.Kind == sheets.Blank {
			continue
		}
		n++
		if _, ok := sexWords().whole(c.Text); !ok {
			distinct[key(c.Text)] = true
			example = c.Text
		}
	}
	const fewWords = 12
	if len(distinct) > fewWords || n > 0 && len(distinct) > 4 && len(distinct)*2 > n {
		im.stop(Decision{Code: "sex_unlike_sexes", Sheet: t.Name, Line: t.headLine, Column: "sex", Value: t.head[t.col[colSex]], Choice: t.headingChoice(colSex, t.head[t.col[colSex]], ""),
			Text: fmt.Sprintf("column %q is named as sex, but has %s, such as %q", t.head[t.col[colSex]], studbook.Counted(len(distinct), "different word", "different words"), shorten(example))})
		t.setAside(colSex, len(distinct))
	}
}

// agreeOrigin turns a column of origins into one of where birds came from, if
// its words are of places.
func (im *importer) agreeOrigin(t *table) {
	all, hits := 0, 0
	for _, r := range t.body {
		if x := t.get(r, colOrigin).Text; x != "" {
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

// offShow are names of parts of one place that have no word for an enclosure.
var offShow = wordSet("off show|on show|off exhibit|on exhibit|off display|on display|backstage|behind the scenes|indoors|outdoors|inside|outside|quarantine|isolation|nursery|hospital|innen|außen|hinter den kulissen|quarantäne|krankenstation|aufzucht|quarantaine|coulisses|hors présentation|nurserie|intérieur|extérieur|cuarentena|fuera de exhibición|interior|exterior|quarentena|fora de exposição|quarantena|fuori esposizione|interno|esterno|binnen|buiten|achter de schermen")

// enclosure reports whether a cell with a place names where in one place a bird is
// kept, and whether that is plain, as of "Aviary 3" or "cage B".
func enclosure(s string) (is, plain bool) {
	if offShow()[key(s)] {
		return true, true
	}
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
// are carried over. That others of several names are institutions is said.
func (im *importer) agreeLocation(t *table) {
	all, enclosed, plain, first := 0, 0, 0, sheets.Row{}
	var names []string
	for _, r := range t.body {
		x := im.placeRead(t.get(r, colLocation).Text)
		if x.name == "" || x.fate != noFate {
			continue
		}
		const enough = 2
		if all++; len(names) < enough && !slices.Contains(names, x.name) {
			names = append(names, x.name)
		}
		if x.enclosed {
			enclosed++
		}
		if x.plain {
			plain++
		}
		if x.enclosed && first.Line == 0 {
			first = r
		}
	}
	j := t.col[colLocation]
	d := Decision{Sheet: t.Name, Line: cmp.Or(first.Line, t.headLine), Column: colLocation.String(), Value: t.head[j]}
	switch several := len(names) > 1; {
	case plain > 0 && plain*2 >= all, several && float64(enclosed) >= mostOfColumn*float64(all):
		t.extra = append(t.extra, j)
		slices.Sort(t.extra)
		t.enclosed, t.how[j] = cmp.Or(im.opt.Home, atHome), "by name; its enclosures are of one place"
		im.enclosed = t.enclosed
		d.Code, d.Taken, d.Choice = "enclosures_of_one_place", t.enclosed, t.headingChoice(colLocation, t.head[j], "")
		d.Text = fmt.Sprintf("column %q names enclosures, as %q: they are taken to be at one place, %s, between which no bird needs a transfer", t.head[j], shorten(first.At(j).Text), t.enclosed)
	case several && im.opt.Home == "" && !t.mine:
		d.Code, d.Taken, d.Choice = "places_are_institutions", "institutions", t.headingChoice(colLocation, t.head[j], colLocation.String())
		d.Text = fmt.Sprintf("column %q names places, as %s: each is taken for an institution, and a bird needs a transfer from one to another", t.head[j], studbook.QuoteAll(names))
	default:
		return
	}
	im.likely(d)
}

// agreeDates stops if most dates of a column cannot be read.
func (im *importer) agreeDates(t *table, c column) {
	const enough = 2000 // rows tell what a column is
	all, bad := 0, 0
	example := ""
	for _, r := range t.body[:min(len(t.body), enough)] {
		x := t.get(r, c)
		if x.Kind != sheets.Words {
			continue
		}
		all++
		if _, ok := im.readDate(x); !ok {
			if _, told := im.departureIn(x); told && c == colDepartureDate {
				continue
			}
			bad++
			example = x.Text
		}
	}
	if bad*2 > all && bad > 2 {
		im.stop(Decision{Code: "dates_unlike_dates", Sheet: t.Name, Line: t.headLine, Column: c.String(), Value: t.head[t.col[c]], Choice: t.headingChoice(c, t.head[t.col[c]], ""),
			Text: fmt.Sprintf("column %q is named as %s, but %s of its %s cells are no dates; %q is none", t.head[t.col[c]], plainName(c), studbook.Number(bad), studbook.Number(all), shorten(example))})
		t.setAside(c, bad)
	}
}
