package exchange

import (
	"fmt"
	"slices"
	"strings"

	"pairwright/pedigree/studbook"
)

// gedcom writes FamilySearch GEDCOM 7.0. What the standard has no place for is
// written as facts with a type of ours, which readGEDCOM takes back: band,
// origin, and parents that are wild or several possible birds.
func (x *exporter) gedcom() {
	var b strings.Builder
	line := func(level int, tag, value string) {
		fmt.Fprintf(&b, "%d %s", level, tag)
		for k, part := range strings.Split(value, "\n") {
			if k > 0 {
				fmt.Fprintf(&b, "\n%d CONT", level+1)
			}
			if part != "" {
				if strings.HasPrefix(part, "@") {
					part = "@" + part
				}
				b.WriteString(" " + part)
			}
		}
		b.WriteByte('\n')
	}
	point := func(level int, tag, xref string) { fmt.Fprintf(&b, "%d %s @%s@\n", level, tag, xref) }
	fact := func(kind, value string) {
		if value != "" {
			line(1, "FACT", value)
			line(2, "TYPE", kind)
		}
	}
	line(0, "HEAD", "")
	line(1, "GEDC", "")
	line(2, "VERS", "7.0")
	xref := make(map[string]string)
	people := slices.Clone(x.birds)
	for i := range people {
		xref[people[i].ID] = fmt.Sprintf("I%d", i+1)
	}
	type family struct{ sire, dam string }
	families := make(map[family]string)
	var order []family
	chicks := make(map[family][]string)
	familyOf := func(f family) string {
		if families[f] == "" {
			families[f] = fmt.Sprintf("F%d", len(order)+1)
			order = append(order, f)
		}
		return families[f]
	}
	of := make(map[string][]string) // bird -> families in which it is a partner
	rowless := 0
	known := func(p studbook.Parentage) string {
		id, ok := p.Known()
		if !ok || xref[id] == "" {
			return ""
		}
		return id
	}
	for _, bird := range people {
		if f := (family{known(bird.Sire), known(bird.Dam)}); f.sire != "" || f.dam != "" {
			familyOf(f)
			chicks[f] = append(chicks[f], bird.ID)
		}
	}
	bonds := make(map[family][]studbook.Bond)
	nests := 0
	for _, bond := range x.c.Bonds {
		f := family{bond.Male, bond.Female}
		familyOf(f)
		bonds[f] = append(bonds[f], bond)
		if bond.Nest != "" || bond.EndedBy != "" {
			nests++
		}
	}
	for _, f := range order {
		for _, p := range []string{f.sire, f.dam} {
			if p != "" {
				of[p] = append(of[p], families[f])
			}
		}
	}
	gone := make(map[string]studbook.Move)
	for _, m := range x.c.Moves {
		if m.To == "" {
			gone[m.ID] = m
		} else {
			delete(gone, m.ID)
		}
	}
	for _, bird := range people {
		fmt.Fprintf(&b, "0 @%s@ INDI\n", xref[bird.ID])
		if bird.Name != "" {
			line(1, "NAME", bird.Name)
		}
		line(1, "SEX", bird.Sex.String())
		line(1, "REFN", bird.ID)
		if bird.Hatch.Text != "" {
			line(1, "BIRT", "")
			gedcomDate(line, 2, bird.Hatch)
		}
		switch {
		case bird.Death.Text == "unknown":
			line(1, "DEAT", "Y")
		case bird.Death.Text != "":
			line(1, "DEAT", "")
			gedcomDate(line, 2, bird.Death)
		}
		if m, left := gone[bird.ID]; left {
			line(1, "EMIG", "")
			gedcomDate(line, 2, m.Date)
			if m.Reason != "" {
				line(2, "NOTE", m.Reason)
			}
		}
		if bird.Location != "" {
			line(1, "RESI", "")
			line(2, "PLAC", bird.Location)
		}
		fact("band", bird.Band)
		fact("origin", map[studbook.Origin]string{studbook.OriginWild: "wild", studbook.OriginCaptive: "captive"}[bird.Origin])
		for _, side := range []struct {
			kind string
			p    studbook.Parentage
		}{{"sire", bird.Sire}, {"dam", bird.Dam}} {
			if (!side.p.Unknown() || side.p.Wild) && known(side.p) == "" {
				fact(side.kind, side.p.String())
				if id, ok := side.p.Known(); ok && xref[id] == "" {
					rowless++
				}
			}
		}
		if bird.Notes != "" {
			line(1, "NOTE", bird.Notes)
		}
		if f := (family{known(bird.Sire), known(bird.Dam)}); f.sire != "" || f.dam != "" {
			point(1, "FAMC", families[f])
		}
		for _, f := range of[bird.ID] {
			point(1, "FAMS", f)
		}
	}
	again := 0
	for _, f := range order {
		fmt.Fprintf(&b, "0 @%s@ FAM\n", families[f])
		if f.sire != "" {
			point(1, "HUSB", xref[f.sire])
		}
		if f.dam != "" {
			point(1, "WIFE", xref[f.dam])
		}
		for _, c := range chicks[f] {
			point(1, "CHIL", xref[c])
		}
		for k, bond := range bonds[f] {
			if k > 0 {
				again++
				continue
			}
			line(1, "MARR", yes(bond.Since.Text == ""))
			gedcomDate(line, 2, bond.Since)
			if bond.Until.Text != "" {
				line(1, "DIV", "")
				gedcomDate(line, 2, bond.Until)
			}
		}
	}
	line(0, "TRLR", "")
	x.out.Files = []File{{"pedigree.ged", []byte(b.String())}}
	x.lost(rowless, "parent without a row", "parents without a row", "written as facts: the format links individuals alone")
	x.lost(nests, "nest or reason of a bond", "nests or reasons of bonds", "not written")
	x.lost(again, "bond", "bonds", "of a pair that has another not written")
	x.lost(len(x.c.Moves)-len(gone), "move", "moves", "not written")
	x.lost(len(x.c.Clutches), "clutch", "clutches", "not written")
	x.lost(len(x.c.Holds), "hold", "holds", "not written")
	x.lost(len(x.c.Requests)+len(x.c.Rulings), "request or decision", "requests and decisions", "not written")
	x.lostKinship()
}

func yes(b bool) string {
	if b {
		return "Y"
	}
	return ""
}

// gedcomDate writes a date, and as its phrase the notation of ours where the
// standard's says less.
func gedcomDate(line func(int, string, string), level int, d studbook.Date) {
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
	line(level, "DATE", text)
	im := &importer{opt: &Options{}}
	if back, ok := im.parseDate(text); !ok || back.text != d.Text {
		line(level+1, "PHRASE", d.Text)
	}
}
