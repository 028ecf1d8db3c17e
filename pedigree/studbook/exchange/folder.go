package exchange

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"
	"sync"

	"pairwright/pedigree/studbook"
)

// folder writes the colony folder as text.
func (im *importer) folder() ([]File, error) {
	located, origins := im.enclosed != "", false
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
	rows := func(birds []*bird) []byte {
		const usual = 80 // bytes of a row
		text := make([]byte, 0, usual*len(birds))
		row := make([]string, 0, len(head))
		for _, b := range birds {
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
		return text
	}
	var elder, younger []byte
	half := len(im.birds) / 2
	var both sync.WaitGroup
	both.Go(func() { elder = rows(im.birds[:half]) })
	younger = rows(im.birds[half:])
	both.Wait()
	files := []File{{"studbook.csv", slices.Concat(appendRow(nil, head), elder, younger)}}
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
	if home := cmp.Or(im.opt.Home, im.enclosed); home != "" {
		settings = bytes.Replace(settings, []byte(`#home = "HOME"`), []byte("home = "+QuoteTOML(home)), 1)
	}
	return append(files, File{"programme.toml", settings}), nil
}

// record is the bird as a row of the studbook.
func (b *bird) record() studbook.Bird {
	return studbook.Bird{
		ID: b.id, Name: b.name, Band: b.band, Sex: b.sex, Sire: b.parentage[0].parentage(), Dam: b.parentage[1].parentage(),
		Hatch: studbook.Date{First: b.hatch.first, Last: b.hatch.last, Text: b.hatch.text}, Location: b.location, Origin: b.origin,
		Notes: strings.Join(b.notes.list, "; "), Recorded: true,
	}
}

// oneLine is a text without line breaks and doubled blanks.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
