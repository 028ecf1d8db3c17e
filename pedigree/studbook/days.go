package studbook

import (
	"cmp"
	"fmt"
	"slices"
)

// longestLife is an age in years that no bird is known to have reached where
// programme.toml sets none (large parrots come near it; from memory).
const longestLife = 90

// oldestAge is the age in years above which a bird is not believed to live.
func (p *Settings) oldestAge() float64 { return cmp.Or(p.OldestAge, longestLife) }

// quietYears is for how long a living colony may leave no record: longer, and
// the deaths of that time are not on file.
const quietYears = 2

// checkDays checks the day of the files: against today, against the records,
// of which later ones are left out of every answer, and the ages on that day.
func (r *reader) checkDays() {
	c := r.colony
	current := c.Settings.CurrentTo
	c.currentTo = r.settingPlace("current_to", current.String())
	if r.opt.Today != 0 && current > r.opt.Today {
		r.warn(c.currentTo, codeFutureDate, "the files cannot have been brought up to a day in the future", "write the day on which they were last brought up to date")
	}
	later, last := 0, Date{}
	c.dated(func(_ string, on Date) {
		if current != 0 && on.First > current {
			later++
			if on.First > last.First {
				last = on
			}
		}
	})
	if later > 0 {
		r.warn(c.currentTo, codeAfterFilesDay, fmt.Sprintf("%s of later days on file, the last of %s: answers for the day of current_to leave them out", times(later, "record"), last.Text),
			"write the day on which the files were last brought up to date, or correct the dates")
	}
	if c.FilesDay != 0 {
		for _, f := range c.tooOld(c.FilesDay, 0) {
			r.find(f.Severity, place{f.File, f.Line, f.Column, f.Value}, f.Code, f.Message, f.Help)
		}
	}
}

// dated gives note every bird and day of which any file tells.
func (c *Colony) dated(note func(id string, on Date)) {
	known := func(id string, on Date) {
		if on.Known() && on.Text != unknownDay {
			note(id, on)
		}
	}
	c.records(known)
	for i := range c.Birds {
		b := &c.Birds[i]
		known(b.ID, b.Hatch)
		known(b.ID, b.Death)
	}
}

// tooOld reports the birds that would be older on a day than birds get, but for
// those that were so on an earlier day.
func (c *Colony) tooOld(day, earlier Day) []Finding {
	var found []Finding
	oldest := c.Settings.oldestAge()
	for i := range c.Birds {
		b := &c.Birds[i]
		if !b.Recorded || b.Death.Known() || !b.Hatch.Known() {
			continue
		}
		old := func(on Day) bool { return float64(on-b.Hatch.Last)/DaysPerYear > oldest }
		if old(day) && !(earlier != 0 && old(earlier)) {
			found = append(found, Finding{
				File: c.Files[0], Line: b.Line, Column: "hatch_date", Value: b.Hatch.Text, Code: codeOlderThanRecord,
				Message: fmt.Sprintf("%q would be over %s old on %s, above the greatest age of %g", b.ID, age(day-b.Hatch.Last), day, oldest),
				Help:    "write in death_date what is known of its death, or correct the hatch date",
			})
		}
	}
	return found
}

// WarningsOn returns Warnings as they are on a day that is asked about: who seems to be a
// pair then; and besides, that the records end long before it, so that the deaths of that
// time are not on file, and who would be older than birds get.
func (c *Colony) WarningsOn(day Day) []Finding {
	var last Date
	c.dated(func(_ string, on Date) {
		if on.First > last.First && on.First <= day {
			last = on
		}
	})
	found := slices.Clone(c.Warnings)
	if day != cmp.Or(c.FilesDay, Forever-1) {
		found = slices.DeleteFunc(found, func(f Finding) bool { return f.Code == CodeParentsUnbonded })
		chicks := c.UnbondedOn(day)
		g := c.withoutBond(chicks)
		g.each(func(at place, message string) {
			f := Finding{Severity: Warning, File: at.file, Line: at.line, Column: at.column, Value: at.value, Code: g.code, Message: message, Help: g.help}
			for _, i := range chicks[:min(len(chicks), fewest)] {
				if b := &c.Birds[i]; b.Line == at.line {
					f.Bird = b.ID
				}
			}
			found = append(found, f)
		})
	}
	if years := float64(day-last.Last) / DaysPerYear; last.Known() && years > quietYears {
		if living := len(c.At(day).Living); living > 0 {
			f := Finding{
				File: c.Files[0], Code: codeDayBeyondRecords,
				Message: fmt.Sprintf("nothing is on record after %s, %s before the day asked about, %s: no death since is known, and %s counted as living", last.Text, age(day-last.Last), day, are(living, "bird")),
				Help:    "bring the files up to date, or ask for an earlier day, as by current_to in programme.toml",
			}
			if c.currentTo.line > 0 && day == c.Settings.CurrentTo {
				f.File, f.Line, f.Column, f.Value = c.currentTo.file, c.currentTo.line, c.currentTo.column, c.currentTo.value
			}
			found = append(found, f)
		}
	}
	if day > c.FilesDay {
		found = append(found, c.tooOld(day, c.FilesDay)...)
	}
	return found
}
