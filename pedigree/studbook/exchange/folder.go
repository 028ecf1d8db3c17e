package exchange

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/BurntSushi/toml"
	"github.com/sourcegraph/conc"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
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
			files = append(files, File{t.own, im.asFound(t)})
		}
	}
	return append(files, File{settingsFile, im.settings()}), nil
}

// settings are those of the folder whose studbook was read, else the template; with what is
// known of the user's own institution.
func (im *importer) settings() []byte {
	line := []byte("home = " + QuoteTOML(im.home()))
	switch own := im.src.settings; {
	case own == nil && im.home() == "":
		return studbook.Template()[settingsFile]
	case own == nil:
		return bytes.Replace(studbook.Template()[settingsFile], []byte(`#home = "HOME"`), line, 1)
	case im.opt.Home == "":
		return own
	case homeLine().Match(own):
		return homeLine().ReplaceAllLiteral(own, line)
	default:
		return slices.Concat(line, []byte("\n"), own)
	}
}

// homeLine finds the setting of the user's own institution, which stands before all tables.
var homeLine = pattern(`(?m)^home[ \t]*=[ \t]*("[^"\n]*"|'[^'\n]*')`)

// home is the code of the user's own institution as far as the file leaves no choice: the one
// that its folder has or the only place that it says birds are kept at or, where others went
// to another, the only one at which birds live.
func (im *importer) home() string {
	if home := cmp.Or(im.opt.Home, im.settledHome(), im.enclosed); home != "" {
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

// settledHome is the home that the settings of the folder name.
func (im *importer) settledHome() string {
	var of struct {
		Home string `toml:"home"`
	}
	if _, err := toml.Decode(string(im.src.settings), &of); err != nil {
		return "" // which is a finding once the folder is read
	}
	return of.Home
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

// asFound writes a file of a folder as it stands, but for dates that are written otherwise
// than in such files.
func (im *importer) asFound(t *table) []byte {
	dates := t.ownDates()
	rows := [][]string{t.head}
	for _, r := range t.body {
		cells := make([]string, len(t.head))
		for j := range cells {
			if cells[j] = r.At(j).Text; slices.Contains(dates, j) {
				cells[j] = im.ownDate(r.At(j)).Text
			}
		}
		rows = append(rows, cells)
	}
	return csvText(rows)
}

// ownDates are the columns of dates of a file of a folder; none of any other table.
func (t *table) ownDates() (at []int) {
	for _, f := range studbook.Files() {
		if f.Name != t.own {
			continue
		}
		for j, h := range t.head {
			if slices.ContainsFunc(f.Columns, func(c studbook.Column) bool { return c.Name == h && c.Form == studbook.FormDate }) {
				at = append(at, j)
			}
		}
	}
	return at
}

// readable reports whether a text is a date as files of a folder have it.
func readable(text string) bool {
	_, err := studbook.ParseDate(text)
	return err == nil
}

// ownDate is the date of a cell of a file of a folder. One that cannot be read is kept as
// it stands, and is a finding of the folder then.
func (im *importer) ownDate(c sheets.Cell) studbook.Date {
	as, err := studbook.ParseDate(c.Text)
	if d, ok := im.readDate(c); err != nil && ok && d.text != "" {
		return studbook.Date{First: d.first, Last: d.last, Text: d.text}
	}
	as.Text = c.Text
	return as
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
