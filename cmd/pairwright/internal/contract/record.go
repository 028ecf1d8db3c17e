package contract

import (
	"time"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/journal"
)

// Record is an event that is written down, or would be.
type Record struct {
	What     string            `json:"what"`   // the kind of event, or "undo"
	Values   map[string]string `json:"values"` // what was told
	Undoes   *int              `json:"undoes"` // number of the change that is taken back
	Written  bool              `json:"written"`
	Change   *int              `json:"change"` // number of the change; null while it is not written
	Rows     []RecordRow       `json:"rows"`
	Findings []CheckFinding    `json:"findings"` // what is wrong, and what check finds that it did not find before
}

// RecordRow is a row that changes.
type RecordRow struct {
	File   string       `json:"file"`
	Line   *int         `json:"line"`   // null for a row that is taken out
	Before *string      `json:"before"` // as the file has it; null for a new row
	After  *string      `json:"after"`  // null for a row that is taken out
	Cells  []RecordCell `json:"cells"`
}

// RecordCell is a cell that changes.
type RecordCell struct {
	Column string `json:"column"`
	Before string `json:"before"`
	After  string `json:"after"`
}

// Changes are the last changes of a colony folder, the newest first.
type Changes struct {
	Changes []RecordChange `json:"changes"`
}

// RecordChange is a change that was written.
type RecordChange struct {
	Change    int               `json:"change"`
	When      string            `json:"when"` // RFC 3339
	What      string            `json:"what"`
	Values    map[string]string `json:"values"`
	Undoes    *int              `json:"undoes"`
	TakenBack bool              `json:"taken_back"`
	Rows      []RecordRow       `json:"rows"`
}

// RecordJSON returns a proposal as other programs read it.
func RecordJSON(p *journal.Proposal) Record {
	out := Record{What: p.Event.Kind, Values: told(p.Event), Written: p.Number > 0, Change: known(p.Number, p.Number > 0), Rows: recordRows(p.Edits), Findings: findingRows(p.Findings)}
	if p.Undoes != nil {
		out.Undoes = &p.Undoes.Number
	}
	return out
}

// ChangesJSON returns the last changes as other programs read them.
func ChangesJSON(all []journal.Entry) Changes {
	out := Changes{Changes: []RecordChange{}}
	for _, e := range all {
		out.Changes = append(out.Changes, RecordChange{
			Change: e.Number, When: e.When.Format(time.RFC3339), What: e.Event.Kind, Values: told(e.Event),
			Undoes: known(e.Undoes, e.Undoes > 0), TakenBack: e.Undone, Rows: recordRows(e.Edits),
		})
	}
	return out
}

// told are the values of an event, an empty object where there are none.
func told(e journal.Event) map[string]string {
	if e.Values == nil {
		return map[string]string{}
	}
	return e.Values
}

func recordRows(edits []studbook.Edit) []RecordRow {
	rows := []RecordRow{}
	for _, e := range edits {
		r := RecordRow{File: e.File, Line: known(e.Line, e.Line > 0), Before: text(e.Before), After: text(e.After), Cells: []RecordCell{}}
		for _, c := range e.Cells {
			r.Cells = append(r.Cells, RecordCell{c.Column, c.Before, c.After})
		}
		rows = append(rows, r)
	}
	return rows
}
