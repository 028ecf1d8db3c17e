package exchange

import (
	"cmp"
	"fmt"
	"strings"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

// events reads the sheets with one row an event.
func (im *importer) events() {
	for _, t := range im.tables {
		if t.kind == eventRows {
			im.eventSheet(t)
		}
	}
}

// eventSheet takes in one log of events.
func (im *importer) eventSheet(t *table) {
	dates := im.eventDates(t)
	type happening struct {
		r    sheets.Row
		on   date
		kind eventKind
		bird *bird
	}
	var list []happening
	unknown := make(map[string]int)
	var unknownOrder []string
	for i, r := range t.body {
		at := spot{t, r.Line}
		id := im.idText(t.get(r, colID))
		word := t.get(r, colEvent).Text
		kind, ok := im.eventIn(word)
		switch {
		case key(id) == "" || isNobody(id):
			im.leave(t, r, "the event names no bird")
			continue
		case word == "":
			im.leave(t, r, "it says nothing of what happened")
			continue
		case !ok:
			if unknown[word]++; unknown[word] == 1 {
				unknownOrder = append(unknownOrder, word)
			}
			im.leave(t, r, fmt.Sprintf("the event %q is in no list of words", word))
			continue
		}
		k, there := im.byID[id]
		if !there {
			if j, how := im.alike(id); how {
				k, there = j, true
			}
		}
		if !there && kind == eventNothing {
			im.leave(t, r, "a studbook has no place for it")
			continue
		}
		if there {
			im.report.Joined++
		} else {
			k = im.newBird(id, at)
		}
		list = append(list, happening{r, dates[i], kind, im.birds[k]})
	}
	for _, w := range unknownOrder {
		im.likely(Decision{Code: "event_unknown", Sheet: t.Name, Column: "event", Value: w, Taken: "nothing", Choice: wordChoice("event", w, "nothing"),
			Text: fmt.Sprintf("the event %q (%s) is in no list of words: nothing is made of it", w, studbook.Counted(unknown[w], "row", "rows"))})
	}
	for _, h := range list {
		at := spot{t, h.r.Line}
		get := func(c column) string { return oneLine(t.get(h.r, c).Text) }
		with := im.withOf(t, h.r)
		im.fill(h.bird, &h.bird.name, get(colName), "name", at)
		if o := get(colOrigin); o != "" {
			im.takeOrigin(h.bird, o, at)
		}
		if n := get(colNotes); n != "" {
			h.bird.note(n)
		}
		if c := t.get(h.r, colSex); c.Kind != sheets.Blank {
			h.bird.sexes = append(h.bird.sexes, written{c, at})
		} else if h.kind == eventSexed {
			for _, s := range append([]string{with}, strings.Fields(get(colEvent)+" "+with)...) {
				if _, ok := sexWords().whole(s); ok || len(s) == 1 && strings.ContainsAny(strings.ToLower(s), "mfwvhc") {
					h.bird.sexes = append(h.bird.sexes, written{sheets.TextCell(s), at})
					break
				}
			}
		}
		if h.kind == eventRinged && with != "" && with != h.bird.id {
			im.fill(h.bird, &h.bird.band, with, "band", at)
		}
	}
	for _, h := range list {
		im.happen(t, h.r, h.on, h.kind, h.bird)
	}
}

// withOf is what an event is about besides its bird: the cell beside it, or the
// rest of its words, as in "paired with B12".
func (im *importer) withOf(t *table, r sheets.Row) string {
	if with := oneLine(t.get(r, colEventWith).Text); with != "" {
		return with
	}
	event := t.get(r, colEvent).Text
	if _, whole := eventWords().whole(event); whole {
		return ""
	}
	if _, said := im.saidWord("event", event); said {
		return ""
	}
	fields := strings.Fields(event)
	if len(fields) < 2 {
		return ""
	}
	for fields = fields[1:]; len(fields) > 1 && prepositions()[key(fields[0])]; {
		fields = fields[1:]
	}
	return strings.Trim(strings.Join(fields, " "), " .,:;()")
}

var prepositions = wordSet("with|to|from|of|by|as|at|in|the|mit|an|von|aus|nach|zu|als|avec|de|du|par|chez|con|en|por|como|para|com|da|do|per|met|naar|van|uit|als|off|up|on|out|egg|eggs")

// pairing is an event of two birds, which waits until their sexes are known.
type pairing struct {
	t    *table
	r    sheets.Row
	on   date
	kind eventKind
	bird *bird
	with string
}

// pairs takes in what happened to pairs.
func (im *importer) pairs() {
	open := make(openBonds)
	for _, p := range im.pairings {
		im.pairEvent(p, open)
	}
}

// openBonds are the bonds without an end, as numbers of all bonds, the first begun first: by
// a bird and "", and by a bird and its mate.
type openBonds map[[2]string][]int

// first finds the first bond of a bird, with a mate if one is named, that has no end; -1 if
// there is none.
func (o openBonds) first(all []studbook.Bond, bird, mate string) int {
	of := [2]string{bird, mate}
	for len(o[of]) > 0 && all[o[of][0]].Until.Text != "" {
		o[of] = o[of][1:]
	}
	if len(o[of]) == 0 {
		return -1
	}
	return o[of][0]
}

func (o openBonds) add(number int, b studbook.Bond) {
	for _, of := range [...][2]string{{b.Female, ""}, {b.Male, ""}, {b.Female, b.Male}, {b.Male, b.Female}} {
		o[of] = append(o[of], number)
	}
}

// alike finds a bird by its id written otherwise, before the birds are
// indexed.
func (im *importer) alike(id string) (int32, bool) {
	i, how := im.one(id)
	return i, how != notFound && int(i) < len(im.birds)
}

// eventDates reads the dates of a log. An empty one is that of the row above,
// if no date runs backward.
func (im *importer) eventDates(t *table) []date {
	dates := make([]date, len(t.body))
	last, forward := date{}, true
	for i, r := range t.body {
		c := t.get(r, colEventDate)
		d, ok := im.readDate(c)
		if !ok {
			im.likely(Decision{Code: "unreadable_date", Sheet: t.Name, Line: r.Line, Column: "event_date", Value: c.Text, Taken: "blank",
				Text: fmt.Sprintf("the date %q of an event cannot be read", c.Text)})
		}
		dates[i] = d
		if d.known() {
			forward = forward && (!last.known() || d.last >= last.first)
			last = d
		}
	}
	last = date{}
	for i, r := range t.body {
		switch {
		case dates[i].known():
			last = dates[i]
		case t.get(r, colEventDate).Kind != sheets.Blank:
			last = date{} // something stands there that is no date
		case forward:
			dates[i] = last
		}
	}
	return dates
}

// eventIn returns what an event's word says happened.
func (im *importer) eventIn(s string) (eventKind, bool) {
	if m, ok := im.saidWord("event", s); ok {
		return eventKindNames[m], true
	}
	return eventWords().within(s)
}

// happen takes in one event.
func (im *importer) happen(t *table, r sheets.Row, on date, kind eventKind, b *bird) {
	at := spot{t, r.Line}
	get := func(c column) string { return oneLine(t.get(r, c).Text) }
	with, place := im.withOf(t, r), get(colEventPlace)
	if on.note != "" {
		b.note(on.note)
	}
	switch kind {
	case eventHatched:
		if on.known() {
			im.takeDate(b, &b.hatch, on.in(at), colHatch)
		}
		im.fillParent(b, &b.sire, t.get(r, colSire), colSire, at)
		im.fillParent(b, &b.dam, t.get(r, colDam), colDam, at)
		parents := t.get(r, colParents)
		if parents.Kind == sheets.Blank && with != "" && b.sire.Kind == sheets.Blank && b.dam.Kind == sheets.Blank {
			parents = sheets.TextCell(with)
		}
		im.fillParent(b, &b.parents, parents, colParents, at)
		im.fill(b, &b.nest, get(colNest), "nest", at)
		im.fill(b, &b.group, get(colGroup), "group", at)
		if place != "" {
			b.stays = append(b.stays, stay{at: at, location: place, arrived: b.hatch, fate: alive, fromEvents: true})
		}
	case eventArrived:
		b.stays = append(b.stays, stay{at: at, location: place, from: with, arrived: on, fate: alive, fromEvents: true})
	case eventMoved:
		to := cmp.Or(place, destination(get(colEvent)), with)
		b.stays = append(b.stays, stay{at: at, location: to, arrived: on, fate: alive, fromEvents: true})
	case eventDied:
		if on.known() {
			im.takeDate(b, &b.death, on.in(at), colDeath)
		} else {
			b.deadSome = true
		}
		if with != "" {
			b.note("death: " + with)
		}
	case eventLeft:
		b.stays = append(b.stays, stay{at: at, arrived: on, gone: on, fate: left, reason: strings.TrimSpace(get(colEvent) + " " + with), fromEvents: true})
	case eventPaired, eventParted, eventLaid:
		im.pairings = append(im.pairings, pairing{t, r, on, kind, b, with})
	}
}

// pairEvent takes in what happened to a pair.
func (im *importer) pairEvent(p pairing, bonds openBonds) {
	b := p.bird
	partner, known := im.oneAtMost(p.with)
	mate := ""
	if known && im.birds[partner] != b {
		mate = im.birds[partner].id
	}
	open := bonds.first(im.bonds, b.id, mate)
	var female, male string
	switch {
	case mate != "":
		c := im.coupleOf(im.byID[b.id], partner)
		female, male = im.birds[c.female].id, im.birds[c.male].id
	case open >= 0:
		female, male = im.bonds[open].Female, im.bonds[open].Male
	default:
		im.likely(Decision{Code: "pair_of_one", Sheet: p.t.Name, Line: p.r.Line, Column: "event_with", Value: p.with, Taken: "nothing",
			Text: fmt.Sprintf("the event %q of %s needs a partner that is a bird of the file", p.t.get(p.r, colEvent).Text, b.id)})
		return
	}
	add := func(x studbook.Bond) {
		bonds.add(len(im.bonds), x)
		im.bonds = append(im.bonds, x)
	}
	switch p.kind {
	case eventPaired:
		add(studbook.Bond{Female: female, Male: male, Since: toDate(p.on), Nest: oneLine(p.t.get(p.r, colNest).Text)})
	case eventParted:
		if open >= 0 {
			im.bonds[open].Until = toDate(p.on)
		} else {
			add(studbook.Bond{Female: female, Male: male, Until: toDate(p.on)})
		}
	case eventLaid:
		im.clutches = append(im.clutches, studbook.Clutch{Female: female, Male: male, Laid: toDate(p.on), Eggs: -1, Fertile: -1, Hatched: -1, Fledged: -1})
	}
}
