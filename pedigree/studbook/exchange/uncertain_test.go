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

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// others are the words of the languages for what is beside the birds.
var others = map[string]struct {
	nests, groups          []string // headings: nest, female, male, from, to; group, season, males, females
	nest, flock, or        string
	nestSheet, groupSheet  string
	former, parentsHeading string
}{
	"en": {strings.Split("Nest box,Hen,Cock,From,To", ","), strings.Split("Group,Season,Males,Females", ","), "Nest", "South flock", "or", "Nests", "Groups", "Former rings", "Parents"},
	"de": {strings.Split("Nistkasten,Weibchen,Männchen,von,bis", ","), strings.Split("Zuchtgruppe,Saison,Männchen,Weibchen", ","), "Nest", "Gruppe Süd", "oder", "Nester", "Gruppen", "Alte Ringe", "Eltern"},
	"fr": {strings.Split("Nichoir,Femelle,Mâle,Du,Au", ","), strings.Split("Groupe,Année,Mâles,Femelles", ","), "Nid", "Volière sud", "ou", "Nids", "Groupes", "Anciennes bagues", "Parents"},
	"es": {strings.Split("Nido,Hembra,Macho,Desde,Hasta", ","), strings.Split("Grupo,Temporada,Machos,Hembras", ","), "Nido", "Bandada sur", "o", "Nidos", "Grupos", "Anillas anteriores", "Progenitores"},
	"pt": {strings.Split("Ninho,Fêmea,Macho,Desde,Até", ","), strings.Split("Grupo,Época,Machos,Fêmeas", ","), "Ninho", "Bando sul", "ou", "Ninhos", "Grupos", "Anilhas anteriores", "Pais"},
	"it": {strings.Split("Nido,Femmina,Maschio,Dal,Al", ","), strings.Split("Gruppo,Stagione,Maschi,Femmine", ","), "Nido", "Voliera sud", "o", "Nidi", "Gruppi", "Anelli precedenti", "Genitori"},
	"nl": {strings.Split("Nestkast,Pop,Man,Van,Tot", ","), strings.Split("Kweekgroep,Seizoen,Mannen,Poppen", ","), "Nest", "Groep zuid", "of", "Nesten", "Groepen", "Oude ringen", "Ouders"},
}

// TestUncertainStrangers puts the ways of not knowing a parent for certain
// together at random, in two rows of headings, with ids that are numbers.
func TestUncertainStrangers(t *testing.T) {
	studbooktest.WithoutRace(t)
	for _, lang := range slices.Sorted(maps.Keys(others)) {
		for seed := range uint64(12) {
			t.Run(fmt.Sprint(lang, seed), func(t *testing.T) { uncertainStranger(t, lang, seed) })
			if t.Failed() {
				return
			}
		}
	}
}

func uncertainStranger(t *testing.T, lang string, seed uint64) {
	w, o := tongues[lang], others[lang]
	r := rand.New(rand.NewPCG(seed, 5))
	numbers := r.IntN(2) == 0
	format := "Q%03d"
	if numbers {
		format = "%04d"
	}
	birds := colonyOf(300+seed, ids(format, 60))
	cell := func(id string) any {
		if id != "" && numbers {
			n := 0
			fmt.Sscanf(id, "%d", &n)
			return n
		}
		if id == "" {
			return nil
		}
		return id
	}
	// another bird of a sex that could be the parent too
	another := func(b truth, not string, sex studbook.Sex) string {
		for range 100 {
			p := birds[r.IntN(len(birds))]
			if p.sex == sex && p.id != not && p.hatch.Year()+1 < b.hatch.Year() {
				return p.id
			}
		}
		return ""
	}
	former := func(id string) string { return "old/" + id }
	heads := [][]any{{"Colony"}, {w.id[0], w.sex[0], o.parentsHeading, nil, w.hatched[0], w.died[0], o.former}, {nil, nil, w.sire[0], w.dam[0]}}
	p := page{name: "Sheet", merged: []string{"C2:D2", "A2:A3", "B2:B3", "E2:E3"}}
	if numbers {
		p.formats = map[int]string{1: "0000", 3: "0000", 4: "0000"}
	}
	nests, groups := [][]any{nil}, [][]any{nil}
	for _, h := range o.nests {
		nests[0] = append(nests[0], h)
	}
	for _, h := range o.groups {
		groups[0] = append(groups[0], h)
	}
	var rows [][]any
	for i := range birds {
		b := &birds[i]
		b.gone = time.Time{}
		sire, dam := cell(b.sireID()), cell(b.damID())
		if b.sire != nil && b.dam != nil {
			s1, d1 := b.sireID(), b.damID()
			s2, d2 := another(*b, s1, studbook.Male), another(*b, d1, studbook.Female)
			style := r.IntN(8)
			if s2 == "" || d2 == "" {
				style = 7
			}
			half := func(a, c string) []studbook.Candidate {
				return []studbook.Candidate{{ID: a, Weight: 0.5}, {ID: c, Weight: 0.5}}
			}
			switch style {
			case 0:
				sire = s1 + " (0,7) / " + s2 + " (0,3)"
				b.sire = []studbook.Candidate{{ID: s1, Weight: 0.7}, {ID: s2, Weight: 0.3}}
			case 1:
				dam = d1 + " " + o.or + " " + d2
				b.dam = half(d1, d2)
			case 2:
				sire = s1 + " 60 % / " + s2 + " 40 %"
				b.sire = []studbook.Candidate{{ID: s1, Weight: 0.6}, {ID: s2, Weight: 0.4}}
			case 3, 4:
				name := fmt.Sprintf("%d", i)
				nests = append(nests, []any{name, cell(d1), cell(s1), b.hatch.AddDate(0, -3, 0), b.hatch.AddDate(0, 2, 0)},
					[]any{name, cell(d2), cell(s2), b.hatch.AddDate(-2, 0, 0), b.hatch.AddDate(-1, 0, 0)})
				if style == 4 { // two pairs held it
					nests = append(nests, []any{name, cell(d2), cell(s2), b.hatch.AddDate(0, -1, 0), nil})
					b.sire, b.dam = half(s1, s2), half(d1, d2)
				}
				sire, dam = o.nest+" "+name, nil
			case 5:
				name := fmt.Sprintf("%s %d", o.flock, i)
				groups = append(groups, []any{name, b.hatch.Year(), s1 + ", " + s2, d1 + "; " + d2}, []any{name, b.hatch.Year() - 1, "x", "y"})
				sire, dam = name, name
				b.sire, b.dam = half(s1, s2), half(d1, d2)
			case 6:
				sire, dam = former(s1), former(d1)
			}
		}
		rows = append(rows, []any{cell(b.id), map[studbook.Sex]string{studbook.Male: w.male[0], studbook.Female: w.female[0]}[b.sex], sire, dam, b.hatch, cellOr(b.death, ""), former(b.id)})
	}
	r.Shuffle(len(rows), func(i, j int) { rows[i], rows[j] = rows[j], rows[i] })
	p.rows = append(heads, rows...)
	res := tried(t, "u.xlsx", inWorkbook(t, false, p, page{name: o.nestSheet, rows: nests}, page{name: o.groupSheet, rows: groups}), Mapping{})
	require.Empty(t, res.Report.Stops)
	for _, f := range res.Report.Findings {
		require.NotEqual(t, studbook.Error, f.Severity, f.String())
	}
	addsUp(t, res)
	agrees(t, res, birds)
}
