package exchange

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"

	"pairwright/pedigree/studbook"
)

// node is a line of GEDCOM and what stands beneath it.
type node struct {
	line            int
	xref, tag, text string
	under           []*node
}

// get returns the first line of a tag beneath a node.
func (n *node) get(tag string) *node {
	for _, u := range n.under {
		if u.tag == tag {
			return u
		}
	}
	return nil
}

func (n *node) value(tags ...string) string {
	for _, t := range tags {
		if n = n.get(t); n == nil {
			return ""
		}
	}
	return n.text
}

// parseGEDCOM reads lines of the form "level [@xref@] tag [value]" into the
// records of level 0. Lines that are none are counted.
func parseGEDCOM(text string) (records []*node, odd int) {
	text = strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
	var open []*node
	number := 0
	for line := range strings.SplitSeq(text, "\n") {
		number++
		line = strings.TrimLeft(line, " \t\ufeff")
		if strings.TrimSpace(line) == "" {
			continue
		}
		head, rest, _ := strings.Cut(line, " ")
		level, err := strconv.Atoi(head)
		if err != nil || level < 0 || level > len(open) || level > 99 {
			odd++
			continue
		}
		n := &node{line: number}
		if rest = strings.TrimLeft(rest, " "); strings.HasPrefix(rest, "@") && !strings.HasPrefix(rest, "@@") {
			if end := strings.IndexByte(rest[1:], '@'); end > 0 {
				n.xref = rest[1 : end+1]
				rest = strings.TrimLeft(rest[end+2:], " ")
			}
		}
		n.tag, n.text, _ = strings.Cut(rest, " ")
		n.tag = strings.ToUpper(strings.TrimSpace(n.tag))
		if strings.HasPrefix(n.text, "@@") {
			n.text = n.text[1:]
		}
		if level == 0 {
			records = append(records, n)
		} else {
			above := open[level-1]
			switch n.tag {
			case "CONT":
				above.text += "\n" + n.text
			case "CONC":
				above.text += n.text
			default:
				above.under = append(above.under, n)
			}
		}
		open = append(open[:level], n)
	}
	return records, odd
}

// pointer returns the record that a value such as @F1@ points to, "" if none.
func pointer(s string) string {
	s = strings.TrimSpace(s)
	if len(s) < 3 || s[0] != '@' || s[len(s)-1] != '@' || s == "@VOID@" {
		return ""
	}
	return s[1 : len(s)-1]
}

// readGEDCOM reads a family tree of GEDCOM 5.5.1 or FamilySearch GEDCOM 7.
func (s *source) readGEDCOM(raw []byte, text string, told bool) error {
	if strings.Count(text, "@ INDI") > mostRows {
		return tooLong()
	}
	records, odd := parseGEDCOM(text)
	damaged := &refusal{"the family tree has no record that can be read", "export it again as GEDCOM"}
	if len(records) == 0 {
		return damaged
	}
	head := records[0]
	if encoding := strings.ToUpper(strings.TrimSpace(head.value("CHAR"))); !told && !utf8.Valid(raw) && !strings.HasPrefix(s.encoding, "UTF-16") {
		switch encoding {
		case "ANSEL":
			text, s.encoding = ansel(raw), "ANSEL"
			s.likely = append(s.likely, Decision{Code: "letters_without_accents", Taken: "letters without accents",
				Text: "the file is in ANSEL, an encoding of libraries; its letters beyond ASCII are read without their accents"})
		case "ANSI":
			text, s.encoding = convert(raw, charmap.Windows1252), "windows-1252"
		}
		if records, odd = parseGEDCOM(text); len(records) == 0 {
			return damaged
		}
		head = records[0]
	}
	if odd > 0 {
		s.likely = append(s.likely, Decision{Code: "not_taken", Value: "lines", Taken: "nothing", Text: studbook.Counted(odd, "line is", "lines are") + " none of GEDCOM and left out"})
	}
	seven := strings.HasPrefix(strings.TrimSpace(head.value("GEDC", "VERS")), "7")
	g := &gedcom{s: s, seven: seven, people: make(map[string]*node), families: make(map[string]*node), left: make(map[string]int)}
	var order []*node
	for _, r := range records {
		switch r.tag {
		case "INDI":
			if r.xref == "" || g.people[r.xref] != nil {
				g.left["INDI"]++
				continue
			}
			g.people[r.xref] = r
			order = append(order, r)
		case "FAM":
			if r.xref != "" && g.families[r.xref] == nil {
				g.families[r.xref] = r
				g.order = append(g.order, r.xref)
			}
		}
	}
	g.name(order)
	g.link(order)
	birds := sheet{name: "individuals", fixed: []string{"id", "name", "band", "sex", "sire", "dam", "hatch_date", "death_date", "status", "departure_date", "departure_reason", "location", "origin", "notes"}}
	for _, p := range order {
		birds.rows = append(birds.rows, g.bird(p))
	}
	pairs := sheet{name: "families", fixed: []string{"female", "male", "since", "until"}}
	for _, x := range g.order {
		if r, ok := g.bond(g.families[x]); ok {
			pairs.rows = append(pairs.rows, r)
		}
	}
	s.sheets = []sheet{birds}
	if len(pairs.rows) > 0 {
		s.sheets = append(s.sheets, pairs)
	}
	for _, tag := range slices.Sorted(maps.Keys(g.left)) {
		s.likely = append(s.likely, Decision{Code: "not_taken", Value: tag, Taken: "nothing",
			Text: fmt.Sprintf("%s %s not taken: a studbook has no place for it", studbook.Counted(g.left[tag], "line", "lines"), tag)})
	}
	return nil
}

// gedcom is a family tree being read.
type gedcom struct {
	s        *source
	seven    bool
	people   map[string]*node
	families map[string]*node
	order    []string // of the families
	ids      map[string]string
	birth    map[string][]string // individual -> families of birth
	other    map[string][]string // individual -> what else it has of families, in words
	left     map[string]int      // tags that are not taken
}

// name gives every individual its id: its REFN, else its EXID, if every
// individual has one of its own, else the pointer.
func (g *gedcom) name(order []*node) {
	for _, tag := range []string{"REFN", "EXID"} {
		g.ids = make(map[string]string)
		seen := make(map[string]bool)
		for _, p := range order {
			id := strings.TrimSpace(p.value(tag))
			if id == "" || seen[id] {
				break
			}
			seen[id] = true
			g.ids[p.xref] = id
		}
		if len(g.ids) == len(order) && len(order) > 0 {
			return
		}
	}
	g.ids = make(map[string]string)
	for _, p := range order {
		g.ids[p.xref] = p.xref
	}
}

// link finds the families of birth of every individual.
func (g *gedcom) link(order []*node) {
	g.birth, g.other = make(map[string][]string), make(map[string][]string)
	said := make(map[[2]string]bool)
	take := func(person, family, pedigree string) {
		if g.families[family] == nil || said[[2]string{person, family}] {
			return
		}
		said[[2]string{person, family}] = true
		switch p := strings.ToLower(strings.TrimSpace(pedigree)); p {
		case "", "birth":
			g.birth[person] = append(g.birth[person], family)
		default:
			sire, dam := g.partners(g.families[family])
			g.other[person] = append(g.other[person], fmt.Sprintf("%s by %s", p, strings.Join(slices.DeleteFunc([]string{g.ids[sire], g.ids[dam]}, func(s string) bool { return s == "" }), " and ")))
		}
	}
	for _, p := range order {
		for _, u := range p.under { // adoptions say so of their own family
			if u.tag == "ADOP" {
				if f := pointer(u.value("FAMC")); f != "" {
					take(p.xref, f, "adopted")
				}
			}
		}
		for _, u := range p.under {
			if f := pointer(u.text); u.tag == "FAMC" && f != "" {
				if strings.EqualFold(strings.TrimSpace(u.value("STAT")), "disproven") {
					said[[2]string{p.xref, f}] = true
					continue
				}
				take(p.xref, f, u.value("PEDI"))
			}
		}
		if f := pointer(p.value("BIRT", "FAMC")); f != "" {
			take(p.xref, f, "")
		}
	}
	for _, x := range g.order {
		for _, u := range g.families[x].under {
			if c := pointer(u.text); u.tag == "CHIL" && g.people[c] != nil {
				take(c, x, "")
			}
		}
	}
}

// partners returns who of a family is the sire and who the dam. In version
// 5.5.1 HUSB and WIFE say it; version 7 says that nothing follows from them,
// so there the sexes do, where they are known.
func (g *gedcom) partners(family *node) (sire, dam string) {
	known := func(tag string) string {
		x := pointer(family.value(tag))
		if g.people[x] == nil {
			return ""
		}
		return x
	}
	husb, wife := known("HUSB"), known("WIFE")
	if !g.seven {
		return husb, wife
	}
	sex := func(x string) string {
		if x == "" {
			return ""
		}
		return strings.ToUpper(strings.TrimSpace(g.people[x].value("SEX")))
	}
	h, w := sex(husb), sex(wife)
	if h == "F" && w != "F" || w == "M" && h != "M" {
		return wife, husb
	}
	return husb, wife
}

// bird is the row of an individual.
func (g *gedcom) bird(p *node) row {
	var sires, dams []string
	for _, f := range g.birth[p.xref] {
		sire, dam := g.partners(g.families[f])
		sires, dams = append(sires, g.ids[sire]), append(dams, g.ids[dam])
	}
	var notes []string
	status, location, band, origin := "", "", "", ""
	gone, why := "", ""
	parents := [2]string{possible(sires), possible(dams)}
	for _, u := range p.under {
		switch u.tag {
		case "NOTE", "SNOTE":
			if pointer(u.text) == "" && strings.TrimSpace(u.text) != "" {
				notes = append(notes, strings.TrimSpace(u.text))
			}
		case "RESI":
			location = strings.TrimSpace(u.value("PLAC"))
		case "FACT":
			switch strings.ToLower(strings.TrimSpace(u.value("TYPE"))) {
			case "band":
				band = u.text
			case "origin":
				origin = u.text
			case "sire":
				parents[0] = strings.TrimSpace(u.text)
			case "dam":
				parents[1] = strings.TrimSpace(u.text)
			default:
				notes = append(notes, strings.TrimSpace(u.value("TYPE")+": "+u.text))
			}
		case "EMIG":
			gone, why = dateOf(u), cmp.Or(strings.TrimSpace(u.value("NOTE")), "left")
			if f, _ := fateWords().within(why); f != left {
				why = "left: " + why
			}
		case "DEAT":
			if u.value("DATE") == "" && !strings.EqualFold(strings.TrimSpace(u.text), "N") {
				status = "dead"
			}
		case "NAME", "SEX", "BIRT", "REFN", "EXID", "FAMC", "FAMS", "ADOP", "CHAN", "UID", "_UID", "RIN":
		default:
			g.left[u.tag]++
		}
	}
	notes = append(notes, g.other[p.xref]...)
	cells := []string{
		g.ids[p.xref], strings.Join(strings.Fields(strings.ReplaceAll(p.value("NAME"), "/", " ")), " "), band, sexOf(p.value("SEX")),
		parents[0], parents[1],
		dateOf(p.get("BIRT")), dateOf(p.get("DEAT")), status, gone, why, location, origin, strings.Join(notes, "; "),
	}
	r := row{line: p.line, cells: make([]cell, len(cells))}
	for j, s := range cells {
		r.cells[j] = textCell(s)
	}
	return r
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
	return event.value("DATE")
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

// bond is the row of a family that was married or divorced on a day.
func (g *gedcom) bond(f *node) (row, bool) {
	married, parted := f.get("MARR"), f.get("DIV")
	sire, dam := g.partners(f)
	if married == nil && parted == nil || sire == "" || dam == "" {
		return row{}, false
	}
	since, until := "", ""
	if married != nil {
		since = dateOf(married)
	}
	if parted != nil {
		until = dateOf(parted)
	}
	return row{line: f.line, cells: []cell{textCell(g.ids[dam]), textCell(g.ids[sire]), textCell(since), textCell(until)}}, true
}

// ansel reads ANSEL (ANSI/NISO Z39.47), whose accents stand before their
// letter, leaving the accents out.
func ansel(raw []byte) string {
	special := map[byte]string{
		0xA1: "Ł", 0xA2: "Ø", 0xA3: "Đ", 0xA4: "Þ", 0xA5: "Æ", 0xA6: "Œ", 0xB1: "ł", 0xB2: "ø", 0xB3: "đ", 0xB4: "þ", 0xB5: "æ", 0xB6: "œ",
		0xB8: "ı", 0xB9: "£", 0xBA: "ð", 0xC0: "°", 0xC3: "©", 0xC5: "¿", 0xC6: "¡", 0xC7: "ß", 0xCF: "ß",
	}
	var b strings.Builder
	for _, c := range raw {
		switch {
		case c < 0x80:
			b.WriteByte(c)
		case c >= 0xE0:
		default:
			b.WriteString(special[c])
		}
	}
	return b.String()
}
