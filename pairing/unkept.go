package pairing

import (
	"slices"

	"pairwright/pedigree/studbook"
)

// Why what people agreed on has not come about; see Unkept.
const (
	Lapsed    Code = "lapsed"     // Date: the last day on which it held
	MissedDay Code = "missed_day" // Date: the last day on which the bird could go when it was agreed; From, To
	PlaceFull Code = "place_full" // To has no free place for Birds
)

// Unkept is something that people agreed on, that nobody has said another word about since,
// and that has not come about: it has lapsed, the day for it has gone by, or it cannot be
// carried out any more. It is to be renewed or cancelled, with all who agreed on it.
type Unkept struct {
	Ruling *Ruling
	Why    Reason
}

// Places returns the institutions that an agreement concerns: where its birds live, and
// where one of them was to go.
func (x *Unkept) Places(p *Programme) (at []string) {
	for _, b := range x.Ruling.Birds {
		at = append(at, p.Book.Birds[b].Location)
	}
	at = append(at, x.Ruling.To)
	at = slices.DeleteFunc(at, func(code string) bool { return code == "" })
	slices.Sort(at)
	return slices.Compact(at)
}

// Unkept returns what people agreed on in vain, by day, the last first. What has lapsed is
// told of for as long as it held.
func (d *Decision) Unkept() []Unkept { return d.unkept() }

func (d *Decision) findUnkept() (out []Unkept) {
	p := d.p
	inForce := map[*studbook.Ruling]*Ruling{}
	for k := range d.rulings.all {
		w := &d.rulings.all[k]
		inForce[w.Ruling] = w
	}
	for _, w := range p.agreements() {
		if p.wordSince(&w) {
			continue
		}
		if held := inForce[w.Ruling]; held != nil {
			if why, is := d.vain(held); is {
				out = append(out, Unkept{held, why})
			}
			continue
		}
		last := p.lastDay(w.Ruling)
		gone := slices.ContainsFunc(w.Birds, func(b int) bool { return !p.Book.Alive(b) })
		if p.Book.AsOf > last && p.Book.AsOf <= last+yearDays && !gone && !d.done(&w) {
			out = append(out, Unkept{&w, Reason{Code: Lapsed, Birds: p.birds(w.Birds...), Date: last.Date()}})
		}
	}
	return out
}

// UnkeptOf returns what of Unkept is about a bird.
func (d *Decision) UnkeptOf(b int) (out []Unkept) {
	for _, x := range d.Unkept() {
		if slices.Contains(x.Ruling.Birds, b) {
			out = append(out, x)
		}
	}
	return out
}

// vain returns why an agreement in force does not come about; is is false of one that may.
func (d *Decision) vain(w *Ruling) (why Reason, is bool) {
	p := d.p
	switch {
	case w.Standing == RulingStopped && !w.Why.Is(Overruled, OffSeason, OnNest):
		return w.Why, true
	case w.Standing != RulingFixed:
		return why, false
	}
	m, moves := d.rulings.sent[w.Birds[0]]
	if len(w.Birds) > 1 {
		if move, apart := d.rulings.moves[d.pairOf(w.Birds[0], w.Birds[1])]; apart {
			m, moves = move, true
		}
	}
	if !moves {
		return why, false
	}
	about := Reason{Birds: p.birds(m.Bird), From: m.From, To: m.To}
	if p.FreePlaces(m.To, p.Book.Birds[m.Bird].Sex) == 0 {
		about.Code = PlaceFull
		return about, true
	}
	if last := p.lastToLeave(m, w.Date.Mid()); last != 0 && last < p.Book.AsOf {
		about.Code, about.Date = MissedDay, last.Date()
		return about, true
	}
	return why, false
}

// lastToLeave returns the last of the first days on which a bird could make a move that was
// agreed on on a day; 0 where there were none.
func (p *Programme) lastToLeave(m PlannedMove, agreed studbook.Day) studbook.Day {
	start := agreed
	if abroad, weeks := p.Border(m.From, m.To); abroad && weeks > 0 {
		start += studbook.Day(7 * weeks)
	}
	quarantine, _ := p.Quarantine(m.To)
	_, last := openDays(start, p.closedMonths(m.From, m.To), p.pairingSeason(), quarantine)
	return last
}

// done reports whether an agreement has come about.
func (d *Decision) done(w *Ruling) bool {
	switch w.What {
	case studbook.RulesMove:
		return d.p.Book.Birds[w.Birds[0]].Location == w.To || d.carriedOut(w)
	case studbook.RulesPart:
		return !d.areMates(w)
	}
	return d.areMates(w) || d.carriedOut(w)
}

// agreements are the moves, bonds and partings that people agreed on up to today, by day, the
// last first.
func (p *Programme) agreements() (out []Ruling) {
	rulings := p.Book.Rulings
	for k := range rulings {
		u := &rulings[k]
		if u.Answer == studbook.Agreed && u.What != studbook.RulesHatch {
			out = append(out, p.rulingOf(u))
		}
	}
	slices.SortStableFunc(out, func(a, b Ruling) int { return int(b.Date.Mid() - a.Date.Mid()) })
	return out
}

// wordSince reports whether people have said anything later of what an agreement is about: of
// a move anything of that bird's moves or of its mates, else anything of the two.
func (p *Programme) wordSince(w *Ruling) bool {
	for k := range p.Book.Rulings {
		u := &p.Book.Rulings[k]
		later := u.Date.Mid() > w.Date.Mid() || u.Date.Mid() == w.Date.Mid() && u.Line > w.Ruling.Line
		if u == w.Ruling || !later || u.What == studbook.RulesHatch {
			continue
		}
		about := 0
		for _, id := range w.Ruling.Birds {
			if slices.Contains(u.Birds, id) {
				about++
			}
		}
		if w.What == studbook.RulesMove && slices.Contains(u.Birds, w.Ruling.Birds[0]) || about == len(w.Ruling.Birds) {
			return true
		}
	}
	return false
}
