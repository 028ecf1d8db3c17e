package exchange

import (
	"slices"

	"pairwright/pedigree/studbook"
)

// Decision is something that was likely and not certain, and was taken; or,
// where it stopped the import, was not.
type Decision struct {
	Code   string // snake_case, stable
	Sheet  string
	Line   int // from 1; 0 where it is of a whole sheet or file
	Column string
	Value  string // as the file has it
	Taken  string // what was made of it; "" where the import stopped
	Text   string // all of it in words, a sentence without full stop
	// Choice is what a person is asked who is to decide it; nil where the file
	// itself has to be mended.
	Choice *Choice
	Row    []Cell // the row that it is about, as read; none if it is about no row, or a thousand come before it
	// Share is the part of the living gene pool that hangs on it, in [0, 1].
	Share float64

	of   []int32 // the birds that it is about
	half bool    // it is about one of their parents
}

// LeftOut is a row that became nothing.
type LeftOut struct {
	Sheet  string
	Line   int
	Reason string
}

// SheetRead is a sheet and what became of it.
type SheetRead struct {
	Name string
	As   string // "birds", "nests", "groups", "events" or SheetLeftOut
	Rows int    // beneath its header
	Took int    // rows that were used; of birds, all but those left out
	Why  string // why it was left out
	// Optional reports whether it is read, or not, as the user names sheets.
	Optional bool
}

// ColumnRead is a column of the file and what was made of it.
type ColumnRead struct {
	Sheet  string
	Theirs string
	Ours   string // "" if it was carried over
	How    string
	Cells  []string // three cells as read
	Taken  []string // and as written
	Choice *Choice  // what it could be instead; nil where the format says
}

// Counted is a word with how often it stood for a parent.
type Counted struct {
	Word  string
	Times int
}

// ParentKinds says how the parents were found; its numbers add up to twice the
// birds.
type ParentKinds struct {
	ByID, ByIDWrittenOtherwise, ByBand, ByName, ByNest, ByGroup, Possible, Wild, Unknown, WithoutRow int
	// The words for wild and unknown parents and the parents without a row.
	WildWords, UnknownWords, Rowless []Counted
}

// Sum returns the number of parents.
func (p ParentKinds) Sum() int {
	return p.ByID + p.ByIDWrittenOtherwise + p.ByBand + p.ByName + p.ByNest + p.ByGroup + p.Possible + p.Wild + p.Unknown + p.WithoutRow
}

// Fates counts birds by what became of them.
type Fates struct{ Living, Died, DiedUnknownDay, Left int }

// Sum returns the number of birds.
func (f Fates) Sum() int { return f.Living + f.Died + f.DiedUnknownDay + f.Left }

// FatesAt are the fates of the birds of a place and a sex.
type FatesAt struct {
	Place string
	Sex   studbook.Sex
	Fates
}

// OwnTotal is a total that the file gives itself, and what was counted.
type OwnTotal struct {
	Sheet         string
	Line          int
	Text          string
	Says, Counted string
	Agrees        bool
}

// Report is the account of an import.
type Report struct {
	Source string // the name of the file
	Format string // "xlsx", "ods", "csv", "fam", "gedcom"
	Anew   bool   // the mapping of the folder that it is laid over did not fit it, so it was read by itself

	Encoding string   // of a text
	Accented []string // three of its words that have letters beyond ASCII
	Beside   string   // a description beside the file that was used
	Settings bool     // those of the folder whose studbook it is were taken along

	Sheets                  []SheetRead
	RowsRead, Birds, Joined int
	LeftOut                 []LeftOut
	Columns                 []ColumnRead
	DateOrder, DateProof    string
	Dates                   *Choice    // the order of dates; nil where none depends on it
	Words                   []WordRead // of the sex
	Parents                 ParentKinds
	Fates                   Fates
	FatesAt                 []FatesAt
	Home                    string // the code that the folder has for the user's own institution; "" if it has none
	Totals                  []OwnTotal
	Bonds, Moves, Clutches  int

	Stops     []Decision // what must be decided first; nothing was written if there is any
	Decisions []Decision // what was likely, the most consequential first
	Idle      []Choice   // words for parents and rows that the mapping decides on and that the file has not
	Mapping   string     // the mapping used, or to be filled in, as TOML
	Findings  []studbook.Finding
}

// Places returns where birds live, sorted.
func (r *Report) Places() []string {
	var places []string
	for _, at := range r.FatesAt {
		if at.Living > 0 && at.Place != "" && !slices.Contains(places, at.Place) {
			places = append(places, at.Place)
		}
	}
	slices.Sort(places)
	return places
}

// Largest returns the place where most birds live, of as many the first; "" if none has a
// name.
func (r *Report) Largest() string {
	birds := make(map[string]int)
	for _, at := range r.FatesAt {
		birds[at.Place] += at.Living
	}
	best := ""
	for _, place := range r.Places() {
		if best == "" || birds[place] > birds[best] {
			best = place
		}
	}
	return best
}

// Stopped reports whether the import stopped.
func (r *Report) Stopped() bool { return len(r.Stops) > 0 || studbook.Errors(r.Findings) > 0 }
