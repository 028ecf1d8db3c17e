package exchange

import (
	"context"
	"fmt"
	"io/fs"
	"slices"

	"pairwright/pedigree/studbook"
)

// folderBirds are the birds of the colony folder that a file is laid over: the sheet of
// one place names parents that have their rows in the folder alone. A nil folderBirds
// has no birds.
type folderBirds struct {
	rows  keyed             // of studbook.csv
	ids   map[string]string // id as it stands -> itself
	plain map[string]string // what PlainID has of an id -> the id, "" where several have it
	bands map[string]string // band -> id, likewise
	names map[string]string // name as key has it and sex -> id, likewise
}

// birdsIn reads the birds of a folder, nil without one.
func birdsIn(ctx context.Context, folder fs.FS) (*folderBirds, error) {
	if folder == nil {
		return nil, nil
	}
	columns, err := columnsIn(ctx, folder)
	if err != nil {
		return nil, fmt.Errorf("reading the folder: %w", err)
	}
	rows, err := tableIn(folder, "studbook.csv", columns)
	if err != nil {
		return nil, fmt.Errorf("reading the folder: %w", err)
	}
	o := &folderBirds{rows: rows, ids: make(map[string]string), plain: make(map[string]string), bands: make(map[string]string), names: make(map[string]string)}
	put := func(m map[string]string, said, id string) {
		if said == "" {
			return
		}
		if other, there := m[said]; there && other != id {
			id = ""
		}
		m[said] = id
	}
	for _, row := range rows.rows {
		id, name := rows.cell(row, "id"), key(rows.cell(row, "name"))
		o.ids[id] = id
		put(o.plain, studbook.PlainID(id), id)
		put(o.bands, rows.cell(row, "band"), id)
		if name != "" {
			for _, other := range [2]studbook.Sex{studbook.Male, studbook.Female} {
				if sex := studbook.Male + studbook.Female - other; rows.cell(row, "sex") != other.String() {
					put(o.names, name+sex.String(), id)
				}
			}
		}
	}
	return o, nil
}

// find returns the one bird that a text names.
func (o *folderBirds) find(text string, sex studbook.Sex) (id string, how found) {
	if o == nil {
		return "", notFound
	}
	if id = o.ids[text]; id != "" {
		return id, byID
	}
	if id = o.plain[studbook.PlainID(text)]; id != "" {
		return id, byIDOtherwise
	}
	if id = o.bands[text]; id != "" {
		return id, byBand
	}
	if id = o.names[key(text)+sex.String()]; id != "" {
		return id, byName
	}
	return "", notFound
}

// parent understands the cell of a parent: one bird of the folder, or several with
// their weights, as colony files have them.
func (o *folderBirds) parent(text string, sex studbook.Sex) (descent, bool) {
	if id, how := o.find(text, sex); how != notFound {
		return descent{how: how, candidates: []candidate{{-1, id, 1}}}, true
	}
	if o == nil {
		return descent{}, false
	}
	p, _, err := studbook.ParseParentage(text)
	if err != nil || len(p.Candidates) == 0 {
		return descent{}, false
	}
	d := descent{how: asPossible}
	for _, c := range p.Candidates {
		id, how := o.find(c.ID, sex)
		if how == notFound {
			return descent{}, false
		}
		d.candidates = append(d.candidates, candidate{-1, id, c.Weight})
	}
	return d, true
}

// parentOf reports whether a cell names a bird of the folder as either parent.
func (o *folderBirds) parentOf(text string) bool {
	_, sire := o.parent(text, studbook.Male)
	_, dam := o.parent(text, studbook.Female)
	return sire || dam
}

// with returns files as they are read in the folder: with the rows of the birds that
// they have none of.
func (o *folderBirds) with(files []File) memory {
	if o == nil {
		return memory(files)
	}
	out := slices.Clone(files)
	for k, f := range out {
		if f.Name != "studbook.csv" {
			continue
		}
		theirs, err := parseRows(f.Content, nil)
		if err != nil {
			return memory(files) // reading them says what is wrong
		}
		has := theirs.ids()
		var more []keyedRow
		for _, row := range o.rows.rows {
			if !has[o.rows.cell(row, "id")] {
				more = append(more, keyedRow{o.rows, row})
			}
		}
		out[k].Content = theirs.and(o.rows, more).bytes()
	}
	return memory(out)
}
