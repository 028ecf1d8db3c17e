package pairing

import (
	"fmt"
	"slices"
	"strings"
)

// Assumptions returns what was assumed because the files do not say: the
// defaults of the named settings of programme.toml that it leaves out, and
// what stands in for a missing column.
func (p *Programme) Assumptions(settings ...string) []string {
	var notes []string
	for _, d := range p.Settings().Defaulted {
		if slices.Contains(settings, d.Key) {
			notes = append(notes, fmt.Sprintf("assumed, as programme.toml does not set it: %s = %s (%s)", d.Key, d.Value, d.Source))
		}
	}
	if !p.Book.Colony.HasOrigin {
		notes = append(notes, "the studbook has no origin column: its founders are taken to be wild")
	}
	if !p.Book.Colony.HasLocation {
		notes = append(notes, "the studbook has no location column: all birds are taken to live in one place")
	}
	if len(p.Book.Colony.FounderKinship) > 0 {
		notes = append(notes, "kinships among founders are given: gene diversity is relative to the ancestors behind them; the gene drop takes the founders as unrelated")
	}
	return notes
}

// Notes says what the reader of the ranking must know besides the mates.
func (r *Ranking) Notes(p *Programme) []string {
	var notes []string
	add := func(format string, args ...any) { notes = append(notes, fmt.Sprintf(format, args...)) }
	name := p.Name(r.Bird)
	if r.Premise != "" {
		add("%s", r.Premise)
	}
	for _, u := range r.Unfit {
		add("%s itself should not breed now: %s; take this as a look ahead", name, u.Text)
	}
	if len(r.Mates) > 0 {
		add("%s is bonded to %s; any other mate would mean parting them", name, strings.Join(r.Mates, " and "))
	}
	switch {
	case len(r.Candidates) == 0:
		add("no mate was found for %s: %s", name, r.whyNone())
	case !r.Compared:
		add("no other pair of the programme may breed, so there is nothing to compare with: the verdicts go by the limits alone")
	}
	if r.Uncertain {
		add("some parents are uncertain: the rank confidence comes from %d possible pedigrees (seed %d)", r.Samples, r.Seed)
	}
	for _, ages := range []struct {
		who string
		AgeRange
	}{{"females", p.Ages.Female}, {"males", p.Ages.Male}} {
		if ages.Source == fromSettings {
			continue
		}
		until := "without an upper age"
		if ages.Last > 0 {
			until = "to " + years(ages.Last)
		}
		add("%s breed from %s %s, from %s", ages.who, years(ages.First), until, ages.Source)
	}
	used := []string{"limits.inbreeding", "limits.preferred_inbreeding", "chicks_per_season", "lethal_equivalents"}
	if p.success.programme.Clutches == 0 {
		used = append(used, "clutch_success")
	}
	return append(notes, p.Assumptions(used...)...)
}

// Summary is the ranking in half a sentence: the best mate and the best at
// home, or why there is none.
func (r *Ranking) Summary(p *Programme) string {
	if len(r.Candidates) == 0 {
		return "no mate: " + r.whyNone()
	}
	best := r.Candidates[0]
	if !best.Verdict.Good() {
		return "no mate is better than the average pair of the programme"
	}
	if !best.NeedsTransfer {
		return "the best mate is at home: " + p.Name(best.Bird)
	}
	away := p.Name(best.Bird) + " at " + p.Book.Birds[best.Bird].Location
	home := slices.IndexFunc(r.Candidates, func(c Candidate) bool { return !c.NeedsTransfer && c.Verdict.Good() })
	if home < 0 {
		return "no good mate at home; the best is " + away
	}
	return fmt.Sprintf("the best mate is %s; the best at home, %s, is number %d", away, p.Name(r.Candidates[home].Bird), home+1)
}

// whyNone says why every other living bird is ruled out.
func (r *Ranking) whyNone() string {
	if slices.ContainsFunc(r.Unfit, func(u Reason) bool { return u.Code == SexUnknown }) {
		return "its sex is not known; have it sexed first"
	}
	living := slices.DeleteFunc(slices.Clone(r.RuledOut), func(x Excluded) bool { return x.Reasons[0].Code == Dead })
	if len(living) == 0 {
		return "there is no other living bird"
	}
	return fmt.Sprintf("the other living birds (%d) are all ruled out: %s", len(living), Tally(living))
}

// Tally counts birds by the first reason why they are ruled out: "12 bonded to
// others, 3 too young".
func Tally(excluded []Excluded) string {
	words := []struct {
		code Code
		text string
	}{
		{SameSex, "of the same sex"}, {SexUnknown, "of unknown sex"}, {TooYoung, "too young"}, {TooOld, "too old"},
		{OnHold, "on hold"}, {CloseKin, "too closely related"}, {Bonded, "bonded to others"}, {Elsewhere, "not at home"}, {Dead, "dead"},
	}
	counts := map[Code]int{}
	for _, x := range excluded {
		counts[x.Reasons[0].Code]++
	}
	var parts []string
	for _, w := range words {
		if n := counts[w.code]; n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, w.text))
		}
	}
	return strings.Join(parts, ", ")
}
