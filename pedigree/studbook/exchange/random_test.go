package exchange

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/charmap"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// tongue is how one language heads columns and writes words.
type tongue struct {
	id, band, name, sex, sire, dam, parents, hatched, died, status, left, reason, place []string
	male, female, unknown, wild, alive, dead                                            []string
	sold, moved, deadSheet                                                              string
	months                                                                              []string
}

var tongues = map[string]tongue{
	"en": {[]string{"Studbook No.", "ID", "Bird ID"}, []string{"Ring", "Band number"}, []string{"House name", "Name"}, []string{"Sex", "Gender"}, []string{"Sire", "Father"}, []string{"Dam", "Mother"}, []string{"Parents", "Sire x Dam"},
		[]string{"Hatched", "Date of hatch", "DOB"}, []string{"Died", "Date of death"}, []string{"Status", "Fate"}, []string{"Date left", "Departed"}, []string{"Reason", "Reason for leaving"}, []string{"Location", "Institution"},
		[]string{"male", "cock", "M"}, []string{"female", "hen", "F"}, []string{"unknown", "?", "UNK"}, []string{"wild", "wild-caught"}, []string{"alive", "living"}, []string{"dead", "died"}, "given away", "transferred to sheets.Z", "Dead birds",
		strings.Fields("January February March April May June July August September October November December")},
	"de": {[]string{"Zuchtbuchnummer", "Zuchtbuch-Nr."}, []string{"Ringnummer", "Fußring"}, []string{"Rufname", "Hausname"}, []string{"Geschlecht", "Geschl."}, []string{"Vater", "Vatertier"}, []string{"Mutter", "Muttertier"}, []string{"Eltern", "Elterntiere"},
		[]string{"Schlupfdatum", "geschlüpft am"}, []string{"Gestorben", "Todesdatum"}, []string{"Zustand", "Verbleib"}, []string{"Abgang", "Abgangsdatum"}, []string{"Abgangsgrund", "Grund"}, []string{"Standort", "Halter"},
		[]string{"m", "männlich", "1,0", "Hahn"}, []string{"w", "weiblich", "0,1", "Henne"}, []string{"unbekannt", "unbek."}, []string{"Wildfang", "Naturentnahme"}, []string{"lebt", "vorhanden"}, []string{"tot", "verstorben"}, "verkauft", "verlegt nach sheets.Z", "Verstorbene",
		strings.Fields("Januar Februar März April Mai Juni Juli August September Oktober November Dezember")},
	"fr": {[]string{"Identifiant", "N° studbook"}, []string{"Bague", "N° de bague"}, []string{"Nom", "Nom d'usage"}, []string{"Sexe"}, []string{"Père"}, []string{"Mère"}, []string{"Parents"},
		[]string{"Date de naissance", "Né(e) le", "Éclosion"}, []string{"Date de décès", "Mort(e) le"}, []string{"Statut", "État"}, []string{"Date de sortie", "Sortie"}, []string{"Motif de sortie", "Motif"}, []string{"Lieu", "Établissement"},
		[]string{"mâle", "M", "♂"}, []string{"femelle", "F", "♀"}, []string{"inconnu", "inconnue"}, []string{"sauvage"}, []string{"vivant", "en vie"}, []string{"mort", "décédé"}, "vendu", "transféré à sheets.Z", "Décédés",
		strings.Fields("janvier février mars avril mai juin juillet août septembre octobre novembre décembre")},
	"es": {[]string{"Identificador", "Nº de registro"}, []string{"Anilla", "Nº de anilla"}, []string{"Nombre"}, []string{"Sexo"}, []string{"Padre"}, []string{"Madre"}, []string{"Progenitores"},
		[]string{"Fecha de nacimiento", "Eclosión"}, []string{"Fecha de muerte", "Fallecimiento"}, []string{"Estado"}, []string{"Fecha de baja", "Salida"}, []string{"Motivo de baja", "Motivo"}, []string{"Ubicación", "Centro"},
		[]string{"macho", "M"}, []string{"hembra", "H"}, []string{"desconocido", "desconocida"}, []string{"silvestre", "salvaje"}, []string{"vivo", "viva"}, []string{"muerto", "fallecido"}, "vendido", "trasladado a sheets.Z", "Fallecidos",
		strings.Fields("enero febrero marzo abril mayo junio julio agosto septiembre octubre noviembre diciembre")},
	"pt": {[]string{"Identificação", "Número de registo"}, []string{"Anilha"}, []string{"Nome"}, []string{"Sexo"}, []string{"Pai"}, []string{"Mãe"}, []string{"Pais"},
		[]string{"Data de nascimento", "Nascimento"}, []string{"Data de morte", "Óbito"}, []string{"Situação"}, []string{"Data de saída", "Saída"}, []string{"Motivo da saída"}, []string{"Localização", "Instituição"},
		[]string{"macho", "M"}, []string{"fêmea", "F"}, []string{"desconhecido", "desconhecida"}, []string{"selvagem"}, []string{"vivo", "viva"}, []string{"morto", "falecido"}, "doado", "transferido para sheets.Z", "Mortos",
		strings.Fields("janeiro fevereiro março abril maio junho julho agosto setembro outubro novembro dezembro")},
	"it": {[]string{"Matricola", "Numero di registro"}, []string{"Anello", "Numero anello"}, []string{"Nome"}, []string{"Sesso"}, []string{"Padre"}, []string{"Madre"}, []string{"Genitori"},
		[]string{"Data di nascita", "Schiusa"}, []string{"Data di morte", "Decesso"}, []string{"Stato"}, []string{"Data di uscita", "Uscita"}, []string{"Motivo uscita"}, []string{"Sede", "Struttura"},
		[]string{"maschio", "M"}, []string{"femmina", "F"}, []string{"sconosciuto", "ignoto"}, []string{"selvatico"}, []string{"vivo", "in vita"}, []string{"morto", "deceduto"}, "venduto", "trasferito a sheets.Z", "Deceduti",
		strings.Fields("gennaio febbraio marzo aprile maggio giugno luglio agosto settembre ottobre novembre dicembre")},
	"nl": {[]string{"Stamboeknummer", "Stamboek-nr."}, []string{"Ringnummer", "Pootring"}, []string{"Roepnaam", "Naam"}, []string{"Geslacht"}, []string{"Vader"}, []string{"Moeder"}, []string{"Ouders"},
		[]string{"Geboortedatum", "Uitgekomen op"}, []string{"Overleden", "Sterfdatum"}, []string{"Toestand"}, []string{"Vertrekdatum", "Datum vertrek"}, []string{"Reden van vertrek", "Reden"}, []string{"Verblijfplaats", "Locatie"},
		[]string{"man", "mannetje", "M"}, []string{"pop", "vrouwtje", "V"}, []string{"onbekend"}, []string{"wildvang"}, []string{"levend", "leeft"}, []string{"dood", "overleden"}, "verkocht", "verhuisd naar sheets.Z", "Overleden",
		strings.Fields("januari februari maart april mei juni juli augustus september oktober november december")},
}

// TestStrangersAtRandom puts habits of keepers together at random: language,
// layout, ids or bands or names for parents, notations of dates and fates. The
// truth is the same whatever they are.
func TestStrangersAtRandom(t *testing.T) {
	studbooktest.WithoutRace(t)
	for _, lang := range slices.Sorted(maps.Keys(tongues)) {
		for seed := range uint64(15) {
			t.Run(fmt.Sprint(lang, seed), func(t *testing.T) { randomStranger(t, tongues[lang], seed) })
			if t.Failed() {
				return
			}
		}
	}
}

func randomStranger(t *testing.T, w tongue, seed uint64) {
	r := rand.New(rand.NewPCG(seed, 77))
	pick := func(list []string) string { return list[r.IntN(len(list))] }
	formats := []string{"%03d", "A%d", "X-%04d", "GB %02d/7", "%05d"}
	birds := colonyOf(100+seed, ids(pick(formats), 40+r.IntN(30)))
	fateStyle := r.IntN(4) // 0 a date, 1 a sheet, 2 a word in the column of deaths, 3 a status
	named, banded := r.IntN(2) == 0, r.IntN(3) == 0
	bands := make(map[string]string)
	names := make(map[string]string)
	at := make(map[string]truth)
	for i := range birds {
		if birds[i].name = freeName(birds, i); fateStyle != 0 { // a name is free again only where the day of death is known
			birds[i].name = fmt.Sprintf("%s of %d", []string{"Tom", "Meg", "Kit"}[i%3], i)
		}
		names[birds[i].id], bands[birds[i].id] = birds[i].name, fmt.Sprintf("R%d-%d", 50+i, i%7)
		at[birds[i].id] = birds[i]
	}
	maleWord := r.IntN(len(w.male))
	male, female := w.male[maleWord], w.female[min(maleWord, len(w.female)-1)]
	sireStyle := r.IntN(5)
	call := func(id string, fallback []string) any {
		switch {
		case id == "" && r.IntN(2) == 0:
			return nil
		case id == "":
			return pick(fallback)
		case sireStyle == 1 && named:
			return names[id]
		case sireStyle == 2 && named:
			return names[id] + " (" + id + ")"
		case sireStyle == 3 && banded:
			return bands[id]
		case sireStyle == 4:
			return strings.ToLower(id)
		}
		return id
	}
	dateStyle := r.IntN(6)
	when := func(d time.Time) any {
		if d.IsZero() {
			return nil
		}
		switch dateStyle {
		case 0:
			return d.Format("2006-01-02")
		case 1:
			return d.Format("02/01/2006")
		case 2:
			return d.Format("2.1.2006")
		case 3:
			return fmt.Sprintf("%d. %s %d", d.Day(), w.months[d.Month()-1], d.Year())
		case 4:
			return d
		}
		return d.Format("02-01-06")
	}
	departed := r.IntN(2) == 0
	both := r.IntN(4) == 0
	head := []any{pick(w.id)}
	if banded {
		head = append(head, pick(w.band))
	}
	if named {
		head = append(head, pick(w.name))
	}
	head = append(head, pick(w.sex))
	if both {
		head = append(head, pick(w.parents))
	} else {
		head = append(head, pick(w.sire), pick(w.dam))
	}
	head = append(head, pick(w.hatched), pick(w.place))
	if fateStyle != 3 {
		head = append(head, pick(w.died))
	} else {
		head = append(head, pick(w.status))
	}
	if departed {
		head = append(head, pick(w.left), pick(w.reason))
	}
	head = append(head, "XYZ")
	living, dead := [][]any{}, [][]any{head}
	for range r.IntN(3) {
		living = append(living, []any{"Title of the file"})
	}
	living = append(living, head)
	order := r.Perm(len(birds))
	for n, i := range order {
		b := &birds[i]
		if !departed {
			b.gone = time.Time{}
		}
		row := []any{b.id}
		if banded {
			row = append(row, bands[b.id])
		}
		if named {
			row = append(row, b.name)
		}
		row = append(row, map[studbook.Sex]string{studbook.Male: male, studbook.Female: female}[b.sex])
		sire, dam := call(b.sireID(), append(w.wild, w.unknown...)), call(b.damID(), append(w.wild, w.unknown...))
		if both {
			var cell any
			if sire != nil || dam != nil {
				if sire == nil {
					sire = w.unknown[0]
				}
				if dam == nil {
					dam = w.unknown[0]
				}
				cell = fmt.Sprintf("%v x %v", sire, dam)
			}
			row = append(row, cell)
		} else {
			row = append(row, sire, dam)
		}
		row = append(row, when(b.hatch), b.place)
		isDead := !b.death.IsZero()
		switch {
		case fateStyle == 0:
			row = append(row, when(b.death))
		case fateStyle == 3 && isDead:
			row = append(row, pick(w.dead))
		case fateStyle == 3:
			row = append(row, pick(w.alive))
		case isDead && fateStyle == 2:
			row = append(row, pick(append(w.dead, "†", "x")))
		case fateStyle == 2:
			row = append(row, []any{nil, "-", pick(w.alive)}[r.IntN(3)])
		default:
			row = append(row, nil)
		}
		if departed {
			switch {
			case !b.gone.IsZero():
				row = append(row, when(b.gone), w.sold)
			case !isDead && r.IntN(12) == 0 && b.hatch.Year() < 2015:
				row = append(row, when(b.hatch.AddDate(3, 0, 0)), w.moved)
			default:
				row = append(row, nil, nil)
			}
		}
		row = append(row, r.IntN(900))
		into := &living
		if fateStyle == 1 && isDead {
			into = &dead
		}
		if n%17 == 16 && into == &living {
			living = append(living, nil, []any{"Section"})
		}
		*into = append(*into, row)
	}
	var content []byte
	name := "stranger.xlsx"
	kind := r.IntN(3)
	if fateStyle == 1 && kind == 2 {
		kind = r.IntN(2)
	}
	pages := []page{{name: "Sheet A", rows: living}}
	if fateStyle == 1 {
		pages = append(pages, page{name: w.deadSheet, rows: dead})
	}
	switch kind {
	case 0:
		content = inWorkbook(t, r.IntN(2) == 0, pages...)
	case 1:
		name, content = "stranger.ods", inODS(t, pages...)
	default:
		name = "stranger.csv"
		for _, row := range living {
			for j, c := range row {
				if d, ok := c.(time.Time); ok {
					row[j] = d.Format("2006-01-02")
				}
			}
		}
		if male == "♂" {
			content = inText(t, []string{",", ";", "\t"}[r.IntN(3)], nil, living)
		} else {
			content = inText(t, []string{",", ";", "\t"}[r.IntN(3)], charmap.Windows1252, living)
		}
	}
	res := tried(t, name, content, Mapping{})
	require.Empty(t, res.Report.Stops, "%v", head)
	for _, f := range res.Report.Findings {
		require.NotEqual(t, studbook.Error, f.Severity, "%s %v", f, head)
	}
	addsUp(t, res)
	agrees(t, res, birds)
}
