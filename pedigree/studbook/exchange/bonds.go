package exchange

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

// couple is a pair, by the numbers of its birds.
type couple struct{ female, male int32 }

// coupleOf says which of two birds is the female, by the sex of either; where that tells
// nothing they are as they are given.
func (im *importer) coupleOf(female, male int32) couple {
	if im.birds[female].sex == studbook.Male || im.birds[male].sex == studbook.Female {
		return couple{male, female}
	}
	return couple{female, male}
}

// seasonOfClutch gives a pair of which nothing but a clutch tells when it was one the year of
// that for its season, so that its clutches are of one bond.
func (im *importer) seasonOfClutch(h *holding) {
	if h.season > 0 || h.since.known() || h.until.known() || !h.clutch.Laid.Known() {
		return
	}
	year := h.clutch.Laid.First.Time().Year()
	if d, ok := im.readDate(sheets.TextCell(strconv.Itoa(year))); ok && d.known() {
		h.since, h.until, h.season, h.seasoned = d, d, year, true
	}
}

// holdNests makes bonds of the pairs that held nests. Where only the season is known,
// seasons that follow each other are one bond, with its clutches if the rows are of
// these, and one of the last season of the
// sheet is taken to go on.
func (im *importer) holdNests() {
	bySeason := make(map[couple][]holding)
	lastOf := make(map[*table]int)
	var order []couple
	var none []unpaired
	for _, h := range im.held {
		if h.at.t.has(colPair) {
			c, why := im.coupleIn(h.pair)
			if why != "" {
				none = leavePair(none, h, why)
				continue
			}
			h.female, h.male = im.birds[c.female].id, im.birds[c.male].id
		}
		f, ok1 := im.oneAtMost(h.female)
		m, ok2 := im.oneAtMost(h.male)
		if !ok1 || !ok2 || f == m {
			im.likely(Decision{Code: "pair_without_rows", Sheet: h.at.t.Name, Line: h.at.line, Value: h.female + " and " + h.male, Taken: "no bond",
				Text: fmt.Sprintf("the pair %q and %q is no bond: both must be birds of the file", h.female, h.male)})
			continue
		}
		c := im.coupleOf(f, m)
		female, male := im.birds[c.female].id, im.birds[c.male].id
		if h.clutched {
			h.clutch.Female, h.clutch.Male = female, male
			im.clutches = append(im.clutches, h.clutch)
			im.seasonOfClutch(&h)
		}
		if h.season > 0 {
			if bySeason[c] == nil {
				order = append(order, c)
			}
			bySeason[c] = append(bySeason[c], h)
			lastOf[h.at.t] = max(lastOf[h.at.t], h.season)
			continue
		}
		im.bonds = append(im.bonds, studbook.Bond{Female: female, Male: male, Since: toDate(h.since), Until: toDate(h.until), Nest: oneLine(h.nest)})
	}
	im.sayUnpaired(none)
	// A season without a row in a book of clutches is one without eggs, and no parting
	// where neither bird had another mate.
	couples := make(map[int32][]couple)
	for _, c := range order {
		couples[c.female], couples[c.male] = append(couples[c.female], c), append(couples[c.male], c)
	}
	parted := func(c couple, from, to int) bool {
		between := func(h holding) bool { return h.season > from && h.season < to }
		return slices.ContainsFunc(slices.Concat(couples[c.female], couples[c.male]), func(other couple) bool {
			return other != c && slices.ContainsFunc(bySeason[other], between)
		})
	}
	for _, c := range order {
		list := bySeason[c]
		slices.SortStableFunc(list, func(a, b holding) int { return cmp.Compare(a.season, b.season) })
		for k := 0; k < len(list); {
			n := k + 1
			for n < len(list) && (list[n].season <= list[n-1].season+1 || list[n].clutched && !parted(c, list[n-1].season, list[n].season)) {
				n++
			}
			first, last := list[k], list[n-1]
			b := studbook.Bond{Female: im.birds[c.female].id, Male: im.birds[c.male].id, Since: toDate(first.since), Until: toDate(last.until), Nest: oneLine(last.nest)}
			ends := lastOf[last.at.t]
			inTime := last.season == ends || last.clutched && last.season == ends-1 || last.seasoned // of a list of clutches, no later one is no parting
			if inTime && im.birds[c.female].fate == alive && im.birds[c.male].fate == alive && !parted(c, last.season-1, ends+1) {
				b.Until = studbook.Date{}
				of := fmt.Sprintf("the pairs of the last season, %d, whose birds both live", ends)
				if last.season < ends {
					of = fmt.Sprintf("the pairs of %d without a clutch in %d, whose birds both live and had no other mate,", last.season, ends)
				}
				im.likely(Decision{Code: "pair_of_last_season", Sheet: last.at.t.Name, Line: last.at.line, Column: "until", Value: strconv.Itoa(last.season), Taken: "still together",
					Text: fmt.Sprintf("%s are taken as still together, as %s and %s", of, b.Female, b.Male)})
			}
			im.bonds = append(im.bonds, b)
			k = n
		}
	}
}

// alone are words for a bird that has no mate.
var alone = wordSet("single|alone|solo|unpaired|not paired|no mate|no partner|without mate|free|widow|widowed|widower|ledig|allein|einzeln|unverpaart|ohne partner|frei|verwitwet|seul|seule|célibataire|non apparié|non appariée|libre|veuf|veuve|" +
	"sola|sin pareja|suelto|suelta|viudo|viuda|sozinho|sozinha|sem par|livre|viúvo|viúva|singolo|singola|spaiato|spaiata|libero|libera|vedovo|vedova|alleen|los|vrij|ongepaard|zonder partner")

// bondMates makes bonds of the mates that the rows of living birds name, from the day
// their first chick hatched, if they have one.
func (im *importer) bondMates() {
	named, by := make(map[int32]int32), make(map[int32]int) // bird -> its mate; by how many a bird is named
	for k, b := range im.birds {
		if b.fate == alive && b.mate.Kind == sheets.Blank {
			im.mateInNotes(b)
		}
		if b.fate != alive || b.mate.Kind == sheets.Blank {
			continue
		}
		m, found := im.mateOf(b)
		if !found {
			im.likely(Decision{Code: "mate_without_row", Sheet: b.mate.t.Name, Line: b.mate.line, Column: colMate.String(), Value: b.mate.Text, Taken: "no bond", of: im.about(b),
				Text: fmt.Sprintf("the mate of %s, %q, is no one bird of the file that could be it: no bond is written", b.id, shorten(b.mate.Text))})
			continue
		}
		if im.birds[m].fate == alive { // else the bond ended with it
			named[int32(k)] = m
			by[m]++
		}
	}
	if len(named) == 0 {
		return
	}
	first := make(map[couple]date)
	for _, b := range im.birds {
		sire, dam := b.parentage[0].candidates, b.parentage[1].candidates
		if len(sire) != 1 || len(dam) != 1 || !b.hatch.known() {
			continue
		}
		c := couple{dam[0].bird, sire[0].bird}
		if old, there := first[c]; !there || b.hatch.first < old.first {
			first[c] = b.hatch
		}
	}
	open := make(map[string]string) // bird -> mate, of the bonds that are written
	for _, x := range im.bonds {
		if x.Until.Text == "" {
			open[x.Female], open[x.Male] = x.Male, x.Female
		}
	}
	for k, b := range im.birds {
		k := int32(k)
		m, does := named[k]
		if !does {
			continue
		}
		other := im.birds[m]
		back, answers := named[m]
		why := ""
		switch {
		case b.sex == other.sex && b.sex != studbook.Unsexed:
			why = "both are of one sex"
		case answers && back != k:
			why = fmt.Sprintf("that one's row names %s", im.birds[back].id)
		case !answers && by[m] > 1:
			why = "other rows name it too"
		case open[b.id] != "" && open[b.id] != other.id || open[other.id] != "" && open[other.id] != b.id:
			why = "a bond with another is written"
		}
		switch {
		case why != "":
			im.likely(Decision{Code: "mates_disagree", Sheet: b.mate.t.Name, Line: b.mate.line, Column: colMate.String(), Value: b.id, Taken: "no bond", of: []int32{k, m},
				Text: fmt.Sprintf("%s and the mate in its row, %q, are taken for no pair: %s", b.id, shorten(b.mate.Text), why)})
		case open[b.id] == other.id:
		default:
			c := im.coupleOf(k, m)
			since := first[c]
			im.bonds = append(im.bonds, studbook.Bond{Female: im.birds[c.female].id, Male: im.birds[c.male].id, Since: toDate(since)})
			open[b.id], open[other.id] = other.id, b.id
		}
	}
}

// mateInNotes takes the mate that a bird's notes name, as "paired with Moss".
func (im *importer) mateInNotes(b *bird) {
	for _, note := range b.notes.list {
		for part := range strings.FieldsFuncSeq(note, func(c rune) bool { return c == ';' || c == ',' }) {
			words := strings.Fields(part)
			for n := 1; n < len(words); n++ {
				if birdNames().columns[headKey(strings.Join(words[:n], " "))] != colMate {
					continue
				}
				mate := written{sheets.TextCell(strings.Trim(strings.Join(words[n:], " "), " .,:")), b.at}
				b.mate = mate
				if m, found := im.mateOf(b); !found || im.birds[m].fate != alive {
					b.mate = written{}
					continue
				}
				im.likely(Decision{Code: "mate_in_notes", Sheet: b.at.t.Name, Line: b.at.line, Column: colMate.String(), Value: "notes", Taken: "a bond", of: im.about(b),
					Text: fmt.Sprintf("the notes of %s name its mate, %q: a bond is written", b.id, mate.Text)})
				return
			}
		}
	}
}

// mateOf finds the bird that another's row names as its mate: by an id, a band, or a
// name, of several that bear it by the one that lives and is of the other sex.
func (im *importer) mateOf(b *bird) (int32, bool) {
	text := strings.TrimSpace(b.mate.Text)
	if m, ok := im.oneAtMost(text); ok {
		return m, im.birds[m] != b
	}
	if rest := afterLabel(text); rest != "" {
		if m, ok := im.oneAtMost(rest); ok {
			return m, im.birds[m] != b
		}
	}
	found := several
	for _, m := range im.bearing(text) {
		other := im.birds[m]
		if other == b || other.fate != alive || b.sex == other.sex && b.sex != studbook.Unsexed {
			continue
		}
		if found != several {
			return 0, false
		}
		found = m
	}
	return found, found != several
}

// ParentsWithoutBond is the decision about living birds whose last chicks are of each other
// and of whom no bond is in the file.
const ParentsWithoutBond = "parents_without_bond"

// bondParents writes the bonds of living birds whose last chicks are of each other,
// from the day the first of these hatched, if the user says that they are pairs; it is
// said either way. It reports whether it wrote any.
func (im *importer) bondParents(c *studbook.Colony) bool {
	d := Decision{Code: ParentsWithoutBond, Column: "bonds", Taken: "no bond", Choice: &Choice{Subject: OfBonds, Taken: im.opt.Mapping.Bonds, May: options(BondsOfParents, Nothing)}}
	last := &c.Birds[c.Unbonded[0]]
	dam, _ := last.Dam.Known()
	sire, _ := last.Sire.Known()
	for _, i := range c.Unbonded {
		for _, p := range [2]studbook.Parentage{c.Birds[i].Sire, c.Birds[i].Dam} {
			id, _ := p.Known()
			if k, there := im.byID[id]; there {
				d.of = append(d.of, k)
			}
		}
	}
	pairs := studbook.Counted(len(c.Unbonded), "pair of living birds", "pairs of living birds")
	d.Text = fmt.Sprintf("%s, as %s and %s, had their last chicks together, and no bond of theirs is in the file: they count as free, and may be given to others", pairs, dam, sire)
	if im.opt.Mapping.Bonds != BondsOfParents {
		im.likely(d)
		im.weigh()
		return false
	}
	first := make(map[[2]string]studbook.Date)
	for k := range c.Birds {
		b := &c.Birds[k]
		s, _ := b.Sire.Known()
		d, _ := b.Dam.Known()
		if old, there := first[[2]string{d, s}]; b.Hatch.Known() && (!there || b.Hatch.First < old.First) {
			first[[2]string{d, s}] = b.Hatch
		}
	}
	for _, i := range c.Unbonded {
		male, _ := c.Birds[i].Sire.Known()
		female, _ := c.Birds[i].Dam.Known()
		im.bonds = append(im.bonds, studbook.Bond{Female: female, Male: male, Since: first[[2]string{female, male}]})
	}
	d.Taken = "a bond since their first chick"
	d.Text = fmt.Sprintf("%s, as %s and %s, had their last chicks together: a bond is written for each, since their first chick", pairs, dam, sire)
	im.likely(d)
	im.weigh()
	return true
}
