package exchange

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/sourcegraph/conc"

	"pairwright/pedigree/studbook"
)

// folder writes the colony folder as text.
func (im *importer) folder() ([]File, error) {
	files := []File{{"studbook.csv", im.studbookText()}}
	slices.SortStableFunc(im.moves, func(a, b studbook.Move) int { return cmp.Compare(a.Date.First, b.Date.First) })
	files, err1 := withRecords(files, "moves.csv", im.moves)
	files, err2 := withRecords(files, "bonds.csv", im.bonds)
	files, err3 := withRecords(files, "clutches.csv", im.clutches)
	if err := cmp.Or(err1, err2, err3); err != nil {
		return nil, err
	}
	for _, t := range im.tables {
		if t.kind == ownRows {
			files = slices.DeleteFunc(files, func(f File) bool { return f.Name == t.own })
			files = append(files, File{t.own, t.asFound()})
		}
	}
	settings := studbook.Template()["programme.toml"]
	if home := im.home(); home != "" {
		settings = bytes.Replace(settings, []byte(`#home = "HOME"`), []byte("home = "+QuoteTOML(home)), 1)
	}
	return append(files, File{"programme.toml", settings}), nil
}

// home is the code of the user's own institution as far as the file leaves no choice: the only
// place that it says birds are kept at or, where others went to another, the only one at which
// birds live.
func (im *importer) home() string {
	if home := cmp.Or(im.opt.Home, im.enclosed); home != "" {
		return home
	}
	kept, living := make(map[string]bool), make(map[string]bool)
	for _, b := range im.birds {
		for i := range b.stays {
			kept[b.stays[i].location] = true
		}
		if b.fate == alive {
			living[b.location] = true
		}
	}
	for _, places := range []map[string]bool{kept, living} {
		delete(places, "")
		for place := range places {
			if len(places) == 1 && living[place] && place != elsewhere {
				return place
			}
		}
	}
	return ""
}

// studbookText writes the studbook, without the places and the origins that the file has no
// column of.
func (im *importer) studbookText() []byte {
	located, origins := im.enclosed != "", false
	for _, t := range im.tables {
		located = located || t.has(colLocation) || t.has(colEventPlace)
		origins = origins || t.has(colOrigin)
	}
	var head []string
	var from []int // the column of Header that each of head is
	for j, h := range studbook.Header[studbook.Bird]() {
		if (h != "location" || located) && (h != "origin" || origins) {
			head, from = append(head, h), append(from, j)
		}
	}
	rows := func(birds []*bird) []byte {
		const usual = 80 // bytes of a row
		text := make([]byte, 0, usual*len(birds))
		row := make([]string, len(head)+len(im.carried))
		for _, b := range birds {
			cells := studbook.Cells(b.record())
			for k, j := range from {
				row[k] = cells[j]
				if head[k] == "death_date" {
					row[k] = b.death.text // unknown, too
				}
			}
			clear(row[len(head):])
			copy(row[len(head):], b.carried)
			text = appendRow(text, row)
		}
		return text
	}
	var elder, younger []byte
	half := len(im.birds) / 2
	var both conc.WaitGroup
	both.Go(func() { elder = rows(im.birds[:half]) })
	younger = rows(im.birds[half:])
	both.Wait()
	return slices.Concat(appendRow(nil, slices.Concat(head, im.carried)), elder, younger)
}

// withRecords appends a file of records, unless there are none.
func withRecords[T studbook.Record](files []File, name string, records []T) ([]File, error) {
	if len(records) == 0 {
		return files, nil
	}
	var b bytes.Buffer
	if err := studbook.Write(&b, records); err != nil {
		return nil, fmt.Errorf("writing %s: %w", name, err)
	}
	return append(files, File{name, b.Bytes()}), nil
}

// asFound writes a table as it stands in the file.
func (t *table) asFound() []byte {
	rows := [][]string{t.head}
	for _, r := range t.body {
		cells := make([]string, len(t.head))
		for j := range cells {
			cells[j] = r.At(j).Text
		}
		rows = append(rows, cells)
	}
	return csvText(rows)
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
