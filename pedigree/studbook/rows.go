package studbook

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// readStudbook reads the birds and checks them against each other.
func (r *reader) readStudbook(raw []byte) error {
	t, err := r.table(birdsTable.describe(), studbookFile, raw)
	if t == nil || err != nil {
		return err
	}
	r.birds, r.rowsOf = true, t.file
	r.index, r.twice, r.lines = newRegister(len(t.rows)), make(map[string]bool), make([]int, 0, len(t.rows))
	r.numbers = large[numbers](len(t.rows))
	c := r.colony
	c.HasLocation, c.HasOrigin, r.sexed = t.has("location"), t.has("origin"), t.has("sex")
	if !c.HasLocation {
		r.note("%s has no location column: all birds are taken to live at one place", t.file)
	}
	if !t.has("hatch_date") {
		r.note("%s has no hatch_date column: nobody's age is known", t.file)
	}
	if !c.HasOrigin {
		r.note("%s has no origin column: its founders are taken to be wild", t.file)
	}
	if len(t.rows) == 0 {
		r.warn(place{file: t.file}, codeNoBirds, "the studbook has no birds", "write one row for each bird, living or dead")
	}
	if c.Birds, err = readRows(r, birdsTable, t, spot.lookAtRow, r.checkBird); err != nil {
		return err
	}
	c.Aside = t.aside()
	if len(r.short) > 0 {
		slices.Sort(r.short) // the order of the rows is no news
		r.note("%s: the weights of the possible parents of %s add up to less than 1; the rest is taken as an unknown parent", t.file, SomeOf(slices.Compact(r.short), 5))
	}
	return r.checkPedigree(t.file)
}

// numbers are those of the texts by which a bird is found.
type numbers struct {
	id, plain uint64 // of its id, and of what PlainID has of it
	band      uint64 // of what PlainID has of its band, 0 without one

	newPlace bool // it lives at a place where none does of the rows before it that were looked at with it
}

// lookAtRow does with a row of the studbook what can be done on all cores, and reports
// whether it is a bird.
func (s spot) lookAtRow(b *Bird) bool {
	n := numbers{id: numberOf(b.ID), plain: plainNumber(b.ID)}
	if bandWord(b.Band) {
		n.band = cmp.Or(plainNumber(b.Band), 1)
	}
	bird := s.checkRow(b)
	if bird && !s.r.inhabited[b.Location] {
		s.r.inhabited[b.Location], n.newPlace = true, true
	}
	s.r.numbers[s.row] = n
	return bird
}

// checkRow checks a row of the studbook by itself and reports whether it is a bird.
func (s spot) checkRow(b *Bird) bool {
	b.Recorded = true
	if b.Hatch.Known() && b.Death.Known() && b.Death.Last < b.Hatch.First {
		s.r.fault(s.at("death_date"), codeDeathBeforeHatch, fmt.Sprintf("%q died before it hatched (%s)", b.ID, b.Hatch.Text), "correct one of the two dates")
	}
	if s.total(b) {
		s.r.warn(s.at("id"), codeTotalsRow, "this row seems to hold a total and no bird, so it is left out", "delete it; if it is a bird, state its sex")
		return false
	}
	for _, p := range [2]*Parentage{&b.Sire, &b.Dam} {
		s.r.marked = s.r.marked || slices.ContainsFunc(p.Candidates, func(c Candidate) bool { return marks(c.ID) })
	}
	if b.ID == "" {
		s.needed("id")
		return true
	}
	if !certain(b.ID) {
		s.r.fault(s.at("id"), codeBadID, "this id cannot be written in a sire or dam column, where it means something else",
			"choose an id without ; and =, and not the words unknown or wild")
	}
	if s.bare(b) {
		s.r.warn(s.at("id"), codeBareRow, "the row has an id and nothing else; it counts as a living bird of unknown sex", "delete it if it is no bird, as a count is; else fill in what is known, U for the sex at least")
	}
	return true
}

// checkBird checks a row of the studbook against those before it and reports whether
// it is kept.
func (r *reader) checkBird(s spot, b *Bird) bool {
	n := r.numbers[s.row]
	if n.newPlace {
		r.usePlace(s, "location", b.Location)
	}
	if b.ID == "" {
		return false
	}
	if first, twice := r.index.addNumbered(n.id, b.ID); twice {
		r.fault(s.at("id"), codeDuplicateID, fmt.Sprintf("the id stands in line %d already", r.lines[first]),
			"give each bird an id of its own, or delete the row that is there twice")
		r.twice[b.ID] = true
		return false
	}
	r.numbers[len(r.lines)] = n
	r.lines = append(r.lines, s.line)
	return true
}

// nameBirds says of each finding in whose row of the studbook it is.
func (r *reader) nameBirds() {
	for k := range r.findings {
		f := &r.findings[k]
		if i, ok := slices.BinarySearch(r.lines, f.Line); ok && f.File == r.rowsOf {
			if id := r.colony.Birds[i].ID; !r.twice[id] {
				f.Bird = id
			}
		}
	}
}

// settleDeaths narrows the day of death of the birds that died on an unknown
// day: after the last sign of life and not after the day of the files.
func (r *reader) settleDeaths() {
	c := r.colony
	var who []string
	for i := range c.Birds {
		if c.Birds[i].Death.Text == unknownDay {
			who = append(who, c.Birds[i].ID)
		}
	}
	if len(who) == 0 {
		return
	}
	last := make([]Day, len(c.Birds))
	end := c.FilesDay
	sign := func(id string, d Date) {
		if i, ok := r.index.find(id); ok {
			last[i] = max(last[i], d.First)
		}
		if c.FilesDay == 0 {
			end = max(end, d.Last)
		}
	}
	for i := range c.Birds {
		b := &c.Birds[i]
		sign(b.ID, b.Hatch)
		for _, p := range [2]Parentage{b.Sire, b.Dam} {
			if id, ok := p.Known(); ok {
				sign(id, b.Hatch)
			}
		}
		if c.FilesDay == 0 && b.Death.Text != unknownDay {
			end = max(end, b.Death.Last)
		}
	}
	c.records(sign)
	for i := range c.Birds {
		d := &c.Birds[i].Death
		if d.Text != unknownDay {
			continue
		}
		d.First = last[i]
		d.Last = max(end, d.First, 1)
		if d.First == 0 { // nothing is known of its life
			d.First = d.Last
		}
	}
	slices.Sort(who)
	r.note("%s: %s died on an unknown day; it is taken to lie between the last sign of life and the day of the files", r.labels[studbookFile], SomeOf(who, 5))
}

// usePlace remembers where an institution's code was first used, and reports
// one that a keeper may take for another.
func (r *reader) usePlace(s spot, column, code string) {
	if _, used := r.places[code]; used || code == "" {
		return
	}
	r.places[code] = s.at(column)
	plain := PlainID(code)
	first, twice := r.codes[plain]
	if !twice {
		r.codes[plain] = code
		return
	}
	at := r.places[first]
	r.warn(s.at(column), codeAlikeCodes, fmt.Sprintf("the code differs from %q (%s line %d) %s, so it counts as another place", first, at.file, at.line, unlike(code, first)),
		"write one code the same everywhere; it is said once for each code")
}

// bird reports whether an id of another file is that of a row of the
// studbook, and the bird.
func (s spot) bird(column, id string) (*Bird, bool) {
	if !s.needed(column) || !s.r.birds {
		return nil, false
	}
	i, ok := s.r.index.find(id)
	if !ok || !s.r.colony.Birds[i].Recorded {
		s.r.fault(s.at(column), codeUnknownID, "no bird of the studbook has this id", s.r.alike(id, "correct the id, or add the bird to the studbook"))
		return nil, false
	}
	return &s.r.colony.Birds[i], true
}

func (r *reader) readMoves() error {
	t, moves, err := load(r, movesTable, func(s spot, m *Move) bool {
		if nobody(s.cell("date")) && s.t.has("date") {
			r.fault(s.at("date"), codeMissingValue, "a move needs a date to say where the bird was when", "write what is known of it, as 2019, 201X or [2018..2019]")
		}
		if m.From == "" && m.To == "" {
			r.fault(s.at("to"), codeMissingValue, "the move says neither where the bird came from nor where it went", "fill in the institution it left, or the one it came to")
		}
		r.usePlace(s, "from", m.From)
		r.usePlace(s, "to", m.To)
		if b, ok := s.bird("id", m.ID); ok {
			s.inLife("date", codeMoveOutsideLife, "moved", b, m.Date, 0)
		}
		return true
	})
	if r.colony.Moves = moves; t != nil {
		r.checkMoves(t.file)
	}
	return err
}

func (r *reader) readBonds() (err error) {
	open, seen, nests := make(map[string]Bond), make(rowsOnce), make(map[[2]string]Bond)
	_, r.colony.Bonds, err = load(r, bondsTable, func(s spot, b *Bond) bool {
		s.span("until", b.Since, b.Until)
		female, male, ok := s.pair(b.Female, b.Male)
		if ok {
			s.checkBond(b, female, male)
			if b.Until.Known() { // two that last are told below
				seen.again(s, "the bond", "female", "male", "since")
			}
		}
		if !ok || b.Until.Known() || female.Death.Known() || male.Death.Known() {
			return true
		}
		if nest := [2]string{female.Location, b.Nest}; b.Nest != "" {
			if first, there := nests[nest]; there && first.Female != b.Female && first.Male != b.Male {
				r.warn(s.at("nest"), codeSameNest, fmt.Sprintf("%s and %s have the same nest (line %d)", first.Female, first.Male, first.Line), "correct one of the two nests, or write in until when the earlier bond ended")
			} else {
				nests[nest] = *b
			}
		}
		for _, x := range []struct{ column, id string }{{"female", b.Female}, {"male", b.Male}} {
			if first, twice := open[x.id]; twice {
				r.warn(s.at(x.column), codeTwoOpenBonds, fmt.Sprintf("%q has an open bond already: %s and %s, line %d", x.id, first.Female, first.Male, first.Line),
					"write in until when the earlier bond ended, or delete the row that is there twice")
				continue
			}
			open[x.id] = *b
		}
		return true
	})
	return err
}

// pair checks the female and male of a bond or clutch.
func (s spot) pair(femaleID, maleID string) (female, male *Bird, ok bool) {
	female, ok1 := s.bird("female", femaleID)
	male, ok2 := s.bird("male", maleID)
	if ok1 && ok2 && femaleID == maleID {
		s.r.fault(s.at("male"), codeSameBird, "a bird cannot be paired with itself", "correct one of the two ids")
		return female, male, false
	}
	if ok1 && female.Sex == Male {
		s.r.warn(s.at("female"), codeWrongSex, "the studbook has this bird as a male", "correct the sex, or put the birds into the right columns")
	}
	if ok2 && male.Sex == Female {
		s.r.warn(s.at("male"), codeWrongSex, "the studbook has this bird as a female", "correct the sex, or put the birds into the right columns")
	}
	return female, male, ok1 && ok2
}

// span checks that something ends after it begins.
func (s spot) span(column string, since, until Date) {
	if since.Known() && until.Known() && until.Last < since.First {
		s.r.fault(s.at(column), codeEndBeforeStart, fmt.Sprintf("it ends before it begins (%s)", since.Text), "correct one of the two dates")
	}
}

func (r *reader) readClutches() (err error) {
	seen := make(rowsOnce)
	_, r.colony.Clutches, err = load(r, clutchesTable, func(s spot, c *Clutch) bool {
		most, of := -1, ""
		for _, n := range []struct {
			column string
			count  int
		}{{"eggs", c.Eggs}, {"fertile", c.Fertile}, {"hatched", c.Hatched}, {"fledged", c.Fledged}} {
			if n.count < 0 {
				continue
			}
			if of != "" && n.count > most {
				r.warn(s.at(n.column), codeClutchCounts, fmt.Sprintf("there are more %s than %s (%s)", n.column, of, Number(most)), "correct one of the two counts")
			}
			most, of = n.count, n.column
		}
		if c.Replaced && c.Fledged > 0 {
			r.warn(s.at("fledged"), codeClutchCounts, "chicks fledged, of eggs that were replaced", "correct one of the two")
		}
		if female, male, ok := s.pair(c.Female, c.Male); ok {
			s.checkClutch(c, female, male)
			if c.Laid.Exact() { // of a year there may be several
				seen.again(s, "a clutch of this female of this day", "female", "laid")
			}
		}
		return true
	})
	return err
}

func (r *reader) readHolds() (err error) {
	seen := make(rowsOnce)
	_, r.colony.Holds, err = load(r, holdsTable, func(s spot, h *Hold) bool {
		s.span("until", h.Since, h.Until)
		if b, ok := s.bird("id", h.ID); ok {
			s.inLife("since", codeHoldOutsideLife, "was put on hold", b, h.Since, 0)
			if !h.Until.Known() && s.cell("until") != "" {
				s.endUnknown("hold")
			}
			seen.again(s, "the hold", "id", "since", "until", "reason", "blocks")
		}
		if h.Reason == "" && s.t.has("reason") {
			r.warn(s.at("reason"), codeMissingValue, "the hold gives no reason", "say why, in a word or two")
		}
		return true
	})
	return err
}

func (r *reader) readRequests() (err error) {
	_, r.colony.Requests, err = load(r, requestsTable, func(s spot, q *Request) bool {
		r.usePlace(s, "to", q.To)
		s.needed("to")
		bird, there := s.bird("bird", q.Bird)
		if q.Partner == "" {
			return true
		}
		switch partner, ok := s.bird("partner", q.Partner); {
		case !ok:
		case q.Partner == q.Bird:
			r.fault(s.at("partner"), codeSameBird, "a bird cannot be its own mate", "correct one of the two ids, or leave the cell blank")
		case there && partner.Sex == bird.Sex && bird.Sex != Unsexed:
			r.warn(s.at("partner"), codeWrongSex, fmt.Sprintf("%q is of the same sex by the studbook, and is to be its mate", bird.ID), "correct one of the two ids or sexes, or leave the cell blank")
		}
		return true
	})
	return err
}

func (r *reader) readRulings() (err error) {
	_, r.colony.Rulings, err = load(r, decisionsTable, func(s spot, u *Ruling) bool {
		for _, column := range []string{"date", "what", "decision"} {
			s.needed(column)
		}
		s.span("until", u.Date, u.Until)
		r.usePlace(s, "to", u.To)
		if u.What == RulesMove && u.To == "" {
			r.fault(s.at("to"), codeMissingValue, "the decision on a move does not say where to", "fill in the code of the institution")
		}
		if !s.needed("birds") {
			return true
		}
		switch n := len(u.Birds); {
		case u.What == RulesMove && n > 2:
			r.fault(s.at("birds"), codeTooManyBirds, "a decision on a move is about one bird, or about one and its mate", "write one row for each bird that moves")
			return true
		case u.What > RulesMove && n != 2:
			r.fault(s.at("birds"), codeTooManyBirds, "this decision is about a pair", "write the female and the male, as A12; B3")
			return true
		}
		s.birdsOf(u.Birds)
		return true
	})
	return err
}

func (r *reader) readChanges() (err error) {
	_, r.colony.Changes, err = load(r, changesTable, func(spot, *Change) bool { return true })
	return err
}

func (r *reader) readInstitutions() error {
	lines := make(map[string]int)
	t, institutions, err := load(r, institutionsTable, func(s spot, in *Institution) bool {
		in.HasLatitude, in.HasLongitude = s.cell("latitude") != "", s.cell("longitude") != ""
		switch {
		case in.HasLatitude && in.HasLongitude && in.Latitude == 0 && in.Longitude == 0: // in the sea
			r.warn(s.at("latitude"), codeAtZero, "latitude and longitude are both 0, where no institution is", "write where it is, or leave both blank")
		case in.HasLatitude == in.HasLongitude:
		case in.HasLatitude:
			r.warn(s.at("longitude"), codeHalfPlaced, "there is a latitude but no longitude, so distances cannot be given", "fill it in")
		default:
			r.warn(s.at("latitude"), codeHalfPlaced, "there is a longitude but no latitude, so distances cannot be given", "fill it in")
		}
		if !s.needed("code") {
			return false
		}
		if first, twice := lines[in.Code]; twice {
			r.fault(s.at("code"), codeDuplicateID, fmt.Sprintf("the code stands in line %d already", first), "give each institution a code of its own")
			return false
		}
		lines[in.Code] = s.line
		return true
	})
	if r.colony.Institutions = institutions; t == nil || err != nil {
		return err
	}
	if home := r.colony.Settings.Home; home != "" {
		if _, ok := r.places[home]; !ok {
			r.places[home] = r.settingPlace("home", home)
		}
	}
	unknown := make([]place, 0, len(r.places))
	for code, at := range r.places {
		if _, ok := lines[code]; !ok {
			unknown = append(unknown, at)
		}
	}
	slices.SortFunc(unknown, func(a, b place) int { return cmp.Compare(a.value, b.value) })
	for _, at := range unknown {
		help := "correct the code, or add the institution; it is said once for each code"
		if near := OrOf(NearPlaces(institutions, nil, at.value)); near != "" {
			help = "perhaps " + near + " is meant: " + help
		}
		r.warn(at, codeUnknownInstitution, fmt.Sprintf("%s has no institution with this code", t.file), help)
	}
	return nil
}

func (r *reader) readFounderKinship() error {
	lines := make(map[[2]string]int)
	self := make(map[string]float64)
	t, known, err := load(r, founderKinshipTable, func(s spot, k *FounderKinship) bool {
		ok := s.founder("id1", k.ID1)
		ok = s.founder("id2", k.ID2) && ok
		switch {
		case !s.needed("kinship"):
		case math.IsNaN(k.Kinship):
			ok = false
		case k.Kinship < 0:
			// An estimate from DNA can come out below 0.
			r.warn(s.at("kinship"), codeNegativeKinship, "a kinship below 0 is read as 0", "write 0")
			k.Kinship = 0
		case k.ID1 == k.ID2 && k.Kinship < 0.5:
			r.fault(s.at("kinship"), codeOutOfRange, "the kinship of a bird with itself is at least 0.5: (1+F)/2", "write (1+F)/2, with F the bird's inbreeding coefficient")
			ok = false
		}
		pair := [2]string{min(k.ID1, k.ID2), max(k.ID1, k.ID2)}
		if first, twice := lines[pair]; twice && ok {
			r.fault(s.at("id1"), codeDuplicateKinship, fmt.Sprintf("the kinship of %q and %q stands in line %d already", k.ID1, k.ID2, first), "delete one of the two rows")
			return false
		}
		if !ok {
			return false
		}
		lines[pair] = s.line
		if k.ID1 == k.ID2 {
			self[k.ID1] = k.Kinship
		}
		return true
	})
	if r.colony.FounderKinship = known; t == nil || err != nil {
		return err
	}
	for _, k := range r.colony.FounderKinship {
		for _, id := range []string{k.ID1, k.ID2} {
			most, ok := self[id]
			if !ok {
				most = 0.5
			}
			if k.Kinship > most {
				r.fault(place{t.file, k.Line, "kinship", fmt.Sprint(k.Kinship)}, codeKinshipAboveSelf, fmt.Sprintf("the kinship is above that of %q with itself, %g", id, most),
					"correct it, or add a row with the bird's kinship with itself")
				break
			}
		}
	}
	return nil
}

// founder checks an id of founder_kinship.csv: a founder, with or without a
// row of its own.
func (s spot) founder(column, id string) bool {
	if !s.needed(column) || !s.r.birds {
		return false
	}
	i, ok := s.r.index.find(id)
	if !ok {
		s.r.fault(s.at(column), codeUnknownID, "no bird of the studbook has this id", s.r.alike(id, "correct the id, or add the bird to the studbook"))
		return false
	}
	if b := &s.r.colony.Birds[i]; !b.Founder() {
		s.r.fault(s.at(column), codeNotFounder, "this bird has parents in the studbook, so its kinship follows from theirs", "delete the row, or correct the id")
		return false
	}
	return true
}
