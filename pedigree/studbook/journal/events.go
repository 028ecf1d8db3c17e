package journal

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"pairwright/pedigree/studbook"
)

// Event is something that happened, or Undo.
type Event struct {
	Kind   string            `json:"kind"`             // the Name of a Kind, or Undo
	Values map[string]string `json:"values,omitempty"` // by the Name of a Field
}

// Undo is the kind of the event that takes the last change back.
const Undo = "undo"

// Kind is something that can be written down.
type Kind struct {
	Name   string   // "hatch"
	Means  string   // in plain words, without full stop
	Args   []string // names of the fields that come first and without a name
	Fields []Field
	draft  func(d *draft)
}

// Field is what is told of an event. A date may be `today` and `yesterday` too.
type Field struct {
	Name   string
	Form   studbook.Form
	Means  string // in plain words, without full stop
	Needed bool
	Else   string   // what stands in where it is blank, in plain words; "" if nothing does
	Words  []string // where one of these is meant
	List   List     // where one of the colony's own is meant
	Rare   bool     // seldom told
	// Corrects reports whether the field stands for a cell that is on record: blank
	// leaves that as it is, and Emptied empties it.
	Corrects bool
}

// Emptied is the value of a field that empties the cell which it corrects.
const Emptied = "-"

// List is what a field names one of.
type List int

// The lists.
const (
	NoList List = iota
	Birds
	Places
)

// Kinds are the kinds of events, the commonest first.
var Kinds = []*Kind{
	{"hatch", "a chick hatched", []string{"dam"}, []Field{
		bird("dam", "the mother").need(),
		date("date", "day of hatch").otherwise("today"),
		id("id", "id of the chick").otherwise("the next in the studbook's own scheme"),
		cell("studbook.csv", "sex").otherwise("U").rare(),
		cell("studbook.csv", "sire").otherwise("her mate by the clutch, or by the bond").list(Birds).rare(),
		cell("studbook.csv", "band").rare(),
		cell("studbook.csv", "name").rare(),
		place("location", "where it hatched").otherwise("where the mother is").rare(),
		date("laid", "day of the first egg of the clutch it is from").otherwise("the mother's last").rare(),
		cell("studbook.csv", "notes").rare(),
	}, (*draft).hatch},
	{"death", "a bird died", []string{"bird"}, []Field{
		bird("bird", "the bird").need(),
		date("date", "day of death, `unknown` if nobody knows").otherwise("today"),
		text("note", "what is known of it, kept in the bird's notes"),
	}, (*draft).death},
	{"clutch", "a pair has a clutch", []string{"female"}, []Field{
		bird("female", "the female, or her mate").need(),
		date("laid", "day of the first egg").otherwise("today"),
		cell("clutches.csv", "eggs"),
		bird("male", "her mate").otherwise("by the bond").rare(),
	}, (*draft).clutch},
	{"candling", "eggs were candled", []string{"female", "fertile"}, []Field{
		bird("female", "the female, or her mate").need(),
		cell("clutches.csv", "fertile").need(),
		cell("clutches.csv", "eggs").otherwise("as on record"),
		date("laid", "day of the first egg of the clutch").otherwise("her last").rare(),
		date("date", "day on which they were candled, up to which the files are then current").otherwise("that stays as it is").rare(),
	}, (*draft).candling},
	{"replacement", "all eggs of a clutch were replaced by dummies or taken", []string{"female"}, []Field{
		bird("female", "the female, or her mate").need(),
		date("laid", "day of the first egg of the clutch").otherwise("her last").rare(),
		date("date", "day on which that was done, up to which the files are then current").otherwise("that stays as it is").rare(),
	}, (*draft).replacement},
	{"loss", "no chick hatched of a clutch, or its eggs were lost", []string{"female"}, []Field{
		bird("female", "the female, or her mate").need(),
		cell("clutches.csv", "fertile").otherwise("as on record"),
		date("laid", "day of the first egg of the clutch").otherwise("her last").rare(),
		date("date", "day on which that was known, up to which the files are then current").otherwise("that stays as it is").rare(),
	}, (*draft).loss},
	{"fledging", "chicks fledged", []string{"female", "fledged"}, []Field{
		bird("female", "the female, or her mate").need(),
		cell("clutches.csv", "fledged").need(),
		date("laid", "day of the first egg of the clutch").otherwise("her last").rare(),
		date("date", "day on which they were seen to have fledged, up to which the files are then current").otherwise("that stays as it is").rare(),
	}, (*draft).fledging},
	{"bond", "two birds formed a pair", []string{"female", "male"}, []Field{
		bird("female", "the female").need(),
		bird("male", "the male").need(),
		date("date", "day on which they paired").otherwise("today"),
		cell("bonds.csv", "nest").rare(),
	}, (*draft).bond},
	{"parting", "a pair parted", []string{"bird"}, []Field{
		bird("bird", "one of the pair").need(),
		date("date", "day on which it ended").otherwise("today"),
		text("reason", "what ended it").otherwise("parted"),
	}, (*draft).parting},
	{"move", "a bird went to another institution of the programme", []string{"bird", "to"}, []Field{
		bird("bird", "the bird").need(),
		place("to", "code of the institution it went to").need(),
		date("date", "day of the move").otherwise("today"),
		bird("mate", "its mate, if that went with it").rare(),
		cell("moves.csv", "reason").rare(),
	}, (*draft).move},
	{"arrival", "a bird came from outside the programme", []string{"id"}, []Field{
		id("id", "the bird's id; one that left before has one").otherwise("the next in the studbook's own scheme").list(Birds),
		date("date", "day of the arrival").otherwise("today"),
		cell("studbook.csv", "sex").otherwise("U"),
		place("to", "code of the institution it came to").otherwise("your own institution").rare(),
		cell("studbook.csv", "hatch_date").rare(),
		cell("studbook.csv", "origin").rare(),
		cell("studbook.csv", "band").rare(),
		cell("studbook.csv", "name").rare(),
		cell("studbook.csv", "sire").list(Birds).rare(),
		cell("studbook.csv", "dam").list(Birds).rare(),
		cell("moves.csv", "reason").rare(),
		cell("studbook.csv", "notes").rare(),
	}, (*draft).arrival},
	{"departure", "a bird left the programme", []string{"bird"}, []Field{
		bird("bird", "the bird").need(),
		date("date", "day on which it left").otherwise("today"),
		text("reason", "where it went and why"),
	}, (*draft).departure},
	{"hold", "a bird is not to breed or to move for now", []string{"bird", "reason"}, []Field{
		bird("bird", "the bird").need(),
		cell("holds.csv", "reason").need(),
		cell("holds.csv", "blocks").otherwise("both"),
		date("since", "first day").otherwise("today").rare(),
		cell("holds.csv", "until").rare(),
		cell("holds.csv", "note").rare(),
	}, (*draft).hold},
	{"release", "a hold on a bird ended", []string{"bird"}, []Field{
		bird("bird", "the bird").need(),
		date("date", "day on which it ended").otherwise("today"),
	}, (*draft).release},
	{"sex", "the sex of a bird is known", []string{"bird", "sex"}, []Field{
		bird("bird", "the bird").need(),
		cell("studbook.csv", "sex").need(),
	}, (*draft).sex},
	{"band", "a bird was banded", []string{"bird", "band"}, []Field{
		bird("bird", "the bird").need(),
		cell("studbook.csv", "band").need(),
	}, (*draft).band},
	{"parent", "a parent of a bird is known", []string{"bird"}, []Field{
		bird("bird", "the bird").need(),
		cell("studbook.csv", "sire").otherwise("as on record").list(Birds),
		cell("studbook.csv", "dam").otherwise("as on record").list(Birds),
	}, (*draft).parent},
	{"kinship", "the kinship of two founders is known", []string{"bird", "other", "kinship"}, []Field{
		bird("bird", "one founder").need(),
		bird("other", "another, or the same for (1+F)/2").need(),
		Field{Name: "kinship", Form: studbook.FormNumber, Means: "their kinship: 0.25 of full siblings and of parent and chick, 0.125 of half siblings, 0 of birds that are no kin"}.need(),
	}, (*draft).kinship},
	{"request", "an institution asks for a bird", []string{"bird", "to"}, []Field{
		bird("bird", "the bird").need(),
		place("to", "code of the institution where it is to go").need(),
		bird("partner", "the mate that it is meant for"),
		cell("requests.csv", "asked_by").rare(),
		date("date", "day on which it was asked for").otherwise("today").rare(),
		cell("requests.csv", "notes").rare(),
	}, (*draft).request},
	{"decision", "a move or a pair was agreed on or declined", []string{"bird", "decision"}, []Field{
		bird("bird", "the bird that is to move, or one of the pair").need(),
		cell("decisions.csv", "decision").need(),
		place("to", "code of the institution where it is to go"),
		bird("partner", "its mate there, or the other of the pair; a declined move closes the place whoever the mate: where the mate alone is refused, decline the bond").rare(),
		cell("decisions.csv", "what").otherwise("move").rare(),
		date("date", "day of the decision").otherwise("today").rare(),
		cell("decisions.csv", "by").rare(),
		cell("decisions.csv", "until").rare(),
		cell("decisions.csv", "reason").rare(),
	}, (*draft).decision},
	{"correction", "a bird's name, notes or another plain fact was put right", []string{"bird"}, []Field{
		bird("bird", "the bird").need(),
		cell("studbook.csv", "name").corrects(),
		cell("studbook.csv", "notes").corrects(),
		cell("studbook.csv", "hatch_date").corrects().rare(),
		cell("studbook.csv", "death_date").corrects().rare(),
		cell("studbook.csv", "location").corrects().list(Places).rare(),
		cell("studbook.csv", "origin").corrects().rare(),
	}, (*draft).correction},
}

// KindOf returns the kind of a name, nil if there is none.
func KindOf(name string) *Kind {
	if i := slices.IndexFunc(Kinds, func(k *Kind) bool { return k.Name == name }); i >= 0 {
		return Kinds[i]
	}
	return nil
}

// Field returns a field by its name, nil if there is none.
func (k *Kind) Field(name string) *Field {
	if i := slices.IndexFunc(k.Fields, func(f Field) bool { return f.Name == name }); i >= 0 {
		return &k.Fields[i]
	}
	return nil
}

func bird(name, means string) Field {
	return Field{Name: name, Form: studbook.FormID, Means: means + ": its id, or its name or band where no other bird has it", List: Birds}
}
func place(name, means string) Field {
	return Field{Name: name, Form: studbook.FormID, Means: means, List: Places}
}
func id(name, means string) Field   { return Field{Name: name, Form: studbook.FormID, Means: means} }
func date(name, means string) Field { return Field{Name: name, Form: studbook.FormDate, Means: means} }
func text(name, means string) Field { return Field{Name: name, Form: studbook.FormText, Means: means} }

// cell is a field that becomes the cell of its name.
func cell(file, column string) Field {
	for _, f := range studbook.Files() {
		for _, c := range f.Columns {
			if f.Name == file && c.Name == column {
				return Field{Name: column, Form: c.Form, Means: c.Means, Words: c.Words}
			}
		}
	}
	panic("journal: no column " + column + " in " + file)
}

func (f Field) need() Field              { f.Needed = true; return f }
func (f Field) rare() Field              { f.Rare = true; return f }
func (f Field) otherwise(s string) Field { f.Else = s; return f }
func (f Field) list(l List) Field        { f.List = l; return f }

// corrects makes the field that of a cell on record.
func (f Field) corrects() Field {
	f.Corrects = true
	return f.otherwise("as on record; " + Emptied + " empties it")
}

func (d *draft) hatch() {
	dam, ok := d.bird("dam")
	day, dated := d.happened("date")
	if !ok || !dated {
		return
	}
	damID := d.birds.Cell(dam, "id")
	if d.sexOf(damID) == "M" {
		d.refuse("dam", damID, codeBadValue, "this bird is a male by the studbook", "name the mother; if she is one, write down the sex first")
		return
	}
	row, there := d.clutchOf(damID, day)
	sire := d.parentIn("sire")
	if sire == "" {
		switch {
		case there:
			sire = d.sheet("clutches.csv").Cell(row, "male")
		default:
			sire = d.mateOf(damID, day)
		}
	}
	if sire == "" {
		d.refuse("sire", "", codeNotTold, "no clutch or bond tells who the sire is", "name the sire, or write unknown")
		return
	}
	chick := map[string]string{
		"id": d.newID("id", day), "name": d.value("name"), "band": d.value("band"), "sex": cmp.Or(d.value("sex"), "U"),
		"sire": sire, "dam": damID, "hatch_date": day.Text, "notes": d.value("notes"),
	}
	if d.birds.Has("location") {
		chick["location"] = cmp.Or(d.value("location"), d.placeOf(damID, day))
	}
	if d.birds.Has("origin") {
		chick["origin"] = "captive"
	}
	d.append("studbook.csv", chick)
	if !there {
		d.warn("dam", damID, codeNoClutch, "no clutch of hers from the weeks before is on record, so the chick is counted in none", "write the clutch down if there was one")
		return
	}
	hatched, _ := strconv.Atoi(d.sheet("clutches.csv").Cell(row, "hatched"))
	d.set("clutches.csv", row, "hatched", strconv.Itoa(hatched+1))
}

func (d *draft) death() {
	row, ok := d.alive("bird") // also of one that left the programme
	day, dated := d.date("date")
	if !ok || !dated {
		return
	}
	if d.value("date") != "" && !day.Known() {
		day.Text = "unknown"
	} else if !d.past("date", day) {
		return
	}
	d.set("studbook.csv", row, "death_date", day.Text)
	if note := d.value("note"); note != "" {
		d.set("studbook.csv", row, "notes", joined(d.birds.Cell(row, "notes"), note))
	}
	if day.Known() {
		d.endBonds(d.birds.Cell(row, "id"), day, "death", "")
	}
}

// joined adds to a note.
func joined(note, more string) string {
	if note == "" {
		return more
	}
	return note + "; " + more
}

func (d *draft) clutch() {
	female, male, ok := d.pair("female", "male")
	laid, dated := d.happened("laid")
	if !ok || !dated {
		return
	}
	s := d.sheet("clutches.csv")
	for i := range s.Len() {
		if s.Cell(i, "female") == female && s.Cell(i, "laid") == laid.Text {
			d.refuse("laid", laid.Text, codeOnRecord, "this clutch is on record already", "write down its candling or hatch, or correct the day")
			return
		}
	}
	d.append("clutches.csv", map[string]string{"female": female, "male": male, "laid": laid.Text, "eggs": d.value("eggs")})
}

// pair returns the female and the male of a pair of which one bird is named,
// and the other where no bond tells it.
func (d *draft) pair(femaleField, maleField string) (female, male string, ok bool) {
	row, ok := d.living(femaleField)
	if !ok {
		return "", "", false
	}
	one := d.birds.Cell(row, "id")
	other := ""
	if d.value(maleField) != "" {
		mate, ok := d.bird(maleField)
		if !ok {
			return "", "", false
		}
		other = d.birds.Cell(mate, "id")
	} else if other = d.mateOf(one, studbook.Date{}); other == "" {
		d.refuse(maleField, "", codeNotTold, fmt.Sprintf("no bond tells who the mate of %q is", one), "name the mate")
		return "", "", false
	}
	if d.sexOf(one) == "M" || d.sexOf(other) == "F" {
		one, other = other, one
	}
	return one, other, true
}

// onDay reports whether the day of something that no file keeps is one, where it is told.
func (d *draft) onDay() bool {
	if d.value("date") == "" {
		return true
	}
	_, ok := d.happened("date")
	return ok
}

func (d *draft) candling() {
	if row, ok := d.lyingClutch("female"); ok && d.onDay() {
		d.set("clutches.csv", row, "fertile", d.value("fertile"))
		if eggs := d.value("eggs"); eggs != "" {
			d.set("clutches.csv", row, "eggs", eggs)
		}
	}
}

func (d *draft) replacement() {
	row, ok := d.lyingClutch("female")
	if !ok || !d.onDay() {
		return
	}
	switch hatched := d.sheet("clutches.csv").Cell(row, "hatched"); hatched {
	case "", "0":
		d.set("clutches.csv", row, "hatched", studbook.EggsReplaced)
	case studbook.EggsReplaced:
		d.refuse("female", d.value("female"), codeOnRecord, "the eggs of this clutch are on record as replaced already", "name the day of the first egg of the clutch that is meant")
	default:
		d.refuse("female", d.value("female"), codeOnRecord, fmt.Sprintf("chicks of this clutch have hatched: %s", hatched), "correct the number hatched, or name the day of the first egg of the clutch that is meant")
	}
}

// loss writes down that nothing hatched of a clutch: chicks that hatched and died are told by
// their deaths and by fledging.
func (d *draft) loss() {
	row, ok := d.lastClutch("female")
	if !ok || !d.onDay() {
		return
	}
	switch hatched := d.sheet("clutches.csv").Cell(row, "hatched"); hatched {
	case "":
		d.set("clutches.csv", row, "hatched", "0")
		if fertile := d.value("fertile"); fertile != "" {
			d.set("clutches.csv", row, "fertile", fertile)
		}
	case "0":
		d.refuse("female", d.value("female"), codeOnRecord, "that no chick of this clutch hatched is on record already", "name the day of the first egg of the clutch that is meant")
	case studbook.EggsReplaced:
		d.refuse("female", d.value("female"), codeOnRecord, "the eggs of this clutch are on record as replaced", "name the day of the first egg of the clutch that is meant, or correct the row")
	default:
		d.refuse("female", d.value("female"), codeOnRecord, fmt.Sprintf("chicks of this clutch have hatched: %s", hatched), "write down that none fledged, and the death of each chick; or name the day of the first egg of the clutch that is meant")
	}
}

func (d *draft) fledging() {
	if row, ok := d.lastClutch("female"); ok && d.onDay() {
		if d.value("fledged") == "0" && d.sheet("clutches.csv").Cell(row, "hatched") == "" {
			d.warn("fledged", "0", codeNoneHatched, "no chick of this clutch is on record as hatched: it counts as a clutch that failed", "if none hatched, write down a loss; if one did, write down its hatch first")
		}
		d.set("clutches.csv", row, "fledged", d.value("fledged"))
	}
}

func (d *draft) bond() {
	a, ok1 := d.living("female")
	b, ok2 := d.living("male")
	day, dated := d.happened("date")
	if !ok1 || !ok2 || !dated {
		return
	}
	female, male := d.birds.Cell(a, "id"), d.birds.Cell(b, "id")
	if d.sexOf(female) == "M" || d.sexOf(male) == "F" {
		female, male = male, female
	}
	for _, id := range []string{female, male} {
		if mate := d.mateOf(id, studbook.Date{}); mate != "" {
			d.refuse("female", id, codeOnRecord, fmt.Sprintf("%q has a mate already: %q", id, mate), "write down their parting first")
			return
		}
	}
	for k, id := range []string{female, male} {
		d.newMate([]string{"female", "male"}[k], id, day)
	}
	d.append("bonds.csv", map[string]string{"female": female, "male": male, "since": day.Text, "nest": d.value("nest")})
}

func (d *draft) parting() {
	row, ok := d.bird("bird")
	day, dated := d.happened("date")
	if !ok || !dated {
		return
	}
	id := d.birds.Cell(row, "id")
	if d.endBonds(id, day, cmp.Or(d.value("reason"), "parted"), "") == 0 {
		d.refuse("bird", id, codeNotOnRecord, "it has no bond that lasts", "name a bird that has a mate")
	}
}

func (d *draft) move() {
	row, ok := d.living("bird")
	day, dated := d.happened("date")
	if !ok || !dated {
		return
	}
	if !d.birds.Has("location") {
		d.refuse("to", d.value("to"), codeNotTold, "the studbook has no location column: all birds are taken to live in one place, and a move would show nowhere",
			"give the studbook a column location with the institution of each bird; a bird that left for good is a departure")
		return
	}
	movers := []int{row}
	if d.value("mate") != "" {
		mate, ok := d.living("mate")
		if !ok {
			return
		}
		movers = append(movers, mate)
	}
	for k, row := range movers {
		id := d.birds.Cell(row, "id")
		from, to := d.placeOf(id, day), d.value("to")
		if from == to {
			d.refuse("to", to, codeOnRecord, fmt.Sprintf("%q is there already", id), "name the institution it went to")
			return
		}
		if from == "" { // a row without it would say that the bird came from outside
			d.refuse("bird", id, codeNotTold, "nothing says where it lives", "fill in its location in the studbook first")
			return
		}
		d.append("moves.csv", map[string]string{"id": id, "date": day.Text, "from": from, "to": to, "reason": d.value("reason")})
		d.setIfThere("studbook.csv", row, "location", to)
		with := ""
		if len(movers) == 2 {
			with = d.birds.Cell(movers[1-k], "id")
		}
		d.heldFrom([]string{"bird", "mate"}[k], id, studbook.BlocksMoving, day)
		d.endBonds(id, day, "moved", with)
	}
}

func (d *draft) arrival() {
	day, ok := d.happened("date")
	to := cmp.Or(d.value("to"), d.home())
	if to == "" {
		d.refuse("to", "", codeNotTold, "nothing says which institution is your own", "name where it came to, or set home in programme.toml")
	}
	if !ok || to == "" {
		return
	}
	id := d.value("id")
	if row, known := d.find(id); known && d.birds.Cell(row, "id") == id {
		if _, here := d.lives(id, day.Mid()); here {
			d.refuse("id", id, codeOnRecord, "this bird lives in the programme already", "leave the id out for a new bird, or write down a move")
			return
		}
		d.setIfThere("studbook.csv", row, "location", to)
	} else {
		id = d.newID("id", day)
		b := map[string]string{"id": id, "sex": cmp.Or(d.value("sex"), "U"), "notes": d.value("notes")}
		for _, c := range []string{"name", "band", "hatch_date", "origin"} {
			b[c] = d.value(c)
		}
		b["sire"], b["dam"] = d.parentIn("sire"), d.parentIn("dam")
		if d.birds.Has("location") {
			b["location"] = to
		}
		d.append("studbook.csv", b)
	}
	d.append("moves.csv", map[string]string{"id": id, "date": day.Text, "to": to, "reason": d.value("reason")})
}

func (d *draft) departure() {
	row, ok := d.living("bird")
	day, dated := d.happened("date")
	if !ok || !dated {
		return
	}
	id := d.birds.Cell(row, "id")
	from := d.placeOf(id, day)
	if from == "" {
		from = d.home()
	}
	if from == "" {
		d.refuse("bird", id, codeNotTold, "nothing says where it lives", "fill in its location in the studbook, or home in programme.toml")
		return
	}
	d.append("moves.csv", map[string]string{"id": id, "date": day.Text, "from": from, "reason": d.value("reason")})
	d.setIfThere("studbook.csv", row, "location", "")
	d.endBonds(id, day, "moved", "")
}

func (d *draft) hold() {
	row, ok := d.living("bird")
	since, dated := d.date("since")
	if !ok || !dated {
		return
	}
	d.append("holds.csv", map[string]string{
		"id": d.birds.Cell(row, "id"), "since": since.Text, "until": d.value("until"), "reason": d.value("reason"),
		"blocks": d.value("blocks"), "note": d.value("note"),
	})
}

func (d *draft) release() {
	row, ok := d.bird("bird")
	day, dated := d.date("date")
	if !ok || !dated {
		return
	}
	id, s, ended := d.birds.Cell(row, "id"), d.sheet("holds.csv"), 0
	for i := range s.Len() {
		until, err := studbook.ParseDate(s.Cell(i, "until"))
		if s.Cell(i, "id") == id && err == nil && (!until.Known() || until.First > day.Last) {
			d.set("holds.csv", i, "until", day.Text)
			ended++
		}
	}
	if ended == 0 {
		d.refuse("bird", id, codeNotOnRecord, "no hold on it is in force", "name a bird that is on hold")
	}
}

// other returns the id of the bird in a field that may be blank.
func (d *draft) other(field string) (id string, ok bool) {
	if d.value(field) == "" {
		return "", true
	}
	row, ok := d.bird(field)
	if !ok {
		return "", false
	}
	return d.birds.Cell(row, "id"), true
}

func (d *draft) request() {
	row, ok := d.living("bird")
	partner, known := d.other("partner")
	day, dated := d.happened("date")
	if !ok || !known || !dated {
		return
	}
	if d.asked(d.birds.Cell(row, "id"), d.value("to"), partner) {
		return
	}
	d.append("requests.csv", map[string]string{
		"bird": d.birds.Cell(row, "id"), "to": d.value("to"), "partner": partner, "asked_by": d.value("asked_by"), "date": day.Text, "notes": d.value("notes"),
	})
}

func (d *draft) decision() {
	row, ok := d.bird("bird")
	partner, known := d.other("partner")
	day, dated := d.happened("date")
	if !ok || !known || !dated {
		return
	}
	what, birds := cmp.Or(d.value("what"), "move"), d.birds.Cell(row, "id")
	switch {
	case what == "move" && d.value("to") == "":
		d.refuse("to", "", codeNotTold, "a move goes somewhere", "name the institution where it is to go")
		return
	case what != "move" && partner == "":
		d.refuse("partner", "", codeNotTold, "this is about two birds", "name the other one")
		return
	case partner != "":
		birds += "; " + partner
	}
	if what == "move" && d.value("decision") == "agreed" {
		d.heldFrom("bird", d.birds.Cell(row, "id"), studbook.BlocksMoving, day)
	}
	d.append("decisions.csv", map[string]string{
		"date": day.Text, "what": what, "birds": birds, "to": d.value("to"), "decision": d.value("decision"), "by": d.value("by"), "until": d.value("until"), "reason": d.value("reason"),
	})
}

func (d *draft) sex()  { d.setOfBird("sex") }
func (d *draft) band() { d.setOfBird("band") }

func (d *draft) parent() {
	if d.value("sire") == "" && d.value("dam") == "" {
		d.refuse("sire", "", codeNotTold, "no parent is named", "name the sire, the dam or both")
		return
	}
	d.setOfBird("sire", "dam")
}

func (d *draft) kinship() {
	a, ok := d.bird("bird")
	b, known := d.bird("other")
	if !ok || !known {
		return
	}
	one, other, s := d.birds.Cell(a, "id"), d.birds.Cell(b, "id"), d.sheet("founder_kinship.csv")
	for i := range s.Len() {
		if of := [2]string{s.Cell(i, "id1"), s.Cell(i, "id2")}; of == [2]string{one, other} || of == [2]string{other, one} {
			d.set("founder_kinship.csv", i, "kinship", d.value("kinship"))
			return
		}
	}
	d.append("founder_kinship.csv", map[string]string{"id1": one, "id2": other, "kinship": d.value("kinship")})
}

func (d *draft) correction() {
	var told []string
	for _, f := range d.kind.Fields {
		if f.Corrects && d.value(f.Name) != "" {
			told = append(told, f.Name)
		}
	}
	if told == nil {
		d.refuse("name", "", codeNotTold, "nothing is told that was put right", "tell what the record should say")
		return
	}
	d.setOfBird(told...)
}

// parentIn returns the parent, or the possible ones, told in a field: the id where it is
// one bird, told by its name or band.
func (d *draft) parentIn(field string) string {
	told := d.value(field)
	if row, ok := d.find(told); ok {
		told = d.birds.Cell(row, "id")
		d.spell(field, told)
	}
	return told
}

// setOfBird sets those cells of a bird that are told.
func (d *draft) setOfBird(columns ...string) {
	row, ok := d.bird("bird")
	if !ok {
		return
	}
	for _, c := range columns {
		value := d.value(c)
		if c == "sire" || c == "dam" {
			value = d.parentIn(c)
		}
		if f := d.kind.Field(c); f.Corrects && value == Emptied {
			d.set("studbook.csv", row, c, "")
		} else if value != "" {
			d.set("studbook.csv", row, c, value)
		}
	}
}

// said lists the fields of an event that are told, in the order of its kind.
func (e Event) said() string {
	k := KindOf(e.Kind)
	if k == nil {
		return e.Kind
	}
	parts := []string{k.Name}
	for _, f := range k.Fields {
		if v := e.Values[f.Name]; v != "" && slices.Contains(k.Args, f.Name) {
			parts = append(parts, v)
		}
	}
	return strings.Join(parts, " ")
}
