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

// readGEDCOM reads a family tree of GEDCOM 5.5.1 or FamilySearch GEDCOM 7.
func (s *source) readGEDCOM(raw []byte, text string, told bool) error {
	if strings.Count(text, "@ INDI") > mostRows {
		return tooLong()
	}
	records, odd := parseGEDCOM(text)
	if len(records) > 0 && !told && !strings.HasPrefix(s.encoding, "UTF-16") {
		if own, name, ok := ownEncoding(raw, records[0].value("CHAR")); ok {
			s.encoding = name
			records, odd = parseGEDCOM(own)
		}
	}
	if len(records) == 0 {
		return &refusal{"the family tree has no record that can be read", "export it again as GEDCOM"}
	}
	g := &gedcom{s: s, seven: strings.HasPrefix(strings.TrimSpace(records[0].value("GEDC", "VERS")), "7"), tally: make(map[tallied]*tallies)}
	if s.encoding == ansel {
		g.say("letters_without_accents", "", "letters without accents", "the file is in ANSEL, an encoding of libraries; its letters beyond ASCII are read without their accents")
	}
	if odd > 0 {
		g.say("not_taken", "lines", "nothing", studbook.Counted(odd, "line is", "lines are")+" none of GEDCOM and left out")
	}
	if err := g.gather(records); err != nil {
		return err
	}
	g.name()
	g.link()
	birds := sheet{Sheet: sheets.Sheet{Name: "individuals"}, fixed: []string{"id", "name", "band", "sex", "sire", "dam", "hatch_date", "death_date", "status", "departure_date", "departure_reason", "location", "origin", "notes"}}
	for _, p := range g.people {
		birds.Rows = append(birds.Rows, g.bird(p))
	}
	pairs := sheet{Sheet: sheets.Sheet{Name: "families"}, fixed: []string{"female", "male", "since", "until"}}
	for _, f := range g.families {
		pairs.Rows = append(pairs.Rows, g.bonds(f)...)
	}
	s.sheets = []sheet{birds}
	if len(pairs.Rows) > 0 {
		s.sheets = append(s.sheets, pairs)
	}
	g.tell()
	return nil
}

// gedcom is a family tree being read.
type gedcom struct {
	s                    *source
	seven                bool
	people, families     []*node
	person, family, note map[string]*node // by their pointers
	ids                  map[*node]string
	pointed              bool              // the pointers are the ids
	births               map[*node][]birth // of each individual
	reared               map[*node][]string
	chicks               map[string]int // how many individuals were born into a family, by its pointer
	tally                map[tallied]*tallies
}

// birth is a family that an individual was born into.
type birth struct {
	family string   // its pointer
	apart  []string // the tags of those of its partners who are no parents, as a stepfather is none
}

// gather finds individuals, families and notes. What points to two records would name
// either.
func (g *gedcom) gather(records []*node) error {
	g.person, g.family, g.note = make(map[string]*node), make(map[string]*node), make(map[string]*node)
	for _, r := range records {
		by := g.note
		switch r.tag {
		case "INDI":
			g.people, by = append(g.people, r), g.person
		case "FAM":
			g.families, by = append(g.families, r), g.family
		case "NOTE", "SNOTE":
		default:
			continue
		}
		if r.xref == "" {
			continue
		}
		if other := by[r.xref]; other != nil && r.tag != "NOTE" && r.tag != "SNOTE" {
			return &refusal{fmt.Sprintf("two records of the family tree are called @%s@, in lines %d and %d, so that nobody can tell which of them is meant", r.xref, other.line, r.line),
				"call one of them otherwise, and what points to it; or export the tree again"}
		}
		by[r.xref] = r
	}
	return nil
}

// name gives every individual its id: its REFN, else its EXID, if every
// individual has one of its own, else the pointer.
func (g *gedcom) name() {
	for _, tag := range []string{"REFN", "EXID"} {
		g.ids = make(map[*node]string)
		seen := make(map[string]bool)
		for _, p := range g.people {
			id := strings.TrimSpace(p.value(tag))
			if id == "" || seen[id] {
				break
			}
			seen[id] = true
			g.ids[p] = id
		}
		if len(g.ids) == len(g.people) && len(g.people) > 0 {
			return
		}
	}
	g.pointed = true
	for _, p := range g.people {
		g.ids[p] = p.xref
	}
}

// absent is how a record is called that others point to and that the file has not. Beside
// ids of another kind a pointer must not look like one of them.
func (g *gedcom) absent(pointer string) string {
	if g.pointed {
		return pointer
	}
	return "record-" + pointer
}

// ofBirth reports whether a word for what an individual is to a family or to one of its
// partners is one for a chick of theirs.
func ofBirth(word string) bool {
	switch strings.ToLower(strings.TrimSpace(word)) {
	case "", "birth", "natural", "biological", "genetic":
		return true
	}
	return false
}

// link finds the families of birth of every individual.
func (g *gedcom) link() {
	g.births, g.reared, g.chicks = make(map[*node][]birth), make(map[*node][]string), make(map[string]int)
	said := make(map[*node]map[string]bool)
	take := func(p *node, family, pedigree string, links ...*node) {
		if said[p] == nil {
			said[p] = make(map[string]bool)
		}
		if first := !said[p][family]; first && !ofBirth(pedigree) {
			sire, dam := g.partners(family)
			g.rearedBy(p, pedigree, sire, dam)
		} else if first {
			g.births[p] = append(g.births[p], birth{family: family})
		}
		said[p][family] = true
		k := slices.IndexFunc(g.births[p], func(b birth) bool { return b.family == family })
		for _, u := range links {
			for _, x := range [2][2]string{{"_FREL", "HUSB"}, {"_MREL", "WIFE"}} { // as many programs write a stepfather
				word, to := u.value(x[0]), x[1]
				if k >= 0 && !ofBirth(word) && !slices.Contains(g.births[p][k].apart, to) {
					g.births[p][k].apart = append(g.births[p][k].apart, to)
					g.rearedBy(p, word, g.partner(family, to))
				}
			}
		}
	}
	for _, p := range g.people {
		for _, u := range p.under { // adoptions say so of their own family
			if u.tag == "ADOP" {
				if f := pointer(u.value("FAMC")); f != "" {
					take(p, f, "adopted")
				}
			}
		}
		for _, u := range p.under {
			if f := pointer(u.text); u.tag == "FAMC" && f != "" {
				if strings.EqualFold(strings.TrimSpace(u.value("STAT")), "disproven") {
					take(p, f, "disproven")
					continue
				}
				take(p, f, u.value("PEDI"), u)
			}
		}
		if f := pointer(p.value("BIRT", "FAMC")); f != "" {
			take(p, f, "")
		}
	}
	for _, f := range g.families {
		for _, u := range f.under {
			if c := g.person[pointer(u.text)]; u.tag == "CHIL" && c != nil && f.xref != "" {
				take(c, f.xref, "", u)
			}
		}
	}
	for _, p := range g.people {
		for _, b := range g.births[p] {
			g.chicks[b.family]++
		}
	}
}

// rearedBy keeps for the notes who is to an individual what is none of birth.
func (g *gedcom) rearedBy(p *node, word string, by ...string) {
	word = strings.ToLower(strings.TrimSpace(word))
	who := strings.Join(slices.DeleteFunc(by, func(id string) bool { return id == "" }), " and ")
	g.reared[p] = append(g.reared[p], word+" by "+cmp.Or(who, "somebody"))
	g.count(notOfBirth, word, g.ids[p])
}

// partner returns the id of a partner of a family, HUSB or WIFE, "" if it has none. One
// that has no record is called by what points to it: its chicks are siblings nevertheless.
func (g *gedcom) partner(family, tag string) string {
	f := g.family[family]
	if f == nil {
		return ""
	}
	x := pointer(f.value(tag))
	switch p := g.person[x]; {
	case p != nil:
		return g.ids[p]
	case x != "":
		return g.absent(x)
	}
	return ""
}

// partners returns who of a family is the sire and who the dam, without those who are apart.
// In version 5.5.1 HUSB and WIFE say it; version 7 says that nothing follows from them,
// so there the sexes do, where they are known. Of a family that says nothing of either,
// or has no record, several chicks are siblings nevertheless.
func (g *gedcom) partners(family string, apart ...string) (sire, dam string) {
	husb, wife := g.partner(family, "HUSB"), g.partner(family, "WIFE")
	if husb == "" && wife == "" && g.chicks[family] > 1 {
		return g.absent(family) + "-HUSB", g.absent(family) + "-WIFE"
	}
	swapped := false
	if g.seven {
		sex := func(tag string) string {
			if p := g.person[pointer(g.family[family].value(tag))]; p != nil {
				return sexOf(p.value("SEX"))
			}
			return ""
		}
		if g.family[family] != nil {
			h, w := sex("HUSB"), sex("WIFE")
			swapped = h == "F" && w != "F" || w == "M" && h != "M"
		}
	}
	if slices.Contains(apart, "HUSB") {
		husb = ""
	}
	if slices.Contains(apart, "WIFE") {
		wife = ""
	}
	if swapped {
		return wife, husb
	}
	return husb, wife
}

// bird is the row of an individual.
func (g *gedcom) bird(p *node) sheets.Row {
	sire, dam := g.parents(p)
	status, band, origin := "", "", ""
	gone, why := "", ""
	var notes []string
	for _, u := range p.under {
		switch u.tag {
		case "NOTE", "SNOTE":
			text := u.text
			if x := pointer(text); x != "" {
				text = ""
				if n := g.note[x]; n != nil {
					text = n.text
				}
			}
			if text = strings.TrimSpace(text); text != "" {
				notes = append(notes, text)
			}
		case "FACT":
			switch strings.ToLower(strings.TrimSpace(u.value("TYPE"))) {
			case "band":
				band = u.text
			case "origin":
				origin = u.text
			case "sire":
				sire = strings.TrimSpace(u.text)
			case "dam":
				dam = strings.TrimSpace(u.text)
			default:
				notes = append(notes, strings.TrimSpace(u.value("TYPE")+": "+u.text))
			}
		case "EMIG":
			gone, why = dateOf(u), cmp.Or(strings.TrimSpace(u.value("NOTE")), "left")
			if f, _ := fateWords().within(why); f != left {
				why = "left: " + why
			}
		case "DEAT", "BURI", "CREM":
			if !strings.EqualFold(strings.TrimSpace(u.text), "N") && dateOf(p.event("DEAT")) == "" {
				status = "dead"
			}
			if u.tag != "DEAT" && dateOf(u) != "" {
				notes = append(notes, u.tag+" "+dateOf(u))
			}
		case "REFN", "EXID":
			if id := strings.TrimSpace(u.text); id != "" && id != g.ids[p] {
				notes = append(notes, u.tag+" "+id)
				if g.pointed {
					g.count(notTheID, u.tag, g.ids[p])
				}
			}
		case "NAME", "SEX", "BIRT", "RESI", "FAMC", "FAMS", "ADOP", "CHAN", "UID", "_UID", "RIN":
		default:
			g.count(notTaken, u.tag, g.ids[p])
		}
	}
	for _, tag := range []string{"BIRT", "DEAT"} {
		if slices.ContainsFunc(p.under, func(u *node) bool { return u.tag == tag && dateOf(u) != "" && dateOf(u) != dateOf(p.event(tag)) }) {
			g.count(severalDays, tag, g.ids[p])
		}
	}
	notes = append(notes, g.reared[p]...)
	return textRow(p.line, g.ids[p], nameOf(p), band, sexOf(p.value("SEX")), sire, dam, dateOf(p.event("BIRT")), dateOf(p.event("DEAT")), status, gone, why, g.home(p), origin, strings.Join(notes, "; "))
}

func textRow(line int, cells ...string) sheets.Row {
	r := sheets.Row{Line: line, Cells: make([]sheets.Cell, len(cells))}
	for j, s := range cells {
		r.Cells[j] = sheets.TextCell(s)
	}
	return r
}

// parents are the cells of an individual's sire and dam.
func (g *gedcom) parents(p *node) (sire, dam string) {
	var sires, dams []string
	for _, b := range g.births[p] {
		s, d := g.partners(b.family, b.apart...)
		sires, dams = append(sires, s), append(dams, d)
		if (s == "") != (d == "") && len(b.apart) == 0 && g.chicks[b.family] > 1 {
			g.count(oneParent, "", g.ids[p])
		}
	}
	sire, dam = possible(sires), possible(dams)
	if strings.Contains(sire+dam, "=") && len(g.births[p]) > 1 {
		g.count(severalBirths, "", g.ids[p])
	}
	return sire, dam
}

// home is where an individual lives: of several residences the latest by its date, else the
// last.
func (g *gedcom) home(p *node) string {
	im := &importer{opt: &Options{}}
	home, since := "", studbook.Day(0)
	for _, u := range p.under {
		place := cmp.Or(strings.TrimSpace(u.value("PLAC")), strings.TrimSpace(u.text), strings.TrimSpace(u.value("ADDR")))
		if u.tag != "RESI" || place == "" {
			continue
		}
		on, _ := im.parseDate(u.value("DATE"))
		if home != "" && place != home {
			g.count(severalHomes, "", g.ids[p])
		}
		if on.last >= since {
			home, since = place, on.last
		}
	}
	return home
}

// nameOf is the name of an individual, whole or put together of its parts.
func nameOf(p *node) string {
	name := p.value("NAME")
	if strings.Trim(name, " /") == "" {
		name = p.value("NAME", "GIVN") + " " + p.value("NAME", "SURN")
	}
	return oneLine(strings.ReplaceAll(name, "/", " "))
}

// dateOf is the date of an event, or its phrase where that is in the notation
// of ours and so says more.
func dateOf(event *node) string {
	if event == nil {
		return ""
	}
	phrase := strings.TrimSpace(event.value("DATE", "PHRASE"))
	if d, err := studbook.ParseDate(phrase); err == nil && d.Known() {
		return phrase
	}
	on := strings.TrimSpace(event.value("DATE"))
	if k := strings.Index(on, " ("); k > 0 && strings.HasPrefix(strings.ToUpper(on), "INT ") { // what it was interpreted from
		on = on[:k]
	}
	return on
}

func sexOf(s string) string {
	switch s = strings.ToUpper(strings.TrimSpace(s)); s {
	case "M", "F":
		return s
	}
	return ""
}

// possible writes the parents of one kind from one or several families. A
// family that lacks one leaves room for an unknown parent.
func possible(ids []string) string {
	count := make(map[string]int)
	var order []string
	for _, id := range ids {
		if id != "" && count[id] == 0 {
			order = append(order, id)
		}
		count[id]++
	}
	if len(order) == 0 {
		return ""
	}
	if len(order) == 1 && count[order[0]] == len(ids) {
		return order[0]
	}
	parts := make([]string, len(order))
	for i, id := range order {
		parts[i] = id + "=" + strconv.FormatFloat(float64(count[id])/float64(len(ids)), 'f', -1, 64)
	}
	return strings.Join(parts, "; ")
}

// bonds are the rows of a family that was married or divorced: a wedding begins a bond, if
// none is open, and a divorce ends it.
func (g *gedcom) bonds(f *node) (rows []sheets.Row) {
	for _, tag := range []string{"HUSB", "WIFE"} {
		if first := f.get(tag); slices.ContainsFunc(f.under, func(u *node) bool { return u.tag == tag && u != first && pointer(u.text) != pointer(first.text) }) {
			g.count(notTaken, "second "+tag, f.xref)
		}
	}
	sire, dam := g.partners(f.xref)
	if sire == "" || dam == "" {
		return nil
	}
	since, open := "", false
	end := func(until string) {
		rows, since, open = append(rows, textRow(f.line, dam, sire, since, until)), "", false
	}
	for _, u := range f.under {
		switch u.tag {
		case "MARR":
			since, open = cmp.Or(since, dateOf(u)), true
		case "DIV":
			end(dateOf(u))
		}
	}
	if open {
		end("")
	}
	return rows
}

// tallied is what is told once, with how many individuals it is true of.
type tallied struct {
	of   tallyKind
	word string // a tag, or what somebody is to a chick
}

type tallies struct {
	times   int
	example string // an id
}

type tallyKind byte

// In the order in which they are told.
const (
	severalBirths tallyKind = iota
	oneParent
	notOfBirth
	severalHomes
	severalDays
	notTheID
	notTaken
)

func (g *gedcom) count(of tallyKind, word, id string) {
	k := tallied{of, word}
	if g.tally[k] == nil {
		g.tally[k] = &tallies{example: id}
	}
	g.tally[k].times++
}

func (g *gedcom) say(code, value, taken, text string) {
	g.s.likely = append(g.s.likely, Decision{Code: code, Value: value, Taken: taken, Text: text})
}

// tell says what was counted.
func (g *gedcom) tell() {
	for _, k := range slices.SortedFunc(maps.Keys(g.tally), func(a, b tallied) int { return cmp.Or(cmp.Compare(a.of, b.of), cmp.Compare(a.word, b.word)) }) {
		x := g.tally[k]
		of := studbook.Counted(x.times, "individual", "individuals")
		switch k.of {
		case severalBirths:
			g.say("families_of_birth", "", "possible parents", fmt.Sprintf("of %s, as %s, several families are those of birth: the partners of all of them are possible parents", of, x.example))
		case oneParent:
			g.say("family_of_one_parent", "", "half siblings", fmt.Sprintf("%s, as %s, have siblings in a family of one parent: the other one is taken for another bird for each of them", of, x.example))
		case notOfBirth:
			g.say("foster_parent", k.word, "no parent", fmt.Sprintf("%s, as %s, have somebody for a parent by what the file calls %q: that is none by birth, and the words go to the notes", of, x.example, k.word))
		case severalHomes:
			g.say("homes_of_one", "", "the latest", fmt.Sprintf("%s of several residences, as of %s: the latest by its date, else the last, is taken for where the bird lives", studbook.Counted(x.times, "change", "changes"), x.example))
		case severalDays:
			g.say("rows_differ", k.word, "the first", fmt.Sprintf("%s, as %s, have several %s of different days: the first is taken", of, x.example, k.word))
		case notTheID:
			g.say("ids_are_pointers", k.word, "notes", fmt.Sprintf("%s, as %s, have %s, but not every individual has one of its own: the pointers of the file are the ids, and %s goes to the notes", of, x.example, k.word, k.word))
		case notTaken:
			g.say("not_taken", k.word, "nothing", fmt.Sprintf("%s %s not taken: a studbook has no place for it", studbook.Counted(x.times, "line", "lines"), k.word))
		}
	}
}
