package studbook

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"
)

// numbersOfDate finds three numbers that may be a date in an order other than ours, as
// spreadsheets of many countries write it: 20.01.2004, 1/20/04, 2004/01/20.
var numbersOfDate = pattern(`^([0-9]{1,2}|[0-9]{4})[-/. ]+([0-9]{1,2})[-/. ]+([0-9]{4}|[0-9]{2})\.?$`)

// dateOrder is an order of year, month and day in numbers.
type dateOrder byte

const (
	orderDMY dateOrder = iota
	orderMDY
	orderYMD
	dateOrders
)

var orderWords = [dateOrders]string{"day.month.year", "month/day/year", "year/month/day"}

// inOrders returns the days that a cell with three numbers is in each order, 0 where the
// calendar has none, and whether it is such a cell at all. A year of two digits is the
// latest that is not after today.
func inOrders(cell string, today Day) (days [dateOrders]Day, ok bool) {
	m := numbersOfDate().FindStringSubmatch(cell)
	if m == nil || len(m[1]) == 4 && len(m[3]) == 4 {
		return days, false
	}
	a, b, c := atoi(m[1]), atoi(m[2]), atoi(m[3])
	if len(m[1]) == 4 {
		days[orderYMD], ok = dayOf(a, b, c)
		return days, ok
	}
	day := func(year, month, day int) Day {
		if len(m[3]) == 4 {
			d, _ := dayOf(year, month, day)
			return d
		}
		d, _ := dayOf(2000+year, month, day)
		if earlier, fits := dayOf(1900+year, month, day); fits && (d == 0 || today != 0 && d > today) {
			return earlier
		}
		return d
	}
	days[orderDMY], days[orderMDY] = day(c, b, a), day(c, a, b)
	return days, days != [dateOrders]Day{}
}

// foreignDates are the dates of a file that are written in another order than ours.
type foreignDates struct {
	count   int
	columns []string
	first   [2]place           // where two of them are
	proof   [dateOrders]string // by order, the first that is a day in it alone
}

// foreignDates looks through the dates of a table once one of them was found to be none.
func (t *table) foreignDates() *foreignDates {
	t.lookAtDates.Do(func() {
		f := &foreignDates{}
		for i := range t.rows {
			for _, j := range t.dated {
				cell := t.cell(i, j)
				if _, fits := plainDay(cell); fits || cell == "" {
					continue
				}
				if _, err := ParseDate(cell); err != nil {
					f.take(place{t.file, int(t.rows[i].line), t.ours[j], cell})
				}
			}
		}
		t.foreign = f
	})
	return t.foreign
}

func (f *foreignDates) take(at place) {
	days, ok := inOrders(at.value, 0)
	if !ok {
		return
	}
	if f.count < len(f.first) {
		f.first[f.count] = at
	}
	f.count++
	if !slices.Contains(f.columns, at.column) {
		f.columns = append(f.columns, at.column)
	}
	alone, orders := 0, 0
	for o, d := range days {
		if d != 0 {
			alone, orders = o, orders+1
		}
	}
	if orders == 1 {
		f.proof[alone] = cmp.Or(f.proof[alone], at.value)
	}
}

// order returns an order that some of the dates can be read in alone, and how many such
// orders there are.
func (f *foreignDates) order() (o dateOrder, orders int) {
	for i, p := range f.proof {
		if p != "" {
			o, orders = dateOrder(i), orders+1
		}
	}
	return o, orders
}

// shownOrder is the order that the files read so far show, of dates that are not in ours.
type shownOrder struct {
	order dateOrder
	shown bool // a file has dates in another order than ours
	known bool // and they show which
}

// of returns the order of the dates of a file, and whether they are told in one finding: what
// is so of a whole file is one fault, and where it is so of another it is no slip in this.
func (x shownOrder) of(f *foreignDates) (out shownOrder, together bool) {
	const few = 3
	o, orders := f.order()
	switch {
	case orders == 1:
		out = shownOrder{o, true, true}
	case orders == 0:
		out = shownOrder{x.order, true, x.known}
	}
	return out, orders < 2 && (f.count > few || x.shown && (out == x || !x.known))
}

// numbered deals with a cell that is a date in another order than ours. It returns what
// the date can be, so that no check takes the bird for one without it, and whether the cell
// is told together with others; ok is false if it is no such cell.
func (s spot) numbered(column, cell string) (d Date, together, ok bool) {
	days, ok := inOrders(cell, s.r.opt.Today)
	if !ok || s.t.dated == nil {
		return Date{}, false, false
	}
	f := s.t.foreignDates()
	x, together := s.r.shown.of(f)
	for k, day := range days {
		if day == 0 || x.known && days[x.order] != 0 && x.order != dateOrder(k) {
			continue
		}
		if d.First == 0 || day < d.First {
			d.First = day
		}
		d.Last = max(d.Last, day)
	}
	d.Text = cell
	if at := f.first[0]; together && at.line == s.line && at.column == column {
		s.foreignOrder(f, x)
	}
	return d, together, true
}

// foreignOrder tells of all dates of a file that are written in another order than ours.
func (s spot) foreignOrder(f *foreignDates, x shownOrder) {
	days, _ := inOrders(f.first[0].value, s.r.opt.Today)
	example := days[x.order]
	written := "with the year last, and none shows whether the day or the month comes first"
	if x.known {
		written = "as " + orderWords[x.order]
	}
	if example == 0 {
		example = DayOf(2004, time.January, 20)
	}
	in := ""
	if len(f.columns) > 1 {
		in = " (" + SomeOf(f.columns, len(f.columns)) + ")"
	}
	what := fmt.Sprintf("the date is written %s", written)
	if f.count > 1 {
		what = fmt.Sprintf("%s dates of this file%s are written %s; another is %q in line %d", Number(f.count), in, written, f.first[1].value, f.first[1].line)
	}
	if proof := f.proof[x.order]; proof != "" && proof != f.first[0].value && proof != f.first[1].value {
		what += fmt.Sprintf(", and %q can be read so alone", proof)
	}
	help := fmt.Sprintf("in the spreadsheet give the columns of dates the format YYYY-MM-DD, and save the file again: %s", example)
	if name := s.r.colony.Source; name == studbookFile+".csv" || workbookName(name) {
		order := "the order that the dates of the folder show"
		if !x.known {
			order = "the order that you say"
		}
		help = fmt.Sprintf("import %s into a new folder: every file is written anew there, with %s, as %s; or %s", name, order, example, help)
	}
	s.r.fault(f.first[0], CodeDateOrder, what, help)
}

// lost is a date that is there and cannot be read, for what hangs on whether there is one:
// some day up to that of the files.
func (s spot) lost(from Day, cell string) Date {
	last := cmp.Or(s.r.colony.FilesDay, DayOf(9999, time.December, 31))
	return Date{First: max(1, min(from, last)), Last: last, Text: strings.TrimSpace(cell)}
}
