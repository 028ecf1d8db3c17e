package exchange

import (
	"strconv"
	"strings"
	"sync"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

// sortRows keeps the rows of data and leaves out the others, each with the
// reason.
func (im *importer) sortRows() {
	cited := sync.OnceValue(im.citedKeys)
	for _, t := range im.tables {
		if t.fixed != nil {
			im.report.RowsRead += im.counts(t, len(t.body))
			continue
		}
		if im.counts(t, 1) > 0 {
			// Those above the header are counted already.
			for _, l := range im.report.LeftOut {
				if l.Sheet == t.Name {
					im.report.RowsRead++
				}
			}
		}
		im.report.RowsRead += im.counts(t, len(t.body))
		idLike := t.idLike(cited)
		kept := make([]sheets.Row, 0, len(t.body))
		for _, r := range t.body {
			reason := ""
			switch {
			case im.saidOut(t, r.Line):
				reason = "left out on your word"
			case t.eggRow(r) && !cited()[key(t.get(r, colID).Text)]:
				reason = "an egg that did not hatch"
			default:
				reason = t.plainRow(r, idLike, im.looksLikeID)
			}
			if reason == "" {
				kept = append(kept, r)
				continue
			}
			if im.counts(t, 1) > 0 {
				im.leave(t, r, reason)
			}
			if reason == "a total" || strings.HasPrefix(reason, "a section") {
				im.ownTotal(t, r)
			}
		}
		t.body = kept
		for _, r := range t.Rows {
			if r.Line < t.headLine {
				im.ownTotal(t, r)
			}
		}
	}
}

// counts returns n for tables whose rows are counted as birds are.
func (im *importer) counts(t *table, n int) int {
	if t.kind == birdRows || t.kind == eventRows {
		return n
	}
	return 0
}

// saidOut reports whether the mapping leaves a row out, saidApart whether it has it as one
// of another bird than the one whose id it has.
func (im *importer) saidOut(t *table, line int) bool {
	return im.inRows(im.opt.Mapping.LeaveOut, &im.leftOut, t, line)
}

func (im *importer) saidApart(t *table, line int) bool {
	return im.inRows(im.opt.Mapping.Apart, &im.setApart, t, line)
}

// inRows reports whether a row is in a list of the mapping; byLine are the list's places, made
// when first needed.
func (im *importer) inRows(list []string, byLine *map[int][]int, t *table, line int) bool {
	if *byLine == nil {
		*byLine = make(map[int][]int)
		for k, l := range list {
			if _, number := rowSaid(l); number > 0 {
				(*byLine)[number] = append((*byLine)[number], k)
			}
		}
	}
	for _, k := range (*byLine)[line] {
		if name, _ := rowSaid(list[k]); name == "" || strings.EqualFold(name, t.Name) {
			im.met[&list[k]] = true
			return true
		}
	}
	return false
}

// rowSaid cuts "sheet:line", or a line alone, apart; the number is 0 if it is none.
func rowSaid(s string) (sheet string, number int) {
	name, digits, ok := cutLast(s, ":")
	if !ok {
		name, digits = "", s
	}
	number, _ = strconv.Atoi(strings.TrimSpace(digits))
	return strings.TrimSpace(name), number
}

// idLike tells what in a row of its own may be an id of a table: what parents are called, or
// what has the shape of its ids.
func (t *table) idLike(cited func() map[string]bool) func(string) bool {
	shapes := sync.OnceValue(func() map[string]bool {
		shapes := make(map[string]bool)
		for _, r := range t.body {
			if id := t.get(r, colID).Text; id != "" && r.Used() > 1 {
				shapes[shape(id)] = true
			}
		}
		return shapes
	})
	return func(s string) bool {
		year := len(s) == 4 && yearOnly().MatchString(s)
		return cited()[key(s)] || strings.ContainsAny(s, "0123456789") && !year && shapes()[shape(s)]
	}
}

// plainRow sorts out the rows beneath a header that are no rows of data:
// blank, a section's name, the header again, a total. It returns the reason,
// "" for a row of data. idLike tells what looks like an id or is cited as
// one, isID the ids of the file.
func (t *table) plainRow(r sheets.Row, idLike, isID func(string) bool) string {
	used := r.Used()
	if used == 0 {
		return "blank"
	}
	if r.Merged {
		return "a section's name"
	}
	same, ruled, first := 0, 0, ""
	for j, c := range r.Cells {
		if c.Kind == sheets.Blank {
			continue
		}
		if len(c.Text) > 1 && strings.Trim(c.Text, "-=_:–—") == "" {
			ruled++
		}
		if first == "" {
			first = c.Text
		}
		if c.Kind == sheets.Words && j < len(t.headKeys) && t.head[j] != "" && hasKey(c.Text, t.headKeys[j]) {
			same++
		}
	}
	if same >= 2 && same*2 >= used || same == used {
		return "the header again"
	}
	if ruled == used {
		return "a ruled line"
	}
	if run := tokens(first); len(run) > 0 && (totals()[run[0]] || countsBirds(run)) && !t.descends(r, isID) {
		return "a total"
	}
	if used == 1 {
		if id := t.get(r, colID); id.Kind != sheets.Blank && idLike(id.Text) {
			return ""
		}
		return "a section's name or a remark"
	}
	if run := tokens(first); len(run) > 0 && used <= 3 && footers()[run[0]] && !t.descends(r, isID) {
		return "a remark"
	}
	return ""
}

// eggRow reports whether a row is of an egg that hatched no chick: a result says so,
// and no sex is known.
func (t *table) eggRow(r sheets.Row) bool {
	for _, c := range []column{colStatus, colDeath, colDepartureReason, colDeathCause} {
		x := t.get(r, c)
		if n := len(x.Text); x.Kind != sheets.Words || n > 30 || x.Text[n-1] <= '9' || !eggWords()[key(x.Text)] { // most are dates
			continue
		}
		sex := t.get(r, colSex)
		if s, ok := sexWords().whole(sex.Text); sex.Kind == sheets.Blank || ok && s == studbook.Unsexed {
			return true
		}
	}
	return false
}

// eggWords are words for eggs that did not hatch.
var eggWords = wordSet("infertile|infertile egg|clear|clear egg|unfertilised|unfertilized|dis|dead in shell|dead in egg|addled|did not hatch|not hatched|unhatched|failed to hatch|broken|broken egg|egg broken|embryonic death|embryo death|" +
	"unbefruchtet|klar|taub|abgestorben|steckengeblieben|im ei abgestorben|nicht geschlüpft|clair|non fécondé|infécond|non éclos|mort en coquille|mort dans l'œuf|huero|infértil|claro|no eclosionado|no nacido|muerto en cascarón|muerto en el huevo|roto|gorado|não eclodiu|morto no ovo|" +
	"infecondo|chiaro|non schiuso|morto nell'uovo|onbevrucht|schier|niet uitgekomen|dood in ei|dood in het ei|afgestorven")

// footers are words that begin what programs and keepers write beneath a table.
var footers = wordSet("page|printed|created|generated|exported|updated|report|source|legend|key|note|notes|nb|explanation|abbreviations|seite|gedruckt|erstellt|stand|legende|quelle|hinweis|anmerkung|erläuterung|abkürzungen|" +
	"imprimé|édité|généré|légende|remarque|página|impreso|impresa|generado|leyenda|fuente|nota|impresso|gerado|legenda|fonte|pagina|stampato|stampata|generato|afgedrukt|gemaakt|bron|opmerking")

// countsBirds reports whether the words of a cell count birds, as "45 Tiere" or
// "12.15.3 birds on 1 January".
func countsBirds(run []string) bool {
	if strings.Trim(run[0], "0123456789") != "" {
		return false
	}
	for _, w := range run[1:] {
		if strings.Trim(w, "0123456789") != "" {
			return herds()[w] || totals()[w]
		}
	}
	return false
}

// descends reports whether a row has a parent or a day of hatching, so that it is of
// a bird; in a row of sums the numbers of birds stand there. isID tells ids of the
// file.
func (t *table) descends(r sheets.Row, isID func(string) bool) bool {
	for _, c := range []column{colSire, colDam, colParents} {
		if x := t.get(r, c); x.Kind == sheets.Words && strings.Trim(x.Text, "0123456789.,") != "" || x.Kind != sheets.Blank && isID(x.Text) {
			return true
		}
	}
	switch x := t.get(r, colHatch); x.Kind {
	case sheets.Day:
		return true
	case sheets.Words:
		return yearOnly().MatchString(x.Text) || strings.Trim(x.Text, "0123456789") != ""
	case sheets.Number:
		return x.Num >= 1500 && x.Num < 2200
	}
	return false
}

// shape is the pattern of an id: runs of letters and digits, and what stands
// between them.
func shape(id string) string {
	var b strings.Builder
	last := byte(0)
	for i := range len(id) {
		c := id[i]
		switch {
		case c >= '0' && c <= '9':
			c = '9'
		case isLetter(c) || c >= 0x80:
			c = 'A'
		}
		if c != last {
			b.WriteByte(c)
		}
		last = c
	}
	return b.String()
}
