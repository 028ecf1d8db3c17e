package journal

import (
	"fmt"
	"slices"
	"strings"

	"pairwright/pedigree/studbook"
)

// find returns the row of the studbook with a bird: by its id or, where no
// other bird has it, its id, name or band in capitals or small letters. An id
// goes before a name.
func (d *draft) find(who string) (row int, ok bool) {
	if who == "" {
		return 0, false
	}
	alike, called := -1, -1
	note := func(found *int, row int) {
		if *found >= 0 {
			row = d.birds.Len() // two of that name
		}
		*found = row
	}
	for i := range d.birds.Len() {
		switch id := d.birds.Cell(i, "id"); {
		case id == who:
			return i, true
		case strings.EqualFold(id, who):
			note(&alike, i)
		case strings.EqualFold(d.birds.Cell(i, "name"), who), strings.EqualFold(d.birds.Cell(i, "band"), who):
			note(&called, i)
		}
	}
	if row = alike; row < 0 {
		row = called
	}
	return row, row >= 0 && row < d.birds.Len()
}

// codeOf returns the code of an institution as the files have it, where it is told in
// other capitals or small letters.
func (d *draft) codeOf(told string) string {
	if told == "" {
		return ""
	}
	for _, from := range []struct{ file, column string }{{"institutions.csv", "code"}, {"studbook.csv", "location"}} {
		s, alike := d.sheet(from.file), ""
		for i := range s.Len() {
			switch code := s.Cell(i, from.column); {
			case code == told:
				return told
			case alike == "" && strings.EqualFold(code, told):
				alike = code
			}
		}
		if alike != "" {
			return alike
		}
	}
	return told
}

// near are the birds that may have been meant, the living before the dead.
func (d *draft) near(written string) []studbook.Meant {
	birds := make([]studbook.Bird, d.birds.Len())
	for i := range birds {
		birds[i] = studbook.Bird{ID: d.birds.Cell(i, "id"), Name: d.birds.Cell(i, "name"), Band: d.birds.Cell(i, "band"), Recorded: true}
	}
	return studbook.NearBirds(birds, written, func(i int) bool { return d.birds.Cell(i, "death_date") == "" })
}

// bird returns the row of the bird in a field.
func (d *draft) bird(field string) (row int, ok bool) {
	row, ok = d.find(d.value(field))
	if !ok {
		help := "write the bird's id as the studbook has it"
		if near := studbook.OrOf(d.near(d.value(field))); near != "" {
			help = "perhaps " + near + " is meant; " + help
		}
		d.refuse(field, d.value(field), codeUnknownID, "no bird of the studbook has this id, nor one bird alone this name or band", help)
		return row, false
	}
	id := d.birds.Cell(row, "id")
	d.spell(field, id)
	if !slices.ContainsFunc(d.about, func(n Named) bool { return n.ID == id }) {
		n := Named{Field: field, ID: id, Name: d.birds.Cell(row, "name"), Sex: d.birds.Cell(row, "sex"), Hatched: d.birds.Cell(row, "hatch_date"), Mate: d.mateOf(id, studbook.Date{})}
		n.Place, _ = d.lives(id, d.today)
		d.about = append(d.about, n)
	}
	return row, true
}

// spell has the event itself name a bird by its id where it was told in other capitals or
// small letters.
func (d *draft) spell(field, id string) {
	if strings.EqualFold(d.value(field), id) {
		d.values[field] = id
	}
}

// alive returns the row of the bird in a field, which must not have died.
func (d *draft) alive(field string) (row int, ok bool) {
	if row, ok = d.bird(field); !ok {
		return row, false
	}
	if death := d.birds.Cell(row, "death_date"); death != "" {
		d.refuse(field, d.birds.Cell(row, "id"), codeNotLiving, fmt.Sprintf("it died, by the studbook (%s)", death), "name another bird, or correct the studbook")
		return row, false
	}
	return row, true
}

// living returns the row of the bird in a field, which must live in the
// programme.
func (d *draft) living(field string) (row int, ok bool) {
	if row, ok = d.alive(field); !ok {
		return row, false
	}
	id := d.birds.Cell(row, "id")
	if _, here := d.lives(id, d.today); !here {
		d.refuse(field, id, codeNotLiving, "it does not live in the programme now, by its moves", "name another bird, or write down its arrival first")
		return row, false
	}
	return row, true
}

// lives returns where a bird lived on a day, false if that was nowhere in the
// programme. With errors in the files it is where the studbook has it.
func (d *draft) lives(id string, on studbook.Day) (place string, here bool) {
	if d.colony == nil {
		_, known := d.find(id)
		return d.cellOf(id, "location"), known
	}
	if d.lived == nil {
		d.lived = make(map[string]studbook.Life)
		for i, l := range d.colony.Lives() {
			d.lived[d.colony.Birds[i].ID] = l
		}
	}
	l := d.lived[id]
	return l.On(on)
}

// placeOf returns where a bird lived on a date, or else where the studbook has
// it.
func (d *draft) placeOf(id string, on studbook.Date) string {
	if place, here := d.lives(id, on.Mid()); here {
		return place
	}
	return d.cellOf(id, "location")
}

// home returns the code of the user's own institution, or of the only one there
// is, "" if neither is known.
func (d *draft) home() string {
	if home := d.w.Settings().Home; home != "" {
		return home
	}
	only := ""
	for i := range d.birds.Len() {
		switch at := d.birds.Cell(i, "location"); {
		case at == "" || at == only:
		case only != "":
			return ""
		default:
			only = at
		}
	}
	return only
}

func (d *draft) sexOf(id string) string { return strings.ToUpper(d.cellOf(id, "sex")) }

func (d *draft) dead(id string) bool { return d.cellOf(id, "death_date") != "" }

// cellOf returns a cell of the row of a bird, "" where the studbook has none, as of a mate
// that a bond names alone.
func (d *draft) cellOf(id, column string) string {
	if row, ok := d.find(id); ok {
		return d.birds.Cell(row, column)
	}
	return ""
}

// openBonds returns the rows of the bonds of a bird that last, each with its
// mate: those without an end, or with one after the day, whose mate lives.
func (d *draft) openBonds(id string, on studbook.Date) (rows []int, mates []string) {
	s := d.sheet("bonds.csv")
	for i := range s.Len() {
		mate := s.Cell(i, "male")
		switch id {
		case s.Cell(i, "female"):
		case mate:
			mate = s.Cell(i, "female")
		default:
			continue
		}
		until, err := studbook.ParseDate(s.Cell(i, "until"))
		since, _ := studbook.ParseDate(s.Cell(i, "since"))
		ended := err != nil || until.Known() && (!on.Known() || until.First <= on.Mid())
		if !ended && !d.dead(mate) && (!on.Known() || since.First <= on.Last) {
			rows, mates = append(rows, i), append(mates, mate)
		}
	}
	return rows, mates
}

// mateOf returns the mate of a bird by the bonds, on a day or, with an unknown
// one, now; "" if there is none. Two birds at two places are no pair.
func (d *draft) mateOf(id string, on studbook.Date) string {
	_, mates := d.openBonds(id, on)
	day := on.Mid()
	if !on.Known() {
		day = d.today
	}
	at, _ := d.lives(id, day)
	for _, mate := range mates {
		if there, _ := d.lives(mate, day); there == at {
			return mate
		}
	}
	return ""
}

// endBonds ends the bonds of a bird that last, but for that with a mate, and
// returns how many.
func (d *draft) endBonds(id string, on studbook.Date, why, but string) int {
	rows, mates := d.openBonds(id, studbook.Date{})
	ended := 0
	for k, row := range rows {
		if mates[k] == but {
			continue
		}
		d.set("bonds.csv", row, "until", on.Text)
		d.setIfThere("bonds.csv", row, "ended_by", why)
		d.ended = append(d.ended, [2]string{d.sheet("bonds.csv").Cell(row, "female"), d.sheet("bonds.csv").Cell(row, "male")})
		ended++
	}
	return ended
}

// clutchOf returns the row of the clutch that a chick of a dam is from: the one
// told, or the last one before the hatch that can be.
func (d *draft) clutchOf(dam string, hatch studbook.Date) (row int, ok bool) {
	s := d.sheet("clutches.csv")
	told, _ := studbook.ParseDate(d.value("laid"))
	longest := studbook.Day(d.w.Settings().IncubationDays + lateHatch)
	var best studbook.Day
	for i := range s.Len() {
		laid, err := studbook.ParseDate(s.Cell(i, "laid"))
		if s.Cell(i, "female") != dam || err != nil || !laid.Known() || s.Cell(i, "hatched") == studbook.EggsReplaced {
			continue
		}
		switch day := laid.Mid(); {
		case told.Known():
			if laid.First == told.First && laid.Last == told.Last {
				return i, true
			}
		case day <= hatch.Last && hatch.First-day <= longest && day > best:
			row, ok, best = i, true, day
		}
	}
	return row, ok
}

// lyingClutch is lastClutch of which the eggs might lie there still: it warns where
// they cannot, or have hatched.
func (d *draft) lyingClutch(field string) (row int, ok bool) {
	if row, ok = d.lastClutch(field); !ok || d.value("laid") != "" {
		return row, ok
	}
	s := d.sheet("clutches.csv")
	laid, _ := studbook.ParseDate(s.Cell(row, "laid"))
	if hatched := s.Cell(row, "hatched"); laid.Mid()+studbook.Day(d.w.Settings().IncubationDays)+lateHatch < d.today || hatched != "" && hatched != "0" {
		d.warn(field, d.value(field), codeLongAgo, fmt.Sprintf("this is about the clutch of %s, the last on record, which does not lie there any more", laid.Text), "write the new clutch down first if there is one")
	}
	return row, ok
}

// lateHatch is how many days after the incubation period a chick may hatch by the first
// egg: eggs of a clutch do not hatch on one day, and may be laid over a week. Common
// practice, no source.
const lateHatch = 30

// lastClutch returns the row of the clutch told in the field laid, or of the
// last one of the bird in a field.
func (d *draft) lastClutch(field string) (row int, ok bool) {
	b, ok := d.bird(field)
	if !ok {
		return 0, false
	}
	id := d.birds.Cell(b, "id")
	told, _ := studbook.ParseDate(d.value("laid"))
	s := d.sheet("clutches.csv")
	best := studbook.Day(-1)
	for i := range s.Len() {
		laid, err := studbook.ParseDate(s.Cell(i, "laid"))
		if err != nil || s.Cell(i, "female") != id && s.Cell(i, "male") != id {
			continue
		}
		if told.Known() && (laid.First != told.First || laid.Last != told.Last) {
			continue
		}
		if laid.Mid() >= best {
			row, best = i, laid.Mid()
		}
	}
	if best < 0 {
		d.refuse(field, id, codeNotOnRecord, "no such clutch is on record", "write the clutch down first, or correct the day of its first egg")
	}
	return row, best >= 0
}
