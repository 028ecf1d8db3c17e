package exchange

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"sync"
	"unicode"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

// Lines of one cell part a list: what they say holds for the birds beneath.

// sectionWords writes out what lines over birds say became of them or which sex they are, as
// "Dead birds" or "Hens", where their own cells do not say it. It tells of lines that nothing
// reads.
func (im *importer) sectionWords(t *table) {
	type said struct {
		fate fate
		sex  studbook.Sex
	}
	over := make([]said, len(t.body))
	var now said
	titles, title, at := make(map[string]bool), "", 0 // that nothing reads, and the one above
	fates, sexes, unread := 0, 0, 0                   // the first lines of each kind
	idLike := t.idLike(sync.OnceValue(im.citedKeys))
	for k, r := range t.body {
		bird := r.Used() > 1 && !r.Merged
		text, line := "", false
		if !bird {
			text, line = im.sectionTitle(t, r)
			bird = idLike(text)
		}
		if bird {
			if over[k] = now; title != "" {
				titles[title], unread = true, cmp.Or(unread, at)
			}
		}
		if bird || !line {
			continue
		}
		title = ""
		is := said{fateOfSheet(text), sexOfSheet(text)}
		if f, ok := fateWords().within(text); ok && f == alive {
			is.fate = alive
		}
		switch {
		case is.fate != noFate:
			if now = is; is.fate != alive {
				fates = cmp.Or(fates, r.Line)
			}
		case is.sex != 0:
			now.sex, sexes = is.sex, cmp.Or(sexes, r.Line)
		case strings.ContainsFunc(text, unicode.IsLetter): // a year goes on with what is dead
			now, title, at = said{}, text, r.Line
		}
	}
	if t.fate == noFate && fates > 0 {
		words := map[fate]string{died: "dead", left: "left", departed: "gone"}
		im.writeOver(t, colStatus, func(k int) string { return words[over[k].fate] })
		im.likely(Decision{Code: "fate_of_section", Sheet: t.Name, Line: fates, Column: "status", Taken: "what the line says",
			Text: fmt.Sprintf("lines over birds of sheet %q, as line %d, say what became of those beneath, down to the next such line", t.Name, fates)})
	}
	if t.sex == 0 && sexes > 0 {
		words := map[studbook.Sex]string{studbook.Male: studbook.Male.Word(), studbook.Female: studbook.Female.Word()}
		im.writeOver(t, colSex, func(k int) string { return words[over[k].sex] })
		im.likely(Decision{Code: "sex_of_section", Sheet: t.Name, Line: sexes, Column: "sex", Taken: "what the line says",
			Text: fmt.Sprintf("lines over birds of sheet %q, as line %d, say which sex those beneath are, down to the next such line", t.Name, sexes)})
	}
	if len(titles) > 1 && !t.has(colLocation) && !t.has(colParents) {
		im.likely(Decision{Code: "sections_not_read", Sheet: t.Name, Line: unread, Taken: "nothing",
			Text: fmt.Sprintf("%s over groups of birds of sheet %q, the first in line %d, say what nothing reads: where they are places, write those beside each bird", studbook.Counted(len(titles), "line", "lines"), t.Name, unread)})
	}
}

// sectionTitle returns the text of a row that is a line over birds.
func (im *importer) sectionTitle(t *table, r sheets.Row) (string, bool) {
	text, line := im.sectionLine(t, r)
	if !line && r.Used() == 1 {
		text = r.Cells[slices.IndexFunc(r.Cells, func(c sheets.Cell) bool { return c.Kind != sheets.Blank })].Text
		line = fateOfSheet(text) != noFate || sexOfSheet(text) != 0 || !strings.ContainsAny(text, "0123456789")
	}
	const most = 5 // words; more are a remark
	run := tokens(text)
	return text, line && len(run) > 0 && len(run) <= most && !totals()[run[0]] && !countsBirds(run)
}

// writeOver writes words into the blank cells of a column of a table, which gets one if it
// has none; the word is "" for rows that are no birds.
func (im *importer) writeOver(t *table, c column, word func(k int) string) {
	j := t.col[c]
	if j < 0 {
		j = t.addColumn(c, "by the lines above the birds")
	}
	for k := range t.body {
		if w := word(k); w != "" && t.body[k].At(j).Kind == sheets.Blank && t.body[k].Used() > 0 {
			t.body[k].Set(j, sheets.TextCell(w))
		}
	}
}

// sectionPairs gives the birds beneath a line with a pair, as "Pair 4: A12 x B7", that
// pair for parents, where the sheet has no column for them.
func (im *importer) sectionPairs(t *table) {
	for _, c := range []column{colSire, colDam, colParents, colNest, colGroup} {
		if t.has(c) {
			return
		}
	}
	j := len(t.head)
	pair, first := im.pairAbove(t)
	sire, dam := "", ""
	begun := false
	for k := range t.body {
		r := &t.body[k]
		if r.Used() == 0 {
			continue
		}
		text, line := im.sectionLine(t, *r)
		if !line {
			begun = false
			if pair != "" {
				r.Set(j, sheets.TextCell(pair))
			}
			continue
		}
		if !begun {
			pair, sire, dam = "", "", ""
		}
		begun = true
		a, b, ok := im.pairOfLine(text)
		switch x := sideOf(text); {
		case ok:
			pair = a + " x " + b
		case x.side == colSire && im.looksLikeID(x.who):
			sire = x.who
		case x.side == colDam && im.looksLikeID(x.who):
			dam = x.who
		}
		if !ok && sire != "" && dam != "" {
			pair, ok = sire+" x "+dam, true
		}
		if ok && first == 0 {
			first = r.Line
		}
	}
	if first == 0 {
		return
	}
	t.addColumn(colParents, "by the lines above the birds")
	im.likely(Decision{Code: "pair_of_section", Sheet: t.Name, Line: first, Column: "parents", Taken: "the parents of the birds beneath",
		Text: fmt.Sprintf("lines of sheet %q that name a pair, as line %d, are taken for the parents of the birds beneath, down to the next such line", t.Name, first)})
}

// pairAbove returns the pair that the lines above the header of a sheet name for the birds
// beneath, as a card of a nest does, and the line.
func (im *importer) pairAbove(t *table) (pair string, line int) {
	sire, dam := "", ""
	for _, r := range t.Rows {
		if r.Line >= t.headLine {
			break
		}
		if text, _ := im.sectionLine(t, r); text != "" {
			if a, b, ok := im.pairOfLine(text); ok {
				pair, line = a+" x "+b, r.Line
			}
		}
		for k, c := range r.Cells {
			x := sideOf(c.Text)
			if x.who == "" || x.side == unclaimed { // the label in one cell, the bird in the next
				x = sided{sideOf(strings.TrimRight(c.Text, ": ") + ": x").side, r.At(k + 1).Text}
			}
			if x.who == "" || !im.looksLikeID(x.who) && !isNobody(x.who) {
				continue
			}
			switch x.side {
			case colSire:
				sire = x.who
			case colDam:
				dam = x.who
			default:
				continue
			}
			line = r.Line
		}
	}
	if pair == "" && (im.looksLikeID(sire) || im.looksLikeID(dam)) {
		pair = cmp.Or(sire, "?") + " x " + cmp.Or(dam, "?")
	}
	if pair == "" {
		line = 0
	}
	return pair, line
}

// sectionLine returns the text of a row that is no bird: one cell alone, or one that
// begins with a word for a pair.
func (im *importer) sectionLine(t *table, r sheets.Row) (string, bool) {
	var parts []string
	for j, c := range r.Cells {
		if c.Kind != sheets.Blank && (j == 0 || c.Text != r.Cells[j-1].Text || !r.Merged) {
			parts = append(parts, c.Text)
		}
	}
	text := strings.Join(parts, " ")
	if im.saidOut(t, r.Line) {
		return "", true
	}
	if r.Merged || len(parts) == 1 && !im.looksLikeOwnID(t, r) {
		return text, true
	}
	if first, _ := cutWord(text); pairWords()[key(first)] && len(parts) > 1 {
		_, _, ok := im.pairOfLine(text)
		return text, ok
	}
	return "", false
}

// looksLikeOwnID reports whether the one cell of a row is the id of a bird without
// anything else known: it stands in the column of ids, and is one word.
func (im *importer) looksLikeOwnID(t *table, r sheets.Row) bool {
	id := t.get(r, colID)
	if id.Kind == sheets.Blank {
		id = t.get(r, colBand)
	}
	return id.Kind != sheets.Blank && !strings.ContainsAny(strings.TrimSpace(id.Text), " :")
}

var pairWords = wordSet("pair|pairs|paar|zuchtpaar|brutpaar|couple|pareja|casal|coppia|koppel|kweekkoppel|nest|nid|nido|ninho|box|clutch|brood|gelege|nistkasten|parents|eltern|padres|pais|genitori|ouders")

// pairOfLine reads the two birds that a line names: each must look like an id of the
// file, or say that nobody is known, and one at least must be a bird.
func (im *importer) pairOfLine(text string) (first, second string, ok bool) {
	return pairIn(text, im.looksLikeID)
}

// pairIn is pairOfLine with another word on what is a bird.
func pairIn(text string, isBird func(string) bool) (first, second string, ok bool) {
	tries := []string{text}
	for _, sep := range []string{":", " – ", " — ", " - ", ". "} {
		if _, rest, found := strings.Cut(text, sep); found {
			tries = append(tries, rest)
		}
	}
	if head, rest := cutWord(text); rest != "" && pairWords()[key(head)] {
		tries = append(tries, rest)
		if _, after := cutWord(rest); after != "" {
			tries = append(tries, after)
		}
	}
	for _, s := range tries {
		s = strings.TrimSpace(s)
		if strings.HasSuffix(s, ")") && strings.Count(s, "(") == 1 { // "(A12 x B7)", "A12 x B7 (box 4)"
			inner, outer, _ := inBrackets(s)
			for _, x := range []string{inner, outer, strings.Trim(s, "()")} {
				if first, second, ok = twoOfLine(x, isBird); ok {
					return first, second, true
				}
			}
		}
		if first, second, ok = twoOfLine(s, isBird); ok {
			return first, second, true
		}
	}
	return "", "", false
}

// twoOfLine cuts a text in two that are birds, or of which one is and the other nobody.
func twoOfLine(s string, isBird func(string) bool) (first, second string, ok bool) {
	for _, parts := range [][]string{crossWord().Split(s, -1), strings.Split(s, "/"), strings.Split(s, ","), strings.Split(s, ";"), strings.Split(s, " - "), strings.Split(s, " – ")} {
		if len(parts) != 2 {
			continue
		}
		a, b := sideOf(parts[0]), sideOf(parts[1])
		birdA, birdB := isBird(a.who), isBird(b.who)
		if !(birdA || isNobody(a.who)) || !(birdB || isNobody(b.who)) || !birdA && !birdB {
			continue
		}
		if damFirst(a, b) {
			a, b = b, a
		}
		return a.who, b.who, true
	}
	return "", "", false
}
