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
	rows := func(birds []*bird) (text []byte) {
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
	if im.opt.Home != "" {
		settings = bytes.Replace(settings, []byte(`#home = "HOME"`), []byte("home = "+QuoteTOML(im.opt.Home)), 1)
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

// holdNests makes bonds of the pairs that held nests. Where only the season is known,
// seasons that follow each other are one bond, and one of the last season of the
// sheet is taken to go on.
func (im *importer) holdNests() {
	type couple struct{ female, male int32 }
	bySeason := make(map[couple][]holding)
	lastOf := make(map[*table]int)
	var order []couple
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
		if h.season > 0 {
			c := couple{f, m}
			if bySeason[c] == nil {
				order = append(order, c)
			}
			bySeason[c] = append(bySeason[c], h)
			lastOf[h.at.t] = max(lastOf[h.at.t], h.season)
			continue
		}
		im.bonds = append(im.bonds, studbook.Bond{Female: im.birds[f].id, Male: im.birds[m].id, Since: toDate(h.since), Until: toDate(h.until), Nest: oneLine(h.nest)})
	}
	mates := make(map[int32]map[int32]bool) // of the last season
	for _, c := range order {
		for _, h := range bySeason[c] {
			if h.season < lastOf[h.at.t] {
				continue
			}
			for _, x := range [2][2]int32{{c.female, c.male}, {c.male, c.female}} {
				if mates[x[0]] == nil {
					mates[x[0]] = make(map[int32]bool)
				}
				mates[x[0]][x[1]] = true
			}
		}
	}
	for _, c := range order {
		list := bySeason[c]
		slices.SortStableFunc(list, func(a, b holding) int { return cmp.Compare(a.season, b.season) })
		for k := 0; k < len(list); {
			n := k + 1
			for n < len(list) && list[n].season <= list[n-1].season+1 {
				n++
			}
			first, last := list[k], list[n-1]
			b := studbook.Bond{Female: im.birds[c.female].id, Male: im.birds[c.male].id, Since: toDate(first.since), Until: toDate(last.until), Nest: oneLine(last.nest)}
			if last.season == lastOf[last.at.t] && im.birds[c.female].fate == alive && im.birds[c.male].fate == alive && len(mates[c.female]) == 1 && len(mates[c.male]) == 1 {
				b.Until = studbook.Date{}
				im.likely(Decision{Code: "pair_of_last_season", Sheet: last.at.t.name, Line: last.at.line, Column: "until", Taken: "still together",
					Text: fmt.Sprintf("the pairs of the last season, %d, whose birds both live are taken as still together, as %s and %s", last.season, b.Female, b.Male)})
			}
			im.bonds = append(im.bonds, b)
			k = n
		}
	}
}

// bondParents writes the bonds of living birds whose last chicks are of each other,
// from the day the first of these hatched, if the user says that they are pairs; it is
// said either way. It reports whether it wrote any.
func (im *importer) bondParents(c *studbook.Colony) bool {
	d := Decision{Code: "parents_without_bond", Column: "bonds", Taken: "no bond", Choice: &Choice{Subject: OfBonds, Taken: im.opt.Mapping.Bonds, May: options(BondsOfParents, Nothing)}}
	last := &c.Birds[c.Unbonded[0]]
	dam, _ := last.Dam.Known()
	sire, _ := last.Sire.Known()
	for _, i := range c.Unbonded {
		for _, p := range [2]studbook.Parentage{c.Birds[i].Sire, c.Birds[i].Dam} {
			id, _ := p.Known()
			if k, there := im.byID[id]; there {
				d.of = append(d.of, k)
			}
		}
	}
	pairs := studbook.Counted(len(c.Unbonded), "pair of living birds", "pairs of living birds")
	d.Text = fmt.Sprintf("%s, as %s and %s, had their last chicks together, and no bond of theirs is in the file: they count as free, and may be given to others", pairs, dam, sire)
	if im.opt.Mapping.Bonds != BondsOfParents {
		im.likely(d)
		im.weigh()
		return false
	}
	first := make(map[[2]string]studbook.Date)
	for k := range c.Birds {
		b := &c.Birds[k]
		s, _ := b.Sire.Known()
		d, _ := b.Dam.Known()
		if old, there := first[[2]string{d, s}]; b.Hatch.Known() && (!there || b.Hatch.First < old.First) {
			first[[2]string{d, s}] = b.Hatch
		}
	}
	for _, i := range c.Unbonded {
		male, _ := c.Birds[i].Sire.Known()
		female, _ := c.Birds[i].Dam.Known()
		im.bonds = append(im.bonds, studbook.Bond{Female: female, Male: male, Since: first[[2]string{female, male}]})
	}
	d.Taken = "a bond since their first chick"
	d.Text = fmt.Sprintf("%s, as %s and %s, had their last chicks together: a bond is written for each, since their first chick", pairs, dam, sire)
	im.likely(d)
	im.weigh()
	return true
}

// oneLine is a text without line breaks and doubled blanks.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
