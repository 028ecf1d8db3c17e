package studbook

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// outlives is for how many days after its last mating a female may lay fertile
// eggs: ten weeks is the longest on record of any bird (turkeys; from memory).
const outlives = 70

// mostEggs is more than any bird lays in one clutch: partridges, which lay the
// most, reach about twenty (from memory).
const mostEggs = 25

// inLife warns of something that is told of a bird, in words as "moved", for a
// day before it hatched or one later than so many days after it died.
func (s spot) inLife(column, code, what string, b *Bird, on Date, after Day) {
	switch {
	case !on.Known():
	case b.Hatch.Known() && on.Last < b.Hatch.First:
		s.r.warn(s.at(column), code, fmt.Sprintf("%q %s before it hatched (%s)", b.ID, what, b.Hatch.Text), "correct one of the two dates, or the id")
	case b.Death.Known() && on.First > b.Death.Last+after:
		s.r.warn(s.at(column), code, fmt.Sprintf("%q %s after it died (%s)", b.ID, what, b.Death.Text), "correct one of the two dates, or the id")
	}
}

// rowsOnce notices rows that say the same again.
type rowsOnce map[string]int

// again warns if an earlier row has the same in all of the columns.
func (seen rowsOnce) again(s spot, what string, columns ...string) {
	cells := make([]string, len(columns))
	for k, c := range columns {
		cells[k] = s.cell(c)
	}
	key := strings.Join(cells, "\x00")
	if first, twice := seen[key]; twice {
		s.r.warn(s.at(columns[0]), codeRepeatedRow, fmt.Sprintf("%s stands in line %d already", what, first), "delete one of the two rows, or correct it")
		return
	}
	seen[key] = s.line
}

// checkBond checks a bond against the lives of its birds.
func (s spot) checkBond(b *Bond, female, male *Bird) {
	nest := Day(s.r.colony.Settings.RearingDays)
	for _, bird := range []*Bird{female, male} {
		s.inLife("since", codeBondOutsideLife, "was paired", bird, b.Since, 0)
		if age := b.Since.Last - bird.Hatch.First; b.Since.Known() && bird.Hatch.Known() && age < nest && b.Since.Last >= bird.Hatch.First {
			s.r.warn(s.at("since"), codeBondOfNestling, fmt.Sprintf("%q was at most %s old then and still in the nest (it hatched %s)", bird.ID, times(int(age), "day"), bird.Hatch.Text),
				"correct one of the two dates, or the id")
		}
	}
	switch {
	case b.Until.Known() && strings.EqualFold(b.EndedBy, "death") && !female.Death.Known() && !male.Death.Known() && female.Recorded && male.Recorded:
		s.r.warn(s.at("ended_by"), codeEndedByDeath, "it ended by a death, and neither of the two is dead in the studbook", "write the death into the studbook, or correct what ended the bond")
	case b.Until.Known() || female.Death.Known() || male.Death.Known():
	case s.cell("until") != "":
		s.endUnknown("bond")
	case b.EndedBy != "":
		s.r.warn(s.at("ended_by"), codeEndWithoutDay, "it says what ended the bond, but until is blank, so the bond counts as one that lasts",
			"write in until what is known of the day, as 2019 or 201X, or clear ended_by")
	}
}

// endUnknown warns of an end of which nothing is known.
func (s spot) endUnknown(of string) {
	s.r.warn(s.at("until"), codeEndWithoutDay, fmt.Sprintf("it says nothing of a day, so the %s counts as one that lasts", of),
		"write what is known of the day, as 2019 or 201X, or leave it blank while it lasts")
}

// checkClutch checks a clutch against the lives of its birds, and its eggs
// against what birds lay.
func (s spot) checkClutch(c *Clutch, female, male *Bird) {
	s.inLife("laid", codeClutchOutsideLife, "laid", female, c.Laid, 0)
	s.inLife("laid", codeClutchOutsideLife, "had a clutch", male, c.Laid, outlives)
	for k, b := range []*Bird{male, female} {
		oldest := float64(c.Laid.Last-b.Hatch.First) / DaysPerYear
		if first := s.r.colony.Settings.firstAges()[k]; c.Laid.Known() && b.Hatch.Known() && oldest >= 0 && oldest < first-aDay {
			s.r.warn(s.at("laid"), codeParentTooYoung, fmt.Sprintf("%q was under %s old then (it hatched %s), below the breeding age of %g", b.ID, age(c.Laid.Last-b.Hatch.First+aMonth), b.Hatch.Text, first),
				"correct one of the two dates, or the id, or set [breeding_age] in programme.toml")
		}
	}
	set, day := &s.r.colony.Settings, s.r.colony.FilesDay
	for _, x := range []struct {
		column, done  string
		chicks, takes int
	}{{"hatched", "hatched", c.Hatched, set.IncubationDays}, {"fledged", "fledged", c.Fledged, set.IncubationDays + set.RearingDays}} {
		if gone := int(day - c.Laid.First); x.chicks > 0 && day != 0 && c.Laid.Known() && 2*gone < x.takes { // half of it no bird undercuts
			s.r.warn(s.at(x.column), codeEarlyOutcome, fmt.Sprintf("%s had %s at most %s after the first egg, and that takes %s or so", times(x.chicks, "chick"), x.done, times(max(0, gone), "day"), times(x.takes, "day")),
				"correct the count or the day of the first egg, or bring current_to up to date")
			break
		}
	}
	if c.Eggs > mostEggs {
		s.r.warn(s.at("eggs"), codeManyEggs, fmt.Sprintf("no bird lays more than %d eggs in one clutch", mostEggs), "correct the count")
	}
}

// checkMoves follows each bird from move to move.
func (r *reader) checkMoves(file string) {
	moves := slices.Clone(r.colony.Moves)
	slices.SortStableFunc(moves, func(a, b Move) int { return cmp.Compare(a.Date.Mid(), b.Date.Mid()) })
	last := make(map[string]Move)
	undated := make(map[string]bool) // birds of a move that may have been any of theirs
	again := gathered{code: codeMoveFromOther, help: "write in from where it came from, or add the move by which it had left",
		all: "%s moves bring a bird from outside that was in the programme by the move before"}
	for _, m := range moves {
		if !m.Date.Known() {
			undated[m.ID] = true
			continue
		}
		if m.From == m.To && m.From != "" {
			r.warn(place{file, m.Line, "to", m.To}, codeMoveNowhere, fmt.Sprintf("%q left %s and came to the same place", m.ID, m.From), "correct one of the two, or delete the row")
		}
		before, ok := last[m.ID]
		switch {
		case !ok:
		case m.Date.Exact() && m.Date.Mid() == before.Date.Mid() && before.Date.Exact():
			if m.From == before.From && m.To == before.To {
				r.warn(place{file, m.Line, "id", m.ID}, codeRepeatedRow, fmt.Sprintf("the move stands in line %d already", before.Line), "delete one of the two rows, or correct it")
				break
			}
			r.warn(place{file, m.Line, "date", m.Date.Text}, codeTwoMovesADay, fmt.Sprintf("%q moved on that day already (line %d); the rows are taken in their order, so it ended at %s", m.ID, before.Line, cmp.Or(m.To, "a place outside the programme")),
				"correct one of the two dates, or make one row of the two")
		case m.From == "" && before.To != "" && m.Date.First > before.Date.Last:
			again.add(place{file, m.Line, "from", ""}, fmt.Sprintf("%q is brought from outside, but by its move of %s (line %d) it was in the programme, at %s", m.ID, before.Date.Text, before.Line, before.To))
		case m.From == "" || m.From == before.To:
		case before.To == "":
			r.warn(place{file, m.Line, "from", m.From}, codeMoveFromOther, fmt.Sprintf("%q was not there: by its move of %s (line %d) it had left the programme", m.ID, before.Date.Text, before.Line),
				"leave from blank if it came back from outside, or correct one of the two moves")
		default:
			r.warn(place{file, m.Line, "from", m.From}, codeMoveFromOther, fmt.Sprintf("%q was not there: its move of %s (line %d) took it to %s", m.ID, before.Date.Text, before.Line, before.To),
				"correct one of the two moves, or add the one between them")
		}
		last[m.ID] = m
	}
	r.tell(again)
	if !r.colony.HasLocation {
		return
	}
	elsewhere := gathered{code: codeLocationUnmoved, help: "correct the location, or add the move that is missing",
		all: "%s birds are not where their last move took them; the moves are used"}
	for i := range r.colony.Birds {
		b := &r.colony.Birds[i]
		m, moved := last[b.ID]
		if b.Death.Known() && m.Date.First > b.Death.Last {
			continue // which is another fault
		}
		if moved && !undated[b.ID] && m.To != "" && b.Location != "" && b.Location != m.To {
			elsewhere.add(place{r.labels[studbookFile], b.Line, "location", b.Location}, fmt.Sprintf("the last move of %q took it to %s (%s line %d), and that is used", b.ID, m.To, file, m.Line))
		}
	}
	r.tell(elsewhere)
}

// gathered are findings of one code that are told one by one where they are
// few, and in one where they are many: what is so of a whole file is one fault.
type gathered struct {
	code, help string
	all        string // what is said of many, with their number
	at         []place
	messages   []string
}

func (g *gathered) add(at place, message string) {
	g.at = append(g.at, at)
	g.messages = append(g.messages, message)
}

// fewest is how many findings of one kind are told one by one.
const fewest = 10

// tell warns of gathered findings.
func (r *reader) tell(g gathered) {
	g.each(func(at place, message string) { r.warn(at, g.code, message, g.help) })
}

// each calls tell for a few findings one by one, and for more with what is said of all.
func (g *gathered) each(tell func(at place, message string)) {
	if len(g.at) <= fewest {
		for k, at := range g.at {
			tell(at, g.messages[k])
		}
		return
	}
	slices.SortStableFunc(g.at, func(a, b place) int { return cmp.Compare(a.line, b.line) })
	lines := make([]string, len(g.at))
	for k, at := range g.at {
		lines[k] = fmt.Sprint(at.line)
	}
	tell(place{g.at[0].file, g.at[0].line, g.at[0].column, ""}, fmt.Sprintf(g.all, Number(len(g.at)))+" (lines "+SomeOf(lines, 5)+")")
}

// checkLives looks at who lives where on the day of the files.
func (r *reader) checkLives() {
	c := r.colony
	c.lives, c.kin, c.index = c.layOutLives(r.index, r.kin, r.elderFirst), r.kin, r.index
	lives := c.lives
	signed, unsigned := 0, 0 // birds that came in without a dated arrival
	for i := range lives {
		switch l := &lives[i]; {
		case !l.CameIn || l.Arrived || !c.Birds[i].Recorded:
		case l.Seen != 0:
			signed++
		default:
			unsigned++
		}
	}
	if signed > 0 {
		r.note("%s came into the programme on no recorded day (a move with a blank from): counted as living from the hatch, and for survival from the first chick or other record", times(signed, "bird"))
	}
	if unsigned > 0 {
		r.note("%s came into the programme on no recorded day and left no other sign of when: counted as living from the hatch, and left out of survival", times(unsigned, "bird"))
	}
	r.together(
		func(part *reader) { part.checkPlaces(lives) },
		func(part *reader) { part.checkParentsMet(lives) },
		func(part *reader) { part.checkClutchesMet(lives) },
		func(part *reader) { part.checkClutchesFollow(); part.checkFledged() },
		func(part *reader) { part.checkParentsBond() },
		func(part *reader) { part.checkDays() },
	)
}

// checkPlaces checks that mates live at one place, and that every bird lives at
// some.
func (r *reader) checkPlaces(lives []Life) {
	c := r.colony
	day := cmp.Or(c.FilesDay, Forever-1)
	where := func(id string) (string, bool) {
		if i, ok := r.index.find(id); ok {
			return lives[i].On(day)
		}
		return "", false
	}
	for _, b := range c.Bonds {
		if b.Until.OnOrBefore(day) {
			continue
		}
		f, ok1 := where(b.Female)
		m, ok2 := where(b.Male)
		if ok1 && ok2 && f != m {
			r.warn(place{r.labels[bondsFile], b.Line, "until", ""}, codeBondApart, fmt.Sprintf("the bond has no end, but %q lives at %s and %q at %s; it counts as none", b.Female, cmp.Or(f, "no known place"), b.Male, cmp.Or(m, "no known place")),
				"write in until when it ended, or correct a move")
		}
	}
	if !c.HasLocation {
		return
	}
	nowhere := gathered{code: codeNoPlace, help: "write the code of the institution; if it left the programme, add a move with a blank to; if it died, its death_date",
		all: "%s living birds have no location: they count for the programme and for no colony"}
	for i := range c.Birds {
		b := &c.Birds[i]
		if at, there := lives[i].On(day); there && at == "" && b.Recorded {
			nowhere.add(place{r.labels[studbookFile], b.Line, "location", ""}, fmt.Sprintf("%q lives and no location is given: it counts for the programme and for no colony", b.ID))
		}
	}
	if len(nowhere.at) < r.recorded() { // else nobody's place is known, which is no fault of a bird
		r.tell(nowhere)
	}
}

// recorded counts the rows of the studbook.
func (r *reader) recorded() int {
	n := 0
	for i := range r.colony.Birds {
		if r.colony.Birds[i].Recorded {
			n++
		}
	}
	return n
}

// aYear is what a time may be off where its dates are known in part.
const aYear = 366

// met reports whether two birds can have been at one place between two days.
func met(a, b *Life, first, last Day) bool {
	if len(a.Stays) == 0 || len(b.Stays) == 0 {
		return true // no row: nobody knows
	}
	for _, x := range a.Stays {
		for _, y := range b.Stays {
			if (x.Place == "" || y.Place == "" || x.Place == y.Place) && max(first, x.From-aYear, y.From-aYear) < min(last, x.To, y.To) {
				return true
			}
		}
	}
	return false
}

// checkClutchesMet reports clutches of two birds that lived far from each other, once
// for each pair. It takes moves on record to tell.
func (r *reader) checkClutchesMet(lives []Life) {
	c := r.colony
	if !c.HasLocation || r.labels[movesFile] == "" {
		return
	}
	type couple struct {
		first    *Clutch
		clutches int
	}
	var apart []couple
	told := make(map[[2]int]int) // female and male -> where in apart
	for i := range c.Clutches {
		l := &c.Clutches[i]
		f, ok1 := r.index.find(l.Female)
		m, ok2 := r.index.find(l.Male)
		if !ok1 || !ok2 || !l.Laid.Known() || met(&lives[f], &lives[m], l.Laid.First-aYear, l.Laid.Last+1) {
			continue
		}
		k, again := told[[2]int{f, m}]
		if !again {
			k, apart = len(apart), append(apart, couple{first: l})
			told[[2]int{f, m}] = k
		}
		apart[k].clutches++
	}
	found := gathered{code: codeClutchApart, help: "correct the date or an id, or add the move that is missing",
		all: "%s pairs had clutches while they lived at two places"}
	for _, x := range apart {
		text := fmt.Sprintf("%q and %q did not live at one place then", x.first.Female, x.first.Male)
		if x.clutches > 1 {
			text = fmt.Sprintf("%q and %q, who had %s from then on, did not live at one place", x.first.Female, x.first.Male, Counted(x.clutches, "clutch", "clutches"))
		}
		found.add(place{r.labels[clutchesFile], x.first.Line, "laid", x.first.Laid.Text}, text)
	}
	r.tell(found)
}

// checkParentsMet reports parents that never were at one place, once for each
// pair, and those that had not been for a year when a chick of theirs hatched. It takes
// moves on record to tell.
func (r *reader) checkParentsMet(lives []Life) {
	c := r.colony
	if !c.HasLocation || r.labels[movesFile] == "" {
		return
	}
	type family struct {
		first, chicks int
		sire, dam     int32
	}
	var apart []family
	then := gathered{code: codeParentsApart, help: "correct a parent or the hatch date, or add the move that is missing",
		all: "the sires and dams of %s chicks lived at two places in the year before the hatch"}
	told := make(map[[2]int32]int) // sire and dam -> where in apart, from 1; 0 where they met
	for i := range c.Birds {
		_, ok1 := c.Birds[i].Sire.Known()
		_, ok2 := c.Birds[i].Dam.Known()
		if !ok1 || !ok2 {
			continue
		}
		of := r.kin.of(i)
		pair := [2]int32{of[0].parent, of[1].parent}
		k, asked := told[pair]
		if !asked && !met(&lives[pair[0]], &lives[pair[1]], 0, Forever) {
			apart = append(apart, family{first: i, sire: pair[0], dam: pair[1]})
			k = len(apart)
		}
		if told[pair] = k; k > 0 {
			apart[k-1].chicks++
		} else if b := &c.Birds[i]; b.Hatch.Known() && inside(lives, pair, b.Hatch.First-Day(c.Settings.IncubationDays)) && !met(&lives[pair[0]], &lives[pair[1]], b.Hatch.First-aYear, b.Hatch.Last+1) {
			then.add(place{r.labels[studbookFile], b.Line, "sire", c.Birds[pair[0]].ID}, fmt.Sprintf("the sire of %q and its dam %q did not live at one place in the year before it hatched", b.ID, c.Birds[pair[1]].ID))
		}
	}
	found := gathered{code: codeParentsApart, help: "correct a parent, or add the move that is missing",
		all: "the sires and dams of %s families were never at one place"}
	for _, f := range apart {
		b := &c.Birds[f.first]
		found.add(place{r.labels[studbookFile], b.Line, "sire", c.Birds[f.sire].ID}, fmt.Sprintf("the sire of %q and its dam %q, who have %s, were never at one place", b.ID, c.Birds[f.dam].ID, times(f.chicks, "chick")))
	}
	r.tell(found)
	r.tell(then)
}

// inside reports whether two birds were both in the programme on a day: of who is not,
// nobody knows whom it meets.
func inside(lives []Life, pair [2]int32, day Day) bool {
	_, one := lives[pair[0]].On(day)
	_, other := lives[pair[1]].On(day)
	return one && other
}

// checkFledged reports clutches of which more chicks fledged than the studbook has: every
// figure leaves those out. A chick of unknown hatch may be of any clutch of its parents.
func (r *reader) checkFledged() {
	c := r.colony
	chicks := make(map[[2]int32][]int32) // of the sires and dams that had a clutch with chicks
	for i := range c.Clutches {
		l := &c.Clutches[i]
		f, ok1 := r.index.find(l.Female)
		m, ok2 := r.index.find(l.Male)
		if ok1 && ok2 && l.Fledged > 0 && l.Laid.Known() {
			chicks[[2]int32{int32(m), int32(f)}] = nil
		}
	}
	if len(chicks) == 0 {
		return
	}
	for i := range c.Birds {
		of := r.kin.of(i)
		for _, sire := range of {
			for _, dam := range of {
				pair := [2]int32{sire.parent, dam.parent}
				if _, asked := chicks[pair]; asked && sire.side == 0 && dam.side == 1 {
					chicks[pair] = append(chicks[pair], int32(i))
				}
			}
		}
	}
	found := gathered{code: codeFledgedWithoutRow, help: "add the chicks to the studbook, or correct the count or the parents",
		all: "of %s clutches more chicks fledged than the studbook has of the pair from then"}
	for i := range c.Clutches {
		l := &c.Clutches[i]
		f, _ := r.index.find(l.Female)
		m, _ := r.index.find(l.Male)
		of, asked := chicks[[2]int32{int32(m), int32(f)}]
		if !asked || l.Fledged <= 0 || !l.Laid.Known() {
			continue
		}
		n, last := 0, l.Laid.Last+Day(2*c.Settings.IncubationDays)+aMonth
		for _, k := range of {
			if h := c.Birds[k].Hatch; !h.Known() || h.Last >= l.Laid.First && h.First <= last {
				n++
			}
		}
		if n < l.Fledged {
			found.add(place{r.labels[clutchesFile], l.Line, "fledged", fmt.Sprint(l.Fledged)}, fmt.Sprintf("the studbook has %s of %q and %q from then", times(n, "chick"), l.Female, l.Male))
		}
	}
	r.tell(found)
}

// oneClutch is up to how many days apart two first eggs are likely of one clutch (common
// practice, no source).
const oneClutch = 10

// checkClutchesFollow reports clutches of one female that were begun within days.
func (r *reader) checkClutchesFollow() {
	c := r.colony
	last := make(map[string]*Clutch)
	order := make([]*Clutch, 0, len(c.Clutches))
	for i := range c.Clutches {
		if c.Clutches[i].Laid.Exact() {
			order = append(order, &c.Clutches[i])
		}
	}
	slices.SortStableFunc(order, func(a, b *Clutch) int { return cmp.Compare(a.Laid.First, b.Laid.First) })
	for _, l := range order {
		if before := last[l.Female]; before != nil && l.Laid.First > before.Laid.First && l.Laid.First-before.Laid.First <= oneClutch && !before.Replaced {
			r.warn(place{r.labels[clutchesFile], l.Line, "laid", l.Laid.Text}, codeClutchesClose, fmt.Sprintf("%q began a clutch on %s already (line %d)", l.Female, before.Laid.First, before.Line),
				"a later egg belongs to the same clutch: make one row of the two with all eggs, or correct a date or an id")
		}
		last[l.Female] = l
	}
}

// pairYears is how long after their last chick two birds may still be a pair that
// nobody has written down (common practice, no source).
const pairYears = 10

// checkParentsBond tells of birds that seem to be pairs on the day of the files and of
// whom no bond is on record. An answer counts them as free and may give them to others.
func (r *reader) checkParentsBond() {
	c := r.colony
	c.Unbonded = c.seemPaired(cmp.Or(c.FilesDay, Forever-1))
	r.tell(c.withoutBond(c.Unbonded))
}

// UnbondedOn returns the last chicks, by their place in Birds, of birds that seem to be
// pairs on a day: both live at one place then, they are in no bond and were in none that had
// begun, and the last chick of each that had hatched is one of the other.
func (c *Colony) UnbondedOn(day Day) []int {
	if day == c.FilesDay {
		return c.Unbonded
	}
	return c.seemPaired(day)
}

func (c *Colony) seemPaired(day Day) (chicks []int) {
	lives, kin, index := c.Lives(), c.lineage(), c.register()
	const none, out = -1, -2            // it has no chick; it does not live, or is in a bond or was in one that ended
	last := make([]int32, len(c.Birds)) // the last chick of each bird
	inRanges(len(last), func(i int) {
		last[i] = out
		if _, there := lives[i].On(day); there {
			last[i] = none
		}
	})
	for _, b := range c.Bonds {
		if b.Since.Known() && !b.Since.OnOrBefore(day) {
			continue
		}
		for _, id := range [2]string{b.Female, b.Male} {
			if i, ok := index.find(id); ok {
				last[i] = out
			}
		}
	}
	later := func(a, b *Bird) bool { // of one day, that with the later id, in whatever order the rows are
		return cmp.Or(cmp.Compare(a.Hatch.Mid(), b.Hatch.Mid()), strings.Compare(a.ID, b.ID)) > 0
	}
	for _, l := range kin.links {
		if lives[l.chick].Begin > day {
			continue
		}
		if at := last[l.parent]; at == none || at >= 0 && later(&c.Birds[l.chick], &c.Birds[at]) {
			last[l.parent] = l.chick
		}
	}
	for i := range c.Birds {
		of := kin.of(i)
		if len(of) != 2 || last[of[0].parent] != int32(i) || last[of[1].parent] != int32(i) {
			continue
		}
		b, sire, dam := &c.Birds[i], of[0].parent, of[1].parent
		_, ok1 := b.Sire.Known()
		_, ok2 := b.Dam.Known()
		if !ok1 || !ok2 || float64(day-b.Hatch.Mid()) > pairYears*DaysPerYear {
			continue
		}
		at, _ := lives[sire].On(day)
		if there, _ := lives[dam].On(day); there == at {
			chicks = append(chicks, i)
		}
	}
	return chicks
}

// withoutBond is what is said of birds that seem to be pairs, by their last chicks.
func (c *Colony) withoutBond(chicks []int) gathered {
	found := gathered{code: CodeParentsUnbonded, help: "if they are a pair, write their bond down; else write in bonds.csv until when it was one",
		all: "%s pairs of living birds had their last chicks together and no bond of theirs is on record: they count as free, and may be given to others"}
	for _, i := range chicks {
		b := &c.Birds[i]
		dam, _ := b.Dam.Known()
		sire, _ := b.Sire.Known()
		found.add(place{c.Files[0], b.Line, "dam", dam}, fmt.Sprintf("%q and %q, the parents of %q, seem to be a pair and no bond of theirs is on record: they count as free, and may be given to others", dam, sire, b.ID))
	}
	return found
}
