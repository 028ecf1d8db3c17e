package exchange

import (
	"cmp"
	"fmt"
	"math/bits"
	"slices"
	"strings"
	"time"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

// dateOrder decides the order of numeric dates for a whole file.
type dateOrder struct {
	order string // "" where there is none to decide
	proof string // what decided it, in words
	any   bool   // every date of the file is the same in any order
}

// matters reports whether some date would be another day in another order.
func (o dateOrder) matters() bool { return o.order != "" && !o.any }

// seen is a cell that bears on the order of dates.
type seen struct {
	t      *table
	line   int
	column column
	own    string // the name of its column in a file of the folder
	text   string
	set    byte
}

// called is the name of its column.
func (s seen) called() string { return cmp.Or(s.own, s.column.String()) }

func (s seen) String() string { return fmt.Sprintf("%q in %s line %d", s.text, s.t.Name, s.line) }

// decideOrder looks at every date of the file.
func (im *importer) decideOrder() {
	clear(im.dates) // they were read without an order
	if o := im.opt.Mapping.Dates; o != "" {
		im.order = dateOrder{order: o, proof: "you said so"}
		return
	}
	e := im.orderEvidence()
	var proven []int
	for i := range e.proof {
		if e.proof[i].t != nil {
			proven = append(proven, i)
		}
	}
	switch {
	case len(proven) == 1:
		proof := e.proof[proven[0]]
		im.order = dateOrder{order: orders[proven[0]], proof: proof.String() + " can be read in this order alone"}
		if proof.column == unclaimed && proof.own == "" {
			im.order.proof = fmt.Sprintf("the heading %q says so", proof.text)
		}
	case len(proven) > 1:
		a, b := e.proof[proven[0]], e.proof[proven[1]]
		im.stop(Decision{Code: "date_orders_disagree", Sheet: b.t.Name, Line: b.line, Column: b.called(), Value: b.text, Choice: b.orderChoice(false),
			Text: fmt.Sprintf("the dates are not all in one order: %s can only be %s, %s only %s", a, inWords(orders[proven[0]]), b, inWords(orders[proven[1]]))})
	case e.first.t == nil:
	case oneOrder(e.common):
		im.order = dateOrder{order: orders[bits.TrailingZeros8(e.common)], proof: "it is the only order in which every date of the file can be read, " + e.first.String() + " among them"}
	case e.open.t == nil:
		im.order = dateOrder{order: "dmy", proof: "no date depends on it", any: true}
	case im.orderOfLives(e.common):
	default:
		im.stop(Decision{Code: "date_order", Sheet: e.open.t.Name, Line: e.open.line, Column: e.open.called(), Value: e.open.text, Choice: e.open.orderChoice(true),
			Text: fmt.Sprintf("no date of the file shows whether the day or the month comes first: %s could be %s", e.open, e.open.choices())})
	}
}

// orderEvidence is what the dates of a file say of their order.
type orderEvidence struct {
	proof  [len(orders)]seen // by order, the first that can be read in it alone; without a table where there is none
	common byte              // the orders in which all can be read
	first  seen              // the first that is of numbers at all
	open   seen              // the first that is another day in another order
}

func (im *importer) orderEvidence() orderEvidence {
	e := orderEvidence{common: 1<<len(orders) - 1}
	for _, t := range im.tables {
		if i := slices.Index(orders[:], t.order); i >= 0 && e.proof[i].t == nil {
			e.proof[i] = seen{t: t, line: t.headLine, text: t.orderBy, set: 1 << i}
		}
		for _, j := range t.ownDates() {
			for _, r := range t.body {
				if text := r.At(j).Text; !readable(text) {
					e.take(seen{t: t, line: r.Line, own: t.head[j], text: text})
				}
			}
		}
		for c := range columnCount {
			if !isDateColumn(c) || !t.has(c) {
				continue
			}
			for _, r := range t.body {
				if x := t.get(r, c); x.Kind == sheets.Words && len(x.Text) >= 5 {
					e.take(seen{t: t, line: r.Line, column: c, text: x.Text})
				}
			}
		}
	}
	return e
}

// take looks at one date.
func (e *orderEvidence) take(s seen) {
	n, width, mark, ok := triple(s.text)
	if !ok {
		return
	}
	if s.set = readings(n, width, mark); s.set == 0 {
		return
	}
	if e.first.t == nil {
		e.first = s
	}
	e.common &= s.set
	if oneOrder(s.set) {
		if i := bits.TrailingZeros8(s.set); e.proof[i].t == nil {
			e.proof[i] = s
		}
	} else if e.open.t == nil && differs(n, width, s.set) {
		e.open = s
	}
}

// oneOrder reports whether a set of orders has a single one.
func oneOrder(set byte) bool { return bits.OnesCount8(set) == 1 }

// orderOfLives takes the one order of a set in which no bird hatched before its parent or
// after its death, if in each other several did. It reports whether there is one.
func (im *importer) orderOfLives(set byte) bool {
	const enough = 3 // lives that cannot be; one or two may be slips
	best, example := "", ""
	for i, o := range orders {
		if set&(1<<i) == 0 {
			continue
		}
		switch n, first := im.impossibleLives(o); {
		case n >= enough:
			example = first
		case n > 0 || best != "":
			return false
		default:
			best = o
		}
	}
	if best == "" || example == "" {
		return false
	}
	im.order = dateOrder{order: best, proof: "in any other order birds would hatch before a parent or after their death, " + example + " among them"}
	return true
}

// impossibleLives counts the birds that in an order of dates hatched after their death or
// not after a parent, and names the first.
func (im *importer) impossibleLives(order string) (n int, first string) {
	defer func() {
		im.order = dateOrder{}
		clear(im.dates)
	}()
	im.order = dateOrder{order: order}
	clear(im.dates)
	hatch := make(map[string]date)
	read := func(t *table, r sheets.Row, c column) date {
		d, _ := im.readDate(t.get(r, c))
		return d
	}
	each := func(do func(*table, sheets.Row)) {
		for _, t := range im.tables {
			if t.kind == birdRows && t.has(colID) && t.has(colHatch) {
				for _, r := range t.body {
					do(t, r)
				}
			}
		}
	}
	each(func(t *table, r sheets.Row) { hatch[t.get(r, colID).Text] = read(t, r, colHatch) })
	each(func(t *table, r sheets.Row) {
		own := read(t, r, colHatch)
		if !own.known() {
			return
		}
		died := read(t, r, colDeath)
		wrong := died.known() && died.last < own.first
		for _, c := range []column{colSire, colDam, colParents} {
			text := t.get(r, c).Text
			for _, id := range append(splitAny(text), text) {
				p, there := hatch[id]
				wrong = wrong || there && p.known() && p.first >= own.last
			}
		}
		if wrong {
			if n++; n == 1 {
				first = t.get(r, colID).Text
			}
		}
	})
	return n, first
}

// swapped tells of a column in which days of the month above 12 stand as text and
// those up to 12 as dates: a spreadsheet of a country that writes the month first took
// the typed dates for others as far as it could.
func (im *importer) swapped() {
	const enough = 3 // of each kind
	for _, t := range im.tables {
		if im.src.format == "csv" || t.fixed != nil {
			continue
		}
		for c := range columnCount {
			if !isDateColumn(c) || !t.has(c) {
				continue
			}
			texts, days, late, line := 0, 0, 0, 0
			for _, r := range t.body {
				switch x := t.get(r, c); x.Kind {
				case sheets.Day:
					if days++; line == 0 {
						line = r.Line
					}
					if dayOf(x).Time().Day() > 12 {
						late++
					}
				case sheets.Words:
					if n, width, mark, ok := triple(x.Text); ok && len(x.Text) <= 10 {
						if oneOrder(readings(n, width, mark)) {
							texts++
						}
					}
				}
			}
			if texts < enough || days < enough || late > 0 {
				continue
			}
			im.likely(Decision{Code: "dates_perhaps_swapped", Sheet: t.Name, Line: line, Column: c.String(), Value: t.head[t.col[c]], Taken: "as they are stored",
				Text: fmt.Sprintf("in column %q all %s with a day above 12 are text and all %s stored as dates have one up to 12: a spreadsheet seems to have taken the day for the month; compare line %d with what was typed", t.head[t.col[c]], studbook.Counted(texts, "date", "dates"), studbook.Counted(days, "cell", "cells"), line)})
		}
	}
}

// triple finds three numbers that may be a date: how long each is, and what
// stands between them.
func triple(s string) (n, width [3]int, mark byte, ok bool) {
	for i := 0; i < len(s); i++ {
		if s[i] < '0' || s[i] > '9' || i > 0 && (s[i-1] >= '0' && s[i-1] <= '9' || isLetter(s[i-1])) {
			continue
		}
		at, k := i, 0
		mark = 0
		for ; k < 3; k++ {
			n[k], width[k] = 0, 0
			for at < len(s) && s[at] >= '0' && s[at] <= '9' && width[k] < 5 {
				n[k] = n[k]*10 + int(s[at]-'0')
				width[k]++
				at++
			}
			if width[k] == 0 || width[k] > 4 || width[k] == 3 {
				break
			}
			if k == 2 {
				break
			}
			gap := at
			for gap < len(s) && s[gap] == ' ' {
				gap++
			}
			if gap < len(s) && strings.IndexByte("./-", s[gap]) >= 0 {
				if k == 1 && mark != s[gap] && !(mark == '/' && s[gap] == '-') { // 13/8-2007, as in the north
					break
				}
				mark = s[gap]
				gap++
			} else if gap == at {
				break
			} else if k == 1 && mark != ' ' {
				break
			} else {
				mark = ' '
			}
			for gap < len(s) && s[gap] == ' ' {
				gap++
			}
			at = gap
		}
		if k == 2 && width[2] > 0 && width[2] != 3 && width[2] < 5 && (at == len(s) || s[at] < '0' || s[at] > '9') {
			return n, width, mark, true
		}
	}
	return n, width, 0, false
}

// orders are the orders of numbers in a date.
var orders = [...]string{"dmy", "mdy", "ymd"}

// readings returns which orders the calendar allows for three numbers, as a
// set of bits in the order of orders; 0 if their order is plain or there is
// none.
func readings(n, width [3]int, mark byte) (set byte) {
	if width[0] == 4 || width[1] > 2 {
		return 0
	}
	for i, o := range orders {
		if o == "ymd" && (width[2] == 4 || mark == '.') {
			continue
		}
		if y, m, d, _ := inOrder(n, width, o); d > 0 && inCalendar(y, m, d) {
			set |= 1 << i
		}
	}
	return set
}

// inOrder returns three numbers as a year, a month and a day; the day is 0 where they
// are none. A short year, one of two digits, is taken in this century.
func inOrder(n, width [3]int, order string) (y, m, d int, short bool) {
	y, m, d = n[2], n[1], n[0]
	wide := width[2]
	switch {
	case width[0] == 4 || order == "ymd":
		y, d, wide = n[0], n[2], width[0]
	case order == "mdy":
		m, d = n[0], n[1]
	}
	if m == 0 || wide == 1 { // nobody writes a year with one digit
		return 0, 0, 0, false
	}
	if short = wide <= 2; short {
		y += 2000
	}
	return y, m, d, short
}

// arranged makes a date of three numbers in an order.
func arranged(n, width [3]int, order string) (date, bool) {
	y, m, d, short := inOrder(n, width, order)
	if d == 0 {
		return date{}, false
	}
	out, ok := simple(y, m, d, "")
	out.short = short
	return out, ok
}

// differs reports whether the orders in a set give different days.
func differs(n, width [3]int, set byte) bool {
	var day studbook.Day
	for i, o := range orders {
		if set&(1<<i) == 0 {
			continue
		}
		d, _ := arranged(n, width, o)
		if day != 0 && d.first != day {
			return true
		}
		day = d.first
	}
	return false
}

// choices writes the readings of a cell out.
func (s seen) choices() string {
	n, width, _, _ := triple(s.text)
	var out []string
	for i, o := range orders {
		if s.set&(1<<i) == 0 {
			continue
		}
		if d, ok := arranged(n, width, o); ok {
			out = append(out, fmt.Sprintf("%d %s %d", d.d, time.Month(d.m), d.y))
		}
	}
	return strings.Join(out, " or ")
}

func inWords(order string) string {
	return map[string]string{"dmy": "day-month-year", "mdy": "month-day-year", "ymd": "year-month-day"}[order]
}
