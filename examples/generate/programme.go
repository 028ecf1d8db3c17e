package main

import (
	"math/rand/v2"
	"slices"
	"time"
)

// day counts days since 1970-01-01.
type day int

// date returns the day of a calendar date.
func date(year int, month time.Month, dayOfMonth int) day {
	return day(time.Date(year, month, dayOfMonth, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}

func (d day) time() time.Time { return time.Unix(int64(d)*86400, 0).UTC() }

func (d day) String() string { return d.time().Format("2006-01-02") }

// years returns the days of n years, rounded up, so that a bird that many days
// old has had its nth birthday whatever leap years lie between.
func years(n int) day { return day((n*1461 + 3) / 4) }

const (
	firstYear   = 1991
	lastYear    = 2026
	clutchesOf  = 2010 // first season whose clutches are on record
	guidedFrom  = 2005 // first season in which a coordinator advised on pairs
	plentyFrom  = 2010 // first season with more eggs than places
	incubation  = 24   // days from laying to the first hatch
	fledgingAge = 50   // days
	bandingAge  = 35
	oldest      = 29 // years
	lastFemale  = 22 // years, at which females breed last
	lastMale    = 26
	homeBonds   = 14 // as many as the home ledges have room for
)

// asOf is the day the files were last brought up to date.
var asOf = date(lastYear, time.September, 30)

// place is an institution, an index into institutions.
type place int

// home is the place of the home colony.
const home place = 0

type institution struct {
	code, name, country string // ISO 3166
	latitude, longitude string
	opens               int // first year with birds
	room                int // birds it has room for
	quarantine          string
	contact, notes      string
	permitWeeks         string // for a move across its border
	closed              string // months in which no bird comes or goes
}

var institutions = []institution{
	{"HAF", "Harrow Fell Bird Park", "GB", "54.62", "-2.41", 1991, 40, "30", "bird team, birds@harrowfell.example", "home colony; nests on three ledges", "16", ""},
	{"QUM", "Quillmoor Estate", "GB", "57.24", "-3.38", 1991, 44, "30", "head keeper, keeper@quillmoor.example", "", "16", ""},
	{"LIS", "Lisselmeer Bird Gardens", "NL", "52.41", "6.38", 1991, 52, "21", "curator of birds, curator@lisselmeer.example", "keeps the programme's records", "6", ""},
	{"HOK", "Vogelpark Hohenkranich", "DE", "51.18", "9.86", 1995, 60, "30", "Vogelrevier, revier@hohenkranich.example", "", "8", ""},
	{"BRI", "Domaine de Brissevaux", "FR", "47.09", "2.87", 1997, 52, "30", "équipe oiseaux, oiseaux@brissevaux.example", "two aviaries; cliff wall rebuilt in 2017", "8", ""},
	{"SAV", "Sävlunda Wildlife Centre", "SE", "57.66", "14.42", 2000, 38, "42", "djurvård, fagel@savlunda.example", "birds winter indoors and stay there", "8", "12;1;2"},
	{"VAL", "Oasi di Valdorsola", "IT", "44.31", "10.12", 2003, 46, "30", "responsabile voliere, voliere@valdorsola.example", "", "10", ""},
	{"SER", "Quinta da Serralva", "PT", "39.88", "-7.61", 2007, 46, "", "equipa das aves, aves@serralva.example", "no transfers in July and August because of heat", "10", "7;8"},
	{"JED", "Wildlife Park Jedlohora", "CZ", "49.43", "15.32", 2011, 38, "40", "bird section, ptaci@jedlohora.example", "youngest member", "8", ""},
}

// placeOf returns the place of a code.
func placeOf(code string) place {
	return place(slices.IndexFunc(institutions, func(x institution) bool { return x.code == code }))
}

// stay is the time a bird spends at one place, from since to its next stay.
type stay struct {
	place  place
	since  day
	reason string // of the move that began it; "" for a chick's first
}

type bird struct {
	id, name, band string
	row            int // in the kinship matrix
	sex            byte
	sire, dam      *bird // nil for both of a founder's
	origin         string
	hatch, death   day // death after asOf: living
	entered        day // in the studbook
	stays          []stay
	bond           *bond // the open one
	vigour         int   // percent of the usual fertility
	nest           string
	poor           bool // of a line that breeds badly
	freeSince      day  // end of the last bond
	reserved       bool // left unpaired for the story

	// Texts that stand in the files in place of the facts above.
	sireText, damText, hatchText, deathText, notes string
}

// place returns where the bird is after its last move.
func (b *bird) place() place { return b.stays[len(b.stays)-1].place }

// placeOn returns where the bird is on the day.
func (b *bird) placeOn(d day) place {
	p := b.stays[0].place
	for _, s := range b.stays[1:] {
		if s.since <= d {
			p = s.place
		}
	}
	return p
}

// aliveOn reports whether the bird is in the programme and living on the day,
// and for a while after it, so that nothing is planned for a dying bird's last day.
func (b *bird) aliveOn(d day) bool { return b.entered <= d && b.death > d+2 }

// living reports whether the bird is alive in the files.
func (b *bird) living() bool { return b.death > asOf }

// aged reports whether the bird has had its nth birthday.
func (b *bird) aged(d day, n int) bool { return d-b.hatch >= years(n) }

// settled reports whether the bird has stayed where it is, and in the same
// company, since well before the day.
func (b *bird) settled(d day) bool {
	return b.stays[len(b.stays)-1].since <= d-300 && b.freeSince <= d
}

// move ends the stay of the bird and begins another.
func (b *bird) move(to place, d day, reason string) {
	b.stays = append(b.stays, stay{to, d, reason})
	b.nest = ""
}

type bond struct {
	female, male *bird
	since, until day // until 0: open
	endedBy      string
	nest         string
	failed       int  // seasons in a row without a chick
	barren       bool // sits every year, never a fertile egg
}

// end closes the bond.
func (b *bond) end(d day, why string) {
	b.until, b.endedBy = d, why
	for _, x := range []*bird{b.female, b.male} {
		x.bond, x.freeSince = nil, d
	}
}

// widowed returns the day of the first death of the two.
func (b *bond) widowed() day { return min(b.female.death, b.male.death) }

type clutch struct {
	bond                            *bond
	laid                            day
	eggs, fertile, hatched, fledged int
	replaced                        bool // by dummies; nothing but eggs is known
}

// hold is a row of holds.csv.
type hold struct {
	bird         *bird
	since, until string
	reason       string
	blocks, note string
}

type programme struct {
	random   *rand.Rand
	birds    []*bird // in the order they came to be
	bonds    []*bond
	clutches []clutch
	// bondSeasons are those since clutchesOf in which a bond of breeding age was together
	// for a clutch, laid those in which it laid one.
	bondSeasons, laid int

	kinship  [][]float64 // lower triangle, by row of the birds
	holds    []hold
	halfSibs [2]*bird
	cast     cast
}

// kin returns the true kinship of two birds. Every value is a sum of powers of
// one half, so it is exact and the same on every machine.
func (p *programme) kin(a, b *bird) float64 {
	if a.row < b.row {
		a, b = b, a
	}
	return p.kinship[a.row][b.row]
}

// add enters a bird whose sire and dam are set or nil.
func (p *programme) add(b *bird) *bird {
	b.row = len(p.birds)
	row := make([]float64, b.row+1)
	row[b.row] = 0.5
	if b.dam != nil {
		for _, x := range p.birds {
			f := p.kin(b.dam, x) / 2
			if b.sire != nil {
				f += p.kin(b.sire, x) / 2
			}
			row[x.row] = f
		}
		if b.sire != nil {
			row[b.row] += p.kin(b.sire, b.dam) / 2
		}
	}
	p.birds = append(p.birds, b)
	p.kinship = append(p.kinship, row)
	return b
}

// meanKinship returns the mean kinship of every bird to those alive on the day,
// by row.
func (p *programme) meanKinship(d day) []float64 {
	living := p.alive(d)
	mean := make([]float64, len(p.birds))
	for _, b := range p.birds {
		for _, x := range living {
			mean[b.row] += p.kin(b, x)
		}
		mean[b.row] /= float64(len(living))
	}
	return mean
}

// alive returns the birds alive on the day.
func (p *programme) alive(d day) []*bird {
	var living []*bird
	for _, b := range p.birds {
		if b.aliveOn(d) {
			living = append(living, b)
		}
	}
	return living
}

// open returns the bonds that are open.
func (p *programme) open() []*bond {
	var open []*bond
	for _, b := range p.bonds {
		if b.until == 0 {
			open = append(open, b)
		}
	}
	return open
}

// chance reports true in permille of cases.
func (p *programme) chance(permille int) bool { return p.random.IntN(1000) < permille }

// between returns a day from first to last.
func (p *programme) between(first, last day) day {
	return first + day(p.random.IntN(int(last-first)+1))
}
