package exchange

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"pairwright/pedigree/studbook"
)

// The files of ten strangers, each told from an invented truth. Layouts,
// languages and habits are our own inventions of what keepers do.

// A German workbook: a title, a header of two rows with merged heads, ids that
// are numbers shown with zeros, sections, a total, and a sheet of the dead.
func TestGermanWorkbook(t *testing.T) {
	birds := colonyOf(1, ids("%04d", 70))
	head := [][]any{
		{"Zuchtbuch Felsenibis, Stand 2024"}, {},
		{"Ring-Nr.", "Rufname", "Geschlecht", "Eltern", nil, "Schlupf am", "Gewicht (g)", "Gestorben"},
		{nil, nil, nil, "Vater", "Mutter"},
	}
	living := page{name: "Bestand", rows: append([][]any{}, head...), merged: []string{"A1:H1", "D3:E3", "A3:A4", "B3:B4"}, formats: map[int]string{1: "0000", 4: "0000", 5: "0000"}}
	dead := page{name: "Verstorben", rows: append([][]any{}, head...), merged: []string{"D3:E3"}, formats: map[int]string{1: "0000", 4: "0000", 5: "0000"}}
	number := func(id string) any {
		if id == "" {
			return nil
		}
		n := 0
		fmt.Sscanf(id, "%d", &n)
		return n
	}
	n := 0
	for _, b := range birds {
		if !b.gone.IsZero() {
			b.gone = time.Time{}
		}
		into := &living
		if !b.death.IsZero() {
			into = &dead
		}
		if into == &living && n%20 == 0 {
			living.rows = append(living.rows, []any{fmt.Sprintf("Voliere %d", n/20+1)})
			living.merged = append(living.merged, fmt.Sprintf("A%d:H%d", len(living.rows), len(living.rows)))
		}
		n++
		sex := map[studbook.Sex]string{studbook.Male: "1,0", studbook.Female: "0,1"}[b.sex]
		into.rows = append(into.rows, []any{number(b.id), b.name, sex, number(b.sireID()), number(b.damID()), cellOr(b.hatch, ""), 700 + n, cellOr(b.death, "2.1.2006")})
	}
	for i := range birds {
		birds[i].gone = time.Time{}
	}
	males, females := 0, 0
	for _, b := range birds {
		if b.living() && b.sex == studbook.Male {
			males++
		} else if b.living() {
			females++
		}
	}
	living.rows = append(living.rows, []any{fmt.Sprintf("Bestand %d.%d.0", males, females)})
	res := imported(t, "zuchtbuch.xlsx", inWorkbook(t, false, living, dead, page{name: "Futter", rows: [][]any{{"Monat", "Menge"}, {"Mai", 3}}}), Mapping{})
	agrees(t, res, birds)
}

// An English table in which parents go by house names, that are given again
// when their bearer is dead, and the day comes before the month.
func TestParentsByHouseName(t *testing.T) {
	birds := colonyOf(2, ids("GB-%03d", 60))
	names := make(map[string]string)
	for i := range birds {
		birds[i].name = freeName(birds, i)
		names[birds[i].id] = birds[i].name
	}
	rows := [][]any{{"Leg ring", "House name", "Cock/hen", "Sex", "Father", "Mother", "Date hatched", "Died", "Date left", "Reason", "Remarks"}}
	for _, b := range birds {
		rows = append(rows, []any{b.id, b.name, nil, map[studbook.Sex]string{studbook.Male: "cock", studbook.Female: "hen"}[b.sex], names[b.sireID()], strings.ToUpper(names[b.damID()]), cellOr(b.hatch, "02/01/2006"), cellOr(b.death, "2/1/06"), cellOr(b.gone, "02/01/2006"), reason(b, "sold to a friend"), "ok, well"})
	}
	agrees(t, imported(t, "birds.csv", inText(t, ",", nil, rows), Mapping{}), birds)
}

// reason is why a bird left, nil if it did not.
func reason(b truth, why string) any {
	if b.gone.IsZero() {
		return nil
	}
	return why
}

// freeName is a name whose bearers were all dead when a bird hatched.
func freeName(birds []truth, i int) string {
	for n := 0; ; n++ {
		name := fmt.Sprintf("%s %s", []string{"Old", "Young", "Big", "Wee"}[n%4], []string{"Tom", "Meg", "Kit", "Fay", "Rob"}[n/4%5]) + strings.Repeat("y", n/20)
		free := true
		for _, b := range birds[:i] {
			free = free && (b.name != name || !b.death.IsZero() && b.death.AddDate(0, 6, 0).Before(birds[i].hatch))
		}
		for _, b := range birds[i:] {
			free = free && b.name != name
		}
		if free {
			return name
		}
	}
}

// A French table with semicolons in Windows-1252: months by name, dates about
// a year, a status that says who died, and unknown parents in words.
func TestFrenchTable(t *testing.T) {
	birds := colonyOf(3, ids("F%03d", 50))
	rows := [][]any{{"Élevage du Marais"}, {"Bague", "Nom", "Sexe", "Père", "Mère", "Né(e) le", "Statut", "Décès", "Remarques"}}
	monthsFR := []string{"janvier", "février", "mars", "avril", "mai", "juin", "juillet", "août", "septembre", "octobre", "novembre", "décembre"}
	for i := range birds {
		b := &birds[i]
		hatched := fmt.Sprintf("%d %s %d", b.hatch.Day(), monthsFR[b.hatch.Month()-1], b.hatch.Year())
		if i%9 == 0 {
			hatched = fmt.Sprintf("vers %d", b.hatch.Year())
		}
		status, died := "vivant", ""
		if !b.death.IsZero() {
			status, died = "mort", "†"
		}
		if !b.gone.IsZero() {
			status = "vendu"
		}
		sire, dam := b.sireID(), b.damID()
		if sire == "" {
			sire = "inconnu"
		}
		if dam == "" {
			dam = "sauvage"
		}
		rows = append(rows, []any{b.id, b.name, map[studbook.Sex]string{studbook.Male: "mâle", studbook.Female: "femelle"}[b.sex], sire, dam, hatched, status, died, nil})
	}
	agrees(t, imported(t, "élevage.csv", inText(t, ";", charmap.Windows1252, rows), Mapping{}), birds)
}

// A Spanish OpenDocument file: M and H are proved by the parents, chicks of
// some years are known by their nest, which a second sheet gives to pairs.
func TestSpanishNests(t *testing.T) {
	birds := colonyOf(4, ids("E-%03d", 60))
	rows := [][]any{{"Nº anilla", "Nombre", "Sexo", "Padre", "Madre", "Fecha de nacimiento", "Fecha de muerte"}}
	nests := [][]any{{"Nido", "Hembra", "Macho", "Desde", "Hasta"}}
	for i := range birds {
		b := &birds[i]
		b.gone = time.Time{}
		sire, dam := any(b.sireID()), any(b.damID())
		if i%7 == 0 && b.sireID() != "" && b.damID() != "" {
			nest := fmt.Sprintf("Nido %d", i)
			nests = append(nests, []any{fmt.Sprint(i), b.damID(), b.sireID(), cellOr(b.hatch.AddDate(0, -2, 0), ""), cellOr(b.hatch.AddDate(0, 3, 0), "")})
			// Another pair held it the year before.
			nests = append(nests, []any{fmt.Sprint(i), "E-002", "E-001", cellOr(b.hatch.AddDate(-1, -2, 0), ""), cellOr(b.hatch.AddDate(-1, 3, 0), "")})
			sire, dam = nest, nil
		}
		rows = append(rows, []any{b.id, b.name, map[studbook.Sex]string{studbook.Male: "M", studbook.Female: "H"}[b.sex], sire, dam, cellOr(b.hatch, ""), cellOr(b.death, "")})
	}
	agrees(t, imported(t, "aves.ods", inODS(t, page{name: "Aves", rows: rows}, page{name: "Nidos", rows: nests}), Mapping{}), birds)
}

// A Portuguese table with tabs in UTF-16 in which a bird has a row for every
// place that it stayed at.
func TestPortugueseStays(t *testing.T) {
	birds := colonyOf(5, ids("PT%03d", 50))
	rows := [][]any{{"Anilha", "Nome", "Sexo", "Pai", "Mãe", "Data de nascimento", "Local", "Data de chegada", "Data de saída", "Motivo da saída"}}
	for i := range birds {
		b := &birds[i]
		row := []any{b.id, b.name, map[studbook.Sex]string{studbook.Male: "macho", studbook.Female: "fêmea"}[b.sex], b.sireID(), b.damID(), cellOr(b.hatch, "2006-01-02"), b.place, nil, nil, nil}
		switch {
		case i%5 == 0 && b.living():
			moved := b.hatch.AddDate(2, 0, 0)
			row[8] = cellOr(moved, "2006-01-02") // no reason, but the next row shows it again
			rows = append(rows, row, []any{b.id, nil, nil, nil, nil, nil, "LIS", cellOr(moved, "2006-01-02"), nil, nil})
			continue
		case !b.death.IsZero():
			row[8], row[9] = cellOr(b.death, "2006-01-02"), "morreu"
		case !b.gone.IsZero():
			row[8], row[9] = cellOr(b.gone, "2006-01-02"), "fugiu"
		}
		rows = append(rows, row)
	}
	content := inText(t, "\t", unicode.UTF16(unicode.LittleEndian, unicode.UseBOM), rows)
	agrees(t, imported(t, "aves.txt", content, Mapping{}), birds)
}

// An Italian workbook that counts days from 1904, with both parents in one cell
// in any order, and a column that says how well a date is known.
func TestItalianPairs(t *testing.T) {
	birds := colonyOf(6, ids("IT %03d", 50))
	rows := [][]any{{"Matricola", "Nome", "Sesso", "Genitori", "Data di nascita", "Precisione", "Morto il", "Osservazioni"}}
	for i := range birds {
		b := &birds[i]
		b.gone = time.Time{}
		var parents any
		switch {
		case b.sireID() != "" && b.damID() != "" && i%2 == 0:
			parents = b.damID() + " x " + b.sireID()
		case b.sireID() != "" && b.damID() != "":
			parents = b.sireID() + " + " + b.damID()
		case b.sireID() != "":
			parents = b.sireID() + " x sconosciuta"
		case b.damID() != "":
			parents = "sconosciuto x " + b.damID()
		}
		precision := any("giorno")
		if i%6 == 0 {
			precision = "anno"
		}
		rows = append(rows, []any{b.id, b.name, map[studbook.Sex]string{studbook.Male: "♂", studbook.Female: "♀"}[b.sex], parents, cellOr(b.hatch, ""), precision, cellOr(b.death, ""), nil})
	}
	agrees(t, imported(t, "uccelli.xlsx", inWorkbook(t, true, page{name: "Foglio1", rows: rows}), Mapping{}), birds)
}

// A Dutch log with one row an event and the date at the first of a day.
func TestDutchLog(t *testing.T) {
	birds := colonyOf(7, ids("NL-%03d", 40))
	type event struct {
		on  time.Time
		row []any
	}
	var events []event
	for i := range birds {
		b := &birds[i]
		b.gone = time.Time{}
		parents := ""
		switch {
		case b.sireID() != "" && b.damID() != "":
			parents = b.sireID() + " x " + b.damID()
		case b.sireID() != "":
			parents = b.sireID() + " x onbekend"
		case b.damID() != "":
			parents = "onbekend x " + b.damID()
		}
		events = append(events, event{b.hatch, []any{b.id, "uitgekomen", parents, b.place}},
			event{b.hatch, []any{b.id, "gesekst", map[studbook.Sex]string{studbook.Male: "man", studbook.Female: "pop"}[b.sex], nil}},
			event{b.hatch.AddDate(0, 2, 0), []any{b.id, "gewogen", "710 g", nil}},
			event{b.hatch.AddDate(0, 3, 0), []any{b.id, "gefotografeerd", nil, nil}})
		if !b.death.IsZero() {
			events = append(events, event{b.death, []any{b.id, "overleden", nil, nil}})
		}
	}
	for i := range events { // by day, in place
		for j := i; j > 0 && events[j].on.Before(events[j-1].on); j-- {
			events[j], events[j-1] = events[j-1], events[j]
		}
	}
	rows := [][]any{{"Datum", "Vogel", "Gebeurtenis", "Met", "Plaats"}}
	last := time.Time{}
	for _, e := range events {
		date := cellOr(e.on, "2-1-2006")
		if e.on.Equal(last) {
			date = nil
		}
		last = e.on
		rows = append(rows, append([]any{date}, e.row...))
	}
	agrees(t, imported(t, "logboek.csv", inText(t, ";", nil, rows), Mapping{}), birds)
}

// A pedigree of PLINK in which two families have individuals of one name.
func TestTwoFamiliesOfPLINK(t *testing.T) {
	birds := colonyOf(8, ids("%d", 30))
	var b strings.Builder
	var all []truth
	for _, family := range []string{"N", "S"} {
		for _, x := range birds {
			id := func(s string) string {
				if s == "" {
					return "0"
				}
				return s
			}
			fmt.Fprintf(&b, "%s %s %s %s %d -9\n", family, x.id, id(x.sireID()), id(x.damID()), map[studbook.Sex]int{studbook.Male: 1, studbook.Female: 2}[x.sex])
			y := truth{id: family + "-" + x.id, sex: x.sex}
			if s := x.sireID(); s != "" {
				y.sire = sure(family + "-" + s)
			}
			if s := x.damID(); s != "" {
				y.dam = sure(family + "-" + s)
			}
			all = append(all, y)
		}
	}
	res := imported(t, "colony.fam", []byte(b.String()), Mapping{})
	agrees(t, res, all)
	assert.Contains(t, decided(res), "all_alive")
}

// A family tree of GEDCOM, in both versions. In version 7 wives are sires as
// often as husbands, and the sexes decide.
func TestFamilyTrees(t *testing.T) {
	for _, version := range []string{"5.5.1", "7.0"} {
		t.Run(version, func(t *testing.T) {
			birds := colonyOf(9, ids("G%03d", 50))
			for i := range birds {
				birds[i].gone = time.Time{}
			}
			var b strings.Builder
			fmt.Fprintf(&b, "0 HEAD\n1 GEDC\n2 VERS %s\n1 CHAR UTF-8\n", version)
			families := make(map[string]string)
			var order []string
			for i, x := range birds {
				fmt.Fprintf(&b, "0 @I%d@ INDI\n1 NAME %s\n1 SEX %s\n1 REFN %s\n1 BIRT\n2 DATE %s\n", i, x.name, x.sex, x.id, strings.ToUpper(x.hatch.Format("2 Jan 2006")))
				if !x.death.IsZero() {
					if i%2 == 0 {
						fmt.Fprintf(&b, "1 DEAT\n2 DATE %s\n", strings.ToUpper(x.death.Format("2 Jan 2006")))
					} else {
						b.WriteString("1 DEAT Y\n")
					}
				}
				if x.sire == nil && x.dam == nil {
					continue
				}
				k := x.sireID() + " " + x.damID()
				if families[k] == "" {
					families[k] = fmt.Sprintf("F%d", len(order))
					order = append(order, k)
				}
				fmt.Fprintf(&b, "1 FAMC @%s@\n", families[k])
			}
			pointers := make(map[string]string)
			for i, x := range birds {
				pointers[x.id] = fmt.Sprintf("@I%d@", i)
			}
			for i, k := range order {
				sire, dam, _ := strings.Cut(k, " ")
				husb, wife := sire, dam
				if version == "7.0" && i%2 == 0 {
					husb, wife = dam, sire
				}
				fmt.Fprintf(&b, "0 @%s@ FAM\n", families[k])
				if husb != "" {
					fmt.Fprintf(&b, "1 HUSB %s\n", pointers[husb])
				}
				if wife != "" {
					fmt.Fprintf(&b, "1 WIFE %s\n", pointers[wife])
				}
			}
			b.WriteString("0 TRLR\n")
			agrees(t, imported(t, "tree.ged", []byte(b.String()), Mapping{}), birds)
		})
	}
}

// A file that no program can understand alone: columns named for nothing,
// days that could be months, codes for sexes. One mapping file settles it.
func TestWithAMapping(t *testing.T) {
	birds := colonyOf(10, ids("X%03d", 40))
	rows := [][]any{{"K1", "K2", "K3", "K4", "K5", "K6"}}
	for i := range birds {
		b := &birds[i]
		b.gone = time.Time{}
		b.hatch = on(b.hatch.Year(), int(b.hatch.Month()), 1+b.hatch.Day()%12)
		end := any(nil)
		if !b.death.IsZero() {
			end = "E"
		}
		sire := b.sireID()
		if sire == "" {
			sire = fmt.Sprintf("LOT %d", i%3)
		}
		rows = append(rows, []any{b.id, map[studbook.Sex]string{studbook.Male: "A", studbook.Female: "B"}[b.sex], sire, b.damID(), b.hatch.Format("01/02/2006"), end})
	}
	m, err := ReadMapping([]byte(`
[columns]
id = "K1"
sex = "K2"
sire = "K3"
dam = "K4"
hatch_date = "K5"
status = "K6"

[import]
dates = "mdy"
unknown = ["LOT *"]

[import.words.sex]
A = "M"
B = "F"

[import.words.fate]
E = "died"
`))
	if err != nil {
		t.Fatal(err)
	}
	agrees(t, imported(t, "export.csv", inText(t, ",", nil, rows), m), birds)
}
