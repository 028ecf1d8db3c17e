package exchange

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pairwright/pedigree/studbook"
)

// gedcom writes FamilySearch GEDCOM 7.0. What the standard has no place for is
// written as facts with a type of ours, which readGEDCOM takes back: band,
// origin, and parents that are wild or several possible birds.
func (x *exporter) gedcom() {
	t := &familyTree{x: x, person: make(map[string]string), number: make(map[family]string), chicks: make(map[family][]string), bonds: make(map[family][]studbook.Bond), in: make(map[string][]string)}
	t.gather()
	t.line(0, "HEAD", "")
	t.line(1, "GEDC", "")
	t.line(2, "VERS", "7.0")
	gone := lastDeparture(x.c.Moves)
	for i := range x.birds {
		t.bird(&x.birds[i], gone)
	}
	for _, f := range t.families {
		t.family(f)
	}
	t.line(0, "TRLR", "")
	x.out.Files = []File{{"pedigree.ged", []byte(t.text.String())}}
	x.lost(t.rowless, "parent without a row", "parents without a row", "written as facts: the format links individuals alone")
	x.lost(t.strokes, "name", "names", "with a / written as it is: other programs take what stands between two for a surname")
	x.lost(len(x.c.Aside), "column", "columns", "of the keepers' own not written")
	x.lost(t.nests, "nest or reason of a bond", "nests or reasons of bonds", "not written")
	x.lost(len(x.c.Moves)-len(gone), "move", "moves", "not written")
	x.lost(len(x.c.Clutches), "clutch", "clutches", "not written")
	x.lost(len(x.c.Holds), "hold", "holds", "not written")
	x.lost(len(x.c.Requests)+len(x.c.Rulings), "request or decision", "requests and decisions", "not written")
	x.lostKinship()
}

// familyTree is a file of individuals and families on its way to being written.
type familyTree struct {
	x      *exporter
	text   strings.Builder
	person map[string]string // the cross-reference of a bird

	families []family          // in the order in which they are written
	number   map[family]string // their cross-references
	chicks   map[family][]string
	bonds    map[family][]studbook.Bond
	in       map[string][]string // the cross-references of the families in which a bird is a partner

	rowless, nests, strokes int // what is lost
}

// family is a sire and a dam, "" for one that has no row, and the chick whose alone it is where
// one of them is not known: in one family its chicks would be full siblings.
type family struct{ sire, dam, chick string }

// gather finds the families: those of the birds first, then those of bonds.
func (t *familyTree) gather() {
	for i := range t.x.birds {
		t.person[t.x.birds[i].ID] = fmt.Sprintf("I%d", i+1)
	}
	enter := func(f family) {
		if t.number[f] == "" {
			t.number[f] = fmt.Sprintf("F%d", len(t.families)+1)
			t.families = append(t.families, f)
		}
	}
	for i := range t.x.birds {
		if f := t.parentsOf(&t.x.birds[i]); f != (family{}) {
			enter(f)
			t.chicks[f] = append(t.chicks[f], t.x.birds[i].ID)
		}
	}
	for _, bond := range t.x.c.Bonds {
		f := family{sire: bond.Male, dam: bond.Female}
		enter(f)
		t.bonds[f] = append(t.bonds[f], bond)
		if bond.Nest != "" || bond.EndedBy != "" {
			t.nests++
		}
	}
	for _, f := range t.families {
		for _, p := range []string{f.sire, f.dam} {
			if p != "" {
				t.in[p] = append(t.in[p], t.number[f])
			}
		}
	}
}

// known returns the parent, "" if it is none or not one bird with a row.
func (t *familyTree) known(p studbook.Parentage) string {
	if id, ok := p.Known(); ok && t.person[id] != "" {
		return id
	}
	return ""
}

func (t *familyTree) parentsOf(bird *studbook.Bird) family {
	f := family{sire: t.known(bird.Sire), dam: t.known(bird.Dam)}
	if (f.sire == "") != (f.dam == "") {
		f.chick = bird.ID
	}
	return f
}

// lastDeparture returns how birds left that are not back.
func lastDeparture(moves []studbook.Move) map[string]studbook.Move {
	gone := make(map[string]studbook.Move)
	inTime := slices.SortedStableFunc(slices.Values(moves), func(a, b studbook.Move) int { return cmp.Compare(a.Date.First, b.Date.First) })
	for _, m := range inTime {
		if m.To == "" {
			gone[m.ID] = m
		} else {
			delete(gone, m.ID)
		}
	}
	return gone
}

// bird writes the record of an individual.
func (t *familyTree) bird(bird *studbook.Bird, gone map[string]studbook.Move) {
	t.record(t.person[bird.ID], "INDI")
	if bird.Name != "" {
		t.line(1, "NAME", bird.Name)
		if strings.Contains(bird.Name, "/") {
			t.strokes++
		}
	}
	t.line(1, "SEX", bird.Sex.String())
	t.line(1, "REFN", bird.ID)
	if bird.Hatch.Text != "" {
		t.line(1, "BIRT", "")
		t.date(bird.Hatch)
	}
	switch {
	case bird.Death.Text == "unknown":
		t.line(1, "DEAT", "Y")
	case bird.Death.Text != "":
		t.line(1, "DEAT", "")
		t.date(bird.Death)
	}
	if m, left := gone[bird.ID]; left {
		t.line(1, "EMIG", "")
		t.date(m.Date)
		if m.Reason != "" {
			t.line(2, "NOTE", m.Reason)
		}
	}
	if bird.Location != "" {
		t.line(1, "RESI", "")
		t.line(2, "PLAC", bird.Location)
	}
	t.fact("band", bird.Band)
	t.fact("origin", map[studbook.Origin]string{studbook.OriginWild: "wild", studbook.OriginCaptive: "captive"}[bird.Origin])
	t.parent("sire", bird.Sire)
	t.parent("dam", bird.Dam)
	if bird.Notes != "" {
		t.line(1, "NOTE", bird.Notes)
	}
	if f := t.parentsOf(bird); f != (family{}) {
		t.point("FAMC", t.number[f])
	}
	for _, f := range t.in[bird.ID] {
		t.point("FAMS", f)
	}
}

// parent writes a parent as a fact that no family can hold.
func (t *familyTree) parent(kind string, p studbook.Parentage) {
	if p.Unknown() && !p.Wild || t.known(p) != "" {
		return
	}
	t.fact(kind, p.String())
	if _, ok := p.Known(); ok {
		t.rowless++
	}
}

// family writes the record of a family, with the bonds of its birds, the first begun first.
func (t *familyTree) family(f family) {
	t.record(t.number[f], "FAM")
	if f.sire != "" {
		t.point("HUSB", t.person[f.sire])
	}
	if f.dam != "" {
		t.point("WIFE", t.person[f.dam])
	}
	for _, c := range t.chicks[f] {
		t.point("CHIL", t.person[c])
	}
	for _, bond := range slices.SortedStableFunc(slices.Values(t.bonds[f]), func(a, b studbook.Bond) int { return cmp.Compare(a.Since.First, b.Since.First) }) {
		began := ""
		if bond.Since.Text == "" {
			began = "Y"
		}
		t.line(1, "MARR", began)
		t.date(bond.Since)
		if bond.Until.Text != "" {
			t.line(1, "DIV", "")
			t.date(bond.Until)
		}
	}
}

func (t *familyTree) record(xref, tag string) { fmt.Fprintf(&t.text, "0 @%s@ %s\n", xref, tag) }

func (t *familyTree) point(tag, xref string) { fmt.Fprintf(&t.text, "1 %s @%s@\n", tag, xref) }

func (t *familyTree) fact(kind, value string) {
	if value != "" {
		t.line(1, "FACT", value)
		t.line(2, "TYPE", kind)
	}
}

func (t *familyTree) line(level int, tag, value string) {
	fmt.Fprintf(&t.text, "%d %s", level, tag)
	for k, part := range strings.Split(value, "\n") {
		if k > 0 {
			fmt.Fprintf(&t.text, "\n%d CONT", level+1)
		}
		if part != "" {
			if strings.HasPrefix(part, "@") {
				part = "@" + part
			}
			t.text.WriteString(" " + part)
		}
	}
	t.text.WriteByte('\n')
}

// date writes the date of an event, and as its phrase the notation of ours where the
// standard's says less.
func (t *familyTree) date(d studbook.Date) {
	if d.Text == "" || !d.Known() {
		return
	}
	one := func(day studbook.Day, parts int) string {
		layout := []string{"2006", "Jan 2006", "2 Jan 2006"}[parts]
		return strings.ToUpper(day.Time().Format(layout))
	}
	body := strings.TrimRight(d.Text, "~?%")
	text := ""
	switch {
	case d.First == d.Last:
		text = one(d.First, 2)
	case len(body) == 7 && !strings.ContainsAny(body, "X["):
		text = one(d.First, 1)
	case len(body) == 4 && !strings.ContainsAny(body, "X["):
		text = one(d.First, 0)
	default:
		text = "BET " + one(d.First, 2) + " AND " + one(d.Last, 2)
	}
	if d.Approximate || d.Uncertain {
		text = "ABT " + text
	}
	t.line(2, "DATE", text)
	im := &importer{opt: &Options{}}
	if back, ok := im.parseDate(text); !ok || back.text != d.Text {
		t.line(3, "PHRASE", d.Text)
	}
}
