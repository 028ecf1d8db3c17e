package report

import (
	"fmt"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
	"pairwright/pedigree/demography"
)

// Assumptions says what was assumed because the files do not say: the defaults
// of the named settings of programme.toml that it leaves out, and what stands
// in for a missing column.
func Assumptions(p *pairing.Programme, settings ...string) []string {
	notes := []string{}
	if text := assumedText(p, settings); text != "" {
		notes = append(notes, text)
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

// NoSeasonText says what is taken for the season where no laying months are set, and how to
// set them; "" where they are.
func NoSeasonText(p *pairing.Programme) string {
	if len(p.Settings().LayingMonths) > 0 {
		return ""
	}
	return "no laying months are set: the coming season is taken to begin today and to last a year, and no day is named by which a bird must have moved or a pair be together; " + setMonths
}

// setMonths says how laying months are set.
const setMonths = "write into programme.toml in which months eggs are laid, as [months] and below it laying = [4, 5, 6] for April to June"

// assumedText names the defaults of settings that programme.toml leaves out in one sentence,
// by where they come from; "" if it sets them all.
func assumedText(p *pairing.Programme, settings []string) string {
	var sources []string
	of := map[string][]string{}
	n := 0
	for _, d := range p.Settings().Defaulted {
		if slices.Contains(settings, d.Key) {
			if of[d.Source] == nil {
				sources = append(sources, d.Source)
			}
			of[d.Source] = append(of[d.Source], d.Key+" = "+d.Value)
			n++
		}
	}
	for k, source := range sources {
		sources[k] = strings.Join(of[source], ", ") + " (" + source + ")"
	}
	if n == 0 {
		return ""
	}
	return "assumed, as programme.toml does not set " + plural(n, "it", "them") + ": " + strings.Join(sources, "; ")
}

// RankingNotes says what the reader of the ranking must know besides the mates.
func RankingNotes(p *pairing.Programme, r *pairing.Ranking) []string {
	notes := []string{}
	add := func(format string, args ...any) { notes = append(notes, fmt.Sprintf(format, args...)) }
	name := p.Name(r.Bird)
	if !r.Standing.State.MayBreed() {
		return notes
	}
	if len(r.Mates) > 0 {
		add("%s is bonded to %s; any other mate would mean parting them, and stands here for comparison alone", name, strings.Join(BirdIDs(p, r.Mates), " and "))
	}
	if r.Parting != nil && r.Parting.Weighed && !r.Parting.Advised {
		add("the programme would gain if the two were parted, but that is not advised: they %s", partingText(p, r.Parting))
	}
	switch {
	case len(r.Candidates) == 0:
		add("no mate was found for %s: %s", name, whyNone(r))
	case r.AllAlike:
		add("a chick of any pair of the programme would gain the same, so there is nothing to compare: the limits judge, and the chicks to be expected")
	}
	if r.Related != nil {
		notes = append(notes, relatedText(p, r)...)
	}
	if r.Uncertain {
		anew := "the decision taken anew"
		if !r.Anew {
			anew = "most of the decision as it is"
		}
		add("some parents are uncertain or not known: how sure a rank is comes from %d possible pedigrees (seed %d), with every captive parent that is not known drawn from the birds that could have been it, and %s in each; the mate that the decision gives comes first where no other gains clearly more", r.Samples, r.Seed, anew)
	}
	for _, ages := range []struct {
		who string
		demography.BreedingAges
	}{{"females", p.Ages.Female}, {"males", p.Ages.Male}} {
		if ages.FirstFrom == demography.FromSettings && ages.LastFrom == demography.FromSettings {
			continue
		}
		what, source := agesText(ages.who, ages.BreedingAges)
		add("%s, from %s", what, source)
	}
	used := []string{"limits.inbreeding", "limits.preferred_inbreeding", "chicks_per_season", "lethal_equivalents"}
	if !p.HasRecord() {
		used = append(used, "clutch_success")
	}
	return append(notes, Assumptions(p, used...)...)
}

// verdictText is the verdict on a mate. That of a bird's own mate weighs the two as if they
// were free again, which is not to be read as a word against their bond.
func verdictText(c *pairing.Candidate) string {
	if c.Settled() {
		return "own mate"
	}
	return string(c.Verdict)
}

// relatedText says how closely related all birds that may breed are, where no
// pair is within the limit, and what other limits would allow.
func relatedText(p *pairing.Programme, r *pairing.Ranking) []string {
	x := r.Related
	text := []string{fmt.Sprintf("every pair of the programme that may breed reaches the limit of F %s: the least is %s, by %s and %s; new birds from other lines are needed",
		document.FormatKinship(r.Limit), document.FormatKinship(x.Least), p.Name(x.Female), p.Name(x.Male))}
	var allow []string
	for _, l := range x.Limits {
		if pairing.TooClose(l.Limit, firstDegree) {
			break
		}
		allow = append(allow, fmt.Sprintf("%s would allow %s and at most %s", document.FormatKinship(l.Limit), document.FormatThings(l.Pairs, "pair", "pairs"), document.FormatThings(l.Chicks, "chick", "chicks")))
	}
	if len(allow) == 0 {
		return append(text, "all of them are as close as full siblings, or as parents and their chicks")
	}
	return append(text, "a limit above F "+document.FormatList(allow, limitsListed)+"; only the coordinator can allow one")
}

// firstDegree is F of a chick of full siblings, or of a parent and its chick: no higher
// limit is spoken of.
const firstDegree = 0.25

// limitsListed is how many other limits a note names.
const limitsListed = 3

// DecisionText says what the season's decision has for a bird, and what was agreed on it in
// vain.
func DecisionText(p *pairing.Programme, r *pairing.Ranking) string {
	return decisionText(p, r) + unkeptHeed(p, r.Unkept)
}

func decisionText(p *pairing.Programme, r *pairing.Ranking) string {
	switch r.Standing.State {
	case pairing.StateUnsexed:
		return "its sex is not known: have it sexed before a mate is looked for"
	case pairing.StateYoung:
		text := "too young to breed in the coming season; it may breed from " + document.FormatDay(r.Standing.Until)
		if r.Young != nil {
			text += "; " + YoungText(p, r.Young)
		}
		return text
	case pairing.StatePast, pairing.StateOnHold:
		text := planText(p, &r.Alone)
		if r.Bond != nil {
			text = fmt.Sprintf("%s; it stays with %s", stateText(p, r), p.Name(r.Bond.Mate(r.Bird)))
		}
		return text
	}
	x := r.Bond
	if x == nil {
		return "no mate for the coming season: " + aloneText(p, &r.Alone, r.Beside) + seemsPairedHeed(p, r.Bird)
	}
	text := withWhomText(p, r.Bird, x) + bondHeed(p, x)
	kin := pairing.Reason{Code: pairing.CloseKin, Value: x.Kinship, Other: r.Limit}
	tooClose := pairing.TooClose(x.Kinship, r.Limit)
	if x.Kind == pairing.BondKept && tooClose {
		return text + "; they are to hatch nothing, as they are " + planText(p, &kin)
	}
	if mate := x.Mate(r.Bird); x.Kind == pairing.BondKept && !p.State(mate).State.MayBreed() {
		why := p.StateReason(mate)
		return text + ", with whom no chicks are counted on: " + planText(p, &why)
	}
	if r.Parting != nil && r.Parting.Advised {
		return text + ", unless keeper and coordinator part the two; then " + partingText(p, r.Parting)
	}
	if x.Kind != pairing.BondNew || x.Word == nil {
		return text
	}
	word := x.Word.Reason(p)
	text += "; " + planText(p, &word)
	k := slices.IndexFunc(r.Candidates, func(c pairing.Candidate) bool { return c.Decided })
	switch {
	case tooClose:
		text += ", though they are " + planText(p, &kin)
	case k >= 0 && !r.Candidates[k].Verdict.Good():
		text += ", though by its figures the programme gains nothing by the pair"
		if x.Late {
			text += " that cannot breed in the coming season"
		}
	}
	return text
}

// withWhomText says of a bird with whom and where it is to live.
func withWhomText(p *pairing.Programme, b int, x *pairing.Bond) string {
	mate, season := p.Name(x.Mate(b)), ""
	if x.Late {
		season = fmt.Sprintf(", for the season of %d: no move leaves time for the coming one", p.Calendar().Year+1)
	}
	switch {
	case x.Kind == pairing.BondKept:
		return "bonded to " + mate + ": it stays with its mate"
	case x.Move == nil:
		return "to be paired with " + mate + ", at home"
	case x.Move.Bird == b:
		return "to be paired with " + mate + ": it goes to " + p.Place(x.Move.To) + season
	}
	return "to be paired with " + mate + ", who comes from " + p.Place(x.Move.From) + season
}

// stateText says why a bird cannot breed in the coming season.
func stateText(p *pairing.Programme, r *pairing.Ranking) string {
	reason := p.StateReason(r.Bird)
	return planText(p, &reason)
}

// NoMateText says why no mate can be looked for.
func NoMateText(e *pairing.NoMateError) string {
	if e == nil {
		return ""
	}
	return e.Error()
}

// whyNone says why every other living bird is ruled out.
func whyNone(r *pairing.Ranking) string {
	if r.Standing.State == pairing.StateUnsexed {
		return "its sex is not known; have it sexed first"
	}
	if len(r.RuledOut) == 0 {
		return "there is no other living bird"
	}
	return fmt.Sprintf("the other living birds (%s) are all ruled out: %s", document.FormatCount(len(r.RuledOut)), tally(r.RuledOut))
}

// tally counts birds by the first reason why they are ruled out: "12 bonded to
// others, 3 too young".
func tally(excluded []pairing.Excluded) string {
	words := []struct {
		code pairing.Code
		text string
	}{
		{pairing.SameSex, "of the same sex"}, {pairing.SexUnknown, "of unknown sex"}, {pairing.TooYoung, "too young"},
		{pairing.TooOld, "too old"}, {pairing.OnHold, "on hold"}, {pairing.CloseKin, "too closely related"}, {pairing.IsParent, "parent or chick by DNA"}, {pairing.AreKin, "closely related by DNA"},
		{pairing.Bonded, "bonded to others"}, {pairing.Elsewhere, "not at home"}, {pairing.Dead, "dead"}, {pairing.Gone, "not in the programme"},
	}
	counts := map[pairing.Code]int{}
	for _, x := range excluded {
		counts[x.Reasons[0].Code]++
	}
	var parts []string
	for _, w := range words {
		if n := counts[w.code]; n > 0 {
			parts = append(parts, document.FormatCount(n)+" "+w.text)
		}
	}
	return strings.Join(parts, ", ")
}

// BirdIDs returns the ids of birds of the snapshot.
func BirdIDs(p *pairing.Programme, birds []int) []string {
	ids := make([]string, len(birds))
	for k, b := range birds {
		ids[k] = p.Book.Birds[b].ID
	}
	return ids
}
