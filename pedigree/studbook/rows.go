package studbook

import (
	"fmt"
	"strconv"
	"strings"
)

// The rows of the files as gocsv decodes them: text, cell by cell. The fields
// of each type are the columns of its file in the order of the documentation;
// need marks the columns that a file must have.

type studbookRow struct {
	ID       string `csv:"id" need:"yes"`
	Name     string `csv:"name"`
	Band     string `csv:"band"`
	Sex      string `csv:"sex" need:"yes"`
	Sire     string `csv:"sire" need:"yes"`
	Dam      string `csv:"dam" need:"yes"`
	Hatch    string `csv:"hatch_date" need:"yes"`
	Death    string `csv:"death_date"`
	Location string `csv:"location"`
	Origin   string `csv:"origin"`
	Notes    string `csv:"notes"`
}

type moveRow struct {
	ID     string `csv:"id" need:"yes"`
	Date   string `csv:"date" need:"yes"`
	From   string `csv:"from"`
	To     string `csv:"to" need:"yes"`
	Reason string `csv:"reason"`
}

type bondRow struct {
	Female  string `csv:"female" need:"yes"`
	Male    string `csv:"male" need:"yes"`
	Since   string `csv:"since" need:"yes"`
	Until   string `csv:"until"`
	Nest    string `csv:"nest"`
	EndedBy string `csv:"ended_by"`
}

type clutchRow struct {
	Female  string `csv:"female" need:"yes"`
	Male    string `csv:"male" need:"yes"`
	Laid    string `csv:"laid" need:"yes"`
	Eggs    string `csv:"eggs"`
	Fertile string `csv:"fertile"`
	Hatched string `csv:"hatched"`
	Fledged string `csv:"fledged"`
}

type holdRow struct {
	ID     string `csv:"id" need:"yes"`
	Since  string `csv:"since" need:"yes"`
	Until  string `csv:"until"`
	Reason string `csv:"reason" need:"yes"`
	Blocks string `csv:"blocks"`
	Note   string `csv:"note"`
}

type institutionRow struct {
	Code           string `csv:"code" need:"yes"`
	Name           string `csv:"name"`
	Latitude       string `csv:"latitude"`
	Longitude      string `csv:"longitude"`
	SpacesF        string `csv:"spaces_f"`
	SpacesM        string `csv:"spaces_m"`
	QuarantineDays string `csv:"quarantine_days"`
	Contact        string `csv:"contact"`
	Notes          string `csv:"notes"`
}

type founderKinshipRow struct {
	ID1     string `csv:"id1" need:"yes"`
	ID2     string `csv:"id2" need:"yes"`
	Kinship string `csv:"kinship" need:"yes"`
}

// spot is a row being converted; its methods convert cells and report what
// they cannot read.
type spot struct {
	r    *reader
	file string
	line int
}

func (r *reader) spot(t *table, i int) spot { return spot{r, t.file, t.lines[i]} }

func (s spot) at(column, value string) place { return place{s.file, s.line, column, value} }

// date converts a cell with a date. planned tells that it may lie in the
// future.
func (s spot) date(column, cell string, planned bool) Date {
	d, err := ParseDate(cell)
	if err != nil {
		s.r.fault(s.at(column, cell), codeUnreadableDate, "the date cannot be read", err.Error())
		return Date{}
	}
	if today := s.r.opt.Today; !planned && today != 0 && d.First > today {
		s.r.warn(s.at(column, cell), codeFutureDate, "the date is in the future", "check the year")
	}
	return d
}

// count converts a cell with a whole number of things, -1 if it is blank.
func (s spot) count(column, cell string) int {
	if cell == "" {
		return -1
	}
	n, err := strconv.Atoi(strings.TrimSuffix(strings.TrimSuffix(cell, ".0"), ",0"))
	if err != nil || n < 0 || n > 1e6 {
		s.r.fault(s.at(column, cell), codeBadNumber, "this is not a count", "write a whole number from 0 up, or leave the cell blank")
		return -1
	}
	return n
}

// number converts a cell with a number in a range, ends included.
func (s spot) number(column, cell string, low, high float64) (float64, bool) {
	x, err := parseNumber(cell)
	switch {
	case err != nil:
		s.r.fault(s.at(column, cell), codeBadNumber, "this is not a number", fmt.Sprintf("write a number from %g to %g", low, high))
		return 0, false
	case !(x >= low && x <= high):
		s.r.fault(s.at(column, cell), codeOutOfRange, fmt.Sprintf("the number is not between %g and %g", low, high), "correct it")
		return 0, false
	}
	return x, true
}

// needed reports a blank cell that its row cannot do without.
func (s spot) needed(t *table, column, cell string) bool {
	if cell == "" && t.has(column) {
		s.r.fault(s.at(column, ""), codeMissingValue, "the cell is blank", "fill it in")
	}
	return cell != ""
}
