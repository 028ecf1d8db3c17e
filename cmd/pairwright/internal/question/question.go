// Package question declares every question that Pairwright answers, once: the
// birds it is about, its settings with their defaults, checks and help, the
// formats of its answer, and what answers it. The commands and pages are thin
// wraps of it. It computes nothing itself and lays nothing out: an answer is
// asked of the packages that can, and handed to those that write.
package question

import (
	"context"
	"fmt"
	"maps"
	"net/url"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pedigree/studbook"
)

// Question is one question, as it is declared.
type Question struct {
	Name  string // of the command and the page
	About string // the group of the list of commands it stands in
	Short string // in the list of commands
	Long  string // what it answers
	// Birds are the keys of the birds it is about, in order: "bird", or "a"
	// and "b". The first Needed of them must be given.
	Birds  []string
	Needed int
	Usage  string // how the birds are written: "[ID]"
	// Rows says what a row of its CSV is; "" where it has none.
	Rows     string
	Workbook bool // it can be had as an .xlsx workbook

	uses   []string // files of the folder that it rests on where they are there
	colony bool     // it is of one colony
	random bool     // it draws at random
	living bool     // it is about the living and the birds it names, and those whom they descend from
	attach bool     // rows can be had to send along
	// byFormat is set where more is computed for some formats than for others.
	byFormat bool
	new      func() ask
}

// states are the files that tell in what state birds are, beside the studbook.
var states = []string{"moves.csv", "bonds.csv", "clutches.csv", "holds.csv", "institutions.csv"}

// The groups of the list of commands.
const (
	Decide = "decide"
	Look   = "look"
)

// ask is a question of its kind with its own settings filled in.
type ask interface {
	// settings declares the settings and binds them to the fields.
	settings() []Setting
	// check says what is wrong with all of them together, nil if nothing is.
	check(a *Asked) error
	// answer answers from the folder that was read.
	answer(ctx context.Context, a *Asked, f *Folder) (*Answer, error)
}

// All are the questions, in the order of the list of commands.
var All = []*Question{
	colonyQuestion, matesQuestion, planQuestion, transferQuestion, reviewQuestion, forecastQuestion,
	birdsQuestion, birdQuestion, kinQuestion, parentsQuestion, checkQuestion,
}

// Formats returns the names of the formats that the answer can be had in.
func (q *Question) Formats() []string {
	names := []string{"text", "json"}
	if q.Rows != "" {
		names = append(names, "csv")
	}
	names = append(names, "md", "html")
	if q.Workbook {
		names = append(names, "xlsx")
	}
	return names
}

// Asked is a question with all its settings, as a command line or an address
// fills them in.
type Asked struct {
	Question *Question
	Common
	Birds []string // ids, in the order of Question.Birds

	ask
	declared []*Setting
}

// Common are the settings that several questions share. A question has those
// of them that have an effect on it.
type Common struct {
	Studbook string // path of the studbook
	Colony   string // code of an institution; "" for the home
	AsOf     studbook.Day
	Format   string
	Out      string // path of the file to write to; "" for the screen
	Letters  string // path of the folder for letters
	Attach   string // path of the file for the rows to send along
	Seed     uint64
	Columns  map[string]string // our column name to that of the files
	Quiet    bool

	// Progress is told how much of the work is done, now and then; nil for
	// nobody.
	Progress func(done, of int)
}

// Ask returns the question with every setting at its default.
func (q *Question) Ask() *Asked {
	a := &Asked{Question: q, ask: q.new()}
	for _, s := range append(a.ask.settings(), a.common()...) {
		s.reset()
		a.declared = append(a.declared, &s)
	}
	return a
}

// Reading returns the settings of a command that reads a colony folder and
// answers no question: which folder, on what day, and what its columns are
// called; but for those named.
func Reading(name string, but ...string) *Asked {
	a := &Asked{Question: &Question{Name: name}}
	for _, s := range a.common() {
		if slices.Contains([]string{"studbook", "as-of", "column", "quiet"}, s.Key) && !slices.Contains(but, s.Key) {
			s.reset()
			a.declared = append(a.declared, &s)
		}
	}
	return a
}

// common declares the settings that questions share.
func (a *Asked) common() []Setting {
	c, q := &a.Common, a.Question
	settings := []Setting{
		{Key: "studbook", Takes: "FILE", Default: "studbook.csv", Local: true, value: text(&c.Studbook),
			Help: "the studbook (.csv or .xlsx); the colony's other files are looked for beside it"},
	}
	if q.colony {
		settings = append(settings, Setting{Key: "colony", Takes: "CODE", value: text(&c.Colony),
			Help: "code of the institution whose colony it is about (default: home in programme.toml, or the only place there is)"})
	}
	settings = append(settings, Setting{Key: "as-of", Takes: "DATE", value: day(&c.AsOf),
		Help: "the day to answer for, such as 2026-09-30 (default: current_to in programme.toml, or today)"})
	if q.random {
		settings = append(settings, Setting{Key: "seed", Takes: "N", Default: "1", value: seed(&c.Seed),
			Help: "seed of all random draws; the same number gives the same answer"})
	}
	settings = append(settings,
		Setting{Key: "format", Takes: "FORMAT", Default: "text", Words: q.Formats(), value: text(&c.Format),
			Help: "how to write the answer: " + studbook.AnyOf(q.Formats())},
		Setting{Key: "out", Takes: "FILE", Local: true, value: text(&c.Out), Help: "write the answer to a file instead of the screen"})
	if q.attach {
		settings = append(settings, Setting{Key: "attach", Takes: "FILE", Local: true, value: text(&c.Attach),
			Help: "write the studbook rows of the birds and all their ancestors to a file, as CSV or, with the ending .xlsx, with the known kinship of their founders as a workbook"})
	}
	return append(settings,
		Setting{Key: "column", Takes: "OURS=THEIRS", Again: true, Local: true, value: columns(&c.Columns),
			Help: "what the files call a column, as sire=Father"},
		Setting{Key: "quiet", Local: true, value: yes(&c.Quiet), Help: "print no warnings and notes beside the answer"})
}

// Settings returns the settings, the question's own first.
func (a *Asked) Settings() []*Setting { return a.declared }

// given reports whether a setting was given.
func (a *Asked) given(key string) bool {
	for _, s := range a.declared {
		if s.Key == key {
			return s.given
		}
	}
	panic("question: " + a.Question.Name + " has no setting " + key)
}

// Check says what is wrong with the birds and the settings taken together. The
// error is a *UsageError.
func (a *Asked) Check() error {
	q := a.Question
	if len(a.Birds) < q.Needed || len(a.Birds) > len(q.Birds) {
		return Usagef("%s; it is used as: pairwright %s", q.takes(len(a.Birds)), q.Line())
	}
	if slices.Contains(a.Birds, "") {
		return Usagef("the id of a bird is blank; it is used as: pairwright %s", q.Line())
	}
	return a.check(a)
}

// takes says how many birds a question takes when it was given another number
// of them.
func (q *Question) takes(given int) string {
	switch {
	case len(q.Birds) == 0:
		return q.Name + " is not about one bird: leave the id out"
	case len(q.Birds) > q.Needed:
		return fmt.Sprintf("%s takes one bird at most, not %d", q.Name, given)
	}
	return fmt.Sprintf("%s needs %s, not %d", q.Name, document.FormatThings(q.Needed, "bird", "birds"), given)
}

// Line is how the question is asked on the command line.
func (q *Question) Line() string { return strings.TrimSpace(q.Name + " " + q.Usage) }

// Parse reads a question from the keys and values of an address. The error is
// a *UsageError. Settings that name files of this machine cannot be set so.
func (q *Question) Parse(values url.Values) (*Asked, error) {
	a := q.Ask()
	birds := make([]string, 0, len(q.Birds))
	for _, key := range q.Birds {
		if id := values.Get(key); id != "" {
			birds = append(birds, id)
		}
	}
	a.Birds = birds
	known := slices.Clone(q.Birds)
	for _, s := range a.declared {
		if s.Local {
			continue
		}
		known = append(known, s.Key)
		given := slices.DeleteFunc(slices.Clone(values[s.Key]), func(v string) bool { return v == "" }) // a field of a form left blank
		if len(given) > 1 && !s.Again {
			return nil, Usagef("%s is given %d times; give it once", s.Key, len(given))
		}
		for _, v := range given {
			if err := s.Set(v); err != nil {
				return nil, Usagef("%s %s: %w", s.Key, v, err)
			}
		}
	}
	for _, key := range slices.Sorted(maps.Keys(values)) {
		if !slices.Contains(known, key) {
			return nil, Usagef("%s has no setting %q", q.Name, key)
		}
	}
	return a, a.Check()
}

// UsageError is a question that cannot be understood.
type UsageError struct{ err error }

// Error says what is wrong with it.
func (e *UsageError) Error() string { return e.err.Error() }

// Unwrap returns the cause.
func (e *UsageError) Unwrap() error { return e.err }

// Usagef returns a *UsageError.
func Usagef(format string, args ...any) error { return &UsageError{fmt.Errorf(format, args...)} }

// Named returns the question with a name, nil if there is none.
func Named(name string) *Question {
	for _, q := range All {
		if q.Name == name {
			return q
		}
	}
	return nil
}
