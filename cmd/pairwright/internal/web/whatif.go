package web

import (
	"encoding/csv"
	"net/url"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/question"
	"pairwright/pedigree/studbook"
)

// A form asks for the changes of a what-if cell by cell, under the names of the columns
// of a file of changes; the address of the answer has each change whole, as the question
// takes it.

// blankChanges is how many changes can be added at a time.
const blankChanges = 3

// change is a row of the form.
type change struct {
	Number int
	Cells  map[string]string // by column
}

// Changes are the rows of a field of changes: those that were asked about, and some to
// fill in.
func (f field) Changes() []change {
	var out []change
	for _, row := range append(slices.Clone(f.Chosen), make([]string, blankChanges)...) {
		x := change{Number: len(out) + 1, Cells: map[string]string{}}
		cells, _ := csv.NewReader(strings.NewReader(row)).Read() // one that is no row was refused
		for k, column := range studbook.SuppositionColumns() {
			if k < len(cells) {
				x.Cells[column] = cells[k]
			}
		}
		out = append(out, x)
	}
	return out
}

// changeWords say what each word for a change means.
var changeWords = map[string]string{
	"move": "a bird moves", "bond": "two birds pair", "part": "a pair is parted", "hatch": "a pair hatches", "leave": "birds leave",
	"founder": "founders come", "places": "more places, or fewer",
}

// changesHelp says how a row of the form is filled in.
const changesHelp = "The programme with these changes is run beside the programme as it is. Birds are ids with a semicolon between them: " +
	"the bird that moves, and its mate if it goes to one; the female and the male of a pair; those that leave, or instead an institution that leaves with all its birds. " +
	"Number is how many founders come, or places more (below 0: fewer); sex and year are of founders, chicks of a pair that hatches."

// Whats are the changes to choose from, and what they mean.
func (field) Whats() []link {
	out := []link{{"", "nothing"}}
	for _, word := range studbook.SupposedWords() {
		out = append(out, link{word, changeWords[word]})
	}
	return out
}

// Institutions are the codes of those that the colony's files know.
func (v *visit) Institutions() []string { return v.colony.Colony.InstitutionCodes() }

// wholeChanges returns what an address asks with the changes that a form has cell by
// cell written whole; false if it has none.
func wholeChanges(values url.Values) (url.Values, bool) {
	columns := studbook.SuppositionColumns()
	if !values.Has(columns[0]) {
		return nil, false
	}
	whole := url.Values{}
	for key, texts := range values {
		if !slices.Contains(columns, key) {
			whole[key] = texts
		}
	}
	for k := range values[columns[0]] {
		var cells []string
		filled := 0
		for c, column := range columns {
			cell := ""
			if k < len(values[column]) {
				cell = strings.TrimSpace(values[column][k])
			}
			if cells = append(cells, cell); cell != "" {
				filled = c + 1
			}
		}
		if filled > 0 {
			var row strings.Builder
			w := csv.NewWriter(&row)
			_ = w.Write(cells[:filled]) // a builder takes all
			w.Flush()
			whole.Add(question.ChangeSetting, strings.TrimSuffix(row.String(), "\n"))
		}
	}
	return whole, true
}
