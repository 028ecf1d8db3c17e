package exchange

import (
	"fmt"
	"iter"
	"math"
	"slices"
	"strconv"
	"strings"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

// holding is a pair that held a nest.
type holding struct {
	nest         string
	female, male string
	pair         string // the cell with both of them, where one column has them
	since, until date
	season       int  // the year, if only that is known of the time
	seasoned     bool // that year is the one of the clutch, for the row has no other time
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
			h := holding{nest: t.get(r, colNest).Text, female: t.get(r, colFemale).Text, male: t.get(r, colMale).Text, pair: t.get(r, colPair).Text, at: spot{t, r.Line}}
			for _, x := range []struct {
				into *date
				c    column
			}{{&h.since, colSince}, {&h.until, colUntil}} {
				d, ok := im.readDate(t.get(r, x.c))
				if !ok {
					im.likely(Decision{Code: "unreadable_date", Sheet: t.Name, Line: r.Line, Column: x.c.String(), Value: t.get(r, x.c).Text, Taken: "blank",
						Text: fmt.Sprintf("the date %q of a nest cannot be read", t.get(r, x.c).Text)})
				}
				*x.into = d
			}
			if season := t.get(r, colSeason); season.Kind != sheets.Blank {
				d, ok := im.readDate(season)
				switch {
				case !ok || !d.known():
					im.likely(Decision{Code: "unreadable_date", Sheet: t.Name, Line: r.Line, Column: "season", Value: season.Text, Taken: "any season",
						Text: fmt.Sprintf("the season %q of a pair cannot be read: it counts for every season", season.Text)})
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
func (im *importer) clutchOf(t *table, r sheets.Row, season int) (c studbook.Clutch, ok bool) {
	c = studbook.Clutch{Eggs: -1, Fertile: -1, Hatched: -1, Fledged: -1}
	infertile := -1
	for _, x := range []struct {
		into *int
		c    column
	}{{&c.Eggs, colEggs}, {&c.Fertile, colFertile}, {&infertile, colInfertile}, {&c.Hatched, colHatched}, {&c.Fledged, colFledged}} {
		cell := t.get(r, x.c)
		if cell.Kind == sheets.Blank || cell.Text != "0" && isNobody(cell.Text) {
			continue
		}
		n, err := strconv.Atoi(cell.Text)
		if err != nil || n < 0 || n > mostOfClutch {
			im.likely(Decision{Code: "count_not_read", Sheet: t.Name, Line: r.Line, Column: x.c.String(), Value: cell.Text, Taken: "blank",
				Text: fmt.Sprintf("%q is no number of eggs or chicks of one clutch: nothing is taken as known", shorten(cell.Text))})
			continue
		}
		*x.into, ok = n, true
	}
	if c.Fertile < 0 && infertile >= 0 && infertile <= c.Eggs {
		c.Fertile = c.Eggs - infertile
	}
	if laid := t.get(r, colLaid); laid.Kind != sheets.Blank {
		d, read := im.readDate(laid)
		for _, between := range []string{" ", "", ".", "/", "-"} { // "12 April", in a sheet with the year beside it
			if (!read || !d.known()) && season > 0 {
				d, read = im.readDate(sheets.TextCell(laid.Text + between + strconv.Itoa(season)))
			}
		}
		if !read {
			im.likely(Decision{Code: "unreadable_date", Sheet: t.Name, Line: r.Line, Column: colLaid.String(), Value: laid.Text, Taken: "the season",
				Text: fmt.Sprintf("the date %q of a clutch cannot be read", shorten(laid.Text))})
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
		im.likely(Decision{Code: "nest_of_nobody", Sheet: at.t.Name, Line: at.line, Value: nest, Taken: "unknown", of: im.about(b),
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
	im.likely(Decision{Code: "parents_too_many", Sheet: at.t.Name, Line: at.line, Value: of, Taken: "unknown", of: im.about(b), half: true,
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
			f := flock{name: t.get(r, colGroup).Text}
			season := t.get(r, colSeason)
			d, ok := im.readDate(season)
			f.season = d
			if f.anytime = !ok || !d.known(); f.anytime && season.Kind != sheets.Blank {
				im.likely(Decision{Code: "unreadable_date", Sheet: t.Name, Line: r.Line, Column: "season", Value: season.Text, Taken: "any season",
					Text: fmt.Sprintf("the season %q of group %s cannot be read: it counts for every season", season.Text, f.name)})
			}
			f.males, f.females = im.members(t.get(r, colMales).Text), im.members(t.get(r, colFemales).Text)
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

// chicksOfNests gives the chicks that a row of a nest names its pair for parents.
func (im *importer) chicksOfNests() {
	missing := 0
	var first spot
	for _, t := range im.tables {
		if t.kind != nestRows || t.chicks == nil {
			continue
		}
		for _, r := range t.body {
			at := spot{t, r.Line}
			for _, j := range t.chicks {
				for _, m := range im.chicksIn(r.At(j).Text) {
					id, sex := chickOf(m)
					k, there := im.byID[im.idText(sheets.TextCell(id))]
					if !there {
						if missing++; missing == 1 {
							first = at
						}
						continue
					}
					b := im.birds[k]
					if sex != "" {
						b.sexes = append(b.sexes, written{sheets.TextCell(sex), at})
					}
					im.fillParent(b, &b.sire, t.get(r, colMale), colSire, at)
					im.fillParent(b, &b.dam, t.get(r, colFemale), colDam, at)
					im.fillParent(b, &b.parents, t.get(r, colPair), colParents, at)
					if b.hatch.text == "" {
						im.fillDate(b, &b.hatch, written{t.get(r, colSeason), at}, colHatch, "")
					}
				}
			}
		}
	}
	if missing > 0 {
		im.likely(Decision{Code: "chick_without_row", Sheet: first.t.Name, Line: first.line, Column: "chicks", Taken: "nothing",
			Text: fmt.Sprintf("%s in the rows of pairs, the first in line %d, are no birds of the file: nothing is made of them", studbook.Counted(missing, "chick", "chicks"), first.line)})
	}
}

// chicksIn cuts a list of chicks, in which 701-704 are four of them, if all are of the file.
func (im *importer) chicksIn(s string) []string {
	const most = 20 // chicks of a season
	var out []string
	for _, m := range im.members(s) {
		first, last, ok := cutLast(strings.NewReplacer("–", "-", "—", "-", " ", "").Replace(m), "-")
		stem := strings.TrimRight(first, "0123456789")
		from, to, n := number2(first[len(stem):]), number2(strings.TrimPrefix(last, stem)), len(out)
		if !ok || from == 0 || to <= from || to-from >= most || im.looksLikeID(m) {
			out = append(out, m)
			continue
		}
		for k := from; k <= to; k++ {
			if id := fmt.Sprintf("%s%0*d", stem, len(first)-len(stem), k); im.looksLikeID(id) {
				out = append(out, id)
				continue
			}
			out = append(out[:n], m)
			break
		}
	}
	return out
}

// chickOf cuts a chick's sex off its id, as of "701 ♂", "701 (f)" or "701 m".
func chickOf(s string) (id, sex string) {
	if id = strings.Trim(s, "♂♀ "); id != s {
		return id, strings.TrimSpace(strings.Replace(s, id, "", 1))
	}
	sex, id, ok := inBrackets(s)
	if !ok {
		id, sex, ok = cutLast(s, " ")
	}
	if _, is := sexWords().whole(sex); ok && (is || len(sex) == 1 && strings.ContainsAny(sex, "mfwvMFWV")) {
		return strings.TrimSpace(id), sex
	}
	return s, ""
}

// chickColumns finds the columns of a sheet of pairs that hold the ids of their
// chicks: a heading says so, and most cells are ids of the file, which a number of
// chicks is not.
func (im *importer) chickColumns(t *table) []int {
	var found []int
	all, hits := 0, 0
	seen := make(map[string]bool)
	for j, h := range t.head {
		whole, _, _ := strings.Cut(h, "(")
		if t.ours[j] != unclaimed || !chickNames()[headKey(strings.TrimRight(h, " 0123456789.#º°"))] && !chickNames()[headKey(whole)] {
			continue
		}
		for _, r := range t.body {
			x := r.At(j)
			if x.Kind == sheets.Blank || isNobody(x.Text) {
				continue
			}
			for _, m := range im.chicksIn(x.Text) {
				id, _ := chickOf(m)
				all++
				if im.looksLikeID(id) && !seen[key(id)] {
					hits++
				}
				seen[key(id)] = true
			}
		}
		found = append(found, j)
	}
	if hits == 0 || float64(hits) < mostOfColumn*float64(all) {
		return nil
	}
	return found
}

var chickNames = wordSet("chick|chicks|chick ring|chick rings|chicks rings|chick id|chick ids|rings chicks|rings chick|chicks ringed|rings|young|young ring|young rings|rings young|young ringed|young birds|offspring|nestling|nestlings|fledgling|fledglings|ringed chicks|ringed young|progeny|pullus|pulli|youngster|youngsters|" +
	"jungvogel|jungvögel|ringe jungen|ringe junge|ringe jungvögel|ringe|jungenringe|junge|jungtier|jungtiere|küken|nachzucht|nachzuchten|ring jungvogel|bagues jeunes|bagues poussins|bagues|jeune|jeunes|poussin|poussins|oisillon|oisillons|petit|petits|" +
	"anillas pollos|anillas crías|anillas|anilhas crias|anilhas|anelli|anelli pulcini|ringen jongen|ringen|pollo|pollos|cría|crías|pichón|pichones|polluelo|polluelos|cria|crias|filhote|filhotes|pulcino|pulcini|piccolo|piccoli|novello|novelli|nidiaceo|nidiacei|figlio|figli|" +
	"jong|jongen|kuiken|kuikens|nakomeling|nakomelingen")
