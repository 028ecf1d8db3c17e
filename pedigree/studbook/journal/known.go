package journal

import (
	"fmt"

	"pairwright/pedigree/studbook"
)

// What the files know and whoever writes something down should be told. It may have happened
// all the same, so all but a request that is there already are warnings.

// heldFrom warns of a hold on a bird that forbids what is told on a day.
func (d *draft) heldFrom(field, id string, what studbook.Block, day studbook.Date) {
	if d.colony == nil {
		return
	}
	from := map[studbook.Block]string{studbook.BlocksMoving: "moving", studbook.BlocksBreeding: "breeding"}[what]
	for _, h := range d.colony.Holds {
		if h.ID != id || h.Blocks != studbook.BlocksBoth && h.Blocks != what || h.Since.First > day.Last || h.Ends() <= day.First {
			continue
		}
		why := h.Reason
		if h.Note != "" {
			why += "; " + h.Note
		}
		until := "until further notice"
		if h.Until.Known() {
			until = "until " + h.Until.Text
		}
		d.warn(field, id, codeOnHold, fmt.Sprintf("it is on hold from %s %s: %s", from, until, why),
			"make sure that those who set the hold agree; if it is over, write down its release")
	}
}

// newMate warns of what speaks against a mate for a bird on a day.
func (d *draft) newMate(field, id string, day studbook.Date) {
	d.heldFrom(field, id, studbook.BlocksBreeding, day)
	d.inQuarantine(field, id, day)
}

// inQuarantine warns of a bird that on a day has not been for as long at its place as
// quarantine takes there.
func (d *draft) inQuarantine(field, id string, day studbook.Date) {
	if d.colony == nil {
		return
	}
	at := d.placeOf(id, day)
	days := d.w.Settings().QuarantineDays
	for _, in := range d.colony.Institutions {
		if in.Code == at && in.QuarantineDays >= 0 {
			days = in.QuarantineDays
		}
	}
	for _, m := range d.colony.Moves {
		if m.ID != id || m.To != at || at == "" || !m.Date.Known() || m.Date.First > day.Last {
			continue
		}
		if over := m.Date.Mid() + studbook.Day(days); day.Last < over {
			d.warn(field, id, codeQuarantine, fmt.Sprintf("it came on %s, and %d days of quarantine last until %s", m.Date.Text, days, over),
				"correct the date, or make sure that the veterinarian has let it out of quarantine")
		}
	}
}

// asked refuses a request that is there already, and warns of one for the same bird at the
// same place with another mate; one that was decided on since is not meant. It reports
// whether it refused.
func (d *draft) asked(id, to, partner string) bool {
	if d.colony == nil {
		return false
	}
	for _, q := range d.colony.Requests {
		if q.Bird != id || q.To != to || d.answered(&q) {
			continue
		}
		when := ""
		if q.Date.Known() {
			when = ", of " + q.Date.Text
		}
		if q.Partner == partner {
			d.refuse("bird", id, codeOnRecord, fmt.Sprintf("this request is on record already%s", when), "nothing is to be done; what is decided on it is a decision")
			return true
		}
		whose := "without a mate named"
		if q.Partner != "" {
			whose = fmt.Sprintf("as the mate of %q", q.Partner)
		}
		d.warn("bird", id, codeAskedFor, fmt.Sprintf("it is asked for at %s already%s, %s", to, when, whose), "leave out this request if it is the same one: both count")
	}
	return false
}

// answered reports whether people have agreed to what a request asks for, or declined it, or
// the bird has gone there, since it was made.
func (d *draft) answered(q *studbook.Request) bool {
	since := func(day studbook.Date) bool { return !q.Date.Known() || day.Last >= q.Date.First }
	for _, u := range d.colony.Rulings {
		if u.What == studbook.RulesMove && u.Answer != studbook.Waiting && u.Birds[0] == q.Bird && u.To == q.To && since(u.Date) {
			return true
		}
	}
	for _, m := range d.colony.Moves {
		if m.ID == q.Bird && m.To == q.To && since(m.Date) {
			return true
		}
	}
	return false
}
