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
)

// logWords are the headings of a log (date, bird, event, with, place) and the
// words for hatched, arrived, sexed, ringed, weighed, died, sold, moved.
var logWords = map[string][2]string{
	"en": {"Date,Bird,Event,With,Where", "hatched,arrived,sexed,ringed,weighed,died,sold,moved"},
	"de": {"Datum,Vogel,Ereignis,Mit,Ort", "geschlüpft,angekommen,Geschlecht bestimmt,beringt,gewogen,verendet,verkauft,verlegt"},
	"fr": {"Date,Oiseau,Événement,Avec,Lieu", "éclosion,arrivée,sexé,bagué,pesé,mort,vendu,transféré"},
	"es": {"Fecha,Ave,Evento,Con,Lugar", "eclosión,llegada,sexado,anillado,pesado,muerto,vendido,trasladado"},
	"pt": {"Data,Ave,Evento,Com,Local", "eclosão,chegada,sexado,anilhado,pesagem,morreu,vendido,transferido"},
	"it": {"Data,Uccello,Evento,Con,Luogo", "schiusa,arrivo,sessato,inanellato,pesato,deceduto,venduto,trasferito"},
	"nl": {"Datum,Vogel,Gebeurtenis,Met,Plaats", "uitgekomen,aangekomen,gesekst,geringd,gewogen,overleden,verkocht,verplaatst"},
}

// TestLogs tells the lives of colonies as logs of events.
func TestLogs(t *testing.T) {
	for _, lang := range slices.Sorted(maps.Keys(logWords)) {
		for seed := range uint64(4) {
			t.Run(fmt.Sprint(lang, seed), func(t *testing.T) {
				w := tongues[lang]
				words := strings.Split(logWords[lang][1], ",")
				r := rand.New(rand.NewPCG(seed, 9))
				birds := colonyOf(500+seed, ids("L-%02d", 40))
				type event struct {
					on  time.Time
					row []any
				}
				var log []event
				add := func(d time.Time, row ...any) { log = append(log, event{d, row}) }
				for i, b := range birds {
					sire, dam := b.sireID(), b.damID()
					if sire == "" {
						sire = w.unknown[0]
					}
					if dam == "" {
						dam = w.wild[0]
					}
					if b.sire == nil && b.dam == nil && i%2 == 0 {
						add(b.hatch, b.id, words[1], "Zoo Z", b.place)
					} else {
						add(b.hatch, b.id, words[0], sire+" x "+dam, b.place)
					}
					add(b.hatch.AddDate(0, 1, 0), b.id, words[2], map[studbook.Sex]string{studbook.Male: w.male[0], studbook.Female: w.female[0]}[b.sex], nil)
					add(b.hatch.AddDate(0, 1, 1), b.id, words[3], fmt.Sprint("GB ", i), nil)
					add(b.hatch.AddDate(0, 2, 0), b.id, words[4], "700 g", nil)
					if r.IntN(3) == 0 && b.living() {
						add(b.hatch.AddDate(1, 0, 0), b.id, words[7], nil, "QQQ")
					}
					if !b.death.IsZero() {
						add(b.death, b.id, words[5], nil, nil)
					}
					if !b.gone.IsZero() {
						add(b.gone, b.id, words[6], nil, nil)
					}
				}
				slices.SortStableFunc(log, func(a, b event) int { return a.on.Compare(b.on) })
				rows := [][]any{nil}
				for _, h := range strings.Split(logWords[lang][0], ",") {
					rows[0] = append(rows[0], h)
				}
				last := time.Time{}
				for _, e := range log {
					date := any(e.on)
					if e.on.Equal(last) {
						date = nil
					}
					last = e.on
					rows = append(rows, append([]any{date}, e.row...))
				}
				res := tried(t, "log.ods", inODS(t, page{name: "Log", rows: rows}), Mapping{})
				require.Empty(t, res.Report.Stops)
				for _, f := range res.Report.Findings {
					require.NotEqual(t, studbook.Error, f.Severity, f.String())
				}
				addsUp(t, res)
				agrees(t, res, birds)
			})
		}
	}
}
