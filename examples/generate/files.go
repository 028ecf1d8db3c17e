package main

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"fmt"
	"slices"
	"strconv"
)

// invented is the first line of every file.
const invented = "# Invented data: no such bird, place or person exists.\n"

// table returns a CSV file of the rows below the remarks and the header.
func table(remarks string, header []string, rows [][]string) []byte {
	var b bytes.Buffer
	b.WriteString(invented + remarks)
	w := csv.NewWriter(&b)
	// Writing to a buffer cannot fail.
	_ = w.Write(header)
	_ = w.WriteAll(rows)
	return b.Bytes()
}

// render returns the files by name.
func render(p *programme) map[string][]byte {
	return map[string][]byte{
		"studbook.csv":        p.studbook(),
		"moves.csv":           p.moves(),
		"bonds.csv":           p.bondRows(),
		"clutches.csv":        p.clutchRows(),
		"holds.csv":           p.holdRows(),
		"institutions.csv":    p.institutionRows(),
		"founder_kinship.csv": p.founderKinship(),
		"requests.csv":        p.requests(),
		"decisions.csv":       p.decisions(),
		"genotypes.csv":       p.genotypes(),
		"programme.toml":      p.settings(),
	}
}

func (p *programme) studbook() []byte {
	var rows [][]string
	for _, b := range p.birds {
		sire, dam := b.sireText, b.damText
		if sire == "" && b.sire != nil {
			sire = b.sire.id
		}
		if dam == "" && b.dam != nil {
			dam = b.dam.id
		}
		hatch, death := b.hatchText, b.deathText
		if hatch == "" {
			hatch = b.hatch.String()
		}
		if death == "" && !b.living() {
			death = b.death.String()
		}
		rows = append(rows, []string{b.id, b.name, b.band, string(rune(b.sex)), sire, dam, hatch, death, institutions[b.place()].code, b.origin, b.notes})
	}
	return table("# Saffron cliff ibis (an invented species): every bird of the programme, living or dead, in order of entry.\n"+
		"# A chick is entered on the day it hatches.\n",
		[]string{"id", "name", "band", "sex", "sire", "dam", "hatch_date", "death_date", "location", "origin", "notes"}, rows)
}

func (p *programme) moves() []byte {
	type move struct {
		d   day
		row []string
	}
	var moves []move
	for _, b := range p.birds {
		from := ""
		for i, s := range b.stays {
			to := institutions[s.place].code
			if i > 0 || s.reason != "" {
				moves = append(moves, move{s.since, []string{b.id, s.since.String(), from, to, s.reason}})
			}
			from = to
		}
	}
	slices.SortStableFunc(moves, func(a, b move) int { return cmp.Compare(a.d, b.d) })
	var rows [][]string
	for _, m := range moves {
		rows = append(rows, m.row)
	}
	return table("# Transfers between institutions; an arrival from outside the programme has no place of origin.\n",
		[]string{"id", "date", "from", "to", "reason"}, rows)
}

func (p *programme) bondRows() []byte {
	bonds := slices.Clone(p.bonds)
	slices.SortStableFunc(bonds, func(a, b *bond) int { return cmp.Compare(a.since, b.since) })
	var rows [][]string
	for _, b := range bonds {
		until := ""
		if b.until != 0 {
			until = b.until.String()
		}
		rows = append(rows, []string{b.female.id, b.male.id, b.since.String(), until, b.nest, b.endedBy})
	}
	return table("# Pair bonds at all institutions; nests are numbered at Harrow Fell only.\n",
		[]string{"female", "male", "since", "until", "nest", "ended_by"}, rows)
}

func (p *programme) clutchRows() []byte {
	clutches := slices.Clone(p.clutches)
	slices.SortStableFunc(clutches, func(a, b clutch) int { return cmp.Compare(a.laid, b.laid) })
	var rows [][]string
	for _, c := range clutches {
		if c.laid.time().Year() < clutchesOf {
			continue
		}
		row := []string{c.bond.female.id, c.bond.male.id, c.laid.String(), strconv.Itoa(c.eggs), "", "", ""}
		if c.replaced {
			row[5] = "replaced"
		} else {
			row[4], row[5], row[6] = strconv.Itoa(c.fertile), strconv.Itoa(c.hatched), strconv.Itoa(c.fledged)
		}
		rows = append(rows, row)
	}
	return table(fmt.Sprintf("# Clutches at all institutions since %d; laid is the day of the first egg.\n", clutchesOf)+
		"# replaced: the eggs were replaced by dummies, because the pair had chicks enough.\n",
		[]string{"female", "male", "laid", "eggs", "fertile", "hatched", "fledged"}, rows)
}

func (p *programme) holdRows() []byte {
	var rows [][]string
	for _, h := range p.holds {
		rows = append(rows, []string{h.bird.id, h.since, h.until, h.reason, h.blocks, h.note})
	}
	return table("", []string{"id", "since", "until", "reason", "blocks", "note"}, rows)
}

func (p *programme) institutionRows() []byte {
	crowd := make([]int, len(institutions))
	for _, b := range p.birds {
		if b.living() {
			crowd[b.place()]++
		}
	}
	var rows [][]string
	for i, x := range institutions {
		free := max(0, x.room+x.room/8-crowd[i]) // every place can take some more than it wants
		rows = append(rows, []string{x.code, x.name, x.country, x.latitude, x.longitude, strconv.Itoa(free / 2), strconv.Itoa(free - free/2), x.quarantine, x.permitWeeks, x.closed, x.contact, x.notes})
	}
	return table("# The members of the programme; spaces are free places for females and males.\n",
		[]string{"code", "name", "country", "latitude", "longitude", "spaces_f", "spaces_m", "quarantine_days", "permit_weeks", "closed_months", "contact", "notes"}, rows)
}

func (p *programme) founderKinship() []byte {
	var rows [][]string
	if a, b := p.halfSibs[0], p.halfSibs[1]; a != nil {
		rows = append(rows, []string{a.id, b.id, "0.125"})
	}
	return table("# Known kinship between founders: half sibs by DNA. All other founders are taken to be unrelated.\n",
		[]string{"id1", "id2", "kinship"}, rows)
}

// settings returns programme.toml, with what the clutches on record show.
func (p *programme) settings() []byte {
	type pairSeason struct {
		bond *bond
		year int
	}
	seasons := map[pairSeason]bool{}
	clutches, fledged, hatched := 0, 0, 0
	for _, c := range p.clutches {
		if year := c.laid.time().Year(); year >= clutchesOf && !c.replaced {
			seasons[pairSeason{c.bond, year}] = true
			clutches++
			hatched += c.hatched
			if c.fledged > 0 {
				fledged++
			}
		}
	}
	ratio := func(a, b int) string {
		n := (100*a + b/2) / max(b, 1)
		return fmt.Sprintf("%d.%02d", n/100, n%100)
	}
	// Most bonds lay, and most of these are left their eggs: what they hatch is what one
	// hatches that lays, times the share that does.
	chicks := ratio(hatched*p.laid, len(seasons)*p.bondSeasons)
	return []byte(invented + `
species = "saffron cliff ibis (invented)"
home = "` + institutions[home].code + `"
current_to = "` + asOf.String() + `"   # the day these files were last brought up to date

chicks_per_season = ` + chicks + `    # hatched by a pair in a season in which its eggs would be left to it, if it lays any
chicks_per_pair = 2
clutch_success = ` + ratio(fledged, clutches) + `       # share of clutches left to the pair from which a chick fledged
lethal_equivalents = 1.57   # per gamete; not known for this bird, so the median of captive mammals
oldest_age = ` + strconv.Itoa(oldest) + `             # years
quarantine_days = 30        # where an institution gives none
seasons_ahead = 3           # over which the chicks of a pair count

[goal]
gene_diversity = 0.90
years = 100
birds = 420

[breeding_age]              # years, first and last
female = [3, ` + strconv.Itoa(lastFemale) + `]
male = [3, ` + strconv.Itoa(lastMale) + `]

[limits]
inbreeding = 0.125
preferred_inbreeding = 0.0625

[moves]
ahead = 2                   # years before breeding age that a young bird's place is decided

[incubation]                # days after the first egg
days = ` + strconv.Itoa(incubation) + `
candling_days = 8
settled_days = 12           # from then on a sitting pair loses no egg

[rearing]
days = ` + strconv.Itoa(fledgingAge) + `                   # from hatch to fledging

[genotypes]
error_rate = 0.01           # what the laboratory states

[months]
pairing = [2, 3]
laying = [4, 5, 6]
moult = [8, 9]
`)
}

// ask is a request for a bird, by its id.
type ask struct{ bird, to, mate, by, date, notes string }

// asks are the requests that nobody has answered yet. The programme of another
// seed has other birds by these ids, and requests that make less sense.
var asks = []ask{
	{"C0902", "HAF", "C0734", "bird team, Harrow Fell", "2026-09-14", "she is alone"},
	{"C0902", "SER", "", "equipa das aves, Serralva", "2026-09-02", ""},
	{"C0842", "JED", "C0922", "bird section, Jedlohora", "2026-09-21", ""},
}

// lives reports whether all of some ids are those of living birds.
func (p *programme) lives(ids ...string) bool {
	for _, id := range ids {
		if id != "" && !slices.ContainsFunc(p.birds, func(b *bird) bool { return b.id == id && b.living() }) {
			return false
		}
	}
	return true
}

func (p *programme) requests() []byte {
	var rows [][]string
	for _, a := range asks {
		if p.lives(a.bird, a.mate) {
			rows = append(rows, []string{a.bird, a.to, a.mate, a.by, a.date, a.notes})
		}
	}
	return table("# Requests for birds that nobody has answered yet; two of them exclude each other.\n",
		[]string{"bird", "to", "partner", "asked_by", "date", "notes"}, rows)
}

func (p *programme) decisions() []byte {
	var rows [][]string
	if a := asks[2]; p.lives(a.bird, a.mate) && p.sexOf(a.bird) != p.sexOf(a.mate) {
		rows = append(rows, []string{"2026-09-24", "move", a.bird + "; " + a.mate, a.to, "waiting", "programme committee", "", "the permit is asked for first"})
	}
	return table("# What the programme's committee decided on moves and pairs. A decision holds for a year.\n",
		[]string{"date", "what", "birds", "to", "decision", "by", "until", "reason"}, rows)
}

func (p *programme) sexOf(id string) byte {
	i := slices.IndexFunc(p.birds, func(b *bird) bool { return b.id == id })
	return p.birds[i].sex
}
