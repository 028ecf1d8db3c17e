package studbook

import (
	"slices"
	"strings"
	"sync"
	"time"
)

// File is a file of a colony folder as it is declared: what reads it, what
// writes it and what documents it follow from the declaration.
type File struct {
	Name    string // "studbook.csv"
	Row     string // what one row is, "a bird, living or dead"
	Needed  bool   // there is no colony without it
	Columns []Column
	// Further is what any further column holds, "" where such are kept aside.
	Further string
}

// file is a File with how its rows become records. To add a column, add a
// field to the record and a line here.
type file[T any] struct {
	base    string // the name without ".csv", and the name of the sheet of a workbook
	row     string
	line    func(*T) *int // where a record keeps its line
	columns []column[T]
}

// The files of a colony folder, in the order of findings and documents.
const (
	studbookFile       = "studbook"
	movesFile          = "moves"
	bondsFile          = "bonds"
	clutchesFile       = "clutches"
	holdsFile          = "holds"
	institutionsFile   = "institutions"
	founderKinshipFile = "founder_kinship"
	requestsFile       = "requests"
	decisionsFile      = "decisions"
	genotypesFile      = "genotypes"
	changesFile        = "changes"
	programmeFile      = "programme.toml"
)

var (
	birdsTable = &file[Bird]{studbookFile, "a bird, living or dead", func(b *Bird) *int { return &b.Line }, []column[Bird]{
		idColumn("id", "the bird's own id, the same in every file", func(b *Bird) *string { return &b.ID }).key(),
		textColumn("name", "house name", func(b *Bird) *string { return &b.Name }),
		textColumn("band", "leg band or chip", func(b *Bird) *string { return &b.Band }),
		sexColumn("sex", "female, male or not known", func(b *Bird) *Sex { return &b.Sex }).need(),
		parentColumn("sire", "the father: an id; blank or `unknown`; `wild`; or possible birds with weights, `A12=0.7; B3=0.3`", func(b *Bird) *Parentage { return &b.Sire }).need(),
		parentColumn("dam", "the mother, written as the sire", func(b *Bird) *Parentage { return &b.Dam }).need(),
		dateColumn("hatch_date", "day of hatch", false, func(b *Bird) *Date { return &b.Hatch }),
		deathColumn("death_date", "day of death; blank for the living, `unknown` if the day is", func(b *Bird) *Date { return &b.Death }),
		idColumn("location", "code of the institution where it is", func(b *Bird) *string { return &b.Location }).place(),
		wordColumn("origin", "where it hatched", originWords, OriginUnstated, badOrigin, func(b *Bird) *Origin { return &b.Origin }),
		textColumn("notes", "anything else", func(b *Bird) *string { return &b.Notes }),
	}}
	movesTable = &file[Move]{movesFile, "a transfer", func(m *Move) *int { return &m.Line }, []column[Move]{
		idColumn("id", "the bird", func(m *Move) *string { return &m.ID }).bird().fill(),
		dateColumn("date", "day of the move", false, func(m *Move) *Date { return &m.Date }).fill(),
		idColumn("from", "code of the institution it left; blank if it came from outside the programme", func(m *Move) *string { return &m.From }).place(),
		idColumn("to", "code of the institution it came to; blank if it left the programme", func(m *Move) *string { return &m.To }).place(),
		textColumn("reason", "why it moved", func(m *Move) *string { return &m.Reason }),
	}}
	bondsTable = &file[Bond]{bondsFile, "a pair bond", func(b *Bond) *int { return &b.Line }, []column[Bond]{
		idColumn("female", "the female", func(b *Bond) *string { return &b.Female }).bird().fill(),
		idColumn("male", "the male", func(b *Bond) *string { return &b.Male }).bird().fill(),
		dateColumn("since", "day on which the pair formed", false, func(b *Bond) *Date { return &b.Since }).need(),
		dateColumn("until", "day on which it ended; blank while it lasts", true, func(b *Bond) *Date { return &b.Until }),
		textColumn("nest", "the pair's nest", func(b *Bond) *string { return &b.Nest }),
		textColumn("ended_by", "what ended it", func(b *Bond) *string { return &b.EndedBy }),
	}}
	clutchesTable = &file[Clutch]{clutchesFile, "a clutch", func(c *Clutch) *int { return &c.Line }, []column[Clutch]{
		idColumn("female", "the female that laid it", func(c *Clutch) *string { return &c.Female }).bird().fill(),
		idColumn("male", "her mate", func(c *Clutch) *string { return &c.Male }).bird().fill(),
		dateColumn("laid", "day of the first egg", false, func(c *Clutch) *Date { return &c.Laid }).need(),
		countColumn("eggs", "eggs laid", "eggs", func(c *Clutch) *int { return &c.Eggs }),
		countColumn("fertile", "fertile ones among them", "eggs", func(c *Clutch) *int { return &c.Fertile }),
		countOrWord("hatched", "chicks hatched; `replaced` where the eggs were replaced by dummies or taken", "chicks", EggsReplaced, func(c *Clutch) *int { return &c.Hatched }, func(c *Clutch) *bool { return &c.Replaced }),
		countColumn("fledged", "chicks fledged", "chicks", func(c *Clutch) *int { return &c.Fledged }),
	}}
	holdsTable = &file[Hold]{holdsFile, "a reason not to breed or move a bird now", func(h *Hold) *int { return &h.Line }, []column[Hold]{
		idColumn("id", "the bird", func(h *Hold) *string { return &h.ID }).bird().fill(),
		dateColumn("since", "first day", false, func(h *Hold) *Date { return &h.Since }).need(),
		dateColumn("until", "day on which it ends; blank until further notice", true, func(h *Hold) *Date { return &h.Until }),
		textColumn("reason", "why", func(h *Hold) *string { return &h.Reason }).need(),
		wordColumn("blocks", "what it forbids; blank forbids both", blockWords, BlocksBoth, badBlock, func(h *Hold) *Block { return &h.Blocks }),
		textColumn("note", "anything else", func(h *Hold) *string { return &h.Note }),
	}}
	institutionsTable = &file[Institution]{institutionsFile, "a member of the network", func(in *Institution) *int { return &in.Line }, []column[Institution]{
		idColumn("code", "its code, as locations and moves have it", func(in *Institution) *string { return &in.Code }).key(),
		textColumn("name", "its name", func(in *Institution) *string { return &in.Name }),
		textColumn("country", "where permits across a border are asked for", func(in *Institution) *string { return &in.Country }),
		numberColumn("latitude", "north is positive", "degrees", -90, 90, func(in *Institution) *float64 { return &in.Latitude }, func(in *Institution) bool { return in.HasLatitude }),
		numberColumn("longitude", "east is positive", "degrees", -180, 180, func(in *Institution) *float64 { return &in.Longitude }, func(in *Institution) bool { return in.HasLongitude }),
		countColumn("spaces_f", "free places for females", "places", func(in *Institution) *int { return &in.SpacesF }),
		countColumn("spaces_m", "free places for males", "places", func(in *Institution) *int { return &in.SpacesM }),
		countColumn("quarantine_days", "quarantine of an arriving bird", "days", func(in *Institution) *int { return &in.QuarantineDays }),
		countColumn("permit_weeks", "what the permit for a move across its border takes", "weeks", func(in *Institution) *int { return &in.PermitWeeks }),
		monthsColumn("closed_months", "months in which no bird comes or goes, as `6;7`", func(in *Institution) *[]time.Month { return &in.ClosedMonths }),
		textColumn("contact", "whom to write to", func(in *Institution) *string { return &in.Contact }),
		textColumn("notes", "anything else", func(in *Institution) *string { return &in.Notes }),
	}}
	founderKinshipTable = &file[FounderKinship]{founderKinshipFile, "known kinship of two founders", func(k *FounderKinship) *int { return &k.Line }, []column[FounderKinship]{
		idColumn("id1", "a founder", func(k *FounderKinship) *string { return &k.ID1 }).bird().fill(),
		idColumn("id2", "another, or the same for (1+F)/2", func(k *FounderKinship) *string { return &k.ID2 }).bird().fill(),
		numberColumn("kinship", "their kinship, as from DNA", "", -1, 1, func(k *FounderKinship) *float64 { return &k.Kinship }, func(*FounderKinship) bool { return true }).fill(),
	}}
	requestsTable = &file[Request]{requestsFile, "a request for a bird", func(q *Request) *int { return &q.Line }, []column[Request]{
		idColumn("bird", "the bird that is asked for", func(q *Request) *string { return &q.Bird }).bird().fill(),
		idColumn("to", "code of the institution where it is to go", func(q *Request) *string { return &q.To }).place().fill(),
		idColumn("partner", "the mate that it is meant for", func(q *Request) *string { return &q.Partner }).bird(),
		textColumn("asked_by", "who asks", func(q *Request) *string { return &q.AskedBy }),
		dateColumn("date", "day of the request", false, func(q *Request) *Date { return &q.Date }),
		textColumn("notes", "anything else", func(q *Request) *string { return &q.Notes }),
	}}
	decisionsTable = &file[Ruling]{decisionsFile, "something that was decided", func(u *Ruling) *int { return &u.Line }, []column[Ruling]{
		dateColumn("date", "day of the decision; it holds for a year", false, func(u *Ruling) *Date { return &u.Date }).fill(),
		wordColumn("what", "what it is about", subjectWords, 0, badSubject, func(u *Ruling) *Subject { return &u.What }).fill(),
		idsColumn("birds", "whom it is about, `A12; B3`: the bird that moves, and its mate if it goes to one; else a female and a male", func(u *Ruling) *[]string { return &u.Birds }).fill(),
		idColumn("to", "of a move, code of the institution where the bird goes; of a bond, where the pair is to live", func(u *Ruling) *string { return &u.To }).place(),
		wordColumn("decision", "what was decided", answerWords, 0, badAnswer, func(u *Ruling) *Answer { return &u.Answer }).fill(),
		textColumn("by", "who decided", func(u *Ruling) *string { return &u.By }),
		dateColumn("until", "last day on which it holds, if that is not a year", true, func(u *Ruling) *Date { return &u.Until }),
		textColumn("reason", "why", func(u *Ruling) *string { return &u.Reason }),
	}}
	genotypesTable = &file[Genotype]{genotypesFile, "a bird's markers, as a laboratory found them", func(g *Genotype) *int { return &g.Line }, []column[Genotype]{
		idColumn("id", "the bird: its id, or its band or name where no other bird has it", func(g *Genotype) *string { return &g.ID }).bird().key(),
	}}
	changesTable = &file[Change]{changesFile, "a row of another file that was written by `record`, `undo` or the pages", func(c *Change) *int { return &c.Line }, []column[Change]{
		countColumn("change", "number of the change; rows with one number were written together", "changes", func(c *Change) *int { return &c.Number }),
		textColumn("when", "day and time", func(c *Change) *string { return &c.When }),
		textColumn("what", "what was written down", func(c *Change) *string { return &c.What }),
		textColumn("file", "the file that was changed", func(c *Change) *string { return &c.File }),
		textColumn("before", "the row as it was; blank if it is new", func(c *Change) *string { return &c.Before }),
		textColumn("after", "the row as it is since; blank if it was taken out", func(c *Change) *string { return &c.After }),
	}}
)

// tables are the declared files in the order of findings and documents.
var tables = []interface{ describe() File }{
	birdsTable, movesTable, bondsTable, clutchesTable, holdsTable, institutionsTable, founderKinshipTable,
	requestsTable, decisionsTable, genotypesTable, changesTable,
}

var (
	sexWords = []word[Sex]{
		{"F", Female, true}, {"M", Male, true}, {"U", Unsexed, true},
		{"female", Female, false}, {"male", Male, false}, {"unknown", Unsexed, false}, {"?", Unsexed, false},
		{"0.1", Female, false}, {"1.0", Male, false}, {"0.0.1", Unsexed, false}, // the count notation of zoos: males.females.unsexed
	}
	originWords = []word[Origin]{{"wild", OriginWild, true}, {"captive", OriginCaptive, true}, {"unknown", OriginUnstated, false}}
	blockWords  = []word[Block]{{"breeding", BlocksBreeding, true}, {"moving", BlocksMoving, true}, {"both", BlocksBoth, true}}

	subjectWords = []word[Subject]{{"move", RulesMove, true}, {"bond", RulesBond, true}, {"part", RulesPart, true}, {"hatch", RulesHatch, true}}
	answerWords  = []word[Answer]{{"agreed", Agreed, true}, {"declined", Declined, true}, {"waiting", Waiting, true}}
)

var (
	badSex    = complaint{codeBadSex, "this is not a sex", "write F, M or U"}
	badOrigin = complaint{codeBadOrigin, "this is not an origin", "write wild or captive, or leave the cell blank"}
	badBlock  = complaint{codeBadBlock, "this is nothing a hold can block", "write breeding, moving or both"}

	badSubject = complaint{codeBadSubject, "this is nothing that can be decided", "write move, bond, part or hatch"}
	badAnswer  = complaint{codeBadAnswer, "this is no decision", "write agreed, declined or waiting"}
)

// describe returns the declaration of the file without how it is read.
func (f *file[T]) describe() File {
	d := File{Name: f.base + ".csv", Row: f.row, Needed: f.base == studbookFile}
	for _, c := range f.columns {
		d.Columns = append(d.Columns, c.Column)
	}
	if f.base == genotypesFile {
		d.Further = "a marker in each further column, as 152/156 or A/G, or in two of one name"
	}
	return d
}

// Files returns the tables of a colony folder, in the order of documents.
// programme.toml is none of them; see AllSettings.
func Files() []File { return slices.Clone(described()) }

// OfFolder reports whether a file of this name, in capitals or not, is one of those that a
// colony folder is read from.
func OfFolder(name string) bool {
	return strings.EqualFold(name, programmeFile) || slices.ContainsFunc(described(), func(f File) bool { return strings.EqualFold(f.Name, name) })
}

// described is made once, as every cell of a form to record in looks itself up in it.
var described = sync.OnceValue(func() []File {
	all := make([]File, len(tables))
	for i, t := range tables {
		all[i] = t.describe()
	}
	return all
})

// allColumns are the columns of all files, in the order of findings.
func allColumns() []Column {
	var all []Column
	for _, f := range Files() {
		all = slices.Concat(all, f.Columns)
	}
	return all
}
