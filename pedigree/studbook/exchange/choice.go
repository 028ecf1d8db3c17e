package exchange

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"sync"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

// Subject is what a choice is about.
type Subject string

// The subjects of choices.
const (
	OfColumn  Subject = "column"  // which heading of theirs is a column of ours
	OfHeading Subject = "heading" // which column of ours a heading of theirs is
	OfDates   Subject = "dates"   // the order of numeric dates
	OfWord    Subject = "word"    // what a word for a sex, a fate or an event means, or an id
	OfParent  Subject = "parent"  // who a parent is that has no row
	OfRow     Subject = "row"     // which of two rows to leave out, or whether the second is of another bird
	OfBonds   Subject = "bonds"   // whether parents of the same chicks are pairs
)

// Choice is one thing that a mapping decides, and what it may be: what a person
// is asked, and answers with one of May.
type Choice struct {
	Subject Subject
	Sheet   string // of a column or heading
	Of      string // our column; of a word "id", "sex", "fate" or "event"
	Word    string // theirs: a heading, a word, a parent
	May     []Option
	Taken   string // the answer that stands; meaningless where the import stopped for it

	unnamed bool // nothing in the file is named so
}

// of says what is chosen, other than for another choice.
func (c *Choice) of() string {
	parts := []string{string(c.Subject), c.Sheet, c.Of, c.Word}
	if c.Subject == OfRow {
		for _, o := range c.May {
			parts = append(parts, o.Answer)
		}
	}
	return strings.Join(parts, "\x00")
}

// ofColumns reports whether the choice is settled by naming a column.
func (c *Choice) ofColumns() bool { return c.Subject == OfColumn || c.Subject == OfHeading }

// meanings lists what a word may mean, for a remark.
func (c *Choice) meanings() string {
	quoted := make([]string, len(c.May))
	for k, o := range c.May {
		quoted[k] = strconv.Quote(o.Answer)
	}
	text := studbook.AnyOf(quoted)
	if c.Of == "fate" && c.Word == "" {
		text = "what a departure without a reason is: " + text
	}
	return text
}

// Option is an answer to a choice, with what the file has for it.
type Option struct {
	Answer   string
	Examples []string
}

// The answers to a choice that name nothing of the file.
const (
	// Nothing says that the file has no such column, or that a heading is none
	// of ours and is carried over as it stands.
	Nothing       = ""
	UnknownParent = "unknown"
	WildParent    = "wild"
	BirdNoRow     = "bird" // a parent that is a bird without a row of its own
	// BondsOfParents says that living birds whose last chicks are of each other are
	// pairs.
	BondsOfParents = "parents"
)

// Decide returns the mapping with an answer to a choice laid over it. The error
// says what is no answer.
func (m Mapping) Decide(c Choice, answer string) (Mapping, error) {
	m = m.Over(Mapping{}) // a copy
	name := func(ours, heading string) {
		if m.SheetColumns[c.Sheet] == nil {
			m.SheetColumns[c.Sheet] = make(map[string]string)
		}
		m.SheetColumns[c.Sheet][ours] = heading
		m.Carry = dropped(m.Carry, heading)
		m.Without = dropped(m.Without, ours)
	}
	switch c.Subject {
	case OfColumn:
		if answer == Nothing {
			delete(m.SheetColumns[c.Sheet], c.Of)
			m.Without = union(m.Without, []string{c.Of})
			break
		}
		name(c.Of, answer)
	case OfHeading:
		for _, of := range []map[string]string{m.Columns, m.SheetColumns[c.Sheet]} {
			for ours, heading := range of {
				if heading == c.Word {
					delete(of, ours)
				}
			}
		}
		if answer == Nothing {
			m.Carry = union(m.Carry, []string{c.Word})
			break
		}
		name(answer, c.Word)
	case OfDates:
		m.Dates = answer
	case OfWord:
		if m.Words[c.Of] == nil {
			m.Words[c.Of] = make(map[string]string)
		}
		m.Words[c.Of][c.Word] = answer
	case OfParent:
		m.Unknown, m.Wild = dropped(m.Unknown, c.Word), dropped(m.Wild, c.Word)
		switch answer {
		case UnknownParent:
			m.Unknown = append(m.Unknown, c.Word)
		case WildParent:
			m.Wild = append(m.Wild, c.Word)
		}
	case OfRow:
		if row, apart := ApartRow(answer); apart {
			m.Apart = union(m.Apart, []string{row})
			break
		}
		m.LeaveOut = union(m.LeaveOut, []string{answer})
	case OfBonds:
		m.Bonds = answer
	default:
		return m, fmt.Errorf("nothing is decided about %q", c.Subject)
	}
	return m, m.Check()
}

func dropped(list []string, s string) []string {
	return slices.DeleteFunc(slices.Clone(list), func(x string) bool { return x == s })
}

// Decided are the choices that the mapping answers, each with its answer.
func (m Mapping) Decided() []Choice {
	var out []Choice
	columns := func(sheet string, of map[string]string) {
		for _, ours := range slices.Sorted(maps.Keys(of)) {
			out = append(out, Choice{Subject: OfColumn, Sheet: sheet, Of: ours, Taken: of[ours]})
		}
	}
	columns("", m.Columns)
	for _, sheet := range slices.Sorted(maps.Keys(m.SheetColumns)) {
		columns(sheet, m.SheetColumns[sheet])
	}
	for _, ours := range m.Without {
		out = append(out, Choice{Subject: OfColumn, Of: ours, Taken: Nothing})
	}
	for _, heading := range m.Carry {
		out = append(out, Choice{Subject: OfHeading, Word: heading, Taken: Nothing})
	}
	if m.Dates != "" {
		out = append(out, Choice{Subject: OfDates, Taken: m.Dates})
	}
	if m.Bonds != "" {
		out = append(out, Choice{Subject: OfBonds, Taken: m.Bonds})
	}
	for _, kind := range slices.Sorted(maps.Keys(m.Words)) {
		for _, word := range slices.Sorted(maps.Keys(m.Words[kind])) {
			out = append(out, Choice{Subject: OfWord, Of: kind, Word: word, Taken: m.Words[kind][word]})
		}
	}
	for _, word := range m.Unknown {
		out = append(out, Choice{Subject: OfParent, Word: word, Taken: UnknownParent})
	}
	for _, word := range m.Wild {
		out = append(out, Choice{Subject: OfParent, Word: word, Taken: WildParent})
	}
	for _, row := range m.LeaveOut {
		out = append(out, Choice{Subject: OfRow, Taken: row})
	}
	for _, row := range m.Apart {
		out = append(out, Choice{Subject: OfRow, Taken: apartAnswer + row})
	}
	return out
}

// Undecide returns the mapping without what it answers to a choice of Decided.
func (m Mapping) Undecide(c Choice) Mapping {
	m = m.Over(Mapping{}) // a copy
	switch c.Subject {
	case OfColumn:
		delete(m.Columns, c.Of)
		delete(m.SheetColumns[c.Sheet], c.Of)
		if c.Taken == Nothing {
			m.Without = dropped(m.Without, c.Of)
		}
	case OfHeading:
		m.Carry = dropped(m.Carry, c.Word)
	case OfDates:
		m.Dates = ""
	case OfWord:
		delete(m.Words[c.Of], c.Word)
	case OfParent:
		m.Unknown, m.Wild = dropped(m.Unknown, c.Word), dropped(m.Wild, c.Word)
	case OfRow:
		m.LeaveOut = dropped(m.LeaveOut, c.Taken)
		if row, apart := ApartRow(c.Taken); apart {
			m.Apart = dropped(m.Apart, row)
		}
	case OfBonds:
		m.Bonds = ""
	}
	return m
}

// Text writes the mapping as ReadMapping reads it.
func (m Mapping) Text() string { return m.toml(slices.Sorted(maps.Keys(m.SheetColumns)), nil) }

// options are answers without examples.
func options(answers ...string) []Option {
	out := make([]Option, len(answers))
	for k, a := range answers {
		out[k].Answer = a
	}
	return out
}

// mayMean are what the words of each kind may mean, and mayBe what a parent without a row
// may be: of a faulty file there are choices by the hundred thousand.
var (
	mayMean = sync.OnceValue(func() map[string][]Option {
		may := make(map[string][]Option)
		for kind, words := range wordKinds {
			may[kind] = options(words...)
		}
		return may
	})
	mayBe = options(BirdNoRow, UnknownParent, WildParent)
)

// wordChoice is what a word for a sex, a fate or an event means.
func wordChoice(kind, word, taken string, may ...string) *Choice {
	x := &Choice{Subject: OfWord, Of: kind, Word: word, Taken: taken}
	if may == nil {
		x.May = mayMean()[kind]
	} else {
		x.May = options(may...)
	}
	return x
}

// headingChoice is whether a heading is a column of ours, or nothing.
func (t *table) headingChoice(c column, heading, taken string) *Choice {
	return &Choice{Subject: OfHeading, Sheet: t.Name, Of: c.String(), Word: heading, Taken: taken, May: options(c.String(), Nothing)}
}

// columnChoice is which of some headings a column of ours is.
func (t *table) columnChoice(c column, taken string, headings ...string) *Choice {
	x := &Choice{Subject: OfColumn, Sheet: t.Name, Of: c.String(), Taken: taken}
	for _, h := range headings {
		x.May = append(x.May, Option{h, t.cellsUnder(slices.Index(t.head, h))})
	}
	return x
}

// idChoice is which of two columns the ids of the birds are; nil if there is no
// other.
func (im *importer) idChoice(t *table, taken, other int) *Choice {
	if other < 0 || t.head[other] == "" {
		return nil
	}
	return t.columnChoice(colID, t.head[taken], t.head[taken], t.head[other])
}

// dateChoice is what a column of dates is that no heading explains.
func (t *table) dateChoice(heading string, may []column) *Choice {
	x := &Choice{Subject: OfHeading, Sheet: t.Name, Word: heading}
	for _, c := range may {
		if !t.has(c) {
			x.May = append(x.May, Option{Answer: c.String()})
		}
	}
	x.May = append(x.May, Option{Answer: Nothing})
	return x
}

// rowChoice is which of two rows that disagree is to be left out.
func (im *importer) rowChoice(first, second spot) *Choice {
	x := &Choice{Subject: OfRow}
	for _, at := range []spot{first, second} {
		o := Option{Answer: at.t.Name + ":" + strconv.Itoa(at.line)}
		for _, c := range im.rowAt(at.t.Name, at.line) {
			o.Examples = append(o.Examples, c.Heading+" "+c.Text)
		}
		x.May = append(x.May, o)
	}
	other := x.May[1]
	other.Answer = apartAnswer + other.Answer
	x.May = append(x.May, other)
	return x
}

// apartAnswer begins the answer to a choice of rows that a row is of another bird than the
// one whose id it has.
const apartAnswer = "apart "

// ApartRow returns the row that an answer to a choice of rows says is of another bird;
// apart is false of an answer that leaves a row out.
func ApartRow(answer string) (row string, apart bool) { return strings.CutPrefix(answer, apartAnswer) }

// shownCells is how many cells of a column are shown as examples.
const shownCells = 3

// cellsUnder returns the first different cells of a column.
func (t *table) cellsUnder(j int) []string {
	var out []string
	for _, r := range t.body {
		if x := r.At(j); x.Kind != sheets.Blank && !slices.Contains(out, x.Text) {
			if out = append(out, x.Text); len(out) == shownCells {
				break
			}
		}
	}
	return out
}

// anyColumn is which heading of a file a column of ours is that none is known to
// be; a file may do without the parents.
func (im *importer) anyColumn(c column) *Choice {
	t := im.likeliest()
	if t == nil {
		return nil
	}
	var headings []string
	for j, h := range t.head {
		if h != "" && !slices.Contains(headings, h) && (t.kind == otherRows || slices.Contains(t.extra, j)) {
			headings = append(headings, h)
		}
	}
	x := t.columnChoice(c, "", headings...)
	x.unnamed = true
	if c != colID {
		x.May = append(x.May, Option{Answer: Nothing})
	}
	return x
}

// likeliest is the sheet that holds the birds, or could with its columns named.
func (im *importer) likeliest() *table {
	for _, t := range im.tables {
		if t.kind == birdRows {
			return t
		}
	}
	for i := range im.src.sheets {
		s := &im.src.sheets[i]
		for k, r := range s.Rows[:min(len(s.Rows), searched)] {
			if r.Used() > 1 {
				return &table{sheet: s, head: s.heading(k, false), headLine: r.Line, body: s.Rows[k+1:]}
			}
		}
	}
	return nil
}

// orderChoice is the order of dates, with what a date of the file is in each; the
// orders that the date can be read in alone, if possible is set.
func (s seen) orderChoice(possible bool) *Choice {
	x := &Choice{Subject: OfDates}
	n, width, _, _ := triple(s.text)
	for i, o := range orders {
		switch d, fits := arranged(n, width, o); {
		case fits && s.set&(1<<i) != 0:
			x.May = append(x.May, Option{o, []string{s.text + " = " + d.text}})
		case !possible:
			x.May = append(x.May, Option{Answer: o})
		}
	}
	return x
}

// Cell is a cell of a row with its heading.
type Cell struct{ Heading, Text string }

// shownOfRow is how many cells of a row are shown.
const shownOfRow = 10

// rowAt returns the cells of a row by their headings, none if there is no such
// row beneath a header.
func (im *importer) rowAt(sheet string, line int) []Cell {
	for _, t := range im.tables {
		if t.Name != sheet {
			continue
		}
		k, ok := slices.BinarySearchFunc(t.body, line, func(r sheets.Row, line int) int { return cmp.Compare(r.Line, line) })
		if !ok {
			continue
		}
		var out []Cell
		for j, c := range t.body[k].Cells {
			if c.Kind == sheets.Blank || len(out) == shownOfRow {
				continue
			}
			h := "column " + strconv.Itoa(j+1)
			if j < len(t.head) && t.head[j] != "" {
				h = t.head[j]
			}
			out = append(out, Cell{h, shorten(c.Text)})
		}
		return out
	}
	return nil
}

// ours are the columns of ours that a heading of a kind of sheet can be.
func ours(k tableKind) []string {
	first, last := colID, colDeathCause
	switch k {
	case nestRows:
		return []string{colNest.String(), colFemale.String(), colMale.String(), colPair.String(), colSince.String(), colUntil.String(), colSeason.String(),
			colLaid.String(), colEggs.String(), colFertile.String(), colInfertile.String(), colHatched.String(), colFledged.String(), colLocation.String(), colNotes.String()}
	case groupRows:
		return []string{colGroup.String(), colSeason.String(), colMales.String(), colFemales.String(), colNotes.String()}
	case eventRows:
		last = colEventPlace
	}
	var out []string
	for c := first; c <= last; c++ {
		out = append(out, c.String())
	}
	return out
}

// WordRead is a word that the file has for a sex, and what was made of it.
type WordRead struct {
	Choice
	Birds int
}

// carried reports whether a heading is to be carried over as it stands, on the
// user's word.
func (m *Mapping) carried(heading string) bool {
	return slices.ContainsFunc(m.Carry, func(h string) bool { return strings.TrimSpace(h) == strings.TrimSpace(heading) })
}
