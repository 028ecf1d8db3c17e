package exchange

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pairwright/pedigree/studbook"
)

// folder writes the colony folder as text.
func (im *importer) folder() ([]File, error) {
	located, origins := false, false
	for _, t := range im.tables {
		located = located || t.has(colLocation) || t.has(colEventPlace)
		origins = origins || t.has(colOrigin)
	}
	header := studbook.Header[studbook.Bird]()
	skip := func(name string) bool {
		return name == "location" && !located || name == "origin" && !origins
	}
	var head []string
	for _, h := range header {
		if !skip(h) {
			head = append(head, h)
		}
	}
	head = append(head, im.carried...)
	text := appendRow(nil, head)
	row := make([]string, 0, len(head))
	for _, b := range im.birds {
		cells := studbook.Cells(b.record())
		row = row[:0]
		for j, h := range header {
			switch {
			case skip(h):
			case h == "death_date":
				row = append(row, b.death.text) // unknown, too
			default:
				row = append(row, cells[j])
			}
		}
		if b.carried != nil {
			row = append(row, b.carried...)
		} else {
			for range im.carried {
				row = append(row, "")
			}
		}
		text = appendRow(text, row)
	}
	files := []File{{"studbook.csv", text}}
	slices.SortStableFunc(im.moves, func(a, b studbook.Move) int { return cmp.Compare(a.Date.First, b.Date.First) })
	for _, f := range []struct {
		name  string
		n     int
		write func(*bytes.Buffer) error
	}{
		{"moves.csv", len(im.moves), func(w *bytes.Buffer) error { return studbook.Write(w, im.moves) }},
		{"bonds.csv", len(im.bonds), func(w *bytes.Buffer) error { return studbook.Write(w, im.bonds) }},
		{"clutches.csv", len(im.clutches), func(w *bytes.Buffer) error { return studbook.Write(w, im.clutches) }},
	} {
		if f.n == 0 {
			continue
		}
		var b bytes.Buffer
		if err := f.write(&b); err != nil {
			return nil, fmt.Errorf("writing %s: %w", f.name, err)
		}
		files = append(files, File{f.name, b.Bytes()})
	}
	for _, t := range im.tables {
		if t.kind != ownRows {
			continue
		}
		rows := [][]string{t.head}
		for _, r := range t.body {
			cells := make([]string, len(t.head))
			for j := range cells {
				cells[j] = r.at(j).text
			}
			rows = append(rows, cells)
		}
		files = slices.DeleteFunc(files, func(f File) bool { return f.Name == t.own })
		files = append(files, File{t.own, csvText(rows)})
	}
	settings := studbook.Template()["programme.toml"]
	if im.opt.Home != "" {
		settings = bytes.Replace(settings, []byte(`#home = "HOME"`), []byte("home = "+tomlQuote(im.opt.Home)), 1)
	}
	return append(files, File{"programme.toml", settings}), nil
}

// record is the bird as a row of the studbook.
func (b *bird) record() studbook.Bird {
	return studbook.Bird{
		ID: b.id, Name: b.name, Band: b.band, Sex: b.sex, Sire: b.parentage[0].parentage(), Dam: b.parentage[1].parentage(),
		Hatch: studbook.Date{First: b.hatch.first, Last: b.hatch.last, Text: b.hatch.text}, Location: b.location, Origin: b.origin,
		Notes: strings.Join(b.notes, "; "), Recorded: true,
	}
}

// holdNests makes bonds of the pairs that held nests.
func (im *importer) holdNests() {
	for _, h := range im.held {
		f, ok1 := im.oneAtMost(h.female)
		m, ok2 := im.oneAtMost(h.male)
		if !ok1 || !ok2 || f == m {
			im.likely(Decision{Code: "pair_without_rows", Sheet: h.at.t.name, Line: h.at.line, Value: h.female + " and " + h.male, Taken: "no bond",
				Text: fmt.Sprintf("the pair %q and %q is no bond: both must be birds of the file", h.female, h.male)})
			continue
		}
		if im.birds[f].sex == studbook.Male || im.birds[m].sex == studbook.Female {
			f, m = m, f
		}
		im.bonds = append(im.bonds, studbook.Bond{Female: im.birds[f].id, Male: im.birds[m].id, Since: toDate(h.since), Until: toDate(h.until), Nest: strings.Join(strings.Fields(h.nest), " ")})
	}
}
