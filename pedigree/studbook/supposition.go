package studbook

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"path"
	"slices"
	"strings"
)

// Supposed is what a supposition changes.
type Supposed byte

// The changes. 0 is none, and no row that is kept has it.
const (
	SupposeMove    Supposed = iota + 1 // a bird moves, to a mate or without one
	SupposeBond                        // two birds become a pair
	SupposePart                        // two birds are parted
	SupposeLeave                       // birds leave the programme, or an institution with all of its
	SupposeFounder                     // new unrelated birds come from outside
	SupposePlaces                      // an institution has so many places more, or fewer
	SupposeHatch                       // a pair may hatch so many chicks in the first season, no more and no fewer
)

// Supposition is one row of a file of changes that a forecast is asked about: what
// if this were done.
type Supposition struct {
	What Supposed
	// Birds are the bird that moves, and its mate where it goes to one; of a bond and
	// a hatch two birds, of a parting two or one, of those that leave any number.
	Birds  []string
	To     string  // code of an institution: where birds go or come, that has the places, or that leaves
	Number float64 // of founders or places; 0 where the file gives none
	Sex    Sex     // of founders; Unsexed for either
	Year   int     // in which founders come; -1 for the first
	Chicks int     // of a hatch; -1 where the file gives none
	Line   int
}

var suppositionsTable = &file[Supposition]{"changes", "a change to ask about", func(x *Supposition) *int { return &x.Line }, []column[Supposition]{
	wordColumn("what", "what changes", supposedWords, 0, badSupposed, func(x *Supposition) *Supposed { return &x.What }).fill(),
	idsColumn("birds", "whom it is about, `A12; B3`: the bird that moves, and its mate if it goes to one; a pair; birds that leave", func(x *Supposition) *[]string { return &x.Birds }),
	idColumn("to", "code of the institution where birds go or come, that has the places, or that leaves with all its birds", func(x *Supposition) *string { return &x.To }),
	numberColumn("number", "how many founders, or places more (below 0: fewer)", "", -mostSupposed, mostSupposed, func(x *Supposition) *float64 { return &x.Number }, func(x *Supposition) bool { return x.Number != 0 }),
	wordColumn("sex", "of founders; blank for either", sexWords, Unsexed, badSex, func(x *Supposition) *Sex { return &x.Sex }),
	countColumn("year", "in which founders come; blank for the first", "", func(x *Supposition) *int { return &x.Year }),
	countColumn("chicks", "of a hatch, how many chicks the pair may hatch in the first season", "chicks", func(x *Supposition) *int { return &x.Chicks }),
}}

// mostSupposed is the most founders or places of one row.
const mostSupposed = 1000

var supposedWords = []word[Supposed]{
	{"move", SupposeMove, true}, {"bond", SupposeBond, true}, {"part", SupposePart, true},
	{"leave", SupposeLeave, true}, {"founder", SupposeFounder, true}, {"places", SupposePlaces, true}, {"hatch", SupposeHatch, true},
}

var badSupposed = complaint{codeBadSubject, "this is nothing that can be changed", "write move, bond, part, hatch, leave, founder or places"}

// ReadSuppositions reads a file of changes with a name in fsys, CSV as the files of
// a colony folder are, that are to be asked about a colony. A season that a person has
// made is such a file: columns that mean nothing here are passed over. A *Faults error holds
// every finding if at least one is an Error.
func ReadSuppositions(ctx context.Context, fsys fs.FS, name string, c *Colony) ([]Supposition, error) {
	raw, err := (&reader{fsys: fsys, name: path.Clean(name)}).open()
	if err != nil {
		return nil, err
	}
	return suppositionReader(ctx, c)(path.Base(name), raw)
}

// suppositionReader returns what reads files of changes, by name and content. What they
// may speak of is gathered once.
func suppositionReader(ctx context.Context, c *Colony) func(name string, raw []byte) ([]Supposition, error) {
	index, codes := c.register(), c.InstitutionCodes()
	return func(name string, raw []byte) ([]Supposition, error) {
		return readAlone(ctx, c, index, suppositionsTable, name, raw, func(s spot, x *Supposition) bool { return s.supposition(x, codes) })
	}
}

// SuppositionColumns names the columns of a file of changes, in order.
func SuppositionColumns() []string {
	var names []string
	for _, c := range suppositionsTable.describe().Columns {
		names = append(names, c.Name)
	}
	return names
}

// SupposedWords are the words for what can change.
func SupposedWords() []string {
	var words []string
	for _, w := range supposedWords {
		words = append(words, w.text)
	}
	return words
}

// ParseSuppositions reads changes that stand in no file, each written as a row of one
// whose last cells may be left out; their Line is 0. The error quotes the first row that
// cannot be read, and says what is wrong with it and what to do.
func ParseSuppositions(ctx context.Context, rows []string, c *Colony) ([]Supposition, error) {
	read := suppositionReader(ctx, c)
	var all []Supposition
	for _, row := range rows {
		x, err := parseSupposition(row, read)
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", row, err)
		}
		x.Line = 0
		all = append(all, *x)
	}
	return all, nil
}

func parseSupposition(row string, read func(name string, raw []byte) ([]Supposition, error)) (*Supposition, error) {
	columns := SuppositionColumns()
	records, err := csv.NewReader(strings.NewReader(row)).ReadAll()
	if err != nil || len(records) != 1 || len(records[0]) > len(columns) {
		return nil, fmt.Errorf("it is no row of %s (write it as move,A12; B3,HAF)", strings.Join(columns, ", "))
	}
	cells := records[0]
	var raw bytes.Buffer
	_ = csv.NewWriter(&raw).WriteAll([][]string{columns, append(cells, make([]string, len(columns)-len(cells))...)}) // a buffer takes all
	changes, err := read("", raw.Bytes())
	var faults *Faults
	if errors.As(err, &faults) {
		f := faults.Findings[slices.IndexFunc(faults.Findings, func(f Finding) bool { return f.Severity == Error })]
		return nil, errors.New(f.about())
	}
	if err != nil {
		return nil, err
	}
	if len(changes) != 1 {
		return nil, fmt.Errorf("it says nothing (%s)", badSupposed.help)
	}
	return &changes[0], nil
}

// readAlone reads a file that is none of the folder's but speaks of a colony's
// birds, which index finds. The error is a *Faults with every finding, or ctx's.
func readAlone[T any](ctx context.Context, c *Colony, index *register, f *file[T], name string, raw []byte, check func(s spot, record *T) bool) ([]T, error) {
	r := &reader{
		ctx: ctx, name: name, colony: &Colony{Birds: c.Birds}, birds: true,
		labels: map[string]string{f.base: name}, index: index, places: make(map[string]place), used: make(map[string]bool),
	}
	file := f.describe()
	var records []T
	if t := r.match(r.text(name, raw), file); t != nil {
		r.checkWidths(t, file.Columns)
		var err error
		if records, err = readRows(r, f, t, func(spot, *T) bool { return true }, check); err != nil {
			return nil, err
		}
	}
	if findings := r.sorted(); Errors(findings) > 0 {
		return nil, &Faults{Findings: findings}
	}
	return records, nil
}

// InstitutionCodes returns the codes of the institutions that the files know, in order.
func (c *Colony) InstitutionCodes() []string {
	var codes []string
	for _, in := range c.Institutions {
		codes = append(codes, in.Code)
	}
	for i := range c.Birds {
		codes = append(codes, c.Birds[i].Location)
	}
	slices.Sort(codes)
	codes = slices.Compact(codes)
	if len(codes) > 0 && codes[0] == "" {
		return codes[1:]
	}
	return codes
}

// supposition checks a row of a file of changes and reports whether it is kept.
func (s spot) supposition(x *Supposition, codes []string) bool {
	if !s.needed("what") || x.What == 0 {
		return false
	}
	birds := func(least, most int, help string) {
		if n := len(x.Birds); n < least || n > most {
			s.r.fault(s.at("birds"), codeTooManyBirds, fmt.Sprintf("this change is not about %s birds", Number(n)), help)
		}
	}
	const any = 1 << 20
	switch x.What {
	case SupposeMove:
		birds(1, 2, "write the bird that moves, and its mate if it goes to one, as A12; B3")
	case SupposeBond, SupposeHatch:
		birds(2, 2, "write the female and the male, as A12; B3")
	case SupposePart:
		birds(1, 2, "write the pair, as A12; B3")
	case SupposeLeave:
		if x.To == "" {
			birds(1, any, "write the birds that leave, or in the column to the institution that does")
		} else {
			birds(0, 0, "write the birds that leave, or the institution that does, not both")
		}
	default:
		birds(0, 0, "leave the birds out, or write move, bond, part or leave")
	}
	if x.To == "" && (x.What == SupposeMove || x.What == SupposePlaces) {
		s.lacks("to")
	}
	if x.What == SupposePlaces && x.Number == 0 {
		s.lacks("number")
	}
	if x.What == SupposeHatch && x.Chicks < 0 {
		s.lacks("chicks")
	}
	if x.What == SupposeFounder && s.cell("number") != "" && x.Number < 1 {
		s.r.fault(s.at("number"), codeOutOfRange, "a number of founders is 1 or more", "correct it, or take the row out")
	} else if (x.What == SupposeFounder || x.What == SupposePlaces) && x.Number != math.Trunc(x.Number) {
		s.r.fault(s.at("number"), codeBadNumber, "there are no parts of a bird or a place", "write a whole number")
	}
	if _, known := slices.BinarySearch(codes, x.To); x.To != "" && !known {
		s.r.fault(s.at("to"), codeUnknownInstitution, "no file has this institution", "correct the code, or add the institution to institutions.csv")
	}
	for _, id := range x.Birds {
		if i, ok := s.r.index.find(id); !ok || !s.r.colony.Birds[i].Recorded {
			s.r.fault(s.at("birds"), codeUnknownID, fmt.Sprintf("no bird of the studbook has the id %q", id), s.r.alike(id, "correct the id"))
		}
	}
	if len(x.Birds) == 2 && x.Birds[0] == x.Birds[1] {
		s.r.fault(s.at("birds"), codeSameBird, "a bird cannot be its own mate", "correct one of the two ids")
	}
	return true
}

// lacks reports that a row has nothing in a column that other rows can do without,
// and the file perhaps has not; what is there and cannot be read was reported.
func (s spot) lacks(column string) {
	switch {
	case s.cell(column) != "":
	case s.t.has(column):
		s.needed(column)
	default:
		s.r.fault(s.at(column), codeMissingValue, "the row needs this column, which the file has not", "add it, and fill it in")
	}
}
