package studbook

import (
	"slices"
	"strconv"
	"strings"
	"time"
)

// Sex of a bird as the studbook states it.
type Sex byte

// The three values of Sex. The zero value is not valid in a Bird.
const (
	Female  Sex = 'F'
	Male    Sex = 'M'
	Unsexed Sex = 'U'
)

// String returns "F", "M" or "U".
func (s Sex) String() string { return string(rune(s)) }

// Word returns "female", "male" or "sex unknown".
func (s Sex) Word() string {
	switch s {
	case Female:
		return "female"
	case Male:
		return "male"
	}
	return "sex unknown"
}

// Origin says where a bird's life began.
type Origin byte

// The values of Origin; the zero value is OriginUnstated.
const (
	OriginUnstated Origin = iota
	OriginWild            // hatched in the wild
	OriginCaptive         // hatched under human care
)

// Candidate is a bird that may be a parent, with the chance that it is.
type Candidate struct {
	ID     string
	Weight float64 // in (0, 1]
}

// Parentage is what is known of one parent of a bird.
//
//	no candidate                 the parent is unknown
//	one candidate of weight 1    the parent is known
//	anything else                the parent is uncertain; what the weights lack
//	                             to 1 is the chance of an unknown parent
type Parentage struct {
	Wild       bool        // the parent was a wild bird; Candidates is empty
	Candidates []Candidate // in the order written; weights sum to at most 1
}

// Known reports whether the parent is one bird for certain, and which.
func (p Parentage) Known() (id string, ok bool) {
	if len(p.Candidates) == 1 && p.Candidates[0].Weight == 1 {
		return p.Candidates[0].ID, true
	}
	return "", false
}

// Unknown reports whether nothing is known of the parent; a wild parent is
// unknown as an individual.
func (p Parentage) Unknown() bool { return len(p.Candidates) == 0 }

// Uncertain reports whether the parent is one of several birds, or one bird
// with a chance below 1.
func (p Parentage) Uncertain() bool {
	_, known := p.Known()
	return !known && !p.Unknown()
}

// String returns what is known of the parent in the notation of ParseParentage,
// "" if that is nothing.
func (p Parentage) String() string {
	if id, ok := p.Known(); ok {
		return id
	}
	if p.Wild {
		return "wild"
	}
	parts := make([]string, len(p.Candidates))
	for i, c := range p.Candidates {
		parts[i] = c.ID + "=" + strconv.FormatFloat(c.Weight, 'f', -1, 64)
	}
	return strings.Join(parts, "; ")
}

// Bird is one row of studbook.csv.
type Bird struct {
	ID, Name, Band string
	Sire, Dam      Parentage
	Hatch, Death   Date
	Location       string
	Notes          string
	Sex            Sex // the small ones stand together: there may be a million birds
	Origin         Origin

	// Recorded is false for a parent that other rows name and that has no
	// row of its own; it is kept as a founder without a record, is never
	// counted among the living, and has Line 0.
	Recorded bool
	Line     int // line of the file the row starts on, from 1
}

// Founder reports whether no parent of the bird is known, not even as one of
// several candidates.
func (b *Bird) Founder() bool { return b.Sire.Unknown() && b.Dam.Unknown() }

// Named returns the bird's id, with its name if it has one: "C12 (Bracken)".
func (b *Bird) Named() string {
	if b.Name == "" {
		return b.ID
	}
	return b.ID + " (" + b.Name + ")"
}

// Move is one row of moves.csv: a bird's transfer between institutions, into
// the programme (a blank From) or out of it (a blank To).
type Move struct {
	ID       string
	Date     Date
	From, To string
	Reason   string
	Line     int
}

// Bond is one row of bonds.csv: a pair bond, open while Until is unknown.
type Bond struct {
	Female, Male string
	Since, Until Date
	Nest         string
	EndedBy      string
	Line         int
}

// Clutch is one row of clutches.csv. Counts that the file leaves blank are -1.
type Clutch struct {
	Female, Male                    string
	Laid                            Date
	Eggs, Fertile, Hatched, Fledged int
	Replaced                        bool // the eggs were replaced by dummies or taken; Hatched is -1
	Line                            int
}

// EggsReplaced is what stands in place of the number of chicks hatched where the eggs
// were replaced by dummies or taken.
const EggsReplaced = "replaced"

// Block is what a hold forbids.
type Block byte

// The values of Block; a blank cell reads as BlocksBoth.
const (
	BlocksBoth Block = iota
	BlocksBreeding
	BlocksMoving
)

// Hold is one row of holds.csv: a reason not to breed or not to move a bird,
// in force from Since (or always, if unknown) to Until (or further notice).
type Hold struct {
	ID           string
	Since, Until Date
	Reason       string
	Blocks       Block
	Note         string
	Line         int
}

// Ends returns the first day on which the hold is no longer in force, Forever if it
// is in force until further notice.
func (h Hold) Ends() Day {
	if !h.Until.Known() {
		return Forever
	}
	return h.Until.Mid()
}

// Institution is one row of institutions.csv, a member of the network.
type Institution struct {
	Code, Name string
	Country    string
	// Latitude and Longitude are in degrees, north and east positive; each is
	// meaningless unless the file has it.
	Latitude, Longitude       float64
	HasLatitude, HasLongitude bool
	SpacesF, SpacesM          int          // free places; -1 where the file gives none
	QuarantineDays            int          // -1 where the file gives none
	PermitWeeks               int          // what the permit for a move across its border takes; -1 where the file gives none
	ClosedMonths              []time.Month // in which no bird comes or goes
	Contact, Notes            string
	Line                      int
}

// Placed reports whether the file says where the institution is.
func (in Institution) Placed() bool { return in.HasLatitude && in.HasLongitude }

// FounderKinship is one row of founder_kinship.csv: the known kinship of two
// founders, or of one with itself, (1+F)/2. In 0..1.
type FounderKinship struct {
	ID1, ID2 string
	Kinship  float64
	Line     int
}

// Request is one row of requests.csv: an institution asks for a bird.
type Request struct {
	Bird    string
	To      string // code of the institution where it is to go
	Partner string // the mate that it is meant for; "" where none was named
	AskedBy string
	Date    Date
	Notes   string
	Line    int
}

// Subject is what a Ruling is about.
type Subject byte

// The subjects. 0 is none, and no row that is kept has it.
const (
	RulesMove  Subject = iota + 1 // a bird moves, to a mate or without one
	RulesBond                     // two birds are paired
	RulesPart                     // two mates are parted
	RulesHatch                    // a pair keeps its eggs
)

// Answer is what was decided of the subject of a Ruling.
type Answer byte

// The answers. 0 is none, and no row that is kept has it.
const (
	Agreed   Answer = iota + 1
	Declined        // for a year it is not to be proposed again
	Waiting         // nobody has decided yet
)

// Ruling is one row of decisions.csv: what a person decided.
type Ruling struct {
	Date Date
	What Subject
	// Birds are the bird that moves, and its mate where it goes to one; of the
	// other subjects two birds, in any order.
	Birds  []string
	To     string // of a move, and of a bond where it was said
	Answer Answer
	By     string
	Until  Date // last day on which it holds; unknown: for a year
	Reason string
	Line   int
}

// Change is one row of changes.csv: a row of another file that Pairwright wrote.
type Change struct {
	Number        int    // rows of one number were written together; -1 if blank
	When          string // day and time, "2026-05-12 14:03:22 +0100"
	What          string // "hatch", "undo", ...
	File          string // "moves.csv", or "colony.xlsx[moves]"
	Before, After string // the row as its file has it; "" where there was none
	Line          int
}

// Colony is everything read from one colony folder. It is immutable.
type Colony struct {
	Source string // base name of the studbook file, for documents

	// Birds has a bird for every row of the studbook in the order of the
	// file, then one for every parent without a row, by id.
	Birds []Bird

	Moves          []Move
	Bonds          []Bond
	Clutches       []Clutch
	Holds          []Hold
	Institutions   []Institution
	FounderKinship []FounderKinship
	Requests       []Request
	Rulings        []Ruling
	Genotypes      []Genotype // of birds that were typed at one marker at least
	Markers        []Marker   // by name
	Changes        []Change
	Settings       Settings

	// FilesDay is the day to which the files are kept: Settings.CurrentTo,
	// else Options.Today; 0 if neither is known.
	FilesDay Day

	currentTo place // where programme.toml sets it

	HasLocation bool // the studbook has a location column
	HasOrigin   bool // the studbook has an origin column

	// Aside are the columns of the studbook that are none of ours, in its order.
	Aside []Aside

	// Files names the files that were read, in the order of the design:
	// "studbook.csv", "moves.csv", ...
	Files []string

	// Unread are the files and sheets that seem to be ones of the folder under
	// another name, and were not read.
	Unread []Unread

	// Unbonded are the last chicks, by their place in Birds, of birds that seem to
	// be pairs and of whom no bond is on record.
	Unbonded []int

	// Warnings are the findings that do not stop the computation.
	Warnings []Finding

	// Notes say once how the files were read: a detected encoding or
	// delimiter other than the plain one, unknown columns kept aside,
	// weights that leave room for an unknown parent.
	Notes []string

	// Of a colony that was read: what Lives returns, who is whose parent, and where
	// each bird is.
	lives []Life
	kin   *lineage
	index *register
}

// Unread is a file, or a sheet of the workbook, that was not read because of its
// name.
type Unread struct {
	Name  string // as findings have it, "Bonds 2026.csv" or "colony.xlsx[Bonds 2026]"
	Meant string // "bonds.csv"
}

// Aside is a column of the studbook that is kept as it stands.
type Aside struct {
	Name  string
	Cells map[string]string // by the id of the bird; blank ones are left out
}

// HasFile reports whether a file of the folder was read, as "moves.csv", be it
// as a file of its own or as a sheet of the workbook.
func (c *Colony) HasFile(name string) bool {
	sheet := "[" + strings.TrimSuffix(name, ".csv") + "]"
	return slices.ContainsFunc(c.Files, func(f string) bool {
		return f == name || len(f) > len(sheet) && strings.EqualFold(f[len(f)-len(sheet):], sheet)
	})
}
