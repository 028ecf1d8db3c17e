package studbook

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Form says how the cells of a column are written.
type Form string

// The forms of cells.
const (
	FormID      Form = "id"      // names a bird, an institution or a row
	FormIDs     Form = "ids"     // names birds, with semicolons between them
	FormText    Form = "text"    // anything
	FormWord    Form = "word"    // one of Column.Words
	FormParent  Form = "parent"  // see ParseParentage
	FormDate    Form = "date"    // see ParseDate
	FormCount   Form = "count"   // a whole number from 0 up
	FormNumber  Form = "number"  // a number from Column.Low to Column.High
	FormNumbers Form = "numbers" // whole numbers from Low to High with semicolons between them
)

// Column is a column of a file as it is declared.
type Column struct {
	Name      string
	Needed    bool   // the file must have it
	Filled    bool   // and no cell of it may be blank
	Key       bool   // and no two may be the same
	Form      Form   // how its cells are written
	Of        string // the file whose rows the cells name, "studbook.csv" or "institutions.csv"; "" if none
	Means     string // in plain words, without full stop
	Unit      string // "" where there is none
	Words     []string
	OrWord    string // may stand in place of a number
	Low, High float64
}

// column is a Column with how its cells are read into a record and written
// from it. A column that the file lacks is read as blank cells.
type column[T any] struct {
	Column
	read  func(s spot, cell string, record *T)
	write func(record *T) string
}

// need returns the column as one that its file must have.
func (c column[T]) need() column[T] {
	c.Needed = true
	return c
}

// fill returns the column as one that must be there and of which no cell may
// be blank.
func (c column[T]) fill() column[T] {
	c.Needed, c.Filled = true, true
	return c
}

// key returns the column as one that must be there and tells rows apart.
func (c column[T]) key() column[T] {
	c.Key = true
	return c.fill()
}

// bird returns the column as one whose cells name birds of the studbook.
func (c column[T]) bird() column[T] {
	c.Of = studbookFile + ".csv"
	return c
}

// place returns the column as one whose cells name institutions.
func (c column[T]) place() column[T] {
	c.Of = institutionsFile + ".csv"
	return c
}

// plain declares a column of text.
func plain[T any](form Form, name, means string, at func(*T) *string) column[T] {
	return column[T]{
		Column: Column{Name: name, Form: form, Means: means},
		read:   func(_ spot, cell string, t *T) { *at(t) = cell },
		write:  func(t *T) string { return *at(t) },
	}
}

func idColumn[T any](name, means string, at func(*T) *string) column[T] {
	return plain(FormID, name, means, at)
}

func textColumn[T any](name, means string, at func(*T) *string) column[T] {
	return plain(FormText, name, means, at)
}

// idsColumn declares a column of birds. No id has a semicolon in it.
func idsColumn[T any](name, means string, at func(*T) *[]string) column[T] {
	return column[T]{
		Column: Column{Name: name, Form: FormIDs, Means: means},
		read: func(_ spot, cell string, t *T) {
			*at(t) = nil
			for id := range strings.SplitSeq(cell, ";") {
				if id = strings.TrimSpace(id); id != "" {
					*at(t) = append(*at(t), id)
				}
			}
		},
		write: func(t *T) string { return strings.Join(*at(t), "; ") },
	}
}

// dateColumn declares a column of dates; planned tells that they may lie in
// the future.
func dateColumn[T any](name, means string, planned bool, at func(*T) *Date) column[T] {
	return column[T]{
		Column: Column{Name: name, Form: FormDate, Means: means},
		read:   func(s spot, cell string, t *T) { *at(t) = s.date(name, cell, planned) },
		write:  func(t *T) string { return at(t).Text },
	}
}

// unknownDay is how a death on an unknown day is written.
const unknownDay = "unknown"

// deathColumn declares the column of deaths. A bird that died on an unknown day
// died between its hatch and the day of the files; settleDeaths narrows that.
func deathColumn(name, means string, at func(*Bird) *Date) column[Bird] {
	c := dateColumn(name, means, false, at)
	read := c.read
	c.read = func(s spot, cell string, b *Bird) {
		if read(s, cell, b); cell == "" || at(b).Known() {
			return
		}
		if _, err := ParseDate(cell); err == nil {
			*at(b) = Date{First: max(1, b.Hatch.First), Last: cmp.Or(s.r.colony.FilesDay, DayOf(9999, time.December, 31)), Text: unknownDay}
			at(b).Last = max(at(b).First, at(b).Last)
		}
	}
	return c
}

// countColumn declares a column of counts, -1 where a cell is blank.
func countColumn[T any](name, means, unit string, at func(*T) *int) column[T] {
	return column[T]{
		Column: Column{Name: name, Form: FormCount, Means: means, Unit: unit, High: mostOfAnything},
		read:   func(s spot, cell string, t *T) { *at(t) = s.count(name, cell) },
		write: func(t *T) string {
			if *at(t) < 0 {
				return ""
			}
			return strconv.Itoa(*at(t))
		},
	}
}

// countOrWord declares a column of counts in whose place a word may stand.
func countOrWord[T any](name, means, unit, word string, at func(*T) *int, said func(*T) *bool) column[T] {
	c := countColumn(name, means, unit, at)
	c.OrWord = word
	read, write := c.read, c.write
	c.read = func(s spot, cell string, t *T) {
		if *said(t) = strings.EqualFold(cell, word); *said(t) {
			cell = ""
		}
		read(s, cell, t)
	}
	c.write = func(t *T) string {
		if *said(t) {
			return word
		}
		return write(t)
	}
	return c
}

// numberColumn declares a column of numbers in a range. A blank cell is 0, one
// that cannot be read NaN, but then there is no colony. there tells whether a
// record's number is written.
func numberColumn[T any](name, means, unit string, low, high float64, at func(*T) *float64, there func(*T) bool) column[T] {
	return column[T]{
		Column: Column{Name: name, Form: FormNumber, Means: means, Unit: unit, Low: low, High: high},
		read: func(s spot, cell string, t *T) {
			*at(t) = 0
			if cell != "" {
				*at(t) = s.number(name, cell, low, high)
			}
		},
		write: func(t *T) string {
			if !there(t) {
				return ""
			}
			return strconv.FormatFloat(*at(t), 'f', -1, 64)
		},
	}
}

// complaint is what is said of a cell that holds none of its words.
type complaint struct{ code, message, help string }

// wordColumn declares a column of words, each for a value of a type. A blank
// cell, and one that is none of the words, has the value blank, which is
// written as such where no shown word is given for it.
func wordColumn[T any, V comparable](name, means string, words []word[V], blank V, wrong complaint, at func(*T) *V) column[T] {
	c := Column{Name: name, Form: FormWord, Means: means}
	for _, w := range words {
		if w.shown {
			c.Words = append(c.Words, w.text)
		}
	}
	return column[T]{
		Column: c,
		read: func(s spot, cell string, t *T) {
			*at(t) = blank
			if cell == "" {
				return
			}
			i := slices.IndexFunc(words, func(w word[V]) bool { return strings.EqualFold(w.text, cell) })
			if i < 0 {
				s.r.fault(s.at(name), wrong.code, wrong.message, wrong.help)
				return
			}
			*at(t) = words[i].value
		},
		write: func(t *T) string {
			i := slices.IndexFunc(words, func(w word[V]) bool { return w.shown && w.value == *at(t) })
			if i < 0 {
				return ""
			}
			return words[i].text
		},
	}
}

// sexColumn declares the column of the sexes of birds, in which a row of totals may
// have a count of them; checkRow leaves that out.
func sexColumn(name, means string, at func(*Bird) *Sex) column[Bird] {
	c := wordColumn(name, means, sexWords, Unsexed, badSex, at)
	read := c.read
	c.read = func(s spot, cell string, b *Bird) {
		if s.countsBirds(cell) {
			cell = ""
		}
		read(s, cell, b)
	}
	return c
}

// word is a word of a cell and what it stands for; shown words are written and
// documented, others are read alone.
type word[V any] struct {
	text  string
	value V
	shown bool
}

// parentColumn declares the column of a parent.
func parentColumn(name, means string, at func(*Bird) *Parentage) column[Bird] {
	return column[Bird]{
		Column: Column{Name: name, Form: FormParent, Means: means, Of: studbookFile + ".csv"},
		read: func(s spot, cell string, b *Bird) {
			if certain(cell) {
				at(b).Candidates = s.r.parent(cell)
				return
			}
			p, missing, err := ParseParentage(cell)
			if err != nil {
				s.r.fault(s.at(name), codeBadParent, "the possible parents cannot be read", err.Error())
			}
			if missing > 0 {
				s.r.short = append(s.r.short, b.ID)
			}
			*at(b) = p
		},
		write: func(b *Bird) string { return at(b).String() },
	}
}

// monthsColumn declares a column of numbers of months.
func monthsColumn[T any](name, means string, at func(*T) *[]time.Month) column[T] {
	return column[T]{
		Column: Column{Name: name, Form: FormNumbers, Means: means, Unit: "months", Low: 1, High: 12},
		read: func(s spot, cell string, t *T) {
			*at(t) = nil
			for part := range strings.FieldsFuncSeq(cell, func(c rune) bool { return c == ';' || c == ',' || c == ' ' }) {
				n, err := strconv.Atoi(part)
				if err != nil || n < 1 || n > 12 {
					s.r.fault(s.at(name), codeBadNumber, "these are not numbers of months", "write the months from 1 to 12 with semicolons between them, as 6;7")
					return
				}
				if !slices.Contains(*at(t), time.Month(n)) {
					*at(t) = append(*at(t), time.Month(n))
				}
			}
		},
		write: func(t *T) string {
			var parts []string
			for _, m := range *at(t) {
				parts = append(parts, strconv.Itoa(int(m)))
			}
			return strings.Join(parts, ";")
		},
	}
}

// spot is a row being read; its methods convert cells and report what they
// cannot read.
type spot struct {
	r    *reader
	t    *table
	row  int // index in t.rows
	line int
	cut  []string // its cells, if they are at hand
}

// cell returns what the row has in a column of ours, "" without that column.
func (s spot) cell(column string) string {
	if j, ok := s.t.at[column]; ok {
		return s.cellAt(j)
	}
	return ""
}

// cellAt returns what the row has in a column of the table.
func (s spot) cellAt(j int) string {
	switch {
	case s.cut == nil:
		return s.t.cell(s.row, j)
	case j < len(s.cut):
		return s.cut[j]
	}
	return ""
}

// at is the place of a cell of the row.
func (s spot) at(column string) place { return place{s.t.file, s.line, column, s.cell(column)} }

// whereUnknown says what a cell has where nothing is known of a day. A blank
// death_date is that of a living bird, and a blank until that of what lasts.
var whereUnknown = map[string]string{
	"hatch_date": ", or leave it blank if nothing is",
	"death_date": "; write unknown if it died on a day that nobody knows, and leave it blank only if it lives",
	"since":      ", or leave it blank if nothing is",
	"until":      ", and leave it blank only if it has not ended",
	"laid":       ", or leave it blank if nothing is",
}

// date converts a cell with a date.
func (s spot) date(column, cell string, planned bool) Date {
	d, err := ParseDate(cell)
	if err != nil {
		d, together, numbered := s.numbered(column, cell)
		if together {
			return d
		}
		help := err.Error()
		if errors.Is(err, errNoDate) || errors.Is(err, errNoYear) {
			help += whereUnknown[column]
		}
		s.r.fault(s.at(column), codeUnreadableDate, "the date cannot be read", help)
		if !numbered && (column == "death_date" || column == "until") {
			return s.lost(0, cell)
		}
		return d
	}
	if planned {
		return d
	}
	if today := s.r.opt.Today; today != 0 && d.First > today {
		s.r.warn(s.at(column), codeFutureDate, "the date is in the future", "check the year")
	}
	// What is on file has happened by the day of the files, so a year that is
	// still running ends there.
	if now := s.r.colony.FilesDay; now != 0 && d.First <= now {
		d.Last = min(d.Last, now)
	}
	return d
}

// mostOfAnything is the largest count that is believed.
const mostOfAnything = 1_000_000

// count converts a cell with a whole number of things, -1 if it is blank.
func (s spot) count(column, cell string) int {
	if cell == "" {
		return -1
	}
	n, err := strconv.Atoi(strings.TrimSuffix(strings.TrimSuffix(cell, ".0"), ",0"))
	if err != nil || n < 0 || n > mostOfAnything {
		s.r.fault(s.at(column), codeBadNumber, "this is not a count", "write a whole number from 0 up, or leave the cell blank")
		return -1
	}
	return n
}

// number converts a cell with a number in a range, ends included, NaN if it
// cannot.
func (s spot) number(column, cell string, low, high float64) float64 {
	x, err := parseNumber(cell)
	switch {
	case err != nil:
		s.r.fault(s.at(column), codeBadNumber, "this is not a number", fmt.Sprintf("write a number from %g to %g", low, high))
		return math.NaN()
	case !(x >= low && x <= high):
		s.r.fault(s.at(column), codeOutOfRange, fmt.Sprintf("the number is not between %g and %g", low, high), "correct it")
		return math.NaN()
	}
	return x
}

// needed reports a blank cell that its row cannot do without.
func (s spot) needed(column string) bool {
	blank := s.cell(column) == ""
	if blank && s.t.has(column) {
		help := "fill it in"
		if column == "id" {
			help += ", or delete the row if it is about no bird"
		}
		s.r.fault(s.at(column), codeMissingValue, "the cell is blank", help)
	}
	return !blank
}
