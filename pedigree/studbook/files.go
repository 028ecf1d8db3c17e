package studbook

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// readStudbook reads the birds and checks them against each other.
func (r *reader) readStudbook(raw []byte) error {
	rows, t, err := load[studbookRow](r, studbookFile, raw)
	if t == nil || err != nil {
		return err
	}
	r.birds = true
	c := r.colony
	c.HasLocation, c.HasOrigin, r.sexed = t.has("location"), t.has("origin"), t.has("sex")
	if !c.HasLocation {
		r.note("%s has no location column: all birds are taken to live at one place", t.file)
	}
	if !c.HasOrigin {
		r.note("%s has no origin column: its founders are taken to be wild", t.file)
	}
	if len(rows) == 0 {
		r.warn(place{file: t.file}, codeNoBirds, "the studbook has no birds", "write one row for each bird, living or dead")
	}
	c.Birds = make([]Bird, 0, len(rows))
	var short []string // birds whose weights leave room for an unknown parent
	for i, row := range rows {
		if i%4096 == 0 && r.ctx.Err() != nil {
			return fmt.Errorf("reading %s: %w", t.file, r.ctx.Err())
		}
		s := r.spot(t, i)
		b := Bird{
			ID: row.ID, Name: row.Name, Band: row.Band, Location: row.Location, Notes: row.Notes,
			Sex: s.sex(row.Sex), Origin: s.origin(row.Origin),
			Hatch: s.date("hatch_date", row.Hatch, false), Death: s.date("death_date", row.Death, false),
			Recorded: true, Line: s.line,
		}
		var lacks [2]float64
		b.Sire, lacks[0] = s.parent("sire", row.Sire)
		b.Dam, lacks[1] = s.parent("dam", row.Dam)
		if lacks[0] > 0 || lacks[1] > 0 {
			short = append(short, row.ID)
		}
		if row.Death != "" && !b.Death.Known() && nobody(row.Death) {
			r.warn(s.at("death_date", row.Death), codeUnknownDeath, "a death on an unknown date is read as no death, so the bird counts as living",
				"if the bird is dead, write what is known of the date, as 201X or [2005..2019]")
		}
		if b.Hatch.Known() && b.Death.Known() && b.Death.Last < b.Hatch.First {
			r.fault(s.at("death_date", row.Death), codeDeathBeforeHatch, fmt.Sprintf("%q died before it hatched (%s)", row.ID, row.Hatch), "correct one of the two dates")
		}
		r.usePlace(s.at("location", row.Location))
		if !s.id(t, row.ID) {
			continue
		}
		if first, twice := r.index[row.ID]; twice {
			r.fault(s.at("id", row.ID), codeDuplicateID, fmt.Sprintf("the id stands in line %d already", c.Birds[first].Line),
				"give each bird an id of its own, or delete the row that is there twice")
			continue
		}
		r.index[row.ID] = len(c.Birds)
		c.Birds = append(c.Birds, b)
	}
	if len(short) > 0 {
		slices.Sort(short) // the order of the rows is no news
		r.note("%s: the weights of the possible parents of %s add up to less than 1; the rest is taken as an unknown parent", t.file, someOf(short, 5))
	}
	return r.checkPedigree(t.file)
}

// id reports whether the id of a bird can be used.
func (s spot) id(t *table, id string) bool {
	if !s.needed(t, "id", id) {
		return false
	}
	if strings.ContainsAny(id, ";=") || nobody(id) || strings.EqualFold(id, "wild") {
		s.r.fault(s.at("id", id), codeBadID, "this id cannot be written in a sire or dam column, where it means something else",
			"choose an id without ; and =, and not the words unknown or wild")
	}
	return true
}

func (s spot) sex(cell string) Sex {
	switch strings.ToLower(cell) {
	case "f", "female":
		return Female
	case "m", "male":
		return Male
	case "", "u", "unknown", "?":
	default:
		s.r.fault(s.at("sex", cell), codeBadSex, "this is not a sex", "write F, M or U")
	}
	return Unsexed
}

func (s spot) origin(cell string) Origin {
	switch strings.ToLower(cell) {
	case "wild":
		return OriginWild
	case "captive":
		return OriginCaptive
	case "", "unknown":
	default:
		s.r.fault(s.at("origin", cell), codeBadOrigin, "this is not an origin", "write wild or captive, or leave the cell blank")
	}
	return OriginUnstated
}

func (s spot) parent(column, cell string) (Parentage, float64) {
	p, missing, err := ParseParentage(cell)
	if err != nil {
		s.r.fault(s.at(column, cell), codeBadParent, "the possible parents cannot be read", err.Error())
	}
	return p, missing
}

// usePlace remembers where an institution's code was first used.
func (r *reader) usePlace(at place) {
	if at.value == "" {
		return
	}
	if _, ok := r.places[at.value]; !ok {
		r.places[at.value] = at
	}
}

// bird reports whether an id of another file is that of a row of the
// studbook, and the bird.
func (s spot) bird(t *table, column, id string) (*Bird, bool) {
	if !s.needed(t, column, id) || !s.r.birds {
		return nil, false
	}
	i, ok := s.r.index[id]
	if !ok || !s.r.colony.Birds[i].Recorded {
		s.r.fault(s.at(column, id), codeUnknownID, "no bird of the studbook has this id", s.r.alike(id, "correct the id, or add the bird to the studbook"))
		return nil, false
	}
	return &s.r.colony.Birds[i], true
}

func (r *reader) readMoves() error {
	rows, t, err := load[moveRow](r, movesFile, nil)
	if t == nil || err != nil {
		return err
	}
	for i, row := range rows {
		s := r.spot(t, i)
		m := Move{ID: row.ID, Date: s.date("date", row.Date, false), From: row.From, To: row.To, Reason: row.Reason, Line: s.line}
		if nobody(row.Date) && t.has("date") {
			r.fault(s.at("date", row.Date), codeMissingValue, "a move needs a date to say where the bird was when", "write what is known of it, as 2019, 201X or [2018..2019]")
		}
		s.needed(t, "to", row.To)
		r.usePlace(s.at("from", row.From))
		r.usePlace(s.at("to", row.To))
		if b, ok := s.bird(t, "id", row.ID); ok {
			switch {
			case b.Hatch.Known() && m.Date.Known() && m.Date.Last < b.Hatch.First:
				r.warn(s.at("date", row.Date), codeMoveOutsideLife, fmt.Sprintf("%q moved before it hatched (%s)", b.ID, b.Hatch.Text), "correct one of the two dates")
			case b.Death.Known() && m.Date.First > b.Death.Last:
				r.warn(s.at("date", row.Date), codeMoveOutsideLife, fmt.Sprintf("%q moved after it died (%s)", b.ID, b.Death.Text), "correct one of the two dates")
			}
		}
		r.colony.Moves = append(r.colony.Moves, m)
	}
	r.checkMoves(t.file)
	return nil
}

func (r *reader) readBonds() error {
	rows, t, err := load[bondRow](r, bondsFile, nil)
	if t == nil || err != nil {
		return err
	}
	open := make(map[string]Bond)
	for i, row := range rows {
		s := r.spot(t, i)
		b := Bond{
			Female: row.Female, Male: row.Male,
			Since: s.date("since", row.Since, false), Until: s.date("until", row.Until, true),
			Nest: row.Nest, EndedBy: row.EndedBy, Line: s.line,
		}
		s.span("until", b.Since, b.Until)
		female, male, ok := s.pair(t, row.Female, row.Male)
		r.colony.Bonds = append(r.colony.Bonds, b)
		if !ok || b.Until.Known() || female.Death.Known() || male.Death.Known() {
			continue
		}
		for _, x := range []struct{ column, id string }{{"female", b.Female}, {"male", b.Male}} {
			if first, twice := open[x.id]; twice {
				r.warn(s.at(x.column, x.id), codeTwoOpenBonds, fmt.Sprintf("%q has an open bond already: %s and %s, line %d", x.id, first.Female, first.Male, first.Line),
					"write in until when the earlier bond ended, or delete the row that is there twice")
				continue
			}
			open[x.id] = b
		}
	}
	return nil
}

// pair checks the female and male of a bond or clutch.
func (s spot) pair(t *table, femaleID, maleID string) (female, male *Bird, ok bool) {
	female, ok1 := s.bird(t, "female", femaleID)
	male, ok2 := s.bird(t, "male", maleID)
	if ok1 && ok2 && femaleID == maleID {
		s.r.fault(s.at("male", maleID), codeSameBird, "a bird cannot be paired with itself", "correct one of the two ids")
		return female, male, false
	}
	if ok1 && female.Sex == Male {
		s.r.warn(s.at("female", femaleID), codeWrongSex, "the studbook has this bird as a male", "correct the sex, or put the birds into the right columns")
	}
	if ok2 && male.Sex == Female {
		s.r.warn(s.at("male", maleID), codeWrongSex, "the studbook has this bird as a female", "correct the sex, or put the birds into the right columns")
	}
	return female, male, ok1 && ok2
}

// span checks that something ends after it begins.
func (s spot) span(column string, since, until Date) {
	if since.Known() && until.Known() && until.Last < since.First {
		s.r.fault(s.at(column, until.Text), codeEndBeforeStart, fmt.Sprintf("it ends before it begins (%s)", since.Text), "correct one of the two dates")
	}
}

func (r *reader) readClutches() error {
	rows, t, err := load[clutchRow](r, clutchesFile, nil)
	if t == nil || err != nil {
		return err
	}
	for i, row := range rows {
		s := r.spot(t, i)
		c := Clutch{
			Female: row.Female, Male: row.Male, Laid: s.date("laid", row.Laid, false),
			Eggs: s.count("eggs", row.Eggs), Fertile: s.count("fertile", row.Fertile),
			Hatched: s.count("hatched", row.Hatched), Fledged: s.count("fledged", row.Fledged),
			Line: s.line,
		}
		most, of := -1, ""
		for _, n := range []struct {
			column string
			count  int
		}{{"eggs", c.Eggs}, {"fertile", c.Fertile}, {"hatched", c.Hatched}, {"fledged", c.Fledged}} {
			if n.count < 0 {
				continue
			}
			if of != "" && n.count > most {
				r.warn(s.at(n.column, fmt.Sprint(n.count)), codeClutchCounts, fmt.Sprintf("there are more %s than %s (%d)", n.column, of, most), "correct one of the two counts")
			}
			most, of = n.count, n.column
		}
		s.pair(t, row.Female, row.Male)
		r.colony.Clutches = append(r.colony.Clutches, c)
	}
	return nil
}

func (r *reader) readHolds() error {
	rows, t, err := load[holdRow](r, holdsFile, nil)
	if t == nil || err != nil {
		return err
	}
	for i, row := range rows {
		s := r.spot(t, i)
		h := Hold{
			ID: row.ID, Since: s.date("since", row.Since, false), Until: s.date("until", row.Until, true),
			Reason: row.Reason, Blocks: s.block(row.Blocks), Note: row.Note, Line: s.line,
		}
		s.span("until", h.Since, h.Until)
		s.bird(t, "id", row.ID)
		if row.Reason == "" && t.has("reason") {
			r.warn(s.at("reason", ""), codeMissingValue, "the hold gives no reason", "say why, in a word or two")
		}
		r.colony.Holds = append(r.colony.Holds, h)
	}
	return nil
}

func (s spot) block(cell string) Block {
	switch strings.ToLower(cell) {
	case "", "both":
	case "breeding":
		return BlocksBreeding
	case "moving":
		return BlocksMoving
	default:
		s.r.fault(s.at("blocks", cell), codeBadBlock, "this is nothing a hold can block", "write breeding, moving or both")
	}
	return BlocksBoth
}

func (r *reader) readInstitutions() error {
	rows, t, err := load[institutionRow](r, institutionsFile, nil)
	if t == nil || err != nil {
		return err
	}
	lines := make(map[string]int)
	for i, row := range rows {
		s := r.spot(t, i)
		in := Institution{
			Code: row.Code, Name: row.Name, Contact: row.Contact, Notes: row.Notes,
			SpacesF: s.count("spaces_f", row.SpacesF), SpacesM: s.count("spaces_m", row.SpacesM),
			QuarantineDays: s.count("quarantine_days", row.QuarantineDays), Line: s.line,
		}
		switch lat, lon := row.Latitude, row.Longitude; {
		case lat != "" && lon != "":
			var ok1, ok2 bool
			in.Latitude, ok1 = s.number("latitude", lat, -90, 90)
			in.Longitude, ok2 = s.number("longitude", lon, -180, 180)
			in.Placed = ok1 && ok2
		case lat != "":
			r.warn(s.at("longitude", ""), codeHalfPlaced, "there is a latitude but no longitude, so distances cannot be given", "fill it in")
		case lon != "":
			r.warn(s.at("latitude", ""), codeHalfPlaced, "there is a longitude but no latitude, so distances cannot be given", "fill it in")
		}
		if !s.needed(t, "code", row.Code) {
			continue
		}
		if first, twice := lines[row.Code]; twice {
			r.fault(s.at("code", row.Code), codeDuplicateID, fmt.Sprintf("the code stands in line %d already", first), "give each institution a code of its own")
			continue
		}
		lines[row.Code] = s.line
		r.colony.Institutions = append(r.colony.Institutions, in)
	}
	if home := r.colony.Programme.Home; home != "" {
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
		r.warn(at, codeUnknownInstitution, fmt.Sprintf("%s has no institution with this code", t.file), "correct the code, or add the institution; it is said once for each code")
	}
	return nil
}

func (r *reader) readFounderKinship() error {
	rows, t, err := load[founderKinshipRow](r, founderKinshipFile, nil)
	if t == nil || err != nil {
		return err
	}
	lines := make(map[[2]string]int)
	self := make(map[string]float64)
	for i, row := range rows {
		s := r.spot(t, i)
		k := FounderKinship{ID1: row.ID1, ID2: row.ID2, Line: s.line}
		ok := s.founder(t, "id1", row.ID1)
		ok = s.founder(t, "id2", row.ID2) && ok
		if s.needed(t, "kinship", row.Kinship) {
			x, readable := s.number("kinship", row.Kinship, -1, 1)
			switch {
			case !readable:
				ok = false
			case x < 0:
				// An estimate from DNA can come out below 0.
				r.warn(s.at("kinship", row.Kinship), codeNegativeKinship, "a kinship below 0 is read as 0", "write 0")
				x = 0
			case row.ID1 == row.ID2 && x < 0.5:
				r.fault(s.at("kinship", row.Kinship), codeOutOfRange, "the kinship of a bird with itself is at least 0.5: (1+F)/2", "write (1+F)/2, with F the bird's inbreeding coefficient")
				ok = false
			}
			k.Kinship = x
		}
		pair := [2]string{min(row.ID1, row.ID2), max(row.ID1, row.ID2)}
		if first, twice := lines[pair]; twice && ok {
			r.fault(s.at("id1", row.ID1), codeDuplicateKinship, fmt.Sprintf("the kinship of %q and %q stands in line %d already", row.ID1, row.ID2, first), "delete one of the two rows")
			continue
		}
		if !ok {
			continue
		}
		lines[pair] = s.line
		if row.ID1 == row.ID2 {
			self[row.ID1] = k.Kinship
		}
		r.colony.FounderKinship = append(r.colony.FounderKinship, k)
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
func (s spot) founder(t *table, column, id string) bool {
	if !s.needed(t, column, id) || !s.r.birds {
		return false
	}
	i, ok := s.r.index[id]
	if !ok {
		s.r.fault(s.at(column, id), codeUnknownID, "no bird of the studbook has this id", s.r.alike(id, "correct the id, or add the bird to the studbook"))
		return false
	}
	if b := &s.r.colony.Birds[i]; !b.Founder() {
		s.r.fault(s.at(column, id), codeNotFounder, "this bird has parents in the studbook, so its kinship follows from theirs", "delete the row, or correct the id")
		return false
	}
	return true
}
